"""Recompute the published figures of counted pulses: resolutions, a period, a difference of readings."""

from __future__ import annotations

from collections.abc import Callable

from fuelunits.meters.counting import (
    counting_resolution,
    gate_resolution_hz,
    period_resolution,
    pulses_for_resolution,
    unwrap_counter,
)
from fuelunits.meters.pulse_record import PulseRecord

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Give our value of a published one.

    Parameters
    ----------
    what : str
        Kind of value, as in the first column of ``pulse_train.csv``.
    given : dict of str to str
        What the source states it for.

    Examples
    --------
    >>> round(recompute("frequency by period", {"clock_counts": "743", "clock_hz": "1e6"}), 3)
    1345.895
    """
    return _KINDS[what]({name: float(number) for name, number in given.items()})


def _clock_counts(given: dict[str, float]) -> float:
    return float(1.0 / period_resolution(given["frequency_hz"], given["clock_hz"]))


def _frequency_by_period(given: dict[str, float]) -> float:
    record = PulseRecord([0.0, given["clock_counts"] / given["clock_hz"]])
    return float(record.by_period().frequency().frequency_hz[0])


def _difference(given: dict[str, float]) -> float:
    return float(unwrap_counter([int(given["opening"]), int(given["closing"])], bits=32).total)


_KINDS: dict[str, Callable[[dict[str, float]], float]] = {
    "gate resolution": lambda given: float(gate_resolution_hz(given["gate_s"])),
    "clock counts in a period": _clock_counts,
    "frequency by period": _frequency_by_period,
    "counting resolution": lambda given: 100.0 * float(counting_resolution(given["pulses"])),
    "pulses for a resolution": lambda given: float(pulses_for_resolution(given["relative_percent"] / 100.0)),
    "difference of two readings": _difference,
}
