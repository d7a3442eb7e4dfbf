"""The record of a job: who did what, with which equipment, what was found and what was left.

Loading computes its figures again, and :meth:`JobRecord.recompute` lists what today's library gives differently.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, fields, replace
from datetime import date
from functools import cached_property
from itertools import chain
from typing import Any

from fuelunits.bench.calibration import Calibration, distinct_runs, expanded_scatter, unlike_liquids
from fuelunits.conversion import exact_amount
from fuelunits.errors import QuantityError
from fuelunits.fuels.grades import fuel, fuels_named
from fuelunits.indicators.bench_sheet import BenchSheet
from fuelunits.indicators.capacitance import CapacitanceSheet
from fuelunits.indicators.fill_ups import FillUp, FillUpComparison, compare_fill_ups
from fuelunits.indicators.indicator import Indicator
from fuelunits.indicators.sheets import BenchPoint, Sheet
from fuelunits.indicators.written import between, expanded_uncertainty
from fuelunits.meters.k_factor import KFactor, compared, errors_by
from fuelunits.reports import Report, Reporting, Table, format_percent, plain
from fuelunits.uncertainty.budget import nominal
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.validation import check_type, check_types, format_value, set_fields

FLOWS = 1.1  # ratio of flows beyond which K is not compared: it depends on the flow (chosen, not from a source)
_SAME = 1e-9  # relative difference below which two figures of one record are the same
_SAME_K = 0.005  # how far K as left may lie from that of the transducer: no step is so coarse (common practice)
_USELESS_U = 0.01  # expanded uncertainty of K beyond which a calibration supports no setting (common practice)
_DISPLAYED = "what was displayed in the unit and steps of the settings as found, a mass with their fixed density"
_KINDS = "flow", "total", "low-fuel warning", "gauge"  # of points
_BENCH_LIQUIDS = {"solvent", "calibrating fluid"}  # kinds, on a bench: the settings there are for the aircraft's fuel


def check_date(value: Any, name: str) -> None:
    """Refuse what is not a date written as 2031-05-17; such texts sort as their dates."""
    with suppress(TypeError, ValueError):
        if date.fromisoformat(value).isoformat() == value:  # neither 20310517 nor 2031-W20-6
            return
    raise QuantityError(f"{name} must be a date such as '2031-05-17'; got {format_value(value)}")


def _check_texts(part: Part | Equipment, what: str) -> None:
    for name, text in vars(part).items():
        check_type(text, str, f"{name} of {what}", "text")
    if not part.name.strip():
        raise QuantityError(f"{what}: the name must not be empty")


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
        _check_texts(self, "a part")
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
        _check_texts(self, "equipment")
        if self.due:
            check_date(self.due, f"due date of {self.name}")


@dataclass(frozen=True, repr=False, kw_only=True)
class JobRecord(Reporting):
    """The record of a job.

    Parameters
    ----------
    number, date, technician : str, the number of the job, its date as 2031-05-17, and who did it
    aircraft, fluid, stored, remarks : str, free text; `stored` is what was in the indicator afterwards
    transducers, calibrations : sequence of Part, and of Calibration, of the transducers
        With their serial numbers, each its own; where there is one for each channel, in the order of the channels.
    indicator, equipment : Part, and sequence of Equipment, which measured
    as_found, as_left : Indicator, optional, the settings before and after
    sheets : sequence of BenchSheet or CapacitanceSheet, with their readings by the settings as found and as left
    fill_ups : sequence of FillUp, with the settings as found
    results : mapping of str to number or text, the figures of the day; without them, today's

    Examples
    --------
    >>> from fuelunits import Indicator  # all invented
    >>> indicator = Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h")
    >>> sheet = indicator.bench_points(["20 L/h", "60 L/h"], tolerance="1 %").filled(as_left=["20.1 L/h", "60.2 L/h"])
    >>> job = JobRecord(number="J-31", date="2031-05-17", technician="R. Invented", as_left=indicator, sheets=[sheet])
    >>> job.verdict.value, job.reasons
    ('undecided', ('no equipment is recorded', 'K as left was compared with no transducer and no calibration'))
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
        check_date(self.date, "date")
        for each in ("number", "technician", "aircraft", "fluid", "stored", "remarks"):
            if not check_type(getattr(self, each), str, each, "text").strip() and each in ("number", "technician"):
                raise QuantityError(f"{each} must not be empty; a record names the job and who did it")
        kinds = {"transducers": Part, "equipment": Equipment, "calibrations": Calibration, "fill_ups": FillUp}
        for name, kind in kinds.items():
            set_fields(self, **{name: check_types(getattr(self, name), kind, name, kind.__name__)})
        set_fields(self, sheets=check_types(self.sheets, Sheet, "sheets", "BenchSheet or CapacitanceSheet"))
        for name, kind in {"indicator": Part, "as_found": Indicator, "as_left": Indicator}.items():
            if getattr(self, name) is not None:
                check_type(getattr(self, name), kind, name, kind.__name__)
        if self.calibrations:
            distinct_runs(run for each in self.calibrations for run in each.runs)
        for name in ("transducers", "equipment"):
            serials = [serial for each in getattr(self, name) if (serial := each.serial.strip().upper())]
            if twice := [each for each in serials if serials.count(each) > 1]:
                raise QuantityError(f"{name}: two have the serial number {twice[0]!r}; each has its own")
        for name, value in check_type(self.results, Mapping, "results", "the figures of the day by name").items():
            check_type(name, str, "name of a result", "text")
            if not isinstance(value, (str, float, type(None))) and not (isinstance(value, int) and abs(value) < 1e100):
                raise QuantityError(f"result {name}: {format_value(value)} is not a number or text")
        if not self.results:
            set_fields(self, results=dict(self._figures()))

    def _figures(self) -> Iterator[tuple[str, Any]]:
        yield "date", self.date
        yield from ((f"equipment {number}, due", each.due) for number, each in enumerate(self.equipment, 1))
        for when, settings in (("found", self.as_found), ("left", self.as_left)):
            entered = [each.name for each in fields(settings) if each.init] if settings is not None else []
            yield from ((f"settings as {when}, {name}", str(getattr(settings, name))) for name in entered)
        for number, sheet in enumerate(self.sheets, 1):
            for point, row in enumerate(sheet.rows(), 1):
                for name, value in row.items():
                    for n, one in enumerate(value if isinstance(value, list) else [value], 1):
                        channel = f" {n}" if isinstance(value, list) else ""
                        yield f"sheet {number}, point {point}, {name}{channel}", plain(one)
            for name in ("verdict_as_found", "verdict_as_left"):
                yield f"sheet {number}, {name.replace('_', ' ')}", plain(getattr(sheet, name))
        for number, each in enumerate(self.calibrations, 1):
            yield f"calibration {number}, K, pulse/L", float(each.k_factor.per("L"))
            yield f"calibration {number}, U, relative", float(each.expanded_uncertainty())
            yield f"calibration {number}, flow, L/h", float(each.flow_l_per_h)
        if (of := self._compared) is not None:
            kept = {"ratio": of.ratio, "U": of.expanded_uncertainty, "u of levels and displays": of.stated_uncertainty}
            yield from ((f"fill-ups, {name}", float(value)) for name, value in kept.items())
            yield "fill-ups, correction justified", bool(of.justified)
        marked = ((n, KFactor.read(part.k_factor)) for n, part in enumerate(self.transducers, 1) if part.k_factor)
        yield from ((f"transducer {number}, K, pulse/L", k.per("L")) for number, k in marked)
        yield "verdict", self._judged(self._evidence).value

    def recompute(self) -> tuple[tuple[str, Any, Any], ...]:
        """Return each figure that today's library gives differently: name, on record, today; None for none."""
        today = dict(self._figures())
        pairs = ((name, self.results.get(name), today.get(name)) for name in {**self.results, **today})
        return tuple((name, then, now) for name, then, now in pairs if not _agree(then, now))

    @property
    def verdict(self) -> Verdict:
        """Reject where a sheet is rejected as left; undecided where there are :attr:`reasons`; else accept."""
        return self._judged(self.reasons)

    def _judged(self, reasons: Sequence[str]) -> Verdict:
        is_against = any(sheet.verdict_as_left is Verdict.REJECT for sheet in self.sheets)
        return Verdict.REJECT if is_against else Verdict.UNDECIDED if reasons else Verdict.ACCEPT

    @cached_property
    def reasons(self) -> tuple[str, ...]:
        """The reasons against an acceptance."""
        return (*self._evidence, *(f"{name}: {then} on record, {now} today" for name, then, now in self.recompute()))

    @cached_property
    def _evidence(self) -> tuple[str, ...]:
        parts = self._about_equipment(), self._about_sheets(), self._about_k(), self._about_fluid[0]
        return tuple(chain(*parts, self._about_fill_ups()))

    def _about_equipment(self) -> Iterator[str]:
        if not self.equipment:
            yield "no equipment is recorded"
        if undated := sum(not each.due for each in self.equipment):
            yield f"no due date is recorded for the calibration of {undated} of {len(self.equipment)} instruments"
        for each in self.equipment:
            if each.due and each.due < self.date:
                yield f"the calibration of {each.name} had expired on {self.date}: it was valid to {each.due}"

    def _about_sheets(self) -> Iterator[str]:
        """Judge the sheets and the calibrations."""
        if not any(sheet.as_left for sheet in self.sheets):
            yield "no sheet was filled in as left"
        if self.as_left is None and (not self.sheets or any(isinstance(each, BenchSheet) for each in self.sheets)):
            yield "the settings as left are not recorded"
        found, left = (each and each.exact for each in (self.as_found, self.as_left))
        for number, sheet in enumerate(self.sheets, 1):
            made_with = sheet.indicator if isinstance(sheet, BenchSheet) else None
            exact = made_with and made_with.exact
            for when, readings, settings in (("found", sheet.as_found, found), ("left", sheet.as_left, left)):
                if exact and readings and settings not in (None, exact):
                    yield f"sheet {number}, read as {when}, was made with other settings: {made_with}"
            if exact and sheet.as_found and found is None:
                yield f"sheet {number} was read as found, and the settings as found are not recorded"
            changed = exact is None or exact == found != left  # or adjusted, as a gauge of capacitances is
            again = any(each.as_left for each in self.sheets if type(each) is type(sheet))
            if not sheet.as_left and again and (changed or sheet.verdict_as_found is Verdict.ACCEPT):
                continue  # a sheet of its own for the readings as found
            if sheet.verdict_as_left is not Verdict.ACCEPT:
                yield f"sheet {number}: {getattr(sheet.verdict_as_left, 'value', 'not filled in')} as left"
        for number, each in enumerate(self.calibrations, 1):
            if each.missing:
                yield f"calibration {number} lacks {', '.join(each.missing)}"
            elif each.expanded_uncertainty() > _USELESS_U:
                yield f"calibration {number}: U is {format_percent(each.expanded_uncertainty())} of K"

    def _about_k(self, beyond: float = _SAME_K) -> Iterator[str]:
        """Compare K as left with the calibrations, and with what the transducers are marked with."""
        before, entered = (list(each.k_factors) if each is not None else [] for each in (self.as_found, self.as_left))
        found = [each.k_factor for each in self.calibrations]
        marks: list[Any] = [part.k_factor and KFactor.read(part.k_factor) for part in self.transducers]
        marked = list(filter(None, marks))
        if entered and not found and not marked and (beyond < _SAME_K or self.as_found is None):
            yield "K as left was compared with no transducer and no calibration"
        known = found or marked or (self._compared is not None and self._compared.justified)
        if not known and any(compared(entered, "K-factor", before, math.inf, _SAME_K)):
            yield "K was changed without a calibration, a K of the transducer or fill-ups that justify it"
        yield from compared(entered, "calibration", found, sum(map(expanded_scatter, self.calibrations)), beyond)
        yield from compared(entered, "transducer", marks if len(marks) == len(entered) else marked, _SAME, beyond)
        if self.as_left is not None and self.as_left.feed_less_return:
            yield from self._about_net(entered, "calibration", [each.k_pulses_per_l for each in self.calibrations])
            yield from self._about_net(entered, "transducer", [k.pulses_per_l for k in marked])
        if len(entered) > 1 and len(entered) not in (len(found), len(marked)):
            yield f"neither transducers nor calibrations are one for each of the {len(entered)} channels, in order"

    def _about_net(self, entered: Sequence[KFactor], kind: str, known: Sequence[Any]) -> Iterator[str]:
        """Compare the flow burned with that by other K-factors of feed and return, whose errors count several times."""
        for point in self._read:
            for errors in errors_by(entered, known):
                off = sum(float(part) * error for part, error in zip(point.parts, errors, strict=False))
                if abs(nominal(off)) + expanded_uncertainty(off) > point.tolerance:
                    yield f"by K of the {kind}s, the net flow at {point.given} is {between(off, point.unit)} off"
                    break

    @property
    def _read(self) -> list[BenchPoint]:  # as left
        return [p for each in self.sheets for p, reading in zip(each.points, each.as_left, strict=False) if reading]

    @cached_property
    def _about_fluid(self) -> tuple[list[str], list[str]]:
        """What contradicts the fluid named, of the gauges and the fixed density as left; and what is not compared."""
        against, apart, left = list[str](), list[str](), self.as_left
        named = [each for each in fuels_named(self.fluid) if each.kind not in _BENCH_LIQUIDS]
        words, kinds = " or ".join(each.name for each in named), {each.kind for each in named}
        for number, sheet in enumerate(self.sheets, 1):
            if isinstance(sheet, CapacitanceSheet):
                own = fuel(sheet.gauge.fuel)
                of, gauge = getattr(own, "fuel", own), f"a gauge adjusted for {own.name}"
                its = getattr(of, "kinds", {getattr(of, "kind", "")})
                if getattr(own, "verdict", None) is Verdict.REJECT:
                    against.append(f"sheet {number} is of {gauge}, which is rejected")
                elif not kinds or its <= {*_BENCH_LIQUIDS, ""}:
                    apart.append(f"sheet {number}, of {gauge}")
                elif not its & kinds:
                    against.append(f"sheet {number} is of {gauge}, and {words} is the fluid named")
        if left is not None and left.fixed_density_kg_m3 is not None:
            fixed, is_set = float(left.fixed_density_kg_m3), f"the fixed density as left, {left.fixed_density}"
            ranges = [each.in_use_kg_m3 for each in named if not each.refused]
            if not ranges:
                apart.append(is_set)
            elif not any(low <= fixed <= high for low, high in ranges):
                in_use = f"{' or '.join(f'{low:.0f} to {high:.0f}' for low, high in ranges)} kg/m³ in use"
                against.append(f"{is_set} ({fixed:.0f} kg/m³), is of no batch of {words}, the fluid named: {in_use}")
        return against, apart

    @cached_property
    def _compared(self) -> FillUpComparison | None:
        if (before := self.as_found) is None or not self.fill_ups:
            return None
        made = [fill.displayed_in(before.total_resolution, before.truncates or None) for fill in self.fill_ups]
        found = compare_fill_ups(before.k_factors[0], made)
        which = f"which of the {before.channels} K-factors is wrong: fill-ups measure all channels together"
        lacks = [which] * (before.channels > 1 and found.excludes(1.0))
        fixed, step = before.fixed_density, before.total_resolution or "0 L"
        finest = exact_amount(step, "L", name="total_resolution", density=fixed, zero=True) * (1.0 - _SAME)
        fixed_steps = [(each.fixed_density_kg_m3, each.display_step_l or finest) for each in made]
        lacks += [_DISPLAYED] * any(at != before.fixed_density_kg_m3 or each < finest for at, each in fixed_steps)
        return replace(found, missing=(*found.missing, *lacks), justified=False, adjusted=None) if lacks else found

    def _about_fill_ups(self, always: bool = False) -> Iterator[str]:
        found, before, left = self._compared, self.as_found, self.as_left
        is_uncounted = before is not None and before.display.cutoff and any(f.uncounted is None for f in self.fill_ups)
        if found is None or before is None:
            yield from ["the fill-ups are not compared: the settings as found are not recorded"] * bool(self.fill_ups)
        elif not found.is_sound:
            yield "the fill-ups disagree, or deviate by more than a sound transducer does"
        elif found.missing and (always or is_uncounted or _DISPLAYED in found.missing or found.excludes(1.0)):
            off = format_percent(found.deviation, signed=True)
            yield f"the fill-ups, off by {off}, decide nothing about K until this is stated: {'; '.join(found.missing)}"
        elif left is None or (left.channels, left.feed_less_return) != (before.channels, before.feed_less_return):
            yield "the fill-ups are not compared with K as left, which is not recorded or is that of other channels"
        else:
            changes = [1.0 + k.relative_error_to(was) for k, was in zip(left.k_factors, before.k_factors, strict=True)]
            if any(map(found.excludes, changes)):
                wanted = f"the fill-ups ask for {found.ratio:.4f} times K as found"
                more = "" if found.justified else "; they do not justify a correction yet: make more"
                yield f"{wanted}, and K as left is {' and '.join(f'{each:.4f}' for each in changes)} times that{more}"
            if before.feed_less_return and max(changes) - min(changes) > _SAME:
                yield "K of feed and return were changed by different ratios: fill-ups measure only what remains"

    def _about_limits(self) -> Iterator[str]:
        """Say which points were read as left, what is not compared with the fluid, and K at which other flows."""
        counts = (f"{kind} {sum(each.kind == kind for each in self._read)}" for kind in _KINDS)
        yield f"points read as left: {', '.join(counts)}; the verdict covers no others"
        if apart := self._about_fluid[1]:
            yield f"the fluid, {self.fluid!r}, names no fuel that could be compared with {' and '.join(apart)}"
        if self.calibrations:
            fluid = f"the fluid, {self.fluid!r}," if self.fluid else "the fuel"
            yield f"K depends on the viscosity: K in the liquid of the runs was not compared with K in {fluid} in use"
            if unlike := unlike_liquids(self.calibrations):
                yield f"K of each calibration was compared with K as left only, for want of {' and '.join(unlike)}"
            yield "a calibration bears no date and no serial number: which job and channel it is of was not compared"
        calibrated = [each.frequency_hz for each in self.calibrations]
        channels = list(zip(*(point.frequencies_hz for point in self._read if point.frequencies_hz), strict=False))
        for n, hz in enumerate(list(filter(None, each)) for each in channels):
            own = calibrated[n : n + 1] if len(calibrated) == len(channels) else calibrated
            if own and hz and not min(own) / FLOWS <= min(hz) <= max(hz) <= max(own) * FLOWS:
                ends = (" to ".join(dict.fromkeys(f"{end(each):.5g}" for end in (min, max))) for each in (own, hz))
                yield "K depends on the flow: calibrated at {} Hz, it was used as left at {} Hz".format(*ends)

    def report(self) -> Report:
        marked = *self.transducers, *filter(None, [self.indicator])
        parts = [{"part": p.name, "serial": p.serial, "K-factor": p.k_factor, "note": p.note} for p in marked]
        due = "calibration valid to"
        equipment = [{"equipment": e.name, "serial": e.serial, due: e.due or "not known"} for e in self.equipment]
        sections = [each.report() for each in (*self.sheets, *self.calibrations)]
        if self._compared is not None:
            sections.append(replace(self._compared.report(), title=f"fill-ups with {self.as_found}"))
        facts: dict[str, Any] = {"technician": self.technician, "aircraft": self.aircraft, "fuel or fluid": self.fluid}
        facts |= {"settings as found": self.as_found, "settings as left": self.as_left}
        notes = chain(self._about_k(_SAME), self._about_fill_ups(always=True), self._about_limits())
        return Report(
            f"Job {self.number}, {self.date}",
            verdict=f"{self.verdict.value}: {'; '.join(self.reasons)}" if self.reasons else self.verdict.value,
            facts={**facts, "stored afterwards": self.stored, "remarks": self.remarks},
            tables=[Table.of(rows) for rows in (parts, equipment) if rows],
            remarks=[each for each in notes if each not in self.reasons],
            sections=sections,
            closing=("Signed: ______________________________    Date: ______________",),
        )


def _agree(then: Any, now: Any) -> bool:
    if isinstance(then, (int, float)) and isinstance(now, (int, float)) and not isinstance(then, bool):
        return math.isclose(then, now, rel_tol=_SAME, abs_tol=1e-12) or (math.isnan(then) and math.isnan(now))
    return bool(then == now)
