"""The search for a base density, by Newton's method, for either edition of the procedure.

Large arrays are gone through in blocks that stay in the processor's cache, and once few elements of
a block still move, only these are stepped on.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from fuelunits.arrays import is_scalar
from fuelunits.errors import NotConverged
from fuelunits.petroleum.edition_1980 import Procedure1980
from fuelunits.petroleum.edition_2004 import Procedure2004
from fuelunits.ranges import OnOutOfRange, Range

__all__ = ["Procedure", "pressure_factor", "solve"]

Procedure = Procedure1980 | Procedure2004

_BLOCK = 8_192
"""Elements solved for at a time, so that they stay in the processor's cache from step to step."""

_SETTLED = 1e-13
"""A density has settled when the next step would be a smaller part of it."""

_BOUND = 60
"""No more steps than this; the 2004 edition needs fewer than twenty anywhere in its range."""


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
    flat = [each if is_scalar(each) else np.broadcast_to(each, shape).reshape(-1) for each in given]
    found = np.empty(shape, np.result_type(*given))
    for start in range(0, found.size, _BLOCK):
        part = slice(start, start + _BLOCK)
        density, celsius, kpa = (each if is_scalar(each) else each[part] for each in flat)
        found.reshape(-1)[part] = _solved(procedure, density, celsius, kpa, out_of_range, base_c)
    return found


def _in_double(value: Any) -> Any:
    """Take single precision, in which no search settles, to double."""
    single = isinstance(value, (np.ndarray, np.generic)) and value.dtype.itemsize < 8
    return value.astype(np.float64) if single else value


def pressure_factor(procedure: Procedure, rho: Any, t: Any, p: Any) -> Any:
    """Give CPL of a native base density at a state."""
    return 1.0 / (1.0 - procedure.compressibility_per_kpa(rho, t) * p)


def _solved(
    procedure: Procedure, observed: Any, t: Any, p: Any, out_of_range: OnOutOfRange, base_c: float | None
) -> Any:
    low, high = procedure.density_limits
    degrees = procedure.degrees(t)
    rho, moving = _newton(procedure, observed, degrees, p, procedure.start(observed, degrees) + 0.0 * p, _BOUND)
    if np.any(np.logical_or(moving, np.logical_or(rho <= low, rho >= high))):
        far = np.abs(_density(procedure, rho, t, p) - observed) > 1e-10 * rho
        if np.any(far):
            rho = _by_halving(procedure, observed, t, p, rho, far)
        rho = _checked(procedure, rho, observed, t, p, out_of_range)
    return rho if base_c is None else rho * procedure.smooth_ctl(rho, base_c)


def _newton(procedure: Procedure, observed: Any, degrees: Any, p: Any, start: Any, steps: int) -> tuple[Any, Any]:
    """Step from a start to the density sought; tell where it still moves after all the steps.

    What has settled is the density for which the miss was worked out, and not the next one, which
    could lie across the limit of a group. Once few elements of an array move, only these are stepped on.
    """
    low, high = procedure.density_limits
    rho, moving = _clip(start, low, high), True
    for step in range(1, steps + 1):
        factor, slope = procedure.factor_and_slope(rho, degrees, p)
        new = _clip(rho + (observed / factor - rho) / slope, low, high)
        moving = np.abs(new - rho) > _SETTLED * new
        if not np.any(moving):
            break
        state = (observed, degrees, p, new)
        if _are_few(moving) and all(is_scalar(each) or np.shape(each) == np.shape(new) for each in state):
            few = [each if is_scalar(each) else each[moving] for each in state]
            rho[moving], moving[moving] = _newton(procedure, few[0], few[1], few[2], few[3], steps - step)
            break
        rho = new
    return rho, moving


def _are_few(moving: Any) -> bool:
    return type(moving) is np.ndarray and 2 * int(np.count_nonzero(moving)) < moving.size


def _clip(rho: Any, low: float, high: float) -> Any:
    return min(max(rho, low), high) if is_scalar(rho) else np.clip(rho, low, high)


def _density(procedure: Procedure, rho: Any, t: Any, p: Any) -> Any:
    return procedure.smooth_ctl(rho, t) * pressure_factor(procedure, rho, t, p) * rho


def _by_halving(procedure: Procedure, observed: Any, t: Any, p: Any, rho: Any, far: Any) -> Any:
    """Find the base density by halving where Newton's method stepped to and fro between two groups.

    The groups do not quite meet there: of the two sides, the one that comes nearer is taken.
    """
    low, high = (limit + 0.0 * rho for limit in procedure.density_limits)
    for _ in range(_BOUND):
        middle = (low + high) / 2.0
        above = _density(procedure, middle, t, p) > observed
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    misses = [np.abs(_density(procedure, side, t, p) - observed) for side in (low, high)]
    found = np.where(far, np.where(misses[0] <= misses[1], low, high), rho)
    return found if np.ndim(found) else float(found)


def _checked(procedure: Procedure, rho: Any, observed: Any, t: Any, p: Any, out_of_range: OnOutOfRange) -> Any:
    """Refuse a solution that lies outside the standard's densities, or is none."""
    low, high = procedure.density_limits
    miss = _density(procedure, rho, t, p) - observed
    wrong = np.abs(miss) > procedure.gap * rho
    if not np.any(wrong):
        return rho
    at_limit = np.logical_or(rho <= low * (1.0 + 1e-12), rho >= high * (1.0 - 1e-12))
    if np.any(np.logical_and(wrong, np.logical_not(at_limit))):
        raise NotConverged(f"no base density found in {_BOUND} steps for an observed {observed} kg/m^3 at {t} degC")
    outside = np.where(wrong, np.where(miss > 0, low - 1.0, high + 1.0), rho)
    limits = Range("base density of the observed liquid", low, high, "kg/m^3", procedure.source)
    return limits.check(outside if outside.ndim else float(outside), out_of_range)
