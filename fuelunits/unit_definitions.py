"""The units of ``units.txt``: every spelling that is read, and the exact size, zero and dimension of each."""

from __future__ import annotations

import pkgutil
import re
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

__all__ = ["Definition", "all_definitions", "all_spellings", "definitions", "spellings"]

_TOKEN = re.compile(r"\*\*|[*/]|[^\s*/]+")


class Definition(NamedTuple):
    """One unit as ``units.txt`` defines it."""

    printed: str
    size: Fraction
    zero: Fraction | None
    dimension: tuple[tuple[str, int], ...]


def definitions() -> list[str]:
    """Return the lines of ``units.txt`` that define a unit."""
    data = pkgutil.get_data("fuelunits", "units.txt")
    assert data is not None
    lines = data.decode("utf-8").splitlines()
    return [line.strip() for line in lines if line.strip() and not line.startswith("#")]


@lru_cache(maxsize=1)
def all_definitions() -> dict[str, Definition]:
    """Return every unit by the name that ``units.txt`` defines.

    A line reads ``name = factors [; offset: sum] = printed name = other spellings``. The factors are
    numbers and names defined above, joined by ``*``, ``/`` and ``**``; an offset makes a temperature scale,
    and of each scale with another zero than the kelvin's comes the unit of a difference, ``delta_…``.
    """
    found: dict[str, Definition] = {}
    for line in definitions():
        name, expression, printed, *_ = (part.strip() for part in line.split("="))
        factors, _, offset = expression.partition("; offset:")
        if factors.startswith("["):
            size, powers = Fraction(1), {printed: 1}
        else:
            size, powers = _product(factors, found)
        dimension = tuple(sorted((base, power) for base, power in powers.items() if power))
        zero = sum((_product(term, found)[0] for term in offset.split("+")), Fraction()) if offset else None
        found[name] = Definition(printed, size, zero, dimension)
        if zero:
            found[f"delta_{name}"] = Definition(f"delta_{printed}", size, None, dimension)
    return found


def _product(text: str, known: dict[str, Definition]) -> tuple[Fraction, dict[str, int]]:
    """Evaluate factors from left to right: their exact size, and the power of each base unit."""
    size, powers = Fraction(1), dict[str, int]()
    sign, tokens = 1, iter([*_TOKEN.findall(text), "*"])
    factor, power = next(tokens), 1
    for token in tokens:
        if token == "**":
            power = int(next(tokens))
        elif token in "*/":
            unit = known.get(factor) or Definition("", Fraction(factor), None, ())
            size *= unit.size ** (sign * power)
            for base, base_power in unit.dimension:
                powers[base] = powers.get(base, 0) + base_power * sign * power
            sign, power = (1 if token == "*" else -1), 1
        else:
            factor = token
    return size, powers


@lru_cache(maxsize=1)
def all_spellings() -> dict[str, tuple[str, str]]:
    """Return, for every spelling, the name by which ``units.txt`` defines the unit and the one that is printed."""
    found: dict[str, tuple[str, str]] = {}
    for line in definitions():
        defined, _, printed, *others = (part.strip() for part in line.split("="))
        found.update(dict.fromkeys((defined, printed, *others), (defined, printed)))
    for defined, definition in all_definitions().items():
        for spelling in (definition.printed, defined):
            found.setdefault(spelling, (defined, definition.printed))
    return found


def spellings(unit: str) -> tuple[str, ...]:
    """Return every spelling of the unit that has one of them; none for what is no single unit.

    Examples
    --------
    >>> spellings("psi")
    ('psi', 'psig', 'PSI')
    """
    meant = all_spellings().get(unit)
    return tuple(spelling for spelling, names in all_spellings().items() if names == meant)
