"""The ramp window against closed forms and the whole chain, stepped."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curvelib import Chain, Independent, Limit, Shape, TankMix, Tune
from curvelib.machine.ramping import RampPath, peak_accelerations
from curvelib.machine.response import respond
from curvelib.machine.search import CASES
from curvelib.machine.stopping import stopping_distance
from curvelib.machine.tipping import GRAVITY
from curvelib.machine.window import LONGEST_RAMP, ramp_window
from curvelib.slew import ACTS_ON, SlewLimit
from curvelib.tune import SignalLoss, SlewSetup

MACHINE = {
    "top_speed": 1.5,
    "cg_to_front": 0.45,
    "cg_to_rear": 0.35,
    "cg_height": 0.40,
    "friction": 0.35,
}
CORNERS = [np.array(corner) for corner in product((1.0, 0.0, -1.0), repeat=2)]
mixes = st.builds(TankMix, st.floats(0.0, 1.0), st.sampled_from(["scale", "clip", "keep turn"]))
paths = st.builds(RampPath, mixes | st.just(Independent()), st.sampled_from(ACTS_ON))


@settings(max_examples=25)
@given(st.floats(0.3, 3.0), st.floats(0.1, 0.6), st.floats(0.0, 0.5))
def test_on_the_level_without_lag_the_least_ramp_is_top_speed_over_the_limit(top, mu, margin):
    """Peak deceleration is top_speed/to_stop, the limit mu g less the margin (computed)."""
    window = ramp_window(**(MACHINE | {"top_speed": top, "friction": mu, "margin": margin}))
    exact = top / (mu * (1.0 - margin) * GRAVITY)
    assert exact <= window.least_to_stop * (1 + 1e-12)
    assert window.least_to_stop <= exact + 2e-4
    assert window.least_to_full == pytest.approx(window.least_to_stop, abs=2e-4)


def test_where_tipping_is_nearer_it_binds():
    """High centre of mass, good grip: g L/h over the nearer axle, the rear one (computed)."""
    window = ramp_window(**(MACHINE | {"friction": 1.2, "cg_height": 0.6}), margin=0.0)
    assert window.least_to_stop == pytest.approx(1.5 / (GRAVITY * 0.35 / 0.6), abs=2e-4)
    assert window.stop_binds.limit.kind == "tip"
    assert window.stop_binds.limit.case == "stopping in reverse"
    assert window.stop_binds.change == "from full reverse to rest"
    assert window.full_binds.limit.case == "starting forward"


@pytest.mark.parametrize(
    ("facing", "case"), [("downhill", "stopping forward"), ("uphill", "stopping in reverse")]
)
def test_on_a_slope_the_way_down_binds(facing, case):
    """10 degrees, mu 0.35: g (mu cos s - sin s) whichever way it faces (computed)."""
    slope = np.radians(10.0)
    window = ramp_window(**MACHINE, slope=slope, facing=facing, margin=0.0)
    limit = GRAVITY * (0.35 * np.cos(slope) - np.sin(slope))
    assert window.least_to_stop == pytest.approx(1.5 / limit, abs=2e-4)
    assert window.stop_binds.limit.case == case
    assert window.stop_binds.limit.facing == f"nose {facing}"


def test_facing_both_ways_takes_the_worse():
    """With one driven axle the two ways differ; both together is the longer of the two."""
    how = {**MACHINE, "slope": 0.1, "driven": "rear"}
    alone = [ramp_window(**how, facing=way).least_to_stop for way in ("downhill", "uphill")]
    assert alone[0] != pytest.approx(alone[1], abs=1e-2)
    assert ramp_window(**how).least_to_stop == pytest.approx(max(alone), abs=2e-4)


def test_all_limits_are_told_the_tightest_first():
    """Four cases, two kinds, two ways to face; margins on grip and on footing, not on height."""
    window = ramp_window(**MACHINE, slope=0.1, margin=0.2)
    assert len(window.limits) == 16
    assert [limit.limit for limit in window.limits] == sorted(
        limit.limit for limit in window.limits
    )
    assert {limit.case for limit in window.limits} == set(CASES)
    tips = {(x.case, x.facing): x.limit for x in window.limits if x.kind == "tip"}
    wanted = GRAVITY * (0.8 * 0.45 * np.cos(0.1) - 0.4 * np.sin(0.1)) / 0.4
    assert tips["stopping forward", "nose downhill"] == pytest.approx(wanted)
    slides = {(x.case, x.facing): x.limit for x in window.limits if x.kind == "slide"}
    wanted = GRAVITY * (0.8 * 0.35 * np.cos(0.1) + np.sin(0.1))
    assert slides["stopping forward", "nose uphill"] == pytest.approx(wanted)


@settings(max_examples=25)
@given(paths, st.floats(0.0, 0.4), st.floats(0.3, 3.0), st.floats(0.15, 0.8), st.floats(0.0, 0.15))
def test_every_pair_of_longer_ramps_is_safe(path, lag, top, mu, slope):
    """In and beyond the corner of the window no change of the sticks passes the tightest limit."""
    window = ramp_window(
        **(MACHINE | {"top_speed": top, "friction": mu}), slope=slope, lag=lag, path=path
    )
    if window.empty:
        return
    before, after = np.array([(a, b) for a in CORNERS for b in CORNERS]).transpose(1, 2, 0)
    for more_stop, more_full in product((0.0, 0.1, 2.0), repeat=2):
        peaks = peak_accelerations(
            path,
            before,
            after,
            top_speed=top,
            lag=lag,
            to_full=window.least_to_full + more_full,
            to_stop=window.least_to_stop + more_stop,
        )
        assert max(peaks[0].max(), peaks[1].max()) <= window.limits[0].limit * (1.0 + 1e-9)


@settings(max_examples=25)
@given(paths, st.floats(0.0, 0.4))
def test_a_shorter_ramp_passes_the_limit(path, lag):
    """A hundredth less than either least ramp, the other held, is too sudden."""
    window = ramp_window(**MACHINE, lag=lag, path=path)
    before, after = np.array([(a, b) for a in CORNERS for b in CORNERS]).transpose(1, 2, 0)
    stop, full = window.least_to_stop, window.least_to_full
    for to_full, to_stop in ((LONGEST_RAMP, 0.99 * stop - 2e-4), (0.99 * full - 2e-4, stop)):
        if min(to_full, to_stop) <= 0.0:
            continue
        peaks = peak_accelerations(
            path, before, after, top_speed=1.5, lag=lag, to_full=to_full, to_stop=to_stop
        )
        assert max(peaks[0].max(), peaks[1].max()) > window.limits[0].limit


def stepped_peak(chain, before, after, lag):
    """Largest acceleration either way, from pulses through `Chain.run` and `respond`."""
    trace = np.repeat([(0.0, 0.0), before, after], [1, 1400, 1400], axis=0)
    run = chain.run(*(1500.0 + 500.0 * trace).T, 0.002)
    got = respond(run.left, run.right, 0.002, top_speed=1.5, track=0.8, lag=lag)
    return np.abs(got.acceleration[1401:]).max()


@pytest.mark.parametrize("acts_on", ACTS_ON)
@pytest.mark.parametrize("lag", [0.0, 0.15])
def test_the_whole_chain_stepped_keeps_to_the_window(acts_on, lag):
    """Set to the window's ramps, `Chain.run` just keeps to the limit; 5 % shorter, it does not."""
    tune = Tune(
        mix=TankMix(0.8), signal_loss=SignalLoss(1.0, 0.0), slew=SlewSetup(0.4, 0.4, acts_on)
    )
    window = ramp_window(**MACHINE, lag=lag, path=Chain.from_tune(tune))
    limit = window.limits[0].limit
    changes = [
        ((1.0, 0.0), (0.0, 0.0)),
        ((1.0, 0.0), (-1.0, 0.0)),
        ((1.0, 1.0), (1.0, 0.0)),
        ((1.0, 1.0), (-1.0, -1.0)),
        ((1.0, -1.0), (1.0, 1.0)),
    ]
    for share, keeps in ((1.0, True), (0.95, False)):
        ramps = SlewSetup(share * window.least_to_full, share * window.least_to_stop, acts_on)
        chain = Chain.from_tune(replace(tune, slew=ramps))
        peak = max(stepped_peak(chain, *change, lag) for change in changes)
        assert (peak <= 1.005 * limit) == keeps


