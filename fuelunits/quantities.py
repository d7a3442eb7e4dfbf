"""Quantities in, plain numbers out.

What comes in is text of one number and one unit, or a quantity of pint (of any registry), astropy or unyt, held in
a pandas Series or an xarray array too, or a time difference. A bare number is refused. Text is read here and never by
pint's expression parser; a quantity is converted by its own library's definitions.
"""

from __future__ import annotations

import math
from contextlib import suppress
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Protocol

from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.foreign import read_foreign, unwrap
from fuelunits.parsing import (
    FREQUENCY,
    PERCENT,
    PULSE_RATE,
    as_float,
    check_kind,
    dimension_of,
    exact,
    example_of,
    read_text,
    text_magnitude,
)
from fuelunits.pint_units import answer, first_quantity, is_quantity, pint_name, pint_unit
from fuelunits.unit_definitions import Unit
from fuelunits.units import read_unit
from fuelunits.validation import format_value, holds_unit

__all__ = [
    "PERCENT",
    "PairLike",
    "QuantityLike",
    "answer",
    "exact",
    "exact_number",
    "first_quantity",
    "fraction",
    "has_dimension",
    "is_quantity",
    "is_ratio",
    "magnitude",
    "pair",
    "pint_name",
    "pint_unit",
    "positive",
    "ratio",
    "read_text",
    "temperature_c",
    "tolerance_fraction",
]

if TYPE_CHECKING:
    from collections.abc import Sequence

    class _OfPint(Protocol):
        """A quantity of pint or of unyt."""

        @property
        def units(self) -> Any: ...

    class _OfAstropy(Protocol):
        """A quantity of astropy."""

        @property
        def unit(self) -> Any: ...

    QuantityLike = str | _OfPint | _OfAstropy
    """What is read as a quantity, for type checkers, which then refuse a bare number."""

    PairLike = Sequence[QuantityLike] | _OfPint | _OfAstropy
    """The same for the two ends of a range."""
else:
    QuantityLike = PairLike = Any


def magnitude(value: Any, unit: str, *, name: str, takes: str = "") -> Any:
    """Return the number, or the array, of a quantity in a unit; `takes` is what would take a plain number."""
    if isinstance(value, str):
        return text_magnitude(value, unit, name)
    value = unwrap(value)
    if is_quantity(value):
        return _pint_magnitude(value, unit, name)
    found = read_foreign(value, name)
    if found is not None:
        return _convert(*found, read_unit(unit), value, name)
    if holds_unit(value):
        raise QuantityError(
            f"{name} must be one quantity, such as {example_of(unit)!r}, or one that holds an array; "
            f"got {format_value(value)}"
        )
    hint = f"; plain numbers go to {takes}" if takes else ""
    raise QuantityError(
        f"{name}: {_bare(value)} has no unit; write text such as {example_of(unit)!r}, or a quantity{hint}"
    )


def has_dimension(value: Any, unit: str, *, name: str) -> bool:
    """Return whether a quantity has the dimension of a unit; pulses per second count as a frequency."""
    goal = read_unit(unit)
    if isinstance(value, str):
        written = read_text(value)[1]
        return bool(written) and written not in PERCENT and dimension_of(read_unit(written)) == dimension_of(goal)
    value = unwrap(value)
    if is_quantity(value):
        kind = type(value)
        return any(value.is_compatible_with(kind(1, pint_unit(kind, each, name))) for each in _pint_goals(value, goal))
    found = read_foreign(value, name)
    return found is not None and dimension_of(found[1]) == dimension_of(goal)


def _bare(value: Any) -> str:
    return f"the bare number {format_value(value)}" if isinstance(value, (int, float)) else f"{type(value).__name__}"


def _convert(number: Any, start: Unit, goal: Unit, given: Any, name: str) -> Any:
    """Return numbers of another library in a unit of ours."""
    check_kind(start, goal, given, name)
    number = _plain(number, name, given) * float(start.size / goal.size)
    if start.zero is None or goal.zero is None:
        return number
    return _above_zero(number + float((start.zero - goal.zero) / goal.size), goal, given, name)


