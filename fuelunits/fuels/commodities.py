"""The commodity groups of the petroleum volume correction standard, and their coefficients.

A group is chosen by density, not by name: a light diesel falls in the jet fuel row. The
coefficients are recalled and confirmed by the published tables that they reproduce; see
``api_mpms_11_1_2004`` and ``astm_d1250_1980`` in ``sources.toml``.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from fuelunits.arrays import is_scalar
from fuelunits.sources import Sourced

__all__ = [
    "CRUDE_OIL",
    "LUBRICATING_OIL",
    "REFINED_PRODUCTS",
    "Coefficients",
    "Commodity",
]


@dataclass(frozen=True)
class Coefficients:
    """One row of a coefficient table: alpha = K0/rho² + K1/rho + K2, up to the density `high`.

    Attributes
    ----------
    name : str
        The product group.
    high : float
        Upper limit of the base density, kg/m³; the lower one is the row before.
    k0, k1, k2 : float
        Coefficients, per degree, for densities in kg/m³.
    """

    name: str
    high: float
    k0: float
    k1: float = 0.0
    k2: float = 0.0


@dataclass(frozen=True)
class Table(Sourced):
    """The rows of one commodity at one base temperature, from the lowest density up."""

    low: float
    rows: tuple[Coefficients, ...]

    @property
    def high(self) -> float:
        """Highest density, kg/m³."""
        return self.rows[-1].high

    @cached_property
    def _limits(self) -> tuple[float, ...]:
        return tuple(row.high for row in self.rows[:-1])

    @cached_property
    def _columns(self) -> tuple[np.ndarray[Any, Any], ...]:
        return tuple(np.array([getattr(row, name) for row in self.rows]) for name in ("k0", "k1", "k2"))

    def coefficients(self, density: Any) -> tuple[Any, Any, Any]:
        """Give K0, K1 and K2 for a base density, or for each of an array."""
        if len(self.rows) == 1:
            row = self.rows[0]
            return row.k0, row.k1, row.k2
        if is_scalar(density):
            row = self.rows[bisect_right(self._limits, density)]
            return row.k0, row.k1, row.k2
        first, *others = (np.asarray(density >= limit) for limit in self._limits)
        index = sum(others, start=first.astype(np.int8)).astype(np.intp)
        k0, k1, k2 = (column[index] for column in self._columns)
        return k0, k1, k2


@dataclass(frozen=True, repr=False)
class Commodity:
    """A commodity as the standard divides them, with its tables of both editions.

    Attributes
    ----------
    name : str
        Name of the commodity.
    per_f_2004 : Table
        2004 edition: density at 60 °F, per degree Fahrenheit.
    per_c_1980 : Table
        1980 edition: density at 15 °C, per degree Celsius.
    per_f_1980 : Table
        1980 edition: density at 60 °F, per degree Fahrenheit.
    """

    name: str
    per_f_2004: Table
    per_c_1980: Table
    per_f_1980: Table

    def __repr__(self) -> str:
        return f"<{self.name}>"


CRUDE_OIL = Commodity(
    "crude oil",
    Table(610.6, (Coefficients("crude oil", 1163.5, 341.0957),), source="api_mpms_11_1_2004"),
    Table(610.5, (Coefficients("crude oil", 1075.0, 613.9723),), source="astm_d1250_1980"),
    Table(610.5, (Coefficients("crude oil", 1075.1, 341.0957),), source="astm_d1250_1980"),
)
"""Crude oils, and JP-4 where it is treated as one (the A tables of 1980)."""

REFINED_PRODUCTS = Commodity(
    "refined products",
    Table(
        610.6,
        (
            Coefficients("gasolines", 770.3520, 192.4571, 0.2438),
            Coefficients("transition zone", 787.5195, 1489.0670, 0.0, -0.00186840),
            Coefficients("jet fuels and kerosenes", 838.3127, 330.3010),
            Coefficients("fuel oils", 1163.5, 103.8720, 0.2701),
        ),
        source="api_mpms_11_1_2004",
    ),
    Table(
        653.0,
        (
            # the table goes in steps of 0.5 kg/m3: the limits lie half way between its last and first entries
            Coefficients("gasolines", 770.25, 346.4228, 0.4388),
            Coefficients("transition zone", 787.25, 2680.3206, 0.0, -0.00336312),
            Coefficients("jet fuels and kerosenes", 838.75, 594.5418),
            Coefficients("fuel oils", 1075.0, 186.9696, 0.4862),
        ),
        source="astm_d1250_1980",
    ),
    Table(
        652.9,
        (
            # groups by API gravity in steps of 0.1: 52.1 to 85, 48.0 to 52.0, 37.1 to 47.9, 0 to 37.0
            Coefficients("gasolines", 141.5 * 999.012 / (131.5 + 52.05), 192.4571, 0.2438),
            Coefficients("transition zone", 141.5 * 999.012 / (131.5 + 47.95), 1489.0670, 0.0, -0.00186840),
            Coefficients("jet fuels and kerosenes", 141.5 * 999.012 / (131.5 + 37.05), 330.3010),
            Coefficients("fuel oils", 1075.1, 103.8720, 0.2701),
        ),
        source="astm_d1250_1980",
    ),
)
"""Gasolines, jet fuels, kerosenes, diesel and fuel oils (the B tables of 1980)."""

LUBRICATING_OIL = Commodity(
    "lubricating oil",
    Table(800.9, (Coefficients("lubricating oils", 1163.5, 0.0, 0.34878),), source="api_mpms_11_1_2004"),
    Table(800.0, (Coefficients("lubricating oils", 1164.0, 0.0, 0.6278),), source="astm_d1250_1980"),
    Table(800.0, (Coefficients("lubricating oils", 1164.0, 0.0, 0.34878),), source="astm_d1250_1980"),
)
"""Lubricating oils (the D tables of 1980)."""
