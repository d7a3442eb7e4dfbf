"""The 1980 volume correction procedure (the letter tables) and its 1984 metric compressibility.

Governments still print its tables. Equations and coefficients are recalled; alpha is rounded to
seven decimals, as the printed tables need. Temperatures are taken as they are: the edition is
older than ITS-90, and the scales differ by less than 0.04 °C in its range.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fuelunits.arrays import exp, is_scalar
from fuelunits.fuels.commodities import Commodity, Table
from fuelunits.ranges import Range

__all__ = [
    "COMPRESSIBILITY_TEMPERATURES_C",
    "GAUGE_PRESSURES_KPA",
    "TEMPERATURES_C",
    "WATER_60F_KG_M3",
    "Procedure1980",
    "alpha",
    "compressibility_per_kpa",
    "smooth_alpha",
    "vcf",
]

WATER_60F_KG_M3 = 999.012
"""Density of water at 60 °F of this edition, for relative density and API gravity."""

TEMPERATURES_C = Range("temperature", -40.0, 95.0, "degC", "astm_d1250_1980")
COMPRESSIBILITY_TEMPERATURES_C = Range("temperature", -50.0, 95.0, "degC", "api_mpms_11_2_1m_1984")
GAUGE_PRESSURES_KPA = Range("gauge pressure", 0.0, 10342.2, "kPa", "api_mpms_11_2_1m_1984")


def alpha(density: Any, table: Table) -> Any:
    """Give alpha at the base temperature of a table, per degree of that table, rounded to 1e-7 as in print."""
    smooth = smooth_alpha(density, table)
    return round(smooth, 7) if is_scalar(smooth) else np.round(smooth, 7)


def smooth_alpha(density: Any, table: Table) -> Any:
    """Give alpha not rounded, as solving for the base density needs it."""
    k0, k1, k2 = table.coefficients(density)
    return (k0 / density + k1) / density + k2


def vcf(alpha_base: Any, degrees_from_base: Any) -> Any:
    """Give the volume correction factor from alpha and the temperature less that of the base."""
    expansion = alpha_base * degrees_from_base
    return exp(-expansion * (1.0 + 0.8 * expansion))


def compressibility_per_kpa(density_15c_kg_m3: Any, temperature_c: Any) -> Any:
    """Give the compressibility F, per kPa, of the 1984 metric standard."""
    rho_squared = density_15c_kg_m3 * density_15c_kg_m3
    return 1e-6 * exp(-1.62080 + 0.00021592 * temperature_c + (0.87096e6 + 4.2092e3 * temperature_c) / rho_squared)


@dataclass(frozen=True)
class Procedure1980:
    """The procedure for one commodity, from 15 °C or from 60 °F."""

    commodity: Commodity
    from_60f: bool = False

    @property
    def table(self) -> Table:
        """The coefficients for this base."""
        return self.commodity.per_f_1980 if self.from_60f else self.commodity.per_c_1980

    @property
    def density_limits(self) -> tuple[float, float]:
        """Lowest and highest density at the base temperature, kg/m³."""
        return self.table.low, self.table.high

    source = "astm_d1250_1980"
    gap = 2e-4
    temperatures_c = TEMPERATURES_C
    pressed_temperatures_c = COMPRESSIBILITY_TEMPERATURES_C
    gauge_pressures_kpa = GAUGE_PRESSURES_KPA

    def degrees(self, temperature_c: Any) -> Any:
        """Take a temperature in °C to degrees from the base of the table."""
        return 1.8 * temperature_c - 28.0 if self.from_60f else temperature_c - 15.0

    def ctl(self, rho_base: Any, temperature_c: Any) -> Any:
        """Volume correction factor to the base, with alpha rounded as in the printed tables."""
        return vcf(alpha(rho_base, self.table), self.degrees(temperature_c))

    def smooth_ctl(self, rho_base: Any, temperature_c: Any) -> Any:
        """Volume correction factor to the base, with alpha not rounded."""
        return vcf(smooth_alpha(rho_base, self.table), self.degrees(temperature_c))

    def compressibility_per_kpa(self, rho_base: Any, temperature_c: Any) -> Any:
        """Compressibility F of CPL = 1 / (1 - F P), per kPa, after the metric standard of 1984."""
        return compressibility_per_kpa(rho_base * self.smooth_ctl(rho_base, 15.0), temperature_c)

    def factor_and_slope(self, rho_base: Any, degrees_from_base: Any, gauge_pressure_kpa: Any) -> tuple[Any, Any]:
        """Give CTPL to the base, and the relative change of the density at the state with that at the base.

        Alpha is not rounded. The slope leaves out small terms that the factor has.
        """
        k0, k1, k2 = self.table.coefficients(rho_base)
        smooth = (k0 / rho_base + k1) / rho_base + k2
        factor = vcf(smooth, degrees_from_base)
        fall_of_alpha = (2.0 * k0 / rho_base + k1) / rho_base
        slope = 1.0 + fall_of_alpha * degrees_from_base * (1.0 + 1.6 * smooth * degrees_from_base)
        if is_scalar(gauge_pressure_kpa) and gauge_pressure_kpa == 0.0:
            return factor, slope
        temperature_c = (degrees_from_base + 28.0) / 1.8 if self.from_60f else degrees_from_base + 15.0
        pressed = 1.0 / (1.0 - self.compressibility_per_kpa(rho_base, temperature_c) * gauge_pressure_kpa)
        softening = (pressed - 1.0) * 2.0 * (0.87096e6 + 4.2092e3 * temperature_c) / (rho_base * rho_base)
        return factor * pressed, slope - softening
