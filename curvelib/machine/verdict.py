"""The ramp window as an answer: numbers, and the same in plain words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Kind = Literal["tip", "slide"]


@dataclass(frozen=True)
class CaseLimit:
    """What one way of changing speed may use, the margin already taken off.

    Parameters
    ----------
    case : str
        "stopping forward", "starting forward", "stopping in reverse" or
        "starting in reverse".
    facing : str
        "nose downhill", "nose uphill" or "on the level".
    kind : {"tip", "slide"}
        What happens at the limit.
    limit : float
        Acceleration in m/s2; 0 or less: it happens standing still.
    """

    case: str
    facing: str
    kind: Kind
    limit: float

    def words(self) -> str:
        """Say the limit in words."""
        verb = "tips" if self.kind == "tip" else "slides"
        if self.limit <= 0.0:
            return f"{self.facing}, {self.case}, it {verb} at any ramp"
        return f"{self.facing}, {self.case}, it {verb} at {self.limit:.2f} m/s2"


@dataclass(frozen=True)
class Binding:
    """Why a ramp cannot be shorter.

    Parameters
    ----------
    change : str
        The change of the sticks that reaches the limit first, in words.
    limit : CaseLimit
        The limit that it reaches.
    """

    change: str
    limit: CaseLimit


@dataclass(frozen=True)
class RampWindow:
    """Which ramps neither tip, nor slide, nor roll too far.

    Any pair of ramps with both at their least or longer, and the ramp to stop
    not above its most, is in the window.

    Parameters
    ----------
    least_to_stop, least_to_full : float or None
        Seconds, to a ten-thousandth and on the safe side; None where no ramp up
        to the longest is gentle enough.
    most_to_stop : float or None
        Seconds; infinite where no room was named; None where delay and lag
        alone use more than the room.
    stop_binds, full_binds : Binding or None
        What keeps each from being shorter; None where nothing does.
    limits : tuple of CaseLimit
        Every limit that was looked at, the tightest first.
    margin : float
        Share of grip and of footing kept back.
    speed : float
        Straight-ahead speed at full stick in m/s that `most_to_stop` is for.
    room : float or None
        Distance available in m.
    rolls : float
        Distance in m that delay and lag alone use.
    longest_ramp : float
        Longest ramp in s that was tried.
    one_axle : bool
        True where a single axle is driven and braked.
    """

    least_to_stop: float | None
    least_to_full: float | None
    most_to_stop: float | None
    stop_binds: Binding | None
    full_binds: Binding | None
    limits: tuple[CaseLimit, ...]
    margin: float
    speed: float
    room: float | None
    rolls: float
    longest_ramp: float
    one_axle: bool

    @property
    def empty(self) -> bool:
        """True where no pair of ramps will do."""
        if self.least_to_stop is None or self.least_to_full is None or self.most_to_stop is None:
            return True
        return self.least_to_stop > self.most_to_stop

    def holds(self, to_stop: float, to_full: float) -> bool:
        """Say whether a pair of ramps in s lies in the window."""
        if self.least_to_stop is None or self.least_to_full is None or self.most_to_stop is None:
            return False
        return self.least_to_stop <= to_stop <= self.most_to_stop and to_full >= self.least_to_full

    def words(self) -> str:
        """Say the window in plain words: its numbers, or why it is empty and what would help."""
        kept = (
            f"With {100 * self.margin:.0f} % of grip and footing kept back"
            if self.margin > 0.0
            else "With nothing kept back"
        )
        parts = self._why_empty() if self.empty else self._numbers()
        said = [f"{kept}: {parts[0]}", *parts[1:], "Mass makes no difference: it cancels."]
        return " ".join([*said, "Grip that a turn takes is not counted."])

    def _numbers(self) -> list[str]:
        assert self.least_to_stop is not None and self.least_to_full is not None  # noqa: S101, PT018  not empty
        assert self.most_to_stop is not None  # noqa: S101  not empty
        least_stop, least_full = _up(self.least_to_stop), _up(self.least_to_full)
        if math.isinf(self.most_to_stop):
            stop = f"ramp to stop {least_stop:.2f} s or longer (no room was named)"
        else:
            most = _down(self.most_to_stop)
            stop = f"ramp to stop from {least_stop:.2f} to {most:.2f} s"
        said = [f"{stop}; ramp to full {least_full:.2f} s or longer."]
        for name, binds in (("stop", self.stop_binds), ("full", self.full_binds)):
            if binds is None:
                said.append(f"Even without a ramp to {name} it would neither tip nor slide.")
            else:
                said.append(
                    f"A shorter ramp to {name}: {binds.change}, it would "
                    f"{binds.limit.kind} ({binds.limit.words()})."
                )
        return said

    def _why_empty(self) -> list[str]:
        standing = [limit for limit in self.limits if limit.limit <= 0.0]
        if standing:
            return [
                f"there is no ramp that will do, it cannot even hold: {standing[0].words()}.",
                self._help({limit.kind for limit in standing}, speed=False, room=False),
            ]
        kinds = {binds.limit.kind for binds in (self.stop_binds, self.full_binds) if binds}
        if self.least_to_stop is None or self.least_to_full is None:
            return [
                f"there is no ramp that will do: even {self.longest_ramp:g} s is too sudden; "
                f"{self.limits[0].words()}.",
                self._help({self.limits[0].kind}, speed=True, room=False),
            ]
        if self.most_to_stop is None:
            return [
                f"there is no ramp that will do: at {self.speed:.2f} m/s, delay and drive lag "
                f"alone roll {self.rolls:.2f} m, and the room is {self.room or 0.0:.2f} m.",
                self._help(set(), speed=True, room=True),
            ]
        return [
            f"there is no ramp to stop that will do: below {_up(self.least_to_stop):.2f} s "
            f"it would {' or '.join(sorted(kinds))}, above {_down(self.most_to_stop):.2f} s "
            f"it rolls farther than the room of {self.room or 0.0:.2f} m.",
            self._help(kinds, speed=True, room=True),
        ]

    def _help(self, kinds: set[Kind], *, speed: bool, room: bool) -> str:
        """List what would open the window, by what closes it."""
        cures = ["a slower top speed"] if speed else []
        if room:
            cures += ["more room", "a shorter delay"]
        if "tip" in kinds:
            cures += ["a lower or better placed centre of mass", "a longer wheelbase"]
        if "slide" in kinds:
            cures += ["more grip"]
            cures += ["driving and braking all wheels"] if self.one_axle else []
        if kinds:
            cures += ["a gentler slope"]
        return f"What would help: {', '.join(cures)}."


def _up(seconds: float) -> float:
    return math.ceil(seconds * 100.0 - 1e-9) / 100.0


def _down(seconds: float) -> float:
    return math.floor(seconds * 100.0 + 1e-9) / 100.0
