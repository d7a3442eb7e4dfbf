"""Tank tables against the geometry of simple tanks, and their uncertainty against simulation."""

import json
import math
import re

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from registries import ONE_REGISTRY
from scipy import stats

import fuelunits as fu
from fuelunits.errors import FuelUnitsError, OutOfRange
from fuelunits.indicators.tank_table import TankTable

BOX = TankTable("box", [("0 mm", "0 L"), ("100 mm", "40 L"), ("250 mm", "100 L")])


def cylinder_l(level_mm, diameter_mm=500.0, length_mm=1000.0):
    """The volume of a horizontal cylinder, by the area of a segment of a circle."""
    r, h = diameter_mm / 2.0, level_mm
    area = r * r * math.acos((r - h) / r) - (r - h) * math.sqrt(max(2.0 * r * h - h * h, 0.0))
    return area * length_mm * 1e-6


CYLINDER = TankTable(
    "cylinder",
    [(f"{mm} mm", f"{cylinder_l(mm)!r} L") for mm in range(50, 501, 25)],
    level_uncertainty="1.5 mm",
    volume_uncertainty="0.4 %",
)


@given(st.floats(0.0, 250.0))
def test_a_box_is_a_straight_line(mm):
    reading = BOX.volume(f"{mm!r} mm")
    assert reading.volume_l == pytest.approx(0.4 * mm, abs=1e-9)
    at_a_mark = mm in (0.0, 100.0, 250.0)  # elsewhere three marks on a line do not show that the walls are straight
    assert (reading.standard_uncertainty_l < 1e-9) == at_a_mark or min(mm % 100.0, 250.0 - mm) < 1e-6
    assert len(reading.missing) == 2


@pytest.mark.simulation
@pytest.mark.parametrize("marks", [3, 4, 5, 7, 13])
@pytest.mark.parametrize(
    "litres_at",
    [
        pytest.param(lambda mm: cylinder_l(mm, diameter_mm=300.0), id="cylinder"),
        pytest.param(lambda mm: math.pi * mm**2 * (450.0 - mm) / 3e6, id="sphere"),
        pytest.param(lambda mm: 0.1 * mm + 0.3 * max(mm - 130.0, 0.0), id="step in the wall"),
        pytest.param(lambda mm: 80.0 * (mm / 300.0) ** 1.5, id="wing"),
    ],
)
def test_few_marks_leave_as_much_in_doubt_as_the_tank_may_differ(litres_at, marks):
    """Of levels in a tank 300 mm high, with all else known well, at most 5 % have a true volume outside U."""
    points = [(f"{mm!r} mm", f"{litres_at(mm)!r} L") for mm in np.linspace(0.0, 300.0, marks).tolist()]
    tank = TankTable("tank", points, level_uncertainty="0.01 mm", volume_uncertainty="0.01 %")
    found = [(tank.volume(f"{mm!r} mm"), litres_at(mm)) for mm in np.linspace(1.0, 299.0, 100).tolist()]
    assert not found[0][0].missing
    assert sum(abs(reading.volume_l - true) > reading.expanded_uncertainty_l for reading, true in found) <= 5


def test_two_marks_do_not_show_the_shape_of_a_tank():
    tank = TankTable("tank", [("0 mm", "0 L"), ("1 m", "400 L")], level_uncertainty="1 mm", volume_uncertainty="0.5 %")
    assert "shape" in " ".join(tank.volume("50 cm").missing)
    assert tank.volume("50 cm").parts["between the points"] == pytest.approx(400.0 / 2.0**2)  # a wedge either way
    assert tank.units == ("m", "L")  # as the last point was written
    assert TankTable("tank", [("0 mm", "0 L"), ("1 mm", "1 L"), ("1 cm", "8 L")]).units == ("cm", "L")


@given(st.floats(50.0, 500.0))
def test_a_cylinder_is_met_between_its_points_within_the_stated_part(mm):
    reading = CYLINDER.volume(f"{mm!r} mm")
    apart = abs(reading.volume_l - cylinder_l(mm))
    assert apart < 0.25
    assert apart <= 2.0 * reading.parts["between the points"] + 0.1


def test_a_general_library_agrees_with_the_points():
    """The geometry of `fluids`, a general-purpose library, as the oracle of the segment's area."""
    geometry = pytest.importorskip("fluids.geometry")
    tank = geometry.TANK(D=0.5, L=1.0, horizontal=True)
    for mm in (60.0, 250.0, 490.0):
        assert cylinder_l(mm) == pytest.approx(1e3 * tank.V_from_h(mm / 1e3), rel=1e-9)


@given(st.floats(50.0, 500.0))
def test_the_level_of_a_volume_is_found_again(mm):
    litres = CYLINDER.volume(f"{mm!r} mm").volume_l
    assert CYLINDER.level(f"{litres!r} L").m_as("mm") == pytest.approx(mm, abs=1e-6)


def test_the_uncertainty_is_what_a_simulation_finds():
    random = np.random.default_rng(7)
    level = 250.0
    meter, reading = random.normal(0.0, 0.004, 4000), random.normal(0.0, 1.5, 4000)
    found = [cylinder_l(level + each) * (1.0 + scale) for each, scale in zip(reading, meter, strict=True)]
    stated = CYLINDER.volume(f"{level} mm").standard_uncertainty_l
    assert stated == pytest.approx(float(np.std(found)), rel=0.05)


def test_filling_adds_up_with_one_meter_error():
    steps = [("31 mm", "10 L"), ("58 mm", "10 L")]
    tank = TankTable.from_filling("nacelle", steps, start=("4 mm", "0 L"), meter_uncertainty="0.2 %")
    with pytest.raises(OutOfRange, match="nacelle"):  # nobody read a level below the first
        tank.volume("2 mm")
    with pytest.raises(TypeError, match="start"):
        TankTable.from_filling("nacelle", steps)
    assert tank.capacity_l == pytest.approx(20.0)
    assert tank.volume("58 mm").parts["points of the table"] == pytest.approx(0.04)


def test_a_table_keeps_the_units_that_were_written():
    tank = TankTable.from_filling("nacelle", [("2 in", "4 gal"), ("4 in", "5 gal")], start=("0.5 in", "1 gal"))
    assert [volume for _, volume in tank.points] == ["1 gal", "5 gal", "10 gal"]
    with pytest.raises(OutOfRange, match=r"0\.5 to 4 in"):
        tank.volume("0.25 in")
    with pytest.raises(OutOfRange, match="1 to 10 gal"):
        tank.level("12 gal")


def test_two_tables_are_compared_at_the_points_of_both():
    other = TankTable("box again", [("0 mm", "0 L"), ("200 mm", "82 L")])
    assert [row[0] for row in BOX.compared_with(other).rows] == ["0", "100", "200"]
    assert BOX.compared_with(other).rows[-1][1:] == ("80.00", "82.00", "+2.00")
    inches = TankTable("box", [("0 in", "0 gal"), ("5 in", "13 gal")])
    assert inches.compared_with(BOX).heads[0::2] == ("level, in", "box, gal")
    with pytest.raises(FuelUnitsError, match="no level in common"):
        BOX.compared_with(TankTable("above", [("900 mm", "1 L"), ("950 mm", "2 L")]))


def test_unusable_fuel_and_units_of_the_user():
    tank = TankTable(
        "left",
        [("0 in", "0 gal"), ("5 in", "10 gal"), ("10 in", "20 gal")],
        unusable="1 gal",
        level_uncertainty="0.1 in",
        volume_uncertainty="0 L",
    )
    reading = tank.volume("5 in")
    assert reading.usable_l == pytest.approx(9.0 * 3.785411784)
    assert "9.0 gal" in str(reading)
    assert tank.report().tables[0].heads[0] == "level, in"
    assert "10" in [row[0] for row in tank.report().tables[0].rows]
    assert tank.volume("0 in").usable_l == 0.0
    assert reading.usable.m_as("gal").std_dev == pytest.approx(0.2)


def test_the_room_is_that_of_the_expansion():
    """98 L warm from 5 to 40 °C: about 0.09 % per °C."""
    left = BOX.room_left("98 L", "Jet A", at="5 degC", to="40 degC")
    assert left.room_l == pytest.approx(100.0 - 98.0 * 1.0330, abs=0.15)
    assert "spill" in str(left)
    gallons = BOX.room_left("20 gal", "Jet A", at="5 degC", to="40 degC")
    assert float(gallons.report().verdict.split()[0]) == pytest.approx(gallons.room_l / 3.785411784, abs=0.06)
    assert "gal of room" in str(gallons)
    assert "spill" not in str(BOX.room_left("90 L", "Jet A", at="5 degC", to="40 degC"))
    assert "stand-in" in str(BOX.room_left("90 L", "UL91", at="5 degC", to="40 degC"))
    remarks = BOX.room_left("90 L", "Jet B", at="5 degC", to="40 degC").report().remarks
    assert not any("at least" in each for each in remarks)  # its limits decide nothing here


