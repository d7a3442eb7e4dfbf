"""The indicator against its own physics: f = qK both ways, unit invariance, and budgets against simulation."""

import json
import re
from dataclasses import dataclass, fields, replace
from decimal import ROUND_DOWN, Decimal
from fractions import Fraction
from itertools import product
from typing import Any

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from registries import ONE_REGISTRY, OTHER_REGISTRY

from fuelunits.checks.density_check import check_density
from fuelunits.checks.explanation import explain_density
from fuelunits.errors import DimensionError, FuelUnitsError, OutOfRange, QuantityError
from fuelunits.fuels.blends import blend
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.volume_correction import ctpl
from fuelunits.indicators.bench_sheet import BenchSheet, Generator, LowFuelPoint
from fuelunits.indicators.capacitance import CapacitanceBox, CapacitanceGauge, CapacitanceSheet, Probe
from fuelunits.indicators.diagnosis import diagnose
from fuelunits.indicators.endurance import RESERVES, LowFuelByQuantity, LowFuelByTime
from fuelunits.indicators.fill_ups import FillUp, compare_fill_ups
from fuelunits.indicators.indications import best_setting
from fuelunits.indicators.indicator import Indicator
from fuelunits.indicators.settings import Display, check_stored
from fuelunits.indicators.sheets import BenchPoint
from fuelunits.indicators.tank_table import TankTable
from fuelunits.meters.counts import FrequencyRecord
from fuelunits.meters.curve import CalibrationPoint, MeterCurve
from fuelunits.meters.k_factor import KFactor
from fuelunits.reports import CAUTION
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.uncertainty.measured import measured
from fuelunits.units import exact_factor

K = KFactor(43_186, per="gal")


@dataclass(frozen=True)
class Kerosene:
    """An invented jet fuel by the petroleum volume correction."""

    base_kg_m3: float = 800.0
    name: str = "invented kerosene"

    def density_kg_m3(self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0) -> Any:
        return self.base_kg_m3 * ctpl(self.base_kg_m3, temperature_c, gauge_pressure_kpa)


@dataclass(frozen=True)
class Grade(Kerosene):
    """The same with specification limits."""

    def density_limits_kg_m3(self, temperature_c: Any) -> tuple[Any, Any]:
        return Kerosene(775.0).density_kg_m3(temperature_c), Kerosene(840.0).density_kg_m3(temperature_c)


@dataclass(frozen=True)
class Unlimited(Kerosene):
    """The same, with limits that its specification does not set."""

    def density_limits_kg_m3(self, _temperature_c: Any) -> None:
        return None


@dataclass(frozen=True)
class OneLimit(Kerosene):
    """The same, with a lowest density alone."""

    def density_limits_kg_m3(self, temperature_c: Any) -> tuple[Any, None]:
        return Kerosene(775.0).density_kg_m3(temperature_c), None


FUEL = Grade()
BATCH = fuel("Jet A").measured("0.8 kg/L", at="15 degC")
GAL_H = Indicator(K, reads="gal/h")
LINE = Indicator(
    ["11412 pulse/L", "11286 pulse/L"], reads="L/h", resolution="0.1 L/h", channels=2, feed_less_return=True
)
LB_H = Indicator(K, reads="lb/h", fixed_density="6.7 lb/gal", resolution="1 lb/h", low_flow_cutoff="10 lb/h")
SMOOTH_LB_H = Indicator(K, reads="lb/h", fixed_density="6.7 lb/gal")

BOX = [("0 mm", "0 L"), ("100 mm", "40 L")]
SPAN = ("-20 degC", "40 degC")

LOW_FUEL = GAL_H.bench_points([LowFuelPoint(LowFuelByTime("25 min"), "12 gal/h", "30 gal")], "2 %")

flows = st.floats(0.1, 1e4)


def displayed(flow, step=None, cutoff="0"):
    return Display(step and Fraction(step), Fraction(cutoff)).readings(flow)


@pytest.mark.parametrize(
    ("density", "words"),
    [
        ("6.7 kg/L", "6.7 lb/gal"),
        ("0.8 lb/gal", "0.8 kg/L"),
        ("0.803 kg/m^3", "0.803 kg/L"),
        ("67 lb/gal", "10.01 lb/gal"),
    ],
)
def test_a_density_that_no_fuel_has_is_questioned(density, words):
    with pytest.raises(QuantityError, match=words):
        Indicator(K, reads="lb/h", fixed_density=density)


# the display


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from(["0.1", "0.01", "0.2", "0.25", "0.5", "1", "2", "5", "10"]))
def test_whole_and_half_steps(steps, step):
    size = Fraction(step)
    whole, half = float(steps * size), float((steps + Fraction(1, 2)) * size)
    assert displayed(whole, step) == whole
    assert displayed(half, step) == float((steps + 1) * size)


@settings(max_examples=50, deadline=None)
@given(st.floats(0.0, 1e5), st.sampled_from(["0.1", "0.5", "1", "5"]))
def test_display_is_within_half_a_step(flow, step):
    assert abs(displayed(flow, step) - flow) <= float(step) * (0.5 + 1e-6)


def test_cutoff_is_compared_before_rounding():
    assert displayed(9.99, "1.0", "10.0") == 0.0
    assert displayed(10.0, "1.0", "10.0") == 10.0
    assert displayed(4.6, "1.0", "5.0") == 0.0
    assert displayed(9.99) == 9.99
    assert displayed(np.array([9.99, 10.0]), "1.0", "10.0").tolist() == [0.0, 10.0]


@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3)])
def test_display_shapes(shape):
    flow = np.full(shape, 12.25)
    before = flow.copy()
    got = displayed(flow, "0.1", "1.0")
    assert np.shape(got) == shape
    assert np.all(got == displayed(12.25, "0.1", "1.0"))
    assert np.array_equal(flow, before)


def test_display_of_nan_and_lists():
    assert np.isnan(displayed(float("nan"), "0.1", "1.0"))
    assert np.isnan(displayed(np.array([np.nan, 3.0]), "0.1", "5.0")).tolist() == [True, False]
    assert displayed([0.26, 3], "0.1").tolist() == [0.3, 3.0]
    assert type(displayed(3)) is float


def test_decimals():
    assert [Display(Fraction(text)).decimals for text in ("1", "0.5", "0.25", "10")] == [0, 1, 2, 0]
    assert (Display(Fraction(1, 3)).decimals, Display().decimals) == (6, 3)


# readings


@settings(max_examples=50, deadline=None)
@given(flows, st.integers(100, 10**6), st.sampled_from(["gal", "L", "imp_gal"]), st.sampled_from(["gal/h", "L/min"]))
def test_frequency_of_a_flow_reads_that_flow(flow, pulses, per, reads):
    k = KFactor(pulses, per=per)
    quantity = pint.Quantity(flow, {"gal/h": "gallon/hour", "L/min": "liter/minute"}[reads])
    assert Indicator(k, reads=reads).reading(k.frequency(quantity)).magnitude == pytest.approx(flow, rel=1e-13)


@settings(max_examples=50, deadline=None)
@given(st.floats(0.1, 1e4))
def test_units_show_the_same_flow(hz):
    """One transducer; litres, US and imperial gallons, and pounds and kilograms of one fixed density."""
    frequency = pint.Quantity(hz, "hertz")
    gallons = GAL_H.reading(frequency).magnitude
    for unit in ("L/h", "imp_gal/h", "gal/min"):
        other = Indicator(K, reads=unit).reading(frequency).magnitude
        assert other == pytest.approx(gallons * float(exact_factor("gal/h", unit)), rel=1e-13)
    for unit in ("lb/h", "kg/h"):
        other = Indicator(K, reads=unit, fixed_density="6.7 lb/gal").reading(frequency).magnitude
        assert other == pytest.approx(gallons * 6.7 * float(exact_factor("lb/h", unit)), rel=1e-13)
    same = Indicator(K.to("L"), reads="gal/h").reading(frequency).magnitude
    assert same == gallons


def test_reading_by_hand():
    """3600 · 99.8 / 43186 = 12.50104... gal/h; times 6.7 is 83.757 lb/h."""
    assert GAL_H.reading("99.8 Hz").m_as("gallon/hour") == pytest.approx(3600 * 99.8 / 43186, rel=1e-15)
    assert LB_H.reading("99.8 Hz").m_as("pound/hour") == 56.0
    assert LB_H.reading("10 Hz").magnitude == 0.0
    assert LB_H.reading("0 Hz").magnitude == 0.0
    assert Indicator(K, reads="pph", fixed_density="6.7 lb/gal") == SMOOTH_LB_H


def test_half_step_goes_up_from_a_frequency():
    """1000 pulses a litre at 12.5 Hz is 45 L/h: between steps of 10 it is a half."""
    assert Indicator("1000 pulse/L", reads="L/h", resolution="10 L/h").reading("12.5 Hz").magnitude == 50.0
    assert Indicator("1000 pulse/L", reads="L/h", resolution="10 L/h").reading("12.499 Hz").magnitude == 40.0


def test_channels_add():
    twin = Indicator(K, reads="gal/h", channels=2)
    assert twin.reading("99.8 Hz").magnitude == pytest.approx(2.0 * GAL_H.reading("99.8 Hz").magnitude, rel=1e-15)
    apart = twin.reading(["99.8 Hz", "50 Hz"]).magnitude
    assert apart == pytest.approx(GAL_H.reading("149.8 Hz").magnitude, rel=1e-14)
    assert twin.reading_of("25 gal/h").magnitude == pytest.approx(25.0, rel=1e-14)


@settings(max_examples=50, deadline=None)
@given(flows, st.floats(-40.0, 60.0))
def test_mass_indicator_is_right_where_the_fuel_has_the_fixed_density(flow, temperature):
    fixed = pint.Quantity(FUEL.density_kg_m3(temperature), "kg/m^3")
    indicator = Indicator(K, reads="kg/h", fixed_density=fixed)
    true = pint.Quantity(flow, "kg/hour")
    assert indicator.reading_of(true, FUEL, f"{temperature!r} degC").magnitude == pytest.approx(flow, rel=1e-12)


def test_mass_indicator_elsewhere_is_wrong_by_the_ratio_of_densities():
    displayed = SMOOTH_LB_H.reading_of("80 lb/h", FUEL, "40 degC").m_as("pound/hour")
    expected = 80.0 * 6.7 * float(exact_factor("lb/gal", "kg/m^3")) / FUEL.density_kg_m3(40.0)
    assert displayed == pytest.approx(expected, rel=1e-13)
    assert displayed > 82.0


def test_true_k():
    assert GAL_H.reading_of("10 gal/h", true_k="43577 pulse/gal").magnitude == pytest.approx(435770 / 43186, rel=1e-14)
    error = K.indication_error(KFactor(43_577, per="gal"))
    assert GAL_H.reading_of("10 gal/h", true_k=KFactor(43_577, per="gal")).magnitude == pytest.approx(10 * (1 + error))


@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3)])
def test_reading_shapes(shape):
    ureg = ONE_REGISTRY
    hz = np.full(shape, 99.8)
    before = hz.copy()
    got = LB_H.reading(ureg.Quantity(hz, "Hz"))
    assert type(got) is ureg.Quantity
    assert np.shape(got.magnitude) == shape
    assert np.all(got.magnitude == 56.0)
    of = LB_H.reading_of(ureg.Quantity(np.full(shape, 80.0), "lb/hour"), FUEL, "40 degC")
    assert np.shape(of.magnitude) == shape
    assert np.all(of.magnitude == LB_H.reading_of("80 lb/h", FUEL, "40 degC").magnitude)
    assert np.array_equal(hz, before)


def test_nan_and_temperature_arrays():
    ureg = ONE_REGISTRY
    assert np.isnan(LB_H.reading(ureg.Quantity([np.nan, 99.8], "Hz")).magnitude).tolist() == [True, False]
    temperatures = ureg.Quantity(np.array([-20.0, 40.0]), "degC")
    got = SMOOTH_LB_H.reading_of("80 lb/h", FUEL, temperatures)
    assert type(got) is ureg.Quantity
    each = [SMOOTH_LB_H.reading_of("80 lb/h", FUEL, text).magnitude for text in ("-20 degC", "40 degC")]
    assert got.magnitude == pytest.approx(each, rel=1e-14)


