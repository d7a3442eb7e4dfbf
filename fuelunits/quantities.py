"""Quantities in, plain numbers out.

An input is text of one number and one unit, or a quantity of pint (of any registry), astropy or unyt, held in
a pandas Series or an xarray array too, or a time difference. A bare number is refused. Text is read here and never by
pint's expression parser; a quantity is converted by its own library's definitions.
"""

from __future__ import annotations

import math
import re
from contextlib import suppress
from datetime import timedelta
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Protocol

from fuelunits.errors import DimensionError, QuantityError, UnitError
from fuelunits.pint_units import first_quantity, is_quantity, pint_unit
from fuelunits.units import Dimension, Unit, density_power, read_unit
from fuelunits.validation import any_of, carries_unit, format_value, holds_unit, is_positive, library_of, print_unit

if TYPE_CHECKING:

    class _OfPint(Protocol):  # and of unyt
        @property
        def units(self) -> Any: ...

    class _OfAstropy(Protocol):
        @property
        def unit(self) -> Any: ...

    QuantityLike = str | _OfPint | _OfAstropy
    """What is read as a quantity, for type checkers, which then refuse a bare number."""

    PairLike = tuple[QuantityLike, QuantityLike] | list[Any] | _OfPint | _OfAstropy
else:
    QuantityLike = PairLike = Any


_NUMBER = re.compile(
    r"\s*(?P<number>[+-]?(?:[0-9]{1,400}(?:\.[0-9]{0,400})?|\.[0-9]{1,400})(?:[eE][+-]?[0-9]{1,3})?)"
    r"(?P<rest>.*)\Z",
    re.DOTALL,
)
_SEPARATED = re.compile(r"\s*[+-]?[0-9]+((,[0-9]+)+|([ \u00a0\u202f][0-9]{3})+(?![0-9]))")
_LONGEST = 500

PERCENT = ("%", "percent")
_FREQUENCY, _PULSE_RATE = (("s", -1),), (("pulse", 1), ("s", -1))
_ASTROPY_BASES = {"K": "K", "deg_R": "degR", "deg_C": "degC", "deg_F": "degF", "m": "m", "kg": "kg", "s": "s", "A": "A"}
"""Our name of each base unit of astropy that the trade uses."""

_BASES = {"length": "m", "mass": "kg", "time": "s", "temperature": "K", "current": "A", "pulse": "pulse"}
_BASES |= {"current_mks": "A", "1": ""}
"""Our base unit for each dimension of pint and of unyt."""


def _kind_of(dimension: Dimension) -> Dimension:
    """Return a dimension, that of a frequency for pulses per time."""
    return _FREQUENCY if dimension == _PULSE_RATE else dimension


@lru_cache(maxsize=4096)
def read_text(text: str) -> tuple[Fraction, str]:
    """Read text into its number, exactly as written, and its unit, which may be empty."""
    if len(text) > _LONGEST:
        raise QuantityError(f"a text of {len(text)} characters, beginning {text[:20]!r}, is not a quantity")
    if _SEPARATED.match(text):
        raise QuantityError(
            f"{text!r} has a comma or a space in its number; write a decimal point, no separators: '6.7 lb/gal'"
        )
    match = _NUMBER.match(text.replace("\N{MINUS SIGN}", "-").replace("\N{NO-BREAK SPACE}", " "))
    if match is None:
        raise QuantityError(f"{text!r} does not begin with a number; write one number and one unit, as '30 degC'")
    return Fraction(match["number"]), match["rest"].strip()


@lru_cache(maxsize=4096)
def _text_magnitude(text: str, unit: str, name: str) -> float:
    try:
        return float(exact(text, unit, name=name))
    except OverflowError:
        raise QuantityError(f"{name}: {text!r} is too large a number") from None


@lru_cache(maxsize=4096)
def exact(text: str, unit: str, *, name: str) -> Fraction:
    """Return the number of a text in a unit, exactly."""
    number, written = read_text(text)
    goal = read_unit(unit)
    if not written:
        raise QuantityError(f"{name}: {text!r} has no unit; write it, for example {goal.example!r}")
    if written in PERCENT:
        raise DimensionError(f"{name}: {text!r} is a ratio, and {goal.kind} is needed, such as {goal.example!r}")
    start = read_unit(written)
    _check_kind(start, goal, text, name)
    above_zero(float(number), start, text, name)
    return (number * start.size + (start.zero or 0) - (goal.zero or 0)) / goal.size


