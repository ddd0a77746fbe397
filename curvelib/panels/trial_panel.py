"""The panel of the trials: a model operator parks the reader's own machine, many times."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import ipywidgets as widgets

from curvelib.panels import settings
from curvelib.panels.bones import Figure, Panel, one_at_a_time
from curvelib.panels.controls import Slider, choice, heading, words
from curvelib.panels.desk import Desk
from curvelib.panels.job import Job
from curvelib.panels.sensitivity_box import SensitivityBox
from curvelib.panels.trial_view import TRIES, TrialView
from curvelib.panels.trial_words import card, sentence, worth_words
from curvelib.panels.units import Units
from curvelib.params import params_of
from curvelib.practice.course import Course
from curvelib.practice.lesson import Lesson
from curvelib.practice.operator import SOURCES, Hand, Operator
from curvelib.practice.plan import Outcome, Plan, Trace
from curvelib.practice.results import MEASURES, Compared, compare
from curvelib.practice.rig import Rig
from curvelib.practice.trial import Run

_TRIALS = (200, 500, 1000, 3000, 10000)
TRIES_AT_FIRST = 500
_SHAKING = ("tremor", "growing")
_DECIDING = ("reaction_s", "crossover", "approach_m_s", "close_enough_m", "knows_shape")
_SOFTNESS = params_of(Lesson)["blend"]
_SOFTNESS_HELP = "Of the cubic blend, where that is chosen: 0 is a straight stick; more is softer."


class TrialPanel(Panel):
    """Park the open machine many times with its own shape and with a straight stick.

    Parameters
    ----------
    desk : Desk, optional
        The machine file; left out, the one used last.
    """

    def __init__(self, desk: Desk | None = None) -> None:
        super().__init__(desk)
        self.units: Units = settings.units()
        self.drawing = TrialView(self.units)
        self.found: dict[str, Compared] = {}
        self._asked: tuple[Rig, Plan, int] | None = None
        self._runs: tuple[Run, ...] = ()
        self._make_controls()
        self.sensitivity = SensitivityBox(self.units, self.what_now)
        self.assemble(self._column(), [self.sensitivity])
        self.desk.watch(self.load)
        self.load()

    def _make_controls(self) -> None:
        self.place = widgets.ToggleButtons(
            options=[("At a line", "line"), ("In a bay", "bay")],
            style=widgets.ToggleButtonsStyle(button_width="140px"),
        )
        self.place.add_class("cv-stick").add_class("cv-place")
        self.shape = choice(
            [
                ("This machine's own shape", "own"),
                ("A cubic blend, with the softness below", "try"),
            ],
            "own",
            "Which stick is tried",
            "tried shape",
        )
        for chooser in (self.place, self.shape):
            chooser.observe(lambda _: self.update(), "value")
        self.softness = Slider(
            _SOFTNESS, 0.6, "softness", self.units, self.update, help_=_SOFTNESS_HELP
        )
        self.sliders = {
            name: self._slider(name, part)
            for part, names in ((Hand, _SHAKING), (Operator, _DECIDING))
            for name in names
        }
        self.trials = choice([(f"{n} tries", n) for n in _TRIALS], TRIES_AT_FIRST, "Tries", "tries")
        self.trials.layout.width = "140px"
        self.trials.observe(lambda _: self.update(), "value")
        self.job = Job("Run the tries", "tries", self._make, self._done)

    def _slider(self, name: str, part: type) -> Slider:
        param = params_of(part)[name]
        own = name.replace("_", " ")
        help_ = f"{param.help} {SOURCES[name]}"
        return Slider(param, getattr(part(), name), own, self.units, self.update, help_=help_)

    def _column(self) -> list[Any]:
        return [
            heading("Where to park"),
            self.place,
            words("<b>Which stick is tried</b>, against a straight one of equal top speed"),
            self.shape,
            self.softness,
            heading("How many tries"),
            self.trials,
            self.job,
            words(worth_words(self.units), "cv-help"),
            heading("The thumb"),
            *(self.sliders[name] for name in _SHAKING),
            heading("The operator"),
            *(self.sliders[name] for name in _DECIDING),
        ]

    @one_at_a_time
    def load(self) -> None:
        """Try the machine on the desk."""
        self.sensitivity.clear()
        self.job.restart()

    def what_now(self) -> tuple[Rig, Plan]:
        """Return the machine with the stick under test, and all that is assumed, as set now."""
        rig = Rig.from_tune(self.desk.tune)
        if self.shape.value == "try":
            rig = rig.softened(self.softness.value)
        plan = Plan(course=Course(place=self.place.value))
        for name, slider in self.sliders.items():
            plan = plan.with_value(name, slider.value)
        return rig, plan

    @one_at_a_time
    def update(self) -> None:
        """Say whether the numbers on show still belong to the controls; Run makes new ones."""
        if not self.job.going:
            fresh = self._asked == (*self.what_now(), self.trials.value)
            self.job.say("Done." if fresh else "<b>Something was changed: press Run the tries.</b>")

    def _make(self) -> Iterator[float]:
        rig, plan = self.what_now()
        self._asked = rig, plan, self.trials.value
        self._runs = tuple(
            Run(machine, plan, self.trials.value, traced=TRIES)
            for machine in (rig.straightened(), rig)
        )
        return _in_turns(self._runs)

    def _done(self, finished: bool) -> None:
        """Show what was finished; tries of one stick alone compare with nothing."""
        try:
            ended = [run.outcome() for run in self._runs]
        except ValueError:
            self.job.say("Stopped before there was anything to show.")
            return
        self._show(ended, [run.traces for run in self._runs])
        self.update()
        if not finished:
            self.job.say(f"Stopped after {min(map(len, ended))} tries.")

    def _show(self, ended: list[Outcome], traces: list[list[Trace]]) -> None:
        assert self._asked is not None  # noqa: S101  set before any run begins
        rig, plan, _ = self._asked
        straight, shaped = ended
        self.found = compare(shaped, straight)
        self.drawing.draw(ended, traces, plan.course.distance_m)
        said = sentence(self.desk.tune.name, rig, self.found, shaped, straight)
        figures: list[Figure] = [
            card(measure, self.found[name], self.units) for name, measure in MEASURES.items()
        ]
        self.show_result(self.drawing.picture, figures, said, f"How the tries ended. {said}")


def _in_turns(runs: tuple[Run, ...]) -> Iterator[float]:
    """Work through runs bit by bit in turns, so that a stop leaves as many tries of each."""
    going = [iter(run) for run in runs]
    shares = [0.0] * len(runs)
    while going:
        for place, work in enumerate(list(going)):
            share = next(work, None)
            if share is None:
                going.remove(work)
            else:
                shares[place] = share
        yield min(1.0, sum(shares) / len(runs))
