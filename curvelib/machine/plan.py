"""The path in plan after the sticks change: where the ramp acts decides how the machine turns.

On the motors at equal rates both sides lose the same speed in the same time:
the slower side stands first, and the turn tightens.  On the sticks the smaller
stick comes to rest first, usually the steer, and the path straightens.
Together, both sides keep their ratio, and with it the radius.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import not_negative, within
from curvelib.machine.motion import body_motion
from curvelib.machine.ramping import RampPath, stick_pairs
from curvelib.machine.response import Response, respond
from curvelib.mixing import Mix, TankMix
from curvelib.params import FloatArray
from curvelib.slew import ActsOn

_MOST_STEPS = 100_000


@dataclass(frozen=True, eq=False)
class SnapTrace:
    """What follows a sudden change of the sticks.

    Parameters
    ----------
    acts_on : {"motors", "sticks", "together"}
        Where the slew limit acted.
    left, right : ndarray, shape (n,)
        Motor commands held over each step.
    response : Response
        Speeds, accelerations and poses of the machine.
    radius : ndarray, shape (n,)
        Turning radius of the commanded motion in m, infinite straight on and
        at rest.
    """

    acts_on: ActsOn
    left: FloatArray
    right: FloatArray
    response: Response
    radius: FloatArray

    @property
    def length(self) -> float:
        """Length of the way of the machine's middle in m."""
        steps = np.diff(self.response.poses[:, :2], axis=0)
        return float(np.hypot(steps[:, 0], steps[:, 1]).sum())


def snap(
    before: ArrayLike,
    after: ArrayLike,
    *,
    path: RampPath,
    to_full: float,
    to_stop: float,
    top_speed: float,
    track: float,
    lag: float = 0.0,
    turning_share: float = 1.0,
    delay: float = 0.0,
    dt: float = 0.01,
    pose: ArrayLike = (0.0, 0.0, 0.0),
) -> SnapTrace:
    """Motion of the machine after both sticks change at once, from settled motion on.

    Parameters
    ----------
    before, after : array_like, shape (2,)
        Shaped sticks, -1..1, first and second.
    path : RampPath
        How sticks become commands and where the slew limit acts.
    to_full, to_stop : float
        Ramps in s.
    top_speed, track, lag, turning_share, pose
        As in `curvelib.machine.response.respond`.
    delay : float
        Seconds until the command begins to change.
    dt : float
        Step in s, 0.001 to 1.

    Returns
    -------
    SnapTrace
        Until the commands have arrived and the drive has settled (five lags).

    Raises
    ------
    ValueError
        For NaN, infinity, a value out of range, or too many steps.

    Notes
    -----
    The command of a step is the mean of the commands at its ends, so the way
    rolled is exact where a ramp begins and ends on a step.
    """
    # A side needs both ramps at most, and sides that wait for each other twice the longer one.
    span = 2.0 * max(to_full, to_stop)
    ends = _end_commands(path, before, after, to_full, to_stop, _clock(dt, delay, span, lag), delay)
    left, right = (ends[:, 1:] + ends[:, :-1]) / 2.0
    response = respond(
        left,
        right,
        dt,
        top_speed=top_speed,
        track=track,
        lag=lag,
        turning_share=turning_share,
        start=_settled(path, before)[:, 0],
        pose=pose,
    )
    motion = body_motion(top_speed * left, top_speed * right, track, turning_share)
    return SnapTrace(path.acts_on, left, right, response, np.asarray(motion.radius))


def stopping_paths(
    before: ArrayLike,
    *,
    mix: Mix = TankMix(),  # noqa: B008  frozen, so one for all calls does no harm
    to_full: float,
    to_stop: float,
    top_speed: float,
    track: float,
    lag: float = 0.0,
    turning_share: float = 1.0,
    delay: float = 0.0,
    dt: float = 0.01,
) -> dict[ActsOn, SnapTrace]:
    """Way of the machine after both sticks are let go, for each place the ramp can act.

    Parameters
    ----------
    before : array_like, shape (2,)
        Shaped sticks before, -1..1.
    mix : TankMix or Independent
        How sticks become sides.
    to_full, to_stop, top_speed, track, lag, turning_share, delay, dt
        As in `snap`.

    Returns
    -------
    dict of str to SnapTrace
        One each for "motors", "sticks" and "together", all of the same steps.
    """
    places: tuple[ActsOn, ...] = get_args(ActsOn)
    return {
        acts_on: snap(
            before,
            (0.0, 0.0),
            path=RampPath(mix, acts_on),
            to_full=to_full,
            to_stop=to_stop,
            top_speed=top_speed,
            track=track,
            lag=lag,
            turning_share=turning_share,
            delay=delay,
            dt=dt,
        )
        for acts_on in places
    }


def _clock(dt: float, delay: float, span: float, lag: float) -> FloatArray:
    """Times of the ends of all steps, from 0 until everything has settled."""
    step = float(within(dt, "time step dt", 1e-3, 1.0, "s"))
    lasting = float(not_negative(delay, "delay", "s")) + span + 5.0 * float(lag)
    count = int(np.ceil(lasting / step - 1e-9)) + 1
    if count > _MOST_STEPS:
        raise ValueError(
            f"A change of {lasting:g} s in steps of {step:g} s is {count} steps; "
            f"give a longer step, so that there are at most {_MOST_STEPS}."
        )
    return np.arange(count + 1, dtype=np.float64) * step


def _pair(sticks: ArrayLike, what: str) -> FloatArray:
    """Return one position of both sticks, shape (2, 1)."""
    pairs = stick_pairs(sticks, what)
    if pairs.shape[1] != 1:
        raise ValueError(f"The {what} hold {pairs.shape[1]} changes; give one.")
    return pairs


def _settled(path: RampPath, sticks: ArrayLike) -> FloatArray:
    """Commands, shape (2, 1), for sticks that have been held."""
    held = _pair(sticks, "sticks")
    return np.concatenate(path(held, held, np.zeros(1), 0.0, 0.0))


def _end_commands(
    path: RampPath,
    before: ArrayLike,
    after: ArrayLike,
    to_full: float,
    to_stop: float,
    clock: FloatArray,
    delay: float,
) -> FloatArray:
    """Commands at the ends of all steps, shape (2, n + 1)."""
    begin = _pair(before, "sticks before")
    goal = _pair(after, "sticks after")
    since = np.maximum(clock - delay, 0.0)
    changed = np.stack(path(begin, goal, since, to_full, to_stop))[:, :, 0]
    return np.where(clock < delay, _settled(path, before), changed)
