"""The panel of the fifth workbook: sag and current limit, braking energy and resistor."""

from __future__ import annotations

from curvelib.panels.chapters import ChapterPanel
from curvelib.panels.supply_braking import BrakingChapter
from curvelib.panels.supply_sag import SagChapter


class SupplyPanel(ChapterPanel):
    """What the battery of the open machine bears and takes back, in two chapters.

    Parameters
    ----------
    desk : Desk, optional
        The machine file; left out, the one used last.
    """

    kinds = (SagChapter, BrakingChapter)
    sag: SagChapter
    braking: BrakingChapter

    def join(self) -> None:
        """Name the chapters."""
        self.sag, self.braking = self.chapters  # type: ignore[assignment]  # made from `kinds`, in order
