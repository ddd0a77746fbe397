"""Facts about adjustable numbers stand once, and the constructors' checks follow them."""

import math
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
import pytest
from core.strategies import NO_NUMBERS, NOT_IN_RANGE

import curvelib.tune  # noqa: F401  its dataclasses are among those looked at
from curvelib.params import (
    Checked,
    Param,
    checked_number,
    finite_array,
    is_whole,
    may_be_missing,
    params_of,
    plain_types,
)

SHARE = Param(0.0, 1.0, 0.01, "Share", "A share of something.")
LENGTH = Param(0.0, 5.0, 0.01, "Length", "Some length.", "m", inside=True)
COUNT = Param(3, 100, 1, "Count", "How many.")


@dataclass(frozen=True)
class Sample(Checked):
    """An invented dataclass with one field of every sort."""

    share: Annotated[float, SHARE] = 0.5
    length: Annotated[float | None, LENGTH] = None
    count: Annotated[int | None, COUNT] = None
    many: Annotated[tuple[float, ...], SHARE] = ()
    colour: Literal["red", "blue"] = "red"
    lit: bool = False
    free: str = "anything"


def _checked_classes(base=Checked):
    for cls in base.__subclasses__():
        yield cls
        yield from _checked_classes(cls)


def _library_fields():
    return [
        pytest.param(param, id=f"{cls.__name__}.{name}")
        for cls in _checked_classes()
        if cls.__module__.startswith("curvelib") and hasattr(cls, "__dataclass_fields__")
        for name, param in params_of(cls).items()
    ]


@pytest.mark.parametrize("param", _library_fields())
def test_every_fact_of_the_library_is_whole_and_finite(param):
    """Range, step, label and help of each field serve a slider and a sheet as they are."""
    assert math.isfinite(param.low)
    assert math.isfinite(param.high)
    assert param.low < param.high
    assert 0 < param.step <= param.high - param.low
    assert param.label == param.label.strip() != ""
    assert param.help.endswith(".")
    assert "\n" not in param.help


def test_the_facts_looked_at_are_many():
    """The test above does not pass for want of fields."""
    names = {field.id for field in _library_fields()}
    assert {"CubicBlend.blend", "Points.x", "SlewLimit.to_full", "Machine.track_m"} <= names


def test_ends_of_a_range_are_allowed_unless_they_are_outside():
    """0 and 1 belong to a plain range, and do not where `inside` is asked for."""
    assert [SHARE.allows(v) for v in (-1e-9, 0.0, 1.0, 1.0 + 1e-9)] == [False, True, True, False]
    assert [LENGTH.allows(v) for v in (0.0, 5e-324, 4.999, 5.0)] == [False, True, True, False]
    assert not SHARE.allows(math.nan)


def test_what_would_be_right_is_said_in_words():
    """The words name both ends, whether they count, and the unit."""
    assert SHARE.wanted() == "a number from 0 to 1"
    assert LENGTH.wanted() == "a number above 0 and below 5 m"


def test_facts_are_found_in_field_order_and_inside_unions():
    """A field may be annotated directly, with None allowed, or as a list."""
    assert list(params_of(Sample)) == ["share", "length", "count", "many"]
    assert params_of(Sample)["length"] is LENGTH

    @dataclass(frozen=True)
    class Outside(Checked):
        inner: Annotated[float, SHARE] | None = None

    assert params_of(Outside) == {"inner": SHARE}


def test_the_sort_of_a_field_is_read_from_its_type():
    """Whole numbers and fields that may be unknown are told from the annotation."""
    assert [is_whole(Sample, name) for name in ("share", "count")] == [False, True]
    assert [may_be_missing(Sample, name) for name in ("share", "length")] == [False, True]
    assert plain_types(Sample)["length"] == float | None


@pytest.mark.parametrize("bad", NO_NUMBERS, ids=repr)
def test_what_is_no_number_is_refused(bad):
    """Text, True, None and the like are named, with what would be right."""
    with pytest.raises(ValueError, match=r"Sample: share = .* is not a number; give a number"):
        Sample(share=bad)


@pytest.mark.parametrize("bad", [np.bool_(True), np.complex128(1), np.array([0.5])], ids=repr)
def test_numpy_values_that_are_no_number_are_refused(bad):
    """A numpy truth value, a complex number and an array are no single number."""
    with pytest.raises(ValueError, match="is not a number"):
        Sample(share=bad)


