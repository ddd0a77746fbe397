"""Commands become whole output units of three kinds."""

import dataclasses
import math

import numpy as np
import pytest
from core.strategies import NO_NUMBERS, NOT_IN_RANGE, outputs, positions
from hypothesis import given

from curvelib.output import HUNDREDTHS, Output

PULSE = Output("pulse", 1000, 1500, 2000)
LOPSIDED = Output("pulse", 1100, 1500, 2100)
SIGNED = Output("signed", full=127)
PERCENT = Output("percent")


@pytest.mark.parametrize(
    ("output", "command", "units"),
    [
        (PULSE, 0.0, 1500),
        (PULSE, 1.0, 2000),
        (PULSE, -1.0, 1000),
        (PULSE, 0.002, 1501),
        (PULSE, 0.0009, 1500),
        (PULSE, 0.001, 1501),  # half a step rounds away from 0
        (PULSE, -0.001, 1499),
        (LOPSIDED, 0.5, 1800),
        (LOPSIDED, -0.5, 1300),
        (SIGNED, 1.0, 127),
        (SIGNED, -1.0, -127),
        (SIGNED, 0.5, 64),
        (SIGNED, -0.5, -64),
        (PERCENT, 0.1234, 1234),
        (PERCENT, -1.0, -10000),
    ],
)
def test_units_by_hand(output, command, units):
    """The nearest whole unit, halves away from 0, each side by its own span."""
    found = output.units(command)
    assert found == units
    assert type(found) is int


@given(outputs(), positions())
def test_units_are_the_nearest(output, command):
    """No whole number is nearer to what the command asks for: at most half a step off."""
    below, above = output.spans
    asked = output.zero + command * (below if command < 0 else above)
    assert abs(output.units(command) - asked) <= 0.5 + 1e-9


@given(outputs())
def test_units_never_fall_and_end_at_the_ends(output):
    """More command is never fewer units; 0, -1 and 1 are the zero and the ends exactly."""
    units = output.units(np.linspace(-1.0, 1.0, 2001))
    assert (np.diff(units) >= 0).all()
    assert units.dtype == np.int64
    below, above = output.spans
    ends = output.units([-1.0, 0.0, 1.0]).tolist()
    assert ends == [output.zero - below, output.zero, output.zero + above]


@given(outputs())
def test_every_unit_stands_for_the_command_that_gives_it(output):
    """From units to a command and back nothing is lost, and no command passes full."""
    below, above = output.spans
    units = np.unique(np.linspace(output.zero - below, output.zero + above, 101).round())
    command = output.command(units)
    assert np.abs(command).max() <= 1.0
    np.testing.assert_array_equal(output.units(command), units)


def test_commands_of_units_by_hand():
    """Each side is read by its own span, as it was written."""
    assert LOPSIDED.command([1100, 1300, 1500, 1800, 2100]).tolist() == [-1.0, -0.5, 0.0, 0.5, 1.0]
    assert PERCENT.command([-5000, 2500]).tolist() == [-0.5, 0.25]


@pytest.mark.parametrize(
    ("output", "zero", "spans", "unit"),
    [
        (PULSE, 1500, (500, 500), "us"),
        (LOPSIDED, 1500, (400, 600), "us"),
        (SIGNED, 0, (127, 127), ""),
        (PERCENT, 0, (HUNDREDTHS, HUNDREDTHS), "hundredths of a percent"),
    ],
)
def test_zero_spans_and_unit_of_each_kind(output, zero, spans, unit):
    """What 0 is in units, how many lie either side, and what one unit is."""
    assert (output.zero, output.spans, output.unit) == (zero, spans, unit)


@pytest.mark.parametrize(
    ("command", "small"),
    [(0.0, True), (0.000999, True), (0.001, False), (-0.000999, True), (-0.001, False), (1, False)],
)
def test_less_than_half_a_step_cannot_be_told_from_zero(command, small):
    """Half a step of 1 us in 500 is 0.001; exactly half counts as a step (by hand)."""
    assert bool(PULSE.below_half_step(command)) is small


@given(outputs(), positions())
def test_what_is_not_below_half_a_step_gives_a_unit(output, command):
    """The half-step rule and the rounding agree, but for a millionth of a step."""
    below, above = output.spans
    steps = abs(command) * (below if command < 0 else above)
    if abs(steps - 0.5) > 1e-6:
        assert bool(output.below_half_step(command)) == (output.units(command) == output.zero)


def test_beyond_full_saturates():
    """2 counts as 1: nothing leaves the output range."""
    assert PULSE.units([2.0, -1e300]).tolist() == [2000, 1000]


@pytest.mark.parametrize("shape", [(0,), (3,), (2, 3)])
def test_arrays_keep_their_shape(shape):
    """Array in, whole numbers of the same shape out, the input as it was."""
    commands = np.full(shape, 0.5)
    units = PULSE.units(commands)
    assert (units.shape, units.dtype) == (shape, np.int64)
    assert (commands == 0.5).all()


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_nan_and_infinity_are_refused(bad):
    """With the first bad index: no number is ever sent for them."""
    with pytest.raises(ValueError, match="at index 1"):
        PULSE.units([0.0, bad])
    with pytest.raises(ValueError, match="at index 1"):
        PULSE.below_half_step([0.0, bad])


@pytest.mark.parametrize("bad", [*NO_NUMBERS, *NOT_IN_RANGE], ids=lambda v: f"{v!r:.9}")
@pytest.mark.parametrize("name", ["low_us", "centre_us", "high_us", "full"])
def test_absurd_numbers_are_refused(name, bad):
    """Each number is checked, of whatever kind the output is."""
    with pytest.raises(ValueError, match=f"Output: {name} = "):
        Output(**{name: bad})


def test_pulses_are_whole_and_in_order():
    """Half a microsecond cannot be sent; low lies below centre below high."""
    with pytest.raises(ValueError, match="whole microseconds"):
        Output(centre_us=1500.5)
    with pytest.raises(ValueError, match="give low below centre below high"):
        Output(low_us=1500, centre_us=1500)
    assert Output("signed", centre_us=1500.5).zero == 0


@pytest.mark.parametrize("bad", ["Pulse", "pwm", "", None, 1])
def test_unknown_kinds_are_refused(bad):
    """The three kinds are listed."""
    with pytest.raises(ValueError, match="give one of 'pulse', 'signed', 'percent'"):
        Output(bad)


def test_the_full_number_fits_two_bytes_and_is_whole():
    """1 to 32767."""
    assert Output("signed", full=32767).spans == (32767, 32767)
    for bad in (0, 32768, 100.5):
        with pytest.raises(ValueError, match="Output: full = "):
            Output("signed", full=bad)


def test_outputs_are_equal_by_value_and_cannot_be_changed():
    """Whole numbers and floats are the same widths."""
    assert Output("pulse", 1000.0, 1500.0, 2000.0) == PULSE != LOPSIDED
    assert hash(Output("pulse", 1000.0, 1500.0, 2000.0)) == hash(PULSE)
    with pytest.raises(dataclasses.FrozenInstanceError):
        PULSE.full = 5
