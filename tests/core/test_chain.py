"""The whole path is its parts in order, and running it over time obeys the three rules."""

import dataclasses
import math
from itertools import pairwise

import numpy as np
import pytest
from core.reference import driven, obeyed, sent
from core.strategies import Trace, chains, chains_and_traces, positions
from hypothesis import given
from hypothesis import strategies as st

from curvelib import (
    Chain,
    CubicBlend,
    Deadband,
    Independent,
    Limit,
    Points,
    Shape,
    SlewLimit,
    TankMix,
    Tune,
)
from curvelib.output import Output
from curvelib.sides import Sides
from curvelib.stick import Stick, StickSetup
from curvelib.tune import ChannelSetup, Machine, SignalLoss, SlewSetup

# An invented machine: no ramps, drives after half a second at rest, deaf after 0.8 s.
PLAIN = Tune(slew=SlewSetup(0.0, 0.0))
RESTED = (1500.0, 1500.0, 0.5)


def chain_of(**parts):
    """Path of the invented machine with some sections replaced."""
    return Chain.from_tune(dataclasses.replace(PLAIN, **parts))


def after_rest(chain, first, second, dt=0.02):
    """Step that follows when two sticks are moved after a good rest."""
    live = chain.live()
    live.step(*RESTED)
    assert live.step(*RESTED).driving
    return live.step(first, second, dt)


# --- steady ---------------------------------------------------------------------------------


@given(chains(), positions(), positions())
def test_steady_is_shape_then_mix(chain, first, second):
    """Held sticks lead to the mix of the two shaped positions."""
    expected = chain.mix(chain.shapes[0](first), chain.shapes[1](second))
    assert chain.steady(first, second) == expected
    assert all(type(side) is float for side in chain.steady(first, second))


def test_steady_by_hand():
    """Dead zone 0.1 and limit 0.5 on throttle, half a steer share, by hand."""
    chain = chain_of(
        throttle=ChannelSetup(shape=Deadband(0.1) >> Limit(0.5)), mix=TankMix(steer_share=0.5)
    )
    assert chain.steady(0.55, 0.2) == pytest.approx((0.35, 0.15))
    left, right = chain.steady(np.array([0.55, 0.1]), np.array([0.2, 0.0]))
    np.testing.assert_allclose([left, right], [[0.35, 0.0], [0.15, 0.0]])


@given(chains(), positions(), positions())
def test_a_run_with_held_sticks_ends_at_steady(chain, first, second):
    """After rest and more than a reversal the commands are those of `steady`."""
    chain = dataclasses.replace(
        chain, sticks=(Stick(1000, 1500, 2000),) * 2, reversed=(False, False), learned_centre=False
    )
    live = chain.live()
    live.step(1500.0, 1500.0, 1.0)
    live.step(1500.0, 1500.0, chain.centred_first_s)
    pulses = 1500.0 + 500.0 * first, 1500.0 + 500.0 * second
    end = live.feed([pulses[0]] * 6, [pulses[1]] * 6, chain.slew.reversal_time / 2 + 0.01)
    expected = chain.steady(*(s.position(p) for s, p in zip(chain.sticks, pulses, strict=True)))
    assert (end.left[-1], end.right[-1]) == pytest.approx(expected, abs=1e-12)


# --- run, live and feed ---------------------------------------------------------------------


@given(chains_and_traces())
def test_a_run_agrees_with_the_rules_told_anew(case):
    """An independent model in plain Python drives the same, sample by sample."""
    chain, trace = case
    run = chain.run(*trace.inputs)
    assert run.driving.tolist() == obeyed(chain, trace)[0]
    commands = np.stack([run.left, run.right], axis=1)
    np.testing.assert_allclose(commands, driven(chain, trace), rtol=0, atol=1e-10)


