"""What the turn panel shows, worked out by the library from the machine file and the scene."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from curvelib.chain import Chain
from curvelib.machine.limits import least_radius_sideways, slide_sideways, tip_sideways
from curvelib.machine.motion import BodyMotion, body_motion, drive, least_radius
from curvelib.machine.scenes import TurnScene
from curvelib.machine.scrub import Scrub, scrub_per_turn
from curvelib.machine.spin import Spin, spin
from curvelib.mixing import OVERFLOWS, Mix, TankMix
from curvelib.panels.sizes import Sizes, sizes_of
from curvelib.panels.turn_view import Plan
from curvelib.tune import Machine, Tune

# Steps along a path; each is an exact arc.
_STEPS = 60


@dataclass(frozen=True)
class Going:
    """Where held sticks lead.

    Parameters
    ----------
    left, right : float
        Motor commands, -1..1.
    motion : BodyMotion
        Of the body, skidding included.
    """

    left: float
    right: float
    motion: BodyMotion


@dataclass(frozen=True)
class Tightest:
    """Least radius at a speed in m, by what limits it.

    Parameters
    ----------
    speed : float
        m/s.
    drives : float or None
        With the outer side at full speed; None above the top speed.
    slide : float
        Before it slides sideways on the level.
    tip : float or None
        Before it tips sideways on the level; None where the height of the
        centre of mass is not known.
    """

    speed: float
    drives: float | None
    slide: float
    tip: float | None

    @property
    def radius(self) -> float | None:
        """The largest of them; None above the top speed."""
        if self.drives is None:
            return None
        return max(self.drives, self.slide, self.tip or 0.0)


@dataclass(frozen=True, eq=False)
class TurnFacts:
    """Everything the panel says.

    Parameters
    ----------
    tune : Tune
        With top speed, track, turning share and grip filled in.
    chain : Chain
        Its path.
    sizes : Sizes
        Its measures.
    scene : TurnScene
        Sticks and question.
    going, plan : Going, Plan
        As the machine is.
    rules : mapping of str to (Going, Plan)
        With each overflow rule; empty in independent mixing.
    spot : Going
        Turning right on the spot with full stick.
    spin : Spin or None
        None where the mass is not known.
    scrub : Scrub
        For a full turn.
    tightest : Tightest
        At the speed named.
    """

    tune: Tune
    chain: Chain
    sizes: Sizes
    scene: TurnScene
    going: Going
    plan: Plan
    rules: Mapping[str, tuple[Going, Plan]]
    spot: Going
    spin: Spin | None
    scrub: Scrub
    tightest: Tightest

    @property
    def tank(self) -> bool:
        """True where one stick drives and one steers."""
        return isinstance(self.chain.mix, TankMix)

    def at(self, first: float, second: float) -> Going:
        """Where other stick positions lead."""
        return _going(self.chain, self.tune.machine, first, second)


def turn_facts(tune: Tune, scene: TurnScene) -> TurnFacts:
    """Work everything out.

    Parameters
    ----------
    tune : Tune
        With `top_speed_m_s`, `track_m`, `turning_share` and `friction` of the
        machine filled in; what else is missing is not known.
    scene : TurnScene
        Sticks and question.
    """
    machine, chain = tune.machine, Chain.from_tune(tune)
    sizes = sizes_of(machine)
    going = _going(chain, machine, scene.throttle, scene.steer)
    rules = {}
    for rule in OVERFLOWS if isinstance(chain.mix, TankMix) else ():
        other = replace(chain, mix=_with_rule(chain.mix, rule))
        goes = _going(other, machine, scene.throttle, scene.steer)
        rules[rule] = goes, _plan(goes, machine, sizes, scene)
    full = (0.0, 1.0) if rules else (1.0, -1.0)
    share, contact = machine.turning_share or 1.0, machine.contact
    return TurnFacts(
        tune=tune,
        chain=chain,
        sizes=sizes,
        scene=scene,
        going=going,
        plan=_plan(going, machine, sizes, scene),
        rules=rules,
        spot=_going(chain, machine, *full),
        spin=_spin(tune, sizes),
        scrub=scrub_per_turn(sizes.wheelbase, sizes.track, contact, share),
        tightest=_tightest(machine, sizes, scene.speed_m_s),
    )


def _with_rule(mix: Mix, rule: str) -> Mix:
    assert isinstance(mix, TankMix)  # noqa: S101  callers look first
    return replace(mix, overflow=rule)  # type: ignore[arg-type]  # one of its own words


def _going(chain: Chain, machine: Machine, first: float, second: float) -> Going:
    left, right = chain.steady(first, second)
    top, share = machine.top_speed_m_s or 0.0, machine.turning_share or 1.0
    return Going(left, right, body_motion(top * left, top * right, machine.track_m or 1.0, share))


def _plan(going: Going, machine: Machine, sizes: Sizes, scene: TurnScene) -> Plan:
    top = machine.top_speed_m_s or 0.0
    steps = np.full(_STEPS, scene.ahead_s / _STEPS)
    share = machine.turning_share or 1.0
    poses = drive(top * going.left, top * going.right, steps, sizes.track, share)
    return Plan(poses, going.motion.radius, sizes.swept(going.motion.radius))


def _spin(tune: Tune, sizes: Sizes) -> Spin | None:
    machine = tune.machine
    if machine.mass_kg is None or machine.friction is None:
        return None
    return spin(
        mass=machine.mass_kg,
        friction=machine.friction,
        wheelbase=sizes.wheelbase,
        track=sizes.track,
        contact=machine.contact,
        turning_share=machine.turning_share or 1.0,
        torque_per_amp=machine.torque_per_amp_nm,
        current_limit=tune.supply.current_limit_a,
        wheel_radius=machine.wheel_radius_m,
    )


def _tightest(machine: Machine, sizes: Sizes, speed: float) -> Tightest:
    top, share = machine.top_speed_m_s or 0.0, machine.turning_share or 1.0
    drives = least_radius(speed, top, sizes.track, share) if speed <= top else None
    height = machine.cg_height_m
    tips = None if height is None else tip_sideways(sizes.track, height)
    return Tightest(
        speed,
        drives,
        least_radius_sideways(speed, slide_sideways(machine.friction or 0.0)),
        None if tips is None else least_radius_sideways(speed, tips),
    )