def test_two_registries():
    one, other = ONE_REGISTRY, OTHER_REGISTRY
    given = {
        "reads": "lb/h",
        "fixed_density": one.Quantity(6.7, "lb/gallon"),
        "resolution": one.Quantity(1.0, "lb/hour"),
        "low_flow_cutoff": one.Quantity(10.0, "lb/hour"),
    }
    built = Indicator("43186 pulse/gal", **given)
    for registry in (one, other):
        reading = built.reading(registry.Quantity(99.8, "Hz"))
        assert type(reading) is registry.Quantity
        assert reading.m_as("lb/hour") == pytest.approx(56.0, rel=1e-12)
    with pytest.raises(QuantityError, match="two pint registries"):
        built.reading_of(other.Quantity(80.0, "lb/hour"), FUEL, one.Quantity(40.0, "degC"))
    with pytest.raises(QuantityError, match="two pint registries"):
        Indicator("43186 pulse/gal", **given | {"resolution": other.Quantity(1.0, "lb/hour")})
    with pytest.raises(QuantityError, match="two pint registries"):
        Indicator(other.Quantity(43186.0, "1/gallon"), **given)
    with pytest.raises(QuantityError, match="two pint registries"):
        Generator(one.Quantity(0.1, "Hz"), other.Quantity(0.1, "percent"))


@settings(max_examples=100, deadline=None)
@given(st.integers(1, 10**6), st.sampled_from(["0.1", "0.2", "0.25", "0.5", "1", "5"]), st.integers(0, 99))
def test_a_truncating_display_cuts_off_decimals_as_decimal_arithmetic_does(steps, step, hundredths):
    """Exactly and by float: a flow of whole steps reads itself, and any between it and the next the same."""
    display = Display(Fraction(step), truncates=True)
    flow = (Decimal(steps) + Decimal(hundredths) / 100) * Decimal(step)
    expected = (flow / Decimal(step)).quantize(Decimal(1), ROUND_DOWN) * Decimal(step)
    assert display.readings(float(flow)) == float(expected)
    assert display.reading(Fraction(flow)) == Fraction(expected)
    assert display.reading(display.reading(Fraction(flow))) == Fraction(expected)


def test_a_truncating_indicator_reads_low_and_its_sheet_follows():
    """60.9 L/h on whole litres reads 60; a display that rounds reads 61, and that is then no reading of a good one."""
    given = {"reads": "L/h", "resolution": "1 L/h", "total_resolution": "1 L"}
    cut, rounds = (Indicator("36000 pulse/L", **given, truncates=truncates) for truncates in (True, False))
    assert [each.reading("609 Hz").m_as("L/h") for each in (cut, rounds)] == [60.0, 61.0]
    assert "truncating" in str(cut)
    assert "truncating" not in str(rounds)
    for point in cut.bench_points(["60.9 L/h", "60.9 L"], "2 %").points:
        assert (point.expected, point.lowest, point.highest) == (60.0, 60.0, 62.0)
    (judged,), (coarse,) = (cut.bench_points(["60.9 L/h"], f"{limit} L/h").points for limit in ("1", "0.9"))
    assert (judged.undecided, judged.lowest, judged.highest) == ("", 60.0, 61.0)
    assert "step" in coarse.undecided
    found = [coarse.verdict(Fraction(reading)) for reading in (58, 59, 60, 61, 62)]  # 59 may be 59.99, 61 may be 61.0
    assert found == [Verdict.REJECT, *[Verdict.UNDECIDED] * 3, Verdict.REJECT]
    (part,) = [each for each in cut.error_budget(flow="60.9 L/h").parts if each.name == "display step"]
    assert (part.low, part.high) == (pytest.approx(-1.0 / 60.9), 0.0)
    assert Indicator("36000 pulse/L", reads="L/h", total_resolution="1 L", truncates=True).total_display.truncates
    with pytest.raises(QuantityError, match="truncates"):
        Indicator("36000 pulse/L", reads="L/h", truncates=True)


# the error budget


def _named(budget, name):
    return next(row for row in budget.parts if row.name.startswith(name))


def test_combining_by_hand():
    """K 3 % high and smoothing ± 4 % are 7.12 % and - 1.12 % as factors, ± 5 % as root sum square; the step adds."""
    seen = Indicator("36000 pulse/L", reads="L/h", resolution="0.2 L/h")
    asked = {"flow": "10 L/h", "true_k": "37080 pulse/L", "smoothing": "1 min", "change_per_minute": "4 %"}
    cut = replace(seen, truncates=True).error_budget(**asked | {"true_k": "34920 pulse/L"})  # K 3 % low, a step of 2 %
    assert cut.root_sum_square[0].high == pytest.approx((0.03**2 + 0.04**2 + 0.02**2) ** 0.5)
    (worst,), (square,) = (getattr(seen.error_budget(**asked), name) for name in ("worst", "root_sum_square"))
    assert (worst.low, worst.high) == (pytest.approx(1.03 * 0.96 - 1.01), pytest.approx(1.03 * 1.04 - 0.99))
    assert (-square.low, square.high) == pytest.approx([(0.03**2 + 0.04**2 + 0.01**2) ** 0.5] * 2)


@settings(max_examples=30, deadline=None)
@given(
    st.integers(41_000, 46_000),
    st.decimals("-3", "3", places=2),
    st.integers(-40, 20),
    st.integers(21, 60),
    st.booleans(),
)
def test_budget_spans_what_a_simulation_shows(true_pulses, shift_percent, low, high, warm):
    """The compounded extremes without a step are what the indicator shows of a true mass flow at the ends."""
    budget = SMOOTH_LB_H.error_budget(
        FUEL,
        flow="80 lb/h",
        between=(f"{low} degC", f"{high} degC"),
        true_k=KFactor(true_pulses, per="gal"),
        k_at_flow=f"{shift_percent} %",
    )
    here = KFactor(true_pulses * (1 + Fraction(shift_percent) / 100), per="gal")
    displayed = SMOOTH_LB_H.reading_of("80 lb/h", FUEL, f"{high if warm else low} degC", true_k=here).magnitude
    this_fuel, any_batch = budget.worst
    extreme = this_fuel.high if warm else this_fuel.low
    assert displayed / 80.0 - 1.0 == pytest.approx(extreme, abs=1e-12)
    edge = Kerosene(775.0 if warm else 840.0)
    displayed = SMOOTH_LB_H.reading_of("80 lb/h", edge, f"{high if warm else low} degC", true_k=here).magnitude
    extreme = any_batch.high if warm else any_batch.low
    assert displayed / 80.0 - 1.0 == pytest.approx(extreme, abs=1e-12)


def test_budget_parts():
    asked = {"flow": "80 lb/h", "between": ("-20 degC", "40 degC"), "true_k": "43577 pulse/gal", "k_at_flow": "0 %"}
    budget = LB_H.error_budget(FUEL, **asked)
    assert _named(budget, "K as entered").low == pytest.approx(43577 / 43186 - 1, rel=1e-12)
    assert _named(budget, "K at this flow").high == 0.0
    assert (_named(budget, "display").low, _named(budget, "display").high) == (-0.5 / 80, 0.5 / 80)
    cold, warm = (row for row in budget.parts if row.name.startswith("fixed density, invented kerosene at"))
    assert cold.low == cold.high < 0.0 < warm.low == warm.high
    limits = [row for row in budget.parts if "limits" in row.name]
    assert len(limits) == 2
    assert all(row.low < row.high for row in limits)
    assert len(budget.worst) == len(budget.root_sum_square) == 2
    assert [row.low for row in budget.rows()] == [row.low for row in budget.parts]
    expected = 43577 / 43186 * (1.0 + cold.low) - 1.0 - 0.5 / 80
    assert budget.worst[0].low == pytest.approx(expected, rel=1e-12)
    text = str(budget)
    for word in ("worst case", "root sum square", "-20 °C", "40 °C", "counting"):
        assert word in text
    assert json.loads(json.dumps(budget.as_dict())) == budget.as_dict()
    assert budget.as_dict()["parts"][0]["name"] == "K as entered"


def test_budget_of_a_fuel_with_one_limit_holds_the_batch_at_it():
    """The lightest batch that is allowed reads highest; of the heaviest only the typical one is known."""
    budget = SMOOTH_LB_H.error_budget(OneLimit(), flow="80 lb/h", between=SPAN)
    this_fuel, any_batch = budget.worst
    lightest = SMOOTH_LB_H.reading_of("80 lb/h", Kerosene(775.0), SPAN[1]).m_as("lb/h") / 80.0 - 1.0
    assert (any_batch.low, any_batch.high) == pytest.approx((this_fuel.low, lightest), abs=1e-9)
    real = LB_H.error_budget("TS-1", flow="80 lb/h", between=("15 degC", "15 degC"))
    assert real.worst[1].high > real.worst[0].high
    assert any("both sides" in remark for remark in real.remarks)


@pytest.mark.parametrize("liquid", [Kerosene(), Unlimited(), BATCH])
def test_budget_of_a_fuel_without_two_limits(liquid):
    budget = LB_H.error_budget(liquid, flow="80 lb/h", between=("-20 degC", "40 degC"))
    assert [total.name for total in budget.worst] == ["worst case, this fuel"]
    assert not any("limits" in row.name for row in budget.parts)


def test_budget_of_a_grade_spans_its_specification():
    """Jet A between 775 and 840 kg/m³ at 15 degC, the limits of its specification."""
    budget = LB_H.error_budget(fuel("Jet A"), flow="80 lb/h", between=("15 degC", "15 degC"))
    limits = next(row for row in budget.parts if "limits" in row.name)
    fixed = 6.7 * float(exact_factor("lb/gal", "kg/m^3"))
    assert (limits.low, limits.high) == (pytest.approx(fixed / 840.0 - 1.0), pytest.approx(fixed / 775.0 - 1.0))


def test_budget_of_a_volume_indicator_has_no_density():
    budget = Indicator(K, reads="gal/h", resolution="0.1 gal/h").error_budget(flow="10 gal/h")
    assert [row.name for row in budget.parts] == ["display step"]
    for one in ({"fuel": "Jet A"}, {"between": SPAN}):
        with pytest.raises(QuantityError, match="volume flow"):
            GAL_H.error_budget(flow="10 gal/h", **one)
        with pytest.raises(QuantityError, match="fuel and between"):
            LB_H.error_budget(flow="80 lb/h", **one)
    assert budget.root_sum_square[0].high == pytest.approx(0.005, rel=1e-12)


@pytest.mark.parametrize("truncates", [False, True])
@pytest.mark.parametrize("step", ["0.05 kg/h", "0.5 kg/h"])
def test_budget_holds_what_counting_rounding_and_temperature_do(step, truncates):
    """Monte Carlo of the display: pulses of any phase in a gate of 1 s, any temperature, the display's steps."""
    generator = np.random.default_rng(11)
    indicator = Indicator("11412 pulse/L", reads="kg/h", fixed_density="0.8 kg/L", resolution=step, truncates=truncates)
    budget = indicator.error_budget(
        FUEL,
        flow="25 kg/h",
        between=("-20 degC", "40 degC"),
        true_k="11480 pulse/L",
        k_at_flow="-0.3 %",
        gate_time="1 s",
    )
    temperatures = generator.uniform(-20.0, 40.0, 20_000)
    litres_per_hour = 25.0 / (FUEL.density_kg_m3(temperatures) / 1000.0)
    pulses = litres_per_hour * 11480 * 0.997 / 3600.0
    counts = np.floor(pulses + generator.uniform(0.0, 1.0, 20_000))
    size = float(step.split()[0])
    steps = counts * 3600.0 / 11412 * 0.8 / size
    reading = (np.floor(steps) if truncates else np.round(steps)) * size
    errors = reading / 25.0 - 1.0
    total = budget.worst[0]
    assert total.low - 1e-4 <= errors.min() <= errors.max() <= total.high + 1e-4
    assert errors.max() - errors.min() > 0.6 * (total.high - total.low)
    counting = _named(budget, "counting").high
    assert truncates or errors.min() < total.low + counting  # without this part the budget would not hold


