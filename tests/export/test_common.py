"""What all exports share: notes, and text that cannot get out of a comment."""

from dataclasses import replace

import pytest
from export.samples import LOPSIDED, NASTY, PERCENT, SIGNED, TRICKS, asked
from hypothesis import given
from hypothesis import strategies as st

from curvelib.export.common import c_comment, one_line, st_comment, wrapped
from curvelib.export.fixed_text import unit_words
from curvelib.export.formats import FORMATS
from curvelib.tune import Machine

words = st.text(max_size=40) | st.text("*/(?)'\"\\$ \n", max_size=40)


@given(words)
def test_one_line_is_one_printable_line_and_loses_nothing(text):
    """Escapes are those of Python, so the text can be had back."""
    told = one_line(text)
    assert told.isprintable() or not told
    kept = "".join(c if ord(c) < 128 else f"\\U{ord(c):08x}" for c in told)
    assert kept.encode("ascii").decode("unicode_escape") == text


@given(words)
def test_a_c_comment_is_not_ended_spliced_or_spelled_otherwise(text):
    told = c_comment(text)
    assert not [mark for mark in ("*/", "/*", "\\", "??", "\n") if mark in told]


@given(words)
def test_a_structured_text_comment_is_neither_ended_nor_begun(text):
    told = st_comment(text)
    assert not [mark for mark in ("*)", "(*", "*/", "/*", "\n") if mark in told]


@given(words, st.integers(20, 90))
def test_wrapped_lines_fit_and_are_never_none(text, width):
    lines = wrapped(one_line(text), width)
    assert lines
    assert all(len(line) <= width for line in lines)


@pytest.mark.parametrize("format_", FORMATS)
@pytest.mark.parametrize("spacing", ["even", "fitted"])
def test_every_format_has_plain_newlines_and_no_stray_characters(format_, spacing):
    """Ends with one newline; no tab, no trailing space, nothing that does not print."""
    text = FORMATS[format_](asked("dead zone", 33, spacing, LOPSIDED, name=NASTY))
    assert text.endswith("\n")
    assert not text.endswith("\n\n")
    assert "\r" not in text
    text.encode("utf-8")
    for line in text.split("\n"):
        assert line == line.rstrip()
        # JSON keeps a name's own characters: it is data there, not a comment.
        assert line.isprintable() or not line or format_ == "json"


@pytest.mark.parametrize("format_", ["c", "st", "python"])
def test_code_says_that_it_tests_for_the_dead_zone(format_):
    """And lists of points say that a plain lookup leaks."""
    code = " ".join(FORMATS[format_](asked("dead zone")).replace("#", "").replace("*", "").split())
    assert "is tested for before the lookup" in code
    assert "leaks" not in code
    assert "leaks" in FORMATS["csv"](asked("dead zone"))


def test_notes_tell_the_error_in_mm_s_where_a_top_speed_is_known():
    """Even points of the cube, 33: 0.00286 of full, 5.7 mm/s at 2 m/s."""
    plain = asked("cube")
    assert any("no machine facts are in it" in note for note in plain.notes)
    quick = replace(plain, tune=replace(plain.tune, machine=Machine(top_speed_m_s=2.0)))
    wanted = f"({2000 * plain.table.max_error:.3g} mm/s at the wheel)"
    assert any(wanted in note for note in quick.notes)


@pytest.mark.parametrize(
    ("output", "said"),
    [(LOPSIDED, "microseconds, 1500"), (SIGNED, "32767 for full"), (PERCENT, "hundredths")],
)
def test_units_are_said_in_words(output, said):
    assert said in unit_words(output)


def test_the_tricks_are_tricky():
    """Each would do harm if it were put down as it is."""
    assert len(TRICKS) == len(set(TRICKS.values()))
    assert {"*/", "(*", "*)", "??/", "\u202e", "\\", "\n"} <= {
        mark for mark in ("*/", "(*", "*)", "??/", "\u202e", "\\", "\n") if mark in NASTY
    }
