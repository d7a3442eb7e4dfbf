"""The editions of the volume correction that are carried, by year."""

from __future__ import annotations

import numpy as np

from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.edition_1980 import Procedure1980
from fuelunits.fuels.edition_2004 import Procedure2004
from fuelunits.fuels.procedure import Procedure
from fuelunits.validation import format_value

__all__ = ["EDITIONS", "edition_of"]

EDITIONS: dict[int, type[Procedure]] = {
    2004: Procedure2004,
    1980: Procedure1980,
}


def edition_of(year: int) -> type[Procedure]:
    """Return the procedure of an edition, or refuse a year that has none."""
    if isinstance(year, (int, np.integer)) and year in EDITIONS:
        return EDITIONS[int(year)]
    raise FuelUnitsError(f"edition must be {' or '.join(map(str, EDITIONS))}; got {format_value(year)}")