@pytest.mark.parametrize("cutoff", [0.0, 38.0, 39.5, 40.2, 44.0])
@pytest.mark.parametrize("u", ["", "5 kg/m^3", "0.1 kg/m^3"])
def test_a_budget_holds_what_a_measured_batch_displays_near_the_cutoff(u, cutoff):
    """The batch is read with an error of its standard uncertainty, and the display is zero below its cutoff.

    With twice the uncertainty, 95 % of the readings lie within the budget; with the reading taken as true 55 to 83 %.
    """
    rng, within, sigma = np.random.default_rng(5), [], float(u.split()[0]) if u else 2.5
    hidden = {"low_flow_cutoff": f"{cutoff} kg/h"} if cutoff else {}
    indicator = Indicator("11412 pulse/L", reads="kg/h", fixed_density="0.81 kg/L", resolution="0.1 kg/h", **hidden)
    for true_15 in rng.uniform(800.0, 812.0, 150):
        read = f"{true_15 + rng.normal(0.0, sigma):.3f} kg/m^3"
        batch = fuel("Jet A").measured(read, at="15 degC", by="densitometer", uncertainty=u or None)
        flow = 40.0 / (true_15 * ctpl(true_15, rng.uniform(10.0, 20.0), 0.0)) * 810.0
        error = -1.0 if flow < cutoff else np.floor(flow / 0.1 + 0.5) * 0.1 / 40.0 - 1.0
        try:
            worst = indicator.error_budget(batch, flow="40 kg/h", between=("10 degC", "20 degC")).worst[0]
            within.append(worst.low - 1e-9 <= error <= worst.high + 1e-9)
        except QuantityError:  # the display always shows zero
            within.append(error == -1.0)
    assert np.mean(within) > 0.93


def test_no_flow_reads_zero_and_has_no_relative_error():
    assert GAL_H.reading_of("0 gal/h").magnitude == 0.0
    for indicator, flow in ((GAL_H, "0 gal/h"), (LINE, ("90 L/h", "90 L/h")), (LINE, ("89.5 L/h", "90 L/h"))):
        with pytest.raises(QuantityError, match="shows 0"):
            indicator.error_budget(flow=flow)


def test_a_budget_is_of_the_display_at_the_cutoff():
    """K found 1 % low, against 11 412 entered: 40.1 L/h is displayed as 39.7 L/h at most, so as zero below 40 L/h."""
    indicator = Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h", low_flow_cutoff="40 L/h")
    dense = Indicator("11412 pulse/L", reads="L/h", low_flow_cutoff="40 L/h")
    for true_k, low, high in (("11412 pulse/L", -0.00125, 0.00125), ("11300 pulse/L", None, None)):
        assert indicator.reading_of("40.1 L/h", true_k=true_k).magnitude == (40.1 if low else 0.0)
        if low is None:
            with pytest.raises(QuantityError, match="shows 0"):
                indicator.error_budget(flow="40.1 L/h", true_k=true_k)
        else:
            worst = indicator.error_budget(flow="40.1 L/h", true_k=true_k).worst[0]
            assert (worst.low, worst.high) == pytest.approx((low, high), rel=1e-2)
    counted = indicator.error_budget(flow="40.1 L/h", gate_time="1 s")
    assert counted.worst[0].low == -1.0
    assert "shows 0" in " ".join(str(counted).split())
    assert dense.error_budget(flow="39.9 L/h", true_k="11512 pulse/L").worst[0].low == pytest.approx(0.00876, rel=1e-3)
    assert "may differ" in str(
        Indicator("1 pulse/mL", reads="kg/h", fixed_density="0.81 kg/L").error_budget(
            blend({"Jet A": 0.5, "HEFA-SPK": 0.5}), flow="40 kg/h", between=("10 degC", "20 degC")
        )
    )


def test_a_batch_within_the_limits_that_reads_zero_is_said():
    """Of 40 kg/h typical Jet A reads 40 · 0.8/0.808 kg/h, and the heaviest 40 · 0.8/0.84 = 38.1 kg/h, below 38.5."""
    indicator = Indicator("11412 pulse/L", reads="kg/h", fixed_density="0.8 kg/L", low_flow_cutoff="38.5 kg/h")
    budget = indicator.error_budget("Jet A", flow="40 kg/h", between=("15 degC", "15 degC"))
    assert [part.low == -1.0 for part in budget.worst] == [False, True]
    above = replace(indicator, low_flow_cutoff="40.5 kg/h")  # which only a light batch reaches: 40 · 0.8/0.775 = 41.3
    budget_above = above.error_budget("Jet A", flow="40 kg/h", between=("15 degC", "15 degC"))
    assert [part.high == -1.0 for part in budget_above.worst] == [True, False]
    printed = [float(each) for each in re.findall(r"([-+][\d.]+) %", budget_above.report().verdict)]
    assert printed == pytest.approx([-100.0, 100.0 * (800.0 / 775.0 - 1.0)], abs=0.006)
    assert "shows 0" in " ".join(budget.remarks)


def test_counting_is_the_largest_part_at_100_hz_in_one_second():
    """100 Hz at 36 000 pulses a litre is 10 L/h: ± 1 count of 100 is 1 %, a step of 0.1 L/h is ± 0.5 %."""
    indicator = Indicator("36000 pulse/L", reads="L/h", resolution="0.1 L/h")
    parts = {part.name: part for part in indicator.error_budget(flow="10 L/h", gate_time="1 s").parts}
    assert (parts["counting"].low, parts["counting"].high) == (pytest.approx(-0.01), pytest.approx(0.01))
    assert max(parts.values(), key=lambda part: part.high).name == "counting"
    for doubled in ({"true_k": "72000 pulse/L"}, {"k_at_flow": "100 %"}):  # twice the pulses
        budget = indicator.error_budget(flow="10 L/h", gate_time="1 s", **doubled)
        assert _named(budget, "counting").high == pytest.approx(0.005)
    one = Indicator("36000 pulse/L", reads="L/h").error_budget(flow="0.1 L/h", gate_time="1 s")  # one pulse in the gate
    assert (_named(one, "counting").low, _named(one, "counting").high) == (-1.0, 1.0)
    with pytest.raises(QuantityError, match=r"0\.6 pulses"):
        Indicator("36000 pulse/L", reads="L/h").error_budget(flow="0.06 L/h", gate_time="1 s")
    twin = Indicator("36000 pulse/L", reads="L/h", channels=2).error_budget(flow="10 L/h", gate_time="1 s")
    assert _named(twin, "counting").high == pytest.approx(0.02)


def test_smoothing_lags_behind_a_steady_change():
    """Against a simulated first-order filter: 3 % a minute with 10 s lags by 0.5 % of the flow."""
    budget = Indicator("36000 pulse/L", reads="L/h").error_budget(
        flow="10 L/h", smoothing="10 s", change_per_minute="3 %"
    )
    assert "lag of the gate" in budget.report().verdict
    flow = filtered = 10.0
    for _ in range(20_000):
        flow += 10.0 * 0.03 / 60.0 * 0.01
        filtered += (flow - filtered) * 0.01 / 10.0
    assert _named(budget, "smoothing").low == pytest.approx((filtered - flow) / 10.0, rel=2e-3)


@pytest.mark.parametrize(("change", "sign"), [("3 %", -1.0), ("40 %", -1.0), ("20 %", 1.0)])
def test_smoothing_lags_as_the_first_order_lag_of_a_recording_does(change, sign):
    """A flow that rises (or falls) in a line to 10 L/h, in intervals of 0.1 s, against a smoothed record."""
    budget = Indicator("36000 pulse/L", reads="L/h").error_budget(
        flow="10 L/h", smoothing="5 s", change_per_minute=change
    )
    left_s = np.arange(1500, -1, -1) / 10.0
    flow = 10.0 * (1.0 + sign * left_s * float(change.split()[0]) / 100.0 / 60.0)
    lag = FrequencyRecord(np.arange(flow.size + 1) / 10.0, flow).smoothed("5 s").frequency_hz[-1] / 10.0 - 1.0
    part = _named(budget, "smoothing")
    assert (part.high if sign > 0.0 else part.low) == pytest.approx(lag, rel=0.02)


@pytest.mark.parametrize(
    ("gate_s", "smoothing_s", "change"),
    [(10, 0.0, 0.3), (10, 1.0, 0.03), (10, 0.0, 0.03), (5, 5.0, 0.1)],
)
def test_the_gate_lags_by_up_to_one_and_a_half_of_its_time(gate_s, smoothing_s, change):
    """What truly happens: pulses of a line from 45 to 35 L/h or back counted by the gate, displayed until the next."""
    stated = {"gate_time": f"{gate_s} s", "change_per_minute": f"{100 * change} %", "smoothing": f"{smoothing_s} s"}
    ideal = {"true_k": "11412 pulse/L", "k_at_flow": "0 %"}
    (worst,) = Indicator("11412 pulse/L", reads="L/h").error_budget(flow="40 L/h", **stated, **ideal).worst
    for sign in (-1.0, 1.0):
        slope = sign * 40.0 * change / 60.0  # L/h per s
        ends = np.arange(0.0, 15.0 / abs(slope), gate_s)
        counts = np.diff(np.floor(((40.0 - sign * 7.5) * ends + slope * ends**2 / 2.0) / 3600.0 * 11412.0 + 0.4))
        shown = counts / gate_s / 11412.0 * 3600.0
        for i in range(1, shown.size):
            shown[i] = shown[i - 1] + (shown[i] - shown[i - 1]) * -np.expm1(-gate_s / max(smoothing_s, 1e-3))
        times = np.arange(4.0 * smoothing_s + 3 * gate_s, ends[-1], 0.05)
        true = 40.0 - sign * 7.5 + slope * times
        error = shown[np.searchsorted(ends, times, side="right") - 2] / true - 1.0
        near = error[np.abs(true / 40.0 - 1.0) < 0.002]
        assert near.size > 5
        assert worst.low - 1e-4 <= near.min() <= near.max() <= worst.high + 1e-4


@pytest.mark.parametrize("true_k", [("11480 pulse/L", "11230 pulse/L"), ("11390 pulse/L", "11310 pulse/L")])
def test_budget_of_feed_less_return_holds_what_a_simulation_shows(true_k):
    """Pulses of any phase in a gate of 2 s, K off in both lines, in steps: the return makes each error the larger."""
    generator = np.random.default_rng(3)
    budget = LINE.error_budget(flow=("120 L/h", "90 L/h"), true_k=true_k, k_at_flow="-0.2 %", gate_time="2 s")
    counts = [
        np.floor(flow * float(k.split()[0]) * 0.998 / 3600.0 * 2.0 + generator.uniform(0.0, 1.0, 20_000))
        for flow, k in zip((120.0, 90.0), true_k, strict=True)
    ]
    net = counts[0] / 2.0 * 3600.0 / 11412 - counts[1] / 2.0 * 3600.0 / 11286
    errors = displayed(net, step="0.1") / 30.0 - 1.0
    (total,) = budget.worst
    assert total.low - 1e-9 <= errors.min() <= errors.max() <= total.high + 1e-9
    assert errors.max() - errors.min() > 0.35 * (total.high - total.low)
    feed, back = (float(k.split()[0]) / entered - 1.0 for k, entered in zip(true_k, (11412, 11286), strict=True))
    assert _named(budget, "K as entered").low == pytest.approx((120.0 * feed - 90.0 * back) / 30.0, rel=1e-9)
    assert "feed 120 less return 90 L/h" in " ".join(budget.remarks)
    assert "about 0.3 %" in " ".join(budget.remarks)  # 0.1 % of 90 L/h is 0.09 L/h


def test_a_budget_without_steps_names_them_as_not_included():
    """At 40.2 L/h a display in steps of 0.5 L/h reads 40 L/h, 0.5 % low: outside what holds for one without steps."""
    asked = {"true_k": "11412 pulse/L", "k_at_flow": "0 %", "gate_time": "10 s"}
    for step, is_omitted in ((None, True), ("0.5 L/h", False)):
        budget = Indicator("11412 pulse/L", reads="L/h", resolution=step).error_budget(flow="40.2 L/h", **asked)
        assert ("display step" in budget.report().verdict) is is_omitted
        assert any(part.name == "display step" for part in budget.parts) is not is_omitted
        assert (budget.worst[0].low <= 40.0 / 40.2 - 1.0) is not is_omitted


