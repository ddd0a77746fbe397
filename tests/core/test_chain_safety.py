"""Whatever a receiver hands over, nobody is driven over.

Arbitrary paths get arbitrary pulses, ages and time steps: none of them finds a
command from sticks that have not rested, one too large or too fast, or one
that outlives the signal.
"""

import dataclasses
import math

import numpy as np
import pytest
from core.reference import farthest_commands, obeyed, slewed
from core.strategies import NO_PULSES, chains, chains_and_traces, positions, pulse_at
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from curvelib import Chain, Limit, Shape, TankMix, Tune

more_examples = settings(max_examples=2 * settings.default.max_examples)


def at_zero(chain, run):
    """Say, sample by sample, whether both outputs tell their motors to stand."""
    return (run.left_out == chain.output.zero) & (run.right_out == chain.output.zero)


@more_examples
@given(chains_and_traces())
def test_nothing_moves_before_the_sticks_have_rested(case):
    """From power-up to the first good rest both commands are exactly 0 and both outputs stand."""
    chain, trace = case
    run = chain.run(*trace.inputs)
    allowed, _ = obeyed(chain, trace)
    before = slice(0, allowed.index(True) if True in allowed else len(trace))
    assert not run.left[before].any()
    assert not run.right[before].any()
    assert at_zero(chain, run)[before].all()
    assert not (run.driving & ~np.array(allowed)).any()


@more_examples
@given(chains_and_traces())
def test_commands_only_shrink_while_the_sticks_may_not_be_obeyed(case):
    """After a loss of signal, until the next good rest, no side gets faster or turns round."""
    chain, trace = case
    assume(chain.acts_on != "sticks")  # there a side may grow while the sticks come to rest
    run = chain.run(*trace.inputs)
    allowed, _ = obeyed(chain, trace)
    for command in (run.left, run.right):
        before = np.concatenate([[0.0], command[:-1]])
        waits = ~np.array(allowed)
        assert (np.abs(command[waits]) <= np.abs(before[waits]) + 1e-15).all()
        assert (command[waits] * before[waits] >= 0.0).all()


@more_examples
@given(chains_and_traces())
def test_no_command_is_larger_than_held_sticks_can_give(case):
    """Never above full, never above what limits and shares leave, whatever the receiver says."""
    chain, trace = case
    run = chain.run(*trace.inputs)
    for command, most in zip((run.left, run.right), farthest_commands(chain), strict=True):
        assert np.abs(command).max() <= most + 1e-12
        assert np.abs(command).max() <= 1.0


@more_examples
@given(chains_and_traces())
def test_no_output_leaves_its_range(case):
    """What is sent to the motors is always a number that they can be sent."""
    chain, trace = case
    run = chain.run(*trace.inputs)
    below, above = chain.output.spans
    for out in (run.left_out, run.right_out):
        assert (out >= chain.output.zero - below).all()
        assert (out <= chain.output.zero + above).all()


@more_examples
@given(chains_and_traces())
def test_no_command_changes_faster_than_the_slew_limit_allows(case):
    """On motors and together, every step lies within what the ramps can reach (exact fractions)."""
    chain, trace = case
    assume(chain.acts_on != "sticks")
    run = chain.run(*trace.inputs)
    ramps = [0.0 if s <= 1e-9 else s for s in (chain.slew.to_full, chain.slew.to_stop)]
    for command in (run.left, run.right):
        before = 0.0
        for after, dt in zip(command.tolist(), trace.dt_us, strict=True):
            lowest, highest = (float(slewed(before, end, dt / 1e6, *ramps)) for end in (-1, 1))
            assert lowest - 1.1e-8 <= after <= highest + 1.1e-8
            before = after


@st.composite
def silences(draw, chain):
    """Ways for a signal to end: no pulse, an impossible one on one channel, or a stale good one."""
    held = [pulse_at(stick, draw(positions())) for stick in chain.sticks]
    way = draw(st.sampled_from(["both", "first", "second", "stale"]))
    if way in ("both", "first"):
        held[0] = draw(st.sampled_from(NO_PULSES).filter(lambda p: not chain.sticks[0].possible(p)))
    if way in ("both", "second"):
        held[1] = draw(st.sampled_from(NO_PULSES).filter(lambda p: not chain.sticks[1].possible(p)))
    return held, way == "stale"


