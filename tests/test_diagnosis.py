"""Causes of wrong indications, against accidents and examples that others print, and against a simulation."""

import json
import math
import re
from collections import Counter
from fractions import Fraction

import numpy as np
import pint
import pytest
from registries import ONE_REGISTRY
from scipy import stats
from simulated_indications import KINDS, PAIRS, run

import fuelunits as fu
from fuelunits.confusions import CHECKS
from fuelunits.errors import DimensionError, FuelUnitsError
from fuelunits.fuels.volume_correction import ctl
from fuelunits.indicators.causes import Cause, Facts, known_causes, other_causes
from fuelunits.indicators.diagnosis import _fit

K = "11412 pulse/L"


def kinds(*amounts, **facts):
    return [each.kind for each in fu.diagnose(*amounts, **facts).suspects]


def front(*amounts, **facts):
    return {each.kind for each in fu.diagnose(*amounts, **facts).suspects if each.rank == 1}


PUBLISHED = [
    # Board of Inquiry into the fuel exhaustion of a Boeing 767 in 1983 (1985), as retold: a density of 1.77 lb/L was
    # taken as kg/L: 22 300 kg were believed to be on board, about 10 100 kg were; 7682 L are 6169 kg at 0.803 kg/L
    ("22300 kg", "10100 kg", {}, "pounds_for_kilograms"),
    (f"{7682 * 1.77} kg", "6169 kg", {}, "pounds_for_kilograms"),
    # NIST HB 44 App. C: 1 kg is 2.204 623 lb, 1 imperial gallon 1.200 95 US gallons (recalled); NIST SP 811 App. B.8
    ("2.204623 kg", "1 kg", {}, "pounds_for_kilograms"),
    ("120.095 gal", "100 gal", {"indicator": "43186 pulse/gal", "stamped": "43186 pulse/gal"}, "imperial_display"),
    ("378.5412 L", "100 L", {"indicator": K, "stamped": K}, "gallon_for_litre_display"),
    ("454.609 L", "100 L", {"indicator": K, "stamped": K}, "imperial_display"),
    # FAA-H-8083-30, p. 4-15: jet fuel 6.7, avgas 6.0 lb/US gal; UK SI 2021/534: 0.8 kg/L
    ("670 gal", "100 gal", {"indicator": K, "stamped": K, "channels": 1}, "mass_for_volume"),
    ("80 L", "100 L", {"indicator": K, "stamped": K, "channels": 1}, "mass_for_volume"),
    ("600 lb", "100 lb", {}, "mass_for_volume"),
    ("100 L", "80 L", {"indicator": K, "stamped": K, "channels": 1}, "mass_for_volume"),
    ("100 kg/h", "80 kg/h", {"indicator": K, "stamped": K, "channels": 1, "fuel": "Jet A"}, "mass_for_volume"),
    ("42 L", "1 L", {}, None),
]


@pytest.mark.parametrize(("stated", "is_noted"), [(None, True), ("1 gal/h", False)])
def test_a_display_in_whole_units_whose_step_is_not_stated_is_noted(stated, is_noted):
    """K is right; the display rounds 7.4 to 7 gal/h, 5.4 % low."""
    reads = fu.Indicator("43186 pulse/gal", reads="gal/h", resolution=stated) if stated else "43186 pulse/gal"
    known = {"stamped": "43186 pulse/gal", "channels": 1, "fuel": "100LL", "at": "15 degC"}
    found = fu.diagnose("7 gal/h", "7.4 gal/h", indicator=reads, **known)
    assert ("to the digits given" in " ".join(str(found).split())) is is_noted
    assert bool(found.suspects) is is_noted
    assert "to the digits given" not in str(fu.diagnose("7.00 gal/h", "7.4 gal/h", indicator=reads, **known))


@pytest.mark.parametrize(("indicated", "true", "facts", "kind"), PUBLISHED)
def test_what_others_print(indicated, true, facts, kind):
    assert front(indicated, true, **facts) == ({kind} if kind else set())


def pounds(density, unit="lb/h", **more):
    return fu.Indicator(K, reads=unit, fixed_density=density, **more)


@pytest.mark.parametrize(
    ("density", "fuel", "kind", "word"),
    [
        ("6.7 lb/gal", "100LL", "density_setting", "Jet A"),  # weights of a gallon, FAA-H-8083-30
        ("6.0 lb/gal", "Jet A", "density_setting", "100LL"),
        ("8.34 lb/gal", "Jet A", "density_setting", "water"),  # a US gallon of water is 8.34 lb, FAA-H-8083-25: 8.35
        ("6.7 lb/imp_gal", "100LL", "density_setting", "6.7 lb/imp_gal"),  # 0.669 kg/L: lb per imperial gallon
        ("6.7 lb/gal", "Jet A", "fuel_temperature", "22 °C"),
    ],
)
def test_a_density_that_is_set_is_judged_as_a_density(density, fuel, kind, word):
    at = "-30 degC" if kind == "fuel_temperature" else "15 degC"
    ratio = fu.factor(density.split()[1], "kg/m^3") * float(density.split()[0])
    ratio /= fu.fuel(fuel).density_kg_m3(float(at.split()[0]))
    found = fu.diagnose(f"{100 * ratio} lb", "100 lb", indicator=pounds(density), stamped=K, fuel=fuel, at=at)
    assert found.suspects[0].kind == kind
    assert word in found.suspects[0].reason
    assert ("water" in found.suspects[0].reason) is (word == "water")
    right = float(density.split()[0]) / ratio
    assert f"{fuel} has {right:.4g} {density.split()[1]}" in found.suspects[0].reason


def test_densities_are_told_in_the_unit_of_the_one_that_is_set():
    """Kerosene of 6.7 lb/gal (FAA-H-8083-30) in an indicator set for avgas of 6 lb/gal."""
    found = fu.diagnose("90 lb", "100 lb", indicator=pounds("6.0 lb/gal"), stamped=K, fuel="Jet A")
    assert any("6 lb/gal set, and Jet A has about 6.74" in each.reason for each in found.suspects)
    assert not any("kg/m" in each.reason for each in found.suspects)


def test_a_specific_gravity_is_refused_as_a_density_by_name():
    with pytest.raises(FuelUnitsError, match="kg/L"):
        pounds("0.804 kg/m^3")


@pytest.mark.parametrize(
    ("entered", "stamped", "kind"),
    [
        ("11412 pulse/gal", "11412 pulse/L", "k_per_litre"),
        ("11412 pulse/L", "11412 pulse/gal", "k_per_gallon"),
        ("43186 pulse/gal", "43186 pulse/imp_gal", "k_per_imperial_gallon"),
        ("1141.2 pulse/L", K, "k_power_of_ten"),
        ("11000 pulse/L", "11412 pulse/L", "k_digits_lost"),
        ("14112 pulse/L", K, "k_digits_swapped"),
        ("1412 pulse/L", K, "k_digit_retyped"),
        ("114412 pulse/L", K, "k_digit_retyped"),
        ("114.2 pulse/L", "1146.2 pulse/L", "k_digit_retyped"),
        ("11903 pulse/L", K, "k_not_matched"),
    ],
)
def test_k_entered_against_k_stamped(entered, stamped, kind):
    """The indication is pulses over K entered: true K over K entered times what is true."""
    ratio = fu.KFactor.read(entered).indication_error(stamped) + 1.0
    assert front(f"{100 * ratio} L", "100 L", indicator=entered, stamped=stamped) == {kind}
    assert front(
        f"{100 * ratio:.6g} L/h", "100 L/h", indicator=fu.Indicator(entered, reads="L/h"), stamped=stamped
    ) == {kind}
    found = fu.diagnose(f"{100 * ratio} L", "100 L", indicator=entered, stamped=stamped).suspects[0]
    assert found.ratio == pytest.approx(ratio)
    assert abs(found.unexplained) < 0.1
    assert kind in kinds(ratio, 1, stamped=stamped)
    assert kind in kinds(ratio, 1, indicator=entered) or kind in ("k_digits_lost", "k_digit_retyped")


def test_each_channel_has_a_k_of_its_own():
    twin = fu.Indicator([K, "11286 pulse/L"], reads="L/h", channels=2)
    assert front("52.5 L/h", "50 L/h", indicator=twin, stamped=[K, "12415 pulse/L"]) == {"k_not_matched"}
    with pytest.raises(FuelUnitsError, match="one for each channel"):
        fu.diagnose("50 L/h", "52 L/h", indicator=twin, stamped=[K])


