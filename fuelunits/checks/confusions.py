"""Which known confusion leaves a given ratio behind: a wrong gallon, pounds for kilograms, forgotten thousands.

A number is wrong by a ratio, given over right. Most confusions of the trade are of one unit for
another, and the ratio is then a power of the ratio of their sizes: each is computed here from the
exact units, none is typed in.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from typing import Any

from fuelunits.fuels.grades import all_fuels
from fuelunits.quantities import fraction
from fuelunits.sources import source
from fuelunits.units import Unit, exact_factor, read_unit
from fuelunits.validation import plain_number

__all__ = ["Confusion", "density_looks_like", "diagnose_ratio", "looks_like"]

_PAIRS = (
    ("gal", "imp_gal"),
    ("gal", "L"),
    ("imp_gal", "L"),
    ("qt", "L"),
    ("gal", "qt"),
    ("bbl", "gal"),
    ("m3", "L"),
    ("lb", "kg"),
    ("short_ton", "long_ton"),
    ("short_ton", "tonne"),
    ("long_ton", "tonne"),
    ("h", "min"),
    ("h", "s"),
    ("min", "s"),
    ("delta_degC", "delta_degF"),
    ("inHg", "mmHg"),
    ("inHg", "mbar"),
    ("psi", "kPa"),
    ("psi", "bar"),
    ("psi", "inHg"),
    ("bar", "kPa"),
    ("imp_gal", "gallon of 1824"),
    ("imp_gal", "gallon of 4.546087 L"),
    ("imp_gal", "gallon of 4.546092 L"),
    ("gal", "gallon by the inch of before 1959"),
    ("L", "litre of before 1964"),
)
"""Units that are taken for one another, either way."""

_DENSITIES = (("kg/L", "lb/gal"), ("kg/L", "lb/imp_gal"), ("kg/L", "kg/m^3"), ("lb/gal", "kg/m^3"))
"""Densities that are taken for one another although two of their units differ."""

_WORDS = {
    "gal": "US gallon",
    "imp_gal": "imperial gallon",
    "L": "litre",
    "qt": "US quart",
    "bbl": "barrel",
    "m3": "cubic metre",
    "lb": "pound",
    "kg": "kilogram",
    "short_ton": "short ton",
    "long_ton": "long ton",
    "tonne": "metric ton",
    "h": "hour",
    "min": "minute",
    "s": "second",
    "delta_degC": "degree Celsius",
    "delta_degF": "degree Fahrenheit",
    "inHg": "inch of mercury",
    "mmHg": "millimetre of mercury",
    "mbar": "millibar",
    "gallon of 1824": "old gallon of 1824",
    "gallon of 4.546087 L": "old gallon of 4.545 96 old litres",
    "gallon of 4.546092 L": "old gallon of 4.546 092 L",
    "gallon by the inch of before 1959": "old US gallon, by the inch of before 1959,",
    "litre of before 1964": "old litre of before 1964, as in tables of the old gallon,",
}
_FLOWS = ("gal/h", "gal/min", "imp_gal/h", "L/h", "L/min", "lb/h")
"""What the abbreviated flow units stand for."""

_MASS_FLOW = (("kg", 1), ("s", -1))
_PULSES_PER_VOLUME = (("m", -3), ("pulse", 1))


_SPREAD = "4 %"
"""How far a batch may lie from the typical fuel: a density is recognised only so closely."""

_SAME = 0.005
"""How near the density of another kind of fuel must be for a number to be taken for it."""


@dataclass(frozen=True)
class Confusion:
    """A mistake that is known by the ratio it leaves behind.

    Attributes
    ----------
    name : str
        What was taken for what.
    ratio : Fraction
        Given over right, exactly.
    reading : str
        The unit for which the given number would be right; empty where no unit explains it.
    source : str
        Key of the source of a definition that ``units.txt`` does not carry; else empty.
    """

    name: str
    ratio: Fraction
    reading: str = ""
    source: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        if self.source:
            source(self.source)

    def __str__(self) -> str:
        return self.name


def diagnose_ratio(
    ratio: float, unit: str | None = None, *, per: str | None = None, tolerance: Any = "0.5 %"
) -> tuple[Confusion, ...]:
    """Give the known confusions that would make a number wrong by a ratio.

    Parameters
    ----------
    ratio : float
        The number given over the right one.
    unit : str, optional
        The unit in which the number is meant, such as ``"lb/gal"`` or ``"pulse/gal"``; for a factor,
        the unit to which it leads. Without it every confusion is tried.
    per : str, optional
        For a factor: the unit from which it leads.
    tolerance : str
        How far the ratio may be from that of the confusion. A confusion by a small ratio must be met
        more closely: within a quarter of what it makes.

    Returns
    -------
    tuple of Confusion
        The likeliest first: confused units by nearness, then shifted decimal points. Empty if none fits.

    Examples
    --------
    >>> print(*diagnose_ratio(8.05 / 6.7, "lb/gal"))
    imperial gallon for US gallon (lb/imp_gal for lb/gal)
    >>> print(*diagnose_ratio(0.001, "pulse/gal"))
    thousands forgotten: a K-factor stamped in thousands of pulses
    >>> [confusion.ratio for confusion in diagnose_ratio(4.546 / 3.7854, "L", per="gal")]
    [Fraction(568261250, 473176473)]
    """
    allowed = fraction(tolerance, name="tolerance")
    ratio = plain_number(ratio, "ratio")
    for each in (unit, per):
        if each is not None:
            read_unit(each)
    found: list[tuple[int, float, int, Confusion]] = []
    for rank, confusions in enumerate(_confusions(unit, per)):
        for confusion in confusions:
            distance = abs(ratio / float(confusion.ratio) - 1.0)
            if distance < min(allowed, abs(float(confusion.ratio - 1)) / 4.0):
                found.append((rank, distance, len(found), confusion))
    one_each: dict[object, Confusion] = {}
    for *_, confusion in sorted(found):
        one_each.setdefault(confusion.ratio if unit else confusion, confusion)
    return tuple(one_each.values())


def looks_like(ratio: float, unit: str, *, per: str | None = None, tolerance: Any = "0.5 %") -> str:
    """Say in words which confusions fit, or nothing: the end of a message.

    Examples
    --------
    >>> looks_like(0.001, "pulse/gal")
    '; it looks like thousands forgotten: a K-factor stamped in thousands of pulses'
    >>> looks_like(1.01, "pulse/gal")
    ''
    """
    found = diagnose_ratio(ratio, unit, per=per, tolerance=tolerance)
    return f"; it looks like {' or '.join(map(str, found[:2]))}" if found else ""


def density_looks_like(given_kg_m3: float, found: Any, celsius: float, unit: str) -> str:
    """Say which units, or else which kinds of fuel, a wrong density confuses: the end of a message."""
    words = looks_like(given_kg_m3 / float(found.density_kg_m3(celsius)), unit, tolerance=_SPREAD)
    if words:
        return words
    kind = getattr(getattr(found, "fuel", found), "kind", "")
    others = [
        each for each in all_fuels() if each.for_aircraft and each.kind != kind and each.temperatures.contains(celsius)
    ]
    fitting = [each.name for each in others if abs(given_kg_m3 / each.density_kg_m3(celsius) - 1.0) < _SAME]
    return f"; it looks like the density of {' or '.join(fitting[:2])} for that of {found.name}" if fitting else ""


@cache
def _confusions(unit: str | None, per: str | None) -> tuple[tuple[Confusion, ...], ...]:
    """Give what can be confused in a number of a unit: units first, then steps taken twice, then decimal points."""
    if unit is None:
        names = [name for pair in (*_PAIRS, *_DENSITIES) for name in pair if name not in _own_measures()]
        each = [confusion for name in names for confusion in _unit_confusions(name)]
        return (*each, *_thousands(), *_speeds_of_anything()), tuple(_shifts())
    if per is not None:
        return tuple(_factor_confusions(unit, per)), tuple(_shifts())
    direct = (*_special(read_unit(unit)), *_unit_confusions(unit))
    return direct, tuple(_converted_twice(direct, read_unit(unit))), tuple(_shifts())


def _converted_twice(direct: Iterable[Confusion], unit: Unit) -> Iterator[Confusion]:
    for confusion in direct:
        if confusion.reading and not confusion.source:
            words = f"converted from {confusion.reading}, although it was in {unit} already"
            yield Confusion(words, 1 / confusion.ratio, confusion.reading)


def _unit_confusions(unit: str) -> Iterator[Confusion]:
    """Give what else the number could be of: another unit in place of the whole or of one part."""
    name = _spelled_out(read_unit(unit))
    for pair in _DENSITIES:
        if name in pair:
            other = pair[not pair.index(name)]
            yield Confusion(f"{other} for {name}", exact_factor(name, other), other)
    parts = re.split(r"([*/])", name)
    for place, part in enumerate(parts):
        base, _, power = part.partition("^")
        signed = int(power or 1) * (-1 if place and parts[place - 1] == "/" else 1)
        for meant, taken in _swaps(base):
            reading = "".join([*parts[:place], part.replace(base, taken.name, 1), *parts[place + 1 :]])
            words = f"{taken.words} for {meant.words}" + (f" ({reading} for {name})" if len(parts) > 1 else "")
            yield Confusion(words, (meant.size / taken.size) ** signed, reading, taken.source)


def _factor_confusions(unit: str, per: str) -> Iterator[Confusion]:
    """Give what else a factor could be: of another unit at either end, or the way back."""
    start, goal = read_unit(per), read_unit(unit)
    factor = start.size / goal.size
    yield Confusion(f"no conversion ({start} taken for {goal})", 1 / factor, f"{start} per {start}")
    for confusion in _unit_confusions(per):
        words = confusion.name.partition(" (")[0]
        words = f"{words} ({goal} per {confusion.reading} for {goal} per {start})"
        yield Confusion(words, 1 / confusion.ratio, f"{goal} per {confusion.reading}", confusion.source)
    for confusion in _unit_confusions(unit):
        words = confusion.name.partition(" (")[0]
        words = f"{words} ({confusion.reading} per {start} for {goal} per {start})"
        yield Confusion(words, confusion.ratio, f"{confusion.reading} per {start}", confusion.source)
    yield Confusion(f"the reciprocal ({start} per {goal} for {goal} per {start})", 1 / factor**2, f"{start} per {goal}")
    if start.dimension == _MASS_FLOW and goal.dimension == _MASS_FLOW:
        yield from _speeds(start, goal)


def _speeds(start: Unit, goal: Unit) -> Iterator[Confusion]:
    """Give factors of a speed in km/h where ``kph`` means kg/h."""
    factor = start.size / goal.size
    for name, metres in (("knots", Fraction(1852)), ("mph", 5280 * read_unit("ft").size), ("m/s", Fraction(3600))):
        yield Confusion(f"km/h for kg/h (the factor from km/h to {name})", 1000 / metres / factor, "km/h", "ucum")


def _speeds_of_anything() -> Iterator[Confusion]:
    for goal in ("lb/h", "kg/s"):
        yield from _speeds(read_unit("kg/h"), read_unit(goal))


def _special(unit: Unit) -> Iterator[Confusion]:
    if unit.dimension == _PULSES_PER_VOLUME:
        yield from _thousands()
    if unit.dimension == _MASS_FLOW:
        kilometre_to_kilogram = 1000 * read_unit("m").size / read_unit("kg").size
        yield Confusion("km/h for kg/h (kph read as a speed, in m/s)", kilometre_to_kilogram, "km/h")


def _thousands() -> Iterator[Confusion]:
    yield Confusion("thousands forgotten: a K-factor stamped in thousands of pulses", Fraction(1, 1000))
    yield Confusion("thousands taken twice: the K-factor was not stamped in thousands of pulses", Fraction(1000))


def _shifts() -> Iterator[Confusion]:
    for places in (1, 2, 3):
        word = "place" if places == 1 else "places"
        yield Confusion(f"the decimal point {places} {word} too far right", Fraction(10) ** places)
        yield Confusion(f"the decimal point {places} {word} too far left", Fraction(10) ** -places)


@dataclass(frozen=True)
class _Measure:
    name: str
    words: str
    size: Fraction
    source: str = ""


@cache
def _own_measures() -> dict[str, _Measure]:
    """Give the measures that ``units.txt`` does not carry, because nobody should use them now."""
    litre, cubic_inch = read_unit("L").size, read_unit("in3").size
    old_litre = Fraction("1.000028") * litre
    old_inch = Fraction(100, 3937) * read_unit("m").size
    sizes = {
        "gallon of 1824": (Fraction("277.274") * cubic_inch, "old_gallons_recalled"),
        "gallon of 4.546087 L": (Fraction("4.54596") * old_litre, "old_gallons_recalled"),
        "gallon of 4.546092 L": (Fraction("4.546092") * litre, "unece_rec20"),
        "gallon by the inch of before 1959": (231 * old_inch**3, "old_inch_recalled"),
        "litre of before 1964": (old_litre, "old_litre_recalled"),
        "mmHg": (read_unit("inHg").size / exact_factor("in", "mm"), ""),
    }
    return {name: _Measure(name, _WORDS[name], size, key) for name, (size, key) in sizes.items()}


def _measure(name: str) -> _Measure:
    own = _own_measures().get(name)
    return own or _Measure(name, _WORDS.get(name, name), read_unit(name).size)


def _swaps(name: str) -> Iterator[tuple[_Measure, _Measure]]:
    """Give, for a unit that is meant, each measure that is taken for it."""
    for pair in _PAIRS:
        if name in pair:
            yield _measure(name), _measure(pair[not pair.index(name)])


def _spelled_out(unit: Unit) -> str:
    """Write an abbreviated flow unit as volume or mass per time."""
    for flow in _FLOWS:
        each = read_unit(flow)
        if (each.size, each.dimension) == (unit.size, unit.dimension):
            return flow
    return unit.name
