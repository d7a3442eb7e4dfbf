"""The history of a transducer: change since the last calibration, drift, and when to calibrate again.

A change is judged by E_n = d/U(d), where U(d) excludes the causes that two calibrations share (ISO/IEC 17043, recalled;
no published numeric example was found). The drift is a weighted straight line since the last repair.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean, median, stdev
from typing import Any

import numpy as np

from fuelunits.bench.calibration import Calibration
from fuelunits.errors import QuantityError
from fuelunits.quantities import fraction
from fuelunits.records.job import read_date
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.uncertainty.budget import COVERAGE, coverage_factor, nominal, standard_uncertainty
from fuelunits.uncertainty.student_t import student_t
from fuelunits.validation import (
    check_type,
    check_types,
    format_value,
    plain_array,
    plain_number,
    positive_number,
    whole_number,
)

_YEAR_D = 365.25
_OUTLIER = 0.05
"""Probability at most that one of a sound batch is said to stand out, by Grubbs' test (ISO 5725-2, recalled)."""
_FLOWS = 1.1
"""Ratio of flows beyond which K is not compared: it depends on the flow (chosen, not from a source)."""


@dataclass(frozen=True)
class CalibrationEvent:
    """A calibration of a transducer on a date, and whether it was repaired before.

    Parameters
    ----------
    date : str
        As 2031-05-17.
    calibration : Calibration
        Its result, with its runs.
    repaired : bool
        Whether it was repaired or adjusted since the calibration before: drift then starts again.

    Examples
    --------
    >>> CalibrationEvent("17 May 2031", None)
    Traceback (most recent call last):
        ...
    fuelunits.errors.QuantityError: date must be a date such as '2031-05-17'; got '17 May 2031'
    """

    date: str
    calibration: Calibration
    repaired: bool = False

    def __post_init__(self) -> None:
        read_date(self.date, "date")
        check_type(self.calibration, Calibration, "calibration", "a Calibration")


def _at_other_flows(*calibrations: Calibration) -> str:
    """Return that the flows are too far apart for their K to be compared, or nothing."""
    flows = [each.flow_l_per_h for each in calibrations]
    return f"at flows from {min(flows):.4g} to {max(flows):.4g} L/h" if max(flows) > _FLOWS * min(flows) else ""


@dataclass(frozen=True)
class Change:
    """The change of K between two calibrations, relative, with its standard and its expanded uncertainty and E_n."""

    start: str
    end: str
    days: int
    relative: float
    uncertainty: float
    expanded_uncertainty: float
    repaired: bool

    @property
    def e_n(self) -> float | None:
        """The change over its expanded uncertainty (95.45 %); None where none was stated, or the flows differ."""
        return self.relative / self.expanded_uncertainty if self.expanded_uncertainty else None


@dataclass(frozen=True)
class Drift:
    """Relative drift of K per year over a number of calibrations, with its standard and its expanded uncertainty.

    Both are NaN where the uncertainty of a calibration is incomplete.
    """

    per_year: float
    uncertainty: float
    expanded_uncertainty: float
    calibrations: int


