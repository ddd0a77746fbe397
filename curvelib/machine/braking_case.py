"""One stop or reversal as a whole: what comes back, what takes it, the bus meanwhile."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from curvelib.machine.braking import (
    Braking,
    BrakingScene,
    Duty,
    Part,
    average_watts,
    braking,
    holding_power,
    power_corners,
    reversal_parts,
    stop_parts,
)
from curvelib.machine.bus import (
    Resistor,
    ResistorWindow,
    battery_bus_voltage,
    bus_trace,
    capacitor_voltage,
    resistor_window,
)
from curvelib.machine.supply import CHARGE_V_PER_CELL, known
from curvelib.params import FloatArray
from curvelib.tune import Tune

# A stop takes at least this long, whatever the ramp: the drive's lag is not modelled here.
SHORTEST_S = 0.05
_SAMPLES = 240


@dataclass(frozen=True)
class BrakingCase:
    """A stop or a reversal from full speed.

    Parameters
    ----------
    scene : BrakingScene
        Slope, and what drive, switch and resistor bear.
    parts : tuple of Part
        What it does.
    braking : Braking
        What comes back.
    window : ResistorWindow
        Which resistor will do.
    resistor : Resistor
        The one in question, and its clamp voltage.
    watts : float
        Average power that the duty sends back in W.
    mass, capacitance, resistance : float
        kg, F and ohm.
    start_v, charge_v : float
        Bus before, and battery on charge, in V.
    """

    scene: BrakingScene
    parts: tuple[Part, ...]
    braking: Braking
    window: ResistorWindow
    resistor: Resistor
    watts: float
    mass: float
    capacitance: float
    resistance: float
    start_v: float
    charge_v: float

    @property
    def capacitors_alone(self) -> float:
        """Bus voltage in V with the capacitors alone: on paper, since the drive gives way first."""
        return float(capacitor_voltage(self.braking.energy, self.start_v, self.capacitance))

    def clamp_fault(self) -> str:
        """Say what is wrong with the clamp voltage; empty where nothing is."""
        if self.resistor.clamp_v <= self.charge_v:
            return (
                f"At or under the charging voltage of {self.charge_v:.1f} V: charging alone would "
                "heat the resistor."
            )
        if self.resistor.clamp_v >= self.scene.most_v:
            return f"Not under the {self.scene.most_v:.1f} V that the drive endures."
        return ""


@dataclass(frozen=True)
class BusLines:
    """Over time, arrays of shape (n,): s, W into the bus, V with a battery, without, clamped."""

    time: FloatArray
    power: FloatArray
    battery: FloatArray
    alone: FloatArray
    clamped: FloatArray

    def passes(self, volts: float) -> float:
        """Seconds until the bus with no battery passes a voltage; infinite: never."""
        if self.alone[-1] <= volts:
            return float("inf")
        return float(np.interp(volts, self.alone, self.time))


def parts_of(tune: Tune, reverses: bool) -> tuple[Part, ...]:
    """A stop or a reversal from full speed with the tune's ramps."""
    speed, slew = known(tune.machine, "top_speed_m_s"), tune.slew
    stop, start = (max(seconds, SHORTEST_S) for seconds in (slew.to_stop_s, slew.to_full_s))
    return reversal_parts(speed, stop, start) if reverses else stop_parts(speed, stop)


def braking_case(
    tune: Tune, scene: BrakingScene, duty: Duty, resistor_ohm: float, reverses: bool = False
) -> BrakingCase:
    """Work out one stop or reversal.

    Parameters
    ----------
    tune : Tune
        With mass, top speed, ramps, cells, resting voltage, internal
        resistance, bus capacitance and clamp voltage known.
    scene, duty
        What is assumed, and how it works.
    resistor_ohm : float
        The resistor in question, above 0.
    reverses : bool
        True: a reversal to full speed the other way.

    Returns
    -------
    BrakingCase
        The bus begins at the resting voltage; with an alternator at the
        charging voltage, since that keeps the battery full.

    Raises
    ------
    ValueError
        For a number that is not known or out of range.
    """
    supply, mass = tune.supply, known(tune.machine, "mass_kg")
    parts = parts_of(tune, reverses)
    back = braking(mass, parts, scene.slope)
    charge_v = round(CHARGE_V_PER_CELL * known(supply, "cells"), 6)
    resistor = Resistor(resistor_ohm, known(supply, "clamp_v"))
    descent = holding_power(mass, known(tune.machine, "top_speed_m_s"), abs(scene.slope))
    return BrakingCase(
        scene=scene,
        parts=parts,
        braking=back,
        window=resistor_window(resistor.clamp_v, scene.switch_a, float(back.peak)),
        resistor=resistor,
        watts=average_watts(duty, float(back.energy), descent),
        mass=mass,
        capacitance=known(supply, "bus_capacitance_f"),
        resistance=known(supply, "internal_resistance_ohm"),
        start_v=charge_v if supply.alternator else known(supply, "rest_v"),
        charge_v=charge_v,
    )


def bus_lines(case: BrakingCase) -> BusLines:
    """Power and bus voltages over time, with a little after the end."""
    edges, corners = power_corners(case.mass, case.parts, case.scene.slope)
    time, power = _sampled(edges, corners)
    start, farad = case.start_v, case.capacitance
    return BusLines(
        time,
        power,
        np.asarray(battery_bus_voltage(np.maximum(power, 0.0), start, case.resistance)),
        bus_trace(time, power, start_v=start, capacitance=farad),
        bus_trace(time, power, start_v=start, capacitance=farad, resistor=case.resistor),
    )


def _sampled(edges: FloatArray, corners: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Power at even times and just beside its jumps, with a little after the end."""
    end = float(edges[-1])
    time = np.union1d(np.linspace(0.0, end, _SAMPLES), edges[1:] - 1e-6)
    part = np.minimum(np.searchsorted(edges, time, side="right") - 1, len(corners) - 1)
    share = (time - edges[part]) / np.diff(edges)[part]
    power = corners[part, 0] + share * (corners[part, 1] - corners[part, 0])
    return np.append(time, [end + 1e-6, 1.3 * end]), np.append(power, [0.0, 0.0])
