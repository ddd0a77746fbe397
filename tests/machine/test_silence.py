"""Loss of signal and dropouts, against closed forms, simulations and the path itself."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from curvelib import Chain, Deadband, Shape, SlewLimit, Tune
from curvelib.chain import Gate
from curvelib.machine.dropouts import Dropouts, TimeoutScene, TimeoutWindow, timeout_window
from curvelib.machine.grip import grip_deceleration
from curvelib.machine.rolling import follow
from curvelib.machine.silence import (
    RECEIVERS,
    LossScene,
    Stopper,
    blind_time,
    goal_command,
    grip_downhill,
    loss_trace,
    what_helps,
)
from curvelib.machine.stopping import stopping_distance
from curvelib.tune import Machine, SignalLoss, SlewSetup

STOPS, ODD, PRESET, REPEATS = RECEIVERS
STILL = 0.05

stoppers = st.builds(
    lambda to_stop, top, lag, grip: Stopper(SlewLimit(0.5, to_stop), top, lag, grip),
    st.sampled_from([0.0, 0.4]) | st.floats(0.05, 3.0),
    st.floats(0.3, 5.0),
    st.sampled_from([0.0, 0.12]) | st.floats(0.02, 0.6),
    st.just(math.inf) | st.floats(0.2, 8.0),
)


def simulated(stopper, speed):
    """Time and distance to standing by an equation: follow the ramp, never harder than grip."""
    rate = stopper.top_speed / stopper.slew.to_stop if stopper.slew.to_stop else math.inf
    lag = stopper.lag or 1e-4

    def goal(t):
        return max(speed - rate * t, 0.0) if rate < math.inf else 0.0

    def moves(t, state):
        return [max((goal(t) - state[0]) / lag, -stopper.grip), state[0]]

    def stands(_, state):
        return state[0] - STILL

    stands.terminal = True
    done = solve_ivp(
        moves, (0.0, 60.0), [speed, 0.0], "Radau", events=stands, max_step=0.02, rtol=1e-6
    )
    return float(done.t_events[0][0]), float(done.y_events[0][0][1])


@pytest.mark.parametrize("to_stop", [0.0, 0.3, 1.5])
@pytest.mark.parametrize("lag", [0.0, 0.15])
@pytest.mark.parametrize("grip", [math.inf, 2.5, 0.7])
def test_standing_still_against_a_simulation(to_stop, lag, grip):
    """Time and distance within half a percent (the simulation's own lag is a tenth of a ms)."""
    stopper = Stopper(SlewLimit(0.5, to_stop), 2.0, lag, grip)
    time, way = simulated(stopper, 1.4)
    got = stopper.standstill(1.4, STILL)
    assert got.time == pytest.approx(time, rel=5e-3, abs=1e-3)
    assert got.distance == pytest.approx(way, rel=5e-3, abs=1e-3)


# The closed form of the whole stop, speed (delay + lag + (speed/top) to_stop/2); computed
# outside the project.  What a lag still rolls below the threshold is at most lag x threshold.
@given(stoppers, st.floats(0.0, 1.0), st.floats(0.0, 3.0))
def test_distance_is_the_whole_stop_but_for_the_last_bit(stopper, share, blind):
    """Without sliding, the distance is the closed form less what the lag has left."""
    free = replace(stopper, grip=math.inf)
    speed = share * free.top_speed
    whole = stopping_distance(
        speed, delay=blind, to_stop=free.slew.to_stop, top_speed=free.top_speed, lag=free.lag
    )
    got = free.standstill(speed, STILL, blind)
    left = whole - got.distance
    if speed > STILL:
        still_asked = STILL**2 / free.top_speed * free.slew.to_stop
        assert -2e-3 * whole - 1e-9 <= left <= free.lag * STILL + still_asked + 2e-3 * whole


@given(stoppers, st.lists(st.floats(0.0, 1.0), min_size=2, max_size=10))
def test_faster_never_stands_sooner_or_nearer(stopper, drawn):
    """Neighbours, in order of speed, never fall (to the accuracy of the sampling)."""
    speeds = stopper.top_speed * np.sort(drawn)
    got = stopper.standstill(speeds, STILL, 0.5)
    for values in got:
        assert (np.diff(values) >= -2e-3 * (1.0 + values[1:])).all()


@given(stoppers, st.floats(0.05, 1.0))
def test_sliding_never_stops_sooner(stopper, share):
    """Less grip, more way."""
    speed = share * stopper.top_speed
    free = replace(stopper, grip=math.inf).standstill(speed, STILL)
    got = stopper.standstill(speed, STILL)
    assert got.time >= free.time * (1.0 - 2e-3) - 1e-6
    assert got.distance >= free.distance * (1.0 - 2e-3) - 1e-6


def test_without_grip_it_never_stands():
    """Grip of 0 or less: it slides on; one already standing still stands."""
    icy = Stopper(SlewLimit(0.5, 0.4), 1.6, 0.1, -0.6)
    assert icy.standstill(1.0, STILL) == (math.inf, math.inf)
    assert icy.standstill(0.0, STILL) == (0.0, 0.0)
    assert icy.speed_after(1.0, 0.0, np.array([0.0, 5.0])).tolist() == [1.0, 1.0]


# All wheels braked, mu = 0.20, 15 degrees down: -0.643648 m/s2, cannot hold; computed.
def test_grip_downhill_is_that_of_the_limits():
    """The check value; without the facts sliding is not judged."""
    wet = Machine(friction=0.20)
    assert grip_downhill(wet, math.radians(15.0)) == pytest.approx(-0.643648, abs=1e-6)
    assert grip_downhill(wet, 0.1) == pytest.approx(grip_deceleration(0.20, 0.1))
    assert grip_downhill(Machine(), 0.1) == math.inf
    assert grip_downhill(replace(wet, driven="rear"), 0.1) == math.inf
    known = replace(wet, driven="rear", cg_to_front_m=0.6, cg_to_rear_m=0.4, cg_height_m=0.4)
    assert grip_downhill(known, 0.1) == pytest.approx(
        grip_deceleration(0.20, 0.1, "rear", 0.6, 1.0, 0.4)
    )


def test_each_receiver_is_blind_for_what_it_does():
    """Silence and impossible pulses wait for the timeout; a preset does not; repeats never end."""
    scene = LossScene(receiver_waits_s=0.3)
    blind = {one: blind_time(one, scene, 0.6) for one in RECEIVERS}
    wanted = {STOPS: 0.9, ODD: 0.9, PRESET: 0.3, REPEATS: math.inf}
    assert blind == pytest.approx(wanted)
    with pytest.raises(ValueError, match="receiver"):
        blind_time("falls asleep", scene, 0.6)
    assert "No timeout" in what_helps(REPEATS)


def test_a_preset_drives_unless_it_is_in_the_dead_zone():
    """Off centre it commands what that stick position commands, in reverse too."""
    tune = Tune().with_shape("throttle", Shape([Deadband(0.1)]))
    chain = Chain.from_tune(tune)
    assert goal_command(chain, PRESET, LossScene(preset=0.09)) == 0.0
    assert goal_command(chain, PRESET, LossScene(preset=0.55)) == pytest.approx(0.5)
    assert goal_command(chain, PRESET, LossScene(preset=-0.55)) == pytest.approx(-0.5)
    assert goal_command(chain, STOPS, LossScene(preset=0.55)) == 0.0
    stopper = Stopper(SlewLimit(0.4, 0.4), 1.6)
    assert stopper.standstill(1.0, STILL, 0.0, 0.5) == (math.inf, math.inf)
    assert stopper.standstill(1.0, STILL, math.inf) == (math.inf, math.inf)


def frames(tune, receiver, scene, seconds=4.0, dt=0.02):
    """What the path itself commands, frame by frame, when its receiver loses the signal at 0."""
    chain = Chain.from_tune(tune)
    live, stick = chain.live(), chain.sticks[0]
    held = stick.centre + scene.speed_share * (stick.high - stick.centre)
    preset = stick.centre + scene.preset * (stick.high - stick.centre)
    live.feed([stick.centre] * 60, [1500.0] * 60, dt)
    driving = live.feed([held] * 200, [1500.0] * 200, dt)
    assert driving.left[-1] == pytest.approx(scene.speed_share)
    commands = []
    for k in range(1, round(seconds / dt) + 1):
        now = k * dt
        acts = now > scene.receiver_waits_s + 1e-9
        first, age = held, 0.0
        if receiver == PRESET and acts:
            first = preset
        if receiver == ODD and acts:
            first = 200.0
        if receiver == STOPS and acts:
            age = now - scene.receiver_waits_s
        commands.append(live.step(first, 1500.0, dt, age).left)
    return dt * np.arange(1, len(commands) + 1), np.array(commands)


@pytest.mark.parametrize("receiver", RECEIVERS)
@pytest.mark.parametrize("preset", [0.0, -0.3])
def test_the_traces_are_those_of_the_path_itself(receiver, preset):
    """Speed and way within a frame of what `Chain` does, for each receiver."""
    tune = Tune(
        machine=Machine(top_speed_m_s=1.6),
        slew=SlewSetup(0.5, 0.8),
        signal_loss=SignalLoss(0.6, 0.5),
    )
    scene = LossScene(speed_share=0.75, receiver_waits_s=0.2, preset=preset)
    stopper = Stopper(tune.slew.limit, 1.6, 0.1)
    time, command = frames(tune, receiver, scene)
    chain = Chain.from_tune(tune)
    blind = blind_time(receiver, scene, chain.timeout_s)
    goal = goal_command(chain, receiver, scene)
    speed, way = loss_trace(stopper, 1.2, blind, goal, time)
    wanted = follow(np.insert(time, 0, 0.0), 1.6 * np.insert(command, 0, 0.75), 0.1, 1.2)
    gone = np.concatenate([[0.0], np.cumsum(np.diff(time, prepend=0.0) * wanted[1:])])
    rate = 1.6 / 0.5
    assert speed == pytest.approx(wanted[1:], abs=0.021 * rate)
    assert way == pytest.approx(gone[1:], abs=0.05)
    stands = stopper.standstill(1.2, STILL, blind, goal)
    if math.isinf(stands.time):
        assert abs(wanted[-1]) > STILL
    else:
        below = time[np.abs(wanted[1:]) <= STILL]
        assert stands.time == pytest.approx(below[0], abs=0.041)
        assert stands.distance == pytest.approx(way[-1], abs=0.1 * STILL + 1e-3)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -0.1])
