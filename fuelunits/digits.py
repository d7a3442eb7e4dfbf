"""Mistakes in the digits of a written number: rounded, cut, or two of them swapped."""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import ROUND_DOWN, Decimal
from fractions import Fraction

from fuelunits.confusions import known_confusions, may_be

_PLACES = ("a whole number", "one decimal", "two decimals", "three decimals", "four decimals", "five decimals")


def digit_slips(given: float, right: float) -> Iterator[str]:
    """Yield the slip in the digits of the right number that leaves the given one, as it is written, if there is one.

    A rounding to one digit, or a cut to two, cannot be distinguished from chance.
    """
    if not 0.1 < given / right < 10.0:
        return
    number, exact = Decimal(repr(float(given))).normalize(), Decimal(repr(float(right)))
    digits, decimals = len(number.as_tuple().digits), -int(number.as_tuple().exponent)
    rounded, cut = (exact.quantize(Decimal(1).scaleb(-decimals), rounding=how) for how in (None, ROUND_DOWN))
    if number in (rounded, cut):
        if number != exact and digits > 1 + (number != rounded):
            places = _PLACES[decimals] if 0 <= decimals < len(_PLACES) else f"a multiple of {10.0**-decimals:g}"
            yield f"{right:.7g} {'rounded' if number == rounded else 'cut'} to {places}"
        return
    for meant in {rounded, cut}:
        if digits > 2 and Fraction(number) in swapped_digits(Fraction(meant)):
            yield f"{float(meant):.10g} with two digits swapped"


def number_looks_like(
    given: float, right: float, unit: str, *causes: str, per: str = "", tolerance: str = "0.5 %"
) -> str:
    """Return the likely mistake in a number of a unit, as the end of a message; `causes` come first."""
    fits = unit and 0.0 < given / right < math.inf
    known = known_confusions(given / right, unit, per=per or None, tolerance=tolerance) if fits else ()
    return may_be([*causes, *digit_slips(given, right), *known])


def swapped_digits(number: Fraction) -> set[Fraction]:
    """Return the numbers that arise where two neighbouring digits are swapped."""
    written = Decimal(f"{float(number):.12g}")
    text = "".join(map(str, written.as_tuple().digits))
    swaps = (text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1))
    return {Fraction(Decimal(each).scaleb(int(written.as_tuple().exponent))) for each in swaps} - {number, Fraction(0)}


def shortened(number: Fraction) -> set[Fraction]:
    """Return a number in fewer significant digits, rounded or cut off."""
    sizes = [Fraction(10) ** (math.floor(math.log10(number)) - lost) for lost in range(7)]
    return {(number / size + half).__floor__() * size for size in sizes for half in (0, Fraction(1, 2))} - {number}
