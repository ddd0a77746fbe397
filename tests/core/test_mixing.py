"""Two sticks become two motor commands, and a side that overflows is dealt with as chosen."""

import dataclasses
import math

import numpy as np
import pytest
from core.strategies import NO_NUMBERS, NOT_IN_RANGE, mixes, positions
from hypothesis import given
from hypothesis import strategies as st

from curvelib import Independent, TankMix
from curvelib.mixing import MIXES, OVERFLOWS

shares = st.floats(0.0, 1.0)
tanks = st.builds(TankMix, shares, st.sampled_from(OVERFLOWS))


@pytest.mark.parametrize(
    ("overflow", "left", "right"),
    [("clip", 1.0, 0.2), ("scale", 1.0, 0.2 / 1.4), ("keep turn", 1.0, -0.2)],
)
def test_the_three_rules_by_hand(overflow, left, right):
    """Throttle 0.8 and steer 0.6: 1.4 and 0.2 before the rule."""
    assert TankMix(1.0, overflow)(0.8, 0.6) == pytest.approx((left, right))


def test_scale_is_the_rule_to_begin_with():
    """Full steer share and the rule that keeps the turning radius are the defaults."""
    assert TankMix() == TankMix(1.0, "scale")


@given(tanks, positions(), positions())
def test_sides_that_do_not_overflow_are_plain_sums(mix, throttle, steer):
    """Left is throttle + share steer, right is throttle - share steer, whatever the rule."""
    turn = mix.steer_share * steer
    if abs(throttle) + abs(turn) <= 1.0:
        assert mix(throttle, steer) == pytest.approx((throttle + turn, throttle - turn), abs=1e-15)


@given(mixes(), positions(), positions())
def test_commands_stay_in_range_and_are_odd(mix, throttle, steer):
    """-1..1 always, and both sticks turned over turn both commands over."""
    left, right = mix(throttle, steer)
    assert max(abs(left), abs(right)) <= 1.0
    assert mix(-throttle, -steer) == (-left, -right)


@given(tanks, positions(), st.floats(1e-6, 1.0))
def test_stick_right_makes_the_left_side_faster(mix, throttle, steer):
    """The machine turns clockwise, in reverse too; mirrored steer swaps the sides."""
    left, right = mix(throttle, steer)
    assert left >= right
    if mix.steer_share > 1e-6 and mix.overflow != "clip":
        assert left > right
    assert mix(throttle, -steer) == (right, left)


@given(shares, positions(), positions())
def test_scale_keeps_the_ratio_of_the_sides(share, throttle, steer):
    """The ratio is that of the sums, so the turning radius is kept, and one side is full."""
    left, right = TankMix(share, "scale")(throttle, steer)
    sums = throttle + share * steer, throttle - share * steer
    assert left * sums[1] == pytest.approx(right * sums[0], abs=1e-15)
    if max(map(abs, sums)) > 1.0:
        assert max(abs(left), abs(right)) == pytest.approx(1.0, abs=1e-15)


@given(shares, positions(), positions())
def test_clip_cuts_each_side_for_itself(share, throttle, steer):
    """A side that overflows is full, the other as it was."""
    left, right = TankMix(share, "clip")(throttle, steer)
    assert left == pytest.approx(min(max(throttle + share * steer, -1.0), 1.0), abs=1e-15)
    assert right == pytest.approx(min(max(throttle - share * steer, -1.0), 1.0), abs=1e-15)


@given(shares, positions(), positions())
def test_keep_turn_keeps_the_difference(share, throttle, steer):
    """The turn is always 2 share steer; throttle gives way, and no more than it must."""
    left, right = TankMix(share, "keep turn")(throttle, steer)
    turn = share * steer
    assert left - right == pytest.approx(2.0 * turn, abs=1e-15)
    kept = min(abs(throttle), 1.0 - abs(turn))
    assert (left + right) / 2.0 == pytest.approx(math.copysign(kept, throttle), abs=1e-15)


