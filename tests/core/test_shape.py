"""Stages run one after the other keep every promise that a stage makes."""

import copy
import dataclasses
import math

import numpy as np
import pytest
from core.reference import steepest
from core.strategies import positions, round_stages, shapes
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from curvelib import CubicBlend, Deadband, Expo, Limit, Linear, Points, Shape, TwoZone
from curvelib.shape import MOST_STAGES, STAGES

DENSE = np.arange(-1000, 1001) / 1000  # mirrored to the last bit, as linspace is not
USUAL = Shape([Deadband(0.03), CubicBlend(0.6), Limit(0.8)])


def told_apart(curve):
    """Smallest difference of values that doubles can tell apart, stage after stage."""
    return 1e-14 + 1e-14 * steepest(curve) + sum(steepest(s) for s in curve.stages) * 1e-14


# --- what a shape is ------------------------------------------------------------------------


@given(st.lists(round_stages(), max_size=4), positions())
def test_stages_run_left_to_right(stages, x):
    """The value of a shape is that of its stages called by hand, one after the other."""
    value = x
    for stage in stages:
        value = stage(value)
    assert Shape(stages)(x) == value


def test_the_order_of_stages_counts():
    """A dead zone before a limit is not a limit before a dead zone (by hand)."""
    assert (Deadband(0.2) >> Limit(0.5))(0.6) == pytest.approx(0.25)
    assert (Limit(0.5) >> Deadband(0.2))(0.6) == pytest.approx(0.125)


def test_no_stage_is_the_plain_stick():
    """An empty shape gives what it gets, in a new array, saturated."""
    values = np.array([-2.0, -0.5, 0.0, 1.0])
    result = Shape()(values)
    np.testing.assert_array_equal(result, [-1.0, -0.5, 0.0, 1.0])
    assert not np.shares_memory(result, values)
    assert Shape().inverse(0.3) == 0.3
    assert Shape().slope(0.3) == Shape().first_slope == 1.0
    assert (Shape().starts_at, Shape().knots) == (0.0, ())


def test_arrows_join_stages_and_shapes_alike():
    """However the brackets are set, the same stages in the same order are the same shape."""
    a, b, c = Deadband(0.03), CubicBlend(0.6), Limit(0.8)
    whole = Shape([a, b, c])
    assert a >> b >> c == a >> (b >> c) == (a >> b) >> Shape([c]) == Shape() >> whole == whole
    with pytest.raises(TypeError):
        whole >> 0.5


def test_shapes_are_equal_by_value_and_cannot_be_changed():
    """Same stages, same shape, same hash; a list or a generator serves as well as a tuple."""
    twin = Shape(stage for stage in USUAL.stages)
    assert twin == USUAL == copy.deepcopy(USUAL)
    assert hash(twin) == hash(USUAL)
    assert Shape([Linear()]) != Shape()
    with pytest.raises(dataclasses.FrozenInstanceError):
        USUAL.stages = ()
    with pytest.raises(dataclasses.FrozenInstanceError):
        USUAL.other = 1


def test_what_is_no_stage_is_refused():
    """The place of what is no stage is named, a class and a nested shape among them."""
    for bad in (0.5, None, "linear", Linear, Shape()):
        with pytest.raises(ValueError, match="Shape: item 1 is "):
            Shape([Linear(), bad])


def test_too_many_stages_are_refused():
    """8 stages are allowed, 9 are not."""
    most = Shape([Linear()] * MOST_STAGES)
    assert most(0.5) == 0.5
    with pytest.raises(ValueError, match="9 stages; give at most 8"):
        most >> Linear()


def test_every_kind_of_stage_has_its_name():
    """The names are those of the machine file."""
    names = ["linear", "cubic blend", "expo", "deadband", "limit", "two zone", "points"]
    assert list(STAGES) == names
    assert all(STAGES[name].kind == name for name in names)
    assert all(STAGES[name].what_it_does for name in names)


# --- promises of every shape ----------------------------------------------------------------


@given(shapes())
def test_shapes_are_odd_never_fall_and_stay_in_range(shape):
    """Odd to the last bit, 0 at 0, no value below its neighbour's but for the last bit."""
    y = shape(DENSE)
    np.testing.assert_array_equal(y, -y[::-1])
    assert shape(0.0) == 0.0
    assert np.abs(y).max() <= 1.0
    assert np.diff(y).min() >= -2.3e-16


