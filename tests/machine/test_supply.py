"""Sag, least voltage and the current limit, against published values and by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelib.machine.current import current_window
from curvelib.machine.supply import (
    Source,
    grip_pull,
    known,
    least_voltage,
    push_current,
    sag_current,
    sagged_voltage,
    slope_pull,
)
from curvelib.machine.tipping import GRAVITY
from curvelib.tune import Machine, Supply

volts = st.floats(5.0, 100.0)
ohms = st.floats(0.001, 1.0)
currents = st.floats(0.0, 1000.0)

SWEEPER = Machine(
    mass_kg=200.0,
    wheel_radius_m=0.2,
    friction=0.35,
    torque_per_amp_nm=1.0,
    cg_to_front_m=0.5,
    cg_to_rear_m=0.5,
    cg_height_m=0.4,
)


# IEEE 485-2020, Annex B: volts a cell x cells (read in excerpt); 1.75 V is usual in trade
# articles (read), 1.67 V from memory.
@pytest.mark.parametrize(("each", "wanted"), [(1.75, 21.0), (1.67, 20.04)])
def test_least_voltage_of_twelve_cells(each, wanted):
    """The check values of a 24 V battery."""
    assert least_voltage(12, each) == pytest.approx(wanted, abs=1e-12)


def test_sag_is_current_times_resistance():
    """25.4 V at rest, 0.02 ohm, 220 A: 21.0 V (by hand); a short circuit gives 0 V."""
    assert sagged_voltage(220.0, 25.4, 0.02) == pytest.approx(21.0)
    assert sag_current(21.0, 25.4, 0.02) == pytest.approx(220.0)
    assert sagged_voltage(5000.0, 25.4, 0.02) == 0.0


def test_without_resistance_nothing_sags():
    """No resistance bears any current, but a battery that is empty at rest bears none."""
    assert sagged_voltage(900.0, 25.4, 0.0) == 25.4
    assert sag_current(21.0, 25.4, 0.0) == math.inf
    assert sag_current(26.0, 25.4, 0.0) == 0.0
    assert sag_current(26.0, 25.4, 0.1) == 0.0


@given(volts, ohms, st.floats(0.0, 1.0))
def test_sag_current_undoes_sag(rest, ohm, share):
    """The current found pulls the battery to just the voltage asked for."""
    wanted = share * rest
    assert sagged_voltage(sag_current(wanted, rest, ohm), rest, ohm) == pytest.approx(
        wanted, abs=1e-9 * rest
    )


@given(volts, ohms, st.lists(currents, min_size=2, max_size=20))
def test_voltage_never_rises_with_current(rest, ohm, drawn):
    """Neighbours, in order of current, never go up, and never below 0."""
    sagged = sagged_voltage(np.sort(drawn), rest, ohm)
    assert (np.diff(sagged) <= 0.0).all()
    assert (sagged >= 0.0).all()


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0])
@pytest.mark.parametrize("place", range(3))
def test_numbers_that_are_none_are_refused(bad, place):
    """NaN, infinity and negative numbers are named."""
    numbers = [100.0, 25.4, 0.02]
    numbers[place] = bad
    with pytest.raises(ValueError, match=r"(current|voltage|resistance)"):
        sagged_voltage(*numbers)
    with pytest.raises(ValueError, match=r"(voltage|resistance)"):
        sag_current(*numbers)


def test_arrays_keep_their_shape_and_are_not_changed():
    """Float in, float out; array in, array out."""
    drawn = np.array([[0.0, 100.0], [200.0, 300.0]])
    before = drawn.copy()
    assert sagged_voltage(drawn, 25.0, 0.01).shape == (2, 2)
    assert isinstance(sagged_voltage(1.0, 25.0, 0.01), float)
    assert np.array_equal(drawn, before)


def test_push_current_by_hand():
    """686 N at 0.2 m are 137 N m; at 1 N m/A, 137 A in both motors together."""
    assert push_current(0.35 * 200.0 * GRAVITY, 0.2, 1.0) == pytest.approx(137.2931)


@given(st.floats(0.0, 0.5), st.sampled_from(["all", "rear", "front"]))
def test_grip_pull_is_a_balance_of_forces(slope, driven):
    """Pull over weight on the driven wheels is the friction, at the acceleration it gives."""
    machine = replace(SWEEPER, driven=driven)
    pull = grip_pull(machine, slope)
    # Loads from the moments about both contacts, with the pull's own acceleration.
    mass, height = 200.0, 0.4
    a = pull / mass - GRAVITY * math.sin(slope)
    across, along = GRAVITY * math.cos(slope), a + GRAVITY * math.sin(slope)
    rear = mass * (0.5 * across + height * along) / 1.0
    front = mass * (0.5 * across - height * along) / 1.0
    load = {"all": front + rear, "rear": rear, "front": front}[driven]
    assert pull == pytest.approx(0.35 * load, rel=1e-9)


def test_grip_pull_says_when_it_cannot_tell():
    """No grip, no mass, or one driven axle without the centre of mass: not known."""
    assert grip_pull(replace(SWEEPER, friction=None)) is None
    assert grip_pull(replace(SWEEPER, mass_kg=None)) is None
    assert grip_pull(replace(SWEEPER, driven="rear", cg_height_m=None)) is None
    assert grip_pull(replace(SWEEPER, cg_height_m=None)) == pytest.approx(0.35 * 200 * GRAVITY)


def window(machine=SWEEPER, **changes):
    """A window on a 24 V battery (invented)."""
    facts = {"rest_v": 25.4, "resistance": 0.02, "least_v": 21.0, "slope": 0.0} | changes
    return current_window(machine, **facts)


def test_a_sensible_limit_lies_between():
    """Wheels spin at 68.6 A each, the battery gives out at 110 A each: a limit of 69 A."""
    found = window()
    assert found.spins == pytest.approx(137.2931 / 2, abs=1e-4)
    assert found.sags == pytest.approx(110.0)
    assert found.sensible
    assert found.suggested == 69.0
    assert found.voltage(110.0) == pytest.approx(21.0)
    assert "between 69 A" in found.words()
    assert "110 A" in found.words()


def test_no_limit_between_says_what_would_help():
    """A worse battery gives out before the wheels spin; the resistance wanted is named."""
    found = window(resistance=0.05)
    assert found.sags == pytest.approx(44.0)
    assert not found.sensible
    assert found.suggested == 44.0
    assert "No limit does both" in found.words()
    assert "64 % of what it grips" in found.words()
    assert "What would help" in found.words()
    cured = window(resistance=0.999999 * found.resistance_wanted(found.spins))
    assert cured.sensible


def test_a_flat_battery_bears_no_limit():
    """At rest already at its least: no current at all."""
    found = window(rest_v=20.5)
    assert found.sags == 0.0
    assert found.suggested is None
    assert "no limit helps" in found.words()


def test_a_slope_that_the_wheels_cannot_climb():
    """Steeper than the grip, atan 0.35 = 19.3 degrees: no limit gets it up."""
    assert not window(slope=math.radians(19.0)).slides_back
    steep = window(slope=math.radians(19.6))
    assert steep.slides_back
    assert not steep.sensible
    assert "no limit gets it up" in steep.words()
    assert steep.climbs == pytest.approx(slope_pull(200.0, math.radians(19.6)) * 0.2 / 2.0)


def test_a_slope_that_the_battery_cannot_climb():
    """What the slope takes is named where the battery does not give it."""
    found = window(resistance=0.08, slope=math.radians(18.0))
    assert found.climbs > found.sags
    assert f"The slope alone takes {found.climbs:.0f} A" in found.words()


def test_without_grip_or_torque_it_says_so():
    """Facts that are not known make no guess."""
    found = window(replace(SWEEPER, torque_per_amp_nm=None))
    assert found.spins is None
    assert found.climbs is None
    assert not found.sensible
    assert found.suggested == 110.0
    assert "not known" in found.words()


def test_without_resistance_any_limit_keeps_the_voltage():
    """No sag: the limit is where the wheels spin, and nothing without that."""
    assert window(resistance=0.0).suggested == 69.0
    assert "any higher limit" in window(resistance=0.0).words()
    assert window(replace(SWEEPER, friction=None), resistance=0.0).suggested is None


@given(volts, ohms, st.floats(0.1, 1.2), st.floats(0.05, 20.0))
def test_the_suggested_limit_never_sags_and_never_wastes_more_than_an_ampere(
    rest, ohm, friction, torque
):
    """With both motors at the suggestion the battery holds, and wheels spin at most 1 A earlier."""
    machine = replace(SWEEPER, friction=friction, torque_per_amp_nm=torque)
    found = current_window(machine, rest_v=rest, resistance=ohm, least_v=0.83 * rest)
    if found.suggested is None:
        assert found.sags < 1.0
        return
    assert found.voltage(found.suggested) >= 0.83 * rest - 1e-9
    assert found.suggested < found.spins + 1.0


def test_source_of_a_file():
    """The drive's supply from the file's keys; a missing one is named."""
    supply = Supply(12, 25.4, 0.02, 1.75, restart_delay_s=0.5)
    source = Source.of(supply)
    assert (source.rest_v, source.least_v, source.restart_s) == (25.4, 21.0, 0.5)
    assert source.under(250.0) == pytest.approx(20.4)
    with pytest.raises(ValueError, match=r"\[supply\] cells is not known"):
        Source.of(replace(supply, cells=None))
    with pytest.raises(ValueError, match=r"\[machine\] mass_kg is not known"):
        known(Machine(), "mass_kg")
