"""A table as one IEC 61131-3 structured text function: DINT only, no division."""

from __future__ import annotations

from curvelib.export.common import TableRequest
from curvelib.export.fixed_text import render_fixed


def render(request: TableRequest) -> str:
    """Return the text of ``FUNCTION curvelib_throttle : DINT`` or ``_steer``."""
    return render_fixed(request, "table.st.j2")
