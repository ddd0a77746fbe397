"""A command changes no faster than it may, whatever the target and the time step."""

import dataclasses
import math
from fractions import Fraction

import numpy as np
import pytest
from core.reference import GRAIN, slewed
from core.strategies import NO_NUMBERS, NOT_IN_RANGE, positions, slews
from hypothesis import assume, given
from hypothesis import strategies as st

from curvelib import SlewLimit

seconds = st.sampled_from([0.0, 0.01, 0.02, 0.1, 1.0, 65.535]) | st.floats(0.0, 3.0)
traces = st.lists(st.tuples(st.floats(-2.0, 2.0), seconds), min_size=1, max_size=20)


def exact_step(slew, command, target, dt):
    """One sample in exact fractions; ramps too short to be any are none."""
    to_full, to_stop = (0.0 if s <= 1e-9 else s for s in (slew.to_full, slew.to_stop))
    return float(slewed(command, target, dt, to_full, to_stop))


# --- known values ---------------------------------------------------------------------------


def test_a_worked_case_from_a_numerics_library():
    """Rise 1/s, fall 2/s, dt 0.1: 0.1, ..., 1.0 after ten, then 0.8 (read).

    There targets of 10 and -10 are not clipped; here they count as 1 and -1.
    """
    trace = SlewLimit(to_full=1.0, to_stop=0.5).limit([10.0] * 10 + [-10.0], 0.1)
    np.testing.assert_allclose(trace, [*(np.arange(1, 11) / 10), 0.8], rtol=1e-14)


def test_what_is_asked_beyond_full_does_not_wind_up():
    """Asked 3.0 for 20 steps and then 0, it leaves full at once (computed).

    A limiter that ramps first and clips afterwards stays at 1.0 for ten steps.
    """
    trace = SlewLimit(1.0, 1.0).limit([3.0] * 20 + [0.0] * 5, 0.1)
    np.testing.assert_allclose(trace[19:], [1.0, 0.9, 0.8, 0.7, 0.6, 0.5], rtol=1e-14)


def test_a_slow_sine_passes_unchanged():
    """A sine passes where the rate is at least 2 pi f A, and not where it is less (read)."""
    time = np.arange(2000) * 1e-3
    rate = 2.0 * math.pi * 1.0 * 0.5
    sine = 0.5 * np.sin(2.0 * math.pi * time)
    fast, slow = SlewLimit(0.999 / rate, 0.999 / rate), SlewLimit(1.1 / rate, 1.1 / rate)
    np.testing.assert_array_equal(fast.limit(sine, 1e-3), sine)
    assert np.abs(slow.limit(sine, 1e-3) - sine).max() > 0.01


@pytest.mark.parametrize(
    ("command", "target", "dt", "after"),
    [
        # to_full 2 s, to_stop 0.5 s; by hand
        (0.0, 1.0, 0.5, 0.25),
        (0.0, -1.0, 0.5, -0.25),
        (0.5, 0.0, 0.125, 0.25),
        (-0.5, 0.0, 0.125, -0.25),
        (0.5, 0.2, 10.0, 0.2),
        (0.2, 0.5, 10.0, 0.5),
        (0.5, -1.0, 0.25, 0.0),
        (0.5, -1.0, 0.75, -0.25),  # a quarter second to stop, half a second to -0.25
        (-0.25, 1.0, 0.625, 0.25),
        (0.5, -0.1, 10.0, -0.1),
        (0.3, 0.3, 1.0, 0.3),
        (0.3, 0.9, 0.0, 0.3),
    ],
)
def test_single_steps_by_hand(command, target, dt, after):
    """Growing, shrinking, and crossing zero with what is left of the sample."""
    slew = SlewLimit(to_full=2.0, to_stop=0.5)
    assert slew.limit([target], dt, command)[0] == pytest.approx(after, rel=1e-15)


def test_reversal_time_is_stop_and_start():
    """From full one way to full the other takes both ramps, and the trace agrees."""
    slew = SlewLimit(to_full=2.0, to_stop=0.5)
    assert slew.reversal_time == 2.5
    trace = slew.limit(np.full(251, -1.0), 0.01, start=1.0)
    assert trace[248] > -1.0
    assert trace[250] == -1.0
    assert trace[49] == pytest.approx(0.0, abs=1e-12)


