"""The shortest chain of straight pieces inside a corridor around a curve.

The curve is given by samples with slopes and by the cubics between them.  A
line that reaches as far as it can touches the corridor twice and then leaves
it; samples are added at those places as the search goes, so that the rest may
be few.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

# A sample is added where a line passes a touch by more than this share of the error.
_PASSES = 1e-6
# How near to the place where a line leaves it is sampled, as a share of the samples' distance.
_LEAVES = 1e-5
_MOST_TOUCHES = 8


@dataclass(frozen=True)
class Line:
    """A straight line, and the stretch within which it hands over to the next.

    Parameters
    ----------
    x, y, slope : float
        One point and the slope.
    first, last : float
        The next line crosses this one between these two positions.
    """

    x: float
    y: float
    slope: float
    first: float
    last: float

    def at(self, x: float) -> float:
        """Value at a position."""
        return self.y + self.slope * (x - self.x)

    def meets(self, other: Line) -> tuple[float, float]:
        """Where the next line takes over from this one."""
        turn = other.slope - self.slope
        # Worked out from the near end, since a steep line is known best where it is.
        gap = other.at(self.last) - self.at(self.last)
        x = self.last - gap / turn if turn != 0.0 else self.last
        x = min(max(x, self.first), self.last)
        return x, self.at(x)


class _Steepest:
    """The steepest line that stays above floor points and below later ceiling points.

    It touches a floor first and a ceiling last, at samples `floor_touch` and
    `touch`.  The flattest line is the steepest one of the corridor turned
    upside down.
    """

    __slots__ = ("_floor_k", "_floor_x", "_floor_y", "_front", "slope", "touch", "x", "y")

    def __init__(self) -> None:
        # Floors on their convex hull from above; those before `_front` cannot be touched again.
        self._floor_k: list[int] = []
        self._floor_x: list[float] = []
        self._floor_y: list[float] = []
        self._front = 0
        self.slope: float | None = None
        self.x = self.y = 0.0
        self.touch = 0

    @property
    def floor_touch(self) -> int:
        """Sample whose floor the line touches."""
        return self._floor_k[self._front]

    def misses(self, x: float, floor: float) -> bool:
        """Say whether even the steepest line runs below a floor point."""
        return self.slope is not None and self.y + self.slope * (x - self.x) < floor

    def stay_below(self, k: int, x: float, ceiling: float) -> None:
        """Turn the line down to a ceiling point if it passes above it."""
        xs, ys, front = self._floor_x, self._floor_y, self._front
        if not xs or (self.slope is not None and self.y + self.slope * (x - self.x) <= ceiling):
            return
        slope = (ceiling - ys[front]) / (x - xs[front])
        while front + 1 < len(xs):
            following = (ceiling - ys[front + 1]) / (x - xs[front + 1])
            if following > slope:
                break
            slope, front = following, front + 1
        self._front = front
        self.x, self.y, self.slope, self.touch = x, ceiling, slope, k

    def stay_above(self, k: int, x: float, floor: float) -> None:
        """Take in a floor point."""
        xs, ys = self._floor_x, self._floor_y
        while len(xs) - self._front >= 2 and (ys[-1] - ys[-2]) * (x - xs[-1]) <= (
            floor - ys[-1]
        ) * (xs[-1] - xs[-2]):
            xs.pop()
            ys.pop()
            self._floor_k.pop()
        xs.append(x)
        ys.append(floor)
        self._floor_k.append(k)


@dataclass(frozen=True)
class _Reach:
    """How far lines reach: the two extreme ones, and the sample that both miss.

    `missed` is the number of samples where the end is reached; `sign` is 1
    where the steepest line leaves below, -1 where the flattest leaves above.
    """

    steep: _Steepest
    flat: _Steepest
    missed: int
    sign: int

    @property
    def leaving(self) -> _Steepest:
        return self.steep if self.sign > 0 else self.flat


class Corridor:
    """A curve that never falls, give or take an error; both ends are pinned on the curve.

    Parameters
    ----------
    x, y, slope : list of float
        Samples, x ascending.
    error : float
        Half the height of the corridor.
    """

    def __init__(self, x: list[float], y: list[float], slope: list[float], error: float) -> None:
        self._x, self._y, self._slope = list(x), list(y), list(slope)
        self._low = [value - error for value in y]
        self._high = [value + error for value in y]
        for end in (0, -1):
            self._low[end] = self._high[end] = y[end]
        self._error = error
        # Samples from which on the next line keeps above the bottom and below the top.
        self._bottom_from = self._top_from = 0

    def chain(self, most: int) -> list[Line] | None:
        """Return the fewest lines that lead from the first sample to the last, at most `most`.

        Each line is the one that reaches farthest.  Where it leaves the
        corridor below, it touched the top last, at sample ``touch``; every
        longer chain then crosses it after that, so that the lines that go on
        are those below the top from ``touch`` on and above the bottom from
        the sample missed on.  (Where it leaves above, the same upside down.)
        So the chain is the shortest there is.
        """
        lines: list[Line] = []
        self._bottom_from = self._top_from = 0
        while len(lines) < most:
            reach = self._farthest()
            if reach.missed == len(self._x):
                return [*lines, self._last(reach)]
            lines.append(self._leave(reach))
        return None

    def _farthest(self) -> _Reach:
        """Return how far the next line reaches, samples added where the extreme ones touch."""
        reach = self._reach()
        for _ in range(_MOST_TOUCHES):
            ends = reach.missed == len(self._x)
            extremes = [(reach.steep, 1), (reach.flat, -1)]
            added = [
                self._sample_touches(found, sign)
                for found, sign in extremes
                if found.slope is not None and (ends or sign == reach.sign)
            ]
            if not any(added):
                break
            reach = self._reach()
        return reach

    def _reach(self) -> _Reach:
        """Return how far the next line reaches, by the samples as they are."""
        x, low, high = self._x, self._low, self._high
        steep, flat = _Steepest(), _Steepest()
        begin = max(self._bottom_from, self._top_from)
        for k in range(self._bottom_from, begin):
            steep.stay_above(k, x[k], low[k])
        for k in range(self._top_from, begin):
            flat.stay_above(k, x[k], -high[k])
        for k in range(begin, len(x)):
            at, bottom, top = x[k], low[k], high[k]
            if steep.misses(at, bottom):
                return _Reach(steep, flat, k, 1)
            if flat.misses(at, -top):
                return _Reach(steep, flat, k, -1)
            steep.stay_below(k, at, top)
            flat.stay_below(k, at, -bottom)
            steep.stay_above(k, at, bottom)
            flat.stay_above(k, at, -top)
        return _Reach(steep, flat, len(x), 0)

    def _line(self, found: _Steepest, sign: int, first: float = 0.0, last: float = 0.0) -> Line:
        assert found.slope is not None  # noqa: S101  an undefined line reaches everything
        return Line(found.x, sign * found.y, sign * found.slope, first, last)

    def _sample_touches(self, found: _Steepest, sign: int) -> bool:
        """Add samples where an extreme line passes its two touches; say whether any was needed."""
        line = self._line(found, sign)
        floor_from, ceiling_from = self._bottom_from, self._top_from
        if sign < 0:
            floor_from, ceiling_from = ceiling_from, floor_from
        added = False
        # The later touch first, so that the earlier one keeps its number.
        for touch, begin, side in (
            (found.touch, ceiling_from, sign),
            (found.floor_touch, floor_from, -sign),
        ):
            for k in (touch + 1, touch):
                if begin < k < len(self._x):
                    added |= self._sample_touch(line, k, side)
        return added

    def _sample_touch(self, line: Line, k: int, side: int) -> bool:
        """Add a sample between k - 1 and k where a line passes the corridor's side there."""
        before, after = self._slope[k - 1] - line.slope, self._slope[k] - line.slope
        if before * after >= 0.0:
            return False
        t = before / (before - after)
        x = self._x[k - 1] + t * (self._x[k] - self._x[k - 1])
        y, slope = self._cubic(k)(t)
        passes = side * (line.at(x) - y) - self._error
        if passes <= _PASSES * self._error or not self._x[k - 1] < x < self._x[k]:
            return False
        self._insert(k, x, y, slope)
        return True

    def _leave(self, reach: _Reach) -> Line:
        """Return the line that reaches farthest, and set out for the next one.

        A sample is added where it has just left the corridor.  Without it the
        next line could take over anywhere up to the sample missed, too far
        outside.
        """
        found, sign, k = reach.leaving, reach.sign, reach.missed
        line, cubic = self._line(found, sign), self._cubic(k)
        begin, width = self._x[k - 1], self._x[k] - self._x[k - 1]

        def room(t: float) -> float:
            return self._error + sign * (line.at(begin + t * width) - cubic(t)[0])

        t = _leaving_share(room)
        x = begin + t * width
        if begin < x < self._x[k]:
            self._insert(k, x, *cubic(t))
        edges = (k, found.touch) if sign > 0 else (found.touch, k)
        self._bottom_from, self._top_from = edges
        return self._line(found, sign, self._x[found.touch], self._x[k])

    def _insert(self, k: int, x: float, y: float, slope: float) -> None:
        self._x.insert(k, x)
        self._y.insert(k, y)
        self._slope.insert(k, slope)
        self._low.insert(k, y - self._error)
        self._high.insert(k, y + self._error)
        self._bottom_from += k <= self._bottom_from
        self._top_from += k <= self._top_from

    def _cubic(self, k: int) -> Callable[[float], tuple[float, float]]:
        """Return value and slope of the curve between samples k - 1 and k, over 0..1."""
        width, begin = self._x[k] - self._x[k - 1], self._y[k - 1]
        rise = self._y[k] - begin
        c1, last = width * self._slope[k - 1], width * self._slope[k]
        c2, c3 = 3.0 * rise - 2.0 * c1 - last, c1 + last - 2.0 * rise

        def curve(t: float) -> tuple[float, float]:
            slope = (c1 + t * (2.0 * c2 + 3.0 * t * c3)) / width
            return begin + t * (c1 + t * (c2 + t * c3)), slope

        return curve

    def _last(self, reach: _Reach) -> Line:
        """Return a line through the pinned end, between the steepest and the flattest."""
        slopes = [
            sign * found.slope
            for found, sign in ((reach.steep, 1), (reach.flat, -1))
            if found.slope is not None
        ]
        end = self._x[-1]
        # Where the mean falls, the steepest does not, so that level is between them.
        return Line(end, self._low[-1], max(sum(slopes) / len(slopes), 0.0), end, end)


def _leaving_share(room: Callable[[float], float]) -> float:
    """Return where, on 0..1, room turns negative; just beyond it."""
    a, b, room_a, room_b = 0.0, 1.0, max(room(0.0), 0.0), room(1.0)
    while b - a > _LEAVES and room_b < 0.0:
        t = a + (b - a) * min(max(room_a / (room_a - room_b), 1e-3), 0.999)
        found = room(t)
        if found < 0.0:
            b, room_b, room_a = t, found, 0.5 * room_a
        else:
            a, room_a, room_b = t, found, 0.5 * room_b
    return b
