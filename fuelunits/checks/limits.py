"""What a decision on a density says of the fuel: limits that are not carried, doubtful batches, shares of batches."""

from __future__ import annotations

from typing import Any

from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.acceptance import remarks_of
from fuelunits.fuels.product import batch_of
from fuelunits.uncertainty.decisions import Verdict

__all__ = ["doubtful_batch", "estimated_share", "missing_limits", "remarks_on", "share_in_words"]


def missing_limits(fuel: Any) -> str:
    """Return which limits of a grade are not carried, in words; nothing where both are, or for what is no grade."""
    if not hasattr(fuel, "limit_liquids"):
        return ""
    lightest, densest = fuel.limit_liquids()
    if lightest is None and densest is None:
        return f"the specification of {fuel.name} sets no limits of density"
    side = "lower" if lightest is None else "upper" if densest is None else ""
    return f"no {side} limit of density is carried for {fuel.name}" if side else ""


def doubtful_batch(fuel: Any) -> str:
    """Return why a measured batch or a blend may not be the fuel that it is taken for; nothing where it may."""
    verdict = getattr(fuel, "verdict", None)
    return f"{fuel.name} is rejected: {fuel.reason}" if verdict is Verdict.REJECT else ""


def remarks_on(fuel: Any) -> tuple[str, ...]:
    """Return the remarks on a fuel, a batch or a blend that a report of a decision carries."""
    return tuple(filter(None, (missing_limits(fuel), doubtful_batch(fuel), *remarks_of(fuel))))


def estimated_share(
    fuel: Any, assumed_kg_m3: float, between_c: tuple[float, float], tolerance: float
) -> tuple[float, float] | None:
    """Return the least and largest share of batches, 0 to 1, for which a density holds over a range of temperatures.

    None where there are no data on how batches differ, see :meth:`fuelunits.Fuel.estimated_share`.
    """
    if getattr(fuel, "spread", None) is None:
        return None
    at_base = [
        [float(batch_of(fuel.liquid, density, celsius).density_kg_m3(fuel.base_c)) for celsius in between_c]
        for density in (assumed_kg_m3 / (1.0 + tolerance), assumed_kg_m3 / (1.0 - tolerance))
    ]
    low, high = max(at_base[0]), min(at_base[1])
    share: tuple[float, float] = fuel.estimated_share(low, high) if low < high else (0.0, 0.0)
    return share


def share_in_words(fuel: Any, assumed_kg_m3: float, between_c: tuple[float, float], tolerance: float) -> str:
    """Return the same in words, or why there is no estimate."""
    try:
        share = estimated_share(fuel, assumed_kg_m3, between_c, tolerance)
    except FuelUnitsError:
        return "not computed, the density is none of a petroleum fuel"
    if share is None:
        return "no data on how batches of this grade differ"
    low, high = (round(100.0 * each) for each in share)
    return f"{low} to {high} %" if low < high else f"{low} %"
