"""Readings of the fuel on board against a simulation of what is in the tank."""

import math
import re

import numpy as np
import pytest
from scipy import stats

import fuelunits as fu
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.uncertainty.decisions import Verdict


def measured(litres, u, name):
    return fu.measured(f"{litres!r} L", uncertainty=f"{u!r} L", name=name)


def test_agreeing_readings_are_combined_by_weight():
    """By hand: weights 1/4² and 1/2², so the mean lies at (212 + 4 × 206)/5."""
    found = fu.fuel_on_board({"gauge": measured(212.0, 4.0, "g"), "dipstick": measured(206.0, 2.0, "d")}, "L")
    assert found.verdict is Verdict.ACCEPT
    assert found.differences[0][4] == pytest.approx(2.0, abs=1e-3)
    assert found.combined.m_as("L").nominal_value == pytest.approx((212.0 + 4.0 * 206.0) / 5.0)
    assert found.combined.m_as("L").std_dev == pytest.approx((1 / 16 + 1 / 4) ** -0.5)


def test_the_unusable_fuel_of_a_tank_is_never_planned_with():
    """By hand: 34.4 L in the tank less 15 L that the engine cannot use are 19.4 L, 29.1 min at 40 L/h."""
    points = [(f"{mm} mm", f"{mm} L") for mm in range(0, 101, 10)]
    tank = fu.TankTable("left", points, unusable="15 L", level_uncertainty="0.5 mm", volume_uncertainty="0.5 %")
    found = fu.fuel_on_board({"gauge": measured(19.4, 0.5, "g"), "dipstick": tank.volume("34.4 mm")}, "L")
    assert found.combined.m_as("L").nominal_value == pytest.approx(19.4)
    assert fu.endurance(found.combined, "40 L/h").m_as("min").nominal_value == pytest.approx(29.1)
    assert "usable" in str(found).lower()
    assert tank.volume("10 mm").usable.m_as("L").nominal_value == 0.0


@pytest.mark.parametrize("left", [None, "0 L", "4 L"])
@pytest.mark.parametrize("beside", ["gauge", "totaliser"])
def test_readings_agree_only_where_the_unusable_fuel_is_stated(left, beside):
    """4 L cannot be used; the gauge reads what can, the totaliser started from a dip: so would its excess agree."""
    random, points = np.random.default_rng(5), [(f"{mm} mm", f"{0.39 * mm} L") for mm in range(0, 301, 60)]
    tank = fu.TankTable("wing", points, unusable=left, level_uncertainty="2 mm", volume_uncertainty="0.5 %")
    covered = []
    for level in random.uniform(120.0, 280.0, 40).tolist():
        start, now = (tank.volume(f"{mm + random.normal(0.0, 2.0):.2f} mm") for mm in (level, level - 20.0 / 0.39))
        usable = 0.39 * level - 20.0 - 4.0
        shown = start.usable - measured(20.0 + random.normal(0.0, 0.2), 0.2, "used")
        other = shown if beside == "totaliser" else measured(usable + random.normal(0.0, 2.0), 2.0, "gauge")
        found = fu.fuel_on_board({"dip": now, beside: other}, "L")
        if left is None:
            assert found.verdict is Verdict.UNDECIDED
            assert not found.incomplete
            assert re.search("unusable fuel of wing .*unusable='4 L', or '0 L'", found.reason)
        elif found.combined is not None:
            covered.append(
                abs(found.combined.m_as("L").nominal_value - usable) <= 2.0 * found.combined.m_as("L").std_dev
            )
    assert left != "4 L" or (len(covered) > 30 and np.mean(covered) > 0.9)


def test_unusable_fuel_cancels_in_the_fuel_used_and_not_in_a_sum_of_tanks():
    """By hand: 0.39 L/mm, 51.3 mm are 20 L used, whatever cannot be used of the rest."""
    points = [(f"{mm} mm", f"{0.39 * mm} L") for mm in range(0, 301, 60)]
    given = {"level_uncertainty": "2 mm", "volume_uncertainty": "0.5 %"}
    left, right = (fu.TankTable(name, points, **given) for name in ("left", "right"))
    used = left.volume("251.3 mm").usable - left.volume("200 mm").usable
    assert fu.fuel_on_board({"dips": used, "t": measured(20.0, 0.2, "t")}, "L").verdict is Verdict.ACCEPT
    both = left.volume("200 mm").usable + right.volume("200 mm").usable
    found = fu.fuel_on_board({"dips": both, "gauge": "156 L"}, "L")
    assert all(words in found.reason for words in ("unusable fuel of left", "unusable fuel of right", "gauge was not"))


