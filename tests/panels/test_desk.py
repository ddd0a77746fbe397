"""The desk and the foot of the panels: opening, saving, and never losing a file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelib import TuneError, load_tune
from curvelib.files import BACKUP_MARK
from curvelib.panels import settings
from curvelib.panels.desk import Desk, file_stem
from curvelib.panels.filebar import FileBar

DeskOf = Callable[[str], Desk]


def changed(desk: Desk, name: str = "Other") -> None:
    """Make any change to the tune on the desk."""
    desk.tune = replace(desk.tune, name=name)


def test_a_demo_is_never_written(desk_of: DeskOf) -> None:
    desk = desk_of("snow_carrier")
    assert desk.path is not None
    before = desk.path.read_bytes()
    changed(desk)
    bar = FileBar(desk)
    assert bar.save_button.disabled
    with pytest.raises(TuneError, match="Save as"):
        desk.save()
    assert desk.path.read_bytes() == before


def test_save_as_then_save_then_open_again(desk_of: DeskOf) -> None:
    desk = desk_of("snow_carrier")
    changed(desk)
    desk.save_as("Ice  barge")
    assert desk.path is not None
    assert desk.path == desk.folder / "my_machines" / "ice_barge.toml"
    assert desk.tune.name == "Ice barge"
    assert "INVENTED DATA" in desk.path.read_text(encoding="utf-8")
    changed(desk, "Ice barge two")
    desk.save()
    assert load_tune(desk.path).name == "Ice barge two"
    backups = list(desk.path.parent.glob(f"*{BACKUP_MARK}*"))
    assert len(backups) == 1
    assert desk.path in desk.files()
    assert backups[0] not in desk.files()


def test_save_as_refuses_a_name_that_is_taken(desk_of: DeskOf) -> None:
    desk = desk_of("snow_carrier")
    desk.save_as("Ice barge")
    with pytest.raises(TuneError, match="already"):
        desk.save_as("ice BARGE")


def test_a_change_on_disk_gives_a_choice(desk_of: DeskOf) -> None:
    """Saving over somebody else's change is refused; both ways out work."""
    desk = desk_of("snow_carrier")
    desk.save_as("Ice barge")
    assert desk.path is not None
    elsewhere = desk.path.read_text(encoding="utf-8").replace("mass_kg = 340", "mass_kg = 341")
    desk.path.write_text(elsewhere, encoding="utf-8")
    bar = FileBar(desk)
    changed(desk)
    bar.save()
    assert "changed on disk" in bar.message.value
    assert bar.overwrite_button.layout.display == ""
    assert desk.path.read_text(encoding="utf-8") == elsewhere
    bar.overwrite_button.click()
    assert load_tune(desk.path).name == "Other"
    assert bar.overwrite_button.layout.display == "none"
    desk.path.write_text(elsewhere, encoding="utf-8")
    bar.revert_button.disabled = False
    desk.revert()
    assert desk.tune.machine.mass_kg == 341


def test_choosing_another_file_keeps_unsaved_changes(desk_of: DeskOf) -> None:
    desk = desk_of("snow_carrier")
    bar = FileBar(desk)
    changed(desk)
    other = desk.folder / "machines" / "orchard_cart.toml"
    bar.chooser.value = other
    assert "Unsaved changes" in bar.message.value
    assert bar.chooser.value == desk.path
    desk.revert()
    bar.chooser.value = other
    assert desk.tune.name == "Orchard cart"


def test_a_broken_file_is_told_and_the_open_one_stays(desk_of: DeskOf) -> None:
    desk = desk_of("snow_carrier")
    own = desk.folder / "my_machines"
    own.mkdir()
    (own / "broken.toml").write_text("format = 1\n[throttle]\nshape = 3\n", encoding="utf-8")
    bar = FileBar(desk)
    bar.chooser.value = own / "broken.toml"
    assert "throttle.shape = 3" in bar.message.value
    assert desk.tune.name == "Snow carrier"
    assert bar.chooser.value == desk.path


def test_the_file_used_last_opens_next_time(desk_of: DeskOf, workfolder: Path) -> None:
    desk_of("snow_carrier")
    assert Desk(workfolder).tune.name == "Snow carrier"
    desk_of("vineyard_sweeper")
    assert Desk(workfolder).tune.name == "Vineyard sweeper"


@pytest.mark.parametrize("text", ["{", "[]", '{"last_file": 3, "speed_unit": []}', "\x00"])
def test_a_broken_settings_file_costs_only_the_memory(
    text: str, own_settings: Path, workfolder: Path
) -> None:
    own_settings.mkdir()
    (own_settings / "settings.json").write_text(text, encoding="utf-8")
    assert settings.units().speed == "m/s"
    assert Desk(workfolder).path is not None


def test_a_folder_without_machines_still_has_a_desk(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    assert desk.path is None
    assert FileBar(desk).chooser.value is None


@given(st.text(max_size=80))
def test_a_file_name_is_plain_or_refused(name: str) -> None:
    """Whatever is typed, the name of the file has small letters, digits and underscores alone."""
    try:
        stem = file_stem(name)
    except TuneError:
        return
    assert stem
    assert set(stem) <= set("abcdefghijklmnopqrstuvwxyz0123456789_")
    assert stem not in {"con", "prn", "aux", "nul", "com1", "lpt1"}
