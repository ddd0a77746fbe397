"""The shape workbook in a real browser: drag, read, save, reopen; the command line agrees."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import replace

import pytest
from lab import Lab

from curvelib import Chain, CubicBlend, Shape, load_tune, slow_end
from curvelib.tune import Tune

NUMBERS, SENTENCE, STATE = ".cv-figures", ".cv-sentence", ".cv-state"
DEMOS = ("vineyard_sweeper", "orchard_cart", "snow_carrier")


def open_demo(lab: Lab, demo: str) -> Tune:
    """Open the workbook on one demo machine and return its tune."""
    lab.open("01_shape_the_stick.ipynb")
    lab.run_all()
    lab.page.select_option(".cv-choice-file select", label=f"{demo} (demo)")
    lab.settle()
    return load_tune(lab.folder / "machines" / f"{demo}.toml")


def steps_shown(text: str) -> int:
    found = re.search(r"(\d+) stick steps", text)
    assert found is not None, text
    return int(found[1])


@pytest.mark.parametrize("demo", DEMOS)
def test_the_numbers_on_the_page_are_the_librarys(lab: Lab, demo: str) -> None:
    tune = open_demo(lab, demo)
    end = slow_end(Chain.from_tune(tune), "throttle", tune.machine.slow_speed_m_s or 0.2)
    assert steps_shown(lab.text(NUMBERS)) == end.stick_steps
    assert end.linear is not None
    assert f"plain linear gives {end.linear.stick_steps}" in lab.text(NUMBERS)
    assert lab.errors() == []


def test_a_drag_changes_numbers_and_picture_as_the_library_says(lab: Lab) -> None:
    tune = open_demo(lab, "vineyard_sweeper")
    numbers, shown = lab.text(NUMBERS), lab.pictures_shown(".cv-picture")
    picture = lab.picture_bytes(".cv-picture")
    lab.drag("blend", 0.9)
    lab.wait_text_change(NUMBERS, numbers)
    lab.wait_picture_change(".cv-picture", shown)
    lab.settle()
    blend = float(lab.text(".cv-slider-blend .widget-readout"))
    assert blend != 0.6
    dead, _ = tune.throttle.shape.stages
    dragged = tune.with_shape("throttle", Shape([dead, CubicBlend(blend)]))
    end = slow_end(Chain.from_tune(dragged), "throttle", 0.2)
    assert steps_shown(lab.text(NUMBERS)) == end.stick_steps
    assert f"{end.output_steps} different outputs" in lab.text(SENTENCE)
    assert lab.picture_bytes(".cv-picture") != picture
    assert "changed, not saved" in lab.text(STATE)
    assert lab.errors() == []


def test_save_as_reopen_and_the_same_table_on_the_command_line(lab: Lab) -> None:
    """The whole way: drag, save as, reopen the workbook, take the table in both places."""
    open_demo(lab, "vineyard_sweeper")
    numbers = lab.text(NUMBERS)
    lab.drag("blend", 0.25)
    lab.wait_text_change(NUMBERS, numbers)
    lab.settle()
    lab.page.fill(".cv-text-save-as input", "Dragged sweeper")
    lab.page.press(".cv-text-save-as input", "Tab")
    lab.click(".cv-button-save-as")
    lab.page.locator(STATE, has_text=re.compile("^saved$")).wait_for()
    blend = float(lab.text(".cv-slider-blend .widget-readout"))
    path = lab.folder / "my_machines" / "dragged_sweeper.toml"
    saved = load_tune(path)
    assert saved.throttle.shape.stages[1] == CubicBlend(blend)

    lab.open("01_shape_the_stick.ipynb")
    lab.run_all()
    assert float(lab.text(".cv-slider-blend .widget-readout")) == blend
    copied = lab.page.locator(".cv-copy-text").text_content()
    printed = subprocess.run(
        [sys.executable, "-m", "curvelib", "table", str(path)], capture_output=True, check=True
    )
    assert copied == printed.stdout.decode()

    lab.drag("dead-zone", 0.5)
    lab.page.locator(STATE, has_text="changed").wait_for()
    lab.click(".cv-button-save")
    lab.page.locator(STATE, has_text=re.compile("^saved$")).wait_for()
    assert load_tune(path).throttle.shape != saved.throttle.shape
    assert replace(load_tune(path), throttle=saved.throttle) == saved
    assert lab.errors() == []
