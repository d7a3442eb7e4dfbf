"""Uncertainty: published worked examples, Student's t against a statistics library, properties of budgets."""

import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pint
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from monte_carlo import monte_carlo
from registries import ONE_REGISTRY
from scipy import stats
from uncertainties import correlation_matrix, ufloat

from fuelunits.bench.calibration import mean_of_repeats
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.indicators.endurance import endurance
from fuelunits.indicators.fill_ups import FillUp
from fuelunits.reference.recipes import means_of
from fuelunits.uncertainty.budget import (
    budget,
    correlated_inputs,
    coverage_factor,
    degrees_of_coverage,
    effective_degrees_of_freedom,
    nominal,
    rectangular,
    round_to_uncertainty,
    standard_uncertainty,
    student_probability,
    student_t,
    triangular,
    uncertain,
    unclear_causes,
)
from fuelunits.uncertainty.decisions import Verdict, conformance_probability, conformity
from fuelunits.uncertainty.measured import measured, uncertain_amount, uncertain_magnitude

SHARES = st.lists(st.tuples(st.floats(0.5, 2.0), st.floats(0.01, 1.0)), min_size=2, max_size=5)


def test_ignoring_the_correlation_of_h2_gives_another_impedance_uncertainty():
    # JCGM 100:2008 H.2.3 prints u(Z) = 0.236 ohm
    voltages, currents = [5.007, 4.994, 5.005, 4.990, 4.999], [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]
    voltage, current = means_of({"V": voltages, "I": currents})
    assert round((voltage / current).std_dev, 3) == 0.236
    (alone_v,), (alone_i,) = means_of({"V": voltages}), means_of({"I": currents})
    assert round((alone_v / alone_i).std_dev, 3) == 0.204
    assert correlation_matrix([voltage, current])[0][1] == pytest.approx(-0.36, abs=0.005)  # table H.2


def test_one_effective_number_of_degrees_is_that_of_h1_and_the_factor_by_cause_is_wider():
    # JCGM 100:2008 H.1.6: 16 degrees of freedom, k = 2.92 for 99 %; by hand, the parts of table H.1 in nm
    parts = [(25.0, 18), (5.8, 24), (3.9, 5), (6.7, 8), (2.9, 50), (16.6, 2)]
    length = sum(uncertain(0.0, u, name="part", degrees_of_freedom=degrees) for u, degrees in parts)
    assert math.floor(effective_degrees_of_freedom(length)) == 16
    assert round(student_t(0.99, effective_degrees_of_freedom(length)), 2) == 2.92
    by_hand = math.hypot(*(u * stats.t.ppf(0.97725, degrees) for u, degrees in parts)) / length.std_dev
    assert coverage_factor(length) == pytest.approx(by_hand)
    assert round(coverage_factor(length), 2) == 3.01


def test_h1_and_7_2_2_are_stated_as_printed():
    # JCGM 100:2008 H.1.4 and 7.2.2: 50 000 838 nm with 32 nm; 100.021 47 g with 0.35 mg
    assert round_to_uncertainty(50_000_838.0, 31.66) == ("50000838", "32")
    assert round_to_uncertainty(100.02147, 0.00035) == ("100.02147", "0.00035")


# Student's t


@pytest.mark.parametrize("probability", [0.1, 0.5, 0.6827, 0.9, 0.95, 0.9545, 0.99, 0.9973, 0.9999])
@pytest.mark.parametrize("degrees", [*range(1, 31), 50, 99, 500, 999, 1000])
def test_student_t_against_scipy(probability, degrees):
    assert student_t(probability, degrees) == pytest.approx(stats.t.ppf((1 + probability) / 2, degrees), rel=2e-10)


@pytest.mark.parametrize("degrees", [1000.5, 1001, 5000, 10**6])
def test_student_t_of_many_degrees_is_wide_by_a_quarter_of_a_percent_at_most(degrees):
    for probability in (0.5, 0.9545, 0.9973):
        exact = stats.t.ppf((1 + probability) / 2, degrees)
        assert exact <= student_t(probability, degrees) <= exact * 1.0026


G_2_COLUMNS = ((0.6827, 1), (0.90, 0), (0.95, 0), (0.9545, 2), (0.99, 0), (0.9973, 3))
TABLE_G_2 = """
dof 0.6827   0.90   0.95 0.9545   0.99 0.9973
  1   1.84   6.31      -  13.97      - 235.80
  2   1.32   2.92   4.30   4.53   9.92  19.21
  3   1.20   2.35      -      -   5.84      -
  4      -      -   2.78   2.87   4.60   6.62
  5      -      -   2.57      -   4.03   5.51
  6      -   1.94   2.45   2.52   3.71   4.90
  7      -   1.89      -      -   3.50   4.53
  8   1.07   1.86      -      -      -      -
  9   1.06      -      -   2.32   3.25      -
 10   1.05   1.81      -   2.28      -   3.96
 11   1.05      -   2.20   2.25      -      -
 12   1.04   1.78      -   2.23   3.05   3.76
 13      -      -      -      -      -   3.69
 14   1.04      -      -      -   2.98   3.64
 15      -   1.75      -      -   2.95   3.59
 16      -   1.75   2.12      -      -      -
 17      -   1.74   2.11      -   2.90   3.51
 18   1.03   1.73      -   2.15   2.88      -
 19   1.03   1.73   2.09      -   2.86      -
 20   1.03   1.72   2.09   2.13      -   3.42
 25   1.02      -   2.06      -      -   3.33
 30   1.02   1.70   2.04   2.09   2.75   3.27
 35      -      -   2.03   2.07      -   3.23
 40   1.01   1.68   2.02   2.06   2.70   3.20
 45      -   1.68   2.01      -      -   3.18
 50   1.01      -      -   2.05      -   3.16
100  1.005  1.660      -  2.025  2.626  3.077
inf  1.000      -  1.960  2.000  2.576  3.000
"""


