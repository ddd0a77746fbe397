"""Turning on the spot: what resists it, what the drives can do, and how far the ground is scrubbed.

Coulomb friction under an even load, the turning centre in the middle.  At
which scrub distance or which force turf shears is not known in general: it
depends on grass, soil and rain, so nothing here says so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import (
    FloatOrArray,
    as_given,
    broadcast,
    friction_coefficient,
    not_negative,
    positive,
)
from curvelib.machine.scrub import Scrub, lever_share, scrub_per_turn
from curvelib.machine.tipping import GRAVITY
from curvelib.tune import Contact


def resisting_moment(
    mass: ArrayLike, friction: ArrayLike, wheelbase: ArrayLike, contact: Contact = "wheels"
) -> FloatOrArray:
    """Moment in N m that friction sets against turning on the spot.

    Parameters
    ----------
    mass : float or array_like
        kg, above 0.
    friction : float or array_like
        Coefficient of friction, 0 to 5.
    wheelbase : float or array_like
        Distance between the axles, for tracks the length on the ground, in m.
    contact : {"wheels", "tracks", "casters"}
        "wheels": one at each corner.  "casters": one driven axle with the
        turning centre on it, the rest on casters.

    Returns
    -------
    float or ndarray of float64
        tracks: mu W L/4; wheels: mu W wheelbase/2; casters: 0, of which a real
        one is a little above while the casters swing round.

    Raises
    ------
    ValueError
        For NaN, infinity, a value out of range or an unknown contact.

    Notes
    -----
    W = mass x 9.80665 m/s2, evenly spread.  Turning while driving an arc wider
    than the machine takes less.
    """
    weight, mu, base = broadcast(
        mass=GRAVITY * positive(mass, "mass", "kg"),
        friction=friction_coefficient(friction),
        wheelbase=not_negative(wheelbase, "wheelbase", "m"),
    )
    return as_given(mu * weight * base * lever_share(contact))


def drive_moment(
    torque_per_amp: ArrayLike, current_limit: ArrayLike, wheel_radius: ArrayLike, track: ArrayLike
) -> FloatOrArray:
    """Turning moment in N m that both drives give at their current limit.

    Parameters
    ----------
    torque_per_amp : float or array_like
        Torque at the wheel, gearing included, in N m/A, for one side.
    current_limit : float or array_like
        Of each side in A.
    wheel_radius, track : float or array_like
        m, above 0.

    Returns
    -------
    float or ndarray of float64
        One side pushes forward, the other back:
        track x torque_per_amp x current_limit/wheel_radius.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range.

    Notes
    -----
    Wheels cannot push harder than they grip: see `grip_moment`.
    """
    torque, current, radius, width = broadcast(
        torque_per_amp=not_negative(torque_per_amp, "torque per ampere", "N m/A"),
        current_limit=not_negative(current_limit, "current limit", "A"),
        wheel_radius=positive(wheel_radius, "wheel radius", "m"),
        track=positive(track, "track", "m"),
    )
    return as_given(width * torque * current / radius)


def grip_moment(mass: ArrayLike, friction: ArrayLike, track: ArrayLike) -> FloatOrArray:
    """Turning moment in N m beyond which the driven wheels spin, all weight on them.

    Parameters
    ----------
    mass, friction, track : float or array_like
        kg; bare number, 0 to 5; m.

    Returns
    -------
    float or ndarray of float64
        mu W track/2, as if no grip were spent sideways: an upper bound.
    """
    weight, mu, width = broadcast(
        mass=GRAVITY * positive(mass, "mass", "kg"),
        friction=friction_coefficient(friction),
        track=positive(track, "track", "m"),
    )
    return as_given(mu * weight * width / 2.0)


def turning_share_from_turns(
    turns: ArrayLike, wheel_turns: ArrayLike, wheel_radius: ArrayLike, track: ArrayLike
) -> FloatOrArray:
    """Share of ideal yaw from turns counted on the spot.

    Parameters
    ----------
    turns : float or array_like
        Full turns of the machine, counted by eye.
    wheel_turns : float or array_like
        Full turns each side's wheels made meanwhile, one side forward, the
        other back, equally fast.
    wheel_radius, track : float or array_like
        m, above 0.

    Returns
    -------
    float or ndarray of float64
        turns x track/(2 x wheel_turns x wheel_radius), a bare number.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range.

    Notes
    -----
    For scale: 0.695-0.761 on asphalt and 0.705-0.746 on concrete, a 0.4 m wide
    robot; Mandow et al., IROS 2007, doi 10.1109/IROS.2007.4399139 (second-hand).
    No value for grass was found.
    """
    round_, rolled, radius, width = broadcast(
        turns=not_negative(turns, "turns of the machine"),
        wheel_turns=positive(wheel_turns, "turns of the wheels"),
        wheel_radius=positive(wheel_radius, "wheel radius", "m"),
        track=positive(track, "track", "m"),
    )
    return as_given(round_ * width / (2.0 * rolled * radius))


@dataclass(frozen=True)
class Spin:
    """Turning on the spot as a whole: what resists, what the drives give, what is scrubbed.

    Parameters
    ----------
    resisting, grip : float
        Moments in N m, see `resisting_moment` and `grip_moment`.
    driving : float or None
        Moment at the current limit in N m; None where torque per ampere or the
        current limit is not known.
    scrub : Scrub
        Distances per full turn in m.
    """

    resisting: float
    grip: float
    driving: float | None
    scrub: Scrub

    @property
    def share_used(self) -> float | None:
        """Resisting over driving moment; above 1 it does not turn; None where not known."""
        if self.driving is None:
            return None
        return self.resisting / self.driving if self.driving > 0.0 else np.inf

    def words(self) -> str:
        """Say in plain words whether it turns on the spot, and what that does to the ground."""
        sentences = [f"Friction resists turning on the spot with {self.resisting:.0f} N m."]
        if self.driving is None:
            sentences.append(
                "What the drives can give is not known: name the torque per ampere, "
                "the current limit and the wheel radius."
            )
        elif self.driving > self.resisting:
            sentences.append(f"The drives give {self.driving:.0f} N m at their limit: it turns.")
        else:
            sentences.append(
                f"The drives give {self.driving:.0f} N m at their limit: it does not turn "
                "on the spot; turn on an arc instead."
            )
        if self.resisting >= self.grip:
            sentences.append(
                f"The wheels grip for {self.grip:.0f} N m at most and may spin first: "
                "the machine is long for its track."
            )
        sentences.append(
            f"In one full turn the wheels scrub {self.scrub.total:.1f} m over the ground. "
            "When turf shears is not known in general; try it on a patch that does not matter."
        )
        return " ".join(sentences)


def spin(
    *,
    mass: float,
    friction: float,
    wheelbase: float,
    track: float,
    contact: Contact = "wheels",
    turning_share: float = 1.0,
    torque_per_amp: float | None = None,
    current_limit: float | None = None,
    wheel_radius: float | None = None,
) -> Spin:
    """Put together what turning on the spot takes, gives and scrubs.

    Parameters
    ----------
    mass, friction, wheelbase, track, contact, turning_share
        As in `resisting_moment` and `scrub_per_turn`.
    torque_per_amp, current_limit, wheel_radius : float, optional
        As in `drive_moment`; without all three the drives' moment is not known.

    Returns
    -------
    Spin
        Moments in N m, scrub in m, and `Spin.words`.
    """
    driving = None
    if torque_per_amp is not None and current_limit is not None and wheel_radius is not None:
        driving = drive_moment(torque_per_amp, current_limit, wheel_radius, track)
    return Spin(
        resisting_moment(mass, friction, wheelbase, contact),
        grip_moment(mass, friction, track),
        driving,
        scrub_per_turn(wheelbase, track, contact, turning_share),
    )
