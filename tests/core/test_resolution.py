"""What the slow end of a stick can do, counted step by step through the whole path."""

import dataclasses
import math
from itertools import pairwise

import numpy as np
import pytest
from core.reference import sent
from core.strategies import NO_NUMBERS, NOT_IN_RANGE, round_stages, shapes, tunes
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from curvelib import (
    Chain,
    CubicBlend,
    Deadband,
    Independent,
    Limit,
    Points,
    Shape,
    TankMix,
    Tune,
    slow_end,
)
from curvelib.output import Output
from curvelib.resolution import SlowEnd
from curvelib.sides import Sides
from curvelib.stick import StickSetup
from curvelib.tune import ChannelSetup, Machine

# An invented machine of 2 m/s with whole microseconds in and out: one of 500 steps is 0.004 m/s.
PLAIN = Tune(machine=Machine(top_speed_m_s=2.0))


def chain_of(*stages, **parts):
    """Path of the invented machine, both sticks with these stages."""
    setup = ChannelSetup(shape=Shape(stages))
    return Chain.from_tune(dataclasses.replace(PLAIN, throttle=setup, steer=setup, **parts))


# --- by hand --------------------------------------------------------------------------------


def test_a_linear_stick():
    """Up to 0.2 of 2 m/s: a tenth of the travel, 50 of 500 steps, each 0.004 m/s (by hand)."""
    found = slow_end(chain_of(), "throttle", 0.2)
    assert dataclasses.replace(found, linear=None) == SlowEnd(
        travel_share=pytest.approx(0.1),
        stick_steps=50,
        output_steps=50,
        least_speed=pytest.approx(0.004),
        largest_jump=pytest.approx(0.004),
        first_slope=1.0,
    )
    assert found.linear == dataclasses.replace(found, linear=None)


def test_a_cubic_blend():
    """For e = 0.6 a tenth of full speed is at 0.2314 of the travel (check value, computed).

    In output steps y = 0.4 k + 0.6 k^3/250000 at stick step k: the first that rounds to a
    step is k = 2 (0.8), the last that rounds to 50 is k = 116 (50.15; 117 gives 50.64).
    """
    found = slow_end(chain_of(CubicBlend(0.6)), "throttle", 0.2)
    assert found.travel_share == pytest.approx(0.23141144048485704, rel=1e-12)
    assert (found.stick_steps, found.output_steps) == (115, 50)
    assert found.least_speed == pytest.approx(0.004)
    assert found.largest_jump == pytest.approx(0.004)
    assert found.first_slope == pytest.approx(0.4)
    assert (found.linear.stick_steps, found.linear.travel_share) == (50, pytest.approx(0.1))


def test_a_dead_zone_is_not_travel():
    """With 0.1 dead and the rest stretched, a tenth of full speed takes 0.09 (by hand)."""
    found = slow_end(chain_of(Deadband(0.1)), "throttle", 0.2)
    assert found.travel_share == pytest.approx(0.09)
    assert found.first_slope == pytest.approx(1 / 0.9)
    # Stick steps 51 to 95: (k - 50)/0.9 rounds to 1 ... 50.
    assert (found.stick_steps, found.output_steps) == (45, 45)


def test_a_dead_zone_after_a_curve_begins_where_the_curve_reaches_it():
    """The honest slope is that just beyond the dead zone, of curve and stretching both."""
    shape = CubicBlend(0.6) >> Deadband(0.05)
    found = slow_end(chain_of(*shape.stages), "throttle", 0.2)
    assert found.first_slope == shape.first_slope > 0.4
    assert found.travel_share == pytest.approx(shape.inverse(0.1) - shape.starts_at)


def test_a_transmitter_of_five_steps():
    """Levels of half the travel: nothing below 1 m/s can be commanded (by hand)."""
    found = slow_end(chain_of(stick=StickSetup(steps=5)), "throttle", 0.2)
    assert (found.stick_steps, found.output_steps) == (0, 0)
    assert (found.least_speed, found.largest_jump) == (1.0, 1.0)
    assert found.travel_share == pytest.approx(0.1)


def test_a_motor_that_starts_late():
    """Start 0.2: 0.8 output steps a stick step, so 40 outputs, and jumps of 0.005 m/s (by hand)."""
    found = slow_end(chain_of(sides=Sides(left_start=0.2)), "throttle", 0.2)
    assert (found.stick_steps, found.output_steps) == (50, 40)
    assert found.least_speed == pytest.approx(0.005)
    assert found.largest_jump == pytest.approx(0.005)
    assert found.travel_share == pytest.approx(0.1)


