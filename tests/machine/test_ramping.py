"""Commands after a sudden change, against the stepped slew limit and the whole chain."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelib import Chain, Independent, SlewLimit, TankMix, Tune
from curvelib.machine.ramping import RampPath, peak_accelerations, ramp, ramp_together
from curvelib.machine.response import respond
from curvelib.slew import ACTS_ON
from curvelib.tune import SignalLoss, SlewSetup
from curvelib.tune import Tune as MachineFile

one = st.floats(-1.0, 1.0)
ramps = st.floats(0.0, 3.0) | st.just(0.0)
mixes = st.builds(TankMix, st.floats(0.0, 1.0), st.sampled_from(["scale", "clip", "keep turn"]))
paths = st.builds(RampPath, mixes | st.just(Independent()), st.sampled_from(ACTS_ON))


@given(one, one, ramps, ramps, st.lists(st.floats(0.001, 0.5), min_size=1, max_size=12))
def test_the_closed_form_is_what_the_slew_limit_steps_to(start, end, to_full, to_stop, steps):
    """At any irregular times, `SlewLimit` reaches the same command."""
    stepped = SlewLimit(to_full, to_stop).limit(np.full(len(steps), end), steps, start)
    closed = ramp(start, end, np.cumsum(steps), to_full=to_full, to_stop=to_stop)
    np.testing.assert_allclose(closed, stepped, rtol=0, atol=1e-9)


@given(st.tuples(one, one), st.tuples(one, one), ramps, ramps)
def test_together_is_what_the_slew_limit_steps_to(start, end, to_full, to_stop):
    """In short steps, sides that move together reach the same commands."""
    start, end = np.array(start), np.array(end)
    dt = (to_full + to_stop + 0.1) / 500.0
    trace = SlewLimit(to_full, to_stop).trace(
        start, np.broadcast_to(end, (500, 2)), np.full(500, dt), together=True
    )
    time = dt * np.arange(1, 501)
    closed = ramp_together(
        start[:, np.newaxis], end[:, np.newaxis], time, to_full=to_full, to_stop=to_stop
    )
    # Only where a side passes 0 inside a step may the two differ, by no more than a step.
    step = np.abs(np.diff(closed, prepend=start[:, np.newaxis])).max()
    np.testing.assert_allclose(closed, trace.T, rtol=0, atol=1.01 * step + 1e-9)


@given(st.tuples(one, one), st.tuples(one, one), ramps, ramps)
def test_together_stays_on_the_straight_line_and_arrives(start, end, to_full, to_stop):
    """Both sides are the same share of their way at every moment, and end exactly at the goal."""
    time = np.linspace(0.0, 2.0 * max(to_full, to_stop) + 1e-6, 50)
    begin, goal = np.array(start)[:, np.newaxis], np.array(end)[:, np.newaxis]
    both = ramp_together(begin, goal, time, to_full=to_full, to_stop=to_stop)
    np.testing.assert_array_equal(both[:, -1], end)
    way = goal - begin
    gone = both - begin
    np.testing.assert_allclose(gone[0] * way[1], gone[1] * way[0], rtol=0, atol=1e-12)


def test_a_command_arrives_exactly():
    """At the end of its ramp a command is its target, to the last digit."""
    assert ramp(0.7, -0.3, 5.0, to_full=0.3, to_stop=0.9) == -0.3
    assert ramp(0.7, -0.3, 0.63, to_full=0.3, to_stop=0.9) == pytest.approx(0.0, abs=1e-15)
    assert ramp(0.7, 0.7, 0.0, to_full=0.3, to_stop=0.9) == 0.7
    assert ramp(0.7, -0.3, 0.0, to_full=0.0, to_stop=0.0) == -0.3
    assert ramp(0.7, 0.0, 1.0, to_full=0.0, to_stop=1e-320) == 0.0


def chain_for(mix, acts_on, to_full, to_stop):
    """A whole path without shapes that drives after one sample at rest."""
    return Chain.from_tune(
        MachineFile(
            mix=mix,
            slew=SlewSetup(to_full, to_stop, acts_on),
            signal_loss=SignalLoss(timeout_s=1.0, centred_first_s=0.0),
        )
    )


@pytest.mark.parametrize("acts_on", ACTS_ON)
@pytest.mark.parametrize(
    "mix", [TankMix(), TankMix(0.7, "clip"), TankMix(0.8, "keep turn"), Independent()]
)
@pytest.mark.parametrize("after", [(0.0, 0.0), (1.0, 0.0), (-1.0, 0.4), (0.2, -1.0)])
def test_the_path_is_the_whole_chain(mix, acts_on, after):
    """Pulses through `Chain.run` give the commands of the closed form, before and after a snap."""
    dt, to_full, to_stop = 0.002, 0.5, 0.3
    chain = chain_for(mix, acts_on, to_full, to_stop)
    before = (1.0, 0.6)
    held = np.repeat([[0.0, 0.0], before], [1, 1000], axis=0)
    trace = np.concatenate([held, np.broadcast_to(after, (1000, 2))])
    run = chain.run(*(1500.0 + 500.0 * trace).T, dt)
    time = dt * np.arange(1, 1001)
    path = RampPath.from_chain(chain)
    left, right = path(before, after, time, to_full, to_stop)
    tolerance = 2e-2 if acts_on == "together" else 1e-9
    np.testing.assert_allclose(left[:, 0], run.left[1001:], rtol=0, atol=tolerance)
    np.testing.assert_allclose(right[:, 0], run.right[1001:], rtol=0, atol=tolerance)


def test_a_path_takes_mix_place_and_reach_from_a_chain():
    """A shape that ends at 0.6 reaches 0.6."""
    from dataclasses import replace

    from curvelib import Limit, Shape

    tune = replace(
        Tune().with_shape("throttle", Shape([Limit(0.6)])),
        mix=TankMix(0.5, "clip"),
        slew=SlewSetup(0.4, 0.4, "sticks"),
    )
    path = RampPath.from_chain(Chain.from_tune(tune))
    assert path == RampPath(TankMix(0.5, "clip"), "sticks", (0.6, 1.0))


FULL = np.array([[1.0], [0.0]])
REST = np.zeros((2, 1))


@given(paths, st.floats(0.1, 3.0), st.floats(0.05, 3.0), ramps)
def test_without_lag_a_stop_peaks_at_top_speed_over_its_ramp(path, top, to_stop, to_full):
    """The closed form top_speed/to_stop, backward only; straight ahead in tank mixing."""
    straight = np.ones((2, 1)) if isinstance(path.mix, Independent) else FULL
    forward, backward = peak_accelerations(
        path, straight, REST, top_speed=top, to_full=to_full, to_stop=to_stop
    )
    assert backward[0] == pytest.approx(top / to_stop, rel=1e-9)
    assert forward[0] == 0.0


@given(st.floats(0.05, 3.0), st.floats(0.05, 3.0), st.floats(0.02, 1.0))
def test_with_lag_a_start_peaks_at_its_end(to_full, to_stop, lag):
    """Behind a lag the rate 1/T reaches (1 - exp(-T/lag))/T at the end of the ramp (computed)."""
    forward, _ = peak_accelerations(
        RampPath(), REST, FULL, top_speed=1.5, to_full=to_full, to_stop=to_stop, lag=lag
    )
    exact = 1.5 / to_full * -np.expm1(-to_full / lag)
    assert forward[0] == pytest.approx(exact, rel=2e-3)
    assert forward[0] <= exact * (1.0 + 1e-9)


def test_without_a_ramp_the_lag_alone_counts():
    """A jump behind a lag starts at top_speed/lag; without a lag it is infinite."""
    how = {"top_speed": 1.5, "to_full": 0.4, "to_stop": 0.0}
    _, backward = peak_accelerations(RampPath(), FULL, REST, **how, lag=0.5)
    assert backward[0] == pytest.approx(3.0)
    forward, backward = peak_accelerations(RampPath(), FULL, REST, **how)
    assert (forward[0], backward[0]) == (0.0, np.inf)


def test_letting_go_of_the_steer_starts_the_body_at_the_stop_rate():
    """On sticks with overflow "scale", a motor grows twice as fast as a ramp to stop falls.

    right = (1 - s)/(1 + s) with s falling at 1/to_stop: at s = 0 it rises at 2/to_stop, and
    the body, the left side standing at full, at top_speed/to_stop (computed).
    """
    steer, none = np.array([[1.0], [1.0]]), FULL
    how = {"top_speed": 1.5, "to_full": 5.0, "to_stop": 0.3}
    on_sticks = peak_accelerations(RampPath(acts_on="sticks"), steer, none, **how)
    on_motors = peak_accelerations(RampPath(acts_on="motors"), steer, none, **how)
    assert on_sticks[0][0] == pytest.approx(1.5 / 0.3, rel=5e-3)
    assert on_motors[0][0] == pytest.approx(1.5 / 5.0 / 2.0, rel=1e-9)


@given(
    paths,
    st.tuples(one, one),
    st.tuples(one, one),
    st.floats(0.2, 1.0),
    st.floats(0.2, 1.0),
    st.floats(0.0, 0.5),
)
def test_peaks_are_those_of_a_stepped_simulation(path, before, after, to_full, to_stop, lag):
    """Short steps through `respond` see the same peaks, within their mean over a step."""
    peaks = peak_accelerations(
        path, before, after, top_speed=1.0, to_full=to_full, to_stop=to_stop, lag=lag
    )
    time = np.linspace(0.0, 4.0, 4001)
    left, right = path(before, after, time, to_full, to_stop)
    got = respond(
        left[1:, 0],
        right[1:, 0],
        1e-3,
        top_speed=1.0,
        track=1.0,
        lag=lag,
        start=(left[0, 0], right[0, 0]),
    )
    assert peaks[0][0] == pytest.approx(
        max(got.acceleration.max(), 0.0), abs=0.05 / min(to_full, to_stop)
    )
    assert peaks[1][0] == pytest.approx(
        max(-got.acceleration.min(), 0.0), abs=0.05 / min(to_full, to_stop)
    )


@given(paths, st.floats(0.01, 2.0), st.floats(0.01, 2.0), st.floats(0.0, 0.5))
def test_no_mix_asks_more_than_the_shorter_ramp_alone(path, to_full, to_stop, lag):
    """The body never changes speed faster than top_speed over the shorter ramp."""
    corners = np.array([(a, b) for a in (-1, 0, 1) for b in (-1, 0, 1)], dtype=float)
    before, after = np.repeat(corners, 9, axis=0).T, np.tile(corners, (9, 1)).T
    peaks = peak_accelerations(
        path, before, after, top_speed=1.5, to_full=to_full, to_stop=to_stop, lag=lag
    )
    assert max(peaks[0].max(), peaks[1].max()) <= 1.5 / min(to_full, to_stop) * (1.0 + 1e-9)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: RampPath(acts_on="wheels"), "acts_on = 'wheels' is not known"),
        (lambda: RampPath(reach=(1.0, 1.2)), "reach of the sticks is 1.2 at index 1"),
        (lambda: ramp(1.2, 0.0, 0.1, to_full=1.0, to_stop=1.0), "start command is 1.2"),
        (lambda: ramp(1.0, 0.0, 0.1, to_full=-1.0, to_stop=1.0), r"ramp to full is -1 s"),
        (lambda: ramp_together(1.0, 0.0, 0.1, to_full=1.0, to_stop=np.nan), "ramp to stop is nan"),
        (lambda: ramp(1.0, 0.0, -0.1, to_full=1.0, to_stop=1.0), "time is -0.1 s"),
    ],
)
def test_faults_are_named(call, words):
    """Each number out of range is named."""
    with pytest.raises(ValueError, match=words):
        call()
