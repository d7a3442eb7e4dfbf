"""Inputs as they were written, and their exact numbers: an indicator and its bench sheet keep the text."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from fuelunits.amounts import exact_number, is_ratio
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.quantities import fraction, is_quantity, read_text
from fuelunits.uncertainty.budget import nominal, standard_uncertainty
from fuelunits.units import read_unit
from fuelunits.validation import format_value

__all__ = ["as_written", "between", "exact_fraction", "exact_hertz", "is_frequency", "written_tolerance"]


def as_written(value: Any, unit: str, name: str) -> str:
    """Return what was given as text: text as it is, a pint quantity as its number in a unit.

    Examples
    --------
    >>> as_written(" 6.7 lb/gal", "kg/m^3", "density")
    '6.7 lb/gal'
    """
    if is_quantity(value) and hasattr(value.magnitude, "nominal_value"):
        raise QuantityError(f"{name}: {value} has an uncertainty of its own; write one plain quantity")
    if is_quantity(value):
        return f"{float(exact_number(value, unit, name=name, zero=True))!r} {unit}"
    if not isinstance(value, str):
        exact_number(value, unit, name=name)
    return str(value).strip()


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
    if not is_quantity(value):
        raise QuantityError(f"tolerance: {format_value(value)} has no unit; {example}")
    if is_ratio(value):
        return f"{fraction(value, name='tolerance') * 100!r} %"
    return as_written(value, unit, "tolerance")


def exact_fraction(percentage: str, name: str) -> Fraction:
    """Return a percentage as an exact fraction that is not negative.

    Examples
    --------
    >>> exact_fraction("0.5 %", "tolerance")
    Fraction(1, 200)
    """
    fraction(percentage, name=name)
    return read_text(percentage)[0] / 100


def is_frequency(value: Any) -> bool:
    """Return whether something is a frequency: per time, or pulses per time."""
    if isinstance(value, str):
        unit = read_text(value)[1]
        return bool(unit) and read_unit(unit).dimension in (read_unit("Hz").dimension, read_unit("pulse/s").dimension)
    return is_quantity(value) and ("pulse" in str(value.units) or bool(value.check("1/[time]")))


def exact_hertz(value: Any, name: str) -> Fraction:
    """Return a frequency in Hz exactly; ``"100 pulse/s"`` and ``"6000 pulse/min"`` are frequencies.

    Examples
    --------
    >>> exact_hertz("6000 pulse/min", "frequency")
    Fraction(100, 1)
    """
    try:
        return exact_number(value, "Hz", name=name, zero=True)
    except DimensionError:
        if not is_frequency(value):
            raise
    return exact_number(value, "pulse/s", name=name, zero=True)


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
