"""Endurance, reserves and low-fuel thresholds, against published arithmetic and their own inverses."""

import json
import math
import re
from fractions import Fraction

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from registries import ONE_REGISTRY, OTHER_REGISTRY

from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError, SourceError
from fuelunits.indicators.endurance import (
    RESERVES,
    LowFuelByQuantity,
    LowFuelByTime,
    Reserve,
    endurance,
    first_to_trip,
    fuel_for,
    remaining,
)
from fuelunits.indicators.fuel_on_board import fuel_on_board
from fuelunits.reports import CAUTION
from fuelunits.sources import source
from fuelunits.uncertainty.measured import measured

JET = "6.7 lb/gal"
VFR_DAY_AIRPLANE, VFR_NIGHT_AIRPLANE, VFR_ROTORCRAFT, IFR_AIRPLANE, IFR_HELICOPTER = RESERVES
positive = st.decimals("0.1", "5000", places=2)


def _text(number, unit):
    return f"{number} {unit}"


@pytest.mark.parametrize(
    ("reserve", "litres"), [(VFR_DAY_AIRPLANE, 54), (VFR_NIGHT_AIRPLANE, 63), (VFR_ROTORCRAFT, 48)]
)
def test_fuel_with_the_reserve_of_14_cfr_91_151(reserve, litres):
    """By arithmetic: an hour's flight at 36 L/h, with 30, 45 or 20 minutes on top."""
    assert reserve.fuel_required("1 h", "36 L/h", "L").magnitude == pytest.approx(litres, rel=1e-12)


def test_reserve_minima():
    """14 CFR 91.151(a), (b) and 91.167(a)(3)."""
    minutes = {VFR_DAY_AIRPLANE: 30, VFR_NIGHT_AIRPLANE: 45, VFR_ROTORCRAFT: 20, IFR_AIRPLANE: 45, IFR_HELICOPTER: 30}
    assert {reserve: reserve.minutes for reserve in RESERVES} == minutes
    assert [reserve.source for reserve in RESERVES] == ["cfr14_91_151"] * 3 + ["cfr14_91_167"] * 2
    text = str(IFR_AIRPLANE)
    assert text.index("operator's own rules") < text.index("91.167(a)(3)")
    assert "45 min" in text
    assert source("cfr14_91_167").note in " ".join(IFR_AIRPLANE.report().remarks)
    with pytest.raises(SourceError):
        Reserve("of our own", 60, "", source="")


def test_reserve_crosses_by_density():
    pounds = IFR_AIRPLANE.fuel_required("1.25 h", "10 gal/h", "lb", density=JET)
    assert pounds.m_as("pound") == pytest.approx(2.0 * 67.0, rel=1e-12)


@settings(max_examples=50, deadline=None)
@given(positive, positive)
def test_endurance_and_fuel_for_are_inverses(hours, flow):
    fuel = fuel_for(_text(hours, "h"), _text(flow, "gal/h"), "gal")
    assert endurance(fuel, _text(flow, "gal/h")).m_as("hour") == pytest.approx(float(hours), rel=1e-12)


@settings(max_examples=50, deadline=None)
@given(positive, positive)
def test_endurance_does_not_depend_on_units(usable, flow):
    gallons = endurance(_text(usable, "gal"), _text(flow, "gal/h"))
    same = [
        endurance(fuel_for("1 h", _text(usable, "gal/h"), "L"), _text(flow, "gal/h")),
        endurance(_text(usable, "gal"), fuel_for("1 h", _text(flow, "gal/h"), "imp_gal") / pint.Quantity(1, "hour")),
        endurance(fuel_for("1 h", _text(usable, "gal/h"), "lb", density=JET), _text(flow, "gal/h"), density=JET),
    ]
    for other in same:
        assert other.m_as("hour") == pytest.approx(gallons.m_as("hour"), rel=1e-12)


