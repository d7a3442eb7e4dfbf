"""The editions of the volume correction by year: coefficients, limits and equations, in the standard's own symbols.

An edition divides the commodities into groups by density, not by name. That of 2004 is confirmed by the standard's own
worked examples, to twelve digits; those of 1980 and 1984, which were read in public programs, by printed tables.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from numbers import Integral
from typing import Any, NamedTuple

from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.sources import Range, Sourced, data_table
from fuelunits.validation import exp, format_value, is_scalar

Row = tuple[Any, Any, Any]
"""K0, K1 and K2 of alpha = K0/rho² + K1/rho + K2: floats, or arrays with one element for each density."""


@dataclass(frozen=True)
class Commodity:
    """A commodity as the standard divides them; each edition has a table for it."""

    name: str


CRUDE_OIL = Commodity("crude oil")
"""Also JP-4 where it is treated as one; the A tables of 1980."""

REFINED_PRODUCTS = Commodity("refined products")
"""Gasolines, jet fuels, kerosenes, diesel and fuel oils; the B tables of 1980."""

LUBRICATING_OIL = Commodity("lubricating oil")
"""The D tables of 1980."""

_DATA = data_table("fuels/expansions.toml")
_ROWS = {each: _DATA[each.name] for each in (CRUDE_OIL, REFINED_PRODUCTS, LUBRICATING_OIL)}


@dataclass(frozen=True)
class Table(Sourced):
    """The coefficients of the groups of one commodity at one base temperature, and the densities between them."""

    limits: tuple[float, ...]
    """kg/m³, from the lowest density of the first group to the highest of the last."""
    rows: tuple[Row, ...]

    @property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest density, kg/m³."""
        return self.limits[0], self.limits[-1]

    @cached_property
    def _columns(self) -> tuple[Any, ...]:
        import numpy as np

        return tuple(np.array(column) for column in zip(*self.rows, strict=True))

    def group(self, density: Any) -> Any:
        """Return the index of the group of a density, or of each density of an array."""
        if len(self.rows) == 1:
            return 0
        if is_scalar(density):
            return bisect_right(self.limits, density, 1, len(self.rows)) - 1
        first, *others = (density >= limit for limit in self.limits[1:-1])
        return sum(others, start=first.astype("i1")).astype("p")

    def row(self, group: Any) -> Row:
        """Return K0, K1 and K2 of a group, or of each of an array of groups."""
        if isinstance(group, int):
            return self.rows[group]
        k0, k1, k2 = (column.take(group) for column in self._columns)
        return k0, k1, k2

    def row_of(self, density: Any) -> Row:
        """Return K0, K1 and K2 of a density, or of each density of an array."""
        return self.row(self.group(density))


def _tables(limits: Iterable[tuple[float, ...]], per: str, source: str) -> dict[Commodity, Table]:
    tables = zip(_ROWS.items(), limits, strict=True)
    return {each: Table(ends, tuple(map(tuple, rows[per])), source=source) for (each, rows), ends in tables}


BASE_60F_C = (60.0 - 32.0) / 1.8
"""The base temperature of 60 °F, in °C."""


def standard_temperature_c(given_c: float, name: str) -> float:
    """Return 15 °C, 20 °C or 60 °F, even if written 15.56 or 15.6; refuse any other temperature."""
    for standard_c in (15.0, 20.0, BASE_60F_C):
        if abs(given_c - standard_c) < 0.006 or (standard_c == BASE_60F_C and abs(given_c - 15.6) < 1e-6):
            return standard_c
    raise QuantityError(f"{name} must be 15 degC, 20 degC or 60 degF (BASE_60F_C); got {given_c} degC")


VACUUM_KPA = -101.325


@dataclass(frozen=True)
class _Equations:
    """The constants of CTL and F in degrees d above a base, for t = zero + degree * d in F."""

    shift: float
    zero: float
    degree: float
    scale: float
    of_f: tuple[float, float, float, float]


