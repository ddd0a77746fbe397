"""The command line: ``python -m curvelib check|table|program ...``.

Results go to standard output or a file, messages to standard error.  Exit
code 0 is good, 1 means the file or the request is at fault, 2 means the
command was used wrongly.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from curvelib.faults import TuneError, one_fault
from curvelib.files import load_tune
from curvelib.tune import CHANNELS


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    args = _parser().parse_args(argv)
    try:
        result: str = args.command(args)
        if args.to is None:
            # Bytes, so that newlines and encoding are the same on every system.
            sys.stdout.buffer.write(result.encode("utf-8"))
            sys.stdout.flush()
        else:
            _write(Path(args.to), result)
    except TuneError as err:
        print(err, file=sys.stderr)
        return 1
    except BrokenPipeError:
        # Whoever reads the result has seen enough.
        sys.stderr.close()
        return 1
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="curvelib", description="Check a machine file, or write it out for a controller."
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    check = commands.add_parser("check", help="read a machine file and say what is in it")
    check.set_defaults(command=_check, to=None)
    check.add_argument("file", help="the machine file (TOML)")
    table = commands.add_parser("table", help="write the lookup table of one stick")
    table.set_defaults(command=_table)
    table.add_argument("file", help="the machine file (TOML)")
    table.add_argument("--channel", choices=CHANNELS, default="throttle", help="which stick")
    table.add_argument(
        "--points", type=int, default=33, help="odd number of points over -1..1 (33)"
    )
    table.add_argument("--spacing", choices=("even", "fitted"), default="even")
    table.add_argument("--format", choices=_formats(), default="csv")
    program = commands.add_parser("program", help="write the whole path as one C99 file")
    program.set_defaults(command=_program)
    program.add_argument("file", help="the machine file (TOML)")
    for command in (table, program):
        command.add_argument("--to", metavar="PATH", help="write here instead of standard output")
    return parser


def _formats() -> tuple[str, ...]:
    from curvelib.export.formats import FORMATS

    return tuple(FORMATS)


def _check(args: argparse.Namespace) -> str:
    from curvelib.advice import remarks
    from curvelib.export.common import one_line, shape_words

    tune = load_tune(args.file)
    lines = [f"{args.file}: good", f"machine: {one_line(tune.name)}"]
    lines += [f"{channel}: {shape_words(tune, channel)}" for channel in CHANNELS]
    lines += [f"note: {remark}" for remark in remarks(tune)]
    return "\n".join(lines) + "\n"


def _table(args: argparse.Namespace) -> str:
    from curvelib.export.common import request
    from curvelib.export.formats import FORMATS

    wanted = request(load_tune(args.file), args.channel, args.points, args.spacing)
    try:
        return FORMATS[args.format](wanted)
    except ValueError as err:
        # Points that are whole numbers on their own may be too close for this format's.
        raise one_fault(str(err), args.file) from None


def _program(args: argparse.Namespace) -> str:
    from curvelib.export.program import render, warnings

    tune = load_tune(args.file)
    for warning in warnings(tune):
        print(f"{args.file}: {warning}", file=sys.stderr)
    return render(tune)


def _write(path: Path, text: str) -> None:
    from curvelib.atomic import write_text

    try:
        write_text(path, text)
    except OSError as err:
        raise one_fault(f"cannot be written: {err.strerror or err}.", str(path)) from None


if __name__ == "__main__":
    sys.exit(main())