@pytest.mark.parametrize("bad", NOT_IN_RANGE, ids=lambda v: f"{v!r:.8}")
def test_numbers_out_of_range_are_refused(bad):
    """NaN, infinity and numbers too large for any float are out of range."""
    with pytest.raises(ValueError, match=r"share = .* is out of range; give a number from 0 to 1"):
        Sample(share=bad)


@pytest.mark.parametrize("good", [1, np.float32(0.5), np.int64(1), np.float64(0.25), np.uint8(0)])
def test_numbers_of_every_sort_become_plain_floats(good):
    """An int or a numpy number is stored as a Python float of the same value."""
    kept = Sample(share=good).share
    assert type(kept) is float
    assert kept == good


def test_whole_numbers_stay_whole():
    """3.0 counts as 3, 3.5 does not count, 2 is too few."""
    assert Sample(count=3.0).count == 3
    assert type(Sample(count=3.0).count) is int
    with pytest.raises(ValueError, match="is not a whole number"):
        Sample(count=3.5)
    with pytest.raises(ValueError, match="out of range"):
        Sample(count=2)


def test_none_counts_only_where_it_is_allowed():
    """Not known is a value of some fields and not of others."""
    assert Sample(length=None).length is None
    with pytest.raises(ValueError, match="share = None is not a number"):
        Sample(share=None)


def test_lists_are_checked_item_by_item():
    """A list, a tuple and an array are kept as a tuple of floats; a fault names its place."""
    assert Sample(many=np.array([0.1, 0.2])).many == Sample(many=[0.1, 0.2]).many == (0.1, 0.2)
    with pytest.raises(ValueError, match=r"Sample: many\[1\] = 2 is out of range"):
        Sample(many=[0.5, 2])


@pytest.mark.parametrize("bad", ["0.5", 0.5, None, np.array(0.5)], ids=repr)
def test_what_is_no_list_is_refused(bad):
    """Text and single numbers are no lists."""
    with pytest.raises(ValueError, match="is not a list; give a list of numbers"):
        Sample(many=bad)


@pytest.mark.parametrize("bad", ["green", "Red", "", None, 1, ["red"]], ids=repr)
def test_a_word_must_be_one_of_the_choices(bad):
    """A word that is not known is refused, and the known ones are listed."""
    with pytest.raises(ValueError, match=r"colour = .* is not known; give one of 'red', 'blue'"):
        Sample(colour=bad)


@pytest.mark.parametrize("bad", ["yes", 1, 0, None], ids=repr)
def test_yes_or_no_takes_nothing_else(bad):
    """A number or text in place of True or False is refused."""
    with pytest.raises(ValueError, match=r"lit = .* is not yes or no"):
        Sample(lit=bad)
    assert Sample(lit=True).lit


def test_a_number_is_checked_against_its_fact():
    """The check returns the number as a float, or as an int where whole ones are asked for."""
    assert checked_number(1, SHARE, "it") == 1.0
    assert type(checked_number(1, SHARE, "it")) is float
    assert type(checked_number(4, COUNT, "it", whole=True)) is int


@pytest.mark.parametrize(
    ("values", "place"),
    [
        ([0.0, math.nan, math.inf], "nan at index 1;"),
        ([[0.0, 1.0], [-math.inf, math.nan]], "-inf at index 1, 0;"),
        (math.inf, "inf; every"),
        ([0.0, None], "nan at index 1;"),
    ],
)
def test_the_first_bad_value_is_named(values, place):
    """NaN and infinity are refused with the index of the first, in every shape."""
    with pytest.raises(ValueError, match=f"The thing is {place}"):
        finite_array(values, "thing")


@pytest.mark.parametrize(
    "bad", ["0.5", ["0.5"], b"1", 1j, [1j], [[1.0], [1.0, 2.0]], 10**400, object()], ids=repr
)
def test_what_is_no_array_of_numbers_is_refused(bad):
    """Text is not turned into numbers, complex numbers lose no part, ragged lists do not pass."""
    with pytest.raises(ValueError, match="The thing must be a number or an array of numbers"):
        finite_array(bad, "thing")


def test_the_array_is_a_new_one():
    """Changing the result leaves the caller's array alone."""
    given = np.array([0.25, 0.5])
    finite_array(given, "thing")[0] = 9.0
    assert given.tolist() == [0.25, 0.5]
