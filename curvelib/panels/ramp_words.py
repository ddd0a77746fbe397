"""The ramp panel's words: deciding numbers, the sentence, the tables below the picture."""

from __future__ import annotations

import math

import numpy as np

from curvelib.machine.verdict import Binding, RampWindow
from curvelib.mixing import Independent
from curvelib.panels.bones import Figure
from curvelib.panels.fact_table import table
from curvelib.panels.ramp_facts import RampFacts, Replayed, Trace
from curvelib.panels.units import Units, percent
from curvelib.slew import ActsOn

# A motor grows at the stop rate where it grows so much quicker than the ramp to full lets it.
_QUICKER = 1.05


def cards(facts: RampFacts, units: Units) -> list[Figure]:
    """The three deciding numbers."""
    slew, scene, window = facts.tune.slew, facts.scene, facts.window
    rolled = facts.window.speed * scene.delay_s
    return [
        Figure(
            stop_window_text(window),
            "ramp to stop that will do",
            f"chosen {slew.to_stop_s:.2f} s: {stop_verdict(window, slew.to_stop_s)}",
        ),
        Figure(
            full_window_text(window),
            "ramp to full that will do",
            f"chosen {slew.to_full_s:.2f} s: {full_verdict(window, slew.to_full_s)}",
        ),
        Figure(
            units.text(facts.stops_in, "m"),
            "from full speed to standing",
            f"room {units.text(scene.room_m, 'm')}; the delay alone {units.text(rolled, 'm')}",
        ),
    ]


def stop_window_text(window: RampWindow) -> str:
    """The window of the ramp to stop, rounded inwards to hundredths."""
    least, most = window.least_to_stop, window.most_to_stop
    if least is None or most is None or least > most:
        return "none"
    if math.isinf(most):
        return f"{up(least):.2f} s or longer"
    return f"{up(least):.2f} to {down(most):.2f} s"


def full_window_text(window: RampWindow) -> str:
    """The window of the ramp to full."""
    least = window.least_to_full
    return "none" if least is None else f"{up(least):.2f} s or longer"


def stop_verdict(window: RampWindow, ramp: float) -> str:
    """Say how a ramp to stop does."""
    if window.least_to_stop is None or ramp < window.least_to_stop:
        return f"too short, it would {_what(window, window.stop_binds)}"
    if window.most_to_stop is None or ramp > window.most_to_stop:
        return "too long for the room"
    return "in the window"


def full_verdict(window: RampWindow, ramp: float) -> str:
    """Say how a ramp to full does."""
    if window.least_to_full is None or ramp < window.least_to_full:
        return f"too short, it would {_what(window, window.full_binds)}"
    return "in the window"


def _what(window: RampWindow, binds: Binding | None) -> str:
    return binds.limit.kind if binds is not None else window.limits[0].kind


def up(seconds: float) -> float:
    """Round up to hundredths."""
    return math.ceil(seconds * 100.0 - 1e-9) / 100.0


def down(seconds: float) -> float:
    """Round down to hundredths."""
    return math.floor(seconds * 100.0 + 1e-9) / 100.0


def sentence(facts: RampFacts, what: str, replayed: Replayed | None, units: Units) -> str:
    """What the traces show now."""
    if replayed is not None and not replayed.run.driving.any():
        waits = facts.chain.centred_first_s
        return (
            f"{what}: the sticks never rest at this machine's centre for {waits:g} s, so it "
            "never drives. The recording comes from another transmitter."
        )
    trace = facts.trace
    done = _outcome(trace, units) if replayed is None else _replayed(replayed, trace, units)
    grows = _growing(facts) if replayed is None else ""
    return " ".join(part for part in (f"{what}: {done}", grows, _moments(trace)) if part)


def _outcome(trace: Trace, units: Units) -> str:
    speed = np.asarray(trace.response.speed)
    rolls, arrives = units.text(trace.rolls, "m"), f"{trace.arrives:.2f} s"
    if abs(speed[-1]) < 0.01 * max(float(np.abs(speed).max()), 1e-9):
        return f"it stands after {arrives} and {rolls}."
    return f"its speed has arrived after {arrives} and {rolls}."


