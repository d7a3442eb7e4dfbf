"""The command that checks files of assumptions: several files, places, JSON, JUnit XML, colours, speed of reading."""

import json
import os
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelunits.__main__ import main
from fuelunits.checks.file import check_text
from fuelunits.checks.files import FilesReport, check_files
from fuelunits.checks.junit import junit
from fuelunits.checks.where import Place, numbers_in
from fuelunits.errors import FileError

ROOT = Path(__file__).parents[1]
FACTOR = """
[[factor]]
name = "litres"
where = "{where}"
value = {value}
from = "gal"
to = "L"
tolerance = "0.02 %"
"""


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """Give a folder with two good files, one whose entry fails, and one that is wrong."""
    monkeypatch.chdir(tmp_path)
    for name, value in (("a/good.toml", 3.785), ("b/deep/good.toml", 3.7854), ("failing.toml", 4.546)):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(FACTOR.format(where="a sheet", value=value), encoding="utf-8")
    (tmp_path / "wrong.toml").write_text("x = 1", encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("arguments", "code", "files"),
    [
        (["a/good.toml"], 0, 1),
        (["a/good.toml", "b/deep/good.toml"], 0, 2),
        (["**/good.toml"], 0, 2),
        (["**/good.toml", "a/good.toml", "a/*.toml"], 0, 2),
        (["**/good.toml", "failing.toml"], 1, 3),
        (["*.toml"], 2, 1),
        (["**/*.toml"], 2, 3),
        (["wrong.toml"], 2, 0),
        (["missing.toml", "a/good.toml"], 2, 1),
        (["none*.toml"], 2, 0),
    ],
)
@pytest.mark.usefixtures("shop")
def test_several_files_and_patterns(arguments, code, files, capsys):
    assert main(["check", *arguments]) == code
    printed = capsys.readouterr()
    assert printed.out.count(" entries, ") == files
    assert ("fuelunits: " in printed.err) == (code == 2)
    assert printed.out.count("Engineering aid") == (files > 0)


def test_a_file_with_brackets_in_its_name(shop):
    (shop / "[1].toml").write_text(FACTOR.format(where="x", value=3.785), encoding="utf-8")
    assert check_files(["[1].toml"]).passed
    with pytest.raises(FileError, match="no file fits 'none"):
        check_files(["none*"])


@pytest.mark.usefixtures("shop")
def test_a_wrong_file_beside_a_good_one_does_not_pass():
    report = check_files(["a/good.toml", "wrong.toml"])
    assert not report.passed
    assert str(report) == report.text()
    assert list(report.wrong) == ["wrong.toml"]


@pytest.mark.usefixtures("shop")
def test_json_has_one_shape_for_one_file_and_for_several(capsys):
    assert main(["check", "--json", "**/good.toml", "failing.toml", "wrong.toml"]) == 2
    several = json.loads(capsys.readouterr().out)
    assert main(["check", "--json", "a/good.toml"]) == 0
    one = json.loads(capsys.readouterr().out)
    assert one.keys() == several.keys()
    assert (one["passed"], several["passed"]) == (True, False)
    assert [file["passed"] for file in several["files"]] == [True, True, False]
    assert several["wrong_files"][0]["file"] == "wrong.toml"
    assert several["entries"][2]["file"] == "failing.toml"
    assert "may be imperial gallon for US gallon" in several["entries"][2]["remark"]


@pytest.mark.usefixtures("shop")
def test_junit(tmp_path, capsys):
    report = tmp_path / "report.xml"
    expected = ROOT / "docs" / "examples" / "shop_assumptions.toml"
    assert main(["check", "**/good.toml", "failing.toml", "wrong.toml", str(expected), "--junit", str(report)]) == 2
    assert "FAILS" in capsys.readouterr().out
    root = ElementTree.parse(report).getroot()
    assert root.tag == "testsuites"
    assert {name: root.get(name) for name in ("tests", "failures", "errors", "skipped")} == {
        "tests": "16",
        "failures": "1",
        "errors": "1",
        "skipped": "2",
    }
    assert len(root.findall("testsuite")) == 5
    (failure,) = root.iter("failure")
    assert "imperial gallon for US gallon" in failure.text
    (error,) = root.iter("error")
    assert "'x' is not known" in error.get("message")
    assert all(case.get("name") and case.get("classname") for case in root.iter("testcase"))


