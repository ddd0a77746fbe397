"""Pulses become positions, each side by its own travel; impossible ones are told apart."""

import dataclasses
import math

import numpy as np
import pytest
from core.strategies import NO_NUMBERS, NOT_IN_RANGE, sticks
from hypothesis import assume, given
from hypothesis import strategies as st

from curvelib.stick import Stick, StickSetup

PLAIN = Stick(1000.0, 1500.0, 2000.0)
LOPSIDED = Stick(1100.0, 1480.0, 1900.0)
REFUSED = (*NO_NUMBERS, *NOT_IN_RANGE)


# --- position -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stick", "pulse", "position"),
    [
        (PLAIN, 1000.0, -1.0),
        (PLAIN, 1250.0, -0.5),
        (PLAIN, 1501.0, 0.002),
        (PLAIN, 2000.0, 1.0),
        (PLAIN, 2100.0, 1.0),
        (PLAIN, 0.0, -1.0),
        (LOPSIDED, 1290.0, -0.5),
        (LOPSIDED, 1480.0, 0.0),
        (LOPSIDED, 1690.0, 0.5),
    ],
)
def test_each_side_is_scaled_by_its_own_travel(stick, pulse, position):
    """Half of a side's travel is half a position, and outside the travel it saturates (by hand)."""
    assert stick.position(pulse) == pytest.approx(position, rel=1e-14)


@given(sticks())
def test_ends_and_centre_are_exact(stick):
    """The centre reads exactly 0; the ends exactly -1 and 1, unless an end is the centre level."""
    assert stick.position(stick.centre) == 0.0
    low, high = stick.position(stick.low), stick.position(stick.high)
    if stick.steps is None:
        assert (low, high) == (-1.0, 1.0)
    else:
        assert low in (-1.0, 0.0)
        assert high in (1.0, 0.0)
        assert high - low >= 1.0


@given(sticks(), st.lists(st.floats(-1000.0, 7000.0), min_size=2, max_size=50))
def test_a_longer_pulse_is_never_a_lower_position(stick, pulses):
    """Position never falls, stays in -1..1 and has the sign of the side."""
    pulses = np.sort(pulses)
    position = stick.position(pulses)
    assert (np.diff(position) >= 0.0).all()
    assert np.abs(position).max() <= 1.0
    if stick.steps is None:
        np.testing.assert_array_equal(np.sign(position), np.sign(pulses - stick.centre))


@given(sticks().filter(lambda stick: stick.steps is not None))
def test_there_are_as_many_positions_as_steps(stick):
    """Every level of the transmitter is one position, and no other exists."""
    levels = np.linspace(stick.low, stick.high, stick.steps)
    everywhere = np.linspace(stick.low, stick.high, 20 * stick.steps)
    assert len(np.unique(stick.position(levels))) == stick.steps
    assert len(np.unique(stick.position(everywhere))) == stick.steps


@given(sticks().filter(lambda stick: stick.steps is not None), st.floats(0.0, 1.0))
def test_a_pulse_is_rounded_to_the_nearest_level(stick, share):
    """With steps, position is off by half a step at most, or a whole one at the centre."""
    pulse = stick.low + share * (stick.high - stick.low)
    step = (stick.high - stick.low) / (stick.steps - 1)
    smooth = dataclasses.replace(stick, steps=None)
    found = stick.position(pulse)
    reach = 0.5 * step if found != 0.0 else step
    assert smooth.position(pulse - 1.000001 * reach) <= found
    assert found <= smooth.position(pulse + 1.000001 * reach)


def test_levels_worked_out_by_hand():
    """Five levels over 1000..2000 are 250 us apart; a half rounds up."""
    stick = Stick(1000, 1500, 2000, steps=5)
    pulses = np.array([1000, 1124, 1125, 1374, 1375, 1499, 1624, 1625, 1875, 2000.0])
    assert stick.position(pulses).tolist() == [-1, -1, -0.5, -0.5, 0, 0, 0, 0.5, 1, 1]


def test_the_last_level_is_the_end_in_spite_of_rounding():
    """1093 steps of 1113/1093 us add up to a hair less than 1113 us, and still reach full."""
    step = (2040.0 - 927.0) / 1093
    assert 927.0 + 1093 * step < 2040.0
    assert Stick(927.0, 1500.0, 2040.0, steps=1094).position(2040.0) == 1.0


def test_a_centre_between_two_levels_reads_zero():
    """With four levels none is at 1500; the one nearest, or the upper of two, is the centre."""
    stick = Stick(1000, 1500, 2000, steps=4)
    assert stick.position(1500.0) == 0.0
    assert sorted(set(stick.position(np.arange(1000.0, 2001.0)))) == pytest.approx(
        [-1, -1 / 3, 0, 1]
    )


@pytest.mark.parametrize("stick", [PLAIN, Stick(1000, 1500, 2000, steps=1024)])
@pytest.mark.parametrize("shape", [(0,), (3,), (2, 3)])
def test_arrays_of_pulses_keep_their_shape(stick, shape):
    """Array in, new float64 array of the same shape out, the input as it was."""
    pulses = np.full(shape, 1700.0)
    result = stick.position(pulses)
    assert (result.shape, result.dtype) == (shape, np.float64)
    assert (pulses == 1700.0).all()
    assert type(stick.position(1700)) is float


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_pulse_without_a_width_has_no_position(bad):
    """NaN and infinity are refused with the first bad index."""
    with pytest.raises(ValueError, match=r"pulse width is .* at index 1"):
        PLAIN.position([1500.0, bad])


