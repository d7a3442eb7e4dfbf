"""The sources of the numbers.

A source is an entry of ``sources.toml``: title, edition, locator, and how its figures were obtained. A record of a
number names its source by key, and cannot be created without one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from fuelunits.data_files import data_table, data_text
from fuelunits.errors import SourceError
from fuelunits.validation import format_value

OBTAINED = {
    "seen": "read in a public document",
    "secondary": "read in a transcription or summary by others",
    "dataset": "taken from an open data file",
    "common practice": "a fact of the trade, without a citable source",
    "memory": "recalled, not read; every result that rests on it says so",
    "derived": "follows by arithmetic from figures whose sources are named",
}
"""The ways in which a figure can have been obtained, and what each means."""


@dataclass(frozen=True)
class Source:
    """One publication, data set or practice, by its key in ``sources.toml``.

    ``obtained`` is one of :data:`OBTAINED`; the address is where it was read; ``terms`` are those under which its
    figures may be used, ``attribution`` the words of credit for which they ask, as in NOTICE.
    """

    key: str
    title: str
    edition: str
    locator: str
    obtained: str
    address: str = ""
    note: str = ""
    terms: str = ""
    attribution: str = ""

    def __post_init__(self) -> None:
        if self.obtained not in OBTAINED:
            raise SourceError(f"source {self.key!r}: obtained is {self.obtained!r}; write one of {', '.join(OBTAINED)}")
        for field in ("title", "edition", "locator"):
            if not getattr(self, field):
                raise SourceError(f"source {self.key!r} has no {field}")

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
            raise _unknown(self.source)


@lru_cache(maxsize=1)
def _keys() -> frozenset[str]:
    """Return the keys of all sources, without the time of reading the whole table."""
    return frozenset(re.findall(r"^\[(\w+)\]", data_text("sources.toml"), re.MULTILINE))


@lru_cache(maxsize=1)
def all_sources() -> dict[str, Source]:
    """Return every source, by key.

    Examples
    --------
    >>> all_sources()["nist_sp811_b8"].obtained
    'secondary'
    """
    return {key: Source(key=key, **entry) for key, entry in data_table("sources.toml").items()}


def source(key: str) -> Source:
    """Return one source.

    Parameters
    ----------
    key : str

    Examples
    --------
    >>> source("ucum").title
    'The Unified Code for Units of Measure, essence file'
    """
    if isinstance(key, str) and key in all_sources():
        return all_sources()[key]
    raise _unknown(key)


def _unknown(key: object) -> SourceError:
    return SourceError(f"there is no source {format_value(key)} in sources.toml")
