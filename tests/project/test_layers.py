"""Arrows point down only; import-linter reads the contracts in pyproject.toml."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_imports_point_down_only() -> None:
    tool = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run(
        [str(tool), "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
