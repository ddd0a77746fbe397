"""A table as one C99 function: integers only, no division, no memory of its own."""

from __future__ import annotations

from curvelib.export.common import TableRequest
from curvelib.export.fixed_text import render_fixed


def render(request: TableRequest) -> str:
    """Return the C text of ``int16_t curvelib_throttle(int16_t position)`` or ``_steer``."""
    return render_fixed(request, "table.c.j2")
