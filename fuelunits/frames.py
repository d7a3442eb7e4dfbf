"""The rows of a result as a pandas data frame, where pandas is installed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from fuelunits.errors import MissingExtra

__all__ = ["frame"]


def frame(rows: Iterable[Mapping[str, Any]]) -> Any:
    """Make a data frame of rows.

    Parameters
    ----------
    rows : iterable of mapping
        One mapping from column to value for each row; the names of the columns carry the units.

    Returns
    -------
    pandas.DataFrame

    Raises
    ------
    MissingExtra
        If pandas is not installed.
    """
    try:
        import pandas as pd
    except ImportError as missing:
        raise MissingExtra("a data frame needs pandas: pip install pandas; as_dict() does without") from missing
    return pd.DataFrame(list(rows))
