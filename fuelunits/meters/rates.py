"""What is read as pulses: K-factors as text and quantities, and counts, which are whole numbers."""

from __future__ import annotations

from fractions import Fraction
from numbers import Rational
from typing import Any

import numpy as np

from fuelunits.arrays import as_float
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.quantities import is_quantity, magnitude, read_text
from fuelunits.validation import format_value, plain_array, plain_number

__all__ = ["positive_fraction", "read_pulses_per_volume", "total_count", "whole_counts"]


_SMALLEST, _LARGEST = Fraction(1, 10**100), Fraction(10**100)


def read_pulses_per_volume(text: Any) -> tuple[Fraction, str]:
    """Read ``"28740 pulse/gal"``, ``"28740/gal"`` or a pint quantity into the number and the unit of volume.

    Examples
    --------
    >>> read_pulses_per_volume("28740 pulses per gallon")
    (Fraction(28740, 1), 'gallon')
    """
    if is_quantity(text):
        return positive_fraction(_pulses_per_litre(text)), "L"
    if not isinstance(text, str):
        raise QuantityError(
            f"K-factor: {format_value(text)} has no unit; write '28740 pulse/gal' or KFactor(28740, per='gal')"
        )
    number, unit = read_text(text)
    if unit.startswith(("/", "per ")):
        unit = "pulse " + unit
    counted, _, per = unit.replace(" per ", "/").partition("/")
    if counted.strip() not in ("pulse", "pulses") or not per:
        raise DimensionError(f"K-factor: {text!r} is not pulses per volume; write '28740 pulse/gal', say")
    return number, per.strip()


def positive_fraction(number: Any) -> Fraction:
    """Take a number exactly, a float as the decimal number that it prints."""
    try:
        value = Fraction(number) if isinstance(number, Rational) else Fraction(repr(plain_number(number, "number")))
    except (TypeError, ValueError, OverflowError):
        value = Fraction(0)
    if not _SMALLEST < value < _LARGEST:
        raise QuantityError(f"{format_value(number)} is no positive, finite number of any use; write 28740, say")
    return value


def _pulses_per_litre(quantity: Any) -> float:
    """Read a pint quantity as pulses per litre: 1/volume and count/volume are read as pulses."""
    names = [name for name, _ in type(quantity)(1.0, quantity.units).to_root_units().unit_items()]
    if "radian" in names:
        raise DimensionError(f"K-factor: {quantity} counts angles or turns, not pulses")
    if "pulse" in names:
        number = magnitude(quantity, "pulse/L", name="K-factor")
    else:
        try:
            number = magnitude(quantity, "1/L", name="K-factor")
        except DimensionError as mismatch:
            raise DimensionError(f"K-factor: {quantity} is not pulses per volume") from mismatch
    if np.ndim(number):
        raise QuantityError("K-factor: one number is needed, not an array")
    return float(number)


def whole_counts(pulses: Any) -> Any:
    """Take counts: whole numbers that are not negative."""
    whole = isinstance(pulses, int) or np.issubdtype(plain_array(pulses, "pulses").dtype, np.integer)
    if isinstance(pulses, bool) or not whole:
        raise QuantityError(f"pulses: {format_value(pulses)} is no count; counts are whole numbers")
    if np.any(np.less(pulses, 0)):
        raise QuantityError(f"pulses: {format_value(pulses)} is negative")
    return as_float(pulses)


def total_count(counts: Any) -> int:
    """Add counts as whole numbers of any size."""
    if isinstance(counts, (str, bytes)) or not np.iterable(counts):
        raise QuantityError(f"counts is {format_value(counts)}; give a list of whole numbers")
    whole = counts.ravel().tolist() if isinstance(counts, np.ndarray) else list(counts)
    for count in whole:
        if not isinstance(count, (int, np.integer)) or isinstance(count, bool) or count < 0:
            raise QuantityError(
                f"pulses: {format_value(count)} is no count; counts are whole numbers that are not negative"
            )
    return sum(map(int, whole))
