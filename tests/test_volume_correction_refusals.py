"""What the volume corrections refuse, word by word, and mark where that is asked; liquids of one's own among them."""

import numpy as np
import pytest

from fuelunits.errors import FuelUnitsError, OutOfRange
from fuelunits.fuels.commodities import LUBRICATING_OIL, REFINED_PRODUCTS, Coefficients, Commodity, Table
from fuelunits.fuels.density_scales import hydrometer_factor
from fuelunits.fuels.product import PetroleumProduct
from fuelunits.fuels.volume_correction import (
    BASE_60F_C,
    base_densities,
    base_density,
    compressibility,
    cpl,
    ctl,
    ctpl,
    expansion_coefficient,
)

OF_2004 = (
    "the range of API MPMS Chapter 11.1 / ASTM D1250 / IP 200, volume correction factors, 2004, with addenda 1 and 2"
)
OF_1980 = "the range of ASTM D1250 / API 2540 / IP 200, petroleum measurement tables, 1980"
OF_1984 = "the range of API MPMS Chapter 11.2.1M, compressibility factors for hydrocarbons, 1984, metric"
HOT = f"temperature 151 degC is outside -50 to 150 degC, {OF_2004}"
PRESSED = f"gauge pressure 10343 kPa is outside 0 to 10342.1 kPa, {OF_2004}"
LIGHT = f"base density of refined products 600 kg/m^3 is outside 611.159 to 1163.86 kg/m^3, {OF_2004}"


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda **k: ctl(600.0, 15.0, **k), LIGHT),
        (lambda **k: ctl(800.0, 151.0, **k), HOT),
        (lambda **k: cpl(600.0, 15.0, 100.0, **k), LIGHT),
        (lambda **k: cpl(800.0, 151.0, 100.0, **k), HOT),
        (lambda **k: cpl(800.0, 15.0, 10_343.0, **k), PRESSED),
        (lambda **k: compressibility(600.0, 15.0, **k), LIGHT),
        (lambda **k: compressibility(800.0, 151.0, **k), HOT),
        (lambda **k: ctpl(600.0, 15.0, **k), LIGHT),
        (lambda **k: ctpl(800.0, 151.0, **k), HOT),
        (lambda **k: ctpl(800.0, 15.0, 10_343.0, **k), PRESSED),
        (lambda **k: base_density(800.0, 151.0, **k), HOT),
        (lambda **k: base_density(800.0, 15.0, 10_343.0, **k), PRESSED),
        (
            lambda **k: ctl(800.0, 96.0, edition=1980, **k),
            f"temperature 96 degC is outside -40 to 95 degC, {OF_1980}",
        ),
        (
            lambda **k: compressibility(800.0, -51.0, edition=1980, **k),
            f"temperature -51 degC is outside -50 to 95 degC, {OF_1984}",
        ),
        (
            lambda **k: cpl(800.0, 15.0, 10_343.0, edition=1980, **k),
            f"gauge pressure 10343 kPa is outside 0 to 10342.2 kPa, {OF_1984}",
        ),
        (
            lambda **k: ctl(790.0, 15.0, commodity=LUBRICATING_OIL, base_c=BASE_60F_C, **k),
            f"base density of lubricating oil 790 kg/m^3 is outside 800.9 to 1163.5 kg/m^3, {OF_2004}",
        ),
        (lambda **k: PetroleumProduct(800.0).density_kg_m3(151.0, **k), HOT),
        (lambda **k: PetroleumProduct(800.0).density_kg_m3(15.0, 10_343.0, **k), PRESSED),
        (
            lambda **k: PetroleumProduct(800.0, edition=1980).density_kg_m3(96.0, **k),
            f"temperature 96 degC is outside -40 to 95 degC, {OF_1980}",
        ),
    ],
)
def test_what_lies_outside_the_standard_is_named_or_marked(call, message):
    with pytest.raises(OutOfRange) as refusal:
        call()
    assert str(refusal.value) == message
    marked = call(out_of_range="nan")
    assert type(marked) is float
    assert np.isnan(marked)


def test_the_expansion_of_what_lies_outside_the_standard_is_refused():
    with pytest.raises(OutOfRange) as refusal:
        expansion_coefficient(600.0)
    assert str(refusal.value) == LIGHT


