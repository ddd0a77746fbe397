"""Machines for the tests of the trials: bare ones for the theory, and the three demos."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

from curvelib import Shape, SlewLimit, Tune, load_tune
from curvelib.output import Output
from curvelib.practice.course import Course
from curvelib.practice.operator import Hand, Operator
from curvelib.practice.plan import Outcome, Plan
from curvelib.practice.results import Compared, compare
from curvelib.practice.rig import Rig
from curvelib.practice.trial import Run, run
from curvelib.stick import StickSetup

ROOT = Path(__file__).resolve().parents[2]
MACHINES = ROOT / "workbooks" / "machines"
DEMOS = ("orchard_cart", "snow_carrier", "vineyard_sweeper")
NO_NOISE = Hand(tremor=0.0, growing=0.0)


@cache
def demo_tune(name: str) -> Tune:
    return load_tune(MACHINES / f"{name}.toml")


@cache
def demo_rig(name: str) -> Rig:
    return Rig.from_tune(demo_tune(name))


def bare_rig(shape: Shape | None = None, steps: int = 65535, top: float = 1.5) -> Rig:
    """A machine with nothing but a shape and very fine steps: no ramp, no lag, no skid."""
    tune = Tune(stick=StickSetup(steps=steps), output=Output(kind="signed", full=32767))
    rig = Rig.from_tune(tune)
    chain = replace(rig.chain, slew=SlewLimit(0.0, 0.0), shapes=(shape or Shape(),) * 2)
    return replace(rig, chain=chain, top_speed=top, turning_share=1.0, lag=0.0, assumed=())


def keen(**changes: float) -> Plan:
    """A plan for the theory: no noise, perfect aim, never lets go, no speed limit in the way."""
    operator = Operator(reaction_s=0.0, misjudged_m=0.0, close_enough_m=0.0, approach_m_s=3.0)
    plan = Plan(operator=operator, hand=NO_NOISE, course=Course(distance_m=0.5))
    for name, value in changes.items():
        plan = plan.with_value(name, value)
    return plan


@cache
def _outcome(rig: Rig, plan: Plan, trials: int) -> Outcome:
    return run(rig, plan, trials)


def compared(
    name: str, trials: int = 1000, place: str = "line", blend: float | None = None, **changes: float
) -> dict[str, Compared]:
    """Trials of a demo machine's own shape (or a blend) against the straight stick; kept."""
    rig = demo_rig(name) if blend is None else demo_rig(name).softened(blend)
    plan = Plan(course=Course(place=place))
    for changed, value in changes.items():
        plan = plan.with_value(changed, value)
    return compare(_outcome(rig, plan, trials), _outcome(rig.straightened(), plan, trials))


def traced(rig: Rig, plan: Plan, seed: int = 1) -> Run:
    """One trial, kept over time."""
    going = Run(rig, plan, 1, seed, traced=1)
    for _ in going:
        pass
    return going
