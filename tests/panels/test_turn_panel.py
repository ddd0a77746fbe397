"""The turn panel: its numbers and lines are the library's, wherever its controls stand."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from demos import DEMOS
from sweep import sweep

from curvelib import Chain, TankMix
from curvelib.machine.limits import least_radius_sideways, slide_sideways, tip_sideways
from curvelib.machine.motion import BodyMotion, body_motion, clearance_radius, drive, least_radius
from curvelib.machine.spin import drive_moment, resisting_moment
from curvelib.panels import settings
from curvelib.panels.desk import Desk
from curvelib.panels.turn_panel import TurnPanel
from curvelib.panels.units import Units
from curvelib.tune import Machine, Supply

DeskOf = Callable[[str], Desk]


def sticks_of(panel: TurnPanel) -> tuple[float, float]:
    first, second = panel.sticks[panel.desk.tune.mix.kind]
    return first.value, second.value


def motion_of(panel: TurnPanel, first: float, second: float) -> BodyMotion:
    """What the body does, from the tune on the desk and the library alone."""
    left, right = Chain.from_tune(panel.desk.tune).steady(first, second)
    top = panel.facts["top_speed_m_s"].value
    share = panel.facts["turning_share"].value
    return body_motion(top * left, top * right, panel.facts["track_m"].value, share)


def reaches(machine: Machine) -> tuple[float, float]:
    """Reach of the body ahead of and behind its turning centre; all demos give their sizes."""
    base = machine.wheelbase_m or 0.0
    behind_front = {"casters": {"rear": base, "front": 0.0}}.get(machine.contact, {})
    to_front = behind_front.get(machine.driven, base / 2.0)
    front, rear = machine.front_overhang_m or 0.0, machine.rear_overhang_m or 0.0
    return to_front + front, base - to_front + rear


def corner_circle(panel: TurnPanel, radius: float) -> float:
    machine = panel.desk.tune.machine
    half = (machine.width_m or 0.0) / 2.0
    return max(clearance_radius(radius, half, reach) for reach in reaches(machine))


def expected_cards(panel: TurnPanel) -> list[str]:
    motion, units = motion_of(panel, *sticks_of(panel)), panel.units
    shown = [f">{abs(math.degrees(motion.yaw_rate)):.0f} deg/s<"]
    if motion.yaw_rate == 0.0:
        return [*shown, ">straight on<" if motion.speed else ">standing still<"]
    shown.append(f"a full turn in {2 * math.pi / abs(motion.yaw_rate):.1f} s")
    if 0.005 <= abs(motion.radius) <= 200.0:
        shown.append(f">{units.text(abs(motion.radius), 'm')}<")
        corner = corner_circle(panel, motion.radius)
        shown.append(f"sweep a circle of {units.text(corner, 'm')} radius")
    machine, supply = panel.desk.tune.machine, panel.desk.tune.supply
    assert machine.mass_kg is not None
    friction, base = panel.facts["friction"].value, machine.wheelbase_m or 0.0
    resists = resisting_moment(machine.mass_kg, friction, base, machine.contact)
    shown.append(f">{resists:.0f} N m<" if resists else ">almost nothing<")
    if machine.torque_per_amp_nm and supply.current_limit_a and machine.wheel_radius_m:
        gives = drive_moment(
            machine.torque_per_amp_nm,
            supply.current_limit_a,
            machine.wheel_radius_m,
            panel.facts["track_m"].value,
        )
        verdict = "enough" if gives > resists else "not enough"
        shown.append(f"the drives give {gives:.0f} N m: {verdict}<")
    return shown


@pytest.mark.parametrize("demo", DEMOS)
def test_a_sweep_of_every_control_shows_the_librarys_numbers(demo: str, desk_of: DeskOf) -> None:
    """Every deciding number equals the library's, and the picture a fresh full draw."""
    panel = TurnPanel(desk_of(demo))
    picture, checked = panel.drawing.picture, []

    def check(words: str) -> None:
        checked.append(words)
        for text in expected_cards(panel):
            assert text in panel.figures_text, (words, text)
        if len(checked) % 20 == 0:
            assert np.array_equal(picture.pixels(), picture.fresh_pixels()), words

    sweep(panel, check)
    assert len(checked) > 40
    assert np.array_equal(picture.pixels(), picture.fresh_pixels())


