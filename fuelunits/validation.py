"""Validation of what a user gives, numbers and arrays: one helper and one message for each kind of value."""

from __future__ import annotations

import math
import numbers
import re
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping, Set
from contextlib import contextmanager, suppress
from dataclasses import fields
from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypeVar

from fuelunits.errors import FuelUnitsError, QuantityError

if TYPE_CHECKING:
    from numpy.typing import NDArray

Kind = TypeVar("Kind")
_KEPT = ("pandas", "xarray", "dask.array")


def format_value(value: object) -> str:
    """Return a value as a message shows it, on one line of some sixty characters; a quantity with its unit."""
    as_text = isinstance(value, (numbers.Real, Decimal)) or carries_unit(value)  # 5, not np.int64(5)
    try:
        text = re.sub(r"\s*\n\s*", " ", str(value) if as_text else repr(value))
    except ValueError:
        return f"{type(value).__name__} of too many digits"
    text = text if len(text) <= 60 else f"{text[:57]}..."
    units = getattr(value, "attrs", {}).get("units") if library_of(value) in _KEPT else None
    return f"{text} with the attribute units={units!r}" if units else text


def print_unit(name: str) -> str:
    """Return a unit as a person reads it in a message or a report: ``kg/m³`` of ``kg/m^3``, ``°C`` of ``degC``."""
    name = re.sub(r"\b(delta_)?deg(?=[CF]\b)", "°", name)
    return re.sub(r"(?<=m)\^?([23])\b", lambda power: "²³"[int(power[1]) - 2], name)


def warn_deprecated(name: str, *, since: str, removed: str, use: str) -> None:
    """Warn of a public name that a later version removes; a test reads the versions, which are literals."""
    warnings.warn(f"{name} is deprecated since {since}, removed in {removed}: use {use}", DeprecationWarning, 3)


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
    """Return whether a value has a unit of its own: of any library, a time difference, or an attribute `units`."""
    if isinstance(value, (float, int, str)):
        return False
    if isinstance(value, timedelta) or hasattr(value, "dimensionality"):
        return True
    library, dtype = library_of(value), getattr(value, "dtype", None)
    if library in ("astropy", "unyt"):
        return getattr(value, "unit", getattr(value, "units", None)) is not None
    if getattr(dtype, "kind", "") in ("m", "M") or hasattr(dtype, "units"):
        return True
    if library in _KEPT and getattr(value, "attrs", {}).get("units"):
        return True
    inside = {"xarray": "data", "dask": "_meta"}.get(library)
    return inside is not None and carries_unit(getattr(value, inside, None))


def is_misread(values: Any) -> bool:
    """Return whether NumPy would misread a list: it, or one within it, holds a truth value or a masked array."""
    kinds = set(map(type, values))
    if any(kind.__name__ in ("bool", "bool_", "MaskedArray") for kind in kinds):
        return True
    return bool(kinds & {list, tuple}) and any(is_misread(each) for each in values if isinstance(each, (list, tuple)))


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
    """Set attributes of a frozen record that is being made; arrays, such as the caller gave, read-only."""
    for name, value in values.items():
        if library_of(value) == "numpy" and value.ndim:
            (value := value.view()).setflags(write=False)
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
        if not isinstance(values, (list, tuple)) or not is_misread(values):
            return np.asarray(values)
    except (ValueError, TypeError, RecursionError) as uneven:
        raise QuantityError(f"{name} must be an array of numbers; got {format_value(values)}") from uneven
    raise QuantityError(f"{name} must be numbers; got {format_value(values)}, which has a truth value or a mask")


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
    with suppress(TypeError):  # also of an array of no dimension, which has a method __iter__
        if not isinstance(values, (str, bytes, Set, Mapping)):  # a set has no order, and a mapping gives its keys
            return tuple(check_type(value, kind, f"each of the {name}", example) for value in values)
    raise QuantityError(f"{name} must be a list of {example}; got {format_value(values)}")


def check_distinct(values: Iterable[Any], kind: type[Kind], name: str, example: str) -> tuple[Kind, ...]:
    """Return the members of a sequence as :func:`check_types` does, or refuse one that is empty or has one twice."""
    made = check_types(values, kind, name, example)
    if made and len({getattr(each, "identity", id(each)) for each in made}) == len(made):
        return made
    twice = "one of them is given twice, or a copy of it; if two agree to the last digit, use measured() or counted()"
    raise QuantityError(f"{name} must be a list of {example}, each given once; {twice if made else 'there is none'}")


def is_scalar(value: Any) -> bool:
    """Return whether something is a single float (NumPy's float64 is one)."""
    return isinstance(value, float)


def as_float(value: Any, *, uncertain: bool = False) -> Any:
    """Return a number as a float, and a sequence or an integer array as a floating-point array.

    Arrays of other libraries keep their kind, names, indexes and masks, and float32 stays; polars and Arrow give
    NumPy arrays, NaN where missing. Text, truth values, quantities, uncertain numbers (unless `uncertain`) are refused.
    """
    if isinstance(value, float):
        return value
    import numpy as np

    if type(value) is np.ndarray and value.ndim and value.dtype.kind == "f" and value.dtype.itemsize > 2:
        return value  # what most arrays are, before all that can be wrong
    if getattr(value, "dtype", None) == np.float16 and hasattr(value, "astype"):
        value = value.astype(float)  # half precision ends at 65 504
    library = library_of(value)
    is_masked = isinstance(value, np.ma.MaskedArray) and not value.ndim and bool(value.mask)
    if is_masked or (library == "pandas" and type(value).__name__ == "NAType"):
        return math.nan
    if library in ("polars", "pyarrow"):
        if not hasattr(value, "__array__"):
            raise QuantityError(f"{format_value(value)} of {library} holds no array; give the Series of map_batches")
        value = np.asarray(value)
    if library == "pandas" and not hasattr(value, "clip") and hasattr(value, "to_numpy") and _has_numbers(value):
        value = value.to_numpy(na_value=math.nan)  # an Index, or the array of a Series
    has_unit = holds_unit(value)
    is_foreign = hasattr(value, "shape") and not isinstance(value, (np.ndarray, np.generic))
    if is_foreign and not (has_unit or any(each.__module__.startswith(_KEPT) for each in type(value).__mro__)):
        raise QuantityError(f"an array of {library} is not read; write numpy.asarray(it, float), or its map_partitions")
    try:
        found = None if has_unit else _number(value)
    except (TypeError, ValueError, OverflowError, RecursionError) as wrong:
        raise QuantityError(f"numbers are needed; got {format_value(value)}: {wrong}") from wrong
    if found is not None and (uncertain or not _is_uncertain(found)):
        return found
    needed = "an array of numbers, in the unit that the argument's name says,"
    needed = "its nominal_value" if _is_uncertain(value) else needed
    raise QuantityError(f"a plain number or {needed} is needed; got {format_value(value)}")


