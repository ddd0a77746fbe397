"""A table as CSV: comment lines, a header, one row a point."""

from __future__ import annotations

from curvelib.export.common import TableRequest, one_line


def render(request: TableRequest) -> str:
    """Return the CSV text; numbers are written so that they read back the same."""
    table = request.table
    lines = [f"# {one_line(note)}" for note in request.notes]
    lines.append("position,command")
    rows = zip(table.x.tolist(), table.y.tolist(), strict=True)
    lines += [f"{x!r},{y!r}" for x, y in rows]
    return "\n".join(lines) + "\n"
