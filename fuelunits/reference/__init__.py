"""Published values as data, and :func:`verify`, which recomputes each one.

A topic is a table of published values (``<topic>.csv``) and a module of the same name whose
``recompute`` works each of them out with the library. A value reproduces when ours rounds to the
printed digits, or lies within the tolerance that its row states with the reason. Rows known to be
wrong in print, or of another edition, are controls: they must not reproduce.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, cached_property
from importlib import import_module
from importlib.resources import files
from typing import Any

from fuelunits.errors import FuelUnitsError, MissingExtra
from fuelunits.frames import frame
from fuelunits.html import report
from fuelunits.sources import Sourced, source
from fuelunits.validation import format_value

__all__ = ["TOPICS", "PublishedValue", "Recomputed", "Report", "Summary", "published", "verify"]

TOPICS = (
    "units",
    "volume_correction",
    "compressibility",
    "density_scales",
    "densities",
    "standard_weights",
    "quantity_examples",
    "water_and_air",
    "viscosity",
    "blends",
    "pure_liquids",
    "pulse_train",
    "meter_curve",
    "uncertainty",
    "endurance",
)
"""The tables of published values."""


@dataclass(frozen=True, kw_only=True)
class PublishedValue(Sourced):
    """One published value.

    Attributes
    ----------
    topic, what : str
        Its table, and what kind of value it is.
    given : dict of str to str
        The inputs, as printed.
    printed, unit : str
        The value as printed, and its unit.
    control : bool
        Whether it is known to be wrong or of another edition, and must not reproduce.
    tolerance : str
        Allowed deviation, in the unit or in ``%``; empty for half a unit of the last printed digit.
    note : str
        The reason for the tolerance, or what else to know.
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
    def allowed(self) -> float:
        """The largest deviation at which it still reproduces, in its unit."""
        if self.tolerance.endswith("%"):
            return abs(self.value) * float(self.tolerance[:-1]) / 100.0
        if self.tolerance:
            return float(self.tolerance)
        exponent = Decimal(self.printed).as_tuple().exponent
        assert isinstance(exponent, int)
        return 0.5000001 * 10.0**exponent

    def recomputed(self) -> Recomputed:
        """Work it out with the library."""
        recompute = import_module(f"fuelunits.reference.{self.topic}").recompute
        try:
            ours = float(recompute(self.what, dict(self.given)))
        except MissingExtra as missing:
            return Recomputed(self, None, f"not computed: {missing}", skipped=True)
        except FuelUnitsError as refusal:
            return Recomputed(self, None, f"refused: {refusal}")
        return Recomputed(self, ours, "")


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
    def reproduces(self) -> bool:
        """Whether ours agrees with the printed one."""
        return self.deviation is not None and abs(self.deviation) <= self.published.allowed

    @property
    def as_it_should(self) -> bool:
        """Whether a check reproduces, and a control does not; a value not computed counts as neither."""
        return self.skipped or self.reproduces != self.published.control


@dataclass(frozen=True)
class Summary:
    """What came of the values of one source."""

    source: str
    topic: str
    results: tuple[Recomputed, ...]

    @cached_property
    def checks(self) -> tuple[Recomputed, ...]:
        """Its values that should reproduce and were computed."""
        return tuple(each for each in self.results if not each.published.control and not each.skipped)

    @property
    def reproduced(self) -> int:
        """How many of them do."""
        return sum(each.reproduces for each in self.checks)

    @property
    def controls(self) -> int:
        """How many values must not reproduce."""
        return sum(each.published.control for each in self.results)

    @property
    def skipped(self) -> int:
        """How many need an extra that is not installed."""
        return sum(each.skipped for each in self.results)

    @property
    def largest_deviation(self) -> float:
        """Largest deviation of a check, relative to the printed value (absolute where that is 0)."""
        return max((_relative(each) for each in self.checks), default=0.0)

    def cells(self) -> dict[str, str]:
        """Give it as text."""
        entry = source(self.source)
        return {
            "topic": self.topic,
            "values": str(len(self.checks)),
            "agree": str(self.reproduced),
            "controls": str(self.controls),
            "largest deviation, %": f"{100.0 * self.largest_deviation:.2g}",
            "obtained": entry.obtained,
            "source": f"{entry.title}, {entry.locator}",
        }

    @property
    def passed(self) -> bool:
        """Whether everything is as it should be."""
        return all(each.as_it_should for each in self.results)


def _relative(result: Recomputed) -> float:
    if result.deviation is None:
        return float("inf")
    return abs(result.deviation) / (abs(result.published.value) or 1.0)


