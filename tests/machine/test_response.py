"""What the body does, against independent integration of the same equations."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from curvelib.machine.response import drive_lag, moments, respond
from curvelib.machine.stance import Stance

commands = st.lists(st.floats(-1.0, 1.0), min_size=1, max_size=9)
lags = st.floats(0.01, 2.0)


def integrate(rates, state, steps):
    """Integrate piece by piece, so that no jump of a command lies inside a piece."""
    states = []
    for k, step in enumerate(steps):
        solved = solve_ivp(
            lambda t, y, k=k: rates(k, y),
            (0.0, step),
            state,
            method="DOP853",
            rtol=1e-12,
            atol=1e-12,
        )
        state = solved.y[:, -1]
        states.append(state)
    return np.array(states)


@given(commands, lags, st.floats(-1.0, 1.0), st.data())
def test_the_lag_is_that_of_an_integrator(trace, lag, start, data):
    """Lag y' = command - y, integrated over irregular steps, agrees to 1e-9."""
    dt = np.array(
        data.draw(st.lists(st.floats(0.0, 1.0), min_size=len(trace), max_size=len(trace)))
    )
    dt[dt < 1e-6] = 0.0
    solved = integrate(lambda k, y: (trace[k] - y) / lag, np.array([start]), dt + 0.0)
    ours = drive_lag(trace, dt, lag, start)
    np.testing.assert_allclose(ours, solved[:, 0], rtol=0, atol=1e-9)


@given(commands, st.floats(0.0, 2.0), st.floats(0.001, 0.5))
def test_the_lag_is_its_own_recurrence(trace, lag, dt):
    """The doubled recurrence equals the plain loop it stands for."""
    keep = np.exp(-dt / lag) if lag > 0.0 else 0.0
    value, looped = 0.3, []
    for target in trace:
        value = keep * value + (1.0 - keep) * target
        looped.append(value)
    np.testing.assert_allclose(drive_lag(trace, dt, lag, 0.3), looped, rtol=0, atol=1e-14)


def test_after_one_lag_63_percent_are_reached():
    """1 - 1/e, in one step or in thousand."""
    assert drive_lag([1.0], 0.4, 0.4)[0] == pytest.approx(1.0 - np.exp(-1.0))
    assert drive_lag(np.ones(1000), 0.0004, 0.4)[-1] == pytest.approx(1.0 - np.exp(-1.0))


@given(commands, st.floats(0.0, 2.0))
def test_the_response_stays_between_start_and_commands(trace, lag):
    """A first-order lag never overshoots."""
    out = drive_lag(trace, 0.1, lag, 0.2)
    assert out.max() <= max(0.2, *trace) + 1e-15
    assert out.min() >= min(0.2, *trace) - 1e-15


def test_no_lag_no_step_and_no_sample():
    """Lag 0 follows at once, a step of 0 changes nothing, no samples give none."""
    np.testing.assert_array_equal(drive_lag([0.3, -1.0], 0.1, 0.0, 0.5), [0.3, -1.0])
    assert drive_lag([1.0], 0.0, 0.3, 0.25)[0] == 0.25
    assert drive_lag([], 0.1, 0.3).shape == (0,)
    assert drive_lag([1.0], 1e3, 1e-310)[0] == 1.0


def test_channels_are_independent():
    """Two columns give what each gives alone, each from its own start."""
    trace = np.random.default_rng(3).uniform(-1, 1, (40, 2))
    both = drive_lag(trace, 0.05, 0.3, [0.1, -0.4])
    for k, start in enumerate((0.1, -0.4)):
        np.testing.assert_array_equal(both[:, k], drive_lag(trace[:, k], 0.05, 0.3, start))


TRACE = np.random.default_rng(5).uniform(-1.0, 1.0, (60, 2)).cumsum(axis=0).clip(-1.0, 1.0)
HOW = {"top_speed": 1.5, "track": 0.8, "lag": 0.25, "turning_share": 0.7}


def whole_machine(steps):
    """Integrate sides and pose together."""

    def rates(k, y):
        left, right, _, _, heading = y
        speed, yaw = (left + right) / 2.0, 0.7 * (right - left) / 0.8
        sides = (1.5 * TRACE[k] - y[:2]) / 0.25
        return (*sides, speed * np.cos(heading), speed * np.sin(heading), yaw)

    return integrate(rates, np.zeros(5), steps)


