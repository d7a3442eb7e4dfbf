"""Densities of water and air, and weighing, against published tables, worked examples and libraries."""

import csv
import warnings
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelunits.errors import FuelUnitsError, OutOfRange
from fuelunits.fuels.water_and_air import (
    air_density_kg_m3,
    buoyancy_factor,
    water_density_kg_m3,
)
from fuelunits.reference.recipes import recompute
from fuelunits.sources import all_sources

WATER_C = st.floats(0.0, 40.0)
AIR = st.tuples(st.floats(10.0, 30.0), st.floats(60_000.0, 110_000.0), st.floats(0.0, 1.0))
WEIGHINGS = st.tuples(st.floats(600.0, 1200.0), st.floats(0.7, 1.3), st.floats(7000.0, 9000.0))


def _rows():
    with (files("fuelunits") / "reference" / "water_and_air.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


ROWS = _rows()


def _given(row):
    return dict(pair.split("=") for pair in row["given"].split(";"))


def _tolerance(row):
    if row["tolerance"]:
        return float(row["tolerance"])
    return 0.5 * 10.0 ** -len(row["printed"].partition(".")[2])


def _deviation(row):
    return recompute("water_and_air", row["what"], _given(row)) - float(row["printed"])


# published values: Tanaka 2001 Table 1, ITTC 7.5-02-01-03 Table 1, IAPWS SR6-08 Table 8, NISTIR 6969 SOP 2,
# ISO 8655-6 annex A, 40 CFR 1065.690 (recalled), Table 56 of the petroleum tables


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['what']} {row['given']}")
def test_published_values(row):
    reproduced = abs(_deviation(row)) <= _tolerance(row) * (1.0 + 1e-9)
    assert reproduced == (row["role"] == "check")
    assert row["source"] in all_sources()


@pytest.mark.parametrize(
    ("source", "values"),
    [
        ("tanaka_2001", 21),
        ("ittc_7_5_02_01_03", 7),
        ("iso_8655_6", 47),
        ("nistir_6969_sop_2", 2),
        ("astm_table_56", 2),
    ],
)
def test_each_source_is_there_in_full(source, values):
    assert sum(row["source"] == source for row in ROWS) == values


def test_iso_8655_6_prints_almost_every_digit_of_ours():
    """Another air formula stands behind the table, so single values differ by one in the fourth decimal."""
    deviations = [abs(_deviation(row)) for row in ROWS if row["source"] == "iso_8655_6"]
    assert sum(deviation > 5e-5 for deviation in deviations) <= 3


# water


@pytest.mark.parametrize("gauge_pressure_kpa", [-50.0, 0.0, 300.0, 1000.0])
def test_water_agrees_with_iapws_95_through_coolprop(gauge_pressure_kpa):
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    for t in np.linspace(0.1, 40.0, 41):
        iapws_95 = coolprop.PropsSI("D", "T", t + 273.15, "P", 101_325.0 + 1000.0 * gauge_pressure_kpa, "Water")
        assert water_density_kg_m3(float(t), gauge_pressure_kpa=gauge_pressure_kpa) == pytest.approx(iapws_95, abs=2e-3)


def test_water_agrees_with_iapws_95_through_iapws():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about its own imports
        iapws = pytest.importorskip("iapws")
    for t in (1.0, 15.0, 25.0, 40.0):
        iapws_95 = iapws.IAPWS95(T=t + 273.15, P=0.101325).rho
        assert water_density_kg_m3(t) == pytest.approx(iapws_95, abs=2e-3)


def test_coolprop_prints_the_value_of_iapws_sr6_08():
    """IAPWS SR6-08, Table 8, at 25 degC and 0.1 MPa: CoolProp is a fair judge of the water above.

    That release is a shorter equation than IAPWS-95, which CoolProp follows, hence 5e-5.
    """
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    assert coolprop.PropsSI("D", "T", 298.15, "P", 1e5, "Water") == pytest.approx(997.047013, abs=5e-5)


