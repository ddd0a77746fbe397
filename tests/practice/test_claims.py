"""Every claim in the words of the lesson's workbook holds in the numbers, and none goes unchecked.

Each test quotes the workbook (`says` fails where the words are not there) and
then checks them.  The last test finds numbers in the workbook that no test quotes.
"""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path

import numpy as np
import pytest
import scipy.integrate
from rigs import DEMOS, ROOT, bare_rig, compared, demo_rig

from curvelib import Deadband, Expo, Linear, Shape
from curvelib.panels.trial_panel import TRIES_AT_FIRST
from curvelib.practice.course import Course
from curvelib.practice.lesson import (
    Lesson,
    relative_gain,
    softer,
    step_at_rest,
    target_on_stick,
    tremor_out,
)
from curvelib.practice.operator import SOURCES
from curvelib.practice.plan import Plan
from curvelib.practice.trial import run

NOTEBOOK = ROOT / "workbooks" / "08_why_a_softer_centre.ipynb"
SWEEPER, CARRIER, CART = "vineyard_sweeper", "snow_carrier", "orchard_cart"
NO_DIFFERENCE = "makes no difference worth having"
# Numbers that claim nothing: titles, places in the text, and where a source is found.
NO_CLAIM = (
    r"## \d\.",
    r"Nature 394 \(1998\) 780",
    r"ISO 9241-411",
    r"as in step 3",
)


def prose() -> str:
    """All words of the workbook, each run of spaces as one, marks of emphasis left out."""
    cells = json.loads(NOTEBOOK.read_text(encoding="utf-8"))["cells"]
    words = " ".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown")
    return re.sub(r"\s+", " ", words.replace("*", ""))


def says(words: str) -> None:
    """Fail where the workbook does not say these words."""
    assert words in prose()


# --- steps 1 to 5: sums ------------------------------------------------------------------------


def test_a_straight_stick_passes_everything_on() -> None:
    says("On a straight stick, half the travel gives half the speed, and all the shaking")
    assert Linear()(0.5) == 0.5
    assert tremor_out(Linear(), 0.1, 0.02) == 0.02


def test_few_stick_positions_make_a_slowest_speed() -> None:
    says("So the machine has a slowest speed, and it jumps from one speed to the next.")
    table = bare_rig(steps=65).tables()[0]
    sent = np.unique(table.command(np.linspace(0.0, 1.0, 10_001)))
    assert sent == pytest.approx(np.arange(33) / 32)


def test_the_first_slope_divides_both() -> None:
    says("A straight stick has 1.")
    assert Linear().first_slope == 1.0
    says("A stick with a first slope of 0.4 passes on 0.4 of a shake and 0.4 of a step")
    says("both are divided by 2.5.")
    soft = softer(0.6)
    assert soft.first_slope == pytest.approx(0.4)
    assert tremor_out(soft, 1e-6, 0.02) == pytest.approx(0.02 / 2.5, rel=1e-6)
    assert step_at_rest(soft, 1025) == pytest.approx(step_at_rest(Linear(), 1025) / 2.5, rel=1e-4)


def test_the_slope_is_1_on_average() -> None:
    says("over the whole travel the slope is 1 on average, whatever the shape.")
    for shape in (softer(0.3), softer(0.9), Expo(3.0)):
        average = scipy.integrate.quad(lambda x, of=shape: float(of.slope(x)), 0.0, 1.0)[0]
        assert average == pytest.approx(1.0)
    says("Full stick must still give full speed.")
    assert softer(0.9)(1.0) == 1.0


def test_noise_that_grows_does_not_get_smaller() -> None:
    says("A softer centre does not make that part smaller.")
    for blend in (0.2, 0.6, 0.9):
        assert all(relative_gain(softer(blend), command) >= 1.0 for command in (0.01, 0.1, 0.5))
    says("(A stick with a dead zone is a small exception: the push across the zone counts")
    # With a dead zone the same noise, relative to the command, is less through the softer stick.
    zone = Deadband(0.05)
    straight, soft = (
        thumb * float(shape.slope(thumb)) / 0.05
        for shape in (Shape([zone]), zone >> softer(0.6))
        for thumb in [float(shape.inverse(0.05))]
    )
    assert soft < 0.9 * straight


