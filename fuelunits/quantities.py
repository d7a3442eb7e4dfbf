"""Quantities in, plain numbers out.

An input is text of one number and one unit, or a quantity of pint (of any registry), astropy or unyt, held in
a pandas Series or an xarray array too, or a time difference. A bare number is refused. Text is read here and never by
pint's expression parser; a quantity is converted by its own library's definitions.
"""

from __future__ import annotations

import math
import re
from contextlib import suppress
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Protocol

from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.foreign import read_foreign, unwrap
from fuelunits.pint_units import first_quantity, is_quantity, pint_unit
from fuelunits.units import Dimension, Unit, density_power, read_unit
from fuelunits.validation import format_value, holds_unit

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


def _dimension_of(unit: Unit) -> Dimension:
    """Return a dimension, that of a frequency for pulses per time."""
    return _FREQUENCY if unit.dimension == _PULSE_RATE else unit.dimension


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
    return _as_float(exact(text, unit, name=name), name, text)


def _as_float(number: Fraction, name: str, text: str) -> float:
    try:
        return float(number)
    except OverflowError:
        raise QuantityError(f"{name}: {text!r} is too large a number") from None


def exact(text: str, unit: str, *, name: str) -> Fraction:
    """Return the number of a text in a unit, exactly."""
    number, written = read_text(text)
    goal = read_unit(unit)
    if not written:
        raise QuantityError(f"{name}: {text!r} has no unit; write it, for example {read_unit(unit).example!r}")
    if written in PERCENT:
        raise DimensionError(
            f"{name}: {text!r} is a ratio, and {goal.kind} is needed, such as {read_unit(unit).example!r}"
        )
    start = read_unit(written)
    _check_kind(start, goal, text, name)
    if start.zero is not None and goal.zero is not None:
        kelvin = number * start.size + start.zero
        if kelvin < 0:
            raise QuantityError(f"{name}: {text!r} is below absolute zero")
        return (kelvin - goal.zero) / goal.size
    return number * start.size / goal.size


def _check_kind(start: Unit, goal: Unit, given: Any, name: str) -> None:
    """Refuse a unit that does not measure what is needed; a temperature is not a difference of temperatures."""
    hint = ""
    if _dimension_of(start) == _dimension_of(goal) and (start.zero is None) == (goal.zero is None):
        return
    with suppress(DimensionError):
        density_power(start, goal)
        hint = "; convert between volume and mass with a density first"
    raise DimensionError(
        f"{name}: {format_value(given)} is {start.kind}, and {goal.kind} is needed, such as {goal.example!r}{hint}"
    )


def magnitude(value: Any, unit: str, *, name: str, takes: str = "") -> Any:
    """Return the number, or the array, of a quantity in a unit; `takes` is what would take a plain number."""
    if isinstance(value, str):
        return _text_magnitude(value, unit, name)
    value = unwrap(value)
    if is_quantity(value):
        return _pint_magnitude(value, unit, name)
    found = read_foreign(value, name)
    if found is not None:
        return _convert(*found, read_unit(unit), value, name)
    if holds_unit(value):
        raise QuantityError(
            f"{name} must be one quantity, such as {read_unit(unit).example!r}, or one that holds an array; "
            f"got {format_value(value)}"
        )
    hint = f"; plain numbers go to {takes}" if takes else ""
    raise QuantityError(
        f"{name}: {_bare(value)} has no unit; write text such as {read_unit(unit).example!r}, or a quantity{hint}"
    )


def has_dimension(value: Any, unit: str, *, name: str) -> bool:
    """Return whether a quantity has the dimension of a unit; pulses per second count as a frequency."""
    goal = read_unit(unit)
    if isinstance(value, str):
        written = read_text(value)[1]
        return bool(written) and written not in PERCENT and _dimension_of(read_unit(written)) == _dimension_of(goal)
    value = unwrap(value)
    if is_quantity(value):
        kind = type(value)
        return bool(value.is_compatible_with(kind(1, pint_unit(kind, _pint_goal(value, goal), name))))
    found = read_foreign(value, name)
    return found is not None and _dimension_of(found[1]) == _dimension_of(goal)


def _bare(value: Any) -> str:
    return f"the bare number {format_value(value)}" if isinstance(value, (int, float)) else f"{type(value).__name__}"


def _convert(number: Any, start: Unit, goal: Unit, given: Any, name: str) -> Any:
    """Return numbers of another library in a unit of ours."""
    _check_kind(start, goal, given, name)
    number = _plain(number, name, given) * float(start.size / goal.size)
    if start.zero is None or goal.zero is None:
        return number
    return _above_zero(number + float((start.zero - goal.zero) / goal.size), goal, given, name)


