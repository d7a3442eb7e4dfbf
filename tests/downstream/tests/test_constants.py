"""The fixed figures of the sheets, held against fuelunits."""

import pytest
from hypothesis import given, settings
from ramp_sheets import constants, uplift

import fuelunits
from fuelunits import strategies
from fuelunits.testing import assert_density, assert_factor, assert_k_factor


@pytest.mark.parametrize(
    ("constant", "from_unit", "to_unit"),
    [
        (constants.LITRES_PER_GALLON, "gal", "L"),
        (constants.LITRES_PER_IMPERIAL_GALLON, "imp_gal", "L"),
        (constants.KG_PER_POUND, "lb", "kg"),
        (constants.TONNES_PER_SHORT_TON, "short_ton", "tonne"),
        (constants.LB_H_PER_KG_H, "kg/h", "lb/h"),
        (constants.L_H_PER_GAL_MIN, "gal/min", "L/h"),
        (constants.PA_PER_INCH_OF_MERCURY, "inHg", "Pa"),
        (constants.FAHRENHEIT_STEPS_PER_CELSIUS_STEP, "delta_degC", "delta_degF"),
        (constants.M3_PER_HOUR_PER_L_MIN, "L/min", "m3/h"),
    ],
)
def test_factors(constant, from_unit, to_unit):
    assert_factor(constant, from_unit, to_unit)


def test_densities():
    assert_density(f"{constants.JET_KG_PER_LITRE} kg/L", "Jet A-1", between=("15 degC", "15 degC"), tolerance="1 %")
    assert_density(f"{constants.AVGAS_LB_PER_GALLON} lb/gal", "100LL", between=("15 degC", "15 degC"), tolerance="1 %")
    assert_density(f"{constants.JET_LB_PER_GALLON} lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="2 %")


def test_k_factors():
    assert_k_factor(f"{constants.K_LEFT_PER_GALLON} pulse/gal", "43187 pulse/gal", tolerance="0.1 %")
    assert_k_factor(f"{constants.K_RIGHT_PER_LITRE} pulse/L", "11168 pulse/gal", tolerance="0.1 %")


def test_the_uplift_sheet():
    assert uplift.uplift_lb(1000.0) == pytest.approx(fuelunits.convert(802.8, "kg", "lb"), rel=1e-3)


@settings(max_examples=20, deadline=None)
@given(k=strategies.k_factors(per="gal"), batch=strategies.batches("Jet A"))
def test_what_is_drawn_is_usable(k, batch):
    assert k.per("gal") >= 1000
    assert batch.verdict.value != "reject"
