"""What the trials say, in words: never more than the whole interval bears out."""

from __future__ import annotations

from curvelib.panels.bones import Figure
from curvelib.panels.trial_view import fine_length
from curvelib.panels.units import Units, percent
from curvelib.params import params_of
from curvelib.practice.plan import Outcome
from curvelib.practice.results import MEASURES, Compared, Measure, share_of
from curvelib.practice.rig import Rig
from curvelib.practice.stick_table import hardly_moves
from curvelib.tune import Machine

_SAME_SLOPE = 0.02
_BOUND = "\u00a0"  # a space at which no line breaks


def amount(value: float, measure: Measure, units: Units) -> str:
    """A value of a measure with its unit, such as "9.2 mm", "5.17 s" or "1.04"."""
    if measure.unit == "m":
        unit, size = fine_length(units)
        return f"{value / size:.{2 if unit == 'in' else 1}f} {unit}"
    return f"{value:.2f} {measure.unit}".strip()


def card(measure: Measure, found: Compared, units: Units) -> Figure:
    """One of the deciding numbers: the mean difference, with both means and the interval."""

    def told(value: float) -> str:
        return amount(value, measure, units)

    difference = found.difference
    way = "less" if difference.value < 0.0 else "more"
    if told(abs(difference.value)) == told(0.0):
        way = ""
    return Figure(
        f"{told(abs(difference.value))} {way}".strip(),
        measure.name,
        f"{told(found.shaped.value)} against {told(found.straight.value)} straight, "
        f"sure to ±{_BOUND}{told(difference.half).replace(' ', _BOUND)}",
    )


def sentence(
    name: str, rig: Rig, found: dict[str, Compared], shaped: Outcome, straight: Outcome
) -> str:
    """Say what came out, for which machine, and what had to be assumed."""
    first = rig.chain.shapes[0].first_slope
    plain = rig.straightened().chain.shapes[0].first_slope
    if hardly_moves(rig.chain.shapes[0]) or first <= 0.0:
        return f"{name}: this stick hardly moves the machine, so there is nothing to compare."
    if abs(first / plain - 1.0) < _SAME_SLOPE:
        told = f"{name}: this stick is as strong near the centre as the straight one. It "
    else:
        softer = f"{plain / first:.1f} times softer" if first < plain else "stronger"
        told = f"{name}, {len(shaped)} tries of each stick. The stick, {softer} near the centre, "
    return told + _verdicts(found) + _not_parked(shaped, straight) + _assumed(rig)


def _verdicts(found: dict[str, Compared]) -> str:
    """Group the measures by what can be said of them."""
    groups: dict[str, list[str]] = {}
    for name, measure in MEASURES.items():
        groups.setdefault(found[name].verdict, []).append(measure.name)
    return (
        "; it ".join(_VERDICTS[verdict].format(listed(names)) for verdict, names in groups.items())
        + "."
    )


_VERDICTS = {
    "helps": "lowers {}",
    "hurts": "raises {}",
    "makes no difference worth having": "makes no difference worth having to {}",
    "is not decided": "is too close to call for {}",
}


def listed(names: list[str]) -> str:
    """Join words as in "a, b and c"."""
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def _not_parked(shaped: Outcome, straight: Outcome) -> str:
    """Say where operators never let go, since their time is then only the longest allowed."""
    shares = [share_of(~outcome.parked).value for outcome in (shaped, straight)]
    if max(shares) == 0.0:
        return ""
    return (
        f" Not parked within {max(straight.time_s.max(), shaped.time_s.max()):.0f} s: "
        f"{percent(shares[0])} with this stick, {percent(shares[1])} with the straight one."
    )


def _assumed(rig: Rig) -> str:
    """Name the facts that the machine file does not give."""
    if not rig.assumed:
        return ""
    labels = params_of(Machine)
    names = listed([labels[name].label.lower() for name in rig.assumed])
    return f" Not in the file, so assumed: {names}."


def worth_words(units: Units) -> str:
    """Say from where on a difference counts."""
    told = [amount(measure.worth, measure, units) for measure in MEASURES.values()]
    few = f"{', '.join(told[:-1])} or {told[-1]} reversals"
    return f"A difference of less than {few} counts as not worth having: our judgement."
