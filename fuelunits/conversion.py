"""Numbers from one unit to another, crossing between volume and mass only with a density."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import Any

import numpy as np

from fuelunits.arrays import as_number
from fuelunits.errors import DimensionError, QuantityError, UnitError
from fuelunits.quantities import exact, magnitude
from fuelunits.units import Unit, density_power, nearest_float, read_unit
from fuelunits.validation import format_value

__all__ = ["convert"]


def convert(value: Any, from_unit: str, to_unit: str, *, density: Any = None) -> Any:
    """Convert a number or an array from one unit to another.

    Parameters
    ----------
    value : float or array
        In `from_unit`. Any shape; float32 stays float32; NaN stays NaN.
    from_unit, to_unit : str
        Units. An absolute temperature (degC, degF, K, degR) converts to another, a temperature
        difference (delta_degC, …) to another; the two are never mixed.
    density : str or pint.Quantity, optional
        Needed to cross between volume and mass, and only there.

    Returns
    -------
    float or array
        In `to_unit`, of the shape of `value`.

    Raises
    ------
    UnitError
        If a unit is not known, or no text.
    DimensionError
        If the units measure different things, or a density is missing or not needed.
    QuantityError
        If the value has a unit of its own, the density is none or not positive, or a temperature
        lies below absolute zero.

    Examples
    --------
    >>> convert(50.0, "gal", "L")
    189.2705892
    >>> convert(50.0, "gal", "lb", density="6.7 lb/gal")
    335.0
    >>> round(convert(59.0, "degF", "degC"), 12)
    15.0
    """
    try:
        plain = _multiplier(from_unit, to_unit) if density is None else None
    except TypeError:
        raise UnitError(
            f"a unit is text, such as 'gal'; got {format_value(from_unit)} and {format_value(to_unit)}"
        ) from None
    if plain is not None and (isinstance(value, float) or (type(value) is np.ndarray and value.dtype.kind == "f")):
        return value * plain
    value = _number(value)
    if plain is not None:
        return value * plain
    start, goal = read_unit(from_unit), read_unit(to_unit)
    power = density_power(start, goal)
    if power:
        return value * nearest_float(start.size / goal.size * _exact_density(density, start, goal) ** power)
    if density is not None:
        raise DimensionError(f"{start} and {goal} are both {start.kind}; leave out the density")
    return _to_scale(value, start, goal)


def _number(value: Any) -> Any:
    """Refuse what is no plain number: text, or a quantity with a unit of its own."""
    if isinstance(value, (str, bytes)) or hasattr(value, "dimensionality"):
        raise QuantityError(
            f"convert takes a plain number or array beside its two units; got {format_value(value)}. "
            "Write convert(50.0, 'gal', 'L')"
        )
    return as_number(value)


@lru_cache(maxsize=4096)
def _multiplier(from_unit: str, to_unit: str) -> float | None:
    """Give the factor where one number does the conversion, else None."""
    start, goal = read_unit(from_unit), read_unit(to_unit)
    if start.dimension != goal.dimension or start.zero is not None or goal.zero is not None:
        return None
    return nearest_float(start.size / goal.size)


def _exact_density(density: Any, start: Unit, goal: Unit) -> Fraction:
    """Give a density in kg/m³ exactly as it was written."""
    if density is None:
        raise DimensionError(
            f"{start} is {start.kind} and {goal} is {goal.kind}: give the density of the fuel at its temperature, "
            f'such as density="6.7 lb/gal" or density=fuel("Jet A").density("30 degC")'
        )
    if isinstance(density, str):
        kg_m3 = exact(density, "kg/m^3", name="density")
    else:
        number = magnitude(density, "kg/m^3", name="density")
        if np.ndim(number) or not np.isfinite(number):
            raise QuantityError(f"density: {density} is not one finite density")
        kg_m3 = Fraction(float(number))
    if kg_m3 <= 0:
        raise QuantityError(f"density: {density} is not positive; write '6.7 lb/gal', say")
    return kg_m3


def _to_scale(value: Any, start: Unit, goal: Unit) -> Any:
    """Convert between absolute temperature scales, refusing what lies below absolute zero."""
    assert start.zero is not None
    assert goal.zero is not None
    if np.any(np.less(value, -float(start.zero / start.size))):
        raise QuantityError(f"a temperature of {np.min(value):g} {start} is below absolute zero")
    if start == goal:
        return value
    return value * float(start.size / goal.size) + float((start.zero - goal.zero) / goal.size)
