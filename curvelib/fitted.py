"""Breakpoints placed, and values shifted off the curve, so that the largest error is least.

For a wanted error the shortest chain of straight pieces inside the corridor of
that error is found exactly (`curvelib.corridor`); halving the error's range
turns that round.  The corridor is known at samples only, so that what is
impossible there is impossible: a lower bound.  The chain found is an upper
bound.  Samples are added until the two bounds meet.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from curvelib.certified import certified_error
from curvelib.corridor import Corridor
from curvelib.odd import OddCurve
from curvelib.params import FloatArray

# An error this small is rounding: the shape is made of straight pieces itself.
_STRAIGHT = 1e-12
# What certifying an error adds to it at most.
_CERTIFIED = 3e-10
# How near the least error the tables come, relative.
_NEAR = 1e-5
_ROUNDS = 8
_SAMPLES_A_SEGMENT, _LEAST_SAMPLES = 6, 64

Points = list[tuple[float, float]]


@dataclass(frozen=True, eq=False)
class Fit:
    """Straight pieces from 0 to 1, and how good any such pieces could be.

    Parameters
    ----------
    x, y : ndarray of float64, shape (segments + 1,)
        Breakpoints, strictly ascending from 0 to 1, and values, non-decreasing.
    error : float
        Certified largest distance to the shape.
    least : float
        No pieces of this number, pinned at the same places, have a smaller one.
    """

    x: FloatArray
    y: FloatArray
    error: float
    least: float = 0.0


def fit(shape: OddCurve, segments: int) -> tuple[FloatArray, FloatArray]:
    """Place breakpoints so that the largest interpolation error is least.

    Pinned, never shifted off the curve, are (0, 0), (1, shape(1)) and the edge
    of a dead zone, the one corner where the slope of a shape can jump.  At a
    knot where it does not jump (the knee of a two zone curve, a point of a
    points curve) a breakpoint lies only where that makes the error least.

    Parameters
    ----------
    shape : OddCurve
        The exact curve.
    segments : int
        Straight pieces from 0 to 1.

    Returns
    -------
    x, y : ndarray of float64, shape (segments + 1,)
        Breakpoints, strictly ascending from 0 to 1, and values, non-decreasing.

    Raises
    ------
    ValueError
        If there is a dead zone and only one segment: its edge needs a
        breakpoint of its own.
    """
    found = solve(shape, segments)
    return found.x, found.y


def solve(shape: OddCurve, segments: int) -> Fit:
    """Find the pieces that `fit` gives, with the least error there can be."""
    if segments < 2 and 0.0 < shape.starts_at < 1.0:
        raise ValueError(
            "fitted points with a dead zone need a breakpoint at its edge; "
            "give 5 points or more, or even spacing."
        )
    return _Search(shape, segments).run()


def fewest(shape: OddCurve, max_error: float, most: int) -> Fit | None:
    """Find the fewest pieces whose largest error is at most `max_error`.

    Returns
    -------
    Fit or None
        The pieces `fit` gives for their number; None where more than `most`
        would be needed.
    """
    # Fewer than these are impossible at the samples, so they are for the curve.
    segments = _Search(shape, most).fewest(max_error)
    while segments <= most:
        found = solve(shape, segments)
        if found.error <= max_error:
            return found
        segments += 1
    return None


class _Search:
    """Straight pieces of one shape through its pinned points, with samples that grow denser."""

    def __init__(self, shape: OddCurve, segments: int) -> None:
        self._shape = shape
        self._segments = segments
        self._start = shape.starts_at
        self._top = float(shape(1.0))
        # A dead zone is a piece of its own, straight and exact.
        self._most = segments - (1 if self._start > 0.0 else 0)
        self._x = self._first_samples()

    def run(self) -> Fit:
        """Close in on the least error."""
        if self._start >= 1.0:
            return self._filled([(1.0, 0.0)])
        straight = self._pieces(_STRAIGHT)
        best = self._filled(straight or [(1.0, self._top)])
        if best.error <= _CERTIFIED:
            return best
        least = _STRAIGHT
        for _ in range(_ROUNDS):
            least, found = self._halve(least, best)
            best = min(best, found, key=lambda fit: fit.error)
            if best.error <= least * (1.0 + _NEAR) + _CERTIFIED:
                break
            self._x = np.union1d(self._x, self._peaks(found))
        return replace(best, least=least)

    def fewest(self, error: float) -> int:
        """Count the pieces without which the error is above `error` for certain."""
        if self._start >= 1.0:
            return 1
        points = self._pieces(error)
        dead = self._segments - self._most
        return self._segments + 1 if points is None else len(points) + dead

    def _halve(self, low: float, best: Fit) -> tuple[float, Fit]:
        """Halve the range of the error, by ratio, from an impossible one to the best so far."""
        # At any samples the best keeps within its own error, but for rounding.
        high, points = best.error * (1.0 + 1e-9), None
        while high > low * (1.0 + 0.25 * _NEAR):
            middle = float(np.sqrt(low * high))
            found = self._pieces(middle)
            if found is None:
                low = middle
            else:
                high, points = middle, found
        return low, best if points is None else self._filled(points)

    def _pieces(self, error: float) -> Points | None:
        """Return the ends of the fewest pieces within an error at the samples, if few enough."""
        y = np.asarray(self._shape(self._x))
        y[0] = 0.0
        slope = self._shape.slope(self._x)
        corridor = Corridor(self._x.tolist(), y.tolist(), slope.tolist(), error)
        lines = corridor.chain(self._most)
        if lines is None:
            return None
        return [*(line.meets(after) for line, after in pairwise(lines)), (1.0, self._top)]

    def _peaks(self, found: Fit) -> FloatArray:
        """Return the places where the error is largest, several on each piece."""
        at = np.unique(_between(np.union1d(self._x, found.x[found.x >= self._start]), 8))
        error = np.abs(self._shape(at) - np.interp(at, found.x, found.y))
        rise = np.diff(error) / np.diff(at)
        peak = (rise[:-1] >= 0.0) & (rise[1:] <= 0.0) & (rise[:-1] > rise[1:])
        # All that come near the largest, so that the next round does not find another just below.
        k = np.flatnonzero(peak & (error[1:-1] > 0.5 * error.max())) + 1
        # The top of a parabola through the peak and its neighbours.
        share = rise[k - 1] / (rise[k - 1] - rise[k])
        top = 0.5 * (at[k - 1] + at[k] + share * (at[k + 1] - at[k - 1]))
        return np.concatenate([at[k], top])

    def _first_samples(self) -> FloatArray:
        """Positions that are denser where the curve bends, by the root of its bending."""
        if self._start >= 1.0:
            return np.array([1.0])
        knots = _smooth_knots(self._shape)
        grid = _between(np.array([self._start, *knots, 1.0]), 2 * _SAMPLES_A_SEGMENT)
        count = max(_SAMPLES_A_SEGMENT * self._segments, _LEAST_SAMPLES) + 1
        even = np.linspace(self._start, 1.0, count)
        grid = np.union1d(grid, even)
        width = np.diff(grid)
        slope = np.diff(self._shape(grid)) / width
        bend = np.sqrt(np.abs(np.diff(slope)) * 0.5 * (width[1:] + width[:-1]))
        gone = np.concatenate([[0.0, 0.0], np.cumsum(bend)]) + grid * (bend.sum() + 1e-9)
        share = np.linspace(gone[0], gone[-1], count)
        return np.union1d(np.interp(share, gone, grid)[1:-1], [self._start, *knots, 1.0])

    def _filled(self, points: Points) -> Fit:
        """Add the dead zone, and halve the longest pieces until there are enough."""
        ends = [(0.0, 0.0), *([(self._start, 0.0)] if 0.0 < self._start < 1.0 else []), *points]
        # A place given twice by rounding counts once.
        x, places = np.unique([x for x, _ in ends], return_index=True)
        y = np.array([y for _, y in ends])[places]
        y[-1] = self._top
        added = _longest_halved(x, self._segments + 1 - len(x))
        x_all = np.union1d(x, added)
        y_all = np.clip(np.maximum.accumulate(np.interp(x_all, x, y)), 0.0, self._top)
        return Fit(x_all, y_all, certified_error(self._shape, x_all, y_all))


def _smooth_knots(shape: OddCurve) -> tuple[float, ...]:
    """Knots beyond the dead zone: the slope does not jump there, only its change does."""
    return tuple(knot for knot in shape.knots if shape.starts_at < knot < 1.0)


def _between(x: FloatArray, parts: int) -> FloatArray:
    """Divide each interval into equal parts."""
    share = np.arange(parts) / parts
    inner = x[:-1, None] + share * np.diff(x)[:, None]
    return np.append(inner.ravel(), x[-1])


def _longest_halved(x: FloatArray, more: int) -> FloatArray:
    """Return `more` positions that halve the longest intervals, one after the other."""
    heap = [(a - b, a, b) for a, b in pairwise(x.tolist())]
    heapq.heapify(heap)
    added: list[float] = []
    for _ in range(more):
        _, a, b = heapq.heappop(heap)
        middle = 0.5 * (a + b)
        added.append(middle)
        for part in ((a, middle), (middle, b)):
            heapq.heappush(heap, (part[0] - part[1], *part))
    return np.array(added)
