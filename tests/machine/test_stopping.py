"""How far it rolls, against an independent simulation."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from curvelib.machine.stopping import longest_to_stop, stopping_distance


def simulated(speed, delay, to_stop, top_speed, lag):
    """Integrate lag v' = command - v over delay, ramp and settling; pieces solved apart."""
    ends = np.cumsum([delay, speed / top_speed * to_stop, 60.0 * lag])
    state, begin = np.array([0.0, speed]), 0.0
    for end in ends:
        solved = solve_ivp(
            lambda t, y: (y[1], (command(t, speed, delay, to_stop, top_speed) - y[1]) / lag),
            (begin, end),
            state,
            method="DOP853",
            rtol=1e-12,
            atol=1e-13,
        )
        state, begin = solved.y[:, -1], end
    return state[0]


def command(t, speed, delay, to_stop, top_speed):
    """Speed commanded: held, then ramped down at top speed in to_stop."""
    fallen = top_speed * (t - delay) / to_stop if to_stop > 0.0 else np.inf
    return min(speed, max(0.0, speed - fallen)) if t > delay else speed


@pytest.mark.parametrize(
    ("speed", "delay", "to_stop", "top_speed", "lag"),
    [(1.5, 0.2, 0.4, 1.5, 0.15), (0.7, 0.8, 1.2, 2.0, 0.4), (1.0, 0.0, 0.5, 1.0, 0.05)],
)
def test_the_distance_is_that_of_a_simulation(speed, delay, to_stop, top_speed, lag):
    """A first-order drive behind a ramp, integrated independently, rolls as far to 1e-9 m."""
    formula = stopping_distance(speed, delay=delay, to_stop=to_stop, top_speed=top_speed, lag=lag)
    assert formula == pytest.approx(simulated(speed, delay, to_stop, top_speed, lag), abs=1e-9)


def test_the_contract_s_formula():
    """By hand: 1 m/s (0.2 + 0.1 + 0.5 x 0.4/2) s."""
    got = stopping_distance(1.0, delay=0.2, to_stop=0.4, top_speed=2.0, lag=0.1)
    assert got == pytest.approx(0.4)


seconds = st.floats(0.0, 5.0)


@given(st.floats(0.01, 10.0), st.floats(0.1, 10.0), seconds, seconds, seconds)
def test_the_longest_ramp_uses_just_the_room(speed, top, delay, lag, ramp):
    """Distance and longest ramp undo each other."""
    how = {"delay": delay, "top_speed": top, "lag": lag}
    room = stopping_distance(speed, to_stop=ramp, **how)
    back = longest_to_stop(room, speed=speed, **how)
    assert back == pytest.approx(ramp, abs=1e-10 * (1.0 + room * top / speed**2))


def test_no_ramp_helps_where_the_delay_uses_the_room():
    """Negative: delay and lag alone roll farther.  Standing, any ramp will do."""
    assert longest_to_stop(0.5, speed=1.0, delay=0.8, top_speed=1.0) < 0.0
    assert longest_to_stop(0.5, speed=0.0, delay=0.8, top_speed=1.0) == np.inf
    assert longest_to_stop(0.5, speed=1e-320, delay=0.8, top_speed=1.0) == np.inf


def test_floats_and_arrays():
    """Numbers give floats, arrays of speeds a curve that starts at 0 and rises."""
    assert type(stopping_distance(1, delay=0, to_stop=1, top_speed=1)) is float
    curve = stopping_distance(np.linspace(0, 2, 9), delay=0.1, to_stop=0.4, top_speed=2.0)
    assert curve[0] == 0.0
    assert (np.diff(curve) > 0.0).all()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"speed": -1.0}, "speed is -1 m/s"),
        ({"delay": -0.1}, "delay is -0.1 s"),
        ({"to_stop": np.nan}, "ramp to stop is nan"),
        ({"top_speed": 0.0}, "top speed is 0 m/s"),
        ({"lag": [0.1, np.inf]}, "drive lag is inf at index 1"),
    ],
)
def test_faults_are_named(change, words):
    """Each number out of range is named."""
    with pytest.raises(ValueError, match=words):
        stopping_distance(
            **({"speed": 1.0, "delay": 0.1, "to_stop": 0.4, "top_speed": 2.0} | change)
        )
