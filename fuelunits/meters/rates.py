"""Numbers that K-factors, frequencies and counts are made of: read from text, quantities, numbers and arrays."""

from __future__ import annotations

from contextlib import suppress
from decimal import Decimal
from fractions import Fraction
from numbers import Integral, Rational, Real
from typing import Any

from fuelunits.arrays import as_float, as_float_array, is_positive
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.pint_units import is_quantity
from fuelunits.quantities import magnitude, read_text, refuse_angles
from fuelunits.validation import carries_unit, format_value, is_number, positive_number

_SMALLEST, _LARGEST = Fraction(1, 10**100), Fraction(10**100)


def read_pulses_per_volume(text: Any) -> tuple[Fraction, str]:
    """Read ``"11412 pulse/L"``, ``"11412/L"`` or a quantity into the number and the unit of volume."""
    if carries_unit(text):
        return positive_fraction(_pulses_per_litre(text), given=text), "L"
    if not isinstance(text, str):
        raise QuantityError(
            f"K-factor: {format_value(text)} has no unit; write '11412 pulse/L' or KFactor(11412, per='L')"
        )
    number, unit = read_text(text)
    if unit.startswith(("/", "per ")):
        unit = "pulse " + unit
    counted, _, per = unit.replace(" per ", "/").partition("/")
    if counted.strip() not in ("pulse", "pulses") or not per:
        raise DimensionError(f"K-factor: {text!r} is not pulses per volume; write for example '11412 pulse/L'")
    return positive_fraction(number, given=text), per.strip()


def _pulses_per_litre(quantity: Any) -> float:
    """Read a quantity of any library as pulses per litre: 1/volume and count/volume are read as pulses."""
    is_pint = is_quantity(quantity)
    names = [name for name, _ in type(quantity)(1.0, quantity.units).to_root_units().unit_items()] if is_pint else []
    if is_pint:
        refuse_angles(quantity, "K-factor")
    try:
        number = magnitude(quantity, "pulse/L" if "pulse" in names else "1/L", name="K-factor")
    except DimensionError as mismatch:
        raise DimensionError(f"K-factor: {quantity} is not pulses per volume") from mismatch
    if getattr(number, "ndim", 0):
        raise QuantityError("K-factor: one number is needed, not an array")
    return float(number)


def positive_fraction(number: Any, name: str = "K-factor", example: object = 11412, given: Any = None) -> Fraction:
    """Return a number exactly, a float as the decimal number that it prints; `given` is what the user wrote."""
    value = Fraction(0)
    if is_number(number):
        with suppress(ValueError, OverflowError):
            if isinstance(number, (Integral, Rational)):
                value = Fraction(int(number.numerator), int(number.denominator))
            elif isinstance(number, (Real, Decimal)):
                # text, since float(np.float32(0.1)) prints other digits than the number that was given
                value = Fraction(str(number))
    if not _SMALLEST < value < _LARGEST:
        wrong = format_value(number if given is None else given)
        raise QuantityError(f"{name} must be positive and finite, for example {example}; got {wrong}")
    return value


def in_unit(value: Any, unit: str, name: str) -> Any:
    """Return text or a quantity of any library in the unit that the argument's name states; anything else as it is."""
    return magnitude(value, unit, name=name) if isinstance(value, str) or carries_unit(value) else value


def positive_in_unit(value: Any, unit: str, name: str) -> float:
    """Return one positive number in a unit, from a number, text or a quantity."""
    return positive_number(in_unit(value, unit, name), name)


def positive_floats(value: Any, name: str) -> Any:
    """Return a float or floating-point array, positive and finite; NaN passes."""
    number = as_float(value)
    if not is_positive(number):
        raise QuantityError(f"{name} must be positive and finite; got {format_value(value)}")
    return number


def whole_counts(pulses: Any, name: str = "pulses") -> Any:
    """Return counts as float: whole numbers that are not negative, one or an array of any library."""
    import numpy as np

    try:
        number = as_float_array(pulses, name)
    except (QuantityError, TypeError, ValueError) as wrong:
        raise QuantityError(f"{name}: {format_value(pulses)}: a whole number is needed ({wrong})") from wrong
    if not np.all(np.isfinite(number)) or np.any(number != np.floor(number)):
        raise QuantityError(f"{name}: {format_value(pulses)} is not a whole number, and counts are whole numbers")
    if np.any(number < 0):
        raise QuantityError(f"{name}: {format_value(pulses)} is negative")
    return number if number.ndim else float(number)