@given(chains_and_traces())
def test_outputs_are_those_of_the_commands(case):
    """Half-step rule, side map, rounding and swap, worked out anew for every command."""
    chain, trace = case
    run = chain.run(*trace.inputs)
    pairs = [(chain.sides.left, run.left), (chain.sides.right, run.right)]
    outs = [run.left_out, run.right_out]
    if chain.sides.swapped:
        outs.reverse()
    for (side, commands), out in zip(pairs, outs, strict=True):
        for command, units in zip(commands.tolist(), out.tolist(), strict=True):
            expected, sure = sent(chain, side, command)
            assert units == expected or not sure


@given(chains_and_traces(), st.lists(st.integers(0, 60), max_size=4))
def test_run_live_and_feed_agree_to_the_last_bit(case, cuts):
    """All at once, in chunks of any length, and step by step are the same arithmetic."""
    chain, trace = case
    whole = chain.run(*trace.inputs)
    steps = _stepped(chain, trace)
    chunks = _chunked(chain, trace, sorted(min(cut, len(trace)) for cut in cuts))
    for name in ("left", "right", "left_out", "right_out", "driving"):
        values = getattr(whole, name).tolist()
        assert [getattr(step, name) for step in steps] == values
        assert [value for chunk in chunks for value in getattr(chunk, name).tolist()] == values


def _stepped(chain, trace):
    live = chain.live()
    return [live.step(*sample) for sample in zip(*trace.inputs, strict=True)]


def _chunked(chain, trace, cuts):
    live = chain.live()
    edges = [0, *cuts, len(trace)]
    return [
        live.feed(*(column[begin:end] for column in trace.inputs)) for begin, end in pairwise(edges)
    ]


def test_results_have_plain_types():
    """Arrays of float64, whole numbers and bool; a step gives Python's own."""
    run = chain_of().run([1500.0] * 3, [1500.0] * 3, 0.02)
    kinds = [getattr(run, name).dtype.kind for name in ("left", "left_out", "driving")]
    assert kinds == ["f", "i", "b"]
    assert run.right.shape == run.right_out.shape == (3,)
    step = chain_of().live().step(1500, 1500, 0.02)
    assert [type(v) for v in dataclasses.astuple(step)] == [float, float, int, int, bool]


def test_one_time_step_and_one_age_serve_a_whole_trace():
    """A number stands for the same number at each sample; single pulses are a trace of one."""
    pulses = [1500.0] * 30 + [1800.0] * 10
    one = chain_of().run(pulses, pulses, 0.05, 0.01)
    many = chain_of().run(pulses, pulses, [0.05] * 40, [0.01] * 40)
    assert one.left.tolist() == many.left.tolist()
    assert one.left[-1] != 0.0
    assert chain_of().run(1500.0, 1500.0, 0.05).left.shape == (1,)


def test_an_empty_trace_changes_nothing():
    """No samples in, no samples out, and the next ones go on from where it was."""
    live = chain_of().live()
    live.step(*RESTED)
    assert live.feed([], [], 0.5).left.shape == (0,)
    assert live.step(*RESTED).driving


@pytest.mark.parametrize("acts_on", ["motors", "sticks", "together"])
def test_a_result_is_the_callers_own(acts_on):
    """Changing the arrays of a run does not move the machine."""
    chain = chain_of(slew=SlewSetup(1.0, 1.0, acts_on))
    first, second = chain.live(), chain.live()
    pulses = [1500.0] * 2 + [1600.0], [1500.0] * 3
    for live in (first, second):
        run = live.feed(*pulses, 0.5)
        if live is first:
            run.left[:] = run.right[:] = 1.0
            run.driving[:] = True
    assert first.step(1600.0, 1500.0, 0.01) == second.step(1600.0, 1500.0, 0.01)


def test_pulses_are_not_touched():
    """The caller's arrays stay as they were, NaN among them."""
    pulses = np.array([1500.0, math.nan, 3000.0])
    before = pulses.copy()
    chain_of().run(pulses, pulses, 0.02)
    np.testing.assert_array_equal(pulses, before)


# --- rule 1: rest before driving ------------------------------------------------------------


