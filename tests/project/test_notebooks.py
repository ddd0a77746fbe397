"""Workbooks stay workbooks: short, without logic, without stored outputs, with their first line."""

from __future__ import annotations

import ast
import json
from pathlib import Path
from typing import Any

import pytest

WORKBOOKS = Path(__file__).resolve().parents[2] / "workbooks"
NOTEBOOKS = sorted(WORKBOOKS.glob("*.ipynb"))
MOST_CELLS, MOST_LINES = 15, 10
CAUTIONS = ("blade", "wheels off the ground", "independent stop", "bystanders")


def read(path: Path) -> dict[str, Any]:
    content: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return content


def cells(path: Path, kind: str) -> list[dict[str, Any]]:
    return [cell for cell in read(path)["cells"] if cell["cell_type"] == kind]


def source(cell: dict[str, Any]) -> str:
    return "".join(cell["source"])


each = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)


def test_there_are_workbooks() -> None:
    assert len(NOTEBOOKS) >= 2


@each
def test_the_first_line_says_what_to_press(path: Path) -> None:
    assert source(read(path)["cells"][0]).startswith("**Press Run > Run All Cells**")


@each
def test_cells_are_few_and_short(path: Path) -> None:
    assert len(read(path)["cells"]) <= MOST_CELLS
    for cell in cells(path, "code"):
        assert len(source(cell).splitlines()) <= MOST_LINES


@each
def test_no_output_is_stored(path: Path) -> None:
    for cell in cells(path, "code"):
        assert cell["outputs"] == []
        assert cell["execution_count"] is None
    assert "widgets" not in read(path)["metadata"]


@each
def test_code_is_collapsed_and_begins_with_words(path: Path) -> None:
    for cell in cells(path, "code"):
        assert cell["metadata"]["jupyter"]["source_hidden"] is True
        assert source(cell).startswith("# ")


@each
def test_no_cell_holds_logic(path: Path) -> None:
    """Imports and calls alone: no definitions, loops, branches or arithmetic."""
    allowed = (ast.Import, ast.ImportFrom, ast.Expr, ast.Assign)
    banned = (ast.Lambda, ast.BinOp, ast.ListComp, ast.IfExp, ast.DictComp, ast.GeneratorExp)
    for cell in cells(path, "code"):
        tree = ast.parse(source(cell))
        assert all(isinstance(node, allowed) for node in tree.body)
        assert not any(isinstance(node, banned) for node in ast.walk(tree))


@each
def test_links_lead_somewhere(path: Path) -> None:
    import re

    for cell in cells(path, "markdown"):
        for target in re.findall(r"\]\(([^)#]+?)\)", source(cell)):
            assert (WORKBOOKS / target).exists(), target


def test_the_start_workbook_maps_every_other_one() -> None:
    start = "\n".join(source(cell) for cell in read(NOTEBOOKS[0])["cells"])
    for path in NOTEBOOKS[1:]:
        assert f"({path.name})" in start, path.name


def test_the_start_workbook_says_the_cautions() -> None:
    start = "\n".join(source(cell) for cell in read(NOTEBOOKS[0])["cells"]).lower()
    for words in (*CAUTIONS, "switch the transmitter off", "local codes", "act twice"):
        assert words in start
