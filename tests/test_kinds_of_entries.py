"""The kinds of entries beyond densities, factors and K-factors, by published values; and what wrong numbers are called.

The published values stand in the reference tables with their sources: volume correction factors of Measurement Canada
for avgas, a sheet of expansion coefficients, viscosities of jet fuels by AFRL, API gravities of QM 5203.
"""

import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelunits.checks.file import check_files, check_text
from fuelunits.checks.kinds import KINDS
from fuelunits.checks.output import FORMATS
from fuelunits.confusions import digit_slips, number_looks_like
from fuelunits.errors import FileError
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.volume_correction import ctl
from fuelunits.fuels.water_and_air import density_from_api_gravity
from fuelunits.testing import assert_factor


def judged(kind, **keys):
    keys = {"name": "x", "tolerance": "0.01 %", **keys}
    lines = [f"{key} = {value if isinstance(value, (float, int)) else f'{value!r}'}" for key, value in keys.items()]
    (found,) = check_text("\n".join([f"[[{kind}]]", *lines])).outcomes
    return found


PUBLISHED = [
    ("volume_correction", {"value": 1.07, "fuel": "100LL", "density": "710 kg/m^3", "at": "-40 degC"}),
    ("expansion", {"value": 9.3e-4, "fuel": "Jet A", "density": "801 kg/m^3", "tolerance": "0.6 %"}),
    ("expansion", {"value": 5.06e-4, "fuel": "Jet A", "density": "807 kg/m^3", "per": "degF", "tolerance": "0.6 %"}),
    ("viscosity", {"value": "6.6 cSt", "fuel": "JP-8", "at": "-40 degC", "tolerance": "5 %"}),
    ("viscosity", {"value": "6.6e-6 m^2/s", "fuel": "JP-8", "at": "-40 degC", "tolerance": "5 %"}),
    # exact: 196 less 6; 31.5 L/h times 11412 pulse/L over 3600 s
    ("usable_fuel", {"value": "190 L", "total": "196 L", "unusable": "6 L"}),
    ("usable_fuel", {"value": "152 kg", "total": "196 L", "unusable": "6 L", "density": "0.8 kg/L"}),
    ("pulse_rate", {"value": "99.855 Hz", "flow": "31.5 L/h", "k_factor": "11412 pulse/L"}),
    ("pulse_rate", {"value": "1000 Hz", "flow": "1.8 L/h", "k_factor": "2000000 pulse/L"}),
    ("pulse_rate", {"value": "5991.3 pulse/min", "flow": "31.5 L/h", "k_factor": "11412 pulse/L"}),
    ("pulse_rate", {"value": "99.855 Hz", "flow": "25.2 kg/h", "k_factor": "11412 pulse/L", "density": "0.8 kg/L"}),
]


@pytest.mark.parametrize(("kind", "keys"), PUBLISHED)
def test_a_published_or_exact_number_holds_and_another_fails(kind, keys):
    found = judged(kind, **{"tolerance": "0.005 %", **keys})
    assert (found.holds, found.entry.kind) == (True, kind)
    value = keys["value"]
    number, _, unit = value.partition(" ") if isinstance(value, str) else (value, "", "")
    wrong = float(number) * 1.2
    assert not judged(kind, **{**keys, "value": f"{wrong} {unit}" if unit else wrong}).holds


def test_an_api_gravity_and_a_relative_density_are_densities():
    """40 degAPI are 0.8251 (60/60 degF) [qm5203], with water at 999.016 kg/m3 at 60 degF."""
    common = {"fuel": "Jet A", "between": ["60 degF", "60 degF"], "tolerance": "5 %"}
    off = [
        judged("density", value="40 degAPI", **common).deviation,
        judged("density", value="0.8251", reference="60 degF", **common).deviation,
        judged("density", value=f"{0.8251 * 999.016} kg/m^3", **common).deviation,
    ]
    assert off == pytest.approx([off[0]] * 3, abs=5e-5)
    at_4c = judged("density", value="0.8251", reference="4 degC", **common).deviation
    assert (1 + at_4c) / (1 + off[1]) == pytest.approx(999.975 / 999.016, rel=2e-6)  # [tanaka_2001] at 4 degC
    with pytest.raises(FileError, match="reference = '60 degF'"):
        judged("density", value="0.8251", **common)


