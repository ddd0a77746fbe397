"""Which limit on the motors' current makes sense: between spinning wheels and a sagging battery."""

from __future__ import annotations

import math
from dataclasses import dataclass

from curvelib.machine.checks import not_negative, positive
from curvelib.machine.supply import (
    grip_pull,
    push_current,
    sag_current,
    sagged_voltage,
    slope_pull,
)
from curvelib.tune import Machine


@dataclass(frozen=True)
class CurrentWindow:
    """What bounds a current limit; A of each motor, both working alike.

    Parameters
    ----------
    sags : float
        Beyond it both motors at full command pull the battery below its least
        voltage; 0 where it is there at rest, infinite without resistance.
    spins : float or None
        Beyond it the wheels only spin on level ground; None where not known.
    climbs : float or None
        Needed to hold the machine on its steepest slope, nose uphill; None where
        not known.
    spins_uphill : float or None
        Beyond it the wheels only spin on that slope; None where not known.
    rest_v, least_v, resistance : float
        Of the battery in V and ohm.
    """

    sags: float
    spins: float | None
    climbs: float | None
    spins_uphill: float | None
    rest_v: float
    least_v: float
    resistance: float

    @property
    def sensible(self) -> bool:
        """True where a limit uses all the grip there is and keeps the voltage up."""
        return self.spins is not None and self.spins <= self.sags and not self.slides_back

    @property
    def slides_back(self) -> bool:
        """True where the wheels spin before they get the machine up its steepest slope."""
        if self.climbs is None or self.spins_uphill is None:
            return False
        return self.climbs > self.spins_uphill

    @property
    def suggested(self) -> float | None:
        """A limit in whole A to begin with; None where no limit keeps the voltage up."""
        most = self.sags if math.isinf(self.sags) else math.floor(self.sags + 1e-9)
        if self.spins is not None:
            most = min(most, math.ceil(self.spins - 1e-9))
        return float(most) if 1.0 <= most < math.inf else None

    def voltage(self, limit: float) -> float:
        """Battery voltage in V with both motors at a limit and full command."""
        return float(sagged_voltage(2.0 * limit, self.rest_v, self.resistance))

    def words(self) -> str:
        """Say in plain words whether a sensible limit exists, or what would help."""
        if self.rest_v <= self.least_v:
            return (
                f"At rest the battery gives {self.rest_v:.1f} V, its least is "
                f"{self.least_v:.1f} V: no limit helps. Charge it, or check cells and cut-off."
            )
        if self.spins is None:
            return (
                f"The battery bears {_amps(self.sags)} in each motor. Where the wheels would spin "
                "is not known: that takes mass, grip, wheel radius and torque per ampere."
            )
        if self.slides_back:
            return (
                f"The slope takes {_amps(self.climbs or 0.0)} in each motor, but there the wheels "
                f"spin at {_amps(self.spins_uphill or 0.0)}: no limit gets it up. What would help: "
                "more grip, more weight on the driven wheels, a gentler slope."
            )
        return self._between() if self.spins <= self.sags else self._none(self.spins)

    def _between(self) -> str:
        most = "any higher limit" if math.isinf(self.sags) else f"{_amps(self.sags)}"
        return (
            f"A sensible limit lies between {_amps(self.spins or 0.0)}, where the wheels spin, "
            f"and {most}, where the battery gives out. Take the low end: more only "
            "spins the wheels and digs up the ground."
        )

    def _none(self, spins: float) -> str:
        share = 100.0 * self.sags / spins
        text = (
            f"No limit does both: the battery gives out at {_amps(self.sags)} in each motor, "
            f"before the wheels spin at {_amps(spins)}. "
        )
        if self.climbs is not None and self.climbs > self.sags:
            text += f"The slope alone takes {_amps(self.climbs)}. "
        else:
            text += f"Limited to what the battery bears, it pushes {share:.0f} % of what it grips. "
        return text + (
            f"What would help: {self.resistance_wanted(spins):.4f} ohm or less (thicker, shorter "
            "cables, a bigger or newer battery), more cells, or a lower gear."
        )

    def resistance_wanted(self, limit: float) -> float:
        """Most resistance in ohm with which the battery bears a limit in both motors."""
        room = max(self.rest_v - self.least_v, 0.0)
        return room / (2.0 * limit) if limit > 0.0 else math.inf


def _amps(current: float) -> str:
    return "any current" if math.isinf(current) else f"{current:.0f} A"


def current_window(
    machine: Machine, *, rest_v: float, resistance: float, least_v: float, slope: float = 0.0
) -> CurrentWindow:
    """Bounds on the current limit of each motor.

    Parameters
    ----------
    machine : Machine
        Its mass, grip, driven axle, wheel radius and torque per ampere.
    rest_v, least_v : float
        Battery at rest and at least in V, above 0.
    resistance : float
        Battery and cables in ohm, 0 or more.
    slope : float
        Steepest slope in rad.

    Returns
    -------
    CurrentWindow
        Currents of each motor.  Both motors are taken to share the push alike
        and to run at full command, where battery and motor current are equal:
        the worst case for the battery.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range.
    """
    least = float(positive(least_v, "least voltage", "V"))
    ohm = float(not_negative(resistance, "internal resistance", "ohm"))
    return CurrentWindow(
        sags=sag_current(least, rest_v, ohm) / 2.0,
        spins=_each(machine, grip_pull(machine)),
        climbs=_each(machine, slope_pull(machine.mass_kg, slope) if machine.mass_kg else None),
        spins_uphill=_each(machine, grip_pull(machine, abs(slope))),
        rest_v=rest_v,
        least_v=least,
        resistance=ohm,
    )


def _each(machine: Machine, pull: float | None) -> float | None:
    """Current of each motor for a push, where it can be told."""
    if pull is None or machine.wheel_radius_m is None or machine.torque_per_amp_nm is None:
        return None
    return float(push_current(pull, machine.wheel_radius_m, machine.torque_per_amp_nm)) / 2.0