def test_disagreeing_readings_are_not_averaged():
    found = fu.fuel_on_board({"gauge": measured(212.0, 4.0, "g"), "totaliser": measured(196.0, 1.5, "t")}, "L")
    assert found.verdict is Verdict.REJECT
    assert found.combined is None
    assert "lowest (totaliser)" in str(found)


@pytest.mark.parametrize("other", ["200 L", fu.TankTable("left", [("0 mm", "0 L"), ("1 m", "400 L")]).volume("50 cm")])
def test_nothing_is_decided_where_an_uncertainty_is_not_stated(other):
    found = fu.fuel_on_board({"gauge": measured(200.0, 2.0, "g"), "other": other}, "L")
    assert found.verdict is Verdict.UNDECIDED
    assert found.incomplete == ("other",)
    assert found.combined is None
    assert "other" in str(found).splitlines()[1]


def test_one_reading_given_twice_does_not_agree_with_itself():
    gauge = measured(80.0, 1.0, "gauge")
    for again in (gauge, measured(80.0, 1.0, "gauge")):  # the latter, made anew, would halve the variance
        found = fu.fuel_on_board({"gauge": gauge, "totaliser": again}, "L")
        assert found.verdict is Verdict.UNDECIDED
        assert found.combined is None
        assert "twice" in str(found)
    assert fu.fuel_on_board({"gauge": gauge, "dip": measured(80.0, 1.0, "dip")}, "L").verdict is Verdict.ACCEPT


@pytest.mark.parametrize("u", [11.0, 16.0, 30.0, 80.0])
def test_a_gauge_that_shows_the_same_whatever_is_in_the_tank_never_agrees(u):
    """The gauge is stuck at 60 L, and its stated uncertainty is a good part of that."""
    for litres in np.random.default_rng(1).uniform(1.0, 60.0, 40).tolist():
        found = fu.fuel_on_board({"gauge": measured(60.0, u, "g"), "dipstick": measured(litres, 1.0, "d")}, "L")
        stands_apart = abs(litres - 60.0) > 2.0 * np.hypot(u, 1.0)
        assert found.verdict is (Verdict.REJECT if stands_apart else Verdict.UNDECIDED)
        assert found.combined is None
        assert stands_apart or "gauge less dipstick" in str(found).partition("plan with")[0].replace("\n ", "")


def test_a_density_of_unstated_uncertainty_decides_nothing():
    """Batches of jet fuel differ by 4 %: readings of one true quantity would seem to disagree, and the other way."""
    readings = {"dipstick": measured(100.0, 0.5, "d"), "gauge": fu.measured("84 kg", "0.4 kg", name="g")}
    found = fu.fuel_on_board(readings, "L", density="0.80 kg/L")
    assert found.verdict is Verdict.UNDECIDED
    assert found.incomplete == ("gauge", "density")
    known = fu.measured("0.80 kg/L", "0.02 kg/L", name="density")
    assert fu.fuel_on_board(readings, "L", density=known).verdict is Verdict.ACCEPT
    assert fu.fuel_on_board({"a": measured(100.0, 0.5, "d"), "b": measured(101.0, 0.5, "e")}, "L", density="0.8 kg/L")


@pytest.mark.parametrize("relative", [0.01, 0.05])
def test_a_density_in_doubt_is_propagated_or_refused(relative):
    """True densities are drawn: 80 kg are 80 kg over each, outside U of the volume in 5 % or so; ± 50 % is refused."""
    density = fu.measured("0.8 kg/L", f"{100 * relative} %", name="density")
    found = fu.endurance("80 kg", "1 L/h", density=density).m_as("h")
    drawn = 80.0 / np.random.default_rng(2).normal(0.8, 0.8 * relative, 100_000)
    assert np.mean(np.abs(drawn - found.nominal_value) > 2.0 * found.std_dev) == pytest.approx(0.0455, abs=0.006)
    vague = fu.measured("0.8 kg/L", "25 %", name="density")
    readings = {"dipstick": measured(100.0, 0.5, "d"), "gauge": fu.measured("84 kg", "0.4 kg", name="g")}
    with pytest.raises(FuelUnitsError, match="5 %"):
        fu.fuel_on_board(readings, "L", density=vague)


