"""Recorded pulses: the time of every one, counted by gate or by period, and whether their rhythm is regular.

The rhythm around a period is the median of eleven, five on each side; at the ends it is that of the nearest eleven.
Where a fault repeats with every pulse, periods are compared with their place in groups of two to four. Missed and
double pulses are reported and not corrected. The limits are choices of this library, tried by simulated trains.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import ArrayLike, NDArray

from fuelunits.errors import QuantityError
from fuelunits.meters.counts import PulseCounts, blocks, checked_times
from fuelunits.quantities import QuantityLike, first_quantity, in_unit, positive, positive_in_unit, tolerance_fraction
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.validation import ByValue, plain_number, positive_number, set_fields

_SIDE = 5  # periods on each side of one whose median it is compared with
_NEEDED = 2 * _SIDE + 2  # pulses that give a rhythm
_LOST_AT_MOST = 3  # the most pulses to suspect in one gap; a longer one is taken for a pause in the flow
_OFF = 0.25  # how far a period may be from a whole number of periods, in periods
_IRREGULAR, _ENOUGH = 0.1, 50  # part of the periods, of so many pulses, off the rhythm: then there is none to judge by
_WIDTH = 48  # periods in a stretch that is searched for a pattern: a multiple of 2, 3 and 4, as is its half
_AMPLITUDE = 0.05  # unevenness of a pattern, in periods, below which it is taken for an uneven rotor
_ROWS = 20
_COARSE = 0.18  # part of a period, of a step in the times, from which on rounding hides faults and looks like some
_FAR, _FURTHEST = 3.3, 0.6  # times the departure of nine in ten periods, 5.4 standard deviations of jitter; periods
_SOUND = "the blades are unevenly spaced or the flow pulsates"
_MOST_GATES = 1e7  # of 160 MB; a day in gates of 10 ms has 8.64 million
_UNSEEN = (
    "A short stop of the flow looks the same as missed pulses. A record alone cannot show evenly spaced extra pulses "
    "(every pulse twice) nor evenly missing ones (every second): compare the frequency with that of a known flow."
)


@dataclass(frozen=True)
class Irregularity:
    """A suspicion: the index and time of the pulse after which `pulses` are missing, or of the one too many."""

    index: int
    time_s: float
    pulses: int


@dataclass(frozen=True)
class RepeatingPattern:
    """Unequal periods, `shape` over their mean, that repeat with every `length` pulses in a `share` of all."""

    length: int
    shape: tuple[float, ...]
    share: float

    def __str__(self) -> str:
        return f"periods {' : '.join(f'{n:.2f}' for n in self.shape)} repeat in {100 * self.share:.0f} % of the record"

    @property
    def causes(self) -> str:
        """What may cause it, in words."""
        causes = [f"every pulse comes {self.length} times (the flow reads {self.length} times too high)"]
        short = self.length / (self.length + 1)
        if np.allclose(self.shape, [*[short] * (self.length - 1), 2.0 * short], atol=0.15):
            causes.append(f"one pulse in {self.length + 1} is missing (it reads {short:.2f} of the flow)")
        return ", or ".join([*causes, "the blades are unevenly spaced, or the clock is coarse (the flow is right)"])


@dataclass(frozen=True, repr=False)
class PulseCheck(Reporting):
    """Whether a record of pulses can be relied on: accept, reject, or undecided and what is missing.

    Attributes
    ----------
    pulses, frequency_hz, expected_hz, tolerance : int, float
        Pulses in the record, their mean frequency, Hz, that of the known flow, and the tolerance for it, a fraction.
    missed, doubled, pauses, patterns : tuple, gaps of 1 to 3 pulses, pulses too many, longer gaps, periods that repeat
    irregular_share : float, fraction of the periods over a quarter off the rhythm; NaN where there are too few pulses
    unexpected : tuple, stretches off the expected period by a quarter and the tolerance, else periods off the rhythm
    step_s : float, of all the times, s, where it is too coarse to judge single periods; else 0

    Examples
    --------
    >>> PulseRecord([0, 1, 2, 3, 4, 5, 6, 7, 10, 11, 12, 13, 14, 15, 16]).check("1 Hz", tolerance="20 %")
    <PulseCheck: Record of pulses: reject: 2 pulses may be missing>
    """

    pulses: int
    frequency_hz: float
    expected_hz: float | None
    tolerance: float
    missed: tuple[Irregularity, ...] = ()
    doubled: tuple[Irregularity, ...] = ()
    pauses: tuple[Irregularity, ...] = ()
    patterns: tuple[RepeatingPattern, ...] = ()
    irregular_share: float = math.nan
    unexpected: tuple[Irregularity, ...] = ()
    step_s: float = 0.0
    _plain: ClassVar[tuple[str, ...]] = ("verdict",)

    @property
    def faults(self) -> tuple[str, ...]:
        """Reasons to reject the record."""
        found = [] if self._agrees else [f"{each}: {each.causes}" for each in self.patterns]
        if not (self.patterns or (self._uneven and self._agrees)):
            counted = (sum(each.pulses for each in self.missed), "missing"), (len(self.doubled), "too many")
            found += [f"{count} pulse{'s' * (count != 1)} may be {what}" for count, what in counted if count]
            found += [f"{each}: pulses are doubled or missing, or {_SOUND}" for each in self._uneven]
        if self.expected_hz and not self._agrees:
            ratio = self.frequency_hz / self.expected_hz
            found.append(f"{self.frequency_hz:.5g} Hz is {ratio:.3g} times the {self.expected_hz:.5g} Hz expected")
        return tuple(found)

    @property
    def _agrees(self) -> bool:
        """Whether the mean frequency is that of the known flow, but for the rounding of floats."""
        return self.expected_hz is not None and abs(self.frequency_hz / self.expected_hz - 1.0) <= self.tolerance + 1e-9

    @property
    def _uneven(self) -> list[str]:
        """How periods are unequal throughout, which those of a sound record may be, so long as its frequency agrees."""
        if self.patterns or not (self.irregular_share > _IRREGULAR and self.pulses >= _ENOUGH):
            return [str(each) for each in self.patterns]
        return [f"{format_percent(self.irregular_share)} of the periods are off the rhythm by a quarter"]

    @property
    def missing(self) -> tuple[str, ...]:
        """What is missing for a verdict."""
        both = f"{_SOUND}, or pulses are doubled or missing and the known flow is wrong as well"
        found = [f"why {each}: {both}" for each in self._uneven if self._agrees]
        found += [f"at least {_NEEDED} pulses"] * (self.pulses < _NEEDED)
        if self.step_s:
            found.append(f"finer times: steps of {1000.0 * self.step_s:.3g} ms are too coarse to judge single periods")
        found += [f"why there are {len(self.pauses)} gaps of more than {_LOST_AT_MOST} pulses"] * bool(self.pauses)
        if self.unexpected:
            count, start_s = sum(each.pulses for each in self.unexpected), self.unexpected[0].time_s
            found.append(f"why {count} periods from {start_s:.6g} s on are a quarter off the rhythm or the known flow")
        found += ["the frequency of a known flow to compare with"] * (self.expected_hz is None)
        return tuple(found)

    @property
    def verdict(self) -> Verdict:
        """Reject where there is a fault, undecided where something is missing, else accept."""
        return Verdict.REJECT if self.faults else Verdict.UNDECIDED if self.missing else Verdict.ACCEPT

    def report(self) -> Report:
        expected = f"{self.expected_hz:.6g} Hz ± {format_percent(self.tolerance)}" if self.expected_hz else ""
        reasons = self.faults or tuple(f"missing: {each}" for each in self.missing) or (f"expected {expected}",)
        rows, share = [{**row, "time, s": f"{row['time, s']:.4f}"} for row in self.rows()], self.irregular_share
        facts = {"pulses": self.pulses, "mean frequency": f"{self.frequency_hz:.6g} Hz", "expected": expected}
        facts["periods off the rhythm by over a quarter"] = "" if math.isnan(share) else format_percent(share)
        table = [Table.of(rows[:_ROWS], f"first {_ROWS} of {len(rows)}" if len(rows) > _ROWS else "")] if rows else []
        return Report("Record of pulses", f"{self.verdict.value}: {'; '.join(reasons)}", facts, table, [_UNSEEN])

    def rows(self) -> list[dict[str, Any]]:
        """Return each irregularity by its time."""
        of = {"missed": self.missed, "double": self.doubled, "longer gap": self.pauses, "off the flow": self.unexpected}
        found = sorted((each.time_s, kind, each.pulses) for kind in of for each in of[kind])
        return [dict(zip(("time, s", "kind", "pulses"), row, strict=True)) for row in found]


@dataclass(frozen=True, init=False, eq=False, repr=False)
class PulseRecord(ByValue, Reporting):
    """The times of recorded pulses.

    Parameters
    ----------
    times_s : array_like, of each pulse, s, increasing: float64 (not copied), integers, or a quantity
        Count from the start of the record: from 1970 on float64 keeps a quarter of a microsecond.

    Examples
    --------
    >>> record = PulseRecord([0.00, 0.01, 0.02, 0.03, 0.04])
    >>> record.count, record.duration_s, record.by_period().frequency().frequency_hz.round(6).tolist()
    (5, 0.04, [100.0, 100.0, 100.0, 100.0])
    """

    times_s: NDArray[np.float64]
    _plain: ClassVar[tuple[str, ...]] = ("count", "duration_s")

    def __init__(self, times_s: ArrayLike) -> None:
        set_fields(self, times_s=checked_times(times_s, "times_s"))

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

        From the first pulse to the last, unless start and stop are stated. A pulse on the edge of two gates, within the
        rounding of the times, belongs to the later one. A last, incomplete gate is left out.
        """
        first_quantity(gate_s, start_s, stop_s)
        gate = positive_in_unit(gate_s, "s", "gate_s")
        if not self.count and (start_s is None or stop_s is None):
            raise QuantityError("there are no pulses; give start_s and stop_s")
        start = float(self.times_s[0]) if start_s is None else plain_number(in_unit(start_s, "s", "start_s"), "start_s")
        stop = float(self.times_s[-1]) if stop_s is None else plain_number(in_unit(stop_s, "s", "stop_s"), "stop_s")
        gates = (stop - start) / gate
        if not 1.0 - 1e-9 <= gates < _MOST_GATES:
            found = f"between {start} s and {stop} s there are {gates:.3g} gates of {gate} s"
            raise QuantityError(f"{found}; at least one, and fewer than {_MOST_GATES:.0f}, are needed")
        edges = start + gate * np.arange(int(gates + 1e-9) + 1, dtype=np.float64)
        # edges and times are rounded differently: 0.1 * 3 lies behind a pulse at 0.3
        slack = np.maximum(1e-9 * gate, 4.0 * np.spacing(np.abs(edges)))
        return PulseCounts(edges, np.diff(np.searchsorted(self.times_s, edges - slack)))

    def by_period(self) -> PulseCounts:
        """Count by period: one from each pulse to the next."""
        if self.count < 2:
            raise QuantityError(f"{self.count} pulses bound no period; at least two are needed")
        counts = np.broadcast_to(np.int64(1), (self.count - 1,))
        return PulseCounts.unchecked(edges_s=self.times_s, counts=counts, at_least=np.empty(0, dtype=np.intp))

    def check(self, expected: Any = None, *, tolerance: QuantityLike = "2 %") -> PulseCheck:
        """Judge whether the record can be relied on, from its irregularities: accept, reject or undecided.

        Expected is the frequency that a known flow gives, such as ``"100 Hz"`` (see :meth:`KFactor.frequency`). The
        mean frequency may be off it by the tolerance; a stretch that is off by over a quarter makes it undecided.
        Without it a regular record is undecided, for evenly doubled pulses are as regular.
        """
        first_quantity(expected, tolerance)
        hz = None if expected is None else positive_number(positive(expected, "Hz", name="expected"), "expected")
        mean = (self.count - 1) / self.duration_s if self.count > 1 else 0.0
        stated = self.count, mean, hz, tolerance_fraction(tolerance)
        if self.count < _NEEDED:
            return PulseCheck(*stated)
        periods = np.diff(self.times_s)
        windows = sliding_window_view(periods, 2 * _SIDE + 1)
        medians = [np.partition(windows[part], _SIDE)[:, _SIDE] for part in blocks(len(windows))]
        rhythm = np.pad(np.concatenate(medians), _SIDE, mode="edge")
        # times written with so many digits have a coarser step from 10, 100, 1000 s on
        starts = np.searchsorted(self.times_s, 10.0 ** np.arange(7)).clip(max=max(0, periods.size - _ENOUGH))
        step_s = max(_step(self.times_s[at:], periods[at:], rhythm[at:]) for at in {0, *starts.tolist()})
        coarse = step_s / float(np.quantile(rhythm, 0.05))  # of the fastest flow, but for a short burst of noise
        if coarse > _COARSE:
            return PulseCheck(*stated, step_s=step_s)
        off = np.abs(periods / rhythm - 1.0)
        lost = np.rint(periods / rhythm) - 1.0  # pulses in a gap, a whole multiple of the rhythm or a pause
        is_gap = (lost >= 1.0) & ((np.abs(off - lost) <= _OFF) | (lost > _LOST_AT_MOST))
        gaps = self._places(at := _single(periods, np.flatnonzero(is_gap)), lost[at])
        doubled = self._places(_double_pulses(periods, rhythm), 1)
        patterns, share = _repeating_patterns(periods, max(_AMPLITUDE, coarse)), float(np.mean(off > _OFF))
        # jitter, which moves few periods so far, and not rounding, which has a limit
        jitter = np.quantile(off, 0.9) * (np.quantile(off, 0.95) > 1.5 * coarse) * (share <= _IRREGULAR)
        strays = np.flatnonzero((off > max(_OFF, min(_FAR * jitter, _FURTHEST))) & (not (gaps or doubled or patterns)))
        strays = strays if coarse > 0.5 * _COARSE else _single(periods, strays, 2)
        is_off = np.abs(rhythm * (hz or math.nan) - 1.0) > max(_OFF, stated[3])  # by over a quarter
        ends = np.flatnonzero(np.diff(np.concatenate([[False], is_off, [False]])))
        missed = tuple(each for each in gaps if each.pulses <= _LOST_AT_MOST)
        pauses = tuple(each for each in gaps if each.pulses > _LOST_AT_MOST)
        unexpected = (*self._places(ends[::2], ends[1::2] - ends[::2]), *self._places(strays, 1))
        return PulseCheck(*stated, missed, doubled, pauses, patterns, share, unexpected)

    def _places(self, indexes: Any, pulses: Any) -> tuple[Irregularity, ...]:
        return tuple(Irregularity(int(i), float(self.times_s[i]), int(n)) for i, n in np.broadcast(indexes, pulses))

    def report(self) -> Report:
        return self.check().report()


