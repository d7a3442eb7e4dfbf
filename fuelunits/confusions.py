"""Which known mistake leaves a given ratio behind: a wrong gallon, pounds for kilograms, doubled pulses.

A number is wrong by a ratio, given over right. Most mistakes are of one unit for another: the ratio is then a power
of the ratio of their sizes, computed from the exact units. What fits is a possible cause, never a proof.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from typing import Any

from fuelunits.errors import QuantityError
from fuelunits.quantities import tolerance_fraction
from fuelunits.reports import Report, Reporting, Table
from fuelunits.sources import source
from fuelunits.units import Unit, exact_factor, read_unit
from fuelunits.validation import format_value, positive_number

_TAKEN_FOR = {
    "gal": ("imp_gal", "L", "qt", "bbl"),
    "imp_gal": ("L",),
    "L": ("qt", "m3"),
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

_DENSITIES = tuple(("kg/L", other) for other in ("lb/gal", "lb/imp_gal", "kg/m^3"))
_DENSITIES += (("lb/gal", "kg/m^3"), ("lb/gal", "lb/ft3"))
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
    "mbar": "millibar",
    "mmHg": "millimetre of mercury",
}

_FLOWS = ("gal/h", "gal/min", "imp_gal/h", "L/h", "L/min", "lb/h")
"""What the abbreviated flow units stand for."""

_VOLUME, _MASS = (("m", 3),), (("kg", 1),)
_DENSITY, _VOLUME_FLOW, _MASS_FLOW = (("kg", 1), ("m", -3)), (("m", 3), ("s", -1)), (("kg", 1), ("s", -1))
_K_FACTORS = ((("m", -3), ("pulse", 1)), (("kg", -1), ("pulse", 1)))
_INDICATED = ("gal", "imp_gal", "L", "lb", "kg", "h", "min")
"""Units that an indication of unknown unit may confuse."""

_FIXED = {"jet fuel": Fraction(67, 10), "avgas": Fraction(6)}
"""Fixed densities in lb/gal that indicators are set to (source: faa_amt_general)."""


@dataclass(frozen=True)
class Confusion:
    """A mistake that is known by the ratio it leaves behind: given over right, exactly.

    ``reading`` is the unit for which the given number would be right, empty where none explains it; ``source`` the key
    of the source of a figure that ``units.txt`` does not carry.
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
    unit, suspects : str, tuple of Confusion

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
        title = f"{self.ratio:.6g} times the right value" + f" in {self.unit}" * bool(self.unit)
        if not self.suspects:
            return Report(title, "no known mistake fits")
        rows = [{"may be": each.name, "predicted ratio": f"{float(each.ratio):.6g}"} for each in self.suspects]
        return Report(
            title,
            f"may be {_either(self.suspects)}",
            tables=[Table.of(rows)],
            remarks=["A ratio suggests a cause and does not prove one."],
            sources=sorted({each.source for each in self.suspects if each.source}),
        )


def diagnose_ratio(
    ratio: float, unit: str | None = None, *, per: str | None = None, tolerance: Any = "0.5 %"
) -> Diagnosis:
    """Return the known mistakes that would make a number wrong by a ratio, likeliest first.

    Parameters
    ----------
    ratio : float
        The number given over the right one.
    unit : str, optional
        The unit in which the number is meant, such as ``"lb/gal"``; for a factor, the unit to which it leads. Without
        it the number is taken as an indication of unknown unit.
    per : str, optional
        For a factor: the unit from which it leads.
    tolerance : str
        How far the ratio may be from that of the mistake, and at most a quarter of what the mistake makes.

    Examples
    --------
    >>> print(*diagnose_ratio(8.05 / 6.7, "lb/gal"))
    imperial gallon for US gallon (lb/imp_gal for lb/gal)
    >>> diagnose_ratio(6.7 / 6.0)
    <Diagnosis: 1.11667 times the right value: may be the density of jet fuel on avgas (6.7 for 6 lb/gal)>
    """
    allowed = tolerance_fraction(tolerance)
    if isinstance(ratio, str):
        example = "write the number given over the right one: 0.96 for 4 % low"
        raise QuantityError(f"ratio is {format_value(ratio)}; {example}")
    ratio = positive_number(ratio, "ratio", example=0.83)
    for each in (unit, per):
        if each is not None:
            read_unit(each)
    suspects: list[Confusion] = []
    for rank, confusion in _fitting(ratio, _confusions(unit, per), allowed):
        seen = [each for each in suspects if each.ratio == confusion.ratio]
        heads = [each.name.partition(" (")[0] for each in seen]
        if confusion.name.partition(" (")[0] not in heads and not (unit and seen and (rank or confusion.reading)):
            suspects.append(confusion)
    return Diagnosis(ratio, unit or "", tuple(suspects))


