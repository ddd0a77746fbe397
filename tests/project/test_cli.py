"""The command line: results on standard output, messages on standard error, exit codes 0, 1, 2."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path

import pytest

from curvelib import Table, load_tune
from curvelib.__main__ import main

ROOT = Path(__file__).resolve().parents[2]
DEMOS = sorted((ROOT / "workbooks" / "machines").glob("*.toml"))
SWEEPER = ROOT / "workbooks" / "machines" / "vineyard_sweeper.toml"


def run(*words: str | Path) -> subprocess.CompletedProcess[bytes]:
    """Run the command as a user does, in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "curvelib", *map(str, words)], capture_output=True, check=False
    )


def test_check_says_what_is_in_a_good_file() -> None:
    done = run("check", SWEEPER)
    assert done.returncode == 0
    assert done.stderr == b""
    assert b"Vineyard sweeper" in done.stdout
    assert b"cubic blend (blend 0.6)" in done.stdout


def test_check_says_what_stands_out(
    tmp_path: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    path = tmp_path / "a.toml"
    path.write_text(
        'format = 1\n[stick]\ncentre = "learned"\n[throttle]\n'
        'shape = [{ kind = "limit", top = 0.2 }, { kind = "deadband", width = 0.3 }]\n[steer]\n'
        "[slew]\nto_stop_s = 0\n[signal_loss]\ntimeout_s = 0\ncentred_first_s = 0\n",
        encoding="utf-8",
    )
    assert main(["check", str(path)]) == 0
    said = capsysbinary.readouterr().out.decode()
    for words in ("learned at power-up", "never moves", "no ramp", "timeout is 0 s", "top speed"):
        assert words in said


@pytest.mark.parametrize("demo", DEMOS, ids=lambda path: path.stem)
@pytest.mark.parametrize("channel", ["throttle", "steer"])
def test_the_csv_table_is_the_librarys(
    demo: Path, channel: str, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    assert main(["table", str(demo), "--channel", channel, "--points", "17"]) == 0
    text = capsysbinary.readouterr().out.decode()
    assert "\r" not in text
    rows = list(csv.reader(line for line in text.splitlines() if not line.startswith("#")))
    assert rows[0] == ["position", "command"]
    table = Table.from_shape(
        load_tune(demo).shape("steer" if channel == "steer" else "throttle"), 17
    )
    assert [[float(cell) for cell in row] for row in rows[1:]] == [
        [x, y] for x, y in zip(table.x.tolist(), table.y.tolist(), strict=True)
    ]


def test_the_json_table_is_the_librarys(capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["table", str(SWEEPER), "--format", "json"]) == 0
    read = json.loads(capsysbinary.readouterr().out)
    table = Table.from_shape(load_tune(SWEEPER).throttle.shape, 33)
    assert read["position"] == table.x.tolist()
    assert read["command"] == table.y.tolist()
    assert read["max_error"] == table.max_error


def test_to_writes_the_same_bytes_into_a_file(tmp_path: Path) -> None:
    path = tmp_path / "table.c"
    printed = run("table", SWEEPER, "--format", "c")
    written = run("table", SWEEPER, "--format", "c", "--to", path)
    assert written.returncode == 0
    assert written.stdout == b""
    assert path.read_bytes() == printed.stdout
    assert b"int16_t curvelib_throttle(int16_t position)" in printed.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["check", "none.toml"], "there is no such file"),
        (["table", str(SWEEPER), "--points", "32"], "points = 32; give an odd whole number"),
        (["table", str(SWEEPER), "--points", "1"], "points = 1; give an odd whole number"),
        (["table", str(SWEEPER), "--to", "/no/such/folder/x"], "cannot be written"),
    ],
)
def test_a_fault_gives_one_message_no_traceback_and_exit_1(words: list[str], said: str) -> None:
    done = run(*words)
    assert done.returncode == 1
    assert done.stdout == b""
    assert said in done.stderr.decode()
    assert b"Traceback" not in done.stderr


def test_a_broken_file_gives_every_fault_and_stays_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_bytes(b"format = 1\n[stick]\nlow_us = true\n[throttle]\nshap = 1\n[steer]\n")
    before = path.read_bytes()
    done = run("check", path)
    assert done.returncode == 1
    assert b"stick.low_us = true" in done.stderr
    assert b"did you mean 'shape'" in done.stderr
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "words",
    [[], ["mow"], ["table"], ["table", "x", "--points", "many"], ["table", "x", "--format", "pdf"]],
)
def test_wrong_use_gives_exit_2(words: list[str]) -> None:
    done = run(*words)
    assert done.returncode == 2
    assert b"usage:" in done.stderr
    assert b"Traceback" not in done.stderr


def test_a_reader_that_has_seen_enough_is_no_fault() -> None:
    """Piping into something that stops reading prints no traceback."""
    command = f"{sys.executable} -m curvelib table {SWEEPER} --points 1025 | head -c 10"
    done = subprocess.run(command, shell=True, capture_output=True, check=False)  # noqa: S602  our own words
    assert b"Traceback" not in done.stderr
    assert b"Exception" not in done.stderr
