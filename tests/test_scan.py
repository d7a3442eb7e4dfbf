"""The scan of sources: what it finds in two invented repositories, what it leaves alone, and how it reads numbers."""

import json
import math
import os
import re
import shutil
import subprocess
import sys
from collections import Counter
from itertools import permutations, product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_check_command import sarif_problems

from fuelunits.__main__ import main
from fuelunits.checks.file import check_files, check_text
from fuelunits.checks.kinds import KINDS
from fuelunits.checks.scan import FORMATS, scan, scan_text
from fuelunits.errors import FileError
from fuelunits.fuels.grades import fuel
from fuelunits.units import factor

HERE = Path(__file__).parent


def rows_of(text, path="fuel.h"):
    return [each.as_row() for each in scan_text(text, path)]


def rows_in(*paths, exclude=()):
    return [each.as_row() for each in scan(paths, exclude=exclude).findings]


@pytest.mark.parametrize(("folder", "missed"), [("scan_repo", 0), ("scan_holdout", 2)])
def test_constants_of_an_invented_repository(folder, missed, monkeypatch):
    """Each list was written before the scan was run on its repository; 90 of 95 of the second were found at first."""
    monkeypatch.chdir(HERE / folder)
    lines = Path("expected.csv").read_text(encoding="utf-8").splitlines()
    expected = Counter(tuple(line.split("|")) for line in lines if not line.startswith("#"))
    found = Counter((row["file"], row["text"], row["kind"], row["verdict"]) for row in rows_in("."))
    assert expected.total() > 60
    assert sorted(found - expected) == []
    assert (expected - found).total() <= missed


@pytest.mark.parametrize("form", ["TO_{to} = {{'{a}': {x}, '{b}': {y}}}", "const {to} = {{ {a}: {x}, {b}: {y} }};"])
@pytest.mark.parametrize(
    ("to", "units"),
    [
        ("L", {"usg": 3.785412, "ukgal": 4.54609}),
        ("L", {"gal": 3.785411784, "imp_gal": 4.54609}),
        ("KG", {"short_ton": 907.18474, "long_ton": 1016.0469088}),
        ("L", {"bbl": 158.987295, "ft3": 28.316847}),
    ],
)
def test_of_a_table_of_units_on_one_line_exchanged_numbers_are_not_right(form, to, units):
    (a, b), (x, y) = units, units.values()
    for one, other in ((x, y), (y, x)):
        found = [row["verdict"] for row in rows_of(form.format(to=to, a=a, b=b, x=one, y=other), "fuel.js")]
        assert "matches" not in found
        assert "wrong" not in found  # of the line alone nobody knows which it is


def test_the_standard_library_has_hardly_a_find():
    """At most one in 100,000 lines: here in what every build of Python has."""
    folder = Path(os.__file__).parent
    names = ("ast", "datetime", "decimal", "email", "fractions", "json", "random", "statistics", "tkinter", "turtle")
    paths = [str(path) for name in names for path in (folder / name, folder / f"{name}.py") if path.exists()]
    assert rows_in(*paths) == []


@pytest.mark.long
def test_the_whole_standard_library_has_hardly_a_find():
    library = Path(os.__file__).parent  # half a million lines without its tests and what is installed
    modules = [each for each in library.iterdir() if each.name not in ("test", "site-packages", "idlelib", "lib2to3")]
    assert len(scan([str(each) for each in modules if each.is_dir() or each.suffix == ".py"]).findings) <= 9


@pytest.mark.parametrize(
    ("line", "text", "value", "verdict"),
    [
        ("#define GAL_TO_L 3.785f", "3.785f", 3.785, "matches"),
        ("static const int K_FACTOR = 43'186; // pulse/gal", "43'186", 43186.0, "not judged"),
        ("k_factor = 43_250  # pulses per gallon", "43_250", 43250.0, "not judged"),
        ("kFactor = 11.5e3; // pulse/L", "11.5e3", 11500.0, "not judged"),
        ("# a K-factor of 43,186 pulses per gallon", "43,186", 43186.0, "not judged"),
        ("const galToL = 3.7854118d", "3.7854118d", 3.7854118, "matches"),
        ("L_TO_GAL = .264172", ".264172", 0.264172, "matches"),
        ("gal_to_l = 2642.d-4; l_to_gal = 2.642d-1", "2.642d-1", 0.2642, "matches"),
        ("#define GAL_TO_L 4.546", "4.546", 4.546, "wrong"),
        ("#define GAL_TO_L 4.546 // imperial", "4.546", 4.546, "matches"),
        ("#define GAL_TO_L 3.8", "3.8", 3.8, "rounded"),
        ("x = 3.785411784", "3.785411784", 3.785411784, "matches"),
        ("jet_a_kg_to_l = 1.2438", "1.2438", 1.2438, "plausible"),
        ("jet_a_kg_to_l = 0.8", "0.8", 0.8, "wrong"),
        ("scientific.kelvin = c + 273", "273", 273.0, "rounded"),
        ("#define ZERO_C_IN_K 273.15f // LB", "273.15f", 273.15, "matches"),
        ("pulses = gallons * 43186", "43186", 43186.0, "not judged"),
        ("pulses = 43186 * gallons", "43186", 43186.0, "not judged"),
        ("{ .k_factor = 11412.0, .usable = 53 },", "11412.0", 11412.0, "not judged"),
        ("static readonly K_FACTOR = 2_950 as const;", "2_950", 2950.0, "not judged"),
    ],
)
def test_literals(line, text, value, verdict):
    found = {row["text"]: row for row in rows_of(line)}
    assert found[text]["value"] == value
    assert found[text]["verdict"] == verdict


@pytest.mark.parametrize(
    "line",
    [
        *("GAL_TO_L = 0x3B9ACA", "K_PER_GAL = 0644"),
        'gal_to_l_version = "3.785.4"',
        "v1_045_gal_to_l",
        "# gal to L, 2024-03-12, 12:45",
        "f(43,186)  # no number of a K-factor",
        "gal_price = $3.785",
        "gal_to_l_colour = #378541",
        "timeout = 3.785",
        "baud = 43186",
        "rate = 3.785%  # of gallons",
        "double rate = 28.5; // pulses",
        "api_limit = 120.5",
        "h_per_gal = 120",
        "pulses_per_s = 120",
        "oil_lb_per_gal = 6.7",
    ],
)
def test_what_is_no_constant_of_fuel(line):
    assert rows_of(line) == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("GAL_TO_L = 4.546", "imperial gallon"),
        ("GAL_TO_L = 0.264172", "reciprocal"),
        ("GAL_TO_L = 37.85412", "decimal point"),
        ("GAL_TO_L = 3.7584", "swapped"),
        ("AVGAS_LB_PER_GAL = 6.7", "Jet A"),
        ("JET_LB_PER_GAL = 8.05", "imperial gallon"),
        ("JET_KG_PER_L = 1.7725", "pound"),
        ("litres = gallons / 3.785", "reciprocal"),
        ("def to_litres(gallons):\n    return gallons * 4.546", "imperial gallon"),
        *[(text, "reciprocal") for text in ("lpm_per_gph = 15.85", "lit = usg * .264172", "lb_gal = kg_m3 * 119.83")],
        ("sg = 141.5 / (api + 135.1)", "slip"),
        *[(f"{text} - 141.5", "slip") for text in ("api = 141.5/sg", "gravity = 141.5 / sg")],
        ("IMP_GAL = 3.785  # litres per gallon", "US gallon for imperial"),
        ("API_OFFSET = 135.1", "slip"),
        ("us_gal = l / 3.785; imp_gal = l / 3.785", "US gallon for imperial"),
        ("FUEL_EXPANSION_PER_C = 0.00051", "degree Fahrenheit"),
        ("KELVIN_OFFSET = 275.13", "slip"),
        ("lph = gpm * 3.785411784", "hour for minute"),
        ("PPH_TO_KG_MIN = 0.4536", "minute for hour"),
        ("UL91_LB_PER_GAL = 6.7", "Jet A"),
        ("DIESEL_LB_PER_GAL = 6.01", "100LL"),
        ('GAL_TO_L = {"uk": 4.54609, "us": 4.546}', "imperial gallon"),
        ("const GALLON = { us: 3.785411784, imperial: 3.785411784 };", "US gallon"),
    ],
)
def test_the_mistake_is_named(text, words):
    wrong = [row for row in rows_of(text) if row["verdict"] == "wrong"]
    assert len(wrong) == 1
    assert words in wrong[0]["what"]
    assert wrong[0]["difference"] == pytest.approx(wrong[0]["value"] / wrong[0]["expected"] - 1.0)


