"""Uncertainty: published worked examples, Student's t against a statistics library, properties of budgets."""

import math

import numpy as np
import pint
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import integrate, stats
from uncertainties import correlation_matrix, ufloat

from fuelunits.bench.observations import mean_of_repeats, means_of
from fuelunits.errors import DimensionError, FuelUnitsError, OutOfRange, QuantityError
from fuelunits.reference import published
from fuelunits.uncertainty.budget import (
    budget,
    coverage_factor,
    effective_degrees_of_freedom,
    nominal,
    rectangular,
    standard_uncertainty,
    stated,
    triangular,
    uncertain,
)
from fuelunits.uncertainty.conformity import (
    _RANGE_PER_DEVIATION,
    Verdict,
    accepted_spread,
    conformity,
    uncertainty_of_spread,
)
from fuelunits.uncertainty.measured import measured, uncertain_magnitude
from fuelunits.uncertainty.monte_carlo import monte_carlo
from fuelunits.uncertainty.student_t import student_t

SHARES = st.lists(st.tuples(st.floats(0.5, 2.0), st.floats(0.01, 1.0)), min_size=2, max_size=5)


# published values: JCGM 100:2008 H.1, H.2 and 7.2.2, QUAM A1, the repeatability table of API MPMS 4.8 (recalled)


@pytest.mark.parametrize("row", published("uncertainty"), ids=lambda row: f"{row.what} {row.printed}")
def test_published_values(row):
    assert row.recomputed().passed


def test_ignoring_the_correlation_of_h2_gives_another_impedance_uncertainty():
    # JCGM 100:2008 H.2.3 prints u(Z) = 0.236 ohm
    voltages, currents = [5.007, 4.994, 5.005, 4.990, 4.999], [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]
    voltage, current = means_of({"V": voltages, "I": currents})
    assert round((voltage / current).std_dev, 3) == 0.236
    (alone_v,), (alone_i,) = means_of({"V": voltages}), means_of({"I": currents})
    assert round((alone_v / alone_i).std_dev, 3) == 0.204
    assert correlation_matrix([voltage, current])[0][1] == pytest.approx(-0.36, abs=0.005)  # table H.2


def test_h1_and_7_2_2_are_stated_as_printed():
    # JCGM 100:2008 H.1.4 and 7.2.2: 50 000 838 nm with 32 nm; 100.021 47 g with 0.35 mg
    assert stated(50_000_838.0, 31.66) == ("50000838", "32")
    assert stated(100.02147, 0.00035) == ("100.02147", "0.00035")


# Student's t


@pytest.mark.parametrize("probability", [0.1, 0.5, 0.6827, 0.9, 0.95, 0.9545, 0.99, 0.9973, 0.9999])
@pytest.mark.parametrize("degrees", [*range(1, 31), 50, 99, 500, 999, 1000, 1001, 5000, 10**6])
def test_student_t_against_scipy(probability, degrees):
    assert student_t(probability, degrees) == pytest.approx(stats.t.ppf((1 + probability) / 2, degrees), rel=2e-10)


def test_student_t_at_its_ends():
    assert student_t(0.95, math.inf) == pytest.approx(stats.norm.ppf(0.975), rel=1e-12)
    assert student_t(0.0, 5) == 0.0
    assert student_t(0.99, 16.9) == student_t(0.99, 16)  # taken down
    assert math.isnan(student_t(math.nan, 5))
    assert math.isnan(student_t(0.95, math.nan))
    for probability, degrees in ((1.0, 5), (-0.1, 5), (0.95, 0.5)):
        with pytest.raises(OutOfRange):
            student_t(probability, degrees)


def test_coverage_of_infinite_degrees_is_two():
    assert coverage_factor(uncertain(1.0, 0.1, name="a")) == pytest.approx(2.0, abs=1e-4)
    assert coverage_factor(uncertain(1.0, 0.1, name="a", degrees_of_freedom=9), probability=0.95) == pytest.approx(
        stats.t.ppf(0.975, 9)
    )


# inputs


def test_an_input_shows_its_name():
    assert repr(uncertain(1.2, 0.1, name="air density")) == "< air density = 1.2+/-0.1 >"


