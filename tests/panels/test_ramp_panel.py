"""The ramp panel: its numbers, lines and marks are the library's, wherever its controls stand."""

from __future__ import annotations

import math
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from demos import DEMOS, WORKBOOKS
from sweep import sweep

from curvelib import Chain, SlewLimit
from curvelib.machine.limits import RampWindow, Stance, ramp_window, stopping_distance
from curvelib.machine.motion import body_motion
from curvelib.machine.recording import read_recording
from curvelib.machine.response import respond
from curvelib.panels import ramp_facts, settings
from curvelib.panels.desk import Desk
from curvelib.panels.ramp_panel import RampPanel
from curvelib.panels.units import Units
from curvelib.tune import Machine

DeskOf = Callable[[str], Desk]
STOP, START, SNAP, _, _, STEER_LET_GO, IN_A_TURN = range(7)


@pytest.fixture(autouse=True)
def recordings(workfolder: Path) -> Path:
    """The recordings beside the notebooks."""
    folder = workfolder / "recordings"
    shutil.copytree(WORKBOOKS / "recordings", folder)
    return folder


def facts_of(panel: RampPanel) -> dict[str, Any]:
    """The numbers on the sliders, under the library's own names."""
    machine = panel.desk.tune.machine
    return {
        "top_speed": panel.facts["top_speed_m_s"].value,
        "cg_to_front": machine.cg_to_front_m,
        "cg_to_rear": machine.cg_to_rear_m,
        "cg_height": panel.facts["cg_height_m"].value,
        "friction": panel.facts["friction"].value,
        "driven": machine.driven,
        "lag": panel.facts["lag_s"].value,
    }


def window_of(panel: RampPanel) -> RampWindow:
    """The window by the library, from the tune on the desk and the sliders."""
    scene = {name: slider.value for name, slider in panel.scene.items()}
    return ramp_window(
        **facts_of(panel),
        slope=math.radians(scene["slope_deg"]),
        delay=scene["delay_s"],
        room=scene["room_m"],
        margin=scene["margin"],
        path=Chain.from_tune(panel.desk.tune),
    )


def expected_cards(panel: RampPanel, window: RampWindow) -> list[str]:
    slew = panel.desk.tune.slew
    top, lag = panel.facts["top_speed_m_s"].value, panel.facts["lag_s"].value
    first = Chain.from_tune(panel.desk.tune).shapes[0](1.0)
    rolls = stopping_distance(
        top * first,
        delay=panel.scene["delay_s"].value,
        to_stop=slew.to_stop_s,
        top_speed=top,
        lag=lag,
    )
    stop, full = ">none<", ">none<"
    if not window.empty:
        low = math.ceil(100 * window.least_to_stop - 1e-9) / 100
        high = math.floor(100 * window.most_to_stop + 1e-9) / 100
        stop = f">{low:.2f} to {high:.2f} s<" if math.isfinite(high) else f">{low:.2f} s or longer<"
    if window.least_to_full is not None:
        full = f">{math.ceil(100 * window.least_to_full - 1e-9) / 100:.2f} s or longer<"
    texts = [stop, full, f">{panel.units.text(rolls, 'm')}<"]
    inside = window.holds(slew.to_stop_s, slew.to_full_s)
    texts += ["in the window<"] if inside else []
    return texts


@pytest.mark.parametrize("demo", DEMOS)
def test_a_sweep_of_every_control_shows_the_librarys_numbers(demo: str, desk_of: DeskOf) -> None:
    """Window and stopping distance equal the library's, and the picture a fresh full draw."""
    panel = RampPanel(desk_of(demo))
    picture, checked = panel.drawing.picture, []

    def check(words: str) -> None:
        checked.append(words)
        window, slew = window_of(panel), panel.desk.tune.slew
        for text in expected_cards(panel, window):
            assert text in panel.figures_text, (words, text)
        assert window.words() in panel._window.value, words
        both = panel.figures_text.count("in the window<") == 2
        assert both == window.holds(slew.to_stop_s, slew.to_full_s), words
        if len(checked) % 25 == 0:
            assert np.array_equal(picture.pixels(), picture.fresh_pixels()), words

    sweep(panel, check)
    assert len(checked) > 60
    assert np.array_equal(picture.pixels(), picture.fresh_pixels())