def test_speeds_that_are_none_are_refused(bad):
    """NaN, infinity, negative speeds, and speeds above the top."""
    stopper = Stopper(SlewLimit(0.4, 0.4), 1.6)
    with pytest.raises(ValueError, match="speed"):
        stopper.standstill(bad, STILL)
    with pytest.raises(ValueError, match="speed"):
        stopper.standstill(1.7, STILL)
    with pytest.raises(ValueError, match="standing"):
        stopper.standstill(1.0, 0.0)
    with pytest.raises(ValueError, match="grip is NaN"):
        Stopper(SlewLimit(0.4, 0.4), 1.6, grip=math.nan)


# --- dropouts ---------------------------------------------------------------------------------

radios = st.builds(
    Dropouts,
    st.floats(1.0, 600.0),
    st.floats(0.05, 2.0),
    st.floats(0.004, 0.05),
)


def test_false_stops_by_hand():
    """60 bursts an hour of 0.1 s in frames of 0.02 s: each frame 4 in 5 go on."""
    radio = Dropouts(60.0, 0.1, 0.02)
    assert radio.leaves == pytest.approx(0.2)
    # Older than 0.1 s after 5 lost frames: 4 times it went on.
    assert radio.false_stops(0.1) == pytest.approx(60.0 * 0.8**4)
    assert radio.false_stops(0.0999) == pytest.approx(60.0 * 0.8**3)
    assert radio.false_stops(0.02) == 60.0
    assert radio.false_stops(0.019) == pytest.approx(3600.0 / 0.02)


