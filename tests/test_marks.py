"""Wherever a figure from memory, a stand-in, a midpoint or a digitised point decides what is printed, it is marked.

What must be said is read here from the data files themselves, figure by figure.
"""

import re
import tomllib
from html import unescape
from importlib.resources import files

import pytest

import fuelunits as fu
from fuelunits.checks.file import check_text
from fuelunits.checks.output import FORMATS
from fuelunits.fuels.properties import permittivity

GRADES = tomllib.loads((files("fuelunits.fuels") / "grades.toml").read_text(encoding="utf-8"))["grade"]
SOURCES = tomllib.loads((files("fuelunits") / "sources.toml").read_text(encoding="utf-8"))
NAMES = {"typical": "typical", "low": "at least", "high": "at most"}
WORDS = {"typical": "typical density", "low": "lower limit", "high": "upper limit", "expansion": "expansion"}
RANGE = ("10 degC", "20 degC")


def _doubts(grade):
    """Return what must be said of the typical density, the limits and the expansion of a grade."""
    said = {"expansion": grade.get("expansion_doubt", "")}
    for key in NAMES.keys() & grade.keys():
        recalled = "from memory" * (SOURCES[grade[key]["source"]]["obtained"] == "memory")
        said[key] = "; ".join(filter(None, (grade[key].get("doubt", ""), recalled)))
    return said


def _density(name):
    return f"{fu.fuel(name).density_kg_m3(15.0)!r} kg/m^3"


def _check(name):
    return fu.check_density(_density(name), name, between=RANGE, tolerance="50 %")


def _budget(name):
    indicator = fu.Indicator("11412 pulse/L", reads="kg/h", fixed_density=_density(name))
    return indicator.error_budget(name, flow="60 kg/h", between=RANGE)


def _tank():
    return fu.TankTable("invented tank", [("0 mm", "0 L"), ("150 mm", "60 L"), ("300 mm", "118 L")])


def _gauge(name):
    return fu.CapacitanceGauge(_tank(), [fu.Probe("48 pF", "0 mm", "300 mm")], name, "15 degC")


def _sheet(name):
    return fu.CapacitanceSheet(_gauge(name), ["60 L"], "2 L", reads="L", box=fu.CapacitanceBox("0.1 pF", "0.1 %"))


def _file(name, how):
    entry = f'[[density]]\nname = "invented"\nvalue = "{_density(name)}"\nfuel = "{name}"\ntolerance = "50 %"\n'
    return FORMATS[how]([check_text(f'{entry}between = ["{RANGE[0]}", "{RANGE[1]}"]\n')])


EVERY = ("typical", "low", "high", "expansion")
OF_TYPICAL = ("typical", "expansion")
REPORTS = {
    "grade": (lambda name: fu.fuel(name), EVERY),
    "check": (lambda name: _check(name), EVERY),
    "error budget": (lambda name: _budget(name), EVERY),
    "text of a file": (lambda name: _file(name, "text"), EVERY),
    "JUnit line": (lambda name: _file(name, "junit"), EVERY),
    "measured batch": (lambda name: fu.fuel(name).measured(_density(name), at="15 degC"), ("low", "high", "expansion")),
    "room left": (lambda name: _tank().room_left("60 L", name, at="10 degC", to="20 degC"), OF_TYPICAL),
    "blend": (lambda name: fu.blend({name: 0.5, fu.fuel(name): 0.5}), OF_TYPICAL),
    "permittivity": (lambda name: permittivity(name, at="15 degC"), OF_TYPICAL),
    "capacitance gauge": (lambda name: _gauge(name), OF_TYPICAL),
    "sheet of capacitances": (lambda name: _sheet(name), OF_TYPICAL),
    "gauge with another fuel": (lambda name: _gauge("JP-7").error_with(name, at="15 degC"), OF_TYPICAL),
    "gauge adjusted for it": (lambda name: _gauge(name).error_with("JP-7", at="15 degC"), OF_TYPICAL),
}
OF_CAPACITANCE = {"permittivity", "capacitance gauge", "sheet of capacitances"} | {n for n in REPORTS if "gauge" in n}


def _cases():
    for grade in GRADES:
        of_aircraft = "jet" in grade["kind"] or grade["kind"] == "aviation gasoline"
        for report in REPORTS:
            if report == "grade" or not ("refused" in grade or (report in OF_CAPACITANCE and not of_aircraft)):
                yield pytest.param(grade, report, id=f"{grade['name']}, {report}")


@pytest.mark.parametrize(("grade", "report"), list(_cases()))
def test_a_report_marks_each_figure_that_decides_and_no_other(grade, report):
    make, deciding = REPORTS[report]
    text = " ".join(unescape(str(make(grade["name"]))).split())
    doubts = _doubts(grade)
    for key in deciding:
        if key == "expansion":
            assert doubts[key] in text
            assert (f"{grade['name']}: expansion (" in text or "; expansion (" in text) == bool(doubts[key])
        elif key in doubts:
            marks = re.findall(rf"{NAMES[key]} [\d.]+ kg/m³ at -?[\d.]+ °C \((.+?)\)(?:;| |$|<)", text)
            assert [mark for mark in marks if mark == doubts[key]] == [doubts[key]] * bool(doubts[key]), text
            assert len(marks) == bool(doubts[key])


@pytest.mark.parametrize("name", sorted(OF_CAPACITANCE))
def test_what_rests_on_a_typical_permittivity_says_that_the_composition_is_recalled(name):
    assert "from memory" in " ".join(str(REPORTS[name][0]("JP-7")).split())


@pytest.mark.parametrize(
    "grade", [grade for grade in GRADES if "refused" not in grade], ids=lambda grade: grade["name"]
)
def test_an_explanation_names_the_grades_whose_figures_are_in_doubt(grade):
    explained = fu.explain_density(_density(grade["name"]))
    doubts, remarks = _doubts(grade), explained.report().remarks
    for key, words in WORDS.items():
        [line] = [each for each in remarks if each.startswith(f"* {words} ")] or [":"]
        assert (grade["name"] in line.partition(": ")[2].split(", ")) == bool(doubts.get(key))
    assert (f"{grade['name']} *" in str(explained)) == any(doubts.values())


def test_a_share_of_batches_says_on_what_it_rests():
    for grade in GRADES:
        if "spread" in grade:
            said = " ".join(str(_check(grade["name"])).split())
            assert "not a survey of the grade" in said
            assert all(mean["doubt"] in said for mean in grade["means"] if "doubt" in mean)


def test_a_blend_says_that_its_largest_shares_are_recalled():
    mixed = fu.blend({"Jet A": 0.6, "HEFA-SPK": 0.3, "SIP": 0.1})
    for each in (mixed, mixed.measured("0.79 kg/L", uncertainty="0.5 kg/m^3")):
        said = " ".join(str(each).split())
        assert "50 % of HEFA-SPK, 10 % of SIP, 50 % of synthetic components by volume" in said
        assert "(from memory)" in said
