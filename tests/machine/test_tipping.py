"""When a machine tips, against published factors and a balance of forces done anew."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelib.machine.tipping import (
    GRAVITY,
    static_stability_factor,
    tilt_angle,
    tip_deceleration,
    tip_limits,
    tip_sideways,
)

levers = st.floats(0.05, 2.0)
heights = st.floats(0.05, 2.0)
slopes = st.floats(-0.8, 0.8)


def axle_loads(a, front, rear, height, slope):
    """Loads on front and rear axle per mass: force balance with the contacts as unknowns.

    x forward along the ground, nose downhill by slope; the ground pushes with
    normal loads nf, nr and a pull f: f + g sin = a, nf + nr = g cos, moments
    about the centre of mass 0.
    """
    f = a - GRAVITY * np.sin(slope)
    matrix = np.array([[1.0, 1.0], [front, -rear]])
    return np.linalg.solve(matrix, [GRAVITY * np.cos(slope), -f * height])


# L = 0.45, h = 0.40; computed with g = 9.80665 outside the project.
@pytest.mark.parametrize(("degrees", "wanted"), [(0, 11.032481), (10, 9.161966), (15, 8.118411)])
def test_braking_downhill_tips_at_the_computed_values(degrees, wanted):
    """The three check values, to their last digit."""
    assert tip_deceleration(0.45, 0.40, np.radians(degrees)) == pytest.approx(wanted, abs=5e-7)


def test_gravity_is_standard_gravity():
    """9.80665 m/s2 exactly: 3rd CGPM 1901, ISO 80000-3 (memory)."""
    assert GRAVITY == 9.80665


@given(levers, heights)
def test_it_tips_standing_still_at_its_tilt_angle(lever, height):
    """The limit is 0 at atan(L/h) and changes sign there."""
    angle = tilt_angle(lever, height)
    assert tip_deceleration(lever, height, angle) == pytest.approx(
        0.0, abs=1e-9 * GRAVITY * lever / height
    )
    assert tip_deceleration(lever, height, angle - 0.01) > 0.0


@given(levers, levers, heights, slopes)
def test_an_axle_is_bare_of_load_at_each_of_the_four_limits(front, rear, height, slope):
    """Solving the balance of forces anew at each limit leaves nothing on the lifted axle."""
    limits = tip_limits(front, rear, height, slope)
    scale = 1e-9 * GRAVITY * (1.0 + (front + rear) / height)
    for stop in (limits.stop_forward, limits.start_reverse):
        assert axle_loads(-stop, front, rear, height, slope)[1] == pytest.approx(0.0, abs=scale)
    for start in (limits.start_forward, limits.stop_reverse):
        assert axle_loads(start, front, rear, height, slope)[0] == pytest.approx(0.0, abs=scale)


@given(levers, levers, heights, slopes)
def test_turning_round_swaps_the_axles(front, rear, height, slope):
    """Nose uphill with the axles exchanged is the same machine driven backwards."""
    here = tip_limits(front, rear, height, slope)
    there = tip_limits(rear, front, height, -slope)
    assert here.stop_forward == there.stop_reverse
    assert here.start_forward == there.start_reverse


def test_static_stability_factor_of_the_notice():
    """T = 0.9, h = 0.45: factor 1.0, tilt 45 degrees; NHTSA rollover rating notices (read)."""
    assert static_stability_factor(0.9, 0.45) == 1.0
    assert np.degrees(tilt_angle(0.45, 0.45)) == pytest.approx(45.0)
    assert tip_sideways(0.9, 0.45) == pytest.approx(1.0 * GRAVITY)


@given(levers, heights, slopes)
def test_sideways_falls_with_the_slope_away_from_the_turn(track, height, cross):
    """Ground that falls away outward lowers the limit, ground that rises there lifts it."""
    away, level, towards = (tip_sideways(track, height, s) for s in (abs(cross), 0.0, -abs(cross)))
    assert away <= level
    assert away <= towards
    standing = tip_sideways(track, height, tilt_angle(track / 2.0, height))
    assert standing == pytest.approx(0.0, abs=1e-8 * GRAVITY * (1 + track / height))


def test_floats_and_arrays():
    """Numbers give floats; a table over slope and height is broadcast."""
    assert type(tip_deceleration(1, 1)) is float
    assert type(static_stability_factor(1, 1)) is float
    assert tip_deceleration(0.4, [[0.3], [0.4]], [0.0, 0.1, 0.2]).shape == (2, 3)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((0.4, 0.0), "height of the centre of mass is 0 m"),
        ((-0.1, 0.4), "distance from centre of mass to axle is -0.1 m"),
        ((0.4, 0.4, 1.6), "slope is 1.6 rad"),
        ((0.4, 0.4, [0.0, np.nan]), "slope is nan at index 1"),
    ],
)
def test_faults_are_named(arguments, words):
    """Each number out of range is named with its unit."""
    with pytest.raises(ValueError, match=words):
        tip_deceleration(*arguments)
