"""A restart in the middle of driving: sag, restart, start-up delay, and what the machine does then.

Straight ahead, one sudden load, and a drive that restarts as soon as its
voltage is under the least.  What a real drive does there (fade, trip, restart)
is its own affair; a restart is the worst.  The load is met once: a real one may
be met again, and again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np

from curvelib.chain import Chain
from curvelib.machine.centre import held_sticks
from curvelib.machine.checks import not_negative, positive
from curvelib.machine.rolling import follow, free_roll, way_behind
from curvelib.machine.starts import STARTS, Start, StickScript, path_after
from curvelib.machine.supply import Source
from curvelib.machine.tipping import GRAVITY
from curvelib.params import Checked, FloatArray, Param

__all__ = [
    "STARTS",
    "Body",
    "RestartScene",
    "RestartStory",
    "Start",
    "Trace",
    "free_roll",
    "path_after",
    "restart_story",
]

Unpowered = Literal["rolls", "holds"]

# Seconds of driving shown before the load.
BEFORE_S = 0.5


@dataclass(frozen=True)
class RestartScene(Checked):
    """What happens around the restart; invented values."""

    held: Annotated[
        float,
        Param(0.05, 1.0, 0.01, "Stick held forward", "Share of its travel while the load comes."),
    ] = 0.8
    load_a: Annotated[
        float,
        Param(0.0, 1000.0, 5.0, "Sudden load", "Battery current while the wheels meet it.", "A"),
    ] = 250.0
    slope_deg: Annotated[
        float,
        Param(-25.0, 25.0, 0.5, "Slope", "Above 0: nose downhill. Below 0: nose uphill.", "deg"),
    ] = 5.0
    lets_go_s: Annotated[
        float,
        Param(0.0, 5.0, 0.05, "Lets go after", "From the end of the restart to letting go.", "s"),
    ] = 1.2
    reaction_s: Annotated[
        float,
        Param(
            0.1,
            4.0,
            0.05,
            "Reaction time",
            "From the surprise to the independent stop. Untrained: 1 s or more.",
            "s",
        ),
    ] = 1.0
    unpowered: Unpowered = "rolls"

    @property
    def slope(self) -> float:
        """Slope in rad."""
        return math.radians(self.slope_deg)


@dataclass(frozen=True)
class Body:
    """The machine as far as a straight line goes: full speed in m/s, drive lag in s."""

    top_speed: float
    lag: float = 0.0

    def __post_init__(self) -> None:
        """Check both numbers."""
        positive(self.top_speed, "top speed", "m/s")
        not_negative(self.lag, "drive lag", "s")


@dataclass(frozen=True)
class Trace:
    """What the machine does with one way of starting, arrays of shape (n,).

    Parameters
    ----------
    start : str
        One of `STARTS`.
    time : ndarray
        s; 0 is the moment the power fails.
    command : ndarray
        Mean of both motors, -1..1; 0 without power.
    speed, way : ndarray
        m/s, and m from where the power failed.
    surprise, reacts : float
        s: when the operator is surprised (the restart's end where the machine
        may start by itself, else letting go), and when he has stopped it.
    """

    start: Start
    time: FloatArray
    command: FloatArray
    speed: FloatArray
    way: FloatArray
    surprise: float
    reacts: float

    @property
    def goes(self) -> float:
        """Distance in m, with its sign, from the surprise to the operator's reaction."""
        begin, end = np.interp([self.surprise, self.reacts], self.time, self.way)
        return float(end - begin)

    @property
    def worst_command(self) -> float:
        """Largest command, with its sign, from the surprise to the reaction."""
        # A sample just before the surprise still belongs to what was wanted.
        seen = self.command[(self.time >= self.surprise) & (self.time <= self.reacts + 1e-9)]
        return float(seen[np.argmax(np.abs(seen))]) if seen.size else 0.0


@dataclass(frozen=True)
class RestartStory:
    """The whole story.

    Parameters
    ----------
    voltage, least_v : float
        Under the load, and the drive's least, in V.
    back, lets_go : float
        s after the power failed: end of the restart, letting go.
    rolled : float
        m, with its sign, rolled without power.
    traces : dict
        A `Trace` for each of `STARTS`; without a restart all three drive on.
    """

    voltage: float
    least_v: float
    back: float
    lets_go: float
    rolled: float
    traces: dict[Start, Trace]

    @property
    def restarts(self) -> bool:
        """True where the voltage falls under the least."""
        return self.voltage < self.least_v


def restart_story(chain: Chain, scene: RestartScene, source: Source, body: Body) -> RestartStory:
    """Play a restart in the middle of driving, with each way of starting.

    Parameters
    ----------
    chain : Chain
        The signal path; its own kind of centre is not used, all are shown.
    scene : RestartScene
        Load, slope, operator.
    source : Source
        Supply.
    body : Body
        Full speed and drive lag.

    Returns
    -------
    RestartStory
        Voltage, moments and one `Trace` for each way of starting.

    Notes
    -----
    While powered the speed follows the command through the drive's lag, on any
    slope; without power the machine rolls freely or stands, as the scene says.
    """
    voltage = source.under(scene.load_a)
    back = source.restart_s
    lets_go = back + scene.lets_go_s
    steady = np.mean(chain.steady(*held_sticks(chain, scene.held)))
    speed = float(steady) * body.top_speed
    rolls = scene.unpowered == "rolls"
    rolled = free_roll(speed, back, scene.slope) if rolls else 0.0
    story = RestartStory(voltage, source.least_v, back, lets_go, rolled, {})
    if not story.restarts:
        driven = {start: _driven_on(start, scene, story, float(steady), speed) for start in STARTS}
        return replace(story, traces=driven)
    end = lets_go + scene.reaction_s
    script = StickScript.of(chain, held=scene.held, back=back, lets_go=lets_go, end=end)
    played = {start: _played(chain, scene, body, story, start, script, speed) for start in STARTS}
    return replace(story, traces=played)


def _driven_on(
    start: Start, scene: RestartScene, story: RestartStory, command: float, speed: float
) -> Trace:
    """Nothing happens: the voltage held."""
    end = story.lets_go + scene.reaction_s
    time = np.array([-BEFORE_S, 0.0, end])
    flat = np.ones_like(time)
    return Trace(start, time, command * flat, speed * flat, speed * time, end, end)


def _played(
    chain: Chain,
    scene: RestartScene,
    body: Body,
    story: RestartStory,
    start: Start,
    script: StickScript,
    speed: float,
) -> Trace:
    """Driving, the time without power, and what the path does after the restart."""
    off = np.linspace(0.0, story.back, 9)
    if scene.unpowered == "rolls":
        off_speed = speed + GRAVITY * math.sin(scene.slope) * off
        off_way = np.asarray(free_roll(speed, off, scene.slope))
    else:
        off_speed, off_way = np.zeros_like(off), np.zeros_like(off)
    time, command = script.shown, script.commanded(path_after(chain, start))
    wanted = body.top_speed * command
    on_speed = follow(time, wanted, body.lag, float(off_speed[-1]))
    on_way = off_way[-1] + way_behind(time, wanted, on_speed, body.lag)
    surprise = story.back if start == "fixed centre, no rest first" else story.lets_go
    return Trace(
        start,
        np.concatenate([[-BEFORE_S, 0.0], off, time]),
        np.concatenate([[speed / body.top_speed] * 2, np.zeros_like(off), command]),
        np.concatenate([[speed] * 2, off_speed, on_speed]),
        np.concatenate([[-BEFORE_S * speed, 0.0], off_way, on_way]),
        surprise,
        surprise + scene.reaction_s,
    )
