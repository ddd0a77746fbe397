"""Scrub distance per turn, against sums over the contact patches."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from curvelib.machine.scrub import CONTACTS, lever_share, scrub_per_turn


def test_corner_wheels_slide_once_round_half_the_wheelbase():
    """Each wheel's patch goes sideways 2 pi times half the wheelbase (computed)."""
    scrub = scrub_per_turn(0.8, 0.6)
    assert scrub == (pytest.approx(np.pi * 0.8), 0.0, pytest.approx(np.pi * 0.8))


@given(st.floats(0.1, 3.0), st.floats(0.1, 3.0), st.floats(0.3, 1.0))
def test_a_track_slides_as_the_mean_over_its_length(length, track, share):
    """Integrals of |x| and of hypot over the contact agree with the closed forms."""
    scrub = scrub_per_turn(length, track, "tracks", share)
    along = np.pi * track * (1.0 / share - 1.0)
    sideways = quad(lambda x: 2 * np.pi * abs(x), 0, length / 2)[0] * 2 / length
    total = (
        quad(lambda x: np.hypot(2 * np.pi * x, along), 0, length / 2, epsrel=1e-11)[0] * 2 / length
    )
    assert scrub.sideways == pytest.approx(sideways)
    assert scrub.lengthways == pytest.approx(along)
    assert scrub.total == pytest.approx(total, rel=1e-8)


def test_skidding_adds_what_the_wheels_turn_too_much():
    """With share 1/2 each side rolls twice the way it should: pi track more (computed)."""
    scrub = scrub_per_turn(0.8, 0.6, "wheels", 0.5)
    assert scrub.lengthways == pytest.approx(np.pi * 0.6)
    assert scrub.total == pytest.approx(np.pi * 1.0)


def test_casters_scrub_nothing_and_lists_of_wheelbases_work():
    """No sideways slide on casters; a track of no length slides lengthways alone."""
    assert scrub_per_turn(0.8, 0.6, "casters") == (0.0, 0.0, 0.0)
    none, some = scrub_per_turn([0.0, 0.8], 0.6, "tracks", 0.5).total
    assert none == pytest.approx(np.pi * 0.6)
    assert some > none


def test_contacts_are_those_of_the_machine_file():
    """Every contact of the file has its lever; others are refused."""
    assert {contact: lever_share(contact) for contact in CONTACTS} == {
        "wheels": 0.5,
        "tracks": 0.25,
        "casters": 0.0,
    }
    with pytest.raises(ValueError, match=r"contact = 'skis' is not known"):
        lever_share("skis")


def test_faults_are_named():
    """A share above 1 would be scrub below nothing."""
    with pytest.raises(ValueError, match=r"turning share is 1.2"):
        scrub_per_turn(0.8, 0.6, turning_share=1.2)
