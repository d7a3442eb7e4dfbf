"""Floats in, floats out; arrays in, arrays out: the few helpers that the formulas share."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

__all__ = ["as_float", "exp", "is_scalar", "log", "sqrt"]


def is_scalar(value: Any) -> bool:
    """Tell whether something is a single float (NumPy's float64 is one)."""
    return isinstance(value, float)


def as_float(value: Any) -> Any:
    """Give a float for a number and a floating-point array for a sequence or an integer array.

    Floating-point arrays and other array types (a Series, say) pass through as they are, so
    float32 stays float32, and names and indexes are kept. The input is never written to.
    """
    if isinstance(value, float):
        return value
    if isinstance(value, int):
        return float(value)
    if isinstance(value, (list, tuple)):
        return np.asarray(value, dtype=float)
    if isinstance(value, (np.ndarray, np.generic)) and value.dtype.kind in "iub":
        return value.astype(float)
    return value


def exp(value: Any) -> Any:
    """Exponential of a float or an array."""
    return math.exp(value) if isinstance(value, float) else np.exp(value)


def log(value: Any) -> Any:
    """Natural logarithm of a positive float or array."""
    return math.log(value) if isinstance(value, float) else np.log(value)


def sqrt(value: Any) -> Any:
    """Square root of a float or array that is not negative."""
    return math.sqrt(value) if isinstance(value, float) else np.sqrt(value)
