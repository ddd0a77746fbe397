"""The numbers of one machine's whole path in integer arithmetic.

A command of 1 is the whole number `one`.  Whatever the Python path decides
(can this pulse be a command, does the stick rest, is the signal lost, has it
rested long enough) is asked of it here for every whole microsecond and
millisecond, so that the exported program decides the same.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np

from curvelib.chain import Chain, Gate
from curvelib.output import Output
from curvelib.sides import Side
from curvelib.slew import SlewLimit

# Two commands, and the product of two, must fit 32 and 64 bits with a sign.
_LARGEST_ONE = 1 << 30
# A clock finer than the millisecond, for ramps that are no whole number of them.
_TICKS = (1, 2, 4, 5, 8, 10, 20, 50, 100, 1000)
_MOST_TICKS = 1 << 20
# Output units are worked out in 1/2^44; a full of 32767 then fits 63 bits.
UNIT_BITS = 44
PULSES = np.arange(65536)
MOST_MS = 65535


@dataclass(frozen=True)
class Ramp:
    """A slew limit in ticks of a clock.

    Parameters
    ----------
    ticks : int
        Ticks in a millisecond.
    full, stop : int
        Ticks from 0 to 1 and from 1 to 0; 0 is no limit.
    one : int
        What a command of 1 is.  Where it can, it makes each tick's change of
        the command a whole number, so that a ramp never drifts.
    """

    ticks: int
    full: int
    stop: int
    one: int


def ramp(slew: SlewLimit) -> Ramp:
    """Choose the clock and what a command of 1 is."""
    full, stop = _exact_ms(slew.to_full), _exact_ms(slew.to_stop)
    for ticks in _TICKS:
        if all((ms * ticks).denominator == 1 for ms in (full, stop)):
            break
    else:
        room = math.floor((1 << 31) / max(full + stop, Fraction(1)))
        ticks = min(_MOST_TICKS, 1 << (room.bit_length() - 1))
    whole = [max(round(ms * ticks), int(ms > 0)) for ms in (full, stop)]
    common = math.lcm(*(ticks or 1 for ticks in whole))
    one = _LARGEST_ONE - (_LARGEST_ONE % common if common <= _LARGEST_ONE else 0)
    return Ramp(ticks, whole[0], whole[1], one)


def _exact_ms(seconds: float) -> Fraction:
    """Milliseconds as the decimal that was typed; a ramp under a nanosecond is none."""
    return Fraction(repr(seconds)) * 1000 if seconds > 1e-9 else Fraction(0)


@dataclass(frozen=True)
class StickFacts:
    """One channel: the shaped command for each whole microsecond, and its decisions.

    Parameters
    ----------
    values : tuple of int
        Commands from pulse `low` on; only from `centre` on where the other
        half is their mirror image.
    low, high : int
        First and last pulse with a command of its own; beyond them it saturates.
    centre : int or None
        Pulse with command 0 in the middle of a mirrored table.
    possible, rest : tuple of int
        First and last pulse that can be a command, and that rests at the
        centre; (1, 0) where none does.
    reversed : bool
        True where a longer pulse means backward or left.
    """

    values: tuple[int, ...]
    low: int
    high: int
    centre: int | None
    possible: tuple[int, int]
    rest: tuple[int, int]
    reversed: bool


def stick_facts(chain: Chain, k: int, one: int) -> StickFacts:
    """Ask one channel of a chain about every whole microsecond."""
    stick = chain.sticks[k]
    possible = np.asarray(stick.possible(PULSES))
    position = np.asarray(stick.position(PULSES))
    resting = possible & (np.abs(position) <= chain.rest_zones()[k])
    low, high = math.floor(stick.low), math.ceil(stick.high)
    values = np.rint(one * chain.shapes[k](position[low : high + 1])).astype(np.int64)
    middle = len(values) // 2
    mirrored = len(values) % 2 == 1 and bool((values == -values[::-1]).all())
    return StickFacts(
        values=tuple((values[middle:] if mirrored else values).tolist()),
        low=low,
        high=high,
        centre=low + middle if mirrored else None,
        possible=_span(possible),
        rest=_span(resting),
        reversed=chain.reversed[k],
    )


def _span(holds: np.typing.NDArray[np.bool_]) -> tuple[int, int]:
    """First and last pulse of an unbroken run; positions never fall, so it is unbroken."""
    found = np.flatnonzero(holds)
    return (int(found[0]), int(found[-1])) if len(found) else (1, 0)


@dataclass(frozen=True)
class Piece:
    """A straight piece of a motor's map: output units, in 1/2^44, from a size of command on."""

    begin: int
    base: int
    slope: int


@dataclass(frozen=True)
class Way:
    """A motor's map for one sign of its output.

    Parameters
    ----------
    least : int
        Commands of a smaller size are less than half an output step: 0.
    pieces : tuple of Piece
        Ascending; the first begins at 0.
    """

    least: int
    pieces: tuple[Piece, ...]


@dataclass(frozen=True)
class MotorFacts:
    """One motor: the maps for outputs above and below zero, and its direction."""

    up: Way
    down: Way
    reversed: bool


def motor_facts(side: Side, output: Output, one: int) -> MotorFacts:
    """Turn a side's map and the output code into integers."""
    below, above = output.spans
    return MotorFacts(_way(side, above, one), _way(side, below, one), side.reversed)


def _way(side: Side, span: int, one: int) -> Way:
    points = side.measured or ((0.0, side.start), (1.0, side.top))
    exact = [(Fraction(share), Fraction(command)) for share, command in points]
    pieces = []
    for (share, command), (next_share, next_command) in pairwise(exact):
        begin, end = round(share * one), round(next_share * one)
        rise = (next_command - command) * span * (1 << UNIT_BITS)
        base = round(command * span * (1 << UNIT_BITS))
        pieces.append(Piece(begin, base, round(rise / (end - begin))))
    return Way(_least(span, one), tuple(pieces))


def _least(span: int, one: int) -> int:
    """Smallest command that is half an output step or more.

    As in `Output.below_half_step` the edge is a millionth below half a step;
    or a little lower still, so that half a step keeps to its side however it
    was rounded on the way here.
    """
    half = Fraction(one, 2 * span)
    edge = math.ceil(half * (1 - Fraction(1, 10**6)))
    return max(min(edge, math.floor(half) - 2), 1)


def longest_silence(timeout_s: float) -> int:
    """Greatest age of a pulse, in whole ms, at which the signal is not lost."""

    def lost(ms: int) -> bool:
        return not Gate(timeout_s, 0.0).step(True, True, 0.0, ms / 1000.0)

    return _first(lost) - 1


def rest_needed(centred_first_s: float) -> int:
    """Fewest whole ms that sticks rest before they are obeyed."""

    def obeyed(ms: int) -> bool:
        gate = Gate(1.0, centred_first_s)
        return gate.step(True, True, 0.0, 0.0) or gate.step(True, True, ms / 1000.0, 0.0)

    return _first(obeyed)


def _first(holds: Callable[[int], bool]) -> int:
    return bisect_left(range(MOST_MS + 1), True, key=holds)
