"""The table workbook in a real browser: choose, copy, write; the written C compiles and agrees."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from lab import Lab

from curvelib import Table, load_tune
from curvelib.coded import exact_units
from curvelib.export.fixed import FULL_IN

NUMBERS = ".cv-figures"
MAIN = """\
#include <stdio.h>
#include <stdint.h>
int16_t curvelib_throttle(int16_t position);
int main(void) {
    for (int32_t x = -16384; x <= 16384; x++) printf("%d\\n", curvelib_throttle((int16_t)x));
    return 0;
}
"""


def run_c(source: Path, folder: Path) -> list[int]:
    """Compile what the workbook wrote, strictly, and run it over every input."""
    (folder / "main.c").write_text(MAIN, "utf-8")
    flags = ["-std=c99", "-Wall", "-Wextra", "-Wconversion", "-Werror", "-pedantic", "-O2"]
    program = folder / "program"
    subprocess.run(
        ["gcc", *flags, str(source), str(folder / "main.c"), "-o", str(program)], check=True
    )
    printed = subprocess.run([str(program)], capture_output=True, check=True, text=True)
    return [int(line) for line in printed.stdout.split()]


def test_choose_copy_write_compile(lab: Lab, tmp_path: Path) -> None:
    """Fitted points and C are chosen on the page; the written file is the text shown, and right."""
    lab.open("07_tables_to_paste.ipynb")
    lab.run_all()
    lab.page.select_option(".cv-choice-file select", label="snow_carrier (demo)")
    lab.settle()
    shown, numbers = lab.pictures_shown(".cv-picture"), lab.text(NUMBERS)
    lab.page.select_option(".cv-choice-spacing select", index=1)
    lab.wait_text_change(NUMBERS, numbers)
    lab.wait_picture_change(".cv-picture", shown)
    lab.page.select_option(".cv-choice-format select", label="C function")
    lab.page.locator(".cv-copy-text", has_text="int16_t curvelib_throttle").wait_for()

    tune = load_tune(lab.folder / "machines" / "snow_carrier.toml")
    table = Table.from_shape(tune.throttle.shape, 33, "fitted")
    assert f"{100 * table.max_error:.3g} %" in lab.text(NUMBERS)

    before = lab.text(".cv-table-message")
    lab.click(".cv-button-write")
    assert "Written to my_tables" in lab.wait_text_change(".cv-table-message", before)
    written = lab.folder / "my_tables" / "snow_carrier_throttle.c"
    assert lab.page.locator(".cv-copy-text").text_content() == written.read_text("utf-8")
    lab.click(".cv-copy-button")
    lab.page.locator(".cv-copy-button", has_text="Copied").or_(
        lab.page.locator(".cv-copy-button", has_text="Selected")
    ).wait_for()
    assert lab.errors() == []

    if shutil.which("gcc") is None:
        if os.environ.get("CURVELIB_NEED_TOOLS") == "1":
            pytest.fail("no gcc on PATH, and CURVELIB_NEED_TOOLS=1")
        pytest.skip("no gcc on PATH: the written C was not compiled")
    positions = np.arange(-FULL_IN, FULL_IN + 1)
    exact = exact_units(tune.throttle.shape, positions / FULL_IN, tune.output)
    room = 1.0 + table.max_error * max(tune.output.spans)
    assert np.abs(np.array(run_c(written, tmp_path)) - exact).max() <= room


def test_a_drag_answers_how_few_points_would_do(lab: Lab) -> None:
    lab.open("07_tables_to_paste.ipynb")
    lab.run_all()
    lab.page.select_option(".cv-choice-file select", label="orchard_cart (demo)")
    lab.settle()
    told = ".cv-fewest"
    before = lab.text(told)
    lab.drag("bound", 0.2)
    after = lab.wait_text_change(told, before)
    lab.settle()
    bound = float(lab.text(".cv-slider-bound .widget-readout"))
    demo = load_tune(lab.folder / "machines" / "orchard_cart.toml")
    wanted = len(Table.fewest(demo.throttle.shape, bound).x)
    after = lab.text(told)
    assert after.startswith(f"{wanted} fitted points")
