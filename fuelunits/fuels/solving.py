"""The search for a base density, by Newton's method, for either edition of the procedure.

Large arrays are gone through in blocks that stay in the processor's cache, and once few elements of
a block still move, only these are stepped on. Where Newton's method finds no rest, halving does.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from fuelunits.arrays import is_scalar
from fuelunits.fuels.edition_1980 import Procedure1980
from fuelunits.fuels.edition_2004 import Procedure2004
from fuelunits.ranges import OnOutOfRange, Range

__all__ = ["Procedure", "pressure_factor", "solve"]

Procedure = Procedure1980 | Procedure2004

_BLOCK = 8_192
"""Elements solved for at a time, so that they stay in the processor's cache from step to step."""

_CONVERGED = 1e-13
"""A density has converged when the next step would be a smaller part of it."""

_BOUND = 60
"""No more steps than this. Newton's method needs fewer than twenty, but between two groups it may never rest; so many
halvings of the range leave nothing to halve."""

_TYPICAL_K0 = 594.5418
"""Of jet fuels and kerosenes, for degrees Celsius: where a search begins."""


def solve(
    procedure: Procedure, observed: Any, t: Any, p: Any, out_of_range: OnOutOfRange, base_c: float | None = None
) -> Any:
    """Find the base density whose density at a state is the one observed.

    Parameters
    ----------
    procedure : Procedure
        Which edition, commodity and base.
    observed, t, p : float or array
        The density in kg/m³, at a temperature in °C and a pressure above atmospheric in kPa.
    out_of_range : {"raise", "nan"}
        What to do where there is none within the standard.
    base_c : float, optional
        Base temperature of the answer, °C; by default that of the procedure itself.

    Returns
    -------
    float or array
        kg/m³, float64, converged to 1e-12 relative.
    """
    observed, t, p = given = [_in_double(each) for each in (observed, t, p)]
    if not all(is_scalar(each) or type(each) is np.ndarray for each in given) or max(map(np.size, given)) <= _BLOCK:
        return _solved(procedure, observed, t, p, out_of_range, base_c)
    shape = np.broadcast_shapes(*map(np.shape, given))
    flat = [each if is_scalar(each) else np.broadcast_to(each, shape).ravel() for each in given]
    found = np.empty(math.prod(shape))
    for start in range(0, found.size, _BLOCK):
        part = slice(start, start + _BLOCK)
        density, celsius, kpa = (each if is_scalar(each) else each[part] for each in flat)
        found[part] = _solved(procedure, density, celsius, kpa, out_of_range, base_c)
    return found.reshape(shape)


def _in_double(value: Any) -> Any:
    """Take an array of another precision to double: in single precision no search settles."""
    other = isinstance(value, (np.ndarray, np.generic)) and value.dtype != np.float64
    return value.astype(np.float64) if other else value


def pressure_factor(procedure: Procedure, rho: Any, t: Any, p: Any) -> Any:
    """Give CPL of a native base density at a state."""
    return 1.0 / (1.0 - procedure.compressibility_per_kpa(rho, t) * p)


def _solved(
    procedure: Procedure, observed: Any, t: Any, p: Any, out_of_range: OnOutOfRange, base_c: float | None
) -> Any:
    low, high = procedure.density_limits
    degrees = procedure.degrees(t)
    near = _clip(observed, low, high)
    start = near + _TYPICAL_K0 / near * (t - 15.5) + 0.0 * p
    rho, moving = _newton(procedure, observed, degrees, p, start)
    doubtful = np.logical_or(moving, np.logical_or(rho <= low, rho >= high))
    if np.any(doubtful):
        rho = _where(doubtful, _by_halving(procedure, observed, t, p, rho), rho)
        rho = _checked(procedure, rho, observed, t, p, out_of_range)
    return rho if base_c is None else rho * procedure.smooth_ctl(rho, base_c)


def _newton(procedure: Procedure, observed: Any, degrees: Any, p: Any, start: Any) -> tuple[Any, Any]:
    """Step from a start to the density sought; tell where it still moves after all the steps.

    What has converged is the density for which the miss was worked out, and not the next one, which
    could lie across the limit of a group. Once few elements of an array move, only these are stepped on.
    """
    low, high = procedure.density_limits
    rho = _clip(start, low, high)
    for _ in range(_BOUND):
        factor, slope = procedure.factor_and_slope(rho, degrees, p)
        new = _clip(rho + (observed / factor - rho) / slope, low, high)
        moving = np.abs(new - rho) > _CONVERGED * new
        if not np.any(moving):
            break
        if _are_few(moving):
            of_all = (
                each if is_scalar(each) else np.broadcast_to(each, moving.shape) for each in (observed, degrees, p)
            )
            few = [each if is_scalar(each) else each[moving] for each in (*of_all, new)]
            rho[moving], moving[moving] = _newton(procedure, *few)
            break
        rho = new
    return rho, moving


def _are_few(moving: Any) -> bool:
    return type(moving) is np.ndarray and 2 * int(np.count_nonzero(moving)) < moving.size


def _clip(rho: Any, low: float, high: float) -> Any:
    return min(max(rho, low), high) if is_scalar(rho) else np.clip(rho, low, high)


def _density(procedure: Procedure, rho: Any, t: Any, p: Any) -> Any:
    return procedure.smooth_ctl(rho, t) * pressure_factor(procedure, rho, t, p) * rho


def _where(condition: Any, chosen: Any, other: Any) -> Any:
    """Choose element by element, and leave a float a float, a Series a Series."""
    if hasattr(other, "where"):
        return other.where(~condition, chosen)
    found = np.where(condition, chosen, other)
    return found if found.ndim else float(found)


def _by_halving(procedure: Procedure, observed: Any, t: Any, p: Any, rho: Any) -> Any:
    """Find the base density by halving, for Newton's method may step to and fro between two groups.

    The groups do not quite meet there: of the two sides, the one that comes nearer is taken.
    """
    low, high = (limit + 0.0 * rho for limit in procedure.density_limits)
    for _ in range(_BOUND):
        middle = (low + high) / 2.0
        above = _density(procedure, middle, t, p) > observed
        low, high = _where(above, low, middle), _where(above, middle, high)
    below, above = (np.abs(_density(procedure, side, t, p) - observed) for side in (low, high))
    return _where(below <= above, low, high)


def _checked(procedure: Procedure, rho: Any, observed: Any, t: Any, p: Any, out_of_range: OnOutOfRange) -> Any:
    """Refuse what has not the density observed: it stands at a limit of the standard, and the one sought lies beyond.

    How far beyond is told by the factor at that limit.
    """
    density = _density(procedure, rho, t, p)
    wrong = np.abs(density - observed) > procedure.gap * rho
    beyond = _where(wrong, rho * observed / density, rho)
    limits = Range("base density of the observed liquid", *procedure.density_limits, "kg/m^3", procedure.source)
    return limits.check(beyond, out_of_range)