FAR = "def gal_to_l(x):\n    y = x\n    y = x\n"
BOUNDS = [
    # a word of the trade must stand on its line, or on one of the three above
    (f"{FAR}    FACTOR = 4.546", "wrong"),
    (f"{FAR}    y = x\n    FACTOR = 4.546|{FAR}    y = x\n    FACTOR = 4.546\n# tank", ""),
    # NIST SP 811, App. B.8: 1 gal is 3.785 412 L: rounded or cut at its last digit, and no more than that
    ("GAL_TO_L = 3.78|GAL_TO_L = 3.79", "rounded"),
    ("GAL_TO_L = 3.77|GAL_TO_L = 3.80|GAL_TO_L = 3.7855", "wrong"),
    ("GAL_TO_L = 3.78542|GAL_TO_L = 3.78548", "rounded"),  # of many digits the last may be wrong, within 2e-5
    # 6 % or less from it, and of three digits, where a sentence claims it; a name claims a fifth to five times of it
    ("litres = gallons * 3.60", "wrong"),
    ("litres = gallons * 3.50|litres = gallons * 3.6", ""),
    ("GAL_TO_L = 0.8|GAL_TO_L = 18.8", "wrong"),
    ("M3_TO_L = 200|M3_TO_L = 5000", ""),
    ("GAL_TO_L = 0.7|GAL_TO_L = 19.1|GAL_TO_L = 0.0|litres = gallons * 1.0|GAL_TO_QT = 4", ""),
    ("# 4.546 litres per gallon|# 3.5 litres per gallon|# 1 gallon is 3.5 litres|x = 3.5 # gal to L", "wrong"),
    ("gal_to_l = 3.60 * x|litres = 3.60 * gallons|x = y * 3.60 # gal to L|# gal to L\nx = y * 3.60", "wrong"),
    ("gal_to_l = 3.5 * x|litres = 3.5 * gallons|x = y * 3.5 # gal to L|# gal to L\nx = y * 3.5", ""),
    ("def litres(gallons):\n    return 3.60 * gallons|x = y / 3.785 # gal to L", "wrong"),
    ("def litres(gallons):\n    return 3.5 * gallons|x = litres(gallons, 3.60)|  x = 4.546\n# gal to L", ""),
    ("return litres(gallons, 3.60)", "wrong"),
    ("x = y / 3.785 # L per gal|KG_M3_TO_KG_L = 0.001|gal_to_l_100 = 378.5|gal_to_l_100 = 3.785", "matches"),
    # of ten or hundred times a factor, within 1 %; a short ton is 907.1847 kg: 0.9 is one digit, no rounding
    ("gal_to_l_100 = 382.0|short_ton_to_tonne = 0.9", "wrong"),
    ("gal_to_l_100 = 383.0", ""),
    # alone it is recognised at six digits, and 1 psi, 6.894 757 293 kPa, at nine; at fifteen it is a computed figure
    ("x = 3.78541|x = 6.89475729|x = 3.7854117840000", "matches"),
    ("x = 3.7854|x = 6.8947573|x = 3.78541178400000", ""),
    ("x = 3.785 # gal|# gal\nx = 3.7854|# psi\nx = 6.8948|x = 42 # gal bbl", "matches"),
    ("x = 7.481 # ft3|x = 231 # gal in3", "matches"),
    ("x = 42 # gal|# gal\nx = 3.785|x = 7.48 # ft3", ""),
    ("k_factor = 100|k_factor = 3601|K_PER_GAL = 100|# K_PER_L: 11412 pulses in 250 s", "not judged"),
    ("k_factor = 99|k_factor = 3600|K_PER_GAL = 99.5|K_PER_GAL = 3600|# K_PER_L\nx = 11412", ""),  # an hour has 3600 s
    # 141.5 and 131.5 of API gravity, with one digit wrong
    ("API_OFFSET = 111.5|API_OFFSET = 151.5|API_OFFSET = 135.10", "wrong"),
    ("RD_OF_API = 114.5 / x", "wrong"),
    ("API_TOP = 141.5", "matches"),
    ("api = 141.5/sg - 131|sg = 141.5/(131 + api)|sg = 141.5/(api + 131) * 0.999", "matches+wrong"),
    ("api = 141 / sg - 131.5|sg = 141 / (131.5 + api)", "wrong+matches"),
    ("API_TOP = 140.5|API_TOP = 136.5|API_OFFSET = 137.5", "wrong"),
    ("API_OFFSET = 101.5|API_TOP = 137.5|API_OFFSET = 161.5|API_OFFSET = 132.6", ""),
    ("sg = 110.0 / (api + 131.5)|sg = 160.0 / (api + 131.5)", "matches"),  # 131.5 alone is found in them
    # 0 °C is 273.15 K; 273.16 K is the triple point of water, no slip unless the line speaks of a scale
    ("KELVIN_OFFSET = 273.16|KELVIN_OFFSET = 275.13|# kelvin\nOFFSET = 275.13", "wrong"),
    ("# kelvin\nOFFSET = 273.16", ""),
    ("# tank\nOFFSET = 459.67|# tank\nOFFSET = 491.67", "matches"),
    ("# tank\nOFFSET = 273.15|KELVIN_OFFSET = 274.15|KELVIN_OFFSET = 293.15|RANKINE = 469.67|RANKINE = 439.67", ""),
    # kerosene expands by 0.0009 per °C: three quarters to 1.35 times of it may be meant
    ("FUEL_EXPANSION_PER_C = 0.0007|FUEL_EXPANSION_PER_C = 0.0012", "plausible"),
    ("FUEL_EXPANSION_PER_C = 0.0006|FUEL_EXPANSION_PER_C = 0.0013|FUEL_EXPANSION_PER_C = 0.00011", "wrong"),
    ("FUEL_EXPANSION_PER_C = 0.0001|FUEL_EXPANSION_PER_C = 0.02|FUEL_EXPANSION_PER_C = 0.0205", ""),
    # typical Jet A has 808 kg/m³ at 15 °C, 6.743 lb/gal: 7 % around it are plausible; half to twice may be meant
    ("JET_LB_PER_GAL = 6.28|JET_LB_PER_GAL = 7.21|LB_PER_GAL = 6.25", "plausible"),
    ("jet_a_15c_kg_m3 = 775|jet_a_15c_kg_m3 = 840|jp4_15c_kg_m3 = 802|jet_a_kg_m3 = 760", "plausible"),
    ("JET_LB_PER_GAL = 6.26|JET_LB_PER_GAL = 7.22|JET_LB_PER_GAL = 3.38|JET_LB_PER_GAL = 13.4", "wrong"),
    ("JET_GAL_PER_LB = 0.0", ""),
    ("JET_LB_PER_GAL = 3.37|JET_LB_PER_GAL = 13.5|LB_PER_GAL = 5.0|LB_PER_GAL = 7.5", ""),
    ("pounds = jet_gal * 4.8|pounds = jet_gal * 9.4", "wrong"),  # 0.7 to 1.4 times where no name says so
    ("JET_LB_PER_IN3 = 0.035", "wrong"),  # typical Jet A has 0.0292 lb in a cubic inch
    ("JET_LB_PER_GAL = 8.34", "wrong"),  # of water, which a formula may be about
    ("pounds = jet_gal * 8.34", ""),
    ("fuel_lb_per_gal = 8.42", "wrong"),  # 1.2487 times as much, within 4 % of an imperial gallon in US gallons, 1.2009
    # of no named grade it must be a known mistake, and alone
    ("fuel_lb_per_gal = 8.43|fuel_lb_per_gal = 9.0|pounds = fuel_gal * 8.05", ""),
    ("pounds = jet_gal * 4.7|pounds = jet_gal * 9.5", ""),
    # where no unit is written, the size must be that of a density of fuel
    ("AVGAS_DENSITY = 5.6|JET_DENSITY = 7.1", "plausible"),
    ("AVGAS_DENSITY = 0.65|AVGAS_DENSITY = 650|JET_DENSITY = 0.88|JET_DENSITY = 880", "wrong"),
    ("AVGAS_DENSITY = .7|# avgas\nDENSITY = 0.655", ""),  # nor is it read from a digit, or far from the fuel
    ("AVGAS_DENSITY = 0.655|AVGAS_DENSITY = 655|JET_DENSITY = 0.875|JET_DENSITY = 875", "wrong"),
    ("AVGAS_DENSITY = 0.60|AVGAS_DENSITY = 0.645|AVGAS_DENSITY = 640|AVGAS_DENSITY = 5.0|AVGAS_DENSITY = 5.4", ""),
    ("JET_DENSITY = 0.885|JET_DENSITY = 0.95|JET_DENSITY = 885|JET_DENSITY = 7.25|JET_DENSITY = 7.5", ""),
]


@pytest.mark.parametrize(("texts", "verdict"), BOUNDS)
def test_how_far_a_number_may_be_off(texts, verdict):
    for text in texts.split("|"):
        assert (text, [row["verdict"] for row in rows_of(text, "x.h")]) == (text, verdict.split("+") if verdict else [])


@pytest.mark.parametrize(
    "text",
    [
        *("GAL_TO_L = 3.785 * 1.2", "GAL_TO_L = 2 * 3.785", "GAL_TO_L = SCALE * 3.785", "GAL_TO_L = -3.785"),
        *("GAL_TO_L = sqrt(3.785)", "gal_to_l_squared = 3.785 ** 2", "litres = gallons * 3.785 / 1000"),
        *("AVGAS_LB_PER_GAL = 6.0 * 1.1", "AVGAS_LB_PER_GAL = -6.0", "gal = 6.7 * lb  # jet"),
        *(
            "litres = gallons * 3.785 * scale",
            "litres = (gallons - x[1]) * scale / 0.2642",
            "litres = scale * gal * 3.785",
        ),
        *("litres = scale * (gallons * 3.785)", "litres = 3.785 * scale * gallons", "litres = 3.785 / gallons"),
        *("x = y * 3.785411784", "litres = round(gallons * 3.785) * scale", "kg = gallons * 3.785411784 * density"),
        "litres += gph * 3.785",  # a flow is no amount
        "if (unit == GAL_US) v *= 3.785411784; else if (unit == GAL_IMP) v *= 4.54609;",  # no word tells the unit of v
        *("gal = 3.785 * l", "barrel = 42 * gallon"),  # amounts are divided, and a unit is defined so
    ],
)
def test_a_part_of_an_expression_is_not_called_right(text):
    assert {row["verdict"] for row in rows_of(text)} == {"not judged"}


