"""What a bench states and decides, against the truth of a simulated bench.

The simulation knows the true K-factor, the true errors of the balance and of the densitometer, which all runs of a
calibration share, and how much the transducer scatters. It uses none of the library's formulas for uncertainty.
All figures are invented.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from uncertainties import ufloat

from fuelunits.bench.calibration import BenchResult, calibrate
from fuelunits.bench.runs import GravimetricRun, VolumetricRun, counted, thinning
from fuelunits.errors import FuelUnitsError, OutOfRange
from fuelunits.meters.k_factor import KFactor
from fuelunits.records.encoding import from_dict, to_dict
from fuelunits.records.history import CalibrationEvent, TransducerHistory
from fuelunits.uncertainty.budget import coverage_factor, uncertain
from fuelunits.uncertainty.decisions import Verdict, conformity, global_risk
from fuelunits.uncertainty.measured import measured

pytestmark = pytest.mark.simulation

TRUE_K, DENSITY, AIR, MASS = 11_412.0, 802.1, 1.19, 20.0
KNOWN = uncertain(AIR, 1e-4, name="air", unit="kg/m^3")
U_BALANCE, U_DENSITY, U_READING_KG, SCATTER = 1e-4, 0.1, 0.001, 3e-4
PROMISED, ONE_SIDED = 0.9545, 0.02275


def margin(rate, trials):
    """Four standard deviations of a rate that was counted."""
    return 4.0 * math.sqrt(rate * (1.0 - rate) / trials)


def calibration(generator, runs, *, scatter=SCATTER, u_balance=U_BALANCE, stated_scatter=None):
    """Calibrate once: the balance and the densitometer are wrong by the same in all runs."""
    balance_error, density_error = generator.normal(0.0, [u_balance, U_DENSITY])
    balance = uncertain(1.0, u_balance, name="balance")
    density = uncertain(DENSITY + density_error, U_DENSITY, name="densitometer")
    made, warmth = [], uncertain(20.0, 0.1, name="thermometer in the line")
    for _ in range(runs):
        lifted = MASS * (1.0 - AIR / DENSITY) / (1.0 - AIR / 8000.0)
        reading = lifted * (1.0 + balance_error) + generator.normal(0.0, U_READING_KG)
        pulses = TRUE_K * 1000.0 * MASS / DENSITY * (1.0 + scatter * generator.standard_normal())
        made.append(
            GravimetricRun(
                pulses=counted(math.floor(pulses + generator.random())),
                mass_reading_kg=uncertain(reading, U_READING_KG, name="reading"),
                duration_s=60.0,
                liquid_temperature_c=warmth,
                density_temperature_c=warmth,
                liquid_expansion_per_k=9e-4,
                liquid_density_kg_m3=density,
                air_density_kg_m3=KNOWN,
                balance_factor=balance,
            )
        )
    known = None if stated_scatter is None else f"{100.0 * stated_scatter!r} %"
    return calibrate(made, repeatability=known)


def coverage(runs, trials, **bench):
    generator = np.random.default_rng(runs)
    inside = 0
    for _ in range(trials):
        found = calibration(generator, runs, **bench)
        inside += abs(float(found.k_factor) / TRUE_K - 1.0) <= found.expanded_uncertainty()
    return inside / trials


BENCHES = [{}, {"scatter": 0.0}, {"scatter": 1e-3}, {"u_balance": 1e-6, "scatter": 1e-4}]


def check_coverage(runs, trials, **bench):
    found = coverage(runs, trials, **bench)
    assert found >= PROMISED - margin(PROMISED, trials)


@pytest.mark.parametrize("runs", [2, *(pytest.param(runs, marks=pytest.mark.long) for runs in (3, 5, 10))])
def test_stated_uncertainty_covers_the_truth(runs):
    check_coverage(runs, 500, scatter=1e-3)  # t at the effective degrees of freedom covers 88 % of two runs


@pytest.mark.parametrize("runs", [1, 2])
def test_stated_uncertainty_covers_the_truth_where_the_repeatability_is_known(runs):
    check_coverage(runs, 300, stated_scatter=SCATTER)


@pytest.mark.long
@pytest.mark.parametrize("bench", BENCHES, ids=str)
@pytest.mark.parametrize("runs", [2, 4, 10])
def test_stated_uncertainty_covers_the_truth_on_any_bench(runs, bench):
    check_coverage(runs, 2000 // runs, **bench)


def hold_the_truth(runs, ratio, trials, generator):
    """Return how often U holds the truth: with t at the effective degrees of freedom, and with t of each cause."""
    error = generator.standard_normal(trials) + ratio * generator.standard_normal(trials)
    scatter = np.sqrt(generator.chisquare(runs - 1, trials) / (runs - 1))
    u, few = np.hypot(scatter, ratio), stats.t.ppf(0.5 + PROMISED / 2.0, runs - 1)
    degrees = np.floor((runs - 1) * (u / scatter) ** 4 + 1e-9)
    by_cause = np.hypot(few * scatter, 2.0 * ratio)
    for i in range(3):  # the library's factor is the one that is simulated
        own = uncertain(0.0, scatter[i], name="scatter", degrees_of_freedom=runs - 1)
        found = uncertain(1.0, ratio, name="shared") + own
        assert coverage_factor(found) * found.std_dev == pytest.approx(by_cause[i], rel=1e-4)
    one_t = stats.t.ppf(0.5 + PROMISED / 2.0, np.minimum(degrees, 1e6))
    return [float(np.mean(np.abs(error) <= width)) for width in (one_t * u, by_cause)]


@pytest.mark.parametrize(
    ("runs", "effective", "least", "most"),
    [(2, 88.3, 96.4, 98.9), (3, 93.2, 96.0, 97.9), (5, 94.8, 95.5, 96.9), (10, 95.3, 95.5, 96.2)],
)
def test_coverage_of_both_factors_is_as_the_documentation_says(runs, effective, least, most):
    generator = np.random.default_rng(runs)
    found = [hold_the_truth(runs, ratio, 40_000, generator) for ratio in (0.25, 0.5, 1.0, 2.0, 4.0, 8.0)]
    one_t, by_cause = np.transpose(100.0 * np.array(found))
    assert one_t.min() == pytest.approx(effective, abs=0.5)
    assert (by_cause.min(), by_cause.max()) == pytest.approx((least, most), abs=0.4)


@pytest.mark.long
def test_a_coverage_that_is_exact_is_not_too_large():
    # ten runs, where nothing but their scatter matters: Student's t with 9 degrees of freedom is exact
    trials = 1000
    found = coverage(10, trials, u_balance=1e-9, scatter=3e-3)
    assert abs(found - PROMISED) <= margin(PROMISED, trials)


def calibrations(runs, trials, **bench):
    generator = np.random.default_rng(97 + runs)
    return [calibration(generator, runs, **bench) for _ in range(trials)]


def rates(found, true_error, *, guard=1.0):
    """Return the rate of each verdict on an indicator whose true relative error is known, at a tolerance of 1 %."""
    entered = KFactor(TRUE_K / (1.0 + true_error), per="L")
    verdicts = [each.conformity(entered, tolerance="1 %", guard=guard).verdict for each in found]
    return {verdict: verdicts.count(verdict) / len(found) for verdict in Verdict}


def check_verdicts(runs, trials, **bench):
    """A true error on the limit is the worst case of both risks."""
    found = calibrations(runs, trials, **bench)
    for sign in (-1.0, 1.0):
        outside = rates(found, sign * 0.0100001)
        assert outside[Verdict.ACCEPT] <= ONE_SIDED + margin(ONE_SIDED, trials)
        simple = rates(found, sign * 0.0100001, guard=0.0)
        assert simple[Verdict.ACCEPT] <= 0.5 + margin(0.5, trials)
        inside = rates(found, sign * 0.0099999)
        assert inside[Verdict.REJECT] <= 0.5 + margin(0.5, trials)


@pytest.mark.parametrize("runs", [2, pytest.param(3, marks=pytest.mark.long)])
def test_false_accepts_and_false_rejects_are_as_few_as_promised(runs):
    check_verdicts(runs, 150)


def test_false_accepts_of_one_run_with_a_known_repeatability():
    check_verdicts(1, 200, stated_scatter=SCATTER)


@pytest.mark.long
@pytest.mark.parametrize("bench", BENCHES, ids=str)
@pytest.mark.parametrize("runs", [2, 4, 10])
def test_false_accepts_and_false_rejects_on_any_bench(runs, bench):
    check_verdicts(runs, 1000 // runs, **bench)


@pytest.mark.parametrize(("degrees", "factor"), [(1, 2.0), (1, 13.97), (2, 2.0), (4, 2.0), (4, 1.0), (math.inf, 1.0)])
def test_an_error_beyond_the_limit_is_accepted_as_seldom_as_stated(degrees, factor):
    # the true error lies on the limit; its standard uncertainty was estimated from so many degrees of freedom
    trials, u = 4000, 0.02
    generator = np.random.default_rng(8)
    estimated = u * np.sqrt(generator.chisquare(degrees, trials) / degrees) if degrees < math.inf else [u] * trials
    errors = 1.0 + generator.normal(0.0, u, trials)
    accepted = [
        conformity(error, factor * s, 1.0, coverage_factor=factor, degrees_of_freedom=degrees).verdict is Verdict.ACCEPT
        for error, s in zip(errors.tolist(), np.asarray(estimated).tolist(), strict=True)
    ]
    assert np.mean(accepted) <= 0.02275 + margin(0.02275, trials)
    assert conformity(0.9, 0.05, 1.0, coverage_factor=1.0).uncertainty_ratio == pytest.approx(10.0)


@pytest.mark.parametrize("true_error", [0.0, 0.0099, 0.0101, 0.05])
def test_one_run_alone_decides_nothing(true_error):
    assert rates(calibrations(1, 20), true_error)[Verdict.UNDECIDED] == 1.0


def test_what_is_well_inside_is_accepted_and_what_is_well_outside_rejected():
    found = calibrations(3, 60)
    assert rates(found, 0.002)[Verdict.ACCEPT] == 1.0
    assert rates(found, 0.02)[Verdict.REJECT] == 1.0


@pytest.mark.parametrize("guard", [0.0, 0.5, 1.0])
def test_global_risks_are_those_of_a_simulated_population(guard):
    # true errors of many indicators, normal; measured with a known normal uncertainty; tolerance 1, U = 2 u = 0.4
    trials, spread, u = 20_000, 0.6, 0.2
    generator = np.random.default_rng(11)
    true = generator.normal(0.1, spread, trials)
    found = true + generator.normal(0.0, u, trials)
    accepted = np.array(
        [conformity(error, 2.0 * u, 1.0, guard=guard).verdict is Verdict.ACCEPT for error in found.tolist()]
    )
    edge = 1.0 - guard * 2.0 * u
    risk = global_risk(0.1, spread, u, limits=(-1.0, 1.0), acceptance_limits=(-edge, edge))
    for simulated, expected in (
        (accepted & (abs(true) > 1.0), risk.false_accept),
        (~accepted & (abs(true) <= 1.0), risk.false_reject),
        (accepted, risk.accepted),
    ):
        assert simulated.mean() == pytest.approx(expected, abs=margin(expected, trials))
    # the probability that each answer states is right over all of one kind, for a population without a preference
    flat = generator.uniform(-3.0, 3.0, trials)
    seen = flat + generator.normal(0.0, u, trials)
    near = np.abs(np.abs(seen) - 0.9) < 0.02
    stated = np.mean([conformity(error, 2.0 * u, 1.0).probability for error in seen[near].tolist()])
    assert np.mean(np.abs(flat[near]) <= 1.0) == pytest.approx(stated, abs=margin(stated, near.sum()))


def density_of(liquid, celsius):
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    return coolprop.PropsSI("D", "T", celsius + 273.15, "P", 101_325.0, liquid)


def expansion_of(liquid, celsius):
    before, after = (density_of(liquid, celsius + step) for step in (-0.01, 0.01))
    return (before - after) / 0.02 / density_of(liquid, celsius)


@pytest.mark.parametrize(
    "liquid", ["n-Heptane", "n-Octane", "n-Decane", "n-Dodecane", "Toluene", "o-Xylene", "CycloHexane", "Water"]
)
def test_a_density_of_a_real_liquid_lies_within_that_converted(liquid):
    cold = () if liquid in ("CycloHexane", "Water") else (-20.0, 0.0)
    for known in (15.0, 20.0, 40.0):
        expansion = uncertain(expansion_of(liquid, known), 1e-12, name="expansion")
        for celsius in {*cold, 10.0, 20.0, 30.0, 45.0, 60.0} - {known}:
            found = thinning(expansion, celsius - known)
            assert abs(found.n - density_of(liquid, celsius) / density_of(liquid, known)) <= 2.0 * found.s
            assert found.s <= 5e-6 * (celsius - known) ** 2


@pytest.mark.parametrize(
    ("liquid", "celsius"),
    [("n-Heptane", -20.0), ("n-Dodecane", 15.0), ("o-Xylene", 60.0), ("Water", 8.0), ("Water", 7.0)],
)
def test_a_liquid_expands_more_than_its_measure_and_the_two_swapped_are_refused(liquid, celsius):
    filled = {"pulses": 228_240, "measure_volume_l": 20.0, "duration_s": 60.0}
    filled |= {"liquid_temperature_c": celsius, "measure_temperature_c": celsius}
    steel, expansion = 5e-5, expansion_of(liquid, celsius)
    if (liquid, celsius) != ("Water", 7.0):  # the limit that the docstring states
        VolumetricRun(**filled, measure_expansion_per_k=steel, liquid_expansion_per_k=expansion)
        steel, expansion = expansion, steel
    with pytest.raises(FuelUnitsError, match="swapped"):
        VolumetricRun(**filled, measure_expansion_per_k=steel, liquid_expansion_per_k=expansion)


def converted(generator, liquid, known, warm, *, states, doubt=0.02, thermometer=0.1, runs=5):
    """Calibrate at one temperature with a density, or a measure, of another one; all runs share the errors of these."""
    shared = generator.normal(0.0, [thermometer, doubt, 0.05])
    stated = lambda value, u, name: uncertain(value, u if states else 0.0, name=name)  # noqa: E731
    read = {
        "duration_s": 300.0,
        "liquid_temperature_c": stated(warm + shared[0], thermometer, "thermometer"),
        "liquid_expansion_per_k": stated(
            expansion_of(liquid, known) * (1.0 + shared[1]), doubt * expansion_of(liquid, known), "expansion"
        ),
    }
    there, here = density_of(liquid, warm), density_of(liquid, known)
    density = uncertain(here + shared[2], 0.05, name="density")
    weighed, filled = [], []
    for _ in range(runs):
        for made, litres in ((weighed, 4.0), (filled, 20.0 * here / there)):
            pulses = counted(
                math.floor(TRUE_K * litres * (1.0 + 2e-5 * generator.standard_normal()) + generator.random())
            )
            if made is weighed:
                mass = litres * there / 1000.0 * (1.0 - AIR / there) / (1.0 - AIR / 8000.0)
                reading = uncertain(mass + generator.normal(0.0, 1e-4), 1e-4, name="weighing")
                run = GravimetricRun(
                    pulses=pulses, mass_reading_kg=reading, air_density_kg_m3=KNOWN, liquid_density_kg_m3=density,
                    density_temperature_c=stated(known, 1e-6, "at the densitometer"), **read,
                )  # fmt: skip
            else:
                run = VolumetricRun(
                    pulses=pulses, measure_volume_l=uncertain(20.0, 1e-6, name="measure"), measure_expansion_per_k=0.0,
                    measure_temperature_c=stated(known, 1e-6, "in the measure"), **read,
                )  # fmt: skip
            made.append(run)
    return calibrate(weighed), calibrate(filled)


WARMED = [
    ("n-Decane", 15.0, 35.0, 0.02),
    ("n-Octane", 20.0, 60.0, 0.002),
    pytest.param("n-Decane", 15.0, 60.0, 0.002, marks=pytest.mark.long),
    pytest.param("n-Decane", 15.0, -10.0, 0.02, marks=pytest.mark.long),
]


@pytest.mark.parametrize(("liquid", "known", "warm", "doubt"), WARMED)
def test_stated_uncertainty_covers_the_truth_where_a_density_was_converted(liquid, known, warm, doubt):
    generator, held = np.random.default_rng(round(warm) + 20), np.zeros(2)
    for _ in range(50):
        for i, found in enumerate(converted(generator, liquid, known, warm, states=True, doubt=doubt)):
            assert found.missing == ()
            held[i] += abs(float(found.k_factor) / TRUE_K - 1.0) <= found.expanded_uncertainty()
    assert (held / 50 >= PROMISED - margin(PROMISED, 50)).all()


@pytest.mark.parametrize("thermometer", [0.15, 0.3])
def test_a_run_into_a_measure_takes_both_thermometers_also_where_they_read_the_same(thermometer):
    """K depends on the difference of two readings of 22 °C: without their uncertainty, U covered 38 to 67 %."""
    generator, held, trials = np.random.default_rng(4), 0, 60
    expansion = 9.5e-4  # of decane at 22 °C, within 2 % [CoolProp]
    for _ in range(trials):
        off_c = generator.normal(0.0, thermometer, 2)
        volume = 20.0 * (1.0 - expansion * (off_c[1] - off_c[0]))  # what passed, denser or thinner than in the measure
        pulses = TRUE_K * volume * (1.0 + 2e-5 * generator.standard_normal(5))
        warmth = [uncertain(22.0, thermometer, name=name, unit="degC") for name in ("at the meter", "in the measure")]
        common = {
            "measure_volume_l": uncertain(20.0, 0.002, name="measure"),
            "measure_expansion_per_k": 50e-6,
            "liquid_expansion_per_k": expansion,
            "duration_s": 60.0,
        }
        bare = dict.fromkeys(("liquid_temperature_c", "measure_temperature_c"), 22.0)
        stated = dict(zip(bare, warmth, strict=True))
        plain = calibrate(VolumetricRun(pulses=float(each), **bare, **common) for each in pulses)
        assert {"temperature"} <= set(" ".join(plain.missing).replace(";", " ").split())
        assert plain.conformity(KFactor(TRUE_K, per="L"), tolerance="5 %").verdict is Verdict.UNDECIDED
        found = calibrate(VolumetricRun(pulses=float(each), **stated, **common) for each in pulses)
        assert found.missing == ()
        held += abs(float(found.k_factor) / TRUE_K - 1.0) <= found.expanded_uncertainty()
    assert held / trials >= PROMISED - margin(PROMISED, trials)


@pytest.mark.parametrize("by_mass", [False, pytest.param(True, marks=pytest.mark.long)])
def test_one_thermometer_whose_readings_differ_is_one_cause(by_mass):
    """Each reading as a cause of its own, U covered 75 % of calibrations by volume and 82 % by weighing."""
    generator, held, trials, expansion = np.random.default_rng(12), np.zeros(3), 60, 9.5e-4
    known, density = (15.0, measured("0.774 kg/L", "0.00001 kg/L", name="density")) if by_mass else (22.0, None)
    common = {"duration": "60 s", "liquid_expansion_per_k": uncertain(expansion, 1e-7, name="expansion")}
    for _ in range(trials):
        error, off_c = measured("0 delta_degC", "0.15 delta_degC", name="thermometer"), generator.normal(0.0, 0.15)
        apart, anew, shared = [], [], []
        for warm in (22.0 + generator.uniform(-0.5, 0.5, 5)).tolist():
            there = 774.0 * (1.0 - expansion * (warm - known))  # kg/m³
            mass, reading = 20.0 * 0.774, f"{warm + off_c:.2f} degC"
            pulses = TRUE_K * 1000.0 * mass / there * (1.0 + 3e-5 * generator.standard_normal())
            for made, temperature in (
                (apart, measured(reading, "0.15 degC", name="thermometer")),
                (anew, measured(reading, "0 degC", name="reading") + measured("0 delta_degC", "0.15 K", name="error")),
                (shared, measured(reading, "0 degC", name="reading") + error),
            ):
                liquid = {"liquid_temperature": temperature, "pulses": counted(round(pulses)), **common}
                if by_mass:
                    lifted = mass * (1.0 - AIR / there) / (1.0 - AIR / 8000.0)
                    liquid |= {
                        "liquid_density": density,
                        "air_density_kg_m3": KNOWN,
                        "density_temperature": "15 degC",
                    }
                    weighing = measured(f"{lifted} kg", "1 mg", name="weighing")
                    made.append(GravimetricRun.read(mass_reading=weighing, **liquid))
                else:
                    liquid |= {
                        "measure_volume": measured("20 L", "1 mL", name="measure"),
                        "measure_expansion_per_k": 0.0,
                    }
                    in_measure = measured("22 degC", "0.001 degC", name="in the measure")
                    made.append(VolumetricRun.read(measure_temperature=in_measure, **liquid))
        for i, made in enumerate((apart, anew, shared)):
            found = calibrate(made)
            assert not [each for each in found.missing if "thermometer" in each]
            held[i] += abs(float(found.k_factor) / TRUE_K - 1.0) <= found.expanded_uncertainty()
    assert (held / trials >= PROMISED - margin(PROMISED, trials)).all()


def run_of_mass(generator, mass, reading, density):
    """Return a run of a true mass, kg, that the balance read as stated."""
    return GravimetricRun(
        pulses=counted(math.floor(TRUE_K * 1000.0 * mass / DENSITY + generator.random())),
        mass_reading_kg=reading,
        duration_s=300.0,
        liquid_temperature_c=20.0,
        liquid_density_kg_m3=density,
        air_density_kg_m3=KNOWN,
    )


@pytest.mark.parametrize(("common_kg", "own_kg"), [(1e-3, 1e-4), (0.0, 1e-3), (7e-4, 7e-4)])
@pytest.mark.parametrize("runs", [2, pytest.param(10, marks=pytest.mark.long)])
def test_weighings_of_one_name_cover_whatever_the_balance_has_in_common(runs, common_kg, own_kg):
    """Of 1 g stated of each of ten weighings, as separate ones, U was 0.028 % and covered 64 % of a common error."""
    generator, held, trials = np.random.default_rng(runs), 0, 150
    density = uncertain(DENSITY, 1e-3, name="density")
    for _ in range(trials):
        made, common = [], generator.normal(0.0, common_kg)
        for _ in range(runs):
            mass = 3.0 + generator.uniform(-0.01, 0.01)
            lifted = mass * (1.0 - AIR / DENSITY) / (1.0 - AIR / 8000.0)
            reading = uncertain(lifted + common + generator.normal(0.0, own_kg), 1e-3, name="balance")
            made.append(run_of_mass(generator, mass, reading, density))
        found = calibrate(made)
        assert found.missing == ()
        held += abs(float(found.k_factor) / TRUE_K - 1.0) <= found.expanded_uncertainty()
    assert held / trials >= PROMISED - margin(PROMISED, trials)


@pytest.mark.parametrize(
    ("count", "known", "scatter_kg"), [(10, None, 3e-4), (10, None, 0.05), (2, 1e-4, 3e-4), (3, 1e-4, 3e-4)]
)
def test_readings_that_are_equal_have_one_rounding_error(count, known, scatter_kg):
    """Of ten runs to one reading in steps of 10 g, the last digit named for each run, U covered 59 %.

    So did that of three, 77 %, where the repeatability is known and no Student's t stands by.
    """
    generator, held, step, trials = np.random.default_rng(12), 0, 0.01, 50 if count > 3 else 150
    density = uncertain(DENSITY, 1e-3, name="density")
    for _ in range(trials):
        made, filled = [], 3.0 + generator.uniform(-step, step)
        for i in range(count):
            mass = filled + generator.normal(0.0, scatter_kg)
            lifted = mass * (1.0 - AIR / DENSITY) / (1.0 - AIR / 8000.0)
            reading = uncertain(step * round(lifted / step), step / math.sqrt(12.0), name=f"last digit {i}", unit="kg")
            made.append(run_of_mass(generator, mass, reading, density))
        found = calibrate(made, repeatability=known and f"{100.0 * known} %")
        held += abs(float(found.k_factor) / TRUE_K - 1.0) <= found.expanded_uncertainty()
        if scatter_kg > step:
            assert not [row for row in found.budget() if "as one" in row.name]
    assert held / trials >= PROMISED - margin(PROMISED, trials)


def weighed(generator, warmth, *, density_c, **read):
    """Weigh 20 L of a liquid at temperatures that are true, with the density that it has at another one."""
    density = {c: 770.0 * (1.0 - 9.5e-4 * (c - 20.0)) for c in (*warmth, density_c)}
    known = uncertain(density[density_c] + generator.normal(0.0, 0.03), 0.03, name="density")
    made = []
    for i, celsius in enumerate(warmth):
        mass = 20e-3 * density[celsius] * (1.0 - AIR / density[celsius]) / (1.0 - AIR / 8000.0)
        own = {name: value[i] for name, value in read.items()} or {"liquid_temperature_c": celsius}
        pulses = counted(math.floor(TRUE_K * 20.0 * (1.0 + 5e-5 * generator.standard_normal()) + generator.random()))
        reading = uncertain(mass + generator.normal(0.0, 5e-4), 5e-4, name="weighing")
        made.append(
            GravimetricRun(
                pulses=pulses, mass_reading_kg=reading, duration_s=300.0, liquid_density_kg_m3=known,
                air_density_kg_m3=KNOWN, **own,
            )
        )  # fmt: skip
    return calibrate(made)


@pytest.mark.parametrize("apart_c", [0.0, 0.3])
def test_a_weighing_takes_both_thermometers_also_where_they_read_nearly_the_same(apart_c):
    """Of both 0.15 °C, which is 0.02 % of K: without it, U was 0.011 % and covered 38 %."""
    generator, held, trials = np.random.default_rng(4), 0, 60
    for _ in range(trials):
        at, of_density = generator.normal((21.0, 21.0 + apart_c), 0.15)
        plain = {"liquid_temperature_c": [at] * 5, "density_temperature_c": [of_density] * 5}
        one = {name: [uncertain(each[0], 0.15, name=name)] * 5 for name, each in plain.items()}
        bare, found = (
            weighed(generator, [21.0] * 5, density_c=21.0 + apart_c, liquid_expansion_per_k=[9.5e-4] * 5, **each)
            for each in (plain, one)
        )
        assert len(bare.missing) == 2 + (abs(at - of_density) > 0.5)
        if abs(at - of_density) <= 0.5:
            assert found.missing == ()
        held += abs(float(found.k_factor) / TRUE_K - 1.0) <= found.expanded_uncertainty()
    assert held / trials >= PROMISED - margin(PROMISED, trials)


@pytest.mark.parametrize("span_c", [0.2, pytest.param(0.5, marks=pytest.mark.long)])
def test_one_density_of_runs_that_warm_a_little_counts_as_much_as_it_may_be_off(span_c):
    """It was determined at any temperature of the runs: of twenty, U of their scatter alone covered 80 and 50 %."""
    generator, held, trials = np.random.default_rng(6), 0, 60
    for _ in range(trials):
        warmth = (21.0 + span_c * np.linspace(0.0, 1.0, 20)).tolist()
        found = weighed(generator, warmth, density_c=21.0 + span_c * generator.random())
        assert all("0.1 °C" in each for each in found.missing)
        held += abs(float(found.k_factor) / TRUE_K - 1.0) <= found.expanded_uncertainty()
    assert held / trials >= PROMISED - margin(PROMISED, trials)


def test_a_conversion_whose_inputs_are_not_stated_decides_nothing():
    """A thermometer known to 0.3 °C and an expansion to 4 % put K off by more than the U of what is stated."""
    generator, held = np.random.default_rng(8), np.zeros(2)
    for _ in range(40):
        both = converted(generator, "n-Decane", 15.0, 30.0, states=False, doubt=0.04, thermometer=0.3)
        for i, found in enumerate(both):
            held[i] += abs(float(found.k_factor) / TRUE_K - 1.0) <= found.expanded_uncertainty()
            assert {"temperature", "expansion"} <= set(" ".join(found.missing).replace(",", "").split())
            assert found.conformity(KFactor(TRUE_K, per="L"), tolerance="5 %").verdict is Verdict.UNDECIDED
    assert (held / 40 < 0.6).all()


def test_one_reading_for_two_places_leaves_a_note():
    """By a measure, U covered 69 % where the transducer was 0.2 °C warmer or colder than the one thermometer read."""
    one, other = (uncertain(22.0, 0.1, name=f"thermometer {i}") for i in range(2))
    offset = uncertain(0.0, 0.1, name="offset")
    filled = VolumetricRun(
        pulses=counted(228_240), measure_volume_l=uncertain(20.0, 0.002, name="measure"), duration_s=60.0,
        liquid_temperature_c=one, measure_temperature_c=one, measure_expansion_per_k=5e-5, liquid_expansion_per_k=9e-4,
    )  # fmt: skip
    lifted = GravimetricRun(
        pulses=counted(45_031), mass_reading_kg=uncertain(3.0369, 1e-4, name="weighing"), duration_s=300.0,
        liquid_temperature_c=one, liquid_density_kg_m3=uncertain(770.0, 0.05, name="density"), air_density_kg_m3=KNOWN,
        density_temperature_c=one, liquid_expansion_per_k=9.5e-4,
    )  # fmt: skip
    for run, name in ((filled, "measure_temperature_c"), (lifted, "density_temperature_c")):
        both = replace(run, **{name: 21.7 + offset, "liquid_temperature_c": 22.0 + offset})
        for each, is_noted in ((run, True), (both, True), (replace(run, **{name: other}), False)):
            assert ("taken as exact" in " ".join(str(calibrate([each])).split())) == is_noted


def test_a_mass_that_was_not_weighed_needs_an_uncertainty_unless_it_is_small():
    run = GravimetricRun(
        pulses=counted(45_031), mass_reading_kg=uncertain(3.0369, 1e-4, name="weighing"), duration_s=300.0,
        liquid_temperature_c=20.0, liquid_density_kg_m3=uncertain(802.1, 0.05, name="density"), air_density_kg_m3=KNOWN,
    )  # fmt: skip
    lost = [
        replace(run, unweighed_mass_kg=each).missing for each in (0.0001, 0.01, uncertain(0.01, 0.001, name="lost"))
    ]
    assert [len(each) for each in lost] == [0, 1, 0]


def test_k_of_unlike_liquids_is_neither_averaged_nor_compared():
    """What truly happens: K of a turbine depends on the viscosity (docs/explanation/k_over_viscosity)."""

    def calibrated(k, density, celsius):
        shared, warmth = (
            uncertain(density, 0.05, name=f"density of {density:g} kg/m³"),
            uncertain(celsius, 0.1, name="T"),
        )
        return [
            GravimetricRun(
                pulses=counted(round(4 * k) + i), mass_reading_kg=uncertain(4e-3 * density, 1e-4, name="weighing"),
                duration_s=300.0, liquid_temperature_c=warmth, liquid_density_kg_m3=shared, air_density_kg_m3=KNOWN,
                density_temperature_c=warmth, liquid_expansion_per_k=9e-4,
            )
            for i in range(5)
        ]  # fmt: skip

    thin, thick = (700.0, 20.0), (840.0, 20.0)
    cold, near, batch = (712.0, 9.0), (694.0, 30.0), (714.0, 20.0)
    for other, alike in ((thick, False), (cold, False), (near, True), (batch, True)):
        both = calibrate(calibrated(11_412, *thin)), calibrate(calibrated(11_380, *other))
        mixed = calibrate(calibrated(11_412, *thin)[:1] + calibrated(11_412, *other)[:1])
        assert (not mixed.missing) == alike
        if not alike:
            assert ("700 to 840 kg/m³" if other == thick else "at 9 to 20 °C") in " ".join(mixed.missing)
        history = TransducerHistory("A", [CalibrationEvent(f"203{i}-01-01", each) for i, each in enumerate(both)])
        assert (history.rows()[1]["e_n"] is not None) == alike
        assert ("undecided" in str(history)) == (not alike)
        assert ("incomplete" in str(BenchResult(both))) == (not alike)
        if not alike:
            assert all(math.isnan(point.relative_uncertainty) for point in BenchResult(both).points())


def test_a_curve_through_calibrations_of_few_runs_covers_the_truth_at_its_points():
    """Of two runs each, with a scatter that outweighs all else; the standard uncertainty alone would cover 70 %."""
    generator, trials = np.random.default_rng(8), 200
    points = [BenchResult([calibration(generator, 2, scatter=1e-3)]).points()[0] for _ in range(trials)]
    inside = sum(abs(point.k_pulses_per_l / TRUE_K - 1.0) <= 2.0 * point.relative_uncertainty for point in points)
    assert inside / trials >= PROMISED - margin(PROMISED, trials)


@pytest.mark.parametrize(("u_density", "is_stated"), [(0.02, False), (0.02, True), (0.2, False)])
def test_a_plain_air_density_is_missing_where_the_weather_would_be_seen(u_density, is_stated):
    """The true air differs by 0.03 kg/m³ from one calibration to the next: it is named, or U covers as promised."""
    generator, trials, inside = np.random.default_rng(4), 150, 0
    for _ in range(trials):
        true_air, off = generator.normal(1.2, 0.03), generator.normal(0.0, u_density)
        air = uncertain(1.2, 0.03, name="air") if is_stated else 1.2
        density = uncertain(DENSITY + off, u_density, name="densitometer")
        lifted = MASS * (1.0 - true_air / DENSITY) / (1.0 - true_air / 8000.0)
        found = calibrate(
            GravimetricRun(
                pulses=counted(round(TRUE_K * 1000.0 * MASS / DENSITY * (1.0 + generator.normal(0.0, 2e-5)))),
                mass_reading_kg=uncertain(lifted, 1e-4, name="weighing"), duration_s=60.0, liquid_temperature_c=20.0,
                liquid_density_kg_m3=density, air_density_kg_m3=air,
            )
            for _ in range(3)
        )  # fmt: skip
        inside += abs(found.k_factor.per("L") / TRUE_K - 1.0) <= found.expanded_uncertainty()
        assert ("the uncertainty of the air density" in found.missing) == (u_density < 0.1 and not is_stated)
    is_covered = inside / trials >= PROMISED - margin(PROMISED, trials)
    assert is_covered or found.missing


@pytest.mark.parametrize(
    ("celsius", "u_volume_l", "is_stated", "is_missing"),
    [(35.0, 4e-4, False, True), (5.0, 4e-4, False, True), (20.0, 4e-4, False, False), (35.0, 4e-4, True, False),
     (35.0, 1e-2, False, False)],
)  # fmt: skip
def test_the_expansion_of_a_measure_is_missing_where_a_tenth_of_it_would_be_seen(
    celsius, u_volume_l, is_stated, is_missing
):
    """At 35 °C a tenth of 5e-5 per K is 0.0075 % of K; 20 L known to 0.4 mL are 0.002 %, known to 10 mL 0.05 %."""
    steel = uncertain(5e-5, 5e-6, name="steel") if is_stated else 5e-5
    volume, liquid = uncertain(20.0, u_volume_l, name="measure"), uncertain(9.5e-4, 1e-5, name="liquid")
    two = (uncertain(celsius, 0.01, name=name) for name in ("in the line", "in the measure"))
    own = dict(zip(("liquid_temperature_c", "measure_temperature_c"), two, strict=True))
    own |= {"measure_volume_l": volume, "measure_expansion_per_k": steel, "liquid_expansion_per_k": liquid}
    found = calibrate(VolumetricRun(pulses=counted(228_240 + i), duration_s=300.0, **own) for i in range(3))
    assert found.missing == ("the uncertainty of the measure expansion",) * is_missing


@pytest.mark.parametrize(("n", "runs"), [(300, 4), (5_900, 1), (6_300, 1), (5_900, 4), (6_300, 4), (408_960, 3)])
@pytest.mark.parametrize("how", ["plain", "counted", "gated"])
def test_a_plain_count_is_missing_where_one_pulse_would_be_seen(n, runs, how):
    """Pulses are whole, the flow is not: U covers as promised, or the count is named; u of K is 0.02 % or more."""
    generator, trials, inside = np.random.default_rng(6), 40, 0
    read = {"plain": int, "counted": counted, "gated": lambda pulses: uncertain(pulses, 0.01, name="gate")}[how]
    for _ in range(trials):
        made = []
        for _ in range(runs):
            passed = n + (0.0 if how == "gated" else generator.uniform(-0.5, 0.5))
            k = 75.0 * (1.0 + generator.normal(0.0, 2e-4 if runs == 1 else 5e-5))  # of several, u is what is known
            kg = passed / k * 0.8021 * (1.0 - AIR / DENSITY) / (1.0 - AIR / 8000.0)
            made.append(GravimetricRun(
                pulses=read(math.floor(passed + (0.0 if how == "gated" else generator.random()))), duration_s=60.0,
                mass_reading_kg=uncertain(kg, 1e-6 * kg, name="weighing"), liquid_temperature_c=20.0,
                liquid_density_kg_m3=uncertain(DENSITY, 1e-3, name="densitometer"), air_density_kg_m3=KNOWN,
            ))  # fmt: skip
        found = calibrate(made, repeatability="0.02 %")
        inside += abs(found.k_factor.per("L") / 75.0 - 1.0) <= found.expanded_uncertainty()
        is_seen = how == "plain" and n < 1.0 / math.sqrt(6.0) * 3.0 / 2e-4  # whatever the number of runs
        assert any("counted" in each for each in found.missing) == is_seen
    assert found.missing or inside / trials >= PROMISED - margin(PROMISED, trials)


def test_a_certificate_of_a_measure_states_no_68_celsius():
    run = {
        "pulses": 228_240, "duration_s": 300.0, "liquid_temperature_c": 20.0, "measure_volume_l": 20.0,
        "measure_temperature_c": 20.0, "measure_expansion_per_k": 5e-5, "liquid_expansion_per_k": 9.5e-4,
    }  # fmt: skip
    for certified in ("60 degF", "68 degF", "15 degC", "27 degC", "0 degC", "40 degC"):
        VolumetricRun.read(**run, reference_temperature=certified)
    for mistaken in ("60 degC", "68 degC", "40.1 degC", "-0.1 degC"):
        with pytest.raises(OutOfRange, match="reference temperature"):
            VolumetricRun.read(**run, reference_temperature=mistaken)


@pytest.mark.parametrize(
    ("thermometers_c", "u_kg_m3"), [(0.15, 0.05), (0.15, 0.4), pytest.param(0.3, 0.1, marks=pytest.mark.long)]
)
@pytest.mark.parametrize("how", ["without", "with", "in line"])
def test_a_density_without_its_temperature_is_missing_where_a_tenth_of_a_degree_would_be_seen(
    thermometers_c, u_kg_m3, how
):
    """The densitometer and the transducer read one temperature, each wrong by its own: U covers, or it is named."""
    generator, trials, inside = np.random.default_rng(13), 60, 0
    for _ in range(trials):
        line, densitometer = generator.normal(0.0, thermometers_c, 2) * (how != "in line")
        kg_m3 = DENSITY * (1.0 - 9e-4 * (line - densitometer)) + generator.normal(0.0, u_kg_m3)
        there = uncertain(21.0, thermometers_c, name="of the line")
        two = {"density_temperature_c": there if how == "in line" else uncertain(21.0, thermometers_c, name="other")}
        shared = two | {"liquid_expansion_per_k": 9e-4} if how != "without" else {}
        shared["liquid_density_kg_m3"] = uncertain(kg_m3, u_kg_m3, name="densitometer")
        kg = MASS * (1.0 - AIR / DENSITY) / (1.0 - AIR / 8000.0)
        found = calibrate(
            GravimetricRun(
                pulses=counted(round(TRUE_K * 1000.0 * MASS / DENSITY * (1.0 + generator.normal(0.0, 2e-5)))),
                mass_reading_kg=uncertain(kg, 1e-4, name="weighing"), duration_s=60.0, liquid_temperature_c=there,
                air_density_kg_m3=KNOWN, **shared,
            )
            for _ in range(5)
        )  # fmt: skip
        inside += abs(found.k_factor.per("L") / TRUE_K - 1.0) <= found.expanded_uncertainty()
        assert any("density_temperature" in each for each in found.missing) == (how == "without" and u_kg_m3 < 0.2)
    assert found.missing or inside / trials >= PROMISED - margin(PROMISED, trials)


def test_a_density_without_its_temperature_is_noted():
    run = GravimetricRun(
        pulses=228_240, mass_reading_kg=16.0, duration_s=300.0, liquid_temperature_c=20.0, liquid_density_kg_m3=DENSITY,
        air_density_kg_m3=KNOWN,
    )  # fmt: skip
    with_its_own = replace(run, density_temperature_c=20.0, liquid_expansion_per_k=9.5e-4)
    for each, is_noted in ((run, True), (with_its_own, False)):
        assert ("density weighed with" in " ".join(str(calibrate([each])).split())) is is_noted


@pytest.mark.parametrize("written", ["once", "nameless", "named", "written anyhow"])
def test_one_balance_in_all_runs_never_averages_out_unasked(written):
    """The balance is 3 g off in all ten runs; its readings are numbers of another library, or of names in a table."""
    generator, covered, complete, trials = np.random.default_rng(31), 0, 0, 20
    density, air = ufloat(DENSITY, U_DENSITY), ufloat(AIR, 0.01)
    for _ in range(trials):
        made, off, balance = [], generator.normal(0.0, 0.003), ufloat(0.0, 0.003)
        for number, lifted in enumerate(generator.normal(3.0, 0.03, 10)):
            reading = lifted * (1.0 - AIR / DENSITY) / (1.0 - AIR / 8000.0) + off
            mass = {"once": reading + balance, "nameless": ufloat(reading, 0.003)}.get(written)
            mass = ufloat(reading, 0.001 * lifted, "balance") if written == "named" else mass
            name = ("balance", "Balance", "balance ", " BALANCE")[number % 4]
            made.append(
                GravimetricRun(
                    pulses=counted(round(TRUE_K * 1000.0 * lifted / DENSITY * (1.0 + 5e-5 * generator.normal()))),
                    mass_reading_kg=uncertain(reading, 0.003, name=name) if mass is None else mass,
                    duration_s=100.0 * lifted,
                    liquid_temperature_c=21.0,
                    liquid_density_kg_m3=density,
                    air_density_kg_m3=air,
                )
            )
        found = calibrate(made)
        assert from_dict(to_dict(found)).missing == found.missing
        complete += not found.missing
        covered += abs(found.k_pulses_per_l.nominal_value / TRUE_K - 1.0) <= found.expanded_uncertainty()
    assert complete == (trials if written in ("once", "written anyhow") else 0)
    assert covered / trials >= PROMISED - margin(PROMISED, trials) or not complete
