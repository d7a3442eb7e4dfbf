"""Pure liquids through CoolProp, against IAPWS tables, other libraries and the expansion of the standard."""

import pickle
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelunits.errors import FuelUnitsError, MissingExtra, OutOfRange, UnknownFuel
from fuelunits.fuels import pure
from fuelunits.fuels.blends import blend
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.liquids import GivenExpansion, PetroleumProduct
from fuelunits.fuels.pure import PureLiquid, pure_liquid
from fuelunits.fuels.water_and_air import water_density_kg_m3
from fuelunits.sources import Range

WITHOUT_COOLPROP = """
import sys
sys.modules["CoolProp"] = None
import json
from fuelunits.fuels.blends import blend
from fuelunits.errors import MissingExtra
from fuelunits.fuels.grades import all_fuels, fuel
from fuelunits.fuels.pure import pure_liquid
from fuelunits.reference.verification import published, verify
from fuelunits.fuels.water_and_air import water_density_kg_m3

try:
    pure_liquid("water")
except MissingExtra as missing:
    assert str(missing) == "pure liquids need CoolProp; install it with: python -m pip install CoolProp"
else:
    raise AssertionError("CoolProp was not missing")
assert all(grade.density_kg_m3(20.0) > 500.0 for grade in all_fuels() if not grade.refused)
assert blend({"normal heptane": 0.5, "Jet A": 0.5}).density_kg_m3(20.0) > 700.0
assert fuel("Jet A").measured("0.8 kg/L", at="20 degC", by="hydrometer").density_kg_m3(0.0) > 800.0
assert water_density_kg_m3(20.0) > 998.0
report = verify(published("pure_liquids"))
assert report.passed and all(each.skipped for each in report.results)
assert not [name for name in sys.modules if name.startswith("CoolProp.")]
print("done")
"""


def test_everything_else_works_without_coolprop():
    done = subprocess.run([sys.executable, "-c", WITHOUT_COOLPROP], capture_output=True, text=True, check=False)
    assert done.stdout.strip() == "done", done.stderr


def test_importing_the_modules_loads_no_coolprop():
    modules = "fuelunits.fuels.pure, fuelunits.fuels.blends, fuelunits.fuels.batches"
    code = f"import sys, {modules}; print('CoolProp' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_a_missing_library_is_named_with_the_way_to_install_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "CoolProp", None)
    with pytest.raises(MissingExtra, match="pip install CoolProp") as refusal:
        pure_liquid("whatever its name")
    assert isinstance(refusal.value, ImportError)


coolprop = pytest.importorskip("CoolProp.CoolProp")

NAMES = ("n-heptane", "n-decane", "n-dodecane", "toluene", "ethanol", "water")
HYDROCARBONS = NAMES[:4]


@pytest.mark.parametrize(("celsius", "printed"), [(-13.15, 997.068360), (101.85, 957.009710)])
def test_water_that_is_no_stable_liquid_is_refused(celsius, printed):
    """The other two check values of IAPWS SR6-08, at 0.1 MPa, are for supercooled and superheated water."""
    assert 950.0 < printed < 1000.0
    with pytest.raises(OutOfRange, match="temperature of liquid Water"):
        pure_liquid("water").density_kg_m3(celsius, -1.325)


def test_water_against_iapws_95_in_another_library():
    """Within 1e-9 of the iapws library, both being the equation IAPWS-95."""
    iapws = pytest.importorskip("iapws")
    water = pure_liquid("water")
    for kelvin, mpa in ((278.15, 0.101325), (353.15, 0.101325), (298.15, 5.0), (298.15, 10.0)):
        ours = water.density_kg_m3(kelvin - 273.15, 1000.0 * mpa - 101.325)
        assert ours == pytest.approx(iapws.IAPWS95(T=kelvin, P=mpa).rho, rel=1e-9)


def test_water_against_the_bench_water():
    """Tanaka (2001) and IAPWS-95 differ by 0.0011 kg/m3 up to 40 degC, and by 0.0016 under 1000 kPa."""
    t = np.linspace(0.01, 40.0, 21)
    water = pure_liquid("water")
    assert np.max(np.abs(water_density_kg_m3(t) - water.density_kg_m3(t))) < 0.0012
    assert np.max(np.abs(water_density_kg_m3(t, gauge_pressure_kpa=1000.0) - water.density_kg_m3(t, 1000.0))) < 0.0018