@pytest.mark.parametrize(("litres", "at", "to"), [(105, 40, 5), (100.5, 40, 5), (105, 5, 5)])
def test_what_the_tank_cannot_hold_spills_before_it_cools(litres, at, to):
    left = BOX.room_left(f"{litres} L", "Jet A", at=f"{at} degC", to=f"{to} degC")
    assert left.room_l == pytest.approx(100.0 - litres)
    assert "spills" in left.report().verdict


def test_a_level_is_measured_with_an_uncertainty_of_its_own():
    """At 0.4 L/mm, 2 mm are 0.8 L; of one dip read twice nothing is left, of two 1.13 L."""
    dip, other = (fu.measured("95 mm", "2 mm", name=f"dip {n}") for n in (1, 2))
    reading = BOX.volume(dip)
    assert reading.parts["reading of the level"] == pytest.approx(0.8)
    assert not any("reading" in each for each in reading.missing)
    assert (reading.usable - BOX.volume(dip).usable).m_as("L").std_dev == 0.0
    assert (reading.usable - BOX.volume(other).usable).m_as("L").std_dev == pytest.approx(0.8 * 2**0.5, rel=1e-3)


def test_room_and_spill_are_named_wrongly_as_seldom_as_promised():
    """The true tank differs from its table by the meter's error, and nothing warms: 98.5 to 101.5 L are in it."""
    generator, trials, wrong = np.random.default_rng(4), 400, 0
    tank = TankTable("t", [("0 mm", "0 L"), ("50 mm", "50 L"), ("100 mm", "100 L")], volume_uncertainty="0.3 %")
    for litres in generator.uniform(98.5, 101.5, trials).tolist():
        said = tank.room_left(f"{litres:.3f} L", "Jet A", at="15 degC", to="15 degC").report().verdict
        spills = litres > 100.0 * (1.0 + generator.normal(0.0, 0.003))
        wrong += "undecided" not in said and ("spill" in said) is not spills
    assert wrong / trials <= 0.0455
    assert "undecided" not in BOX.room_left("99.99 L", "Jet A", at="15 degC", to="15 degC").report().verdict
    assert "not stated" in str(BOX.room_left("98 L", "Jet A", at="15 degC", to="15 degC")).lower()


@pytest.mark.parametrize("is_reading", [True, False])
def test_room_and_spill_by_a_dip_are_named_wrongly_as_seldom_as_promised(is_reading):
    """A box of 0.4 L/mm to 180 mm, exact; dips of 1.5 mm, or volumes of 0.6 L, and jet fuel grows by 9.2e-4 per °C."""
    random, trials, wrong = np.random.default_rng(4), 300, 0
    tank = TankTable("box", [("0 mm", "0 L"), ("90 mm", "36 L"), ("180 mm", "72 L")], level_uncertainty="1.5 mm")
    grown = 1.0 + 20.0 * 9.2e-4  # common practice
    for true_mm in random.uniform(172.0, 179.0, trials).tolist():
        dip_mm = min(true_mm + random.normal(0.0, 1.5), 180.0)
        volume = fu.measured(f"{0.4 * dip_mm:.3f} L", "0.6 L", name="meter")
        given = tank.volume(f"{dip_mm:.3f} mm") if is_reading else volume
        said = tank.room_left(given, "Jet A", at="5 degC", to="25 degC")
        assert "counts as exact" not in str(said)
        spills = 0.4 * true_mm * grown > 72.0
        wrong += "undecided" not in said.report().verdict and ("spills" in said.report().verdict) is not spills
    assert wrong / trials <= 0.0455
    remarks = " ".join(tank.room_left("70 L", "Jet A", at="5 degC", to="25 degC").report().remarks)
    assert "counts as exact" in remarks
    unstated = TankTable("box", [("0 mm", "0 L"), ("180 mm", "72 L")]).volume("170 mm")
    assert "the uncertainty of the reading" in str(tank.room_left(unstated, "Jet A", at="5 degC", to="6 degC"))


def test_a_meter_of_litres_at_15_celsius_gives_gross_volumes():
    """Gross is net over CTL, with CTL from the published procedure."""
    jet = fu.fuel("Jet A").measured("0.803 kg/L", at="15 degC")
    tank = TankTable.from_filling("left", [("50 mm", "40 L")], start=("0 mm", "0 L"), fuel=jet, temperature="30 degC")
    assert tank.capacity_l == pytest.approx(40.0 / fu.ctl(803.0, 30.0), rel=1e-4)
    with pytest.raises(FuelUnitsError, match="both"):
        TankTable.from_filling("left", [("50 mm", "40 L")], start=("0 mm", "0 L"), fuel=jet)


@pytest.mark.parametrize("celsius", [30.0, 5.0])
@pytest.mark.parametrize("u", [0.0, 2.0])
def test_the_factor_of_litres_at_15_celsius_is_as_uncertain_as_the_temperature_and_the_expansion(celsius, u):
    """By hand, from CTL: half of 0.01 % for each degree from 15 °C, and the expansion there times u."""
    jet, text = fu.fuel("Jet A").measured("0.803 kg/L", at="15 degC"), f"{celsius} degC"
    temperature = fu.measured(text, f"{u} delta_degC", name="thermometer") if u else text
    steps = {"start": ("0 mm", "2 L"), "fuel": jet, "temperature": temperature}
    tank = TankTable.from_filling("left", [("50 mm", "40 L"), ("99 mm", "38 L")], **steps)
    assert tank.volume_l_at(0.0) == pytest.approx(2.0)  # which was not metered
    factor = tank.meter_factor
    assert factor.nominal_value == pytest.approx(1.0 / fu.ctl(803.0, celsius), rel=1e-4)
    per_c = fu.ctl(803.0, celsius - 0.5) / fu.ctl(803.0, celsius + 0.5) - 1.0
    own = math.hypot(per_c * u, 0.5e-4 * (celsius - 15.0))
    assert factor.std_dev == pytest.approx(own / fu.ctl(803.0, celsius), rel=1e-3)


def test_an_uncertainty_that_lacks_a_part_is_not_handed_on():
    tank = TankTable("left", [("0 mm", "0 L"), ("100 mm", "40 L")], level_uncertainty="1 mm")
    assert tank.volume("50 mm").usable.m_as("L").nominal_value == pytest.approx(20.0)
    assert "at least" in str(tank.volume("50 mm"))
    low = (fu.LowFuelByTime("25 min"), fu.LowFuelByQuantity("10 L"))
    flow = fu.measured("30 L/h", "0.5 L/h", name="flow")
    assert "narrow" in str(fu.first_to_trip(*low, flow, usable=tank.volume("50 mm").usable))
    stated = fu.measured("20 L", "0.5 L", name="fuel")
    assert "narrow" not in str(fu.first_to_trip(*low, flow, usable=stated))
    assert "narrow" in str(fu.remaining(stated, "5 L", "L"))


@pytest.mark.parametrize("level", ["60 mm", "100 mm"])
@pytest.mark.parametrize("given", [{}, {"level_uncertainty": "2 mm"}, {"volume_uncertainty": "0.5 %"}])
@pytest.mark.parametrize("zero", [{}, {"level_uncertainty": "0 mm", "volume_uncertainty": "0 %"}])
def test_a_sum_with_a_tank_of_incomplete_uncertainty_decides_nothing(level, given, zero):
    """Zero is no uncertainty that a reading can have; at a mark, even nothing between the points is left of it."""
    points = [("0 mm", "0 L"), ("60 mm", "22.6 L"), ("120 mm", "46.5 L")]
    full = {"level_uncertainty": "2 mm", "volume_uncertainty": "0.5 %", "unusable": "0 L"}
    complete, other = (TankTable(name, points, **full).volume(level).usable for name in "ab")
    vague = TankTable("vague", points, unusable="0 L", **(zero | given)).volume(level)
    total = {"gauge": fu.measured(f"{2 * vague.usable_l} L", "1 L", name="gauge")}
    assert len(vague.missing) == 2 - len(given)
    assert fu.fuel_on_board(total | {"dip": complete + other}, "L").verdict.value == "accept"
    for both in (vague.usable + complete, complete + vague.usable, 0.5 * (vague.usable + complete) * 2.0):
        found = fu.fuel_on_board(total | {"dip": both}, "L")
        assert found.verdict.value == "undecided"
        assert found.incomplete == ("dip",)
        assert "narrow" in str(fu.remaining(both, "5 L", "L"))


