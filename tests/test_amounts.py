"""Amounts and flows by volume or by mass: one is read as the other only with a density."""

from fractions import Fraction

import numpy as np
import pint
import pytest

from fuelunits.amounts import (
    amount,
    convert_exact,
    exact_amount,
    exact_density,
    exact_number,
    first_quantity,
    flow_unit_name,
    is_ratio,
    kind_of,
    signed_fraction,
)
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError

REGISTRIES = [pint.UnitRegistry(), pint.UnitRegistry(autoconvert_offset_to_baseunit=True)]
Q = REGISTRIES[0].Quantity


@pytest.mark.parametrize("ureg", REGISTRIES, ids=["strict", "autoconvert"])
def test_the_kind_is_the_unit_of_the_same_dimension(ureg):
    kinds = ("Hz", "m^3/s", "kg/s")
    assert kind_of("99.8 Hz", kinds, name="line") == kind_of(ureg.Quantity(99.8, "hertz"), kinds, name="line") == "Hz"
    assert kind_of("12.5 gal/h", kinds, name="line") == "m^3/s"
    assert kind_of(ureg.Quantity([80.0, 90.0], "pound/hour"), kinds, name="line") == "kg/s"


@pytest.mark.parametrize("ureg", REGISTRIES, ids=["strict", "autoconvert"])
def test_an_amount_in_a_unit_of_either_kind(ureg):
    gallons = ureg.Quantity(np.array([50.0, 100.0]), "gallon")
    assert amount("50 gal", "gal", name="usable") == 50.0
    assert amount("0 gal", "L", name="usable") == amount("0 gal", "kg", name="usable", density="0.8 kg/L") == 0.0
    assert amount(gallons, "lb", name="usable", density="6.7 lb/gal") == pytest.approx([335.0, 670.0], rel=1e-14)
    assert amount("335 lb", "gal", name="usable", density="6.7 lb/gal") == pytest.approx(50.0, rel=1e-14)
    assert amount("80.4 lb/h", "gal/h", name="flow", density="6.7 lb/gal") == pytest.approx(12.0, rel=1e-14)
    assert amount("12 gal/h", "L/h", name="flow", density="6.7 lb/gal") == pytest.approx(12 * 3.785411784, rel=1e-14)


def test_exact_numbers():
    assert exact_number("0.1 L", "L", name="v") == Fraction(1, 10)
    assert exact_number(Q(0.1, "liter"), "L", name="v") == Fraction(0.1)
    assert exact_number("0 L", "L", name="v", zero=True) == 0
    assert exact_amount("0 gal", "lb", name="v", density="6.7 lb/gal", zero=True) == 0
    assert exact_amount("0.1 gal/h", "gal/h", name="v") == Fraction(1, 10)
    assert exact_density(None) is None
    assert exact_density("6.7 lb/gal") * Fraction("3.785411784") / 1000 == Fraction("6.7") * Fraction("0.45359237")


def test_crossing_is_exact_both_ways_and_needs_no_density_within_a_kind():
    assert convert_exact(Fraction(50), "gal", "lb", exact_density("6.7 lb/gal")) == 335
    assert convert_exact(Fraction(335), "lb", "gal", exact_density("6.7 lb/gal")) == 50
    assert convert_exact(Fraction(1), "bbl", "gal") == convert_exact(Fraction(1), "bbl", "gal", Fraction(800)) == 42


def test_the_first_quantity_sets_the_registry():
    first, second = Q(1.0, "gallon"), REGISTRIES[1].Quantity(1.0, "hour")
    assert first_quantity("1 gal", first, None) is first
    assert first_quantity(second) is second
    with pytest.raises(FuelUnitsError, match="two pint registries"):
        first_quantity(second, first)
    assert first_quantity("1 gal", None) is None


@pytest.mark.parametrize(
    ("unit", "quotient"),
    [
        ("gph", "gal/h"),
        ("gpm", "gal/min"),
        ("igph", "imp_gal/h"),
        ("LPH", "L/h"),
        ("lpm", "L/min"),
        ("pph", "lb/h"),
        ("gal/hr", "gal/h"),
        ("fl_oz/s", "fl_oz/s"),
        ("1/h*gal", "1/h*gal"),
        ("kg*Hz", "kg/s"),
        ("Hz", "Hz"),
        ("gal", "gal"),
    ],
)
def test_a_flow_is_spelled_out(unit, quotient):
    assert flow_unit_name(unit) == quotient


def test_ratios():
    assert is_ratio("2 %")
    assert is_ratio("2percent")
    assert is_ratio(Q(2, "percent"))
    assert is_ratio(Q(0.02, ""))
    for other in ("2", "2 lb/h", Q(2, "pound"), 0.02, None):
        assert is_ratio(other) is False


def test_relative_differences():
    assert signed_fraction("-0.4 %", name="d") == -0.004
    assert signed_fraction("0 percent", name="d") == 0.0
    assert signed_fraction("250 %", name="d") == 2.5
    assert signed_fraction(Q(-40, "percent"), name="d") == pytest.approx(-0.4)
    assert signed_fraction("-99.9 %", name="d") == -0.999


