"""Fitting costs in proportion to the points: four times as many, not sixteen times the time."""

from __future__ import annotations

from bench_fitted import SHAPES, measure


def test_the_cost_grows_about_with_the_points() -> None:
    found = measure()
    assert set(found) == set(SHAPES)
    for name, (many, few) in found.items():
        assert 0.0 < many < 10.0 * few, name
