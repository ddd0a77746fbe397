"""The stages in exact form, by sympy: formula, slope, inverse and proof.

Numbers are taken as the decimals the builder typed: 0.6 is 3/5.  All
expressions hold for 0 <= x <= 1; the negative side is the mirror image.
"""

from __future__ import annotations

from fractions import Fraction
from functools import singledispatch

import sympy

from curvelib.curves import CubicBlend, Deadband, Expo, Limit, Linear, TwoZone
from curvelib.odd import OddCurve
from curvelib.points import Points, monotone_slopes
from curvelib.shape import Shape

X = sympy.Symbol("x")
Y = sympy.Symbol("y")


def number(value: float) -> sympy.Rational:
    """Return the decimal that was typed as an exact fraction."""
    return sympy.Rational(repr(float(value)))


@singledispatch
def formula(curve: OddCurve) -> sympy.Expr:
    """Exact formula of a stage or shape in the symbol ``x``, for 0 <= x <= 1."""
    raise TypeError(f"No exact form is known for {type(curve).__name__}.")


@formula.register
def _(curve: Linear) -> sympy.Expr:
    return X


@formula.register
def _(curve: CubicBlend) -> sympy.Expr:
    blend = number(curve.blend)
    return (1 - blend) * X + blend * X**3


@formula.register
def _(curve: Expo) -> sympy.Expr:
    if curve.gain == 0.0:
        return X
    gain = number(curve.gain)
    return (sympy.exp(gain * X) - 1) / (sympy.exp(gain) - 1)


@formula.register
def _(curve: Deadband) -> sympy.Expr:
    if curve.width == 0.0:
        return X
    width = number(curve.width)
    # ">" and not ">=": at the edge the slope is then the one away from 0.
    return sympy.Piecewise((0, width > X), ((X - width) / (1 - width), True))


@formula.register
def _(curve: Limit) -> sympy.Expr:
    return number(curve.top) * X


@formula.register
def _(curve: TwoZone) -> sympy.Expr:
    kx, ky = number(curve.knee_x), number(curve.knee_y)
    m = ky / kx
    beyond = ky + m * (X - kx) + (1 - m) / (1 - kx) ** 2 * (X - kx) ** 2
    return sympy.Piecewise((m * X, kx > X), (beyond, True))


@formula.register
def _(curve: Points) -> sympy.Expr:
    pieces = _cubics(curve)
    last = len(pieces) - 1
    return sympy.Piecewise(
        *((cubic, True if k == last else end > X) for k, (_, end, cubic) in enumerate(pieces))
    )


@formula.register
def _(curve: Shape) -> sympy.Expr:
    whole: sympy.Expr = X
    for stage in curve.stages:
        whole = sympy.piecewise_fold(formula(stage).subs(X, whole))
    return whole


def _cubics(curve: Points) -> list[tuple[sympy.Rational, sympy.Rational, sympy.Expr]]:
    """Pieces as (begin, end, cubic in x), slopes worked out in fractions."""
    xs = [Fraction(repr(v)) for v in (0.0, *curve.x, 1.0)]
    ys = [Fraction(repr(v)) for v in (0.0, *curve.y, 1.0)]
    slopes = [sympy.Rational(s.numerator, s.denominator) for s in monotone_slopes(xs, ys)]
    x = [sympy.Rational(v.numerator, v.denominator) for v in xs]
    y = [sympy.Rational(v.numerator, v.denominator) for v in ys]
    pieces = []
    for k in range(len(x) - 1):
        width = x[k + 1] - x[k]
        t, secant = (X - x[k]) / width, (y[k + 1] - y[k]) / width
        c2 = 3 * secant - 2 * slopes[k] - slopes[k + 1]
        c3 = slopes[k] + slopes[k + 1] - 2 * secant
        cubic = y[k] + width * (slopes[k] * t + c2 * t**2 + c3 * t**3)
        pieces.append((x[k], x[k + 1], sympy.expand(cubic)))
    return pieces


def slope(curve: OddCurve) -> sympy.Expr:
    """Exact slope in ``x``; at a corner the one on the side away from 0."""
    return sympy.diff(formula(curve), X)


