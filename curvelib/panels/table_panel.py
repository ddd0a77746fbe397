"""The panel that turns a shape into a table or a program for a controller."""

from __future__ import annotations

import html
from functools import lru_cache
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from curvelib.atomic import write_text
from curvelib.export.common import TableRequest
from curvelib.export.formats import FORMATS
from curvelib.faults import TuneError, one_fault
from curvelib.panels import settings
from curvelib.panels.bones import Figure, Panel, one_at_a_time
from curvelib.panels.controls import Slider, button, choice, heading, words
from curvelib.panels.copytext import CopyText
from curvelib.panels.desk import Desk, file_stem
from curvelib.panels.table_view import TableView
from curvelib.params import Param
from curvelib.shape import Shape
from curvelib.tables import Spacing, Table
from curvelib.tune import Channel, Tune

POINTS = (5, 9, 17, 25, 33, 49, 65, 129)
OUT_FOLDER = "my_tables"
_ENDINGS = {"csv": "csv", "json": "json", "c": "c", "st": "st", "python": "py"}
_WORDS = {
    "csv": "CSV (rows to copy)",
    "json": "JSON",
    "c": "C function",
    "st": "Structured text (IEC 61131-3)",
    "python": "Python module",
}
_BOUND = Param(
    0.0005,
    0.05,
    0.0005,
    "Largest error you accept",
    "Share of full command; below it the fewest fitted points are looked for.",
)


@lru_cache(maxsize=64)
def table_of(shape: Shape, points: int, spacing: Spacing) -> Table:
    """Tables already made: fitted ones take a moment."""
    return Table.from_shape(shape, points, spacing)


@lru_cache(maxsize=64)
def fewest_points(shape: Shape, bound: float) -> int | None:
    """Fewest fitted points within an error, None where no table is fine enough."""
    try:
        return len(Table.fewest(shape, bound).x)
    except ValueError:
        return None