def test_half_a_steer_share():
    """Steer at half share moves the left wheel half as fast: twice the travel (by hand)."""
    found = slow_end(chain_of(mix=TankMix(0.5)), "steer", 0.2)
    assert (found.travel_share, found.first_slope) == (pytest.approx(0.2), 0.5)
    assert (found.stick_steps, found.output_steps) == (100, 50)


def test_no_steer_share_moves_nothing():
    """With share 0 the steer stick commands no speed at all."""
    found = slow_end(chain_of(mix=TankMix(0.0)), "steer", 0.2)
    assert dataclasses.astuple(dataclasses.replace(found, linear=None))[:6] == (0, 0, 0, 0, 0, 0)


def test_a_coarse_output():
    """Ten output steps: 0.2 of 2 m/s is one step, reached from half of it on (by hand)."""
    found = slow_end(chain_of(output=Output("signed", full=10)), "throttle", 0.2)
    assert (found.stick_steps, found.output_steps) == (50, 1)  # k = 25 ... 74
    assert (found.least_speed, found.largest_jump) == (pytest.approx(0.2), pytest.approx(0.2))


def test_above_the_top_speed_the_whole_travel_counts():
    """A band wider than the machine is fast takes all of the travel beyond the dead zone."""
    found = slow_end(chain_of(Deadband(0.1), Limit(0.5)), "throttle", 5.0)
    assert found.travel_share == pytest.approx(0.9)
    assert found.stick_steps == 450


def test_a_shape_that_never_moves():
    """Nothing is commanded, and nothing is divided by."""
    found = slow_end(chain_of(Limit(0.3), Deadband(0.4)), "throttle", 0.2)
    assert (found.travel_share, found.stick_steps, found.output_steps) == (0.0, 0, 0)
    assert (found.least_speed, found.largest_jump, found.first_slope) == (0.0, 0.0, 0.0)


def test_independent_sticks_are_told_for_their_own_wheel():
    """The right stick drives the right wheel, with its motor's start and the throttle's feel."""
    tune = dataclasses.replace(
        PLAIN,
        mix=Independent(),
        throttle=ChannelSetup(shape=Shape([CubicBlend(0.6)])),
        sides=Sides(right_start=0.2),
    )
    left, right = (slow_end(Chain.from_tune(tune), name, 0.2) for name in ("throttle", "steer"))
    assert (left.stick_steps, left.output_steps) == (115, 50)
    assert right.output_steps == 40
    assert right.first_slope == left.first_slope == pytest.approx(0.4)


@pytest.mark.parametrize(
    "parts",
    [
        {"sides": Sides(left_reversed=True)},
        {"sides": Sides(swapped=True)},
        {"output": Output("pulse", 900, 1500, 2000)},
    ],
    ids=repr,
)
def test_wiring_does_not_change_the_forward_figures(parts):
    """A motor that is turned round or swapped, or a wider reverse, is as fine as before."""
    found = slow_end(chain_of(**parts), "throttle", 0.2)
    if "sides" in parts:
        assert found == slow_end(chain_of(), "throttle", 0.2)
    else:
        assert found.output_steps == 50


def test_a_reversed_stick_is_as_fine():
    """Forward is then the short side of the pulse."""
    tune = dataclasses.replace(
        PLAIN, stick=StickSetup(1000, 1400, 2000), throttle=ChannelSetup(reversed=True)
    )
    found = slow_end(Chain.from_tune(tune), "throttle", 0.2)
    assert found.stick_steps == 40


# --- against counting one by one ------------------------------------------------------------


