"""The package: what importing costs, what is public, and that the rules for modules hold."""

import ast
import importlib
import pkgutil
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import typed_use

import fuelunits

MODULES = [
    name for _, name, _ in pkgutil.walk_packages(fuelunits.__path__, "fuelunits.") if not name.endswith("__main__")
]
HEAVY = ("pint", "CoolProp", "matplotlib", "uncertainties", "scipy", "pandas")


def run(code):
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout


def test_importing_the_package_loads_nothing_heavy():
    loaded = run("import sys, fuelunits; print(*sys.modules)").split()
    assert not {module.partition(".")[0] for module in loaded} & {*HEAVY, "numpy"}


def test_no_module_loads_anything_heavy_either():
    """One interpreter imports them all, in order, so the first heavy one is named."""
    code = f"""
import importlib, sys
for name in {MODULES!r}:
    importlib.import_module(name)
    heavy = {{module.partition(".")[0] for module in sys.modules}} & {set(HEAVY)!r}
    assert not heavy, (name, heavy)
"""
    run(code)


def test_every_public_name_is_there_once_and_is_typed():
    tree = ast.parse(Path(fuelunits.__file__).with_suffix(".pyi").read_text(encoding="utf-8"))
    typed = [alias.asname for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) for alias in node.names]
    assert sorted([*typed, "__version__"]) == sorted(fuelunits.__all__)
    for name in fuelunits.__all__:
        assert getattr(fuelunits, name) is not None
    assert set(fuelunits.__all__) <= {*dir(fuelunits), "__version__"}
    with pytest.raises(AttributeError, match="missing_name"):
        fuelunits.missing_name  # noqa: B018


def test_no_public_name_is_hidden_by_a_module_of_the_same_name():
    modules = {module.name for module in pkgutil.iter_modules(fuelunits.__path__)}
    assert not modules & set(fuelunits.__all__)


@pytest.mark.parametrize("name", MODULES)
def test_modules_say_what_they_offer(name):
    module = importlib.import_module(name)
    assert module.__doc__
    for offered in getattr(module, "__all__", ()):
        assert hasattr(module, offered)


@pytest.mark.parametrize("path", sorted(Path(fuelunits.__file__).parent.rglob("*.py")), ids=lambda path: path.name)
def test_no_module_is_too_large(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400


def test_typed_use_runs_as_it_is_typed():
    assert typed_use.litres_per_gallon() == 3.785411784
    assert typed_use.litres(50.0) == 189.2705892
    assert 81.0 < typed_use.mass("15 degC") < 82.0
    assert typed_use.density_of(np.array([15.0])).shape == (1,)
    assert typed_use.holds()
    assert typed_use.sheet().points
    assert typed_use.published().passed
    assert "density" in typed_use.refused()


BARE_NUMBERS = """import fuelunits as fu
fu.fuel("Jet A").density(15)
fu.fuel("Jet A").mass("200 gal", at=15.0)
fu.fuel("Jet A").measured(0.81)
fu.check_density(6.7, "Jet A", between=("0 degC", "30 degC"), tolerance="3 %")
fu.check_density("6.7 lb/gal", "Jet A", between=(0, 30), tolerance="3 %")
fu.check_density("6.7 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance=0.03)
fu.convert(50.0, "gal", "lb", density=6.7)
fu.KFactor(11_412, per="L").flow(100.0)
"""


CHECKERS = [("mypy", "--strict", "--no-incremental"), ("pyright", "--pythonpath", sys.executable)]


@pytest.mark.long
@pytest.mark.parametrize("checker", CHECKERS, ids=lambda it: it[0])
def test_type_checkers_take_typed_use_and_refuse_bare_numbers(checker, tmp_path):
    pytest.importorskip(checker[0])
    wrong = tmp_path / "wrong.py"
    wrong.write_text(BARE_NUMBERS, encoding="utf-8")
    root = Path(fuelunits.__file__).parents[1]
    command = [sys.executable, "-m", *checker, typed_use.__file__, str(wrong)]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
    found = {int(line) for line in re.findall(r"wrong\.py:(\d+)(?::\d+)?(?: -)?:? error", done.stdout)}
    assert found == set(range(2, BARE_NUMBERS.count("\n") + 1)), done.stdout + done.stderr
    assert "typed_use.py:" not in done.stdout
