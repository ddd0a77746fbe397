"""A picture that follows a slider: axes drawn once, only the lines drawn again.

Axes furniture (ticks, labels, grids) is what makes a drawing slow; a line costs
almost nothing.  A `Picture` draws the furniture once, keeps those pixels, and
for every change puts them back and draws what moves on top.  A `PictureView`
carries the result to the browser.

What `Picture` promises: its pixels are those of an ordinary full draw of the
same figure, so a picture can never depend on how a slider got where it is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple, TypeVar, overload

import anywidget
import numpy as np
import traitlets
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from curvelib.panels import look
from curvelib.panels.png import Pixels, encode

ArtistT = TypeVar("ArtistT", bound=Artist)

# Moving artists are drawn after everything that stays.  Raising them by more
# than any furniture's order makes a full draw do the same.
_ABOVE_FURNITURE = 1000.0


class DataPoint(NamedTuple):
    """A place in a picture, in the units of the axes it lies in."""

    axes: int
    x: float
    y: float


class Picture:
    """A figure of fixed pixel size whose moving parts are redrawn alone.

    Parameters
    ----------
    width, height : int
        Size in pixels.
    dpi : float
        Pixels per inch; type and line widths scale with it.

    Attributes
    ----------
    figure : matplotlib Figure
        Opaque, with an Agg canvas of its own and unknown to pyplot, so nothing
        piles up.  A layout engine, if one is set, runs once, at the first draw:
        axes do not move about under the reader.

    Notes
    -----
    What is drawn in place of the old background is noticed through matplotlib's
    own bookkeeping (an artist that changes tells its figure) and by comparing
    axes limits, positions and size.  What neither shows, such as a formatter
    that answers differently from now on, needs `refresh`.

    A moving artist that reaches out of its axes must not reach over axes drawn
    after its own; overlapping axes are refused for the same reason.

    Examples
    --------
    >>> picture = Picture(300, 200)
    >>> axes = picture.figure.add_subplot()
    >>> (line,) = axes.plot([0, 1], [0, 1])
    >>> line = picture.moving(line)
    >>> line.set_ydata([1, 0])
    >>> picture.png()[1:4]
    b'PNG'
    """

    def __init__(self, width: int = 1200, height: int = 400, dpi: float = 100.0) -> None:
        size = (_inches(width, dpi), _inches(height, dpi))
        self.figure = Figure(figsize=size, dpi=dpi, facecolor=look.GROUND)
        self._canvas: Any = FigureCanvasAgg(self.figure)  # its drawing is untyped
        self._moving: list[Artist] = []
        self._background: Any = None
        self._drawn_for: tuple[Any, ...] = ()
        self._laid_out = False

    @property
    def width(self) -> int:
        """Width in pixels."""
        return int(self._canvas.get_width_height(physical=True)[0])

    @property
    def height(self) -> int:
        """Height in pixels."""
        return int(self._canvas.get_width_height(physical=True)[1])

    @overload
    def moving(self, artist: ArtistT, /) -> ArtistT: ...
    @overload
    def moving(self, *artists: ArtistT) -> tuple[ArtistT, ...]: ...
    def moving(self, *artists: Artist) -> Artist | tuple[Artist, ...]:
        """Register artists that change; among themselves they keep their order.

        Parameters
        ----------
        *artists : matplotlib Artist
            Lines, fills, texts, titles, legends of one of the figure's axes, or
            texts of the figure itself.

        Returns
        -------
        Artist or tuple of Artist
            What was given, so that a line can be made and registered at once.

        Raises
        ------
        ValueError
            Where an artist is not drawn by the figure or its axes directly.
        """
        for artist in artists:
            if artist in self._moving:
                continue
            self._rank(artist)  # refuses strangers
            artist.set_zorder(artist.get_zorder() + _ABOVE_FURNITURE)
            # Its parts too: a legend's words would else report to the axes.
            for part in artist.findobj():
                part.set_animated(True)
            self._moving.append(artist)
        self.refresh()
        return artists[0] if len(artists) == 1 else artists

    def refresh(self) -> None:
        """Have the background drawn anew with the next picture."""
        self._background = None

    def png(self) -> bytes:
        """Return the picture as it stands, as a PNG file."""
        return encode(self._draw())

    def pixels(self) -> Pixels:
        """Return the picture as it stands: red, green, blue by row and column."""
        return self._draw()[:, :, :3].copy()

    def fresh_png(self) -> bytes:
        """Return the same picture by an ordinary full draw, for comparison."""
        return encode(self._draw_afresh())

    def fresh_pixels(self) -> Pixels:
        """Return the pixels of an ordinary full draw, for comparison."""
        return self._draw_afresh()[:, :, :3].copy()

    def data_at(self, x_px: float, y_px: float) -> DataPoint | None:
        """Return where a pointer is, in the units of the axes under it.

        Parameters
        ----------
        x_px, y_px : float
            Pixels from the left and from the top edge of the picture.

        Returns
        -------
        DataPoint or None
            Index of the axes in `figure.axes`, x and y; None beside all axes.
        """
        self._keep_background()  # settles limits and positions
        place = (x_px, self.height - y_px)
        for axes in sorted(self.figure.axes, key=self._layer, reverse=True):
            if axes.get_visible() and axes.bbox.contains(*place):
                x, y = axes.transData.inverted().transform(place)
                return DataPoint(self.figure.axes.index(axes), float(x), float(y))
        return None

    def _draw(self) -> Pixels:
        """Put the background back, draw what moves, return the canvas."""
        self._keep_background()
        self._canvas.restore_region(self._background)
        renderer = self._canvas.get_renderer()
        for artist in sorted(self._moving, key=self._rank):
            if artist.axes is None or artist.axes.get_visible():
                artist.draw(renderer)
        return np.asarray(self._canvas.buffer_rgba())

    def _draw_afresh(self) -> Pixels:
        """Draw everything in the ordinary way, return the canvas."""
        self._lay_out_once()
        with self._nothing_animated():
            self._canvas.draw()
        return np.asarray(self._canvas.buffer_rgba())

    def _keep_background(self) -> None:
        """Draw and keep what stays, unless the kept pixels still hold."""
        # An artist taken off the figure has no figure any more.
        self._moving = [one for one in self._moving if one.get_figure() is self.figure]
        # First, since asking for limits may autoscale and so end the background.
        now = self._furniture()
        if self._background is not None and self._drawn_for == now:
            return
        self._lay_out_once()
        self._refuse_overlap()
        self._canvas.draw()
        # What reports its changes to nobody, such as the figure itself and its tick
        # labels, reports here.  Asking for `figure.stale` would not do: any other
        # draw, to a file say, clears it.
        for part in self.figure.findobj(lambda one: one.stale_callback is None):
            part.stale_callback = self._changed
        self._background = self._canvas.copy_from_bbox(self.figure.bbox)
        self._drawn_for = self._furniture()

    def _changed(self, *_: object) -> None:
        """Take note that something that stays is no longer as drawn."""
        self.refresh()

    def _furniture(self) -> tuple[Any, ...]:
        """Return what the background depends on and can be read off cheaply."""
        each = (
            (axes.get_xlim(), axes.get_ylim(), axes.get_position(original=True).bounds)
            for axes in self.figure.axes
        )
        return (*self.figure.get_size_inches(), self.figure.dpi, *each)

    def _lay_out_once(self) -> None:
        if not self._laid_out:
            self._laid_out = True
            if self.figure.get_layout_engine() is not None:
                self.figure.draw_without_rendering()
                self.figure.set_layout_engine("none")

    @contextmanager
    def _nothing_animated(self) -> Iterator[None]:
        """Make every artist take part in ordinary draws for a while."""
        for artist in self._moving:
            artist.set_animated(False)
        try:
            yield
        finally:
            for artist in self._moving:
                artist.set_animated(True)

    def _layer(self, drawn: Artist) -> tuple[float, int]:
        """Return when the figure draws one of its children."""
        return (drawn.get_zorder(), self.figure.get_children().index(drawn))

    def _rank(self, artist: Artist) -> tuple[float, ...]:
        """Return when a full draw draws an artist, as a sort key."""
        try:
            if artist.axes is None:
                return self._layer(artist)
            own = artist.axes.get_children().index(artist)
            return (*self._layer(artist.axes), artist.get_zorder(), own)
        except ValueError:
            message = f"{artist} is not drawn by this figure or one of its axes directly"
            raise ValueError(message) from None

    def _refuse_overlap(self) -> None:
        """Raise where axes would be drawn over the moving artists of others."""
        ordered: list[Axes] = sorted(self.figure.axes, key=self._layer)
        moved = {id(artist.axes) for artist in self._moving}
        for place, lower in enumerate(ordered):
            for upper in ordered[place + 1 :]:
                if id(lower) in moved and upper.axison and lower.bbox.overlaps(upper.bbox):
                    raise ValueError(
                        "axes overlap: put the moving artists into the axes drawn last, "
                        "or call set_axis_off() on those"
                    )


class PictureView(anywidget.AnyWidget):
    """Shows a picture in a notebook, at a fixed size, and reports the pointer.

    The place it takes on the page never changes; in a window narrower than the
    picture it shrinks and keeps its shape.

    Attributes
    ----------
    png : bytes
        The PNG file on show; empty shows nothing yet.
    alt : str
        The same in words, for readers who do not see it.
    width, height : int
        Size on the page, in pixels.
    pointer : dict
        `x`, `y` in pixels of the picture from its left and top edge, `down`
        while the main button is pressed.  Empty until the pointer has been
        there.  Moves come once a screen frame at most.
    """

    _esm = Path(__file__).with_name("picture.js")
    _css = Path(__file__).with_name("picture.css")

    png = traitlets.Bytes().tag(sync=True)
    alt = traitlets.Unicode().tag(sync=True)
    width = traitlets.Int(1200, min=1).tag(sync=True)
    height = traitlets.Int(400, min=1).tag(sync=True)
    pointer = traitlets.Dict().tag(sync=True)

    def show(self, picture: Picture, alt: str) -> None:
        """Show a picture as it stands.

        Parameters
        ----------
        picture : Picture
            Its pixels are taken now; later changes need another call.
        alt : str
            What the picture shows, in words.
        """
        with self.hold_sync():  # one message, so words and picture change together
            self.width, self.height = picture.width, picture.height
            self.png, self.alt = picture.png(), alt


def _inches(pixels: int, dpi: float) -> float:
    """Return a length that the canvas turns back into exactly `pixels`."""
    inches = pixels / dpi
    return inches if int(inches * dpi) == pixels else math.nextafter(inches, math.inf)
