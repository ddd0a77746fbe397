"""Second chapter of the fault panel: the signal is lost."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from curvelib.chain import Chain
from curvelib.machine.silence import (
    RECEIVERS,
    LossScene,
    Receiver,
    Standstill,
    Stopper,
    blind_time,
    goal_command,
    grip_downhill,
    loss_trace,
    what_helps,
)
from curvelib.panels.bones import Figure
from curvelib.panels.chapters import Chapter, Setting, Told
from curvelib.panels.controls import choice, heading, words
from curvelib.panels.fault_view import LossCase, LossView
from curvelib.panels.filesliders import read_scene, scene_sliders
from curvelib.panels.units import percent
from curvelib.params import FloatArray
from curvelib.tune import Tune

# One receiver for each line of the picture.
_DRAWN: tuple[Receiver, ...] = (
    "stops sending",
    "sends a preset pulse",
    "repeats its last pulse for ever",
)
_SPEEDS = 31


class Loss(NamedTuple):
    """What one receiver leads to."""

    blind: float
    goal: float
    standstill: Standstill


class SignalChapter(Chapter):
    """Time and distance to standing still, by what the receiver really does."""

    title = "2. The signal is lost"
    needs = ("top_speed_m_s", "lag_s", "friction")

    def __init__(self, *base: Any) -> None:
        super().__init__(*base)
        self.drawing = LossView(self.units)
        self.scene = scene_sliders(LossScene, self.units, self.on_change, {"still_m_s": (0.0, 0.3)})
        options = [(f"{name[0].upper()}{name[1:]}", name) for name in RECEIVERS]
        self.receiver = choice(options, RECEIVERS[0], "What my receiver does", "receiver")
        self.receiver.observe(lambda _: self.on_change(), "value")
        self.helps = words("", "cv-help")
        self.helps.layout.min_height = "54px"
        self.key("signal_loss", "timeout_s", high=2.0)
        self.key("slew", "to_stop_s", high=3.0)

    def column(self) -> list[Any]:
        """Controls from top to bottom."""
        scene = self.scene
        return [
            heading("The receiver"),
            words("<b>With the transmitter off, mine</b>"),
            self.receiver,
            self.helps,
            scene["preset"],
            scene["receiver_waits_s"],
            heading("The drive (in the machine file)"),
            *self.keys.values(),
            heading("The moment"),
            scene["speed_share"],
            scene["slope_deg"],
            scene["still_m_s"],
        ]

    def losses(self, tune: Tune) -> dict[Receiver, Loss]:
        """What each receiver leads to; `tune` has every fact filled in."""
        scene, chain, stopper = self._facts(tune)
        speed = scene.speed_share * stopper.top_speed
        found: dict[Receiver, Loss] = {}
        ramp_alone = stands(stopper, speed, scene.still_m_s)
        for receiver in RECEIVERS:
            blind = blind_time(receiver, scene, chain.timeout_s)
            goal = goal_command(chain, receiver, scene)
            found[receiver] = Loss(blind, goal, ramp_alone.behind(speed, blind, goal))
        return found

    def _facts(self, tune: Tune) -> tuple[LossScene, Chain, Stopper]:
        scene = read_scene(LossScene, self.scene)
        return scene, Chain.from_tune(tune), stopper_of(tune, scene.slope)

    def tell(self, tune: Tune) -> Told:
        """Draw and say what the controls show."""
        scene, _, stopper = self._facts(tune)
        losses = self.losses(tune)
        self._draw(scene, stopper, losses)
        mine: Receiver = self.receiver.value
        if self.helps.value != what_helps(mine):
            self.helps.value = what_helps(mine)
        speed = scene.speed_share * stopper.top_speed
        return Told(
            self.drawing.picture,
            self._cards(losses, mine, speed),
            self._sentence(losses[mine], mine, speed, stopper),
        )

    def _draw(self, scene: LossScene, stopper: Stopper, losses: dict[Receiver, Loss]) -> None:
        speed = scene.speed_share * stopper.top_speed
        ends = [losses[one].standstill.time for one in _DRAWN]
        longest = max([end for end in ends if math.isfinite(end)], default=2.0)
        right = next((end for end in (1.0, 2.0, 3.0, 5.0, 8.0) if end >= 1.1 * longest), 12.0)
        time = np.linspace(0.0, right, 161)
        speeds = _speeds(stopper)
        # Each receiver only adds its blind time, so the ramp is worked out once.
        ramps = by_speed(stopper, scene.still_m_s)
        cases = []
        for receiver in _DRAWN:
            blind, goal, whole = losses[receiver]
            traced = loss_trace(stopper, speed, blind, goal, time)
            ways = np.asarray(ramps.behind(speeds, blind, goal).distance)
            cases.append(LossCase(*traced, ways, float(whole.distance)))
        self.drawing.draw(time, speeds, cases, speed, scene.still_m_s)

    def _cards(self, losses: dict[Receiver, Loss], mine: Receiver, speed: float) -> list[Figure]:
        own, silent, preset = losses[mine], losses["stops sending"], losses["sends a preset pulse"]
        beside = "silence {}; preset {}; repeated: never"
        blind = "for ever" if math.isinf(own.blind) else self.units.text(own.blind * speed, "m")
        return [
            Figure(
                self._far(own),
                "from the loss to standing",
                beside.format(self._far(silent), self._far(preset)),
            ),
            Figure(
                self._long(own),
                "time until it stands",
                beside.format(self._long(silent), self._long(preset)),
            ),
            Figure(blind, "of it blind, at full speed", "before the command begins to fall"),
        ]

    def _far(self, loss: Loss) -> str:
        way = loss.standstill.distance
        return self.units.text(way, "m") if math.isfinite(way) else "never"

    @staticmethod
    def _long(loss: Loss) -> str:
        time = loss.standstill.time
        return f"{time:.2f} s" if math.isfinite(time) else "never"

    def _sentence(self, own: Loss, mine: Receiver, speed: float, stopper: Stopper) -> str:
        units = self.units
        at = f"At {units.text(speed, 'm/s')} this receiver {mine}: "
        if math.isinf(own.blind):
            end = "the machine drives on as it was, and no timeout in the drive ever trips."
        elif own.goal != 0.0:
            goes = units.text(abs(own.goal) * stopper.top_speed, "m/s")
            where = "ahead" if own.goal > 0.0 else "back"
            end = f"the preset is off centre, so it drives on at {goes} {where} and never stands."
        elif stopper.grip <= 0.0:
            end = "on this slope the wheels cannot hold it; it slides, whatever the drive does."
        else:
            slides = stopper.grip < stopper.top_speed / max(stopper.slew.to_stop, 1e-6)
            how = "slows down, its wheels sliding" if slides else "slows down"
            threshold = units.text(self.scene["still_m_s"].value, "m/s")
            end = (
                f"it goes on for {own.blind:.2f} s, then {how}, and is below {threshold} "
                f"after {own.standstill.time:.2f} s and {units.text(own.standstill.distance, 'm')}."
            )
        return (
            f"{at}{end} The drive is taken to brake as its command falls; one that lets "
            "its motors roll does not. Test: transmitter off, the wheels must stop."
        )

    def settings(self, tune: Tune) -> list[Setting]:
        """Numbers to carry to the record."""
        scene, _, stopper = self._facts(tune)
        loss = self.losses(tune)["stops sending"]
        far = self._far(loss)
        return [
            Setting(
                "Receiver, signal lost",
                _wanted(self.receiver.value, scene.preset),
                "A receiver that repeats its last pulse defeats every timeout. Proof: transmitter "
                "off, wheels off the ground, the wheels must stop.",
            ),
            Setting(
                "Ramp to stop",
                f"{tune.slew.to_stop_s:.2f} s",
                f"With it and the timeout, silence at {percent(scene.speed_share)} of full speed "
                f"({self.units.text(scene.speed_share * stopper.top_speed, 'm/s')}): {far} to "
                "standing.",
            ),
        ]


def _wanted(receiver: Receiver, preset: float) -> str:
    if receiver == "repeats its last pulse for ever":
        return "change it: not this"
    if receiver == "sends a preset pulse":
        return "preset at centre" if preset == 0.0 else "change it: preset to 0"
    return "silence"


def stopper_of(tune: Tune, slope: float) -> Stopper:
    """How a machine stops on a slope; `tune` has every fact filled in."""
    machine = tune.machine
    return Stopper(
        tune.slew.limit,
        machine.top_speed_m_s or 0.0,
        machine.lag_s or 0.0,
        grip_downhill(machine, slope),
    )


@lru_cache(maxsize=64)
def stands(stopper: Stopper, speed: float, still: float) -> Standstill:
    """From the ramp's beginning to standing, worked out once for several chapters."""
    return stopper.standstill(speed, still)


@lru_cache(maxsize=16)
def by_speed(stopper: Stopper, still: float) -> Standstill:
    """From the ramp's beginning to standing, for each of the speeds drawn."""
    return stopper.standstill(_speeds(stopper), still)


def _speeds(stopper: Stopper) -> FloatArray:
    return np.linspace(0.0, stopper.top_speed, _SPEEDS)
