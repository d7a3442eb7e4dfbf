"""Commodities of the petroleum volume correction standard, and the form of their coefficient tables.

A product group is chosen by density, not by name: a light diesel falls in the jet fuel row. The
coefficients themselves stand in the module of each edition.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from fuelunits.arrays import is_scalar
from fuelunits.sources import Sourced

__all__ = ["CRUDE_OIL", "LUBRICATING_OIL", "REFINED_PRODUCTS", "Coefficients", "Commodity", "Row", "Table"]

Row = tuple[Any, Any, Any]
"""K0, K1 and K2 of alpha = K0/rho² + K1/rho + K2: floats, or arrays with one element for each density."""


@dataclass(frozen=True, repr=False)
class Commodity:
    """A commodity as the standard divides them; each edition has a table for it."""

    name: str

    def __repr__(self) -> str:
        return f"<{self.name}>"


CRUDE_OIL = Commodity("crude oil")
"""Crude oils, and JP-4 where it is treated as one (the A tables of 1980)."""

REFINED_PRODUCTS = Commodity("refined products")
"""Gasolines, jet fuels, kerosenes, diesel and fuel oils (the B tables of 1980)."""

LUBRICATING_OIL = Commodity("lubricating oil")
"""Lubricating oils (the D tables of 1980)."""


@dataclass(frozen=True)
class Coefficients:
    """One product group: alpha in 1/degree for densities in kg/m³, up to the density `high`."""

    name: str
    high: float
    k0: float
    k1: float = 0.0
    k2: float = 0.0


@dataclass(frozen=True)
class Table(Sourced):
    """The groups of one commodity at one base temperature, from the lowest density, kg/m³, up."""

    low: float
    rows: tuple[Coefficients, ...]

    @cached_property
    def high(self) -> float:
        """Highest density, kg/m³."""
        return self.rows[-1].high

    @cached_property
    def _limits(self) -> tuple[float, ...]:
        return tuple(row.high for row in self.rows[:-1])

    @cached_property
    def _floats(self) -> tuple[Row, ...]:
        return tuple((row.k0, row.k1, row.k2) for row in self.rows)

    @cached_property
    def _columns(self) -> tuple[np.ndarray[Any, Any], ...]:
        return tuple(np.array(column) for column in zip(*self._floats, strict=True))

    def group(self, density: Any) -> Any:
        """Return the index of the group of a density, or of each density of an array."""
        if len(self.rows) == 1:
            return 0
        if is_scalar(density):
            return bisect_right(self._limits, density)
        first, *others = (np.greater_equal(density, limit) for limit in self._limits)
        return sum(others, start=first.astype(np.int8)).astype(np.intp)

    def row(self, group: Any) -> Row:
        """Return K0, K1 and K2 of a group, or of each of an array of groups."""
        if isinstance(group, int):
            return self._floats[group]
        k0, k1, k2 = (column.take(group) for column in self._columns)
        return k0, k1, k2

    def row_of(self, density: Any) -> Row:
        """Return K0, K1 and K2 of a density, or of each density of an array."""
        return self.row(self.group(density))
