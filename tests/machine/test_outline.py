"""The circles between which the whole machine turns."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelib.machine.motion import clearance_radius
from curvelib.machine.outline import swept_circle

lengths = st.floats(0.0, 3.0)


def outline(width, ahead, behind):
    """Points round a rectangle with the turning centre's line at x = 0."""
    along = np.linspace(-behind, ahead, 401)
    across = np.linspace(-width / 2.0, width / 2.0, 401)
    sides = [np.stack([along, np.full(401, side * width / 2.0)]) for side in (-1, 1)]
    ends = [np.stack([np.full(401, end), across]) for end in (-behind, ahead)]
    return np.concatenate(sides + ends, axis=1)


@given(
    st.floats(-4.0, 4.0),
    st.floats(0.2, 2.0),
    st.floats(0.2, 2.0),
    lengths,
    lengths,
    st.floats(-1.0, 1.0),
)
def test_the_circles_are_those_of_every_point_of_the_outline(
    radius, width, wheelbase, front, rear, offset
):
    """Farthest and, seen from outside, nearest point of a drawn rectangle agree."""
    swept = swept_circle(
        radius,
        width=width,
        wheelbase=wheelbase,
        front_overhang=front,
        rear_overhang=rear,
        centre_offset=offset * wheelbase / 2.0,
    )
    ahead = wheelbase / 2.0 - offset * wheelbase / 2.0 + front
    behind = wheelbase / 2.0 + offset * wheelbase / 2.0 + rear
    x, y = outline(width, ahead, behind)
    distance = np.hypot(x, y - radius)
    assert swept.outer == pytest.approx(distance.max(), rel=1e-9)
    if abs(radius) > width / 2.0:
        assert swept.inner == pytest.approx(distance.min(), rel=1e-2, abs=1e-9)
    else:
        assert swept.inner == 0.0


def test_the_larger_of_front_and_rear_counts():
    """A long front sweeps wider than the tail; each is the circle of its own corner."""
    swept = swept_circle(1.0, width=0.8, wheelbase=1.0, front_overhang=0.6, rear_overhang=0.1)
    assert swept.front == clearance_radius(1.0, 0.4, 1.1)
    assert swept.rear == clearance_radius(1.0, 0.4, 0.6)
    assert swept.outer == swept.front > swept.rear


def test_driven_at_the_front_the_tail_swings():
    """With the turning centre on the front axle the rear corner sweeps the larger circle."""
    swept = swept_circle(0.0, width=0.6, wheelbase=0.8, centre_offset=0.4)
    assert swept.front == pytest.approx(0.3)
    assert swept.outer == swept.rear == pytest.approx(np.hypot(0.3, 0.8))


def test_a_centre_beyond_an_end_leaves_that_end_nearest():
    """A turning centre ahead of the whole body: the front edge is nearest, 3-4-5."""
    swept = swept_circle(3.4, width=0.8, wheelbase=1.0, centre_offset=4.5)
    assert swept.inner == pytest.approx(5.0)


def test_straight_on_and_arrays_go_through():
    """An infinite radius sweeps an infinite circle; arrays keep their shape."""
    swept = swept_circle(np.array([np.inf, 1.0, -1.0]), width=0.8, wheelbase=1.0)
    assert swept.outer[0] == swept.inner[0] == np.inf
    assert swept.outer[1] == swept.outer[2]
    assert type(swept_circle(1.0, width=0.8, wheelbase=1.0).outer) is float


def test_lengths_are_checked():
    """A negative overhang is refused by name."""
    with pytest.raises(ValueError, match=r"rear overhang is -0.1 m"):
        swept_circle(1.0, width=0.8, wheelbase=1.0, rear_overhang=-0.1)