@pytest.mark.parametrize("line", TABLE_G_2.split("\n")[2:-1], ids=lambda line: line.split()[0])
def test_table_g_2_of_the_guide(line):
    # JCGM 100:2008, table G.2 (seen); its 68.27, 95.45 and 99.73 % are those of k = 1, 2 and 3
    probabilities = [math.erf(k / math.sqrt(2.0)) if k else p for p, k in G_2_COLUMNS]
    degrees, *printed = line.split()
    for probability, text in zip(probabilities, printed, strict=True):
        if text != "-":
            assert f"{student_t(probability, float(degrees)):.{len(text.partition('.')[2])}f}" == text


def test_student_t_at_its_ends():
    assert student_t(0.95, math.inf) == pytest.approx(stats.norm.ppf(0.975), rel=1e-12)
    assert student_t(0.0, 5) == 0.0
    assert student_t(0.99, 16.9) == student_t(0.99, 16)  # taken down
    for probability, degrees in ((1.0, 5), (-0.1, 5), (0.95, 0.5), (0.95, math.nan), (math.nan, 5)):
        with pytest.raises(FuelUnitsError):
            student_t(probability, degrees)


def test_probability_is_the_inverse_of_t():
    for degrees in (1, 2, 7, 1000, math.inf):
        for t in (0.0, 0.3, 2.0, 5.0):
            expected = 2.0 * stats.t.cdf(t, degrees) - 1.0
            assert student_probability(t, degrees) == pytest.approx(expected, abs=1e-7)


def test_coverage_of_infinite_degrees_is_two():
    assert coverage_factor(uncertain(1.0, 0.1, name="a")) == pytest.approx(2.0, abs=1e-4)
    assert coverage_factor(uncertain(1.0, 0.1, name="a", degrees_of_freedom=9), probability=0.95) == pytest.approx(
        stats.t.ppf(0.975, 9)
    )


@pytest.mark.parametrize("degrees", [1, 2, 5, 100, 999])
def test_degrees_of_coverage_are_the_most_that_need_the_factor(degrees):
    factor, next_factor = (stats.t.ppf(0.97725, each) for each in (degrees, degrees + 1))
    assert degrees_of_coverage(factor * 0.9999999) == degrees_of_coverage(next_factor * 1.0000001) == degrees
    assert (degrees_of_coverage(20.0), degrees_of_coverage(2.0)) == (1.0, math.inf)


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
    for half_width in (rectangular, triangular):
        assert half_width(1.0, 0.0, name="exact") == 1.0
        with pytest.raises(QuantityError, match="half_width"):
            half_width(1.0, -0.1, name="reading")
    with pytest.raises(QuantityError, match="degrees"):
        uncertain(1.0, 0.1, name="reading", degrees_of_freedom=0)


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_has_no_uncertainty_and_no_probability(wrong):
    kg, litres = (lambda number: pint.Quantity(number, "kg")), (lambda number: pint.Quantity(number, "L"))
    for call in (
        lambda: uncertain(wrong, 0.1, name="x"),
        lambda: rectangular(wrong, 0.1, name="x"),
        lambda: triangular(wrong, 0.1, name="x"),
        lambda: measured(kg(wrong), "1 g", name="x"),
        lambda: measured("1 kg", kg(wrong), name="x"),
        lambda: correlated_inputs({"a": wrong}, [[1.0]]),
        lambda: correlated_inputs({"a": 1.0, "b": 1.0}, [[1.0, wrong], [wrong, 1.0]]),
        lambda: correlated_inputs({"a": 1.0}, [[1.0]], degrees_of_freedom=-abs(wrong)),
        lambda: uncertain_magnitude(litres(ufloat(400.0, math.nan)), "L", name="x"),
        lambda: endurance(litres(ufloat(400.0, math.nan)), "60 L/h"),
        lambda: FillUp(indicated="400 L", delivered="399 L", truck_factor=ufloat(1.0, math.nan)),
        lambda: conformance_probability(wrong, 1.0, upper=2.0),
        lambda: conformance_probability(0.0, 1.0, upper=2.0, degrees_of_freedom=-abs(wrong)),
    ):
        with pytest.raises(FuelUnitsError):
            call()
    for beyond in (1.001, -1.001):
        with pytest.raises(FuelUnitsError):
            correlated_inputs({"a": 1.0, "b": 1.0}, [[1.0, beyond], [beyond, 1.0]])
    assert correlated_inputs({"a": 1.0, "b": 1.0}, [[4.0, -4.0], [-4.0, 4.0]])[0].std_dev == 2.0


def test_a_covariance_that_cannot_be_is_refused():
    impossible = [[1.0, 0.9, -0.9], [0.9, 1.0, 0.9], [-0.9, 0.9, 1.0]]  # has an eigenvalue of -0.8
    for covariance in (
        impossible,
        np.array([[1.0, 1e3, 1e3], [1e3, 1e6, 1e6], [1e3, 1e6, 1e6]]) * impossible,  # in other units too
        *([[1.0, 0.5], [other, 1.0]] for other in (-0.5, 0.4)),
        *([[1.0, 0.5]], [[1.0, 0.5], [1.0]], [1.0, 1.0], [[[1.0]]], 1.0, "1 0", None),
        *([[-1.0, 0.0], [0.0, 1.0]], [[0.0, 0.05], [0.05, 1.0]]),
    ):
        values = dict.fromkeys("abc"[: len(covariance) if isinstance(covariance, (list, np.ndarray)) else 1], 1.0)
        with pytest.raises(QuantityError):
            correlated_inputs(values, covariance)
    # correlations printed with two digits may be just beyond what is possible: u stays that stated within 0.5 %
    for each in correlated_inputs(dict.fromkeys("abc", 1.0), [[1.0, 0.87, 0.5], [0.87, 1.0, 0.87], [0.5, 0.87, 1.0]]):
        assert each.std_dev == pytest.approx(1.0, rel=5e-3)


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


