"""Tables in whole numbers, as controllers take them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from curvelib.odd import OddCurve
from curvelib.output import Output

IntArray = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class CodedTable:
    """A table with whole-number positions and values.

    Parameters
    ----------
    x : ndarray of int64, shape (points,)
        Positions, strictly ascending from -input to input.
    y : ndarray of int64, shape (points,)
        Values in output units, non-decreasing; the code of 0 at 0, the ends
        at the ends.
    max_error : float
        Largest distance in output units between the table, read by straight
        lines, and the exact shape, over every whole-number input.
    """

    x: IntArray
    y: IntArray
    max_error: float

    def lookup(self, x: ArrayLike) -> Any:
        """Read the table by straight lines; saturates at its ends."""
        value = np.interp(np.asarray(x, dtype=np.float64), self.x, self.y)
        return float(value) if np.ndim(x) == 0 else value


def code_table(
    shape: OddCurve, x: NDArray[np.float64], y: NDArray[np.float64], full: int, output: Output
) -> CodedTable:
    """Round a table to whole numbers.

    Parameters
    ----------
    shape : OddCurve
        The exact curve.
    x, y : ndarray, shape (n,)
        Breakpoints from 0 to 1 and the values there.
    full : int
        Whole number that stands for position 1.
    output : Output
        Code of the values.

    Raises
    ------
    ValueError
        If two breakpoints become the same whole number.
    """
    positions = whole_positions(x, full)
    # Taken again at the rounded place; a fitted table keeps its shift off the curve.
    values = np.asarray(shape(positions / full) + (y - shape(x)))
    values[0], values[-1] = 0.0, float(shape(1.0))
    values = np.clip(np.maximum.accumulate(values), 0.0, values[-1])
    up = np.asarray(output.units(values))
    down = np.asarray(output.units(-values))
    both_x = np.concatenate([-positions[:0:-1], positions])
    both_y = np.concatenate([down[:0:-1], up])
    every = np.arange(-full, full + 1)
    exact = exact_units(shape, every / full, output)
    error = float(np.abs(np.interp(every, both_x, both_y) - exact).max())
    return CodedTable(both_x, both_y, error)


def whole_positions(x: NDArray[np.float64], full: int) -> IntArray:
    """Round breakpoints from 0 to 1 up to whole numbers, refusing to merge two.

    Rounding up makes ``(position * segments) // full`` find the right segment
    of an even table without a search.
    """
    if not isinstance(full, int | np.integer) or isinstance(full, bool) or not 1 <= full <= 2**30:
        raise ValueError(f"input = {full!r}; give the whole number that stands for full stick.")
    positions = np.ceil(np.asarray(x) * full - 1e-6).astype(np.int64)
    if (np.diff(positions) < 1).any():
        raise ValueError(
            f"{len(x)} points a side are too close for a stick of {full} steps a side; "
            "give fewer points or a finer input."
        )
    return positions


def exact_units(shape: OddCurve, x: NDArray[np.float64], output: Output) -> NDArray[np.float64]:
    """Output units of the exact shape, not rounded."""
    value = np.asarray(shape(x))
    below, above = output.spans
    return output.zero + value * np.where(value < 0.0, below, above)
