"""Density and volume of petroleum products over temperature and pressure, for any edition and base temperature.

API MPMS 11.1, ASTM D1250, ISO 91: the 2004 edition by default [api_mpms_11_1_2004], that of 1980 with ``edition=1980``
[astm_d1250_1980]. ``base volume = volume * CTPL``, ``density = base density * CTPL``, the base at atmospheric pressure
and 15 °C, 20 °C or 60 °F. Synthetic components and pure liquids expand differently, by up to 1.5 %. What :func:`ctl`
says of `base_density_kg_m3`, `temperature_c`, `base_c`, `edition`, `commodity` and `out_of_range` holds throughout, and
so does what :func:`ctpl` says of `gauge_pressure_kpa`. A `factor` is CTL, CPL or CTPL.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, overload

from fuelunits.fuels import editions
from fuelunits.fuels.editions import REFINED_PRODUCTS, Commodity, Expansion, Procedure, Row
from fuelunits.fuels.elementwise import elementwise
from fuelunits.fuels.water_and_air import hydrometer_factor
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.validation import any_of, boolean, check_type, is_scalar, plain_number

_CLOSE = 1e-7  # a step so small, relative to the density, leaves about 1e-13: the slope is good to 3e-6


@overload
def ctl(
    base_density_kg_m3: float,
    temperature_c: float,
    *,
    base_c: float = 15.0,
    edition: int = 2004,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> float: ...
@overload
def ctl(
    base_density_kg_m3: Any,
    temperature_c: Any,
    *,
    base_c: float = 15.0,
    edition: int = 2004,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> Any: ...
def ctl(
    base_density_kg_m3: Any,
    temperature_c: Any,
    *,
    base_c: float = 15.0,
    edition: int = 2004,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Return CTL, the factor of a volume from a temperature to the base temperature (volume correction factor).

    API MPMS 11.1-2004, 11.1.6.1; for ``edition=1980`` Table 54B of ASTM D1250-80.

    Parameters
    ----------
    base_density_kg_m3 : float or array, at `base_c` and atmospheric pressure
    temperature_c : float or array, -50 to 150 (2004), -40 to 95 (1980); broadcasts
    base_c : {15.0, 20.0, BASE_60F_C}, °C
    edition : int, the year; that of 1980 rounds alpha to 1e-7, as its printed tables need
    commodity : Commodity: refined products, which the density divides into groups, crude or lubricating oil
    out_of_range : {"raise", "nan"}, for a density or temperature outside the standard

    Examples
    --------
    >>> round(ctl(800.0, 30.0), 5), round(ctl(710.0, -40.0, edition=1980), 4)
    (0.986, 1.07)
    """
    base = base_of(edition, base_c, commodity)
    return _of_state(lambda liquid, d, _: base.ctl(liquid, d), base, out_of_range, base_density_kg_m3, temperature_c)


