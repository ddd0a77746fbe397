"""A stage through the builder's own points, and the slope rule that keeps it monotone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import Annotated, ClassVar, TypeVar

import numpy as np

from curvelib.curves import Stage
from curvelib.params import FloatArray, Param

Number = TypeVar("Number", float, Fraction)

# Two points closer than this are the same stick position to any stick.
CLOSEST = 0.001
MOST_POINTS = 63


def monotone_slopes(x: Sequence[Number], y: Sequence[Number]) -> list[Number]:
    """Slopes at the points that keep a piecewise cubic monotone and the curve odd.

    Inside: the weighted harmonic mean of the two neighbouring secants, or 0
    where one of them is 0 (F. N. Fritsch and J. Butland, SIAM J. Sci. Stat.
    Comput. 5 (1984) 300; from memory).  At (0, 0), where the mirror image
    joins, both neighbours are the first secant, so that is the slope.  At the
    end: the three-point formula, held within 0 and three secants.  Only
    + - * / are used, so fractions give exact slopes.

    Parameters
    ----------
    x, y : sequence of float or of Fraction
        At least two points, x ascending from 0, y non-decreasing.

    Returns
    -------
    list
        One slope a point, 0 or more.
    """
    width = [b - a for a, b in pairwise(x)]
    secant = [(b - a) / w for (a, b), w in zip(pairwise(y), width, strict=True)]
    slopes = [secant[0]]
    for k in range(1, len(width)):
        before, after = secant[k - 1], secant[k]
        if before == 0 or after == 0:
            slopes.append(before * 0)
            continue
        w1, w2 = 2 * width[k] + width[k - 1], width[k] + 2 * width[k - 1]
        slopes.append((w1 + w2) / (w1 / before + w2 / after))
    slopes.append(_end_slope(width, secant))
    return slopes


def _end_slope(width: list[Number], secant: list[Number]) -> Number:
    if len(width) == 1:
        return secant[0]
    h0, h1, d0, d1 = width[-1], width[-2], secant[-1], secant[-2]
    slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    # Secants are never negative here, so "held" is between 0 and 3 d0.
    return min(max(slope, d0 * 0), 3 * d0)


_POSITION = Param(0.0, 1.0, 0.01, "Position", "Stick position of the point.", inside=True)
_VALUE = Param(0.0, 1.0, 0.01, "Value", "Value at the point.")


@dataclass(frozen=True)
class Points(Stage):
    """A monotone piecewise cubic through (0, 0), the given points and (1, 1).

    It rounds corners: for a dead zone put a `Deadband` before it.

    Parameters
    ----------
    x : sequence of float
        Stick positions, above 0 and below 1, ascending, at least 0.001 apart.
    y : sequence of float
        Values, 0..1, non-decreasing, as many as `x`.

    Notes
    -----
    The slope is continuous; at 0 it is that of the odd curve.  The slope rule
    is `monotone_slopes`.
    """

    kind: ClassVar[str] = "points"
    what_it_does: ClassVar[str] = "runs a smooth curve through your own points"

    x: Annotated[tuple[float, ...], _POSITION]
    y: Annotated[tuple[float, ...], _VALUE]

    def __post_init__(self) -> None:
        """Check number, order and distance of the points."""
        super().__post_init__()
        if len(self.x) != len(self.y):
            raise ValueError(
                f"Points: {len(self.x)} x values but {len(self.y)} y values; give one y for each x."
            )
        if len(self.x) > MOST_POINTS:
            raise ValueError(f"Points: {len(self.x)} points are too many; give {MOST_POINTS}.")
        self._check_order()

    def _check_order(self) -> None:
        xs, ys = (0.0, *self.x, 1.0), (0.0, *self.y, 1.0)
        for k in range(1, len(xs)):
            if xs[k] - xs[k - 1] < CLOSEST * (1 - 1e-9):
                raise ValueError(
                    f"Points: x = {xs[k]:g} after {xs[k - 1]:g}; give ascending positions at "
                    f"least {CLOSEST:g} apart, 0 and 1 included."
                )
            if ys[k] < ys[k - 1]:
                raise ValueError(
                    f"Points: y = {ys[k]:g} at x = {xs[k]:g} falls below {ys[k - 1]:g} before it; "
                    "give values that never fall, so more stick is never less speed."
                )

    @cached_property
    def _curve(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        x, y = (0.0, *self.x, 1.0), (0.0, *self.y, 1.0)
        return np.array(x), np.array(y), np.array(monotone_slopes(x, y))

    def _pieces(self, x: FloatArray) -> tuple[FloatArray, ...]:
        """Per position: share of its piece, width, left value, right value, c1, c2, c3.

        The value is left + width (c1 t + c2 t^2 + c3 t^3), c's from the Hermite form.
        """
        xs, ys, slopes = self._curve
        k = np.clip(np.searchsorted(xs, x, side="right") - 1, 0, len(xs) - 2)
        width = xs[k + 1] - xs[k]
        secant = (ys[k + 1] - ys[k]) / width
        first, last = slopes[k], slopes[k + 1]
        c2 = 3.0 * secant - 2.0 * first - last
        c3 = first + last - 2.0 * secant
        return (x - xs[k]) / width, width, ys[k], ys[k + 1], first, c2, c3

    def _rise(self, x: FloatArray) -> FloatArray:
        t, width, low, high, c1, c2, c3 = self._pieces(x)
        value = low + width * (t * (c1 + t * (c2 + t * c3)))
        # Rounding must not lift a value above the next point, nor miss the end.
        return np.where(t >= 1.0, high, np.clip(value, low, high))

    def _steepness(self, x: FloatArray) -> FloatArray:
        t, _, _, _, c1, c2, c3 = self._pieces(x)
        return np.maximum(c1 + t * (2.0 * c2 + t * (3.0 * c3)), 0.0)

    def _steepness_range(self, a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Ends and vertex of the parabola that the slope is within one piece."""
        mid = 0.5 * (a + b)
        t, width, _, _, c1, c2, c3 = self._pieces(mid)

        def slope(s: FloatArray) -> FloatArray:
            return c1 + s * (2.0 * c2 + s * (3.0 * c3))

        ta, tb = t + (a - mid) / width, t + (b - mid) / width
        bent = np.where(c3 == 0.0, 1.0, c3)
        vertex = np.where(c3 == 0.0, ta, np.clip(-c2 / (3.0 * bent), ta, tb))
        values = np.stack([slope(ta), slope(tb), slope(vertex)])
        return np.maximum(values.min(axis=0), 0.0), np.maximum(values.max(axis=0), 0.0)

    def _undo(self, y: FloatArray) -> FloatArray:
        xs, ys, _ = self._curve
        k = np.clip(np.searchsorted(ys, y, side="left") - 1, 0, len(xs) - 2)
        return np.where(y <= 0.0, 0.0, self._bisect(y, xs[k], xs[k + 1]))

    def _last(self, y: FloatArray) -> FloatArray:
        xs, ys, _ = self._curve
        k = np.clip(np.searchsorted(ys, y, side="right") - 1, 0, len(xs) - 2)
        at_point = ys[k] == y
        return np.where(y >= 1.0, 1.0, np.where(at_point, xs[k], self._bisect(y, xs[k], xs[k + 1])))

    def _bisect(self, y: FloatArray, low: FloatArray, high: FloatArray) -> FloatArray:
        """Position with value y between two points, to the last bit that can be told apart."""
        for _ in range(60):
            mid = 0.5 * (low + high)
            under = self._rise(mid) < y
            low, high = np.where(under, mid, low), np.where(under, high, mid)
        return high

    @property
    def knots(self) -> tuple[float, ...]:
        """The given positions, where the second derivative may jump."""
        return self.x
