"""Calibration on the bench: against formulas derived by hand, published weighings and a Monte Carlo."""

import json
import math
from dataclasses import FrozenInstanceError, replace
from decimal import Decimal

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from monte_carlo import monte_carlo
from registries import OF_OFFSETS, ONE_REGISTRY, OTHER_REGISTRY
from uncertainties import ufloat

from fuelunits.bench.calibration import BenchResult, Calibration, calibrate
from fuelunits.bench.runs import GravimetricRun, VolumetricRun, counted, thinning
from fuelunits.conversion import convert
from fuelunits.errors import FuelUnitsError, OutOfRange, QuantityError
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.volume_correction import cpl
from fuelunits.indicators.endurance import (
    LowFuelByQuantity,
    LowFuelByTime,
    endurance,
    first_to_trip,
    fuel_for,
    remaining,
)
from fuelunits.indicators.fill_ups import FillUp
from fuelunits.indicators.fuel_on_board import fuel_on_board
from fuelunits.meters.curve import MeterCurve
from fuelunits.meters.k_factor import KFactor
from fuelunits.uncertainty.budget import nominal, uncertain
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.uncertainty.measured import measured

# an invented bench

U_READING_KG, U_BALANCE, U_DENSITY, U_AIR = 0.0015, 2e-5, 0.08, 0.006
PLAIN = {
    "pulses": 272_040,
    "mass_reading_kg": 28.702,
    "duration_s": 120.0,
    "liquid_temperature_c": 20.1,
    "liquid_density_kg_m3": 802.1,
    "air_density_kg_m3": 1.19,
}
MEASURE = {
    "pulses": 151_850,
    "measure_volume_l": 20.0,
    "duration_s": 60.0,
    "liquid_temperature_c": 24.0,
    "measure_temperature_c": 23.0,
    "measure_expansion_per_k": 50e-6,
    "liquid_expansion_per_k": 9.2e-4,
}


def _shared():
    return {
        "balance_factor": uncertain(1.0, U_BALANCE, name="balance calibration"),
        "liquid_density_kg_m3": uncertain(802.1, U_DENSITY, name="densitometer", unit="kg/m^3"),
        "air_density_kg_m3": uncertain(1.19, U_AIR, name="air", unit="kg/m^3"),
    }


IN_LINE = dict.fromkeys(("liquid_temperature_c", "density_temperature_c"), uncertain(20.1, 0.1, name="thermometer"))
IN_LINE["liquid_expansion_per_k"] = 9.2e-4  # the density of the liquid in the line, read with the one thermometer there


def _run(shared, mass_kg=28.702, pulses=272_040, reading="balance reading", **changes):
    reading = uncertain(mass_kg, U_READING_KG, name=reading, unit="kg")
    return GravimetricRun(**{**PLAIN, **shared, "mass_reading_kg": reading, "pulses": counted(pulses), **changes})


def test_a_mass_in_a_wrong_unit_is_questioned():
    """28702 kg for 28702 g gives a thousandth of K: 7.6 pulse/L, which only a transducer of large pipes has."""
    run = GravimetricRun(**{**PLAIN, "mass_reading_kg": 28_702.0, "pulses": 272_040})
    assert "mass in g" in str(calibrate([run]))
    assert "mass in g" not in str(calibrate([replace(run, pulses=27_204_000)]))
    with pytest.raises(OutOfRange, match="mass in g"):
        calibrate([replace(run, pulses=10_000)])


# weighing


def _weighed_l(mass_kg, density, air, **others):
    run = {"mass_reading_kg": mass_kg, "liquid_density_kg_m3": density, "air_density_kg_m3": air}
    return GravimetricRun(**{**PLAIN, **run, **others}).volume_l


@pytest.mark.parametrize(
    ("temperature_c", "pressure_hpa", "printed"),
    [(17.0, 1013.0, 1.0023), (20.0, 800.0, 1.0026), (25.0, 1013.0, 1.0040)],
)
def test_weighed_water_against_iso_8655_6(temperature_c, pressure_hpa, printed):
    # ISO 8655-6, annex A: litres per kilogram of water weighed in air of 50 % humidity, weights of 8000 kg/m³;
    # water after Tanaka (2001), air after the approximation of OIML R 111-1
    t = temperature_c
    water = 999.97495 * (1.0 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))
    air = (0.34848 * pressure_hpa - 0.009 * 50.0 * math.exp(0.061 * t)) / (273.15 + t)
    assert round(_weighed_l(1.0, water, air), 4) == printed


def test_weighed_mass_against_40_cfr_1065_690():
    # 40 CFR 1065.690 (recalled): 100.0000 mg in air of 1.18282, weights 8000, medium 920 kg/m³: 100.1139 mg
    assert round(_weighed_l(100.0, 920.0, 1.18282) * 920.0 / 1000.0, 4) == 100.1139


@given(st.floats(600.0, 1100.0), st.floats(0.8, 1.3), st.floats(0.1, 200.0))
@settings(max_examples=40, deadline=None)
def test_weighing_properties(density, air, mass):
    volume = _weighed_l(mass, density, air)
    assert _weighed_l(2.0 * mass, density, air) == pytest.approx(2.0 * volume)
    assert volume > 1000.0 * mass / density  # air lifts the liquid more than the weights
    assert _weighed_l(mass, density, air, weights_density_kg_m3=density * 10) == pytest.approx(
        1000.0 * mass * (1.0 - air / (10.0 * density)) / (density - air)
    )
    lost = _weighed_l(mass, density, air, unweighed_mass_kg=0.01 * mass)
    assert lost - volume == pytest.approx(10.0 * mass / density)


def test_a_measure_at_its_reference_temperature_is_its_volume():
    same = VolumetricRun(**MEASURE | {"measure_temperature_c": 20.0, "liquid_temperature_c": 20.0})
    assert same.volume_l == 20.0
    # a colder transducer passed the liquid when it was denser
    assert replace(same, liquid_temperature_c=15.0).volume_l == pytest.approx(20.0 / (1 + 0.0046))
    # a warm measure holds more
    warm = replace(same, measure_temperature_c=24.0, liquid_temperature_c=24.0)
    assert warm.volume_l == pytest.approx(20.0 * (1 + 50e-6 * 4.0))


# the uncertainty of one run, derived by hand


def _relative_parts():
    """Relative contributions to K = N (rho - a) / [1000 m c (1 - a/b)], differentiated by hand."""
    mass, density, air, weights = 28.702, 802.1, 1.19, 8000.0
    return {
        "pulse count": 1.0 / math.sqrt(6.0) / 272_040,
        "balance reading": U_READING_KG / mass,
        "balance calibration": U_BALANCE,
        "densitometer": U_DENSITY / (density - air),
        "air": U_AIR * abs(1.0 / (weights - air) - 1.0 / (density - air)),
    }


def test_one_run_against_the_derivation_by_hand():
    found = calibrate([_run(_shared())])
    expected = _relative_parts()
    k = 272_040 * (802.1 - 1.19) / (1000.0 * 28.702 * (1.0 - 1.19 / 8000.0))
    assert float(found.k_factor) == pytest.approx(k, rel=1e-12)
    assert {row.name for row in found.budget()} == set(expected)
    for row in found.budget():
        assert row.contribution / k == pytest.approx(expected[row.name], rel=1e-6)
    assert found.relative_uncertainty == pytest.approx(math.hypot(*expected.values()), rel=1e-9)
    assert found.expanded_uncertainty() == pytest.approx(found.coverage_factor() * found.relative_uncertainty)