@pytest.mark.usefixtures("shop")
def test_junit_that_cannot_be_written(capsys):
    assert main(["check", "a/good.toml", "--junit", "nowhere/report.xml"]) == 2
    assert "nowhere/report.xml: cannot be written" in capsys.readouterr().err


@given(st.text(st.characters(codec="utf-8", exclude_characters="\x7f"), min_size=1).filter(str.strip))
def test_any_name_stays_on_one_line_and_is_xml(name):
    text = FACTOR.format(where="x", value=4.546).replace('"litres"', json.dumps(name, ensure_ascii=False))
    report = check_text(text)
    assert len(str(report).split("\n")) == 3
    assert ElementTree.fromstring(junit(FilesReport((report,), {})).encode()).get("failures") == "1"


# ---- places


def lines(path, *texts):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(texts) + "\n", encoding="utf-8")


def outcome(shop, where, value=3.785, root=None):
    (shop / "shop.toml").write_text(FACTOR.format(where=where, value=value), encoding="utf-8")
    (report,) = check_files([str(shop / "shop.toml")], root=root).files
    return report.outcomes[0]


def test_a_place_is_looked_up_beside_the_file_or_below_the_root(shop):
    lines(shop / "src" / "sheet.py", "# litres", "L_PER_GAL = 3.785  # US", "N = 16.3785")
    assert outcome(shop, "src/sheet.py:2").as_expected
    assert outcome(shop, "sheet.py:2", root=shop / "src").as_expected
    moved = outcome(shop, "src/sheet.py:1")
    assert (moved.holds, moved.as_expected, moved.verdict) == (True, False, "MISPLACED")
    assert moved.misplaced == "line 1 of src/sheet.py does not contain 3.785; it stands on line 2"
    assert "nor does any other of its lines" in outcome(shop, "src/sheet.py:3", value=3.7854).misplaced
    assert "nor does any" not in outcome(shop, "src/sheet.py:99").misplaced
    assert outcome(shop, "src/gone.py:2").misplaced == "src/gone.py cannot be read: No such file or directory"
    assert outcome(shop, "src:2").misplaced == "src cannot be read: it is no file"
    wrong_and_moved = outcome(shop, "src/sheet.py:1", value=4.546)
    assert (wrong_and_moved.verdict, bool(wrong_and_moved.misplaced)) == ("FAILS", True)


def test_no_file_outside_the_root_is_opened(shop, tmp_path_factory):
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    lines(elsewhere / "secret.py", "L_PER_GAL = 3.785")
    lines(shop / "inside" / "sheet.py", "L_PER_GAL = 3.785")
    (shop / "inside" / "link.py").symlink_to(elsewhere / "secret.py")
    assert outcome(shop, "inside/../inside/sheet.py:1").as_expected
    for where in (f"{elsewhere}/secret.py:1", f"../{elsewhere.name}/secret.py:1", "inside/link.py:1"):
        assert "is not opened" in outcome(shop, where).misplaced


@pytest.mark.skipif(os.name != "posix", reason="links in a circle and pipes are made by POSIX calls")
def test_what_is_no_file_is_neither_waited_for_nor_followed(shop):
    (shop / "circle").symlink_to(shop / "circle")
    os.mkfifo(shop / "pipe")
    assert outcome(shop, "circle:1").misplaced.startswith("circle cannot be read: ")
    assert outcome(shop, "pipe:1").misplaced == "pipe cannot be read: it is no file"