def test_a_cause_is_offered_only_where_it_is_possible():
    volume = kinds("96 L/h", "100 L/h")
    assert not {"density_setting", "fuel_temperature", "other_fuel", "compensated_volume"} & set(volume)
    assert "compensated_volume" in kinds("96 L", "100 L")
    assert {"density_setting", "other_fuel"} <= set(kinds("111.7 kg", "100 kg"))
    assert "fuel_temperature" in kinds("97 kg", "100 kg")
    assert not {"k_not_matched", "k_digits_lost"} & set(kinds("96 L", "100 L", indicator=K, stamped=K))
    assert front("50 L", "100 L", channels=1) == {"pulses_halved"}
    assert front("50 L", "100 L", indicator=fu.Indicator(K, reads="L/h"), stamped=K) == {"pulses_halved"}
    assert front("50 L", "100 L") == {"pulses_halved", "one_channel_of_two"}
    assert front("50 L", "100 L", channels=4) == {"pulses_halved", "dead_channels"}
    with pytest.raises(FuelUnitsError, match="channels"):
        fu.diagnose("50 L", "100 L", channels=65)
    assert "minutes_for_hours" in kinds("1 L/h", "60 L/h", indicator=K, stamped=K)
    assert "minutes_for_hours" not in kinds("1 L", "60 L")
    display = fu.Indicator(K, reads="L/h", low_flow_cutoff="8 L/h")
    assert "low_flow" in kinds("14 L/h", "15 L/h", indicator=display, stamped=K)
    assert "low_flow" not in kinds("140 L/h", "150 L/h", indicator=display, stamped=K)
    assert "low_flow" in kinds("22.5 L/h", "23.99 L/h", indicator=display, stamped=K)  # below three times the cutoff
    assert "low_flow" not in kinds("22.5 L/h", "24 L/h", indicator=display, stamped=K)
    cold = {"indicator": K, "stamped": K, "fuel": "Jet A"}
    assert "viscosity" in kinds("97 L/h", "100 L/h", at="-38 degC", **cold)
    assert "viscosity" not in kinds("97 L/h", "100 L/h", at="30 degC", **cold)
    assert "viscosity" not in kinds("97 L/h", "100 L/h", indicator=K, stamped=K, fuel="100LL", at="-38 degC")
    less = fu.Indicator(K, reads="L/h", channels=2, feed_less_return=True)
    assert "return_not_subtracted" in kinds("62 L/h", "21 L/h", channels=2)
    assert "return_not_subtracted" not in kinds("62 L/h", "21 L/h", indicator=less)


def test_a_k_that_no_known_slip_gives_is_that_of_another_transducer():
    """8000 for 11412: a ratio of 0.70, which no change of unit, digit or decimal point gives."""
    found = fu.diagnose("142.7 L", "100 L", indicator="8000 pulse/L", stamped=K).suspects
    assert found[0].kind == "k_not_matched"


def test_fuel_of_a_mild_day_is_thick_beside_a_bench_liquid():
    """Jet A has some 3.5 mm²/s at 0 °C, three times that of a liquid of 1.2 mm²/s, and 1.2 mm²/s at 55 °C."""
    same = {"indicator": K, "stamped": K, "fuel": "Jet A"}
    assert "viscosity" in kinds("97 L/h", "100 L/h", at="0 degC", **same)
    assert "viscosity" not in kinds("97 L/h", "100 L/h", at="55 degC", **same)


@pytest.mark.parametrize(("share", "dead"), [(0.48, 2), (0.53, 1)])
def test_of_three_channels_two_are_dead_below_half_of_the_flow(share, dead):
    """Of flows alike but for chance, one has less than a half as often as two have more: the densities meet there."""
    found = [each.reason for each in fu.diagnose(share, 1, channels=3).suspects if each.kind == "dead_channels"]
    assert [each.partition(" channels")[0] for each in found] == [f"{dead} of 3"]


@pytest.mark.parametrize(
    "known", [{}, {"fuel": "Jet A-1", "at": "15 degC"}, {"fuel": "100LL", "at": "15 degC"}], ids=str
)
@pytest.mark.parametrize("amount", ["L", "kg"])
def test_a_density_that_is_not_known_is_not_named_alone_far_from_its_ratio(amount, known):
    """Simulated: 5 to 32 % of the fuel fed returns, K is right, and the true amount is known within 0.3 %."""
    of_mass = {"reads": "kg/h", "fixed_density": "0.72 kg/L" if known.get("fuel") == "100LL" else "0.804 kg/L"}
    display = of_mass if amount == "kg" else {"reads": "L/h"}
    same = {"indicator": fu.Indicator(K, **display), "stamped": K, "uncertainty": "0.3 %", **known}
    random, alone, shared = np.random.default_rng(8), [], 0
    for _ in range(60):
        ratio = math.exp(random.normal(0.0, 0.003)) / (1.0 - random.uniform(0.05, 0.32))
        found = fu.diagnose(f"{200.0 * ratio:.2f} {amount}", f"200 {amount}", **same)
        first = [each for each in found.suspects if each.rank == 1]
        shared += {"return_not_subtracted"} < {each.kind for each in first}
        if len(first) == 1:
            alone += [(math.log(found.ratio / first[0].ratio) / found.uncertainty, first[0].unexplained)]
    off, printed = np.reshape(alone, (-1, 2)).T
    assert all(np.abs(off) <= 2.0)
    assert printed == pytest.approx(off, abs=0.06)
    assert shared >= 5


def test_what_is_stated_explains_no_deviation_of_the_other_sign():
    """K 3 % too high and a density 2.1 % too high read 0.9 % low together; 2.5 % high is something else besides."""
    batch = JET.measured("0.8 kg/L", "15 degC", uncertainty="0.2 kg/m^3")
    high = fu.Indicator("10300 pulse/L", reads="kg/h", fixed_density="0.817 kg/L")
    known = {"indicator": high, "stamped": "10000 pulse/L", "fuel": batch, "at": "15 degC"}
    assert kinds("97.4 kg/h", "100 kg/h", **known)[0] == "k_not_matched + density_setting"
    assert kinds("102.6 kg/h", "100 kg/h", **known)[0] != "k_not_matched + density_setting"


def test_a_free_figure_is_never_fitted_the_wrong_way():
    found = kinds(1.04, 1)
    assert not {"pulses_missing", "low_flow", "viscosity"} & set(found)
    assert "return_not_subtracted" not in kinds(0.96, 1)


def test_the_variants_of_a_kind_share_its_weight():
    for facts in (Facts(), Facts(unit="gal", true_unit="L", stamped=(fu.KFactor(11412, per="L"),))):
        weights = Counter()
        for cause in other_causes(facts):
            weights[cause.kind] += cause.weight
        assert max(weights.values()) == pytest.approx(1.0)


def test_what_the_figures_rest_on_is_said():
    assert "FAA" in str(fu.diagnose(6.7, 1))
    assert "FAA" not in str(fu.diagnose(6.7, 1, fuel="100LL", at="15 degC"))
    assert "FAA" not in str(fu.diagnose("52.4 gal/h", "43.6 gal/h", indicator=K, stamped=K))
    remarks = fu.diagnose("112 kg", "100 kg", fuel="Jet A", at="15 degC").remarks
    assert any(each.startswith("Jet A: typical") for each in remarks)
    wide = fu.diagnose("106 kg", "100 kg", fuel="Jet A", at="15 degC", uncertainty="0.3 %")
    assert any("in place of" in each.reason for each in wide.suspects)
    assert any(grade in each for each in wide.remarks for grade in ("Jet B", "JP-4"))
    for facts in ({}, {"fuel": "Jet A"}):
        right = fu.diagnose("100 L", "100 L", indicator="11868 pulse/L", stamped=K, **facts)
        assert right.is_right
        assert "11868 pulse/L entered for 11412 pulse/L" in str(right)
    for found in (wide, fu.diagnose("101.5 L", "100 L", fuel="Jet A", at="15 degC", uncertainty="0.3 %")):
        named = {name for name in ("Jet A", "Jet B", "100LL") if any(name in each.reason for each in found.suspects)}
        assert {each.partition(":")[0] for each in found.remarks} & {"Jet B", "100LL"} == named - {"Jet A"}


def test_nothing_is_suspected_within_the_uncertainty():
    for true in ("100 L", "98.2 L", "101.9 L"):
        found = fu.diagnose("100 L", true)
        assert (found.suspects, found.is_right) == ((), True)
        assert "no suspect" in repr(found)
        assert "no suspect" in str(found)
    assert kinds("100 L", "98.2 L", uncertainty="0.2 %")
    coarse = fu.Indicator(K, reads="L/h", total_resolution="10 L")
    assert not kinds("100 L", "95 L", indicator=coarse, stamped=K)  # half a step is 5 L
    assert "no known cause" in repr(fu.diagnose("1 L", "42 L", indicator=K, stamped=K))


def test_what_is_told_by_a_mass_against_a_volume():
    """1000 L of kerosene of 0.8 kg/L weigh 800 kg."""
    batch = fu.fuel("Jet A").measured("0.8 kg/L", "15 degC", uncertainty="8 kg/m^3")
    facts = {"fuel": batch, "at": "15 degC"}
    for amounts, of_batch in ((("800 kg", "1000 L"), 0.01), (("1 kg", "1 kg"), 0.01), (("1 L", "1 L"), 0.0)):
        assert fu.diagnose(*amounts, **facts).uncertainty == pytest.approx(math.hypot(0.01, of_batch))
    assert fu.diagnose("800 kg", "1000 L", **facts).is_right
    assert fu.diagnose("1000 L", "800 kg", **facts).is_right
    assert "pulses_doubled" in front("2000 L", "800 kg", **facts)
    for alone in ({}, {"fuel": batch}, {"at": "15 degC"}):
        with pytest.raises(DimensionError, match="fuel"):
            fu.diagnose("800 kg", "1000 L", **alone)
    with pytest.raises(DimensionError, match="two flows"):
        fu.diagnose("800 kg/h", "1000 L", **facts)
    with pytest.raises(DimensionError, match="this indicator indicates must be a mass"):
        fu.diagnose("1000 L", "800 kg", indicator=pounds("6.7 lb/gal"), **facts)


@pytest.mark.parametrize("facts", [{"fuel": "Jet A"}, {"at": "35 degC"}, {}], ids=str)
def test_a_billed_volume_is_suspected_with_the_fuel_or_its_temperature_alone(facts):
    # of kerosene, 2 % is 20 K or so: nothing says that it was not
    assert "compensated_volume" in {
        each.kind for each in fu.diagnose("102 L", "100 L", uncertainty="0.2 %", **facts).suspects
    }


