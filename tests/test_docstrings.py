"""Every public name says what it takes and returns, in which units, what it refuses, and shows an example.

The rule that is checked: a function names each parameter under Parameters (or its module does, in backquotes), says in
its first line or under Returns what it returns, names under Raises the errors of its own that are no plain refusal of
an argument, and has an example.
A class has Parameters or Attributes, an example, and a line for each public method and property. A parameter that is a
number says its unit, or that it has none. A constant has a line of its own below it. The modules that name no source
are those whose numbers are the user's.
"""

import ast
import inspect
import re
import textwrap
from importlib import import_module
from itertools import pairwise
from pathlib import Path

import pytest

import fuelunits
from fuelunits import plots
from fuelunits.sources import all_sources

NAMES = {
    name: inspect.unwrap(value) if callable(value := getattr(fuelunits, name)) else value
    for name in fuelunits.__all__
    if name != "__version__"
}
NAMES |= {f"plots.{name}": getattr(plots, name) for name in plots.__all__}
FUNCTIONS = {name: value for name, value in NAMES.items() if inspect.isfunction(value)}
CLASSES = {name: value for name, value in NAMES.items() if inspect.isclass(value)}
CONSTANTS = sorted(NAMES.keys() - FUNCTIONS.keys() - CLASSES.keys())

STUB = ast.parse(Path(fuelunits.__file__).with_suffix(".pyi").read_text(encoding="utf-8"))
MODULES = {
    alias.name: node.module for node in ast.walk(STUB) if isinstance(node, ast.ImportFrom) for alias in node.names
}

UNITS = re.compile(
    r"°C|degC|per K\b|1/K|kg|lb|Pa\b|Hz|\bs\b|\bh\b|m²|m³|\bm\b|\bL\b|pulse|fraction|percent|unit|dimensionless|\b1\b"
    r"|probability|plain number|factor|hours|seconds|binary digits|API|[Rr]elative|[Rr]atio|As for|count"
    r"|half width|times"
)
"""Words by which a number says its unit, or that it has none."""

ERRORS = {"OutOfRange", "MissingExtra"}
"""Errors that a caller may want to catch apart from the refusal of an argument that cannot be read."""

UNIT_IN_NAME = re.compile(r"_(c|kg_m3|kpa|hz|s|l|l_s|kg|m|m3_s|mm2_s|per_k|k|pulses)$")

MODULES_OF_THE_USERS_NUMBERS = {
    "checks.density_check": "the fuel's source",
    "checks.explanation": "the fuels' sources",
    "checks.file": "the user's own figures",
    "reports": "no number",
    "conversion": "the factors' sources stand in units",
    "errors": "no number",
    "fuels.batches": "the reading, and the source of the grade's expansion",
    "indicators.indicator": "the user's own figures",
    "indicators.indications": "the user's calibration, and the sources of fuel and viscosity",
    "meters.curve": "the user's calibration",
    "meters.counts": "the user's counts",
    "meters.k_factor": "the user's K-factor",
    "meters.pulse_record": "the user's record",
    "bench.runs": "the convention is cited from water_and_air",
    "bench.calibration": "the user's runs",
    "indicators.bench_sheet": "the user's own figures",
    "indicators.fill_ups": "the user's own figures",
    "indicators.settings": "the user's own figures",
    "indicators.tank_table": "the user's table",
    "indicators.fuel_on_board": "the user's readings",
    "records.encoding": "no number",
    "records.files": "no number",
    "records.job": "the user's record",
    "indicators.capacitance": "the permittivity's sources",
    "uncertainty.measured": "the user's own figures",
    "reference.verification": "each value has its own source",
}


def sections(thing):
    """Return a docstring parted by its numpydoc headings."""
    parts = re.split(r"^([A-Z][\w ]+)\n-{3,}\n", inspect.getdoc(thing) or "", flags=re.MULTILINE)
    return {"summary": parts[0].strip()} | dict(zip(parts[1::2], parts[2::2], strict=True))


def described(section):
    """Return the described parameters: name to the type and text that follow it."""
    entries = {}
    for block in re.split(r"^(?=\S)", section, flags=re.MULTILINE):
        head = block.partition("\n")[0].partition(" : ")[0]
        entries |= {name.strip().lstrip("*"): block for name in head.split(",")} if block.strip() else {}
    return entries


@pytest.mark.parametrize("name", FUNCTIONS)
def test_functions(name):
    function = FUNCTIONS[name]
    parts = sections(function)
    assert parts["summary"].partition("\n")[0].endswith((".", ":"))
    assert ">>>" in parts.get("Examples", ""), "an example is missing"
    taken = [each for each in inspect.signature(function).parameters if not each.startswith("_")]
    told = described(parts.get("Parameters", ""))
    shared = set(re.findall(r"`(\w+)`", inspect.getmodule(function).__doc__))
    assert {each.rstrip("_") for each in taken} <= {each.rstrip("_") for each in told} | shared, (
        "parameters are not all described"
    )
    returned = inspect.signature(function).return_annotation
    assert "Returns" in parts or parts["summary"].startswith("Return ") or returned in (None, "None"), (
        "what it returns is not said"
    )
    assert not ERRORS & raised(function) or "Raises" in parts, "what it raises is not said"
    check_units(told)


def raised(function):
    """Return the names of the errors that a function raises itself."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(function)))
    return {
        name.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Raise)
        for name in ast.walk(node)
        if isinstance(name, ast.Name)
    }


def check_units(told):
    for name, block in told.items():
        if re.search(r" : .*\b(float|array)", block.partition("\n")[0]):
            assert UNIT_IN_NAME.search(name) or UNITS.search(block), f"{name}: no unit is given"


@pytest.mark.parametrize("name", CLASSES)
def test_classes(name):
    kind = CLASSES[name]
    parts = sections(kind)
    assert parts["summary"].partition("\n")[0].endswith((".", ":"))
    assert ">>>" in parts.get("Examples", ""), "an example is missing"
    assert "Parameters" in parts or "Attributes" in parts or issubclass(kind, Exception)
    for key, member in vars(kind).items():
        if not key.startswith("_") and (callable(member) or isinstance(member, (property, classmethod))):
            assert inspect.getdoc(getattr(kind, key)), f"{key} has no docstring"
    check_units(described(parts.get("Parameters", "") + parts.get("Attributes", "")))


@pytest.mark.parametrize("name", CONSTANTS)
def test_constants(name):
    module = import_module(f"fuelunits.{MODULES[name]}")
    body = ast.parse(Path(module.__file__).read_text(encoding="utf-8")).body
    for node, following in pairwise(body):
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name) and node.targets[0].id == name:
            assert isinstance(following, ast.Expr), f"{name} has no line that explains it"
            assert isinstance(following.value.value, str)
            return
    pytest.fail(f"{name} is not assigned in its module")


def test_modules_name_their_sources():
    without = set()
    for name in set(MODULES.values()):
        folder = Path(import_module(f"fuelunits.{name}").__file__)
        data = [each for each in folder.parent.glob("*.t*") if len(name.split(".")) > 1 or each.name == "units.txt"]
        words = set(re.findall(r"\w+", " ".join(each.read_text(encoding="utf-8") for each in [folder, *data])))
        if not words & all_sources().keys():
            without.add(name)
    assert without <= MODULES_OF_THE_USERS_NUMBERS.keys()