def as_float_array(values: Any, name: str) -> Any:
    """Return a NumPy array of double precision; a quantity, a truth value and masked cells are refused."""
    return plain_array(as_float(values), name).astype(float, copy=False)


def is_positive(number: Any, *, zero: bool = False) -> bool:
    """Return whether a float, or each number of an array, is positive (with `zero`, or zero) and finite; NaN passes."""
    return not any_of(((number < 0.0) if zero else (number <= 0.0)) | (number == math.inf))


def is_within(deviation: float, limit: float) -> bool:
    """Return whether a deviation, as a fraction, is within a limit; rounding to binary numbers takes none out."""
    return abs(deviation) <= limit + 1e-12


def positive_floats(value: Any, name: str) -> Any:
    """Return a float or floating-point array, positive and finite; NaN passes."""
    number = as_float(value)
    if not is_positive(number):
        raise QuantityError(f"{name} must be positive and finite; got {format_value(value)}")
    return number


def any_of(condition: Any) -> bool:
    """Return whether a condition of a float holds, or of any element of an array."""
    if isinstance(condition, bool):
        return condition
    import numpy as np

    return bool(np.any(condition))


@contextmanager
def of_one_shape(names: str) -> Iterator[None]:
    """Refuse, in a block that combines arrays, those whose shapes do not broadcast."""
    try:
        yield
    except FuelUnitsError:
        raise
    except ValueError as uneven:
        raise QuantityError(f"{names} must be arrays of one shape, or single values: {uneven}") from uneven


def _number(value: Any) -> Any:
    """Return a number or an array, or None for anything else."""
    import numpy as np

    if is_number(value) and not isinstance(value, np.generic):
        return float(value)
    if isinstance(value, (list, tuple)):
        if is_misread(value):
            return None
        value = np.asarray(value)
    if isinstance(value, np.ndarray) and value.dtype.kind == "O" and all(map(is_number, value.flat)):
        return value.astype(float)
    if isinstance(value, (np.ndarray, np.generic)) and value.dtype.kind in "iu":
        return value.astype(float)
    return value if _is_uncertain(value) or _has_numbers(value) else None


def _is_uncertain(value: Any) -> bool:
    if getattr(getattr(value, "dtype", None), "kind", "") == "O" and hasattr(value, "flat"):
        return all(hasattr(each, "nominal_value") for each in value.flat)
    return hasattr(value, "nominal_value")


def _has_numbers(value: Any) -> bool:
    dtypes = [value.dtype] if hasattr(value, "dtype") else list(getattr(value, "dtypes", ()))
    kinds = [getattr(dtype, "kind", "") or str(dtype) for dtype in dtypes]
    return bool(kinds) and all(kind in "fiu" or "float" in kind or "int" in kind for kind in kinds)


def _elementary(name: str) -> Callable[[Any], Any]:
    """Return a function of a float, by ``math``, or of an array, by NumPy."""
    of_float = getattr(math, name)

    def function(value: Any) -> Any:
        if isinstance(value, float):
            return of_float(value)
        import numpy as np

        return getattr(np, name)(value)

    return function


exp, log, log10, sqrt = map(_elementary, ("exp", "log", "log10", "sqrt"))


class ByValue:
    """Base of dataclasses, made with ``eq=False``, equal where their fields are: arrays, NaN, uncertain numbers too."""

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return all(alike(getattr(self, each.name), getattr(other, each.name)) for each in fields(self) if each.compare)  # type: ignore[arg-type]

    def __hash__(self) -> int:
        return hash(type(self))

    def __setstate__(self, state: dict[str, Any]) -> None:
        set_fields(self, **state)


def alike(one: Any, other: Any) -> bool:
    """Return whether two values are equal: arrays, NaN, and uncertain numbers of like causes too."""
    import numpy as np

    if hasattr(one, "nominal_value") and hasattr(other, "nominal_value"):
        return one.nominal_value == other.nominal_value and _causes(one) == _causes(other)
    if hasattr(one, "dimensionality") and hasattr(other, "dimensionality"):
        return one.units == other.units and alike(one.magnitude, other.magnitude)
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return one.dtype == other.dtype and bool(np.array_equal(one, other, equal_nan=one.dtype.kind == "f"))
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(alike, one, other))
    return bool(one == other) or (one != one and other != other)


def _causes(value: Any) -> list[tuple[str, float, float]]:
    """Return the inputs on which a number depends: name, contribution to its uncertainty, degrees of freedom."""
    return sorted(
        (str(cause.tag), abs(slope * cause.std_dev), getattr(cause.tag, "degrees_of_freedom", math.inf))
        for cause, slope in value.derivatives.items()
    )