JET = {"fuel": "Jet A", "between": ["0 degC", "30 degC"], "tolerance": "2 %"}
WRONG = [
    ("density", {"value": "8.05 lb/gal", **JET}, "imperial gallon for US gallon"),
    ("density", {"value": "1.772 kg/L", **JET}, "pound for kilogram"),
    (
        "k_factor",
        {"entered": "43.186 pulse/gal", "calibrated": "43187 pulse/gal"},
        "the decimal point 3 places too far left",
    ),
    ("k_factor", {"entered": "2000 pulse/L", "calibrated": "2000000 pulse/L"}, "converted from pulse/m3"),
    ("k_factor", {"entered": "11412000 pulse/L", "calibrated": "11412 pulse/L"}, "cubic metre for litre"),
    ("k_factor", {"entered": "22824 pulse/L", "calibrated": "11412 pulse/L"}, "doubled pulses"),
    ("k_factor", {"entered": "5706 pulse/L", "calibrated": "11412 pulse/L"}, "halved pulses"),
    ("k_factor", {"entered": "45648 pulse/L", "calibrated": "11412 pulse/L"}, "quadrature"),
    ("k_factor", {"entered": "2853 pulse/L", "calibrated": "11412 pulse/L"}, "divided by four"),
    ("k_factor", {"entered": "11409 pulse/gal", "calibrated": "43187 pulse/gal"}, "litre for US gallon"),
    ("factor", {"value": 133.3224, "from": "inHg", "to": "Pa"}, "millimetre of mercury for inch of mercury"),
    ("factor", {"value": 1016.047, "from": "short_ton", "to": "kg"}, "long ton for short ton"),
    ("factor", {"value": 3.79, "from": "gal", "to": "L"}, "3.785412 rounded to a multiple of 0.01"),
    ("factor", {"value": 3.758412, "from": "gal", "to": "L"}, "3.785412 with two digits swapped"),
    ("factor", {"value": 0.264172, "from": "gal", "to": "L"}, "the reciprocal"),
    ("factor", {"value": 4.54609, "from": "gal", "to": "L"}, "imperial gallon for US gallon"),
    ("factor", {"value": 37.85412, "from": "gal", "to": "L"}, "decimal point 1 place too far right"),
    ("k_factor", {"entered": "11421 pulse/L", "calibrated": "11412 pulse/L"}, "11412 with two digits swapped"),
    ("volume_correction", {"value": 1.0139, "fuel": "Jet A", "at": "30 degC"}, "its reciprocal"),
    ("volume_correction", {"value": 1.0, "fuel": "Jet A", "at": "30 degC"}, "no correction"),
    ("volume_correction", {"value": 0.9727, "fuel": "Jet A", "at": "30 degC"}, "the correction made twice"),
    ("expansion", {"value": 9.3e-4, "fuel": "Jet A", "per": "degF", "tolerance": "3 %"}, "Celsius for degree Fahr"),
    ("viscosity", {"value": "1.25 cSt", "fuel": "Jet A", "at": "30 degC"}, "1.52 with two digits swapped"),
    ("usable_fuel", {"value": "196 L", "total": "196 L", "unusable": "6 L"}, "the total, with the unusable fuel"),
    ("usable_fuel", {"value": "184 L", "total": "196 L", "unusable": "6 L"}, "subtracted twice"),
    ("pulse_rate", {"value": "49.93 Hz", "flow": "31.5 L/h", "k_factor": "11412 pulse/L"}, "halved pulses"),
    ("pulse_rate", {"value": "378 Hz", "flow": "31.5 L/h", "k_factor": "11412 pulse/L"}, "gal for pulse/L"),
]