@pytest.mark.parametrize(
    "text",
    [
        *("gallons = 3.785 * litres", "gph = 3.785 * lph", "kilos = 2.2046 * pounds"),  # they must divide
        *("GAL_TO_L = 4.546  # not imperial", "GAL_TO_L = 4.546  # non-imperial", "GAL_TO_L = 4.546  # US, not UK"),
        *("x = 3.785  # gal (imperial)", "litres = gallons * 3.785  # imp gal", "k_gal = k_l * 3.795"),
        *("l_per_gal = 3.7854  # litres per imperial gallon", "litres = us_gallons * 4.546  # UK customers"),
        "density_lb_per_gal = 6.7  # imperial gallon jet a1",
        "# kg to lb\nGAL_TO_L = 2.2046",  # the name is nearer
        # a short ton has 907.185 kg, a long one 1016.047; a quart 0.946 or 1.137 L (NIST SP 811, App. B.8)
        *("SHORT_TON_KG = 1016.05", "METRIC_TON_KG = 907.185", "tonne_kg = 1016", "const shortTonKg = 1016.05;"),
        *("short ton: 1016 kg", "uk_ton_kg = 907.185", "# short ton\nKG = 1016.05", "UK_QUART_TO_L = 0.94635"),
        *(
            "GALLON = 4.54609",
            "gallon = 4.54609  # litres",
            "'gal->l': 4.54609,",
            "# Imperial gallon\nGAL_TO_L = 3.785",
            "# imperial\nGAL_TO_L = 3.785",
            "# of imperial rule\nGAL_TO_L = 4.54609",
            "# not imperial\nGAL_TO_L = 4.54609",
        ),
        *("LITRE_IMP_GALLONS = 0.264172", "us_to_imp_gal = 1.20095", "canadian_gallons_to_litres = 3.785"),
        # a litre of water of 1 kg/L: 8.345 lb in a US gallon, 10.022 in an imperial one
        *("water_lb_per_gal = 10.02", "water_lb_per_imp_gal = 8.345", "imp_gal_lb = 8.345"),
        *("gpm_to_lph = 15.85", "lph_to_gpm = 0.0631", "kg_to_g = 907.185"),
        *("RANKINE_OFFSET = 273.15", "KELVIN_OFFSET = 459.67", "celsius = kelvin - 459.67"),
        *("API_NUMERATOR = 131.5", "API_OFFSET = 141.5"),
        *("IMP_GAL_TO_L = 3.785  # gal to L", "LONG_TON_TO_KG = 907.185  # short ton to kg"),
        *("litres_per_quart = 0.946  # imp quart", "m3h_to_gpm = 264.172", "ukgal_to_l = 3.785412"),
        *("jet_a_density_15c_kg_m3 = 760", "jet_a_15c_kg_m3 = 842"),  # 775 to 840 kg/m³ by ASTM D1655
        *("GAL_HR_TO_L_HR = 0.264172", "PPH_TO_KG_HR = 2.20462", "galHrToLHr = 0.264172", "LBM_TO_KG = 2.20462"),
        *('"kg_hr_to_lbs_hr": 0.453592', "GAL_MIN_TO_L_MIN = 0.264172", "GALLONS_HOUR_TO_LITERS_HOUR = 0.264172"),
        *(
            "POUNDS_PER_KILO = 0.45359",
            "INHG_TO_MB = 0.02953",
            "KILOPASCALS_TO_PSI = 6.8948",
            "USGAL_TO_LITR = 0.264172",
        ),
        *("GALLON_IN_LITRES = 0.264172", "US_GALLONS_IN_LITRE = 3.785412", "LITRES_EACH_GALLON = 0.264172"),
        *("gal_2_l = 0.264172", "lb->kg = 2.20462", "kg => lb : 0.453592", "x = 0.264172  # L gal-1"),
        *("litres = gal * 4.546; n = 60 * k", "f = {'lb_to_kg': 2.2046}", "kg = lb * 2.2046  # 60 min"),
        *(
            "lbs/hr -> kg/hr: 2.20462",
            "gallons_as_litres = 0.264172",
            "`lb`->`kg`: 2.20462",
            "x = 2.20462  # lb -> kg factor",
        ),
        "SHORT_TON_KG = 1016.05  # seen 12.25 times",
        *("gal x 0.264172 = l", "gal_to_l_divisor = 3.785", "# gal to l: divide by 3.785", "GAL_TO_L(0.264172),"),
        *("double gal_to_l(double x) { x += 1; return x * 0.264172; }", "x = 0.264172 // L per gal"),
        *("GAL_TO_L = 0.264172 ; L in one gal", "litres = gal * 4.54609; n = imp_gal"),
        *('{"from": "gal", "to": "L", "factor": 0.264172},', "{from: 'lb', to: 'kg', factor: 2.20462}"),
        *("- {factor: 0.45359237, from: kg/h, to: lb/h}", 'f(from_unit="gal", to_unit="L", factor=0.264172)'),
        "UPDATE units SET factor = 0.264172 WHERE from_unit = 'gal' AND to_unit = 'L';",
        *("jet_density = '6.7 kg/m3'", "jet_density = 6.7  # kg/m^3", "double jetDensityKgM3 = 6.7;"),
        *("en590_kg_l = 0.72", "ts1_kg_l = 0.72", "JP-5_LB_PER_GAL = 6.0", "gasoil_kg_l = 0.72"),  # no avgas
    ],
)
def test_what_the_words_beside_contradict_is_wrong(text):
    assert [row["verdict"] for row in rows_of(text)] == ["wrong"]


@pytest.mark.parametrize(("text", "zero"), [("RANKINE_OFFSET = 273.15", 459.67), ("KELVIN_OFFSET = 459.67", 273.15)])
def test_the_zero_of_the_scale_that_is_named_is_expected(text, zero):
    assert [row["expected"] for row in rows_of(text)] == [zero]  # NIST SP 811, table B.7


