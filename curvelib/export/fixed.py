"""A table in integer arithmetic: the numbers that C and structured text share.

Values are kept in 1/32768 of an output unit and slopes are rounded down, so
that a segment never rises past the next breakpoint: the result is monotone.
Everything fits 32 bits: a value is at most 32767 * 32768, and a slope times
its distance never passes the rise of its segment.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curvelib.coded import exact_units, whole_positions
from curvelib.output import Output
from curvelib.tables import Table

FULL_IN = 16384
FRACTION_BITS = 15
_ONE = 1 << FRACTION_BITS
IntArray = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class FixedTable:
    """Integer table of one half, 0..16384, and how its result becomes output units.

    Parameters
    ----------
    edges : ndarray of int64, shape (segments + 1,)
        Breakpoints, 0 to 16384.
    up_value, up_slope, down_value, down_slope : ndarray of int64
        Value at each edge and slope of each segment for positive and for
        negative positions, in 1/32768 output units; they differ where the
        output's two spans do.
    dead : int
        Inputs of at most this size give exactly `zero`; -1 where there is none.
    zero : int
        Output units for 0.
    shift : int or None
        Even tables of 2^k segments: the segment is ``input >> shift``.
    max_error : float
        Largest distance to the exact shape, output units, over every input.
    """

    edges: IntArray
    up_value: IntArray
    up_slope: IntArray
    down_value: IntArray
    down_slope: IntArray
    dead: int
    zero: int
    shift: int | None
    max_error: float

    @property
    def segments(self) -> int:
        """Segments a side."""
        return len(self.edges) - 1

    @property
    def one_span(self) -> bool:
        """True where the negative half uses the same numbers."""
        return bool(np.array_equal(self.up_value, self.down_value))


def fixed_table(table: Table, output: Output) -> FixedTable:
    """Turn a table into integers for a tune's output."""
    middle = table.segments
    edges = whole_positions(table.x[middle:], FULL_IN)
    shape = table.shape
    # Taken again at the whole-number place; a fitted table keeps its shift.
    shifted = np.asarray(shape(edges / FULL_IN)) + (table.y[middle:] - shape(table.x[middle:]))
    shifted[0], shifted[-1] = 0.0, shape(1.0)
    values = np.clip(np.maximum.accumulate(shifted), 0.0, shifted[-1])
    dead = int(np.floor(table.dead_zone * FULL_IN + 1e-9)) if table.dead_zone > 0.0 else -1
    below, above = output.spans
    halves = [_half(edges, values, span) for span in (above, below)]
    even = table.spacing == "even" and table.segments & (table.segments - 1) == 0
    shift = FULL_IN.bit_length() - table.segments.bit_length() if even else None
    made = FixedTable(edges, *halves[0], *halves[1], dead, output.zero, shift, 0.0)
    every = np.arange(-FULL_IN, FULL_IN + 1)
    error = np.abs(evaluate(made, every) - exact_units(shape, every / FULL_IN, output)).max()
    return FixedTable(edges, *halves[0], *halves[1], dead, output.zero, shift, float(error))


def _half(edges: IntArray, values: NDArray[np.float64], span: int) -> tuple[IntArray, IntArray]:
    value = np.floor(values * (span * _ONE) + 0.5).astype(np.int64)
    # Full stick is a whole unit where the shape's top is 1: no rounding is left there.
    return value, np.diff(value) // np.diff(edges)


def evaluate(table: FixedTable, position: IntArray) -> IntArray:
    """Result of the exported integer program, operation by operation."""
    size = np.minimum(np.abs(position), FULL_IN)
    k = np.clip(np.searchsorted(table.edges, size, side="right") - 1, 0, table.segments - 1)
    away = size - table.edges[k]

    def half(value: IntArray, slope: IntArray) -> IntArray:
        inside = (value[k] + slope[k] * away + _ONE // 2) >> FRACTION_BITS
        last = (value[-1] + _ONE // 2) >> FRACTION_BITS
        return np.where(size >= FULL_IN, last, inside)

    up = half(table.up_value, table.up_slope)
    down = half(table.down_value, table.down_slope)
    result = table.zero + np.where(position < 0, -down, up)
    return np.where(size <= table.dead, table.zero, result)
