"""Third chapter of the fault panel: how long a timeout."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from curvelib.chain import Chain
from curvelib.machine.dropouts import Dropouts, TimeoutScene, TimeoutWindow, timeout_window
from curvelib.machine.silence import LossScene
from curvelib.panels.bones import Figure
from curvelib.panels.chapters import Chapter, Setting, Told
from curvelib.panels.controls import heading, words
from curvelib.panels.fault_signal import stands, stopper_of
from curvelib.panels.fault_view import TimeoutView
from curvelib.panels.filesliders import read_scene, scene_sliders
from curvelib.tune import Tune

_TIMEOUTS = np.linspace(0.0, TimeoutView.LONGEST_S, 401)


class TimeoutChapter(Chapter):
    """False stops from brief dropouts against metres driven blind."""

    title = "3. Short timeout or long?"
    needs = ("top_speed_m_s", "lag_s", "friction")

    def __init__(self, *base: Any) -> None:
        super().__init__(*base)
        self.drawing = TimeoutView(self.units)
        units, moved = self.units, self.on_change
        far = {"bursts_per_hour": (1.0, 300.0), "mean_burst_s": (0.05, 0.6)}
        self.radio = scene_sliders(Dropouts, units, moved, far)
        self.bears = scene_sliders(TimeoutScene, units, moved, {"room_m": (0.1, 10.0)})
        self.moment = scene_sliders(LossScene, units, moved)
        self.key("signal_loss", "timeout_s", high=2.0)

    def column(self) -> list[Any]:
        """Controls from top to bottom."""
        return [
            heading("The drive (in the machine file)"),
            *self.keys.values(),
            heading("The moment"),
            self.moment["speed_share"],
            self.moment["slope_deg"],
            self.bears["room_m"],
            heading("The radio: invented rates"),
            words("A model with two states: frames all arrive, or none does.", "cv-help"),
            self.bears["stops_per_hour"],
            *self.radio.values(),
        ]

    def _read(self, tune: Tune) -> tuple[Dropouts, TimeoutScene, float, float]:
        """Radio, what is borne, speed, and way from the ramp's beginning to standing."""
        moment = read_scene(LossScene, self.moment)
        stopper = stopper_of(tune, moment.slope)
        speed = moment.speed_share * stopper.top_speed
        way = float(stands(stopper, speed, moment.still_m_s).distance)
        return read_scene(Dropouts, self.radio), read_scene(TimeoutScene, self.bears), speed, way

    def window(self, tune: Tune) -> TimeoutWindow:
        """Timeouts that will do; `tune` has every fact filled in."""
        return timeout_window(*self._read(tune))

    def tell(self, tune: Tune) -> Told:
        """Draw and say what the controls show."""
        radio, bears, speed, way = self._read(tune)
        window = timeout_window(radio, bears, speed, way)
        timeout = Chain.from_tune(tune).timeout_s
        self.drawing.draw(
            _TIMEOUTS,
            radio.false_stops(_TIMEOUTS),
            speed * _TIMEOUTS,
            way,
            (timeout, bears.stops_per_hour, bears.room_m),
            (window.least, window.most),
        )
        sentence = (
            f"{window.words()} The rates of dropouts are invented: note your own false stops, and "
            "where. A timeout does not help against a receiver that repeats its last pulse."
        )
        return Told(self.drawing.picture, self._cards(radio, bears, speed, way, timeout), sentence)

    def _cards(
        self, radio: Dropouts, bears: TimeoutScene, speed: float, way: float, timeout: float
    ) -> list[Figure]:
        units, rate = self.units, radio.false_stops(timeout)
        whole = speed * timeout + way
        far = units.text(whole, "m") if math.isfinite(whole) else "never"
        return [
            Figure(
                how_often(rate),
                "false stops",
                f"you bear {how_often(bears.stops_per_hour)}",
            ),
            Figure(
                units.text(speed * timeout, "m"),
                "driven blind in the timeout",
                f"at {units.text(speed, 'm/s')} for {timeout:.2f} s",
            ),
            Figure(
                far,
                "from the loss to standing",
                f"the room is {units.text(bears.room_m, 'm')}",
            ),
        ]

    def settings(self, tune: Tune) -> list[Setting]:
        """Numbers to carry to the record."""
        radio, bears, speed, way = self._read(tune)
        timeout = tune.signal_loss.timeout_s
        whole = speed * timeout + way
        units = self.units
        far = f"{units.text(whole, 'm')} to standing" if math.isfinite(whole) else "never stands"
        return [
            Setting(
                "Signal timeout",
                f"{timeout:.2f} s",
                f"At {units.text(speed, 'm/s')}: {far}, room {units.text(bears.room_m, 'm')}; "
                f"false stops {how_often(radio.false_stops(timeout))} at invented rates. "
                "0.8 s is common practice, no source.",
            )
        ]


def how_often(per_hour: float) -> str:
    """A rate in words that mean something: an hour, or hours between."""
    if per_hour >= 1000.0:
        return "at every frame" if per_hour >= 72000.0 else f"{per_hour:.0f} an hour"
    if per_hour >= 1.0:
        return f"{per_hour:.3g} an hour"
    if per_hour <= 0.0:
        return "none"
    hours = 1.0 / per_hour
    return f"1 in {hours:.3g} hours" if hours < 1000.0 else "1 in 1000 hours or more"
