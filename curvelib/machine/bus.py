"""Where braking energy goes: the battery, the capacitors on the drive's supply, or a resistor.

The wires and capacitors between battery and drive are called the bus, as is
usual.  A healthy, connected battery takes short pulses and the bus rises by
current x resistance.  With the battery full, disconnected (a blown fuse, an
opened contactor) or with an alternator alone, which takes nothing back, the
energy has only the capacitors: they rise fast.  What a drive does above its
highest voltage is its own affair: it may let go of its brakes, or break.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import (
    FloatOrArray,
    as_given,
    broadcast,
    finite,
    not_negative,
    positive,
)
from curvelib.params import FloatArray


def battery_bus_voltage(power: ArrayLike, rest_v: ArrayLike, resistance: ArrayLike) -> FloatOrArray:
    """Bus voltage while a connected, healthy battery takes a power: rest + current x resistance.

    Parameters
    ----------
    power : float or array_like
        W into the battery, 0 or more.
    rest_v : float or array_like
        Battery at rest in V, above 0.
    resistance : float or array_like
        Battery and cables in ohm, 0 or more.

    Returns
    -------
    float or ndarray of float64
        V, with current = power/voltage.  A full battery, or one whose own
        protection opens, does not take it: see `capacitor_voltage`.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.
    """
    watts, rest, ohm = broadcast(
        power=not_negative(power, "power", "W"),
        rest_v=positive(rest_v, "resting voltage", "V"),
        resistance=not_negative(resistance, "internal resistance", "ohm"),
    )
    return as_given((rest + np.sqrt(rest**2 + 4.0 * watts * ohm)) / 2.0)


def capacitor_voltage(
    energy: ArrayLike, start_v: ArrayLike, capacitance: ArrayLike
) -> FloatOrArray:
    """Bus voltage after the capacitors alone have taken an energy.

    Parameters
    ----------
    energy : float or array_like
        J, 0 or more.
    start_v : float or array_like
        V before, 0 or more.
    capacitance : float or array_like
        F, above 0.

    Returns
    -------
    float or ndarray of float64
        sqrt(start^2 + 2 energy/capacitance) in V.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range; names the first bad index.
    """
    joules, start, farad = broadcast(
        energy=not_negative(energy, "energy", "J"),
        start_v=not_negative(start_v, "bus voltage", "V"),
        capacitance=positive(capacitance, "bus capacitance", "F"),
    )
    return as_given(np.sqrt(start**2 + 2.0 * joules / farad))


def capacitor_room(start_v: float, end_v: float, capacitance: float) -> float:
    """Energy in J that takes the capacitors from one voltage up to another; 0 if it is lower."""
    start, end = not_negative([start_v, end_v], "bus voltage", "V")
    farad = float(positive(capacitance, "bus capacitance", "F"))
    return max(0.5 * farad * float(end**2 - start**2), 0.0)


@dataclass(frozen=True)
class ResistorWindow:
    """Which braking resistor will do.

    Parameters
    ----------
    least : float
        ohm: below it the switch carries more than its rating at the clamp voltage.
    most : float
        ohm: above it the resistor cannot take the peak at the clamp voltage, and
        the bus rises further; infinite where nothing comes back.
    """

    least: float
    most: float

    @property
    def empty(self) -> bool:
        """True where no resistor will do."""
        return self.least > self.most

    def holds(self, resistor: float) -> bool:
        """Say whether a resistor in ohm will do."""
        return self.least <= resistor <= self.most

    def words(self) -> str:
        """Say the window in plain words."""
        if self.empty:
            return (
                f"No resistor will do: the switch wants {self.least:.2f} ohm or more, the peak "
                f"{self.most:.2f} ohm or less. What would help: a switch for "
                "more current, a longer ramp, less speed."
            )
        if math.isinf(self.most):
            return f"Nothing comes back, so any resistor of {self.least:.2f} ohm or more will do."
        return f"A resistor from {self.least:.2f} to {self.most:.2f} ohm will do."


def resistor_window(clamp_v: float, switch_a: float, peak_power: float) -> ResistorWindow:
    """Least and most resistance of a braking resistor.

    Parameters
    ----------
    clamp_v : float
        Voltage at which it is switched in, V, above 0.
    switch_a : float
        What its switch may carry, A, above 0.
    peak_power : float
        W, 0 or more, see `stop_braking`.

    Returns
    -------
    ResistorWindow
        clamp/switch and clamp^2/peak in ohm.

    Raises
    ------
    ValueError
        For NaN, infinity or a value out of range.
    """
    volts = float(positive(clamp_v, "clamp voltage", "V"))
    peak = float(not_negative(peak_power, "peak power", "W"))
    # Less than a microwatt is nothing, and dividing by it could overflow.
    most = volts**2 / peak if peak > 1e-6 else math.inf
    return ResistorWindow(volts / float(positive(switch_a, "switch rating", "A")), most)


@dataclass(frozen=True)
class Resistor:
    """A braking resistor and the voltage in V from which it is switched in."""

    ohm: float
    clamp_v: float

    def __post_init__(self) -> None:
        """Check both numbers."""
        positive(self.ohm, "braking resistor", "ohm")
        positive(self.clamp_v, "clamp voltage", "V")


def bus_trace(
    time: ArrayLike,
    power: ArrayLike,
    *,
    start_v: float,
    capacitance: float,
    resistor: Resistor | None = None,
) -> FloatArray:
    """Bus voltage over time with no battery to take anything.

    Parameters
    ----------
    time : array_like, shape (n,)
        Seconds, ascending.
    power : array_like, shape (n,)
        W into the bus, straight between samples; below 0 (the motors push)
        counts as 0, since what feeds them then does not lower the bus here.
    start_v : float
        V at the first sample.
    capacitance : float
        F, above 0.
    resistor : Resistor, optional
        Switched in at its clamp voltage and out below it.

    Returns
    -------
    ndarray of float64, shape (n,)
        V.  Without a resistor exact; with one exact in each step but for the
        moment within a step at which it is switched.

    Notes
    -----
    With u = V^2: du/dt = (2/C)(P - u/R), R only while switched in.
    """
    seconds, watts = broadcast(
        time=np.atleast_1d(finite(time, "time")), power=np.atleast_1d(finite(power, "power"))
    )
    steps = not_negative(np.diff(seconds), "time step", "s")
    farad = float(positive(capacitance, "bus capacitance", "F"))
    taken = np.maximum(watts, 0.0)
    start = float(not_negative(start_v, "bus voltage", "V")) ** 2
    if resistor is None:
        energy = np.concatenate([[0.0], np.cumsum(steps * (taken[1:] + taken[:-1]) / 2.0)])
        return np.asarray(np.sqrt(start + 2.0 * energy / farad))
    return _clamped(start, taken, steps, farad, resistor)


def _clamped(
    start: float, taken: FloatArray, steps: FloatArray, farad: float, resistor: Resistor
) -> FloatArray:
    """Step u = V^2 exactly for power that is straight over each step."""
    clamp, tau = resistor.clamp_v**2, resistor.ohm * farad / 2.0
    squares = [start]
    rows = zip(taken[:-1].tolist(), taken[1:].tolist(), steps.tolist(), strict=True)
    for begin, end, dt in rows:
        now = squares[-1]
        free = now + dt * (begin + end) / farad
        if free < clamp or dt == 0.0:
            squares.append(free)
            continue
        # Above the clamp the resistor pulls towards P R with time constant R C/2;
        # at the clamp it chops, and the bus stays there.
        keep = math.exp(-dt / tau)
        rate = resistor.ohm * (end - begin) / dt
        particular = resistor.ohm * end - rate * tau
        homogeneous = max(now, clamp) - (resistor.ohm * begin - rate * tau)
        # Where it is switched in within the step it never does worse than not at all.
        squares.append(min(max(particular + homogeneous * keep, clamp), free))
    return np.asarray(np.sqrt(squares))
