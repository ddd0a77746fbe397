"""The exported program against the library's own path, over more than a million random steps."""

import re
import subprocess
from dataclasses import replace

import numpy as np
import pytest
from export.building import (
    COMPILERS,
    STRICT,
    by_all_compilers,
    compiled,
    instructions,
    output_of,
    without_comments,
)
from export.machines import MACHINES, fixed_chain, run_path
from export.samples import NASTY, TRICKS
from export.test_c_table import FLOATS
from export.traces import random_trace

from curvelib import save_tune
from curvelib.__main__ import main
from curvelib.export.program import LEARNED, Program, render
from curvelib.mixing import OVERFLOWS, TankMix
from curvelib.output import OUTPUT_KINDS
from curvelib.slew import ACTS_ON
from curvelib.stick import StickSetup
from curvelib.tune import ChannelSetup

SAMPLES = 62_000
# Memory is not clean before the reset; samples come as they lie in memory.
HARNESS = """
#include <stdio.h>
#include <string.h>
#include "program.c"

int main(void)
{
    struct curvelib_state state;
    uint16_t in[4];
    int16_t out[3];

    memset(&state, 0xA5, sizeof state);
    curvelib_reset(&state);
    while (fread(in, sizeof in, 1, stdin) == 1) {
        curvelib_step(&state, in[0], in[1], in[2], in[3], &out[0], &out[1]);
        out[2] = state.driving;
        if (fwrite(out, sizeof out, 1, stdout) != 1) {
            return 1;
        }
    }
    return 0;
}
"""


def files(tune):
    """The program of a tune, and what feeds it."""
    return {"program.c": render(tune), "main.c": HARNESS}


def fed(program, trace):
    """Columns left, right, driving that a compiled program gives for a trace."""
    given = output_of(program, np.ascontiguousarray(trace, np.uint16).tobytes())
    return np.frombuffer(given, np.int16).reshape(-1, 3).astype(int)


def check_agreement(tune, trace, found):
    """Within one output unit at every step; every decision the same."""
    run = run_path(tune, trace)
    np.testing.assert_array_equal(found[:, 2], run.driving)
    assert np.abs(found[:, 0] - run.left_out).max() <= 1
    assert np.abs(found[:, 1] - run.right_out).max() <= 1
    return run


@pytest.fixture(scope="module")
def programs(tmp_path_factory):
    """Compiled programs of the machines, each made once."""
    made = {}

    def get(name):
        if name not in made:
            folder = tmp_path_factory.mktemp("program")
            made[name] = by_all_compilers(folder, files(MACHINES[name]))
        return made[name]

    return get


@pytest.mark.parametrize("name", MACHINES)
def test_it_agrees_with_the_path_on_random_traces(name, programs):
    """A million steps between them; all compilers give the same, to the last unit."""
    tune = MACHINES[name]
    trace = random_trace(fixed_chain(tune), SAMPLES, seed=len(name))
    found = [fed(program, trace) for program in programs(name)]
    for other in found[1:]:
        np.testing.assert_array_equal(found[0], other)
    run = check_agreement(tune, trace, found[0])
    # The trace is worth its time: it drives, stops, and goes either way.
    assert 0.02 < run.driving.mean() < 0.98
    assert (run.left > 0.2).any()
    assert (run.left < -0.2).any()


def test_the_machines_use_everything():
    """Every rule and place by name, every output, both directions, swapping, starts and maps."""
    tunes = list(MACHINES.values())
    assert len(tunes) * SAMPLES > 1_000_000
    tanks = {(t.mix.overflow, t.slew.acts_on) for t in tunes if isinstance(t.mix, TankMix)}
    assert tanks == {(rule, place) for rule in OVERFLOWS for place in ACTS_ON}
    assert {t.output.kind for t in tunes} == set(OUTPUT_KINDS)
    for facts in (
        {t.throttle.reversed for t in tunes},
        {t.steer.reversed for t in tunes},
        {t.sides.left_reversed for t in tunes},
        {t.sides.right_reversed for t in tunes},
        {t.sides.swapped for t in tunes},
        {t.sides.left_start > 0 for t in tunes},
        {bool(t.sides.left_measured) for t in tunes},
        {t.slew.to_full_s > 0 for t in tunes},
        {t.slew.to_stop_s > 0 for t in tunes},
    ):
        assert facts == {True, False}


@pytest.mark.parametrize("name", ["slow", "independent, together"])
def test_a_slow_ramp_does_not_drift(name, programs):
    """Millisecond by millisecond from standing to full and back, at 32767 units for full."""
    tune = MACHINES[name]
    chain = fixed_chain(tune)
    rest = [round(stick.centre) for stick in chain.sticks]
    full, back = ([int(getattr(stick, end)) for stick in chain.sticks] for end in ("high", "low"))
    plan = [(rest, 900), (full, 10_500), (back, 21_000), (rest, 10_500)]
    pulses = np.concatenate([np.tile(where, (times, 1)) for where, times in plan])
    trace = np.column_stack([pulses, np.zeros(len(pulses)), np.ones(len(pulses))])
    for program in programs(name):
        check_agreement(tune, trace.astype(np.uint16), fed(program, trace))


