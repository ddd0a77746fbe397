"""A restart in the middle of driving, against the rules told anew and a simulation."""

import math
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from core.reference import obeyed
from core.strategies import chains, chains_and_traces, pulse_at, shares
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

import curvelib
from curvelib import Chain, CubicBlend, Deadband, Independent, Shape, TankMix, Tune
from curvelib.chain import Gate, Live
from curvelib.machine.centre import (
    Learned,
    command_map,
    harmless_offset,
    held_sticks,
    worst_released,
)
from curvelib.machine.centre import pulse_at as pulse_of
from curvelib.machine.restart import (
    STARTS,
    Body,
    RestartScene,
    free_roll,
    path_after,
    restart_story,
)
from curvelib.machine.rolling import follow, way_behind
from curvelib.machine.supply import Source
from curvelib.machine.tipping import GRAVITY
from curvelib.tune import SignalLoss, SlewSetup, StickSetup

more_examples = settings(max_examples=2 * settings.default.max_examples)

LEARNED, FIXED, RESTLESS = "learned centre", "fixed centre", "fixed centre, no rest first"
TUNE = Tune(
    slew=SlewSetup(0.6, 0.4), signal_loss=SignalLoss(0.6, 0.5), stick=StickSetup(centre="fixed")
).with_shape("throttle", Shape([Deadband(0.03), CubicBlend(0.6)]))
CHAIN = Chain.from_tune(TUNE)
SOURCE = Source(rest_v=25.4, least_v=21.0, resistance=0.02, restart_s=0.5)
BODY = Body(top_speed=1.6, lag=0.12)


# --- properties: nobody is driven over ------------------------------------------------------


@more_examples
@given(chains_and_traces(centres=("fixed",)), st.data())
def test_with_a_fixed_centre_a_restart_anywhere_obeys_the_rules(case, data):
    """Any pulses, a restart anywhere, any pulses: only rested sticks move anything, from 0 on.

    And once it has been silent for timeout and ramp, every command is 0.
    """
    chain, trace = case
    cut = data.draw(st.integers(0, len(trace)))
    live = chain.live()
    first, second, dt, age = trace.inputs
    live.feed(first[:cut], second[:cut], dt[:cut], age[:cut])
    live.restart()
    rest = [list(given_[cut:]) for given_ in (first, second, dt, age)]
    step = 0.1 * (chain.timeout_s + chain.slew.to_stop) + 1e-6
    silence = data.draw(st.sampled_from([math.nan, 0.0, 65535.0]))
    for values, silent in zip(rest, (silence, silence, step, 0.0), strict=True):
        values += [silent] * 14
    run = live.feed(*rest)

    after = type(trace)()
    for k in range(cut, len(trace)):
        after.add(trace.first[k], trace.second[k], trace.dt_us[k], trace.age_us[k])
    may = [*obeyed(chain, after)[0], *[None] * 14]
    moves = (run.left != 0.0) | (run.right != 0.0)
    begins = may.index(True) if True in may else len(may)
    if chain.sticks[0].possible(silence):
        return  # a range so wide that this is no silence
    if begins == len(may):
        assert not moves.any()
    assert not moves[:begins].any()
    assert not moves[-3:].any()
    assert not run.driving[-3:].any()


@more_examples
@given(chains(centres=("fixed",)))
def test_with_a_fixed_centre_released_sticks_command_nothing(chain):
    """The tool reports 0, exactly, and so does the path."""
    worst = worst_released(chain)
    assert (worst.left, worst.right, worst.pulses) == (0.0, 0.0, None)
    assert chain.steady(0.0, 0.0) == (0.0, 0.0)


@more_examples
@given(chains(centres=("learned",)), shares(), shares(), st.booleans())
def test_the_worst_released_command_is_never_passed(chain, first, second, far):
    """Whatever a restart learns, letting go settles on what the tool says, at most the worst."""
    # Up to the edge of what is possible, a quarter of the travel beyond the ends.
    sticks = chain.sticks
    pulses = [
        s.possible_range[int(share > 0)] if far else pulse_at(s, share)
        for s, share in zip(sticks, (first, second), strict=True)
    ]
    pulses = [float(np.nextafter(p, s.centre)) for p, s in zip(pulses, sticks, strict=True)]
    told = Learned(chain, (pulses[0], pulses[1])).released()
    worst = worst_released(chain)
    assert max(map(abs, told)) <= worst.size + 1e-12

    live = chain.live()
    rest = chain.centred_first_s / 4.0 + 1e-6
    driving = live.feed([pulses[0]] * 6, [pulses[1]] * 6, rest).driving[-1]
    released = [s.centre for s in sticks]
    run = live.feed([released[0]] * 3, [released[1]] * 3, 1.0 + chain.slew.reversal_time)
    assert driving
    assert (run.left[-1], run.right[-1]) == pytest.approx(told, abs=1e-12)


