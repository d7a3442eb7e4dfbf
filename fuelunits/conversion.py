"""Numbers from one unit to another; between volume and mass only with a density."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any, overload

from fuelunits.arrays import as_number
from fuelunits.errors import DimensionError, QuantityError, UnitError
from fuelunits.quantities import exact_number
from fuelunits.units import density_power, nearest_float, print_unit, read_unit
from fuelunits.validation import format_value

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["convert"]


@overload
def convert(value: float, from_unit: str, to_unit: str, *, density: Any = None) -> float: ...
@overload
def convert(value: NDArray[Any], from_unit: str, to_unit: str, *, density: Any = None) -> NDArray[Any]: ...
@overload
def convert(value: Any, from_unit: str, to_unit: str, *, density: Any = None) -> Any: ...
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
        plain = _line(from_unit, to_unit) if density is None else None
    except TypeError:
        raise UnitError(
            f"a unit is text, such as 'gal'; got {format_value(from_unit)} and {format_value(to_unit)}"
        ) from None
    if type(value) is not float:
        value = as_number(value)
    if plain is not None:
        multiplier, offset, lowest = plain
        if lowest is not None and not _is_above(value, lowest):
            zero = f"{lowest:g} {print_unit(read_unit(from_unit).name)}"
            raise QuantityError(f"value must not be below absolute zero, {zero}; got {format_value(value)}")
        return value * multiplier + offset if offset else value * multiplier
    start, goal = read_unit(from_unit), read_unit(to_unit)
    power = density_power(start, goal)
    if density is not None and not power:
        raise DimensionError(f"{start} and {goal} are both {start.kind}; leave out the density")
    if density is None:
        raise DimensionError(
            f"{start} is {start.kind} and {goal} is {goal.kind}: give the density of the fuel at its temperature, "
            f'such as density="6.7 lb/gal" or density=fuel("Jet A").density("30 degC")'
        )
    kg_m3 = exact_number(density, "kg/m^3", name="density")
    return value * nearest_float(start.size / goal.size * kg_m3**power)


@lru_cache(maxsize=4096)
def _line(from_unit: str, to_unit: str) -> tuple[float, float, float | None] | None:
    """Return factor, offset and, for a temperature, absolute zero in the first unit; None where a density is needed."""
    start, goal = read_unit(from_unit), read_unit(to_unit)
    if density_power(start, goal):
        return None
    size = nearest_float(start.size / goal.size)
    if start.zero is None or goal.zero is None:
        return size, 0.0, None
    return size, float((start.zero - goal.zero) / goal.size), -float(start.zero / start.size)


def _is_above(value: Any, lowest: float) -> bool:
    """Return whether no value lies below; NaN, and a masked cell, does not."""
    if isinstance(value, float):
        return not value < lowest
    import numpy as np

    return not np.any(np.less(value, lowest))
