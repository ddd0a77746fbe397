"""The text of a machine file: a new one with explanations, or an old one with changes."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import tomlkit
from tomlkit.items import AoT

from curvelib.filemodel import REQUIRED, SECTIONS
from curvelib.mixing import TankMix
from curvelib.params import params_of
from curvelib.shape import Shape
from curvelib.tune import FORMAT, Tune


def updated_text(base: str | None, tune: Tune) -> str:
    """Return `base` with only the differing values changed, or a new file's text."""
    if base is None:
        return _new_text(tune)
    doc = tomlkit.parse(base)
    if doc.get("name", Tune().name) != tune.name:
        doc["name"] = tune.name
    for section in SECTIONS:
        _update_section(doc, section, plain_section(tune, section))
    return tomlkit.dumps(doc)


def plain_section(tune: Tune, section: str) -> dict[str, Any]:
    """One section as the file holds it; what is not known is left out."""
    part = getattr(tune, section)
    plain = {} if section != "mix" else {"kind": part.kind}
    for field in fields(part):
        value = getattr(part, field.name)
        if value is not None:
            plain[field.name] = _plain(value)
    return plain


def _plain(value: Any) -> Any:
    if isinstance(value, Shape):
        return [_plain_stage(stage) for stage in value.stages]
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and value.is_integer() and abs(value) >= 100.0:
        return int(value)
    return value


def _plain_stage(stage: Any) -> dict[str, Any]:
    values = {field.name: _plain(getattr(stage, field.name)) for field in fields(stage)}
    return {"kind": stage.kind} | values


def _defaults(section: str) -> dict[str, Any]:
    return plain_section(Tune(), section)


def _update_section(doc: Any, section: str, wanted: dict[str, Any]) -> None:
    defaults = _defaults(section)
    if section not in doc:
        fresh = {key: value for key, value in wanted.items() if defaults.get(key) != value}
        if fresh or section in REQUIRED:
            table = tomlkit.table()
            for key, value in fresh.items():
                table.add(key, _item(value))
            doc.add(section, table)
        return
    table = doc[section]
    if section == "mix" and wanted.get("kind") == "independent":
        # The tank mix's own keys stay for the day it is a tank mix again.
        wanted = {"kind": "independent"}
        keep = {field.name for field in fields(TankMix)}
    else:
        keep = set()
    for key in [key for key in table if key not in wanted and key not in keep]:
        del table[key]
    for key, value in wanted.items():
        _update_key(table, key, value, defaults.get(key))


def _update_key(table: Any, key: str, value: Any, default: Any) -> None:
    if key not in table:
        if value != default:
            table.add(key, _item(value))
        return
    if _unwrapped(table[key]) == value:
        return
    if key == "shape" and _same_kinds(table[key], value):
        for item, stage in zip(table[key], value, strict=True):
            for name, number in stage.items():
                if _unwrapped(item.get(name)) != number:
                    item[name] = number
        return
    if isinstance(table[key], AoT):
        # A list of tables cannot take an inline list's place; it is written anew.
        del table[key]
        table.add(key, _item(value))
        return
    table[key] = _item(value)


def _unwrapped(item: Any) -> Any:
    return item.unwrap() if hasattr(item, "unwrap") else item


def _same_kinds(old: Any, new: list[dict[str, Any]]) -> bool:
    return [item.get("kind") for item in old] == [stage["kind"] for stage in new]


def _item(value: Any) -> Any:
    """Lists of stages go one a line, so that a person can read and edit them."""
    if not (isinstance(value, list) and value and isinstance(value[0], dict)):
        return value
    array = tomlkit.array()
    for stage in value:
        inline = tomlkit.inline_table()
        inline.update(stage)
        array.append(inline)
    return array.multiline(True)


def _new_text(tune: Tune) -> str:
    doc = tomlkit.document()
    doc.add(tomlkit.comment("Machine file. Read it, change it, keep it: it is plain text."))
    doc.add(tomlkit.comment("Switch off the transmitter's own curve, rates, mix and trims and the"))
    doc.add(tomlkit.comment("drive's own curve and ramp, or they act twice."))
    doc.add("format", tomlkit.item(FORMAT))
    doc.add("name", tomlkit.item(tune.name))
    for section, cls in SECTIONS.items():
        table, help_of = tomlkit.table(), params_of(cls)
        for key, value in plain_section(tune, section).items():
            item = tomlkit.item(_item(value))
            if key in help_of and not isinstance(value, list):
                item.comment(help_of[key].help)
            table.add(key, item)
        doc.add(tomlkit.nl())
        doc.add(section, table)
    return tomlkit.dumps(doc)
