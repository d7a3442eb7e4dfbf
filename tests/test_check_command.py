"""The command that checks files of assumptions: several files, places, JSON, JUnit XML, speed of reading."""

import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

import fuelunits as fu
from fuelunits.__main__ import main
from fuelunits.checks.file import check_files, check_text
from fuelunits.checks.output import FORMATS, junit, wrapped
from fuelunits.checks.output import text as text_of

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
    assert printed.err == ""
    assert printed.out.count("Engineering aid") == 1
    assert max(map(len, printed.out.splitlines())) <= 80


def test_a_file_with_brackets_in_its_name(shop):
    (shop / "[1].toml").write_text(FACTOR.format(where="x", value=3.785), encoding="utf-8")
    named, missing = check_files(["[1].toml", "none*"])
    (problem,) = missing.problems
    assert named.passed
    assert "cannot be read" in problem.message
    assert (problem.line, named.rows()) == (0, named.entries())


def test_a_file_is_checked_once_and_foreign_folders_are_passed_over(shop):
    assert len(check_files(["a/good.toml", "./a/good.toml", str(shop / "a" / "good.toml")])) == 1
    for folder in ("node_modules", "venv/lib", "third_party"):
        (shop / folder).mkdir(parents=True)
        (shop / folder / "good.toml").write_text(FACTOR.format(where="x", value=1), encoding="utf-8")
    assert len(check_files(["**/good.toml"], exclude=["third_party"])) == 2
    assert not any(each.passed for each in check_files(["*_modules/good.toml"]))


@pytest.mark.parametrize("folder", [".config/fuel", ".github", "build/fuel", "dist", "src/dist/x", ".hidden"])
def test_a_pattern_finds_files_in_hidden_folders_and_in_build(folder, tmp_path, monkeypatch, capsys):
    """The imperial gallon for the US gallon, 20 % off, in folders that git keeps like any other."""
    monkeypatch.chdir(tmp_path)
    for each, value in (("app", 3.785), (folder, 4.546)):
        Path(each).mkdir(parents=True)
        Path(each, "fuel.toml").write_text(FACTOR.format(where="x", value=value), encoding="utf-8")
    assert main(["check", "**/fuel.toml"]) == 1
    assert f"{folder}/fuel.toml" in Path(capsys.readouterr().out.replace("\n", "")).as_posix()


@pytest.mark.usefixtures("shop")
def test_a_failing_entry_is_printed_with_its_place_and_long_lines_go_on_with_an_indent():
    Path("none.toml").write_text(FACTOR.format(where="", value=4.546).replace('where = ""\n', ""), encoding="utf-8")
    printed = text_of(check_files(["failing.toml", "none.toml"]))
    assert "\n    a sheet (failing.toml:2)\n" in printed
    assert "\n    assumed (none.toml:2)\n" in printed
    first, *others = wrapped(20 * "a word-of-four-parts ")
    assert (first[0], {each[:3] for each in others} <= {"  a", "  w"}, len(others) > 3) == ("a", True, True)
    assert all(word in ("a", "word-of-four-parts") for each in (first, *others) for word in each.split())
    assert all(re.match("    [aw]", each) for each in wrapped(20 * "a word-of-four-parts ", "    "))


