"""When wheels slide: grip along and across the machine, by which axle is driven.

Friction is one number for ground and tyre, with no difference between sticking
and sliding.  A machine that turns already scrubs its wheels sideways and has
less grip left lengthways than these limits say.

Where the number comes from: a table (`GROUNDS`), or better the builder's own
drag test.  With the wheels held from turning, pull the machine along level
ground, slowly, with a luggage scale held level with the ground, and divide the
steady pull by the machine's weight: `friction_from_drag`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import (
    FloatOrArray,
    as_given,
    broadcast,
    friction_coefficient,
    not_negative,
    positive,
    signed,
    slope_angle,
)
from curvelib.machine.tipping import GRAVITY, FourCases, tip_deceleration
from curvelib.params import FloatArray
from curvelib.tune import Driven

DRIVEN: tuple[str, ...] = get_args(Driven)


@dataclass(frozen=True)
class Ground:
    """A kind of ground and a published friction coefficient for it.

    Attributes
    ----------
    name : str
        What the ground is.
    friction : float
        Coefficient of friction, a bare number.
    source : str
        Where the number was published, and how far that was confirmed.
    """

    name: str
    friction: float
    source: str


_NOON = (
    "Noon, Engineering Analysis of Vehicular Accidents, CRC 1994 "
    "(second-hand: read in a text that quotes it)"
)
GROUNDS = (Ground("wet grassy field", 0.20, _NOON), Ground("gravel or dirt road", 0.35, _NOON))


def grip_deceleration(
    friction: ArrayLike,
    slope: ArrayLike = 0.0,
    driven: Driven = "all",
    cg_to_undriven: ArrayLike | None = None,
    wheelbase: ArrayLike | None = None,
    cg_height: ArrayLike | None = None,
) -> FloatOrArray:
    """Largest deceleration that grip allows to a machine braking downhill.

    Parameters
    ----------
    friction : float or array_like
        Coefficient of friction, 0 to 5.
    slope : float or array_like
        rad, positive where the machine moves downhill, negative uphill.
    driven : {"all", "rear", "front"}
        Which axle brakes: both, the one behind as it moves (uphill for a
        positive slope), or the one ahead (downhill).  A machine that reverses
        moves the other way, so its axles change roles: `grip_limits` does that.
    cg_to_undriven, wheelbase, cg_height : float or array_like, optional
        Needed for "rear" and "front": from the centre of mass to the axle that
        does not brake, distance between the axles, height of the centre of
        mass, in m.

    Returns
    -------
    float or ndarray of float64
        m/s2.  Negative: it cannot hold, and speeds up with its wheels locked.

    Raises
    ------
    ValueError
        For NaN, infinity, a value out of range, a missing length, or a name
        that is not known.

    Notes
    -----
    "all": g (mu cos s - sin s).  One axle, c from the centre of mass to the
    undriven one, W the wheelbase: mu g cos s (c/W)/(1 +- mu h/W) - g sin s,
    plus for "rear", which braking unloads, minus for "front", which it loads;
    "front" is capped where the machine tips over that axle.
    """
    mu, angle = broadcast(friction=friction_coefficient(friction), slope=slope_angle(slope))
    if driven not in DRIVEN:
        raise ValueError(f"driven = {driven!r} is not known; give one of 'all', 'rear' or 'front'.")
    if driven == "all":
        return as_given(GRAVITY * (mu * np.cos(angle) - np.sin(angle)))
    lever, base, height = _axle_lengths(driven, cg_to_undriven, wheelbase, cg_height)
    mu, angle, lever, base, height = broadcast(
        friction=mu, slope=angle, cg_to_undriven=lever, wheelbase=base, cg_height=height
    )
    pull = mu * GRAVITY * np.cos(angle) * lever
    down = GRAVITY * np.sin(angle)
    if driven == "rear":
        return as_given(pull / (base + mu * height) - down)
    return as_given(_front_braked(mu, angle, lever, base, height))


def _front_braked(
    mu: FloatArray, angle: FloatArray, lever: FloatArray, base: FloatArray, height: FloatArray
) -> FloatArray:
    # With mu h at the distance from the centre of mass to the braked axle or
    # more, the machine tips over that axle before it slides; below that,
    # base - mu h is above the lever and the quotient is safe.
    tips = mu * height >= base - lever
    room = np.where(tips, 1.0, base - mu * height)
    slides = mu * GRAVITY * np.cos(angle) * lever / room - GRAVITY * np.sin(angle)
    return np.where(tips, tip_deceleration(base - lever, height, angle), slides)


def _axle_lengths(
    driven: str,
    cg_to_undriven: ArrayLike | None,
    wheelbase: ArrayLike | None,
    cg_height: ArrayLike | None,
) -> list[FloatArray]:
    """Check the lengths that one driven axle needs."""
    if cg_to_undriven is None or wheelbase is None or cg_height is None:
        raise ValueError(
            f"driven = {driven!r} needs cg_to_undriven, wheelbase and cg_height in m; "
            "only 'all' can do without them."
        )
    lever, base, height = broadcast(
        cg_to_undriven=not_negative(cg_to_undriven, "distance to the undriven axle", "m"),
        wheelbase=positive(wheelbase, "wheelbase", "m"),
        cg_height=positive(cg_height, "height of the centre of mass", "m"),
    )
    if (lever > base).any():
        raise ValueError(
            f"The centre of mass lies {lever.max():g} m from the undriven axle, beyond the other "
            f"one; give at most the wheelbase, {base.min():g} m."
        )
    return [lever, base, height]


def grip_limits(
    friction: ArrayLike,
    slope: ArrayLike = 0.0,
    driven: Driven = "all",
    *,
    cg_to_front: ArrayLike | None = None,
    cg_to_rear: ArrayLike | None = None,
    cg_height: ArrayLike | None = None,
) -> FourCases:
    """Largest acceleration that grip allows, in each of the four cases.

    Parameters
    ----------
    friction : float or array_like
        Coefficient of friction, 0 to 5.
    slope : float or array_like
        rad, positive where the nose points downhill, negative uphill.
    driven : {"all", "rear", "front"}
        The machine's own driven axle; front is where the nose is.
    cg_to_front, cg_to_rear, cg_height : float or array_like, optional
        m; needed for "rear" and "front".

    Returns
    -------
    FourCases
        m/s2; negative: it cannot hold.  Stopping forward and starting in
        reverse load the front axle, the other two the rear.
    """
    down = slope_angle(slope)
    if driven == "all":
        ahead, astern = grip_deceleration(friction, down), grip_deceleration(friction, -down)
        return FourCases(ahead, astern, astern, ahead)
    if cg_to_front is None or cg_to_rear is None:
        raise ValueError(f"driven = {driven!r} needs cg_to_front and cg_to_rear in m.")
    front = not_negative(cg_to_front, "distance to the front axle", "m")
    rear = not_negative(cg_to_rear, "distance to the rear axle", "m")
    to_undriven = front if driven == "rear" else rear
    swapped: Driven = "front" if driven == "rear" else "rear"
    ahead = grip_deceleration(friction, down, driven, to_undriven, front + rear, cg_height)
    astern = grip_deceleration(friction, -down, swapped, to_undriven, front + rear, cg_height)
    return FourCases(ahead, astern, astern, ahead)


def slide_sideways(friction: ArrayLike, cross_slope: ArrayLike = 0.0) -> FloatOrArray:
    """Lateral acceleration at which the machine slides outward in a turn.

    Parameters
    ----------
    friction : float or array_like
        Coefficient of friction, 0 to 5.
    cross_slope : float or array_like
        rad, positive where the ground falls away on the outer side of the turn.

    Returns
    -------
    float or ndarray of float64
        m/s2; negative: it slides down standing still.

    Notes
    -----
    Every wheel is taken to hold sideways, which casters do not.
    """
    return grip_deceleration(friction, slope_angle(cross_slope, "cross slope"))


def least_radius_sideways(speed: ArrayLike, lateral: ArrayLike) -> FloatOrArray:
    """Tightest radius at a speed that a lateral limit allows.

    Parameters
    ----------
    speed : float or array_like
        Body speed in m/s, of either sign.
    lateral : float or array_like
        Lateral acceleration in m/s2 at which it tips or slides, see
        `tip_sideways` and `slide_sideways`.

    Returns
    -------
    float or ndarray of float64
        speed^2/lateral in m; infinite where lateral is 0 or negative.

    Raises
    ------
    ValueError
        For NaN or infinity.
    """
    now, limit = broadcast(
        speed=signed(speed, "speed", "m/s"), lateral=signed(lateral, "lateral limit", "m/s2")
    )
    holds = limit > 0.0
    with np.errstate(over="ignore"):
        radius = now**2 / np.where(holds, limit, 1.0)
    return as_given(np.where(holds, radius, np.inf))


def friction_from_drag(pull: ArrayLike, weight: ArrayLike) -> FloatOrArray:
    """Coefficient of friction from a drag test on level ground.

    Parameters
    ----------
    pull : float or array_like
        Steady pull that drags the machine with its wheels held, 0 or more.
    weight : float or array_like
        What the machine weighs, above 0, in the same unit (both in kg as a
        luggage scale shows them, or both in N).

    Returns
    -------
    float or ndarray of float64
        pull/weight, a bare number.

    Raises
    ------
    ValueError
        For NaN, infinity, or a result above 5, which no ground gives.
    """
    force, load = broadcast(
        pull=not_negative(pull, "pull"), weight=positive(weight, "weight of the machine")
    )
    return as_given(friction_coefficient(force / load))
