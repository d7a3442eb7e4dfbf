"""Numbers from one unit to another; amounts and flows of fuel by volume or by mass, between them with a density."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from fractions import Fraction
from functools import lru_cache
from typing import Any, overload

from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.quantities import QuantityLike, above_zero, exact_number, has_dimension, magnitude, positive, read_text
from fuelunits.sources import Range
from fuelunits.units import check_unit, definitions, density_needed, density_power, factor, nearest_float, read_unit
from fuelunits.validation import as_float, format_value, print_unit

DENSITIES = Range("density read", 500.0, 1200.0, "kg/m^3", "liquids that are burnt as fuel (common practice)")
_PAIRS = (("m^3", "kg"), ("m^3/s", "kg/s"))


@overload
def convert(value: float, from_unit: str, to_unit: str, *, density: QuantityLike | None = None) -> float: ...
@overload
def convert(value: Any, from_unit: str, to_unit: str, *, density: QuantityLike | None = None) -> Any: ...
def convert(value: Any, from_unit: str, to_unit: str, *, density: Any = None) -> Any:
    """Return a number or an array of one unit in another.

    Parameters
    ----------
    value : float or array of any shape, in `from_unit`; float32 and NaN stay; one number too large is refused
    from_unit, to_unit : str; a temperature (degC, degF, K, degR) never converts to a difference (delta_degC, …)
    density : str or pint.Quantity, needed between volume and mass, and only then: 500 to 1200 kg/m³, as of fuels, water

    Examples
    --------
    >>> convert(50.0, "gal", "L")
    189.2705892
    >>> convert(50.0, "gal", "lb", density="6.7 lb/gal")
    335.0
    """
    if type(value) is not float:
        value = as_float(value, uncertain=True)
        check_unit(value, from_unit, "value")
    if type(from_unit) is not str or type(to_unit) is not str:
        from_unit, to_unit = read_unit(from_unit).name, read_unit(to_unit).name
    line = _line if density is None or isinstance(density, str) else _line.__wrapped__  # only text is hashed
    multiplier, scale = line(from_unit, to_unit, density)
    if scale is None:
        found = value * multiplier
    else:
        offset, lowest = scale
        if type(value) is not float or value < lowest:
            above_zero(value, read_unit(from_unit), value, "value")
        found = value * multiplier + offset
    if type(found) is float and found - found != 0.0 == value - value:  # infinite, or NaN, of a finite number
        raise QuantityError(f"value: {value} {from_unit} is too large a number of {to_unit}")
    if type(value) is not float and getattr(found, "attrs", None):
        found.attrs = {}  # they describe the value given
    return found


@lru_cache(maxsize=4096)
def _line(from_unit: str, to_unit: str, density: Any) -> tuple[float, tuple[float, float] | None]:
    """Return the factor and, between scales of temperature, the offset and absolute zero in the first unit."""
    start, goal = read_unit(from_unit), read_unit(to_unit)
    if density is not None and not density_power(start, goal):
        raise DimensionError(f"{start} and {goal} are both {start.kind}; leave out the density")
    size = nearest_float(convert_exact(Fraction(1), from_unit, to_unit, density))
    if start.zero is None or goal.zero is None:
        return size, None
    return size, (float((start.zero - goal.zero) / goal.size), -float(start.zero / start.size))


def kind_of(value: Any, units: Sequence[str], *, name: str) -> str:
    """Return the first of several units that has the dimension of a quantity."""
    for unit in units:
        if has_dimension(value, unit):
            return unit
    if not isinstance(value, str):
        with suppress(DimensionError):
            magnitude(value, units[0], name=name)  # refuses a bare number
    kinds = " or ".join(dict.fromkeys(read_unit(unit).kind for unit in units))
    such = " or ".join(dict.fromkeys(repr(read_unit(unit).example) for unit in units))
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
    return number if start == unit else convert_exact(number, start, unit, density)


def _unit_to_read(value: Any, unit: str, name: str, density: Any) -> str:
    """Return the unit wanted, or m³, kg or a flow of them where the value is of the other kind."""
    dimension = read_unit(unit).dimension
    pair = next((pair for pair in _PAIRS if dimension in [read_unit(each).dimension for each in pair]), None)
    if pair is None:
        wanted = "a unit of volume, of mass or of a flow is needed, such as 'gal'"
        raise DimensionError(f"unit: {unit!r} is {read_unit(unit).kind}; {wanted}")
    start = kind_of(value, pair, name=name)
    if density is not None:
        density_kg_m3(density)  # a wrong one is refused also where both are of one kind
    if read_unit(start).dimension == dimension:
        return unit
    if density is None:
        raise density_needed(read_unit(start), read_unit(unit), f"{name}: {value}")
    return start


def convert_exact(number: Fraction, from_unit: str, to_unit: str, density: Any = None) -> Fraction:
    """Convert an exact number, with a density where one unit is of volume and the other of mass."""
    start, goal = read_unit(from_unit), read_unit(to_unit)
    power = density_power(start, goal)
    if power and density is None:
        raise density_needed(start, goal)
    return number * start.size / goal.size * (density_kg_m3(density) ** power if power else 1)


def density_kg_m3(density: Any, name: str = "density") -> Fraction:
    """Return a density exactly; refuse one that no liquid fuel has, and name the unit in which its number would be."""
    kg_m3 = exact_number(density, "kg/m^3", name=name)
    if DENSITIES.contains(float(kg_m3)):
        return kg_m3
    limits, likely = f"{DENSITIES.low:g} to {DENSITIES.high:g} kg/m³", ""
    given = format_value(density).strip("'")
    with suppress(FuelUnitsError):  # of a quantity, whose library writes the unit in its own way
        number, unit = read_text(given)
        low, high = (limit * factor("kg/m^3", unit) for limit in (DENSITIES.low, DENSITIES.high))
        limits = f"{low:.4g} to {high:.4g} {print_unit(unit)}"
        others = [each for each in ("lb/gal", "kg/L", "kg/m^3") if DENSITIES.contains(number * factor(each, "kg/m^3"))]
        likely = f"; is it {float(number):g} {' or '.join(others)}?" * bool(others)
    raise QuantityError(f"{name}: {given} is no density of a liquid fuel, which has from {limits}{likely}")


def flow_unit_name(unit: str) -> str:
    """Return a flow unit as a quotient where the trade has one word for it, such as ``lb/h`` for ``pph``."""
    name = read_unit(unit).name
    words = {each.spellings[0]: each.factors for each in definitions() if "_per_" in each.name}
    return "/".join(read_unit(part).name for part in words.get(name, name).split(" / "))
