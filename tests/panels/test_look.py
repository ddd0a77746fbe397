"""The house look stays readable without colour and in poor light."""

from itertools import combinations

import pytest
from matplotlib.figure import Figure

from curvelib.panels import look


def contrast(colour, ground=look.GROUND):
    """Return the contrast ratio of two hexadecimal colours (WCAG 2.2, 1.4.3)."""
    lights = sorted((_luminance(colour), _luminance(ground)), reverse=True)
    return (lights[0] + 0.05) / (lights[1] + 0.05)


def _luminance(colour):
    shares = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
    linear = [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_contrast_is_that_of_the_standard():
    assert contrast("#000000") == pytest.approx(21.0)
    assert contrast("#777777") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("colour", [look.INK, look.QUIET])
def test_words_stand_out_from_the_ground(colour):
    assert contrast(colour) >= 4.5


@pytest.mark.parametrize("line", look.SERIES, ids=lambda line: line.colour)
def test_lines_stand_out_from_the_ground(line):
    assert contrast(line.colour) >= 3.0


def test_no_two_series_share_a_colour_or_a_line_style():
    for one, other in combinations(look.SERIES, 2):
        assert one.colour != other.colour
        assert one.style != other.style


def test_styled_axes_carry_their_labels_and_plain_spines():
    axes = look.style_axes(Figure().add_subplot(), "time (s)", "speed (m/s)", "Braking")
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("time (s)", "speed (m/s)")
    assert axes.get_title(loc="left") == "Braking"
    shown = {name for name, spine in axes.spines.items() if spine.get_visible()}
    assert shown == {"left", "bottom"}


def test_line_keywords_are_those_of_plot():
    (line,) = Figure().add_subplot().plot([0, 1], **look.SERIES[1].keywords())
    assert (line.get_color(), line.get_linestyle()) == (look.PALETTE["vermilion"], "--")
