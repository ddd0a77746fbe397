"""The formats a table can be written in."""

from __future__ import annotations

from collections.abc import Callable

from curvelib.export import c_table, csv_table, json_table, python_table, st_table
from curvelib.export.common import TableRequest

FORMATS: dict[str, Callable[[TableRequest], str]] = {
    "csv": csv_table.render,
    "json": json_table.render,
    "c": c_table.render,
    "st": st_table.render,
    "python": python_table.render,
}
