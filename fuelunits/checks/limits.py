"""Which limits of density a grade does not carry."""

from __future__ import annotations

from typing import Any

__all__ = ["missing_limits"]


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
