"""Recompute published densities of pure liquids through CoolProp, where that is installed."""

from __future__ import annotations

from fuelunits.fuels.pure import pure_liquid

__all__ = ["recompute"]

_ATMOSPHERE_PA = 101_325.0


def recompute(what: str, given: dict[str, str]) -> float:
    """Give our density of a published one, kg/m³, at a temperature in °C and an absolute pressure in Pa.

    Examples
    --------
    >>> round(recompute("density", {"liquid": "water", "temperature_c": "25", "pressure_pa": "101325"}), 3)
    997.048
    """
    gauge_pressure_kpa = (float(given["pressure_pa"]) - _ATMOSPHERE_PA) / 1000.0
    kinds = {"density": pure_liquid(given["liquid"]).density_kg_m3}
    return float(kinds[what](float(given["temperature_c"]), gauge_pressure_kpa))
