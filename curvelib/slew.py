"""How fast a command may change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike

from curvelib.params import Checked, FloatArray, Param, finite_array

ActsOn = Literal["motors", "sticks", "together"]
ACTS_ON: tuple[str, ...] = get_args(ActsOn)

ToFull = Annotated[
    float,
    Param(0.0, 10.0, 0.05, "Ramp to full", "Seconds from standing to full command.", "s"),
]
ToStop = Annotated[
    float,
    Param(0.0, 10.0, 0.05, "Ramp to stop", "Seconds from full command to standing.", "s"),
]

# A ramp shorter than a nanosecond is no ramp; dividing by it could overflow.
_NO_LIMIT = 1e-9
# What remains of a command within this is nothing: where one ramp has no limit,
# rounding would else decide whether a sample that just reaches 0 jumps on from there.
_NOTHING = 1e-8


@dataclass(frozen=True)
class SlewLimit(Checked):
    """A limit on the rate of a command.

    While its size grows the rate is at most 1/to_full a second, while it
    shrinks 1/to_stop; a sample that crosses zero spends what is left of it at
    the other rate.  Targets are clipped to -1..1 before the limit, so nothing
    winds up.

    Parameters
    ----------
    to_full : float
        Seconds from 0 to 1; 0 means no limit.
    to_stop : float
        Seconds from 1 to 0; 0 means no limit.
    """

    to_full: ToFull = 0.0
    to_stop: ToStop = 0.0

    @property
    def reversal_time(self) -> float:
        """Seconds from full one way to full the other way."""
        return self.to_stop + self.to_full

    def limit(self, target: ArrayLike, dt: ArrayLike, start: ArrayLike = 0.0) -> FloatArray:
        """Limit a whole trace.

        Parameters
        ----------
        target : array_like, shape (n, ...)
            Wanted command; time on axis 0, further axes are independent channels.
        dt : float or array_like, shape (n,)
            Seconds since the sample before, 0 or more.
        start : float or array_like
            Command before the first sample; broadcasts over the channels.

        Returns
        -------
        ndarray of float64, shape (n, ...)
            Command after each sample.  It begins from `start` and never jumps
            to the first target.

        Raises
        ------
        ValueError
            If a value is NaN or infinite, or a dt is negative.
        """
        wanted = np.atleast_1d(finite_array(target, "target"))
        steps = time_steps(dt, len(wanted))
        begin = np.broadcast_to(_start(start), wanted.shape[1:])
        return self.trace(begin, np.clip(wanted, -1.0, 1.0), steps)

    def trace(
        self, command: FloatArray, target: FloatArray, steps: FloatArray, together: bool = False
    ) -> FloatArray:
        """Run `advance` (or `advance_together`) over a checked trace, time on axis 0."""
        move = self.advance_together if together else self.advance
        out = np.empty_like(target)
        for k, seconds in enumerate(steps.tolist()):
            command = move(command, target[k], seconds)
            out[k] = command
        return out

    def limiter(self, dt: float | None = None, start: ArrayLike = 0.0) -> Limiter:
        """Return an object for live stepping; it agrees exactly with `limit`."""
        return Limiter(self, dt, start)

    def advance(self, command: FloatArray, target: FloatArray, dt: float) -> FloatArray:
        """Return where one sample of `dt` seconds takes `command`; inputs are finite, -1..1."""
        up = np.minimum(target, self._climb(command, dt))
        down = np.maximum(target, -self._climb(-command, dt))
        return np.where(target >= command, up, down)

    def advance_together(self, command: FloatArray, target: FloatArray, dt: float) -> FloatArray:
        """Move both sides (axis 0) by one common share of what remains to each.

        The share is the least that `advance` alone would reach on either side,
        so a stop keeps the ratio of the sides, and with it the turning radius;
        the price is that a small change of one side waits for a large one of
        the other.
        """
        remains = target - command
        alone = self.advance(command, target, dt) - command
        moving = np.abs(remains) > _NOTHING
        share = np.where(moving, alone / np.where(moving, remains, 1.0), 1.0).min(axis=0)
        share = np.clip(share, 0.0, 1.0)
        return np.where(share >= 1.0, target, command + share * remains)

    def _climb(self, command: FloatArray, dt: float) -> FloatArray:
        """Highest command that can be reached in dt from `command`, without a target."""
        below = np.minimum(command, 0.0)
        stops, grows = self.to_stop > _NO_LIMIT, self.to_full > _NO_LIMIT
        needed = -below * self.to_stop if stops else np.zeros_like(below)
        at_zero = dt >= needed - _NOTHING * self.to_stop
        spent = np.minimum(dt, needed)
        left = dt - spent
        reached = below + spent / self.to_stop if stops else np.zeros_like(below)
        grown = np.maximum(command, 0.0) + (left / self.to_full if grows else np.inf)
        return np.where(at_zero, grown, np.minimum(reached, 0.0))


class Limiter:
    """A slew limit that is stepped while it runs.

    Parameters
    ----------
    slew : SlewLimit
        The limit.
    dt : float, optional
        Seconds a step, where `step` is not told.
    start : float or array_like
        Command before the first step.
    """

    def __init__(self, slew: SlewLimit, dt: float | None = None, start: ArrayLike = 0.0) -> None:
        self._slew = slew
        self._dt = None if dt is None else float(time_steps(dt, 1)[0])
        self._command = _start(start)
        self._number = np.ndim(start) == 0

    def step(self, target: ArrayLike, dt: float | None = None) -> Any:
        """Move towards `target` for `dt` seconds and return the command reached."""
        seconds = self._dt if dt is None else float(time_steps(dt, 1)[0])
        if seconds is None:
            raise ValueError("No time step was given; give dt to step() or to limiter().")
        wanted = np.clip(finite_array(target, "target"), -1.0, 1.0)
        self._command = self._slew.advance(self._command, wanted, seconds)
        plain = self._number and np.ndim(target) == 0
        return float(self._command) if plain else self._command.copy()


def _start(start: ArrayLike) -> FloatArray:
    return np.clip(finite_array(start, "start command"), -1.0, 1.0)


def time_steps(dt: ArrayLike, count: int) -> FloatArray:
    """Return one finite, non-negative dt a sample."""
    steps = finite_array(dt, "time step dt")
    if steps.ndim > 1 or (steps.ndim == 1 and len(steps) != count):
        raise ValueError(
            f"dt has shape {steps.shape} for {count} samples; give one number or one per sample."
        )
    if (steps < 0.0).any():
        raise ValueError(f"dt = {steps.min():g} s is negative; time only runs forward.")
    return np.broadcast_to(steps, (count,))
