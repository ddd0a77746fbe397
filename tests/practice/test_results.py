"""Intervals against scipy, and verdicts that say no more than the interval."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st
from rigs import demo_rig

from curvelib.practice.course import Course
from curvelib.practice.plan import Outcome, Plan
from curvelib.practice.results import MEASURES, Compared, Interval, compare, mean_of, share_of
from curvelib.practice.trial import run


@pytest.mark.parametrize("count", [6, 30, 500])
def test_the_mean_has_students_interval(count: int) -> None:
    """scipy.stats.t, within 1 % of its half width from 6 values on."""
    values = np.random.default_rng(count).normal(3.0, 2.0, count)
    found = mean_of(values)
    sure = scipy.stats.t.interval(0.95, count - 1, values.mean(), scipy.stats.sem(values))
    assert found.value == pytest.approx(values.mean())
    assert found.half == pytest.approx((sure[1] - sure[0]) / 2, rel=0.01)
    assert found.low == pytest.approx(found.value - found.half)


@pytest.mark.parametrize(("true", "count"), [(0, 20), (7, 50), (300, 300)])
def test_a_share_has_wilsons_interval(true: int, count: int) -> None:
    """scipy.stats.binomtest(...).proportion_ci(method="wilson")."""
    flags = np.arange(count) < true
    wilson = scipy.stats.binomtest(true, count).proportion_ci(method="wilson")
    found = share_of(flags)
    assert found.value == true / count
    assert (found.low, found.high) == pytest.approx((wilson.low, wilson.high), abs=1e-9)


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    random = np.random.default_rng(9)
    held = [
        found.low <= 1.0 <= found.high
        for found in (mean_of(random.exponential(1.0, 200)) for _ in range(1000))
    ]
    assert np.mean(held) == pytest.approx(0.95, abs=0.02)


def test_too_few_values_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 2"):
        mean_of([1.0])
    with pytest.raises(ValueError, match="at least 1"):
        share_of([])
    with pytest.raises(ValueError, match="finite"):
        mean_of([1.0, float("nan")])


@given(st.floats(-5, 5), st.floats(0, 3))
def test_a_verdict_says_only_what_the_whole_interval_bears_out(middle: float, half: float) -> None:
    difference = Interval(middle, middle - half, middle + half)
    verdict = Compared(difference, difference, difference, worth=1.0).verdict
    inside = np.linspace(difference.low, difference.high, 50)
    assert (verdict == "helps") == bool((inside < -1.0).all())
    assert (verdict == "hurts") == bool((inside > 1.0).all())
    assert (verdict == "makes no difference worth having") == bool((np.abs(inside) <= 1.0).all())
    assert difference.sign == (1 if (inside > 0).all() else -1 if (inside < 0).all() else 0)


def test_pairs_are_surer_than_two_separate_sets() -> None:
    """The same shaking hand under both shapes makes the difference far narrower."""
    rig, plan = demo_rig("vineyard_sweeper"), Plan(course=Course(distance_m=1.0), duration_s=8.0)
    shaped, straight = run(rig, plan, 300), run(rig.straightened(), plan, 300)
    paired = compare(shaped, straight)["time"]
    apart = np.hypot(paired.shaped.half, paired.straight.half)
    assert paired.difference.half < 0.7 * apart
    assert paired.difference.value == pytest.approx(paired.shaped.value - paired.straight.value)


def test_measures_are_read_off_the_outcome() -> None:
    ended = Outcome(
        along_m=np.array([3.0, -0.3]),
        left_m=np.array([4.0, 0.4]),
        heading_rad=np.zeros(2),
        time_s=np.array([1.0, 2.0]),
        parked=np.array([True, False]),
        reversals=np.array([0, 3]),
    )
    found = {name: measure.of(ended).tolist() for name, measure in MEASURES.items()}
    assert found == {"error": pytest.approx([5.0, 0.5]), "time": [1.0, 2.0], "reversals": [0, 3]}
    longer = replace(
        ended, **{name: np.tile(getattr(ended, name), 2) for name in ended.__dataclass_fields__}
    )
    assert compare(longer, ended)["time"].difference.value == 0.0
