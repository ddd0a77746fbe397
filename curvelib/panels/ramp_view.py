"""The picture of ramping: traces against the limits, the window, the three stopping paths."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from curvelib.machine.limits import Stance
from curvelib.machine.plan import SnapTrace
from curvelib.machine.verdict import RampWindow
from curvelib.panels.look import (
    COMPARISON,
    INK,
    NOTE_SIZE,
    PALETTE,
    SERIES,
    LineLook,
    style_axes,
)
from curvelib.panels.picture import Picture
from curvelib.panels.ramp_facts import Trace
from curvelib.panels.scales import nice_top, set_ends
from curvelib.panels.units import Units
from curvelib.params import FloatArray
from curvelib.slew import ActsOn

WIDTH, HEIGHT = 900, 690
# Places of the axes in pixels: left, bottom, width, height.
_COMMAND = (86, 512, 404, 146)
_SPEED = (86, 292, 404, 146)
_PUSH = (86, 62, 404, 156)
_PLAN = (590, 314, 286, 344)
_WINDOW = (590, 92, 286, 98)

# Share of the view in plan that lies behind the start.
_BEHIND = 0.2

_LIMIT_SLIDE = LineLook(PALETTE["green"], "-.", 1.8)
_LIMIT_TIP = LineLook(PALETTE["purple"], ":", 2.4)
_GOOD = LineLook(PALETTE["sky blue"], "-", 13.0)
_SHORT = LineLook(PALETTE["vermilion"], "--", 2.4)
_FAR = LineLook(PALETTE["purple"], ":", 3.0)
_OVER = LineLook(PALETTE["orange"], "-", 5.0)
_TIP_MARK, _SLIDE_MARK, _OUT_MARK = "^", "X", "X"
_ROWS = {"to stop": 1.0, "to full": 0.0}
_PLACES: tuple[ActsOn, ...] = get_args(ActsOn)


@dataclass(frozen=True, eq=False)
class RampScenery:
    """All that the picture shows.

    Parameters
    ----------
    trace : Trace
        Of the change or recording.
    recorded : bool
        True for a recording, whose time begins at 0.
    stance : Stance
        For the limits.
    window : RampWindow
        Which ramps will do.
    to_stop, to_full : float
        The ramps chosen, in s.
    paths : mapping of str to SnapTrace
        Letting go in a turn, by where the ramp acts.
    acts_on : str
        Where it acts in this file.
    """

    trace: Trace
    recorded: bool
    stance: Stance
    window: RampWindow
    to_stop: float
    to_full: float
    paths: Mapping[ActsOn, SnapTrace]
    acts_on: ActsOn


class RampView:
    """Draws what the ramps do.

    Parameters
    ----------
    units : Units
        Of speeds and lengths.
    """

    def __init__(self, units: Units) -> None:
        self._units = units
        self.picture = Picture(WIDTH, HEIGHT)
        places = (_COMMAND, _SPEED, _PUSH, _PLAN, _WINDOW)
        made = [self.picture.figure.add_axes(_share(place)) for place in places]
        self._command, self._speed, self._push, self._plan, self._window = made
        self._furnish()
        self._make_moving()
        self._legends()

    def _furnish(self) -> None:
        speed, length = self._units.of("m/s").unit, self._units.of("m").unit
        style_axes(self._command, "", "command (%)", "Motor commands")
        style_axes(self._speed, "", f"speed ({speed})", "Speed")
        style_axes(self._push, "time (s)", "acceleration (m/s²)")
        style_axes(
            self._plan, f"to the left ({length})", f"forward ({length})", "Both let go in a turn"
        )
        style_axes(self._window, "seconds", "", "The ramp window")
        self._command.set(ylim=(-105, 105), yticks=(-100, -50, 0, 50, 100))
        self._window.set(ylim=(-0.6, 1.6), yticks=list(_ROWS.values()))
        self._window.set_yticklabels(list(_ROWS))
        for axes in (self._command, self._speed, self._push):
            axes.axhline(0.0, **COMPARISON.keywords())

    def _make_moving(self) -> None:
        line, (first, second, *_) = self._line, SERIES
        self._left, self._right = line(self._command, first), line(self._command, second)
        self._wanted, self._goes = line(self._speed, COMPARISON), line(self._speed, first)
        self._slide_limit = line(self._push, _LIMIT_SLIDE)
        self._tip_limit = line(self._push, _LIMIT_TIP)
        self._over, self._body = line(self._push, _OVER), line(self._push, first)
        self._marks = [
            self._marker(axes, mark, colour)
            for axes in (self._speed, self._push)
            for mark, colour in ((_SLIDE_MARK, "vermilion"), (_TIP_MARK, "purple"))
        ]
        self._ways = {
            place: line(self._plan, look) for place, look in zip(_PLACES, SERIES, strict=False)
        }
        self._end = self._marker(self._plan, "o", "black")
        self._bars = {
            row: (line(self._window, _GOOD), line(self._window, _SHORT), line(self._window, _FAR))
            for row in _ROWS
        }
        for good, _, _ in self._bars.values():
            good.set_solid_capstyle("butt")
        self._chosen = {row: self._marker(self._window, "o", "black") for row in _ROWS}

    def _line(self, axes: Axes, look: LineLook) -> Line2D:
        return self.picture.moving(axes.plot([], [], **look.keywords())[0])

    def _marker(self, axes: Axes, mark: str, colour: str) -> Line2D:
        made = self._line(axes, LineLook(PALETTE[colour], "", 1.0))
        made.set(
            marker=mark, markersize=10, markeredgecolor="white", markerfacecolor=PALETTE[colour]
        )
        return made

    def _legends(self) -> None:
        _legend(self._command, [self._left, self._right], ["left", "right"])
        _legend(self._speed, [self._goes, self._wanted], ["real", "commanded"])
        _legend(
            self._push,
            [self._body, self._slide_limit, self._tip_limit, self._over],
            ["body", "slides here", "tips here", "beyond"],
        )
        below = (0.44, -58.0 / _PLAN[3])
        _legend(self._plan, [*self._ways.values()], [*_PLACES], "upper center", below)
        below = (0.38, -50.0 / _WINDOW[3])
        names = ["will do", "tips or slides", "too far"]
        _legend(self._window, list(self._bars["to stop"]), names, "upper center", below)

    def draw(self, shown: RampScenery) -> None:
        """Move the lines."""
        self._draw_trace(shown.trace, shown.recorded)
        self._draw_push(shown.trace, shown.stance)
        self._draw_ways(shown.paths, shown.acts_on)
        self._draw_window(shown)

    def _draw_trace(self, trace: Trace, recorded: bool) -> None:
        size = self._units.of("m/s").size
        begin = 0.0 if recorded else float(trace.time[0])
        last = float(trace.time[-1]) if recorded else 1.1 * trace.arrives + 0.05
        ends = (0.0 if recorded else -0.25, nice_top(last))
        for axes in (self._command, self._speed, self._push):
            set_ends(axes, ends)
        time = np.concatenate([[begin], trace.time, [ends[1]]])
        self._left.set_data(time, _held(100.0 * trace.left))
        self._right.set_data(time, _held(100.0 * trace.right))
        speed = np.asarray(trace.response.speed) / size
        self._wanted.set_data(time, _held(trace.wanted / size))
        self._goes.set_data(time, _held(speed))
        largest = max(np.abs(speed).max(), np.abs(trace.wanted).max() / size)
        top = nice_top(1.05 * float(largest))
        backward = min(speed.min(), trace.wanted.min() / size) < -0.02 * top
        set_ends(self._speed, None, (-top if backward else -0.1 * top, top))

    def _draw_push(self, trace: Trace, stance: Stance) -> None:
        push, time = trace.response.acceleration, trace.time
        ends = self._push.get_xlim()
        grip, tip = stance.grip, stance.tip
        for line, case in ((self._slide_limit, grip), (self._tip_limit, tip)):
            gap = (ends[0], ends[1], np.nan, ends[0], ends[1])
            forward, backward = float(case.start_forward), -float(case.stop_forward)
            line.set_data(gap, (forward, forward, np.nan, backward, backward))
        self._body.set_data(time, push)
        found = trace.moments
        happens = found.tips | found.slides
        self._over.set_data(time, np.where(happens, push, np.nan))
        near = [min(abs(grip[k]), abs(tip[k])) for k in range(2)]
        far = max(*(abs(value) for value in (*grip, *tip)), 0.5)
        peak = float(np.abs(push).max())
        top = nice_top(max(1.25 * max(near), min(1.1 * peak, 2.0 * far), 0.5))
        set_ends(self._push, None, (-top, top))
        self._mark_moments(trace, top)

    def _mark_moments(self, trace: Trace, top: float) -> None:
        found, size = trace.moments, self._units.of("m/s").size
        values = (np.asarray(trace.response.speed) / size, trace.response.acceleration)
        kinds = [(found.slides, found.first_slide), (found.tips, found.first_tip)]
        places = [(value, kind) for value in values for kind in kinds]
        for mark, (value, (happens, first)) in zip(self._marks, places, strict=True):
            if first is None:
                mark.set_data([], [])
                continue
            at = int(np.argmax(happens))
            mark.set_data([trace.time[at]], [float(np.clip(value[at], -top, top))])

    def _draw_ways(self, paths: Mapping[ActsOn, SnapTrace], acts_on: ActsOn) -> None:
        size, farthest = self._units.of("m").size, 0.1
        wide = _PLAN[2] / _PLAN[3] * (1.0 + _BEHIND) / 2.0
        for place, line in self._ways.items():
            poses = paths[place].response.poses
            line.set_data(poses[:, 1] / size, poses[:, 0] / size)
            if place == acts_on:
                self._end.set_data([poses[-1, 1] / size], [poses[-1, 0] / size])
            reaches = (
                poses[:, 0].max(),
                -poses[:, 0].min() / _BEHIND,
                np.abs(poses[:, 1]).max() / wide,
            )
            farthest = max(farthest, *(float(reach) for reach in reaches))
        high = _coarse(1.05 * farthest) / size
        across = high * wide
        # y is to the left (REP 103), so the axis runs from right to left.
        set_ends(self._plan, (across, -across), (-_BEHIND * high, high))

    def _draw_window(self, shown: RampScenery) -> None:
        window, chosen = shown.window, {"to stop": shown.to_stop, "to full": shown.to_full}
        least = {"to stop": window.least_to_stop, "to full": window.least_to_full}
        most = {"to stop": window.most_to_stop, "to full": math.inf}
        known = [x for x in (*least.values(), window.most_to_stop) if x and math.isfinite(x)]
        end = min(nice_top(1.15 * max(*chosen.values(), *known, 0.5)), 1.05 * window.longest_ramp)
        set_ends(self._window, (0.0, end))
        for row, height in _ROWS.items():
            low, high = least[row], most[row]
            starts = end if low is None else min(low, end)
            stops = 0.0 if high is None else min(max(high, 0.0), end)
            good, short, far = self._bars[row]
            _span(good, starts, stops, height)
            _span(short, 0.0, starts, height)
            _span(far, stops, end, height - 0.25)
            inside = low is not None and high is not None and low <= chosen[row] <= high
            mark = self._chosen[row]
            mark.set_data([min(chosen[row], end)], [height])
            mark.set_marker("o" if inside else _OUT_MARK)
            mark.set_markerfacecolor(INK if inside else PALETTE["vermilion"])


def _legend(
    axes: Axes,
    lines: list[Line2D],
    names: list[str],
    loc: Literal["lower right", "upper center"] = "lower right",
    at: tuple[float, float] = (1.01, 1.03),
) -> None:
    """A legend in one row beside the title, or below the axes."""
    axes.legend(
        lines,
        names,
        loc=loc,
        bbox_to_anchor=at,
        ncols=len(names),
        fontsize=NOTE_SIZE,
        frameon=False,
        handlelength=1.8,
        columnspacing=1.0,
        borderaxespad=0.0,
        markerscale=0.6,
    )


def _held(values: FloatArray) -> FloatArray:
    """Values with the first and the last held on both sides."""
    return np.concatenate([values[:1], values, values[-1:]])


def _span(line: Line2D, low: float, high: float, height: float) -> None:
    if high > low:
        line.set_data([low, high], [height, height])
    else:
        line.set_data([], [])


def _share(place: tuple[int, int, int, int]) -> tuple[float, float, float, float]:
    """Place of axes as shares of the figure."""
    left, bottom, width, height = place
    return left / WIDTH, bottom / HEIGHT, width / WIDTH, height / HEIGHT


def _coarse(reach: float) -> float:
    """How far the view reaches in m, in steps of 41 %, since each change draws the axes anew."""
    return float(2.0 ** (math.ceil(2.0 * math.log2(reach) - 1e-9) / 2.0))
