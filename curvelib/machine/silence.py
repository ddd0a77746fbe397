"""Loss of signal, by what the receiver really does: time and distance to standing still.

Straight ahead.  The drive is taken to hold the machine back as its command
says, on a slope too, as far as the ground grips; one that lets its motors roll
at command 0 does not.  That, and what the receiver does, is found by tests, not
by a model.  The first test of all: transmitter off, the wheels must stop.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import ArrayLike

from curvelib.chain import Chain
from curvelib.machine.centre import held_sticks
from curvelib.machine.checks import (
    FloatOrArray,
    as_given,
    broadcast,
    not_negative,
    numbers,
    positive,
    within,
)
from curvelib.machine.ramping import ramp
from curvelib.machine.rolling import follow
from curvelib.machine.stance import Stance
from curvelib.params import Checked, FloatArray, Param
from curvelib.slew import SlewLimit
from curvelib.tune import Machine

Receiver = Literal[
    "stops sending",
    "sends an impossible pulse",
    "sends a preset pulse",
    "repeats its last pulse for ever",
]
RECEIVERS: tuple[Receiver, ...] = get_args(Receiver)

# Samples of the ramp and of what comes after it.
_CELLS = 120


@dataclass(frozen=True)
class LossScene(Checked):
    """What happens when the signal goes; invented values."""

    speed_share: Annotated[
        float,
        Param(
            0.0, 1.0, 0.01, "Speed", "Share of full speed, straight ahead, when the signal goes."
        ),
    ] = 0.7
    slope_deg: Annotated[
        float,
        Param(-25.0, 25.0, 0.5, "Slope", "Above 0: it drives downhill.", "deg"),
    ] = 5.0
    receiver_waits_s: Annotated[
        float,
        Param(
            0.0,
            3.0,
            0.05,
            "Receiver waits",
            "It repeats the last pulse so long before it does anything.",
            "s",
        ),
    ] = 0.0
    preset: Annotated[
        float,
        Param(-1.0, 1.0, 0.01, "Preset pulse", "As a stick position; 0 is the centre."),
    ] = 0.0
    still_m_s: Annotated[
        float,
        Param(
            0.0,
            1.0,
            0.01,
            "Counts as standing",
            "Slower than this; the last bit of a lag never ends.",
            "m/s",
            inside=True,
        ),
    ] = 0.05

    @property
    def slope(self) -> float:
        """Slope in rad."""
        return math.radians(self.slope_deg)


class Standstill(NamedTuple):
    """Time in s and distance in m until it stands; infinite: it never does."""

    time: FloatOrArray
    distance: FloatOrArray

    def behind(self, speed: ArrayLike, blind: float, goal: float = 0.0) -> Standstill:
        """Put a blind time in front.

        Parameters
        ----------
        speed : float or array_like, shape (m,)
            In the blind time, m/s.
        blind : float
            Seconds in which the old command is still obeyed; infinite: for ever.
        goal : float
            Command that comes after; anything but 0 never stands.
        """
        now = not_negative(speed, "speed", "m/s")
        if math.isinf(blind) or goal != 0.0:
            never = np.where((now == 0.0) & (goal == 0.0), 0.0, np.inf)
            return Standstill(as_given(never), as_given(never))
        wait = float(not_negative(blind, "blind time", "s"))
        time = np.where(now > 0.0, self.time + wait, 0.0)
        return Standstill(as_given(time), as_given(self.distance + now * wait))


@dataclass(frozen=True)
class Stopper:
    """How a machine stops when its command is taken away.

    Parameters
    ----------
    slew : SlewLimit
        Its ramps.
    top_speed : float
        m/s at full command, above 0.
    lag : float
        Time constant of the drive in s, 0 or more.
    grip : float
        Largest deceleration in m/s2 that the ground allows on this slope;
        infinite where it is not judged; 0 or less: it cannot stop there.
    """

    slew: SlewLimit
    top_speed: float
    lag: float = 0.0
    grip: float = math.inf

    def __post_init__(self) -> None:
        """Check every number."""
        positive(self.top_speed, "top speed", "m/s")
        not_negative(self.lag, "drive lag", "s")
        if np.isnan(numbers(self.grip, "grip")).any():
            raise ValueError("The grip is NaN; give a deceleration in m/s2, or infinity.")

    def speed_after(self, speed: ArrayLike, goal: float, time: FloatArray) -> FloatArray:
        """Speed while the command ramps from a steady one to `goal`.

        Parameters
        ----------
        speed : float or array_like, shape (m,)
            Before, in m/s, up to the top speed.
        goal : float
            Command, -1..1.
        time : ndarray, shape (n,) or (n, m)
            s since the command began to change, ascending from 0.

        Returns
        -------
        ndarray of float64, shape of `time`
            m/s.
        """
        now = within(speed, "speed", 0.0, self.top_speed * (1.0 + 1e-9), "m/s")
        begin = np.minimum(now / self.top_speed, 1.0)
        to_full, to_stop = self.slew.to_full, self.slew.to_stop
        wanted = self.top_speed * ramp(begin, goal, time, to_full=to_full, to_stop=to_stop)
        if self.grip <= 0.0:
            return np.broadcast_to(now, wanted.shape).copy()
        return follow(time, wanted, self.lag, now, self.grip)

    def standstill(
        self, speed: ArrayLike, still: float, blind: float = 0.0, goal: float = 0.0
    ) -> Standstill:
        """Time and distance from the loss to standing still.

        Parameters
        ----------
        speed : float or array_like, shape (m,)
            Before, in m/s, 0 to the top speed.
        still : float
            Speed in m/s that counts as standing, above 0.
        blind : float
            Seconds in which the old command is still obeyed; infinite: for ever.
        goal : float
            Command that comes after, -1..1; anything but 0 never stands.

        Returns
        -------
        Standstill
            Floats for a number, else arrays.  A machine slower than `still`
            stands when the blind time is over; one that stood before, at once.
        """
        now = within(speed, "speed", 0.0, self.top_speed * (1.0 + 1e-9), "m/s")
        threshold = float(positive(still, "speed that counts as standing", "m/s"))
        time, way = self._stops(np.atleast_1d(now), threshold)
        shape = np.shape(now)
        ramp_alone = Standstill(as_given(time.reshape(shape)), as_given(way.reshape(shape)))
        return ramp_alone.behind(now, blind, goal)

    def _stops(self, speed: FloatArray, still: float) -> tuple[FloatArray, FloatArray]:
        """Time and way from the beginning of the ramp."""
        moves = speed > still
        if self.grip <= 0.0:
            return np.where(moves, np.inf, 0.0), np.where(moves, np.inf, 0.0)
        time = self._moments(speed, still)
        fast = self.speed_after(speed, 0.0, time)
        way = np.zeros_like(time)
        way[1:] = np.cumsum(np.diff(time, axis=0) * (fast[1:] + fast[:-1]) / 2.0, axis=0)
        # The speed only falls, so the last sample above the threshold is next to it.
        last = np.maximum((fast > still).sum(axis=0) - 1, 0)
        after = np.minimum(last + 1, len(time) - 1)
        lanes = np.arange(len(speed))
        drop = fast[last, lanes] - fast[after, lanes]
        falls = drop > 1e-9 * still
        share = np.where(falls, (fast[last, lanes] - still) / np.where(falls, drop, 1.0), 1.0)
        share = np.clip(share, 0.0, 1.0)
        moment, gone = (
            table[last, lanes] + share * (table[after, lanes] - table[last, lanes])
            for table in (time, way)
        )
        return np.where(moves, moment, 0.0), np.where(moves, gone, 0.0)

    def _moments(self, speed: FloatArray, still: float) -> FloatArray:
        """Sample times for each speed: over its ramp, then until the lag and the slide are over."""
        ended = speed / self.top_speed * self.slew.to_stop
        slide = speed / self.grip if self.grip > 0.0 else 0.0 * speed
        tail = self.lag * np.log1p(speed / still) + np.maximum(slide - ended, 0.0)
        cells = np.linspace(0.0, 1.0, _CELLS + 1)[:, np.newaxis]
        on_ramp = cells * ended
        # Without a ramp the two parts meet in one moment, at which the command jumps.
        return np.concatenate([on_ramp, ended + cells[1:] * (1.01 * tail + 1e-6)])


def grip_downhill(machine: Machine, slope: float) -> float:
    """Deceleration in m/s2 that grip allows while driving forward down a slope in rad.

    Infinite where grip, or with one driven axle the place of the centre of
    mass, is not known: then sliding is not judged.
    """
    front, rear, height = machine.cg_to_front_m, machine.cg_to_rear_m, machine.cg_height_m
    if machine.friction is None:
        return math.inf
    if front is None or rear is None or height is None:
        if machine.driven != "all":
            return math.inf
        # With all wheels braked the lengths cancel.
        front = rear = height = 1.0
    stance = Stance(front, rear, height, machine.friction, driven=machine.driven, slope=slope)
    return float(stance.grip.stop_forward)


def blind_time(receiver: Receiver, scene: LossScene, timeout_s: float) -> float:
    """Seconds from the last true pulse until the command begins to change; infinite: never.

    An impossible pulse is no command: it counts as silence from the last good one.
    """
    if receiver not in RECEIVERS:
        raise ValueError(f"receiver = {receiver!r} is not known; give one of {RECEIVERS}.")
    if receiver == "repeats its last pulse for ever":
        return math.inf
    timeout = 0.0 if receiver == "sends a preset pulse" else timeout_s
    return scene.receiver_waits_s + float(not_negative(timeout, "timeout", "s"))


def goal_command(chain: Chain, receiver: Receiver, scene: LossScene) -> float:
    """Mean command that follows: 0, but for a preset pulse off its centre."""
    if receiver != "sends a preset pulse":
        return 0.0
    left, right = chain.steady(*held_sticks(chain, scene.preset))
    mean = float((left + right) / 2.0)
    return 0.0 if bool(chain.output.below_half_step(mean)) else mean


def loss_trace(
    stopper: Stopper, speed: float, blind: float, goal: float, time: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Speed in m/s and way in m at times in s, shape (n,), since the loss."""
    seconds, now = broadcast(time=not_negative(time, "time", "s"), speed=np.asarray(speed))
    if math.isinf(blind):
        return now.copy(), now * seconds
    since = np.union1d(np.maximum(seconds - blind, 0.0), np.linspace(0.0, seconds.max(), 2))
    since = np.union1d(since, np.linspace(0.0, stopper.slew.reversal_time, _CELLS))
    fast = stopper.speed_after(speed, goal, since)
    way = np.concatenate([[0.0], np.cumsum(np.diff(since) * (fast[1:] + fast[:-1]) / 2.0)])
    after = np.maximum(seconds - blind, 0.0)
    gone = now * np.minimum(seconds, blind) + np.interp(after, since, way)
    return np.where(seconds < blind, now, np.interp(after, since, fast)), gone


_HELPS: dict[Receiver, str] = {
    "stops sending": "Good: the timeout acts. The timeout is the setting that counts.",
    "sends an impossible pulse": "Good: it counts as silence, so the timeout acts.",
    "sends a preset pulse": (
        "At the centre it stops sooner than a timeout. Set it at the very centre and test it: "
        "off centre it drives, and no timeout trips."
    ),
    "repeats its last pulse for ever": (
        "No timeout in the drive can trip: every pulse is fresh. Set the receiver to stop "
        "sending or to a preset at the centre; if it cannot, use another receiver."
    ),
}


def what_helps(receiver: Receiver) -> str:
    """Name the setting that helps, in plain words."""
    return _HELPS[receiver]
