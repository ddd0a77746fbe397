"""A bound of the distance between a shape and straight lines, certified, not sampled."""

from __future__ import annotations

import numpy as np

from curvelib.odd import OddCurve
from curvelib.params import FloatArray

# Rounding of the shape and of the chord themselves, a few units in the last place.
_ROUNDING = 1e-15


def certified_error(shape: OddCurve, x: FloatArray, y: FloatArray) -> float:
    """Upper bound of the distance between a shape and straight lines, over 0..1.

    Every interval is bounded by the range of the slope on it: a curve that
    leaves its left end no steeper than S and arrives at its right end no
    flatter than s stays within the two lines those make.  Intervals that could
    still hold the largest error are halved until the bound is within 1e-9 of
    an error really met (or 40 halvings were made, and the bound still holds).

    Parameters
    ----------
    shape : OddCurve
        The exact curve.
    x, y : ndarray, shape (n,)
        Breakpoints from 0 to 1, ascending, and the values at them.

    Returns
    -------
    float
        Bound, never below the true largest error but for rounding, which is added.
    """
    ends = np.union1d(x, np.array(shape.knots))
    a, b = ends[:-1], ends[1:]
    reached = float(np.abs(shape(ends) - np.interp(ends, x, y)).max())
    done = 0.0
    for _ in range(40):
        bound, met = _bounds(shape, x, y, a, b)
        reached = max(reached, met)
        # 2e-10 relative to full: far below any output step, and few halvings.
        open_ = bound > reached + 2e-10
        done = max(done, float(bound[~open_].max(initial=0.0)))
        if not open_.any():
            return max(done, reached) + _ROUNDING
        a, b = a[open_], b[open_]
        mid = 0.5 * (a + b)
        a, b = np.concatenate([a, mid]), np.concatenate([mid, b])
    bound, _ = _bounds(shape, x, y, a, b)
    return max(done, reached, float(bound.max())) + _ROUNDING


def _bounds(
    shape: OddCurve, x: FloatArray, y: FloatArray, a: FloatArray, b: FloatArray
) -> tuple[FloatArray, float]:
    """Bound of the error on each [a, b], and the largest error met at their middles."""
    width, mid = b - a, 0.5 * (a + b)
    piece = np.clip(np.searchsorted(x, mid, side="right") - 1, 0, len(x) - 2)
    chord = (y[piece + 1] - y[piece]) / (x[piece + 1] - x[piece])
    least, most = shape._steepness_range(a, b)
    at_a = shape._rise(a) - (y[piece] + chord * (a - x[piece]))
    at_b = shape._rise(b) - (y[piece] + chord * (b - x[piece]))
    above = _peak(at_a, at_b, least - chord, most - chord, width)
    below = _peak(-at_a, -at_b, chord - most, chord - least, width)
    met = np.abs(shape._rise(mid) - (y[piece] + chord * (mid - x[piece])))
    return np.maximum(above, below), float(met.max())


def _peak(
    at_a: FloatArray, at_b: FloatArray, least: FloatArray, most: FloatArray, width: FloatArray
) -> FloatArray:
    """Highest value of a curve between two ends, given the range of its slope."""
    ends = np.maximum(at_a, at_b)
    spread = most - least
    hump = (spread > 0.0) & (most > 0.0) & (least < 0.0)
    safe = np.where(hump, spread, 1.0)
    # Where the steepest way up from a meets the steepest way down to b.
    meet = (most * at_b - least * at_a - most * least * width) / safe
    return np.where(hump, np.maximum(meet, ends), ends)
