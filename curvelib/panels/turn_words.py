"""The turn panel's words: deciding numbers, the sentence, the tables below the picture."""

from __future__ import annotations

import math

from curvelib.machine.motion import BodyMotion
from curvelib.machine.spin import Spin
from curvelib.panels.bones import Figure
from curvelib.panels.fact_table import table
from curvelib.panels.turn_facts import Going, Tightest, TurnFacts
from curvelib.panels.units import Units, percent
from curvelib.params import params_of
from curvelib.tune import Machine, Supply

# Below this radius in m a machine turns on the spot as far as anyone can see.
ON_THE_SPOT = 0.005
# Beyond this radius in m it goes straight as far as anyone can see.
NEARLY_STRAIGHT = 200.0
_NEEDED_FOR_DRIVES = (
    ("machine", "torque_per_amp_nm"),
    ("supply", "current_limit_a"),
    ("machine", "wheel_radius_m"),
)
_RESISTS = {
    "wheels": "wheels at four corners: grip x weight x half the wheelbase",
    "tracks": "tracks, evenly loaded: grip x weight x a quarter of their length",
    "casters": "casters swing round; a little more until they have",
}


def radius_text(motion: BodyMotion, units: Units) -> str:
    """The turning radius in words and a number."""
    if motion.yaw_rate == 0.0:
        return "straight on" if motion.speed else "standing still"
    size = abs(motion.radius)
    if size < ON_THE_SPOT:
        return "on the spot"
    if size > NEARLY_STRAIGHT:
        return "nearly straight"
    return units.text(size, "m")


def yaw_text(motion: BodyMotion) -> str:
    """How fast it turns."""
    return f"{abs(math.degrees(motion.yaw_rate)):.0f} deg/s"


def turn_time(motion: BodyMotion) -> str:
    """How long a full turn takes, and which way round it goes."""
    if motion.yaw_rate == 0.0:
        return "it does not turn"
    way = "anticlockwise" if motion.yaw_rate > 0.0 else "clockwise"
    return f"a full turn in {2.0 * math.pi / abs(motion.yaw_rate):.1f} s, {way}"


def cards(facts: TurnFacts, units: Units) -> list[Figure]:
    """The three deciding numbers."""
    motion, swept = facts.going.motion, facts.plan.swept
    turns = abs(motion.yaw_rate) > 0.0 and abs(motion.radius) <= NEARLY_STRAIGHT
    corner = f"corners sweep a circle of {units.text(swept.outer, 'm')} radius" if turns else ""
    return [
        Figure(radius_text(motion, units), "turning radius, to the middle", corner),
        Figure(yaw_text(motion), "yaw rate", turn_time(motion)),
        _moment_card(facts),
    ]


def _moment_card(facts: TurnFacts) -> Figure:
    what, found = "resists turning on the spot", facts.spin
    if found is None:
        return Figure("not known", what, "needs the mass")
    value = f"{found.resisting:.0f} N m" if found.resisting else "almost nothing"
    if found.driving is None:
        return Figure(value, what, "what the drives give is not known")
    verdict = "enough" if found.driving > found.resisting else "not enough"
    return Figure(value, what, f"the drives give {found.driving:.0f} N m: {verdict}")


def sentence(facts: TurnFacts, units: Units) -> str:
    """What the picture shows now."""
    motion = facts.going.motion
    if motion.speed == 0.0 and motion.yaw_rate == 0.0:
        return "The sticks are at rest, or so near it that nothing moves."
    pace = (
        f"{units.text(abs(motion.speed), 'm/s')} {'forward' if motion.speed >= 0 else 'backward'}"
    )
    ahead = facts.scene.ahead_s
    if motion.yaw_rate == 0.0:
        rolls = units.text(abs(motion.speed) * ahead, "m")
        return f"Straight on at {pace}: {rolls} in {ahead:.1f} s."
    turned = abs(math.degrees(motion.yaw_rate)) * ahead
    way = "right" if motion.yaw_rate < 0.0 else "left"
    if abs(motion.radius) < ON_THE_SPOT:
        what = f"It turns {way} on the spot, {turned:.0f} degrees in {ahead:.1f} s."
    else:
        what = f"It goes at {pace} and turns {turned:.0f} degrees to the {way} in {ahead:.1f} s."
    inner = units.text(facts.plan.swept.inner, "m")
    near = (
        f"Nothing of it comes nearer than {inner} to the turning centre."
        if (0.0 < facts.plan.swept.inner < NEARLY_STRAIGHT)
        else ""
    )
    return f"{what} {near}".strip()


def pointer_words(facts: TurnFacts, sticks: tuple[float, float] | None, units: Units) -> str:
    """What the sticks would do at the pointer."""
    if sticks is None:
        return (
            "Point at the stick plane to read radius and yaw rate there; press and drag to "
            "put the sticks there. The two sliders do the same."
        )
    motion = facts.at(*sticks).motion
    names = ("throttle", "steer") if facts.tank else ("left stick", "right stick")
    place = ", ".join(f"{n} {percent(x)}" for n, x in zip(names, sticks, strict=True))
    return (
        f"At the pointer ({place}): {_radius_phrase(motion, units)}, "
        f"yaw rate {yaw_text(motion)}, {units.text(abs(motion.speed), 'm/s')}."
    )


