"""Noise in the loop, against closed forms: additive shrinks by the first slope, growing not."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.linalg
from rigs import bare_rig, keen

from curvelib import CubicBlend, Deadband, Expo, Linear, Shape, TwoZone
from curvelib.practice.plan import Plan
from curvelib.practice.stick_table import straightened
from curvelib.practice.trial import run

TRIALS = 2000  # the spread of a spread from so many is known to 1.6 %
SHAPES = {
    "straight": Shape([Linear()]),
    "blend 0.6": Shape([CubicBlend(0.6)]),
    "expo 2": Shape([Expo(2.0)]),
    "two zone": Shape([TwoZone(0.5, 0.15)]),
}


def spread(shape: Shape, plan: Plan, top: float = 1.5) -> float:
    """Standard deviation of where the machine stands at the end, m."""
    return float(run(bare_rig(shape, top=top), plan, TRIALS).along_m.std())


def stationary_spread(plan: Plan, slope: float, top: float) -> float:
    """The same in closed form: the discrete Lyapunov equation of loop, delay and shaking.

    e[k+1] = e[k] - dt (wc e[k-d] + top slope tremor n[k]), n[k+1] = a n[k] + fresh noise.
    """
    late, dt = plan.frames_late, plan.frame_s
    kept = math.exp(-dt / plan.hand.shake_s)
    size = late + 2  # e now and d frames back, then n
    step = np.zeros((size, size))
    step[0, 0] = 1.0
    step[0, late] -= dt * plan.operator.crossover
    step[0, -1] = -dt * top * slope * plan.hand.tremor
    step[1 : late + 1, :late] = np.eye(late)
    step[-1, -1] = kept
    fresh = np.zeros((size, size))
    fresh[-1, -1] = 1.0 - kept**2
    return float(math.sqrt(scipy.linalg.solve_discrete_lyapunov(step, fresh)[0, 0]))


@pytest.mark.parametrize("reaction", [0.0, 0.2, 0.5])
@pytest.mark.parametrize("name", SHAPES)
def test_additive_noise_shrinks_by_the_first_slope(name: str, reaction: float) -> None:
    """Small signals: the spread is the first slope times that of a straight stick, delay or not."""
    shape = SHAPES[name]
    plan = keen(reaction_s=reaction, tremor=0.004, crossover=2.0, duration_s=14.0)
    found = spread(shape, plan)
    assert found == pytest.approx(stationary_spread(plan, shape.first_slope, 1.5), rel=0.06)
    straight = spread(SHAPES["straight"], plan)
    assert found / straight == pytest.approx(shape.first_slope, rel=0.03)


def test_without_delay_the_closed_form_is_the_textbooks() -> None:
    """Integrator and first-order noise: variance s^2 T / (wc (1 + wc T)), frames made short."""
    plan = keen(tremor=0.01, shake_s=0.2, crossover=2.0, frame_s=0.001)
    textbook = 1.5 * 0.01 * math.sqrt(0.2 / (2.0 * (1.0 + 2.0 * 0.2)))
    assert stationary_spread(plan, 1.0, 1.5) == pytest.approx(textbook, rel=2e-3)


def growing_spread(shape: Shape, top: float) -> float:
    """Relative spread of the way still to go, one second into a trial with growing noise alone."""
    plan = keen(growing=0.2, crossover=2.0, duration_s=1.0)
    to_go = 0.5 - (run(bare_rig(shape, top=top), plan, TRIALS).along_m + 0.5)
    return float(to_go.std() / to_go.mean())


def test_growing_noise_does_not_shrink_near_the_centre() -> None:
    """A fast machine moves slowly for its stick: there a softer centre changes nothing at all."""
    straight, soft = (growing_spread(SHAPES[name], 15.0) for name in ("straight", "blend 0.6"))
    assert straight > 0.05
    assert soft / straight == pytest.approx(1.0, abs=0.05)


def test_growing_noise_gets_worse_further_out() -> None:
    """The same way with a slower machine takes the stick further out: the softer one is worse."""
    straight, soft = (growing_spread(SHAPES[name], 2.0) for name in ("straight", "blend 0.6"))
    assert soft / straight > 1.2


def test_growing_noise_alone_never_keeps_the_machine_from_parking() -> None:
    """It dies away with the command; additive noise does not."""
    growing = keen(growing=0.3, crossover=2.0)
    tremor = keen(tremor=0.02, crossover=2.0)
    assert spread(SHAPES["straight"], growing) < 1e-4
    assert spread(SHAPES["straight"], tremor) > 2e-3


def test_across_a_dead_zone_part_of_the_growing_noise_is_additive() -> None:
    """The push across the zone shakes too, and that part the softer centre does make smaller."""
    soft = Shape([Deadband(0.1), CubicBlend(0.6)])
    assert growing_spread(soft, 15.0) < 0.75 * growing_spread(straightened(soft), 15.0)


def test_stick_steps_near_the_centre_are_divided_by_the_first_slope() -> None:
    """What a coarse stick leaves to go is the first slope times as much."""
    left = {}
    for name in ("straight", "blend 0.6"):
        plan = keen(misjudged_m=0.05, crossover=2.0, duration_s=15.0)
        ended = run(bare_rig(SHAPES[name], steps=33), plan, 500)
        # Against where each operator aimed, which is the same for both shapes.
        left[name] = ended.along_m
    aims = run(bare_rig(), keen(misjudged_m=0.05, crossover=2.0), 500).along_m
    worst = {name: float(np.abs(along - aims).max()) for name, along in left.items()}
    assert worst["straight"] > 0.015
    assert worst["blend 0.6"] / worst["straight"] == pytest.approx(0.4, abs=0.06)