def _pint_goals(quantity: Any, goal: Unit) -> list[str]:
    """Return the units to try: for a frequency also a pulse rate, where the registry knows pulses."""
    also = {FREQUENCY: "pulse/s", PULSE_RATE: "1/s"}.get(goal.dimension)
    knows = also and ("pulse" in also) == any("pulse" in part for part, _ in quantity.unit_items())
    return [also] if also and knows else [goal.name]


def _pint_magnitude(quantity: Any, unit: str, name: str) -> Any:
    goal = read_unit(unit)
    if goal.zero is not None and any(part.startswith("delta_") for part, _ in quantity.unit_items()):
        raise DimensionError(f"{name}: {quantity} is a temperature difference, and a temperature is needed")
    scale = 1.0
    if goal.dimension in (FREQUENCY, PULSE_RATE):
        (tried,) = _pint_goals(quantity, goal)
        unit, scale = tried, float(read_unit(tried).size / goal.size)
    wanted = pint_unit(type(quantity), unit, name)
    try:
        number = quantity.m_as(wanted)
    except (TypeError, ValueError) as mismatch:
        raise DimensionError(
            f"{name}: {format_value(quantity)} has dimension {quantity.dimensionality}, "
            f"and {goal.kind} is needed, such as {example_of(unit)!r}"
        ) from mismatch
    except OverflowError as wrong:
        raise QuantityError(f"{name}: {format_value(quantity)} is too large a number") from wrong
    if type(number) is not float:
        number = _plain(number, name, quantity)
    return _above_zero(number if scale == 1.0 else number * scale, goal, quantity, name)


def _above_zero(number: Any, goal: Unit, given: Any, name: str) -> Any:
    """Return a temperature of a scale, or refuse what lies below absolute zero."""
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
        needed = "not negative" if zero else "positive"
        raise QuantityError(
            f"{name} must be {needed} and finite, for example {example_of(unit)!r}; got {format_value(value)}"
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
    try:
        found = read_foreign(value, "ratio")
    except FuelUnitsError:
        return False
    return found is not None and not found[1].dimension


def fraction(value: Any, *, name: str) -> float:
    """Return a tolerance such as ``"3 %"`` as a fraction; a bare number (3 or 0.03?) is refused."""
    number = ratio(value, name=name)
    if not 0 <= number < math.inf:
        raise QuantityError(f"{name} must not be negative, and finite, for example '3 %'; got {format_value(value)}")
    return number


def tolerance_fraction(value: Any, *, name: str = "tolerance") -> float:
    """Return a tolerance such as ``"3 %"`` as a fraction below 1: from 100 % on, zero would pass for any figure."""
    found = fraction(value, name=name)
    if found >= 1.0:
        raise QuantityError(f"{name}: {value} would let zero pass; a tolerance is below 100 %, for example '3 %'")
    return found


def ratio(value: Any, *, name: str) -> float:
    """Return the number of a percentage, or of one quantity without dimension."""
    if isinstance(value, str):
        number, unit = read_text(value)
        if unit in PERCENT:
            return as_float(number / 100, name, value)
    elif is_quantity(value):
        with suppress(TypeError, ValueError, OverflowError):
            return float(value.m_as("dimensionless"))
    elif (found := read_foreign(value, name)) is not None:
        with suppress(TypeError, ValueError, DimensionError):
            return float(_convert(*found, Unit("1", Fraction(1), None, ()), value, name))
    raise QuantityError(f"{name} must be a percentage, for example '3 %'; got {format_value(value)}")


def pair(value: Any, unit: str, *, name: str) -> tuple[float, float]:
    """Return the two ends of a range such as ``("-20 degC", "40 degC")``, the lower first."""
    ends = _members(value)
    if len(ends) != 2 or any(map(_members, ends)):
        example = example_of(unit)
        raise QuantityError(
            f"{name} must be two quantities, such as ({example!r}, {example!r}); got {format_value(value)}"
        )
    first_quantity(*ends)
    low, high = (float(magnitude(end, unit, name=name)) for end in ends)
    if not low <= high:
        raise QuantityError(f"{name}: {ends[0]} is above {ends[1]}; write the lower one first")
    return low, high


def _members(value: Any) -> list[Any]:
    if isinstance(value, str):
        return []
    try:
        return list(value)
    except TypeError:
        return []