@more_examples
@given(chains(centres=("learned",)))
def test_the_worst_released_command_is_reached(chain):
    """The pulses that the tool names really give the command that it names."""
    worst = worst_released(chain)
    assert worst.pulses is not None
    assert all(s.possible(p) for s, p in zip(chain.sticks, worst.pulses, strict=True))
    live = chain.live()
    live.feed([worst.pulses[0]] * 6, [worst.pulses[1]] * 6, chain.centred_first_s / 4.0 + 1e-6)
    a, b = chain.sticks
    run = live.feed([a.centre] * 3, [b.centre] * 3, 1.0 + chain.slew.reversal_time)
    assert (run.left[-1], run.right[-1]) == pytest.approx((worst.left, worst.right), abs=1e-12)


@given(chains(centres=("learned",)), st.floats(-1.0, 1.0))
def test_learned_inside_the_dead_zone_does_no_harm(chain, share):
    """A stick near enough to its centre while it is learned still lets go to 0."""
    pulses = []
    for k, stick in enumerate(chain.sticks):
        # Seen from the learned centre the release lies on the other side, with its own span.
        below, above = stick.centre - stick.low, stick.high - stick.centre
        offset = 0.999 * harmless_offset(chain, k) * share * min(below, above)
        pulses.append(stick.centre + offset)
    if chain.sticks[0].steps is None:
        assert Learned(chain, (pulses[0], pulses[1])).released() == (0.0, 0.0)


def test_driving_without_rest_cannot_be_had_from_a_chain():
    """Chain and exports offer no way round the first rule; the comparison has its own gate."""
    assert not any("rest" in one.name and "centred" not in one.name for one in fields(Chain))
    for start in (LEARNED, FIXED):
        path = path_after(CHAIN, start)
        assert type(path) is Live
        assert type(path._gate) is Gate
    assert type(path_after(CHAIN, RESTLESS)) is not Live
    package = Path(curvelib.__file__).parent
    path_files = [*package.glob("*.py"), *package.glob("export/*"), *package.glob("practice/*.py")]
    told = [one.read_text(encoding="utf-8") for one in path_files if one.is_file()]
    assert len(told) > 15
    assert not any("machine.starts" in text or "Restless" in text for text in told)


# --- the story, against known values and a simulation -----------------------------------------


# Common practice, no source: a learned centre and a stick held full forward mean full reverse.
def test_full_forward_learned_means_full_reverse():
    """Equal spans, held full forward: every place reads one full travel less."""
    linear = Chain.from_tune(Tune())
    learned = Learned(linear, (2000.0, 1500.0))
    assert learned.released() == (-1.0, -1.0)
    places = np.linspace(-1.0, 1.0, 9)
    assert command_map(linear, places, learned) == pytest.approx(np.maximum(places - 1.0, -1.0))
    assert command_map(linear, places) == pytest.approx(places)


def test_worst_released_of_a_plain_machine_is_full_speed():
    """1000, 1500, 2000 us and no limit: full speed; with an impossible pulse refused."""
    worst = worst_released(replace(Chain.from_tune(Tune()), learned_centre=True))
    assert worst.size == 1.0
    with pytest.raises(ValueError, match="cannot be learned"):
        Learned(CHAIN, (100.0, 1500.0))


def test_the_worst_lies_beyond_the_ends_of_the_travel():
    """A coarse, lopsided stick (invented) is off most if learned from beyond its end."""
    coarse = Tune(stick=StickSetup(0.0, 8.0, 9.5, 4, "learned"), mix=TankMix(0.0))
    chain = Chain.from_tune(coarse)
    at_ends = [max(map(abs, Learned(chain, (end, 8.0)).released())) for end in (0.0, 9.5)]
    assert worst_released(chain).size > max(at_ends) + 0.1


