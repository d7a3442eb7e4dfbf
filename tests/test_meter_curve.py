"""Calibration points, the figures of a calibration, and K over frequency. All meters here are invented."""

import math
import pickle
import subprocess
import sys
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from optional import optional
from registries import ONE_REGISTRY, OTHER_REGISTRY
from scipy.interpolate import PchipInterpolator

from fuelunits.errors import DimensionError, FuelUnitsError, OutOfRange, QuantityError
from fuelunits.meters.curve import CalibrationPoint, MeterCurve, MonotoneCurve
from fuelunits.meters.k_factor import KFactor
from fuelunits.meters.viscosity_curve import roshko, strouhal

pd = optional("pandas")
pl = optional("polars")
pa = optional("pyarrow")

FEW = settings(max_examples=50, deadline=None)

HZ = [25.0, 50.0, 100.0, 200.0, 400.0, 800.0]
K = [7420.0, 7560.0, 7625.0, 7610.0, 7600.0, 7598.0]


def meter(hz=HZ, k=K, uncertainty=0.0005):
    return MeterCurve([CalibrationPoint(f, k_here, uncertainty) for f, k_here in zip(hz, k, strict=True)])


@st.composite
def points(draw, steepest=0.3, nearest=1.01):
    """Frequencies spaced by ratio, and K whose slope d ln K / d ln f between them stays below `steepest`."""
    hz, k = [draw(st.floats(1.0, 100.0))], [draw(st.floats(100.0, 50_000.0))]
    for _ in range(draw(st.integers(1, 7))):
        ratio = draw(st.floats(nearest, 3.0))
        hz.append(hz[-1] * ratio)
        k.append(k[-1] * (1.0 + draw(st.floats(-steepest, steepest)) * math.log(ratio)))
    return np.array(hz), np.array(k)


share = st.floats(0.0, 1.0)


def between(low, high, part):
    return min(max(low * (high / low) ** part, low), high)


# --- the figures of a calibration ---------------------------------------------------------------


def test_figures_by_hand():
    # 99 and 101: the mean is 100 and each lies 1 % from it
    curve = meter([10.0, 20.0, 40.0], [99.0, 100.9, 101.0])
    assert (curve.mean_k_pulses_per_l, curve.linearity) == (100.0, 0.01)


@FEW
@given(points(nearest=1.11))
def test_no_point_lies_further_from_the_mean_k_than_the_linearity(calibrated):
    curve = meter(*calibrated)
    furthest = max(abs(point.k_pulses_per_l / curve.mean_k_pulses_per_l - 1.0) for point in curve.points)
    assert furthest == pytest.approx(curve.linearity, rel=1e-9, abs=1e-12)


# --- dimensionless numbers ----------------------------------------------------------------------

positive = st.floats(1e-6, 1e6)


@FEW
@given(positive, positive, positive, positive, positive, positive)
def test_dimensionless_numbers_do_not_depend_on_units(f, d, q, nu, metre, second):
    scaled = f / second, d * metre, q * metre**3 / second, nu * metre**2 / second
    assert strouhal(scaled[0], scaled[1], scaled[2]) == pytest.approx(strouhal(f, d, q), rel=1e-9)
    assert roshko(scaled[0], scaled[1], scaled[3]) == pytest.approx(roshko(f, d, nu), rel=1e-9)


@FEW
@given(positive, positive, positive, positive)
def test_roshko_over_strouhal_is_that_of_the_reynolds_number_of_the_pipe(f, d, q, nu):
    velocity = q / (math.pi * d**2 / 4)
    assert 4 / math.pi * roshko(f, d, nu) / strouhal(f, d, q) == pytest.approx(velocity * d / nu, rel=1e-9)


@pytest.mark.parametrize("number", [strouhal, roshko])
def test_dimensionless_numbers_shapes_nan_and_refusals(number):
    flat = np.array([1.0, np.nan, 3.0])
    for shape in [(), (0,), (3,), (2, 3)]:
        assert np.shape(number(np.ones(shape), 0.01, 1e-6)) == shape
    assert type(number(1.0, 0.01, 1e-6)) is float
    assert np.isnan(number(flat, 0.01, 1e-6)).tolist() == [False, True, False]
    assert math.isnan(number(1.0, 0.01, math.nan))
    for wrong in (0.0, -1e-6, np.array([1e-6, 0.0])):
        with pytest.raises(QuantityError, match="must be positive"):
            number(1.0, 0.01, wrong)
        with pytest.raises(QuantityError, match="diameter_m"):
            number(1.0, wrong, 1e-6)


# --- the curve ----------------------------------------------------------------------------------


def fine_grid(hz):
    return np.concatenate([np.clip(np.geomspace(a, b, 17), a, b) for a, b in pairwise(hz)])


