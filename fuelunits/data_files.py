"""The data files of the package: figures of fuels, sources, units, published values."""

from __future__ import annotations

import pkgutil
from typing import Any


def data_text(path: str) -> str:
    """Return the text of a file of the package, by its path below ``fuelunits``."""
    data = pkgutil.get_data("fuelunits", path)  # a tenth of the import time of importlib.resources
    assert data is not None
    return data.decode("utf-8")


def data_table(path: str) -> dict[str, Any]:
    """Return the content of a TOML file of the package."""
    import tomllib

    return tomllib.loads(data_text(path))
