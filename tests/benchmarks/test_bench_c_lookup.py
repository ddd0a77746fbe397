"""A lookup stays cheap: counted in instructions, which are the same on every run."""

import shutil

import pytest
from bench_c_lookup import CASES, measure

pytestmark = pytest.mark.skipif(
    shutil.which("valgrind") is None or shutil.which("gcc") is None,
    reason="valgrind counts the instructions of what gcc compiles",
)


def test_even_tables_take_40_instructions_at_most_and_fitted_ones_a_few_a_halving():
    found = measure()
    assert set(found) == set(CASES)
    for points in {points for points, _ in CASES}:
        segments = (points - 1) // 2
        even, fitted = found[points, "even"], found[points, "fitted"]
        assert 5.0 < even[0] <= 40.0
        # A search halves the segments, at about five instructions a time.
        assert even[0] < fitted[0] <= 25.0 + 8.0 * segments.bit_length()
        # 4 bytes a value and a slope; 2 an edge, which even points do without.
        assert even[1] == 8 * segments
        assert fitted[1] == 8 * segments + 2 * (segments + 1)
