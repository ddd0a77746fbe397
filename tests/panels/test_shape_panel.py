"""The shape panel: its numbers are the library's, wherever its controls stand."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from demos import DEMOS
from sweep import faulty, sweep

from curvelib import Chain, Deadband, Linear, Shape, Table, slow_end
from curvelib.panels import settings
from curvelib.panels.desk import Desk
from curvelib.panels.shape_panel import ShapePanel
from curvelib.panels.units import Units

DeskOf = Callable[[str], Desk]


def expected_cards(panel: ShapePanel) -> list[str]:
    """The deciding numbers, worked out from the tune on the desk alone."""
    chain = replace(Chain.from_tune(panel.desk.tune), top_speed=panel.top.value)
    end = slow_end(chain, panel.channel, panel.band.value)
    assert end.linear is not None
    return [
        f"{end.stick_steps} stick steps",
        f"plain linear gives {end.linear.stick_steps}<",
        panel.units.fine_speed(end.largest_jump),
    ]


@pytest.mark.parametrize("demo", DEMOS)
def test_a_sweep_of_every_control_shows_the_librarys_numbers(demo: str, desk_of: DeskOf) -> None:
    """Every number above the picture equals slow_end's, and the picture a fresh full draw."""
    panel = ShapePanel(desk_of(demo))

    checked = []

    def check(words: str) -> None:
        if faulty(panel):
            return
        checked.append(words)
        for text in expected_cards(panel):
            assert text in panel.figures_text, words

    sweep(panel, check)
    assert len(checked) > 40
    picture = panel.drawing.picture
    assert np.array_equal(picture.pixels(), picture.fresh_pixels())


@pytest.mark.parametrize("demo", DEMOS)
def test_opening_a_file_changes_nothing(demo: str, desk_of: DeskOf) -> None:
    """Looking at a machine on both sticks is no change to its file."""
    panel = ShapePanel(desk_of(demo))
    for _, channel in panel.stick.options:
        panel.stick.value = channel
        assert not panel.desk.changed
    assert "as it came" in panel.file_bar.state.value


def test_an_unusual_order_is_kept(desk_of: DeskOf) -> None:
    """A dead zone after a curve stays after it when its slider moves."""
    panel = ShapePanel(desk_of("orchard_cart"))
    before = panel.desk.tune.throttle.shape
    dead = panel.editor.sliders()[-1]
    dead.slider.value = 0.05
    after = panel.desk.tune.throttle.shape
    assert [stage.kind for stage in after.stages] == [stage.kind for stage in before.stages]
    assert after.stages[1] == Deadband(0.05)
    assert after.stages[0] == before.stages[0]


def test_points_are_shown_and_kept(desk_of: DeskOf) -> None:
    """Points that no slider can edit stay while the dead zone around them moves."""
    panel = ShapePanel(desk_of("snow_carrier"))
    panel.stick.value = "steer"
    before = panel.desk.tune.steer.shape.stages[1]
    panel.editor.deadband.slider.value = 0.1
    assert panel.desk.tune.steer.shape.stages[1] == before
    assert panel.editor.kind.value == "points"
    panel.editor.kind.value = "expo"
    panel.editor.kind.value = "points"
    assert panel.desk.tune.steer.shape.stages[1] == before


def test_a_fault_stays_at_its_control_and_the_picture_stays(desk_of: DeskOf) -> None:
    """A knee too high for its place is told at the knee; the last good picture remains."""
    panel = ShapePanel(desk_of("snow_carrier"))
    good, tune = panel.view.png, panel.desk.tune
    high = panel.editor.curve_sliders["two zone", "knee_y"]
    high.slider.value = 0.9
    assert "at most 0.6667" in high.children[2].value
    assert panel.view.png == good
    assert panel.desk.tune == tune
    high.slider.value = 0.3
    assert high.children[2].value == ""
    assert panel.view.png != good


