"""What each motor needs: starting command, top, direction, measured map."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from numpy.typing import ArrayLike

from curvelib.params import Checked, FloatArray, Param, finite_array, items_of

StartCommand = Annotated[
    float,
    Param(0.0, 0.5, 0.005, "Start", "Command at which this motor just begins to turn under load."),
]
TopCommand = Annotated[
    float,
    Param(0.1, 1.0, 0.005, "Top", "Command this motor gets at full; lower it on the faster side."),
]
MeasuredPoint = tuple[float, float]
MOST_MEASURED = 63


@dataclass(frozen=True)
class Side(Checked):
    """Map of one motor: wanted share of full speed to the command that gives it.

    0 at 0, else start + (top - start) |x| with the sign of x; or, where
    points were measured, straight lines between them.  Odd, and non-decreasing
    before `reversed` turns the sign.

    Parameters
    ----------
    start : float
        Command at which the motor begins to turn, 0..0.5.
    top : float
        Command at full, 0.1..1, above `start`.
    reversed : bool
        True where the motor is wired or mounted the other way round.
    measured : sequence of (wanted share, command)
        Replaces start and top: the first at share 0 (the start), the last at
        share 1; both columns within 0..1, shares ascending, commands not falling.
    """

    start: StartCommand = 0.0
    top: TopCommand = 1.0
    reversed: bool = False
    measured: tuple[MeasuredPoint, ...] = ()

    def __post_init__(self) -> None:
        """Check numbers, order and the measured points."""
        super().__post_init__()
        if self.top <= self.start:
            raise ValueError(
                f"Side: top = {self.top:g} is not above start = {self.start:g}; "
                "give a top above the start."
            )
        object.__setattr__(self, "measured", checked_points(self.measured, "Side: measured"))

    def command(self, wanted: ArrayLike) -> Any:
        """Command for this motor.

        Parameters
        ----------
        wanted : float or array_like
            Wanted share of full speed, -1..1; saturates beyond.

        Returns
        -------
        float or ndarray of float64
            Command, -1..1; exactly 0 for 0.
        """
        share = np.clip(finite_array(wanted, "wanted command"), -1.0, 1.0)
        size = np.where(share == 0.0, 0.0, self._needed(np.abs(share)))
        signed = np.copysign(size, share) * (-1.0 if self.reversed else 1.0) + 0.0
        return float(signed) if np.ndim(wanted) == 0 else signed

    def _needed(self, size: FloatArray) -> FloatArray:
        if self.measured:
            shares, commands = np.array(self.measured).T
            return np.asarray(np.interp(size, shares, commands))
        return self.start + (self.top - self.start) * size

    def speed_share(self, command: ArrayLike) -> FloatArray:
        """Share of full speed that a command gives, by the same map: 0 up to the start.

        Parameters
        ----------
        command : array_like
            Command as the motor receives it, -1..1, before `reversed`.

        Returns
        -------
        ndarray of float64
            Share of full speed, -1..1, odd, non-decreasing.
        """
        given = np.clip(finite_array(command, "command"), -1.0, 1.0)
        if self.measured:
            share = self._measured_share(np.abs(given))
        else:
            share = np.clip((np.abs(given) - self.start) / (self.top - self.start), 0.0, 1.0)
        share = np.where(given == 0.0, 0.0, share)
        return np.asarray(np.copysign(share, given) + 0.0)

    def _measured_share(self, size: FloatArray) -> FloatArray:
        """Read the measured map backwards; of a flat run of commands the far end counts."""
        shares, commands = np.array(self.measured).T
        size_held = np.clip(size, commands[0], commands[-1])
        k = np.searchsorted(commands, size_held, side="right") - 1
        k = np.clip(k, 0, len(commands) - 2)
        width = commands[k + 1] - commands[k]
        way = np.where(
            width > 0.0, (size_held - commands[k]) / np.where(width > 0.0, width, 1.0), 1
        )
        share = shares[k] + way * (shares[k + 1] - shares[k])
        return np.where(size < commands[0], 0.0, share)


def checked_points(points: Any, where: str) -> tuple[MeasuredPoint, ...]:
    """Return measured points as tuples of floats, or raise `ValueError`."""
    rows = tuple(
        tuple(finite_array(row, f"{where} point").ravel().tolist())
        for row in items_of(points, where)
    )
    if not rows:
        return ()
    if any(len(row) != 2 for row in rows):
        raise ValueError(f"{where}: each point is a pair, wanted share and command.")
    if not 2 <= len(rows) <= MOST_MEASURED:
        raise ValueError(f"{where}: {len(rows)} points; give from 2 to {MOST_MEASURED}.")
    table = np.array(rows)
    if (table < 0.0).any() or (table > 1.0).any():
        raise ValueError(f"{where}: shares and commands are from 0 to 1.")
    if table[0, 0] != 0.0 or table[-1, 0] != 1.0:
        raise ValueError(f"{where}: the first point is at share 0 and the last at share 1.")
    if (np.diff(table[:, 0]) < 1e-6).any() or (np.diff(table[:, 1]) < 0.0).any():
        raise ValueError(f"{where}: shares ascend and commands never fall.")
    return tuple((row[0], row[1]) for row in rows)


@dataclass(frozen=True)
class Sides(Checked):
    """Both motors, and whether their outputs are swapped.

    Parameters
    ----------
    left_start, right_start, left_top, right_top : float
        See `Side`.
    left_reversed, right_reversed : bool
        See `Side`.
    swapped : bool
        True where the left motor hangs on the right output.
    left_measured, right_measured : sequence of (wanted share, command)
        See `Side`.
    """

    left_start: StartCommand = 0.0
    right_start: StartCommand = 0.0
    left_top: TopCommand = 1.0
    right_top: TopCommand = 1.0
    left_reversed: bool = False
    right_reversed: bool = False
    swapped: bool = False
    left_measured: tuple[MeasuredPoint, ...] = ()
    right_measured: tuple[MeasuredPoint, ...] = ()

    def __post_init__(self) -> None:
        """Check by building both sides."""
        super().__post_init__()
        for name in ("left", "right"):
            points = checked_points(getattr(self, f"{name}_measured"), f"{name}_measured")
            object.__setattr__(self, f"{name}_measured", points)
        _ = self.left, self.right

    @property
    def left(self) -> Side:
        """Map of the left motor."""
        return Side(self.left_start, self.left_top, self.left_reversed, self.left_measured)

    @property
    def right(self) -> Side:
        """Map of the right motor."""
        return Side(self.right_start, self.right_top, self.right_reversed, self.right_measured)