@settings(max_examples=50, deadline=None)
@given(positive, positive, positive)
def test_first_to_trip_is_the_one_that_holds_more_fuel(minutes, gallons, flow):
    by_time, by_quantity = LowFuelByTime(_text(minutes, "min")), LowFuelByQuantity(_text(gallons, "gal"))
    trip = first_to_trip(by_time, by_quantity, _text(flow, "gal/h"))
    at_time = Fraction(minutes) * Fraction(flow) / 60
    expected = "both" if at_time == gallons else "time" if at_time > gallons else "quantity"
    assert trip.first == expected
    assert trip.lead_minutes == abs(at_time - Fraction(gallons)) / Fraction(flow) * 60
    meet = trip.coincide_per_hour
    assert meet * Fraction(minutes) / 60 == Fraction(gallons)


def test_thresholds_coincide():
    trip = first_to_trip(LowFuelByTime("25 min"), LowFuelByQuantity("5 gal"), "12 gal/h")
    assert (trip.first, trip.lead_minutes) == ("both", 0)
    assert "both trip" in repr(trip)
    faster = first_to_trip(LowFuelByTime("25 min"), LowFuelByQuantity("5 gal"), "12.01 gal/h")
    assert faster.first == "time"
    assert "within 0.1 min" in repr(faster)  # 25 min less 5/12.01 h are 0.02 min
    slower = first_to_trip(LowFuelByTime("25 min"), LowFuelByQuantity("5 gal"), "11.9 gal/h")
    assert slower.first == "quantity"
    assert "0.2 min" in repr(slower)  # 5/11.9 h are 25.21 min
    by_mass = first_to_trip(LowFuelByTime("25 min"), LowFuelByQuantity("5 gal"), "80.4 lb/h", density=JET)
    assert by_mass.first == "both"
    assert json.loads(json.dumps(trip.as_dict()))["coincide_per_hour"] == 12.0
    assert trip.as_dict()["caution"] == CAUTION


@settings(max_examples=50, deadline=None)
@given(positive, positive, st.sampled_from(["gal", "L", "imp_gal", "lb", "kg"]), st.sampled_from(["gal/h", "lb/min"]))
def test_each_threshold_is_the_other_at_a_flow(minutes, flow, unit, flow_unit):
    by_time, q = LowFuelByTime(_text(minutes, "min")), _text(flow, flow_unit)
    by_quantity = LowFuelByQuantity(fuel_for(by_time.time, q, unit, density=JET))
    assert endurance(by_quantity.quantity, q, density=JET).m_as("minute") == pytest.approx(float(minutes), rel=1e-12)


def test_thresholds_are_equal_where_their_numbers_are():
    assert LowFuelByTime("25 min") == LowFuelByTime("1500 s")
    assert hash(LowFuelByTime("25 min")) == hash(LowFuelByTime("1500 s"))


def test_remaining_reports_what_is_overdrawn():
    left = remaining("50 gal", "37.5 gal", "gal")
    assert (left.overdrawn, left.difference) == (False, 12.5)
    assert "12.5 gal remaining of 50 gal" in str(left)
    over = remaining("50 gal", "60 gal", "gal")
    assert (over.overdrawn, over.difference) == (True, -10)
    assert "10 gal more than the 50 gal" in str(over)
    for report in (left, over):
        assert CAUTION.split(":")[0] in str(report)
        assert json.loads(json.dumps(report.as_dict())) == report.as_dict()
    assert remaining("50 gal", "67 lb", "gal", density=JET).difference == 40
    assert "0 L remaining of 90 L" in repr(remaining("90 L", "90 L", "L"))
    assert "step too low" in str(remaining("90 L", "70 L", "L").report())
    overdrawn = [remaining("90 L", f"{used} L", "L").overdrawn for used in (89.5, 90, 90.5)]
    assert overdrawn == [False, False, True]
    assert ["per °C" in str(remaining(f"50 {unit}", f"1 {unit}", unit)) for unit in ("gal", "kg")] == [True, False]


def test_nothing_left_or_used_and_no_time_are_amounts():
    none, flow = measured("0 L", "1 L", name="none"), measured("60 L/h", "1 L/h", name="flow")
    assert endurance(none, flow).m.nominal_value == 0.0
    assert fuel_for("0 h", "60 L/h", "L").m == fuel_for("0 h", flow, "L").m.nominal_value == 0.0
    assert [remaining(*each, "L").difference for each in (("90 L", "0 L"), ("0 L", "0 L"))] == [90, 0]


