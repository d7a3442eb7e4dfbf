"""The assumptions file and the two commands."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelunits.__main__ import main
from fuelunits.checks.file import check_file, check_text
from fuelunits.errors import FileError, FuelUnitsError

MARK = "\ufeff"
"""A byte order mark, with which editors of Windows begin a UTF-8 file."""
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
    "text",
    [
        DENSITY,
        FACTOR,
        K_FACTOR,
        DENSITY + FACTOR + K_FACTOR,
        "format = 1" + FACTOR,
        '[about]\nshop = "invented"\n' + FACTOR,
    ],
)
def test_each_kind_holds(text):
    report = check_text(text)
    assert report.passed
    assert all(outcome.holds for outcome in report.outcomes)
    plain = json.loads(json.dumps(report.as_dict()))
    assert (plain["passed"], plain["root"], len(plain["entries"]), "outcomes" in plain) == (
        True,
        "",
        len(report.outcomes),
        False,
    )


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
    assert (report.passed, check_text(FACTOR + spoilt).passed) == (False, False)
    assert "FAILS" in str(report)
    assert "1 unexpected" in report.verdict
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
        ("format = 2\n" + FACTOR, "format is 2; expected 1"),
        ("format = true\n" + FACTOR, "format is True; expected 1"),
        ("[[facter]]\nname = 'x'", "did you mean '[[factor]]'?"),
        ("[density]\nname = 'x'", "head each entry with [[density]]"),
        ("density = [1]", "head each entry with [[density]]"),
        ("density = [{}, 1]", "head each entry with [[density]]"),
        ("[[api_gravity]]\nvalue = '44 degAPI'", r"'api_gravity' is not known"),
        (DENSITY.replace("tolerance =", "tolerence ="), "'tolerence' is not known; did you mean 'tolerance'?"),
        (DENSITY.replace("tolerance =", "witihn ="), "'witihn' is not known; an entry has "),
        (DENSITY.replace('tolerance = "2 %"', ""), "'tolerance' is missing; expected the tolerance"),
        (DENSITY.replace('value = "6.7 lb/gal"', ""), "'value' is missing; write it, or name the constant"),
        (DENSITY + "typo = 1", "'typo' is not known; an entry has "),
        (DENSITY.replace('"6.7 lb/gal"', "6.7"), "value is 6.7; expected the fixed density, for example '6.7 lb/gal'"),
        (DENSITY.replace('"6.7 lb/gal"', '"6.7 lb"'), "[[density]] 'uplift': value is '6.7 lb'; expected"),
        (DENSITY.replace("Jet A", "Jet C"), "unknown fuel 'Jet C'; did you mean"),
        (DENSITY.replace('["0 degC", "30 degC"]', '"0 degC"'), "between is '0 degC'; expected lowest and highest"),
        (DENSITY.replace('["0 degC", "30 degC"]', "[0, 30]"), "between is [0, 30]; expected"),
        (DENSITY.replace('["0 degC", "30 degC"]', '["-60 degC", "30 degC"]'), "is outside its range, -40 to 100 °C"),
        (DENSITY.replace('"2 %"', '"2"'), "tolerance is '2'; expected"),
        (DENSITY.replace('"uplift"', '" "'), "name is ' '; expected"),
        (FACTOR.replace("3.785", "true"), "value is True; expected the factor, for example 3.785412"),
        (FACTOR.replace("3.785", '"3.785"'), "value is '3.785'; expected the factor"),
        (FACTOR.replace('"gal"', '"galon"'), "did you mean 'gal"),
        (FACTOR.replace('"L"', '"kg"'), "under [[density]] as value = '3.785 kg/gal'"),
        (K_FACTOR.replace("43187 pulse/gal", "43187"), "calibrated is '43187'; expected"),
        (K_FACTOR.replace("43187 pulse/gal", "0 pulse/gal"), "calibrated is '0 pulse/gal'; expected"),
    ],
)
def test_a_wrong_file_says_where_and_what_would_be_right(text, message):
    with pytest.raises(FileError) as refusal:
        check_text(text, name="shop.toml")
    assert str(refusal.value).startswith("shop.toml:")
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
        ("1" * 5000, "assumptions: is not TOML: "),
        ("0x" + "f" * 5000, "value is int of too many digits; expected the factor, for example 3.785412"),
        ('"' + "1" * 5000 + '"', f"value is '{'1' * 56}...; expected the factor, for example 3.785412"),
    ],
    ids=["decimal", "hexadecimal", "text"],
)
def test_a_number_of_thousands_of_digits_is_refused(value, message):
    text = f'[[factor]]\nname = "x"\ntolerance = "1 %"\nfrom = "gal"\nto = "L"\nvalue = {value}\n'
    with pytest.raises(FileError) as refusal:
        check_text(text)
    assert message in str(refusal.value)


def test_numbers_of_any_size_are_judged_or_refused():
    k_factor = '[[k_factor]]\nname = "x"\ntolerance = "1 %"\ncalibrated = "1e30 pulse/gal"\nentered = "1 pulse/gal"\n'
    (judged,) = check_text(k_factor).outcomes
    assert (judged.holds, judged.deviation) == (False, -1.0)
    assert ", so +1e+32 % is indicated" in judged.remark
    factor = '[[factor]]\nname = "x"\ntolerance = "1 %"\nfrom = "mL"\nto = "bbl^3/L^2"\nvalue = 1e300\n'
    with pytest.raises(FileError, match=r"value is 1e\+300, expected .*; they differ too much to compare"):
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
    with (tmp_path / "huge.toml").open("wb") as huge:  # 20 MB are read
        huge.truncate(20_000_000)
    with pytest.raises(FileError, match="is not TOML"):
        check_file(tmp_path / "huge.toml")
    with (tmp_path / "huge.toml").open("wb") as huge:
        huge.truncate(20_000_001)
    with pytest.raises(FileError, match="is larger than 20 MB"):
        check_file(tmp_path / "huge.toml")


def test_what_is_no_path_or_text_is_refused():
    for call in (lambda: check_file(None), lambda: check_text(None), lambda: check_file(EXAMPLE, root=3)):
        with pytest.raises(FuelUnitsError):
            call()


@pytest.mark.skipif(os.name != "posix", reason="pipes are made by a POSIX call")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(FileError, match="it is not a file"):
        check_file(tmp_path / "pipe.toml")


def test_exit_codes(tmp_path, capsys):
    path = tmp_path / "shop.toml"
    for text, code in ((FACTOR, 0), (FACTOR.replace("3.785", "4.546"), 1), ("x = 1", 2)):
        path.write_text(text, encoding="utf-8")
        assert main(["check", str(path)]) == code
        printed = capsys.readouterr()
        assert printed.err == ""
        assert ("not known" in " ".join(printed.out.split())) == (code == 2)
    path.write_text(FACTOR, encoding="utf-8")
    assert main(["check", "--format", "json", str(path)]) == 0
    assert json.loads(capsys.readouterr().out)["entries"][0]["holds"] is True
    with pytest.raises(SystemExit) as stop:
        main(["check", "--format", "words"])
    assert stop.value.code == 2


def test_every_problem_is_reported_in_one_run_with_its_line():
    text = DENSITY.replace("Jet A", "Jet C") + FACTOR.replace("to =", "too =") + K_FACTOR.replace("0.1 %", "0.1")
    with pytest.raises(FileError) as refusal:
        check_text(text + FACTOR, name="shop.toml")
    starts = [line.split(" ")[0] for line in str(refusal.value).splitlines()]
    lines = text.splitlines()
    wrong = [lines.index(f"{key} = {value}") + 1 for key, value in (("too", '"L"'), ("tolerance", '"0.1"'))]
    assert starts == [f"shop.toml:{line}:" for line in (*wrong, lines.index("[[density]]") + 1)]


def test_each_entry_has_the_line_of_its_heading_and_a_wrong_one_that_of_the_first():
    assert [each.line for each in check_text(3 * FACTOR).outcomes] == [2, 9, 16]
    with pytest.raises(FileError, match=r"^assumptions:2: 'facter'"):
        check_text("\n[[facter]]\n[[facter]]\n")


def test_a_string_over_several_lines_does_not_move_the_lines():
    text = '[about]\nwords = """\n[[factor]]\n"""\n' + FACTOR.replace("to =", "too =")
    with pytest.raises(FileError, match=r"shop.toml:10: .*'too' is not known; did you mean 'to'"):
        check_text(text, name="shop.toml")


def test_the_table_of_a_pyproject(tmp_path, monkeypatch, capsys):
    path = tmp_path / "pyproject.toml"
    path.write_text("[project]\nname = 'x'\n" + FACTOR.replace("[[factor]]", "[[tool.fuelunits.factor]]"), "utf-8")
    report = check_file(path)
    assert (report.passed, report.outcomes[0].line) == (True, 4)
    monkeypatch.chdir(tmp_path)
    assert main(["check"]) == 0
    path.write_text("[tool]\nfuelunits = 1\n", "utf-8")
    assert main(["check"]) == 2
    assert "is not a table" in capsys.readouterr().out
    for text in ("", "[[tool.fuelunits.fctor]]\n"):
        path.write_text(text, "utf-8")
        assert main(["check"]) == 2
        assert "[[tool.fuelunits.factor]]" in capsys.readouterr().out
    path.unlink()
    assert main(["check"]) == 2
    assert "name a file" in capsys.readouterr().err


def test_as_a_module():
    done = subprocess.run(
        [sys.executable, "-m", "fuelunits", "check", str(EXAMPLE)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0
    assert done.stderr == ""
    assert "passed" in done.stdout


def test_a_byte_order_mark_is_not_read(tmp_path):
    entry = FACTOR.replace("value = 3.785", 'where = "fuel.h:GAL_TO_L"')
    (tmp_path / "a.toml").write_text(MARK + entry, encoding="utf-8")
    (tmp_path / "fuel.h").write_text(f"{MARK}GAL_TO_L = 3.785\n", encoding="utf-8")
    assert check_file(tmp_path / "a.toml").passed
    assert check_text(MARK + FACTOR).outcomes[0].line == check_text(FACTOR).outcomes[0].line


def test_a_heading_that_is_not_found_in_the_text_has_no_line():
    with pytest.raises(FileError, match=r"^assumptions: factor is not a list"):
        check_text('"f\\u0061ctor" = 1')
    with pytest.raises(FileError, match=r"^assumptions: has no entries"):
        check_text("")