PAIRS = [("0 mm", "0 L"), ("60 mm", "22.6 L")]
OF = ONE_REGISTRY.Quantity


@pytest.mark.parametrize(
    "call",
    [
        *(lambda each=each: TankTable("left", each) for each in (None, "x", 5, [None, None], [PAIRS[0], 3])),
        *(lambda each=each: TankTable.from_filling("left", each, start=PAIRS[0]) for each in (None, "x", [1])),
        lambda: TankTable("left", PAIRS).volume(OF([20.0, 30.0], "mm")),
        lambda: TankTable("left", PAIRS).volume_l_at(None),
        lambda: TankTable("left", PAIRS).level(OF([10.0, 20.0], "L")),
        lambda: TankTable("left", PAIRS).room_left(OF([10.0, 20.0], "L"), "Jet A", at="3 degC", to="4 degC"),
        lambda: TankTable("left", PAIRS).room_left("3 L", "Jet A", at=OF([3.0, 4.0], "degC"), to="4 degC"),
        lambda: TankTable("left", PAIRS).room_left("3 L", "Jet A", at=OF(math.nan, "degC"), to="4 degC"),
        lambda: fu.Probe("42 pF", "10 mm", "310 mm").wetted_share("x"),
        lambda: fu.Probe("42 pF", "10 mm", "310 mm").wetted_share(None),
    ],
)
def test_what_is_no_table_or_level_is_refused_with_an_error_of_ours(call):
    with pytest.raises(FuelUnitsError):
        call()


@pytest.mark.parametrize("level", ["-1 mm", "251 mm", "10 in"])
def test_nothing_is_said_beyond_the_points(level):
    with pytest.raises(OutOfRange, match="box"):
        BOX.volume(level)


@pytest.mark.parametrize(
    ("points", "message"),
    [
        ([("0 mm", "0 L")], "two points"),
        ([("0 mm", "0 L"), ("10 mm", "5 L"), ("10 mm", "6 L")], "levels must rise; point 3 [(]10 mm[)] follows 10 mm"),
        ([("0 mm", "0 L"), ("10 mm", "5 L"), ("20 mm", "5 L")], "volumes must rise"),
        ([("0 in", "0 gal"), ("4 in", "5 gal"), ("3 in", "6 gal")], "3 in. follows 4 in"),
        ([("0 mm", "0 L"), (10, "5 L")], "no unit"),
        ([("0 mm", "0 L"), (pint.Quantity(math.nan, "mm"), "5 L")], "nan"),
        ([("0 mm", "0 L"), ("10 mm", "5 kg")], "mass"),
        (["0 mm", "10 mm"], r"\(level, volume\)"),
    ],
)
def test_a_table_that_cannot_be_is_refused(points, message):
    with pytest.raises(FuelUnitsError, match=message):
        TankTable("x", points)


def test_an_empty_tank_is_at_its_lowest_point_and_has_all_its_room():
    assert BOX.level("0 L").m_as("mm") == 0.0
    assert BOX.room_left("0 L", "Jet A", at="15 degC", to="40 degC").room_l == 100.0
    full, over = (BOX.room_left(f"{litres} L", "Jet A", at="40 degC", to="5 degC").room_l for litres in (100, 101))
    assert (full > 3.0, over) == (True, -1.0)  # what fills it makes room while it cools; more never fitted


def test_a_volume_that_is_missing_has_no_level():
    assert math.isnan(BOX.level(pint.Quantity(math.nan, "L")).m)


def tilted_box_l(level_mm, length=1000.0, width=400.0, height=300.0, slope=0.05):
    """The volume of a box whose floor rises by slope along its length, by the level at the low end, by hand.

    The surface is level: the depth at a distance x is level - slope x, between 0 and the height. Its integral over the
    length is taken in closed form.
    """

    def below(depth):  # integral over x of max(depth - slope x, 0)
        return (depth**2 - max(depth - slope * length, 0.0) ** 2) / (2.0 * slope) if depth > 0.0 else 0.0

    return (below(level_mm) - below(level_mm - height)) * width * 1e-6


def test_a_tilted_box_by_hand():
    """At 30 mm the fuel is a wedge of 600 mm; from 50 mm on the level rises over the whole floor."""
    assert tilted_box_l(30.0) == pytest.approx(0.5 * 30.0 * 600.0 * 400.0 * 1e-6)
    assert tilted_box_l(200.0) == pytest.approx((200.0 - 25.0) * 1000.0 * 400.0 * 1e-6)
    marks = [(f"{mm} mm", f"{tilted_box_l(mm)!r} L") for mm in (5, 20, 35, 50, 80, 120, 200, 300)]
    tank = TankTable("tilted", marks, level_uncertainty="1 mm", volume_uncertainty="0.1 L")
    for mm in np.linspace(5.0, 300.0, 60).tolist():
        reading = tank.volume(f"{mm!r} mm")
        assert abs(reading.volume_l - tilted_box_l(mm)) <= reading.expanded_uncertainty_l


@pytest.mark.parametrize("mm", [0.0, 40.0, 100.0, 133.0, 250.0])
def test_the_zero_of_the_dipstick_does_not_matter(mm):
    stated = {"level_uncertainty": "1 mm", "volume_uncertainty": "0.2 L"}
    one, other = (
        TankTable(
            "t", [(f"{zero + h} mm", f"{held + v} L") for h, v in ((0, 0), (60, 22), (100, 41), (250, 100))], **stated
        ).volume(f"{zero + mm} mm")
        for zero, held in ((0, 0), (700, 5))
    )
    assert other.parts == pytest.approx(one.parts, abs=1e-9)
    assert other.volume_l == pytest.approx(one.volume_l + 5.0)


@pytest.mark.parametrize(
    ("mm", "litres"),
    [(mm, 25.0 * 0.3 / 3**0.5) for mm in (25.0, 75.0)] + [(mm, 65.0 * 25.0**2 / 200.0**2) for mm in (125.0, 175.0)],
)
def test_a_corner_is_in_doubt_beside_it_and_not_far_above(mm, litres):
    """0.1 L/mm up to 50 mm, 0.4 above: the lower slope, extended by 25 mm, is 7.5 L off; far above, a wedge counts."""
    points = [("0 mm", "0 L"), ("50 mm", "5 L"), ("100 mm", "25 L"), ("150 mm", "45 L"), ("200 mm", "65 L")]
    assert TankTable("corner", points).volume(f"{mm} mm").parts["between the points"] == pytest.approx(litres)
    turned = [(f"{200 - int(h[:-3])} mm", f"{65 - int(v[:-2])} L") for h, v in reversed(points)]
    assert TankTable("turned", turned).volume(f"{200 - mm} mm").parts["between the points"] == pytest.approx(litres)


@pytest.mark.parametrize(("mm", "near_mm"), [(45, 5 + 6), (55, 5 + 6), (70, 20 + 5), (95, 5)])
def test_a_dip_beside_a_corner_may_be_further_from_it(mm, near_mm):
    """The same corner and a dip of 4 mm, 1.5 u are 6 mm: up to half way to the next mark, where nothing bends."""
    points = [("0 mm", "0 L"), ("50 mm", "5 L"), ("100 mm", "25 L"), ("150 mm", "45 L"), ("200 mm", "65 L")]
    tank = TankTable("corner", points, level_uncertainty="4 mm")
    assert tank.volume(f"{mm} mm").parts["between the points"] == pytest.approx(near_mm * 0.3 / 3**0.5, rel=1e-4)


@pytest.mark.parametrize("mm", [25, 45, 55, 60, 75, 125, 190])
def test_a_tank_that_is_straight_between_its_marks_is_within_u_of_the_curve(mm):
    straight = ((0, 0.05), (50, 0.45))
    tank = TankTable("bend", [(f"{mark} mm", f"{bays_l(mark, straight)} L") for mark in range(0, 201, 50)])
    found = tank.volume(f"{mm} mm")
    assert abs(found.volume_l - bays_l(mm, straight)) <= found.parts["between the points"] + 1e-9


@pytest.mark.parametrize("mm", [60.0, 72.0, 215.0, 490.0])
def test_a_reading_counts_by_the_steepest_of_the_curve_and_the_sections_within_its_u(mm):
    levels, litres = zip(*((float(h.split()[0]), float(v.split()[0])) for h, v in CYLINDER.points), strict=True)
    sections = zip(levels, levels[1:], np.diff(litres) / np.diff(levels), strict=False)
    steepest = max(slope for low, high, slope in sections if low <= mm + 3.0 and mm - 3.0 <= high)
    curve = (CYLINDER.volume_l_at(mm + 0.001) - CYLINDER.volume_l_at(mm - 0.001)) / 0.002
    part = CYLINDER.volume(f"{mm} mm").parts["reading of the level"]
    assert part == pytest.approx(1.5 * max(curve, steepest), rel=1e-3)


