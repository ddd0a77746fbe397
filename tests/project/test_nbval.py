"""Every workbook runs from its first cell to its last, by nbval."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

WORKBOOKS = Path(__file__).resolve().parents[2] / "workbooks"


def run_nbval(folder: Path, home: Path) -> subprocess.CompletedProcess[str]:
    """Run nbval on a copy, with settings of its own, and return what it said."""
    words = ["--nbval-lax", "--nbval-current-env", "-p", "no:cacheprovider", "-c", os.devnull]
    return subprocess.run(
        [sys.executable, "-m", "pytest", *words, "--rootdir", str(folder), str(folder)],
        env=os.environ | {"XDG_CONFIG_HOME": str(home), "PYDEVD_DISABLE_FILE_VALIDATION": "1"},
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


def test_every_workbook_runs(tmp_path: Path) -> None:
    folder = tmp_path / "workbooks"
    shutil.copytree(WORKBOOKS, folder)
    done = run_nbval(folder, tmp_path / "home")
    assert done.returncode == 0, done.stdout + done.stderr
    cells = sum(
        path.read_text("utf-8").count('"cell_type": "code"') for path in folder.glob("*.ipynb")
    )
    assert f"{cells} passed" in done.stdout


def test_a_failing_cell_would_be_noticed(tmp_path: Path) -> None:
    folder = tmp_path / "workbooks"
    folder.mkdir()
    text = (WORKBOOKS / "01_shape_the_stick.ipynb").read_text("utf-8")
    (folder / "broken.ipynb").write_text(text.replace("ShapePanel()", "ShapePanel(3)"), "utf-8")
    assert run_nbval(folder, tmp_path / "home").returncode == 1
