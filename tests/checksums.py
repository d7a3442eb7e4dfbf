"""What no release may change silently: published values, figures of grades, sizes of units, constants of formulas.

``python tests/checksums.py`` writes ``checksums.toml`` anew. A test compares; so a changed number
shows in the diff of a commit, and belongs in the changelog under "Numerical changes".
"""

from __future__ import annotations

import ast
import hashlib
import json
import re
from collections.abc import Iterator
from pathlib import Path

import fuelunits
from fuelunits.fuels.grades import Fuel, all_fuels
from fuelunits.reference import TOPICS, PublishedValue, published
from fuelunits.unit_definitions import all_spellings
from fuelunits.units import read_unit

PACKAGE = Path(fuelunits.__file__).parent
FORMULAS = tuple(
    room.relative_to(PACKAGE).as_posix()
    for wing in ("bench", "fuels", "indicators", "meters", "uncertainty")
    for room in sorted((PACKAGE / wing).glob("*.py"))
)
"""The rooms that hold the constants of formulas and of regulations."""

DATA = ("fuels/grades.toml", "fuels/viscosities.toml", "units.txt")
"""The files that hold the figures of grades and of viscosities, and the definitions of units."""

FIGURE = re.compile(r"[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?")
FILE = Path(__file__).with_name("checksums.toml")
_DRAWN = {"u of end gauge, second order"}


def digest(lines: list[str]) -> str:
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:16]


def published_values() -> dict[str, str]:
    """Give, for each topic, how many values it has and the checksum of what is printed and allowed."""
    return {topic: _topic(topic) for topic in TOPICS}


def _topic(topic: str) -> str:
    rows = [
        f"{value.what};{value.given};{value.printed};{value.unit};{value.source};{value.control};{value.tolerance}"
        for value in published(topic)
    ]
    return f"{len(rows)} values, {digest(sorted(rows))}"


def our_answers() -> dict[str, list[float | str]]:
    """Give, for each topic, what the library computes in place of each published value, to ten digits.

    Left out are the pure liquids, whose densities are those of the CoolProp that is installed, and what
    is drawn at random.
    """
    return {topic: [_answer(value) for value in published(topic)] for topic in TOPICS if topic != "pure_liquids"}


def _answer(value: PublishedValue) -> float | str:
    if value.what in _DRAWN:
        return "drawn"
    ours = value.recomputed().ours
    return "refused" if ours is None else float(f"{ours:.10g}")


def grade_figures() -> dict[str, str]:
    """Give, for each grade, the checksum of its published figures, and of the limits of its temperatures."""
    return {grade.name: _figures(grade) for grade in all_fuels()}


def _figures(grade: Fuel) -> str:
    named = {"typical": grade.typical, "low": grade.low, "high": grade.high}
    named |= {f"other {number}": other for number, other in enumerate(grade.others)}
    lines = [f"{name}: {f.density_kg_m3:.10g} at {f.at_c:.10g}, {f.source}" for name, f in named.items() if f]
    limits = f"{grade.temperatures.low:g} to {grade.temperatures.high:g}"
    return f"{len(lines)} figures, {digest([*lines, limits])}"


def grade_densities() -> dict[str, list[float]]:
    """Give, for each grade, its density in kg/m³ at its lowest temperature, at 15 °C and at its highest."""
    return {
        grade.name: [
            float(f"{grade.density_kg_m3(celsius):.10g}")
            for celsius in (grade.temperatures.low, 15.0, grade.temperatures.high)
        ]
        for grade in all_fuels()
        if not grade.refused
    }


def unit_sizes() -> dict[str, str]:
    """Give the size of each unit in base units, exactly; for a scale of temperature its zero as well."""
    units = [read_unit(name) for name in sorted({printed for _, printed in all_spellings().values()})]
    return {unit.name: f"{unit.size}" + (f" from {unit.zero}" if unit.zero is not None else "") for unit in units}


def numbers_in(node: ast.AST) -> Iterator[ast.Constant]:
    """Give the numbers in some code, in their order, but for 0, 1, 2 and what stands within a message."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Constant) and type(child.value) in (int, float) and child.value not in (0, 1, 2):
            yield child
        elif not isinstance(child, ast.JoinedStr):
            yield from numbers_in(child)


def constants(code: str) -> list[str]:
    """Give these numbers as they are written."""
    lines = [line.encode() for line in code.splitlines()]
    return [lines[at.lineno - 1][at.col_offset : at.end_col_offset].decode() for at in numbers_in(ast.parse(code))]


def constants_of_formulas() -> dict[str, str]:
    """Give, for each room with constants, how many it has and their checksum."""
    found = {room: constants((PACKAGE / room).read_text(encoding="utf-8")) for room in FORMULAS}
    return {room: f"{len(numbers)} constants, {digest(numbers)}" for room, numbers in found.items() if numbers}


def figures(text: str) -> list[str]:
    """Give the numbers that are written in a file of data, in their order."""
    return [match[0] for match in FIGURE.finditer(text)]


def figures_of_data() -> dict[str, str]:
    """Give, for each file of data, how many numbers it has and their checksum."""
    found = {file: figures((PACKAGE / file).read_text(encoding="utf-8")) for file in DATA}
    return {file: f"{len(numbers)} figures, {digest(numbers)}" for file, numbers in found.items()}


def tables() -> dict[str, dict[str, object]]:
    """Give everything that is compared."""
    return {
        "published_values": {**published_values()},
        "our_answers": {**our_answers()},
        "grade_figures": {**grade_figures()},
        "grade_densities_kg_m3": {**grade_densities()},
        "unit_sizes": {**unit_sizes()},
        "constants": {**constants_of_formulas()},
        "figures": {**figures_of_data()},
    }


def written(found: dict[str, dict[str, object]]) -> str:
    """Give it as TOML, whose texts, numbers and lists are written as in JSON."""
    lines = ["# Written by: python tests/checksums.py"]
    for title, table in found.items():
        lines += ["", f"[{title}]"]
        lines += [f"{json.dumps(name)} = {json.dumps(value)}" for name, value in table.items()]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    FILE.write_text(written(tables()), encoding="utf-8")
