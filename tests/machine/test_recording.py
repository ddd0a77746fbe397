"""Recorded stick traces: what is read, and what each fault is told as."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelib import Chain, Deadband, Shape, Tune
from curvelib.machine import recording
from curvelib.machine.recording import RecordingError, read_recording
from curvelib.stick import Stick

SHIPPED = Path(__file__).parents[2] / "workbooks" / "recordings" / "orchard_shunt.csv"
GOOD = "# made up\ntime_s,first,second\n0,0,0\n0.02,0.5,-0.25\n0.05,1,-1\n"


def write(tmp_path, text, name="trace.csv"):
    """A file with exactly these bytes."""
    file = tmp_path / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def test_positions_are_read(tmp_path):
    """Columns, kind and steps, irregular ones too."""
    trace = read_recording(write(tmp_path, GOOD))
    assert (trace.name, trace.kind) == ("trace.csv", "positions")
    np.testing.assert_array_equal(trace.time, [0.0, 0.02, 0.05])
    np.testing.assert_array_equal(trace.first, [0.0, 0.5, 1.0])
    np.testing.assert_array_equal(trace.second, [0.0, -0.25, -1.0])
    np.testing.assert_allclose(trace.since_before, [0.0, 0.02, 0.03])
    np.testing.assert_allclose(trace.held_for, [0.02, 0.03, 0.03])


@pytest.mark.parametrize(
    "text",
    [
        b"\xef\xbb\xbf" + GOOD.encode(),
        GOOD.replace("\n", "\r\n"),
        GOOD.replace("\n", "\r"),
        GOOD.rstrip("\n"),
        GOOD.replace(",", " , ").replace("\n0.02", "\n\n# a remark\n+2.0E-2"),
    ],
    ids=["byte order mark", "windows", "old mac", "no last newline", "spaces and remarks"],
)
def test_the_same_trace_in_other_clothes(tmp_path, text):
    """How lines end, spaces, remarks and a byte order mark make no difference."""
    trace = read_recording(write(tmp_path, text))
    np.testing.assert_array_equal(trace.time, [0.0, 0.02, 0.05])
    np.testing.assert_array_equal(trace.second, [0.0, -0.25, -1.0])


@given(
    st.lists(
        st.tuples(st.floats(1e-3, 2.0), st.floats(-1, 1), st.floats(-1, 1)), min_size=2, max_size=30
    )
)
def test_what_was_written_is_read(tmp_path_factory, rows):
    """Numbers written in full come back to the last digit."""
    steps, first, second = np.array(rows).T
    time = np.cumsum(steps)
    body = "".join(
        f"{t!r},{a!r},{b!r}\n"
        for t, a, b in zip(*map(np.ndarray.tolist, (time, first, second)), strict=True)
    )
    file = write(tmp_path_factory.mktemp("trace"), "time_s,first,second\n" + body)
    trace = read_recording(file)
    for got, wanted in zip(
        (trace.time, trace.first, trace.second), (time, first, second), strict=True
    ):
        np.testing.assert_array_equal(got, wanted)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", r"line 1: there is no header; the first line is time_s,first,second"),
        ("# only a remark\n", r"line 1: there is no header"),
        ("t,first,second\n0,0,0\n", r"line 1: the header is 't,first,second'; it must be time_s"),
        ("time_s,first,second_us\n0,0,0\n", r"line 1: the header is"),
        ("time_s;first;second\n0;0;0\n", r"line 1: .* Separate the columns with commas"),
        ("0,0,0\n1,0,0\n", r"line 1: the header is '0,0,0'"),
        (GOOD + f"0.1,{'x' * 99},0\n", r"line 6: 'x{27}\.\.\.' is not a number"),
        ("t" * 99 + "\n", r"line 1: the header is 't{57}\.\.\.'; it must be"),
        (GOOD + "0.1,0\n", r"line 6: 2 values; give 3"),
        (GOOD + "0,1;0,5;0,0\n", r"line 6: 4 values; .* Write decimals with a point"),
        (GOOD + "0.1,0,0,0\n", r"line 6: 4 values"),
        (GOOD + "0.1,,0\n", r"line 6: '' is not a number; give a stick position from -1 to 1"),
        (GOOD + "0.1,nan,0\n", r"line 6: 'nan' is not a number"),
        (GOOD + "0.1,inf,0\n", r"line 6: 'inf' is not a number"),
        (GOOD + "0.1,1_0,0\n", r"line 6: '1_0' is not a number"),
        (GOOD + "0.1,0x1,0\n", r"line 6: '0x1' is not a number"),
        (GOOD + "0.1,\u0661,0\n", r"line 6: '\u0661' is not a number"),
        (
            GOOD + "0.1,1.01,0\n",
            r"line 6: 1.01 is out of range; give a stick position from -1 to 1",
        ),
        (GOOD + "0.1,1e999,0\n", r"line 6: 1e999 is out of range"),
        (GOOD + "0.1,'0','0'\n", r"line 6: .* is not a number"),
        (GOOD + "0.05,0,0\n", r"line 6: the time 0.05 s is not after 0.05 s"),
        (GOOD + "0.04,0,0\n", r"line 6: the time 0.04 s is not after 0.05 s"),
        (GOOD + "-1,0,0\n", r"line 6: -1 is out of range; give a time from 0 to 86400 s"),
        (GOOD + "99999,0,0\n", r"line 6: 99999 is out of range; give a time"),
        (GOOD + "\n\n# x\n0.1,a,0\n", r"line 9: 'a' is not a number"),
        ("time_s,first,second\n", r"line 1: 0 rows of numbers; give at least 2"),
        ("time_s,first,second\n0,0,0\n", r"line 2: 1 rows of numbers; give at least 2"),
        (GOOD.encode() + b"0.1,0,\xff\n", r"line 6: this is not UTF-8 text; save it again"),
        (GOOD.encode("utf-16"), r"line 1: this is not UTF-8 text"),
        (GOOD.encode("utf-16-le"), r"line 1: this is not text"),
        (
            "time_s,first_us,second_us\n0,1500,-1\n",
            r"line 2: -1 is out of range; give a pulse width",
        ),
    ],
)
def test_every_fault_names_file_line_and_what_would_be_right(tmp_path, text, words):
    """A message for people, and the same kind of error for all."""
    with pytest.raises(RecordingError, match=r"^trace\.csv, " + words):
        read_recording(write(tmp_path, text))


def test_a_file_that_is_not_there_is_said(tmp_path):
    """No traceback from the system, but a path and what would be right."""
    with pytest.raises(
        RecordingError, match=r"nowhere\.csv: cannot be read .*give the path of a CSV"
    ):
        read_recording(tmp_path / "nowhere.csv")
    with pytest.raises(RecordingError, match=r"cannot be read"):
        read_recording(tmp_path)


def test_size_is_bounded(tmp_path, monkeypatch):
    """Too many bytes, too many rows."""
    file = write(tmp_path, GOOD)
    monkeypatch.setattr(recording, "MOST_ROWS", 2)
    with pytest.raises(RecordingError, match=r"line 5: more than 2 rows; give a shorter recording"):
        read_recording(file)
    monkeypatch.setattr(recording, "MOST_ROWS", 3)
    monkeypatch.setattr(recording, "MOST_BYTES", len(GOOD))
    assert len(read_recording(file).time) == 3
    monkeypatch.setattr(recording, "MOST_BYTES", len(GOOD) - 1)
    with pytest.raises(RecordingError, match=r"larger than"):
        read_recording(file)


def test_the_bounds_are_those_told_to_the_reader():
    """What the docstring says is what holds."""
    assert (recording.MOST_BYTES, recording.MOST_ROWS) == (8_000_000, 200_000)
    assert "8 MB and 200 000 rows" in read_recording.__doc__


def test_a_recording_error_is_a_value_error():
    """Callers that catch ValueError catch it."""
    assert issubclass(RecordingError, ValueError)


@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(-1, 1)), min_size=2, max_size=20))
def test_positions_become_the_pulses_that_read_them(rows):
    """Through sticks with unequal spans, one reversed, the positions come back."""
    first, second = np.array(rows).T
    sticks = (Stick(1000, 1480, 2010), Stick(950, 1500, 1990))
    trace = recording.Recording("x", "positions", np.arange(float(len(rows))), first, second)
    pulses = trace.pulses(sticks, (False, True))
    np.testing.assert_allclose(sticks[0].position(pulses[0]), first, atol=1e-12)
    np.testing.assert_allclose(-sticks[1].position(pulses[1]), second, atol=1e-12)


def test_impossible_pulses_are_part_of_a_recording(tmp_path):
    """A pulse of 0 is read as it is; the path has its rule for it."""
    trace = read_recording(write(tmp_path, "time_s,first_us,second_us\n0,1500,1500\n1,0,1500\n"))
    sticks = (Stick(1000, 1500, 2000), Stick(1000, 1500, 2000))
    np.testing.assert_array_equal(trace.pulses(sticks, (True, True))[0], [1500.0, 0.0])


def test_the_shipped_recording_is_invented_says_so_and_runs():
    """The first line says it, steps are irregular, it drives both ways and stands at the end."""
    assert "invented" in SHIPPED.read_text(encoding="utf-8").splitlines()[0].lower()
    trace = read_recording(SHIPPED)
    assert trace.kind == "pulses"
    np.testing.assert_array_equal(trace.held_for[:-1], np.diff(trace.time))
    assert trace.held_for[-1] == trace.held_for[-2]
    assert trace.held_for.max() > 3.0 * trace.held_for.min()
    rested = Shape([Deadband(0.03)])
    chain = Chain.from_tune(Tune().with_shape("throttle", rested).with_shape("steer", rested))
    run = chain.run(*trace.pulses(chain.sticks, chain.reversed), trace.since_before)
    assert run.driving.any()
    assert run.left.max() == 1.0
    assert run.left.min() == -1.0
    assert run.left[-1] == run.right[-1] == 0.0
