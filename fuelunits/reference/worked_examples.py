"""How the worked examples of the 2004 volume correction are worked out with the library."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fuelunits.conversion import convert
from fuelunits.fuels import commodities
from fuelunits.fuels import density_scales as scales
from fuelunits.fuels import edition_2004 as edition
from fuelunits.fuels import volume_correction as correction
from fuelunits.fuels.commodities import BASE_60F_C

_COMMODITIES = {
    "crude": commodities.CRUDE_OIL,
    "product": commodities.REFINED_PRODUCTS,
    "lube": commodities.LUBRICATING_OIL,
}
_SCALES: dict[str, Any] = {"API": scales.density_from_api_gravity, "RD": scales.density_from_relative_density}
_KPA = {"psi": edition.KPA_PER_PSI, "kPa": 1.0, "bar": 100.0}


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
    rho = _density(observed or density)
    if observed:
        rho = correction.base_density(rho, _celsius(observed_at), _gauge_kpa(observed_pressure), **which)
    if alpha_per_f is None:
        at_60f = correction.base_density(rho, base_c, **which | {"base_c": BASE_60F_C})
        expansion: edition.Expansion2004 = edition.Procedure2004(_COMMODITIES[commodity]).expansion(at_60f)
        by_t, per_kpa = correction.ctl(rho, t, **which), correction.compressibility(rho, t, **which)
        by_p, both = correction.cpl(rho, t, p, **which), correction.ctpl(rho, t, p, **which)
    else:
        own = edition.given_expansion(1.0, alpha_per_f)
        to_base = 1.0 if base_c == BASE_60F_C else own.ctl(edition.degrees_from_60f(base_c))
        expansion = edition.given_expansion(rho / to_base, alpha_per_f)
        degrees = edition.degrees_from_60f(t)
        by_t, per_kpa = expansion.ctl(degrees) / to_base, expansion.compressibility_per_kpa(degrees)
        by_p = 1.0 / (1.0 - per_kpa * p)
        both = by_t * by_p
    rounded = correction.round_factor(both)
    return {
        "CTL": by_t,
        "CPL": by_p,
        "CTPL": both,
        "Fp": per_kpa * 1e5 * _KPA[per],
        "base density": rho,
        "density": rho * both,
        "density from rounded CTPL": rho * rounded,
        "volume from rounded CTPL": volume * rounded,
        "temperature on IPTS-68": edition.t68_f(t),
        "density at IPTS-68 60 degF": expansion.rho_star,
        "alpha at 60 degF": expansion.alpha_60,
    }


def _figure(name: str) -> Callable[..., float]:
    return lambda **given: float(_worked(**given)[name])


WORKED_EXAMPLES = {name: _figure(name) for name in _worked("60 degF")}