def _check_kind(start: Unit, goal: Unit, given: Any, name: str) -> None:
    """Refuse a unit that does not measure what is needed; a temperature is not a difference of temperatures."""
    if _kind_of(start.dimension) == _kind_of(goal.dimension) and (start.zero is None) == (goal.zero is None):
        return
    hint = ""
    with suppress(DimensionError):
        density_power(start, goal)
        hint = "; convert between volume and mass with a density first"
    raise DimensionError(
        f"{name}: {format_value(given)} is {start.kind}, and {goal.kind} is needed, such as {goal.example!r}{hint}"
    )


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
    """Return the size of a unit to 15 digits, the zero of a temperature scale in kelvin, the powers of base units."""
    simple = unit.decompose()
    size, zero, powers = Fraction(f"{float(simple.scale):.15g}"), None, dict[str, Any]()
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
    size, powers = Fraction(f"{float(unit.base_value):.15g}"), unit.dimensions.as_powers_dict()
    powers = {_BASES[str(base).strip("()")]: power for base, power in powers.items()}
    is_scale = powers == {"K": 1} and not str(unit).startswith(("Δ", "delta_"))
    return size, Fraction(str(-float(unit.base_offset))) * size if is_scale else None, powers


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


def magnitude(value: Any, unit: str, *, name: str, takes: str = "") -> Any:
    """Return the number, or the array, of a quantity in a unit; `takes` is what would take a plain number."""
    if isinstance(value, str):
        return _text_magnitude(value, unit, name)
    value, goal = unwrap(value), read_unit(unit)
    if is_quantity(value):
        return _pint_magnitude(value, goal, name)
    found = read_foreign(value, name)
    if found is not None:
        return _convert(*found, goal, value, name)
    if holds_unit(value):
        raise QuantityError(
            f"{name} must be one quantity, such as {goal.example!r}, or one that holds an array; "
            f"got {format_value(value)}"
        )
    bare = f"the bare number {format_value(value)}" if isinstance(value, (int, float)) else type(value).__name__
    hint = f"; plain numbers go to {takes}" if takes else ""
    raise QuantityError(f"{name}: {bare} has no unit; write text such as {goal.example!r}, or a quantity{hint}")


def _dimension_of(value: Any, name: str) -> Any:
    """Return the dimension of a quantity, empty for a ratio; None of what has no unit."""
    if isinstance(value, str):
        written = read_text(value)[1]
        return () if written in PERCENT else _kind_of(read_unit(written).dimension) if written else None
    value = unwrap(value)
    if is_quantity(value):
        powers = {_BASES.get(base.strip("[]"), base): power for base, power in value.dimensionality.items()}
        return _kind_of(tuple(sorted(powers.items())))
    found = read_foreign(value, name)
    return None if found is None else _kind_of(found[1].dimension)


def has_dimension(value: Any, unit: str, *, name: str) -> bool:
    """Return whether a quantity has the dimension of a unit; pulses per second count as a frequency."""
    return bool(_dimension_of(value, name) == _kind_of(read_unit(unit).dimension))


def is_ratio(value: Any) -> bool:
    """Return whether something is a percentage or a quantity without dimension."""
    return bool(_dimension_of(value, "ratio") == ())


def _convert(number: Any, start: Unit, goal: Unit, given: Any, name: str) -> Any:
    """Return numbers of another library in a unit of ours."""
    _check_kind(start, goal, given, name)
    offset = ((start.zero or 0) - (goal.zero or 0)) / goal.size
    number = _plain(number, name, given) * float(start.size / goal.size) + float(offset)
    return above_zero(number, goal, given, name)


def _pint_magnitude(quantity: Any, goal: Unit, name: str) -> Any:
    parts = [part for part, _ in quantity.unit_items()]
    if goal.zero is not None and any(part.startswith("delta_") for part in parts):
        raise DimensionError(f"{name}: {quantity} is a temperature difference, and a temperature is needed")
    scale, unit = 1.0, goal.name
    if goal.dimension in (_FREQUENCY, _PULSE_RATE):
        refuse_angles(quantity, name)
        scale, unit = float(1 / goal.size), "pulse/s" if any("pulse" in part for part in parts) else "1/s"
    wanted = pint_unit(type(quantity), unit, name)
    if getattr(quantity.magnitude, "dtype", None) == "float16":
        quantity = type(quantity)(quantity.magnitude.astype("float64"), quantity.units)  # half precision ends at 65 504
    try:
        number = quantity.m_as(wanted)
    except (TypeError, ValueError) as mismatch:
        given = f"{format_value(quantity)} has dimension {quantity.dimensionality}"
        raise DimensionError(f"{name}: {given}, and {goal.kind} is needed, such as {goal.example!r}") from mismatch
    except OverflowError as wrong:
        raise QuantityError(f"{name}: {format_value(quantity)} is too large a number") from wrong
    if type(number) is not float:
        number = _plain(number, name, quantity)
    return above_zero(number if scale == 1.0 else number * scale, goal, quantity, name)


def refuse_angles(quantity: Any, name: str) -> None:
    """Refuse a pint quantity of turns, angles or bytes: pint takes a cycle for 6.28, a radian for 1, a byte for 8."""
    if any(part in ("radian", "bit") for part, _ in type(quantity)(1.0, quantity.units).to_root_units().unit_items()):
        raise DimensionError(
            f"{name}: {format_value(quantity)} counts angles, turns or bits, not pulses; write '99.8 Hz'"
        )


