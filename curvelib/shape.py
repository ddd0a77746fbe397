"""Several stages run one after the other."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from curvelib.curves import CubicBlend, Deadband, Expo, Limit, Linear, Stage, TwoZone
from curvelib.odd import OddCurve
from curvelib.params import FloatArray
from curvelib.points import Points

STAGES: dict[str, type[Stage]] = {
    cls.kind: cls for cls in (Linear, CubicBlend, Expo, Deadband, Limit, TwoZone, Points)
}
MOST_STAGES = 8


@dataclass(frozen=True, init=False)
class Shape(OddCurve):
    """Stages run left to right; no stage at all is the plain stick.

    Odd, continuous and non-decreasing, since every stage is.  Immutable and
    equal by value.

    Parameters
    ----------
    stages : iterable of Stage
        At most 8.
    """

    stages: tuple[Stage, ...]

    def __init__(self, stages: Iterable[Stage] = ()) -> None:
        kept = tuple(stages)
        for place, stage in enumerate(kept):
            if not isinstance(stage, Stage):
                raise ValueError(
                    f"Shape: item {place} is {stage!r}; give stages such as CubicBlend(0.6)."
                )
        if len(kept) > MOST_STAGES:
            raise ValueError(f"Shape: {len(kept)} stages; give at most {MOST_STAGES}.")
        object.__setattr__(self, "stages", kept)

    def __rshift__(self, other: OddCurve) -> Shape:
        """Run this shape, then the other stage or shape."""
        if isinstance(other, Shape):
            return Shape((*self.stages, *other.stages))
        if isinstance(other, Stage):
            return Shape((*self.stages, other))
        return NotImplemented

    def _rise(self, x: FloatArray) -> FloatArray:
        for stage in self.stages:
            x = stage._rise(x)
        return x

    def _steepness(self, x: FloatArray) -> FloatArray:
        slope = np.ones_like(x)
        for stage in self.stages:
            slope = slope * stage._steepness(x)
            x = stage._rise(x)
        return slope

    def _steepness_range(self, a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray]:
        least, most = np.ones_like(a), np.ones_like(a)
        for stage in self.stages:
            low, high = stage._steepness_range(a, b)
            least, most = least * low, most * high
            a, b = stage._rise(a), stage._rise(b)
        return least, most

    def _undo(self, y: FloatArray) -> FloatArray:
        one, x = np.ones(()), y
        for stage in reversed(self.stages):
            # Rounding on the way down may leave a hair more than the stage can give.
            x = np.clip(stage._undo(np.minimum(x, stage._rise(one))), 0.0, 1.0)
        return np.minimum(x, self._first_knot_with(y))

    def _first_knot_with(self, y: FloatArray) -> FloatArray:
        """First knot that reaches y but for rounding, else 1.

        A flat run begins at a knot.  A hair too much on the way down would land
        at its far end, where the near end is wanted.
        """
        knots = np.array([*self.knots, 1.0])
        place = np.searchsorted(self._rise(knots), y * (1.0 - 2e-15))
        return np.asarray(knots[np.minimum(place, len(knots) - 1)])

    @cached_property
    def _starts(self) -> tuple[FloatArray, ...]:
        """Input of each stage at the position where motion begins, first stage first.

        Worked out from the last stage back, so that each is exact at its own
        corner; running the first one forward again would round to either side.
        """
        edge: FloatArray = np.zeros(())
        found: list[FloatArray] = []
        for stage in reversed(self.stages):
            edge = stage._last(edge)
            found.append(edge)
        return tuple(reversed(found))

    @property
    def starts_at(self) -> float:
        """Where motion begins: the largest position in 0..1 whose value is still 0."""
        return float(self._starts[0]) if self.stages else 0.0

    @property
    def first_slope(self) -> float:
        """Slope just beyond `starts_at`; 0 for a shape that never moves."""
        slope = 1.0
        for stage, start in zip(self.stages, self._starts, strict=True):
            slope *= float(stage._steepness(start))
        never_moves = self.starts_at >= 1.0
        return 0.0 if never_moves else slope

    @cached_property
    def knots(self) -> tuple[float, ...]:
        """Positions in 0..1, ends excluded, where the formula changes, ascending."""
        found: set[float] = set()
        for place, stage in enumerate(self.stages):
            before = Shape(self.stages[:place])
            top = float(before._rise(np.ones(())))
            for knot in stage.knots:
                if knot < top:
                    found.add(float(before._last_before(np.asarray(knot))))
        return tuple(sorted(x for x in found if 0.0 < x < 1.0))

    def _last_before(self, y: FloatArray) -> FloatArray:
        for stage in reversed(self.stages):
            y = stage._last(y)
        return y
