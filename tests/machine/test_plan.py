"""Where the ramp acts decides the path in plan: the three claims, proved."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from curvelib import Independent, TankMix
from curvelib.machine.plan import snap, stopping_paths
from curvelib.machine.ramping import RampPath
from curvelib.machine.stopping import stopping_distance
from curvelib.slew import ACTS_ON

HOW = {"to_full": 0.4, "to_stop": 0.4, "top_speed": 1.5, "track": 0.8, "dt": 0.005}
sticks = st.floats(0.05, 1.0)


def moving(trace):
    """Samples at which the middle of the machine is commanded to move."""
    return trace.left + trace.right > 1e-9


@given(sticks, sticks)
def test_on_motors_the_slower_side_stops_first_and_the_turn_tightens(throttle, steer):
    """Equal rates: the difference of the sides, the yaw, stays, while the speed falls."""
    assume(steer < 0.9 * throttle)
    trace = stopping_paths((throttle, steer), **HOW)["motors"]
    assert np.argmin(np.abs(trace.right)) <= np.argmin(np.abs(trace.left))
    radius = np.abs(trace.radius)[moving(trace)]
    both = (trace.left > 0.0) & (trace.right > 0.0)
    tightening = radius[: both.sum()]
    assert (np.diff(tightening) < 0.0).all()
    slow, fast = sorted((trace.right[0], trace.left[0]))
    assert (trace.right > 0.0).sum() < (trace.left > 0.0).sum() or fast - slow < 0.02
    # The step in which the slower side arrives belongs to both.
    yaw = (trace.left - trace.right)[: max(both.sum() - 1, 0)]
    np.testing.assert_allclose(yaw, yaw[:1].repeat(len(yaw)), rtol=0, atol=1e-12)


@given(sticks, sticks)
def test_on_sticks_the_smaller_stick_stops_first(throttle, steer):
    """With the steer smaller the path straightens, with the throttle smaller it ends in a spin."""
    assume(abs(steer - throttle) > 0.1)
    trace = stopping_paths((throttle, steer), **HOW)["sticks"]
    last = np.flatnonzero(np.abs(trace.left) + np.abs(trace.right) > 1e-6)[-1]
    if steer < throttle:
        assert trace.left[last] == pytest.approx(trace.right[last])
        radius = np.abs(trace.radius)[moving(trace)]
        # The capped difference: infinity less infinity is no number.
        assert (np.diff(np.minimum(radius, 1e6)) >= -1e-6).all()
    else:
        assert trace.left[last] == pytest.approx(-trace.right[last])


@given(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0), st.floats(0.0, 0.3))
def test_together_the_radius_is_kept_exactly(throttle, steer, lag):
    """While it stops, commands and machine stay on one circle, to rounding."""
    assume(abs(throttle) > 0.05)
    assume(abs(steer) > 0.05)
    trace = stopping_paths((throttle, steer), **HOW, lag=lag)["together"]
    radius = trace.radius[np.abs(trace.left + trace.right) > 1e-6]
    np.testing.assert_allclose(radius, radius[0], rtol=1e-9)
    x, y = trace.response.poses[:, :2].T
    np.testing.assert_allclose(np.hypot(x, y - radius[0]), abs(radius[0]), rtol=1e-9)


def test_together_steering_waits_for_throttle():
    """The price: from rest, a small steer asked with full throttle takes the whole ramp."""
    waits = snap((0.0, 0.0), (0.8, 0.1), path=RampPath(acts_on="together"), **HOW)
    alone = snap((0.0, 0.0), (0.8, 0.1), path=RampPath(acts_on="sticks"), **HOW)
    early = 10  # 0.05 s, of 0.4 s to full
    assert alone.left[early] - alone.right[early] == pytest.approx(0.2)
    assert waits.left[early] - waits.right[early] < 0.05


@pytest.mark.parametrize("acts_on", ACTS_ON)
@pytest.mark.parametrize("lag", [0.0, 0.1])
def test_straight_ahead_all_roll_the_stopping_distance(acts_on, lag):
    """Without steer the three places differ in nothing; five lags leave 0.7 % of the lag's way."""
    trace = stopping_paths((0.8, 0.0), **HOW, lag=lag, delay=0.1)[acts_on]
    formula = stopping_distance(1.2, delay=0.1, to_stop=0.4, top_speed=1.5, lag=lag)
    assert trace.length == pytest.approx(formula, abs=0.007 * 1.2 * lag + 1e-9)
    assert trace.response.poses[-1, 1] == 0.0


@given(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0), st.sampled_from(ACTS_ON))
def test_letting_go_in_a_turn_rolls_no_farther_than_from_full_speed(throttle, steer, acts_on):
    """The promise of `stopping_distance`: full speed straight ahead is the worst."""
    trace = stopping_paths((throttle, steer), **HOW)[acts_on]
    worst = stopping_distance(1.5, delay=0.0, to_stop=0.4, top_speed=1.5)
    assert trace.length <= worst + 1e-9


def test_together_a_turn_rolls_farther_than_its_speed_alone_says():
    """Sides 1 and 0.4: the middle at 0.7 rolls for the whole ramp, not 0.7 of it."""
    trace = stopping_paths((1.0, 0.4), mix=Independent(), **HOW)["together"]
    assert trace.length == pytest.approx(1.5 * 0.7 * 0.4 / 2.0)
    assert trace.length > stopping_distance(1.05, delay=0.0, to_stop=0.4, top_speed=1.5)


def test_the_change_waits_for_the_delay():
    """Until the delay has passed, commands and speed stay."""
    trace = snap((0.5, 0.2), (0.0, 0.0), path=RampPath(TankMix()), **HOW, delay=0.1)
    np.testing.assert_array_equal(trace.left[:20], 0.7)
    assert trace.left[20] < 0.7
    np.testing.assert_allclose(trace.response.speed[:20], 0.75)
    no_ramps = HOW | {"to_full": 0.0, "to_stop": 0.0}
    jumps = snap((0.5, 0.2), (0.0, 0.0), path=RampPath(TankMix()), **no_ramps, delay=0.1)
    np.testing.assert_array_equal(jumps.left[:19], 0.7)
    assert jumps.left[20] == 0.0


def test_a_snap_ends_settled():
    """At the end everything stands, or runs as asked."""
    stop = snap((1.0, 1.0), (0.0, 0.0), path=RampPath(acts_on="together"), **HOW, lag=0.2)
    assert stop.left[-1] == stop.right[-1] == 0.0
    assert abs(stop.response.speed[-1]) < 0.01 * 1.5
    reverse = snap((1.0, 0.0), (-1.0, 0.0), path=RampPath(), **HOW, pose=(1.0, 2.0, 0.5))
    assert reverse.response.speed[-1] == -1.5
    np.testing.assert_array_equal(reverse.response.poses[0], (1.0, 2.0, 0.5))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"dt": 0.0}, "time step dt is 0 s"),
        ({"delay": -0.1}, "delay is -0.1 s"),
        ({"dt": 0.001, "to_full": 60.0}, "give a longer step"),
        ({"before": (1.2, 0.0)}, "sticks before is 1.2 at index 0"),
        ({"after": np.zeros((2, 3))}, "sticks after hold 3 changes; give one"),
        ({"before": (1.0, 0.0, 0.0)}, "give first and second stick"),
    ],
)
def test_faults_are_named(change, words):
    """Each fault of the input has its message."""
    good = {"before": (1.0, 0.0), "after": (0.0, 0.0), "path": RampPath(), **HOW}
    with pytest.raises(ValueError, match=words):
        snap(**(good | change))
