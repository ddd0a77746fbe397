"""The supply panel: its numbers are the library's, wherever its controls stand."""

from __future__ import annotations

import html
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from demos import DEMOS
from sweep import sweep

from curvelib import Tune
from curvelib.machine.braking import DUTIES, BrakingScene
from curvelib.machine.braking_case import braking_case, bus_lines
from curvelib.machine.current import current_window
from curvelib.machine.supply import Source, SupplyScene
from curvelib.panels.desk import Desk
from curvelib.panels.filesliders import filled
from curvelib.panels.supply_panel import SupplyPanel

DeskOf = Callable[[str], Desk]
SAG, BRAKING = range(2)


def expect_sag(panel: SupplyPanel) -> list[str]:
    """The deciding numbers of the first chapter, and the window in words."""
    tune, values = filled(panel.desk.tune), panel.sag.scene
    scene = SupplyScene(values["worse"].value, values["slope_deg"].value)
    source = Source.of(tune.supply)
    window = current_window(
        tune.machine,
        rest_v=source.rest_v,
        resistance=scene.worse * source.resistance,
        least_v=source.least_v,
        slope=scene.slope,
    )
    assert html.escape(window.words()) in panel.sentence.value
    limit = tune.supply.current_limit_a
    assert limit is not None
    return [
        f">{window.sags:.0f} A<",
        f"wheels spin at {window.spins:.0f} A",
        f">{window.voltage(limit):.1f} V<",
        f">{source.least_v:.1f} V<",
    ]


def expect_braking(panel: SupplyPanel) -> list[str]:
    """The deciding numbers of the second chapter."""
    chapter = panel.braking
    case = braking_case(
        filled(panel.desk.tune),
        BrakingScene(**{name: one.value for name, one in chapter.scene.items()}),
        chapter.duty.value,
        chapter.keys["dump_resistor_ohm"].value,
        chapter.maneuver.value == "a reversal",
    )
    lines, window = bus_lines(case), case.window
    worst = lines.alone.max()
    resistor = ">none will do<" if window.empty else f">{window.least:.2f} "
    return [
        f">{case.braking.peak:.0f} W<",
        f"energy {case.braking.energy:.0f} J",
        f"on paper {worst:.1f} V; battery connected {lines.battery.max():.1f} V",
        f">{worst:.1f} V<" if worst <= case.scene.most_v else f">over {case.scene.most_v:.1f} V<",
        resistor if math.isfinite(window.most) else " or more<",
        f"bus up to {lines.clamped.max():.1f} V",
    ]


EXPECTED = {SAG: expect_sag, BRAKING: expect_braking}


@pytest.mark.parametrize(("part", "demo"), [(SAG, "snow_carrier"), (BRAKING, "vineyard_sweeper")])
def test_a_sweep_of_every_control_shows_the_librarys_numbers(
    part: int, demo: str, desk_of: DeskOf
) -> None:
    """Every number above the picture is worked out anew, and the picture equals a full draw."""
    panel = SupplyPanel(desk_of(demo))
    panel.part.value = part
    checked = []

    def check(words: str) -> None:
        checked.append(words)
        for text in EXPECTED[part](panel):
            assert text in panel.figures_text, words

    sweep(panel, check, leave=(panel.part,))
    assert len(checked) > 40
    picture = panel.chapter.drawing.picture
    assert np.array_equal(picture.pixels(), picture.fresh_pixels())


@pytest.mark.parametrize("demo", DEMOS)
def test_looking_changes_nothing(demo: str, desk_of: DeskOf) -> None:
    """Reading both chapters is no change to the file, and each shows the library's numbers."""
    panel = SupplyPanel(desk_of(demo))
    for part, expected in EXPECTED.items():
        panel.part.value = part
        assert all(text in panel.figures_text for text in expected(panel))
        assert not panel.desk.changed
        assert panel.chapter.title in panel.view.alt


def test_controls_write_the_keys_of_the_file(desk_of: DeskOf) -> None:
    """Each slider of a key changes that key and no other."""
    desk = desk_of("vineyard_sweeper")
    panel = SupplyPanel(desk)
    for part, keys in ((SAG, panel.sag.keys), (BRAKING, panel.braking.keys)):
        panel.part.value = part
        for name, slider in keys.items():
            before = desk.tune
            slider.slider.value = slider.slider.min + 3.0 * slider.slider.step
            section = {"supply": "supply", "machine": "machine", "slew": "slew"}[slider._section]
            changed = replace(
                getattr(before, section), **{name: getattr(getattr(desk.tune, section), name)}
            )
            assert getattr(getattr(desk.tune, section), name) == pytest.approx(slider.value)
            assert desk.tune == replace(before, **{section: changed})
            assert desk.tune != before
    panel.braking.alternator.value = False
    assert desk.tune.supply.alternator is False
    assert isinstance(desk.tune.supply.cells, int)


def test_no_limit_between_is_told_with_what_would_help(desk_of: DeskOf) -> None:
    """A bad battery: the sentence names the resistance wanted, the list a limit that holds."""
    panel = SupplyPanel(desk_of("vineyard_sweeper"))
    assert "sensible limit lies between" in panel.sentence.value
    panel.sag.keys["internal_resistance_ohm"].slider.value = 0.06
    assert "What would help" in panel.sentence.value
    assert "<td>Current limit, each motor</td><td>24 A</td>" in panel._list.value
    panel.sag.keys["rest_v"].slider.value = 20.0
    assert "no limit helps" in panel.sentence.value
    assert "<td>none will do</td>" in panel._list.value


