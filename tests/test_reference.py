"""Every published value that the library carries, and the report on them."""

import json
import runpy
from dataclasses import replace

import pytest

from fuelunits import __main__ as command
from fuelunits.__main__ import main
from fuelunits.errors import FuelUnitsError, MissingExtra
from fuelunits.reference.recipes import RECIPES, recompute
from fuelunits.reference.verification import TOPICS, published, verify
from fuelunits.sources import source


@pytest.mark.parametrize("topic", TOPICS)
def test_every_published_value_reproduces_and_no_control_does(topic):
    assert not [str(each) for each in verify(published(topic)).failures]


def test_more_than_a_thousand_values_were_read_and_none_is_from_memory():
    values = [value for value in published() if not value.control]
    assert len(values) > 1000
    assert "memory" not in {source(value.source).obtained for value in values}


def test_every_value_has_a_recipe_a_source_and_every_tolerance_a_reason():
    for value in published():
        assert value.what in RECIPES[value.topic]
        assert source(value.source)
        assert not value.tolerance or value.note, value
        assert not value.control or value.note, value


def test_every_recipe_is_used():
    used = {(value.topic, value.what) for value in published()}
    assert used == {(topic, what) for topic, recipes in RECIPES.items() for what in recipes}


def test_unknown_topics_and_kinds_are_refused():
    with pytest.raises(FuelUnitsError, match="the topics are units"):
        published("colours")
    with pytest.raises(FuelUnitsError, match="no recipe"):
        recompute("units", "colour", {})


def test_a_changed_last_digit_does_not_reproduce():
    for value in published("units", "volume_correction", "volume_correction_2004", "water_and_air", "coverage"):
        if value.control or value.tolerance or "E" in value.printed or value.printed == "0":
            continue
        last = value.printed[-1]
        changed = replace(value, printed=value.printed[:-1] + str((int(last) + 5) % 10))
        assert not changed.reproduces, changed


def test_the_report():
    report = verify()
    assert report.passed
    text = str(report)
    assert "PASSED" in text
    assert max(map(len, text.splitlines())) <= 80
    plain = report.as_dict()
    assert json.loads(json.dumps(plain)) == plain
    assert all(row["passed"] for row in plain["rows"])


def test_a_deviation_and_a_control_that_reproduces_both_fail():
    value = published("units")[0]
    report = verify([value, replace(value, printed="0.0255"), replace(value, control=True)])
    assert not report.passed
    assert len(report.failures) == 2
    assert "1 of 2" in report.verdict
    assert "0 of 1 controls" in report.verdict
    assert "FAILED" in str(report)
    assert str(report).count("Failed: units: factor") == 2


@pytest.mark.parametrize("edition", ["1980", "2004"])
def test_a_refusal_counts_as_a_deviation(edition):
    given = {"density": "10", "temperature_c": "15", "edition": edition}
    report = verify([replace(published("volume_correction")[0], given=given)])
    assert not report.passed
    assert str(report.results[0].ours).startswith("refused: ")
    assert report.rows()[0]["largest_relative_deviation"] == float("inf")


def test_a_value_that_needs_what_is_not_installed_is_skipped(monkeypatch):
    def missing(**_):
        raise MissingExtra("pure liquids need CoolProp")

    monkeypatch.setitem(RECIPES["pure_liquids"], "density", missing)
    report = verify(published("pure_liquids")[:1])
    found = report.results[0]
    assert (found.skipped, found.ours) == (True, "not computed: pure liquids need CoolProp")
    assert report.passed
    assert "1 not computed" in report.verdict


def test_the_command(capsys):
    assert main(["verify"]) == 0
    assert "PASSED" in capsys.readouterr().out
    assert main(["verify", "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["passed"] is True


def test_the_command_ends_with_its_exit_code(monkeypatch, capsys):
    monkeypatch.setattr("sys.argv", ["fuelunits", "schema"])
    with pytest.raises(SystemExit) as end:
        runpy.run_path(command.__file__, run_name="__main__")
    assert end.value.code == 0
    assert json.loads(capsys.readouterr().out)["title"]