# --- possible pulses ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pulse", "good"),
    [
        (749.999, False),
        (750.0, True),
        (1500.0, True),
        (2250.0, True),
        (2250.001, False),
        (0.0, False),
        (-1500.0, False),
        (65535.0, False),
        (math.nan, False),
        (math.inf, False),
    ],
)
def test_possible_pulses_lie_within_the_widened_range(pulse, good):
    """A quarter of the travel beyond each end counts, the edge included (by hand)."""
    assert PLAIN.possible(pulse) is good
    assert PLAIN.possible([pulse]).tolist() == [good]


def test_the_margin_is_adjustable():
    """Margin 0 allows the travel itself and nothing beyond."""
    strict = Stick(1000, 1500, 2000, margin=0.0)
    assert strict.possible([999.9, 1000, 2000, 2000.1]).tolist() == [False, True, True, False]


# --- relearned ------------------------------------------------------------------------------


def test_a_restart_with_the_stick_held_forward_turns_let_go_into_full_reverse():
    """With equal spans, what was full forward is the centre, and let go reads -1."""
    stick = PLAIN.relearned(2000.0)
    assert stick.position(2000.0) == 0.0
    assert stick.position(1500.0) == -1.0


def test_relearning_keeps_the_spans_of_both_sides():
    """Only the centre moves; each side keeps its own travel (by hand)."""
    stick = LOPSIDED.relearned(1500.0)
    assert (stick.low, stick.centre, stick.high) == (1120.0, 1500.0, 1920.0)
    assert stick.position(1310.0) == -0.5
    assert (stick.steps, stick.margin) == (LOPSIDED.steps, LOPSIDED.margin)


@given(sticks(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_possible_is_always_judged_on_the_range_as_first_set(stick, first, second):
    """However often it is relearned, the same pulses are possible."""
    least, most = stick.possible_range
    again = stick
    for share in (first, second):
        again = again.relearned(min(max(least + share * (most - least), least), most))
        assert again.position(again.centre) == 0.0
    assert again.possible_range == stick.possible_range
    assert again.possible([least, most]).all()
    assert not again.possible([np.nextafter(least, -1e9), np.nextafter(most, 1e9)]).any()


@pytest.mark.parametrize("bad", [749.0, 2251.0, 0.0, 65535.0, math.nan, math.inf])
def test_an_impossible_pulse_cannot_be_learned(bad):
    """The possible range is named."""
    with pytest.raises(ValueError, match=r"cannot be learned.*from 750 to 2250 us"):
        PLAIN.relearned(bad)


def test_a_stick_of_the_least_travel_can_be_relearned_anywhere():
    """Rounding does not bring the ends of a 2 us stick too close together."""
    stick = Stick(0.0, 1.0, 2.0)
    for pulse in np.linspace(-0.5, 2.5, 61):
        assert stick.relearned(float(pulse)).centre == pulse


# --- refusals and value ---------------------------------------------------------------------


@pytest.mark.parametrize("bad", REFUSED, ids=lambda v: f"{v!r:.12}")
@pytest.mark.parametrize("name", ["low", "centre", "high"])
def test_absurd_pulse_widths_are_refused(name, bad):
    """Each of the three is checked and named."""
    widths = {"low": 1000.0, "centre": 1500.0, "high": 2000.0, name: bad}
    with pytest.raises(ValueError, match=f"Stick: {name} = "):
        Stick(**widths)


@pytest.mark.parametrize("bad", REFUSED, ids=lambda v: f"{v!r:.12}")
@pytest.mark.parametrize("name", ["low_us", "centre_us", "high_us"])
def test_absurd_pulse_widths_are_refused_in_a_setup(name, bad):
    """The same for what the machine file holds, within 0 to 5000 us."""
    with pytest.raises(ValueError, match=f"StickSetup: {name} = .*from 0 to 5000 us"):
        StickSetup(**{name: bad})


@pytest.mark.parametrize("widths", [(1500, 1500, 2000), (1600, 1500, 2000), (1000, 2000, 1900)])
@pytest.mark.parametrize("cls", [Stick, StickSetup])
def test_pulse_widths_out_of_order_are_refused(cls, widths):
    """Low lies below centre, centre below high, and the three are named."""
    with pytest.raises(ValueError, match="give low below centre below high, at least 1 us apart"):
        cls(*widths)


@pytest.mark.parametrize("bad", [2, 65536, 3.5, True, "5", math.nan])
def test_absurd_step_counts_are_refused(bad):
    """From 3 to 65535, whole."""
    with pytest.raises(ValueError, match="Stick: steps = "):
        Stick(1000, 1500, 2000, steps=bad)


@pytest.mark.parametrize("bad", [-0.01, 1.01, True, "0.25", None, math.nan])
def test_absurd_margins_are_refused(bad):
    """From 0 to 1."""
    with pytest.raises(ValueError, match="Stick: margin = "):
        Stick(1000, 1500, 2000, margin=bad)


def test_the_centre_is_fixed_or_learned():
    """Another word is refused; fixed is what a setup begins with."""
    assert StickSetup().centre == "fixed"
    with pytest.raises(ValueError, match="give one of 'fixed', 'learned'"):
        StickSetup(centre="middle")


def test_sticks_are_equal_by_value_and_cannot_be_changed():
    """Whole numbers and floats are the same widths."""
    assert Stick(1000, 1500, 2000) == PLAIN
    assert hash(Stick(1000, 1500, 2000)) == hash(PLAIN)
    with pytest.raises(dataclasses.FrozenInstanceError):
        PLAIN.centre = 1600.0


@given(sticks())
def test_a_stick_that_was_relearned_at_its_own_centre_reads_the_same(stick):
    """Learning the centre it has changes nothing."""
    assume(stick.possible(stick.centre))
    same = stick.relearned(stick.centre)
    pulses = np.linspace(stick.low, stick.high, 101)
    np.testing.assert_allclose(same.position(pulses), stick.position(pulses), atol=1e-12)
