"""A table as one C99 function: integers only, no division, no memory of its own."""

from __future__ import annotations

from curvelib.export.common import TableRequest, templates
from curvelib.export.fixed import FRACTION_BITS, FULL_IN, fixed_table


def render(request: TableRequest) -> str:
    """Return the C text of ``int16_t curvelib_throttle(int16_t position)`` or ``_steer``."""
    table = fixed_table(request.table, request.tune.output)
    return (
        templates()
        .get_template("table.c.j2")
        .render(
            name=f"curvelib_{request.channel}",
            notes=request.notes,
            table=table,
            unit=unit_words(request),
            full_in=FULL_IN,
            bits=FRACTION_BITS,
            half=1 << (FRACTION_BITS - 1),
            last=(int(table.up_value[-1]) + (1 << (FRACTION_BITS - 1))) >> FRACTION_BITS,
            last_down=(int(table.down_value[-1]) + (1 << (FRACTION_BITS - 1))) >> FRACTION_BITS,
        )
    )


def unit_words(request: TableRequest) -> str:
    """Say what the result is counted in."""
    output = request.tune.output
    return {
        "pulse": f"microseconds, {output.zero} for 0",
        "signed": f"whole numbers, {output.full} for full",
        "percent": "hundredths of a percent, 10000 for full",
    }[output.kind]