def test_budget_says_what_is_not_included_and_what_was_recalled():
    bare = LB_H.error_budget("TS-1", flow="80 lb/h", between=("0 degC", "30 degC"))
    assert any("memory" in remark for remark in bare.remarks)
    assert any("limits" in remark for remark in bare.remarks)
    assert "memory" in str(bare)
    full = LB_H.error_budget("Jet A", flow="80 lb/h", between=("0 degC", "30 degC"), gate_time="1 s")
    assert not any("both sides" in remark for remark in full.remarks)
    assert LB_H.error_budget("Jet A", flow="80 lb/h", between=("0 degC", "30 degC")).parts == (
        LB_H.error_budget(fuel("Jet A"), flow="80 lb/h", between=("0 degC", "30 degC")).parts
    )


STATED = {
    "K as entered": {"true_k": "11412 pulse/L"},
    "K at this flow": {"k_at_flow": "0 %"},
    "counting": {"gate_time": "10 s"},
    "smoothing": {"smoothing": "1 s", "change_per_minute": "0 %"},
}


def test_a_changing_flow_needs_one_of_the_times_in_which_a_reading_lags():
    indicator = Indicator("11412 pulse/L", reads="L/h")
    budget = indicator.error_budget(flow="40 L/h", gate_time="10 s", change_per_minute="6 %")
    assert _named(budget, "lag of the gate").high == pytest.approx(0.015)  # of 15 s
    assert "smoothing" in budget.report().verdict
    none = indicator.error_budget(flow="40 L/h", gate_time="10 s", change_per_minute="6 %", smoothing="0 s")
    assert (none.worst, "smoothing" in none.report().verdict) == (budget.worst, False)
    for alone in ({"change_per_minute": "3 %"}, {"smoothing": "3 s"}, {"smoothing": "3 s", "gate_time": "1 s"}):
        with pytest.raises(QuantityError, match="change_per_minute"):
            indicator.error_budget(flow="40 L/h", **alone)


@pytest.mark.parametrize("left_out", [*STATED, ""])
def test_what_was_not_stated_is_no_error_of_zero_and_stands_in_the_verdict(left_out):
    """Of 2000 displays, K of a plate within 0.5 % with k = 2, two thirds are outside what holds for a right K."""
    asked = {name: value for cause, given in STATED.items() if cause != left_out for name, value in given.items()}
    budget = Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h").error_budget(flow="40 L/h", **asked)
    found = [any(part.name.startswith(cause) for part in budget.parts) for cause in STATED]
    assert found == [cause != left_out for cause in STATED]
    omitted = budget.report().verdict.partition("; not included: ")[2]
    assert [cause in omitted for cause in (*STATED, "uncertainty of K")] == [not each for each in found] + [True]
    generator = np.random.default_rng(0)
    counts = 40.0 * 11412.0 / 360.0 * generator.normal(1.0, 0.0025, 2000)
    displayed = np.round(np.floor(counts + generator.uniform(size=2000)) * 360.0 / 11412.0, 1)
    inside = [budget.worst[0].low <= each / 40.0 - 1.0 <= budget.worst[0].high for each in displayed]
    assert np.mean(inside) < 0.5


@pytest.mark.parametrize(("grade", "is_open"), [("Jet A", False), ("100LL", True), ("UL91", True)])
def test_batches_that_no_limit_holds_are_not_included_in_words(grade, is_open):
    """ASTM D1655 limits the density of Jet A; no limit holds that of aviation gasolines on both sides."""
    indicator = Indicator("11412 pulse/L", reads="kg/h", fixed_density="0.75 kg/L")
    asked = {"flow": "40 L/h", "between": ("0 degC", "30 degC")}
    assert ("batches" in indicator.error_budget(grade, **asked).report().verdict) is is_open
    batch = fuel(grade).measured(f"{fuel(grade).density_kg_m3(15.0)} kg/m^3", "15 degC", uncertainty="0.5 kg/m^3")
    assert "batches" not in indicator.error_budget(batch, **asked).report().verdict


# the bench sheet


def test_bench_points_by_hand():
    """10 gal/h is 10 · 43186 / 3600 = 119.961 Hz, 7197.67 pulses a minute, 67 lb/h; 2 % of it is 1.34 lb/h."""
    (point,) = LB_H.bench_points(["10 gal/h"], "2 %").points
    assert point.frequencies_hz[0] == pytest.approx(43186 / 360, rel=1e-15)
    assert (point.expected, point.lowest, point.highest) == (67.0, 66.0, 68.0)
    (point,) = LB_H.bench_points(["10 gal/h"], "3 lb/h").points
    assert (point.expected, point.lowest, point.highest) == (67.0, 64.0, 70.0)


def test_a_generator_as_poor_as_the_tolerance_accepts_nothing():
    indicator = Indicator("43186 pulse/gal", reads="gal/h")
    for accuracy, decides in [("2 %", True), ("3 %", False)]:  # a standard uncertainty, with k = 2
        (point,) = indicator.bench_points(["10 gal/h"], "5 %", generator=Generator("0.1 Hz", accuracy)).points
        assert ("uncertainty" in point.undecided) is not decides
        assert point.verdict(Fraction(10)) is (Verdict.ACCEPT if decides else Verdict.UNDECIDED)


@pytest.mark.parametrize(("tolerance", "places"), [(0.3, 3), (0.04, 3), (0.004, 4), (0.0004, 5)])
def test_limits_without_display_steps_are_printed_as_narrow_as_the_tolerance(tolerance, places):
    (point,) = Indicator("43186 pulse/gal", reads="gal/h").bench_points(["10 gal/h"], f"{tolerance} gal/h").points
    assert [float(limit) for limit in point.limits] == pytest.approx([10.0 - tolerance, 10.0 + tolerance], rel=1e-12)
    assert [len(limit.partition(".")[2]) for limit in point.limits] == [places] * 2
    (odd,) = Indicator("43186 pulse/gal", reads="gal/h").bench_points(["10 gal/h"], "0.1236 gal/h").points
    assert odd.limits == ("9.877", "10.123")  # rounded inwards
    (plain,) = Indicator("11412 pulse/L", reads="L/h").bench_points(["47.3 L/h"], "3 %").points
    assert plain.limits == ("45.881", "48.719")  # 47.3 less and plus 1.419, exactly


def test_a_step_too_coarse_to_accept_still_rejects_what_it_cannot_explain():
    """4.3 gal/h within 5 %, 4.085 to 4.515, stands as 4 or 5 on a display of whole gallons."""
    (point,) = (
        Indicator("43186 pulse/gal", reads="gal/h", resolution="1 gal/h").bench_points(["4.3 gal/h"], "5 %").points
    )
    assert "step of 1 gal/h" in point.undecided
    assert (point.verdict(Fraction(4)), point.verdict(Fraction(5))) == (Verdict.UNDECIDED, Verdict.UNDECIDED)
    assert (point.verdict(Fraction(3)), point.verdict(Fraction(6))) == (Verdict.REJECT, Verdict.REJECT)


@pytest.mark.parametrize(
    ("flow", "tolerance", "step", "cutoff", "accepted"),
    [
        ("10 gal/h", "5 %", "1 gal/h", None, (10, 10)),
        ("48 lb/h", "2 %", "5 lb/h", None, (None, None)),
        ("1.01 gal/h", "5 %", "0.1 gal/h", "1 gal/h", (1, 1)),
        ("0.4 gal/h", "5 %", "1 gal/h", None, (None, None)),
        ("10 gal/h", "0.4 gal/h", "1 gal/h", None, (None, None)),
        ("10 gal/h", "0.5 gal/h", "1 gal/h", None, (10, 10)),
        ("1.01 gal/h", "5 %", "0.01 gal/h", "1 gal/h", (1.0, 1.06)),
        ("0.9 gal/h", "2 %", "0.01 gal/h", "1 gal/h", (None, None)),
        ("0.99 gal/h", "5 %", "0.01 gal/h", "1 gal/h", (None, None)),
        ("10 gal/h", "10 gal/h", "1 gal/h", None, (None, None)),
        ("0 gal/h", "1 gal/h", "1 gal/h", None, (None, None)),
        ("10 gal/h", "0.3 gal/h", None, None, (9.7, 10.3)),
    ],
)
def test_limits_lie_inside_the_tolerance(flow, tolerance, step, cutoff, accepted):
    unit = flow.split()[1]
    density = "6.7 lb/gal" if unit == "lb/h" else None
    indicator = Indicator(K, reads=unit, resolution=step, low_flow_cutoff=cutoff, fixed_density=density)
    (point,) = indicator.bench_points([flow], tolerance).points
    assert (point.lowest, point.highest) == accepted
    assert (accepted == (None, None)) == bool(point.undecided)
    assert point.verdict(Fraction(0)) is not Verdict.ACCEPT


@pytest.mark.simulation
@settings(max_examples=300, deadline=None)
@given(
    flow=st.decimals("0.1", "200", places=2),
    step=st.sampled_from([None, "0.1", "0.2", "0.5", "1", "5"]),
    percent=st.sampled_from(["0.5", "1", "2", "5"]),
    cutoff=st.sampled_from([None, "1", "4", "20"]),
    error=st.fractions(Fraction(-1), Fraction(1), max_denominator=1000),
    generator=st.sampled_from([None, Generator("0.1 Hz", "0.05 %"), Generator("1 Hz")]),
    off=st.fractions(Fraction(-1), Fraction(1), max_denominator=100),
    truncates=st.booleans(),
)
def test_no_reading_out_of_tolerance_is_accepted(flow, step, percent, cutoff, error, generator, off, truncates):
    """What truly happens: a generator that is off within its doubt, and an indicator with an error of its own."""
    indicator = Indicator(
        "11412 pulse/L",
        reads="L/h",
        resolution=step and f"{step} L/h",
        low_flow_cutoff=cutoff and f"{cutoff} L/h",
        truncates=truncates and step is not None,
    )
    (point,) = indicator.bench_points([f"{flow} L/h"], f"{percent} %", generator=generator).points
    assert point.verdict(Fraction(0)) is not Verdict.ACCEPT
    true = point.true + off * point.doubt
    unrounded = max(true + 2 * error * point.tolerance, Fraction(0))
    size = Fraction(step) if step else None
    hidden = Fraction(0) if size is None else size if truncates else size / 2  # by which it may read low
    reading = unrounded if size is None else (unrounded + size - hidden) // size * size
    if unrounded < Fraction(cutoff or 0):
        reading = Fraction(0)
    verdict = point.verdict(reading)
    allowed = point.tolerance
    if verdict is Verdict.ACCEPT:
        assert abs(reading - true) <= allowed
        assert abs(unrounded - true) <= allowed + hidden <= 2 * allowed
        assert reading > 0
    if hidden - allowed <= unrounded - true <= allowed - (0 if truncates else hidden):
        assert verdict is not Verdict.REJECT
        if generator is None and not point.undecided and not point.near_cutoff:
            assert verdict is Verdict.ACCEPT


@pytest.mark.parametrize("doubt", [Fraction(0), Fraction(1, 4)])
def test_a_flow_at_the_cutoff_itself_is_displayed(doubt):
    """The cutoff is 10 L/h, the tolerance 1 L/h: from 11 L/h on nothing within it reads 0, from 9 L/h on it may."""
    small = Fraction(1, 1000)
    near, below = (
        [
            getattr(BenchPoint("", "L/h", true, Fraction(1), Display(Fraction(1, 10), Fraction(10)), doubt), name)
            for true in (9 - doubt - small, 9 - doubt, 11 + doubt - small, 11 + doubt)
        ]
        for name in ("near_cutoff", "below_cutoff")
    )
    assert near == [False, True, True, False]
    assert below == [True, False, False, False]
    assert not BenchPoint(
        "", "L/h", Fraction(1, 2), Fraction(1), Display(Fraction(1, 10))
    ).near_cutoff  # it has no cutoff


def test_a_reading_is_judged_as_the_rule_says_to_the_last_digit():
    """Tolerance 1, allowance 1/4: accepted up to 0.75 off, rejected beyond 1.25, undecided between."""
    point = BenchPoint("", "L/h", Fraction(60), Fraction(1), Display(), Fraction(1, 4))
    tiny = Fraction(1, 10**9)
    for side in (-1, 1):
        off = [Fraction(3, 4), Fraction(3, 4) + tiny, Fraction(5, 4), Fraction(5, 4) + tiny]
        found = [point.verdict(60 + side * each).value for each in off]
        assert found == ["accept", "undecided", "undecided", "reject"]


