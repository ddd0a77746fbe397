"""Stages keep their promises: odd, through 0, continuous, never falling, equal by value."""

import copy
import dataclasses
import math
import pickle

import mpmath
import numpy as np
import pytest
from core.reference import steepest
from core.strategies import NO_NUMBERS, NOT_IN_RANGE, positions, stages
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import integrate, optimize

from curvelib import CubicBlend, Deadband, Expo, Limit, Linear, Points, Shape, TwoZone

# One invented specimen of each stage, none with round numbers.
SPECIMENS = [
    Linear(),
    CubicBlend(0.63),
    Expo(2.7),
    Deadband(0.07),
    Limit(0.55),
    TwoZone(0.41, 0.17),
    Points([0.2, 0.45, 0.8], [0.05, 0.3, 0.6]),
]
each_stage = pytest.mark.parametrize("stage", SPECIMENS, ids=lambda stage: stage.kind)

SPACING = np.linspace(-1.0, 1.0, 2001)


def around(curve):
    """Dense positions, ascending, with the doubles next to every corner among them."""
    corners = [0.0, 1.0, *curve.knots]
    near = [np.nextafter(c, side) for c in corners for side in (-2.0, 2.0)]
    both = np.array([*corners, *near])
    return np.unique(np.clip(np.concatenate([SPACING, both, -both]), -1.0, 1.0))


def told_apart(curve):
    """Smallest difference of values that doubles can tell apart, with a little room."""
    return 4e-15 + 4e-16 * steepest(curve)


# --- known values ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stage", "x", "y"),
    [
        # computed by hand from the formulas of the design
        (Linear(), 0.3, 0.3),
        (CubicBlend(0.6), 0.5, 0.275),
        (CubicBlend(1.0), 0.5, 0.125),
        (CubicBlend(0.0), 0.7, 0.7),
        (Deadband(0.2), 0.2, 0.0),
        (Deadband(0.2), 0.6, 0.5),
        (Deadband(0.0), 0.6, 0.6),
        (Limit(0.6), 0.5, 0.3),
        (TwoZone(0.5, 0.25), 0.25, 0.125),
        (TwoZone(0.5, 0.25), 0.75, 0.5),  # q = 2
        (Expo(0.0), 0.3, 0.3),
        (Expo(math.log(4.0)), 0.5, 1.0 / 3.0),  # (2 - 1)/(4 - 1)
    ],
)
def test_values_worked_out_by_hand(stage, x, y):
    """Each formula gives the number it gives on paper, on both sides."""
    assert stage(x) == pytest.approx(y, rel=1e-15, abs=0)
    assert stage(-x) == pytest.approx(-y, rel=1e-15, abs=0)


@pytest.mark.parametrize("blend", [0.0, 0.1, 0.3, 0.6, 0.99, 1.0])
def test_slopes_of_the_cubic_blend(blend):
    """1 - e at the centre, 1 + 2e at the end, 1 at 1/sqrt 3 for every e (computed)."""
    slopes = CubicBlend(blend).slope(np.array([0.0, 1.0 / math.sqrt(3.0), 1.0]))
    np.testing.assert_allclose(slopes, [1.0 - blend, 1.0, 1.0 + 2.0 * blend], rtol=1e-15)


@pytest.mark.parametrize(("y", "x"), [(0.1, 0.23141144048485704), (0.5, 0.7109578141209842)])
def test_inverse_of_the_cubic_blend(y, x):
    """Inverse for e = 0.6 by the closed form with sinh (computed; agrees with brentq to 1e-16)."""
    assert CubicBlend(0.6).inverse(y) == pytest.approx(x, rel=4e-16, abs=0)


@pytest.mark.parametrize("gain", [1e-16, 1e-9, 1e-3, 0.5, 2.0, 8.0])
@pytest.mark.parametrize("x", [1e-12, 1e-4, 0.1, 0.5, 0.999])
def test_the_exponential_keeps_its_digits(gain, x):
    """At tiny gains and positions it agrees with 60 digits of mpmath (computed)."""
    with mpmath.workdps(60):
        exact = mpmath.expm1(mpmath.mpf(gain) * x) / mpmath.expm1(mpmath.mpf(gain))
    assert Expo(gain)(x) == pytest.approx(float(exact), rel=1e-15, abs=0)
    assert Expo(gain).inverse(float(exact)) == pytest.approx(x, rel=4e-15, abs=0)


