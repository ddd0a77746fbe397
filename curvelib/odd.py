"""What every odd, non-decreasing curve on -1..1 can do, stage or whole shape."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import TYPE_CHECKING, Any, overload

import numpy as np
from numpy.typing import ArrayLike

from curvelib.params import FloatArray, finite_array

if TYPE_CHECKING:
    import sympy


class OddCurve(ABC):
    """An odd, continuous, non-decreasing curve through (0, 0) on -1..1.

    A subclass says what happens on 0..1; this class mirrors it, saturates
    positions outside -1..1, refuses NaN and infinity, and keeps shapes:
    float in, float out; array in, new float64 array of the same shape out.
    """

    @abstractmethod
    def _rise(self, x: FloatArray) -> FloatArray:
        """Value for 0 <= x <= 1."""

    @abstractmethod
    def _steepness(self, x: FloatArray) -> FloatArray:
        """Slope for 0 <= x <= 1; at a corner the slope on the side away from 0."""

    @abstractmethod
    def _undo(self, y: FloatArray) -> FloatArray:
        """Smallest x with value y, for y from 0 to the value at 1."""

    @abstractmethod
    def _steepness_range(self, a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Bounds of the slope on each [a, b]; no knot lies inside."""

    @property
    @abstractmethod
    def knots(self) -> tuple[float, ...]:
        """Positions in 0..1, ends excluded, where the formula changes, ascending."""

    @property
    @abstractmethod
    def starts_at(self) -> float:
        """Where motion begins: the largest position in 0..1 whose value is still 0."""

    @property
    @abstractmethod
    def first_slope(self) -> float:
        """Slope just beyond `starts_at`, the honest "slope at the centre"."""

    @overload
    def __call__(self, x: float) -> float: ...
    @overload
    def __call__(self, x: ArrayLike) -> Any: ...
    def __call__(self, x: ArrayLike) -> Any:
        """Shape a stick position.

        Parameters
        ----------
        x : float or array_like
            Stick position, -1..1; beyond that it saturates.

        Returns
        -------
        float or ndarray of float64
            Shaped value, -1..1, same shape as `x`.

        Raises
        ------
        ValueError
            If a value is NaN or infinite; the message names the first bad index.
        """
        position = finite_array(x, "stick position")
        value = np.copysign(self._rise(np.minimum(np.abs(position), 1.0)), position)
        return _like(x, value)

    @overload
    def slope(self, x: float) -> float: ...
    @overload
    def slope(self, x: ArrayLike) -> Any: ...
    def slope(self, x: ArrayLike) -> Any:
        """Slope of the curve at a stick position.

        Parameters
        ----------
        x : float or array_like
            Stick position.

        Returns
        -------
        float or ndarray of float64
            Slope, 0 or more, even in `x`.  At a corner it is the slope on the
            side away from 0; beyond -1..1, where the curve saturates, it is 0.

        Raises
        ------
        ValueError
            If a value is NaN or infinite.
        """
        distance = np.abs(finite_array(x, "stick position"))
        value = self._steepness(np.minimum(distance, 1.0))
        return _like(x, np.where(distance > 1.0, 0.0, value))

    @overload
    def inverse(self, y: float) -> float: ...
    @overload
    def inverse(self, y: ArrayLike) -> Any: ...
    def inverse(self, y: ArrayLike) -> Any:
        """Stick position of smallest magnitude that gives a value.

        Parameters
        ----------
        y : float or array_like
            Wanted value, within -top..top where top is the value at full stick.

        Returns
        -------
        float or ndarray of float64
            Stick position, -1..1.  Odd; 0 for 0, inside a dead zone too.

        Raises
        ------
        ValueError
            If a value is out of reach, NaN or infinite; names the first bad index.
        """
        wanted = finite_array(y, "wanted value")
        size = np.abs(wanted)
        top = float(self._rise(np.float64(1.0) + np.zeros(())))
        beyond = size > top
        if beyond.any():
            first = np.unravel_index(int(np.argmax(beyond)), wanted.shape)
            place = f" at index {', '.join(str(int(i)) for i in first)}" if wanted.ndim else ""
            raise ValueError(
                f"The wanted value {wanted[first]:g}{place} is out of reach; "
                f"this curve gives from {-top:g} to {top:g}."
            )
        position = np.clip(self._undo(size), 0.0, 1.0)
        return _like(y, np.copysign(position, wanted))

    def formula(self) -> sympy.Expr:
        """Exact formula in the sympy symbol ``x``, valid for 0 <= x <= 1."""
        from curvelib import exact

        return exact.formula(self)


def _like(given: ArrayLike, value: FloatArray) -> Any:
    """Return a float for a number, an array for everything else, and no negative zeros."""
    plain = np.asarray(value + 0.0)
    return float(plain) if np.ndim(given) == 0 and not isinstance(given, np.ndarray) else plain
