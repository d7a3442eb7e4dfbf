"""Amounts of fuel and flows of it, by volume or by mass: one is converted to the other only with a density.

Every module that takes either of the two uses these functions for the number in the unit that it needs.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from fractions import Fraction
from typing import Any

from fuelunits.conversion import convert
from fuelunits.errors import DimensionError
from fuelunits.quantities import exact_number, example_of, has_dimension, magnitude, positive
from fuelunits.units import density_needed, density_power, read_unit
from fuelunits.validation import format_value

_PAIRS = (("m^3", "kg"), ("m^3/s", "kg/s"))


def kind_of(value: Any, units: Sequence[str], *, name: str) -> str:
    """Return the first of several units that has the dimension of a quantity."""
    for unit in units:
        if has_dimension(value, unit, name=name):
            return unit
    if not isinstance(value, str):
        with suppress(DimensionError):
            magnitude(value, units[0], name=name)  # refuses a bare number
    kinds = " or ".join(dict.fromkeys(read_unit(unit).kind for unit in units))
    such = " or ".join(dict.fromkeys(repr(example_of(unit)) for unit in units))
    raise DimensionError(f"{name} must be {kinds}, such as {such}; got {format_value(value)}")


def amount(value: Any, unit: str, *, name: str, density: Any = None) -> Any:
    """Return the number of an amount or a flow in a unit, scalar or array, with the density where kinds differ."""
    start = _unit_to_read(value, unit, name, density)
    number = positive(value, start, name=name, zero=True)
    return number if start == unit else number * convert(1.0, start, unit, density=density)


def exact_amount(value: Any, unit: str, *, name: str, density: Any = None, zero: bool = False) -> Fraction:
    """Return the number of one amount or flow in a unit exactly, as :func:`amount` does."""
    start = _unit_to_read(value, unit, name, density)
    number = exact_number(value, start, name=name, zero=zero)
    return number if start == unit else convert_exact(number, start, unit, exact_density(density))


def _unit_to_read(value: Any, unit: str, name: str, density: Any) -> str:
    """Return the unit wanted, or m³, kg or a flow of them where the value is of the other kind."""
    dimension = read_unit(unit).dimension
    pair = next((pair for pair in _PAIRS if dimension in [read_unit(each).dimension for each in pair]), None)
    if pair is None:
        raise DimensionError(
            f"unit: {unit!r} is {read_unit(unit).kind}; a unit of volume, of mass or of a flow is needed, such as 'gal'"
        )
    start = kind_of(value, pair, name=name)
    if read_unit(start).dimension == dimension:
        return unit
    if density is None:
        raise density_needed(read_unit(start), read_unit(unit), given=f"{name}: {value}")
    return start


def exact_density(density: Any) -> Fraction | None:
    """Return a density in kg/m³ exactly, or None where none was given."""
    return None if density is None else exact_number(density, "kg/m^3", name="density")


def convert_exact(number: Fraction, from_unit: str, to_unit: str, density_kg_m3: Fraction | None = None) -> Fraction:
    """Convert an exact number, with a density where one unit is of volume and the other of mass."""
    start, goal = read_unit(from_unit), read_unit(to_unit)
    size, power = number * start.size / goal.size, density_power(start, goal)
    if not power:
        return size
    if density_kg_m3 is None:
        raise density_needed(start, goal)
    return size * density_kg_m3**power


def flow_unit_name(unit: str) -> str:
    """Return a flow unit as a quotient where the trade has one word for it, such as ``lb/h`` for ``pph``."""
    given = read_unit(unit)
    if "/" in given.name:
        return given.name
    quotients = [f"{part}/{time}" for part in ("gal", "imp_gal", "L", "lb", "kg") for time in ("h", "min", "s")]
    same = [name for name in quotients if read_unit(name).size == given.size]
    return next((name for name in same if read_unit(name).dimension == given.dimension), given.name)
