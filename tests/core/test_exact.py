"""The exact forms agree with the numbers, and prove that no stage falls."""

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
import sympy
from core.strategies import point_lists, round_stages
from hypothesis import given, settings
from hypothesis import strategies as st

from curvelib import CubicBlend, Deadband, Expo, Limit, Linear, Points, Shape, TwoZone, exact

X, Y = sympy.Symbol("x"), sympy.Symbol("y")
SPECIMENS = [
    Linear(),
    CubicBlend(0.0),
    CubicBlend(0.63),
    CubicBlend(1.0),
    Expo(0.0),
    Expo(2.7),
    Deadband(0.0),
    Deadband(0.07),
    Limit(0.55),
    TwoZone(0.41, 0.17),
    TwoZone(0.4, 0.5),
]
THREE_POINTS = Points([0.2, 0.45, 0.8], [0.05, 0.3, 0.3])
each_stage = pytest.mark.parametrize("stage", [*SPECIMENS, THREE_POINTS], ids=repr)
each_closed = pytest.mark.parametrize("stage", SPECIMENS, ids=repr)


def value(expression, symbol, at):
    """Value of an expression at a decimal number, to 40 digits, then as a float."""
    return float(expression.subs(symbol, exact.number(at)).evalf(40))


def test_numbers_are_the_decimals_that_were_typed():
    """0.6 is 3/5, not the double nearest to it."""
    assert exact.number(0.6) == sympy.Rational(3, 5)
    assert exact.number(1e-05) == sympy.Rational(1, 100000)
    assert exact.number(-0.0) == 0


def test_formulas_are_those_of_the_design():
    """The formula of each stage, written out by hand, is the same expression."""
    e = sympy.Rational(3, 5)
    assert sympy.expand(CubicBlend(0.6).formula() - ((1 - e) * X + e * X**3)) == 0
    assert Expo(2.0).formula() == (sympy.exp(2 * X) - 1) / (sympy.exp(2) - 1)
    assert Limit(0.6).formula() == e * X
    assert Linear().formula() == Expo(0.0).formula() == Deadband(0.0).formula() == X
    assert Deadband(0.2).formula().subs(X, e) == sympy.Rational(1, 2)
    assert TwoZone(0.5, 0.25).formula().subs(X, sympy.Rational(3, 4)) == sympy.Rational(1, 2)


@each_stage
def test_formulas_give_the_same_numbers(stage):
    """Over the whole travel, ends and corners included, formula and stage agree."""
    formula = stage.formula()
    for k in (0, 7, 20, 41, 45, 80, 99, 100):
        assert stage(k / 100) == pytest.approx(value(formula, X, k / 100), abs=5e-16)


@each_stage
def test_slopes_give_the_same_numbers(stage):
    """The derivative of the formula is the slope, at a corner the one away from 0."""
    slope = exact.slope(stage)
    for k in (0, 7, 20, 41, 45, 80, 99, 100):
        assert stage.slope(k / 100) == pytest.approx(value(slope, X, k / 100), abs=1e-13)


@each_closed
def test_inverses_give_the_same_numbers(stage):
    """The exact inverse agrees with the stage's own, 0 included."""
    inverse = exact.inverse(stage)
    for k in range(11):
        y = round(stage(1.0) * k / 10, 3)
        # A parabola that ends flat leaves half the digits of the position.
        tolerance = 1e-7 if stage == TwoZone(0.4, 0.5) and k == 10 else 2e-14
        assert stage.inverse(y) == pytest.approx(value(inverse, Y, y), abs=tolerance)


@each_closed
def test_inverses_undo_formulas(stage):
    """formula(inverse(y)) is y to 30 digits."""
    formula, inverse = stage.formula(), exact.inverse(stage)
    for k in (1, 3, 5):
        y = exact.number(stage(1.0)) * sympy.Rational(k, 10)
        assert abs((formula.subs(X, inverse.subs(Y, y)) - y).evalf(30)) < 1e-25


def test_inverses_of_shapes_run_backwards():
    """The inverse of a whole shape in closed form, against the numeric one."""
    shape = Shape([Deadband(0.03), CubicBlend(0.6), Limit(0.8)])
    inverse = exact.inverse(shape)
    for y in (0.0, 0.001, 0.25, 0.8):
        assert shape.inverse(y) == pytest.approx(value(inverse, Y, y), abs=1e-14)


