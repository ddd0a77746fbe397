"""The fault panel: its numbers are the library's, the runaway is seen and prevented."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from demos import DEMOS
from sweep import sweep

from curvelib import Chain, Tune
from curvelib.machine.dropouts import Dropouts, TimeoutScene, timeout_window
from curvelib.machine.restart import Body, RestartScene, RestartStory, restart_story
from curvelib.machine.silence import (
    RECEIVERS,
    LossScene,
    Standstill,
    Stopper,
    blind_time,
    goal_command,
    grip_downhill,
)
from curvelib.machine.supply import Source
from curvelib.panels import settings
from curvelib.panels.desk import Desk
from curvelib.panels.fault_panel import FaultPanel
from curvelib.panels.fault_timeout import how_often
from curvelib.panels.filesliders import filled
from curvelib.panels.units import Units, percent

DeskOf = Callable[[str], Desk]
RESTART, SIGNAL, TIMEOUT = range(3)


def values(sliders: dict[str, object]) -> dict[str, float]:
    """SI values of sliders by name."""
    return {name: slider.value for name, slider in sliders.items()}  # type: ignore[attr-defined]


def story_of(panel: FaultPanel) -> RestartStory:
    """The story worked out by the library from the tune on the desk and the sliders."""
    tune = filled(panel.desk.tune)
    unpowered = panel.restart.unpowered.value
    scene = RestartScene(**values(panel.restart.scene), unpowered=unpowered)
    body = Body(tune.machine.top_speed_m_s, tune.machine.lag_s)
    return restart_story(Chain.from_tune(tune), scene, Source.of(tune.supply), body)


def expect_restart(panel: FaultPanel) -> list[str]:
    """The deciding numbers of the first chapter."""
    story, centre = story_of(panel), panel.desk.tune.stick.centre
    volts = f"{story.voltage:.1f} V"
    if not story.restarts:
        return ["no restart", volts]
    mine = story.traces["learned centre" if centre == "learned" else "fixed centre"]
    learned = story.traces["learned centre"]
    return [
        f">{percent(mine.worst_command)}<",
        f"learned centre {percent(learned.worst_command)}",
        f">{panel.units.text(abs(mine.goes), 'm')}",
        panel.units.text(abs(learned.goes), "m"),
        volts,
    ]


def stopper_of(panel: FaultPanel) -> tuple[Stopper, LossScene, Tune]:
    """How the machine stops, by the library."""
    tune, scene = filled(panel.desk.tune), LossScene(**values(panel.signal.scene))
    machine = tune.machine
    grip = grip_downhill(machine, scene.slope)
    return Stopper(tune.slew.limit, machine.top_speed_m_s, machine.lag_s, grip), scene, tune


def expect_signal(panel: FaultPanel) -> list[str]:
    """The deciding numbers of the second chapter, each receiver by its own whole call."""
    stopper, scene, tune = stopper_of(panel)
    speed = scene.speed_share * stopper.top_speed
    chain, receiver = Chain.from_tune(tune), panel.signal.receiver.value
    blind = blind_time(receiver, scene, chain.timeout_s)
    goal = goal_command(chain, receiver, scene)
    stands: Standstill = stopper.standstill(speed, scene.still_m_s, blind, goal)
    if math.isinf(stands.time):
        return [">never<"]
    return [f">{stands.time:.2f} s<", f">{panel.units.text(stands.distance, 'm')}<"]


def expect_timeout(panel: FaultPanel) -> list[str]:
    """The deciding numbers of the third chapter, and its window in words."""
    stopper, scene, tune = stopper_of(panel)
    speed, timeout = scene.speed_share * stopper.top_speed, tune.signal_loss.timeout_s
    radio = Dropouts(**values(panel.timeout.radio))
    way = stopper.standstill(speed, scene.still_m_s).distance
    window = timeout_window(radio, TimeoutScene(**values(panel.timeout.bears)), speed, way)
    assert window.words() in panel.sentence.value.replace("&#x27;", "'")
    whole = speed * timeout + way
    return [
        f">{how_often(radio.false_stops(timeout))}<",
        f">{panel.units.text(speed * timeout, 'm')}<",
        ">never<" if math.isinf(whole) else f">{panel.units.text(whole, 'm')}<",
    ]


EXPECTED = {RESTART: expect_restart, SIGNAL: expect_signal, TIMEOUT: expect_timeout}


@pytest.mark.parametrize(
    ("part", "demo"),
    [(RESTART, "vineyard_sweeper"), (SIGNAL, "snow_carrier"), (TIMEOUT, "orchard_cart")],
)
def test_a_sweep_of_every_control_shows_the_librarys_numbers(
    part: int, demo: str, desk_of: DeskOf
) -> None:
    """Every number above the picture is worked out anew, and the picture equals a full draw."""
    panel = FaultPanel(desk_of(demo))
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
    """Reading all three chapters is no change to the file, and each shows the library's numbers."""
    panel = FaultPanel(desk_of(demo))
    for part, expected in EXPECTED.items():
        panel.part.value = part
        assert all(text in panel.figures_text for text in expected(panel))
        assert not panel.desk.changed
        assert panel.chapter.title in panel.view.alt
    assert "as it came" in panel.file_bar.state.value