@given(shapes())
def test_shapes_have_no_jumps(shape):
    """Neighbours differ by no more than the product of the steepest slopes allows."""
    steps = np.diff(shape(DENSE))
    assert steps.max() <= steepest(shape) * 0.001 * (1 + 1e-9) + told_apart(shape)


@given(shapes(), positions())
def test_the_inverse_undoes_a_shape(shape, share):
    """shape(inverse(y)) is y for every y in reach; the end is in reach, a hair beyond is not."""
    top = shape(1.0)
    y = share * top
    assert shape(shape.inverse(y)) == pytest.approx(y, abs=told_apart(shape))
    assert shape.inverse(-y) == -shape.inverse(y)
    assert 0.0 <= shape.inverse(top) <= 1.0
    with pytest.raises(ValueError, match="out of reach"):
        shape.inverse(math.nextafter(top, 2.0))


@given(shapes(of=round_stages()), positions())
def test_the_inverse_is_never_farther_out_than_need_be(shape, x):
    """A position that gives the value is never nearer the centre than the inverse."""
    y = shape(x)
    if 0.0 < abs(y) < 1e-9:
        return  # a curve that starts flat puts many positions on one so small a value
    back = shape.inverse(y)
    assert abs(back) <= abs(x) + 1e-9
    assert shape(back) == pytest.approx(y, abs=told_apart(shape))


@pytest.mark.parametrize(
    ("shape", "y", "x"),
    [
        (Deadband(0.2) >> Limit(0.5), 0.0, 0.0),
        (Deadband(0.2) >> Limit(0.5), 0.25, 0.6),
        (Points([0.3], [1.0]) >> Limit(0.5), 0.5, 0.3),
        (Limit(0.5) >> Points([0.2, 0.4], [0.3, 0.3]), 0.3, 0.4),
        (Points([0.2, 0.4], [0.3, 0.3]) >> Deadband(0.3), 0.0, 0.0),
    ],
    ids=repr,
)
def test_the_inverse_is_the_smallest_position_that_gives_the_value(shape, y, x):
    """On flat runs and in dead zones the near end counts (by hand)."""
    # A cubic arrives flat, so doubles tell the last 1e-8 of travel no longer apart.
    assert shape.inverse(y) == pytest.approx(x, abs=2e-8)
    assert shape.inverse(-y) == pytest.approx(-x, abs=2e-8)


@pytest.mark.parametrize("height", [0.1, 0.2, 0.3, 0.4, 0.7])
@pytest.mark.parametrize(
    "after",
    [
        CubicBlend(0.6),
        Expo(2.0),
        Limit(0.8),
        Deadband(0.05),
        TwoZone(0.5, 0.25),
        Points([0.5], [0.2]),
    ],
    ids=lambda stage: stage.kind,
)
def test_rounding_does_not_carry_the_inverse_over_a_flat_run(height, after):
    """The value on a flat run, pulled back through a later stage, lands at its near end."""
    shape = Points([0.3, 0.6], [height, height]) >> after
    assert shape.inverse(shape(0.45)) == pytest.approx(0.3, abs=2e-8)
    assert shape.inverse(-shape(0.45)) == pytest.approx(-0.3, abs=2e-8)


def test_the_inverse_against_brentq():
    """A dead zone, a cubic and a limit, inverted by scipy's root finder (computed)."""
    for y in (1e-6, 0.1, 0.5, 0.79):
        root = brentq(lambda x, y=y: USUAL(x) - y, 0.0, 1.0, xtol=1e-15, rtol=1e-15)
        assert USUAL.inverse(y) == pytest.approx(root, abs=1e-14)


@given(shapes(), positions())
def test_slopes_agree_with_differences(shape, x):
    """Away from corners the difference quotient lies among the slopes around it."""
    h = 1e-7
    if any(abs(abs(x) - corner) < 2 * h for corner in (0.0, 1.0, *shape.knots)):
        return
    quotient = (shape(x + h) - shape(x - h)) / (2 * h)
    around_x = shape.slope(np.linspace(x - h, x + h, 9))
    slack = 1e-4 * max(1.0, steepest(shape)) + told_apart(shape) / h
    assert around_x.min() - slack <= quotient <= around_x.max() + slack
    assert shape.slope(-x) == shape.slope(x)


# --- where motion begins --------------------------------------------------------------------


