"""Published arithmetic of the fuel for a flight and its reserve."""

from __future__ import annotations

from fuelunits.errors import SourceError
from fuelunits.indicators import endurance

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Compute our value of a published figure, in gallons.

    Parameters
    ----------
    what : str
        Kind of value, from the first column of ``endurance.csv``.
    given : dict of str to str
        Its inputs.
    """
    if what == "fuel with reserve":
        reserve: endurance.Reserve = getattr(endurance, given["reserve"])
        return float(reserve.fuel_required(given["flight"], given["flow"], "gal").magnitude)
    raise SourceError(f"endurance.csv: there is no kind of value {what!r}")
