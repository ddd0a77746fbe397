"""What the body does when commands change: drive lag, acceleration, tipping and sliding moments.

The drive is a first-order lag: speed tends to its command with one time
constant.  No current limit, no load, no slip; a real drive is slower when it is
working hard.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from curvelib.machine.checks import broadcast, finite, not_negative, positive, time_steps
from curvelib.machine.motion import body_motion, drive
from curvelib.machine.stance import Stance
from curvelib.params import FloatArray


def drive_lag(command: ArrayLike, dt: ArrayLike, lag: float, start: ArrayLike = 0.0) -> FloatArray:
    """Response of a first-order lag to a command held constant over each step, exact.

    Parameters
    ----------
    command : array_like, shape (n, ...)
        Time on axis 0; further axes are independent channels.  Any unit.
    dt : float or array_like, shape (n,)
        Seconds for which each sample is held, 0 or more.
    lag : float
        Time constant in s, 0 or more; 0 means the response is the command.
    start : float or array_like
        Response before the first step; broadcasts over the channels.

    Returns
    -------
    ndarray of float64, shape (n, ...)
        Response at the end of each step, in the command's unit.  It never
        leaves the range of `start` and the commands so far.

    Raises
    ------
    ValueError
        For NaN, infinity, a negative dt or lag.

    Notes
    -----
    Zero-order hold: y[k] = a y[k-1] + (1 - a) command[k], a = exp(-dt/lag).
    """
    held = np.atleast_1d(finite(command, "command"))
    steps = time_steps(dt, len(held))
    begin = np.broadcast_to(finite(start, "start"), held.shape[1:])
    keep, gain = _lag_shares(steps, float(not_negative(lag, "drive lag", "s")))
    over_channels = (-1, *[1] * (held.ndim - 1))
    return _recurrence(keep.reshape(over_channels), gain.reshape(over_channels) * held, begin)


def _lag_shares(steps: FloatArray, lag: float) -> tuple[FloatArray, FloatArray]:
    """Return what is kept of the old value over each step, and what is taken of the command."""
    if lag == 0.0:
        return np.zeros_like(steps), np.ones_like(steps)
    # A lag far below the step overflows the quotient; nothing of the old value is kept.
    with np.errstate(over="ignore"):
        exponent = -steps / lag
    return np.exp(exponent), -np.expm1(exponent)


def _recurrence(keep: FloatArray, add: FloatArray, begin: FloatArray) -> FloatArray:
    """Run y[k] = keep[k] y[k-1] + add[k] for all k by doubling: log2(n) array operations.

    Each pass joins two neighbouring spans of the same length into one.  No
    division and no growing powers, so it is as stable as the plain loop.
    """
    spans = np.broadcast_to(keep, add.shape).copy()
    out = add.copy()
    if len(out):
        out[0] += spans[0] * begin
        spans[0] = 0.0
    reach = 1
    while reach < len(out):
        out[reach:] += spans[reach:] * out[:-reach]
        spans[reach:] *= spans[:-reach].copy()
        reach *= 2
    return out


@dataclass(frozen=True)
class Response:
    """What the machine does, arrays of shape (n,), each value at the end of its step.

    Parameters
    ----------
    time : ndarray
        Seconds since the start, at the end of each step.
    left, right : ndarray
        Speed of each side in m/s.
    speed, yaw_rate : ndarray
        Motion of the body in m/s and rad/s, counter-clockwise positive.
    acceleration : ndarray
        Forward acceleration of the body in m/s2, the mean over the step: what
        a step of speed means without lag depends on the time step.
    lateral : ndarray
        speed x yaw_rate in m/s2, to the left positive, at the end of the step.
    poses : ndarray, shape (n + 1, 3)
        x, y, heading from the start pose on.  Each step is an exact arc with the
        step's mean side speeds: the heading is exact, the position to second
        order in dt while speeds change.
    """

    time: FloatArray
    left: FloatArray
    right: FloatArray
    speed: FloatArray
    yaw_rate: FloatArray
    acceleration: FloatArray
    lateral: FloatArray
    poses: FloatArray


def respond(
    left: ArrayLike,
    right: ArrayLike,
    dt: ArrayLike,
    *,
    top_speed: float,
    track: float,
    lag: float = 0.0,
    turning_share: float = 1.0,
    start: ArrayLike | None = None,
    pose: ArrayLike = (0.0, 0.0, 0.0),
) -> Response:
    """Motion of the machine for a trace of motor commands.

    Parameters
    ----------
    left, right : array_like, shape (n,)
        Commands, -1..1, held over each step.  A controller holds its output
        until the next sample, so for its traces dt is the time *after* a sample.
    dt : float or array_like, shape (n,)
        Seconds of each step, above 0.
    top_speed : float
        Speed of a side at full command in m/s.
    track, turning_share : float
        As in `curvelib.machine.motion.body_motion`.
    lag : float
        Time constant of the drives in s.
    start : array_like, shape (2,), optional
        Left and right command the drives have settled at before the first step;
        standing when left out.
    pose : array_like, shape (3,)
        x, y, heading at the start.

    Returns
    -------
    Response
        Speeds, accelerations and poses over time.

    Raises
    ------
    ValueError
        For NaN, infinity, shapes that do not go together, or a dt of 0.
    """
    commands = np.stack(
        broadcast(
            left=np.atleast_1d(finite(left, "left command")),
            right=np.atleast_1d(finite(right, "right command")),
        ),
        axis=1,
    )
    top = float(positive(top_speed, "top speed", "m/s"))
    steps = time_steps(positive(dt, "time step dt", "s"), len(commands))
    settled = np.zeros(2) if start is None else finite(start, "start command")
    sides = drive_lag(top * commands, steps, lag, top * settled)
    before = np.vstack([top * settled, sides[:-1]])
    mean = _mean_speed(top * commands, before, steps, lag)
    motion = body_motion(sides[:, 0], sides[:, 1], track, turning_share)
    return Response(
        time=np.cumsum(steps),
        left=sides[:, 0],
        right=sides[:, 1],
        speed=motion.speed,
        yaw_rate=motion.yaw_rate,
        acceleration=(sides - before).mean(axis=1) / steps,
        lateral=motion.speed * motion.yaw_rate,
        poses=drive(mean[:, 0], mean[:, 1], steps, track, turning_share, pose),
    )


def _mean_speed(
    command: FloatArray, before: FloatArray, steps: FloatArray, lag: float
) -> FloatArray:
    """Mean speed of each side over each step: the lag's exact integral."""
    _, gain = _lag_shares(steps, lag)
    return np.asarray(command + (before - command) * (gain * lag / steps)[:, None])


