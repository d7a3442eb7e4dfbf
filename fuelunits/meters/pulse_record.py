"""Recorded pulses: the time of every one, counted by gate or by period, and whether their rhythm is regular.

Missed and double pulses are reported and not corrected. The counts become frequency and flow
in :mod:`fuelunits.meters.counts`; the search for faults is in :mod:`fuelunits.meters.rhythm`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fuelunits.arrays import ByValue
from fuelunits.errors import QuantityError
from fuelunits.meters import rhythm
from fuelunits.meters.counts import PulseCounts, checked_times
from fuelunits.meters.rates import in_unit, positive_in_unit
from fuelunits.meters.rhythm import Irregularity, RepeatingPattern
from fuelunits.pint_units import first_quantity
from fuelunits.quantities import QuantityLike, positive, tolerance_fraction
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.validation import plain_number, positive_number, whole_number

_IRREGULAR = 0.1
"""Part of the periods off the rhythm from which on there is none to judge by."""
_ENOUGH = 50
"""Pulses from which on such a part is more than one or two periods."""
_ROWS = 20
_MOST_GATES = 1e9
_UNSEEN = (
    "A record alone cannot show evenly spaced extra pulses (every pulse twice, half a period apart) nor evenly "
    "missing ones (every second): compare the frequency with that of a known flow."
)
_ENDS = "The five periods at either end are not judged. A short stop of the flow looks the same as missed pulses."


@dataclass(frozen=True, repr=False)
class PulseCheck(Reporting):
    """Whether a record of pulses can be relied on: accept, reject, or undecided and what is missing.

    Attributes
    ----------
    pulses, frequency_hz, expected_hz, tolerance : int, float
        Pulses in the record, their mean frequency, Hz, that of the known flow, and the tolerance for it, a fraction.
    missed, doubled, pauses, patterns : tuple
        Gaps that look like one to three missed pulses, pulses too many, longer gaps, unequal periods that repeat.
    irregular_share : float
        Fraction of the periods more than a quarter off the rhythm; NaN where there are too few pulses.
    unexpected : tuple
        Stretches whose rhythm is more than a quarter, and the tolerance, off the expected period.

    Examples
    --------
    >>> PulseRecord([0, 1, 2, 3, 4, 5, 6, 7, 10, 11, 12, 13, 14, 15, 16]).check("1 Hz", tolerance="20 %")
    <PulseCheck: Record of pulses: reject: 2 pulses may be missing>
    """

    pulses: int
    frequency_hz: float
    missed: tuple[Irregularity, ...] = ()
    doubled: tuple[Irregularity, ...] = ()
    pauses: tuple[Irregularity, ...] = ()
    patterns: tuple[RepeatingPattern, ...] = ()
    irregular_share: float = math.nan
    unexpected: tuple[Irregularity, ...] = ()
    expected_hz: float | None = None
    tolerance: float | None = None
    _plain: ClassVar[tuple[str, ...]] = ("verdict",)

    @property
    def faults(self) -> tuple[str, ...]:
        """Reasons to reject the record."""
        found = [pattern.explanation for pattern in self.patterns]
        if not found:
            if self.missed:
                found.append(f"{_pulses(sum(each.pulses for each in self.missed))} may be missing")
            if self.doubled:
                found.append(f"{_pulses(len(self.doubled))} may be too many")
            if self.irregular_share > _IRREGULAR and self.pulses >= _ENOUGH:
                found.append(f"{format_percent(self.irregular_share)} of the periods are off the rhythm by a quarter")
        if self.expected_hz and self.tolerance is not None:
            ratio = self.frequency_hz / self.expected_hz
            if not abs(ratio - 1.0) <= self.tolerance:
                found.append(f"{self.frequency_hz:.5g} Hz is {ratio:.3g} times the {self.expected_hz:.5g} Hz expected")
        return tuple(found)

    @property
    def _expected(self) -> str:
        if self.expected_hz is None:
            return ""
        within = "" if self.tolerance is None else f" ± {format_percent(self.tolerance)}"
        return f"{self.expected_hz:.6g} Hz{within}"

    @property
    def missing(self) -> tuple[str, ...]:
        """What is missing for a verdict."""
        found = []
        if self.pulses < rhythm.NEEDED:
            found.append(f"at least {rhythm.NEEDED} pulses")
        if self.pauses:
            found.append(f"why there are {len(self.pauses)} gaps of more than {rhythm.LOST_AT_MOST} pulses")
        if self.unexpected:
            count, start_s = sum(each.pulses for each in self.unexpected), self.unexpected[0].time_s
            found.append(f"why {count} periods from {start_s:.6g} s on are over a quarter off that of the known flow")
        if self.expected_hz is None:
            found.append("the frequency of a known flow to compare with")
        return tuple(found)

    @property
    def verdict(self) -> Verdict:
        """Reject where there is a fault, undecided where something is missing, else accept."""
        return Verdict.REJECT if self.faults else Verdict.UNDECIDED if self.missing else Verdict.ACCEPT

    def report(self) -> Report:
        """Return the verdict with its reasons and the places of the faults."""
        reasons = self.faults or tuple(f"missing: {each}" for each in self.missing) or (f"expected {self._expected}",)
        rows = [{**row, "time, s": f"{row['time, s']:.4f}"} for row in self.rows()]
        facts = {
            "pulses": self.pulses,
            "mean frequency": f"{self.frequency_hz:.6g} Hz",
            "expected": self._expected,
            "pulses that may be missing": sum(each.pulses for each in self.missed),
            "pulses that may be too many": len(self.doubled),
            "longer gaps": len(self.pauses),
            "periods off the rhythm by over a quarter": ""
            if math.isnan(self.irregular_share)
            else format_percent(self.irregular_share),
        }
        table = [Table.of(rows[:_ROWS], f"first {_ROWS} of {len(rows)}" if len(rows) > _ROWS else "")] if rows else []
        return Report("Record of pulses", f"{self.verdict.value}: {'; '.join(reasons)}", facts, table, [_ENDS, _UNSEEN])

    def rows(self) -> list[dict[str, Any]]:
        """Return each irregularity by its time."""
        kinds = (
            *(("missed", self.missed), ("double", self.doubled), ("longer gap", self.pauses)),
            ("off the known flow", self.unexpected),
        )
        found = [
            {"time, s": each.time_s, "kind": kind, "pulses": each.pulses} for kind, those in kinds for each in those
        ]
        return sorted(found, key=lambda row: float(row["time, s"]))


def _pulses(count: int) -> str:
    return f"{count} pulse{'s' * (count != 1)}"


@dataclass(frozen=True, init=False, eq=False, repr=False)
class PulseRecord(ByValue, Reporting):
    """The times of recorded pulses.

    Parameters
    ----------
    times_s : array_like
        Time of each pulse, s, increasing: float64 (neither copied nor written to), integers, or a quantity of any
        library. Count from the start of the record: from 1970 on float64 keeps a quarter of a microsecond.

    Examples
    --------
    >>> record = PulseRecord([0.00, 0.01, 0.02, 0.03, 0.04])
    >>> record.count, record.duration_s, record.by_period().frequency().frequency_hz.round(6).tolist()
    (5, 0.04, [100.0, 100.0, 100.0, 100.0])
    """

    times_s: NDArray[np.float64]
    _plain: ClassVar[tuple[str, ...]] = ("count", "duration_s")

    def __init__(self, times_s: ArrayLike) -> None:
        object.__setattr__(self, "times_s", checked_times(times_s, "times_s"))

    @property
    def count(self) -> int:
        """Number of pulses."""
        return self.times_s.size

    @property
    def duration_s(self) -> float:
        """Time from the first pulse to the last, s."""
        return float(self.times_s[-1] - self.times_s[0]) if self.count else 0.0

    def by_gate(self, gate_s: Any, *, start_s: Any = None, stop_s: Any = None) -> PulseCounts:
        """Count whole pulses in gates of equal length, in seconds or text such as ``"0.5 s"``, one after another.

        By default the first gate begins at the first pulse and the last ends by the last pulse. Time before and after
        them, in which nothing flowed, is counted only if stated.

        A pulse on the edge of two gates, or before it by no more than a thousand-millionth of a gate or the rounding
        of the times, belongs to the later one. A last, incomplete gate is left out.
        """
        first_quantity(gate_s, start_s, stop_s)
        gate = positive_in_unit(gate_s, "s", "gate_s")
        if not self.count and (start_s is None or stop_s is None):
            raise QuantityError("there are no pulses; give start_s and stop_s")
        start = float(self.times_s[0]) if start_s is None else plain_number(in_unit(start_s, "s", "start_s"), "start_s")
        stop = float(self.times_s[-1]) if stop_s is None else plain_number(in_unit(stop_s, "s", "stop_s"), "stop_s")
        gates = (stop - start) / gate
        if not 1.0 - 1e-9 <= gates < _MOST_GATES:
            raise QuantityError(
                f"between {start} s and {stop} s there are {gates:.3g} gates of {gate} s; at least one, and fewer than "
                f"{_MOST_GATES:g}, are needed"
            )
        edges = start + gate * np.arange(int(gates + 1e-9) + 1, dtype=np.float64)
        # edges and times are rounded differently: 0.1 * 3 lies behind a pulse at 0.3
        slack = max(1e-9 * gate, 4.0 * float(np.spacing(np.abs(edges[[0, -1]]).max())))
        return PulseCounts(edges, np.diff(np.searchsorted(self.times_s, edges - slack)))

    def by_period(self, every: int = 1) -> PulseCounts:
        """Count by period: from each pulse to the next, or to the one `every` pulses on.

        The total is that of whole periods: one less than of the pulses, if `every` is 1.
        """
        if self.count < 2:
            raise QuantityError(f"{self.count} pulses bound no period; at least two are needed")
        every = whole_number(every, "every", least=1, most=self.count - 1)
        edges = self.times_s[::every]
        counts = np.broadcast_to(np.int64(every), (edges.size - 1,))
        return PulseCounts.unchecked(edges_s=edges, counts=counts, at_least=np.empty(0, dtype=np.intp))

    def missed_pulses(self) -> tuple[Irregularity, ...]:
        """Find periods that are a whole multiple of the rhythm around them, as if one to three pulses were missed.

        Each names the pulse before a gap, and how many are missing. That there is none does not make a record good:
        see :meth:`check`.
        """
        return tuple(each for each in self._gaps() if each.pulses <= rhythm.LOST_AT_MOST)

    def double_pulses(self) -> tuple[Irregularity, ...]:
        """Find pulses between two periods that together make one, as if a pulse had come twice.

        Of two very close pulses either may be the one too many. Where every pulse comes twice, see :meth:`check`.
        """
        return rhythm.irregularities(self.times_s, rhythm.double_pulses(np.diff(self.times_s)), 1)

    def _gaps(self) -> tuple[Irregularity, ...]:
        return rhythm.irregularities(self.times_s, *rhythm.gaps(np.diff(self.times_s)))

    def check(self, expected: Any = None, *, tolerance: QuantityLike = "2 %") -> PulseCheck:
        """Judge whether the record can be relied on: accept, reject or undecided.

        Expected is the frequency that a known flow gives, such as ``"100 Hz"`` (see :meth:`KFactor.frequency`). The
        mean frequency may be off it by the tolerance; a stretch that is off by over a quarter makes it undecided.
        Without it a regular record is undecided, for evenly doubled pulses are as regular.

        Examples
        --------
        Every pulse comes twice, the second 2 ms late:

        >>> times = np.arange(100) / 100.0
        >>> PulseRecord(np.sort(np.concatenate([times, times + 0.002]))).check().verdict.value
        'reject'
        """
        first_quantity(expected, tolerance)
        expected_hz = (
            None if expected is None else positive_number(positive(expected, "Hz", name="expected"), "expected")
        )
        mean = (self.count - 1) / self.duration_s if self.count > 1 else 0.0
        check = PulseCheck(self.count, mean, expected_hz=expected_hz, tolerance=tolerance_fraction(tolerance))
        if self.count < rhythm.NEEDED:
            return check
        found = self._gaps()
        return replace(
            check,
            missed=self.missed_pulses(),
            doubled=self.double_pulses(),
            pauses=tuple(each for each in found if each.pulses > rhythm.LOST_AT_MOST),
            patterns=rhythm.repeating_patterns(self.times_s),
            irregular_share=rhythm.irregular_share(np.diff(self.times_s)),
            unexpected=()
            if expected_hz is None
            else rhythm.unexpected(self.times_s, expected_hz, check.tolerance or 0.0),
        )

    def report(self) -> Report:
        """Return the report of :meth:`check` without an expected frequency."""
        return self.check().report()

    def rows(self) -> list[dict[str, Any]]:
        """Return each irregularity by its time."""
        return self.check().rows()