def test_a_ticket_that_was_not_corrected_is_likelier_than_one_corrected_twice():
    """Beside the likely one a return that was not subtracted, of the same ratio, is too far behind to be named."""
    jet, known = (
        fu.fuel("Jet A"),
        {"fuel": "Jet A", "at": "35 degC", "uncertainty": "0.3 %", "indicator": K, "stamped": K},
    )
    once = float(jet.density_kg_m3(15.0) / jet.density_kg_m3(35.0))
    for ratio, is_named in ((once, False), (once**2, True)):
        found = kinds(f"{100.0 * ratio:.2f} L", "100 L", **known)
        assert found[0] == "compensated_volume"
        assert ("return_not_subtracted" in found) is is_named


@pytest.mark.parametrize(
    ("amounts", "words"),
    [
        (("670 gal", "100 gal"), "display is in lb and was read as gal"),  # 6.7 lb to the gallon: FAA-H-8083-30
        (("100 L", "80 L"), "compared with is in kg and was read as L"),
        (("600 lb", "100 lb"), "compared with is in gal and was read as lb"),
    ],
)
def test_the_side_that_is_in_another_unit_is_named(amounts, words):
    suspects = fu.diagnose(*amounts, stamped="11412 pulse/L").suspects
    assert any(words in each.reason for each in suspects if each.kind == "mass_for_volume")


def test_what_is_left_is_nothing_below_a_twentieth_of_the_uncertainty():
    litres = 3.785411784
    none, more, less = (fu.diagnose(100.0 * litres * off, 100.0).suspects[0] for off in (1.0002, 1.002, 0.998))
    assert none.unexplained == 0.0
    assert 0.1 < more.unexplained < 0.3
    assert -0.3 < less.unexplained < -0.1


def test_a_ratio_is_as_good_as_two_amounts():
    assert kinds(2.0, 1) == kinds(1.0, 0.5)
    assert "pulses_doubled" in front(2.0, 1)
    assert {"k_per_litre", "gallon_for_litre_display"} == front(3.785412, 1)
    assert front(60.0, 1) == front("720 gal/h", "12 gal/h", indicator=K, stamped=K) == {"minutes_for_hours"}
    with pytest.raises(FuelUnitsError, match="plain numbers"):
        fu.diagnose("100 L", 1)
    for wrong in ({"indicated": -1}, {"true": 0.0}, {"uncertainty": "0 %"}, {"channels": 0}, {"fuel": 5}):
        with pytest.raises(FuelUnitsError):
            fu.diagnose(**{"indicated": 0.96, "true": 1.0} | wrong)


def test_zero_is_no_ratio():
    display = fu.Indicator(K, reads="L/h", low_flow_cutoff="8 L/h")
    assert kinds("0 L/h", "6 L/h", indicator=display) == ["low_flow", "pulses_missing"]
    assert kinds("0 L/h", "100 L/h", indicator=display) == ["pulses_missing"]
    assert fu.diagnose(0, 1).uncertainty == pytest.approx(0.01)
    assert {(each.rank, each.ratio, each.unexplained) for each in fu.diagnose(0, 1).suspects} == {(1, 0.0, 0.0)}


def test_what_is_known_to_be_wrong_comes_with_the_rest():
    """K entered 4 % too large, and one pulse counted as two."""
    found = fu.diagnose("192 L", "100 L", indicator="11868 pulse/L", stamped=K, uncertainty="0.5 %").suspects
    assert found[0].kind == "k_not_matched + pulses_doubled"
    assert "no single cause" in repr(fu.diagnose("192 L", "100 L", indicator="11868 pulse/L", stamped=K))
    assert found[0].ratio == pytest.approx(2 * 11412 / 11868)
    both = fu.diagnose(
        "94 lb", "100 lb", indicator=fu.Indicator("11868 pulse/L", reads="lb/h", fixed_density="6.6 lb/gal"),
        stamped=K, fuel=fu.fuel("Jet A").measured("6.75 lb/gal", "15 degC"), at="15 degC",
    )  # fmt: skip
    assert set(both.suspects[0].kind.split(" + ")) == {"k_not_matched", "density_setting"}


@pytest.mark.parametrize(("times", "fault"), [(2.0, "pulses_doubled"), (0.5, "pulses_halved")])
@pytest.mark.parametrize(("entered", "known"), [(11060, ""), (10984, "k_not_matched + ")])
def test_what_is_known_is_a_cause_from_a_twentieth_of_the_deviation(entered, known, times, fault):
    """Of twice the flow, log 2 = 0.693: a K-factor off by 3.2 % is below a twentieth, one off by 3.9 % above."""
    displayed = f"{times * 100 * 11412 / entered} L"
    found = fu.diagnose(displayed, "100 L", indicator=f"{entered} pulse/L", stamped=K, channels=1).suspects
    assert found[0].kind == known + fault


def test_the_nearest_slip_of_a_k_factor_is_named():
    """6115 over 1615 is 3.78638, which is also 0.03 % from the litres in a US gallon, 3.785412 (NIST SP 811)."""
    assert front("378.64 L", "100 L", indicator="1615 pulse/L", stamped="6115 pulse/L") == {"k_digits_swapped"}


def test_a_cause_fits_within_four_standard_uncertainties():
    for sign in (1, -1):
        assert front(100.0 * math.exp(0.039 * sign), 1) == {"k_power_of_ten"}
        assert "k_power_of_ten" not in kinds(100.0 * math.exp(0.041 * sign), 1)


def test_causes_whose_ratios_differ_by_less_than_twice_the_uncertainty_share_a_rank():
    """Of 1.05 ± 0.01, another fuel would make 1.056 and a compensated ticket 1.039; 1.105 is too far from either."""
    known = {"indicator": K, "stamped": K, "fuel": "Jet A", "at": "-28 degC"}
    assert {"other_fuel", "compensated_volume"} <= front(1.05, 1, **known)


@pytest.mark.parametrize("truth", ["return_not_subtracted", "transducer_worn", "pulses_missing"])
@pytest.mark.parametrize("name", ["Jet A", "100LL"])
@pytest.mark.parametrize("measures", [True, False])
def test_a_cause_that_fits_any_few_percent_is_not_named_alone_in_place_of_another(truth, name, measures):
    """Simulated: K right, the density set that of the batch, the true mass known within 0.3 %; 3 to 12 % are lost."""
    random, named, typical = np.random.default_rng(12), 0, 800.0 if name == "Jet A" else 715.0
    for _ in range(40):
        density = typical * (1.0 + random.normal(0.0, 0.01))
        share = random.uniform(0.03, 0.08 if truth == "transducer_worn" else 0.12)
        off = {"return_not_subtracted": 1.0 / (1.0 - share), "pulses_missing": 1.0 - share}.get(truth, 1.0 + share)
        batch = fu.fuel(name).measured(f"{density:.1f} kg/m^3", "15 degC", uncertainty="0.6 kg/m^3")
        display = fu.Indicator(K, reads="kg/h", fixed_density=f"{density if measures else typical:.0f} kg/m^3")
        known = {"indicator": display, "stamped": K, "fuel": batch if measures else name, "at": "15 degC"}
        first = front(
            f"{300.0 * off * math.exp(random.normal(0.0, 0.003)):.1f} kg", "300 kg", uncertainty="0.3 %", **known
        )
        named += truth in first
        assert len(first) != 1 or first == {truth}
        assert not measures or "other_fuel" not in first
    assert named > 20


@pytest.mark.parametrize("name", ["Jet A", "100LL"])
@pytest.mark.parametrize("off", [0.95, 1.0, 1.05])
def test_no_other_fuel_changes_a_mass_displayed_for_a_volume_delivered(name, off):
    """Simulated: litres counted, off by a worn transducer, times the density set; the ticket is in litres."""
    random, right = np.random.default_rng(7), 0
    display = fu.Indicator(K, reads="kg/h", fixed_density="0.80 kg/L" if name == "Jet A" else "0.72 kg/L")
    for _ in range(40):
        shown = 200.0 * off * math.exp(random.normal(0.0, 0.003)) * float(display.fixed_density_kg_m3) / 1000.0
        found = fu.diagnose(
            f"{shown:.2f} kg", "200 L", indicator=display, stamped=K, fuel=name, at="20 degC", uncertainty="0.3 %"
        )
        named = {each.kind for each in found.suspects}
        assert not {"other_fuel", "batch_density"} & set(" + ".join(named).split(" + "))
        right += any("transducer_worn" in each.kind for each in found.suspects if each.rank == 1)
    assert (right >= 36) is (off != 1.0)


@pytest.mark.parametrize("known", [{}, {"indicator": K, "stamped": K}, {"fuel": "Jet A"}], ids=str)
@pytest.mark.parametrize(("kind", "factor"), [("pulses_doubled", 2.0), ("pounds_for_kilograms", 2.2046226)])
def test_masses_of_a_density_that_is_not_known_still_show_a_fixed_ratio(kind, factor, known):
    """Simulated: 0.80 kg/L is set, batches of kerosene differ by 1.2 %, and theirs is that of -20 to 40 °C."""
    random, seen = np.random.default_rng(5), 0
    for _ in range(60):
        density = 0.804 * (1.0 + random.normal(0.0, 0.012)) * (1.0 - 0.0009 * (random.uniform(-20.0, 40.0) - 15.0))
        true = random.uniform(100.0, 300.0)
        first = front(
            f"{factor * true * 0.80 / density:.1f} kg", f"{true * math.exp(random.normal(0.0, 0.004)):.2f} kg", **known
        )
        seen += kind in first
        assert len(first) != 1 or first == {kind}
    assert seen >= 0.9 * 60


