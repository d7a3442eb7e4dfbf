"""What is given of another kind than is needed: each argument refused by its name, with what to write instead."""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from every_call import BY_QUANTITY, BY_TIME, CALIBRATION, CHECK, FILL, POUNDS, K
from registries import ONE_REGISTRY

import fuelunits as fu
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.validation import (
    boolean,
    check_type,
    check_types,
    coerce_fields,
    format_value,
    plain_array,
    plain_number,
)

through = fu.ViscosityLine.through
LIGHT = "6.5 lb/gal"
VOLUMETRIC = {
    "pulses": 1000,
    "duration_s": 100.0,
    "liquid_temperature_c": 20.0,
    "measure_volume_l": 100.0,
    "measure_temperature_c": 20.0,
    "measure_expansion_per_k": 5e-5,
    "liquid_expansion_per_k": 9e-4,
}


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("6.7 lb/gal", "'6.7 lb/gal'"),
        ("x" * 58, repr("x" * 58)),
        ("x" * 59, "'" + "x" * 56 + "..."),
        (np.eye(2), "array([[1., 0.], [0., 1.]])"),
        ("a  b", "'a  b'"),
        (10**5000, "int of too many digits"),
        ([10**5000], "list of too many digits"),
        (ONE_REGISTRY.Quantity(2.0, "ms"), "2.0 millisecond"),
    ],
    ids=["text", "short enough", "long", "lines", "spaces", "digits", "digits in a list", "quantity"],
)
def test_a_value_is_shown_on_one_line(value, text):
    assert format_value(value) == text


@pytest.mark.parametrize("value", [3, 3.0, Fraction(3), Decimal(3), np.float32(3), np.int64(3), np.uint8(3)])
def test_one_number_of_any_kind_is_a_float(value):
    assert plain_number(value, "x") == 3.0
    assert isinstance(plain_number(value, "x"), float)


@pytest.mark.parametrize("value", [True, np.True_, "3", 3j, [3.0], np.array([3.0]), None, Decimal("sNaN")])
def test_anything_else_is_no_number(value):
    with pytest.raises(QuantityError) as refusal:
        plain_number(value, "x")
    assert "x must be one plain number" in str(refusal.value)


def test_a_number_that_is_missing_passes():
    assert np.isnan(plain_number(float("nan"), "x"))
    with pytest.raises(QuantityError, match="x must be one plain number; got int of too many digits"):
        plain_number(10**5000, "x")


def test_flags_are_true_or_false():
    assert [boolean(value, "x") for value in (True, False, np.True_, np.False_)] == [True, False, True, False]
    assert type(boolean(np.True_, "x")) is bool
    with pytest.raises(QuantityError, match="x must be True or False; got 1"):
        boolean(1, "x")


def test_kinds():
    assert check_type("gal", str, "unit", "'gal'") == "gal"
    assert check_type(K, (str, fu.KFactor), "k", "'43186 pulse/gal'") is K
    with pytest.raises(QuantityError, match="unit must be text, for example 'gal'; got 5"):
        check_type(5, str, "unit", "'gal'")
    assert check_types((each for each in "ab"), str, "units", "text") == ("a", "b")
    assert check_types([], str, "units", "text") == ()
    for wrong in ("ab", b"ab", 5, np.array(5.0), ONE_REGISTRY.Quantity(5.0, "L")):
        with pytest.raises(QuantityError, match=r"^units must be a list of text; got"):
            check_types(wrong, str, "units", "text")
    with pytest.raises(QuantityError, match=r"units must be text.*got 5"):
        check_types(["a", 5], str, "units", "text")


@dataclass(frozen=True)
class Noted:
    hz: float
    celsius: float | None = None

    def __post_init__(self):
        coerce_fields(self, ("hz", "celsius"), plain_number, "a note: ")


def test_a_record_is_checked_as_it_is_made():
    assert Noted(Fraction(1, 2), 20) == Noted(0.5, 20.0)
    assert type(Noted(5).hz) is float
    assert Noted(5).celsius is None
    with pytest.raises(QuantityError, match=r"^a note: hz must be one plain number; got None$"):
        Noted(None)
    with pytest.raises(QuantityError, match=r"^a note: celsius must be one plain number; got '20'$"):
        Noted(5, "20")


def test_a_calibration_point_has_a_frequency_and_a_k():
    with pytest.raises(QuantityError, match=r"^calibration point: frequency_hz must be one plain number; got None$"):
        fu.CalibrationPoint(None, 7600.0, 0.001)
    with pytest.raises(QuantityError, match=r"^calibration point: k_pulses_per_l must be one plain number; got None$"):
        fu.CalibrationPoint(100.0, None, 0.001)


