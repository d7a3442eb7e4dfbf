"""Recompute the printed unit factors."""

from __future__ import annotations

from fuelunits.units import factor

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Give the factor between two units."""
    return {"factor": factor}[what](given["from"], given["to"])
