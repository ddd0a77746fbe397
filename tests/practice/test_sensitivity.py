"""What each assumption does, and where the answer turns round."""

from __future__ import annotations

from dataclasses import fields

import pytest
from rigs import demo_rig

from curvelib.params import params_of
from curvelib.practice.course import Course
from curvelib.practice.operator import SOURCES, Hand, Operator
from curvelib.practice.plan import Plan
from curvelib.practice.results import Interval, compare
from curvelib.practice.sensitivity import TRIED, Sensitivity, tried_values, turns_round
from curvelib.practice.trial import run

SHORT = Plan(course=Course(distance_m=0.5), duration_s=4.0)


def interval(low: float, high: float) -> Interval:
    return Interval(0.5 * (low + high), low, high)


def test_each_number_has_a_source_or_is_called_an_assumption() -> None:
    """None is left out, and none that does not exist is named."""
    held = {name for part in (Operator, Hand, Course, Plan) for name in params_of(part)}
    assert set(SOURCES) == held
    for name, words in SOURCES.items():
        marks = ("ssumed", "memory", "second-hand", "common practice", "Chosen")
        assert any(mark in words for mark in marks), name


def test_every_number_of_operator_and_hand_is_tried() -> None:
    held = {field.name for part in (Operator, Hand) for field in fields(part)}
    assert set(TRIED) == held
    plan = Plan()
    for name in TRIED:
        values = tried_values(plan.with_value(name, TRIED[name][0]), name)
        assert list(values) == sorted(set(values))
        assert plan.value(name) in tried_values(plan, name)


def test_results_are_those_of_the_trials_themselves() -> None:
    rig = demo_rig("vineyard_sweeper")
    work = Sensitivity(rig, SHORT, 40, seed=5, names=("tremor",))
    shares = list(work)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert [one.value for one in work.results["tremor"]] == list(tried_values(SHORT, "tremor"))
    for one in work.results["tremor"]:
        plan = SHORT.with_value("tremor", one.value)
        straight = run(rig.straightened(), plan, 40, seed=5)
        assert one.found == compare(run(rig, plan, 40, seed=5), straight)


def test_stopped_early_it_keeps_what_it_has() -> None:
    work = Sensitivity(demo_rig("vineyard_sweeper"), SHORT, 10, names=("tremor", "growing"))
    for share in work:
        if share > 0.3:
            break
    assert 1 <= len(work.results["tremor"]) < len(tried_values(SHORT, "tremor"))
    assert work.results["growing"] == []


@pytest.mark.parametrize(
    ("signs", "wanted"),
    [
        ("++--", [(2, 3)]),
        ("+0-", [(1, 3)]),
        ("-00+-", [(1, 4), (4, 5)]),
        ("+00+", []),
        ("000", []),
    ],
)
def test_it_turns_round_only_between_values_beyond_doubt(
    signs: str, wanted: list[tuple[int, int]]
) -> None:
    ends = {"+": interval(1, 2), "-": interval(-2, -1), "0": interval(-1, 2)}
    values = range(1, len(signs) + 1)
    assert turns_round(list(values), [ends[sign] for sign in signs]) == wanted
