"""From two shaped sticks to two motor commands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike

from curvelib.params import Checked, FloatArray, Param, finite_array

Overflow = Literal["scale", "clip", "keep turn"]
OVERFLOWS: tuple[str, ...] = get_args(Overflow)


@dataclass(frozen=True)
class TankMix(Checked):
    """One stick for speed, one for turning: left = t + share s, right = t - share s.

    Parameters
    ----------
    steer_share : float
        How much of full command full steer gives to each side, 0..1.
    overflow : {"scale", "clip", "keep turn"}
        What happens when a side would pass full.  "scale" divides both by
        max(1, |left|, |right|) and so keeps the turning radius.  "clip" cuts
        each side for itself.  "keep turn" gives up throttle so that
        left - right, the turn, is kept.

    Notes
    -----
    Calling it with (throttle, steer), numbers or arrays, gives (left, right) in
    -1..1, odd in both together and continuous.  Stick right (steer > 0) makes
    the left side faster: the machine turns clockwise, in reverse too.
    """

    kind: ClassVar[str] = "tank"

    steer_share: Annotated[
        float,
        Param(0.0, 1.0, 0.01, "Steer share", "How much of full speed full steer gives each side."),
    ] = 1.0
    overflow: Overflow = "scale"

    def __call__(self, throttle: ArrayLike, steer: ArrayLike) -> tuple[Any, Any]:
        """Mix throttle and steer, both -1..1, into left and right commands, -1..1."""
        t = np.clip(finite_array(throttle, "throttle"), -1.0, 1.0)
        turn = self.steer_share * np.clip(finite_array(steer, "steer"), -1.0, 1.0)
        if self.overflow == "keep turn":
            room = 1.0 - np.abs(turn)
            t = np.clip(t, -room, room)
        left, right = t + turn, t - turn
        if self.overflow == "scale":
            largest = np.maximum(1.0, np.maximum(np.abs(left), np.abs(right)))
            left, right = left / largest, right / largest
        return _pair(throttle, steer, left, right)


@dataclass(frozen=True)
class Independent(Checked):
    """One stick for each side: the first is the left motor, the second the right."""

    kind: ClassVar[str] = "independent"

    def __call__(self, throttle: ArrayLike, steer: ArrayLike) -> tuple[Any, Any]:
        """Return the two sticks, -1..1, as left and right commands."""
        left, right = np.broadcast_arrays(
            finite_array(throttle, "left stick"), finite_array(steer, "right stick")
        )
        return _pair(throttle, steer, left, right)


Mix = TankMix | Independent
MIXES: dict[str, type[TankMix] | type[Independent]] = {
    cls.kind: cls for cls in (TankMix, Independent)
}


def _pair(a: ArrayLike, b: ArrayLike, left: FloatArray, right: FloatArray) -> tuple[Any, Any]:
    """Clip to -1..1 (rounding, and sticks given beyond full), and keep numbers numbers."""
    left, right = np.clip(left, -1.0, 1.0) + 0.0, np.clip(right, -1.0, 1.0) + 0.0
    if np.ndim(a) == 0 and np.ndim(b) == 0:
        return float(left), float(right)
    return left, right