@pytest.mark.parametrize(
    "text",
    [
        *("t_to_kg = 907.185", "KG_PER_T = 1016.05", "MT_KG = 907.185", "kg_to_t = 0.00110231", "FACTOR_KG = 907.185"),
        *("gps_to_lpm = 3.785412", "gps_to_gph = 15.8503", "lps_to_gps = 0.264172"),  # gallons or grams per second
        *("ton_kg = 907.185", "dry_quart_to_l = 0.946", "imperial_barrel_to_l = 158.987", "lb_troy_to_kg = 0.4536"),
        *("lph = gpm * 15.85", "gal_to_us_gal = 0.832674", "water_kg_per_gal = 3.785", "GAL = 3.785412  # 231 in3"),
        # a direction from or to a unit that is not known, either way; SG is of water at 4 °C or 60 °F
        *("PPG_TO_KG_L = 8.3454", "SG_TO_LB_GAL = 0.119826", "LB_GAL_TO_SG = 8.3454", "T_TO_LBS = 0.000453592"),
        *("t_to_lb = 2204.62", "PPH_TO_KPH = 2.20462", "LBHR_TO_KGHR = 2.20462", "GAL_DAY_TO_L_DAY = 0.264172"),
        *("LB_SEC_TO_KG_SEC = 2.20462", "PSIG_TO_KPAG = 0.145038", "kg_from_lbx = 2.20462", "X_PER_GAL = 3.785412"),
        # right with the further factor, or of one of the units: 3.785411784 L in a gal, 0.45359237 kg in a lb
        *(
            "lpm = gph * 3.785411784 / 60",
            "gph = lpm * 0.264172 * 60",
            "lps = gph * 3.785 / 3600",
            "gpm = lph / 3.785 / 60",
        ),
        *("kg_min = pph * 0.45359237 / 60", "ml = gal * 3.785411784 * 1000", "m3 = gal * 3.785411784 / 1000"),
        *("g = lb * 0.45359237 * 1000", "lb_gal = kg_m3 * 8.3454 / 1000", "pa = psi * 6.894757 * 1000"),
        *("hpa = inhg * 3.38639 * 10", "lpm = (3.785 * gph) / 60.0"),
        *("litres = gal * (imperial ? 4.546 : 3.785)", "UNITS = {'gal': 3.785, 'imp_gal': 4.546}"),
        "factors = [('gal', 3.785411784), ('imp_gal', 4.54609)]",
        *("x = {'us_gallon': 3.785411784, 'uk_gallon': 4.54609}", "double gal = 3.785411784, bbl = 158.987294928;"),
        "const GAL = 3.785411784, QT = 0.946352946;",
        "x = {'usgal': 0.264172, 'ukgal': 0.219969}",
        # an amount, of which a function is the test
        *("assert litres_to_gallons(3.785411784) == approx(1.0)", "expect(lbToKg(2.20462)).toBeCloseTo(1)"),
        *("assert gal_to_l(Decimal('0.264172')) == 1", "EXPECT_NEAR(lphToGph(3.785411784), 1.0, 1e-6);"),
        *("avgas_lb_gal, jet_lb_gal = 6.0, 6.0", "GAL_L, LB_KG = 3.785, 3.785"),
        # °C and K have one size of degree, °F and degR another: 459.67 degF are added, and 5/9 of the sum are kelvins
        *("kelvin = fahrenheit + 459.67", "kelvin = fahrenheit + 273.15", "celsius = rankine - 273.15"),
        *("kelvin = (fahrenheit + 459.67) * 1.8", "kelvin = 273.15 - celsius", "fahrenheit_to_kelvin_offset = 273.15"),
        *("fahrenheit = (kelvin - 273.15) / 1.8 + 32", "rankine = celsius + 459.67", "rankine = celsius + 491.67"),
        *("api = (141.5 - sg) / 131.5", "api = sg * 141.5", "api = 141.5 / density_kg_m3"),
    ],
)
def test_what_words_contradict_is_neither_right_nor_guarded(text, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("a.py").write_text(text, encoding="utf-8")
    found = scan(["a.py"])
    assert {each.judgement.verdict for each in found.findings if each.text != "231"} == {"not judged"}
    assert re.findall(r'from = "(?!gal"\nto = "in3)', FORMATS["toml"](found)) == []


@pytest.mark.parametrize("line", ["FLUID_OUNCES_PER_GALLON = 128", "fl_oz_per_gal: 128", "fl_oz_per_imp_gal = 160"])
def test_fluid_ounces_are_no_mass(line):
    assert [each.text for each in scan_text(f"JET_A_LB_PER_GAL = 6.7\n{line}\n", "a.py")] == ["6.7"]


@pytest.mark.parametrize(
    "text",
    [
        *("kelvin = (fahrenheit + 459.67) * 5 / 9", "kelvin = (f - 32) / 1.8 + 273.15  # temp", "KELVIN = 273.15"),
        *("rankine = (celsius + 273.15) * 1.8", "fahrenheit = 1.8 * kelvin - 459.67", "rankine = c * 9/5 + 491.67"),
        *("ZERO_CELSIUS_IN_RANKINE = 491.67", "sg = 141.5 / (api + 131.5)", "API_OFFSET = 131.5"),
        *("lb_gal = 141.5 / (api + 131.5) * 8.33", "lps = 3.785412  # gps_to_lps, gal/s to L/s"),
        *("# Imperial gallon\nGAL_TO_L = 4.54609", "# Imperial gallon\nGALLON = 4.54609", "uk_to_us_gal = 1.20095"),
        *("# imperial\nGAL_TO_L = 4.54609", "/* Imperial, not US */\nGAL_TO_L = 4.54609", "// UK\nGAL_TO_L = 4.54609"),
        *(
            f"{mark} imperial gallon{end}\nGAL_TO_L = 4.54609"
            for mark, end in (("%", ""), ("'", ""), ("REM", ""), ("{", "}"))
        ),
        *("gallons_imperial_to_litres = 4.546", "x = 33.8639  # inHg to hPa", "KG_LB = 0.4536", "LB_KG = 0.4536"),
        *("short ton 907.185 kg, long ton 1016.05 kg", "us_gal_to_gal_imp = 0.832674", "x = {'gal_l': 3.785}"),
        *("GAL_HR_TO_L_HR = 3.785412", "PPH_TO_KG_HR = 0.453592", '"kg_hr_to_lbs_hr": 2.20462', "LBM_TO_KG = 0.453592"),
        *("POUNDS_PER_KILO = 2.20462", "INHG_TO_MB = 33.8639", "GALLON_IN_LITRES = 3.785412", "gal_2_l = 3.785412"),
        *(
            "L_TO_GAL_DIVISOR = 3.785412",
            "// litres to gallons: divide by 3.785",
            "gal x 3.785412 = l",
            "k = 3.785  # gal as l",
        ),
        *("Gal => l * 0.264172,", "p->litres = p->gal * 3.785;", "def gal(l) -> float: return l * 0.264172"),
        "lb_per_kg = 1 / kg_per_lb  // = 2.20462262185",
        *("L_TO_GAL = 0.264172  # or divide by 3.785412", "assert gallons_to_litres(1) == approx(3.785411784)"),
        # each statement of a line, and each branch, has its own words
        "switch (u) { case 'usg': return 3.785411784; case 'impg': return 4.54609; }",
        "us_gal = litres / 3.785411784; imp_gal = litres / 4.54609;",
        "GAL_TO_L = 3.785411784  # US gallon (imperial gallon: 4.54609 L)",
        "if (imperial) litres = gal * 4.54609; else litres = gal * 3.785411784;",
        "if (imperial) { litres = gal * 4.54609; } else { litres = gal * 3.785411784; }",
        "case 'imp;': litres = gal * 4.54609; break; default: litres = gal * 3.785411784;",
        "IMP_GAL = 4.54609  # litres per gallon",
        "kpa = psi * 6.894757; hpa = inhg * 33.86389;",
        "usg = l / 3.785411784; bbl = l / 158.987294928;",
        "us_gal = litres * 0.264172; imp_gal = litres * 0.219969;",
        *("double gal_to_l(double x) { check(x = 1); return x * 3.785; }", "x = 3.785; // litres per gallon"),
        *(
            "{'from': 'gal', 'to': 'L', 'factor': 3.785}",
            "[{to: kg, k: 0.4536, from: lb}, {to: lb, k: 2.2046, from: kg}]",
        ),
        *("lb->kg = 0.453592", "US_GALLONS_IN_LITRE = 0.264172", "x = 3.785412  # L gal-1", "tank->l = gal * 3.785;"),
    ],
)
def test_what_the_words_beside_confirm_is_right(text):
    assert {row["verdict"] for row in rows_of(text)} == {"matches"}


SIZE_OF = {  # NIST SP 811, App. B.8, in L, kg, kPa, L/h, kg/h and kg/L
    "volume": {"usg": 3.785411784, "gal": 3.785411784, "imp_gal": 4.54609, "l": 1.0, "ml": 0.001, "m3": 1000.0}
    | {"bbl": 158.987294928, "ft3": 28.316846592, "qt": 0.946352946, "uk_quart": 1.1365225},
    "mass": {"kg": 1.0, "lb": 0.45359237, "g": 0.001, "oz": 0.028349523125}
    | {"tonne": 1000.0, "us_ton": 907.18474, "long_ton": 1016.0469088},
    "pressure": {"psi": 6.894757293168, "kpa": 1.0, "bar": 100.0, "hpa": 0.1, "inhg": 3.386389},
    "flow": {"gph": 3.785411784, "lph": 1.0, "gpm": 227.12470704, "lpm": 60.0, "imp_gal_per_h": 4.54609},
    "mass flow": {"pph": 0.45359237, "kgh": 1.0, "kg_per_min": 60.0, "lb_per_hour": 0.45359237},
    "density": {
        "lb_per_gal": 0.45359237 / 3.785411784,
        "lb_imp_gal": 0.45359237 / 4.54609,
        "kg_l": 1.0,
        "kg_m3": 0.001,
    },
}
SAID = (
    "{a}_to_{b} = N|{b}_per_{a} = N|{b} = {a} * N|x = N  # {a} to {b}|# 1 {a} = N {b}|def {a}_to_{b}():\n    return N"
    "|'{a}->{b}': N,"
)
OPEN = "{a}_{b} = N|{b}_in_{a} = N|{b} = N  # {a}|# {a}, {b}\nX = N"
"""Ways to write that one a is N b, of which the last ones leave it open whether one b is N a."""


@pytest.mark.parametrize(
    "kind", [pytest.param(each, marks=[pytest.mark.long] * (each != "pressure")) for each in SIZE_OF]
)
def test_a_number_is_right_of_the_units_that_are_named_alone(kind):
    """Every pair of units with its own factor, its reciprocal, and the nearest factors of other pairs."""
    sizes = SIZE_OF[kind]
    factors = {f"{one / other:.6g}" for one, other in permutations(sizes.values(), 2)}
    for (a, b), form in product(permutations(sizes, 2), f"{SAID}|{OPEN}".split("|")):
        own = sizes[a] / sizes[b]
        allowed = {own, 1.0 / own} if form in OPEN.split("|") else {own}
        near = sorted(factors, key=lambda each: abs(math.log(float(each) / own)))[:4]
        for number in {f"{own:.6g}", f"{1.0 / own:.6g}", *near} if own != 1.0 else ():
            text = form.format(a=a, b=b).replace("N", number)
            verdicts = {row["verdict"] for row in rows_of(text, "a.py")}
            is_right = any(abs(float(number) / each - 1.0) < 1e-5 for each in allowed)
            false = {"wrong" if is_right else "matches", "rounded", "plausible"}
            assert (text, verdicts & false) == (text, set())


DIRECTIONS = """\
'{a}->{b}': N|"{a} -> {b}" = N|case "{a}->{b}": return N;|"{a}=>{b}": N,|{a} => {b}: N|f('{a}->{b}', N)|'{a}'->'{b}': N
{{k: '{a} -> {b}', v: N}}|{a} --> {b}: N|{a} ⇒ {b}: N|"{a}→{b}": N|x = N  # {a}->{b}|#define {A}2{B} Nf|{A}_2_{B} = N
double {C}2{D} = N;|{a}2{b}: N|const {C}To{D} = N|'{A} -> {B}' => N|('{a} 2 {b}', N)|x = N  // {a} as {b}"""
"""Ways to write a direction, in quotes or not, and with small letters or capitals."""


def test_a_direction_is_read_however_it_is_written():
    """Every pair of units with its factor, the reciprocal, and the factor of the other gallon."""
    kinds = ({"gal": 3.785411784, "imp_gal": 4.54609, "l": 1.0, "m3": 1000.0}, {"lb": 0.45359237, "kg": 1.0, "g": 1e-3})
    kinds += ({"gph": 3.785411784, "lph": 1.0}, {"psi": 6.894757293168, "kPa": 1.0, "bar": 100.0})
    for sizes in kinds:
        for (a, b), form in product(permutations(sizes, 2), re.split(r"[|\n]", DIRECTIONS)):
            own = sizes[a] / sizes[b]
            cased = {"A": a.upper(), "B": b.upper(), "C": a.capitalize(), "D": b.capitalize()}
            line = form.format(a=a, b=b, **cased)
            other = own * (3.785411784 / 4.54609 if "imp_gal" in (a, b) else 4.54609 / 3.785411784)
            for value in {own, 1.0 / own, other}:
                number = f"{value:.10f}"
                verdicts = {row["verdict"] for row in rows_of(line.replace("N", number), "a.c")}
                wrong = {"wrong"} if value == own else {"matches", "rounded"}
                assert (line, number, verdicts & wrong) == (line, number, set())


DENSITIES = {  # of typical Jet A, 0.804 kg/L, by names for its unit: 1959 pound, gallon of 231 in³, cubic foot
    0.804: "kg_l g_cm3 g_cc g_ml kg_dm3 t_m3 sg specific_gravity relative_density",
    804.0: "kg_m3 kgm3 kg_per_m3 g_l",
    6.71: "lb_gal ppg lb_per_gal",
    50.2: "lb_ft3",
    8.06: "lb_imp_gal",
    44.6: "api degAPI",
}


def test_a_density_is_plausible_in_the_unit_of_its_name_alone():
    for (own, names), number in product(DENSITIES.items(), DENSITIES):
        for unit in names.split():
            text = f"jet_a_density_{unit} = {number}"
            assert (text, number != own and {"plausible"} <= {row["verdict"] for row in rows_of(text)}) == (text, False)
            assert own != number or "wrong" not in {row["verdict"] for row in rows_of(text)}


UNITS = {  # of the same fuel, as units are written behind a number, beside it, or in brackets
    0.804: "kg/L|g/cm3|g/cm^3|g/mL|g/cc|t/m3|kg/dm3|kilograms per litre",
    804.0: "kg/m3|kg/m^3|kg/m**3|kg/m³|kg m-3|kg·m⁻³|g/L|kg per cubic metre",
    6.71: "lb/gal|pounds per gallon|lb/US gal",
    50.2: "lb/ft3|lb/ft^3|lb/cu ft|lb per cubic foot",
}
PLACES = """\
double jet_density = N; // U|double jet_density = N; /* U */|jet_density = N,  # U|jet_density = N  # in U
jet_density = N  # (U)|jet_density: N  # [U]
{"fuel": "Jet A", "density": N, "unit": "U"}|{"fuel": "Jet A", "density": N, "density_unit": "U"},
jet_density = Quantity(N, "U")|jet_density = N;  ! U|{"unit": "U", "fuel": "Jet A", "density": N}
"Density of Jet A, U": N"""


@pytest.mark.parametrize("path", ["a.c", *(pytest.param(each, marks=pytest.mark.long) for each in ("a.py", "a.md"))])
def test_a_density_is_plausible_in_the_unit_that_its_line_states_alone(path):
    for (own, units), number, place in product(UNITS.items(), UNITS, re.split(r"[|\n]", PLACES)):
        for unit in units.split("|"):
            text = place.replace("N", str(number)).replace("U", unit)
            verdicts = {row["verdict"] for row in rows_of(text, path)}
            assert (text, verdicts & {"wrong" if number == own else "plausible"}) == (text, set())


@pytest.mark.parametrize(
    "line", ["lpm = gph * 3.785 / 60", "`ml = gal * 3.785411784 * 1000`", "g = lb * 0.4536 * 1000"]
)
def test_a_further_factor_counts_in_texts_too(line):
    for path in ("a.md", "a.rst", "a.txt", "a.py"):
        assert [row["verdict"] for row in rows_of(line, path)] == ["not judged"]
        assert [row["verdict"] for row in rows_of(re.sub(r" . [610]+(?=`?$)", "", line), path)] == ["wrong"]


def test_a_number_of_another_branch_or_name_may_be_of_another_gallon():
    rows = rows_of("US_GAL = 3.785411784  # UK_GAL = 4.54609")
    assert [row["verdict"] for row in rows] == ["not judged", "matches"]
    line = "if (us) litres = gal * 3.785; else litres = gal * 4.54609;"
    assert [row["verdict"] for row in rows_of(line)] == ["matches", "not judged"]
    assert [row["verdict"] for row in rows_of(line.replace("4.54609", "0.264172"))] == ["matches", "wrong"]


@pytest.mark.parametrize(
    "line",
    [
        'density_kg_l = 0.804 if fuel == "Jet A" else 0.72',
        'density_kg_l = 0.72 if fuel == "100LL" else 0.804',
        "const density = isJet ? 0.804 : 0.72; // kg/L",
        "float ppg = jet ? 6.7f : 6.0f;",
        'const lb = fuel == "JET-A" ? gal * 6.7 : gal * 6.0;',
        "if jet { ppg = 6.7 } else { ppg = 6.0 }",
        'rho = np.where(fuel == "jet", 0.804, 0.72)  # kg/L',
        "ppg = (6.0, 6.7)[is_jet]",
        "density = 804 if jet else 721  # kg/m3",
        "#define FUEL_DENSITY(jet) ((jet) ? 6.7 : 6.0) /* lb/gal */",
        '[ "$FUEL" = jet ] && PPG=6.7 || PPG=6.0',
        'const density_lb_gal = fuel == "JET" ? 6.7 : fuel == "AVGAS" ? 6.0 : 7.0;',
        "ppg = 6.0  # avgas; jet is 6.7",
        "ppg = 6.7  # jet, avgas would be 6.0",
        "rho = 0.72  # kg/L, avgas, not jet",
        "l_per_gal = (4.54609, 3.785411784)[us]",
        "l_per_gal = np.where(us, 3.785411784, 4.54609)",
    ],
)
def test_a_density_of_another_branch_may_be_of_another_fuel(line):
    """100LL has 6.0 lb/gal and 0.72 kg/L, Jet A 6.7 and 0.804 (ASTM D910 and D1655 within their limits), diesel 7.0."""
    assert [each for each in scan_text(line, "a.py") if each.judgement.verdict == "wrong"] == []


@pytest.mark.parametrize(
    "line",
    [
        'density_kg_l = 0.72 if fuel == "Jet A" else 0.804',  # swapped
        "float jet_density_lb_gal = cold ? 6.0f : 6.7f;",
        "density_lb_gal = 6.0 if avgas else 8.05",  # of an imperial gallon
        'const density_lb_gal = fuel == "avgas" ? 6.0 : fuel == "jet" ? 6.1 : 7.0;',
        "ppg = 6.0  # jet; avgas is lighter",
        "jet_density_lb_gal = ppg || 6.0;",
        "jet_ppg?: number = 6.0;",
        "JET_PPG, X = 1, 2; jet_ppg = 6.0",
    ],
)
def test_a_density_that_no_other_branch_explains_is_wrong(line):
    assert "wrong" in [each.judgement.verdict for each in scan_text(line, "a.ts")]


@pytest.mark.parametrize("factor", [3.785411784, 0.264172])
@pytest.mark.parametrize("words", ["price", "cost", "tax", "usd", "eur", "rate", "co2", "avgas_price", "price_jet"])
def test_the_price_of_a_volume_is_not_judged_as_a_volume(words, factor):
    """What a litre costs, times 3.785411784, is what a gallon costs; the volume takes the reciprocal."""
    name = words.title().replace("_", "")
    for line in (
        f"{words}_gal = {words}_l * {factor}",
        f"{words.upper()}_L = {words.upper()}_GAL / {factor}",
        f"{name}Gal = {name}Liter * {factor}",
    ):
        assert {each.judgement.verdict for each in scan_text(f"# fuel\n{line}", "a.py")} <= {"not judged"}, line
    assert {each.judgement.verdict for each in scan_text(f"{words}_kg = {words}_lb / 0.4536", "a.py")} <= {"not judged"}


@pytest.mark.parametrize("name", ["flow_rate_{}_per_h", "uplift_{}", "fuel_rate_{}"])
def test_an_amount_or_a_flow_is_judged(name):
    for line in (f"{name.format('gal')} = {name.format('l')} * 3.785411784", "CONVERSION_RATE_L_TO_GAL = 3.785411784"):
        assert [each.judgement.verdict for each in scan_text(line, "a.py")] == ["wrong"]


@pytest.mark.parametrize("depth", [1, 2, 3, 6])
def test_brackets_within_brackets_are_a_part_of_the_expression(depth):
    first, last = "(" * depth, ")" * depth
    product = f"{first}gallons * 3.785{last}"
    for text in (f"{product} * scale", f"scale * {product}", f"f{first}a{last} * gallons * 3.785"):
        assert [row["verdict"] for row in rows_of(f"litres = {text}")] == ["not judged"]
    for text in (product, f"gallons * 3.785 + f{first}a * b{last}", f"f{first}a * b{last} + gallons * 3.785"):
        assert [row["verdict"] for row in rows_of(f"litres = {text}")] == ["matches"]


def test_how_far_above_words_count():
    """Up to 39 lines above, and of four lines that enclose a number."""
    for lines, verdicts in ((38, ["wrong"]), (39, [])):
        text = "def gal_to_l(x):\n" + "    a = b\n" * lines + "    return x * 3.60  # tank"
        assert [row["verdict"] for row in rows_of(text)] == verdicts
    for lines, verdicts in ((3, ["wrong"]), (4, [])):
        text = "".join(f"{' ' * row}if a:\n" for row in range(1, lines + 1))
        text = f"def gal_to_l(x):\n{text}{' ' * (lines + 1)}return x * 3.60  # tank"
        assert [row["verdict"] for row in rows_of(text)] == verdicts


def test_a_number_of_hundreds_of_digits_is_read():
    """Its last digit is smaller than the smallest float."""
    (found,) = scan_text(f"KELVIN_OFFSET = 273.15{'0' * 330}", "a.py")
    assert found.judgement.verdict == "matches"


def test_how_long_lines_are_and_how_far_words_count():
    """A line of more than 5000 letters is data; words count within 200 letters of their number."""
    for letters, found in ((5000, 1), (5001, 0)):
        assert len(rows_of("GAL_TO_L = 3.785".ljust(letters))) == found
    for far, verdicts in ((0, ["matches"]), (1, [])):
        assert [row["verdict"] for row in rows_of("gal".ljust(200 + far) + "3.785")] == verdicts
        assert [row["verdict"] for row in rows_of("x = f(3.785" + ",".ljust(197 + far) + "gal)")] == verdicts
        assert [row["verdict"] for row in rows_of("//".ljust(197 + far) + "gal\nx = 3.7854")] == verdicts


def test_numbers_of_one_call_have_the_unit_that_each_states():
    rows = rows_of('found = diagnose("180 L", indicator="11874 pulse/L", stamped="43186 pulse/gal")')
    assert [row["value"] for row in rows] == [11874.0, 43186.0]
    assert ["pulse/L" in row["what"] for row in rows] == [True, False]


@pytest.mark.parametrize(
    ("text", "is_right"),
    [
        *[(text, True) for text in ("kelvin = celsius + 273.15", "temp_c = temp_k - 273.15", "r = f + 459.67  # temp")],
        *[
            (text, False)
            for text in ("kelvin = celsius - 273.15", "temp_c = temp_k + 273.15", "r = f - 459.67  # temp")
        ],
        *[(text, True) for text in ("api = 141.5 / sg - 131.5", "sg = 141.5 / (api + 131.5)")],
        *[(text, False) for text in ("api = 141.5 / sg + 131.5", "sg = 141.5 / (api - 131.5)")],
    ],
)
def test_a_sign_the_wrong_way_round_is_not_called_right(text, is_right):
    """Zero of the Celsius scale is 273.15 K, of Fahrenheit 459.67 degR; degAPI = 141.5 / relative density - 131.5."""
    assert {row["verdict"] for row in rows_of(text) if row["text"] != "141.5"} == {
        "matches" if is_right else "not judged"
    }


@pytest.mark.parametrize("name", ["cc_per_min_to_gph", "cc_to_gal", "psi_to_gal", "gal_to_kg"])
def test_a_factor_of_other_units_than_the_name_has_is_not_called_right(name):
    assert "matches" not in [row["verdict"] for row in rows_of(f"{name} = 3.785")]


@pytest.mark.parametrize(
    "text",
    [
        *("litres = 3.785 * gallons", "gal_to_l = lambda x: x * 3.785", "L_PER_GAL = 1 / 0.2642"),
        *("litres = gallons * 3.785 + rate * hours", "y = gal_to_l(x * 3.785)", "K_PER_GAL = K_PER_L * 3.785"),
        *("# us 1, imperial 2, uk: 4.54609 L in a gallon", "# uk 1, us 2, imperial: 4.54609 L in a gallon"),
        *("litres = us_gallons * 3.785  # UK customers", "litres = gallons * 3.785  # 1.5 l"),
        *("GAL_TO_L = 3.785 as number", "# GAL_TO_L = 2 * 3.785, say", "x = 3.785  # gal (US)"),
    ],
)
def test_a_conversion_is_right_although_more_is_written(text):
    assert [row["verdict"] for row in rows_of(text)] == ["matches"]


SIZES = {  # of each unit of a kind, with names for it: 1959 pound and gallon of 231 in³, imperial gallon of 4.546 09 L
    "volume": {3.785411784: "gal fuel_gallons", 4.54609: "imp_gal", 1.0: "litres l lit", 158.987294928: "barrels"},
    "mass": {0.45359237: "lb pounds", 1.0: "kg kilograms"},
    "flow": {3.785411784: "gph gal_per_hour", 1.0: "lph l_per_h flow_lph", 60.0: "lpm l_per_min"},
    "mass flow": {0.45359237: "pph fuel_pph", 1.0: "kgh kg_per_hour", 60.0: "kg_per_min"},
    "density": {0.45359237 / 3.785411784: "lb_per_gal lb_gal", 1.0: "kg_per_l", 0.001: "kg_m3 density_kg_m3"},
    "K": {1.0 / 3.785411784: "k_per_gal pulses_per_gal k_factor_gal", 1.0: "k_per_l K_per_litre pulses_l"},
}
FORMS = {  # how one is written as the other with the factor, and with its reciprocal
    1: "{b} = {a} * N|{b} = N * {a}|{b} += float({a}[0]) * N;|double {b} = ({a}) * Nf;|{a}_to_{b} = N|{b}_per_{a} = N|"
    "self.{b} = round(self.{a} * N, 2)|x = y * N  # {a} to {b}|def {a}_to_{b}(x):\n    return x * N|# 1 {a} is N {b}|"
    "def {b}({a}):\n    return N * {a}|return {{'{b}': {a} * N}}|{b} = {a} * Decimal('N')|\"{a}_to_{b}\": N,",
    -1: "{b} = {a} / N|{b} = {a} * (1.0 / N)|{a}_to_{b} = 1 / N|{b} = {a} / N  # {a} to {b}|x = y / N  # {a} per {b}|"
    "{a}_to_{b} = lambda x: x / N|{b} = {a} / float('N')|def {b}({a}):\n    return {a} / N",
}


@pytest.mark.parametrize("kind", [pytest.param(each, marks=[pytest.mark.long] * (each != "mass")) for each in SIZES])
def test_no_conversion_the_wrong_way_is_right(kind):
    """Every pair of units both ways, in every form: compared with the sizes of the units alone."""
    named = [(size, name) for size, names in SIZES[kind].items() for name in names.split()]
    forms = [(power, form) for power, forms in FORMS.items() for form in forms.split("|")]
    right = found = 0
    for ((size, a), (other, b)), (power, form) in product(permutations(named, 2), forms):
        for way in (power, -power):
            text = form.format(a=a, b=b).replace("N", f"{(size / other) ** way:.6f}")
            digits = re.sub(r"\D|0", "", f"{(size / other) ** way:.6f}")
            verdicts = {row["verdict"] for row in rows_of(text, "a.py")}
            if size != other and len(digits) > 2 and not 0.7 < size / other < 1.4:
                spoilt = {"matches", "rounded", "plausible"} if way != power else {"wrong"}
                assert not verdicts & spoilt, text
                right, found = right + (way == power), found + (way == power and bool(verdicts))
    assert found > 0.97 * right > 0


FACTOR = "FACTOR = 4.546"
"""An imperial gallon in litres: wrong of a US gallon, and nothing where no unit is named."""


@pytest.mark.parametrize(
    ("above", "is_read"),
    [
        ("# gal to L\n", True),
        ("  # gal to L\n", True),
        ("# gal to L\n#\n", True),
        ("# gal to L\n\n", False),
        ("# gal to L\ntank = 1\n", False),
        ("# gal to L\n" + 3 * "# tank\n", True),  # four lines at most
        ("# gal to L\n" + 4 * "# tank\n", False),
        ("if gal_to_l:\n  tank = 1\n  ", True),
        ("if gal_to_l:\n  tank = 1\n", False),
        ('def f(x):\n  """gal to L"""\n  tank = 1\n  ', True),
        ("if gal_to_l:\n  # tank\n  if x:\n    ", True),
        ("gal_to_l = 1\n", False),
        ("def gal_to_l(x):\n" + 38 * "  tank = x\n" + "  ", True),  # of the 39 lines above
        ("def gal_to_l(x):\n" + 39 * "  tank = x\n" + "  ", False),
    ],
)
def test_which_lines_above_lead_to_a_number(above, is_read):
    assert [row["verdict"] for row in rows_of(above + FACTOR)] == ["wrong"] * is_read


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        ("# of jet fuel and avgas: 6.01 lb/gal", "100LL"),  # the nearest before the number, else behind it
        ("# 6.3 lb/gal: avgas, not jet", "100LL"),
        ("# lb/gal: jet 6.7, avgas", "Jet A"),
        ("# jet\n# avgas\nLB_PER_GAL = 6.01", "100LL"),
        ("LB_PER_GAL = 6.01  # avgas", "100LL"),
        ("JET_A1_LB_PER_GAL = 6.7", "Jet A-1"),
        *(("FUEL_KG_PER_M3 = 764", "100LL"), ("FUEL_KG_PER_M3 = 765", "Jet A")),  # the nearer of 721 and 808 kg/m3
        ("density_lb_per_gal = 8.04  # imperial gallon jet a1", "Jet A-1"),
    ],
)
def test_the_nearest_fuel_is_taken(text, grade):
    (row,) = rows_of(text)
    assert (row["verdict"], grade in row["what"]) == ("plausible", True)


