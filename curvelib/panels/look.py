"""The look of every picture: colours, line styles, type sizes.

Plain on purpose: white ground, dark text, few colours, and every series told
apart by its line style as well as by its colour.  The colours are those of
Okabe & Ito, chosen to stay apart for readers with any of the common kinds of
colour blindness.

References
----------
M. Okabe and K. Ito, "Color Universal Design (CUD): how to make figures and
presentations that are friendly to colorblind people", 2008.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from matplotlib.axes import Axes

PALETTE: Mapping[str, str] = MappingProxyType(
    {
        "black": "#000000",
        "orange": "#E69F00",
        "sky blue": "#56B4E9",
        "green": "#009E73",
        "yellow": "#F0E442",
        "blue": "#0072B2",
        "vermilion": "#D55E00",
        "purple": "#CC79A7",
    }
)

INK = "#222222"  # text and the axes' own lines
QUIET = "#6B6B6B"  # what is there for comparison only; still readable on white
GRID = "#E4E4E4"
GROUND = "#FFFFFF"

TITLE_SIZE = 14.0  # points
LABEL_SIZE = 12.5
TICK_SIZE = 11.5
NOTE_SIZE = 11.5  # words inside the axes


@dataclass(frozen=True)
class LineLook:
    """Colour, dash pattern and width of one line.

    Parameters
    ----------
    colour : str
        A hexadecimal colour.
    style : str
        A matplotlib line style: "-", "--", "-." or ":".
    width : float
        In points.
    """

    colour: str
    style: str
    width: float = 2.2

    def keywords(self) -> dict[str, Any]:
        """Return the keywords for `Axes.plot`."""
        return {"color": self.colour, "linestyle": self.style, "linewidth": self.width}


# Yellow and sky blue are too faint for a line on white; they serve as fills.
SERIES: tuple[LineLook, ...] = (
    LineLook(PALETTE["blue"], "-"),
    LineLook(PALETTE["vermilion"], "--"),
    LineLook(PALETTE["green"], "-."),
    LineLook(PALETTE["purple"], ":", 2.8),
)
COMPARISON = LineLook(QUIET, "--", 1.5)  # the plain linear stick, the values before a change


def style_axes(axes: Axes, x_label: str, y_label: str, title: str = "") -> Axes:
    """Give axes the house look.

    Parameters
    ----------
    axes : matplotlib Axes
        Changed in place.
    x_label, y_label : str
        What is drawn and its unit, as in "speed (m/s)".
    title : str
        A few words above the axes, at the left.

    Returns
    -------
    matplotlib Axes
        The same axes.
    """
    axes.set_facecolor(GROUND)
    axes.set_axisbelow(True)
    axes.grid(True, color=GRID, linewidth=1.0)
    axes.spines[["top", "right"]].set_visible(False)
    axes.spines[["left", "bottom"]].set_color(QUIET)
    axes.tick_params(labelsize=TICK_SIZE, colors=INK, color=QUIET, length=4.0)
    axes.set_xlabel(x_label, fontsize=LABEL_SIZE, color=INK, labelpad=6.0)
    axes.set_ylabel(y_label, fontsize=LABEL_SIZE, color=INK, labelpad=6.0)
    if title:
        axes.set_title(title, fontsize=TITLE_SIZE, color=INK, loc="left", pad=10.0)
    return axes
