"""Panels in tests use a settings folder and machine files of their own."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from demos import WORKBOOKS

from curvelib.panels.desk import Desk


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep settings away from the user's own."""
    folder = tmp_path / "settings"
    monkeypatch.setattr(
        "curvelib.panels.settings.platformdirs.user_config_dir", lambda *_, **__: str(folder)
    )
    return folder


@pytest.fixture
def workfolder(tmp_path: Path) -> Path:
    """A folder as the notebooks see it, with the demo machines."""
    folder = tmp_path / "workbooks"
    folder.mkdir()
    shutil.copytree(WORKBOOKS / "machines", folder / "machines")
    return folder


@pytest.fixture
def desk_of(workfolder: Path) -> Callable[[str], Desk]:
    """Make a desk with one demo machine open."""

    def made(demo: str) -> Desk:
        desk = Desk(workfolder)
        desk.open(workfolder / "machines" / f"{demo}.toml")
        return desk

    return made
