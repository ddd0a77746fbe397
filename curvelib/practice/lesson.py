"""The sums behind the lesson: what a shape does to shaking, to steps and to a target's size.

Small signals: a shape passes a small movement multiplied by its slope where the
thumb is.  Commands are shares of full speed, thumbs shares of stick travel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, NamedTuple

import numpy as np

from curvelib.curves import CubicBlend
from curvelib.odd import OddCurve
from curvelib.params import Checked, FloatArray, Param
from curvelib.practice.operator import Hand

# The example machine of the lesson's first steps: invented, easy to do sums with.
EXAMPLE_TOP_M_S = 1.0
EXAMPLE_WANTED_M_S = 0.1
# Where every cubic blend is as steep as a straight stick.
AS_STEEP_AS_STRAIGHT = 1.0 / math.sqrt(3.0)


_SOFTNESS = Param(0.0, 0.9, 0.05, "Softness", "0 is a straight stick; more is softer.")


@dataclass(frozen=True)
class Lesson(Checked):
    """The sliders of the lesson, one a step.

    Parameters
    ----------
    tremor : float
        Additive shaking of the thumb, rms, share of travel.
    steps : int
        Different positions the transmitter sends, end to end; an odd number
        has one at the centre.
    blend, price, target : float
        Blend of the softer stick: near the centre, at the far end, and where a
        target is to be hit.
    growing : float
        Shaking that grows with the deflection, rms, share of the deflection.
    """

    tremor: Annotated[
        float,
        Param(
            0.0, 0.1, 0.005, "Hand tremor", "Usual shaking of the thumb: 0.02 is 2 % of its travel."
        ),
    ] = 0.02
    steps: Annotated[
        int,
        Param(17, 513, 16, "Stick steps", "How many positions the transmitter sends, end to end."),
    ] = 65
    blend: Annotated[float, _SOFTNESS] = 0.6
    price: Annotated[float, _SOFTNESS] = 0.6
    growing: Annotated[
        float,
        Param(
            0.0, 0.3, 0.01, "Growing noise", "Shaking: 0.1 is a tenth of how far the stick is out."
        ),
    ] = 0.1
    target: Annotated[float, _SOFTNESS] = 0.6


def tremor_out(shape: OddCurve, command: float, tremor: float) -> float:
    """Shaking of the command, rms, where additive tremor meets a stick held at a command.

    Parameters
    ----------
    shape : OddCurve
        Of the stick.
    command : float
        Held command, within reach of the shape.
    tremor : float
        rms, share of stick travel.

    Returns
    -------
    float
        tremor times the slope where the thumb is; small signals.
    """
    return tremor * float(shape.slope(float(shape.inverse(command))))


def relative_gain(shape: OddCurve, command: float) -> float:
    """Share by which the command changes over the share by which the stick does: x f'(x)/f(x).

    1 for a straight stick, n for x^n: noise that grows with the deflection
    comes out multiplied by it.

    Parameters
    ----------
    shape : OddCurve
        Without a dead zone.
    command : float
        Held command, above 0 and within reach.
    """
    thumb = float(shape.inverse(command))
    return thumb * float(shape.slope(thumb)) / command


def step_at_rest(shape: OddCurve, steps: int) -> float:
    """Command of the first stick step beside the centre, for an odd number of steps."""
    return float(shape(2.0 / (steps - 1)))


class Target(NamedTuple):
    """A band of commands to hit, as the thumb meets it.

    Attributes
    ----------
    distance : float
        Thumb travel to the middle of the band.
    width : float
        Thumb travel from its near to its far edge.
    difficulty : float
        Index of difficulty, bits.
    """

    distance: float
    width: float
    difficulty: float


def target_on_stick(shape: OddCurve, command: float, half_width: float) -> Target:
    """Thumb travel to a band of commands, and Fitts's index of difficulty of hitting it.

    Parameters
    ----------
    shape : OddCurve
        Of the stick.
    command, half_width : float
        Middle and half width of the band, shares of full speed; the band does
        not reach 0.

    Notes
    -----
    log2(distance/width + 1), the Shannon form of ISO 9241-411 (read).  The
    distance is to the middle of the band of commands.
    """
    if not 0.0 < half_width < command:
        raise ValueError("The band must not reach 0: give a half width below the command.")
    distance = float(shape.inverse(command))
    width = float(shape.inverse(command + half_width) - shape.inverse(command - half_width))
    return Target(distance, width, math.log2(distance / width + 1.0))


def softer(blend: float) -> CubicBlend:
    """Return the softer centre of the lesson."""
    return CubicBlend(blend)


def shaking_sample(frames: int, frame_s: float, hand: Hand, seed: int = 8) -> FloatArray:
    """One stretch of first-order shaking, shape (frames,), brought to mean 0 and rms 1."""
    random = np.random.default_rng(seed)
    kept = math.exp(-frame_s / hand.shake_s)
    out = random.standard_normal(frames)
    for frame in range(1, frames):
        out[frame] = kept * out[frame - 1] + math.sqrt(1.0 - kept * kept) * out[frame]
    out -= out.mean()
    return np.asarray(out / out.std())
