"""What the battery bears: sag, least voltage, and which current limit makes sense.

The battery is a voltage at rest behind one resistance.  A real one also sags
slowly while it empties, and its resistance grows when it is cold, old or nearly
empty; measure it: two loads, the change of voltage over the change of current.
What a drive does below its least voltage (fade, trip, restart) is its own
affair and stands in its leaflet; here the worst is taken, a restart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import FloatOrArray, as_given, broadcast, not_negative, positive
from curvelib.machine.grip import grip_limits
from curvelib.machine.tipping import GRAVITY
from curvelib.params import Checked, Param
from curvelib.tune import Machine, Supply

# Lead-acid, volts a cell.  End of discharge 1.75: usual in trade articles (read);
# 1.67 is used where every minute counts (memory).  At rest and full about 2.1, on
# charge about 2.4: common practice, no source.  Other kinds of cell differ.
END_V_PER_CELL = 1.75
FULL_V_PER_CELL = 2.1
CHARGE_V_PER_CELL = 2.4


@dataclass(frozen=True)
class SupplyScene(Checked):
    """What is assumed about the day and the ground; invented values."""

    worse: Annotated[
        float,
        Param(
            1.0,
            3.0,
            0.05,
            "Battery on a bad day",
            "Cold, old or nearly empty: resistance times this. 1 is as measured.",
        ),
    ] = 1.5
    slope_deg: Annotated[
        float,
        Param(0.0, 30.0, 0.5, "Steepest slope", "The current must take the machine up it.", "deg"),
    ] = 10.0

    @property
    def slope(self) -> float:
        """Slope in rad."""
        return math.radians(self.slope_deg)


def least_voltage(cells: ArrayLike, volts_per_cell: ArrayLike) -> FloatOrArray:
    """Least voltage of a whole battery.

    Parameters
    ----------
    cells : float or array_like
        Cells in series, above 0.
    volts_per_cell : float or array_like
        Least voltage of each in V, above 0.

    Returns
    -------
    float or ndarray of float64
        V.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.

    Notes
    -----
    IEEE 485-2020, Annex B (read in excerpt).
    """
    count, each = broadcast(
        cells=positive(cells, "number of cells"),
        volts_per_cell=positive(volts_per_cell, "voltage of a cell", "V"),
    )
    return as_given(count * each)


def sagged_voltage(current: ArrayLike, rest_v: ArrayLike, resistance: ArrayLike) -> FloatOrArray:
    """Voltage of a battery that gives a current: rest - current x resistance.

    Parameters
    ----------
    current : float or array_like
        A, 0 or more, drawn by both motors and all else.
    rest_v : float or array_like
        Voltage at rest in V, above 0.
    resistance : float or array_like
        Battery and cables in ohm, 0 or more.

    Returns
    -------
    float or ndarray of float64
        V, never below 0: beyond its short-circuit current a battery gives nothing more.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.
    """
    drawn, rest, ohm = broadcast(
        current=not_negative(current, "current", "A"),
        rest_v=positive(rest_v, "resting voltage", "V"),
        resistance=not_negative(resistance, "internal resistance", "ohm"),
    )
    return as_given(np.maximum(rest - drawn * ohm, 0.0))


def sag_current(voltage: ArrayLike, rest_v: ArrayLike, resistance: ArrayLike) -> FloatOrArray:
    """Current that pulls a battery down to a voltage: inverse of `sagged_voltage`.

    Parameters
    ----------
    voltage : float or array_like
        V, 0 or more.
    rest_v, resistance : float or array_like
        As in `sagged_voltage`.

    Returns
    -------
    float or ndarray of float64
        A; 0 where the battery at rest is already there, infinite without resistance.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.
    """
    wanted, rest, ohm = broadcast(
        voltage=not_negative(voltage, "voltage", "V"),
        rest_v=positive(rest_v, "resting voltage", "V"),
        resistance=not_negative(resistance, "internal resistance", "ohm"),
    )
    room = np.maximum(rest - wanted, 0.0)
    some = ohm > 0.0
    with np.errstate(over="ignore"):
        current = room / np.where(some, ohm, 1.0)
    return as_given(np.where(some, current, np.where(room > 0.0, np.inf, 0.0)))


def push_current(
    force: ArrayLike, wheel_radius: ArrayLike, torque_per_amp: ArrayLike
) -> FloatOrArray:
    """Motor current for a push at the ground, both motors together.

    Parameters
    ----------
    force : float or array_like
        N, 0 or more.
    wheel_radius : float or array_like
        m, above 0.
    torque_per_amp : float or array_like
        N m at the wheel for each A, gearing and its losses included, above 0.

    Returns
    -------
    float or ndarray of float64
        force x wheel_radius/torque_per_amp in A.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.

    Notes
    -----
    This is the current in the motors.  At part command a drive draws less than
    that from the battery (power in is power out); at full command as much.
    """
    push, radius, torque = broadcast(
        force=not_negative(force, "force", "N"),
        wheel_radius=positive(wheel_radius, "wheel radius", "m"),
        torque_per_amp=positive(torque_per_amp, "torque per ampere", "N m/A"),
    )
    return as_given(push * radius / torque)


def grip_pull(machine: Machine, slope: float = 0.0) -> float | None:
    """Largest push in N that the driven wheels can put on the ground, driving forward up a slope.

    Parameters
    ----------
    machine : Machine
        Mass, grip, driven axle and, with one driven axle, the centre of mass.
    slope : float
        rad, positive where the nose points uphill.

    Returns
    -------
    float or None
        None where a fact is not known.
    """
    if machine.mass_kg is None or machine.friction is None:
        return None
    where = (machine.cg_to_front_m, machine.cg_to_rear_m, machine.cg_height_m)
    if machine.driven != "all" and None in where:
        return None
    limits = grip_limits(
        machine.friction,
        -slope,
        machine.driven,
        cg_to_front=where[0],
        cg_to_rear=where[1],
        cg_height=where[2],
    )
    pull = machine.mass_kg * (limits.start_forward + GRAVITY * math.sin(slope))
    return max(float(pull), 0.0)


def slope_pull(mass: float, slope: float) -> float:
    """Push in N that just holds a mass in kg on a slope in rad; rolling resistance left out."""
    return float(positive(mass, "mass", "kg")) * GRAVITY * abs(math.sin(slope))


@dataclass(frozen=True)
class Source:
    """The supply of the drive.

    Parameters
    ----------
    rest_v, least_v : float
        Battery at rest, and the drive's least voltage, in V, above 0.
    resistance : float
        Battery and cables in ohm, 0 or more.
    restart_s : float
        From power to the first command in s, 0 or more.
    """

    rest_v: float
    least_v: float
    resistance: float
    restart_s: float

    def __post_init__(self) -> None:
        """Check every number."""
        positive([self.rest_v, self.least_v], "voltage", "V")
        not_negative(self.resistance, "internal resistance", "ohm")
        not_negative(self.restart_s, "restart delay", "s")

    @classmethod
    def of(cls, supply: Supply) -> Source:
        """Take the numbers of a machine file; `ValueError` names one that is not known."""
        cells, each = known(supply, "cells"), known(supply, "cut_off_v_per_cell")
        return cls(
            rest_v=known(supply, "rest_v"),
            least_v=float(least_voltage(cells, each)),
            resistance=known(supply, "internal_resistance_ohm"),
            restart_s=known(supply, "restart_delay_s"),
        )

    def under(self, load_a: float) -> float:
        """Voltage in V under a load."""
        return float(sagged_voltage(load_a, self.rest_v, self.resistance))


def known(section: Machine | Supply, key: str) -> float:
    """Return a number of the machine file, or raise `ValueError` saying that it is missing."""
    value = getattr(section, key)
    if value is None:
        name = type(section).__name__.lower()
        raise ValueError(f"[{name}] {key} is not known; give it in the machine file.")
    return float(value)
