"""The history of a transducer: change since the last calibration, drift, and when to calibrate again.

A change is judged by E_n = d/U(d), where U(d) excludes the causes that two calibrations share (ISO/IEC 17043, recalled;
no published numeric example was found); its limit allows for all changes. The drift is a weighted line since a repair.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from statistics import fmean, median, stdev
from typing import Any

import numpy as np

from fuelunits.bench.calibration import Calibration, distinct_runs, own_part, unlike
from fuelunits.errors import QuantityError
from fuelunits.indicators.written import expanded_uncertainty
from fuelunits.quantities import tolerance_fraction
from fuelunits.records.job import FLOWS, check_date
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.uncertainty.budget import COVERAGE, coverage_factor, nominal, student_t
from fuelunits.units import factor
from fuelunits.validation import boolean, check_type, check_types, positive_number, set_fields, whole_number

_OUTLIER = 0.05  # probability, about, that one of a sound batch stands out, by Grubbs' test (ISO 5725-2, recalled)


@dataclass(frozen=True)
class CalibrationEvent:
    """A calibration of a transducer on a date, and whether it was repaired before.

    Parameters
    ----------
    date : str, as 2031-05-17
    calibration : Calibration
    repaired : bool, whether it was repaired or adjusted since the calibration before: drift then starts again

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
        check_date(self.date, "date")
        check_type(self.calibration, Calibration, "calibration", "a Calibration")
        boolean(self.repaired, "repaired")


def unit_of(calibrations: Sequence[Calibration]) -> str:
    """Return the unit of volume of calibrations; litres where they have several."""
    units = {each.unit for each in calibrations}
    return units.pop() if len(units) == 1 else "L"


def _incomparable(calibrations: Sequence[Calibration]) -> str:
    """Return why K of calibrations cannot be compared: other flows, liquids or temperatures; or nothing."""
    unit, flows = unit_of(calibrations), [each.flow_l_per_h for each in calibrations]
    low, high = (edge(flows) * factor("L", unit) for edge in (min, max))
    apart = (f"at flows from {low:.4g} to {high:.4g} {unit}/h",) if high > FLOWS * low else ()
    return "; ".join([*apart, *(f"missing {each}" for each in unlike(calibrations))])


def _apart(calibrations: Sequence[Calibration]) -> str:
    """Return a note where flows or temperatures may have changed K: 2 °C are 4 % of viscosity (common practice)."""
    flows = [each.flow_l_per_h for each in calibrations]
    warmth = [fmean(float(nominal(run.liquid_temperature_c)) for run in each.runs) for each in calibrations]
    words = "Flows over 1 % apart: K may have changed with them. " * (max(flows) > 1.01 * min(flows))
    span = f"Temperatures from {min(warmth):.3g} to {max(warmth):.3g} °C"
    return words + f"{span}: K may have changed with the viscosity. " * (max(warmth) > min(warmth) + 2.0)


def _change(one: CalibrationEvent, other: CalibrationEvent, count: int) -> dict[str, Any]:
    """Return one of so many changes of K; its uncertainty excludes the causes that both calibrations share."""
    first, second = both = one.calibration, other.calibration
    ratio = second.k_pulses_per_l / first.k_pulses_per_l
    unknown, relative = first.missing or second.missing or _incomparable(both), float(nominal(ratio)) - 1.0
    u = None if unknown else (expanded_uncertainty(ratio) or None)
    probability = min(1.0 - (1.0 - COVERAGE) / count, 0.9999)  # each of so many, by Bonferroni's inequality
    limit = u and coverage_factor(ratio, probability=probability) / coverage_factor(ratio)
    found = {"days": (date.fromisoformat(other.date) - date.fromisoformat(one.date)).days, "relative_change": relative}
    return {**found, "expanded_uncertainty": u, "e_n": u and relative / u, "e_n_limit": limit}


@dataclass(frozen=True)
class Drift:
    """Relative drift of K per year; its expanded uncertainty is NaN where one of the calibrations is incomplete."""

    per_year: float
    expanded_uncertainty: float
    calibrations: int


