"""The panel of the trials shows what the library finds, and says when that is out of date."""

from __future__ import annotations

import asyncio
import random
import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from demos import DEMOS
from sweep import sweep

from curvelib import Deadband, Shape
from curvelib.panels import settings
from curvelib.panels.desk import Desk
from curvelib.panels.trial_panel import TrialPanel
from curvelib.panels.trial_words import listed
from curvelib.panels.units import Units
from curvelib.practice.course import Course
from curvelib.practice.operator import SOURCES
from curvelib.practice.plan import Plan
from curvelib.practice.results import MEASURES, Compared, compare
from curvelib.practice.sensitivity import TRIED
from curvelib.practice.trial import run

DeskOf = Callable[[str], Desk]
STALE = "press Run"


@pytest.fixture(autouse=True)
def few_short_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is tested here needs neither many tries nor long ones."""
    monkeypatch.setattr("curvelib.panels.trial_panel.TRIES_AT_FIRST", 200)
    monkeypatch.setattr("curvelib.panels.sensitivity_box.TRIALS", 2)
    monkeypatch.setattr("curvelib.panels.trial_panel.Plan", short)
    few = {name: values[:1] for name, values in TRIED.items()}
    monkeypatch.setattr("curvelib.practice.sensitivity.TRIED", few)


def short(course: Course) -> Plan:
    return Plan(course=replace(course, distance_m=1.0), duration_s=5.0)


def found_anew(panel: TrialPanel) -> dict[str, Compared]:
    rig, plan = panel.what_now()
    count = panel.trials.value
    return compare(run(rig, plan, count), run(rig.straightened(), plan, count))


def assert_shows(panel: TrialPanel, found: dict[str, Compared]) -> None:
    """The cards hold the means, the difference and its half width."""
    text = panel.figures_text.replace("\u00a0", " ")
    sizes = {"error": (1000.0, 1, " mm"), "time": (1.0, 2, " s"), "reversals": (1.0, 2, "")}
    for name, one in found.items():
        size, digits, unit = sizes[name]
        shaped, straight, difference, half = (
            f"{size * abs(value):.{digits}f}{unit}"
            for value in (
                one.shaped.value,
                one.straight.value,
                one.difference.value,
                one.difference.half,
            )
        )
        assert f"{shaped} against {straight} straight, sure to ± {half}<" in text, name
        way = "less" if one.difference.value < 0.0 else "more"
        none = float(difference.removesuffix(unit)) == 0.0
        assert f">{difference}{'' if none else f' {way}'}<" in text, name


@pytest.mark.parametrize("demo", DEMOS)
def test_it_opens_with_the_machines_own_result(demo: str, desk_of: DeskOf) -> None:
    panel = TrialPanel(desk_of(demo))
    assert_shows(panel, found_anew(panel))
    assert panel.desk.tune.name in panel.sentence.value
    assert not panel.desk.changed
    picture = panel.drawing.picture
    assert np.array_equal(picture.pixels(), picture.fresh_pixels())


@pytest.mark.parametrize("demo", DEMOS)
def test_wherever_the_controls_stand_a_run_shows_the_librarys_numbers(
    demo: str, desk_of: DeskOf
) -> None:
    """A sweep marks the numbers as old each time they are; then a run at a random place."""
    panel = TrialPanel(desk_of(demo))
    shown = panel.figures_text
    asked = (*panel.what_now(), panel.trials.value)

    def check(words: str) -> None:
        assert panel.figures_text == shown, words
        fresh = (*panel.what_now(), panel.trials.value) == asked
        assert (STALE in panel.job.note.value) is not fresh, words

    assert sweep(panel, check, seed=len(demo)) > 40
    panel.trials.value = 200
    panel.job.start()
    assert_shows(panel, found_anew(panel))
    assert STALE not in panel.job.note.value


def test_every_slider_reaches_the_plan(desk_of: DeskOf) -> None:
    panel = TrialPanel(desk_of("vineyard_sweeper"))
    rng = random.Random(6)
    for name, slider in panel.sliders.items():
        slider.slider.value = rng.uniform(slider.slider.min, slider.slider.max)
        assert panel.what_now()[1].value(name) == slider.value
        assert SOURCES[name].split()[0] in slider.children[-1].value
    panel.place.value = "bay"
    assert panel.what_now()[1].course.place == "bay"


def test_a_softness_may_be_tried_in_place_of_the_files_shape(desk_of: DeskOf) -> None:
    panel = TrialPanel(desk_of("vineyard_sweeper"))
    own, _ = panel.what_now()
    panel.shape.value = "try"
    panel.softness.slider.value = 0.3
    tried, _ = panel.what_now()
    assert tried == own.softened(0.3) != own


def test_another_machine_makes_new_numbers(desk_of: DeskOf) -> None:
    desk = desk_of("vineyard_sweeper")
    panel = TrialPanel(desk)
    before = panel.figures_text
    panel.sensitivity.job.start()
    desk.open(desk.folder / "machines" / "orchard_cart.toml")
    assert panel.figures_text != before
    assert_shows(panel, found_anew(panel))
    assert "assumed: turning share" in panel.sentence.value
    assert "Nothing tried yet" in panel.sensitivity.sentence.value


def test_a_machine_of_which_nothing_is_known_is_tried_with_what_is_assumed(
    desk_of: DeskOf,
) -> None:
    desk = desk_of("vineyard_sweeper")
    panel = TrialPanel(desk)
    desk.begin_new()
    for words in ("top speed", "track", "turning share", "drive lag"):
        assert words in panel.sentence.value
    assert "as strong near the centre as the straight one" in panel.sentence.value
    assert not desk.changed


def test_a_stick_that_never_moves_the_machine_is_said_to(desk_of: DeskOf) -> None:
    desk = desk_of("vineyard_sweeper")
    panel = TrialPanel(desk)
    desk.tune = replace(desk.tune).with_shape("throttle", Shape([Deadband(0.5)] * 8))
    panel.job.start()
    assert "hardly moves the machine" in panel.sentence.value
    assert "Not parked" not in panel.sentence.value


def test_who_never_parks_is_counted(desk_of: DeskOf) -> None:
    panel = TrialPanel(desk_of("vineyard_sweeper"))
    panel.sliders["close_enough_m"].slider.value = 0.0
    panel.job.start()
    assert "Not parked within 5 s: 100 % with this stick" in panel.sentence.value


def test_lengths_follow_the_readers_units(desk_of: DeskOf) -> None:
    settings.keep_units(Units("mph", "in"))
    panel = TrialPanel(desk_of("vineyard_sweeper"))
    found = found_anew(panel)["error"]
    assert f"{found.shaped.value / 0.0254:.2f} in against" in panel.figures_text
    assert " mm" not in panel.figures_text
    axes = panel.drawing.picture.figure.axes
    assert "(in)" in axes[1].get_xlabel()


def test_curves_are_the_tries(desk_of: DeskOf) -> None:
    """The running shares hold every try, shaped and straight each in its own line."""
    panel = TrialPanel(desk_of("snow_carrier"))
    rig, plan = panel.what_now()
    ended = [run(one, plan, 200) for one in (rig.straightened(), rig)]
    for which, outcome in enumerate(ended):
        error, share = panel.drawing._lines[0][which].get_data()
        assert error == pytest.approx(np.sort(1000.0 * outcome.error_m))
        assert (share[0], share[-1]) == pytest.approx((0.5, 100.0))
        time = panel.drawing._lines[1][which].get_xdata()
        assert time == pytest.approx(np.sort(outcome.time_s))
    time, to_go = panel.drawing._over_time[0][1].get_data()
    assert time[0] == pytest.approx(plan.frame_s)
    assert to_go[0] == pytest.approx(1000.0 * plan.course.distance_m, abs=5.0)


def test_a_stop_leaves_as_many_tries_of_each(
    desk_of: DeskOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both sticks are tried in turns, in blocks, so what is finished compares."""
    monkeypatch.setattr("curvelib.practice.trial.BLOCK", 50)
    panel = TrialPanel(desk_of("vineyard_sweeper"))
    panel.trials.value = 500

    async def use() -> None:
        panel.job.start()
        while panel.job.progress.value < 0.4:
            await asyncio.sleep(0)
        panel.job.stop()
        while panel.job.going:
            await asyncio.sleep(0)

    asyncio.run(use())
    told = re.search(r"Stopped after (\d+) tries", panel.job.note.value)
    assert told is not None
    count = int(told.group(1))
    assert 0 < count < 500
    rig, plan = panel.what_now()
    assert_shows(panel, compare(run(rig, plan, count), run(rig.straightened(), plan, count)))


