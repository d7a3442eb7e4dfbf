"""Models of a liquid: what all of them do, the scaled one, and the way back to temperature."""

import pickle
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelunits.errors import OutOfRange
from fuelunits.fuels.blends import blend
from fuelunits.fuels.elementwise import solve_rising
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.liquids import GivenExpansion, PetroleumProduct, Scaled, density_doubt, temperature_c_at
from fuelunits.sources import Range, all_sources

ATJ = GivenExpansion.through(759.217, 15.0, 722.294, 65.0, source="afrl_edwards_2020")
MODELS = {
    "petroleum 2004": PetroleumProduct(800.0),
    "petroleum 1980": PetroleumProduct(800.0, edition=1980),
    "given expansion": ATJ,
    "scaled petroleum": Scaled(PetroleumProduct(800.0), 1.01),
    "scaled expansion": Scaled(ATJ, 0.99),
    "fuel": fuel("Jet A"),
    "batch": fuel("Jet A").measured("0.81 kg/L"),
    "blend": blend({"Jet A": 0.7, "HEFA-SPK": 0.3}),
}
HIGHEST_KPA = {"given expansion": 1000.0, "scaled expansion": 1000.0, "blend": 1000.0}


@pytest.fixture(params=MODELS.values(), ids=MODELS.keys())
def model(request):
    return request.param


def _within(model, share):
    valid = model.valid_temperatures_c
    return valid.low + share * (valid.high - valid.low)


# what every model does


def test_a_model_names_its_source_and_its_temperatures(model):
    assert model.source in all_sources()
    valid = model.valid_temperatures_c
    assert isinstance(valid, Range)
    assert valid.unit == "degC"
    assert -50.0 <= valid.low < 15.0 < valid.high <= 150.0


@given(st.sampled_from(list(MODELS.values())), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
@settings(max_examples=50)
def test_density_falls_with_temperature(model, one, other):
    """By at least 0.05 % a degree, as every fuel does."""
    cold, hot = sorted((_within(model, one), _within(model, other)))
    fall = model.density_kg_m3(cold) - model.density_kg_m3(hot)
    assert fall >= 0.0005 * 750.0 * (hot - cold) - 1e-9


@given(st.sampled_from(list(MODELS.values())), st.floats(0.0, 1.0), st.floats(0.0, 500.0), st.floats(1.0, 500.0))
@settings(max_examples=50)
def test_density_rises_with_pressure(model, share, pressure, more):
    t = _within(model, min(share, 0.6))
    assert model.density_kg_m3(t, pressure + more) > model.density_kg_m3(t, pressure)


@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3)])
def test_arrays_keep_their_shape(model, shape):
    t = np.linspace(-30.0, 80.0, int(np.prod(shape))).reshape(shape)
    before = t.copy()
    densities = np.asarray(model.density_kg_m3(t))
    assert densities.shape == shape
    assert densities.ravel().tolist() == pytest.approx([model.density_kg_m3(float(each)) for each in t.flat], rel=1e-14)
    assert np.array_equal(t, before)


def test_scalars_and_nan(model):
    assert type(model.density_kg_m3(20.0)) is float
    assert model.density_kg_m3(20) == model.density_kg_m3(20.0)
    assert np.isnan(model.density_kg_m3(float("nan")))
    assert np.isnan(model.density_kg_m3([20.0, np.nan])).tolist() == [False, True]


def test_outside_is_refused_or_marked(model):
    valid = model.valid_temperatures_c
    for celsius in (valid.low - 0.1, valid.high + 0.1):
        with pytest.raises(OutOfRange) as refusal:
            model.density_kg_m3(celsius)
        assert refusal.value.value == pytest.approx(celsius)
        assert "°C is outside" in str(refusal.value)
        assert np.isnan(model.density_kg_m3([20.0, celsius], out_of_range="nan")).tolist() == [False, True]
        assert np.isnan(model.density_kg_m3(celsius, out_of_range="nan"))


@pytest.mark.parametrize("name", MODELS)
def test_pressure_outside_is_refused_or_marked(name):
    model = MODELS[name]
    pressure = HIGHEST_KPA.get(name, 10_342.3) + 1.0
    with pytest.raises(OutOfRange, match="gauge pressure"):
        model.density_kg_m3(20.0, pressure)
    assert np.isnan(model.density_kg_m3(20.0, [100.0, pressure], out_of_range="nan")).tolist() == [False, True]
    # a negative gauge pressure is taken as 0, as the 2004 standard has it
    assert model.density_kg_m3(20.0, -30.0) == model.density_kg_m3(20.0)
    np.testing.assert_array_equal(model.density_kg_m3(20.0, [-30.0, 0.0]), model.density_kg_m3([20.0, 20.0]))


