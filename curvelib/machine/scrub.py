"""How far contact patches slide over the ground when a machine turns.

At which distance turf shears is not known in general: it depends on grass,
soil and rain, so nothing here says so.
"""

from __future__ import annotations

from typing import NamedTuple, get_args

import numpy as np
from numpy.typing import ArrayLike

from curvelib.machine.checks import (
    FloatOrArray,
    as_given,
    broadcast,
    not_negative,
    positive,
    within,
)
from curvelib.params import FloatArray
from curvelib.tune import Contact

CONTACTS: tuple[str, ...] = get_args(Contact)

# Lever of the friction force about the turning centre, as a share of the wheelbase.
# Tracks: the mean of |x| over -L/2..L/2 (texts on tracked vehicles, from memory;
# one integral).  Wheels: all four at half the wheelbase.  Casters swing and roll.
_LEVER_SHARE: dict[str, float] = {"tracks": 0.25, "wheels": 0.5, "casters": 0.0}


class Scrub(NamedTuple):
    """How far the contact patches slide over the ground in one full turn of the machine, in m.

    Attributes
    ----------
    sideways : float or ndarray
        Across the machine, the mean over the contact: from the turning itself.
    lengthways : float or ndarray
        Along the machine, from skidding; 0 where turning_share is 1.
    total : float or ndarray
        Both together, the mean over the contact.
    """

    sideways: FloatOrArray
    lengthways: FloatOrArray
    total: FloatOrArray


def lever_share(contact: str) -> float:
    """Lever of the friction force about the turning centre, as a share of the wheelbase."""
    if contact not in _LEVER_SHARE:
        raise ValueError(
            f"contact = {contact!r} is not known; give 'wheels', 'tracks' or 'casters'."
        )
    return _LEVER_SHARE[contact]


def scrub_per_turn(
    wheelbase: ArrayLike,
    track: ArrayLike,
    contact: Contact = "wheels",
    turning_share: ArrayLike = 1.0,
) -> Scrub:
    """How far the contact patches slide in one full turn, on the spot or on an arc.

    Parameters
    ----------
    wheelbase, track : float or array_like
        m; for tracks, wheelbase is the length on the ground.
    contact : {"wheels", "tracks", "casters"}
        "casters" scrub nothing sideways here.
    turning_share : float or array_like
        Real yaw over ideal yaw, above 0 to 1: what is missing, wheels slip
        lengthways, shared alike by both sides.

    Returns
    -------
    Scrub
        Distances in m; sideways pi x wheelbase for wheels, half that for tracks.

    Raises
    ------
    ValueError
        For NaN, infinity, a value out of range or an unknown contact.
    """
    base, width, share = broadcast(
        wheelbase=not_negative(wheelbase, "wheelbase", "m"),
        track=positive(track, "track", "m"),
        turning_share=within(turning_share, "turning share", 1e-3, 1.0),
    )
    sideways = 2.0 * np.pi * lever_share(contact) * base
    lengthways = np.pi * width * (1.0 / share - 1.0)
    if contact == "tracks":
        total = _mean_slide(np.asarray(np.pi * base), lengthways)
    else:
        total = np.hypot(sideways, lengthways)
    return Scrub(as_given(sideways), as_given(lengthways), as_given(total))


def _mean_slide(end: FloatArray, along: FloatArray) -> FloatArray:
    """Mean of hypot(u, along) for u evenly spread over -end..end."""
    slides = (end > 0.0) & (along > 0.0)
    safe_end, safe_along = np.where(slides, end, 1.0), np.where(slides, along, 1.0)
    bent = safe_along**2 / safe_end * np.arcsinh(safe_end / safe_along)
    both = 0.5 * (np.hypot(safe_end, safe_along) + bent)
    return np.where(slides, both, end / 2.0 + along)