@pytest.mark.parametrize("demo", DEMOS)
def test_the_runaway_is_seen_and_prevented(demo: str, desk_of: DeskOf) -> None:
    """Learned: backwards, with a number. Fixed: 0. Less load: no restart."""
    panel = FaultPanel(desk_of(demo))
    panel.restart.centre.value = "learned"
    assert panel.desk.tune.stick.centre == "learned"
    learned = story_of(panel).traces["learned centre"]
    assert learned.goes < -0.2
    assert f">{panel.units.text(-learned.goes, 'm')} back<" in panel.figures_text
    assert "drives backwards" in panel.sentence.value
    panel.restart.centre.value = "fixed"
    assert ">0 %<" in panel.figures_text
    assert ">0.00 m<" in panel.figures_text
    panel.restart.scene["load_a"].slider.value = 5.0
    assert "no restart" in panel.figures_text
    assert "does not restart" in panel.sentence.value


def test_let_go_early_a_learned_centre_is_said_to_be_lucky(desk_of: DeskOf) -> None:
    """The sentence says what happened, not what might have."""
    panel = FaultPanel(desk_of("vineyard_sweeper"))
    panel.restart.centre.value = "learned"
    panel.restart.scene["lets_go_s"].slider.value = 0.1
    assert "let go before the rest was over" in panel.sentence.value
    assert ">0 %<" in panel.figures_text


@pytest.mark.parametrize("receiver", RECEIVERS)
def test_each_receiver_says_what_helps(receiver: str, desk_of: DeskOf) -> None:
    """The help under the list and the sentence follow the receiver."""
    panel = FaultPanel(desk_of("vineyard_sweeper"))
    panel.part.value = SIGNAL
    panel.signal.receiver.value = receiver
    assert f"this receiver {receiver}" in panel.sentence.value
    assert panel.signal.helps.value
    table = panel._list.value
    assert ("change it" in table) == (receiver == "repeats its last pulse for ever")


def test_a_preset_off_centre_drives_on(desk_of: DeskOf) -> None:
    """Its speed and direction are told; at the centre it stands sooner than the timeout."""
    panel = FaultPanel(desk_of("orchard_cart"))
    panel.part.value = SIGNAL
    panel.signal.receiver.value = "sends a preset pulse"
    assert "never stands" not in panel.sentence.value
    panel.signal.scene["preset"].slider.value = -0.5
    assert "drives on at" in panel.sentence.value
    assert "back and never stands" in panel.sentence.value
    assert ">never<" in panel.figures_text
    assert "change it: preset to 0" in panel._list.value


def test_speed_and_slope_are_the_same_in_both_chapters_about_the_signal(desk_of: DeskOf) -> None:
    """One moment, told twice."""
    panel = FaultPanel(desk_of("vineyard_sweeper"))
    panel.part.value = SIGNAL
    panel.signal.scene["speed_share"].slider.value = 0.3
    panel.part.value = TIMEOUT
    assert "at 0.48 m/s" in panel.figures_text


def test_a_key_changed_in_one_chapter_is_shown_in_the_other(desk_of: DeskOf) -> None:
    """Two chapters have the timeout; neither puts back an older one."""
    panel = FaultPanel(desk_of("vineyard_sweeper"))
    panel.part.value = SIGNAL
    panel.signal.keys["timeout_s"].slider.value = 1.2
    panel.part.value = TIMEOUT
    assert panel.timeout.keys["timeout_s"].value == 1.2
    assert panel.desk.tune.signal_loss.timeout_s == 1.2


