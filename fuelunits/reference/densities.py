"""Recompute measured densities of petroleum fuels from their own density at another temperature."""

from __future__ import annotations

from fuelunits.fuels.product import PetroleumProduct
from fuelunits.units import factor

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Carry a density from one temperature to another by the petroleum procedure."""
    unit = {"density": "kg/m^3", "avgas in lb/gal": "lb/gal"}[what]
    density = float(given["density"]) * factor(unit, "kg/m^3")
    product = PetroleumProduct.observed(density, float(given["at_c"]))
    return float(product.density_kg_m3(float(given["temperature_c"]))) * factor("kg/m^3", unit)
