"""From command to the numbers a controller takes: pulse, signed number or percent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from curvelib.params import Checked, Param, finite_array
from curvelib.stick import CentrePulse, HighPulse, LowPulse, check_pulse_order

OutputKind = Literal["pulse", "signed", "percent"]
OUTPUT_KINDS: tuple[str, ...] = get_args(OutputKind)

# Percent goes out in hundredths, so that it stays a whole number.
HUNDREDTHS = 10000


@dataclass(frozen=True)
class Output(Checked):
    """Code of the output, always a whole number of output units.

    Parameters
    ----------
    kind : {"pulse", "signed", "percent"}
        "pulse": microseconds, centre_us for 0.  "signed": -full..full.
        "percent": hundredths of a percent, -10000..10000.
    low_us, centre_us, high_us : float
        Pulse widths in us for -1, 0 and 1; whole numbers are sent.
    full : int
        The signed number that means full command.
    """

    kind: OutputKind = "pulse"
    low_us: LowPulse = 1000.0
    centre_us: CentrePulse = 1500.0
    high_us: HighPulse = 2000.0
    full: Annotated[
        int, Param(1, 32767, 1, "Full", "The signed number that means full command.")
    ] = 1000

    def __post_init__(self) -> None:
        """Check numbers, order and kind."""
        super().__post_init__()
        check_pulse_order(self.low_us, self.centre_us, self.high_us, "output")
        if self.kind == "pulse" and any(
            width != int(width) for width in (self.low_us, self.centre_us, self.high_us)
        ):
            raise ValueError(
                "output: low_us, centre_us and high_us are sent as whole microseconds."
            )

    @property
    def zero(self) -> int:
        """Output units for command 0."""
        return int(self.centre_us) if self.kind == "pulse" else 0

    @property
    def spans(self) -> tuple[int, int]:
        """Output units from 0 to -1 and from 0 to 1, both positive."""
        if self.kind == "pulse":
            centre = int(self.centre_us)
            return centre - int(self.low_us), int(self.high_us) - centre
        full = self.full if self.kind == "signed" else HUNDREDTHS
        return full, full

    @property
    def unit(self) -> str:
        """What one output unit is."""
        return {"pulse": "us", "signed": "", "percent": "hundredths of a percent"}[self.kind]

    def units(self, command: ArrayLike) -> Any:
        """Nearest output units for a command.

        Parameters
        ----------
        command : float or array_like
            -1..1; saturates beyond.

        Returns
        -------
        int or ndarray of int64
            Non-decreasing in `command`; halves round away from 0.

        Raises
        ------
        ValueError
            If a command is NaN or infinite.
        """
        value = np.clip(finite_array(command, "command"), -1.0, 1.0)
        below, above = self.spans
        scaled = np.abs(value) * np.where(value < 0.0, below, above)
        whole = np.floor(scaled + 0.5).astype(np.int64)
        units = self.zero + np.where(value < 0.0, -whole, whole)
        return int(units) if np.ndim(command) == 0 else units

    def command(self, units: ArrayLike) -> NDArray[np.float64]:
        """Command, -1..1, that output units stand for."""
        away = np.asarray(units, dtype=np.float64) - self.zero
        below, above = self.spans
        return np.asarray(away / np.where(away < 0.0, below, above))

    def below_half_step(self, command: ArrayLike) -> NDArray[np.bool_]:
        """Say where a command is too small to be told from 0 in output units.

        The edge is set a millionth below half a step, so that a command of
        exactly half a step falls on the same side in every arithmetic.
        """
        value = finite_array(command, "command")
        below, above = self.spans
        return np.abs(value) * np.where(value < 0.0, below, above) < 0.5 * (1.0 - 1e-6)
