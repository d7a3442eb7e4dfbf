"""The search for a base density, by Newton's method, for any edition of the procedure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fuelunits.arrays import any_of, is_scalar
from fuelunits.fuels.commodities import Row
from fuelunits.sources import OnOutOfRange, Range

if TYPE_CHECKING:
    from fuelunits.fuels.editions import Procedure

_CLOSE = 1e-7
"""A step so small, relative to the density, leaves about 1e-13: the slope is good to 1e-6."""

_STEPS = 3
_TRIES = 2
_HALVINGS = 60
"""So many leave nothing of the densities of a table."""


def solve(
    procedure: Procedure, observed: Any, t: Any, p: Any, out_of_range: OnOutOfRange, base_c: float | None = None
) -> Any:
    """Return the base density, kg/m³, whose density at a state (°C, kPa above atmospheric) is the one observed.

    It is converged to 1e-12 relative; the base temperature of the answer is by default that of the procedure.
    """
    table, degrees = procedure.table, procedure.degrees(t)
    near = _clip(observed, *table.ends)
    change, rho = 0.0, near
    for _ in range(2):
        change = _changed(near, table.row_of(rho), degrees, change)
        rho = near * (1.0 + change * (1.0 + change * (0.5 + change * (1.0 / 6.0 + change / 24.0))))
    rho = _found(procedure, observed, degrees, p, _clip(rho, *table.ends), out_of_range)
    if base_c is None:
        return rho
    return rho * procedure.smooth_ctl(rho, table.row_of(rho), procedure.degrees(base_c))


def _found(
    procedure: Procedure, observed: Any, degrees: Any, p: Any, rho: Any, out_of_range: OnOutOfRange, tries: int = _TRIES
) -> Any:
    """Return the base density from one near it, with the coefficients of the group to which that belongs."""
    if tries == 0:
        return _halved(procedure, observed, degrees, p, rho, out_of_range)
    table = procedure.table
    group, (low, high) = table.group(rho), table.ends
    row = table.row(group)
    for _ in range(_STEPS):
        factor, slope = procedure.factor_and_slope(rho, row, degrees, p)
        new = _clip(rho + (observed / factor - rho) / slope, *table.ends)
        moving = abs(new - rho) > _CLOSE * new
        rho = new
        if not any_of(moving):
            break
    # a search that passes into another group, or ends at a limit, starts again from there
    doubtful = moving | (table.group(rho) != group) | (rho <= low) | (rho >= high)
    if is_scalar(rho):
        return _found(procedure, observed, degrees, p, rho, out_of_range, tries - 1) if doubtful else rho
    if any_of(doubtful):
        import numpy as np

        observed, degrees, p = (
            each if is_scalar(each) else np.broadcast_to(each, rho.shape)[doubtful] for each in (observed, degrees, p)
        )
        rho[doubtful] = _found(procedure, observed, degrees, p, rho[doubtful], out_of_range, tries - 1)
    return rho


def _changed(observed: Any, row: Row, degrees: Any, change: Any) -> Any:
    """Return ln(base / observed) after a step of Newton's method without exponentials, pressure and scale shift."""
    k0, k1, k2 = row
    ratio = 1.0 - change * (1.0 - change * (0.5 - change / 6.0))
    inverse = ratio / observed
    expansion = ((k0 * inverse + k1) * inverse + k2) * degrees
    fall = (2.0 * k0 * inverse + k1) * inverse * degrees * (1.0 + 1.6 * expansion)
    return change + (expansion * (1.0 + 0.8 * expansion) - change) / (1.0 + fall)


def _clip(rho: Any, low: float, high: float) -> Any:
    return min(max(rho, low), high) if is_scalar(rho) else rho.clip(low, high)


def _where(condition: Any, chosen: Any, other: Any) -> Any:
    if is_scalar(other):
        return chosen if condition else other
    import numpy as np

    return np.where(condition, chosen, other)


def _halved(procedure: Procedure, observed: Any, degrees: Any, p: Any, rho: Any, out_of_range: OnOutOfRange) -> Any:
    """Return the base density by halving the range, for Newton's method may step to and fro between two groups.

    The groups do not quite meet there: of the two sides, the one that comes nearer is taken.
    """
    table = procedure.table

    def density(rho: Any) -> Any:
        return rho * procedure.factor_and_slope(rho, table.row_of(rho), degrees, p)[0]

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
