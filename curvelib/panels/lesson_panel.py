"""The small panels of the lesson: one idea, one slider, one picture, one sentence."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import ipywidgets as widgets

from curvelib.curves import Linear
from curvelib.panels import settings
from curvelib.panels.bones import Figure, Panel
from curvelib.panels.controls import Slider, heading, words
from curvelib.panels.desk import Desk
from curvelib.panels.lesson_view import HALF_WIDTH, TARGET, VIEWS, positions, whole_odd
from curvelib.panels.units import Units, percent
from curvelib.params import params_of
from curvelib.practice.lesson import (
    AS_STEEP_AS_STRAIGHT,
    EXAMPLE_TOP_M_S,
    EXAMPLE_WANTED_M_S,
    Lesson,
    relative_gain,
    softer,
    step_at_rest,
    target_on_stick,
    tremor_out,
)

_WANTED = EXAMPLE_WANTED_M_S / EXAMPLE_TOP_M_S
_FAST = 0.5
_STRAIGHT = Linear()
_FIRST = Lesson()

# What a step says: its deciding numbers and its sentence.
Said = tuple[list[Figure], str]


class LessonPanel(Panel):
    """One step of the lesson.

    It belongs to no machine file, so it stands without the file's foot; no
    wheel can move, so it stands without the caution.

    Parameters
    ----------
    step : str
        One of `STEPS`.
    desk : Desk, optional
        As for every panel; not shown.
    """

    def __init__(self, step: str, desk: Desk | None = None) -> None:
        super().__init__(desk)
        self.step = STEPS[step]
        self.units = settings.units()
        self.drawing = VIEWS[step](self.units)
        self.slider = Slider(
            params_of(Lesson)[step],
            getattr(_FIRST, step),
            f"lesson {step}",
            self.units,
            self.update,
        )
        self.add_class(f"cv-lesson-{step}")
        self.assemble(
            [
                heading(self.step.title),
                self.slider,
                words(self.step.note.format(top=_top(self.units)), "cv-help"),
            ]
        )
        style, _caution, body, _foot = self.children
        self.children = [style, body]
        self.update()

    def update(self) -> None:
        """Read the slider and show the result."""
        value = self.slider.value
        self.drawing.draw(value)
        figures, sentence = self.step.says(value, self.units)
        self.show_result(self.drawing.picture, figures, sentence, f"{self.step.title}. {sentence}")


def _thumb(tremor: float, units: Units) -> Said:
    shaking = tremor * EXAMPLE_TOP_M_S
    wanted = units.text(EXAMPLE_WANTED_M_S, "m/s")
    figures = [
        Figure(f"± {percent(tremor, 1)}", "the thumb shakes", "of the stick's travel"),
        Figure(f"± {units.fine_speed(shaking)}", "so the speed shakes", "on a straight stick"),
        Figure(percent(tremor / _WANTED), "of the wanted speed", f"wanted: {wanted}"),
    ]
    return figures, (
        f"You want {wanted} and hold the stick at {percent(_WANTED)} of its travel. Your thumb "
        f"shakes by {percent(tremor, 1)} of the travel, and the straight stick passes all of it "
        f"on: {units.fine_speed(shaking)}. About two thirds of the time it is less, one third more."
    )


def _steps(steps: float, units: Units) -> Said:
    count = whole_odd(steps)
    sent = positions(count)
    step = float(sent[1]) * EXAMPLE_TOP_M_S
    slow = int(((sent > 0.0) & (sent <= _WANTED)).sum())
    wanted = units.text(EXAMPLE_WANTED_M_S, "m/s")
    figures = [
        Figure(units.fine_speed(step), "one stick step", f"{len(sent) - 1} steps on each side"),
        Figure(
            f"{slow} steps" if slow != 1 else "1 step",
            f"from standing to {wanted}",
            "more are better",
        ),
    ]
    first, second, third = (units.fine_speed(count * step) for count in (1, 2, 3))
    return figures, (
        f"The transmitter sends {count} positions from end to end. So a straight stick can "
        f"ask for {first}, {second}, {third} and so on, and for nothing between. A motor drive "
        "that takes few output steps does the same."
    )


def _slope(blend: float, units: Units) -> Said:
    shape, tremor = softer(blend), _FIRST.tremor
    first, fine = shape.first_slope, units.fine_speed
    rest = first * tremor * EXAMPLE_TOP_M_S
    step = step_at_rest(shape, _FIRST.steps) * EXAMPLE_TOP_M_S
    held = tremor_out(shape, _WANTED, tremor)
    straight = tremor * EXAMPLE_TOP_M_S
    figures = [
        Figure(f"{first:.2f}", "first slope", "a straight stick has 1"),
        Figure(f"± {fine(rest)}", "shaking, all but standing", f"straight: ± {fine(straight)}"),
        Figure(
            fine(step),
            "the first stick step",
            f"straight: {fine(step_at_rest(_STRAIGHT, _FIRST.steps) * EXAMPLE_TOP_M_S)}",
        ),
    ]
    if blend == 0.0:
        return figures, "This is the straight stick: shaking and steps come out as they go in."
    return figures, (
        f"Just off the centre this stick acts {first:.2f} times as strongly as a straight one, so "
        f"shaking and steps there are both divided by {1.0 / first:.1f}. At "
        f"{units.text(EXAMPLE_WANTED_M_S, 'm/s')} the stick is already a little steeper: there "
        f"shaking is divided by {tremor / held:.1f}."
    )


def _price(blend: float, units: Units) -> Said:
    shape, fine = softer(blend), units.fine_speed
    last = float(shape.slope(1.0))
    even = float(shape(AS_STEEP_AS_STRAIGHT)) * EXAMPLE_TOP_M_S
    straight = _FIRST.tremor * EXAMPLE_TOP_M_S
    figures = [
        Figure(f"{last:.1f} times", "as strong at full stick", f"{shape.first_slope:.2f} at first"),
        Figure(
            f"± {fine(last * straight)}", "shaking at full stick", f"straight: ± {fine(straight)}"
        ),
        Figure(
            units.text(even, "m/s") if blend > 0.0 else "nowhere",
            "gentler only below" if blend > 0.0 else "gentler",
            f"of {_top(units)} at full stick",
        ),
    ]
    if blend == 0.0:
        return figures, "This is the straight stick: nothing gained and nothing paid."
    return figures, (
        f"Full stick still gives full speed, so what is taken near the centre comes back at the "
        f"end: there the stick acts {last:.1f} times as strongly. Below "
        f"{units.text(even, 'm/s')} (at {percent(AS_STEEP_AS_STRAIGHT)} of the travel) it shakes "
        "less than a straight stick, above that more."
    )


def _growing(growing: float, units: Units) -> Said:
    shape, fine = softer(_FIRST.blend), units.fine_speed

    def shaking(command: float) -> tuple[float, float]:
        straight = growing * command * EXAMPLE_TOP_M_S
        return straight, straight * relative_gain(shape, command)

    figures = []
    for command in (_WANTED, _FAST):
        straight, soft = shaking(command)
        speed = units.text(command * EXAMPLE_TOP_M_S, "m/s")
        figures.append(
            Figure(f"± {fine(soft)}", f"softer stick, at {speed}", f"straight: ± {fine(straight)}")
        )
    slow, fast = (units.text(command * EXAMPLE_TOP_M_S, "m/s") for command in (_WANTED, _FAST))
    return figures, (
        "This noise is a share of how far the stick is out. A softer stick must be pushed further "
        "out for the same speed, and that undoes the gain. All but standing both shake alike. At "
        f"{slow} the softer one shakes {relative_gain(shape, _WANTED):.2f} times as much as the "
        f"straight one, at {fast} {relative_gain(shape, _FAST):.2f} times."
    )


def _target(blend: float, units: Units) -> Said:
    soft = target_on_stick(softer(blend), TARGET, HALF_WIDTH)
    straight = target_on_stick(_STRAIGHT, TARGET, HALF_WIDTH)
    band = (
        f"{units.text((TARGET - HALF_WIDTH) * EXAMPLE_TOP_M_S, 'm/s')} to "
        f"{units.text((TARGET + HALF_WIDTH) * EXAMPLE_TOP_M_S, 'm/s')}"
    )
    figures = [
        Figure(
            percent(soft.width, 1), "width of the band", f"straight: {percent(straight.width, 1)}"
        ),
        Figure(percent(soft.distance), "way to it", f"straight: {percent(straight.distance)}"),
        Figure(
            f"{soft.difficulty:.3f} bits", "difficulty", f"straight: {straight.difficulty:.3f} bits"
        ),
    ]
    harder = soft.difficulty > straight.difficulty + 5e-4
    verdict = "harder" if harder else "just as hard"
    return figures, (
        f"To hit a speed from {band}, the thumb's target is {soft.width / straight.width:.1f} "
        f"times as wide as on a straight stick, but {soft.distance / straight.distance:.1f} times "
        f"as far away. By Fitts's law alone it is {verdict} to hit."
    )


class Step(NamedTuple):
    """One step of the lesson.

    Attributes
    ----------
    title : str
        Heading above the slider.
    note : str
        What is taken for the example, below the slider.
    says : callable
        From the slider's value and the units to `Said`.
    """

    title: str
    note: str
    says: Callable[[float, Units], Said]


def _top(units: Units) -> str:
    return units.text(EXAMPLE_TOP_M_S, "m/s")


_EXAMPLE = "Example: an invented machine that does {top} at full stick."
_SHAKEN = f"{_EXAMPLE} The thumb shakes by 2 %."
STEPS: dict[str, Step] = {
    "tremor": Step("What the thumb does", _EXAMPLE, _thumb),
    "steps": Step("What steps do", f"{_EXAMPLE} The stick is straight.", _steps),
    "blend": Step("What the first slope does", f"{_SHAKEN} The stick has 65 positions.", _slope),
    "price": Step("The price", _SHAKEN, _price),
    "growing": Step("Noise that grows", f"{_EXAMPLE} No other shaking; softness is 0.6.", _growing),
    "target": Step("Hitting a target", _EXAMPLE, _target),
}


def lesson_steps(*steps: str) -> widgets.VBox:
    """Several steps below each other, for one cell of a workbook."""
    return widgets.VBox([LessonPanel(step) for step in steps])
