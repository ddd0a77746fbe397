"""The lesson's small panels: their numbers are the library's, wherever the slider stands."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image
from sweep import inside, sweep

from curvelib import CubicBlend, Linear
from curvelib.panels import settings
from curvelib.panels.bones import CAUTION
from curvelib.panels.lesson_panel import STEPS, LessonPanel, lesson_steps
from curvelib.panels.lesson_view import VIEWS, lesson_figures, positions
from curvelib.panels.units import Units
from curvelib.practice.lesson import Lesson, relative_gain, target_on_stick, tremor_out

# The example does 1 m/s at full stick, so a share of full speed in thousandths is mm/s.
Expected = Callable[[float], list[str]]


def mm(share: float) -> str:
    return f"{1000.0 * share:.1f} mm/s"


def thumb(tremor: float) -> list[str]:
    return [f"± {100 * tremor:.1f} %", f"± {mm(tremor)}"]


def steps(value: float) -> list[str]:
    count = int(value) | 1  # whole, with one at the centre
    step = 2.0 / (count - 1)
    slow = int(0.1 / step + 1e-9)
    return [
        f">{mm(step)}<",
        f">{slow} step{'s' * (slow != 1)}<",
        f"{(count - 1) // 2} steps on",
    ]


def slope(blend: float) -> list[str]:
    first, step = 1.0 - blend, 2.0 / 64
    shaken = CubicBlend(blend)(step)
    return [f">{first:.2f}<", f"± {mm(0.02 * first)}", f">{mm(shaken)}<", f"± {mm(0.02)}"]


def price(blend: float) -> list[str]:
    even = CubicBlend(blend)(3.0**-0.5)
    last = 1.0 + 2.0 * blend
    below = f">{even:.2f} m/s<" if blend > 0.0 else ">nowhere<"
    return [f">{last:.1f} times<", f"± {mm(0.02 * last)}", below]


def growing(share: float) -> list[str]:
    soft = CubicBlend(0.6)
    return [
        text
        for command in (0.1, 0.5)
        for text in (
            f"± {mm(share * command * relative_gain(soft, command))}",
            f"straight: ± {mm(share * command)}",
        )
    ]


def target(blend: float) -> list[str]:
    soft, straight = (target_on_stick(one, 0.1, 0.02) for one in (CubicBlend(blend), Linear()))
    bits = f">{soft.difficulty:.3f} bits<"
    return [f">{100 * soft.width:.1f} %<", bits, f"straight: {straight.difficulty:.3f} bits"]


EXPECTED: dict[str, Expected] = {
    "tremor": thumb,
    "steps": steps,
    "blend": slope,
    "price": price,
    "growing": growing,
    "target": target,
}
each_step = pytest.mark.parametrize("step", STEPS)


@each_step
def test_a_sweep_shows_the_librarys_numbers(step: str) -> None:
    """At both ends, at the start and at random places; picture and alt text follow."""
    panel = LessonPanel(step)
    pictures = set()

    def check(words: str) -> None:
        for text in EXPECTED[step](panel.slider.value):
            assert text in panel.figures_text, f"{words}: {text}"
        assert panel.view.alt.startswith(panel.step.title)
        pictures.add(bytes(panel.view.png))

    assert sweep(panel, check) >= 6
    assert len(pictures) >= 4
    picture = panel.drawing.picture
    assert np.array_equal(picture.pixels(), picture.fresh_pixels())


@each_step
def test_one_slider_one_picture_and_no_file_at_the_foot(step: str) -> None:
    panel = LessonPanel(step)
    shown = list(inside(panel))
    sliders = [one for one in shown if type(one).__name__ == "FloatSlider"]
    pictures = [one for one in shown if type(one).__name__ == "PictureView"]
    assert (len(sliders), len(pictures)) == (1, 1)
    assert panel.file_bar not in shown
    assert not any(CAUTION in str(getattr(one, "value", "")) for one in shown)


@each_step
def test_speeds_follow_the_readers_units(step: str) -> None:
    settings.keep_units(Units("mph", "in"))
    panel = LessonPanel(step)
    words = f"{panel.figures_text} {panel.sentence.value}"
    assert "m/s" not in words
    assert step == "price" or "mph" in words
    labels = [axes.get_ylabel() + axes.get_xlabel() for axes in panel.drawing.picture.figure.axes]
    assert not any("m/s" in label for label in labels)


def test_words_say_what_the_sums_say() -> None:
    """The sentences with a choice of words choose rightly."""
    easy, hard = LessonPanel("target"), LessonPanel("target")
    easy.slider.slider.value = 0.0
    assert "just as hard" in easy.sentence.value
    assert "alone it is harder to hit" in hard.sentence.value
    free = LessonPanel("price")
    free.slider.slider.value = 0.0
    assert "nothing gained and nothing paid" in free.sentence.value
    even = LessonPanel("blend")
    even.slider.slider.value = 0.0
    assert "come out as they go in" in even.sentence.value
    slow = LessonPanel("blend")
    divided = 0.02 / tremor_out(CubicBlend(0.6), 0.1, 0.02)
    assert f"there shaking is divided by {divided:.1f}." in slow.sentence.value


def test_lines_are_the_numbers() -> None:
    """What is drawn is what is written: the shaking, the steps, the slope, the band."""
    view = VIEWS["steps"](Units())
    view.draw(33)
    travel, speed = view._stair.get_data()
    assert travel[:3] == pytest.approx([0.0, 6.25, 12.5])
    assert speed == pytest.approx(np.asarray(travel) / 100.0)
    view = VIEWS["price"](Units())
    view.draw(0.3)
    travel, steepness = view._slope.get_data()
    assert steepness == pytest.approx(CubicBlend(0.3).slope(np.asarray(travel) / 100.0))
    view = VIEWS["tremor"](Units())
    view.draw(0.05)
    shaken = np.asarray(view._machine.get_ydata())
    assert (shaken.mean(), shaken.std()) == pytest.approx((0.1, 0.05), abs=1e-3)
    view = VIEWS["target"](Units())
    view.draw(0.6)
    edges = np.asarray(view._edges[1].get_xdata(), dtype=float)
    band = np.unique(edges[np.isfinite(edges)])
    assert band[1] - band[0] == pytest.approx(8.06, abs=0.01)


def test_positions_are_even_and_begin_at_the_centre() -> None:
    assert positions(65) == pytest.approx(np.arange(33) / 32)


def test_several_steps_in_one_cell() -> None:
    box = lesson_steps("growing", "target")
    assert [panel.step.title for panel in box.children] == ["Noise that grows", "Hitting a target"]


def test_figures_for_a_page_are_the_panels_pictures() -> None:
    """Each is a whole picture, all differ, and each is what the panel shows at first."""
    figures = lesson_figures()
    assert set(figures) == {f"lesson_{step}" for step in STEPS}
    assert len(set(figures.values())) == len(STEPS)
    for step in STEPS:
        image = Image.open(io.BytesIO(figures[f"lesson_{step}"]))
        assert image.size == (860, 330)
        assert figures[f"lesson_{step}"] == bytes(LessonPanel(step).view.png)


def test_each_slider_begins_where_the_lesson_does() -> None:
    for step in STEPS:
        assert LessonPanel(step).slider.value == getattr(Lesson(), step)
        assert re.search(r"\d", LessonPanel(step).figures_text)
