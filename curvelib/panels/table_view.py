"""The picture of a table: the curve and its points, and the error between them, magnified."""

from __future__ import annotations

from typing import Any

import numpy as np

from curvelib.odd import OddCurve
from curvelib.panels.look import COMPARISON, NOTE_SIZE, QUIET, SERIES, style_axes
from curvelib.panels.picture import Picture
from curvelib.params import FloatArray
from curvelib.tables import Table

WIDTH, HEIGHT = 900, 440
_TRAVEL = np.linspace(0.0, 1.0, 801)
# Heights of the error's axes, in percent of full; the least that holds the error is taken.
_SCALES = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)


class TableView:
    """Draws one table beside the exact curve, and its error beside the other spacing's."""

    def __init__(self) -> None:
        self.picture = Picture(WIDTH, HEIGHT)
        grid = self.picture.figure.add_gridspec(
            1, 2, left=0.085, right=0.975, top=0.9, bottom=0.15, wspace=0.27
        )
        self._curve = self.picture.figure.add_subplot(grid[0, 0])
        self._error = self.picture.figure.add_subplot(grid[0, 1])
        style_axes(self._curve, "stick travel (%)", "command (%)", "Curve and table")
        style_axes(self._error, "stick travel (%)", "error (% of full)", "The error")
        self._curve.set(xlim=(0, 100), ylim=(0, 102))
        self._error.set(xlim=(0, 100), ylim=(-1, 1))
        self._make_moving()

    def _make_moving(self) -> None:
        moving = self.picture.moving
        points: dict[str, Any] = SERIES[0].keywords() | {"marker": "o", "markersize": 4.5}
        self._exact = moving(self._curve.plot([], [], **COMPARISON.keywords())[0])
        self._points = moving(self._curve.plot([], [], **points)[0])
        self._other = moving(self._error.plot([], [], **SERIES[1].keywords())[0])
        self._mine = moving(self._error.plot([], [], **SERIES[0].keywords())[0])
        self._at_points = moving(
            self._error.plot([], [], "o", color=SERIES[0].colour, markersize=4.5)[0]
        )
        self._curve.legend(
            [self._points, self._exact],
            ["table, read by straight lines", "exact curve"],
            loc="upper left",
            fontsize=11,
            frameon=False,
        )

    def draw(self, shape: OddCurve, table: Table, other: Table) -> None:
        """Move the lines.

        Parameters
        ----------
        shape : OddCurve
            The exact curve.
        table, other : Table
            The table chosen, and the one of the other spacing with as many points.
        """
        middle = table.segments
        x, y = table.x[middle:], table.y[middle:]
        exact = shape(_TRAVEL)
        self._exact.set_data(100.0 * _TRAVEL, 100.0 * exact)
        self._points.set_data(100.0 * x, 100.0 * y)
        # The points themselves belong to the samples, or a sharp tip would be cut.
        at = np.union1d(_TRAVEL, x)
        self._mine.set_data(100.0 * at, _error(shape, table, at))
        at_other = np.union1d(_TRAVEL, other.x[middle:])
        self._other.set_data(100.0 * at_other, _error(shape, other, at_other))
        self._at_points.set_data(100.0 * x, 100.0 * (y - shape(x)))
        self._scale(max(table.max_error, other.max_error), other.spacing)

    def _scale(self, largest: float, other: str) -> None:
        top = next((one for one in _SCALES if one >= 105.0 * largest), 100.0)
        if self._error.get_ylim()[1] != top:
            self._error.set_ylim(-top, top)
        words = f"{other} spacing dashed"
        if self._error.get_title(loc="right") != words:
            self._error.set_title(words, loc="right", fontsize=NOTE_SIZE, color=QUIET, pad=10.0)


def _error(shape: OddCurve, table: Table, at: FloatArray) -> FloatArray:
    return np.asarray(100.0 * (table.lookup(at) - shape(at)))