def test_dissolved_air_as_jones_and_harris_have_it():
    """Jones and Harris (1992), air-saturated less air-free water, coefficients from memory: -0.00248 at 20 degC."""
    t = np.linspace(5.0, 40.0, 36)
    ours = water_density_kg_m3(t, air_saturated=True) - water_density_kg_m3(t)
    np.testing.assert_allclose(ours, (999.84847 - 999.85308) + (6.337563e-2 - 6.326930e-2) * t, atol=2e-5)
    assert ours[15] == pytest.approx(-0.00248, abs=2e-5)


def test_water_is_densest_near_4_degrees():
    t = np.linspace(0.0, 40.0, 4001)
    assert t[np.argmax(water_density_kg_m3(t))] == pytest.approx(3.98, abs=0.011)


@given(WATER_C, st.floats(0.0, 900.0))
@settings(max_examples=50)
def test_pressed_water_is_denser(t, p):
    assert water_density_kg_m3(t, gauge_pressure_kpa=p + 10.0) > water_density_kg_m3(t, gauge_pressure_kpa=p)


# air


def _horner(x, *ascending):
    total = 0
    for coefficient in reversed(ascending):
        total = total * x + coefficient
    return total


@given(AIR, st.floats(0.0003, 0.002))
@settings(max_examples=50)
def test_air_agrees_with_a_second_derivation(air, co2):
    """CIPM-2007 at 40 digits, from the moles in a cubic metre and the mass of their dry and wet parts."""
    mpmath = pytest.importorskip("mpmath")
    with mpmath.workdps(40):
        t, p, h = (mpmath.mpf(number) for number in air)
        f = mpmath.mpf
        kelvin = t + f("273.15")
        exponent = _horner(kelvin, f("-6.3431645e3"), f("33.93711047"), f("-1.9121316e-2"), f("1.2378847e-5")) / kelvin
        enhancement = _horner(t, f("1.00062") + f("3.14e-8") * p, 0, f("5.6e-7"))
        vapour = h * enhancement * mpmath.exp(exponent) / p
        a = _horner(t, f("1.58123e-6"), f("-2.9331e-8"), f("1.1043e-10"))
        b = _horner(t, f("5.707e-6"), f("-2.051e-8"))
        c = _horner(t, f("1.9898e-4"), f("-2.376e-6"))
        squared = f("1.83e-11") + f("-0.765e-8") * vapour**2
        z = _horner(p / kelvin, 1, -_horner(vapour, a, b, c), squared)
        moles = p / (z * f("8.314472") * kelvin)
        dry_g = f("28.96546") + f("12.011") * (f(co2) - f("0.0004"))
        expected = float(moles * ((1 - vapour) * dry_g + vapour * f("18.01528")) / 1000)
    assert air_density_kg_m3(*air, co2_fraction=co2) == pytest.approx(expected, rel=1e-13)


def test_air_agrees_with_coolprop_over_its_whole_range():
    """CoolProp's humid air is a real-gas mixture (ASHRAE RP-1485), independent of CIPM-2007."""
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    for t in (10.0, 20.0, 27.0, 30.0):
        for p in (60_000.0, 81_633.0, 101_325.0, 110_000.0):
            for h in (0.0, 0.5, 1.0):
                volume = coolprop.HAPropsSI("Vha", "T", t + 273.15, "P", p, "R", h)
                assert air_density_kg_m3(t, p, h) == pytest.approx(1.0 / volume, abs=6e-5)


@given(AIR)
@settings(max_examples=50)
def test_moist_and_warm_air_is_lighter(air):
    t, p, h = air
    rho = air_density_kg_m3(t, p, h)
    assert 0.6 < rho < 1.4
    assert air_density_kg_m3(t, p, h / 2.0) >= rho
    assert t > 29.0 or air_density_kg_m3(t + 1.0, p, h) < rho
    assert p > 109_000.0 or air_density_kg_m3(t, p + 1000.0, h) > rho