def _fitting(ratio: float, ranks: Iterable[Iterable[Confusion]], allowed: float) -> list[tuple[int, Confusion]]:
    """Return the confusions that fit a ratio, with their rank, the nearest of each rank first."""
    found = [
        (rank, distance, confusion)
        for rank, confusions in enumerate(ranks)
        for confusion in confusions
        if (distance := abs(ratio / float(confusion.ratio) - 1.0))
        < min(allowed, abs(float(confusion.ratio) - 1.0) / 4.0)
    ]
    return [(rank, confusion) for rank, _, confusion in sorted(found, key=lambda each: each[:2])]


def diagnose_fill_up(ratio: float, indicated_unit: str, delivered_unit: str) -> tuple[Confusion, ...]:
    """Return the mistakes that would make an indicated volume wrong against a delivered one, K a few percent off.

    Both are volumes, so no density can be the cause.
    """
    sides = ("the amount delivered", delivered_unit, 1), ("the amount indicated, or the K-factor,", indicated_unit, -1)
    of_units = tuple(
        Confusion(f"{name} looks like {_WORDS[other]}s", exact_factor(other, unit) ** sign, other)
        for name, unit, sign in sides
        for other in ("gal", "L", "imp_gal")
        if other != unit
    )
    return tuple(each for _, each in _fitting(ratio, (of_units, _PULSES, _SHIFTS), 0.06))


def looks_like(ratio: float, unit: str | None, *, per: str | None = None) -> str:
    """Return in words which mistakes fit, or nothing: the end of a message."""
    return may_be(diagnose_ratio(ratio, unit, per=per) if 0.0 < ratio < math.inf else ())


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
        return ((*_settings(), *_PULSES, *of_units, *_volumes_for_masses(), *_THOUSANDS, *_SHIFTS),)
    if per is not None:
        return tuple(_factor_confusions(unit, per)), _SHIFTS
    meant = read_unit(unit)
    known = _IN_USE if meant.dimension in (_DENSITY, *_K_FACTORS, _VOLUME_FLOW, _MASS_FLOW) else None
    direct = (*_special(meant), *_unit_confusions(unit, known))
    converted_twice = tuple(
        Confusion(f"converted from {each.reading}, although it was in {meant} already", 1 / each.ratio, each.reading)
        for each in direct
        if each.reading
    )
    return direct, converted_twice, _SHIFTS


_PULSES = (
    Confusion("doubled pulses: each counted twice", Fraction(2)),
    Confusion("halved pulses, by a divider or by lost pulses", Fraction(1, 2)),
    Confusion("one channel of two", Fraction(1, 2)),
    Confusion("multiplied pulses: every edge of two channels counted (quadrature)", Fraction(4)),
    Confusion("pulses divided by four, or the K-factor of all four edges", Fraction(1, 4)),
)
"""Mistakes of the pulses, by the ratio of the indication."""

_THOUSANDS = (
    Confusion("thousands forgotten: a K-factor written in thousands of pulses", Fraction(1, 1000)),
    Confusion("thousands taken twice: the K-factor was not written in thousands of pulses", Fraction(1000)),
)
_K_FACTOR_ENTERED = (
    *_THOUSANDS,
    Confusion("the K-factor of doubled pulses, or of both edges", Fraction(2)),
    Confusion("the K-factor of halved pulses, or of one channel of two", Fraction(1, 2)),
    Confusion("the K-factor of multiplied pulses: every edge of two channels (quadrature)", Fraction(4)),
    Confusion("the K-factor of pulses divided by four", Fraction(1, 4)),
)
_SHIFTS = tuple(
    Confusion(f"the decimal point {places} place{'s' * (places > 1)} too far {side}", Fraction(10) ** (sign * places))
    for places in (1, 2, 3)
    for side, sign in (("right", 1), ("left", -1))
)