@pytest.mark.parametrize("samples", [1, 5, 25, 26, 27])
def test_sticks_rest_before_they_drive(samples):
    """At 20 ms a sample, half a second takes 26 samples, the first of which begins it (by hand)."""
    run = chain_of().run([1500.0] * samples + [1750.0], [1500.0] * (samples + 1), 0.02)
    drives = samples >= 26
    assert bool(run.driving[-1]) is drives
    assert run.left[-1] == (0.5 if drives else 0.0)


def test_a_stick_held_at_power_up_starts_nothing():
    """However long it is held, nothing moves until it has rested."""
    run = chain_of().run([2000.0] * 500 + [1500.0] * 26 + [2000.0], [1500.0] * 527, 0.02)
    assert (run.left[:526] == 0.0).all()
    assert run.left[-1] == 1.0


def test_both_sticks_must_rest():
    """One stick away from its centre is enough to wait, and to begin counting anew."""
    live = chain_of().live()
    assert not live.feed([1500.0] * 100, [1600.0] * 100, 0.02).driving.any()
    assert not live.feed([1500.0] * 20, [1500.0] * 20, 0.02).driving.any()
    assert not live.step(1600.0, 1500.0, 0.02).driving
    assert live.feed([1500.0] * 26, [1500.0] * 26, 0.02).driving.tolist() == [False] * 25 + [True]


@pytest.mark.parametrize(
    ("shape", "inside", "outside"),
    [
        (Shape(), 1515.0, 1516.0),  # 3 % where there is no dead zone
        (Deadband(0.1) >> CubicBlend(0.6), 1550.0, 1551.0),
        (Deadband(0.01) >> Limit(0.5), 1505.0, 1506.0),
        (Shape([Points([0.2], [0.0])]), 1600.0, 1601.0),
    ],
)
def test_the_centre_is_the_dead_zone_or_three_percent(shape, inside, outside):
    """A stick rests inside its dead zone, edge included, on either side (by hand)."""
    chain = chain_of(throttle=ChannelSetup(shape=shape))
    for pulse, rests in ((inside, True), (outside, False)):
        for width in (pulse, 3000.0 - pulse):
            assert bool(chain.run([width] * 2, [1500.0] * 2, 0.5).driving[-1]) is rests


def test_no_rest_asked_for_still_takes_one_look_at_the_centre():
    """With 0 s a stick held from the start waits, one at its centre drives at once."""
    chain = chain_of(signal_loss=SignalLoss(0.8, 0.0))
    run = chain.run([1800.0, 1800.0, 1500.0, 1800.0], [1500.0] * 4, 0.02)
    assert run.driving.tolist() == [False, False, True, True]
    assert run.left.tolist() == pytest.approx([0.0, 0.0, 0.0, 0.6])


def test_a_restart_asks_for_rest_again():
    """After a restart in mid drive the held stick is not obeyed; commands begin at 0."""
    chain = chain_of()
    live = chain.live()
    live.feed([1500.0] * 2 + [1800.0], [1500.0] * 3, 0.5)
    live.restart()
    assert not live.feed([1800.0] * 100, [1500.0] * 100, 0.02).left.any()
    assert live.feed([1500.0] * 2 + [1800.0], [1500.0] * 3, 0.5).left[-1] == pytest.approx(0.6)


def test_a_learned_centre_makes_let_go_full_reverse():
    """Why a fixed centre is better: restarted with the stick held, let go reads -1 (by hand)."""
    held, let_go = [2000.0] * 2, [1500.0]
    learned = chain_of(stick=StickSetup(centre="learned"))
    assert learned.run(held + let_go, [1500.0] * 3, 0.5).left[-1] == -1.0
    assert chain_of().run(held + let_go, [1500.0] * 3, 0.5).left[-1] == 0.0


def test_the_centre_is_learned_from_the_first_possible_pulse_and_kept():
    """Impossible pulses teach nothing; later ones do not teach again, a restart does."""
    live = chain_of(stick=StickSetup(centre="learned")).live()
    live.feed([math.nan, 0.0, 1510.0], [1500.0] * 3, 0.02)
    live.feed([1510.0] * 2, [1500.0] * 2, 0.5)
    assert live.step(1760.0, 1500.0, 0.02).left == 0.5
    live.step(math.nan, math.nan, 5.0)
    live.feed([1510.0] * 2, [1500.0] * 2, 0.5)
    assert live.step(1760.0, 1500.0, 0.02).left == 0.5
    live.restart()
    live.feed([1490.0] * 2, [1500.0] * 2, 0.5)
    assert live.step(1740.0, 1500.0, 0.02).left == 0.5


