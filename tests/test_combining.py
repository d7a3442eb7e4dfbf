"""Adding transducers and subtracting a return line, against the `uncertainties` library and exact arithmetic."""

import random
from fractions import Fraction

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import correlated_values, covariance_matrix

from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.meters.combining import (
    difference_uncertainty,
    exact_net_volume,
    exact_total_volume,
    net_flow,
    net_mass_flow,
    net_uncertainty,
    sum_uncertainty,
    total_flow,
)
from fuelunits.meters.k_factor import KFactor

LEFT, RIGHT = KFactor(28_740, per="gal"), KFactor(7601.25, per="L")
K = KFactor(28_800, per="gal")

counts = st.integers(0, 10**12)
k_factors = st.builds(KFactor, st.integers(1, 10**6), per=st.sampled_from(["gal", "L", "imp_gal"]))
counted = st.lists(st.tuples(counts, k_factors), min_size=1, max_size=5)
fractions = st.floats(1e-4, 0.1)


@settings(max_examples=50, deadline=None)
@given(counted, st.randoms(use_true_random=False))
def test_totals_do_not_depend_on_order(pairs, shuffler: random.Random):
    shuffled = list(pairs)
    shuffler.shuffle(shuffled)
    assert exact_total_volume(shuffled, unit="gal") == exact_total_volume(pairs, unit="gal")


@settings(max_examples=50, deadline=None)
@given(counted, counted)
def test_totals_do_not_depend_on_grouping(some, others):
    separately = exact_total_volume(some, unit="L") + exact_total_volume(others, unit="L")
    assert exact_total_volume(some + others, unit="L") == separately


@settings(max_examples=50, deadline=None)
@given(counts, counts, k_factors)
def test_counts_in_chunks_are_the_whole(first, second, k):
    assert exact_total_volume([(first, k), (second, k)], unit="gal") == k.exact_volume(first + second, "gal")


def test_total_is_exact_in_another_unit():
    assert exact_total_volume([(28_740, LEFT)], unit="L") == Fraction(473176473, 125000000)


def test_net_volume_is_the_inverse_of_adding():
    total = exact_total_volume([(5000, LEFT), (4000, RIGHT)], unit="gal")
    assert total - exact_total_volume([(4000, RIGHT)], unit="gal") == LEFT.exact_volume(5000, "gal")
    assert exact_net_volume(28_800, K, 7200, K, unit="gal") == Fraction(3, 4)


def test_flows_add_and_commute():
    there = total_flow([("99.8 Hz", LEFT), ("101.2 Hz", RIGHT)], unit="gal/h").magnitude
    back = total_flow([("101.2 Hz", RIGHT), ("99.8 Hz", LEFT)], unit="gal/h").magnitude
    alone = [k.flow(f).m_as("gallon/hour") for f, k in (("99.8 Hz", LEFT), ("101.2 Hz", RIGHT))]
    assert there == back == pytest.approx(sum(alone), rel=1e-14)
    litres = total_flow([("99.8 Hz", LEFT), ("101.2 Hz", RIGHT)], unit="L/h").magnitude
    assert litres == pytest.approx(there * 3.785411784, rel=1e-14)


def test_net_flow():
    assert net_flow("480 Hz", K, "384 Hz", K).m_as("gallon/hour") == pytest.approx(12.0, rel=1e-14)
    assert net_flow("480 Hz", K, "480 Hz", K).magnitude == 0.0
    assert net_flow("480 Hz", K, "384 Hz", K, unit="L/h").m_as("liter/hour") == pytest.approx(45.424941408, rel=1e-14)


def test_warm_return_is_subtracted_by_mass():
    """60 gal/h of 6.7 lb/gal less 48 gal/h of 6.5 lb/gal is 402 - 312 lb/h; at one density it is 12 gal/h of it."""
    common = {"feed": "480 Hz", "feed_k": K, "return_": "384 Hz", "return_k": K, "unit": "lb/h"}
    apart = net_mass_flow(**common, feed_density="6.7 lb/gal", return_density="6.5 lb/gal")
    alike = net_mass_flow(**common, feed_density="6.7 lb/gal", return_density="6.7 lb/gal")
    assert apart.magnitude == pytest.approx(90.0, rel=1e-12)
    assert alike.magnitude == pytest.approx(80.4, rel=1e-12)


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


