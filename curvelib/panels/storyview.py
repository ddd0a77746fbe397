"""What the pictures of a story share: their size, moving lines and dots, legends, uprights."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from curvelib.panels.look import INK, PALETTE, QUIET, LineLook
from curvelib.panels.picture import Picture
from curvelib.panels.units import Units

WIDTH, HEIGHT = 900, 620
MARK = LineLook(QUIET, ":", 1.6)
EDGE = LineLook(PALETTE["vermilion"], "-.", 1.4)
STILL = LineLook(QUIET, "-", 1.0)


class StoryView:
    """Axes above each other in one picture of fixed size."""

    def __init__(self, units: Units) -> None:
        self.units = units
        self.picture = Picture(WIDTH, HEIGHT)

    def line(self, axes: Axes, look: LineLook, label: str = "", **more: Any) -> Line2D:
        """A moving line without points yet."""
        made = axes.plot([], [], label=label or "_", **{**look.keywords(), **more})[0]
        return self.picture.moving(made)

    def dot(self, axes: Axes, look: LineLook, label: str = "") -> Line2D:
        """A moving dot, or several."""
        return self.line(axes, look, label, linestyle="none", marker="o", markersize=8)


def legend(axes: Axes, place: str, columns: int = 1, handles: Sequence[Line2D] = ()) -> None:
    """A legend that is drawn once, in a corner of the axes or "above" them."""
    shown = list(handles) or [one for one in axes.lines if not str(one.get_label()).startswith("_")]
    # The type of matplotlib's names for places is a list of them all.
    where: Any = "lower right" if place == "above" else place
    axes.legend(
        handles=shown,
        loc=where,
        bbox_to_anchor=(1.0, 1.0) if place == "above" else None,
        ncols=columns,
        fontsize=11,
        frameon=True,
        framealpha=0.9,
        edgecolor="none",
        labelcolor=INK,
        borderaxespad=0.2,
        handlelength=2.0,
        handletextpad=0.5,
        columnspacing=1.1,
    )


def uprights(line: Line2D, places: Sequence[float], low: float, high: float) -> None:
    """Make one line of several uprights."""
    x = np.repeat(np.asarray(places, dtype=float), 3)
    line.set_data(x, np.tile([low, high, np.nan], len(places)))
