"""Recompute standard weights, as statements about a grade at a temperature."""

from __future__ import annotations

from fuelunits.fuels.grades import fuel
from fuelunits.quantities import magnitude, read_text
from fuelunits.units import factor

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Work out one statement."""
    return float(_RECOMPUTE[what](given))


def _typical(given: dict[str, str]) -> float:
    return _lb_gal(fuel(given["fuel"]).density_kg_m3(15.0))


def _density(given: dict[str, str]) -> float:
    return _lb_gal(fuel(given["fuel"]).density_kg_m3(float(given["temperature_c"])))


def _fall(given: dict[str, str]) -> float:
    grade = fuel(given["fuel"])
    return _lb_gal(grade.density_kg_m3(15.0) - grade.density_kg_m3(30.0))


def _nearest_allowed(given: dict[str, str]) -> float:
    unit = read_text(given["density"])[1]
    kg_m3 = magnitude(given["density"], "kg/m^3", name="density")
    low, high = fuel(given["fuel"]).density_limits_kg_m3(15.0)
    return float(min(max(kg_m3, low), high)) * factor("kg/m^3", unit)


def _lb_gal(density_kg_m3: float) -> float:
    return float(density_kg_m3) * factor("kg/m^3", "lb/gal")


def _per_cubic_foot(given: dict[str, str]) -> float:
    return float(given["density"]) * factor("lb/gal", "lb/ft3")


_RECOMPUTE = {
    "typical density at 15 degC": _typical,
    "density": _density,
    "fall of density from 15 to 30 degC": _fall,
    "nearest density allowed at 15 degC": _nearest_allowed,
    "lb/ft3 from lb/gal": _per_cubic_foot,
}
