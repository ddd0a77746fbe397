"""Even lookup tables: points on the curve, and an error bound that is certified and tight."""

import dataclasses
import math

import numpy as np
import pytest
from core.reference import steepest
from core.strategies import positions, round_stages, shapes
from hypothesis import given
from hypothesis import strategies as st

from curvelib import CubicBlend, Deadband, Expo, Limit, Linear, Points, Shape, Table, TwoZone
from curvelib.certified import certified_error
from curvelib.tables import LEAST_POINTS, MOST_POINTS

point_counts = st.integers(1, 40).map(lambda k: 2 * k + 1)


def even(shape, points=33):
    """Even table of a shape."""
    return Table.from_shape(shape, points)


def sampled_error(table, between=40):
    """Largest error met on a grid that has all breakpoints: never above the true one."""
    x = np.linspace(0.0, 1.0, between * table.segments + 1)
    return np.abs(table.lookup(x) - table.shape(x)).max()


# --- known values ---------------------------------------------------------------------------


def test_the_error_of_a_cube():
    """For x^3 in 8 even segments 0.0109876841270935 (computed to 30 digits)."""
    table = even(CubicBlend(1.0), 17)
    assert table.max_error == pytest.approx(0.0109876841270935, abs=1e-9)
    assert table.max_error >= 0.0109876841270935


@pytest.mark.parametrize("blend", [0.1, 0.6, 1.0])
@pytest.mark.parametrize("points", [3, 17, 33, 129])
def test_the_error_of_a_cubic_blend(blend, points):
    """Largest where 3 x^2 = a^2 + ab + b^2 on the last segment (closed form, computed)."""
    a = 1.0 - 2.0 / (points - 1)
    x = math.sqrt((a * a + a + 1.0) / 3.0)
    exact = blend * (a**3 + (a * a + a + 1.0) * (x - a) - x**3)
    found = even(CubicBlend(blend), points).max_error
    assert exact <= found <= exact + 1e-9


@pytest.mark.parametrize(("points", "error"), [(17, 0.0078125), (33, 0.001953125)])
def test_the_error_of_a_parabola(points, error):
    """The upper zone of a `TwoZone` with q = 2: q h^2/4 exactly.

    That is the rule of x^2 in 8 segments, 0.00390625 with q = 1 (any numerical-analysis text).
    """
    found = even(TwoZone(0.5, 0.25), points).max_error
    assert error <= found <= error + 1e-9


@pytest.mark.parametrize("gain", [0.5, 2.0, 8.0])
def test_the_error_of_an_exponential(gain):
    """Largest where the slope is that of the last chord (closed form, computed)."""
    a, scale = 1.0 - 1.0 / 16.0, math.expm1(gain)
    chord = (math.exp(gain) - math.exp(gain * a)) / scale * 16.0
    x = math.log(chord * scale / gain) / gain
    exact = math.expm1(gain * a) / scale + chord * (x - a) - math.expm1(gain * x) / scale
    found = even(Expo(gain)).max_error
    assert exact - 1e-15 <= found <= exact + 1e-9


@pytest.mark.parametrize("width", [0.03, 0.1, 0.3])
def test_the_error_of_a_dead_zone_is_its_leak(width):
    """A chord over the edge is off most at the edge itself (by hand)."""
    table = even(Deadband(width), 17)
    k = math.floor(8 * width)
    value = ((k + 1) / 8 - width) / (1 - width)
    exact = value * (8 * width - k)
    assert table.leak == pytest.approx(exact, abs=1e-15)
    assert exact <= table.max_error + 1e-15 <= exact + 1e-9


def test_a_straight_line_has_no_error():
    """Only rounding is left."""
    for shape in (Linear(), Limit(0.6), Shape(), Points([0.5], [0.5])):
        assert even(shape).max_error <= 1e-14


# --- the bound ------------------------------------------------------------------------------


@given(shapes(), point_counts)
def test_the_bound_is_never_below_an_error_that_is_met(shape, points):
    """Certified: a dense sample finds nothing above it."""
    table = even(shape, points)
    assert sampled_error(table) <= table.max_error


