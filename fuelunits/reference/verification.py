"""Published values as data, each beside what the library computes, and the report on all of them by source.

A value is reproduced when ours rounds to the printed digits, or lies within the tolerance that its row states with the
reason. A row known to be wrong in print, or of another edition, is a control: it must not be reproduced. Without
`topics`, names in :data:`TOPICS`, or `values`, each a :class:`PublishedValue`, all of them are meant.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache, cached_property
from math import inf
from typing import Any

from fuelunits.errors import FuelUnitsError, MissingExtra
from fuelunits.reference.recipes import RECIPES, recompute
from fuelunits.reports import Report, Reporting, Table, format_percent, source_title
from fuelunits.sources import Sourced, data_text
from fuelunits.validation import format_value

TOPICS = tuple(RECIPES)
"""The tables of published values."""


@dataclass(frozen=True, kw_only=True)
class PublishedValue(Sourced):
    """One published value as printed, and ours; its tolerance is in its unit or ``%``, empty for half a last digit."""

    topic: str
    what: str
    given: dict[str, str]
    printed: str
    unit: str
    control: bool
    tolerance: str
    note: str

    @property
    def allowed(self) -> float:
        """The largest deviation at which it still reproduces, in its unit."""
        if self.tolerance.endswith("%"):
            return abs(float(self.printed)) * float(self.tolerance[:-1]) / 100.0
        return float(self.tolerance or 0.5000001 * 10.0 ** int(Decimal(self.printed).as_tuple().exponent))

    @cached_property
    def ours(self) -> float | str:
        """What the library computes, or why it does not."""
        try:
            return recompute(self.topic, self.what, self.given)
        except MissingExtra as missing:
            return f"not computed: {missing}"
        except FuelUnitsError as refusal:
            return f"refused: {refusal}"

    @property
    def skipped(self) -> bool:
        """Whether it is not computed, because an extra is not installed."""
        return str(self.ours).startswith("not computed")

    @property
    def deviation(self) -> float | None:
        """Ours less the printed one, in its unit."""
        return None if isinstance(self.ours, str) else self.ours - float(self.printed)

    @property
    def reproduces(self) -> bool:
        """Whether ours agrees with the printed one."""
        return self.deviation is not None and abs(self.deviation) <= self.allowed

    @property
    def passed(self) -> bool:
        """Whether a value reproduces, and a control does not; a value not computed passes."""
        return self.skipped or self.reproduces != self.control

    def __str__(self) -> str:
        inputs = ", ".join(f"{name} {given}" for name, given in self.given.items())
        ours = self.ours if isinstance(self.ours, str) else f"ours {self.ours:.10g}, allowed ±{self.allowed:.3g}"
        expected = "must not reproduce" if self.control else "should reproduce"
        return f"{self.topic}: {self.what} ({inputs}): printed {self.printed} {self.unit}, {expected}; {ours}"


@cache
def _topic(topic: str) -> tuple[PublishedValue, ...]:
    return tuple(
        PublishedValue(
            topic=topic,
            given=dict(part.split("=", 1) for part in row.pop("given").split(";") if part),
            control={"check": False, "control": True}[row.pop("role")],
            **row,
        )
        for row in csv.DictReader(data_text(f"reference/{topic}.csv").splitlines())
    )


def published(*topics: str) -> tuple[PublishedValue, ...]:
    """Return the published values of some topics, by default of all.

    Examples
    --------
    >>> published("units")[0].printed
    '0.0254'
    """
    unknown = [topic for topic in topics if not isinstance(topic, str) or topic not in TOPICS]
    if unknown:
        raise FuelUnitsError(f"no published values on {format_value(unknown[0])}; the topics are {', '.join(TOPICS)}")
    return tuple(value for topic in topics or TOPICS for value in _topic(topic))


@dataclass(frozen=True, repr=False)
class Verification(Reporting):
    """Result of :func:`verify`: every value recomputed, with the verdict and a summary for each source."""

    results: tuple[PublishedValue, ...] = field(repr=False)
    _plain = ("passed", "verdict", "rows", "failures")

    @property
    def passed(self) -> bool:
        """Whether every check reproduces and no control does."""
        return not self.failures

    @property
    def failures(self) -> tuple[PublishedValue, ...]:
        """The checks that do not reproduce and the controls that do."""
        return tuple(each for each in self.results if not each.passed)

    def rows(self) -> list[dict[str, Any]]:
        """Return, by topic and source, how many values reproduce, the controls, and the largest deviation."""
        grouped: dict[tuple[str, str], list[PublishedValue]] = {}
        for each in self.results:
            grouped.setdefault((each.topic, each.source), []).append(each)
        rows = []
        for (topic, key), results in grouped.items():
            computed = [each for each in results if not each.skipped]
            checks = [each for each in computed if not each.control]
            off = [inf if e.deviation is None else abs(e.deviation) / (abs(float(e.printed)) or 1.0) for e in checks]
            rows.append(
                {
                    "topic": topic,
                    "source": key,
                    "title": source_title(key),
                    "checks": len(checks),
                    "reproduced": sum(each.reproduces for each in checks),
                    "controls": len(computed) - len(checks),
                    "not_computed": len(results) - len(computed),
                    "largest_relative_deviation": max(off, default=0.0),
                    "passed": all(each.passed for each in results),
                }
            )
        return rows

    @property
    def verdict(self) -> str:
        """PASSED or FAILED, and how many values reproduce, in one line."""
        read, controls = "published values reproduced", "controls correctly rejected"
        passed: dict[str, list[bool]] = {read: [], controls: []}
        for each in self.results:
            if not each.skipped:
                passed[controls if each.control else read].append(each.passed)
        parts = [f"{sum(found)} of {len(found)} {words}" for words, found in passed.items() if found or words == read]
        skipped = sum(each.skipped for each in self.results)
        parts += [f"{skipped} not computed, an extra is not installed"] * bool(skipped)
        return f"{'PASSED' if self.passed else 'FAILED'}: {'; '.join(parts)}"

    def report(self) -> Report:
        rows = [
            {
                "topic": each["topic"].replace("_", " "),
                "agree": f"{each['reproduced']}/{each['checks']}",
                "controls": each["controls"] or None,
                "largest deviation": format_percent(each["largest_relative_deviation"], digits=2),
                "source": each["title"],
            }
            for each in self.rows()
        ]
        failures = [f"Failed: {each}" for each in self.failures]
        return Report("Published values recomputed", self.verdict, tables=[Table.of(rows)], remarks=failures)


def verify(values: Iterable[PublishedValue] | None = None) -> Verification:
    """Return published values, by default all, recomputed, with the verdict.

    Examples
    --------
    >>> print(verify(published("density_scales")).verdict)
    PASSED: 26 of 26 published values reproduced; 1 of 1 controls correctly rejected
    """
    return Verification(tuple(map(replace, published() if values is None else values)))
