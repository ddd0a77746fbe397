"""What the exports in code share: one integer table put into a template of its language."""

from __future__ import annotations

from curvelib.export.common import TableRequest, templates
from curvelib.export.fixed import FRACTION_BITS, FULL_IN, fixed_table
from curvelib.output import Output

_HALF = 1 << (FRACTION_BITS - 1)


def render_fixed(request: TableRequest, template: str) -> str:
    """Return the text of a function that reads the table in integers.

    Raises
    ------
    ValueError
        If the points are too close for the whole-number positions.
    """
    table = fixed_table(request.table, request.tune.output)
    return (
        templates()
        .get_template(template)
        .render(
            name=f"curvelib_{request.channel}",
            notes=request.code_notes,
            table=table,
            unit=unit_words(request.tune.output),
            full_in=FULL_IN,
            bits=FRACTION_BITS,
            half=_HALF,
            last=(int(table.up_value[-1]) + _HALF) >> FRACTION_BITS,
            last_down=(int(table.down_value[-1]) + _HALF) >> FRACTION_BITS,
        )
    )


def unit_words(output: Output) -> str:
    """Say what the result is counted in."""
    return {
        "pulse": f"microseconds, {output.zero} for 0",
        "signed": f"whole numbers, {output.full} for full",
        "percent": "hundredths of a percent, 10000 for full",
    }[output.kind]