# --- rules 2 and 3: impossible pulses and silence -------------------------------------------


@pytest.mark.parametrize("bad", [math.nan, math.inf, 0.0, -1.0, 749.0, 2251.0, 65535.0])
@pytest.mark.parametrize("channel", [0, 1])
def test_an_impossible_pulse_is_not_a_command(bad, channel):
    """The last good pulse stands on that channel; past the timeout both stop."""
    live = chain_of().live()
    live.feed([1500.0] * 2 + [1750.0], [1500.0] * 2 + [1600.0], 0.5)
    pulses = [1750.0, 1600.0]
    pulses[channel] = bad
    held = live.feed([pulses[0]] * 8, [pulses[1]] * 8, 0.1)
    np.testing.assert_allclose(held.left, 0.7)
    np.testing.assert_allclose(held.right, 0.3)
    assert held.driving.all()
    late = live.step(*pulses, 0.1)
    assert (late.driving, late.left, late.right) == (False, 0.0, 0.0)


def test_the_edges_of_the_possible_range_are_commands():
    """A pulse a quarter of the travel beyond full counts as full."""
    assert after_rest(chain_of(), 2250.0, 1500.0).left == 1.0
    assert after_rest(chain_of(), 750.0, 1500.0).left == -1.0


@pytest.mark.parametrize(
    ("age", "drives"), [(0.0, True), (0.8, True), (0.801, False), (9.0, False)]
)
def test_the_timeout_is_strict(age, drives):
    """A pulse exactly as old as the timeout still counts (by hand)."""
    live = chain_of().live()
    live.feed([1500.0] * 2, [1500.0] * 2, 0.5)
    step = live.step(1750.0, 1500.0, 0.02, age)
    assert (step.driving, step.left) == (drives, 0.5 if drives else 0.0)


def test_the_age_of_the_last_good_pulse_runs_on():
    """Age told with a good pulse is where the age of silence begins (by hand)."""
    live = chain_of().live()
    live.feed([1500.0] * 2, [1500.0] * 2, 0.5)
    live.step(1750.0, 1500.0, 0.02, 0.5)
    silent = live.feed([math.nan] * 4, [1500.0] * 4, 0.1)
    assert silent.driving.tolist() == [True, True, True, False]


def test_an_age_told_with_an_impossible_pulse_never_makes_it_younger():
    """The receiver's own age counts where it is the larger one (by hand)."""
    live = chain_of().live()
    live.feed([1500.0] * 2, [1500.0] * 2, 0.5)
    assert live.step(math.nan, 1500.0, 0.5, 0.0).driving
    assert not live.step(math.nan, 1500.0, 0.4, 0.0).driving
    live.feed([1500.0] * 2, [1500.0] * 2, 0.5)
    assert not live.step(math.nan, 1500.0, 0.02, 0.9).driving


def test_after_silence_the_sticks_must_rest_again():
    """A held stick is not taken up when the signal comes back."""
    live = chain_of().live()
    live.feed([1500.0] * 2 + [1750.0], [1500.0] * 3, 0.5)
    live.step(1750.0, 1500.0, 0.02, 2.0)
    assert not live.feed([1750.0] * 50, [1500.0] * 50, 0.02).left.any()
    assert live.feed([1500.0] * 2 + [1750.0], [1500.0] * 3, 0.5).left[-1] == 0.5


@pytest.mark.parametrize("before", [10, 60])
def test_rest_from_before_the_silence_does_not_count(before):
    """Whether it was driving or on its way there, the rest begins anew afterwards (by hand)."""
    live = chain_of().live()
    live.feed([1500.0] * before, [1500.0] * before, 0.02)
    live.step(math.nan, math.nan, 1.0)
    again = live.feed([1500.0] * 27, [1500.0] * 27, 0.02)
    assert again.driving.tolist() == [False] * 25 + [True] * 2