def test_an_amount_follows_its_density_and_one_without_uncertainty_is_exact():
    volume, density = measured("100.1 L", "0.2 L", name="volume"), measured("0.8 kg/L", "0.004 kg/L", name="density")
    assert uncertain_amount("100.1 L", "gal", name="x") == Fraction("100.1") / Fraction("3.785411784")
    mass = uncertain_amount(volume, "kg", name="x", density=density)
    assert mass.nominal_value == pytest.approx(80.08)
    assert (mass / volume.m_as("L") / density.m_as("kg/m^3")).std_dev == pytest.approx(0.0, abs=1e-12)
    back = uncertain_amount(mass * pint.Unit("kg"), "L", name="x", density=density)
    assert (back - volume.m_as("L")).std_dev == pytest.approx(0.0, abs=1e-9)
    poor = [measured("0.8 kg/L", u, name="density") for u in ("5 %", "5.01 %")]
    assert uncertain_amount(volume, "kg", name="x", density=poor[0]).std_dev > 4.0
    with pytest.raises(QuantityError, match="5 %"):
        uncertain_amount(volume, "kg", name="x", density=poor[1])
    same = uncertain_amount(volume, "gal", name="x", density=density)
    assert (same.nominal_value, same.std_dev) == pytest.approx((100.1 / 3.785411784, 0.2 / 3.785411784))


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


def test_an_expanded_uncertainty_is_divided_by_its_coverage_factor():
    found = measured("28.702 kg", expanded_uncertainty="3 g", coverage_factor=2.0, name="reading")
    assert found.m_as("kg").std_dev == pytest.approx(0.0015)
    assert measured("20 degC", expanded_uncertainty="0.3 degC", coverage_factor=3, name="t").m.std_dev == (
        pytest.approx(0.1)
    )
    for wrong in ({}, {"uncertainty": "1 g", "expanded_uncertainty": "2 g"}):
        with pytest.raises(QuantityError, match="either"):
            measured("28.702 kg", name="reading", **wrong)
    widest = stats.t.ppf(0.995, 1)  # k of 99 %, of one degree of freedom
    assert measured("1 kg", expanded_uncertainty="3 g", coverage_factor=widest, name="reading").m.std_dev > 0.0
    assert conformity(0.0, 0.1, 1.0, coverage_factor=widest, degrees_of_freedom=1).verdict is Verdict.ACCEPT
    for wrong in (0, 0.95, 95, 99.0, math.nan):  # the coverage as a fraction, and in per cent
        with pytest.raises(FuelUnitsError, match="coverage factor"):
            measured("28.702 kg", expanded_uncertainty="3 g", coverage_factor=wrong, name="reading")
        with pytest.raises(FuelUnitsError, match="coverage factor"):
            conformity(0.0, 0.1, 1.0, coverage_factor=wrong)


def test_measured_refuses():
    with pytest.raises(QuantityError, match="unit"):
        measured(28.7, "1 g", name="reading")
    with pytest.raises(DimensionError):
        measured("28.7 kg", "1 mL", name="reading")
    for nothing in ("20 degC", "0 degF", "0 delta_degC", "0 kg", "0.0 L/h"):  # a percentage of it is no uncertainty
        for stated in ({"uncertainty": "1 %"}, {"expanded_uncertainty": "1 %"}):
            with pytest.raises(DimensionError, match="1 % of"):
                measured(nothing, **stated, name="liquid")
    with pytest.raises(QuantityError):
        measured("28.7 kg", "-1 g", name="reading")
    with pytest.raises(QuantityError, match="array"):
        measured(ONE_REGISTRY.Quantity(np.array([1.0, 2.0]), "kg"), "1 g", name="reading")
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
    assert budget(uncertain(1.0, 1e-200, name="its variance is no longer a float")) == ()


@given(st.lists(st.tuples(st.floats(0.1, 10.0), st.integers(1, 50)), min_size=1, max_size=5))
@settings(max_examples=30, deadline=None)
def test_effective_degrees_lie_between_the_fewest_and_all_together(parts):
    total = sum(uncertain(0.0, u, name="x", degrees_of_freedom=degrees) for u, degrees in parts)
    effective = effective_degrees_of_freedom(total)
    assert min(degrees for _, degrees in parts) <= effective * (1 + 1e-12)
    assert effective <= sum(degrees for _, degrees in parts) * (1 + 1e-12)


# rounding


@pytest.mark.parametrize(
    ("value", "u", "displayed"),
    [
        (11412.3046, 0.9961, ("11412.3", "1.0")),
        (11412.3046, 0.0996, ("11412.30", "0.10")),
        (11412.3046, 123.0, ("11410", "120")),
        (11412.3046, 0.125, ("11412.30", "0.13")),
        (-0.00312, 0.00020, ("-0.00312", "0.00020")),
        (0.0, 2.0, ("0.0", "2.0")),
        (1e20, 1e-12, ("100000000000000000000.0000000000000", "0.0000000000010")),
    ],
)
def test_round_to_uncertainty(value, u, displayed):
    assert round_to_uncertainty(value, u) == displayed


