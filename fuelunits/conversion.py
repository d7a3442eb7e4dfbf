"""Numbers from one unit to another; between volume and mass only with a density."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any, overload

from fuelunits.arrays import as_number
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.quantities import QuantityLike, exact_number
from fuelunits.units import density_needed, density_power, nearest_float, print_unit, read_unit, unit_text
from fuelunits.validation import format_value

if TYPE_CHECKING:
    from numpy.typing import NDArray


@overload
def convert(value: float, from_unit: str, to_unit: str, *, density: QuantityLike | None = None) -> float: ...
@overload
def convert(
    value: NDArray[Any], from_unit: str, to_unit: str, *, density: QuantityLike | None = None
) -> NDArray[Any]: ...
@overload
def convert(value: Any, from_unit: str, to_unit: str, *, density: QuantityLike | None = None) -> Any: ...
def convert(value: Any, from_unit: str, to_unit: str, *, density: Any = None) -> Any:
    """Return a number or an array of one unit in another.

    Parameters
    ----------
    value : float or array
        In `from_unit`. Any shape; float32 stays float32; NaN stays NaN.
    from_unit, to_unit : str
        Units. A temperature (degC, degF, K, degR) never converts to a difference (delta_degC, …).
    density : str or pint.Quantity, optional
        Needed to convert between volume and mass, and only then.

    Examples
    --------
    >>> convert(50.0, "gal", "L")
    189.2705892
    >>> convert(50.0, "gal", "lb", density="6.7 lb/gal")
    335.0
    """
    if type(value) is not float:
        value = as_number(value)
    if type(from_unit) is not str or type(to_unit) is not str:
        from_unit, to_unit = unit_text(from_unit), unit_text(to_unit)
    if density is not None:
        return value * (_crossing if isinstance(density, str) else _crossing_once)(from_unit, to_unit, density)
    multiplier, offset, lowest = _line(from_unit, to_unit)
    if lowest is not None and not _is_above(value, lowest):
        zero = f"{lowest:g} {print_unit(read_unit(from_unit).name)}"
        raise QuantityError(f"value must not be below absolute zero, {zero}; got {format_value(value)}")
    return value * multiplier + offset if offset else value * multiplier


def _crossing_once(from_unit: str, to_unit: str, density: Any) -> float:
    """Return the factor between a volume and a mass."""
    start, goal = read_unit(from_unit), read_unit(to_unit)
    power = density_power(start, goal)
    if not power:
        raise DimensionError(f"{start} and {goal} are both {start.kind}; leave out the density")
    return nearest_float(start.size / goal.size * exact_number(density, "kg/m^3", name="density") ** power)


_crossing = lru_cache(maxsize=4096)(_crossing_once)  # for a density that is text


@lru_cache(maxsize=4096)
def _line(from_unit: str, to_unit: str) -> tuple[float, float, float | None]:
    """Return the factor, the offset and, for a temperature, absolute zero in the first unit."""
    start, goal = read_unit(from_unit), read_unit(to_unit)
    if density_power(start, goal):
        raise density_needed(start, goal)
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
