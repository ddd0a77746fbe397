"""How much of footing and grip is used, against the limits and a balance in three dimensions."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from curvelib.machine.stance import Stance
from curvelib.machine.tipping import GRAVITY, tip_sideways

levers = st.floats(0.1, 2.0)
slopes = st.floats(-0.5, 0.5)

stances = st.builds(
    Stance,
    cg_to_front=levers,
    cg_to_rear=levers,
    cg_height=st.floats(0.05, 1.5),
    friction=st.floats(0.05, 1.2),
    track=st.floats(0.2, 2.0),
    driven=st.sampled_from(["all", "front", "rear"]),
    slope=slopes,
)


@given(stances)
def test_the_footing_is_all_used_at_each_of_the_four_limits(stance):
    """A share of 1 in both directions, and less just inside."""
    stop, start, _, _ = stance.tip
    assume(stop > 0.01)
    assume(start > 0.01)
    np.testing.assert_allclose(stance.tip_use([-stop, start]), 1.0, rtol=1e-9)
    assert (np.asarray(stance.tip_use([-0.9 * stop, 0.9 * start])) < 1.0).all()


@given(stances)
def test_the_grip_is_all_used_at_each_of_the_four_limits(stance):
    """A share of 1 where it slides; where tipping caps the grip, no more than 1."""
    stop, start, _, _ = stance.grip
    assume(stop > 0.01)
    assume(start > 0.01)
    for a, tips in ((-stop, stance.tip.stop_forward), (start, stance.tip.start_forward)):
        if abs(a) < 0.999 * tips or stance.driven == "all":
            assert stance.slide_use(a) == pytest.approx(1.0)
        else:
            assert stance.slide_use(a) <= 1.0 + 1e-9


@given(stances, st.floats(-5.0, 5.0), st.floats(-5.0, 5.0), slopes)
def test_it_tips_where_the_resultant_leaves_the_footprint(stance, forward, left, cross):
    """The line of weight and inertia, cut with the ground, passes an edge at share 1."""
    stance = Stance(
        stance.cg_to_front,
        stance.cg_to_rear,
        stance.cg_height,
        0.5,
        stance.track,
        slope=stance.slope,
        cross_slope=cross,
    )
    gravity = GRAVITY * np.array([np.sin(stance.slope), np.sin(cross), 0.0])
    gravity[2] = -np.sqrt(GRAVITY**2 - (gravity**2).sum())
    resultant = gravity - np.array([forward, left, 0.0])
    x, y = resultant[:2] * stance.cg_height / -resultant[2]
    along = x / stance.cg_to_front if x > 0.0 else -x / stance.cg_to_rear
    assert stance.tip_use(forward, left) == pytest.approx(max(along, abs(y) / (stance.track / 2.0)))


@given(stances, st.floats(0.0, 0.5))
def test_sideways_agrees_with_the_sideways_limit(stance, cross):
    """Turning right on ground that falls away to the left uses all of it at `tip_sideways`."""
    limit = tip_sideways(stance.track, stance.cg_height, cross)
    level = Stance(
        stance.cg_to_front,
        stance.cg_to_rear,
        stance.cg_height,
        0.5,
        stance.track,
        cross_slope=cross,
    )
    along = abs(level.tip_use(0.0))
    assume(along < 1.0)
    assert level.tip_use(0.0, -limit) == pytest.approx(1.0)


def test_grip_combines_like_the_legs_of_a_triangle():
    """0.6 lengthways and 0.8 sideways use all of it."""
    stance = Stance(0.4, 0.4, 0.4, 0.5)
    full = 0.5 * GRAVITY
    assert stance.slide_use(0.6 * full, 0.8 * full) == pytest.approx(1.0)


def test_a_slope_alone_uses_part():
    """Standing on 10 degrees takes tan(10)/mu of the grip and h tan(10)/L of the footing."""
    stance = Stance(0.4, 0.5, 0.3, 0.35, slope=np.radians(10.0))
    assert stance.slide_use(0.0) == pytest.approx(np.tan(np.radians(10.0)) / 0.35)
    assert stance.tip_use(0.0) == pytest.approx(0.3 * np.tan(np.radians(10.0)) / 0.4)
    assert stance.turned().tip_use(0.0) == pytest.approx(0.3 * np.tan(np.radians(10.0)) / 0.5)


def test_without_a_track_tipping_sideways_is_not_judged():
    """No track, no sideways share; with one, it counts."""
    assert Stance(0.4, 0.4, 0.4, 0.5).tip_use(0.0, 8.0) == 0.0
    assert Stance(0.4, 0.4, 0.4, 0.5, track=0.8).tip_use(0.0, GRAVITY) == pytest.approx(1.0)


def test_no_grip_at_all():
    """Without friction nothing is used at rest, and any pull is too much."""
    stance = Stance(0.4, 0.4, 0.4, 0.0)
    np.testing.assert_array_equal(stance.slide_use([0.0, 0.1, -0.1]), [0.0, np.inf, np.inf])
    assert Stance(0.4, 0.4, 0.4, 1e-320).slide_use(0.1) == np.inf


def test_holding_back_takes_a_share_off():
    """A quarter less footing or grip, the rest unchanged."""
    stance = Stance(0.4, 0.6, 0.5, 0.4, driven="rear", slope=0.1)
    assert stance.with_less_footing(0.25).cg_to_rear == pytest.approx(0.45)
    assert stance.with_less_footing(0.25).friction == 0.4
    assert stance.with_less_grip(0.25).friction == pytest.approx(0.3)
    assert stance.with_less_grip(0.25).wheelbase == 1.0


def test_floats_and_arrays():
    """Numbers give floats, arrays their shape."""
    stance = Stance(0.4, 0.4, 0.4, 0.5)
    assert type(stance.tip_use(1)) is type(stance.slide_use(1)) is float
    assert stance.slide_use(np.zeros((2, 3)), 0.0).shape == (2, 3)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"cg_to_front": -0.1}, "front axle is -0.1 m"),
        ({"cg_to_front": 0.0, "cg_to_rear": 0.0}, "wheelbase"),
        ({"cg_height": 0.0}, "height of the centre of mass is 0 m"),
        ({"friction": np.nan}, "friction coefficient is nan"),
        ({"driven": "both"}, "driven = 'both' is not known"),
        ({"track": 0.0}, "track is 0 m"),
        ({"slope": 1.2, "cross_slope": 0.8}, "steeper than a wall"),
    ],
)
def test_faults_are_named(change, words):
    """Each number out of range is named."""
    with pytest.raises(ValueError, match=words):
        Stance(
            **({"cg_to_front": 0.4, "cg_to_rear": 0.4, "cg_height": 0.4, "friction": 0.3} | change)
        )


def test_accelerations_are_checked():
    """NaN is named with its index."""
    with pytest.raises(ValueError, match=r"lateral acceleration is nan at index 1"):
        Stance(0.4, 0.4, 0.4, 0.3).tip_use(0.0, [0.0, np.nan])