def test_refusals_of_rounding():
    for value, u in ((1.0, 0.0), (1.0, -1.0), (1.0, math.nan), (math.nan, 1.0)):
        with pytest.raises(QuantityError):
            round_to_uncertainty(value, u)


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e3))
@settings(max_examples=50, deadline=None)
def test_stated_is_within_half_a_digit(value, u):
    displayed, spread = round_to_uncertainty(value, u)
    half_digit = Decimal(5).scaleb(Decimal(spread).adjusted() - 2)
    assert abs(Decimal(displayed) - Decimal(repr(value))) <= half_digit
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


def test_joint_observations_keep_their_joint_degrees_of_freedom():
    # JCGM 100:2008 H.2: five sets of simultaneous observations, 4 degrees of freedom for R, X and Z
    voltages, currents = [5.007, 4.994, 5.005, 4.990, 4.999], [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]
    voltage, current = means_of({"V": voltages, "I": currents})
    impedance = voltage / current
    assert effective_degrees_of_freedom(impedance) == pytest.approx(4.0)
    assert coverage_factor(impedance) == pytest.approx(stats.t.ppf(0.97725, 4), rel=1e-3)  # 2.87 in table G.2
    (row,) = budget(impedance)
    assert (row.share, row.contribution) == pytest.approx((1.0, impedance.std_dev))
    assert (row.value, row.standard_uncertainty, row.sensitivity) == (0.0, row.contribution, 1.0)
    assert row.name == "V and I"
    (alone,) = means_of({"V": voltages})
    assert effective_degrees_of_freedom(alone + alone) == pytest.approx(4.0)
    # another set of observations is another cause
    (other,) = means_of({"V": voltages})
    assert effective_degrees_of_freedom(alone + other) == pytest.approx(8.0)


def test_intercept_and_slope_of_h3_have_nine_degrees_together():
    # JCGM 100:2008 H.3: line through 11 points, y1 = -0.1712(29), y2 = 0.00218(67), r = -0.930; the correction at
    # 30 degrees (10 above the reference) is -0.1494 with u = 0.0041
    u1, u2, r = 0.0029, 0.00067, -0.930
    covariance = [[u1**2, r * u1 * u2], [r * u1 * u2, u2**2]]
    intercept, slope = correlated_inputs({"y1": -0.1712, "y2": 0.00218}, covariance, degrees_of_freedom=9)
    correction = intercept + 10.0 * slope
    assert correction.nominal_value == pytest.approx(-0.1494, abs=5e-5)
    assert correction.std_dev == pytest.approx(0.0041, abs=1e-4)
    assert effective_degrees_of_freedom(correction) == pytest.approx(9.0)
    assert len(budget(correction)) == 1
    for variance in (-0.01, math.nan):
        with pytest.raises(QuantityError, match="negative"):
            correlated_inputs({"a": 1.0}, [[variance]])


def test_h3_from_its_eleven_readings_and_the_coverage_of_its_line():
    # the readings of table H.6, from memory; fitted here by numpy, they give the figures that the Guide prints
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    design = np.vander(np.array(t) - 20.0, 2, increasing=True)
    inverse = np.linalg.inv(design.T @ design)

    def correction_at_30(readings):
        line = inverse @ design.T @ readings
        variance = float(((readings - design @ line) ** 2).sum()) / 9.0
        named = dict(zip("ab", line.tolist(), strict=True))
        intercept, slope = correlated_inputs(named, (variance * inverse).tolist(), degrees_of_freedom=9)
        return intercept, slope, intercept + 10.0 * slope

    for found, printed in zip(
        correction_at_30(np.array(b)), ("-0.1712(29)", "0.00218(67)", "-0.1494(41)"), strict=True
    ):
        value, _, last = printed.rstrip(")").partition("(")
        place = len(value.partition(".")[2])
        assert (f"{found.nominal_value:.{place}f}", f"{found.std_dev * 10**place:.0f}") == (value, last)
    generator, covered, trials = np.random.default_rng(3), 0, 500
    for _ in range(trials):
        found = correction_at_30(design @ [-0.1712, 0.00218] + generator.normal(0.0, 0.0035, 11))[2]
        covered += abs(found.nominal_value + 0.1712 - 0.0218) <= coverage_factor(found) * found.std_dev
    assert covered / trials == pytest.approx(0.9545, abs=3.0 * (0.0455 / trials) ** 0.5)


@pytest.mark.parametrize("degrees", [1, 2, 3, 4, 9, 17])
@pytest.mark.parametrize("noise", [-4e-16, 4e-16, -1e-12])
def test_noise_does_not_take_a_degree_of_freedom_down(degrees, noise):
    assert student_t(0.95, degrees * (1.0 + noise)) == student_t(0.95, degrees)
    assert student_t(0.95, degrees + 0.999) == student_t(0.95, degrees)


@given(st.lists(st.floats(0.01, 100.0), min_size=1, max_size=6), st.integers(1, 30))
@settings(max_examples=100, deadline=None)
def test_parts_of_one_cause_have_its_degrees(slopes, degrees):
    cause = uncertain(1.0, 0.1, name="a", degrees_of_freedom=degrees)
    total = sum(slope * cause for slope in slopes)
    assert coverage_factor(total) == pytest.approx(student_t(0.9545, degrees), rel=1e-12)


def test_repeats_scatter_less_than_their_inputs_say():
    shared = uncertain(0.0, 0.05, name="shared")
    mean = mean_of_repeats([uncertain(v, 0.4, name="reading") + shared for v in (10.0, 10.1)], name="repeatability")
    assert mean.std_dev == pytest.approx(math.hypot(0.4 / math.sqrt(2), 0.05))
    rows = {row.name: row.degrees_of_freedom for row in budget(mean)}
    assert rows == {"repeatability": 1, "shared": math.inf}  # two results do not show that nothing else acts