@pytest.mark.parametrize("demo", DEMOS)
def test_opening_a_file_changes_nothing(demo: str, desk_of: DeskOf) -> None:
    """Looking at a machine, and moving the sticks, is no change to its file."""
    panel = TurnPanel(desk_of(demo))
    for slider in panel.sticks[panel.desk.tune.mix.kind]:
        slider.slider.value = -0.5
    panel.ahead.slider.value = 4.0
    panel.speed.slider.value = 0.3
    assert not panel.desk.changed


@pytest.mark.parametrize("demo", DEMOS)
def test_path_outline_and_circles_are_the_librarys(demo: str, desk_of: DeskOf) -> None:
    """The path is the exact arc; the outline's farthest corner touches the outer circle."""
    panel = TurnPanel(desk_of(demo))
    view = panel.drawing
    motion = motion_of(panel, *sticks_of(panel))
    left, right = Chain.from_tune(panel.desk.tune).steady(*sticks_of(panel))
    top, share = panel.facts["top_speed_m_s"].value, panel.facts["turning_share"].value
    ends = drive(top * left, top * right, 1.5, panel.facts["track_m"].value, share)[-1]
    across, ahead = view._path.get_data()
    assert (ahead[-1], across[-1]) == pytest.approx(tuple(ends[:2]), abs=1e-9)
    corners = np.column_stack(view._body.get_data())
    distance = np.hypot(corners[:, 0] - motion.radius, corners[:, 1])
    outer = np.hypot(view._outer.get_xdata() - motion.radius, view._outer.get_ydata())
    assert distance.max() == pytest.approx(corner_circle(panel, motion.radius))
    assert outer == pytest.approx(distance.max())


def test_straight_on_there_is_no_circle_and_on_the_spot_no_inner_one(desk_of: DeskOf) -> None:
    """What no longer holds is taken out of the picture."""
    panel = TurnPanel(desk_of("vineyard_sweeper"))
    view, (throttle, steer) = panel.drawing, panel.sticks["tank"]
    assert len(view._outer.get_xdata()) == len(view._inner.get_xdata()) > 0
    steer.slider.value = 0.0
    for line in (view._outer, view._inner, view._centre):
        assert len(line.get_xdata()) == 0
    assert "Straight on at" in panel.sentence.value
    throttle.slider.value = 0.0
    assert "at rest" in panel.sentence.value
    steer.slider.value = -1.0
    assert len(view._inner.get_xdata()) == 0
    assert np.hypot(*view._outer.get_data()) == pytest.approx(corner_circle(panel, 0.0))
    assert ">on the spot<" in panel.figures_text
    assert "turns left on the spot" in panel.sentence.value


def test_the_turning_centre_of_casters_lies_on_the_driven_axle(desk_of: DeskOf) -> None:
    """Driven at the rear, the snow carrier reaches a wheelbase and an overhang ahead."""
    panel = TurnPanel(desk_of("snow_carrier"))
    ahead = panel.drawing._body.get_ydata()
    machine = panel.desk.tune.machine
    assert machine.wheelbase_m is not None
    assert max(ahead) == pytest.approx(machine.wheelbase_m + (machine.front_overhang_m or 0.0))
    assert min(ahead) == pytest.approx(-(machine.rear_overhang_m or 0.0))


