"""Invented machines that between them use every part of the path in every way."""

from dataclasses import replace

from curvelib import (
    Chain,
    CubicBlend,
    Deadband,
    Expo,
    Independent,
    Limit,
    Points,
    Shape,
    TankMix,
    Tune,
    TwoZone,
)
from curvelib.output import Output
from curvelib.sides import Sides
from curvelib.stick import StickSetup
from curvelib.tune import ChannelSetup, SignalLoss, SlewSetup

SOFT = Shape([Deadband(0.03), CubicBlend(0.6)])
MEASURED = ((0.0, 0.12), (0.3, 0.4), (0.7, 0.62), (1.0, 0.95))


def _tune(
    first=SOFT,
    second=SOFT,
    mix=None,
    ramp=(0.4, 0.4, "motors"),
    loss=(0.8, 0.5),
    output=None,
    stick=None,
    turned=(False, False),
    own=None,
    **sides,
):
    return Tune(
        name="Invented machine",
        stick=stick or StickSetup(),
        throttle=ChannelSetup(reversed=turned[0], shape=first, **(own or {})),
        steer=ChannelSetup(reversed=turned[1], shape=second),
        mix=mix or TankMix(),
        slew=SlewSetup(*ramp),
        signal_loss=SignalLoss(*loss),
        sides=Sides(**sides),
        output=output or Output(),
    )


FULL = Output("signed", full=32767)
MACHINES = {
    "plain": _tune(),
    "scale on motors, starts": _tune(output=FULL, left_start=0.1, right_start=0.07, right_top=0.9),
    "clip on sticks": _tune(
        second=Shape([Expo(3.0)]),
        mix=TankMix(0.77, "clip"),
        ramp=(0.6, 0.25, "sticks"),
        output=FULL,
        turned=(True, False),
    ),
    "keep turn together": _tune(
        first=Shape([TwoZone(0.4, 0.2)]),
        mix=TankMix(0.5, "keep turn"),
        ramp=(1.0, 0.35, "together"),
        output=FULL,
        left_reversed=True,
    ),
    "scale together, measured": _tune(
        mix=TankMix(0.6, "scale"),
        ramp=(0.5, 0.3, "together"),
        output=Output("percent"),
        left_measured=MEASURED,
        right_start=0.05,
        swapped=True,
    ),
    "scale on sticks, lopsided pulse": _tune(
        first=Shape([Points([0.3, 0.6], [0.1, 0.3])]),
        ramp=(2.0, 0.5, "sticks"),
        output=Output("pulse", 1100, 1500, 1850),
        right_reversed=True,
        left_measured=MEASURED,
        right_measured=((0.0, 0.0), (0.5, 0.2), (1.0, 1.0)),
    ),
    "keep turn on motors": _tune(
        mix=TankMix(1.0, "keep turn"),
        ramp=(0.0123, 0.05, "motors"),
        loss=(0.1, 0.05),
        output=Output("signed", full=1000),
        turned=(True, True),
        left_reversed=True,
        right_reversed=True,
        swapped=True,
    ),
    "clip together": _tune(
        mix=TankMix(0.3, "clip"), ramp=(0.4, 0.0, "together"), output=FULL, loss=(0.25, 0.1234)
    ),
    "independent": _tune(
        first=Shape([Deadband(0.1), Expo(2.2)]),
        mix=Independent(),
        ramp=(0.45, 0.3, "motors"),
        output=Output("signed", full=255),
        left_measured=MEASURED,
        turned=(False, True),
    ),
    "independent, together": _tune(
        mix=Independent(), ramp=(0.123456789, 0.4, "together"), output=FULL, left_start=0.02
    ),
    "no ramp": _tune(
        mix=TankMix(1.0, "clip"), ramp=(0.0, 0.0, "motors"), output=FULL, right_start=0.2
    ),
    "no ramp up": _tune(
        mix=TankMix(0.3, "keep turn"), ramp=(0.0, 0.05, "sticks"), output=FULL, left_start=0.337
    ),
    "no ramp up, together": _tune(
        mix=Independent(), ramp=(0.0, 0.1, "together"), output=Output("pulse", 1250, 1500, 2000)
    ),
    "slow": _tune(ramp=(10.0, 9.87654321, "motors"), output=FULL, loss=(0.0333, 0.2)),
    "coarse": _tune(
        first=Shape(), second=Shape([Limit(0.4)]), output=Output("signed", full=1), left_start=0.4
    ),
    "half microseconds": _tune(
        stick=StickSetup(1000.5, 1500.5, 1999.5, 1024),
        own={"low_us": 903.25, "centre_us": 1487.0, "high_us": 2099.0},
        output=FULL,
        loss=(10.0, 0.0),
    ),
    "at once": _tune(loss=(0.0, 0.0), ramp=(0.4, 0.4, "together"), output=FULL),
}


def fixed_chain(tune):
    """The path that the exported program follows: centre fixed, every pulse as it comes."""
    chain = Chain.from_tune(tune)
    first, second = (replace(stick, steps=None) for stick in chain.sticks)
    return replace(chain, sticks=(first, second), learned_centre=False)


def run_path(tune, trace):
    """The library's own run of a trace."""
    first, second, age, dt = trace.astype(float).T
    return fixed_chain(tune).run(first, second, dt / 1000.0, age / 1000.0)
