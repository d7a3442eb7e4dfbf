"""The editions of the volume correction by year, and their base temperatures.

A new edition is a module with its coefficients, limits and equations, and one class with the attributes of these.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from numbers import Integral
from typing import Any

from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.base_density_solver import solve
from fuelunits.fuels.commodities import BASE_60F_C, Commodity, is_60f
from fuelunits.fuels.edition_1980 import Expansion1980, Procedure1980
from fuelunits.fuels.edition_2004 import Expansion2004, Procedure2004
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.validation import check_type, format_value, plain_number

Procedure = Procedure2004 | Procedure1980
Expansion = Expansion2004 | Expansion1980

EDITIONS: dict[int, type[Procedure]] = {2004: Procedure2004, 1980: Procedure1980}


def edition_of(year: int) -> type[Procedure]:
    """Return the procedure of an edition, or refuse a year that has none."""
    if isinstance(year, Integral) and year in EDITIONS:
        return EDITIONS[int(year)]
    raise FuelUnitsError(f"edition must be {' or '.join(map(str, EDITIONS))}; got {format_value(year)}")


@dataclass(frozen=True)
class Base:
    """A procedure, and the base temperature for which densities and factors are asked of it."""

    procedure: Procedure
    base_c: float
    densities: Range
    degrees: float | None
    """Of the base temperature, where the table of the procedure stands on another one."""

    def native(self, base_density: Any, out_of_range: OnOutOfRange) -> Any:
        """Return the density at the base temperature of the table."""
        rho = self.densities.check(base_density, out_of_range)
        return rho if self.degrees is None else solve(self.procedure, rho, self.base_c, 0.0, out_of_range)

    def expansion(self, base_density: Any, out_of_range: OnOutOfRange) -> Expansion:
        """Return how a liquid of a base density expands."""
        return self.procedure.expansion(self.native(base_density, out_of_range))

    def ctl(self, liquid: Expansion, degrees: Any) -> Any:
        """Return CTL to the base temperature."""
        return liquid.ctl(degrees) if self.degrees is None else liquid.ctl(degrees) / liquid.ctl(self.degrees)


def base_of(edition: int, base_c: float, commodity: Commodity) -> Base:
    """Return the procedure of an edition for a base temperature, with the range of its base densities."""
    if type(edition) is int and type(base_c) is float and type(commodity) is Commodity:
        return _known(edition, base_c, commodity)
    return _found(edition, base_c, commodity)


def _found(edition: int, base_c: float, commodity: Commodity) -> Base:
    base_c = plain_number(base_c, "base_c")
    if not any(abs(base_c - base) < 0.006 for base in (15.0, 20.0, BASE_60F_C)):
        raise FuelUnitsError(f"base_c must be 15.0, 20.0 or BASE_60F_C (60 degF); got {base_c}")
    check_type(commodity, Commodity, "commodity", "CRUDE_OIL, REFINED_PRODUCTS or LUBRICATING_OIL")
    procedure = edition_of(edition)(commodity, base_c)
    table = procedure.table
    (low, high), degrees = table.ends, None
    if base_c != procedure.base_c and not (is_60f(base_c) and is_60f(procedure.base_c)):
        degrees = procedure.degrees(base_c)
        low, high = (limit * procedure.smooth_ctl(limit, table.row_of(limit), degrees) for limit in (low, high))
    densities = Range(f"base density of {commodity.name}", low, high, "kg/m^3", procedure.source)
    return Base(procedure, base_c, densities, degrees)


_known = lru_cache(maxsize=64)(_found)
