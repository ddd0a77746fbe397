"""The start panel: facts typed by a builder, and what is said about them."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from demos import DEMOS
from sweep import inside, sweep

from curvelib.mixing import Independent, TankMix
from curvelib.panels import settings
from curvelib.panels.desk import Desk
from curvelib.panels.form import NumberField
from curvelib.panels.start_panel import StartPanel

DeskOf = Callable[[str], Desk]


def field(panel: StartPanel, section: str, name: str) -> NumberField:
    """One typed number of the form."""
    found = panel.forms[section].parts[name]
    assert isinstance(found, NumberField)
    return found


@pytest.mark.parametrize("demo", DEMOS)
def test_opening_a_file_changes_nothing(demo: str, desk_of: DeskOf) -> None:
    panel = StartPanel(desk_of(demo))
    assert not panel.desk.changed
    assert panel.desk.tune.name in panel.sentence.value


@pytest.mark.parametrize("demo", DEMOS)
def test_a_sweep_of_every_choice_and_check_box_shows_a_result(demo: str, desk_of: DeskOf) -> None:
    panel = StartPanel(desk_of(demo))
    assert sweep(panel, leave=(panel.speed_unit, panel.length_unit)) > 20


@pytest.mark.parametrize("demo", DEMOS)
def test_every_number_can_be_typed_at_its_ends(demo: str, desk_of: DeskOf) -> None:
    """Each field takes its least and greatest value, or says at a field what is wrong."""
    panel = StartPanel(desk_of(demo))
    for form in panel.forms.values():
        for part in form.parts.values():
            if not isinstance(part, NumberField):
                continue
            before = part.entry.value
            for value in (part._param.low, part._param.high, 1e300, -1.0):
                part.entry.value = f"{value:g}"
            part.entry.value = before
            assert panel.desk.tune == panel.desk.saved, part.entry.tooltip


def test_text_is_told_at_its_field_and_the_tune_stays(desk_of: DeskOf) -> None:
    panel = StartPanel(desk_of("vineyard_sweeper"))
    before = panel.desk.tune
    track = field(panel, "machine", "track_m")
    track.entry.value = "wide"
    assert "is not a number" in track.children[2].value
    assert panel.desk.tune == before
    track.entry.value = "0,9"  # the comma of many countries
    assert track.children[2].value == ""
    assert panel.desk.tune.machine.track_m == 0.9


def test_an_empty_field_means_not_known_where_the_file_may_leave_it_out(desk_of: DeskOf) -> None:
    panel = StartPanel(desk_of("vineyard_sweeper"))
    field(panel, "machine", "top_speed_m_s").entry.value = ""
    assert panel.desk.tune.machine.top_speed_m_s is None
    assert "no command can be told as a speed" in panel.remarks.value
    assert "not known" in panel.figures_text
    pulse = field(panel, "stick", "low_us")
    pulse.entry.value = ""
    assert "is not a number" in pulse.children[2].value


def test_a_fault_between_fields_is_told_in_their_section(desk_of: DeskOf) -> None:
    panel = StartPanel(desk_of("vineyard_sweeper"))
    field(panel, "stick", "low_us").entry.value = "1700"
    texts = [getattr(one, "value", "") for one in inside(panel.forms["stick"])]
    assert any("low below centre" in str(text) for text in texts)
    assert panel.desk.tune.stick.low_us == 1000


def test_inches_are_shown_and_metres_kept(desk_of: DeskOf) -> None:
    panel = StartPanel(desk_of("vineyard_sweeper"))
    panel.length_unit.value = "in"
    assert settings.units().length == "in"
    track = field(panel, "machine", "track_m")
    assert track.entry.value.startswith("32.28")
    assert panel.desk.tune.machine.track_m == 0.82  # shown digits do not creep into the file
    track.entry.value = "40"
    # The international inch is 25.4 mm by definition.
    assert panel.desk.tune.machine.track_m == pytest.approx(1.016, abs=1e-9)


def test_mixing_can_be_chosen_both_ways(desk_of: DeskOf) -> None:
    panel = StartPanel(desk_of("orchard_cart"))
    panel.mix.value = "tank"
    assert panel.desk.tune.mix == TankMix()
    panel.mix.value = "independent"
    assert panel.desk.tune.mix == Independent()


def test_a_new_machine_knows_nothing_and_gets_a_file(desk_of: DeskOf) -> None:
    panel = StartPanel(desk_of("orchard_cart"))
    panel.new_button.click()
    assert "assumed sizes" in panel.sentence.value
    field(panel, "machine", "track_m").entry.value = "0.7"
    panel.file_bar.name.value = "Herring barrow"
    panel.file_bar.save_as()
    assert panel.desk.path is not None
    assert panel.desk.path.name == "herring_barrow.toml"
    assert not panel.desk.changed
    again = Desk(panel.desk.folder)
    assert again.path == panel.desk.path
    assert again.tune.machine.track_m == 0.7


def test_unsaved_changes_are_not_thrown_away_for_a_new_machine(desk_of: DeskOf) -> None:
    panel = StartPanel(desk_of("orchard_cart"))
    field(panel, "machine", "track_m").entry.value = "0.7"
    panel.new_button.click()
    assert panel.desk.tune.machine.track_m == 0.7
    assert "Unsaved changes" in panel.file_bar.message.value


def test_a_name_with_markup_is_shown_as_text(desk_of: DeskOf) -> None:
    panel = StartPanel(desk_of("orchard_cart"))
    panel.name.value = "<script>alert(1)</script>"
    assert "<script>" not in panel.sentence.value
    assert "&lt;script&gt;" in panel.sentence.value
