"""The whole numbers behind the exported program."""

from fractions import Fraction

import numpy as np
import pytest
from export.machines import MACHINES, fixed_chain
from hypothesis import given
from hypothesis import strategies as st

from curvelib import SlewLimit
from curvelib.chain import Gate
from curvelib.export.program_facts import (
    UNIT_BITS,
    longest_silence,
    motor_facts,
    ramp,
    rest_needed,
    stick_facts,
)
from curvelib.output import Output
from curvelib.sides import Side

times = st.sampled_from([0.0, 0.05, 0.35, 0.4, 1.0, 10.0, 1e-9, 1e-7]) | st.floats(0.0, 10.0)


@pytest.mark.parametrize(
    ("to_full", "to_stop", "ticks", "full", "stop"),
    [
        (0.4, 0.25, 1, 400, 250),
        (10.0, 10.0, 1, 10000, 10000),
        (0.35, 0.0, 1, 350, 0),
        (0.4005, 0.25, 2, 801, 500),
        (0.0123, 0.05, 10, 123, 500),
        (0.000001, 1.0, 1000, 1, 1000000),
        (0.0, 0.0, 1, 0, 0),
    ],
)
def test_ramps_are_whole_ticks_where_they_can_be(to_full, to_stop, ticks, full, stop):
    found = ramp(SlewLimit(to_full, to_stop))
    assert (found.ticks, found.full, found.stop) == (ticks, full, stop)


@pytest.mark.parametrize(("to_full", "to_stop"), [(0.4, 0.25), (0.35, 1.3), (10.0, 0.7), (0.4, 0)])
def test_a_tick_changes_the_command_by_a_whole_number(to_full, to_stop):
    """So a ramp of whole milliseconds never drifts."""
    found = ramp(SlewLimit(to_full, to_stop))
    assert all(found.one % ticks == 0 for ticks in (found.full, found.stop) if ticks)


@given(times, times)
def test_ramps_keep_their_times_and_fit_their_integers(to_full, to_stop):
    """Within a millionth of a millisecond or of the time; products stay below 2^63."""
    found = ramp(SlewLimit(to_full, to_stop))
    assert 2**29 < found.one <= 2**30
    for seconds, ticks in ((to_full, found.full), (to_stop, found.stop)):
        assert (ticks == 0) == (seconds <= 1e-9)
        assert abs(ticks / found.ticks - 1000 * seconds) <= max(1e-5, 1e-6 * 1000 * seconds)
    assert (found.full + found.stop) * found.one < 2**62
    assert 65535 * found.ticks < 2**62


@pytest.mark.parametrize("name", MACHINES)
def test_every_whole_pulse_has_the_paths_own_command_and_decisions(name):
    """Over 0..65535 us, against the path asked again."""
    chain, one = fixed_chain(MACHINES[name]), 2**30
    pulses = np.arange(65536)
    for k in (0, 1):
        facts, stick = stick_facts(chain, k, one), chain.sticks[k]
        place = np.clip(pulses, facts.low, facts.high)
        values = np.array(facts.values)
        if facts.centre is None:
            found = values[place - facts.low]
        else:
            away = place - facts.centre
            found = np.sign(away) * values[np.abs(away)]
        position = np.asarray(stick.position(pulses))
        assert np.abs(found / one - chain.shapes[k](position)).max() <= 0.5 / one + 1e-15
        good = np.asarray(stick.possible(pulses))
        first, last = facts.possible
        np.testing.assert_array_equal((pulses >= first) & (pulses <= last), good)
        first, last = facts.rest
        resting = good & (np.abs(position) <= chain.rest_zones()[k])
        np.testing.assert_array_equal((pulses >= first) & (pulses <= last), resting)


@pytest.mark.parametrize("output", [Output(), Output("signed", full=1), Output("percent")])
@pytest.mark.parametrize(
    "side",
    [Side(), Side(0.1, 0.9), Side(measured=((0.0, 0.12), (0.25, 0.5), (0.7, 0.5), (1.0, 0.95)))],
    ids=["plain", "start and top", "measured"],
)
def test_a_motors_pieces_follow_its_map(side, output):
    """In fractions, to a thousandth of an output unit; pieces join and never fall."""
    one = 2**30 - 1000
    facts = motor_facts(side, output, one)
    for way, span in ((facts.up, output.spans[1]), (facts.down, output.spans[0])):
        assert way.pieces[0].begin == 0
        for size in np.linspace(0, one, 501).astype(int).tolist()[1:]:
            piece = [piece for piece in way.pieces if piece.begin <= size][-1]
            assert piece.slope >= 0
            units = Fraction(piece.base + piece.slope * (size - piece.begin), 2**UNIT_BITS)
            assert abs(units - side.command(size / one) * span) < Fraction(1, 1000)
            assert piece.base + piece.slope * (one - piece.begin) < 2**62


@pytest.mark.parametrize("span", [1, 2, 7, 500, 1000, 10000, 32767])
def test_half_a_step_starts_a_motor_however_it_was_rounded(span):
    """As the path does, from a millionth below half a step on; two whole numbers are rounding."""
    one = 2**30
    facts = motor_facts(Side(), Output("signed", full=span), one)
    half = one / (2 * span)
    assert facts.up.least <= half - 2 + 1
    assert facts.up.least >= min(half * (1 - 1.1e-6), half - 4)
    assert facts.up.least >= 1


@given(st.floats(0.0, 10.0) | st.integers(0, 10_000).map(lambda ms: ms / 1000))
def test_waits_are_decided_as_the_gate_decides(seconds):
    """One ms either side of the edge, asked of a gate anew."""
    silence, rest = longest_silence(seconds), rest_needed(seconds)

    def lost(ms):
        gate = Gate(seconds, 0.0)
        return not gate.step(True, True, 0.0, ms / 1000)

    def obeyed(ms):
        gate = Gate(10.0, seconds)
        gate.step(True, True, 0.0, 0.0)
        return gate.step(True, True, ms / 1000, 0.0)

    assert not lost(silence)
    assert lost(silence + 1)
    assert obeyed(rest) or rest == 0
    assert rest == 0 or not obeyed(rest - 1)
    assert abs(silence - 1000 * seconds) <= 1.0
    assert 0.0 <= rest - 1000 * seconds + 1e-5 <= 1.0 + 1e-5


def test_whole_milliseconds_are_taken_as_they_are():
    for ms in (0, 1, 100, 250, 800, 10_000):
        assert longest_silence(ms / 1000) == ms
        assert rest_needed(ms / 1000) == ms
