"""How a machine rolls on a straight line: without power, and behind the lag of its drive."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import (
    FloatOrArray,
    as_given,
    broadcast,
    not_negative,
    signed,
    slope_angle,
)
from curvelib.machine.response import drive_lag
from curvelib.machine.tipping import GRAVITY
from curvelib.params import FloatArray


def free_roll(speed: ArrayLike, seconds: ArrayLike, slope: ArrayLike) -> FloatOrArray:
    """Distance rolled without power, if nothing holds the machine.

    Parameters
    ----------
    speed : float or array_like
        m/s at the beginning, forward positive.
    seconds : float or array_like
        0 or more.
    slope : float or array_like
        rad, positive where forward is downhill.

    Returns
    -------
    float or ndarray of float64
        speed t + g sin(slope) t^2/2 in m, with its sign.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.

    Notes
    -----
    No rolling resistance and no braking by the unpowered motors: the longest it
    can be.  Whether a machine rolls at all without power is found by a test,
    not by a model: on a slope, power off, does it hold?
    """
    v, t, angle = broadcast(
        speed=signed(speed, "speed", "m/s"),
        seconds=not_negative(seconds, "time", "s"),
        slope=slope_angle(slope),
    )
    return as_given(v * t + GRAVITY * np.sin(angle) * t**2 / 2.0)


def follow(
    time: FloatArray, wanted: FloatArray, lag: float, start: ArrayLike, grip: float = np.inf
) -> FloatArray:
    """Speed behind a first-order lag for a wanted speed that is straight between samples.

    Parameters
    ----------
    time, wanted : ndarray, shape (n,) or (n, m)
        s, ascending along axis 0, and m/s.
    lag : float
        s, 0 or more.
    start : float or array_like, shape (m,)
        Speed at the first sample in m/s.
    grip : float
        Largest change of speed in m/s2 that the ground allows, 0 or more: the
        wheels slide meanwhile.

    Returns
    -------
    ndarray of float64, shape of `wanted`
        m/s.  Exact without `grip`; with it, exact but for the moment within a
        step at which the wheels begin or cease to slide.

    Notes
    -----
    The acceleration is the rate of the wanted speed behind the same lag, and
    speed = wanted - lag x acceleration.
    """
    if np.isinf(grip):
        return _follow_freely(time, wanted, lag, start)
    steps = np.diff(time, axis=0)
    keep = np.exp(-steps / lag) if lag > 0.0 else np.zeros_like(steps)
    speed = np.empty_like(wanted)
    speed[0] = start
    for k, dt in enumerate(steps):
        rate = (wanted[k + 1] - wanted[k]) / np.where(dt > 0.0, dt, 1.0)
        behind = rate + ((wanted[k] - speed[k]) / lag - rate) * keep[k] if lag > 0.0 else rate
        free = wanted[k + 1] - lag * behind
        speed[k + 1] = np.clip(free, speed[k] - grip * dt, speed[k] + grip * dt)
    return speed


def _follow_freely(
    time: FloatArray, wanted: FloatArray, lag: float, start: ArrayLike
) -> FloatArray:
    if lag == 0.0:
        return wanted.copy()
    steps = np.diff(time, axis=0)
    rate = np.diff(wanted, axis=0) / np.where(steps > 0.0, steps, 1.0)
    first = (wanted[0] - np.asarray(start)) / lag
    if time.ndim == 1:
        rest = drive_lag(rate, steps, lag, first)
    else:
        columns = zip(rate.T, steps.T, first, strict=True)
        rest = np.stack([drive_lag(one, dt, lag, at) for one, dt, at in columns], axis=1)
    return np.asarray(wanted - lag * np.concatenate([first[np.newaxis], rest]))


def way_behind(time: FloatArray, wanted: FloatArray, speed: FloatArray, lag: float) -> FloatArray:
    """Way in m gone since the first sample, for a `speed` that `follow` made; exact.

    That of the wanted speed, less lag x change of speed.
    """
    steps = np.diff(time)
    asked = np.concatenate([[0.0], np.cumsum(steps * (wanted[1:] + wanted[:-1]) / 2.0)])
    return np.asarray(asked - lag * (speed - speed[0]))
