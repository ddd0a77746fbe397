"""Fixed or learned centre: what each stick position commands before and after a restart.

A drive that learns its centre takes the pulse it sees first as "stick let go".
Learned from a stick that really is let go, that does no harm, and it forgives a
transmitter whose centre has drifted.  Learned from a stick held forward, in a
restart while driving, letting go means reverse; and a rule that sticks must
rest before driving does not help, since the held stick then looks like rest.
So a fixed centre is the usual advice (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from curvelib.chain import Chain
from curvelib.machine.checks import FloatOrArray, within
from curvelib.mixing import Independent
from curvelib.params import FloatArray
from curvelib.stick import Stick


def pulse_at(stick: Stick, position: ArrayLike, reversed_: bool = False) -> FloatOrArray:
    """Pulse width that a stick sends at a position: inverse of `Stick.position` without steps.

    Parameters
    ----------
    stick : Stick
        As set, or relearned.
    position : float or array_like
        -1..1.
    reversed_ : bool
        True where pushing forward or right makes the pulse shorter.

    Returns
    -------
    float or ndarray of float64
        us, low..high.

    Raises
    ------
    ValueError
        For NaN, infinity or a position out of range.
    """
    place = within(position, "stick position", -1.0, 1.0) * (-1.0 if reversed_ else 1.0)
    below, above = stick.centre - stick.low, stick.high - stick.centre
    pulse = stick.centre + place * np.where(place < 0.0, below, above)
    return float(pulse) if np.ndim(position) == 0 else pulse


def held_sticks(chain: Chain, held: float) -> tuple[float, float]:
    """Positions of both sticks that drive straight ahead: one stick in tank mixing, else both."""
    return (held, held) if isinstance(chain.mix, Independent) else (held, 0.0)


@dataclass(frozen=True)
class Learned:
    """A chain whose centres were learned from two pulses.

    Parameters
    ----------
    chain : Chain
        The path as set.
    pulses : (float, float)
        First and second pulse in us at the restart, both possible ones.

    Raises
    ------
    ValueError
        If a pulse is not a possible one.
    """

    chain: Chain
    pulses: tuple[float, float]

    def __post_init__(self) -> None:
        """Learn the centres, which refuses impossible pulses."""
        _ = self.sticks

    @property
    def sticks(self) -> tuple[Stick, Stick]:
        """Both sticks as they are read from now on."""
        first, second = self.chain.sticks
        return first.relearned(self.pulses[0]), second.relearned(self.pulses[1])

    def commands(self, first: ArrayLike, second: ArrayLike) -> tuple[FloatOrArray, FloatOrArray]:
        """Commands that real stick positions now lead to.

        Parameters
        ----------
        first, second : float or array_like
            Where the sticks really are, -1..1.

        Returns
        -------
        left, right : float or ndarray of float64
            Motor commands, -1..1, once sticks are obeyed and ramps are over.
        """
        read = [self._read(k, place) for k, place in enumerate((first, second))]
        left, right = self.chain.steady(*read)
        return left, right

    def released(self) -> tuple[float, float]:
        """Commands of sticks that are let go: 0, 0 is what they should be."""
        left, right = self.commands(0.0, 0.0)
        return float(left), float(right)

    def _read(self, k: int, position: ArrayLike) -> FloatOrArray:
        """Where a stick seems to be."""
        flipped = self.chain.reversed[k]
        pulse = pulse_at(self.chain.sticks[k], position, flipped)
        return (-1.0 if flipped else 1.0) * np.asarray(self.sticks[k].position(pulse))


@dataclass(frozen=True)
class WorstReleased:
    """The worst that sticks let go can command.

    Parameters
    ----------
    left, right : float
        Motor commands, -1..1, of the worst case.
    pulses : (float, float) or None
        Pulses in us that were learned as centres; None with a fixed centre.
    """

    left: float
    right: float
    pulses: tuple[float, float] | None

    @property
    def size(self) -> float:
        """The larger of both commands, 0..1."""
        return max(abs(self.left), abs(self.right))


def worst_released(chain: Chain) -> WorstReleased:
    """Worst command that sticks let go can give, with the centre this chain uses.

    Parameters
    ----------
    chain : Chain
        With a fixed centre the answer is 0, always; with a learned one every
        pair of possible pulses may have been learned.

    Returns
    -------
    WorstReleased
        No learned pair gives either side a larger command.

    Notes
    -----
    Where a released stick seems to be falls as the learned pulse grows, shapes
    never fall, and each side is largest where both sticks add up: so the four
    pairs of extreme pulses hold the worst.  Those lie beyond the ends of the
    travel, by the margin within which a pulse is still possible.
    """
    if not chain.learned_centre:
        return WorstReleased(*chain.steady(0.0, 0.0), pulses=None)
    firsts, seconds = (stick.possible_range for stick in chain.sticks)
    cases = [
        WorstReleased(*Learned(chain, pulses).released(), pulses=pulses)
        for pulses in product(firsts, seconds)
    ]
    return max(cases, key=lambda case: case.size)


def harmless_offset(chain: Chain, k: int = 0) -> float:
    """How far from its centre a stick may be held while the centre is learned, without harm.

    Parameters
    ----------
    chain : Chain
        Its shapes decide: within the dead zone a released stick still commands 0.
    k : {0, 1}
        First or second stick.

    Returns
    -------
    float
        Share of the travel, 0..1; 0 without a dead zone.
    """
    return float(chain.shapes[k].starts_at)


def command_map(chain: Chain, positions: FloatArray, learned: Learned | None = None) -> FloatArray:
    """Mean command of both sides for straight-ahead stick positions, as set or as learned.

    Parameters
    ----------
    chain : Chain
        The path as set.
    positions : ndarray, shape (n,)
        Real positions of the stick, -1..1 (of both sticks in independent mixing).
    learned : Learned, optional
        Left out: the centre as set.

    Returns
    -------
    ndarray of float64, shape (n,)
        -1..1.
    """
    second = positions if isinstance(chain.mix, Independent) else np.zeros_like(positions)
    if learned is not None:
        left, right = learned.commands(positions, second)
    else:
        left, right = chain.steady(positions, second)
    return np.asarray((left + right) / 2.0)