@pytest.mark.parametrize("demo", DEMOS)
def test_opening_a_file_changes_nothing(demo: str, desk_of: DeskOf) -> None:
    """Looking at every change and recording, on any ground, is no change to the file."""
    panel = RampPanel(desk_of(demo))
    for _, place in panel.change.options:
        panel.change.value = place
    for slider in panel.scene.values():
        slider.slider.value = slider.slider.min
    panel.recordings.chooser.value = panel.recordings.chooser.options[-1][1]
    panel.nose.value = True
    assert not panel.desk.changed


def test_the_command_line_is_what_the_slew_limit_gives(desk_of: DeskOf) -> None:
    """A snap on the motors, against SlewLimit stepped through time."""
    panel = RampPanel(desk_of("snow_carrier"))
    panel.change.value = SNAP
    time, left = panel.drawing._left.get_data()
    slew = panel.desk.tune.slew
    dt = 1e-3
    steps = np.arange(0.0, slew.to_stop_s + slew.to_full_s + 0.2, dt)
    wanted = 100.0 * SlewLimit(slew.to_full_s, slew.to_stop_s).limit(
        np.full(len(steps), -1.0), dt, start=1.0
    )
    drawn = np.interp(steps, time, left)
    # The line holds means over its own steps, which are longer.
    assert np.abs(drawn - wanted).max() < 100.0 * 0.02 / slew.to_stop_s
    assert np.all(left[time < -0.01] == 100.0)


@pytest.mark.parametrize("uphill", [False, True])
def test_limits_and_marks_are_where_the_library_says(uphill: bool, desk_of: DeskOf) -> None:
    """The limit lines are Stance's; the mark is the first sample at which grip is used up."""
    panel = RampPanel(desk_of("vineyard_sweeper"))
    panel.nose.value = uphill
    panel.change.value = SNAP
    for slider in panel.ramps.values():
        slider.slider.value = 0.2
    facts, slope = facts_of(panel), math.radians(panel.scene["slope_deg"].value)
    stance = Stance(
        facts["cg_to_front"],
        facts["cg_to_rear"],
        facts["cg_height"],
        facts["friction"],
        panel.desk.tune.machine.track_m,
        facts["driven"],
        -slope if uphill else slope,
    )
    for line, case in (
        (panel.drawing._slide_limit, stance.grip),
        (panel.drawing._tip_limit, stance.tip),
    ):
        levels = set(np.asarray(line.get_ydata())[[0, -1]].tolist())
        assert levels == {case.start_forward, -case.stop_forward}
    time, push = panel.drawing._body.get_data()
    # Straight ahead nothing pulls sideways.
    over = stance.slide_use(push) >= 1.0
    marks = [mark.get_xdata() for mark in panel.drawing._marks]
    assert over.any()
    assert marks[0][0] == marks[2][0] == time[np.argmax(over)]
    assert len(marks[1]) == len(marks[3]) == 0
    assert f"slide from {max(0.0, time[np.argmax(over)]):.2f} s on" in panel.sentence.value
    shown = np.isfinite(np.asarray(panel.drawing._over.get_ydata(), dtype=float))
    assert np.array_equal(shown, over)


def test_a_tall_machine_tips_and_is_marked_so(desk_of: DeskOf) -> None:
    """With plenty of grip and a high centre of mass it goes over before it slides."""
    panel = RampPanel(desk_of("vineyard_sweeper"))
    panel.facts["friction"].slider.value = 1.2
    panel.facts["cg_height_m"].slider.value = 1.5
    panel.ramps["to_stop_s"].slider.value = 0.2
    assert "tip from" in panel.sentence.value
    assert len(panel.drawing._marks[1].get_xdata()) == 1
    assert "it would tip" in panel.figures_text


