"""The least error that straight pieces can have, found in two ways apart from the library's.

`equal_errors` shoots from 0 to 1 along a convex curve: every piece rises from
one error below the curve to one error above it and back.  `by_grid` knows
nothing of curvature: it follows, piece by piece, the span of values that can
be reached at each of a few hundred positions; slow and a few percent coarse.
"""

import math

import numpy as np

# --- convex curves ----------------------------------------------------------------------------


def equal_errors(curve, slope, pieces):
    """Least error of pieces pinned at both ends of a convex curve through (0, 0), over 0..1."""
    low, high = 0.0, 1.0
    while high - low > 1e-13 and high > low * (1.0 + 1e-9):
        error = 0.5 * (low + high)
        if _reaches(curve, slope, pieces, error):
            high = error
        else:
            low = error
    return high


def _reaches(curve, slope, pieces, error):
    at, value = 0.0, 0.0
    for left in range(pieces, 0, -1):
        if at >= 1.0:
            return True
        if _chord_above(curve, slope, at, value) <= error:
            return True
        if left == 1:
            return False
        touch = _root(lambda t: curve(t) + error + slope(t) * (at - t) - value, at, 1.0)  # noqa: B023
        if touch is None:
            return True
        end = _root(
            lambda x: curve(touch) + error + slope(touch) * (x - touch) - curve(x) + error,  # noqa: B023
            touch,
            1.0,
        )
        at = 1.0 if end is None else end
        value = curve(at) - error
    return False


def _chord_above(curve, slope, at, value):
    """How far the chord to (1, curve(1)) rises above the curve."""
    steep = (curve(1.0) - value) / (1.0 - at)
    touch = _root(lambda t: steep - slope(t), at, 1.0)
    touch = (at if slope(at) > steep else 1.0) if touch is None else touch
    return value + steep * (touch - at) - curve(touch)


def _root(falling, low, high):
    """Where a falling function crosses 0; None where it stays above."""
    if falling(high) > 0.0:
        return None
    for _ in range(80):
        middle = 0.5 * (low + high)
        if falling(middle) > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


# --- any curve --------------------------------------------------------------------------------


def by_grid(shape, pieces, marks=240, values=17):
    """Least error of pieces from the edge of the dead zone to 1, by a grid; a little too large."""
    start = shape.starts_at
    x = np.union1d(np.linspace(start, 1.0, marks), [k for k in shape.knots if k > start])
    y = np.asarray(shape(x))
    y[0] = 0.0
    low, high = 1e-7, 0.5
    while high > low * 1.003:
        error = math.sqrt(low * high)
        if _reaches_by_grid(x, y, error, pieces, values):
            high = error
        else:
            low = error
    return high


def _reaches_by_grid(x, y, error, pieces, values):
    low, high = y - error, y + error
    low[[0, -1]] = high[[0, -1]] = y[[0, -1]]
    least, most = np.full_like(x, np.inf), np.full_like(x, -np.inf)
    least[0] = most[0] = y[0]
    for _ in range(pieces):
        next_least, next_most = np.full_like(x, np.inf), np.full_like(x, -np.inf)
        for k in np.flatnonzero(least[:-1] <= most[:-1]):
            begin = np.linspace(least[k], most[k], values)[:, None]
            away = x[k + 1 :] - x[k]
            flat = np.maximum.accumulate((low[k + 1 :] - begin) / away, axis=1)
            steep = np.minimum.accumulate((high[k + 1 :] - begin) / away, axis=1)
            seen = flat <= steep
            ends = np.where(seen, begin + flat * away, np.inf).min(axis=0)
            next_least[k + 1 :] = np.minimum(next_least[k + 1 :], ends)
            ends = np.where(seen, begin + steep * away, -np.inf).max(axis=0)
            next_most[k + 1 :] = np.maximum(next_most[k + 1 :], ends)
        least, most = next_least, next_most
    return bool(least[-1] <= most[-1] + 1e-15)
