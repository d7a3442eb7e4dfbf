"""Validation of what a user gives: one helper and one message for each kind of value."""

from __future__ import annotations

import math
import numbers
import re
import warnings
from collections.abc import Callable, Iterable
from contextlib import suppress
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypeVar

from fuelunits.errors import QuantityError

if TYPE_CHECKING:
    from numpy.typing import NDArray

Kind = TypeVar("Kind")


def format_value(value: object) -> str:
    """Return a value as a message shows it, on one line of at most sixty characters; a quantity with its unit."""
    as_text = isinstance(value, (numbers.Real, Decimal)) or carries_unit(value)  # 5, not np.int64(5)
    try:
        text = re.sub(r"\s*\n\s*", " ", str(value) if as_text else repr(value))
    except ValueError:
        return f"{type(value).__name__} of too many digits"
    return text if len(text) <= 60 else f"{text[:57]}..."


def print_unit(name: str) -> str:
    """Return a unit as a person reads it in a message or a report: ``kg/m³`` of ``kg/m^3``, ``°C`` of ``degC``."""
    name = re.sub(r"\b(delta_)?deg(?=[CF]\b)", "°", name)
    return re.sub(r"(?<=m)\^?([23])\b", lambda power: "²³"[int(power[1]) - 2], name)


def warn_deprecated(name: str, *, since: str, removed: str, use: str) -> None:
    """Warn of a public name that a later version removes; a test reads the versions, which are literals."""
    words = f"{name} is deprecated since {since}, removed in {removed}: use {use}"
    warnings.warn(words, DeprecationWarning, stacklevel=3)


def fold_name(name: str) -> str:
    """Return a name without case, spaces, hyphens and other marks, for look-up: ``"jeta1"`` of ``"Jet A-1"``."""
    return "".join(letter for letter in name.casefold() if letter.isalnum())


def nearest(given: object, known: Iterable[str], most: int = 1) -> list[str]:
    """Return the known names that look most like what was given."""
    import difflib

    return difflib.get_close_matches(given[:40], list(known), most, 0.5) if isinstance(given, str) else []


def did_you_mean(names: Iterable[str], otherwise: str) -> str:
    """Return the question whether one of some names was meant; `otherwise` where there is none."""
    return f"did you mean {' or '.join(map(repr, meant))}?" if (meant := dict.fromkeys(names)) else otherwise


def library_of(value: object) -> str:
    """Return the name of the library that a value's class, or one that it derives from, belongs to."""
    modules = [each.__module__.partition(".")[0] for each in type(value).__mro__]
    return next((module for module in modules if module != "builtins"), "")


def carries_unit(value: Any) -> bool:
    """Return whether a value has a unit of its own, by any library: pint, astropy, unyt, a time difference."""
    if isinstance(value, (float, int, str)):
        return False
    if isinstance(value, timedelta) or hasattr(value, "dimensionality"):
        return True
    library, dtype = library_of(value), getattr(value, "dtype", None)
    if library in ("astropy", "unyt"):
        return getattr(value, "unit", getattr(value, "units", None)) is not None
    if getattr(dtype, "kind", "") in ("m", "M") or hasattr(dtype, "units"):
        return True
    inside = {"xarray": "data", "dask": "_meta"}.get(library)
    return inside is not None and carries_unit(getattr(value, inside, None))


def holds_truth(values: Any) -> bool:
    """Return whether a list, or a list within it, has a truth value, which NumPy would take as 1 or 0."""
    kinds = set(map(type, values))
    if any(kind.__name__ in ("bool", "bool_") for kind in kinds):
        return True
    return bool(kinds & {list, tuple}) and any(holds_truth(each) for each in values if isinstance(each, (list, tuple)))


def holds_unit(values: Any) -> bool:
    """Return whether something, or a member of a list, a tuple or an array of objects, has a unit of its own."""
    if carries_unit(values):
        return True
    if getattr(getattr(values, "dtype", None), "kind", "") == "O" and hasattr(values, "tolist"):
        values = values.tolist()
    if not isinstance(values, (list, tuple)) or set(map(type, values)) <= {float, int, str}:
        return False
    try:
        return any(map(holds_unit, values))
    except RecursionError:
        return False


def is_number(value: Any) -> bool:
    """Return whether something is one plain number, of Python, NumPy, pandas; a truth value is not."""
    return isinstance(value, (numbers.Real, Decimal)) and not isinstance(value, bool) and not carries_unit(value)


def plain_number(value: Any, name: str) -> float:
    """Return one plain number as a float; NaN passes as a missing number."""
    if type(value) is float:
        return value
    number = _one(value)
    if is_number(number):
        with suppress(TypeError, ValueError, OverflowError):
            return float(number)
    raise QuantityError(f"{name} must be one plain number; got {format_value(value)}")


