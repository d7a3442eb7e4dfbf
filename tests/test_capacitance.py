"""Capacitance gauging against arithmetic by hand and against simulation of other fuels."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import fuelunits as fu
from fuelunits.errors import FuelUnitsError, OutOfRange
from fuelunits.fuels.properties import TYPICAL, permittivity_from_density
from fuelunits.indicators.capacitance import CapacitanceBox, CapacitanceGauge, CapacitanceSheet, Probe
from fuelunits.uncertainty.decisions import Verdict

TANK = fu.TankTable("left wing", [("0 mm", "0 L"), ("100 mm", "30 L"), ("300 mm", "120 L")])
PROBES = [Probe("30 pF", "0 mm", "180 mm"), Probe("24 pF", "150 mm", "300 mm")]
GAUGE = CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC", stray="6 pF", relative_permittivity=2.1)


def test_two_sections_by_hand():
    """At 165 mm: 30 pF wetted over 165/180, 24 pF over 15/150, all with strays of 6 pF."""
    assert GAUGE.empty_pf == 60.0
    assert GAUGE.capacitance_pf(165.0) == pytest.approx(60.0 + 1.1 * (30.0 * 165.0 / 180.0 + 24.0 * 0.1))
    assert GAUGE.capacitance_pf(0.0) == 60.0
    assert GAUGE.capacitance_pf(300.0) == pytest.approx(60.0 + 1.1 * 54.0)


@given(st.floats(1.0, 119.0))
def test_the_volume_is_found_again(litres):
    found = GAUGE.volume(f"{GAUGE.capacitance(f'{litres!r} L').m_as('pF')!r} pF")
    assert found.m_as("L") == pytest.approx(litres, abs=1e-6)


def test_an_uneven_probe_is_a_stack_of_sections():
    """Half of 40 pF lie in the lower fifth of 100 mm: a quarter is wetted at 10 mm, three quarters at 60 mm."""
    probes = [Probe("20 pF", "0 mm", "20 mm"), Probe("20 pF", "20 mm", "100 mm")]
    gauge = CapacitanceGauge(TANK, probes, "Jet A", "15 degC", relative_permittivity=2.0)
    assert [gauge.capacitance_pf(mm) for mm in (10.0, 60.0, 250.0)] == pytest.approx([50.0, 70.0, 80.0])


def test_another_fuel_by_hand():
    """One straight probe and one straight tank: the level displayed is the true one times the ratio of ε - 1."""
    tank = fu.TankTable("box", [("0 mm", "0 L"), ("300 mm", "120 L")])
    gauge = CapacitanceGauge(tank, [Probe("48 pF", "0 mm", "300 mm")], "Jet A", "15 degC", relative_permittivity=2.1)
    error = gauge.error_with("Jet A", at="15 degC", relative_permittivity=2.0)
    assert error.volume_error == pytest.approx(1.0 / 1.1 - 1.0, rel=1e-9)
    assert error.mass_error == pytest.approx(1.0 / 1.1 - 1.0, rel=1e-9)
    inferred = (1.0 / 4.0) / (1.1 / 4.1)
    assert error.compensated_mass_error == pytest.approx(inferred - 1.0, rel=1e-9)


def test_the_same_fuel_warmed_reads_low_in_volume_and_far_less_in_mass():
    gauge = CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC")
    warm = gauge.error_with("Jet A", at="45 degC")
    assert warm.volume_error < -0.02
    assert abs(warm.mass_error) < 0.5 * abs(warm.volume_error)
    assert warm.compensated_mass_error == pytest.approx(0.0, abs=1e-9)
    same = gauge.error_with("Jet A", at="15 degC")
    assert same.volume_error == pytest.approx(0.0, abs=1e-9)
    assert "+0 %" in str(same)


@pytest.mark.simulation
def test_errors_of_batches_by_simulation():
    """The spread of the compensated mass is that of the polarization, whatever the density."""
    random = np.random.default_rng(3)
    polarizations = random.normal(3.39e-4, 3e-6, 400)
    density = 800.0
    eps = permittivity_from_density(density, polarizations)
    gauge = CapacitanceGauge(
        TANK, PROBES, "Jet A", "15 degC", relative_permittivity=float(permittivity_from_density(800.0, 3.39e-4))
    )
    errors = [gauge.error_with("Jet A", at="15 degC", relative_permittivity=float(each)) for each in eps]
    found = np.array([each.compensated_mass_error for each in errors])
    assert float(found.std()) == pytest.approx(3e-6 / 3.39e-4, rel=0.15)


@pytest.mark.parametrize("capacitance", ["59 pF", "130 pF"])
def test_a_capacitance_beyond_the_probes_is_refused(capacitance):
    with pytest.raises(OutOfRange, match="empty to full"):
        GAUGE.volume(capacitance)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Probe("30 pF", "180 mm", "0 mm"), "rise"),
        (lambda: Probe("30 pF", "10 mm", "10 mm"), "rise"),
        (lambda: Probe("0.05 pF", "0 mm", "10 mm"), "0.05 pF"),
        (lambda: Probe("0 pF", "0 mm", "10 mm"), "positive"),
        (lambda: Probe("30 L", "0 mm", "10 mm"), "capacitance"),
        (lambda: CapacitanceGauge(TANK, [], "Jet A", "15 degC"), "one probe"),
        (lambda: CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC", relative_permittivity=0.9), "permittivity"),
        (lambda: CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC", relative_permittivity=81.0), "water"),
        (lambda: GAUGE.error_with("Jet A", at="15 degC", relative_permittivity=81.0), "water"),
        (lambda: GAUGE.capacitance_pf(10.0, relative_permittivity="2.1"), "plain number"),
        (lambda: GAUGE.level_mm("70 pF"), "plain number"),
        (lambda: Probe("31 nF", "0 mm", "10 mm"), "31000 pF"),
        (lambda: CapacitanceGauge(TANK, PROBES, "ethanol", "15 degC"), "permittivity"),
    ],
)
def test_what_cannot_be_is_refused(make, message):
    with pytest.raises(FuelUnitsError, match=message):
        make()


@pytest.mark.parametrize(
    ("ends", "litres", "span"),
    [([(100, 300)], 0, "0 to 30 L"), ([(0, 100), (200, 300)], 50, "30 to 75 L"), ([(0, 100)], 119, "30 to 120 L")],
)
def test_levels_that_no_probe_measures_have_no_volume(ends, litres, span):
    """By hand, of the straight upper part from 30 L at 100 mm to 120 L at 300 mm; a dry probe may hang above fuel."""
    line = fu.TankTable("box", [("0 mm", "0 L"), ("100 mm", "30 L"), ("200 mm", "75 L"), ("300 mm", "120 L")])
    gauge = CapacitanceGauge(
        line, [Probe("30 pF", f"{low} mm", f"{high} mm") for low, high in ends], "Jet A", "15 degC"
    )
    assert f"From {span} no probe measures" in str(gauge)
    with pytest.raises(FuelUnitsError, match=span):
        gauge.volume(gauge.capacitance(f"{litres} L"))


@pytest.mark.parametrize(("gap", "is_named"), [(0.1, False), (0.4, True)])
def test_a_gap_between_probes_counts_from_a_thousandth_of_the_tank(gap, is_named):
    """Of 120 L at 0.4 L/mm: 0.04 L is less, 0.16 L is more."""
    tank = fu.TankTable("box", [("0 mm", "0 L"), ("300 mm", "120 L")])
    probes = [Probe("30 pF", "0 mm", "150 mm"), Probe("30 pF", f"{150 + gap} mm", "300 mm")]
    gauge = CapacitanceGauge(tank, probes, "Jet A", "15 degC")
    assert ("no probe measures" in str(gauge)) is is_named
    assert CapacitanceGauge(tank, probes[:1], "Jet A", "15 degC").wetted_mm == (0.0, 150.0)
    longer = CapacitanceGauge(tank, [Probe("30 pF", "-10 mm", "310 mm")], "Jet A", "15 degC")
    assert longer.wetted_mm == (0.0, 300.0)


def test_the_error_of_a_gauge_is_that_at_half_its_range():
    at_half = GAUGE.level_mm(GAUGE.capacitance_pf(150.0, 2.0))
    error = GAUGE.error_with("Jet A", at="15 degC", relative_permittivity=2.0).volume_error
    assert error == pytest.approx(TANK.volume_l_at(at_half) / TANK.volume_l_at(150.0) - 1.0, rel=1e-9)


def test_a_large_tank_has_a_capacitance_at_each_volume():
    tank = fu.TankTable("large", [("0 m", "0 m^3"), ("1.1 m", "17 m^3"), ("3 m", "120 m^3")])
    gauge = CapacitanceGauge(tank, [Probe("480 pF", "0 m", "3 m")], "Jet A", "15 degC")
    asked = [f"{each} m^3" for each in range(0, 120, 4)]
    assert len(CapacitanceSheet(gauge, asked, "2 %", reads="kg", box=BOX).points) == 30


def test_a_gauge_is_printed_in_the_units_of_its_tank():
    """5 in of 10 in are 10 of 20 gal in a straight tank, whose probe is 42 pF dry and 0.5 * 1.1 * 42 pF more there."""
    tank = fu.TankTable("left", [("0 in", "0 gal"), ("10 in", "20 gal")])
    gauge = CapacitanceGauge(tank, [Probe("42 pF", "0 in", "10 in")], "Jet A", "15 degC", relative_permittivity=2.1)
    table = gauge.report().tables[0]
    assert table.heads == ("level, in", "volume, gal", "capacitance, pF")
    assert [float(cell) for cell in table.rows[5]] == pytest.approx([5.0, 10.0, 42.0 * 1.55])
    gap = CapacitanceGauge(tank, [Probe("42 pF", "5 in", "10 in")], "Jet A", "15 degC")
    assert "From 0 to 10 gal no probe" in str(gap)


def test_reports_warn_of_water_and_of_typical_values():
    assert "Water" in str(GAUGE)
    assert "from memory" not in str(GAUGE)
    assert "from memory" in str(CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC"))
    assert "stand-in" in str(CapacitanceGauge(TANK, PROBES, "UL91", "15 degC"))
    assert "stand-in" in " ".join(GAUGE.error_with("UL91", at="15 degC").report().remarks)


STRAIGHT = CapacitanceGauge(
    fu.TankTable("box", [("0 mm", "0 L"), ("300 mm", "120 L")]),
    [Probe("48 pF", "0 mm", "300 mm")],
    fu.fuel("Jet A").measured("0.8 kg/L", at="15 degC"),
    "15 degC",
    stray="6 pF",
    relative_permittivity=2.1,
)
BOX = CapacitanceBox("0.1 pF", "0.1 %")


@pytest.mark.parametrize("celsius", [15.0, 40.0])
def test_the_batch_of_the_adjustment_keeps_its_polarization(celsius):
    """Clausius and Mossotti by hand: (ε - 1)/(ε + 2) is 1.2/4.2 at the adjustment, and in proportion to the density."""
    gauge = replace(STRAIGHT, relative_permittivity=2.2)
    dilution = STRAIGHT.fuel.density_kg_m3(celsius) / STRAIGHT.fuel.density_kg_m3(15.0)
    share = 1.2 / 4.2 * dilution
    volume = ((1.0 + 2.0 * share) / (1.0 - share) - 1.0) / 1.2
    error = gauge.error_with(STRAIGHT.fuel, at=f"{celsius} degC")
    found = error.volume_error, error.mass_error, error.compensated_mass_error
    assert found == pytest.approx((volume - 1.0, volume / dilution - 1.0, 0.0), abs=1e-9)
    assert TYPICAL not in error.report().remarks
    typical = gauge.error_with(fu.fuel("Jet A").measured("0.81 kg/L", at="15 degC"), at=f"{celsius} degC")
    assert TYPICAL in typical.report().remarks


def test_a_sheet_of_capacitances_by_hand():
    """60 L are 26.4 pF above the 54 pF dry; a picofarad is 120/52.8 L; the box leaves 0.05 pF and twice 0.1 %."""
    sheet = CapacitanceSheet(STRAIGHT, ["60 L", "16 kg"], "2 L", reads="L", box=BOX, resolution="0.5 L")
    half, mass = sheet.points
    assert half.capacitance_pf == 80.4
    assert float(half.true) == pytest.approx(60.0, rel=1e-9)
    assert float(half.doubt) == pytest.approx((0.05 + 0.002 * 80.4) * 120.0 / 52.8, rel=1e-9)
    assert (half.lowest, half.highest) == (58.5, 61.5)  # 60 ± (2 - 0.479), within, in steps of 0.5
    assert mass.capacitance_pf == 62.8  # 20 L at 0.8 kg/L
    for point, pf in zip(
        CapacitanceSheet(STRAIGHT, ["0 L", "120 L"], "2 L", reads="L", box=BOX).points, (54.0, 106.8), strict=True
    ):
        assert float(point.doubt) == pytest.approx((0.05 + 0.002 * pf) * 120.0 / 52.8, rel=1e-9)  # to one side
    assert "all the fuel, as the unusable part is not stated" in " ".join(sheet.report().remarks)
    assert TYPICAL not in sheet.report().remarks
    typical = CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC")
    assert TYPICAL in CapacitanceSheet(typical, ["60 L"], "2 L", reads="L", box=BOX).report().remarks
    (by_mass,) = CapacitanceSheet(STRAIGHT, ["60 L"], "5 %", reads="lb", box=BOX).points
    assert float(by_mass.true) == pytest.approx(48.0 / 0.45359237, rel=1e-6)
    assert float(by_mass.tolerance) == pytest.approx(0.05 * 48.0 / 0.45359237, rel=1e-6)


def test_a_sheet_filled_in_has_verdicts_as_found_and_as_left():
    empty = CapacitanceSheet(STRAIGHT, ["0 L", "60 L", "120 L"], "2 L", reads="L", box=BOX, resolution="0.5 L")
    assert "[    ]" in str(empty)
    assert empty.report().facts["display step"] == "0.5 L"
    assert not replace(empty, resolution=None).report().facts.get("display step")
    assert "truncating" in replace(empty, truncates=True).report().facts["display step"]
    assert "54.0" in str(empty)
    sheet = empty.filled(as_found=["0 L", "63 L", "120 L"], as_left=["0.5 L", "60.5 L", "119.5 L"])
    assert sheet.verdict_as_found is Verdict.REJECT
    assert sheet.verdict_as_left is Verdict.ACCEPT
    dead = empty.filled(as_left=["0 L", "0 L", "0 L"])
    assert dead.verdict_as_left is Verdict.REJECT
    assert empty.filled(as_left=["0 L", None, "120 L"]).verdict_as_left is Verdict.UNDECIDED
    share = CapacitanceSheet(STRAIGHT, ["0 L", "60 L"], "3 %", reads="L", box=BOX)
    assert share.filled(as_left=["0 L", "60 L"]).verdict_as_left is Verdict.UNDECIDED  # 3 % of nothing is nothing
    coarse = CapacitanceSheet(STRAIGHT, ["60 L"], "2 L", reads="L", box=CapacitanceBox("0.1 pF", "1 pF"))
    assert coarse.filled(as_left=["60 L"]).verdict_as_left is Verdict.UNDECIDED


def usable_gauge(unusable="4 L"):
    points = [(f"{mm} mm", f"{0.4 * mm} L") for mm in range(0, 301, 25)]
    given = {"level_uncertainty": "0.5 mm", "mark_uncertainty": "0.1 mm", "volume_uncertainty": "0.1 %"}
    return replace(STRAIGHT, tank=fu.TankTable("box", points, unusable=unusable, **given))


@pytest.mark.parametrize(
    ("litres", "expected_kg"), [("1 L", 0.0), ("4 L", 0.0), ("5 L", 0.8), ("30 L", 20.8), ("120 L", 92.8)]
)
def test_the_display_shows_zero_where_the_unusable_fuel_begins(litres, expected_kg):
    """14 CFR 25.1337(b)(1) by hand: (litres - 4) x 0.8 kg/L, zero at 4 L and below; with 0 L unusable all is shown."""
    sheet = CapacitanceSheet(usable_gauge(), [litres], "0.5 kg", reads="kg", box=replace(BOX, step="0.01 pF"))
    (point,), (whole,) = sheet.points, replace(sheet, gauge=usable_gauge("0 L")).points
    assert float(point.true) == pytest.approx(expected_kg, abs=1e-9)
    assert litres != "1 L" or not point.doubt  # no setting of the box near it is of usable fuel
    assert point.capacitance_pf == whole.capacitance_pf  # the amount asked for is that in the tank
    assert float(whole.true) == pytest.approx(0.8 * float(litres.split()[0]))
    assert "the unusable 4 L" in " ".join(sheet.report().remarks)


def test_a_gauge_that_a_sheet_accepts_agrees_with_a_dip_of_its_tank():
    """Of two displays, all the fuel and the usable part, the sheet, the job and the dip accept and reject the same."""
    gauge = usable_gauge()
    sheet = CapacitanceSheet(gauge, ["4 L", "30 L", "71 L"], "1.5 kg", reads="kg", box=BOX, resolution="0.5 kg")
    most_l = (55.8 + 0.05 + 0.002 * 55.8 - 54.0) * 120.0 / 52.8  # set for 4 L, which are 55.76 pF
    assert float(sheet.points[0].doubt) == pytest.approx(0.8 * (most_l - 4.0))
    dip, density = gauge.tank.volume("75 mm"), fu.measured("0.8 kg/L", "0.0005 kg/L", name="density")
    for readings, verdict in ((("0 kg", "21 kg", "53.5 kg"), "accept"), (("3 kg", "24 kg", "57 kg"), "reject")):
        left = sheet.filled(as_left=readings)
        assert left.verdict_as_left.value == verdict
        job = fu.JobRecord(number="1", date="2031-05-17", technician="A. B.", sheets=[left], fluid="Jet A")
        assert (job.verdict is Verdict.REJECT) == (verdict == "reject")
        shown = fu.measured(readings[1], "0.3 kg", name="gauge")
        found = fu.fuel_on_board({"dip": dip, "gauge": shown}, "L", density=density)
        assert found.verdict.value == verdict


def test_the_errors_in_another_fuel_are_those_of_the_usable_fuel():
    """By hand: 60 L and ε - 1 of 1.0 for 1.1 read as 54.5 L, of which 15 L are unusable: 39.5 L for 45 L."""
    adjusted = replace(usable_gauge("15 L"), relative_permittivity=2.1)
    error = adjusted.error_with(STRAIGHT.fuel, at="15 degC", relative_permittivity=2.0)
    assert error.volume_error == pytest.approx((60.0 / 1.1 - 15.0) / 45.0 - 1.0)
    assert error.mass_error == pytest.approx(error.volume_error)  # the density is that of the adjustment
    assert "the unusable 15 L" in " ".join(error.report().remarks)
    with pytest.raises(FuelUnitsError, match="61 L"):
        replace(adjusted, tank=replace(adjusted.tank, unusable="61 L")).error_with("Jet A", at="15 degC")


@pytest.mark.simulation
@pytest.mark.parametrize(("unusable", "lowest"), [(None, "12 L"), ("5 L", "5 L")])
def test_no_gauge_beyond_the_tolerance_is_accepted_by_simulation(unusable, lowest):
    """A gauge with an error of its own, at what the box truly is: accepted only within the tolerance of that."""
    random, unusable_l = np.random.default_rng(5), float((unusable or "0 L").split()[0])
    tank = replace(TANK, unusable=unusable)
    gauge = CapacitanceGauge(tank, PROBES, "Jet A", "15 degC", stray="6 pF", relative_permittivity=2.1)
    sheet = CapacitanceSheet(gauge, [lowest, "55 L", "110 L"], "3 L", reads="L", box=BOX, resolution="0.5 L")
    accepted = 0
    for _ in range(300):
        true = [
            max(
                gauge.tank.volume_l_at(
                    gauge.level_mm(
                        point.capacitance_pf + random.uniform(-1, 1) * float(BOX.doubt(Fraction(point.capacitance_pf)))
                    )
                )
                - unusable_l,
                0.0,
            )
            for point in sheet.points
        ]
        error = random.normal(0.0, 2.0)
        readings = [max(round((each + error) * 2.0) / 2.0, 0.0) for each in true]
        for point, reading, verdict in zip(
            sheet.points, readings, sheet.verdicts([f"{each} L" for each in readings]), strict=True
        ):
            actual = true[sheet.points.index(point)]
            accepted += verdict is Verdict.ACCEPT
            assert verdict is not Verdict.ACCEPT or abs(reading - actual) <= 3.0
            assert verdict is not Verdict.REJECT or abs(reading - actual) >= 3.0
    assert 300 < accepted < 900


GAP = CapacitanceGauge(TANK, [Probe("30 pF", "0 mm", "100 mm"), Probe("24 pF", "150 mm", "300 mm")], "Jet A", "15 degC")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"asked": ["121 L"]}, "range"),
        ({"asked": "60 L"}, "list"),
        ({"asked": []}, "list"),
        ({"asked": ["60 L/h"]}, "volume or a mass"),
        ({"gauge": GAP, "asked": ["40 L"]}, "no probe measures"),
        ({"reads": "L/h"}, "volume or a mass"),
        ({"tolerance": "2"}, "%"),
        ({"tolerance": "2 kg"}, "kg"),
        ({"box": None}, "CapacitanceBox"),
        ({"box": CapacitanceBox("500 pF", "1 %")}, "coarse"),
        ({"as_left": ["60.2 L"]}, "steps"),
        ({"as_left": ["60 L", "60 L"]}, "one for each"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused(change, message):
    given = {"gauge": STRAIGHT, "asked": ["60 L"], "tolerance": "2 L", "reads": "L", "box": BOX, "resolution": "0.5 L"}
    with pytest.raises(FuelUnitsError, match=message):
        CapacitanceSheet(**{**given, **change})


def test_a_gauge_that_truncates_reads_up_to_a_step_low():
    """60.9 L on a display of whole litres is 60; within 1 L that is right, within 0.9 L the step hides too much."""
    given = {
        "gauge": STRAIGHT,
        "asked": ["60.9 L"],
        "reads": "L",
        "box": CapacitanceBox("0.001 pF", "0 %"),
        "resolution": "1 L",
    }
    cut, rounds = (CapacitanceSheet(**given, tolerance="1.1 L", truncates=each).points[0] for each in (True, False))
    assert (cut.expected, cut.lowest, cut.highest, rounds.expected) == (60.0, 60.0, 61.0, 61.0)
    (coarse,) = CapacitanceSheet(**given, tolerance="0.9 L", truncates=True).points
    assert "step" in coarse.undecided


def test_a_sheet_is_of_a_gauge():
    with pytest.raises(FuelUnitsError, match="a CapacitanceGauge"):
        CapacitanceSheet(STRAIGHT.tank, ["60 L"], "2 L", reads="L", box=BOX)


def test_the_page_of_a_sheet_shows_the_probes_and_the_tank_table_on_which_it_rests():
    """By hand from what is printed: at 100 mm 6 + 54 + 1.1 × 30 × 100/180 pF."""
    sheet = CapacitanceSheet(GAUGE, ["30 L"], "2 L", reads="L", box=BOX)
    for each in (sheet.report(), GAUGE.report()):
        probes, tank = each.tables[-2:]
        assert probes.rows == (("30 pF", "0 mm", "180 mm"), ("24 pF", "150 mm", "300 mm"))
        assert [row[:2] for row in tank.rows] == [("0", "0.0"), ("100", "30.0"), ("300", "120.0")]
        assert "left wing" in tank.title
    assert sheet.points[0].capacitance_pf == pytest.approx(6 + 54 + 1.1 * 30 * 100 / 180, abs=0.05)
    job = fu.JobRecord(number="1", date="2031-05-17", technician="R. Invented", sheets=[sheet])
    assert fu.page(job).index("30 pF") < fu.page(job).index("24 pF")


def test_a_permittivity_counts_to_the_digits_that_are_printed():
    high = round(fu.permittivity("Jet A", at="15 degC").high, 3)
    for eps, is_noted in ((high, False), (high + 0.0003, False), (high + 0.0011, True)):
        assert (
            "is beyond" in str(CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC", relative_permittivity=eps))
        ) is is_noted


@pytest.mark.parametrize(
    ("fuel", "eps", "noted"),
    # hydrocarbons of 808 kg/m³: 2.0 to 2.2 by the Clausius-Mossotti relation with the CRC figures; gasoline is lower
    [
        ("Jet A", 1.93, True),
        ("Jet A", 2.31, True),
        ("Jet A", 2.13, False),
        ("100LL", 2.13, True),
        ("100LL", 2.0, False),
    ],
)
def test_a_permittivity_that_the_fuel_cannot_have_is_noted_on_each_page(fuel, eps, noted):
    gauge = CapacitanceGauge(TANK, PROBES, fuel, "15 degC", relative_permittivity=eps)
    sheet = CapacitanceSheet(gauge, ["60 L"], "2 L", reads="L", box=BOX)
    other = replace(gauge, relative_permittivity=None).error_with(fuel, at="15 degC", relative_permittivity=eps)
    found = fu.permittivity(fuel, at="15 degC")
    assert noted == (not found.low <= eps <= found.high)
    for page in (gauge, sheet, gauge.error_with(fuel, at="30 degC").details, other.details):
        text = " ".join(str(page).split())
        assert (f"Permittivity {eps:g} is beyond {found.low:.3f} to {found.high:.3f}" in text) == noted


@pytest.mark.parametrize("shown", ["0 L", "4 L"])
def test_a_point_at_which_the_probe_is_dry_is_not_judged(shown):
    """A probe from 8 L on has one capacitance from 0 to 8 L, of which 4 L are unusable: 0 to 4 L are shown."""
    tank = fu.TankTable("t", [("0 mm", "0 L"), ("300 mm", "120 L")], unusable="4 L")
    gauge = fu.CapacitanceGauge(tank, [fu.Probe("58 pF", "20 mm", "280 mm")], "Jet A", "15 degC")
    box = fu.CapacitanceBox("0.1 pF", "0.05 %")
    sheet = fu.CapacitanceSheet(gauge, ["8 L", "60 L"], tolerance="2 L", box=box, resolution="0.1 L", reads="L")
    assert "undecided" in sheet.filled(as_left=[shown, "56 L"]).report().verdict


def test_an_error_where_no_probe_measures_is_refused():
    """Half the wetted range, 150 mm, lies in the gap of two probes, where one capacitance means 48 to 64 L."""
    tank = fu.TankTable("t", [("0 mm", "0 L"), ("300 mm", "120 L")], unusable="4 L")
    probes = [fu.Probe("25 pF", "0 mm", "120 mm"), fu.Probe("25 pF", "160 mm", "300 mm")]
    with pytest.raises(FuelUnitsError, match="48 to 64 L"):
        fu.CapacitanceGauge(tank, probes, "Jet A", "15 degC").error_with("Jet A", at="40 degC")


def test_a_permittivity_that_is_compared_with_nothing_is_said_to_be():
    mixed = fu.blend({"Jet A": 0.7, "HEFA-SPK": 0.3})
    for of in (mixed, mixed.measured("0.793 kg/L", uncertainty="0.5 kg/m^3"), "HEFA-SPK"):
        gauge = CapacitanceGauge(TANK, PROBES, of, "15 degC", relative_permittivity=1.93)
        assert any("1.93 was compared with nothing" in each for each in gauge.doubt())
    assert not any("nothing" in each for each in GAUGE.doubt())
