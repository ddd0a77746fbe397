"""A stick as tables: the exact command through the transmitter's steps, and the way back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from core.strategies import shapes
from hypothesis import assume, given
from hypothesis import strategies as st
from rigs import DEMOS, demo_rig

from curvelib import CubicBlend, Deadband, Expo, Limit, Shape
from curvelib.practice.stick_table import (
    CELLS,
    StickTable,
    hardly_moves,
    softened,
    straightened,
)
from curvelib.stick import Stick

TRAVEL = np.linspace(0.0, 1.0, 1001)
PLAIN = Stick(1000.0, 1500.0, 2000.0, steps=1024)


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("which", [0, 1])
def test_a_thumb_gives_what_the_path_gives_for_its_pulse(name: str, which: int) -> None:
    """Wherever the thumb is, asymmetric, reversed and stepped sticks included."""
    chain = demo_rig(name).chain
    stick, flow = chain.sticks[which], -1.0 if chain.reversed[which] else 1.0
    thumb = np.random.default_rng(5).uniform(-1.1, 1.1, 4000)
    pushed = flow * np.clip(thumb, -1.0, 1.0)
    span = np.where(pushed < 0.0, stick.centre - stick.low, stick.high - stick.centre)
    wanted = chain.shapes[which](flow * stick.position(stick.centre + pushed * span))
    table = demo_rig(name).tables()[which]
    np.testing.assert_allclose(table.command(thumb), wanted, atol=1e-12)
    assert len(np.unique(wanted)) > 100


def test_without_known_steps_whole_microseconds_are_sent() -> None:
    table = StickTable(replace(PLAIN, steps=None), False, Shape())
    sent = np.unique(table.command(np.linspace(0.0, 1.0, 100_000)))
    np.testing.assert_allclose(sent, np.arange(501) / 500, atol=1e-12)


@given(shapes(), st.lists(st.floats(-1.0, 1.0), min_size=1, max_size=20))
def test_the_way_back_is_exact_for_the_rounded_command(shape: Shape, wanted: list[float]) -> None:
    """At most 1/65536 of full speed beside what was wanted, where that is within reach."""
    table = StickTable(PLAIN, False, shape)
    reach = float(shape(1.0))
    command = np.clip(np.array(wanted), -reach, reach)
    thumb = table.thumb_for(command)
    assert (np.abs(thumb) <= 1.0).all()
    np.testing.assert_allclose(shape(thumb), command, atol=0.5 / CELLS + 1e-9)
    assert (table.thumb_for(np.zeros(2)) == 0.0).all()


def test_a_dead_zone_is_jumped() -> None:
    table = StickTable(PLAIN, False, Deadband(0.1) >> CubicBlend(0.6))
    least = table.thumb_for(np.array([1e-4, -1e-4]))
    assert least == pytest.approx([0.1, -0.1], abs=1e-3)


def test_who_takes_it_for_straight_pushes_as_on_the_straight_stick() -> None:
    shape = Deadband(0.1) >> Expo(3.0) >> Limit(0.6)
    table, straight = (StickTable(PLAIN, False, one) for one in (shape, straightened(shape)))
    command = np.linspace(-0.6, 0.6, 25)
    assert table.straight_thumb_for(command) == pytest.approx(straight.thumb_for(command), abs=1e-4)


@given(shapes())
def test_the_straight_stick_has_the_same_dead_zone_and_the_same_top(shape: Shape) -> None:
    """Equal top speed, equal start, and one slope between."""
    assume(not hardly_moves(shape))
    straight = straightened(shape)
    assert straight.starts_at == pytest.approx(shape.starts_at, abs=1e-9)
    assert straight(1.0) == pytest.approx(shape(1.0), rel=1e-9)
    start, top = shape.starts_at, float(shape(1.0))
    line = np.maximum(TRAVEL - start, 0.0) / (1.0 - start) * top
    np.testing.assert_allclose(straight(TRAVEL), line, atol=1e-9)


@given(shapes(), st.floats(0.0, 0.99))
def test_a_softer_stick_divides_the_first_slope_and_keeps_start_and_top(
    shape: Shape, blend: float
) -> None:
    assume(not hardly_moves(shape))
    soft, straight = softened(shape, blend), straightened(shape)
    assert soft.first_slope == pytest.approx((1.0 - blend) * straight.first_slope, rel=1e-6)
    assert soft.starts_at == pytest.approx(shape.starts_at, abs=1e-9)
    assert soft(1.0) == pytest.approx(shape(1.0), rel=1e-9)


@pytest.mark.parametrize("shape", [Shape([Deadband(0.5)] * 8), Shape([Limit(0.05)] * 4)])
def test_a_shape_that_hardly_moves_is_compared_with_itself(shape: Shape) -> None:
    assert hardly_moves(shape)
    assert straightened(shape) is softened(shape, 0.6) is shape
