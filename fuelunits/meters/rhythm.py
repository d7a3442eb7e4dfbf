"""The rhythm of pulses: single missed and double pulses, patterns that repeat, and a share without rhythm.

The rhythm around a period (s) is the median of eleven, five on each side; it follows a change of flow and bears five
irregular periods. Where a fault repeats with every pulse that median is of no use, so periods are compared with their
place in groups of two to four. The limits are choices of this library; simulated trains in the tests count the misses.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from fuelunits.errors import QuantityError
from fuelunits.meters.counts import blocks

SIDE = 5
"""Periods on each side of one whose median it is compared with (eleven in all)."""
NEEDED = 2 * SIDE + 2
"""Pulses that give a rhythm."""
LOST_AT_MOST = 3
"""The most pulses to suspect in one gap; a longer one is taken for a pause in the flow."""
_OFF = 0.25
"""How far a period may be from a whole number of periods, in periods."""
_WIDTH = 48
"""Periods in a stretch that is searched for a pattern: a multiple of 2, 3 and 4, as is its half."""
_AMPLITUDE = 0.05
"""Unevenness of a pattern, a fraction of the period, below which it is taken for an uneven rotor."""
_STANDARD_ERRORS = 6.0


@dataclass(frozen=True)
class Irregularity:
    """A suspicion: the index and time of the pulse after which `pulses` are missing, or of the one too many."""

    index: int
    time_s: float
    pulses: int


@dataclass(frozen=True)
class RepeatingPattern:
    """Unequal periods that repeat with every `length` pulses, in a `share` of the record, between two times.

    `shape` is one pattern relative to its mean, the shortest period first.
    """

    length: int
    shape: tuple[float, ...]
    share: float
    start_s: float
    stop_s: float

    @property
    def explanation(self) -> str:
        """The possible causes."""
        periods = " : ".join(f"{each:.2f}" for each in self.shape)
        causes = [f"every pulse comes {self.length} times (the flow reads {self.length} times too high)"]
        short = self.length / (self.length + 1)
        if np.allclose(self.shape, [*[short] * (self.length - 1), 2.0 * short], atol=0.15):
            causes.append(f"one pulse in {self.length + 1} is missing (it reads {short:.2f} of the flow)")
        return f"periods of {periods} repeat in {100.0 * self.share:.0f} % of the record: {', or '.join(causes)}"


def rhythm(periods_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the running median of all periods but the five at either end."""
    if periods_s.size < NEEDED - 1:
        raise QuantityError(f"{periods_s.size + 1} pulses are too few to show a rhythm; at least {NEEDED} are needed")
    windows = sliding_window_view(periods_s, 2 * SIDE + 1)
    medians = np.empty(len(windows))
    for part in blocks(medians.size):
        medians[part] = np.partition(windows[part], SIDE)[:, SIDE]
    return medians


def gaps(periods_s: NDArray[np.float64]) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return which periods are a whole multiple of the rhythm or a pause, and how many pulses each lacks."""
    ratio = periods_s[SIDE:-SIDE] / rhythm(periods_s)
    lost = np.rint(ratio) - 1.0
    whole = (np.abs(ratio - 1.0 - lost) <= _OFF) | (lost > LOST_AT_MOST)
    found = np.flatnonzero((lost >= 1.0) & whole)
    return found + SIDE, lost[found]


def double_pulses(periods_s: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return the index of each pulse between two periods that together make one."""
    expected = rhythm(periods_s)
    pair = periods_s[SIDE : -SIDE - 1] + periods_s[SIDE + 1 : -SIDE]
    off = np.maximum(np.abs(pair / expected[:-1] - 1.0), np.abs(pair / expected[1:] - 1.0))
    around = np.pad(off, 1, constant_values=np.inf)
    best = (off < around[:-2]) & (off <= around[2:])
    return np.flatnonzero(best & (off <= _OFF)) + SIDE + 1


def irregular_share(periods_s: NDArray[np.float64]) -> float:
    """Return the fraction of periods that are more than a quarter off the rhythm around them."""
    return float(np.mean(np.abs(periods_s[SIDE:-SIDE] / rhythm(periods_s) - 1.0) > _OFF))


def unexpected(times_s: NDArray[np.float64], expected_hz: float, tolerance: float) -> tuple[Irregularity, ...]:
    """Return each stretch whose rhythm is off an expected period by over a quarter and the tolerance.

    Pulses that come twice evenly for a part of the record, half a period apart, leave no other trace.
    """
    off = np.abs(rhythm(np.diff(times_s)) * expected_hz - 1.0) > max(_OFF, tolerance)
    ends = np.flatnonzero(np.diff(np.concatenate([[False], off, [False]])))
    return irregularities(times_s, ends[::2] + SIDE, ends[1::2] - ends[::2])


def repeating_patterns(times_s: NDArray[np.float64]) -> tuple[RepeatingPattern, ...]:
    """Return the patterns of two, three or four unequal periods that repeat, the shorter ones first.

    A place in the group differs from the mean of all by over 5 %, and by over six standard errors of the scatter.
    """
    periods = np.diff(times_s)
    size = periods.size - 4
    width = _WIDTH if size >= _WIDTH else _WIDTH // 2
    if size < width:
        return ()
    starts = np.append(np.arange(0, size - width + 1, width), size - width)
    left = np.ones(starts.size, dtype=bool)
    found = []
    for length in (2, 3, 4):
        # relative to the mean of as many periods around it, so that a changing flow leaves no pattern
        first = 2 - length // 2
        around = sum(periods[first + j : first + j + size] for j in range(length)) / length
        relative = sliding_window_view(periods[2:-2] / around, width)[starts].reshape(-1, width // length, length)
        means = relative.mean(axis=1)
        amplitude = np.abs(means - means.mean(axis=1, keepdims=True)).max(axis=1)
        error = np.sqrt(relative.var(axis=1, ddof=1).mean(axis=1) * length / width)
        here = np.flatnonzero(left & (amplitude > _AMPLITUDE) & (amplitude > _STANDARD_ERRORS * error))
        left[here] = False
        if here.size:
            shape = np.median(np.sort(means[here], axis=1), axis=0)
            ends = float(times_s[starts[here[0]] + 2]), float(times_s[starts[here[-1]] + 2 + width])
            found.append(RepeatingPattern(length, tuple(shape.tolist()), here.size / starts.size, *ends))
    return tuple(found)


def irregularities(times_s: NDArray[np.float64], indexes: Any, pulses: Any) -> tuple[Irregularity, ...]:
    """Return places of a record by the index of their pulse."""
    lost = np.broadcast_to(pulses, np.shape(indexes))
    return tuple(Irregularity(int(i), float(times_s[i]), int(n)) for i, n in zip(indexes, lost, strict=True))
