"""The panel of the first workbook: shape a stick, see what its slow end does, take a table."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from curvelib.chain import Chain
from curvelib.curves import Linear
from curvelib.export.common import TableRequest
from curvelib.export.formats import FORMATS
from curvelib.panels import settings
from curvelib.panels.bones import Figure, Panel, one_at_a_time
from curvelib.panels.controls import Slider, button, choice, heading, words
from curvelib.panels.copytext import CopyText
from curvelib.panels.desk import Desk
from curvelib.panels.shape_editor import ShapeEditor
from curvelib.panels.shape_view import ShapeView, Stair
from curvelib.panels.units import Units, percent
from curvelib.params import params_of
from curvelib.resolution import SlowEnd, slow_end, staircase
from curvelib.shape import Shape
from curvelib.sides import Sides
from curvelib.tables import Table
from curvelib.tune import Channel, Machine, Tune

ASSUMED_TOP = 1.5
ASSUMED_BAND = 0.2
_POINTS = (9, 17, 33, 65, 129)
_MOTORS = ("left_start", "left_top", "right_start", "right_top")


class ShapePanel(Panel):
    """Shape both sticks of the open machine.

    Parameters
    ----------
    desk : Desk, optional
        The machine file; left out, the one used last.
    """

    def __init__(self, desk: Desk | None = None) -> None:
        super().__init__(desk)
        self.units: Units = settings.units()
        self._loading = False
        self.drawing = ShapeView(self.units)
        self._make_controls()
        self._make_table()
        self.assemble(self._column(), [self._table_box])
        self.desk.watch(self.load)
        self.load()

    def _make_controls(self) -> None:
        machine, sides = params_of(Machine), params_of(Sides)
        moved = self._moved
        self.stick = widgets.ToggleButtons(
            options=[("Throttle", "throttle"), ("Steer", "steer")],
            style=widgets.ToggleButtonsStyle(button_width="140px"),
        )
        self.stick.add_class("cv-stick")
        self.stick.observe(self._stick_chosen, "value")
        self.stick_note = words("", "cv-help")
        self.editor = ShapeEditor(self.units, moved)
        self.linear_button = button(
            "Back to linear", "linear", self.back_to_linear, "Take all stages off this stick"
        )
        top, band = machine["top_speed_m_s"], machine["slow_speed_m_s"]
        self.top = Slider(top, ASSUMED_TOP, "top speed", self.units, moved, high=6.0)
        self.band = Slider(band, ASSUMED_BAND, "slow band", self.units, moved, low=0.02, high=1.0)
        self.motors = {
            name: Slider(
                sides[name],
                getattr(Sides(), name),
                name,
                self.units,
                moved,
                label=f"{name.partition('_')[0].capitalize()} motor: {sides[name].label.lower()}",
            )
            for name in _MOTORS
        }
        self.motor_note = words("", "cv-help")

    def _column(self) -> list[Any]:
        return [
            heading("This stick"),
            self.stick,
            self.stick_note,
            self.editor,
            self.linear_button,
            heading("This machine"),
            self.band,
            self.top,
            heading("Its motors"),
            self.motor_note,
            *self.motors.values(),
        ]

    def _make_table(self) -> None:
        self.points = choice([(f"{n} points", n) for n in _POINTS], 33, "Points", "points")
        self.format = choice([(name.upper(), name) for name in FORMATS], "csv", "Format", "format")
        for chooser in (self.points, self.format):
            chooser.layout.width = "150px"
            chooser.observe(lambda _: self.update(), "value")
        self.table_words = words("", "cv-help")
        self.copy = CopyText(label="Copy this table")
        row = widgets.HBox([self.points, self.format])
        self._table_box = widgets.VBox(
            [heading("A table to copy into a controller"), row, self.table_words, self.copy]
        )

    @property
    def channel(self) -> Channel:
        """The stick that is being shaped."""
        chosen: Channel = self.stick.value
        return chosen

    @one_at_a_time
    def load(self) -> None:
        """Show the tune on the desk in the controls."""
        tune = self.desk.tune
        self._loading = True
        try:
            self._load_stick(tune)
            machine = tune.machine
            self.top.set(machine.top_speed_m_s or ASSUMED_TOP)
            self.band.set(machine.slow_speed_m_s or ASSUMED_BAND)
            for name, slider in self.motors.items():
                slider.set(getattr(tune.sides, name))
            measured = tune.sides.left_measured or tune.sides.right_measured
            self.motor_note.value = (
                "This file holds a measured map; it replaces start and top of its motor."
                if measured
                else "Each motor needs some command to begin to turn; one may be the faster."
            )
        finally:
            self._loading = False
        self.update()

    def _load_stick(self, tune: Tune) -> None:
        alike = tune.mix.kind == "independent"
        labels = ("Both sticks", "Right stick") if alike else ("Throttle", "Steer")
        options = list(zip(labels, ("throttle", "steer"), strict=True))[: 1 if alike else 2]
        if [value for _, value in self.stick.options] != [value for _, value in options]:
            self.stick.options = options
        self.stick_note.value = (
            "Independent mixing: one stick a side, and both take this shape." if alike else ""
        )
        self.editor.load(tune.channel(self.channel).shape)

    @one_at_a_time
    def update(self) -> None:
        """Read the controls and show the result; at a fault the picture stays as it was."""
        if self._loading:
            return
        try:
            tune = self._read()
        except ValueError:
            # The control shows the fault; the last good picture stays.
            return
        self.desk.tune = tune
        self._show(tune)

    def _read(self) -> Tune:
        tune = self.desk.tune
        shaped = tune.with_shape(self.channel, self.editor.shape())
        sides = self._read_motors(tune.sides)
        machine = tune.machine
        # A number the file does not give is not written into it until the reader sets it.
        if machine.top_speed_m_s is not None or self.top.value != ASSUMED_TOP:
            machine = replace(machine, top_speed_m_s=self.top.value)
        if machine.slow_speed_m_s is not None or self.band.value != ASSUMED_BAND:
            machine = replace(machine, slow_speed_m_s=self.band.value)
        return replace(shaped, sides=sides, machine=machine)

    def _read_motors(self, sides: Sides) -> Sides:
        try:
            values: dict[str, Any] = {name: one.value for name, one in self.motors.items()}
            made = replace(sides, **values)
        except ValueError as err:
            for side in ("left", "right"):
                start, top = self.motors[f"{side}_start"], self.motors[f"{side}_top"]
                start.fault(str(err).partition(": ")[2] if top.value <= start.value else "")
            raise
        for slider in self.motors.values():
            slider.fault("")
        return made

    def _show(self, tune: Tune) -> None:
        channel, band = self.channel, self.band.value
        chain = replace(Chain.from_tune(tune), top_speed=self.top.value)
        saved_tune = self.desk.saved
        saved = replace(Chain.from_tune(saved_tune), top_speed=self.top.value)
        now, before = slow_end(chain, channel, band), slow_end(saved, channel, band)
        plain = Shape([Linear()])
        straight = replace(chain, shapes=(plain, plain))
        self.drawing.draw(
            chain.shape(channel),
            saved_tune.shape(channel),
            _stair(chain, channel),
            _stair(straight, channel),
            band,
        )
        assumed = self.units.text(ASSUMED_TOP, "m/s")
        missing = tune.machine.top_speed_m_s is None
        self.top.fault(f"Not in the file: {assumed} is assumed until you set it." * missing)
        sentence = self._sentence(chain, now)
        self.show_result(
            self.drawing.picture,
            self._cards(now, before),
            sentence,
            f"Curve of the stick. {sentence}",
        )
        self._show_table(tune)

    def _cards(self, now: SlowEnd, before: SlowEnd) -> list[Figure]:
        linear = now.linear or now
        band = self.units.text(self.band.value, "m/s")
        fine = self.units.fine_speed
        beside = "saved {}; plain linear gives {}"
        return [
            Figure(
                f"{now.stick_steps} stick steps",
                f"from standing to {band}",
                beside.format(before.stick_steps, linear.stick_steps),
            ),
            Figure(
                f"{percent(now.travel_share)} of travel",
                "for that slow band",
                beside.format(percent(before.travel_share), percent(linear.travel_share)),
            ),
            Figure(
                fine(now.largest_jump),
                "largest jump between two steps",
                beside.format(fine(before.largest_jump), fine(linear.largest_jump)),
            ),
        ]

    def _sentence(self, chain: Chain, now: SlowEnd) -> str:
        shape, units = chain.shape(self.channel), self.units
        if now.stick_steps == 0 and now.least_speed == 0.0:
            return "This stick never moves the machine: its shape or the mix leaves nothing."
        begin = shape.starts_at
        dead = f"The first {percent(begin, 1)} of the travel does nothing. Then "
        wheel = "machine" if self.channel == "throttle" else "left wheel"
        slow = (
            f"{percent(now.travel_share)} of the travel moves the {wheel} at up to "
            f"{units.text(self.band.value, 'm/s')}, in {now.stick_steps} stick steps that reach "
            f"{now.output_steps} different outputs; the slowest speed is "
            f"{units.fine_speed(now.least_speed)}. "
        )
        dead = dead if begin > 0.0 else ""
        return dead + slow + _price(shape.first_slope, float(shape.slope(1.0)), shape(1.0))

    def _show_table(self, tune: Tune) -> None:
        table = Table.from_shape(tune.shape(self.channel), self.points.value)
        request = TableRequest(tune, self.channel, table)
        speed = self.units.fine_speed(table.max_error * self.top.value)
        self.table_words.value = (
            f"Read by straight lines it is within {100 * table.max_error:.2g} % of full, "
            f"{speed} at the wheel. {table.leak_words()}"
        )
        self.copy.text = FORMATS[self.format.value](request)

    def back_to_linear(self) -> None:
        """Take all stages off this stick."""
        self.desk.tune = self.desk.tune.with_shape(self.channel, Shape())
        self.load()

    def _stick_chosen(self, _: Any) -> None:
        if not self._loading:
            self.load()

    def _moved(self) -> None:
        self.update()


def _stair(chain: Chain, channel: Channel) -> Stair:
    travel, share, _ = staircase(chain, channel)
    return Stair(travel, share * (chain.top_speed or 0.0))


def _price(first: float, last: float, top: float) -> str:
    """Say what a softer centre gives and costs."""
    ending = f" Full stick gives {percent(top)}." if top < 0.995 else ""
    if 0.97 <= first <= 1.03 and 0.97 <= last <= 1.03:
        return "It acts as strongly everywhere, like a plain linear stick." + ending
    if first <= 0.0:
        return f"At its very start it does not act at all; at full stick {last:.1f} times." + ending
    gentle = f"{1 / first:.1f} times gentler" if first < 1.0 else f"{first:.1f} times stronger"
    strong = f"{last:.1f} times as strong" if last >= 0.05 else "hardly acting at all"
    return (
        f"Beside a linear stick it is {gentle} where motion begins and, at full stick, "
        f"{strong}: that is the price." + ending
    )
