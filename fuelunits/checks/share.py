"""An estimate of the share of batches of a grade for which a fixed density holds."""

from __future__ import annotations

from typing import Any

from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.product import batch_of

__all__ = ["estimated_share", "share_in_words"]


def estimated_share(
    fuel: Any, assumed_kg_m3: float, between_c: tuple[float, float], tolerance: float
) -> tuple[float, float] | None:
    """Return the least and the largest share of batches for which a density holds over a range of temperatures.

    Parameters
    ----------
    fuel : Fuel
        A grade; anything else has no batches.
    assumed_kg_m3 : float
        The fixed density, kg/m³.
    between_c : (float, float)
        Temperatures, °C.
    tolerance : float
        Relative, below 1.

    Returns
    -------
    (float, float) or None
        0 to 1; None where there are no data on how batches differ, see :meth:`fuelunits.Fuel.estimated_share`.

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> [round(share, 2) for share in estimated_share(fuel("Jet A"), 802.84, (15.0, 15.0), 0.02)]
    [0.79, 0.98]
    """
    if getattr(fuel, "spread", None) is None:
        return None
    allowed = (assumed_kg_m3 / (1.0 + tolerance), assumed_kg_m3 / (1.0 - tolerance))
    at_base = [
        [float(batch_of(fuel.liquid, density, celsius).density_kg_m3(fuel.base_c)) for celsius in between_c]
        for density in allowed
    ]
    low, high = max(at_base[0]), min(at_base[1])
    share: tuple[float, float] = fuel.estimated_share(low, high) if low < high else (0.0, 0.0)
    return share


def share_in_words(fuel: Any, assumed_kg_m3: float, between_c: tuple[float, float], tolerance: float) -> str:
    """Return the same in words, or why there is no estimate."""
    try:
        share = estimated_share(fuel, assumed_kg_m3, between_c, tolerance)
    except (FuelUnitsError, ZeroDivisionError):
        return "not computed, the density is none of a petroleum fuel"
    if share is None:
        return "no data on how batches of this grade differ"
    low, high = (round(100.0 * each) for each in share)
    return f"{low} to {high} %" if low < high else f"{low} %"
