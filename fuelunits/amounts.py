"""Amounts of fuel and flows of it, by volume or by mass: one is read as the other only with a density.

The modules above ask here for a number in their own unit, whichever of the two the user measures.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import numpy as np

from fuelunits.conversion import convert
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.quantities import PERCENT, exact, is_quantity, magnitude, pint_unit, positive, ratio, read_text
from fuelunits.units import density_power, read_unit
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
    """Give the first of several units that has the dimension of a quantity.

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
        if _has_dimension(value, unit, name):
            return unit
    if not isinstance(value, str) and not is_quantity(value):
        magnitude(value, units[0], name=name)
    kinds = " or ".join(read_unit(unit).kind for unit in units)
    raise DimensionError(f"{name}: {value} is not {kinds}; write a quantity in a unit such as {' or '.join(units)}")


def _has_dimension(value: Any, unit: str, name: str) -> bool:
    if isinstance(value, str):
        written = read_text(value)[1]
        return bool(written) and read_unit(written).dimension == read_unit(unit).dimension
    return is_quantity(value) and bool(value.is_compatible_with(type(value)(1, pint_unit(type(value), unit, name))))


def amount(value: Any, unit: str, *, name: str, density: Any = None) -> Any:
    """Give the number of an amount or a flow in a unit, crossing between volume and mass with a density.

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
    """Give the units of volume and mass between which a density converts a unit."""
    for pair in _PAIRS:
        if read_unit(unit).dimension in [read_unit(member).dimension for member in pair]:
            return pair
    raise DimensionError(
        f"unit: {unit!r} is {read_unit(unit).kind}; a unit of volume or mass, or of a flow, is needed, such as 'gal'"
    )


def exact_number(value: Any, unit: str, *, name: str, zero: bool = False) -> Fraction:
    """Give the number of one quantity in a unit exactly; a float counts as the binary number that it is.

    Parameters
    ----------
    value : str or pint.Quantity
        One positive, finite quantity.
    unit, name : str
        The unit wanted, and the argument's name for the message.
    zero : bool
        Whether zero passes.

    Examples
    --------
    >>> exact_number("0.1 gal/h", "gal/h", name="flow")
    Fraction(1, 10)
    """
    number = positive(value, unit, name=name, zero=zero)
    if np.ndim(number) or np.isnan(number):
        raise QuantityError(f"{name}: {value} is not one number; write one quantity")
    return exact(value, unit, name=name) if isinstance(value, str) else Fraction(float(number))


def exact_amount(value: Any, unit: str, *, name: str, density: Any = None, zero: bool = False) -> Fraction:
    """Give the number of one amount or flow in a unit exactly, as :func:`amount` does.

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
        raise DimensionError(
            f"{name}: {value} is {read_unit(start).kind} and {unit} is {read_unit(unit).kind}: give the density of "
            f'the fuel at its temperature, such as density="6.7 lb/gal"'
        )


def exact_density(density: Any) -> Fraction | None:
    """Give a density in kg/m³ exactly, or None where none was given.

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
        raise DimensionError(
            f"{start} is {start.kind} and {goal} is {goal.kind}: give the density of the fuel at its temperature, "
            f'such as density="6.7 lb/gal"'
        )
    return size * density_kg_m3**power


def first_quantity(*values: Any) -> Any:
    """Return the first pint quantity among what the user gave, whose registry the answer takes; or None.

    Raises
    ------
    QuantityError
        If they come from two registries.
    """
    quantities = [value for value in values if is_quantity(value)]
    if len({type(each) for each in quantities}) > 1:
        raise QuantityError("the quantities come from two pint registries; use one, or text")
    return quantities[0] if quantities else None


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


def is_ratio(value: Any) -> bool:
    """Tell whether something is a percentage or a pint quantity without dimension.

    Examples
    --------
    >>> is_ratio("2 %"), is_ratio("2 lb/h")
    (True, False)
    """
    if isinstance(value, str):
        return read_text(value)[1] in PERCENT
    return is_quantity(value) and not value.dimensionality


def signed_fraction(value: Any, *, name: str) -> float:
    """Give a percentage that may be negative as a fraction.

    Examples
    --------
    >>> signed_fraction("-0.4 %", name="k_at_flow")
    -0.004
    """
    if not is_ratio(value):
        raise QuantityError(f"{name}: {format_value(value)} is no percentage; write '-0.4 %', say")
    number = ratio(value, name=name)
    if not -1.0 < number < math.inf:
        raise QuantityError(f"{name}: {value} makes no sense as a relative difference")
    return number