def _replayed(replayed: Replayed, trace: Trace, units: Units) -> str:
    shown, whole = len(replayed.recording.time), replayed.whole
    cut = "" if shown == whole else f" (the first {shown} of {whole} samples)"
    speed = float(np.abs(trace.response.speed).max())
    return f"{trace.time[-1]:.1f} s{cut}, up to {units.text(speed, 'm/s')}."


def _growing(facts: RampFacts) -> str:
    """Say where a motor grows quicker than the ramp to full lets it."""
    ramp, trace = facts.tune.slew.to_full_s, facts.trace
    if (
        facts.tune.slew.acts_on != "sticks"
        or ramp <= 0.0
        or isinstance(facts.chain.mix, Independent)
    ):
        return ""
    for name, command in (("left", trace.left), ("right", trace.right)):
        size, after = np.abs(command), trace.time[1:] > 0.0
        rates = (np.diff(size) / np.diff(trace.time))[after]
        if len(rates) and rates.max() > _QUICKER / ramp:
            begin, end = percent(command[0]), percent(command[-1])
            return (
                f"The {name} motor goes from {begin} to {end} at up to {rates.max() * ramp:.1f} "
                "times the rate that the ramp to full allows."
            )
    return ""


def _moments(trace: Trace) -> str:
    found = trace.moments
    happened = []
    for verb, happens, first in (
        ("slide", found.slides, found.first_slide),
        ("tip", found.tips, found.first_tip),
    ):
        if first is not None:
            when = max(0.0, float(trace.time[int(np.argmax(happens))]))
            happened.append(f"{verb} from {when:.2f} s on")
    if happened:
        return f"It would {' and '.join(happened)}; after that the curves no longer hold."
    grip, footing = (float(np.max(use)) for use in (found.slide_use, found.tip_use))
    return (
        f"It neither slides nor tips: at most {percent(grip)} of its grip and "
        f"{percent(footing)} of its footing are used."
    )


_HOW = {
    "motors": "each motor ramps alone: the slower side stands first, the turn tightens",
    "sticks": "each stick ramps alone: the smaller one is done first, usually it straightens",
    "together": "both sides in step: the radius stays; steering waits for throttle",
}
_HOW_INDEPENDENT = {
    "motors": "each motor ramps alone: the slower side stands first, the turn tightens",
    "sticks": "here the same as on the motors, as each stick is a motor",
    "together": "both sides in step: the radius stays; one side waits for the other",
}


def ways_table(facts: RampFacts, units: Units) -> str:
    """Letting go in a turn, by where the ramp acts."""
    how = _HOW_INDEPENDENT if isinstance(facts.chain.mix, Independent) else _HOW
    rows = [
        [
            _named(place, facts),
            units.text(made.length, "m"),
            _turned(made.response.poses),
            how[place],
        ]
        for place, made in facts.paths.items()
    ]
    return table(rows, ["The ramp acts on", "Rolls", "Turns", "What happens"], bold=(1, 2))


def _named(place: ActsOn, facts: RampFacts) -> str:
    return f"{place} (in this file)" if place == facts.tune.slew.acts_on else place


def _turned(poses: np.ndarray) -> str:
    return f"{abs(math.degrees(poses[-1, 2] - poses[0, 2])):.0f} deg"


def reach_note(facts: RampFacts) -> str:
    """Say how a limit in the shape shortens the ramps."""
    first = float(facts.chain.shapes[0](1.0))
    if first >= 0.995:
        return "Full stick is full command here, so each ramp takes just this long."
    slew = facts.tune.slew
    return (
        f"Full stick reaches {percent(first)} here, so these ramps take "
        f"{first * slew.to_full_s:.2f} s and {first * slew.to_stop_s:.2f} s."
    )
