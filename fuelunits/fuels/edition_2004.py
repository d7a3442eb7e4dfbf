"""The 2004 volume correction procedure at its base of 60 °F, in the standard's own symbols.

Confirmed by the worked examples of the standard itself, to the last of their twelve digits. Temperatures come in on
ITS-90 in °C and are taken to IPTS-68 in °F, on which the procedure is defined.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fuelunits.arrays import exp, is_scalar
from fuelunits.fuels.commodities import BASE_60F_C, PER_F, Commodity, Row, Table, cpl
from fuelunits.sources import Range

_KEY = "api_mpms_11_1_2004"

_LIMITS = ((610.6, 1163.5), (610.6, 770.3520, 787.5195, 838.3127, 1163.5), (800.9, 1163.5))
TABLES = {each: Table(limits, PER_F[each], source=_KEY) for each, limits in zip(PER_F, _LIMITS, strict=True)}
"""Density at 60 °F, alpha per °F."""

DELTA_60 = 0.01374979547
"""Shift constant, °F: twice what 60 °F on ITS-90 exceeds 60 on IPTS-68 by."""

_60F_ON_IPTS_68 = 60.0068749
"""60 °F of ITS-90, as the standard rounds it."""

KPA_PER_PSI = 6.894757
"""The rounded factor that the standard prescribes."""

TEMPERATURES_C = Range("temperature", -50.0, 150.0, "degC", _KEY)
GAUGE_PRESSURES_KPA = Range("gauge pressure", 0.0, 1500.0 * KPA_PER_PSI, "kPa", _KEY)
ALPHAS_PER_F = Range("thermal expansion at 60 °F", 230.0e-6, 930.0e-6, "1/degF", _KEY)

_ITS_90_TO_IPTS_68 = (-3.536296, 7.438081, -1.871251, -4.089591, 1.269056, 1.080760, -0.267408, -0.148759)
"""a8 to a1 of 11.1.5.3."""


def t68_f(temperature_c: Any) -> Any:
    """Return a temperature in °C on ITS-90 in °F on IPTS-68 (11.1.5.3)."""
    tau = temperature_c / 630.0
    difference: Any = 0.0
    for a in _ITS_90_TO_IPTS_68:
        difference = (difference + a) * tau
    return 1.8 * (temperature_c - difference) + 32.0


def degrees_from_60f(temperature_c: Any) -> Any:
    """Return the degrees Fahrenheit on IPTS-68 above 60 °F, from °C on ITS-90."""
    return t68_f(temperature_c) - _60F_ON_IPTS_68


@dataclass(frozen=True)
class Expansion2004:
    """Alpha at 60 °F per °F, and the density at IPTS-68 60 °F."""

    alpha_60: Any
    rho_star: Any

    def ctl(self, degrees: Any) -> Any:
        """Return CTL to 60 °F (11.1.6.1, step 6)."""
        return exp(-self.alpha_60 * degrees * (1.0 + 0.8 * self.alpha_60 * (degrees + DELTA_60)))

    def compressibility_per_kpa(self, degrees: Any) -> Any:
        """Return F of CPL = 1 / (1 - F P), per kPa; the standard's Fp is in 1e-5 per psi (11.1.6.1, step 7)."""
        t_star, rho_squared = degrees + _60F_ON_IPTS_68, self.rho_star * self.rho_star
        return 1e-5 / KPA_PER_PSI * exp(-1.9947 + 0.00013427 * t_star + (793920.0 + 2326.0 * t_star) / rho_squared)


def group_expansion(rho_60: Any, row: Row) -> Expansion2004:
    """Return the expansion of a product group from its density at 60 °F (11.1.6.1, steps 3 to 5)."""
    k0, k1, k2 = row
    # the standard writes a, and B for a_b / a; multiplying by the inverse takes large arrays less time
    inverse = 1.0 / rho_60
    a = DELTA_60 / 2.0 * ((k0 * inverse + k1) * inverse + k2)
    a_b = DELTA_60 / 2.0 * ((2.0 * k0 * inverse + k1) * inverse)
    x = a * (1.0 + 0.8 * a)
    # exp(x) - 1 to less than 1e-16, since x is below 7e-6
    rho_star = rho_60 * (1.0 + x * (1.0 + 0.5 * x) / (1.0 + (1.0 + 1.6 * a) * a_b))
    inverse = 1.0 / rho_star
    return Expansion2004((k0 * inverse + k1) * inverse + k2, rho_star)


def given_expansion(rho_60: Any, alpha_60: Any) -> Expansion2004:
    """Return the expansion of a liquid whose own alpha at 60 °F, per °F, is known (special applications)."""
    shift = alpha_60 * DELTA_60
    return Expansion2004(alpha_60, rho_60 * exp(0.5 * shift * (1.0 + 0.4 * shift)))


@dataclass(frozen=True)
class Procedure2004:
    """The procedure for one commodity; its own base is always 60 °F."""

    commodity: Commodity
    asked_base_c: float = BASE_60F_C
    source = _KEY
    water_60f_kg_m3 = 999.016
    temperatures_c = TEMPERATURES_C
    pressed_temperatures_c = TEMPERATURES_C
    gauge_pressures_kpa = GAUGE_PRESSURES_KPA
    gap = 1e-7  # largest relative jump of the density between two neighbouring groups
    base_c = BASE_60F_C
    degrees = staticmethod(degrees_from_60f)

    @property
    def table(self) -> Table:
        """The coefficients at 60 °F."""
        return TABLES[self.commodity]

    def expansion(self, rho: Any) -> Expansion2004:
        """Return the expansion of a liquid of a density at 60 °F."""
        return group_expansion(rho, self.table.row_of(rho))

    def smooth_ctl(self, rho: Any, row: Row, degrees: Any) -> Any:
        """Return CTL, in which this edition rounds nothing."""
        return group_expansion(rho, row).ctl(degrees)

    def factor_and_slope(self, rho: Any, row: Row, degrees: Any, gauge_pressure_kpa: Any) -> tuple[Any, Any]:
        """Return CTPL to 60 °F, and d ln(rho CTPL) / d ln(rho) but for terms below 1e-6."""
        liquid = group_expansion(rho, row)
        factor = liquid.ctl(degrees)
        fall = (2.0 * row[0] / liquid.rho_star + row[1]) / liquid.rho_star
        expansion = liquid.alpha_60 * (degrees + DELTA_60)
        slope = 1.0 + fall * (1.0 - 0.5 * DELTA_60 * fall) * degrees * (1.0 + 1.6 * expansion)
        if is_scalar(gauge_pressure_kpa) and gauge_pressure_kpa == 0.0:
            return factor, slope
        pressed = cpl(liquid.compressibility_per_kpa(degrees), gauge_pressure_kpa)
        t_star = degrees + _60F_ON_IPTS_68
        softening = (pressed - 1.0) * 2.0 * (793920.0 + 2326.0 * t_star) / (rho * rho)
        return factor * pressed, slope - softening