def test_a_known_repeatability_has_no_few_degrees():
    mean = mean_of_repeats([10.0, 10.1], name="repeatability", repeatability=0.04)
    assert mean.std_dev == pytest.approx(0.04 * 10.05 / math.sqrt(2))
    assert effective_degrees_of_freedom(mean) == math.inf
    # less scatter (0.05) than the readings alone make (0.283), and more than was known (0.0071): nothing is estimated
    wide = [uncertain(value, 0.4, name="reading") for value in (10.0, 10.1)]
    assert math.isinf(budget(mean_of_repeats(wide, name="repeatability", repeatability=0.001))[0].degrees_of_freedom)
    refuted = mean_of_repeats([10.0, 12.0], name="repeatability", repeatability=0.04)
    assert refuted.std_dev == pytest.approx(1.0)
    assert effective_degrees_of_freedom(refuted) == 1
    assert mean_of_repeats([10.0], name="repeatability", repeatability=0.04).std_dev == pytest.approx(0.4)
    # by hand: 7 and 9 have the mean 8, and that the standard deviation 1, also where a 1/(4√2) of a run is known
    for known, degrees in ((math.sqrt(2.0) / 8.0, math.inf), (1.4 / 8.0, 1)):
        equal = mean_of_repeats([7.0, 9.0], name="repeatability", repeatability=known)
        assert (equal.std_dev, effective_degrees_of_freedom(equal)) == (pytest.approx(1.0), degrees)


@pytest.mark.parametrize(("apart", "is_noise"), [(1.0, True), (1.00001, False)])
def test_a_scatter_of_one_in_a_thousand_million_is_that_of_arithmetic(apart, is_noise):
    mean = mean_of_repeats([1e9 - apart, 1e9 + apart], name="repeatability")
    assert (standard_uncertainty(mean) == 0.0) is is_noise


def test_the_repeatability_has_the_sensitivity_of_the_mean_itself():
    for values in ([10.0], [10.0, 10.1]):
        (row,) = budget(mean_of_repeats(values, name="repeatability", repeatability=0.04))
        assert (row.value, row.sensitivity) == (0.0, 1.0)


def test_one_result_is_its_own_mean():
    only = uncertain(10.0, 0.4, name="reading")
    assert mean_of_repeats([only], name="repeatability").std_dev == pytest.approx(0.4)


def test_inputs_that_are_alike_are_asked_about_where_it_matters():
    """Three of u = 0.1 are 0.173 together, or 0.3 if they are one cause; readings are taken anew for each value."""
    made = [uncertain(802.1, 0.1, name="density") for _ in range(3)]
    (asked,) = unclear_causes(made, [])
    assert "density is one cause or 3" in asked
    assert unclear_causes(made, made) == unclear_causes(made) == []
    units = ("", "L", "pulse/L", "kg/m^3", "degC", "delta_degC")  # levels and scatter are anew, errors of states not
    zeros = [[uncertain(0.0, 0.1, name="zero", unit=unit) for _ in range(3)] for unit in units]
    assert [len(unclear_causes(each, [])) for each in zeros] == [0, 0, 0, 1, 1, 1]
    differing = [uncertain(802.0 + i, 0.1, name="density") for i in range(3)]
    assert unclear_causes(differing, []) == [asked]
    wider = [uncertain(802.0, 0.1 + i / 100, name="density") for i in range(3)]  # as of litres from one guess of a flow
    assert unclear_causes(wider, []) == [asked]
    pairs = [uncertain(21.0 + i, 0.1, name="T") - uncertain(15.0 + i, 0.1, name="T") for i in range(3)]
    assert ["one cause or 3" in each for each in unclear_causes(pairs, [])] == [True]
    named, nameless = [ufloat(each, each / 99, "T") for each in (21.0, 22.0)], [ufloat(each, 0.1) for each in (21, 22)]
    cases = named, nameless, [sum(nameless)], [nameless[0], nameless[0]]
    assert [len(unclear_causes(each, [])) for each in cases] == [1, 1, 0, 0]
    assert unclear_causes(named, named) == unclear_causes(nameless, nameless) == []
    for other, count in ((0.7, 1), (0.8, 0)):  # 0.06 of variance is a tenth of 0.6
        noise = uncertain(5.0, other, name="noise")
        assert len(unclear_causes([made[0] + noise, *made[1:]], [])) == count


@pytest.mark.parametrize("names", [("truck", "truck ", " truck"), ("truck", "Truck", "TRUCK"), ("a b", "a  b", "A\tb")])
def test_names_that_look_alike_are_one_name(names):
    made = [uncertain(1.0, 0.1, name=name) for name in names]
    assert len(unclear_causes(made, [])) == 1


def test_a_copy_of_a_foreign_number_may_be_the_same_cause():
    foreign = ufloat(802.1, 0.1)
    (asked,) = unclear_causes([foreign, ufloat(802.1, 0.1)])
    assert "is one cause or 2" in asked
    assert unclear_causes([foreign, foreign]) == []


def test_no_factor_covers_nothing():
    for result in (1.0, uncertain(1.0, 0.1, name="x")):
        with pytest.raises(QuantityError, match="coverage probability must be positive"):
            coverage_factor(result, probability=0.0)


# conformity


@pytest.mark.parametrize(
    ("error", "verdict"),
    [
        (0.0, Verdict.ACCEPT),
        (0.007, Verdict.ACCEPT),
        (-0.0075, Verdict.ACCEPT),
        (0.0085, Verdict.CONDITIONAL_ACCEPT),
        (-0.01, Verdict.CONDITIONAL_ACCEPT),
        (0.0101, Verdict.REJECT),
        (-0.02, Verdict.REJECT),
    ],
)
def test_verdicts(error, verdict):
    found = conformity(error, 0.0025, 0.01)
    assert found.verdict is verdict
    assert f"Verdict: {verdict.value}\n" in str(found)
    assert repr(found).endswith(f"{verdict.value}>")
    assert found.as_dict()["verdict"] == verdict.value


