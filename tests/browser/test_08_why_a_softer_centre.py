"""The lesson in a real browser: drag each step, run the trials, stop them, unfold an answer."""

from __future__ import annotations

import pytest
from lab import Lab

from curvelib import CubicBlend, load_tune
from curvelib.practice.lesson import relative_gain, target_on_stick
from curvelib.practice.plan import Plan
from curvelib.practice.results import compare
from curvelib.practice.rig import Rig
from curvelib.practice.trial import run

NAME = "08_why_a_softer_centre.ipynb"
PANEL = ".cv-panel:has(.cv-place)"
NUMBERS = f"{PANEL} .cv-figures"
PICTURE = f"{PANEL} .cv-picture-main img"
NOTE, TRIES = ".cv-note-tries", 200


@pytest.fixture(scope="module")
def opened(shared_lab: Lab) -> Lab:
    """Open the lesson once; every test below leaves it usable for the next."""
    shared_lab.open(NAME)
    shared_lab.run_all(longest_s=120.0)
    wait_for_the_end(shared_lab, "tries")
    return shared_lab


def wait_for_the_end(lab: Lab, job: str) -> None:
    """Wait until a job's Run button can be pressed again, its result on show."""
    lab.page.wait_for_selector(f".cv-button-run-{job}:not([disabled])", timeout=120_000)
    lab.settle()


def dragged(lab: Lab, step: str, share: float) -> tuple[float, str]:
    """Drag a step's slider; return its value and the words that the step shows then."""
    css = f".cv-lesson-{step} .cv-figures"
    before, shown = lab.text(css), lab.pictures_shown(f".cv-lesson-{step} img")
    lab.drag(f"lesson-{step}", share)
    lab.wait_text_change(css, before)
    lab.wait_picture_change(f".cv-lesson-{step} img", shown)
    lab.settle()
    value = float(lab.text(f".cv-slider-lesson-{step} .widget-readout"))
    return value, f"{lab.text(css)} {lab.text(f'.cv-lesson-{step} .cv-sentence')}"


def test_each_step_follows_its_slider(opened: Lab) -> None:
    """The number that appears is the library's."""
    tremor, text = dragged(opened, "tremor", 0.5)
    assert f"± {1000 * tremor:.1f} mm/s" in text
    steps, text = dragged(opened, "steps", 0.6)
    assert f"{2000 / (steps - 1):.1f} mm/s" in text
    blend, text = dragged(opened, "blend", 0.4)
    assert f"divided by {1.0 / CubicBlend(blend).first_slope:.1f}." in text
    price, text = dragged(opened, "price", 0.9)
    assert f"{CubicBlend(price).slope(1.0):.1f} times as strongly" in text
    growing, text = dragged(opened, "growing", 0.8)
    soft = relative_gain(CubicBlend(0.6), 0.1)
    assert f"± {1000 * growing * 0.1 * soft:.1f} mm/s" in text
    blend, text = dragged(opened, "target", 0.2)
    assert f"{target_on_stick(CubicBlend(blend), 0.1, 0.02).difficulty:.3f} bits" in text
    assert opened.errors() == []


def opened_demo(lab: Lab, demo: str) -> Rig:
    """Choose a machine, wait until its own tries are on show, and return it."""
    chooser, label = f"{PANEL} .cv-choice-file select", f"{demo} (demo)"
    shown = lab.pictures_shown(PICTURE)
    chosen = lab.page.locator(chooser).evaluate("select => select.value")
    if chosen != label:
        lab.page.select_option(chooser, label=label)
        lab.wait_picture_change(PICTURE, shown)
    wait_for_the_end(lab, "tries")
    return Rig.from_tune(load_tune(lab.folder / "machines" / f"{demo}.toml"))


def run_tries(lab: Lab) -> str:
    """Press Run, wait for the new picture, return the deciding numbers as one line."""
    shown = lab.pictures_shown(PICTURE)
    lab.click("button.cv-button-run-tries")
    lab.wait_picture_change(PICTURE, shown)
    wait_for_the_end(lab, "tries")
    return " ".join(lab.text(NUMBERS).replace("\u00a0", " ").split())


@pytest.mark.parametrize(
    ("demo", "share"), [("orchard_cart", 0.3), ("snow_carrier", 0.45), ("vineyard_sweeper", 0.6)]
)
def test_the_trials_on_the_page_are_the_librarys(opened: Lab, demo: str, share: float) -> None:
    """On each demo machine, as it comes and after a drag of the tremor."""
    rig = opened_demo(opened, demo)
    opened.page.select_option(".cv-choice-tries select", label=f"{TRIES} tries")
    opened.drag("tremor", share)
    opened.settle()
    assert "press Run" in opened.text(NOTE)
    numbers = run_tries(opened)
    assert "press Run" not in opened.text(NOTE)
    tremor = float(opened.text(".cv-slider-tremor .widget-readout"))
    assert tremor != Plan().hand.tremor
    plan = Plan().with_value("tremor", tremor)
    found = compare(run(rig, plan, TRIES), run(rig.straightened(), plan, TRIES))
    error, time = found["error"], found["time"]
    assert (
        f"{1000 * error.shaped.value:.1f} mm against {1000 * error.straight.value:.1f} mm"
        in numbers
    )
    assert f"{abs(time.difference.value):.2f} s" in numbers
    assert f"± {time.difference.half:.2f} s" in numbers
    assert opened.errors() == []


def test_long_work_shows_progress_and_can_be_stopped(opened: Lab) -> None:
    """While it runs a slider of the lesson still answers; Stop ends it long before its end."""
    opened.click("button.cv-button-run-assumptions")
    opened.page.wait_for_function(
        """() => parseFloat(document.querySelector(
            ".cv-progress-assumptions .progress-bar").style.width) > 1"""
    )
    dragged(opened, "price", 0.3)
    assert opened.text(".cv-note-assumptions") == "Working."
    opened.click("button.cv-button-stop-assumptions")
    wait_for_the_end(opened, "assumptions")
    assert opened.text(".cv-note-assumptions") == "Stopped."
    assert opened.errors() == []


def test_answers_are_folded_away_until_asked_for(opened: Lab) -> None:
    questions = opened.page.locator(".jp-RenderedMarkdown details")
    assert questions.count() == 3
    first = questions.first
    folded = first.bounding_box()
    assert not first.evaluate("details => details.open")
    first.locator("summary").click()
    opened.page.wait_for_function("() => document.querySelector('details').open")
    unfolded = first.bounding_box()
    assert folded is not None
    assert unfolded is not None
    assert unfolded["height"] > 1.5 * folded["height"]
    assert "there is nothing to divide" in " ".join(first.inner_text().split())
