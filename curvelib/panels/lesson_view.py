"""The pictures of the lesson, one idea each, and the same as files for a page of text."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Any, ClassVar

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from curvelib.curves import Linear
from curvelib.odd import OddCurve
from curvelib.panels.look import COMPARISON, NOTE_SIZE, PALETTE, SERIES, LineLook, style_axes
from curvelib.panels.picture import Picture
from curvelib.panels.units import Units
from curvelib.params import FloatArray
from curvelib.practice.lesson import (
    AS_STEEP_AS_STRAIGHT,
    EXAMPLE_TOP_M_S,
    EXAMPLE_WANTED_M_S,
    Lesson,
    shaking_sample,
    softer,
    target_on_stick,
)
from curvelib.practice.operator import Hand
from curvelib.stick import Stick

WIDTH, HEIGHT = 860, 330
TARGET, HALF_WIDTH = 0.1, 0.02
_FRAME_S = 0.02
_TIME = np.arange(0.0, 4.0, _FRAME_S)
_SHAKING = shaking_sample(len(_TIME), _FRAME_S, Hand())
_TRAVEL = np.linspace(0.0, 1.0, 201)
_COMMAND = np.linspace(0.01, 1.0, 200)
_STRAIGHT = Linear()
_WANTED = EXAMPLE_WANTED_M_S / EXAMPLE_TOP_M_S
_MARK = LineLook(PALETTE["green"], "-.", 1.6)


class LessonView(ABC):
    """One picture of the lesson, moved by one number.

    Parameters
    ----------
    units : Units
        Of the speeds.
    """

    name: ClassVar[str]

    def __init__(self, units: Units) -> None:
        self._units = units
        self._size = units.of("m/s").size / EXAMPLE_TOP_M_S
        self._speed_label = f"speed ({units.of('m/s').unit})"
        self.picture = Picture(WIDTH, HEIGHT)
        self._furnish()
        self.draw(getattr(Lesson(), self.name))

    @abstractmethod
    def _furnish(self) -> None:
        """Draw what stays and make what moves."""

    @abstractmethod
    def draw(self, value: float) -> None:
        """Move the lines to one value of the step's slider."""

    def _axes(self, places: int) -> list[Axes]:
        grid = self.picture.figure.add_gridspec(
            1, places, left=0.095, right=0.975, top=0.87, bottom=0.19, wspace=0.27
        )
        return [self.picture.figure.add_subplot(grid[0, place]) for place in range(places)]

    def _moving(self, axes: Axes, look: LineLook, **more: Any) -> Line2D:
        return self.picture.moving(axes.plot([], [], **look.keywords(), **more)[0])

    def _speed(self, command: FloatArray | float) -> FloatArray:
        return np.asarray(command) / self._size

    def _legend(self, axes: Axes, place: Any, *named: tuple[Line2D, str]) -> None:
        look: dict[str, Any] = {"fontsize": NOTE_SIZE, "frameon": False, "borderaxespad": 0.2}
        lines, words = [line for line, _ in named], [word for _, word in named]
        axes.legend(lines, words, loc=place, **look)


class ThumbView(LessonView):
    """A shaking thumb and the speed that follows it."""

    name = "tremor"

    def _furnish(self) -> None:
        thumb, speed = self._axes(2)
        style_axes(thumb, "time (s)", "thumb (% of travel)", "What the thumb does")
        style_axes(speed, "time (s)", self._speed_label, "What a straight stick makes of it")
        low, high = -0.4, 0.4
        thumb.set(xlim=(0, 4), ylim=(100 * low, 100 * high))
        speed.set(xlim=(0, 4), ylim=(self._speed(low), self._speed(high)))
        wanted = thumb.axhline(100 * _WANTED, **_MARK.keywords())
        speed.axhline(float(self._speed(_WANTED)), **_MARK.keywords())
        self._thumb, self._machine = self._moving(thumb, SERIES[0]), self._moving(speed, SERIES[1])
        self._legend(thumb, "lower left", (self._thumb, "thumb"), (wanted, "wanted"))

    def draw(self, value: float) -> None:
        """Shake by a tremor."""
        thumb = _WANTED + value * _SHAKING
        self._thumb.set_data(_TIME, 100.0 * thumb)
        self._machine.set_data(_TIME, self._speed(_STRAIGHT(thumb)))


