"""Density and volume of petroleum products over temperature and pressure.

The volume correction procedure of the petroleum standard (API MPMS 11.1, ASTM D1250, ISO 91): its 2004 edition by
default [api_mpms_11_1_2004], the 1980 edition with ``edition=1980`` [astm_d1250_1980]. A base density is the density at
15 °C, 20 °C or 60 °F and atmospheric pressure. CTL corrects a volume for temperature, CPL for
pressure, and CTPL for both: ``base volume = volume * CTPL``, ``density = base density * CTPL``.

The procedure is one for petroleum. Synthetic components and pure liquids expand differently, by up
to 1.5 %: see ``fuelunits.fuels.liquid`` for those.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Literal

from fuelunits.arrays import as_float
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.commodities import REFINED_PRODUCTS, Commodity
from fuelunits.fuels.density_scales import BASE_60F_C, hydrometer_factor, is_60f
from fuelunits.fuels.edition_1980 import Procedure1980
from fuelunits.fuels.edition_2004 import Procedure2004
from fuelunits.fuels.solving import Procedure, pressure_factor, solve
from fuelunits.ranges import OnOutOfRange, Range
from fuelunits.validation import boolean, check_type, format_value, plain_number

__all__ = ["BASE_60F_C", "base_density", "compressibility", "cpl", "ctl", "ctpl", "expansion_coefficient"]

Edition = Literal[1980, 2004]


def ctl(
    base_density_kg_m3: Any,
    temperature_c: Any,
    *,
    base_c: float = 15.0,
    edition: Edition = 2004,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Correct a volume for temperature: the factor from a temperature to the base temperature.

    Parameters
    ----------
    base_density_kg_m3 : float or array
        Density at `base_c` and atmospheric pressure, kg/m³.
    temperature_c : float or array
        Temperature, °C: -50 to 150 (2004), -40 to 95 (1980). Broadcasts.
    base_c : {15.0, 20.0, BASE_60F_C}
        Base temperature, °C.
    edition : {2004, 1980}
        Edition of the standard. That of 1980 rounds alpha to 1e-7, as its printed tables need.
    commodity : Commodity
        Refined products, which the density divides into groups; or crude or lubricating oil.
    out_of_range : {"raise", "nan"}
        What to do with a density or temperature outside the standard.

    Returns
    -------
    float or array
        CTL, also called the volume correction factor.

    Raises
    ------
    OutOfRange
        Naming value, limits and source.

    Notes
    -----
    API MPMS 11.1-2004, 11.1.6.1; Table 54B of ASTM D1250-80 for ``edition=1980``. The equations
    are recalled and confirmed by the published values that ``python -m fuelunits verify`` lists.

    Examples
    --------
    >>> round(ctl(800.0, 30.0), 5)
    0.986
    >>> round(ctl(710.0, -40.0, edition=1980), 4)
    1.07
    """
    procedure, native = _native(base_density_kg_m3, base_c, edition, commodity, out_of_range)
    t = procedure.temperatures_c.check(as_float(temperature_c), out_of_range)
    return _ctl(procedure, native, t, base_c)


