"""What a lookup in an exported C table costs: instructions, and bytes of table.

Run it with ``python tests/benchmarks/bench_c_lookup.py``.  callgrind counts
instructions exactly, so the figures are the same on every run; they are this
machine's instructions, and fewer or more on another processor.
"""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from curvelib import CubicBlend, Deadband, Shape, Tune
from curvelib.export.c_table import render
from curvelib.export.common import request
from curvelib.export.fixed import fixed_table
from curvelib.output import Output
from curvelib.tune import ChannelSetup

STRICT = ("-std=c99", "-Wall", "-Wextra", "-Wconversion", "-Werror", "-pedantic")
CASES = [(points, spacing) for points in (17, 33, 65, 129) for spacing in ("even", "fitted")]
# Every input once, the sum kept so that no call is left out.
MAIN = """
#include <stdint.h>
int16_t curvelib_throttle(int16_t position);
int main(void)
{
    int32_t x;
    uint32_t sum = 0;
    for (x = -32768; x <= 32767; x++) {
        const int32_t units = curvelib_throttle((int16_t)x);

        sum += (uint32_t)(units + 32768);
    }
    return (int)(sum & 1u);
}
"""


def table_of(points, spacing):
    """Request for the table of an invented machine: a dead zone, then a cubic blend."""
    shape = Shape([Deadband(0.03), CubicBlend(0.6)])
    tune = Tune(throttle=ChannelSetup(shape=shape), output=Output("signed", full=1000))
    return request(tune, "throttle", points, spacing)


def table_bytes(wanted):
    """Bytes of constants: 4 a value and a slope, 2 an edge where the edges are needed."""
    table = fixed_table(wanted.table, wanted.tune.output)
    edges = 0 if table.shift is not None else 2 * len(table.edges)
    return 8 * table.segments * (1 if table.one_span else 2) + edges


def instructions(wanted, folder):
    """Instructions of a lookup at -O2, the mean over all 65,536 inputs."""
    (folder / "table.c").write_text(render(wanted), encoding="utf-8")
    (folder / "main.c").write_text(MAIN, encoding="utf-8")
    # Two files, so that the lookup stays a function of its own.
    words = ["gcc", *STRICT, "-O2", "main.c", "table.c", "-o", "run"]
    subprocess.run(words, cwd=folder, check=True)
    words = ["valgrind", "--tool=callgrind", "--callgrind-out-file=counts", "./run"]
    words.insert(2, "--toggle-collect=curvelib_throttle")
    subprocess.run(words, cwd=folder, check=False, capture_output=True)
    counted = re.search(
        r"^(?:summary|totals): (\d+)", (folder / "counts").read_text(), re.MULTILINE
    )
    return int(counted[1]) / 65536


def measure():
    """Return instructions a lookup and bytes of table for each number of points and spacing."""
    found = {}
    for points, spacing in CASES:
        wanted = table_of(points, spacing)
        with tempfile.TemporaryDirectory() as folder:
            count = instructions(wanted, Path(folder))
        found[points, spacing] = (count, table_bytes(wanted))
    return found


if __name__ == "__main__":
    sys.stdout.write("points  spacing  instructions  bytes\n")
    for (points, spacing), (count, size) in measure().items():
        sys.stdout.write(f"{points:6d}  {spacing:7s}  {count:12.1f}  {size:5d}\n")