def test_fuel_that_was_not_given_lacks_no_uncertainty():
    by_time, by_quantity = LowFuelByTime("25 min"), LowFuelByQuantity("30 L")
    flow = measured("60 L/h", "1 L/h", name="flow")
    for usable, is_named in ((None, False), ("90 L", True), (measured("90 L", "1 L", name="usable"), False)):
        remarks = first_to_trip(by_time, by_quantity, flow, usable=usable).report().remarks
        assert any("usable fuel" in each for each in remarks) is is_named


@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3)])
def test_shapes(shape):
    usable, ureg = np.full(shape, 50.0), ONE_REGISTRY
    before = usable.copy()
    got = endurance(ureg.Quantity(usable, "gallon"), "12.5 gal/h")
    assert np.shape(got.magnitude) == shape
    assert got.m_as("hour") == pytest.approx(np.full(shape, 4.0))
    assert np.array_equal(usable, before)


def test_nan_passes_and_scalars_are_floats():
    assert np.isnan(endurance(pint.Quantity([50.0, np.nan], "gal"), "12.5 gal/h").m).tolist() == [False, True]
    assert type(endurance(pint.Quantity(50, "gal"), "10 gal/h").m) is float


def test_registries_and_text():
    one, other = ONE_REGISTRY, OTHER_REGISTRY
    hours = endurance(one.Quantity(50.0, "gallon"), one.Quantity(12.5, "gallon/hour"))
    assert type(hours) is one.Quantity
    for mixed in (
        lambda: endurance(one.Quantity(50.0, "gallon"), other.Quantity(12.5, "gallon/hour")),
        lambda: remaining(one.Quantity(50.0, "gallon"), other.Quantity(12.5, "gallon"), "gal"),
        lambda: fuel_for(one.Quantity(1.0, "hour"), other.Quantity(12.5, "gallon/hour"), "gal"),
        lambda: first_to_trip(
            LowFuelByTime("25 min"),
            LowFuelByQuantity("5 gal"),
            one.Quantity(12.0, "gallon/hour"),
            usable=other.Quantity(50.0, "gallon"),
        ),
    ):
        with pytest.raises(QuantityError, match="two pint registries"):
            mixed()
    assert type(fuel_for("25 min", other.Quantity(12.0, "gallon/hour"), "gal")) is other.Quantity
    text = endurance("50 gal", "12.5 gal/h")
    assert text.m_as("hour") == hours.m_as("hour") == pytest.approx(4.0, rel=1e-14)
    assert LowFuelByTime(one.Quantity(25.0, "minute")) == LowFuelByTime("25 min")


# measured values


def test_measured_values_reach_the_answers():
    """90 L ± 2 L at 60 L/h ± 1 L/h: relative uncertainties 1/45 and 1/60, together 1/36, of 90 min."""
    usable, flow = measured("90 L", "2 L", name="usable"), measured("60 L/h", "1 L/h", name="flow")
    lasts = endurance(usable, flow).m_as("minute")
    assert (lasts.nominal_value, lasts.std_dev) == (pytest.approx(90.0), pytest.approx(2.5))
    by_mass = endurance("72 kg", flow, density=measured("0.8 kg/L", "0.008 kg/L", name="density")).m_as("minute")
    assert (by_mass.nominal_value, by_mass.std_dev) == (
        pytest.approx(90.0),
        pytest.approx(90 * (1e-4 + 1 / 3600) ** 0.5),
    )
    left = remaining(usable, "30 L", "L")
    assert left.difference.std_dev == pytest.approx(2.0)
    assert "56 to 64 L" in repr(left)
    assert left.as_dict()["difference"] == {"value": 60.0, "uncertainty": pytest.approx(2.0)}


