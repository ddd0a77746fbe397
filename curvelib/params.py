"""Facts about every adjustable number, kept once, and the checks made from them.

A field of a frozen dataclass is annotated with a `Param`.  The constructor's
check, the slider, the file model, the error texts and the sheet all read it
from there, so no range or label is written twice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from functools import lru_cache
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

# Kinds of numpy arrays that numpy would turn into floats all the same: text,
# bytes, complex numbers, dates and spans of time.
_NO_NUMBERS = "UScMm"


@dataclass(frozen=True)
class Param:
    """One adjustable number: its range, step, unit and words.

    Parameters
    ----------
    low, high : float
        Least and greatest allowed value, in `unit`.  Both are finite.
    step : float
        Slider step, in `unit`.
    label : str
        Two or three words for a slider or a heading.
    help : str
        One line that says what the number does.
    unit : str
        SI unit or "us" (microseconds of a pulse), "" for a bare number.
    inside : bool
        True where `low` and `high` themselves are not allowed.
    """

    low: float
    high: float
    step: float
    label: str
    help: str
    unit: str = ""
    inside: bool = False

    def allows(self, value: float) -> bool:
        """Say whether `value` is finite and in range."""
        if not math.isfinite(value):
            return False
        if self.inside:
            return self.low < value < self.high
        return self.low <= value <= self.high

    def wanted(self) -> str:
        """Say in words what would be right."""
        unit = f" {self.unit}" if self.unit else ""
        if self.inside:
            return f"a number above {self.low:g} and below {self.high:g}{unit}"
        return f"a number from {self.low:g} to {self.high:g}{unit}"


@lru_cache(maxsize=256)
def params_of(cls: type) -> dict[str, Param]:
    """Return the `Param` of each annotated field of a dataclass, in field order."""
    hints = get_type_hints(cls, include_extras=True)
    found: dict[str, Param] = {}
    for field in fields(cls):
        param = _find_param(hints[field.name])
        if param is not None:
            found[field.name] = param
    return found


@lru_cache(maxsize=256)
def plain_types(cls: type) -> dict[str, Any]:
    """Return the type of each field without its annotations."""
    return get_type_hints(cls)


def is_whole(cls: type, name: str) -> bool:
    """Say whether the field takes whole numbers only."""
    hint = plain_types(cls)[name]
    return int in (get_args(hint) or (hint,))


def may_be_missing(cls: type, name: str) -> bool:
    """Say whether None stands for "not known" in this field."""
    return type(None) in get_args(plain_types(cls)[name])


def _find_param(hint: Any) -> Param | None:
    """Look for a `Param` in ``Annotated[float, Param]`` or in a union with None."""
    for extra in getattr(hint, "__metadata__", ()):
        if isinstance(extra, Param):
            return extra
    if get_origin(hint) in (Union, UnionType):
        for part in get_args(hint):
            param = _find_param(part)
            if param is not None:
                return param
    return None


class Checked:
    """Base of the frozen dataclasses whose fields are checked on construction.

    A number given as an int is stored as a float where the field is a float.
    Text, ``True`` and ``None`` are no numbers (``None`` only where the field
    allows it); NaN, infinity and values out of range raise `ValueError`, and so
    do words that are not among the field's choices and yes-or-no fields that
    hold anything but True or False.
    """

    def __post_init__(self) -> None:
        """Check every field that carries a `Param`, is one of several words, or is yes or no."""
        cls: Any = type(self)
        params = params_of(cls)
        for name, hint in plain_types(cls).items():
            value, where = getattr(self, name), f"{cls.__name__}: {name}"
            if name not in params:
                _check_choice(value, hint, where)
            elif value is not None or not may_be_missing(cls, name):
                checked = _checked_field(value, params[name], hint, where, is_whole(cls, name))
                object.__setattr__(self, name, checked)


def _check_choice(value: Any, hint: Any, where: str) -> None:
    """Refuse a word that is not among a field's choices, and what is neither True nor False."""
    if get_origin(hint) is Literal and not (isinstance(value, str) and value in get_args(hint)):
        choices = ", ".join(repr(word) for word in get_args(hint))
        raise ValueError(f"{where} = {value!r} is not known; give one of {choices}.")
    if hint is bool and not isinstance(value, bool | np.bool_):
        raise ValueError(f"{where} = {value!r} is not yes or no; give True or False.")


def _checked_field(value: Any, param: Param, hint: Any, where: str, whole: bool) -> Any:
    """Return a number, or a tuple of them where the field is a list."""
    origin: Any = get_origin(hint)
    if origin is not tuple:
        return checked_number(value, param, where, whole)
    return tuple(
        checked_number(item, param, f"{where}[{place}]", whole)
        for place, item in enumerate(items_of(value, where))
    )


def items_of(value: Any, where: str) -> list[Any]:
    """Return the items of a list, or raise `ValueError` where `value` is none."""
    try:
        if not isinstance(value, str):
            return list(value)
    except TypeError:
        pass
    raise ValueError(f"{where} = {value!r} is not a list; give a list of numbers.")


def checked_number(value: Any, param: Param, where: str, whole: bool = False) -> float | int:
    """Return `value` as a float (or int), or raise `ValueError` saying what would be right."""
    if isinstance(value, bool | np.bool_) or not isinstance(
        value, int | float | np.integer | np.floating
    ):
        raise ValueError(f"{where} = {value!r} is not a number; give {param.wanted()}.")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not param.allows(number):
        raise ValueError(f"{where} = {number:g} is out of range; give {param.wanted()}.")
    if not whole:
        return number
    if number != int(number):
        raise ValueError(f"{where} = {number:g} is not a whole number; give {param.wanted()}.")
    return int(number)


def finite_array(values: ArrayLike, what: str) -> FloatArray:
    """Return `values` as a new float64 array, or raise `ValueError` naming the first bad index.

    Parameters
    ----------
    values : array_like
        Any shape.  The input is never changed.
    what : str
        What the values are, for the message.
    """
    try:
        given = np.asarray(values)
        if given.dtype.kind in _NO_NUMBERS:
            raise TypeError
        array = np.array(given, dtype=np.float64)
    except (TypeError, ValueError, OverflowError):
        raise ValueError(f"The {what} must be a number or an array of numbers.") from None
    bad = ~np.isfinite(array)
    if bad.any():
        first = np.unravel_index(int(np.argmax(bad)), array.shape)
        place = f" at index {', '.join(str(int(i)) for i in first)}" if array.ndim else ""
        raise ValueError(
            f"The {what} is {array[first]}{place}; every value must be a finite number."
        )
    return array
