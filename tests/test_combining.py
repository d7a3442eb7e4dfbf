"""Adding transducers and subtracting a return line, against the `uncertainties` library and exact arithmetic."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from registries import ONE_REGISTRY, OTHER_REGISTRY
from uncertainties import correlated_values, covariance_matrix

from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.meters.curve import CalibrationPoint, MeterCurve
from fuelunits.meters.k_factor import KFactor, net_flow, net_uncertainty
from fuelunits.meters.pulse_record import PulseRecord
from fuelunits.meters.viscosity_curve import ViscosityCurve

K = KFactor(43_200, per="gal")
UREG = ONE_REGISTRY

fractions = st.floats(1e-4, 0.1)
HALVES = {"feed_uncertainty": "0.5 %", "return_uncertainty": "0.5 %"}


def difference_uncertainty(feed, back, u_feed, u_return, r=0.0):
    """The uncertainty of flows in L/h, from fractions."""
    flows = [UREG.Quantity(flow, "liter/hour") for flow in (feed, back)]
    percent = {"feed_uncertainty": f"{100.0 * u_feed!r} %", "return_uncertainty": f"{100.0 * u_return!r} %"}
    return net_uncertainty(*flows, **percent, correlation=r)


def test_a_return_that_is_denser_than_the_feed_is_refused():
    """A return is warmer: 480 Hz at 0.808 less 384 Hz at 0.787 kg/L, 7200 pulse/L, is 42.8 kg/h, and 33.7 swapped."""
    lines = "480 Hz", "7200 pulse/L", "384 Hz", "7200 pulse/L"
    net = net_flow(*lines, feed_density="0.808 kg/L", return_density="0.787 kg/L")
    assert net.m_as("kg/hour") == pytest.approx(240 * 0.808 - 192 * 0.787)
    with pytest.raises(QuantityError, match="swapped"):
        net_flow(*lines, feed_density="0.787 kg/L", return_density="0.808 kg/L")


def test_net_flow():
    assert net_flow("720 Hz", K, "576 Hz", K).m_as("gallon/hour") == pytest.approx(12.0, rel=1e-14)
    assert net_flow("720 Hz", K, "720 Hz", K).magnitude == 0.0
    assert net_flow("720 Hz", K, "576 Hz", K, unit="L/h").m_as("liter/hour") == pytest.approx(45.424941408, rel=1e-14)


def test_warm_return_is_subtracted_by_mass():
    """60 gal/h of 6.7 lb/gal less 48 gal/h of 6.5 lb/gal is 402 - 312 lb/h; at one density it is 12 gal/h of it."""
    common = {"feed": "720 Hz", "feed_k": K, "return_": "576 Hz", "return_k": K, "unit": "lb/h"}
    apart = net_flow(**common, feed_density="6.7 lb/gal", return_density="6.5 lb/gal")
    alike = net_flow(**common, feed_density="6.7 lb/gal", return_density="6.7 lb/gal")
    assert apart.magnitude == pytest.approx(90.0, rel=1e-12)
    assert alike.magnitude == pytest.approx(80.4, rel=1e-12)


def test_densities_are_used_or_refused():
    """192 L/h of 0.80 kg/L less 192 × 384/480 L/h of 0.70 kg/L, by hand, in L and kg."""
    given = ("384 Hz", "7200 pulse/L", "307.2 Hz", "7200 pulse/L")
    net = net_flow(*given, feed_density="0.80 kg/L", return_density="0.70 kg/L")
    assert net.m_as("kg/hour") == pytest.approx(192.0 * 0.80 - 153.6 * 0.70)
    for unit in ("L/h", "gal/h"):
        with pytest.raises(QuantityError, match="densities"):
            net_flow(*given, feed_density="0.80 kg/L", return_density="0.70 kg/L", unit=unit)
    for line in ("feed", "return"):
        with pytest.raises(FuelUnitsError, match="density"):
            net_flow(*given, **{f"{line}_density": "0.80 kg/L"})


@settings(max_examples=50, deadline=None)
@given(st.floats(1.0, 1e4), st.floats(0.0, 0.95), fractions, fractions, st.floats(-1.0, 1.0))
def test_difference_uncertainty_is_that_of_the_uncertainties_library(feed, part, u_feed, u_return, r):
    """Reference: the general-purpose library `uncertainties`, by correlated values."""
    back = feed * part
    a, b = feed * u_feed, back * u_return
    x, y = correlated_values([feed, back], [[a * a, r * a * b], [r * a * b, b * b]])
    variance = covariance_matrix([x - y])[0][0]
    ours = difference_uncertainty(feed, back, u_feed, u_return, r)
    assert (ours * (feed - back)) ** 2 == pytest.approx(variance, rel=1e-7, abs=1e-12 * (a * a + b * b))


def test_error_grows_by_the_ratio_of_the_flows():
    """By hand: sqrt(0.3² + 0.24²) gal/h of 12 gal/h, and with full correlation 0.06 of 12."""
    apart = difference_uncertainty(60.0, 48.0, 0.005, 0.005)
    assert apart == pytest.approx((0.3**2 + 0.24**2) ** 0.5 / 12.0, rel=1e-14)
    assert difference_uncertainty(60.0, 48.0, 0.005, 0.005, 1.0) == pytest.approx(0.005, rel=1e-12)
    assert difference_uncertainty(60.0, 0.0, 0.005, 0.005) == pytest.approx(0.005, rel=1e-14)


@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3)])
def test_difference_uncertainty_shapes(shape):
    feed = np.full(shape, 60.0)
    before = feed.copy()
    got = difference_uncertainty(feed, 48.0, 0.005, 0.005)
    assert np.shape(got) == shape
    assert np.all(got == difference_uncertainty(60.0, 48.0, 0.005, 0.005))
    assert np.array_equal(feed, before)


def test_nan_passes():
    assert np.isnan(difference_uncertainty(float("nan"), 48.0, 0.005, 0.005))
    assert np.isnan(difference_uncertainty(np.array([60.0, np.nan]), 48.0, 0.005, 0.005)).tolist() == [False, True]
    ureg = ONE_REGISTRY
    net = net_flow(ureg.Quantity([720.0, np.nan], "Hz"), K, "576 Hz", K).magnitude
    assert net[0] == pytest.approx(12.0)
    assert np.isnan(net[1])


def test_single_precision_is_worked_on_in_double():
    """The two flows differ in the seventh digit."""
    feed, back = np.array([60.0], dtype=np.float32), np.array([59.99999], dtype=np.float32)
    double = difference_uncertainty(feed.astype(float), back.astype(float), 0.005, 0.005)
    assert difference_uncertainty(feed, back, 0.005, 0.005) == pytest.approx(double, rel=1e-12)


def test_noise_about_zero_is_kept_and_keeps_its_mean():
    """Two equal flows with noise: leaving out or clipping what is negative would make a flow of nothing."""
    noise = np.random.default_rng(7).normal(0.0, 0.5, 4000)
    net = net_flow(UREG.Quantity(720.0 + noise, "Hz"), K, UREG.Quantity(np.full(4000, 720.0) - 0.02, "Hz"), K)
    assert (net.magnitude < 0.0).any()
    expected = (noise.mean() + 0.02) * 3600 / 43_200
    assert net.magnitude.mean() == pytest.approx(expected, rel=1e-6)
    assert net_flow(UREG.Quantity([720.0, 719.25], "Hz"), K, "719.4 Hz", K).magnitude.tolist() == pytest.approx(
        [0.05, -0.0125], rel=1e-9
    )
    with pytest.raises(QuantityError, match="more returned than fed"):
        net_flow(UREG.Quantity([570.0, 577.5, np.nan], "Hz"), K, "576 Hz", K)


def test_text_is_accepted_for_each_k_factor():
    text = "43200 pulse/gal"
    assert net_flow("720 Hz", text, "576 Hz", text).magnitude == pytest.approx(12.0)
    percent = {"feed_uncertainty": "0.5 %", "return_uncertainty": UREG.Quantity(0.005, "")}
    u = net_uncertainty(UREG.Quantity(60.0, "gallon/hour"), "48 gal/h", **percent)
    assert u == pytest.approx(difference_uncertainty(60.0, 48.0, 0.005, 0.005), rel=1e-12)
    assert net_uncertainty("402 lb/h", "321.6 lb/h", **percent) == pytest.approx(u, rel=1e-12)


def test_net_follows_the_quantity_that_was_given():
    ureg, other = ONE_REGISTRY, OTHER_REGISTRY
    feed, back = ureg.Quantity(720.0, "Hz"), other.Quantity(576.0, "Hz")
    densities = {"feed_density": "6.7 lb/gal", "return_density": "6.5 lb/gal", "unit": "lb/h"}
    assert type(net_flow("720 Hz", K, back, K)) is other.Quantity
    assert type(net_flow("720 Hz", K, back, K, **densities)) is other.Quantity
    assert type(net_flow(feed, K, "576 Hz", K, **densities)) is ureg.Quantity


def test_a_line_may_stand_still():
    assert net_flow("720 Hz", K, "0 Hz", K).magnitude == pytest.approx(60.0, rel=1e-14)
    assert net_flow("0 Hz", K, "0 Hz", K).magnitude == 0.0
    assert net_uncertainty("60 gal/h", "0 gal/h", **HALVES) == pytest.approx(0.005, rel=1e-14)


def test_correlation_is_passed_on():
    assert net_uncertainty("60 gal/h", "48 gal/h", **HALVES, correlation=1.0) == pytest.approx(0.005, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: net_flow("576 Hz", K, "720 Hz", K), QuantityError, "more returned than fed"),
        (lambda: net_flow(720.0, K, "576 Hz", K), QuantityError, "has no unit"),
        (lambda: net_flow("-720 Hz", K, "576 Hz", K), QuantityError, "frequency"),
        (lambda: net_flow("720 gal", K, "576 Hz", K), DimensionError, "frequency"),
        (lambda: net_flow("720 Hz", K, "576 Hz", K, unit="lb/h"), DimensionError, "feed.*mass flow"),
        (lambda: difference_uncertainty(60.0, 48.0, -0.01, 0.01), QuantityError, "negative"),
        (lambda: difference_uncertainty(60.0, 48.0, 0.01, -0.01), QuantityError, "negative"),
        (lambda: net_flow("720 Hz", K, "576 Hz", K, unit="lb/h", feed_density="6.7 lb/gal"), DimensionError, "return"),
        (lambda: net_uncertainty("60 gal/h", "48 gal/h", **HALVES, correlation=float("nan")), QuantityError, "-1 to 1"),
        (lambda: difference_uncertainty(48.0, 60.0, 0.01, 0.01), QuantityError, "smaller than the feed"),
        (lambda: difference_uncertainty(60.0, 60.0, 0.01, 0.01), QuantityError, "smaller than the feed"),
        (lambda: difference_uncertainty(60.0, 48.0, 0.01, 0.01, 1.01), QuantityError, "correlation"),
        (lambda: difference_uncertainty(60.0, 48.0, 0.01, 0.01, -1.01), QuantityError, "correlation"),
        (
            lambda: net_uncertainty("60 gal/h", "321 lb/h", feed_uncertainty="1 %", return_uncertainty="1 %"),
            DimensionError,
            "density",
        ),
        (
            lambda: net_uncertainty("60 gal/h", "48 gal/h", feed_uncertainty=0.005, return_uncertainty="1 %"),
            QuantityError,
            "feed_uncertainty",
        ),
        (
            lambda: net_flow(UREG.Quantity([720.0, 719.0], "Hz"), K, UREG.Quantity([576.0] * 3, "Hz"), K),
            QuantityError,
            "one shape",
        ),
        (
            lambda: difference_uncertainty(np.full(2, 60.0), np.full(3, 48.0), 0.01, 0.01),
            QuantityError,
            "one shape",
        ),
    ],
)
def test_refusals(call, error, words):
    with pytest.raises(error, match=words) as refusal:
        call()
    assert isinstance(refusal.value, FuelUnitsError)


ONE, OTHER = ONE_REGISTRY, OTHER_REGISTRY
HZ, MORE_HZ, GALLON = ONE.Quantity(720.0, "Hz"), OTHER.Quantity(576.0, "Hz"), OTHER.Quantity(1.0, "gallon")
RECORD = PulseRecord(np.arange(20.0))
TWO_LIQUIDS = ViscosityCurve(
    [MeterCurve([CalibrationPoint(hz, 7600.0, 0.001, 1.2, 20.0) for hz in (10.0, 99.0, 1000.0)])],
    0.0127,
    20.0,
    17e-6,
    0.0,
)


@pytest.mark.parametrize(
    "call",
    [
        lambda: net_flow(HZ, K, MORE_HZ, K),
        lambda: net_flow(
            HZ, K, "1 Hz", K, feed_density=OTHER.Quantity(0.7, "kg/L"), return_density="0.7 kg/L", unit="kg/h"
        ),
        lambda: net_uncertainty(
            ONE.Quantity(60.0, "gal/h"), "48 gal/h", feed_uncertainty="1 %", return_uncertainty=OTHER.Quantity(0.01, "")
        ),
        lambda: K.adjusted(indicated=ONE.Quantity(1.0, "gallon"), delivered=GALLON),
        lambda: CalibrationPoint.read(HZ, K, "1 %", temperature=OTHER.Quantity(20.0, "degC")),
        lambda: CalibrationPoint.read(ONE.Quantity(1.0, "L/s"), K, OTHER.Quantity(0.01, "")),
        lambda: RECORD.by_gate(ONE.Quantity(1.0, "s"), start_s=OTHER.Quantity(1.0, "s")),
        lambda: (
            RECORD.by_period().frequency().flow(ONE.Quantity(9, "1/L"), "kg/h", density=OTHER.Quantity(0.8, "kg/L"))
        ),
        lambda: RECORD.by_period().frequency().cut_off(ONE.Quantity(1, "L/h"), k_factor=OTHER.Quantity(9, "1/L")),
        lambda: RECORD.check(HZ, tolerance=OTHER.Quantity(0.01, "")),
        lambda: TWO_LIQUIDS.meter_curve(ONE.Quantity(1.2, "mm**2/s"), OTHER.Quantity(20.0, "degC")),
    ],
)
def test_two_registries_in_one_call_are_refused(call):
    with pytest.raises(QuantityError, match="two pint registries"):
        call()
