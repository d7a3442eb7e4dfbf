"""Published values as data, each with its source, and each beside what the library computes."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from fuelunits.data_files import data_text
from fuelunits.errors import FuelUnitsError, MissingExtra
from fuelunits.reference.recipes import RECIPES, recompute
from fuelunits.sources import Sourced, source
from fuelunits.validation import format_value

__all__ = ["TOPICS", "PublishedValue", "Recomputed", "published"]

TOPICS = tuple(RECIPES)
"""The tables of published values."""


@dataclass(frozen=True, kw_only=True)
class PublishedValue(Sourced):
    """One published value: its table and kind, the inputs as printed, the printed value and its unit.

    A control is known to be wrong or of another edition, and must not reproduce. The tolerance is in the unit or in
    ``%``, empty for half a unit of the last printed digit; the note gives its reason, or what else to know.
    """

    topic: str
    what: str
    given: dict[str, str]
    printed: str
    unit: str
    control: bool
    tolerance: str
    note: str

    @property
    def value(self) -> float:
        """The printed value as a number."""
        return float(self.printed)

    @property
    def recalled(self) -> bool:
        """Whether it was recalled rather than read: it is then counted apart, and not as published."""
        return source(self.source).obtained == "memory"

    @property
    def allowed(self) -> float:
        """The largest deviation at which it still reproduces, in its unit."""
        if self.tolerance.endswith("%"):
            return abs(self.value) * float(self.tolerance[:-1]) / 100.0
        return float(self.tolerance or 0.5000001 * 10.0 ** int(Decimal(self.printed).as_tuple().exponent))

    def recomputed(self) -> Recomputed:
        """Return it beside what the library computes."""
        try:
            return Recomputed(self, recompute(self.topic, self.what, self.given), "")
        except MissingExtra as missing:
            return Recomputed(self, None, f"not computed: {missing}", skipped=True)
        except FuelUnitsError as refusal:
            return Recomputed(self, None, f"refused: {refusal}")


@dataclass(frozen=True)
class Recomputed:
    """A published value beside our own."""

    published: PublishedValue
    ours: float | None
    remark: str
    skipped: bool = False

    @property
    def deviation(self) -> float | None:
        """Ours less the printed one, in its unit."""
        return None if self.ours is None else self.ours - self.published.value

    @property
    def relative_deviation(self) -> float:
        """Size of the deviation relative to the printed value; absolute where that is 0, infinite if refused."""
        return float("inf") if self.deviation is None else abs(self.deviation) / (abs(self.published.value) or 1.0)

    @property
    def reproduces(self) -> bool:
        """Whether ours agrees with the printed one."""
        return self.deviation is not None and abs(self.deviation) <= self.published.allowed

    @property
    def passed(self) -> bool:
        """Whether a value reproduces, and a control does not; a value not computed passes."""
        return self.skipped or self.reproduces != self.published.control

    def __str__(self) -> str:
        value = self.published
        inputs = ", ".join(f"{name} {given}" for name, given in value.given.items())
        ours = self.remark or f"ours {self.ours:.10g}, allowed ±{value.allowed:.3g}"
        expected = "must not reproduce" if value.control else "should reproduce"
        return f"{value.topic}: {value.what} ({inputs}): printed {value.printed} {value.unit}, {expected}; {ours}"


@cache
def _topic(topic: str) -> tuple[PublishedValue, ...]:
    text = data_text(f"reference/{topic}.csv")
    return tuple(
        PublishedValue(
            topic=topic,
            given=dict(part.split("=", 1) for part in row.pop("given").split(";") if part),
            control={"check": False, "control": True}[row.pop("role")],
            **row,
        )
        for row in csv.DictReader(text.splitlines())
    )


def published(*topics: str) -> tuple[PublishedValue, ...]:
    """Return published values.

    Parameters
    ----------
    *topics : str
        Names in :data:`TOPICS`; all of them by default.

    Examples
    --------
    >>> published("units")[0].printed
    '0.0254'
    """
    unknown = [topic for topic in topics if not isinstance(topic, str) or topic not in TOPICS]
    if unknown:
        raise FuelUnitsError(f"no published values on {format_value(unknown[0])}; the topics are {', '.join(TOPICS)}")
    return tuple(value for topic in topics or TOPICS for value in _topic(topic))
