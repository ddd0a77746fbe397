"""How a machine with two driven sides moves: speed, yaw rate, radius, path, swept circle.

The ideal (no-slip) equations are those of LaValle, *Planning Algorithms*,
Cambridge University Press 2006, eq. 13.49, and of every text on
differential drive.  A machine that skids turns less than they say;
`turning_share` carries that, and is measured, not known (see
`curvelib.machine.spin.turning_share_from_turns`).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import (
    FloatOrArray,
    as_given,
    broadcast,
    finite,
    not_negative,
    numbers,
    positive,
    signed,
    time_steps,
    within,
)
from curvelib.params import FloatArray

_MOST_SHARE = 2.0


class BodyMotion(NamedTuple):
    """Motion of the body, each a float or an array.

    Attributes
    ----------
    speed : float or ndarray
        Forward speed in m/s, negative in reverse.
    yaw_rate : float or ndarray
        Turning rate in rad/s, positive counter-clockwise seen from above.
    radius : float or ndarray
        speed / yaw_rate in m: the distance from the turning centre to the
        middle between the sides, positive where the centre lies to the left;
        infinite where the yaw rate is 0, standing still included.
    """

    speed: FloatOrArray
    yaw_rate: FloatOrArray
    radius: FloatOrArray


class SideSpeeds(NamedTuple):
    """Ground speed of the left and the right side in m/s, each a float or an array."""

    left: FloatOrArray
    right: FloatOrArray


def body_motion(
    left: ArrayLike, right: ArrayLike, track: ArrayLike, turning_share: ArrayLike = 1.0
) -> BodyMotion:
    """Speed, yaw rate and turning radius from the speeds of the two sides.

    Parameters
    ----------
    left, right : float or array_like
        Ground speed of each side in m/s, forward positive.
    track : float or array_like
        Distance between the middles of the two sides in m, above 0: the whole
        of it, where several texts use half.
    turning_share : float or array_like
        Real yaw over ideal yaw, above 0; 1 without skidding.

    Returns
    -------
    BodyMotion
        Floats where every input is a number, else arrays of the broadcast shape.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.

    Notes
    -----
    speed = (left + right)/2, yaw_rate = turning_share (right - left)/track.
    """
    l_speed, r_speed, width, share = broadcast(
        left=signed(left, "left speed", "m/s"),
        right=signed(right, "right speed", "m/s"),
        track=positive(track, "track", "m"),
        turning_share=_share(turning_share),
    )
    speed = (l_speed + r_speed) / 2.0
    yaw_rate = share * (r_speed - l_speed) / width
    return BodyMotion(as_given(speed), as_given(yaw_rate), as_given(_radius(speed, yaw_rate)))


def _radius(speed: FloatArray, yaw_rate: FloatArray) -> FloatArray:
    turns = yaw_rate != 0.0
    return np.where(turns, speed / np.where(turns, yaw_rate, 1.0), np.inf)


def _share(turning_share: ArrayLike) -> FloatArray:
    return within(turning_share, "turning share", 1e-3, _MOST_SHARE)


def side_speeds(
    speed: ArrayLike, yaw_rate: ArrayLike, track: ArrayLike, turning_share: ArrayLike = 1.0
) -> SideSpeeds:
    """Speeds of the two sides that give a body speed and yaw rate: inverse of `body_motion`.

    Parameters
    ----------
    speed : float or array_like
        Forward speed in m/s.
    yaw_rate : float or array_like
        rad/s, positive counter-clockwise.
    track, turning_share : float or array_like
        As in `body_motion`.

    Returns
    -------
    SideSpeeds
        ``left, right`` in m/s.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range.
    """
    forward, yaw, width, share = broadcast(
        speed=signed(speed, "speed", "m/s"),
        yaw_rate=signed(yaw_rate, "yaw rate", "rad/s"),
        track=positive(track, "track", "m"),
        turning_share=_share(turning_share),
    )
    half = yaw * width / (2.0 * share)
    return SideSpeeds(as_given(forward - half), as_given(forward + half))


def drive(
    left: ArrayLike,
    right: ArrayLike,
    dt: ArrayLike,
    track: float,
    turning_share: float = 1.0,
    start: ArrayLike = (0.0, 0.0, 0.0),
) -> FloatArray:
    """Poses along the path that side speeds give, each step an exact arc.

    Parameters
    ----------
    left, right : float or array_like, shape (n,)
        Side speeds in m/s, constant during each step; two numbers are one step.
    dt : float or array_like, shape (n,)
        Seconds of each step, 0 or more.
    track, turning_share : float
        As in `body_motion`.
    start : array_like, shape (3,)
        x in m, y in m and heading in rad at the beginning.

    Returns
    -------
    ndarray of float64, shape (n + 1, 3)
        x, y, heading: `start` first, then the pose after each step.  The
        heading is not wrapped, so full turns can be counted.

    Raises
    ------
    ValueError
        For NaN, infinity, a negative dt or shapes that do not go together.

    Notes
    -----
    A step that turns by p moves along the chord: v dt sin(p/2)/(p/2) in the
    direction heading + p/2, which is exact for any p and keeps its digits as p
    goes to 0.  Measured with the middle between the sides; a skidding machine
    also shifts its turning centre, which is not modelled.
    """
    pose = finite(start, "start pose")
    if pose.shape != (3,):
        raise ValueError(f"The start pose has shape {pose.shape}; give x, y and heading.")
    l_speed, r_speed = broadcast(
        left=np.atleast_1d(signed(left, "left speed", "m/s")),
        right=np.atleast_1d(signed(right, "right speed", "m/s")),
    )
    if l_speed.ndim != 1:
        raise ValueError(f"The side speeds have shape {l_speed.shape}; give one value per step.")
    count = np.size(dt) if np.ndim(dt) == 1 and len(l_speed) == 1 else len(l_speed)
    steps = time_steps(dt, count)
    motion = body_motion(l_speed, r_speed, track, turning_share)
    turn = motion.yaw_rate * steps
    heading = pose[2] + np.concatenate([[0.0], np.cumsum(turn)])
    chord = motion.speed * steps * np.sinc(turn / (2.0 * np.pi))
    middle = heading[:-1] + turn / 2.0
    x = pose[0] + np.concatenate([[0.0], np.cumsum(chord * np.cos(middle))])
    y = pose[1] + np.concatenate([[0.0], np.cumsum(chord * np.sin(middle))])
    return np.column_stack([x, y, heading])


def clearance_radius(radius: ArrayLike, half_width: ArrayLike, reach: ArrayLike) -> FloatOrArray:
    """Radius of the circle swept by an outer corner.

    Parameters
    ----------
    radius : float or array_like
        Turning radius of the middle of the machine in m, of either sign; 0 on
        the spot; an infinite one (straight on) gives infinity.
    half_width : float or array_like
        Half the overall width in m, 0 or more.
    reach : float or array_like
        How far the corner lies ahead of (or behind) the turning centre in m.

    Returns
    -------
    float or ndarray of float64
        hypot(size of radius + half_width, reach) in m.

    Raises
    ------
    ValueError
        For NaN, or an infinite or negative width, or an infinite reach.
    """
    size, half, ahead = broadcast(
        radius=np.abs(turning_radii(radius)),
        half_width=not_negative(half_width, "half width", "m"),
        reach=signed(reach, "reach", "m"),
    )
    return as_given(np.hypot(size + half, ahead))


def turning_radii(radius: ArrayLike) -> FloatArray:
    """Return turning radii; infinity is one, NaN is none."""
    array = numbers(radius, "turning radius")
    finite(np.where(np.isinf(array), 0.0, array), "turning radius")
    return array


def least_radius(
    speed: ArrayLike, top_speed: ArrayLike, track: ArrayLike, turning_share: ArrayLike = 1.0
) -> FloatOrArray:
    """Tightest radius that can be held at a body speed: the outer side runs at full speed.

    Parameters
    ----------
    speed : float or array_like
        Body speed in m/s, from -top_speed to top_speed.
    top_speed : float or array_like
        Full speed of a side in m/s, above 0.
    track, turning_share : float or array_like
        As in `body_motion`.

    Returns
    -------
    float or ndarray of float64
        Radius in m, 0 or more; 0 standing, infinite at full speed.

    Raises
    ------
    ValueError
        For NaN, infinity, or a speed above the top speed.

    Notes
    -----
    Geometry alone.  At speed the machine may slide or tip sideways first: see
    `curvelib.machine.limits.least_radius_sideways`.
    """
    size, top, width, share = broadcast(
        speed=np.abs(signed(speed, "speed", "m/s")),
        top_speed=positive(top_speed, "top speed", "m/s"),
        track=positive(track, "track", "m"),
        turning_share=_share(turning_share),
    )
    if (size > top).any():
        raise ValueError(
            f"The speed is {size.max():g} m/s, above the top speed; "
            f"give at most the top speed, {top.min():g} m/s."
        )
    return as_given(_radius(size, 2.0 * share * (top - size) / width))