# --- against exact fractions ----------------------------------------------------------------


@given(slews(), positions(), st.floats(-2.0, 2.0), seconds)
def test_every_step_agrees_with_exact_fractions(slew, command, target, dt):
    """An independent model in exact fractions gives the same step."""
    ours = slew.limit([target], dt, command)[0]
    assert ours == pytest.approx(exact_step(slew, command, target, dt), abs=1e-13)


@given(slews(), traces, positions())
def test_every_trace_agrees_with_exact_fractions(slew, trace, start):
    """So does a whole trace with irregular time steps, targets beyond full among them."""
    targets, dts = zip(*trace, strict=True)
    command, expected = Fraction(start), []
    for target, dt in trace:
        to_full, to_stop = (0.0 if s <= 1e-9 else s for s in (slew.to_full, slew.to_stop))
        command = slewed(command, target, dt, to_full, to_stop)
        expected.append(float(command))
    np.testing.assert_allclose(slew.limit(targets, dts, start), expected, rtol=0, atol=1e-11)


# --- properties -----------------------------------------------------------------------------


@given(slews(), traces, positions())
def test_whole_traces_and_single_steps_agree_to_the_last_bit(slew, trace, start):
    """`limit` and `limiter` are the same arithmetic."""
    targets, dts = zip(*trace, strict=True)
    limiter = slew.limiter(start=start)
    steps = [limiter.step(target, dt) for target, dt in trace]
    assert slew.limit(targets, dts, start).tolist() == steps
    assert all(type(step) is float for step in steps)


@given(slews(), traces)
def test_a_constant_time_step_may_be_told_once(slew, trace):
    """The limiter's own dt, one dt for a trace and one a sample are the same."""
    targets = [target for target, _ in trace]
    limiter = slew.limiter(dt=0.02)
    steps = [limiter.step(target) for target in targets]
    assert slew.limit(targets, 0.02).tolist() == steps
    assert slew.limit(targets, [0.02] * len(targets)).tolist() == steps


@given(slews(), traces, positions())
def test_the_command_stays_between_where_it_was_and_the_target(slew, trace, start):
    """Never past the target, never away from it, never outside -1..1."""
    targets, dts = map(np.array, zip(*trace, strict=True))
    after = slew.limit(targets, dts, start)
    before = np.concatenate([[start], after[:-1]])
    goal = np.clip(targets, -1.0, 1.0)
    assert (np.minimum(before, goal) <= after).all()
    assert (after <= np.maximum(before, goal)).all()


@given(slews(), positions(), positions(), st.lists(st.floats(0.0, 1.0), min_size=1, max_size=8))
def test_splitting_a_sample_changes_nothing(slew, start, target, parts):
    """One long sample ends where the same time in parts ends, across zero too."""
    assume(slew.to_full == 0.0 or slew.to_full > 1e-3)
    split = slew.limit([target] * len(parts), parts, start)[-1]
    # The grain at 0 may give away its own ramp time once.
    given_away = float(GRAIN) * (1.0 + (slew.to_stop / slew.to_full if slew.to_full else 0.0))
    assert slew.limit([target], sum(parts), start)[0] == pytest.approx(split, abs=2 * given_away)


@given(slews(), st.lists(positions(), min_size=4, max_size=4), traces)
def test_channels_are_independent(slew, starts, trace):
    """Further axes are traces of their own, each with its own start."""
    dts = [dt for _, dt in trace]
    targets = np.array([[t, -t, 0.5 * t, 0.0] for t, _ in trace]).reshape(-1, 2, 2)
    start = np.array(starts).reshape(2, 2)
    together = slew.limit(targets, dts, start)
    assert together.shape == targets.shape
    for i in (0, 1):
        for j in (0, 1):
            alone = slew.limit(targets[:, i, j], dts, start[i, j])
            np.testing.assert_array_equal(together[:, i, j], alone)


