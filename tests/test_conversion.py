"""Conversion of numbers, and the crossing between volume and mass."""

import re
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from registries import ONE_REGISTRY

import fuelunits as fu
from fuelunits.conversion import convert
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError, UnitError
from fuelunits.units import exact_factor

FINITE = st.floats(min_value=-1e200, max_value=1e200, allow_nan=False)
UNITS = st.sampled_from(["gal", "L", "imp_gal", "bbl", "m3", "in3", "fl_oz"])


@given(FINITE, UNITS, UNITS)
def test_within_two_units_in_the_last_place_of_the_exact_value(value, a, b):
    exact = Fraction(value) * exact_factor(a, b)
    got = convert(value, a, b)
    assert abs(Fraction(got) - exact) <= 2 * Fraction(np.spacing(abs(float(exact))))


@given(FINITE, UNITS, UNITS)
def test_there_and_back(value, a, b):
    assert convert(convert(value, a, b), b, a) == pytest.approx(value, rel=1e-15, abs=1e-300)


@pytest.mark.parametrize("shape", [(), (0,), (1,), (2, 3)])
def test_shapes_and_types(shape):
    values = np.full(shape, 2.0)
    result = convert(values, "gal", "L")
    assert np.shape(result) == shape
    assert np.all(result == 2 * 3.785411784)
    assert convert(values.astype(np.float32), "gal", "L").dtype == np.float32
    assert convert(np.full(shape, 2), "gal", "L").dtype == np.float64
    assert np.all(values == 2.0)


def test_scalars_and_lists():
    assert type(convert(2, "gal", "L")) is float
    assert convert([1, 2], "gal", "L").tolist() == [3.785411784, 7.570823568]
    assert np.isnan(convert(float("nan"), "gal", "L"))


def test_temperatures():
    assert convert(-40.0, "degC", "degF") == pytest.approx(-40.0, rel=1e-14)
    assert convert(np.array([0.0, 100.0]), "degC", "K").tolist() == [273.15, 373.15]
    assert convert(10.0, "delta_degC", "delta_degF") == 18.0
    assert convert(10, "degC", "degC") == 10.0
    for a, b in (("delta_degC", "degC"), ("degC", "delta_degF"), ("K", "delta_K")):
        with pytest.raises(DimensionError, match="difference"):
            convert(10.0, a, b)
    for value in (-300.0, np.array([0.0, -300.0])):
        with pytest.raises(QuantityError, match="absolute zero"):
            convert(value, "degC", "K")


def test_crossing_takes_a_density_exactly_as_written():
    assert convert(200.0, "gal", "lb", density="6.7 lb/gal") == 1340.0
    assert convert(1340.0, "lb", "gal", density="6.7 lb/gal") == pytest.approx(200.0, rel=1e-15)
    assert convert(12.5, "gal/h", "lb/h", density="6.7 lb/gal") == 83.75
    assert convert(43_186.0, "pulse/gal", "pulse/lb", density="6.7 lb/gal") == pytest.approx(43_186 / 6.7, rel=1e-15)
    ureg = ONE_REGISTRY
    assert convert(200.0, "gal", "lb", density=ureg.Quantity(6.7, "lb/gallon")) == pytest.approx(1340.0, rel=1e-14)


def test_without_a_density_nothing_is_guessed():
    with pytest.raises(DimensionError, match=r"give the density of the fuel"):
        convert(200.0, "gal", "lb")
    with pytest.raises(DimensionError, match=r"leave out the density"):
        convert(200.0, "gal", "L", density="6.7 lb/gal")
    for density in (1.77, "1.77", "0 lb/gal", "-1 lb/gal", "6.7 lb", ONE_REGISTRY.Quantity(np.nan, "kg/L")):
        with pytest.raises(FuelUnitsError, match="density"):
            convert(200.0, "gal", "lb", density=density)


def test_a_mix_up_of_pounds_and_kilograms_per_litre_cannot_be_made_silently():
    # the accident inquiry of quantity_examples.csv: 1.77 is pounds per litre, and was taken for kilograms
    assert convert(7682.0, "L", "kg", density="0.803 kg/L") == pytest.approx(6169, abs=0.5)
    assert convert(7682.0, "L", "kg", density="1.77 lb/L") == pytest.approx(6169, abs=2)
    with pytest.raises(QuantityError, match=r"bare number 1\.77 has no unit"):
        convert(7682.0, "L", "kg", density=1.77)


@pytest.mark.parametrize("value", ["5 gal", b"5", ONE_REGISTRY.Quantity(5, "gallon")])
def test_the_value_has_no_unit_of_its_own(value):
    with pytest.raises(QuantityError, match="plain number"):
        convert(value, "gal", "L")


@pytest.mark.parametrize("units", [(2, "L"), ("gal", None), (["gal"], "L")])
def test_units_are_text(units):
    with pytest.raises(UnitError, match="a unit is text"):
        convert(1.0, *units)


def test_absolute_zero_is_where_it_is_on_every_scale():
    for scale, zero in (("degC", -273.15), ("degF", -459.67), ("K", 0.0), ("degR", 0.0)):
        assert convert(zero + 0.01, scale, "K") > 0.0
        with pytest.raises(QuantityError, match="absolute zero"):
            convert(zero - 0.01, scale, "K")