@pytest.mark.parametrize("name", MODELS)
def test_temperature_and_pressure_broadcast(name):
    model = MODELS[name]
    densities = model.density_kg_m3(np.array([[0.0], [20.0]]), np.array([0.0, 500.0, 900.0]))
    assert densities.shape == (2, 3)
    assert densities[1, 2] == pytest.approx(model.density_kg_m3(20.0, 900.0), rel=1e-14)


def test_a_model_is_a_plain_value(model):
    again = pickle.loads(pickle.dumps(model))
    assert again == model
    assert hash(again) == hash(model)
    assert again.density_kg_m3(33.0) == model.density_kg_m3(33.0)


def test_threads_agree(model):
    """On a fresh copy, so that what a model keeps for later is worked out by several threads at once."""
    t = np.linspace(-30.0, 80.0, 50)
    fresh = pickle.loads(pickle.dumps(model))
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda _: fresh.density_kg_m3(t), range(8)))
    for densities in together:
        np.testing.assert_array_equal(densities, model.density_kg_m3(t))


# the way back


@given(st.sampled_from(list(MODELS.values())), st.floats(0.0, 1.0))
@settings(max_examples=50)
def test_temperature_of_a_density(model, share):
    celsius = _within(model, share)
    found = temperature_c_at(model, model.density_kg_m3(celsius))
    assert found is not None
    assert found == pytest.approx(celsius, abs=1e-7)


def test_both_ends_of_the_range_are_found(model):
    valid = model.valid_temperatures_c
    assert temperature_c_at(model, model.density_kg_m3(valid.low)) == pytest.approx(valid.low, abs=1e-7)
    assert temperature_c_at(model, model.density_kg_m3(valid.high)) == pytest.approx(valid.high, abs=1e-7)


def test_the_doubt_of_a_density_is_that_of_its_reading_and_of_the_expansion_from_there():
    """By hand: 0.01 % per °C, from 15 °C or from where a batch was read, with twice its standard uncertainty."""
    assert [density_doubt(fuel("Jet A"), t) for t in (25.0, -5.0)] == pytest.approx([0.001, 0.002])
    batch = fuel("Jet A").measured("800 kg/m^3", at="25 degC", by="densitometer", uncertainty="0.4 kg/m^3")
    assert [density_doubt(batch, t) for t in (25.0, 5.0)] == pytest.approx([0.001, 0.003])


def test_no_temperature_for_a_density_that_it_never_has(model):
    valid = model.valid_temperatures_c
    assert temperature_c_at(model, model.density_kg_m3(valid.low) + 0.01) is None
    assert temperature_c_at(model, model.density_kg_m3(valid.high) - 0.01) is None


def test_the_search_is_as_fine_for_a_thin_gas_as_for_a_liquid():
    """It stops at a share of the density sought: of a millionth of the density, a millionth as much is left."""
    for celsius in (-35.0, 3.0, 71.0):
        liquid = PetroleumProduct(800.0)
        thin = Scaled(liquid, 1e-6)
        assert temperature_c_at(thin, thin.density_kg_m3(celsius)) == pytest.approx(celsius, abs=1e-8)


def test_a_value_that_is_reached_is_reached_to_the_last_digit():
    assert [solve_rising(lambda x: x**3, goal, 0.0, 10.0) for goal in (0.0, 27.0, 1000.0)] == [0.0, 3.0, 10.0]


# the scaled one


@given(st.floats(0.9, 1.1), st.floats(-40.0, 100.0), st.floats(0.0, 1000.0))
@settings(max_examples=30)
def test_a_scaled_liquid_keeps_the_ratio(ratio, celsius, pressure):
    scaled = Scaled(ATJ, ratio)
    assert scaled.density_kg_m3(celsius, pressure) == ratio * ATJ.density_kg_m3(celsius, pressure)
    assert scaled.density_kg_m3(celsius) == ratio * ATJ.density_kg_m3(celsius)
    assert scaled.source == ATJ.source
    assert scaled.valid_temperatures_c == ATJ.valid_temperatures_c


def test_no_temperature_has_a_density_that_is_missing():
    assert temperature_c_at(PetroleumProduct(800.0), float("nan")) is None