def test_fitts_weighs_both() -> None:
    says("A softer centre makes the thumb's target wider, but it also moves it further away.")
    says("by that law alone nothing gets easier.")
    straight = target_on_stick(Linear(), 0.1, 0.02)
    for blend in np.linspace(0.1, 0.9, 9):
        soft = target_on_stick(softer(float(blend)), 0.1, 0.02)
        assert soft.width > straight.width
        assert soft.distance > straight.distance
        assert soft.difficulty > straight.difficulty


# --- step 6: the trials --------------------------------------------------------------------------


def test_the_panel_does_what_is_said_of_it() -> None:
    says("parks your machine 500 times with each stick.")
    assert TRIES_AT_FIRST == 500
    says("Most numbers about him are assumed, and each slider says so.")
    assert sum("ssumed" in words for words in SOURCES.values()) > len(SOURCES) / 2


def test_a_steady_hand_hardly_gains() -> None:
    says("1000 tries of each stick, at a line, assumptions as they come")
    says("Steady hand (tremor 2 %): hardly any difference.")
    assert Plan().hand.tremor == 0.02
    assert Plan().course.place == "line"
    says("On all three the final error changes by less than 1 mm")
    says("the time by less than a quarter of a second.")
    found = {name: compared(name) for name in DEMOS}
    for one in found.values():
        assert max(abs(one["error"].difference.low), abs(one["error"].difference.high)) < 1e-3
        assert max(abs(one["time"].difference.low), abs(one["time"].difference.high)) < 0.25
    says(
        "On the two slower machines that is not worth having, on the Snow carrier it is at the edge"
    )
    fastest = max(DEMOS, key=lambda name: demo_rig(name).top_speed)
    assert fastest == CARRIER
    for name in (SWEEPER, CART):
        assert {one.verdict for one in found[name].values()} == {NO_DIFFERENCE}
    edge = found[CARRIER]["time"]
    assert edge.difference.low < -edge.worth < edge.difference.high < 0.0


