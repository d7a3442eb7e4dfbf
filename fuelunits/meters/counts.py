"""Whole pulses between known times, their frequency, and the flow that they mean.

Pulses counted by gate or by period (``fuelunits.meters.pulse_record``) and a counter read now and then are
the same thing: :class:`PulseCounts`. Their frequency over time is a :class:`FrequencyRecord`, which
can be smoothed, cut off at low flow, and divided by a K-factor. Totals are sums of whole numbers,
and exact.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from math import isqrt
from typing import Any, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fuelunits.arrays import as_float
from fuelunits.conversion import convert
from fuelunits.errors import QuantityError
from fuelunits.meters.counting import RunningCounts
from fuelunits.validation import check_type, format_value, plain_array, plain_number

__all__ = ["FrequencyRecord", "PulseCounts", "first_order_lag"]

_BLOCK = 32_768
"""Elements worked on at a time, so that what is written stays in the processor's cache."""


def blocks(size: int) -> Iterator[slice]:
    """Divide a length into slices."""
    return (slice(start, start + _BLOCK) for start in range(0, size, _BLOCK))


def one_positive(value: float, name: str) -> float:
    """Give one positive, finite number, or refuse it."""
    number = plain_number(value, name)
    if not 0.0 < number < math.inf:
        raise QuantityError(
            f"{name} is {format_value(value)}; give one positive, finite number in the unit that its name says"
        )
    return number


class HasKFactor(Protocol):
    """What flow needs of a K-factor."""

    def per(self, unit: str) -> float:
        """Pulses per unit of volume."""


def _check_times(times_s: NDArray[np.float64], name: str) -> None:
    """Refuse times that do not increase from each to the next, or are not finite."""
    later = times_s[1:] > times_s[:-1]
    if not later.all():
        at = int(np.argmin(later)) + 1
        raise QuantityError(
            f"{name}[{at}] is {times_s[at]!s} after {times_s[at - 1]!s}: times must increase from each to the next; "
            f"find out why this one does not before leaving it out"
        )
    if times_s.size and not np.isfinite(times_s[[0, -1]]).all():
        raise QuantityError(f"{name} go from {times_s[0]} to {times_s[-1]}; every time must be finite")


def checked_times(times_s: ArrayLike, name: str) -> NDArray[np.float64]:
    """Give times as a read-only float64 view or copy, checked."""
    given = plain_array(times_s, name)
    if given.ndim != 1:
        raise QuantityError(f"{name} have the shape {given.shape}; give one time after another")
    if given.dtype.kind not in "iuf" or (given.dtype.kind == "f" and given.dtype.itemsize < 8):
        raise QuantityError(f"{name} are {given.dtype}; give seconds as float64, which has the digits that times need")
    view = given.astype(np.float64, copy=False).view()
    view.flags.writeable = False
    _check_times(view, name)
    return view


def checked_edges(edges_s: ArrayLike, values: NDArray[Any]) -> NDArray[np.float64]:
    """Give the ends of the intervals of values, checked."""
    edges = checked_times(edges_s, "edges_s")
    if values.shape != (edges.size - 1,):
        raise QuantityError(
            f"{edges.size} edges_s bound {max(edges.size - 1, 0)} intervals; values are of shape {values.shape}"
        )
    return edges


def first_order_lag(values: ArrayLike, intervals_s: ArrayLike, time_constant_s: float) -> NDArray[np.float64]:
    """Smooth a stepwise signal as a first-order lag does, whatever the lengths of its steps.

    Parameters
    ----------
    values : array_like
        The signal, constant within each interval. NaN gives NaN, and the lag begins anew after it.
    intervals_s : array_like
        Lengths of the intervals, s; of the same shape, one-dimensional.
    time_constant_s : float
        Time in which the lag follows a step by 1 - 1/e, s.

    Returns
    -------
    numpy.ndarray
        Smoothed signal at the end of each interval; it begins at the first value.

    Raises
    ------
    QuantityError
        If the time constant or an interval is not positive, or the shapes differ.

    Notes
    -----
    The solution of ``tau dy/dt = x - y`` for constant x: within an interval dt, y approaches x by
    ``1 - exp(-dt/tau)``. It holds for any dt, so that dividing an interval changes nothing.

    Examples
    --------
    >>> first_order_lag([0.0, 1.0, 1.0], [1.0, 2.0, 2.0], 2.0).round(4).tolist()
    [0.0, 0.6321, 0.8647]
    """
    x, dt = (np.asarray(as_float(each), dtype=np.float64) for each in (values, intervals_s))
    if x.shape != dt.shape or x.ndim != 1:
        raise QuantityError(f"values have the shape {x.shape} and intervals_s {dt.shape}; give one interval a value")
    if not np.all(dt > 0.0):
        raise QuantityError("intervals_s holds one that is not positive; a lag runs forward in time only")
    keep = np.exp(dt / -one_positive(time_constant_s, "time_constant_s"))
    missing = np.isnan(x)
    keep[:1] = 0.0
    keep[1:][missing[:-1]] = 0.0
    drive = (1.0 - keep) * np.where(missing, 0.0, x)
    smooth = _recursion(keep, drive)
    smooth[missing] = np.nan
    return smooth