@dataclass(frozen=True, repr=False)
class TransducerHistory(Reporting):
    """The calibrations of one transducer, in order of date.

    Parameters
    ----------
    serial : str, its serial number
    events : sequence of CalibrationEvent
        One per date. Those at flows more than 10 % apart are not compared, nor those in liquids of densities more than
        2 % or at temperatures more than 10 °C apart: K depends on the flow and the viscosity.

    Examples
    --------
    >>> TransducerHistory("A-0117", []).rows()
    []
    """

    serial: str
    events: Sequence[CalibrationEvent]

    _plain = ("rows", "drift")

    def __post_init__(self) -> None:
        check_type(self.serial, str, "serial", "text")
        events = check_types(self.events, CalibrationEvent, "events", "CalibrationEvent")
        ordered = tuple(sorted(events, key=lambda event: event.date))
        for one, other in pairwise(ordered):
            if one.date == other.date:
                raise QuantityError(f"events: two calibrations of {self.serial} on {one.date}")
        if ordered:
            distinct_runs(run for event in ordered for run in event.calibration.runs)
        set_fields(self, events=ordered)

    @property
    def _start(self) -> int:
        return max((i for i, event in enumerate(self.events) if event.repaired), default=0)

    @property
    def calibrations(self) -> tuple[Calibration, ...]:
        """The calibrations, in order of date."""
        return tuple(event.calibration for event in self.events)

    def rows(self) -> list[dict[str, Any]]:
        """Return each calibration, the relative change since the one before and, if U is known, E_n and its limit."""
        rows = [
            {"date": event.date, "k_pulses_per_l": float(nominal(event.calibration.k_pulses_per_l))}
            | {"flow_l_per_h": event.calibration.flow_l_per_h, "repaired": event.repaired}
            for event in self.events
        ]
        pairs = zip(rows[1:], pairwise(self.events), strict=True)
        return rows[:1] + [row | _change(*pair, len(rows) - 1) for row, pair in pairs]

    def drift(self) -> Drift | None:
        """Return the drift since the last repair, by weighted least squares; None of fewer than three or unlike ones.

        The uncertainty of the slope (95.45 %) is what the causes give that several calibrations share, and beside it
        the larger of what those give that act in one only and what the scatter about the line gives by Student's t.
        """
        events, calibrations = self.events[self._start :], self.calibrations[self._start :]
        if len(events) < 3 or _incomparable(calibrations):
            return None
        years = np.array([event.date for event in events], dtype="datetime64[D]").astype(float) / 365.25
        k = [each.k_pulses_per_l / nominal(calibrations[0].k_pulses_per_l) for each in calibrations]
        known = not any(each.missing for each in calibrations)
        # half of each U, whose factor allows for the few runs behind it
        u = np.array([each.expanded_uncertainty() / 2.0 if known else 1.0 for each in calibrations])
        relative, free = np.array([float(nominal(each)) for each in k]), len(events) - 2
        # what was not stated scatters as well: one that happens to be stated as very good must not outweigh all others
        weights = 1.0 / (u**2 + np.sum((relative - np.polyval(np.polyfit(years, relative, 1), years)) ** 2) / free)
        off_mean = years - np.average(years, weights=weights)
        sum_squares = float((weights * off_mean**2).sum())
        slope = np.dot(weights * off_mean / sum_squares, k)
        residuals = relative - np.average(relative, weights=weights) - nominal(slope) * off_mean
        scatter = math.sqrt(float((weights * residuals**2).sum()) / free / sum_squares)
        largest = max(expanded_uncertainty(own := own_part(k, slope)), student_t(COVERAGE, free) * scatter)
        expanded = math.hypot(expanded_uncertainty(slope - own), largest) if known else math.nan
        return Drift(float(nominal(slope)), expanded, len(events))

    def report(self) -> Report:
        unit, drift, rows = unit_of(self.calibrations), self.drift(), self.rows()
        cells, facts, per_l = [], {}, factor("L", unit)
        for row in rows:
            k, flow = row["k_pulses_per_l"] / per_l, row["flow_l_per_h"] * per_l
            cells.append({"date": row["date"], f"K, pulse/{unit}": f"{k:.6g}", f"flow, {unit}/h": f"{flow:.4g}"})
            if "days" in row:
                e_n = ("", "") if row["e_n"] is None else (f"{row['e_n']:+.2f}", f"±{row['e_n_limit']:.2f}")
                cells[-1] |= {"days": row["days"], "change, %": f"{100.0 * row['relative_change']:+.3f}"}
                cells[-1] |= {"E_n": e_n[0], "limit": e_n[1], "repaired": "yes" if row["repaired"] else ""}
        if drift is not None:
            spread = f"± {format_percent(drift.expanded_uncertainty, digits=2)} (95.45 % coverage)"
            spread = "uncertainty not known" if math.isnan(drift.expanded_uncertainty) else spread
            facts["drift"] = f"{format_percent(drift.per_year, signed=True)} per year, {spread}"
        beyond = [row for row in rows[1:] if row["e_n"] and abs(row["e_n"]) > row["e_n_limit"]]
        words = "significant change at " * bool(beyond)
        words += ", ".join(row["date"] + " (repaired)" * row["repaired"] for row in beyond)
        if any(row["e_n"] is None for row in rows[1:]):
            why = _incomparable(self.calibrations) or "an uncertainty was not stated in full"
            words += f"{'; others ' * bool(words)}undecided, {why}"
        words = words or ("no significant change from one to the next" if len(rows) > 1 else "nothing to compare")
        if is_drift := drift is not None and abs(drift.per_year) > drift.expanded_uncertainty:
            words += ", but a significant drift" if words[:2] == "no" else ", significant drift"
        if drift is None and len(rows) > self._start + 2 and "undecided" not in words:
            words += f"; drift undecided, {_incomparable(self.calibrations[self._start :])}"
        title = f"{f'Transducer {self.serial}'.rstrip()}, {len(rows)} calibration{'s' * (len(rows) != 1)}: {words}"
        remark = _apart(self.calibrations) if beyond or is_drift else ""
        remark += "E_n beyond its limit is significant: in about one history of twenty, though the transducer is sound."
        return Report(title, facts=facts, tables=(Table.of(cells),), remarks=(remark,))


