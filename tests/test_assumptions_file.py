"""The assumptions file and the two commands."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelunits.__main__ import main
from fuelunits.checks.file import check_file, check_text
from fuelunits.errors import FileError, FuelUnitsError

EXAMPLE = Path(__file__).parents[1] / "docs" / "examples" / "shop_assumptions.toml"

DENSITY = """
[[density]]
name = "uplift"
where = "uplift.py"
value = "6.7 lb/gal"
fuel = "Jet A"
between = ["0 degC", "30 degC"]
tolerance = "2 %"
"""
FACTOR = """
[[factor]]
name = "litres"
value = 3.785
from = "gal"
to = "L"
tolerance = "0.02 %"
"""
K_FACTOR = """
[[k_factor]]
name = "left"
calibrated = "43187 pulse/gal"
entered = "43186 pulse/gal"
tolerance = "0.1 %"
"""


def test_the_invented_shop():
    report = check_file(EXAMPLE)
    assert report.passed
    assert len(report.outcomes) == 12
    failing = [outcome for outcome in report.outcomes if not outcome.holds]
    assert len(failing) == 2
    assert all(outcome.entry.expected_to_fail for outcome in failing)
    text = str(report)
    assert text.count("fails, as expected") == 2
    assert "12 entries, 10 hold, 2 fail (2 of them expected to): passed" in text


@pytest.mark.parametrize(
    "text", [DENSITY, FACTOR, K_FACTOR, DENSITY + FACTOR + K_FACTOR, '[about]\nshop = "invented"\n' + FACTOR]
)
def test_each_kind_holds(text):
    report = check_text(text)
    assert report.passed
    assert all(outcome.holds for outcome in report.outcomes)
    assert json.loads(json.dumps(report.as_dict()))["passed"] is True


@pytest.mark.parametrize(
    ("good", "bad", "text"),
    [
        ("6.7 lb/gal", "6.0 lb/gal", DENSITY),
        ("Jet A", "100LL", DENSITY),
        ("3.785", "4.546", FACTOR),
        ("43186 pulse/gal", "43336 pulse/gal", K_FACTOR),
        ("43186 pulse/gal", "43186 pulse/imp_gal", K_FACTOR),
    ],
)
def test_a_spoilt_entry_fails_and_an_expectation_turns_it(good, bad, text):
    spoilt = text.replace(good, bad, 1)
    report = check_text(spoilt)
    assert not report.passed
    assert "FAILS" in str(report)
    assert "1 NOT as stated" in str(report)
    assert check_text(spoilt + 'expected_to_fail = "kept as a warning"').passed
    turned = check_text(text + 'expected_to_fail = "it should"')
    assert not turned.passed
    assert "HOLDS, though expected to fail" in str(turned)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "has no entries"),
        ("[[density", "is not TOML"),
        ("x = 1", "'x' is not known; write [[density]] or [[factor]] or [[k_factor]]"),
        ("[density]\nname = 'x'", "head each entry with [[density]]"),
        ("density = [1]", "head each entry with [[density]]"),
        (DENSITY.replace("tolerance =", "tolerence ="), "'tolerance' is missing"),
        (DENSITY + "typo = 1", "'typo' is not known; an entry has name, tolerance, value, fuel, between, where"),
        (DENSITY.replace('"6.7 lb/gal"', "6.7"), "value is 6.7, and text is needed"),
        (DENSITY.replace('"6.7 lb/gal"', '"6.7 lb"'), "number 1 ('uplift'): value: '6.7 lb' is a mass"),
        (DENSITY.replace("Jet A", "Jet C"), "unknown fuel 'Jet C'; did you mean"),
        (DENSITY.replace('["0 degC", "30 degC"]', '"0 degC"'), "between is '0 degC', and a list of two is needed"),
        (DENSITY.replace('["0 degC", "30 degC"]', "[0, 30]"), "between: the bare number 0"),
        (DENSITY.replace('["0 degC", "30 degC"]', '["-60 degC", "30 degC"]'), "is outside -40 to 100 degC"),
        (DENSITY.replace('"2 %"', '"2"'), "tolerance: '2' is no percentage"),
        (DENSITY.replace('"uplift"', '" "'), "name is empty"),
        (FACTOR.replace("3.785", "true"), "value is True, and a number is needed"),
        (FACTOR.replace("3.785", '"3.785"'), "value is '3.785', and a number is needed"),
        (FACTOR.replace('"gal"', '"galon"'), "did you mean 'gal"),
        (FACTOR.replace('"L"', '"kg"'), "there is no factor without a density"),
        (K_FACTOR.replace("43187 pulse/gal", "43187"), "is not pulses per volume"),
        (K_FACTOR.replace("43187 pulse/gal", "0 pulse/gal"), "positive"),
    ],
)
def test_a_wrong_file_says_where_and_what_would_be_right(text, message):
    with pytest.raises(FileError) as refusal:
        check_text(text, name="shop.toml")
    assert str(refusal.value).startswith("shop.toml: ")
    assert message in str(refusal.value)


def test_a_syntax_error_names_the_line():
    with pytest.raises(FileError, match="line 3"):
        check_text("[[factor]]\nname = 'x'\nvalue = = 3\n")


@given(st.text(max_size=200))
def test_any_text_is_a_report_or_one_of_our_errors(text):
    with pytest.raises(FuelUnitsError):
        check_text(text)


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ("1" * 5000, "assumptions: has a number of thousands of digits; write it shorter"),
        ("0x" + "f" * 5000, "value is int of too many digits, and a positive number up to 1e+300 is needed"),
        ('"' + "1" * 5000 + '"', f"value is '{'1' * 56}..., and a number is needed"),
    ],
    ids=["decimal", "hexadecimal", "text"],
)
def test_a_number_of_thousands_of_digits_is_refused(value, message):
    text = f'[[factor]]\nname = "x"\ntolerance = "1 %"\nfrom = "gal"\nto = "L"\nvalue = {value}\n'
    with pytest.raises(FileError) as refusal:
        check_text(text)
    assert str(refusal.value).endswith(message)


def test_numbers_of_any_size_are_judged_or_refused():
    k_factor = '[[k_factor]]\nname = "x"\ntolerance = "1 %"\ncalibrated = "1e30 pulse/gal"\nentered = "1 pulse/gal"\n'
    (judged,) = check_text(k_factor).outcomes
    assert (judged.holds, judged.deviation) == (False, -1.0)
    assert ", so +1e+32 % is indicated" in judged.remark
    factor = '[[factor]]\nname = "x"\ntolerance = "1 %"\nfrom = "mL"\nto = "bbl^3/L^2"\nvalue = 1e300\n'
    with pytest.raises(FileError, match=r"value is 1e\+300, and right is .*; no factor is so far off"):
        check_text(factor)


def test_deep_nesting_is_refused():
    with pytest.raises(FileError):
        check_text("x = " + "[" * 100_000)


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(FileError, match="cannot be read"):
        check_file(tmp_path / "missing.toml")
    with pytest.raises(FileError, match="cannot be read"):
        check_file(tmp_path)
    (tmp_path / "latin.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(FileError, match="is not UTF-8"):
        check_file(tmp_path / "latin.toml")


def test_exit_codes(tmp_path, capsys):
    path = tmp_path / "shop.toml"
    for text, code in ((FACTOR, 0), (FACTOR.replace("3.785", "4.546"), 1), ("x = 1", 2)):
        path.write_text(text, encoding="utf-8")
        assert main(["check", str(path)]) == code
        printed = capsys.readouterr()
        assert ("fuelunits: " in printed.err) == (code == 2)
        assert bool(printed.out) == (code != 2)
    path.write_text(FACTOR, encoding="utf-8")
    assert main(["check", "--json", str(path)]) == 0
    assert json.loads(capsys.readouterr().out)["entries"][0]["holds"] is True
    with pytest.raises(SystemExit) as stop:
        main(["check"])
    assert stop.value.code == 2


def test_as_a_module():
    done = subprocess.run(
        [sys.executable, "-m", "fuelunits", "check", str(EXAMPLE)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0
    assert done.stderr == ""
    assert "passed" in done.stdout
