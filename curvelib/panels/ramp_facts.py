"""What the ramp panel shows, worked out by the library from the machine file and the scene."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from curvelib.chain import Chain, Run
from curvelib.machine.limits import Stance, ramp_window, stopping_distance
from curvelib.machine.plan import SnapTrace, snap, stopping_paths
from curvelib.machine.ramping import RampPath
from curvelib.machine.recording import Recording
from curvelib.machine.response import Moments, Response, moments, respond
from curvelib.machine.scenes import RampScene, StickChange
from curvelib.machine.verdict import RampWindow
from curvelib.panels.sizes import Sizes, sizes_of
from curvelib.params import FloatArray
from curvelib.slew import ActsOn
from curvelib.tune import Tune

# So much of the time before a change is shown, in s.
LEAD = 0.25
# Samples of a trace; more than a line of 400 pixels can show.
_SAMPLES = 300
_PATH_SAMPLES = 120
# Longer recordings are cut here, so that a drag stays quick.
MOST_REPLAYED = 1000
# Speed has arrived when so near, as a share of the largest in the trace.
ARRIVED = 0.02


@dataclass(frozen=True, eq=False)
class Trace:
    """What follows a change of the sticks, or a recording.

    Parameters
    ----------
    time : ndarray, shape (n,)
        Seconds since the change, or since the recording began, at the end of each step.
    left, right : ndarray, shape (n,)
        Motor commands.
    wanted : ndarray, shape (n,)
        Speed of the body that the commands ask for, in m/s.
    response : Response
        What the machine does.
    moments : Moments
        When it would tip or slide.
    """

    time: FloatArray
    left: FloatArray
    right: FloatArray
    wanted: FloatArray
    response: Response
    moments: Moments

    @property
    def arrives(self) -> float:
        """Time from which the speed stays within 2 % of its last, in s, 0 or more."""
        speed = np.asarray(self.response.speed)
        off = np.abs(speed - speed[-1]) > ARRIVED * max(float(np.abs(speed).max()), 1e-9)
        return max(0.0, float(self.time[off][-1])) if off.any() else 0.0

    @property
    def rolls(self) -> float:
        """Length of the way from time 0 on, in m."""
        steps = np.diff(self.response.poses[:, :2], axis=0)[self.time > 1e-9]
        return float(np.hypot(steps[:, 0], steps[:, 1]).sum())


@dataclass(frozen=True, eq=False)
class RampFacts:
    """Everything the panel says.

    Parameters
    ----------
    tune : Tune
        With top speed, grip, drive lag and height of the centre of mass filled in.
    chain : Chain
        Its path.
    sizes : Sizes
        Its measures.
    scene : RampScene
        Ground, room and what is kept back.
    stance : Stance
        How the machine stands, the way it faces.
    trace : Trace
        Of the change or recording chosen.
    window : RampWindow
        Facing both ways on the slope.
    paths : mapping of str to SnapTrace
        Letting go in a turn, by where the ramp acts.
    stops_in : float
        Distance in m from full speed straight ahead to standing.
    """

    tune: Tune
    chain: Chain
    sizes: Sizes
    scene: RampScene
    stance: Stance
    trace: Trace
    window: RampWindow
    paths: Mapping[ActsOn, SnapTrace]
    stops_in: float


def ramp_facts(
    tune: Tune, scene: RampScene, uphill: bool, change: StickChange, replayed: Replayed | None
) -> RampFacts:
    """Work everything out.

    Parameters
    ----------
    tune : Tune
        With `top_speed_m_s`, `friction`, `lag_s` and `cg_height_m` of the
        machine filled in; other measures have stand-ins.
    scene : RampScene
        Ground, room and what is kept back.
    uphill : bool
        True where the nose points uphill in the trace.
    change : StickChange
        What the sticks do.
    replayed : Replayed, optional
        A recording that went through this path; it takes the place of the change.
    """
    chain, sizes = Chain.from_tune(tune), sizes_of(tune.machine)
    stance = _stance(tune, sizes, -scene.slope if uphill else scene.slope)
    window = _window(chain, tune, sizes, scene)
    trace = (
        _snap_trace(tune, chain, sizes, stance, change)
        if replayed is None
        else _replay_trace(tune, sizes, stance, replayed)
    )
    return RampFacts(
        tune=tune,
        chain=chain,
        sizes=sizes,
        scene=scene,
        stance=stance,
        trace=trace,
        window=window,
        paths=_paths(tune, chain, sizes, scene.held),
        stops_in=stopping_distance(
            window.speed,
            delay=scene.delay_s,
            to_stop=tune.slew.to_stop_s,
            top_speed=tune.machine.top_speed_m_s or 0.0,
            lag=tune.machine.lag_s or 0.0,
        ),
    )


def _stance(tune: Tune, sizes: Sizes, slope: float) -> Stance:
    return Stance(
        sizes.cg_to_front,
        sizes.cg_to_rear,
        sizes.cg_height,
        tune.machine.friction or 0.0,
        sizes.track,
        tune.machine.driven,
        slope,
    )


def _window(chain: Chain, tune: Tune, sizes: Sizes, scene: RampScene) -> RampWindow:
    machine = tune.machine
    return _kept_window(
        path=RampPath.from_chain(chain),
        top_speed=machine.top_speed_m_s,
        cg_to_front=sizes.cg_to_front,
        cg_to_rear=sizes.cg_to_rear,
        cg_height=sizes.cg_height,
        friction=machine.friction,
        slope=scene.slope,
        driven=machine.driven,
        lag=machine.lag_s,
        delay=scene.delay_s,
        room=scene.room_m,
        margin=scene.margin,
    )


# The window does not depend on the ramps chosen, so dragging those looks nothing up twice.
_kept_window = lru_cache(maxsize=256)(ramp_window)


def _moving(tune: Tune, sizes: Sizes) -> dict[str, float]:
    """How commands become motion."""
    machine = tune.machine
    return {
        "top_speed": machine.top_speed_m_s or 0.0,
        "track": sizes.track,
        "lag": machine.lag_s or 0.0,
        "turning_share": machine.turning_share or 1.0,
    }


def _ramps(tune: Tune) -> dict[str, float]:
    return {"to_full": tune.slew.to_full_s, "to_stop": tune.slew.to_stop_s}


def _step(tune: Tune, samples: int, before: float = 0.0) -> float:
    """Time step in s that makes about so many samples of a change."""
    ramps = _ramps(tune)
    span = sum(ramps.values()) + max(ramps.values()) + 5.0 * (tune.machine.lag_s or 0.0)
    return max(0.001, (before + span) / samples)


def _snap_trace(
    tune: Tune, chain: Chain, sizes: Sizes, stance: Stance, change: StickChange
) -> Trace:
    made = snap(
        _shaped(chain, change.before),
        _shaped(chain, change.after),
        path=RampPath.from_chain(chain),
        delay=LEAD,
        dt=_step(tune, _SAMPLES, LEAD),
        **_ramps(tune),
        **_moving(tune, sizes),
    )
    return _trace(tune, made.left, made.right, made.response, stance, LEAD)


def _shaped(chain: Chain, sticks: tuple[float, float]) -> tuple[float, float]:
    first, second = (float(shape(x)) for shape, x in zip(chain.shapes, sticks, strict=True))
    return first, second


def _trace(
    tune: Tune,
    left: FloatArray,
    right: FloatArray,
    response: Response,
    stance: Stance,
    begins: float,
) -> Trace:
    return Trace(
        response.time - begins,
        left,
        right,
        (tune.machine.top_speed_m_s or 0.0) * (left + right) / 2.0,
        response,
        moments(response, stance),
    )


@dataclass(frozen=True, eq=False)
class Replayed:
    """A recording that went through a path.

    Parameters
    ----------
    recording : Recording
        As much of it as was replayed.
    run : Run
        What the path made of it.
    whole : int
        Samples in the file.
    """

    recording: Recording
    run: Run
    whole: int


def replay(chain: Chain, recording: Recording) -> Replayed:
    """Send a recording, its first `MOST_REPLAYED` samples, through a path."""
    kept = slice(0, MOST_REPLAYED)
    shown = replace(
        recording,
        time=recording.time[kept],
        first=recording.first[kept],
        second=recording.second[kept],
    )
    first, second = shown.pulses(chain.sticks, chain.reversed)
    return Replayed(shown, chain.run(first, second, shown.since_before), len(recording.time))


def _replay_trace(tune: Tune, sizes: Sizes, stance: Stance, replayed: Replayed) -> Trace:
    run = replayed.run
    response = respond(run.left, run.right, replayed.recording.held_for, **_moving(tune, sizes))
    return _trace(tune, run.left, run.right, response, stance, 0.0)


def _paths(tune: Tune, chain: Chain, sizes: Sizes, held: float) -> Mapping[ActsOn, SnapTrace]:
    return stopping_paths(
        _shaped(chain, (1.0, held)),
        mix=chain.mix,
        dt=_step(tune, _PATH_SAMPLES),
        **_ramps(tune),
        **_moving(tune, sizes),
    )
