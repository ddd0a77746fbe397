"""Braking energy, bus voltage and resistor, against check values and a simulation."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from curvelib.machine.braking import (
    DUTIES,
    BrakingScene,
    Duty,
    Part,
    average_watts,
    braking,
    holding_power,
    power_corners,
    reversal_parts,
    stop_braking,
    stop_parts,
)
from curvelib.machine.braking_case import braking_case, bus_lines, parts_of
from curvelib.machine.bus import (
    Resistor,
    battery_bus_voltage,
    bus_trace,
    capacitor_room,
    capacitor_voltage,
    resistor_window,
)
from curvelib.machine.tipping import GRAVITY
from curvelib.tune import Machine, SlewSetup, Supply, Tune

masses = st.floats(10.0, 1000.0)
speeds = st.floats(0.05, 5.0)
times = st.floats(0.05, 3.0)
slopes = st.floats(-0.5, 0.5)


# m = 60 kg, v = 1.5 m/s, stopped in 0.5 s on the level; computed outside the project by two ways.
def test_a_stop_on_the_level():
    """67.5 J, 135 W on average, 270 W at its peak."""
    assert stop_braking(60.0, 1.5, 0.5) == pytest.approx((67.5, 135.0, 270.0))
    assert braking(60.0, stop_parts(1.5, 0.5)) == pytest.approx((67.5, 135.0, 270.0))


# R = V^2/P with P = 270 W at 28.8 V; computed outside the project.
def test_the_most_ohms_that_still_take_the_peak():
    """3.072 ohm take 270 W at 28.8 V."""
    assert resistor_window(28.8, 30.0, 270.0).most == pytest.approx(3.072)
    assert resistor_window(28.8, 30.0, 270.0).least == pytest.approx(0.96)


@given(masses, speeds, times)
def test_on_the_level_the_peak_is_twice_the_average(mass, speed, seconds):
    """E = m v^2/2, and a constant deceleration begins at its peak."""
    found = stop_braking(mass, speed, seconds)
    assert found.energy == pytest.approx(mass * speed**2 / 2.0)
    assert found.peak == pytest.approx(2.0 * found.average)


@given(masses, speeds, times, times, slopes)
def test_energy_and_peak_of_a_reversal_against_an_integral(mass, speed, stop, start, slope):
    """The force that the drive must give, times speed, integrated where it is negative."""

    def comes_back(t):
        a = -speed / stop if t < stop else -speed / start
        v = speed + a * t if t < stop else a * (t - stop)
        return max(-(mass * a - mass * GRAVITY * math.sin(slope)) * v, 0.0)

    parts = reversal_parts(speed, stop, start)
    energy = sum(quad(comes_back, *ends)[0] for ends in ((0.0, stop), (stop, stop + start)))
    seen = [comes_back(t) for t in np.linspace(0.0, stop + start, 2001)]
    found = braking(mass, parts, slope)
    assert found.energy == pytest.approx(energy, rel=1e-7, abs=1e-9)
    assert found.peak >= max(seen) - 1e-9
    assert found.peak <= max(seen) + 1e-9 + 2e-3 * mass * speed * (
        speed / min(stop, start) + GRAVITY
    )
    alone = stop_braking(mass, speed, stop, slope)
    assert alone == pytest.approx(braking(mass, stop_parts(speed, stop), slope), abs=1e-9)


def test_energy_of_a_stop_downhill_against_a_simulation():
    """Body pushed by gravity and braked as asked; the work of the brake is the energy."""
    mass, speed, seconds, slope = 210.0, 1.6, 0.4, math.radians(8.0)
    force = mass * (speed / seconds + GRAVITY * math.sin(slope))

    def moves(_, state):
        v = state[0]
        return [GRAVITY * math.sin(slope) - force / mass, force * v]

    end = solve_ivp(moves, (0.0, seconds), [speed, 0.0], rtol=1e-10, atol=1e-12).y[:, -1]
    assert end[0] == pytest.approx(0.0, abs=1e-9)
    assert stop_braking(mass, speed, seconds, slope).energy == pytest.approx(end[1])


def test_uphill_the_hill_may_do_it_alone():
    """A slow ramp uphill sends nothing back; reversing then goes downhill and does."""
    slope = -math.radians(10.0)  # the stop is uphill
    assert stop_braking(100.0, 1.0, 1.0, slope) == (0.0, 0.0, 0.0)
    back = braking(100.0, reversal_parts(1.0, 1.0, 1.0), slope)
    a = GRAVITY * math.sin(math.radians(10.0)) - 1.0
    assert back.energy == pytest.approx(100.0 * a * 0.5)
    assert back.peak == pytest.approx(100.0 * a)


def test_parts_must_not_change_sign_and_must_last():
    """A part through standstill is refused with words, and so is one without length."""
    with pytest.raises(ValueError, match="split it where the machine stands"):
        power_corners(60.0, [Part(1.0, 1.0, -1.0)])
    with pytest.raises(ValueError, match="time of a part"):
        braking(60.0, [Part(0.0, 1.0, 0.0)])
    with pytest.raises(ValueError, match="speed"):
        stop_braking(60.0, math.nan, 0.5)


def test_holding_downhill_by_hand():
    """100 kg at 1 m/s down 10 degrees: 170.3 W; nothing uphill."""
    assert holding_power(100.0, 1.0, math.radians(10.0)) == pytest.approx(170.290, abs=1e-3)
    assert holding_power(100.0, 1.0, -0.1) == 0.0


def test_average_of_a_duty_by_hand():
    """Six stops a minute of 67.5 J, half the time down with 100 W: 56.75 W."""
    assert average_watts(Duty("made up", 6.0, 0.5), 67.5, 100.0) == pytest.approx(56.75)
    assert len({duty.name for duty in DUTIES}) == len(DUTIES)


@given(st.floats(0.0, 5000.0), st.floats(5.0, 100.0), st.floats(0.0, 1.0))
def test_a_connected_battery_rises_by_current_times_resistance(power, rest, ohm):
    """V = rest + I R with I = P/V."""
    volts = battery_bus_voltage(power, rest, ohm)
    assert volts == pytest.approx(rest + power / volts * ohm)
    assert volts >= rest


def test_capacitors_alone_by_hand():
    """67.5 J on 0.01 F from 28.8 V: sqrt(28.8^2 + 13500) = 119.7 V; and back."""
    assert capacitor_voltage(67.5, 28.8, 0.01) == pytest.approx(119.70564, abs=1e-4)
    assert capacitor_room(28.8, 119.70564, 0.01) == pytest.approx(67.5, abs=1e-3)
    assert capacitor_room(30.0, 20.0, 0.01) == 0.0


def stop_power(peak=270.0, seconds=0.5, count=400):
    """Power of a stop over time, then nothing."""
    time = np.append(np.linspace(0.0, seconds, count), seconds + 0.2)
    return time, np.append(peak * (1.0 - time[:-1] / seconds), 0.0)


def test_the_bus_without_resistor_ends_where_the_energy_says():
    """The trace's end is the closed form, and it never falls."""
    trace = bus_trace(*stop_power(), start_v=28.8, capacitance=0.01)
    assert trace[-1] == pytest.approx(capacitor_voltage(67.5, 28.8, 0.01))
    assert (np.diff(trace) >= 0.0).all()