@pytest.mark.parametrize("name", [*HYDROCARBONS, "ethanol"])
def test_against_the_density_correlations_of_perrys_handbook(name):
    """Perry's Handbook, 8th edition, table 2-32, as the chemicals library has it: within 0.3 % to 60 degC."""
    volume = pytest.importorskip("chemicals.volume")
    from chemicals import MW, CAS_from_any
    from chemicals.dippr import EQ105

    cas = CAS_from_any(name)
    coefficients = [float(each) for each in volume.rho_data_Perry_8E_105_l.loc[cas].tolist()[1:5]]
    liquid = pure_liquid(name)
    for celsius in np.linspace(max(liquid.valid_temperatures_c.low, -40.0), 60.0, 6):
        handbook = EQ105(celsius + 273.15, *coefficients) * MW(cas) / 1000.0
        assert liquid.density_kg_m3(float(celsius)) == pytest.approx(handbook, rel=0.003)


@pytest.mark.parametrize(
    ("name", "percent"),
    [("n-heptane", 0.07), ("n-decane", 0.11), ("n-dodecane", 0.05), ("toluene", 0.10), ("ethanol", 0.09)],
)
def test_the_standards_expansion_through_two_points(name, percent):
    """Drawn through 0 and 40 degC, from -40 degC (or freezing) to 60 degC, the standard's form misses by so much."""
    liquid = pure_liquid(name)
    drawn = GivenExpansion.through(liquid.density_kg_m3(0.0), 0.0, liquid.density_kg_m3(40.0), 40.0, source="coolprop")
    t = np.linspace(max(liquid.valid_temperatures_c.low, -40.0), 60.0, 21)
    largest = 100.0 * np.max(np.abs(drawn.density_kg_m3(t) / liquid.density_kg_m3(t) - 1.0))
    assert 0.7 * percent < largest < percent


@pytest.mark.parametrize("name", HYDROCARBONS)
def test_a_pure_hydrocarbon_does_not_expand_like_petroleum(name):
    """The petroleum group of its density is off by 0.6 to 1.5 % within -40 to 60 degC."""
    liquid = pure_liquid(name)
    petroleum = PetroleumProduct.observed(liquid.density_kg_m3(15.0), 15.0)
    t = np.linspace(max(liquid.valid_temperatures_c.low, -40.0), 60.0, 21)
    assert 0.006 < np.max(np.abs(petroleum.density_kg_m3(t) / liquid.density_kg_m3(t) - 1.0)) < 0.015


@pytest.mark.parametrize(("grade", "name"), [("normal heptane", "n-heptane"), ("ethanol", "ethanol")])
def test_the_grades_that_rest_on_coolprop(grade, name):
    """Their two densities to the printed digits, and within 0.1 % over the whole range of the grade."""
    carried, liquid = fuel(grade), pure_liquid(name)
    for celsius in (0.0, 40.0):
        assert carried.density_kg_m3(celsius) == pytest.approx(liquid.density_kg_m3(celsius), abs=0.0006)
    t = np.linspace(carried.valid_temperatures_c.low, carried.valid_temperatures_c.high, 21)
    np.testing.assert_allclose(carried.density_kg_m3(t), liquid.density_kg_m3(t), rtol=0.001)


# states


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3)])
def test_arrays_keep_their_shape(name, shape):
    liquid = pure_liquid(name)
    t = np.linspace(5.0, 70.0, int(np.prod(shape))).reshape(shape)
    before = t.copy()
    densities = np.asarray(liquid.density_kg_m3(t, 250.0))
    assert densities.shape == shape
    assert densities.ravel().tolist() == [liquid.density_kg_m3(float(each), 250.0) for each in t.flat]
    assert np.array_equal(t, before)


def test_temperature_and_pressure_broadcast():
    heptane = pure_liquid("n-heptane")
    densities = heptane.density_kg_m3(np.array([[0.0], [20.0]]), np.array([0.0, 500.0, 5000.0]))
    assert densities.shape == (2, 3)
    assert densities[1, 2] == heptane.density_kg_m3(20.0, 5000.0)
    assert np.all(np.diff(densities, axis=0) < 0.0)
    assert np.all(np.diff(densities, axis=1) > 0.0)
    assert heptane.density_kg_m3(20.0, [0.0, 500.0])[1] == heptane.density_kg_m3(20.0, 500.0)


@given(st.sampled_from(HYDROCARBONS), st.floats(-9.0, 95.0), st.floats(0.1, 1.0), st.floats(1.0, 10_000.0))
@settings(max_examples=40)
def test_density_falls_with_temperature_and_rises_with_pressure(name, celsius, step, pressure):
    liquid = pure_liquid(name)
    assert (
        liquid.density_kg_m3(celsius + step) < liquid.density_kg_m3(celsius) < liquid.density_kg_m3(celsius, pressure)
    )


