"""What the reader plays with in the workbooks on turning and ramping; nothing of it is in the file.

Invented values to begin with: where the sticks are, the ground, the room, and
the sudden changes of the sticks that are looked at.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from curvelib.params import Checked, Param


@dataclass(frozen=True)
class TurnScene(Checked):
    """Where the sticks are held, how far to look ahead, and a speed to turn at."""

    throttle: Annotated[
        float, Param(-1.0, 1.0, 0.01, "Throttle", "Stick position; 1 is full forward.")
    ] = 0.9
    steer: Annotated[
        float, Param(-1.0, 1.0, 0.01, "Steer", "Stick position; 1 is full to the right.")
    ] = 0.8
    ahead_s: Annotated[
        float,
        Param(0.5, 6.0, 0.1, "Look ahead", "How much of the path is drawn, sticks held.", "s"),
    ] = 1.5
    speed_m_s: Annotated[
        float,
        Param(
            0.0,
            15.0,
            0.05,
            "Speed to turn at",
            "The tightest turn is looked for at this speed.",
            "m/s",
        ),
    ] = 0.5


@dataclass(frozen=True)
class RampScene(Checked):
    """Ground, room and what is kept back."""

    slope_deg: Annotated[
        float,
        Param(0.0, 25.0, 0.5, "Slope", "Steepness of the ground, straight up or down.", "deg"),
    ] = 5.0
    room_m: Annotated[
        float,
        Param(0.1, 30.0, 0.1, "Room to stop", "Let go at full speed, it must stand here.", "m"),
    ] = 2.0
    delay_s: Annotated[
        float,
        Param(
            0.0,
            10.0,
            0.05,
            "Delay",
            "Until the command begins to fall; begins as this file's signal timeout.",
            "s",
        ),
    ] = 0.5
    margin: Annotated[
        float,
        Param(0.0, 0.9, 0.01, "Kept back", "Share of grip and footing not to be used; a choice."),
    ] = 0.25
    held: Annotated[
        float,
        Param(-1.0, 1.0, 0.01, "Steer held", "Stick position before both are let go in a turn."),
    ] = 0.8

    @property
    def slope(self) -> float:
        """Slope in rad."""
        return math.radians(self.slope_deg)


@dataclass(frozen=True)
class StickChange:
    """A sudden change of both sticks.

    Parameters
    ----------
    words : str
        What the hands do.
    before, after : (float, float)
        Positions of the first and the second stick, -1..1.
    """

    words: str
    before: tuple[float, float]
    after: tuple[float, float]


def stick_changes(independent: bool, held: float) -> Sequence[StickChange]:
    """Sudden changes worth looking at, the plain stop first.

    Parameters
    ----------
    independent : bool
        True where each stick drives one side; then two sticks together go ahead.
    held : float
        Second stick, -1..1, in the change that lets go in a turn.

    Returns
    -------
    sequence of StickChange
        Always the same changes in the same order.
    """
    ahead = (1.0, 1.0) if independent else (1.0, 0.0)
    back = (-ahead[0], -ahead[1])
    rest = (0.0, 0.0)
    if independent:
        one = StickChange("left stick let go, right stays full forward", ahead, (0.0, 1.0))
    else:
        one = StickChange("steer let go at full throttle", (1.0, 1.0), ahead)
    return (
        StickChange("stop: full forward, then let go", ahead, rest),
        StickChange("start: from rest to full forward", rest, ahead),
        StickChange("snap: full forward to full reverse", ahead, back),
        StickChange("stop in reverse: full reverse, then let go", back, rest),
        StickChange("start in reverse: from rest to full reverse", rest, back),
        one,
        StickChange("both let go in a turn", (1.0, held), rest),
    )
