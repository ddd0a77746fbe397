"""Reads a recorded stick trace, strictly: every fault is named by file and line.

The file is text in UTF-8, comma separated.  Lines that begin with ``#`` and
blank lines are skipped.  The first other line is the header, ``time_s,first,second``
for stick positions (-1 to 1) or ``time_s,first_us,second_us`` for pulse widths
in microseconds; then one row a sample.  Times ascend; steps may be irregular.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import Literal

import numpy as np

from curvelib.params import FloatArray
from curvelib.stick import Stick

RecordingKind = Literal["positions", "pulses"]

MOST_BYTES = 8_000_000
MOST_ROWS = 200_000
LONGEST_S = 86_400.0

_HEADERS: dict[tuple[str, ...], RecordingKind] = {
    ("time_s", "first", "second"): "positions",
    ("time_s", "first_us", "second_us"): "pulses",
}
_WANTED_HEADER = "time_s,first,second (positions) or time_s,first_us,second_us (pulses)"
# Least and most in a column.  An impossible pulse, even 0, is part of a
# recording: the path has its rule for it.
_RANGE: dict[RecordingKind, tuple[float, float, str]] = {
    "positions": (-1.0, 1.0, "a stick position from -1 to 1"),
    "pulses": (0.0, 65535.0, "a pulse width from 0 to 65535 us"),
}
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)


class RecordingError(ValueError):
    """A recording that cannot be used; the message names file, line and what would be right."""


@dataclass(frozen=True, eq=False)
class Recording:
    """A recorded stick trace, arrays of shape (n,), n at least 2.

    Parameters
    ----------
    name : str
        Name of the file.
    kind : {"positions", "pulses"}
        What `first` and `second` hold: positions -1..1, or pulse widths in us.
    time : ndarray of float64
        Seconds, strictly ascending.
    first, second : ndarray of float64
        Throttle and steer, or the left and the right stick.
    """

    name: str
    kind: RecordingKind
    time: FloatArray
    first: FloatArray
    second: FloatArray

    @property
    def since_before(self) -> FloatArray:
        """Seconds since the sample before, 0 for the first: the dt that `Chain.run` takes."""
        return np.diff(self.time, prepend=self.time[0])

    @property
    def held_for(self) -> FloatArray:
        """Seconds until the next sample, the last step once more at the end: for `respond`."""
        steps = np.diff(self.time)
        return np.append(steps, steps[-1])

    def pulses(self, sticks: tuple[Stick, Stick], flipped: tuple[bool, bool]) -> FloatArray:
        """Pulse widths in us, shape (2, n), as `Chain.run` takes them.

        Parameters
        ----------
        sticks : (Stick, Stick)
            The sticks of the path, for a recording of positions.
        flipped : (bool, bool)
            Which of them are reversed.

        Returns
        -------
        ndarray of float64
            The recorded pulses, or those at which the sticks read the recorded
            positions.
        """
        traces = np.stack([self.first, self.second])
        if self.kind == "pulses":
            return traces
        signs = np.where(flipped, -1.0, 1.0)
        return np.stack(
            [_pulse(stick, sign * x) for stick, sign, x in zip(sticks, signs, traces, strict=True)]
        )


def _pulse(stick: Stick, position: FloatArray) -> FloatArray:
    travel = np.where(position < 0.0, stick.centre - stick.low, stick.high - stick.centre)
    return np.asarray(stick.centre + position * travel)


def read_recording(path: str | PathLike[str]) -> Recording:
    """Read a recorded stick trace.

    Parameters
    ----------
    path : str or path-like
        The file; at most 8 MB and 200 000 rows, at most a day long.

    Returns
    -------
    Recording
        Everything in it checked.

    Raises
    ------
    RecordingError
        If the file cannot be read or anything in it is not as it should be; a
        `ValueError` whose message names the file, the line and what would be
        right.
    """
    file = Path(path)
    lines = _lines(_text(file), file.name)
    number, header = next(lines, (1, ""))
    kind = _kind(header, f"{file.name}, line {number}")
    rows: list[tuple[float, float, float]] = []
    for number, line in lines:
        where = f"{file.name}, line {number}"
        if len(rows) >= MOST_ROWS:
            raise RecordingError(f"{where}: more than {MOST_ROWS} rows; give a shorter recording.")
        row = _row(line, kind, where)
        _check_time(row[0], rows[-1][0] if rows else None, where)
        rows.append(row)
    if len(rows) < 2:
        raise RecordingError(
            f"{file.name}, line {number}: {len(rows)} rows of numbers; give at least 2 below "
            "the header."
        )
    time, first, second = np.array(rows, dtype=np.float64).T.copy()
    return Recording(file.name, kind, time, first, second)


def _text(file: Path) -> str:
    """Read the file, or say why it cannot be."""
    try:
        with file.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as fault:
        why = fault.strerror or "it cannot be opened"
        raise RecordingError(
            f"{file}: cannot be read ({why}); give the path of a CSV file."
        ) from None
    if len(raw) > MOST_BYTES:
        raise RecordingError(
            f"{file.name}: larger than {MOST_BYTES // 1_000_000} MB; give a shorter recording."
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = raw[: fault.start].count(b"\n") + 1
        raise RecordingError(
            f"{file.name}, line {line}: this is not UTF-8 text; save it again as CSV in UTF-8."
        ) from None


def _lines(text: str, name: str) -> Iterator[tuple[int, str]]:
    """Yield number and content of every line that is neither blank nor a comment."""
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    for number, line in enumerate(plain.split("\n"), start=1):
        if "\0" in line:
            raise RecordingError(
                f"{name}, line {number}: this is not text; save it again as CSV in UTF-8."
            )
        content = line.strip()
        if content and not content.startswith("#"):
            yield number, content


def _cells(line: str) -> tuple[str, ...]:
    return tuple(cell.strip() for cell in line.split(","))


def _kind(header: str, where: str) -> RecordingKind:
    kind = _HEADERS.get(_cells(header))
    if kind is not None:
        return kind
    if not header:
        raise RecordingError(f"{where}: there is no header; the first line is {_WANTED_HEADER}.")
    shown = header if len(header) <= 60 else header[:57] + "..."
    semicolons = " Separate the columns with commas." if ";" in header else ""
    raise RecordingError(
        f"{where}: the header is {shown!r}; it must be {_WANTED_HEADER}.{semicolons}"
    )


def _row(line: str, kind: RecordingKind, where: str) -> tuple[float, float, float]:
    cells = _cells(line)
    if len(cells) != 3:
        hint = " Write decimals with a point, columns with commas." if ";" in line else ""
        raise RecordingError(f"{where}: {len(cells)} values; give 3, as in the header.{hint}")
    low, high, wanted = _RANGE[kind]
    time = _number(cells[0], 0.0, LONGEST_S, f"a time from 0 to {LONGEST_S:g} s", where)
    first, second = (_number(cell, low, high, wanted, where) for cell in cells[1:])
    return time, first, second


def _number(cell: str, low: float, high: float, wanted: str, where: str) -> float:
    """Read one plain decimal number; no nan, no inf, no underscores, no other script's digits."""
    shown = cell if len(cell) <= 30 else cell[:27] + "..."
    if not _NUMBER.fullmatch(cell):
        raise RecordingError(f"{where}: {shown!r} is not a number; give {wanted}.")
    value = float(cell)
    if not low <= value <= high:
        raise RecordingError(f"{where}: {shown} is out of range; give {wanted}.")
    return value


def _check_time(time: float, before: float | None, where: str) -> None:
    if before is not None and time <= before:
        raise RecordingError(
            f"{where}: the time {time:g} s is not after {before:g} s in the row before; "
            "give ascending times."
        )
