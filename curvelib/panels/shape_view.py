"""The picture of a shape: curve, slope, and the slow end as the steps it really has."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from curvelib.odd import OddCurve
from curvelib.panels.look import (
    COMPARISON,
    NOTE_SIZE,
    PALETTE,
    QUIET,
    SERIES,
    LineLook,
    style_axes,
)
from curvelib.panels.picture import Picture
from curvelib.panels.units import Units
from curvelib.params import FloatArray

WIDTH, HEIGHT = 900, 600
_TRAVEL = np.linspace(0.0, 1.0, 401)
# Of the stick's travel, the part that is looked at closely.
_CLOSE_UP = 0.5
_STEEPEST = 4.0


@dataclass(frozen=True)
class Stair:
    """What each stick step gives: travel 0..1 and speed in m/s."""

    travel: FloatArray
    speed: FloatArray


class ShapeView:
    """Draws one stick's shape beside the saved one and the plain linear stick.

    Parameters
    ----------
    units : Units
        Of the speeds.
    """

    def __init__(self, units: Units) -> None:
        self._units = units
        self.picture = Picture(WIDTH, HEIGHT)
        grid = self.picture.figure.add_gridspec(
            2, 2, left=0.085, right=0.975, top=0.935, bottom=0.095, hspace=0.5, wspace=0.24
        )
        figure = self.picture.figure
        self._curve = figure.add_subplot(grid[0, 0])
        self._slope = figure.add_subplot(grid[0, 1])
        self._close = figure.add_subplot(grid[1, :])
        self._furnish()
        self._make_moving()

    def _furnish(self) -> None:
        speed_unit = self._units.of("m/s").unit
        style_axes(self._curve, "stick travel (%)", "command (%)", "Stick to command")
        style_axes(self._slope, "stick travel (%)", "slope", "How strongly the stick acts")
        style_axes(
            self._close, "stick travel (%)", f"speed ({speed_unit})", "The slow end, step by step"
        )
        self._curve.set(xlim=(0, 100), ylim=(0, 102))
        self._slope.set(xlim=(0, 100), ylim=(0, _STEEPEST))
        self._close.set(xlim=(0, 100 * _CLOSE_UP), ylim=(0, 1))
        percent = 100.0 * _TRAVEL
        self._curve.plot(percent, percent, **COMPARISON.keywords())
        self._slope.plot(percent, np.ones_like(percent), **COMPARISON.keywords())

    def _make_moving(self) -> None:
        moving = self.picture.moving
        now, before = SERIES[0].keywords(), SERIES[3].keywords()
        self._was = moving(self._curve.plot([], [], **before)[0])
        self._is = moving(self._curve.plot([], [], **now)[0])
        self._slope_was = moving(self._slope.plot([], [], **before)[0])
        self._slope_is = moving(self._slope.plot([], [], **now)[0])
        band = LineLook(PALETTE["green"], "-.", 1.4).keywords()
        self._band = moving(self._close.plot([], [], **band)[0])
        self._stair_linear = moving(
            self._close.plot([], [], drawstyle="steps-post", **COMPARISON.keywords())[0]
        )
        self._stair = moving(self._close.plot([], [], drawstyle="steps-post", **now)[0])
        self._legend()

    def _legend(self) -> None:
        """One legend serves all three axes, since each line looks the same in each."""
        handles = [self._is, self._was, self._curve.lines[0]]
        self._curve.legend(
            handles,
            ["now", "as saved", "plain linear"],
            loc="upper left",
            fontsize=11,
            frameon=False,
            borderaxespad=0.2,
        )

    def draw(
        self,
        shape: OddCurve,
        saved: OddCurve,
        stair: Stair,
        linear: Stair,
        band: float,
    ) -> None:
        """Move the lines.

        Parameters
        ----------
        shape, saved : OddCurve
            As it is now, and as it is in the file.
        stair, linear : Stair
            Stick steps now and with a plain linear stick.
        band : float
            Upper end of the slow band, m/s.
        """
        percent = 100.0 * _TRAVEL
        self._is.set_data(percent, 100.0 * shape(_TRAVEL))
        self._was.set_data(percent, 100.0 * saved(_TRAVEL))
        for line, curve in ((self._slope_is, shape), (self._slope_was, saved)):
            line.set_data(percent, np.minimum(curve.slope(_TRAVEL), 2.0 * _STEEPEST))
        self._draw_stairs(stair, linear, band)

    def _draw_stairs(self, stair: Stair, linear: Stair, band: float) -> None:
        size = self._units.of("m/s").size
        top = 1.5 * band / size
        if self._close.get_ylim()[1] != top:
            self._close.set_ylim(0.0, top)
        for line, one in ((self._stair, stair), (self._stair_linear, linear)):
            near = one.travel <= 1.05 * _CLOSE_UP
            line.set_data(100.0 * one.travel[near], one.speed[near] / size)
        self._band.set_data([0.0, 100.0 * _CLOSE_UP], [band / size, band / size])
        words = f"slow band: up to {self._units.text(band, 'm/s')}, dash-dotted"
        # Words cost more than lines, so this belongs to what is drawn once.
        if self._close.get_title(loc="right") != words:
            self._close.set_title(words, loc="right", fontsize=NOTE_SIZE, color=QUIET, pad=10.0)
