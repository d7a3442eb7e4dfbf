"""The package's data files, the sources of their numbers, and the ranges in which those hold.

A source is an entry of ``sources.toml``: title, edition, locator, and how its figures were obtained. A record of a
number names its source by `key`, and cannot be created without one.
"""

from __future__ import annotations

import pkgutil
import re
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from fuelunits.errors import OutOfRange, QuantityError, SourceError
from fuelunits.validation import format_value, print_unit

OnOutOfRange = Literal["raise", "nan"]


def data_text(path: str) -> str:
    """Return the text of a file of the package, by its path below ``fuelunits``."""
    data = pkgutil.get_data("fuelunits", path)  # a tenth of the import time of importlib.resources
    assert data is not None
    return data.decode("utf-8")


@cache
def data_table(path: str) -> dict[str, Any]:
    """Return the content of a TOML file of the package."""
    import tomllib

    return tomllib.loads(data_text(path))


@dataclass(frozen=True)
class Source:
    """One publication, data set or practice, with the terms under which its figures may be used."""

    key: str
    title: str
    edition: str
    locator: str
    obtained: str
    address: str = ""
    note: str = ""
    terms: str = ""
    attribution: str = ""

    def __str__(self) -> str:
        return f"{self.title}, {self.edition}, {self.locator} ({self.obtained})"


@dataclass(frozen=True, kw_only=True)
class Sourced:
    """Base of every record of a number: it cannot be created without a source."""

    source: str

    def __post_init__(self) -> None:
        if not isinstance(self.source, str) or not self.source:
            raise SourceError(f"{type(self).__name__} has no source; give the key of an entry of sources.toml")
        if self.source not in _keys():
            source(self.source)  # refuses it


@cache
def _keys() -> frozenset[str]:
    return frozenset(re.findall(r"^\[(\w+)\]", data_text("sources.toml"), re.MULTILINE))


@cache
def all_sources() -> dict[str, Source]:
    """Return every source, by key.

    Examples
    --------
    >>> all_sources()["nist_sp811_b8"].obtained
    'secondary'
    """
    return {key: Source(key=key, **entry) for key, entry in data_table("sources.toml").items()}


def source(key: str) -> Source:
    """Return one source by its key.

    Examples
    --------
    >>> source("ucum").title
    'The Unified Code for Units of Measure, essence file'
    """
    if isinstance(key, str) and key in all_sources():
        return all_sources()[key]
    raise SourceError(f"there is no source {format_value(key)} in sources.toml")


@dataclass(frozen=True)
class Range:
    """A closed range of a named quantity, and the source that sets it: a key of ``sources.toml`` or a statement."""

    name: str
    low: float
    high: float
    unit: str
    source: str

    def contains(self, value: Any) -> Any:
        """Return, element by element, whether a value lies within the range. NaN does not."""
        # with a slack, so that 302 °F counted as 150.00000000000003 °C still passes
        low, high = (1e-12 * (1.0 + abs(limit)) for limit in (self.low, self.high))
        return (value >= self.low - low) & (value <= self.high + high)

    def check(self, value: Any, out_of_range: OnOutOfRange = "raise") -> Any:
        """Return a float or an array, NaN like NaN, or refuse its first value outside; ``"nan"`` makes that NaN."""
        if not isinstance(out_of_range, str) or out_of_range not in ("raise", "nan"):
            raise QuantityError(f"out_of_range must be 'raise' or 'nan'; got {format_value(out_of_range)}")
        if isinstance(value, float) and self.low <= value <= self.high:
            return value
        import numpy as np

        if type(value) is np.ndarray and value.size and self.low <= value.min() and value.max() <= self.high:
            return value
        inside = self.contains(value)
        if np.all(inside):
            return value
        outside = np.ma.filled(np.logical_not(inside) & ~np.isnan(value), False)  # a masked cell is no value
        if not outside.any():
            return value
        if out_of_range == "nan":
            if hasattr(value, "where"):
                return value.where(inside)
            where = np.ma.where if isinstance(value, np.ma.MaskedArray) else np.where
            return where(outside, np.nan, value) if outside.ndim else np.nan
        first = float(np.asarray(value)[outside].flat[0])
        unit, entry = print_unit(self.unit), all_sources().get(self.source)
        origin = f"{entry.title}, {entry.edition}" if entry else self.source
        limits = f"{self.low:g} to {self.high:g} {unit} (source: {origin})"
        raise OutOfRange(f"{self.name}: {first:g} {unit} is outside its range, {limits}", value=first, **vars(self))
