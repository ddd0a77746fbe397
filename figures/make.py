"""Make the pictures that README shows, or check that they are fresh.

    python figures/make.py            write them
    python figures/make.py --check    exit 1 where one is out of date

The pictures are drawn by the panels' own code, so they show what a reader
gets.  Pixels are compared with a little room, since fonts are drawn a hair
differently on different systems.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from PIL import Image

from curvelib.panels import settings
from curvelib.panels.desk import Desk
from curvelib.panels.lesson_view import lesson_figures
from curvelib.panels.shape_panel import ShapePanel

HERE = Path(__file__).resolve().parent
MACHINES = HERE.parent / "workbooks"
# Mean difference of a colour value, of 255: text rendered by another version stays
# below it, a line that moved by two pixels does not.
ROOM = 0.5


def shape_the_stick() -> bytes:
    """The shape workbook's picture: a blend of 0.6 made softer, beside the saved one."""
    desk = Desk(MACHINES)
    desk.open(MACHINES / "machines" / "vineyard_sweeper.toml")
    panel = ShapePanel(desk)
    panel.editor.curve_sliders["cubic blend", "blend"].slider.value = 0.8
    return bytes(panel.view.png)


def lesson_softer() -> bytes:
    """The lesson's picture of steps and tremor through a straight and a softer stick."""
    return bytes(lesson_figures()["lesson_blend"])


PICTURES: dict[str, Callable[[], bytes]] = {
    "shape_the_stick.png": shape_the_stick,
    "lesson_softer.png": lesson_softer,
}


@contextmanager
def own_settings() -> Iterator[None]:
    """Keep the user's own settings out of the pictures, and the pictures out of them."""
    with TemporaryDirectory() as folder:
        kept = settings.platformdirs.user_config_dir
        settings.platformdirs.user_config_dir = lambda *_, **__: folder  # type: ignore[assignment]  # for the while
        try:
            yield
        finally:
            settings.platformdirs.user_config_dir = kept


def differs(made: bytes, path: Path) -> bool:
    """Say whether a picture on disk is missing or looks different."""
    if not path.exists():
        return True
    now, then = (
        np.asarray(Image.open(io.BytesIO(one)).convert("RGB"), dtype=float)
        for one in (made, path.read_bytes())
    )
    return now.shape != then.shape or float(np.abs(now - then).mean()) > ROOM


def main(words: list[str]) -> int:
    """Write or check every picture."""
    stale = []
    with own_settings():
        for name, draw in PICTURES.items():
            made, path = draw(), HERE / name
            if "--check" in words:
                stale += [name] * differs(made, path)
            else:
                path.write_bytes(made)
    for name in stale:
        print(f"figures/{name} is out of date: run python figures/make.py", file=sys.stderr)
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