class Expansion(NamedTuple):
    """How a liquid expands and compresses: alpha at the base per degree, and the density on which F depends."""

    alpha: Any
    rho: Any
    equations: _Equations

    def ctl(self, degrees: Any) -> Any:
        """Return CTL to the base: exp(-α d (1 + 0.8 α (d + shift))) (11.1.6.1, step 6)."""
        return exp(-self.alpha * degrees * (1.0 + 0.8 * self.alpha * (degrees + self.equations.shift)))

    def cpl(self, degrees: Any, gauge_pressure_kpa: Any) -> Any:
        """Return CPL = 1 / (1 - F P) to atmospheric pressure (11.1.6.1, step 8); suction counts as 0, as there."""
        if is_scalar(gauge_pressure_kpa) and gauge_pressure_kpa <= 0.0:
            return 1.0
        p = gauge_pressure_kpa if is_scalar(gauge_pressure_kpa) else gauge_pressure_kpa.clip(0.0)
        return 1.0 / (1.0 - self.compressibility_per_kpa(degrees) * p)

    def compressibility_per_kpa(self, degrees: Any) -> Any:
        """Return F = scale exp(A + B t + (C + D t)/rho²), per kPa (11.1.6.1, step 7)."""
        known = self.equations
        a, b, _, _ = known.of_f
        return known.scale * exp(a + b * (known.zero + known.degree * degrees) + self.density_term(degrees))

    def density_term(self, degrees: Any) -> Any:
        """Return (C + D t)/rho², of the exponent of F."""
        _, _, c, d = self.equations.of_f
        return (c + d * (self.equations.zero + self.equations.degree * degrees)) / (self.rho * self.rho)


# the edition of 2004

_KEY_2004 = "api_mpms_11_1_2004"
_LIMITS_2004 = ((610.6, 1163.5), (610.6, 770.3520, 787.5195, 838.3127, 1163.5), (800.9, 1163.5))
TABLES_2004 = _tables(_LIMITS_2004, "per_f", _KEY_2004)

DELTA_60 = 0.01374979547  # shift constant, °F: twice what 60 °F on ITS-90 exceeds 60 on IPTS-68 by
IPTS_68_60F = 60.0068749  # 60 °F of ITS-90, as the standard rounds it
KPA_PER_PSI = 6.894757  # the rounded factor that the standard prescribes; its Fp is in 1e-5 per psi

TEMPERATURES_C = Range("temperature", -50.0, 150.0, "degC", _KEY_2004)
GAUGE_PRESSURES_KPA = Range("gauge pressure", VACUUM_KPA, 10342.136, "kPa", _KEY_2004)  # 1500 psi, also exactly
ALPHAS_PER_F = Range("thermal expansion at 60 °F", 230.0e-6, 930.0e-6, "1/degF", _KEY_2004)

_OF_2004 = _Equations(DELTA_60, IPTS_68_60F, 1.0, 1e-5 / KPA_PER_PSI, (-1.9947, 0.00013427, 793920.0, 2326.0))

# a8 to a1 of 11.1.5.3
_ITS_90_TO_IPTS_68 = (-3.536296, 7.438081, -1.871251, -4.089591, 1.269056, 1.080760, -0.267408, -0.148759)


def degrees_from_60f(temperature_c: Any) -> Any:
    """Return the degrees Fahrenheit on IPTS-68 above 60 °F, from °C on ITS-90 (11.1.5.3)."""
    tau = temperature_c / 630.0
    difference: Any = 0.0
    for a in _ITS_90_TO_IPTS_68:
        difference = (difference + a) * tau
    return 1.8 * (temperature_c - difference) + 32.0 - IPTS_68_60F


def given_expansion(rho_60: Any, alpha_60: Any) -> Expansion:
    """Return the expansion of a liquid whose own alpha at 60 °F, per °F, is known (special applications)."""
    shift = alpha_60 * DELTA_60
    return Expansion(alpha_60, rho_60 * exp(0.5 * shift * (1.0 + 0.4 * shift)), _OF_2004)


@dataclass(frozen=True)
class Procedure2004:
    """The edition of 2004 for one commodity. Its own base is always 60 °F, and its degrees are those of IPTS-68."""

    commodity: Commodity
    asked_base_c: float = BASE_60F_C
    source = _KEY_2004
    water_60f_kg_m3 = 999.016
    temperatures_c = TEMPERATURES_C
    gauge_pressures_kpa = GAUGE_PRESSURES_KPA
    gap = 1e-7  # largest relative jump of the density between two neighbouring groups
    base_c = BASE_60F_C
    degrees = staticmethod(degrees_from_60f)

    @property
    def table(self) -> Table:
        """The coefficients at 60 °F."""
        return TABLES_2004[self.commodity]

    def smooth(self, rho_60: Any, row: Row | None = None) -> Expansion:
        """Return the expansion of a liquid by its density at 60 °F (11.1.6.1, steps 3 to 5); nothing is rounded."""
        k0, k1, k2 = row or self.table.row_of(rho_60)
        # the standard writes a, and B for a_b / a; multiplying by the inverse takes large arrays less time
        inverse = 1.0 / rho_60
        a = DELTA_60 / 2.0 * ((k0 * inverse + k1) * inverse + k2)
        a_b, x = DELTA_60 / 2.0 * ((2.0 * k0 * inverse + k1) * inverse), a * (1.0 + 0.8 * a)
        # exp(x) - 1 to less than 1e-16, since x is below 7e-6
        rho_star = rho_60 * (1.0 + x * (1.0 + 0.5 * x) / (1.0 + (1.0 + 1.6 * a) * a_b))
        inverse = 1.0 / rho_star
        return Expansion((k0 * inverse + k1) * inverse + k2, rho_star, _OF_2004)

    expansion = smooth