@given(shapes(of=round_stages()), point_counts)
def test_the_bound_is_tight(shape, points):
    """A fine look around the worst samples and at every knot finds an error as large."""
    table = even(shape, points)
    x = np.linspace(0.0, 1.0, 40 * table.segments + 1)
    error = np.abs(table.lookup(x) - table.shape(x))
    knots = np.array([0.0, *shape.knots])
    met = max(error.max(), np.abs(table.lookup(knots) - shape(knots)).max())
    for k in np.argsort(error)[-8:]:
        near = np.linspace(max(x[k] - 0.02, 0.0), min(x[k] + 0.02, 1.0), 4001)
        met = max(met, np.abs(table.lookup(near) - table.shape(near)).max())
    assert table.max_error <= met + 1e-9 + 1e-7 * steepest(shape)


@given(shapes(1, round_stages()), point_counts)
def test_the_bound_covers_corners_between_breakpoints(shape, points):
    """The error at every knot of the shape counts, wherever it lies."""
    table = even(shape, points)
    knots = np.array([0.0, *shape.knots])
    assert np.abs(table.lookup(knots) - shape(knots)).max() <= table.max_error


def test_the_bound_holds_for_any_breakpoints():
    """Uneven points with shifted values are bounded too: a line 0.1 too high is off by 0.1."""
    x, y = np.array([0.0, 0.3, 1.0]), np.array([0.0, 0.4, 1.0])
    assert certified_error(Linear(), x, y) == pytest.approx(0.1, abs=1e-9)


# --- the points -----------------------------------------------------------------------------


@given(shapes(), point_counts)
def test_points_are_even_odd_and_on_the_curve(shape, points):
    """Equal distances from -1 to 1, values on the curve, both mirrored to the last bit."""
    table = even(shape, points)
    assert len(table.x) == len(table.y) == points
    assert table.segments == (points - 1) // 2
    np.testing.assert_allclose(np.diff(table.x), 2.0 / (points - 1), rtol=1e-12)
    np.testing.assert_array_equal(table.y, shape(table.x))
    np.testing.assert_array_equal(table.x, -table.x[::-1])
    np.testing.assert_array_equal(table.y, -table.y[::-1])
    assert (table.x[0], table.x[-1]) == (-1.0, 1.0)
    middle = table.segments
    assert (table.x[middle], table.y[middle]) == (0.0, 0.0)
    assert not np.signbit([table.x[middle], table.y[middle]]).any()


@given(shapes(), point_counts, st.lists(positions(), min_size=2, max_size=20))
def test_a_lookup_is_odd_never_falls_and_saturates(shape, points, xs):
    """What the table gives keeps the promises of the shape, but for the last bit."""
    table = even(shape, points)
    x = np.sort(xs)
    y = table.lookup(x)
    assert (np.diff(y) >= -2.3e-16).all()
    np.testing.assert_allclose(table.lookup(-x), -y, atol=2e-16)
    assert table.lookup(5.0) == table.lookup(1.0) == shape(1.0)
    assert table.lookup(-5.0) == -shape(1.0)
    np.testing.assert_array_equal(table.lookup(table.x), table.y)


def test_a_lookup_by_hand():
    """Between 0 and 0.5 a table of three points runs straight."""
    table = even(CubicBlend(1.0), 5)
    assert table.x.tolist() == [-1.0, -0.5, 0.0, 0.5, 1.0]
    assert table.y.tolist() == [-1.0, -0.125, 0.0, 0.125, 1.0]
    assert table.lookup(0.25) == 0.0625
    assert table.lookup([-0.75, 0.75]).tolist() == [-0.5625, 0.5625]


@pytest.mark.parametrize("shape", [(0,), (3,), (2, 3)])
def test_lookups_keep_shapes(shape):
    """Array in, array of the same shape out; a number gives a float."""
    x = np.full(shape, 0.3)
    assert even(Linear()).lookup(x).shape == shape
    assert (x == 0.3).all()
    assert type(even(Linear()).lookup(1)) is float