@FEW
@given(points(nearest=1.11))
def test_interpolation_agrees_with_scipy(calibrated):
    hz, k = calibrated
    curve, other, fine = MonotoneCurve.through(hz, k), PchipInterpolator(np.log(hz), k), fine_grid(hz)
    np.testing.assert_allclose(curve.at(fine), other(np.log(fine)), rtol=1e-12)


def test_end_slope_that_would_overshoot_is_level():
    # the first three points bend so much that the parabola through them would dip below the first
    hz, k = np.array([10.0, 20.0, 40.0, 80.0]), np.array([7500.0, 7510.0, 7600.0, 7610.0])
    curve, other, fine = meter(hz, k), PchipInterpolator(np.log(hz), k), fine_grid(hz)
    np.testing.assert_allclose(curve.k_pulses_per_l(fine), other(np.log(fine)), rtol=1e-14)
    assert np.all(curve.k_pulses_per_l(fine) >= 7500.0)


@pytest.mark.parametrize(
    ("x", "y"),
    [
        ([1.0, 2.0, 4.0, 8.0], [1.0, 1.0, 1.575, 1.575]),
        ([1.0, 2.155, 6.547], [1.0, 1.022, 2.501]),
        ([1.0, 2.041, 3.526, 6.223], [1.0, 1.213, 1.784, 1.744]),
    ],
)
def test_inverse_of_a_curve_at_the_edge_of_the_allowed(x, y):
    # y rises almost as fast as x: the flow all but stands still, and Newton's step alone leaps out of the curve
    curve, fine = MonotoneCurve.through(x, y), fine_grid(x)
    assert np.max(np.gradient(np.log(curve.at(np.geomspace(x[0], x[-1], 500))), np.log(x[-1] / x[0]) / 499)) > 0.96
    ratio = fine / curve.at(fine)
    found = curve.x_of_ratio(ratio)
    np.testing.assert_allclose(found / curve.at(found), ratio, rtol=1e-13)
    np.testing.assert_allclose(curve.x_of_ratio(ratio), fine, rtol=1e-12)


@FEW
@given(points(nearest=1.11))
def test_no_overshoot_and_monotone_pieces(calibrated):
    hz, k = calibrated
    curve = meter(hz, k)
    for i in range(len(hz) - 1):
        inside = np.clip(np.geomspace(hz[i], hz[i + 1], 33), hz[i], hz[i + 1])
        found = curve.k_pulses_per_l(inside)
        slack = 1e-12 * max(k)
        assert np.all(found >= min(k[i], k[i + 1]) - slack)
        assert np.all(found <= max(k[i], k[i + 1]) + slack)
        assert np.all(np.diff(found) * np.sign(k[i + 1] - k[i]) >= -slack)


@FEW
@given(points(nearest=1.11))
def test_passes_through_its_points_in_any_order(calibrated):
    hz, k = calibrated
    curve, turned = meter(hz, k), meter(hz[::-1], k[::-1])
    np.testing.assert_allclose(curve.k_pulses_per_l(hz), k, rtol=1e-13)
    assert curve == turned
    assert hash(curve) == hash(turned)
    assert curve.k_pulses_per_l(hz).tolist() == turned.k_pulses_per_l(hz).tolist()


@FEW
@given(points(), share, st.floats(0.01, 100.0), st.floats(0.01, 100.0))
def test_k_does_not_depend_on_units(calibrated, part, time_unit, volume_unit):
    hz, k = calibrated
    f = between(hz[0], hz[-1], part)
    scaled = meter(hz * time_unit, k * volume_unit)
    in_scaled = min(max(f * time_unit, scaled.frequencies_hz.low), scaled.frequencies_hz.high)
    expected = meter(hz, k).k_pulses_per_l(f) * volume_unit
    assert scaled.k_pulses_per_l(in_scaled) == pytest.approx(expected, rel=1e-11)


@FEW
@given(points(), share)
def test_flow_and_frequency_are_inverse(calibrated, part):
    hz, k = calibrated
    curve = meter(hz, k)
    f = between(hz[0], hz[-1], part)
    q = curve.flow_l_s(f)
    assert q * curve.k_pulses_per_l(f) == pytest.approx(f, rel=1e-15)
    assert curve.frequency_hz(q) == pytest.approx(f, rel=1e-12)
    assert curve.flow_l_s(curve.frequency_hz(q)) == pytest.approx(q, rel=1e-12)
    assert np.all(np.diff(curve.flow_l_s(np.geomspace(hz[0], hz[-1], 200)[1:-1])) > 0)


