"""The record of a job: who did what, with which equipment, what was found and what was left.

A record keeps the figures of the day beside the inputs from which they came. Loading constructs everything again, and
:meth:`JobRecord.recompute` lists what today's library gives differently.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any

from fuelunits.bench.calibration import Calibration
from fuelunits.errors import QuantityError
from fuelunits.indicators.bench_sheet import BenchSheet
from fuelunits.indicators.fill_ups import FillUp, FillUpComparison, compare_fill_ups
from fuelunits.indicators.indicator import Indicator
from fuelunits.indicators.sheets import Sheet
from fuelunits.meters.k_factor import KFactor
from fuelunits.reports import Report, Reporting, Table, format_percent, plain
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.validation import check_type, check_types, format_value, set_fields

_SAME = 1e-9
"""Relative difference below which two figures of one record are the same."""
_SAME_K = 0.005
"""How far K as left may lie from that of the transducer: no step of an indicator is so coarse (common practice)."""
_TRANSDUCER, _VERDICT = "transducer ", "verdict"
"""How the figures begin that a record of an early version lacks."""
_USELESS_U = 0.01
"""Expanded uncertainty of K beyond which a calibration supports no setting (common practice)."""


def check_date(value: Any, name: str) -> None:
    """Refuse what is not a date written as 2031-05-17; such texts sort as their dates."""
    try:
        if date.fromisoformat(value).isoformat() == value:  # neither 20310517 nor 2031-W20-6
            return
    except (TypeError, ValueError):
        pass
    raise QuantityError(f"{name} must be a date such as '2031-05-17'; got {format_value(value)}")


@dataclass(frozen=True)
class Part:
    """A part of the aircraft that the job is about: a transducer, an indicator.

    Parameters
    ----------
    name, serial, note : str, free text of the user
    k_factor : str, the K-factor that the part is marked with, as text with its unit

    Examples
    --------
    >>> part = Part("feed transducer", serial="A-0117", k_factor="11412 pulse/L")
    """

    name: str
    serial: str = ""
    k_factor: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        for name, text in vars(self).items():
            check_type(text, str, f"{name} of a part", "text")
        if self.k_factor:
            KFactor.read(self.k_factor)


@dataclass(frozen=True)
class Equipment:
    """Equipment that measured, and the date to which its calibration is valid.

    Parameters
    ----------
    name, serial, due : str, free text of the user; the date as 2031-08-01, or empty where it is not known

    Examples
    --------
    >>> balance = Equipment("balance", serial="B-12", due="2031-08-01")
    """

    name: str
    serial: str = ""
    due: str = ""

    def __post_init__(self) -> None:
        for name, text in vars(self).items():
            check_type(text, str, f"{name} of equipment", "text")
        if self.due:
            check_date(self.due, f"due date of {self.name}")


@dataclass(frozen=True, repr=False, kw_only=True)
class JobRecord(Reporting):
    """The record of a job.

    Parameters
    ----------
    number, date, technician : str, the number of the job, its date as 2031-05-17, and who did it
    aircraft, fluid, stored, remarks : str, free text; `stored` is what was in the indicator afterwards
    transducers : sequence of Part
        With their serial numbers, each its own; where there is one for each channel, in the order of the channels.
    indicator, equipment : Part, and sequence of Equipment, which measured
    as_found, as_left : Indicator, optional, the settings before and after
    sheets : sequence of BenchSheet or CapacitanceSheet
        With their readings as found, taken with the settings as found, and as left.
    calibrations, fill_ups : sequence of Calibration, of the transducers, and of FillUp
    results : mapping of str to number or text, the figures of the day; without them, today's

    Examples
    --------
    An invented job:

    >>> from fuelunits import Indicator
    >>> indicator = Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h")
    >>> sheet = indicator.bench_points(["20 L/h", "60 L/h"], tolerance="1 %").filled(as_left=["20.1 L/h", "60.2 L/h"])
    >>> job = JobRecord(number="J-31", date="2031-05-17", technician="R. Invented", as_left=indicator, sheets=[sheet])
    >>> job.verdict.value, job.reasons
    ('undecided', ('no equipment is recorded',))
    """

    number: str
    date: str
    technician: str
    aircraft: str = ""
    transducers: Sequence[Part] = ()
    indicator: Part | None = None
    equipment: Sequence[Equipment] = ()
    fluid: str = ""
    as_found: Indicator | None = None
    as_left: Indicator | None = None
    sheets: Sequence[Sheet] = ()
    calibrations: Sequence[Calibration] = ()
    fill_ups: Sequence[FillUp] = ()
    stored: str = ""
    remarks: str = ""
    results: Mapping[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for each in ("number", "date", "technician", "aircraft", "fluid", "stored", "remarks"):
            check_type(getattr(self, each), str, each, "text")
            if each in ("number", "technician") and not getattr(self, each).strip():
                raise QuantityError(f"{each} must not be empty; a record names the job and who did it")
        check_date(self.date, "date")
        kinds = {"transducers": Part, "equipment": Equipment, "calibrations": Calibration, "fill_ups": FillUp}
        for name, kind in kinds.items():
            set_fields(self, **{name: check_types(getattr(self, name), kind, name, kind.__name__)})
        set_fields(self, sheets=check_types(self.sheets, Sheet, "sheets", "BenchSheet or CapacitanceSheet"))
        for name, kind in {"indicator": Part, "as_found": Indicator, "as_left": Indicator}.items():
            if getattr(self, name) is not None:
                check_type(getattr(self, name), kind, name, kind.__name__)
        for name in ("transducers", "equipment"):
            serials = [each.serial.strip() for each in getattr(self, name) if each.serial.strip()]
            if len(set(serials)) < len(serials):
                twice = max(serials, key=serials.count)
                raise QuantityError(f"{name}: two have the serial number {twice!r}; each has its own")
        if not self.results:
            set_fields(self, results=self.figures())

    def figures(self) -> dict[str, Any]:
        """Return every figure of the record as today's library computes it, by name."""
        return dict(self._figures())

    def _figures(self) -> Iterator[tuple[str, Any]]:
        for number, sheet in enumerate(self.sheets, 1):
            for point, row in enumerate(sheet.rows(), 1):
                for name, value in row.items():
                    for n, one in enumerate(value if isinstance(value, list) else [value], 1):
                        channel = f" {n}" if isinstance(value, list) else ""
                        yield f"sheet {number}, point {point}, {name}{channel}", plain(one)
            for name in ("verdict_as_found", "verdict_as_left"):
                yield f"sheet {number}, {name.replace('_', ' ')}", plain(getattr(sheet, name))
        for number, found in enumerate(self.calibrations, 1):
            yield f"calibration {number}, K, pulse/L", float(found.k_factor.per("L"))
            yield f"calibration {number}, U, relative", float(found.expanded_uncertainty())
            yield f"calibration {number}, flow, L/h", float(found.flow_l_per_h)
        if self._compared is not None:
            yield "fill-ups, ratio", float(self._compared.ratio)
            yield "fill-ups, correction justified", bool(self._compared.justified)
        for number, part in enumerate(self.transducers, 1):
            if part.k_factor:
                yield f"{_TRANSDUCER}{number}, K, pulse/L", KFactor.read(part.k_factor).per("L")
        yield _VERDICT, self._judged(self._evidence).value

    def recompute(self) -> tuple[tuple[str, Any, Any], ...]:
        """Return each figure that today's library gives differently: its name, the value on record, today's value.

        A figure that is on one side only is paired with None.
        """
        today = self.figures()
        if _VERDICT not in self.results:  # a record of an early version, which kept neither
            today = {name: now for name, now in today.items() if not name.startswith((_VERDICT, _TRANSDUCER))}
        names = dict.fromkeys([*self.results, *today])
        pairs = ((name, self.results.get(name), today.get(name)) for name in names)
        return tuple((name, then, now) for name, then, now in pairs if not _agree(then, now))

    @property
    def verdict(self) -> Verdict:
        """Reject where a sheet is rejected as left; undecided where there are :attr:`reasons`; else accept."""
        return self._judged(self.reasons)

    def _judged(self, reasons: Sequence[str]) -> Verdict:
        if any(sheet.verdict_as_left is Verdict.REJECT for sheet in self.sheets):
            return Verdict.REJECT
        return Verdict.UNDECIDED if reasons else Verdict.ACCEPT

    @cached_property
    def reasons(self) -> tuple[str, ...]:
        """The reasons against an acceptance."""
        return (*self._evidence, *(f"{name}: {then} on record, {now} today" for name, then, now in self.recompute()))

    @cached_property
    def _evidence(self) -> tuple[str, ...]:
        parts = (self._about_equipment(), self._about_sheets(), self._about_k(), self._about_fill_ups())
        return tuple(reason for part in parts for reason in part)

    def _about_equipment(self) -> Iterator[str]:
        if not self.equipment:
            yield "no equipment is recorded"
        undated = sum(not each.due for each in self.equipment)
        if undated:
            yield f"no due date is recorded for the calibration of {undated} of {len(self.equipment)} instruments"
        for each in self.equipment:
            if each.due and each.due < self.date:
                yield f"the calibration of {each.name} had expired on {self.date}"

    def _about_sheets(self) -> Iterator[str]:
        if not any(sheet.as_left for sheet in self.sheets):
            yield "no sheet was filled in as left"
        if self.as_left is None and (not self.sheets or any(isinstance(each, BenchSheet) for each in self.sheets)):
            yield "the settings as left are not recorded"
        for number, sheet in enumerate(self.sheets, 1):
            made_with = sheet.indicator if isinstance(sheet, BenchSheet) else None
            read = (("found", sheet.as_found, self.as_found), ("left", sheet.as_left, self.as_left))
            for when, readings, settings in read:
                if made_with and readings and settings not in (None, made_with):
                    yield f"sheet {number}, read as {when}, was made with other settings: {made_with}"
            if made_with and sheet.as_found and not sheet.as_left and made_with == self.as_found != self.as_left:
                continue  # of settings that were changed
            if sheet.verdict_as_left is not Verdict.ACCEPT:
                words = sheet.verdict_as_left.value if sheet.verdict_as_left else "not filled in"
                yield f"sheet {number}: {words} as left"

    def _about_k(self, beyond: float = _SAME_K) -> Iterator[str]:
        """Compare K as left with the calibrations, and with what the transducers are marked with."""
        for number, each in enumerate(self.calibrations, 1):
            if each.missing:
                yield f"calibration {number} lacks {', '.join(each.missing)}"
            elif each.expanded_uncertainty() > _USELESS_U:
                yield f"calibration {number}: U is {format_percent(each.expanded_uncertainty())} of K"
        marked = [KFactor.read(part.k_factor) for part in self.transducers if part.k_factor]
        known = [each.k_factor for each in self.calibrations] or marked
        entered = self.as_left.k_factors if self.as_left is not None else ()
        if beyond < _SAME_K and entered and not known:
            yield "K as left was compared with no transducer and no calibration"
        yield from _far("K as left", entered, "the nearest K of a transducer", known, beyond)
        if 1 < len(self.calibrations) == len(entered):  # one of each transducer
            yield from _far("K of a calibration", known, "the nearest K as left", entered, beyond)
        if not 1 < len(marked) == len(entered):
            if known != marked or len(marked) > 1:  # otherwise the same two are compared
                yield from _far("K of a transducer", marked, "the nearest K as left", entered, beyond)
            return
        for n, (k, mark) in enumerate(zip(entered, marked, strict=True), 1):
            yield from _far(f"K as left of channel {n}", [k], f"that of transducer {n}", [mark], beyond)
        by_size = (sorted(each, key=lambda k: k.per("L")) for each in (entered, marked))
        if sum(map(_off, *by_size)) < sum(map(_off, entered, marked)) - _SAME:
            yield "K as left of the channels fit the transducers better in another order: are two swapped?"

    @cached_property
    def _compared(self) -> FillUpComparison | None:
        if self.as_found is None or not self.fill_ups:
            return None
        return compare_fill_ups(self.as_found.k_factors[0], self.fill_ups)

    def _about_fill_ups(self) -> Iterator[str]:
        found = self._compared
        if found is None:
            if self.fill_ups:
                yield "the fill-ups are not compared: the settings as found are not recorded"
        elif not found.is_sound:
            yield "the fill-ups disagree, or deviate by more than a sound transducer does"
        elif found.missing and abs(found.deviation) > found.expanded_uncertainty:
            off = format_percent(found.deviation, signed=True)
            yield f"the fill-ups deviate by {off}, and this is not stated: {'; '.join(found.missing)}"
        elif found.justified and self.as_left and found.k_factor in self.as_left.k_factors:
            yield "the fill-ups justify a correction, and K as left is that as found"

    def report(self) -> Report:
        parts = [
            {"part": each.name, "serial": each.serial, "K-factor": each.k_factor, "note": each.note}
            for each in (*self.transducers, self.indicator)
            if each is not None
        ]
        equipment = [
            {"equipment": each.name, "serial": each.serial, "calibration valid to": each.due or "not known"}
            for each in self.equipment
        ]
        return Report(
            f"Job {self.number}, {self.date}",
            verdict=f"{self.verdict.value}: {'; '.join(self.reasons)}" if self.reasons else self.verdict.value,
            facts={
                "technician": self.technician,
                "aircraft": self.aircraft,
                "fuel or fluid": self.fluid,
                "settings as found": self.as_found,
                "settings as left": self.as_left,
                "stored afterwards": self.stored,
                "remarks": self.remarks,
            },
            tables=[Table.of(rows) for rows in (parts, equipment) if rows],
            remarks=[each for each in self._about_k(_SAME) if each not in self.reasons],
            sections=[each.report() for each in (*self.sheets, *self.calibrations, self._compared) if each is not None],
            closing=("Signed: ______________________________    Date: ______________",),
        )


def _off(k: KFactor, other: KFactor) -> float:
    return abs(k.relative_error_to(other))


def _far(name: str, these: Sequence[KFactor], other: str, others: Sequence[KFactor], beyond: float) -> Iterator[str]:
    """Return which K-factors have none of the others near them."""
    for k in these if others else ():
        nearest = min(others, key=lambda one: _off(k, one))
        if _off(k, nearest) > beyond:
            off = format_percent(k.relative_error_to(nearest), signed=True)
            yield f"{name}, {k}, differs by {off} from {other}, {nearest}"


def _agree(then: Any, now: Any) -> bool:
    numbers = isinstance(then, (int, float)) and isinstance(now, (int, float))
    if numbers and not isinstance(then, bool):
        return math.isclose(then, now, rel_tol=_SAME, abs_tol=1e-12) or (math.isnan(then) and math.isnan(now))
    return bool(then == now)