def test_as_much_room_as_is_in_doubt_is_undecided():
    """The tank holds 100 L, known to twice 0.5 L."""
    tank = TankTable("box", BOX.points, volume_uncertainty="0.5 L")
    said = [
        str(tank.room_left(f"{litres} L", "Jet A", at="15 degC", to="15 degC")) for litres in (99, 101, 98.9, 101.1)
    ]
    assert ["undecided" in each for each in said] == [True, True, False, False]


def test_several_tanks_add_up_with_their_uncertainty():
    readings = [CYLINDER.volume("200 mm").usable, CYLINDER.volume("310 mm").usable]
    total = sum(readings[1:], readings[0]).m_as("L")
    assert total.nominal_value == pytest.approx(cylinder_l(200.0) + cylinder_l(310.0), abs=0.3)
    assert total.std_dev > max(each.m_as("L").std_dev for each in readings)


def nearness(at):
    """The parts of two neighbours, which stand at whole numbers, in what is between; their squares add up to one."""
    beyond = at % 1.0
    size = math.hypot(beyond, 1.0 - beyond)
    return {math.floor(at): (1.0 - beyond) / size, math.floor(at) + 1: beyond / size}


@pytest.mark.parametrize(("low", "high"), [(90, 110), (60, 130), (40, 190), (20, 60), (20, 30), (10, 40), (0, 150)])
def test_readings_share_the_errors_of_the_points_beside_them(low, high):
    """Each point is off by 1 L of its own, and acts by its nearness up to the next; a shape within a quarter."""
    points = [("0 mm", "1 L"), ("100 mm", "41 L"), ("200 mm", "81 L"), ("300 mm", "121 L")]
    tank = TankTable("t", points, volume_uncertainty="1 L", level_uncertainty="1 mm")
    one, other = (tank.volume(f"{mm} mm").usable.m_as("L") for mm in (low, high))
    covariance = ((one + other).std_dev ** 2 - (one - other).std_dev ** 2) / 4.0
    same = tank.volume(f"{low} mm").parts["between the points"] * tank.volume(f"{high} mm").parts["between the points"]
    expected = 0.0
    for per_point, size in (1.0, 1.0), (4.0, same):
        here, there = (nearness(per_point * mm / 100.0) for mm in (low, high))
        expected += size * sum(here[at] * there[at] for at in here.keys() & there.keys())
    assert covariance == pytest.approx(expected, abs=1e-9)


def bent_l(mm, bend_mm, below, above):
    """A tank that holds `below` L/mm up to a bend, and `above` from there."""
    return below * np.minimum(mm, bend_mm) + above * np.maximum(mm - bend_mm, 0.0)


def filled_in_steps(name, step_l, first_mm, last_mm, u_mm, litres, random):
    """A tank that is filled in equal steps: its levels are read, each by itself, from a level to a last one."""
    mm = np.linspace(0.0, last_mm, 5001)
    at = np.interp(np.arange(litres(first_mm), litres(last_mm), step_l), litres(mm), mm)
    read = at + random.normal(0.0, u_mm, at.size)
    return TankTable.from_filling(
        name, [(f"{each:.2f} mm", f"{step_l} L") for each in read[1:]], start=(f"{read[0]:.2f} mm", fu.measured(
            f"{litres(first_mm)} L", "0.1 L", name=f"rest in {name}")), meter_uncertainty="0.2 %",
        level_uncertainty=f"{u_mm} mm", unusable="0 L",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("bend_mm", "sides", "mm", "step_l", "last_mm"),
    [
        (25.0, (0.15, 0.5), 25.0, 15.0, 266.0),
        (25.0, (0.05, 0.5), 23.0, 15.0, 260.0),
        (200.0, (0.5, 0.05), 200.0, 25.0, 290.0),
    ],
)
def test_dips_at_a_bend_in_an_interval_at_an_end_are_covered(bend_mm, sides, mm, step_l, last_mm):
    """A sump, or a shelf: the next section, extended to the bend, is as uncertain as the levels at its marks."""
    random, trials, inside = np.random.default_rng(3), 60, 0

    def litres(at):
        return bent_l(at, bend_mm, *sides)

    for _ in range(trials):
        found = filled_in_steps("t", step_l, 7.0, last_mm, 1.5, litres, random).volume(
            f"{mm + random.normal(0.0, 1.5):.2f} mm"
        )
        inside += abs(found.volume_l - litres(mm)) <= found.expanded_uncertainty_l
    assert inside >= 0.88 * trials


def test_the_sum_of_tanks_of_one_shape_and_the_difference_of_dips_at_a_bend_are_covered():
    """Two tanks with one sump hold less than their curves say by the same; so does a tank at two levels, by another."""
    random, trials, sums, differences = np.random.default_rng(4), 40, 0, 0

    def litres(at):
        return bent_l(at, 30.0, 0.15, 0.6)

    for _ in range(trials):
        left, right = (filled_in_steps(name, 20.0, 8.0, 226.0, 0.7, litres, random) for name in ("left", "right"))
        dips = [tank.volume(f"{30.0 + random.normal(0.0, 0.7):.2f} mm").usable.m_as("L") for tank in (left, right)]
        low = left.volume(f"{20.0 + random.normal(0.0, 0.7):.2f} mm").usable.m_as("L")
        both, used = dips[0] + dips[1], dips[0] - low
        sums += abs(both.nominal_value - 2.0 * litres(30.0)) <= 2.0 * both.std_dev
        differences += abs(used.nominal_value - litres(30.0) + litres(20.0)) <= 2.0 * used.std_dev
    assert min(sums, differences) >= 0.88 * trials


def test_the_printed_table_is_in_the_units_that_were_written():
    points = [("0 inch", "1 gal"), ("4 inch", "10 gal"), ("10 inch", "25.5 gal")]
    table = TankTable("printed", points, unusable="1.5 gal").report().tables[0]
    assert table.heads == ("level, in", "volume, gal", "usable, gal")
    assert [tuple(map(float, row)) for row in table.rows] == [(0, 1, 0), (4, 10, 8.5), (10, 25.5, 24)]


@pytest.mark.simulation
def test_the_levels_at_the_marks_of_a_filling_are_readings_too():
    """A straight tank filled in 5 L steps, simulated: U contains the error of 95 % of the readings, 91 % without."""
    random, inside = np.random.default_rng(3), 0
    for _ in range(400):
        mm = 2.5 * np.arange(5.0, 120.0, 5.0) + random.normal(0.0, 1.5, 23)
        steps = [(f"{each!r} mm", "5 L") for each in mm[1:].tolist()]
        tank = TankTable.from_filling(
            "t", steps, start=(f"{mm[0]:.6f} mm", "5 L"), meter_uncertainty="0.1 %", level_uncertainty="1.5 mm"
        )
        litres = random.uniform(15.0, 105.0)
        found = tank.volume(f"{2.5 * litres + random.normal(0.0, 1.5):.6f} mm")
        inside += abs(found.volume_l - litres) <= found.expanded_uncertainty_l
    assert inside >= 0.94 * 400


@pytest.mark.simulation
@pytest.mark.parametrize(
    ("given", "is_known"),
    [
        ({}, False),
        ({"level_uncertainty": None}, False),
        ({"mark_uncertainty": "0 mm"}, False),
        ({"mark_uncertainty": "1 mm"}, True),
        ({"level_uncertainty": "1 mm"}, True),
    ],
)
def test_a_measured_dip_is_no_better_than_the_marks_of_the_filling(given, is_known):
    """A straight tank of 1 L/mm, simulated; the marks were read to 1 mm, and the dip to 0.5 mm."""
    random, inside = np.random.default_rng(8), 0
    for _ in range(100):
        mm = np.arange(6.0, 210.0, 20.0) + random.normal(0.0, 1.0, 11)
        steps = [(f"{each:.3f} mm", "20 L") for each in mm[1:]]
        start = f"{mm[0]:.3f} mm", fu.measured("8 L", "0.05 L", name="rest")
        tank = TankTable.from_filling("t", steps, start=start, meter_uncertainty="0.05 %", unusable="4 L", **given)
        level = random.uniform(60.0, 180.0)
        found = tank.volume(fu.measured(f"{level + random.normal(0.0, 0.5):.3f} mm", "0.5 mm", name="dip"))
        inside += abs(found.volume_l - (level + 2.0)) <= found.expanded_uncertainty_l
    assert (inside >= 94) is is_known
    gauge = fu.measured(f"{found.usable_l} L", "1 L", name="gauge")
    verdict = fu.fuel_on_board({"dip": found, "gauge": gauge}, "L").verdict.value
    assert verdict == ("accept" if is_known else "undecided")
    assert any("marks" in each for each in found.missing) is not is_known
    maker = TankTable("t", tank.points, meter_factor=fu.uncertain(1.0, 0.001, name="meter"))  # its levels are exact
    assert maker.volume(fu.measured("95 mm", "2 mm", name="dip")).missing == ()