def test_a_line_of_thousands_of_digits_holds_no_number(shop):
    lines(shop / "long.txt", "1" * 5000, "3.785")
    assert outcome(shop, "long.txt:2").as_expected
    assert "it stands on line 2" in outcome(shop, "long.txt:1").misplaced


def test_a_misplaced_entry_that_fails_as_expected_is_not_as_stated(shop):
    lines(shop / "sheet.py", "L_PER_GAL = 3.785")
    text = FACTOR.format(where="sheet.py:1", value=4.546) + 'expected_to_fail = "kept"\n'
    assert not check_text(text, root=shop).passed
    assert check_text(text).passed


@pytest.mark.parametrize(
    "where",
    [
        "job card 2031",
        "job card: 17",
        "sheet.py, line 12",
        "sheet.py",
        "https://example.org:8080",
        "sheet.py:0",
        "a b.py:3",
    ],
)
def test_other_text_is_no_place(shop, where):
    assert Place.read(where) is None
    assert outcome(shop, where).as_expected


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("K = 43_186", ["43186"]),
        ("K = 43186.0; J = 4.3186e4 / 1E-3", ["43186", "0.001"]),
        ('"6.70 lb/gal", 6.7lb, 6.7f', ["6.7"]),
        ("x6.7 v1.2.3 16.7", ["16.7"]),
        ("f(3.785,.5)", ["3.785", "0.5"]),
        ("is 6.7.", ["6.7"]),
        ("k43186 = 0x1F", ["0"]),
        ("", []),
    ],
)
def test_numbers_on_a_line(line, found):
    assert numbers_in(line) == {Fraction(number) for number in found}


# ---- colours


class Terminal:
    encoding = "utf-8"

    def __init__(self):
        self.text = ""

    def write(self, text):
        self.text += text

    def flush(self):
        pass

    def isatty(self):
        return True


@pytest.mark.parametrize(
    ("environment", "coloured"),
    [({}, True), ({"NO_COLOR": "1"}, False), ({"NO_COLOR": ""}, False), ({"TERM": "dumb"}, False)],
)
@pytest.mark.usefixtures("shop")
def test_colours_are_for_terminals_without_no_color(environment, coloured, monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    terminal = Terminal()
    monkeypatch.setattr(sys, "stdout", terminal)
    assert main(["check", "a/good.toml", "failing.toml"]) == 1
    assert ("\033[31m" in terminal.text) == coloured
    assert ("\033[32m" in terminal.text) == coloured


@pytest.mark.usefixtures("shop")
def test_no_colours_in_a_log(capsys):
    main(["check", "failing.toml"])
    assert "\033" not in capsys.readouterr().out


def test_columns_are_aligned():
    text = FACTOR.format(where="x", value=3.785) + FACTOR.format(where="x", value=4.546)
    lines = str(check_text(text)).split("\n")
    assert lines[0].index("litres [x]") == lines[1].index("litres [x]")
    assert lines[0].index(" % of") == lines[1].index(" % of")


def test_an_output_that_cannot_hold_a_letter(shop):
    (shop / "letters.toml").write_text(FACTOR.format(where="ведомость", value=3.785), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "fuelunits", "check", str(shop / "letters.toml")],
        cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert b"????" in done.stdout


# ---- the hook


def test_the_hook_runs_the_command(shop, capsys):
    """The keys are those of pre-commit, an open tool; the file is YAML, of which only plain lines are read here."""
    text = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")
    keys = dict(line.strip(" -").split(": ", 1) for line in text.splitlines() if ": " in line and "#" not in line)
    assert (keys["language"], keys["pass_filenames"], keys["always_run"]) == ("python", "false", "true")
    assert keys["entry"] == "python -m fuelunits check"
    lines(shop / "sheets" / "fuel_assumptions.toml", FACTOR.format(where="x", value=3.785))
    assert main(["check", *json.loads(keys["args"])]) == 0
    assert "sheets/fuel_assumptions.toml: 1 entries, 1 hold" in capsys.readouterr().out.replace("\\", "/")