def test_a_receiver_that_never_heard_anything_drives_nothing():
    """An infinite age is silence from the start."""
    run = chain_of().run([1500.0] * 50, [1500.0] * 50, 0.1, math.inf)
    assert not run.driving.any()


@pytest.mark.parametrize("acts_on", ["motors", "sticks", "together"])
def test_silence_stops_along_the_ramp(acts_on):
    """Both targets become 0 and the slew limit brings the commands there, no faster (by hand)."""
    chain = chain_of(slew=SlewSetup(0.0, 1.0, acts_on))
    live = chain.live()
    live.feed([1500.0] * 2 + [2000.0], [1500.0] * 3, 0.5)
    late = live.feed([math.nan] * 12, [math.nan] * 12, 0.1)
    np.testing.assert_allclose(late.left[:8], 1.0)
    np.testing.assert_allclose(late.left[8:], [0.9, 0.8, 0.7, 0.6])


def test_rest_is_not_counted_through_impossible_pulses():
    """An impossible pulse on the way begins the count anew, though the timeout is not reached."""
    first = [1500.0] * 20 + [math.nan] + [1500.0] * 20
    assert not chain_of().run(first, [1500.0] * 41, 0.02).driving.any()


# --- where the slew limit acts --------------------------------------------------------------


def test_on_motors_on_sticks_and_together():
    """Full throttle and a touch of steer from 0, 0.1 s into a ramp of 1 s (by hand)."""
    found = {}
    for acts_on in ("motors", "sticks", "together"):
        chain = chain_of(slew=SlewSetup(1.0, 1.0, acts_on), mix=TankMix(overflow="clip"))
        step = after_rest(chain, 1900.0, 1550.0, 0.1)
        found[acts_on] = (step.left, step.right)
    assert found["motors"] == pytest.approx((0.1, 0.1))  # towards 0.9 and 0.7
    assert found["sticks"] == pytest.approx((0.2, 0.0))  # sticks at 0.1 and 0.1
    assert found["together"] == pytest.approx((0.1, 0.7 / 9.0))  # a ninth of the way each


def test_a_stop_together_keeps_the_turning_radius():
    """Sticks let go in a curve: left : right stays as it was until both are 0."""
    chain = chain_of(slew=SlewSetup(0.0, 1.0, "together"))
    live = chain.live()
    live.feed([1500.0] * 2 + [1800.0], [1500.0] * 2 + [1600.0], 0.5)
    stop = live.feed([1500.0] * 100, [1500.0] * 100, 0.01)
    np.testing.assert_allclose(stop.left * 0.4, stop.right * 0.8, atol=1e-14)
    assert stop.left[-1] == stop.right[-1] == 0.0


# --- directions, sides and outputs ----------------------------------------------------------


@pytest.mark.parametrize("channel", ["throttle", "steer"])
def test_a_reversed_stick_flips_the_position(channel):
    """The mirrored pulse on a reversed stick does what the plain one does."""
    chain = chain_of(**{channel: ChannelSetup(reversed=True)})
    first, second = (1350.0, 1600.0) if channel == "throttle" else (1650.0, 1400.0)
    assert after_rest(chain, first, second) == after_rest(chain_of(), 1650.0, 1600.0)


def test_steady_takes_positions_after_the_flip():
    """`steady` speaks of forward and right, whichever way the pulses run."""
    chain = chain_of(throttle=ChannelSetup(reversed=True))
    assert chain.steady(1.0, 0.0) == (1.0, 1.0)


def test_swapped_sides_change_outputs_and_not_commands():
    """The left motor's units leave at the right output, its map with it (by hand)."""
    sides = Sides(left_start=0.2, swapped=True)
    step = after_rest(chain_of(sides=sides), 1500.0, 1750.0)
    assert (step.left, step.right) == (0.5, -0.5)
    assert (step.left_out, step.right_out) == (1250, 1800)


