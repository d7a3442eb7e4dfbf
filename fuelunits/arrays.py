"""Floats in, floats out; arrays in, arrays out: the few helpers that the formulas share."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import fields
from typing import Any

from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.validation import format_value, holds_truth, holds_unit, is_number, library_of, plain_array

_KEPT = ("pandas", "xarray", "dask.array")


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
        if holds_truth(value):
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


exp, log, sqrt = map(_elementary, ("exp", "log", "sqrt"))


class ByValue:
    """Base of dataclasses, made with ``eq=False``, equal where their fields are: arrays, NaN, uncertain numbers too."""

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return all(_same(getattr(self, each.name), getattr(other, each.name)) for each in fields(self) if each.compare)  # type: ignore[arg-type]

    def __hash__(self) -> int:
        return hash(type(self))


def _same(one: Any, other: Any) -> bool:
    import numpy as np

    if hasattr(one, "nominal_value") and hasattr(other, "nominal_value"):
        return one.nominal_value == other.nominal_value and _causes(one) == _causes(other)
    if hasattr(one, "dimensionality") and hasattr(other, "dimensionality"):
        return one.units == other.units and _same(one.magnitude, other.magnitude)
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return one.dtype == other.dtype and bool(np.array_equal(one, other, equal_nan=one.dtype.kind == "f"))
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(_same, one, other))
    return bool(one == other) or (one != one and other != other)


def _causes(value: Any) -> list[tuple[str, float, float]]:
    """Return the inputs on which a number depends: name, contribution to its uncertainty, degrees of freedom."""
    return sorted(
        (str(cause.tag), abs(slope * cause.std_dev), getattr(cause.tag, "degrees_of_freedom", 0.0))
        for cause, slope in value.derivatives.items()
    )
