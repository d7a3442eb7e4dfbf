"""One check for every valid range."""

from fractions import Fraction

import numpy as np
import pytest

import fuelunits as fu
from fuelunits.errors import FuelUnitsError, OutOfRange
from fuelunits.sources import Range, source

TEMPERATURES = Range("temperature", -40.0, 100.0, "degC", "api_mpms_11_1_2004")


@pytest.mark.parametrize("value", [-40.0, 0.0, 100.0, 15, np.float64(15), np.float32(15), Fraction(15)])
def test_within_the_value_comes_back_itself(value):
    assert TEMPERATURES.check(value) is value


@pytest.mark.parametrize("value", [-40.0 - 1e-11, 100.0 + 1e-11])
def test_a_rounding_error_at_the_limit_is_forgiven(value):
    assert TEMPERATURES.check(value) == value


@pytest.mark.parametrize(("low", "high"), [(0.0, 100.0), (-40.0, 0.0), (-40.0, 100.0)])
def test_what_is_forgiven_is_a_millionth_of_a_millionth(low, high):
    limits = Range("temperature", low, high, "degC", "nobody")
    for limit, away in ((low, -1.0), (high, 1.0)):
        forgiven = limit + away * (1e-12 * abs(limit) + 1e-12)
        assert limits.check(forgiven) is forgiven
        assert limits.check(np.array([forgiven])).tolist() == [forgiven]
        beyond = np.nextafter(forgiven, away * np.inf)
        with pytest.raises(OutOfRange):
            limits.check(beyond)


@pytest.mark.parametrize("value", [-40.0 - 1e-9, 100.0 + 1e-9, -1e300, 1e300, float("inf"), -float("inf")])
def test_outside_it_refuses_or_marks(value):
    with pytest.raises(OutOfRange) as refusal:
        TEMPERATURES.check(value)
    assert (refusal.value.value, refusal.value.low, refusal.value.high) == (value, -40.0, 100.0)
    assert (refusal.value.name, refusal.value.unit, refusal.value.source) == (
        "temperature",
        "degC",
        "api_mpms_11_1_2004",
    )
    marked = TEMPERATURES.check(value, "nan")
    assert isinstance(marked, float)
    assert np.isnan(marked)


def test_the_message_names_value_limits_unit_and_source():
    with pytest.raises(OutOfRange) as refusal:
        TEMPERATURES.check(150.0)
    title = f"{source('api_mpms_11_1_2004').title}, {source('api_mpms_11_1_2004').edition}"
    assert str(refusal.value) == f"temperature: 150 °C is outside its range, -40 to 100 °C (source: {title})"
    with pytest.raises(OutOfRange, match=r"flow: 9 L/h is outside its range, 1 to 8 L/h .source: this meter"):
        Range("flow", 1.0, 8.0, "L/h", "this meter").check(9.0)


def test_nan_passes():
    assert np.isnan(TEMPERATURES.check(float("nan")))
    values = np.array([np.nan, 15.0])
    assert TEMPERATURES.check(values) is values
    assert TEMPERATURES.contains(values).tolist() == [False, True]


@pytest.mark.parametrize("shape", [(0,), (3,), (2, 3)])
def test_arrays_within_come_back_themselves(shape):
    values = np.full(shape, 15.0)
    assert TEMPERATURES.check(values) is values


def test_arrays_outside():
    values = np.array([[15.0, -41.0], [np.nan, 101.0]])
    with pytest.raises(OutOfRange) as refusal:
        TEMPERATURES.check(values)
    assert refusal.value.value == -41.0
    marked = TEMPERATURES.check(values, "nan")
    assert np.isnan(marked).tolist() == [[False, True], [True, True]]
    assert marked[0, 0] == 15.0
    assert values[0, 1] == -41.0
    zero_dimensional = np.array(150.0)
    with pytest.raises(OutOfRange, match="150"):
        TEMPERATURES.check(zero_dimensional)
    assert np.isnan(TEMPERATURES.check(zero_dimensional, "nan"))


def test_a_series_is_marked_in_place_of_its_index():
    pd = pytest.importorskip("pandas")
    values = pd.Series([15.0, 101.0, np.nan], index=["a", "b", "c"], name="temperature")
    marked = TEMPERATURES.check(values, "nan")
    pd.testing.assert_series_equal(marked, pd.Series([15.0, np.nan, np.nan], index=["a", "b", "c"], name="temperature"))
    with pytest.raises(OutOfRange) as refusal:
        TEMPERATURES.check(values)
    assert refusal.value.value == 101.0
    assert type(refusal.value.value) is float


def test_contains():
    assert TEMPERATURES.contains(15.0)
    assert not TEMPERATURES.contains(100.1)
    assert not TEMPERATURES.contains(-40.1)


JET_A = fu.fuel("Jet A")
EXPANDING = fu.GivenExpansion(source="api_mpms_11_1_2004", base_density_kg_m3=800.0, alpha_per_c=9e-4)
OILY = fu.viscosity("Jet A")
ANSWERS = {
    "a grade": JET_A.density_kg_m3,
    "a petroleum product": fu.PetroleumProduct(800.0).density_kg_m3,
    "a given expansion": fu.GivenExpansion(
        source="api_mpms_11_1_2004", base_density_kg_m3=800.0, alpha_per_c=9e-4
    ).density_kg_m3,
    "water": fu.water_density_kg_m3,
    "air": lambda t, **how: fu.air_density_kg_m3(t + 15.0, 101_325.0, 0.5, **how),
    "viscosity": OILY.kinematic_viscosity_mm2_s,
    "ctl": lambda t, **how: fu.ctl(800.0, t, **how),
    "ctpl": lambda t, **how: fu.ctpl(800.0, t, 100.0, **how),
    "base density": lambda t, **how: fu.base_density(800.0, t, **how),
}


@pytest.mark.parametrize("value", [2.0, np.array([2.0, 3.0]), np.full(70_000, 2.0)], ids=["one", "two", "many"])
@pytest.mark.parametrize("answer", ANSWERS.values(), ids=ANSWERS)
def test_an_unknown_way_with_what_lies_outside_is_refused_even_within(answer, value):
    assert np.all(answer(value, out_of_range="raise") == answer(value))
    assert np.all(answer(value, out_of_range="nan") == answer(value))
    for wrong in ("Nan", "ignore", None):
        with pytest.raises(FuelUnitsError, match="out_of_range must be 'raise' or 'nan'"):
            answer(value, out_of_range=wrong)


def test_one_value_outside_is_found_wherever_it_stands_in_an_array():
    valid = Range("temperature", -40.0, 100.0, "degC", "a statement")
    for values, first in (
        ([20.0, 150.0], 150.0),
        ([150.0, 20.0], 150.0),
        ([-50.0, 20.0], -50.0),
        ([20.0, -50.0], -50.0),
    ):
        with pytest.raises(OutOfRange) as refusal:
            valid.check(np.array(values))
        assert refusal.value.value == first
        inside = [np.nan if each == first else each for each in values]
        np.testing.assert_array_equal(valid.check(np.array(values), "nan"), inside)
    assert valid.check(np.array([-40.0, 100.0])).tolist() == [-40.0, 100.0]