def test_uncertain_numbers():
    assert uncertain(3.0, 0.0, name="exact") == 3.0
    assert isinstance(uncertain(3, 0.0, name="exact"), float)
    assert rectangular(1.0, 0.3, name="a").std_dev == pytest.approx(0.3 / math.sqrt(3))
    assert triangular(1.0, 0.6, name="a").std_dev == pytest.approx(0.6 / math.sqrt(6))
    for wrong in (-0.1, math.nan, math.inf):
        with pytest.raises(QuantityError, match="reading"):
            uncertain(1.0, wrong, name="reading")
    with pytest.raises(QuantityError, match="degrees"):
        uncertain(1.0, 0.1, name="reading", degrees_of_freedom=0)


@pytest.mark.parametrize(
    ("value", "u", "unit", "number", "spread"),
    [
        ("28.702 kg", "1.5 g", "kg", 28.702, 0.0015),
        ("28.702 kg", "0.01 %", "kg", 28.702, 0.0028702),
        ("20.1 degC", "0.1 degC", "degC", 20.1, 0.1),
        ("20.1 degC", "0.18 degF", "degC", 20.1, 0.1),
        ("20.1 degC", "0.1 K", "degC", 20.1, 0.1),
        ("68 degF", "0.1 delta_degC", "degF", 68.0, 0.18),
        ("0.8021 kg/L", "0.1 kg/m^3", "kg/m^3", 802.1, 0.1),
        ("2 min", "0.01 s", "s", 120.0, 0.01),
    ],
)
def test_measured_text(value, u, unit, number, spread):
    found = uncertain_magnitude(measured(value, u, name="x"), unit, name="x")
    assert found.nominal_value == pytest.approx(number)
    assert found.std_dev == pytest.approx(spread)


@pytest.mark.parametrize("offsets", [False, True])
def test_measured_pint_keeps_its_registry_and_its_identity(offsets):
    ureg = pint.UnitRegistry(autoconvert_offset_to_baseunit=offsets)
    mass = measured(ureg.Quantity(28_702.0, "gram"), ureg.Quantity(1.5, "gram"), name="reading")
    assert type(mass) is ureg.Quantity
    in_kg, in_lb = (uncertain_magnitude(mass, unit, name="reading") for unit in ("kg", "lb"))
    assert (in_kg / 0.45359237 - in_lb).std_dev == pytest.approx(0.0, abs=1e-12)  # one cause, in two units
    warm = measured(ureg.Quantity(20.1, "degC"), ureg.Quantity(0.1, "delta_degC"), name="liquid")
    assert uncertain_magnitude(warm, "degC", name="liquid").std_dev == pytest.approx(0.1)
    with pytest.raises(DimensionError, match="difference"):
        measured(ureg.Quantity(20.1, "degC"), ureg.Quantity(0.1, "degC"), name="liquid")


def test_measured_refuses():
    with pytest.raises(QuantityError, match="unit"):
        measured(28.7, "1 g", name="reading")
    with pytest.raises(DimensionError):
        measured("28.7 kg", "1 mL", name="reading")
    with pytest.raises(DimensionError, match="nothing"):
        measured("20 degC", "1 %", name="liquid")
    with pytest.raises(QuantityError):
        measured("28.7 kg", "-1 g", name="reading")
    with pytest.raises(QuantityError, match="array"):
        measured(pint.UnitRegistry().Quantity(np.array([1.0, 2.0]), "kg"), "1 g", name="reading")
    with pytest.raises(DimensionError):
        uncertain_magnitude(measured("28.7 kg", "1 g", name="reading"), "L", name="volume")


# budgets


@given(SHARES)
@settings(max_examples=30, deadline=None)
def test_budget_adds_up_and_relative_form_holds(parts):
    inputs = [uncertain(value, value * u * 1e-3, name=f"x{i}") for i, (value, u) in enumerate(parts)]
    product = math.prod(inputs[1:], start=inputs[0])
    rows = budget(product)
    assert sum(row.share for row in rows) == pytest.approx(1.0)
    assert math.hypot(*(row.contribution for row in rows)) == pytest.approx(product.std_dev)
    assert [row.contribution for row in rows] == sorted((row.contribution for row in rows), reverse=True)
    for row in rows:
        assert abs(row.sensitivity) * row.standard_uncertainty == pytest.approx(row.contribution)
    # JCGM 100:2008, 5.1.6: relative variances of a product add
    relative = math.hypot(*(u * 1e-3 for _, u in parts))
    assert standard_uncertainty(product) / nominal(product) == pytest.approx(relative)