@more_examples
@given(chains_and_traces(), st.data())
def test_no_command_outlives_timeout_plus_ramp(case, data):
    """However the signal ends, timeout and stop ramp later all is exactly 0 and stays there."""
    chain, trace = case
    (first, second), stale = data.draw(silences(chain))
    step_us = round(1e5 * (chain.timeout_s + chain.slew.to_stop)) + 1
    for k in range(1, 15):
        trace.add(first, second, step_us, k * step_us if stale else 0)
    run = chain.run(*trace.inputs)
    quiet = slice(len(trace) - 3, None)  # from 12 tenths of timeout plus ramp on
    assert not run.left[quiet].any()
    assert not run.right[quiet].any()
    assert at_zero(chain, run)[quiet].all()
    assert not run.driving[quiet].any()


@more_examples
@given(chains_and_traces())
def test_silence_in_the_middle_stops_as_well(case):
    """Wherever the sticks may not be obeyed for longer than the stop ramp, commands are 0."""
    chain, trace = case
    run = chain.run(*trace.inputs)
    waited_us = 0
    for k, may in enumerate(obeyed(chain, trace)[0]):
        waited_us = 0 if may else waited_us + trace.dt_us[k]
        if waited_us > chain.slew.to_stop * 1e6 + 1:
            assert (run.left[k], run.right[k]) == (0.0, 0.0)


@given(chains_and_traces(centres=("fixed",)), positions(), positions(), st.integers(0, 100_000))
def test_with_a_fixed_centre_a_restart_starts_nothing_by_itself(case, first, second, dt_us):
    """Power comes back in mid drive, a stick still held: nothing moves, however long it is held."""
    chain, trace = case
    zones = [shape.starts_at or 0.03 for shape in chain.shapes]
    a, b = chain.sticks
    pulses = pulse_at(a, first), pulse_at(b, second)
    places = abs(a.position(pulses[0])), abs(b.position(pulses[1]))
    assume(any(place > zone for place, zone in zip(places, zones, strict=True)))
    live = chain.live()
    live.feed(*trace.inputs)
    live.restart()
    held = live.feed([pulses[0]] * 50, [pulses[1]] * 50, dt_us / 1e6)
    assert not held.left.any()
    assert not held.right.any()
    assert at_zero(chain, held).all()


@given(chains(), st.integers(0, 200_000))
def test_a_good_rest_does_let_the_sticks_drive(chain, spare_us):
    """The rules above are not kept by never moving: after the rest asked for, sticks are obeyed."""
    a, b = chain.sticks
    # Not a shape that never moves, nor a stick whose end is the level that reads 0.
    assume(chain.shapes[0](1.0) > 0.0)
    assume(a.position(a.high) == 1.0)
    step_s = chain.centred_first_s / 4 + spare_us / 1e6
    live = chain.live()
    assert live.feed([a.centre] * 5, [b.centre] * 5, step_s).driving[-1]
    assert not live.feed([a.centre] * 5, [b.centre] * 5, step_s).left.any()
    moved = live.feed([a.high] * 5, [b.centre] * 5, 0.1 + chain.slew.to_full)
    assert moved.left[-1] != 0.0


@pytest.mark.parametrize("seed", range(2))
def test_a_long_storm_of_noise_drives_nothing(seed):
    """A quarter of an hour of noise never passes for sticks at rest (invented data)."""
    noise = np.random.default_rng(seed)
    count = 9_000
    pulses = noise.uniform(0.0, 3000.0, (2, count))
    pulses[noise.random((2, count)) < 0.2] = math.nan
    chain = Chain.from_tune(Tune())
    run = chain.run(*pulses, 0.1)
    assert not run.left.any()
    assert not run.right.any()


def test_the_bound_of_the_tests_is_reached():
    """The bound that commands are held to is no looser than full sticks need (by hand)."""
    tune = Tune(mix=TankMix(0.5)).with_shape("throttle", Shape([Limit(0.4)]))
    chain = Chain.from_tune(tune)
    assert farthest_commands(chain) == (0.9, 0.9)
    assert chain.steady(1.0, 1.0)[0] == pytest.approx(0.9)
    assert farthest_commands(dataclasses.replace(chain, mix=TankMix(1.0))) == (1.0, 1.0)