def test_guard_bands():
    assert conformity(0.0099, 0.0025, 0.01, guard=0.0).verdict is Verdict.ACCEPT
    assert conformity(0.0086, 0.0025, 0.01, guard=0.5).verdict is Verdict.ACCEPT
    hopeless = conformity(0.0, 0.012, 0.01)
    assert hopeless.verdict is Verdict.UNDECIDED
    assert hopeless.acceptance_limit is None
    assert conformity(0.0, 0.01, 0.01).verdict is Verdict.UNDECIDED
    assert conformity(0.0, 0.3, 1.0, coverage_factor=3.0).guard_band == 0.3  # of more coverage than is needed
    assert conformity(0.02, 0.012, 0.01).verdict is Verdict.REJECT
    for wrong in ((0.1, -0.1, 1.0), (0.1, 0.1, 0.0), (math.nan, 0.1, 1.0), (0.1, math.nan, 1.0), (0.1, 0.1, math.inf)):
        with pytest.raises(QuantityError):
            conformity(*wrong)


@pytest.mark.parametrize(
    "wrong",
    [
        {"degrees_of_freedom": math.nan},
        {"degrees_of_freedom": 0},
        {"coverage_factor": math.nan},
        {"guard": -1.0},
        {"guard": math.nan},
        {"missing": "the repeatability"},
        {"expanded_uncertainty": -0.1},
        {"expanded_uncertainty": np.float64("nan")},
        {"error": True},
        {"error": np.array([0.1])},
    ],
    ids=str,
)
def test_conformity_refuses(wrong):
    with pytest.raises(QuantityError):
        conformity(**{"error": 0.1, "expanded_uncertainty": 0.1, "tolerance": 1.0} | wrong)


def test_conformity_of_scalars_of_numpy():
    kinds = (np.float64, np.array, lambda number: np.float32(number * 8) / 8)
    for kind in kinds:
        assert conformity(kind(0.25), kind(0.125), kind(0.375)).verdict is Verdict.ACCEPT
    assert conformity(np.int64(1), np.int8(1), np.uint64(3)).verdict is Verdict.ACCEPT


@pytest.mark.parametrize("unstated", [None, 0.0])
def test_without_an_uncertainty_nothing_is_decided(unstated):
    found = conformity(0.0, unstated, 0.01)
    assert found.verdict is Verdict.UNDECIDED
    assert "uncertainty" in found.missing[0]
    assert found.missing[0] in " ".join(str(found).split())
    assert found.probability is None
    assert conformity(5.0, 0.001, 0.01, missing=("the repeatability",)).verdict is Verdict.UNDECIDED
    incomplete = conformity(0.001, 0.002, 0.01, missing=("the repeatability",))
    assert "acceptance limit" not in str(incomplete)
    assert "acceptance limit" in str(conformity(0.001, 0.002, 0.01))


@pytest.mark.parametrize(
    ("error", "u", "limit", "verdict"),
    [
        (0.2, 0.1, 0.3, Verdict.ACCEPT),  # 0.3 - 0.1 is below 0.2 in binary
        (-0.2, 0.1, 0.3, Verdict.ACCEPT),
        (0.1 + 0.2, 0.01, 0.3, Verdict.CONDITIONAL_ACCEPT),  # above 0.3 in binary
        (0.7, 0.1, 0.8, Verdict.ACCEPT),
        (0.20000000000001, 0.1, 0.3, Verdict.CONDITIONAL_ACCEPT),
        (0.30000000000001, 0.1, 0.3, Verdict.REJECT),
        ("0.2 %", "0.1 %", "0.3 %", Verdict.ACCEPT),
        ("0.4 %", "3.5 %", "3.9 %", Verdict.ACCEPT),
        (0.2, 1000.1, 1000.3, Verdict.ACCEPT),
        ("0.05 gal/h", "189.2705892 mL/h", "0.1 gal/h", Verdict.ACCEPT),  # U is 0.05 gal/h
    ],
)
def test_on_the_limit(error, u, limit, verdict):
    assert conformity(error, u, limit).verdict is verdict


@given(st.integers(0, 1000), st.integers(1, 999))
@settings(max_examples=200, deadline=None)
def test_decimals_are_compared_as_decimals(error, u):
    # in whole thousandths the comparison is exact
    limit, e = 1000, error
    expected = Verdict.ACCEPT if e + u <= limit else Verdict.CONDITIONAL_ACCEPT
    assert conformity(error / 1000, u / 1000, 1.0).verdict is expected


def test_percent_in_percent_out():
    found = conformity("0.6 %", ONE_REGISTRY.Quantity(0.2, "percent"), "1 %")
    assert (found.error, found.expanded_uncertainty, found.tolerance) == pytest.approx((0.6, 0.2, 1.0))
    assert found.unit == "%"
    assert (found.coverage_factor, found.uncertainty_ratio) == (2.0, pytest.approx(5.0))
    assert conformity(0.6, 0.2, 1.0, coverage_factor=3.0).uncertainty_ratio == pytest.approx(5.0)
    assert "+0.6 %" in str(found)
    assert "more than 99.99 %" in str(found)
    assert "less than 0.01 %" in str(conformity("1.4 %", "0.2 %", "1 %"))
    flow = conformity("0.1 gal/h", "0.2 L/h", ONE_REGISTRY.Quantity(1.0, "L/h"))
    assert flow.error == pytest.approx(0.3785, abs=1e-4)
    for mixed in (("0.6 %", 0.2, "1 %"), (0.6, "0.2 %", "1 %"), ("0.6 %", "0.2 %", 1.0), ("0.6 %", "0.2 L/h", "1 %")):
        with pytest.raises(FuelUnitsError):
            conformity(*mixed)


