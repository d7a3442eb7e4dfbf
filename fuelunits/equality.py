"""Equality of objects with arrays or uncertain numbers, for which `==` of the fields is not enough."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np


class ByValue:
    """Base of dataclasses that are equal where their fields are: arrays element by element, NaN like NaN.

    Uncertain numbers are equal where value, uncertainty and the named causes are; whether two things share a cause is
    not compared. A class is made with ``dataclass(eq=False)``.
    """

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return all(_same(getattr(self, each.name), getattr(other, each.name)) for each in fields(self) if each.compare)  # type: ignore[arg-type]

    def __hash__(self) -> int:
        return hash(type(self))


def _same(one: Any, other: Any) -> bool:
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