Q = ONE_REGISTRY.Quantity
REFUSALS = [
    (lambda: convert("5 gal", "gal", "L"), "number|'5 gal'"),
    (lambda: convert(Q(5, "gallon"), "gal", "L"), "number|5 gallon"),
    (lambda: convert(True, "gal", "L"), "number|True"),
    (lambda: convert(1.0, ["gal"], "L"), "text|['gal']"),
    (lambda: convert(1.0, "gal", "lb"), "gal is a volume|lb is a mass|6.7 lb/gal"),
    (lambda: convert(1.0, "gal", "h"), "gal is a volume|h is a time"),
    (lambda: convert(1.0, "gal", "L", density="1 kg/L"), "both a volume|leave out the density"),
    (lambda: convert(1.0, "degC", "K", density="1 kg/L"), "both a temperature|leave out the density"),
    (lambda: convert([0.0, -300.0], "degC", "K"), "absolute zero, -273.15 °C|-300"),
    (lambda: convert(1e308, "gal", "mL"), "1e+308 gal|too large|mL"),
    (lambda: convert(-1e308, "gal", "mL"), "-1e+308 gal|too large|mL"),
    (lambda: convert(1e308, "degC", "degF"), "1e+308 degC|too large|degF"),
    (lambda: convert(-1.0, "K", "K"), "absolute zero|-1"),
    (lambda: convert(1.0, "gal", "lb", density=Q([1.0, 2.0], "kg/L")), "density|[1.0 2.0]"),
    (lambda: convert(1.0, "gal", "lb", density=Q(np.inf, "kg/L")), "density|inf"),
    (lambda: convert(1.0, "gal", "lb", density="0 lb/gal"), "density|positive|0 lb/gal|6.7 lb/gal"),
    (lambda: convert(1.0, "gal", "lb", density=Q(3, "hour")), "density|3 hour|6.7 lb/gal"),
    (lambda: convert(1.0, "gal", "lb", density="5 gal"), "density|'5 gal' is a volume|6.7 lb/gal"),
]


@pytest.mark.parametrize(("call", "words"), REFUSALS)
def test_refusals_name_what_was_given_and_what_to_write(call, words):
    with pytest.raises(FuelUnitsError) as refusal:
        call()
    assert all(word in str(refusal.value) for word in words.split("|"))


def test_what_is_infinite_stays_so_and_numpy_warns_of_what_becomes_so():
    assert (convert(np.inf, "gal", "L"), convert(-np.inf, "gal", "L")) == (np.inf, -np.inf)
    with pytest.warns(RuntimeWarning, match="overflow"):
        assert convert([1e308, 1.0], "gal", "mL").tolist() == [np.inf, 3785.411784]


@pytest.mark.parametrize("scale", ["degC", "degF", "K", "degR"])
def test_absolute_zero_itself_is_a_temperature(scale):
    zero = convert(0.0, "K", scale)
    assert convert(zero, scale, scale) == zero
    assert convert([zero, zero + 1.0], scale, scale).tolist() == [zero, zero + 1.0]


RIGHT = ("6 lb/gal", "6.8 lb/gal", "8.35 lb/gal", "0.803 kg/L", "803 kg/m^3", "8.05 lb/imp_gal")
WRONG = ("0.803 lb/gal", "6.7 kg/L", "803 kg/L", "0.803 kg/m^3", "803 lb/gal", "6.7 kg/m^3", "67 lb/gal")


@pytest.mark.parametrize(
    "call",
    [
        lambda d: convert(50.0, "gal", "lb", density=d),
        lambda d: fu.endurance("112 kg", "52 L/h", density=d),
        lambda d: fu.endurance("112 L", "52 L/h", density=d),  # also where it is not needed
        lambda d: fu.fuel_for("1 h", "52 L/h", "kg", density=d),
        lambda d: fu.remaining("112 kg", "20 L", "kg", density=d),
        lambda d: fu.RESERVES[0].fuel_required("1 h", "52 L/h", "kg", density=d),
        lambda d: fu.first_to_trip(fu.LowFuelByTime("30 min"), fu.LowFuelByQuantity("25 L"), "40 kg/h", density=d),
        lambda d: fu.fuel_on_board({"gauge": "80 kg", "dip": "100 L"}, "L", density=d),
        lambda d: fu.net_flow(
            "480 Hz", "7200/L", "384 Hz", "7200/L", feed_density=d, return_density="0.70 kg/L", unit="kg/h"
        ),
        lambda d: fu.KFactor.read("11412 pulse/L").per("kg", density=d),
        lambda d: fu.FrequencyRecord([0.0, 1.0, 2.0], [150.0, 150.0]).flow("11412/L", "kg/h", density=d),
        lambda d: fu.Indicator("11412 pulse/L", reads="kg/h", fixed_density=d),
        lambda d: fu.fuel("Jet A").measured(d, at="15 degC"),
    ],
)
def test_a_density_that_no_liquid_fuel_has_is_refused_by_every_call(call):
    """FAA-H-8083-25 has 6 lb/gal for gasoline, 6.8 for Jet A (both from memory), and 8.35 for water, which passes."""
    for density in RIGHT:
        call(density)
    for density in WRONG:
        with pytest.raises(QuantityError, match=f"{re.escape(density)} is no density of a liquid fuel.* from "):
            call(density)


@pytest.mark.parametrize(("density", "read"), [(500, True), (499.9, False), (1200, True), (1200.1, False)])
def test_the_densities_that_are_read(density, read):
    if read:
        assert convert(1.0, "L", "g", density=f"{density} kg/m^3") == pytest.approx(density)
    else:
        with pytest.raises(QuantityError, match="500 to 1200"):
            convert(1.0, "L", "g", density=f"{density} kg/m^3")
