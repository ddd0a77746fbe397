"""The panel of the start workbook: choose, duplicate or make a machine file, and type its facts."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from curvelib.advice import remarks
from curvelib.panels import settings
from curvelib.panels.bones import Figure, Panel, one_at_a_time
from curvelib.panels.controls import button, choice, heading, words
from curvelib.panels.desk import Desk
from curvelib.panels.form import SectionForm
from curvelib.panels.start_view import StartView
from curvelib.panels.units import LENGTH_UNITS, SPEED_UNITS, Units
from curvelib.params import params_of
from curvelib.tune import Machine, Tune

# Sections in the order a builder meets them, with words for their tabs.
_SECTIONS = {
    "machine": "Machine: sizes, weight, speed",
    "stick": "Transmitter: pulses of the sticks",
    "throttle": "Throttle stick: direction and pulses of its own",
    "steer": "Steer stick: direction and pulses of its own",
    "mix": "Mixing: from two sticks to two motors",
    "slew": "Ramps: how fast a command may change",
    "signal_loss": "Signal loss and starting",
    "sides": "Motors: start, top, direction",
    "output": "What the motor drive takes",
    "supply": "Battery and braking",
}


class StartPanel(Panel):
    """Facts of the open machine, section by section.

    Parameters
    ----------
    desk : Desk, optional
        The machine file; left out, the one used last.
    """

    def __init__(self, desk: Desk | None = None) -> None:
        super().__init__(desk)
        self.units = settings.units()
        self._loading = False
        self.drawing = StartView()
        self._drawn: tuple[Machine, Units] | None = None
        self._assumed: tuple[str, ...] = ()
        self._make_controls()
        self._make_forms()
        self.assemble(self._column(), [])
        # The forms want the whole width, so they stand between picture and foot.
        self.children = [*self.children[:-1], self._forms_box, self.file_bar]
        self.desk.watch(self.load)
        self.load()

    def _make_controls(self) -> None:
        self.new_button = button(
            "Make a new machine", "new", self.make_new, "Begin with nothing known"
        )
        self.name = widgets.Text(continuous_update=False, layout=widgets.Layout(width="100%"))
        self.name.add_class("cv-text-name")
        self.name.observe(lambda _: self.update(), "value")
        self.mix = choice(
            [
                ("One stick drives, one steers (tank mix)", "tank"),
                ("One stick for each side (independent)", "independent"),
            ],
            "tank",
            "Mixing",
            "mixing",
        )
        self.mix.observe(lambda _: self.update(), "value")
        self.speed_unit = choice(list(SPEED_UNITS), self.units.speed, "Speed unit", "speed unit")
        self.length_unit = choice(
            list(LENGTH_UNITS), self.units.length, "Length unit", "length unit"
        )
        for chooser in (self.speed_unit, self.length_unit):
            chooser.layout.width = "110px"
            chooser.observe(self._units_chosen, "value")
        self.remarks = words("", "cv-remarks")

    def _column(self) -> list[Any]:
        return [
            heading("Which machine"),
            words(
                "At the foot of every panel you choose a machine file. Try the three demos; "
                "<b>Save as</b> makes a copy of your own that you may change.",
                "cv-help",
            ),
            self.new_button,
            words("<b>Name</b>"),
            self.name,
            words("<b>Mixing</b>"),
            self.mix,
            heading("Units"),
            widgets.HBox([self.speed_unit, self.length_unit]),
            words("For every workbook; the machine file itself is in SI units.", "cv-help"),
            heading("To know before wheels turn"),
            self.remarks,
        ]

    def _make_forms(self) -> None:
        from curvelib.filemodel import SECTIONS

        self.forms = {
            section: SectionForm(SECTIONS[section], section, self.units, self.update)
            for section in _SECTIONS
        }
        self._accordion = widgets.Accordion(children=list(self.forms.values()))
        for place, title in enumerate(_SECTIONS.values()):
            self._accordion.set_title(place, title)
        self._accordion.selected_index = 0
        self._forms_box = widgets.VBox(
            [heading("Facts and settings in this machine file"), self._accordion]
        )

    @one_at_a_time
    def load(self) -> None:
        """Show the tune on the desk."""
        tune = self.desk.tune
        self._loading = True
        try:
            self.name.value = tune.name
            self.mix.value = tune.mix.kind
            for section, form in self.forms.items():
                if section == "mix" and tune.mix.kind == "independent":
                    form.load(Tune().mix)
                else:
                    form.load(getattr(tune, section))
        finally:
            self._loading = False
        self.update()

    @one_at_a_time
    def update(self) -> None:
        """Read the fields, show the result; a fault stays at its field."""
        if self._loading:
            return
        try:
            tune = self._read()
        except ValueError:
            return
        self.desk.tune = tune
        self._show(tune)

    def _read(self) -> Tune:
        from curvelib.mixing import Independent, TankMix

        tune = self.desk.tune
        parts, wrong = {}, False
        for section, form in self.forms.items():
            part = getattr(tune, section)
            if section == "mix" and part.kind == "independent":
                part = TankMix()
            try:
                parts[section] = form.read(part)
            except ValueError:
                wrong = True
        if wrong:
            raise ValueError("A section holds a fault.")
        if self.mix.value == "independent":
            parts["mix"] = Independent()
        return replace(tune, name=self.name.value.strip() or tune.name, **parts)

    def _show(self, tune: Tune) -> None:
        if self._drawn != (tune.machine, self.units):
            self._assumed = self.drawing.draw(tune.machine, self.units)
            self._drawn = (tune.machine, self.units)
        sentence = _sentence(tune, self._assumed, self.units)
        self.show_result(
            self.drawing.picture, self._cards(tune), sentence, f"Outline of the machine. {sentence}"
        )
        listed = "".join(f"<li>{remark}</li>" for remark in remarks(tune))
        self.remarks.value = f"<ul>{listed}</ul>" if listed else "Nothing stands out in this file."

    def _cards(self, tune: Tune) -> list[Figure]:
        machine, units = tune.machine, self.units

        def known(value: float | None, unit: str) -> str:
            return "not known" if value is None else units.text(value, unit)

        return [
            Figure(known(machine.top_speed_m_s, "m/s"), "top speed", "at full command"),
            Figure(known(machine.track_m, "m"), "track", "middle of left to middle of right wheel"),
            Figure(known(machine.mass_kg, "kg"), "mass", "ready to work"),
        ]

    def make_new(self) -> None:
        """Begin a machine of which nothing is known yet."""
        if self.desk.changed:
            self.file_bar.say("Unsaved changes: save, save as or revert them before a new machine.")
            return
        self.desk.begin_new()
        self.file_bar.say("A new machine: type what you know, then give it a name and Save as.")

    def _units_chosen(self, _: Any) -> None:
        self.units = Units(self.speed_unit.value, self.length_unit.value)
        settings.keep_units(self.units)
        opened = self._accordion.selected_index
        self._make_forms()
        self._accordion.selected_index = opened
        self.children = [*self.children[:-2], self._forms_box, self.file_bar]
        self.load()


def _sentence(tune: Tune, assumed: tuple[str, ...], units: Units) -> str:
    machine = tune.machine
    labels = params_of(Machine)
    text = f"{tune.name}: {machine.contact}, driven at {_DRIVEN[machine.driven]}"
    if machine.track_m and machine.wheelbase_m:
        text += (
            f", {units.text(machine.track_m, 'm')} between the sides and "
            f"{units.text(machine.wheelbase_m, 'm')} between the axles"
        )
    text += "."
    if assumed:
        names = ", ".join(labels[name].label.lower() for name in assumed)
        text += f" Not in the file, so drawn with assumed sizes: {names}."
    return text


_DRIVEN = {"all": "all wheels", "rear": "the rear", "front": "the front"}
