"""A table as JSON."""

from __future__ import annotations

import json

from curvelib.export.common import TableRequest


def render(request: TableRequest) -> str:
    """Return the JSON text; numbers are written so that they read back the same."""
    table = request.table
    content = {
        "machine": request.tune.name,
        "channel": request.channel,
        "spacing": table.spacing,
        "points": len(table.x),
        "dead_zone": table.dead_zone,
        "max_error": table.max_error,
        "notes": list(request.notes[1:]),
        "position": table.x.tolist(),
        "command": table.y.tolist(),
    }
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
