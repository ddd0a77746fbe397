"""Controls for one stick's shape: the usual order, or whatever order the file asks for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import ipywidgets as widgets

from curvelib.curves import CubicBlend, Deadband, Expo, Limit, Linear, Stage, TwoZone
from curvelib.panels.controls import Slider, choice, words
from curvelib.panels.units import Units
from curvelib.params import params_of
from curvelib.points import Points
from curvelib.shape import Shape

# What each curve begins with when it is chosen.
_FRESH: dict[str, Stage] = {
    "linear": Linear(),
    "cubic blend": CubicBlend(0.5),
    "expo": Expo(2.0),
    "two zone": TwoZone(0.5, 0.2),
}
_SLOTS = 2
# Beyond this a dead zone is no longer a matter of taste; a file may still hold more.
_WIDEST_SLIDER = 0.2


class UsualOrder:
    """A shape as dead zone, one curve, limit; each may be missing from the file.

    `None` where the shape runs another order; a neutral stage that the file
    spells out stays spelt out.
    """

    def __init__(self, deadband: Deadband | None, curve: Stage | None, limit: Limit | None) -> None:
        self.deadband, self.curve, self.limit = deadband, curve, limit

    @classmethod
    def of(cls, shape: Shape) -> UsualOrder | None:
        """Take a shape apart, or return None where that would lose its order."""
        rest = list(shape.stages)
        deadband = rest.pop(0) if rest and isinstance(rest[0], Deadband) else None
        limit = rest.pop() if rest and isinstance(rest[-1], Limit) else None
        if len(rest) > 1 or (rest and isinstance(rest[0], Deadband | Limit)):
            return None
        return cls(deadband, rest[0] if rest else None, limit)  # type: ignore[arg-type]  # narrowed by the lines above

    def shape(self) -> Shape:
        """Put the parts together again."""
        parts = (self.deadband, self.curve, self.limit)
        return Shape([part for part in parts if part is not None])


class ShapeEditor(widgets.VBox):
    """Sliders for one shape.

    Parameters
    ----------
    units : Units
        For the sliders.
    on_change : callable
        Called after each move by the reader.
    """

    def __init__(self, units: Units, on_change: Callable[[], None]) -> None:
        self._units, self._on_change = units, on_change
        self._shape = Shape()
        self._usual: UsualOrder | None = None
        self._sliders: list[tuple[int, str, Slider]] = []
        self._make_usual()
        super().__init__()

    def _make_usual(self) -> None:
        units, moved = self._units, self._moved
        dead, top = params_of(Deadband)["width"], params_of(Limit)["top"]
        self.deadband = Slider(dead, 0.0, "dead zone", units, moved, high=_WIDEST_SLIDER)
        self.limit = Slider(top, 1.0, "top", units, moved)
        self.kind = choice(list(_FRESH), "linear", "Curve", "curve")
        self.kind.observe(self._kind_chosen, "value")
        self._what = words("", "cv-help")
        self.curve_sliders = {
            (kind, name): Slider(
                param,
                getattr(_FRESH[kind], name),
                name,
                units,
                moved,
                label=_label(name, param.label),
            )
            for kind, stage in _FRESH.items()
            for name, param in params_of(type(stage)).items()
        }
        self._blank = [words("&nbsp;<br>&nbsp;<br>&nbsp;<br>", "cv-blank") for _ in range(_SLOTS)]

    def load(self, shape: Shape) -> None:
        """Show a shape without calling back."""
        self._shape = shape
        self._usual = UsualOrder.of(shape)
        if self._usual is None:
            self._show_other_order()
        else:
            self._show_usual(self._usual)

    def shape(self) -> Shape:
        """The shape as the controls stand.

        Raises
        ------
        ValueError
            If the controls together make no valid stage; the fault is shown at
            the control that caused it.
        """
        return self._read_usual() if self._usual is not None else self._read_other_order()

    def _show_usual(self, usual: UsualOrder) -> None:
        self.deadband.set(usual.deadband.width if usual.deadband else 0.0)
        self.limit.set(usual.limit.top if usual.limit else 1.0)
        curve = usual.curve or Linear()
        kinds = list(_FRESH) if curve.kind in _FRESH else [*_FRESH, curve.kind]
        self.kind.unobserve(self._kind_chosen, "value")
        self.kind.options, self.kind.value = kinds, curve.kind
        self.kind.observe(self._kind_chosen, "value")
        for name in params_of(type(curve)):
            if (curve.kind, name) in self.curve_sliders:
                self.curve_sliders[curve.kind, name].set(getattr(curve, name))
        self._arrange(curve)

    def _arrange(self, curve: Stage) -> None:
        """Show the sliders of the curve in question, always taking the same room."""
        self._what.value = f"{curve.kind.capitalize()} {type(curve).what_it_does}."
        mine = [slider for (kind, _), slider in self.curve_sliders.items() if kind == curve.kind]
        if isinstance(curve, Points):
            mine = [words(_points_words(curve), "cv-help")]
        slots = [*mine, *self._blank[len(mine) :]]
        self.children = [
            self.deadband,
            words("<b>Curve</b>"),
            self.kind,
            self._what,
            *slots,
            self.limit,
        ]

    def _read_usual(self) -> Shape:
        assert self._usual is not None  # noqa: S101  callers look first
        width, top = self.deadband.value, self.limit.value
        usual = UsualOrder(
            Deadband(width) if width > 0.0 or self._usual.deadband else None,
            self._read_curve(),
            Limit(top) if top < 1.0 or self._usual.limit else None,
        )
        return usual.shape()

    def _read_curve(self) -> Stage | None:
        assert self._usual is not None  # noqa: S101  callers look first
        kind, before = self.kind.value, self._usual.curve
        if kind == "linear":
            return Linear() if isinstance(before, Linear) else None
        if before is not None and kind == before.kind and kind not in _FRESH:
            return before
        mine = {name: slider for (of, name), slider in self.curve_sliders.items() if of == kind}
        try:
            made = type(_FRESH[kind])(**{name: slider.value for name, slider in mine.items()})
        except ValueError as err:
            last = list(mine.values())[-1]
            last.fault(str(err).partition(": ")[2])
            raise
        for slider in mine.values():
            slider.fault("")
        return made

    def _show_other_order(self) -> None:
        """One group a stage, in the file's own order."""
        self._sliders = []
        shown: list[Any] = [
            words("The file runs these stages in an order of its own; it is kept.", "cv-help")
        ]
        for place, stage in enumerate(self._shape.stages):
            shown.append(words(f"<b>{place + 1}. {stage.kind}</b>"))
            if isinstance(stage, Points):
                shown.append(words(_points_words(stage), "cv-help"))
                continue
            for name, param in params_of(type(stage)).items():
                label = _label(name, param.label)
                slider = Slider(
                    param,
                    getattr(stage, name),
                    f"{place + 1} {name}",
                    self._units,
                    self._moved,
                    label=label,
                )
                self._sliders.append((place, name, slider))
                shown.append(slider)
        self.children = shown

    def _read_other_order(self) -> Shape:
        stages = list(self._shape.stages)
        for place in range(len(stages)):
            mine = {name: slider for at, name, slider in self._sliders if at == place}
            if not mine:
                continue
            try:
                stages[place] = replace(
                    stages[place],  # type: ignore[type-var]  # every stage is a dataclass
                    **{name: slider.value for name, slider in mine.items()},
                )
            except ValueError as err:
                list(mine.values())[-1].fault(str(err).partition(": ")[2])
                raise
            for slider in mine.values():
                slider.fault("")
        return Shape(stages)

    def sliders(self) -> list[Slider]:
        """Every slider on show, for tests that sweep them."""
        return [child for child in self.children if isinstance(child, Slider)]

    def _kind_chosen(self, change: Any) -> None:
        kind = change["new"]
        if kind in _FRESH:
            for name in params_of(type(_FRESH[kind])):
                self.curve_sliders[kind, name].fault("")
            self._arrange(_FRESH[kind])
        elif self._usual is not None and self._usual.curve is not None:
            self._arrange(self._usual.curve)
        self._moved()

    def _moved(self) -> None:
        self._on_change()


def _label(name: str, label: str) -> str:
    return {"knee_x": "Knee: stick position", "knee_y": "Knee: value there"}.get(name, label)


def _points_words(stage: Points) -> str:
    pairs = ", ".join(f"({x:g}, {y:g})" for x, y in zip(stage.x, stage.y, strict=True))
    return f"Through (0, 0), {pairs} and (1, 1). Change the points in the machine file."