def test_steer_let_go_on_sticks_is_among_the_changes():
    """A path whose only sudden way is the steer let go at full throttle is bound by it."""

    def only_steer_let_go(before, after, time, to_full, to_stop):
        """On sticks as ever, but gentle ten times over wherever the throttle moves."""
        slow = 10.0 * np.array([to_full, to_stop])
        on_sticks = RampPath(acts_on="sticks")
        gentle = on_sticks(before, after, time, *slow)
        quick = on_sticks(before, after, time, to_full, to_stop)
        steer_alone = (before[0] == after[0]) & (np.abs(after[1]) < np.abs(before[1]))
        return tuple(np.where(steer_alone, q, g) for q, g in zip(quick, gentle, strict=True))

    window = ramp_window(**MACHINE, path=only_steer_let_go)
    assert window.stop_binds.change == "from full reverse with full left to full reverse"
    assert window.stop_binds.limit.case == "starting in reverse"
    assert window.least_to_stop == pytest.approx(1.5 / window.limits[0].limit, rel=1e-2)


def test_lag_shortens_the_ramps():
    """With lag the stop peaks at (1 - exp(-T/lag)) top/T: the ramp solves that (computed)."""
    window = ramp_window(**MACHINE, lag=0.3)
    limit, ramp = window.limits[0].limit, window.least_to_stop
    assert 1.5 / ramp * -np.expm1(-ramp / 0.3) == pytest.approx(limit, rel=5e-3)
    assert ramp < 0.9 * ramp_window(**MACHINE).least_to_stop


