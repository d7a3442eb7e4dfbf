"""Whole pulses between known times: a counter of finite width, the frequency over time, and the flow that it means.

A counter of `bits` binary digits reads the count modulo ``2**bits`` and rolls over; when its supply fails it falls
back to zero. Pulses by gate or period and a counter read now and then are alike :class:`PulseCounts`; totals are exact.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import accumulate
from typing import Any, ClassVar, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fuelunits.conversion import convert
from fuelunits.errors import QuantityError
from fuelunits.meters.k_factor import k_factor_of
from fuelunits.quantities import QuantityLike, first_quantity, in_unit, positive_in_unit
from fuelunits.reports import Report, Reporting
from fuelunits.validation import ByValue, as_float_array, check_type, plain_array, set_fields, whole_number

_BLOCK = 32_768  # elements worked on at a time, so that what is written stays in the processor's cache


def blocks(size: int) -> Iterator[slice]:
    """Divide a length into slices."""
    return (slice(start, start + _BLOCK) for start in range(0, size, _BLOCK))


def checked_times(times_s: Any, name: str) -> NDArray[np.float64]:
    """Return finite, increasing times in seconds as float64, uncopied where they are; quantities are converted."""
    given = plain_array(in_unit(times_s, "s", name), name)
    if given.ndim != 1:
        raise QuantityError(f"{name} have the shape {given.shape}; give one time after another")
    if given.dtype.kind not in "iu" and given.dtype.char not in "dg":  # float64 or longer
        raise QuantityError(f"{name} are {given.dtype}; give seconds as float64, which has the digits that times need")
    times = given.astype(np.float64, copy=False)
    later, earlier = times[1:], times[:-1]
    for part in blocks(later.size):
        rises = later[part] > earlier[part]
        if not rises.all():
            at = part.start + int(np.argmin(rises)) + 1
            found = f"{name}[{at}] is {times[at]!s} after {times[at - 1]!s}: times must increase from each to the next"
            raise QuantityError(f"{found}; find out why this one does not before leaving it out")
    if times.size and not np.isfinite(times[[0, -1]]).all():
        raise QuantityError(f"{name} go from {times[0]} to {times[-1]}; every time must be finite")
    return times


@dataclass(frozen=True, eq=False, repr=False)
class RunningCounts(Reporting):
    """The counts of a counter without roll-overs; these and resets are named by the reading after them."""

    counts: NDArray[np.int64]
    rollovers: NDArray[np.intp]
    resets: NDArray[np.intp]
    _plain: ClassVar[tuple[str, ...]] = ("total",)

    @property
    def total(self) -> int:
        """Pulses from the first reading to the last; the least possible number if the counter was reset."""
        return int(self.counts[-1] - self.counts[0]) if self.counts.size else 0

    def report(self) -> Report:
        facts = {"readings": self.counts.size, "roll-overs": self.rollovers.size, "resets": self.resets.size}
        return Report(f"{'at least ' * bool(self.resets.size)}{self.total} pulses counted", facts=facts)


def unwrap_counter(readings: ArrayLike, *, bits: int, largest_increment: int | None = None) -> RunningCounts:
    """Return the running counts of a counter of finite width, and where it rolled over or was reset.

    From one reading to the next the counter has advanced by their difference modulo ``2**bits``, if that is no more
    than the largest increment: a fall is then a roll-over. If it is more, and the new reading is not, the counter was
    reset and has counted at least its new reading since. If neither fits, the readings are refused. A reset of a nearly
    full counter passes for a roll-over, a later one may pass for plain counting, and a whole turn leaves no trace: read
    the counter often, and state `largest_increment` as small as it truthfully is.

    Parameters
    ----------
    readings : array_like of int, readings in order, each from 0 to ``2**bits - 1``; one-dimensional
    bits : int, width of the counter: 16, 24 or 32 as a rule; 1 to 32
    largest_increment : int, optional, highest frequency times longest time between readings; else half of ``2**bits``

    Examples
    --------
    >>> run = unwrap_counter([65_400, 65_500, 64, 164, 12], bits=16, largest_increment=200)
    >>> run.counts.tolist(), run.rollovers.tolist(), run.resets.tolist(), run.total
    ([65400, 65500, 65600, 65700, 65712], [2], [4], 312)
    """
    bits = whole_number(bits, "bits", least=1, most=32)  # with more, 2**31 readings could overflow the running count
    most, largest = (1 << bits) - 1, (1 << (bits - 1)) if largest_increment is None else largest_increment
    largest = whole_number(largest, "largest_increment", least=1, most=most)
    given = plain_array(readings, "readings")
    if given.ndim != 1 or (given.size and given.dtype.kind not in "iu"):
        found = f"readings are {given.dtype} of shape {given.shape}"
        raise QuantityError(f"{found}; give the whole numbers of one counter in order, and leave out what is missing")
    counts = np.empty(given.size, dtype=np.int64)
    falls, resets = ([np.empty(0, dtype=np.intp)] for _ in range(2))
    offset = 0
    for start in range(0, given.size, _BLOCK):
        # each block begins with the last reading of the one before
        first = max(start - 1, 0)
        block = given[first : start + _BLOCK]
        if int(np.bitwise_or.reduce(block)) >> bits:
            at = int(np.argmax((block < 0) | (block > most)))
            raise QuantityError(f"readings[{first + at}] is {block[at]}; a counter of {bits} bits reads 0 to {most}")
        block = block.astype(np.int64, copy=False)
        fall, is_reset = _falls(block, bits, largest, first)
        ahead = np.full(fall.size + 1, offset, dtype=np.int64)
        # the count runs ahead of the reading by a whole turn after a roll-over, by the last reading after a reset
        ahead[1:] += np.cumsum(np.where(is_reset, block[fall - 1], 1 << bits))
        lengths = np.diff(fall, prepend=0, append=block.size)
        np.add(block, np.repeat(ahead, lengths) if fall.size else offset, out=counts[first : start + _BLOCK])
        offset = int(ahead[-1])
        falls.append(first + fall[~is_reset])
        resets.append(first + fall[is_reset])
    return RunningCounts(counts, np.concatenate(falls), np.concatenate(resets))


def _falls(block: NDArray[np.int64], bits: int, largest: int, first: int) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Return the indexes within a block at which the reading falls, and which of these falls are resets."""
    step = np.diff(block)
    fall = np.flatnonzero(step < 0) + 1
    is_reset = step[fall - 1] + (1 << bits) > largest
    too_high = fall[is_reset & (block[fall] > largest)]
    if step.max(initial=0) > largest:
        too_high = np.union1d(too_high, np.flatnonzero(step > largest) + 1)
    if too_high.size:
        at = int(too_high[0])
        advance = step[at - 1] % (1 << bits)
        found = f"readings[{first + at}] is {block[at]} after {block[at - 1]}: an advance of {advance}"
        found += f", or of at least {block[at]} since a reset, and the largest increment is {largest}"
        raise QuantityError(f"{found}; leave the reading out, or give the largest_increment that the flow allows")
    return fall, is_reset