def test_scalars_and_nan():
    heptane = pure_liquid("n-heptane")
    assert type(heptane.density_kg_m3(20.0)) is float
    assert type(heptane.density_kg_m3(20)) is float
    assert np.isnan(heptane.density_kg_m3(float("nan")))
    assert np.isnan(heptane.density_kg_m3(20.0, float("nan")))
    assert np.isnan(heptane.density_kg_m3([np.nan, 20.0])).tolist() == [True, False]


@pytest.mark.parametrize(
    ("celsius", "pressure", "words"),
    [
        (-91.0, 0.0, "is outside its range, -90.6 to"),
        (99.0, 0.0, "99 °C is outside its range, -90.6 to 98.38"),
        (90.0, -50.0, "-50 kPa above atmospheric: 90 °C is outside"),
        (280.0, 9000.0, "to 268.076 °C"),
        (20.0, 11_000.0, "11000 kPa"),
        (20.0, -101.0, "-101 kPa"),
        (-300.0, 0.0, "is outside"),
        (float("inf"), 0.0, "is outside"),
    ],
)
def test_only_the_liquid_is_answered_for(celsius, pressure, words):
    heptane = pure_liquid("n-heptane")
    with pytest.raises(OutOfRange) as refusal:
        heptane.density_kg_m3(celsius, pressure)
    assert words in str(refusal.value)
    marked = heptane.density_kg_m3([20.0, celsius], [0.0, pressure], out_of_range="nan")
    assert np.isnan(marked).tolist() == [False, True]
    assert marked[0] == heptane.density_kg_m3(20.0)
    assert np.isnan(heptane.density_kg_m3(celsius, pressure, out_of_range="nan"))


def test_a_refusal_names_substance_state_limits_and_source():
    heptane = pure_liquid("n-heptane")
    high = coolprop.PropsSI("T", "P", 100_325.0, "Q", 0, "n-Heptane") - 273.1501
    with pytest.raises(OutOfRange, match=f"n-Heptane at -1 kPa above .*: 99 °C is .*-90.6 to {high:g} °C") as refusal:
        heptane.density_kg_m3(99.0, -1.0)
    assert refusal.value.source == "coolprop"


@pytest.mark.parametrize("name", ["n-Heptane", "R236EA"])
def test_the_temperatures_from_the_triple_point_to_the_critical_one(name):
    """Of R236EA the equation ends a little below its critical point."""
    low, critical, end = (coolprop.PropsSI(of, name) - 273.15 for of in ("Tmin", "Tcrit", "Tmax"))
    liquid = pure_liquid(name)
    assert (end < critical) == (name == "R236EA")
    assert liquid.temperatures_c == Range(
        f"temperature of liquid {name}", low, pytest.approx(min(critical, end), abs=1e-9), "degC", "coolprop"
    )


@pytest.mark.parametrize("name", ["n-Heptane", "Toluene", "Ethanol", "Water"])
def test_at_atmospheric_pressure_it_is_liquid_to_just_below_boiling(name):
    low = coolprop.PropsSI("Tmin", name) - 273.15
    boiling = coolprop.PropsSI("T", "P", 101_325.0, "Q", 0, name) - 273.15
    assert pure_liquid(name).valid_temperatures_c == Range(
        f"temperature of liquid {name} at 0 kPa above atmospheric",
        low,
        pytest.approx(boiling - 1e-4, abs=1e-8),
        "degC",
        "coolprop",
    )


def test_pressures_from_suction_to_1500_psi():
    water = pure_liquid("water")
    assert water.density_kg_m3(5.0, -100.0 + 1e-9) < water.density_kg_m3(5.0, 10_342.2)
    for beyond in (-100.1, 10_343.0):
        with pytest.raises(OutOfRange, match="gauge pressure"):
            water.density_kg_m3(5.0, beyond)


@pytest.mark.parametrize("name", ["CycloHexane", "Methanol", "n-Pentane"])
@pytest.mark.parametrize("pressure", [0.0, 1000.0, 10_000.0])
def test_what_has_frozen_under_its_pressure_is_refused_or_marked(name, pressure):
    """Where CoolProp has a melting line; under 10 000 kPa that of cyclohexane lies 5 degC above its triple point."""
    liquid = pure_liquid(name)
    triple = liquid.temperatures_c.low
    with pytest.raises(OutOfRange, match=f"temperature of liquid {name} at {pressure:g} kPa above") as refusal:
        liquid.density_kg_m3(triple, pressure)
    melting = refusal.value.low
    assert 0.01 < melting - triple < 5.2
    assert liquid.density_kg_m3(melting, pressure) > liquid.density_kg_m3(melting + 1.0, pressure)
    with pytest.raises(OutOfRange):
        liquid.density_kg_m3(melting - 0.002, pressure)
    marked = liquid.density_kg_m3([triple, melting], pressure, out_of_range="nan")
    assert np.isnan(marked).tolist() == [True, False]
    if pressure == 0.0:
        assert liquid.valid_temperatures_c.low == melting


