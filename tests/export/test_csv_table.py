"""The CSV table, read back to the same table."""

import csv

import pytest
from export.samples import NASTY, SHAPES, TRICKS, asked

from curvelib.export.csv_table import render


def read(text):
    """Comment lines, header and rows, as any reader of CSV takes them."""
    lines = text.split("\n")
    assert lines.pop() == ""
    comments = [line for line in lines if line.startswith("#")]
    assert lines[: len(comments)] == comments
    header, *rows = csv.reader(lines[len(comments) :])
    return comments, header, [[float(cell) for cell in row] for row in rows]


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("spacing", ["even", "fitted"])
def test_it_reads_back_to_the_same_table(shape, spacing):
    """To the last bit."""
    request = asked(shape, 33, spacing)
    _, header, rows = read(render(request))
    assert header == ["position", "command"]
    x, y = request.table.x.tolist(), request.table.y.tolist()
    assert rows == [list(row) for row in zip(x, y, strict=True)]


@pytest.mark.parametrize("name", [*TRICKS, "all at once"])
def test_a_name_changes_nothing_but_one_comment_line(name):
    tricky = NASTY if name == "all at once" else TRICKS[name]
    comments, header, rows = read(render(asked("cube", 9, name=tricky)))
    assert (header, rows) == read(render(asked("cube", 9)))[1:]
    assert len(comments) == len(read(render(asked("cube", 9)))[0])
    assert all(comment.isprintable() for comment in comments)


def test_a_plain_list_says_how_it_leaks():
    """Nothing tests for the dead zone in front of a list of points."""
    comments, _, _ = read(render(asked("dead zone")))
    assert any("leaks" in comment for comment in comments)
    assert not any("leaks" in line for line in read(render(asked("dead zone", 33, "fitted")))[0])


def test_lines_end_alike_everywhere():
    assert "\r" not in render(asked("cube", name=NASTY))
