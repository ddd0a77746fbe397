"""Each motor gets the command it needs: start, top, direction, measured map."""

import dataclasses
import math

import numpy as np
import pytest
from core.strategies import NO_NUMBERS, NOT_IN_RANGE, motor_sides, positions
from hypothesis import given

from curvelib.sides import MOST_MEASURED, Side, Sides

# Invented measurement of a motor that starts late and turns fast early.
MEASURED = ((0.0, 0.12), (0.5, 0.4), (1.0, 0.9))


@pytest.mark.parametrize(
    ("side", "wanted", "command"),
    [
        (Side(), 0.5, 0.5),
        (Side(0.2), 0.0, 0.0),
        (Side(0.2), 1e-9, 0.2),
        (Side(0.2), 0.5, 0.6),
        (Side(0.2, 0.8), 0.5, 0.5),
        (Side(0.2, 0.8), 1.0, 0.8),
        (Side(0.2, 0.8, reversed=True), 0.5, -0.5),
        (Side(measured=MEASURED), 0.0, 0.0),
        (Side(measured=MEASURED), 0.25, 0.26),
        (Side(measured=MEASURED), 0.75, 0.65),
        (Side(measured=MEASURED), 1.0, 0.9),
        (Side(0.4, 0.5, measured=MEASURED), 0.5, 0.4),
    ],
)
def test_commands_by_hand(side, wanted, command):
    """0 at 0, else start + (top - start) |x|, or straight lines between measured points."""
    assert side.command(wanted) == pytest.approx(command, abs=1e-8)
    assert side.command(-wanted) == pytest.approx(-command, abs=1e-8)


@given(motor_sides(), positions())
def test_commands_are_odd_and_in_range(side, wanted):
    """Odd to the last bit, 0 exactly at 0, never beyond full or beyond the top."""
    assert side.command(-wanted) == -side.command(wanted)
    assert side.command(0.0) == 0.0
    assert abs(side.command(wanted)) <= min(1.0, abs(side.command(1.0)) + 1e-16)


@given(motor_sides())
def test_commands_never_fall(side):
    """More wanted is never less command; reversed turns the sign of everything."""
    flow = -1.0 if side.reversed else 1.0
    assert np.diff(flow * side.command(np.linspace(-1, 1, 401))).min() >= -1e-16


@given(motor_sides(), positions())
def test_the_motor_does_what_was_wanted(side, wanted):
    """The speed that a command gives, by the same map, is the speed that was wanted."""
    commands = np.array([point[1] for point in side.measured or ((0, side.start), (1, side.top))])
    flow = -1.0 if side.reversed else 1.0
    share = side.speed_share(flow * side.command(wanted))
    if np.diff(commands).min() > 1e-3:
        assert share == pytest.approx(wanted, abs=1e-12)
    elif side.command(wanted) != 0.0:
        # Of equal commands the largest share counts; nearly equal ones differ by rounding.
        steep = 1e-16 / max(np.diff(commands)[np.diff(commands) > 0.0].min(initial=1.0), 1e-16)
        assert abs(share) >= abs(wanted) - steep - 1e-12


@given(motor_sides())
def test_speed_is_odd_never_falls_and_is_zero_up_to_the_start(side):
    """Below the start the motor stands, and no command stands for more than full speed."""
    commands = np.arange(-200, 201) / 200  # mirrored to the last bit, as linspace is not
    share = side.speed_share(commands)
    np.testing.assert_array_equal(share, -share[::-1])
    assert np.diff(share).min() >= -1e-12
    assert np.abs(share).max() <= 1.0
    assert side.speed_share(0.0) == 0.0
    start = side.measured[0][1] if side.measured else side.start
    assert (share[np.abs(commands) < start - 1e-9] == 0.0).all()


def test_commands_measured_twice_stand_for_the_larger_speed():
    """A flat run in the measurement: its command gives the far end, 0 gives nothing (by hand)."""
    flat = Side(measured=((0.0, 0.0), (0.4, 0.0), (0.6, 0.5), (0.8, 0.5), (1.0, 1.0)))
    assert flat.speed_share([0.0, 0.25, 0.5]).tolist() == pytest.approx([0.0, 0.5, 0.8])


def test_below_a_start_measured_twice_the_motor_stands():
    """Less than the first command gives nothing, though that command gives half (by hand)."""
    late = Side(measured=((0.0, 0.1), (0.5, 0.1), (1.0, 1.0)))
    assert late.speed_share([0.05, 0.1, 1.0]).tolist() == [0.0, 0.5, 1.0]


def test_beyond_full_saturates():
    """2 counts as 1, on the way to the motor and on the way back."""
    assert Side(0.2, 0.8).command(2.0) == 0.8
    assert Side(0.2, 0.8).speed_share(-5.0) == -1.0


