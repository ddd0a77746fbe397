"""Exact values of shapes at whole-number positions, apart from the library's floats."""

from fractions import Fraction
from functools import lru_cache

from mpmath import mp

from curvelib import CubicBlend, Deadband, Expo, Limit, Points, TwoZone
from curvelib.points import monotone_slopes


def typed(number: float) -> Fraction:
    """The decimal that a builder typed."""
    return Fraction(repr(float(number)))


def exact_value(shape, x: Fraction) -> Fraction:
    """Value of a shape for 0 <= x <= 1: fractions throughout, an exponential to 50 digits."""
    for stage in shape.stages:
        x = _STAGES[type(stage)](stage, x)
    return x


def _cubic(stage, x):
    blend = typed(stage.blend)
    return (1 - blend) * x + blend * x**3


def _expo(stage, x):
    with mp.workdps(50):
        gain = mp.mpf(repr(stage.gain))
        value = mp.expm1(gain * mp.mpf(x.numerator) / x.denominator) / mp.expm1(gain)
        return Fraction(mp.nstr(value, 40))


def _dead(stage, x):
    width = typed(stage.width)
    return max(x - width, Fraction(0)) / (1 - width)


def _limit(stage, x):
    return typed(stage.top) * x


def _two_zone(stage, x):
    kx, ky = typed(stage.knee_x), typed(stage.knee_y)
    beyond = max(x - kx, Fraction(0))
    return ky / kx * x + (1 - ky / kx) / (1 - kx) ** 2 * beyond**2


@lru_cache(maxsize=8)
def _pieces(stage):
    xs = [typed(v) for v in (0.0, *stage.x, 1.0)]
    ys = [typed(v) for v in (0.0, *stage.y, 1.0)]
    return xs, ys, monotone_slopes(xs, ys)


def _points(stage, x):
    xs, ys, slopes = _pieces(stage)
    k = max(k for k in range(len(xs) - 1) if xs[k] <= x)
    width = xs[k + 1] - xs[k]
    t, secant = (x - xs[k]) / width, (ys[k + 1] - ys[k]) / width
    c2, c3 = 3 * secant - 2 * slopes[k] - slopes[k + 1], slopes[k] + slopes[k + 1] - 2 * secant
    return ys[k] + width * t * (slopes[k] + t * (c2 + t * c3))


_STAGES = {
    CubicBlend: _cubic,
    Expo: _expo,
    Deadband: _dead,
    Limit: _limit,
    TwoZone: _two_zone,
    Points: _points,
}