def interval_by_reliability(in_tolerance: int, calibrations: int, interval_d: float, *, target: float = 0.95) -> float:
    """Return the next calibration interval from how many calibrations found the instrument in tolerance.

    Parameters
    ----------
    in_tolerance, calibrations : int, how many were found in tolerance, of how many at this interval
    interval_d : float, the interval so far, a plain number of days
    target : float, the reliability wanted at the end of an interval, a fraction

    Returns
    -------
    float
        Days: I × 10^((R - target) Q), with R the observed reliability and Q the confidence with which the target is
        rejected; at most doubled or halved, unchanged where Q is below one half: method A3 of NCSLI RP-1 [rp_1_a3].

    Examples
    --------
    >>> round(interval_by_reliability(15, 20, 365.0))
    231
    """
    interval_d, target = positive_number(interval_d, "interval_d", example=365), positive_number(target, "target")
    if target >= 1.0:
        raise QuantityError(f"target must be a probability below 1; got {target}")
    n = whole_number(calibrations, "calibrations", least=1, most=10_000)
    x = whole_number(in_tolerance, "in_tolerance", most=n)
    so_far_off = range(x, n + 1) if x / n > target else range(x + 1)
    rejected = 1.0 - 2.0 * math.fsum(math.comb(n, k) * target**k * (1.0 - target) ** (n - k) for k in so_far_off)
    return float(interval_d * min(max(10.0 ** ((x / n - target) * rejected) if rejected >= 0.5 else 1.0, 0.5), 2.0))


def _outlier_limit(count: int, probability: float = _OUTLIER) -> float:
    """Return the standard deviations from the mean beyond which one of so many stands out."""
    t = student_t(min(1.0 - probability / count, 0.9999), count - 2)
    return (count - 1.0) * math.sqrt(t**2 / count / (count - 2.0 + t**2))