def test_pulses_of_positions_turn_back_into_positions():
    """Inverse of the stick's own reading, reversed sticks and lopsided ranges too."""
    stick = TUNE.stick_for("throttle")
    places = np.linspace(-1.0, 1.0, 21)
    for one in (stick, replace(stick, low=1200.0), stick.relearned(1800.0)):
        assert np.asarray(one.position(pulse_of(one, places))) == pytest.approx(places)
        assert -np.asarray(one.position(pulse_of(one, places, True))) == pytest.approx(places)
    with pytest.raises(ValueError, match="stick position"):
        pulse_of(stick, 1.1)


def test_both_sticks_drive_straight_in_independent_mixing():
    """One stick in tank mixing, both in independent."""
    assert held_sticks(CHAIN, 0.8) == (0.8, 0.0)
    assert held_sticks(replace(CHAIN, mix=Independent()), 0.8) == (0.8, 0.8)


@pytest.mark.parametrize("degrees", [-10.0, 0.0, 5.0, 15.0])
def test_free_roll_against_a_simulation(degrees):
    """The formula v t + g sin(slope) t^2/2 is what a body without brakes does."""
    slope = math.radians(degrees)

    def rolls(_, state):
        return [state[1], GRAVITY * math.sin(slope)]

    end = solve_ivp(rolls, (0.0, 0.8), [0.0, 1.2], rtol=1e-10).y[0, -1]
    assert free_roll(1.2, 0.8, slope) == pytest.approx(end)


def test_free_roll_by_hand():
    """1 m/s, 0.5 s, 5 degrees down: 0.5 + 0.10684 m; refuses what is no number."""
    assert free_roll(1.0, 0.5, math.radians(5.0)) == pytest.approx(0.606838, abs=1e-6)
    with pytest.raises(ValueError, match="speed"):
        free_roll(math.nan, 0.5, 0.0)


@given(st.lists(st.floats(-2.0, 2.0), min_size=2, max_size=8), st.floats(0.01, 1.0))
def test_following_a_lag_is_exact_for_straight_pieces(wanted, lag):
    """Speed and way equal those of the equation, solved piece by piece with tight steps."""
    time = np.linspace(0.0, 1.0, len(wanted))
    speed = follow(time, np.array(wanted), lag, 0.3)
    way = way_behind(time, np.array(wanted), speed, lag)
    state = [0.3, 0.0]
    for k in range(len(time) - 1):

        def moves(t, now, k=k):
            share = (t - time[k]) / (time[k + 1] - time[k])
            goal = wanted[k] + share * (wanted[k + 1] - wanted[k])
            return [(goal - now[0]) / lag, now[0]]

        state = solve_ivp(moves, (time[k], time[k + 1]), state, rtol=1e-9, atol=1e-11).y[:, -1]
        assert (speed[k + 1], way[k + 1]) == pytest.approx(state, abs=1e-6)


def simulated(chain, scene, start):
    """The same story by small frames of the path itself and an equation for the body."""
    dt = 0.001
    back, lets_go = SOURCE.restart_s, SOURCE.restart_s + scene.lets_go_s
    end = lets_go + scene.reaction_s
    time = back + dt * np.arange(round((end - back) / dt) + 1)
    places = held_sticks(chain, scene.held)
    pulses = [
        np.where(
            time < lets_go - 1e-9,
            pulse_of(chain.sticks[k], places[k], chain.reversed[k]),
            chain.sticks[k].centre,
        )
        for k in (0, 1)
    ]
    run = path_after(chain, start).feed(*pulses, np.diff(time, prepend=back))
    command = (run.left + run.right) / 2.0
    steady = np.mean(chain.steady(*places)) * BODY.top_speed

    def moves(t, state):
        if t < back:
            return [GRAVITY * math.sin(scene.slope), state[0]]
        goal = BODY.top_speed * np.interp(t, time, command)
        return [(goal - state[0]) / BODY.lag, state[0]]

    shown = np.array([back, lets_go, back + scene.reaction_s, end])
    off = solve_ivp(moves, (0.0, back), [steady, 0.0], rtol=1e-9).y[:, -1]
    on = solve_ivp(moves, (back, end), off, max_step=0.004, rtol=1e-7, dense_output=True)
    return dict(zip(("back", "go", "self", "end"), on.sol(shown).T.tolist(), strict=True))


