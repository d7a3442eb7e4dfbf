"""Which known mistake leaves a given ratio behind: a wrong gallon, pounds for kilograms, doubled pulses.

A number is wrong by a ratio, given over right. Most mistakes of the trade are of one unit for another, and the
ratio is then a power of the ratio of their sizes: each is computed here from the exact units, none is typed in.
What fits is a possible cause, never a proof.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from typing import Any

from fuelunits.quantities import fraction
from fuelunits.reports import Report, Reporting, Table
from fuelunits.sources import source
from fuelunits.units import Unit, exact_factor, read_unit
from fuelunits.validation import plain_number

__all__ = ["Confusion", "Diagnosis", "diagnose_ratio", "looks_like"]

_TAKEN_FOR = {
    "gal": ("imp_gal", "L", "qt", "bbl", "gallon by the inch of before 1959"),
    "imp_gal": ("L", "gallon of 1824", "gallon of 4.546087 L", "gallon of 4.546092 L"),
    "L": ("qt", "m3", "litre of before 1964"),
    "lb": ("kg",),
    "tonne": ("short_ton", "long_ton"),
    "short_ton": ("long_ton",),
    "min": ("h", "s"),
    "h": ("s",),
    "delta_degC": ("delta_degF",),
    "inHg": ("mmHg", "mbar", "psi"),
    "kPa": ("psi", "bar"),
    "bar": ("psi",),
}
"""Units that are taken for one another, either way."""

_PAIRS = tuple((one, other) for one, others in _TAKEN_FOR.items() for other in others)

_IN_USE = {"gal", "imp_gal", "L", "m3", "lb", "kg", "h", "min", "s"}
"""Units of indications, densities and K-factors; the others are confused in factors and in amounts only."""

_DENSITIES = (
    ("kg/L", "lb/gal"),
    ("kg/L", "lb/imp_gal"),
    ("kg/L", "kg/m^3"),
    ("lb/gal", "kg/m^3"),
    ("lb/gal", "lb/ft3"),
)
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

_VOLUME, _MASS = (("m", 3),), (("kg", 1),)
_DENSITY, _VOLUME_FLOW, _MASS_FLOW = (("kg", 1), ("m", -3)), (("m", 3), ("s", -1)), (("kg", 1), ("s", -1))
_PULSES_PER_VOLUME, _PULSES_PER_MASS = (("m", -3), ("pulse", 1)), (("kg", -1), ("pulse", 1))
_INDICATED = ("gal", "imp_gal", "L", "lb", "kg", "h", "min")
"""Units that an indication of unknown unit may confuse."""

_FIXED = {"avgas": Fraction(6), "jet fuel": Fraction(67, 10)}
"""Fixed densities in lb/gal that indicators are set to (source: faa_standard_weights)."""


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


@dataclass(frozen=True, repr=False)
class Diagnosis(Reporting):
    """The known mistakes that would explain a ratio, likeliest first; a sequence of :class:`Confusion`.

    Attributes
    ----------
    ratio : float
        The number given over the right one.
    unit : str
        The unit in which it is meant; empty where it was not stated.
    suspects : tuple of Confusion
        What fits; empty if nothing does.

    Examples
    --------
    >>> diagnose_ratio(0.5)[1].name
    'one channel of two'
    """

    ratio: float
    unit: str
    suspects: tuple[Confusion, ...]

    def __iter__(self) -> Iterator[Confusion]:
        return iter(self.suspects)

    def __len__(self) -> int:
        return len(self.suspects)

    def __getitem__(self, number: int) -> Confusion:
        return self.suspects[number]

    def report(self) -> Report:
        """Return the suspects with the ratio that each predicts."""
        verdict = f"may be {_either(self.suspects)}" if self.suspects else "no known mistake fits"
        rows = [{"may be": each.name, "predicted ratio": f"{float(each.ratio):.6g}"} for each in self.suspects]
        title = f"{self.ratio:.6g} times the right value" + f" in {self.unit}" * bool(self.unit)
        remarks = ["A ratio suggests a cause and does not prove one."] if self.suspects else []
        keys = sorted({each.source for each in self.suspects if each.source})
        return Report(title, verdict, tables=[Table.of(rows)] if rows else [], remarks=remarks, sources=keys)


def diagnose_ratio(
    ratio: float, unit: str | None = None, *, per: str | None = None, tolerance: Any = "0.5 %"
) -> Diagnosis:
    """Return the known mistakes that would make a number wrong by a ratio.

    Parameters
    ----------
    ratio : float
        The number given over the right one.
    unit : str, optional
        The unit in which the number is meant, such as ``"lb/gal"`` or ``"pulse/gal"``; for a factor,
        the unit to which it leads. Without it the number is taken as an indication of unknown unit.
    per : str, optional
        For a factor: the unit from which it leads.
    tolerance : str
        How far the ratio may be from that of the mistake. A mistake by a small ratio must be met
        more closely: within a quarter of what it makes.

    Returns
    -------
    Diagnosis
        Likeliest first: mistakes of units, settings and pulses by nearness, then shifted decimal points.

    Examples
    --------
    >>> print(*diagnose_ratio(8.05 / 6.7, "lb/gal"))
    imperial gallon for US gallon (lb/imp_gal for lb/gal)
    >>> diagnose_ratio(6.7 / 6.0)
    <Diagnosis: 1.11667 times the right value: may be the density of jet fuel on avgas (6.7 for 6 lb/gal)>
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
    suspects: list[Confusion] = []
    for rank, *_, confusion in sorted(found):
        seen = [each for each in suspects if each.ratio == confusion.ratio]
        if confusion not in seen and not (unit and seen and (rank or confusion.reading)):
            suspects.append(confusion)
    return Diagnosis(ratio, unit or "", tuple(suspects))


