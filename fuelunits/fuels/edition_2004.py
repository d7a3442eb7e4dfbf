"""The 2004 volume correction procedure at its base of 60 °F, in the standard's own symbols.

Equations and coefficients are recalled; they are confirmed by the published values that they
reproduce (see ``python -m fuelunits verify``). Temperatures come in on ITS-90 in °C and are
taken to IPTS-68 in °F, on which the procedure is defined.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fuelunits.arrays import exp, is_scalar
from fuelunits.fuels.commodities import Commodity
from fuelunits.ranges import Range

__all__ = [
    "ALPHAS_PER_F",
    "DELTA_60",
    "GAUGE_PRESSURES_KPA",
    "KPA_PER_PSI",
    "TEMPERATURES_C",
    "WATER_60F_KG_M3",
    "Expansion",
    "Procedure2004",
    "compressibility_per_kpa",
    "compressibility_per_psi",
    "cpl",
    "ctl_60f",
    "given_expansion",
    "group_expansion",
    "t68_f",
]

DELTA_60 = 0.01374979547
"""Shift constant, °F: twice what 60 °F on ITS-90 exceeds 60 on IPTS-68 by."""

WATER_60F_KG_M3 = 999.016
"""Density of water at 60 °F of this edition, for relative density and API gravity."""

KPA_PER_PSI = 6.894757
"""The rounded factor that the standard prescribes."""

TEMPERATURES_C = Range("temperature", -50.0, 150.0, "degC", "api_mpms_11_1_2004")
GAUGE_PRESSURES_KPA = Range("gauge pressure", 0.0, 1500.0 * KPA_PER_PSI, "kPa", "api_mpms_11_1_2004")
ALPHAS_PER_F = Range("thermal expansion at 60 °F", 230.0e-6, 930.0e-6, "1/degF", "api_mpms_11_1_2004")

_ITS90_TO_IPTS68 = (-0.148759, -0.267408, 1.080760, 1.269056, -4.089591, -1.871251, 7.438081, -3.536296)


def t68_f(temperature_c: Any) -> Any:
    """Take a temperature in °C on ITS-90 to °F on IPTS-68 (11.1.5.3)."""
    tau = temperature_c / 630.0
    difference = 0.0
    for coefficient in reversed(_ITS90_TO_IPTS68):
        difference = (difference + coefficient) * tau
    return 1.8 * (temperature_c - difference) + 32.0


@dataclass(frozen=True)
class Expansion:
    """How one liquid expands: alpha at 60 °F per °F, its density at IPTS-68 60 °F, and B.

    B is the relative fall of alpha with density, -d ln alpha / d ln rho.
    """

    alpha_60: Any
    rho_star: Any
    b: Any


def group_expansion(rho_60: Any, commodity: Commodity) -> Expansion:
    """Give the thermal expansion of a commodity group from its density at 60 °F (11.1.6.1, steps 3 to 5)."""
    k0, k1, k2 = commodity.per_f_2004.coefficients(rho_60)
    a = DELTA_60 / 2.0 * ((k0 / rho_60 + k1) / rho_60 + k2)
    b = (2.0 * k0 + k1 * rho_60) / (k0 + (k1 + k2 * rho_60) * rho_60)
    rho_star = rho_60 * (1.0 + (exp(a * (1.0 + 0.8 * a)) - 1.0) / (1.0 + a * (1.0 + 1.6 * a) * b))
    return Expansion((k0 / rho_star + k1) / rho_star + k2, rho_star, b)


def given_expansion(rho_60: Any, alpha_60: Any) -> Expansion:
    """Give the same for a liquid whose own alpha at 60 °F, per °F, is known (special applications)."""
    shift = alpha_60 * DELTA_60
    return Expansion(alpha_60, rho_60 * exp(0.5 * shift * (1.0 + 0.4 * shift)), 0.0)


def ctl_60f(alpha_60: Any, t_star: Any) -> Any:
    """Give CTL to 60 °F from alpha at 60 °F and the temperature in °F on IPTS-68 (11.1.6.1, step 6)."""
    dt = t_star - 60.0068749
    return exp(-alpha_60 * dt * (1.0 + 0.8 * alpha_60 * (dt + DELTA_60)))


def compressibility_per_psi(rho_star: Any, t_star: Any) -> Any:
    """Give the scaled compressibility Fp, in 1e-5 per psi (11.1.6.1, step 7)."""
    return exp(-1.9947 + 0.00013427 * t_star + (793920.0 + 2326.0 * t_star) / (rho_star * rho_star))


def compressibility_per_kpa(rho_star: Any, t_star: Any) -> Any:
    """Give the compressibility F of CPL = 1 / (1 - F P), per kPa."""
    return 1e-5 / KPA_PER_PSI * compressibility_per_psi(rho_star, t_star)


def cpl(rho_star: Any, t_star: Any, gauge_pressure_kpa: Any) -> Any:
    """Give CPL, the correction for pressure (11.1.6.1, step 8)."""
    return 1.0 / (1.0 - compressibility_per_kpa(rho_star, t_star) * gauge_pressure_kpa)


@dataclass(frozen=True)
class Procedure2004:
    """The procedure for one commodity, from its own base of 60 °F."""

    commodity: Commodity

    @property
    def density_limits(self) -> tuple[float, float]:
        """Lowest and highest density at 60 °F, kg/m³."""
        return self.commodity.per_f_2004.low, self.commodity.per_f_2004.high

    source = "api_mpms_11_1_2004"
    gap = 1e-7
    temperatures_c = TEMPERATURES_C
    pressed_temperatures_c = TEMPERATURES_C
    gauge_pressures_kpa = GAUGE_PRESSURES_KPA

    def ctl(self, rho_60: Any, temperature_c: Any) -> Any:
        """CTL from a temperature to 60 °F."""
        return ctl_60f(group_expansion(rho_60, self.commodity).alpha_60, t68_f(temperature_c))

    smooth_ctl = ctl

    def compressibility_per_kpa(self, rho_60: Any, temperature_c: Any) -> Any:
        """Compressibility F of CPL = 1 / (1 - F P), per kPa."""
        rho_star = group_expansion(rho_60, self.commodity).rho_star
        return compressibility_per_kpa(rho_star, t68_f(temperature_c))

    degrees = staticmethod(t68_f)
    """Take a temperature in °C to the one that the procedure counts in."""

    def factor_and_slope(self, rho_60: Any, t_star: Any, gauge_pressure_kpa: Any) -> tuple[Any, Any]:
        """Give CTPL to 60 °F, and the relative change of the density at the state with that at 60 °F.

        The slope leaves out terms below 1e-6 that the factor has.
        """
        liquid = group_expansion(rho_60, self.commodity)
        factor = ctl_60f(liquid.alpha_60, t_star)
        expansion = liquid.alpha_60 * (t_star - 60.0068749)
        shift = liquid.alpha_60 * DELTA_60
        slope = 1.0 + liquid.b * (1.0 - 0.5 * liquid.b * shift) * expansion * (1.0 + 1.6 * (expansion + shift))
        if is_scalar(gauge_pressure_kpa) and gauge_pressure_kpa == 0.0:
            return factor, slope
        pressed = cpl(liquid.rho_star, t_star, gauge_pressure_kpa)
        softening = (pressed - 1.0) * 2.0 * (793920.0 + 2326.0 * t_star) / (rho_60 * rho_60)
        return factor * pressed, slope - softening
