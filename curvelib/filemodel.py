"""The strict model of a machine file, derived from the dataclasses it fills.

Nothing about a range or a name is written here a second time: models are made
from the fields and their `Param`.  pydantic does the checking, since it lists
every fault and takes neither text nor ``true`` for a number.
"""

from __future__ import annotations

import difflib
import functools
import operator
from dataclasses import MISSING, Field, fields
from functools import lru_cache
from typing import Annotated, Any, Literal, get_args, get_origin

import pydantic
from pydantic import BaseModel, ConfigDict

from curvelib.curves import Stage
from curvelib.faults import Fault
from curvelib.mixing import Independent, TankMix
from curvelib.output import Output
from curvelib.params import Param, is_whole, params_of, plain_types
from curvelib.shape import MOST_STAGES, STAGES, Shape
from curvelib.sides import MOST_MEASURED, Sides
from curvelib.stick import StickSetup
from curvelib.tune import FORMAT, ChannelSetup, Machine, SignalLoss, SlewSetup, Supply, Tune

SECTIONS: dict[str, type] = {
    "machine": Machine,
    "stick": StickSetup,
    "throttle": ChannelSetup,
    "steer": ChannelSetup,
    "mix": TankMix,
    "slew": SlewSetup,
    "signal_loss": SignalLoss,
    "sides": Sides,
    "output": Output,
    "supply": Supply,
}
REQUIRED = ("stick", "throttle", "steer")
LONGEST_NAME = 120
_STRICT = ConfigDict(strict=True, extra="forbid", protected_namespaces=())


def _bounds(param: Param) -> dict[str, Any]:
    low, high = ("gt", "lt") if param.inside else ("ge", "le")
    return {low: param.low, high: param.high, "allow_inf_nan": False, "description": param.help}


def _field(cls: type, field: Field[Any]) -> tuple[Any, Any]:
    """Type and default of one key, for pydantic."""
    hint, param = plain_types(cls)[field.name], params_of(cls).get(field.name)
    default = ... if field.default is MISSING else field.default
    if field.name == "shape":
        stages: Any = list[_stage_union()]  # type: ignore[misc]  # made at run time
        return stages, pydantic.Field(default=None, max_length=MOST_STAGES)
    if field.name.endswith("_measured"):
        return list[list[float]], pydantic.Field(default=None, max_length=MOST_MEASURED)
    if param is None:
        return hint, default
    whole = is_whole(cls, field.name)
    bounds = _bounds(param) if not whole else {"ge": int(param.low), "le": int(param.high)}
    number: Any = int if whole else float
    if get_origin(hint) is tuple:
        return list[Annotated[number, pydantic.Field(**bounds)]], default
    return Annotated[number, pydantic.Field(**bounds)], default


@lru_cache(maxsize=64)
def _model(cls: type, extra: tuple[tuple[str, Any, Any], ...] = ()) -> type[BaseModel]:
    made: dict[str, Any] = {name: (hint, default) for name, hint, default in extra}
    made |= {field.name: _field(cls, field) for field in fields(cls)}
    return pydantic.create_model(cls.__name__, __config__=_STRICT, **made)


@lru_cache(maxsize=1)
def _stage_union() -> Any:
    models = tuple(_model(cls, (("kind", Literal[kind], ...),)) for kind, cls in STAGES.items())
    return Annotated[functools.reduce(operator.or_, models), pydantic.Field(discriminator="kind")]


@lru_cache(maxsize=1)
def file_model() -> type[BaseModel]:
    """Return the model of the whole file."""
    made: dict[str, Any] = {
        # Not Literal[1]: true equals 1 and would pass.
        "format": (Annotated[int, pydantic.Field(ge=FORMAT, le=FORMAT)], ...),
        "name": (Annotated[str, pydantic.Field(max_length=LONGEST_NAME)], "Unnamed machine"),
    }
    for section, cls in SECTIONS.items():
        extra = (("kind", Literal["tank", "independent"], "tank"),) if section == "mix" else ()
        made[section] = (_model(cls, extra), ... if section in REQUIRED else None)
    return pydantic.create_model("MachineFile", __config__=_STRICT, **made)


def schema() -> dict[str, Any]:
    """JSON Schema of the machine file."""
    return file_model().model_json_schema()


def read_plain(plain: dict[str, Any]) -> tuple[Tune | None, list[Fault]]:
    """Make a `Tune` of the file's plain data, or list every fault.

    Parameters
    ----------
    plain : dict
        Numbers, text, booleans, lists and dicts as the TOML reader gives them.
    """
    try:
        file_model().model_validate(plain)
    except pydantic.ValidationError as err:
        return None, [_translate(error, plain) for error in err.errors()]
    faults: list[Fault] = []
    parts = {section: _build(section, plain.get(section, {}), faults) for section in SECTIONS}
    if faults:
        return None, faults
    try:
        return Tune(name=plain.get("name", "Unnamed machine"), **parts), []
    except ValueError as err:
        return None, [Fault("", "", str(err))]


