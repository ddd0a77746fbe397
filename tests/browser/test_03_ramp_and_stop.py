"""The ramping workbook in a real browser: drag, replay a recording, break it, mend it."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from lab import Lab

from curvelib import Chain, load_tune
from curvelib.machine.limits import RampWindow, ramp_window, stopping_distance
from curvelib.machine.recording import read_recording
from curvelib.machine.response import respond
from curvelib.tune import Tune

NUMBERS, SENTENCE, WINDOW, STATE = ".cv-figures", ".cv-sentence", ".cv-window", ".cv-state"
DEMOS = ("vineyard_sweeper", "orchard_cart", "snow_carrier")
# Assumed where a file gives no grip, and said so at the slider.
ASSUMED_GRIP = 0.35


def open_demo(lab: Lab, demo: str) -> Tune:
    """Open the workbook on one demo machine and return its tune."""
    lab.open("03_ramp_and_stop.ipynb")
    lab.run_all()
    lab.page.select_option(".cv-choice-file select", label=f"{demo} (demo)")
    lab.settle()
    return load_tune(lab.folder / "machines" / f"{demo}.toml")


def shown(lab: Lab, slider: str) -> float:
    return float(lab.text(f".cv-slider-{slider} .widget-readout"))


def window(tune: Tune, slope_deg: float = 5.0, room: float = 2.0) -> RampWindow:
    """The library's window, the scene as the panel begins."""
    machine = tune.machine
    return ramp_window(
        top_speed=machine.top_speed_m_s or 0.0,
        cg_to_front=machine.cg_to_front_m or 0.0,
        cg_to_rear=machine.cg_to_rear_m or 0.0,
        cg_height=machine.cg_height_m or 0.0,
        friction=machine.friction or ASSUMED_GRIP,
        slope=math.radians(slope_deg),
        driven=machine.driven,
        lag=machine.lag_s or 0.0,
        delay=tune.signal_loss.timeout_s,
        room=room,
        path=Chain.from_tune(tune),
    )


def wait_for(lab: Lab, css: str, text: str) -> None:
    lab.page.locator(css, has_text=text).first.wait_for()


@pytest.mark.parametrize("demo", DEMOS)
def test_the_window_on_the_page_is_the_librarys(lab: Lab, demo: str) -> None:
    tune = open_demo(lab, demo)
    wait_for(lab, WINDOW, window(tune).words())
    numbers = lab.text(NUMBERS)
    lab.drag("slope-deg", 0.1)
    lab.wait_text_change(NUMBERS, numbers)
    lab.settle()
    slope = shown(lab, "slope-deg")
    assert slope != 5.0
    wait_for(lab, WINDOW, window(tune, slope).words())
    assert "as it came" in lab.text(STATE)
    assert lab.errors() == []


def test_a_dragged_ramp_changes_distance_picture_and_file(lab: Lab) -> None:
    tune = open_demo(lab, "vineyard_sweeper")
    numbers, count = lab.text(NUMBERS), lab.pictures_shown(".cv-picture")
    picture = lab.picture_bytes(".cv-picture")
    lab.drag("to-stop-s", 0.25)
    lab.wait_text_change(NUMBERS, numbers)
    lab.wait_picture_change(".cv-picture", count)
    lab.settle()
    ramp = shown(lab, "to-stop-s")
    assert ramp != 0.4
    rolls = stopping_distance(1.6, delay=0.6, to_stop=ramp, top_speed=1.6, lag=0.12)
    wait_for(lab, f"{NUMBERS} .cv-number", f"{rolls:.2f} m")
    found = window(tune)
    assert found.least_to_stop is not None
    assert found.most_to_stop is not None
    inside = found.least_to_stop <= ramp <= found.most_to_stop
    assert (f"chosen {ramp:.2f} s: in the window" in lab.text(NUMBERS)) == inside
    assert lab.picture_bytes(".cv-picture") != picture
    wait_for(lab, STATE, "changed, not saved")
    assert lab.errors() == []


def test_a_recording_is_replayed_broken_and_mended(lab: Lab) -> None:
    tune = open_demo(lab, "vineyard_sweeper")
    sentence = lab.text(SENTENCE)
    lab.page.select_option(".cv-choice-recording select", label="orchard_shunt.csv")
    told = lab.wait_text_change(SENTENCE, sentence)
    read = read_recording(lab.folder / "recordings" / "orchard_shunt.csv")
    run = Chain.from_tune(tune).run(read.first, read.second, read.since_before)
    fastest = abs(
        respond(run.left, run.right, read.held_for, top_speed=1.6, track=0.82, lag=0.12).speed
    )
    assert told.startswith(
        f"orchard_shunt.csv: {read.held_for.sum():.1f} s, up to {fastest.max():.2f} m/s"
    )

    path = lab.folder / "recordings" / "mine.csv"
    path.write_text("time_s,first,second\n0,0,0\n0.5;0;0\n1,1,0\n", encoding="utf-8")
    lab.click(".cv-button-read-again")
    lab.page.select_option(".cv-choice-recording select", label="mine.csv")
    wait_for(lab, ".cv-recordings .cv-fault", "mine.csv, line 3")
    lab.settle()
    assert lab.text(SENTENCE) == told

    path.write_text("time_s,first,second\n0,0,0\n0.6,0,0\n1,1,0\n2,1,0\n", encoding="utf-8")
    lab.click(".cv-button-read-again")
    lab.page.locator(SENTENCE, has_text=re.compile(r"^mine\.csv: 3\.0 s")).wait_for()
    assert lab.page.locator(".cv-recordings .cv-fault").count() == 0
    assert lab.errors() == []


def test_where_the_ramp_acts_is_chosen_and_told(lab: Lab) -> None:
    tune = open_demo(lab, "snow_carrier")
    wait_for(lab, ".cv-facts-ways", "motors (in this file)")
    lab.page.select_option(".cv-choice-acts-on select", label="each stick")
    wait_for(lab, ".cv-facts-ways", "sticks (in this file)")
    on_sticks = replace(tune, slew=replace(tune.slew, acts_on="sticks"))
    wait_for(lab, WINDOW, window(on_sticks).words())
    lab.page.select_option(".cv-choice-change select", label="steer let go at full throttle")
    wait_for(lab, SENTENCE, "times the rate that the ramp to full allows")
    assert lab.errors() == []
