"""The foot of every panel: which machine file is open, saved or changed, and what to do with it."""

from __future__ import annotations

import html
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from curvelib.faults import ChangedOnDisk, TuneError
from curvelib.panels.controls import button, choice, words
from curvelib.panels.desk import Desk


class FileBar(widgets.VBox):
    """File chooser, state, Save, Save as, Revert.

    Parameters
    ----------
    desk : Desk
        What it acts on.
    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._quiet = False
        self.chooser = choice([("none", None)], None, "Machine file", "file")
        self.chooser.layout.width = "260px"
        self.state = words("", "cv-state")
        self.state.layout.width = "auto"
        self.message = words("", "cv-message")
        self.name = widgets.Text(
            placeholder="name for the copy", layout=widgets.Layout(width="210px")
        )
        self.name.add_class("cv-text-save-as")
        self.save_button = button("Save", "save", self.save)
        self.revert_button = button(
            "Revert", "revert", self._act(desk.revert, "Back to the file as it is on disk.")
        )
        self.overwrite_button = button(
            "Overwrite it", "overwrite", self._act(lambda: desk.save(overwrite=True), "Saved.")
        )
        self.overwrite_button.layout.display = "none"
        super().__init__(self._rows())
        self.add_class("cv-foot")
        self.chooser.observe(self._chosen, "value")
        desk.watch(self.relist)
        self.relist()

    def _rows(self) -> list[Any]:
        save_as = button("Save as", "save-as", self.save_as, "Write a new file of your own")
        label = words("<b>Machine file</b>")
        label.layout.width = "auto"
        rows = [
            [label, self.chooser, self.state],
            [self.save_button, self.revert_button, self.name, save_as, self.overwrite_button],
        ]
        boxes: list[Any] = [widgets.HBox(row) for row in rows]
        for box in boxes:
            box.add_class("cv-foot-row")
        return [*boxes, self.message]

    def relist(self) -> None:
        """Read the list of files again and show which one is open."""
        desk = self._desk
        files = desk.files()
        options: list[tuple[str, Path | None]] = [(desk.label(path), path) for path in files]
        if desk.path not in files:
            options.insert(0, ("not saved yet", desk.path))
        self._quiet = True
        try:
            self.chooser.options = options
            self.chooser.value = desk.path
        finally:
            self._quiet = False
        self._hide_overwrite()
        self.refresh()

    def refresh(self) -> None:
        """Show whether the tune differs from the file."""
        desk = self._desk
        own = desk.path is not None and not desk.is_demo()
        state = "changed, not saved" if desk.changed else "saved" if own else "as it came"
        if desk.is_demo():
            state += "; a demo with invented data, only read: Save as makes your own copy"
        _set(self.state, html.escape(state))
        self.save_button.disabled = not (own and desk.changed)
        self.revert_button.disabled = not desk.changed

    def save(self) -> None:
        """Save, or say why not and offer a choice."""
        try:
            self._desk.save()
        except ChangedOnDisk as err:
            self.say(f"{err} Revert reads it again; Overwrite replaces it and keeps a backup.")
            self.overwrite_button.layout.display = ""
            self.revert_button.disabled = False
        except TuneError as err:
            self.say(str(err))
        else:
            self.say("Saved.")

    def save_as(self) -> None:
        """Write a new file under the name given."""
        if not self.name.value.strip():
            self.say("Type a name for the copy first, then press Save as.")
            return
        name = self.name.value
        self._act(lambda: self._desk.save_as(name), "Saved as a file of your own.")()

    def _act(self, action: Callable[[], None], done: str) -> Callable[[], None]:
        def act() -> None:
            try:
                action()
            except TuneError as err:
                self.say(str(err))
            else:
                self.say(done)

        return act

    def _chosen(self, change: Any) -> None:
        if self._quiet or change["new"] is None:
            return
        if self._desk.changed:
            self.say("Unsaved changes: save, save as or revert them before opening another file.")
            self._back_to_open_file()
            return
        try:
            self._desk.open(change["new"])
        except TuneError as err:
            self.say(str(err))
            self._back_to_open_file()
        else:
            self.say("")

    def _back_to_open_file(self) -> None:
        self._quiet = True
        try:
            self.chooser.value = self._desk.path
        finally:
            self._quiet = False

    def _hide_overwrite(self) -> None:
        self.overwrite_button.layout.display = "none"

    def say(self, text: str) -> None:
        """Show a message under the buttons."""
        _set(self.message, html.escape(text).replace("\n", "<br>"))


def _set(widget: widgets.HTML, value: str) -> None:
    """Change a text only where it differs, to send nothing for nothing."""
    if widget.value != value:
        widget.value = value