@given(tanks, positions())
def test_mixing_has_no_jumps(mix, held):
    """Sweeping either stick past every overflow changes no command by more than a small step."""
    sweep = np.linspace(-1.0, 1.0, 2001)
    for sides in (mix(sweep, held), mix(held, sweep)):
        assert np.abs(np.diff(sides)).max() <= 2.0 * 0.001 + 1e-12


@given(positions(), positions())
def test_independent_sticks_are_passed_on(left, right):
    """The first stick is the left motor, the second the right one."""
    assert Independent()(left, right) == (left, right)


@given(mixes(), st.lists(st.tuples(positions(), positions()), min_size=1, max_size=5))
def test_arrays_mix_element_by_element(mix, pairs):
    """Arrays give what numbers give one by one; a number beside an array is spread over it."""
    throttle, steer = np.array(pairs).T
    left, right = mix(throttle, steer)
    assert list(zip(left, right, strict=True)) == [mix(*pair) for pair in pairs]
    spread, _ = mix(throttle, 0.5)
    assert spread.tolist() == [mix(t, 0.5)[0] for t in throttle]


@pytest.mark.parametrize("mix", [TankMix(0.5), TankMix(1.0, "keep turn"), Independent()])
@pytest.mark.parametrize("shape", [(0,), (3,), (2, 3)])
def test_shapes_are_kept_and_the_input_is_not_touched(mix, shape):
    """Two new float64 arrays come out; numbers give floats."""
    throttle, steer = np.full(shape, 0.7), np.full(shape, 0.6)
    for result in mix(throttle, steer):
        assert (result.shape, result.dtype) == (shape, np.float64)
        result += 1.0
    assert (throttle == 0.7).all()
    assert (steer == 0.6).all()
    assert [type(side) for side in mix(0.7, 1)] == [float, float]


@pytest.mark.parametrize("mix", [TankMix(), TankMix(overflow="clip"), Independent()])
def test_sticks_beyond_full_saturate(mix):
    """2 counts as 1, on either stick."""
    assert mix(2.0, 0.5) == mix(1.0, 0.5)
    assert mix(0.5, -2.0) == mix(0.5, -1.0)


@pytest.mark.parametrize("mix", [TankMix(), Independent()])
@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_nan_and_infinity_are_refused(mix, bad):
    """On either stick, with the index."""
    with pytest.raises(ValueError, match="at index 1"):
        mix([0.0, bad], [0.0, 0.0])
    with pytest.raises(ValueError, match="must be a finite number"):
        mix(0.0, bad)


@pytest.mark.parametrize(
    "bad", [*NO_NUMBERS, *NOT_IN_RANGE, -0.01, 1.01], ids=lambda v: f"{v!r:.9}"
)
def test_absurd_steer_shares_are_refused(bad):
    """From 0 to 1."""
    with pytest.raises(ValueError, match=r"TankMix: steer_share = .*; give a number from 0 to 1"):
        TankMix(bad)


@pytest.mark.parametrize("bad", ["Scale", "", None, 1, True])
def test_unknown_overflow_rules_are_refused(bad):
    """The three rules are listed."""
    with pytest.raises(ValueError, match="give one of 'scale', 'clip', 'keep turn'"):
        TankMix(overflow=bad)


def test_mixes_are_equal_by_value_and_cannot_be_changed():
    """Two mixes of the same kind with the same numbers are the same."""
    assert TankMix(1) == TankMix(1.0) != TankMix(0.9)
    assert Independent() == Independent() != TankMix()
    assert len({TankMix(), TankMix(), Independent(), Independent()}) == 2
    with pytest.raises(dataclasses.FrozenInstanceError):
        TankMix().steer_share = 0.5


def test_kinds_are_those_of_the_machine_file():
    """Each kind is found by its name."""
    assert {name: cls.kind for name, cls in MIXES.items()} == {
        "tank": "tank",
        "independent": "independent",
    }