# --- the three rules, by hand -------------------------------------------------------------------

REST, FORWARD = 1500, 2000


def drive(program, *steps):
    """Feed (throttle us, steer us, age ms, dt ms) and return (left, driving) after each."""
    found = fed(program, np.array(steps))
    return [(int(left), bool(driving)) for left, _, driving in found]


@pytest.fixture(scope="module")
def plain(programs):
    """The first compiler's program of the plain machine: 0.8 s timeout, 0.5 s rest, 0.4 s ramp."""
    return programs("plain")[0]


def test_a_stick_held_at_start_moves_nothing(plain):
    """Held for a minute, let go for half a second, then obeyed."""
    held = [(FORWARD, REST, 0, 20)] * 3000
    rest = [(REST, REST, 0, 20)] * 26
    found = drive(plain, *held, *rest, (FORWARD, REST, 0, 400))
    assert set(found[:3025]) == {(1500, False)}
    assert found[-2:] == [(1500, True), (2000, True)]


def test_rest_is_counted_from_the_first_sample_at_rest(plain):
    """500 ms, a stuck clock counting nothing, and any movement beginning again."""
    stuck = [(REST, REST, 0, 0)] * 500
    assert not any(driving for _, driving in drive(plain, *stuck))
    found = drive(plain, (REST, REST, 0, 65535), (REST, REST, 0, 499), (REST, REST, 0, 1))
    assert [driving for _, driving in found] == [False, False, True]
    moved = drive(plain, (REST, REST, 0, 0), (REST, 1600, 0, 499), (REST, REST, 0, 499))
    assert not moved[-1][1]


def started(program, *steps):
    """The same after half a second of rest and full throttle reached."""
    before = [(REST, REST, 0, 20)] * 26 + [(FORWARD, REST, 0, 400)]
    return drive(program, *before, *steps)[len(before) :]


def test_an_impossible_pulse_is_ignored_and_ages(plain):
    """The last good one stands for 800 ms; then the ramp stops the motors; rest comes first."""
    bad = [(FORWARD, 0, 0, 100)] * 13
    found = started(plain, *bad, (FORWARD, REST, 0, 100), (REST, REST, 0, 100))
    assert found[:8] == [(2000, True)] * 8
    assert [left for left, _ in found[8:13]] == [1875, 1750, 1625, 1500, 1500]
    assert found[13] == (1500, False)


def test_silence_stops_strictly_after_the_timeout(plain):
    assert started(plain, (FORWARD, REST, 800, 20)) == [(2000, True)]
    assert started(plain, (FORWARD, REST, 801, 20), (FORWARD, REST, 0, 20)) == [
        (1975, False),
        (1950, False),
    ]


def test_age_and_clock_saturate(plain):
    """However long the silence, however large the steps: never young again."""
    lost = [(0, 0, 65535, 65535)] * 5 + [(0, 0, 0, 65535)] * 5 + [(0, 0, 0, 1)] * 5
    assert set(started(plain, *lost)[1:]) == {(1500, False)}
    assert set(drive(plain, *[(0, 0, 0, 0)] * 5)) == {(1500, False)}


def test_no_time_moves_nothing(plain):
    assert started(plain, *[(1000, REST, 0, 0)] * 50) == [(2000, True)] * 50


# --- what the file is ---------------------------------------------------------------------------


@pytest.mark.parametrize("compiler", COMPILERS)
@pytest.mark.parametrize("name", ["plain", "keep turn together", "independent"])
def test_it_keeps_no_memory_calls_nothing_and_counts_in_integers(tmp_path, name, compiler):
    """No global that is written, no allocation, no library, nothing in floating point."""
    found = instructions(tmp_path, render(MACHINES[name]), compiler)
    assert not [word for word in found if word != "call" and FLOATS.fullmatch(word)]
    listed = subprocess.run(
        ["nm", f"{compiler}.o"], cwd=tmp_path, capture_output=True, text=True, check=True
    ).stdout
    kinds = {line.split()[-1]: line.split()[-2] for line in listed.splitlines()}
    assert set(kinds.values()) <= {"T", "t", "r"}
    assert {symbol for symbol, kind in kinds.items() if kind == "T"} == {
        "curvelib_reset",
        "curvelib_step",
    }


@pytest.mark.parametrize("name", ["plain", "half microseconds", "scale on sticks, lopsided pulse"])
def test_the_header_states_its_bytes(tmp_path, name):
    text = render(MACHINES[name])
    stated = re.search(r"Bytes: (\d+) of state,\s+\* (\d+) of constant tables", text)
    main_c = '#include <stdio.h>\n#include "program.c"\nint main(void) { printf("%d", '
    main_c += "(int)sizeof(struct curvelib_state)); return 0; }\n"
    program = compiled(tmp_path, {"program.c": text, "main.c": main_c}, "gcc", flags=())
    assert output_of(program).decode() == stated[1]
    # Unoptimised, for a compiler may take a short table into its code.
    instructions(tmp_path, text, "gcc", "-O0")
    sizes = subprocess.run(
        ["size", "-A", "gcc.o"], cwd=tmp_path, capture_output=True, text=True, check=True
    ).stdout
    constant = sum(int(line.split()[1]) for line in sizes.splitlines() if ".rodata" in line)
    assert int(stated[2]) <= constant <= int(stated[2]) + 200


