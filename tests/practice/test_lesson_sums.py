"""The sums behind the lesson, against published and independent values."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import scipy.integrate
from core.strategies import shapes
from hypothesis import assume, given
from hypothesis import strategies as st

from curvelib import CubicBlend, Expo, Linear, Points, Shape, TwoZone
from curvelib.practice.lesson import (
    AS_STEEP_AS_STRAIGHT,
    relative_gain,
    shaking_sample,
    softer,
    step_at_rest,
    target_on_stick,
    tremor_out,
)
from curvelib.practice.operator import Hand


def test_fittss_law_alone_does_not_favour_the_softer_centre() -> None:
    """At 0.4x + 0.6x^3, target 0.1 +- 0.02: 1.807 -> 1.953 bits (ISO 9241-411; computed)."""
    straight, soft = (target_on_stick(shape, 0.1, 0.02) for shape in (Linear(), softer(0.6)))
    assert (straight.width, straight.difficulty) == pytest.approx((0.04, 1.807), abs=5e-4)
    assert (soft.width, soft.difficulty) == pytest.approx((0.0806, 1.953), abs=5e-4)
    # The inverse at 0.1 from the check values, so the distance is not our own.
    assert soft.distance == pytest.approx(0.23141144048485704, abs=1e-12)


@given(st.floats(0.0, 0.9), st.floats(0.03, 0.4), st.floats(0.1, 0.9))
def test_no_softness_makes_a_target_easier_by_fittss_law(
    blend: float, command: float, share: float
) -> None:
    half = share * command / 2.0
    soft = target_on_stick(softer(blend), command, half)
    assert soft.difficulty >= target_on_stick(Linear(), command, half).difficulty - 1e-9


def test_a_target_at_standing_is_refused() -> None:
    with pytest.raises(ValueError, match="must not reach 0"):
        target_on_stick(Linear(), 0.1, 0.1)


def test_through_a_power_relative_noise_is_multiplied_by_its_exponent() -> None:
    """x^n multiplies it by n (Harris & Wolpert 1998, second-hand); a blend of 1 is x^3."""
    for command in (0.01, 0.1, 0.7):
        assert relative_gain(CubicBlend(1.0), command) == pytest.approx(3.0)
        assert relative_gain(Linear(), command) == pytest.approx(1.0)


@given(st.floats(0.01, 0.9), st.floats(0.001, 0.999))
def test_growing_noise_is_never_smaller_through_a_softer_centre(
    blend: float, command: float
) -> None:
    """Without a dead zone; and all but standing it is the same."""
    assert relative_gain(softer(blend), command) >= 1.0 - 1e-12
    assert relative_gain(softer(blend), 1e-6) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("shape", [softer(0.6), Expo(2.0), TwoZone(0.5, 0.2)], ids=repr)
@pytest.mark.parametrize("command", [0.03, 0.1, 0.5])
def test_shaking_comes_out_as_the_sums_say(shape: Shape, command: float) -> None:
    """A hundred thousand shaking thumbs through the shape itself, small shaking."""
    shake = np.random.default_rng(4).standard_normal(100_000)
    thumb = shape.inverse(command)
    out = shape(thumb + 0.001 * shake).std()
    assert out == pytest.approx(tremor_out(shape, command, 0.001), rel=0.02)
    growing = shape(thumb * (1.0 + 0.001 * shake)).std() / command
    assert growing == pytest.approx(0.001 * relative_gain(shape, command), rel=0.02)


def test_near_standing_shaking_and_steps_are_divided_by_the_first_slope() -> None:
    soft = softer(0.6)
    assert soft.first_slope == pytest.approx(0.4)
    assert tremor_out(soft, 1e-9, 0.02) == pytest.approx(0.4 * 0.02)
    assert step_at_rest(soft, 1025) == pytest.approx(0.4 * 2.0 / 1024.0, rel=1e-4)


def test_the_price_of_a_blend() -> None:
    """Slope 1 + 2e at the end, 1 at 1/sqrt 3 for every e (check values, computed)."""
    for blend in (0.1, 0.6, 0.9):
        assert softer(blend).slope(1.0) == pytest.approx(1.0 + 2.0 * blend)
        assert softer(blend).slope(AS_STEEP_AS_STRAIGHT) == pytest.approx(1.0)
    assert pytest.approx(1.0 / math.sqrt(3.0)) == AS_STEEP_AS_STRAIGHT


@given(shapes())
def test_the_slope_is_on_average_what_full_stick_gives(shape: Shape) -> None:
    """Over the whole travel the slope averages 1 for a shape that reaches full, whatever it is."""
    assume(not any(isinstance(stage, Points) for stage in shape.stages))
    ends = [0.0, *shape.knots, 1.0]
    total = sum(
        scipy.integrate.quad(lambda x: float(shape.slope(x)), low, high)[0]
        for low, high in pairwise(ends)
    )
    assert total == pytest.approx(shape(1.0), abs=1e-6)


def test_two_thirds_of_the_time_shaking_is_less_than_usual() -> None:
    """The share of a normal within its rms: 68 %."""
    sample = shaking_sample(20_000, 0.02, Hand())
    assert sample.std() == pytest.approx(1.0)
    assert sample.mean() == pytest.approx(0.0, abs=1e-12)
    assert (np.abs(sample) < 1.0).mean() == pytest.approx(2.0 / 3.0, abs=0.03)