@dataclass(frozen=True)
class Report:
    """What :func:`verify` found."""

    results: tuple[Recomputed, ...]

    @property
    def passed(self) -> bool:
        """Whether every check reproduces and no control does."""
        return all(each.as_it_should for each in self.results)

    @property
    def failures(self) -> tuple[Recomputed, ...]:
        """What is not as it should be."""
        return tuple(each for each in self.results if not each.as_it_should)

    @property
    def summaries(self) -> tuple[Summary, ...]:
        """One summary for each source within a topic."""
        grouped: dict[tuple[str, str], list[Recomputed]] = {}
        for each in self.results:
            grouped.setdefault((each.published.topic, each.published.source), []).append(each)
        return tuple(Summary(key, topic, tuple(group)) for (topic, key), group in grouped.items())

    def as_dict(self) -> dict[str, Any]:
        """Give everything as plain JSON types."""
        return {
            "passed": self.passed,
            "sources": [
                {
                    "topic": each.topic,
                    "source": each.source,
                    "title": str(source(each.source)),
                    "obtained": source(each.source).obtained,
                    "checks": len(each.checks),
                    "reproduced": each.reproduced,
                    "controls": each.controls,
                    "not_computed": each.skipped,
                    "largest_relative_deviation": each.largest_deviation,
                    "passed": each.passed,
                }
                for each in self.summaries
            ],
            "failures": [_failure(each) for each in self.failures],
        }

    def __str__(self) -> str:
        lines = [f"{'topic':<18}{'values':>7}{'agree':>7}{'controls':>9}  {'largest':>9}  {'obtained':<16}source"]
        for each in self.summaries:
            entry = source(each.source)
            lines.append(
                f"{each.topic:<18}{len(each.checks):>7}{each.reproduced:>7}{each.controls:>9}"
                f"  {each.largest_deviation * 100:>7.2g} %  {entry.obtained:<16}{entry.title}, {entry.locator}"
            )
        lines += [_failure(each) for each in self.failures]
        return "\n".join([*lines, self.verdict])

    @property
    def verdict(self) -> str:
        """How many values reproduce, and whether all is as it should be, in one line."""
        checks = sum(len(each.checks) for each in self.summaries)
        reproduced = sum(each.reproduced for each in self.summaries)
        controls = sum(each.controls for each in self.summaries)
        skipped = sum(each.skipped for each in self.summaries)
        verdict = "as it should be" if self.passed else f"{len(self.failures)} NOT as they should be"
        return (
            f"{reproduced} of {checks} published values reproduce, {controls} controls must not"
            + (f", {skipped} not computed (an extra is not installed)" if skipped else "")
            + f": {verdict}"
        )

    def to_frame(self) -> Any:
        """Give one row a source as a pandas data frame."""
        return frame(self.as_dict()["sources"])

    def _repr_html_(self) -> str:
        return report(self.verdict, rows=[each.cells() for each in self.summaries], note="")


def _failure(result: Recomputed) -> str:
    value = result.published
    inputs = ", ".join(f"{name} {given}" for name, given in value.given.items())
    ours = result.remark or f"ours {result.ours:.10g}, allowed {value.allowed:.3g}"
    expected = "must not reproduce" if value.control else "should reproduce"
    return f"{value.topic}: {value.what} ({inputs}): printed {value.printed} {value.unit}, {expected}; {ours}"


@cache
def _topic(topic: str) -> tuple[PublishedValue, ...]:
    text = (files("fuelunits.reference") / f"{topic}.csv").read_text(encoding="utf-8")
    return tuple(
        PublishedValue(
            topic=topic,
            what=row["what"],
            given=dict(part.split("=", 1) for part in row["given"].split(";") if part),
            printed=row["printed"],
            unit=row["unit"],
            source=row["source"],
            control={"check": False, "control": True}[row["role"]],
            tolerance=row["tolerance"].strip(),
            note=row["note"],
        )
        for row in csv.DictReader(text.splitlines())
    )


def published(*topics: str) -> tuple[PublishedValue, ...]:
    """Give the published values of some topics, or of all.

    Parameters
    ----------
    *topics : str
        Names in :data:`TOPICS`.

    Returns
    -------
    tuple of PublishedValue

    Raises
    ------
    FuelUnitsError
        If there is no such topic.

    Examples
    --------
    >>> published("units")[0].printed
    '0.0254'
    """
    unknown = [topic for topic in topics if not isinstance(topic, str) or topic not in TOPICS]
    if unknown:
        raise FuelUnitsError(f"no published values on {format_value(unknown[0])}; the topics are {', '.join(TOPICS)}")
    return tuple(value for topic in topics or TOPICS for value in _topic(topic))


def verify(values: Iterable[PublishedValue] | None = None) -> Report:
    """Recompute published values.

    Parameters
    ----------
    values : iterable of PublishedValue, optional
        All of them by default.

    Returns
    -------
    Report

    Examples
    --------
    >>> verify(published("units")).passed
    True
    """
    return Report(tuple(value.recomputed() for value in (published() if values is None else values)))
