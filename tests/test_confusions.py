"""Known confusions by the ratio they leave behind, against figures that others print."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelunits.checks.explanation import density_looks_like
from fuelunits.confusions import (
    diagnose_fill_up,
    known_confusions,
    may_be,
    number_looks_like,
    retyped_digits,
    shortened,
    swapped_digits,
    volume_correction_mistakes,
)
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.grades import fuel
from fuelunits.units import exact_factor, factor


def first(ratio, *units, **more):
    found = known_confusions(ratio, *units, **more)
    return found[0].name if found else ""


@pytest.mark.parametrize(
    ("given", "right", "unit", "per", "name"),
    [
        # printed by NIST SP 811, App. B.8: 4.546 09 L, 3.785 412 L, 119.8264 and 99.776 37 kg/m3, 0.453 592 4 kg
        (4.54609, 3.785412, "L", "gal", "imperial gallon for US gallon (L per imp_gal for L per gal)"),
        (3.785412, 4.54609, "L", "imp_gal", "US gallon for imperial gallon (L per gal for L per imp_gal)"),
        (99.77637, 119.8264, "kg/m^3", "lb/gal", "imperial gallon for US gallon (kg/m^3 per lb/imp_gal"),
        (1 / 0.4535924, 0.4535924, "kg", "lb", "the reciprocal (lb per kg for kg per lb)"),
        (0.264172, 0.2199692, "imp_gal", "L", "US gallon for imperial gallon (gal per L for imp_gal per L)"),
        (1016.047, 907.1847, "kg", "short_ton", "long ton for short ton"),
        (1000.0, 907.1847, "kg", "short_ton", "metric ton for short ton"),
        (6.309020e-05, 6.309020e-05 / 60, "m3/s", "gal/h", "minute for hour"),
        # 1 mmHg is 133.322 Pa, 1 inHg 3386.389 Pa (SP 811, the first recalled)
        (133.322, 3386.389, "Pa", "inHg", "millimetre of mercury for inch of mercury"),
        # 1 km/h is 0.539 957 kn, 0.621 371 mph and 0.277 778 m/s; 1 kg/h is 2.204 623 lb/h (recalled)
        (0.539957, 2.204623, "lb/h", "kg/h", "km/h for kg/h (the factor from km/h to knots)"),
        (0.621371, 2.204623, "lb/h", "kg/h", "km/h for kg/h (the factor from km/h to mph)"),
        (0.277778, 1 / 3600, "kg/s", "kg/h", "km/h for kg/h (the factor from km/h to m/s)"),
        (1.0, 1.8, "delta_degF", "delta_degC", "no conversion (delta_degC taken for delta_degF)"),
    ],
)
def test_a_factor(given, right, unit, per, name):
    assert right == pytest.approx(factor(per, unit), rel=2e-6)
    assert first(given / factor(per, unit), unit, per=per).startswith(name)


@pytest.mark.parametrize(
    ("given", "right", "unit", "name"),
    [
        (0.804 * 2.204623, 0.804, "kg/L", "pound for kilogram (lb/L for kg/L)"),
        (0.804, 6.71, "lb/gal", "kg/L for lb/gal"),
        (804.0, 0.804, "kg/L", "kg/m^3 for kg/L"),
        (8.06, 6.71, "lb/gal", "imperial gallon for US gallon (lb/imp_gal for lb/gal)"),
        (8.06, 6.71, "lb*gal^-1", "imperial gallon for US gallon (lb*imp_gal^-1 for lb*gal^-1)"),
        (8.06, 0.804, "kg/L", "lb/imp_gal for kg/L"),
        (43.186, 43186.0, "pulse/gal", "the decimal point 3 places too far left"),
        (43_186_000.0, 43186.0, "pulse/gal", "the decimal point 3 places too far right"),
        (11408.5, 43186.0, "pulse/gal", "litre for US gallon (pulse/L for pulse/gal)"),
        (51864.0, 43186.0, "pulse/gal", "imperial gallon for US gallon (pulse/imp_gal for pulse/gal)"),
        (43186.0 * 3.785412, 43186.0, "pulse/gal", "converted from pulse/L, although it was in pulse/gal already"),
        (12.5 / 60, 12.5, "gph", "minute for hour (gal/min for gal/h)"),
        (12.5 * 60, 12.5, "gal/h", "converted from gal/min, although it was in gal/h already"),
        (150_000.0, 150.0, "kg/h", "km/h for kg/h (kph read as a speed, in m/s)"),
        (0.0005, 0.0009, "1/delta_degC", "degree Fahrenheit for degree Celsius (1/delta_degF for 1/delta_degC)"),
        (0.00162, 0.0009, "1/delta_degC", "converted from 1/delta_degF, although it was in 1/delta_degC already"),
        (2.5, 25.0, "psi", "the decimal point 1 place too far left"),
        (25_000.0, 25.0, "psi", "the decimal point 3 places too far right"),
        (0.25, 25.0, "psi", "the decimal point 2 places too far left"),
        (6.895, 1.0, "psi", "kPa for psi"),
    ],
)
def test_a_quantity(given, right, unit, name):
    assert first(given / right, unit, tolerance="1 %").startswith(name)


@pytest.mark.parametrize(
    "ratio", [1.0, 1.0 + 1e-9, 1.01, 0.95, 1.3, 3.0, 42.0, 1 / 42, 0.0, -1.2, float("nan"), float("inf")]
)
def test_what_is_no_known_confusion(ratio):
    if 0.0 < ratio < float("inf"):
        assert not known_confusions(ratio, "lb/gal")
    assert number_looks_like(ratio * 11412.0, 11412.0, "pulse/gal") == ""


def test_a_fill_up_is_explained_within_six_percent():
    found = {off: [str(each) for each in diagnose_fill_up(2.0 * off, "L", "L")] for off in (0.93, 0.95, 1.05, 1.07)}
    assert [any("doubled" in each for each in said) for said in found.values()] == [False, True, True, False]


@pytest.mark.parametrize(
    ("ratio", "units", "words"),
    [  # of US gallons, 3.785412 L, and imperial ones, 4.54609 L: NIST SP 811, App. B.8
        (4.54609 / 3.785412, ("L", "gal"), "delivered looks like imperial gallons"),
        (3.785412 / 4.54609, ("L", "imp_gal"), "delivered looks like US gallons"),
        (3.785412, ("L", "L"), "delivered looks like US gallons"),
        (3.785412 / 4.54609, ("gal", "L"), "K-factor, looks like imperial gallons"),
        (1.0 / 3.785412, ("L", "L"), "K-factor, looks like US gallons"),
    ],
)
def test_a_fill_up_in_another_unit_is_named_by_its_side(ratio, units, words):
    assert words in str(diagnose_fill_up(ratio, *units)[0])


def test_a_rounded_figure_is_no_old_gallon():
    for rounded in (4.546, 4.5461, 4.55, 4.5):
        assert not known_confusions(rounded / 4.54609, "L", per="imp_gal")


@pytest.mark.parametrize(("share", "fits"), [(0.22, True), (-0.22, True), (0.27, False), (-0.27, False)])
def test_a_confusion_fits_within_a_quarter_of_what_it_makes(share, fits):
    """A long ton is 1016.047 kg (NIST SP 811, App. B.8): 1.6 % from a metric ton, so that 0.4 % are a quarter."""
    found = known_confusions(1000.0 / 1016.047 * (1.0 + share * 0.01579), "tonne")
    assert ("long ton" in " ".join(each.name for each in found)) is fits


@pytest.mark.parametrize(
    ("ratio", "unit", "words"),
    [
        (6.7 / 6.0, "lb/gal", ["jet fuel on avgas"]),  # weights of a gallon, FAA-H-8083-30
        (6.0 / 6.7, "kg/L", ["avgas on jet fuel"]),
        (1000.0, "kg/L", ["kg/m^3 for kg/L"]),  # one unit for another is named once
        (6.0 / 6.7, "lb/h", ["avgas on jet fuel"]),
        (2.0, "gal/h", ["doubled pulses"]),
        (0.5, "L", ["halved pulses", "one channel of two"]),
        (4.0, "pulse/gal", ["quadrature"]),
        (4.0, "pulse/kg", ["quadrature"]),
        (4.0, "gal/h", ["quadrature", "divider by 4"]),
        (1 / 8, "kg", ["divided by 8"]),
        (1 / 10, "L", ["divided by 10"]),
        (10.0, "gal/h", ["divider by 10"]),
        (1 / 60, "pulse/gal", ["gal/min"]),
        (3600.0, "pulse/L", ["per h"]),
    ],
)
def test_settings_and_pulses(ratio, unit, words):
    found = known_confusions(ratio, unit)
    assert len(found) == len(words)
    for confusion, word in zip(found, words, strict=True):
        assert word in confusion.name


@pytest.mark.parametrize(
    ("given", "unit", "name", "words", "not_first"),
    [
        (8.34, "lb/gal", "Jet A", "water", "gallon"),  # lb in a US gallon of water: 0.9994 kg/L
        (6.02, "lb/gal", "Jet A", "100LL", ""),
        (6.9, "lb/gal", "Jet A", "Jet A at ", "JP-4"),
        (44.3, "lb/gal", "Jet A", "API gravity", ""),
        (8.05, "lb/gal", "Jet A", "imperial gallon", ""),
        (1.79, "kg/L", "Jet A", "pound for kilogram", ""),
        (50.1, "lb/gal", "Jet A", "lb/ft3 for lb/gal", ""),
        (0.804, "kg/m^3", "Jet A", "specific gravity", ""),
        (0.804, "lb/gal", "Jet A", "specific gravity", ""),
    ],
)
def test_a_density_is_judged_as_a_density_first(given, unit, name, words, not_first):
    said = density_looks_like(given * factor(unit, "kg/m^3"), fuel(name), 15.0, unit)
    first_said = said.removeprefix("; it may be ").split(" or ")[0]
    assert words in first_said
    assert not not_first or not_first not in first_said


@pytest.mark.parametrize("pair", [("gal", "imp_gal"), ("L", "gal"), ("lb", "kg"), ("h", "min"), ("short_ton", "tonne")])
def test_ratios_are_exact(pair):
    taken, meant = pair
    found = known_confusions(factor(meant, taken), meant)
    assert known_confusions(1000.0, "kg/h")[0].ratio == 1000
    assert exact_factor(meant, taken) in [confusion.ratio for confusion in found]
    assert all(isinstance(confusion.ratio, Fraction) for confusion in found)
    assert "(" not in found[0].name  # a unit alone is named once


@pytest.mark.parametrize("metres", ["1852", "1609.344", "3600"])
def test_ratios_of_speeds_are_exact(metres):
    """A knot is 1852 m/h, and a mile 5280 ft of 0.3048 m (NIST SP 811, App. B.8)."""
    ratio = 1000 / Fraction(metres) / exact_factor("kg/h", "lb/h")
    assert ratio in [each.ratio for each in known_confusions(float(ratio), "lb/h", per="kg/h")]


@given(
    st.floats(min_value=1e-6, max_value=1e6),
    st.sampled_from(["gal", "lb/gal", "pulse/L", "kg/h", "psi", "1/delta_degC"]),
)
def test_what_is_found_fits(ratio, unit):
    for confusion in known_confusions(ratio, unit):
        assert abs(ratio / float(confusion.ratio) - 1.0) <= 0.005
        assert confusion.ratio != 1


def test_refusals():
    with pytest.raises(FuelUnitsError, match="unknown unit"):
        known_confusions(1.2, "galon")
    with pytest.raises(FuelUnitsError, match="write one number and one unit"):
        known_confusions(1.2, "gal", tolerance="tight")


def test_a_correction_made_twice_or_the_wrong_way_is_named():
    """At 30 °C a volume correction factor of kerosene is 0.986, as in the worked use of ctl."""
    jet = fuel("Jet A")
    base, hot = jet.density_kg_m3(15.0), jet.density_kg_m3(30.0)
    vcf = hot / base
    assert "twice" in density_looks_like(hot * vcf, jet, 30.0, "kg/m^3")
    assert "reciprocal" in density_looks_like(base / vcf, jet, 30.0, "kg/m^3")
    assert "correction" not in density_looks_like(1.0005 * base, jet, 15.0, "kg/m^3")  # there is none at 15 °C
    assert dict(volume_correction_mistakes(0.986))["no correction"] == pytest.approx(1.0142, abs=1e-4)


@pytest.mark.parametrize(
    ("near", "number", "unit", "at_c", "words"),
    [
        (0.005, 999.975, "kg/m^3", 15.0, "the density of water"),  # at 4 degC: [tanaka_2001]
        (0.1, 141.5 / (808.0 / 999.016) - 131.5, "lb/gal", 15.0, "an API gravity in place"),
        (0.04, 808.0 / 999.016, "lb/gal", 15.0, "a specific gravity in place"),
        (0.005, 695.0, "kg/m^3", 15.0, "the density of avgas 80"),
        (0.0005, 808.0, "kg/m^3", 30.0, "a density with no correction from 15 °C"),
    ],
)
def test_how_near_another_figure_must_be(near, number, unit, at_c, words):
    """Typical Jet A has 808 kg/m3 at 15 degC; water at 60 degF 999.016 kg/m3, for relative density and API gravity."""
    jet, found = fuel("Jet A"), {}
    assert jet.density_kg_m3(15.0) == pytest.approx(808.0, abs=0.05)
    for share in (-1.06, -0.94, 0.94, 1.06):
        said = density_looks_like(number * (1.0 + share * near) * factor(unit, "kg/m^3"), jet, at_c, unit)
        found[share] = words in said
    assert found == {-1.06: False, -0.94: True, 0.94: True, 1.06: False}


def test_what_becomes_of_digits():
    assert swapped_digits(Fraction(1123)) == {1213, 1132}
    assert swapped_digits(Fraction(2041)) == {241, 2401, 2014}
    assert swapped_digits(Fraction("12.5")) == {Fraction("21.5"), Fraction("15.2")}
    assert retyped_digits(Fraction("12.5")) == {
        Fraction(each) for each in ("2.5", "1.5", "12", "112.5", "122.5", "12.55")
    }
    assert retyped_digits(Fraction(10)) == {1, 110, 100}
    assert shortened(Fraction(11472)) == {10000, 11000, 11400, 11500, 11470}


def test_the_first_three_suspects_are_named():
    assert may_be(["a dozen", "a score", "a gross", "a ream"]).endswith("a dozen or a score or a gross")
    assert may_be([]) == ""
    said = density_looks_like(804.5, fuel("100LL"), 15.0, "kg/m^3")  # four kinds of jet fuel are within 0.5 %
    assert said.removeprefix("; it may be ") == "the density of Jet A or Jet A-1 for that of 100LL"


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (1000, "the decimal point 3 places too far right"),
        (Fraction(1, 1000), "the decimal point 3 places too far left"),
        (2, "doubled"),
        (Fraction(1, 2), "halved"),
        (4, "quadrature"),
        (Fraction(1, 4), "divided by four"),
    ],
)
def test_a_k_factor_entered_wrongly_is_off_by_a_whole_ratio(ratio, words):
    found = known_confusions(float(ratio), "pulse/gal")[0]
    assert found.ratio == ratio
    assert words in found.name


def test_a_number_is_shortened_to_one_to_seven_digits():
    cut = [100_000_000, 120_000_000, 123_000_000, 123_400_000, 123_450_000, 123_456_000, 123_456_700]
    assert shortened(Fraction(123_456_789)) == {*cut, 123_500_000, 123_460_000, 123_457_000, 123_456_800}


@given(st.floats(0.02, 50.0), st.sampled_from(["lb/gal", "pulse/L", "gal/h", "kg/h", "L"]))
def test_mistakes_of_units_come_before_doubled_conversions_and_shifts_and_the_nearest_first(ratio, unit):
    found = known_confusions(ratio, unit, tolerance="24 %")
    ranks = [2 * ("decimal point" in each.name) + each.name.startswith("converted from") for each in found]
    order = [(rank, abs(ratio / float(each.ratio) - 1.0)) for rank, each in zip(ranks, found, strict=True)]
    assert order == sorted(order)