def looks_like(ratio: float, unit: str | None, *, per: str | None = None, tolerance: Any = "0.5 %") -> str:
    """Return in words which mistakes fit, or nothing: the end of a message.

    Examples
    --------
    >>> looks_like(0.001, "pulse/gal")
    '; it may be thousands forgotten: a K-factor written in thousands of pulses'
    >>> looks_like(1.01, "pulse/gal")
    ''
    """
    return may_be(diagnose_ratio(ratio, unit, per=per, tolerance=tolerance))


def may_be(suspects: Iterable[object]) -> str:
    """Return the first three suspects as the end of a message; nothing where there is none."""
    words = _either(suspects)
    return f"; it may be {words}" if words else ""


def _either(suspects: Iterable[object]) -> str:
    return " or ".join(list(map(str, suspects))[:3])


@cache
def _confusions(unit: str | None, per: str | None) -> tuple[tuple[Confusion, ...], ...]:
    """Return the mistakes possible in a number of a unit: of units and settings first, then decimal points."""
    if unit is None:
        names = (*_INDICATED, *(name for pair in _DENSITIES for name in pair))
        of_units = [each for name in names for each in _unit_confusions(name, _IN_USE)]
        return (*_of_indication(), *of_units, *_thousands()), tuple(_shifts())
    if per is not None:
        return tuple(_factor_confusions(unit, per)), tuple(_shifts())
    dimension = read_unit(unit).dimension
    known = _IN_USE if dimension in (_DENSITY, _PULSES_PER_VOLUME, _PULSES_PER_MASS, _VOLUME_FLOW, _MASS_FLOW) else None
    direct = (*_special(read_unit(unit)), *_unit_confusions(unit, known))
    return direct, tuple(_converted_twice(direct, read_unit(unit))), tuple(_shifts())


def _of_indication() -> Iterator[Confusion]:
    """Return mistakes of the setting and of the pulses, by the ratio of the indication."""
    for one, other in (("jet fuel", "avgas"), ("avgas", "jet fuel")):
        ratio = _FIXED[one] / _FIXED[other]
        words = f"the density of {one} on {other} ({float(_FIXED[one]):g} for {float(_FIXED[other]):g} lb/gal)"
        yield Confusion(words, ratio, source="faa_standard_weights")
    yield Confusion("doubled pulses: each counted twice", Fraction(2))
    yield Confusion("halved pulses, by a divider or by lost pulses", Fraction(1, 2))
    yield Confusion("one channel of two", Fraction(1, 2))
    yield Confusion("multiplied pulses: every edge of two channels counted (quadrature)", Fraction(4))
    yield Confusion("pulses divided by four, or the K-factor of all four edges", Fraction(1, 4))