def test_stopped_at_once_the_last_numbers_stay(desk_of: DeskOf) -> None:
    panel = TrialPanel(desk_of("vineyard_sweeper"))
    before = panel.figures_text

    async def use() -> None:
        panel.job.start()
        panel.job.stop()
        while panel.job.going:
            await asyncio.sleep(0)

    asyncio.run(use())
    assert panel.figures_text == before
    assert "before there was anything" in panel.job.note.value


# --- what if an assumption is wrong ----------------------------------------------------------


def test_every_assumption_is_tried_and_drawn(desk_of: DeskOf) -> None:
    """One small picture each, its line the library's differences, the value in use marked."""
    panel = TrialPanel(desk_of("vineyard_sweeper"))
    box = panel.sensitivity
    box.job.start()
    assert box._work is not None
    for measure in MEASURES:
        box.measure.value = measure
        size = 0.001 if measure == "error" else 1.0
        for name in TRIED:
            _, line, dot = box.drawing._parts[name]
            values, differences = line.get_data()
            tried = box._work.results[name]
            assert values == pytest.approx([one.value for one in tried])
            wanted = [one.found[measure].difference.value / size for one in tried]
            assert differences == pytest.approx(wanted)
            assert dot.get_xdata() == pytest.approx([Plan().value(name)])
        assert MEASURES[measure].name in box.sentence.value
        picture = box.drawing.picture
        assert np.array_equal(picture.pixels(), picture.fresh_pixels())


def test_where_it_turns_round_is_said_in_the_readers_units(
    desk_of: DeskOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        "curvelib.panels.sensitivity_box.turns_round",
        lambda values, _: [(values[0], values[-1])],
    )
    settings.keep_units(Units("m/s", "mm"))
    panel = TrialPanel(desk_of("vineyard_sweeper"))
    panel.sensitivity.job.start()
    assert "close enough between 5 and 20 mm" in panel.sensitivity.sentence.value
    assert "misjudged place between 0 and 10 mm" in panel.sensitivity.sentence.value


def test_lists_read_like_speech() -> None:
    assert listed(["a"]) == "a"
    assert listed(["a", "b"]) == "a and b"
    assert listed(["a", "b", "c"]) == "a, b and c"