@given(slews(), traces)
def test_a_limiter_takes_channels_too(slew, trace):
    """Stepping two channels at once gives what the array gives, in arrays of their own."""
    limiter = slew.limiter(start=[0.1, -0.2])
    steps = [limiter.step([target, -target], dt) for target, dt in trace]
    steps[0] += 0.0
    targets = [[target, -target] for target, _ in trace]
    whole = slew.limit(targets, [dt for _, dt in trace], [0.1, -0.2])
    np.testing.assert_array_equal(np.array(steps), whole)


def test_a_step_that_was_handed_out_is_the_callers_own():
    """Changing a result does not move the limiter."""
    limiter = SlewLimit(1.0, 1.0).limiter(start=[0.0, 0.0])
    limiter.step([1.0, 1.0], 0.1)[:] = 9.0
    np.testing.assert_allclose(limiter.step([1.0, 1.0], 0.1), [0.2, 0.2])


def test_it_begins_from_the_start_and_never_jumps_to_the_first_target():
    """Without a start it begins from 0."""
    assert SlewLimit(1.0, 1.0).limit([1.0, 1.0], 0.25).tolist() == [0.25, 0.5]
    assert SlewLimit(1.0, 1.0).limit([1.0], 0.25, start=-0.5).tolist() == [-0.25]


def test_no_ramp_means_no_limit():
    """0 s lets the command jump, in the one direction or in both, at dt 0 too."""
    assert SlewLimit().limit([1.0, -1.0, 0.3], 0.0).tolist() == [1.0, -1.0, 0.3]
    assert SlewLimit(to_full=0.0, to_stop=1.0).limit([1.0, 0.0], 0.25).tolist() == [1.0, 0.75]
    assert SlewLimit(to_full=1.0, to_stop=0.0).limit([1.0], 0.25, -1.0).tolist() == [0.25]


def test_rounding_does_not_decide_a_jump():
    """Ten tenths of a second take 1 to 0, though doubles leave 1.4e-16; 1e-6 is no rounding."""
    slew = SlewLimit(to_full=0.0, to_stop=1.0)
    trace = slew.limit([-1.0] * 10, 0.1, 1.0)
    assert trace[8] - 0.1 > 0.0
    np.testing.assert_allclose(trace[7:], [0.2, 0.1, -1.0])
    assert slew.limit([-1.0], 0.0, 1e-6)[0] == 1e-6


def test_the_shortest_ramps_do_not_overflow():
    """A ramp of 5e-324 s is no ramp, and no division by it overflows."""
    assert SlewLimit(5e-324, 5e-324).limit([1.0, -1.0], [65.535, 0.0]).tolist() == [1.0, -1.0]


def test_a_trace_may_be_empty():
    """No samples in, no samples out, with the channels kept."""
    assert SlewLimit().limit([], 0.1).shape == (0,)
    assert SlewLimit().limit(np.zeros((0, 2)), 0.1).shape == (0, 2)


def test_the_targets_are_not_touched():
    """The caller's arrays stay as they were."""
    target, dt = np.array([3.0, -3.0]), np.array([0.1, 0.2])
    SlewLimit(1.0, 1.0).limit(target, dt)
    assert (target.tolist(), dt.tolist()) == ([3.0, -3.0], [0.1, 0.2])


# --- both sides together --------------------------------------------------------------------


def together(slew, targets, dt, start):
    """Trace of two sides moved by one common share."""
    targets = np.asarray(targets, dtype=float)
    steps = np.broadcast_to(float(dt), len(targets))
    return slew.trace(np.asarray(start, dtype=float), targets, steps, together=True)


@given(slews(), positions(), positions(), st.floats(0.001, 0.5))
def test_a_stop_keeps_the_turning_radius(slew, left, right, dt):
    """While both sides come to 0 together their ratio stays what it was."""
    trace = together(slew, np.zeros((20, 2)), dt, (left, right))
    np.testing.assert_allclose(trace[:, 0] * right, trace[:, 1] * left, rtol=0, atol=1.1e-8)


@given(slews(), *[positions()] * 4, seconds)
def test_no_side_moves_farther_than_alone(slew, left, right, to_left, to_right, dt):
    """Each step stays between standing still and what `SlewLimit` alone would do for that side."""
    before = np.array([left, right])
    after = together(slew, [[to_left, to_right]], dt, before)[0]
    alone = slew.limit([[to_left, to_right]], dt, before)[0]
    assert (np.abs(after - before) <= np.abs(alone - before) + 1.1e-8).all()
    assert ((after - before) * (alone - before) >= 0.0).all()


