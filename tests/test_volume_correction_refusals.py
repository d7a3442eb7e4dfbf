"""What the volume corrections refuse, and mark where that is asked; the tables behind them."""

import numpy as np
import pytest

from fuelunits.errors import FuelUnitsError, OutOfRange
from fuelunits.fuels.editions import BASE_60F_C, CRUDE_OIL, LUBRICATING_OIL, REFINED_PRODUCTS, Table
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.liquids import GivenExpansion, PetroleumProduct
from fuelunits.fuels.properties import ViscosityLine
from fuelunits.fuels.volume_correction import base_density, base_of, ctl, ctpl
from fuelunits.fuels.water_and_air import (
    api_gravity_from_density,
    density_from_api_gravity,
    density_from_relative_density,
    hydrometer_factor,
    relative_density_from_density,
)

KEY = "api_mpms_11_1_2004"
OF_2004 = "API MPMS Chapter 11.1"
OF_1980 = "ASTM D1250"
OF_1984 = "API MPMS Chapter 11.2.1M"
HOT = f"temperature: 151 °C.*-50 to 150.*{OF_2004}"
PRESSED = f"gauge pressure: 10343 kPa.*10342.1.*{OF_2004}"
LIGHT = f"base density of refined products: 600.*611.159 to 1163.86.*{OF_2004}"


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda **k: ctl(600.0, 15.0, **k), LIGHT),
        (lambda **k: ctl(800.0, 151.0, **k), HOT),
        (lambda **k: ctpl(600.0, 15.0, **k), LIGHT),
        (lambda **k: ctpl(800.0, 151.0, **k), HOT),
        (lambda **k: ctpl(800.0, 15.0, 10_343.0, **k), PRESSED),
        (lambda **k: base_density(800.0, 151.0, **k), HOT),
        (lambda **k: base_density(800.0, 15.0, 10_343.0, **k), PRESSED),
        (lambda **k: ctl(800.0, 96.0, edition=1980, **k), f"temperature: 96 °C.*-40 to 95.*{OF_1980}"),
        (lambda **k: ctpl(800.0, -41.0, 1.0, edition=1980, **k), f"temperature: -41 °C.*-40 to 95.*{OF_1980}"),
        (lambda **k: ctpl(800.0, 15.0, 10_343.0, edition=1980, **k), f"gauge pressure: 10343.*10342.2.*{OF_1984}"),
        (
            lambda **k: ctl(790.0, 15.0, commodity=LUBRICATING_OIL, base_c=BASE_60F_C, **k),
            f"base density of lubricating oil: 790.*800.9 to 1163.5.*{OF_2004}",
        ),
        (lambda **k: PetroleumProduct(800.0).density_kg_m3(151.0, **k), HOT),
        (lambda **k: PetroleumProduct(800.0).density_kg_m3(15.0, 10_343.0, **k), PRESSED),
        (
            lambda **k: PetroleumProduct(800.0, edition=1980).density_kg_m3(96.0, **k),
            f"temperature: 96 °C.*-40 to 95.*{OF_1980}",
        ),
    ],
)
def test_what_lies_outside_the_standard_is_named_or_marked(call, message):
    with pytest.raises(OutOfRange, match=message):
        call()
    marked = call(out_of_range="nan")
    assert type(marked) is float
    assert np.isnan(marked)


@pytest.mark.parametrize(
    ("call", "low", "high"),
    [
        (relative_density_from_density, 300.0, 1990.0),
        (density_from_relative_density, 0.3, 2.0),
        (density_from_api_gravity, -61.0, 340.0),
        (hydrometer_factor, -50.0, 150.0),
        (lambda t: ctl(800.0, t), -50.0, 150.0),
        (lambda t: ctl(800.0, t, edition=1980), -40.0, 95.0),
        (lambda kpa: ctpl(800.0, 15.0, kpa), -101.325, 10342.136),
        (lambda kpa: ctpl(800.0, 15.0, kpa, edition=1980), -101.325, 10_342.2),
        (lambda rho: ctl(rho, 15.0, base_c=BASE_60F_C), 610.6, 1163.5),
        (lambda rho: ctl(rho, 15.0, base_c=BASE_60F_C, commodity=LUBRICATING_OIL), 800.9, 1163.5),
        (lambda alpha: GivenExpansion(800.0, 1.8 * alpha, BASE_60F_C, source=KEY).alpha_per_c, 230e-6, 930e-6),
        (lambda kpa: GivenExpansion(800.0, 9e-4, source=KEY).density_kg_m3(15.0, kpa), -101.325, 1000.0),
        (lambda t: ViscosityLine.through((t, 10 ** (3 - t / 100)), (50.0, 10**2.5), source=KEY).a, -100.0, 200.0),
        (lambda nu: ViscosityLine.through((40.0 if nu < 5 else -40.0, nu), (0.0, 5.0), source=KEY).a, 0.21, 2e7),
    ],
)
def test_each_range_ends_where_its_source_says(call, low, high):
    assert np.isfinite([call(low), call(high)]).all()
    for beyond in (low - 1e-3 * (high - low), high + 1e-3 * (high - low)):
        with pytest.raises(OutOfRange):
            call(beyond)


