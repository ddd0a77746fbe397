"""Choose a recorded stick trace from the folder beside the workbooks; faults are told here."""

from __future__ import annotations

import html
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from curvelib.machine.recording import Recording, RecordingError, read_recording
from curvelib.panels.controls import button, choice, words

FOLDER = "recordings"
_NONE = "none: use the change above"
# Not None, which a list takes for "nothing chosen" and shows as blank.
_NO_FILE = Path()


class RecordingChooser(widgets.VBox):
    """A list of the CSV files in the folder of recordings.

    Parameters
    ----------
    folder : Path
        Where the workbooks are; recordings lie in its folder ``recordings``.
    on_change : callable
        Called after each choice by the reader.
    """

    def __init__(self, folder: Path, on_change: Callable[[], None]) -> None:
        self._folder = folder / FOLDER
        self._on_change = on_change
        self._quiet = False
        self._read: tuple[Path, Recording] | None = None
        self.chooser = choice([(_NONE, _NO_FILE)], _NO_FILE, "Recording", "recording")
        self._fault = words("")
        self.again = button(
            "Read again", "read-again", self.read_again, "Look for files, read the chosen one anew"
        )
        super().__init__(
            [
                words("<b>Recording</b>"),
                self.chooser,
                self._fault,
                widgets.HBox([self.again]),
                words(f"CSV files in the folder {FOLDER} beside this workbook.", "cv-help"),
            ],
            layout=widgets.Layout(width="100%"),
        )
        self.add_class("cv-recordings")
        self.chooser.observe(self._chosen, "value")
        self._relist()

    def recording(self) -> Recording | None:
        """The recording chosen; None where none is.

        Raises
        ------
        RecordingError
            If the file is at fault; the message stands at the chooser.
        """
        path: Path | None = self.chooser.value
        if path is None or path == _NO_FILE:
            self.fault("")
            return None
        if self._read is None or self._read[0] != path:
            self._read = None
            try:
                self._read = (path, read_recording(path))
            except RecordingError as err:
                self.fault(str(err).replace(f"{path}", path.name))
                raise
        self.fault("")
        return self._read[1]

    def read_again(self) -> None:
        """Look for files and read the chosen one anew."""
        self._read = None
        self._relist()
        self._on_change()

    def fault(self, text: str) -> None:
        """Show a fault here; empty text takes it away."""
        wanted = f'<div class="cv-fault">{html.escape(text)}</div>' if text else ""
        if self._fault.value != wanted:
            self._fault.value = wanted

    def _relist(self) -> None:
        chosen = self.chooser.value
        found = sorted(self._folder.glob("*.csv"))
        self._quiet = True
        try:
            self.chooser.options = [(_NONE, _NO_FILE), *((path.name, path) for path in found)]
            self.chooser.value = chosen if chosen in found else _NO_FILE
        finally:
            self._quiet = False

    def _chosen(self, _: Any) -> None:
        if not self._quiet:
            self._on_change()
