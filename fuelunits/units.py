"""Units of fuel work, and the exact factors between them: fractions, from the definitions in ``units.txt``.

``gal`` is the US gallon and ``bbl`` is 42 of them; the imperial gallon is ``imp_gal``. Names that the trade uses for
more than one unit are refused. A unit is written as names joined by ``/``, ``*`` or ``per``, each with an optional
whole power: ``lb/gal``, ``kg/m^3``, ``pulse per L``, ``US gal/h``. A factor leads from one unit, `from_unit`, to
another, `to_unit`, of the same dimension, unless their scales have different zeros. A `registry` is one of pint.
"""

from __future__ import annotations

import math
import os
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from fractions import Fraction
from functools import lru_cache
from threading import RLock
from typing import Any, NamedTuple

from fuelunits.errors import DimensionError, UnitError
from fuelunits.sources import data_table, data_text
from fuelunits.validation import did_you_mean, format_value, nearest

Dimension = tuple[tuple[str, int], ...]
"""Base units (m, kg, s, K, A, pulse) and their powers, sorted."""

_TERM = re.compile(r"([*/])\s+([^\s*/]+)(?: \*\* (-?\d+))?")
_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_POWER = re.compile(r"⁻?[⁰¹²³⁴⁵⁶⁷⁸⁹]+$")
_FACTOR = re.compile(r"(?P<name>[^\W\d][\w°℃℉ \t]*|[°℃℉][A-Za-z]*)(?:\^(?P<power>-?[0-9]{1,2}))?$")
_LONGEST = 80
LOCK = RLock()  # held where a library that we use is not safe in threads, and while a cause is made; free in a fork
getattr(os, "register_at_fork", dict)(before=LOCK.acquire, after_in_parent=LOCK.release, after_in_child=LOCK.release)


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
        """The kind of quantity that it measures, in words."""
        return self._in_words()[0]

    @property
    def example(self) -> str:
        """A quantity of the same kind, as a message shows it."""
        return self._in_words()[1]

    def _in_words(self) -> tuple[str, str]:
        above = "*".join(_power_text(base, power) for base, power in self.dimension if power > 0)
        below = [_power_text(base, -power) for base, power in self.dimension if power < 0]
        text = "/".join([above or "1" * bool(below), *below])
        key = "delta_K" if text == "K" and self.zero is None else text
        return tuple(data_table("units.toml")["kinds"].get(key, (f"a {text}", f"1 {self.name}")))


def _power_text(base: str, power: int) -> str:
    return base if power == 1 else f"{base}^{power}"


def _combine(parts: Iterable[tuple[Unit, int]]) -> tuple[Fraction, Dimension]:
    """Return the exact size and the dimension of a product of units, each to its power."""
    size, powers = Fraction(1), dict[str, int]()
    for unit, power in parts:
        size *= unit.size**power
        for base, base_power in unit.dimension:
            powers[base] = powers.get(base, 0) + base_power * power
    return size, tuple(sorted((base, power) for base, power in powers.items() if power))


class Definition(NamedTuple):
    """A line of ``units.txt``: ``name = factors = spellings``, the printed one first, and pint's own name."""

    name: str
    factors: str
    spellings: tuple[str, ...]
    in_pint: str


@lru_cache(maxsize=1)
def definitions() -> tuple[Definition, ...]:
    """Return the definitions of ``units.txt``."""
    found = []
    for line in data_text("units.txt").splitlines():
        if line and not line.startswith("#"):
            text, _, in_pint = line.partition("; pint: ")
            name, factors, *spelled = text.split(" = ")
            found.append(Definition(name, factors, tuple(spelled), in_pint))
    return tuple(found)


@lru_cache(maxsize=1)
def all_spellings() -> dict[str, Unit]:
    """Return every unit by each of its spellings; ``; offset: sum`` makes a temperature scale and its ``delta_…``."""
    found: dict[str, Unit] = {}
    for name, definition, spelled, _ in definitions():
        factors, _, offset = definition.partition("; offset:")
        is_base = factors.startswith("[")
        size, dimension = (Fraction(1), ((spelled[0], 1),)) if is_base else _combine(_factors(factors, found))
        zero = sum((_combine(_factors(term, found))[0] for term in offset.split("+")), Fraction()) if offset else None
        found.update(dict.fromkeys((name, *spelled), Unit(spelled[0], size, zero, dimension)))
        if zero:
            difference = Unit(f"delta_{spelled[0]}", size, None, dimension)
            found.update({difference.name: difference, f"delta_{name}": difference})
    return found


