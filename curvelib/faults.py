"""What is wrong with a machine file, in words for its owner."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One fault: where, what was found, what would be right."""

    key: str
    value: str
    wanted: str

    def __str__(self) -> str:
        """One line of the message."""
        found = f" = {self.value}" if self.value else ""
        place = f"{self.key}{found}: " if self.key else ""
        return f"{place}{self.wanted}"


class TuneError(ValueError):
    """A machine file is at fault.

    Parameters
    ----------
    faults : sequence of Fault
        Every fault that was found, in file order.
    path : str
        The file, where there is one.
    """

    def __init__(self, faults: tuple[Fault, ...], path: str = "") -> None:
        self.faults = faults
        self.path = path
        super().__init__(self._message())

    def _message(self) -> str:
        head = f"{self.path}: " if self.path else ""
        if len(self.faults) == 1:
            return f"{head}{self.faults[0]}"
        lines = "\n".join(f"  {fault}" for fault in self.faults)
        return f"{head}{len(self.faults)} faults\n{lines}"


class ChangedOnDisk(TuneError):  # noqa: N818  the name says what happened; TuneError carries the suffix
    """A file was changed by someone else since it was read, so it was not overwritten."""


def one_fault(wanted: str, path: str = "", key: str = "", value: str = "") -> TuneError:
    """Make a `TuneError` of a single fault."""
    return TuneError((Fault(key, value, wanted),), path)
