"""The ramp window: the shortest ramps that neither tip nor slide, the longest that still stops."""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np

from curvelib.chain import Chain
from curvelib.machine.checks import not_negative, positive, within
from curvelib.machine.ramping import Path, RampPath
from curvelib.machine.search import CASES, Search
from curvelib.machine.stance import Stance
from curvelib.machine.verdict import CaseLimit, Kind, RampWindow
from curvelib.params import params_of
from curvelib.slew import SlewLimit
from curvelib.tune import Driven

Facing = Literal["both", "downhill", "uphill"]
FACINGS: tuple[str, ...] = get_args(Facing)

LONGEST_RAMP = params_of(SlewLimit)["to_stop"].high


def ramp_window(
    *,
    top_speed: float,
    cg_to_front: float,
    cg_to_rear: float,
    cg_height: float,
    friction: float,
    slope: float = 0.0,
    facing: Facing = "both",
    driven: Driven = "all",
    lag: float = 0.0,
    delay: float = 0.0,
    room: float | None = None,
    margin: float = 0.25,
    path: Path | Chain | None = None,
) -> RampWindow:
    """Ramps that neither tip nor slide, whatever the sticks do, and still stop in the room.

    Parameters
    ----------
    top_speed : float
        Speed of a side at full command in m/s, above 0.
    cg_to_front, cg_to_rear, cg_height : float
        Place of the centre of mass in m.
    friction : float
        Coefficient of friction, 0 to 5: from a table, or better from a drag test.
    slope : float
        Steepness of the ground in rad, 0 or more.
    facing : {"both", "downhill", "uphill"}
        Which way the nose points on the slope; "both" takes the worse of the two.
    driven : {"all", "rear", "front"}
        The machine's own driven and braked axle.
    lag : float
        Time constant of the drives in s.
    delay : float
        Seconds until the command begins to fall; for a lost signal, its time-out.
    room : float, optional
        Distance in m within which it must stand, let go at full speed; the
        margin does not touch it.  None: not asked.
    margin : float
        Share of grip and of footing (the distances from the centre of mass to
        the axles) that is kept back, 0 to below 1.  A quarter is a choice, not
        a standard.
    path : RampPath, Chain or callable, optional
        How stick changes become commands: a whole `Chain` (its ramps are
        replaced by those tried), or anything that fits
        `curvelib.machine.ramping.Path`.  Left out: tank mixing, the limit on
        the motors.

    Returns
    -------
    RampWindow
        Numbers, what binds, and `RampWindow.words`.

    Raises
    ------
    ValueError
        For NaN, infinity, a value out of range or an unknown name.

    Notes
    -----
    Every sudden change between rest and full of either stick, one way and the
    other, is run through the path and the drive lag, and the body's forward
    acceleration compared with the limits of the four cases (stop and start,
    forward and in reverse) on the slope.  All changes count for both ramps: with
    the limit on the sticks and overflow "scale", letting go of the steer at full
    throttle lets a motor *grow*, and the body start forward, at the stop rate.
    That asks no more of the ramp to stop than stopping in reverse does, which
    pushes the body the same way.  The path is odd, so each change is met both
    ways round, and the tightest limit of all holds for every one.

    The ramp to stop is found first, with the longest ramp to full; then the
    ramp to full, with that ramp to stop.  Acceleration falls as either ramp
    grows, so bisection finds both, and every longer pair is as safe.

    The room is that of `curvelib.machine.stopping.stopping_distance`, let go
    straight ahead at full stick, and no less than the way rolled when let go in
    a turn.

    Rigid body, no tyre or spring, steady slope.  Lateral acceleration and the
    grip that turning takes are left out: no ramp changes them in a steady turn
    (see `curvelib.machine.response.moments`).
    """
    top = float(positive(top_speed, "top speed", "m/s"))
    slow = float(not_negative(lag, "drive lag", "s"))
    kept = float(within(margin, "margin", 0.0, 0.99))
    stance = Stance(cg_to_front, cg_to_rear, cg_height, friction, None, driven, _steep(slope))
    limits = _all_limits(stance, facing, kept)
    search = Search(_as_path(path), top, slow, limits[0], LONGEST_RAMP)
    stop, stop_binds = search.least_to_stop()
    full, full_binds = search.least_to_full(LONGEST_RAMP if stop is None else stop)
    space = None if room is None else float(not_negative(room, "room", "m"))
    most, rolls = search.longest_to_stop(
        float("inf") if space is None else space, float(not_negative(delay, "delay", "s"))
    )
    return RampWindow(
        least_to_stop=stop,
        least_to_full=full,
        most_to_stop=most if most >= 0.0 else None,
        stop_binds=stop_binds,
        full_binds=full_binds,
        limits=limits,
        margin=kept,
        speed=top * search.straight_share(),
        room=space,
        rolls=rolls,
        longest_ramp=LONGEST_RAMP,
        one_axle=driven != "all",
    )


def _steep(slope: float) -> float:
    return float(within(slope, "slope", 0.0, np.pi / 2.0, "rad"))


def _as_path(path: Path | Chain | None) -> Path:
    if path is None:
        return RampPath()
    return RampPath.from_chain(path) if isinstance(path, Chain) else path


def _all_limits(stance: Stance, facing: str, margin: float) -> tuple[CaseLimit, ...]:
    """Every limit on the slope with the margin taken off, the tightest first."""
    if facing not in FACINGS:
        raise ValueError(f"facing = {facing!r} is not known; give 'both', 'downhill' or 'uphill'.")
    if stance.slope == 0.0:
        ways = [("on the level", stance)]
    else:
        ways = [("nose downhill", stance), ("nose uphill", stance.turned())]
        ways = ways if facing == "both" else ways[:1] if facing == "downhill" else ways[1:]
    found = [limit for name, way in ways for limit in _limits(name, way, margin)]
    return tuple(sorted(found, key=lambda limit: limit.limit))


def _limits(facing: str, stance: Stance, margin: float) -> list[CaseLimit]:
    kinds: tuple[tuple[Kind, tuple[float, ...]], ...] = (
        ("slide", stance.with_less_grip(margin).grip),
        ("tip", stance.with_less_footing(margin).tip),
    )
    return [
        CaseLimit(case, facing, kind, float(value))
        for kind, values in kinds
        for case, value in zip(CASES, values, strict=True)
    ]