@FEW
@given(points(steepest=0.8, nearest=1.11))
def test_refuses_exactly_where_one_flow_has_two_frequencies(calibrated):
    hz, k = calibrated
    ln_hz, other = np.log(hz), PchipInterpolator(np.log(hz), k)
    fine = np.concatenate([np.linspace(a, b, 400) for a, b in pairwise(ln_hz)])
    margin = np.min(1.0 - other(fine, 1) / other(fine))
    if margin > 1e-3:
        meter(hz, k)
    elif margin < -1e-3:
        with pytest.raises(FuelUnitsError, match="flow falls"):
            meter(hz, k)


@pytest.mark.parametrize(
    ("x", "y", "rises"),
    [
        ([1.0, 3.1, 17.4], [1.0, 1.92, 3.59], True),  # the last two rise as they are, and not if a piece were longer
        ([1.0, 3.7, 15.9], [1.0, 1.78, 1.79], True),
        ([1.0, 2.2, 12.5], [1.0, 1.96, 3.78], False),
        ([1.0, 1.3, 7.5, 14.3], [1.0, 1.02, 2.03, 3.96], False),
        ([1.0, math.e], [1.0, 1.99], True),
        ([1.0, math.e], [1.0, 2.0], False),  # at the first point y grows just as fast as x
        ([1.0, math.e], [1.0, 2.01], False),
    ],
)
def test_the_flow_rises_within_each_piece_or_the_points_are_refused(x, y, rises):
    fine = np.geomspace(x[0], x[-1], 2001)
    if y[-1] != 2.0:
        assert bool(np.diff(fine / PchipInterpolator(np.log(x), y)(np.log(fine))).min() > 0.0) == rises
    if rises:
        assert MonotoneCurve.through(x, y).u.tolist() == [0.0] * len(x)
    else:
        with pytest.raises(FuelUnitsError, match="flow falls"):
            MonotoneCurve.through(x, y)


def test_refuses_a_falling_flow_and_names_the_points():
    with pytest.raises(FuelUnitsError, match=r"between the frequency in Hz 100 and 112 .* flow falls"):
        meter([50.0, 100.0, 112.0, 200.0], [7500.0, 7500.0, 8500.0, 8500.0])


def test_two_points_make_a_straight_line_over_log_frequency():
    curve = meter([10.0, 1000.0], [7500.0, 7600.0])
    assert curve.k_pulses_per_l(100.0) == pytest.approx(7550.0, rel=1e-14)


def test_log_frequency_interpolates_a_turbine_curve_better_than_plain_frequency():
    # an invented meter whose K falls at low flow by drag, as 1/f, and has a hump of viscous origin
    def true_k(f):
        return 7600.0 * (1 - 1.2 / f + 0.006 * np.exp(-(np.log(f / 90.0) ** 2)))

    hz = np.geomspace(25.0, 800.0, 7)
    fine = np.geomspace(25.0, 800.0, 500)[1:-1]
    by_log = np.max(np.abs(meter(hz, true_k(hz)).k_pulses_per_l(fine) / true_k(fine) - 1))
    by_hz = np.max(np.abs(PchipInterpolator(hz, true_k(hz))(fine) / true_k(fine) - 1))
    assert by_log < 0.5 * by_hz


def test_uncertainty_is_straight_between_points_of_one_k():
    curve = meter([10.0, 100.0, 1000.0], [7600.0] * 3)
    assert curve.relative_uncertainty(50.0) == pytest.approx(0.0005, rel=1e-12)
    drifting = [CalibrationPoint(hz, 7600.0, u) for hz, u in ((10.0, 0.002), (1000.0, 0.0004), (2000.0, 0.0004))]
    assert MeterCurve(drifting).relative_uncertainty(100.0) == pytest.approx(0.0012, rel=1e-12)
    assert MeterCurve(drifting).relative_uncertainty(np.array([10.0, 1000.0])).tolist() == [0.002, 0.0004]
    with pytest.raises(OutOfRange):
        curve.relative_uncertainty(9.0)


def test_half_way_between_points_the_uncertainty_has_the_miss_of_the_curve_without_one():
    # by hand: without the middle point the line over log frequency is at 7550, 75 below 7625 or above 7475
    for k in ([7500.0, 7625.0, 7600.0], [7600.0, 7625.0, 7500.0], [7500.0, 7475.0, 7600.0]):
        curve = meter([10.0, 100.0, 1000.0], k, uncertainty=0.0003)
        for half_way in (10.0**1.5, 10.0**2.5):
            assert curve.relative_uncertainty(half_way) == pytest.approx(math.hypot(0.0003, 75.0 / k[1]), rel=1e-9)
        quarter = math.hypot(0.0003, 0.75 * 75.0 / k[1])
        assert curve.relative_uncertainty(10.0**1.25) == pytest.approx(quarter, rel=1e-9)
    # of two inner points the worse counts: at 7550 for 7600 and, by a curve through the others, far less at the other
    four = meter([10.0, 100.0, 1000.0, 10_000.0], [7500.0, 7600.0, 7600.0, 7600.0], uncertainty=0.0)
    first, between, last = (four.relative_uncertainty(10.0**at) for at in (1.5, 2.5, 3.5))
    assert first == pytest.approx(between)
    assert last < between