def test_budget_of_plain_and_of_unnamed_numbers():
    assert budget(3.0) == ()
    assert effective_degrees_of_freedom(3.0) == math.inf
    (named,), (unnamed,) = budget(ufloat(1.0, 0.1, "reading")), budget(ufloat(1.0, 0.1))
    assert (named.name, unnamed.name) == ("reading", "(no name)")
    cause = uncertain(1.0, 0.1, name="a")
    assert budget(cause - cause) == ()


@given(st.lists(st.tuples(st.floats(0.1, 10.0), st.integers(1, 50)), min_size=1, max_size=5))
@settings(max_examples=30, deadline=None)
def test_effective_degrees_lie_between_the_fewest_and_all_together(parts):
    total = sum(uncertain(0.0, u, name="x", degrees_of_freedom=degrees) for u, degrees in parts)
    effective = effective_degrees_of_freedom(total)
    assert min(degrees for _, degrees in parts) <= effective * (1 + 1e-12)
    assert effective <= sum(degrees for _, degrees in parts) * (1 + 1e-12)


# rounding


@pytest.mark.parametrize(
    ("value", "u", "shown"),
    [
        (7592.3046, 0.9961, ("7592.3", "1.0")),
        (7592.3046, 0.0996, ("7592.30", "0.10")),
        (7592.3046, 123.0, ("7590", "120")),
        (7592.3046, 0.125, ("7592.30", "0.13")),
        (-0.00312, 0.00020, ("-0.00312", "0.00020")),
        (0.0, 2.0, ("0.0", "2.0")),
        (1e20, 1e-12, ("100000000000000000000.0000000000000", "0.0000000000010")),
    ],
)
def test_stated(value, u, shown):
    assert stated(value, u) == shown


def test_stated_with_one_digit_and_refusals():
    assert stated(7592.3046, 0.27, digits=1) == ("7592.3", "0.3")
    for value, u in ((1.0, 0.0), (1.0, -1.0), (1.0, math.nan), (math.nan, 1.0)):
        with pytest.raises(QuantityError):
            stated(value, u)
    with pytest.raises(QuantityError):
        stated(1.0, 0.1, digits=3)


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e3))
@settings(max_examples=50, deadline=None)
def test_stated_is_within_half_a_digit(value, u):
    shown, spread = stated(value, u)
    digit = 10.0 ** (math.floor(math.log10(float(spread))) - 1)
    assert abs(float(shown) - value) <= 0.5 * digit * (1 + 1e-6)
    assert abs(float(spread) - u) <= 0.05 * float(spread) * (1 + 1e-6)


# repeated results


def test_repeats_scatter_more_than_their_inputs_say():
    values = [10.0, 10.3, 9.8, 10.1]
    shared = uncertain(0.0, 0.05, name="shared")
    mean = mean_of_repeats([uncertain(v, 0.01, name="reading") + shared for v in values], name="repeatability")
    scatter = np.std(values, ddof=1) / 2.0
    assert nominal(mean) == pytest.approx(np.mean(values))
    assert mean.std_dev == pytest.approx(math.hypot(scatter, 0.05))  # the readings show in the scatter: once
    rows = {row.name: row for row in budget(mean)}
    assert set(rows) == {"repeatability", "shared"}
    assert rows["repeatability"].degrees_of_freedom == 3


def test_repeats_scatter_less_than_their_inputs_say():
    shared = uncertain(0.0, 0.05, name="shared")
    mean = mean_of_repeats([uncertain(v, 0.4, name="reading") + shared for v in (10.0, 10.1)], name="repeatability")
    assert mean.std_dev == pytest.approx(math.hypot(0.4 / math.sqrt(2), 0.05))


def test_one_result_is_its_own_mean():
    only = uncertain(10.0, 0.4, name="reading")
    assert mean_of_repeats([only], name="repeatability").std_dev == pytest.approx(0.4)


def test_means_of_refuses_unequal_series():
    with pytest.raises(FuelUnitsError, match="same number"):
        means_of({"a": [1.0, 2.0], "b": [1.0]})
    with pytest.raises(FuelUnitsError):
        means_of({"a": [1.0]})


# spread of runs


