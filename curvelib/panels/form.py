"""Fields for the facts of a machine file, made from the dataclasses themselves."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any, get_args

import ipywidgets as widgets

from curvelib.panels.controls import choice, css_name, words
from curvelib.panels.units import Units
from curvelib.params import Param, is_whole, may_be_missing, params_of, plain_types

_CELL = {"width": "290px", "margin": "0 14px 8px 0"}


class NumberField(widgets.VBox):
    """A typed number with its unit, a line of help and a place for a fault.

    An empty field means "not known" where the file may leave it out.
    """

    def __init__(
        self, param: Param, name: str, units: Units, on_change: Callable[[], None], **kind: bool
    ) -> None:
        self._param, self._units, self._on_change = param, units, on_change
        self._may_miss, self._whole = kind["may_miss"], kind["whole"]
        self._exact: float | None = None
        self._shown = ""
        self.entry = widgets.Text(
            continuous_update=False,
            placeholder="not known" if self._may_miss else "",
            layout=widgets.Layout(width="120px"),
        )
        self.entry.tooltip = param.label
        self.add_class(f"cv-field-{css_name(name)}")
        self._fault = words("", "cv-words")
        unit = words(html.escape(units.of(param.unit).unit))
        unit.layout.width = "90px"
        super().__init__(
            [
                words(f"<b>{html.escape(param.label)}</b>"),
                widgets.HBox([self.entry, unit]),
                self._fault,
                words(html.escape(param.help), "cv-help"),
            ],
            layout=_CELL,
        )
        self.entry.observe(lambda _: self._on_change(), "value")

    def set(self, value: float | None) -> None:
        """Show a value."""
        self._exact = value
        number = None if value is None else self._units.value(value, self._param.unit)
        self._shown = "" if number is None else f"{number:.6g}"
        self.entry.value = self._shown
        self.fault("")

    def read(self) -> float | None:
        """Return the SI value, or raise `ValueError` and show the fault here."""
        text = self.entry.value.strip()
        if text == self._shown:
            # Untouched: the exact number of the file, not its shown digits.
            return self._exact
        if not text and self._may_miss:
            self.fault("")
            return None
        try:
            value = self._parsed(text)
        except ValueError as err:
            self.fault(str(err))
            raise
        self.fault("")
        return value

    def _parsed(self, text: str) -> float | int:
        try:
            # A comma is the decimal mark in many countries.
            number = float(text.replace(",", ".") if text.count(",") == 1 else text)
        except ValueError:
            raise ValueError(f"{text!r} is not a number; give {self._wanted()}.") from None
        value = self._units.si(number, self._param.unit)
        if not self._param.allows(value):
            raise ValueError(f"{text} is out of range; give {self._wanted()}.")
        if self._whole:
            if number != int(number):
                raise ValueError(f"{text} is not a whole number.")
            return int(number)
        return round(value, 9)

    def _wanted(self) -> str:
        """The range in the units on show."""
        shown, param = self._units.of(self._param.unit), self._param
        low, high = param.low / shown.size, param.high / shown.size
        ends = (
            f"above {low:.6g} and below {high:.6g}"
            if param.inside
            else f"from {low:.6g} to {high:.6g}"
        )
        return f"a number {ends} {shown.unit}".strip()

    def fault(self, text: str) -> None:
        """Show a fault; empty text takes it away."""
        wanted = f'<div class="cv-fault">{html.escape(text)}</div>' if text else ""
        if self._fault.value != wanted:
            self._fault.value = wanted


class SectionForm(widgets.VBox):
    """All simple fields of one section of the machine file.

    Parameters
    ----------
    cls : type
        The section's dataclass.
    section : str
        Its name in the file.
    units : Units
        For the numbers.
    on_change : callable
        Called after each change by the reader.
    """

    def __init__(
        self, cls: type, section: str, units: Units, on_change: Callable[[], None]
    ) -> None:
        self._cls = cls
        self._quiet = False
        self._on_change = on_change
        self.parts: dict[str, Any] = {}
        shown: list[Any] = []
        for field in fields(cls):
            made = self._part(section, field.name, units)
            if made is not None:
                shown.append(made)
        self._fault = words("", "cv-words")
        grid = widgets.HBox(shown, layout=widgets.Layout(flex_flow="row wrap", width="100%"))
        grid.add_class("cv-form-grid")
        super().__init__([grid, self._fault])

    def _part(self, section: str, name: str, units: Units) -> Any:
        cls, param = self._cls, params_of(self._cls).get(name)
        own = f"{section} {name}"
        if param is not None:
            made = NumberField(
                param,
                own,
                units,
                self._changed,
                may_miss=may_be_missing(cls, name),
                whole=is_whole(cls, name),
            )
            self.parts[name] = made
            return made
        hint = plain_types(cls)[name]
        label = name.replace("_", " ").capitalize()
        if hint is bool:
            box = widgets.Checkbox(description=label, indent=False)
            box.add_class(f"cv-check-{css_name(own)}")
            box.observe(lambda _: self._changed(), "value")
            self.parts[name] = box
            return widgets.VBox([box], layout=_CELL)
        if get_args(hint) and all(isinstance(option, str) for option in get_args(hint)):
            drop = choice(list(get_args(hint)), get_args(hint)[0], label, own)
            drop.layout.width = "160px"
            drop.observe(lambda _: self._changed(), "value")
            self.parts[name] = drop
            return widgets.VBox([words(f"<b>{label}</b>"), drop], layout=_CELL)
        return None

    def load(self, part: Any) -> None:
        """Show a section's values."""
        self._quiet = True
        try:
            for name, control in self.parts.items():
                if isinstance(control, NumberField):
                    control.set(getattr(part, name))
                else:
                    control.value = getattr(part, name)
        finally:
            self._quiet = False

    def read(self, part: Any) -> Any:
        """Return the section with the values on show, or raise and show what is wrong where."""
        values, wrong = {}, False
        for name, control in self.parts.items():
            try:
                values[name] = control.read() if isinstance(control, NumberField) else control.value
            except ValueError:
                wrong = True
        if wrong:
            raise ValueError("A field holds no valid value.")
        try:
            made = replace(part, **values)
        except ValueError as err:
            self._fault.value = f'<div class="cv-fault">{html.escape(str(err))}</div>'
            raise
        self._fault.value = ""
        return made

    def _changed(self) -> None:
        if not self._quiet:
            self._on_change()