def test_measured_values_reach_the_fuel_for_a_flight_and_its_reserve():
    """2 h ± 6 min and 30 min of reserve at 60 L/h ± 1 L/h: 150 L, ± 6 L of the time and ± 2.5 L of the flow."""
    flow, time = measured("60 L/h", "1 L/h", name="flow"), measured("2 h", "0.1 h", name="time")
    needed = fuel_for("2 h", flow, "L").magnitude
    assert (needed.nominal_value, needed.std_dev) == (pytest.approx(120.0), pytest.approx(2.0))
    with_reserve = VFR_DAY_AIRPLANE.fuel_required(time, flow, "L").magnitude
    assert (with_reserve.nominal_value, with_reserve.std_dev) == (pytest.approx(150.0), pytest.approx(6.5))
    generator = np.random.default_rng(4)
    density = measured("0.8 kg/L", "0.008 kg/L", name="density")
    drawn = (generator.normal(2.0, 0.1, 200_000) + 0.5) * generator.normal(60.0, 1.0, 200_000)
    drawn *= generator.normal(0.8, 0.008, 200_000)
    by_mass = VFR_DAY_AIRPLANE.fuel_required(time, flow, "kg", density=density).magnitude
    assert by_mass.std_dev == pytest.approx(drawn.std(), rel=0.01)
    assert endurance(measured("120 L", "2 L", name="fuel"), pint.Quantity([60.0, 30.0], "L/hour"))[1].m.std_dev == (
        pytest.approx(2 / 30)
    )
    for wrong in (
        lambda: fuel_for(measured("-1 h", "0.1 h", name="time"), "60 L/h", "L"),
        lambda: fuel_for("1 h", measured("-60 L/h", "1 L/h", name="flow"), "L"),
        lambda: VFR_DAY_AIRPLANE.fuel_required(measured("-1 min", "1 s", name="time"), "60 L/h", "L"),
    ):
        with pytest.raises(QuantityError, match="positive"):
            wrong()


def test_warnings_come_between_two_times_that_hold_in_a_simulation():
    generator = np.random.default_rng(20260101)
    by_time, by_quantity = LowFuelByTime("25 min"), LowFuelByQuantity("30 L")
    usable, flow = measured("90 L", "2 L", name="usable"), measured("60 L/h", "1 L/h", name="flow")
    trip = first_to_trip(by_time, by_quantity, flow, usable=usable)
    fuel, rate = generator.normal(90.0, 2.0, 100_000), generator.normal(60.0, 1.0, 100_000)
    for found, drawn in (
        (trip.minutes_to_time, fuel / rate * 60 - 25),
        (trip.minutes_to_quantity, (fuel - 30) / rate * 60),
    ):
        assert found.nominal_value == pytest.approx(drawn.mean(), abs=0.05)
        assert found.std_dev == pytest.approx(drawn.std(), rel=0.01)
    assert "60 to 70 min" in str(trip)
    assert trip.first == "quantity"
    assert "trips at 24.17 to 25.83 L" in str(trip)  # 25 min of 60 ± 2 L/h
    assert first_to_trip(by_time, by_quantity, measured("71 L/h", "1 L/h", name="flow")).first == "undecided"
    exact = first_to_trip(by_time, by_quantity, "60 L/h", usable="90 L")
    assert (exact.minutes_to_time, exact.minutes_to_quantity) == (65, 60)
    assert "at once" in str(first_to_trip(by_time, by_quantity, "60 L/h", usable="20 L"))
    for usable, words in (
        ("20 L", "by time and the warning by quantity are on"),
        ("27 L", "the warning by quantity is on"),
    ):
        on = first_to_trip(by_time, by_quantity, "60 L/h", usable=usable)
        assert words in repr(on)
        assert "before the other" not in str(on)


@pytest.mark.parametrize("relative", [0.02, 0.1])
def test_a_flow_in_doubt_is_divided_by_or_refused(relative):
    """True flows are drawn: fuel over each is outside U of the endurance in 5 % or so, of ± 15 % (k = 1) in 6.4 %."""
    found = endurance("80 L", measured("40 L/h", f"{100 * relative} %", name="flow")).m_as("hour")
    drawn = 80.0 / np.random.default_rng(2).normal(40.0, 40.0 * relative, 100_000)
    assert np.mean(np.abs(drawn - found.nominal_value) > 2.0 * found.std_dev) == pytest.approx(0.0455, abs=0.011)
    by_time, by_quantity = LowFuelByTime("25 min"), LowFuelByQuantity("30 L")
    vague = measured("40 L/h", "10.1 %", name="flow")
    for call in (lambda: endurance("80 L", vague), lambda: first_to_trip(by_time, by_quantity, vague)):
        with pytest.raises(QuantityError, match="10 %"):
            call()


