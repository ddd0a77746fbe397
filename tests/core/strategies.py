"""Hypothesis strategies for every part of the signal path; all values are invented.

Each draws from the whole range that the part allows, its ends, round numbers
and awkward ones alike.  They are made once and kept, since making them costs
more than drawing from them.
"""

from dataclasses import dataclass, field
from functools import cache

from hypothesis import strategies as st

from curvelib import (
    Chain,
    CubicBlend,
    Deadband,
    Expo,
    Independent,
    Limit,
    Linear,
    Points,
    Shape,
    SlewLimit,
    TankMix,
    Tune,
    TwoZone,
)
from curvelib.mixing import OVERFLOWS
from curvelib.output import OUTPUT_KINDS, Output
from curvelib.params import params_of
from curvelib.sides import Side, Sides
from curvelib.slew import ACTS_ON
from curvelib.stick import Stick, StickSetup
from curvelib.tune import ChannelSetup, Machine, SignalLoss, SlewSetup

# Parameters that have no place in any machine, for the tests of refusals.
NO_NUMBERS = (True, "0.5", "", None, 1j, [0.5], {"a": 1}, object())
NOT_IN_RANGE = (float("nan"), float("inf"), -float("inf"), 1e300, -1e300, 10**400, -(10**400))


@cache
def number_for(cls, name):
    """Numbers that one field of a dataclass allows: any, or on the slider's steps."""
    param = params_of(cls)[name]
    anywhere = st.floats(param.low, param.high, exclude_min=param.inside, exclude_max=param.inside)
    steps = round((param.high - param.low) / param.step)
    first, last = (1, steps - 1) if param.inside else (0, steps)
    on_steps = st.integers(first, last).map(
        lambda k: min(max(param.low + k * param.step, param.low), param.high)
    )
    return anywhere | on_steps


@cache
def positions():
    """Stick positions and commands, -1..1."""
    return st.floats(-1.0, 1.0) | st.integers(-20, 20).map(lambda k: k / 20)


@cache
def shares():
    """Shares, 0..1."""
    return st.floats(0.0, 1.0) | st.integers(0, 10).map(lambda k: k / 10)


@cache
def thousandths():
    """Shares of three decimals, as a builder types them."""
    return st.integers(0, 1000).map(lambda k: k / 1000)


# --- stages and shapes ----------------------------------------------------------------------


def _two_zone(knee_x, share):
    """Stage with a knee at a share of the highest that still rises."""
    highest = 2.0 * knee_x / (1.0 + knee_x)
    knee_y = highest * share if highest * share > 0.0 else highest
    return TwoZone(knee_x, knee_y) if 0.0 < knee_y < 1.0 else TwoZone(0.5, 0.25)


def _points(pairs):
    marks, values = zip(*pairs, strict=True) if pairs else ((), ())
    return Points([mark / 1000 for mark in sorted(marks)], sorted(values))


@cache
def point_lists(most=6, values=None):
    """`Points` stages, with flat runs, steep steps and neighbours 0.001 apart."""
    pair = st.tuples(st.integers(1, 999), shares() if values is None else values)
    return st.lists(pair, max_size=most, unique_by=lambda pair: pair[0]).map(_points)


@cache
def stages():
    """Any stage."""
    return st.one_of(
        st.just(Linear()),
        number_for(CubicBlend, "blend").map(CubicBlend),
        number_for(Expo, "gain").map(Expo),
        number_for(Deadband, "width").map(Deadband),
        number_for(Limit, "top").map(Limit),
        st.builds(_two_zone, number_for(TwoZone, "knee_x"), shares()),
        point_lists(),
    )


@cache
def round_stages():
    """Any stage with parameters of three decimals."""
    return st.one_of(
        st.just(Linear()),
        thousandths().map(CubicBlend),
        thousandths().map(lambda v: Expo(8 * v)),
        thousandths().map(lambda v: Deadband(v / 2)),
        thousandths().map(lambda v: Limit(0.05 + 0.95 * v)),
        st.builds(_two_zone, st.integers(1, 999).map(lambda k: k / 1000), thousandths()),
        point_lists(3, thousandths()),
    )


@cache
def shapes(most=3, of=None):
    """Shapes of any stages in any order."""
    return st.lists(stages() if of is None else of, max_size=most).map(Shape)


# --- sticks, mixes, ramps, motors, outputs --------------------------------------------------


def _ends(low, below, above):
    return low, low + below, low + below + above