def test_two_points_state_no_uncertainty():
    curve = meter([10.0, 1000.0], [7500.0, 7600.0])
    assert np.isnan(curve.relative_uncertainty(np.array([10.0, 100.0, 1000.0]))).all()
    assert "Two points" in str(curve)
    assert "Two points" not in str(meter())
    assert "Two points" not in str(meter(HZ[:3], K[:3]))


def true_k(shape, x, end, a, b, c):
    """Invented shapes of K over x = ln f, from 0 to the end, of a size and place that a, b and c from 0 to 1 set."""
    middle = (0.2 + 0.6 * c) * end
    return (
        7600.0
        * {
            "drag": 1.0 - (0.005 + 0.055 * a) * np.exp(-x),
            "boundary layer": 1.0 - (0.01 + 0.07 * a) * np.exp(-x / 2.0),
            "hump": 1.0
            - 0.04 * a * np.exp(-x)
            + (0.002 + 0.01 * b) * np.exp(-(((x - c * end) / (0.6 + 1.4 * a)) ** 2)),
            "step": 1.0 + (0.0025 + 0.0125 * a) * np.tanh((x - middle) / (0.3 + 0.7 * b)),
            "corner": 1.0 - (0.003 + 0.017 * a) * np.abs(x - middle) / end,
            "bow": 1.0 + (0.003 + 0.017 * a) * ((x - middle) / end * 2.0) ** 2,
        }[shape]
    )


@pytest.mark.simulation
@pytest.mark.parametrize("shape", ["drag", "boundary layer", "hump", "step", "corner", "bow"])
@pytest.mark.parametrize("count", [3, 4, 5, 6])
@pytest.mark.parametrize(
    ("u", "trials"), [(0.0005, 50), *(pytest.param(u, 150, marks=pytest.mark.long) for u in (0.0005, 0.0001))]
)
def test_twice_the_uncertainty_covers_the_truth_between_few_strongly_bent_points(shape, count, u, trials):
    """Simulated: points with noise u of a true curve, and the truth anywhere between them."""
    generator, covered = np.random.default_rng(count), []
    for _ in range(trials):
        end, a, b, c = generator.uniform(2.0, 4.6), *generator.uniform(0.0, 1.0, 3)
        gaps = 1.0 + generator.uniform(-0.25, 0.25, count - 1)
        at = np.concatenate([[0.0], np.cumsum(gaps)]) / gaps.sum() * end
        k = true_k(shape, at, end, a, b, c) * (1.0 + u * generator.standard_normal(count))
        curve, x = meter(np.exp(at), k, u), generator.uniform(0.0, 0.9999 * end, 20)
        miss = curve.k_pulses_per_l(np.exp(x)) / true_k(shape, x, end, a, b, c) - 1.0
        covered.append(np.abs(miss) <= 2.0 * curve.relative_uncertainty(np.exp(x)))
    least = {3: 0.8, 4: 0.9}.get(count, 0.95) if shape == "step" else 0.93
    assert np.mean(covered) > least


WIDE = [[20.0, 220.0, 420.0, 620.0], [30.0, 150.0, 300.0, 450.0, 600.0], [20.0, 100.0, 120.0, 150.0, 200.0]]
MORE = [[15.0, 150.0, 160.0, 170.0, 300.0], [20.0, 24.0, 28.0, 110.0, 130.0, 160.0], [60.0, 240.0, 420.0, 600.0]]