def numbers(text):
    return [float(each) for each in re.findall(r"-?\d+\.?\d*", text)]


@pytest.mark.parametrize(("usable", "flow"), [(90.0, 60.0), (61.0, 80.0), (300.0, 31.0)])
def test_the_figures_printed_are_those_of_the_warnings(usable, flow):
    """Intervals of the expanded uncertainty (k = 2), of independent causes."""
    trip = first_to_trip(
        LowFuelByTime("25 min"), LowFuelByQuantity("30 L"),
        measured(f"{flow} L/h", "1 L/h", name="flow"), usable=measured(f"{usable} L", "2 L", name="usable"),
    )  # fmt: skip
    report = trip.report()
    assert numbers(report.title) == pytest.approx([flow - 2.0, flow + 2.0], rel=1e-3)
    facts = {name: numbers(words) for name, words in report.facts.items()}
    assert facts["low fuel by time, 25 min"] == pytest.approx([(flow - 2) * 25 / 60, (flow + 2) * 25 / 60], rel=1e-3)
    assert facts["low fuel by quantity, 30 L"] == pytest.approx([float(trip.coincide_per_hour)])
    for name, left, before in (("warning by time", usable, 25.0), ("warning by quantity", usable - 30.0, 0.0)):
        lasts = left / flow * 60.0
        u = lasts * math.hypot(2.0 / left, 1.0 / flow)
        assert facts[name] == pytest.approx([lasts - before - 2.0 * u, lasts - before + 2.0 * u], rel=2e-3)
    assert numbers(report.verdict) == pytest.approx([abs(25.0 - 30.0 / flow * 60.0)], abs=0.051)


@pytest.mark.parametrize("used", [20.0, 88.0, 89.5, 90.0, 90.5, 95.0, 120.0])
def test_the_figures_printed_are_those_of_the_fuel_remaining(used):
    start, gone = measured("90 L", "2 L", name="start"), measured(f"{used} L", "1.5 L", name="used")
    left = remaining(start, gone, "L")
    off, printed = 90.0 - used, numbers(repr(left))
    assert float(left.difference.nominal_value) == pytest.approx(off)
    assert left.overdrawn is (off < 0.0)
    assert ("undecided" in repr(left)) is (-5.0 <= off < 0.0)
    if "undecided" not in repr(left):
        interval = [abs(off) - 5.0, abs(off) + 5.0]
        assert printed == pytest.approx(
            [*interval, 86, 94] if off >= 0 else [used - 3, used + 3, *interval, 86, 94], abs=0.1
        )


def test_a_warning_comes_at_once_where_no_more_than_its_fuel_is_left():
    """At 60 L/h a litre lasts a minute: 25 min trip at 25 L."""
    by_time, by_quantity = LowFuelByTime("25 min"), LowFuelByQuantity("10 L")
    for usable, words in (("25.5 L", "after 0.5 min"), ("25 L", "at once"), ("24.5 L", "at once")):
        trip = first_to_trip(by_time, by_quantity, "60 L/h", usable=usable)
        facts = trip.report().facts
        assert words in facts["warning by time"]
        assert "after" in facts["warning by quantity"]
        assert ("on already" in repr(trip)) is ("at once" in words)
        assert "less" not in facts["warning by time"]  # exactly as much is left at 25 L
    assert "warning by time" not in first_to_trip(by_time, by_quantity, "60 L/h").report().facts


def test_a_warning_that_may_be_on_is_neither_on_nor_to_come():
    """The true fuel is drawn about a reading near the threshold: what is said is wrong in 5 % at most."""
    generator, wrong = np.random.default_rng(6), 0
    by_time, by_quantity = LowFuelByTime("1 min"), LowFuelByQuantity("30 L")
    for off in generator.uniform(-5.0, 5.0, 300):
        usable = measured(f"{30.0 + off:.3f} L", "2 L", name="usable")
        said = first_to_trip(by_time, by_quantity, "60 L/h", usable=usable).report().facts["warning by quantity"]
        is_on = off + 2.0 * generator.standard_normal() <= 0.0
        wrong += "undecided" not in said and ("at once" in said) != is_on
    assert wrong / 300 <= 0.05
    for litres, u, is_open in ((30, 2, True), (32, 1, True), (31.5, 1, True), (32.5, 1, False), (27.5, 1, False)):
        near = measured(f"{litres} L", f"{u} L", name="usable")
        assert ("undecided" in repr(first_to_trip(by_time, by_quantity, "60 L/h", usable=near))) is is_open


