"""The start workbook in a real browser: type a fact, make a file, find it on disk."""

from __future__ import annotations

from lab import Lab

from curvelib import load_tune

NUMBERS, SENTENCE = ".cv-figures", ".cv-sentence"
TRACK = ".cv-field-machine-track-m input"


def test_a_new_machine_is_made_and_saved(lab: Lab) -> None:
    """What is typed shows in the numbers, is saved under its name and reads back."""
    lab.open("00_start_here.ipynb")
    lab.run_all()
    before = lab.text(SENTENCE)
    lab.click(".cv-button-new")
    assert "assumed sizes" in lab.wait_text_change(SENTENCE, before)
    numbers, shown = lab.text(NUMBERS), lab.pictures_shown(".cv-picture")
    lab.page.fill(TRACK, "0.77")
    lab.page.press(TRACK, "Enter")
    assert "0.77 m" in lab.wait_text_change(NUMBERS, numbers)
    lab.wait_picture_change(".cv-picture", shown)
    message = lab.text(".cv-message")
    lab.page.fill(".cv-text-save-as input", "Browser barrow")
    lab.page.press(".cv-text-save-as input", "Tab")
    lab.click(".cv-button-save-as")
    assert "Saved" in lab.wait_text_change(".cv-message", message)
    saved = load_tune(lab.folder / "my_machines" / "browser_barrow.toml")
    assert saved.machine.track_m == 0.77
    assert saved.name == "Browser barrow"
    assert lab.errors() == []


def test_a_fault_shows_in_words_at_its_field(lab: Lab) -> None:
    lab.open("00_start_here.ipynb")
    lab.run_all()
    lab.page.fill(TRACK, "wide")
    lab.page.press(TRACK, "Enter")
    fault = lab.page.locator(".cv-field-machine-track-m .cv-fault")
    fault.wait_for()
    assert "'wide' is not a number" in fault.inner_text()
    assert lab.errors() == []