@pytest.mark.parametrize("demo", ["vineyard_sweeper", "snow_carrier"])
def test_the_three_rules_beside_each_other(demo: str, desk_of: DeskOf) -> None:
    """Each row and each small path is what the library says with that rule."""
    panel = TurnPanel(desk_of(demo))
    for slider in panel.sticks["tank"]:
        slider.slider.value = 1.0
    chain = Chain.from_tune(panel.desk.tune)
    assert isinstance(chain.mix, TankMix)
    top, share = panel.facts["top_speed_m_s"].value, panel.facts["turning_share"].value
    track = panel.facts["track_m"].value
    seen = set()
    for row in panel._rules.value.split("<tr>")[2:]:
        rule = row.split("“")[1].split("”")[0]
        mix = replace(chain.mix, overflow=rule)  # type: ignore[arg-type]
        left, right = replace(chain, mix=mix).steady(1.0, 1.0)
        motion = body_motion(top * left, top * right, track, share)
        assert f">{panel.units.text(motion.speed, 'm/s')}<" in row
        assert f">{abs(math.degrees(motion.yaw_rate)):.0f} deg/s<" in row
        ends = drive(top * left, top * right, 1.5, track, share)[-1]
        across, ahead = panel.drawing._rule_lines[rule][2].get_data()
        assert (ahead[-1], across[-1]) == pytest.approx(tuple(ends[:2]), abs=1e-9)
        seen.add(rule)
    assert seen == {"scale", "clip", "keep turn"}
    titles = {axes.get_title(loc="left") for axes in panel.drawing._rules.values()}
    assert f"“{chain.mix.overflow}” (in this file)" in titles


def test_independent_mixing_has_no_rules_and_says_so(desk_of: DeskOf) -> None:
    """Two sticks, named for their sides; no overflow to choose; back again on another file."""
    panel = TurnPanel(desk_of("orchard_cart"))
    assert "no overflow" in panel._rules.value
    assert panel.drawing._nothing_overflows.get_visible()
    assert panel.drawing._plane.get_xlabel() == "right stick (%)"
    assert panel.overflow not in panel._mix_box.children
    panel.desk.open(panel.desk.folder / "machines" / "vineyard_sweeper.toml")
    assert not panel.drawing._nothing_overflows.get_visible()
    assert panel.drawing._plane.get_xlabel() == "steer (%)"
    assert panel.overflow in panel._mix_box.children


def point(panel: TurnPanel, first: float, second: float, down: bool) -> None:
    """Put the pointer to a place of the stick plane, as the browser does."""
    panel.view.png  # noqa: B018  the picture is drawn
    x, y = panel.drawing._plane.transData.transform((100.0 * second, 100.0 * first))
    panel.view.pointer = {"x": x, "y": panel.drawing.picture.height - y, "down": down}


def hint(panel: TurnPanel) -> str:
    return str(panel._pointer_words.value)


@pytest.mark.parametrize("demo", DEMOS)
def test_the_pointer_reads_radius_and_yaw_rate(demo: str, desk_of: DeskOf) -> None:
    """Hovering tells without moving the sticks; beside the plane it tells how to."""
    panel = TurnPanel(desk_of(demo))
    before = sticks_of(panel)
    point(panel, 0.5, -0.75, down=False)
    motion = motion_of(panel, 0.5, -0.75)
    assert f"radius {panel.units.text(abs(motion.radius), 'm')}," in hint(panel)
    assert f"yaw rate {abs(math.degrees(motion.yaw_rate)):.0f} deg/s" in hint(panel)
    assert sticks_of(panel) == before
    panel.view.pointer = {"x": 2.0, "y": 2.0, "down": False}
    assert "Point at the stick plane" in hint(panel)


def test_a_press_puts_the_sticks_and_a_drag_beyond_the_edge_stays_at_it(desk_of: DeskOf) -> None:
    """The sliders follow the pointer; letting go ends it."""
    panel = TurnPanel(desk_of("vineyard_sweeper"))
    point(panel, 0.3, 0.4, down=True)
    assert sticks_of(panel) == (0.3, 0.4)
    assert expected_cards(panel)[1] in panel.figures_text
    point(panel, 0.2, 1.8, down=True)
    assert sticks_of(panel) == (0.2, 1.0)
    point(panel, -0.1, 0.0, down=False)
    assert sticks_of(panel) == (-0.1, 0.0)
    point(panel, -0.6, 0.0, down=False)
    assert sticks_of(panel) == (-0.1, 0.0)


def test_a_press_that_began_elsewhere_moves_nothing(desk_of: DeskOf) -> None:
    """Dragging from the plan into the stick plane leaves the sticks where they are."""
    panel = TurnPanel(desk_of("vineyard_sweeper"))
    before = sticks_of(panel)
    panel.view.pointer = {"x": 700.0, "y": 200.0, "down": True}
    point(panel, 0.1, 0.1, down=True)
    assert sticks_of(panel) == before


