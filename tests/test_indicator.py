"""The indicator against its own physics: f = qK both ways, unit invariance, and budgets against simulation."""

import json
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelunits.errors import DimensionError, FuelUnitsError, OutOfRange, QuantityError
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.volume_correction import ctpl
from fuelunits.indicators.display import decimals, displayed
from fuelunits.indicators.error_budget import ErrorPart, combined
from fuelunits.indicators.indicator import Indicator
from fuelunits.meters.k_factor import KFactor
from fuelunits.reports import CAUTION
from fuelunits.units import exact_factor

K = KFactor(28_740, per="gal")


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
LB_H = Indicator(K, reads="lb/h", fixed_density="6.7 lb/gal", resolution="1 lb/h", low_flow_cutoff="10 lb/h")
SMOOTH_LB_H = Indicator(K, reads="lb/h", fixed_density="6.7 lb/gal")

flows = st.floats(0.1, 1e4)


# the display


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from(["0.1", "0.01", "0.2", "0.25", "0.5", "1", "2", "5", "10"]))
def test_whole_and_half_steps(steps, step):
    size = Fraction(step)
    whole, half = float(steps * size), float((steps + Fraction(1, 2)) * size)
    assert displayed(whole, step=float(step)) == displayed(whole, step=size) == whole
    assert displayed(half, step=size) == float((steps + 1) * size)


@settings(max_examples=50, deadline=None)
@given(st.floats(0.0, 1e5), st.sampled_from([0.1, 0.5, 1.0, 5.0]))
def test_display_is_within_half_a_step(flow, step):
    assert abs(displayed(flow, step=step) - flow) <= step * (0.5 + 1e-6)


def test_cutoff_is_compared_before_rounding():
    assert displayed(9.99, step=1.0, cutoff=10.0) == 0.0
    assert displayed(10.0, step=1.0, cutoff=10.0) == 10.0
    assert displayed(4.6, step=1.0, cutoff=5.0) == 0.0
    assert displayed(9.99) == 9.99


@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3)])
def test_display_shapes(shape):
    flow = np.full(shape, 12.25)
    before = flow.copy()
    got = displayed(flow, step=0.1, cutoff=1.0)
    assert np.shape(got) == shape
    assert np.all(got == displayed(12.25, step=0.1, cutoff=1.0))
    assert np.array_equal(flow, before)


def test_display_of_nan_and_lists():
    assert np.isnan(displayed(float("nan"), step=0.1, cutoff=1.0))
    assert np.isnan(displayed(np.array([np.nan, 3.0]), step=0.1, cutoff=5.0)).tolist() == [True, False]
    assert displayed([0.26, 3], step=0.1).tolist() == [0.3, 3.0]
    assert type(displayed(3)) is float


def test_decimals():
    assert [decimals(Fraction(text)) for text in ("1", "0.5", "0.25", "10")] == [0, 1, 2, 0]
    assert decimals(Fraction(1, 3)) == 6


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
    """3600 · 99.8 / 28740 = 12.50104... gal/h; times 6.7 is 83.757 lb/h."""
    assert GAL_H.reading("99.8 Hz").m_as("gallon/hour") == pytest.approx(3600 * 99.8 / 28740, rel=1e-15)
    assert LB_H.reading("99.8 Hz").m_as("pound/hour") == 84.0
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
    shown = SMOOTH_LB_H.reading_of("80 lb/h", FUEL, "40 degC").m_as("pound/hour")
    expected = 80.0 * 6.7 * float(exact_factor("lb/gal", "kg/m^3")) / FUEL.density_kg_m3(40.0)
    assert shown == pytest.approx(expected, rel=1e-13)
    assert shown > 82.0


def test_true_k():
    assert GAL_H.reading_of("10 gal/h", true_k="29000 pulse/gal").magnitude == pytest.approx(290000 / 28740, rel=1e-14)
    error = K.indication_error(KFactor(29_000, per="gal"))
    assert GAL_H.reading_of("10 gal/h", true_k=KFactor(29_000, per="gal")).magnitude == pytest.approx(10 * (1 + error))


