"""The machine file as Python objects: everything that is decided about one machine.

Field names are the keys of the file.  A machine fact that is None is not
known; whatever needs it says so instead of guessing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Annotated, Literal

from curvelib.curves import Stage
from curvelib.facts import Contact, Driven, Machine, Supply
from curvelib.mixing import Mix, TankMix
from curvelib.output import Output
from curvelib.params import Checked, Param
from curvelib.shape import Shape
from curvelib.sides import Sides
from curvelib.slew import ActsOn, SlewLimit, ToFull, ToStop
from curvelib.stick import (
    CentrePulse,
    HighPulse,
    LowPulse,
    Stick,
    StickSetup,
    check_pulse_order,
)

__all__ = [
    "CHANNELS",
    "FORMAT",
    "Channel",
    "ChannelSetup",
    "Contact",
    "Driven",
    "Machine",
    "Origin",
    "SignalLoss",
    "SlewSetup",
    "Supply",
    "Tune",
]

Channel = Literal["throttle", "steer"]
CHANNELS: tuple[Channel, Channel] = ("throttle", "steer")
FORMAT = 1


@dataclass(frozen=True)
class ChannelSetup(Checked):
    """One stick: its direction, a pulse range of its own if it has one, and its shape.

    Parameters
    ----------
    reversed : bool
        True where pushing forward (or right) makes the pulse shorter.
    low_us, centre_us, high_us : float, optional
        In us; each that is None is taken from the common stick section.
    shape : Shape
        Stages from stick position to shaped position.
    """

    reversed: bool = False
    low_us: Annotated[float | None, LowPulse.__metadata__[0]] = None
    centre_us: Annotated[float | None, CentrePulse.__metadata__[0]] = None
    high_us: Annotated[float | None, HighPulse.__metadata__[0]] = None
    shape: Shape = Shape()

    def __post_init__(self) -> None:
        """Check the numbers; a single stage becomes a shape of its own."""
        super().__post_init__()
        if isinstance(self.shape, Stage):
            object.__setattr__(self, "shape", Shape([self.shape]))
        elif not isinstance(self.shape, Shape):
            raise ValueError(f"shape = {self.shape!r} is no shape; give a Shape or a stage.")


@dataclass(frozen=True)
class SlewSetup(Checked):
    """How fast commands may change, and where the limit acts.

    A ramp of about 0.4 s is common practice, no source.
    """

    to_full_s: ToFull = 0.4
    to_stop_s: ToStop = 0.4
    acts_on: ActsOn = "motors"

    @property
    def limit(self) -> SlewLimit:
        """The limit itself."""
        return SlewLimit(self.to_full_s, self.to_stop_s)


@dataclass(frozen=True)
class SignalLoss(Checked):
    """When silence stops the machine, and how long sticks must rest before it may drive.

    About 0.8 s of silence and a start-up delay of 0.5 s are common practice,
    no source.
    """

    timeout_s: Annotated[
        float,
        Param(
            0.0, 10.0, 0.05, "Signal timeout", "Silence longer than this stops both motors.", "s"
        ),
    ] = 0.8
    centred_first_s: Annotated[
        float,
        Param(
            0.0,
            10.0,
            0.05,
            "Rest before driving",
            "How long all sticks must rest at centre before the machine may drive.",
            "s",
        ),
    ] = 0.5


@dataclass(frozen=True)
class Origin:
    """Where a tune was read from: path, and the exact text as it was then."""

    path: str
    text: str


@dataclass(frozen=True)
class Tune:
    """Everything that is decided about one machine; equal by value, whatever file it came from."""

    name: str = "Unnamed machine"
    machine: Machine = Machine()
    stick: StickSetup = StickSetup()
    throttle: ChannelSetup = ChannelSetup()
    steer: ChannelSetup = ChannelSetup()
    mix: Mix = TankMix()
    slew: SlewSetup = SlewSetup()
    signal_loss: SignalLoss = SignalLoss()
    sides: Sides = Sides()
    output: Output = Output()
    supply: Supply = Supply()
    origin: Origin | None = field(default=None, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Check that each stick's pulse range, put together, is in order."""
        for channel in CHANNELS:
            low, centre, high = self.pulses(channel)
            check_pulse_order(low, centre, high, channel)

    def channel(self, channel: Channel) -> ChannelSetup:
        """Setup of one stick, by name."""
        return self.throttle if channel == "throttle" else self.steer

    def with_shape(self, channel: Channel, shape: Shape) -> Tune:
        """Return a tune in which one stick has another shape."""
        setup = replace(self.channel(channel), shape=shape)
        if channel == "throttle":
            return replace(self, throttle=setup)
        return replace(self, steer=setup)

    def shape(self, channel: Channel) -> Shape:
        """Shape that acts on a stick; in independent mixing both take the throttle's."""
        alike = self.mix.kind == "independent"
        return self.throttle.shape if alike else self.channel(channel).shape

    def pulses(self, channel: Channel) -> tuple[float, float, float]:
        """Low, centre and high pulse width in us of one stick."""
        own, common = self.channel(channel), self.stick
        return (
            common.low_us if own.low_us is None else own.low_us,
            common.centre_us if own.centre_us is None else own.centre_us,
            common.high_us if own.high_us is None else own.high_us,
        )

    def stick_for(self, channel: Channel) -> Stick:
        """The `Stick` of one channel."""
        return Stick(*self.pulses(channel), steps=self.stick.steps)
