"""Where to park, and what the operator wants to do about what he sees."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, NamedTuple

import numpy as np

from curvelib.params import Checked, FloatArray, Param
from curvelib.practice.operator import Operator

Place = Literal["line", "bay"]
# Below this share of his approach speed the operator stops steering for the
# bay's middle and straightens up; driving backwards he steers the other way.
_STRAIGHTENS_BELOW = 0.1


@dataclass(frozen=True)
class Course(Checked):
    """A place to park and where the machine starts from.

    Parameters
    ----------
    place : {"line", "bay"}
        "line": drive straight on and stop with the middle of the machine at a
        line.  "bay": begin to one side and end in the bay's middle, straight.
    distance_m : float
        From the start to the line or to the middle of the bay, m.
    offset_m : float
        How far to the left of the bay's middle the machine starts, m.
    look_ahead_m : float
        Length over which the operator steers out a sideways error, m.
    """

    place: Place = "line"
    distance_m: Annotated[
        float, Param(0.5, 8.0, 0.1, "Distance", "From the start to the place to park.", "m")
    ] = 3.0
    offset_m: Annotated[
        float,
        Param(-2.0, 2.0, 0.05, "Sideways start", "How far to the left of the bay it starts.", "m"),
    ] = 0.3
    look_ahead_m: Annotated[
        float,
        Param(
            0.3,
            3.0,
            0.1,
            "Look-ahead",
            "Way over which a sideways error is steered out.",
            "m",
        ),
    ] = 0.8


class Seen(NamedTuple):
    """What the operator sees, arrays over trials: all as it was one reaction time ago.

    Attributes
    ----------
    to_go : ndarray
        Distance ahead to the aim, m; negative past it.
    left : ndarray
        How far left of the bay's middle, m.
    heading : ndarray
        rad, counter-clockwise from the bay's direction.
    speed : ndarray
        m/s, forward positive.
    """

    to_go: FloatArray
    left: FloatArray
    heading: FloatArray
    speed: FloatArray


def wanted_motion(course: Course, operator: Operator, seen: Seen) -> tuple[FloatArray, FloatArray]:
    """Speed (m/s) and yaw rate (rad/s) the operator wants; 0 on the way to a line."""
    fastest = operator.approach_m_s
    speed = np.minimum(np.maximum(operator.crossover * seen.to_go, -fastest), fastest)
    if course.place == "line":
        return speed, np.zeros_like(speed)
    going = np.clip(speed / (_STRAIGHTENS_BELOW * fastest), -1.0, 1.0)
    heading = -going * np.arctan(seen.left / course.look_ahead_m)
    return speed, operator.crossover * (heading - seen.heading)


def lets_go(operator: Operator, seen: Seen) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Say in which trials the operator sees the machine close enough and all but standing."""
    near = operator.close_enough_m
    # All but standing: slower than would carry it through the tolerance in a second.
    return (np.abs(seen.to_go) < near) & (np.abs(seen.speed) < near)