def above_zero(number: Any, unit: Unit, given: Any, name: str) -> Any:
    """Return a number of a unit, or refuse a temperature below absolute zero; NaN and masked cells pass."""
    if unit.zero is None:
        return number
    lowest = -float(unit.zero / unit.size)
    if not any_of(number < lowest):
        return number
    limit = f"{lowest:g} {print_unit(unit.name)}"
    raise QuantityError(f"{name} must not be below absolute zero, {limit}; got {format_value(given)}")


def _plain(number: Any, name: str, quantity: Any) -> Any:
    """Return a float for one number, and an array as it is; masked cells are refused."""
    import numpy as np

    if isinstance(number, np.ma.MaskedArray) or number is np.ma.masked:
        if np.ma.is_masked(number):
            raise QuantityError(f"{name} must have no masked cells; leave them out, or fill them with NaN")
        number = np.asarray(number)
    if np.ndim(number) or (isinstance(number, np.ndarray) and is_quantity(quantity)):
        kind = getattr(number, "dtype", np.dtype(float)).kind
        if kind in "fiu" or (kind == "O" and not any(hasattr(each, "nominal_value") for each in number.flat)):
            return number
    elif not isinstance(number, (bool, np.bool_, complex)):
        with suppress(TypeError, ValueError, OverflowError):
            return float(number)
    raise QuantityError(f"{name} must be plain numbers with a unit; got {format_value(quantity)}")


def temperature_c(value: Any, *, name: str = "temperature", takes: str = "") -> Any:
    """Return a temperature in degrees Celsius, from text or a pint quantity."""
    return magnitude(value, "degC", name=name, takes=takes)


def positive(value: Any, unit: str, *, name: str, zero: bool = False) -> Any:
    """Return the number of an amount that cannot be negative, nor zero unless `zero` says so."""
    number = magnitude(value, unit, name=name)
    if is_positive(number, zero=zero):
        return number
    needed, such = "zero or positive" if zero else "positive", read_unit(unit).example
    raise QuantityError(f"{name} must be {needed} and finite, for example {such!r}; got {format_value(value)}")


def exact_number(value: Any, unit: str, *, name: str, zero: bool = False) -> Fraction:
    """Return the number of one positive quantity exactly; a float counts as the binary number that it is."""
    number = positive(value, unit, name=name, zero=zero)
    if not isinstance(number, float) or math.isnan(number):
        raise QuantityError(f"{name} must be one quantity; got {format_value(value)}")
    return exact(value, unit, name=name) if isinstance(value, str) else Fraction(float(number))


def fraction(value: Any, *, name: str) -> float:
    """Return a tolerance such as ``"3 %"`` as a fraction; a bare number (3 or 0.03?) is refused."""
    number = ratio(value, name=name)
    if not 0 <= number < math.inf:
        raise QuantityError(f"{name} must be finite and not negative, for example '3 %'; got {format_value(value)}")
    return number


def tolerance_fraction(value: Any, *, name: str = "tolerance") -> float:
    """Return a tolerance such as ``"3 %"`` as a fraction below 1: from 100 % on, zero would pass for any figure."""
    found = fraction(value, name=name)
    if found >= 1.0:
        raise QuantityError(f"{name}: {value} would accept zero; a tolerance is below 100 %, for example '3 %'")
    return found


def ratio(value: Any, *, name: str) -> float:
    """Return the number of a percentage, or of one quantity without dimension."""
    if isinstance(value, str):
        number, unit = read_text(value)
        if unit in PERCENT:
            with suppress(OverflowError):
                return float(number / 100)
    elif is_quantity(value):
        refuse_angles(value, name)
        with suppress(TypeError, ValueError, OverflowError):
            return float(value.m_as("dimensionless"))
    elif (found := read_foreign(value, name)) is not None:
        with suppress(TypeError, ValueError):
            return float(_convert(*found, Unit("1", Fraction(1), None, ()), value, name))
    raise QuantityError(f"{name} must be a percentage, for example '3 %'; got {format_value(value)}")


def pair(value: Any, unit: str, *, name: str) -> tuple[float, float]:
    """Return the two ends of a range such as ``("-20 degC", "40 degC")``, the lower first."""
    ends = members(value)
    if len(ends) != 2 or any(map(members, ends)):
        number, _, unit = read_unit(unit).example.partition(" ")
        such = (f"{number} {unit}", f"{2 * float(number):g} {unit}")
        raise QuantityError(f"{name} must be two quantities, such as {such}; got {format_value(value)}")
    first_quantity(*ends)
    low, high = (float(magnitude(end, unit, name=name)) for end in ends)
    if not low <= high:
        raise QuantityError(f"{name}: {ends[0]} is above {ends[1]}; write the lower one first")
    return low, high


def members(value: Any) -> list[Any]:
    """Return the members of a list or any other iterable; none of a text."""
    with suppress(TypeError):
        return [] if isinstance(value, str) else list(value)
    return []
