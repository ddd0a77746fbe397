"""The operator's loop without noise: it parks exactly, and it rings where theory says."""

from __future__ import annotations

import math
from dataclasses import replace

import control
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rigs import DEMOS, NO_NOISE, bare_rig, demo_rig, keen, traced

from curvelib import CubicBlend, Shape
from curvelib.practice.course import Course, Seen, lets_go
from curvelib.practice.operator import Operator
from curvelib.practice.plan import Plan
from curvelib.practice.trial import run

SOFT = Shape([CubicBlend(0.6)])
PERFECT = Operator(reaction_s=0.0, misjudged_m=0.0, close_enough_m=0.0)


def ringing(plan: Plan, shape: Shape | None = None) -> float:
    """The swings in the last fifth of a trial over those in the second.

    Well below 1 where they die; where they do not they grow until the machine's
    top speed holds them, and then it is 1.
    """
    (trace,) = traced(bare_rig(shape), plan).traces
    error = np.abs(trace.along_m - plan.course.distance_m)
    fifth = len(error) // 5
    return float(error[-fifth:].max() / error[fifth : 2 * fifth].max())


# --- it parks ------------------------------------------------------------------------------


@pytest.mark.parametrize("shape", [Shape(), SOFT], ids=["straight", "soft"])
@pytest.mark.parametrize("place", ["line", "bay"])
def test_without_noise_and_delay_it_parks_exactly(shape: Shape, place: str) -> None:
    """To within what the last of 32767 output steps still moves."""
    plan = Plan(PERFECT, NO_NOISE, Course(place, distance_m=6.0), duration_s=60.0)
    ended = run(bare_rig(shape), plan, 1)
    assert abs(ended.along_m[0]) < 1e-4
    if place == "bay":
        # The sideways error is steered out over the way: 0.3 m e^(-6/0.8) at most.
        assert abs(ended.left_m[0]) < 0.3 * math.exp(-6.0 / 0.8) + 1e-4
        assert abs(ended.heading_rad[0]) < 1e-3


@pytest.mark.parametrize("name", DEMOS)
def test_without_noise_and_delay_a_real_machine_parks_to_within_its_steps(name: str) -> None:
    """What is left wants a speed below the slowest that stick and output steps can ask for."""
    rig = demo_rig(name)
    plan = Plan(PERFECT, NO_NOISE, duration_s=60.0)
    ended = run(rig, plan, 1)
    chain = rig.chain
    shape, stick = chain.shapes[0], chain.sticks[0]
    stick_step = 2.0 / (stick.steps - 1) * (stick.high - stick.low) / 2.0
    share = stick_step / min(stick.centre - stick.low, stick.high - stick.centre)
    least = shape(min(1.0, shape.starts_at + share)) + 1.5 / min(chain.output.spans)
    assert abs(ended.along_m[0]) < least * rig.top_speed / plan.operator.crossover


def test_close_enough_lets_go_and_stands_there() -> None:
    near = 0.05
    plan = Plan(Operator(misjudged_m=0.0, close_enough_m=near), NO_NOISE)
    ended = run(bare_rig(), plan, 1)
    assert ended.parked.all()
    assert 0.0 < ended.time_s[0] < plan.duration_s
    assert abs(ended.along_m[0]) < near


def test_he_lets_go_where_he_sees_it_near_and_all_but_standing() -> None:
    """Both within the tolerance: the distance in m, the speed in m/s; 0 is never."""
    to_go = np.array([0.049, -0.049, 0.051, 0.0, 0.0])
    speed = np.array([0.0, -0.049, 0.0, 0.051, 0.0])
    seen = Seen(to_go, np.zeros(5), np.zeros(5), speed)
    near = lets_go(Operator(close_enough_m=0.05), seen)
    assert near.tolist() == [True, True, False, False, True]
    assert not lets_go(Operator(close_enough_m=0.0), seen).any()


def test_never_letting_go_lasts_the_whole_time() -> None:
    ended = run(bare_rig(), keen(duration_s=5.0), 3)
    assert not ended.parked.any()
    assert (ended.time_s == 5.0).all()


# --- it rings where theory says --------------------------------------------------------------


def test_the_phase_margin_is_that_of_the_crossover_model() -> None:
    """90 deg - wc tau: wc = 3, tau = 0.2 gives 55.62 deg (McRuer & Jex 1967; formula computed)."""
    loop = control.tf([3.0], [1.0, 0.0])
    _, margin, _, crossover = control.margin(loop)
    assert crossover == pytest.approx(3.0)
    late = margin - math.degrees(crossover * 0.2)
    assert late == pytest.approx(55.62, abs=0.005)


@pytest.mark.parametrize("crossover", [1.7, 2.5, 4.0])
@pytest.mark.parametrize("shape", [Shape(), SOFT], ids=["straight", "soft"])
def test_it_rings_where_the_margin_is_used_up(crossover: float, shape: Shape) -> None:
    """At the delay where python-control's phase margin is gone, whatever the centre."""
    _, margin, _, at = control.margin(control.tf([crossover], [1.0, 0.0]))
    # The half frame for which a command is held counts as delay.
    frame = 0.01
    delay = math.radians(margin) / at - 0.5 * frame
    below, above = (
        keen(frame_s=frame, crossover=crossover, reaction_s=share * delay) for share in (0.95, 1.05)
    )
    assert ringing(below, shape) < 0.8
    assert ringing(above, shape) > 0.99


@settings(max_examples=6)
@given(st.integers(14, 25), st.sampled_from([0.0, 0.6]))
def test_frame_by_frame_the_edge_of_ringing_is_exact(frames: int, blend: float) -> None:
    """e[k+1] = e[k] - wc dt e[k-d] rings for ever at wc dt = 2 sin(pi / (2 (2 d + 1))).

    Derived by putting a root of z^(d+1) - z^d + wc dt on the unit circle; checked
    here by the roots themselves.
    """
    gain = 2.0 * math.sin(math.pi / (2.0 * (2 * frames + 1)))
    polynomial = np.zeros(frames + 2)
    polynomial[[0, 1]] = 1.0, -1.0
    polynomial[-1] += gain
    assert np.abs(np.roots(polynomial)).max() == pytest.approx(1.0, abs=1e-9)
    frame = 0.02
    for share, rings in ((0.95, False), (1.05, True)):
        crossover = share * gain / frame
        plan = keen(crossover=crossover, reaction_s=frames * frame, frame_s=frame)
        swings = ringing(plan, Shape([CubicBlend(blend)]))
        assert (swings > 0.99) if rings else (swings < 0.8)


def test_drive_lag_makes_it_ring_sooner() -> None:
    """At 70 % of its delay margin the bare machine calms down; a lagging one swings for ever."""
    plan = keen(crossover=2.5, reaction_s=0.44)
    bare = bare_rig()
    calm = run(bare, plan, 1)
    lagging = run(replace(bare, lag=0.5), plan, 1)
    assert calm.error_m[0] < 0.001
    assert lagging.error_m[0] > 0.05