@pytest.mark.parametrize(
    ("flows", "repeats"),
    [
        *((flows, ()) for flows in WIDE),
        *(pytest.param(flows, (), marks=pytest.mark.long) for flows in MORE),
        ([30.0, 60.0, 150.0, 400.0], (1.002,)),
        pytest.param([30.0, 60.0, 150.0, 400.0], (1.002, 1.004), marks=pytest.mark.long),
        *(pytest.param([30.0, 60.0, 150.0, 400.0], (by,), marks=pytest.mark.long) for by in (1.05, 1.12)),
        pytest.param([20.0, 40.0, 80.0, 160.0, 320.0, 640.0], (1.01,), marks=pytest.mark.long),
    ],
)
@pytest.mark.parametrize("shape", ["logistic", "exponential"])
def test_twice_the_uncertainty_covers_the_truth_in_wide_gaps_and_between_repeats(shape, flows, repeats):
    """Simulated: droop at low flow, points of u 0.02 %; repeats alone, or close points, once hid how K bends."""
    generator, covered, widest = np.random.default_rng(7), [], np.argmax(np.diff(np.log(flows)))
    hz = np.ravel([[flow, *(flow * by for by in repeats)] for flow in flows])
    for _ in range(60):
        deep, corner = generator.uniform(0.01, 0.04), generator.uniform(30.0, 120.0)

        def true_k(f, deep=deep, corner=corner):
            droop = 1.0 / (1.0 + (f / corner) ** 2.2) if shape == "logistic" else 1.5 * np.exp(-f / corner)
            return 7600.0 * (1.0 - deep * droop)

        curve = meter(hz, true_k(hz) * (1.0 + 2e-4 * generator.standard_normal(len(hz))), 2e-4)
        at = np.exp(generator.uniform(*np.log(flows[widest : widest + 2] if not repeats else hz[[0, -1]]), 20))
        covered.append(np.abs(curve.k_pulses_per_l(at) / true_k(at) - 1.0) <= 2.0 * curve.relative_uncertainty(at))
    assert np.mean(covered) > 0.93


def test_repeats_add_no_slope_and_close_points_do_not_answer_for_a_wide_gap():
    twice = meter([10.0, 10.02, 100.0, 100.2, 1000.0, 1002.0], [7500.0, 7502.0, 7620.0, 7630.0, 7601.0, 7599.0])
    once = meter([10.01, 100.1, 1001.0], [7501.0, 7625.0, 7600.0])
    for hz in (30.0, 300.0):
        assert twice.k_pulses_per_l(hz) == pytest.approx(once.k_pulses_per_l(hz), rel=8e-4)
        assert twice.relative_uncertainty(hz) == pytest.approx(once.relative_uncertainty(hz), rel=0.2)
    assert twice.relative_uncertainty(100.1) == 0.0005  # between repeats there is no gap to bend in
    two = meter([10.0, 10.02, 1000.0, 1002.0], [7500.0, 7502.0, 7601.0, 7599.0])
    assert np.isnan(two.relative_uncertainty(100.0))
    assert "Two points" in str(two)
    # by hand: the line without the point at 100 misses it by 72.5/7600; the gap below is ln 10/ln 2.5 times the other
    near = meter([10.0, 100.0, 250.0], [7500.0, 7600.0, 7600.0], uncertainty=0.0)
    missed = 1.0 - (7500.0 + 100.0 * math.log(10.0) / math.log(25.0)) / 7600.0
    expected = missed * math.log(10.0) / math.log(2.5)
    assert near.relative_uncertainty(10.0**1.5) == pytest.approx(expected, rel=1e-9)
    assert near.relative_uncertainty(math.sqrt(25_000.0)) == pytest.approx(missed, rel=1e-9)


FLOATS = ["k_pulses_per_l", "flow_l_s", "relative_uncertainty"]


@pytest.mark.parametrize("method", FLOATS)
def test_shapes_scalars_nan_and_inputs_unchanged(method):
    answer_of = getattr(meter(), method)
    for shape in [(0,), (3,), (2, 3)]:
        given_hz = np.full(shape, 60.0)
        found = answer_of(given_hz)
        assert found.shape == shape
        assert np.all(found == answer_of(60.0))
        assert np.all(given_hz == 60.0)
    assert type(answer_of(60.0)) is float
    assert type(answer_of(60)) is float
    assert isinstance(answer_of(np.array(60.0)), float)
    assert answer_of([60.0, 70.0]).tolist() == [answer_of(60.0), answer_of(70.0)]
    assert math.isnan(answer_of(math.nan))
    assert np.isnan(answer_of(np.array([60.0, np.nan]))).tolist() == [False, True]


def test_inverse_shapes_and_nan():
    curve = meter()
    flows = np.array([[0.004, 0.01, 0.02], [0.05, np.nan, 0.1]])
    found = curve.frequency_hz(flows)
    assert found.shape == (2, 3)
    assert np.isnan(found).sum() == 1
    assert found[0, 1] == curve.frequency_hz(0.01)
    assert curve.frequency_hz(np.array([])).shape == (0,)
    assert type(curve.frequency_hz(0.01)) is float
    assert math.isnan(curve.frequency_hz(math.nan))


@pytest.mark.parametrize("method", FLOATS)
@pytest.mark.parametrize("hz", [0.0, -60.0, 24.9, 801.0, math.inf, -math.inf])
def test_outside_the_calibration_is_refused_or_marked(method, hz):
    answer_of = getattr(meter(), method)
    with pytest.raises(
        OutOfRange, match=r"frequency: .* is outside its range, 25 to 800 Hz .source: the calibrated"
    ) as refused:
        answer_of(np.array([60.0, hz]))
    assert refused.value.value == hz
    marked = answer_of(np.array([60.0, hz]), out_of_range="nan")
    assert np.isnan(marked).tolist() == [False, True]
    assert math.isnan(answer_of(hz, out_of_range="nan"))