def test_temperature_enters_through_the_expansion():
    warmth = uncertain(25.0, 0.1, name="thermometer")
    run = _run(_shared(), liquid_temperature_c=warmth, density_temperature_c=20.0, liquid_expansion_per_k=9.2e-4)
    density = 802.1 * (1 - 9.2e-4 * 5.0)
    assert nominal(run.density_kg_m3_at(None)) == pytest.approx(density)
    found = calibrate([run])
    (row,) = (row for row in found.budget() if row.name == "thermometer")
    # K is proportional to rho - a: d ln K / dT = -beta rho(20) / (rho - a)
    expected = 0.1 * 9.2e-4 * 802.1 / (density - 1.19)
    assert row.contribution / float(found.k_factor) == pytest.approx(expected, rel=1e-6)


def test_buoyancy_is_that_of_the_liquid_on_the_balance():
    # by hand: 28.702 kg read at 20 degC in air of 1.19 kg/m3, of liquid that passed the transducer at 60 degC and
    # was 802.1 kg/m3 at 20 degC; 802.1 * (1 - 9.2e-4 * 40) = 772.5827 kg/m3 at the transducer
    warm = {"liquid_temperature_c": 60.0, "density_temperature_c": 20.0, "liquid_expansion_per_k": 9.2e-4}
    run = GravimetricRun(**PLAIN | warm, vessel_temperature_c=20.0)
    true_kg = 28.702 * (1.0 - 1.19 / 8000.0) / (1.0 - 1.19 / 802.1)
    assert run.volume_l == pytest.approx(1000.0 * true_kg / (802.1 * 0.9632), rel=1e-13)
    hot = GravimetricRun(**PLAIN | warm)  # weighed at the temperature of the transducer
    assert hot.density_kg_m3_at(hot.vessel_temperature_c) == hot.density_kg_m3_at(60.0)
    assert hot.volume_l / run.volume_l - 1.0 == pytest.approx(1.19 / 772.5827 - 1.19 / 802.1, rel=0.01)
    assert hot.volume_l / run.volume_l - 1.0 == pytest.approx(57e-6, abs=1e-6)
    # the density may also be that at the transducer
    there = GravimetricRun(**PLAIN | {"liquid_temperature_c": 60.0, "liquid_density_kg_m3": 770.0},
                           vessel_temperature_c=20.0, liquid_expansion_per_k=9.2e-4)  # fmt: skip
    assert there.density_kg_m3_at(20.0) == pytest.approx(770.0 * (1.0 + 9.2e-4 * 40.0))
    read = GravimetricRun.read(
        **{name: value for name, value in PLAIN.items() if name != "liquid_temperature_c"},
        liquid_temperature="140 degF",
        density_temperature="20 degC",
        vessel_temperature="293.15 K",
        liquid_expansion_per_k=9.2e-4,
    )
    assert read.volume_l == pytest.approx(run.volume_l)
    with pytest.raises(FuelUnitsError, match="expansion"):
        GravimetricRun(**PLAIN, vessel_temperature_c=20.0)


@pytest.mark.parametrize("kg_m3", [720.0, 770.0, 840.0])
def test_a_calibration_says_what_the_pressure_of_the_line_does(kg_m3):
    percent = 100.0 * (float(cpl(kg_m3, 21.0, 100.0)) - 1.0)  # of volume per bar, API MPMS 11.1
    assert f"per bar above it, K is up to {percent:.2f} % higher" in " ".join(str(calibrate([_run(_shared())])).split())


def test_monte_carlo_agrees_with_propagation():
    run = _run(_shared(), density_temperature_c=20.0, liquid_expansion_per_k=uncertain(9.2e-4, 2e-5, name="expansion"),
               liquid_temperature_c=uncertain(24.0, 0.1, name="thermometer"),
               unweighed_mass_kg=uncertain(0.002, 0.001, name="evaporated"))  # fmt: skip
    propagated = run.k_pulses_per_l
    (bend,) = (each for each in propagated.derivatives if "curvature" in str(each.tag))
    inputs = (bend, run.pulses, run.mass_reading_kg, run.balance_factor, run.liquid_density_kg_m3,
              run.air_density_kg_m3, run.liquid_expansion_per_k, run.liquid_temperature_c,
              run.unweighed_mass_kg)  # fmt: skip

    def k(bend, pulses, mass, balance, density, air, expansion, warmth, lost):
        thinner = expansion * (warmth - 20.0)
        at_transducer = density * (1.0 - thinner - 0.6 * bend * thinner**2)
        lifted = mass * balance * (1.0 - air / 8000.0) / (1.0 - air / at_transducer)
        return pulses * at_transducer / (1000.0 * (lifted + lost))

    drawn = monte_carlo(k, inputs, seed=20, draws=1_000_000)
    assert drawn.std(ddof=1) == pytest.approx(propagated.std_dev, rel=0.01)
    assert drawn.mean() == pytest.approx(propagated.nominal_value, abs=0.01 * propagated.std_dev)


def test_counting_uncertainty_is_that_of_two_loose_ends():
    generator = np.random.default_rng(4)
    start, length = generator.uniform(0.0, 1.0, 200_000), 1000.37
    counts = np.floor(start + length)
    errors = np.concatenate([counts - length, np.floor(start + 1000.83) - 1000.83, np.floor(start + 998.0) - 998.0])
    assert np.abs(errors).max() < 1.0
    # over all lengths the error is triangular on ±1
    lengths = generator.uniform(1000.0, 1010.0, 200_000)
    assert np.std(np.floor(start + lengths) - lengths) == pytest.approx(counted(1000).std_dev, rel=0.01)
    assert counted(1).std_dev == pytest.approx(1.0 / math.sqrt(6.0))  # JCGM 100:2008, 4.3.9: a / sqrt(6)


# several runs


def test_what_runs_share_does_not_average_out():
    shared = _shared() | IN_LINE
    count = 4
    apart = [_run(shared, reading=f"weighing {i}", mass_kg=28.702 + 1e-9 * i) for i in range(count)]
    together = calibrate(apart)  # no two readings are equal
    anew = calibrate([_run(_shared() | IN_LINE, 28.702 + 1e-9 * i, reading=f"weighing {i}") for i in range(count)])
    one_name = calibrate([_run(shared) for _ in range(count)])
    parts = _relative_parts()
    kept = math.hypot(parts["balance calibration"], parts["densitometer"], parts["air"])
    own = math.hypot(parts["pulse count"], parts["balance reading"])
    assert together.relative_uncertainty == pytest.approx(math.hypot(kept, own / 2.0), rel=1e-9)
    # inputs of one name, made anew for each run, may be one cause: they count as one, and the page says so
    assert anew.relative_uncertainty == pytest.approx(together.relative_uncertainty, rel=1e-9)
    one_reading = math.hypot(kept, parts["balance reading"], parts["pulse count"] / 2.0)
    assert one_name.relative_uncertainty == pytest.approx(one_reading, rel=1e-9)
    assert together.missing == anew.missing == one_name.missing == ()
    assert [str(found).count("4 as one") for found in (together, anew, one_name)] == [0, 3, 1]