def test_likelihoods_are_those_of_a_normal_distribution():
    """Doubled pulses, and pounds for kilograms (2.2046), are 1.40 of 7 % apart: exp(-0.98) is a third or more."""
    for uncertainty, is_near in (("7 %", True), ("6.2 %", False)):
        first = front(2.0, 1, uncertainty=uncertainty, indicator=K, stamped=K)
        assert ("pounds_for_kilograms" in first) is is_near


def test_two_causes_at_once_explain_what_no_single_one_does():
    """Of 0.36, two pulses counted as one and 28 % of them missing."""
    found = fu.diagnose("36 L/h", "100 L/h", indicator=K, stamped=K, uncertainty="0.3 %").suspects
    assert "pulses_halved + pulses_missing" in [each.kind for each in found]


def test_the_figures_of_a_free_cause():
    """Of 62 L/h fed, 21 L/h are burnt: 41/62 return. A volume of fuel is 0.1 % larger per °C."""
    share = Cause("", 0.0, "{share}", is_free=True)
    assert share.told(math.log(62 / 21)) == "66 %"
    both = Cause("", 0.0, "{change}, {warmer}", is_free=True, warmer_c=lambda log_ratio: log_ratio / 0.001)
    assert [both.told(math.log(ratio)) for ratio in (0.96, 1.04)] == ["4 %, 41 °C colder", "4 %, 39 °C warmer"]
    assert Cause("", 0.0, "{share}").told(1.0) == "{share}"


def test_the_last_digits_that_a_k_factor_lacks():
    """Of 11410 only the last digit may be lost, of 11400 two; the bounds are a rectangle: the step over root 3."""
    for entered, step in ((11410, 10), (11400, 100), (11412, 1)):
        causes = other_causes(Facts(entered=(fu.KFactor(entered, per="L"), fu.KFactor(11286, per="L"))))
        (lost,) = (each for each in causes if each.kind == "k_digits_lost")  # of the first channel
        assert (lost.log_ratio, lost.is_free) == (0.0, True)
        assert lost.spread == pytest.approx(step / entered / math.sqrt(3.0))
        assert f"steps of {step} pulse/L" in lost.reason


def test_a_density_at_15_celsius_is_a_cause_where_the_temperature_is_known():
    """At -30 °C and known to 15 °C alone, a mass is as wrong as the density: 1 / 1.04 or so; else it is fitted."""
    jet = fu.fuel("Jet A")
    (cold,) = (each for each in other_causes(Facts(fuel=jet, at_c=-30.0)) if each.kind == "fuel_temperature")
    assert math.exp(cold.log_ratio) == pytest.approx(jet.density_kg_m3(15.0) / jet.density_kg_m3(-30.0))
    assert not cold.is_free
    for facts in (Facts(fuel=jet), Facts(at_c=-30.0), Facts()):
        assert [each.is_free for each in other_causes(facts) if each.kind == "fuel_temperature"] == [True]


def test_an_amount_in_a_unit_of_ones_own_is_read():
    registry = pint.UnitRegistry()
    registry.define("drum = 200 * liter")
    assert fu.diagnose(registry.Quantity(0.5, "drum"), "100 L").ratio == pytest.approx(1.0)


def test_pairs_come_after_single_causes():
    for ratio in (0.87, 0.92, 1.05, 1.12):
        for facts in ({}, {"stamped": K}, {"fuel": "Jet A", "at": "-30 degC"}):
            sizes = [each.kind.count("+") for each in fu.diagnose(ratio, 1, **facts).suspects]
            assert sizes == sorted(sizes)


@pytest.mark.simulation
def test_fuel_of_any_ordinary_temperature_is_among_the_first():
    """Kerosene of -35 to 45 °C, 0.091 % lighter per °C, in an indicator set for 10 to 22 °C; nobody measured it."""
    random, named, count = np.random.default_rng(3), 0, 0
    for _ in range(200):
        (here, there), off = 1.0 - 0.00091 * (random.uniform((-35, 10), (45, 22)) - 15.0), random.normal(0.0, 0.003)
        display = fu.Indicator(K, reads="kg/h", fixed_density=f"{0.808 * there:.4f} kg/L")
        displayed = f"{100.0 * there / here * math.exp(off):.3f} kg"
        first = front(displayed, "100 kg", indicator=display, stamped=K, fuel="Jet A", uncertainty="0.3 %")
        count += bool(first)
        named += "fuel_temperature" in first
    assert named >= 0.95 * count >= 40


@pytest.mark.parametrize("base", [776.0, 780.0, 832.0, 839.0])
@pytest.mark.parametrize("celsius", [15.0, 25.0])
def test_a_batch_near_the_limits_of_the_specification_is_a_suspect(base, celsius):
    """Jet A has 775 to 840 kg/m³ at 15 °C (ASTM D1655); a sound indicator is set for 0.80 kg/L."""
    true = base * ctl(base, celsius) / 1000.0
    display = pounds("0.80 kg/L", "kg/h", total_resolution="0.1 kg")
    facts = {"indicator": display, "stamped": K, "at": f"{celsius} degC", "uncertainty": "0.3 %"}
    displayed = f"{300.0 * 0.8 / true:.1f} kg"
    if first := front(displayed, "300 kg", fuel="Jet A", **facts):
        assert "batch_density" in first
    batch = fu.fuel("Jet A").measured(f"{base} kg/m^3", "15 degC", uncertainty="0.3 kg/m^3")
    assert "batch_density" not in kinds(displayed, "300 kg", fuel=batch, **facts)
    assert front(displayed, "300 kg", fuel=batch, **facts) == {"density_setting"}  # 10 °C make 0.9 %, the batch 2.5 %


@pytest.mark.parametrize(
    ("base", "fixed", "celsius", "kind"),
    [
        (783.0, "0.80 kg/L", 15, "density_setting"),  # 2.2 % by the batch, nothing by the temperature
        (783.0, "0.80 kg/L", 40, "density_setting"),  # of 4.6 %, half by each
        (832.0, "0.808 kg/L", 22, "density_setting"),
        (805.0, "0.802 kg/L", -25, "fuel_temperature"),  # of 4.8 %, 3.7 % by the temperature
        (805.0, "0.802 kg/L", 45, "fuel_temperature"),
    ],
)
def test_a_temperature_is_named_only_where_it_makes_most_of_the_error(base, fixed, celsius, kind):
    """What truly happens: a measured batch, at 15 °C lighter or heavier than the density set, or nearly as heavy."""
    batch = fu.fuel("Jet A").measured(f"{base} kg/m^3", "15 degC", uncertainty="0.3 kg/m^3")
    facts = {"indicator": pounds(fixed, "kg/h"), "stamped": K, "fuel": batch, "at": f"{celsius} degC"}
    displayed = 300_000.0 * float(fixed.split()[0]) / (base * ctl(base, celsius))
    assert front(f"{displayed:.2f} kg", "300 kg", uncertainty="0.3 %", **facts) == {kind}


@pytest.mark.parametrize(("grade", "expansion"), [("Jet A", 0.00091), ("100LL", 0.00122)])
def test_fuel_of_another_temperature_at_the_transducer_is_a_suspect(grade, expansion):
    """Delivered at 10 to 30 °C and 10 to 30 °C warmer or colder at the transducer; all else is right."""
    random, named, count = np.random.default_rng(7), 0, 0
    for _ in range(100):
        here = random.uniform(10.0, 30.0)
        there = here + random.uniform(10.0, 30.0) * random.choice([-1, 1])
        ratio = (1.0 - expansion * (here - 15.0)) / (1.0 - expansion * (there - 15.0))
        displayed = f"{379.0 * ratio * math.exp(random.normal(0.0, 0.003)):.1f} L"
        found = kinds(
            displayed, "379 L", indicator=K, stamped=K, fuel=grade, at=f"{there:.1f} degC", uncertainty="0.3 %"
        )
        count += bool(found)
        named += "transducer_temperature" in found
    assert named >= 0.9 * count >= 60


@pytest.mark.parametrize(("grade", "base"), [("Jet A", 808.0), ("100LL", 719.0)])
@pytest.mark.parametrize(("here", "delivered"), [(15, -35), (15, 40), (35, 5), (-10, 15)])
def test_degrees_follow_from_the_expansion_of_the_fuel_by_the_petroleum_tables(grade, base, here, delivered):
    """Fuel that is warmer at the transducer than at delivery reads high; densities at 15 °C are typical."""
    ratio = ctl(base, delivered) / ctl(base, here)
    known = {"indicator": K, "stamped": K, "fuel": grade, "at": f"{here} degC", "uncertainty": "0.3 %"}
    found = fu.diagnose(f"{100.0 * ratio:.3f} L", "100 L", **known).suspects
    (reason,) = [each.reason for each in found if each.kind == "transducer_temperature"]
    assert float(re.search(r"(\d+) °C", reason)[1]) == pytest.approx(abs(here - delivered), abs=2.0)
    assert ("warmer" if here > delivered else "colder") in reason


@pytest.mark.parametrize(
    ("indicated", "grade", "at"),
    [
        ("105 L", "Jet A", "-10 degC"),
        ("105 L", "Jet A", "15 degC"),
        ("95 L", "100LL", "35 degC"),
        ("109 L", "100LL", None),
    ],
)
def test_a_temperature_that_the_fuel_never_has_is_no_suspect(indicated, grade, at):
    """By 5 % and from -10 °C, delivered at -58 °C; from 15 °C, at -41 °C: Jet A is known from -40 °C."""
    known = {"indicator": K, "stamped": K, "fuel": grade, "at": at, "uncertainty": "0.3 %"}
    assert not {"transducer_temperature", "compensated_volume"} & set(kinds(indicated, "100 L", **known))


