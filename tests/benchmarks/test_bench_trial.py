"""Trials cost the same each, however many, and far less side by side than one by one."""

from bench_trial import BLOCK, measure


def test_cost_is_linear_and_side_by_side_pays() -> None:
    taken = measure(duration_s=2.0)
    assert 3.0 < taken["four blocks"] / taken["block"] < 5.0
    assert BLOCK * taken["one"] / taken["block"] > 100.0
