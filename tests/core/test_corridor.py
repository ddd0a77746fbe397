"""The shortest chain of straight pieces inside a corridor."""

from itertools import pairwise

import numpy as np
import pytest
from core.optimum import equal_errors

from curvelib.corridor import Corridor


def corridor(curve, slope, error, samples=200):
    """Corridor around a curve over 0..1."""
    x = np.linspace(0.0, 1.0, samples + 1)
    return Corridor(x.tolist(), curve(x).tolist(), (slope(x) + 0.0 * x).tolist(), error)


def ends(lines):
    """Breakpoints of a chain, both ends included."""
    return [(0.0, 0.0), *(a.meets(b) for a, b in pairwise(lines)), (1.0, 1.0)]


def parabola(error, most=50):
    """Chain along x^2."""
    return corridor(lambda x: x * x, lambda x: 2.0 * x, error).chain(most)


def test_a_straight_curve_takes_one_line():
    (line,) = corridor(lambda x: x, lambda x: 1.0, 1e-12).chain(1)
    assert line.at(0.0) == pytest.approx(0.0, abs=1e-12)
    assert line.at(1.0) == 1.0


@pytest.mark.parametrize("pieces", [1, 2, 3, 7, 20])
def test_the_chain_is_as_short_as_equal_errors_allow(pieces):
    """A hair above the least error of so many pieces they are enough, a hair below they are not."""
    least = equal_errors(lambda x: x * x, lambda x: 2.0 * x, pieces)
    assert len(parabola(least * 1.0001)) == pieces
    assert len(parabola(least * 0.9999)) == pieces + 1


def test_too_few_lines_give_none():
    assert parabola(0.001, most=3) is None
    assert parabola(0.001, most=0) is None


@pytest.mark.parametrize("bend", [0.5, 2.0, 3.0])
@pytest.mark.parametrize("error", [0.05, 0.003, 0.0002])
def test_the_chain_keeps_inside_never_falls_and_goes_forward(bend, error):
    """Root, parabola and cube: up to what lies between the samples."""
    if bend < 1.0:
        lines = corridor(lambda x: 1.0 - (1.0 - x) ** 2, lambda x: 2.0 * (1.0 - x), error).chain(90)
        curve = lambda x: 1.0 - (1.0 - x) ** 2  # noqa: E731
    else:
        lines = corridor(lambda x: x**bend, lambda x: bend * x ** (bend - 1), error).chain(90)
        curve = lambda x: x**bend  # noqa: E731
    x, y = np.array(ends(lines)).T
    assert (np.diff(x) > 0.0).all()
    assert (np.diff(y) >= 0.0).all()
    dense = np.linspace(0.0, 1.0, 20001)
    assert np.abs(np.interp(dense, x, y) - curve(dense)).max() <= error * 1.001


def test_a_wave_takes_lines_that_leave_on_either_side():
    """Steep, flat, steep: the first lines leave above, the last below."""
    lines = corridor(
        lambda x: x - np.sin(4 * np.pi * x) / (4 * np.pi) * 0.99,
        lambda x: 1.0 - 0.99 * np.cos(4 * np.pi * x),
        0.01,
    ).chain(20)
    x, y = np.array(ends(lines)).T
    dense = np.linspace(0.0, 1.0, 20001)
    curve = dense - np.sin(4 * np.pi * dense) / (4 * np.pi) * 0.99
    assert np.abs(np.interp(dense, x, y) - curve).max() <= 0.01 * 1.001
    turns = np.sign(np.diff(np.diff(y) / np.diff(x)))
    assert set(turns) == {-1.0, 1.0}