class StepsView(LessonView):
    """The speeds a stick with few positions can ask for."""

    name = "steps"
    _SHOWN = 0.2

    def _furnish(self) -> None:
        (axes,) = self._axes(1)
        style_axes(axes, "stick travel (%)", self._speed_label, "Every speed you can ask for")
        axes.set(xlim=(0, 100 * self._SHOWN), ylim=(0, self._speed(1.05 * self._SHOWN)))
        wanted = axes.axhline(float(self._speed(_WANTED)), **_MARK.keywords())
        ideal = axes.plot([0, 100], self._speed(np.array([0.0, 1.0])), **COMPARISON.keywords())[0]
        self._stair = self._moving(axes, SERIES[0], drawstyle="steps-mid", marker="o")
        named = (self._stair, "in steps"), (ideal, "without steps"), (wanted, "wanted")
        self._legend(axes, "upper left", *named)

    def draw(self, value: float) -> None:
        """Show a number of steps."""
        travel = positions(whole_odd(value))
        near = travel <= 1.5 * self._SHOWN
        self._stair.set_data(100.0 * travel[near], self._speed(travel[near]))


class SlopeView(LessonView):
    """What the first slope does to steps and to shaking."""

    name = "blend"
    _SHOWN = 0.3

    def _furnish(self) -> None:
        stair, speed = self._axes(2)
        style_axes(stair, "stick travel (%)", self._speed_label, "Steps")
        style_axes(speed, "time (s)", self._speed_label, "Shaking")
        stair.set(xlim=(0, 100 * self._SHOWN), ylim=(0, self._speed(self._SHOWN)))
        speed.set(xlim=(0, 4), ylim=(self._speed(0.0), self._speed(0.2)))
        travel = positions(Lesson().steps)
        self._travel = travel[travel <= 1.5 * self._SHOWN]
        shaken = self._speed(_WANTED + Lesson().tremor * _SHAKING)
        stay = {"drawstyle": "steps-mid", **COMPARISON.keywords()}
        straight = stair.plot(100.0 * self._travel, self._speed(self._travel), **stay)[0]
        speed.plot(_TIME, shaken, **COMPARISON.keywords())
        self._stair = self._moving(stair, SERIES[0], drawstyle="steps-mid", marker=".")
        self._shaken = self._moving(speed, SERIES[0])
        self._legend(stair, "upper left", (self._stair, "softer"), (straight, "straight"))

    def draw(self, value: float) -> None:
        """Show a softness."""
        shape = softer(value)
        thumb = shape.inverse(_WANTED)
        self._stair.set_data(100.0 * self._travel, self._speed(shape(self._travel)))
        self._shaken.set_data(_TIME, self._speed(shape(thumb + Lesson().tremor * _SHAKING)))


class PriceView(LessonView):
    """What a softer centre costs at the far end."""

    name = "price"

    def _furnish(self) -> None:
        slope, shaking = self._axes(2)
        style_axes(slope, "stick travel (%)", "slope", "How strongly the stick acts")
        style_axes(
            shaking,
            self._speed_label,
            f"shaking ({self._units.of('m/s').unit})",
            "Shaking by speed",
        )
        slope.set(xlim=(0, 100), ylim=(0, 3))
        shaking.set(xlim=(0, self._speed(1.0)), ylim=(0, self._speed(0.06)))
        slope.axvline(100.0 * AS_STEEP_AS_STRAIGHT, **_MARK.keywords())
        straight = slope.plot(100.0 * _TRAVEL, np.ones_like(_TRAVEL), **COMPARISON.keywords())[0]
        level = np.full_like(_TRAVEL, Lesson().tremor)
        shaking.plot(self._speed(_TRAVEL), self._speed(level), **COMPARISON.keywords())
        self._slope, self._shaking = (
            self._moving(slope, SERIES[0]),
            self._moving(shaking, SERIES[0]),
        )
        self._even = self._moving(shaking, _MARK)
        self._legend(slope, "upper left", (self._slope, "softer"), (straight, "straight"))

    def draw(self, value: float) -> None:
        """Show a softness."""
        shape = softer(value)
        slope = shape.slope(_TRAVEL)
        self._slope.set_data(100.0 * _TRAVEL, slope)
        self._shaking.set_data(self._speed(shape(_TRAVEL)), self._speed(Lesson().tremor * slope))
        even = float(self._speed(shape(AS_STEEP_AS_STRAIGHT)))
        self._even.set_data([even, even], self._speed(np.array([0.0, 0.06])))


