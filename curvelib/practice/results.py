"""What trials say, with how surely they say it.

Intervals hold the true value in 95 of 100 repetitions.  Two shapes are
compared trial by trial, since both met the same shaking hand: the differences
vary far less than the trials themselves.

References
----------
M. Abramowitz and I. A. Stegun, *Handbook of Mathematical Functions*, 1964, 26.7.5
(from memory): Student's factor from the normal one.
E. B. Wilson, "Probable inference, the law of succession, and statistical
inference", J. Am. Stat. Assoc. 22 (1927) 209 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from statistics import NormalDist
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from curvelib.params import FloatArray, finite_array
from curvelib.practice.plan import Outcome

_Z = NormalDist().inv_cdf(0.975)
# Terms by which Student's factor exceeds the normal one, in powers of 1/degrees of freedom.
_STUDENT = (
    (_Z**3 + _Z) / 4.0,
    (5.0 * _Z**5 + 16.0 * _Z**3 + 3.0 * _Z) / 96.0,
    (3.0 * _Z**7 + 19.0 * _Z**5 + 17.0 * _Z**3 - 15.0 * _Z) / 384.0,
)

Verdict = Literal["helps", "hurts", "makes no difference worth having", "is not decided"]


@dataclass(frozen=True)
class Interval:
    """A value and its 95 % confidence interval."""

    value: float
    low: float
    high: float

    @property
    def half(self) -> float:
        """Half the width of the interval."""
        return 0.5 * (self.high - self.low)

    @property
    def sign(self) -> int:
        """-1 or +1 where the whole interval lies on that side of 0, else 0."""
        return (self.low > 0.0) - (self.high < 0.0)


def mean_of(values: ArrayLike) -> Interval:
    """Mean of independent values.

    Parameters
    ----------
    values : array_like, shape (n,)
        At least 2, finite.

    Returns
    -------
    Interval
        By Student's t, its factor by the usual series: within 1 % from 6
        values on.
    """
    array = finite_array(values, "results").ravel()
    count = len(array)
    if count < 2:
        raise ValueError(f"{count} values give no interval; give at least 2.")
    factor = _Z + sum(term / (count - 1) ** (k + 1) for k, term in enumerate(_STUDENT))
    mean, half = float(array.mean()), factor * float(array.std(ddof=1)) / math.sqrt(count)
    return Interval(mean, mean - half, mean + half)


def share_of(flags: ArrayLike) -> Interval:
    """Share of trials that are true, with Wilson's interval.

    Parameters
    ----------
    flags : array_like of bool, shape (n,)
        At least 1.
    """
    given = np.asarray(flags, dtype=np.bool_).ravel()
    count = len(given)
    if count == 0:
        raise ValueError("No trials give no share; give at least 1.")
    share, spread = float(given.mean()), _Z * _Z / count
    middle = (share + spread / 2.0) / (1.0 + spread)
    half = _Z / (1.0 + spread) * math.sqrt((share * (1.0 - share) + spread / 4.0) / count)
    return Interval(share, max(0.0, middle - half), min(1.0, middle + half))


@dataclass(frozen=True)
class Measure:
    """One thing that is measured on each trial.

    Parameters
    ----------
    name : str
        As in "time to park".
    unit : str
        SI unit, "" for a count.
    of : callable
        From `Outcome` to one number per trial.
    worth : float
        A difference smaller than this is not worth having: our own judgement.
    """

    name: str
    unit: str
    of: Callable[[Outcome], FloatArray]
    worth: float


MEASURES: Mapping[str, Measure] = MappingProxyType(
    {
        "error": Measure("final error", "m", lambda ended: ended.error_m, 0.002),
        "time": Measure("time to park", "s", lambda ended: ended.time_s, 0.2),
        "reversals": Measure(
            "reversals of the stick", "", lambda ended: ended.reversals.astype(np.float64), 0.2
        ),
    }
)


@dataclass(frozen=True)
class Compared:
    """One measure under two shapes.

    Parameters
    ----------
    shaped, straight : Interval
        Mean under the shape, and under the straight stick of equal top speed.
    difference : Interval
        Mean of shaped minus straight, trial by trial; negative: the shape helps.
    worth : float
        See `Measure`.
    """

    shaped: Interval
    straight: Interval
    difference: Interval
    worth: float

    @property
    def verdict(self) -> Verdict:
        """What can be said: only what the whole interval bears out."""
        if self.difference.high < -self.worth:
            return "helps"
        if self.difference.low > self.worth:
            return "hurts"
        if max(abs(self.difference.low), abs(self.difference.high)) <= self.worth:
            return "makes no difference worth having"
        return "is not decided"


def compare(shaped: Outcome, straight: Outcome) -> dict[str, Compared]:
    """Compare two sets of trials run with the same seed, trial by trial.

    Parameters
    ----------
    shaped, straight : Outcome
        Of equal length; where one was stopped early, the trials both have count.

    Returns
    -------
    dict
        By the names of `MEASURES`.
    """
    count = min(len(shaped), len(straight))
    found = {}
    for name, measure in MEASURES.items():
        of_shaped, of_straight = (measure.of(ended)[:count] for ended in (shaped, straight))
        found[name] = Compared(
            mean_of(of_shaped),
            mean_of(of_straight),
            mean_of(of_shaped - of_straight),
            measure.worth,
        )
    return found
