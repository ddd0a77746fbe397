"""First chapter of the supply panel: sag, least voltage, current limit."""

from __future__ import annotations

import math
from typing import Any

from curvelib.machine.current import CurrentWindow, current_window
from curvelib.machine.supply import Source, SupplyScene
from curvelib.panels.bones import Figure
from curvelib.panels.chapters import Chapter, Setting, Told
from curvelib.panels.controls import heading, words
from curvelib.panels.filesliders import read_scene, scene_sliders
from curvelib.panels.supply_view import SagView
from curvelib.tune import Tune


class SagChapter(Chapter):
    """Which current limit keeps the voltage up and still uses the grip."""

    title = "1. Sag and the current limit"
    needs = ("mass_kg", "wheel_radius_m")

    def __init__(self, *base: Any) -> None:
        super().__init__(*base)
        self.drawing = SagView(self.units)
        self.scene = scene_sliders(SupplyScene, self.units, self.on_change)
        self.key("supply", "cells", low=3, high=30)
        self.key("supply", "rest_v", low=3.0, high=70.0)
        self.key("supply", "internal_resistance_ohm", low=0.001, high=0.1)
        self.key("supply", "cut_off_v_per_cell", low=1.0, high=4.2)
        self.key("supply", "current_limit_a", low=5.0, high=300.0)
        self.key("machine", "torque_per_amp_nm", high=5.0)
        self.key("machine", "friction", high=1.0)

    def column(self) -> list[Any]:
        """Controls from top to bottom."""
        keys, scene = self.keys, self.scene
        return [
            heading("The battery"),
            keys["cells"],
            keys["rest_v"],
            keys["internal_resistance_ohm"],
            words("Measure it: two loads; change of volts over change of amperes.", "cv-help"),
            scene["worse"],
            heading("The drive"),
            keys["cut_off_v_per_cell"],
            keys["current_limit_a"],
            heading("The wheels"),
            keys["torque_per_amp_nm"],
            keys["friction"],
            scene["slope_deg"],
        ]

    def window(self, tune: Tune) -> CurrentWindow:
        """What bounds the limit on a bad day; `tune` has every fact filled in."""
        scene, source = read_scene(SupplyScene, self.scene), Source.of(tune.supply)
        return current_window(
            tune.machine,
            rest_v=source.rest_v,
            resistance=scene.worse * source.resistance,
            least_v=source.least_v,
            slope=scene.slope,
        )

    def tell(self, tune: Tune) -> Told:
        """Draw and say what the controls show."""
        window, source = self.window(tune), Source.of(tune.supply)
        limit = tune.supply.current_limit_a or 0.0
        band = None
        if window.sensible and window.spins is not None:
            band = (window.spins, window.sags)
        self.drawing.draw(
            source.rest_v,
            source.least_v,
            (source.resistance, window.resistance),
            (window.spins, window.sags, limit),
            band,
        )
        sentence = f"{window.words()} {_of_limit(window, limit)}"
        return Told(self.drawing.picture, self._cards(tune, window, limit), sentence)

    def _cards(self, tune: Tune, window: CurrentWindow, limit: float) -> list[Figure]:
        cells, each = tune.supply.cells or 0, tune.supply.cut_off_v_per_cell or 0.0
        spins = "not known" if window.spins is None else f"{window.spins:.0f} A"
        sags = "any current" if math.isinf(window.sags) else f"{window.sags:.0f} A"
        climbs = "" if window.climbs is None else f"; the slope takes {window.climbs:.0f} A"
        return [
            Figure(
                sags, "in each motor, and the battery gives out", f"wheels spin at {spins}{climbs}"
            ),
            Figure(
                f"{window.voltage(limit):.1f} V",
                f"battery with both motors at {limit:.0f} A",
                f"at rest {window.rest_v:.1f} V",
            ),
            Figure(
                f"{window.least_v:.1f} V",
                "least voltage of the battery",
                f"{cells} cells x {each:g} V",
            ),
        ]

    def settings(self, tune: Tune) -> list[Setting]:
        """Numbers to carry to the record."""
        window = self.window(tune)
        suggested = window.suggested
        return [
            Setting(
                "Least voltage",
                f"{window.least_v:.1f} V",
                f"{tune.supply.cells} cells x {tune.supply.cut_off_v_per_cell:g} V. For lead-acid "
                "1.75 V is usual (trade articles). About 20 V on a 24 V machine is common "
                "practice, no source.",
            ),
            Setting(
                "Current limit, each motor",
                "none will do" if suggested is None else f"{suggested:.0f} A",
                _why(window) + " The drive's and the motors' own ratings may be lower.",
            ),
        ]


def _of_limit(window: CurrentWindow, limit: float) -> str:
    """What the limit as set does."""
    volts = window.voltage(limit)
    if volts < window.least_v:
        return (
            f"The limit of {limit:.0f} A lets both motors pull the battery to {volts:.1f} V, under "
            "its least: the drive may restart while driving (workbook 04)."
        )
    if window.climbs is not None and limit < window.climbs:
        return f"The limit of {limit:.0f} A does not hold the machine on its steepest slope."
    return f"The limit of {limit:.0f} A keeps the battery at {volts:.1f} V or more."


def _why(window: CurrentWindow) -> str:
    if window.suggested is None:
        return "At rest the battery is already at its least."
    if window.spins is not None and window.suggested >= window.spins - 1.0:
        return f"Just where the wheels spin; the battery gives out at {window.sags:.0f} A."
    return f"The battery gives out at {window.sags:.0f} A on a bad day: never more than that."
