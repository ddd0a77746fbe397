"""Motor commands after a sudden change of the sticks, in closed form.

`SlewLimit` steps through time; between two changes of its targets what it does
is made of a few straight lines.  Written down as such they can be taken at any
time, for many changes at once, fast enough to search for a ramp.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from curvelib.chain import Chain
from curvelib.machine.checks import FloatOrArray, as_given, finite, not_negative, within
from curvelib.machine.response import drive_lag
from curvelib.mixing import Mix, TankMix
from curvelib.params import FloatArray
from curvelib.slew import ACTS_ON, ActsOn


class Path(Protocol):
    """Anything that tells the motor commands after a sudden change of both sticks.

    Called with `before` and `after`, shaped sticks of shape (2, m), the times
    in s since the change, shape (n,) and ascending from 0, and the two ramps in
    s.  Returns left and right commands of shape (n, m), odd in both sticks
    together.  At time 0 a command may already have jumped, where its ramp is 0.
    An attribute `reach`, if there is one, says what shaped sticks give at full.
    """

    def __call__(
        self,
        before: FloatArray,
        after: FloatArray,
        time: FloatArray,
        to_full: float,
        to_stop: float,
    ) -> tuple[FloatArray, FloatArray]:
        """Return left and right commands over time."""


def ramp(
    start: ArrayLike, end: ArrayLike, time: ArrayLike, *, to_full: float, to_stop: float
) -> FloatOrArray:
    """Command at a time after its target jumps from `start`, where it rested, to `end`.

    Parameters
    ----------
    start, end : float or array_like
        Commands, -1..1.
    time : float or array_like
        Seconds since the jump, 0 or more; broadcasts with the commands.
    to_full, to_stop : float
        Ramps in s, 0 or more, as in `curvelib.SlewLimit`.

    Returns
    -------
    float or ndarray of float64
        Between `start` and `end`, and exactly `end` when it has arrived.  What
        `SlewLimit` reaches at that time, in whatever steps.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range.
    """
    begin, goal = _command(start, "start"), _command(end, "end")
    seconds = not_negative(time, "time", "s")
    growing, falling = _ramps(to_full, to_stop)
    # Where the size of the command stops shrinking and begins to grow.
    least = np.where(begin * goal <= 0.0, 0.0, np.where(np.abs(goal) < np.abs(begin), goal, begin))
    shrinking = np.abs(begin - least) * falling
    shrunk = _done(seconds, np.zeros_like(shrinking), shrinking)
    grown = _done(seconds, shrinking, np.abs(goal - least) * growing)
    return as_given(begin * (1.0 - shrunk) + least * (shrunk - grown) + goal * grown)


def ramp_together(
    start: ArrayLike, end: ArrayLike, time: ArrayLike, *, to_full: float, to_stop: float
) -> FloatArray:
    """Both commands after a jump of their targets, moved by one common share.

    Parameters
    ----------
    start, end : array_like, shape (2, ...)
        Commands of the two sides, -1..1, sides on axis 0.
    time, to_full, to_stop
        As in `ramp`; `time` broadcasts with one side.

    Returns
    -------
    ndarray of float64, shape (2, ...)
        On the straight line from `start` to `end`, so a stop keeps the ratio of
        the sides; paced at every moment by the side that needs longer.
    """
    begin, goal = np.broadcast_arrays(_command(start, "start"), _command(end, "end"))
    seconds = not_negative(time, "time", "s")
    growing, falling = _ramps(to_full, to_stop)
    length = np.abs(goal - begin)
    zero = _share_at_zero(begin, goal)
    first, second = zero.min(axis=0), zero.max(axis=0)

    def lasts(low: FloatArray | float, high: FloatArray | float) -> FloatArray:
        shrinks = (low + high) / 2.0 < zero
        pace = (length * np.where(shrinks, falling, growing)).max(axis=0)
        return np.asarray(pace * (high - low))

    t_first, t_second, t_rest = lasts(0.0, first), lasts(first, second), lasts(second, 1.0)
    to_first = _done(seconds, np.zeros_like(t_first), t_first)
    to_second = _done(seconds, t_first, t_second)
    to_end = _done(seconds, t_first + t_second, t_rest)
    share = first * (to_first - to_second) + second * (to_second - to_end) + to_end
    return np.asarray(begin * (1.0 - share) + goal * share)


def _share_at_zero(begin: FloatArray, goal: FloatArray) -> FloatArray:
    """Share of the way at which each side stops shrinking: 0 where it only grows, 1 never."""
    crosses = begin * goal < 0.0
    at_zero = begin / np.where(crosses, begin - goal, 1.0)
    return np.where(crosses, at_zero, np.where(np.abs(goal) > np.abs(begin), 0.0, 1.0))


def _done(time: FloatArray, begin: FloatArray, duration: FloatArray) -> FloatArray:
    """Share, 0..1, of a span that begins and lasts so; a span of no length is done at once."""
    some = duration > 0.0
    with np.errstate(over="ignore"):
        share = np.clip((time - begin) / np.where(some, duration, 1.0), 0.0, 1.0)
    return np.where(some, share, np.where(time >= begin, 1.0, 0.0))


def _ramps(to_full: float, to_stop: float) -> tuple[FloatArray, FloatArray]:
    return not_negative(to_full, "ramp to full", "s"), not_negative(to_stop, "ramp to stop", "s")


def _command(values: ArrayLike, what: str) -> FloatArray:
    return within(values, f"{what} command", -1.0, 1.0)


def stick_pairs(values: ArrayLike, what: str) -> FloatArray:
    """Return sticks as shape (2, m); a lone pair is one change."""
    pairs = within(values, what, -1.0, 1.0)
    if pairs.ndim not in (1, 2) or len(pairs) != 2:
        raise ValueError(f"The {what} have shape {pairs.shape}; give first and second stick.")
    return pairs.reshape(2, -1)


@dataclass(frozen=True)
class RampPath:
    """From shaped sticks to motor commands, with the slew limit where it acts.

    Parameters
    ----------
    mix : TankMix or Independent
        How sticks become sides.
    acts_on : {"motors", "sticks", "together"}
        Where the slew limit acts.
    reach : (float, float)
        What the shapes give at full first and full second stick, 0..1.

    Notes
    -----
    Equal to `Chain.run` with the same parts, in the limit of short time steps;
    with `acts_on` "motors" or "sticks" equal at any step.
    """

    mix: Mix = TankMix()
    acts_on: ActsOn = "motors"
    reach: tuple[float, float] = (1.0, 1.0)

    def __post_init__(self) -> None:
        """Check the place of the limit and the reach."""
        if self.acts_on not in ACTS_ON:
            raise ValueError(
                f"acts_on = {self.acts_on!r} is not known; give 'motors', 'sticks' or 'together'."
            )
        within(self.reach, "reach of the sticks", 0.0, 1.0)

    @classmethod
    def from_chain(cls, chain: Chain) -> RampPath:
        """Take mix, place of the limit and reach of the shapes from a whole path."""
        first, second = (float(shape(1.0)) for shape in chain.shapes)
        return cls(chain.mix, chain.acts_on, (first, second))

    def __call__(
        self, before: ArrayLike, after: ArrayLike, time: ArrayLike, to_full: float, to_stop: float
    ) -> tuple[FloatArray, FloatArray]:
        """Return the motor commands after a sudden change of both sticks.

        Parameters
        ----------
        before, after : array_like, shape (2, m) or (2,)
            Shaped sticks, -1..1: first and second on axis 0, changes on axis 1.
        time : array_like, shape (n,)
            Seconds since the change, 0 or more.
        to_full, to_stop : float
            Ramps in s.

        Returns
        -------
        left, right : ndarray of float64, shape (n, m)
            Commands, -1..1.
        """
        begin, goal = stick_pairs(before, "sticks before"), stick_pairs(after, "sticks after")
        seconds = finite(time, "time")[:, np.newaxis]
        if self.acts_on == "sticks":
            first, second = (
                ramp(begin[k], goal[k], seconds, to_full=to_full, to_stop=to_stop) for k in (0, 1)
            )
            left, right = self.mix(first, second)
            return left, right
        sides = np.stack(self.mix(*begin)), np.stack(self.mix(*goal))
        if self.acts_on == "together":
            lanes = sides[0][:, np.newaxis], sides[1][:, np.newaxis]
            both = ramp_together(lanes[0], lanes[1], seconds, to_full=to_full, to_stop=to_stop)
        else:
            one_each = [
                ramp(sides[0][k], sides[1][k], seconds, to_full=to_full, to_stop=to_stop)
                for k in (0, 1)
            ]
            both = np.stack(one_each)
        return both[0], both[1]


def peak_accelerations(
    path: Path,
    before: ArrayLike,
    after: ArrayLike,
    *,
    top_speed: float,
    to_full: float,
    to_stop: float,
    lag: float = 0.0,
) -> tuple[FloatArray, FloatArray]:
    """Largest forward and largest backward acceleration of the body in each change of the sticks.

    Parameters
    ----------
    path : Path
        Motor commands after a change, for instance a `RampPath`.
    before, after : array_like, shape (2, m)
        Shaped sticks, -1..1.
    top_speed : float
        Speed of a side at full command in m/s.
    to_full, to_stop : float
        Ramps in s.
    lag : float
        Time constant of the drives in s.

    Returns
    -------
    forward, backward : ndarray of float64, shape (m,)
        m/s2, 0 or more; infinite for a jump without ramp or lag.

    Notes
    -----
    Acceleration behind a first-order lag is the rate of the command behind the
    same lag, so it is filtered as such: exact for the straight pieces a ramp is
    made of.  Where the mix bends them, the mean rate over each short cell
    stands for the rate in it.
    """
    time = _grid(to_full, to_stop)
    begin, goal = stick_pairs(before, "sticks before"), stick_pairs(after, "sticks after")
    left, right = path(begin, goal, time, to_full, to_stop)
    at_rest = path(begin, begin, time[:1], to_full, to_stop)
    body = top_speed * (left + right) / 2.0
    jump = body[0] - top_speed * (at_rest[0] + at_rest[1])[0] / 2.0
    rate = np.diff(body, axis=0) / np.diff(time)[:, np.newaxis]
    at_once = _jump_rate(jump, lag)
    after_jump = np.where(np.isfinite(at_once), at_once, 0.0)
    behind = np.vstack([after_jump, drive_lag(rate, np.diff(time), lag, after_jump)])
    forward = np.maximum(behind.max(axis=0), np.where(at_once > 0.0, at_once, 0.0))
    backward = np.maximum((-behind).max(axis=0), np.where(at_once < 0.0, -at_once, 0.0))
    return np.maximum(forward, 0.0), np.maximum(backward, 0.0)


def _jump_rate(jump: FloatArray, lag: float) -> FloatArray:
    """Acceleration just after the command has jumped."""
    if lag > 0.0:
        # A lag too short for floats is as good as none.
        with np.errstate(over="ignore"):
            return jump / lag
    return np.where(jump == 0.0, 0.0, np.copysign(np.inf, jump))


# Cells to each part of a change; they crowd towards its ends, where mixes bend most.
_CELLS = 40


def _grid(to_full: float, to_stop: float) -> FloatArray:
    """Times from 0 past the end of every change, dense where ramps begin and end.

    A side needs both ramps at most, and sides that wait for each other twice
    the longer one.
    """
    crowded = (1.0 - np.cos(np.linspace(0.0, np.pi, _CELLS + 1))) / 2.0
    longest = max(to_full, to_stop)
    spans = [(0.0, to_stop), (0.0, to_full), (to_stop, to_full), (longest, longest)]
    parts = [begin + span * crowded for begin, span in spans if span > 0.0]
    # One moment more, so that there is a cell even where nothing takes time.
    times = np.unique(np.concatenate([[0.0], *parts, [2.0 * longest + 1e-3]]))
    # Spans that nearly meet would leave cells so short that rounding looks like a rate.
    shortest = max(
        1e-4 * min([span for _, span in spans if span > 0.0], default=1.0), 1e-6 * longest
    )
    kept: FloatArray = times[np.append(True, np.diff(times) > shortest)]
    return kept
