"""The C table over all 65,536 inputs, against exact fractions; by gcc and clang, sanitized."""

import re
from fractions import Fraction

import numpy as np
import pytest
from export.building import COMPILERS, by_all_compilers, instructions, output_of, without_comments
from export.exact import exact_value, typed
from export.samples import COARSE, LOPSIDED, NASTY, PERCENT, PULSE, SHAPES, SIGNED, TRICKS, asked

from curvelib.export.c_table import render
from curvelib.export.fixed import FULL_IN, evaluate, fixed_table

INPUTS = np.arange(-32768, 32768)

# Two tables a program, throttle and steer, since every program costs a compiler's time.
PAIRS = {
    "pulse": (("cube", 33, "even", PULSE), ("dead zone", 33, "fitted", PULSE)),
    "lopsided pulse": (("dead zone", 25, "even", LOPSIDED), ("two zone", 17, "fitted", LOPSIDED)),
    "signed": (("wide dead zone", 33, "even", SIGNED), ("points", 129, "fitted", SIGNED)),
    "percent": (("dead zone", 17, "even", PERCENT), ("expo", 9, "fitted", PERCENT)),
    "coarse": (("linear", 3, "even", COARSE), ("wide dead zone", 5, "fitted", COARSE)),
    "many and few": (("cube", 1025, "even", SIGNED), ("never", 9, "fitted", SIGNED)),
}
MAIN = """
#include <stdio.h>
#include "throttle.c"
#include "steer.c"

int main(void)
{
    int32_t x;

    for (x = -32768; x <= 32767; x++) {
        const int16_t both[2] = {curvelib_throttle((int16_t)x), curvelib_steer((int16_t)x)};

        if (fwrite(both, sizeof both, 1, stdout) != 1) {
            return 1;
        }
    }
    return 0;
}
"""


def requests(pair):
    """Requests of both tables of a pair."""
    return [
        asked(shape, points, spacing, output, channel)
        for channel, (shape, points, spacing, output) in zip(
            ("throttle", "steer"), PAIRS[pair], strict=True
        )
    ]


@pytest.fixture(scope="module", params=PAIRS)
def tables(request, tmp_path_factory):
    """Requests of a pair, and what every compiler's program gives for all inputs."""
    throttle, steer = both = requests(request.param)
    files = {"throttle.c": render(throttle), "steer.c": render(steer), "main.c": MAIN}
    programs = by_all_compilers(tmp_path_factory.mktemp("table"), files)
    given = [np.frombuffer(output_of(program), np.int16).reshape(-1, 2) for program in programs]
    return list(zip(both, given[0].T.astype(int), strict=True)), given


def test_all_compilers_agree(tables):
    _, given = tables
    assert len(given) == len(COMPILERS)
    for other in given[1:]:
        np.testing.assert_array_equal(given[0], other)


def test_it_is_within_one_unit_and_the_stated_error_of_exact_fractions(tables):
    """Every input from full back to full forward; outside it saturates."""
    for request, units in tables[0]:
        shape, output = request.table.shape, request.tune.output
        sizes = range(0, FULL_IN + 1)
        value = [exact_value(shape, Fraction(size, FULL_IN)) for size in sizes]
        zero, (below, above) = output.zero, output.spans
        middle = 32768
        for sign, span in ((1, above), (-1, below)):
            found = units[middle + sign * np.arange(FULL_IN + 1)]
            allowed = 1 + Fraction(request.table.max_error) * span
            worst = max(
                abs(int(units_) - (zero + sign * v * span))
                for units_, v in zip(found, value, strict=True)
            )
            assert worst <= allowed
            assert (units[middle + sign * np.arange(FULL_IN, 32768)] == found[-1]).all()
        assert units[0] == units[middle - FULL_IN]


def test_it_never_falls(tables):
    for _, units in tables[0]:
        assert (np.diff(units) >= 0).all()


def test_it_is_exactly_zero_in_the_dead_zone_and_at_zero(tables):
    """The edge is taken as the decimal in the file, apart from the library."""
    for request, units in tables[0]:
        first = request.table.shape.stages[0] if request.table.shape.stages else None
        width = typed(getattr(first, "width", 0.0))
        dead = int(width * FULL_IN)
        zero = request.tune.output.zero
        assert (units[32768 - dead : 32768 + dead + 1] == zero).all()
        if request.table.shape.starts_at >= 1.0:
            assert (units == zero).all()


def test_full_stick_is_full(tables):
    """The shape's value at full stick, to the nearest unit."""
    for request, units in tables[0]:
        top = request.table.shape(1.0)
        code = request.tune.output
        assert (units[0], units[-1]) == (code.units(-top), code.units(top))


def test_it_is_the_integer_table_of_the_library(tables):
    for request, units in tables[0]:
        fixed = fixed_table(request.table, request.tune.output)
        np.testing.assert_array_equal(units, evaluate(fixed, INPUTS))


def test_the_stated_error_in_units_is_that_of_all_inputs(tables):
    """The figure in the header is the largest distance met, rounded to thousandths."""
    for request, units in tables[0]:
        stated = float(re.search(r"it is within ([\d.]+) of the exact", render(request))[1])
        inside = units[32768 - FULL_IN : 32768 + FULL_IN + 1]
        value = request.table.shape(np.arange(-FULL_IN, FULL_IN + 1) / FULL_IN)
        below, above = request.tune.output.spans
        exact = request.tune.output.zero + value * np.where(value < 0.0, below, above)
        assert np.abs(inside - exact).max() == pytest.approx(stated, abs=6e-4)


@pytest.mark.parametrize("compiler", COMPILERS)
@pytest.mark.parametrize("spacing", ["even", "fitted"])
def test_the_object_code_neither_divides_nor_counts_in_floats(tmp_path, compiler, spacing):
    text = render(asked("dead zone", 33, spacing, LOPSIDED))
    found = instructions(tmp_path, text, compiler)
    assert len(found) > 15
    assert not [word for word in found if DIVIDES.fullmatch(word) or FLOATS.fullmatch(word)]


DIVIDES = re.compile(r"i?div[bwlq]?")
FLOATS = re.compile(
    r"v?(add|sub|mul|div|sqrt|min|max|mov)[sp][sd]|v?cvt\w+|v?u?comis[sd]|"
    r"f(ld|st|ild|ist|add|sub|mul|div|com)\w*|call"
)


@pytest.mark.parametrize("name", [*TRICKS, "all at once"])
def test_a_name_changes_nothing_but_the_comment(tmp_path, name):
    """What the compiler is left with is the same as for a plain name; nothing is warned of."""
    tricky = NASTY if name == "all at once" else TRICKS[name]
    plain = without_comments(tmp_path, render(asked("cube", 9)))
    assert without_comments(tmp_path, render(asked("cube", 9, name=tricky))) == plain


def test_the_header_says_what_to_switch_off_and_that_the_dead_zone_is_tested():
    head = " ".join(render(asked("dead zone")).split("*/")[0].replace("\n *", " ").split())
    assert "Switch off the transmitter's own curve, rates, mix and trims" in head
    assert "is tested for before the lookup: the result there is exactly that of 0" in head
    assert "leaks" not in head
    assert "the result is in microseconds, 1500 for 0" in head
    assert "dead zone" not in render(asked("cube")).split("*/")[0]


def test_every_shape_of_the_samples_is_compiled_somewhere():
    assert {shape for pair in PAIRS.values() for shape, *_ in pair} == set(SHAPES)