def test_a_tolerance_that_the_doubt_uses_up_is_said():
    for step, doubt in product((None, Fraction(1, 10)), (Fraction(1), Fraction(3, 2))):
        point = BenchPoint("", "L/h", Fraction(60), Fraction(1), Display(step), doubt)
        assert "uncertainty" in point.undecided
        assert point.lowest is None
        assert point.decimals == (3 if step is None else 1)


@pytest.mark.parametrize(("flow", "depends"), [("10", True), ("9.9", False)])
def test_a_point_depends_on_a_channel_where_either_flow_is_displayed(flow, depends):
    """Of a cutoff of 10 L/h, at which a flow is displayed; a channel that is dead shows zero either way below it."""
    display = Display(Fraction(1, 10), Fraction(10))
    assert BenchPoint("", "L/h", *map(Fraction, (flow, 1)), display, parts=(Fraction(flow),)).depends_on(1) is depends


@pytest.mark.parametrize(("true", "reading"), [("10.5", "9.5"), ("8.9", "10")])
def test_a_reading_that_a_display_with_a_cutoff_never_shows_is_rejected(true, reading):
    """It shows nothing but zero below 10 L/h, and nothing else where at most 9.9 L/h pass it."""
    display = Display(Fraction(1, 2), Fraction(10))
    point = BenchPoint("", "L/h", Fraction(true), Fraction(1), display)
    assert point.verdict(Fraction(reading)) is Verdict.REJECT


@pytest.mark.parametrize(
    ("channels", "words"), [(1, None), (2, "inject into both channels"), (3, "inject into all 3 channels")]
)
def test_channels_are_injected_into_together(channels, words):
    sheet = Indicator("11412 pulse/L", reads="L/h", channels=channels).bench_points(["60 L/h"], "2 %")
    said = [each for each in sheet.report().remarks if "inject into" in each]
    assert words in said[0] if words else not said


def test_limits_of_a_grade_are_not_said_where_they_decide_nothing():
    """Jet B has limits of density from memory; a fixed density is compared with the typical one."""
    display = Indicator("11412 pulse/L", reads="kg/h", fixed_density="0.76 kg/L", resolution="1 kg/h")
    curve = MeterCurve([CalibrationPoint(hz, 11412.0, 0.0005) for hz in (40.0, 200.0, 600.0)])
    tank = TankTable("t", [("0 mm", "0 L"), ("100 mm", "40 L"), ("250 mm", "100 L")])
    gauge = CapacitanceGauge(tank, [Probe("48 pF", "0 mm", "250 mm")], "Jet B", "15 degC")
    sheet = CapacitanceSheet(gauge, ["60 L"], "2 L", reads="L", box=CapacitanceBox("0.1 pF", "0.1 %"))
    answers = (
        best_setting(display, curve, ["60 L/h"], fuel="Jet B", at="15 degC", k_step="1 pulse/L"),
        diagnose("90 kg", "100 kg", fuel="Jet B", at="15 degC"),
        gauge.error_with("Jet B", at="0 degC"),
        gauge,
        sheet,
    )
    for answer in answers:
        assert "typical" in str(answer)
        assert "at least 751" not in " ".join(str(answer).split())


def test_dead_display_never_passes():
    flows = ["2 L/h", "4 L/h", "60 L/h"]
    indicator = Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h", low_flow_cutoff="4 L/h")
    sheet = indicator.bench_points(flows, "2 %")
    assert sheet.filled(as_left=["0 L/h"] * 3).verdict_as_left is Verdict.REJECT
    assert indicator.bench_points(flows[:2], "5 %").filled(as_left=["0 L/h"] * 2).verdict_as_left is Verdict.UNDECIDED
    assert indicator.bench_points(["1 L/h", "2 L/h"], "2 %").filled(as_left=["0 L/h"] * 2).verdict_as_left is (
        Verdict.UNDECIDED
    )
    alive = sheet.filled(as_left=["0 L/h", "4 L/h", "60.1 L/h"])
    assert alive.verdict_as_left is Verdict.ACCEPT
    assert sheet.filled(as_left=["0 L/h", "0 L/h", "60.1 L/h"]).verdict_as_left is Verdict.UNDECIDED
    assert sheet.filled(as_left=["2 L/h", "4 L/h", "60.1 L/h"]).verdict_as_left is Verdict.REJECT
    assert sheet.filled(as_left=["0 L/h", None, "60.1 L/h"]).verdict_as_left is Verdict.UNDECIDED


def test_filled_sheet_keeps_the_readings_and_says_both_verdicts():
    indicator = Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h")
    empty = indicator.bench_points(["60 L/h", "120 L/h"], "2 %")
    found = empty.filled(as_found=["62 L/h", "124 L/h"])
    both = found.filled(as_left=["60 L/h", pint.Quantity(119.5, "L/hour")])
    assert (empty.verdict_as_found, found.verdict_as_found) == (None, Verdict.REJECT)
    assert (both.as_found, both.verdict_as_left) == (("62 L/h", "124 L/h"), Verdict.ACCEPT)
    assert replace(empty, as_left=[pint.Quantity(60.0, "L/hour"), None]).as_left == ("60 L/h", None)
    assert "reject" in repr(both)
    assert "[" in str(empty)
    assert str(both).rstrip().endswith("first.")
    assert json.loads(json.dumps(both.as_dict()))["rows"][1]["as_left"] == 119.5
    assert both.to_frame()["lowest"].tolist() == [59.0, 118.0]
    for readings in (["60 L/h"], ["60.2 L/h", "120 L/h"], [60.0, 120.0], "60 L/h", ["60 kg/h", "120 L/h"]):
        with pytest.raises(FuelUnitsError):
            empty.filled(as_left=readings)
    with pytest.raises(QuantityError, match=r"steps of 0\.5 L/h"):
        empty.filled(as_left=["60.2 L/h", None])
    for sheet in (empty, empty.filled(as_left=["60 L/h", "120 L/h"])):  # a wrong K passes every point
        assert "K-factor entered is taken as right" in " ".join(str(sheet).split())


def test_points_by_frequency_and_by_the_steps_of_a_generator():
    """36 000 pulses a litre at 100 Hz is 10 L/h; ± 0.5 Hz and 2 · 0.1 % of 100 Hz is 0.7 Hz, 0.07 L/h."""
    indicator = Indicator("36000 pulse/L", reads="L/h", resolution="0.05 L/h")
    plain = indicator.bench_points(["100 Hz", "6000 pulse/min", "100 pulse/s"], "1 %").points
    assert {(point.frequencies_hz[0], point.expected, point.lowest, point.highest) for point in plain} == {
        (100.0, 10.0, 9.9, 10.1)
    }
    (point,) = indicator.bench_points(["10.02 L/h"], "1 %", generator=Generator("1 Hz", "0.1 %")).points
    assert (point.frequencies_hz, point.doubt) == ((100.0,), Fraction(7, 100))
    assert (point.lowest, point.highest) == (10.0, 10.0)
    words = [point.verdict(Fraction(text)).value for text in ("10", "10.05", "10.15", "10.2")]
    assert words == ["accept", "undecided", "undecided", "reject"]


def test_a_k_factor_for_each_channel():
    """30 L/h a channel: 30 · 11412 / 3600 = 95.1 Hz and 30 · 11286 / 3600 = 94.05 Hz."""
    twin = Indicator(["11412 pulse/L", "11286 pulse/L"], reads="L/h", resolution="0.1 L/h", channels=np.int64(2))
    (point,) = twin.bench_points(["60 L/h"], "2 %").points
    assert point.frequencies_hz == pytest.approx((95.1, 94.05), rel=1e-15)
    assert (point.expected, point.lowest, point.highest) == (60.0, 58.8, 61.2)
    assert twin.reading(["95.1 Hz", "94.05 Hz"]).magnitude == 60.0
    (apart,) = twin.bench_points([("30 L/h", "0 L/h")], "2 %").points
    assert (apart.expected, apart.frequencies_hz[1]) == (30.0, 0.0)
    assert twin.bench_points([("95.1 Hz", "0 Hz")], "2 %").points[0].expected == 30.0
    with pytest.raises(QuantityError, match="each channel"):
        Indicator(["11412 pulse/L"], reads="L/h", channels=2)


def test_feed_less_return_by_hand():
    """Feed 120 L/h and return 90 L/h: 380.4 Hz and 282.15 Hz, 30 L/h, 2 % of it 0.6 L/h.

    A K-factor of the feed that is wrong by 0.5 % makes 0.6 L/h: the whole tolerance.
    """
    (point,) = LINE.bench_points([("120 L/h", "90 L/h")], "2 %").points
    assert point.frequencies_hz == pytest.approx((380.4, 282.15), rel=1e-15)
    assert (point.expected, point.lowest, point.highest) == (30.0, 29.4, 30.6)
    assert LINE.reading(["382.302 Hz", "282.15 Hz"]).magnitude == 30.6
    (made,) = LINE.bench_points([("120 L/h", "90 L/h")], "9 %", generator=Generator("0.1 Hz", "0.1 %")).points
    feed, back = (3600.0 / k * (0.05 + 0.002 * hz) for k, hz in ((11412, 380.4), (11286, 282.2)))
    assert float(made.doubt) == pytest.approx(feed + back)  # of two channels set apart
    for wrong in ("30 L/h", ("90 L/h", "120 L/h"), ("90 L/h", "90.1 L/h")):
        with pytest.raises(QuantityError):
            LINE.bench_points([wrong], "2 %")
    with pytest.raises(QuantityError, match="return"):
        LINE.reading(["1 Hz", "2 Hz"])


def test_a_sheet_of_two_channels_says_where_a_wrong_input_would_pass():
    """What truly happens: one input is wired to both channels, and the other to none, so that it counts twice."""
    twin = Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h", channels=2)

    def read(asked):
        sheet = twin.bench_points(asked, "2 %")
        hz = [point.frequencies_hz * (2 if len(point.frequencies_hz) == 1 else 1) for point in sheet.points]
        return sheet.filled(as_left=[f"{2.0 * left * 3600.0 / 11412.0:.1f} L/h" for left, _ in hz])

    together = read(["80 L/h", "30 L/h"])
    assert together.verdict_as_left is Verdict.ACCEPT
    assert "one channel alone" in str(together)
    alone = read(["80 L/h", ("40 L/h", "0 L/h"), ("0 L/h", "40 L/h")])
    assert alone.verdict_as_left is Verdict.REJECT
    assert "one channel alone" not in str(alone)
    assert "one channel alone" in str(read([("40 L/h", "40 L/h")]))


@pytest.mark.parametrize(
    ("plates", "flows"),
    [
        ((11412, 12553), [(60.0, 60.0), (60.0, 50.0)]),
        ((11412, 22824), [(100.0, 50.0), (60.0, 30.0)]),
        ((11412, 12553), [(60.0, 0.0), (0.0, 50.0)]),
    ],
)
def test_a_sheet_that_accepts_swapped_inputs_says_so(plates, flows):
    """What truly happens: the pulses of either channel are counted by the K-factor of the other."""
    twin = Indicator([f"{k} pulse/L" for k in plates], reads="L/h", resolution="0.1 L/h", channels=2)
    sheet = twin.bench_points([tuple(f"{flow} L/h" for flow in pair) for pair in flows], "2 %")
    swapped = [one * plates[0] / plates[1] + other * plates[1] / plates[0] for one, other in flows]
    filled = sheet.filled(as_left=[f"{flow:.1f} L/h" for flow in swapped])
    assert ("one channel alone" in str(filled)) == (filled.verdict_as_left is Verdict.ACCEPT)


def test_of_three_channels_one_alone_does_not_tell_the_other_two_apart():
    """K of the second and the third, 3.5 % apart, are exchanged: 40 and 80 L/h read as they should."""
    three = Indicator(
        ["11412 pulse/L", "11286 pulse/L", "10900 pulse/L"], reads="L/h", resolution="0.1 L/h", channels=3
    )
    first, others = ("40 L/h", "0 L/h", "0 L/h"), ("0 L/h", "40 L/h", "40 L/h")
    filled = three.bench_points([first, others], "2 %").filled(as_left=["40 L/h", "80 L/h"])
    assert filled.verdict_as_left is Verdict.ACCEPT
    assert "one channel alone" in str(filled)
    each = three.bench_points([first, ("0 L/h", "40 L/h", "0 L/h"), others], "2 %")
    assert "one channel alone" not in str(each)
    assert each.filled(as_left=["40 L/h", "41.4 L/h", "80 L/h"]).verdict_as_left is Verdict.REJECT


