"""The search for the shortest ramp at which no sudden change of the sticks passes a limit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import count, product

import numpy as np

from curvelib.machine.ramping import Path, peak_accelerations
from curvelib.machine.verdict import Binding, CaseLimit
from curvelib.mixing import Independent
from curvelib.params import FloatArray

CASES = ("stopping forward", "starting forward", "stopping in reverse", "starting in reverse")
# Case by (the body is pushed forward, its speed grows).
_CASE = {
    (False, False): CASES[0],
    (True, True): CASES[1],
    (True, False): CASES[2],
    (False, True): CASES[3],
}
_LENGTHWAYS = {1: "full forward", 0: "centre", -1: "full reverse"}
_SIDEWAYS = {1: "right", -1: "left"}
_RESOLUTION = 1e-4
_ROLL_CELLS = 400


def _half_of_all_changes() -> FloatArray:
    """Sticks before and after, shape (2, 2, m): one of each change and its mirror image.

    Straight changes stand first, so that they are named where several tie.
    """
    corners = [(a, b) for a in (1.0, 0.0, -1.0) for b in (1.0, 0.0, -1.0)]
    pairs = [(a, b) for a, b in product(corners, repeat=2) if (a, b) > (_mirror(a), _mirror(b))]
    pairs.sort(key=lambda pair: abs(pair[0][1]) + abs(pair[1][1]))
    changes = [pair for pair in pairs if pair[0] != pair[1]]
    return np.array(changes).transpose(1, 2, 0)


def _mirror(sticks: tuple[float, float]) -> tuple[float, float]:
    return -sticks[0], -sticks[1]


_CHANGES = _half_of_all_changes()


@dataclass(frozen=True)
class Search:
    """Looks for the shortest ramps at which no change of the sticks passes a limit.

    Parameters
    ----------
    path : Path
        Motor commands after a change; odd in both sticks.
    top_speed : float
        m/s.
    lag : float
        Time constant of the drives in s.
    tightest : CaseLimit
        The limit, m/s2: as every change is met both ways round, the tightest
        holds for all.
    longest : float
        Longest ramp to try in s.
    """

    path: Path
    top_speed: float
    lag: float
    tightest: CaseLimit
    longest: float

    def least_to_stop(self) -> tuple[float | None, Binding | None]:
        """Shortest ramp to stop in s, with the longest ramp to full, and what binds it."""
        return self._least(lambda ramp: (self.longest, ramp), reversal_grows=False)

    def least_to_full(self, to_stop: float) -> tuple[float | None, Binding | None]:
        """Shortest ramp to full in s, with a ramp to stop that holds, and what binds it."""
        return self._least(lambda ramp: (ramp, to_stop), reversal_grows=True)

    def longest_to_stop(self, room: float, delay: float) -> tuple[float, float]:
        """Longest ramp to stop that stands within the room, let go at any full stick.

        Returns
        -------
        ramp, rolls : float
            Seconds, negative where none does; and the most that delay and lag
            alone roll, in m.
        """
        held, spent = self._roll_shares()
        at_once = self.top_speed * held * (delay + self.lag)
        moves = spent > 0.0
        ramps = (room - at_once[moves]) / (self.top_speed * spent[moves])
        return float(ramps.min(initial=np.inf)), float(at_once.max())

    def straight_share(self) -> float:
        """Largest share of top speed that the middle of the machine reaches."""
        return float(self._roll_shares()[0].max())

    def _roll_shares(self) -> tuple[FloatArray, FloatArray]:
        """Body command before letting go, and its integral over a ramp of 1 s; for each corner."""
        held = np.concatenate(list(self._sticks()), axis=1)
        time = np.linspace(0.0, 1.0, 1 + _ROLL_CELLS)
        left, right = self.path(held, np.zeros_like(held), time, 1.0, 1.0)
        body = np.abs((left + right) / 2.0)
        return body[0], np.asarray((body[1:] + body[:-1]).mean(axis=0) / 2.0)

    def _least(
        self, ramps: Callable[[float], tuple[float, float]], reversal_grows: bool
    ) -> tuple[float | None, Binding | None]:
        low, high = 0.0, self._first_guess()
        if not self._holds(*ramps(high)):
            low, high = high, self.longest
            if not self._holds(*ramps(high)):
                return None, None
        if low == 0.0 and self._holds(*ramps(0.0)):
            return 0.0, None
        high = self._narrow(ramps, low, high)
        # A little shorter, so that what the other ramp only just allows does not tie.
        return high, self._binding(*ramps(0.98 * high), reversal_grows)

    def _narrow(
        self, ramps: Callable[[float], tuple[float, float]], low: float, high: float
    ) -> float:
        """Close in on the shortest ramp that holds, between one that does not and one that does.

        Peak acceleration goes about as 1/ramp below the ramp sought, where this
        change of the sticks decides (above it another may), so a line over 1/ramp
        through the last two that were too short points very near it; aiming a
        hair to either side closes the gap.  Halving every fourth time sees to it
        that the gap closes in any case.
        """
        short: list[tuple[float, float]] = []
        for turn in count():
            if high - low <= _RESOLUTION:
                break
            aim = _aim(short, high)
            if turn % 4 == 3 or not low < aim < high:
                aim = (low + high) / 2.0
            use = self._use(*ramps(aim))
            if use <= 1.0:
                high = aim
            else:
                low = aim
                short.append((1.0 / aim, use))
        return high

    def _first_guess(self) -> float:
        """Ramp that holds where the body changes speed no faster than a lone motor."""
        if self.tightest.limit <= 0.0:
            return self.longest
        return min(self.longest, 1.001 * self.top_speed / self.tightest.limit)

    def _holds(self, to_full: float, to_stop: float) -> bool:
        return self._use(to_full, to_stop) <= 1.0

    def _use(self, to_full: float, to_stop: float) -> float:
        """Share of the limit that the hardest change uses; above 1 the ramps are too short."""
        # Rounding is no reason: a ramp exactly at the limit holds.
        limit = self.tightest.limit * (1.0 + 1e-9)
        peak = float(self._peaks(to_full, to_stop).max())
        if limit <= 0.0:
            return np.inf if peak > limit else 1.0
        return peak / limit

    def _peaks(self, to_full: float, to_stop: float) -> FloatArray:
        """Peak acceleration forward and backward, shape (2, m)."""
        return np.stack(
            peak_accelerations(
                self.path,
                *self._sticks(),
                top_speed=self.top_speed,
                to_full=to_full,
                to_stop=to_stop,
                lag=self.lag,
            )
        )

    def _sticks(self) -> FloatArray:
        reach = np.asarray(getattr(self.path, "reach", (1.0, 1.0)))
        sticks: FloatArray = _CHANGES * reach[:, np.newaxis]
        return sticks

    def _binding(self, to_full: float, to_stop: float, reversal_grows: bool) -> Binding:
        """Name the change that reaches the limit first, and the case it is."""
        peaks = self._peaks(to_full, to_stop)
        # The first of equals in the order of the changes, whichever way it pushes.
        change = int(np.argmax(peaks.max(axis=0) >= peaks.max() * (1.0 - 1e-9)))
        forward = bool(peaks[0, change] >= peaks[1, change])
        wanted = self.tightest.case in (CASES[1], CASES[2])
        sign = 1.0 if forward == wanted else -1.0
        before, after = sign * _CHANGES[:, :, change]
        grows = self._grows(before, after, reversal_grows)
        limit = replace(self.tightest, case=_CASE[wanted, grows])
        return Binding(f"from {self._held(before)} to {self._held(after)}", limit)

    def _grows(self, before: FloatArray, after: FloatArray, reversal_grows: bool) -> bool:
        held = np.stack([before, after], axis=1)
        left, right = self.path(held, held, np.zeros(1), 0.0, 0.0)
        old, new = (left + right)[0]
        if old * new < 0.0:
            return reversal_grows
        return bool(abs(new) > abs(old))

    def _held(self, sticks: FloatArray) -> str:
        """Say where the sticks are."""
        first, second = (int(np.sign(x)) for x in sticks)
        if not first and not second:
            return "rest"
        if isinstance(getattr(self.path, "mix", None), Independent):
            return f"left {_LENGTHWAYS[first]} and right {_LENGTHWAYS[second]}"
        if not first:
            return f"turning {_SIDEWAYS[second]} on the spot"
        return _LENGTHWAYS[first] + (f" with full {_SIDEWAYS[second]}" if second else "")


def _aim(short: list[tuple[float, float]], high: float) -> float:
    """Ramp to try next, from (1/ramp, share of the limit) of those that were too short."""
    if not short:
        return 0.85 * high
    (last, use) = short[-1]
    if len(short) == 1:
        return (1.0 + 0.85 * (use - 1.0)) / last
    before, used = short[-2]
    if use == used:
        return high
    there = 1.0 / (last + (1.0 - use) * (before - last) / (used - use))
    nudge = 0.4 * _RESOLUTION
    return there - nudge if 0.0 <= high - there <= 1.5 * nudge else there + nudge