def test_the_bar_is_the_window_and_the_marker_in_or_out_of_it(desk_of: DeskOf) -> None:
    """Ends of the thick bar are the window's; a dot inside, a cross outside."""
    panel = RampPanel(desk_of("vineyard_sweeper"))
    window, view = window_of(panel), panel.drawing
    assert view._bars["to stop"][0].get_xdata() == [window.least_to_stop, window.most_to_stop]
    assert view._bars["to full"][0].get_xdata()[0] == window.least_to_full
    assert view._chosen["to stop"].get_marker() == "X"
    panel.ramps["to_stop_s"].slider.value = 1.0
    assert view._chosen["to stop"].get_marker() == "o"
    assert view._chosen["to stop"].get_xdata() == [1.0]
    panel.ramps["to_full_s"].slider.value = 2.0
    assert panel.figures_text.count("in the window") == 2
    panel.ramps["to_stop_s"].slider.value = 1.5
    assert "too long for the room" in panel.figures_text
    assert view._chosen["to stop"].get_marker() == "X"


def test_an_empty_window_says_why_and_what_would_help(desk_of: DeskOf) -> None:
    """No bar, and the library's own words."""
    panel = RampPanel(desk_of("snow_carrier"))
    assert window_of(panel).empty
    assert panel.figures_text.count(">none<") == 2
    assert len(panel.drawing._bars["to stop"][0].get_xdata()) == 0
    assert "What would help" in panel._window.value
    assert "driving and braking all wheels" in panel._window.value
    panel.scene["slope_deg"].slider.value = 0.0
    panel.facts["friction"].slider.value = 0.6
    panel.scene["room_m"].slider.value = 12.0
    assert not window_of(panel).empty
    assert len(panel.drawing._bars["to stop"][0].get_xdata()) == 2


def test_stopping_together_keeps_the_radius_and_the_table_is_the_pictures(desk_of: DeskOf) -> None:
    """On a circle with both in step; tighter on the motors, straighter on the sticks."""
    panel = RampPanel(desk_of("snow_carrier"))
    held = panel.scene["held"].value
    chain, top = Chain.from_tune(panel.desk.tune), panel.facts["top_speed_m_s"].value
    left, right = chain.steady(1.0, held)
    machine = panel.desk.tune.machine
    radius = body_motion(top * left, top * right, machine.track_m or 0.0, 0.95).radius
    turned = {}
    for place, line in panel.drawing._ways.items():
        y, x = (np.asarray(values) for values in line.get_data())
        length = np.hypot(np.diff(x), np.diff(y)).sum()
        assert f">{panel.units.text(length, 'm')}<" in panel._ways.value
        turned[place] = math.atan2(y[-1] - y[-2], x[-1] - x[-2])
        if place == "together":
            assert np.hypot(x, y - radius) == pytest.approx(abs(radius), rel=1e-6)
    assert abs(turned["motors"]) > abs(turned["together"]) > abs(turned["sticks"])
    assert "motors (in this file)" in panel._ways.value


def test_letting_go_of_steer_makes_a_motor_grow_at_the_stop_rate(desk_of: DeskOf) -> None:
    """On the sticks with overflow scale; on the motors it does not."""
    panel = RampPanel(desk_of("vineyard_sweeper"))
    panel.facts["top_speed_m_s"].slider.value = 1.6
    panel.desk.tune = replace(
        panel.desk.tune, steer=replace(panel.desk.tune.steer, shape=panel.desk.tune.throttle.shape)
    )
    panel.load()
    panel.change.value = STEER_LET_GO
    panel.ramps["to_full_s"].slider.value = 2.0
    panel.acts_on.value = "sticks"
    time, right = (np.asarray(values)[1:-1] for values in panel.drawing._right.get_data())
    rate = (np.diff(right) / np.diff(time))[1:-1].max() / 100.0
    assert rate > 1.0 / 2.0 * 1.5
    assert f"up to {rate * 2.0:.1f} times the rate" in panel.sentence.value
    panel.acts_on.value = "motors"
    assert "times the rate" not in panel.sentence.value


def test_dragging_a_ramp_looks_for_no_new_window(desk_of: DeskOf) -> None:
    """The window does not depend on the ramps chosen, and looking it up is the slow part."""
    panel = RampPanel(desk_of("vineyard_sweeper"))
    before = ramp_facts._kept_window.cache_info().misses
    for seconds in (0.5, 0.9, 1.3):
        panel.ramps["to_stop_s"].slider.value = seconds
        panel.ramps["to_full_s"].slider.value = seconds
    assert ramp_facts._kept_window.cache_info().misses == before
    panel.scene["slope_deg"].slider.value = 7.5
    assert ramp_facts._kept_window.cache_info().misses == before + 1


