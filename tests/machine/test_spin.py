"""Turning on the spot: moments against integrals, words against numbers."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from curvelib.machine.spin import (
    drive_moment,
    grip_moment,
    resisting_moment,
    spin,
    turning_share_from_turns,
)
from curvelib.machine.tipping import GRAVITY

sizes = st.floats(0.1, 3.0)


@given(st.floats(10.0, 500.0), st.floats(0.05, 1.0), sizes)
def test_a_track_resists_as_the_integral_of_its_load(mass, mu, length):
    """The moment mu W L/4: an even load W/L with lever |x| (tracked-vehicle texts, memory)."""
    weight = mass * GRAVITY
    integral = 2 * quad(lambda x: mu * weight / length * x, 0.0, length / 2.0)[0]
    assert resisting_moment(mass, mu, length, "tracks") == pytest.approx(integral)


@given(st.floats(10.0, 500.0), st.floats(0.05, 1.0), sizes)
def test_corner_wheels_resist_twice_as_much_as_a_track(mass, mu, base):
    """The moment mu W wheelbase/2: four wheels, each mu W/4 at half the wheelbase (computed)."""
    four = sum(mu * mass * GRAVITY / 4.0 * base / 2.0 for _ in range(4))
    assert resisting_moment(mass, mu, base, "wheels") == pytest.approx(four)
    assert resisting_moment(mass, mu, base, "casters") == 0.0


def test_the_drives_push_at_half_the_track_each():
    """0.5 N m/A at 20 A on a 0.2 m wheel is 50 N a side, 50 N x 0.8 m (computed)."""
    assert drive_moment(0.5, 20.0, 0.2, 0.8) == pytest.approx(40.0)


def test_grip_bounds_the_moment():
    """All weight gripping lengthways: mu W track/2 (computed)."""
    assert grip_moment(60.0, 0.35, 0.8) == pytest.approx(0.35 * 60.0 * GRAVITY * 0.4)


def test_turns_are_counted_into_a_share():
    """Ideal: each side rolls pi track a turn, wheels of radius r turn track/(2 r) times."""
    assert turning_share_from_turns(1.0, 0.8 / 0.4, 0.2, 0.8) == pytest.approx(1.0)
    assert turning_share_from_turns(7.0, 20.0, 0.2, 0.8) == pytest.approx(0.7)


MACHINE = {"mass": 60.0, "friction": 0.35, "wheelbase": 0.6, "track": 0.8}


def test_an_unknown_torque_is_said_not_guessed():
    """Any of the three facts missing leaves the drives' moment unknown."""
    for known in ({}, {"torque_per_amp": 0.5, "current_limit": 20.0}, {"wheel_radius": 0.2}):
        answer = spin(**MACHINE, **known)
        assert answer.driving is None
        assert answer.share_used is None
        assert "not known" in answer.words()


@pytest.mark.parametrize(
    ("current", "share", "words"),
    [
        (100.0, 0.308909, "drives give 200 N m at their limit: it turns"),
        (10.0, 3.089095, "does not turn on the spot; turn on an arc instead"),
        (0.0, np.inf, "does not turn"),
    ],
)
def test_the_answer_compares_the_moments(current, share, words):
    """Resisting 61.78 N m against what the current allows."""
    answer = spin(**MACHINE, torque_per_amp=0.5, current_limit=current, wheel_radius=0.2)
    assert answer.resisting == pytest.approx(61.781895)
    assert answer.share_used == pytest.approx(share, rel=1e-5)
    assert words in answer.words()


def test_a_machine_long_for_its_track_spins_its_wheels():
    """A wheelbase above the track asks for more than the grip gives lengthways."""
    assert "may spin first" in spin(**{**MACHINE, "wheelbase": 0.9}).words()
    assert "may spin first" not in spin(**MACHINE).words()


def test_the_words_do_not_claim_to_know_turf():
    """When turf shears is not known in general, and the sentence says so."""
    assert "When turf shears is not known in general" in spin(**MACHINE).words()
    assert "scrub 1.9 m" in spin(**MACHINE).words()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: resisting_moment(0.0, 0.3, 0.6), "mass is 0 kg"),
        (lambda: resisting_moment(60.0, 0.3, 0.6, "skis"), "contact = 'skis'"),
        (lambda: drive_moment(0.5, np.nan, 0.2, 0.8), "current limit is nan"),
        (lambda: turning_share_from_turns(1.0, 0.0, 0.2, 0.8), "turns of the wheels is 0"),
    ],
)
def test_faults_are_named(call, words):
    """Each number out of range is named."""
    with pytest.raises(ValueError, match=words):
        call()
