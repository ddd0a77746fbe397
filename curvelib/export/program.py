"""The whole path of one machine as one C99 file that counts in integers."""

from __future__ import annotations

from dataclasses import dataclass, replace

from curvelib.chain import Chain
from curvelib.export.common import CAUTION, ONCE, shape_words, templates
from curvelib.export.fixed_text import unit_words
from curvelib.export.program_facts import (
    UNIT_BITS,
    MotorFacts,
    Piece,
    Ramp,
    StickFacts,
    longest_silence,
    motor_facts,
    ramp,
    rest_needed,
    stick_facts,
)
from curvelib.mixing import TankMix
from curvelib.tune import CHANNELS, Tune

LEARNED = (
    "The machine file says that the centre is learned at power-up. This program does not: it "
    "takes the centre of the file, always, so that a restart with a stick held cannot make "
    "'let go' mean full reverse."
)
# In bytes, with 4-byte and 8-byte integers aligned to their size.
STATE_BYTES = 24
_PIECE_BYTES = 24
_SHARE_BITS = 30
# What the slew limit takes for nothing, 1e-8 of full, in whole numbers.
_NOTHING = 10


@dataclass(frozen=True)
class Program:
    """Everything the template needs to know of one machine."""

    tune: Tune
    chain: Chain
    ramp: Ramp
    sticks: tuple[StickFacts, StickFacts]
    motors: tuple[MotorFacts, MotorFacts]

    @classmethod
    def from_tune(cls, tune: Tune) -> Program:
        """Work out the integers of a tune, with the centre fixed and every pulse as it comes."""
        chain = Chain.from_tune(tune)
        first, second = (replace(stick, steps=None) for stick in chain.sticks)
        chain = replace(chain, sticks=(first, second), learned_centre=False)
        found = ramp(chain.slew)
        sides = (chain.sides.left, chain.sides.right)
        left, right = (motor_facts(side, chain.output, found.one) for side in sides)
        sticks = (stick_facts(chain, 0, found.one), stick_facts(chain, 1, found.one))
        return cls(tune, chain, found, sticks, (left, right))

    @property
    def one_curve(self) -> bool:
        """True where both sticks share one table."""
        first, second = (
            replace(s, possible=(0, 0), rest=(0, 0), reversed=False) for s in self.sticks
        )
        return first == second

    @property
    def piece_lists(self) -> list[tuple[Piece, ...]]:
        """Different maps of the motors, each once."""
        ways = [way for motor in self.motors for way in (motor.up, motor.down)]
        return list(dict.fromkeys(way.pieces for way in ways))

    @property
    def share(self) -> int | None:
        """Steer share in 1/2^30; None where it is 1 or there is none."""
        share = self.chain.steer_share
        return None if share == 1.0 else round(share * (1 << _SHARE_BITS))

    @property
    def table_bytes(self) -> int:
        """Bytes of constant tables."""
        curves = self.sticks[:1] if self.one_curve else self.sticks
        entries = sum(len(stick.values) for stick in curves)
        return 4 * entries + _PIECE_BYTES * sum(map(len, self.piece_lists))

    @property
    def overflow(self) -> str:
        """What happens when a side overflows; "none" in independent mixing."""
        return self.chain.mix.overflow if isinstance(self.chain.mix, TankMix) else "none"

    @property
    def notes(self) -> list[str]:
        """Lines for the head of the file, plain text."""
        return [
            f"Machine: {self.tune.name}",
            *(
                f"{'Left and right' if self.alike else channel.capitalize()} stick shape: "
                f"{shape_words(self.tune, channel)}"
                for channel in CHANNELS[: 1 if self.alike else 2]
            ),
            *warnings(self.tune),
            ONCE,
            CAUTION,
        ]

    @property
    def alike(self) -> bool:
        """True in independent mixing, where the sticks are left and right."""
        return self.chain.mix.kind == "independent"


def warnings(tune: Tune) -> list[str]:
    """Say in what the exported program differs from the machine file."""
    return [LEARNED] if tune.stick.centre == "learned" else []


def render(tune: Tune) -> str:
    """Return the C text: ``struct curvelib_state``, ``curvelib_reset`` and ``curvelib_step``."""
    program = Program.from_tune(tune)
    return (
        templates()
        .get_template("program.c.j2")
        .render(
            program=program,
            chain=program.chain,
            output=program.chain.output,
            notes=program.notes,
            unit=unit_words(program.chain.output),
            state_bytes=STATE_BYTES,
            timeout=longest_silence(program.chain.timeout_s),
            rest=rest_needed(program.chain.centred_first_s),
            unit_bits=UNIT_BITS,
            share_bits=_SHARE_BITS,
            nothing=_NOTHING,
        )
    )
