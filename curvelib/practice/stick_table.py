"""One stick as tables: from the thumb to the shaped command and back, for many trials at once."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from curvelib.curves import CubicBlend, Deadband, Limit, Stage
from curvelib.params import FloatArray
from curvelib.shape import Shape

if TYPE_CHECKING:
    from curvelib.stick import Stick

# Cells from 0 to 1 of the tables that are read at the nearest cell.
CELLS = 32768
# The widest dead zone and the lowest top that one stage can give.
_WIDEST, _LOWEST_TOP = 0.5, 0.05
_HARDLY_MOVES = 0.95


class StickTable:
    """A stick, its steps and its shape.

    Parameters
    ----------
    stick : Stick
        Where it names no steps, whole microseconds are sent.
    flipped : bool
        True where pushing forward makes the pulse shorter.
    shape : Shape
        From stick position to shaped command.

    Notes
    -----
    `command` is exact: there are only as many values as the transmitter has
    steps, and each is looked up.  (A thumb exactly on the edge between two
    steps may fall to either.)  `thumb_for` is the exact inverse for the
    command rounded to 1/32768: at most 1/65536 of full speed beside it.
    """

    def __init__(self, stick: Stick, flipped: bool, shape: Shape) -> None:
        steps = stick.steps or max(3, round(stick.high - stick.low) + 1)
        counted = replace(stick, steps=steps)
        self._flow = -1.0 if flipped else 1.0
        self._centre = (stick.centre - stick.low) / (stick.high - stick.low) * (steps - 1)
        self._above = steps - 1 - self._centre
        pulses = np.linspace(stick.low, stick.high, steps)
        self._commands = np.asarray(shape(self._flow * counted.position(pulses)))
        self.top = float(shape(1.0))
        self._start = shape.starts_at
        wanted = np.minimum(np.arange(CELLS + 1) / CELLS, self.top)
        self._thumbs = np.asarray(shape.inverse(wanted))

    def command(self, thumb: FloatArray) -> FloatArray:
        """Shaped command for thumb positions, -1..1, beyond which they saturate."""
        pushed = self._flow * np.minimum(np.maximum(thumb, -1.0), 1.0)
        level = self._centre + 0.5 + pushed * np.where(pushed < 0.0, self._centre, self._above)
        return np.asarray(self._commands[level.astype(np.intp)])

    def thumb_for(self, command: FloatArray) -> FloatArray:
        """Thumb position of one who knows the shape; 0 for 0, full where it is out of reach."""
        size = np.minimum(np.abs(command), 1.0)
        return np.asarray(np.sign(command) * self._thumbs[nearest_cell(size)])

    def straight_thumb_for(self, command: FloatArray) -> FloatArray:
        """Thumb position of one who takes the stick for straight, beyond its dead zone."""
        size = np.minimum(np.abs(command) / max(self.top, 1e-9), 1.0)
        return np.sign(command) * (self._start + (1.0 - self._start) * size)


def nearest_cell(share: FloatArray) -> NDArray[np.intp]:
    """Cell nearest to each share, 0 or more."""
    return np.asarray(share * CELLS + 0.5).astype(np.intp)


def hardly_moves(shape: Shape) -> bool:
    """Say whether a shape leaves next to nothing: a top near 0, or a dead zone of 95 % or more."""
    return float(shape(1.0)) < _LOWEST_TOP**2 or shape.starts_at > _HARDLY_MOVES


def straightened(shape: Shape) -> Shape:
    """Return the straight stick to compare with: same dead zone, same top speed.

    Parameters
    ----------
    shape : Shape
        Any.

    Returns
    -------
    Shape
        0 up to `shape.starts_at`, then straight to `shape(1)`; the shape itself
        where it hardly moves anything, since there is nothing to compare.
    """
    if hardly_moves(shape):
        return shape
    start, top = shape.starts_at, float(shape(1.0))
    stages: list[Stage] = []
    while start > 0.0:  # one stage gives a dead zone of at most half the travel
        stages.append(Deadband(min(start, _WIDEST)))
        start = (start - _WIDEST) / (1.0 - _WIDEST)
    if top < _LOWEST_TOP:
        stages.append(Limit(_LOWEST_TOP))
        top /= _LOWEST_TOP
    return Shape([*stages, Limit(top)])


def softened(shape: Shape, blend: float) -> Shape:
    """Return a cubic blend with the dead zone and the top speed of a shape.

    Parameters
    ----------
    shape : Shape
        Any; one that hardly moves anything stays as it is.
    blend : float
        0..1; the first slope is 1 - blend of the straight stick's.
    """
    if hardly_moves(shape):
        return shape
    stages = straightened(shape).stages
    zones = [stage for stage in stages if isinstance(stage, Deadband)]
    tops = [stage for stage in stages if isinstance(stage, Limit)]
    return Shape([*zones, CubicBlend(blend), *tops])