def _factors(text: str, known: dict[str, Unit]) -> Iterator[tuple[Unit, int]]:
    """Yield the factors of a definition, a number as a unit without dimension, each with its power."""
    for operator, factor, power in _TERM.findall(f"* {text}"):
        unit = known.get(factor) or Unit("", Fraction(factor), None, ())
        yield unit, int(power or 1) * (1 if operator == "*" else -1)


def spellings(unit: str) -> tuple[str, ...]:
    """Return every spelling of the unit that has one of them; none for anything that is not a single unit."""
    return tuple(spelling for spelling, each in all_spellings().items() if each == all_spellings().get(unit))


def read_unit(text: str) -> Unit:
    """Read a unit: names joined by ``/``, ``*`` or ``per``, each with an optional whole power."""
    if isinstance(text, str):
        return _read(text)
    raise UnitError(f"a unit is text, such as 'gal'; got {format_value(text)}")


@lru_cache(maxsize=4096)
def _read(text: str) -> Unit:
    if len(text) > _LONGEST:
        raise UnitError(f"a unit of {len(text)} characters, beginning {text[:20]!r}, is too long to be one")
    parts = re.split(r"([*/])", re.sub(r"\s+per\s+", "/", re.sub("[·⋅]", "*", text.strip().replace("**", "^"))))
    operators = ["*", *parts[1::2]]
    units = [(operator, *_read_factor(part, text)) for operator, part in zip(operators, parts[::2], strict=True)]
    if len(units) == 1 and units[0][2] == 1:
        return units[0][1]
    name = ""
    for operator, unit, power in units:
        if unit.zero:
            raise UnitError(f"{unit.name} in {text!r} is a point on a scale; in a product write delta_{unit.name}")
        name += (operator if name else "") + _power_text(unit.name, power)
    size, dimension = _combine((unit, power if operator == "*" else -power) for operator, unit, power in units)
    return Unit(name, size, None, dimension)


def _read_factor(part: str, text: str) -> tuple[Unit, int]:
    part = _POWER.sub(lambda match: "^" + match[0].translate(_SUPERSCRIPTS), part.strip())
    if part in ("", "1"):
        if part and part != text.strip():
            return Unit("1", Fraction(1), None, ()), 1
        raise UnitError(f"{text!r} is not a unit; write a unit such as 'gal' or 'lb/gal'")
    match = _FACTOR.match(part)
    if match is None:
        raise UnitError(f"cannot read {part!r} in the unit {text!r}; write names joined by / or *, such as 'kg/m^3'")
    name, known = "_".join(match["name"].split()), all_spellings()
    if name in known:
        return known[name], int(match["power"] or 1)
    if ambiguous := data_table("units.toml")["ambiguous"].get(name):
        raise UnitError(f"unit {name!r} in {text!r} is ambiguous: {ambiguous}")
    folded = [each for each in known if each.casefold() == name.casefold()]
    hint = did_you_mean(folded + nearest(name, known, 3), "units.txt has the units known here")
    raise UnitError(f"unknown unit {name!r} in {text!r}; {hint}")


BY_MASS = "a mass displayed by an indicator with a fixed density: divide by that fixed density, not by the fuel's"
_DENSITY = Unit("kg/m^3", Fraction(1), None, (("kg", 1), ("m", -3)))


def density_power(start: Unit, goal: Unit) -> int:
    """Return the power of a density that converts one unit into the other; 0 where they agree."""
    if start.dimension == goal.dimension:
        if (start.zero is None) != (goal.zero is None):
            difference = "a difference is written delta_degC, delta_degF, delta_K or delta_degR"
            raise DimensionError(f"{start} is {start.kind} and {goal} is {goal.kind}; {difference}")
        return 0
    for power in (1, -1):
        if _combine([(start, 1), (_DENSITY, power)])[1] == goal.dimension:
            return power
    raise DimensionError(f"{start} is {start.kind} and {goal} is {goal.kind}; one does not convert to the other")