def test_a_shared_density_is_taken_out_of_the_difference():
    density = fu.measured("0.803 kg/L", uncertainty="0.02 kg/L", name="density")
    readings = {"dipstick": measured(100.0, 0.5, "d"), "totaliser": measured(102.0, 0.5, "t")}
    by_mass = fu.fuel_on_board(readings, "kg", density=density)
    (_, _, difference, expanded, _) = by_mass.differences[0]
    assert difference == pytest.approx(-2.0 * 0.803)
    assert expanded == pytest.approx(2.0 * 0.803 * 0.5 * 2**0.5, rel=0.01)


def test_a_shared_tank_table_is_taken_out_of_the_difference():
    """By hand: of two levels read to 1 mm, 0.4 L/mm each, only these differ; one reading cannot confirm itself."""
    points = [(f"{mm} mm", f"{0.4 * mm} L") for mm in (0, 100, 180, 185, 250)]
    tank = fu.TankTable("box", points, unusable="0 L", level_uncertainty="1 mm", volume_uncertainty="2 %")
    dip, float_ = tank.volume("180 mm"), tank.volume("185 mm")
    found = fu.fuel_on_board({"dipstick": dip, "float": float_}, "L")
    assert found.differences[0][3] == pytest.approx(2.0 * 0.4 * 2**0.5, rel=0.05)
    assert found.as_dict()["verdict"] == "reject"
    assert fu.fuel_on_board({"dipstick": dip, "float": dip}, "L").verdict is Verdict.UNDECIDED


@pytest.mark.simulation
@pytest.mark.parametrize("count", [2, *(pytest.param(count, marks=pytest.mark.long) for count in (3, 4))])
def test_false_disagreements_are_as_rare_as_promised(count):
    """4.55 % of correct readings, all pairs together; fewer where pairs share a reading, never clearly more."""
    random = np.random.default_rng(count)
    spreads, false = (1.0, 2.0, 3.0, 1.5)[:count], 0
    for _ in range(1500):
        readings = {str(i): measured(200.0 + random.normal(0.0, u), u, str(i)) for i, u in enumerate(spreads)}
        false += fu.fuel_on_board(readings, "L").verdict is Verdict.REJECT
    assert false / 1500 < 0.0455 + 3.0 * (0.0455 * 0.9545 / 1500) ** 0.5
    assert false > 15


@pytest.mark.parametrize("observed", [(3, 3), (2, 5), pytest.param((3, 3, 3), marks=pytest.mark.long)])
def test_uncertainties_from_a_few_dips_cover_what_is_in_the_tank(observed):
    """80 L, each reading a mean of a few with the uncertainty of their scatter: U covers, and few sound ones differ."""
    random, runs, kept, covered = np.random.default_rng(8), 300, 0, 0
    for _ in range(runs):
        dips = {str(i): 80.0 + random.standard_normal(n) for i, n in enumerate(observed)}
        readings = {
            name: fu.measured(
                f"{each.mean()} L",
                f"{each.std(ddof=1) / each.size**0.5} L",
                name=name,
                degrees_of_freedom=each.size - 1,
            )
            for name, each in dips.items()
        }
        found = fu.fuel_on_board(readings, "L")
        if found.verdict is Verdict.ACCEPT:
            fact = found.report().facts["combined"]
            kept += 1
            covered += abs(float(fact.split()[0]) - 80.0) <= float(fact.split("U = ")[1].split()[0])
    assert runs - kept <= runs * (0.0455 + 3.0 * (0.0455 * 0.9545 / runs) ** 0.5)
    assert covered >= kept * (0.9545 - 2.0 * (0.0455 * 0.9545 / kept) ** 0.5)


def test_the_coverage_factor_printed_is_that_of_each_difference():
    """Student's t at 95.45 % and 2 degrees of freedom: 4.53 (JCGM 100:2008, table G.2)."""
    dipped = fu.measured("80 L", "0.1 L", name="dips", degrees_of_freedom=2)
    found = fu.fuel_on_board({"dips": dipped, "gauge": fu.measured("80 L", "0.001 mL", name="gauge")}, "L")
    assert found.differences[0][4] == pytest.approx(4.53, abs=0.005)
    assert [row[3] for row in found.report().tables[0].rows] == ["4.53", "2.00"]
    assert fu.fuel_on_board({str(i): measured(80.0, 1.0, str(i)) for i in range(30)}, "L").verdict is Verdict.ACCEPT
    with pytest.raises(FuelUnitsError, match="coverage probability"):
        fu.fuel_on_board({str(i): measured(80.0, 1.0, str(i)) for i in range(31)}, "L")


