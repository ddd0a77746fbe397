"""Every panel keeps the drag speed of the first: lines moved, never a new figure."""

import pytest
from bench_panels import CASES, Case, measure


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_moved_picture_is_many_times_quicker_than_a_new_figure(case: Case) -> None:
    """And the whole update costs less than half of what the new figure alone would."""
    cost = measure(case, times=7)
    assert cost.ratio >= case.at_least
    assert cost.update < cost.anew / 2.0
