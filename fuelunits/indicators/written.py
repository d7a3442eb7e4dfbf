"""Inputs as they were written, and their exact numbers: an indicator and its bench sheet keep the text."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from fuelunits.amounts import exact_number, is_ratio
from fuelunits.errors import QuantityError
from fuelunits.quantities import fraction, has_dimension, is_quantity, read_text
from fuelunits.uncertainty.budget import nominal, standard_uncertainty
from fuelunits.validation import carries_unit, format_value

__all__ = [
    "as_written",
    "between",
    "exact_fraction",
    "exact_hertz",
    "is_frequency",
    "written_fraction",
    "written_tolerance",
]


def as_written(value: Any, unit: str, name: str) -> str:
    """Return what was given as text: text as it is, a quantity of any library as its number in a unit."""
    if isinstance(value, str):
        return value.strip()
    if is_quantity(value) and hasattr(value.magnitude, "nominal_value"):
        raise QuantityError(f"{name}: {value} has an uncertainty of its own; write one plain quantity")
    return f"{float(exact_number(value, unit, name=name, zero=True))!r} {unit}"


def written_fraction(value: Any, name: str) -> str:
    """Return a percentage as text, one that is a quantity too."""
    number = fraction(value, name=name)
    return value.strip() if isinstance(value, str) else f"{float(100 * Fraction(repr(number)))!r} %"


def written_tolerance(value: Any, unit: str) -> str:
    """Return a tolerance as text: a percentage, or a quantity of the kind of `unit`."""
    example = "for example '2 %'"
    if isinstance(value, str):
        number, written = read_text(value)
        if not written:
            raise QuantityError(f"tolerance: {value!r} has no unit; write '{value.strip()} %'")
        if number < 0:
            raise QuantityError(f"tolerance: {value} must not be negative, {example}")
        return value.strip()
    if not carries_unit(value):
        raise QuantityError(f"tolerance: {format_value(value)} has no unit; {example}")
    if is_ratio(value):
        return written_fraction(value, "tolerance")
    return as_written(value, unit, "tolerance")


def exact_fraction(percentage: str, name: str) -> Fraction:
    """Return a percentage as an exact fraction that is not negative."""
    fraction(percentage, name=name)
    return read_text(percentage)[0] / 100


def is_frequency(value: Any) -> bool:
    """Return whether something is a frequency: per time, or pulses per time."""
    return has_dimension(value, "Hz", name="frequency")


def exact_hertz(value: Any, name: str) -> Fraction:
    """Return a frequency in Hz exactly; ``"100 pulse/s"`` and ``"6000 pulse/min"`` are frequencies."""
    return exact_number(value, "Hz", name=name, zero=True)


def between(value: Any, unit: str) -> str:
    """Return a number with its unit; an uncertain one as the interval of twice its standard uncertainty.

    Examples
    --------
    >>> between(Fraction(45), "min")
    '45 min'
    """
    middle, spread = float(nominal(value)), 2.0 * standard_uncertainty(value)
    if not spread:
        return f"{middle:.5g} {unit}"
    return f"between {middle - spread:.4g} and {middle + spread:.4g} {unit}"