def _step(times: NDArray[np.float64], periods: NDArray[np.float64], rhythm: NDArray[np.float64]) -> float:
    """Return the step, s, of which the times are multiples, where rounding to it moves periods off their rhythm."""
    apart = np.diff(np.sort(periods))
    # but for the rounding of floats: of these times, and of those from 1970 on that the first was subtracted from
    step = apart.min(where=apart > 8.0 * np.spacing(np.abs(times).max() + 2.0**30), initial=periods.sum())
    is_whole = np.abs(rhythm / step - np.rint(rhythm / step)).max() < 0.02
    moved = np.count_nonzero(np.rint(np.abs(periods - rhythm) / step) == 1.0)
    return float(step) if is_whole and moved > _SIDE + 0.005 * periods.size else 0.0


def _single(periods: NDArray[np.float64], at: NDArray[np.intp], within: int = 0) -> NDArray[np.intp]:
    """Return those periods that do not end a stop of the flow, or begin a start, nor are so many before or after."""
    last, stops = periods.size - 1, np.zeros(at.size, dtype=bool)
    for way, place in [(periods, at), (periods[::-1], last - at)]:
        for end in (np.minimum(place + n, last) for n in range(within + 1)):
            # the last of a rotor that friction or drag stops grows by up to the cube of what the one before it did
            steps = np.array([way[end - n] / way[end - n - 1] for n in (3, 2, 1, 0)])
            steady = (steps[:3] > 1.0).all(axis=0) & (steps[2] < 2.0 - _OFF) & (steps[3] <= steps[2] ** 3)
            stops |= steady & (end >= 4) & (not within or (steps[2] <= steps[1] ** 3) & (steps[3] > 1.0))  # no jump
    return at[~stops]


