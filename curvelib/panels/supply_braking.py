"""Second chapter of the supply panel: braking energy, bus voltage, braking resistor."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import ipywidgets as widgets
import numpy as np

from curvelib.machine.braking import DUTIES, BrakingScene, Duty, braking
from curvelib.machine.braking_case import (
    BrakingCase,
    BusLines,
    braking_case,
    bus_lines,
    parts_of,
)
from curvelib.machine.bus import ResistorWindow
from curvelib.machine.supply import CHARGE_V_PER_CELL
from curvelib.panels.bones import Figure
from curvelib.panels.chapters import Chapter, Setting, Told
from curvelib.panels.controls import choice, heading, words
from curvelib.panels.filesliders import filled, read_scene, scene_sliders
from curvelib.panels.supply_view import BrakingView
from curvelib.tune import Tune

_MANEUVERS = ("a stop", "a reversal")


class BrakingChapter(Chapter):
    """Where the energy of a stop goes, with a battery and without."""

    title = "2. Braking energy"
    needs = ("top_speed_m_s", "mass_kg")

    def __init__(self, *base: Any) -> None:
        super().__init__(*base)
        self.drawing = BrakingView(self.units)
        self.scene = scene_sliders(
            BrakingScene,
            self.units,
            self.on_change,
            {
                "most_v": (10.0, 120.0),
                "switch_a": (1.0, 200.0),
                "resistor_w": (1.0, 500.0),
                "resistor_j": (10.0, 5000.0),
            },
        )
        moved = self.on_change
        self.maneuver = choice(list(_MANEUVERS), _MANEUVERS[0], "What it does", "maneuver")
        self.duty = choice([(_named(duty), duty) for duty in DUTIES], DUTIES[1], "Duty", "duty")
        self.alternator = widgets.Checkbox(description="An alternator charges", indent=False)
        self.alternator.add_class("cv-check-alternator")
        for one in (self.maneuver, self.duty, self.alternator):
            one.observe(lambda _: moved(), "value")
        self.key("slew", "to_stop_s", high=3.0)
        self.key("slew", "to_full_s", high=3.0)
        self.key("supply", "bus_capacitance_f", low=0.0005, high=0.05)
        self.key("supply", "clamp_v", low=5.0, high=100.0)
        self.key("supply", "dump_resistor_ohm", low=0.1, high=20.0, assume=_resistor_to_begin_with)

    def column(self) -> list[Any]:
        """Controls from top to bottom."""
        keys, scene = self.keys, self.scene
        return [
            heading("The moment"),
            words("<b>From full speed</b>"),
            self.maneuver,
            scene["slope_deg"],
            keys["to_stop_s"],
            keys["to_full_s"],
            heading("The bus"),
            self.alternator,
            words("It takes nothing back, and keeps the battery full.", "cv-help"),
            keys["bus_capacitance_f"],
            scene["most_v"],
            heading("Clamp and resistor"),
            keys["clamp_v"],
            keys["dump_resistor_ohm"],
            scene["switch_a"],
            words("<b>Duty</b> (invented; count your own)"),
            self.duty,
            scene["resistor_w"],
            scene["resistor_j"],
        ]

    def load(self, tune: Tune) -> None:
        """Show a tune in the controls."""
        super().load(tune)
        self.alternator.value = tune.supply.alternator
        # What a drive endures is no key of the file; it goes with the battery's voltage.
        self.scene["most_v"].set(float(round(3.0 * (filled(tune).supply.cells or 12))))

    def put(self, tune: Tune) -> Tune:
        """Return the tune with this chapter's controls in it."""
        made = super().put(tune)
        return replace(made, supply=replace(made.supply, alternator=self.alternator.value))

    def case(self, tune: Tune) -> BrakingCase:
        """Work everything out; `tune` has every fact filled in."""
        return braking_case(
            tune,
            read_scene(BrakingScene, self.scene),
            self.duty.value,
            self.keys["dump_resistor_ohm"].value,
            self.maneuver.value == _MANEUVERS[1],
        )

    def tell(self, tune: Tune) -> Told:
        """Draw and say what the controls show."""
        case = self.case(tune)
        lines = bus_lines(case)
        self.keys["clamp_v"].judge(case.clamp_fault())
        self.drawing.draw(case, lines)
        return Told(self.drawing.picture, self._cards(case, lines), self._sentence(case, lines))

    def _cards(self, case: BrakingCase, lines: BusLines) -> list[Figure]:
        back, most = case.braking, case.scene.most_v
        worst, with_battery = lines.alone.max(), lines.battery.max()
        return [
            Figure(
                f"{back.peak:.0f} W",
                "peak that comes back",
                f"average {back.average:.0f} W, energy {back.energy:.0f} J",
            ),
            Figure(
                f"{worst:.1f} V" if worst <= most else f"over {most:.1f} V",
                "bus, battery full or disconnected",
                f"on paper {worst:.1f} V; battery connected {with_battery:.1f} V",
            ),
            Figure(
                _range(case.window).removesuffix(" ohm"),
                "ohm for the braking resistor",
                f"now {case.resistor.ohm:g} ohm: bus up to {lines.clamped.max():.1f} V",
            ),
        ]

    def _sentence(self, case: BrakingCase, lines: BusLines) -> str:
        scene, most = case.scene, case.scene.most_v
        if case.braking.energy == 0.0:
            return "Nothing comes back: the hill alone stops it as fast as the ramp asks."
        healthy = "takes it" if lines.battery.max() <= most else "does not keep the bus down"
        alone = (
            f"passes what the drive endures within {_soon(lines, most)}: it may trip, let go of "
            "its brakes, or break"
            if lines.alone.max() > most
            else "stays under what the drive endures"
        )
        words_ = [
            f"A healthy, connected battery {healthy}. Full, cut off (a blown fuse, an open "
            f"contactor) or with an alternator alone, the bus {alone}.",
            case.window.words() if case.window.empty else _of_resistor(case, lines),
        ]
        if case.braking.energy > scene.resistor_j:
            words_.append(f"One pulse is more than the resistor's {scene.resistor_j:.0f} J.")
        if case.watts > scene.resistor_w:
            words_.append(f"The duty gives {case.watts:.0f} W, more than it bears all the time.")
        return " ".join(words_)

    def settings(self, tune: Tune) -> list[Setting]:
        """Numbers to carry to the record."""
        case = self.case(tune)
        back, duty = case.braking, self.duty.value
        return [
            Setting(
                "Clamp voltage",
                f"{case.resistor.clamp_v:.1f} V",
                f"Above {case.charge_v:.1f} V, the battery on charge ({CHARGE_V_PER_CELL:g} V a "
                f"cell, lead-acid, common practice), and under the {case.scene.most_v:.1f} V that "
                "the drive endures.",
            ),
            Setting(
                "Braking resistor",
                _range(case.window),
                f"Least: the switch carries {case.scene.switch_a:.0f} A. Most: it still takes "
                f"the peak of {back.peak:.0f} W at the clamp.",
            ),
            Setting(
                "Resistor's ratings",
                f"{case.watts:.0f} W, {back.energy:.0f} J",
                f'All the time for the duty "{duty.name}", and in one pulse. Take '
                "more; it gets hot: mount it where nothing burns.",
            ),
            Setting(
                "Clamp and resistor",
                "fit them" if case.capacitors_alone > case.scene.most_v else "not needed",
                "With the battery full or cut off the capacitors would rise to "
                f"{case.capacitors_alone:.0f} V on paper; the drive endures "
                f"{case.scene.most_v:.1f} V. A healthy, connected battery takes the pulse.",
            ),
        ]


