"""Recompute published worked examples of fuel quantity."""

from __future__ import annotations

from fuelunits.conversion import convert
from fuelunits.quantities import magnitude, read_text

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Work out one example, in its own units."""
    volume, unit = read_text(given["volume"])
    mass_unit = read_text(given["density"])[1].partition("/")[0]
    mass = float(convert(float(volume), unit, mass_unit, density=given["density"]))
    if what == "mass":
        return mass if mass_unit == "lb" and unit == "gal" else float(convert(mass, mass_unit, "kg"))
    to_add = float(magnitude(given["needed"], "kg", name="needed")) - float(convert(mass, mass_unit, "kg"))
    return {"mass to add": to_add, "volume to add": float(convert(to_add, "kg", unit, density=given["density"]))}[what]