def test_the_inverse_of_points_is_exact_value_by_value():
    """Through Points the inverse is an algebraic number; of a flat run it is the near end."""
    assert exact.inverse_at(THREE_POINTS, 0.3) == sympy.Rational(9, 20)
    assert exact.inverse_at(THREE_POINTS, 0.0) == 0
    assert exact.inverse_at(THREE_POINTS, 1.0) == 1
    assert exact.inverse_at(Points([0.2], [0.0]), 0.0) == 0
    for y in (0.01, 0.05, 0.2, 0.31, 0.9):
        root = exact.inverse_at(THREE_POINTS, y)
        assert THREE_POINTS.inverse(y) == pytest.approx(float(root.evalf(30)), abs=1e-14)
    with pytest.raises(ValueError, match="out of reach"):
        exact.inverse_at(THREE_POINTS, 1.1)


def test_points_have_no_one_closed_inverse():
    """Asking for it says what to use instead."""
    with pytest.raises(TypeError, match="Points; use inverse_at"):
        exact.inverse(THREE_POINTS)


def test_a_curve_of_an_unknown_sort_has_no_formula():
    """What is no stage of the library is named."""

    class Strange:
        pass

    with pytest.raises(TypeError, match="No exact form is known for Strange"):
        exact.formula(Strange())


# --- proofs ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "least"),
    [
        (Linear(), 1),
        (CubicBlend(0.6), sympy.Rational(2, 5)),
        (CubicBlend(1.0), 0),
        (Expo(2.0), 2 / (sympy.exp(2) - 1)),
        (Deadband(0.2), 0),
        (Limit(0.6), sympy.Rational(3, 5)),
        (TwoZone(0.5, 0.25), sympy.Rational(1, 2)),
        (TwoZone(0.25, 0.375), sympy.Rational(1, 6)),
        # secant 1/2 between slopes 1/2 and 3/4: least at a third of the piece
        (Points([0.5], [0.25]), sympy.Rational(5, 12)),
    ],
    ids=repr,
)
def test_the_least_slope_by_algebra(stage, least):
    """The exact least slope of each stage is the one worked out by hand."""
    assert sympy.simplify(exact.least_slope(stage) - least) == 0


@given(round_stages())
@settings(max_examples=30)
def test_no_stage_falls_by_algebra(stage):
    """For any stage the exact least slope is at least 0, and no slope met is below it."""
    least = float(exact.least_slope(stage).evalf(20))
    assert least >= 0
    steep = stage.slope(np.linspace(0.0, 1.0, 101))
    assert steep.min() >= least - 1e-12 * max(1.0, steep.max())


@given(point_lists(5, st.integers(0, 20).map(lambda k: k / 20)))
@settings(max_examples=30)
def test_no_piece_of_points_falls_by_its_bernstein_coefficients(stage):
    """A parabola b0, b1, b2 is nowhere negative where b0, b2 >= 0 and b1 >= 0 or b1^2 <= b0 b2."""
    for begin, end, cubic in exact.pieces(stage):
        slope = sympy.diff(cubic, X)
        at_begin, middle, at_end = (
            Fraction(int(v.p), int(v.q))
            for v in (slope.subs(X, begin), slope.subs(X, (begin + end) / 2), slope.subs(X, end))
        )
        between = 2 * middle - (at_begin + at_end) / 2
        assert at_begin >= 0
        assert at_end >= 0
        assert between >= 0 or between**2 <= at_begin * at_end


@each_stage
def test_pieces_join_without_a_gap(stage):
    """The smooth pieces cover 0..1 and meet with equal values."""
    pieces = exact.pieces(stage)
    assert pieces[0][0] == 0
    assert pieces[-1][1] == 1
    for (_, end, before), (begin, _, after) in pairwise(pieces):
        assert end == begin
        assert before.subs(X, end) == after.subs(X, begin)


def test_a_curve_that_falls_is_found_out(monkeypatch):
    """The proof is no formality: a formula that falls is refused."""
    stage = CubicBlend(0.6)
    monkeypatch.setattr(exact, "formula", lambda curve: 2 * X**3 - X)
    with pytest.raises(ValueError, match="falls: its least slope is -1"):
        exact.least_slope(stage)