def test_carbon_dioxide_counts_as_the_docstring_says():
    usual, more = (air_density_kg_m3(20.0, 101_325.0, 0.5, co2_fraction=co2) for co2 in (0.0004, 0.0005))
    assert more / usual - 1.0 == pytest.approx(4.1e-5, abs=0.1e-5)


# weighing


def test_weights_are_of_8000_unless_told():
    """By the convention of OIML D 28."""
    assert buoyancy_factor(800.0, 1.2) == buoyancy_factor(800.0, 1.2, 8000.0) != buoyancy_factor(800.0, 1.2, 8001.0)


@given(WEIGHINGS)
@settings(max_examples=50)
def test_a_balance_in_equilibrium(weighing):
    """What the liquid and what the weights press on the pans, each less the air that it displaces, is the same."""
    liquid, air, weights = weighing
    reading = 3.0
    liquid_m3, weights_m3 = reading * buoyancy_factor(liquid, air, weights) / liquid, reading / weights
    assert liquid_m3 * (liquid - air) == pytest.approx(weights_m3 * (weights - air), rel=1e-13)


@pytest.mark.parametrize(("density", "low"), [(998.2, 0.0010), (800.0, 0.0014)])
def test_how_much_a_balance_reads_low(density, low):
    assert 1.0 - 1.0 / buoyancy_factor(density, 1.2) == pytest.approx(low, abs=0.6e-4)


def test_a_balance_calibrated_for_brass_reads_otherwise():
    """By 1.2 kg/m³ of air times the difference of 1/8000 and 1/8400, as the weights displace it."""
    steel, brass = (buoyancy_factor(998.2, 1.2, weights) for weights in (8000.0, 8400.0))
    assert brass / steel - 1.0 == pytest.approx(1.2 / 8000.0 - 1.2 / 8400.0, rel=1e-3)


def test_table_56_is_weighing_in_ordinary_air():
    """Its 1.1 kg/m³ for every liquid and weather is the balance's own correction in 1.2 kg/m³ of air, within 1e-4."""
    for density in (690.0, 800.0, 950.0):
        assert density / buoyancy_factor(density, 1.2) == pytest.approx(density - 1.1, rel=1e-4)


# shapes, missing values, refusals


@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3)])
def test_arrays_answer_as_scalars_do(shape):
    size = int(np.prod(shape))
    t = np.linspace(16.0, 29.0, size).reshape(shape)
    h = np.linspace(0.1, 0.9, size).reshape(shape)
    before = t.copy()
    water, air = water_density_kg_m3(t, air_saturated=True, gauge_pressure_kpa=50.0), air_density_kg_m3(t, 1e5, h)
    factor = buoyancy_factor(water, air)
    assert np.shape(water) == np.shape(air) == np.shape(factor) == shape
    np.testing.assert_array_equal(t, before)
    for index in np.ndindex(*shape):
        one_t, one_h = float(t[index]), float(h[index])
        one_water = water_density_kg_m3(one_t, air_saturated=True, gauge_pressure_kpa=50.0)
        one_air = air_density_kg_m3(one_t, 1e5, one_h)
        one_factor = buoyancy_factor(one_water, one_air)
        assert type(one_water) is type(one_air) is type(one_factor) is float
        np.testing.assert_allclose(
            [water[index], air[index], np.asarray(factor)[index]], [one_water, one_air, one_factor], rtol=1e-14
        )


def test_arguments_broadcast():
    air = air_density_kg_m3(np.array([[18.0], [22.0]]), np.array([90_000.0, 95_000.0, 1e5]), 0.5)
    assert air.shape == (2, 3)
    assert buoyancy_factor(np.array([700.0, 800.0]), np.full((4, 1), 1.2)).shape == (4, 2)
    assert air_density_kg_m3(20, 100_000, 1) == air_density_kg_m3(20.0, 100_000.0, 1.0)


