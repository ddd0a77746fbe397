"""What is remembered for this user between workbooks: the last file and the units.

Kept in the user's own configuration folder, never in the project's.  A
settings file that cannot be read or written costs nothing but the memory.
"""

from __future__ import annotations

import contextlib
import json
from pathlib import Path
from typing import Any

import platformdirs

from curvelib.atomic import write_text
from curvelib.panels.units import Units


def _path() -> Path:
    return Path(platformdirs.user_config_dir("curvelib", appauthor=False)) / "settings.json"


def _read() -> dict[str, Any]:
    try:
        kept = json.loads(_path().read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return kept if isinstance(kept, dict) else {}


def _keep(**new: Any) -> None:
    with contextlib.suppress(OSError):
        _path().parent.mkdir(parents=True, exist_ok=True)
        write_text(_path(), json.dumps(_read() | new, indent=2) + "\n")


def last_file() -> str | None:
    """Path of the machine file used last, if there is one."""
    kept = _read().get("last_file")
    return kept if isinstance(kept, str) else None


def keep_last_file(path: str) -> None:
    """Remember the machine file in use."""
    _keep(last_file=path)


def units() -> Units:
    """Return the units this user chose, or metric ones."""
    kept = _read()
    try:
        return Units(kept.get("speed_unit", "m/s"), kept.get("length_unit", "m"))
    except (ValueError, TypeError):
        return Units()


def keep_units(chosen: Units) -> None:
    """Remember the units."""
    _keep(speed_unit=chosen.speed, length_unit=chosen.length)