def first_harmonic(curve, amplitude, corner=0.0):
    """Describing function of an odd curve: first harmonic over amplitude, by quadrature."""

    def wave(angle):
        return curve(amplitude * math.sin(angle)) * math.sin(angle)

    kink = math.asin(corner / amplitude)
    parts = [(0.0, kink), (kink, math.pi / 2)]
    return 4.0 / (math.pi * amplitude) * sum(integrate.quad(wave, *part)[0] for part in parts)


def test_first_harmonic_of_a_dead_zone():
    """1 - (2/pi)(asin q + q sqrt(1-q^2)), q = 0.1 -> 0.872888571570 before rescaling (computed)."""
    q = 0.1
    closed = 1.0 - (2.0 / math.pi) * (math.asin(q) + q * math.sqrt(1.0 - q * q))
    assert closed == pytest.approx(0.872888571570, abs=5e-13)
    # The stage stretches what remains to full, by 1/(1 - q).
    assert first_harmonic(Deadband(q), 1.0, q) * (1.0 - q) == pytest.approx(closed, abs=1e-9)


@pytest.mark.parametrize("amplitude", [0.2, 0.7, 1.0])
def test_first_harmonic_of_a_cubic_blend(amplitude):
    """(1 - e) + 0.75 e A^2 (computed)."""
    found = first_harmonic(CubicBlend(0.6), amplitude)
    assert found == pytest.approx(0.4 + 0.75 * 0.6 * amplitude**2, abs=1e-9)


# --- promises of every stage ----------------------------------------------------------------


@given(stages(), st.lists(positions(), min_size=1, max_size=20))
def test_stages_are_odd_and_stay_in_range(stage, xs):
    """f(-x) = -f(x) to the last bit, 0 gives 0, nothing leaves -1..1."""
    x = np.array(xs)
    np.testing.assert_array_equal(stage(-x), -stage(x))
    assert stage(0.0) == 0.0
    assert np.abs(stage(x)).max() <= 1.0


@given(stages())
def test_stages_never_fall(stage):
    """No value is below its neighbour's, but for the last bit."""
    assert np.diff(stage(around(stage))).min() >= -2.3e-16


@given(stages())
def test_stages_rise_no_faster_than_their_steepest_slope(stage):
    """Neighbours differ by no more than slope times distance: the curve has no jumps."""
    x = around(stage)
    assert (
        np.diff(stage(x)) <= steepest(stage) * np.diff(x) * (1 + 1e-9) + told_apart(stage)
    ).all()


@given(stages())
def test_full_stick_gives_full_except_under_a_limit(stage):
    """The end is exactly 1, or exactly the top of a `Limit`."""
    assert stage(1.0) == (stage.top if isinstance(stage, Limit) else 1.0)


@given(stages(), st.floats(1.0, 1e300))
def test_positions_beyond_full_saturate(stage, x):
    """Outside -1..1 the value is that at full stick, and the slope is 0."""
    assert stage(x) == stage(1.0)
    assert stage(-x) == -stage(1.0)
    assert stage.slope(np.nextafter(x, np.inf)) == 0.0


@given(stages(), positions())
def test_slopes_agree_with_differences(stage, x):
    """Away from corners the difference quotient lies among the slopes around it."""
    h = 1e-6
    if any(abs(abs(x) - corner) < 2 * h for corner in (0.0, 1.0, *stage.knots)):
        return
    quotient = (stage(x + h) - stage(x - h)) / (2 * h)
    around_x = stage.slope(np.linspace(x - h, x + h, 5))
    slack = 1e-6 * max(1.0, steepest(stage))
    assert around_x.min() - slack <= quotient <= around_x.max() + slack
    assert stage.slope(-x) == stage.slope(x)


@given(stages(), positions())
def test_slopes_are_never_negative(stage, x):
    """More stick is never less speed."""
    assert stage.slope(x) >= 0.0


def test_the_slope_at_a_corner_is_the_one_away_from_zero():
    """At the edge of a dead zone the slope is that outside, on both sides."""
    stage = Deadband(0.2)
    assert stage.slope(np.array([-0.2, 0.2])).tolist() == [1.25, 1.25]
    assert stage.slope(0.19) == 0.0
    assert Deadband(0.0).slope(0.0) == 1.0


