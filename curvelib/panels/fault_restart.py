"""First chapter of the fault panel: a restart in the middle of driving."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, get_args

import numpy as np

from curvelib.chain import Chain
from curvelib.machine.centre import (
    Learned,
    command_map,
    harmless_offset,
    held_sticks,
    pulse_at,
    worst_released,
)
from curvelib.machine.restart import (
    Body,
    RestartScene,
    RestartStory,
    Start,
    Trace,
    Unpowered,
    restart_story,
)
from curvelib.machine.supply import Source, sag_current
from curvelib.panels.bones import Figure
from curvelib.panels.chapters import Chapter, Setting, Told
from curvelib.panels.controls import choice, heading, words
from curvelib.panels.fault_view import RestartView
from curvelib.panels.filesliders import read_scene, scene_sliders
from curvelib.panels.units import percent
from curvelib.tune import Tune

_POSITIONS = np.linspace(-1.0, 1.0, 201)
_UNPOWERED: dict[Unpowered, str] = {"rolls": "rolls freely", "holds": "is held (brake, worm gear)"}
assert set(_UNPOWERED) == set(get_args(Unpowered))  # noqa: S101  a new word needs its own words here


class RestartChapter(Chapter):
    """Sag, restart, learned centre, runaway; and what prevents it."""

    title = "1. A restart while driving"
    needs = ("top_speed_m_s", "lag_s")

    def __init__(self, *base: Any) -> None:
        super().__init__(*base)
        self.drawing = RestartView(self.units)
        self.scene = scene_sliders(
            RestartScene,
            self.units,
            self.on_change,
            {"load_a": (0.0, 500.0), "lets_go_s": (0.0, 3.0), "reaction_s": (0.1, 3.0)},
        )
        self.unpowered = choice(
            [(text, key) for key, text in _UNPOWERED.items()], "rolls", "Without power", "unpowered"
        )
        self.centre = choice(
            [("fixed: always the centre pulse", "fixed"), ("learned at power-up", "learned")],
            "fixed",
            "Centre of the sticks",
            "centre",
        )
        for chooser in (self.unpowered, self.centre):
            chooser.observe(lambda _: self.on_change(), "value")
        self.key("signal_loss", "centred_first_s", high=3.0)
        self.key("supply", "restart_delay_s", high=3.0)
        self.key("supply", "internal_resistance_ohm", high=0.1)
        self.key("supply", "cut_off_v_per_cell", low=1.0, high=4.2)

    def column(self) -> list[Any]:
        """Controls from top to bottom."""
        scene = self.scene
        return [
            heading("The drive (in the machine file)"),
            words("<b>Centre of the sticks</b>"),
            self.centre,
            *self.keys.values(),
            heading("The moment"),
            scene["load_a"],
            scene["held"],
            scene["slope_deg"],
            words("<b>Without power the machine</b>"),
            self.unpowered,
            words("Find out: on a slope, power off, does it hold?", "cv-help"),
            heading("The operator"),
            scene["lets_go_s"],
            scene["reaction_s"],
        ]

    def load(self, tune: Tune) -> None:
        """Show a tune in the controls."""
        super().load(tune)
        self.centre.value = tune.stick.centre

    def put(self, tune: Tune) -> Tune:
        """Return the tune with this chapter's controls in it."""
        made = super().put(tune)
        return replace(made, stick=replace(made.stick, centre=self.centre.value))

    def story(self, tune: Tune) -> RestartStory:
        """The story as the controls stand; `tune` has every fact filled in."""
        scene = read_scene(RestartScene, self.scene, unpowered=self.unpowered.value)
        body = Body(tune.machine.top_speed_m_s or 0.0, tune.machine.lag_s or 0.0)
        return restart_story(Chain.from_tune(tune), scene, Source.of(tune.supply), body)

    def tell(self, tune: Tune) -> Told:
        """Draw and say what the controls show."""
        story, chain = self.story(tune), Chain.from_tune(tune)
        places = held_sticks(chain, self.scene["held"].value)
        first, second = (pulse_at(chain.sticks[k], places[k], chain.reversed[k]) for k in (0, 1))
        learned = Learned(chain, (first, second))
        self.drawing.draw(
            story,
            tune.supply.rest_v or 0.0,
            tune.machine.top_speed_m_s or 0.0,
            _POSITIONS,
            command_map(chain, _POSITIONS),
            command_map(chain, _POSITIONS, learned),
        )
        mine: Start = "learned centre" if tune.stick.centre == "learned" else "fixed centre"
        return Told(
            self.drawing.picture, self._cards(story, mine), self._sentence(story, mine, tune)
        )

    def _cards(self, story: RestartStory, mine: Start) -> list[Figure]:
        traces = story.traces
        learned, free = traces["learned centre"], traces["fixed centre, no rest first"]
        way = self._way
        if story.restarts:
            cards = [
                Figure(
                    percent(traces[mine].worst_command),
                    "command, stick let go",
                    f"learned centre {percent(learned.worst_command)}; fixed 0 %",
                ),
                Figure(
                    way(traces[mine]),
                    "driven by itself until you stop it",
                    f"learned {way(learned)}; fixed, no rest first {way(free)}",
                ),
            ]
        else:
            cards = [
                Figure("no restart", "the battery bears this load", "no command goes astray"),
                Figure(
                    self.units.text(0.0, "m"), "driven by itself", "raise the load until it sags"
                ),
            ]
        volts = "it restarts" if story.restarts else "it holds"
        return [
            *cards,
            Figure(
                f"{story.voltage:.1f} V",
                "battery under the load",
                f"the drive's least is {story.least_v:.1f} V: {volts}",
            ),
        ]

    def _way(self, trace: Trace) -> str:
        """A distance with its direction."""
        text = self.units.text(abs(trace.goes), "m")
        if abs(trace.goes) < 0.005:
            return text
        return f"{text} {'ahead' if trace.goes > 0.0 else 'back'}"

    def _sentence(self, story: RestartStory, mine: Start, tune: Tune) -> str:
        source = Source.of(tune.supply)
        if not story.restarts:
            bears = sag_current(source.least_v, source.rest_v, source.resistance)
            return (
                f"The battery sags to {story.voltage:.1f} V and stays above the drive's least: up "
                f"to {bears:.0f} A it does not restart. Cold, old or nearly empty it bears less: "
                "raise the resistance and see."
            )
        roll = self._rolled(story)
        if mine == "fixed centre":
            end = (
                "The held stick is not at the centre, so nothing drives; let go, it rests, and the "
                "machine stands. A learned centre, or no rest before driving, would drive."
            )
        elif story.traces[mine].worst_command == 0.0:
            end = (
                "The centre was learned from the held stick, but it was let go before the rest was "
                "over, so this time nothing drives. Hold it a little longer and see."
            )
        else:
            end = (
                "The held stick looks like rest, so the rest rule does not help. You let go, and "
                "the machine drives backwards: the stick now reads as pulled back."
            )
        return f"The drive restarts. {roll} {end}"

    def _rolled(self, story: RestartStory) -> str:
        if self.unpowered.value == "holds":
            return "Without power the machine is held."
        rolled = self.units.text(abs(story.rolled), "m")
        where = "ahead" if story.rolled >= 0.0 else "back"
        return f"Without power for {story.back:.2f} s it rolls {rolled} {where}."

    def settings(self, tune: Tune) -> list[Setting]:
        """Numbers to carry to the record."""
        chain = Chain.from_tune(tune)
        worst = worst_released(replace(chain, learned_centre=True)).size
        supply = tune.supply
        return [
            Setting(
                "Centre of the sticks",
                "fixed" if tune.stick.centre == "fixed" else "learned (choose fixed)",
                f"Learned from a held stick, letting go can mean {percent(worst)} of full speed; "
                f"learned within {percent(harmless_offset(chain), 1)} of its centre it does no "
                "harm. Fixed, letting go always means 0.",
            ),
            Setting(
                "Rest before driving",
                f"{chain.centred_first_s:.2f} s",
                "After power-up, loss or restart no wheel turns until the sticks have rested so "
                "long. 0.5 s is common practice, no source.",
            ),
            Setting(
                "Least voltage",
                f"{Source.of(tune.supply).least_v:.1f} V",
                f"{supply.cells} cells x {supply.cut_off_v_per_cell:g} V. Below it the drive is to "
                "stop; how it does, its leaflet says.",
            ),
        ]