class GrowingView(LessonView):
    """Shaking that grows with the deflection, through a straight and a softer stick."""

    name = "growing"

    def _furnish(self) -> None:
        speed, shaking = self._axes(2)
        style_axes(speed, "time (s)", self._speed_label, "At a slow speed")
        style_axes(
            shaking,
            self._speed_label,
            f"shaking ({self._units.of('m/s').unit})",
            "Shaking by speed",
        )
        speed.set(xlim=(0, 4), ylim=(self._speed(0.0), self._speed(0.2)))
        shaking.set(xlim=(0, self._speed(1.0)), ylim=(0, self._speed(0.3)))
        # The straight one last: it lies on the softer one, and both should be seen.
        self._lines, self._rms = (
            (self._moving(axes, SERIES[0]), self._moving(axes, COMPARISON))
            for axes in (speed, shaking)
        )
        self._legend(shaking, "upper left", (self._rms[0], "softer"), (self._rms[1], "straight"))

    def draw(self, value: float) -> None:
        """Shake by a share of the deflection."""
        for shape, line, rms in zip(
            (softer(Lesson().blend), _STRAIGHT), self._lines, self._rms, strict=True
        ):
            thumb = shape.inverse(_WANTED)
            line.set_data(_TIME, self._speed(shape(thumb * (1.0 + value * _SHAKING))))
            held = shape.inverse(_COMMAND)
            rms.set_data(self._speed(_COMMAND), self._speed(value * held * shape.slope(held)))


class TargetView(LessonView):
    """A band of speeds to hit, as the thumb meets it on a straight and on a softer stick."""

    name = "target"

    def _furnish(self) -> None:
        curve, bits = self._axes(2)
        style_axes(curve, "stick travel (%)", self._speed_label, "The same band of speeds")
        style_axes(bits, "softness", "difficulty (bits)", "How hard it is to hit")
        curve.set(xlim=(0, 75), ylim=(0, self._speed(0.2)))
        bits.set(xlim=(0, 0.92), ylim=(1.6, 2.8))
        band = self._speed(np.array([TARGET - HALF_WIDTH, TARGET + HALF_WIDTH]))
        curve.axhspan(*band, color="#DDEFE8", linewidth=0)
        curve.plot(100.0 * _TRAVEL, self._speed(_TRAVEL), **COMPARISON.keywords())
        blends = np.linspace(0.0, 0.9, 91)
        index = [target_on_stick(softer(blend), TARGET, HALF_WIDTH).difficulty for blend in blends]
        bits.plot(blends, index, **SERIES[0].keywords())
        self._curve = self._moving(curve, SERIES[0])
        self._edges = [self._moving(curve, look) for look in (COMPARISON, _MARK)]
        self._now = self._moving(bits, SERIES[1], marker="o", markersize=10)
        named = (self._curve, "softer"), (self._edges[1], "its band")
        self._legend(curve, "lower right", *named)

    def draw(self, value: float) -> None:
        """Show a softness."""
        self._curve.set_data(100.0 * _TRAVEL, self._speed(softer(value)(_TRAVEL)))
        for shape, edges in zip((_STRAIGHT, softer(value)), self._edges, strict=True):
            edges.set_data(*self._down(shape))
        found = target_on_stick(softer(value), TARGET, HALF_WIDTH)
        self._now.set_data([value], [found.difficulty])

    def _down(self, shape: OddCurve) -> tuple[list[float], list[float]]:
        """From both edges of the band on the curve straight down to the travel."""
        across: list[float] = []
        up: list[float] = []
        for edge in (TARGET - HALF_WIDTH, TARGET + HALF_WIDTH):
            thumb, speed = 100.0 * float(shape.inverse(edge)), float(self._speed(edge))
            across += [thumb, thumb, np.nan]
            up += [0.0, speed, np.nan]
        return across, up


VIEWS: dict[str, type[LessonView]] = {
    view.name: view
    for view in (ThumbView, StepsView, SlopeView, PriceView, GrowingView, TargetView)
}


def whole_odd(steps: float) -> int:
    """Whole number of positions of which one lies at the centre."""
    return int(steps) | 1


def positions(steps: int) -> FloatArray:
    """Stick positions from 0 to 1 of a transmitter that sends so many end to end."""
    stick = Stick(1000.0, 1500.0, 2000.0, steps=steps)
    sent = np.asarray(stick.position(np.linspace(1000.0, 2000.0, steps)))
    return np.unique(sent[sent >= 0.0])


def lesson_figures(units: Units | None = None) -> dict[str, bytes]:
    """Every picture of the lesson as a PNG file, by name, each at its slider's first value."""
    made = {name: view(units or Units()) for name, view in VIEWS.items()}
    return {f"lesson_{name}": view.picture.png() for name, view in made.items()}
