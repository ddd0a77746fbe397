"""Motion of the body against published cases, an SE(3) exponential and an integrator."""

import modern_robotics as mr
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from curvelib.machine.motion import (
    BodyMotion,
    body_motion,
    clearance_radius,
    drive,
    least_radius,
    side_speeds,
)

speeds = st.floats(-10.0, 10.0)
tracks = st.floats(0.1, 5.0)
shares = st.floats(0.05, 1.0)

# Exercise solution of an introductory mobile-robotics course (read, and computed):
# track 0.5 m, start (1.5, 2.0, pi/2), rows (left, right, seconds), then the pose after each.
COURSE = [(0.3, 0.3, 3.0), (0.1, -0.1, 1.0), (0.2, 0.0, 2.0)]
COURSE_POSES = [
    (1.5, 2.9, 1.5707963267948966),
    (1.5, 2.9, 1.1707963267948966),
    (1.6396758098815527, 3.035655185914644, 0.3707963267948966),
]


def test_the_published_equations_hold():
    """LaValle 2006, eq. 13.49 (read): v = (vR + vL)/2, yaw = (vR - vL)/track."""
    motion = body_motion(0.4, 1.0, 0.75)
    assert motion == BodyMotion(speed=0.7, yaw_rate=pytest.approx(0.8), radius=pytest.approx(0.875))


@pytest.mark.parametrize(
    ("left", "right", "radius"),
    [(1.0, 1.0, np.inf), (-1.0, 1.0, 0.0), (0.0, 1.0, 0.4), (1.0, 0.0, -0.4), (0.0, 0.0, np.inf)],
)
def test_the_special_cases_hold(left, right, radius):
    """Equal, opposite, one still; lecture notes on differential drive (read)."""
    assert body_motion(left, right, 0.8).radius == pytest.approx(radius)


def test_stick_right_turns_clockwise_and_in_reverse_too():
    """A faster left side gives a negative yaw rate whichever way the body moves (REP 103)."""
    forward, back = body_motion(1.0, 0.5, 0.8), body_motion(-0.5, -1.0, 0.8)
    assert forward.yaw_rate == back.yaw_rate < 0.0
    assert forward.radius < 0.0 < back.radius


def test_skid_widens_the_track():
    """Share 0.695 on a 0.4 m track acts as 0.5755 m; Mandow et al. 2007 (second-hand, computed)."""
    assert body_motion(0.0, 1.0, 0.4, 0.695).yaw_rate == pytest.approx(1.0 / 0.5755, rel=1e-4)
    assert body_motion(0.0, 1.0, 0.4, 0.761).yaw_rate == pytest.approx(1.0 / 0.5256, rel=1e-4)


@given(speeds, speeds, tracks, shares)
def test_side_speeds_undo_body_motion(left, right, track, share):
    """Sides to body and back gives the sides."""
    motion = body_motion(left, right, track, share)
    back = side_speeds(motion.speed, motion.yaw_rate, track, share)
    assert back == (pytest.approx(left, abs=1e-12), pytest.approx(right, abs=1e-12))
    ideal = body_motion(left, right, track)
    assert side_speeds(ideal.speed, ideal.yaw_rate, track) == side_speeds(
        ideal.speed, ideal.yaw_rate, track, 1.0
    )


def test_numbers_give_floats_and_arrays_broadcast():
    """A column of lefts and a row of rights make a table, equal to the single cases."""
    assert {type(value) for value in body_motion(1, 2, 3)} == {float}
    assert {type(value) for value in side_speeds(1, 2, 3)} == {float}
    left, right = np.array([[0.1], [0.2]]), np.array([0.3, 0.4, 0.5])
    table = body_motion(left, right, 0.5)
    assert table.radius.shape == (2, 3)
    assert table.radius[1, 2] == body_motion(0.2, 0.5, 0.5).radius


@pytest.mark.parametrize("speed", [0.0, 5e-324, 1e-300, 1.0, 9e5])
def test_the_smallest_difference_of_the_sides_makes_no_trouble(speed):
    """Neighbouring floats as sides give a huge radius, or infinity where the yaw is lost."""
    for track in (1e-6, 1.0, 1e6):
        motion = body_motion(speed, np.nextafter(speed, 2e6), track, 1e-3)
        assert motion.radius > 1e5 * track or motion.yaw_rate > 0.0 == speed


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_bad_speeds_name_their_index(bad):
    """NaN and infinity are refused with their place."""
    with pytest.raises(ValueError, match=r"right speed is .* at index 2"):
        body_motion(0.0, [0.0, 1.0, bad], 0.8)