def test_a_total_does_not_hide_that_the_display_of_flows_may_stand_still():
    display = Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h", total_resolution="0.1 L")
    for asked in (["40 L/h"], ["40 L/h", "10 L"], ["40 L/h", "10 L", "20 L"]):
        sheet = display.bench_points(asked, "2 %")
        assert "stands still" in str(sheet)
        assert "stands still" in str(sheet.filled(as_left=asked))
    assert "stands still" not in str(display.bench_points(["40 L/h", "60 L/h", "10 L"], "2 %"))


@pytest.mark.parametrize("fault", ["channel 1", "channel 2", "return line", "stands still", ""])
def test_no_sheet_of_two_channels_accepts_a_simulated_fault(fault):
    """A dead channel, a return line that is added and a display that stands still, of flows drawn at random.

    Without a fault a sheet is accepted where each channel moves some reading by more than the tolerance.
    """
    rng, accepted, k = np.random.default_rng(20), 0, (11_412, 11_286)
    for _ in range(150):
        less, count = fault == "return line" or bool(rng.integers(2)), int(rng.integers(1, 4))
        cutoff, given = rng.choice([0.1, 25.0]), [f"{each} pulse/L" for each in k]
        line = Indicator(given, reads="L/h", resolution="0.1 L/h", low_flow_cutoff=f"{cutoff} L/h", channels=2,
                         feed_less_return=less)  # fmt: skip
        firsts = [40.0, 60.0, 61.0] + [0.0] * (not less)
        flows = [(rng.choice(firsts), rng.choice([0.0, 0.0, 0.3, 20.0, 40.0])) for _ in range(count)]
        flows = flows if less else [pair[:: rng.choice([-1, 1])] for pair in flows]
        sheet = line.bench_points([tuple(f"{each} L/h" for each in pair) for pair in flows], "3 %")
        seen = np.array(
            [[float(hz) / its * 3600 for hz, its in zip(p.frequencies_hz, k, strict=True)] for p in sheet.points]
        )
        right = seen @ [1, -1 if less else 1]
        signs = {"channel 1": [0, -1 if less else 1], "channel 2": [1, 0], "return line": [1, 1]}
        displayed = np.maximum(seen @ signs[fault], 0) if fault in signs else right
        right, displayed = (np.where(each < cutoff, 0.0, each) for each in (right, displayed))
        displayed = np.full(count, displayed[0]) if fault == "stands still" else displayed
        if fault == "stands still" and np.ptp(right.round(1)) == 0:
            continue  # it is expected to stand still
        left = sheet.filled(as_left=[f"{each:.1f} L/h" for each in displayed])
        accepted += left.verdict_as_left is Verdict.ACCEPT
        if set(left.verdicts(left.as_left)) == {Verdict.ACCEPT} and left.verdict_as_left is not Verdict.ACCEPT:
            assert "undecided: " in " ".join(str(left).split())
    assert accepted == 0 if fault else accepted > 70


def test_a_sheet_says_where_one_reading_would_pass_everywhere():
    indicator = Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h", low_flow_cutoff="8 L/h")
    near, apart = (indicator.bench_points([*flows, "61 L/h"], "2 %") for flows in (["59 L/h", "60 L/h"], ["20 L/h"]))
    words = [
        " ".join(str(sheet).split()) for sheet in (near, near.filled(as_left=["59 L/h", "60 L/h", "61 L/h"]), apart)
    ]
    assert ["stands still" in each for each in words] == [True, False, False]
    still, rising = near.filled(as_left=["60 L/h"] * 3), ["59 L/h", "60 L/h", "61 L/h"]
    assert still.verdict_as_left is Verdict.UNDECIDED
    asked = ["further away" in " ".join(sheet.report().remarks) for sheet in (still, still.filled(as_found=rising))]
    assert asked == [True, False]  # the display was seen to move
    twin = Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h", low_flow_cutoff="25 L/h", channels=2)
    hidden = twin.bench_points([("60 L/h", "0 L/h"), ("0 L/h", "20 L/h")], "2 %").filled(as_left=["60 L/h", "0 L/h"])
    assert hidden.verdict_as_left is Verdict.UNDECIDED  # a dead second channel also reads 0, below the cutoff
    line = Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h", channels=2, feed_less_return=True)
    nulled = line.bench_points([("60 L/h", "0 L/h"), ("60 L/h", "60 L/h")], "2 %").filled(as_left=["60 L/h", "0 L/h"])
    assert nulled.verdict_as_left is Verdict.ACCEPT  # a dead return line would read 60
    for flow, low in (("5 L/h", LowFuelByTime("30 min")), ("8.1 L/h", LowFuelByQuantity("9 L"))):
        with pytest.raises(QuantityError, match="cutoff"):
            indicator.bench_points([LowFuelPoint(low, flow, "90 L")], "2 %")
    with pytest.raises(QuantityError, match="cutoff"):
        indicator.bench_points([LowFuelPoint(low, "7.9 L/h", "90 L")], "0.5 L")
    for flow, tolerance in (("8.3 L/h", "2 %"), ("8 L/h", "0.5 L")):
        assert indicator.bench_points([LowFuelPoint(low, flow, "90 L")], tolerance).points[0].true == 9


@pytest.mark.parametrize("noise", [0.0, 0.45], ids=["a step", "45 % of the range"])
@pytest.mark.parametrize(
    ("step", "truncates"), [("0.1", False), ("0.5", False), ("0.1", True), ("0.5", True), ("", False)]
)
def test_no_display_that_all_but_stands_still_is_accepted(step, truncates, noise):
    """What truly happens: the flow displayed is frozen, whatever is injected, with noise of less than a step or more.

    An indicator without a fault, of a K up to 0.5 % off, is accepted where its points lie further apart than two steps.
    """
    rng, size = np.random.default_rng(23), float(step or 1e-3)
    given = {"reads": "L/h", "resolution": f"{step} L/h" if step else None, "truncates": truncates}
    indicator = Indicator("11412 pulse/L", **given)
    for _ in range(30):
        flows = 60.0 + rng.uniform(-6.0, 6.0, rng.integers(2, 5)).round(1)
        sheet = indicator.bench_points([f"{flow:.1f} L/h" for flow in flows], "20 %")
        right, frozen = (
            flows * rng.uniform(0.995, 1.005),
            60.0 + rng.uniform() * size + rng.uniform(0.0, max(0.99 * size, noise * np.ptp(flows)), flows.size),
        )
        displayed = [indicator.display.readings(each) for each in (right, frozen)]
        sound, stuck = (sheet.filled(as_left=[f"{each:.4g} L/h" for each in numbers]) for numbers in displayed)
        assert np.ptp(flows) < 3.0 * size or sound.verdict_as_left is Verdict.ACCEPT
        assert np.ptp(flows) < 1.0 * size or stuck.verdict_as_left is Verdict.UNDECIDED
        assert "stands still" in " ".join(str(stuck).split())


def test_totals_and_low_fuel_points_by_hand():
    """10 L is 114 120 pulses. 25 min at 60 L/h is 25 L, after (90 - 25) / 60 h = 65 min; 12 L after 78 min."""
    indicator = Indicator("11412 pulse/L", reads="L/h", total_resolution="0.1 L")
    warnings = [LowFuelPoint(low, "60 L/h", "90 L") for low in (LowFuelByTime("25 min"), LowFuelByQuantity("12 L"))]
    total, by_time, by_quantity = indicator.bench_points(["10 L", *warnings], "1 %").points
    assert (total.pulses, total.expected, total.lowest, total.highest) == ((114120,), 10.0, 9.9, 10.1)
    assert (by_time.expected, by_time.lowest, by_time.highest) == (25.0, 24.8, 25.2)
    assert "65.0 min" in by_time.remark
    assert (by_quantity.expected, by_quantity.lowest, by_quantity.highest) == (12.0, 11.9, 12.1)
    assert "78.0 min" in by_quantity.remark
    with pytest.raises(QuantityError, match="usable"):
        indicator.bench_points([LowFuelPoint(LowFuelByTime("25 min"), "60 L/h", "20 L")], "1 %")
    with pytest.raises(QuantityError, match="already"):  # nothing is left to burn, and no reading is accepted
        indicator.bench_points([LowFuelPoint(LowFuelByTime("25 min"), "60 L/h", "25 L")], "0 %")


@pytest.mark.parametrize("low", [LowFuelByTime("30 min"), LowFuelByQuantity("26 L")])
@pytest.mark.parametrize("start", ["26.1 L", "27 L", "27.2 L"])
def test_a_warning_that_is_always_on_is_not_accepted(low, start):
    """It is on from the start, at which the display, in steps of 0.5 L, shows 26.0 or 27.0 L: within 5 % of 26 L."""
    indicator = Indicator("11412 pulse/L", reads="L/h", total_resolution="0.5 L")
    with pytest.raises(QuantityError, match="always on"):
        indicator.bench_points([LowFuelPoint(low, "52 L/h", start)], "5 %")
    sheet = indicator.bench_points([LowFuelPoint(low, "52 L/h", "27.3 L")], "5 %")
    assert sheet.filled(as_left=["27.5 L"]).verdict_as_left is Verdict.REJECT


def test_low_fuel_points_honour_the_doubt_of_the_generator():
    """60 L/h at 36 000 pulses a litre is 600 Hz; ± 0.5 Hz and 2 · 0.1 % is 1.7 Hz, 0.17 L/h: 0.0708 L in 25 min.

    The warning by time then comes after 90 / 60.17 h and 90 / 59.83 h less 25 min, that by quantity at 12 L anyway.
    """
    indicator = Indicator("36000 pulse/L", reads="L/h", total_resolution="0.01 L")
    asked = [LowFuelPoint(low, "60.02 L/h", "90 L") for low in (LowFuelByTime("25 min"), LowFuelByQuantity("12 L"))]
    sheet = indicator.bench_points(asked, "1 %", generator=Generator("1 Hz", "0.1 %"))
    by_time, by_quantity = sheet.points
    assert (by_time.frequencies_hz[0], by_time.true, by_time.doubt) == (600.0, 25, Fraction(17, 240))
    assert (by_time.lowest, by_time.highest) == (24.83, 25.17)  # the tolerance of 0.25 L less 0.0708 L
    assert (by_quantity.doubt, by_quantity.lowest, by_quantity.highest) == (0, 11.88, 12.12)
    assert "64.7 to 65.3 min" in by_time.remark
    assert by_time.verdict(Fraction("24.8")) is Verdict.UNDECIDED
    for poor in (Generator("1 Hz", "60 %"), Generator("600 Hz", "25 %")):  # the latter: 600 Hz ± 600 Hz
        with pytest.raises(QuantityError, match="uncertainty"):
            indicator.bench_points(asked, "1 %", generator=poor)


@pytest.mark.parametrize(
    ("intended", "step", "displayed", "held", "verdict"),
    [
        ("11412.4 pulse/L", "1 pulse/L", "11412 pulse/L", "11412 pulse/L", "accept"),
        ("11412.4 pulse/L", "1 pulse/L", "11413 pulse/L", "11412 pulse/L", "reject"),
        ("11412.4 pulse/L", "1 pulse/L", "11421 pulse/L", "11412 pulse/L", "reject"),
        ("0.8034 kg/L", "0.001 kg/L", "0.803 kg/L", "0.803 kg/L", "accept"),
        (KFactor(11_415, per="L"), "10 pulse/L", "11420 pulse/L", "11420 pulse/L", "accept"),
        ("11500 pulse/L", "230 pulse/L", "11500 pulse/L", "11500 pulse/L", "accept"),
        ("100 L", "101 L", "101 L", "101 L", "accept"),  # 1 % off at most
        ("11412 pulse/L", "1000 pulse/L", "11000 pulse/L", "11000 pulse/L", "undecided"),  # 3.6 % of the fuel
        ("0.8034 kg/L", "0.5 kg/L", "1.0 kg/L", "1.0 kg/L", "undecided"),
    ],
)
def test_stored_equals_intended(intended, step, displayed, held, verdict):
    found = check_stored(intended, step=step, displayed=displayed)
    assert (found.held, found.verdict.value) == (held, verdict)
    assert verdict != "undecided" or (", +" if found.difference > 0.0 else ", -") in found.because
    assert verdict in repr(found)
    json.dumps(found.as_dict(), allow_nan=False)


