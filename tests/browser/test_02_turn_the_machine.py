"""The turning workbook in a real browser: drag sliders and stick plane, read, compare."""

from __future__ import annotations

import math

import pytest
from lab import Lab

from curvelib import Chain, load_tune
from curvelib.machine.motion import BodyMotion, body_motion
from curvelib.panels.units import Units
from curvelib.tune import Tune

NUMBERS, POINTER, STATE = ".cv-figures", ".cv-pointer", ".cv-state"
DEMOS = ("vineyard_sweeper", "orchard_cart", "snow_carrier")
# A pixel of the page is a hundredth of the stick or so.
NEAR = "([css, want]) => Math.abs(document.querySelector(css).innerText - want) < 0.015"
# Middle and half width of the stick plane in the picture, in pixels of 900 by 730.
MIDDLE, HALF = (228.0, 180.0), 142.0


def open_demo(lab: Lab, demo: str) -> Tune:
    """Open the workbook on one demo machine and return its tune."""
    lab.open("02_turn_the_machine.ipynb")
    lab.run_all()
    lab.page.select_option(".cv-choice-file select", label=f"{demo} (demo)")
    lab.settle()
    return load_tune(lab.folder / "machines" / f"{demo}.toml")


def shown(lab: Lab, slider: str) -> float:
    """Number beside a slider; browsers write a proper minus sign."""
    return float(lab.text(f".cv-slider-{slider} .widget-readout").replace("\u2212", "-"))


def motion(tune: Tune, first: float, second: float, share: float | None = None) -> BodyMotion:
    """What the library says held sticks do; a missing share is ideal turning."""
    left, right = Chain.from_tune(tune).steady(first, second)
    machine = tune.machine
    top, skids = machine.top_speed_m_s or 0.0, share or machine.turning_share or 1.0
    return body_motion(top * left, top * right, machine.track_m or 0.0, skids)


def wait_for_numbers(lab: Lab, found: BodyMotion) -> None:
    """Wait until radius and yaw rate on the page are those of a motion."""
    radius = Units().text(abs(found.radius), "m")
    yaw = f"{abs(math.degrees(found.yaw_rate)):.0f} deg/s"
    for text in (radius, yaw):
        lab.page.locator(f"{NUMBERS} .cv-number", has_text=text).first.wait_for()


@pytest.mark.parametrize("demo", DEMOS)
def test_a_drag_on_every_machine_shows_what_the_library_says(lab: Lab, demo: str) -> None:
    tune = open_demo(lab, demo)
    names = ("left-stick", "right-stick") if demo == "orchard_cart" else ("throttle", "steer")
    numbers, picture = lab.text(NUMBERS), lab.pictures_shown(".cv-picture")
    lab.drag(names[0], 0.75)
    lab.wait_text_change(NUMBERS, numbers)
    lab.wait_picture_change(".cv-picture", picture)
    lab.settle()
    first, second = (shown(lab, name) for name in names)
    assert first != 0.9
    wait_for_numbers(lab, motion(tune, first, second))
    assert "as it came" in lab.text(STATE)
    assert lab.errors() == []


def test_the_turning_share_is_the_files_and_changes_the_radius(lab: Lab) -> None:
    tune = open_demo(lab, "vineyard_sweeper")
    numbers = lab.text(NUMBERS)
    lab.drag("turning-share", 0.2)
    lab.wait_text_change(NUMBERS, numbers)
    lab.settle()
    share = shown(lab, "turning-share")
    assert share != 0.7
    wait_for_numbers(lab, motion(tune, 0.9, 0.8, share))
    lab.page.locator(STATE, has_text="changed, not saved").wait_for()
    assert lab.errors() == []


def place(lab: Lab, first: float, second: float) -> tuple[float, float]:
    """Where a stick position lies on the page."""
    box = lab.page.locator(".cv-picture").bounding_box()
    assert box is not None
    scale = box["width"] / 900.0
    x, y = MIDDLE[0] + HALF * second, MIDDLE[1] - HALF * first
    return box["x"] + scale * x, box["y"] + scale * y


def test_pointing_reads_the_plane_and_dragging_moves_the_sticks(lab: Lab) -> None:
    tune = open_demo(lab, "snow_carrier")
    lab.page.locator(".cv-picture").scroll_into_view_if_needed()
    hint, numbers = lab.text(POINTER), lab.text(NUMBERS)
    lab.page.mouse.move(*place(lab, 0.5, -0.5))
    told = lab.wait_text_change(POINTER, hint)
    assert "At the pointer (throttle 50 %, steer -50 %)" in told
    assert lab.text(NUMBERS) == numbers

    lab.page.mouse.down()
    lab.page.mouse.move(*place(lab, 0.8, 0.7), steps=6)
    lab.page.mouse.up()
    lab.wait_text_change(NUMBERS, numbers)
    lab.page.wait_for_function(NEAR, arg=[".cv-slider-steer .widget-readout", 0.7])
    lab.settle()
    first, second = shown(lab, "throttle"), shown(lab, "steer")
    assert (first, second) == pytest.approx((0.8, 0.7), abs=0.011)
    wait_for_numbers(lab, motion(tune, first, second))
    assert lab.errors() == []