def test_sliders_write_into_the_machine_file(desk_of: DeskOf) -> None:
    """Track, turning share, steer share and overflow rule are the file's."""
    panel = TurnPanel(desk_of("vineyard_sweeper"))
    panel.facts["track_m"].slider.value = 0.9
    panel.facts["turning_share"].slider.value = 0.55
    panel.overflow.value = "clip"
    panel.steer_share.slider.value = 0.5
    tune = panel.desk.tune
    assert (tune.machine.track_m, tune.machine.turning_share) == (0.9, 0.55)
    assert tune.mix == TankMix(0.5, "clip")
    panel.desk.revert()
    assert panel.overflow.value == "scale"
    assert panel.facts["track_m"].value == 0.82


def test_what_the_file_leaves_out_is_assumed_aloud_and_not_written(desk_of: DeskOf) -> None:
    """The orchard cart gives no turning share and no grip."""
    panel = TurnPanel(desk_of("orchard_cart"))
    for name in ("turning_share", "friction"):
        assert "is assumed until you set it" in panel.facts[name].children[2].value
    panel.facts["top_speed_m_s"].slider.value = 1.2
    machine = panel.desk.tune.machine
    assert (machine.turning_share, machine.friction) == (None, None)
    panel.facts["friction"].slider.value = 0.5
    assert panel.desk.tune.machine.friction == 0.5
    assert panel.facts["friction"].children[2].value == ""


def test_what_is_not_known_is_said(desk_of: DeskOf) -> None:
    """A machine of which nothing is known: sizes assumed by name, moments not known."""
    desk = desk_of("vineyard_sweeper")
    desk.begin_new()
    panel = TurnPanel(desk)
    assert "needs the mass" in panel.figures_text
    assert "wheelbase, width, front overhang, rear overhang" in panel._assumed.value
    assert "needs the height of the centre of mass" in panel._tightest.value
    desk.tune = replace(desk.tune, machine=Machine(mass_kg=100.0), supply=Supply(current_limit_a=9))
    panel.load()
    assert "needs torque per ampere, wheel radius" in panel._spin.value
    assert "the drives give is not known" in panel.figures_text


def test_the_tightest_turn_at_a_speed_is_the_librarys(desk_of: DeskOf) -> None:
    """The largest of what drives, grip and footing allow; above top speed it is told there."""
    panel = TurnPanel(desk_of("snow_carrier"))
    panel.speed.slider.value = 2.0
    machine, text = panel.desk.tune.machine, panel.units.text
    assert machine.cg_height_m is not None
    assert machine.track_m is not None
    assert machine.friction is not None
    drives = least_radius(2.0, 2.4, machine.track_m, 0.95)
    slides = least_radius_sideways(2.0, slide_sideways(machine.friction))
    tips = least_radius_sideways(2.0, tip_sideways(machine.track_m, machine.cg_height_m))
    cells = [f">{text(radius, 'm')}<" for radius in (drives, slides, tips)]
    for cell in cells:
        assert cell in panel._tightest.value
    largest = max(drives, slides, tips)
    assert f'Tightest radius</td><td class="cv-fact-number">{text(largest, "m")}<' in (
        panel._tightest.value
    )
    panel.speed.slider.value = 3.0
    assert "top speed" in panel.speed.children[2].value
    assert "Faster than" in panel._tightest.value


def test_us_units_are_shown_and_si_is_kept(desk_of: DeskOf) -> None:
    """A reader of inches sees inches in numbers, axes and legend; the file keeps metres."""
    settings.keep_units(Units("mph", "in"))
    panel = TurnPanel(desk_of("vineyard_sweeper"))
    motion = motion_of(panel, *sticks_of(panel))
    assert f"{abs(motion.radius) / 0.0254:.1f} in" in panel.figures_text
    assert panel.drawing._plan.get_ylabel() == "forward (in)"
    across = panel.drawing._centre.get_xdata()
    assert across[0] == pytest.approx(motion.radius / 0.0254)
    assert not panel.desk.changed