@pytest.mark.parametrize("side", [Side(0.2), Side(measured=MEASURED, reversed=True)])
@pytest.mark.parametrize("shape", [(0,), (3,), (2, 3)])
def test_shapes_are_kept_and_the_input_is_not_touched(side, shape):
    """Array in, new array of the same shape out; a number gives a float."""
    wanted = np.full(shape, -0.5)
    assert side.command(wanted).shape == side.speed_share(wanted).shape == shape
    assert (wanted == -0.5).all()
    assert type(side.command(1)) is float


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_nan_and_infinity_are_refused(bad):
    """With the first bad index."""
    with pytest.raises(ValueError, match="at index 1"):
        Side().command([0.0, bad])
    with pytest.raises(ValueError, match="at index 1"):
        Side().speed_share([0.0, bad])


@pytest.mark.parametrize("bad", [*NO_NUMBERS, *NOT_IN_RANGE], ids=lambda v: f"{v!r:.9}")
@pytest.mark.parametrize("name", ["start", "top"])
def test_absurd_numbers_are_refused(name, bad):
    """Start and top are checked, alone and in the pair of sides."""
    with pytest.raises(ValueError, match=f"Side: {name} = "):
        Side(**{name: bad})
    for side in ("left", "right"):
        with pytest.raises(ValueError, match=f"Sides: {side}_{name} = "):
            Sides(**{f"{side}_{name}": bad})


def test_a_top_below_the_start_is_refused():
    """Both are named; the pair of sides says so too."""
    with pytest.raises(ValueError, match=r"top = 0\.3 is not above start = 0\.4"):
        Side(0.4, 0.3)
    with pytest.raises(ValueError, match=r"top = 0\.3 is not above start = 0\.4"):
        Sides(right_start=0.4, right_top=0.3)


@pytest.mark.parametrize("name", ["left_reversed", "right_reversed", "swapped"])
def test_directions_are_yes_or_no(name):
    """Text in place of True or False is refused."""
    with pytest.raises(ValueError, match=f"Sides: {name} = 'no' is not yes or no"):
        Sides(**{name: "no"})


@pytest.mark.parametrize(
    ("points", "fault"),
    [
        ([(0.0, 0.1)], "1 points; give from 2 to 63"),
        ([(0.0, 0.1), (0.5, 0.2)], "first point is at share 0 and the last at share 1"),
        ([(0.1, 0.1), (1.0, 0.2)], "first point is at share 0 and the last at share 1"),
        ([(0.0, 0.1), (0.5, 0.3), (0.5, 0.4), (1.0, 1.0)], "shares ascend"),
        ([(0.0, 0.5), (1.0, 0.4)], "commands never fall"),
        ([(0.0, 0.1), (1.0, 1.1)], "from 0 to 1"),
        ([(0.0, -0.1), (1.0, 1.0)], "from 0 to 1"),
        ([(0.0, 0.1, 0.2), (1.0, 1.0, 1.0)], "each point is a pair"),
        ([0.0, 1.0], "each point is a pair"),
        ([(0.0, math.nan), (1.0, 1.0)], "must be a finite number"),
        ([(0.0, "0.1"), (1.0, 1.0)], "must be a number"),
        ("01", "is not a list"),
        (5, "is not a list"),
        (None, "is not a list"),
    ],
)
def test_measurements_that_make_no_map_are_refused(points, fault):
    """Number, order, range and sort of the points are checked, for each side by its name."""
    with pytest.raises(ValueError, match=f"Side: measured.*{fault}"):
        Side(measured=points)
    for side in ("left", "right"):
        with pytest.raises(ValueError, match=f"{side}_measured.*{fault}"):
            Sides(**{f"{side}_measured": points})


def test_too_many_points_are_refused():
    """63 points are allowed, 64 are not."""
    shares = np.linspace(0.0, 1.0, MOST_MEASURED + 1)
    with pytest.raises(ValueError, match="64 points"):
        Side(measured=np.stack([shares, shares], axis=1))
    shares = np.linspace(0.0, 1.0, MOST_MEASURED)
    assert Side(measured=np.stack([shares, shares], axis=1)).command(0.3) == pytest.approx(0.3)


def test_the_pair_builds_both_sides():
    """Left facts go to the left side, right facts to the right one."""
    pair = Sides(0.1, 0.2, 0.8, 0.9, True, False, True, MEASURED, ())
    assert pair.left == Side(0.1, 0.8, True, MEASURED)
    assert pair.right == Side(0.2, 0.9, False)
    assert pair.swapped


def test_sides_are_equal_by_value_and_cannot_be_changed():
    """Lists and arrays of the same points are the same measurement."""
    as_lists, as_array = (
        Side(measured=[list(p) for p in MEASURED]),
        Side(measured=np.array(MEASURED)),
    )
    assert as_lists == as_array == Side(measured=MEASURED)
    assert hash(as_lists) == hash(Side(measured=MEASURED))
    assert Sides(left_measured=MEASURED) == Sides(left_measured=np.array(MEASURED))
    with pytest.raises(dataclasses.FrozenInstanceError):
        as_lists.start = 0.3