@pytest.mark.parametrize("name", ["unusable", "level_uncertainty", "mark_uncertainty", "step_uncertainty"])
def test_an_empty_text_is_no_statement(name):
    with pytest.raises(FuelUnitsError, match="''"):
        TankTable("left", PAIRS, **{name: ""})


def test_unusable_fuel_that_is_not_stated_is_said_to_be(tmp_path):
    """Nothing is subtracted, which the pages say; a record keeps it, also one that was kept without it."""
    given = {"level_uncertainty": "1 mm", "volume_uncertainty": "0.5 %"}
    tank = TankTable("box", BOX.points, **given)
    fu.save(tank, tmp_path / "tank.json")
    assert "unusable" not in json.loads((tmp_path / "tank.json").read_text())["record"]
    for table in (tank, fu.load(tmp_path / "tank.json")):
        assert table.unusable is None
        assert "unusable: not stated" in str(table)
        assert {row[2] for row in table.report().tables[0].rows} == {"-"}
        reading = table.volume("100 mm")
        assert reading.as_dict()["unusable"] is None
        assert "usable 40.0 L, unusable fuel not stated" in str(reading)
        assert not reading.missing
        assert "at least" not in str(reading)
    none = TankTable("box", BOX.points, unusable="0 L", **given)
    assert "not stated" not in f"{none} {none.volume('100 mm')}"
    assert none.volume("100 mm").usable_l == pytest.approx(40.0)
    for usable, is_asked in ((tank.volume("100 mm").usable, True), (none.volume("100 mm").usable, False)):
        page = str(fu.first_to_trip(fu.LowFuelByTime("25 min"), fu.LowFuelByQuantity("9 L"), "20 L/h", usable=usable))
        assert ("unusable='4 L'" in page) is is_asked
        assert "narrow" in page or not is_asked


def test_what_is_all_unusable_is_refused():
    with pytest.raises(FuelUnitsError, match="100 L is all that box holds"):
        TankTable("box", BOX.points, unusable="100 L")


@pytest.mark.parametrize("mm", [50.0, 80.0, 210.0, 333.0, 500.0])
def test_the_figures_of_a_reading_that_are_printed(mm):
    reading = CYLINDER.volume(f"{mm} mm")
    report, plain = reading.report(), reading.as_dict()
    assert float(report.title.split(": ")[1].split()[0]) == pytest.approx(plain["volume_l"], abs=0.051)
    assert {name: float(u) for name, u in report.tables[0].rows} == pytest.approx(plain["parts"], abs=0.0051)
    assert {len(u.partition(".")[2]) for _, u in report.tables[0].rows} == {2}  # of 0.01 L
    assert math.hypot(*plain["parts"].values()) == pytest.approx(plain["standard_uncertainty_l"])
    assert plain["expanded_uncertainty_l"] == pytest.approx(2.0 * plain["standard_uncertainty_l"], rel=1e-5)
    assert "(k = 2.00)" in str(reading)
    assert reading.usable.m_as("L").std_dev == pytest.approx(plain["standard_uncertainty_l"])
    assert plain["parts"]["points of the table"] == pytest.approx(0.004 * plain["volume_l"])


@pytest.mark.parametrize(("litres", "to"), [(92.0, 30.0), (98.0, 45.0), (99.0, 20.0), (98.0, -10.0)])
def test_the_room_printed_is_the_room_found(litres, to):
    tank = TankTable("box", BOX.points, volume_uncertainty="0.1 L")
    left = tank.room_left(f"{litres} L", "Jet A", at="5 degC", to=f"{to} degC")
    numbers = [float(each) for each in re.findall(r"[-+]?\d+\.\d", left.report().verdict)]
    assert left.known_to_l == pytest.approx(2.0 * 0.1 + 1e-4 * abs(to - 5.0) * litres)
    known = [left.known_to_l] * ("undecided" in left.report().verdict)
    room = left.room_l if known else abs(left.room_l)
    assert numbers == pytest.approx([room, *known], abs=0.051)
    assert "points is not stated" not in str(left)
    share = TankTable("box", BOX.points, volume_uncertainty="0.1 %")
    assert "points is not stated" not in str(share.room_left("50 L", "Jet A", at="5 degC", to="6 degC"))
    assert ("undecided" in left.report().verdict) is (abs(left.room_l) <= left.known_to_l)


def test_the_share_of_the_uncertainty_that_is_printed():
    reading = BOX.volume("80 mm")
    share = 100.0 * reading.expanded_uncertainty_l / reading.volume_l
    assert f"{share:.2g} %" in str(reading)


def wing_l(mm):
    return 5.0 + 100.0 * (mm / 310.0) ** 1.1


@pytest.mark.simulation
@pytest.mark.parametrize("at_marks", [True, False])
@pytest.mark.parametrize("is_printed", [True, False])
def test_the_fuel_used_by_two_dips_is_covered(is_printed, at_marks):
    """Each mark of a filling was read by itself, each of a printed table rounded by itself: neither error cancels."""
    random, inside, u_mm = np.random.default_rng(1), [], 0.3 if is_printed else 1.0
    for _ in range(150):
        mm = np.arange(10.0, 311.0, 20.0)
        if is_printed:
            points = [(f"{each} mm", f"{round(wing_l(each))} L") for each in mm.tolist()]
            tank = TankTable(
                "a", points, level_uncertainty="0.3 mm", mark_uncertainty="0.01 mm", volume_uncertainty="0.29 L"
            )
        else:
            read, steps = mm + random.normal(0.0, 1.0, 16), np.diff(wing_l(mm))
            points = [(f"{each:.2f} mm", f"{litres:.4f} L") for each, litres in zip(read[1:], steps, strict=True)]
            start = f"{read[0]:.2f} mm", f"{wing_l(10.0)} L"
            tank = TankTable.from_filling(
                "a", points, start=start, meter_uncertainty="0.02 %", level_uncertainty="1 mm"
            )
        high, low = (mm[12], mm[4]) if at_marks else (random.uniform(200.0, 290.0), random.uniform(60.0, 120.0))
        after, before = (tank.volume(f"{each + random.normal(0.0, u_mm)} mm").usable for each in (low, high))
        off = (before - after).m_as("L") - (wing_l(high) - wing_l(low))
        inside.append(abs(off.nominal_value) <= 2.0 * off.std_dev)
    assert np.mean(inside) > 0.93


def test_errors_of_the_marks_by_hand():
    """Each mark has 0.5 L of its own and 1 mm, 0.4 L, of its level; the same table made anew is the same table."""
    points = [(f"{50 * i} mm", f"{20 * i} L") for i in range(4)]
    made = [
        TankTable("a", points, level_uncertainty="0.001 mm", volume_uncertainty="0.5 L", mark_uncertainty="1 mm")
        for _ in range(2)
    ]
    a, b, again = (
        tank.volume(mm).usable.m_as("L") for tank, mm in ((made[0], "100 mm"), (made[0], "50 mm"), (made[1], "100 mm"))
    )
    assert (a - b).std_dev == pytest.approx(math.sqrt(2.0) * math.hypot(0.5, 0.4), rel=1e-4)
    assert (a - again).std_dev == pytest.approx(math.sqrt(2.0) * 0.0004)


def filled(name, error=0.0, **meter):
    litres = zip((38, 71, 108, 142, 183), (12.0, 12.0, 15.0, 14.0, 15.0), strict=True)
    steps = [(f"{mm} mm", f"{each / (1.0 + error):.4f} L") for mm, each in litres]
    return TankTable.from_filling(
        name,
        steps,
        start=("6 mm", "0 L"),
        unusable="0 L",
        level_uncertainty="0.5 mm",
        mark_uncertainty="0.05 mm",
        **meter,
    )


@pytest.mark.simulation
@pytest.mark.parametrize("has_a_name", [True, False])
def test_tanks_filled_from_one_meter_have_one_error_of_it(has_a_name):
    random, inside = np.random.default_rng(2), []
    for error in random.normal(0.0, 0.005, 150).tolist():
        stated = {"meter_uncertainty": "0.5 %"}
        if has_a_name:
            stated = {"meter_factor": fu.uncertain(1.0, 0.005, name="meter of the truck")}
        total = sum(filled(name, error, **stated).volume("183 mm").usable.m_as("L") for name in "abcd")
        inside.append(abs(total.nominal_value - 4 * 68.0) <= 2.0 * total.std_dev)
    assert np.mean(inside) > 0.93


