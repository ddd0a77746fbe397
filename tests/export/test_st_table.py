"""The structured text table, read by a general-purpose parser and run."""

import re

import numpy as np
import pytest
from export import st_machine
from export.samples import COARSE, LOPSIDED, NASTY, PERCENT, PULSE, SIGNED, TRICKS, asked

from curvelib.export.common import st_comment
from curvelib.export.fixed import FULL_IN, evaluate, fixed_table
from curvelib.export.st_table import render

CASES = {
    "even, a shift": ("dead zone", 17, "even", PULSE),
    "even, a search": ("cube", 7, "even", SIGNED),
    "fitted": ("wide dead zone", 17, "fitted", LOPSIDED),
    "fitted, percent": ("points", 9, "fitted", PERCENT),
    "three points": ("linear", 3, "even", COARSE),
}


def inputs(table):
    """Every 23rd input, those about each breakpoint, and the ends of DINT."""
    near = (table.edges[:, None] + np.arange(-1, 2)).ravel()
    sizes = np.unique(np.concatenate([near[near >= 0], np.arange(0, FULL_IN + 2, 23)]))
    return [*(-sizes[::-1]).tolist(), *sizes.tolist(), -(2**31), 2**31 - 1, -32768, 32767]


@pytest.mark.parametrize("case", CASES)
def test_it_gives_what_the_librarys_integer_table_gives(case):
    shape, points, spacing, output = CASES[case]
    request = asked(shape, points, spacing, output, "steer")
    table = fixed_table(request.table, output)
    function = st_machine.Function(render(request))
    assert function.name == "curvelib_steer"
    given = inputs(table)
    wanted = evaluate(table, np.array(given))
    assert [function(x) for x in given] == wanted.tolist()


@pytest.fixture(scope="module")
def plain():
    """What the parser makes of a table of a machine with a plain name."""
    return st_machine.Function(render(asked("linear", 3))).code


def test_a_name_changes_nothing_but_the_comment(plain):
    assert st_machine.Function(render(asked("linear", 3, name=NASTY))).code == plain


@pytest.mark.parametrize("name", TRICKS)
def test_a_comment_holds_no_mark_of_a_comment(name):
    """For parsers that nest comments and for those that do not."""
    told = st_comment(TRICKS[name])
    assert not [mark for mark in ("(*", "*)", "/*", "*/") if mark in told]
    assert told.isprintable() or not told
    text = render(asked("linear", 3, name=TRICKS[name]))
    assert text.count("(*") == text.count("*)") == render(asked("linear", 3)).count("(*")


def test_it_has_only_plain_words_of_the_standard():
    """No division, nothing real, no pragma of any maker."""
    code = re.sub(r"\(\*.*?\*\)", "", render(asked("dead zone", 17, "fitted")), flags=re.DOTALL)
    assert "END_FUNCTION" in code
    for word in ("/", "DIV", "MOD", "REAL", "{", "}", "//"):
        assert word not in code
