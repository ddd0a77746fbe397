"""How finely the slow end of a stick can be commanded, through the whole path."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from curvelib.curves import Linear
from curvelib.params import FloatArray, Param, checked_number
from curvelib.shape import Shape

if TYPE_CHECKING:
    from curvelib.chain import Chain
    from curvelib.tune import Channel

SLOW_BAND = Param(
    0.0, 15.0, 0.05, "Slow band", "Upper end of the speeds looked at.", "m/s", inside=True
)


@dataclass(frozen=True)
class SlowEnd:
    """What a stick can do in the slow band, from just moving up to a named speed.

    Parameters
    ----------
    travel_share : float
        Share of the stick's forward travel that moves the wheel at up to the
        named speed; the dead zone, which moves nothing, is not counted.
    stick_steps : int
        Different stick steps in that band (whole microseconds where the
        machine file names no steps).
    output_steps : int
        Different outputs that those stick steps reach.
    least_speed : float
        Lowest speed above 0 that can be commanded, m/s; 0 if none can.
    largest_jump : float
        Largest change of speed, m/s, from one stick step to the next, among
        steps that begin at or below the named speed, standing still included.
    first_slope : float
        Command gained per stick travel just beyond the dead zone.
    linear : SlowEnd or None
        The same for a plain linear stick through the same path.
    """

    travel_share: float
    stick_steps: int
    output_steps: int
    least_speed: float
    largest_jump: float
    first_slope: float
    linear: SlowEnd | None = None


def slow_end(chain: Chain, channel: Channel, speed: float) -> SlowEnd:
    """Measure the slow end of a stick through shape, mix, motor start and output steps.

    Parameters
    ----------
    chain : Chain
        The path; its machine file must name the top speed.
    channel : {"throttle", "steer"}
        The stick that is moved forward (right) while the other rests at 0.
        The figures are for the left wheel; in independent mixing "steer" is
        the right stick, and they are for the right wheel.
    speed : float
        Upper end of the slow band, m/s, above 0 and below 15.

    Returns
    -------
    SlowEnd
        With ``.linear`` filled in.

    Raises
    ------
    ValueError
        If the speed is not a number in range, the channel is not known or the
        top speed is not.
    """
    if channel not in ("throttle", "steer"):
        raise ValueError(f"channel = {channel!r} is not known; give 'throttle' or 'steer'.")
    speed = checked_number(speed, SLOW_BAND, "speed")
    if chain.top_speed is None:
        raise ValueError(
            "The machine file names no top speed ([machine] top_speed_m_s), "
            "so no command can be told as a speed."
        )
    plain = Shape([Linear()])
    linear = _measure(replace(chain, shapes=(plain, plain)), channel, speed)
    return replace(_measure(chain, channel, speed), linear=linear)


def staircase(chain: Chain, channel: Channel) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Every forward stick step: position, speed share really reached, output units away from 0.

    Returns
    -------
    position, share, units : ndarray of float64, shape (n,)
        Position ascends from 0 to 1; share is of full speed, through output
        steps; units are signed as the motor is wired.
    """
    which = 0 if channel == "throttle" else 1
    stick, flipped = chain.sticks[which], chain.reversed[which]
    position = stick.position(_pulses(chain, which)) * (-1.0 if flipped else 1.0)
    position = np.unique(position[position >= 0.0])
    on_left = which == 0 or chain.mix.kind == "tank"
    rest = np.zeros_like(position)
    left, right = chain.steady(*((position, rest) if which == 0 else (rest, position)))
    side = chain.sides.left if on_left else chain.sides.right
    command = left if on_left else right
    units = chain.code_side(side, command) - chain.output.zero
    return position, chain.wheel_share(side, command), units


def _pulses(chain: Chain, which: int) -> FloatArray:
    """Every pulse width the stick can send: its levels, or whole microseconds."""
    stick = chain.sticks[which]
    if stick.steps is None:
        whole = np.arange(math.ceil(stick.low), math.floor(stick.high) + 1, dtype=np.float64)
        return np.concatenate([whole, [stick.low, stick.centre, stick.high]])
    return np.linspace(stick.low, stick.high, stick.steps)


def _measure(chain: Chain, channel: Channel, speed: float) -> SlowEnd:
    assert chain.top_speed is not None  # noqa: S101  checked by slow_end
    _, share, units = staircase(chain, channel)
    # Steps that differ by rounding alone are one step; a billionth of full speed is nothing.
    speeds = np.round(share * chain.top_speed, 12)
    slow = (speeds > 0.0) & (speeds <= speed * (1.0 + 1e-9))
    begins = speeds[:-1] <= speed * (1.0 + 1e-9)
    jumps = np.diff(speeds)[begins]
    moving = speeds[speeds > 0.0]
    gain = 1.0 if channel == "throttle" else chain.steer_share
    shape = chain.shape(channel)
    return SlowEnd(
        travel_share=_travel(shape, gain, speed / chain.top_speed),
        stick_steps=int(slow.sum()),
        output_steps=len(np.unique(units[slow])),
        least_speed=float(moving[0]) if len(moving) else 0.0,
        largest_jump=float(jumps.max()) if len(jumps) else 0.0,
        first_slope=gain * shape.first_slope,
    )


def _travel(shape: Shape, gain: float, share: float) -> float:
    """Travel from where motion begins to where it passes a share of full speed."""
    begin = shape.starts_at
    if gain == 0.0 or begin >= 1.0:
        return 0.0
    wanted = share / gain
    end = 1.0 if wanted >= shape(1.0) else shape.inverse(wanted)
    return float(max(end - begin, 0.0))