def test_a_transducer_whose_own_k_has_moved_is_a_cause_of_a_few_per_cent_and_never_before_a_known_one():
    known = {"indicator": K, "stamped": K, "fuel": "100LL", "at": "15 degC"}
    for indicated in (96.0, 98.0, 102.5, 104.0):
        found = fu.diagnose(f"{indicated} L", "100 L", uncertainty="0.5 %", **known)
        (worn,) = [each for each in found.suspects if each.kind == "transducer_worn"]
        assert (worn.rank, "calibrate" in worn.next_check) == (1, True)
        assert "first suspect transducer worn" not in found.report().verdict
    for indicated in (50.0, 70.0, 100.0, 120.095, 200.0):
        assert "transducer_worn" not in front(f"{indicated} L", "100 L", **known)
    pounds = fu.Indicator("43186 pulse/gal", reads="lb/h", fixed_density="6.7 lb/gal", total_resolution="1 lb")
    cold = {"indicator": pounds, "stamped": "43186 pulse/gal", "fuel": "Jet A", "at": "-28 degC"}
    assert front("321 lb", "335 lb", **cold) == {"fuel_temperature"}
    assert front(96, 100, indicator="11874 pulse/L", stamped=K) == {"k_not_matched"}


@pytest.mark.parametrize(("noise", "is_right", "is_named"), [
    (2.5, False, True), (0.0, False, True), (-1.8, True, True), (-3.0, True, False), (-4.5, True, False),
])  # fmt: skip
def test_a_k_stated_as_wrong_is_named_alone_where_it_explains_the_ratio_better_than_none(noise, is_right, is_named):
    """28 000 for 28 526 makes 1.88 %, 3.7 times the uncertainty of 0.5 %: less than half is right, and odd."""
    ratio = 28526.0 / 28000.0 * math.exp(0.005 * noise)
    found = fu.diagnose(ratio, 1, indicator="28000 pulse/gal", stamped="28526 pulse/gal", uncertainty="0.5 %")
    assert [each.kind for each in found.suspects] == ["k_digits_lost"] * is_named
    assert found.is_right is is_right
    assert found.report().verdict.startswith("first suspect K digits lost" if is_named else "no suspect")
    assert any("Although" in remark and "28526" in remark for remark in found.remarks) is is_right


@pytest.mark.parametrize(("uncertainty", "noise"), [(0.42, -2.3), (0.75, 2.6)])
def test_a_k_stated_as_wrong_needs_no_second_cause_within_its_noise(uncertainty, noise):
    """1.88 % stated, of which the ratio shows twice as much or half: correct K first, and compare again."""
    ratio = 28526.0 / 28000.0 * math.exp(uncertainty / 100.0 * noise)
    stated = {"indicator": "28000 pulse/gal", "stamped": "28526 pulse/gal", "uncertainty": f"{uncertainty} %"}
    assert kinds(ratio, 1, **stated) == ["k_digits_lost"]


@pytest.mark.parametrize("noise", [-1.2, 0.0, 1.6])
def test_a_ticket_at_15_celsius_is_suspected_within_twice_the_uncertainty(noise):
    """Gasoline of 719 kg/m³ at 42 °C by the table of ASTM D1250: 3.2 standard uncertainties of 1 %, with noise."""
    ratio = math.exp(0.01 * noise) / ctl(719.0, 42.0)
    known = {"indicator": K, "stamped": K, "fuel": "100LL", "at": "42 degC", "channels": 1}
    assert "compensated_volume" in kinds(f"{100.0 * ratio:.4f} L", "100 L", **known)[:4]


def test_a_zero_left_out_is_no_swap_of_two_digits():
    assert kinds(9.93, 1, indicator="1008 pulse/L", stamped="10008 pulse/L") == ["k_digit_retyped"]


@pytest.mark.parametrize(
    ("indicated", "celsius", "first"),
    [
        (369.5, 5, {"compensated_volume"}),
        (1.015 * 379, 15, {"transducer_temperature", "return_not_subtracted", "transducer_worn"}),
        (1.025 * 379, 15, {"transducer_temperature", "return_not_subtracted", "transducer_worn"}),
        (1.025 * 379, 5, {"transducer_temperature", "return_not_subtracted", "transducer_worn", "compensated_volume"}),
        (0.97 * 379, 15, {"transducer_temperature", "low_flow", "transducer_worn", "pulses_missing"}),
    ],
)
def test_a_fitted_temperature_is_no_second_cause_of_its_name_nor_alone_in_front(indicated, celsius, first):
    """Gasoline of 15 °C that warms by 15 or 25 °C, and of which 1.5 or 2.4 % returns, give the same ratio."""
    known = {"indicator": K, "stamped": K, "fuel": "100LL", "at": f"{celsius} degC", "uncertainty": "0.5 %"}
    found = fu.diagnose(f"{indicated} L", "379 L", **known)
    assert {each.kind for each in found.suspects if each.rank == 1} == first
    assert len({each.kind for each in found.suspects}) == len(found.suspects)


def test_the_report_is_read_in_eighty_columns_and_as_a_frame():
    found = fu.diagnose(1.046, 1)
    assert max(map(len, str(found).splitlines())) <= 80
    for part in ("uncertainty", "next check", "Caution", "does not prove"):
        assert part in str(found)
    frame = found.to_frame()
    assert list(frame["kind"]) == [each.kind for each in found.suspects]
    assert {"rank", "ratio", "unexplained", "reason", "next_check"} <= set(frame.columns)
    json.dumps(found.as_dict(), allow_nan=False)
    for each in found.suspects:
        assert abs(math.log(1.046 / each.ratio)) < 0.03
        assert each.reason
        assert "{" not in each.reason
        assert "\n" not in each.reason


@pytest.mark.parametrize("ratio", np.exp(np.random.default_rng(1).uniform(-0.6, 0.6, 12)).tolist())
def test_what_is_printed_is_what_was_found(ratio):
    found = fu.diagnose(ratio, 1, uncertainty="0.7 %")
    report = found.report()
    percents = [float(each) for each in re.findall(r"([-+]?[\d.]+) %", f"{report.title}; {report.facts}")]
    assert percents == pytest.approx([100.0 * (ratio - 1.0), 100.0 * found.uncertainty], rel=0.01)
    assert float(report.title.split("ratio ")[1].split(" ")[0]) == pytest.approx(found.ratio, rel=1e-4)
    assert f"({'+' if ratio > 1.0 else '-'}" in report.title
    assert found.is_right is (abs(math.log(ratio)) <= 2.0 * found.uncertainty)
    assert bool(report.tables) is bool(found.suspects)
    first = [each.kind for each in found.suspects if each.rank == 1]
    assert ("not distinguished" in report.verdict) is (len(first) > 1 and "+" not in first[0])
    ranked, checks = (table.rows for table in report.tables) if found.suspects else ((), ())
    assert len(dict(checks)) == len(checks)
    for row, each in zip(ranked, found.suspects, strict=True):
        assert (int(row[0]), row[4], dict(checks)[row[1]]) == (each.rank, each.reason, each.next_check)
        assert [float(row[2]), float(row[3])] == pytest.approx([each.ratio, each.unexplained], rel=1e-4, abs=0.06)
        assert row[1] == each.kind.replace("_", " ").replace("k ", "K ")
        assert (row[1] in report.verdict) or each.rank > 1
        assert abs(math.log(ratio / each.ratio)) < abs(math.log(ratio)) / 1.9


def test_what_would_distinguish_causes_is_named_where_there_are_some():
    """The uncertainty is printed to two digits."""
    known = {"indicator": K, "stamped": K, "fuel": "Jet A", "at": "15 degC", "channels": 1}
    for ratio, facts, missing in (
        (1.0, {}, []),
        (1.1, {}, ["indicator, stamped, fuel, at, channels"]),
        (1.1, {"indicator": K, "fuel": "Jet A"}, ["stamped, at, channels"]),
        (1.1, known, []),
    ):
        report = fu.diagnose(ratio, 1, uncertainty="0.7123 %", **facts).report()
        named = [each.rpartition(": ")[2].rstrip(".") for each in report.remarks if "distinguish" in each]
        assert named == missing
        assert " ".join(report.facts.values()).startswith("0.71 %")


def test_every_kind_has_a_check_and_a_simulation():
    assert set(CHECKS) == {*KINDS, *OF_LINES}
    assert {kind for pair in PAIRS for kind in pair} <= set(KINDS)


def _holds(seed, count):
    tally, _ = run(seed, count)
    print(tally)
    assert tally.first >= 0.9 * tally.single  # one of twenty true ratios is beyond twice the uncertainty, and shares
    assert tally.three >= 0.985 * tally.single
    assert tally.quiet >= 0.94 * tally.none


@pytest.mark.simulation
def test_simulated_faults():
    _holds(17, 300)


@pytest.mark.simulation
@pytest.mark.parametrize("amount", ["100 L", "100 kg", "100 L/h"])
@pytest.mark.parametrize("facts", [{"fuel": "Jet A"}, {"fuel": "Jet A", "at": "-10 degC"}, {"fuel": "100LL"}], ids=str)
def test_a_k_that_nobody_compared_stands_beside_the_likeliest(amount, facts):
    """A K-factor wrong by 2 to 8 %, with noise of 0.5 %: no other cause is ever named first alone."""
    random = np.random.default_rng(4)
    for _ in range(60):
        off = math.exp(random.choice([-1, 1]) * random.uniform(0.02, 0.08) + random.normal(0.0, 0.005))
        number, unit = amount.split()
        first = front(f"{off * float(number):.2f} {unit}", amount, uncertainty="0.5 %", **facts)
        assert not first or "k_not_matched" in first
    compared = {"indicator": K, "stamped": K}
    assert "k_not_matched" not in front("104 L", "100 L", **compared, **facts)


