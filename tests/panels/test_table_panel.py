"""The table panel: text, error and picture are the library's, in every format."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from demos import DEMOS
from sweep import faulty, sweep

from curvelib import Table
from curvelib.export.common import TableRequest
from curvelib.export.formats import FORMATS
from curvelib.panels.desk import Desk
from curvelib.panels.table_panel import POINTS, TablePanel

DeskOf = Callable[[str], Desk]


@pytest.mark.parametrize("demo", DEMOS)
def test_a_sweep_shows_the_librarys_error_and_text(demo: str, desk_of: DeskOf) -> None:
    panel = TablePanel(desk_of(demo))

    def check(words: str) -> None:
        assert not faulty(panel), words
        shape = panel.desk.tune.shape(panel.channel)
        table = Table.from_shape(shape, panel.points.value, panel.spacing.value)
        assert f"{100 * table.max_error:.3g} %" in panel.figures_text, words
        wanted = FORMATS[panel.format.value](TableRequest(panel.desk.tune, panel.channel, table))
        assert panel.copy.text == wanted, words

    assert sweep(panel, check) > 20
    picture = panel.drawing.picture
    assert np.array_equal(picture.pixels(), picture.fresh_pixels())
    assert not panel.desk.changed


def test_fewest_points_hold_the_bound_and_fewer_do_not(desk_of: DeskOf) -> None:
    panel = TablePanel(desk_of("vineyard_sweeper"))
    panel.bound.slider.value = 0.003
    panel.take_fewest.click()
    found = panel.points.value
    shape = panel.desk.tune.throttle.shape
    assert panel.spacing.value == "fitted"
    assert Table.from_shape(shape, found, "fitted").max_error <= 0.003
    assert Table.from_shape(shape, found - 2, "fitted").max_error > 0.003
    assert f"{found} points" in panel.figures_text


def test_fitted_points_are_said_to_be_closer_by_what_they_are(desk_of: DeskOf) -> None:
    panel = TablePanel(desk_of("vineyard_sweeper"))
    panel.spacing.value = "fitted"
    shape = panel.desk.tune.throttle.shape
    even, fitted = (Table.from_shape(shape, 33, spacing) for spacing in ("even", "fitted"))
    assert f"{even.max_error / fitted.max_error:.1f} times closer" in panel.sentence.value


def test_writing_never_replaces_another_file_unasked(desk_of: DeskOf) -> None:
    panel = TablePanel(desk_of("snow_carrier"))
    panel.format.value = "c"
    panel.write()
    path = panel.desk.folder / "my_tables" / "snow_carrier_throttle.c"
    assert path.read_text("utf-8") == panel.copy.text
    panel.points.value = 17
    panel.write()
    assert path.read_text("utf-8") == panel.copy.text
    path.write_text("mine", "utf-8")
    panel.points.value = 9
    panel.write()
    assert "another file is there" in panel.message.value
    assert path.read_text("utf-8") == "mine"
    panel.overwrite_button.click()
    assert path.read_text("utf-8") == panel.copy.text


@pytest.mark.parametrize("name", ["", "../x.c", "a/b.c", ".hidden", str(Path("/x.c"))])
def test_a_name_that_leaves_the_folder_is_refused(name: str, desk_of: DeskOf) -> None:
    panel = TablePanel(desk_of("snow_carrier"))
    panel.name.value = name
    panel.write()
    assert "plain file name" in panel.message.value
    assert not (panel.desk.folder / "my_tables").exists()


def test_code_formats_say_that_the_dead_zone_is_tested(desk_of: DeskOf) -> None:
    panel = TablePanel(desk_of("vineyard_sweeper"))
    assert "leaks" in panel.sentence.value
    panel.format.value = "c"
    assert "tests for the dead zone" in panel.sentence.value
    assert 33 in POINTS