def test_a_reversed_motor_gets_the_opposite_output():
    """Only the output turns round, and only of that motor."""
    step = after_rest(chain_of(sides=Sides(right_reversed=True)), 1750.0, 1500.0)
    assert (step.left, step.right) == (0.5, 0.5)
    assert (step.left_out, step.right_out) == (1750, 1250)


def test_less_than_half_an_output_step_starts_no_motor():
    """A start of 0.2 is not added to a command that is no output step (by hand)."""
    chain = chain_of(
        sides=Sides(left_start=0.2, right_start=0.2), output=Output("signed", full=100)
    )
    assert after_rest(chain, 1502.4, 1500.0).left_out == 0  # 0.0048
    assert after_rest(chain, 1502.6, 1500.0).left_out == 20  # 0.0052 -> 0.20416
    assert after_rest(chain, 1497.4, 1500.0).right_out == -20


def test_a_reversed_motor_counts_half_steps_on_the_side_it_is_sent_to():
    """With 400 us below the centre and 600 above, 0.001 is a step on the wide side only."""
    output = Output("pulse", 1100, 1500, 2100)
    plain, turned = (chain_of(output=output, sides=Sides(left_reversed=r)) for r in (False, True))
    assert plain.coded(0.001, 0.0)[0] == 1501
    assert turned.coded(0.001, 0.0)[0] == 1500
    assert turned.coded(-0.001, 0.0)[0] == 1501


@pytest.mark.parametrize(
    ("output", "units"),
    [
        (Output("pulse", 1000, 1500, 2000), (1750, 1250)),
        (Output("signed", full=127), (64, -64)),
        (Output("percent"), (5000, -5000)),
    ],
)
def test_three_kinds_of_output(output, units):
    """Half right on the spot, in each code (by hand)."""
    step = after_rest(chain_of(output=output), 1500.0, 1750.0)
    assert (step.left_out, step.right_out) == units


def test_codes_of_whole_arrays():
    """`coded` takes numbers and arrays."""
    left, right = chain_of().coded(np.array([0.0, 0.5]), np.array([-0.5, 1.0]))
    assert (left.tolist(), right.tolist()) == ([1500, 1750], [1250, 2000])
    assert chain_of().coded(0.5, -0.5) == (1750, 1250)


def test_wheels_get_what_was_wanted_but_for_output_steps():
    """Through start, top and direction a wheel gets the wanted share to half an output step."""
    sides = Sides(left_start=0.2, left_top=0.9, left_reversed=True)
    chain = chain_of(sides=sides)
    wanted = np.linspace(-1.0, 1.0, 201)
    share = chain.wheel_share(chain.sides.left, wanted)
    np.testing.assert_allclose(share, wanted, atol=0.5 / 500 / 0.7 + 1e-12)


# --- from a machine file --------------------------------------------------------------------


def test_the_path_is_that_of_the_machine_file():
    """Every section of the file finds its place in the path."""
    tune = Tune(
        machine=Machine(top_speed_m_s=1.4),
        stick=StickSetup(990.0, 1500.0, 2010.0, 1024, "learned"),
        throttle=ChannelSetup(True, shape=Shape([CubicBlend(0.6)])),
        steer=ChannelSetup(False, 1100.0, 1480.0, 1900.0, Shape([Limit(0.5)])),
        mix=TankMix(0.7, "keep turn"),
        slew=SlewSetup(0.3, 0.2, "together"),
        signal_loss=SignalLoss(0.6, 0.4),
        sides=Sides(left_start=0.1),
        output=Output("percent"),
    )
    chain = Chain.from_tune(tune)
    assert chain.sticks == (Stick(990, 1500, 2010, 1024), Stick(1100, 1480, 1900, 1024))
    assert chain.reversed == (True, False)
    assert (chain.shape("throttle"), chain.shape("steer")) == chain.shapes
    assert chain.shapes == (Shape([CubicBlend(0.6)]), Shape([Limit(0.5)]))
    assert (chain.mix, chain.steer_share) == (TankMix(0.7, "keep turn"), 0.7)
    assert (chain.slew, chain.acts_on) == (SlewLimit(0.3, 0.2), "together")
    assert (chain.timeout_s, chain.centred_first_s) == (0.6, 0.4)
    assert (chain.sides, chain.output) == (Sides(left_start=0.1), Output("percent"))
    assert (chain.learned_centre, chain.top_speed) == (True, 1.4)


