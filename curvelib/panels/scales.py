"""Axes whose ends follow the numbers in a few steps: each change draws the furniture anew."""

from __future__ import annotations

import math

from matplotlib.axes import Axes

_STEPS = (1.0, 1.5, 2.0, 3.0, 5.0, 7.5, 10.0)


def nice_top(value: float) -> float:
    """Round number, at least `value`, from a coarse scale; 1 for 0 or what is not finite."""
    if not (math.isfinite(value) and value > 0.0):
        return 1.0
    size = 10.0 ** math.floor(math.log10(value))
    return float(next(step * size for step in _STEPS if step * size >= value * (1.0 - 1e-9)))


def set_ends(
    axes: Axes, x: tuple[float, float] | None = None, y: tuple[float, float] | None = None
) -> None:
    """Set the ends of axes where they differ."""
    if x is not None and axes.get_xlim() != x:
        axes.set_xlim(*x)
    if y is not None and axes.get_ylim() != y:
        axes.set_ylim(*y)
