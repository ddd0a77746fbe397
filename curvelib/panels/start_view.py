"""The picture of the start workbook: the machine from above and from its left side."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.patches import Circle, Rectangle

from curvelib.panels.look import INK, PALETTE, QUIET, style_axes
from curvelib.panels.picture import Picture
from curvelib.panels.units import Units
from curvelib.tune import Machine

WIDTH, HEIGHT = 900, 400
# Stand-ins where a measure is not known: drawn, but said to be assumed.
_ASSUMED = {"track_m": 0.8, "wheelbase_m": 0.9, "wheel_radius_m": 0.2, "cg_height_m": 0.4}


class StartView:
    """Draws a machine's measures.  It is redrawn whole, since typing is no dragging."""

    def __init__(self) -> None:
        self.picture = Picture(WIDTH, HEIGHT)
        grid = self.picture.figure.add_gridspec(
            1, 2, left=0.085, right=0.975, top=0.88, bottom=0.17, wspace=0.28
        )
        self._above = self.picture.figure.add_subplot(grid[0, 0])
        self._side = self.picture.figure.add_subplot(grid[0, 1])

    def draw(self, machine: Machine, units: Units) -> tuple[str, ...]:
        """Draw the machine and return the names of the measures that had to be assumed."""
        known = {name: getattr(machine, name) for name in _ASSUMED}
        missing = tuple(name for name, value in known.items() if value is None)
        size = {name: value or _ASSUMED[name] for name, value in known.items()}
        base = size["wheelbase_m"]
        rear = machine.cg_to_rear_m if machine.cg_to_rear_m is not None else base / 2
        ends = (
            -rear - (machine.rear_overhang_m or 0.0),
            base - rear + (machine.front_overhang_m or 0.0),
        )
        width = machine.width_m or size["track_m"] * 1.15
        scale = units.of("m").size
        length = units.of("m").unit
        self._from_above(size, rear, ends, width, scale)
        self._from_side(size, rear, ends, scale)
        style_axes(self._above, f"to the left ({length})", f"forward ({length})", "From above")
        # y is to the left (REP 103), so the axis runs from right to left.
        reach = 0.62 * max(ends[1] - ends[0], width) / scale
        middle = 0.5 * (ends[0] + ends[1]) / scale
        self._above.set(xlim=(1.6 * reach, -1.6 * reach), ylim=(middle - reach, middle + reach))
        style_axes(self._side, f"forward ({length})", f"height ({length})", "From the right side")
        high = 2.2 * max(size["cg_height_m"], size["wheel_radius_m"]) / scale
        self._side.set(
            xlim=(1.15 * ends[0] / scale - 0.1 / scale, 1.15 * ends[1] / scale + 0.1 / scale),
            ylim=(0.0, high),
        )
        self.picture.refresh()
        return missing

    def _from_above(
        self,
        size: dict[str, float],
        rear: float,
        ends: tuple[float, float],
        width: float,
        scale: float,
    ) -> None:
        axes = _emptied(self._above)
        half = size["track_m"] / 2
        body = ((-width / 2) / scale, ends[0] / scale)
        axes.add_patch(
            Rectangle(body, width / scale, (ends[1] - ends[0]) / scale, fc="#f2f2f2", ec=QUIET)
        )
        radius, tread = size["wheel_radius_m"], 0.12 * size["track_m"]
        for along in (-rear, size["wheelbase_m"] - rear):
            for across in (-half, half):
                corner = ((across - tread / 2) / scale, (along - radius) / scale)
                axes.add_patch(Rectangle(corner, tread / scale, 2 * radius / scale, fc=INK, ec=INK))
        axes.plot([0.0], [0.0], "o", color=PALETTE["vermilion"], markersize=9)
        axes.annotate(
            "",
            (0.0, 0.75 * ends[1] / scale),
            (0.0, 0.1 * ends[1] / scale),
            arrowprops={"arrowstyle": "-|>", "color": PALETTE["blue"], "linewidth": 2.0},
        )
        axes.set_aspect("equal", adjustable="box", anchor="W")

    def _from_side(
        self, size: dict[str, float], rear: float, ends: tuple[float, float], scale: float
    ) -> None:
        axes = _emptied(self._side)
        radius = size["wheel_radius_m"]
        body = (ends[0] / scale, 0.8 * radius / scale)
        axes.add_patch(
            Rectangle(
                body, (ends[1] - ends[0]) / scale, 1.4 * radius / scale, fc="#f2f2f2", ec=QUIET
            )
        )
        for along in (-rear, size["wheelbase_m"] - rear):
            axes.add_patch(Circle((along / scale, radius / scale), radius / scale, fc=INK, ec=INK))
        height = size["cg_height_m"] / scale
        axes.plot([0.0], [height], "o", color=PALETTE["vermilion"], markersize=9)
        axes.annotate(
            "centre of mass",
            (0.0, height),
            (0, 12),
            textcoords="offset points",
            ha="center",
            fontsize=11,
            color=INK,
        )
        axes.set_aspect("equal", adjustable="box", anchor="W")


def _emptied(axes: Axes) -> Axes:
    axes.clear()
    return axes
