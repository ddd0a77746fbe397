"""A table as a Python module that imports nothing and counts in integers."""

from __future__ import annotations

from curvelib.export.common import TableRequest
from curvelib.export.fixed_text import render_fixed


def render(request: TableRequest) -> str:
    """Return the text of a module with ``curvelib_throttle(position)`` or ``_steer``."""
    return render_fixed(request, "table.py.j2")