def test_messages_are_in_the_units_of_the_user():
    with pytest.raises(DimensionError, match=r"228 lb.*gal"):
        endurance("228 lb", "9.5 gal/h")
    with pytest.raises(DimensionError, match=r"9\.5 gal/h.*kg"):
        first_to_trip(LowFuelByTime("20 min"), LowFuelByQuantity("30 kg"), "9.5 gal/h")


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: endurance(50.0, "12.5 gal/h"), QuantityError, "usable.*no unit"),
        (lambda: endurance("50 gal", 12.5), QuantityError, "flow.*no unit"),
        (lambda: endurance("50", "12.5 gal/h"), FuelUnitsError, "usable"),
        (lambda: endurance("50 gal", "0 gal/h"), QuantityError, "flow"),
        (lambda: endurance("-50 gal", "12.5 gal/h"), QuantityError, "usable"),
        (lambda: endurance("50 gal", "80 lb/h"), DimensionError, "density"),
        (lambda: endurance("50 gal", "80 lb/h", density=6.7), QuantityError, "density"),
        (lambda: endurance("50 gal", "80 lb/h", density="-6.7 lb/gal"), QuantityError, "density"),
        (lambda: endurance("50 gal", "12.5 gal"), DimensionError, "flow"),
        (lambda: endurance("50 gal/h", "12.5 gal/h"), DimensionError, "usable"),
        (lambda: endurance("50 gal", pint.Quantity([5.0, 0.0], "gal/hour")), QuantityError, "must be positive"),
        (lambda: fuel_for("-1 h", "12 gal/h", "gal"), QuantityError, "time"),
        (lambda: fuel_for("1 h", "12 gal/h", "lb"), DimensionError, "density"),
        (lambda: fuel_for("1 h", "12 gal/h", "ft"), DimensionError, "volume"),
        (lambda: LowFuelByTime("0 min"), QuantityError, "time"),
        (lambda: LowFuelByTime(25), QuantityError, "no unit"),
        (lambda: LowFuelByTime("7 gal"), DimensionError, "time"),
        (lambda: LowFuelByTime(pint.Quantity(np.array([1.0, 2.0]), "hour")), QuantityError, "one quantity"),
        (lambda: LowFuelByQuantity("25 min"), DimensionError, "volume or a mass"),
        (lambda: LowFuelByQuantity("-1 gal"), QuantityError, "quantity"),
        (lambda: first_to_trip(LowFuelByTime("1 h"), LowFuelByQuantity("9 gal"), "80 lb/h"), DimensionError, "density"),
        (lambda: remaining("50 gal", "60 lb", "gal"), DimensionError, "density"),
        (lambda: remaining("50 gal", "-1 gal", "gal"), QuantityError, "used"),
        (lambda: VFR_DAY_AIRPLANE.fuel_required("-1 h", "12 gal/h", "gal"), QuantityError, "flight"),
    ],
)
def test_refusals(call, error, words):
    with pytest.raises(error, match=words) as refusal:
        call()
    assert isinstance(refusal.value, FuelUnitsError)


@pytest.mark.simulation
@pytest.mark.parametrize("degrees", [1, 3, float("inf")])
def test_the_wrong_warning_is_named_as_seldom_as_promised(degrees):
    """The true flow lies just above that at which both trip; it and its uncertainty come from a few readings."""
    generator, trials, u = np.random.default_rng(5), 800, 0.4
    by_time, by_quantity, wrong = LowFuelByTime("30 min"), LowFuelByQuantity("24 L"), 0
    for _ in range(trials):
        scale = generator.chisquare(degrees) / degrees if degrees < 1e9 else 1.0
        text = f"{48.0001 + generator.normal(0.0, u):.6f} L/h", f"{u * scale**0.5:.6f} L/h"
        flow = measured(text[0], uncertainty=text[1], name="flow", degrees_of_freedom=degrees)
        wrong += first_to_trip(by_time, by_quantity, flow).first == "quantity"
    promised = 0.0455 / 2.0
    assert wrong / trials <= promised + 3.0 * (promised / trials) ** 0.5