@dataclass(frozen=True, repr=False)
class TransducerHistory(Reporting):
    """The calibrations of one transducer, in order of date.

    Parameters
    ----------
    serial : str
        Its serial number.
    events : sequence of CalibrationEvent
        One per date. Those at flows more than 10 % apart are not compared: K depends on the flow.

    Examples
    --------
    >>> TransducerHistory("A-0117", []).changes()
    ()
    """

    serial: str
    events: Sequence[CalibrationEvent]

    def __post_init__(self) -> None:
        check_type(self.serial, str, "serial", "text")
        events = check_types(self.events, CalibrationEvent, "events", "CalibrationEvent")
        ordered = tuple(sorted(events, key=lambda event: event.date))
        for one, other in pairwise(ordered):
            if one.date == other.date:
                raise QuantityError(f"events: two calibrations of {self.serial} on {one.date}")
        object.__setattr__(self, "events", ordered)

    def changes(self) -> tuple[Change, ...]:
        """Return the change from each calibration to the next; its uncertainty excludes the causes that both share."""
        found = []
        for one, other in pairwise(self.events):
            before, after = one.calibration.k_pulses_per_l, other.calibration.k_pulses_per_l
            ratio = after / before
            days = (read_date(other.date, "date") - read_date(one.date, "date")).days
            both = one.calibration, other.calibration
            missing = any(each.missing for each in both) or _at_other_flows(*both)
            spread = 0.0 if missing else standard_uncertainty(ratio)
            expanded = coverage_factor(ratio) * spread if spread else 0.0
            relative = float(nominal(ratio)) - 1.0
            found.append(Change(one.date, other.date, days, relative, spread, expanded, other.repaired))
        return tuple(found)

    def drift(self) -> Drift | None:
        """Return the drift since the last repair, by weighted least squares; None of fewer than three, or other flows.

        The uncertainty of the slope is the larger of what the calibrations' own uncertainties give and what the
        scatter about the line gives; that is expanded with Student's t, and theirs as each calibration is (95.45 %).
        """
        start = max((i for i, event in enumerate(self.events) if event.repaired), default=0)
        events = self.events[start:]
        if len(events) < 3 or _at_other_flows(*(event.calibration for event in events)):
            return None
        first = read_date(events[0].date, "date")
        years = np.array([(read_date(event.date, "date") - first).days / _YEAR_D for event in events])
        k = np.array([float(nominal(event.calibration.k_pulses_per_l)) for event in events])
        known = not any(event.calibration.missing for event in events)
        # half of each U, whose factor allows for the few runs behind it
        u = np.array([event.calibration.expanded_uncertainty() / 2.0 if known else 1.0 for event in events])
        relative, free = k / k[0] - 1.0, len(events) - 2
        # what was not stated scatters as well: one that happens to be stated as very good must not outweigh all others
        spread = np.sum((relative - np.polyval(np.polyfit(years, relative, 1), years)) ** 2) / free
        weights = 1.0 / (u**2 + spread)
        mean = np.average(years, weights=weights)
        sum_squares = float((weights * (years - mean) ** 2).sum())
        slope = float((weights * (years - mean) * relative).sum() / sum_squares)
        residuals = relative - np.average(relative, weights=weights) - slope * (years - mean)
        scatter = math.sqrt(float((weights * residuals**2).sum()) / free / sum_squares)
        if not known:
            return Drift(slope, math.nan, math.nan, len(events))
        stated = math.sqrt(float(((weights * (years - mean) * u) ** 2).sum())) / sum_squares
        expanded = max(student_t(COVERAGE, free) * scatter, 2.0 * stated)
        return Drift(slope, max(scatter, stated), expanded, len(events))

    def report(self) -> Report:
        """Return the report of the history."""
        rows = [
            {"date": event.date, "K, pulse/L": f"{k.k_factor.pulses_per_l:.6g}", "flow, L/h": f"{k.flow_l_per_h:.4g}"}
            for event in self.events
            for k in [event.calibration]
        ]
        for row, change in zip(rows[1:], self.changes(), strict=True):
            row["days"] = str(change.days)
            row["change, %"] = f"{100.0 * change.relative:+.3f}"
            row["E_n"] = "" if change.e_n is None else f"{change.e_n:+.2f}"
            row["repaired"] = "yes" if change.repaired else ""
        drift = self.drift()
        facts = {}
        if drift is not None:
            spread = f"± {format_percent(drift.expanded_uncertainty, digits=2)} (95.45 % coverage)"
            spread = "uncertainty not known" if math.isnan(drift.uncertainty) else spread
            facts["drift"] = f"{format_percent(drift.per_year, signed=True)} per year, {spread}"
        beyond = [change.end for change in self.changes() if change.e_n is not None and abs(change.e_n) > 1.0]
        unknown = any(change.e_n is None for change in self.changes())
        flows = _at_other_flows(*(event.calibration for event in self.events)) if unknown else ""
        words = f"undecided, {flows or 'an uncertainty was not stated in full'}" if unknown else "no significant change"
        words = f"significant change at {', '.join(beyond)}{f'; others {words}' * unknown}" if beyond else words
        return Report(
            f"Transducer {self.serial}, {len(self.events)} calibrations: {words}",
            facts=facts,
            tables=(Table.of(rows),),
            remarks=("E_n beyond ±1 is significant.",),
        )


