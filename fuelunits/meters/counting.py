"""Counting pulses: the resolution of a count, and the total of a counter of finite width.

A count is whole, so it is uncertain by one pulse: one in N over N pulses, one over the gate time in hertz. Counting a
clock over whole periods instead moves that one count to the clock's. A counter of `bits` binary digits reads the count
modulo ``2**bits`` and rolls over; it may also fall back to zero when its supply fails.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fuelunits.arrays import of_one_shape
from fuelunits.errors import QuantityError
from fuelunits.meters.rates import in_unit, positive_floats, whole_counts
from fuelunits.reports import Report, Reporting
from fuelunits.validation import plain_array, whole_number

_WIDEST = 32
"""Binary digits: with more, 2**31 readings could overflow the 64 bits of the running count."""

_BLOCK = 65_536
"""Readings worked on at a time: their 64-bit differences stay in the processor's cache."""


def gate_resolution_hz(gate_s: Any) -> Any:
    """Return the step, Hz, of a frequency found by counting whole pulses in a gate: one over its time.

    Source ``frequency_counter_note``.

    Parameters
    ----------
    gate_s : float or array, gate time, s, or text or a quantity such as ``"0.1 s"``; positive and finite, NaN passes

    Examples
    --------
    >>> gate_resolution_hz(0.1)
    10.0
    """
    return 1.0 / positive_floats(in_unit(gate_s, "s", "gate_s"), "gate_s")


def period_resolution(frequency_hz: Any, clock_hz: Any, *, periods: int = 1) -> Any:
    """Return the relative step, a fraction, of a frequency found by counting a clock over whole periods.

    The one count in ``n_clock`` of a reciprocal counter, source ``instrumentation_reference_book``.

    Parameters
    ----------
    frequency_hz, clock_hz : float or array
        Frequency measured and that of the clock, Hz, or text or quantities; positive and finite. They broadcast.
    periods : int, whole periods over which the clock is counted

    Examples
    --------
    >>> period_resolution(100.0, 1e6)
    0.0001
    """
    measured, clock = in_unit(frequency_hz, "Hz", "frequency_hz"), in_unit(clock_hz, "Hz", "clock_hz")
    with of_one_shape("frequency_hz, clock_hz and periods"):
        counted = positive_floats(clock, "clock_hz") * positive_floats(whole_counts(periods, "periods"), "periods")
        return positive_floats(measured, "frequency_hz") / counted


def counting_resolution(pulses: Any) -> Any:
    """Return the relative step of a total of pulses, a fraction: one over their number.

    Source ``jeronymo_aibe_2010``.

    Parameters
    ----------
    pulses : float or array, number of pulses counted; positive and finite, NaN passes

    Examples
    --------
    >>> counting_resolution(10_000)
    0.0001
    """
    return 1.0 / positive_floats(pulses, "pulses")


def pulses_for_resolution(relative: Any) -> Any:
    """Return the smallest whole number of pulses whose total resolves a fraction.

    A quotient within 1e-12 above a whole number counts as it. Source ``jeronymo_aibe_2010``.

    Parameters
    ----------
    relative : float or array, resolution wanted, as a fraction: 0.0001 for 0.01 %; positive and finite, NaN passes

    Examples
    --------
    >>> pulses_for_resolution(0.0003)
    3334.0
    """
    pulses = np.ceil((1.0 - 1e-12) / positive_floats(relative, "relative"))
    return pulses if np.ndim(pulses) else float(pulses)