@pytest.mark.parametrize("runs", sorted(_RANGE_PER_DEVIATION))
def test_d2_is_the_expected_range_of_normal_values(runs):
    def excess(x):
        below = stats.norm.cdf(x)
        return 1.0 - below**runs - (1.0 - below) ** runs

    expected, _ = integrate.quad(excess, -9.0, 9.0)
    assert _RANGE_PER_DEVIATION[runs] == pytest.approx(expected, abs=0.00051)


@given(st.integers(3, 10), st.floats(1e-5, 1.0), st.floats(0.5, 0.999))
@settings(max_examples=30, deadline=None)
def test_spread_and_uncertainty_are_inverse(runs, wanted, probability):
    spread = accepted_spread(runs, wanted, probability=probability)
    assert uncertainty_of_spread(runs, spread, probability=probability) == pytest.approx(wanted)


def test_spread_of_arrays_and_refusals():
    wanted = np.array([[0.027, 0.05, math.nan]])
    kept = wanted.copy()
    assert accepted_spread(5, wanted).shape == (1, 3)
    assert accepted_spread(5, wanted)[0, 0] == accepted_spread(5, 0.027)
    assert np.array_equal(wanted, kept, equal_nan=True)
    for runs in (2, 11):
        with pytest.raises(OutOfRange, match="runs"):
            accepted_spread(runs, 0.027)
    with pytest.raises(QuantityError, match="whole"):
        accepted_spread(5.5, 0.027)


# conformity


@pytest.mark.parametrize(
    ("error", "verdict"),
    [
        (0.0, Verdict.ACCEPT),
        (0.007, Verdict.ACCEPT),
        (-0.0075, Verdict.ACCEPT),
        (0.0085, Verdict.ACCEPT_WITHIN_GUARD),
        (-0.01, Verdict.ACCEPT_WITHIN_GUARD),
        (0.0101, Verdict.REJECT),
        (-0.02, Verdict.REJECT),
    ],
)
def test_verdicts(error, verdict):
    found = conformity(error, 0.0025, 0.01)
    assert found.verdict is verdict
    assert found.accepted == (verdict is Verdict.ACCEPT)
    assert str(found).startswith(verdict.value)
    assert found.as_dict()["verdict"] == verdict.value


def test_guard_bands():
    assert conformity(0.0099, 0.0025, 0.01, guard=0.0).accepted
    assert conformity(0.0086, 0.0025, 0.01, guard=0.5).accepted
    hopeless = conformity(0.0, 0.012, 0.01)
    assert not hopeless.accepted
    assert not hopeless.decidable
    assert "no room" in str(hopeless)
    for wrong in ((0.1, -0.1, 1.0), (0.1, 0.1, 0.0), (math.nan, 0.1, 1.0), (0.1, math.nan, 1.0), (0.1, 0.1, math.inf)):
        with pytest.raises(QuantityError):
            conformity(*wrong)


@given(st.floats(-2.0, 2.0), st.floats(0.01, 0.9), st.floats(0.1, 1000.0))
@settings(max_examples=40, deadline=None)
def test_verdict_knows_no_sign_and_no_unit(error, u, scale):
    assume(min(abs(abs(error) - limit) for limit in (1.0, 1.0 - u)) > 1e-9)
    verdict = conformity(error, u, 1.0).verdict
    assert conformity(-error, u, 1.0).verdict is verdict
    assert conformity(error * scale, u * scale, scale).verdict is verdict


# drawing


def test_monte_carlo_keeps_correlation_and_exact_inputs():
    cause = uncertain(5.0, 0.1, name="cause")
    difference = monte_carlo(lambda a, b, c: a - b + c, (cause, 2.0 * cause, 7.0), seed=3, draws=200_000)
    assert difference.std(ddof=1) == pytest.approx(0.1, rel=0.01)
    assert difference.mean() == pytest.approx(2.0, abs=0.001)
    same = monte_carlo(lambda a, b: a - b, (cause, cause), seed=3, draws=1000)
    assert np.abs(same).max() < 1e-6
    assert np.array_equal(
        monte_carlo(lambda a: a, (cause,), seed=1, draws=10), monte_carlo(lambda a: a, (cause,), seed=1, draws=10)
    )
    assert monte_carlo(lambda a: a, (2.0,), seed=1, draws=4).tolist() == [2.0] * 4
