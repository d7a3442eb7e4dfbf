"""Judge one entry of an assumptions file, and name the likely mistake where it does not hold."""

from __future__ import annotations

from dataclasses import dataclass
from functools import singledispatch
from math import isfinite, isnan
from typing import Any

from fuelunits.checks import entries
from fuelunits.checks.density_check import check_density, doubtful_batch
from fuelunits.checks.entries import Entry
from fuelunits.checks.explanation import density_looks_like
from fuelunits.checks.places import Place
from fuelunits.confusions import number_looks_like, volume_correction_mistakes
from fuelunits.conversion import amount
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.fuels.density_scales import api_gravity_from_density, density_from_api_gravity
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.liquids import Liquid, remarks_of
from fuelunits.fuels.viscosity import viscosity
from fuelunits.fuels.water_and_air import water_density_kg_m3
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import positive, read_text, temperature_c, tolerance_fraction
from fuelunits.reports import format_percent
from fuelunits.units import factor


@dataclass(frozen=True)
class Outcome:
    """Result of one check: ``deviation`` and ``tolerance`` are fractions, NaN where there was no number to judge.

    ``remark`` says what would be right if it does not hold, ``caveat`` what to know although it holds, ``misplaced``
    what is wrong with the place that was looked up.
    """

    entry: Entry
    line: int
    holds: bool
    deviation: float
    tolerance: float
    remark: str = ""
    caveat: str = ""
    misplaced: str = ""
    place: Place | None = None

    @property
    def as_expected(self) -> bool:
        """Whether the result is as the entry expects, and its place is right."""
        return self.holds is not bool(self.entry.expected_to_fail) and not self.misplaced

    @property
    def verdict(self) -> str:
        """The result in words."""
        is_foreseen = self.holds is not bool(self.entry.expected_to_fail)
        if self.misplaced and (is_foreseen or isnan(self.deviation)):
            return "MISPLACED"
        if self.holds:
            return "holds" if is_foreseen else "HOLDS, though expected to fail"
        return "fails, as expected" if is_foreseen else "FAILS"

    @property
    def off(self) -> str:
        """The deviation and its limit."""
        if isnan(self.deviation):
            return "no number to judge"
        return f"{format_percent(self.deviation, signed=True)} (limit {format_percent(self.tolerance)})"

    @property
    def notes(self) -> tuple[str, ...]:
        """The remarks on the result."""
        said = [self.caveat * (not self.misplaced)] if self.holds else [self.remark, self.entry.expected_to_fail]
        return tuple(filter(None, (self.misplaced, *said)))

    def cells(self) -> tuple[str | None, ...]:
        """Return the name, the result, the deviation and its limit in percent."""
        off = None if isnan(self.deviation) else f"{self.deviation * 100:+.3g}"
        return self.entry.name, self.verdict, off, f"{self.tolerance * 100:.3g}"

    def as_row(self) -> dict[str, Any]:
        """Return the result as plain types."""
        names = ("verdict", "holds", "as_expected", "deviation", "tolerance", "remark", "caveat", "misplaced")
        return {
            "kind": self.entry.kind,
            "name": self.entry.name,
            "line": self.line,
            "where": self.entry.where,
            "place": self.place and vars(self.place).copy(),
            "expected_to_fail": self.entry.expected_to_fail,
            **{name: getattr(self, name) for name in names},
        }

    def __str__(self) -> str:
        return f"{self.entry.name}: {'; '.join((f'{self.verdict}, {self.off}', *self.notes))}"


@singledispatch
def judge(entry: Entry, _value: Any) -> Outcome:
    """Return the outcome of an entry for the number that it has, or that was read from its place."""
    raise TypeError(f"{type(entry)} is not a kind of entry")


def _compared(
    entry: Entry, given: float, right: float, unit: str, words: str, *causes: str, caveat: str = "", per: str = ""
) -> Outcome:
    """Return the outcome for a number and the right one; `causes` are what it may be, apart from what all may."""
    tolerance = tolerance_fraction(entry.tolerance)
    if not isfinite(given / right):
        raise QuantityError(f"value is {given:g}, expected {right:.10g}; they differ too much to compare")
    holds = abs(given / right - 1.0) <= tolerance
    allowed = f"{max(0.5, 100.0 * tolerance)} %"
    remark = words + ("" if holds else number_looks_like(given, right, unit, *causes, per=per, tolerance=allowed))
    return Outcome(entry, 0, holds, given / right - 1.0, tolerance, "; ".join(filter(None, (remark, caveat))), caveat)


@judge.register
def _density(entry: entries.DensityEntry, value: str) -> Outcome:
    return _fixed_density(entry, _as_density(value, entry.reference), entry.between)


def _as_density(value: str, reference: str = "") -> str:
    """Return the density that an API gravity, at 60 °F, or a relative density represents; others unchanged."""
    number, unit = read_text(value)
    is_relative = unit in ("", "1")
    if reference and not is_relative:
        raise QuantityError(f"{value} is not a relative density; leave reference out")
    if unit.replace(" ", "").removeprefix("deg").removeprefix("°").upper() == "API":
        return f"{density_from_api_gravity(float(number))!r} kg/m^3"
    if not is_relative:
        return value
    if not reference:
        raise QuantityError(f"{value} has no unit; for a relative density write, for example, reference = '60 degF'")
    water_kg_m3 = float(water_density_kg_m3(temperature_c(reference, name="reference")))
    return f"{float(number) * water_kg_m3!r} kg/m^3"


