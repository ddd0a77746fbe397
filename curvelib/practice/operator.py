"""The model operator: how late he sees, how briskly he corrects, when he lets go, how he shakes.

Nobody was measured for this.  Each number carries where it comes from in
`SOURCES`; most are assumptions, and `curvelib.practice.sensitivity` shows what
each of them does to the answer.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Annotated

from curvelib.params import Checked, Param


@dataclass(frozen=True)
class Operator(Checked):
    """How the operator sees and decides.

    Near its crossover frequency the loop of a trained operator and whatever he
    controls is ``crossover * exp(-reaction_s * s) / s``: the crossover model.

    Parameters
    ----------
    reaction_s : float
        Time from what happens to what the thumb does about it, s.
    crossover : float
        Wanted speed over the distance still to go, 1/s (rad/s of the loop).
    approach_m_s : float
        Fastest speed he wants while parking, m/s.
    close_enough_m : float
        Distance at which he calls it parked and lets go, m; 0: never, he goes
        on correcting to the end.
    misjudged_m : float
        How far the place he aims at is from the right one, rms over trials, m.
    knows_shape : float
        1: he knows his stick and moves the thumb to where it gives the speed he
        wants; 0: he moves the thumb as on a straight stick; between: between.
    """

    reaction_s: Annotated[
        float,
        Param(
            0.0,
            1.0,
            0.02,
            "Reaction time",
            "From what you see to what your thumb does about it.",
            "s",
        ),
    ] = 0.2
    crossover: Annotated[
        float,
        Param(
            0.2,
            6.0,
            0.1,
            "Briskness",
            "Speed wanted for each metre still to go.",
            "1/s",
        ),
    ] = 1.5
    approach_m_s: Annotated[
        float,
        Param(0.05, 3.0, 0.05, "Approach speed", "Fastest speed wanted while parking.", "m/s"),
    ] = 0.5
    close_enough_m: Annotated[
        float,
        Param(
            0.0,
            0.2,
            0.005,
            "Close enough",
            "This near to the aim the stick is let go; 0: never.",
            "m",
        ),
    ] = 0.02
    misjudged_m: Annotated[
        float,
        Param(
            0.0,
            0.2,
            0.005,
            "Misjudged place",
            "How far off the aim usually is, by eye.",
            "m",
        ),
    ] = 0.01
    knows_shape: Annotated[
        float,
        Param(
            0.0,
            1.0,
            0.05,
            "Knows the stick",
            "1: the thumb has learned the shape; 0: it moves as on a straight stick.",
        ),
    ] = 1.0


@dataclass(frozen=True)
class Hand(Checked):
    """How the thumb misses where it should be.

    Position = intended + tremor + growing * |intended| * chance, the chance
    terms of unit rms, each with the memory of `shake_s` (first-order).

    Parameters
    ----------
    tremor : float
        Additive shaking, rms, share of stick travel.
    growing : float
        Shaking that grows with the deflection, rms, share of the deflection.
    shake_s : float
        How long one shake lasts: correlation time, s.
    """

    tremor: Annotated[
        float,
        Param(
            0.0,
            0.15,
            0.005,
            "Hand tremor",
            "Usual shaking of the thumb, as a share of stick travel.",
        ),
    ] = 0.02
    growing: Annotated[
        float,
        Param(
            0.0,
            0.5,
            0.01,
            "Growing noise",
            "Shaking as a share of how far the stick is pushed.",
        ),
    ] = 0.1
    shake_s: Annotated[
        float, Param(0.02, 2.0, 0.02, "Length of a shake", "How long one shake lasts.", "s")
    ] = 0.1


# Where each number comes from.  "From memory" and "second-hand" say how far a
# source was seen; all the rest is assumed, and shown to be.
SOURCES: Mapping[str, str] = MappingProxyType(
    {
        "reaction_s": "Typical for the crossover model (McRuer & Jex 1967, from memory).",
        "crossover": "Form of the loop: crossover model (McRuer & Jex 1967, formula computed, "
        "typical 3 from memory). For slow parking half of that is assumed.",
        "approach_m_s": "Assumed.",
        "close_enough_m": "Assumed.",
        "misjudged_m": "Assumed.",
        "knows_shape": "That people adapt to what they steer: crossover model (McRuer & Jex 1967, "
        "from memory). That they do so fully is assumed.",
        "tremor": "Assumed: no source was found for thumbs on sticks.",
        "growing": "That noise grows with the command: Harris & Wolpert, Nature 394 (1998) 780 "
        "(second-hand). How much is assumed.",
        "shake_s": "Assumed.",
        "distance_m": "Assumed.",
        "offset_m": "Assumed.",
        "look_ahead_m": "Assumed.",
        "duration_s": "Chosen.",
        "frame_s": "About 20 ms: common practice, no source.",
    }
)