@pytest.mark.usefixtures("shop")
def test_standard_input(monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", io.StringIO(FACTOR.format(where="x", value=4.546)))
    assert main(["check", "-"]) == 1
    assert "imperial gallon" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("root", [None, "sub"])
def test_places_of_standard_input_begin_in_the_working_folder_or_the_root(root, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / (root or ".")).mkdir(exist_ok=True)
    (tmp_path / (root or ".") / "x.h").write_text("#define GAL_TO_L 3.785\n", encoding="utf-8")
    entry = '[[factor]]\nname = "x"\nwhere = "x.h:GAL_TO_L"\nfrom = "gal"\nto = "L"\ntolerance = "0.1 %"\n'
    monkeypatch.setattr(sys, "stdin", io.StringIO(entry))
    (report,) = check_files(["-"], root=root)
    assert [each.place.line for each in report.outcomes if each.holds] == [1]
    (case,) = ElementTree.fromstring(junit([report]).encode()).iter("testcase")
    assert case.get("file") == Path(root or ".", "x.h").as_posix()


@pytest.mark.usefixtures("shop")
def test_a_wrong_file_beside_a_good_one_does_not_pass():
    good, wrong = check_files(["a/good.toml", "wrong.toml"])
    assert (good.passed, wrong.passed) == (True, False)
    assert [(problem.file, problem.line) for problem in wrong.problems] == [("wrong.toml", 1)]
    assert "not passed" in str(wrong)


@pytest.mark.usefixtures("shop")
def test_good_entries_beside_a_wrong_one_are_judged():
    text = (
        FACTOR.format(where="x", value=4.546)
        + FACTOR.format(where="x", value='"a"')
        + FACTOR.format(where="x", value=1)
    )
    Path("mixed.toml").write_text(text, encoding="utf-8")
    (report,) = check_files(["mixed.toml"])
    assert (len(report.outcomes), len(report.problems)) == (2, 1)


@pytest.mark.parametrize("form", ["json", "junit", "sarif"])
def test_a_record_is_not_printed_into_a_format_that_a_program_reads(form, capsys):
    assert main(["check", "--format", form, "job.json"]) == 2
    printed = capsys.readouterr()
    assert (printed.out, "by itself" in printed.err) == ("", True)


@pytest.mark.usefixtures("shop")
def test_json_has_one_shape_for_one_file_and_for_several(capsys):
    assert main(["check", "--format", "json", "**/good.toml", "failing.toml", "wrong.toml"]) == 2
    several = json.loads(capsys.readouterr().out)
    assert main(["check", "--format", "json", "a/good.toml"]) == 0
    one = json.loads(capsys.readouterr().out)
    assert one.keys() == several.keys()
    assert (one["passed"], several["passed"]) == (True, False)
    assert [file["passed"] for file in several["files"]] == [True, True, False, False]
    assert several["problems"][0]["file"] == "wrong.toml"
    assert several["entries"][2]["file"] == "failing.toml"
    assert "imperial gallon for US gallon" in several["entries"][2]["remark"]


@pytest.mark.usefixtures("shop")
def test_junit(capsys):
    expected = ROOT / "docs" / "examples" / "shop_assumptions.toml"
    assert main(["check", "**/good.toml", "failing.toml", "wrong.toml", str(expected), "--format", "junit"]) == 2
    root = ElementTree.fromstring(capsys.readouterr().out.encode())
    assert root.tag == "testsuites"
    assert {name: root.get(name) for name in ("tests", "failures", "errors", "skipped")} == {
        "tests": "16",
        "failures": "1",
        "errors": "1",
        "skipped": "2",
    }
    assert len(root.findall("testsuite")) == 5
    assert (
        sum("sign-off" in (suite.findtext("system-out") or "") for suite in root) == 4
    )  # the caution, where it has entries
    (failure,) = root.iter("failure")
    assert "imperial gallon for US gallon" in failure.text
    (error,) = root.iter("error")
    assert "'x' is not known" in error.get("message")
    assert all(case.get("name") and case.get("classname") for case in root.iter("testcase"))


@pytest.mark.parametrize(
    ("value", "more"), [("5.92 lb/gal", ""), ("6.7 lb/gal", ""), ("6.7 lb/gal", 'expected_to_fail = "kept"')]
)
def test_every_output_says_that_a_figure_is_a_stand_in(value, more):
    """Whether the assumption holds, fails or fails as expected; UL91 stands on a figure of alkylate."""
    entry = f'name = "x"\nvalue = "{value}"\nfuel = "UL91"\nbetween = ["14 degC", "16 degC"]\ntolerance = "2 %"\n'
    report = check_text(f"[[density]]\n{entry}{more}")
    assert "stand-in" in " ".join(str(report).split())
    for output in (junit, text_of) if report.passed else FORMATS.values():
        assert "stand-in" in " ".join(output([report]).split()), output


@example("::stop-commands::x")
@given(st.text(st.characters(codec="utf-8", exclude_characters="\x7f"), min_size=1).filter(str.strip))
def test_any_name_stays_on_one_line_and_is_xml(name):
    text = FACTOR.format(where="x", value=4.546).replace('"litres"', json.dumps(name, ensure_ascii=False))
    report = check_text(text)
    assert max(map(len, text_of([report]).split("\n"))) <= 80
    assert sum(line.lstrip().startswith("::") for line in FORMATS["github"]([report]).splitlines()) == 1
    assert not sarif_problems(json.loads(FORMATS["sarif"]([report])))
    assert ElementTree.fromstring(junit([report]).encode()).get("failures") == "1"


# ---- formats of continuous integration


@pytest.fixture
def spoilt(shop):
    """Return a folder whose source holds an imperial gallon on its second line."""
    (shop / "src").mkdir()
    (shop / "src" / "fuel.h").write_text("// factors\n#define GAL_TO_L 4.546\n", encoding="utf-8")
    entry = FACTOR.format(where="src/fuel.h:GAL_TO_L", value=0).replace("value = 0\n", "")
    (shop / "guard.toml").write_text(entry, encoding="utf-8")
    return shop


@pytest.mark.usefixtures("spoilt")
def test_annotations_stand_on_the_line_of_the_source_and_of_the_entry(monkeypatch, capsys):
    monkeypatch.setenv("GITHUB_ACTIONS", "true")
    assert main(["check", "guard.toml", "wrong.toml"]) == 2
    errors = [line for line in capsys.readouterr().out.splitlines() if line.startswith("::error ")]
    places = [re.match(r"::error file=([^,]*),line=(\d+),", line).groups() for line in errors]
    assert places == [("guard.toml", "2"), ("src/fuel.h", "2"), ("wrong.toml", "1")]
    assert "imperial gallon for US gallon" in errors[0]
    assert "%25" in errors[0]


@pytest.mark.usefixtures("spoilt")
def test_a_name_that_is_missing_is_annotated_on_the_first_line(monkeypatch, capsys):
    monkeypatch.setenv("GITHUB_ACTIONS", "true")
    Path("src/fuel.h").write_text("// factors\n", encoding="utf-8")
    assert main(["check", "guard.toml"]) == 1
    assert "::error file=src/fuel.h,line=1,title=litres::" in capsys.readouterr().out


@pytest.mark.usefixtures("spoilt")
def test_json_is_indented_and_each_rule_says_what_its_entries_are(capsys):
    for format_ in ("json", "sarif"):
        main(["check", "--format", format_, "guard.toml"])
        out = capsys.readouterr().out
        assert out == json.dumps(json.loads(out), indent=2) + "\n"
    rules = json.loads(out)["runs"][0]["tool"]["driver"]["rules"]
    words = {rule["id"]: rule["shortDescription"]["text"] for rule in rules}
    assert words["factor"] == "A factor from one unit to another."
    assert all(re.fullmatch(r"[A-Z][^\n]+\.", each) for each in words.values())


@pytest.mark.usefixtures("spoilt")
def test_sarif_names_the_line_of_the_source(capsys):
    assert main(["check", "--format", "sarif", "guard.toml", "wrong.toml"]) == 2
    (run,) = json.loads(capsys.readouterr().out)["runs"]
    assert {rule["id"] for rule in run["tool"]["driver"]["rules"]} >= {each["ruleId"] for each in run["results"]}
    place = run["results"][0]["locations"][0]["physicalLocation"]
    assert (place["artifactLocation"]["uri"], place["region"]["startLine"]) == ("src/fuel.h", 2)
    assert run["results"][1]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == "wrong.toml"
    related = [
        [each["physicalLocation"]["artifactLocation"]["uri"] for each in result.get("relatedLocations", ())]
        for result in run["results"]
    ]
    assert related == [["guard.toml"], []]


SARIF = json.loads((Path(__file__).parent / "sarif" / "sarif-2.1.0-rtm.5.json").read_text(encoding="utf-8"))


def sarif_problems(log):
    """Return what the schema of SARIF 2.1.0 (OASIS) says against a log; sarif/README.txt says where it comes from."""
    jsonschema = pytest.importorskip("jsonschema")
    checker = jsonschema.Draft4Validator.FORMAT_CHECKER
    return list(jsonschema.Draft4Validator(SARIF, format_checker=checker).iter_errors(log))


@pytest.mark.usefixtures("spoilt")
def test_sarif_is_valid_by_its_schema(capsys):
    expected = str(ROOT / "docs" / "examples" / "shop_assumptions.toml")
    for files in (["guard.toml", "wrong.toml", "none*.toml", "failing.toml", expected], ["a/good.toml"]):
        main(["check", "--format", "sarif", *files])
        log = json.loads(capsys.readouterr().out)
        assert sarif_problems(log) == []
        assert bool(log["runs"][0]["results"]) == (files != ["a/good.toml"])
    for change in ({"version": "2.0.0"}, {"runs": [{"results": []}]}):
        assert sarif_problems(log | change)


@pytest.mark.usefixtures("spoilt")
def test_junit_and_json_split_the_place(capsys):
    assert main(["check", "--format", "junit", "guard.toml"]) == 1
    (case,) = ElementTree.fromstring(capsys.readouterr().out.encode()).iter("testcase")
    assert (case.get("file"), case.get("line")) == ("src/fuel.h", "2")
    assert main(["check", "--format", "json", "guard.toml"]) == 1
    (entry,) = json.loads(capsys.readouterr().out)["entries"]
    assert entry["place"] == {"path": "src/fuel.h", "line": 2, "name": "GAL_TO_L"}
    assert (entry["file"], entry["line"]) == ("guard.toml", 2)


# ---- exit codes


@pytest.mark.usefixtures("shop")
def test_a_failure_of_the_program_has_a_code_of_its_own(monkeypatch, capsys):
    monkeypatch.setattr("fuelunits.checks.file._judge_text", lambda *_: 1 / 0)
    assert main(["check", "a/good.toml"]) == 3
    assert "ZeroDivisionError" in capsys.readouterr().err


@pytest.mark.skipif(os.name != "posix", reason="pipes that close early are POSIX")
def test_a_broken_pipe_is_no_failed_entry(shop):
    command = [sys.executable, "-m", "fuelunits", "check", str(shop / "a" / "good.toml")]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        running.stdout.close()
        errors = running.stderr.read()
        assert (running.wait(), errors) == (0, b"")


def test_version_and_help(monkeypatch, capsys):
    monkeypatch.setenv("COLUMNS", "80")
    for arguments, words in (
        (["--version"], fu.__version__),
        (["check", "--help"], "exit codes"),
        (["verify", "--help"], "published value"),
        (["schema", "--help"], "JSON Schema"),
        (["--help"], "examples"),
    ):
        with pytest.raises(SystemExit) as stop:
            main(arguments)
        assert stop.value.code == 0
        printed = capsys.readouterr().out
        assert words in printed
        assert max(map(len, printed.splitlines())) <= 80


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
    (shop / "sheets").mkdir()
    (shop / "sheets" / "fuel_assumptions.toml").write_text(FACTOR.format(where="x", value=3.785), encoding="utf-8")
    assert main(["check", *json.loads(keys["args"])]) == 0
    assert "sheets/fuel_assumptions.toml: 1 entries, 1 hold" in capsys.readouterr().out.replace("\\", "/")


def test_each_problem_of_a_file_is_a_case_of_its_own(shop):
    (shop / "two.toml").write_text("x = 1\ny = 2\n", encoding="utf-8")
    report = check_files(["two.toml"])
    cases = list(ElementTree.fromstring(junit(report).encode()).iter("testcase"))
    assert [each.get("line") for each in cases] == ["1", "2"]
    assert [[each.tag for each in case] for case in cases] == [["error"], ["error"]]
    (run,) = json.loads(FORMATS["sarif"](report))["runs"]
    assert all(rule["shortDescription"]["text"] for rule in run["tool"]["driver"]["rules"])
    places = [each["locations"][0]["physicalLocation"]["region"]["startLine"] for each in run["results"]]
    assert places == [1, 2]


def test_what_is_said_of_a_fuel_is_said_once_in_a_file():
    """TS-1 has figures from memory; two of its entries hold, and the limits of one batch are said of its own entry."""
    entry = '[[density]]\nname = "{}"\nvalue = "{} kg/L"\nfuel = "TS-1"\nbetween = ["0 degC", "30 degC"]\n'
    text = "".join(f'{entry.format(name, value)}tolerance = "4 %"\n' for name, value in (("a", 0.80), ("b", 0.801)))
    report = check_text(text)
    remarks = report.report().remarks
    assert sum("from memory" in each for each in remarks) == sum("no upper limit" in each for each in remarks) == 1
    assert [each[0] for each in remarks if "may be off" in each] == ["a", "b"]
    assert text_of([report]).count("no upper limit") == 1
    assert all("from memory" in str(each) for each in report.outcomes)  # each annotation is read alone