@pytest.mark.parametrize(
    ("steps", "displayed", "verdict"),
    [
        (("6.725 lb/gal", "0.05 lb/gal"), ["6.70 lb/gal", "6.75 lb/gal"], "accept"),  # each is 0.025 off
        (("6.725 lb/gal", "0.05 lb/gal"), ["6.65 lb/gal", "6.80 lb/gal", "6.725 lb/gal"], "reject"),
        (("11412.5 pulse/L", "1 pulse/L"), ["11412 pulse/L", "11413 pulse/L"], "accept"),
        (("11412.4 pulse/L", "1 pulse/L"), ["11413 pulse/L"], "reject"),
        (("0.80 kg/L", "0.02 kg/L"), ["0.79 kg/L", "0.81 kg/L"], "reject"),  # half a step off, and no step
    ],
)
def test_each_of_two_steps_as_near_is_the_nearest(steps, displayed, verdict):
    found = [check_stored(steps[0], step=steps[1], displayed=each) for each in displayed]
    assert [each.verdict.value for each in found] == [verdict] * len(displayed)
    assert verdict != "accept" or [each.held for each in found] == displayed


@pytest.mark.parametrize("displayed", ["1412 pulse/L", "14112 pulse/L"])
def test_a_slip_of_a_digit_in_what_is_stored_is_named(displayed):
    assert "digit" in repr(check_stored("11412 pulse/L", step="1 pulse/L", displayed=displayed))


@pytest.mark.parametrize(
    ("intended", "step", "fits"),
    [
        ("6.7 kg/L", "0.01 kg/L", "6.7 lb/gal"),  # 8.3 times the density of Jet A: no liquid has it
        ("804 kg/L", "1 kg/L", "804 kg/m^3"),
        ("0.804 lb/gal", "0.001 lb/gal", "0.804 kg/L"),
        ("1e9 pulse/L", "1 pulse/L", "1e6 pulse/L"),
        ("11412 pulse/mL", "1 pulse/mL", "11412 pulse/L"),
    ],
)
def test_what_no_fuel_or_transducer_has_is_not_stored(intended, step, fits):
    """By the rules of fixed densities, 500 to 1200 kg/m³, and of K-factors, a million pulses per litre."""
    for written in (intended, pint.Quantity(intended)) if "pulse" not in intended else (intended,):
        with pytest.raises(FuelUnitsError, match=r"no density of a liquid fuel|more than transducers give"):
            check_stored(written, step=step, displayed=intended)
    unit = fits.split()[1]
    assert check_stored(fits, step=f"0.001 {unit}", displayed=fits).verdict.value == "accept"


def test_a_k_factor_that_somebody_insists_on_is_stored():
    meant = KFactor(2_000_000, per="L", insist=True)
    assert check_stored(meant, step="1 pulse/L", displayed="2000000 pulse/L").verdict.value == "accept"


def test_a_mistake_in_what_is_stored_is_named():
    found = check_stored("11412 pulse/L", step="1 pulse/L", displayed="43199 pulse/L")
    assert "gal" in found.because
    for wrong in (
        {"step": "1"},
        {"step": "1 kg/L"},
        {"displayed": 11412},
        {"step": "50000 pulse/L"},
        {"displayed": "0 pulse/L"},
    ):
        with pytest.raises(FuelUnitsError):
            check_stored("11412 pulse/L", **{"step": "1 pulse/L", "displayed": "11412 pulse/L"} | wrong)


def test_missing_values_survive_and_masked_ones_are_refused():
    indicator = Indicator("36000 pulse/L", reads="L/h", resolution="0.1 L/h")
    reading = indicator.reading(pint.Quantity(np.array([100.0, np.nan]), "Hz")).magnitude
    np.testing.assert_array_equal(reading, [10.0, np.nan])
    hz = np.ma.masked_array([100.0, 200.0], [False, True])
    with pytest.raises(FuelUnitsError, match="masked"):
        indicator.reading(pint.Quantity(hz, "Hz"))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Generator("0 Hz"), "positive"),
        (lambda: BenchSheet("11412 pulse/L", ["60 L/h"], "2 %"), "an Indicator"),
        (lambda: Generator("0.1 Hz", "-1 %"), "uncertainty"),
        (lambda: Generator(0.1), "no unit"),
        (lambda: LowFuelPoint(LowFuelByTime("25 min"), 60, "90 L"), "no unit"),
        (lambda: LowFuelPoint("25 min", "60 L/h", "90 L"), "threshold"),
        (lambda: GAL_H.bench_points(["1e-9 L"], "2 %"), "pulse"),
        (
            lambda: replace(LINE, k_factor=["11412 pulse/L", "1 pulse/L"], feed_less_return=False).bench_points(
                ["0.2 L"], "2 %"
            ),
            "less than a pulse of each",
        ),
        (lambda: GAL_H.bench_points(["10 kg"], "2 %"), "10 kg.*a mass.*density"),
        (lambda: GAL_H.bench_points(["12 gal/h", "50 lb/h"], "2 %"), "50 lb/h.*no fixed density"),
        (lambda: GAL_H.bench_points(["5"], "2 %"), "'5 gal/h', '5 Hz' or '5 gal'"),
        (lambda: LB_H.bench_points(["60 lb/h"], "2 %").filled(as_left=["27.3 kg/h"]), "in lb/h"),
        (lambda: LB_H.bench_points(["60 lb/h"], "2 %").filled(as_left=[""]), "None for one not taken"),
        (lambda: LowFuelByTime("0:25"), "cannot read .:25"),
        (lambda: LOW_FUEL.filled(as_left=["125 min"]), "fuel left when the warning came"),
        (lambda: GAL_H.bench_points(["60 L/h"], "2 %", generator="0.1 Hz"), "Generator"),
        (lambda: GAL_H.bench_points(["60 L/h"], measured("1 L/h", "0.1 L/h", name="x")), "tolerance"),
    ],
)
def test_refusals_of_points(call, words):
    with pytest.raises(FuelUnitsError, match=words):
        call()


def test_the_column_of_a_low_fuel_point_is_the_fuel_left():
    assert "fuel left at the warning, gal" in LOW_FUEL.report().tables[0].heads


def test_bench_sheet_of_two_channels():
    twin = Indicator(K, reads="lb/h", fixed_density="6.7 lb/gal", resolution="0.5 lb/h", channels=2)
    sheet = twin.bench_points(["10 gal/h", pint.Quantity(20.0, "gallon/hour")], pint.Quantity(1.0, "pound/hour"))
    assert "both channels at once" in str(sheet)
    assert "59.98" in str(sheet)
    assert CAUTION.split(":")[0] in str(sheet)
    assert json.loads(json.dumps(sheet.as_dict()))["rows"][0]["expected"] == 67.0
    by_ratio = LB_H.bench_points(["10 gal/h"], pint.Quantity(0.02, "")).points
    assert by_ratio == LB_H.bench_points(["10 gal/h"], "2 %").points


@pytest.mark.parametrize("generator", [None, Generator("0.01 Hz", "0.005 %")])
@pytest.mark.parametrize(
    ("indicator", "points"),
    [
        (LB_H, ["3 lb/h", "10.5 lb/h", "84.25 lb/h", "119.961 Hz", "25.5 gal"]),
        (LINE, [("120.123 L/h", "90.456 L/h"), ("382.302 Hz", "282.15 Hz")]),
        (
            Indicator("11412 pulse/L", reads="imp_gal/min", resolution="0.001 imp_gal/min", channels=3),
            ["0.5 imp_gal/min", LowFuelPoint(LowFuelByTime("25 min"), "60.25 L/h", "90.5 L"), "1234.5 L"],
        ),
        (
            Indicator(["11412 pulse/L", "11286 pulse/L", "11300 pulse/L"], reads="L/h", channels=3),
            ["1234.5 L/h", "54321 L", LowFuelPoint(LowFuelByQuantity("12 L"), "60.25 L/h", "90.5 L")],
        ),
    ],
)
def test_a_sheet_fits_on_a_page_with_one_caution(indicator, points, generator):
    empty = indicator.bench_points(points, "5 %", generator=generator)
    found = ["0 " + point.unit for point in empty.points]
    for sheet in (empty, empty.filled(as_found=found), empty.filled(as_found=found, as_left=found)):
        assert max(map(len, str(sheet).splitlines())) <= 80
        assert str(sheet).count("Caution") == sheet._repr_html_().count("Caution") == 1


def test_an_answer_about_a_rejected_batch_says_so():
    """Jet A of 0.72 kg/L is avgas: whatever is computed of it is not of jet fuel."""
    rejected, accepted = (
        fuel("Jet A").measured(text, at="15 degC", uncertainty="0.3 kg/m^3") for text in ("0.72 kg/L", "0.8 kg/L")
    )
    tank, curve = (
        TankTable("left", BOX),
        MeterCurve([CalibrationPoint(hz, 11412.0, 0.0005) for hz in (40.0, 200.0, 600.0)]),
    )
    for batch, words in ((rejected, 1), (accepted, 0)):
        gauge = CapacitanceGauge(tank, [Probe("48 pF", "0 mm", "100 mm")], batch, "15 degC")
        answers = [
            LB_H.error_budget(batch, flow="80 lb/h", between=SPAN),
            gauge,
            gauge.error_with(batch, at="30 degC"),
            CapacitanceSheet(gauge, ["30 L"], "2 L", reads="L", box=CapacitanceBox("0.1 pF", "0.1 %")),
            best_setting(LB_H, curve, ["60 L/h"], fuel=batch, at="15 degC", k_step="1 pulse/L"),
            check_density("6.7 lb/gal", batch, between=SPAN, tolerance="5 %"),
            diagnose("90 kg", "100 kg", fuel=batch, at="15 degC"),
        ]
        assert [" ".join(each.report().remarks).count("is rejected") for each in answers] == [words] * len(answers)


def test_no_report_claims_more_of_a_fuel_than_its_typical_density():
    """Batches lie some 4 % to either side: a setting equals the typical density at a temperature, and is not right."""
    span = ("0 degC", "30 degC")
    check = check_density("6.7 lb/gal", "Jet A", between=span, tolerance="2 %")
    budget = LB_H.error_budget("Jet A", flow="80 lb/h", between=span)
    sheet = LB_H.bench_points(["80 lb/h"], "2 %")
    for report in (check, explain_density("6.7 lb/gal"), budget, sheet, sheet.filled(as_left=["80 lb/h"])):
        assert not re.search(r"exact(ly)? at|must (show|read)|(is|are) (right|correct)", str(report))
        assert "typical" in str(report) or "expected" in str(report)
    printed = float(re.search(r"typical density at:? ([-\d.]+) °C", str(check)).group(1))
    fixed = 6.7 * float(exact_factor("lb/gal", "kg/m^3"))
    assert fuel("Jet A").density_kg_m3(printed) == pytest.approx(fixed, rel=1e-4)  # 0.1 °C is 0.01 %


# records


@pytest.mark.parametrize(
    "made",
    [
        Indicator(K, reads="pph", fixed_density=pint.Quantity(0.803, "kg/L"), channels=2),
        LINE,
        Generator(pint.Quantity(0.1, "Hz"), pint.Quantity(0.01, "percent")),
        LowFuelByTime(pint.Quantity(0.1, "hour")),
        LowFuelByQuantity(pint.Quantity(0.1, "gallon")),
        LowFuelPoint(LowFuelByQuantity("9.1 gal"), pint.Quantity(0.1, "gallon/hour"), "90 L"),
        check_stored(K, step="1 pulse/gal", displayed=" 43186 pulse/gal"),
        LB_H.bench_points(["10 gal/h", "9 kg"], "2 %", generator=Generator("0.1 Hz")).filled(
            as_found=["67 lb/h", None]
        ),
        LINE.bench_points([["120 L/h", "90 L/h"]], pint.Quantity(1, "L/hour")),
        FillUp(indicated="100 gal", delivered=pint.Quantity(0.1, "gallon"), display_step="0.1 gal", truck_factor=1),
        compare_fill_ups("11412 pulse/L", [FillUp(indicated="400 L", delivered="399 L")], truck_uncertainty="0.2 %"),
        TankTable("left", [("0 mm", "0 L"), [pint.Quantity(0.1, "inch"), "2 L"]]),
        Probe("48 pF", "0 mm", pint.Quantity(0.1, "m")),
        CapacitanceGauge(TankTable("left", BOX), [Probe("48 pF", "0 mm", "100 mm")], "Jet A", "59 degF"),
        RESERVES[0],
    ],
    ids=lambda made: type(made).__name__,
)
def test_a_record_is_made_again_from_what_it_was_made_of(made):
    again = type(made)(**{each.name: getattr(made, each.name) for each in fields(made) if each.init})
    assert again == made
    assert repr(again) == repr(made)
    texts = {each.name: getattr(made, each.name) for each in fields(made) if each.init}
    assert not any(isinstance(each, pint.Quantity) for each in texts.values())
    if hasattr(made, "as_dict"):  # what follows from the inputs stands in none of both
        named = {each.name for each in fields(made) if "verdict" in each.name} | {*made._plain, "caution"}
        assert set(made.as_dict()) == {each.name for each in fields(made) if each.init and each.repr} | named
    else:
        assert eval(repr(made)) == made