UNIT = "in a unit such as"
DENSITY = 'give the density of the fuel at its temperature, such as density="6.7 lb/gal"'
REFUSALS = [
    (
        lambda: kind_of(5, ["m^3/s", "kg/s"], name="flow"),
        "flow: the bare number 5 has no unit; write text such as '12.5 gal/h' or a pint quantity",
    ),
    (
        lambda: kind_of("5", ["m^3/s", "kg/s"], name="flow"),
        f"flow: 5 is not a volume flow or a mass flow; write a quantity {UNIT} m^3/s or kg/s",
    ),
    (lambda: kind_of("5 h", ["L"], name="used"), f"used: 5 h is not a volume; write a quantity {UNIT} L"),
    (
        lambda: kind_of(Q(5, "hour"), ["L", "kg"], name="used"),
        f"used: 5 hour is not a volume or a mass; write a quantity {UNIT} L or kg",
    ),
    (
        lambda: kind_of(pint.UnitRegistry(None).Quantity(5, ""), ["L", "kg"], name="used"),
        "used: its registry does not know L; add the trade's units with register_units(ureg)",
    ),
    (
        lambda: amount("5 gal/h", "L", name="used"),
        f"used: 5 gal/h is not a volume or a mass; write a quantity {UNIT} m^3 or kg",
    ),
    (
        lambda: amount("5 gal", "L/h", name="flow"),
        f"flow: 5 gal is not a volume flow or a mass flow; write a quantity {UNIT} m^3/s or kg/s",
    ),
    (
        lambda: amount("5 gal", "h", name="used"),
        "unit: 'h' is a time; a unit of volume or mass, or of a flow, is needed, such as 'gal'",
    ),
    (
        lambda: amount("-5 gal", "L", name="used"),
        "used: -5 gal makes no sense here; it must be finite and not negative",
    ),
    (
        lambda: amount("-5 gal", "kg", name="used", density="0.8 kg/L"),
        "used: -5 gal makes no sense here; it must be finite and not negative",
    ),
    (
        lambda: amount("5 gal", "lb", name="used"),
        f"used: 5 gal is a volume and lb is a mass: {DENSITY}",
    ),
    (
        lambda: exact_number("0 gal", "L", name="used"),
        "used: 0 gal makes no sense here; it must be finite and positive",
    ),
    (
        lambda: exact_number(Q([1.0, 2.0], "gallon"), "L", name="used"),
        "used: [1.0 2.0] gallon is not one number; write one quantity",
    ),
    (
        lambda: exact_number(Q(np.nan, "gallon"), "L", name="used"),
        "used: nan gallon is not one number; write one quantity",
    ),
    (
        lambda: exact_amount("0 gal", "L", name="used"),
        "used: 0 gal makes no sense here; it must be finite and positive",
    ),
    (
        lambda: exact_amount("5 h", "L", name="used"),
        f"used: 5 h is not a volume or a mass; write a quantity {UNIT} m^3 or kg",
    ),
    (lambda: exact_amount("5 gal", "lb", name="used"), f"used: 5 gal is a volume and lb is a mass: {DENSITY}"),
    (lambda: exact_density("0 kg/L"), "density: 0 kg/L makes no sense here; it must be finite and positive"),
    (
        lambda: exact_density("0.8 kg"),
        "density: '0.8 kg' is a mass, and a density (mass per volume) is needed, such as '6.7 lb/gal'",
    ),
    (lambda: convert_exact(Fraction(1), "kg/h", "gph"), f"kg/h is a mass flow and gph is a volume flow: {DENSITY}"),
    (
        lambda: convert_exact(Fraction(1), "kg", "h", Fraction(800)),
        "kg is a mass and h is a time; one does not convert to the other",
    ),
    (lambda: signed_fraction("2 lb/h", name="d"), "d: '2 lb/h' is no percentage; write '-0.4 %', say"),
    (lambda: signed_fraction(0.02, name="d"), "d: 0.02 is no percentage; write '-0.4 %', say"),
    (lambda: signed_fraction("-100 %", name="d"), "d: -100 % makes no sense as a relative difference"),
    (lambda: signed_fraction(Q(np.inf, ""), name="d"), "d: inf dimensionless makes no sense as a relative difference"),
    (lambda: signed_fraction(Q(np.nan, ""), name="d"), "d: nan dimensionless makes no sense as a relative difference"),
    (lambda: signed_fraction("1e999 %", name="d"), "d: '1e999 %' is too large a number"),
    (lambda: signed_fraction(Q([1, 2], "percent"), name="d"), "d: [1 2] percent is not a ratio; write '3 %', say"),
]


@pytest.mark.parametrize(("call", "message"), REFUSALS, ids=[message[:40] for _, message in REFUSALS])
def test_refusals_word_by_word(call, message):
    with pytest.raises(FuelUnitsError) as refusal:
        call()
    assert str(refusal.value) == message


def test_what_is_of_the_wrong_kind_is_told_from_what_makes_no_sense():
    with pytest.raises(DimensionError):
        amount("5 h", "L", name="used")
    with pytest.raises(QuantityError):
        exact_number("0 gal", "L", name="used")
