"""Recompute the printed compressibilities of crude oil, by its density at temperature."""

from __future__ import annotations

from fuelunits.fuels.commodities import CRUDE_OIL
from fuelunits.fuels.edition_1980 import compressibility_per_kpa
from fuelunits.fuels.volume_correction import base_density

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Work it out with the metric equation of 1984, in 1e-3/MPa."""
    return {"compressibility of crude oil": _crude_oil}[what](given)


def _crude_oil(given: dict[str, str]) -> float:
    temperature_c = float(given["temperature_c"])
    at_15c = base_density(float(given["density"]), temperature_c, commodity=CRUDE_OIL)
    return 1e6 * float(compressibility_per_kpa(at_15c, temperature_c))
