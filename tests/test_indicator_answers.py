"""What answers about indication have in common: their plain form, their equality, their limits, what they refuse."""

from dataclasses import fields, replace
from fractions import Fraction

import pint
import pytest

import fuelunits as fu
from fuelunits.errors import FuelUnitsError
from fuelunits.indicators.fill_ups import compare_fill_ups

POINTS = [("0 mm", "0 L"), ("60 mm", "22 L"), ("150 mm", "60 L")]
TANK = fu.TankTable("box", POINTS, unusable="0 L", level_uncertainty="1 mm", volume_uncertainty="0.5 %")
K = "11412 pulse/L"
L_H = fu.Indicator(K, reads="L/h", resolution="0.5 L/h")
PROBE = fu.Probe("42 pF", "0 mm", "150 mm")
GAUGE = fu.CapacitanceGauge(TANK, [PROBE], "Jet A", "15 degC")
BOX = fu.CapacitanceBox("0.1 pF", "0.1 %")
SHEET = fu.CapacitanceSheet(GAUGE, ["22 L", "60 L"], "2 L", reads="L", box=BOX, resolution="0.5 L")
FILL = fu.FillUp(indicated="388 L", delivered="379 L", level_uncertainty="1 L")
READINGS = {name: fu.measured(f"{litres} L", "1 L", name=name) for name, litres in (("gauge", 50), ("dipstick", 51))}


@pytest.mark.parametrize(
    "answer", [TANK, L_H, PROBE, GAUGE, FILL, L_H.bench_points(["60 L/h"], "2 %")], ids=lambda it: type(it).__name__
)
def test_the_plain_form_of_a_record_is_what_was_entered(answer):
    """What follows from it, such as a table of cubics or exact fractions, is found again from that."""
    derived = {each.name for each in fields(answer) if not each.init} - {"verdict_as_found", "verdict_as_left"}
    assert derived
    assert not derived & set(fu.reports.plain(answer))


@pytest.mark.parametrize(
    ("answer", "within"),
    [
        (TANK.volume("50 mm"), "table"),
        (fu.fuel_on_board(READINGS, "L"), "readings"),
        (compare_fill_ups(K, [FILL]), "half_digits half_steps suspects"),
    ],
    ids=lambda it: type(it).__name__,
)
def test_the_plain_form_of_an_answer_leaves_out_what_it_calculates_with(answer, within):
    assert not set(within.split()) & set(answer.as_dict())


def test_what_is_equal_was_written_alike():
    """Two tables of the same points are equal, and so are their readings, whose causes are not one."""
    of = pint.get_application_registry().Quantity
    points = [(of(mm, "mm"), of(litres, "L")) for mm, litres in ((0, 0), (60, 22), (150, 60))]
    quantities = {"level_uncertainty": of(1, "mm"), "volume_uncertainty": of(0.5, "percent"), "unusable": of(0, "L")}
    assert fu.TankTable("box", points, **quantities) == TANK
    assert fu.Probe(of(42, "pF"), of(0, "mm"), of(150, "mm")) == PROBE
    assert replace(SHEET, tolerance=of(2, "L"), resolution=of(0.5, "L"), asked=[of(22, "L"), of(60, "L")]) == SHEET
    assert fu.Generator(of(0.1, "Hz"), of(0.01, "percent")) == fu.Generator("0.1 Hz", "0.01 %")
    assert fu.Generator("0.1 Hz", "0 Hz").doubt(Fraction(100)) == fu.Generator("0.1 Hz").doubt(Fraction(100))
    assert fu.LowFuelByTime(of(0.5, "hour")).time == "0.5 h"  # in its own unit
    assert fu.Generator(of(0.1, "1/s")).step == "0.1 Hz"  # 1/s is hard to read
    assert replace(GAUGE, at=of(15, "degC"), stray=of(0, "pF")) == GAUGE
    again = fu.TankTable("box", POINTS, unusable="0 L", level_uncertainty="1 mm", volume_uncertainty="0.5 %")
    assert again == TANK
    assert again.volume("50 mm") == TANK.volume("50 mm") != TANK.volume("51 mm")
    assert hash(again) == hash(TANK)
    assert again != replace(again, volume_uncertainty=None)
    assert again != replace(again, unusable=None)


@pytest.mark.parametrize(
    ("call", "wanted"),
    [
        (lambda: fu.TankTable(5, POINTS), "name"),
        (lambda: TANK.compared_with(POINTS), "TankTable"),
        (lambda: replace(TANK, level_uncertainty="-1 mm"), "level_uncertainty"),
        (lambda: replace(TANK, mark_uncertainty="-1 mm"), "mark_uncertainty"),
        (lambda: replace(TANK, volume_uncertainty="-1 L"), "volume_uncertainty"),
        (lambda: replace(TANK, meter_factor="1.01"), "meter_factor"),
        (lambda: fu.CapacitanceGauge("box", [PROBE], "Jet A", "15 degC"), "TankTable"),
        (lambda: replace(SHEET, truncates="no"), "truncates"),
    ],
)
def test_what_is_of_another_kind_is_refused(call, wanted):
    with pytest.raises(FuelUnitsError, match=wanted):
        call()


@pytest.mark.parametrize(
    ("call", "lowest", "highest"),
    [
        (lambda pf: fu.Probe(f"{pf!r} pF", "0 mm", "150 mm"), 0.1, 5000.0),
        (lambda eps: replace(GAUGE, relative_permittivity=eps), 1.5, 5.0),
        (lambda litres: replace(FILL, indicated=f"{litres!r} L"), 1e-9, None),
        (lambda factor: replace(FILL, volume_correction_factor=factor), 0.9, 1.1),
        (lambda factor: replace(FILL, truck_factor=factor), 0.9, 1.1),
        (lambda u: compare_fill_ups(K, [FILL], truck_uncertainty=f"{u!r} %"), 0.0, 5.0),
        (lambda u: compare_fill_ups(K, [FILL], temperature_uncertainty=f"{u!r} degC"), 0.0, 40.0),
        (lambda count: replace(L_H, channels=count), 1, 64),
        (lambda count: fu.diagnose(0.9, 1, channels=count), 1, 64),
        (lambda flow: L_H.displayed_flow(flow), 0.0, None),
    ],
)
def test_what_is_at_a_limit_is_answered_and_what_is_beyond_it_is_refused(call, lowest, highest):
    for limit, beyond in ((lowest, -1), (highest, 1)):
        if limit is not None:
            assert call(limit) is not None
            with pytest.raises(FuelUnitsError):
                call(limit + beyond if isinstance(limit, int) else limit + beyond * max(1e-6 * limit, 1e-9))