def interval_by_reliability(in_tolerance: int, calibrations: int, interval_d: float, *, target: float = 0.95) -> float:
    """Return the next calibration interval from how many calibrations found the instrument in tolerance.

    Parameters
    ----------
    in_tolerance, calibrations : int
        How many were found in tolerance, of how many at this interval.
    interval_d : float
        The interval so far, in days, a plain number.
    target : float
        The reliability wanted at the end of an interval, a fraction.

    Returns
    -------
    float
        Days: I × 10^((R - target) Q), with R the observed reliability and Q the confidence with which the target is
        rejected; at most doubled or halved, and unchanged where Q is below one half. Method A3 of NCSLI RP-1, as a
        symposium tutorial of 2019 shows it [rp_1_a3].

    Examples
    --------
    >>> round(interval_by_reliability(15, 20, 365.0))
    231
    """
    interval_d, target = positive_number(interval_d, "interval_d", example=365), _probability(target, "target", 0.0)
    n = whole_number(calibrations, "calibrations", least=1, most=10_000)
    x = whole_number(in_tolerance, "in_tolerance", most=n)
    so_far_off = range(x, n + 1) if x / n > target else range(x + 1)
    tail = math.fsum(math.comb(n, k) * target**k * (1.0 - target) ** (n - k) for k in so_far_off)
    rejected = 1.0 - 2.0 * tail
    if rejected < 0.5:
        return interval_d
    factor = 10.0 ** ((x / n - target) * rejected)
    return float(interval_d * min(max(factor, 0.5), 2.0))


def _probability(value: float, name: str, low: float) -> float:
    if not low < plain_number(value, name) < 1.0:
        raise QuantityError(f"{name} must be a probability above {low:g} and below 1; got {format_value(value)}")
    return float(value)


def interval_by_drift(
    days: Sequence[float],
    changes: Sequence[float],
    *,
    start: float = 0.0,
    limit: float,
    start_uncertainty: float,
    confidence: float = 0.95,
) -> float:
    """Return after how many days a drifting value reaches its limit, with a one-sided confidence.

    Parameters
    ----------
    days, changes : sequence of float
        Days between calibrations and the change found, in any unit; three or more.
    start, limit : float
        The value at the start, and the limit that it must not pass, in that unit.
    start_uncertainty : float
        Standard uncertainty of the value at the start, in that unit.
    confidence : float
        One-sided probability, above 0.5 and below 1, with Student's t.

    Returns
    -------
    float
        Days; 0 where the value may be beyond the limit at the start, infinity where it is never reached in 100 years.
        The variables method of NASA-HDBK-8739.19-5, chapter 7 [nasa_hdbk_8739_19_5]: b₁ t + b₂ t² through the origin.

    Examples
    --------
    >>> days, changes = (70, 86, 104, 135, 167, 173), (0.1, 0.11, 0.251, 0.299, 0.403, 0.615)
    >>> round(interval_by_drift(days, changes, start=10.03, limit=11.0, start_uncertainty=0.28), 1)
    140.1
    """
    t, y = (plain_array(each, name) for each, name in ((days, "days"), (changes, "changes")))
    if t.shape != y.shape or t.ndim != 1 or len(t) < 3 or {t.dtype.kind, y.dtype.kind} - set("fiu"):
        raise QuantityError(f"days and changes must be numbers, three or more of each; got {t.shape} and {y.shape}")
    if len(set(t.tolist())) < 3 or not (
        np.isfinite(t).all() and np.isfinite(y).all() and (t > 0).all() and (t < 1e5).all()
    ):
        raise QuantityError("days must be positive, finite and of three different values, changes finite")
    t, y = t.astype(float), y.astype(float)
    start, limit = (plain_number(each, name) for each, name in ((start, "start"), (limit, "limit")))
    start_uncertainty = positive_number(start_uncertainty, "start_uncertainty", zero=True)
    confidence = _probability(confidence, "confidence", 0.5)
    if not max(abs(start), abs(limit), start_uncertainty, float(np.abs(y).max())) < 1e100:
        raise QuantityError(f"start, limit, start_uncertainty and changes must be below 1e100; got {start} and {limit}")
    matrix = np.stack([t, t**2], axis=1)
    slopes = np.linalg.lstsq(matrix, y, rcond=None)[0]
    variance = float(((y - matrix @ slopes) ** 2).sum()) / (len(t) - 2)
    covariance = variance * np.linalg.inv(matrix.T @ matrix)
    factor = student_t(2.0 * confidence - 1.0, len(t) - 2)
    side = math.copysign(1.0, limit - start)

    def is_beyond(day: float) -> bool:
        powers = np.array([day, day**2])
        spread = math.sqrt(start_uncertainty**2 + variance + float(powers @ covariance @ powers))
        return bool(side * (start + float(slopes @ powers) - limit) + factor * spread > 0.0)

    first = next((float(day) for day in range(int(100 * _YEAR_D)) if is_beyond(float(day))), math.inf)
    if first in (0.0, math.inf):
        return first
    low, high = first - 1.0, first
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if is_beyond(middle) else (middle, high)
    return high


