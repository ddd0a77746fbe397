"""A block of text with a button that copies it."""

from __future__ import annotations

from pathlib import Path

import anywidget
import traitlets


class CopyText(anywidget.AnyWidget):
    """Text to read and to copy, as plain text whatever is in it.

    Attributes
    ----------
    text : str
        What is shown and copied.
    label : str
        Words on the button.
    """

    _esm = Path(__file__).with_name("copytext.js")
    _css = Path(__file__).with_name("copytext.css")

    text = traitlets.Unicode().tag(sync=True)
    label = traitlets.Unicode("Copy").tag(sync=True)
