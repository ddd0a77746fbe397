"""When a machine tips: forward, backward and sideways, on the flat and on a slope.

A rigid body on a plane tips about an edge of its footprint when the resultant
of weight and inertia passes outside that edge.  No tyre, no spring, no soft
ground: a real machine rocks on its tyres and tips a little earlier.  Mass
cancels everywhere.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import (
    FloatOrArray,
    as_given,
    broadcast,
    not_negative,
    positive,
    slope_angle,
)

# Standard gravity in m/s2, exact by definition: 3rd CGPM 1901, ISO 80000-3.
GRAVITY = 9.80665


class FourCases(NamedTuple):
    """One limit for each way of changing speed, m/s2, positive; negative: cannot at all.

    Stopping forward and starting in reverse push the body the same way, and so
    do starting forward and stopping in reverse; they are named apart because
    they are met apart.
    """

    stop_forward: FloatOrArray
    start_forward: FloatOrArray
    stop_reverse: FloatOrArray
    start_reverse: FloatOrArray


def tip_deceleration(
    cg_to_axle: ArrayLike, cg_height: ArrayLike, slope: ArrayLike = 0.0
) -> FloatOrArray:
    """Deceleration at which a machine braking downhill lifts its uphill axle.

    Parameters
    ----------
    cg_to_axle : float or array_like
        From the centre of mass to the axle it would tip over (the downhill
        one), along the ground, in m, 0 or more.
    cg_height : float or array_like
        Height of the centre of mass over the ground in m, above 0.
    slope : float or array_like
        Angle of the ground in rad, positive where the machine moves downhill,
        negative where it moves uphill.

    Returns
    -------
    float or ndarray of float64
        m/s2; 0 at the slope atan(cg_to_axle/cg_height), where it tips standing
        still, negative beyond.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.

    Notes
    -----
    g (L cos s - h sin s)/h: moments about the ground contact of the axle.
    Starting in reverse is the same case; for starting forward and stopping in
    reverse see `tip_limits`.
    """
    lever, height, angle = broadcast(
        cg_to_axle=not_negative(cg_to_axle, "distance from centre of mass to axle", "m"),
        cg_height=positive(cg_height, "height of the centre of mass", "m"),
        slope=slope_angle(slope),
    )
    return as_given(GRAVITY * (lever * np.cos(angle) - height * np.sin(angle)) / height)


def tip_limits(
    cg_to_front: ArrayLike, cg_to_rear: ArrayLike, cg_height: ArrayLike, slope: ArrayLike = 0.0
) -> FourCases:
    """Acceleration at which the machine tips, in each of the four cases.

    Parameters
    ----------
    cg_to_front, cg_to_rear : float or array_like
        From the centre of mass to the front and to the rear axle in m (for
        tracks: to the ends of the part that carries).
    cg_height : float or array_like
        m, above 0.
    slope : float or array_like
        rad, positive where the nose points downhill, negative uphill.

    Returns
    -------
    FourCases
        m/s2.  Stopping forward and starting in reverse tip it over the front
        axle, the other two over the rear.
    """
    down = slope_angle(slope)
    over_front = tip_deceleration(cg_to_front, cg_height, down)
    over_rear = tip_deceleration(cg_to_rear, cg_height, -down)
    return FourCases(over_front, over_rear, over_rear, over_front)


def static_stability_factor(track: ArrayLike, cg_height: ArrayLike) -> FloatOrArray:
    """Half the track over the height of the centre of mass, a bare number.

    Parameters
    ----------
    track, cg_height : float or array_like
        m; the height is above 0.

    Returns
    -------
    float or ndarray of float64
        The lateral acceleration in units of g at which a rigid body tips
        sideways on the flat; its arc tangent is the angle at which it tips
        standing across a slope.

    Notes
    -----
    Defined so in NHTSA's rollover rating notices.
    """
    width, height = broadcast(
        track=not_negative(track, "track", "m"),
        cg_height=positive(cg_height, "height of the centre of mass", "m"),
    )
    return as_given(width / (2.0 * height))


def tilt_angle(cg_to_edge: ArrayLike, cg_height: ArrayLike) -> FloatOrArray:
    """Slope in rad at which the machine tips over an edge standing still.

    Parameters
    ----------
    cg_to_edge : float or array_like
        From the centre of mass to the edge in m: half the track sideways, the
        distance to the front axle nose down, to the rear axle nose up.
    cg_height : float or array_like
        m, above 0.

    Returns
    -------
    float or ndarray of float64
        atan(cg_to_edge/cg_height), 0 up to a right angle.
    """
    lever, height = broadcast(
        cg_to_edge=not_negative(cg_to_edge, "distance from centre of mass to edge", "m"),
        cg_height=positive(cg_height, "height of the centre of mass", "m"),
    )
    return as_given(np.arctan2(lever, height))


def tip_sideways(
    track: ArrayLike, cg_height: ArrayLike, cross_slope: ArrayLike = 0.0
) -> FloatOrArray:
    """Lateral acceleration at which the machine tips over its outer side in a turn.

    Parameters
    ----------
    track, cg_height : float or array_like
        m.
    cross_slope : float or array_like
        rad, positive where the ground falls away on the outer side of the turn
        (the worse way), negative where it rises there.

    Returns
    -------
    float or ndarray of float64
        m/s2 along the slope; negative: it tips standing still.
    """
    half = not_negative(track, "track", "m") / 2.0
    return tip_deceleration(half, cg_height, slope_angle(cross_slope, "cross slope"))
