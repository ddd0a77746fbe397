"""What fitted breakpoints cost: 129 points beside 33 points of the same shape.

python tests/benchmarks/bench_fitted.py
"""

from __future__ import annotations

import time

from curvelib import CubicBlend, Deadband, Expo, Points, Shape, Table, TwoZone

SHAPES = {
    "cubic blend": Shape([CubicBlend(0.6)]),
    "expo": Shape([Expo(8.0)]),
    "three stages": Deadband(0.05) >> Expo(4.0) >> TwoZone(0.4, 0.2),
    "points": Shape([Points((0.2, 0.5, 0.7), (0.05, 0.3, 0.35))]),
}


def seconds(shape: Shape, points: int) -> float:
    """Processor time of one fitted table, the least of three."""
    taken = []
    for _ in range(3):
        start = time.process_time()
        Table.from_shape(shape, points, "fitted")
        taken.append(time.process_time() - start)
    return min(taken)


def measure() -> dict[str, tuple[float, float]]:
    """Seconds for 129 and for 33 points, by shape."""
    return {name: (seconds(shape, 129), seconds(shape, 33)) for name, shape in SHAPES.items()}


if __name__ == "__main__":
    for name, (many, few) in measure().items():
        print(f"{name:14} 129 points {1e3 * many:6.1f} ms, {many / few:4.1f} times 33 points")