@pytest.mark.parametrize(("kind", "keys", "name"), WRONG)
def test_a_wrong_number_is_named(kind, keys, name):
    found = judged(kind, **keys)
    assert not found.holds
    assert name in found.remark


@pytest.mark.parametrize("kind", KINDS)
def test_an_entry_is_frozen_and_knows_its_keys(kind):
    keys = next(keys for each, keys in (*PUBLISHED, *((kind, keys) for kind, keys, _ in WRONG)) if each == kind)
    with pytest.raises(AttributeError):
        judged(kind, **keys).entry.name = "y"
    with pytest.raises(FileError, match="'feul' is not known"):
        judged(kind, **keys, feul="Jet A")


def test_an_expansion_is_that_at_the_base_temperature():
    """By the correction of volume 1 °C below and above; 1 °C on, the density alone differs by 0.09 %."""
    right = float(ctl(801.0, 14.0) - ctl(801.0, 16.0)) / 2.0 / float(ctl(801.0, 15.0))
    found = judged("expansion", value=right, fuel="Jet A", density="801 kg/m^3", base="15 degC", tolerance="0.02 %")
    assert found.holds


@pytest.mark.parametrize(
    ("celsius", "off", "is_named"),
    [(17.0, 0.24, True), (17.0, 0.26, False), (17.0, -0.24, True), (30.0, 0.0009, True), (30.0, 0.0011, False)],
)
def test_a_correction_left_out_is_named_within_a_quarter_of_it_and_a_thousandth(celsius, off, is_named):
    correction = abs(1.0 - float(ctl(801.0, celsius)))
    value = 1.0 + off * (correction if correction < 0.004 else 1.0)
    found = judged("volume_correction", value=value, fuel="Jet A", density="801 kg/m^3", at=f"{celsius} degC")
    assert ("no correction" in found.remark) is is_named


@pytest.mark.parametrize(
    ("litres", "words"),
    [(99.1, "the total"), (99.0, ""), (98.9, ""), (92.9, "subtracted twice"), (93.1, ""), (91.1, "twice")],
)
def test_a_usable_volume_is_explained_within_a_quarter_of_the_unusable(litres, words):
    """Of 100 L, 4 L cannot be used: 96 L are usable."""
    found = judged("usable_fuel", value=f"{litres} L", total="100 L", unusable="4 L")
    assert words in found.remark
    assert ("may be" in found.remark) is bool(words)


def test_the_printed_deviation_is_in_percent():
    found = judged("k_factor", entered="9129.6 pulse/L", calibrated="11412 pulse/L", tolerance="2.5 %")
    assert found.deviation == pytest.approx(-0.2)  # of what is entered: 9129.6 / 11 412 - 1
    assert list(found.cells().values())[2:] == ["-20", "2.5"]
    assert found.off == "-20 % (limit 2.5 %)"
    assert "so +25 % is indicated" in found.remark  # 11 412 / 9129.6 - 1
    assert found.entry.judge().line == 0  # apart from a file
    assert judged("k_factor", entered="11526.12 pulse/L", calibrated="11412 pulse/L", tolerance="3 %").off[:4] == "+1 %"


@pytest.mark.parametrize(
    ("kind", "keys"),
    [
        ("volume_correction", {"value": 0.9931, "fuel": "Jet A", "at": "30 degC"}),
        ("usable_fuel", {"value": "205 L", "total": "196 L", "unusable": "6 L"}),
        ("usable_fuel", {"value": "150 L", "total": "196 L", "unusable": "6 L"}),
        ("pulse_rate", {"value": "123.4 Hz", "flow": "31.5 L/h", "k_factor": "11412 pulse/L"}),
    ],
)
def test_a_wrong_number_that_no_mistake_explains_has_no_name(kind, keys):
    found = judged(kind, **keys)
    assert not found.holds
    assert "may be" not in found.remark


LANGUAGES = {
    "constants.py": "# {right}\n{name} = {number}\n",
    "fuel.h": "/* {right} */\n#define {name} {number}f\n",
    "settings.yaml": "# {right}\n{name}: {number}\n",
    "data.json": ' "right of this": "{right}",\n "{name}": {number},\n',
}