def test_a_reading_says_that_a_percentage_is_of_one_meter():
    """Two percentages of two meters count as one cause, which no table can know: the page that is signed says so."""
    for stated, is_said in (
        ({"meter_uncertainty": "0.5 %"}, True),
        ({"meter_factor": fu.uncertain(1.0, 0.005, name="meter of the truck")}, False),
        ({"meter_uncertainty": "0.1 L"}, False),
    ):
        remarks = filled("left", **stated).volume("183 mm").report().remarks
        assert any("one meter" in each and "meter_factor" in each for each in remarks) is is_said


def test_a_meter_is_shared_with_what_else_it_measured():
    """Of what the truck's meter filled in and what it delivers to fill up again, its error is the same."""
    truck, other = (fu.uncertain(1.01, 0.005, name=f"meter of truck {name}") for name in "AB")
    tank = filled("left", meter_factor=truck)
    assert tank.capacity_l == pytest.approx(68.68)
    assert "factor of the meter: 1 to 1.02" in str(tank)
    parts = tank.volume("183 mm").parts
    level = math.hypot(parts["reading of the level"], parts["between the points"])
    for factor, rest in ((truck, 0.0), (other, math.sqrt(2.0) * 0.005 * 68.0)):
        used = fu.FillUp(indicated="68 L", delivered="68 L", truck_factor=factor).used_l
        both = (tank.volume("183 mm").usable.m_as("L") - used).std_dev
        assert both == pytest.approx(math.hypot(level, rest), rel=0.02)
    for wrong in ("0.5 %", math.nan, 3.785):
        with pytest.raises(FuelUnitsError):
            filled("left", meter_factor=wrong)


def test_the_temperature_of_a_filling_by_litres_at_15_celsius_counts():
    """The fuel in the tank is as warm as the thermometer says, within 2 °C; CTL from the published procedure."""
    random, inside, jet = np.random.default_rng(4), [], fu.fuel("Jet A").measured("0.803 kg/L", at="15 degC")
    counted = {"fuel": jet, "meter_uncertainty": "0.1 %"}
    for _ in range(150):
        true, meter = 28.0 + random.normal(0.0, 2.0), random.normal(0.0, 0.001)
        read = fu.measured("28 degC", "2 delta_degC", name="fuel in the tank")
        tank = filled("wing", (1.0 + meter) / fu.ctl(803.0, true) - 1.0, temperature=read, **counted)
        reading = tank.volume("183 mm")
        inside.append(abs(reading.volume_l - 68.0) <= reading.expanded_uncertainty_l)
    assert np.mean(inside) > 0.93
    assert reading.missing == ()
    plain = filled("wing", temperature="28 degC", **counted).volume("183 mm")
    assert "temperature" in " ".join(plain.missing)
    both = {"dip": plain, "gauge": fu.measured("68 L", "1 L", name="gauge")}
    assert fu.fuel_on_board(both, "L").verdict.value == "undecided"


@pytest.mark.parametrize("dips", [2, 3])
def test_the_uncertainty_of_the_mean_of_a_few_dips(dips):
    """Dips that scatter by 2 mm about 105 mm, where a straight tank holds 42 L: twice u covers 71 and 82 % of them."""
    points = [(f"{mm} mm", f"{0.4 * mm} L") for mm in range(0, 201, 10)]
    tank = TankTable("box", points, level_uncertainty="1 mm", volume_uncertainty="0.01 %")
    random, inside = np.random.default_rng(1), []
    for _ in range(200):
        mm = 105.0 + random.normal(0.0, 2.0, dips)
        u = f"{np.std(mm, ddof=1) / math.sqrt(dips):.6f} mm"
        mean = fu.measured(f"{mm.mean():.6f} mm", u, name="dips", degrees_of_freedom=dips - 1)
        found = tank.volume(mean)
        inside.append(abs(found.volume_l - 42.0) <= found.expanded_uncertainty_l)
    assert np.mean(inside) > 0.93
    k = float(re.search(r"k = ([\d.]+)", str(found))[1])
    assert k == pytest.approx(stats.t.ppf(0.97725, dips - 1), rel=0.005)


def test_a_meter_factor_of_few_observations_widens_the_room_left_too():
    """Student's t of a statistics library, where the meter is all the uncertainty."""
    k, meter = stats.t.ppf(0.97725, 2), fu.uncertain(1.0, 0.005, name="meter", degrees_of_freedom=2)
    left = TankTable("box", BOX.points, meter_factor=meter).room_left("98 L", "Jet A", at="15 degC", to="15 degC")
    assert left.known_to_l == pytest.approx(k * 0.5, rel=1e-4)
    assert "undecided" in str(left)


@pytest.mark.parametrize("u", [0.2, 0.5])
def test_the_volume_that_was_in_the_tank_before_its_filling(u):
    """A straight tank, simulated; the estimate of what is in it at the start is wrong by a normal error in litres."""
    random, inside = np.random.default_rng(2), []
    for _ in range(150):
        mm = np.array([6.0, 38.0, 71.0, 108.0, 142.0, 183.0])
        read, litres = mm + random.normal(0.0, 0.3, 6), 0.38 * np.diff(mm) / (1.0 + random.normal(0.0, 0.002))
        held = fu.measured(f"{1.5 + random.normal(0.0, u):.4f} L", f"{u} L", name="rest")
        steps = [(f"{level:.4f} mm", f"{each:.4f} L") for level, each in zip(read[1:], litres, strict=True)]
        tank = TankTable.from_filling(
            "t", steps, start=(f"{read[0]:.4f} mm", held), meter_uncertainty="0.2 %", level_uncertainty="0.3 mm"
        )
        found = tank.volume(f"{108.0 + random.normal(0.0, 0.3):.4f} mm")
        inside.append(abs(found.volume_l - (1.5 + 0.38 * 102.0)) <= found.expanded_uncertainty_l)
    assert np.mean(inside) > 0.93
    assert found.missing == ()
    assert found.parts["points of the table"] > u


STEPS = {"steps": [("38 mm", "12 L"), ("71 mm", "12 L")], "meter_uncertainty": "0.1 %", "level_uncertainty": "1 mm"}


def test_a_start_without_its_uncertainty_is_named_where_there_was_any():
    stated, dry, plain = (
        TankTable.from_filling("t", start=("6 mm", held), **STEPS)
        for held in (fu.measured("1.5 L", "0.4 L", name="rest"), "0 L", "1.5 L")
    )
    for tank, is_named in ((stated, False), (dry, False), (plain, True), (fu.from_dict(fu.to_dict(plain)), True)):
        assert ("uncertainty of the volume at the start" in tank.volume("50 mm").missing) is is_named
        room = tank.room_left("20 L", "Jet A", at="15 degC", to="15 degC")
        assert ("not in full" in " ".join(room.report().remarks)) is is_named
    loaded = fu.from_dict(fu.to_dict(stated))
    assert loaded == stated
    assert loaded.volume("50 mm").standard_uncertainty_l == stated.volume("50 mm").standard_uncertainty_l
    assert stated.volume("38 mm").volume_l == plain.volume("38 mm").volume_l == 13.5
    assert room.known_to_l == pytest.approx(2.0 * 0.001 * 25.5, rel=1e-4)
    room = stated.room_left("20 L", "Jet A", at="15 degC", to="15 degC")
    assert room.known_to_l == pytest.approx(2.0 * math.hypot(0.001 * 25.5, 0.4), rel=1e-4)
    unmetered = TankTable.from_filling("t", STEPS["steps"], start=("6 mm", fu.measured("1 L", "0.4 L", name="rest")))
    assert "not in full" in " ".join(unmetered.room_left("9 L", "Jet A", at="1 degC", to="1 degC").report().remarks)
    difference = (stated.volume("71 mm").usable - stated.volume("38 mm").usable).m_as("L")
    both = [stated.volume(mm).standard_uncertainty_l for mm in ("71 mm", "38 mm")]
    assert difference.std_dev < 0.95 * math.hypot(*both)


@pytest.mark.parametrize("held", ["-1 L", "1.5 kg", "x", math.nan, fu.measured("1 kg", "0.1 kg", name="rest")])
def test_a_start_that_is_no_volume_is_refused(held):
    with pytest.raises(FuelUnitsError):
        TankTable.from_filling("t", start=("6 mm", held), **STEPS)


def test_warmer_fuel_of_the_same_net_litres_fills_more():
    """The error of a thermometer enters with its sign: another reading may share it."""

    def filled(celsius):
        at = fu.measured(f"{celsius} degC", "1 delta_degC", name="fuel in the tank")
        steps = [("40 mm", "20 L"), ("80 mm", "20 L")]
        return TankTable.from_filling("tank", steps, start=("5 mm", "0 L"), fuel="Jet A", temperature=at).volume(
            "80 mm"
        )

    (slope,) = (by for each, by in filled(28).error.derivatives.items() if "fuel in the tank" in str(each.tag))
    assert slope == pytest.approx((filled(28.5).volume_l - filled(27.5).volume_l), rel=1e-3)


