"""What each assumption does to the answer, and where the answer turns round."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from curvelib.practice.plan import Plan
from curvelib.practice.results import Compared, Interval, compare
from curvelib.practice.rig import Rig
from curvelib.practice.trial import Run

# Values tried for each assumption; the plan's own value is always among them.
TRIED: Mapping[str, tuple[float, ...]] = MappingProxyType(
    {
        "tremor": (0.0, 0.01, 0.02, 0.05, 0.1),
        "growing": (0.0, 0.1, 0.2, 0.3),
        "shake_s": (0.04, 0.1, 0.3, 1.0),
        "reaction_s": (0.0, 0.2, 0.4, 0.6),
        "crossover": (0.8, 1.5, 2.5, 4.0),
        "approach_m_s": (0.2, 0.5, 1.0),
        "close_enough_m": (0.005, 0.02, 0.05),
        "misjudged_m": (0.0, 0.01, 0.05),
        "knows_shape": (0.0, 0.5, 0.9, 1.0),
    }
)


@dataclass(frozen=True)
class Tried:
    """What came out with one assumption at one value."""

    value: float
    found: Mapping[str, Compared]


class Sensitivity:
    """Trials of a shape and its straight comparison under one changed assumption after another.

    Parameters
    ----------
    rig : Rig
        The machine with the shape under test.
    plan : Plan
        What is assumed otherwise.
    trials : int
        For each value, at least 2.
    seed : int
        Of the random numbers; the same for all, so that values compare.
    names : sequence of str
        Assumptions to change.
    """

    def __init__(
        self,
        rig: Rig,
        plan: Plan,
        trials: int,
        seed: int = 1,
        names: Sequence[str] = tuple(TRIED),
    ) -> None:
        self._rigs = rig, rig.straightened()
        self._plan, self._trials, self._seed = plan, trials, seed
        self._cases = [(name, value) for name in names for value in tried_values(plan, name)]
        self._found: dict[Plan, dict[str, Compared]] = {}
        self.results: dict[str, list[Tried]] = {name: [] for name in names}

    def __iter__(self) -> Iterator[float]:
        """Work; yield the share done now and then, so that the caller can stop."""
        for place, (name, value) in enumerate(self._cases):
            plan = self._plan.with_value(name, value)
            if plan not in self._found:
                for share in self._work(plan):
                    yield (place + share) / len(self._cases)
            self.results[name].append(Tried(value, self._found[plan]))
        yield 1.0

    def _work(self, plan: Plan) -> Iterator[float]:
        runs = [Run(rig, plan, self._trials, self._seed) for rig in self._rigs]
        for half, going in enumerate(runs):
            for share in going:
                yield 0.5 * (half + share)
        self._found[plan] = compare(*(going.outcome() for going in runs))


def tried_values(plan: Plan, name: str) -> tuple[float, ...]:
    """Values tried for an assumption, ascending, the plan's own among them."""
    return tuple(sorted({*TRIED[name], float(plan.value(name))}))


def turns_round(
    values: Sequence[float], differences: Sequence[Interval]
) -> list[tuple[float, float]]:
    """Where the answer turns round.

    Parameters
    ----------
    values : sequence of float
        Ascending values of one assumption.
    differences : sequence of Interval
        Mean difference at each.

    Returns
    -------
    list of (float, float)
        Neighbouring values between which the difference changes sign; only
        values at which the sign is beyond doubt count, so those in doubt
        between two lie inside.
    """
    sure = [
        (value, diff.sign) for value, diff in zip(values, differences, strict=True) if diff.sign
    ]
    return [(before, after) for (before, sign), (after, other) in pairwise(sure) if sign != other]
