"""Sliders that stand for keys of the machine file, and those that stand for a scene."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from curvelib.machine.supply import END_V_PER_CELL, FULL_V_PER_CELL
from curvelib.panels.controls import Slider
from curvelib.panels.units import Units
from curvelib.params import params_of
from curvelib.tune import Machine, Tune

SceneT = TypeVar("SceneT")
Ends = Mapping[str, tuple[float, float]]

# Stand-ins for facts that a file leaves out; said wherever they are used.
_MACHINE: dict[str, float] = {
    "top_speed_m_s": 1.5,
    "mass_kg": 100.0,
    "wheel_radius_m": 0.15,
    "friction": 0.35,
    "lag_s": 0.1,
    "torque_per_amp_nm": 1.0,
}
# A clamp lies a little above the voltage of a battery on charge.
_CLAMP_V_PER_CELL = 2.5


def assumed_words(tune: Tune, facts: Sequence[str]) -> str:
    """Name those of the machine's facts that `filled` had to assume; empty where none was."""
    labels = params_of(Machine)
    named = ", ".join(
        f"{labels[name].label.lower()} {_MACHINE[name]:g} {labels[name].unit}".strip()
        for name in facts
        if getattr(tune.machine, name) is None
    )
    return f"Not in the file, so assumed: {named}." if named else ""


def filled(tune: Tune) -> Tune:
    """Fill in what a machine file leaves out of the facts these panels need.

    Whoever shows what comes of it says what was assumed: `assumed_words`, and
    `FileSlider` for keys with a slider of their own.
    """
    machine = tune.machine
    missing = {name: value for name, value in _MACHINE.items() if getattr(machine, name) is None}
    machine = replace(machine, **missing)  # type: ignore[arg-type]  # every one of them is a float
    supply = tune.supply
    cells = supply.cells or 12
    guesses: dict[str, Any] = {
        "cells": cells,
        "rest_v": FULL_V_PER_CELL * cells,
        "internal_resistance_ohm": 0.02,
        "cut_off_v_per_cell": END_V_PER_CELL,
        "restart_delay_s": 0.5,
        "bus_capacitance_f": 0.004,
        "clamp_v": round(_CLAMP_V_PER_CELL * cells, 1),
        "current_limit_a": 50.0,
    }
    new = {name: value for name, value in guesses.items() if getattr(supply, name) is None}
    return replace(tune, machine=machine, supply=replace(supply, **new))


def assumed(section: str, key: str) -> Callable[[Tune], float]:
    """Return what tells the stand-in for one key."""
    return lambda tune: float(getattr(getattr(filled(tune), section), key))


class FileSlider(Slider):
    """A slider for one key of the machine file.

    A number that the file does not give is assumed, said so at the slider, and
    not written into the file until the reader sets it.

    Parameters
    ----------
    section, key : str
        Where it stands in the file.
    units, on_change
        As for `Slider`.
    assume : callable, optional
        Tells the stand-in for a tune; left out, that of `filled`.
    **words
        `low`, `high`, `label`, `help_` of `Slider`.
    """

    def __init__(
        self,
        section: str,
        key: str,
        units: Units,
        on_change: Callable[[], None],
        *,
        assume: Callable[[Tune], float] | None = None,
        **words: Any,
    ) -> None:
        self._section, self._key = section, key
        self._assume = assume or assumed(section, key)
        owner: Any = getattr(Tune(), section)
        self._cls: Any = owner.__class__
        self._file_units = units
        self._stand_in = self._assume(Tune())
        self._said = ""
        param = self._param_of = params_of(self._cls)[key]
        super().__init__(param, self._stand_in, key.replace("_", " "), units, on_change, **words)

    def _known(self, tune: Tune) -> float | None:
        value: float | None = getattr(getattr(tune, self._section), self._key)
        return value

    def load(self, tune: Tune) -> None:
        """Show the value of a tune, or the stand-in for it."""
        known = self._known(tune)
        self._stand_in = self._assume(tune)
        self.set(self._stand_in if known is None else known)

    def put(self, tune: Tune) -> Tune:
        """Return the tune with the value on show, unless that is only assumed."""
        known, value = self._known(tune), self.value
        if value == known or (known is None and value == self._stand_in):
            return tune
        part = replace(getattr(tune, self._section), **{self._key: value})
        return replace(tune, **{self._section: part})

    def settle(self, tune: Tune) -> None:
        """Say whether the value is assumed, and follow the stand-in while it is."""
        self._said = ""
        if self._known(tune) is not None:
            self.fault("")
            return
        stand_in = self._assume(tune)
        if stand_in != self._stand_in:
            self._stand_in = stand_in
            self.set(stand_in)
        text = self._file_units.text(stand_in, self._param_of.unit)
        self._said = f"Not in the file: {text} is assumed until you set it."
        self.fault(self._said)

    def judge(self, text: str) -> None:
        """Show what is wrong with the value; without a fault, what `settle` said."""
        self.fault(text or self._said)


def scene_sliders(
    cls: Any, units: Units, on_change: Callable[[], None], ends: Ends | None = None
) -> dict[str, Slider]:
    """One slider for each number of a scene, named after its field."""
    first, far = cls(), ends or {}
    return {
        name: Slider(
            param,
            getattr(first, name),
            name.replace("_", " "),
            units,
            on_change,
            low=far.get(name, (param.low, param.high))[0],
            high=far.get(name, (param.low, param.high))[1],
        )
        for name, param in params_of(cls).items()
    }


def read_scene(cls: type[SceneT], sliders: Mapping[str, Slider], **more: Any) -> SceneT:
    """The scene as its sliders stand."""
    return cls(**{name: slider.value for name, slider in sliders.items()}, **more)
