"""The picture of turning: stick plane, path and swept circle in plan, the three overflow rules."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from curvelib.machine.outline import SweptCircle
from curvelib.mixing import OVERFLOWS
from curvelib.panels.look import (
    COMPARISON,
    INK,
    LABEL_SIZE,
    NOTE_SIZE,
    PALETTE,
    SERIES,
    LineLook,
    style_axes,
)
from curvelib.panels.picture import Picture
from curvelib.panels.scales import set_ends
from curvelib.panels.sizes import Sizes
from curvelib.panels.stick_plane import RADII
from curvelib.panels.units import Units
from curvelib.params import FloatArray

WIDTH, HEIGHT = 900, 730
# Places of the axes in pixels: left, bottom, width, height.
_PLANE = (86, 408, 284, 284)
_PLAN = (462, 408, 424, 284)
_RULES = ((86, 54, 254, 186), (359, 54, 254, 186), (632, 54, 254, 186))
_LEGENDS = 350
# Share of the view that lies behind the machine.
_BEHIND = 0.62
_ROUND = np.linspace(0.0, 2.0 * math.pi, 361)
_BODY = LineLook(INK, "-", 1.8)
_GHOST = LineLook(SERIES[0].colour, "--", 1.4)
_OUTER = LineLook(PALETTE["vermilion"], "--", 1.8)
_INNER = LineLook(PALETTE["green"], "-.", 1.6)
_FULL = LineLook("#9A9A9A", "-", 3.0)
_ISO = (
    LineLook(PALETTE["blue"], "-", 1.2),
    LineLook(PALETTE["green"], "-.", 1.4),
    LineLook(PALETTE["vermilion"], "--", 1.4),
    LineLook(PALETTE["purple"], ":", 2.0),
)
# A circle much larger than the view is drawn as nothing; the path shows it is nearly straight.
_LARGEST = 40.0


@dataclass(frozen=True, eq=False)
class Plan:
    """One path in plan.

    Parameters
    ----------
    poses : ndarray, shape (n, 3)
        x, y, heading from now on.
    radius : float
        Turning radius in m, signed; infinite straight on.
    swept : SweptCircle
        Circles about the turning centre.
    """

    poses: FloatArray
    radius: float
    swept: SweptCircle


@dataclass(frozen=True, eq=False)
class TurnScenery:
    """All that the picture shows.

    Parameters
    ----------
    sticks : (float, float)
        First and second stick, -1..1.
    plan : Plan
        Of the machine as it is.
    rules : mapping of str to Plan
        With each overflow rule; empty in independent mixing.
    sizes : Sizes
        For the outline.
    iso, full : arrays
        Lines of the stick plane, see `curvelib.panels.stick_plane`.
    reach : float
        How far ahead the plan should be in view, in m.
    overflow : str
        The rule in the file; empty in independent mixing.
    """

    sticks: tuple[float, float]
    plan: Plan
    rules: Mapping[str, Plan]
    sizes: Sizes
    iso: Sequence[FloatArray]
    full: FloatArray
    reach: float
    overflow: str


class TurnView:
    """Draws where the sticks lead.

    Parameters
    ----------
    units : Units
        Of lengths.
    """

    def __init__(self, units: Units) -> None:
        self._units = units
        self.picture = Picture(WIDTH, HEIGHT)
        add = self.picture.figure.add_axes
        self._plane = add(_share(_PLANE))
        self._plan = add(_share(_PLAN))
        self._rules = {
            rule: add(_share(place)) for rule, place in zip(OVERFLOWS, _RULES, strict=True)
        }
        self._furnish()
        self._make_moving()

    def _furnish(self) -> None:
        length = self._units.of("m").unit
        style_axes(self._plane, "steer (%)", "throttle (%)", "Sticks, and turning radius")
        self._plane.set(xlim=(-100, 100), ylim=(-100, 100))
        self._plane.set_xticks(range(-100, 101, 50))
        self._plane.set_yticks(range(-100, 101, 50))
        self._plane.axhline(0.0, **COMPARISON.keywords())
        self._plane.axvline(0.0, **COMPARISON.keywords())
        style_axes(self._plan, f"to the left ({length})", f"forward ({length})", "Seen from above")
        for place, (rule, axes) in enumerate(self._rules.items()):
            style_axes(
                axes, f"to the left ({length})", "" if place else f"forward ({length})", rule
            )
            # One scale serves all three.
            axes.tick_params(labelleft=not place)
        self._nothing_overflows = self.picture.figure.text(
            0.5,
            147.0 / HEIGHT,
            "Independent mixing: each stick drives its own side.\n"
            "No side is ever asked for more than full, so there is no overflow rule to choose.",
            ha="center",
            va="center",
            fontsize=LABEL_SIZE,
            color=INK,
            visible=False,
        )
        self._heading = self.picture.figure.text(
            _RULES[0][0] / WIDTH, 274.0 / HEIGHT, "", fontsize=LABEL_SIZE, color=INK
        )

    def _make_moving(self) -> None:
        self._iso = [self._line(self._plane, look) for look in _ISO]
        self._full = self._line(self._plane, _FULL)
        self._sticks = self._line(self._plane, LineLook(INK, "", 1.0))
        self._sticks.set(marker="o", markersize=11, markerfacecolor=PALETTE["orange"])
        self._sticks.set_clip_on(False)  # whole at the edges too
        self._outer = self._line(self._plan, _OUTER)
        self._inner = self._line(self._plan, _INNER)
        self._centre = self._line(self._plan, LineLook(PALETTE["vermilion"], "", 1.0))
        self._centre.set(marker="+", markersize=11, markeredgewidth=2.0)
        self._body = self._line(self._plan, _BODY)
        self._ghost = self._line(self._plan, _GHOST)
        self._path = self._line(self._plan, SERIES[0])
        self._rule_lines = {
            rule: (
                self._line(axes, _BODY),
                self._line(axes, _GHOST),
                self._line(axes, SERIES[0]),
            )
            for rule, axes in self._rules.items()
        }
        self._legends()

    def _line(self, axes: Axes, look: LineLook) -> Line2D:
        return self.picture.moving(axes.plot([], [], **look.keywords())[0])

    def _legends(self) -> None:
        radii = [self._units.text(radius, "m") for radius in RADII]
        self._legend(_PLANE[0] - 34, 3, [*self._iso, self._full], [*radii, "side full"])
        self._legend(
            _PLAN[0] - 20,
            3,
            [self._body, self._path, self._ghost, self._outer, self._inner, self._centre],
            ["now", "its path", "then", "outer corner", "inner side", "centre"],
        )

    def _legend(self, left: int, columns: int, lines: list[Line2D], names: list[str]) -> None:
        self.picture.figure.legend(
            lines,
            names,
            loc="upper left",
            bbox_to_anchor=(left / WIDTH, _LEGENDS / HEIGHT),
            ncols=columns,
            fontsize=NOTE_SIZE,
            frameon=False,
            handlelength=2.2,
            borderaxespad=0.0,
            borderpad=0.0,
            labelspacing=0.2,
            columnspacing=1.2,
        )

    def draw(self, shown: TurnScenery) -> None:
        """Move the lines."""
        self._name_sticks(bool(shown.rules), shown.overflow)
        for line, points in zip((*self._iso, self._full), (*shown.iso, shown.full), strict=True):
            line.set_data(100.0 * points[:, 0], 100.0 * points[:, 1])
        self._sticks.set_data([100.0 * shown.sticks[1]], [100.0 * shown.sticks[0]])
        half = _coarse(shown.reach) / self._units.of("m").size
        for axes, place in ((self._plan, _PLAN), *zip(self._rules.values(), _RULES, strict=True)):
            wide = half * (1.0 + _BEHIND) / 2.0 * place[2] / place[3]
            # y is to the left (REP 103), so the axis runs from right to left.
            set_ends(axes, (wide, -wide), (-_BEHIND * half, half))
        self._draw_plan(shown.plan, shown.sizes)
        for rule, plan in shown.rules.items():
            self._draw_path(self._rule_lines[rule], plan, shown.sizes)

    def _name_sticks(self, tank: bool, overflow: str) -> None:
        """Furniture that depends on the kind of mixing alone."""
        names = ("steer (%)", "throttle (%)") if tank else ("right stick (%)", "left stick (%)")
        if (self._plane.get_xlabel(), self._plane.get_ylabel()) != names:
            self._plane.set(xlabel=names[0], ylabel=names[1])
        for rule, axes in self._rules.items():
            if axes.get_visible() != tank:
                axes.set_visible(tank)
            title = f"“{rule}” (in this file)" if rule == overflow else f"“{rule}”"
            if axes.get_title(loc="left") != title:
                axes.set_title(title, loc="left")
        heading = "The same sticks with each rule for a side that would pass full:" if tank else ""
        if self._nothing_overflows.get_visible() == tank or self._heading.get_text() != heading:
            self._heading.set_text(heading)
            self._nothing_overflows.set_visible(not tank)

    def _draw_plan(self, plan: Plan, sizes: Sizes) -> None:
        self._draw_path((self._body, self._ghost, self._path), plan, sizes)
        if abs(plan.radius) < _LARGEST:
            self._set(self._centre, np.zeros(1), np.array([plan.radius]))
        else:
            self._centre.set_data([], [])
        for line, size in ((self._outer, plan.swept.outer), (self._inner, plan.swept.inner)):
            if size > _LARGEST or size == 0.0:
                line.set_data([], [])
                continue
            # The turning centre lies beside the middle of the machine, which stands at 0, 0.
            x, y = size * np.cos(_ROUND), plan.radius + size * np.sin(_ROUND)
            self._set(line, x, y)

    def _draw_path(self, lines: Sequence[Line2D], plan: Plan, sizes: Sizes) -> None:
        body, ghost, path = lines
        self._set(body, *sizes.outline(plan.poses[0]).T)
        self._set(ghost, *sizes.outline(plan.poses[-1]).T)
        self._set(path, plan.poses[:, 0], plan.poses[:, 1])

    def _set(self, line: Line2D, x: FloatArray, y: FloatArray) -> None:
        size = self._units.of("m").size
        line.set_data(y / size, x / size)

    def sticks_at(
        self, x_px: float, y_px: float, beyond: bool = False
    ) -> tuple[float, float] | None:
        """First and second stick where a pointer is, to a hundredth; None beside the stick plane.

        With `beyond` a pointer that left the plane counts as at its edge.
        """
        place = self.picture.data_at(x_px, y_px)
        inside = place is not None and place.axes == self.picture.figure.axes.index(self._plane)
        if not inside and not beyond:
            return None
        spot = self._plane.transData.inverted().transform((x_px, self.picture.height - y_px))
        second, first = np.clip(spot / 100.0, -1.0, 1.0)
        # Nobody can point finer, and the sliders step so.
        return round(float(first), 2), round(float(second), 2)


def _share(place: tuple[int, int, int, int]) -> tuple[float, float, float, float]:
    """Place of axes as shares of the figure."""
    left, bottom, width, height = place
    return left / WIDTH, bottom / HEIGHT, width / WIDTH, height / HEIGHT


def _coarse(reach: float) -> float:
    """How far the view reaches in m, in steps of 19 %, since each change draws the axes anew."""
    return float(2.0 ** (math.ceil(4.0 * math.log2(max(reach, 0.5)) - 1e-9) / 4.0))
