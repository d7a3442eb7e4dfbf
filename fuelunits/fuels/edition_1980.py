"""The 1980 volume correction procedure (the letter tables) and its 1984 metric compressibility.

Equations and coefficients were read in public programs, and confirmed by printed tables; alpha is rounded to seven
decimals, as these need. The edition is older than ITS-90, from which its scale differs by less than 0.04 °C.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from fuelunits.arrays import exp, is_scalar
from fuelunits.fuels.commodities import BASE_60F_C, PER_F, Commodity, Row, Table, cpl, is_60f
from fuelunits.sources import Range

_KEY = "astm_d1250_1980"
_WATER_60F_KG_M3 = 999.012

PER_C: tuple[tuple[Row, ...], ...] = (
    ((613.9723, 0.0, 0.0),),  # crude oil
    (
        (346.4228, 0.4388, 0.0),  # gasolines
        (2680.3206, 0.0, -0.00336312),  # transition zone
        (594.5418, 0.0, 0.0),  # jet fuels and kerosenes
        # K1 to four decimals, as its neighbour 0.4388 (1.8 x 0.2438 = 0.43884): one transcription has 0.48618,
        # and beside it a mistaken K0 of the gasolines; the printed entries carried here reproduce with either
        (186.9696, 0.4862, 0.0),  # fuel oils
    ),
    ((0.0, 0.6278, 0.0),),  # lubricating oil
)
# the table goes in steps of 0.5 kg/m3: the limits lie half way between its last and first entries
_LIMITS_15C = ((610.5, 1075.0), (653.0, 770.25, 787.25, 838.75, 1075.0), (800.0, 1164.0))
# groups by API gravity in steps of 0.1: 52.1 to 85, 48.0 to 52.0, 37.1 to 47.9, 0 to 37.0
_GROUPS_60F = [141.5 * _WATER_60F_KG_M3 / (131.5 + api) for api in (52.05, 47.95, 37.05)]
_LIMITS_60F = ((610.5, 1075.1), (652.9, *_GROUPS_60F, 1075.1), (800.0, 1164.0))


def _tables(limits: Iterable[tuple[float, ...]], rows: Iterable[tuple[Row, ...]]) -> dict[Commodity, Table]:
    return {each: Table(ends, row, source=_KEY) for each, ends, row in zip(PER_F, limits, rows, strict=True)}


TABLES_15C = _tables(_LIMITS_15C, PER_C)
"""Density at 15 °C, alpha per °C."""

TABLES_60F = _tables(_LIMITS_60F, PER_F.values())
"""Density at 60 °F, alpha per °F."""


def vcf(alpha_base: Any, degrees: Any) -> Any:
    """Return the volume correction factor from alpha and the degrees above the base."""
    expansion = alpha_base * degrees
    return exp(-expansion * (1.0 + 0.8 * expansion))


def compressibility_per_kpa(density_15c_kg_m3: Any, temperature_c: Any) -> Any:
    """Return the compressibility F, per kPa, of the 1984 metric standard."""
    rho_squared = density_15c_kg_m3 * density_15c_kg_m3
    return 1e-6 * exp(-1.62080 + 0.00021592 * temperature_c + (0.87096e6 + 4.2092e3 * temperature_c) / rho_squared)


def smooth_alpha(rho: Any, row: Row) -> Any:
    """Return alpha not rounded, as the search for a base density needs it."""
    k0, k1, k2 = row
    return (k0 / rho + k1) / rho + k2


@dataclass(frozen=True)
class Expansion1980:
    """Alpha at the base of the procedure, per degree, and the density at 15 °C."""

    alpha: Any
    rho_15: Any
    procedure: Procedure1980

    def ctl(self, degrees: Any) -> Any:
        """Return the volume correction factor to the base."""
        return vcf(self.alpha, degrees)

    def compressibility_per_kpa(self, degrees: Any) -> Any:
        """Return F of CPL = 1 / (1 - F P), per kPa."""
        return compressibility_per_kpa(self.rho_15, self.procedure.celsius(degrees))


@dataclass(frozen=True)
class Procedure1980:
    """The procedure for one commodity, from 60 °F where that base is asked for, otherwise from 15 °C."""

    commodity: Commodity
    asked_base_c: float = 15.0
    source = _KEY
    water_60f_kg_m3 = _WATER_60F_KG_M3
    temperatures_c = Range("temperature", -40.0, 95.0, "degC", _KEY)
    # of the equation for pressure alone
    pressed_temperatures_c = Range("temperature", -50.0, 95.0, "degC", "api_mpms_11_2_1m_1984")
    gauge_pressures_kpa = Range("gauge pressure", 0.0, 10342.2, "kPa", "api_mpms_11_2_1m_1984")
    gap = 2e-4  # largest relative jump of the density between two neighbouring groups

    @cached_property
    def base_c(self) -> float:
        """The base temperature of the table, °C."""
        return BASE_60F_C if is_60f(self.asked_base_c) else 15.0

    @cached_property
    def table(self) -> Table:
        """The coefficients for this base."""
        return (TABLES_60F if self.base_c != 15.0 else TABLES_15C)[self.commodity]

    def degrees(self, temperature_c: Any) -> Any:
        """Return the degrees above the base, Fahrenheit from 60 °F and Celsius from 15 °C."""
        return 1.8 * temperature_c - 28.0 if self.base_c != 15.0 else temperature_c - 15.0

    def celsius(self, degrees: Any) -> Any:
        """Return the temperature in °C from degrees above the base."""
        return (degrees + 28.0) / 1.8 if self.base_c != 15.0 else degrees + 15.0

    def expansion(self, rho: Any) -> Expansion1980:
        """Return the expansion, with alpha rounded to 1e-7 as the printed tables need."""
        row = self.table.row_of(rho)
        alpha = smooth_alpha(rho, row)
        rounded = round(alpha, 7) if is_scalar(alpha) else alpha.round(7)
        return Expansion1980(rounded, self._rho_15(rho, row), self)

    def _rho_15(self, rho: Any, row: Row) -> Any:
        return rho * self.smooth_ctl(rho, row, self.degrees(15.0)) if self.base_c != 15.0 else rho

    def smooth_ctl(self, rho: Any, row: Row, degrees: Any) -> Any:
        """Return the volume correction factor to the base, with alpha not rounded."""
        return vcf(smooth_alpha(rho, row), degrees)

    def factor_and_slope(self, rho: Any, row: Row, degrees: Any, gauge_pressure_kpa: Any) -> tuple[Any, Any]:
        """Return CTPL to the base without rounding, and d ln(rho CTPL) / d ln(rho)."""
        alpha = smooth_alpha(rho, row)
        factor = vcf(alpha, degrees)
        slope = 1.0 + (2.0 * row[0] / rho + row[1]) / rho * degrees * (1.0 + 1.6 * alpha * degrees)
        if is_scalar(gauge_pressure_kpa) and gauge_pressure_kpa == 0.0:
            return factor, slope
        temperature_c, rho_15 = self.celsius(degrees), self._rho_15(rho, row)
        pressed = cpl(compressibility_per_kpa(rho_15, temperature_c), gauge_pressure_kpa)
        softening = (pressed - 1.0) * 2.0 * (0.87096e6 + 4.2092e3 * temperature_c) / (rho_15 * rho_15)
        return factor * pressed, slope - softening