@given(st.floats(-2.0, 2.0), st.floats(0.01, 0.9), st.floats(0.1, 1000.0))
@settings(max_examples=40, deadline=None)
def test_verdict_knows_no_sign_and_no_unit(error, u, scale):
    assume(min(abs(abs(error) - limit) for limit in (1.0, 1.0 - u)) > 1e-9)
    verdict = conformity(error, u, 1.0).verdict
    assert conformity(-error, u, 1.0).verdict is verdict
    assert conformity(error * scale, u * scale, scale).verdict is verdict


# drawing

N = 400_000


@pytest.mark.parametrize(
    ("x1", "r", "estimate", "u"),
    [(0.0, 0.0, 50, 50), (0.01, 0.0, 150, 112), (0.0, 0.9, 50, 67), (0.05, 0.9, 2550, 505)],
)
def test_comparison_loss_of_supplement_1(x1, r, estimate, u):
    # JCGM 101:2008, 9.4, tables 8 and 9 (seen): x1² + x2² in 1e-6, u(x1) = u(x2) = 0.005; the estimate of the last
    # row is x1² + 2 u², after the formula of the document
    covariance = [[25e-6, r * 25e-6], [r * 25e-6, 25e-6]]
    inputs = correlated_inputs({"x1": x1, "x2": 0.0}, covariance)
    drawn = 1e6 * monte_carlo(lambda a, b: a**2 + b**2, inputs, seed=9, draws=N)
    assert drawn.mean() == pytest.approx(estimate, abs=4.0 * u / math.sqrt(N) + 0.5)
    assert drawn.std(ddof=1) == pytest.approx(u, rel=0.01, abs=0.5)
    propagated = 1e6 * (inputs[0] ** 2 + inputs[1] ** 2)
    assert standard_uncertainty(propagated) == pytest.approx(2e6 * x1 * 0.005)  # 0 at the origin: first order fails


@pytest.mark.parametrize(
    ("x1", "r", "radius_u", "angle_u"),
    [(0.001, 0.0, 0.007, 1.744), (0.1, 0.0, 0.010, 0.101), (0.001, 0.9, 0.008, 1.599), (0.1, 0.9, 0.010, 0.102)],
)
def test_polar_transformation_of_supplement_2(x1, r, radius_u, angle_u):
    # JCGM 102:2011, 9.3, tables 6 and 7 (seen): u(x1) = u(x2) = 0.010
    inputs = correlated_inputs({"x1": x1, "x2": 0.0}, [[1e-4, r * 1e-4], [r * 1e-4, 1e-4]])
    for function, expected in ((np.hypot, radius_u), (lambda a, b: np.arctan2(b, a), angle_u)):
        drawn = monte_carlo(function, inputs, seed=9, draws=N)
        assert drawn.std(ddof=1) == pytest.approx(expected, abs=0.0007 + 0.003 * expected)


def test_normal_sum_of_supplement_1():
    # JCGM 101:2008, 9.2.2, table 2 (seen): four normal inputs, u = 2.00, 95 % within ±3.92
    drawn = monte_carlo(lambda *x: sum(x), [uncertain(0.0, 1.0, name="x") for _ in range(4)], seed=9, draws=N)
    assert drawn.std(ddof=1) == pytest.approx(2.0, abs=0.01)
    assert np.quantile(drawn, [0.025, 0.975]) == pytest.approx([-3.92, 3.92], abs=0.03)


def test_falling_ball_viscometer_of_tn_1900():
    # NIST TN 1900, E3 (secondary): u = 1.11 mPa s and 4.05 to 8.39 mPa s for 95 %
    inputs = [
        uncertain(value, u, name="x")
        for value, u in [(4.63, 0.0463), (61.0, 6.1), (1180, 0.5), (810, 0.5), (36.6, 5.49), (2217, 0.5)]
    ]
    drawn = monte_carlo(
        lambda mu, t_m, rho_m, rho_c, t_c, rho_b: mu * (rho_b - rho_m) * t_m / ((rho_b - rho_c) * t_c),
        inputs, seed=9, draws=N,
    )  # fmt: skip
    assert drawn.std(ddof=1) == pytest.approx(1.11, abs=0.02)
    assert np.quantile(drawn, [0.025, 0.975]) == pytest.approx([4.05, 8.39], abs=0.04)


def test_airspeed_of_gum_6():
    # JCGM GUM-6:2020, 11.8.5 and 11.9.8 (seen): sqrt(2 D R T / p) = 57.48 m/s, u = 0.35 m/s
    pressure, static, warmth = (
        uncertain(1.993, 0.0125, name="D"), uncertain(101.4, 1.05, name="p"), uncertain(292.8, 0.11, name="T"),
    )  # fmt: skip
    speed = (2.0 * pressure * 287.058 * warmth / static) ** 0.5
    assert (round(speed.nominal_value, 2), round(speed.std_dev, 2)) == (57.48, 0.35)


def test_weight_of_10_kg_of_ea_4_02():
    # EA-4/02 M, supplement S2 (secondary): 10 000.025 g, u = 29.3 mg, U = 59 mg (58.5 from unrounded parts)
    standard = measured("10000.005 g", expanded_uncertainty="45 mg", coverage_factor=2.0, name="standard").m_as("g")
    rest = [rectangular(0.0, half_width, name="x") for half_width in (0.015, 0.010, 0.010)]
    mass = standard + uncertain(0.020, 0.025 / math.sqrt(3.0), name="difference") + sum(rest)
    assert round(mass.nominal_value, 3) == 10000.025
    assert mass.std_dev == pytest.approx(0.0293, abs=5e-5)