def _settings() -> Iterator[Confusion]:
    """Return mistakes of the fixed density, by the ratio of the indication."""
    for one, other in (("jet fuel", "avgas"), ("avgas", "jet fuel")):
        words = f"the density of {one} on {other} ({float(_FIXED[one]):g} for {float(_FIXED[other]):g} lb/gal)"
        yield Confusion(words, _FIXED[one] / _FIXED[other], source="faa_amt_general")


def _volumes_for_masses() -> Iterator[Confusion]:
    """Return a mass taken for a volume and the reverse, at the densities that indicators are set to."""
    for mass, volume, unit in (("pounds", "US gallons", "lb/gal"), ("kilograms", "litres", "kg/L")):
        for fuel, lb_gal in _FIXED.items():
            ratio = lb_gal * exact_factor("lb/gal", unit)
            yield Confusion(f"{mass} for {volume} of {fuel}", ratio, source="faa_amt_general")
            yield Confusion(f"{volume} for {mass} of {fuel}", 1 / ratio, source="faa_amt_general")


def _special(unit: Unit) -> Iterator[Confusion]:
    """Return mistakes that are none of a unit for another: of the K-factor entered, of settings, pulses, a speed."""
    if unit.dimension in _K_FACTORS:
        yield from _K_FACTOR_ENTERED
        for time in ("min", "h"):
            seconds, amount = read_unit(time).size, unit.name.partition("/")[2]
            yield Confusion(f"the frequency in Hz at 1 {amount}/{time}, taken for {unit}", 1 / seconds)
            yield Confusion(f"the frequency taken per {time} in place of per second", seconds)
    if unit.dimension in (_MASS, _MASS_FLOW, _DENSITY):
        yield from _settings()
    if unit.dimension in (_VOLUME, _MASS, _VOLUME_FLOW, _MASS_FLOW):
        yield from _PULSES
    if unit.dimension == _MASS_FLOW:
        yield Confusion("km/h for kg/h (kph read as a speed, in m/s)", Fraction(1000), "km/h")


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
        for one, other in _PAIRS:
            taken = other if base == one else one if base == other else ""
            if not taken or (known is not None and taken not in known):
                continue
            reading = "".join([*parts[:place], part.replace(base, taken, 1), *parts[place + 1 :]])
            words = f"{_WORDS.get(taken, taken)} for {_WORDS.get(base, base)}"
            words += f" ({reading} for {name})" if len(parts) > 1 else ""
            yield Confusion(words, (_size(base) / _size(taken)) ** signed, reading)


def _size(unit: str) -> Fraction:
    return read_unit("inHg").size / exact_factor("in", "mm") if unit == "mmHg" else read_unit(unit).size


def _spelled_out(unit: Unit) -> str:
    """Write an abbreviated flow unit as volume or mass per time."""
    flows = map(read_unit, _FLOWS)
    return next((flow.name for flow in flows if (flow.size, flow.dimension) == (unit.size, unit.dimension)), unit.name)


def _factor_confusions(unit: str, per: str) -> Iterator[Confusion]:
    """Return what else a factor could be: of another unit at either end, the way back, or of a speed."""
    start, goal = read_unit(per), read_unit(unit)
    factor = start.size / goal.size
    yield Confusion(f"no conversion ({start} taken for {goal})", 1 / factor, f"{start} per {start}")
    for end, power in ((per, -1), (unit, 1)):
        for each in _unit_confusions(end):
            reading = f"{goal} per {each.reading}" if power < 0 else f"{each.reading} per {start}"
            words = f"{each.name.partition(' (')[0]} ({reading} for {goal} per {start})"
            yield Confusion(words, each.ratio**power, reading)
    yield Confusion(f"the reciprocal ({start} per {goal} for {goal} per {start})", 1 / factor**2, f"{start} per {goal}")
    if start.dimension == goal.dimension == _MASS_FLOW:  # "kph" read as km/h where it means kg/h
        for name, metres in (("knots", Fraction(1852)), ("mph", 5280 * read_unit("ft").size), ("m/s", Fraction(3600))):
            yield Confusion(f"km/h for kg/h (the factor from km/h to {name})", 1000 / metres / factor, "km/h", "ucum")
