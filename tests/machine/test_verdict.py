"""What the ramp window says in words."""

from dataclasses import replace

import pytest

from curvelib.machine.verdict import Binding, CaseLimit, RampWindow

SLIDES = CaseLimit("stopping forward", "nose downhill", "slide", 0.884)
TIPS = CaseLimit("starting forward", "nose uphill", "tip", 2.5)
WINDOW = RampWindow(
    least_to_stop=0.4011,
    least_to_full=0.3,
    most_to_stop=1.239,
    stop_binds=Binding("from full forward to rest", SLIDES),
    full_binds=None,
    limits=(SLIDES, TIPS),
    margin=0.25,
    speed=1.5,
    room=1.0,
    rolls=0.3,
    longest_ramp=10.0,
    one_axle=False,
)


def test_numbers_are_rounded_to_the_safe_side():
    """Least up, most down, to hundredths; a round number stays."""
    said = WINDOW.words()
    assert "ramp to stop from 0.41 to 1.23 s; ramp to full 0.30 s or longer." in said


def test_the_margin_the_reason_and_the_mass_are_said():
    """What is kept back, what a shorter ramp runs into, and that mass cancels."""
    said = WINDOW.words()
    assert said.startswith("With 25 % of grip and footing kept back: ")
    assert "A shorter ramp to stop: from full forward to rest, it would slide" in said
    assert "nose downhill, stopping forward, it slides at 0.88 m/s2" in said
    assert "Even without a ramp to full it would neither tip nor slide." in said
    assert said.endswith(
        "Mass makes no difference: it cancels. Grip that a turn takes is not counted."
    )
    assert replace(WINDOW, margin=0.0).words().startswith("With nothing kept back: ")


def test_without_a_room_there_is_no_most():
    """Infinite is said as "or longer"."""
    said = replace(WINDOW, most_to_stop=float("inf"), room=None).words()
    assert "ramp to stop 0.41 s or longer (no room was named)" in said


@pytest.mark.parametrize(
    ("to_stop", "to_full", "inside"),
    [
        (0.41, 0.3, True),
        (0.4, 0.3, False),
        (1.24, 0.3, False),
        (0.41, 0.29, False),
        (1.2, 9.0, True),
    ],
)
def test_a_pair_lies_in_the_window_or_not(to_stop, to_full, inside):
    """Both at least their least, the stop at most its most."""
    assert WINDOW.holds(to_stop, to_full) is inside
    assert not WINDOW.empty


def helps(window):
    """Cures named in the words, in order."""
    said = window.words()
    return said[said.index("What would help: ") + 17 : said.index(". Mass")].split(", ")


def test_what_cannot_hold_is_not_helped_by_going_slower():
    """Standing, only grip, place of the mass and slope matter."""
    still = replace(SLIDES, limit=-0.1)
    window = replace(WINDOW, least_to_stop=None, limits=(still, TIPS))
    assert window.empty
    assert (
        "cannot even hold: nose downhill, stopping forward, it slides at any ramp."
        in window.words()
    )
    assert helps(window) == ["more grip", "a gentler slope"]


def test_too_sudden_at_any_ramp():
    """The tightest limit is named with its cures; one driven axle adds a cure."""
    window = replace(WINDOW, least_to_full=None, one_axle=True)
    assert "even 10 s is too sudden" in window.words()
    assert helps(window) == [
        "a slower top speed",
        "more grip",
        "driving and braking all wheels",
        "a gentler slope",
    ]
    tipping = replace(window, limits=(TIPS, SLIDES))
    assert helps(tipping) == [
        "a slower top speed",
        "a lower or better placed centre of mass",
        "a longer wheelbase",
        "a gentler slope",
    ]


def test_no_room_for_the_delay():
    """Only speed, room and delay help."""
    window = replace(WINDOW, most_to_stop=None)
    assert window.empty
    assert not window.holds(0.5, 0.5)
    assert "alone roll 0.30 m, and the room is 1.00 m" in window.words()
    assert helps(window) == ["a slower top speed", "more room", "a shorter delay"]


def test_no_room_for_the_ramp():
    """Below it slides, above it rolls too far."""
    window = replace(WINDOW, most_to_stop=0.2)
    assert "below 0.41 s it would slide, above 0.20 s it rolls farther than the room of 1.00 m" in (
        window.words()
    )
    assert helps(window) == [
        "a slower top speed",
        "more room",
        "a shorter delay",
        "more grip",
        "a gentler slope",
    ]
