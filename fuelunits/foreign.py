"""Quantities of libraries other than pint: their numbers and their units, by those libraries' own definitions."""

from __future__ import annotations

import math
from datetime import timedelta
from fractions import Fraction
from typing import Any

from fuelunits.errors import QuantityError, UnitError
from fuelunits.units import Unit, read_unit
from fuelunits.validation import carries_unit, format_value, library_of

_ASTROPY_BASES = {"K": "K", "deg_R": "degR", "deg_C": "degC", "deg_F": "degF", "m": "m", "kg": "kg", "s": "s", "A": "A"}
"""Our name of each base unit of astropy that the trade uses."""

_UNYT_BASES = {"(length)": "m", "(mass)": "kg", "(time)": "s", "(temperature)": "K", "(current_mks)": "A", "1": ""}


def unwrap(value: Any) -> Any:
    """Return the quantity that a pandas Series or an xarray array holds, if it holds one; else the value."""
    if hasattr(value, "dimensionality"):  # of pint already, which is slow to say what it lacks
        return value
    if hasattr(getattr(value, "array", None), "quantity"):
        return value.array.quantity
    if library_of(value) == "xarray" and carries_unit(getattr(value, "data", None)):
        return value.data
    return value


def read_foreign(value: Any, name: str) -> tuple[Any, Unit] | None:
    """Return the number and the unit of a quantity of astropy or unyt, or of a time difference; else None."""
    library = library_of(value)
    unit = {"astropy": getattr(value, "unit", None), "unyt": getattr(value, "units", None)}.get(library)
    if unit is None or not hasattr(value, "value"):
        seconds = _seconds(value, name)
        return None if seconds is None else (seconds, read_unit("s"))
    try:
        size, zero, powers = (_astropy_unit if library == "astropy" else _unyt_unit)(unit, name)
    except (AttributeError, KeyError) as unknown:
        such = "lengths, masses, times, temperatures, currents"
        raise UnitError(f"{name}: the unit {unit} is none of {such}; write the quantity as text") from unknown
    if any(power != int(power) for power in powers.values()):
        raise UnitError(f"{name}: the unit {unit} has a power that is not whole")
    dimension = tuple(sorted((base, int(power)) for base, power in powers.items() if base and power))
    return value.value, Unit(str(unit), size, zero, dimension)


def _astropy_unit(unit: Any, name: str) -> tuple[Fraction, Fraction | None, dict[str, Any]]:
    """Return the size of a unit, the zero of a scale of temperature in kelvin, and the powers of the base units."""
    simple = unit.decompose()
    size, zero, powers = _size(simple.scale), None, dict[str, Any]()
    for base, power in zip(simple.bases, simple.powers, strict=True):
        ours = read_unit(_ASTROPY_BASES[base.name])
        if ours.zero and len(simple.bases) + abs(power) > 2:
            raise UnitError(f"{name}: {unit} has a point on a temperature scale in a product; use kelvin")
        zero = ours.zero if len(simple.bases) == power == 1 else None
        size *= ours.size ** int(power)
        ((name_of_base, _),) = ours.dimension
        powers[name_of_base] = powers.get(name_of_base, 0) + power
    return size, zero, powers


def _unyt_unit(unit: Any, _: str) -> tuple[Fraction, Fraction | None, dict[str, Any]]:
    size, powers = _size(unit.base_value), unit.dimensions.as_powers_dict()
    powers = {_UNYT_BASES[str(base)]: power for base, power in powers.items()}
    is_scale = powers == {"K": 1} and not str(unit).startswith(("Δ", "delta_"))
    return size, Fraction(str(-float(unit.base_offset))) * size if is_scale else None, powers


def _size(scale: Any) -> Fraction:
    """Return the size of a unit to fifteen digits, without the noise of the other library's arithmetic."""
    return Fraction(f"{float(scale):.15g}")


def _seconds(value: Any, name: str) -> Any:
    """Return a time difference of Python, NumPy, pandas, polars or Arrow in seconds; None for what is none."""
    if isinstance(value, timedelta):
        return value.total_seconds() if value == value else math.nan
    if library_of(value) in ("pandas", "polars", "pyarrow", "xarray") and hasattr(value, "__array__"):
        import numpy as np

        value = np.asarray(value)
    if getattr(getattr(value, "dtype", None), "kind", "") != "m":
        return None
    import numpy as np

    try:
        return value / np.timedelta64(1, "s")
    except TypeError as uneven:
        raise QuantityError(f"{name}: {format_value(value)} is in months or years, which differ in length") from uneven
