"""Recorded pulses: the time of every one, counted by gate or by period, and where the rhythm breaks.

Missed and double pulses are reported and never mended. What is counted becomes frequency and flow
in ``fuelunits.meters.counts``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import ArrayLike, NDArray

from fuelunits.errors import QuantityError
from fuelunits.meters.counts import PulseCounts, blocks, checked_times, one_positive
from fuelunits.validation import format_value, plain_number

__all__ = ["Irregularity", "PulseRecord"]

_SIDE = 5
"""Periods on each side of one whose median it is compared with (eleven in all)."""


@dataclass(frozen=True)
class Irregularity:
    """A place where a record breaks its rhythm: a suspicion, for a technician to judge.

    Attributes
    ----------
    index : int
        Index of the pulse after which others are missing, or of the one too many.
    time_s : float
        Time of that pulse, s.
    pulses : int
        How many are missing, or too many.
    """

    index: int
    time_s: float
    pulses: int


@dataclass(frozen=True, init=False, eq=False)
class PulseRecord:
    """The times of recorded pulses.

    Parameters
    ----------
    times_s : array_like
        Time of each pulse, s, increasing; one-dimensional, float64 (or integers, in seconds). The
        array is not copied, and not written to. Count from the start of the record: of a time
        counted from 1970 float64 keeps a quarter of a microsecond.

    Raises
    ------
    QuantityError
        If a time is not after the one before (its index is named), or not finite.

    Examples
    --------
    >>> record = PulseRecord([0.00, 0.01, 0.02, 0.03, 0.04])
    >>> record.count, record.duration_s
    (5, 0.04)
    >>> record.by_period().frequency().frequency_hz.round(6).tolist()
    [100.0, 100.0, 100.0, 100.0]
    """

    times_s: NDArray[np.float64]

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

    def by_gate(self, gate_s: float, *, start_s: float | None = None, stop_s: float | None = None) -> PulseCounts:
        """Count whole pulses in gates of equal length, one after another.

        Parameters
        ----------
        gate_s : float
            Gate time, s.
        start_s, stop_s : float, optional
            Begin of the first gate, and the time by which the last one ends; by default the first
            and the last pulse. Time before and after them, in which nothing flowed, is counted
            only if it is stated.

        Returns
        -------
        PulseCounts
            A pulse on the edge of two gates belongs to the later one. A last, incomplete gate is
            left out: the pulses in it are ``count`` less ``total``.

        Raises
        ------
        QuantityError
            If not one gate fits.

        Notes
        -----
        The frequency goes in steps of one pulse a gate: ``fuelunits.meters.counting.gate_resolution_hz``.
        """
        gate = one_positive(gate_s, "gate_s")
        if not self.count and (start_s is None or stop_s is None):
            raise QuantityError("there are no pulses; give start_s and stop_s")
        start = float(self.times_s[0]) if start_s is None else plain_number(start_s, "start_s")
        stop = float(self.times_s[-1]) if stop_s is None else plain_number(stop_s, "stop_s")
        gates = (stop - start) / gate
        if not 1.0 - 1e-9 <= gates < math.inf:
            raise QuantityError(f"not one gate of {gate} s fits between {start} s and {stop} s")
        edges = start + gate * np.arange(int(gates + 1e-9) + 1, dtype=np.float64)
        return PulseCounts(edges, np.diff(np.searchsorted(self.times_s, edges)))

    def by_period(self, every: int = 1) -> PulseCounts:
        """Count by period: from each pulse to the next, or to the one `every` pulses on.

        Parameters
        ----------
        every : int
            Whole periods in each interval; pulses at the end that do not fill one are left out.

        Returns
        -------
        PulseCounts
            The total is that of the periods: one less than of the pulses, if `every` is 1.

        Raises
        ------
        QuantityError
            If there are too few pulses for one interval.
        """
        if not isinstance(every, (int, np.integer)) or not 1 <= every < self.count:
            raise QuantityError(
                f"{self.count} pulses bound {max(self.count - 1, 0)} periods; every is {format_value(every)}"
            )
        edges = self.times_s[::every]
        return PulseCounts(edges, np.broadcast_to(np.int64(every), (edges.size - 1,)))

    def missed_pulses(self, *, tolerance: float = 0.25, most: int = 3) -> tuple[Irregularity, ...]:
        """Find periods that are a whole multiple of the rhythm around them, as if pulses were missed.

        Parameters
        ----------
        tolerance : float
            How far from a whole number of periods the gap may be, in periods; below 0.5.
        most : int
            The most pulses to suspect in one gap; a longer one is taken for a pause in the flow.

        Returns
        -------
        tuple of Irregularity
            Each names the pulse before the gap, and how many are missing.

        Raises
        ------
        QuantityError
            If there are fewer than twelve pulses, or the tolerance is none.

        Notes
        -----
        The rhythm is the median of eleven periods, five on each side. It follows a steady change of
        flow and a step, and bears five irregular periods in eleven. The five periods at either end
        of the record are not judged. A short stop of the flow looks the same as missed pulses.

        Examples
        --------
        >>> record = PulseRecord([0, 1, 2, 3, 4, 5, 6, 7, 10, 11, 12, 13, 14, 15, 16])
        >>> record.missed_pulses()
        (Irregularity(index=7, time_s=7.0, pulses=2),)
        """
        tolerance, largest = _periods_off(tolerance), one_positive(most, "most")
        periods, rhythm = self._rhythm()
        ratio = periods[_SIDE:-_SIDE] / rhythm
        lost = np.rint(ratio) - 1.0
        found = np.flatnonzero((lost >= 1.0) & (lost <= largest) & (np.abs(ratio - 1.0 - lost) <= tolerance))
        return tuple(self._irregularity(i + _SIDE, lost[i]) for i in found)

    def double_pulses(self, *, tolerance: float = 0.25) -> tuple[Irregularity, ...]:
        """Find pairs of periods that together make one, as if a pulse had come twice.

        Parameters
        ----------
        tolerance : float
            How far from one period the two together may be, in periods; below 0.5.

        Returns
        -------
        tuple of Irregularity
            Each names the pulse between the two periods. Of two pulses very close to each other
            either may be the one too many.

        Raises
        ------
        QuantityError
            If there are fewer than twelve pulses, or the tolerance is none.

        Notes
        -----
        The rhythm is found as for :meth:`missed_pulses`.

        Examples
        --------
        >>> record = PulseRecord([0, 1, 2, 3, 4, 5, 6, 7, 7.4, 8, 9, 10, 11, 12, 13, 14])
        >>> record.double_pulses()
        (Irregularity(index=8, time_s=7.4, pulses=1),)
        """
        tolerance = _periods_off(tolerance)
        periods, rhythm = self._rhythm()
        pair = periods[_SIDE : -_SIDE - 1] + periods[_SIDE + 1 : -_SIDE]
        off = np.maximum(np.abs(pair / rhythm[:-1] - 1.0), np.abs(pair / rhythm[1:] - 1.0))
        around = np.pad(off, 1, constant_values=np.inf)
        best = (off < around[:-2]) & (off <= around[2:])
        found = np.flatnonzero(best & (off <= tolerance))
        return tuple(self._irregularity(i + _SIDE + 1, 1) for i in found)

    def _rhythm(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Give the periods, and the running median of all but those at the ends."""
        needed = 2 * _SIDE + 2
        if self.count < needed:
            raise QuantityError(f"{self.count} pulses have no rhythm to judge by; at least {needed} are needed")
        periods = np.diff(self.times_s)
        windows = sliding_window_view(periods, 2 * _SIDE + 1)
        rhythm = np.empty(len(windows))
        for part in blocks(rhythm.size):
            rhythm[part] = np.partition(windows[part], _SIDE)[:, _SIDE]
        return periods, rhythm

    def _irregularity(self, index: Any, pulses: Any) -> Irregularity:
        return Irregularity(int(index), float(self.times_s[index]), int(pulses))


def _periods_off(tolerance: float) -> float:
    if not 0.0 < plain_number(tolerance, "tolerance") < 0.5:
        raise QuantityError(f"tolerance is {tolerance}; give a part of a period, above 0 and below 0.5")
    return tolerance
