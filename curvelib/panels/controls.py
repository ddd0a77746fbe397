"""Sliders, fields and labels, made one way for every panel from the facts in `Param`."""

from __future__ import annotations

import html
import math
from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as widgets

from curvelib.panels.units import Units
from curvelib.params import Param

COLUMN_PX = 330


def css_name(text: str) -> str:
    """A name for a widget's own CSS class, by which tests and screen tools find it."""
    return "".join(char if char.isalnum() else "-" for char in text.lower())


class Slider(widgets.VBox):
    """A slider with its name and value above, a line of help and a place for a fault below.

    Parameters
    ----------
    param : Param
        Range, step, words.
    value : float
        SI value to begin with.
    name : str
        Own name, unique in the panel.
    units : Units
        How it is shown; inside it stays SI.
    on_change : callable
        Called after each move by the reader.
    label, help_ : str, optional
        Other words than the param's own.
    high, low : float, optional
        Ends of the slider where the param's are too far out to be useful.
    """

    def __init__(
        self,
        param: Param,
        value: float,
        name: str,
        units: Units,
        on_change: Callable[[], None],
        *,
        label: str = "",
        help_: str = "",
        low: float | None = None,
        high: float | None = None,
    ) -> None:
        self._param, self._units, self._on_change = param, units, on_change
        self._quiet = False
        self._exact = value
        shown = units.of(param.unit)
        step = param.step / shown.size
        ends = (param.low if low is None else low, param.high if high is None else high)
        ends = (min(ends[0], value), max(ends[1], value))
        if param.inside:
            ends = (max(ends[0], param.low + param.step), min(ends[1], param.high - param.step))
            ends = (min(ends[0], value), max(ends[1], value))
        self._digits = max(0, math.ceil(-math.log10(step) - 1e-9)) if step < 1 else 0
        self.slider = widgets.FloatSlider(
            value=value / shown.size,
            min=ends[0] / shown.size,
            max=ends[1] / shown.size,
            step=step,
            readout_format=f".{self._digits}f",
            continuous_update=True,
            layout=widgets.Layout(width="100%", margin="0"),
        )
        text = label or param.label
        unit = f" ({shown.unit})" if shown.unit else ""
        self.slider.tooltip = text
        self.add_class("cv-control").add_class(f"cv-slider-{css_name(name)}")
        self._fault = widgets.HTML(layout=widgets.Layout(margin="0"))
        super().__init__(
            [
                words(f"<b>{html.escape(text)}</b>{html.escape(unit)}"),
                self.slider,
                self._fault,
                words(html.escape(help_ or param.help), "cv-help"),
            ],
            layout=widgets.Layout(margin="0 0 6px 0", width="100%"),
        )
        self.slider.observe(self._moved, "value")

    @property
    def value(self) -> float:
        """SI value; exactly what was set until the reader moves the slider."""
        return self._exact

    def set(self, value: float) -> None:
        """Show another value without calling back."""
        shown = self._units.value(value, self._param.unit)
        self._quiet = True
        try:
            self.slider.min, self.slider.max = (
                min(self.slider.min, shown),
                max(self.slider.max, shown),
            )
            self.slider.value = shown
        finally:
            self._quiet = False
        self._exact = value
        self.fault("")

    def fault(self, text: str) -> None:
        """Show a fault at this control; empty text takes it away."""
        wanted = f'<div class="cv-fault">{html.escape(text)}</div>' if text else ""
        if self._fault.value != wanted:
            self._fault.value = wanted

    def _moved_by_reader(self) -> bool:
        """Tell a move from the browser's own rounding.

        A browser puts a value between two steps on the nearer one and sends
        that back; it must not become a change of the file.
        """
        shown = self._units.value(self._exact, self._param.unit)
        return bool(abs(self.slider.value - shown) > 0.5001 * self.slider.step)

    def _moved(self, _: Any) -> None:
        if self._quiet or not self._moved_by_reader():
            return
        # Binary fractions such as 0.30000000000000004 would end up in the file.
        si = self._units.si(self.slider.value, self._param.unit)
        places = max(0, math.ceil(-math.log10(self._param.step)) + 2)
        low, high = self._param.low, self._param.high
        self._exact = min(max(round(si, places), low), high)
        self._on_change()


def words(text: str, style: str = "cv-words") -> widgets.HTML:
    """A line of text; `text` is HTML, so escape what is not ours."""
    made = widgets.HTML(text, layout=widgets.Layout(margin="0", width="100%"))
    made.add_class(style)
    return made


def heading(text: str) -> widgets.HTML:
    """Heading of a group of controls."""
    return words(html.escape(text), "cv-heading")


def choice(
    options: Sequence[str] | Sequence[tuple[str, Any]], value: Any, label: str, name: str
) -> widgets.Dropdown:
    """A drop-down list with its label above it in the same style as the sliders'."""
    made = widgets.Dropdown(options=options, value=value, layout=widgets.Layout(width="100%"))
    made.tooltip = label
    made.add_class(f"cv-choice-{css_name(name)}")
    return made


def button(text: str, name: str, act: Callable[[], None], hint: str = "") -> widgets.Button:
    """A button that calls `act`."""
    made = widgets.Button(
        description=text, tooltip=hint or text, layout=widgets.Layout(width="auto")
    )
    made.add_class("cv-button").add_class(f"cv-button-{css_name(name)}")
    made.on_click(lambda _: act())
    return made