def _outlier_limit(count: int) -> float:
    """Return the standard deviations from the mean beyond which one of so many stands out."""
    t = student_t(min(1.0 - _OUTLIER / count, 0.9999), count - 2)
    return (count - 1.0) / math.sqrt(count) * math.sqrt(t**2 / (count - 2.0 + t**2))


def compare_transducers(calibrations: Mapping[str, Calibration], *, tolerance: Any = None) -> Report:
    """Return a comparison of transducers of one kind, with those that stand out.

    Parameters
    ----------
    calibrations : mapping of str to Calibration
        By serial number, three or more.
    tolerance : str or pint.Quantity, optional
        Percentage from the median within which each should lie.

    Examples
    --------
    >>> compare_transducers({})
    Traceback (most recent call last):
        ...
    fuelunits.errors.QuantityError: calibrations must be three or more by serial number; got {}
    """
    if not isinstance(calibrations, Mapping) or len(calibrations) < 3:
        raise QuantityError(f"calibrations must be three or more by serial number; got {format_value(calibrations)}")
    check_types(calibrations.values(), Calibration, "calibrations", "Calibration")
    found = {serial: float(nominal(each.k_pulses_per_l)) for serial, each in calibrations.items()}
    middle = median(found.values())
    mean, beyond = fmean(found.values()), _outlier_limit(len(found)) * stdev(found.values())
    allowed = None if tolerance is None else fraction(tolerance, name="tolerance")
    rows, outliers = [], []
    for serial, k in found.items():
        relative, each = k / middle - 1.0, calibrations[serial]
        own = 0.0 if each.missing else each.expanded_uncertainty()
        stands_out = (abs(k - mean) > beyond and abs(k - mean) > own * mean) or (
            allowed is not None and abs(relative) > allowed
        )
        outliers += [serial] * stands_out
        rows.append(
            {
                "serial": serial,
                "K, pulse/L": f"{k:.6g}",
                "from median, %": f"{100.0 * relative:+.3f}",
                "U, %": f"{100.0 * each.expanded_uncertainty():.2g}" if not each.missing else "not known",
                "remark": "stands out" if stands_out else "",
            }
        )
    flows = _at_other_flows(*calibrations.values())
    words = f"{', '.join(outliers)} stands out" if outliers else "none stands out"
    words = f"undecided, {flows}" if flows else words
    return Report(
        f"{len(found)} transducers, median {middle:.6g} pulse/L: {words}",
        tables=(Table.of(rows),),
        remarks=("Grubbs' test: a transducer stands out in at most one sound batch of twenty (recalled).",),
    )