@pytest.mark.parametrize(
    "readings", [{}, {"gauge": "5 L"}, ["5 L", "6 L"], {"a": "5 L", "b": "6 kg"}, {"a": 5, "b": "6 L"}]
)
def test_what_cannot_be_compared_is_refused(readings):
    with pytest.raises(FuelUnitsError):
        fu.fuel_on_board(readings, "L")


@pytest.mark.parametrize(("unit", "litres"), [("m3", 1000.0), ("bbl", 158.987), ("ft3", 28.3168), ("L", 1.0)])
def test_a_large_unit_hides_no_litre(unit, litres):
    """79.5 ± 1.4 L are 0.0795 m³, and neither "0.1" nor "U = 0.0"."""
    readings = {"gauge": measured(80.0, 1.0, "g"), "dipstick": measured(79.0, 1.0, "d")}
    combined, _, u = str(fu.fuel_on_board(readings, unit)).partition("combined: ")[2].partition(" U = ")
    assert float(combined.split()[0]) * litres == pytest.approx(79.5, abs=0.15)
    assert float(u.split()[0]) * litres == pytest.approx(2.0**0.5, abs=0.15)
    points = [(f"{10 * i} mm", f"{4 * i / litres!r} {unit}") for i in range(11)]
    tank = fu.TankTable("left", points, level_uncertainty="1 mm", volume_uncertainty="0.5 %")
    assert float(str(tank.volume("55 mm")).split()[4]) * litres == pytest.approx(22.0, abs=0.15)
    assert [float(row[1]) * litres for row in tank.report().tables[0].rows][1] == pytest.approx(4.0, abs=0.15)


@pytest.mark.parametrize("degrees", [math.inf, 4])
def test_the_figures_printed_are_those_of_the_comparison(degrees):
    random = np.random.default_rng(5)
    litres = dict(zip("abc", (100.0 + random.normal(0.0, 2.0, 3)).tolist(), strict=True))
    readings = {
        name: fu.measured(f"{each} L", f"{1.0 + i} L", name=name, degrees_of_freedom=degrees)
        for i, (name, each) in enumerate(litres.items())
    }
    found = fu.fuel_on_board(readings, "L")
    table, pairs = (each.rows for each in found.report().tables)
    for name, value, expanded, k in table:
        assert float(value) == pytest.approx(litres[name], abs=0.05)
        assert float(expanded) == pytest.approx(float(k) * readings[name].m.std_dev, rel=0.02, abs=0.05)
    assert found.lowest == min(litres, key=litres.get)
    for (words, off, expanded, k), (a, b, difference, u, factor) in zip(pairs, found.differences, strict=True):
        assert words == f"{a} less {b}"
        assert difference == pytest.approx(litres[a] - litres[b])
        assert [float(each) for each in (off, expanded, k)] == pytest.approx([difference, u, factor], abs=0.051)
        assert u == pytest.approx(factor * math.hypot(readings[a].m.std_dev, readings[b].m.std_dev))
        level = 1.0 - 0.0455 / 3.0 / 2.0
        assert factor == pytest.approx(
            stats.t.ppf(level, degrees) if degrees < 100 else stats.norm.ppf(level), rel=1e-6
        )


def test_the_printed_uncertainty_of_the_combination_is_twice_its_standard_one():
    found = fu.fuel_on_board({"gauge": measured(212.0, 4.0, "g"), "dipstick": measured(206.0, 2.0, "d")}, "L")
    assert "207.2 L, U = 3.6" in str(found)  # 2/√(1/4² + 1/2²) = 3.58


def test_an_empty_tank_is_a_reading_and_one_reading_of_few_observations_makes_the_mean_a_plain_one():
    empty = {name: fu.measured("0 L", "1 L", name=name) for name in ("gauge", "dipstick")}
    assert fu.fuel_on_board(empty, "L").verdict.value == "undecided"  # U is larger than what is there
    few = fu.measured("200 L", "1 L", name="few", degrees_of_freedom=3)
    many, known = fu.measured("203 L", "2 L", name="many"), fu.measured("200 L", "1 L", name="known")
    for first, mean in ((few, 201.5), (known, (200.0 + 203.0 / 4.0) / 1.25)):
        assert fu.fuel_on_board({"a": first, "b": many}, "L").combined.m.nominal_value == pytest.approx(mean)


def test_readings_are_named_by_texts():
    """Tank 1 of a frame and tank "1" of a form would be one name, and 80 L beside 99 L would be lost."""
    readings = {1: "80 L", "1": "99 L", "totaliser": "99.3 L"}
    with pytest.raises(QuantityError, match="names of the readings"):
        fu.fuel_on_board(readings, "L")
