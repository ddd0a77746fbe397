"""The whole machine in plan: the circles between which it turns."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import FloatOrArray, as_given, not_negative, signed
from curvelib.machine.motion import clearance_radius, turning_radii
from curvelib.params import FloatArray


class SweptCircle(NamedTuple):
    """Circles about the turning centre between which the machine turns, radii in m.

    Attributes
    ----------
    front, rear : float or ndarray
        Circle swept by the outer front and the outer rear corner.
    outer : float or ndarray
        The larger of the two: nothing of the machine passes it.
    inner : float or ndarray
        Nearest the body comes to the turning centre; 0 when it turns about a
        point of its own.
    """

    front: FloatOrArray
    rear: FloatOrArray
    outer: FloatOrArray
    inner: FloatOrArray


def swept_circle(
    radius: ArrayLike,
    *,
    width: ArrayLike,
    wheelbase: ArrayLike,
    front_overhang: ArrayLike = 0.0,
    rear_overhang: ArrayLike = 0.0,
    centre_offset: ArrayLike = 0.0,
) -> SweptCircle:
    """Circles between which the whole machine turns, front and rear corner considered.

    Parameters
    ----------
    radius : float or array_like
        Turning radius in m, of either sign, 0 on the spot, infinite straight on.
    width : float or array_like
        Overall width in m.
    wheelbase : float or array_like
        Distance between the axles (for tracks, length on the ground) in m.
    front_overhang, rear_overhang : float or array_like
        From the front axle to the foremost point, from the rear axle to the
        hindmost, in m.
    centre_offset : float or array_like
        How far the turning centre lies ahead of the middle of the wheelbase in
        m: 0 for four equal, equally loaded wheels or for tracks, +wheelbase/2
        where the front axle is driven and the rear runs on casters,
        -wheelbase/2 the other way round.

    Returns
    -------
    SweptCircle
        Radii in m, floats or arrays.

    Raises
    ------
    ValueError
        For NaN, an infinite or negative length.

    Notes
    -----
    The body is taken as a rectangle.  Unequal load moves the turning centre
    towards the heavier axle; measure it by turning on the spot.
    """
    base = not_negative(wheelbase, "wheelbase", "m") / 2.0
    offset = signed(centre_offset, "centre offset", "m")
    half = not_negative(width, "width", "m") / 2.0
    ahead = base - offset + not_negative(front_overhang, "front overhang", "m")
    behind = base + offset + not_negative(rear_overhang, "rear overhang", "m")
    front = clearance_radius(radius, half, ahead)
    rear = clearance_radius(radius, half, behind)
    inner = _inner_circle(np.abs(turning_radii(radius)), half, ahead, behind)
    return SweptCircle(front, rear, as_given(np.maximum(front, rear)), as_given(inner))


def _inner_circle(
    size: FloatArray, half: FloatArray, ahead: FloatArray, behind: FloatArray
) -> FloatArray:
    """Distance from the turning centre to the nearest point of the rectangle."""
    beside = np.maximum(size - half, 0.0)
    # Where the turning centre lies beyond an end of the body, that end is nearest.
    beyond = np.maximum(0.0, np.maximum(-ahead, -behind))
    return np.hypot(beside, beyond)