@cache
def pulse_ranges():
    """Low, centre and high in us, from a usual transmitter's to very lopsided ones."""
    usual = st.sampled_from([(1000.0, 1500.0, 2000.0), (990.0, 1502.0, 2012.0)])
    span = st.floats(1.5, 499.0) | st.integers(2, 499).map(float)
    low = st.floats(0.0, 4000.0) | st.integers(0, 4000).map(float)
    return usual | st.builds(_ends, low, span, span)


@cache
def step_counts():
    """Levels that a transmitter sends, or None where they are not known."""
    return st.none() | st.integers(3, 4096)


@cache
def sticks():
    """Sticks with and without steps."""
    return st.builds(lambda ends, n: Stick(*ends, steps=n), pulse_ranges(), step_counts())


@cache
def mixes():
    """Every kind of mix and overflow rule."""
    tank = st.builds(TankMix, number_for(TankMix, "steer_share"), st.sampled_from(OVERFLOWS))
    return tank | st.just(Independent())


@cache
def ramps():
    """Ramp times in seconds, 0 among them."""
    return st.sampled_from([0.0, 0.1, 0.4, 1.0, 10.0]) | st.floats(0.0, 10.0)


@cache
def slews():
    """Slew limits."""
    return st.builds(SlewLimit, ramps(), ramps())


def _measured(inner, ends):
    marks = [0, *sorted(mark for mark, _ in inner), 100]
    commands = sorted([*ends, *(command for _, command in inner)])
    return tuple((mark / 100, command) for mark, command in zip(marks, commands, strict=True))


@cache
def measured_maps():
    """Measured points of one motor: none, or a few that never fall."""
    inner = st.tuples(st.integers(1, 99), shares())
    some = st.lists(inner, max_size=4, unique_by=lambda pair: pair[0])
    return st.just(()) | st.builds(_measured, some, st.tuples(shares(), shares()))


def _side(start, top, turned, measured):
    return Side(start, top if top > start else 1.0, turned, measured)


@cache
def motor_sides():
    """`Side` of one motor."""
    numbers = number_for(Side, "start"), number_for(Side, "top")
    return st.builds(_side, *numbers, st.booleans(), measured_maps())


def _pair_of_sides(left, right, swapped):
    facts = {"swapped": swapped}
    for name, side in (("left", left), ("right", right)):
        facts |= {f"{name}_start": side.start, f"{name}_top": side.top}
        facts |= {f"{name}_reversed": side.reversed, f"{name}_measured": side.measured}
    return Sides(**facts)


@cache
def side_pairs():
    """`Sides` of both motors."""
    return st.builds(_pair_of_sides, motor_sides(), motor_sides(), st.booleans())


@cache
def outputs():
    """Output codes of every kind."""
    span = st.integers(1, 1000)
    ends = st.just((1000, 1500, 2000)) | st.builds(_ends, st.integers(0, 3000), span, span)
    kinds, full = st.sampled_from(OUTPUT_KINDS), st.integers(1, 32767)
    return st.builds(lambda kind, ends, n: Output(kind, *ends, full=n), kinds, ends, full)


# --- machine files and paths ----------------------------------------------------------------


def _tune(speed, ends, steps, centre, turned, shapes_of_both, parts, ramp_times, times):
    mix, acts_on, sides, output = parts
    return Tune(
        machine=Machine(top_speed_m_s=speed),
        stick=StickSetup(*ends, steps, centre),
        throttle=ChannelSetup(reversed=turned[0], shape=shapes_of_both[0]),
        steer=ChannelSetup(reversed=turned[1], shape=shapes_of_both[1]),
        mix=mix,
        slew=SlewSetup(*ramp_times, acts_on),
        signal_loss=SignalLoss(*times),
        sides=sides,
        output=output,
    )


@cache
def tunes(centres=("fixed", "learned"), shape=None):
    """Whole machine files; times of signal loss are whole microseconds."""
    usual = st.sampled_from([0.0, 0.05, 0.1, 0.5, 0.8, 1.0])
    time = usual | st.integers(0, 2_000_000).map(lambda us: us / 1e6)
    both = shapes(2) if shape is None else shape
    return st.builds(
        _tune,
        st.floats(0.1, 14.0),
        pulse_ranges(),
        step_counts(),
        st.sampled_from(centres),
        st.tuples(st.booleans(), st.booleans()),
        st.tuples(both, both),
        st.tuples(mixes(), st.sampled_from(ACTS_ON), side_pairs(), outputs()),
        st.tuples(ramps(), ramps()),
        st.tuples(time, time),
    )


@cache
def chains(**choices):
    """Whole signal paths; takes the arguments of `tunes`."""
    return tunes(**choices).map(Chain.from_tune)