@singledispatch
def inverse(curve: OddCurve) -> sympy.Expr:
    """Exact inverse of a stage or shape in the symbol ``y``, from 0 to the value at 1.

    Gives the smallest x >= 0 with that value.  For `Points` there is no one
    closed form; use `inverse_at`, which is exact value by value.
    """
    raise TypeError(f"No closed inverse is known for {type(curve).__name__}; use inverse_at.")


@inverse.register
def _(curve: Linear) -> sympy.Expr:
    return Y


@inverse.register
def _(curve: CubicBlend) -> sympy.Expr:
    blend = number(curve.blend)
    if blend == 0:
        return Y
    if blend == 1:
        return sympy.cbrt(Y)
    p = (1 - blend) / blend
    inner = 3 * Y / (2 * blend * p) * sympy.sqrt(3 / p)
    return 2 * sympy.sqrt(p / 3) * sympy.sinh(sympy.asinh(inner) / 3)


@inverse.register
def _(curve: Expo) -> sympy.Expr:
    if curve.gain == 0.0:
        return Y
    gain = number(curve.gain)
    return sympy.log(1 + Y * (sympy.exp(gain) - 1)) / gain


@inverse.register
def _(curve: Deadband) -> sympy.Expr:
    width = number(curve.width)
    return sympy.Piecewise((0, Y <= 0), (width + Y * (1 - width), True))


@inverse.register
def _(curve: Limit) -> sympy.Expr:
    return Y / number(curve.top)


@inverse.register
def _(curve: TwoZone) -> sympy.Expr:
    kx, ky = number(curve.knee_x), number(curve.knee_y)
    m = ky / kx
    q = (1 - m) / (1 - kx) ** 2
    beyond = kx + 2 * (Y - ky) / (m + sympy.sqrt(m**2 + 4 * q * (Y - ky)))
    return sympy.Piecewise((Y / m, ky >= Y), (beyond, True))


@inverse.register
def _(curve: Shape) -> sympy.Expr:
    whole: sympy.Expr = Y
    for stage in reversed(curve.stages):
        whole = sympy.piecewise_fold(inverse(stage).subs(Y, whole))
    return whole


def inverse_at(curve: Points, value: float) -> sympy.Expr:
    """Exact smallest x >= 0 at which a `Points` stage has a value, as an algebraic number."""
    wanted = number(value)
    if not 0 <= wanted <= 1:
        raise ValueError(f"value = {value!r} is out of reach; give a number from 0 to 1.")
    for begin, end, cubic in _cubics(curve):
        if cubic.subs(X, end) >= wanted:
            if cubic.subs(X, begin) == wanted:
                return begin
            roots = sympy.Poly(cubic - wanted, X).real_roots()
            return next(root for root in roots if begin <= root <= end)
    return sympy.Integer(1)


def pieces(curve: OddCurve) -> list[tuple[sympy.Expr, sympy.Expr, sympy.Expr]]:
    """Smooth pieces of one stage, as (begin, end, formula)."""
    if isinstance(curve, Points):
        return list(_cubics(curve))
    whole = formula(curve)
    if not isinstance(whole, sympy.Piecewise):
        return [(sympy.Integer(0), sympy.Integer(1), whole)]
    knot = number(curve.knots[0])
    first, second = whole.args[0].args[0], whole.args[1].args[0]
    return [(sympy.Integer(0), knot, first), (knot, sympy.Integer(1), second)]


def least_slope(curve: OddCurve) -> sympy.Expr:
    """Exact least slope of one stage on 0..1, the proof that it never falls.

    On each smooth piece the slope takes its least value at an end or where its
    own derivative is 0; all of these are compared.

    Raises
    ------
    ValueError
        If the least slope is negative: the curve falls somewhere.
    """
    found = []
    for begin, end, expr in pieces(curve):
        steep = sympy.diff(expr, X)
        bend = sympy.diff(steep, X)
        turns = sympy.solveset(bend, X, sympy.Interval(begin, end)) if bend.has(X) else []
        places = {begin, end, *turns}
        found += [steep.subs(X, place) for place in places]
    least = min(found, key=lambda value: value.evalf(50))
    if least.evalf(50) < 0:
        raise ValueError(f"{curve!r} falls: its least slope is {least.evalf(6)}.")
    return least
