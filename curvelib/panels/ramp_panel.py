"""The panel of the third workbook: ramps that neither tip nor slide and still stop in time."""

from __future__ import annotations

import html
from dataclasses import replace
from typing import Any, get_args

import ipywidgets as widgets

from curvelib.chain import Chain
from curvelib.machine.recording import Recording, RecordingError
from curvelib.machine.scenes import RampScene, StickChange, stick_changes
from curvelib.mixing import Independent
from curvelib.panels import settings
from curvelib.panels.bones import Panel, one_at_a_time
from curvelib.panels.controls import Slider, choice, heading, words
from curvelib.panels.desk import Desk
from curvelib.panels.fact_table import facts, facts_style, tell
from curvelib.panels.filesliders import FileSlider, read_scene, scene_sliders
from curvelib.panels.ramp_facts import RampFacts, Replayed, ramp_facts, replay
from curvelib.panels.ramp_view import RampScenery, RampView
from curvelib.panels.ramp_words import cards, reach_note, sentence, ways_table
from curvelib.panels.recordings import RecordingChooser
from curvelib.panels.sizes import CG_HEIGHT, assumed_words, without_assumptions_of
from curvelib.panels.units import Units
from curvelib.params import params_of
from curvelib.slew import ActsOn
from curvelib.tune import Machine, SlewSetup, Tune

RAMP = SlewSetup().to_stop_s

_ENDS = {"room_m": (0.1, 12.0), "delay_s": (0.0, 3.0)}
_PLACES: tuple[ActsOn, ...] = get_args(ActsOn)
_FACTS = ("top_speed_m_s", "friction", "cg_height_m", "lag_s")


