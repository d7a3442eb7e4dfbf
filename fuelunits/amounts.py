"""Amounts of fuel and flows of it, by volume or by mass: one is read as the other only with a density.

Every module that takes either of the two asks here for a number in the unit that it needs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import suppress
from fractions import Fraction
from typing import Any

from fuelunits.conversion import convert
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.quantities import exact_number, first_quantity, has_dimension, is_ratio, magnitude, positive, ratio
from fuelunits.units import density_needed, density_power, read_unit
from fuelunits.validation import format_value

__all__ = [
    "amount",
    "convert_exact",
    "exact_amount",
    "exact_density",
    "exact_number",
    "first_quantity",
    "flow_unit_name",
    "is_ratio",
    "kind_of",
    "signed_fraction",
]

_PAIRS = (("m^3", "kg"), ("m^3/s", "kg/s"))


def kind_of(value: Any, units: Sequence[str], *, name: str) -> str:
    """Return the first of several units that has the dimension of a quantity.

    Parameters
    ----------
    value : str or pint.Quantity
        What the user gave.
    units : sequence of str
        The units that are possible.
    name : str
        The argument's name, for the message.

    Raises
    ------
    QuantityError, DimensionError
        If it has no unit, or one of none of these dimensions.

    Examples
    --------
    >>> kind_of("12.5 gal/h", ["m^3/s", "kg/s"], name="flow")
    'm^3/s'
    """
    for unit in units:
        if has_dimension(value, unit, name=name):
            return unit
    if not isinstance(value, str):
        with suppress(DimensionError):
            magnitude(value, units[0], name=name)
    kinds = " or ".join(read_unit(unit).kind for unit in units)
    raise DimensionError(f"{name} must be {kinds}, in a unit such as {' or '.join(units)}; got {format_value(value)}")


def amount(value: Any, unit: str, *, name: str, density: Any = None) -> Any:
    """Return the number of an amount or a flow in a unit, crossing between volume and mass with a density.

    Parameters
    ----------
    value : str or pint.Quantity
        Volume or mass, or a flow of either; not negative. Scalar or array.
    unit : str
        The unit wanted, of an amount for an amount, of a flow for a flow.
    name : str
        The argument's name, for the message.
    density : str or pint.Quantity, optional
        Density of the fuel, used only where one is a volume and the other a mass.

    Returns
    -------
    float or numpy.ndarray

    Raises
    ------
    DimensionError
        If the kinds differ and there is no density.
    QuantityError
        If it is negative, infinite or a bare number.

    Examples
    --------
    >>> amount("50 gal", "lb", name="usable", density="6.7 lb/gal")
    335.0
    """
    start = kind_of(value, _pair(unit), name=name)
    if read_unit(start).dimension == read_unit(unit).dimension:
        return positive(value, unit, name=name, zero=True)
    _check_density(value, start, unit, name, density)
    return positive(value, start, name=name, zero=True) * convert(1.0, start, unit, density=density)


def _pair(unit: str) -> tuple[str, str]:
    """Return the units of volume and mass between which a density converts a unit."""
    for pair in _PAIRS:
        if read_unit(unit).dimension in [read_unit(member).dimension for member in pair]:
            return pair
    raise DimensionError(
        f"unit: {unit!r} is {read_unit(unit).kind}; a unit of volume or mass, or of a flow, is needed, such as 'gal'"
    )


def exact_amount(value: Any, unit: str, *, name: str, density: Any = None, zero: bool = False) -> Fraction:
    """Return the number of one amount or flow in a unit exactly, as :func:`amount` does.

    Examples
    --------
    >>> exact_amount("50 gal", "lb", name="usable", density="6.7 lb/gal")
    Fraction(335, 1)
    """
    start = kind_of(value, _pair(unit), name=name)
    if read_unit(start).dimension == read_unit(unit).dimension:
        return exact_number(value, unit, name=name, zero=zero)
    _check_density(value, start, unit, name, density)
    return convert_exact(exact_number(value, start, name=name, zero=zero), start, unit, exact_density(density))


def _check_density(value: Any, start: str, unit: str, name: str, density: Any) -> None:
    if density is None:
        raise density_needed(read_unit(start), read_unit(unit), given=f"{name}: {value}")


def exact_density(density: Any) -> Fraction | None:
    """Return a density in kg/m³ exactly, or None where none was given.

    Examples
    --------
    >>> exact_density("0.8 kg/L")
    Fraction(800, 1)
    """
    return None if density is None else exact_number(density, "kg/m^3", name="density")


def convert_exact(number: Fraction, from_unit: str, to_unit: str, density_kg_m3: Fraction | None = None) -> Fraction:
    """Convert an exact number, with a density where one unit is of volume and the other of mass.

    Examples
    --------
    >>> convert_exact(Fraction(40), "kg", "L", Fraction(800))
    Fraction(50, 1)
    """
    start, goal = read_unit(from_unit), read_unit(to_unit)
    size = number * start.size / goal.size
    power = density_power(start, goal)
    if not power:
        return size
    if density_kg_m3 is None:
        raise density_needed(start, goal)
    return size * density_kg_m3**power


def flow_unit_name(unit: str) -> str:
    """Write a flow unit as a quotient, where the trade has one word for it.

    Examples
    --------
    >>> flow_unit_name("pph"), flow_unit_name("L/min")
    ('lb/h', 'L/min')
    """
    given = read_unit(unit)
    if "/" in given.name:
        return given.name
    quotients = [f"{part}/{time}" for part in ("gal", "imp_gal", "L", "lb", "kg") for time in ("h", "min", "s")]
    same = [name for name in quotients if read_unit(name).size == given.size]
    return next((name for name in same if read_unit(name).dimension == given.dimension), given.name)


def signed_fraction(value: Any, *, name: str) -> float:
    """Return a percentage that may be negative as a fraction.

    Examples
    --------
    >>> signed_fraction("-0.4 %", name="k_at_flow")
    -0.004
    """
    number = ratio(value, name=name)
    if not -1.0 < number < math.inf:
        raise QuantityError(f"{name} must be above -100 % and finite, for example '-0.4 %'; got {format_value(value)}")
    return number