@dataclass(frozen=True, eq=False, repr=False)
class RunningCounts(Reporting):
    """The counts of a counter, reading by reading, without its roll-overs.

    The running count begins at the first reading; after a reset it is the least that can have been counted. Roll-overs
    and resets are named by the index of the reading that comes after them.
    """

    counts: NDArray[np.int64]
    rollovers: NDArray[np.intp]
    resets: NDArray[np.intp]
    _plain: ClassVar[tuple[str, ...]] = ("total", "is_exact")

    @property
    def total(self) -> int:
        """Pulses from the first reading to the last; the least possible number if the counter was reset."""
        return int(self.counts[-1] - self.counts[0]) if self.counts.size else 0

    @property
    def is_exact(self) -> bool:
        """Whether the counts are exact: the counter was not seen to be reset."""
        return not self.resets.size

    def report(self) -> Report:
        """Return the total, and how often the counter rolled over and was reset."""
        facts = {"readings": self.counts.size, "roll-overs": self.rollovers.size, "resets": self.resets.size}
        return Report(f"{'' if self.is_exact else 'at least '}{self.total} pulses counted", facts=facts)


def unwrap_counter(readings: ArrayLike, *, bits: int, largest_increment: int | None = None) -> RunningCounts:
    """Return the running counts of a counter of finite width, and where it rolled over or was reset.

    From one reading to the next the counter has advanced by their difference modulo ``2**bits``, if that is no more
    than the largest increment: a fall is then a roll-over. If it is more, and the new reading is not, the counter was
    reset and has counted at least its new reading since. If neither fits, the readings are refused.

    Only the size of the increment distinguishes a reset from a roll-over: a reset of a nearly full counter passes for a
    roll-over, one of a counter that has since passed its last reading for plain counting, and a whole turn between
    two readings leaves no trace. Read the counter often, and state `largest_increment` as small as it truthfully is.

    Parameters
    ----------
    readings : array_like of int, readings in order, each from 0 to ``2**bits - 1``; one-dimensional
    bits : int, width of the counter: 16, 24 or 32 as a rule; 1 to 32
    largest_increment : int, optional
        The highest pulse frequency times the longest time between two readings; by default half of ``2**bits``.

    Examples
    --------
    >>> run = unwrap_counter([65_400, 65_500, 64, 164, 12], bits=16, largest_increment=200)
    >>> run.counts.tolist(), run.rollovers.tolist(), run.resets.tolist(), run.total
    ([65400, 65500, 65600, 65700, 65712], [2], [4], 312)
    """
    bits = whole_number(bits, "bits", least=1, most=_WIDEST)
    largest = (1 << (bits - 1)) if largest_increment is None else largest_increment
    largest = whole_number(largest, "largest_increment", least=1, most=(1 << bits) - 1)
    given = plain_array(readings, "readings")
    if given.ndim != 1 or (given.size and given.dtype.kind not in "iu"):
        raise QuantityError(
            f"readings are {given.dtype} of shape {given.shape}; give the whole numbers of one counter, one after "
            f"another, and leave out what is missing"
        )
    counts = np.empty(given.size, dtype=np.int64)
    falls, resets = ([np.empty(0, dtype=np.intp)] for _ in range(2))
    offset = 0
    for start in range(0, given.size, _BLOCK):
        # each block begins with the last reading of the one before
        first = max(start - 1, 0)
        block = _within_width(given[first : start + _BLOCK], bits, first)
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


def _within_width(block: NDArray[Any], bits: int, first: int) -> NDArray[np.int64]:
    """Return a block of readings as int64, having checked that the counter can read them."""
    if int(np.bitwise_or.reduce(block)) >> bits:
        at = int(np.argmax((block < 0) | (block > (1 << bits) - 1)))
        raise QuantityError(
            f"readings[{first + at}] is {block[at]}; a counter of {bits} bits reads 0 to {(1 << bits) - 1}"
        )
    return block.astype(np.int64, copy=False)


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
        raise QuantityError(
            f"readings[{first + at}] is {block[at]} after {block[at - 1]}: an advance of {step[at - 1] % (1 << bits)}, "
            f"or of at least {block[at]} since a reset, and the largest increment is {largest}; "
            f"leave the reading out, or give the largest_increment that the flow allows"
        )
    return fall, is_reset