class TablePanel(Panel):
    """Choose stick, points, spacing and format; read the error; copy or write the text.

    Parameters
    ----------
    desk : Desk, optional
        The machine file; left out, the one used last.
    """

    def __init__(self, desk: Desk | None = None) -> None:
        super().__init__(desk)
        self.units = settings.units()
        self._loading = False
        self._wrote: dict[Path, str] = {}
        self.drawing = TableView()
        self._make_choices()
        self._make_output()
        self.assemble(self._column(), [self._output_box])
        self.desk.watch(self.load)
        self.load()

    def _make_choices(self) -> None:
        self.stick = widgets.ToggleButtons(
            options=[("Throttle", "throttle"), ("Steer", "steer")],
            style=widgets.ToggleButtonsStyle(button_width="140px"),
        )
        self.stick.add_class("cv-stick")
        self.points = choice([(f"{n} points", n) for n in POINTS], 33, "Points", "points")
        self.spacing = choice(
            [("even: equal distances", "even"), ("fitted: placed where it bends", "fitted")],
            "even",
            "Spacing",
            "spacing",
        )
        self.bound = Slider(_BOUND, 0.005, "bound", self.units, self.update, high=0.02)
        self.fewest_words = words("", "cv-fewest")
        self.take_fewest = button("Take so many fitted points", "take-fewest", self._take_fewest)
        formats = [(_WORDS[name], name) for name in FORMATS]
        self.format = choice(formats, "csv", "Format", "format")
        for chooser in (self.stick, self.points, self.spacing, self.format):
            chooser.observe(lambda _: self.update(), "value")

    def _column(self) -> list[Any]:
        return [
            heading("Which table"),
            self.stick,
            words("<b>Points over the whole stick</b>"),
            self.points,
            words("Odd, so that one of them is the centre.", "cv-help"),
            words("<b>Spacing</b>"),
            self.spacing,
            words(
                "A controller that takes outputs alone, without positions, wants even spacing.",
                "cv-help",
            ),
            heading("How few points would do?"),
            self.bound,
            self.fewest_words,
            self.take_fewest,
            heading("Which format"),
            self.format,
            words("The unit of its numbers is set in the machine file, under output.", "cv-help"),
        ]

    def _make_output(self) -> None:
        self.copy = CopyText(label="Copy this text")
        self.copy.add_class("cv-copy-main")
        self.name = widgets.Text(layout=widgets.Layout(width="260px"))
        self.name.add_class("cv-text-table-name")
        self.message = words("", "cv-table-message")
        self.write_button = button("Write the file", "write", self.write)
        self.overwrite_button = button(
            "Overwrite it", "write-over", lambda: self.write(overwrite=True)
        )
        self.overwrite_button.layout.display = "none"
        row = widgets.HBox([self.name, self.write_button, self.overwrite_button])
        row.add_class("cv-foot-row")
        self._output_box = widgets.VBox(
            [heading("Text for your controller"), row, self.message, self.copy]
        )

    @property
    def channel(self) -> Channel:
        """The stick whose table is shown."""
        chosen: Channel = self.stick.value
        return chosen

    @one_at_a_time
    def load(self) -> None:
        """Show the tune on the desk."""
        tune = self.desk.tune
        self._loading = True
        try:
            alike = tune.mix.kind == "independent"
            options = (
                [("Both sticks", "throttle")]
                if alike
                else [
                    ("Throttle", "throttle"),
                    ("Steer", "steer"),
                ]
            )
            if list(self.stick.options) != options:
                self.stick.options = options
        finally:
            self._loading = False
        self.update()

    @one_at_a_time
    def update(self) -> None:
        """Make the table and show it."""
        if self._loading:
            return
        tune, shape = self.desk.tune, self.desk.tune.shape(self.channel)
        try:
            even = table_of(shape, self.points.value, "even")
            fitted = table_of(shape, self.points.value, "fitted")
        except ValueError as err:
            self._say(str(err))
            return
        chosen, other = (even, fitted) if self.spacing.value == "even" else (fitted, even)
        self.drawing.draw(shape, chosen, other)
        sentence = self._sentence(chosen, other)
        self.show_result(
            self.drawing.picture,
            self._cards(tune, chosen, other),
            sentence,
            f"Table of the {self.channel} stick. {sentence}",
        )
        self._show_fewest(shape)
        self._show_text(tune, chosen)

    def _cards(self, tune: Tune, chosen: Table, other: Table) -> list[Figure]:
        def share(table: Table) -> str:
            return f"{100 * table.max_error:.3g} %"

        top = tune.machine.top_speed_m_s
        speed = "not known" if top is None else self.units.fine_speed(chosen.max_error * top)
        beside = (
            "no top speed in the machine file"
            if top is None
            else f"{other.spacing} spacing: {self.units.fine_speed(other.max_error * top)}"
        )
        return [
            Figure(
                share(chosen),
                "largest error, of full command",
                f"{other.spacing} spacing: {share(other)}",
            ),
            Figure(speed, "largest error at the wheel", beside),
            Figure(
                f"{len(chosen.x)} points",
                "over the whole stick",
                f"{chosen.segments} pieces on each side of the centre",
            ),
        ]

    def _sentence(self, chosen: Table, other: Table) -> str:
        ratio = other.max_error / max(chosen.max_error, 1e-12)
        if chosen.max_error < 1e-9:
            told = "These points give the curve exactly."
        elif ratio >= 1.1:
            told = f"That is {ratio:.1f} times closer to the curve than {other.spacing} spacing."
        elif ratio <= 0.9:
            told = f"{other.spacing.capitalize()} spacing would be {1 / ratio:.1f} times closer."
        else:
            told = f"{other.spacing.capitalize()} spacing would do about as well."
        lead = (
            f"{len(chosen.x)} {chosen.spacing} points, read by straight lines, are nowhere further "
            f"than {100 * chosen.max_error:.3g} % of full from the exact curve. "
        )
        return " ".join([lead + told, self._leak(chosen)]).strip()

    def _leak(self, table: Table) -> str:
        tested = self.format.value not in ("csv", "json")
        if table.leak > 0.0 and tested:
            return (
                "The code tests for the dead zone before it looks up, so there it gives exactly 0."
            )
        return table.leak_words()

    def _show_fewest(self, shape: Shape) -> None:
        found = fewest_points(shape, self.bound.value)
        bound = f"{100 * self.bound.value:.3g} %"
        self.take_fewest.disabled = found is None
        told = (
            f"No table is fine enough for {bound}."
            if found is None
            else f"{found} fitted points stay within {bound} of full; fewer cannot."
        )
        if self.fewest_words.value != told:
            self.fewest_words.value = told

    def _take_fewest(self) -> None:
        found = fewest_points(self.desk.tune.shape(self.channel), self.bound.value)
        if found is None:
            return
        self._loading = True
        try:
            if found not in [value for _, value in self.points.options]:
                counts = sorted({*POINTS, found})
                self.points.options = [(f"{n} points", n) for n in counts]
            self.points.value, self.spacing.value = found, "fitted"
        finally:
            self._loading = False
        self.update()

    def _show_text(self, tune: Tune, table: Table) -> None:
        self.copy.text = FORMATS[self.format.value](TableRequest(tune, self.channel, table))
        name = f"{file_stem(tune.name)}_{self.channel}.{_ENDINGS[self.format.value]}"
        if self.name.value != name:
            self.name.value = name
        self.overwrite_button.layout.display = "none"

    def write(self, overwrite: bool = False) -> None:
        """Write the text into a file of the builder's own, never over another one unasked."""
        try:
            path = self._path()
            before = path.read_text("utf-8", "replace") if path.exists() else None
            if before not in (None, self._wrote.get(path), self.copy.text) and not overwrite:
                self.overwrite_button.layout.display = ""
                raise one_fault(
                    "another file is there: change the name, or overwrite it.", path.name
                )
            path.parent.mkdir(exist_ok=True)
            write_text(path, self.copy.text)
        except (TuneError, OSError) as err:
            self._say(str(err))
            return
        self._wrote[path] = self.copy.text
        self.overwrite_button.layout.display = "none"
        self._say(f"Written to {OUT_FOLDER}/{path.name}.")

    def _path(self) -> Path:
        name: str = self.name.value.strip()
        if not name or Path(name).name != name or name.startswith("."):
            raise one_fault("give a plain file name without folders.", key="file name", value=name)
        folder: Path = self.desk.folder / OUT_FOLDER
        return folder / name

    def _say(self, text: str) -> None:
        self.message.value = html.escape(text)