# the edition of 1980, older than ITS-90, from which its scale differs by less than 0.04 °C

_KEY_1980, _KEY_1984 = "astm_d1250_1980", "api_mpms_11_2_1m_1984"
_WATER_1980 = 999.012
# the table goes in steps of 0.5 kg/m3: the limits lie half way between its last and first entries
_LIMITS_15C = ((610.5, 1075.0), (653.0, 770.25, 787.25, 838.75, 1075.0), (800.0, 1164.0))
# groups by API gravity in steps of 0.1: 52.1 to 85, 48.0 to 52.0, 37.1 to 47.9, 0 to 37.0
_GROUPS_60F = [141.5 * _WATER_1980 / (131.5 + api) for api in (52.05, 47.95, 37.05)]
_LIMITS_60F = ((610.5, 1075.1), (652.9, *_GROUPS_60F, 1075.1), (800.0, 1164.0))
TABLES_15C, TABLES_60F = _tables(_LIMITS_15C, "per_c", _KEY_1980), _tables(_LIMITS_60F, "per_f", _KEY_1980)

_F_OF_1984 = (-1.62080, 0.00021592, 0.87096e6, 4.2092e3)
FROM_15C = _Equations(0.0, 15.0, 1.0, 1e-6, _F_OF_1984)
_FROM_60F = _Equations(0.0, 28.0 / 1.8, 1.0 / 1.8, 1e-6, _F_OF_1984)


@dataclass(frozen=True)
class Procedure1980:
    """The edition of 1980 for one commodity, from 60 °F where that base is asked for, otherwise from 15 °C."""

    commodity: Commodity
    asked_base_c: float = 15.0
    source = _KEY_1980
    water_60f_kg_m3 = _WATER_1980
    temperatures_c = Range("temperature", -40.0, 95.0, "degC", _KEY_1980)
    gauge_pressures_kpa = Range("gauge pressure", VACUUM_KPA, 10342.2, "kPa", _KEY_1984)
    gap = 2e-4

    @property
    def base_c(self) -> float:
        """The base temperature of the table, °C."""
        return BASE_60F_C if self.asked_base_c == BASE_60F_C else 15.0

    @property
    def table(self) -> Table:
        """The coefficients for this base."""
        return (TABLES_60F if self.base_c != 15.0 else TABLES_15C)[self.commodity]

    def degrees(self, temperature_c: Any) -> Any:
        """Return the degrees above the base, Fahrenheit from 60 °F and Celsius from 15 °C."""
        return 1.8 * temperature_c - 28.0 if self.base_c != 15.0 else temperature_c - 15.0

    def smooth(self, rho: Any, row: Row | None = None) -> Expansion:
        """Return the expansion with alpha not rounded, as the search for a base density needs it."""
        k0, k1, k2 = row or self.table.row_of(rho)
        alpha = (k0 / rho + k1) / rho + k2
        if self.base_c == 15.0:
            return Expansion(alpha, rho, FROM_15C)
        at_base = Expansion(alpha, rho, _FROM_60F)
        return at_base._replace(rho=rho * at_base.ctl(self.degrees(15.0)))

    def expansion(self, rho: Any) -> Expansion:
        """Return the expansion with alpha rounded to 1e-7, as the printed tables need."""
        smooth = self.smooth(rho)
        return smooth._replace(alpha=round(smooth.alpha, 7) if is_scalar(smooth.alpha) else smooth.alpha.round(7))


Procedure = Procedure2004 | Procedure1980

EDITIONS: dict[int, type[Procedure]] = {2004: Procedure2004, 1980: Procedure1980}


def edition_of(year: int) -> type[Procedure]:
    """Return the procedure of an edition, or refuse a year that has none."""
    if isinstance(year, Integral) and year in EDITIONS:
        return EDITIONS[int(year)]
    raise FuelUnitsError(f"edition must be {' or '.join(map(str, EDITIONS))}; got {format_value(year)}")