def _radius_phrase(motion: BodyMotion, units: Units) -> str:
    text = radius_text(motion, units)
    return f"radius {text}" if text[0].isdigit() else text


def rules_table(facts: TurnFacts, units: Units) -> str:
    """The three overflow rules beside each other."""
    if not facts.tank:
        return table(
            [["Independent mixing has no overflow: each stick asks one side alone."]], bold=()
        )
    inside = {tuple(_sides(goes)) for goes, _ in facts.rules.values()}
    head = ["Rule", "Radius", "Yaw rate", "Speed", "Left, right", "What it does"]
    rows = [
        [
            f"“{rule}”",
            radius_text(goes.motion, units),
            yaw_text(goes.motion),
            units.text(goes.motion.speed, "m/s"),
            ", ".join(_sides(goes)),
            _RULE_WORDS[rule] if len(inside) > 1 else "no side overflows here",
        ]
        for rule, (goes, _) in facts.rules.items()
    ]
    return table(rows, head, bold=(1, 2, 3))


_RULE_WORDS = {
    "scale": "slows both sides, keeps the radius",
    "clip": "cuts the fast side, the turn widens",
    "keep turn": "gives up throttle, keeps the yaw rate",
}


def _sides(goes: Going) -> list[str]:
    return [percent(goes.left), percent(goes.right)]


def spin_table(facts: TurnFacts, units: Units) -> str:
    """Turning on the spot: what resists, what drives, what is scrubbed."""
    spot, found = facts.spot.motion, facts.spin
    rows = [["Full stick on the spot", yaw_text(spot), turn_time(spot)]]
    if found is None:
        rows.append(["Friction resists", "not known", "needs the mass of the machine"])
    else:
        rows += _moment_rows(facts, found)
    scrub = facts.scrub
    rows.append(
        [
            "It scrubs",
            units.text(scrub.total, "m"),
            f"over the ground in one full turn ({units.text(scrub.sideways, 'm')} sideways, "
            f"{units.text(scrub.lengthways, 'm')} lengthways). When turf shears is not known in "
            "general: try it on a patch that does not matter.",
        ]
    )
    return table(rows)


def _moment_rows(facts: TurnFacts, found: Spin) -> list[list[str]]:
    contact = facts.tune.machine.contact
    resists = f"{found.resisting:.0f} N m" if found.resisting else "almost nothing"
    rows = [["Friction resists", resists, _RESISTS[contact]]]
    if found.driving is None:
        rows.append(["The drives give", "not known", f"needs {_missing(facts)}"])
    else:
        amps = facts.tune.supply.current_limit_a or 0.0
        enough = (
            "enough: it turns"
            if found.driving > found.resisting
            else "not enough: it does not turn on the spot; turn on an arc instead"
        )
        at_limit = f"at {amps:g} A a side, {enough}"
        rows.append(["The drives give", f"{found.driving:.0f} N m", at_limit])
    first = (
        "less than what resists: wheels or tracks may spin first"
        if found.resisting >= found.grip
        else "more than what resists"
    )
    rows.append(["It grips for", f"{found.grip:.0f} N m", f"at most, {first}"])
    return rows


def _missing(facts: TurnFacts) -> str:
    tune = facts.tune
    labels = {"machine": params_of(Machine), "supply": params_of(Supply)}
    names = [
        labels[section][key].label.lower()
        for section, key in _NEEDED_FOR_DRIVES
        if getattr(getattr(tune, section), key) is None
    ]
    return ", ".join(names)


def tightest_table(facts: TurnFacts, units: Units) -> str:
    """Least radius at the speed named, and what limits it."""
    found = facts.tightest
    if found.drives is None or found.radius is None:
        return table([["Faster than this machine's top speed.", "", ""]])
    rows = [
        ["Tightest radius", _metres(found.radius, units), f"limited by {_limiter(found)}"],
        [
            "The drives allow",
            _metres(found.drives, units),
            f"outer side at full speed{_reach_words(facts)}",
        ],
        [
            "Grip allows",
            _metres(found.slide, units),
            "before it slides sideways on the level"
            + ("; casters hold less" if facts.tune.machine.contact == "casters" else ""),
        ],
        [
            "Footing allows",
            "not known" if found.tip is None else _metres(found.tip, units),
            "needs the height of the centre of mass"
            if found.tip is None
            else "before it tips sideways on the level",
        ],
    ]
    return table(rows)


def _metres(radius: float, units: Units) -> str:
    return "none" if math.isinf(radius) else units.text(radius, "m")


def _limiter(found: Tightest) -> str:
    by = {"the drives": found.drives or 0.0, "grip": found.slide, "footing": found.tip or 0.0}
    return max(by, key=lambda name: by[name])


def _reach_words(facts: TurnFacts) -> str:
    """Say where the sticks cannot ask for that much."""
    if not facts.tank:
        return ""
    turn = facts.chain.steer_share * float(facts.chain.shapes[1](1.0))
    if turn >= 0.995:
        return ""
    return f"; but full steer asks only for {percent(turn)} of it here"