def test_nan_stays_nan():
    nan = float("nan")
    answers = [
        water_density_kg_m3(nan),
        water_density_kg_m3(20.0, gauge_pressure_kpa=nan),
        air_density_kg_m3(20.0, nan, 0.5),
        buoyancy_factor(nan, 1.2),
        buoyancy_factor(998.2, nan),
    ]
    assert all(np.isnan(answers))
    np.testing.assert_array_equal(np.isnan(water_density_kg_m3(np.array([5.0, nan, 6.0]))), [False, True, False])


def test_what_lies_outside_can_be_marked():
    marked = water_density_kg_m3(np.array([-1.0, 20.0, 41.0]), out_of_range="nan")
    np.testing.assert_array_equal(np.isnan(marked), [True, False, True])
    for pressure in (-51.0, 1001.0):
        assert np.isnan(water_density_kg_m3(20.0, gauge_pressure_kpa=pressure, out_of_range="nan"))
    for outside in (
        (9.0, 1e5, 0.5, 0.0004),
        (20.0, 5e4, 0.5, 0.0004),
        (20.0, 1e5, 50.0, 0.0004),
        (20.0, 1e5, 0.5, 400),
    ):
        *air, co2 = outside
        assert np.isnan(air_density_kg_m3(*air, co2_fraction=co2, out_of_range="nan"))


@pytest.mark.parametrize(
    ("call", "low", "high"),
    [
        (water_density_kg_m3, 0.0, 40.0),
        (lambda kpa: water_density_kg_m3(20.0, gauge_pressure_kpa=kpa), -50.0, 1000.0),
        (lambda t: air_density_kg_m3(t, 1e5, 0.5), 10.0, 30.0),
        (lambda pa: air_density_kg_m3(20.0, pa, 0.5), 60_000.0, 110_000.0),
        (lambda humidity: air_density_kg_m3(20.0, 1e5, humidity), 0.0, 1.0),
        (lambda co2: air_density_kg_m3(20.0, 1e5, 0.5, co2_fraction=co2), 0.0, 0.005),
        (lambda liquid: buoyancy_factor(liquid, 1.2), 400.0, 2000.0),
        (lambda air: buoyancy_factor(800.0, air), 0.6, 1.4),
        (lambda weights: buoyancy_factor(800.0, 1.2, weights), 2600.0, 22_000.0),
    ],
)
def test_each_range_ends_where_its_docstring_says(call, low, high):
    assert np.isfinite([call(low), call(high)]).all()
    for beyond in (low - 1e-3 * (high - low), high + 1e-3 * (high - low)):
        with pytest.raises(OutOfRange):
            call(beyond)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: water_density_kg_m3(-0.1), "water temperature: -0.1 °C is outside its range, 0 to 40 °C.*Tanaka"),
        (lambda: water_density_kg_m3(np.array([20.0, 68.0])), "68 °C"),
        (lambda: water_density_kg_m3(20.0, gauge_pressure_kpa=101_325.0), "1000 kPa.*IAPWS-95"),
        (lambda: air_density_kg_m3(31.0, 1e5, 0.5), "10 to 30 °C.*CIPM-2007"),
        (lambda: air_density_kg_m3(20.0, 1013.25, 0.5), "air pressure: 1013.25 Pa is outside.*CIPM-2007"),
        (lambda: air_density_kg_m3(20.0, 1e5, 50.0), "relative humidity.*0.5 for 50 %.*CIPM-2007"),
        (lambda: air_density_kg_m3(20.0, 1e5, 0.5, co2_fraction=400.0), "CO2 fraction"),
        (lambda: buoyancy_factor(0.8, 1.2), "liquid density: 0.8 kg/m"),
        (lambda: buoyancy_factor(800.0, 0.0012), "air density: 0.0012"),
        (lambda: buoyancy_factor(800.0, 1.2, 8.0), "density of the weights: 8 kg/m"),
    ],
)
def test_refusals_name_range_and_source(call, words):
    with pytest.raises(OutOfRange, match=words) as refusal:
        call()
    assert isinstance(refusal.value, FuelUnitsError)
    assert refusal.value.source
