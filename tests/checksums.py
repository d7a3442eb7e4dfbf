"""What no release may change silently: published values, figures of grades, sizes of units, constants of formulas.

``python tests/checksums.py`` writes ``checksums.toml`` anew. A test compares; so a changed number
shows in the diff of a commit, and belongs in the changelog under "Numerical changes".
"""

from __future__ import annotations

import ast
import hashlib
import json
import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import fuelunits
from fuelunits.fuels.grades import all_fuels
from fuelunits.reference.verification import TOPICS, published
from fuelunits.units import all_spellings, read_unit

PACKAGE = Path(fuelunits.__file__).parent
FORMULAS = ("bench", "checks", "fuels", "indicators", "meters", "records", "reference", "uncertainty")
"""The packages that hold constants of formulas and of regulations."""

DATA = ("fuels/*.toml", "units.txt", "confusions.toml")
"""The files that hold figures of grades and viscosities, and the definitions of units."""

FIGURE = re.compile(r"[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?")
FILE = Path(__file__).with_name("checksums.toml")


def digest(lines: list[str]) -> str:
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:16]


def published_values() -> dict[str, str]:
    """Return, for each topic, how many values it has and the checksum of what is printed and allowed."""
    return {topic: _topic(topic) for topic in TOPICS}


def _topic(topic: str) -> str:
    rows = [
        f"{value.what};{value.given};{value.printed};{value.unit};{value.source};{value.control};{value.tolerance}"
        for value in published(topic)
    ]
    return f"{len(rows)} values, {digest(sorted(rows))}"


def grade_densities() -> dict[str, list[float]]:
    """Return, for each grade, its density in kg/m³ at its lowest temperature, at 15 °C and at its highest."""
    return {
        grade.name: [
            float(f"{grade.density_kg_m3(celsius):.10g}")
            for celsius in (grade.valid_temperatures_c.low, 15.0, grade.valid_temperatures_c.high)
        ]
        for grade in all_fuels()
        if not grade.refused
    }


def unit_sizes() -> dict[str, str]:
    """Return the size of each unit in base units, exactly; for a scale of temperature its zero as well."""
    units = [read_unit(name) for name in sorted({unit.name for unit in all_spellings().values()})]
    return {unit.name: f"{unit.size}" + (f" from {unit.zero}" if unit.zero is not None else "") for unit in units}


def formulas() -> list[Path]:
    """Return the modules that may hold constants of formulas."""
    found = [path for package in FORMULAS for path in sorted((PACKAGE / package).glob("*.py"))]
    return [*found, PACKAGE / "confusions.py"]


def data() -> list[Path]:
    """Return the files of data."""
    return [path for pattern in DATA for path in sorted(PACKAGE.glob(pattern))]


def numbers_in(node: ast.AST) -> Iterator[ast.Constant]:
    """Yield the numbers in some code that have two or more significant digits, outside messages."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Constant) and type(child.value) in (int, float):
            if len(f"{child.value:.15e}".partition("e")[0].replace(".", "").rstrip("0")) > 1:
                yield child
        elif not isinstance(child, ast.JoinedStr):
            yield from numbers_in(child)


def constants(code: str) -> list[str]:
    """Return these numbers as they are written."""
    lines = code.encode().split(b"\n")  # columns are those of bytes
    return [lines[it.lineno - 1][it.col_offset : it.end_col_offset].decode() for it in numbers_in(ast.parse(code))]


def constants_of_formulas() -> dict[str, int]:
    """Return each number in the modules of formulas and how often it stands there, wherever that is."""
    found = Counter(number for path in formulas() for number in constants(path.read_text(encoding="utf-8")))
    return dict(sorted(found.items(), key=lambda item: (float(ast.literal_eval(item[0])), item[0])))


def figures(text: str) -> list[str]:
    """Return the numbers that are written in a file of data, in their order."""
    return [match[0] for match in FIGURE.finditer(text)]


def checksum(text: str) -> str:
    """Return how many figures a text has and their checksum."""
    return f"{len(figures(text))} figures, {digest(figures(text))}"


def figures_of_data() -> dict[str, str]:
    """Return, for each file of data, how many numbers it has and their checksum."""
    return {path.relative_to(PACKAGE).as_posix(): checksum(path.read_text(encoding="utf-8")) for path in data()}


@cache
def tables() -> dict[str, dict[str, object]]:
    """Return everything that is compared."""
    return {
        "published_values": {**published_values()},
        "grade_densities_kg_m3": {**grade_densities()},
        "unit_sizes": {**unit_sizes()},
        "constants": {**constants_of_formulas()},
        "figures": {**figures_of_data()},
    }


def written(found: dict[str, dict[str, object]]) -> str:
    """Return it as TOML, whose texts, numbers and lists are written as in JSON."""
    lines = ["# Written by: python tests/checksums.py"]
    for title, table in found.items():
        lines += ["", f"[{title}]"]
        lines += [f"{json.dumps(name)} = {json.dumps(value)}" for name, value in table.items()]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    FILE.write_text(written(tables()), encoding="utf-8")
