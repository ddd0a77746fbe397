"""Machines for the export tests, all invented, and names that try to get out of a comment."""

from curvelib import CubicBlend, Deadband, Expo, Limit, Points, Shape, Tune, TwoZone
from curvelib.export.common import TableRequest, request
from curvelib.output import Output
from curvelib.tables import Table
from curvelib.tune import ChannelSetup

# One name for each trick, and all of them in one.
TRICKS = {
    "end of a C comment": "*/ int x; /*",
    "text in an ST comment": '"(*"',
    "ST comment and dollar": "(*$",
    "end of an ST comment": "*) x := 1; (*",
    "crossed ends": "(*) /*/ *)(* */*",
    "quotes": "'''\"\"\"'\"`",
    "backslash at the end": "a\\",
    "line breaks": "a\nb\r\nc\x0bd\x0ce\x85f\u2028g\u2029h",
    "trigraphs": "??/ ??* ??' what??!",
    "bidi controls": "\u202ea\u2066b\u200f",
    "script": "</script><script>alert(1)</script>",
    "template": "{{ 7 * 7 }}{% raw %}{# #}",
    "encoding": "-*- coding: utf-16 -*-",
    "nothing to see": "\x00\x07\x1b[31m\x7f",
    "number sign": "# %PDF ; DROP",
    "many letters": "Mäher 芝刈り機 🚜",
}
NASTY = " ".join(TRICKS.values())

PULSE = Output("pulse", 1000, 1500, 2000)
LOPSIDED = Output("pulse", 1100, 1500, 1850)
SIGNED = Output("signed", full=32767)
COARSE = Output("signed", full=7)
PERCENT = Output("percent")

SHAPES = {
    "cube": Shape([CubicBlend(1.0)]),
    "dead zone": Shape([Deadband(0.0333), CubicBlend(0.6)]),
    "wide dead zone": Shape([Deadband(0.3), TwoZone(0.4, 0.2), Limit(0.7)]),
    "two zone": Shape([TwoZone(0.3, 0.45)]),
    "expo": Shape([Expo(5.0)]),
    "points": Shape([Points([0.2, 0.5, 0.8], [0.05, 0.4, 0.6])]),
    "never": Shape([Limit(0.2), Deadband(0.3)]),
    "linear": Shape(),
}


def tune_for(shape, output, name="Invented cart"):
    """Tune whose two sticks have one shape."""
    setup = ChannelSetup(shape=shape)
    return Tune(name=name, throttle=setup, steer=setup, output=output)


def asked(shape, points=33, spacing="even", output=PULSE, channel="throttle", name="Invented cart"):
    """Request for a table, by names of the shapes above or with a shape."""
    found = SHAPES[shape] if isinstance(shape, str) else shape
    return request(tune_for(found, output, name), channel, points, spacing)


def asked_for(table: Table, output=PULSE) -> TableRequest:
    """Request for a table that is there already."""
    return TableRequest(tune_for(table.shape, output), "throttle", table)
