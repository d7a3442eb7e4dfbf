"""What the editions of the volume correction share: commodities, the form of their tables, the base of 60 °F, CPL.

A product group is chosen by density, not by name: a light diesel falls in the jet fuel row.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from fuelunits.arrays import is_scalar
from fuelunits.sources import OnOutOfRange, Range, Sourced

Row = tuple[Any, Any, Any]
"""K0, K1 and K2 of alpha = K0/rho² + K1/rho + K2: floats, or arrays with one element for each density."""


@dataclass(frozen=True, repr=False)
class Commodity:
    """A commodity as the standard divides them; each edition has a table for it."""

    name: str

    def __repr__(self) -> str:
        return f"<{self.name}>"


CRUDE_OIL = Commodity("crude oil")
"""Also JP-4 where it is treated as one; the A tables of 1980."""

REFINED_PRODUCTS = Commodity("refined products")
"""Gasolines, jet fuels, kerosenes, diesel and fuel oils; the B tables of 1980."""

LUBRICATING_OIL = Commodity("lubricating oil")
"""The D tables of 1980."""

PER_F: dict[Commodity, tuple[Row, ...]] = {
    CRUDE_OIL: ((341.0957, 0.0, 0.0),),
    REFINED_PRODUCTS: (
        (192.4571, 0.2438, 0.0),  # gasolines
        (1489.0670, 0.0, -0.00186840),  # transition zone
        (330.3010, 0.0, 0.0),  # jet fuels and kerosenes
        (103.8720, 0.2701, 0.0),  # fuel oils
    ),
    LUBRICATING_OIL: ((0.0, 0.34878, 0.0),),
}
"""Alpha per °F for densities at 60 °F in kg/m³: those of 1980, which the edition of 2004 keeps."""


@dataclass(frozen=True)
class Table(Sourced):
    """The coefficients of the groups of one commodity at one base temperature, and the densities between them."""

    limits: tuple[float, ...]
    """kg/m³, from the lowest density of the first group to the highest of the last."""
    rows: tuple[Row, ...]

    @property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest density, kg/m³."""
        return self.limits[0], self.limits[-1]

    @cached_property
    def _columns(self) -> tuple[Any, ...]:
        import numpy as np

        return tuple(np.array(column) for column in zip(*self.rows, strict=True))

    def group(self, density: Any) -> Any:
        """Return the index of the group of a density, or of each density of an array."""
        if len(self.rows) == 1:
            return 0
        if is_scalar(density):
            return bisect_right(self.limits, density, 1, len(self.rows)) - 1
        first, *others = (density >= limit for limit in self.limits[1:-1])
        return sum(others, start=first.astype("i1")).astype("p")

    def row(self, group: Any) -> Row:
        """Return K0, K1 and K2 of a group, or of each of an array of groups."""
        if isinstance(group, int):
            return self.rows[group]
        k0, k1, k2 = (column.take(group) for column in self._columns)
        return k0, k1, k2

    def row_of(self, density: Any) -> Row:
        """Return K0, K1 and K2 of a density, or of each density of an array."""
        return self.row(self.group(density))


BASE_60F_C = (60.0 - 32.0) / 1.8
"""The base temperature of 60 °F, in °C."""


def is_60f(base_c: float) -> bool:
    """Return whether a base temperature in °C is 60 °F, even if written 15.56."""
    return abs(base_c - BASE_60F_C) < 0.006


def cpl(compressibility_per_kpa: Any, gauge_pressure_kpa: Any) -> Any:
    """Return CPL, the correction for pressure, from the compressibility F (11.1.6.1, step 8)."""
    return 1.0 / (1.0 - compressibility_per_kpa * gauge_pressure_kpa)


def gauge_pressure_kpa(valid: Range, value: Any, out_of_range: OnOutOfRange) -> Any:
    """Return a checked gauge pressure; a negative one is taken as 0, as the 2004 standard and its examples do."""
    p = (0.0 if value < 0.0 else value) if is_scalar(value) else value.clip(0.0)
    return valid.check(p, out_of_range)