@pytest.mark.parametrize("base_c", [15.9, 15.007, 14.993, 19.993, 20.007, BASE_60F_C - 0.007, BASE_60F_C + 0.007, 0.0])
def test_a_base_temperature_that_the_standard_has_not(base_c):
    with pytest.raises(FuelUnitsError) as refusal:
        ctl(800.0, 15.0, base_c=base_c)
    expected = f"base temperature {base_c} degC; the standard has 15.0, 20.0 and BASE_60F_C (60 degF)"
    assert str(refusal.value) == expected


@pytest.mark.parametrize("written", [15.56, 15.555, BASE_60F_C - 0.0059, BASE_60F_C + 0.0059])
@pytest.mark.parametrize("edition", [1980, 2004])
def test_60_f_may_be_written_in_rounded_celsius(written, edition):
    assert ctl(800.0, 40.0, base_c=written, edition=edition) == ctl(800.0, 40.0, base_c=BASE_60F_C, edition=edition)
    assert hydrometer_factor(40.0, calibrated_c=written) == hydrometer_factor(40.0, calibrated_c=BASE_60F_C)


def test_an_edition_that_is_not_here():
    with pytest.raises(FuelUnitsError) as refusal:
        ctl(800.0, 15.0, edition=1952)
    assert str(refusal.value) == "there is no edition 1952 here; write 2004 or 1980"


@pytest.mark.parametrize("calibrated_c", [25.0, 15.56 + 0.01])
def test_a_hydrometer_scale_that_is_not_here(calibrated_c):
    with pytest.raises(FuelUnitsError) as refusal:
        hydrometer_factor(15.0, calibrated_c=calibrated_c)
    expected = f"a hydrometer calibrated at {calibrated_c} degC; write 15.0, 20.0 or BASE_60F_C (60 degF)"
    assert str(refusal.value) == expected


# a commodity of one's own: invented numbers


def own_oil() -> Commodity:
    def table(low: float, expansions: tuple[float, float, float], source: str) -> Table:
        light, medium, heavy = expansions
        rows = (Coefficients("a", 700.0, 0.0, light), Coefficients("b", 800.0, 0.0, medium))
        return Table(low, (*rows, Coefficients("c", 900.0, 0.0, heavy)), source=source)

    return Commodity(
        "own oil",
        table(600.0, (0.3, 0.4, 0.5), "api_mpms_11_1_2004"),
        table(610.0, (0.54, 0.72, 0.9), "astm_d1250_1980"),
        table(620.0, (0.3, 0.4, 0.5), "astm_d1250_1980"),
    )


@pytest.mark.parametrize(
    ("density", "k1"),
    [(0.0, 0.3), (699.0, 0.3), (700.0, 0.4), (799.0, 0.4), (800.0, 0.5), (900.0, 0.5), (950.0, 0.5)],
)
def test_a_group_begins_at_the_limit_of_the_one_before(density, k1):
    table = own_oil().per_f_2004
    assert table.coefficients(density) == (0.0, k1, 0.0)
    of_many = table.coefficients(np.array([density, 650.0]))
    assert [column.tolist() for column in of_many] == [[0.0, 0.0], [k1, 0.3], [0.0, 0.0]]


def test_a_table_reaches_as_far_as_its_last_group():
    assert (own_oil().per_f_2004.low, own_oil().per_f_2004.high) == (600.0, 900.0)


def test_the_limits_of_a_commodity_are_those_of_its_tables_at_the_base_temperature():
    oil = own_oil()
    at_60f, at_15c = base_densities(BASE_60F_C, 1980, oil), base_densities(15.0, 1980, oil)
    assert (at_60f.low, at_60f.high) == (620.0, 900.0)
    assert (at_15c.low, at_15c.high) == (610.0, 900.0)
    at_20c = base_densities(20.0, 1980, oil)
    for at_20, at_15, k1 in ((at_20c.low, 610.0, 0.54), (at_20c.high, 900.0, 0.9)):
        expansion = k1 / at_15 * 5.0
        assert at_20 == pytest.approx(at_15 * np.exp(-expansion * (1.0 + 0.8 * expansion)), rel=1e-14)
    for limits, source in ((at_20c, "astm_d1250_1980"), (base_densities(20.0, 2004, oil), "api_mpms_11_1_2004")):
        assert (limits.name, limits.unit, limits.source) == ("base density of own oil", "kg/m^3", source)


def test_a_commodity_is_shown_by_its_name():
    assert [repr(each) for each in (REFINED_PRODUCTS, own_oil())] == ["<refined products>", "<own oil>"]