@dataclass(frozen=True)
class Moments:
    """When the machine would tip or slide, arrays of shape (n,).

    Parameters
    ----------
    tip_use, slide_use : ndarray of float64
        Share of footing and of grip used, see `Stance`; it happens at 1.
    tips, slides : ndarray of bool
        True where a share is 1 or more.
    first_tip, first_slide : float or None
        Time in s of the first such sample; None where there is none.
    """

    tip_use: FloatArray
    slide_use: FloatArray
    tips: NDArray[np.bool_]
    slides: NDArray[np.bool_]
    first_tip: float | None
    first_slide: float | None


def moments(response: Response, stance: Stance) -> Moments:
    """Mark the moments at which a machine would tip or slide.

    Parameters
    ----------
    response : Response
        What the machine does.
    stance : Stance
        Where its weight rests and what holds it.

    Returns
    -------
    Moments
        Shares used and the moments they reach 1.  After the first such moment
        the rest of the trace is no longer what a real machine does.
    """
    tip_use = np.asarray(stance.tip_use(response.acceleration, response.lateral))
    slide_use = np.asarray(stance.slide_use(response.acceleration, response.lateral))
    tips, slides = tip_use >= 1.0, slide_use >= 1.0
    return Moments(
        tip_use, slide_use, tips, slides, _first(response.time, tips), _first(response.time, slides)
    )


def _first(time: FloatArray, happens: NDArray[np.bool_]) -> float | None:
    return float(time[int(np.argmax(happens))]) if happens.any() else None