@pytest.mark.parametrize("blend", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_no_softness_matters_to_the_sweeper(blend: float) -> None:
    says("On the Vineyard sweeper no softness from 0.1 to 0.9 makes a difference worth having.")
    found = compared(SWEEPER, blend=blend)
    assert {one.verdict for one in found.values()} == {NO_DIFFERENCE}


def test_a_shaking_hand_gains() -> None:
    says("Shaking hand (tremor 10 %): it helps.")
    sweeper, carrier, cart = (compared(name, tremor=0.1) for name in (SWEEPER, CARRIER, CART))
    says("Vineyard sweeper: final error 16 mm becomes 12 mm, 1.1 s quicker, 11 reversals become 5.")
    assert {one.verdict for one in sweeper.values()} == {"helps"}
    assert round(1e3 * sweeper["error"].straight.value) == 16
    assert round(1e3 * sweeper["error"].shaped.value) == 12
    assert round(sweeper["time"].difference.value, 1) == -1.1
    assert round(sweeper["reversals"].straight.value) == 11
    assert round(sweeper["reversals"].shaped.value) == 5
    says("The Snow carrier is faster and gains more: 24 mm becomes 14 mm.")
    assert demo_rig(CARRIER).top_speed > demo_rig(SWEEPER).top_speed
    assert round(1e3 * carrier["error"].straight.value) == 24
    assert round(1e3 * carrier["error"].shaped.value) == 14
    assert carrier["error"].difference.high < sweeper["error"].difference.low
    says("The Orchard cart is slow and gains little: 0.3 s, and nothing worth having in the final")
    assert demo_rig(CART).top_speed < demo_rig(SWEEPER).top_speed
    assert round(cart["time"].difference.value, 1) == -0.3
    assert cart["error"].verdict == NO_DIFFERENCE


def test_without_tremor_nothing_is_gained() -> None:
    says("No tremor, only noise that grows: nothing worth having.")
    assert Plan().hand.growing > 0.0
    for name in DEMOS:
        verdicts = {one.verdict for one in compared(name, tremor=0.0).values()}
        assert verdicts == {NO_DIFFERENCE}
    says("The Vineyard sweeper is even 0.03 s slower.")
    slower = compared(SWEEPER, tremor=0.0)["time"].difference
    assert round(slower.value, 2) == 0.03
    assert slower.sign == 1


def test_it_can_hurt() -> None:
    says("It can hurt. Orchard cart in the bay: 21 mm becomes 35 mm.")
    found = compared(CART, place="bay")["error"]
    assert found.verdict == "hurts"
    assert round(1e3 * found.straight.value) == 21
    assert round(1e3 * found.shaped.value) == 35
    says("It has one stick for each side, and at 0.5 m/s both are past their soft part.")
    rig = demo_rig(CART)
    assert rig.chain.mix.kind == "independent"
    assert Plan().operator.approach_m_s == 0.5
    for shape, straight in zip(rig.chain.shapes, rig.straightened().chain.shapes, strict=True):
        thumb = shape.inverse(0.5 / rig.top_speed)
        assert shape.slope(thumb) > straight.slope(thumb)
    says("At 0.25 m/s the difference is not worth having.")
    assert compared(CART, place="bay", approach_m_s=0.25)["error"].verdict == NO_DIFFERENCE


def test_the_thumb_must_have_learned_it() -> None:
    says("Whoever moves a soft stick as if it were straight takes twice as long")
    says("on the Vineyard sweeper 15 s in place of 7 s.")
    found = compared(SWEEPER, knows_shape=0.0)["time"]
    assert int(found.shaped.value) == 15
    assert int(found.straight.value) == 7
    for name in DEMOS:
        found = compared(name, knows_shape=0.0)["time"]
        assert 1.9 < found.shaped.value / found.straight.value < 2.7


# --- the three questions -------------------------------------------------------------------


def test_steady_hands_and_a_slow_machine_have_nothing_to_divide() -> None:
    says("Most likely not. It divides shaking and steps by the first slope.")
    slowest = min(DEMOS, key=lambda name: demo_rig(name).top_speed)
    assert {one.verdict for one in compared(slowest).values()} == {NO_DIFFERENCE}


def test_jumpy_at_full_speed_is_the_price() -> None:
    says("With a softness of 0.6 the stick acts 2.2 times as strongly at its end.")
    assert softer(0.6).slope(1.0) == pytest.approx(2.2)
    says("Take less softness, or lower the top speed.")
    assert softer(0.3).slope(1.0) < 2.2
    assert Lesson().price == 0.6


def test_swinging_from_seeing_late_is_not_cured() -> None:
    says("No, if the swinging comes from seeing late.")
    says("With a reaction time of 0.6 s the pretend operator swings five times with either stick.")
    late = compared(SWEEPER, reaction_s=0.6)["reversals"]
    assert round(late.shaped.value) == round(late.straight.value) == 5
    assert late.verdict == NO_DIFFERENCE
    says("Correcting less briskly does: with a briskness of 0.6 he swings back less than once.")
    calm = Plan(course=Course()).with_value("reaction_s", 0.6).with_value("crossover", 0.6)
    for rig in (demo_rig(SWEEPER), demo_rig(SWEEPER).straightened()):
        assert run(rig, calm, 500).reversals.mean() < 1.0


# --- nothing left out ----------------------------------------------------------------------


def quoted() -> list[str]:
    """The words given to `says` anywhere in this file."""
    tree = ast.parse(Path(__file__).read_text(encoding="utf-8"))
    calls = (node for node in ast.walk(tree) if isinstance(node, ast.Call))
    return [
        node.args[0].value
        for node in calls
        if isinstance(node.func, ast.Name)
        and node.func.id == "says"
        and isinstance(node.args[0], ast.Constant)
    ]


def test_no_number_in_the_workbook_goes_unchecked() -> None:
    text = prose()
    covered = np.zeros(len(text), dtype=bool)
    spans = [re.escape(words) for words in quoted()]
    for pattern in (*spans, *NO_CLAIM):
        for found in re.finditer(pattern, text):
            covered[found.start() : found.end()] = True
    left = [
        text[max(0, found.start() - 30) : found.end() + 20]
        for found in re.finditer(r"\d+", text)
        if not covered[found.start()]
    ]
    assert left == []
