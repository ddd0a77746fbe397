"""What if an assumption is wrong?  The box below the trials that tries one after another."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterator

import ipywidgets as widgets

from curvelib.panels.controls import choice, heading, words
from curvelib.panels.job import Job
from curvelib.panels.picture import PictureView
from curvelib.panels.trial_view import ASSUMPTIONS, SensitivityView
from curvelib.panels.units import Units
from curvelib.params import Param
from curvelib.practice.plan import Plan
from curvelib.practice.results import MEASURES
from curvelib.practice.rig import Rig
from curvelib.practice.sensitivity import TRIED, Sensitivity, turns_round

TRIALS = 200
_WHAT = (
    f"Each assumption is changed alone, over the values shown, with {TRIALS} tries of either stick "
    "for each. It takes half a minute or so. One in twenty of the blue bands misses the truth by "
    "chance."
)


class SensitivityBox(widgets.VBox):
    """Tries every assumption at several values and shows where the answer turns round.

    Parameters
    ----------
    units : Units
        Of the lengths.
    what_now : callable
        Returns the machine and the plan as they are set now.
    """

    def __init__(self, units: Units, what_now: Callable[[], tuple[Rig, Plan]]) -> None:
        self._units, self._what_now = units, what_now
        self._work: Sensitivity | None = None
        self._own: dict[str, float] = {}
        self.drawing = SensitivityView(units)
        self.view = PictureView()
        self.view.add_class("cv-picture-sensitivity")
        self.sentence = words("", "cv-sentence")
        self.sentence.add_class("cv-turns")
        options = [(measure.name.capitalize(), name) for name, measure in MEASURES.items()]
        self.measure = choice(options, "time", "What is looked at", "measure")
        self.measure.layout.width = "180px"
        self.measure.observe(lambda _: self.show(), "value")
        self.job = Job("Try every assumption", "assumptions", self._make, self._done)
        look_at = words("<b>What is looked at</b>")
        look_at.layout.width, look_at.layout.margin = "auto", "0 8px 0 0"
        super().__init__(
            [
                heading("What if an assumption is wrong?"),
                words(_WHAT, "cv-help"),
                self.job,
                widgets.HBox([look_at, self.measure]),
                self.view,
                self.sentence,
            ]
        )
        self.clear()

    def clear(self) -> None:
        """Forget what was found, as for another machine."""
        self.job.stop()
        self._work = None
        self._own = dict.fromkeys(TRIED, float("nan"))
        self.show()

    def _make(self) -> Iterator[float]:
        rig, plan = self._what_now()
        self._own = {name: float(plan.value(name)) for name in TRIED}
        self._work = Sensitivity(rig, plan, TRIALS)
        return iter(self._work)

    def _done(self, _finished: bool) -> None:
        self.show()

    def show(self) -> None:
        """Show the chosen measure of what was found so far."""
        results = {} if self._work is None else self._work.results
        self.drawing.draw(results, self._own, self.measure.value)
        text = self._turns() if any(results.values()) else "Nothing tried yet."
        self.view.show(self.drawing.picture, f"One small picture for each assumption. {text}")
        self.sentence.value = html.escape(text)

    def _turns(self) -> str:
        """Say where the answer turns round."""
        assert self._work is not None  # noqa: S101  asked only once something was tried
        name = MEASURES[self.measure.value].name
        found = []
        for assumption, tried in self._work.results.items():
            differences = [one.found[self.measure.value].difference for one in tried]
            for low, high in turns_round([one.value for one in tried], differences):
                found.append(self._between(ASSUMPTIONS[assumption], low, high))
        if not found:
            return f"For the {name} the answer turns round nowhere in what was tried."
        return f"For the {name} the answer turns round with {'; '.join(found)}."

    def _between(self, param: Param, low: float, high: float) -> str:
        shown = self._units.of(param.unit)
        ends = f"{low / shown.size:.3g} and {high / shown.size:.3g}"
        return f"{param.label.lower()} between {ends} {shown.unit}".strip()