class RampPanel(Panel):
    """Ramp and stop the open machine.

    Parameters
    ----------
    desk : Desk, optional
        The machine file; left out, the one used last.
    """

    def __init__(self, desk: Desk | None = None) -> None:
        super().__init__(desk)
        self.units: Units = settings.units()
        self._loading = False
        self._replayed: tuple[Chain, Recording, Replayed] | None = None
        self._waits: object = None
        self.drawing = RampView(self.units)
        self._make_choices()
        self._make_sliders()
        self._make_tables()
        self.assemble(self._column(), self._below())
        self.desk.watch(self.load)
        self.load()

    def _make_choices(self) -> None:
        self.acts_on = choice(
            [
                ("each motor", "motors"),
                ("each stick", "sticks"),
                ("both sides together", "together"),
            ],
            "motors",
            "Where the ramps act",
            "acts on",
        )
        self.change = choice(self._changes(False), 0, "What the sticks do", "change")
        self.nose = choice(
            [("downhill", False), ("uphill", True)], False, "Nose points, in the traces", "nose"
        )
        for chooser in (self.acts_on, self.change, self.nose):
            chooser.observe(lambda _: self.update(), "value")
        self.recordings = RecordingChooser(self.desk.folder, self.update)

    @staticmethod
    def _changes(independent: bool) -> list[tuple[str, int]]:
        made = stick_changes(independent, 0.0)
        return [(change.words, place) for place, change in enumerate(made)]

    def _make_sliders(self) -> None:
        units, moved = self.units, self.update
        # The file always has ramps, so nothing is ever assumed of them.
        self.ramps = {
            key: FileSlider("slew", key, units, moved, assume=lambda _: RAMP, high=4.0)
            for key in ("to_stop_s", "to_full_s")
        }
        ends: dict[str, dict[str, Any]] = {
            "top_speed_m_s": {"high": 6.0},
            "friction": {"low": 0.05, "high": 1.2},
            "cg_height_m": {"low": 0.1, "high": 1.5, "assume": lambda _: CG_HEIGHT},
            "lag_s": {"high": 1.0},
        }
        self.facts = {key: FileSlider("machine", key, units, moved, **ends[key]) for key in _FACTS}
        self.scene = scene_sliders(RampScene, units, moved, _ENDS)
        self.held_right = Slider(
            params_of(RampScene)["held"],
            RampScene().held,
            "right stick held",
            units,
            moved,
            label="Right stick held",
        )
        self._held_box = widgets.VBox(layout=widgets.Layout(width="100%"))

    def _make_tables(self) -> None:
        self._reach = words("", "cv-help")
        self._window = words("", "cv-words")
        self._window.add_class("cv-window")
        self._ways = facts("ways")
        self._assumed = words("", "cv-help")

    def _column(self) -> list[Any]:
        scene, known = self.scene, self.facts
        return [
            heading("The ramps"),
            *self.ramps.values(),
            self._reach,
            words("<b>They act on</b>"),
            self.acts_on,
            heading("What the sticks do"),
            self.change,
            self.recordings,
            heading("Ground and room"),
            scene["slope_deg"],
            words("<b>The nose points, in the traces</b>"),
            self.nose,
            known["friction"],
            scene["room_m"],
            scene["delay_s"],
            scene["margin"],
            heading("This machine"),
            known["cg_height_m"],
            known["top_speed_m_s"],
            known["lag_s"],
            self._assumed,
            heading("Letting go in a turn"),
            self._held_box,
        ]

    def _below(self) -> list[Any]:
        return [
            facts_style(),
            heading("The ramp window"),
            self._window,
            heading("Both sticks let go in a turn, from full ahead"),
            self._ways,
        ]

    @one_at_a_time
    def load(self) -> None:
        """Show the tune on the desk in the controls."""
        tune = self.desk.tune
        self._loading = True
        try:
            for slider in (*self.ramps.values(), *self.facts.values()):
                slider.load(tune)
            self.acts_on.value = tune.slew.acts_on
            # A lost signal is the longest wait there is, so the delay begins as its timeout.
            wait = (self.desk.path, tune.signal_loss.timeout_s)
            if wait != self._waits:
                self.scene["delay_s"].set(tune.signal_loss.timeout_s)
            self._waits = wait
            self._show_kind(isinstance(tune.mix, Independent))
        finally:
            self._loading = False
        self.update()

    def _show_kind(self, independent: bool) -> None:
        """Controls that depend on the kind of mixing."""
        options, chosen = self._changes(independent), self.change.value
        if list(self.change.options) != options:
            self.change.options = options
            self.change.value = chosen
        self._held_box.children = [self.held_right if independent else self.scene["held"]]

    @one_at_a_time
    def update(self) -> None:
        """Read the controls and show the result; at a fault the picture stays as it was."""
        if self._loading:
            return
        tune = self._read()
        self.desk.tune = tune
        try:
            recording = self.recordings.recording()
        except RecordingError:
            # The chooser shows the fault; the last good picture stays.
            self.file_bar.refresh()
            return
        tune, scene = self._filled(tune), self._scene(tune)
        replayed = None if recording is None else self._replay(Chain.from_tune(tune), recording)
        found = ramp_facts(tune, scene, self.nose.value, self._stick_change(scene), replayed)
        self._show(found, replayed)

    def _read(self) -> Tune:
        tune, sliders = self.desk.tune, (*self.ramps.values(), *self.facts.values())
        if self.acts_on.value != tune.slew.acts_on:
            tune = replace(tune, slew=replace(tune.slew, acts_on=self.acts_on.value))
        for slider in sliders:
            tune = slider.put(tune)
        for slider in sliders:
            slider.settle(tune)
        return tune

    def _filled(self, tune: Tune) -> Tune:
        """The tune with the numbers on show, assumed ones too."""
        shown = {name: slider.value for name, slider in self.facts.items()}
        machine: Machine = replace(tune.machine, **shown)  # type: ignore[arg-type]  # all are floats
        return replace(tune, machine=machine)

    def _scene(self, tune: Tune) -> RampScene:
        scene: RampScene = read_scene(RampScene, self.scene)
        if isinstance(tune.mix, Independent):
            scene = replace(scene, held=self.held_right.value)
        return scene

    def _stick_change(self, scene: RampScene) -> StickChange:
        independent = isinstance(self.desk.tune.mix, Independent)
        place: int = self.change.value
        return stick_changes(independent, scene.held)[place]

    def _replay(self, chain: Chain, recording: Recording) -> Replayed:
        """Replay a recording, or take the last replay where neither it nor the path changed."""
        kept = self._replayed
        if kept is None or kept[0] != chain or kept[1] is not recording:
            self._replayed = kept = (chain, recording, replay(chain, recording))
        return kept[2]

    def _show(self, found: RampFacts, replayed: Replayed | None) -> None:
        slew = found.tune.slew
        self.drawing.draw(
            RampScenery(
                trace=found.trace,
                recorded=replayed is not None,
                stance=found.stance,
                window=found.window,
                to_stop=slew.to_stop_s,
                to_full=slew.to_full_s,
                paths=found.paths,
                acts_on=slew.acts_on,
            )
        )
        what = (
            self._stick_change(found.scene).words.capitalize()
            if replayed is None
            else replayed.recording.name
        )
        said = sentence(found, what, replayed, self.units)
        self.show_result(
            self.drawing.picture,
            cards(found, self.units),
            said,
            f"Commands, speed and acceleration over time, stopping paths and ramp window. {said}",
        )
        self._show_tables(found)

    def _show_tables(self, found: RampFacts) -> None:
        assumed = without_assumptions_of(
            found.sizes, "cg_height_m", "width_m", "front_overhang_m", "rear_overhang_m"
        ).assumed
        tell(self._reach, html.escape(reach_note(found)))
        tell(self._window, html.escape(found.window.words()))
        tell(self._ways, ways_table(found, self.units))
        tell(self._assumed, html.escape(assumed_words(assumed)))