def _pint_goal(quantity: Any, goal: Unit) -> str:
    """Return the unit to convert to: for a frequency in pulses, a pulse rate."""
    if goal.dimension not in (_FREQUENCY, _PULSE_RATE):
        return goal.name
    is_rate = any("pulse" in part for part, _ in quantity.unit_items())
    return goal.name if is_rate == (goal.dimension == _PULSE_RATE) else "pulse/s" if is_rate else "1/s"


def _pint_magnitude(quantity: Any, unit: str, name: str) -> Any:
    goal = read_unit(unit)
    if goal.zero is not None and any(part.startswith("delta_") for part, _ in quantity.unit_items()):
        raise DimensionError(f"{name}: {quantity} is a temperature difference, and a temperature is needed")
    scale, tried = 1.0, unit
    if goal.dimension in (_FREQUENCY, _PULSE_RATE):
        tried = _pint_goal(quantity, goal)
        scale = float(read_unit(tried).size / goal.size)
        refuse_angles(quantity, name)
    wanted = pint_unit(type(quantity), tried, name)
    try:
        number = quantity.m_as(wanted)
    except (TypeError, ValueError) as mismatch:
        needed = f"{goal.kind} is needed, such as {read_unit(unit).example!r}"
        given = f"{format_value(quantity)} has dimension {quantity.dimensionality}"
        raise DimensionError(f"{name}: {given}, and {needed}") from mismatch
    except OverflowError as wrong:
        raise QuantityError(f"{name}: {format_value(quantity)} is too large a number") from wrong
    if type(number) is not float:
        number = _plain(number, name, quantity)
    return _above_zero(number if scale == 1.0 else number * scale, goal, quantity, name)


def refuse_angles(quantity: Any, name: str) -> None:
    """Refuse a pint quantity of turns, cycles or angles: pint takes a cycle for 6.28 and a radian for 1."""
    if any(part == "radian" for part, _ in type(quantity)(1.0, quantity.units).to_root_units().unit_items()):
        raise DimensionError(f"{name}: {format_value(quantity)} counts angles or turns, not pulses; write '99.8 Hz'")


def _above_zero(number: Any, goal: Unit, given: Any, name: str) -> Any:
    """Return a temperature of a scale, or refuse one below absolute zero."""
    if goal.zero is not None:
        import numpy as np

        if np.any(np.less(number * float(goal.size) + float(goal.zero), 0.0)):
            raise QuantityError(f"{name}: {format_value(given)} is below absolute zero")
    return number


def _plain(number: Any, name: str, quantity: Any) -> Any:
    """Return a float for one number, and an array as it is; masked cells are refused."""
    import numpy as np

    if isinstance(number, np.ma.MaskedArray) or number is np.ma.masked:
        if np.ma.is_masked(number):
            raise QuantityError(f"{name} must have no masked cells; leave them out, or fill them with NaN")
        number = np.asarray(number)
    if np.ndim(number) or (isinstance(number, np.ndarray) and is_quantity(quantity)):
        if getattr(number, "dtype", np.dtype(float)).kind in "fiuO":
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
    if isinstance(number, float):
        wrong = not (0.0 < number < math.inf or (zero and number == 0.0) or math.isnan(number))
    else:
        import numpy as np

        wrong = bool(np.any(np.less(number, 0) if zero else np.less_equal(number, 0)) or np.any(np.isinf(number)))
    if wrong:
        needed = "zero or positive" if zero else "positive"
        raise QuantityError(
            f"{name} must be {needed} and finite, for example {read_unit(unit).example!r}; got {format_value(value)}"
        )
    return number


def exact_number(value: Any, unit: str, *, name: str, zero: bool = False) -> Fraction:
    """Return the number of one positive quantity exactly; a float counts as the binary number that it is."""
    number = positive(value, unit, name=name, zero=zero)
    if not isinstance(number, float) or math.isnan(number):
        raise QuantityError(f"{name} must be one quantity; got {format_value(value)}")
    return exact(value, unit, name=name) if isinstance(value, str) else Fraction(float(number))


def is_ratio(value: Any) -> bool:
    """Return whether something is a percentage or a quantity without dimension."""
    if isinstance(value, str):
        return read_text(value)[1] in PERCENT
    if is_quantity(value):
        return not value.dimensionality
    found = None
    with suppress(FuelUnitsError):
        found = read_foreign(value, "ratio")
    return found is not None and not found[1].dimension


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
            return _as_float(number / 100, name, value)
    elif is_quantity(value):
        refuse_angles(value, name)
        with suppress(TypeError, ValueError, OverflowError):
            return float(value.m_as("dimensionless"))
    elif (found := read_foreign(value, name)) is not None:
        with suppress(TypeError, ValueError, DimensionError):
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