class _Series(ByValue, Reporting):
    """Values over intervals one after another: what records over time share."""

    edges_s: NDArray[np.float64]
    _values: ClassVar[tuple[str, str]]  # the field of the values, and the name of their column

    def _set(self, values: NDArray[Any]) -> None:
        """Take values that are checked, and check the ends of their intervals."""
        edges = checked_times(self.edges_s, "edges_s").copy()  # the caller may fill the arrays anew
        if values.shape != (edges.size - 1,):
            raise QuantityError(f"{edges.size} edges_s bound one interval less; values are of shape {values.shape}")
        set_fields(self, **{"edges_s": edges, self._values[0]: values.copy()})

    @classmethod
    def unchecked(cls, **fields: Any) -> Self:
        """Return a record of what has been checked before, so that large records are not read again."""
        record = object.__new__(cls)
        set_fields(record, **fields)
        return record

    @property
    def _times(self) -> dict[str, Any]:
        return {"time": f"{self.edges_s[0]:.10g} s to {self.edges_s[-1]:.10g} s", "intervals": self.edges_s.size - 1}

    def rows(self) -> list[dict[str, float]]:
        """Return the start, the stop and the value of each interval."""
        name, column = self._values
        columns = (self.edges_s[:-1].tolist(), self.edges_s[1:].tolist(), getattr(self, name).tolist())
        return [dict(zip(("start_s", "stop_s", column), row, strict=True)) for row in zip(*columns, strict=True)]