def test_a_table_says_that_the_errors_of_its_steps_are_independent():
    for stated, is_said in (("0.3 L", True), ("0.3 %", False), (None, False)):
        filled = TankTable.from_filling("tank", [("40 mm", "20 L")], start=("5 mm", "0 L"), meter_uncertainty=stated)
        assert ("each by itself" in str(filled)) is is_said


@pytest.mark.simulation
@pytest.mark.parametrize(("steps", "u_mm"), [(5, 0.5), (10, 0.2), (20, 0.5)])
def test_the_errors_of_the_steps_of_a_filling_add_up(steps, u_mm):
    """A straight tank; a pump is read after each step of 12 L, wrong by 0.3 L each time, and so is a dip of 0.9 of it.

    In the fuel used from there to half full, the errors of the steps below cancel.
    """
    random, full, half = np.random.default_rng(3), [], []
    for _ in range(150):
        litres = 12.0 + random.normal(0.0, 0.5, steps)
        mm = np.cumsum([6.0, *litres / 0.35])
        read, pumped = mm + random.normal(0.0, u_mm, steps + 1), litres + random.normal(0.0, 0.3, steps)
        tank = TankTable.from_filling(
            "t",
            [(f"{level:.4f} mm", f"{each:.4f} L") for level, each in zip(read[1:], pumped, strict=True)],
            start=(f"{read[0]:.4f} mm", "0 L"),
            meter_uncertainty="0.3 L",
            level_uncertainty=f"{u_mm} mm",
        )
        levels = 6.0 + np.array([0.9, 0.5]) * (mm[-1] - 6.0)
        high, low = (tank.volume(f"{each + random.normal(0.0, u_mm):.4f} mm") for each in levels)
        full.append(abs(high.volume_l - 0.35 * (levels[0] - 6.0)) <= high.expanded_uncertainty_l)
        used = (high.usable - low.usable).m_as("L")
        half.append(abs(used.nominal_value - 0.35 * (levels[0] - levels[1])) <= 2.0 * used.std_dev)
    assert min(np.mean(full), np.mean(half)) > 0.92


def test_the_errors_of_steps_by_hand():
    """After n steps the root of n; between two marks that of the next step by its share; also in a file."""
    steps = [(f"{40 * n} mm", "16 L") for n in range(1, 10)]
    tank = TankTable.from_filling("t", steps, start=("0 mm", "0 L"), meter_uncertainty="0.3 L", mark_uncertainty="0 mm")
    for table in (tank, fu.from_dict(fu.to_dict(tank))):
        found = [table.volume(f"{mm} mm").parts["points of the table"] for mm in (0, 40, 160, 360, 380 - 40)]
        assert found == pytest.approx([0.3 * math.sqrt(n) for n in (0, 1, 4, 9, 8.25)])
        assert table.volume("360 mm").missing == ("uncertainty of the reading", "uncertainty of the marks")
        room = table.room_left("130 L", "Jet A", at="15 degC", to="15 degC")
        assert room.known_to_l == pytest.approx(2.0 * 0.9, rel=1e-4)
        assert "not in full" not in str(room)
    assert "each step: 0.3 L" in str(tank)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("volume_uncertainty", "0.3 L"),
        ("step_uncertainty", "1 L"),
        ("start_l", 1.0),
        ("points", []),
        ("meter_", "1 kg"),
    ],
)
def test_what_is_no_argument_of_a_filling_is_refused(name, value):
    with pytest.raises(FuelUnitsError, match=r"meter_uncertainty|volume"):
        TankTable.from_filling(
            "t", **STEPS | {name.replace("meter_", "meter_uncertainty"): value}, start=("6 mm", "0 L")
        )


def of_meter(name="meter of the truck"):
    return {"meter_factor": fu.uncertain(1.0, 0.01, name=name)}


def of_thermometer(name="fuel in the tank"):
    warmth = fu.measured("28 degC", "3 delta_degC", name=name)
    return {"fuel": "Jet A", "temperature": warmth, "meter_uncertainty": "0.02 %"}


@pytest.mark.parametrize("stated", [of_meter, of_thermometer])
def test_factors_and_temperatures_of_one_name_are_asked_about_in_a_sum_of_tanks(stated):
    """Two that are equal but made anew would be two errors, of which U of the sum of the tanks is too small."""
    once, dips = stated(), [fu.measured("142 mm", "0.3 mm", name="dip") for _ in "ab"]
    anew = [filled(name, **stated()) for name in "ab"]
    shared = [filled(name, **once) for name in "ab"]
    named = [filled(name, **stated(f"that of {name}")) for name in "ab"]
    for tanks, is_clear in ((anew, False), (shared, True), (named, True)):
        a, b = (tank.volume(dip).usable for tank, dip in zip(tanks, dips, strict=True))
        weighed = fu.measured(f"{(a + b).m_as('L').nominal_value} L", "0.2 L", name="weighed")
        both = {"dips": a + b, "weighed": weighed}
        parts = {"left": a, "half of both": 0.5 * (a + b)}
        for readings in (both, parts) if not is_clear else (both,):
            found = fu.fuel_on_board(readings, "L")
            assert found.verdict.value == ("accept" if is_clear else "undecided")
            assert ("one cause or 2" in found.reason) is not is_clear
        assert ("one cause" in str(fu.remaining(a + b, "5 L", "L")).replace("\n ", "")) is not is_clear


def bays_l(mm, bends=((0.0, 0.3), (70.0, 0.3), (150.0, 0.4))):
    """The volume of a tank that widens at some levels, each by a section in L/mm."""
    return sum(section * max(mm - level, 0.0) for level, section in bends)


@pytest.mark.simulation
@pytest.mark.parametrize("places", [(0.25, 0.75), (0.2, 0.8), (0.1, 0.2), (0.48, 0.52)])
@pytest.mark.parametrize("litres_at", [bays_l, lambda mm: cylinder_l(mm, 251.0)], ids=["bays", "drum"])
def test_the_fuel_used_between_two_marks_is_covered_where_the_shape_is_not_known(litres_at, places):
    """Exact marks at some zero of the dipstick; the tank bends anywhere between them, and both dips are exact."""
    random, inside = np.random.default_rng(5), []
    for low in random.uniform(1.0, 10.0, 25).tolist():
        marks = np.linspace(low, 245.0, 5)
        points = [(f"{mm!r} mm", f"{litres_at(mm)!r} L") for mm in marks.tolist()]
        tank = TankTable("t", points, volume_uncertainty="0.001 L", level_uncertainty="0.001 mm")
        for start, step in zip(marks.tolist(), np.diff(marks).tolist(), strict=False):
            a, b = (start + place * step for place in places)
            one, other = (tank.volume(f"{mm!r} mm") for mm in (a, b))
            used = (other.usable - one.usable).m_as("L")
            inside.append(abs(used.nominal_value - litres_at(b) + litres_at(a)) <= 2.0 * used.std_dev)
            assert used.std_dev < 1.01 * math.hypot(*(each.standard_uncertainty_l for each in (one, other)))
    assert np.mean(inside) > 0.93


@pytest.mark.simulation
@pytest.mark.parametrize("above", [-1.0, 0.0, 0.5, 1.0, 2.0, 3.0])
@pytest.mark.parametrize(
    ("lower", "upper", "marks_mm", "u_mm"),
    [(0.1, 0.6, 10, 5), (0.1, 0.6, 25, 5), (0.6, 0.1, 10, 5), (0.1, 0.6, 50, 1), (0.6, 0.1, 50, 1), (0.2, 0.6, 50, 3)],
)
def test_levels_beside_a_bend_are_covered(above, lower, upper, marks_mm, u_mm):
    """A sump of one section below 100 mm, where a mark is, and a tank of another above; the dip is some u beside it."""
    points = [(f"{mm} mm", f"{bays_l(mm, ((0, lower), (100, upper - lower)))} L") for mm in range(0, 251, marks_mm)]
    few = {"volume_uncertainty": "0.05 L", "mark_uncertainty": "0.1 mm"}
    tank = TankTable("sump", points, level_uncertainty=f"{u_mm} mm", **few)
    level = 100.0 + above * u_mm * (1.0 if upper > lower else -1.0)
    true = bays_l(level, ((0, lower), (100, upper - lower)))
    quantiles = stats.norm(level, u_mm).ppf((np.arange(100) + 0.5) / 100.0)  # a dip as the normal errors are
    found = [tank.volume(f"{mm:.3f} mm") for mm in quantiles]
    assert np.mean([abs(each.volume_l - true) <= each.expanded_uncertainty_l for each in found]) >= 0.93


