"""The pictures of supply and braking: sag against current, and where braking energy goes."""

from __future__ import annotations

import math

import numpy as np

from curvelib.machine.braking_case import BrakingCase, BusLines
from curvelib.panels.look import COMPARISON, INK, PALETTE, SERIES, LineLook, style_axes
from curvelib.panels.scales import nice_top, set_ends
from curvelib.panels.storyview import EDGE, MARK, StoryView, legend, uprights
from curvelib.panels.units import Units


class SagView(StoryView):
    """Voltage against current, and the current the battery bears against its resistance."""

    def __init__(self, units: Units) -> None:
        super().__init__(units)
        grid = self.picture.figure.add_gridspec(
            2, 1, left=0.095, right=0.975, top=0.935, bottom=0.09, hspace=0.5
        )
        self._sag = self.picture.figure.add_subplot(grid[0])
        self._cure = self.picture.figure.add_subplot(grid[1])
        style_axes(self._sag, "current in each motor (A)", "battery (V)", "How far it sags")
        style_axes(
            self._cure, "resistance (milliohm)", "current in each motor (A)", "What it would bear"
        )
        self._make_moving()

    def _make_moving(self) -> None:
        self._band = self.picture.moving(
            self._sag.axvspan(
                0.0, 1.0, facecolor=PALETTE["green"], alpha=0.16, label="sensible limits"
            )
        )
        self._volts = self.line(self._sag, SERIES[0], "bad day")
        self._fresh = self.line(self._sag, COMPARISON, "as measured")
        self._least = self.line(self._sag, EDGE, "least")
        self._spins = self.line(self._sag, SERIES[2], "wheels spin")
        self._limit = self.line(self._sag, MARK, "limit now")
        legend(self._sag, "above", 5)
        self._bears = self.line(self._cure, SERIES[0], "battery bears")
        self._grips = self.line(self._cure, SERIES[2], "wheels spin")
        self._here = self.dot(self._cure, LineLook(INK, "-"), "bad day")
        legend(self._cure, "above", 3)

    def draw(
        self,
        rest_v: float,
        least_v: float,
        resistances: tuple[float, float],
        currents: tuple[float | None, float, float],
        band: tuple[float, float] | None,
    ) -> None:
        """Move the lines.

        Parameters
        ----------
        rest_v, least_v : float
            V.
        resistances : (float, float)
            As measured and on a bad day, in ohm.
        currents : (float or None, float, float)
            A of each motor: wheels spin (None: not known), battery gives out on
            a bad day, limit now.
        band : (float, float), optional
            Sensible limits in A.
        """
        spins, sags, limit = currents
        known = [current for current in (spins, sags, limit) if current and math.isfinite(current)]
        right = nice_top(1.15 * max(known, default=50.0))
        top = nice_top(1.1 * rest_v)
        set_ends(self._sag, (0.0, right), (0.0, top))
        amps = np.array([0.0, right])
        for line, ohm in zip((self._fresh, self._volts), resistances, strict=True):
            line.set_data(amps, rest_v - 2.0 * ohm * amps)
        self._least.set_data(amps, [least_v] * 2)
        uprights(self._spins, [] if spins is None else [spins], 0.0, top)
        uprights(self._limit, [limit], 0.0, top)
        low, high = band or (0.0, 0.0)
        self._band.set_x(low)
        self._band.set_width(min(high, right) - low)
        self._draw_cure(rest_v - least_v, resistances[1], spins, sags, right)

    def _draw_cure(
        self, room: float, ohm: float, spins: float | None, sags: float, right: float
    ) -> None:
        wide = nice_top(2000.0 * max(ohm, 0.002))
        set_ends(self._cure, (0.0, wide), (0.0, right))
        milliohm = np.linspace(wide / 400.0, wide, 200)
        self._bears.set_data(milliohm, max(room, 0.0) / 2.0 / (milliohm / 1000.0))
        self._grips.set_data([0.0, wide], [spins if spins is not None else np.nan] * 2)
        self._here.set_data([1000.0 * ohm], [min(sags, 2.0 * right)])