def test_mass_calibration_of_supplement_1_to_first_order():
    # JCGM 101:2008, 9.3, table 6 (seen): 1.2340 mg with u = 0.0539 mg
    reference, added = uncertain(100_000.0, 0.050, name="m_Rc"), uncertain(1.234, 0.020, name="dm_Rc")
    air, weight, standard = (
        rectangular(1.20, 0.10, name="air"), rectangular(8000.0, 1000.0, name="W"), rectangular(8000.0, 50.0, name="R"),
    )  # fmt: skip
    deviation = (reference + added) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 100_000.0
    assert deviation.nominal_value == pytest.approx(1.2340, abs=5e-5)
    assert deviation.std_dev == pytest.approx(0.0539, abs=5e-5)


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


def test_two_observations_are_the_least_that_scatter():
    """By hand: 9 and 11 have the mean 10, the standard deviation √2, and that of the mean 1, with one degree."""
    (mean,) = means_of({"x": [9.0, 11.0]})
    assert (mean.nominal_value, mean.std_dev) == pytest.approx((10.0, 1.0))


@pytest.mark.parametrize("k", [13.97, 4.53, 3.31, 2.87, 2.65, 2.28, 2.05])
def test_u_of_a_certificate_stays_what_it_states(k):
    # of 1, 2, 3, 4, 5, 10 and 50 degrees of freedom: JCGM 100:2008, Table G.2, 95.45 %
    made = measured("20 L", expanded_uncertainty="0.1 L", coverage_factor=k, name="measure").m_as("L")
    assert coverage_factor(made) * made.std_dev == pytest.approx(0.1, rel=0.005)
    normal = measured("20 L", expanded_uncertainty="0.1 L", coverage_factor=k, name="x", degrees_of_freedom=math.inf)
    assert coverage_factor(normal.m_as("L")) == pytest.approx(2.0, abs=1e-4)
    usual = measured("20 L", expanded_uncertainty="0.1 L", name="measure").m_as("L")
    assert coverage_factor(usual) * usual.std_dev == pytest.approx(0.1, rel=1e-4)


@pytest.mark.parametrize("k", [2, 95, 0.5, math.nan, "2"])
def test_a_coverage_factor_is_of_an_expanded_uncertainty(k):
    with pytest.raises(QuantityError, match="expanded_uncertainty"):
        measured("80 L", "2 L", name="dip", coverage_factor=k)


@pytest.mark.parametrize(
    "make",
    [
        lambda x: np.array([x, x]),
        lambda x: [x, x],
        lambda x: {"a": x},
        lambda x: pint.Quantity([x, x], "L"),
        lambda _: None,
        lambda _: "5",
    ],
    ids=["array", "list", "mapping", "quantity", "nothing", "text"],
)
def test_a_factor_is_of_one_number(make):
    few = uncertain(20.0, 0.1, name="dip", degrees_of_freedom=2)
    assert coverage_factor(few) == pytest.approx(4.527, abs=0.001)
    for ask in (coverage_factor, budget):
        with pytest.raises(QuantityError, match="one plain number"):
            ask(make(few))


def test_labels_and_masks_of_a_covariance_are_not_dropped():
    pandas = pytest.importorskip("pandas")
    values, covariance = {"a": 10.0, "b": 20.0}, np.array([[1.0, 0.5], [0.5, 4.0]])
    frame = pandas.DataFrame(covariance, index=["a", "b"], columns=["a", "b"])
    for wrong in (frame, frame.loc[["b", "a"], ["b", "a"]], np.ma.array(covariance, mask=[[0, 1], [1, 0]])):
        with pytest.raises(QuantityError, match="covariance"):
            correlated_inputs(values, wrong)
    a, b = correlated_inputs(values, frame.loc[["a", "b"], ["a", "b"]].to_numpy())
    assert (a.std_dev, b.std_dev) == pytest.approx((1.0, 2.0))


def test_a_decision_takes_few_degrees_of_freedom_from_k_alone():
    """U = 0.3 % with k = 13.97 is of two runs: by SciPy's t of 1 degree, 92.9 % at 0.9 of 1 %; k = 4.53: 86.4 %."""
    for k, degrees in ((13.97, 1), (4.53, 2), (2.87, 4)):
        found = conformity("0.9 %", "0.3 %", "1 %", coverage_factor=k)
        t = stats.t(degrees)
        expected = t.cdf((1.0 - 0.9) / (0.3 / k)) - t.cdf((-1.0 - 0.9) / (0.3 / k))
        assert found.probability == pytest.approx(expected, abs=1e-6)
        stated = conformity("0.9 %", "0.3 %", "1 %", coverage_factor=k, degrees_of_freedom=math.inf)
        assert stated.probability > found.probability
        assert found.verdict is Verdict.CONDITIONAL_ACCEPT


def test_degrees_from_k_are_the_most_whose_t_is_printed_as_k_or_more():
    """By SciPy's t of 1 to 999 degrees, at 95.45 %, with two decimals."""
    printed = np.round(stats.t.ppf(0.97725, np.arange(1, 1000)), 2)
    for k in np.arange(203, 460) / 100.0:
        made = measured("20 L", expanded_uncertainty="0.1 L", coverage_factor=float(k), name="measure").m_as("L")
        assert made.tag.degrees_of_freedom == np.flatnonzero(printed >= k - 1e-9)[-1] + 1
