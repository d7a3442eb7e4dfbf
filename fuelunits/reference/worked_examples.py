"""How the worked examples of the 2004 volume correction are worked out with the library."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fuelunits.conversion import convert
from fuelunits.fuels.commodities import CRUDE_OIL, LUBRICATING_OIL, REFINED_PRODUCTS
from fuelunits.fuels.density_scales import BASE_60F_C, density_from_api_gravity, density_from_relative_density
from fuelunits.fuels.edition_2004 import (
    KPA_PER_PSI,
    Expansion2004,
    Procedure2004,
    degrees_from_60f,
    given_expansion,
    round_factor,
    t68_f,
)
from fuelunits.fuels.volume_correction import base_density, compressibility, cpl, ctl, ctpl

__all__ = ["WORKED_EXAMPLES"]

_COMMODITIES = {"crude": CRUDE_OIL, "product": REFINED_PRODUCTS, "lube": LUBRICATING_OIL}
_SCALES: dict[str, Any] = {"API": density_from_api_gravity, "RD": density_from_relative_density}
_KPA = {"psi": KPA_PER_PSI, "kPa": 1.0, "bar": 100.0}


def _celsius(text: str) -> float:
    number, unit = text.split()
    return BASE_60F_C if text == "60 degF" else float(convert(float(number), unit, "degC"))


def _gauge_kpa(text: str) -> float:
    number, unit = text.split()
    return float(number) * _KPA[unit]


def _density(text: str) -> float:
    number, scale = text.split()
    return float(_SCALES.get(scale, float)(float(number)))


def _worked(
    temperature: str,
    density: str = "800 kg/m^3",
    base: str = "60 degF",
    pressure: str = "0 psi",
    commodity: str = "product",
    alpha_per_f: float | None = None,
    observed: str = "",
    observed_at: str = "",
    observed_pressure: str = "",
    volume: float = 1.0,
    per: str = "psi",
) -> dict[str, Any]:
    """Return every figure of an example, whose inputs are text in the units in which the standard prints them."""
    base_c, t, p = _celsius(base), _celsius(temperature), _gauge_kpa(pressure)
    which: dict[str, Any] = {"base_c": base_c, "commodity": _COMMODITIES[commodity]}
    if observed:
        rho = base_density(_density(observed), _celsius(observed_at), _gauge_kpa(observed_pressure), **which)
    else:
        rho = _density(density)
    if alpha_per_f is None:
        at_60f = base_density(rho, base_c, **which | {"base_c": BASE_60F_C})
        expansion: Expansion2004 = Procedure2004(_COMMODITIES[commodity]).expansion(at_60f)
        by_t, per_kpa = ctl(rho, t, **which), compressibility(rho, t, **which)
        by_p, both = cpl(rho, t, p, **which), ctpl(rho, t, p, **which)
    else:
        to_base = 1.0 if base_c == BASE_60F_C else given_expansion(1.0, alpha_per_f).ctl(degrees_from_60f(base_c))
        expansion = given_expansion(rho / to_base, alpha_per_f)
        degrees = degrees_from_60f(t)
        by_t, per_kpa = expansion.ctl(degrees) / to_base, expansion.compressibility_per_kpa(degrees)
        by_p = 1.0 / (1.0 - per_kpa * p)
        both = by_t * by_p
    rounded = round_factor(both)
    return {
        "CTL": by_t,
        "CPL": by_p,
        "CTPL": both,
        "Fp": per_kpa * 1e5 * _KPA[per],
        "base density": rho,
        "density": rho * both,
        "density from rounded CTPL": rho * rounded,
        "volume from rounded CTPL": volume * rounded,
        "temperature on IPTS-68": t68_f(t),
        "density at IPTS-68 60 degF": expansion.rho_star,
        "alpha at 60 degF": expansion.alpha_60,
    }


def _figure(name: str) -> Callable[..., float]:
    return lambda **given: float(_worked(**given)[name])


WORKED_EXAMPLES = {name: _figure(name) for name in _worked("60 degF")}
