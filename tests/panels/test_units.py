"""The one formatter of numbers with units."""

from __future__ import annotations

import pytest

from curvelib.panels.units import LENGTH_UNITS, SPEED_UNITS, Units, percent


@pytest.mark.parametrize(
    ("unit", "text"), [("m/s", "2.00 m/s"), ("km/h", "7.20 km/h"), ("mph", "4.47 mph")]
)
def test_speeds(unit: str, text: str) -> None:
    """2 m/s is 7.2 km/h and 2/0.44704 mph (mile of 1609.344 m, by definition)."""
    assert Units(unit, "m").text(2.0, "m/s") == text


@pytest.mark.parametrize(("unit", "text"), [("m", "0.51 m"), ("mm", "508 mm"), ("in", "20.0 in")])
def test_lengths(unit: str, text: str) -> None:
    """0.508 m is 20 inches of 25.4 mm, by definition."""
    assert Units("m/s", unit).text(0.508, "m") == text


@pytest.mark.parametrize("speed", SPEED_UNITS)
@pytest.mark.parametrize("length", LENGTH_UNITS)
def test_there_and_back(speed: str, length: str) -> None:
    units = Units(speed, length)
    for unit in ("m/s", "m", "kg"):
        assert units.si(units.value(1.234, unit), unit) == pytest.approx(1.234, rel=1e-15)


def test_other_units_keep_three_digits() -> None:
    units = Units()
    assert units.text(340.0, "kg") == "340 kg"
    assert units.text(12345.6, "kg") == "12346 kg"
    assert units.text(0.02, "ohm") == "0.02 ohm"


def test_unknown_units_are_refused() -> None:
    with pytest.raises(ValueError, match="give a speed in"):
        Units("knots", "m")


def test_a_small_share_never_reads_zero() -> None:
    assert percent(0.004) == "0.4 %"
    assert percent(0.0) == "0 %"
    assert percent(0.27) == "27 %"