@pytest.mark.parametrize(
    ("stage", "begin", "slope"),
    [
        (Linear(), 0.0, 1.0),
        (CubicBlend(0.6), 0.0, 0.4),
        (CubicBlend(1.0), 0.0, 0.0),
        (Expo(2.0), 0.0, 2.0 / (math.exp(2.0) - 1.0)),
        (Deadband(0.2), 0.2, 1.25),
        (Limit(0.6), 0.0, 0.6),
        (TwoZone(0.5, 0.25), 0.0, 0.5),
        (Points([0.5], [0.25]), 0.0, 0.5),
    ],
)
def test_where_motion_begins_and_how_steeply(stage, begin, slope):
    """The slope just beyond the dead zone is the honest slope at the centre (by hand)."""
    assert stage.starts_at == begin
    assert stage.first_slope == pytest.approx(slope, rel=1e-15)


@given(stages(), positions())
def test_the_inverse_undoes_a_stage(stage, share):
    """shape(inverse(y)) is y for every y in reach, and the end is always in reach."""
    y = share * stage(1.0)
    assert stage(stage.inverse(y)) == pytest.approx(y, abs=told_apart(stage))
    assert abs(stage.inverse(stage(1.0))) <= 1.0
    assert stage.inverse(-y) == -stage.inverse(y)


@given(stages())
def test_the_inverse_of_zero_is_zero(stage):
    """Inside a dead zone the smallest position that gives 0 is 0 itself."""
    assert stage.inverse(0.0) == 0.0


@pytest.mark.parametrize("knee", [(0.5, 5e-324), (5e-324, 5e-324), (0.5, 1e-300), (1e-300, 1e-300)])
def test_the_smallest_knees_do_not_overflow(knee):
    """A knee next to nothing, as far as doubles go, still gives finite numbers (no warning)."""
    stage = TwoZone(*knee)
    x = np.array([0.0, 1e-300, 0.25, 0.5, 0.75, 1.0])
    np.testing.assert_allclose(stage(stage.inverse(stage(x))), stage(x), rtol=1e-15)
    assert np.isfinite(stage.slope(x)).all()


@given(st.floats(0.01, 1.0), st.floats(0.0, 1.0))
def test_inverse_against_brentq(blend, y):
    """The closed inverse of the cubic agrees with scipy's root finder (computed)."""
    stage = CubicBlend(blend)
    root = optimize.brentq(lambda x: (1 - blend) * x + blend * x**3 - y, 0.0, 1.0, xtol=1e-15)
    slope = max(stage.slope(root), 1e-3)
    assert stage.inverse(y) == pytest.approx(root, abs=1e-14 / slope + 1e-9 * (slope < 0.01))


@pytest.mark.parametrize("y", [1.0 + 1e-15, 2.0, -1.5])
def test_out_of_reach_is_refused(y):
    """A value that no stick position gives is named with its index and the reach."""
    with pytest.raises(ValueError, match=r"out of reach; this curve gives from -1 to 1"):
        CubicBlend(0.6).inverse(y)
    with pytest.raises(ValueError, match=r"0\.7 at index 1 is out of reach"):
        Limit(0.6).inverse(np.array([0.6, 0.7, 0.8]))


# --- what goes in and what comes out --------------------------------------------------------


@each_stage
@pytest.mark.parametrize("method", ["__call__", "slope", "inverse"])
@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 0), (2, 3), (2, 1, 2)])
def test_shapes_are_kept_and_the_input_is_not_touched(stage, method, shape):
    """Array in, new float64 array of the same shape out, 0-d and empty ones too."""
    given_values = np.full(shape, 0.3)
    before = given_values.copy()
    result = getattr(stage, method)(given_values)
    assert isinstance(result, np.ndarray)
    assert (result.shape, result.dtype) == (shape, np.float64)
    assert not np.shares_memory(result, given_values)
    np.testing.assert_array_equal(given_values, before)
    np.testing.assert_array_equal(result, np.full(shape, getattr(stage, method)(0.3)))


@each_stage
@pytest.mark.parametrize("method", ["__call__", "slope", "inverse"])
@pytest.mark.parametrize("number", [0, 0.3, np.float64(0.3), np.float32(0.25), np.int32(0)])
def test_numbers_give_plain_floats(stage, method, number):
    """A number in, Python's or numpy's, a Python float out."""
    assert type(getattr(stage, method)(number)) is float


@each_stage
def test_lists_and_integers_are_read_as_arrays(stage):
    """A list gives an array, and whole numbers count as floats."""
    np.testing.assert_array_equal(stage([-1, 0, 1]), stage(np.array([-1.0, 0.0, 1.0])))
    assert stage([-1, 0, 1]).dtype == np.float64