def _double_pulses(periods_s: NDArray[np.float64], rhythm: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return the index of each pulse between two periods that together make one; of two very close, of the former."""
    pair = periods_s[:-1] + periods_s[1:]
    off = np.maximum(np.abs(pair / rhythm[:-1] - 1.0), np.abs(pair / rhythm[1:] - 1.0))
    around = np.pad(off, 1, constant_values=np.inf)
    return np.flatnonzero((off < around[:-2]) & (off <= around[2:]) & (off <= _OFF)) + 1


def _repeating_patterns(periods: NDArray[np.float64], least: float) -> tuple[RepeatingPattern, ...]:
    """Return the patterns of two, three or four periods, unequal by more than `least`, the shorter ones first."""
    size = periods.size - 4
    width = _WIDTH if size >= _WIDTH else _WIDTH // 2
    if size < width:
        return ()
    starts = np.append(np.arange(0, size - width + 1, width), size - width)
    left, found = np.ones(starts.size, dtype=bool), []
    for length in (2, 3, 4):
        # relative to the mean of as many periods around it, so that a changing flow leaves no pattern
        around = np.convolve(periods, np.ones(length) / length, "same")
        windows = sliding_window_view((periods / around)[2:-2], width)[starts]
        relative = windows.reshape(starts.size, width // length, length)
        means = relative.mean(axis=1)
        amplitude = np.abs(means - means.mean(axis=1, keepdims=True)).max(axis=1)
        error = np.sqrt(relative.var(axis=1, ddof=1).mean(axis=1) * length / width)
        here = left & (amplitude > least) & (amplitude > 6.0 * error)
        left &= ~here
        if here.any():
            shape = np.median(np.sort(means[here], axis=1), axis=0)
            inside = np.unique(starts[here, np.newaxis] + np.arange(width))  # the last stretch overlaps the one before
            found.append(RepeatingPattern(length, tuple(shape.tolist()), inside.size / size))
    return tuple(found)
