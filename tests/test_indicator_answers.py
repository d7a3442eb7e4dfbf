"""What answers about indication have in common: their plain form, their equality, their limits, what they refuse."""

from dataclasses import fields

import pint
import pytest

import fuelunits as fu
from fuelunits.errors import FuelUnitsError
from fuelunits.indicators.fill_ups import compare_fill_ups

POINTS = [("0 mm", "0 L"), ("60 mm", "22 L"), ("150 mm", "60 L")]
TANK = fu.TankTable("box", POINTS, level_uncertainty="1 mm", volume_uncertainty="0.5 %")
L_H = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h")
PROBE = fu.Probe("42 pF", "0 mm", "150 mm")
GAUGE = fu.CapacitanceGauge(TANK, [PROBE], "Jet A", "15 degC")
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
        (compare_fill_ups("11412 pulse/L", [FILL]), "half_steps suspects"),
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
    again = fu.TankTable("box", POINTS, level_uncertainty="1 mm", volume_uncertainty="0.5 %")
    assert again == TANK
    assert again.volume("50 mm") == TANK.volume("50 mm") != TANK.volume("51 mm")
    assert hash(again) == hash(TANK)
    assert again != fu.TankTable("box", POINTS, level_uncertainty="1 mm")


@pytest.mark.parametrize(
    ("call", "wanted"),
    [
        (lambda: fu.TankTable(5, POINTS), "name"),
        (lambda: TANK.compared_with(POINTS), "TankTable"),
    ],
)
def test_what_is_of_another_kind_is_refused(call, wanted):
    with pytest.raises(FuelUnitsError, match=wanted):
        call()
