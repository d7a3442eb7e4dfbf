"""The units of ``units.txt``: every spelling that is read, and the exact size, zero and dimension of each."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from fuelunits.data_files import data_text

__all__ = ["Dimension", "Unit", "all_definitions", "all_spellings", "combine", "definitions", "power_text", "spellings"]

_TOKEN = re.compile(r"\*\*|[*/]|[^\s*/]+")
Dimension = tuple[tuple[str, int], ...]
"""Base units (m, kg, s, K, A, pulse) and their powers, sorted."""

_DIMENSION_NAMES = {
    "": "a plain number",
    "m": "a length",
    "m^2": "an area",
    "m^3": "a volume",
    "kg": "a mass",
    "s": "a time",
    "K": "a temperature",
    "pulse": "a count of pulses",
    "kg/m^3": "a density (mass per volume)",
    "m^3/s": "a volume flow",
    "kg/s": "a mass flow",
    "1/s": "a frequency",
    "pulse/s": "a pulse rate",
    "pulse/m^3": "pulses per volume",
    "pulse/kg": "pulses per mass",
    "kg/m/s^2": "a pressure",
    "A^2*s^4/kg/m^2": "a capacitance",
    "m^2/s": "a kinematic viscosity",
    "kg/m/s": "a dynamic viscosity",
}


class Unit(NamedTuple):
    """A unit: its printed name, its exact size in base units, the zero of a temperature scale in kelvin, dimension."""

    name: str
    size: Fraction
    zero: Fraction | None
    dimension: Dimension

    def __str__(self) -> str:
        return self.name

    @property
    def kind(self) -> str:
        """What it measures, in words."""
        above = "*".join(power_text(base, power) for base, power in self.dimension if power > 0)
        below = [power_text(base, -power) for base, power in self.dimension if power < 0]
        text = "/".join([above or "1" * bool(below), *below])
        if text == "K" and self.zero is None:
            return "a temperature difference"
        return _DIMENSION_NAMES.get(text, f"a {text}")


def power_text(base: str, power: int) -> str:
    """Write a power of a unit, such as ``m^3``."""
    return base if power == 1 else f"{base}^{power}"


def combine(parts: Iterable[tuple[Unit, int]]) -> tuple[Fraction, Dimension]:
    """Return the exact size and the dimension of a product of units, each to its power."""
    size, powers = Fraction(1), dict[str, int]()
    for unit, power in parts:
        size *= unit.size**power
        for base, base_power in unit.dimension:
            powers[base] = powers.get(base, 0) + base_power * power
    return size, tuple(sorted((base, power) for base, power in powers.items() if power))


@lru_cache(maxsize=1)
def definitions() -> tuple[str, ...]:
    """Return the lines of ``units.txt`` that define a unit."""
    lines = data_text("units.txt").splitlines()
    return tuple(line.strip() for line in lines if line.strip() and not line.startswith("#"))


@lru_cache(maxsize=1)
def all_definitions() -> dict[str, Unit]:
    """Return every unit by the name that ``units.txt`` defines.

    A line reads ``name = factors [; offset: sum] = printed name = other spellings``. The factors are
    numbers and names defined above, joined by ``*``, ``/`` and ``**``; an offset makes a temperature scale,
    and of each scale with another zero than the kelvin's comes the unit of a difference, ``delta_…``.
    """
    found: dict[str, Unit] = {}
    for line in definitions():
        name, expression, printed, *_ = (part.strip() for part in line.split("="))
        factors, _, offset = expression.partition("; offset:")
        is_base = factors.startswith("[")
        size, dimension = (Fraction(1), ((printed, 1),)) if is_base else combine(_factors(factors, found))
        zero = sum((combine(_factors(term, found))[0] for term in offset.split("+")), Fraction()) if offset else None
        found[name] = Unit(printed, size, zero, dimension)
        if zero:
            found[f"delta_{name}"] = Unit(f"delta_{printed}", size, None, dimension)
    return found


def _factors(text: str, known: dict[str, Unit]) -> list[tuple[Unit, int]]:
    """Return the factors of a definition, a number as a unit without dimension, each with its power."""
    parts: list[tuple[Unit, int]] = []
    sign, tokens = 1, iter(_TOKEN.findall(text))
    for token in tokens:
        if token == "**":
            parts[-1] = parts[-1][0], parts[-1][1] * int(next(tokens))
        elif token in "*/":
            sign = 1 if token == "*" else -1
        else:
            parts.append((known.get(token) or Unit("", Fraction(token), None, ()), sign))
    return parts


@lru_cache(maxsize=1)
def all_spellings() -> dict[str, tuple[str, str]]:
    """Return, for every spelling, the name by which ``units.txt`` defines the unit and the one that is printed."""
    found: dict[str, tuple[str, str]] = {}
    for line in definitions():
        defined, _, printed, *others = (part.strip() for part in line.split("="))
        found.update(dict.fromkeys((defined, printed, *others), (defined, printed)))
    for defined, unit in all_definitions().items():
        for spelling in (unit.name, defined):
            found.setdefault(spelling, (defined, unit.name))
    return found


def spellings(unit: str) -> tuple[str, ...]:
    """Return every spelling of the unit that has one of them; none for what is no single unit."""
    meant = all_spellings().get(unit)
    return tuple(spelling for spelling, names in all_spellings().items() if names == meant)