def test_a_step_of_pint_is_that_step():
    units = ONE_REGISTRY
    indicator = Indicator("11412 pulse/L", reads="L/h", resolution=0.1 * units.L / units.h)
    assert indicator == Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h")
    sheet = indicator.bench_points([60 * units.L / units.h], "2 %").filled(as_left=["60.1 L/h"])
    assert (sheet.points[0].expected, sheet.verdict_as_left) == (60.0, Verdict.ACCEPT)


# refusals


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: Indicator(K, reads="lb/h"), QuantityError, "fixed_density"),
        (lambda: Indicator(K, reads="gal/h", fixed_density="6.7 lb/gal"), QuantityError, "leave it out"),
        (lambda: Indicator(K, reads="lb/h", fixed_density=6.7), QuantityError, "density.*no unit"),
        (lambda: Indicator(K, reads="lb/h", fixed_density="-6.7 lb/gal"), QuantityError, "density"),
        (lambda: Indicator(K, reads="lb/h", fixed_density="6.7 gal/h"), DimensionError, "density"),
        (lambda: Indicator(K, reads="gal"), DimensionError, "reads"),
        (lambda: Indicator(K, reads="kph"), FuelUnitsError, "ambiguous"),
        (lambda: Indicator(43_186, reads="gal/h"), QuantityError, "K-factor"),
        (lambda: Indicator(K, reads="gal/h", resolution=0.1), QuantityError, "resolution.*no unit"),
        (lambda: Indicator(K, reads="gal/h", resolution="0 gal/h"), QuantityError, "resolution"),
        (lambda: Indicator(K, reads="gal/h", resolution="1 lb/h"), DimensionError, "resolution"),
        (lambda: Indicator(K, reads="gal/h", low_flow_cutoff="-1 gal/h"), QuantityError, "low_flow_cutoff"),
        (lambda: Indicator(K, reads="gal/h", channels=0), QuantityError, "channels"),
        (lambda: Indicator(K, reads="gal/h", channels=65), QuantityError, "from 1 to 64"),
        (lambda: Indicator(K, reads="gal/h", channels=3, feed_less_return=True), QuantityError, "two channels"),
        (lambda: Indicator(K, reads="gal/h", channels=True), QuantityError, "channels"),
        (lambda: GAL_H.reading(99.8), QuantityError, "frequency.*no unit"),
        (lambda: GAL_H.reading("-1 Hz"), QuantityError, "frequency"),
        (lambda: Indicator("1 pulse/L", reads="L/h").reading("1e307 Hz"), QuantityError, "too large"),
        (lambda: GAL_H.reading("12.5 gal/h"), DimensionError, "frequency"),
        (lambda: GAL_H.reading(["1 Hz", "2 Hz"]), QuantityError, "one for each"),
        (lambda: LINE.reading([pint.Quantity(np.ones(n), "Hz") for n in (2, 3)]), QuantityError, "one shape"),
        (lambda: GAL_H.reading_of(12.5), QuantityError, "true_flow.*no unit"),
        (lambda: GAL_H.reading_of("80 lb/h"), DimensionError, "mass flow"),
        (lambda: GAL_H.reading_of("-1 gal/h"), QuantityError, "true_flow"),
        (lambda: GAL_H.reading_of("80 lb/h", FUEL), QuantityError, "give both"),
        (lambda: GAL_H.reading_of("80 lb/h", at="30 degC"), QuantityError, "give both"),
        (lambda: GAL_H.reading_of("80 lb/h", "Jet Z", "30 degC"), FuelUnitsError, "fuel"),
        (lambda: GAL_H.reading_of("80 lb/h", 5, "30 degC"), FuelUnitsError, "fuel"),
        (lambda: GAL_H.bench_points(["10 gal/h"], "2"), QuantityError, "2 %"),
        (lambda: GAL_H.reading_of("80 lb/h", FUEL, 30), QuantityError, "at"),
        (lambda: GAL_H.reading_of("80 lb/h", FUEL, "500 degC"), OutOfRange, "temperature"),
        (lambda: GAL_H.reading_of("8 gal/h", true_k=43_186), QuantityError, "K-factor"),
        (lambda: LB_H.error_budget(flow="80 lb/h"), QuantityError, "fuel and between"),
        (lambda: LB_H.error_budget(FUEL, flow="80 lb/h"), QuantityError, "fuel and between"),
        (lambda: GAL_H.error_budget(FUEL, flow="8 gal/h", between=SPAN), QuantityError, "assumes no density"),
        (lambda: LB_H.error_budget(FUEL, flow="5 lb/h", between=SPAN), QuantityError, "shows 0"),
        (lambda: LB_H.error_budget(FUEL, flow="80 lb/h", between=SPAN[::-1]), QuantityError, "between"),
        (lambda: GAL_H.error_budget(flow="8 gal/h", k_at_flow=-0.004), QuantityError, "k_at_flow"),
        *(
            (lambda wrong=wrong: GAL_H.error_budget(flow="8 gal/h", k_at_flow=wrong), FuelUnitsError, "k_at_flow")
            for wrong in ("-100 %", "2 lb/h", 0.02, "1e999 %", pint.Quantity(np.nan, ""), pint.Quantity(np.inf, ""))
        ),
        (lambda: LINE.error_budget(flow="30 L/h"), QuantityError, "feed and return"),
        (lambda: LINE.error_budget(flow=("90 L/h", "120 L/h")), QuantityError, "return"),
        (lambda: LINE.error_budget(flow=("100 Hz", "90 Hz")), DimensionError, "flow"),
        (lambda: GAL_H.error_budget(flow="8 gal/h", gate_time="0.001 s"), QuantityError, "longer"),
        (lambda: GAL_H.error_budget(flow="8 gal/h", smoothing="10 s"), QuantityError, "give both"),
        (lambda: GAL_H.bench_points("10 gal/h", "2 %"), QuantityError, "flows: give a list"),
        (lambda: GAL_H.bench_points([], "2 %"), QuantityError, "flows: give a list"),
        (lambda: GAL_H.bench_points({"10 gal/h", "20 gal/h"}, "2 %"), QuantityError, "flows: give a list"),
        (lambda: GAL_H.bench_points([10.0], "2 %"), QuantityError, "flow.*no unit"),
        (lambda: GAL_H.bench_points(["10 lb/h"], "2 %"), DimensionError, "density"),
        (lambda: GAL_H.bench_points(["10 gal/h"], 2.0), QuantityError, "tolerance.*bare number 2.0.*'2 %'"),
        (lambda: GAL_H.bench_points(["10 gal/h"], "-2 %"), QuantityError, "tolerance"),
        (lambda: GAL_H.bench_points(["10 gal/h"], "2 lb/h"), DimensionError, "tolerance"),
    ],
)
def test_refusals(call, error, words):
    with pytest.raises(error, match=words) as refusal:
        call()
    assert isinstance(refusal.value, FuelUnitsError)


def test_channels_of_one_k_factor_are_one_setting():
    assert Indicator(K, reads="L/h", channels=64).channels == 64
    each, both = (Indicator(k, reads="L/h", channels=2) for k in (["11412 pulse/L"] * 2, "11412 pulse/L"))
    assert each == both
    assert str(each) == str(both)


def test_a_total_of_feed_less_return_is_refused():
    with pytest.raises(QuantityError, match="10 L; feed less return"):
        LINE.bench_points(["10 L"], "2 %")


def test_a_step_that_hides_the_tolerance_is_named():
    point = Indicator(K, reads="L/h", resolution="1 L/h", truncates=True).bench_points(["20 L/h"], "2 %").points[0]
    assert "step of 1 L/h" in point.undecided
    assert not Indicator(K, reads="L/h").bench_points(["20 L/h"], "2 %").points[0].undecided


@pytest.mark.parametrize("kind", [dict, lambda each: pytest.importorskip("pandas").DataFrame([each])])
def test_names_of_points_are_no_readings(kind):
    """A row of a file by the names of its columns: every reading is 25 % high, and its names would all be right."""
    sheet = Indicator(K, reads="L/h", resolution="0.1 L/h").bench_points(["20 L/h", "60 L/h"], tolerance="1 %")
    row = {"20 L/h": "25.0 L/h", "60 L/h": "75.0 L/h"}
    with pytest.raises(QuantityError, match="give a list"):
        sheet.filled(as_left=kind(row))
    assert "reject" in str(sheet.filled(as_left=[*row.values()]).report().verdict)
    read = sheet.filled(as_left=[*row])
    with pytest.raises(QuantityError, match="give a list"):
        read.filled(as_left=[])
    assert read.filled(as_found=[*row]).as_left == read.as_left


@pytest.mark.parametrize("truncates", [False, True])
@pytest.mark.parametrize("less", [False, True])
def test_no_sheet_accepts_a_dead_channel_that_a_display_step_hides(less, truncates):
    """What truly happens: the second channel, of 0.7 to 1.3 tolerances of the flow, is dead; steps of 1 L/h."""
    rng, k, accepted, sound = np.random.default_rng(31), 10_000, 0, 0
    line = Indicator([f"{k} pulse/L"] * 2, reads="L/h", resolution="1 L/h", channels=2, feed_less_return=less,
                     truncates=truncates)  # fmt: skip
    for _ in range(150):
        share, count = rng.choice([0.01, 0.03, 0.05]), int(rng.integers(1, 4))
        first = rng.uniform(60.0, 300.0, count).round(1)
        second = (first * share * rng.uniform(0.7, 1.3, count)).round(1)
        asked = [(f"{one} L/h", f"{other} L/h") for one, other in zip(first, second, strict=True)]
        sheet = line.bench_points(asked, f"{100.0 * share:g} %")
        dead, right = (line.display.readings(each) for each in (first, first + second * (-1.0 if less else 1.0)))
        accepted += sheet.filled(as_left=[f"{each:g} L/h" for each in dead]).verdict_as_left is Verdict.ACCEPT
        sound += sheet.filled(as_left=[f"{each:g} L/h" for each in right]).verdict_as_left is Verdict.ACCEPT
    assert (accepted, sound > 0) == (0, True)


def test_a_flow_at_the_very_cutoff_is_displayed():
    """Below it zero is shown, which is 100 % low; at it nothing is, of a K without error."""
    line = Indicator("11412 pulse/L", reads="L/h", low_flow_cutoff="20 L/h")
    (worst,) = line.error_budget(flow="20 L/h").worst
    assert (worst.low, worst.high) == (0.0, 0.0)


def test_a_reading_of_one_flow_is_refused_where_feed_and_return_are_two():
    line = Indicator(["11412 pulse/L"] * 2, reads="L/h", channels=2, feed_less_return=True)
    with pytest.raises(QuantityError, match="true_flow: feed and return"):
        line.reading_of("50 L/h")


def test_a_warning_is_expected_after_one_time_where_both_are_printed_alike():
    plain = Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h")
    point = LowFuelPoint(LowFuelByTime("25 min"), "60 L/h", "90 L")
    for uncertainty, times in (("0.01 %", 1), ("1 %", 2)):
        sheet = plain.bench_points([point], "2 %", generator=Generator("0.1 Hz", uncertainty))
        after = re.search(r"expected after (.*) min", " ".join(str(sheet).split()))[1]
        assert len(set(after.split(" to "))) == after.count(" to ") + 1 == times