def density_needed(start: Unit, goal: Unit, given: str = "") -> DimensionError:
    """Return the error for two units that are a volume and a mass where a density is missing."""
    such = 'density="6.7 lb/gal" or density=fuel("Jet A").density("30 degC")'
    give = f"give the density of the fuel at its temperature, such as {such}"
    return DimensionError(f"{given or start} is {start.kind} and {goal} is {goal.kind}: {give}; {BY_MASS}")


def exact_factor(from_unit: str, to_unit: str) -> Fraction:
    """Return the exact factor by which a number of one unit becomes a number of another, as a fraction.

    Examples
    --------
    >>> exact_factor("gal", "L")
    Fraction(473176473, 125000000)
    """
    start, goal = read_unit(from_unit), read_unit(to_unit)
    if density_power(start, goal):
        raise density_needed(start, goal)
    if start.zero != goal.zero:
        use = f"use convert, or delta_{start.name} for a difference"
        raise DimensionError(f"{start} and {goal} have different zeros, so there is no factor between them; {use}")
    return start.size / goal.size


def factor(from_unit: str, to_unit: str) -> float:
    """Return the factor between two units as the float nearest to the exact one, :func:`exact_factor`.

    Examples
    --------
    >>> factor("lb/gal", "kg/m^3")
    119.82642731689663
    """
    return nearest_float(exact_factor(from_unit, to_unit))


def check_unit(value: Any, unit: str, name: str) -> None:
    """Refuse an uncertain number, also in an array, or a sum with a term, that states another unit than wanted."""
    if getattr(getattr(value, "dtype", None), "kind", "") == "O":
        for each in getattr(value, "flat", ()):
            check_unit(each, unit, name)
    # the caller's sum is not asked: it works itself out in place, which a second thread or an interruption would spoil
    for each, slope in getattr(value * 1.0 if hasattr(value, "nominal_value") else value, "derivatives", {}).items():
        stated, goal = getattr(each.tag, "unit", ""), read_unit(unit)
        if stated not in ("", "1") and abs(slope) == 1.0:
            given = read_unit(re.sub("^1/(deg|°)", "1/delta_deg", stated))
            differs = given.size != goal.size and given.dimension == goal.dimension
            if differs or (each is value and given[1:] != goal[1:]):
                raise DimensionError(f"{name}: {each.tag} is stated in {given}, and {goal} is needed; convert it first")


def nearest_float(number: Fraction) -> float:
    """Return the float nearest to a positive fraction, refusing what floats cannot hold."""
    with suppress(OverflowError):
        if nearest := float(number):
            return nearest
    raise UnitError("the factor between these units is beyond the range of floating-point numbers")


def register_units(registry: Any) -> list[str]:
    """Return the names of the trade, such as ``gph`` and ``pulse``, that a pint `registry` lacked and that were added.

    What it knows stays as it is (its ``bbl`` may be another barrel); if its ``gallon`` or ``gal`` is no US one, names
    of it that do not say US, as ``gph``, are left out. Nothing is ever defined in a registry unless it is passed here.

    Examples
    --------
    >>> import pint
    >>> ureg = pint.UnitRegistry()
    >>> "pph" in register_units(ureg)
    True
    >>> f"{ureg('1 pph').m_as('kg/hour'):.8f}"
    '0.45359237'
    """
    if not hasattr(registry, "define") or not registry.case_sensitive:
        raise UnitError(f"registry is {format_value(registry)}; a case-sensitive pint.UnitRegistry() is needed")
    knows, added = registry.parse_unit_name, list[str]()  # `in` would log
    gallons = [registry(f"{each}/inch**3").to_root_units() for each in ("gallon", "gal") if knows(each)]
    for name, factors, spellings, _ in definitions():
        other = name[:3] == "us_" and not all(each.unitless and math.isclose(each.m, 231) for each in gallons)
        for each in dict.fromkeys((name, *spellings)):  # the name itself first
            if each.isidentifier() and not knows(each) and not (other and each[:2].lower() != "us"):
                registry.define(f"{name} = {factors}" if each == name else f"@alias {name} = {each}")
                added.append(each)
    return added
