"""How a machine stands: where its weight rests, what holds it, and how much of that is used."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import (
    FloatOrArray,
    as_given,
    broadcast,
    finite,
    friction_coefficient,
    not_negative,
    positive,
    slope_angle,
)
from curvelib.machine.grip import DRIVEN, grip_limits
from curvelib.machine.tipping import GRAVITY, FourCases, tip_limits
from curvelib.params import FloatArray
from curvelib.tune import Driven


@dataclass(frozen=True)
class Stance:
    """A machine on its ground, as far as tipping and sliding go.

    Parameters
    ----------
    cg_to_front, cg_to_rear : float
        From the centre of mass to the front and rear axle in m (tracks: to the
        ends of the part that carries), 0 or more, not both 0.
    cg_height : float
        Height of the centre of mass in m, above 0.
    friction : float
        Coefficient of friction, 0 to 5.
    track : float, optional
        Distance between the sides in m.  None: not known, and tipping sideways
        is not judged.
    driven : {"all", "rear", "front"}
        Which of the machine's own axles is driven and braked.
    slope : float
        rad, positive where the nose points downhill.
    cross_slope : float
        rad, positive where the ground falls away to the left.

    Notes
    -----
    Rigid body, steady slope, one friction number for all wheels and all
    directions.  A skid-steer machine scrubs its wheels sideways while it
    turns, and has less grip left than this says.
    """

    cg_to_front: float
    cg_to_rear: float
    cg_height: float
    friction: float
    track: float | None = None
    driven: Driven = "all"
    slope: float = 0.0
    cross_slope: float = 0.0

    def __post_init__(self) -> None:
        """Check every number."""
        not_negative(self.cg_to_front, "distance from centre of mass to front axle", "m")
        not_negative(self.cg_to_rear, "distance from centre of mass to rear axle", "m")
        positive(self.wheelbase, "wheelbase (both distances to the axles together)", "m")
        positive(self.cg_height, "height of the centre of mass", "m")
        friction_coefficient(self.friction)
        slope_angle(self.slope)
        slope_angle(self.cross_slope, "cross slope")
        if self.track is not None:
            positive(self.track, "track", "m")
        if self.driven not in DRIVEN:
            raise ValueError(
                f"driven = {self.driven!r} is not known; give 'all', 'rear' or 'front'."
            )
        if np.sin(self.slope) ** 2 + np.sin(self.cross_slope) ** 2 >= 1.0:
            raise ValueError("slope and cross slope together are steeper than a wall.")

    @property
    def wheelbase(self) -> float:
        """Distance between the axles in m."""
        return self.cg_to_front + self.cg_to_rear

    @property
    def tip(self) -> FourCases:
        """Acceleration in m/s2 at which it tips, in each of the four cases; no cross slope."""
        return tip_limits(self.cg_to_front, self.cg_to_rear, self.cg_height, self.slope)

    @property
    def grip(self) -> FourCases:
        """Acceleration in m/s2 at which it slides, in each of the four cases; no cross slope."""
        return grip_limits(
            self.friction,
            self.slope,
            self.driven,
            cg_to_front=self.cg_to_front,
            cg_to_rear=self.cg_to_rear,
            cg_height=self.cg_height,
        )

    def turned(self) -> Stance:
        """Return the same machine facing the other way on the same slope."""
        return replace(self, slope=-self.slope, cross_slope=-self.cross_slope)

    def with_less_footing(self, share: float) -> Stance:
        """Return the stance with a share of its distances to the axles taken off."""
        left = 1.0 - share
        return replace(self, cg_to_front=left * self.cg_to_front, cg_to_rear=left * self.cg_to_rear)

    def with_less_grip(self, share: float) -> Stance:
        """Return the stance with a share of its friction taken off."""
        return replace(self, friction=(1.0 - share) * self.friction)

    def tip_use(self, acceleration: ArrayLike, lateral: ArrayLike = 0.0) -> FloatOrArray:
        """Share of its footing that the machine uses; it tips at 1.

        Parameters
        ----------
        acceleration, lateral : float or array_like
            Acceleration of the body forward and to the left in m/s2.

        Returns
        -------
        float or ndarray of float64
            How far the resultant of weight and inertia has moved from below
            the centre of mass towards an edge of the footprint, the nearest
            edge counting; 0 or more, 1 exactly where it tips.  A slope alone
            uses part of it.
        """
        along, across, normal = self._pulls(acceleration, lateral)
        # Braking (along < 0) throws the resultant forward.
        lever = np.where(along < 0.0, self.cg_to_front, self.cg_to_rear)
        used = _share(self.cg_height * np.abs(along), lever * normal)
        if self.track is not None:
            edge = np.asarray(self.track / 2.0 * normal)
            used = np.maximum(used, _share(self.cg_height * np.abs(across), edge))
        return as_given(used)

    def slide_use(self, acceleration: ArrayLike, lateral: ArrayLike = 0.0) -> FloatOrArray:
        """Share of its grip that the machine uses; it slides at 1.

        Parameters
        ----------
        acceleration, lateral : float or array_like
            Acceleration of the body forward and to the left in m/s2.

        Returns
        -------
        float or ndarray of float64
            0 or more, 1 exactly where it slides; infinite where there is no
            grip to use.  Lengthways and sideways combine as the legs of a
            right triangle (the friction ellipse); lengthways only the driven
            axle pulls, under the load the acceleration leaves it.
        """
        along, across, normal = self._pulls(acceleration, lateral)
        lengthways = _share(np.abs(along), self.friction * self._driven_load(along, normal))
        sideways = _share(np.abs(across), np.asarray(self.friction * normal))
        return as_given(np.hypot(lengthways, sideways))

    def _pulls(
        self, acceleration: ArrayLike, lateral: ArrayLike
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Pull of the ground per mass: forward, to the left and upright, in m/s2."""
        forward, left = broadcast(
            acceleration=finite(acceleration, "acceleration"),
            lateral=finite(lateral, "lateral acceleration"),
        )
        down, fall = np.sin(self.slope), np.sin(self.cross_slope)
        normal = GRAVITY * np.sqrt(1.0 - down**2 - fall**2)
        return forward - GRAVITY * down, left - GRAVITY * fall, np.asarray(normal)

    def _driven_load(self, along: FloatArray, normal: FloatArray) -> FloatArray:
        """Load on the driven axle per mass in m/s2, moved by the pull along the machine."""
        if self.driven == "all":
            return np.broadcast_to(normal, along.shape)
        moved = self.cg_height * along
        if self.driven == "rear":
            load = normal * self.cg_to_front + moved
        else:
            load = normal * self.cg_to_rear - moved
        return np.maximum(load / self.wheelbase, 0.0)


def _share(used: FloatArray, available: FloatArray) -> FloatArray:
    """Return used/available; 0 of 0 is 0, anything else of 0 is infinite."""
    some = available > 0.0
    with np.errstate(over="ignore"):
        share = used / np.where(some, available, 1.0)
    return np.where(some, share, np.where(used > 0.0, np.inf, 0.0))
