"""The examples of the documentation run, and say what they should."""

import runpy
import subprocess
import sys
from pathlib import Path

import pytest

import fuelunits as fu
from fuelunits.reports import CAUTION

EXAMPLES = Path(__file__).parents[1] / "docs" / "examples"


@pytest.fixture(scope="module")
def day():
    return runpy.run_path(str(EXAMPLES / "shop_day.py"))


def test_the_day_of_an_invented_shop(capsys):
    runpy.run_path(str(EXAMPLES / "shop_day.py"))
    printed = capsys.readouterr().out
    for heading in ("CALIBRATION", "AS LEFT", "BENCH SHEET", "FLIGHT", "TRUCK", "RECORD"):
        assert heading in printed
    assert " ".join(printed.split()).count(CAUTION) == 4
    assert "no correction yet" in printed


def test_its_figures_follow_from_one_another(day):
    entered, counts = day["entered"], day["counts"]
    assert counts.total == day["true_pulses"][-1] - day["true_pulses"][0]  # the roll-over is bridged exactly
    assert day["readings"].max() < 2**16
    assert (day["readings"][1:] < day["readings"][:-1]).any()
    assert float(entered).is_integer()
    assert day["used"].m_as("liter") == pytest.approx(counts.total / float(entered), rel=1e-14)
    sheet = day["indicator"].bench_points(["46 L/h"], tolerance="2 %").points[0]
    assert sheet.frequencies_hz == pytest.approx((46.0 * float(entered) / 3600.0,), rel=1e-12)
    assert sheet.expected == 33.0  # 46 L/h times 0.72 kg/L is 33.12 kg/h, in steps of 0.5


def test_the_day_ends_in_one_file_that_a_second_machine_recomputes(day, tmp_path):
    path = tmp_path / "day.json"
    fu.save(day["job"], path)
    assert fu.load(path) == day["job"]
    done = subprocess.run(
        [sys.executable, "-m", "fuelunits", "check", str(path)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout
    assert day["job"].verdict is day["sheet"].verdict_as_left
    assert "HT-0117" in fu.page(day["job"])


def test_the_scripts_are_short():
    for script in EXAMPLES.glob("*.py"):
        assert len(script.read_text(encoding="utf-8").splitlines()) <= 100
        assert "invented" in script.read_text(encoding="utf-8")