def test_equal_sticks_share_one_table_and_a_mirror_saves_half():
    """501 values for 1000..2000 us on both sticks; other ranges take more."""
    plain = Program.from_tune(MACHINES["plain"])
    assert [len(stick.values) for stick in plain.sticks] == [501, 501]
    assert plain.one_curve
    other = Program.from_tune(MACHINES["half microseconds"])
    assert not other.one_curve
    assert len(other.sticks[0].values) == 2099 - 903 + 1


def test_the_header_tells_the_rules_and_what_acts_twice():
    head = " ".join(render(MACHINES["plain"]).split("*/")[0].replace("\n *", " ").split())
    for words in (
        "have rested at their centres for 500 ms",
        "one bad channel ages both",
        "older than 800 ms",
        "Switch off the transmitter's own curve, rates, mix and trims",
        "Blade drive off, wheels off the ground",
        "Throttle stick shape: deadband (width 0.03), then cubic blend (blend 0.6)",
        "microseconds, 1500 for 0",
    ):
        assert words in head


@pytest.mark.parametrize("name", [*TRICKS, "all at once"])
def test_a_name_changes_nothing_but_the_comment(tmp_path, name):
    tricky = NASTY if name == "all at once" else TRICKS[name]
    plain = MACHINES["plain"]
    named = without_comments(tmp_path, render(replace(plain, name=tricky)))
    assert named == without_comments(tmp_path, render(plain))


def _odd(setup, shape, loss=(0.8, 0.5)):
    plain = MACHINES["plain"]
    channel = ChannelSetup(shape=shape)
    return replace(
        plain,
        stick=setup,
        throttle=channel,
        steer=channel,
        signal_loss=replace(plain.signal_loss, timeout_s=loss[0], centred_first_s=loss[1]),
    )


ODD = {
    "from 0 us": _odd(StickSetup(0.0, 1.0, 2.0), MACHINES["coarse"].throttle.shape),
    "to 5000 us": _odd(StickSetup(0.0, 4000.0, 5000.0), MACHINES["plain"].throttle.shape),
    "rests at no whole pulse": _odd(
        StickSetup(1000.0, 1500.5, 1520.0), MACHINES["plain"].steer.shape
    ),
    "longest waits": _odd(StickSetup(), MACHINES["plain"].steer.shape, (10.0, 10.0)),
}


@pytest.mark.parametrize("name", ODD)
def test_odd_machines_compile_and_agree(tmp_path, name):
    """Where a comparison is always true, or never, compilers have no warning to give."""
    tune = ODD[name]
    trace = random_trace(fixed_chain(tune), 3000, seed=1)
    for program in by_all_compilers(tmp_path, files(tune)):
        check_agreement(tune, trace, fed(program, trace))


# --- the command --------------------------------------------------------------------------------


@pytest.fixture
def learned(tmp_path):
    """A machine file that wants its centre learned."""
    path = tmp_path / "learned.toml"
    tune = replace(MACHINES["plain"], stick=StickSetup(centre="learned"))
    save_tune(tune, path)
    return path, tune


def test_the_command_prints_or_writes_the_program(tmp_path, capsysbinary):
    path, made = tmp_path / "cart.toml", tmp_path / "cart.c"
    save_tune(MACHINES["clip on sticks"], path)
    assert main(["program", str(path)]) == 0
    printed = capsysbinary.readouterr()
    assert printed.out.decode() == render(MACHINES["clip on sticks"])
    assert printed.err == b""
    assert main(["program", str(path), "--to", str(made)]) == 0
    assert made.read_bytes() == printed.out
    assert b"\r" not in printed.out


def test_a_learned_centre_is_warned_of(learned, capsysbinary):
    """On standard error, and in the header; the program takes the centre of the file."""
    path, tune = learned
    assert main(["program", str(path)]) == 0
    printed = capsysbinary.readouterr()
    assert LEARNED in printed.err.decode()
    head = " ".join(printed.out.decode().split("*/")[0].replace("\n *", " ").split())
    assert LEARNED in head
    assert LEARNED.split(".")[0] not in render(MACHINES["plain"]).replace("\n *", "")
    code = render(tune).split("*/", 1)[1]
    assert code == render(MACHINES["plain"]).split("*/", 1)[1]


def test_a_fault_gives_one_message_and_exit_1(tmp_path, capsys):
    assert main(["program", str(tmp_path / "none.toml")]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert "there is no such file" in said.err


def test_strict_means_strict():
    """The contract's own flags."""
    assert " ".join(STRICT) == "-std=c99 -Wall -Wextra -Wconversion -Werror -pedantic"