@pytest.mark.parametrize("acts_on", ["motors", "together", "sticks"])
@pytest.mark.parametrize("start", STARTS)
def test_the_story_against_a_simulation(start, acts_on):
    """Distances from the surprise to the reaction within a millimetre or two."""
    chain = replace(CHAIN, acts_on=acts_on)
    scene = RestartScene(held=0.9, load_a=300.0, slope_deg=6.0, lets_go_s=0.9, reaction_s=0.7)
    story = restart_story(chain, scene, SOURCE, BODY)
    seen = simulated(chain, scene, start)
    begin, end = ("back", "self") if start == RESTLESS else ("go", "end")
    wanted = seen[end][1] - seen[begin][1]
    trace = story.traces[start]
    assert trace.goes == pytest.approx(wanted, abs=2e-3)
    assert float(np.interp(trace.reacts, trace.time, trace.speed)) == pytest.approx(
        seen[end][0], abs=5e-3
    )
    assert story.rolled == pytest.approx(seen["back"][1], abs=1e-6)


def test_the_runaway_and_what_prevents_it():
    """Learned: backwards. Fixed: nothing. Fixed without rest: ahead by itself."""
    story = restart_story(CHAIN, RestartScene(), SOURCE, BODY)
    assert story.restarts
    assert story.voltage == pytest.approx(20.4)
    learned, fixed, restless = (story.traces[start] for start in (LEARNED, FIXED, RESTLESS))
    assert learned.goes < -0.3
    assert learned.worst_command == pytest.approx(
        np.mean(Learned(CHAIN, (1900.0, 1500.0)).released()), abs=1e-9
    )
    assert (fixed.goes, fixed.worst_command) == (pytest.approx(0.0, abs=1e-3), 0.0)
    assert restless.goes > 0.3
    assert restless.worst_command == pytest.approx(CHAIN.steady(0.8, 0.0)[0])


def test_let_go_before_the_rest_is_over_a_learned_centre_does_not_open():
    """The release is no rest then, so nothing drives; a little later it does."""
    early = restart_story(CHAIN, RestartScene(lets_go_s=0.4), SOURCE, BODY).traces[LEARNED]
    late = restart_story(CHAIN, RestartScene(lets_go_s=0.6), SOURCE, BODY).traces[LEARNED]
    assert early.worst_command == 0.0
    assert late.worst_command < -0.5


def test_a_battery_that_holds_restarts_nothing():
    """Under the current that pulls it down, all drive on."""
    story = restart_story(CHAIN, RestartScene(load_a=219.0), SOURCE, BODY)
    assert not story.restarts
    for trace in story.traces.values():
        assert trace.goes == 0.0
        assert trace.speed == pytest.approx(CHAIN.steady(0.8, 0.0)[0] * 1.6)
    assert restart_story(CHAIN, RestartScene(load_a=221.0), SOURCE, BODY).restarts


def test_held_without_power_it_stands():
    """A brake or a worm gear: no way is gone without power."""
    story = restart_story(CHAIN, RestartScene(unpowered="holds"), SOURCE, BODY)
    assert story.rolled == 0.0
    trace = story.traces[FIXED]
    assert np.abs(trace.speed[trace.time >= 0.0][1:]).max() == 0.0


@given(
    st.floats(0.05, 1.0),
    st.floats(0.0, 2.0),
    st.floats(0.1, 2.0),
    st.floats(-20.0, 20.0),
    st.sampled_from(["motors", "together", "sticks"]),
)
def test_with_a_fixed_centre_no_story_ends_in_a_runaway(held, lets_go, reaction, slope, acts_on):
    """Whatever the operator and the slope do, the command stays 0 after the restart."""
    scene = RestartScene(held, 300.0, slope, lets_go, reaction)
    story = restart_story(replace(CHAIN, acts_on=acts_on), scene, SOURCE, BODY)
    trace = story.traces[FIXED]
    assert not trace.command[trace.time >= 0.0][1:].any()


def test_unknown_starts_are_refused():
    """A name that is none is told what would be right."""
    with pytest.raises(ValueError, match="learned centre"):
        path_after(CHAIN, "by itself")