def test_a_resistor_in_the_window_holds_the_clamp():
    """The bus goes to the clamp, no further, and stays there."""
    trace = bus_trace(*stop_power(), start_v=28.8, capacitance=0.01, resistor=Resistor(3.0, 30.0))
    assert trace.max() == pytest.approx(30.0)
    assert trace[-1] == pytest.approx(30.0)
    assert trace[0] == pytest.approx(28.8)


def test_a_resistor_with_too_many_ohms_against_a_simulation():
    """Above the window the bus passes the clamp; its peak is that of the stiff equation."""
    time, power = stop_power(count=4000)
    ohm, farad, clamp = 6.0, 0.01, 30.0
    got = bus_trace(time, power, start_v=28.8, capacitance=farad, resistor=Resistor(ohm, clamp))
    first = next(k for k, volts in enumerate(got) if volts >= clamp)

    def charges(t, u):
        watts = 270.0 * max(1.0 - t / 0.5, 0.0)
        return [2.0 / farad * (watts - u[0] / ohm)]

    at = time[first]
    seen = solve_ivp(
        charges, (at, 0.5), [got[first] ** 2], rtol=1e-9, max_step=1e-3, dense_output=True
    )
    assert got.max() == pytest.approx(math.sqrt(seen.y[0].max()), rel=1e-5)
    assert got.max() > clamp + 1.0
    shown = time[(time > at) & (time < at + 0.2)]
    u = seen.sol(shown)[0]
    assert np.sqrt(u) == pytest.approx(got[(time > at) & (time < at + 0.2)], rel=1e-4)