def test_scatter_of_runs_counts_once():
    shared, masses = _shared(), (28.702, 28.712, 28.695)
    found = calibrate([_run(shared, mass, reading=f"weighing of {mass}") for mass in masses])
    ks = [run.k_pulses_per_l.nominal_value for run in found.runs]
    parts = _relative_parts()
    kept = math.hypot(parts["balance calibration"], parts["densitometer"], parts["air"])
    repeatability = np.std(ks, ddof=1) / np.mean(ks) / math.sqrt(3)
    assert found.relative_uncertainty == pytest.approx(math.hypot(kept, repeatability), rel=1e-4)
    assert found.spread == pytest.approx((max(ks) - min(ks)) / min(ks))
    # Banerjee's factor by hand: t = 4.527 for the two degrees of freedom of the scatter, 2 for the rest
    u = found.relative_uncertainty
    assert found.expanded_uncertainty() == pytest.approx(math.hypot(4.527 * repeatability, 2.0 * kept), rel=1e-3)
    assert found.coverage_factor() == pytest.approx(found.expanded_uncertainty() / u)


@given(st.permutations(range(4)), st.floats(1e-4, 0.02))
@settings(max_examples=20, deadline=None)
def test_order_of_runs_does_not_matter(order, step):
    shared = _shared()
    runs = [_run(shared, 28.702 + i * step) for i in range(4)]
    one, other = calibrate(runs), calibrate([runs[i] for i in order])
    assert float(one.k_factor) == pytest.approx(float(other.k_factor), rel=1e-12)
    assert one.relative_uncertainty == pytest.approx(other.relative_uncertainty, rel=1e-9)


@given(st.floats(0.1, 10.0))
@settings(max_examples=20, deadline=None)
def test_scaling_pulses_scales_k_and_scaling_both_does_not(factor):
    base = GravimetricRun(**PLAIN)
    more = replace(base, pulses=base.pulses * factor)
    assert more.k_pulses_per_l == pytest.approx(base.k_pulses_per_l * factor)
    longer = replace(more, mass_reading_kg=base.mass_reading_kg * factor)
    assert longer.k_pulses_per_l == pytest.approx(base.k_pulses_per_l)


def test_a_run_in_two_chunks_is_the_whole():
    base = GravimetricRun(**PLAIN)
    chunks = [replace(base, pulses=share * 272_040, mass_reading_kg=share * 28.702) for share in (0.3, 0.7)]
    assert sum(chunk.volume_l for chunk in chunks) == pytest.approx(base.volume_l)
    pulses = sum(chunk.pulses for chunk in chunks)
    assert pulses / sum(chunk.volume_l for chunk in chunks) == pytest.approx(base.k_pulses_per_l)


@pytest.mark.parametrize(("warmest", "known"), [(21.5, True), (22.0, False)])
def test_one_density_is_not_that_of_runs_that_warmed(warmest, known):
    """A fuel expands by 0.09 % per °C: ten runs from 21 to 25 °C gave K 0.18 % too high, with U of 0.09 %."""
    shared = _shared()
    runs = [_run(shared, liquid_temperature_c=celsius) for celsius in (21.0, 21.2, warmest)]
    assert any("one density" in each for each in calibrate(runs).missing) is not known
    assert any("21 to 22 °C" in each for each in calibrate(runs).missing) is not known
    warm = [_run(shared, liquid_temperature_c=celsius) for celsius in (21.0, 21.3, 21.6)]  # each half a degree apart
    assert "21 to 21.6 °C" in " ".join(calibrate(warm).missing)
    converted = {"density_temperature_c": 20.0, "liquid_expansion_per_k": 9e-4}
    weighed = [_run(shared, liquid_temperature_c=celsius, **converted) for celsius in (21.0, 21.2, warmest)]
    filled = [VolumetricRun(**MEASURE | {"liquid_temperature_c": celsius}) for celsius in (21.0, warmest)]
    assert "one density" not in " ".join((*calibrate(weighed).missing, *calibrate(filled).missing))


def test_a_standard_uncertainty_is_not_printed_as_an_interval():
    """JCGM 100:2008, 7.2.2: after ± a reader expects U."""
    run = GravimetricRun(**PLAIN | {"mass_reading_kg": uncertain(28.702, 0.0015, name="reading")})
    assert "u = 0.0015" in str(run)
    assert "±" not in str(run)


def test_plain_numbers_give_an_exact_k():
    found = calibrate([GravimetricRun(**PLAIN)])
    assert found.relative_uncertainty == 0.0
    assert found.budget() == ()
    assert math.isnan(found.spread)
    assert "Caution:" in str(found)
    json.dumps(found.as_dict(), allow_nan=False)


# text and quantities


@pytest.mark.parametrize("registry", [None, ONE_REGISTRY, OF_OFFSETS])
def test_read_takes_any_unit(registry):
    metric = {"mass_reading": "28.702 kg", "duration": "120 s", "liquid_temperature": "20 degC",
              "liquid_density": "802.1 kg/m^3", "air_density": "1.19 kg/m^3"}  # fmt: skip
    other = {"mass_reading": f"{28.702 / 0.45359237!r} lb", "duration": "2 min", "liquid_temperature": "68 degF",
             "liquid_density": "0.8021 kg/L", "air_density": "0.00119 kg/L"}  # fmt: skip
    if registry:
        other = {"mass_reading": registry.Quantity(28_702.0, "gram"), "duration": registry.Quantity(2.0, "minute"),
                 "liquid_temperature": registry.Quantity(68.0, "degF"), "air_density": "1.19 kg/m^3",
                 "liquid_density": registry.Quantity(0.8021, "kg/liter")}  # fmt: skip
    one, two = GravimetricRun.read(pulses=272_040, **metric), GravimetricRun.read(pulses=272_040, **other)
    assert two.k_pulses_per_l == pytest.approx(one.k_pulses_per_l, rel=1e-12)
    assert two.liquid_temperature_c == pytest.approx(20.0)
    with pytest.raises(QuantityError, match="no unit"):
        GravimetricRun.read(pulses=272_040, **{**metric, "mass_reading": 28.702})


def test_read_takes_each_input_once_and_by_its_name():
    whole = GravimetricRun.read(**PLAIN)
    assert whole.volume_l == GravimetricRun(**PLAIN).volume_l
    with pytest.raises(QuantityError, match="mass_reading must be given"):
        GravimetricRun.read(**{name: value for name, value in PLAIN.items() if name != "mass_reading_kg"})
    with pytest.raises(QuantityError, match=r"did you mean .air_density"):
        GravimetricRun.read(**PLAIN, air_densty="1.2 kg/m^3")
    with pytest.raises(QuantityError, match="twice") as twice:
        GravimetricRun.read(**PLAIN, air_density="1.2 kg/m^3")
    with pytest.raises(QuantityError, match="xyz") as unlike_any:
        GravimetricRun.read(**PLAIN, xyz=1.0)
    assert "mean" not in f"{twice.value} {unlike_any.value}"
    assert "28.702 kg" in str(whole)


def test_read_carries_uncertainty_and_identity():
    density = measured("0.8021 kg/L", "0.08 kg/m^3", name="densitometer")
    rest = {"pulses": 272_040, "mass_reading": "28.702 kg", "duration": "2 min", "liquid_temperature": "20 degC",
            "air_density": "1.19 kg/m^3"}  # fmt: skip
    runs = [GravimetricRun.read(liquid_density=density, **rest | {"duration": f"{120 + i} s"}) for i in range(5)]
    assert calibrate(runs).relative_uncertainty == pytest.approx(0.08 / 800.91, rel=1e-4)
    full = GravimetricRun.read(liquid_density=density, density_temperature="68 degF", liquid_expansion_per_k=9e-4,
                               unweighed_mass="2 g", weights_density="7950 kg/m^3", **rest)  # fmt: skip
    assert full.density_temperature_c == pytest.approx(20.0)
    assert (full.unweighed_mass_kg, full.weights_density_kg_m3) == (0.002, 7950.0)