def counted(chain, channel, speed):
    """Figures by going through every pulse, written apart from the library."""
    which = 0 if channel == "throttle" else 1
    stick = chain.sticks[which]
    if stick.steps is None:
        pulses = {stick.low, stick.centre, stick.high}
        pulses |= set(range(math.ceil(stick.low), math.floor(stick.high) + 1))
    else:
        pulses = np.linspace(stick.low, stick.high, stick.steps)
    sign = -1.0 if chain.reversed[which] else 1.0
    forward = sorted({max(sign * stick.position(float(p)), 0.0) for p in pulses} - {-0.0})
    on_right = which == 1 and chain.mix.kind == "independent"
    side = chain.sides.right if on_right else chain.sides.left
    speeds, units = [], []
    for position in sorted({0.0, *forward}):
        pair = (position, 0.0) if which == 0 else (0.0, position)
        code, sure = sent(chain, side, chain.steady(*pair)[1 if on_right else 0])
        assume(sure)
        units.append(code)
        speeds.append(_share(chain, side, code) * chain.top_speed)
    slow = [k for k, v in enumerate(speeds) if 0.0 < v <= speed]
    jumps = [b - a for a, b in pairwise(speeds) if a <= speed]
    return {
        "stick_steps": len(slow),
        "output_steps": len({units[k] for k in slow}),
        "least_speed": next((v for v in speeds if v > 0.0), 0.0),
        "largest_jump": max(jumps, default=0.0),
    }


def _share(chain, side, code):
    """Share of full speed of one output code, the largest that the side map gives to it."""
    low, high = chain.output.spans
    away = code - chain.output.zero
    size = abs(away) / (low if away < 0 else high)
    if away == 0:
        return 0.0
    points = side.measured or ((0.0, side.start), (1.0, side.top))
    if size < points[0][1]:
        return 0.0
    best = 0.0
    for (share, command), (next_share, next_command) in pairwise(points):
        if size >= next_command:
            best = next_share
        elif size >= command:
            best = share + (size - command) / (next_command - command) * (next_share - share)
    return best


@given(
    tunes(shape=shapes(2, round_stages())), st.sampled_from(["throttle", "steer"]), st.floats(0, 1)
)
@settings(max_examples=30)
def test_figures_agree_with_counting_one_by_one(tune, channel, part):
    """Every figure of the staircase, against a count written apart from the library."""
    chain = Chain.from_tune(tune)
    speed = (0.01 + 0.5 * part) * chain.top_speed * 1.000123
    found = slow_end(chain, channel, speed)
    for name, value in counted(chain, channel, speed).items():
        assert getattr(found, name) == pytest.approx(value, abs=1e-9), name


@given(shapes(2, round_stages()), st.floats(0.01, 1.5))
def test_travel_agrees_with_looking_for_it(shape, speed):
    """The travel share against halving the interval between no motion and enough."""
    chain = chain_of(*shape.stages)
    found = slow_end(chain, "throttle", speed).travel_share
    at = np.arange(100_001) / 100_000
    y = shape(at)
    moving, enough = np.flatnonzero(y > 0.0), np.flatnonzero(y >= speed / 2.0)
    begin = at[moving[0]] if len(moving) else 1.0
    end = at[enough[0]] if len(enough) else 1.0
    assert found == pytest.approx(max(end - begin, 0.0), abs=2.5e-5)


def test_a_band_above_the_top_speed_takes_the_flat_end_too():
    """Where full speed is reached early, all of the travel still moves the wheel in the band."""
    chain = chain_of(Points([0.4], [1.0]))
    assert slow_end(chain, "throttle", 2.5).travel_share == 1.0
    assert slow_end(chain, "throttle", 1.9).travel_share < 0.4


# --- refusals -------------------------------------------------------------------------------


def test_without_a_top_speed_it_says_what_is_missing():
    """No guess is made; the key of the machine file is named."""
    with pytest.raises(ValueError, match=r"names no top speed \(\[machine\] top_speed_m_s\)"):
        slow_end(Chain.from_tune(Tune()), "throttle", 0.2)


@pytest.mark.parametrize("bad", ["Throttle", "left", "", None, 0])
def test_unknown_channels_are_refused(bad):
    """The two names are listed."""
    with pytest.raises(ValueError, match="give 'throttle' or 'steer'"):
        slow_end(chain_of(), bad, 0.2)


@pytest.mark.parametrize("bad", [*NO_NUMBERS, *NOT_IN_RANGE, 0.0, -0.2], ids=lambda v: f"{v!r:.9}")
def test_absurd_speeds_are_refused(bad):
    """Above 0 and below 15 m/s."""
    with pytest.raises(ValueError, match=r"speed = .*; give a number above 0 and below 15 m/s"):
        slow_end(chain_of(), "throttle", bad)


def test_figures_cannot_be_changed():
    """What was measured stays as it was measured."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        slow_end(chain_of(), "throttle", 0.2).stick_steps = 1
