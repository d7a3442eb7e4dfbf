"""Recompute printed pairs of API gravity, relative density and density."""

from __future__ import annotations

from fuelunits.fuels.density_scales import density_from_api_gravity, relative_density_from_api_gravity

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Work out the other scale from an API gravity."""
    scale = {"relative density": relative_density_from_api_gravity, "density at 60 degF": density_from_api_gravity}
    return float(scale[what](float(given["api"])))