def test_false_stops_against_a_simulated_radio_and_the_gate():
    """Two hundred hours of frames (invented rates), counted by the path's own gate."""
    radio = Dropouts(240.0, 0.16, 0.04)
    rng = np.random.default_rng(5)
    hours, timeout = 60.0, 0.4
    count = round(hours * 3600.0 / radio.frame_s)
    # Lengths of good and bad spells follow from the chance to leave each state.
    spells = round(hours * radio.bursts_per_hour * 1.3)
    good = rng.geometric(radio.begins, spells)
    bad = rng.geometric(radio.leaves, spells)
    ends = np.cumsum(good + bad)
    inside = int(np.searchsorted(ends, count))
    assert inside < spells
    gate = Gate(timeout, 0.0)
    stops = 0
    for lost in bad[:inside].tolist():
        gate.step(True, True, radio.frame_s, 0.0)
        age = (lost + 1) * radio.frame_s - 1e-6  # just before the next good frame
        stops += not gate.step(False, False, age, age)
    told = radio.false_stops(timeout) * hours
    assert stops == pytest.approx(told, abs=4.0 * math.sqrt(told))
    assert inside == pytest.approx(hours * radio.bursts_per_hour, abs=4.0 * math.sqrt(inside))


@given(radios, st.lists(st.floats(0.0, 3.0), min_size=2, max_size=20))
def test_longer_timeouts_never_stop_more_often(radio, drawn):
    """Neighbours, in order of timeout, never rise."""
    rates = radio.false_stops(np.sort(drawn))
    assert (np.diff(rates) <= 0.0).all()