def _build(section: str, data: dict[str, Any], faults: list[Fault]) -> Any:
    """Build one section's dataclass; what only it can judge becomes a fault."""
    cls, values = SECTIONS[section], dict(data)
    if section == "mix" and values.pop("kind", "tank") == "independent":
        return _made(section, Independent, {}, faults)
    if "shape" in values:
        values["shape"] = _shape(section, values["shape"], faults)
    return _made(section, cls, values, faults)


def _shape(section: str, items: list[dict[str, Any]], faults: list[Fault]) -> Shape:
    stages = []
    for place, item in enumerate(items):
        values = {key: value for key, value in item.items() if key != "kind"}
        made = _made(f"{section}.shape[{place}]", STAGES[item["kind"]], values, faults)
        if isinstance(made, Stage):
            stages.append(made)
    return Shape(stages)


def _made(where: str, cls: type, values: dict[str, Any], faults: list[Fault]) -> Any:
    try:
        return cls(**values)
    except ValueError as err:
        faults.append(Fault(where, "", str(err)))
        return None


def _translate(error: Any, plain: dict[str, Any]) -> Fault:
    """Put one of pydantic's errors into words for the file's owner."""
    loc, kind = list(error["loc"]), error["type"]
    path = _without_tags(loc)
    key, value = _dotted(path), _short(error["input"])
    if kind == "missing":
        return Fault(key, "", f"is missing; {_wanted(loc)}")
    if kind == "extra_forbidden":
        return Fault(key, value, f"unknown key; {_suggest(str(loc[-1]), _known(loc))}")
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        given = error["input"].get("kind") if isinstance(error["input"], dict) else None
        near = _suggest(str(given), list(STAGES))
        return Fault(f"{key}.kind", "" if given is None else _short(given), f"unknown kind; {near}")
    return Fault(key, value, _wanted(loc, error))


def _without_tags(loc: list[Any]) -> list[Any]:
    """Drop the stage kind that pydantic puts into the place of a shape's item."""
    if len(loc) > 3 and loc[1] == "shape":
        return loc[:3] + loc[4:]
    return loc


def _dotted(path: list[Any]) -> str:
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text


def _short(value: Any) -> str:
    text = value if isinstance(value, str) else str(value)
    shown = repr(text) if isinstance(value, str) else "true" if value is True else text
    shown = "false" if value is False else shown
    return shown if len(shown) <= 60 else f"{shown[:57]}..."


def _owner(loc: list[Any]) -> type | None:
    """Return the dataclass that the last key of a place belongs to."""
    if len(loc) > 3 and loc[1] == "shape":
        return STAGES.get(loc[3])
    return SECTIONS.get(loc[0]) if len(loc) > 1 else None


def _known(loc: list[Any]) -> list[str]:
    owner = _owner(loc)
    if owner is None:
        return ["format", "name", *SECTIONS]
    names = [field.name for field in fields(owner)]
    return [*names, "kind"] if loc[0] == "mix" or issubclass(owner, Stage) else names


def _suggest(word: str, known: list[str]) -> str:
    near = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    if near:
        return f"did you mean {near[0]!r}?"
    return f"known are {', '.join(known) or 'none'}."


def _wanted(loc: list[Any], error: Any = None) -> str:
    """Say what would be right at a place."""
    if loc == ["format"]:
        return f"give format = {FORMAT}; this version reads no other."
    owner = _owner(loc)
    name = next((part for part in reversed(loc) if isinstance(part, str)), "")
    param = params_of(owner).get(name) if owner else None
    kind = error["type"] if error else ""
    if param is not None and owner is not None:
        if kind == "list_type":
            return f"give a list, each item {param.wanted()}."
        wish = param.wanted()
        if is_whole(owner, name):
            wish = wish.replace("a number", "a whole number")
        return f"give {wish}."
    if kind == "literal_error":
        return f"give {error['ctx']['expected']}."
    if kind == "model_type" or (owner is None and name in SECTIONS):
        return f"give a section [{name}] with its keys."
    return _plain_wish(name, kind, owner)


def _plain_wish(name: str, kind: str, owner: type | None) -> str:
    wishes = {
        "bool_type": "give true or false.",
        "string_type": "give text in quotes.",
        "string_too_long": f"give text of at most {LONGEST_NAME} characters.",
        "too_long": "give fewer items.",
    }
    if kind in wishes:
        return wishes[kind]
    if name == "shape":
        return 'give a list of stages such as [{ kind = "cubic blend", blend = 0.3 }].'
    if name.endswith("_measured"):
        return "give a list of pairs such as [[0.0, 0.1], [1.0, 0.9]]."
    hint = plain_types(owner).get(name) if owner else None
    return (
        f"give one of {', '.join(map(repr, get_args(hint)))}."
        if get_args(hint)
        else "give a value."
    )
