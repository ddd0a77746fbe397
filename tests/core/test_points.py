"""A smooth curve through the builder's own points never falls and never overshoots."""

from fractions import Fraction

import numpy as np
import pytest
from core.strategies import NO_NUMBERS, NOT_IN_RANGE, point_lists, thousandths
from hypothesis import given
from scipy.interpolate import PchipInterpolator

from curvelib import Deadband, Points
from curvelib.points import MOST_POINTS, monotone_slopes

DENSE = np.linspace(-1.0, 1.0, 2001)
# Values of three decimals, so that scipy's own divisions do not overflow.
round_points = point_lists(values=thousandths())


def mirrored(stage):
    """Points of a stage on both sides, as scipy takes them."""
    x, y = np.array([0.0, *stage.x, 1.0]), np.array([0.0, *stage.y, 1.0])
    return np.concatenate([-x[:0:-1], x]), np.concatenate([-y[:0:-1], y])


@given(round_points)
def test_values_agree_with_scipy(stage):
    """On the mirrored points it is `PchipInterpolator` (the same slope rule; computed)."""
    other = PchipInterpolator(*mirrored(stage))
    np.testing.assert_allclose(stage(DENSE), other(DENSE), rtol=0, atol=2e-14)


@given(round_points)
def test_slopes_agree_with_scipy(stage):
    """Slopes agree too, relative to the steepest (computed by `PchipInterpolator`)."""
    x, y = mirrored(stage)
    inside = DENSE[np.abs(DENSE) < 1.0]
    steep = np.diff(y).max() / np.diff(x).min()
    other = PchipInterpolator(x, y).derivative()(inside)
    # The derivative there may fall a hair below 0.
    np.testing.assert_allclose(
        stage.slope(inside), np.maximum(other, 0), rtol=0, atol=1e-12 * steep
    )


@given(round_points)
def test_the_inverse_agrees_with_scipy(stage):
    """The curve of scipy at our inverse gives the value asked for (computed)."""
    wanted = np.linspace(0.0, 1.0, 41)
    np.testing.assert_allclose(
        PchipInterpolator(*mirrored(stage))(stage.inverse(wanted)), wanted, atol=2e-13
    )


@given(point_lists())
def test_the_curve_passes_through_every_point(stage):
    """Each point is met to the last bit, on both sides."""
    x, y = mirrored(stage)
    np.testing.assert_array_equal(stage(x), y)


@given(point_lists())
def test_nothing_overshoots_between_two_points(stage):
    """Between two points the curve stays between their values."""
    x, y = mirrored(stage)
    k = np.clip(np.searchsorted(x, DENSE, side="right") - 1, 0, len(x) - 2)
    value = stage(DENSE)
    assert (y[k] <= value).all()
    assert (value <= y[k + 1]).all()


@given(point_lists())
def test_the_slope_is_continuous_at_every_point(stage):
    """Just before and just after a point the slope is the same: no corner, as promised."""
    at = np.array([0.0, *stage.x])
    before, after = stage.slope(at - 1e-9), stage.slope(at + 1e-9)
    steep = 3.0 * np.diff(mirrored(stage)[1]).max() / 0.001
    np.testing.assert_allclose(before, after, rtol=0, atol=1e-4 * steep + 1e-12)


def test_no_points_give_a_straight_line():
    """Through (0, 0) and (1, 1) alone runs y = x."""
    np.testing.assert_allclose(Points([], [])(DENSE), DENSE, rtol=0, atol=1e-16)


def test_points_on_a_line_give_that_line():
    """Where all points lie on y = x the curve does not bend (by hand)."""
    np.testing.assert_allclose(Points([0.25, 0.5], [0.25, 0.5])(DENSE), DENSE, atol=3e-16)


def test_the_slope_at_the_centre_is_that_of_the_odd_curve():
    """At 0 both neighbours are the first secant, so that is the slope (by hand)."""
    assert Points([0.5], [0.2]).slope(0.0) == 0.4


@pytest.mark.parametrize("number", [float, Fraction])
def test_slopes_worked_out_by_hand(number):
    """Secants 1/2 and 3/2, equal widths: harmonic mean 3/4, end (3 3/2 - 1/2)/2 = 2 (by hand)."""
    x, y = ([number(k) / 2 for k in (0, 1, 2)], [number(k) / 4 for k in (0, 1, 4)])
    slopes = monotone_slopes(x, y)
    assert slopes == [number(1) / 2, number(3) / 4, number(2)]
    assert all(type(slope) is number for slope in slopes)


def test_a_flat_step_stays_flat():
    """Between two equal values nothing moves, and the slope at both is 0."""
    stage = Points([0.3, 0.6], [0.4, 0.4])
    np.testing.assert_array_equal(stage(np.linspace(0.3, 0.6, 31)), np.full(31, 0.4))
    assert stage.slope(np.array([0.3, 0.45, 0.6])).tolist() == [0.0, 0.0, 0.0]


