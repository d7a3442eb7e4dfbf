"""Recompute every published value, and report by source how many of them reproduce."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from fuelunits.reference.values import PublishedValue, Recomputed, published
from fuelunits.reports import Report, Reporting, Table, format_percent, plain, source_title

__all__ = ["Summary", "Verification", "verify"]


@dataclass(frozen=True)
class Summary:
    """Result for the values of one source within a topic: how many were computed, reproduced, are controls."""

    topic: str
    source: str
    title: str
    checks: int
    reproduced: int
    controls: int
    not_computed: int
    largest_relative_deviation: float
    passed: bool

    @classmethod
    def of(cls, topic: str, source: str, results: list[Recomputed]) -> Summary:
        """Sum up the values of a source; a deviation from a printed 0 counts as it is."""
        computed = [each for each in results if not each.skipped]
        checks = [each for each in computed if not each.published.control]
        return cls(
            topic,
            source,
            source_title(source),
            checks=len(checks),
            reproduced=sum(each.reproduces for each in checks),
            controls=len(computed) - len(checks),
            not_computed=len(results) - len(computed),
            largest_relative_deviation=max((each.relative_deviation for each in checks), default=0.0),
            passed=all(each.passed for each in results),
        )


@dataclass(frozen=True, repr=False)
class Verification(Reporting):
    """Result of :func:`verify`: every value recomputed, with the verdict and a summary for each source."""

    results: tuple[Recomputed, ...]

    @property
    def passed(self) -> bool:
        """Whether every check reproduces and no control does."""
        return not self.failures

    @property
    def failures(self) -> tuple[Recomputed, ...]:
        """The checks that do not reproduce and the controls that do."""
        return tuple(each for each in self.results if not each.passed)

    @property
    def summaries(self) -> tuple[Summary, ...]:
        """One summary for each source within a topic."""
        grouped: dict[tuple[str, str], list[Recomputed]] = {}
        for each in self.results:
            grouped.setdefault((each.published.topic, each.published.source), []).append(each)
        return tuple(Summary.of(*key, group) for key, group in grouped.items())

    @property
    def verdict(self) -> str:
        """PASSED or FAILED, and how many values reproduce, in one line."""
        computed = [each for each in self.results if not each.skipped]
        controls = [each for each in computed if each.published.control]
        read, recalled = (
            [each.reproduces for each in computed if not each.published.control and each.published.recalled is memory]
            for memory in (False, True)
        )
        parts = [f"{sum(read)} of {len(read)} published values reproduced"]
        if controls:
            parts.append(f"{sum(each.passed for each in controls)} of {len(controls)} controls correctly rejected")
        if recalled:
            parts.append(f"{sum(recalled)} of {len(recalled)} recalled values agree")
        if skipped := len(self.results) - len(computed):
            parts.append(f"{skipped} not computed, an extra is not installed")
        return f"{'PASSED' if self.passed else 'FAILED'}: {'; '.join(parts)}"

    def report(self) -> Report:
        """Return a row for each source, the failures and the verdict."""
        rows = [
            {
                "topic": each.topic.replace("_", " "),
                "agree": f"{each.reproduced}/{each.checks}",
                "controls": str(each.controls) if each.controls else None,
                "largest deviation": format_percent(each.largest_relative_deviation, digits=2),
                "source": each.title,
            }
            for each in self.summaries
        ]
        failures = [f"Failed: {each}" for each in self.failures]
        return Report("Published values recomputed", self.verdict, tables=[Table.of(rows)], remarks=failures)

    def rows(self) -> Sequence[Any]:
        """Return one row for each source within a topic."""
        return self.summaries

    def as_dict(self) -> dict[str, Any]:
        """Return the verdict, the sources and the failures as plain JSON types."""
        found = {"passed": self.passed, "verdict": self.verdict, "sources": self.summaries}
        return {**plain(found), "failures": [str(each) for each in self.failures]}


def verify(values: Iterable[PublishedValue] | None = None) -> Verification:
    """Return published values recomputed, with the verdict.

    Parameters
    ----------
    values : iterable of PublishedValue, optional
        All of them by default.

    Examples
    --------
    >>> print(verify(published("density_scales")).verdict)
    PASSED: 26 of 26 published values reproduced; 1 of 1 controls correctly rejected
    """
    return Verification(tuple(value.recomputed() for value in (published() if values is None else values)))
