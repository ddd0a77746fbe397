"""When a machine tips, slides or rolls too far: the door to all limits.

Each limit stands in a module of its own; this one gathers them, so that
`curvelib.machine.limits` is the one place to import from.
"""

from curvelib.machine.grip import (
    GROUNDS,
    Ground,
    friction_from_drag,
    grip_deceleration,
    grip_limits,
    least_radius_sideways,
    slide_sideways,
)
from curvelib.machine.stance import Stance
from curvelib.machine.stopping import longest_to_stop, stopping_distance
from curvelib.machine.tipping import (
    GRAVITY,
    FourCases,
    static_stability_factor,
    tilt_angle,
    tip_deceleration,
    tip_limits,
    tip_sideways,
)
from curvelib.machine.verdict import Binding, CaseLimit, RampWindow
from curvelib.machine.window import ramp_window

__all__ = [
    "GRAVITY",
    "GROUNDS",
    "Binding",
    "CaseLimit",
    "FourCases",
    "Ground",
    "RampWindow",
    "Stance",
    "friction_from_drag",
    "grip_deceleration",
    "grip_limits",
    "least_radius_sideways",
    "longest_to_stop",
    "ramp_window",
    "slide_sideways",
    "static_stability_factor",
    "stopping_distance",
    "tilt_angle",
    "tip_deceleration",
    "tip_limits",
    "tip_sideways",
]