def test_the_delay_begins_as_the_files_timeout_and_ramps_are_written(desk_of: DeskOf) -> None:
    """Scenario and file stay apart: the delay is never written, ramps and place are."""
    panel = RampPanel(desk_of("orchard_cart"))
    assert panel.scene["delay_s"].value == 0.8
    panel.scene["delay_s"].slider.value = 0.2
    assert not panel.desk.changed
    panel.desk.revert()
    assert panel.scene["delay_s"].value == 0.2
    panel.ramps["to_full_s"].slider.value = 1.0
    panel.acts_on.value = "together"
    slew = panel.desk.tune.slew
    assert (slew.to_full_s, slew.to_stop_s, slew.acts_on) == (1.0, 0.3, "together")
    assert panel.desk.tune.machine.friction is None
    assert "is assumed until you set it" in panel.facts["friction"].children[2].value


def test_independent_mixing_has_its_own_changes(desk_of: DeskOf) -> None:
    """Both sticks ahead is straight on; one let go turns; names follow the file."""
    panel = RampPanel(desk_of("orchard_cart"))
    assert panel.held_right in panel._held_box.children
    panel.change.value = STEER_LET_GO
    assert "Left stick let go" in panel.sentence.value
    assert panel.drawing._left.get_ydata()[-1] == 0.0
    assert panel.drawing._right.get_ydata()[-1] == 100.0
    panel.desk.open(panel.desk.folder / "machines" / "vineyard_sweeper.toml")
    assert panel.change.value == STEER_LET_GO
    assert "Steer let go at full throttle" in panel.sentence.value


def test_a_limit_in_the_shape_shortens_the_ramps_and_that_is_said(desk_of: DeskOf) -> None:
    """A top of 0.6 makes the time to that top 0.6 of to_full."""
    from curvelib import Limit

    panel = RampPanel(desk_of("vineyard_sweeper"))
    panel.desk.tune = panel.desk.tune.with_shape("throttle", Limit(0.6))  # type: ignore[arg-type]
    panel.load()
    assert "Full stick reaches 60 %" in panel._reach.value
    assert "0.36 s and 0.24 s" in panel._reach.value
    assert expected_cards(panel, window_of(panel))[2] in panel.figures_text


def test_a_recording_is_replayed_through_the_path(desk_of: DeskOf, recordings: Path) -> None:
    """The traces are Chain.run's and respond's of the file's pulses."""
    panel = RampPanel(desk_of("vineyard_sweeper"))
    path = recordings / "orchard_shunt.csv"
    panel.recordings.chooser.value = path
    read, tune = read_recording(path), panel.desk.tune
    run = Chain.from_tune(tune).run(read.first, read.second, read.since_before)
    held = respond(run.left, run.right, read.held_for, top_speed=1.6, track=0.82, lag=0.12)
    assert panel.drawing._right.get_ydata()[1:-1] == pytest.approx(100.0 * run.right)
    assert panel.drawing._goes.get_xdata()[1:-1] == pytest.approx(held.time)
    assert panel.drawing._goes.get_ydata()[1:-1] == pytest.approx(held.speed)
    assert panel.sentence.value.startswith("orchard_shunt.csv: ")
    assert panel.drawing._push.get_xlim()[0] == 0.0


def test_a_recording_of_another_transmitter_never_drives(desk_of: DeskOf, recordings: Path) -> None:
    """Sticks that do not rest at this machine's centre are said to."""
    panel = RampPanel(desk_of("vineyard_sweeper"))
    path = recordings / "held.csv"
    path.write_text("time_s,first,second\n0,0.5,0\n0.5,0.5,0\n1,0.5,0\n", encoding="utf-8")
    panel.recordings.read_again()
    panel.recordings.chooser.value = path
    assert "never rest at this machine&#x27;s centre for 0.5 s" in panel.sentence.value