@settings(max_examples=50, deadline=None)
@given(st.lists(st.tuples(st.floats(1.0, 1e3), fractions), min_size=1, max_size=4), st.floats(0.0, 1.0))
def test_sum_uncertainty_is_that_of_the_uncertainties_library(meters, r):
    """Reference: the general-purpose library `uncertainties`, by correlated values."""
    flows = [flow for flow, _ in meters]
    absolute = np.array([flow * u for flow, u in meters])
    covariance = np.outer(absolute, absolute) * (r + (1.0 - r) * np.eye(len(meters)))
    total = sum(correlated_values(flows, covariance.tolist()))
    ours = sum_uncertainty(flows, [u for _, u in meters], correlation=r)
    assert ours == pytest.approx(total.std_dev / total.nominal_value, rel=1e-6)


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
    got = difference_uncertainty(feed, 48.0, 0.005, np.full(shape, 0.005))
    assert np.shape(got) == shape
    assert np.all(got == difference_uncertainty(60.0, 48.0, 0.005, 0.005))
    assert np.array_equal(feed, before)


def test_nan_passes():
    assert np.isnan(difference_uncertainty(float("nan"), 48.0, 0.005, 0.005))
    assert np.isnan(difference_uncertainty(np.array([60.0, np.nan]), 48.0, 0.005, 0.005)).tolist() == [False, True]
    ureg = pint.UnitRegistry()
    net = net_flow(ureg.Quantity([480.0, np.nan], "Hz"), K, "384 Hz", K).magnitude
    assert net[0] == pytest.approx(12.0)
    assert np.isnan(net[1])


def test_two_registries_and_text():
    one, other = pint.UnitRegistry(), pint.UnitRegistry()
    net = net_flow(one.Quantity(480.0, "Hz"), K, other.Quantity(384.0, "Hz"), K)
    assert type(net) is one.Quantity
    total = total_flow([("480 Hz", K), (other.Quantity(384.0, "Hz"), K)], unit="gal/h")
    assert type(total) is other.Quantity
    assert net.magnitude == pytest.approx(12.0)
    assert total.magnitude == pytest.approx(108.0)
    percent = {"feed_uncertainty": "0.5 %", "return_uncertainty": one.Quantity(0.005, "")}
    u = net_uncertainty(one.Quantity(60.0, "gallon/hour"), "48 gal/h", **percent)
    assert u == pytest.approx(difference_uncertainty(60.0, 48.0, 0.005, 0.005), rel=1e-12)
    by_mass = net_uncertainty("402 lb/h", "321.6 lb/h", **percent)
    assert by_mass == pytest.approx(u, rel=1e-12)


def test_net_follows_the_quantity_that_was_given():
    ureg, other = pint.UnitRegistry(), pint.UnitRegistry()
    feed, back = ureg.Quantity(480.0, "Hz"), other.Quantity(384.0, "Hz")
    densities = {"feed_density": "6.7 lb/gal", "return_density": "6.5 lb/gal", "unit": "lb/h"}
    assert type(net_flow("480 Hz", K, back, K)) is other.Quantity
    assert type(net_mass_flow("480 Hz", K, back, K, **densities)) is other.Quantity
    assert type(net_mass_flow(feed, K, back, K, **densities)) is ureg.Quantity
    assert type(net_mass_flow(feed, K, "384 Hz", K, **densities)) is ureg.Quantity


