"""What a decision on a density must say of the fuel: limits that are not carried, doubtful batches, its figures."""

from __future__ import annotations

from typing import Any

from fuelunits.uncertainty.decisions import Verdict

__all__ = ["doubtful_batch", "missing_limits", "remarks_on"]


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


def doubtful_batch(fuel: Any) -> str:
    """Return why a measured batch or a blend may not be the fuel that it is taken for; nothing where it may.

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> doubtful_batch(fuel("100LL").measured("0.80 kg/L")).partition(":")[0]
    '100LL, measured is rejected'
    """
    verdict = getattr(fuel, "verdict", None)
    return f"{fuel.name} is rejected: {fuel.reason}" if verdict is Verdict.REJECT else ""


def remarks_on(fuel: Any) -> tuple[str, ...]:
    """Return the remarks on a fuel, a batch or a blend that a report of a decision carries.

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> remarks_on(fuel("100LL"))
    ('the specification of 100LL sets no limits of density',)
    """
    own = fuel.remarks() if hasattr(fuel, "remarks") else ()
    return tuple(filter(None, (missing_limits(fuel), doubtful_batch(fuel), *own)))
