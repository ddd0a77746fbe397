"""What all exports share: the facts of one table, the notes, and safe text."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from curvelib.faults import one_fault
from curvelib.params import params_of
from curvelib.tables import Spacing, Table
from curvelib.tune import Channel, Tune

if TYPE_CHECKING:
    import jinja2

ONCE = (
    "Switch off the transmitter's own curve, rates, mix and trims, and the drive's own "
    "curve and ramp, or they act twice."
)
CAUTION = (
    "Blade drive off, wheels off the ground, a hand on an independent stop, bystanders away; "
    "transmitter-off test first. Local codes, the makers' instructions and licensed practice "
    "come first."
)


@dataclass(frozen=True)
class TableRequest:
    """One table of one stick, ready to be written in any format."""

    tune: Tune
    channel: Channel
    table: Table

    @property
    def notes(self) -> tuple[str, ...]:
        """Lines for the head of a list of points, plain text, longest facts last."""
        return self._notes(self.table.leak_words())

    @property
    def code_notes(self) -> tuple[str, ...]:
        """The same for code, which tests for the dead zone itself."""
        if self.table.dead_zone == 0.0:
            return self._notes("")
        return self._notes(
            f"The dead zone, {100.0 * self.table.dead_zone:.4g} % of the travel around the "
            "centre, is tested for before the lookup: the result there is exactly that of 0."
        )

    def _notes(self, dead_zone: str) -> tuple[str, ...]:
        table = self.table
        alike = self.tune.mix.kind == "independent"
        stick = "both sticks" if alike else f"{self.channel} stick"
        reach = "no machine facts are in it"
        if self.tune.machine.top_speed_m_s is not None:
            speed = 1000.0 * table.max_error * self.tune.machine.top_speed_m_s
            reach = f"{speed:.3g} mm/s at the wheel"
        lines = (
            f"Machine: {self.tune.name}",
            f"Table of the {stick}, shaped position against stick position, "
            f"{len(table.x)} points, {table.spacing} spacing.",
            f"Shape: {shape_words(self.tune, self.channel)}",
            f"Read by straight lines it is within {100.0 * table.max_error:.3g} % of full "
            f"({reach}) of the exact shape.",
            dead_zone,
            "Mixing, ramp, motor start and stick reversal are not in it.",
            ONCE,
            CAUTION,
        )
        return tuple(line for line in lines if line)


def request(tune: Tune, channel: Channel, points: int, spacing: Spacing) -> TableRequest:
    """Make the table of one stick, or raise `TuneError` naming what is wrong with the request."""
    try:
        return TableRequest(tune, channel, Table.from_shape(tune.shape(channel), points, spacing))
    except ValueError as err:
        raise one_fault(str(err)) from None


def shape_words(tune: Tune, channel: Channel) -> str:
    """Say a shape in words: ``deadband (width 0.03), then cubic blend (blend 0.6)``."""
    parts = []
    for stage in tune.shape(channel).stages:
        names = params_of(type(stage))
        values = ", ".join(f"{name} {_plain(getattr(stage, name))}" for name in names)
        parts.append(f"{stage.kind} ({values})" if values else stage.kind)
    return ", then ".join(parts) or "linear"


def _plain(value: object) -> str:
    if isinstance(value, tuple):
        return " ".join(f"{item:g}" for item in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def one_line(text: str) -> str:
    r"""Make any text one line of printable characters; all others become ``\u`` escapes."""
    return "".join(char if char.isprintable() and char != "\\" else _escaped(char) for char in text)


def _escaped(char: str) -> str:
    code = ord(char)
    if char == "\\":
        return "\\\\"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def c_comment(text: str) -> str:
    """Make text that cannot end a C comment, splice a line or spell a trigraph."""
    plain = one_line(text).replace("\\", "/")
    return plain.replace("*/", "* /").replace("/*", "/ *").replace("??", "? ?")


def st_comment(text: str) -> str:
    """Make text that can neither end nor begin a structured text comment, of either kind."""
    plain = one_line(text)
    for mark in ("(*", "*)", "/*", "*/"):
        plain = plain.replace(mark, f"{mark[0]} {mark[1]}")
    return plain


@lru_cache(maxsize=1)
def templates() -> jinja2.Environment:
    """Return the template library's environment, with our filters."""
    import jinja2

    made = jinja2.Environment(
        loader=jinja2.PackageLoader("curvelib.export", "templates"),
        undefined=jinja2.StrictUndefined,
        autoescape=jinja2.select_autoescape(["html", "html.j2"]),
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        newline_sequence="\n",
    )
    made.filters["one_line"] = one_line
    made.filters["c_comment"] = c_comment
    made.filters["st_comment"] = st_comment
    made.filters["wrapped"] = wrapped
    return made


def wrapped(text: str, width: int = 84) -> list[str]:
    """Break one line of text into lines of at most `width` characters, never none."""
    import textwrap

    return textwrap.wrap(text, width, break_long_words=True) or [""]