@pytest.mark.parametrize(("track", "share"), [(0.0, 1.0), (-1.0, 1.0), (0.8, 0.0), (0.8, 3.0)])
def test_track_and_share_are_above_zero(track, share):
    """A track or a share of 0 is refused."""
    with pytest.raises(ValueError, match=r"track is|turning share is"):
        body_motion(1.0, 0.5, track, share)


def test_the_published_course_is_driven():
    """Each pose of the published worked case, to the last digits (read)."""
    left, right, seconds = np.array(COURSE).T
    poses = drive(left, right, seconds, 0.5, start=(1.5, 2.0, np.pi / 2.0))
    np.testing.assert_allclose(poses[1:], COURSE_POSES, rtol=0, atol=5e-16)
    np.testing.assert_array_equal(poses[0], (1.5, 2.0, np.pi / 2.0))


def test_half_the_track_is_not_the_track():
    """Several texts use half the track; a published example with half track 1 comes out right.

    Siegwart & Nourbakhsh, Introduction to Autonomous Mobile Robots, MIT 2004, sec. 3.2: wheel
    radius 1, half track 1, rates 4 and 2, heading pi/2 gives the rate (0, 3, 1) (memory,
    computed).
    """
    motion = body_motion(2.0, 4.0, 2.0)
    moved = drive(2.0, 4.0, 1e-6, 2.0, start=(0.0, 0.0, np.pi / 2.0))
    assert motion == (3.0, 1.0, 3.0)
    np.testing.assert_allclose((moved[1] - moved[0]) / 1e-6, (0.0, 3.0, 1.0), atol=2e-6)


def se3(left, right, dt, track, exponential):
    """Pose matrix of one step from a matrix exponential."""
    twist = np.array([0.0, 0.0, (right - left) / track, (left + right) / 2.0, 0.0, 0.0])
    return exponential(mr.VecTose3(twist * dt))


@pytest.mark.parametrize("exponential", [mr.MatrixExp6, expm], ids=["modern_robotics", "scipy"])
@given(st.lists(st.tuples(speeds, speeds, st.floats(0.0, 2.0)), min_size=1, max_size=6), tracks)
def test_the_path_is_that_of_the_se3_exponential(exponential, steps, track):
    """Chained exponentials of body twists, Lynch & Park's library and scipy's, agree to 1e-9."""
    left, right, dt = np.array(steps).T
    # The library takes turns below a millionth of a radian as none.
    turns = np.abs((right - left) / track * dt)
    assume(exponential is expm or ((turns == 0.0) | (turns > 1e-5)).all())
    poses = drive(left, right, dt, track)
    matrix = np.eye(4)
    for pose, step in zip(poses[1:], steps, strict=True):
        matrix = matrix @ se3(*step, track, exponential)
        np.testing.assert_allclose(pose[:2], matrix[:2, 3], rtol=0, atol=1e-8)
        np.testing.assert_allclose(
            (np.cos(pose[2]), np.sin(pose[2])), matrix[:2, 0], rtol=0, atol=1e-8
        )


@given(speeds, speeds, tracks, shares)
def test_the_path_is_that_of_an_integrator(left, right, track, share):
    """An independent integration of x' = v cos h, y' = v sin h, h' = yaw agrees to 1e-9."""
    speed, yaw = (left + right) / 2.0, share * (right - left) / track
    yaw = np.clip(yaw, -20.0, 20.0)
    left, right = speed - yaw * track / share / 2.0, speed + yaw * track / share / 2.0
    solved = solve_ivp(
        lambda t, pose: (speed * np.cos(pose[2]), speed * np.sin(pose[2]), yaw),
        (0.0, 0.5),
        (0.3, -0.2, 0.7),
        method="DOP853",
        rtol=1e-12,
        atol=1e-12,
    )
    poses = drive(left, right, 0.5, track, share, start=(0.3, -0.2, 0.7))
    np.testing.assert_allclose(poses[-1], solved.y[:, -1], rtol=0, atol=1e-9)


@given(speeds, speeds, tracks, st.integers(1, 50))
def test_many_short_steps_are_one_long_one(left, right, track, count):
    """Exact arcs do not depend on the step, where Euler's path does."""
    one = drive(left, right, 1.0, track)[-1]
    many = drive(np.full(count, left), right, 1.0 / count, track)[-1]
    np.testing.assert_allclose(many, one, rtol=0, atol=1e-11)


