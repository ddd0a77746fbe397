"""ruff and mypy --strict stay clean; modules and functions stay short."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MODULES = sorted((ROOT / "curvelib").rglob("*.py"))
LONGEST_MODULE, LONGEST_FUNCTION = 350, 35


@pytest.mark.parametrize(
    "words",
    [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy", "--strict", "curvelib"],
    ],
    ids=["ruff check", "ruff format", "mypy"],
)
def test_tools_are_content(words: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_modules_and_functions_stay_short(path: Path) -> None:
    """Code lines count: no docstrings, comments or blank lines in a function's length."""
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= LONGEST_MODULE
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            assert code_lines(node, text) <= LONGEST_FUNCTION, node.name


def code_lines(node: ast.FunctionDef | ast.AsyncFunctionDef, text: str) -> int:
    """Lines of a function's body that hold code."""
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    if not body:
        return 0
    lines = text.splitlines()[body[0].lineno - 1 : node.end_lineno]
    return sum(1 for line in lines if line.strip() and not line.strip().startswith("#"))
