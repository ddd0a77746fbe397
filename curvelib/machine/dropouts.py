"""Short timeout or long: false stops from brief dropouts against metres driven blind.

The radio is a model with two states: in the good one every frame arrives, in
the bad one none does, and each change has a fixed chance at every frame
(E. N. Gilbert, "Capacity of a burst-noise channel", Bell System Technical
Journal 39, 1960, p. 1253; from memory).  Its rates are invented: they depend on
place, aerials and weather, and are to be counted on the machine.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import FloatOrArray, as_given, not_negative, positive
from curvelib.params import Checked, Param

# A timeout of a whole number of frames must not fall on either side by rounding.
_GRAIN = 1e-9


@dataclass(frozen=True)
class Dropouts(Checked):
    """Bursts of lost frames; INVENTED rates.

    The ranges leave the radio good for most of the time.
    """

    bursts_per_hour: Annotated[
        float,
        Param(1.0, 600.0, 1.0, "Dropouts an hour", "Invented. Count yours.", "per hour"),
    ] = 60.0
    mean_burst_s: Annotated[
        float,
        Param(
            0.05, 2.0, 0.01, "Mean dropout", "Invented. Most are shorter, a few far longer.", "s"
        ),
    ] = 0.12
    frame_s: Annotated[
        float,
        Param(
            0.004,
            0.05,
            0.001,
            "Frame",
            "Time between pulses; about 0.02 s is common practice.",
            "s",
        ),
    ] = 0.02

    @property
    def leaves(self) -> float:
        """Chance at each frame that a burst ends."""
        return min(self.frame_s / self.mean_burst_s, 1.0)

    @property
    def begins(self) -> float:
        """Chance at each good frame that a burst begins with the next."""
        good_s = 3600.0 / self.bursts_per_hour - self.mean_burst_s
        return self.frame_s / good_s

    def false_stops(self, timeout: ArrayLike) -> FloatOrArray:
        """False stops an hour that dropouts alone cause.

        Parameters
        ----------
        timeout : float or array_like
            s, 0 or more.

        Returns
        -------
        float or ndarray of float64
            Bursts an hour x chance that one outlasts the timeout; falls in
            steps of a frame.  A timeout shorter than a frame stops at every frame.

        Notes
        -----
        With n frames lost the last good pulse grows (n + 1) frames old; a stop
        comes when that is strictly more than the timeout.
        """
        wait = not_negative(timeout, "timeout", "s")
        lost = np.floor(wait / self.frame_s + _GRAIN)
        outlasts = (1.0 - self.leaves) ** np.maximum(lost - 1.0, 0.0)
        every_frame = 3600.0 / self.frame_s
        return as_given(np.where(lost < 1.0, every_frame, self.bursts_per_hour * outlasts))

    def least_timeout(self, stops_per_hour: float) -> float:
        """Shortest timeout in s, in whole frames, with no more false stops an hour than named."""
        wanted = float(positive(stops_per_hour, "false stops an hour", "per hour"))
        if wanted >= 3600.0 / self.frame_s:
            return 0.0
        if wanted >= self.bursts_per_hour:
            return self.frame_s
        stays = math.log1p(-self.leaves) if self.leaves < 1.0 else -math.inf
        frames = 1 + math.ceil(math.log(wanted / self.bursts_per_hour) / stays - _GRAIN)
        return max(frames, 2 if math.isinf(stays) else frames) * self.frame_s


@dataclass(frozen=True)
class TimeoutScene(Checked):
    """What the operator puts up with; invented values."""

    stops_per_hour: Annotated[
        float,
        Param(
            0.02,
            5.0,
            0.02,
            "False stops you bear",
            "An hour. Each one is safe, but it teaches people to bypass the timeout.",
            "per hour",
        ),
    ] = 0.5
    room_m: Annotated[
        float,
        Param(0.1, 30.0, 0.1, "Room", "From the loss to the first thing it must not hit.", "m"),
    ] = 2.0


@dataclass(frozen=True)
class TimeoutWindow:
    """Which timeouts are neither jumpy nor far too blind.

    Parameters
    ----------
    least : float
        s: shorter ones stop falsely more often than named.
    most : float
        s: longer ones drive farther than the room; negative where ramp and lag
        alone use more than the room, infinite at standstill.
    """

    least: float
    most: float

    @property
    def empty(self) -> bool:
        """True where no timeout does both."""
        return self.least > self.most

    def words(self) -> str:
        """Say the window in plain words."""
        if self.most < 0.0:
            return (
                "No timeout stops it within the room: ramp and lag alone use more. "
                "What would help: less speed, a shorter ramp, more room."
            )
        if self.empty:
            return (
                f"No timeout does both: from {self.least:.2f} s on false stops are rare enough, "
                f"up to {self.most:.2f} s it stops within the room. What would help: less speed, a "
                "shorter ramp, better aerials, more room. If in doubt, the shorter timeout."
            )
        if math.isinf(self.most):
            return f"A timeout of {self.least:.2f} s or more will do; standing, it drives no way."
        return f"A timeout from {self.least:.2f} to {self.most:.2f} s will do: take the short end."


def timeout_window(
    dropouts: Dropouts, scene: TimeoutScene, speed: float, stop_distance: float
) -> TimeoutWindow:
    """Timeouts between too many false stops and too many blind metres.

    Parameters
    ----------
    dropouts : Dropouts
        The radio.
    scene : TimeoutScene
        False stops borne, room.
    speed : float
        m/s, 0 or more.
    stop_distance : float
        m from the beginning of the ramp to standing, 0 or more; infinite: it
        never stands.

    Returns
    -------
    TimeoutWindow
        In s.
    """
    now = float(not_negative(speed, "speed", "m/s"))
    least = dropouts.least_timeout(scene.stops_per_hour)
    if now == 0.0:
        return TimeoutWindow(least, math.inf)
    return TimeoutWindow(least, (scene.room_m - stop_distance) / now)
