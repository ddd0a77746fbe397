"""Checks shared by the modules of the machine: finite, in range, float in gives float out."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from curvelib.params import FloatArray, finite_array

# A float where every input was a number, else an array of the broadcast shape.
FloatOrArray: TypeAlias = Any

# Bounds that no ground machine comes near; they keep every result finite.
LARGEST = 1e6
SMALLEST = 1e-6
# Beyond this friction coefficient nothing that rolls is known to go.
MOST_FRICTION = 5.0


def numbers(values: ArrayLike, what: str) -> FloatArray:
    """Return `values` as a float64 array, the same one if it is such, NaN and infinity included.

    Raises
    ------
    ValueError
        For text, True, None or lists that make no array.
    """
    try:
        array = np.asarray(values)
    except ValueError:
        array = np.asarray(None)
    if array.dtype.kind not in "iuf":
        raise ValueError(
            f"The {what} must be a number or an array of numbers; text, True and None are none."
        )
    return array.astype(np.float64, copy=False)


def finite(values: ArrayLike, what: str) -> FloatArray:
    """Return `values` as a new float64 array, or raise `ValueError` naming the first bad index."""
    return finite_array(numbers(values, what), what)


def within(values: ArrayLike, what: str, low: float, high: float, unit: str = "") -> FloatArray:
    """Return `values` as a new array, or raise `ValueError` naming the first bad index.

    Parameters
    ----------
    values : array_like
        Any shape; never changed.
    what, unit : str
        For the message: what the values are and in which unit.
    low, high : float
        Least and greatest allowed value, both allowed.
    """
    array = finite(values, what)
    bad = (array < low) | (array > high)
    if bad.any():
        first = np.unravel_index(int(np.argmax(bad)), array.shape)
        place = f" at index {', '.join(str(int(i)) for i in first)}" if array.ndim else ""
        name = f" {unit}" if unit else ""
        raise ValueError(
            f"The {what} is {array[first]:g}{name}{place}; "
            f"give a number from {low:g} to {high:g}{name}."
        )
    return array


def signed(values: ArrayLike, what: str, unit: str = "") -> FloatArray:
    """Return finite values of either sign."""
    return within(values, what, -LARGEST, LARGEST, unit)


def positive(values: ArrayLike, what: str, unit: str = "") -> FloatArray:
    """Return values above 0 (at least a millionth)."""
    return within(values, what, SMALLEST, LARGEST, unit)


def not_negative(values: ArrayLike, what: str, unit: str = "") -> FloatArray:
    """Return values of 0 or more."""
    return within(values, what, 0.0, LARGEST, unit)


def slope_angle(values: ArrayLike, what: str = "slope") -> FloatArray:
    """Return slopes in rad, a right angle either way at most."""
    return within(values, what, -np.pi / 2.0, np.pi / 2.0, "rad")


def friction_coefficient(values: ArrayLike) -> FloatArray:
    """Return coefficients of friction, 0 or more."""
    return within(values, "friction coefficient", 0.0, MOST_FRICTION)


def as_given(value: FloatArray) -> FloatOrArray:
    """Return a float for a 0-d result, an array for every other, without negative zeros."""
    plain = value + 0.0
    return float(plain) if np.ndim(plain) == 0 else plain


def broadcast(**named: FloatArray) -> list[FloatArray]:
    """Broadcast arrays against each other, or raise `ValueError` naming their shapes."""
    try:
        return [np.asarray(array) for array in np.broadcast_arrays(*named.values())]
    except ValueError:
        shapes = ", ".join(f"{name} {np.shape(array)}" for name, array in named.items())
        raise ValueError(
            f"These shapes do not go together: {shapes}; give numbers or arrays of one shape."
        ) from None


def time_steps(dt: ArrayLike, count: int) -> FloatArray:
    """Return `count` time steps in s, each 0 or more, from a number or one per sample."""
    steps = not_negative(dt, "time step dt", "s")
    if steps.ndim > 1 or (steps.ndim == 1 and len(steps) != count):
        raise ValueError(
            f"dt has shape {steps.shape} for {count} steps; give one number or one per step."
        )
    return np.broadcast_to(steps, (count,))