@pytest.mark.parametrize("base_c", [15.9, 15.007, 14.993, 19.993, 20.007, BASE_60F_C - 0.007, BASE_60F_C + 0.007, 0.0])
def test_a_base_temperature_that_the_standard_has_not(base_c):
    with pytest.raises(FuelUnitsError, match=f"BASE_60F_C.*{base_c}"):
        ctl(800.0, 15.0, base_c=base_c)


@pytest.mark.parametrize("written", [15.6, 15.56, 15.555, BASE_60F_C - 0.0059, BASE_60F_C + 0.0059])
@pytest.mark.parametrize("edition", [1980, 2004])
def test_60_f_may_be_written_in_rounded_celsius(written, edition):
    assert ctl(800.0, 40.0, base_c=written, edition=edition) == ctl(800.0, 40.0, base_c=BASE_60F_C, edition=edition)
    assert hydrometer_factor(40.0, calibrated_c=written) == hydrometer_factor(40.0, calibrated_c=BASE_60F_C)


def test_an_edition_that_is_not_here():
    with pytest.raises(FuelUnitsError, match=r"2004 or 1980.*1952"):
        ctl(800.0, 15.0, edition=1952)
    with pytest.raises(FuelUnitsError, match=r"2004 or 1980.*1952"):
        api_gravity_from_density(800.0, edition=1952)


@pytest.mark.parametrize("calibrated_c", [25.0, 15.56 + 0.01, 15.5, 15.59, 15.61, 15.7])
def test_a_hydrometer_scale_that_is_not_here(calibrated_c):
    with pytest.raises(FuelUnitsError, match=f"BASE_60F_C.*{calibrated_c}"):
        hydrometer_factor(15.0, calibrated_c=calibrated_c)


# tables, with invented numbers


@pytest.mark.parametrize(
    ("density", "k1"),
    [(0.0, 0.3), (699.0, 0.3), (700.0, 0.4), (799.0, 0.4), (800.0, 0.5), (900.0, 0.5), (950.0, 0.5)],
)
def test_a_group_begins_at_the_limit_of_the_one_before(density, k1):
    rows = ((0.0, 0.3, 0.0), (0.0, 0.4, 0.0), (0.0, 0.5, 0.0))
    table = Table((600.0, 700.0, 800.0, 900.0), rows, source="api_mpms_11_1_2004")
    assert table.ends == (600.0, 900.0)
    assert table.row(table.group(density)) == (0.0, k1, 0.0)
    of_many = table.row(table.group(np.array([density, 650.0])))
    assert [column.tolist() for column in of_many] == [[0.0, 0.0], [k1, 0.3], [0.0, 0.0]]


def test_the_limits_of_a_commodity_are_those_of_its_tables_at_the_base_temperature():
    at_60f, at_15c = (base_of(1980, base_c, REFINED_PRODUCTS).densities for base_c in (BASE_60F_C, 15.0))
    assert (at_60f.low, at_60f.high) == (652.9, 1075.1)
    assert (at_15c.low, at_15c.high) == (653.0, 1075.0)
    ends = {
        (each.low, each.high)
        for commodity in (CRUDE_OIL, LUBRICATING_OIL)
        for each in (base_of(1980, base_c, commodity).densities for base_c in (15.0, BASE_60F_C))
    }
    assert ends == {(610.5, 1075.0), (610.5, 1075.1), (800.0, 1164.0)}
    at_20c = base_of(1980, 20.0, LUBRICATING_OIL).densities
    for at_20, at_15 in ((at_20c.low, 800.0), (at_20c.high, 1164.0)):
        expansion = 0.6278 / at_15 * 5.0
        assert at_20 == pytest.approx(at_15 * np.exp(-expansion * (1.0 + 0.8 * expansion)), rel=1e-14)
    assert (at_20c.unit, at_20c.source) == ("kg/m^3", "astm_d1250_1980")


def test_an_array_without_elements_is_checked_too():
    for call in (lambda **how: ctl([], 30.0, **how), lambda **how: ctpl(800.0, [], 100.0, **how)):
        assert np.shape(call()) == (0,)
        with pytest.raises(FuelUnitsError, match="out_of_range must be"):
            call(out_of_range="mark")
    with pytest.raises(OutOfRange, match="temperature"):
        ctl([], 300.0)


def test_the_pressure_that_the_standard_ends_at_is_one():
    """1500 psi of 6.894757293 kPa are 10342.13594 kPa, a little more than with the six digits of the standard."""
    assert fuel("Jet A").density("15 degC", "1500 psi").m > fuel("Jet A").density("15 degC", "1499 psi").m
    with pytest.raises(OutOfRange):
        fuel("Jet A").density("15 degC", "1500.1 psi")