def test_the_inverse_is_the_near_end_of_a_flat_step():
    """Of all positions that give 0.4 the inverse is the one nearest the centre."""
    stage = Points([0.3, 0.6], [0.4, 0.4])
    # The curve arrives flat, so doubles tell the last 1e-8 of travel no longer apart.
    assert stage.inverse(0.4) == pytest.approx(0.3, abs=2e-8)
    assert stage.inverse(np.nextafter(0.4, 1.0)) >= 0.6
    assert Points([0.3], [1.0]).inverse(1.0) == pytest.approx(0.3, abs=2e-8)


def test_points_at_zero_are_a_dead_zone_with_a_rounded_end():
    """Motion begins at the last point of value 0, and begins with slope 0."""
    stage = Points([0.1, 0.2, 0.6], [0.0, 0.0, 0.5])
    assert stage.starts_at == 0.2
    assert stage.first_slope == 0.0
    assert stage(0.2) == 0.0 < stage(0.21)
    assert stage.inverse(0.0) == 0.0


def test_a_dead_zone_with_a_sharp_end_is_a_stage_before_the_points():
    """A `Deadband` before the points begins at once with the slope of the points."""
    shape = Deadband(0.2) >> Points([0.5], [0.25])
    assert shape.starts_at == 0.2
    assert shape.first_slope == pytest.approx(0.5 / 0.8, rel=1e-15)


def test_knots_are_the_points():
    """Where the formula changes is where the builder put points."""
    assert Points([0.25, 0.5], [0.1, 0.3]).knots == (0.25, 0.5)


@given(point_lists())
def test_awkward_points_still_give_a_slope_that_is_not_negative(stage):
    """Steps of 1e-320 and neighbours 0.001 apart neither overflow nor fall."""
    slopes = stage.slope(DENSE)
    assert np.isfinite(slopes).all()
    assert slopes.min() >= 0.0


@pytest.mark.parametrize(
    ("x", "y", "fault"),
    [
        ([0.5, 0.6], [0.5], "2 x values but 1 y values"),
        ([0.5], [], "1 x values but 0 y values"),
        ([0.6, 0.5], [0.1, 0.2], r"x = 0\.5 after 0\.6; give ascending"),
        ([0.5, 0.5], [0.1, 0.2], r"x = 0\.5 after 0\.5; give ascending"),
        ([0.5, 0.5005], [0.1, 0.2], r"at least 0\.001 apart"),
        ([0.0005], [0.1], r"x = 0\.0005 after 0;"),
        ([0.9995], [0.1], r"x = 1 after 0\.9995;"),
        ([0.3, 0.6], [0.5, 0.4], r"y = 0\.4 at x = 0\.6 falls below 0\.5"),
        ([0.0], [0.0], r"Points: x\[0\] = 0 is out of range"),
        ([1.0], [1.0], r"Points: x\[0\] = 1 is out of range"),
        ([0.5], [-0.1], r"Points: y\[0\] = -0\.1 is out of range"),
        ([0.5], [1.1], r"Points: y\[0\] = 1\.1 is out of range"),
        ("0.5", [0.5], "Points: x = '0.5' is not a list"),
        (0.5, 0.5, r"Points: x = 0\.5 is not a list"),
        ([[0.5]], [0.5], r"Points: x\[0\] = \[0\.5\] is not a number"),
    ],
)
def test_points_that_make_no_curve_are_refused(x, y, fault):
    """Number, order, distance and range are checked, and the place is named."""
    with pytest.raises(ValueError, match=fault):
        Points(x, y)


@pytest.mark.parametrize("bad", [*NO_NUMBERS, *NOT_IN_RANGE], ids=lambda v: f"{v!r:.12}")
def test_absurd_numbers_in_a_list_are_refused(bad):
    """Each place of both lists is checked."""
    with pytest.raises(ValueError, match=r"Points: x\[1\] = .*; give a number above 0 and below 1"):
        Points([0.2, bad], [0.1, 0.2])
    with pytest.raises(ValueError, match=r"Points: y\[1\] = .*; give a number from 0 to 1"):
        Points([0.2, 0.3], [0.1, bad])


def test_too_many_points_are_refused():
    """63 points are allowed, 64 are not."""
    x = np.arange(1, MOST_POINTS + 2) / (MOST_POINTS + 2)
    assert Points(x[:-1], x[:-1])(0.5) == pytest.approx(0.5)
    with pytest.raises(ValueError, match="64 points are too many; give 63"):
        Points(x, x)


def test_neighbours_a_thousandth_apart_are_allowed_in_spite_of_rounding():
    """0.009 - 0.008 is a hair below 0.001 in doubles, and still counts."""
    assert 0.009 - 0.008 < 0.001
    assert Points([0.008, 0.009], [0.1, 0.9])(0.0085) == pytest.approx(0.5, abs=0.1)
