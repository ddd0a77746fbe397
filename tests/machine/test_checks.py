"""The checks that all modules of the machine share."""

import numpy as np
import pytest

from curvelib.machine import checks


def test_a_bad_value_is_named_with_its_place_and_what_would_be_right():
    """The message names the quantity, the value, the index and the range."""
    with pytest.raises(
        ValueError, match=r"track is -0\.5 m at index 1; give .* from 1e-06 to 1e\+06"
    ):
        checks.positive([0.5, -0.5, -0.7], "track", "m")


def test_a_bad_number_alone_has_no_index():
    """A lone number is named without a place."""
    with pytest.raises(ValueError, match=r"^The slope is 2 rad; give a number from"):
        checks.slope_angle(2.0)


@pytest.mark.parametrize("bad", ["1", True, None, [1.0, None], [[1.0], [1.0, 2.0]], 1j, object()])
def test_what_is_no_number_is_refused(bad):
    """Text, True, None, complex numbers and ragged lists are no numbers."""
    with pytest.raises(ValueError, match=r"must be a number or an array of numbers"):
        checks.signed(bad, "speed")


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_nan_and_infinity_name_their_index(bad):
    """The first bad index of a 2-d array is given in full."""
    with pytest.raises(ValueError, match=r"at index 1, 0"):
        checks.signed([[0.0, 1.0], [bad, bad]], "speed")


def test_the_input_is_copied():
    """A result can be changed without changing what was given."""
    given = np.array([1.0, 2.0])
    checks.signed(given, "speed")[0] = 9.0
    assert given[0] == 1.0


def test_shapes_that_do_not_go_together_are_named():
    """The message lists every shape."""
    with pytest.raises(ValueError, match=r"left \(2,\), right \(3,\)"):
        checks.broadcast(left=np.zeros(2), right=np.zeros(3))


def test_only_numbers_give_floats_back():
    """A 0-d result is a plain float without a negative zero; anything else stays an array."""
    alone = checks.as_given(np.asarray(-0.0))
    assert type(alone) is float
    assert alone == 0.0
    assert np.copysign(1.0, alone) == 1.0
    assert isinstance(checks.as_given(np.zeros(1)), np.ndarray)


@pytest.mark.parametrize("dt", [[0.1, 0.1], [[0.1], [0.1], [0.1]]])
def test_time_steps_must_match_their_samples(dt):
    """One number or one per step, nothing else."""
    with pytest.raises(ValueError, match=r"one per step"):
        checks.time_steps(dt, 3)


def test_time_does_not_run_backwards():
    """A negative step is refused with its index."""
    with pytest.raises(ValueError, match=r"dt is -0.1 s at index 1"):
        checks.time_steps([0.1, -0.1], 2)


def test_time_steps_are_one_for_all_or_one_each():
    """A number is repeated, a list taken as it is; 0 is a step."""
    np.testing.assert_array_equal(checks.time_steps(0.1, 3), [0.1, 0.1, 0.1])
    np.testing.assert_array_equal(checks.time_steps([0.1, 0.0, 0.3], 3), [0.1, 0.0, 0.3])


@pytest.mark.parametrize(
    ("check", "good", "bad"),
    [
        (lambda x: checks.not_negative(x, "x"), (0.0, 1e6), (-5e-324, 1.0001e6)),
        (lambda x: checks.positive(x, "x"), (1e-6, 1e6), (0.0, 0.9e-6, 1.0001e6)),
        (lambda x: checks.signed(x, "x"), (-1e6, 1e6), (-1.0001e6, 1.0001e6)),
        (checks.slope_angle, (-np.pi / 2, np.pi / 2), (-1.571, 1.571)),
        (checks.friction_coefficient, (0.0, 5.0), (-0.01, 5.01)),
    ],
)
def test_each_range_includes_its_ends_and_no_more(check, good, bad):
    """Both ends are allowed; what lies just outside is not."""
    for value in good:
        assert check(value) == value
    for value in bad:
        with pytest.raises(ValueError, match="give a number from"):
            check(value)