def test_independent_sticks_both_take_the_throttles_shape():
    """The right stick has no feel of its own; its direction and pulses stay its own."""
    chain = chain_of(
        mix=Independent(),
        throttle=ChannelSetup(shape=Shape([CubicBlend(0.6)])),
        steer=ChannelSetup(reversed=True, shape=Shape([Limit(0.5)])),
    )
    assert chain.shapes == (Shape([CubicBlend(0.6)]),) * 2
    assert chain.steer_share == 1.0
    step = after_rest(chain, 1750.0, 1250.0)
    assert (step.left, step.right) == (CubicBlend(0.6)(0.5), CubicBlend(0.6)(0.5))


def test_paths_are_equal_by_value():
    """Two paths from the same file are the same."""
    assert chain_of() == chain_of() != chain_of(mix=Independent())
    assert hash(chain_of()) == hash(chain_of())


# --- refusals -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("args", "fault"),
    [
        (([1500.0], [1500.0, 1500.0], 0.02), r"first_us has shape \(1,\) and second_us \(2,\)"),
        (([[1500.0]], [[1500.0]], 0.02), "two traces of one length"),
        (([1500.0] * 2, [1500.0] * 2, [0.02] * 3), r"dt has shape \(3,\) for 2 samples"),
        (([1500.0], [1500.0], -0.02), "negative"),
        (([1500.0], [1500.0], math.nan), "time step dt is nan"),
        (([1500.0], [1500.0], math.inf), "time step dt is inf"),
        (([1500.0], [1500.0], 0.02, -0.1), "negative age"),
        (([1500.0], [1500.0], 0.02, math.nan), "negative age or NaN"),
        (([1500.0] * 2, [1500.0] * 2, 0.02, [0.0] * 3), r"age_s has shape \(3,\) for 2 samples"),
    ],
)
def test_traces_that_make_no_sense_are_refused(args, fault):
    """Lengths, time steps and ages are checked before anything moves."""
    live = chain_of().live()
    live.feed([1500.0], [1500.0], 0.5)
    with pytest.raises(ValueError, match=fault):
        live.feed(*args)
    assert live.step(*RESTED).driving, "the refused samples left no trace"


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_steady_refuses_what_is_no_position(bad):
    """NaN and infinity, on either stick."""
    with pytest.raises(ValueError, match="must be a finite number"):
        chain_of().steady(bad, 0.0)
    with pytest.raises(ValueError, match="at index 1"):
        chain_of().steady([0.0, 0.0], [0.0, bad])


def test_the_trace_of_the_tests_is_what_it_says():
    """The strategies' own record turns into the arguments of a run."""
    trace = Trace()
    trace.add(1500.0, 1600.0, 20_000, times=2)
    trace.add(math.nan, 1600.0, 0, -1)
    first, second, dt, age = trace.inputs
    assert (len(trace), second, dt) == (3, [1600.0] * 3, [0.02, 0.02, 0.0])
    assert first[:2] == [1500.0] * 2
    assert age == [0.0, 0.0, math.inf]


def test_a_pulse_that_only_grows_older_is_no_rest() -> None:
    """One centre pulse, ageing, never lets the machine drive, however long within the timeout."""
    chain = Chain.from_tune(Tune(signal_loss=SignalLoss(timeout_s=2.0, centred_first_s=0.5)))
    ages = np.arange(0.0, 1.9, 0.1)
    stale = chain.run(np.full(19, 1500.0), np.full(19, 1500.0), 0.1, ages)
    assert not stale.driving.any()
    fresh = chain.run(np.full(19, 1500.0), np.full(19, 1500.0), 0.1, 0.03)
    assert fresh.driving.tolist() == [False] * 5 + [True] * 14