@pytest.mark.simulation
@pytest.mark.parametrize("marks", [(6, 40, 80, 120, 200), (6, 20, 40, 60, 80, 100)], ids=["far", "near"])
@pytest.mark.parametrize(("lower", "upper"), [(0.5, 5.0), (1.0, 3.0), (5.0, 0.5), (3.0, 1.0)])
def test_dips_are_covered_where_the_tank_bends_beside_a_mark(lower, upper, marks):
    """The tank widens 2 to 5 mm below the mark of 40 mm, or narrows as far above; the dips, of 1 mm, are near the bend.

    Between the bend and the mark, U has no dent.
    """
    quantiles, towards = stats.norm.ppf((np.arange(40) + 0.5) / 40.0), 1.0 if upper > lower else -1.0
    found, dents = [], []
    for beside in (2.0, 3.0, 5.0):
        bends = (0.0, lower), (40.0 - towards * beside, upper - lower)
        points = [(f"{mm} mm", f"{bays_l(mm, bends)} L") for mm in marks]
        few = {"volume_uncertainty": "0.1 %", "mark_uncertainty": "0.3 mm"}
        tank = TankTable("wing", points, level_uncertainty="1 mm", **few)
        for level in bends[1][0] + towards * np.array([0.0, 0.5, 1.0]):
            dips = (tank.volume(f"{mm:.3f} mm") for mm in level + quantiles)
            found.append(
                np.mean([abs(dip.volume_l - bays_l(level, bends)) <= dip.expanded_uncertainty_l for dip in dips])
            )
        ends = (tank.volume(f"{40.0 - towards * each} mm").expanded_uncertainty_l for each in (beside, 0.0))
        inner = [
            tank.volume(f"{40.0 - towards * each} mm").expanded_uncertainty_l for each in np.arange(0.5, beside, 0.5)
        ]
        dents.append(min(inner) / min(ends))
    assert min(found) >= 0.9
    assert np.mean(found) > 0.93
    assert min(dents) > 0.95


@pytest.mark.simulation
@pytest.mark.parametrize("u_mm", [0.1, 1.5])
@pytest.mark.parametrize("mm", [40.0, 41.0, 42.0, 43.0])
def test_a_dip_of_a_sump_that_was_filled_with_poor_marks_is_covered(mm, u_mm):
    """Simulated: the marks have u of 1.5 mm; the sump ends at 40 mm, and the wing above is ten times wider."""

    def litres_at(level):
        return bays_l(level, ((0.0, 0.5), (40.0, 4.5)))

    random, inside, true_mm = np.random.default_rng(21), [], (5.0, 22.5, 40.0, 60.0, 80.0, 100.0)
    for _ in range(60):
        marks = random.normal(true_mm, 1.5)
        points = [(f"{at:.2f} mm", f"{litres_at(true):.3f} L") for at, true in zip(marks, true_mm, strict=True)]
        few = {"volume_uncertainty": "0.1 %", "mark_uncertainty": "1.5 mm"}
        tank = TankTable("wing", points, level_uncertainty=f"{u_mm} mm", **few)
        dips = (tank.volume(f"{each:.2f} mm") for each in random.normal(mm, u_mm, 3))
        inside += [abs(each.volume_l - litres_at(mm)) <= each.expanded_uncertainty_l for each in dips]
    assert np.mean(inside) > 0.93


@pytest.mark.simulation
@pytest.mark.parametrize("roof", [False, True])
@pytest.mark.parametrize(("rows_mm", "slope_mm"), [(30.0, 15.0), (60.0, 20.0), (60.0, 30.0), (100.0, 30.0)])
def test_dips_are_covered_where_a_floor_slopes_to_the_drain(rows_mm, slope_mm, roof):
    """A box of 0.4 m², 300 mm: V = A h²/2S below the end of the slope S; exact rows, dips of 1 mm; or turned over."""

    def litres(mm):
        return 0.4 * np.where(mm < slope_mm, mm**2 / (2.0 * slope_mm), mm - slope_mm / 2.0)

    def held(mm):
        return litres(np.float64(300.0)) - litres(300.0 - mm) if roof else litres(mm)

    generator = np.random.default_rng(int(rows_mm + slope_mm))
    levels = np.arange(0.0, 300.1, rows_mm)
    rows = [(f"{mm:g} mm", f"{held(mm):.9g} L") for mm in levels]
    table = TankTable("box", rows, unusable="0 L", volume_uncertainty="0.1 %")
    for at in (6.0, 15.0, 30.0):
        true_mm, covered = 300.0 - at if roof else at, 0
        for read in np.clip(true_mm + generator.normal(0.0, 1.0, 60), 0.0, 300.0).tolist():
            found = table.volume(fu.measured(f"{read!r} mm", "1 mm", name="dip"))
            covered += abs(found.volume_l - held(np.float64(true_mm))) <= found.expanded_uncertainty_l
        assert covered >= 0.9 * 60, at


def test_a_neck_above_leaves_no_more_in_doubt_of_the_floor():
    """What the floor may be follows from the section above it, not from the neck on top of that."""

    def doubt_l(top_l):
        rows = [("0 mm", "0 L"), ("60 mm", "20 L"), ("120 mm", "44 L"), ("180 mm", top_l), ("240 mm", "80 L")]
        table = TankTable("box", rows, unusable="0 L", volume_uncertainty="0.1 %")
        return table.volume(fu.measured("6 mm", "1 mm", name="dip")).parts["between the points"]

    assert doubt_l("47 L") == pytest.approx(doubt_l("60 L"), rel=0.5)


def test_what_is_known_at_a_mark_is_named_after_it():
    rows = [("0 mm", "0 L"), ("60 mm", "20 L"), ("120 mm", "44 L"), ("180 mm", "60 L")]
    found = TankTable("box", rows, volume_uncertainty="0.1 %", mark_uncertainty="1 mm").volume("60 mm")
    (named,) = [
        str(each.tag) for each, by in found.error.derivatives.items() if by and str(each.tag).startswith("point")
    ]
    assert named.startswith("point 2 of box")


def tilted_cylinder_l(mm, degrees):
    """The volume below the level at the low end of a cylinder of 400 by 1200 mm whose axis rises, by numbers."""
    along = np.linspace(0.0, 1200.0, 601)
    depth = np.clip((mm - np.tan(np.radians(degrees)) * along) * np.cos(np.radians(degrees)), 0.0, 400.0)
    angle = 2.0 * np.arccos(1.0 - depth / 200.0)
    return float(np.trapezoid(200.0**2 / 2.0 * (angle - np.sin(angle)), along) * 1e-6)


@pytest.mark.parametrize("degrees", [0.0, 6.0, 10.0, 13.0])
@pytest.mark.parametrize("count", [3, 4, 5])
def test_few_marks_of_a_tilted_cylinder_are_covered(degrees, count):
    """Exact marks at equal levels from empty to full, and exact dips: only the shape of the tank is not known."""
    top = 400.0 / np.cos(np.radians(degrees)) + 1200.0 * np.tan(np.radians(degrees))
    marks = [(f"{mm!r} mm", f"{tilted_cylinder_l(mm, degrees)!r} L") for mm in np.linspace(0.0, top, count).tolist()]
    tank = TankTable("c", marks, unusable="0 L", volume_uncertainty="0.1 %", level_uncertainty="0.1 mm")
    for mm in np.linspace(0.03 * top, 0.97 * top, 40).tolist():
        found = tank.volume(f"{mm!r} mm")
        assert abs(found.volume_l - tilted_cylinder_l(mm, degrees)) <= found.expanded_uncertainty_l


def test_a_level_that_rounding_puts_beyond_a_mark_is_that_of_the_mark():
    """6.1 in × 25.4 mm/in is 154.93999999999997 mm in floats, and the mark is 154.94 mm."""
    tank = TankTable("x", [("6.1 in", "17 L"), ("11.8 in", "42 L"), ("42.9 in", "73 L")], unusable="0 L")
    assert tank.volume_l_at(6.1 * 25.4) == 17.0
    assert tank.volume_l_at(np.nextafter(42.9 * 25.4, 2e3)) == 73.0


def test_a_start_of_another_unit_is_refused():
    rows = [("0 mm", "10 L"), ("100 mm", "60 L"), ("200 mm", "110 L")]
    for wrong in (
        fu.uncertain(10.0, 0.5, name="start", unit="gal"),
        fu.uncertain(8.0, 0.4, name="start", unit="kg"),
        "10 L",
    ):
        with pytest.raises(FuelUnitsError, match="start_l"):
            TankTable("wing", rows, start_l=wrong)