def test_flow_outside_the_calibration():
    curve = meter()
    low, high = curve.flows_l_s.low, curve.flows_l_s.high
    assert (low, high) == (25.0 / 7420.0, 800.0 / 7598.0)
    assert curve.frequency_hz(low) == pytest.approx(25.0, rel=1e-14)
    assert curve.frequency_hz(high) == pytest.approx(800.0, rel=1e-14)
    for wrong in (0.0, low * 0.99, high * 1.01):
        with pytest.raises(OutOfRange, match="flow"):
            curve.frequency_hz(wrong)
        assert math.isnan(curve.frequency_hz(wrong, out_of_range="nan"))


# --- quantities ---------------------------------------------------------------------------------


def test_text_and_two_registries():
    curve = meter()
    expected = 3600.0 * curve.flow_l_s(99.8)
    assert curve.flow("99.8 Hz").m_as("L/h") == pytest.approx(expected, rel=1e-14)
    assert curve.frequency(f"{expected!r} L/h").m_as("Hz") == pytest.approx(99.8, rel=1e-12)
    for registry in (ONE_REGISTRY, OTHER_REGISTRY):
        given_hz = registry.Quantity(np.array([0.0998, 0.2]), "kilohertz")
        flow = curve.flow(given_hz)
        assert type(flow) is registry.Quantity
        assert flow.m_as("gallon/hour")[0] == pytest.approx(expected / 3.785411784, rel=1e-12)
        np.testing.assert_allclose(curve.frequency(flow).m_as("Hz"), [99.8, 200.0], rtol=1e-12)
    assert curve.frequency("12.5 gal/h").m_as("Hz") == pytest.approx(
        curve.frequency_hz(12.5 * 3.785411784 / 3600), rel=1e-13
    )


def test_quantities_refused():
    curve = meter()
    with pytest.raises(QuantityError, match="bare number"):
        curve.flow(99.8)
    with pytest.raises(DimensionError, match="frequency"):
        curve.flow("12.5 gal/h")
    with pytest.raises(DimensionError, match="density first"):
        curve.frequency("80 lb/h")
    for call in (lambda: curve.flow("5 Hz"), lambda: curve.flow("0 Hz"), lambda: curve.frequency("0 L/h")):
        with pytest.raises(OutOfRange):
            call()


def test_points_from_quantities():
    point = CalibrationPoint.read("99.8 Hz", "43186 pulse/gal", "0.05 %", viscosity="1.2 cSt", temperature="68 degF")
    assert point == CalibrationPoint(99.8, KFactor(43_186, per="gal").per("L"), 0.0005, 1.2, 20.0)
    assert point.k_pulses_per_l == pytest.approx(43186 / 3.785411784, rel=1e-15)
    assert CalibrationPoint.read("99.8 Hz", KFactor(43_186, per="gal"), "0.05 %").k_pulses_per_l == point.k_pulses_per_l
    assert CalibrationPoint.read("99.8 Hz", "7600 pulse/L", "0 %") == CalibrationPoint(99.8, 7600.0, 0.0)
    by_flow = CalibrationPoint.read("0.01 L/s", "7600 pulse/L", "0.05 %", viscosity="1.2 cSt", temperature="20 degC")
    assert by_flow == CalibrationPoint(76.0, 7600.0, 0.0005, 1.2, 20.0)
    assert by_flow.flow_l_s == pytest.approx(0.01, rel=1e-15)
    registry = ONE_REGISTRY
    flow = registry.Quantity(36.0, "L/hour")
    assert CalibrationPoint.read(flow, "7600 pulse/L", "0.05 %").frequency_hz == pytest.approx(76.0, rel=1e-14)


@pytest.mark.parametrize(
    "wrong",
    [
        {"frequency_hz": 0.0},
        {"frequency_hz": math.nan},
        {"k_pulses_per_l": -1.0},
        {"k_pulses_per_l": math.inf},
        {"relative_uncertainty": -0.001},
        {"relative_uncertainty": 1.0},
        {"relative_uncertainty": "0.05 %"},
        {"relative_uncertainty": math.inf},
        {"viscosity_mm2_s": 0.0},
        {"temperature_c": 293.15},  # 20 °C in kelvins
        {"temperature_c": -273.15},
        {"temperature_c": math.nan},
        {"temperature_c": math.inf},
    ],
    ids=str,
)
def test_points_that_make_no_sense(wrong):
    right = {"frequency_hz": 99.8, "k_pulses_per_l": 7600.0, "relative_uncertainty": 0.0005}
    with pytest.raises(FuelUnitsError, match=next(iter(wrong))):
        CalibrationPoint(**{**right, **wrong})
    assert CalibrationPoint(**right, temperature_c=-59.9).temperature_c == -59.9


