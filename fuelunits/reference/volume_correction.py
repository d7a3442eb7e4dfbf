"""Recompute printed volume correction factors, base densities and expansions."""

from __future__ import annotations

from fuelunits.conversion import convert
from fuelunits.fuels.commodities import CRUDE_OIL, LUBRICATING_OIL, REFINED_PRODUCTS
from fuelunits.fuels.density_scales import BASE_60F_C, api_gravity_from_density, density_from_api_gravity
from fuelunits.fuels.volume_correction import base_density, ctl, expansion_coefficient

__all__ = ["recompute"]

_COMMODITIES = {"crude": CRUDE_OIL, "product": REFINED_PRODUCTS, "lube": LUBRICATING_OIL}


def recompute(what: str, given: dict[str, str]) -> float:
    """Work out one printed value with the edition that printed it."""
    return float(_RECOMPUTE[what](given))


def _vcf(given: dict[str, str]) -> float:
    density, temperature_c = float(given["density"]), float(given["temperature_c"])
    return float(ctl(density, temperature_c, edition=1980 if given["edition"] == "1980" else 2004))


def _vcf_from_api(given: dict[str, str]) -> float:
    density = density_from_api_gravity(float(given["api"]), edition=1980)
    return float(ctl(density, _celsius(given), base_c=BASE_60F_C, edition=1980))


def _hydrometer_api(given: dict[str, str]) -> float:
    observed = density_from_api_gravity(float(given["api"]), edition=1980)
    at_60f = base_density(observed, _celsius(given), base_c=BASE_60F_C, edition=1980, glass_hydrometer=True)
    return float(api_gravity_from_density(at_60f, edition=1980))


def _hydrometer_15(given: dict[str, str]) -> float:
    density, temperature_c = float(given["density"]), float(given["temperature_c"])
    return float(base_density(density, temperature_c, edition=1980, glass_hydrometer=True))


def _expansion(given: dict[str, str]) -> float:
    return 1000.0 * float(expansion_coefficient(float(given["density"]), edition=1980))


def _density_limit(given: dict[str, str]) -> float:
    at_60f, commodity = float(given["density_60f"]), _COMMODITIES[given["commodity"]]
    return at_60f * float(ctl(at_60f, float(given["base_c"]), base_c=BASE_60F_C, commodity=commodity))


def _celsius(given: dict[str, str]) -> float:
    return float(convert(float(given["temperature_f"]), "degF", "degC"))


_RECOMPUTE = {
    "VCF": _vcf,
    "VCF from API gravity": _vcf_from_api,
    "API gravity at 60 degF from a hydrometer": _hydrometer_api,
    "density at 15 degC from a hydrometer": _hydrometer_15,
    "expansion at 15 degC": _expansion,
    "density limit": _density_limit,
}
