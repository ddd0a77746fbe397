"""The whole signal path, from two pulses to two outputs, with its three safety rules.

1. Rest before driving: commands stay 0 until every stick has rested at its centre.
2. An impossible pulse is not a command: the last good one stands and ages.
3. Silence stops: past the timeout both targets are 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from curvelib.mixing import Mix, TankMix
from curvelib.output import Output
from curvelib.params import FloatArray, finite_array
from curvelib.shape import Shape
from curvelib.sides import Side, Sides
from curvelib.slew import ActsOn, SlewLimit, time_steps
from curvelib.stick import Stick

if TYPE_CHECKING:
    from curvelib.tune import Channel, Tune

# Where a stick has no dead zone, this much of its travel counts as its centre.
REST_ZONE = 0.03
# Sums of time steps miss round numbers by rounding; a nanosecond decides nothing.
_TIME_GRAIN = 1e-9


@dataclass(frozen=True)
class Chain:
    """The path of one machine.  Build it with `Chain.from_tune`.

    ``first`` is the throttle (the left stick in independent mixing), ``second``
    the steer (the right stick).  `steady` is a pure function; `run` and `live`
    keep time and obey the three rules, and agree exactly.
    """

    sticks: tuple[Stick, Stick]
    reversed: tuple[bool, bool]
    shapes: tuple[Shape, Shape]
    mix: Mix
    slew: SlewLimit
    acts_on: ActsOn
    sides: Sides
    output: Output
    timeout_s: float
    centred_first_s: float
    learned_centre: bool = False
    top_speed: float | None = None

    @classmethod
    def from_tune(cls, tune: Tune) -> Chain:
        """Build the path that a machine file describes."""
        return cls(
            sticks=(tune.stick_for("throttle"), tune.stick_for("steer")),
            reversed=(tune.throttle.reversed, tune.steer.reversed),
            shapes=(tune.shape("throttle"), tune.shape("steer")),
            mix=tune.mix,
            slew=tune.slew.limit,
            acts_on=tune.slew.acts_on,
            sides=tune.sides,
            output=tune.output,
            timeout_s=tune.signal_loss.timeout_s,
            centred_first_s=tune.signal_loss.centred_first_s,
            learned_centre=tune.stick.centre == "learned",
            top_speed=tune.machine.top_speed_m_s,
        )

    def shape(self, channel: Channel) -> Shape:
        """Shape that acts on a stick."""
        return self.shapes[0 if channel == "throttle" else 1]

    @property
    def steer_share(self) -> float:
        """Share of full command that full steer gives each side; 1 in independent mixing."""
        return self.mix.steer_share if isinstance(self.mix, TankMix) else 1.0

    def steady(self, first: ArrayLike, second: ArrayLike) -> tuple[Any, Any]:
        """Commands that held sticks lead to.

        Parameters
        ----------
        first, second : float or array_like
            Stick positions, -1..1; +1 is full forward and full right, whichever
            way the stick's pulses run.

        Returns
        -------
        left, right : float or ndarray of float64
            Motor commands, -1..1, before the side map.

        Raises
        ------
        ValueError
            If a position is NaN or infinite.
        """
        return self.mix(self.shapes[0](first), self.shapes[1](second))

    def coded(self, left: ArrayLike, right: ArrayLike) -> tuple[Any, Any]:
        """Output units for motor commands: half-step rule, side maps, swap, code."""
        of_left = self.code_side(self.sides.left, left)
        of_right = self.code_side(self.sides.right, right)
        return (of_right, of_left) if self.sides.swapped else (of_left, of_right)

    def code_side(self, side: Side, command: ArrayLike) -> Any:
        """Output units for one motor.  Below half an output step nothing starts it."""
        flow = -1.0 if side.reversed else 1.0
        value = finite_array(command, "command")
        kept = np.where(self.output.below_half_step(flow * value), 0.0, value)
        units = self.output.units(side.command(kept))
        return int(units) if np.ndim(command) == 0 else units

    def wheel_share(self, side: Side, command: ArrayLike) -> FloatArray:
        """Share of full speed that one side really gets for a command, through its output steps."""
        flow = -1.0 if side.reversed else 1.0
        units = self.code_side(side, np.asarray(command))
        return side.speed_share(flow * self.output.command(units))

    def rest_zones(self) -> tuple[float, float]:
        """How far from 0 each stick may be and still rest at its centre."""
        first, second = (shape.starts_at or REST_ZONE for shape in self.shapes)
        return first, second

    def run(
        self, first_us: ArrayLike, second_us: ArrayLike, dt: ArrayLike, age_s: ArrayLike = 0.0
    ) -> Run:
        """Run the path over time, from power-up.

        Parameters
        ----------
        first_us, second_us : array_like, shape (n,)
            Pulse widths in us.  NaN stands for "no pulse" and is never possible.
        dt : float or array_like, shape (n,)
            Seconds since the sample before, 0 or more.
        age_s : float or array_like, shape (n,)
            Age of the pulses in seconds; infinite where none was ever received.

        Returns
        -------
        Run
            Arrays over time.

        Raises
        ------
        ValueError
            If lengths differ, a dt is negative, NaN or infinite, or an age is
            negative or NaN.
        """
        return self.live().feed(first_us, second_us, dt, age_s)

    def live(self) -> Live:
        """Return the path at power-up, to be stepped while it runs."""
        return Live(self)


@dataclass(frozen=True)
class Run:
    """What a path did over time, all arrays of shape (n,).

    Parameters
    ----------
    left, right : ndarray of float64
        Commands, -1..1, before the side map.
    left_out, right_out : ndarray of int64
        Output units at the left and right output.
    driving : ndarray of bool
        True while the sticks are obeyed.
    """

    left: FloatArray
    right: FloatArray
    left_out: NDArray[np.int64]
    right_out: NDArray[np.int64]
    driving: NDArray[np.bool_]


@dataclass(frozen=True)
class Step:
    """One sample of a `Run`."""

    left: float
    right: float
    left_out: int
    right_out: int
    driving: bool


class Gate:
    """The three rules over time: decides, sample by sample, whether sticks are obeyed."""

    def __init__(self, timeout_s: float, centred_first_s: float) -> None:
        self._timeout = timeout_s
        self._centred_first = centred_first_s
        self._age = math.inf
        self._rested: float | None = None
        self._driving = False

    def step(self, good: bool, resting: bool, dt: float, age: float) -> bool:
        """Take one sample and say whether sticks are obeyed.

        Parameters
        ----------
        good : bool
            Both pulses are possible ones.
        resting : bool
            Both sticks are at their centres.
        dt, age : float
            Seconds since the sample before; age of the pulses in seconds.
        """
        before = self._age
        self._age = age if good else max(before + dt, age)
        if self._age > self._timeout + _TIME_GRAIN:
            self._driving, self._rested = False, None
        elif not self._driving:
            # What was heard moves on by the step, less what the pulses have aged in it.
            self._rest(good and resting, dt + before - age)
        return self._driving

    def _rest(self, resting: bool, heard: float) -> None:
        """Count the time at rest that was heard of, from the first pulse at rest to the last.

        A pulse that only grows older says nothing of where the stick is now.
        """
        if not resting:
            self._rested = None
            return
        self._rested = 0.0 if self._rested is None else max(0.0, self._rested + heard)
        self._driving = self._rested >= self._centred_first - _TIME_GRAIN


class Live:
    """A path while it runs.  Made by `Chain.live`; begins at power-up."""

    def __init__(self, chain: Chain) -> None:
        self._chain = chain
        self.restart()

    def restart(self) -> None:
        """Begin again as after power-up: commands 0, nothing heard, centres not yet learned."""
        chain = self._chain
        self._gate = Gate(chain.timeout_s, chain.centred_first_s)
        self._sticks = list(chain.sticks)
        self._heard: list[float | None] = [None, None]
        self._state: FloatArray = np.zeros(2)

    def step(self, first_us: float, second_us: float, dt: float, age_s: float = 0.0) -> Step:
        """Take one pair of pulses and return the commands now; see `Chain.run`."""
        run = self.feed([first_us], [second_us], dt, age_s)
        return Step(
            float(run.left[0]),
            float(run.right[0]),
            int(run.left_out[0]),
            int(run.right_out[0]),
            bool(run.driving[0]),
        )

    def feed(
        self, first_us: ArrayLike, second_us: ArrayLike, dt: ArrayLike, age_s: ArrayLike = 0.0
    ) -> Run:
        """Take many pairs of pulses, going on from where the last call ended."""
        pulses = [np.atleast_1d(np.asarray(us, dtype=np.float64)) for us in (first_us, second_us)]
        if pulses[0].ndim != 1 or pulses[0].shape != pulses[1].shape:
            raise ValueError(
                f"first_us has shape {pulses[0].shape} and second_us {pulses[1].shape}; "
                "give two traces of one length."
            )
        count = len(pulses[0])
        steps, ages = time_steps(dt, count), _ages(age_s, count)
        good_first, good_second = (np.asarray(self._sticks[k].possible(pulses[k])) for k in (0, 1))
        good = good_first & good_second
        first, second = (self._positions(k, pulses[k]) for k in (0, 1))
        zones = self._chain.rest_zones()
        resting = (np.abs(first) <= zones[0]) & (np.abs(second) <= zones[1])
        driving = self._obeyed(good, resting, steps, ages)
        left, right = self._commands(first, second, driving, steps)
        left_out, right_out = self._chain.coded(left, right)
        return Run(left, right, left_out, right_out, driving)

    def _positions(self, k: int, pulses: FloatArray) -> FloatArray:
        """Stick positions, the last good pulse standing in for impossible ones."""
        good = np.asarray(self._sticks[k].possible(pulses))
        heard = self._heard[k]
        if heard is None and good.any() and self._chain.learned_centre:
            first = float(pulses[int(np.argmax(good))])
            self._sticks[k] = self._sticks[k].relearned(first)
        before = self._sticks[k].centre if heard is None else heard
        last = np.maximum.accumulate(np.where(good, np.arange(len(pulses)), -1))
        held = np.where(last >= 0, pulses[last], before)
        if len(held) and (heard is not None or good.any()):
            self._heard[k] = float(held[-1])
        sign = -1.0 if self._chain.reversed[k] else 1.0
        return np.asarray(sign * self._sticks[k].position(held))

    def _obeyed(
        self,
        good: NDArray[np.bool_],
        resting: NDArray[np.bool_],
        steps: FloatArray,
        ages: FloatArray,
    ) -> NDArray[np.bool_]:
        samples = zip(good.tolist(), resting.tolist(), steps.tolist(), ages.tolist(), strict=True)
        return np.array([self._gate.step(*sample) for sample in samples], dtype=np.bool_)

    def _commands(
        self,
        first: FloatArray,
        second: FloatArray,
        driving: NDArray[np.bool_],
        steps: FloatArray,
    ) -> tuple[FloatArray, FloatArray]:
        chain = self._chain
        shaped = np.stack([chain.shapes[0](first), chain.shapes[1](second)], axis=1)
        shaped *= driving[:, None]
        if chain.acts_on == "sticks":
            limited = chain.slew.trace(self._state, shaped, steps)
            self._state = limited[-1].copy() if len(limited) else self._state
            left, right = chain.mix(limited[:, 0], limited[:, 1])
            return left, right
        target = np.stack(chain.mix(shaped[:, 0], shaped[:, 1]), axis=1)
        limited = chain.slew.trace(self._state, target, steps, chain.acts_on == "together")
        # A copy, so that whoever changes the arrays of a `Run` does not move the machine.
        self._state = limited[-1].copy() if len(limited) else self._state
        return limited[:, 0], limited[:, 1]


def _ages(age_s: ArrayLike, count: int) -> FloatArray:
    ages = np.asarray(age_s, dtype=np.float64)
    if ages.ndim > 1 or (ages.ndim == 1 and len(ages) != count):
        raise ValueError(
            f"age_s has shape {ages.shape} for {count} samples; give one number or one per sample."
        )
    # Written so that NaN fails it too.
    if not (ages >= 0.0).all():
        raise ValueError("age_s holds a negative age or NaN; give 0 s or more, infinity for never.")
    return np.broadcast_to(ages, (count,))
