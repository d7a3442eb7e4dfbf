"""Quantities of libraries other than pint: their numbers and their units, by those libraries' own definitions."""

from __future__ import annotations

import math
from datetime import timedelta
from fractions import Fraction
from typing import Any

from fuelunits.errors import QuantityError, UnitError
from fuelunits.units import Unit
from fuelunits.validation import carries_unit, format_value, library_of

_ASTROPY_BASES = {
    **{base: (base, Fraction(1), None) for base in ("m", "kg", "s", "A")},
    "K": ("K", Fraction(1), Fraction(0)),
    "deg_R": ("K", Fraction(5, 9), Fraction(0)),
    "deg_C": ("K", Fraction(1), Fraction("273.15")),
    "deg_F": ("K", Fraction(5, 9), Fraction("459.67") * 5 / 9),
}
"""Of each base unit of astropy that the trade uses: ours, its size and, for a temperature, its zero in kelvin."""

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
    if library == "astropy" and hasattr(value, "unit") and hasattr(value, "value"):
        return value.value, _astropy_unit(value.unit, name)
    if library == "unyt" and hasattr(value, "units") and hasattr(value, "value"):
        return value.value, _unyt_unit(value.units, name)
    seconds = _seconds(value, name)
    return None if seconds is None else (seconds, Unit("s", Fraction(1), None, (("s", 1),)))


def _astropy_unit(unit: Any, name: str) -> Unit:
    try:
        simple = unit.decompose()
        parts = [(*_ASTROPY_BASES[base.name], power) for base, power in zip(simple.bases, simple.powers, strict=True)]
    except (AttributeError, KeyError) as unknown:
        raise _unknown(unit, name) from unknown
    size, powers = _size(simple.scale), dict[str, Any]()
    for base, part, zero, power in parts:
        if zero and len(parts) + abs(power) > 2:
            raise UnitError(f"{name}: {unit} has a point on a temperature scale in a product; use kelvin")
        size *= part ** int(power)
        powers[base] = powers.get(base, 0) + power
    zero = parts[0][2] if powers == {"K": 1} and len(parts) == 1 else None
    return _unit(str(unit), size, zero, powers)


def _unyt_unit(unit: Any, name: str) -> Unit:
    powers = {str(base): power for base, power in unit.dimensions.as_powers_dict().items()}
    if not set(powers) <= set(_UNYT_BASES):
        raise _unknown(unit, name)
    powers = {_UNYT_BASES[base]: power for base, power in powers.items() if base != "1"}
    size = _size(unit.base_value)
    is_scale = powers == {"K": 1} and not str(unit).startswith(("Δ", "delta_"))
    zero = Fraction(str(-float(unit.base_offset))) * size if is_scale else None
    return _unit(str(unit), size, zero, powers)


def _unknown(unit: Any, name: str) -> UnitError:
    return UnitError(
        f"{name}: the unit {unit} is none of lengths, masses, times, temperatures, currents; write the quantity as text"
    )


def _size(scale: Any) -> Fraction:
    """Return the size of a unit to fifteen digits, without the noise of the other library's arithmetic."""
    return Fraction(f"{float(scale):.15g}")


def _unit(name: str, size: Fraction, zero: Fraction | None, powers: dict[str, Any]) -> Unit:
    if any(power != int(power) for power in powers.values()):
        raise UnitError(f"the unit {name} has a power that is not whole")
    return Unit(name, size, zero, tuple(sorted((base, int(power)) for base, power in powers.items() if power)))


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
