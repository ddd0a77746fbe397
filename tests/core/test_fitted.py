"""Fitted breakpoints: the least error there can be, pinned where they must be, certified."""

import math

import numpy as np
import pytest
from core.optimum import by_grid, equal_errors
from core.strategies import round_stages, shapes
from hypothesis import given
from hypothesis import strategies as st

from curvelib import CubicBlend, Deadband, Expo, Limit, Linear, Points, Shape, Table, TwoZone
from curvelib.fitted import fewest, fit, solve
from curvelib.tables import MOST_POINTS

segment_counts = st.integers(2, 24)


def fitted(shape, segments):
    """Fitted table of a shape."""
    return Table.from_shape(shape, 2 * segments + 1, "fitted")


# --- the optimum, by another way --------------------------------------------------------------


def cubic(blend):
    """A cubic blend and its slope, from the formula in the design."""
    return lambda x: (1 - blend) * x + blend * x**3, lambda x: 1 - blend + 3 * blend * x * x


def expo(gain):
    """An exponential and its slope."""
    scale = math.expm1(gain)
    return lambda x: math.expm1(gain * x) / scale, lambda x: gain * math.exp(gain * x) / scale


def two_zone(kx, ky):
    """A two zone curve and its slope."""
    m = ky / kx
    q = (1 - m) / (1 - kx) ** 2
    return (
        lambda x: m * x + q * max(x - kx, 0.0) ** 2,
        lambda x: m + 2 * q * max(x - kx, 0.0),
    )


def turned(pair):
    """A curve turned by half a turn about its middle, which makes a concave one convex."""
    curve, slope = pair
    return lambda x: 1.0 - curve(1.0 - x), lambda x: slope(1.0 - x)


# Shape, the convex curve with the same least error, its scale, pieces spent on a dead zone.
CONVEX = {
    "cube": (CubicBlend(1.0), cubic(1.0), 1.0, 0),
    "cubic blend": (CubicBlend(0.6), cubic(0.6), 1.0, 0),
    "soft expo": (Expo(1.0), expo(1.0), 1.0, 0),
    "hard expo": (Expo(8.0), expo(8.0), 1.0, 0),
    "two zone": (TwoZone(0.5, 0.2), two_zone(0.5, 0.2), 1.0, 0),
    "concave two zone": (TwoZone(0.3, 0.45), turned(two_zone(0.3, 0.45)), 1.0, 0),
    "dead zone, cube": (Deadband(0.08) >> CubicBlend(1.0), cubic(1.0), 1.0, 1),
    "dead zone, expo, limit": (Deadband(0.2) >> Expo(3) >> Limit(0.7), expo(3.0), 0.7, 1),
}


@pytest.mark.parametrize("name", CONVEX)
@pytest.mark.parametrize("segments", [2, 8, 16, 64])
def test_the_error_is_the_least_there_can_be(name, segments):
    """Against equal errors, worked out from the formula alone: within 0.1 %, where 3 % is asked."""
    shape, (curve, slope), scale, dead = CONVEX[name]
    optimum = scale * equal_errors(curve, slope, segments - dead)
    found = fitted(shape, segments).max_error
    assert optimum * (1.0 - 1e-6) <= found <= optimum * 1.001


def test_the_cube_in_eight_segments():
    """Ends held, 0.002838 (computed to 30 digits); even points have 0.01099."""
    assert fitted(CubicBlend(1.0), 8).max_error == pytest.approx(0.002838, abs=1e-6)


MIXED = {
    "points": (Points([0.2, 0.5, 0.8], [0.05, 0.4, 0.6]), 4),
    "flat and steep": (Points([0.1, 0.3, 0.5, 0.7], [0.0, 0.3, 0.3, 0.95]), 6),
    "points after a dead zone": (Deadband(0.1) >> Points([0.3, 0.6], [0.5, 0.55]), 5),
    "soft, then steep at first": (Expo(2.4) >> TwoZone(0.3, 0.44), 4),
    "convex, then concave": (CubicBlend(1.0) >> TwoZone(0.2, 0.32), 5),
    "cube": (CubicBlend(1.0), 5),
}


@pytest.mark.parametrize("name", MIXED)
def test_mixed_curvature_is_no_worse_than_a_search_on_a_grid(name):
    """The grid's own optimum is a few percent too large, never too small by more than 0.5 %."""
    shape, segments = MIXED[name]
    pieces = segments - (shape.starts_at > 0.0)
    on_grid = by_grid(shape, pieces)
    assert 0.94 * on_grid <= fitted(shape, segments).max_error <= 1.005 * on_grid


@given(shapes(of=round_stages()), segment_counts)
def test_the_lower_bound_meets_the_error(shape, segments):
    """What is proven impossible and what is reached leave 3 % between them at most."""
    if any(knot > 1.0 - 1e-9 for knot in shape.knots):
        return
    found = solve(shape, segments)
    assert found.least <= found.error + 1e-12
    assert found.error <= found.least * 1.0001 + 1e-9


# --- what is pinned, and what a table must be -------------------------------------------------


