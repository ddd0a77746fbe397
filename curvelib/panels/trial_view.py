"""The pictures of the trials: a few tries over time, how all of them ended, what assumptions do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.patches import Rectangle
from matplotlib.ticker import NullLocator

from curvelib.panels.look import (
    COMPARISON,
    GRID,
    INK,
    NOTE_SIZE,
    PALETTE,
    SERIES,
    TICK_SIZE,
    LineLook,
    style_axes,
)
from curvelib.panels.picture import Picture
from curvelib.panels.units import Units
from curvelib.params import FloatArray, Param, params_of
from curvelib.practice.operator import Hand, Operator
from curvelib.practice.plan import Outcome, Trace
from curvelib.practice.results import MEASURES
from curvelib.practice.sensitivity import TRIED, Tried

WIDTH, HEIGHT = 900, 360
TALL = 660
TRIES = 4
_CLOSE_UP = (-0.1, 0.4)  # m to go
_HOW_TO_READ = (
    "Below the dashed line the shape helps, above it hurts; in the grey it does not matter. "
    "Large dot: as set."
)
_MARK = LineLook(PALETTE["green"], "-.", 1.6)
ASSUMPTIONS: dict[str, Param] = {
    name: param for part in (Hand, Operator) for name, param in params_of(part).items()
}


class TrialView:
    """A few tries over time, and the final error and the time of all as running shares.

    Parameters
    ----------
    units : Units
        Of the lengths.
    """

    def __init__(self, units: Units) -> None:
        self._unit, self._size = fine_length(units)
        self.picture = Picture(WIDTH, HEIGHT)
        grid = self.picture.figure.add_gridspec(
            1, 3, left=0.095, right=0.975, top=0.88, bottom=0.17, wspace=0.38
        )
        made = [self.picture.figure.add_subplot(grid[0, place]) for place in range(3)]
        self._tries, self._error, self._time = made
        self._furnish()
        looks = (COMPARISON, SERIES[0])
        self._lines = [self._moving(axes, looks) for axes in (self._error, self._time)]
        thin = [LineLook(look.colour, look.style, 1.3) for look in looks]
        self._over_time = [self._moving(self._tries, thin) for _ in range(TRIES)]
        self._legend()

    def _furnish(self) -> None:
        style_axes(self._tries, "time (s)", f"to go ({self._unit})", "Four of the tries")
        style_axes(self._error, f"at most ({self._unit})", "share of tries (%)", "Final error")
        style_axes(self._time, "at most (s)", "share of tries (%)", "Time to park")
        low, high = (end / self._size for end in _CLOSE_UP)
        self._tries.set(xlim=(0, 10), ylim=(low, high))
        self._tries.axhline(0.0, **_MARK.keywords())
        self._error.set(xlim=(0, 0.05 / self._size), ylim=(0, 102))
        self._time.set(xlim=(0, 10), ylim=(0, 102))

    def _moving(self, axes: Axes, looks: Sequence[LineLook]) -> list[Any]:
        return [self.picture.moving(axes.plot([], [], **look.keywords())[0]) for look in looks]

    def _legend(self) -> None:
        straight, shaped = self._lines[0]
        look: dict[str, Any] = {"fontsize": NOTE_SIZE, "frameon": False, "borderaxespad": 0.2}
        self._error.legend([shaped, straight], ["shaped", "straight"], loc="lower right", **look)

    def draw(self, ended: Sequence[Outcome], traces: Sequence[Sequence[Trace]], way: float) -> None:
        """Show what came out.

        Parameters
        ----------
        ended : two Outcomes
            Straight stick first, then the shaped one.
        traces : two sequences of Trace
            The first tries of each.
        way : float
            From the start to the place to park, m.
        """
        for which, outcome in enumerate(ended):
            self._lines[0][which].set_data(*_running(outcome.error_m / self._size))
            self._lines[1][which].set_data(*_running(outcome.time_s))
            for lines, trace in zip(self._over_time, traces[which], strict=False):
                to_go = (way - trace.along_m) / self._size
                lines[which].set_data(0.02 * np.arange(1, len(to_go) + 1), to_go)
        self._fit(ended)

    def _fit(self, ended: Sequence[Outcome]) -> None:
        """Widen the axes to what came out; between runs only, nothing is being dragged then."""
        worst = max(float(np.quantile(one.error_m, 0.98)) for one in ended)
        self._error.set_xlim(0, _round_up(worst / self._size))
        first = min(float(one.time_s.min()) for one in ended)
        last = max(float(np.quantile(one.time_s, 0.99)) for one in ended)
        for axes in (self._tries, self._time):
            axes.set_xlim(max(0.0, np.floor(first) - 2.0), np.ceil(last) + 1.0)


class SensitivityView:
    """One small picture for each assumption: the difference the shape makes over its values.

    Parameters
    ----------
    units : Units
        Of the lengths.
    """

    def __init__(self, units: Units) -> None:
        self._units = units
        self._unit, self._size = fine_length(units)
        self.picture = Picture(WIDTH, TALL)
        grid = self.picture.figure.add_gridspec(
            3, 3, left=0.09, right=0.975, top=0.93, bottom=0.09, hspace=0.72, wspace=0.3
        )
        self._shown = ""
        self._worthless: dict[Axes, Rectangle] = {}
        self._axes = {
            name: self.picture.figure.add_subplot(grid[divmod(place, 3)])
            for place, name in enumerate(TRIED)
        }
        self._parts = {name: self._furnish(name, axes) for name, axes in self._axes.items()}
        self.picture.figure.text(0.02, 0.968, _HOW_TO_READ, fontsize=10.5, color=INK)

    def _furnish(self, name: str, axes: Axes) -> tuple[Any, Any, Any]:
        param = ASSUMPTIONS[name]
        shown = self._units.of(param.unit)
        style_axes(axes, f"{param.label.lower()} ({shown.unit or 'share'})", "")
        axes.xaxis.label.set_fontsize(TICK_SIZE)
        tried = [value / shown.size for value in TRIED[name]]
        edge = 0.04 * (tried[-1] - tried[0])
        axes.set(xlim=(tried[0] - edge, tried[-1] + edge), ylim=(-1, 1))
        axes.axhline(0.0, **COMPARISON.keywords())
        self._worthless[axes] = axes.axhspan(-1, 1, color=GRID, linewidth=0, alpha=0.7)
        band = PolyCollection([], facecolor=PALETTE["sky blue"], alpha=0.4, linewidth=0)
        axes.add_collection(band)
        line = axes.plot([], [], marker="o", **SERIES[0].keywords())[0]
        own = axes.plot([], [], marker="o", markersize=11, color=PALETTE["vermilion"])[0]
        moving = self.picture.moving
        return moving(band), moving(line), moving(own)

    def draw(self, results: dict[str, list[Tried]], own: dict[str, float], measure: str) -> None:
        """Show one measure.

        Parameters
        ----------
        results : dict
            What came out by assumption, as far as it was tried.
        own : dict
            The value of each assumption in the plan itself.
        measure : str
            One of `MEASURES`.
        """
        self._scale(measure)
        size = self._size if MEASURES[measure].unit == "m" else 1.0
        for name, (band, line, dot) in self._parts.items():
            tried = results.get(name, [])
            one_unit = self._units.of(ASSUMPTIONS[name].unit).size
            values = np.array([one.value for one in tried]) / one_unit
            found = [one.found[measure].difference for one in tried]
            mean, low, high = (
                np.array([getattr(one, end) for one in found]) / size
                for end in ("value", "low", "high")
            )
            band.set_verts([_band(values, low, high)] if len(values) else [])
            line.set_data(values, mean)
            here = np.isclose(values, own[name] / one_unit)
            dot.set_data(values[here], mean[here])
            if len(values) > 1:
                edge = 0.04 * (values[-1] - values[0])
                self._axes[name].set_xlim(values[0] - edge, values[-1] + edge)

    def _scale(self, measure: str) -> None:
        """One scale for all, straight up to what is worth having, then by factors of ten."""
        if measure == self._shown:
            return
        self._shown = measure
        facts = MEASURES[measure]
        size = self._size if facts.unit == "m" else 1.0
        worth = facts.worth / size
        unit = {"m": self._unit, "s": "s", "": "times"}[facts.unit]
        for place, axes in enumerate(self._axes.values()):
            axes.set_yscale("symlog", linthresh=worth)
            axes.set_yticks([sign * worth * by for by in (1, 10) for sign in (-1, 1)] + [0.0])
            axes.yaxis.set_major_formatter("{x:g}")
            axes.yaxis.set_minor_locator(NullLocator())
            axes.set_ylim(-100 * worth, 100 * worth)
            self._worthless[axes].set(y=-worth, height=2 * worth)
            if place % 3 == 0:
                axes.set_ylabel(f"difference ({unit})", fontsize=TICK_SIZE)


def _band(values: FloatArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """Outline of the uncertain band."""
    return np.column_stack(
        [np.concatenate([values, values[::-1]]), np.concatenate([low, high[::-1]])]
    )


def _running(values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Ascending values, and the share of tries (%) that end at or below each."""
    ascending = np.sort(values)
    return ascending, 100.0 * np.arange(1, len(values) + 1) / len(values)


def _round_up(value: float) -> float:
    """A round number at or above a positive value."""
    if value <= 0.0:
        return 0.01
    size = 10.0 ** np.floor(np.log10(value))
    return float(
        next(step * size for step in (1.0, 1.5, 2.0, 3.0, 5.0, 10.0) if step * size >= value)
    )


def fine_length(units: Units) -> tuple[str, float]:
    """Unit for a small length and its size in m."""
    return ("in", 0.0254) if units.length == "in" else ("mm", 0.001)