class BrakingView(StoryView):
    """Power that comes back, the resistor that takes it, and the bus voltage meanwhile."""

    def __init__(self, units: Units) -> None:
        super().__init__(units)
        figure = self.picture.figure
        grid = figure.add_gridspec(
            2, 2, left=0.095, right=0.975, top=0.935, bottom=0.09, hspace=0.5, wspace=0.26
        )
        self._power = figure.add_subplot(grid[0, 0])
        self._ohm = figure.add_subplot(grid[0, 1])
        self._bus = figure.add_subplot(grid[1, :])
        style_axes(self._power, "time since it brakes (s)", "power (W)", "What comes back")
        style_axes(self._ohm, "resistor (ohm)", "takes at the clamp (W)", "Which resistor")
        style_axes(self._bus, "time since it brakes (s)", "bus (V)", "Bus")
        self._make_moving()

    def _make_moving(self) -> None:
        self._back = self.line(self._power, SERIES[0])
        self._band = self.picture.moving(
            self._ohm.axvspan(0.0, 1.0, facecolor=PALETTE["green"], alpha=0.16, label="will do")
        )
        self._takes = self.line(self._ohm, SERIES[0], "resistor")
        self._peak = self.line(self._ohm, EDGE, "peak")
        self._here = self.dot(self._ohm, LineLook(INK, "-"), "now")
        legend(self._ohm, "upper right")
        self._battery = self.line(self._bus, SERIES[0], "battery connected")
        self._alone = self.line(self._bus, SERIES[1], "no battery")
        self._clamped = self.line(self._bus, SERIES[2], "no battery, resistor")
        self._most = self.line(self._bus, EDGE, "drive's most")
        legend(self._bus, "above", 4)

    def draw(self, case: BrakingCase, lines: BusLines) -> None:
        """Move the lines."""
        right = float(lines.time[-1])
        peak, start_v, most_v = float(case.braking.peak), case.start_v, case.scene.most_v
        high = nice_top(1.15 * peak)
        low = -0.25 * high if lines.power.min() < 0.0 else 0.0
        set_ends(self._power, (0.0, right), (low, high))
        self._back.set_data(lines.time, lines.power)
        self._draw_ohm(case, peak)
        span = most_v - start_v if most_v > start_v else start_v
        bottom = 5.0 * math.floor((start_v - 0.5 * span) / 5.0)
        top = 5.0 * math.ceil((max(most_v, start_v) + 0.6 * span) / 5.0)
        set_ends(self._bus, (0.0, right), (max(bottom, 0.0), top))
        self._battery.set_data(lines.time, lines.battery)
        self._alone.set_data(lines.time, np.minimum(lines.alone, 2.0 * top))
        self._clamped.set_data(lines.time, np.minimum(lines.clamped, 2.0 * top))
        self._most.set_data([0.0, right], [most_v] * 2)

    def _draw_ohm(self, case: BrakingCase, peak: float) -> None:
        window, ohm, clamp_v = case.window, case.resistor.ohm, case.resistor.clamp_v
        far = window.most if math.isfinite(window.most) else 2.0 * window.least
        wide = nice_top(1.3 * max(window.least, min(far, 6.0 * window.least), ohm))
        top = nice_top(2.0 * max(peak, clamp_v**2 / wide))
        set_ends(self._ohm, (0.0, wide), (0.0, top))
        ohms = np.linspace(wide / 200.0, wide, 200)
        self._takes.set_data(ohms, np.minimum(clamp_v**2 / ohms, 2.0 * top))
        self._peak.set_data([0.0, wide], [peak] * 2)
        self._here.set_data([ohm], [min(clamp_v**2 / ohm, 2.0 * top)])
        self._band.set_x(window.least)
        self._band.set_width(max(min(window.most, wide) - window.least, 0.0))