@dataclass(frozen=True, eq=False, repr=False)
class FrequencyRecord(_Series):
    """Pulse frequency over time, constant within each interval.

    Parameters
    ----------
    edges_s : array_like, ends of the intervals, s or a quantity: one more than there are intervals
    frequency_hz : array_like, frequency in each, Hz or a quantity; not negative, NaN where it is not known
    cut_off_s : float, time for which the frequency lay below a low-flow cutoff and was set to zero, s

    Examples
    --------
    >>> record = FrequencyRecord([0.0, 60.0, 90.0, 100.0], [79.8, 0.2, 119.7]).cut_off("1 Hz")
    >>> record.flow("11412 pulse/L", "L/h").round(2).tolist(), record.cut_off_s
    ([25.17, 0.0, 37.76], 30.0)
    """

    edges_s: NDArray[np.float64]
    frequency_hz: NDArray[np.float64]
    cut_off_s: float = 0.0
    _values = ("frequency_hz", "frequency_hz")

    def __post_init__(self) -> None:
        frequency = as_float_array(in_unit(self.frequency_hz, "Hz", "frequency_hz"), "frequency_hz")
        if np.any(frequency < 0.0) or np.any(np.isinf(frequency)):
            raise QuantityError("frequency_hz must be finite and not negative; NaN where it is not known")
        self._set(frequency)

    def smoothed(self, time_constant_s: Any) -> FrequencyRecord:
        """Return the frequency as a first-order lag, ``tau dy/dt = x - y``, such as ``"10 s"``, follows it.

        Each value is that at the end of its interval, not the mean over it. It begins at the first value, and again
        after NaN, which gives NaN; dividing an interval changes nothing.
        """
        tau = positive_in_unit(time_constant_s, "s", "time_constant_s")
        keep, missing = np.exp(np.diff(self.edges_s) / -tau), np.isnan(self.frequency_hz)
        keep[:1] = 0.0
        keep[1:][missing[:-1]] = 0.0
        steps = zip(keep.tolist(), ((1.0 - keep) * np.nan_to_num(self.frequency_hz)).tolist(), strict=True)
        smooth = np.fromiter(accumulate(steps, lambda y, step: step[0] * y + step[1], initial=0.0), float)[1:]
        smooth[missing] = np.nan
        return replace(self, frequency_hz=smooth)

    def cut_off(self, below_hz: Any, *, k_factor: Any = None) -> FrequencyRecord:
        """Return the frequency with zero below a low-flow cutoff, hertz or ``"2 Hz"``, or with a K-factor ``"8 L/h"``.

        What equals the cutoff is kept. The pulses of the time below it stay in the counts, from which totals are taken.
        """
        first_quantity(below_hz, k_factor)
        cutoff = below_hz if k_factor is None else k_factor_of(k_factor).frequency(below_hz)
        low = self.frequency_hz < positive_in_unit(cutoff, "Hz", "below_hz")
        cut_s = float(np.diff(self.edges_s)[low].sum())
        return replace(self, frequency_hz=np.where(low, 0.0, self.frequency_hz), cut_off_s=cut_s)

    def flow(self, k_factor: Any, unit: str, *, density: QuantityLike | None = None) -> NDArray[np.float64]:
        """Return the flow in each interval, frequency over K-factor; by mass with the density in the transducer."""
        first_quantity(k_factor, density)
        scale: float = convert(1.0 / k_factor_of(k_factor).pulses_per_l, "L/s", unit, density=density)
        return self.frequency_hz * scale

    def report(self) -> Report:
        known, lengths = ~np.isnan(self.frequency_hz), np.diff(self.edges_s)
        found, unknown, facts = self.frequency_hz[known], float(lengths[~known].sum()), self._times
        if found.size:
            facts["frequency"] = f"{found.min():.6g} Hz to {found.max():.6g} Hz"
            facts["mean frequency"] = f"{np.average(found, weights=lengths[known]):.6g} Hz"
        facts["below the low-flow cutoff"] = f"{self.cut_off_s:.6g} s" if self.cut_off_s else ""
        facts["not known for"] = f"{unknown:.6g} s" if unknown else ""
        return Report("Pulse frequency over time", facts=facts)


