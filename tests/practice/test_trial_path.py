"""The trials use the same path, ramp, motors and motion as the library."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rigs import DEMOS, bare_rig, demo_rig, traced

from curvelib.machine.motion import drive, side_speeds
from curvelib.machine.response import respond
from curvelib.practice.course import Course
from curvelib.practice.plan import Plan
from curvelib.practice.rig import Rig, WheelTable, travelled
from curvelib.sides import Side

REST = 100  # frames at the centre before the path obeys: 2 s


def pulses(rig: Rig, which: int, thumbs: np.ndarray) -> np.ndarray:
    """Pulse widths of thumb positions, the frames at rest before them."""
    stick = rig.chain.sticks[which]
    pushed = np.clip(thumbs, -1.0, 1.0) * (-1.0 if rig.chain.reversed[which] else 1.0)
    span = np.where(pushed < 0.0, stick.centre - stick.low, stick.high - stick.centre)
    return np.concatenate([np.full(REST, stick.centre), stick.centre + pushed * span])


@pytest.mark.parametrize("name", DEMOS)
def test_a_bay_trial_is_what_the_chain_and_the_machine_make_of_its_thumbs(name: str) -> None:
    """The thumbs of a trial, sent through `Chain.run` and `respond`, move the machine alike."""
    rig = demo_rig(name)
    plan = Plan(course=Course(place="bay"))
    (trace,) = traced(rig, plan).traces
    first, second = (pulses(rig, which, trace.thumbs[:, which]) for which in (0, 1))
    sent = rig.chain.run(first, second, plan.frame_s)
    assert sent.driving[REST:].all()
    sides = rig.chain.sides
    motion = respond(
        rig.chain.wheel_share(sides.left, sent.left[REST:]),
        rig.chain.wheel_share(sides.right, sent.right[REST:]),
        plan.frame_s,
        top_speed=rig.top_speed,
        track=rig.track,
        lag=rig.lag,
        turning_share=rig.turning_share,
        pose=(0.0, plan.course.offset_m, 0.0),
    )
    assert np.abs(motion.poses[1:, 0] - trace.along_m).max() < 1e-9
    assert np.abs(motion.poses[1:, 1] - trace.left_m).max() < 1e-9
    assert np.ptp(trace.left_m) > 0.2
    assert trace.along_m[-1] > 2.9


@given(st.floats(-3.0, 3.0), st.floats(-3.0, 3.0), st.floats(0.3, 2.0), st.floats(-3.0, 3.0))
def test_one_frame_of_way_is_an_exact_arc(
    left: float, right: float, track: float, heading: float
) -> None:
    rig = replace(bare_rig(), track=track, turning_share=0.7)
    pose = drive(left, right, 0.02, track, 0.7, (0.0, 0.0, heading))[1]
    moved = travelled(rig, np.array([[left], [right]]), np.array([heading]), 0.02)[:, 0]
    assert [*moved[:2], moved[2] + heading] == pytest.approx(pose, abs=1e-10)


@pytest.mark.parametrize("name", DEMOS)
def test_wheel_speeds_are_the_chains_own(name: str) -> None:
    """At any command, and at the ones beside every edge of an output step."""
    rig = demo_rig(name)
    for side in (rig.chain.sides.left, rig.chain.sides.right):
        table = WheelTable(rig, side)
        anywhere = np.random.default_rng(2).uniform(-1.0, 1.0, 20_000)
        command = np.concatenate([anywhere, [-1.0, 0.0, 1.0], beside_edges(rig, side)])
        wanted = rig.top_speed * rig.chain.wheel_share(side, command)
        np.testing.assert_allclose(table.speed(command), wanted, atol=1e-12)
        assert len(np.unique(wanted)) > 100


def beside_edges(rig: Rig, side: Side) -> np.ndarray:
    """Commands a hair to either side of where the output changes, found on a fine grid."""
    grid = np.linspace(-1.0, 1.0, 400_001)
    units = rig.chain.code_side(side, grid)
    edges = grid[np.flatnonzero(np.diff(units))]
    return np.concatenate([edges, np.minimum(edges + 5e-6, 1.0)])


@pytest.mark.parametrize("name", DEMOS)
def test_wanted_commands_would_give_the_wanted_motion(name: str) -> None:
    """Through the mix and the sides, the commands give the speed and the yaw rate asked for."""
    rig = demo_rig(name)
    speed, yaw = np.array([0.2, -0.1, 0.0]), np.array([0.1, 0.1, -0.3])
    left, right = rig.chain.mix(*rig.wanted_commands(speed, yaw))
    wanted = side_speeds(speed, yaw, rig.track, rig.turning_share)
    np.testing.assert_allclose(rig.top_speed * left, wanted.left, atol=1e-12)
    np.testing.assert_allclose(rig.top_speed * right, wanted.right, atol=1e-12)


def test_what_the_file_leaves_out_is_assumed_and_listed() -> None:
    assert demo_rig("orchard_cart").assumed == ("turning_share",)
    assert demo_rig("vineyard_sweeper").assumed == ()
    assert demo_rig("orchard_cart").turning_share == 1.0
