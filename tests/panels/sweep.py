"""Moves every control of a panel to its ends, its default and random places.

A notebook that runs shows only that a panel draws at its defaults; a callback
that fails elsewhere fails here.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from typing import Any

import ipywidgets as widgets

Check = Callable[[str], None]
_SLIDERS = (widgets.FloatSlider, widgets.IntSlider, widgets.FloatLogSlider)
_CHOICES = (widgets.Dropdown, widgets.ToggleButtons, widgets.RadioButtons, widgets.Select)


def inside(widget: Any) -> Iterator[Any]:
    """Every widget below one, itself included, in page order, those not on show left out."""
    yield widget
    for child in getattr(widget, "children", ()):
        yield from inside(child)


def controls(panel: Any, leave: tuple[Any, ...] = ()) -> list[Any]:
    """Sliders, choices and check boxes of a panel that are not disabled."""
    wanted = (*_SLIDERS, *_CHOICES, widgets.Checkbox)
    return [
        one
        for one in inside(panel)
        if isinstance(one, wanted) and one not in leave and not one.disabled
    ]


def places(control: Any, rng: random.Random) -> list[Any]:
    """Least, greatest, two random values of a control, and last the one it has."""
    if isinstance(control, _SLIDERS):
        low, high = control.min, control.max
        if isinstance(control, widgets.FloatLogSlider):
            low, high = control.base**low, control.base**high
        spots = [low, high, rng.uniform(low, high), rng.uniform(low, high), control.value]
        return [round(spot) for spot in spots] if isinstance(control, widgets.IntSlider) else spots
    if isinstance(control, widgets.Checkbox):
        return [not control.value, control.value]
    values = [one[1] if isinstance(one, tuple) else one for one in control.options]
    return [*values, control.value]


def sweep(
    panel: Any, check: Check | None = None, seed: int = 1, leave: tuple[Any, ...] = ()
) -> int:
    """Move every control, one after the other, and call `check` after each move.

    Parameters
    ----------
    panel : Panel
        With ``view.png`` and ``figures_text``.
    check : callable, optional
        Given words that say what was moved; it asserts what should hold.
    seed : int
        Of the random places; a second pass leaves the controls where they fall.
    leave : tuple of widget
        Controls not to touch, such as the file chooser.

    Returns
    -------
    int
        How many moves were made.
    """
    rng = random.Random(seed)
    moves = 0
    leave = (*leave, panel.file_bar.chooser) if hasattr(panel, "file_bar") else leave
    for at_random in (False, True):
        for control in controls(panel, leave):
            spots = places(control, rng)
            for spot in [rng.choice(spots)] if at_random else spots:
                control.value = spot
                moves += 1
                words = f"{control.tooltip or type(control).__name__} = {spot!r}"
                assert "nan" not in shown_text(panel).lower(), words
                if check is not None:
                    check(words)
    return moves


def faulty(panel: Any) -> bool:
    """Say whether a control shows a fault, so that the last good result stands."""
    texts = (one.value for one in inside(panel) if isinstance(one, widgets.HTML))
    return any(
        "cv-fault" in text and "assumed" not in text for text in texts if "<style" not in text
    )


def shown_text(panel: Any) -> str:
    """All words on a panel that come from its result."""
    return f"{panel.figures_text} {panel.sentence.value} {panel.view.alt}"
