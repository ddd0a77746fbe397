"""When wheels slide, against check values and a balance of forces done anew."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelib.machine.grip import (
    GROUNDS,
    friction_from_drag,
    grip_deceleration,
    grip_limits,
    least_radius_sideways,
    slide_sideways,
)
from curvelib.machine.tipping import GRAVITY, tip_deceleration

levers = st.floats(0.1, 2.0)
heights = st.floats(0.05, 1.5)
slopes = st.floats(-0.6, 0.6)
frictions = st.floats(0.02, 1.2)


# All wheels braked, mu = 0.20; computed with g = 9.80665 outside the project.
@pytest.mark.parametrize(("degrees", "wanted"), [(0, 1.96133), (10, 0.228626), (15, -0.643648)])
def test_all_wheels_braked_downhill(degrees, wanted):
    """The check values; negative where it cannot hold."""
    assert grip_deceleration(0.20, np.radians(degrees)) == pytest.approx(wanted, abs=1e-6)


# mu = 0.35, c/W = 0.6, h/W = 0.4 on the flat; computed two ways outside the project.
@pytest.mark.parametrize(("driven", "wanted"), [("rear", 1.806488), ("front", 2.394647)])
def test_one_axle_braked_on_the_flat(driven, wanted):
    """The check values for the axle that braking unloads and the one it loads."""
    got = grip_deceleration(0.35, driven=driven, cg_to_undriven=0.6, wheelbase=1.0, cg_height=0.4)
    assert got == pytest.approx(wanted, abs=5e-7)


def pull_and_loads(a, front, rear, height, slope):
    """Pull of the ground and axle loads per mass at forward acceleration a, nose downhill."""
    pull = a - GRAVITY * np.sin(slope)
    matrix = np.array([[1.0, 1.0], [front, -rear]])
    loads = np.linalg.solve(matrix, [GRAVITY * np.cos(slope), -pull * height])
    return pull, loads


@given(frictions, slopes, levers, levers, heights, st.sampled_from(["all", "front", "rear"]))
def test_the_driven_axle_is_just_at_its_grip_in_all_four_cases(
    mu, slope, front, rear, height, driven
):
    """At each limit the pull is mu times the driven load, or the driven axle carries all."""
    limits = grip_limits(mu, slope, driven, cg_to_front=front, cg_to_rear=rear, cg_height=height)
    assert limits.start_reverse == limits.stop_forward
    assert limits.stop_reverse == limits.start_forward
    scale = 1e-8 * GRAVITY * (1.0 + (front + rear) / height)
    for a in (-limits.stop_forward, limits.start_forward):
        pull, (on_front, on_rear) = pull_and_loads(a, front, rear, height, slope)
        load = {"all": on_front + on_rear, "front": on_front, "rear": on_rear}[driven]
        other = {"all": 0.0, "front": on_rear, "rear": on_front}[driven]
        wants_back = a == -limits.stop_forward
        if driven != "all" and other == pytest.approx(0.0, abs=scale):
            assert abs(pull) <= mu * load + scale
        else:
            assert (-pull if wants_back else pull) == pytest.approx(mu * load, abs=scale)
            assert other >= -scale


@given(slopes, levers, levers, heights)
def test_the_loaded_axle_is_capped_where_the_machine_tips(slope, braked, undriven, height):
    """With much grip a braked front axle tips the machine; the limit says no more than that."""
    base = braked + undriven
    grippy = grip_deceleration(5.0, slope, "front", undriven, base, height)
    tips = tip_deceleration(braked, height, slope)
    assert grippy <= tips + 1e-9 * GRAVITY * (1.0 + braked / height)
    if 5.0 * height >= braked:
        assert grippy == pytest.approx(tips)


def test_the_cap_sets_in_without_a_jump():
    """Where mu h equals the distance to the braked axle, sliding and tipping meet."""
    below, above = (
        grip_deceleration(0.8 * (1.0 + step), 0.1, "front", 0.6, 1.0, 0.5) for step in (-1e-9, 1e-9)
    )
    assert below == pytest.approx(above, rel=1e-7)


@given(frictions, slopes, levers, levers, heights)
def test_one_axle_never_grips_better_than_all(mu, slope, front, rear, height):
    """Braking all wheels is at least as good as braking either axle."""
    lengths = {"cg_to_undriven": front, "wheelbase": front + rear, "cg_height": height}
    all_wheels = grip_deceleration(mu, slope)
    for driven in ("front", "rear"):
        assert grip_deceleration(mu, slope, driven, **lengths) <= all_wheels + 1e-9 * GRAVITY


@given(frictions, slopes, levers, levers, heights)
def test_reversing_changes_the_roles_of_the_axles(mu, slope, front, rear, height):
    """A rear-driven machine turned round is a front-driven one driven backwards."""
    here = grip_limits(mu, slope, "rear", cg_to_front=front, cg_to_rear=rear, cg_height=height)
    there = grip_limits(mu, -slope, "front", cg_to_front=rear, cg_to_rear=front, cg_height=height)
    assert here.stop_forward == there.stop_reverse
    assert here.start_forward == there.start_reverse


def test_a_rear_driven_machine_starts_better_than_it_stops():
    """On the flat, starting forward loads the driven rear axle, stopping unloads it."""
    limits = grip_limits(0.35, driven="rear", cg_to_front=0.6, cg_to_rear=0.4, cg_height=0.4)
    assert limits.stop_forward == pytest.approx(1.806488, abs=5e-7)
    assert limits.start_forward == pytest.approx(2.394647, abs=5e-7)


def test_only_sourced_ground_is_offered():
    """Wet grassy field 0.20, gravel or dirt road 0.35; Noon 1994 (second-hand); nothing else."""
    assert {ground.name: ground.friction for ground in GROUNDS} == {
        "wet grassy field": 0.20,
        "gravel or dirt road": 0.35,
    }
    assert all("Noon" in ground.source and "second-hand" in ground.source for ground in GROUNDS)


def test_a_drag_test_gives_the_friction():
    """21 kg on the scale for a 60 kg machine is 0.35; what no ground gives is refused."""
    assert friction_from_drag(21.0, 60.0) == pytest.approx(0.35)
    with pytest.raises(ValueError, match=r"friction coefficient is 10"):
        friction_from_drag(600.0, 60.0)


def test_sideways_it_slides_as_lengthways():
    """It is mu g on the level; nothing left at the angle of friction."""
    assert slide_sideways(0.35) == pytest.approx(0.35 * GRAVITY)
    assert slide_sideways(0.35, np.arctan(0.35)) == pytest.approx(0.0, abs=1e-12)
    assert slide_sideways(0.35, -0.1) > slide_sideways(0.35) > slide_sideways(0.35, 0.1)


def test_the_least_radius_sideways():
    """v^2/R equals the limit; without any, no radius holds."""
    np.testing.assert_allclose(least_radius_sideways([2.0, -2.0, 0.0], 2.0), [2.0, 2.0, 0.0])
    assert least_radius_sideways(1.0, 5e-324) == np.inf
    assert least_radius_sideways(1.0, 0.0) == least_radius_sideways(1.0, -1.0) == np.inf


def test_floats_and_arrays():
    """Numbers give floats; arrays broadcast, for one axle too."""
    assert type(grip_deceleration(0.2)) is float
    assert type(grip_deceleration(0.2, 0.0, "front", 0.5, 1, 0.4)) is float
    slopes_ = np.linspace(-0.2, 0.2, 5)
    assert grip_deceleration(0.2, slopes_, "rear", 0.5, 1.0, [[0.3], [0.4]]).shape == (2, 5)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((-0.1,), "friction coefficient is -0.1"),
        ((0.2, 0.0, "both"), "driven = 'both' is not known"),
        ((0.2, 0.0, "rear"), "needs cg_to_undriven, wheelbase and cg_height"),
        ((0.2, 0.0, "front", None, 1.0, 0.4), "needs cg_to_undriven, wheelbase and cg_height"),
        ((0.2, 0.0, "front", 0.5, None, 0.4), "needs cg_to_undriven, wheelbase and cg_height"),
        ((0.2, 0.0, "front", 0.5, 1.0, None), "needs cg_to_undriven, wheelbase and cg_height"),
        (
            (0.2, 0.0, "rear", 1.2, 1.0, 0.4),
            "beyond the other one; give at most the wheelbase, 1 m",
        ),
        ((0.2, [0.0, np.inf]), "slope is inf at index 1"),
    ],
)
def test_faults_are_named(arguments, words):
    """Each fault says what would be right."""
    with pytest.raises(ValueError, match=words):
        grip_deceleration(*arguments)


def test_four_cases_of_one_axle_need_its_lengths():
    """Without the distances the four cases cannot be told."""
    with pytest.raises(ValueError, match=r"needs cg_to_front and cg_to_rear"):
        grip_limits(0.2, driven="front")