def _fixed_density(entry: Any, value: str, between: tuple[str, str], *more: str) -> Outcome:
    check = check_density(value, entry.fuel, between=between, tolerance=entry.tolerance)
    equal = check.equals_typical_at
    remark = f"worst {check.worst}; equals the typical density at {equal or 'no temperature of this fuel'}"
    batches = f"a batch within the specification may be off by {check.worst_allowed}"
    remark += f"; {batches}" if check.worst_allowed else ""
    if not check.passed and equal is None:
        remark += density_looks_like(check.assumed_kg_m3, check.fuel, sum(check.between_c) / 2.0, check.unit)
    remark = "; ".join((*more, remark, *check.remarks))
    caveat = "; ".join([batches] * (check.passed_for_all is False) + [each.rstrip(".") for each in check.remarks])
    return Outcome(entry, 0, check.passed, check.worst.error, check.tolerance, remark, caveat)


@judge.register
def _api_gravity(entry: entries.ApiGravityEntry, value: str) -> Outcome:
    right_kg_m3 = float(fuel(entry.fuel).density_kg_m3(temperature_c(entry.base)))
    words = f"the typical {entry.fuel} has {float(api_gravity_from_density(right_kg_m3)):.1f} degAPI at {entry.base}"
    return _fixed_density(entry, _as_density(value), (entry.base, entry.base), words)


@judge.register
def _factor(entry: entries.FactorEntry, value: float) -> Outcome:
    start, goal = entry.start, entry.goal
    try:
        right = factor(start, goal)
    except DimensionError as wrong:
        where = f"if it is a density, write it under [[density]] as value = '{value:g} {goal}/{start}', with its fuel"
        raise DimensionError(f"no factor converts {start} into {goal}; {where}") from wrong
    return _compared(entry, value, right, goal, f"1 {start} is {right:.10g} {goal}", per=start)


@judge.register
def _k_factor(entry: entries.KFactorEntry, value: str) -> Outcome:
    calibrated, entered = KFactor.read(entry.calibrated, insist=True), KFactor.read(value, insist=True)
    right, indicated = calibrated.to(entered.unit), 100.0 * entered.indication_error(calibrated)
    words = f"calibrated {right}, so {indicated:+.3g} % is indicated"
    return _compared(entry, float(entered), float(right), f"pulse/{entered.unit}", words)


def _liquid(entry: entries.OfBatch) -> tuple[Liquid, float, str]:
    """Return the liquid of an entry, its base temperature, °C, and what is to be said of it."""
    grade, base_c = fuel(entry.fuel), float(temperature_c(entry.base))
    if not entry.density:
        return grade, base_c, "; ".join(remarks_of(grade))
    batch = grade.measured(_as_density(entry.density), at=entry.base, by="certificate")
    return batch, base_c, doubtful_batch(batch)


@judge.register
def _volume_correction(entry: entries.VolumeCorrectionEntry, value: float) -> Outcome:
    liquid, base_c, caveat = _liquid(entry)
    right = float(liquid.density_kg_m3(temperature_c(entry.at)) / liquid.density_kg_m3(base_c))
    near = min(0.001, abs(1.0 - right) / 4.0)
    causes = [name for name, ratio in volume_correction_mistakes(right) if abs(value / right / ratio - 1.0) < near]
    words = f"from {entry.at} to {entry.base} it is {right:.5f}"
    return _compared(entry, value, right, "", words, *causes, caveat=caveat)


@judge.register
def _expansion(entry: entries.ExpansionEntry, value: float) -> Outcome:
    liquid, base_c, caveat = _liquid(entry)
    cooler, here, warmer = (float(liquid.density_kg_m3(base_c + aside)) for aside in (-0.01, 0.0, 0.01))
    unit = f"1/delta_{entry.per}"
    right = (cooler - warmer) / 0.02 / here * factor("1/K", unit)
    return _compared(entry, value, right, unit, f"it is {right:.4g} per {entry.per}", caveat=caveat)


@judge.register
def _viscosity(entry: entries.ViscosityEntry, value: str) -> Outcome:
    line, unit = viscosity(entry.fuel), read_text(value)[1]
    right = line.kinematic_viscosity_mm2_s(temperature_c(entry.at)) * factor("mm^2/s", unit)
    words = f"{line.name} has {right:.3g} {unit} at {entry.at}"
    given = positive(value, unit, name="value")
    return _compared(entry, given, right, unit, words, caveat=f"one sample of this fuel; {line.note}")


@judge.register
def _usable_fuel(entry: entries.UsableFuelEntry, value: str) -> Outcome:
    unit = read_text(value)[1]
    density = _as_density(entry.density) if entry.density else None
    named = {"value": value, "total": entry.total, "unusable": entry.unusable}
    given, total, unusable = (amount(each, unit, name=name, density=density) for name, each in named.items())
    if not unusable < total:
        raise QuantityError(f"unusable is {entry.unusable}, and the tank holds {entry.total}")
    right = total - unusable
    slips = {"the total, including the unusable fuel": total, "the unusable fuel subtracted twice": right - unusable}
    causes = [name for name, each in slips.items() if abs(given - each) < unusable / 4.0]
    return _compared(entry, given, right, unit, f"usable is {right:.5g} {unit}", *causes)


@judge.register
def _pulse_rate(entry: entries.PulseRateEntry, value: str) -> Outcome:
    k, unit = KFactor.read(entry.k_factor, insist=True), read_text(value)[1]
    density = _as_density(entry.density) if entry.density else None
    right_hz = amount(entry.flow, f"{k.unit}/h", name="flow", density=density) * float(k) / 3600.0
    right, given = right_hz * positive("1 Hz", unit, name="value"), positive(value, unit, name="value")
    return _compared(entry, given, right, f"pulse/{k.unit}", f"{entry.flow} is {right:.6g} {unit}")
