"""The panel of the second workbook: how tightly the machine turns, and what turning costs."""

from __future__ import annotations

import html
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from curvelib.machine.scenes import TurnScene
from curvelib.mixing import OVERFLOWS, TankMix
from curvelib.panels import settings
from curvelib.panels.bones import Panel, one_at_a_time
from curvelib.panels.controls import Slider, choice, heading, words
from curvelib.panels.desk import Desk
from curvelib.panels.fact_table import facts, facts_style, tell
from curvelib.panels.filesliders import FileSlider
from curvelib.panels.sizes import (
    TRACK,
    TURNING_SHARE,
    assumed_words,
    without_assumptions_of,
)
from curvelib.panels.stick_plane import full_line, radius_lines
from curvelib.panels.turn_facts import TurnFacts, turn_facts
from curvelib.panels.turn_view import TurnScenery, TurnView
from curvelib.panels.turn_words import (
    cards,
    pointer_words,
    rules_table,
    sentence,
    spin_table,
    tightest_table,
)
from curvelib.panels.units import Units
from curvelib.params import params_of
from curvelib.tune import Machine, Tune

_SCENE = params_of(TurnScene)
_FACTS = ("top_speed_m_s", "track_m", "turning_share", "friction")


class TurnPanel(Panel):
    """Turn the open machine.

    Parameters
    ----------
    desk : Desk, optional
        The machine file; left out, the one used last.
    """

    def __init__(self, desk: Desk | None = None) -> None:
        super().__init__(desk)
        self.units: Units = settings.units()
        self._loading = False
        self._dragging = self._was_down = False
        self._facts: TurnFacts | None = None
        self.drawing = TurnView(self.units)
        self._make_sticks()
        self._make_file_sliders()
        self._make_tables()
        self.assemble(self._column(), self._below())
        self.view.observe(self._pointed, "pointer")
        self.desk.watch(self.load)
        self.load()

    def _make_sticks(self) -> None:
        first, units, moved = TurnScene(), self.units, self.update
        names = {"tank": ("Throttle", "Steer"), "independent": ("Left stick", "Right stick")}
        helps = (
            {"tank": "1 is full forward.", "independent": "Drives the left side."},
            {"tank": "1 is full right.", "independent": "Drives the right side."},
        )
        self.sticks = {
            kind: tuple(
                Slider(
                    _SCENE[key],
                    getattr(first, key),
                    label,
                    units,
                    moved,
                    label=label,
                    help_=helps[place][kind],
                )
                for place, (key, label) in enumerate(
                    zip(("throttle", "steer"), labels, strict=True)
                )
            )
            for kind, labels in names.items()
        }
        self.ahead = Slider(_SCENE["ahead_s"], first.ahead_s, "look ahead", units, moved)
        self.speed = Slider(
            _SCENE["speed_m_s"], first.speed_m_s, "speed to turn at", units, moved, high=6.0
        )
        self._stick_box = widgets.VBox(layout=widgets.Layout(width="100%"))
        self._mix_box = widgets.VBox(layout=widgets.Layout(width="100%"))

    def _make_file_sliders(self) -> None:
        units, moved = self.units, self.update
        self.overflow = choice(list(OVERFLOWS), "scale", "Overflow", "overflow")
        self.overflow.observe(lambda _: self.update(), "value")
        self.steer_share = FileSlider(
            "mix", "steer_share", units, moved, assume=lambda _: TankMix().steer_share
        )
        ends: dict[str, dict[str, Any]] = {
            "top_speed_m_s": {"high": 6.0},
            "track_m": {"low": 0.2, "high": 3.0, "assume": lambda _: TRACK},
            "turning_share": {"assume": lambda _: TURNING_SHARE},
            "friction": {"low": 0.05, "high": 1.2},
        }
        self.facts = {key: FileSlider("machine", key, units, moved, **ends[key]) for key in _FACTS}
        self._independent = words(
            "One stick a side: nothing is mixed, so there is no overflow.", "cv-help"
        )

    def _make_tables(self) -> None:
        self._pointer_words = words("", "cv-help")
        self._pointer_words.add_class("cv-pointer")
        self._rules, self._spin = facts("rules"), facts("spin")
        self._tightest = facts("tightest")
        self._tight_heading = heading("")
        self._assumed = words("", "cv-help")

    def _column(self) -> list[Any]:
        return [
            heading("Where the sticks are"),
            self._stick_box,
            self.ahead,
            heading("From sticks to sides"),
            self._mix_box,
            heading("This machine"),
            *self.facts.values(),
            self._assumed,
            heading("How tight at this speed?"),
            self.speed,
        ]

    def _below(self) -> list[Any]:
        return [
            facts_style(),
            self._pointer_words,
            heading("The three overflow rules, at these sticks"),
            self._rules,
            heading("Turning on the spot"),
            self._spin,
            self._tight_heading,
            self._tightest,
        ]

    @one_at_a_time
    def load(self) -> None:
        """Show the tune on the desk in the controls."""
        tune = self.desk.tune
        self._loading = True
        try:
            self._show_kind(tune)
            for slider in self.facts.values():
                slider.load(tune)
            if isinstance(tune.mix, TankMix):
                self.steer_share.load(tune)
                self.overflow.value = tune.mix.overflow
        finally:
            self._loading = False
        self.update()

    def _show_kind(self, tune: Tune) -> None:
        """Controls that depend on the kind of mixing."""
        tank = isinstance(tune.mix, TankMix)
        self._stick_box.children = self.sticks[tune.mix.kind]
        self._mix_box.children = (
            (words("<b>When a side would pass full</b>"), self.overflow, self.steer_share)
            if tank
            else (self._independent,)
        )

    @one_at_a_time
    def update(self) -> None:
        """Read the controls and show the result; at a fault the picture stays as it was."""
        if self._loading:
            return
        tune = self._read()
        self.desk.tune = tune
        scene = self._scene(tune)
        self._facts = turn_facts(self._filled(tune), scene)
        self._show(self._facts)

    def _read(self) -> Tune:
        tune = self.desk.tune
        sliders = [*self.facts.values()]
        if isinstance(tune.mix, TankMix):
            sliders.append(self.steer_share)
            if self.overflow.value != tune.mix.overflow:
                tune = replace(tune, mix=replace(tune.mix, overflow=self.overflow.value))
        for slider in sliders:
            tune = slider.put(tune)
        for slider in sliders:
            slider.settle(tune)
        return tune

    def _filled(self, tune: Tune) -> Tune:
        """The tune with the four numbers on show, assumed ones too."""
        shown = {name: slider.value for name, slider in self.facts.items()}
        machine: Machine = replace(tune.machine, **shown)  # type: ignore[arg-type]  # all are floats
        return replace(tune, machine=machine)

    def _scene(self, tune: Tune) -> TurnScene:
        first, second = self.sticks[tune.mix.kind]
        return TurnScene(first.value, second.value, self.ahead.value, self.speed.value)

    def _show(self, found: TurnFacts) -> None:
        units, machine = self.units, found.tune.machine
        share, mix = machine.turning_share or 1.0, found.chain.mix
        too_fast = found.tightest.drives is None
        self.speed.fault("Above this machine's top speed; give at most that." if too_fast else "")
        self.drawing.draw(
            TurnScenery(
                sticks=(found.scene.throttle, found.scene.steer),
                plan=found.plan,
                rules={rule: plan for rule, (_, plan) in found.rules.items()},
                sizes=found.sizes,
                iso=radius_lines(found.chain.shapes, mix, found.sizes.track, share),
                full=full_line(found.chain.shapes, mix),
                reach=self._reach(found),
                overflow=mix.overflow if isinstance(mix, TankMix) else "",
            )
        )
        said = sentence(found, units)
        self.show_result(
            self.drawing.picture,
            cards(found, units),
            said,
            f"Stick plane, and the machine seen from above. {said}",
        )
        self._show_tables(found)

    @staticmethod
    def _reach(found: TurnFacts) -> float:
        """How far the view must reach for the straight path and the machine."""
        rolls = (found.tune.machine.top_speed_m_s or 0.0) * found.scene.ahead_s
        return max(rolls + found.sizes.ahead, 1.3 * max(found.sizes.ahead, found.sizes.behind))

    def _show_tables(self, found: TurnFacts) -> None:
        units, assumed = self.units, without_assumptions_of(found.sizes, "track_m")
        speed = units.text(found.tightest.speed, "m/s")
        tell(self._pointer_words, html.escape(pointer_words(found, None, units)))
        tell(self._rules, rules_table(found, units))
        tell(self._spin, spin_table(found, units))
        tell(self._tight_heading, html.escape(f"The tightest turn at {speed}"))
        tell(self._tightest, tightest_table(found, units))
        needed = tuple(name for name in assumed.assumed if not name.startswith("cg_"))
        tell(self._assumed, html.escape(assumed_words(needed)))

    def _pointed(self, change: Any) -> None:
        """Read the stick plane at the pointer; while pressed, the sticks follow it."""
        pointer = change["new"]
        if not pointer or self._facts is None:
            return
        down = bool(pointer["down"])
        if down and not self._was_down:
            # A press that began elsewhere never moves the sticks.
            self._dragging = self.drawing.sticks_at(pointer["x"], pointer["y"]) is not None
        sticks = self.drawing.sticks_at(pointer["x"], pointer["y"], beyond=self._dragging)
        # The last move of a drag may come with letting go alone, so that counts too.
        if self._dragging and sticks is not None:
            self._put_sticks(sticks)
        self._was_down = down
        self._dragging = self._dragging and down
        tell(self._pointer_words, html.escape(pointer_words(self._facts, sticks, self.units)))

    def _put_sticks(self, sticks: tuple[float, float]) -> None:
        kind = self.desk.tune.mix.kind
        for slider, value in zip(self.sticks[kind], sticks, strict=True):
            slider.set(value)
        self.update()