@each_stage
def test_a_read_only_view_is_enough(stage):
    """An array that must not be written, or is strided, is shaped like any other."""
    values = np.linspace(-1.0, 1.0, 11)
    values.flags.writeable = False
    np.testing.assert_array_equal(stage(values[::-2]), stage(values)[::-2])


@each_stage
@pytest.mark.parametrize("method", ["__call__", "slope", "inverse"])
@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_nan_and_infinity_are_refused(stage, method, bad):
    """The message names the first bad index, in every shape."""
    call = getattr(stage, method)
    with pytest.raises(ValueError, match="must be a finite number"):
        call(bad)
    with pytest.raises(ValueError, match="at index 2;"):
        call([0.0, 0.1, bad, bad])
    with pytest.raises(ValueError, match="at index 1, 0;"):
        call(np.array([[0.0, 0.1], [bad, 0.2]]))


@each_stage
def test_text_is_no_position(stage):
    """A position given as text is refused, not read."""
    with pytest.raises(ValueError, match="must be a number or an array of numbers"):
        stage("0.5")


def test_no_value_is_a_negative_zero():
    """-0.0 would print a sign where there is no motion."""
    for stage in SPECIMENS:
        assert not np.signbit(stage(-0.0))
        assert not np.signbit(stage.inverse(-0.0))
    assert not np.signbit(Deadband(0.2)(-0.1))


# --- equal by value, never changed ----------------------------------------------------------


@given(stages())
def test_stages_are_equal_by_value(stage):
    """A copy made from the same numbers is equal, and has the same hash."""
    fields = {f.name: getattr(stage, f.name) for f in dataclasses.fields(stage)}
    twin = type(stage)(**fields)
    assert twin == stage
    assert hash(twin) == hash(stage)
    stage(0.5)
    assert copy.deepcopy(stage) == stage
    assert pickle.loads(pickle.dumps(stage)) == stage  # noqa: S301  our own bytes


def test_different_stages_are_not_equal():
    """Neither another parameter nor another kind with the same number is equal."""
    assert CubicBlend(0.5) != CubicBlend(0.6)
    assert CubicBlend(0.5) != Expo(0.5) != Limit(0.5) != Deadband(0.5)
    assert len({CubicBlend(1), CubicBlend(1.0), Limit(1.0)}) == 2


@each_stage
def test_stages_cannot_be_changed(stage):
    """Setting a field, old or new, is refused."""
    for field in dataclasses.fields(stage):
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(stage, field.name, 0.3)
    with pytest.raises(dataclasses.FrozenInstanceError):
        stage.other = 1.0


def test_lists_given_to_a_stage_stay_the_callers_own():
    """Changing the list afterwards does not change the stage."""
    x, y = [0.5], [0.25]
    stage = Points(x, y)
    x[0] = y[0] = 0.9
    assert stage(0.5) == 0.25


# --- refusals -------------------------------------------------------------------------------


@pytest.mark.parametrize("bad", [*NO_NUMBERS, *NOT_IN_RANGE], ids=lambda v: f"{v!r:.12}")
@pytest.mark.parametrize("cls", [CubicBlend, Expo, Deadband, Limit])
def test_absurd_parameters_are_refused(cls, bad):
    """Each stage with one parameter refuses what is no number or out of range, by name."""
    (field,) = dataclasses.fields(cls)
    with pytest.raises(ValueError, match=f"{cls.__name__}: {field.name} = .*; give a number"):
        cls(bad)


@pytest.mark.parametrize("bad", [*NO_NUMBERS, *NOT_IN_RANGE], ids=lambda v: f"{v!r:.12}")
def test_absurd_knees_are_refused(bad):
    """Both coordinates of a knee are checked."""
    with pytest.raises(ValueError, match="TwoZone: knee_x"):
        TwoZone(bad, 0.5)
    with pytest.raises(ValueError, match="TwoZone: knee_y"):
        TwoZone(0.5, bad)


@pytest.mark.parametrize(
    ("cls", "ends"),
    [(CubicBlend, (0, 1)), (Expo, (0, 8)), (Deadband, (0, 0.5)), (Limit, (0.05, 1))],
)
def test_the_ranges_are_those_of_the_design(cls, ends):
    """Both ends of each range are allowed, the next double outside is not."""
    for end, outside in zip(ends, (-math.inf, math.inf), strict=True):
        assert cls(end)(0.0) == 0.0
        with pytest.raises(ValueError, match="out of range"):
            cls(math.nextafter(end, outside))


