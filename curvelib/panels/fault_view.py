"""The pictures of what happens when things go wrong: a restart, a lost signal, the timeout."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from curvelib.machine.restart import BEFORE_S, RestartStory, Start
from curvelib.panels.look import COMPARISON, INK, PALETTE, SERIES, LineLook, style_axes
from curvelib.panels.scales import nice_top, set_ends
from curvelib.panels.storyview import EDGE, MARK, STILL, StoryView, legend, uprights
from curvelib.panels.units import Units
from curvelib.params import FloatArray

# One look for each way of starting, and for each thing a receiver may do.
START_LOOKS: dict[Start, LineLook] = {
    "fixed centre": SERIES[0],
    "learned centre": SERIES[1],
    "fixed centre, no rest first": SERIES[2],
}


class RestartView(StoryView):
    """What each stick position commands, the voltage, and the speed after a restart."""

    def __init__(self, units: Units) -> None:
        super().__init__(units)
        figure = self.picture.figure
        grid = figure.add_gridspec(
            2, 2, left=0.095, right=0.975, top=0.935, bottom=0.09, hspace=0.5, wspace=0.24
        )
        self._map = figure.add_subplot(grid[0, 0])
        self._volts = figure.add_subplot(grid[0, 1])
        self._time = figure.add_subplot(grid[1, :])
        style_axes(self._map, "where the stick is (%)", "command (%)", "What the stick commands")
        style_axes(self._volts, "time since power failed (s)", "battery (V)", "Battery")
        unit = units.of("m/s").unit
        marks = "dotted: power fails, is back, stick let go"
        style_axes(
            self._time, f"time since power failed (s); {marks}", f"speed ({unit})", "The machine"
        )
        self._map.set(xlim=(-100, 100), ylim=(-105, 105))
        self._map.axhline(0.0, **STILL.keywords())
        self._map.axvline(0.0, **STILL.keywords())
        self._time.axhline(0.0, **STILL.keywords())
        self._make_moving()

    def _make_moving(self) -> None:
        fixed, learned = START_LOOKS["fixed centre"], START_LOOKS["learned centre"]
        self._before = self.line(self._map, fixed, "fixed centre")
        self._after = self.line(self._map, learned, "learned in the restart")
        self._held = self.dot(self._map, LineLook(learned.colour, "-"), "stick let go")
        legend(self._map, "upper left")
        self._voltage = self.line(self._volts, SERIES[0], "battery")
        self._least = self.line(self._volts, EDGE, "the drive's least")
        legend(self._volts, "lower right")
        self._events = self.line(self._time, MARK)
        self._speeds = {
            start: self.line(self._time, look, _START_WORDS[start])
            for start, look in START_LOOKS.items()
        }
        self._stopped = self.dot(self._time, LineLook(INK, "-"), "stopped by you")
        legend(self._time, "above", 4)

    def draw(
        self,
        story: RestartStory,
        rest_v: float,
        top_speed: float,
        positions: FloatArray,
        before: FloatArray,
        after: FloatArray,
    ) -> None:
        """Move the lines.

        Parameters
        ----------
        story : RestartStory
            What happens.
        rest_v, top_speed : float
            V and m/s.
        positions, before, after : ndarray, shape (n,)
            Stick positions, -1..1, and their commands as set and as learned.
        """
        share = 100.0 * positions
        self._before.set_data(share, 100.0 * before)
        self._after.set_data(share, 100.0 * after)
        self._held.set_data([0.0], [100.0 * float(np.interp(0.0, positions, after))])
        end = max(trace.reacts for trace in story.traces.values())
        right = next(top for top in (4.0, 6.0, 9.0, 14.0, 20.0) if top >= end)
        self._draw_volts(story, rest_v, right)
        self._draw_time(story, top_speed, right)

    def _draw_volts(self, story: RestartStory, rest_v: float, right: float) -> None:
        top = nice_top(1.1 * rest_v)
        set_ends(self._volts, (-BEFORE_S, right), (0.0, top))
        after = rest_v if story.restarts else story.voltage
        sag = -0.2
        self._voltage.set_data(
            [-BEFORE_S, sag, sag, 0.0, 0.0, right],
            [rest_v, rest_v, story.voltage, story.voltage, after, after],
        )
        self._least.set_data([-BEFORE_S, right], [story.least_v] * 2)

    def _draw_time(self, story: RestartStory, top_speed: float, right: float) -> None:
        size = self.units.of("m/s").size
        most = max(float(np.abs(trace.speed).max()) for trace in story.traces.values())
        wide = next((w for w in (1.4, 2.0, 3.0, 5.0) if w * top_speed >= most), 8.0)
        high = wide * top_speed / size
        set_ends(self._time, (-BEFORE_S, right), (-high, high))
        moments = (0.0, story.back, story.lets_go) if story.restarts else ()
        uprights(self._events, moments, -high, high)
        ends: list[tuple[float, float]] = []
        for start, line in self._speeds.items():
            trace = story.traces[start]
            seen = trace.time <= trace.reacts + 1e-9
            line.set_data(trace.time[seen], trace.speed[seen] / size)
            if story.restarts and trace.worst_command != 0.0:
                ends.append((trace.reacts, float(trace.speed[seen][-1]) / size))
        self._stopped.set_data([x for x, _ in ends], [y for _, y in ends])


_START_WORDS: dict[Start, str] = {
    "fixed centre": "fixed, rest first",
    "learned centre": "learned",
    "fixed centre, no rest first": "fixed, no rest first",
}


@dataclass(frozen=True)
class LossCase:
    """One thing a receiver may do: speed and way over time, way to standing over speed."""

    speed: FloatArray
    way: FloatArray
    by_speed: FloatArray
    distance: float


class LossView(StoryView):
    """Speed and way after the signal is lost, and the way to standing from any speed."""

    def __init__(self, units: Units) -> None:
        super().__init__(units)
        figure = self.picture.figure
        grid = figure.add_gridspec(
            2, 2, left=0.095, right=0.975, top=0.935, bottom=0.09, hspace=0.5, wspace=0.24
        )
        self._speed = figure.add_subplot(grid[0, 0])
        self._way = figure.add_subplot(grid[0, 1])
        self._all = figure.add_subplot(grid[1, :])
        speed, length = units.of("m/s").unit, units.of("m").unit
        since = "time since the loss (s)"
        style_axes(self._speed, since, f"speed ({speed})", "How fast")
        style_axes(self._way, since, f"distance ({length})", "How far")
        style_axes(
            self._all,
            f"speed when the signal goes ({speed})",
            f"distance ({length})",
            "Until it stands",
        )
        self._cases = [
            [self.line(axes, look, label) for axes in (self._speed, self._way, self._all)]
            for look, label in zip(SERIES, LOSS_WORDS, strict=False)
        ]
        self._still = self.line(self._speed, MARK)
        self._here = self.dot(self._all, LineLook(INK, "-"))
        legend(self._all, "upper left")

    def draw(
        self,
        time: FloatArray,
        speeds: FloatArray,
        cases: Sequence[LossCase],
        now: float,
        still: float,
    ) -> None:
        """Move the lines.

        Parameters
        ----------
        time, speeds : ndarray
            s since the loss; m/s before it, for the lower axes.
        cases : sequence of LossCase
            One for each of `LOSS_WORDS`.
        now, still : float
            Speed when the signal goes, and what counts as standing, in m/s.
        """
        fast, long = self.units.of("m/s").size, self.units.of("m").size
        top = float(speeds[-1])
        low = -1.1 * top / fast if min(case.speed.min() for case in cases) < 0.0 else 0.0
        set_ends(self._speed, (0.0, float(time[-1])), (low, 1.1 * top / fast))
        ways = [case.by_speed[np.isfinite(case.by_speed)].max(initial=0.0) for case in cases]
        high = nice_top(1.05 * max(max(ways), 0.2) / long)
        set_ends(self._way, (0.0, float(time[-1])), (0.0, high))
        set_ends(self._all, (0.0, top / fast), (0.0, high))
        for lines, case in zip(self._cases, cases, strict=True):
            lines[0].set_data(time, case.speed / fast)
            lines[1].set_data(time, case.way / long)
            shown = np.where(np.isfinite(case.by_speed), case.by_speed, np.nan)
            lines[2].set_data(speeds / fast, shown / long)
        self._still.set_data([0.0, float(time[-1])], [still / fast] * 2)
        ends = [case.distance / long for case in cases if math.isfinite(case.distance)]
        self._here.set_data([now / fast] * len(ends), ends)


LOSS_WORDS = (
    "silence, or impossible pulses: the timeout acts",
    "a preset pulse",
    "its last pulse repeated for ever: never stands",
)


class TimeoutView(StoryView):
    """False stops and way to standing against the timeout."""

    LONGEST_S = 2.0

    def __init__(self, units: Units) -> None:
        super().__init__(units)
        figure = self.picture.figure
        grid = figure.add_gridspec(2, 1, left=0.11, right=0.975, top=0.935, bottom=0.09, hspace=0.5)
        self._stops = figure.add_subplot(grid[0])
        self._way = figure.add_subplot(grid[1])
        x = "signal timeout (s)"
        style_axes(self._stops, x, "false stops an hour", "Too short: it stops for nothing")
        length = units.of("m").unit
        style_axes(self._way, x, f"distance ({length})", "Too long: it drives blind")
        self._stops.set(xlim=(0, self.LONGEST_S), ylim=(1e-3, 1e4), yscale="log")
        self._stops.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
        self._way.set(xlim=(0, self.LONGEST_S))
        self._bands = [
            self.picture.moving(
                axes.axvspan(
                    0.0, 1.0, facecolor=PALETTE["green"], alpha=0.16, label="both are well"
                )
            )
            for axes in (self._stops, self._way)
        ]
        self._rate = self.line(self._stops, SERIES[0], "false stops")
        self._borne = self.line(self._stops, EDGE, "what you bear")
        self._gone = self.line(self._way, SERIES[0], "until it stands")
        self._blind = self.line(self._way, COMPARISON, "of it blind")
        self._room = self.line(self._way, EDGE, "room")
        self._now = [self.line(axes, MARK, "timeout now") for axes in (self._stops, self._way)]
        legend(self._stops, "above", 3, [self._rate, self._borne, self._now[0]])
        legend(self._way, "above", 4, [self._gone, self._blind, self._room, self._now[1]])

    def draw(
        self,
        timeouts: FloatArray,
        rates: FloatArray,
        blind: FloatArray,
        stop_way: float,
        marks: tuple[float, float, float],
        window: tuple[float, float],
    ) -> None:
        """Move the lines.

        Parameters
        ----------
        timeouts, rates, blind : ndarray, shape (n,)
            s; false stops an hour; metres blind.
        stop_way : float
            m from the ramp's beginning to standing.
        marks : (float, float, float)
            Timeout now in s, false stops borne an hour, room in m.
        window : (float, float)
            Timeouts in s between which both are well; reversed where none is.
        """
        long = self.units.of("m").size
        now, borne, room = marks
        slow = stop_way if math.isfinite(stop_way) else 0.0
        high = nice_top(1.1 * max(float(blind[-1]) + slow, room) / long)
        set_ends(self._way, None, (0.0, high))
        self._rate.set_data(timeouts, np.maximum(rates, 1e-6))
        self._gone.set_data(timeouts, (blind + stop_way) / long)
        self._blind.set_data(timeouts, blind / long)
        ends = [0.0, self.LONGEST_S]
        self._borne.set_data(ends, [borne, borne])
        self._room.set_data(ends, [room / long] * 2)
        uprights(self._now[0], [now], 1e-6, 1e6)
        uprights(self._now[1], [now], 0.0, high)
        least, most = window
        for band in self._bands:
            band.set_x(least)
            band.set_width(max(min(most, self.LONGEST_S) - least, 0.0))