def test_measured_amounts_add_their_uncertainty():
    """1 % of each and 1 % of the ratio are 1.73 % together: 3 % is within twice that, 4 % is not."""
    for off, count in (("103 L", 0), ("104 L", 1)):
        found = fu.diagnose(fu.measured(off, "1 %", name="total"), fu.measured("100 L", "1 %", name="ticket"))
        assert found.uncertainty == pytest.approx(3**0.5 / 100, rel=1e-3)
        assert bool(found.suspects) == bool(count)
    ticket = fu.measured("100 L", "1 %", name="ticket")
    assert fu.diagnose(2 * ticket, ticket).uncertainty == pytest.approx(0.01)  # of one cause, which cancels


def test_nothing_is_suspected_within_student_t_of_a_few_observations():
    """True flow of 50 L/h: the mean of three readings is off beyond U in about 4.55 %, by twice u in 18 %."""
    random, suspected = np.random.default_rng(5), 0
    for _ in range(300):
        flows = 50.0 + random.standard_normal(3)
        mean, u = flows.mean(), flows.std(ddof=1) / 3**0.5
        measured = fu.measured(f"{mean} L/h", f"{u} L/h", name="mean", degrees_of_freedom=2)
        suspected += not fu.diagnose(measured, "50 L/h", uncertainty="0.001 %").is_right
    assert suspected <= 300 * (0.0455 + 3.0 * (0.0455 * 0.9545 / 300) ** 0.5)


def test_a_display_that_truncates_reads_half_a_step_low():
    for truncates, is_right in ((False, False), (True, True)):
        display = fu.Indicator(K, reads="L/h", total_resolution="10 L", truncates=truncates)
        found = fu.diagnose("200 L", "209 L", indicator=display, stamped=K, uncertainty="0.5 %", fuel="Jet A")
        assert found.is_right is is_right
        mean = 205.0 if truncates else 200.0
        assert found.ratio == pytest.approx(mean / 209.0)
        assert found.uncertainty == pytest.approx(math.hypot(0.005, 10.0 / 12**0.5 / mean))


def test_a_display_that_may_truncate_is_named_where_that_explains_a_sound_reading():
    """What truly happens: K is right, and the display cuts off to 1 L/h, which was not stated."""
    generator, unnamed = np.random.default_rng(6), 0
    display = fu.Indicator(K, reads="L/h", resolution="1 L/h")
    for flow in generator.uniform(8.0, 20.0, 80):
        true = f"{flow * generator.normal(1.0, 0.005)} L/h"
        found = fu.diagnose(f"{int(flow)} L/h", true, indicator=display, stamped=K, uncertainty="0.5 %")
        unnamed += bool(found.suspects) and "truncates" not in str(found.remarks)
    assert unnamed <= 80 * 0.0455 + 6
    high = fu.diagnose("12 L/h", "11 L/h", indicator=display, stamped=K, uncertainty="0.5 %")
    assert high.suspects
    assert "truncates" not in str(high.remarks)


def test_what_is_signed_has_no_identifiers():
    for amounts in ((0.96, 1), (3.785, 1), (2, 1), (0.5, 1), (0, 1)):
        found = fu.diagnose(*amounts)
        assert not any("_" in line for line in str(found).splitlines())
        assert any("_" in suspect.kind for suspect in found.suspects)


@pytest.mark.long
def test_two_thousand_simulated_faults():
    tally, _ = run(16, 2000)
    print(tally)
    assert tally.first >= 0.93 * tally.single
    assert tally.three >= 0.98 * tally.single
    assert tally.quiet >= 0.94 * tally.none


def test_the_words_on_a_power_of_ten_are_the_ratio_of_k():
    (suspect,) = (each for each in fu.diagnose("520 L/h", "52 L/h").suspects if each.kind == "k_power_of_ten")
    assert "0.1 times" in suspect.reason


OF_LINES = ("return_pulses_missing", "feed_pulses_missing", "return_warmer", "return_added")
LINES = ["11412 pulse/L", "11286 pulse/L"]


def two_lines(fault, rng):
    """Return the reading of two invented transducers, what is true, the K entered, and whether one is subtracted."""
    burnt, share = rng.uniform(20.0, 60.0), rng.uniform(0.1, 0.9)
    is_added = fault.startswith("added")
    back = rng.uniform(1.0, 4.0) * burnt  # a return of 50 to 80 % of the feed
    flows = np.array([share * burnt, (1.0 - share) * burnt] if is_added else [burnt + back, back])
    plates = np.array([11412.0, 11286.0])
    entered = plates.copy()
    pulses = flows * plates
    match fault:
        case "swapped" | "added swapped":
            entered = plates[::-1]
        case "one K" | "added one K":
            entered[rng.integers(2)] *= rng.choice([0.97, 0.985, 1.015, 1.03])
        case "return_pulses_missing":
            pulses[1] *= rng.choice([0.0, 0.5, 0.8])
        case "feed_pulses_missing":
            pulses[0] *= rng.uniform(0.9, 0.97)
        case "return_warmer":
            pulses[1] *= 1.0 + 0.0009 * rng.uniform(15.0, 40.0)
    entered = np.round(entered)
    indicated = float((pulses / entered) @ [1.0, 1.0 if is_added or fault == "return_added" else -1.0])
    indicated /= 3.785411784 if fault == "gallon_for_litre_display" else 1.0
    return indicated, burnt, [f"{k:.0f} pulse/L" for k in entered], not is_added


@pytest.mark.simulation
@pytest.mark.parametrize(
    ("fault", "kind"),
    [
        *((fault, "k_not_matched") for fault in ("swapped", "one K", "added swapped", "added one K")),
        *((fault, fault) for fault in (*OF_LINES, "gallon_for_litre_display")),
    ],
)
def test_what_is_wrong_in_one_of_two_lines_is_named_first(fault, kind):
    """A true cause stands in front, with equals perhaps; of K that was stated as wrong, alone."""
    rng, named, alone, count, u = np.random.default_rng(16), 0, 0, 0, 0.002
    while count < 150:
        indicated, true, entered, subtracts = two_lines(fault, rng)
        if indicated <= 0.0 or abs(np.log(indicated / true)) < 4.0 * u:
            continue
        indicator = fu.Indicator(entered, reads="L/h", channels=2, feed_less_return=subtracts)
        displayed = f"{indicated * np.exp(rng.normal(0.0, u)):.4f} L/h"
        found = fu.diagnose(
            displayed, f"{true:.4f} L/h", indicator=indicator, stamped=LINES, uncertainty=f"{100 * u} %"
        )
        front = [each.kind for each in found.suspects if each.rank == 1]
        count += 1
        named += kind in front
        alone += front == [kind]
    assert named >= 0.95 * count
    assert alone >= 0.95 * count or kind != "k_not_matched"


def test_one_dead_line_of_two_that_divide_the_flow_unequally():
    """Of 40 to 80 L/h in each line, the second gives nothing: the display shows the first, half of it all if alike."""
    generator, plates = np.random.default_rng(7), ["11412 pulse/L", "11286 pulse/L"]
    twin = fu.Indicator(plates, reads="L/h", resolution="0.1 L/h", channels=2)
    named = []
    for first, second in generator.uniform(40.0, 80.0, (40, 2)):
        displayed = f"{first * (1.0 + generator.normal(0.0, 0.003)):.1f} L/h"
        found = fu.diagnose(displayed, f"{first + second:.2f} L/h", indicator=twin, stamped=plates, uncertainty="0.3 %")
        (dead,) = [each for each in found.suspects if each.kind == "one_channel_of_two"]
        named.append(dead.rank)
    assert named.count(1) >= 38


@pytest.mark.parametrize(("dead", "channels"), [(1, 3), (2, 3), (1, 4), (2, 4), (3, 4), (1, 6)])
def test_channels_without_pulses_are_named_first_of_any_number(dead, channels):
    """Of equal flows, and of flows that differ by a tenth: the display shows what the other channels count."""
    for flows in (np.full(channels, 60.0), 60.0 * np.random.default_rng(dead).normal(1.0, 0.1, channels)):
        displayed = f"{flows[dead:].sum():.1f} L/h"
        known = {"indicator": K, "stamped": K, "fuel": "Jet A", "at": "15 degC", "uncertainty": "0.5 %"}
        found = fu.diagnose(displayed, f"{flows.sum():.2f} L/h", channels=channels, **known).suspects
        assert f"{dead} of {channels} " in next(each.reason for each in found if each.kind == "dead_channels")
        assert any(each.rank == 1 for each in found if each.kind == "dead_channels")


def test_channels_that_contradict_the_indicator_are_refused():
    assert fu.diagnose("50 L/h", "60 L/h", indicator=fu.Indicator(K, reads="L/h", channels=2), channels=2)
    for count in (1, 2):
        with pytest.raises(FuelUnitsError, match="channels"):
            fu.diagnose("50 L/h", "60 L/h", indicator=fu.Indicator(K, reads="L/h", channels=count), channels=4)


