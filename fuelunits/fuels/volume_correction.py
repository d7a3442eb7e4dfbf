"""Density and volume of petroleum products over temperature and pressure.

API MPMS 11.1, ASTM D1250, ISO 91: the 2004 edition by default [api_mpms_11_1_2004], that of 1980 with ``edition=1980``
[astm_d1250_1980]. ``base volume = volume * CTPL``, ``density = base density * CTPL``, the base at atmospheric pressure
and 15 °C, 20 °C or 60 °F. Synthetic components and pure liquids expand differently, by up to 1.5 %. What :func:`ctl`
and :func:`cpl` say of `base_density_kg_m3`, `temperature_c`, `gauge_pressure_kpa`, `base_c`, `edition`, `commodity`
and `out_of_range` holds throughout.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, overload

from fuelunits.fuels.base_densities import Base, base_of
from fuelunits.fuels.density_scales import hydrometer_factor
from fuelunits.fuels.editions import REFINED_PRODUCTS, Commodity, Expansion, checked_pressure
from fuelunits.fuels.elementwise import elementwise
from fuelunits.sources import OnOutOfRange
from fuelunits.validation import boolean, is_scalar


def _at_state(answer: Callable[..., Any], base: Base, out_of_range: OnOutOfRange, *state: Any) -> Any:
    """Return, element by element, an answer for the expansion of a density, the degrees, and a pressure if any."""
    procedure = base.procedure

    def formula(rho: Any, t: Any, *pressure: Any) -> Any:
        liquid = base.expansion(rho, out_of_range)
        degrees = procedure.degrees(procedure.temperatures_c.check(t, out_of_range))
        return answer(
            liquid, degrees, *(checked_pressure(procedure.gauge_pressures_kpa, p, out_of_range) for p in pressure)
        )

    return elementwise(formula, *state)


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
    return _at_state(base.ctl, base, out_of_range, base_density_kg_m3, temperature_c)


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
    """Return CPL, the factor of a volume from a gauge pressure to atmospheric pressure.

    API MPMS 11.1-2004, 11.1.6.1; the metric API MPMS 11.2.1M of 1984 for ``edition=1980``.

    Parameters
    ----------
    gauge_pressure_kpa : float or array, above atmospheric: to 10342 (1500 psi); suction, to -101.325, counts as 0

    Examples
    --------
    >>> round(cpl(800.0, 15.0, 1000.0), 6)
    1.000854
    """
    base = base_of(edition, base_c, commodity)
    return _at_state(Expansion.cpl, base, out_of_range, base_density_kg_m3, temperature_c, gauge_pressure_kpa)


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

    Examples
    --------
    >>> round(800.0 * ctpl(800.0, 30.0, 1000.0), 2)
    789.55
    """
    base = base_of(edition, base_c, commodity)

    def factor(liquid: Expansion, degrees: Any, p: Any) -> Any:
        return base.ctl(liquid, degrees) * liquid.cpl(degrees, p)

    return _at_state(factor, base, out_of_range, base_density_kg_m3, temperature_c, gauge_pressure_kpa)


def round_factor(factor: Any) -> Any:
    """Return a factor to the five decimals that the standard prints (11.1.5.4); nothing else is rounded there.

    The 2004 text multiplies volumes by the rounded factor, its addendum of 2019 by the other. A half goes to even.

    Parameters
    ----------
    factor : float or array: CTL, CPL or CTPL

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
        t = procedure.temperatures_c.check(t, out_of_range)
        p = checked_pressure(procedure.gauge_pressures_kpa, p, out_of_range)
        if glass:
            observed = observed * hydrometer_factor(t, calibrated_c=base_c)
        return base.density(observed, procedure.degrees(t), p, out_of_range)

    # single precision is taken to double, for an answer to all its digits
    state = (observed_kg_m3, temperature_c, gauge_pressure_kpa)
    single = [getattr(each, "dtype", None) == "float32" for each in state]
    return elementwise(density, *(x.astype("float64") if low else x for x, low in zip(state, single, strict=True)))


def expansion_coefficient(
    base_density_kg_m3: Any, *, base_c: float = 15.0, edition: int = 2004, commodity: Commodity = REFINED_PRODUCTS
) -> Any:
    """Return the thermal expansion at the base temperature: the relative increase of volume per °C.

    Examples
    --------
    >>> round(expansion_coefficient(801.0), 5)
    0.00093
    """
    base = base_of(edition, base_c, commodity)

    def per_c(rho: Any) -> Any:
        native, procedure = base.native(rho, "raise"), base.procedure
        liquid = procedure.smooth(native, procedure.table.row_of(native))
        cooler, here, warmer = (liquid.ctl(procedure.degrees(base_c + aside)) for aside in (-0.01, 0.0, 0.01))
        return (cooler - warmer) / 0.02 / here

    return elementwise(per_c, base_density_kg_m3)