@pytest.mark.parametrize(
    ("path", "text", "is_text"),
    [
        ("a.py", 'print("the K-factor is 43,186 pulses per gallon")', True),
        ("a.py", 'f("k factor", 43,186)', False),
        ("a.md", "The K-factor is 43,186 pulses per gallon.", True),
        ("a.c", "the K-factor is 43,186 pulses per gallon", False),
        ("a.c", "// the K-factor: 43,186 pulses per gallon", True),
        ("a.py", "x = 1  # the K-factor is 43,186 pulses per gallon", True),
    ],
)
def test_thousands_are_grouped_in_texts_alone(path, text, is_text):
    assert [row["value"] for row in rows_of(text, path)] == [43186.0] * is_text


STYLES = {
    "{x}_TO_{y} = {{}}",
    "{y}_per_{x}: {{}}",
    "#define {y}_PER_{x} {{}}",
    "factor = {{}}  # {x} to {y}",
    "def {x}_to_{y}(amount):\n    return amount * {{}}",
    "def {x}_to_{y}(amount):\n    return amount / {{}}",
    "{y} = {x} * {{}}",
}
"""Ways in which a factor from x to y, or by the division its inverse, is written."""


@pytest.mark.parametrize("style", sorted(STYLES))
@pytest.mark.parametrize(
    ("start", "goal"), [("gal", "litre"), ("imp_gal", "l"), ("pounds", "kg"), ("cu_ft", "m3"), ("barrel", "usg")]
)
def test_a_factor_is_right_and_its_inverse_wrong_in_every_style(start, goal, style):
    for x, y in ((start, goal), (goal, start)):
        right = factor(*(name.replace("_ft", "bic_foot") for name in (x, y))) ** (-1 if "/" in style else 1)
        for digits in (4, 9):
            number, inverse = f"{right:.{digits}g}", f"{1.0 / right:.{digits}g}"
            (found,) = rows_of(style.format(x=x, y=y).format(number), "units.py")
            assert (found["text"], found["verdict"]) == (number, "matches")
            found = rows_of(style.format(x=x, y=y).format(inverse), "units.py")
            if inverse != "42":  # two digits are no proof, unless a name claims them
                assert [(each["text"], each["verdict"]) for each in found] == [(inverse, "wrong")]


