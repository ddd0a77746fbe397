"""Lines in the stick plane: where the machine turns with one radius, where a side reaches full."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

# matplotlib draws its own contour lines with it, so it is always there.
from contourpy import contour_generator

from curvelib.machine.motion import body_motion
from curvelib.mixing import Mix, TankMix
from curvelib.params import FloatArray
from curvelib.shape import Shape

RADII = (0.5, 1.0, 2.0, 5.0)  # m
_POSITIONS = np.linspace(-1.0, 1.0, 81)


@lru_cache(maxsize=64)
def radius_lines(
    shapes: tuple[Shape, Shape], mix: Mix, track: float, turning_share: float
) -> tuple[FloatArray, ...]:
    """Lines of equal turning radius, one array for each of `RADII`.

    Parameters
    ----------
    shapes : (Shape, Shape)
        Of the first and the second stick.
    mix : TankMix or Independent
        How sticks become sides.
    track, turning_share : float
        As in `curvelib.machine.motion.body_motion`; speed cancels.

    Returns
    -------
    tuple of ndarray, shape (n, 2)
        Second and first stick position (across, up); rows of NaN part the pieces.
    """
    left, right = mix(*_shaped(shapes))
    motion = body_motion(left, right, track, turning_share)
    still = (motion.speed == 0.0) & (motion.yaw_rate == 0.0)
    lines = []
    for radius in RADII:
        # Smooth across the straight-ahead line, where the radius itself is infinite.
        excess = np.abs(motion.speed) - radius * np.abs(motion.yaw_rate)
        lines.append(_level(np.ma.masked_array(excess, still)))
    return tuple(lines)


@lru_cache(maxsize=64)
def full_line(shapes: tuple[Shape, Shape], mix: Mix) -> FloatArray:
    """Where the faster side reaches full, beyond which the overflow rule acts; tank mixing alone.

    Returns
    -------
    ndarray, shape (n, 2)
        As `radius_lines`; empty where no stick position asks a side for more than full.
    """
    if not isinstance(mix, TankMix):
        return np.empty((0, 2))
    throttle, steer = _shaped(shapes)
    return _level(np.abs(throttle) + mix.steer_share * np.abs(steer) - 1.0)


def _shaped(shapes: tuple[Shape, Shape]) -> tuple[FloatArray, FloatArray]:
    """Both shaped sticks over the plane: the first runs up (rows), the second across."""
    first, second = shapes[0](_POSITIONS), shapes[1](_POSITIONS)
    return np.broadcast_to(first[:, None], 2 * first.shape), np.broadcast_to(
        second, 2 * first.shape
    )


def _level(heights: FloatArray) -> FloatArray:
    """Lines along which `heights` over the plane is 0, parted by NaN."""
    pieces = contour_generator(_POSITIONS, _POSITIONS, heights).lines(0.0)
    gap = np.full((1, 2), np.nan)
    parted = [part for piece in pieces for part in (np.asarray(piece), gap)]
    return np.concatenate(parted) if parted else np.empty((0, 2))