def test_a_limit_that_lets_it_sag_is_told(desk_of: DeskOf) -> None:
    """The limit as set is judged: under the least voltage, or enough."""
    panel = SupplyPanel(desk_of("vineyard_sweeper"))
    assert "keeps the battery at 21.8 V" in panel.sentence.value
    panel.sag.keys["current_limit_a"].slider.value = 120.0
    assert "under its least: the drive may restart" in panel.sentence.value
    panel.sag.keys["current_limit_a"].slider.value = 20.0
    assert "does not hold the machine on its steepest slope" in panel.sentence.value


def test_both_cases_of_the_battery_are_shown(desk_of: DeskOf) -> None:
    """Connected and healthy it takes the pulse; cut off, the bus passes what the drive endures."""
    panel = SupplyPanel(desk_of("vineyard_sweeper"))
    panel.part.value = BRAKING
    assert "A healthy, connected battery takes it." in panel.sentence.value
    assert "passes what the drive endures within 0.7 ms" in panel.sentence.value
    panel.braking.keys["to_stop_s"].slider.value = 3.0
    panel.braking.scene["slope_deg"].slider.value = -20.0
    assert "Nothing comes back" in panel.sentence.value


def test_the_alternator_box_begins_at_the_charging_voltage(desk_of: DeskOf) -> None:
    """Without it the bus begins at rest."""
    panel = SupplyPanel(desk_of("vineyard_sweeper"))
    panel.part.value = BRAKING
    with_it = panel.figures_text
    panel.braking.alternator.value = False
    assert panel.figures_text != with_it
    assert panel.desk.tune.supply.alternator is False


def test_resistor_and_duty_are_judged(desk_of: DeskOf) -> None:
    """Too few ohms, too many, too small a pulse rating, too hot a duty: each in words."""
    panel = SupplyPanel(desk_of("orchard_cart"))
    panel.part.value = BRAKING
    resistor = panel.braking.keys["dump_resistor_ohm"]
    resistor.slider.value = 0.1
    assert "the switch carries 150 A, more than 80 A" in panel.sentence.value
    resistor.slider.value = 5.0
    assert "the bus still rises to" in panel.sentence.value
    resistor.slider.value = 0.5
    assert "holds it at the clamp" in panel.sentence.value
    panel.braking.scene["resistor_j"].slider.value = 20.0
    assert "more than the resistor&#x27;s 20 J" in panel.sentence.value
    panel.braking.duty.value = DUTIES[-1]
    panel.braking.scene["resistor_w"].slider.value = 5.0
    assert "more than it bears all the time" in panel.sentence.value
    panel.braking.scene["switch_a"].slider.value = 2.0
    assert "No resistor will do" in panel.sentence.value


def test_a_clamp_in_the_wrong_place_is_told_at_the_clamp(desk_of: DeskOf) -> None:
    """Under the charging voltage or over what the drive endures; the numbers still stand."""
    panel = SupplyPanel(desk_of("vineyard_sweeper"))
    panel.part.value = BRAKING
    clamp = panel.braking.keys["clamp_v"]
    assert "30 V is assumed" in clamp.children[2].value
    clamp.slider.value = 28.0
    assert "charging voltage of 28.8 V" in clamp.children[2].value
    clamp.slider.value = 40.0
    assert "36.0 V that the drive endures" in clamp.children[2].value
    clamp.slider.value = 31.0
    assert clamp.children[2].value == ""
    assert panel.desk.tune.supply.clamp_v == 31.0


def test_the_list_carries_each_number_with_its_reason(desk_of: DeskOf) -> None:
    """Least voltage, current limit, clamp, resistor and its ratings."""
    panel = SupplyPanel(desk_of("vineyard_sweeper"))
    for part in EXPECTED:
        panel.part.value = part
        for name, number in {
            "Least voltage": "21.0 V",
            "Current limit, each motor": "69 A",
            "Clamp voltage": "30.0 V",
            "Braking resistor": "0.38 to 0.55 ohm",
            "Resistor&#x27;s ratings": "43 W, 326 J",
            "Clamp and resistor": "fit them",
        }.items():
            assert f"<td>{name}</td><td>{number}</td><td>" in panel._list.value


def test_a_new_machine_is_shown_from_stand_ins(desk_of: DeskOf) -> None:
    """Everything assumed is said; nothing is written; stand-ins follow the cells."""
    desk = desk_of("vineyard_sweeper")
    desk.begin_new()
    panel = SupplyPanel(desk)
    for part in EXPECTED:
        panel.part.value = part
        assert desk.tune == Tune()
        assert "mass 100 kg" in panel.chapter.note.value
    panel.part.value = SAG
    panel.sag.keys["cells"].slider.value = 6
    assert desk.tune.supply.cells == 6
    assert desk.tune.supply.rest_v is None
    assert panel.sag.keys["rest_v"].value == pytest.approx(12.6)
    assert "12.6 V is assumed" in panel.sag.keys["rest_v"].children[2].value