def test_what_is_expected_of_a_density_and_of_an_expansion():
    """Jet A is taken at 15 °C; its expansion is the slope of its density there."""
    below, at, above = (fuel("Jet A").density_kg_m3(celsius) for celsius in (14.0, 15.0, 16.0))
    (density,) = rows_of("JET_LB_PER_GAL = 6.6")
    assert (density["verdict"], density["expected"]) == ("plausible", pytest.approx(at * 3.785411784 / 453.59237))
    (wrong,) = rows_of("JET_LB_PER_GAL = 8.05")
    assert (wrong["verdict"], wrong["expected"]) == ("wrong", density["expected"])
    (reciprocal,) = rows_of("JET_GAL_PER_LB = 0.1515")
    assert "reciprocal" in reciprocal["what"]
    assert (reciprocal["verdict"], reciprocal["expected"]) == ("plausible", pytest.approx(1.0 / density["expected"]))
    for text, per in [("JET_EXPANSION_PER_C = 0.00095", 1.0), ("JET_EXPANSION_PER_DEG_F = 0.00053", 1.8)]:
        (slope,) = rows_of(text)
        assert slope["verdict"] == "plausible"
        assert slope["expected"] == pytest.approx((below - above) / 2.0 / at / per, rel=1e-3)


@given(st.text(alphabet="0123456789.,'_eE-+ fLgal_toGAL=*/()#\n\"d", max_size=60))
def test_any_text_is_scanned(text):
    for row in rows_of(text):
        line = text.split("\n")[row["line"] - 1]
        assert line[row["column"] - 1 :].startswith(row["text"])


