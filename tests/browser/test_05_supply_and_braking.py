"""The supply workbook in a real browser: drag, compare with the library, save."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from lab import Lab

from curvelib import load_tune
from curvelib.machine.braking import DUTIES, BrakingScene
from curvelib.machine.braking_case import braking_case
from curvelib.machine.current import current_window
from curvelib.machine.supply import Source, SupplyScene
from curvelib.tune import Tune

NUMBERS, SENTENCE, STATE = ".cv-figures", ".cv-sentence", ".cv-state"


def open_demo(lab: Lab, demo: str, part: int = 0) -> Tune:
    """Open the workbook on one demo machine and return its tune."""
    lab.open("05_supply_and_braking.ipynb")
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


def test_a_battery_on_a_bad_day(lab: Lab) -> None:
    """Drag the resistance up: the window closes as the library says, and says what would help."""
    tune = open_demo(lab, "vineyard_sweeper")
    shows(lab, SENTENCE, "A sensible limit lies between 69 A")
    numbers, shown = lab.text(NUMBERS), lab.pictures_shown(".cv-picture")
    lab.drag("worse", 0.9)
    lab.wait_text_change(NUMBERS, numbers)
    lab.wait_picture_change(".cv-picture", shown)
    scene = SupplyScene(worse=readout(lab, "worse"))
    source = Source.of(tune.supply)
    window = current_window(
        tune.machine,
        rest_v=source.rest_v,
        resistance=scene.worse * source.resistance,
        least_v=source.least_v,
        slope=scene.slope,
    )
    shows(lab, NUMBERS, f"{window.sags:.0f} A")
    shows(lab, NUMBERS, f"{window.voltage(60.0):.1f} V")
    shows(lab, SENTENCE, f"{window.resistance_wanted(window.spins or 0.0):.4f} ohm or less")
    assert lab.errors() == []


@pytest.mark.parametrize("demo", ["vineyard_sweeper", "orchard_cart", "snow_carrier"])
def test_a_longer_ramp_sends_less_back(lab: Lab, demo: str) -> None:
    """Drag the ramp to stop: peak, energy and resistor are the library's."""
    tune = open_demo(lab, demo, 1)
    numbers = lab.text(NUMBERS)
    lab.drag("to-stop-s", 0.8)
    lab.wait_text_change(NUMBERS, numbers)
    supply = replace(
        tune.supply,
        clamp_v=2.5 * (tune.supply.cells or 0),
        bus_capacitance_f=tune.supply.bus_capacitance_f or 0.004,
    )
    slew = replace(tune.slew, to_stop_s=readout(lab, "to-stop-s"))
    assert slew.to_stop_s > 2.0
    dragged = replace(tune, supply=supply, slew=slew)
    case = braking_case(dragged, BrakingScene(), DUTIES[1], 1.0)
    shows(lab, NUMBERS, f"{case.braking.peak:.0f} W")
    shows(lab, NUMBERS, f"energy {case.braking.energy:.0f} J")
    shows(lab, ".cv-settings", f"{case.window.least:.2f} to {case.window.most:.2f} ohm")
    assert lab.errors() == []


def test_numbers_are_set_and_saved(lab: Lab) -> None:
    """A current limit and a resistor, dragged and saved, stand in the file; nothing else does."""
    tune = open_demo(lab, "orchard_cart")
    numbers = lab.text(NUMBERS)
    lab.drag("current-limit-a", 0.05)
    lab.wait_text_change(NUMBERS, numbers)
    limit = readout(lab, "current-limit-a")
    lab.page.locator(".cv-part button").nth(1).click()
    shows(lab, NUMBERS, "ohm for the braking resistor")
    numbers = lab.text(NUMBERS)
    lab.drag("dump-resistor-ohm", 0.5)
    lab.wait_text_change(NUMBERS, numbers)
    ohm = readout(lab, "dump-resistor-ohm")
    shows(lab, SENTENCE, f"With {ohm:g} ohm the bus still rises")
    lab.page.fill(".cv-text-save-as input", "Braked cart")
    lab.page.press(".cv-text-save-as input", "Tab")
    lab.click(".cv-button-save-as")
    lab.page.locator(STATE, has_text=re.compile("^saved$")).wait_for()
    saved = load_tune(lab.folder / "my_machines" / "braked_cart.toml")
    wanted = replace(tune.supply, current_limit_a=limit, dump_resistor_ohm=ohm)
    assert saved.supply == wanted
    assert replace(saved, name=tune.name, supply=tune.supply) == tune
    assert lab.errors() == []
