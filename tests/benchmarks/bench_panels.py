"""What a drag costs in every panel: the whole update, its picture, and the same figure drawn anew.

Run it with ``python tests/benchmarks/bench_panels.py``.  To measure another
panel, add a `Case` to `CASES`.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from curvelib.panels import settings
from curvelib.panels.desk import Desk
from curvelib.panels.ramp_panel import RampPanel
from curvelib.panels.shape_panel import ShapePanel
from curvelib.panels.turn_panel import TurnPanel

WORKBOOKS = Path(__file__).resolve().parents[2] / "workbooks"
MACHINE = WORKBOOKS / "machines" / "vineyard_sweeper.toml"


@dataclass(frozen=True)
class Case:
    """One slider of one panel, dragged from one place to another.

    Parameters
    ----------
    name : str
        For the table.
    make : callable
        Makes the panel for a desk; its picture is drawn by ``panel.drawing``,
        which is made of the units alone.
    slider : callable
        Finds the slider in the panel.
    low : float
        Where the drag begins; each change is one step of the slider.
    at_least : float
        How many times quicker a moved picture is than a new figure, at least.
    """

    name: str
    make: Callable[[Desk], Any]
    slider: Callable[[Any], Any]
    low: float
    at_least: float


CASES = (
    Case(
        "shape: blend",
        ShapePanel,
        lambda panel: panel.editor.curve_sliders["cubic blend", "blend"],
        0.3,
        15.0,
    ),
    Case("turn: steer", TurnPanel, lambda panel: panel.sticks["tank"][1], -0.1, 15.0),
    Case("turn: turning share", TurnPanel, lambda panel: panel.facts["turning_share"], 0.6, 15.0),
    Case("ramp: to stop", RampPanel, lambda panel: panel.ramps["to_stop_s"], 0.3, 15.0),
    Case("ramp: slope", RampPanel, lambda panel: panel.scene["slope_deg"], 0.0, 15.0),
    Case("ramp: grip", RampPanel, lambda panel: panel.facts["friction"], 0.3, 15.0),
)


@dataclass(frozen=True)
class Cost:
    """Median times of one change, in milliseconds.

    Parameters
    ----------
    update : float
        From a moved slider to a changed panel, the picture included.
    picture : float
        Lines moved and encoded.
    anew : float
        The same figure made, drawn and encoded from nothing.
    """

    update: float
    picture: float
    anew: float

    @property
    def ratio(self) -> float:
        """How many times quicker the moved picture is."""
        return self.anew / self.picture


def measure(case: Case, times: int = 25) -> Cost:
    """Drag a slider and time each change three ways.

    The processor's time for this process counts, not the clock: what else the
    machine is doing is no part of it.
    """
    with own_settings():
        desk = Desk(WORKBOOKS)
        desk.open(MACHINE)
        panel = case.make(desk)
    drawn = _record_drawing(panel)
    slider = case.slider(panel).slider
    slider.value = case.low  # fonts, caches and the background are paid for once
    update, picture, anew = [], [], []
    for number in range(1, times + 1):
        place = case.low + number * slider.step
        update.append(_took(lambda value=place: setattr(slider, "value", value)))
        picture.append(_took(lambda: _redraw(panel, drawn[-1])))
        if number % 5 == 1:  # slow, and always the same
            anew.append(_took(lambda: _draw_anew(panel, drawn[-1])))
    medians = (1e3 * statistics.median(one) for one in (update, picture, anew))
    return Cost(*medians)


def _record_drawing(panel: Any) -> list[tuple[Any, ...]]:
    """Keep what the panel hands to its drawing."""
    seen: list[tuple[Any, ...]] = []
    draw = panel.drawing.draw

    def record(*shown: Any) -> Any:
        seen.append(shown)
        return draw(*shown)

    panel.drawing.draw = record
    panel.update()
    return seen


def _took(act: Callable[[], object]) -> float:
    start = time.process_time()
    act()
    return time.process_time() - start


def _redraw(panel: Any, shown: tuple[Any, ...]) -> bytes:
    type(panel.drawing).draw(panel.drawing, *shown)
    return bytes(panel.drawing.picture.png())


def _draw_anew(panel: Any, shown: tuple[Any, ...]) -> bytes:
    fresh = type(panel.drawing)(panel.units)
    fresh.draw(*shown)
    return bytes(fresh.picture.fresh_png())


@contextmanager
def own_settings() -> Iterator[None]:
    """Keep the user's own settings out of the figures, and these files out of the settings."""
    with TemporaryDirectory() as folder:
        kept = settings.platformdirs.user_config_dir
        settings.platformdirs.user_config_dir = lambda *_, **__: folder
        try:
            yield
        finally:
            settings.platformdirs.user_config_dir = kept


def main() -> None:
    """Print a table."""
    print("median of 25 changes, ms of processor time")
    print(f"{'panel: slider':24s}{'update':>8s}{'picture':>9s}{'anew':>8s}{'anew/picture':>14s}")
    for case in CASES:
        cost = measure(case)
        print(
            f"{case.name:24s}{cost.update:8.1f}{cost.picture:9.1f}{cost.anew:8.1f}"
            f"{cost.ratio:13.1f}x"
        )


if __name__ == "__main__":
    main()
