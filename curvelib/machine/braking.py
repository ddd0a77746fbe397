"""Braking energy: what a stop or a reversal sends back to the supply, and what must take it.

Straight ahead, constant acceleration in each part.  All mechanical power is
taken to reach the supply, rolling resistance is left out, and so are wheels
that slide or a current limit that weakens the brakes: all on the safe side, a
real machine sends back less.  The spin of motors and gears, which adds to the mass, is not counted;
with a high gearing it can add a tenth or more (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import (
    FloatOrArray,
    as_given,
    broadcast,
    not_negative,
    positive,
    signed,
    slope_angle,
)
from curvelib.machine.tipping import GRAVITY
from curvelib.params import Checked, FloatArray, Param


class Part(NamedTuple):
    """A piece of driving at constant acceleration: seconds, speed at its begin and end in m/s."""

    seconds: float
    begin: float
    end: float


class Braking(NamedTuple):
    """What comes back to the supply.

    Attributes
    ----------
    energy : float or ndarray
        J, 0 or more.
    average : float or ndarray
        W, over the time in which anything comes back.
    peak : float or ndarray
        W.
    """

    energy: FloatOrArray
    average: FloatOrArray
    peak: FloatOrArray


def stop_braking(
    mass: ArrayLike, speed: ArrayLike, seconds: ArrayLike, slope: ArrayLike = 0.0
) -> Braking:
    """Energy and power of a stop at constant deceleration.

    Parameters
    ----------
    mass : float or array_like
        kg, above 0.
    speed : float or array_like
        m/s, 0 or more.
    seconds : float or array_like
        From this speed to standing, above 0.
    slope : float or array_like
        rad, positive where the machine moves downhill, negative uphill.

    Returns
    -------
    Braking
        On the level m v^2/2, and the peak is twice the average.  All 0 where
        the hill alone stops it faster than that.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.

    Notes
    -----
    Force m (v/t + g sin s), over the distance v t/2.
    """
    kg, v, t, angle = broadcast(
        mass=positive(mass, "mass", "kg"),
        speed=not_negative(speed, "speed", "m/s"),
        seconds=positive(seconds, "time of the stop", "s"),
        slope=slope_angle(slope),
    )
    peak = np.maximum(kg * (v / t + GRAVITY * np.sin(angle)), 0.0) * v
    return Braking(as_given(peak * t / 2.0), as_given(peak / 2.0), as_given(peak))


def holding_power(mass: ArrayLike, speed: ArrayLike, slope: ArrayLike) -> FloatOrArray:
    """Power in W that comes back all the time while driving downhill at a steady speed.

    Parameters
    ----------
    mass, speed, slope : float or array_like
        As in `stop_braking`.

    Returns
    -------
    float or ndarray of float64
        m g v sin s, 0 on the level and uphill.
    """
    kg, v, angle = broadcast(
        mass=positive(mass, "mass", "kg"),
        speed=not_negative(speed, "speed", "m/s"),
        slope=slope_angle(slope),
    )
    return as_given(np.maximum(kg * GRAVITY * v * np.sin(angle), 0.0))


def stop_parts(speed: float, seconds: float) -> tuple[Part, ...]:
    """A stop from a speed in m/s within seconds."""
    return (Part(seconds, speed, 0.0),)


def reversal_parts(speed: float, stop_seconds: float, start_seconds: float) -> tuple[Part, ...]:
    """A stop from a speed in m/s, then the same speed the other way."""
    return (*stop_parts(speed, stop_seconds), Part(start_seconds, 0.0, -speed))


def braking(mass: float, parts: Sequence[Part], slope: float = 0.0) -> Braking:
    """Energy and power that any sequence of parts sends back, exact.

    Parameters
    ----------
    mass : float
        kg, above 0.
    parts : sequence of Part
        Driving; a part whose speed changes sign is refused.
    slope : float
        rad, positive where forward is downhill.

    Returns
    -------
    Braking
        Parts in which the motors push count as 0: what they take is not
        set off against what comes back.
    """
    edges, power = power_corners(mass, parts, slope)
    lasts = np.diff(edges)
    ends = np.maximum(power, 0.0)
    energy = float((ends.sum(axis=1) / 2.0 * lasts).sum())
    seconds = float(lasts[ends.max(axis=1) > 0.0].sum())
    return Braking(energy, energy / seconds if seconds else 0.0, float(ends.max(initial=0.0)))


def power_corners(
    mass: float, parts: Sequence[Part], slope: float = 0.0
) -> tuple[FloatArray, FloatArray]:
    """Power into the supply, straight between its corners.

    Parameters
    ----------
    mass, parts, slope
        As in `braking`.

    Returns
    -------
    edges : ndarray, shape (n + 1,)
        Seconds at which parts begin and end.
    power : ndarray, shape (n, 2)
        W at the begin and the end of each part; negative while the motors push.

    Raises
    ------
    ValueError
        For NaN, infinity, a part without length or one whose speed changes sign.
    """
    kg, pull = float(positive(mass, "mass", "kg")), GRAVITY * math.sin(float(slope_angle(slope)))
    lasts = np.atleast_1d(positive([part.seconds for part in parts], "time of a part", "s"))
    speeds = signed([part[1:] for part in parts], "speed", "m/s")
    if (speeds.prod(axis=1) < 0.0).any():
        raise ValueError("A part changes the sign of its speed; split it where the machine stands.")
    acceleration = (speeds[:, 1] - speeds[:, 0]) / lasts
    power = -kg * (acceleration - pull)[:, np.newaxis] * speeds
    return np.concatenate([[0.0], np.cumsum(lasts)]), power + 0.0


@dataclass(frozen=True)
class Duty:
    """A way of working.

    Parameters
    ----------
    name : str
        In plain words.
    stops_per_minute : float
        Full stops a minute, 0 or more.
    descent_share : float
        Share of the time spent driving downhill, 0..1.
    """

    name: str
    stops_per_minute: float
    descent_share: float


# Invented: count your own with a watch.
DUTIES = (
    Duty("long rows", 2.0, 0.0),
    Duty("to and fro, turning often", 8.0, 0.0),
    Duty("to and fro on a slope", 8.0, 0.5),
    Duty("one long way down", 0.5, 1.0),
)


def average_watts(duty: Duty, energy_per_stop: float, descent_power: float = 0.0) -> float:
    """Average power in W that a duty sends back.

    Parameters
    ----------
    duty : Duty
        How often it stops and how much of the time goes downhill.
    energy_per_stop : float
        J, see `stop_braking`.
    descent_power : float
        W while going down, see `holding_power`.
    """
    energy = float(not_negative(energy_per_stop, "energy of a stop", "J"))
    down = float(not_negative(descent_power, "power going down", "W"))
    return duty.stops_per_minute / 60.0 * energy + duty.descent_share * down


@dataclass(frozen=True)
class BrakingScene(Checked):
    """What is assumed about a stop and about the parts that take it; invented values."""

    slope_deg: Annotated[
        float,
        Param(-25.0, 25.0, 0.5, "Slope", "Above 0: it drives downhill before the stop.", "deg"),
    ] = 5.0
    most_v: Annotated[
        float,
        Param(
            1.0,
            600.0,
            0.5,
            "Most the drive endures",
            "From the drive's leaflet. Above it the drive trips or breaks.",
            "V",
        ),
    ] = 36.0
    switch_a: Annotated[
        float,
        Param(1.0, 500.0, 1.0, "Switch rating", "Current the resistor's switch may carry.", "A"),
    ] = 80.0
    resistor_w: Annotated[
        float,
        Param(1.0, 5000.0, 1.0, "Resistor: watts", "What it bears all the time, as mounted.", "W"),
    ] = 50.0
    resistor_j: Annotated[
        float,
        Param(1.0, 100000.0, 10.0, "Resistor: joules", "What it bears in one short pulse.", "J"),
    ] = 500.0

    @property
    def slope(self) -> float:
        """Slope in rad."""
        return math.radians(self.slope_deg)