def ctpl(
    base_density_kg_m3: Any,
    temperature_c: Any,
    gauge_pressure_kpa: Any = 0.0,
    *,
    base_c: float = 15.0,
    edition: int = 2004,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Return CTPL, the factor for temperature and pressure: CTL times CPL, and density over base density.

    CPL by API MPMS 11.1-2004, 11.1.6.1; by the metric API MPMS 11.2.1M of 1984 for ``edition=1980``.

    Parameters
    ----------
    gauge_pressure_kpa : float or array, above atmospheric: to 10342 (1500 psi); suction, to -101.325, counts as 0

    Examples
    --------
    >>> round(800.0 * ctpl(800.0, 30.0, 1000.0), 2)
    789.55
    """
    base = base_of(edition, base_c, commodity)
    state = base_density_kg_m3, temperature_c, gauge_pressure_kpa
    return _of_state(lambda liquid, d, p: base.ctl(liquid, d) * liquid.cpl(d, p), base, out_of_range, *state)


def cpl(
    base_density_kg_m3: Any,
    temperature_c: Any,
    gauge_pressure_kpa: Any,
    *,
    base_c: float = 15.0,
    edition: int = 2004,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Return CPL, the factor of a volume from a gauge pressure to atmospheric pressure: CTPL over CTL.

    Examples
    --------
    >>> round(cpl(800.0, 15.0, 1000.0), 6)
    1.000854
    """
    base = base_of(edition, base_c, commodity)
    return _of_state(Expansion.cpl, base, out_of_range, base_density_kg_m3, temperature_c, gauge_pressure_kpa)


def round_factor(factor: Any) -> Any:
    """Return a factor, float or array, to the five decimals that the standard prints (11.1.5.4).

    The 2004 text multiplies volumes by the rounded factor, its addendum of 2019 by the other. A half goes to even.

    Examples
    --------
    >>> round_factor(ctpl(800.0, 30.0, 1000.0))
    0.98693
    """

    def nearest(value: Any) -> Any:
        return round(round(value * 1e5, 6), 0) / 1e5 if is_scalar(value) else (value * 1e5).round(6).round() / 1e5

    return elementwise(nearest, factor)


def base_density(
    observed_kg_m3: Any,
    temperature_c: Any,
    gauge_pressure_kpa: Any = 0.0,
    *,
    base_c: float = 15.0,
    edition: int = 2004,
    glass_hydrometer: bool = False,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Return the density at the base temperature, kg/m³, of a liquid whose density was observed at another state.

    API MPMS 11.1-2004, 11.1.6.2, by Newton's method: ``base * ctpl(base, …)`` is the observed density within 1e-9
    relative, 1e-7 where two groups do not quite meet; of 1980, whose alpha is rounded, within 1.2e-5 and 2e-4.

    Parameters
    ----------
    observed_kg_m3 : float or array; with `glass_hydrometer`, the reading of one calibrated at `base_c`
    temperature_c, gauge_pressure_kpa : float or array, of the liquid then, °C and kPa above atmospheric
    glass_hydrometer : bool, whether to correct for soda-lime glass, as tables 5, 23 and 53 of 1980 do

    Examples
    --------
    >>> round(base_density(790.0, 30.0), 2)
    801.18
    >>> round(base_density(727.0, 30.0, edition=1980, glass_hydrometer=True), 1)
    740.4
    """
    base, glass = base_of(edition, base_c, commodity), boolean(glass_hydrometer, "glass_hydrometer")
    procedure = base.procedure

    def density(observed: Any, t: Any, p: Any) -> Any:
        t, p = procedure.temperatures_c.check(t, out_of_range), procedure.gauge_pressures_kpa.check(p, out_of_range)
        if glass:
            observed = observed * hydrometer_factor(t, calibrated_c=base_c)
        degrees = procedure.degrees(t)
        rho = _approached(procedure, observed, degrees, p, _start(procedure, observed, degrees), out_of_range)
        return rho if base.degrees is None else rho * procedure.smooth(rho).ctl(base.degrees)

    # single precision is taken to double, for an answer to all its digits
    state = (observed_kg_m3, temperature_c, gauge_pressure_kpa)
    return elementwise(density, *(x.astype("float64") if getattr(x, "dtype", "") == "float32" else x for x in state))


@dataclass(frozen=True)
class Base:
    """A procedure, and the base temperature for which densities and factors are asked of it."""

    procedure: Procedure
    densities: Range
    degrees: float | None
    """Of the base temperature, where the table of the procedure stands on another one."""

    def expansion(self, base_density: Any, out_of_range: OnOutOfRange) -> Expansion:
        """Return how a liquid of a base density expands."""
        rho = self.densities.check(base_density, out_of_range)
        if self.degrees is not None:
            start = _start(self.procedure, rho, self.degrees)
            rho = _approached(self.procedure, rho, self.degrees, 0.0, start, out_of_range)
        return self.procedure.expansion(rho)

    def ctl(self, liquid: Expansion, degrees: Any) -> Any:
        """Return CTL of such a liquid to the base temperature."""
        return liquid.ctl(degrees) if self.degrees is None else liquid.ctl(degrees) / liquid.ctl(self.degrees)


def _of_state(answer: Callable[[Expansion, Any, Any], Any], base: Base, out_of_range: OnOutOfRange, *state: Any) -> Any:
    """Return, element by element, an answer for the expansion of a liquid, the degrees and the pressure."""
    procedure = base.procedure

    def formula(rho: Any, t: Any, p: Any = 0.0) -> Any:
        liquid = base.expansion(rho, out_of_range)
        degrees = procedure.degrees(procedure.temperatures_c.check(t, out_of_range))
        return answer(liquid, degrees, procedure.gauge_pressures_kpa.check(p, out_of_range))

    return elementwise(formula, *state)


def base_of(edition: int, base_c: float, commodity: Commodity) -> Base:
    """Return the procedure of an edition for a base temperature, with the range of its base densities."""
    check_type(commodity, Commodity, "commodity", "CRUDE_OIL, REFINED_PRODUCTS or LUBRICATING_OIL")
    kind: Any = editions.edition_of(edition)
    return _base_of(kind, plain_number(base_c, "base_c"), commodity)


@lru_cache(maxsize=64)
def _base_of(kind: type[Procedure], base_c: float, commodity: Commodity) -> Base:
    base_c = editions.standard_temperature_c(base_c, "base_c")
    procedure, degrees = kind(commodity, base_c), None
    low, high = procedure.table.ends
    if base_c != procedure.base_c:
        degrees = procedure.degrees(base_c)
        low, high = (limit * procedure.smooth(limit).ctl(degrees) for limit in (low, high))
    return Base(procedure, Range(f"base density of {commodity.name}", low, high, "kg/m^3", procedure.source), degrees)


def _start(procedure: Procedure, observed: Any, degrees: Any) -> Any:
    """Return where the search begins, by Newton's method without exponentials, pressure and the shift of the scale."""
    table, near = procedure.table, _clip(observed, *procedure.table.ends)
    change, rho = 0.0, near  # change is ln(base / observed)
    for _ in range(2):
        k0, k1, k2 = table.row_of(rho)
        inverse = (1.0 - change * (1.0 - change * (0.5 - change / 6.0))) / near
        expansion = ((k0 * inverse + k1) * inverse + k2) * degrees
        fall = (2.0 * k0 * inverse + k1) * inverse * degrees * (1.0 + 1.6 * expansion)
        change = change + (expansion * (1.0 + 0.8 * expansion) - change) / (1.0 + fall)
        rho = near * (1.0 + change * (1.0 + change * (0.5 + change * (1.0 / 6.0 + change / 24.0))))
    return _clip(rho, *table.ends)


def _approached(
    procedure: Procedure, observed: Any, degrees: Any, p: Any, rho: Any, out_of_range: OnOutOfRange, tries: int = 2
) -> Any:
    """Return the base density from one near it, with the coefficients of the group to which that belongs."""
    if tries == 0:
        return _halved(procedure, observed, degrees, p, rho, out_of_range)
    table = procedure.table
    group, (low, high) = table.group(rho), table.ends
    row = table.row(group)
    for _ in range(3):
        factor, slope = _factor_and_slope(procedure, rho, row, degrees, p)
        new = _clip(rho + (observed / factor - rho) / slope, low, high)
        moving, rho = abs(new - rho) > _CLOSE * new, new
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
    if is_scalar(p) and p <= 0.0:
        return factor, slope
    pressed = liquid.cpl(degrees, p)
    return factor * pressed, slope - (pressed - 1.0) * 2.0 * liquid.density_term(degrees)


def _halved(procedure: Procedure, observed: Any, degrees: Any, p: Any, rho: Any, out_of_range: OnOutOfRange) -> Any:
    """Return the base density by halving the range where Newton's method steps to and fro between two groups."""
    table = procedure.table

    def density(rho: Any) -> Any:
        return rho * _factor_and_slope(procedure, rho, table.row_of(rho), degrees, p)[0]

    low, high = (end + 0.0 * rho for end in table.ends)
    for _ in range(60):  # so many leave nothing of the densities of a table
        middle = (low + high) / 2.0
        above = density(middle) > observed
        low, high = _where(above, low, middle), _where(above, middle, high)
    rho = _where(abs(density(low) - observed) <= abs(density(high) - observed), low, high)
    found = density(rho)
    # at a limit of the standard, the factor there tells how far beyond it the density sought lies
    beyond = _where(abs(found - observed) > procedure.gap * rho, rho * observed / found, rho)
    return Range("base density as observed", *table.ends, "kg/m^3", procedure.source).check(beyond, out_of_range)


def _clip(rho: Any, low: float, high: float) -> Any:
    return min(max(rho, low), high) if is_scalar(rho) else rho.clip(low, high)


def _where(condition: Any, chosen: Any, other: Any) -> Any:
    if is_scalar(other):
        return chosen if condition else other
    import numpy as np

    return np.where(condition, chosen, other)