def test_volumetric_run():
    run = VolumetricRun(**MEASURE)
    by_hand = 20.0 * (1 + 50e-6 * 3.0) / (1 - 9.2e-4 * 1.0)
    assert run.volume_l == pytest.approx(by_hand)
    assert run.k_pulses_per_l == pytest.approx(151_850 / by_hand)
    volume = uncertain(20.0, 0.004, name="measure")
    found = calibrate([replace(run, measure_volume_l=volume, duration_s=60.0 + i) for i in range(3)])
    assert found.relative_uncertainty == pytest.approx(0.0002)
    read = VolumetricRun.read(
        pulses=151_850, measure_volume="20 L", duration="1 min", liquid_temperature="24 degC",
        measure_temperature="73.4 degF", measure_expansion_per_k=50e-6, liquid_expansion_per_k=9.2e-4,
    )  # fmt: skip
    assert read.k_pulses_per_l == pytest.approx(run.k_pulses_per_l)
    assert read.frequency_hz == pytest.approx(151_850 / 60.0)


# refusals


@pytest.mark.parametrize("wrong", [0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize("name", ["pulses", "mass_reading_kg", "duration_s"])
def test_numbers_that_make_no_sense(name, wrong):
    with pytest.raises(QuantityError, match=name):
        GravimetricRun(**{**PLAIN, name: wrong})


def test_a_run_of_two_registries_is_refused():
    one, other = ONE_REGISTRY, OTHER_REGISTRY
    with pytest.raises(QuantityError, match="two pint registries"):
        VolumetricRun.read(
            pulses=151_850, measure_volume=one.Quantity(20.0, "L"), duration=other.Quantity(60.0, "s"),
            liquid_temperature="24 degC", measure_temperature="23 degC",
            measure_expansion_per_k=50e-6, liquid_expansion_per_k=9.2e-4,
        )  # fmt: skip


def test_other_refusals():
    for change in ({"liquid_density_kg_m3": 0.8021}, {"air_density_kg_m3": 0.00119}, {"liquid_temperature_c": 293.15},
                   {"liquid_density_kg_m3": uncertain(0.8, 0.1, name="rho")}, {"unweighed_mass_kg": -0.1}):  # fmt: skip
        with pytest.raises(OutOfRange):
            GravimetricRun(**{**PLAIN, **change})
    for change in ({"liquid_density_kg_m3": math.nan}, {"liquid_temperature_c": math.nan}, {"unweighed_mass_kg": 2.9}):
        with pytest.raises(QuantityError):
            GravimetricRun(**{**PLAIN, **change})
    with pytest.raises(FuelUnitsError, match="expansion"):
        GravimetricRun(**PLAIN, density_temperature_c=20.0)
    for wrong in (0.092, -9.2e-4):
        with pytest.raises(OutOfRange, match="expansion"):
            VolumetricRun(**{**MEASURE, "liquid_expansion_per_k": wrong})
    for wrong in (0, 1.5, True):
        with pytest.raises(QuantityError, match="whole"):
            counted(wrong)
    with pytest.raises(FuelUnitsError, match="there is none"):
        calibrate([])
    with pytest.raises(FuelUnitsError, match="there is none"):
        Calibration(())
    for change in ({"balance_factor": 1.5}, {"balance_factor": 1e-308}, {"pulses": uncertain(1e308, 1.0, name="n")}):
        with pytest.raises(OutOfRange):
            GravimetricRun(**PLAIN | change)
    with pytest.raises(FuelUnitsError, match="there is none"):
        BenchResult([])
    with pytest.raises(FrozenInstanceError):
        GravimetricRun(**PLAIN).pulses = 3


# judging, and several flows


def test_as_found_and_as_left():
    shared = _shared() | IN_LINE
    found = calibrate([_run(shared, mass) for mass in (28.702, 28.704, 28.701)])
    assert found.missing == ()
    old = KFactor(float(found.k_factor) * 1.012, per="L")
    as_found = found.conformity(old, tolerance="1 %")
    assert as_found.error == pytest.approx(100.0 * (1.0 / 1.012 - 1.0))
    assert as_found.verdict is Verdict.REJECT
    assert as_found.expanded_uncertainty == pytest.approx(100.0 / 1.012 * found.expanded_uncertainty(), rel=1e-9)
    as_left = found.conformity(str(found.k_factor.to("gal").rounded(10)), tolerance="1 %")
    assert as_left.verdict is Verdict.ACCEPT
    assert as_left.expanded_uncertainty == pytest.approx(100.0 * found.expanded_uncertainty(), rel=0.001)
    assert as_left.guard_band == as_left.expanded_uncertainty
    assert as_left.coverage_factor == found.coverage_factor()
    edge = KFactor(float(found.k_factor) / 1.00995, per="L")
    assert found.conformity(edge, tolerance="1 %").verdict is Verdict.CONDITIONAL_ACCEPT
    assert found.conformity(edge, tolerance="1 %", guard=0.0).verdict is Verdict.ACCEPT
    assert found.conformity("7590 pulse/L", tolerance="1 %").verdict is Verdict.ACCEPT
    with pytest.raises(QuantityError, match="tolerance"):
        found.conformity("7590 pulse/L", tolerance=1.0)


STATED = {"mass_reading_kg": "mass reading", "liquid_density_kg_m3": "liquid density"}


@pytest.mark.parametrize("stated", [(), ("mass_reading_kg",), ("liquid_density_kg_m3",), tuple(STATED)])
@pytest.mark.parametrize("count", [1, 2, 3])
def test_what_is_missing_is_said_and_decides_nothing(stated, count):
    inputs = {name: uncertain(PLAIN[name], 1e-5 * PLAIN[name], name=name) for name in (*stated, "air_density_kg_m3")}
    found = calibrate([GravimetricRun(**PLAIN | inputs | IN_LINE | {"pulses": 272_040 + i}) for i in range(count)])
    judged = found.conformity(found.k_factor, tolerance="1 %")
    complete = count > 1 and len(stated) == len(STATED)
    assert (judged.verdict is Verdict.ACCEPT) == complete
    assert (judged.verdict is Verdict.UNDECIDED) == (not complete)
    for answer in (found, judged):
        said = " ".join(str(answer).split())
        assert ("repeatability:" in said) == ("two runs" in said) == (count == 1)
        for name, words in STATED.items():
            assert (f"uncertainty of the {words}" in said) == (name not in stated)
    assert ("U = 0" in str(found)) is False
    assert ("incomplete" in repr(found)) == (not complete)


@pytest.mark.parametrize("count", [2, 3, 10])
def test_runs_that_agree_to_the_last_digit_show_no_repeatability(count):
    shared = {
        "balance_factor": uncertain(1.0, U_BALANCE, name="balance"),
        "liquid_density_kg_m3": _shared()["liquid_density_kg_m3"],
        **IN_LINE,
    }
    same = [
        GravimetricRun.read(
            **{name: PLAIN[name] for name in PLAIN if name != "mass_reading_kg"} | shared | {"duration_s": 120.0 + i},
            mass_reading=mass,
        )
        for i, mass in enumerate(("28.702 kg", "28702 g", *["28.702 kg"] * 8)[:count])
    ]
    found = calibrate(same)
    assert "repeatability" in found.missing[0]
    assert found.conformity(found.k_factor, tolerance="1 %").verdict is Verdict.UNDECIDED
    assert calibrate(same, repeatability="0.02 %").conformity(found.k_factor, tolerance="1 %").verdict is Verdict.ACCEPT
    with pytest.raises(FuelUnitsError, match="twice"):
        calibrate(same[:1] * count)


def test_two_runs_that_agree_have_the_degrees_of_two():
    # readings of 1.5 g stand in for the scatter, with one degree of freedom: t = 13.97, and 2 for what is shared
    found = calibrate([_run(shared, reading=f"weighing {i}") for shared in [_shared() | IN_LINE] for i in range(2)])
    parts = _relative_parts()
    kept = math.hypot(parts["balance calibration"], parts["densitometer"], parts["air"])
    own = math.hypot(parts["pulse count"], parts["balance reading"]) / math.sqrt(2.0)
    assert found.expanded_uncertainty() == pytest.approx(math.hypot(13.968 * own, 2.0 * kept), rel=1e-3)
    assert found.conformity(found.k_factor, tolerance="1 %").verdict is Verdict.ACCEPT


@pytest.mark.parametrize("count", [3, 4])
def test_four_equal_readings_are_rounded_alike(count):
    shared = _shared() | IN_LINE
    found = calibrate(_run(shared, pulses=272_040 + i, reading=f"last digit {i}") for i in range(count))
    assert any("as one" in row.name for row in found.budget()) is (count == 4)


def test_densities_of_one_name_are_one_cause_whatever_the_size_of_k():
    """K just below and above 802 pulse/L: 1 kg/m³ moves them by a little less and a little more than 1 pulse/L."""
    runs = [
        _run({"liquid_density_kg_m3": uncertain(802.1, 0.2, name="densitometer")} | IN_LINE, pulses=pulses)
        for pulses in (28_680, 28_760)
    ]
    assert [run.k_pulses_per_l.nominal_value < 802.1 for run in runs] == [True, False]
    assert any(row.name == "densitometer, 2 as one" for row in calibrate(runs).budget())


def test_k_of_the_largest_transducers_is_found():
    for pulses, is_found in ((24, True), (12, False)):  # 0.67 and 0.34 pulse/L
        run = _run(_shared(), pulses=pulses)
        if is_found:
            assert calibrate([run]).k_factor.per("L") < 1.0
        else:
            with pytest.raises(OutOfRange, match="K found"):
                calibrate([run])


def test_a_known_repeatability_lets_one_run_decide():
    found = calibrate([_run(_shared() | IN_LINE)], repeatability="0.02 %")
    assert (found.missing, found.repeatability) == ((), pytest.approx(2e-4))
    assert calibrate([_run(_shared())]).repeatability is None
    assert found.relative_uncertainty == pytest.approx(math.hypot(*_relative_parts().values(), 2e-4), rel=1e-4)
    assert found.conformity(found.k_factor, tolerance="1 %").verdict is Verdict.ACCEPT
    with pytest.raises(QuantityError, match="repeatability"):
        calibrate([_run(_shared())], repeatability=0.02)


def test_a_balance_calibration_stands_for_the_reading():
    plain = {"mass_reading_kg": 28.702, "liquid_density_kg_m3": uncertain(802.1, U_DENSITY, name="densitometer")}
    run = GravimetricRun(**PLAIN | plain | {"balance_factor": uncertain(1.0, U_BALANCE, name="balance")})
    assert run.missing == ()
    assert len(_run(_shared(), density_temperature_c=0.0, liquid_expansion_per_k=9e-4).missing) == 3
    for celsius, count in ((23.4, 3), (23.6, 4)):
        missing = VolumetricRun(**MEASURE | {"liquid_temperature_c": celsius}).missing
        assert len(missing) == count
        assert missing[:3] == tuple(f"the uncertainty of the {each}" for each in (
            "measure volume", "liquid temperature", "measure temperature"))  # fmt: skip


def test_a_report_in_the_unit_that_was_chosen():
    shared = _shared()
    runs = [_run(shared, mass) for mass in (28.702, 28.704)]
    litres, gallons = calibrate(runs), calibrate(runs, unit="gallon")
    assert gallons.unit == "gal"
    assert float(gallons.k_factor) == pytest.approx(float(litres.k_factor) * 3.785411784)
    assert float(gallons.cells()["gal/h"]) == pytest.approx(litres.flow_l_per_h / 3.785411784, rel=1e-4)
    text = str(gallons)
    assert "pulse/gal" in text
    assert "gal/h" in text
    assert "L/h" not in text
    assert "gal/h" in str(BenchResult([gallons]))
    assert gallons.k_pulses_per_l.nominal_value == litres.k_pulses_per_l.nominal_value
    with pytest.raises(FuelUnitsError, match="volume"):
        calibrate(runs, unit="kg")
    with pytest.raises(FuelUnitsError, match="one unit"):
        BenchResult([calibrate([_run(shared, 28.7)]), gallons])


def test_a_curve_of_calibrations_with_something_missing_knows_no_uncertainty():
    """One of three calibrations is complete: u is known at its point alone, and beside none of the others."""
    whole = calibrate([_run(_shared() | IN_LINE, duration_s=30.0)], repeatability="0.02 %")
    others = [calibrate([GravimetricRun(**{**PLAIN, "duration_s": seconds})]) for seconds in (60.0, 120.0)]
    assert not whole.missing
    curve = MeterCurve(BenchResult([whole, *others]))
    hz, known = whole.frequency_hz, whole.expanded_uncertainty() / 2.0
    found = curve.relative_uncertainty(np.array([hz / 4.0, hz / 3.0, hz / 1.5, hz]))
    assert found == pytest.approx([math.nan] * 3 + [known], nan_ok=True)
    assert [point.cells()["u, pulse/L"] for point in curve.points[:2]] == [None, None]
    json.dumps(curve.as_dict(), allow_nan=False)
    assert "not known" in str(curve)


def test_several_flows_give_points_of_a_meter_curve():
    shared = _shared() | IN_LINE
    slow = calibrate([_run(shared, pulses=271_900, duration_s=600.0) for _ in range(2)])
    fast = calibrate([_run(shared)])
    result = BenchResult([fast, slow])
    assert [found.frequency_hz for found in result.calibrations] == [271_900 / 600.0, 272_040 / 120.0]
    points = result.points()
    assert MeterCurve(points).k_pulses_per_l(points[0].frequency_hz) == pytest.approx(points[0].k_pulses_per_l)
    assert points[1].flow_l_s * 3600.0 == pytest.approx(fast.flow_l_per_h)
    assert fast.flow_l_per_h == pytest.approx(3600.0 * nominal(fast.runs[0].volume_l) / 120.0)
    assert len(result.report().tables[0].rows) == 2
    assert "repeatability" in str(result)  # of the single run
    assert ["incomplete" in repr(BenchResult(found)) for found in ([fast, slow], [slow])] == [True, False]
    json.dumps(result.as_dict(), allow_nan=False)


def test_calibrations_of_one_flow_that_differ_by_more_than_their_uncertainty_are_noted():
    shared = _shared() | IN_LINE
    flows = [(seconds, off) for seconds in (120.0, 480.0) for off in (0, 900)]  # of two days, 0.3 % apart
    for of in (flows, flows[:2]):
        two_days = [[_run(shared, pulses=n, duration_s=t) for n in (271_900 + d, 272_000 + d)] for t, d in of]
        result = BenchResult([calibrate(runs, repeatability="0.02 %") for runs in two_days])
        assert "Repeats" in str(result)
        assert "incomplete" not in repr(result)
    assert "Repeats" not in str(BenchResult(result.calibrations[:1]))


def test_report_holds_what_was_found():
    shared = _shared()
    found = calibrate([_run(shared, mass) for mass in (28.702, 28.712, 28.695)])
    text = str(found)
    assert max(map(len, text.splitlines())) <= 80
    assert "repeatability of the runs" in text
    assert "densitometer" in text
    assert f"k = {found.coverage_factor():.2f}" in text
    assert "±" in repr(found)
    plain = found.as_dict()
    assert sum(row["share"] for row in plain["budget"]) == pytest.approx(1.0)
    assert plain["runs"][0]["mass_reading_kg"] == {"value": 28.702, "uncertainty": U_READING_KG}
    assert plain["runs"][0]["duration_s"] == 120.0
    json.dumps(plain, allow_nan=False)
    assert list(found.to_frame()["name"]) == [row.name for row in found.budget()]


def test_printed_figures_are_those_of_an_independent_computation():
    masses = (28.702, 28.712, 28.695)
    shared = _shared()
    found = calibrate([_run(shared, mass) for mass in masses])
    heads, rows = found.report().tables[0].heads, found.report().tables[0].rows
    cells = {row[0]: dict(zip(heads, row, strict=True)) for row in rows}
    density = 100.0 * U_DENSITY / 802.1  # K is in proportion to the density, but for the air, a thousandth of it
    assert float(cells["densitometer"]["on K, %"]) == pytest.approx(density, rel=0.01)
    parts = {name: float(row["on K, %"]) for name, row in cells.items()}
    for name, row in cells.items():
        share = 100.0 * parts[name] ** 2 / math.fsum(part**2 for part in parts.values())
        assert float(row["share, %"]) == pytest.approx(share, abs=0.3)
        assert row["dof"] == ("2" if name == "repeatability of the runs" else "-")
    facts = found.report().facts
    assert "95.45 %" in facts["expanded uncertainty U"]  # JCGM 100:2008, Table G.1: k = 2
    spread, deviation = np.ptp(masses) / max(masses), np.std(masses, ddof=1) / np.mean(masses)
    assert float(facts["spread of the runs"].split()[0]) == pytest.approx(100.0 * spread, rel=0.01)
    assert float(facts["standard deviation of the runs"].split()[0]) == pytest.approx(100.0 * deviation, rel=0.01)
    point = BenchResult([found]).report().tables[0]
    row = dict(zip(point.heads, point.rows[0], strict=True))
    assert row["runs"] == "3"
    assert float(row["spread, %"]) == pytest.approx(100.0 * spread, abs=1e-4)
    two = calibrate([_run(shared, mass) for mass in masses[:2]])
    assert BenchResult([two]).report().tables[0].rows[0][-1] != "-"
    assert all(" %" in str(two.report().facts[f"{name} of the runs"]) for name in ("spread", "standard deviation"))
    assert two.spread == pytest.approx(masses[1] / masses[0] - 1.0, rel=1e-5)
    for each in (found, two):
        share = each.report().facts["expanded uncertainty U"].partition(", ")[2].split()[0]
        assert share == f"{100.0 * each.expanded_uncertainty():.2g}"
    alone = calibrate([_run(shared)], repeatability="0.02 %")
    assert "spread of the runs" not in str(alone)
    assert BenchResult([alone]).report().tables[0].rows[0][-1] == "-"


@pytest.mark.parametrize(
    ("change", "words"),
    [({"duration_s": 119.0}, "one flow"), ({"mass_kg": 28.702 * 0.981}, "agree")],  # common practice: a fifth, and 2 %
)
def test_runs_that_do_not_belong_together_are_told(change, words):
    shared, first = _shared(), {"duration_s": 100.0} if "duration_s" in change else {}
    missing = {}
    for further in (False, True):
        # beyond the limit: 121 s to 100 s, and a K that is 2.04 % higher
        other = {name: value + 2.0 if name == "duration_s" else value * 0.999 for name, value in change.items()}
        runs = [_run(shared, **first), _run(shared, **first), _run(shared, **(first | (other if further else change)))]
        missing[further] = any(words in each for each in calibrate(runs).missing)
    assert missing == {False: False, True: True}


def _exact(pulses, duration_s):
    """A run into a measure of one litre at one temperature: K is the count of pulses."""
    same = dict.fromkeys(("liquid_temperature_c", "measure_temperature_c"), 20.0)
    return VolumetricRun(**MEASURE | same | {"measure_volume_l": 1.0, "pulses": pulses, "duration_s": duration_s})


def test_limits_of_what_belongs_together_are_within():
    for limit, beyond, words in (
        ((1000.0, 100.0), (1000.0, 99.9), "one flow"),
        ((1020.0, 120.0), (1021.0, 120.0), "agree"),
    ):
        missing = [" ".join(calibrate([_exact(1000.0, 120.0), _exact(*other)]).missing) for other in (limit, beyond)]
        assert [words in each for each in missing] == [False, True]


def test_what_does_not_belong_together_is_told_from_the_least_to_the_most():
    runs = [_run(_shared(), duration_s=seconds) for seconds in (100.0, 110.0, 125.0)]
    assert "2176 to 2720 Hz" in " ".join(calibrate(runs).missing)
    for name, values, what, words in (
        ("liquid_density_kg_m3", (750.0, 760.0, 770.0), "one liquid", "750 to 770 kg/m³"),
        ("liquid_temperature_c", (15.0, 22.0, 28.0), "one temperature", "15 to 28 °C"),
    ):
        missing = calibrate(GravimetricRun(**PLAIN | {name: value}) for value in values).missing
        assert any(what in each and words in each for each in missing)
    assert "one liquid" not in " ".join(calibrate([_exact(1000.0, 100.0)]).missing)


LIMITS = [
    (GravimetricRun, "balance_factor", (0.9, 1.1), (0.899, 1.101)),
    (GravimetricRun, "unweighed_mass_kg", (0.0, 2.0), (-1e-9, 2.001)),
    (GravimetricRun, "liquid_temperature_c", (-60.0, 150.0), (-60.1, 150.1)),
    (VolumetricRun, "liquid_expansion_per_k", (50.1e-6, 0.002), (50e-6, 0.00201)),
    (VolumetricRun, "measure_expansion_per_k", (0.0, 9.1e-4), (-1e-9, 9.2e-4)),
    (VolumetricRun, "measure_temperature_c", (-60.0, 150.0), (-60.1, 150.1)),
    (VolumetricRun, "duration_s", (1e-9, 1e12), (0.99e-9, 1.01e12)),
]


@pytest.mark.parametrize(("kind", "name", "inside", "outside"), LIMITS)
def test_inputs_are_taken_up_to_their_limits_and_refused_beyond(kind, name, inside, outside):
    given = {GravimetricRun: PLAIN | {"mass_reading_kg": 20.0}, VolumetricRun: MEASURE}[kind]
    for value in inside:
        assert getattr(kind(**given | {name: value}), name) == value
    for value in outside:
        with pytest.raises(FuelUnitsError):
            kind(**given | {name: value})


def test_a_mass_that_was_not_weighed_is_one_of_a_bench():
    large = PLAIN | {"mass_reading_kg": 1e8}
    assert GravimetricRun(**large | {"unweighed_mass_kg": 1e6}).unweighed_mass_kg == 1e6
    with pytest.raises(OutOfRange):
        GravimetricRun(**large | {"unweighed_mass_kg": 1.01e6})


def test_inputs_of_any_kind_become_floats_and_an_uncertainty_is_finite():
    run = GravimetricRun(**PLAIN | {"duration_s": np.float32(120.0), "pulses": Decimal(272_040)})
    assert (type(run.duration_s), type(run.pulses)) == (float, float)
    with pytest.raises(QuantityError, match="density"):
        GravimetricRun(**PLAIN | {"liquid_density_kg_m3": ufloat(802.1, math.nan)})


@pytest.mark.parametrize(("apart_c", "count"), [(0.5, 0), (-0.5, 0), (0.51, 1), (-0.51, 1)])
def test_half_a_degree_is_one_temperature(apart_c, count):
    """Common practice: 0.05 % of a fuel; on either side."""
    filled = VolumetricRun(**MEASURE | {"liquid_temperature_c": 23.0 + apart_c})
    weighed = GravimetricRun(**PLAIN, density_temperature_c=20.1 - apart_c, liquid_expansion_per_k=9e-4)
    for run in (filled, replace(weighed, liquid_temperature_c=20.0, density_temperature_c=20.0 - apart_c)):
        assert sum("expansion" in each for each in run.missing) == count


@pytest.mark.parametrize(("unweighed_kg", "count"), [(0.002, 0), (0.00201, 1)])
def test_an_unweighed_mass_above_a_ten_thousandth_needs_an_uncertainty(unweighed_kg, count):
    run = GravimetricRun(**PLAIN | {"mass_reading_kg": 20.0, "unweighed_mass_kg": unweighed_kg})
    assert sum("unweighed" in each for each in run.missing) == count


@pytest.mark.parametrize(
    ("expansion_per_k", "kg_m3", "half_width"),
    [
        *((9e-4, light, 0.6 * (9e-4 * 10.0) ** 2) for light in (None, 800.0, 899.9)),
        *((8.5e-4, light, 0.6 * (8.5e-4 * 10.0) ** 2) for light in (800.0, 899.9)),
        (8.9e-4, None, 8e-6 * 100.0),
        *((9e-4, 900.0, 8e-6 * 100.0), (8e-4, 800.0, 8e-6 * 100.0), (2e-4, None, 8e-6 * 100.0)),
    ],
)
def test_the_curvature_of_a_density_is_stated_as_documented(expansion_per_k, kg_m3, half_width):
    found = thinning(uncertain(expansion_per_k, 1e-12, name="expansion"), -10.0, kg_m3)
    assert found.nominal_value == pytest.approx(1.0 + 10.0 * expansion_per_k, rel=1e-12)
    assert found.std_dev == pytest.approx(half_width / math.sqrt(3.0))  # rectangular, JCGM 100:2008, 4.3.7
    assert thinning(expansion_per_k, -10.0) == 1.0 + 10.0 * expansion_per_k


@pytest.mark.parametrize("into", ["a vessel", "a measure"])
@pytest.mark.parametrize(
    "liquid", ["INCOMP::MPG[0.4]", "INCOMP::MPG[0.6]", "INCOMP::MEG[0.5]", "Water", "n-Dodecane", "n-Decane"]
)
def test_a_density_carried_to_another_temperature_is_off_by_less_than_u(liquid, into):
    """Densities and expansions of CoolProp: the density is known at one temperature, the transducer is at another."""
    properties = pytest.importorskip("CoolProp.CoolProp")
    for known, at in ((20.0, 30.0), (20.0, 45.0), (15.0, 40.0), (60.0, 40.0), (70.0, 55.0), (75.0, 60.0)):
        before, after = (properties.PropsSI("D", "T", t + 273.15, "P", 101_325, liquid) for t in (known, at))
        near = [properties.PropsSI("D", "T", known + 273.15 + by, "P", 101_325, liquid) for by in (-0.5, 0.5)]
        beta = uncertain(math.log(near[0] / near[1]), 1e-6, name="expansion")
        density = before if into == "a vessel" else None
        carried = thinning(beta, at - known, density)
        assert abs(carried.nominal_value - after / before) <= 2.0 * carried.std_dev


def test_flows_of_one_bench_result_have_runs_of_their_own_and_a_row_each():
    shared = _shared()
    slow, fast = ([_run(shared, mass, duration_s=seconds) for mass in (28.702, 28.712)] for seconds in (240.0, 120.0))
    with pytest.raises(FuelUnitsError, match="twice"):
        BenchResult([calibrate(slow), calibrate([*fast, slow[0]])])
    rows = BenchResult([calibrate(fast), calibrate(slow)]).rows()
    assert [row["frequency_hz"] for row in rows] == [272_040 / 240.0, 272_040 / 120.0]
    assert rows[0]["spread"] == pytest.approx(0.010 / 28.702, rel=1e-4)
    assert rows[0]["relative_expanded_uncertainty"] == calibrate(slow).expanded_uncertainty()


@pytest.mark.parametrize("name", ["pulses", "measure_volume_l", "duration_s"])
def test_a_run_into_a_measure_refuses_what_is_not_positive(name):
    with pytest.raises(FuelUnitsError, match=name):
        VolumetricRun(**MEASURE | {name: -1.0})


# the unit that an input states

_KG, _CELSIUS, _PER_K = "mass_reading_kg", "liquid_temperature_c", "liquid_expansion_per_k"


@pytest.mark.parametrize(
    ("name", "value", "stated", "others"),
    [
        (_KG, 28.702, "lb", ("", "kg", "kilogram")),
        (_CELSIUS, 20.1, "degF", ("°C", "degC")),
        (_CELSIUS, 20.1, "K", ()),
        ("liquid_density_kg_m3", 802.1, "lb/gal", ("kg/m³", "g/L")),
        ("air_density_kg_m3", 1.19, "kg/L", ("kg/m^3",)),
        (_PER_K, 9e-4, "1/degF", ("1/K", "1/°C", "1/delta_degC")),
        ("pulses", 272_040.0, "L", ("pulse", "pulses")),
        ("balance_factor", 1.0, "kg", ("1", "kg/kg")),
    ],
)
def test_an_uncertain_number_is_in_the_unit_that_it_states(name, value, stated, others):
    """K with 21 °C stated as 69.8 °F was 0.46 % wrong, and that of pounds in place of kilograms by a factor of 2.2."""
    bare = {**PLAIN, _PER_K: 9e-4, "density_temperature_c": 15.0}
    for unit in others:
        found = GravimetricRun(**{**bare, name: uncertain(value, 1e-5, name="reading", unit=unit)})
        assert nominal(found.k_pulses_per_l) == GravimetricRun(**bare).k_pulses_per_l
    reading = uncertain(value, 1e-5, name="reading", unit=stated)
    offset = uncertain(0.0, 1e-5, name="offset", unit="degF" if name == _CELSIUS else stated)
    for wrong in (reading, *[value + offset, value - offset] * (name in (_KG, _CELSIUS, _PER_K))):
        with pytest.raises(FuelUnitsError, match=rf"{name}: .* is stated in .* is needed"):
            GravimetricRun(**{**bare, name: wrong})


def test_a_stated_unit_that_was_converted_is_taken():
    fahrenheit, kelvin = (uncertain(t, 0.1, name="reading", unit=unit) for t, unit in ((68.0, "degF"), (293.15, "K")))
    offset = uncertain(0.0, 0.1, name="thermometer", unit="delta_degC")
    for each in (convert(fahrenheit, "degF", "degC"), (fahrenheit - 32.0) / 1.8, kelvin - 273.15, 20.0 + offset):
        assert nominal(GravimetricRun(**PLAIN | {_CELSIUS: each}).liquid_temperature_c) == pytest.approx(20.0)
    by_weight = uncertain(1.0, 1e-5, name="reference weight", unit="lb") / 1.0  # lb, which the balance reads
    assert nominal(GravimetricRun(**PLAIN | {"balance_factor": by_weight}).balance_factor) == 1.0
    with pytest.raises(FuelUnitsError, match="reading is stated in degF"):
        convert(fahrenheit, "degC", "K")
    with pytest.raises(FuelUnitsError, match=r"truck_factor: .* is stated in gal"):
        FillUp(indicated="388 L", delivered="379 L", truck_factor=uncertain(1.0, 0.002, name="truck", unit="gal"))
    quantity = pint.get_application_registry().Quantity(fahrenheit, "degC")
    with pytest.raises(FuelUnitsError, match=r"temperature: .* is stated in degF"):
        GravimetricRun.read(liquid_temperature=quantity, **{name: PLAIN[name] for name in PLAIN if name != _CELSIUS})


@pytest.mark.parametrize(("stated", "right"), [("gal", "L"), ("kg", "L"), ("lb/imp_gal", "lb/gal"), ("degF", "degC")])
def test_a_quantity_in_another_unit_than_its_number_states_is_refused(stated, right):
    """50 gal taken for 50 L is a quarter of the mass, and 8.05 lb/imp_gal for lb/gal a fifth more."""
    quantity, density = pint.get_application_registry().Quantity, right == "lb/gal"
    number = 8.05 if density else 50.0
    bad, good = (quantity(uncertain(number, 0.02, name="read", unit=each), right) for each in (stated, right))
    batch = fuel("Jet A").measured("0.805 kg/L", at="22 degC", uncertainty="0.5 kg/m^3", by="densitometer")
    calls = (
        [lambda given: batch.uncertain_mass("50 L", at=given)]
        if right == "degC"
        else [
            lambda given: endurance("90 L", "60 kg/h", density=given),
            lambda given: fuel_for("2 h", "10 gal/h", "lb", density=given),
            lambda given: remaining("90 L", "7 kg", "L", density=given),
            lambda given: fuel_on_board({"a": "90 L", "b": "70 kg"}, "L", density=given),
            lambda given: first_to_trip(LowFuelByTime("25 min"), LowFuelByQuantity("30 L"), "60 kg/h", density=given),
        ]
        if density
        else [
            lambda given: batch.uncertain_mass(given, at="20 degC"),
            lambda given: endurance(given, "10 L/h"),
            lambda given: convert([given.magnitude], right, "m3"),
            lambda given: convert(np.array([[given.magnitude] * 2]), right, "m3"),
        ]
    )
    for call in calls:
        call(good)
        with pytest.raises(FuelUnitsError, match=rf"stated in {stated}"):
            call(bad)


def test_one_density_of_runs_that_warmed_is_known_to_half_of_what_a_fuel_expands():
    """By hand: 0.4 °C of 0.1 % per °C, halved, rectangular (JCGM 100:2008, 4.3.7)."""
    found = calibrate([_run(_shared(), liquid_temperature_c=celsius) for celsius in (21.0, 21.2, 21.4)])
    (row,) = (row for row in found.budget() if "one density" in row.name)
    assert row.contribution / float(found.k_factor) == pytest.approx(0.0002 / math.sqrt(3.0))


def _printed(calibration):
    """The inputs of each run as printed: those of all runs, and those of its row."""
    facts, table = calibration.report().facts["in all runs"], calibration.report().tables[-1]
    return facts.split("; "), [dict(zip(table.heads, row, strict=True)) for row in table.rows]


def test_k_of_each_run_can_be_computed_from_what_is_printed():
    shared, warmth = _shared() | {"balance_factor": 1.01}, {"liquid_temperature_c": 70.0}
    weighed = [_run(shared, mass, **warmth) for mass in (28.702, 28.712)]
    weighed += [_run(shared, 28.712, unweighed_mass_kg=0.002, **warmth)]
    found = calibrate(weighed, unit="gal")
    alike, rows = _printed(found)
    assert set(alike) == {
        *("duration 120 s", "liquid density 802.1 kg/m³", "air density 1.19 kg/m³", "weights density 8000 kg/m³"),
        "balance factor 1.01",
    }
    assert [row["unweighed mass, kg"] for row in rows] == ["0", "0", "0.002"]
    for row in rows:
        assert (row["pulses"], row["liquid temperature, °C"]) == ("272040", "70")
        true_kg = float(row["mass reading, kg"]) * 1.01 * (1.0 - 1.19 / 8000.0) / (1.0 - 1.19 / 802.1)
        litres = (true_kg + float(row["unweighed mass, kg"])) / 0.8021
        assert float(row["K, pulse/gal"]) == pytest.approx(272_040 / litres * 3.785411784, rel=1e-6)


def test_a_single_run_and_runs_of_two_kinds_are_printed_row_by_row():
    filled, weighed = VolumetricRun(**MEASURE), GravimetricRun(**PLAIN | {"pulses": 272_000})
    alike, (row,) = _printed(calibrate([filled]))
    assert {"measure temperature 23 °C", "reference temperature 20 °C", "measure expansion 5e-05 1/K"} <= set(alike)
    assert row["measure volume, L"] == "20"
    assert float(row["K, pulse/L"]) == pytest.approx(151_850 / 20.0 / (1 + 50e-6 * 3.0) * (1 - 9.2e-4), rel=1e-6)
    rows = _printed(calibrate([filled, weighed]))[1]
    assert [row["mass reading, kg"] for row in rows] == ["-", "28.702"]
    assert [row["reference temperature, °C"] for row in rows] == ["20", "-"]


@pytest.mark.parametrize(("u", "is_one"), [(0.99, False), (1.0, True), (1.5, True)])
def test_a_gate_that_is_off_by_a_pulse_or_more_is_one_cause_of_all_runs(u, is_one):
    """A count is uncertain by less than a pulse, each by itself; what one gate adds, it adds to all runs."""
    runs = [GravimetricRun(**PLAIN | {"pulses": uncertain(272_000 + 40 * n, u, name="gate")}) for n in range(3)]
    assert any("gate, 3 as one" in row.name for row in calibrate(runs).budget()) is is_one


def test_inputs_that_count_as_one_have_the_fewest_degrees_of_freedom_of_them():
    """The density of each run is a mean of few readings, of one name; Student's t is that of the fewest, 2."""
    runs = [
        GravimetricRun(**PLAIN | {"liquid_density_kg_m3": uncertain(802.1, 0.4, name="density", degrees_of_freedom=n)})
        for n in (9, 2, 30)
    ]
    assert [row.degrees_of_freedom for row in calibrate(runs).budget() if row.name == "density, 3 as one"] == [2]