def finite_number(value: Any, name: str) -> float:
    """Return one finite plain number, or refuse it."""
    number = plain_number(value, name)
    if not math.isfinite(number):
        raise QuantityError(f"{name} must be finite; got {format_value(value)}")
    return number


def _one(value: Any) -> Any:
    """Return the member of an array of no dimension; anything else, and a masked cell, as it is."""
    is_array = getattr(value, "shape", None) == () and hasattr(value, "ndim") and not isinstance(value, numbers.Real)
    is_masked = is_array and bool(getattr(value, "mask", False))  # its item would be 0.0, or what the mask hides
    return value.item() if is_array and not is_masked and not carries_unit(value) else value


def positive_number(value: Any, name: str, *, example: object = 1.0, zero: bool = False) -> float:
    """Return one positive (with `zero`, zero or positive), finite plain number; `example` is a right one."""
    number = plain_number(value, name)
    if 0.0 < number < math.inf or (zero and number == 0.0):
        return number
    needed = "zero or positive" if zero else "positive"
    raise QuantityError(f"{name} must be {needed} and finite, for example {example}; got {format_value(value)}")


def whole_number(value: Any, name: str, *, least: int = 0, most: int | None = None) -> int:
    """Return one whole number as an int; NumPy's integers and a float without a fraction are whole numbers."""
    number = _one(value)
    if is_number(number):
        with suppress(ValueError, OverflowError):  # NaN, infinity
            count = int(number)
            if count >= least and (most is None or count <= most) and count == number:
                return count
    limits = f"of {least} or more" if most is None else f"from {least} to {most}"
    raise QuantityError(f"{name} must be a whole number {limits}; got {format_value(value)}")


def set_fields(record: object, **values: Any) -> None:
    """Set attributes of a frozen record that is being made."""
    for name, value in values.items():
        object.__setattr__(record, name, value)


def coerce_fields(record: object, names: Iterable[str], read: Callable[[Any, str], Any], label: str = "") -> None:
    """Set what `read` makes of each named attribute of a frozen record that is being made; a default None stays."""
    for name in names:
        value = getattr(record, name)
        if value is not None or getattr(type(record), name, ...) is not None:
            set_fields(record, **{name: read(value, f"{label}{name}")})


def plain_array(values: Any, name: str) -> NDArray[Any]:
    """Return an array; refuse a unit, which NumPy would drop, and masked cells, which it would take as valid."""
    import numpy as np

    if holds_unit(values):
        raise QuantityError(f"{name} must be plain numbers; got {format_value(values)}, which has a unit of its own")
    if np.ma.is_masked(values):
        raise QuantityError(f"{name} must have no masked cells; leave them out, or fill them with NaN")
    try:
        if not isinstance(values, (list, tuple)) or not holds_truth(values):
            return np.asarray(values)
    except (ValueError, TypeError, RecursionError) as uneven:
        raise QuantityError(f"{name} must be an array of numbers; got {format_value(values)}") from uneven
    raise QuantityError(f"{name} must be numbers; got {format_value(values)}, which has a truth value")


def boolean(value: Any, name: str) -> bool:
    """Return True or False, and refuse anything else."""
    if isinstance(value, bool) or (getattr(value, "shape", None) == () and getattr(value.dtype, "kind", "") == "b"):
        return bool(value)
    raise QuantityError(f"{name} must be True or False; got {format_value(value)}")


def check_type(value: object, kind: type[Kind] | tuple[type[Kind], ...], name: str, example: str) -> Kind:
    """Return a value, or refuse one of another kind."""
    if isinstance(value, kind):
        return value
    kinds = " or ".join(each.__name__ for each in (kind if isinstance(kind, tuple) else (kind,)))
    needed = "text" if kinds == "str" else kinds
    raise QuantityError(f"{name} must be {needed}, for example {example}; got {format_value(value)}")


def check_types(values: Iterable[Any], kind: type[Kind], name: str, example: str) -> tuple[Kind, ...]:
    """Return the members of a sequence, or refuse a sequence with a member of another kind."""
    try:
        members = None if isinstance(values, (str, bytes)) else tuple(values)
    except TypeError:  # also of an array of no dimension, which has a method __iter__
        members = None
    if members is None:
        raise QuantityError(f"{name} must be a list of {example}; got {format_value(values)}")
    return tuple(check_type(value, kind, f"each of the {name}", example) for value in members)


def check_distinct(values: Iterable[Any], kind: type[Kind], name: str, example: str) -> tuple[Kind, ...]:
    """Return the members of a sequence as :func:`check_types` does, or refuse one that is empty or has one twice."""
    made = check_types(values, kind, name, example)
    if made and len({getattr(each, "identity", id(each)) for each in made}) == len(made):
        return made
    twice = "one of them is given twice, or a copy of it; if two agree to the last digit, use measured() or counted()"
    wrong = twice if made else "there is none"
    raise QuantityError(f"{name} must be a list of {example}, each given once; {wrong}")