def test_plain_arrays():
    array = np.array([1.0, 2.0])
    assert plain_array(array, "x") is array
    with pytest.raises(QuantityError, match="x must be plain numbers"):
        plain_array(ONE_REGISTRY.Quantity(array, "s"), "x")
    with pytest.raises(QuantityError, match="x must be an array of numbers"):
        plain_array([[1], [1, 2]], "x")


REFUSALS = [
    (lambda: through((-20.0, 5.0), (40.0, 1.2), name=7, source="ucum"), "name is 7; write what the liquid is called"),
    (
        lambda: through((-20.0, 5.0), (40.0, 1.2), source=None),
        "the viscosity of the liquid has no source; say where its two points come from",
    ),
    (lambda: fu.water_density_kg_m3(20.0, air_saturated="yes"), "air_saturated is 'yes'; write True or False"),
    (lambda: fu.ctl(800.0, 15.0, base_c=[15.0]), "base_c is [15.0]; one plain number is needed"),
    (
        lambda: fu.ctl(800.0, 15.0, base_c=16.0),
        "base_c must be 15 degC, 20 degC or 60 degF (BASE_60F_C); got 16.0",
    ),
    (lambda: fu.ctl(800.0, 15.0, edition=[2004]), "edition must be 2004 or 1980; got [2004]"),
    (lambda: fu.ctl(800.0, 15.0, edition=1952), "edition must be 2004 or 1980; got 1952"),
    (
        lambda: fu.ctl(800.0, 15.0, commodity="crude oil"),
        "commodity is 'crude oil'; write CRUDE_OIL, REFINED_PRODUCTS or LUBRICATING_OIL",
    ),
    (lambda: fu.base_density(800.0, 15.0, glass_hydrometer=1), "glass_hydrometer is 1; write True or False"),
    (
        lambda: fu.hydrometer_factor(20.0, calibrated_c="15 degC"),
        "calibrated_c is '15 degC'; one plain number is needed",
    ),
    (
        lambda: fu.hydrometer_factor(20.0, calibrated_c=16.0),
        "calibrated_c must be 15 degC, 20 degC or 60 degF (BASE_60F_C); got 16.0",
    ),
    (lambda: fu.density_from_api_gravity(45.0, edition="2004"), "edition must be 2004 or 1980; got '2004'"),
    (lambda: fu.density_from_api_gravity(45.0, edition=1952), "edition must be 2004 or 1980; got 1952"),
    (
        lambda: fu.GivenExpansion(source="ucum", base_density_kg_m3="800", alpha_per_c=0.0009),
        "base_density_kg_m3 is '800'; one plain number is needed",
    ),
    (
        lambda: fu.GivenExpansion(source="ucum", base_density_kg_m3=0.8, alpha_per_c=0.0009),
        "base_density_kg_m3: 0.8 kg/m^3 is no density of a liquid fuel",
    ),
    (
        lambda: fu.GivenExpansion.through(6.7, 5.0, 6.5, 30.0, source="ucum"),
        "is it 6.7 lb/gal",
    ),
    (
        lambda: fu.GivenExpansion(source="ucum", base_density_kg_m3=800.0, alpha_per_c=None),
        "alpha_per_c is None; one plain number is needed",
    ),
    (
        lambda: fu.GivenExpansion(source="ucum", base_density_kg_m3=800.0, alpha_per_c=0.0009, base_c="15 degC"),
        "base_c is '15 degC'; one plain number is needed",
    ),
    (
        lambda: fu.GivenExpansion.through("800", 5.0, 780.0, 30.0, source="ucum"),
        "density_kg_m3 is '800'; one plain number is needed",
    ),
    (
        lambda: fu.GivenExpansion.through(800.0, "5", 780.0, 30.0, source="ucum"),
        "temperature_c is '5'; one plain number is needed",
    ),
    (
        lambda: fu.GivenExpansion.through(800.0, 5.0, "780", 30.0, source="ucum"),
        "other_kg_m3 is '780'; one plain number is needed",
    ),
    (
        lambda: fu.GivenExpansion.through(800.0, 5.0, 780.0, "30", source="ucum"),
        "other_c is '30'; one plain number is needed",
    ),
    (
        lambda: fu.GivenExpansion(source=7, base_density_kg_m3=800.0, alpha_per_c=0.0009),
        "GivenExpansion has no source; give the key of an entry of sources.toml",
    ),
    (lambda: fu.factor(None, "L"), "a unit is text, such as 'gal'; got None"),
    (lambda: fu.exact_factor("gal", ["L"]), "a unit is text, such as 'gal'; got ['L']"),
    (lambda: fu.convert(1.0, ["gal"], "L"), "a unit is text, such as 'gal'; got ['gal']"),
    (
        lambda: fu.convert("5", "gal", "L"),
        "a plain number is needed; got '5'",
    ),
    (lambda: fu.register_units("mine"), "registry is 'mine'; a case-sensitive pint.UnitRegistry() is needed"),
    (lambda: fu.source(["ucum"]), "there is no source ['ucum'] in sources.toml"),
    (lambda: fu.uncertain(1.0, 0.1, name=None), "name is None; write what a budget should call it"),
    (lambda: fu.uncertain("1", 0.1, name="mass"), "mass: the value is '1'; one plain number is needed"),
    (
        lambda: fu.uncertain(1.0, "0.1", name="mass"),
        "mass: the standard uncertainty is '0.1'; one plain number is needed",
    ),
    (
        lambda: fu.uncertain(1.0, 0.1, name="mass", degrees_of_freedom="9"),
        "mass: the number of degrees of freedom is '9'; one plain number is needed",
    ),
    (lambda: fu.rectangular(1.0, "0.1", name="mass"), "half_width is '0.1'; one plain number is needed"),
    (lambda: fu.triangular(1.0, "0.1", name="mass"), "half_width is '0.1'; one plain number is needed"),
    (lambda: fu.measured("1 kg", "1 g", name=None), "name is None; write what a budget should call it"),
    (lambda: fu.counted(5.5), "pulse count must be a whole number of 1 or more; got 5.5"),
    (lambda: CALIBRATION.coverage_factor(probability="95 %"), "probability is '95 %'; one plain number is needed"),
    (
        lambda: fu.measured("1 kg", expanded_uncertainty="2 g", coverage_factor="2", name="balance"),
        "coverage factor is '2'; one plain number is needed",
    ),
    (lambda: fu.calibrate("runs"), "runs is 'runs'; give a list of GravimetricRun or VolumetricRun"),
    (lambda: fu.calibrate([5]), "one of the runs is 5; write GravimetricRun or VolumetricRun"),
    (
        lambda: fu.FillUp(indicated="100 L", delivered=100.0),
        "delivered: the bare number 100.0 has no unit",
    ),
    (
        lambda: fu.compare_fill_ups(K, FILL),
        "fill-ups must be a list of FillUp; got FillUp",
    ),
    (
        lambda: fu.FillUp(indicated="100 L", delivered="100 L", volume_correction_factor="1"),
        "volume_correction_factor is '1'; one plain number is needed",
    ),
    (
        lambda: fu.VolumetricRun(**VOLUMETRIC | {"duration_s": "100 s"}),
        "a run on the bench: duration_s is '100 s'; one plain number is needed",
    ),
    (
        lambda: fu.CalibrationPoint("100 Hz", 7600.0, 0.001),
        "calibration point: frequency_hz is '100 Hz'; one plain number is needed",
    ),
    (lambda: CHECK.error_of(200.0), "amount: the bare number 200.0 has no unit; write text such as '200 gal'"),
    (lambda: CHECK.error_of("200 gal", any_batch="yes"), "any_batch is 'yes'; write True or False"),
    (lambda: fu.diagnose("1.2 gal", 1), "give two amounts or flows, or two plain numbers"),
    (lambda: fu.first_to_trip("25 min", BY_QUANTITY, "10 gal/h"), "by_time is '25 min'; write LowFuelByTime('25 min')"),
    (
        lambda: fu.first_to_trip(BY_TIME, "7 gal", "10 gal/h"),
        "by_quantity is '7 gal'; write LowFuelByQuantity('30 L')",
    ),
    (lambda: fu.Indicator(K, reads="gal/h", channels="2"), "channels must be a whole number from 1 to 64; got '2'"),
    (lambda: POUNDS.bench_points(5, "1 %"), "flows: give a list, such as ['60 L/h', '100 Hz']; got 5"),
    (lambda: fu.check_file(7), "path is 7; write the name of a TOML file"),
    (lambda: fu.fuel(7), "7 is not a fuel; write a name such as 'Jet A'"),
    (
        lambda: fu.check_density("6.7 lb/gal", "Jet A", between=5, tolerance="3 %"),
        "between: 5 is no range; write two quantities, such as ('30 degC', '30 degC')",
    ),
]


@pytest.mark.parametrize(("call", "message"), REFUSALS, ids=lambda it: it[:60] if isinstance(it, str) else "")
def test_every_argument_is_refused_by_its_name(call, message):
    with pytest.raises(FuelUnitsError) as refusal:
        call()
    said = str(refusal.value)
    assert all(fact in said for fact in re.findall(r"'[^']+'|-?[0-9]+(?:\.[0-9]+)?|[a-z]+_\w+|[A-Z]\w{3,}", message)), (
        said
    )


def test_choices_are_listed():
    with pytest.raises(FuelUnitsError, match=r"viscosity of 7 .*JP-8, Jet A, JP-5, ATJ-SPK"):
        fu.viscosity(7)
    with pytest.raises(FuelUnitsError, match=r"values on 7; .*units, .*volume_correction, "):
        fu.published(7)