def _of_k_factor(unit: Unit) -> Iterator[Confusion]:
    """Return mistakes of a K-factor that is entered."""
    yield from _thousands()
    yield Confusion("the K-factor of doubled pulses, or of both edges", Fraction(2))
    yield Confusion("the K-factor of halved pulses, or of one channel of two", Fraction(1, 2))
    yield Confusion("the K-factor of multiplied pulses: every edge of two channels (quadrature)", Fraction(4))
    yield Confusion("the K-factor of pulses divided by four", Fraction(1, 4))
    for time in ("min", "h"):
        seconds = read_unit(time).size
        amount = unit.name.partition("/")[2]
        yield Confusion(f"the frequency in Hz at 1 {amount}/{time}, taken for {unit}", 1 / seconds)
        yield Confusion(f"the frequency taken per {time} in place of per second", seconds)


def _converted_twice(direct: Iterable[Confusion], unit: Unit) -> Iterator[Confusion]:
    for confusion in direct:
        if confusion.reading and not confusion.source:
            words = f"converted from {confusion.reading}, although it was in {unit} already"
            yield Confusion(words, 1 / confusion.ratio, confusion.reading)


def _unit_confusions(unit: str, known: set[str] | None = None) -> Iterator[Confusion]:
    """Return what else the number could be of: another unit, of those known, for the whole or for one part."""
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
            if known is not None and taken.name not in known:
                continue
            reading = "".join([*parts[:place], part.replace(base, taken.name, 1), *parts[place + 1 :]])
            words = f"{taken.words} for {meant.words}" + (f" ({reading} for {name})" if len(parts) > 1 else "")
            yield Confusion(words, (meant.size / taken.size) ** signed, reading, taken.source)


def _factor_confusions(unit: str, per: str) -> Iterator[Confusion]:
    """Return what else a factor could be: of another unit at either end, or the way back."""
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
    """Return factors of a speed in km/h where ``kph`` means kg/h."""
    factor = start.size / goal.size
    for name, metres in (("knots", Fraction(1852)), ("mph", 5280 * read_unit("ft").size), ("m/s", Fraction(3600))):
        yield Confusion(f"km/h for kg/h (the factor from km/h to {name})", 1000 / metres / factor, "km/h", "ucum")


def _special(unit: Unit) -> Iterator[Confusion]:
    if unit.dimension in (_PULSES_PER_VOLUME, _PULSES_PER_MASS):
        yield from _of_k_factor(unit)
    if unit.dimension in (_VOLUME, _MASS, _VOLUME_FLOW, _MASS_FLOW):
        mass = unit.dimension in (_MASS, _MASS_FLOW)
        yield from (each for each in _of_indication() if mass or not each.source)
    if unit.dimension == _MASS_FLOW:
        kilometre_to_kilogram = 1000 * read_unit("m").size / read_unit("kg").size
        yield Confusion("km/h for kg/h (kph read as a speed, in m/s)", kilometre_to_kilogram, "km/h")


def _thousands() -> Iterator[Confusion]:
    yield Confusion("thousands forgotten: a K-factor written in thousands of pulses", Fraction(1, 1000))
    yield Confusion("thousands taken twice: the K-factor was not written in thousands of pulses", Fraction(1000))


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
    """Return the measures that ``units.txt`` does not carry, because nobody should use them now."""
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
    return _own_measures().get(name) or _Measure(name, _WORDS.get(name, name), read_unit(name).size)


def _swaps(name: str) -> Iterator[tuple[_Measure, _Measure]]:
    """Return, for a unit that is meant, each measure that is taken for it."""
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
