"""The hypothesis strategies for other projects: what they draw is what they say."""

import runpy
import subprocess
import sys

import pytest
import spelled
from hypothesis import HealthCheck, find, given, settings
from hypothesis import strategies as st

from fuelunits import KFactor, Verdict, all_fuels, blend, fuel, strategies
from fuelunits.errors import FuelUnitsError, MissingExtra
from fuelunits.quantities import magnitude
from fuelunits.units import all_spellings, read_unit, spellings

few = settings(max_examples=50, suppress_health_check=[HealthCheck.too_slow], deadline=None)


@few
@given(st.data())
def test_a_temperature_is_one_of_the_grade(data):
    grade = data.draw(strategies.grades())
    assert grade.density_kg_m3(data.draw(strategies.temperatures_c(grade))) > 500.0


@few
@given(strategies.grades(for_aircraft=True))
def test_aircraft_fuels(grade):
    assert grade.for_aircraft


@few
@given(strategies.batches())
def test_a_batch_is_within_its_limits(batch):
    low, high = batch.fuel.density_limits_kg_m3(15.0)
    assert low is None or low <= batch.base_density_kg_m3 * (1.0 + 1e-7)
    assert high is None or high >= batch.base_density_kg_m3 * (1.0 - 1e-7)
    assert abs(batch.base_density_kg_m3 / batch.fuel.liquid.density_kg_m3(15.0) - 1.0) < 0.08


@pytest.mark.parametrize("end", [0, 1])
def test_a_batch_at_an_end_of_its_limits_is_not_rejected(end, monkeypatch):
    monkeypatch.setattr(st, "floats", lambda *ends: st.just(ends[end]))
    for grade in all_fuels():
        if grade.for_aircraft and not grade.refused:
            batch = find(strategies.batches(grade), lambda _: True)
            assert (grade.name, batch.verdict) != (grade.name, Verdict.REJECT)


@few
@given(strategies.batches("JP-4"), strategies.k_factors(per="L"), strategies.k_factors(2.0, 3.0))
def test_a_chosen_grade_and_unit(batch, k, small):
    assert batch.fuel is fuel("JP-4")
    assert (k.unit, 1_000 <= float(k) <= 100_000) == ("L", True)
    assert 2.0 <= float(small) <= 3.0
    assert KFactor.read(str(small)).relative_error_to(small) == pytest.approx(0.0, abs=1e-6)


@few
@given(strategies.batches(blend({"Jet A": 0.7, "HEFA-SPK": 0.3})))
def test_a_batch_of_a_blend(batch):
    assert 775.0 * (1.0 - 1e-7) <= batch.base_density_kg_m3 <= 840.0 * (1.0 + 1e-7)  # of ASTM D7566, from memory


@few
@given(spelled.texts("gal/h", 1.0, 2.0))
def test_a_flow_is_text_within_its_limits(flow):
    assert 1.0 - 1e-12 <= magnitude(flow, "gal/h", name="flow") <= 2.0 + 1e-12


@few
@given(spelled.texts("degC", -40.0, 60.0))
def test_a_temperature_as_text(text):
    assert -40.0 - 1e-9 <= magnitude(text, "degC", name="temperature") <= 60.0 + 1e-9


def test_every_spelling_of_a_unit_is_drawn_and_read():
    drawn = set()

    @settings(max_examples=400, database=None)
    @given(spelled.unit_texts("gal"))
    def draw(text):
        drawn.add(text.replace(" ", "_"))
        assert read_unit(text) == read_unit("gal")

    draw()
    assert drawn == set(spellings("gal"))
    assert sum(len(spellings(name)) for name in {unit.name for unit in all_spellings().values()}) == len(
        all_spellings()
    )
    assert spellings("lb/gal") == ()


@pytest.mark.parametrize("unit", ["kg/m^3", "colours", "lb//gal"])
def test_a_unit_without_spellings_is_refused(unit):
    with pytest.raises(FuelUnitsError):
        _draw(spelled.unit_texts(unit))


def _draw(strategy):
    @settings(max_examples=1, database=None)
    @given(strategy)
    def draw(_):
        pass

    draw()


@few
@given(spelled.texts("lb/gal", 6.700001, 6.700002))
def test_a_rounded_text_stays_within_its_limits(text):
    assert 6.700001 <= magnitude(text, "lb/gal", name="density") <= 6.700002


def test_hypothesis_is_needed_only_here():
    code = "import sys; sys.modules['hypothesis'] = None\nimport fuelunits.testing\nimport fuelunits.strategies"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert "MissingExtra: fuelunits.strategies needs hypothesis; python -m pip install hypothesis" in done.stderr


def test_without_hypothesis_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "hypothesis", None)
    with pytest.raises(MissingExtra) as refusal:
        runpy.run_path(strategies.__file__)
    assert str(refusal.value) == "fuelunits.strategies needs hypothesis; python -m pip install hypothesis"