@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3)])
def test_reading_shapes(shape):
    ureg = pint.UnitRegistry()
    hz = np.full(shape, 99.8)
    before = hz.copy()
    got = LB_H.reading(ureg.Quantity(hz, "Hz"))
    assert type(got) is ureg.Quantity
    assert np.shape(got.magnitude) == shape
    assert np.all(got.magnitude == 84.0)
    of = LB_H.reading_of(ureg.Quantity(np.full(shape, 80.0), "lb/hour"), FUEL, "40 degC")
    assert np.shape(of.magnitude) == shape
    assert np.all(of.magnitude == LB_H.reading_of("80 lb/h", FUEL, "40 degC").magnitude)
    assert np.array_equal(hz, before)


def test_nan_and_temperature_arrays():
    ureg = pint.UnitRegistry()
    assert np.isnan(LB_H.reading(ureg.Quantity([np.nan, 99.8], "Hz")).magnitude).tolist() == [True, False]
    temperatures = ureg.Quantity(np.array([-20.0, 40.0]), "degC")
    got = SMOOTH_LB_H.reading_of("80 lb/h", FUEL, temperatures)
    assert type(got) is ureg.Quantity
    each = [SMOOTH_LB_H.reading_of("80 lb/h", FUEL, text).magnitude for text in ("-20 degC", "40 degC")]
    assert got.magnitude == pytest.approx(each, rel=1e-14)


def test_two_registries():
    one, other = pint.UnitRegistry(), pint.UnitRegistry()
    built = Indicator(
        one.Quantity(28_740.0, "1/gallon"),
        reads="lb/h",
        fixed_density=other.Quantity(6.7, "lb/gallon"),
        resolution=one.Quantity(1.0, "lb/hour"),
        low_flow_cutoff=other.Quantity(10.0, "lb/hour"),
    )
    for registry in (one, other):
        reading = built.reading(registry.Quantity(99.8, "Hz"))
        assert type(reading) is registry.Quantity
        assert reading.m_as("lb/hour") == pytest.approx(84.0, rel=1e-12)
    true = other.Quantity(80.0, "lb/hour")
    assert type(built.reading_of(true, FUEL, one.Quantity(40.0, "degC"))) is other.Quantity


# the error budget


def _named(budget, name):
    return next(row for row in budget.rows if row.name.startswith(name))


def test_combining_by_hand():
    """3 % and 4 %: 7 % added, 5 % as root sum square, 7.12 % compounded; the step adds."""
    both = combined("", [ErrorPart("a", -0.03, 0.03), ErrorPart("b", -0.04, 0.04)], ErrorPart("step", 0.0, 0.0))
    assert (both.low_sum, both.high_sum) == (pytest.approx(-0.07), pytest.approx(0.07))
    assert both.root_sum_square == pytest.approx(0.05)
    assert both.high_compounded == pytest.approx(0.0712)
    stepped = combined("", [ErrorPart("a", 0.1, 0.1)], ErrorPart("step", -0.01, 0.01))
    assert (stepped.low_compounded, stepped.high_compounded) == (pytest.approx(0.09), pytest.approx(0.11))


