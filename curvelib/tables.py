"""Lookup tables of a shape, with an error bound that is certified, not sampled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from curvelib.certified import certified_error
from curvelib.coded import CodedTable, code_table
from curvelib.odd import OddCurve
from curvelib.output import Output
from curvelib.params import FloatArray, finite_array

Spacing = Literal["even", "fitted"]
LEAST_POINTS, MOST_POINTS = 3, 1025
# A breakpoint that misses the edge of a dead zone by rounding alone leaks nothing.
_NO_LEAK = 1e-12


@dataclass(frozen=True, eq=False)
class Table:
    """Breakpoints of a shape over -1..1, read by straight lines between them.

    Build it with `Table.from_shape`.

    Parameters
    ----------
    x, y : ndarray of float64, shape (points,)
        Positions, strictly ascending from -1 to 1, and values, non-decreasing.
        Odd: x and y are mirrored about the middle point, which is (0, 0).
    max_error : float
        Certified bound of |lookup(x) - shape(x)| over -1..1, tight to 1e-9.
    spacing : {"even", "fitted"}
        How the positions were chosen.
    shape : OddCurve
        The exact curve.
    dead_zone : float
        Where the shape begins to move; 0 where it has no dead zone.
    leak : float
        Largest value that a plain lookup gives inside the dead zone, where
        the shape gives 0; 0 where a breakpoint sits on the edge.
    """

    x: FloatArray
    y: FloatArray
    max_error: float
    spacing: Spacing
    shape: OddCurve
    dead_zone: float = 0.0
    leak: float = 0.0

    @classmethod
    def from_shape(cls, shape: OddCurve, points: int = 33, spacing: Spacing = "even") -> Table:
        """Make the table of a shape.

        Parameters
        ----------
        shape : Shape or stage
            Any odd curve of this library.
        points : int
            Number of breakpoints over -1..1, odd, from 3 to 1025; 33 points
            are 16 segments a side.
        spacing : {"even", "fitted"}
            "even": equal distances, values on the curve.  "fitted": breakpoints
            placed, and values shifted, to make the largest error least.

        Returns
        -------
        Table

        Raises
        ------
        ValueError
            If the number of points or the spacing is not one of these.
        """
        check_points(points)
        segments = (points - 1) // 2
        if spacing == "even":
            x = np.arange(segments + 1) / segments
            y = shape(x)
        elif spacing == "fitted":
            from curvelib.fitted import fit

            x, y = fit(shape, segments)
        else:
            raise ValueError(f"spacing = {spacing!r} is not known; give 'even' or 'fitted'.")
        return cls._mirrored(shape, x, y, spacing)

    @classmethod
    def fewest(cls, shape: OddCurve, max_error: float) -> Table:
        """Make the fitted table with the fewest points that keeps within an error.

        Parameters
        ----------
        shape : Shape or stage
            Any odd curve of this library.
        max_error : float
            Largest allowed distance to the exact shape, as a share of full:
            0.005 for half a percent.

        Returns
        -------
        Table
            Its `max_error` is at most the one asked for, and no table with
            fewer points, pinned at 0, +-1 and the edge of a dead zone, keeps
            within it (but where the bound and what fewer points can do differ
            by less than 1e-5 of it, or 3e-10 of full).

        Raises
        ------
        ValueError
            If `max_error` is not above 0, or needs more points than a table holds.
        """
        from curvelib.fitted import fewest

        if not (np.isfinite(max_error) and max_error > 0.0):
            raise ValueError(
                f"max_error = {max_error!r}; give a share of full above 0, such as 0.005."
            )
        found = fewest(shape, max_error, (MOST_POINTS - 1) // 2)
        if found is None:
            least = cls.from_shape(shape, MOST_POINTS, "fitted").max_error
            raise ValueError(
                f"max_error = {max_error:g} needs more than {MOST_POINTS} points, "
                f"which reach {least:.2g}; give a larger one."
            )
        return cls._mirrored(shape, found.x, found.y, "fitted")

    @classmethod
    def _mirrored(cls, shape: OddCurve, x: FloatArray, y: FloatArray, spacing: Spacing) -> Table:
        dead = shape.starts_at
        leak = float(np.interp(dead, x, y)) if 0.0 < dead < 1.0 else 0.0
        leak = leak if leak > _NO_LEAK else 0.0
        both_x = np.concatenate([-x[:0:-1], x])
        both_y = np.concatenate([-y[:0:-1], y])
        both_x.flags.writeable = both_y.flags.writeable = False
        error = certified_error(shape, x, y)
        return cls(both_x, both_y, error, spacing, shape, dead, leak)

    def lookup(self, x: ArrayLike) -> Any:
        """Read the table by straight lines; float in, float out; saturates outside -1..1."""
        position = finite_array(x, "position")
        value = np.interp(position, self.x, self.y)
        return float(value) if np.ndim(x) == 0 else value

    def coded(self, input: int, output: int | Output) -> CodedTable:
        """Round the table to whole numbers.

        Parameters
        ----------
        input : int
            Whole number that stands for position 1.
        output : int or Output
            Whole number that stands for value 1, or a machine's output code.

        Returns
        -------
        CodedTable
            Values taken again at the rounded breakpoints; zero at zero, ends at
            ends, order in order.  Its `max_error`, in output units, is over
            every whole-number input.

        Raises
        ------
        ValueError
            If two breakpoints become the same whole number, or a full value is
            not a whole number in range.
        """
        code = output if isinstance(output, Output) else Output("signed", full=output)
        middle = self.segments
        return code_table(self.shape, self.x[middle:], self.y[middle:], input, code)

    @property
    def segments(self) -> int:
        """Segments a side."""
        return (len(self.x) - 1) // 2

    def leak_words(self) -> str:
        """Say what a plain lookup does inside the dead zone; empty where it does nothing wrong."""
        if self.leak == 0.0:
            return ""
        return (
            f"A plain lookup of these points leaks: inside the dead zone of "
            f"{100 * self.dead_zone:.4g} % of the travel, where the command should be 0, "
            f"it gives up to {100 * self.leak:.2g} % of full. "
            "Test for the dead zone before the lookup, or use fitted points."
        )


def check_points(points: int) -> None:
    """Raise `ValueError` unless `points` is an odd whole number in range."""
    whole = isinstance(points, int | np.integer) and not isinstance(points, bool)
    if not whole or points % 2 == 0 or not LEAST_POINTS <= points <= MOST_POINTS:
        raise ValueError(
            f"points = {points!r}; give an odd whole number from {LEAST_POINTS} to {MOST_POINTS}, "
            "so that one point is the centre."
        )
