"""The Python table, run: plain integers, no imports."""

import ast
import subprocess
import sys

import numpy as np
import pytest
from export.samples import COARSE, LOPSIDED, NASTY, PERCENT, PULSE, SHAPES, SIGNED, TRICKS, asked

from curvelib.export.fixed import FULL_IN, evaluate, fixed_table
from curvelib.export.python_table import render

INPUTS = np.arange(-FULL_IN - 3, FULL_IN + 4)
BUILT_IN = {"range", "abs"}


def run(text):
    """Names of a module, from its bytes as they would lie in a file."""
    names = {"__builtins__": {}}
    exec(compile(text.encode("utf-8"), "table", "exec"), names)  # noqa: S102  our own export
    return names


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(
    ("points", "spacing", "output"),
    [
        (33, "even", PULSE),
        (25, "even", SIGNED),
        (9, "fitted", LOPSIDED),
        (17, "fitted", PERCENT),
        (3, "even", COARSE),
    ],
)
def test_it_gives_what_the_librarys_integer_table_gives(shape, points, spacing, output):
    """Over every input, with no built-in function at hand."""
    request = asked(shape, points, spacing, output)
    function = run(render(request))["curvelib_throttle"]
    wanted = evaluate(fixed_table(request.table, output), INPUTS)
    assert [function(x) for x in INPUTS.tolist()] == wanted.tolist()


def test_it_saturates_however_far_outside():
    function = run(render(asked("cube")))["curvelib_throttle"]
    assert (function(-(10**12)), function(10**12)) == (1000, 2000)


def test_both_sticks_fit_one_module():
    """Nothing of one overwrites anything of the other."""
    throttle = render(asked("cube", 17, "fitted", channel="throttle"))
    steer = render(asked("expo", 17, "fitted", LOPSIDED, channel="steer"))
    alone, both = run(throttle), run(throttle + steer)
    assert "curvelib_steer" in both
    for x in range(-FULL_IN, FULL_IN + 1, 97):
        assert both["curvelib_throttle"](x) == alone["curvelib_throttle"](x)


@pytest.mark.parametrize("spacing", ["even", "fitted"])
def test_it_uses_only_what_small_interpreters_have(spacing):
    """No import, class, annotation, formatted text, float or division."""
    tree = ast.parse(render(asked("dead zone", 33, spacing, LOPSIDED)))
    refused = (ast.Import, ast.ImportFrom, ast.ClassDef, ast.AnnAssign, ast.JoinedStr, ast.Call)
    for node in ast.walk(tree):
        assert not isinstance(node, (*refused, ast.Div, ast.FloorDiv, ast.Mod))
        assert not isinstance(getattr(node, "value", None), float)
        assert getattr(node, "annotation", None) is None


@pytest.mark.parametrize("name", [*TRICKS, "all at once"])
def test_a_name_changes_nothing_but_the_comment(name):
    tricky = NASTY if name == "all at once" else TRICKS[name]
    plain = ast.dump(ast.parse(render(asked("cube", 9))))
    text = render(asked("cube", 9, name=tricky))
    assert ast.dump(ast.parse(text.encode("utf-8"))) == plain


def test_the_first_two_lines_are_ours():
    """There a machine's name could declare another encoding."""
    for line in render(asked("cube", 9, name="coding: utf-16")).splitlines()[:2]:
        assert line.startswith("# ")
        assert "coding" not in line


def test_the_file_runs_on_its_own(tmp_path):
    """A fresh interpreter without this library imports it from its folder."""
    path = tmp_path / "stick_table.py"
    path.write_bytes(render(asked("dead zone", 33, "fitted", name=NASTY)).encode("utf-8"))
    words = "import stick_table; print(stick_table.curvelib_throttle(16384))"
    done = subprocess.run(
        [sys.executable, "-S", "-c", words],
        cwd=tmp_path,
        env={},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.stdout, done.stderr) == ("2000\n", "")