def test_dynamic_viscosity_is_refused():
    with pytest.raises(DimensionError, match="kinematic viscosity"):
        CalibrationPoint.read("99.8 Hz", "7600 pulse/L", "0.05 %", viscosity="1.2 cP")


def test_a_result_of_a_bench_makes_a_curve():
    class Result:
        def points(self):
            return meter().points

    assert MeterCurve(Result()) == meter() == MeterCurve(meter().points)


def test_reports_hold_the_points():
    pytest.importorskip("pandas")
    curve = meter()
    assert "7522.5 pulse/L, linearity ±1.36 %" in repr(curve)
    assert curve.to_frame()["frequency_hz"].tolist() == HZ
    assert curve.as_dict()["mean_k_pulses_per_l"] == 7522.5
    assert "7420" in curve._repr_html_()
    assert not [name for name in curve.as_dict() if name.startswith("_")]
    u = (1e-5, 0.0, math.nan)
    points = [CalibrationPoint(hz, 11412.3046, each) for hz, each in zip((99.84, 200.0, 400.0), u, strict=True)]
    cells = [list(point.cells().values())[:4] for point in points]
    # by hand: 3600 × 99.84/11412.3046 = 31.494...; u is 0.114
    assert cells[0] == ["99.84", "31.494", "11412.30", "0.11"]
    assert [each[2:] for each in cells[1:]] == [["11412.3", "0"], ["11412.3", None]]
    assert "not known" in str(MeterCurve(points))
    assert "not known" not in str(MeterCurve(points[:2]))


def test_masked_values_are_masked_or_nan_in_the_answer():
    curve = meter()
    for call, value in (*((getattr(curve, name), 60.0) for name in FLOATS), (curve.frequency_hz, 0.01)):
        found = call(np.ma.array([value, value], mask=[False, True]))
        assert np.isnan(np.ma.filled(found, np.nan)).tolist() == [False, True]


@pytest.mark.parametrize("kind", [pd.Series, pl.Series, pa.array, list])
def test_arrays_of_other_libraries_are_read(kind):
    curve = meter()
    for name in FLOATS:
        call = getattr(curve, name)
        assert np.asarray(call(kind([60.0, 70.0]))).tolist() == [call(60.0), call(70.0)]
    assert np.asarray(curve.frequency_hz(kind([0.01, 0.02])))[1] == curve.frequency_hz(0.02)


@pytest.mark.parametrize("name", [*FLOATS, "frequency_hz"])
def test_quantities_are_never_stripped_of_their_unit(name):
    units, unyt = pytest.importorskip("astropy.units"), pytest.importorskip("unyt")
    registry = ONE_REGISTRY
    for wrong in (
        *([60.0] * units.kHz, unyt.unyt_array([60.0], "kHz"), registry.Quantity([60.0], "kHz")),
        *([60.0 * units.kHz], [60.0, True], "60 Hz"),
    ):
        with pytest.raises(QuantityError):
            getattr(meter(), name)(wrong)
    hz = meter().flow(registry.Quantity([60.0], "Hz")).m_as("L/s")
    assert hz == pytest.approx(meter().flow_l_s(60.0))


def test_curves_refused():
    with pytest.raises(QuantityError, match="at least two points"):
        meter([100.0], [7600.0])
    with pytest.raises(QuantityError, match="at least two points"):
        MeterCurve([])
    for second in (100.0, np.nextafter(100.0, 101.0)):
        with pytest.raises(QuantityError, match="two points at the frequency in Hz 100"):
            meter([second, 200.0, 100.0], [7600.0, 7600.0, 7600.0])


def test_frozen_and_picklable():
    curve = meter()
    with pytest.raises(AttributeError):
        curve.points = ()
    again = pickle.loads(pickle.dumps(curve))
    assert again == curve
    assert again.k_pulses_per_l(60.0) == curve.k_pulses_per_l(60.0)


def test_import_loads_no_pint():
    program = "import sys, fuelunits.meters.viscosity_curve; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