@given(shapes(), segment_counts)
def test_ends_and_dead_zone_are_exact(shape, segments):
    """Pinned at 0, at 1 and at the edge of the dead zone; inside it exactly 0."""
    x, y = fit(shape, segments)
    assert len(x) == len(y) == segments + 1
    assert (x[0], y[0], x[-1], y[-1]) == (0.0, 0.0, 1.0, shape(1.0))
    edge = shape.starts_at
    if edge > 0.0:
        assert edge in x
        inside = np.linspace(0.0, edge, 30)
        assert not np.interp(inside, x, y).any()


@given(shapes(), segment_counts)
def test_a_fitted_table_is_odd_and_never_falls(shape, segments):
    """Breakpoints ascend, values never fall, both are mirrored; no leak."""
    table = fitted(shape, segments)
    assert (np.diff(table.x) > 0.0).all()
    assert (np.diff(table.y) >= 0.0).all()
    np.testing.assert_array_equal(table.x, -table.x[::-1])
    np.testing.assert_array_equal(table.y, -table.y[::-1])
    assert table.leak == 0.0
    assert table.spacing == "fitted"


@given(shapes(of=round_stages()), segment_counts)
def test_the_stated_error_is_certified_and_tight(shape, segments):
    """A dense sample finds nothing above it, and something within a thousandth of it."""
    table = fitted(shape, segments)
    middle = table.segments
    ends = np.union1d(table.x[middle:], [0.0, *shape.knots])
    dense = (ends[:-1, None] + np.diff(ends)[:, None] * np.linspace(0.0, 1.0, 101)).ravel()
    met = np.abs(table.lookup(dense) - shape(dense)).max()
    assert met <= table.max_error <= met * 1.001 + 1e-9


@given(shapes(), segment_counts)
def test_it_beats_even_points(shape, segments):
    """Where no breakpoint is spent on a dead zone."""
    if shape.starts_at == 0.0:
        even = Table.from_shape(shape, 2 * segments + 1).max_error
        assert fitted(shape, segments).max_error <= even + 1e-9


def test_straight_shapes_are_exact_and_evenly_divided():
    """Nothing is gained by uneven points there, so spare ones halve the longest pieces."""
    x, y = fit(Linear(), 8)
    np.testing.assert_array_equal(x, np.arange(9) / 8)
    np.testing.assert_array_equal(y, x)
    for shape in (Limit(0.6), Deadband(0.1), Deadband(0.25) >> Limit(0.3), Points([0.5], [0.5])):
        assert fitted(shape, 6).max_error <= 1e-12


def test_a_dead_zone_needs_five_points():
    """With three there is no room for its edge; the message says what to do."""
    with pytest.raises(ValueError, match="give 5 points or more, or even spacing"):
        fit(Deadband(0.1), 1)
    x, y = fit(Deadband(0.1) >> CubicBlend(0.5), 2)
    assert (x.tolist(), y.tolist()) == ([0.0, 0.1, 1.0], [0.0, 0.0, 1.0])


def test_a_shape_that_never_moves_has_a_table_of_zeros():
    """Its dead zone swallows the whole stick."""
    table = fitted(Limit(0.2) >> Deadband(0.3), 4)
    assert not table.y.any()
    assert table.max_error <= 1e-15


# --- the reverse question ---------------------------------------------------------------------

REVERSED = [
    CubicBlend(1.0),
    Deadband(0.08) >> Expo(3),
    MIXED["points"][0],
    Shape([TwoZone(0.3, 0.45)]),
]


@pytest.mark.parametrize("shape", REVERSED, ids=["cube", "dead zone", "points", "concave"])
@pytest.mark.parametrize("segments", [3, 5, 9, 20])
def test_the_fewest_points_for_an_error_are_exact(shape, segments):
    """A hair above what so many segments can do takes so many, a hair below takes one more."""
    least = solve(shape, segments).error
    for bound, wanted in ((least * 1.0001, segments), (least * 0.9999, segments + 1)):
        table = Table.fewest(shape, bound)
        assert table.segments == wanted
        assert table.max_error <= bound


def test_fewest_against_equal_errors():
    """Half a percent of full for the cube: 7 segments can, 6 cannot (equal errors)."""
    pair = cubic(1.0)
    wanted = next(n for n in range(1, 30) if equal_errors(*pair, n) <= 0.005)
    table = Table.fewest(CubicBlend(1.0), 0.005)
    assert table.segments == wanted
    again = Table.from_shape(CubicBlend(1.0), len(table.x), "fitted")
    np.testing.assert_array_equal(table.x, again.x)
    assert again.max_error <= 0.005


def test_fewest_points_of_simple_shapes():
    """A straight line needs its ends, a dead zone its edge too."""
    assert len(Table.fewest(Linear(), 1e-6).x) == 3
    assert len(Table.fewest(Deadband(0.1), 1e-6).x) == 5
    assert len(Table.fewest(Limit(0.2) >> Deadband(0.3), 1e-6).x) == 3
    assert fewest(CubicBlend(1.0), 0.001, 4) is None


@pytest.mark.parametrize("bound", [0.0, -0.1, float("nan"), float("inf")])
def test_a_bound_must_be_above_nothing(bound):
    with pytest.raises(ValueError, match="give a share of full above 0"):
        Table.fewest(CubicBlend(1.0), bound)


def test_a_bound_out_of_reach_says_what_is_in_reach():
    with pytest.raises(ValueError, match=f"more than {MOST_POINTS} points, which reach 6.4e-07"):
        Table.fewest(CubicBlend(1.0), 1e-8)
