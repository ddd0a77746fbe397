"""The JSON table, read back to the same table."""

import json

import numpy as np
import pytest
from export.samples import NASTY, SHAPES, TRICKS, asked

from curvelib.export.json_table import render


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("spacing", ["even", "fitted"])
def test_it_reads_back_to_the_same_table(shape, spacing):
    """To the last bit, with what it states."""
    table = asked(shape, 33, spacing).table
    read = json.loads(render(asked(shape, 33, spacing)))
    np.testing.assert_array_equal(read["position"], table.x)
    np.testing.assert_array_equal(read["command"], table.y)
    assert read["max_error"] == table.max_error
    assert read["dead_zone"] == table.dead_zone
    assert (read["points"], read["spacing"]) == (33, spacing)
    assert read["channel"] == "throttle"


@pytest.mark.parametrize("name", [*TRICKS, "all at once"])
def test_a_name_is_read_back_as_it_is_and_changes_nothing_else(name):
    tricky = NASTY if name == "all at once" else TRICKS[name]
    read = json.loads(render(asked("cube", 9, name=tricky)).encode("utf-8"))
    assert read.pop("machine") == tricky
    plain = json.loads(render(asked("cube", 9)))
    assert plain.pop("machine") == "Invented cart"
    assert read == plain


def test_it_says_what_acts_twice_and_how_it_leaks():
    notes = " ".join(json.loads(render(asked("dead zone")))["notes"])
    assert "Switch off the transmitter's own curve" in notes
    assert "leaks" in notes