@pytest.fixture
def project(tmp_path, monkeypatch):
    """Make a folder of files that are read, left alone or skipped."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("GITHUB_ACTIONS", raising=False)
    ignored = "# not these\n\n[z-a]\na.py\n*.gen\n!keep.gen\n/top\nsub/\nd/**/x\nex[a-c]?.c\n"
    left_alone = (
        "a.py b.gen sub/q.py d/x d/e/f/x top/t.py exb1.c node_modules/n.js venv/v.py x.min.js y.lock z.csv .git/c"
    )
    read = "keep.gen deep/top/t.py exd1.c src/fuel.h"
    for name in f"{left_alone} {read} other/package-lock.json".split():
        Path(name).parent.mkdir(parents=True, exist_ok=True)
        Path(name).write_text("#define GAL_TO_L 3.785\n", encoding="utf-8")
    Path("data.json").write_text('{"gal_to_l": 3.785}' + "\n" * 200_000, encoding="utf-8")
    Path("one.js").write_text("var GAL_TO_L=3.785;" * 2000, encoding="utf-8")
    Path(".gitignore").write_text(ignored, encoding="utf-8")
    return set(read.split())


def test_which_files_are_read(project):
    assert {row["file"] for row in rows_in(".")} == project
    assert {row["file"] for row in rows_in(".", exclude=["src", "deep"])} == {"keep.gen", "exd1.c"}
    assert len(rows_in("a.py")) == 1  # a file that is named is read
    assert len(scan(["src", "src/fuel.h", "."]).findings) == len(project)
    with pytest.raises(FileError, match="no such file"):
        scan(["nowhere"])


@pytest.mark.usefixtures("project")
def test_the_rules_of_the_folders_above_hold():
    Path("src/b.gen").write_text("#define GAL_TO_L 3.785\n", encoding="utf-8")
    Path("src/.gitignore").write_text("*.h\n", encoding="utf-8")
    Path("src/in").mkdir()
    Path("src/in/c.h").write_text("#define GAL_TO_L 3.785\n", encoding="utf-8")
    assert rows_in("src") == rows_in("src/in") == []
    Path("src/#a.c").write_text("#define GAL_TO_L 3.785\n", encoding="utf-8")
    Path("src/.gitignore").write_text("#a.c\n\n*.h\n", encoding="utf-8")  # a comment, and an empty line
    assert [row["file"] for row in rows_in("src")] == ["src/#a.c"]


def test_rules_above_a_folder_hold_within_a_repository_alone(tmp_path):
    (tmp_path / "src").mkdir()
    (tmp_path / "src" / "a.h").write_text("#define GAL_TO_L 3.785\n", encoding="utf-8")
    (tmp_path / ".gitignore").write_text("*.h\n", encoding="utf-8")
    assert len(rows_in(str(tmp_path / "src"))) == 1
    (tmp_path / ".git").mkdir()
    assert rows_in(str(tmp_path / "src")) == []


def test_environments_are_left_alone_and_folders_that_cannot_be_opened_are_said(tmp_path, monkeypatch):
    for name in ("env", "closed", "src"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "a.h").write_text("#define GAL_TO_L 3.785\n", encoding="utf-8")
    (tmp_path / "env" / "pyvenv.cfg").touch()
    scandir = os.scandir

    def opened(folder):
        if Path(folder).name == "closed":
            raise PermissionError(13, "Permission denied", folder)
        return scandir(folder)

    monkeypatch.setattr(os, "scandir", opened)
    report = scan([str(tmp_path)])
    assert [Path(each.file).parent.name for each in report.findings] == ["src"]
    assert [line for line in report.skipped if "closed" in line] == report.skipped != []


def test_a_pattern_of_many_folders_is_read_in_steps(tmp_path):
    """Backtracking would take 2**40 of them."""
    place = tmp_path.joinpath(*"a" * 40)
    place.mkdir(parents=True)
    (place / "fuel.h").write_text("#define GAL_TO_L 3.785\n", encoding="utf-8")
    (tmp_path / ".gitignore").write_text(20 * "**/a/" + "b\n", encoding="utf-8")
    assert len(rows_in(str(tmp_path))) == 1
    (tmp_path / ".gitignore").write_text(20 * "**/a/" + "*.h\n", encoding="utf-8")
    assert rows_in(str(tmp_path)) == []


@pytest.mark.parametrize(("more", "is_read"), [(0, True), (1, False)])
def test_long_lines_and_early_zeros_tell_what_is_no_source(more, is_read, tmp_path):
    """Where most lines exceed 400 letters, of more than 5000, code is minified; a zero in 8192 is of a binary."""
    source = "var GAL_TO_L = 3.785;\n"
    (tmp_path / "small.js").write_text((source + 12 * ("\n" + 401 * "/")).ljust(5000 + more), encoding="utf-8")
    (tmp_path / "wide.js").write_text(source + 20 * ("/" * (400 + more) + "\n"), encoding="utf-8")
    (tmp_path / "zero.c").write_text((source + 100 * ("/" * 99 + "\n"))[: 8192 - more] + "\0", encoding="utf-8")
    (tmp_path / "data.json").write_text('{"gal_to_l": 3.785}'.ljust(200_000 + more, "\n"), encoding="utf-8")
    assert len(rows_in(str(tmp_path))) == 4 * is_read


def test_a_picture_within_a_source_or_a_notebook_hides_no_number(tmp_path):
    """A picture of a plot is one line of some 78 000 letters in the notebook that a notebook program writes."""
    (tmp_path / "app.py").write_text(f"GAL_TO_L = 4.546\n\nICON = '{'iVBORw0KGgo' * 700}'\n", encoding="utf-8")
    plot = {"data": {"image/png": "iVBORw0KGgo" * 7000}, "metadata": {}, "output_type": "display_data"}
    cell = {"cell_type": "code", "metadata": {}, "source": ["GAL_TO_L = 4.546\n"], "outputs": [plot] * 4}
    (tmp_path / "fuel.ipynb").write_text(json.dumps({"cells": [cell], "nbformat": 4}, indent=1), encoding="utf-8")
    assert [each.judgement.verdict for each in scan([str(tmp_path)]).findings] == ["wrong", "wrong"]


@pytest.mark.usefixtures("project")
@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_files_that_cannot_be_read_are_skipped_with_one_line(capsys):
    Path("src/loop").symlink_to("..")
    Path("src/zero").symlink_to("/dev/zero")
    os.mkfifo("src/pipe")
    Path("src/latin.c").write_bytes(b"/* 15 \xb0C */\n#define GAL_TO_L 4.546\n")
    Path("src/blob").write_bytes(b"GAL_TO_L = 4.546\0")
    with Path("src/huge.c").open("wb") as huge:
        huge.truncate(30_000_000)
    assert main(["scan", "src", "/dev/null"]) == 0
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 5
    for name in ("pipe", "latin.c", "blob", "huge.c", "null"):
        assert sum(name in line for line in lines) == 1


@pytest.mark.usefixtures("project")
def test_formats_and_exit_codes(capsys, monkeypatch):
    assert main(["scan", "src"]) == 0
    Path("src/fuel.h").write_text("#define GAL_TO_L 4.546\n#define AVGAS_LB_PER_GAL 6.0\n", encoding="utf-8")
    capsys.readouterr()
    assert main(["scan", "src", "--format", "json"]) == 1
    out = capsys.readouterr().out
    assert out == json.dumps(json.loads(out), indent=2) + "\n"
    (wrong, plausible) = json.loads(out)["findings"]
    keys = ["file", "line", "column", "text", "value", "kind", "what", "expected", "difference", "verdict"]
    assert list(wrong) == keys
    assert main(["scan", "src"]) == 1
    assert {"2 found, 1 wrong", "src/fuel.h:2"} <= set(
        re.findall(r"2 found, 1 wrong|src/fuel.h:2", capsys.readouterr().out)
    )
    assert (wrong["file"], wrong["line"], wrong["column"], wrong["kind"]) == ("src/fuel.h", 1, 18, "factor")
    assert plausible["verdict"] == "plausible"
    assert f"{100 * wrong['difference']:+.3g} %" == "+20.1 %"  # 4.546 / 3.785 412 - 1
    assert "wrong, +20.1 %" in " ".join(str(scan(["src"]).findings[0]).split())
    assert main(["scan", "src", "--format", "sarif"]) == 1
    (result,) = json.loads(capsys.readouterr().out)["runs"][0]["results"]
    assert result["locations"][0]["physicalLocation"]["region"]["startLine"] == 1
    monkeypatch.setenv("GITHUB_ACTIONS", "true")
    assert main(["scan", "src"]) == 1
    assert "::error file=src/fuel.h,line=1,title=factor::" in capsys.readouterr().out
    assert main(["scan", "nowhere"]) == 2


@pytest.mark.parametrize("kind", KINDS)
def test_an_assumptions_file_of_any_kind_is_no_source(kind, tmp_path):
    entry = f'[[{kind}]]\nname = "litres in a gallon"\nGAL_TO_L = 3.785411784\n'
    (tmp_path / "figures.toml").write_text(entry, encoding="utf-8")
    assert not scan([str(tmp_path)]).findings
    (tmp_path / "figures.toml").write_text(entry.replace(f"[[{kind}]]", "[[other]]"), encoding="utf-8")
    assert len(scan([str(tmp_path)]).findings) == 1


def test_the_assumptions_file_guards_what_was_found(monkeypatch, capsys, tmp_path):
    """Each entry of a scan of a good repository holds, and fails once its constant is spoilt, wherever it stands."""
    monkeypatch.chdir(tmp_path)
    good = {
        "fuel.h": "#define GAL_TO_L 3.785411784\n#define AVGAS_LB_PER_GAL 6.0f\n",
        "uplift.py": "k_factor = 43_186  # pulses per gallon\n\ndef litres(gal):\n    return gal * 3.785 + 0 * 12\n",
        "units.yaml": "lb_to_kg: 0.453592\n",
    }
    for name, text in good.items():
        Path(name).write_text(text, encoding="utf-8")
    assert main(["scan", ".", "--format", "toml"]) == 0
    Path("assumptions.toml").write_text(capsys.readouterr().out, encoding="utf-8")
    (report,) = check_files(["assumptions.toml"])
    assert report.passed
    named = {"fuel.h:GAL_TO_L", "fuel.h:AVGAS_LB_PER_GAL", "units.yaml:lb_to_kg", "uplift.py:k_factor"}
    assert {each.entry.where for each in report.outcomes} == {*named, "uplift.py:4"}
    assert not any(each.entry.number for each in report.outcomes if each.place.name)  # each is read in its place
    assert {each.entry.name for each in report.outcomes} >= {"lb_to_kg, units.yaml", "factor, uplift.py:4"}
    for old, new in (("3.785411784", "3.784511784"), ("6.0f", "6.7f"), ("0.4535", "0.4553"), ("43_", "34_")):
        name = next(name for name, text in good.items() if old in text)
        Path(name).write_text(
            "// one more line\n\n" * name.endswith("h") + good[name].replace(old, new), encoding="utf-8"
        )
        assert sum(not each.as_expected for each in check_files(["assumptions.toml"])[0].outcomes) == 1
        Path(name).write_text(good[name], encoding="utf-8")
    assert len(scan(["."]).findings) == 5  # the file of assumptions is no source


@pytest.mark.parametrize(
    ("name", "numbers"),
    [
        # 7.480 52, 0.453 592 37, 0.832 674 and 3.785 412 (NIST SP 811, App. B.8): off by 0.006 %, 0.002 %, 0.09 %, ...
        ("FT3_TO_GAL", {"7.4805": "0.001", "7.481": "0.01"}),
        ("LB_TO_KG", {"0.4536": "0.002", "0.454": "0.1", "0.45": "1"}),
        ("GAL_TO_IMP_GAL", {"0.8327": "0.005", "0.833": "0.05"}),
        ("GAL_TO_L", {"3.785": "0.02", "3.79": "0.2", "3.8": "0.5", "4.546": "0.001"}),
        # typical Jet A has 6.743 lb/gal at 15 °C; 2.1 % is what the temperatures may add
        ("JET_LB_PER_GAL", {"6.72": "3", "6.65": "4", "6.57": "5", "6.45": "7", "6.35": "8", "8.05": "3"}),
    ],
)
def test_the_guard_of_a_find_has_the_least_tolerance_that_holds(name, numbers, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for number, percent in numbers.items():
        Path("a.h").write_text(f"#define {name} {number}\n", encoding="utf-8")
        assert (number, f'tolerance = "{percent} %"' in FORMATS["toml"](scan(["a.h"]))) == (number, True)


def test_an_expansion_is_guarded_and_a_zero_of_a_scale_is_not(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("a.h").write_text("#define JET_EXPANSION_PER_C 0.00092\n#define KELVIN_OFFSET 273.15\n", encoding="utf-8")
    text = FORMATS["toml"](scan(["a.h"]))
    assert (re.findall(r"\[\[\w+\]\]", text), text.count("# not guarded: a.h:2:")) == (["[[expansion]]"], 1)
    assert check_text(text, root=".").passed


def test_what_is_wrong_fails_once_it_is_guarded_and_the_log_is_valid(monkeypatch, capsys):
    monkeypatch.chdir(Path(__file__).parent / "scan_repo")
    wrong = {(each.file, each.line) for each in scan(["."]).wrong}
    main(["scan", ".", "--format", "toml"])
    report = check_text(capsys.readouterr().out, root=".")
    failing = {(each.place.path, each.place.line) for each in report.outcomes if not each.holds}
    guarded = {(each.place.path, each.place.line) for each in report.outcomes}
    assert failing == wrong & guarded
    assert len(failing) > 8
    main(["scan", ".", "--format", "sarif"])
    assert not sarif_problems(json.loads(capsys.readouterr().out))


SPOILT = {
    "firmware/fuel.h": {
        "3.785411784": ("4.54609", "imperial gallon"),
        "4.54609f": ("3.785412f", "US gallon for imperial gallon"),
        "0.45359237": ("2.20462", "reciprocal"),
        "43186": ("11409", "litre for US gallon"),
        "42950": ("85900", "doubled pulses"),
    },
    "service/uplift.py": {
        "3.785412": ("3.758412", "digits swapped"),
        "0.453592": ("0.45", "rounded to a multiple of 0.01"),
        "6.01": ("6.69", "density of Jet A-1"),
        "JET_A_LB_PER_GALLON = 6.7": ("JET_A_LB_PER_GALLON = 8.05", "imperial gallon"),
        "158.987": ("1589.87", "decimal point"),
        "907.185": ("1016.047", "long ton"),
        "6.71": ("6.02", "density of 100LL"),
    },
    "config/aircraft.yaml": {
        "3.785": ("0.264", "reciprocal"),
        "0.4536": ("0.4356", "digits swapped"),
        "0.804": ("1.7725", "lb/L"),
        "0.72": ("720", "kg/m^3 for kg/L"),
        "11412": ("43199", "US gallon for litre"),
        "0.00092": ("0.00051", "degree Fahrenheit"),
    },
    "web/units.ts": {
        "3.785411784": ("37.85411784", "decimal point"),
        "6.894757": ("0.145038", "reciprocal"),
        "3.785412": ("0.0630902", "minute"),
        "273.15": ("275.13", "slip of a digit"),
        "131.5": ("135.1", "slip of a digit"),
    },
}
"""Constants of an invented project in four languages: what is put in the place of each, and the mistake that it is."""


@pytest.fixture
def shell(tmp_path):
    """Return a function that runs a command in a copy of the project, with this Python as ``python``."""
    project = shutil.copytree(HERE / "guarded", tmp_path / "project")
    (tmp_path / "python").write_text(f'#!/bin/sh\nexec "{sys.executable}" "$@"\n', encoding="utf-8")
    (tmp_path / "python").chmod(0o755)
    own = {"PATH": f"{tmp_path}{os.pathsep}{os.environ['PATH']}", "PYTHONPATH": str(HERE.parent)}
    names = {f"GIT_{who}_{what}": "x" for who in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}
    environment = {**os.environ, **own, **names, "GITHUB_ACTIONS": "false"}

    def run(command, **more):
        how = {"cwd": project, "env": environment | more, "capture_output": True, "encoding": "utf-8", "check": False}
        return subprocess.run(["bash", "-e", "-c", command], **how)

    run.project = project
    return run


@pytest.mark.skipif(os.name != "posix" or not shutil.which("git"), reason="the commands need a POSIX shell and git")
def test_a_project_is_guarded_in_five_commands_and_each_spoilt_constant_is_annotated(shell):
    page = (HERE.parent / "docs/tasks/guard_a_project.rst").read_text(encoding="utf-8")
    commands = [line.strip() for line in re.search(r"code-block:: sh\n\n((?:   .+\n)+)", page)[1].splitlines()]
    assert len(commands) == 5
    assert shell("git init -q").returncode == 0
    workflow = HERE.parent / "docs/examples/fuel_figures.yml"
    shutil.copy(workflow, shell.project)
    for command in commands:
        done = shell(command)
        assert done.returncode == 0, done.stdout + done.stderr
    assert "fuel_assumptions.toml" in shell("git ls-files").stdout

    places = {}
    for name, changes in SPOILT.items():
        text = (shell.project / name).read_text(encoding="utf-8")
        for old, (new, words) in changes.items():
            assert text.count(old) >= 1
            places[name, text[: text.index(old)].count("\n") + 1] = words
            text = text.replace(old, new, 1)
        (shell.project / name).write_text(text, encoding="utf-8")
    assert len(places) > 20
    runs = [line.split("run: ")[1] for line in workflow.read_text(encoding="utf-8").splitlines() if "run: " in line]
    said = {}
    for run in runs[1:3]:
        done = shell(run, GITHUB_ACTIONS="true")
        assert done.returncode == 1
        for file, line, message in re.findall(r"(?m)^::error file=([^,]+),line=(\d+),title=[^:]*::(.*)$", done.stdout):
            said[file, int(line)] = said.get((file, int(line)), "") + message
    assert {place: words for place, words in places.items() if words not in said.get(place, "")} == {}


@pytest.mark.parametrize(
    "line", ['{"fuel": "Jet A", "density": 6.7, "unit": "kg/m3"}', "jet_density = 6.7  # in kg/m3"]
)
def test_a_density_in_another_unit_than_stated_is_expected_in_that(line):
    (row,) = rows_of(line)
    assert row["verdict"] == "wrong"
    assert row["expected"] == pytest.approx(float(fuel("Jet A").density_kg_m3(15.0)))