def test_each_spoilt_constant_of_four_languages_is_annotated_at_its_line(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert len(WRONG) > 20
    sources, entries, expected = dict.fromkeys(LANGUAGES, ""), [], {}
    for n, (kind, keys, name) in enumerate(WRONG):
        keys = {"name": f"number {n}", "tolerance": "0.01 %", **keys}
        number, _, unit = str(keys.pop("entered", None) or keys.pop("value")).partition(" ")
        file = list(LANGUAGES)[n % len(LANGUAGES)]
        sources[file] += LANGUAGES[file].format(name=f"NAME_{n}", number=number, right="the right number is elsewhere")
        expected[file, sources[file].count("\n")] = name
        keys |= {"where": f"./{file}:NAME_{n}"} | ({"unit": unit} if unit else {})
        entries += [f"[[{kind}]]", *(f"{key} = {value!r}" for key, value in keys.items())]
    for file, text in sources.items():
        (tmp_path / file).write_text(text, encoding="utf-8")
    (tmp_path / "guard.toml").write_text("\n".join(entries), encoding="utf-8")
    found = re.findall(
        r"(?m)^::error file=([^,]+),line=(\d+),title=[^:]+::(.*)$", FORMATS["github"](check_files(["guard.toml"]))
    )
    annotated = {(file, int(line)): words for file, line, words in found if file != "guard.toml"}
    assert annotated.keys() == expected.keys()
    assert all(name in annotated[place] for place, name in expected.items())


@pytest.mark.parametrize(
    ("kind", "keys", "words"),
    [
        ("factor", {"value": 1.772, "from": "L", "to": "lb"}, "[[density]] as value = '1.772 lb/L'"),
        ("factor", {"value": 1.05e300, "from": "gal", "to": "L"}, "the factor"),
        ("usable_fuel", {"value": "330 lb", "total": "196 L", "unusable": "6 L"}, "density"),
        ("usable_fuel", {"value": "1 L", "total": "6 L", "unusable": "6 L"}, "unusable"),
        ("pulse_rate", {"value": "1 Hz", "flow": "55 lb/h", "k_factor": "11412 pulse/L"}, "density"),
        ("pulse_rate", {"value": "1 L", "flow": "55 L/h", "k_factor": "11412 pulse/L"}, "volume"),
        ("viscosity", {"value": "1.5 cP", "fuel": "Jet A", "at": "30 degC"}, "cP"),
        ("viscosity", {"value": "1.5 cSt", "fuel": "100LL", "at": "15 degC"}, "no viscosity of"),
        ("volume_correction", {"value": 1.0, "fuel": "Jet A", "at": "200 degC"}, "outside"),
        ("volume_correction", {"value": 1.0, "fuel": "Jet A", "at": "20 degC", "base": "25 degC"}, "base is '25 degC'"),
        ("density", {"value": "6.7 lb/gal", "reference": "60 degF", **JET}, "leave reference out"),
        ("density", {"value": "44 API", **JET}, "6.7 lb/gal"),
    ],
)
def test_what_a_kind_refuses(kind, keys, words):
    with pytest.raises(FileError) as refusal:
        judged(kind, **keys)
    assert words in str(refusal.value)


def test_what_is_expected_is_the_first_sentence_of_its_meaning():
    with pytest.raises(FileError, match="where is 5; expected where it is used: path:NAME"):
        judged("factor", **{"value": 3.785, "from": "gal", "to": "L", "where": 5})


def test_a_number_of_three_hundred_digits_is_compared():
    assert not judged("factor", **{"value": 9.5e299, "from": "gal", "to": "L"}).holds


def test_a_density_that_the_fuel_cannot_have_is_refused():
    with pytest.raises(FileError, match="but measured Jet A is rejected"):
        judged("volume_correction", value=0.98, fuel="Jet A", density="0.72 kg/L", at="30 degC", tolerance="5 %")


@pytest.mark.parametrize("tolerance", [0.1, 0.2, 0.5, 1, 2, 2.5, 3, 5, 10, 25, 50])
def test_a_number_on_its_limit_holds_and_one_beyond_fails(tolerance):
    """Limits belong to the interval of conformity (JCGM 106:2012, 3.3.5 and 3.3.9); 1 m is 100 cm."""
    allowed = f"{tolerance} %"
    for sign in (-1, 1):
        on, beyond = (float(100 + sign * Fraction(str(each))) for each in (tolerance, tolerance + 0.00001))
        assert judged("factor", **{"from": "m", "to": "cm", "value": on, "tolerance": allowed}).holds
        assert not judged("factor", **{"from": "m", "to": "cm", "value": beyond, "tolerance": allowed}).holds
        k = {"calibrated": "100 pulse/L", "tolerance": allowed}
        assert judged("k_factor", entered=f"{on!r} pulse/L", **k).holds
        assert not judged("k_factor", entered=f"{beyond!r} pulse/L", **k).holds
        assert_factor(on, "m", "cm", tolerance=allowed)


@pytest.mark.parametrize("share", [0.965, 1.035])
def test_a_wrong_density_is_explained_in_the_middle_of_its_temperatures(share):
    """A specific gravity for kg/m3 is recognised within 4 %; water at 60 degF has 999.016 kg/m3."""
    keys = {"fuel": "Jet A", "between": ["20 degC", "60 degC"], "tolerance": "3 %"}
    relative_density = fuel("Jet A").density_kg_m3(40.0) / 999.016
    assert "specific gravity" in judged("density", value=f"{share * relative_density!r} kg/m^3", **keys).remark


def test_a_mistake_is_named_within_the_tolerance_of_the_entry():
    for off, is_named in ((1.095, True), (0.905, True), (1.105, False), (0.895, False)):
        found = judged("k_factor", entered=f"{22824 * off!r} pulse/L", calibrated="11412 pulse/L", tolerance="10 %")
        assert ("doubled pulses" in found.remark) is is_named
    for off, is_named in ((1.0047, True), (0.9953, True), (1.0053, False), (0.9947, False)):
        found = judged("k_factor", entered=f"{22824 * off!r} pulse/L", calibrated="11412 pulse/L", tolerance="0.1 %")
        assert ("doubled pulses" in found.remark) is is_named


@pytest.mark.parametrize(("at", "near"), [("30 degC", 0.001), ("17 degC", None)])
def test_a_mistake_of_the_volume_correction_is_named_within_a_thousandth_or_a_quarter_of_it(at, near):
    jet = fuel("Jet A")
    vcf = jet.density_kg_m3(float(at.split()[0])) / jet.density_kg_m3(15.0)
    for share, is_named in ((-1.05, False), (-0.95, True), (0.95, True), (1.05, False)):
        value = (1.0 + share * (near or (1.0 - vcf) / 4.0)) / vcf
        found = judged("volume_correction", value=value, fuel="Jet A", at=at)
        assert ("its reciprocal" in found.remark) is is_named


@pytest.mark.parametrize(("off", "is_named"), [(-1.55, False), (-1.45, True), (1.45, True), (1.55, False)])
def test_a_mistake_with_the_unusable_fuel_is_named_within_a_quarter_of_it(off, is_named):
    for right, words in ((196.0, "the total"), (184.0, "subtracted twice")):
        found = judged("usable_fuel", value=f"{right + off} L", total="196 L", unusable="6 L")
        assert (words in found.remark) is is_named


def test_an_entry_holds_for_the_typical_fuel_where_the_check_is_undecided():
    """Jet A has 775 to 840 kg/m3 at 15 degC (MIL-HDBK-1022A); 6.7 lb/gal is 802.8 kg/m3."""
    keys = {"value": "6.7 lb/gal", "fuel": "Jet A", "between": ["15 degC", "15 degC"]}
    assert judged("density", **keys, tolerance="3 %").verdict == "holds for the typical fuel"
    assert "equals the typical density at 22.0 °C" in judged("density", **keys, tolerance="3 %").remark
    failing = judged("density", **{**keys, "value": "6.9 lb/gal"}, tolerance="1 %")
    assert (failing.holds, "may be" in failing.remark) == (False, False)  # Jet A has this density, only colder
    assert "at no temperature" in judged("density", **{**keys, "value": "8.05 lb/gal"}, tolerance="3 %").remark
    assert judged("density", **keys, tolerance="5 %").verdict == "holds"


def test_numbers_are_read_by_name(tmp_path):
    (tmp_path / "a.h").write_text(
        "#define VCF 0.9863\n#define API 44.1\n#define RD 0.804\n#define HZ 99.855\n", "utf-8"
    )
    text = """
[[volume_correction]]
name = "vcf"
where = "./a.h:VCF"
fuel = "Jet A"
at = "30 degC"
tolerance = "0.1 %"
[[density]]
name = "api"
where = "./a.h:API"
unit = "degAPI"
fuel = "Jet A"
between = ["60 degF", "60 degF"]
tolerance = "1 %"
[[density]]
name = "rd"
where = "./a.h:RD"
reference = "60 degF"
fuel = "Jet A"
between = ["10 degC", "20 degC"]
tolerance = "2 %"
[[pulse_rate]]
name = "hz"
where = "./a.h:HZ"
unit = "Hz"
flow = "31.5 L/h"
k_factor = "11412 pulse/L"
tolerance = "0.1 %"
"""
    report = check_text(text, root=tmp_path)
    assert report.passed
    assert len(report.outcomes) == 4


@pytest.mark.parametrize(
    ("given", "right", "slip"),
    [
        (3.78, 3.785411784, "cut to a multiple of 0.01"),
        (43200, 43187.0, "rounded to a multiple of 100"),
        (0.4536, 0.45359237, "rounded to a multiple of 0.0001"),
        (2.240623, 2.2046226, "swapped"),
        (38.75412, 37.85411784, "swapped"),
        (2.20462261285, 2.20462262185, "swapped"),
        (112.5, 12.5, "a digit left out or typed twice"),
        (4.0, 3.785411784, ""),
        (21.0, 12.0, ""),
        (3.7, 3.785411784, ""),
        (4.546, 3.785411784, ""),
        (3.785411784, 3.785411784, ""),
        (-3.79, 3.785411784, ""),
        (float("nan"), 3.785411784, ""),
        (1e300, 1.02e300, ""),
        *[(111.0, 11.1, ""), (1120.0, 11200.0, "")],  # a decimal point, by a factor of ten; beyond it, by chance
        *[(1102.0, 102.0, ""), (123.0, 10123.0, "")],
    ],
)
def test_slips_of_digits(given, right, slip):
    found = list(digit_slips(given, right))
    assert slip in found[0] if slip else not found


@given(st.floats(1e-3, 1e6), st.integers(2, 6))
def test_a_rounded_number_is_never_called_anything_else(right, digits):
    rounded = float(f"{Decimal(repr(right)):.{digits}g}")  # of a binary half, such as 100.5195, in decimals
    assert all("rounded" in each for each in digit_slips(rounded, right))


def test_causes_come_first():
    assert number_looks_like(2.0, 1.0, "pulse/L", "a cause").startswith("; it may be a cause or ")
    assert [number_looks_like(each, 1.0, "L") for each in (float("inf"), 0.0, -0.9)] == ["", "", ""]
    assert density_from_api_gravity(40.0) == pytest.approx(0.8251 * 999.016, rel=5e-5)


def test_a_correction_in_the_cold_that_is_its_reciprocal_is_named():
    """Below 15 °C the factor is more than 1."""
    jet = fuel("Jet A")
    vcf = jet.density_kg_m3(-10.0) / jet.density_kg_m3(15.0)
    found = judged("volume_correction", value=round(1.0 / vcf, 5), fuel="Jet A", at="-10 degC", tolerance="0.01 %")
    assert "reciprocal" in found.remark
