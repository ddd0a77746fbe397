"""The panel of the fourth workbook: restart, lost signal, timeout."""

from __future__ import annotations

from curvelib.panels.chapters import ChapterPanel
from curvelib.panels.fault_restart import RestartChapter
from curvelib.panels.fault_signal import SignalChapter
from curvelib.panels.fault_timeout import TimeoutChapter


class FaultPanel(ChapterPanel):
    """What the open machine does when things go wrong, in three chapters.

    Parameters
    ----------
    desk : Desk, optional
        The machine file; left out, the one used last.
    """

    kinds = (RestartChapter, SignalChapter, TimeoutChapter)
    restart: RestartChapter
    signal: SignalChapter
    timeout: TimeoutChapter

    def join(self) -> None:
        """The signal is lost at one speed, on one slope, in both chapters about it."""
        self.restart, self.signal, self.timeout = self.chapters  # type: ignore[assignment]  # made from `kinds`, in order
        self.timeout.moment = self.signal.scene
