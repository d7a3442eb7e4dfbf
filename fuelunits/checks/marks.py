"""What a reader must know of the figures behind a density: recalled, stand-ins, midpoints, limits that are not set."""

from __future__ import annotations

from typing import Any

__all__ = ["figure_remarks", "missing_limits"]


def figure_remarks(fuel: Any) -> tuple[str, ...]:
    """Return the remarks on the figures that decide the density of a fuel, a batch or a blend; none for a liquid.

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> figure_remarks(fuel("TS-1"))
    ('TS-1: typical 785.0 kg/m³ at 20 °C (from memory); at least 775.0 kg/m³ at 20 °C (from memory)',)
    """
    said: tuple[str, ...] = fuel.remarks() if hasattr(fuel, "remarks") else ()
    return said


def missing_limits(fuel: Any) -> str:
    """Return which limits of a grade are not carried, in words; nothing where both are, or for what is no grade.

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> missing_limits(fuel("TS-1")), missing_limits(fuel("Jet A"))
    ('no upper limit of density is carried for TS-1', '')
    """
    if not hasattr(fuel, "limit_liquids"):
        return ""
    lightest, densest = fuel.limit_liquids()
    if lightest is None and densest is None:
        return f"the specification of {fuel.name} sets no limits of density"
    side = "lower" if lightest is None else "upper" if densest is None else ""
    return f"no {side} limit of density is carried for {fuel.name}" if side else ""