@given(shapes())
def test_motion_begins_where_it_is_said_to(shape):
    """At `starts_at` the value is 0 but for rounding; a little beyond, it is not below."""
    begin = shape.starts_at
    assert 0.0 <= begin <= 1.0
    assert shape(begin) <= told_apart(shape)
    if begin < 1.0:
        assert shape.first_slope >= 0.0
    else:
        assert (shape(1.0), shape.first_slope) == (0.0, 0.0)


@pytest.mark.parametrize("blend", [0.0, 0.3, 0.6, 0.9])
@pytest.mark.parametrize("width", [0.01, 0.03, 0.2])
def test_a_dead_zone_after_a_curve(blend, width):
    """The dead zone ends where the curve reaches its width, with the slope of both (by brentq)."""
    shape = CubicBlend(blend) >> Deadband(width)
    edge = brentq(lambda x: (1 - blend) * x + blend * x**3 - width, 0.0, 1.0, xtol=1e-15)
    steep = ((1 - blend) + 3 * blend * edge**2) / (1 - width)
    assert shape.starts_at == pytest.approx(edge, rel=1e-13)
    assert shape.first_slope == pytest.approx(steep, rel=1e-12)
    assert shape.slope(shape.starts_at) == pytest.approx(steep, rel=1e-12)
    assert shape.slope(-shape.starts_at) == pytest.approx(steep, rel=1e-12)
    assert shape.slope(0.99 * edge) == 0.0
    assert shape(0.999 * edge) == 0.0 < shape(1.001 * edge)


@given(shapes(of=round_stages()))
def test_the_slope_where_motion_begins_is_the_first_slope(shape):
    """At the edge of a dead zone, wherever in the shape it stands, the slope is the one outside."""
    begin = shape.starts_at
    if begin < 1.0:
        tolerance = 1e-6 * steepest(shape)
        assert shape.slope(begin) == pytest.approx(shape.first_slope, rel=1e-6, abs=tolerance)


def test_two_dead_zones_add_up():
    """0.2 and then 0.25 of the remaining 0.8 end at 0.4 (by hand)."""
    shape = Deadband(0.2) >> Deadband(0.25)
    assert shape.starts_at == pytest.approx(0.4)
    assert shape.first_slope == pytest.approx(1.25 / 0.75)
    assert shape.knots == pytest.approx((0.2, 0.4))


def test_a_shape_that_never_moves_says_so():
    """A dead zone wider than the limit before it leaves nothing."""
    shape = Limit(0.3) >> Deadband(0.4)
    assert (shape.starts_at, shape.first_slope, shape(1.0)) == (1.0, 0.0, 0.0)
    assert shape.inverse(0.0) == 0.0
    with pytest.raises(ValueError, match="out of reach; this curve gives from -0 to 0"):
        shape.inverse(0.1)


@given(shapes())
def test_knots_ascend_inside_the_travel(shape):
    """Each knot is given once, in order, the ends left out."""
    knots = np.array([0.0, *shape.knots, 1.0])
    assert (np.diff(knots) > 0.0).all()


def test_knots_of_a_later_stage_are_told_in_stick_travel():
    """A knee at 0.5 after a dead zone of 0.2 is at 0.6 of the stick; one out of reach is none."""
    assert (Deadband(0.2) >> TwoZone(0.5, 0.25)).knots == pytest.approx((0.2, 0.6))
    assert (Limit(0.4) >> TwoZone(0.5, 0.25)).knots == ()


# --- the formula ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "shape",
    [
        Shape(),
        USUAL,
        CubicBlend(0.6) >> Deadband(0.03),
        Deadband(0.05) >> Expo(2.0) >> Limit(0.5),
        Deadband(0.05) >> TwoZone(0.5, 0.25),
        TwoZone(0.3, 0.1) >> Deadband(0.1),
        Points([0.3, 0.6], [0.1, 0.4]) >> Limit(0.5),
    ],
    ids=repr,
)
def test_the_formula_gives_the_same_numbers(shape):
    """The exact formula in x, worked out to 30 digits, agrees over the whole travel."""
    import sympy

    formula = shape.formula()
    x = sympy.Symbol("x")
    assert formula.free_symbols <= {x}
    for k in range(21):
        exact = formula.subs(x, sympy.Rational(k, 20)).evalf(30)
        assert shape(k / 20) == pytest.approx(float(exact), abs=1e-15)
