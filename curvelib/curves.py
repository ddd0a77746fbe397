"""Shaping stages: how stick movement becomes a smaller or larger command.

Every stage is odd, continuous and non-decreasing, maps 0 to 0 and -1..1 into
-1..1, is immutable and equal by value.  The formulas in the docstrings hold
for 0 <= x <= 1; the negative side is the mirror image.
"""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar

import numpy as np

from curvelib.odd import OddCurve
from curvelib.params import Checked, FloatArray, Param

if TYPE_CHECKING:
    from curvelib.shape import Shape


class Stage(Checked, OddCurve):
    """Base of all stages.  ``a >> b`` makes a `Shape` that runs `a`, then `b`."""

    kind: ClassVar[str]
    what_it_does: ClassVar[str]

    @abstractmethod
    def _last(self, y: FloatArray) -> FloatArray:
        """Largest x in 0..1 whose value is at most y."""

    def _steepness_range(self, a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Ends of the slope where it rises or falls throughout between two knots."""
        at_a, at_b = self._steepness(a), self._steepness(b)
        return np.minimum(at_a, at_b), np.maximum(at_a, at_b)

    @property
    def knots(self) -> tuple[float, ...]:
        """Positions in 0..1, ends excluded, where the formula changes, ascending."""
        return ()

    @property
    def starts_at(self) -> float:
        """Where motion begins: the largest position in 0..1 whose value is still 0."""
        return float(self._last(np.zeros(())))

    @property
    def first_slope(self) -> float:
        """Slope just beyond `starts_at`."""
        return float(self._steepness(np.asarray(self.starts_at)))

    def __rshift__(self, other: OddCurve) -> Shape:
        """Run this stage, then the other stage or shape."""
        from curvelib.shape import Shape

        return Shape([self]) >> other


class _Strict(Stage):
    """A stage that rises everywhere, so that its inverse is unique."""

    def _last(self, y: FloatArray) -> FloatArray:
        top = self._rise(np.ones(()))
        return np.where(y >= top, 1.0, np.clip(self._undo(np.minimum(y, top)), 0.0, 1.0))


@dataclass(frozen=True)
class Linear(_Strict):
    """The plain stick: y = x."""

    kind: ClassVar[str] = "linear"
    what_it_does: ClassVar[str] = "leaves the stick as it is"

    def _rise(self, x: FloatArray) -> FloatArray:
        return x * 1.0

    def _steepness(self, x: FloatArray) -> FloatArray:
        return np.ones_like(x)

    def _undo(self, y: FloatArray) -> FloatArray:
        return y * 1.0


@dataclass(frozen=True)
class CubicBlend(_Strict):
    """A straight line blended with a cube: y = (1 - blend) x + blend x^3.

    Slope 1 - blend at the centre and 1 + 2 blend at the end; every blend has
    slope 1 at x = 1/sqrt(3).  Where a transmitter offers "30 % expo" it is
    usually this with 0.3, but makers differ (common practice, no source).

    Parameters
    ----------
    blend : float
        Share of the cube, 0..1.
    """

    kind: ClassVar[str] = "cubic blend"
    what_it_does: ClassVar[str] = "softens the centre; the end gets steeper by twice as much"

    blend: Annotated[
        float,
        Param(
            0.0,
            1.0,
            0.01,
            "Blend",
            "0 is a straight line; more makes the centre softer and the end steeper.",
        ),
    ]

    def _weights(self) -> tuple[float, float]:
        """Line and cube weights that add up to exactly 1, so that full stick gives exactly 1."""
        line = 1.0 - self.blend
        return line, 1.0 - line

    def _rise(self, x: FloatArray) -> FloatArray:
        line, cube = self._weights()
        return x * (line + cube * (x * x))

    def _steepness(self, x: FloatArray) -> FloatArray:
        line, cube = self._weights()
        return line + 3.0 * cube * (x * x)

    def _undo(self, y: FloatArray) -> FloatArray:
        line, cube = self._weights()
        if cube == 0.0:
            return y * 1.0
        if line == 0.0:
            return np.cbrt(y)
        # The one real root of a cubic with no negative coefficient, by sinh.
        p = line / cube
        inner = 3.0 * y / (2.0 * line) * np.sqrt(3.0 / p)
        return np.asarray(2.0 * np.sqrt(p / 3.0) * np.sinh(np.arcsinh(inner) / 3.0))


@dataclass(frozen=True)
class Expo(_Strict):
    """Exponential curve: y = (e^(gain x) - 1) / (e^gain - 1).

    Gain 0 is its limit, the straight line.  The slope at the centre is
    gain / (e^gain - 1), at the end e^gain times that.

    Parameters
    ----------
    gain : float
        How strongly the curve bends, 0..8.
    """

    kind: ClassVar[str] = "expo"
    what_it_does: ClassVar[str] = "softens the centre; keeps getting steeper all the way out"

    gain: Annotated[
        float,
        Param(0.0, 8.0, 0.1, "Gain", "0 is a straight line; more makes the centre softer."),
    ]

    # Below this the curve and the straight line are the same double.
    _STRAIGHT: ClassVar[float] = 1e-17

    def _rise(self, x: FloatArray) -> FloatArray:
        if self.gain < self._STRAIGHT:
            return x * 1.0
        # expm1 keeps all digits where e^(gain x) is close to 1.
        return np.asarray(np.expm1(self.gain * x) / np.expm1(self.gain))

    def _steepness(self, x: FloatArray) -> FloatArray:
        if self.gain < self._STRAIGHT:
            return np.ones_like(x)
        return np.asarray(self.gain * np.exp(self.gain * x) / np.expm1(self.gain))

    def _undo(self, y: FloatArray) -> FloatArray:
        if self.gain < self._STRAIGHT:
            return y * 1.0
        return np.asarray(np.log1p(y * np.expm1(self.gain)) / self.gain)


# Nearer to the edge of a dead zone than this, a position is at the edge.
_EDGE = 1e-12


@dataclass(frozen=True)
class Deadband(Stage):
    """A zone around the centre that gives exactly 0, the rest stretched to full.

    y = 0 for x <= width, else (x - width) / (1 - width).

    Parameters
    ----------
    width : float
        Half width of the dead zone as a share of stick travel, 0..0.5.
    """

    kind: ClassVar[str] = "deadband"
    what_it_does: ClassVar[str] = "ignores small movements around the centre"

    width: Annotated[
        float,
        Param(
            0.0,
            0.5,
            0.005,
            "Dead zone",
            "Share of the travel around the centre in which nothing moves.",
        ),
    ]

    def _rise(self, x: FloatArray) -> FloatArray:
        return np.where(x <= self.width, 0.0, (x - self.width) / (1.0 - self.width))

    def _steepness(self, x: FloatArray) -> FloatArray:
        # A stage before this one may reach the edge but for rounding: that is the edge.
        return np.where(x < self.width - _EDGE, 0.0, 1.0 / (1.0 - self.width))

    def _steepness_range(self, a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
        slope = self._steepness(0.5 * (a + b))
        return slope, slope

    def _undo(self, y: FloatArray) -> FloatArray:
        return np.where(y > 0.0, self._last(y), 0.0)

    def _last(self, y: FloatArray) -> FloatArray:
        return np.minimum(self.width + y * (1.0 - self.width), 1.0)

    @property
    def knots(self) -> tuple[float, ...]:
        """The edge of the dead zone."""
        return (self.width,) if self.width > 0.0 else ()


@dataclass(frozen=True)
class Limit(_Strict):
    """A lower top: y = top x.

    Parameters
    ----------
    top : float
        Value at full stick, 0.05..1.
    """

    kind: ClassVar[str] = "limit"
    what_it_does: ClassVar[str] = "lowers the speed at full stick"

    top: Annotated[
        float,
        Param(
            0.05,
            1.0,
            0.01,
            "Top",
            "Value at full stick. A ramp reaches a top of 0.6 in 0.6 of its time to full.",
        ),
    ]

    def _rise(self, x: FloatArray) -> FloatArray:
        return self.top * x

    def _steepness(self, x: FloatArray) -> FloatArray:
        return np.full_like(x, self.top)

    def _undo(self, y: FloatArray) -> FloatArray:
        return y / self.top


_KNEE = Param(
    0.0, 1.0, 0.01, "Knee", "Where the slow zone ends: stick position and value there.", inside=True
)


@dataclass(frozen=True)
class TwoZone(_Strict):
    """A straight slow zone up to a knee, then a parabola to (1, 1), slope continuous.

    With m = knee_y / knee_x: y = m x up to the knee, then
    knee_y + m (x - knee_x) + q (x - knee_x)^2, q = (1 - m) / (1 - knee_x)^2.
    Non-decreasing where knee_y <= 2 knee_x / (1 + knee_x); others are refused.

    Parameters
    ----------
    knee_x, knee_y : float
        Stick position and value at the knee, both above 0 and below 1.
    """

    kind: ClassVar[str] = "two zone"
    what_it_does: ClassVar[str] = "gives a straight slow zone, then bends up to full"

    knee_x: Annotated[float, _KNEE]
    knee_y: Annotated[float, _KNEE]

    def __post_init__(self) -> None:
        """Refuse a knee so high that the curve would have to come down again."""
        super().__post_init__()
        highest = 2.0 * self.knee_x / (1.0 + self.knee_x)
        if self.knee_y > highest:
            raise ValueError(
                f"TwoZone: knee_y = {self.knee_y:g} is too high for knee_x = {self.knee_x:g}, "
                f"the curve would fall before full stick; give at most {highest:.4g}."
            )

    @property
    def _slow_slope(self) -> float:
        return self.knee_y / self.knee_x

    def _beyond(self, x: FloatArray) -> FloatArray:
        return np.maximum(x - self.knee_x, 0.0) / (1.0 - self.knee_x)

    def _rise(self, x: FloatArray) -> FloatArray:
        m, beyond = self._slow_slope, self._beyond(x)
        value = np.minimum(m * x + (1.0 - m) * beyond * beyond, 1.0)
        return np.where(x >= 1.0, 1.0, value)

    def _steepness(self, x: FloatArray) -> FloatArray:
        m = self._slow_slope
        slope = m + 2.0 * (1.0 - m) * self._beyond(x) / (1.0 - self.knee_x)
        return np.maximum(slope, 0.0)

    def _undo(self, y: FloatArray) -> FloatArray:
        m = self._slow_slope
        q = (1.0 - m) / (1.0 - self.knee_x) ** 2
        above = np.maximum(y - self.knee_y, 0.0)
        # This form of the root keeps its digits when q is near 0.
        root = np.sqrt(np.maximum(m * m + 4.0 * q * above, 0.0))
        far = self.knee_x + 2.0 * above / (m + root)
        near = np.minimum(y, self.knee_y) / self.knee_y * self.knee_x
        return np.where(y <= self.knee_y, near, np.minimum(far, 1.0))

    @property
    def knots(self) -> tuple[float, ...]:
        """The knee."""
        return (self.knee_x,)