@pytest.mark.parametrize("knee", [(0.0, 0.5), (1.0, 0.5), (0.5, 0.0), (0.5, 1.0)])
def test_a_knee_on_the_edge_is_refused(knee):
    """Both coordinates lie above 0 and below 1."""
    with pytest.raises(ValueError, match="above 0 and below 1"):
        TwoZone(*knee)


def test_a_knee_too_high_is_refused_and_the_highest_is_named():
    """Above 2 kx/(1 + kx) the parabola would fall before full stick."""
    highest = 2 * 0.4 / 1.4
    assert TwoZone(0.4, highest).slope(1.0) == pytest.approx(0.0, abs=1e-15)
    with pytest.raises(ValueError, match=r"too high for knee_x = 0\.4.*at most 0\.5714"):
        TwoZone(0.4, highest + 1e-9)


# --- proof by interval arithmetic -----------------------------------------------------------


def _slope_enclosure(stage, x):
    """Slope of a stage over an interval, in mpmath's interval arithmetic, outside its corners."""
    iv = mpmath.iv
    if isinstance(stage, CubicBlend):
        e = iv.mpf(stage.blend)
        return (1 - e) + 3 * e * x * x
    if isinstance(stage, Expo):
        gain = iv.mpf(stage.gain)
        return gain * iv.exp(gain * x) / (iv.exp(gain) - 1) if stage.gain else iv.mpf(1)
    if isinstance(stage, Deadband):
        return 1 / (1 - iv.mpf(stage.width)) * (0 if x.b <= stage.width else 1)
    if isinstance(stage, TwoZone):
        m, kx = iv.mpf(stage.knee_y) / iv.mpf(stage.knee_x), iv.mpf(stage.knee_x)
        share = (x - kx) / (1 - kx) if x.a >= stage.knee_x else iv.mpf(0)
        return m * (1 - share) + share * (2 - m - m * kx) / (1 - kx)
    return iv.mpf(stage.top if isinstance(stage, Limit) else 1)


@pytest.mark.parametrize(
    "stage",
    [
        Linear(),
        *(CubicBlend(e) for e in (0.0, 0.3, 0.6, 1.0)),
        *(Expo(g) for g in (0.0, 0.5, 3.0, 8.0)),
        *(Deadband(w) for w in (0.0, 0.25, 0.5)),
        *(Limit(t) for t in (0.05, 1.0)),
        *(TwoZone(*knee) for knee in ((0.5, 0.25), (0.25, 0.125), (0.25, 0.375))),
    ],
    ids=repr,
)
def test_interval_arithmetic_proves_that_slopes_are_not_negative(stage):
    """On 64 intervals that cover 0..1 the slope is enclosed above 0, and ours lies inside."""
    for k in range(64):
        enclosure = _slope_enclosure(stage, mpmath.iv.mpf([k / 64, (k + 1) / 64]))
        assert enclosure.a >= 0
        ours = stage.slope((k + 0.5) / 64)
        assert enclosure.a - 1e-13 <= ours <= enclosure.b + 1e-13


@pytest.mark.parametrize("blend", [0.3, 0.6, 1.0])
def test_interval_arithmetic_bounds_the_slope_of_the_cubic_blend(blend):
    """The slope stays in [1 - e, 1 + 2e] (mpmath interval arithmetic, computed)."""
    enclosure = _slope_enclosure(CubicBlend(blend), mpmath.iv.mpf([0, 1]))
    slopes = CubicBlend(blend).slope(np.linspace(0.0, 1.0, 1001))
    assert 1 - blend - 1e-15 <= enclosure.a <= slopes.min() + 1e-15
    assert slopes.max() - 1e-15 <= enclosure.b <= 1 + 2 * blend + 1e-15


# --- stages join to shapes ------------------------------------------------------------------


@given(stages(), stages(), positions())
@example(Deadband(0.1), CubicBlend(0.6), 0.5)
def test_stages_join_with_arrows(first, second, x):
    """The arrows in a >> b make the shape that runs a, then b."""
    joined = first >> second
    assert joined == Shape([first, second])
    assert joined(x) == second(first(x))


def test_a_stage_joins_to_curves_only():
    """A number on either side of the arrows is refused."""
    with pytest.raises(TypeError):
        Linear() >> 0.5
    with pytest.raises(TypeError):
        0.5 >> Linear()
