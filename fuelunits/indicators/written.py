"""Inputs as they were written: an entry is kept as text, from which its exact number is read."""

from __future__ import annotations

import math
from collections.abc import Iterable
from contextlib import suppress
from fractions import Fraction
from typing import Any

from fuelunits.errors import DimensionError, QuantityError, UnitError
from fuelunits.quantities import first_quantity, fraction, has_dimension, is_quantity, is_ratio, magnitude, read_text
from fuelunits.uncertainty.budget import coverage_factor, nominal, standard_uncertainty, unclear_causes
from fuelunits.uncertainty.measured import is_uncertain
from fuelunits.units import BY_MASS, factor, read_unit
from fuelunits.validation import format_value, is_number, set_fields

_UNUSABLE = "unusable fuel of "  # begins the name of what a tank table does not state, in its readings and their sums


def as_written(value: Any, unit: str, name: str) -> str:
    """Return what was given as text: text as it is, a quantity in its own unit, or in `unit` where ours has no such."""
    if isinstance(value, str):
        return value.strip()
    number = magnitude(value, unit, name=name)
    if getattr(number, "ndim", 0) or number != number:
        raise QuantityError(f"{name} must be one quantity; got {format_value(value)}")
    if is_quantity(value):
        with suppress(UnitError, DimensionError):  # a unit that is not ours, or whose name is of another size here
            own = read_unit(format(value.units, "C").replace("**", "^")).name
            if not own.startswith("1"):  # a number before 1/s is hard to read
                number, unit = magnitude(value, own, name=name), own
    return f"{float(number):.15g} {unit}"  # so that a step of 0.1 stays one where a library converts with a rounding


def coerce_text(record: object, units: dict[str, str], *, measured: Iterable[str] = ()) -> None:
    """Set the text of each named attribute in its unit; None stays, and of those in `measured` what is uncertain."""
    first_quantity(*(getattr(record, name) for name in units))
    for name, unit in units.items():
        value = getattr(record, name)
        if value is not None and not (name in measured and is_uncertain(value)):
            set_fields(record, **{name: as_written(value, unit, name)})


def written_ratio(value: Any, unit: str, name: str) -> str:
    """Return a tolerance or an uncertainty as text: a percentage, or a quantity of the kind of `unit`."""
    if isinstance(value, str):
        if not read_text(value)[1]:
            raise QuantityError(f"{name}: {value!r} has no unit; write '{value.strip()} %'")
        if is_ratio(value):
            fraction(value, name=name)  # refuses a negative one
        return value.strip()
    if is_number(value):
        raise QuantityError(f"{name}: the bare number {format_value(value)} has no unit; write text such as '2 %'")
    if is_ratio(value):
        return f"{float(100 * Fraction(repr(fraction(value, name=name))))!r} %"
    return as_written(value, unit, name)


def compatible(*numbers: Any) -> tuple[Any, ...]:
    """Return numbers that calculate with one another: exact where all are, else floats and uncertain numbers."""
    return numbers if all(isinstance(each, Fraction) for each in numbers) else tuple(map(float_or_uncertain, numbers))


def float_or_uncertain(number: Any) -> Any:
    """Return an exact number as a float, and an uncertain one as it is."""
    return float(number) if isinstance(number, Fraction) else number


def decimals_of(unit: str) -> int:
    """Return the decimals with which a volume or mass is printed: of 0.1 L or kg, also in a larger unit."""
    return 1 + max(0, math.floor(math.log10(factor(unit, "kg" if has_dimension(f"1 {unit}", "kg") else "L"))))


def expanded_uncertainty(value: Any) -> float:
    """Return the expanded uncertainty of a number (95.45 %): twice the standard one, or Student's t times it."""
    return coverage_factor(value) * standard_uncertainty(value)


def between(value: Any, unit: str) -> str:
    """Return a number with its unit; an uncertain one as the interval of its expanded uncertainty (95.45 %)."""
    middle, spread = float(nominal(value)), expanded_uncertainty(value)
    return f"{middle - spread:.4g} to {middle + spread:.4g} {unit}" if spread else f"{middle:.5g} {unit}"


def is_stated(value: Any) -> bool:
    """Return whether a number has an uncertainty, and every cause of it: one of zero stands for what was not stated."""
    is_known = standard_uncertainty(value) > 0.0
    return is_known and all(each.std_dev or str(each.tag).startswith(_UNUSABLE) for each in value.derivatives)


def unclear_in(*sums: Any) -> list[str]:
    """Return what is not known in a sum: unusable fuel, and of causes of one name, but for amounts, read anew."""
    causes = [each for value in sums for each in getattr(value, "derivatives", {}).items()]
    anew = [each for each, _ in causes if getattr(each.tag, "unit", "") in ("mm", "L", "kg")]
    ask = "how large the {} is (make its table with unusable='4 L', or '0 L' where the aircraft's data say so)"
    unusable = (ask.format(each.tag) for each, slope in causes if slope and str(each.tag).startswith(_UNUSABLE))
    return [*dict.fromkeys((*unusable, *(words for value in sums for words in unclear_causes([value], anew))))]


def remarks_on(values: dict[str, Any], *plain: str) -> list[str]:
    """Return remarks: a mass may be displayed; and where there are limits, values without their u, and plain ones."""
    unstated = [*(name for name, value in values.items() if not is_stated(value)), *plain]
    some = any(map(standard_uncertainty, values.values()))
    words = "The uncertainty of the {} is not stated, or not in full: the limits are too narrow."
    unclear = (f"It is not known {each}: the limits may be too narrow." for each in unclear_in(*values.values()))
    return [f"{BY_MASS.capitalize()}.", *(words.format(name) for name in unstated if some), *unclear]