def _outliers(found: Mapping[str, float]) -> list[str]:
    """Return those that stand out by Grubbs' test, repeated without the furthest: two that are alike hide each other.

    The repeats, until just above half are left, add 0.8 % at most to the probability that a sound one is named.
    """
    rest, removed, count = dict(found), list[str](), 0
    while len(rest) > max(2, len(found) // 2 + 1):
        mean, limit = fmean(rest.values()), _outlier_limit(len(rest), _OUTLIER / (10.0 if removed else 1.0))
        limit *= stdev(rest.values())
        removed.append(max(rest, key=lambda serial: abs(rest[serial] - mean)))
        if abs(rest.pop(removed[-1]) - mean) > limit:
            count = len(removed)
    return removed[:count]


def _has_two_halves(k: Sequence[float]) -> bool:
    """Return whether K lie in two halves, of which either may be wrong: so one in 100 sound batches (simulated)."""
    half, k = len(k) // 2, sorted(k)
    within = k[half - 1] - k[0] + k[-1] - k[half]
    return len(k) == 2 * half and k[half] - k[half - 1] > (6.0 if half == 2 else 1.5) * within


def compare_transducers(calibrations: Mapping[str, Calibration], *, tolerance: Any = None) -> Report:
    """Return a comparison of transducers of one kind, with those that stand out.

    Parameters
    ----------
    calibrations : mapping of str to Calibration, by serial number, three or more
    tolerance : str or pint.Quantity, optional, percentage from the median within which each should lie
        One stands out beyond it by more than its own U; within U of it, or where U is not known, it is undecided.

    Examples
    --------
    >>> compare_transducers({})
    Traceback (most recent call last):
        ...
    fuelunits.errors.QuantityError: calibrations must be three or more by serial number; got 0
    """
    if len(check_type(calibrations, Mapping, "calibrations", "{'A-0117': calibration}")) < 3:
        raise QuantityError(f"calibrations must be three or more by serial number; got {len(calibrations)}")
    made = check_types(calibrations.values(), Calibration, "calibrations", "Calibration")
    distinct_runs(run for each in made for run in each.runs)
    rows, odd, unit, apart = list[dict[str, str]](), list[str](), unit_of(made), _incomparable(made)
    total, is_mixed = sum(each.k_pulses_per_l for each in made), len({bool(each.missing) for each in made}) > 1
    found = {serial: each.k_factor.per(unit) for serial, each in calibrations.items()}
    middle, furthest, spread = median(found.values()), _outliers(found), max(found.values()) / min(found.values())
    beside = {serial: (k := calibrations[serial].k_pulses_per_l) / (total - k) for serial in furthest}
    of_both = {serial: expanded_uncertainty(k) / nominal(k) for serial, k in beside.items()}
    allowed = math.inf if tolerance is None else tolerance_fraction(tolerance)
    for serial, k in found.items():
        relative, each = k / middle - 1.0, calibrations[serial]
        off, own = abs(relative), math.inf if each.missing else each.expanded_uncertainty()
        is_odd = serial in furthest and (is_mixed or bool(each.missing) or off > max(own, of_both[serial]))
        by_test = is_odd and (is_mixed or tolerance is None)
        stands_out = off > allowed + own or (by_test and not is_mixed)
        odd += [serial] * (is_odd and not (stands_out or by_test))
        row = {"serial": serial, f"K, pulse/{unit}": f"{k:.6g}", "from median, %": f"{100.0 * relative:+.3f}"}
        row["U, %"] = "not known" if each.missing else f"{100.0 * own:.2g}"
        rows.append(row | {"remark": "stands out" if stands_out else "undecided" * (by_test or off + own > allowed)})
    outliers, unsure = ([r["serial"] for r in rows if r["remark"] == each] for each in ("stands out", "undecided"))
    if not outliers and _has_two_halves([*found.values()]):
        apart = apart or "they lie in two groups of equal size, of which either may be wrong"
    widest, differ = max(each.expanded_uncertainty() for each in made), f"K spread by {format_percent(spread - 1.0)}"
    if not outliers and len(found) == 3 and tolerance is None and spread - 1.0 > widest:
        apart = apart or f"{differ}, and the test seldom names one of three: state a tolerance"
    words = f"{', '.join(outliers)} stand{'s' * (len(outliers) == 1)} out" if outliers else f"none stands out, {differ}"
    words += f"; undecided, U not known or within U of the tolerance: {', '.join(unsure)}" * bool(unsure)
    title = f"{len(found)} transducers, median {middle:.6g} pulse/{unit}: {f'undecided, {apart}' if apart else words}"
    remark = f"Not beyond the tolerance by U, but unlike the others by Grubbs' test: {', '.join(odd)}. " * bool(odd)
    remark += _apart(made) * bool(outliers or odd)
    remark += "Grubbs' test, repeated: one stands out in about one of twenty sound batches calibrated alike (recalled)."
    facts = {"tolerance": "" if tolerance is None else f"±{format_percent(allowed)} from the median"}
    return Report(title, facts=facts, tables=[Table.of(rows)], remarks=[remark])