@pytest.mark.parametrize(
    ("indicated", "true", "settings"),
    [
        ("5 L/h", "10 L/h", {"resolution": "0.1 L/h", "low_flow_cutoff": "8 L/h"}),
        ("7.9 L/h", "9 L/h", {"resolution": "0.1 L/h", "low_flow_cutoff": "8 L/h"}),
        ("6 L/h", "5 L/h", {"low_flow_cutoff": "8 L/h"}),
        ("53 L/h", "60 L/h", {"resolution": "5 L/h"}),
        ("50.03 L/h", "50 L/h", {"resolution": "0.1 L/h"}),
        ("102.3 L", "90 L", {"total_resolution": "0.5 L", "truncates": True}),
    ],
)
def test_a_reading_that_the_display_never_shows_has_no_first_suspect(indicated, true, settings):
    display = fu.Indicator(K, reads="L/h", **settings)
    known = {"indicator": display, "stamped": K, "fuel": "Jet A", "at": "15 degC"}
    found = fu.diagnose(indicated, true, **known)
    assert not found.can_be_shown
    assert found.report().verdict.startswith("undecided")
    assert not {"pulses_halved", "pulses_missing"} & {each.kind for each in found.suspects}
    shown = {"5 L/h": "8 L/h", "7.9 L/h": "8.0 L/h", "6 L/h": "8 L/h", "53 L/h": "55 L/h", "102.3 L": "102.5 L"}
    for right in (shown.get(indicated, "50.1 L/h"), fu.measured(indicated, "0.1 " + indicated.split()[1], name="mean")):
        assert fu.diagnose(right, true, **known).can_be_shown
    gallons = fu.Indicator(K, reads="gal/h", low_flow_cutoff="8 gal/h", resolution="0.5 gal/h")
    assert fu.diagnose("50 L/h", "55 L/h", indicator=gallons).can_be_shown  # 13.2 gal/h, which rounds to 13 gal/h
    # a display per minute that is read per hour is below the cutoff per hour
    assert kinds("1 L/h", "60 L/h", **known) == ["minutes_for_hours"] or "low_flow_cutoff" not in settings


def test_swapped_k_of_two_lines_are_named_where_the_sum_is_nearly_right():
    """With 60 L/h in each line and K 5 % apart, the sum is (1.05 + 1/1.05)/2 - 1 = 0.12 % high."""
    plates = ["10000 pulse/L", "10500 pulse/L"]
    twin = fu.Indicator(plates[::-1], reads="L/h", resolution="0.1 L/h", channels=2)
    found = fu.diagnose("120.1 L/h", "120 L/h", indicator=twin, stamped=plates, uncertainty="0.3 %")
    assert found.is_right
    assert any("the wrong way round" in remark for remark in found.remarks)
    assert not fu.diagnose("120.1 L/h", "120 L/h", indicator=twin, stamped=plates[::-1]).remarks


JET = fu.fuel("Jet A")


def causes_of(**facts):
    """Return the free causes by kind: the logarithm of their ratio and its spread."""
    return {each.kind: (each.log_ratio, each.spread) for each in other_causes(Facts(**facts)) if each.is_free}


def test_the_ranges_of_causes_are_those_of_common_practice():
    """Ratios and their standard deviations, all from memory: a change of one changes what is said, and is meant."""
    for facts, ranges in (
        ({}, {"k_not_matched": (1.0, 0.03), "pulses_missing": (0.861, 0.15), "return_not_subtracted": (2.0, 0.5)}),
        ({}, {"low_flow": (0.961, 0.04), "viscosity": (0.98, 0.015), "fuel_temperature": (1.0, 0.03)}),
        ({}, {"compensated_volume": (1.0, 0.03), "transducer_worn": (1.0, 0.03)}),
        ({"channels": 2}, {"one_channel_of_two": (0.5, 0.25)}),
        ({"subtracts_return": True}, {"k_not_matched": (1.0, 0.15), "transducer_worn": (1.0, 0.15)}),
        ({"subtracts_return": True}, {"return_pulses_missing": (2.014, 0.7), "feed_pulses_missing": (0.741, 0.3)}),
        ({"subtracts_return": True}, {"return_added": (4.055, 0.6), "return_warmer": (0.923, 0.06)}),
    ):
        found = causes_of(**facts)
        for kind, (ratio, spread) in ranges.items():
            assert (math.exp(found[kind][0]), found[kind][1]) == pytest.approx((ratio, spread), rel=1e-3)
    low, high = JET.ordinary_kg_m3
    assert causes_of(fuel=JET)["batch_density"] == pytest.approx((0.0, math.log(high / low) / 4.0))


def known(entered, stamped, **facts):
    each = [tuple(fu.KFactor(k, per="L") for k in pair) for pair in (entered, stamped)]
    return list(known_causes(Facts(entered=each[0], stamped=each[1], **facts)))


@pytest.mark.parametrize(
    ("ratios", "subtracts", "log_ratio", "spread"),
    [
        # the flow in two channels divides anyhow: a rectangle between both ratios
        ((1.0, 1.1), False, math.log(1.05), 0.1 / 12**0.5 / 1.05),
        ((1.1, 1.0), False, math.log(1.05), 0.1 / 12**0.5 / 1.05),
        ((0.95, 1.1), False, 0.0, 0.15 / 12**0.5 / 1.025),
        ((1.05, 0.9), False, 0.0, 0.15 / 12**0.5 / 0.975),
        # of 3.5 fed, 2.5 return, half of it more or less
        ((0.98, 1.0), True, math.log(0.93), 1.25 * 0.02 / 0.93),
        ((1.1, 1.0), True, math.log(1.35), 1.25 * 0.1 / 1.35),
        ((0.5, 1.0), True, 0.0, 62.5),
    ],
)
def test_what_a_wrong_k_of_one_line_does_to_both_by_hand(ratios, subtracts, log_ratio, spread):
    stamped = [11_000, 12_000]
    entered = [Fraction(k) / Fraction(ratio) for k, ratio in zip(stamped, map(str, ratios), strict=True)]
    (found,) = known(entered, stamped, subtracts_return=subtracts)
    assert (found.log_ratio, found.spread) == pytest.approx((log_ratio, spread))
    assert ("the wrong way round" in found.reason) is False


def test_swapped_k_factors_are_named_and_a_slip_to_its_last_digit():
    (swapped,) = known([11_412, 11_286], [11_286, 11_412])
    assert "the wrong way round" in swapped.reason
    assert not known([11_412, 11_286], [11_412, 11_286])
    for entered, kind, word in ((14_112, "k_digits_swapped", "swapped"), (14_115, "k_not_matched", "another")):
        (slip,) = known([entered], [11_412])
        assert slip.kind == kind
        assert slip.reason.partition(": ")[2].count(word) == 1
    per_litre = Facts(entered=(fu.KFactor(11_413, per="gal"),), stamped=(fu.KFactor(11_412, per="L"),))
    assert [each.kind for each in known_causes(per_litre)] == ["k_per_litre"]  # within 0.05 %


def test_the_density_of_a_batch_is_known_as_well_as_it_was_measured():
    """2 kg/m³ of 800 kg/m³, and 3 % where no temperature is known; a ratio of masses has that of the batch anyway."""
    batch = JET.measured("0.8 kg/L", "15 degC", uncertainty="2 kg/m^3")
    assert Facts(fuel=batch).batch_spread == pytest.approx(0.0025)
    for facts, spread in (
        ({"at_c": 15.0}, 0.0025),
        ({}, math.hypot(0.0025, 0.03)),
        ({"is_mass": True}, 0.03),
        ({"true_is_mass": True, "at_c": 15.0}, 0.0),
        ({"is_mass": True, "true_is_mass": True, "at_c": 15.0}, 0.0),
    ):
        assert Facts(fuel=batch, **facts).density_spread == pytest.approx(spread)
    assert Facts().density_spread == pytest.approx(0.03)


@pytest.mark.parametrize(
    "facts",
    [
        {},
        {"stamped": [("gal", 43_186), ("L", 11_412)]},
        {"entered": [("imp_gal", 51_864)], "unit": "L", "true_unit": "gal"},
        {"unit": "kg", "true_unit": "kg", "is_mass": True, "true_is_mass": True, "fuel": JET, "at_c": 15.0},
    ],
    ids=str,
)
def test_a_fixed_cause_changes_the_indication_and_is_of_the_units_written(facts):
    k_factors = {name: tuple(fu.KFactor(k, per=unit) for unit, k in facts[name]) for name in ("stamped", "entered")
                 if name in facts}  # fmt: skip
    found = [each for each in other_causes(Facts(**facts | k_factors)) if not each.is_free]
    assert all(each.log_ratio for each in found if each.kind != "fuel_temperature")
    plates = {each.reason.split("per ")[1].split(",")[0] for each in found if each.kind.startswith("k_per_")}
    assert plates == (
        {"gal"} if "stamped" in facts else {"L", "gal"} if "entered" in facts else {"L", "gal", "imp_gal"}
    )


SET = {"fixed": "0.8 kg/L", "fixed_kg_m3": 800.0}


@pytest.mark.parametrize(
    ("facts", "is_set", "is_other"),
    [
        ({"unit": "L", "true_unit": "L"}, False, False),
        ({"unit": "L", "true_unit": "kg", "true_is_mass": True}, False, True),  # no density is set for a volume
        ({"unit": "kg", "true_unit": "kg", "is_mass": True, "true_is_mass": True}, True, True),
        ({"unit": "kg", "true_unit": "L", "is_mass": True}, True, True),
        ({"unit": "kg", "true_unit": "kg", "is_mass": True, "true_is_mass": True, **SET}, False, True),
        ({"unit": "kg", "true_unit": "L", "is_mass": True, **SET}, False, False),  # the ratio is the same of any fuel
        ({}, True, True),
    ],
    ids=str,
)
def test_a_density_is_a_cause_where_one_is_used_and_not_known_to_be_right(facts, is_set, is_other):
    kinds_of = {each.kind for each in other_causes(Facts(fuel=JET, at_c=10.0, **facts))}
    assert ("density_setting" in kinds_of, "other_fuel" in kinds_of) == (is_set, is_other)


