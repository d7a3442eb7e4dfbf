"""Every published value that the library carries, and the report on them."""

import json
import runpy
from dataclasses import replace

import pytest

from fuelunits import __main__ as command
from fuelunits.__main__ import main
from fuelunits.errors import FuelUnitsError, MissingExtra
from fuelunits.reference import TOPICS, published, verify
from fuelunits.sources import source


@pytest.mark.parametrize("value", published(), ids=lambda v: f"{v.topic}: {v.what} {v.given}")
def test_every_published_value(value):
    result = value.recomputed()
    if result.skipped:
        pytest.skip(result.remark)
    assert result.as_it_should, result


def test_every_value_has_a_source_and_every_tolerance_a_reason():
    for value in published():
        assert source(value.source)
        assert not value.tolerance or value.note, value
        assert not value.control or value.note, value


def test_topics_are_complete():
    assert {value.topic for value in published()} == set(TOPICS)
    with pytest.raises(FuelUnitsError, match="the topics are units"):
        published("nonsense")


def test_a_changed_last_digit_does_not_reproduce():
    for value in published("units", "volume_correction", "water_and_air"):
        if value.control or value.tolerance or "E" in value.printed or value.printed == "0":
            continue
        last = value.printed[-1]
        spoilt = replace(value, printed=value.printed[:-1] + str((int(last) + 5) % 10))
        assert not spoilt.recomputed().reproduces, spoilt


def test_the_report():
    report = verify(published("units", "volume_correction"))
    assert report.passed
    text = str(report)
    assert "published values reproduce" in text
    assert "as it should be" in text
    plain = report.as_dict()
    assert json.loads(json.dumps(plain)) == plain
    assert all(row["passed"] for row in plain["sources"])


def test_a_deviation_and_a_control_that_reproduces_are_both_told():
    value = published("units")[0]
    wrong = replace(value, printed="0.0255")
    control = replace(value, control=True)
    report = verify([value, wrong, control])
    assert not report.passed
    assert len(report.failures) == 2
    assert "should reproduce" in str(report)
    assert "must not reproduce" in str(report)
    assert "2 NOT as they should be" in str(report)


def test_a_refusal_counts_as_a_deviation():
    value = replace(
        published("volume_correction")[0], given={"density": "10", "temperature_c": "15", "edition": "1980"}
    )
    report = verify([value])
    assert not report.passed
    assert "refused" in str(report)
    assert report.summaries[0].largest_deviation == float("inf")


def test_a_value_that_the_library_refuses_is_told_with_the_reason():
    value = replace(
        published("volume_correction")[0], given={"density": "10", "temperature_c": "15", "edition": "2004"}
    )
    assert value.recomputed().remark.startswith("refused: ")


def test_a_value_that_needs_what_is_not_installed_is_skipped(monkeypatch):
    def missing(*_):
        raise MissingExtra("pure liquids need CoolProp")

    monkeypatch.setattr("fuelunits.reference.pure_liquids.recompute", missing)
    told = published("pure_liquids")[0].recomputed()
    assert (told.skipped, told.ours, told.remark) == (True, None, "not computed: pure liquids need CoolProp")


def test_the_command(capsys):
    assert main(["verify"]) == 0
    assert "published values reproduce" in capsys.readouterr().out
    assert main(["verify", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["passed"] is True


def test_the_command_ends_with_its_exit_code(monkeypatch, capsys):
    monkeypatch.setattr("sys.argv", ["fuelunits", "schema"])
    with pytest.raises(SystemExit) as end:
        runpy.run_path(command.__file__, run_name="__main__")
    assert end.value.code == 0
    assert json.loads(capsys.readouterr().out)["title"]