# --- what a receiver may hand over ----------------------------------------------------------

NEVER = -1
NO_PULSES = (float("nan"), float("inf"), -float("inf"), 0.0, -1.0, 1.0, 65535.0)


@dataclass
class Trace:
    """Pulses in us with their time steps and ages in whole microseconds; age NEVER is infinite."""

    first: list[float] = field(default_factory=list)
    second: list[float] = field(default_factory=list)
    dt_us: list[int] = field(default_factory=list)
    age_us: list[int] = field(default_factory=list)

    def add(self, first, second, dt_us, age_us=0, times=1):
        """Append the same sample once or several times."""
        self.first += [first] * times
        self.second += [second] * times
        self.dt_us += [dt_us] * times
        self.age_us += [age_us] * times

    @property
    def inputs(self):
        """Arguments of `Chain.run`: pulses, seconds, seconds."""
        ages = [float("inf") if age == NEVER else age / 1e6 for age in self.age_us]
        return self.first, self.second, [dt / 1e6 for dt in self.dt_us], ages

    def __len__(self):
        return len(self.first)


def pulse_at(stick, share):
    """Pulse in us at a share, -1..1, of the travel of a stick."""
    span = stick.high - stick.centre if share > 0 else stick.centre - stick.low
    return stick.centre + share * span


def rest(chain, trace):
    """Append a rest at the centre that is just long enough to be driving after it."""
    rest_us = round(chain.centred_first_s * 1e6)
    trace.add(chain.sticks[0].centre, chain.sticks[1].centre, rest_us // 4 + 1, times=5)


def _add_held(chain, trace, dt_us, times, shares_of_travel):
    first, second = (
        pulse_at(stick, share) for stick, share in zip(chain.sticks, shares_of_travel, strict=True)
    )
    trace.add(first, second, dt_us, times=times)


def _add_silent(chain, trace, dt_us, times, bad):
    trace.add(bad, chain.sticks[1].high, dt_us, times=times)


def _add_stale(chain, trace, dt_us, times, _):
    for k in range(times):
        trace.add(chain.sticks[0].high, chain.sticks[1].centre, dt_us, (k + 1) * dt_us)


def _add_wild(chain, trace, dt_us, times, samples):
    del dt_us, times
    for (first, second), dt, age in samples:
        pulses = (
            pulse_at(stick, wild[0]) if isinstance(wild, tuple) else wild
            for stick, wild in zip(chain.sticks, (first, second), strict=True)
        )
        trace.add(*pulses, dt, age)


def _case(chain, segments, drive):
    """Lay the drawn stretches of time one after the other, most often after a good start."""
    trace = Trace()
    if drive:
        rest(chain, trace)
        _add_held(chain, trace, 100_000, 3, drive)
    for add, dt_us, times, facts in segments:
        add(chain, trace, dt_us, times, facts)
    return chain, trace


@cache
def _segments():
    """One stretch of time: sticks at rest or held, a receiver that fell silent, or anything."""
    ticks = st.sampled_from([0, 1, 1000, 10_000, 20_000, 100_000, 500_000, 65_535_000])
    dt, times = ticks | st.integers(0, 2_000_000), st.integers(1, 8)
    ends = st.sampled_from([-1.5, -1.0, 0.0, 1.0, 1.5])  # 1.5 is the edge of the possible
    wild = st.sampled_from(NO_PULSES) | (positions() | ends).map(lambda v: (v,))
    wild |= st.floats(-1000.0, 70000.0)
    age = st.just(0) | st.integers(0, 3_000_000) | st.just(NEVER)
    storm = st.lists(st.tuples(st.tuples(wild, wild), ticks, age), min_size=1, max_size=8)
    held = st.tuples(st.just(_add_held), dt, times, st.tuples(positions(), positions()))
    return st.one_of(
        held,
        held,
        st.tuples(st.just(_add_held), dt, times, st.just((0.0, 0.0))),
        st.tuples(st.just(_add_silent), dt, times, st.sampled_from(NO_PULSES)),
        st.tuples(st.just(_add_stale), dt, times, st.none()),
        st.tuples(st.just(_add_wild), dt, times, storm),
    )


@cache
def chains_and_traces(**choices):
    """A signal path and what its receiver hands over, most often after a good rest."""
    segments = st.lists(_segments(), min_size=1, max_size=6)
    often = st.tuples(st.integers(0, 4), st.tuples(positions(), positions()))
    drive = often.map(lambda drawn: drawn[1] if drawn[0] else None)
    return st.builds(_case, chains(**choices), segments, drive)
