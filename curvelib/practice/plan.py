"""What is assumed about a set of trials, and how trials end."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray

from curvelib.params import Checked, FloatArray, Param
from curvelib.practice.course import Course
from curvelib.practice.operator import Hand, Operator


@dataclass(frozen=True)
class Plan(Checked):
    """All that is assumed about a set of trials.

    Parameters
    ----------
    operator : Operator
    hand : Hand
    course : Course
    duration_s : float
        Longest time a trial may take, s.
    frame_s : float
        Time from one transmitter frame to the next, s: about 20 ms is common
        practice, no source.  The reaction time is a whole number of frames.
    """

    operator: Operator = Operator()
    hand: Hand = Hand()
    course: Course = Course()
    duration_s: Annotated[
        float, Param(1.0, 60.0, 1.0, "Longest time", "A trial ends after this.", "s")
    ] = 20.0
    frame_s: Annotated[
        float, Param(0.001, 0.1, 0.001, "Frame", "Time between two transmitter frames.", "s")
    ] = 0.02

    def with_value(self, name: str, value: Any) -> Plan:
        """Return the plan with one number changed, wherever in it that number lives."""
        self.value(name)  # refuses what it does not hold
        for part in ("operator", "hand", "course"):
            inside = getattr(self, part)
            if name in {field.name for field in fields(inside)}:
                return replace(self, **{part: replace(inside, **{name: value})})
        return replace(self, **{name: value})

    def value(self, name: str) -> Any:
        """Return one number by its name."""
        for part in (self.operator, self.hand, self.course, self):
            if hasattr(part, name):
                return getattr(part, name)
        raise ValueError(f"A plan holds no {name!r}.")

    @property
    def frames(self) -> int:
        """Frames in a trial."""
        return max(1, round(self.duration_s / self.frame_s))

    @property
    def frames_late(self) -> int:
        """Frames from what happens to what the thumb does."""
        return round(self.operator.reaction_s / self.frame_s)


@dataclass(frozen=True)
class Outcome:
    """How trials ended, arrays of shape (n,).

    Parameters
    ----------
    along_m, left_m : ndarray of float64
        How far past the right place and left of it the machine stands at the end.
    heading_rad : ndarray of float64
        Against the bay's direction, counter-clockwise.
    time_s : ndarray of float64
        When the operator let go; the whole duration where he never did.
    parked : ndarray of bool
        True where he let go.
    reversals : ndarray of int64
        How often the driving stick went from driving one way to driving the other.
    """

    along_m: FloatArray
    left_m: FloatArray
    heading_rad: FloatArray
    time_s: FloatArray
    parked: NDArray[np.bool_]
    reversals: NDArray[np.int64]

    @property
    def error_m(self) -> FloatArray:
        """Distance from the right place at the end, m."""
        return np.hypot(self.along_m, self.left_m)

    def __len__(self) -> int:
        """Count trials."""
        return len(self.time_s)


@dataclass(frozen=True)
class Trace:
    """One trial over time: arrays of shape (frames,), or (frames, 2) where two sticks or sides."""

    along_m: FloatArray
    left_m: FloatArray
    thumbs: FloatArray
    shaped: FloatArray
    sides_m_s: FloatArray