def test_a_broken_recording_is_told_with_its_line_and_the_picture_stays(
    desk_of: DeskOf, recordings: Path
) -> None:
    """The message stands at the chooser; mended and read again, it is replayed."""
    panel = RampPanel(desk_of("vineyard_sweeper"))
    good = panel.view.png
    path = recordings / "broken.csv"
    path.write_text("time_s,first,second\n0,0,0\n0.02,zero,0\n", encoding="utf-8")
    panel.recordings.read_again()
    panel.recordings.chooser.value = path
    fault = panel.recordings.children[2].value
    assert "broken.csv, line 3: &#x27;zero&#x27; is not a number" in fault
    assert panel.view.png == good
    panel.ramps["to_stop_s"].slider.value = 0.9
    assert panel.desk.tune.slew.to_stop_s == 0.9
    assert panel.view.png == good
    path.write_text("time_s,first,second\n0,0,0\n1,0,0\n2,1,0\n3,1,0\n", encoding="utf-8")
    panel.recordings.again.click()
    assert panel.recordings.children[2].value == ""
    assert panel.sentence.value.startswith("broken.csv: ")
    assert panel.view.png != good
    path.unlink()
    panel.recordings.again.click()
    assert not panel.sentence.value.startswith("broken.csv")


def test_a_recording_changed_on_disk_is_read_again_when_asked(
    desk_of: DeskOf, recordings: Path
) -> None:
    """And not before: a drag reads no files."""
    path = recordings / "mine.csv"
    path.write_text("time_s,first,second\n0,0,0\n1,0,0\n2,1,0\n3,1,0\n", encoding="utf-8")
    panel = RampPanel(desk_of("vineyard_sweeper"))
    panel.recordings.chooser.value = path
    assert panel.sentence.value.startswith("mine.csv: 4.0 s")
    path.write_text("time_s,first,second\n0,0,0\n1,0,0\n2,-1,0\n", encoding="utf-8")
    panel.ramps["to_stop_s"].slider.value = 0.9
    assert panel.sentence.value.startswith("mine.csv: 4.0 s")
    panel.recordings.again.click()
    assert panel.sentence.value.startswith("mine.csv: 3.0 s")
    assert panel.drawing._left.get_ydata()[-1] < 0.0


def test_a_long_recording_is_cut_and_that_is_said(desk_of: DeskOf, recordings: Path) -> None:
    """Only so much is replayed that a drag stays quick."""
    rows = "\n".join(f"{0.02 * k:.2f},0,0" for k in range(1500))
    (recordings / "long.csv").write_text(f"time_s,first,second\n{rows}\n", encoding="utf-8")
    panel = RampPanel(desk_of("vineyard_sweeper"))
    panel.recordings.chooser.value = recordings / "long.csv"
    assert f"the first {ramp_facts.MOST_REPLAYED} of 1500 samples" in panel.sentence.value


def test_a_machine_of_which_nothing_is_known_is_told_so(desk_of: DeskOf) -> None:
    """Every measure that is assumed is named."""
    desk = desk_of("vineyard_sweeper")
    desk.begin_new()
    panel = RampPanel(desk)
    for label in ("track", "wheelbase", "centre of mass to front axle"):
        assert label in panel._assumed.value
    for slider in panel.facts.values():
        assert "is assumed" in slider.children[2].value
    assert desk.tune.machine == Machine()


def test_us_units_are_shown_and_si_is_kept(desk_of: DeskOf) -> None:
    """A reader of mph and inches sees them in numbers and axes."""
    settings.keep_units(Units("mph", "in"))
    panel = RampPanel(desk_of("vineyard_sweeper"))
    assert panel.drawing._speed.get_ylabel() == "speed (mph)"
    assert panel.drawing._goes.get_ydata()[0] == pytest.approx(1.6 / 0.44704)
    assert expected_cards(panel, window_of(panel))[2].endswith(" in<")
    assert expected_cards(panel, window_of(panel))[2] in panel.figures_text
    panel.scene["room_m"].slider.value = 100.0
    assert panel.scene["room_m"].value == pytest.approx(2.54)
    assert not panel.desk.changed