def test_the_whole_machine_is_that_of_an_integrator():
    """Sides, heading to 1e-9; the position to second order in the step, as documented."""
    steps = np.linspace(0.01, 0.05, len(TRACE))
    solved = whole_machine(steps)
    got = respond(TRACE[:, 0], TRACE[:, 1], steps, **HOW)
    np.testing.assert_allclose(np.stack([got.left, got.right], 1), solved[:, :2], rtol=0, atol=1e-9)
    np.testing.assert_allclose(got.poses[1:, 2], solved[:, 4], rtol=0, atol=1e-9)
    coarse = np.abs(got.poses[-1, :2] - solved[-1, 2:4]).max()
    halved = respond(*np.repeat(TRACE, 2, axis=0).T, np.repeat(steps / 2.0, 2), **HOW)
    fine = np.abs(halved.poses[-1, :2] - solved[-1, 2:4]).max()
    assert coarse < 1e-3
    assert fine < coarse / 3.0
    np.testing.assert_allclose(got.speed, (solved[:, 0] + solved[:, 1]) / 2.0, atol=1e-9)
    np.testing.assert_allclose(got.lateral, got.speed * got.yaw_rate)
    np.testing.assert_allclose(got.time, np.cumsum(steps))


def test_acceleration_is_the_gain_of_speed_over_each_step():
    """Summed up it gives the speed; without lag it is the slope of a ramp."""
    got = respond(TRACE[:, 0], TRACE[:, 1], 0.02, **HOW)
    np.testing.assert_allclose(np.cumsum(got.acceleration * 0.02), got.speed, atol=1e-12)
    ramp = np.arange(1, 11) / 10.0
    straight = respond(ramp, ramp, 0.05, top_speed=2.0, track=0.8)
    np.testing.assert_allclose(straight.acceleration, 2.0 / 0.5)


def test_it_goes_on_from_settled_motion():
    """Held commands that the drives have settled at change nothing."""
    got = respond([0.6, 0.6], [0.2, 0.2], 0.1, **HOW, start=(0.6, 0.2), pose=(1.0, 2.0, 0.5))
    np.testing.assert_allclose(got.acceleration, 0.0, atol=1e-12)
    np.testing.assert_allclose(got.speed, 1.5 * 0.4)
    np.testing.assert_array_equal(got.poses[0], (1.0, 2.0, 0.5))


def test_moments_are_marked_where_shares_reach_one():
    """On wet grass a ramp from 2 m/s in 0.5 s slides from its first step, and does not tip."""
    ramp = np.linspace(1.0, 0.0, 11)[1:]
    got = respond(ramp, ramp, 0.05, top_speed=2.0, track=0.8, start=(1.0, 1.0))
    marked = moments(got, Stance(0.45, 0.45, 0.40, 0.20, track=0.8))
    assert marked.slides.all()
    assert marked.first_slide == pytest.approx(0.05)
    assert not marked.tips.any()
    assert marked.first_tip is None
    np.testing.assert_allclose(marked.slide_use, 4.0 / (0.20 * 9.80665))
    np.testing.assert_allclose(marked.tip_use, 4.0 / (9.80665 * 0.45 / 0.40))


def test_a_fast_turn_tips_sideways():
    """A turn uses v times yaw sideways: here 2.25 m/s2 against half a track of 0.1 over 0.5."""
    got = respond([1.0, 1.0], [0.5, 0.5], 0.1, top_speed=2.0, track=0.6, start=(1.0, 0.5))
    marked = moments(got, Stance(0.5, 0.5, 0.5, 1.0, track=0.2))
    np.testing.assert_allclose(got.lateral, -1.5 * 1.0 / 0.6)
    np.testing.assert_allclose(marked.tip_use, 2.5 * 0.5 / (0.1 * 9.80665))
    assert marked.first_tip == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"dt": 0.0}, "time step dt is 0 s"),
        ({"left": [0.1, np.nan]}, "left command is nan at index 1"),
        ({"right": [0.1, 0.2, 0.3]}, "do not go together"),
        ({"lag": -0.1}, "drive lag is -0.1 s"),
        ({"top_speed": 0.0}, "top speed is 0 m/s"),
    ],
)
def test_faults_are_named(change, words):
    """Each fault of the input has its message."""
    good = {"left": [0.1, 0.2], "right": [0.1, 0.2], "dt": 0.1, "top_speed": 1.0, "track": 0.8}
    with pytest.raises(ValueError, match=words):
        respond(**(good | change))
