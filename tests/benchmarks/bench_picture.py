"""What a changed picture costs: three ways to redraw three axes after a slider moved.

Run it with ``python tests/benchmarks/bench_picture.py``.
"""

import io
import statistics
import time
from collections.abc import Callable

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from curvelib.panels import look
from curvelib.panels.picture import Picture

WIDTH, HEIGHT = 1200, 400
X = np.linspace(-1.0, 1.0, 401)
TITLES = ("Throttle", "Steer", "Speed")

Redraw = Callable[[float], bytes]


def furnish(figure: Figure) -> list:
    """Draw three labelled axes and return the line that moves in each."""
    lines = []
    for axes, title, series in zip(figure.subplots(1, 3), TITLES, look.SERIES, strict=False):
        look.style_axes(axes, "stick position (share)", "command (share)", title)
        axes.set(xlim=(-1, 1), ylim=(-1.05, 1.05))
        axes.plot(X, X, label="plain linear", **look.COMPARISON.keywords())
        lines += axes.plot(X, X, label="yours", **series.keywords())
        axes.legend(loc="upper left")
    return lines


def shape(lines: list, blend: float) -> None:
    """Move the lines to one position of the slider."""
    for line in lines:
        line.set_ydata((1.0 - blend) * X + blend * X**3)


def new_figure_each_time() -> Redraw:
    """Return a redraw that makes everything anew."""

    def redraw(blend: float) -> bytes:
        figure = Figure(figsize=(WIDTH / 100, HEIGHT / 100), dpi=100)
        shape(furnish(figure), blend)
        return _usual_png(FigureCanvasAgg(figure))

    return redraw


def kept_artists() -> Redraw:
    """Return a redraw that keeps the artists and draws all of them."""
    figure = Figure(figsize=(WIDTH / 100, HEIGHT / 100), dpi=100)
    canvas = FigureCanvasAgg(figure)
    lines = furnish(figure)

    def redraw(blend: float) -> bytes:
        shape(lines, blend)
        return _usual_png(canvas)

    return redraw


def restored_background() -> Redraw:
    """Return a redraw by `Picture`."""
    picture = Picture(WIDTH, HEIGHT)
    lines = picture.moving(*furnish(picture.figure))

    def redraw(blend: float) -> bytes:
        shape(lines, blend)
        return picture.png()

    return redraw


WAYS = {
    "new figure per change": new_figure_each_time,
    "kept artists, full draw": kept_artists,
    "restored background": restored_background,
}


def median_ms(redraw: Redraw, times: int) -> float:
    """Return the median time of a redraw, in milliseconds."""
    taken = []
    redraw(0.0)  # fonts and the background are paid for once, not per change
    for blend in np.linspace(0.0, 1.0, times):
        start = time.perf_counter()
        redraw(float(blend))
        taken.append(time.perf_counter() - start)
    return 1e3 * statistics.median(taken)


def measure(times: int = 25) -> dict[str, float]:
    """Return the median of each way, in milliseconds."""
    return {name: median_ms(make(), times) for name, make in WAYS.items()}


def _usual_png(canvas: FigureCanvasAgg) -> bytes:
    """Draw and encode in the way matplotlib does by itself."""
    file = io.BytesIO()
    canvas.print_png(file)
    return file.getvalue()


def main() -> None:
    """Print a table."""
    medians = measure()
    quickest = medians["restored background"]
    print(f"three axes, {WIDTH} x {HEIGHT} pixels, median of 25 changes")
    for name, taken in medians.items():
        size = len(WAYS[name]()(0.6)) / 1024
        print(f"{name:25s}{taken:8.1f} ms {taken / quickest:6.1f} x {size:6.0f} KiB")


if __name__ == "__main__":
    main()