@pytest.mark.simulation
def test_a_wrong_start_or_k_is_seldom_blamed_where_the_tank_was_emptied():
    """All the fuel at the start was truly used; both figures are uncertain, and nothing is wrong with either."""
    generator, blamed = np.random.default_rng(9), 0
    for _ in range(500):
        start, used = 70.0 + generator.normal(0.0, 2.0), 70.0 + generator.normal(0.0, 1.0)
        given = [measured(f"{x:.4f} L", uncertainty=f"{u} L", name="x") for x, u in ((start, 2.0), (used, 1.0))]
        blamed += "K-factor" in str(remaining(*given, "L"))
    assert blamed / 500 <= 0.0228 + 3.0 * (0.0228 / 500) ** 0.5
    assert "K-factor" in str(remaining(measured("70 L", "2 L", name="a"), measured("76 L", "1 L", name="b"), "L"))


@pytest.mark.parametrize(("usable", "flow", "hours"), [
    ("42 gal", "14 gph", 3.0), ("42 gal", "0.7 gpm", 1.0), ("252 lb", "84 pph", 3.0), ("42 L", "14 lph", 3.0),
])  # fmt: skip
def test_a_flow_in_one_word_has_the_fuel_in_the_unit_of_that_word(usable, flow, hours):
    assert endurance(usable, flow).m_as("hour") == pytest.approx(hours, rel=1e-12)


def test_a_density_without_uncertainty_leaves_limits_too_narrow():
    """Where volume meets mass, as where any other uncertainty is missing; not where a density was not needed."""
    usable, flow = measured("140 L", "1 L", name="usable"), measured("52 L/h", "0.3 L/h", name="flow")
    by_time, known = LowFuelByTime("35 min"), measured("0.803 kg/L", "0.012 kg/L", name="density")
    for kept, density, is_named in (
        ("24 kg", "0.803 kg/L", True),
        ("24 kg", known, False),
        ("30 L", "0.8 kg/L", False),
        ("30 L", None, False),
    ):
        trip = first_to_trip(by_time, LowFuelByQuantity(kept), flow, usable=usable, density=density)
        left = remaining(usable, "60 L", kept[-2:].strip(), density=density)
        for answer in (trip, left):
            assert any("uncertainty of the density" in remark for remark in answer.report().remarks) == is_named


def test_a_mass_displayed_is_divided_by_the_fixed_density_whatever_the_fuel_weighs():
    """220 L counted are displayed as 176 kg at 0.80 kg/L, though this fuel weighs 183.3 kg."""
    displayed_kg = 220 * 0.80
    left = remaining("300 L", f"{displayed_kg} kg", "L", density="0.80 kg/L")
    assert float(left.difference) == pytest.approx(300 - 220)
    assert endurance("80 L", "41.6 kg/h", density="0.80 kg/L").m_as("min") == pytest.approx(60 * 80 / (41.6 / 0.80))
    board = fuel_on_board({"dip": "80 L", "totaliser": "80.5 L"}, "L")
    trip = first_to_trip(LowFuelByTime("35 min"), LowFuelByQuantity("24 L"), "41.6 kg/h", density="0.80 kg/L")
    for answer in (left, board, trip):
        assert "fixed density" in str(answer.report().remarks)
    for refused in (
        lambda: remaining("300 L", f"{displayed_kg} kg", "L"),
        lambda: endurance("80 L", "41.6 kg/h"),
        lambda: fuel_on_board({"dip": "80 L", "totaliser": "64 kg"}, "L"),
    ):
        with pytest.raises(DimensionError, match="divide by that fixed density"):
            refused()


def test_thresholds_are_compared_by_what_they_are_and_not_by_how_they_are_written():
    assert LowFuelByQuantity("30.0 L") == LowFuelByQuantity("30 L") != LowFuelByQuantity("31 L")
    assert LowFuelByTime("0.5 h") == LowFuelByTime("30 min") != LowFuelByTime("31 min")