@given(slews(), *[positions()] * 4, seconds)
def test_both_sides_move_by_the_share_of_the_slower(slew, left, right, to_left, to_right, dt):
    """Both move k r, with k = min(d / r) over the sides that have r left (in exact fractions)."""
    before, goal = (left, right), (to_left, to_right)
    after = together(slew, [goal], dt, before)[0]
    remains = [Fraction(g) - Fraction(b) for g, b in zip(goal, before, strict=True)]
    to_full, to_stop = (0.0 if s <= 1e-9 else s for s in (slew.to_full, slew.to_stop))
    alone = [slewed(b, g, dt, to_full, to_stop) for b, g in zip(before, goal, strict=True)]
    shares = [
        (a - Fraction(b)) / r
        for a, b, r in zip(alone, before, remains, strict=True)
        if abs(r) > GRAIN
    ]
    k = min(shares, default=Fraction(1))
    expected = [float(Fraction(b) + k * r) for b, r in zip(before, remains, strict=True)]
    np.testing.assert_allclose(after, expected, rtol=0, atol=1e-13)


def test_steering_waits_for_throttle_when_both_move_together():
    """The price by hand: a side with 0.1 to go takes as long as one with 1.0 to go."""
    trace = together(SlewLimit(1.0, 1.0), [[1.0, 0.1]] * 4, 0.25, (0.0, 0.0))
    np.testing.assert_allclose(trace[:, 0], [0.25, 0.5, 0.75, 1.0])
    np.testing.assert_allclose(trace[:, 1], [0.025, 0.05, 0.075, 0.1])


# --- refusals -------------------------------------------------------------------------------


@pytest.mark.parametrize("bad", [*NO_NUMBERS, *NOT_IN_RANGE, -0.1, 10.1], ids=lambda v: f"{v!r:.9}")
@pytest.mark.parametrize("name", ["to_full", "to_stop"])
def test_absurd_ramps_are_refused(name, bad):
    """From 0 to 10 seconds."""
    with pytest.raises(ValueError, match=f"SlewLimit: {name} = .*; give a number from 0 to 10 s"):
        SlewLimit(**{name: bad})


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_targets_and_starts_must_be_finite(bad):
    """The first bad index is named, in a trace and in a step."""
    slew = SlewLimit(1.0, 1.0)
    with pytest.raises(ValueError, match=r"target is .* at index 1"):
        slew.limit([0.0, bad], 0.1)
    with pytest.raises(ValueError, match="start command is"):
        slew.limit([0.0], 0.1, bad)
    with pytest.raises(ValueError, match="target is"):
        slew.limiter(0.1).step(bad)


@pytest.mark.parametrize("bad", [-0.1, -5e-324, math.nan, math.inf, "0.1", None])
def test_time_runs_forward(bad):
    """A time step that is negative, no number or infinite is refused everywhere."""
    slew = SlewLimit(1.0, 1.0)
    for call in (
        lambda: slew.limit([1.0], bad),
        lambda: slew.limit([1.0, 1.0], [0.1, bad]),
        lambda: slew.limiter(0.1).step(1.0, bad) if bad is not None else slew.limiter().step(1.0),
    ):
        with pytest.raises(ValueError, match=r"time step|negative"):
            call()


def test_there_is_one_time_step_a_sample():
    """Another number of time steps is refused."""
    with pytest.raises(ValueError, match=r"dt has shape \(2,\) for 3 samples"):
        SlewLimit().limit([0.0, 0.0, 0.0], [0.1, 0.1])


def test_slew_limits_are_equal_by_value_and_cannot_be_changed():
    """Two limits with the same times are the same."""
    assert SlewLimit(1, 2) == SlewLimit(1.0, 2.0) != SlewLimit(2.0, 1.0)
    assert hash(SlewLimit(1, 2)) == hash(SlewLimit(1.0, 2.0))
    with pytest.raises(dataclasses.FrozenInstanceError):
        SlewLimit().to_full = 1.0