@dataclass(frozen=True, eq=False, repr=False)
class PulseCounts(_Series):
    """Whole pulses counted between known times.

    Parameters
    ----------
    edges_s : array_like, ends of the intervals, s or a quantity, increasing: one more than there are intervals
    counts : array_like of int, pulses in each interval, from 0 up; their sum stays below 2**63
    at_least : numpy.ndarray of int, indexes of intervals in which a reset may have lost counts

    Examples
    --------
    >>> counts = PulseCounts([0.0, 60.0, 90.0], [6000, 2400])
    >>> counts.total, counts.frequency().frequency_hz.tolist()
    (8400, [100.0, 80.0])
    """

    edges_s: NDArray[np.float64]
    counts: NDArray[np.int64]
    at_least: NDArray[np.intp] = field(default_factory=lambda: np.empty(0, dtype=np.intp))
    _plain: ClassVar[tuple[str, ...]] = ("total",)
    _values = ("counts", "pulses")

    def __post_init__(self) -> None:
        counts = plain_array(self.counts, "counts")
        if counts.size and (counts.dtype.kind not in "iu" or counts.min() < 0):
            raise QuantityError(f"counts are whole numbers that are not negative; these are {counts.dtype}: {counts}")
        # in Python's whole numbers, as a sum of 64 bits may turn over; most counts are too small for it
        if counts.size and counts.size * int(counts.max()) >= 2**63 <= sum(counts.ravel().tolist()):
            hint = "give the readings of an unsigned counter to unwrap_counter(), and its answer to of_counter()"
            raise QuantityError(f"counts add up to 2**63 or more; {hint}")
        at_least = plain_array(self.at_least, "at_least")
        if at_least.size and not (at_least.dtype.kind in "iu" and ((at_least >= 0) & (at_least < counts.size)).all()):
            raise QuantityError(f"at_least must be indexes of intervals, 0 to {counts.size - 1}; got {at_least}")
        set_fields(self, at_least=at_least.astype(np.intp))
        self._set(counts.astype(np.int64, copy=False))

    @classmethod
    def of_counter(cls, times_s: ArrayLike, running: RunningCounts) -> PulseCounts:
        """Return the counts between the readings of a counter: its times and what :func:`unwrap_counter` gave."""
        check_type(running, RunningCounts, "running", "what unwrap_counter() gives")
        return cls(checked_times(times_s, "times_s"), np.diff(running.counts), running.resets - 1)

    @property
    def total(self) -> int:
        """Pulses in all intervals: an exact sum, and the least there can have been if any are `at_least`."""
        return int(self.counts.sum(dtype=np.int64))

    def frequency(self) -> FrequencyRecord:
        """Return the mean frequency in each interval; NaN where the count is not known."""
        frequency, later, earlier = np.empty(self.counts.size), self.edges_s[1:], self.edges_s[:-1]
        # counts by period are one number without memory of its own: NumPy divides a float much faster
        same = float(self.counts[0]) if self.counts.size and not self.counts.strides[0] else None
        for part in blocks(frequency.size):
            interval = np.subtract(later[part], earlier[part], out=frequency[part])
            np.divide(self.counts[part] if same is None else same, interval, out=interval)
        frequency[self.at_least] = np.nan
        return FrequencyRecord.unchecked(edges_s=self.edges_s, frequency_hz=frequency)

    def report(self) -> Report:
        seconds, resets = float(self.edges_s[-1] - self.edges_s[0]), self.at_least.size
        facts = {**self._times, "mean frequency": f"{self.total / seconds:.6g} Hz" if seconds else ""}
        remarks = [f"the counter was reset in {resets} intervals: more may have passed"] if resets else []
        return Report(f"{'at least ' * bool(resets)}{self.total} pulses", facts=facts, remarks=remarks)