@pytest.mark.parametrize(
    ("viscosities", "temperatures", "found"),
    [
        ((None,) * 4, (20.0, 60.0, 20.0, 60.0), "20 to 60 °C"),
        ((None,) * 4, (None, 20.0, None, 31.0), "20 to 31 °C"),
        ((None, None, 1.2, None), (20.0, 60.0, 20.0, 60.0), r"unknown to 1\.2 mm²/s"),
        ((1.2, 1.2, 1.2, None), (None,) * 4, r"unknown to 1\.2 mm²/s"),
        ((1.2, 1.2, 1.2, 1.2), (20.0, 60.0, 20.0, 60.0), "20 to 60 °C"),
        ((1.2, 1.5, 1.2, 5.0), (None,) * 4, r"1\.2 to 5 mm²/s"),
        ((1.2, 1.2, 1.2, 1.45), (None,) * 4, r"1\.2 to 1\.45 mm²/s"),
        ((1.2, 1.45, 1.45, 1.45), (None,) * 4, r"1\.2 to 1\.45 mm²/s"),
        ((1.2, 1.25, 1.2, 1.43), (20.0, 60.0, 20.0, 60.0), ""),
        ((1.2, 1.2, 1.2, 1.43), (20.0, 60.0, 20.0, 60.0), ""),
        ((1.2, 1.43, 1.43, 1.43), (20.0, 60.0, 20.0, 60.0), ""),
        ((1.0, 1.2, 1.0, 1.2), (None,) * 4, ""),
        ((None,) * 4, (20.0, 30.0, None, None), ""),
        ((None,) * 4, (None,) * 4, ""),
    ],
)
def test_points_of_two_viscosities_are_no_curve_whatever_is_left_out(viscosities, temperatures, found):
    """Measured turbine meters: K over frequency shifts with the viscosity (docs/explanation/k_over_viscosity).

    That of Jet A falls by 44 % from 20 to 60 °C (tests/test_viscosity.py).
    """
    k = zip((10.0, 50.0, 100.0, 200.0), (11250.0, 11400.0, 11430.0, 11431.0), viscosities, temperatures, strict=True)
    points = [CalibrationPoint(hz, per_l, 0.0005, viscosity, t) for hz, per_l, viscosity, t in k]
    if found:
        with pytest.raises(QuantityError, match=found):
            MeterCurve(points)
    else:
        assert ("No viscosity is stated" in " ".join(str(MeterCurve(points)).split())) is (viscosities[0] is None)


@pytest.mark.simulation
@pytest.mark.parametrize(("of_day", "of_point"), [(0.0, 0.0), (1e-3, 0.0), (0.0, 1e-3)])
def test_repeats_that_differ_by_more_than_their_uncertainty_explains_count(of_day, of_point):
    """Simulated: flows run on two days, u 0.02 % of each point; the truth at them was once covered in 31 to 34 %."""
    generator, covered, said = np.random.default_rng(5), [], []
    for _ in range(100):
        days, hz = of_day * generator.standard_normal((2, 1)), np.geomspace(40.0, 1000.0, 6)
        near = hz * (1.0 + 0.004 * generator.standard_normal((2, 6)))  # honest repeats, once refused as a falling flow
        off = days + np.hypot(of_point, 2e-4) * generator.standard_normal((2, 6))
        curve = meter(near.ravel(), (11_400.0 * (1.0 - 1.5 / near) * (1.0 + off)).ravel(), 2e-4)
        at = hz[1:-1]
        miss = curve.k_pulses_per_l(at) / (11_400.0 * (1.0 - 1.5 / at)) - 1.0
        covered.append(np.abs(miss) <= 2.0 * curve.relative_uncertainty(at))
        said.append("Repeats" in str(curve))
    assert np.mean(covered) > 0.85
    assert np.mean(said) > 0.7 if of_day or of_point else np.mean(said) < 0.15


def test_repeats_make_one_point_of_their_mean_with_student_t():
    # by hand: 11434 and 11366 differ by 0.5965 %; their mean has u = 13.97/2 times half of that
    hz, k = [100.0, 101.0, 300.0, 303.0, 900.0, 909.0], [11_434.0, 11_366.0] * 3
    curve, at = meter(hz, k, 2e-4), np.array([100.0, 100.5, 101.0, 300.0])
    assert curve.k_pulses_per_l(at) == pytest.approx([11_400.0] * 4)
    assert curve.relative_uncertainty(at) == pytest.approx(math.hypot(2e-4, 13.968 / 2.0 * 34.0 / 11_400.0), rel=1e-4)
    # what u explains adds nothing, and an unknown one stays unknown
    assert meter(hz, k, 4e-3).relative_uncertainty(300.0) == 4e-3
    assert math.isnan(meter(hz, k, math.nan).relative_uncertainty(300.0))


def test_repeats_said_to_be_exact_that_differ_are_said_to():
    curve = meter([100.0, 101.0, 300.0, 303.0, 900.0, 909.0], [11_434.0, 11_366.0] * 3, 0.0)
    assert "Repeats" in str(curve)
    assert curve.relative_uncertainty(100.0) > 0.01