def test_start_above_top_is_told_at_the_motor(desk_of: DeskOf) -> None:
    """A motor whose start passes its top keeps the last good result and says so."""
    panel = ShapePanel(desk_of("vineyard_sweeper"))
    panel.motors["left_start"].slider.value = 0.5
    panel.motors["left_top"].slider.value = 0.2
    assert "above the start" in panel.motors["left_start"].children[2].value
    assert panel.desk.tune.sides.left_top == 1.0


def test_back_to_linear_and_revert(desk_of: DeskOf) -> None:
    """Back to linear takes the stages off one stick; revert brings the file back."""
    panel = ShapePanel(desk_of("vineyard_sweeper"))
    steer = panel.desk.tune.steer
    panel.linear_button.click()
    assert panel.desk.tune.throttle.shape == Shape()
    assert panel.desk.tune.steer == steer
    panel.file_bar.revert_button.click()
    assert not panel.desk.changed
    assert panel.editor.deadband.value == 0.03


def test_a_missing_top_speed_is_assumed_aloud_and_not_written(
    desk_of: DeskOf, workfolder: object
) -> None:
    """Figures for a machine without a top speed say what they assume; the file stays without it."""
    desk = desk_of("vineyard_sweeper")
    desk.begin_new()
    panel = ShapePanel(desk)
    assert "is assumed" in panel.top.children[2].value
    panel.editor.deadband.slider.value = 0.05
    assert desk.tune.machine.top_speed_m_s is None
    panel.top.slider.value = 2.0
    assert desk.tune.machine.top_speed_m_s == 2.0
    assert panel.top.children[2].value == ""


@pytest.mark.parametrize("points", [9, 65])
def test_the_table_to_copy_is_the_librarys(points: int, desk_of: DeskOf) -> None:
    """The text under the picture reads back as Table.from_shape's points."""
    panel = ShapePanel(desk_of("vineyard_sweeper"))
    panel.points.value = points
    panel.editor.curve_sliders["cubic blend", "blend"].slider.value = 0.25
    rows = [line for line in panel.copy.text.splitlines() if not line.startswith("#")]
    read = list(csv.DictReader(io.StringIO("\n".join(rows))))
    table = Table.from_shape(panel.desk.tune.throttle.shape, points)
    assert [float(row["position"]) for row in read] == table.x.tolist()
    assert [float(row["command"]) for row in read] == table.y.tolist()


def test_us_units_are_shown_and_si_is_kept(desk_of: DeskOf) -> None:
    """A reader of mph sees mph; the file keeps metres a second."""
    settings.keep_units(Units("mph", "in"))
    panel = ShapePanel(desk_of("vineyard_sweeper"))
    assert "mph" in panel.figures_text
    assert panel.desk.tune.machine.top_speed_m_s == 1.6
    panel.top.slider.value = 4.0
    assert panel.desk.tune.machine.top_speed_m_s == pytest.approx(4.0 * 0.44704, abs=1e-4)


def test_a_stage_spelt_out_stays_spelt_out(desk_of: DeskOf) -> None:
    """A file that writes a neutral stage keeps it when another control moves."""
    desk = desk_of("vineyard_sweeper")
    desk.tune = desk.tune.with_shape("throttle", Shape([Deadband(0.0), Linear()]))
    panel = ShapePanel(desk)
    panel.editor.limit.slider.value = 0.5
    kinds = [stage.kind for stage in panel.desk.tune.throttle.shape.stages]
    assert kinds == ["deadband", "linear", "limit"]


def test_the_browsers_rounding_is_no_change_of_the_file(desk_of: DeskOf) -> None:
    """A value between two slider steps comes back rounded; the file keeps its own."""
    desk = desk_of("vineyard_sweeper")
    machine = replace(desk.tune.machine, top_speed_m_s=1.63)
    desk.saved = desk.tune = replace(desk.tune, machine=machine)
    panel = ShapePanel(desk)
    panel.top.slider.value = 1.65
    assert not desk.changed
    panel.top.slider.value = 1.7
    assert desk.tune.machine.top_speed_m_s == 1.7
