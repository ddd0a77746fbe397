"""From pulse width to stick position."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from curvelib.params import Checked, FloatArray, Param, finite_array

# Servo pulses of 1000, 1500 and 2000 us are common practice; no published
# standard was found and makers differ, so the ends stay adjustable.
_LOW_US = Param(
    0.0, 5000.0, 1.0, "Lowest pulse", "Pulse width with the stick at its low end.", "us"
)
_CENTRE_US = Param(
    0.0, 5000.0, 1.0, "Centre pulse", "Pulse width with the stick let go, at its centre.", "us"
)
_HIGH_US = Param(
    0.0, 5000.0, 1.0, "Highest pulse", "Pulse width with the stick at its high end.", "us"
)
# A relearned centre may shift an end past 0, never by more than the range itself.
_ANY_US = Param(-20000.0, 20000.0, 1.0, "Pulse", "Pulse width.", "us")
AnyPulse = Annotated[float, _ANY_US]
LowPulse = Annotated[float, _LOW_US]
CentrePulse = Annotated[float, _CENTRE_US]
HighPulse = Annotated[float, _HIGH_US]
StickSteps = Annotated[
    int | None,
    Param(
        3,
        65535,
        1,
        "Stick steps",
        "How many different positions the transmitter sends, end to end.",
    ),
]


@dataclass(frozen=True)
class Stick(Checked):
    """One channel of the transmitter: pulse width to position.

    Parameters
    ----------
    low, centre, high : float
        Pulse widths in us, low < centre < high.
    steps : int, optional
        Number of levels the transmitter sends over low..high.  None: every
        pulse width is taken as it comes.
    margin : float
        By how much of low..high a pulse may lie outside and still be possible.
    judged_low, judged_high : float, optional
        The range that `possible` judges by; left out, it is low..high.  It is
        what a relearned centre keeps from the stick as first set.

    Notes
    -----
    `position` is continuous without `steps`, non-decreasing always.
    """

    low: AnyPulse
    centre: AnyPulse
    high: AnyPulse
    steps: StickSteps = None
    margin: Annotated[
        float,
        Param(
            0.0, 1.0, 0.01, "Margin", "How far outside the travel a pulse may lie and still count."
        ),
    ] = 0.25
    judged_low: Annotated[float | None, _ANY_US] = None
    judged_high: Annotated[float | None, _ANY_US] = None

    def __post_init__(self) -> None:
        """Check the numbers and their order."""
        super().__post_init__()
        check_pulse_order(self.low, self.centre, self.high, "Stick")

    @overload
    def position(self, pulse: float) -> float: ...
    @overload
    def position(self, pulse: ArrayLike) -> Any: ...
    def position(self, pulse: ArrayLike) -> Any:
        """Stick position of a pulse width.

        Parameters
        ----------
        pulse : float or array_like
            Pulse width in us; outside low..high it saturates.

        Returns
        -------
        float or ndarray of float64
            -1..1, each side scaled by its own travel.  With `steps` the pulse
            is first rounded to the nearest level, and the level nearest the
            centre reads exactly 0.

        Raises
        ------
        ValueError
            If a pulse width is NaN or infinite.
        """
        width = np.clip(finite_array(pulse, "pulse width"), self.low, self.high)
        if self.steps is None:
            value = self._scaled(width)
        else:
            level = self._level(width)
            step = (self.high - self.low) / (self.steps - 1)
            # The last level is the high end itself, not a sum of steps that may miss it.
            at_level = np.where(level >= self.steps - 1, self.high, self.low + level * step)
            value = self._scaled(at_level)
            value = np.where(level == self._level(np.asarray(self.centre)), 0.0, value)
        value = value + 0.0
        return float(value) if np.ndim(pulse) == 0 else value

    def _scaled(self, width: FloatArray) -> FloatArray:
        away = width - self.centre
        return np.where(
            away < 0.0, away / (self.centre - self.low), away / (self.high - self.centre)
        )

    def _level(self, width: FloatArray) -> FloatArray:
        assert self.steps is not None  # noqa: S101  callers ask for levels only where there are some
        share = (width - self.low) / (self.high - self.low)
        return np.asarray(np.floor(share * (self.steps - 1) + 0.5))

    @property
    def possible_range(self) -> tuple[float, float]:
        """Least and greatest pulse width in us that can be a command, both included."""
        low = self.low if self.judged_low is None else self.judged_low
        high = self.high if self.judged_high is None else self.judged_high
        room = self.margin * (high - low)
        return low - room, high + room

    @overload
    def possible(self, pulse: float) -> bool: ...
    @overload
    def possible(self, pulse: ArrayLike) -> NDArray[np.bool_] | bool: ...
    def possible(self, pulse: ArrayLike) -> NDArray[np.bool_] | bool:
        """Say whether a pulse width can be a command at all.

        Parameters
        ----------
        pulse : float or array_like
            Pulse width in us.  NaN and infinity are never possible.

        Returns
        -------
        bool or ndarray of bool
            True within low..high, as first set, widened by `margin` of the
            travel on both sides, ends included.
        """
        width = np.asarray(pulse, dtype=np.float64)
        least, most = self.possible_range
        with np.errstate(invalid="ignore"):
            good = (width >= least) & (width <= most)
        return bool(good) if np.ndim(pulse) == 0 else good

    def relearned(self, pulse: float) -> Stick:
        """Return the stick after a restart that takes the pulse it sees as the centre.

        Parameters
        ----------
        pulse : float
            Pulse width in us at the restart.

        Returns
        -------
        Stick
            Centre at `pulse`, the spans either side as before, and still
            judging possible pulses by the range as first set.  With equal
            spans, held full forward at the restart, the stick let go reads
            -1: full reverse.

        Raises
        ------
        ValueError
            If the pulse is not a possible one.
        """
        if not math.isfinite(pulse) or not self.possible(pulse):
            least, most = self.possible_range
            raise ValueError(
                f"A pulse of {pulse:g} us cannot be learned as the centre; "
                f"a possible pulse is from {least:g} to {most:g} us."
            )
        shift = float(pulse) - self.centre
        return replace(
            self,
            low=self.low + shift,
            centre=float(pulse),
            high=self.high + shift,
            judged_low=self.low if self.judged_low is None else self.judged_low,
            judged_high=self.high if self.judged_high is None else self.judged_high,
        )


def check_pulse_order(low: float, centre: float, high: float, where: str) -> None:
    """Raise `ValueError` unless the three checked pulse widths ascend, 1 us apart or more."""
    # A relearned centre moves all three, and rounding must not bring two closer than that.
    if min(centre - low, high - centre) < 1.0 - 1e-9:
        raise ValueError(
            f"{where}: low = {low:g}, centre = {centre:g}, high = {high:g} us; "
            "give low below centre below high, at least 1 us apart."
        )


@dataclass(frozen=True)
class StickSetup(Checked):
    """What the transmitter sends, and where a stick's centre is taken from.

    Parameters
    ----------
    low_us, centre_us, high_us : float
        Pulse widths in us for low end, centre and high end of a stick.
    steps : int, optional
        Levels over low..high.  None: not known, whole microseconds are assumed
        where steps are counted.
    centre : {"fixed", "learned"}
        "fixed": always centre_us.  "learned": the first good pulse after power-up.
    """

    low_us: LowPulse = 1000.0
    centre_us: CentrePulse = 1500.0
    high_us: HighPulse = 2000.0
    steps: StickSteps = None
    centre: Literal["fixed", "learned"] = "fixed"

    def __post_init__(self) -> None:
        """Check the numbers and their order."""
        super().__post_init__()
        check_pulse_order(self.low_us, self.centre_us, self.high_us, "stick")
