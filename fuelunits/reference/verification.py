"""Recompute every published value, and report by source how many of them reproduce."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from fuelunits.reference.values import PublishedValue, Recomputed, published
from fuelunits.reports import Report, Reporting, Table, format_percent, source_title

__all__ = ["Summary", "Verification", "verify"]


@dataclass(frozen=True)
class Summary:
    """Result for the values of one source within a topic."""

    topic: str
    source: str
    results: tuple[Recomputed, ...]

    @cached_property
    def checks(self) -> tuple[Recomputed, ...]:
        """Its values that should reproduce and were computed."""
        return tuple(each for each in self.results if not each.published.control and not each.skipped)

    @property
    def controls(self) -> tuple[Recomputed, ...]:
        """Its values that must not reproduce and were computed."""
        return tuple(each for each in self.results if each.published.control and not each.skipped)

    @property
    def reproduced(self) -> int:
        """How many of the checks reproduce."""
        return sum(each.reproduces for each in self.checks)

    @property
    def largest_deviation(self) -> float:
        """Largest deviation of a check, relative to the printed value (absolute where that is 0)."""
        return max((each.relative_deviation for each in self.checks), default=0.0)

    def as_row(self) -> dict[str, Any]:
        """Return it as plain JSON types."""
        return {
            "topic": self.topic,
            "source": self.source,
            "title": source_title(self.source),
            "checks": len(self.checks),
            "reproduced": self.reproduced,
            "controls": len(self.controls),
            "not_computed": sum(each.skipped for each in self.results),
            "largest_relative_deviation": self.largest_deviation,
            "passed": all(each.passed for each in self.results),
        }


@dataclass(frozen=True, repr=False)
class Verification(Reporting):
    """Result of :func:`verify`: every value recomputed, with the verdict and a summary for each source.

    Examples
    --------
    >>> verify(published("standard_weights")).passed
    True
    """

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
        return tuple(Summary(topic, key, tuple(group)) for (topic, key), group in grouped.items())

    @property
    def verdict(self) -> str:
        """PASSED or FAILED, and how many values reproduce, in one line."""
        computed = [each for each in self.results if not each.skipped]
        checks = [each for each in computed if not each.published.control and not each.published.recalled]
        recalled = [each for each in computed if not each.published.control and each.published.recalled]
        controls = [each for each in computed if each.published.control]
        parts = [f"{sum(each.reproduces for each in checks)} of {len(checks)} published values reproduced"]
        if controls:
            rejected, of = sum(each.passed for each in controls), len(controls)
            share = "all" if rejected == of else f"{rejected} of"
            count = "the control" if rejected == of == 1 else f"{share} {of} controls"
            parts.append(f"{count} correctly rejected")
        if recalled:
            parts.append(f"{sum(each.reproduces for each in recalled)} of {len(recalled)} recalled values agree")
        if skipped := len(self.results) - len(computed):
            parts.append(f"{skipped} not computed, an extra is not installed")
        return f"{'PASSED' if self.passed else 'FAILED'}: {'; '.join(parts)}"

    def report(self) -> Report:
        """Return a row for each source, the failures and the verdict."""
        rows = [
            {
                "topic": each.topic.replace("_", " "),
                "agree": f"{each.reproduced}/{len(each.checks)}",
                "controls": str(len(each.controls)) if each.controls else None,
                "largest deviation": format_percent(each.largest_deviation, digits=2),
                "source": source_title(each.source),
            }
            for each in self.summaries
        ]
        failures = [f"Failed: {each}" for each in self.failures]
        return Report("Published values recomputed", self.verdict, tables=[Table.of(rows)], remarks=failures)

    def rows(self) -> Sequence[Any]:
        """Return one row for each source within a topic."""
        return [each.as_row() for each in self.summaries]

    def as_dict(self) -> dict[str, Any]:
        """Return the verdict, the sources and the failures as plain JSON types."""
        failures = [str(each) for each in self.failures]
        return {"passed": self.passed, "verdict": self.verdict, "sources": list(self.rows()), "failures": failures}


def verify(values: Iterable[PublishedValue] | None = None) -> Verification:
    """Recompute published values.

    Parameters
    ----------
    values : iterable of PublishedValue, optional
        All of them by default.

    Returns
    -------
    Verification

    Examples
    --------
    >>> print(verify(published("density_scales")).verdict)
    PASSED: 26 of 26 published values reproduced; the control correctly rejected
    """
    return Verification(tuple(value.recomputed() for value in (published() if values is None else values)))
