"""What trials cost: linear in their number, and far less side by side than one by one.

Run it with ``python tests/benchmarks/bench_trial.py``; it also prints the time of
10,000 trials of 20 s at 50 Hz in which the operator never lets go.
"""

import sys
import time
from pathlib import Path

from curvelib import load_tune
from curvelib.practice.course import Course
from curvelib.practice.plan import Plan
from curvelib.practice.rig import Rig
from curvelib.practice.trial import BLOCK, run

MACHINE = Path(__file__).resolve().parents[2] / "workbooks" / "machines" / "vineyard_sweeper.toml"


def plan_for(place: str, duration_s: float) -> Plan:
    """Return a plan in which nothing ends early, so that every frame is paid for."""
    course = Course(place=place)
    return Plan(course=course, duration_s=duration_s).with_value("close_enough_m", 0.0)


def seconds(rig: Rig, plan: Plan, trials: int, times: int = 3) -> float:
    """Return the processor time of a run: the least of a few, which others disturb least."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        run(rig, plan, trials)
        taken.append(time.process_time() - start)
    return min(taken)


def measure(duration_s: float = 4.0) -> dict[str, float]:
    """Return seconds for one trial, one block, and four blocks."""
    rig = Rig.from_tune(load_tune(MACHINE))
    plan = plan_for("bay", duration_s)
    run(rig, plan, 1)  # tables are made once, not for every run
    return {
        "one": seconds(rig, plan, 1),
        "block": seconds(rig, plan, BLOCK),
        "four blocks": seconds(rig, plan, 4 * BLOCK),
    }


def main() -> None:
    """Print a table."""
    taken = measure()
    print(f"trials of 4 s in a bay, a block is {BLOCK} of them, processor time")
    for name, spent in taken.items():
        print(f"{name:12s}{1e3 * spent:9.1f} ms")
    print(f"four blocks over one block: {taken['four blocks'] / taken['block']:.2f}")
    print(f"one by one over side by side: {BLOCK * taken['one'] / taken['block']:.0f}")
    rig = Rig.from_tune(load_tune(MACHINE))
    for place in ("line", "bay"):
        start, spent = time.perf_counter(), time.process_time()
        run(rig, plan_for(place, 20.0), 10_000)
        wall, own = time.perf_counter() - start, time.process_time() - spent
        print(
            f"10,000 trials of 20 s, {place}: {wall:.2f} s by the clock, {own:.2f} s of processor"
        )


if __name__ == "__main__":
    sys.exit(main())