@given(radios, st.floats(0.01, 1000.0))
def test_the_least_timeout_is_just_enough(radio, borne):
    """With it the rate is borne; a frame less is not."""
    least = radio.least_timeout(borne)
    assert radio.false_stops(least) <= borne * (1.0 + 1e-9)
    if least > 0.0:
        assert radio.false_stops(max(least - radio.frame_s, 0.0)) > borne * (1.0 - 1e-9)


@given(radios)
def test_the_radio_spends_its_time_as_told(radio):
    """Chances to leave each state give back bursts an hour and their mean length."""
    bad, good = radio.frame_s / radio.leaves, radio.frame_s / radio.begins
    assert bad == pytest.approx(max(radio.mean_burst_s, radio.frame_s))
    assert 3600.0 / (good + radio.mean_burst_s) == pytest.approx(radio.bursts_per_hour)
    assert 0.0 < radio.begins < radio.leaves <= 1.0


def test_rates_that_are_none_are_refused():
    """NaN and numbers out of range are named."""
    with pytest.raises(ValueError, match="bursts_per_hour"):
        Dropouts(math.nan)
    with pytest.raises(ValueError, match="timeout"):
        Dropouts().false_stops(math.nan)


def test_a_window_between_jumpy_and_blind():
    """At 1 m/s with 0.4 m of ramp, a room of 2 m leaves 1.6 s (by hand)."""
    radio, scene = Dropouts(60.0, 0.1, 0.02), TimeoutScene(stops_per_hour=0.5, room_m=2.0)
    window = timeout_window(radio, scene, 1.0, 0.4)
    assert window.most == pytest.approx(1.6)
    assert window.least == radio.least_timeout(0.5)
    assert not window.empty
    assert "take the short end" in window.words()
    assert timeout_window(radio, scene, 0.0, 0.0).most == math.inf
    assert "No timeout stops it" in timeout_window(radio, scene, 1.0, math.inf).words()
    tight = timeout_window(radio, replace(scene, room_m=0.5), 1.0, 0.4)
    assert tight.empty
    assert "No timeout does both" in tight.words()
    assert TimeoutWindow(0.5, math.inf).words().startswith("A timeout of 0.50 s or more")