def test_a_line_may_stand_still():
    assert total_flow([("0 Hz", LEFT), ("480 Hz", K)], unit="gal/h").magnitude == pytest.approx(60.0, rel=1e-14)
    assert net_flow("480 Hz", K, "0 Hz", K).magnitude == pytest.approx(60.0, rel=1e-14)
    assert net_flow("0 Hz", K, "0 Hz", K).magnitude == 0.0
    halves = {"feed_uncertainty": "0.5 %", "return_uncertainty": "0.5 %"}
    assert net_uncertainty("60 gal/h", "0 gal/h", **halves) == pytest.approx(0.005, rel=1e-14)
    assert sum_uncertainty([0.0, 60.0], [0.5, 0.005]) == pytest.approx(0.005, rel=1e-14)
    assert sum_uncertainty([0.5, 0.0], [0.005, 0.5]) == pytest.approx(0.005, rel=1e-14)


def test_net_volume_in_another_unit():
    """By hand: a gallon less a quarter of one is 0.75 * 3.785411784 L."""
    assert exact_net_volume(28_800, K, 7200, K, unit="L") == Fraction(3, 4) * Fraction(3_785_411_784, 10**9)


def test_correlation_is_passed_on():
    halves = {"feed_uncertainty": "0.5 %", "return_uncertainty": "0.5 %"}
    assert net_uncertainty("60 gal/h", "48 gal/h", **halves, correlation=1.0) == pytest.approx(0.005, rel=1e-12)


def test_single_precision_is_worked_on_in_double():
    """Ten thousand and one ten-thousandth have no sum in single precision."""
    flows, parts = np.array([1e4, 1e-4], dtype=np.float32), np.array([0.011, 0.023], dtype=np.float32)
    double = sum_uncertainty(flows.astype(float), parts.astype(float), correlation=0.3)
    assert sum_uncertainty(flows, parts, correlation=0.3) == double
    assert sum_uncertainty(flows, parts.astype(float), correlation=0.3) == double
    assert sum_uncertainty(flows.astype(float), parts, correlation=0.3) == double


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: net_flow("384 Hz", K, "480 Hz", K), QuantityError, "more returned than fed"),
        (lambda: exact_net_volume(1, K, 2, K, unit="gal"), QuantityError, "more returned than fed"),
        (lambda: net_flow(480.0, K, "384 Hz", K), QuantityError, "has no unit"),
        (lambda: net_flow("-480 Hz", K, "384 Hz", K), QuantityError, "frequency"),
        (lambda: net_flow("480 gal", K, "384 Hz", K), DimensionError, "frequency"),
        (lambda: net_flow("480 Hz", K, "384 Hz", K, unit="lb/h"), DimensionError, "feed.*mass flow"),
        (lambda: total_flow([], unit="gal/h"), QuantityError, "one pair for each"),
        (lambda: total_flow([("480 Hz", 28_740)], unit="gal/h"), QuantityError, "KFactor"),
        (lambda: exact_total_volume([(1.5, K)], unit="gal"), QuantityError, "whole numbers"),
        (lambda: exact_total_volume([(-1, K)], unit="gal"), QuantityError, "negative"),
        (lambda: exact_total_volume([(1, K)], unit="lb"), DimensionError, "density"),
        (lambda: difference_uncertainty(48.0, 60.0, 0.01, 0.01), QuantityError, "smaller than the feed"),
        (lambda: difference_uncertainty(60.0, 60.0, 0.01, 0.01), QuantityError, "smaller than the feed"),
        (lambda: difference_uncertainty(60.0, 48.0, 0.01, 0.01, 1.5), QuantityError, "correlation"),
        (lambda: sum_uncertainty([1.0, 2.0], [0.1, 0.1], correlation=-0.5), QuantityError, "correlation"),
        (lambda: sum_uncertainty([], []), QuantityError, "positive flow"),
        (lambda: sum_uncertainty([1.0, -2.0], [0.1, 0.1]), QuantityError, "negative"),
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
    ],
)
def test_refusals(call, error, words):
    with pytest.raises(error, match=words) as refusal:
        call()
    assert isinstance(refusal.value, FuelUnitsError)