def _recursion(keep: NDArray[np.float64], drive: NDArray[np.float64]) -> NDArray[np.float64]:
    """Solve ``y[i] = keep[i] * y[i-1] + drive[i]`` in about 2 sqrt(n) steps of whole arrays.

    The series is laid out in columns. All columns are run down together as if nothing came before
    them; then the end of each is carried on to the next by what the column keeps of it.
    """
    n = drive.size
    rows = isqrt(n) + 1
    columns = -(-n // rows)
    y, kept = (np.pad(each, (0, rows * columns - n)).reshape(columns, rows).T.copy() for each in (drive, keep))
    for i in range(1, rows):
        y[i] += kept[i] * y[i - 1]
        kept[i] *= kept[i - 1]
    carried = np.zeros(columns)
    for j in range(1, columns):
        carried[j] = y[-1, j - 1] + kept[-1, j - 1] * carried[j - 1]
    y += kept * carried
    return y.T.ravel()[:n]


@dataclass(frozen=True, eq=False)
class FrequencyRecord:
    """Pulse frequency over time, constant within each interval.

    Attributes
    ----------
    edges_s : numpy.ndarray
        Ends of the intervals, s: one more than there are intervals.
    frequency_hz : numpy.ndarray
        Frequency in each, Hz; NaN where it is not known.
    cut_off_s : float
        Time for which the frequency lay below a low-flow cutoff and was set to zero, s.

    Examples
    --------
    >>> from fuelunits.meters.k_factor import KFactor
    >>> record = FrequencyRecord([0.0, 60.0, 90.0, 100.0], [79.8, 0.2, 119.7])
    >>> with_cutoff = record.cut_off(1.0)
    >>> with_cutoff.flow(KFactor(28_740, per="gal"), "gal/h").round(2).tolist(), with_cutoff.cut_off_s
    ([10.0, 0.0, 14.99], 30.0)
    """

    edges_s: NDArray[np.float64]
    frequency_hz: NDArray[np.float64]
    cut_off_s: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "frequency_hz", np.asarray(as_float(self.frequency_hz), dtype=np.float64))
        object.__setattr__(self, "edges_s", checked_edges(self.edges_s, self.frequency_hz))

    def smoothed(self, time_constant_s: float) -> FrequencyRecord:
        """Give the frequency as a first-order lag follows it, at the end of each interval.

        Parameters
        ----------
        time_constant_s : float
            Time in which the lag follows a step by 1 - 1/e, s; see :func:`first_order_lag`.

        Notes
        -----
        A carburetted engine draws unevenly, as its float valve opens and closes (common practice).
        What is shown then depends on the time constant, which belongs beside the figure.
        """
        smooth = first_order_lag(self.frequency_hz, np.diff(self.edges_s), time_constant_s)
        return replace(self, frequency_hz=smooth)

    def cut_off(self, below_hz: float) -> FrequencyRecord:
        """Give the frequency with zero wherever it lies below a low-flow cutoff.

        Parameters
        ----------
        below_hz : float
            The cutoff, Hz; a frequency that equals it is kept.

        Returns
        -------
        FrequencyRecord
            With ``cut_off_s``, the time for which the frequency lay below, zero or not. The pulses
            of that time stay in the counts, from which totals are taken.
        """
        low = self.frequency_hz < one_positive(below_hz, "below_hz")
        cut_s = float(np.diff(self.edges_s)[low].sum())
        return replace(self, frequency_hz=np.where(low, 0.0, self.frequency_hz), cut_off_s=cut_s)

    def flow(self, k_factor: HasKFactor, unit: str, *, density: Any = None) -> NDArray[np.float64]:
        """Give the flow in a unit: frequency over K-factor.

        Parameters
        ----------
        k_factor : KFactor
            Pulses per volume, such as ``KFactor(28_740, per="gal")``.
        unit : str
            Unit of volume flow, or of mass flow with a density.
        density : str or pint.Quantity, optional
            Density of the fuel at its temperature in the transducer, for a unit of mass flow.

        Returns
        -------
        numpy.ndarray
            Flow in `unit`, in each interval.

        Raises
        ------
        QuantityError
            If the K-factor is a bare number.
        DimensionError
            If the unit is none of flow, or the density is missing or not needed.
        """
        if not hasattr(k_factor, "per"):
            raise QuantityError(
                f'k_factor: {k_factor!r} has no unit; write KFactor(28_740, per="gal"), say; '
                f"plain numbers go to fuelunits.meters.k_factor.flow_per_hour"
            )
        litres_per_pulse = 1.0 / one_positive(k_factor.per("L"), "K-factor per litre")
        scale: float = convert(litres_per_pulse, "L/s", unit, density=density)
        return self.frequency_hz * scale


