"""A panel whose story has chapters: one picture and one column of controls each."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import ipywidgets as widgets

from curvelib.panels import settings
from curvelib.panels.bones import Figure, Panel
from curvelib.panels.controls import COLUMN_PX, heading, words
from curvelib.panels.desk import Desk
from curvelib.panels.filesliders import FileSlider, assumed_words, filled
from curvelib.panels.picture import Picture
from curvelib.panels.units import Units
from curvelib.tune import Tune

_STYLE = """<style>
.cv-settings table { border-collapse: collapse; width: 100%; }
.cv-settings th { text-align: left; color: #444; font-weight: 600; }
.cv-settings td, .cv-settings th {
  border-bottom: 1px solid #e4e4e4; padding: 4px 14px 4px 0; vertical-align: top;
}
.cv-settings td { height: 40px; }
.cv-panel .cv-sentence { min-height: 86px; }
.cv-settings td:nth-child(2) { white-space: nowrap; font-weight: 600; }
</style>"""


@dataclass(frozen=True)
class Setting:
    """One number to carry to the record: its name, the number, why it is so."""

    name: str
    value: str
    why: str


@dataclass(frozen=True)
class Told:
    """What a chapter shows: picture, deciding numbers, one sentence."""

    picture: Picture
    figures: Sequence[Figure]
    sentence: str


class Chapter:
    """One part of a panel's story.

    A subclass makes its controls in the constructor and offers `column`,
    `tell` and `settings`.  `put` writes its controls into a tune, `load` shows a
    tune in them.

    Parameters
    ----------
    units : Units
        For every number.
    on_change : callable
        Called after each move by the reader.
    """

    title: ClassVar[str]
    # Facts of the machine that it needs and has no slider for.
    needs: ClassVar[tuple[str, ...]] = ()

    def __init__(self, units: Units, on_change: Callable[[], None]) -> None:
        self.units, self.on_change = units, on_change
        self.keys: dict[str, FileSlider] = {}
        self.note = words("", "cv-help")

    def key(self, section: str, key: str, **words_: Any) -> FileSlider:
        """Make a slider for one key of the file."""
        self.keys[key] = FileSlider(section, key, self.units, self.on_change, **words_)
        return self.keys[key]

    def column(self) -> list[Any]:
        """Controls from top to bottom."""
        raise NotImplementedError

    def load(self, tune: Tune) -> None:
        """Show a tune in the controls."""
        for slider in self.keys.values():
            slider.load(tune)

    def put(self, tune: Tune) -> Tune:
        """Return the tune with this chapter's controls in it."""
        for slider in self.keys.values():
            tune = slider.put(tune)
        for slider in self.keys.values():
            slider.settle(tune)
        return tune

    def tell(self, tune: Tune) -> Told:
        """Draw and say what the controls show; `tune` has every fact filled in."""
        raise NotImplementedError

    def settings(self, tune: Tune) -> list[Setting]:
        """Numbers to carry to the record; `tune` has every fact filled in."""
        raise NotImplementedError


class ChapterPanel(Panel):
    """A panel of several chapters, shown one at a time.

    Parameters
    ----------
    desk : Desk, optional
        The machine file; left out, the one used last.
    """

    kinds: ClassVar[tuple[type[Chapter], ...]]

    def __init__(self, desk: Desk | None = None) -> None:
        super().__init__(desk)
        self._loading = False
        self.units = settings.units()
        self.chapters = tuple(kind(self.units, self.update) for kind in self.kinds)
        self.join()
        self.part = widgets.ToggleButtons(
            options=[(chapter.title, place) for place, chapter in enumerate(self.chapters)],
            style=widgets.ToggleButtonsStyle(button_width=f"{COLUMN_PX - 8}px"),
        )
        self.part.tooltip = "Part of the story"
        self.part.add_class("cv-part")
        self.part.observe(self._part_chosen, "value")
        self._controls = widgets.VBox(layout=widgets.Layout(width="100%"))
        self._list = words("", "cv-settings")
        below = [heading("To carry to the record, each with its reason"), self._list]
        self.assemble([self.part, self._controls], [widgets.HTML(_STYLE), *below])
        self.desk.watch(self.load)
        self._show_column()
        self.load()

    def join(self) -> None:
        """Let chapters share controls; called once, when all of them are made."""

    @property
    def chapter(self) -> Chapter:
        """The chapter on show."""
        place: int = self.part.value
        return self.chapters[place]

    def load(self) -> None:
        """Show the tune on the desk in the controls of every chapter."""
        with self.taking_turns:
            self._loading = True
            try:
                for chapter in self.chapters:
                    chapter.load(self.desk.tune)
            finally:
                self._loading = False
            self.update()

    def update(self) -> None:
        """Read the controls and show the result; at a fault the picture stays as it was."""
        with self.taking_turns:
            if not self._loading:
                self._update()

    def _update(self) -> None:
        try:
            self.desk.tune = self.chapter.put(self.desk.tune)
            tune = filled(self.desk.tune)
            told = self.chapter.tell(tune)
        except ValueError:
            # The control shows the fault; the last good picture stays.
            return
        self._say(self.chapter.note, assumed_words(self.desk.tune, self.chapter.needs))
        self._say(
            self._list, _table([one for each in self.chapters for one in each.settings(tune)])
        )
        alt = f"{self.chapter.title}. {told.sentence}"
        self.show_result(told.picture, told.figures, told.sentence, alt)

    def _part_chosen(self, _: Any) -> None:
        with self.taking_turns:
            self._show_column()
            # Another chapter may have changed keys that this one shows too.
            self.load()

    def _show_column(self) -> None:
        self._controls.children = [*self.chapter.column(), self.chapter.note]

    @staticmethod
    def _say(widget: widgets.HTML, text: str) -> None:
        if widget.value != text:
            widget.value = text


def _table(rows: Sequence[Setting]) -> str:
    """The list as a table; a name told twice is shown once, as told first."""
    seen: dict[str, Setting] = {}
    for row in rows:
        seen.setdefault(row.name, row)
    lines = "".join(
        f"<tr><td>{html.escape(row.name)}</td><td>{html.escape(row.value)}</td>"
        f"<td>{html.escape(row.why)}</td></tr>"
        for row in seen.values()
    )
    return f"<table><tr><th>Setting</th><th>Number</th><th>Why</th></tr>{lines}</table>"
