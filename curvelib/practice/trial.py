"""Many trials at once: a model operator parks the machine through its whole signal path.

Every random number comes from the seed, the number of the block and the place
in it: the same seed gives the same trials, whatever the shape under test and
however many trials are run, so two shapes meet the same shaking hand.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import fields

import numpy as np

from curvelib.params import FloatArray
from curvelib.practice.course import Seen, lets_go, wanted_motion
from curvelib.practice.operator import Hand
from curvelib.practice.plan import Outcome, Plan, Trace
from curvelib.practice.rig import Motors, Rig, travelled

# Trials that run side by side: small enough for the processor's cache.
BLOCK = 2000
# Frames between two moments at which a run can be stopped.
_FRAMES_A_GO = 50


class Run:
    """A set of trials, to be worked through bit by bit.

    Parameters
    ----------
    rig : Rig
        The machine.
    plan : Plan
        What is assumed.
    trials : int
        How many, 1 to 1,000,000.
    seed : int
        Of the random numbers.
    traced : int
        So many of the first trials are kept over time.
    """

    def __init__(self, rig: Rig, plan: Plan, trials: int, seed: int = 1, traced: int = 0) -> None:
        if not 1 <= trials <= 1_000_000:
            raise ValueError(f"trials = {trials}; give from 1 to 1000000.")
        self._rig, self._plan, self._trials, self._seed = rig, plan, trials, seed
        self._traced = min(traced, trials, BLOCK)
        self._done: list[Outcome] = []
        self.traces: list[Trace] = []

    def __iter__(self) -> Iterator[float]:
        """Work; yield the share done now and then, so that the caller can stop."""
        blocks = math.ceil(self._trials / BLOCK)
        for number in range(blocks):
            size = min(BLOCK, self._trials - number * BLOCK)
            block = Block(self._rig, self._plan, size, (self._seed, number))
            kept = self._traced if number == 0 else 0
            for frame in range(self._plan.frames):
                block.step(frame, kept)
                if (frame + 1) % _FRAMES_A_GO == 0:
                    if block.resting:
                        break
                    yield (number * BLOCK + size * (frame + 1) / self._plan.frames) / self._trials
            self._done.append(block.outcome())
            if number == 0:
                self.traces = block.traces()
            yield (number * BLOCK + size) / self._trials

    def outcome(self) -> Outcome:
        """All blocks finished so far."""
        if not self._done:
            raise ValueError("No trial has finished yet.")
        names = [field.name for field in fields(Outcome)]
        parts = {name: [getattr(done, name) for done in self._done] for name in names}
        return Outcome(**{name: np.concatenate(part) for name, part in parts.items()})


def run(rig: Rig, plan: Plan, trials: int, seed: int = 1) -> Outcome:
    """Run trials to the end; see `Run` and `Outcome`."""
    going = Run(rig, plan, trials, seed)
    for _ in going:
        pass
    return going.outcome()


class Shaking:
    """Additive and growing noise of one or two thumbs, first-order, of unit rms from the start.

    Drawn for a whole block whatever its size, so that fewer trials are the first of more.
    """

    def __init__(
        self, hand: Hand, thumbs: int, size: int, frame_s: float, seed: tuple[int, int]
    ) -> None:
        self._random = np.random.default_rng(seed)
        self._thumbs, self._size = thumbs, size
        self._kept = math.exp(-frame_s / hand.shake_s)
        self._fresh = math.sqrt(-math.expm1(-2.0 * frame_s / hand.shake_s))
        self.aims = self._random.standard_normal(BLOCK)[:size]
        self._now = self._draw()

    def _draw(self) -> FloatArray:
        return self._random.standard_normal((2, self._thumbs, BLOCK))[:, :, : self._size]

    def step(self) -> FloatArray:
        """Shape (2, thumbs, n): additive and growing, in this frame."""
        now = self._now
        self._now = self._kept * now + self._fresh * self._draw()
        return now


class Block:
    """Trials side by side, one frame at a time."""

    def __init__(self, rig: Rig, plan: Plan, size: int, seed: tuple[int, int]) -> None:
        self._rig, self._plan = rig, plan
        self._tables = rig.tables()
        self._motors = Motors(rig, size, plan.frame_s)
        course = plan.course
        # On a straight way a thumb that only steers is off its stick.
        self._busy = 1 if course.place == "line" and rig.chain.mix.kind == "tank" else 2
        self._shaking = Shaking(plan.hand, self._busy, size, plan.frame_s, seed)
        self._aim = course.distance_m + plan.operator.misjudged_m * self._shaking.aims
        self._pose = np.zeros((3, size))  # ahead, left, heading
        self._pose[1] = course.offset_m if course.place == "bay" else 0.0
        self._seen = np.empty((plan.frames_late + 1, 4, size))
        self._gone = np.zeros(size, dtype=np.bool_)
        self._time = np.full(size, plan.frames * plan.frame_s)
        self._way = np.zeros(size)
        self._reversals = np.zeros(size, dtype=np.int64)
        self._kept: list[tuple[FloatArray, ...]] = []

    def step(self, frame: int, traced: int = 0) -> None:
        """Move all trials by one frame; keep the first few over time."""
        seen = self._look(frame)
        gone = lets_go(self._plan.operator, seen) & ~self._gone
        self._time[gone] = frame * self._plan.frame_s
        self._gone |= gone
        thumbs = self._thumbs(seen)
        shaped = np.stack([self._tables[k].command(thumbs[k]) for k in (0, 1)])
        self._count_reversals(shaped[0])
        sides = self._motors.step(shaped)
        self._move(sides)
        if traced:
            self._kept.append(
                tuple(part[:, :traced].copy() for part in (self._pose, thumbs, shaped, sides))
            )

    def _look(self, frame: int) -> Seen:
        """Take note of how things are; return how they were one reaction time ago."""
        ring = self._seen
        now = ring[frame % len(ring)]
        now[0] = self._aim - self._pose[0]
        now[1:3] = self._pose[1:]
        now[3] = self._motors.speed
        return Seen(*ring[max(frame - len(ring) + 1, 0) % len(ring)])

    def _thumbs(self, seen: Seen) -> FloatArray:
        """Where both thumbs are, shaking included; a stick let go rests at its centre."""
        plan = self._plan
        speed, yaw_rate = wanted_motion(plan.course, plan.operator, seen)
        commands = self._rig.wanted_commands(speed, yaw_rate)
        additive, growing = self._shaking.step()
        thumbs = np.zeros_like(commands)
        for k in range(self._busy):
            meant = self._meant(k, commands[k])
            thumbs[k] = meant + plan.hand.tremor * additive[k]
            thumbs[k] += plan.hand.growing * np.abs(meant) * growing[k]
        thumbs[:, self._gone] = 0.0
        return thumbs

    def _meant(self, k: int, command: FloatArray) -> FloatArray:
        table, knows = self._tables[k], self._plan.operator.knows_shape
        if knows == 0.0:
            return table.straight_thumb_for(command)
        learned = table.thumb_for(command)
        if knows == 1.0:
            return learned
        return knows * learned + (1.0 - knows) * table.straight_thumb_for(command)

    def _count_reversals(self, shaped: FloatArray) -> None:
        turned = shaped * self._way < 0.0
        self._reversals += turned
        self._way = np.where(shaped != 0.0, np.sign(shaped), self._way)

    def _move(self, sides: FloatArray) -> None:
        if self._plan.course.place == "line":
            self._pose[0] += 0.5 * self._plan.frame_s * (sides[0] + sides[1])
        else:
            self._pose += travelled(self._rig, sides, self._pose[2], self._plan.frame_s)

    @property
    def resting(self) -> bool:
        """True once every stick was let go and every machine stands: nothing more will happen."""
        return bool(self._gone.all()) and self._motors.resting

    def outcome(self) -> Outcome:
        """How the trials stand now."""
        return Outcome(
            along_m=self._pose[0] - self._plan.course.distance_m,
            left_m=self._pose[1].copy(),
            heading_rad=self._pose[2].copy(),
            time_s=self._time,
            parked=self._gone,
            reversals=self._reversals,
        )

    def traces(self) -> list[Trace]:
        """The trials kept over time."""
        if not self._kept:
            return []
        pose, thumbs, shaped, sides = (np.array(part) for part in zip(*self._kept, strict=True))
        return [
            Trace(pose[:, 0, k], pose[:, 1, k], thumbs[:, :, k], shaped[:, :, k], sides[:, :, k])
            for k in range(pose.shape[2])
        ]