@given(st.floats(0.2, 50.0), st.floats(29.0, 60.0), st.floats(0.0, 3000.0), st.floats(1e-4, 0.1))
def test_a_resistor_never_makes_it_worse(ohm, clamp, peak, farad):
    """At no time higher than without; held at the clamp wherever the window says so."""
    time, power = stop_power(peak, count=100)
    alone = bus_trace(time, power, start_v=28.8, capacitance=farad)
    held = bus_trace(time, power, start_v=28.8, capacitance=farad, resistor=Resistor(ohm, clamp))
    assert (held <= alone + 1e-9 * alone).all()
    if ohm <= resistor_window(clamp, 1e3, peak).most:
        assert held.max() <= clamp * (1.0 + 1e-9)
    assert held.max() <= max(clamp, math.sqrt(peak * ohm)) * (1.0 + 1e-9)


def test_a_window_may_be_empty_and_says_so():
    """A switch too small for the peak; and no peak at all."""
    empty = resistor_window(28.8, 5.0, 270.0)
    assert empty.empty
    assert not empty.holds(4.0)
    assert "What would help" in empty.words()
    assert resistor_window(28.8, 30.0, 270.0).holds(2.0)
    assert "from 0.96 to 3.07 ohm" in resistor_window(28.8, 30.0, 270.0).words()
    assert resistor_window(28.8, 30.0, 0.0).most == math.inf
    assert "Nothing comes back" in resistor_window(28.8, 30.0, 0.0).words()


TUNE = Tune(
    machine=Machine(top_speed_m_s=1.5, mass_kg=60.0),
    slew=SlewSetup(0.8, 0.5),
    supply=Supply(
        cells=12,
        rest_v=25.4,
        internal_resistance_ohm=0.02,
        cut_off_v_per_cell=1.75,
        clamp_v=30.0,
        bus_capacitance_f=0.01,
    ),
)


def test_a_whole_case_from_a_file():
    """The check values again, from a machine file; bus lines agree with the functions."""
    scene = BrakingScene(slope_deg=0.0)
    case = braking_case(TUNE, scene, DUTIES[0], 3.0)
    assert case.braking == pytest.approx((67.5, 135.0, 270.0))
    assert case.parts == parts_of(TUNE, False)
    assert case.start_v == 25.4
    assert case.capacitors_alone == pytest.approx(capacitor_voltage(67.5, 25.4, 0.01))
    assert case.watts == pytest.approx(2.0 / 60.0 * 67.5)
    lines = bus_lines(case)
    assert lines.alone[-1] == pytest.approx(case.capacitors_alone, rel=1e-6)
    assert lines.power.max() == pytest.approx(270.0)
    assert lines.battery.max() == pytest.approx(battery_bus_voltage(270.0, 25.4, 0.02))
    assert lines.clamped.max() == pytest.approx(30.0)
    assert lines.passes(1e4) == math.inf
    when = lines.passes(36.0)
    energy = 270.0 * when - 270.0 * when**2  # of the falling power up to that moment
    assert capacitor_voltage(energy, 25.4, 0.01) == pytest.approx(36.0, abs=0.05)


def test_an_alternator_begins_at_the_charging_voltage():
    """A battery kept full takes nothing; 2.4 V a cell is common practice."""
    charged = replace(TUNE, supply=replace(TUNE.supply, alternator=True))
    case = braking_case(charged, BrakingScene(), DUTIES[0], 3.0)
    assert case.start_v == pytest.approx(28.8)


def test_the_clamp_lies_between_charging_and_what_the_drive_endures():
    """Outside, the fault is told in words."""

    def told(clamp):
        supply = replace(TUNE.supply, clamp_v=clamp)
        case = braking_case(replace(TUNE, supply=supply), BrakingScene(), DUTIES[0], 3.0)
        return case.clamp_fault()

    assert told(30.0) == ""
    assert "charging voltage of 28.8 V" in told(28.8)
    assert "36.0 V that the drive endures" in told(36.0)


def test_a_reversal_sends_back_more_than_a_stop_only_where_it_ends_downhill():
    """Nose downhill the reversal climbs; nose uphill it goes down faster than it asks."""
    down = BrakingScene(slope_deg=15.0)
    up = BrakingScene(slope_deg=-15.0)
    energies = {
        (scene.slope_deg, turns): braking_case(TUNE, scene, DUTIES[0], 3.0, turns).braking.energy
        for scene in (down, up)
        for turns in (False, True)
    }
    assert energies[15.0, True] == energies[15.0, False]
    assert energies[-15.0, True] > energies[-15.0, False]


def test_a_case_names_what_is_missing():
    """A file without a mass cannot tell its energy."""
    with pytest.raises(ValueError, match="mass_kg is not known"):
        braking_case(
            replace(TUNE, machine=Machine(top_speed_m_s=1.0)), BrakingScene(), DUTIES[0], 3.0
        )
