"""The same seed gives the same trials, whatever else is changed about the run."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from rigs import bare_rig, demo_rig

from curvelib import CubicBlend, Shape
from curvelib.practice.course import Course
from curvelib.practice.operator import Hand
from curvelib.practice.plan import Outcome, Plan
from curvelib.practice.trial import BLOCK, Run, Shaking, run

SHORT = Plan(duration_s=3.0, course=Course(distance_m=0.5))


def same(one: Outcome, other: Outcome) -> bool:
    return all(
        np.array_equal(getattr(one, field.name), getattr(other, field.name))
        for field in fields(Outcome)
    )


def test_seeds_reproduce() -> None:
    rig = demo_rig("vineyard_sweeper")
    first = run(rig, SHORT, 50, seed=3)
    assert same(first, run(rig, SHORT, 50, seed=3))
    assert not same(first, run(rig, SHORT, 50, seed=4))


def test_fewer_trials_are_the_first_of_more() -> None:
    """Blocks and their sizes do not show."""
    rig = demo_rig("vineyard_sweeper")
    most = run(rig, SHORT, BLOCK + 30)
    for count in (7, BLOCK, BLOCK + 10):
        fewer = run(rig, SHORT, count)
        assert len(fewer) == count
        np.testing.assert_allclose(fewer.along_m, most.along_m[:count], atol=1e-9)
        np.testing.assert_array_equal(fewer.reversals, most.reversals[:count])


def test_two_shapes_meet_the_same_hand() -> None:
    """Common random numbers: what is added to the thumb is the same under both shapes."""
    plan = SHORT.with_value("growing", 0.0).with_value("crossover", 0.2)
    still = plan.with_value("tremor", 0.0)
    added = []
    for shape in (Shape(), Shape([CubicBlend(0.6)])):
        thumbs = []
        for one in (plan, still):
            going = Run(bare_rig(shape), one, 1, traced=1)
            assert list(going)[-1] == 1.0
            thumbs.append(going.traces[0].thumbs[0, 0])
        added.append(thumbs[0] - thumbs[1])
    assert added[0] == pytest.approx(added[1], abs=1e-12)
    assert added[0] != 0.0


def test_shaking_has_the_spread_and_the_memory_it_is_said_to_have() -> None:
    """Unit rms from the first frame on; e^(-t/T) of it is left after t."""
    shaking = Shaking(Hand(shake_s=0.2), 2, BLOCK, 0.02, (1, 0))
    first = shaking.step()
    for _ in range(9):
        shaking.step()
    later = shaking.step()
    assert first.std() == pytest.approx(1.0, abs=0.03)
    assert later.std() == pytest.approx(1.0, abs=0.03)
    assert (first * later).mean() == pytest.approx(np.exp(-0.2 / 0.2), abs=0.04)


def test_a_stopped_run_keeps_the_blocks_it_finished() -> None:
    going = Run(bare_rig(), SHORT, 3 * BLOCK)
    with pytest.raises(ValueError, match="No trial has finished"):
        going.outcome()
    shares = []
    for share in going:
        shares.append(share)
        if share > 0.5:
            break
    ended = going.outcome()
    assert len(ended) == BLOCK
    assert shares == sorted(shares)
    assert same(ended, run(bare_rig(), SHORT, BLOCK))


def test_progress_ends_at_one() -> None:
    assert list(Run(bare_rig(), SHORT, 10))[-1] == 1.0


@pytest.mark.parametrize("trials", [0, -1, 10**7])
def test_a_number_of_trials_out_of_range_is_refused(trials: int) -> None:
    with pytest.raises(ValueError, match="give from 1 to"):
        Run(bare_rig(), SHORT, trials)


def test_a_plan_changes_one_number_wherever_it_lives() -> None:
    plan = Plan()
    for name, value in (("tremor", 0.05), ("crossover", 2.0), ("distance_m", 4.0)):
        changed = plan.with_value(name, value)
        assert changed.value(name) == value
        assert changed.with_value(name, plan.value(name)) == plan
    assert plan.with_value("duration_s", 5.0).frames == 250
    with pytest.raises(ValueError, match="holds no 'colour'"):
        plan.with_value("colour", 1.0)
    with pytest.raises(ValueError, match="out of range"):
        plan.with_value("tremor", 2.0)