@dataclass(frozen=True, eq=False)
class PulseCounts:
    """Whole pulses counted between known times.

    Attributes
    ----------
    edges_s : numpy.ndarray
        Ends of the intervals, s, increasing: one more than there are intervals.
    counts : numpy.ndarray of int
        Pulses in each interval.
    at_least : numpy.ndarray of int
        Indexes of intervals in which more may have been counted, because the counter was reset.

    Examples
    --------
    >>> counts = PulseCounts([0.0, 60.0, 90.0], [6000, 2400])
    >>> counts.total, counts.frequency().frequency_hz.tolist()
    (8400, [100.0, 80.0])
    """

    edges_s: NDArray[np.float64]
    counts: NDArray[np.integer[Any]]
    at_least: NDArray[np.intp] = field(default_factory=lambda: np.empty(0, dtype=np.intp))

    def __post_init__(self) -> None:
        counts = plain_array(self.counts, "counts")
        if counts.size and (counts.dtype.kind not in "iu" or counts.min() < 0):
            raise QuantityError(f"counts are whole numbers that are not negative; these are {counts.dtype}: {counts}")
        object.__setattr__(self, "counts", counts)
        object.__setattr__(self, "edges_s", checked_edges(self.edges_s, counts))

    @classmethod
    def of_counter(cls, times_s: ArrayLike, running: RunningCounts) -> PulseCounts:
        """Give the counts between the readings of a counter.

        Parameters
        ----------
        times_s : array_like
            When each reading was taken, s, increasing.
        running : RunningCounts
            The readings as :func:`fuelunits.meters.counting.unwrap_counter` gives them.

        Examples
        --------
        >>> from fuelunits.meters.counting import unwrap_counter
        >>> counts = PulseCounts.of_counter([0.0, 10.0, 20.0], unwrap_counter([65_000, 464, 1_464], bits=16))
        >>> counts.counts.tolist(), counts.frequency().frequency_hz.tolist()
        ([1000, 1000], [100.0, 100.0])
        """
        check_type(running, RunningCounts, "running", "what unwrap_counter() gives")
        return cls(checked_times(times_s, "times_s"), np.diff(running.counts), running.resets - 1)

    @property
    def total(self) -> int:
        """Pulses in all intervals: an exact sum, and the least there can have been if any are `at_least`."""
        return int(self.counts.sum(dtype=np.int64))

    @property
    def running_total(self) -> NDArray[np.int64]:
        """Pulses from the first edge to the end of each interval."""
        return np.cumsum(self.counts, dtype=np.int64)

    def frequency(self) -> FrequencyRecord:
        """Give the mean frequency in each interval; NaN where the count is not known."""
        frequency = np.empty(self.counts.size)
        for part in blocks(frequency.size):
            interval = np.subtract(self.edges_s[1:][part], self.edges_s[:-1][part], out=frequency[part])
            np.divide(self.counts[part], interval, out=interval)
        frequency[self.at_least] = np.nan
        return FrequencyRecord(self.edges_s, frequency)