def cpl(
    base_density_kg_m3: Any,
    temperature_c: Any,
    gauge_pressure_kpa: Any,
    *,
    base_c: float = 15.0,
    edition: Edition = 2004,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Correct a volume for pressure: the factor from a gauge pressure to atmospheric pressure.

    Parameters
    ----------
    base_density_kg_m3, temperature_c, base_c, edition, commodity, out_of_range
        As for :func:`ctl`.
    gauge_pressure_kpa : float or array
        Pressure above atmospheric, kPa: 0 to 10342 (1500 psi).

    Returns
    -------
    float or array
        CPL.

    Notes
    -----
    API MPMS 11.1-2004, 11.1.6.1; the metric API MPMS 11.2.1M of 1984 for ``edition=1980``.

    Examples
    --------
    >>> round(cpl(800.0, 15.0, 1000.0), 6)
    1.000854
    """
    procedure, native = _native(base_density_kg_m3, base_c, edition, commodity, out_of_range)
    t = procedure.pressed_temperatures_c.check(as_float(temperature_c), out_of_range)
    p = procedure.gauge_pressures_kpa.check(as_float(gauge_pressure_kpa), out_of_range)
    return pressure_factor(procedure, native, t, p)


def compressibility(
    base_density_kg_m3: Any,
    temperature_c: Any,
    *,
    base_c: float = 15.0,
    edition: Edition = 2004,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Give the compressibility F of CPL = 1 / (1 - F P), per kPa.

    Parameters
    ----------
    base_density_kg_m3, temperature_c, base_c, edition, commodity, out_of_range
        As for :func:`ctl`; with ``edition=1980``, the temperature may go down to -50 °C.

    Returns
    -------
    float or array
        Per kPa.

    Examples
    --------
    >>> round(compressibility(800.0, 15.0) * 1e6, 4), round(compressibility(800.0, 15.0, edition=1980) * 1e6, 4)
    (0.8534, 0.8538)
    """
    procedure, native = _native(base_density_kg_m3, base_c, edition, commodity, out_of_range)
    t = procedure.pressed_temperatures_c.check(as_float(temperature_c), out_of_range)
    return procedure.compressibility_per_kpa(native, t)


def ctpl(
    base_density_kg_m3: Any,
    temperature_c: Any,
    gauge_pressure_kpa: Any = 0.0,
    *,
    base_c: float = 15.0,
    edition: Edition = 2004,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Correct a volume for temperature and pressure at once: CTL times CPL.

    Parameters
    ----------
    base_density_kg_m3, temperature_c, gauge_pressure_kpa, base_c, edition, commodity, out_of_range
        As for :func:`cpl`.

    Returns
    -------
    float or array
        CTPL. The density at the state is the base density times it.

    Examples
    --------
    >>> round(800.0 * ctpl(800.0, 30.0, 1000.0), 2)
    789.55
    """
    procedure, native = _native(base_density_kg_m3, base_c, edition, commodity, out_of_range)
    t = procedure.temperatures_c.check(as_float(temperature_c), out_of_range)
    p = procedure.gauge_pressures_kpa.check(as_float(gauge_pressure_kpa), out_of_range)
    return _ctl(procedure, native, t, base_c) * pressure_factor(procedure, native, t, p)


def base_density(
    observed_kg_m3: Any,
    temperature_c: Any,
    gauge_pressure_kpa: Any = 0.0,
    *,
    base_c: float = 15.0,
    edition: Edition = 2004,
    glass_hydrometer: bool = False,
    commodity: Commodity = REFINED_PRODUCTS,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Find the base density of a liquid from its density observed at another state.

    Parameters
    ----------
    observed_kg_m3 : float or array
        Density observed, kg/m³; with `glass_hydrometer`, the reading of a glass hydrometer that was
        calibrated at `base_c`.
    temperature_c, gauge_pressure_kpa : float or array
        The state at which it was observed, °C and kPa above atmospheric.
    base_c, edition, commodity, out_of_range
        As for :func:`ctl`.
    glass_hydrometer : bool
        Whether to correct the reading for the expansion of soda-lime glass, as the printed tables
        5, 23 and 53 of 1980 do and tables 6, 24 and 54 do not. Never for an oscillating tube.

    Returns
    -------
    float or array
        Density at `base_c`, kg/m³, such that ``base * ctpl(base, …)`` is the observed one within
        1e-9 relative; within 1e-7 in the slivers where two groups of the standard do not quite meet.
        With ``edition=1980`` the rounding of alpha leaves up to 1.2e-5, and those slivers 2e-4.

    Raises
    ------
    OutOfRange
        If the state, or the base density found, lies outside the standard.

    Notes
    -----
    API MPMS 11.1-2004, 11.1.6.2: solved by Newton's method instead of the standard's own step.

    Examples
    --------
    >>> round(base_density(790.0, 30.0), 2)
    801.18
    >>> round(base_density(727.0, 30.0, edition=1980, glass_hydrometer=True), 1)
    740.4
    """
    procedure = procedure_of(edition, base_c, commodity)
    t = procedure.temperatures_c.check(as_float(temperature_c), out_of_range)
    p = procedure.gauge_pressures_kpa.check(as_float(gauge_pressure_kpa), out_of_range)
    observed = as_float(observed_kg_m3)
    if boolean(glass_hydrometer, "glass_hydrometer"):
        observed = observed * hydrometer_factor(t, calibrated_c=base_c)
    return solve(procedure, observed, t, p, out_of_range, None if _is_native(procedure, base_c) else base_c)


def expansion_coefficient(
    base_density_kg_m3: Any,
    *,
    base_c: float = 15.0,
    edition: Edition = 2004,
    commodity: Commodity = REFINED_PRODUCTS,
) -> Any:
    """Give the thermal expansion of the volume at the base temperature, per °C.

    Parameters
    ----------
    base_density_kg_m3, base_c, edition, commodity
        As for :func:`ctl`.

    Returns
    -------
    float or array
        Relative increase of volume per °C.

    Examples
    --------
    >>> round(expansion_coefficient(801.0), 5)
    0.00093
    """
    procedure, native = _native(base_density_kg_m3, base_c, edition, commodity, "raise")
    step = 0.01
    warmer, cooler = (procedure.smooth_ctl(native, base_c + side) for side in (step, -step))
    return (cooler - warmer) / (2.0 * step) / procedure.smooth_ctl(native, base_c)


def procedure_of(edition: Edition, base_c: float, commodity: Commodity) -> Procedure:
    """Give the procedure of an edition for a base temperature, with its ranges and its source."""
    return _procedure_and_densities(edition, base_c, commodity)[0]


def base_densities(base_c: float, edition: Edition, commodity: Commodity) -> Range:
    """Give the range of base densities of an edition, at a base temperature."""
    return _procedure_and_densities(edition, base_c, commodity)[1]


def _procedure_and_densities(edition: Edition, base_c: float, commodity: Commodity) -> tuple[Procedure, Range]:
    if isinstance(edition, int) and isinstance(base_c, (int, float)) and isinstance(commodity, Commodity):
        return _known(edition, base_c, commodity)
    return _found(edition, base_c, commodity)


def _found(edition: Edition, base_c: float, commodity: Commodity) -> tuple[Procedure, Range]:
    if not any(abs(plain_number(base_c, "base_c") - base) < 0.006 for base in (15.0, 20.0, BASE_60F_C)):
        raise FuelUnitsError(f"base temperature {base_c} degC; the standard has 15.0, 20.0 and BASE_60F_C (60 degF)")
    if not isinstance(edition, int) or edition not in (2004, 1980):
        raise FuelUnitsError(f"there is no edition {format_value(edition)} here; write 2004 or 1980")
    check_type(commodity, Commodity, "commodity", "CRUDE_OIL, REFINED_PRODUCTS or LUBRICATING_OIL")
    procedure = Procedure2004(commodity) if edition == 2004 else Procedure1980(commodity, from_60f=is_60f(base_c))
    low, high = (
        limit if _is_native(procedure, base_c) else limit * procedure.smooth_ctl(limit, base_c)
        for limit in procedure.density_limits
    )
    return procedure, Range(f"base density of {commodity.name}", low, high, "kg/m^3", procedure.source)


_known = lru_cache(maxsize=64)(_found)


def _is_native(procedure: Procedure, base_c: float) -> bool:
    """Tell whether a base temperature is that on which the procedure itself stands."""
    if isinstance(procedure, Procedure2004) or procedure.from_60f:
        return is_60f(base_c)
    return base_c == 15.0


def _native(
    base_density_kg_m3: Any, base_c: float, edition: Edition, commodity: Commodity, out_of_range: OnOutOfRange
) -> tuple[Procedure, Any]:
    """Give the procedure, and the density at the base temperature on which it stands itself."""
    procedure, densities = _procedure_and_densities(edition, base_c, commodity)
    base = densities.check(as_float(base_density_kg_m3), out_of_range)
    return procedure, base if _is_native(procedure, base_c) else solve(procedure, base, base_c, 0.0, out_of_range)


def _ctl(procedure: Procedure, native: Any, temperature_c: Any, base_c: float) -> Any:
    to_native = procedure.ctl(native, temperature_c)
    return to_native if _is_native(procedure, base_c) else to_native / procedure.ctl(native, base_c)