def test_33_even_points_are_the_usual_table():
    """Left out, there are 16 segments a side, evenly spaced."""
    table = Table.from_shape(CubicBlend(0.6))
    assert (len(table.x), table.segments, table.spacing) == (33, 16, "even")
    assert table.shape == CubicBlend(0.6)


# --- the dead zone --------------------------------------------------------------------------


def test_a_leak_is_said_in_words():
    """Where, how much, and what to do about it (numbers by hand: edge 0.1, next point 0.125)."""
    table = even(Deadband(0.1), 17)
    assert table.dead_zone == 0.1
    assert table.leak == table.lookup(0.1) == pytest.approx(0.8 * 0.025 / 0.9)
    words = table.leak_words()
    assert "leaks" in words
    assert "dead zone of 10 % of the travel" in words
    assert "up to 2.2 % of full" in words
    assert "Test for the dead zone before the lookup" in words


@pytest.mark.parametrize(
    "shape",
    [
        Linear(),
        CubicBlend(1.0),
        Deadband(0.25),
        Deadband(0.125) >> CubicBlend(0.6),
        Limit(0.3) >> Deadband(0.4),
    ],
    ids=repr,
)
def test_where_nothing_leaks_nothing_is_said(shape):
    """No dead zone, one whose edge is a breakpoint, and a shape that never moves at all."""
    assert (even(shape, 17).leak, even(shape, 17).leak_words()) == (0.0, "")


@pytest.mark.parametrize("top", [0.3, 0.6, 0.7, 0.8, 0.9])
@pytest.mark.parametrize("k", range(1, 16))
def test_rounding_is_no_leak(top, k):
    """An edge that misses a breakpoint by the last bit alone is on it."""
    width = top * k / 16
    if width <= 0.5:
        assert even(Limit(top) >> Deadband(width)).leak == 0.0


@given(shapes(of=round_stages()), point_counts, st.floats(0.0, 1.0))
def test_nothing_leaks_beyond_the_leak(shape, points, share):
    """Inside the dead zone a plain lookup never gives more than the table says."""
    table = even(shape, points)
    assert table.dead_zone == shape.starts_at
    assert 0.0 <= table.lookup(share * table.dead_zone) <= table.leak + 1e-12
    assert table.leak <= table.max_error


# --- value and refusals ---------------------------------------------------------------------


def test_tables_cannot_be_changed():
    """Neither the fields nor the arrays behind them."""
    table = even(CubicBlend(0.6))
    with pytest.raises(dataclasses.FrozenInstanceError):
        table.max_error = 0.0
    for values in (table.x, table.y):
        with pytest.raises(ValueError, match="read-only"):
            values[0] = 5.0


@pytest.mark.parametrize("bad", [4, 32, 1, 0, -33, 1027, 33.0, 33.5, "33", None, True, math.nan])
def test_absurd_numbers_of_points_are_refused(bad):
    """An odd whole number from 3 to 1025."""
    with pytest.raises(ValueError, match="give an odd whole number from 3 to 1025"):
        Table.from_shape(Linear(), bad)


def test_the_least_and_the_most_points():
    """3 and 1025 are allowed, numpy's whole numbers too."""
    assert len(even(Linear(), LEAST_POINTS).x) == 3
    assert len(even(Expo(8.0), MOST_POINTS).x) == 1025
    assert len(even(Linear(), np.int64(5)).x) == 5


@pytest.mark.parametrize("bad", ["Even", "", "best", None, 1])
def test_unknown_spacings_are_refused(bad):
    """The two names are listed."""
    with pytest.raises(ValueError, match="give 'even' or 'fitted'"):
        Table.from_shape(Linear(), 33, bad)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_nan_and_infinity_are_refused(bad):
    """With the first bad index."""
    with pytest.raises(ValueError, match="at index 1"):
        even(Linear()).lookup([0.0, bad])
