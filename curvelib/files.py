"""Reading and writing machine files.

A file the user owns is never lost or half-written: a save goes through a
temporary file in one step, keeps the builder's comments, keeps one dated
backup, and refuses where the file on disk is not the one that was read.
"""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from curvelib.atomic import write_text
from curvelib.faults import ChangedOnDisk, Fault, TuneError, one_fault
from curvelib.tune import Origin, Tune

__all__ = ["ChangedOnDisk", "Fault", "TuneError", "load_tune", "parse_tune", "save_tune"]

LARGEST_FILE = 1_000_000
BACKUP_MARK = ".backup-"

# What this process itself last wrote to each path: a later save of an older
# copy of the same tune may replace that, but nobody else's change.
_written: dict[str, str] = {}


def load_tune(path: str | os.PathLike[str]) -> Tune:
    """Read a machine file.

    Parameters
    ----------
    path : path-like
        A TOML file in UTF-8 with ``format = 1``.

    Returns
    -------
    Tune
        It remembers path and text, so that a save can tell what changed.

    Raises
    ------
    TuneError
        If the file cannot be read, is no text, no TOML, or holds faults; all
        faults are listed, each with key, value and what would be right.
    """
    text = _read(Path(path))
    tune = parse_tune(text, str(path))
    return replace(tune, origin=Origin(os.path.realpath(path), text))


def parse_tune(text: str, path: str = "") -> Tune:
    """Read a machine file's text; `path` is for messages only."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    from curvelib.filemodel import read_plain

    try:
        plain: dict[str, Any] = tomlkit.parse(text).unwrap()
    except (TOMLKitError, ValueError, RecursionError) as err:
        # The line and column are in the parser's own words.
        raise one_fault(f"this is not a TOML file: {err}", path) from None
    tune, faults = read_plain(plain)
    if tune is None:
        raise TuneError(tuple(faults), path)
    return tune


def save_tune(tune: Tune, path: str | os.PathLike[str], overwrite: bool = False) -> Tune:
    """Write a machine file, changing only what changed.

    Parameters
    ----------
    tune : Tune
        What to write.
    path : path-like
        Where.  A file that is there is updated: comments, order and layout
        stay, and its text so far is kept once beside it, with the date.
    overwrite : bool
        Replace a file even if it changed on disk since it was read, or is not
        the one that was read.

    Returns
    -------
    Tune
        The same tune, now remembering this file.

    Raises
    ------
    ChangedOnDisk
        If the file is not as it was when read and `overwrite` is not given.
    TuneError
        If the file cannot be written; the old one is then as it was.
    """
    target = Path(path)
    real = os.path.realpath(path)
    there = _read(target) if target.exists() else None
    if there is not None and not overwrite:
        _refuse_if_changed(tune, real, there, str(path))
    text = _checked_text(tune, there)
    if text != there:
        _replace(target, text, there)
    _written[real] = text
    return replace(tune, origin=Origin(real, text))


def _checked_text(tune: Tune, there: str | None) -> str:
    """Text for the file, read back before it is trusted.

    Should an unusual layout come out of the update wrong, the tune is written
    anew: the comments are then in the backup alone, but no number is lost.
    """
    from curvelib.filetext import updated_text

    text = updated_text(_base_text(tune, there), tune)
    try:
        right = parse_tune(text) == tune
    except TuneError:
        right = False
    return text if right else updated_text(None, tune)


def _base_text(tune: Tune, there: str | None) -> str | None:
    """Text to update: the file that is there if it can be read, else the one the tune came from."""
    came_from = tune.origin.text if tune.origin else None
    if there is None:
        return came_from
    try:
        parse_tune(there)
    except TuneError:
        return came_from
    return there


def _refuse_if_changed(tune: Tune, real: str, there: str, path: str) -> None:
    origin = tune.origin
    read_here = origin is not None and origin.path == real
    if there == _written.get(real) or (read_here and origin is not None and there == origin.text):
        return
    if read_here:
        what = "the file changed on disk since it was read; read it again, or choose to overwrite."
    else:
        what = "another file is there already; choose another name, or choose to overwrite."
    raise ChangedOnDisk((Fault("", "", what),), path)


def _replace(target: Path, text: str, there: str | None) -> None:
    try:
        if there is not None:
            _back_up(target, there)
        write_text(target, text)
    except OSError as err:
        raise one_fault(
            f"the file cannot be written: {err.strerror or err}.", str(target)
        ) from None


def _back_up(target: Path, there: str) -> None:
    """Keep the text so far under a dated name, and only then drop older backups."""
    stamp = datetime.now().strftime("%Y-%m-%d-%H%M%S")
    backup = target.with_name(f"{target.stem}{BACKUP_MARK}{stamp}{target.suffix}")
    write_text(backup, there)
    for old in target.parent.glob(f"{_glob_safe(target.stem)}{BACKUP_MARK}*{target.suffix}"):
        digits = old.name[len(target.stem) + len(BACKUP_MARK) : -len(target.suffix) or None]
        ours = len(digits) == 17 and digits.replace("-", "").isdigit()
        if ours and old.name != backup.name:
            old.unlink(missing_ok=True)


def _glob_safe(text: str) -> str:
    import glob

    return glob.escape(text)


def _read(path: Path) -> str:
    """Read a text file, or say in words why not."""
    try:
        if not path.is_file():
            what = "this is not a file." if path.exists() else "there is no such file."
            raise one_fault(what, str(path))
        if path.stat().st_size > LARGEST_FILE:
            raise one_fault("this is too large to be a machine file.", str(path))
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as err:
        what = f"this is not a text file in UTF-8 (byte {err.start} is not text)."
        raise one_fault(what, str(path)) from None
    except OSError as err:
        raise one_fault(f"the file cannot be read: {err.strerror or err}.", str(path)) from None
