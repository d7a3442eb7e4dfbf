"""Floats in, floats out; arrays in, arrays out: the few helpers that the formulas share."""

from __future__ import annotations

import math
import numbers
from decimal import Decimal
from typing import Any

import numpy as np

from fuelunits.errors import QuantityError
from fuelunits.validation import format_value

__all__ = ["as_float", "as_number", "exp", "is_scalar", "log", "sqrt"]


def is_scalar(value: Any) -> bool:
    """Tell whether something is a single float (NumPy's float64 is one)."""
    return isinstance(value, float)


def as_float(value: Any) -> Any:
    """Give a float for a number and a floating-point array for a sequence or an integer array.

    Floating-point arrays and other array types (a Series, say) pass through as they are, so
    float32 stays float32, and names, indexes and masks are kept. The input is never written to.

    Raises
    ------
    QuantityError
        For what is no number: text, a quantity with a unit of its own, a truth value, None.
    """
    if isinstance(value, float):
        return value
    number = as_number(value)
    if _is_uncertain(number):
        raise QuantityError(f"{format_value(value)} is uncertain, and plain numbers are needed; give its nominal_value")
    return number


def as_number(value: Any) -> Any:
    """Give the same, or let a number pass that carries its uncertainty along."""
    if isinstance(value, float):
        return value
    if value is np.ma.masked:
        return math.nan
    try:
        if _is_number(value) and not isinstance(value, np.generic):
            return float(value)
        if isinstance(value, (list, tuple)):
            value = np.asarray(value)
        if isinstance(value, np.ndarray) and value.dtype.kind == "O" and all(map(_is_number, value.flat)):
            return value.astype(float)
    except (TypeError, ValueError, OverflowError) as wrong:
        raise QuantityError(f"{format_value(value)} is no number or array of numbers: {wrong}") from wrong
    if isinstance(value, (np.ndarray, np.generic)):
        if value.dtype.kind in "iu":
            return value.astype(float)
        right = value.dtype.kind == "f" or _is_uncertain(value)
    else:
        right = _counts(value)
    if not right or hasattr(value, "dimensionality"):
        raise QuantityError(
            f"{format_value(value)} is no plain number or array of numbers, and one is needed here, "
            "in the unit that the argument's name says"
        )
    return value


def _is_number(value: Any) -> bool:
    return isinstance(value, (numbers.Real, Decimal)) and not isinstance(value, bool)


def _is_uncertain(value: Any) -> bool:
    """Tell whether something is a number with an uncertainty, or an array of such."""
    if type(value) is np.ndarray and value.dtype.kind == "O":
        return all(hasattr(each, "nominal_value") for each in value.flat)
    return hasattr(value, "nominal_value")


def _counts(value: Any) -> bool:
    """Tell whether something can be multiplied as a number can."""
    return hasattr(type(value), "__rmul__") and not isinstance(value, (str, bytes, bool, complex))


def exp(value: Any) -> Any:
    """Exponential of a float or an array."""
    return math.exp(value) if isinstance(value, float) else np.exp(value)


def log(value: Any) -> Any:
    """Natural logarithm of a positive float or array."""
    return math.log(value) if isinstance(value, float) else np.log(value)


def sqrt(value: Any) -> Any:
    """Square root of a float or array that is not negative."""
    return math.sqrt(value) if isinstance(value, float) else np.sqrt(value)