@settings(max_examples=30, deadline=None)
@given(
    st.integers(27_000, 30_000),
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
    shown = SMOOTH_LB_H.reading_of("80 lb/h", FUEL, f"{high if warm else low} degC", true_k=here).magnitude
    this_fuel, any_batch = budget.combined
    extreme = this_fuel.high_compounded if warm else this_fuel.low_compounded
    assert shown / 80.0 - 1.0 == pytest.approx(extreme, abs=1e-12)
    edge = Kerosene(775.0 if warm else 840.0)
    shown = SMOOTH_LB_H.reading_of("80 lb/h", edge, f"{high if warm else low} degC", true_k=here).magnitude
    extreme = any_batch.high_compounded if warm else any_batch.low_compounded
    assert shown / 80.0 - 1.0 == pytest.approx(extreme, abs=1e-12)


def test_budget_parts():
    budget = LB_H.error_budget(FUEL, flow="80 lb/h", between=("-20 degC", "40 degC"), true_k="29000 pulse/gal")
    assert _named(budget, "K as entered").low == pytest.approx(29000 / 28740 - 1, rel=1e-12)
    assert _named(budget, "K at this flow").high == 0.0
    assert (_named(budget, "display").low, _named(budget, "display").high) == (-0.5 / 80, 0.5 / 80)
    cold, warm = (row for row in budget.rows if row.name.startswith("fixed density, invented kerosene at"))
    assert cold.low == cold.high < 0.0 < warm.low == warm.high
    limits = [row for row in budget.rows if "limits" in row.name]
    assert len(limits) == 2
    assert all(row.low < row.high for row in limits)
    assert len(budget.combined) == 2
    this_fuel = budget.combined[0]
    assert this_fuel.low_sum == pytest.approx(29000 / 28740 - 1 + cold.low - 0.5 / 80, rel=1e-12)
    text = str(budget)
    for word in ("signed sum", "compounded", "root sum square", "-20 degC", "40 degC"):
        assert word in text
    assert text.endswith(CAUTION)
    assert json.loads(json.dumps(budget.as_dict())) == budget.as_dict() | {"caution": CAUTION}
    assert budget.as_dict()["rows"][0]["name"] == "K as entered"


@pytest.mark.parametrize("liquid", [Kerosene(), Unlimited(), OneLimit(), BATCH])
def test_budget_of_a_fuel_without_two_limits(liquid):
    budget = LB_H.error_budget(liquid, flow="80 lb/h", between=("-20 degC", "40 degC"))
    assert [total.name for total in budget.combined] == ["this fuel"]
    assert not any("limits" in row.name for row in budget.rows)


def test_budget_of_a_grade_spans_its_specification():
    """Jet A between 775 and 840 kg/m³ at 15 degC, the limits of its specification."""
    budget = LB_H.error_budget(fuel("Jet A"), flow="80 lb/h", between=("15 degC", "15 degC"))
    limits = next(row for row in budget.rows if "limits" in row.name)
    fixed = 6.7 * float(exact_factor("lb/gal", "kg/m^3"))
    assert (limits.low, limits.high) == (pytest.approx(fixed / 840.0 - 1.0), pytest.approx(fixed / 775.0 - 1.0))


def test_budget_of_a_volume_indicator_has_no_density():
    budget = Indicator(K, reads="gal/h", resolution="0.1 gal/h").error_budget(flow="10 gal/h")
    assert [row.name for row in budget.rows] == ["K as entered", "K at this flow and viscosity", "display step"]
    assert budget.combined[0].root_sum_square == pytest.approx(0.005, rel=1e-12)


# the bench sheet


def test_bench_points_by_hand():
    """10 gal/h is 10 · 28740 / 3600 = 79.8333 Hz, 4790 pulses a minute, 67 lb/h; 2 % of it is 1.34 lb/h."""
    (row,) = LB_H.bench_points(["10 gal/h"], "2 %").rows
    assert row.frequency_hz == pytest.approx(28740 / 360, rel=1e-15)
    assert row.pulses_per_minute == 4790.0
    assert (row.shows, row.lowest, row.highest) == (67.0, 66.0, 68.0)
    (row,) = LB_H.bench_points(["10 gal/h"], "3 lb/h").rows
    assert (row.shows, row.lowest, row.highest) == (67.0, 64.0, 70.0)


@settings(max_examples=50, deadline=None)
@given(st.decimals("1", "500", places=1), st.sampled_from(["gal/h", "lb/h", "L/h"]), st.integers(1, 3))
def test_bench_points_read_as_they_say(flow, unit, channels):
    for indicator in (
        Indicator(K, reads="L/h", resolution="0.1 L/h", channels=channels),
        Indicator(K, reads="lb/h", fixed_density="6.7 lb/gal", resolution="1 lb/h", channels=channels),
    ):
        if unit == "lb/h" and indicator.fixed_density_kg_m3 is None:
            continue
        (row,) = indicator.bench_points([f"{flow} {unit}"], "2 %").rows
        assert indicator.reading(pint.Quantity(row.frequency_hz, "hertz")).magnitude == row.shows
        assert row.lowest <= row.shows <= row.highest
        if unit != "lb/h":
            assert indicator.reading_of(f"{flow} {unit}").magnitude == row.shows
        for reading, edge in ((row.lowest, 0.98), (row.highest, 1.02)):
            injected = pint.Quantity(row.frequency_hz * edge, "hertz")
            assert indicator.reading(injected).magnitude == pytest.approx(reading, abs=1e-9)


def test_bench_sheet_around_the_cutoff():
    sheet = LB_H.bench_points(["9 lb/h", "10.1 lb/h", "0 lb/h"], "2 %")
    assert [(row.shows, row.lowest, row.highest) for row in sheet.rows] == [(0, 0, 0), (10, 0, 10), (0, 0, 0)]


def test_bench_sheet_text():
    twin = Indicator(K, reads="lb/h", fixed_density="6.7 lb/gal", resolution="0.5 lb/h", channels=2)
    sheet = twin.bench_points(["10 gal/h", pint.Quantity(20.0, "gallon/hour")], pint.Quantity(1.0, "pound/hour"))
    text = str(sheet)
    assert "2 channels at once" in text
    assert "67.0" in text
    assert "39.917" in text
    assert text.splitlines()[0] == str(twin)
    assert text.endswith(CAUTION)
    assert json.loads(json.dumps(sheet.as_dict()))["rows"][0]["shows"] == 67.0
    assert sheet.as_dict()["caution"] == CAUTION
    assert LB_H.bench_points(["10 gal/h"], pint.Quantity(0.02, "")).rows == LB_H.bench_points(["10 gal/h"], "2 %").rows


# two indicators on one line


def test_litres_here_and_pounds_there():
    litres = Indicator(K, reads="L/h")
    both = litres.compare(SMOOTH_LB_H, "99.8 Hz", fuel=FUEL, at="30 degC")
    assert both.implied_density_kg_m3 == pytest.approx(float(6.7 * exact_factor("lb/gal", "kg/m^3")), rel=1e-13)
    assert both.fuel_density_kg_m3 == FUEL.density_kg_m3(30.0)
    assert both.ratio == pytest.approx(6.7 / 3.785411784, rel=1e-13)
    back = SMOOTH_LB_H.compare(litres, "99.8 Hz")
    assert back.implied_density_kg_m3 == pytest.approx(both.implied_density_kg_m3, rel=1e-14)
    assert back.ratio == pytest.approx(1.0 / both.ratio, rel=1e-14)
    assert both.relative_difference is None
    assert "imply a density of 802.8" in str(both)
    assert str(both).endswith(CAUTION)
    assert json.loads(json.dumps(both.as_dict())) == both.as_dict()


def test_one_flow_two_transducers():
    other = Indicator("7600 pulse/L", reads="L/h")
    both = GAL_H.compare(other, "10 gal/h", true_k="29000 pulse/gal", other_true_k="7524 pulse/L")
    assert both.relative_difference == pytest.approx(0.99 / (29000 / 28740) - 1.0, rel=1e-12)
    assert both.implied_density_kg_m3 is None
    assert "second differs from first by -1.89%" in str(both)
    by_mass = GAL_H.compare(SMOOTH_LB_H, "80 lb/h", fuel=FUEL, at="40 degC")
    assert by_mass.second == SMOOTH_LB_H.reading_of("80 lb/h", FUEL, "40 degC").magnitude


def test_comparison_below_a_cutoff_implies_nothing():
    both = GAL_H.compare(LB_H, "10 Hz")
    assert both.second == 0.0
    assert both.implied_density_kg_m3 is None
    nothing = LB_H.compare(GAL_H, "10 Hz")
    assert nothing.ratio is None
    assert str(nothing).splitlines()[0] == "first shows 0 lb/h, second shows 1.25261 gal/h"
    assert "second over first" not in str(nothing)


# refusals

SPAN = ("-20 degC", "40 degC")


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
        (lambda: Indicator(28_740, reads="gal/h"), QuantityError, "K-factor"),
        (lambda: Indicator(K, reads="gal/h", resolution=0.1), QuantityError, "resolution.*no unit"),
        (lambda: Indicator(K, reads="gal/h", resolution="0 gal/h"), QuantityError, "resolution"),
        (lambda: Indicator(K, reads="gal/h", resolution="1 lb/h"), DimensionError, "resolution"),
        (lambda: Indicator(K, reads="gal/h", low_flow_cutoff="-1 gal/h"), QuantityError, "low_flow_cutoff"),
        (lambda: Indicator(K, reads="gal/h", channels=0), QuantityError, "channels"),
        (lambda: Indicator(K, reads="gal/h", channels=True), QuantityError, "channels"),
        (lambda: GAL_H.reading(99.8), QuantityError, "frequency.*no unit"),
        (lambda: GAL_H.reading("-1 Hz"), QuantityError, "frequency"),
        (lambda: GAL_H.reading("12.5 gal/h"), DimensionError, "frequency"),
        (lambda: GAL_H.reading(["1 Hz", "2 Hz"]), QuantityError, "one for each"),
        (lambda: GAL_H.reading_of(12.5), QuantityError, "true_flow.*no unit"),
        (lambda: GAL_H.reading_of("80 lb/h"), DimensionError, "mass flow"),
        (lambda: GAL_H.reading_of("-1 gal/h"), QuantityError, "true_flow"),
        (lambda: GAL_H.reading_of("80 lb/h", FUEL), QuantityError, "give both"),
        (lambda: GAL_H.reading_of("80 lb/h", at="30 degC"), QuantityError, "give both"),
        (lambda: GAL_H.reading_of("80 lb/h", "Jet A", "30 degC"), QuantityError, "fuel"),
        (lambda: GAL_H.reading_of("80 lb/h", FUEL, 30), QuantityError, "at"),
        (lambda: GAL_H.reading_of("80 lb/h", FUEL, "500 degC"), OutOfRange, "temperature"),
        (lambda: GAL_H.reading_of("8 gal/h", true_k=28_740), QuantityError, "K-factor"),
        (lambda: LB_H.error_budget(flow="80 lb/h"), QuantityError, "fuel and between"),
        (lambda: LB_H.error_budget(FUEL, flow="80 lb/h"), QuantityError, "fuel and between"),
        (lambda: GAL_H.error_budget(FUEL, flow="8 gal/h", between=SPAN), QuantityError, "assumes no density"),
        (lambda: LB_H.error_budget(FUEL, flow="5 lb/h", between=SPAN), QuantityError, "shows 0"),
        (lambda: LB_H.error_budget(FUEL, flow="80 lb/h", between=SPAN[::-1]), QuantityError, "between"),
        (lambda: GAL_H.error_budget(flow="8 gal/h", k_at_flow=-0.004), QuantityError, "k_at_flow"),
        (lambda: GAL_H.error_budget(flow="8 gal/h", k_at_flow="-100 %"), QuantityError, "k_at_flow"),
        (lambda: GAL_H.bench_points("10 gal/h", "2 %"), QuantityError, "list of flows"),
        (lambda: GAL_H.bench_points([], "2 %"), QuantityError, "list of flows"),
        (lambda: GAL_H.bench_points([10.0], "2 %"), QuantityError, "flow.*no unit"),
        (lambda: GAL_H.bench_points(["10 lb/h"], "2 %"), DimensionError, "density"),
        (lambda: GAL_H.bench_points(["10 gal/h"], 2.0), QuantityError, "tolerance"),
        (lambda: GAL_H.bench_points(["10 gal/h"], "-2 %"), QuantityError, "tolerance"),
        (lambda: GAL_H.bench_points(["10 gal/h"], "2 lb/h"), DimensionError, "tolerance"),
        (lambda: GAL_H.compare("another", "99.8 Hz"), QuantityError, "other is 'another'; write an Indicator"),
        (lambda: GAL_H.compare(LB_H, 99.8), QuantityError, "line"),
        (lambda: GAL_H.compare(LB_H, "99.8 Hz", true_k=K), QuantityError, "true_k"),
        (lambda: GAL_H.compare(LB_H, pint.Quantity(np.array([1.0, 2.0]), "Hz")), QuantityError, "array"),
        (lambda: GAL_H.compare(LB_H, "10 gal"), DimensionError, "line"),
    ],
)
def test_refusals(call, error, words):
    with pytest.raises(error, match=words) as refusal:
        call()
    assert isinstance(refusal.value, FuelUnitsError)
