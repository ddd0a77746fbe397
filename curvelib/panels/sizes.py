"""The machine's measures as pictures and limits need them, assumed aloud where unknown."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from curvelib.machine.outline import SweptCircle, swept_circle
from curvelib.params import FloatArray, params_of
from curvelib.tune import Machine

# Stand-ins, the same as the start workbook draws with; no skidding is the ideal.
TRACK, WHEELBASE, CG_HEIGHT, TURNING_SHARE = 0.8, 0.9, 0.4, 1.0
_WIDTH_OVER_TRACK = 1.15


@dataclass(frozen=True)
class Sizes:
    """Measures of one machine, all known or assumed, in m.

    Parameters
    ----------
    track, wheelbase, width, front_overhang, rear_overhang, cg_height : float
        As in the file.
    cg_to_front, cg_to_rear : float
        From the centre of mass to the axles; their sum need not be the wheelbase.
    centre_offset : float
        How far the turning centre lies ahead of the middle of the wheelbase.
    assumed : tuple of str
        Labels of what the file leaves out.
    """

    track: float
    wheelbase: float
    width: float
    front_overhang: float
    rear_overhang: float
    cg_height: float
    cg_to_front: float
    cg_to_rear: float
    centre_offset: float
    assumed: tuple[str, ...]

    @property
    def ahead(self) -> float:
        """Reach of the body ahead of the turning centre."""
        return self.wheelbase / 2.0 - self.centre_offset + self.front_overhang

    @property
    def behind(self) -> float:
        """Reach of the body behind the turning centre."""
        return self.wheelbase / 2.0 + self.centre_offset + self.rear_overhang

    def swept(self, radius: float) -> SweptCircle:
        """Circles between which the machine turns at a radius in m, infinite straight on."""
        return swept_circle(
            radius,
            width=self.width,
            wheelbase=self.wheelbase,
            front_overhang=self.front_overhang,
            rear_overhang=self.rear_overhang,
            centre_offset=self.centre_offset,
        )

    def outline(self, pose: FloatArray) -> FloatArray:
        """Closed outline of the body at a pose (x, y, heading), shape (5, 2), x and y in m."""
        half = self.width / 2.0
        along = np.array([-self.behind, self.ahead, self.ahead, -self.behind, -self.behind])
        across = np.array([-half, -half, half, half, -half])
        cos, sin = np.cos(pose[2]), np.sin(pose[2])
        x = pose[0] + cos * along - sin * across
        y = pose[1] + sin * along + cos * across
        return np.column_stack([x, y])


def sizes_of(machine: Machine) -> Sizes:
    """Measures of a machine, stand-ins where the file leaves one out."""
    track = machine.track_m or TRACK
    front, rear = machine.cg_to_front_m, machine.cg_to_rear_m
    base = machine.wheelbase_m or ((front or 0.0) + (rear or 0.0) if front and rear else WHEELBASE)
    # A centre of mass beyond an axle would be a typing error; then the middle stands in.
    if front is None:
        front = base - rear if rear is not None and rear < base else base / 2.0
    if rear is None:
        rear = base - front if front < base else base / 2.0
    known = {
        "track_m": machine.track_m,
        "wheelbase_m": machine.wheelbase_m,
        "width_m": machine.width_m,
        "front_overhang_m": machine.front_overhang_m,
        "rear_overhang_m": machine.rear_overhang_m,
        "cg_height_m": machine.cg_height_m,
        "cg_to_front_m": machine.cg_to_front_m,
        "cg_to_rear_m": machine.cg_to_rear_m,
    }
    return Sizes(
        track=track,
        wheelbase=base,
        width=machine.width_m or _WIDTH_OVER_TRACK * track,
        front_overhang=machine.front_overhang_m or 0.0,
        rear_overhang=machine.rear_overhang_m or 0.0,
        cg_height=machine.cg_height_m or CG_HEIGHT,
        cg_to_front=front,
        cg_to_rear=rear,
        centre_offset=centre_offset(machine, base),
        assumed=tuple(name for name, value in known.items() if value is None),
    )


def centre_offset(machine: Machine, wheelbase: float) -> float:
    """How far the turning centre lies ahead of the middle: on the driven axle beside casters."""
    if machine.contact != "casters" or machine.driven == "all":
        return 0.0
    return wheelbase / 2.0 if machine.driven == "front" else -wheelbase / 2.0


def assumed_words(names: tuple[str, ...]) -> str:
    """Say which measures are assumed; empty where none is."""
    if not names:
        return ""
    labels = params_of(Machine)
    told = ", ".join(labels[name].label.lower() for name in names)
    return f"Not in the file, so assumed: {told}. Type them in the start workbook."


def without_assumptions_of(sizes: Sizes, *names: str) -> Sizes:
    """The same measures, not telling of those that a slider tells of."""
    return replace(sizes, assumed=tuple(name for name in sizes.assumed if name not in names))
