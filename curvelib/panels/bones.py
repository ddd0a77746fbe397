"""The bones all panels share: cautions, controls beside the picture, the file at the foot."""

from __future__ import annotations

import html
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from curvelib.panels.controls import COLUMN_PX, words
from curvelib.panels.desk import Desk
from curvelib.panels.filebar import FileBar
from curvelib.panels.picture import Picture, PictureView

CAUTION = (
    "<b>This machine can maim.</b> Blade drive off, wheels off the ground, a hand on an "
    "independent stop, bystanders away; test first that the wheels stop when the transmitter is "
    "switched off. Local codes, the makers' instructions and licensed practice come first."
)
STYLE = Path(__file__).with_name("bones.css").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Figure:
    """One of the two or three numbers that decide, with its comparison."""

    value: str
    what: str
    beside: str = ""


def one_at_a_time(method: Callable[[Any], None]) -> Callable[[Any], None]:
    """Let a panel's methods wait for each other.

    A notebook may run cells and deliver the reader's moves on two threads; two
    draws into one picture at once would leave it half drawn.
    """

    @wraps(method)
    def waiting(self: Any) -> None:
        with self.taking_turns:
            method(self)

    return waiting


class Panel(widgets.VBox):
    """Base of the panels: a subclass makes controls and a drawing, and says what they show.

    A subclass calls `assemble` at the end of its constructor and offers
    `update`, a plain method that reads the controls and shows the result;
    tests call it, and no error in it is swallowed.  Both it and whatever else
    draws are marked `one_at_a_time`.
    """

    def __init__(self, desk: Desk | None = None) -> None:
        super().__init__()
        self.taking_turns = threading.RLock()
        self.desk = desk or Desk()
        self._style = widgets.HTML(f"<style>{STYLE}</style>")
        self._figures = words("", "cv-figures")
        self.sentence = words("", "cv-sentence")
        self.view = PictureView()
        self.view.add_class("cv-picture-main")
        self.file_bar = FileBar(self.desk)
        self.add_class("cv-panel")

    def assemble(self, controls: Sequence[Any], below: Sequence[Any] = ()) -> None:
        """Put the parts in their places, once."""
        column = widgets.VBox(
            list(controls),
            layout=widgets.Layout(
                width=f"{COLUMN_PX}px", min_width=f"{COLUMN_PX}px", flex="0 0 auto"
            ),
        )
        column.add_class("cv-column")
        shown = widgets.VBox(
            [self._figures, self.view, self.sentence, *below],
            layout=widgets.Layout(flex="1 1 0", min_width="0", margin="0 0 0 18px"),
        )
        body = widgets.HBox([column, shown], layout=widgets.Layout(width="100%"))
        self.children = [self._style, words(CAUTION, "cv-caution"), body, self.file_bar]

    def show_result(
        self, picture: Picture, figures: Sequence[Figure], sentence: str, alt: str
    ) -> None:
        """Show picture, deciding numbers and the sentence; `sentence` is plain text."""
        self.view.show(picture, alt)
        self._figures.value = "".join(map(_card, figures))
        self.sentence.value = html.escape(sentence)
        self.file_bar.refresh()

    @property
    def figures_text(self) -> str:
        """The deciding numbers as they stand on the page, for tests."""
        return str(self._figures.value)


def _card(figure: Figure) -> str:
    return (
        f'<div class="cv-card"><div class="cv-what">{html.escape(figure.what)}</div>'
        f'<div class="cv-number">{html.escape(figure.value)}</div>'
        f'<div class="cv-beside">{html.escape(figure.beside)}</div></div>'
    )
