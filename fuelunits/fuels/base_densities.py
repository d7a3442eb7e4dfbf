"""Base temperatures of the volume correction, and the search for a base density, for any edition."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.editions import BASE_60F_C, Commodity, Expansion, Procedure, Row, edition_of, is_60f
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.validation import any_of, check_type, is_scalar, plain_number

_CLOSE = 1e-7  # a step so small, relative to the density, leaves about 1e-13: the slope is good to 3e-6
_STEPS = 3
_TRIES = 2
_HALVINGS = 60  # so many leave nothing of the densities of a table


@dataclass(frozen=True)
class Base:
    """A procedure, and the base temperature for which densities and factors are asked of it."""

    procedure: Procedure
    densities: Range
    degrees: float | None
    """Of the base temperature, where the table of the procedure stands on another one."""

    def expansion(self, base_density: Any, out_of_range: OnOutOfRange) -> Expansion:
        """Return how a liquid of a base density expands."""
        return self.procedure.expansion(self.native(base_density, out_of_range))

    def native(self, base_density: Any, out_of_range: OnOutOfRange) -> Any:
        """Return the density at the base temperature of the table."""
        rho = self.densities.check(base_density, out_of_range)
        return rho if self.degrees is None else _solved(self.procedure, rho, self.degrees, 0.0, out_of_range)

    def ctl(self, liquid: Expansion, degrees: Any) -> Any:
        """Return CTL to the base temperature."""
        return liquid.ctl(degrees) if self.degrees is None else liquid.ctl(degrees) / liquid.ctl(self.degrees)

    def density(self, observed: Any, degrees: Any, p: Any, out_of_range: OnOutOfRange) -> Any:
        """Return the base density, kg/m³, whose density at a state is the one observed, to 1e-12 relative."""
        rho = _solved(self.procedure, observed, degrees, p, out_of_range)
        if self.degrees is None:
            return rho
        return rho * self.procedure.smooth(rho, self.procedure.table.row_of(rho)).ctl(self.degrees)


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
        low, high = (limit * procedure.smooth(limit, table.row_of(limit)).ctl(degrees) for limit in (low, high))
    densities = Range(f"base density of {commodity.name}", low, high, "kg/m^3", procedure.source)
    return Base(procedure, densities, degrees)


_known = lru_cache(maxsize=64)(_found)


def _solved(procedure: Procedure, observed: Any, degrees: Any, p: Any, out_of_range: OnOutOfRange) -> Any:
    """Return the density at the base of the table, from a start that takes Newton's method without exponentials."""
    table = procedure.table
    near = _clip(observed, *table.ends)
    change, rho = 0.0, near
    for _ in range(2):
        change = _changed(near, table.row_of(rho), degrees, change)
        rho = near * (1.0 + change * (1.0 + change * (0.5 + change * (1.0 / 6.0 + change / 24.0))))
    return _approached(procedure, observed, degrees, p, _clip(rho, *table.ends), out_of_range)


def _changed(observed: Any, row: Row, degrees: Any, change: Any) -> Any:
    """Return ln(base / observed) after a step of Newton's method without exponentials, pressure and scale shift."""
    k0, k1, k2 = row
    ratio = 1.0 - change * (1.0 - change * (0.5 - change / 6.0))
    inverse = ratio / observed
    expansion = ((k0 * inverse + k1) * inverse + k2) * degrees
    fall = (2.0 * k0 * inverse + k1) * inverse * degrees * (1.0 + 1.6 * expansion)
    return change + (expansion * (1.0 + 0.8 * expansion) - change) / (1.0 + fall)


def _approached(
    procedure: Procedure, observed: Any, degrees: Any, p: Any, rho: Any, out_of_range: OnOutOfRange, tries: int = _TRIES
) -> Any:
    """Return the base density from one near it, with the coefficients of the group to which that belongs."""
    if tries == 0:
        return _halved(procedure, observed, degrees, p, rho, out_of_range)
    table = procedure.table
    group, (low, high) = table.group(rho), table.ends
    row = table.row(group)
    for _ in range(_STEPS):
        factor, slope = _factor_and_slope(procedure, rho, row, degrees, p)
        new = _clip(rho + (observed / factor - rho) / slope, low, high)
        moving = abs(new - rho) > _CLOSE * new
        rho = new
        if not any_of(moving):
            break
    # a search that passes into another group, or ends at a limit, starts again from there
    doubtful = moving | (table.group(rho) != group) | (rho <= low) | (rho >= high)
    if is_scalar(rho):
        return _approached(procedure, observed, degrees, p, rho, out_of_range, tries - 1) if doubtful else rho
    if any_of(doubtful):
        import numpy as np

        observed, degrees, p = (
            each if is_scalar(each) else np.broadcast_to(each, rho.shape)[doubtful] for each in (observed, degrees, p)
        )
        rho[doubtful] = _approached(procedure, observed, degrees, p, rho[doubtful], out_of_range, tries - 1)
    return rho


def _factor_and_slope(procedure: Procedure, rho: Any, row: Row, degrees: Any, p: Any) -> tuple[Any, Any]:
    """Return CTPL to the base of the table, and d ln(rho CTPL) / d ln(rho) but for terms below 3e-6."""
    liquid = procedure.smooth(rho, row)
    factor = liquid.ctl(degrees)
    slope = 1.0 + (2.0 * row[0] / rho + row[1]) / rho * degrees * (1.0 + 1.6 * liquid.alpha * degrees)
    if is_scalar(p) and p == 0.0:
        return factor, slope
    pressed = liquid.cpl(degrees, p)
    return factor * pressed, slope - (pressed - 1.0) * 2.0 * liquid.density_term(degrees)


def _halved(procedure: Procedure, observed: Any, degrees: Any, p: Any, rho: Any, out_of_range: OnOutOfRange) -> Any:
    """Return the base density by halving the range where Newton's method steps to and fro between two groups."""
    table = procedure.table

    def density(rho: Any) -> Any:
        return rho * _factor_and_slope(procedure, rho, table.row_of(rho), degrees, p)[0]

    low, high = (end + 0.0 * rho for end in table.ends)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        above = density(middle) > observed
        low, high = _where(above, low, middle), _where(above, middle, high)
    rho = _where(abs(density(low) - observed) <= abs(density(high) - observed), low, high)
    found = density(rho)
    # at a limit of the standard, the factor there tells how far beyond it the density sought lies
    beyond = _where(abs(found - observed) > procedure.gap * rho, rho * observed / found, rho)
    limits = Range("base density of the observed liquid", *table.ends, "kg/m^3", procedure.source)
    return limits.check(beyond, out_of_range)


def _clip(rho: Any, low: float, high: float) -> Any:
    return min(max(rho, low), high) if is_scalar(rho) else rho.clip(low, high)


def _where(condition: Any, chosen: Any, other: Any) -> Any:
    if is_scalar(other):
        return chosen if condition else other
    import numpy as np

    return np.where(condition, chosen, other)
