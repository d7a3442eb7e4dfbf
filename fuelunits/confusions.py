"""The known mistake that would produce a given ratio: a wrong gallon, pounds for kilograms, doubled pulses, digits.

A number is wrong by a ratio, given over right. Most mistakes are of one unit for another: the ratio is then a power
of the ratio of their sizes, computed from the exact units. What fits is a possible cause, never a proof.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from fractions import Fraction
from functools import cache
from itertools import product
from typing import Any

from fuelunits.conversion import flow_unit_name
from fuelunits.quantities import tolerance_fraction
from fuelunits.sources import data_table
from fuelunits.units import Unit, exact_factor, read_unit

_TABLES = data_table("confusions.toml")
_WORDS = _TABLES["words"]

CHECKS: dict[str, str] = _TABLES["checks"]  # what to check next for each kind of cause of a wrong indication

FIXED = {kind: Fraction(lb_gal) for kind, lb_gal in _TABLES["fixed_densities"].items()}
"""Fixed densities in lb/gal that indicators are set to (source: faa_amt_general)."""

IN_USE = {"gal", "imp_gal", "L", "m3", "lb", "kg", "h", "min", "s"}
"""Units of indications, densities and K-factors; the others are confused in factors and in amounts only."""

_VOLUME, _MASS = (("m", 3),), (("kg", 1),)
_DENSITY, _VOLUME_FLOW, _MASS_FLOW = (("kg", 1), ("m", -3)), (("m", 3), ("s", -1)), (("kg", 1), ("s", -1))
_K_FACTORS = ((("m", -3), ("pulse", 1)), (("kg", -1), ("pulse", 1)))
_PAIRS, _DENSITIES = (
    tuple((one, other) for one, others in _TABLES[table].items() for other in others)
    for table in ("taken_for", "densities_taken_for")
)


@dataclass(frozen=True)
class Confusion:
    """A mistake by its exact ratio, given over right; the unit ``reading`` explains it, ``kind`` is a key of CHECKS."""

    name: str
    ratio: Fraction
    reading: str = ""
    kind: str = ""

    def __str__(self) -> str:
        return self.name


PULSES = tuple(Confusion(name, Fraction(ratio), kind=kind) for name, (ratio, kind) in _TABLES["pulses"].items())
"""Mistakes of the pulses, by the ratio of the indication."""

SHIFTS = tuple(
    Confusion(f"the decimal point {n} place{'s' * (n > 1)} too far {side}", Fraction(by) ** n, kind="k_power_of_ten")
    for n in (1, 2, 3)
    for side, by in (("right", 10), ("left", Fraction(1, 10)))
)
"""Misplaced decimal points."""


def known_confusions(ratio: float, unit: str, *, per: str = "", tolerance: Any = "0.5 %") -> tuple[Confusion, ...]:
    """Return the known mistakes that would make a number wrong by a ratio, given over right, likeliest first.

    `unit` is the one in which the number is meant, or for a factor that to which it leads; `per` that from which it
    leads. `tolerance` is how far the ratio may be from that of the mistake, at most a quarter of what it makes.
    """
    suspects: list[Confusion] = []
    for rank, confusion in _fitting(ratio, _confusions(unit, per), tolerance_fraction(tolerance)):
        is_same = confusion.ratio in [each.ratio for each in suspects]
        if not (is_same and (rank or confusion.reading)):  # settings and pulses alone have a cause of their own
            suspects.append(confusion)
    return tuple(suspects)


def _fitting(ratio: float, ranks: Iterable[Iterable[Confusion]], allowed: float) -> list[tuple[int, Confusion]]:
    """Return the confusions that fit a ratio, with their rank, the nearest of each rank first."""
    found = [
        (rank, distance, each)
        for rank, confusions in enumerate(ranks)
        for each in confusions
        if (distance := abs(ratio / float(each.ratio) - 1.0)) < min(allowed, abs(float(each.ratio) - 1.0) / 4.0)
    ]
    return [(rank, confusion) for rank, _, confusion in sorted(found, key=lambda each: each[:2])]


def diagnose_fill_up(ratio: float, indicated_unit: str, delivered_unit: str) -> tuple[Confusion, ...]:
    """Return the mistakes that would make an indicated volume wrong against a delivered one; none is of a density."""
    sides = ("the amount delivered", delivered_unit, -1), ("the amount indicated, or the K-factor,", indicated_unit, 1)
    of_units = tuple(
        Confusion(f"{name} looks like {_WORDS[each.reading]}s", each.ratio**sign, each.reading, each.kind)
        for name, unit, sign in sides
        for each in unit_confusions(unit, IN_USE)
        if each.kind
    )
    return tuple(each for _, each in _fitting(ratio, (of_units, PULSES, SHIFTS), 0.06))


def volume_correction_mistakes(vcf: float) -> tuple[tuple[str, float], ...]:
    """Return mistakes with a volume correction factor, and the ratio that each produces in what it corrects."""
    return ("no correction", 1.0 / vcf), ("its reciprocal", vcf**-2), ("the correction made twice", vcf)


def may_be(suspects: Iterable[object]) -> str:
    """Return the first three suspects as the end of a message; nothing where there is none."""
    words = " or ".join(list(map(str, suspects))[:3])
    return f"; it may be {words}" if words else ""


@cache
def _confusions(unit: str, per: str) -> tuple[tuple[Confusion, ...], ...]:
    """Return the mistakes possible in a number of a unit: of units and settings first, then decimal points."""
    if per:
        return tuple(_factor_confusions(unit, per)), SHIFTS
    meant = read_unit(unit)
    known = IN_USE if meant.dimension in (_DENSITY, *_K_FACTORS, _VOLUME_FLOW, _MASS_FLOW) else None
    direct = (*_special(meant), *unit_confusions(unit, known))
    converted_twice = tuple(
        Confusion(f"converted from {each.reading}, although it was in {meant} already", 1 / each.ratio, each.reading)
        for each in direct
        if each.reading
    )
    return direct, converted_twice, SHIFTS


def _special(unit: Unit) -> Iterator[Confusion]:
    """Return mistakes that are none of a unit for another: of the K-factor entered, of settings, pulses, a speed."""
    if unit.dimension in _K_FACTORS:
        yield from (Confusion(name, Fraction(ratio)) for name, ratio in _TABLES["k_factor_entered"].items())
        for time in ("min", "h"):
            seconds, amount = read_unit(time).size, unit.name.partition("/")[2]
            yield Confusion(f"the frequency in Hz at 1 {amount}/{time}, taken for {unit}", 1 / seconds)
            yield Confusion(f"the frequency taken per {time} in place of per second", seconds)
    if unit.dimension in (_MASS, _MASS_FLOW, _DENSITY):
        for one, other in (("jet fuel", "avgas"), ("avgas", "jet fuel")):
            words = f"the density of {one} on {other} ({float(FIXED[one]):g} for {float(FIXED[other]):g} lb/gal)"
            yield Confusion(words, FIXED[one] / FIXED[other], kind="density_setting")
    if unit.dimension in (_VOLUME, _MASS, _VOLUME_FLOW, _MASS_FLOW):
        yield from PULSES
    if unit.dimension == _MASS_FLOW:
        yield Confusion("km/h for kg/h (kph read as a speed, in m/s)", Fraction(1000), "km/h")


def unit_confusions(unit: str, known: set[str] | None = None) -> Iterator[Confusion]:
    """Return what else the number could be of: another unit, of those known, for the whole or for one part."""
    name = flow_unit_name(unit)
    for pair in _DENSITIES:
        if name in pair:
            other = pair[not pair.index(name)]
            yield Confusion(f"{other} for {name}", exact_factor(name, other), other)
    parts = re.split(r"([*/])", name)
    for place, part in enumerate(parts):
        base, hat, power = part.partition("^")
        signed = int(power or 1) * (-1 if parts[place - 1] == "/" else 1)
        for one, other in _PAIRS:
            taken = other if base == one else one if base == other else ""
            if not taken or (known is not None and taken not in known):
                continue
            reading = "".join([*parts[:place], taken, hat, power, *parts[place + 1 :]])
            words = f"{_WORDS.get(taken, taken)} for {_WORDS.get(base, base)}"
            words += f" ({reading} for {name})" if reading != taken else ""
            both = " ".join(sorted((base, taken)))
            kind = _TABLES["displays"].get(both, "imperial_display" if "imp_gal" in (base, taken) else "")
            yield Confusion(words, (read_unit(base).size / read_unit(taken).size) ** signed, reading, kind)


def _factor_confusions(unit: str, per: str) -> Iterator[Confusion]:
    """Return what else a factor could be: of another unit at either end, the way back, or of a speed."""
    start, goal = read_unit(per), read_unit(unit)
    factor = start.size / goal.size
    yield Confusion(f"no conversion ({start} taken for {goal})", 1 / factor, f"{start} per {start}")
    for end, power in ((per, -1), (unit, 1)):
        for each in unit_confusions(end):
            reading = f"{goal} per {each.reading}" if end is per else f"{each.reading} per {start}"
            words = f"{each.name.partition(' (')[0]} ({reading} for {goal} per {start})"
            yield Confusion(words, each.ratio**power, reading)
    yield Confusion(f"the reciprocal ({start} per {goal} for {goal} per {start})", 1 / factor**2, f"{start} per {goal}")
    if start.dimension == goal.dimension == _MASS_FLOW:  # "kph" read as km/h where it means kg/h
        for name, metres in (("knots", Fraction(1852)), ("mph", 5280 * read_unit("ft").size), ("m/s", Fraction(3600))):
            yield Confusion(f"km/h for kg/h (the factor from km/h to {name})", 1000 / metres / factor, "km/h")


def digit_slips(given: float, right: float) -> Iterator[str]:
    """Yield the slip in the digits of the right number that leaves the given one, if it cannot be chance."""
    if not 0.1 < given / right < 10.0:
        return
    number, exact = Decimal(repr(float(given))).normalize(), Decimal(repr(float(right)))
    digits, exponent = len(number.as_tuple().digits), int(number.as_tuple().exponent)
    rounded, cut = (exact.quantize(number, rounding=how) for how in (None, ROUND_DOWN))  # to its last digit
    if number in (rounded, cut):
        if number != exact and digits > 1 + (number != rounded):
            yield f"{right:.7g} {'rounded' if number == rounded else 'cut'} to a multiple of {10.0**exponent:g}"
        return
    slips = {"two digits swapped": swapped_digits, "a digit left out or typed twice": retyped_digits}
    for (words, made), meant in product(slips.items(), {rounded, cut}):
        if digits > 2 and Fraction(number) in made(Fraction(meant)):
            yield f"{float(meant):.10g} with {words}"


def number_looks_like(
    given: float, right: float, unit: str, *causes: str, per: str = "", tolerance: str = "0.5 %"
) -> str:
    """Return the likely mistake in a number of a unit, as the end of a message; `causes` come first."""
    known = known_confusions(given / right, unit, per=per, tolerance=tolerance) if unit else ()
    return may_be([*causes, *digit_slips(given, right), *known])


def swapped_digits(number: Fraction) -> set[Fraction]:
    """Return the numbers that arise where two neighbouring digits are swapped."""
    written = Decimal(f"{float(number):.12g}")
    text = "".join(map(str, written.as_tuple().digits))
    swaps = (text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1))
    return {Fraction(Decimal(each).scaleb(int(written.as_tuple().exponent))) for each in swaps} - {number}


def retyped_digits(number: Fraction) -> set[Fraction]:
    """Return the numbers that arise where one digit is left out, or typed twice."""
    text = f"{Decimal(f'{float(number):.12g}'):f}"
    places = [i for i in range(len(text)) if text[i] != "."]
    found = {text[:i] + each + text[i + 1 :] for i in places for each in ("", 2 * text[i])}
    return {Fraction(each) for each in found if any(map(str.isdigit, each))} - {number, Fraction(0)}


def shortened(number: Fraction) -> set[Fraction]:
    """Return a number in fewer significant digits, rounded or cut off."""
    sizes = [Fraction(10) ** (math.floor(math.log10(number)) - lost) for lost in range(7)]
    return {(number / size + half).__floor__() * size for size in sizes for half in (0, Fraction(1, 2))} - {number}
