"""A small table of facts below a picture."""

from __future__ import annotations

import html
from collections.abc import Sequence
from typing import Any

import ipywidgets as widgets

from curvelib.panels.controls import words

_STYLE = """<style>
.cv-facts table { border-collapse: collapse; width: 100%; }
.cv-facts td, .cv-facts th {
  border-bottom: 1px solid #e4e4e4; padding: 3px 14px 3px 0; vertical-align: top;
  text-align: left; white-space: nowrap;
}
.cv-facts th { color: #444; font-weight: 600; }
.cv-facts td:first-child { min-width: 150px; }
.cv-facts td:last-child { width: 100%; white-space: normal; }
.cv-facts td.cv-fact-number { font-weight: 600; }
</style>"""


def facts(name: str) -> widgets.HTML:
    """Make a place for a table; `name` tells it apart on the page."""
    made = words("", "cv-facts")
    made.add_class(f"cv-facts-{name}")
    return made


def facts_style() -> Any:
    """The look of the tables, once a panel."""
    return widgets.HTML(_STYLE, layout=widgets.Layout(margin="0", height="0"))


def table(
    rows: Sequence[Sequence[str]], head: Sequence[str] = (), bold: Sequence[int] = (1,)
) -> str:
    """Rows of plain text as HTML.

    Parameters
    ----------
    rows : sequence of sequence of str
        Cells, plain text.
    head : sequence of str
        Names of the columns; empty for none.
    bold : sequence of int
        Columns that hold the numbers.
    """
    top = "".join(f"<th>{html.escape(name)}</th>" for name in head)
    lines = [f"<tr>{top}</tr>"] if head else []
    for row in rows:
        cells = "".join(
            f'<td class="cv-fact-number">{html.escape(cell)}</td>'
            if place in bold
            else f"<td>{html.escape(cell)}</td>"
            for place, cell in enumerate(row)
        )
        lines.append(f"<tr>{cells}</tr>")
    return f"<table>{''.join(lines)}</table>"


def tell(widget: widgets.HTML, text: str) -> None:
    """Change a text only where it differs, to send nothing for nothing."""
    if widget.value != text:
        widget.value = text