def test_under_more_than_its_critical_pressure_it_is_liquid_to_its_critical_temperature():
    heptane = pure_liquid("n-heptane")
    critical = heptane.temperatures_c.high
    assert heptane.density_kg_m3(critical - 0.01, 9000.0) > 300.0
    with pytest.raises(OutOfRange, match=f"at 9000 kPa above atmospheric.* its range, -90.6 to {critical:g} °C"):
        heptane.density_kg_m3(critical + 2e-10, 9000.0)


def test_below_the_pressure_of_its_triple_point_nothing_is_liquid():
    """Cyclohexane at 2.3 kPa is vapour or solid."""
    cyclohexane = pure_liquid("cyclohexane")
    for celsius in (6.4, 20.0, 80.0):
        with pytest.raises(OutOfRange, match="at -99 kPa above atmospheric"):
            cyclohexane.density_kg_m3(celsius, -99.0)
        assert np.isnan(cyclohexane.density_kg_m3(celsius, -99.0, out_of_range="nan"))


def test_a_state_that_coolprop_cannot_solve_is_refused_or_marked(monkeypatch):
    """As happens close to the critical point."""

    class Unsolved:
        def __init__(self, state):
            self.state = state

        def __getattr__(self, name):
            return getattr(self.state, name)

        def phase(self):
            raise ValueError("no solution")

    heptane, state = pure_liquid("n-heptane"), pure._state
    monkeypatch.setattr(pure, "_state", lambda fluid: Unsolved(state(fluid)))
    with pytest.raises(FuelUnitsError, match="n-Heptane at 20 degC and 5 kPa"):
        heptane.density_kg_m3(20.0, 5.0)
    assert np.isnan(heptane.density_kg_m3(20.0, 5.0, out_of_range="nan"))


@pytest.mark.parametrize("name", NAMES)
def test_both_ends_of_the_range_are_liquid(name):
    liquid = pure_liquid(name)
    low, high = liquid.valid_temperatures_c.low, liquid.valid_temperatures_c.high
    assert liquid.density_kg_m3(low) > liquid.density_kg_m3(high) > 500.0


def test_threads_agree():
    liquids = [pure_liquid(name) for name in NAMES]
    t = np.linspace(5.0, 70.0, 200)
    alone = [liquid.density_kg_m3(t) for liquid in liquids]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda liquid: liquid.density_kg_m3(t), liquids * 4))
    for index, densities in enumerate(together):
        assert np.array_equal(densities, alone[index % len(liquids)])


# names


def test_names():
    assert pure_liquid("N-Heptane") == pure_liquid("n heptane") == pure_liquid("n-heptane")


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("n-octan", "'n-octan'.*'n-Octane'"),
        ("x" * 61, f"'{'x' * 60}'"),
        ("x" * 26 + "sulfurhexafluoride", "write a name such as"),
        ("Air", "mixture"),
        ("carbon dioxide", "CarbonDioxide is not liquid"),
        ("sulfur hexafluoride", "SulfurHexafluoride is not liquid"),
        ("  ", "'  ' is not a pure liquid"),
        (7, "7 is not a pure liquid"),
    ],
)
def test_what_is_no_pure_liquid_is_refused(name, words):
    with pytest.raises(UnknownFuel, match=words):
        pure_liquid(name)


def test_a_pure_liquid_is_a_plain_value():
    water = pure_liquid("water")
    assert isinstance(water, PureLiquid)
    assert pickle.loads(pickle.dumps(water)) == water
    assert water.source == "coolprop"
    assert water.mass("1 m3", at="20 degC").m_as("kg") == pytest.approx(998.2072, abs=5e-5)


def test_a_pure_liquid_may_be_blended():
    heptane, decane = pure_liquid("n-heptane"), pure_liquid("n-decane")
    mixed = blend({heptane: 0.5, decane: 0.5})
    assert mixed.density_kg_m3(15.0) == pytest.approx((heptane.density_kg_m3(15.0) + decane.density_kg_m3(15.0)) / 2.0)
    assert mixed.valid_temperatures_c.low == decane.valid_temperatures_c.low
