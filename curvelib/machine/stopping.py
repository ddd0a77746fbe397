"""How far a machine rolls before it stands, and which ramp stops it in the room there is."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import FloatOrArray, as_given, broadcast, not_negative, positive


def stopping_distance(
    speed: ArrayLike,
    *,
    delay: ArrayLike,
    to_stop: ArrayLike,
    top_speed: ArrayLike,
    lag: ArrayLike = 0.0,
) -> FloatOrArray:
    """Distance from letting go of the stick to standing.

    Parameters
    ----------
    speed : float or array_like
        Speed at the start in m/s, 0 or more (its size, in reverse).
    delay : float or array_like
        Seconds until the command begins to fall: for a lost signal the
        time-out, and one radio frame.
    to_stop : float or array_like
        The ramp: seconds from full command to standing.
    top_speed : float or array_like
        Speed at full command in m/s, above 0.
    lag : float or array_like
        Time constant of the drive in s (first order).

    Returns
    -------
    float or ndarray of float64
        speed (delay + lag + (speed/top_speed) to_stop/2) in m, 0 or more.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.

    Notes
    -----
    Straight ahead, and exact for a drive whose speed follows its command as a
    first-order lag: the lag adds speed x lag, whatever the ramp.  In a turn the
    outer side runs faster than the middle and its ramp lasts longer, so the
    middle rolls farther than this from the same speed (never farther than from
    full speed straight ahead): see `curvelib.machine.plan`.  Wheels that slide roll farther:
    see `curvelib.machine.limits.grip_deceleration`.
    """
    now, wait, ramp, top, slow = broadcast(
        speed=not_negative(speed, "speed", "m/s"),
        delay=not_negative(delay, "delay", "s"),
        to_stop=not_negative(to_stop, "ramp to stop", "s"),
        top_speed=positive(top_speed, "top speed", "m/s"),
        lag=not_negative(lag, "drive lag", "s"),
    )
    return as_given(now * (wait + slow + (now / top) * ramp / 2.0))


def longest_to_stop(
    room: ArrayLike,
    *,
    speed: ArrayLike,
    delay: ArrayLike,
    top_speed: ArrayLike,
    lag: ArrayLike = 0.0,
) -> FloatOrArray:
    """Longest ramp to stop that stands within the room: inverse of `stopping_distance`.

    Parameters
    ----------
    room : float or array_like
        Distance available in m, 0 or more.
    speed, delay, top_speed, lag : float or array_like
        As in `stopping_distance`.

    Returns
    -------
    float or ndarray of float64
        Seconds.  Negative: delay and lag alone use more than the room, and no
        ramp helps.  Infinite at speed 0.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range.
    """
    space, now, wait, top, slow = broadcast(
        room=not_negative(room, "room", "m"),
        speed=not_negative(speed, "speed", "m/s"),
        delay=not_negative(delay, "delay", "s"),
        top_speed=positive(top_speed, "top speed", "m/s"),
        lag=not_negative(lag, "drive lag", "s"),
    )
    moves = now > 0.0
    safe = np.where(moves, now, 1.0)
    with np.errstate(over="ignore"):
        ramp = 2.0 * (top / safe) * (space / safe - wait - slow)
    return as_given(np.where(moves, ramp, np.inf))