@given(st.floats(-1e-5, 1e-5))
def test_nearly_straight_keeps_its_digits(turn):
    """As the turn goes to 0, x = v sin(p)/p and y = v (1 - cos p)/p keep full precision."""
    poses = drive(1.0 - turn / 2.0, 1.0 + turn / 2.0, 1.0, 1.0)
    p = (1.0 + turn / 2.0) - (1.0 - turn / 2.0)
    exact = (1.0 - p**2 / 6.0, p / 2.0 - p**3 / 24.0, p)
    np.testing.assert_allclose(poses[-1], exact, rtol=4e-16, atol=1e-320)


def test_full_turns_are_counted():
    """The heading is not wrapped: ten seconds of one turn a second is twenty pi."""
    poses = drive(np.full(100, -np.pi / 2), np.pi / 2, 0.1, 0.5)
    assert poses[-1] == pytest.approx((0.0, 0.0, 20.0 * np.pi), abs=1e-12)


@pytest.mark.parametrize(
    ("left", "dt", "count"),
    [(1.0, 0.1, 1), (1.0, [0.1, 0.2], 2), ([1.0] * 3, 0.1, 3), ([], 0.1, 0)],
)
def test_there_is_one_pose_more_than_steps(left, dt, count):
    """Numbers and arrays mix; no step at all leaves the start."""
    assert drive(left, 0.5, dt, 0.8).shape == (count + 1, 3)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"left": [[0.1]]}, "one value per step"),
        ({"dt": [0.1, 0.1, 0.1]}, "one per step"),
        ({"dt": -0.1}, "dt is -0.1 s"),
        ({"start": (0.0, 0.0)}, "x, y and heading"),
        ({"start": (0.0, np.nan, 0.0)}, "start pose is nan at index 1"),
    ],
)
def test_drive_says_what_is_wrong(change, words):
    """Every fault of the input has its message."""
    arguments = {"left": [0.1, 0.2], "right": [0.1, 0.2], "dt": 0.1, "track": 0.5} | change
    with pytest.raises(ValueError, match=words):
        drive(**arguments)


def test_inputs_stay_as_they_were():
    """No array given is changed."""
    left, start = np.array([0.1, 0.2]), np.array([1.0, 2.0, 3.0])
    drive(left, 0.3, 0.1, 0.5, start=start)
    np.testing.assert_array_equal(left, [0.1, 0.2])
    np.testing.assert_array_equal(start, [1.0, 2.0, 3.0])


def test_a_corner_sweeps_its_distance_from_the_turning_centre():
    """3-4-5: radius 1.5 and half width 1.5, reach 4, swept 5; either sign of radius and reach."""
    assert clearance_radius(1.5, 1.5, 4.0) == 5.0
    assert clearance_radius(-1.5, 1.5, -4.0) == 5.0
    assert type(clearance_radius(1, 1, 1)) is float


def test_a_straight_line_sweeps_an_infinite_circle():
    """The radius of straight driving goes through."""
    np.testing.assert_array_equal(
        clearance_radius([np.inf, -np.inf, 0.0], 0.5, 0.0), [np.inf, np.inf, 0.5]
    )


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((np.nan, 0.5, 0.5), "turning radius is nan"),
        (([0.0, np.nan], 0.5, 0.5), "at index 1"),
        (("1", 0.5, 0.5), "turning radius must be a number"),
        ((1.0, -0.5, 0.5), "half width is -0.5 m"),
        ((1.0, 0.5, np.inf), "reach is inf"),
    ],
)
def test_a_corner_needs_real_lengths(arguments, words):
    """NaN, negative widths and an infinite reach are refused."""
    with pytest.raises(ValueError, match=words):
        clearance_radius(*arguments)


@given(st.floats(0.0, 3.0), st.floats(0.1, 5.0), tracks, shares)
def test_the_least_radius_runs_the_outer_side_at_full(speed, more, track, share):
    """At the least radius one side runs at top speed, and the body at the speed asked."""
    top = speed + more
    radius = least_radius(speed, top, track, share)
    yaw = 2.0 * share * (top - speed) / track
    assert side_speeds(speed, yaw, track, share).right == pytest.approx(top)
    assert radius == pytest.approx(
        body_motion(2.0 * speed - top, top, track, share).radius, abs=1e-12
    )


def test_the_least_radius_at_both_ends():
    """On the spot standing, straight on at full speed, the same in reverse."""
    np.testing.assert_allclose(
        least_radius([0.0, 1.0, -1.0, 2.0], 2.0, 0.8), [0.0, 0.4, 0.4, np.inf]
    )


def test_no_radius_above_the_top_speed():
    """A speed that cannot be driven is refused."""
    with pytest.raises(
        ValueError, match=r"above the top speed; give at most the top speed, 1.5 m/s"
    ):
        least_radius(2.0, 1.5, 0.8)
