"""Amounts and flows by volume or by mass: one is read as the other only with a density."""

from fractions import Fraction

import numpy as np
import pint
import pytest
from registries import OF_OFFSETS, ONE_REGISTRY

from fuelunits.conversion import amount, convert_exact, exact_amount, flow_unit_name, kind_of
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.quantities import exact_number, first_quantity, is_ratio

REGISTRIES = [ONE_REGISTRY, OF_OFFSETS]
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
    jet = exact_number("6.7 lb/gal", "kg/m^3", name="density")
    assert jet * Fraction("3.785411784") / 1000 == Fraction("6.7") * Fraction("0.45359237")


def test_crossing_is_exact_both_ways_and_needs_no_density_within_a_kind():
    assert convert_exact(Fraction(50), "gal", "lb", "6.7 lb/gal") == 335
    assert convert_exact(Fraction(335), "lb", "gal", "6.7 lb/gal") == 50
    assert convert_exact(Fraction(1), "bbl", "gal") == convert_exact(Fraction(1), "bbl", "gal", "800 kg/m^3") == 42


def test_the_first_quantity_sets_the_registry():
    first, second = Q(1.0, "gallon"), REGISTRIES[1].Quantity(1.0, "hour")
    assert first_quantity("1 gal", first, Q(1.0, "hour")) is first
    assert first_quantity(second, None) is second
    with pytest.raises(QuantityError, match="two pint registries"):
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


REFUSALS = [
    (lambda: kind_of(5, ["m^3/s", "kg/s"], name="flow"), "flow|number 5|'12.5 gal/h'"),
    (lambda: kind_of("5", ["m^3/s", "kg/s"], name="flow"), "flow|a volume flow or a mass flow|'5'"),
    (lambda: kind_of(Q(5, "hour"), ["L", "kg"], name="used"), "used|a volume or a mass|5 hour"),
    (lambda: kind_of(pint.UnitRegistry(None).Quantity(5, ""), ["L", "kg"], name="used"), "used|a volume or a mass"),
    (lambda: amount("5 gal/h", "L", name="used"), "used|a volume or a mass|5 gal/h"),
    (lambda: amount("5 gal", "L/h", name="flow"), "flow|a volume flow or a mass flow|5 gal"),
    (lambda: amount("5 gal", "h", name="used"), "unit|'h' is a time|'gal'"),
    (lambda: amount("-5 gal", "L", name="used"), "used must be zero or positive|-5 gal"),
    (lambda: amount("-5 gal", "kg", name="used", density="0.8 kg/L"), "used must be zero or positive|-5 gal"),
    (lambda: amount("5 gal", "lb", name="used"), "a volume|a mass|density="),
    (lambda: exact_number("0 gal", "L", name="used"), "used must be positive|0 gal"),
    (lambda: exact_number(Q([1.0, 2.0], "gallon"), "L", name="used"), "used must be one|[1.0 2.0] gallon"),
    (lambda: exact_number(Q(np.nan, "gallon"), "L", name="used"), "used must be one|nan gallon"),
    (lambda: exact_amount("0 gal", "L", name="used"), "used must be positive|0 gal"),
    (lambda: exact_amount("5 h", "L", name="used"), "used|a volume or a mass|5 h"),
    (lambda: exact_amount("5 gal", "lb", name="used"), "a volume|a mass|density="),
    (lambda: convert_exact(Fraction(1), "kg", "L", "0 kg/L"), "density must be positive|0 kg/L"),
    (lambda: convert_exact(Fraction(1), "kg", "L", "0.8 kg"), "density|'0.8 kg' is a mass|6.7 lb/gal"),
    (lambda: convert_exact(Fraction(1), "kg/h", "gph"), "a mass flow|a volume flow|density="),
    (lambda: convert_exact(Fraction(1), "kg", "h", "800 kg/m^3"), "kg is a mass|h is a time"),
]


@pytest.mark.parametrize(("call", "words"), REFUSALS)
def test_refusals_name_what_was_given_and_what_to_write(call, words):
    with pytest.raises(FuelUnitsError) as refusal:
        call()
    assert all(word in str(refusal.value) for word in words.split("|"))


def test_what_is_of_the_wrong_kind_is_told_from_what_makes_no_sense():
    with pytest.raises(DimensionError):
        amount("5 h", "L", name="used")
    with pytest.raises(QuantityError):
        exact_number("0 gal", "L", name="used")
