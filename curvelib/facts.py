"""Facts of a machine and of its supply, as the machine file holds them.

A fact that is None is not known; whatever needs it says so instead of guessing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from curvelib.params import Checked, Param

Contact = Literal["wheels", "tracks", "casters"]
Driven = Literal["all", "rear", "front"]


def _length(label: str, help_: str, high: float = 5.0, low: float = 0.0) -> Param:
    return Param(low, high, 0.01, label, help_, "m", inside=low == 0.0)


@dataclass(frozen=True)
class Machine(Checked):
    """Facts of the machine; SI units, None where not known."""

    track_m: Annotated[
        float | None, _length("Track", "Distance between the middles of the left and right wheels.")
    ] = None
    wheelbase_m: Annotated[
        float | None, _length("Wheelbase", "Distance between front and rear axle.")
    ] = None
    wheel_radius_m: Annotated[
        float | None, _length("Wheel radius", "Axle to ground, loaded.", 2.0)
    ] = None
    top_speed_m_s: Annotated[
        float | None,
        Param(
            0.0,
            15.0,
            0.05,
            "Top speed",
            "Speed over ground at full command; time it over a measured length.",
            "m/s",
            inside=True,
        ),
    ] = None
    slow_speed_m_s: Annotated[
        float | None,
        Param(
            0.0,
            5.0,
            0.01,
            "Slow band",
            "Parking and working speeds up to this want fine control.",
            "m/s",
            inside=True,
        ),
    ] = None
    mass_kg: Annotated[
        float | None,
        Param(
            0.0, 5000.0, 1.0, "Mass", "Ready to work, fuel and load included.", "kg", inside=True
        ),
    ] = None
    cg_height_m: Annotated[
        float | None, _length("Height of centre of mass", "Ground to centre of mass.", 3.0)
    ] = None
    cg_to_front_m: Annotated[
        float | None, _length("Centre of mass to front axle", "Along the machine.")
    ] = None
    cg_to_rear_m: Annotated[
        float | None, _length("Centre of mass to rear axle", "Along the machine.")
    ] = None
    width_m: Annotated[float | None, _length("Width", "Overall width.")] = None
    front_overhang_m: Annotated[
        float | None,
        Param(0.0, 5.0, 0.01, "Front overhang", "How far the front reaches past its axle.", "m"),
    ] = None
    rear_overhang_m: Annotated[
        float | None,
        Param(0.0, 5.0, 0.01, "Rear overhang", "How far the rear reaches past its axle.", "m"),
    ] = None
    contact: Contact = "wheels"
    driven: Driven = "all"
    turning_share: Annotated[
        float | None,
        Param(
            0.05,
            1.0,
            0.01,
            "Turning share",
            "Real turning over ideal turning; count turns on the spot to measure it.",
        ),
    ] = None
    friction: Annotated[
        float | None,
        Param(
            0.0,
            1.5,
            0.01,
            "Grip",
            "Friction of wheels on ground: pull it, wheels locked; pull over weight.",
            inside=True,
        ),
    ] = None
    lag_s: Annotated[
        float | None,
        Param(0.0, 3.0, 0.01, "Drive lag", "Time for 63 % of a sudden change of speed.", "s"),
    ] = None
    torque_per_amp_nm: Annotated[
        float | None,
        Param(
            0.0,
            100.0,
            0.01,
            "Torque per ampere",
            "At the wheel, gearing included.",
            "N m/A",
            inside=True,
        ),
    ] = None


@dataclass(frozen=True)
class Supply(Checked):
    """Facts of the battery, the drive's supply and the braking resistor; None where not known."""

    cells: Annotated[
        int | None, Param(1, 200, 1, "Cells", "Battery cells in series; 12 V lead-acid has 6.")
    ] = None
    rest_v: Annotated[
        float | None,
        Param(0.0, 500.0, 0.1, "Resting voltage", "Battery at rest.", "V", inside=True),
    ] = None
    internal_resistance_ohm: Annotated[
        float | None,
        Param(
            0.0, 10.0, 0.001, "Internal resistance", "Battery and cables: sag over current.", "ohm"
        ),
    ] = None
    cut_off_v_per_cell: Annotated[
        float | None,
        Param(
            0.0,
            5.0,
            0.01,
            "Least volts a cell",
            "Below this the drive is to stop.",
            "V",
            inside=True,
        ),
    ] = None
    restart_delay_s: Annotated[
        float | None,
        Param(0.0, 10.0, 0.05, "Restart delay", "Drive's time from power to first command.", "s"),
    ] = None
    alternator: bool = False
    dump_resistor_ohm: Annotated[
        float | None,
        Param(
            0.0,
            1000.0,
            0.1,
            "Braking resistor",
            "Takes braking energy at the clamp voltage.",
            "ohm",
            inside=True,
        ),
    ] = None
    clamp_v: Annotated[
        float | None,
        Param(
            0.0, 500.0, 0.1, "Clamp voltage", "Where the resistor switches in.", "V", inside=True
        ),
    ] = None
    bus_capacitance_f: Annotated[
        float | None,
        Param(
            0.0,
            10.0,
            0.0001,
            "Bus capacitance",
            "Capacitors on the drive's supply.",
            "F",
            inside=True,
        ),
    ] = None
    current_limit_a: Annotated[
        float | None,
        Param(0.0, 2000.0, 1.0, "Current limit", "Of each motor.", "A", inside=True),
    ] = None
