"""Numbers with units for people: one formatter for every panel, SI inside."""

from __future__ import annotations

from dataclasses import dataclass

# Exact by definition: international inch 25.4 mm, mile 1609.344 m
# (international yard and pound agreement of 1959; from memory).
_INCH = 0.0254
_MPH = 1609.344 / 3600.0
_KMH = 1.0 / 3.6


@dataclass(frozen=True)
class Shown:
    """How one kind of quantity is shown: its unit, SI units in one of it, digits.

    Without a number of digits after the point, three that count are shown.
    """

    unit: str
    size: float
    digits: int | None = None


_SPEEDS = {
    "m/s": Shown("m/s", 1.0, 2),
    "km/h": Shown("km/h", _KMH, 2),
    "mph": Shown("mph", _MPH, 2),
}
_FINE = {
    "m/s": Shown("mm/s", 0.001, 1),
    "km/h": Shown("m/h", 1.0 / 3600.0, 0),
    "mph": Shown("in/s", _INCH, 2),
}
_LENGTHS = {"mm": Shown("mm", 0.001, 0), "m": Shown("m", 1.0, 2), "in": Shown("in", _INCH, 1)}
SPEED_UNITS = tuple(_SPEEDS)
LENGTH_UNITS = tuple(_LENGTHS)


@dataclass(frozen=True)
class Units:
    """The reader's choice of units.

    Parameters
    ----------
    speed : {"m/s", "km/h", "mph"}
    length : {"m", "mm", "in"}
    """

    speed: str = "m/s"
    length: str = "m"

    def __post_init__(self) -> None:
        """Refuse units that are not known."""
        if self.speed not in _SPEEDS or self.length not in _LENGTHS:
            raise ValueError(
                f"Units {self.speed!r} and {self.length!r}: give a speed in "
                f"{', '.join(_SPEEDS)} and a length in {', '.join(_LENGTHS)}."
            )

    def of(self, si_unit: str) -> Shown:
        """How quantities with this SI unit are shown."""
        if si_unit == "m/s":
            return _SPEEDS[self.speed]
        if si_unit == "m":
            return _LENGTHS[self.length]
        return Shown(si_unit, 1.0)

    def value(self, si: float, si_unit: str) -> float:
        """SI value in the shown unit."""
        return si / self.of(si_unit).size

    def si(self, shown: float, si_unit: str) -> float:
        """Shown value in SI units."""
        return shown * self.of(si_unit).size

    def text(self, si: float, si_unit: str) -> str:
        """Value and unit, such as "0.20 m/s"."""
        shown = self.of(si_unit)
        return f"{_written(si / shown.size, shown.digits)} {shown.unit}".strip()

    def fine_speed(self, si: float) -> str:
        """A small speed in a small unit, such as "4.0 mm/s"."""
        shown = _FINE[self.speed]
        return f"{_written(si / shown.size, shown.digits)} {shown.unit}"


def percent(share: float, digits: int = 0) -> str:
    """A share as percent; a small one keeps a digit so that it never reads 0 for something."""
    if 0.0 < abs(share) < 0.02 and digits == 0:
        digits = 1
    return f"{100.0 * share:.{digits}f} %"


def _written(value: float, digits: int | None) -> str:
    if digits is not None:
        return f"{value:.{digits}f}"
    # Whole numbers beyond three digits keep them all.
    return f"{value:.0f}" if abs(value) >= 1000.0 else f"{value:.3g}"
