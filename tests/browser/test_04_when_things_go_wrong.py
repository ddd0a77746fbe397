"""The fault workbook in a real browser: make it run away, prevent it, read off the numbers."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from lab import Lab

from curvelib import Chain, load_tune
from curvelib.machine.dropouts import Dropouts
from curvelib.machine.restart import Body, RestartScene, restart_story
from curvelib.machine.silence import LossScene, Stopper, grip_downhill
from curvelib.machine.supply import Source
from curvelib.tune import Tune

NUMBERS, SENTENCE, STATE = ".cv-figures", ".cv-sentence", ".cv-state"
DEMOS = ("vineyard_sweeper", "orchard_cart", "snow_carrier")


def open_demo(lab: Lab, demo: str, part: int = 0) -> Tune:
    """Open the workbook on one demo machine and return its tune."""
    lab.open("04_when_things_go_wrong.ipynb")
    lab.run_all()
    lab.page.select_option(".cv-choice-file select", label=f"{demo} (demo)")
    lab.settle()
    if part:
        numbers = lab.text(NUMBERS)
        lab.page.locator(".cv-part button").nth(part).click()
        lab.wait_text_change(NUMBERS, numbers)
    return load_tune(lab.folder / "machines" / f"{demo}.toml")


def readout(lab: Lab, slider: str) -> float:
    """Return the number beside a slider."""
    return float(lab.text(f".cv-slider-{slider} .widget-readout"))


def shows(lab: Lab, css: str, words: str) -> None:
    """Wait until an element holds these words."""
    lab.page.locator(css, has_text=re.compile(re.escape(words))).wait_for()


@pytest.mark.parametrize("demo", DEMOS)
def test_the_runaway_is_made_and_prevented(lab: Lab, demo: str) -> None:
    """Choose the learned centre, drag, read the library's number; choose fixed, read 0."""
    tune = open_demo(lab, demo)
    shows(lab, NUMBERS, "0.00 m")
    lab.page.select_option(".cv-choice-centre select", label="learned at power-up")
    shows(lab, SENTENCE, "drives backwards")
    numbers, shown = lab.text(NUMBERS), lab.pictures_shown(".cv-picture")
    picture = lab.picture_bytes(".cv-picture")
    lab.drag("reaction-s", 0.8)
    lab.wait_text_change(NUMBERS, numbers)
    lab.wait_picture_change(".cv-picture", shown)
    supply = replace(tune.supply, restart_delay_s=tune.supply.restart_delay_s or 0.5)
    story = restart_story(
        Chain.from_tune(tune),
        RestartScene(reaction_s=readout(lab, "reaction-s")),
        Source.of(supply),
        Body(tune.machine.top_speed_m_s or 0.0, tune.machine.lag_s or 0.0),
    )
    trace = story.traces["learned centre"]
    assert trace.reacts - trace.surprise > 1.5
    shows(lab, NUMBERS, f"{-trace.goes:.2f} m back")
    assert lab.text(NUMBERS).split("\n")[1] == f"{100 * trace.worst_command:.0f} %"
    shows(lab, NUMBERS, f"{story.voltage:.1f} V")
    assert lab.picture_bytes(".cv-picture") != picture
    lab.page.select_option(".cv-choice-centre select", label="fixed: always the centre pulse")
    shows(lab, SENTENCE, "the machine stands")
    assert lab.text(NUMBERS).split("\n")[1] == "0 %"
    assert lab.errors() == []


def test_a_lighter_load_restarts_nothing(lab: Lab) -> None:
    """Drag the load down: the battery holds, and the page says up to which current."""
    open_demo(lab, "vineyard_sweeper")
    shows(lab, NUMBERS, "20.4 V")
    lab.drag("load-a", 0.1)
    shows(lab, NUMBERS, "no restart")
    shows(lab, SENTENCE, "up to 220 A it does not restart")
    assert lab.errors() == []


def test_each_receiver_in_turn(lab: Lab) -> None:
    """Silence stands as the library says at any speed; a repeated pulse never does."""
    tune = open_demo(lab, "vineyard_sweeper", 1)
    numbers = lab.text(NUMBERS)
    lab.drag("speed-share", 0.95)
    lab.wait_text_change(NUMBERS, numbers)
    scene = LossScene(speed_share=readout(lab, "speed-share"))
    machine = tune.machine
    top = machine.top_speed_m_s or 0.0
    stopper = Stopper(
        tune.slew.limit, top, machine.lag_s or 0.0, grip_downhill(machine, scene.slope)
    )
    stands = stopper.standstill(scene.speed_share * top, scene.still_m_s, 0.6)
    shows(lab, NUMBERS, f"{stands.distance:.2f} m")
    shows(lab, NUMBERS, f"{stands.time:.2f} s")
    lab.page.select_option(".cv-choice-receiver select", label="Repeats its last pulse for ever")
    shows(lab, SENTENCE, "no timeout in the drive ever trips")
    assert lab.text(NUMBERS).split("\n")[1] == "never"
    lab.page.select_option(".cv-choice-receiver select", label="Sends a preset pulse")
    shows(lab, SENTENCE, "it goes on for 0.00 s")
    lab.drag("preset", 0.9)
    shows(lab, SENTENCE, "ahead and never stands")
    assert lab.errors() == []


def test_a_timeout_is_dragged_and_saved(lab: Lab) -> None:
    """Short: false stops as the library counts them; saved, it stands in the file."""
    open_demo(lab, "vineyard_sweeper", 2)
    numbers = lab.text(NUMBERS)
    lab.drag("timeout-s", 0.1)
    lab.wait_text_change(NUMBERS, numbers)
    timeout = readout(lab, "timeout-s")
    assert timeout == pytest.approx(0.2, abs=0.051)
    rate = Dropouts().false_stops(timeout)
    shows(lab, NUMBERS, f"{rate:.3g} an hour")
    shows(lab, ".cv-settings", f"{timeout:.2f} s")
    lab.page.fill(".cv-text-save-as input", "Careful sweeper")
    lab.page.press(".cv-text-save-as input", "Tab")
    lab.click(".cv-button-save-as")
    lab.page.locator(STATE, has_text=re.compile("^saved$")).wait_for()
    saved = load_tune(lab.folder / "my_machines" / "careful_sweeper.toml")
    assert saved.signal_loss.timeout_s == timeout
    assert lab.errors() == []
