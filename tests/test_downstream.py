"""A sample project of an invented shop, with fuelunits installed from its wheel: as it is, and spoilt."""

import os
import re
import shutil
import subprocess
import sys
import sysconfig
import venv
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SAMPLE = Path(__file__).parent / "downstream"
CONSTANTS = "ramp_sheets/constants.py"

pytestmark = [
    pytest.mark.skipif(not find_spec("hatchling"), reason="building the wheel needs hatchling, which is not installed"),
    pytest.mark.skipif(not find_spec("pip"), reason="building the wheel needs pip, which is not installed"),
]

SPOILT = {
    "imperial gallon for US gallon": ("LITRES_PER_GALLON = 3.785412", "4.54609", "3.785411784"),
    "US gallon for imperial gallon": ("LITRES_PER_IMPERIAL_GALLON = 4.54609", "3.785412", "4.54609"),
    "the reciprocal (lb per kg for kg per lb)": ("KG_PER_POUND = 0.453592", "2.204623", "0.45359237"),
    "long ton for short ton": ("TONNES_PER_SHORT_TON = 0.907185", "1.016047", "0.90718474"),
    "km/h for kg/h (the factor from km/h to knots)": ("LB_H_PER_KG_H = 2.204623", "0.539957", "2.204622622"),
    "hour for minute": ("L_H_PER_GAL_MIN = 227.1247", "3.785412", "227.124707"),
    "millimetre of mercury for inch of mercury": ("PA_PER_INCH_OF_MERCURY = 3386.389", "133.3224", "3386.38"),
    "no conversion (delta_degC taken for delta_degF)": ("FAHRENHEIT_STEPS_PER_CELSIUS_STEP = 1.8", "1.0", "1.8"),
    "the decimal point 1 place too far right": ("M3_PER_HOUR_PER_L_MIN = 0.06", "0.6", "0.06"),
    "imperial gallon for US gallon (lb/imp_gal for lb/gal)": ("JET_LB_PER_GALLON = 6.7", "8.05", "6.7431 lb/gal"),
    "pound for kilogram (lb/L for kg/L)": ("JET_KG_PER_LITRE = 0.804", "1.7725", "0.8019 kg/L"),
    "the density of JP-7": ("AVGAS_LB_PER_GALLON = 6.01", "6.62", "6.017 lb/gal"),
    "the decimal point 3 places too far left": ("K_LEFT_PER_GALLON = 43_186", "43.186", "43187 pulse/gal"),
    "litre for US gallon (pulse/L for pulse/gal)": ("K_LEFT_PER_GALLON = 43_186", "11_409", "43187 pulse/gal"),
    "US gallon for litre (pulse/gal for pulse/L)": ("K_RIGHT_PER_LITRE = 2_950.4", "11_168", "2950.273 pulse/L"),
}
"""For each confusion: a constant of the sample, what is put in its place, and what would be right."""


@pytest.fixture(scope="module")
def python(tmp_path_factory):
    """Give a Python in a fresh environment that has fuelunits from its wheel, and the rest from here."""
    place = tmp_path_factory.mktemp("downstream")
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    offline = ["--no-deps", "--no-index"]
    subprocess.run([*pip, "wheel", *offline, "--no-build-isolation", "--wheel-dir", place, ROOT], check=True)
    (wheel,) = place.glob("*.whl")
    venv.create(place / "env", symlinks=os.name != "nt")
    own = {"base": str(place / "env"), "platbase": str(place / "env")}
    packages = Path(sysconfig.get_path("purelib", "venv", own))
    subprocess.run([*pip, "install", *offline, "--target", packages, wheel], check=True)
    others = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib"), *_beside_pytest()}
    (packages / "others.pth").write_text("\n".join(sorted(others)), encoding="utf-8")
    return str(Path(sysconfig.get_path("scripts", "venv", own)) / "python")


def _beside_pytest():
    return {str(Path(find_spec(name).origin).parents[1]) for name in ("pytest", "numpy", "pint", "hypothesis")}


@pytest.fixture
def sample(tmp_path):
    return shutil.copytree(SAMPLE, tmp_path / "sample", ignore=shutil.ignore_patterns(".*", "__pycache__"))


def run(python, sample, *arguments):
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "PYTEST", "COV"))}
    return subprocess.run(
        [python, "-m", *arguments],
        cwd=sample,
        env={**kept, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", "PYTHONUTF8": "1"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )


def spoil(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert text.count(f"{old}\n") == 1
    path.write_text(text.replace(f"{old}\n", f"{new}\n"), encoding="utf-8")


def test_fuelunits_comes_from_the_wheel(python, sample):
    (sample / "where_from.py").write_text("import fuelunits; print(fuelunits.__file__)", encoding="utf-8")
    printed = run(python, sample, "where_from").stdout
    assert Path(printed.strip()).is_relative_to(Path(python).parents[1])


def test_the_sample_as_it_is(python, sample):
    done = run(python, sample, "pytest", "-q")
    assert done.returncode == 0, done.stdout + done.stderr
    assert re.search(r"\b13 passed", done.stdout)
    done = run(python, sample, "fuelunits", "check", "fuel_assumptions.toml")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "5 entries, 4 hold, 1 fail (1 of them expected to): passed" in done.stdout


@pytest.mark.parametrize(
    "confusion",
    [pytest.param(name, marks=() if number % 8 == 0 else pytest.mark.long) for number, name in enumerate(SPOILT)],
)
def test_a_spoilt_constant_is_told_with_its_confusion_and_the_right_value(confusion, python, sample):
    old, new, right = SPOILT[confusion]
    spoil(sample / CONSTANTS, old, f"{old.partition(' = ')[0]} = {new}")
    done = run(python, sample, "pytest", "-q", "--tb=short")
    assert done.returncode == 1
    told = [line for line in done.stdout.splitlines() if confusion in line and line.startswith("E ")]
    assert told, done.stdout
    assert right in told[0]


def test_a_constant_that_has_changed_is_misplaced_in_the_assumptions_file(python, sample):
    spoil(sample / CONSTANTS, "JET_LB_PER_GALLON = 6.7", "JET_LB_PER_GALLON = 6.8")
    done = run(python, sample, "fuelunits", "check", "fuel_assumptions.toml")
    assert done.returncode == 1
    assert done.stdout.count("MISPLACED") == 2
    assert "line 13 of ramp_sheets/constants.py contains 6.8 and not 6.7" in " ".join(done.stdout.split())


def test_a_constant_that_is_read_by_name_is_judged_where_it_stands(python, sample):
    spoil(sample / CONSTANTS, "LITRES_PER_GALLON = 3.785412", "LITRES_PER_GALLON = 4.546  # was 3.785412")
    done = run(python, sample, "fuelunits", "check", "fuel_assumptions.toml", "--format", "github")
    assert done.returncode == 1
    assert "::error file=ramp_sheets/constants.py,line=3,title=litres in a US gallon" in done.stdout
    assert "imperial gallon for US gallon" in done.stdout


def test_an_assumption_that_is_spoilt_is_told_with_its_confusion(python, sample):
    spoil(sample / "fuel_assumptions.toml", "value = 0.453592", "value = 2.204623")
    done = run(python, sample, "fuelunits", "check", "fuel_assumptions.toml")
    assert done.returncode == 1
    assert done.stdout.count("FAILS") == 1
    assert "1 lb is 0.45359237 kg; it may be the reciprocal" in " ".join(done.stdout.split())