def test_the_list_carries_each_number_with_its_reason(desk_of: DeskOf) -> None:
    """Timeout, rest, centre, receiver, ramp, least voltage: number and why, in every chapter."""
    panel = FaultPanel(desk_of("vineyard_sweeper"))
    for part in EXPECTED:
        panel.part.value = part
        table = panel._list.value
        for name, number in {
            "Signal timeout": "0.60 s",
            "Rest before driving": "0.50 s",
            "Centre of the sticks": "fixed",
            "Receiver, signal lost": "silence",
            "Ramp to stop": "0.40 s",
            "Least voltage": "21.0 V",
        }.items():
            assert f"<td>{name}</td><td>{number}</td><td>" in table
        assert "common practice, no source" in table
    panel.timeout.keys["timeout_s"].slider.value = 0.9
    assert "<td>Signal timeout</td><td>0.90 s</td>" in panel._list.value
    assert panel.desk.tune.signal_loss.timeout_s == 0.9


def test_what_the_file_leaves_out_is_assumed_aloud_and_not_written(desk_of: DeskOf) -> None:
    """A new machine shows pictures from stand-ins, says so, and stays empty until one is set."""
    desk = desk_of("vineyard_sweeper")
    desk.begin_new()
    panel = FaultPanel(desk)
    for part in EXPECTED:
        panel.part.value = part
        assert desk.tune == Tune()
        assert "top speed 1.5 m/s" in panel.chapter.note.value
    panel.part.value = RESTART
    slider = panel.restart.keys["restart_delay_s"]
    assert "0.5 s is assumed" in slider.children[2].value
    slider.slider.value = 1.0
    assert desk.tune.supply.restart_delay_s == 1.0
    assert slider.children[2].value == ""
    assert desk.tune.supply.internal_resistance_ohm is None


def test_the_browsers_rounding_is_no_move(desk_of: DeskOf) -> None:
    """A value between two steps comes back rounded; the file keeps its own digits."""
    desk = desk_of("vineyard_sweeper")
    desk.tune = replace(desk.tune, signal_loss=replace(desk.tune.signal_loss, timeout_s=0.63))
    panel = FaultPanel(desk)
    panel.part.value = TIMEOUT
    slider = panel.timeout.keys["timeout_s"]
    for echo in (0.65, 0.6300000000000001, 0.61):
        slider.slider.value = echo
        assert desk.tune.signal_loss.timeout_s == 0.63
    slider.slider.value = 0.7
    assert desk.tune.signal_loss.timeout_s == 0.7


def test_two_threads_do_not_leave_a_picture_half_drawn(desk_of: DeskOf) -> None:
    """A notebook may deliver two moves at once: each result is whole."""
    panel = FaultPanel(desk_of("vineyard_sweeper"))
    whole, seen = panel.view.png, []

    def draws() -> None:
        for _ in range(6):
            panel.chapter.drawing.picture.refresh()
            panel.update()
            seen.append(panel.view.png)

    threads = [threading.Thread(target=draws) for _ in range(3)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(seen) == 18
    assert all(png == whole for png in seen)


def test_us_units_are_shown_and_si_is_kept(desk_of: DeskOf) -> None:
    """A reader of mph and inches sees both; the file keeps metres."""
    settings.keep_units(Units("mph", "in"))
    panel = FaultPanel(desk_of("vineyard_sweeper"))
    assert " in" in panel.figures_text
    panel.part.value = SIGNAL
    assert "mph" in panel.sentence.value
    assert not panel.desk.changed


def test_reverting_brings_the_file_back_into_every_chapter(desk_of: DeskOf) -> None:
    """Revert undoes what was changed, shown or not."""
    panel = FaultPanel(desk_of("vineyard_sweeper"))
    panel.restart.keys["centred_first_s"].slider.value = 2.0
    panel.part.value = TIMEOUT
    panel.timeout.keys["timeout_s"].slider.value = 1.5
    assert panel.desk.tune.signal_loss.centred_first_s == 2.0
    panel.file_bar.revert_button.click()
    assert not panel.desk.changed
    assert panel.timeout.keys["timeout_s"].value == 0.6
    assert panel.restart.keys["centred_first_s"].value == 0.5


@pytest.mark.parametrize(
    ("rate", "words"),
    [
        (180000.0, "at every frame"),
        (1200.0, "1200 an hour"),
        (2.5, "2.5 an hour"),
        (0.5, "1 in 2 hours"),
        (1e-5, "1 in 1000 hours or more"),
        (0.0, "none"),
    ],
)
def test_a_rate_is_told_in_words_that_mean_something(rate: float, words: str) -> None:
    """An hour, hours between, or none."""
    assert how_often(rate) == words