def test_a_reversal_asks_more_of_the_ramp_to_full_than_a_start():
    """The drive is still slowing when it starts in reverse, so the lag takes nothing off there."""
    window = ramp_window(**MACHINE, lag=0.3)
    assert window.least_to_full == pytest.approx(1.5 / window.limits[0].limit, rel=1e-2)
    assert window.full_binds.change == "from full forward to full reverse"
    assert window.full_binds.limit.case == "starting in reverse"


def test_a_slow_drive_needs_no_ramp():
    """Where top_speed/lag is below the limit, a ramp of 0 will do, and nothing binds."""
    window = ramp_window(**(MACHINE | {"top_speed": 0.5}), lag=1.0)
    assert (window.least_to_stop, window.stop_binds) == (0.0, None)
    assert "Even without a ramp to stop" in window.words()


def test_the_most_is_what_stops_in_the_room():
    """At the longest ramp the stopping distance is the room."""
    window = ramp_window(**MACHINE, room=2.0, delay=0.3, lag=0.1)
    rolled = stopping_distance(1.5, delay=0.3, to_stop=window.most_to_stop, top_speed=1.5, lag=0.1)
    assert rolled == pytest.approx(2.0)
    assert window.rolls == pytest.approx(1.5 * 0.4)
    assert ramp_window(**MACHINE).most_to_stop == np.inf


def test_a_turn_may_need_more_room_than_straight_ahead():
    """Throttle to 0.6, steer to 1: together, the faster side's longer ramp lets it roll farther."""
    how = {**MACHINE, "room": 2.0}
    straight = ramp_window(**how, path=RampPath(TankMix(), "motors", (0.6, 0.0)))
    turning = ramp_window(**how, path=RampPath(TankMix(), "together", (0.6, 1.0)))
    rolled = stopping_distance(0.9, delay=0.0, to_stop=straight.most_to_stop, top_speed=1.5)
    assert straight.speed == turning.speed == pytest.approx(0.9)
    assert rolled == pytest.approx(2.0)
    # Full turn: sides 1 and -0.25, the middle at 0.375 for the whole ramp, or at 0.6 for 0.6 of
    # it; with the steer released the middle's way is 0.375/2 against 0.6 x 0.6/2 of top x ramp.
    assert turning.most_to_stop == pytest.approx(2.0 / (1.5 * 0.375 / 2.0), rel=1e-6)


def test_a_limit_in_the_shape_lowers_the_speed():
    """Full throttle at 0.6 stops from 0.6 of top speed, at the same rate, in 0.6 of the time."""
    tune = Tune(mix=TankMix(0.0)).with_shape("throttle", Shape([Limit(0.6)]))
    window = ramp_window(**MACHINE, path=Chain.from_tune(tune))
    assert window.speed == pytest.approx(0.9)
    assert window.least_to_stop == pytest.approx(ramp_window(**MACHINE).least_to_stop, abs=2e-4)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"slope": 0.3}, "cannot even hold"),
        ({"top_speed": 15.0, "slope": 0.2}, "even 10 s is too sudden"),
        (
            {"room": 0.3, "delay": 0.5},
            "delay and drive lag alone roll 0.75 m, and the room is 0.30 m",
        ),
        ({"room": 0.3}, "above 0.40 s it rolls farther than the room of 0.30 m"),
    ],
)
def test_an_empty_window_says_why(change, words):
    """Cannot hold, too fast, no room for the delay, no room for the ramp."""
    window = ramp_window(**(MACHINE | change))
    assert window.empty
    assert words in window.words()
    assert not window.holds(1.0, 1.0)


def test_the_longest_ramp_is_that_of_the_slider():
    """What is searched is what can be set: SlewLimit allows it and no more."""
    assert SlewLimit(LONGEST_RAMP, LONGEST_RAMP).to_stop == LONGEST_RAMP
    with pytest.raises(ValueError, match=r"to_stop"):
        SlewLimit(0.0, LONGEST_RAMP + 0.1)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"top_speed": 0.0}, "top speed is 0 m/s"),
        ({"margin": 1.0}, "margin is 1;"),
        ({"slope": -0.1}, "slope is -0.1 rad"),
        ({"facing": "left"}, "facing = 'left' is not known"),
        ({"room": -1.0}, "room is -1 m"),
        ({"delay": np.nan}, "delay is nan"),
        ({"lag": -0.1}, "drive lag is -0.1 s"),
        ({"friction": np.inf}, "friction coefficient is inf"),
    ],
)
def test_faults_are_named(change, words):
    """Each number out of range is named."""
    with pytest.raises(ValueError, match=words):
        ramp_window(**(MACHINE | change))