def test_each_ratio_that_is_printed_is_that_of_its_cause():
    causes = other_causes(Facts(unit="gal/h", true_unit="L/h", is_flow=True))
    printed = [(each, each.reason.partition(": ratio ")[2]) for each in causes]
    assert sum(bool(number) for _, number in printed) > 8
    for each, number in printed:
        assert not number or float(number) == pytest.approx(math.exp(each.log_ratio), rel=1e-4)


def test_slips_are_those_of_the_k_factor_of_the_first_channel():
    stamped = tuple(fu.KFactor(k, per="L") for k in (11412, 11286))
    slips = [each.reason for each in other_causes(Facts(stamped=stamped)) if "digit" in each.kind]
    assert slips
    assert all("for 11412 pulse/L" in each for each in slips)


@pytest.mark.parametrize("shift", [0.0, 0.01, -0.02])
def test_two_causes_are_fitted_as_normal_errors_are_by_hand(shift):
    """Of 5 % that a fixed cause leaves, the free one, of 4 %, takes its share of the variance: 1 %² + 3 %² + 4 %²."""
    fixed = Cause("a", math.log(1.2), "a", spread=0.03, weight=0.5)
    free = Cause("b", 0.0, "{change}", spread=0.04, is_free=True)
    fit = _fit((fixed, free), math.log(1.2) + shift + 0.05, 0.01, shift, False)
    taken = 0.05 * 0.0016 / 0.0026
    assert fit.log_ratio == pytest.approx(math.log(1.2) + shift + taken)
    assert fit.unexplained == pytest.approx((0.05 - taken) / 0.01)  # the unit that the report prints
    assert fit.likelihood == pytest.approx(math.exp(-(0.05**2) / 2.0 / 0.0026) / 0.0026**0.5)
    assert fit.score == pytest.approx(fit.likelihood * 0.5 * 0.05**2)
    assert fit.reasons == ("a", f"{100.0 * (math.exp(taken) - 1.0):.2g} %")
    assert not fit.is_unchecked


def test_a_k_that_was_never_compared_comes_second_and_what_is_far_less_likely_not_at_all():
    """At 93.9 % another temperature of the ticket, 44 °C, is 1 % as likely as a flow too low for the transducer."""
    assert kinds(0.9607, 1, uncertainty="2 %")[1] == "k_not_matched"
    found = kinds("93.87 L", "100 L", uncertainty="0.5 %", fuel="Jet A", at="-10 degC")
    assert found[:2] == ["low_flow", "k_not_matched"]
    assert "compensated_volume" not in found
    assert "compensated_volume" in kinds("96 L", "100 L", uncertainty="0.5 %", fuel="Jet A", at="-10 degC")


def test_two_small_causes_at_once_are_offered_after_single_ones():
    found = kinds(1.0681, 1, uncertainty="0.2 %", indicator="11617 pulse/L")
    assert "density_setting + low_flow" in found
    assert max(each.count("+") for each in found) == 1


@pytest.mark.parametrize("u", [0.005, 0.01, 0.02])
@pytest.mark.parametrize("ratio_in_u", [-1.9, -1.6, -1.0, 0.0, 0.5, 1.0, 1.6, 1.9])
@pytest.mark.parametrize("k_in_u", [-3.0, -1.9, -1.6, -0.5, 0.5, 1.0, 1.3, 1.6, 1.9, 2.5, 3.0])
def test_a_wrong_k_is_named_within_the_noise_where_the_ratio_is_likelier_with_it(ratio_in_u, k_in_u, u):
    """Likelihoods of a statistics library; K differs from the plate by less than the ratio shows, or by more."""
    plate, displayed = math.exp(k_in_u * u) * 11412.0, math.exp(ratio_in_u * u) * 100.0
    found = fu.diagnose(
        f"{displayed:.6f} L", "100 L", indicator=K, stamped=f"{plate:.4f} pulse/L", uncertainty=f"{100 * u} %"
    )
    is_likelier = stats.norm.pdf(ratio_in_u, k_in_u) > 3.0 * stats.norm.pdf(ratio_in_u)
    assert [each.kind for each in found.suspects] in ([], ["k_not_matched"])
    assert bool(found.remarks) == (is_likelier or abs(k_in_u) > 2.0)
    assert bool(found.suspects) == (bool(found.remarks) and abs(ratio_in_u - k_in_u) <= abs(ratio_in_u))


@pytest.mark.parametrize(
    ("indicated", "cause"), [("60.05", "imperial_display"), ("41.64", "imperial_display"), ("335", "mass_for_volume")]
)
def test_a_measured_amount_keeps_the_unit_in_which_it_was_read(indicated, cause):
    """Five gallons imperial are six of the US, 231 in³ to 4.546 09 L; 6.7 lb of jet fuel are a gallon."""
    known = {"indicator": "43186 pulse/gal", "stamped": "43186 pulse/gal"}
    for read, true in (
        (f"{indicated} gal", "50 gal"),
        (fu.measured(f"{indicated} gal", "0.2 gal", name="read"), fu.measured("50 gal", "0.2 gal", name="truck")),
        (fu.measured(ONE_REGISTRY.Quantity(float(indicated), "gallon"), "0.2 gal", name="read"), "50 gal"),
    ):
        found = fu.diagnose(read, true, **known)
        assert found.suspects[0].kind == cause
        assert found.ratio == pytest.approx(float(indicated) / 50.0)
        assert "gal" in found.indicated


def test_what_was_not_measured_of_a_fuel_is_marked_only_where_there_is_a_suspect():
    known = {"indicator": "43186 pulse/gal", "stamped": "43186 pulse/gal", "fuel": "HEFA-SPK", "at": "15 degC"}
    assert not any("stand-in" in each for each in fu.diagnose("50 gal", "50 gal", **known).remarks)
    assert any("stand-in" in each for each in fu.diagnose("52 gal", "50 gal", **known).remarks)


@pytest.mark.parametrize("truncates", [False, True])
@pytest.mark.parametrize(
    ("true", "steps"), [("0.2 L", (True, True)), ("0.4 L", (False, True)), ("0.6 L", (False, False))]
)
def test_zero_may_be_right_below_the_step_of_the_display(true, steps, truncates):
    display = fu.Indicator(K, reads="L/h", total_resolution="0.5 L", truncates=truncates)
    found = fu.diagnose("0 L", true, indicator=display, stamped=K, uncertainty="0.1 %")
    assert any("0.5 L" in each or "0.25 L" in each for each in found.remarks) is steps[truncates]


@pytest.mark.parametrize("density", [0.80, 0.8088, 0.81, 0.82])
def test_a_density_set_that_nobody_stated_stays_a_suspect(density):
    """Measured avgas of 0.71 kg/L where the density of a jet fuel is set: K alone is stated, and right."""
    fuel = fu.fuel("100LL").measured("709.8 kg/m^3", at="15 degC", uncertainty="0.5 kg/m^3")
    known = {"indicator": K, "stamped": K, "fuel": fuel, "at": "15 degC", "channels": 1}
    found = fu.diagnose(f"{300.0 * density / 0.7098:.1f} lb", "300 lb", uncertainty="0.2 %", **known)
    assert "density_setting" in {each.kind for each in found.suspects if each.rank == 1}
    assert "fixed density" in found.missing
    display = fu.Indicator(K, reads="lb/h", fixed_density=f"{density} kg/L")
    named = fu.diagnose(f"{300.0 * density / 0.7098:.1f} lb", "300 lb", **known | {"indicator": display})
    assert "fixed density" not in named.missing


@pytest.mark.parametrize("off", [0.97, 1.031])
def test_a_density_set_that_nobody_stated_may_be_off_by_a_few_percent(off):
    """Of one kind of fuel too: 0.776 or 0.82 kg/L set, a batch of 0.795 kg/L burnt; litres and K are right."""
    batch = fu.fuel("Jet A").measured("795 kg/m^3", at="15 degC", uncertainty="0.5 kg/m^3")
    known = {"indicator": K, "stamped": K, "fuel": batch, "at": "15 degC", "channels": 1}
    assert "density_setting" in front(f"{300.0 * off:.1f} lb", "300 lb", uncertainty="0.3 %", **known)


def test_a_display_may_cut_off_to_the_digits_given():
    known = {"indicator": K, "stamped": K, "channels": 1, "uncertainty": "0.3 %"}
    assert "may be right" in " ".join(fu.diagnose("58 gal", "58.9 gal", **known).remarks)
    assert "may be right" not in " ".join(fu.diagnose("58 gal", "57.1 gal", **known).remarks)


@pytest.mark.parametrize("worn", [0.96, 0.99, 1.0, 1.01, 1.02, 1.04])
def test_a_unit_that_is_wrong_stays_listed_where_the_transducer_is_off_too(worn):
    """Pounds read as kilograms, of a transducer that is off by a few percent: a share that returns fits any excess."""
    batch = fu.fuel("Jet A").measured("802 kg/m^3", "15 degC", uncertainty="0.5 kg/m^3")
    display = fu.Indicator(K, reads="kg/h", fixed_density="802 kg/m^3")
    known = {"indicator": display, "stamped": K, "fuel": batch, "at": "15 degC", "channels": 1, "uncertainty": "0.3 %"}
    found = kinds(f"{300.0 * 2.2046226 * worn:.1f} kg", "300 kg", **known)
    assert any("pounds_for_kilograms" in each for each in found)
    if abs(worn - 1.0) < 0.02:
        assert "pounds_for_kilograms" in front(f"{300.0 * 2.2046226 * worn:.1f} kg", "300 kg", **known)