def _of_resistor(case: BrakingCase, lines: BusLines) -> str:
    """What the resistor as set does, where some resistor would do."""
    ohm, window = case.resistor.ohm, case.window
    if ohm < window.least:
        return (
            f"With {ohm:g} ohm the switch carries {case.resistor.clamp_v / ohm:.0f} A, more than "
            f"{case.scene.switch_a:.0f} A."
        )
    if ohm > window.most:
        return f"With {ohm:g} ohm the bus still rises to {lines.clamped.max():.1f} V."
    return f"A resistor of {ohm:g} ohm holds it at the clamp."


def _soon(lines: BusLines, most_v: float) -> str:
    """How soon the bus with no battery passes a voltage."""
    seconds = lines.passes(most_v)
    return f"{1000.0 * seconds:.1f} ms" if seconds < 0.01 else f"{seconds:.2f} s"


def _named(duty: Duty) -> str:
    down = f", {100.0 * duty.descent_share:.0f} % downhill" if duty.descent_share else ""
    return f"{duty.name}: {duty.stops_per_minute:g} stops a minute{down}"


def _range(window: ResistorWindow) -> str:
    if window.empty:
        return "none will do"
    if not np.isfinite(window.most):
        return f"{window.least:.2f} ohm or more"
    return f"{window.least:.2f} to {window.most:.2f} ohm"


def _resistor_to_begin_with(tune: Tune) -> float:
    """A resistor that takes a stop on the level with three tenths to spare."""
    full = filled(tune)
    peak = float(braking(full.machine.mass_kg or 0.0, parts_of(full, False)).peak)
    return round(min(max(0.7 * (full.supply.clamp_v or 0.0) ** 2 / peak, 0.1), 20.0), 1)
