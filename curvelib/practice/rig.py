"""The machine as the trials need it: its path, its motors, its drive lag, how it turns."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from curvelib.chain import Chain
from curvelib.params import FloatArray
from curvelib.practice.stick_table import CELLS, StickTable, softened, straightened
from curvelib.shape import Shape
from curvelib.sides import Side
from curvelib.tune import Tune

_NO_LAG = 1e-9
# Halvings of a cell of 1/32768, beyond the last digit of a double.
_HALVINGS = 55
_STANDING = 1e-9  # m/s
# Stand-ins for what a machine file leaves out; whoever uses them says so.
ASSUMED = {"top_speed_m_s": 1.5, "track_m": 0.8, "turning_share": 1.0, "lag_s": 0.1}


@dataclass(frozen=True)
class Rig:
    """One machine, ready for trials.

    Parameters
    ----------
    chain : Chain
        The whole signal path.
    top_speed, track : float
        Side speed at full command, m/s; distance between the sides, m.
    turning_share : float
        Real yaw over ideal yaw.
    lag : float
        Drive lag, s.
    assumed : tuple of str
        Names of the machine facts that the file does not give.
    """

    chain: Chain
    top_speed: float
    track: float
    turning_share: float
    lag: float
    assumed: tuple[str, ...] = ()

    @classmethod
    def from_tune(cls, tune: Tune) -> Rig:
        """Take the machine of a file; what it does not give is assumed and listed."""
        given = {name: getattr(tune.machine, name) for name in ASSUMED}
        facts = {
            name: ASSUMED[name] if value is None else float(value) for name, value in given.items()
        }
        return cls(
            Chain.from_tune(tune),
            facts["top_speed_m_s"],
            facts["track_m"],
            facts["turning_share"],
            facts["lag_s"],
            tuple(name for name, value in given.items() if value is None),
        )

    def with_shapes(self, first: Shape, second: Shape) -> Rig:
        """Return the same machine with other shapes on its sticks."""
        return replace(self, chain=replace(self.chain, shapes=(first, second)))

    def straightened(self) -> Rig:
        """Return the same machine with straight sticks of the same dead zone and top."""
        first, second = self.chain.shapes
        return self.with_shapes(straightened(first), straightened(second))

    def softened(self, blend: float) -> Rig:
        """Return the same machine with cubic blends of the same dead zones and tops."""
        first, second = self.chain.shapes
        return self.with_shapes(softened(first, blend), softened(second, blend))

    def tables(self) -> tuple[StickTable, StickTable]:
        """Both sticks as tables."""
        chain = self.chain
        first, second = (
            _stick_table(chain.sticks[k], chain.reversed[k], chain.shapes[k]) for k in (0, 1)
        )
        return first, second

    def wanted_commands(self, speed: FloatArray, yaw_rate: FloatArray) -> FloatArray:
        """Shaped commands of both sticks that would give a speed and a yaw rate.

        Parameters
        ----------
        speed, yaw_rate : ndarray, shape (n,)
            m/s forward, rad/s counter-clockwise.

        Returns
        -------
        ndarray, shape (2, n)
            Of the first and the second stick; beyond -1..1 where out of reach.
        """
        ahead = speed / self.top_speed
        turn = -yaw_rate * self.track / (2.0 * self.turning_share * self.top_speed)
        if self.chain.mix.kind == "independent":
            return np.stack([ahead + turn, ahead - turn])
        share = self.chain.steer_share
        return np.stack([ahead, turn / share if share > 0.0 else np.zeros_like(turn)])


class WheelTable:
    """Speed of one side for a motor command: motor start, measured map, output steps.

    A staircase in cells of 1/32768 of command, each with the place of its edge.
    Exact, but where two output steps lie in one cell it may give the upper one
    for the lower.
    """

    def __init__(self, rig: Rig, side: Side) -> None:
        def speed(command: FloatArray) -> FloatArray:
            return rig.top_speed * rig.chain.wheel_share(side, command)

        ends = np.arange(-CELLS, CELLS + 1) / CELLS
        self._below = speed(ends)
        self._above = np.append(self._below[1:], self._below[-1])
        self._edge = np.full(len(ends), np.inf)
        steps = np.flatnonzero(self._below != self._above)
        self._edge[steps] = _first_change(speed, ends[steps], ends[steps + 1])

    def speed(self, command: FloatArray) -> FloatArray:
        """Speed in m/s that the side settles at for commands, -1..1."""
        # Times a power of two is exact; adding 1 first would round across edges.
        cell = np.floor(command * CELLS).astype(np.intp) + CELLS
        return np.where(command < self._edge[cell], self._below[cell], self._above[cell])


def _first_change(
    value: Callable[[FloatArray], FloatArray], low: FloatArray, high: FloatArray
) -> FloatArray:
    """Halve intervals until each ends where the value first differs from that at `low`."""
    first = value(low)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        same = value(middle) == first
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return high


# Tables cost up to some tenths of a second and hold no state; the same few serve many runs.
_stick_table = lru_cache(maxsize=16)(StickTable)
_wheel_table = lru_cache(maxsize=16)(WheelTable)


class Motors:
    """Ramp, output steps, motor start and drive lag of both sides, stepped frame by frame.

    Parameters
    ----------
    rig : Rig
        The machine.
    trials : int
        How many at once.
    frame_s : float
        Seconds a frame.
    """

    def __init__(self, rig: Rig, trials: int, frame_s: float) -> None:
        self._chain, self._frame_s = rig.chain, frame_s
        sides = rig.chain.sides
        self._tables = _wheel_table(rig, sides.left), _wheel_table(rig, sides.right)
        self._command = np.zeros((2, trials))
        self._speed = np.zeros((2, trials))
        lag = rig.lag
        self._kept = math.exp(-frame_s / lag) if lag > _NO_LAG else 0.0
        # Of a change, what the mean over a frame lacks: the lag's exact integral.
        self._behind = (1.0 - self._kept) * lag / frame_s

    def step(self, shaped: FloatArray) -> FloatArray:
        """Hold the shaped sticks, shape (2, n), for one frame; return mean side speeds, m/s."""
        wanted = np.empty_like(shaped)
        for k, command in enumerate(self._commands(shaped)):
            wanted[k] = self._tables[k].speed(command)
        change = self._speed - wanted
        self._speed = wanted + self._kept * change
        return wanted + self._behind * change

    def _commands(self, shaped: FloatArray) -> FloatArray:
        """Motor commands after ramp and mix; see `Chain`."""
        chain, slew = self._chain, self._chain.slew
        if chain.acts_on == "sticks":
            self._command = slew.advance(self._command, shaped, self._frame_s)
            return np.array(chain.mix(*self._command))
        target = np.array(chain.mix(*shaped))
        move = slew.advance_together if chain.acts_on == "together" else slew.advance
        self._command = np.asarray(move(self._command, target, self._frame_s))
        return self._command

    @property
    def resting(self) -> bool:
        """True where all motors are commanded to 0 and none does a nanometre a second."""
        return not self._command.any() and bool(np.abs(self._speed).max() < _STANDING)

    @property
    def speed(self) -> FloatArray:
        """Speed of the body at the end of the last frame, m/s."""
        return np.asarray(0.5 * (self._speed[0] + self._speed[1]))


def travelled(rig: Rig, sides: FloatArray, heading: FloatArray, frame_s: float) -> FloatArray:
    """Way and turn of one frame as an exact arc: shape (3, n), ahead m, left m, turn rad.

    The equations of `curvelib.machine.motion.drive`, for many machines at once.
    """
    turn = (rig.turning_share * frame_s / rig.track) * (sides[1] - sides[0])
    half = 0.5 * turn
    square = half * half
    # sin(h)/h by its series: h is a few hundredths of a radian, the term left out h^6/5040.
    chord = (0.5 * frame_s) * (sides[0] + sides[1]) * (1.0 - square / 6.0 * (1.0 - square / 20.0))
    middle = heading + half
    return np.stack([chord * np.cos(middle), chord * np.sin(middle), turn])
