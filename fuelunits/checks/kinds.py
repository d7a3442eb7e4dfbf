"""The kinds of entries of an assumptions file: their keys, and how the number of each is judged.

msgspec validates the keys and writes their schema from the types below, which are of their form, not their meaning.
"""

from dataclasses import dataclass, replace
from fractions import Fraction
from math import isfinite, isnan
from typing import Annotated, Any, ClassVar, Literal

import msgspec
from msgspec import Meta

from fuelunits.checks.density_check import check_density, doubtful_batch
from fuelunits.checks.explanation import density_remark
from fuelunits.checks.places import Place, stated_unit
from fuelunits.confusions import number_looks_like, volume_correction_mistakes
from fuelunits.conversion import amount
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.liquids import Liquid, remarks_of
from fuelunits.fuels.properties import viscosity
from fuelunits.fuels.water_and_air import water_density_kg_m3
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import positive, read_text, temperature_c, tolerance_fraction
from fuelunits.reports import format_percent
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.units import factor, spellings
from fuelunits.validation import is_within


@dataclass(frozen=True)
class Outcome:
    """Result of one check: fractions, NaN without a number, and remarks on what is right, in doubt or misplaced."""

    entry: "Entry"
    holds: bool
    deviation: float
    tolerance: float
    remark: str = ""
    caveats: tuple[str, ...] = ()
    misplaced: str = ""
    place: Place | None = None
    is_typical: bool = False
    line: int = 0

    @property
    def _is_foreseen(self) -> bool:
        return self.holds is not bool(self.entry.expected_to_fail)

    @property
    def as_expected(self) -> bool:
        """Whether the result is as the entry expects, and its place is right."""
        return self._is_foreseen and not self.misplaced

    @property
    def verdict(self) -> str:
        """The result in words."""
        if self.misplaced and (self._is_foreseen or isnan(self.deviation)):
            return "MISPLACED"
        if self.holds:
            words = "holds" if self._is_foreseen else "HOLDS, though expected to fail"
            return words + " for the typical fuel" * self.is_typical
        return "fails, as expected" if self._is_foreseen else "FAILS"

    @property
    def off(self) -> str:
        """The deviation and its limit."""
        if isnan(self.deviation):
            return "no number to judge"
        return f"{format_percent(self.deviation, signed=True)} (limit {format_percent(self.tolerance)})"

    @property
    def notes(self) -> tuple[str, ...]:
        """The remarks on the result."""
        caveats = () if self.holds and self.misplaced else self.caveats
        failing = () if self.holds else (self.remark, self.entry.expected_to_fail)
        return tuple(filter(None, (self.misplaced, *failing, *caveats)))

    def cells(self) -> dict[str, str]:
        """Return the result as a row of a table."""
        off, limit = "" if isnan(self.deviation) else f"{100 * self.deviation:+.3g}", f"{100 * self.tolerance:.3g}"
        return {"assumption": self.entry.name, "result": self.verdict, "off, %": off, "limit, %": limit}

    def as_row(self) -> dict[str, Any]:
        """Return the result as plain types."""
        names = ("verdict", "holds", "as_expected", "deviation", "tolerance", "remark", "caveats", "misplaced", "line")
        entry = {name: getattr(self.entry, name) for name in ("kind", "name", "where", "expected_to_fail")}
        return {**entry, "place": self.place and {**vars(self.place)}, **{name: getattr(self, name) for name in names}}

    def __str__(self) -> str:
        return f"{self.entry.name}: {'; '.join((f'{self.verdict}, {self.off}', *self.notes))}"


_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_POSITIVE = rf"^\s*\+?(?=[0-9.]*[1-9]){_NUMBER}\s*"
_SCALES = "|".join(each.replace("_", r"[_\s]+") for scale in ("degC", "degF", "K", "degR") for each in spellings(scale))
_DENSITY = rf"{_POSITIVE}[A-Za-z].*(?:/|\sper\s|\^-|\*\*-|⁻).*\S"
_ANY_DENSITY = rf"{_DENSITY}|{_POSITIVE}(?:(?:deg|°)\s*API\s*)?$"
_AMOUNT = rf"{_POSITIVE}[A-Za-z]"
_PULSES = rf"{_POSITIVE}(?:pulses?\b)?\s*(?:/|per\s)\s*\S"
_WHERE = (
    "Where it is used: path:NAME is the constant, key or define of that name, whose number is read there, with the "
    "unit of a text; path:line holds the number and reads as the key text does. Comments hold no number."
)
_EXPECTED_TO_FAIL = "The reason why the assumption is known to fail; it is then an error if it holds."


def _text(pattern: str | None, meaning: str, example: object) -> Meta:
    return Meta(pattern=pattern, description=meaning, examples=[example])


_Unit = Annotated[str, _text(r"[A-Za-z°℃℉]", "A unit.", "gal")]
_Temperature = Annotated[str, _text(rf"^\s*[+\-−]?{_NUMBER}\s*(?:{_SCALES})\s*$", "A temperature.", "0 degC")]
_Fuel = Annotated[str, _text(r"[A-Za-z0-9]", "The grade of fuel.", "Jet A")]
_Base = Annotated[Literal["15 degC", "20 degC", "60 degF"], _text(None, "The base temperature.", "15 degC")]
_BETWEEN = _text(None, "Lowest and highest temperature of the fuel.", ["0 degC", "30 degC"])
_At = Annotated[_Temperature, _text(None, "The temperature of the fuel.", "30 degC")]
_PerMass = Annotated[str, _text(_DENSITY, "The density that turns a mass into a volume.", "6.7 lb/gal")]


class Entry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What every entry has."""

    name: Annotated[str, _text(r"\S", "The name of the assumption.", "weight of uplift")]
    tolerance: Annotated[str, _text(rf"^\s*\+?{_NUMBER}\s*(?:%|percent)\s*$", "The tolerance, a percentage.", "3 %")]
    where: Annotated[str, _text(r"\S", _WHERE, "uplift.py:12")] = ""
    text: Annotated[str, _text(r"\S", "The line of path:line, as it reads.", "return gallons * 3.785412")] = ""
    expected_to_fail: Annotated[str, _text(r"\S", _EXPECTED_TO_FAIL, "the sheet is not used below 0 degC")] = ""
    unit_of_plain: ClassVar[str] = ""  # of a number without a unit of its own, from the keys of the entry

    @property
    def kind(self) -> str:
        """The heading of the entry."""
        return next(kind for kind, of in KINDS.items() if isinstance(self, of))

    @property
    def number(self) -> Any:
        """The number that is judged, as written; None or empty where it is read from the source."""
        return getattr(self, "value", None) or getattr(self, "entered", "")

    @property
    def unit_read(self) -> str:
        """The unit of a number that is read in its place; empty where none is stated."""
        written = read_text(self.number)[1] if self.number and isinstance(self.number, str) else ""
        own = written or getattr(self, "unit", "") or "1" * bool(getattr(self, "reference", ""))
        return own or self.unit_of_plain.format(self)

    def judge(self, read: Fraction | None = None, unit: str = "") -> Outcome:
        """Return the outcome for the number of the entry, or for one read in its place, in the unit of its text."""
        if read is None:
            return self._judge(self.number)
        return self._judge(f"{float(read)!r} {unit or self.unit_read}" if hasattr(self, "unit") else float(read))

    def wrong_unit(self, unit: str) -> str:
        """Return that the unit in a text is not that of the entry, or of a factor's result; or nothing."""
        own, stated = self.unit_read or unit, stated_unit(unit)
        goals = filter(None, map(stated_unit, (own, getattr(self, "goal", own))))
        is_right = stated and any((each.dimension, each.size) == (stated.dimension, stated.size) for each in goals)
        is_same = unit.replace("°", "deg").replace(" ", "") in ("", own.replace("°", "deg").replace(" ", ""))
        return "" if is_right or is_same else f"{self.where} states the unit {unit!r}; expected {own}"

    def _judge(self, value: Any) -> Outcome:
        raise NotImplementedError

    def _compared(
        self, given: float, right: float, unit: str, words: str, *causes: str, caveat: str = "", per: str = ""
    ) -> Outcome:
        """Return the outcome for a number and the right one; `causes` are what it may be, apart from what all may."""
        tolerance = tolerance_fraction(self.tolerance)
        if not isfinite(given / right):
            raise QuantityError(f"value is {given:g}, expected {right:.10g}; they differ too much to compare")
        holds = is_within(given / right - 1.0, tolerance)
        allowed = f"{max(0.5, 100.0 * tolerance)} %"
        remark = words + ("" if holds else number_looks_like(given, right, unit, *causes, per=per, tolerance=allowed))
        return Outcome(self, holds, given / right - 1.0, tolerance, remark, (caveat,) * bool(caveat))


class WithUnit(Entry, frozen=True, kw_only=True):
    """An entry whose number has a unit."""

    unit: Annotated[str, _text(r"[A-Za-z]", "The unit of a number that is read by name.", "lb/gal")] = ""


class DensityEntry(WithUnit, frozen=True, kw_only=True):
    """One fixed density for a fuel over a range of temperatures."""

    value: Annotated[str, _text(_ANY_DENSITY, "The fixed density.", "6.7 lb/gal")] = ""
    reference: Annotated[_Temperature, _text(None, "Of a relative density, the temperature of water.", "60 degF")] = ""
    fuel: _Fuel
    between: Annotated[tuple[_Temperature, _Temperature], _BETWEEN]

    def _judge(self, value: str) -> Outcome:
        number, unit = read_text(value)
        if unit in ("", "1"):
            if not self.reference:
                raise QuantityError(f"{value} has no unit; write, for a relative density, reference = '60 degF'")
            water_kg_m3 = float(water_density_kg_m3(temperature_c(self.reference, name="reference")))
            value = f"{float(number) * water_kg_m3!r} kg/m^3"
        elif self.reference:
            raise QuantityError(f"{value} is not a relative density; leave reference out")
        check = check_density(value, self.fuel, between=self.between, tolerance=self.tolerance)
        batches = f"a batch of {check.fuel_name} within its specification may be off by {check.worst_allowed}"
        caveats = (*[batches] * (check.passed_for_all is False), *(each.rstrip(".") for each in check.remarks))
        found = Outcome(self, check.passed, check.worst.error, check.tolerance, density_remark(check), caveats)
        return replace(found, is_typical=check.verdict is not Verdict.ACCEPT)


class FactorEntry(Entry, frozen=True, kw_only=True, rename={"start": "from", "goal": "to"}):
    """A factor from one unit to another."""

    value: Annotated[float, Meta(gt=0, le=1e300, description="The factor.", examples=[3.785412])] | None = None
    start: Annotated[_Unit, _text(None, "The unit of the number that is multiplied.", "gal")]
    goal: Annotated[_Unit, _text(None, "The unit of the product.", "L")]
    unit_of_plain: ClassVar[str] = "{0.goal} per {0.start}"

    def _judge(self, value: float) -> Outcome:
        try:
            right = factor(self.start, self.goal)
        except DimensionError as wrong:
            density = f"a density goes under [[density]] as value = '{value:g} {self.goal}/{self.start}', with its fuel"
            raise DimensionError(f"no factor converts {self.start} into {self.goal}; {density}") from wrong
        return self._compared(value, right, self.goal, f"1 {self.start} is {right:.10g} {self.goal}", per=self.start)


class KFactorEntry(WithUnit, frozen=True):
    """A K-factor as calibrated and as entered."""

    calibrated: Annotated[str, _text(_PULSES, "The K-factor of the calibration.", "11412 pulse/L")]
    entered: Annotated[str, _text(_PULSES, "The K-factor that was entered.", "11410 pulse/L")] = ""

    def _judge(self, value: str) -> Outcome:
        calibrated, entered = KFactor.read(self.calibrated, insist=True), KFactor.read(value, insist=True)
        right, indicated = calibrated.to(entered.unit), 100.0 * entered.indication_error(calibrated)
        words = f"calibrated {right}, so {indicated:+.3g} % is indicated"
        return self._compared(float(entered), float(right), f"pulse/{entered.unit}", words)


class OfBatch(Entry, frozen=True):
    """What follows from the expansion of a fuel: of the typical one, or of a batch of known density."""

    fuel: _Fuel
    base: _Base = "15 degC"
    density: Annotated[str, _text(_DENSITY, "The density of the batch at the base.", "0.804 kg/L")] = ""

    def _liquid(self) -> tuple[Liquid, float, str]:
        """Return the liquid, its base temperature, °C, and what is to be said of it."""
        grade, base_c = fuel(self.fuel), float(temperature_c(self.base))
        if not self.density:
            return grade, base_c, "; ".join(remarks_of(grade))
        batch = grade.measured(self.density, at=self.base, by="certificate")
        if doubt := doubtful_batch(batch):
            raise QuantityError(f"density is {self.density}, but {doubt}")
        return batch, base_c, ""


class VolumeCorrectionEntry(OfBatch, frozen=True, kw_only=True):
    """The factor of a volume from a temperature to the base temperature."""

    value: Annotated[float, Meta(gt=0, le=1e300, description="The factor.", examples=[0.9863])] | None = None
    at: _At
    unit_of_plain: ClassVar[str] = "L per L"

    def _judge(self, value: float) -> Outcome:
        liquid, base_c, caveat = self._liquid()
        right = float(liquid.density_kg_m3(temperature_c(self.at)) / liquid.density_kg_m3(base_c))
        near = min(0.001, abs(1.0 - right) / 4.0)
        causes = [name for name, ratio in volume_correction_mistakes(right) if abs(value / right / ratio - 1.0) < near]
        words = f"from {self.at} to {self.base} it is {right:.5f}"
        return self._compared(value, right, "", words, *causes, caveat=caveat)


class ExpansionEntry(OfBatch, frozen=True):
    """The thermal expansion at the base temperature, per degree Celsius (or kelvin) or Fahrenheit."""

    value: Annotated[float, Meta(gt=0, le=1e300, description="The expansion.", examples=[9.2e-4])] | None = None
    per: Annotated[Literal["degC", "degF", "K"], _text(None, "The degree.", "degC")] = "degC"
    unit_of_plain: ClassVar[str] = "1/{0.per}"

    def _judge(self, value: float) -> Outcome:
        liquid, base_c, caveat = self._liquid()
        cooler, here, warmer = (float(liquid.density_kg_m3(base_c + aside)) for aside in (-0.01, 0.0, 0.01))
        unit = f"1/delta_{self.per}"
        right = (cooler - warmer) / 0.02 / here * factor("1/K", unit)
        return self._compared(value, right, unit, f"it is {right:.4g} per {self.per}", caveat=caveat)


class ViscosityEntry(WithUnit, frozen=True, kw_only=True):
    """The kinematic viscosity of a fuel at a temperature."""

    value: Annotated[str, _text(_AMOUNT, "The kinematic viscosity.", "1.52 cSt")] = ""
    fuel: _Fuel
    at: _At

    def _judge(self, value: str) -> Outcome:
        line, unit = viscosity(self.fuel), read_text(value)[1]
        right = line.kinematic_viscosity_mm2_s(temperature_c(self.at)) * factor("mm^2/s", unit)
        given, caveat = positive(value, unit, name="value"), f"{line.name}: viscosity of one sample, {line.note}"
        return self._compared(given, right, unit, f"{line.name} has {right:.3g} {unit} at {self.at}", caveat=caveat)


class UsableFuelEntry(WithUnit, frozen=True, kw_only=True):
    """The usable fuel of a tank: what it holds less what cannot be used."""

    value: Annotated[str, _text(_AMOUNT, "The usable fuel.", "190 L")] = ""
    total: Annotated[str, _text(_AMOUNT, "The volume or mass that the tank holds.", "196 L")]
    unusable: Annotated[str, _text(_AMOUNT, "The part that cannot be used.", "6 L")]
    density: _PerMass = ""

    def _judge(self, value: str) -> Outcome:
        unit, density = read_text(value)[1], self.density or None
        named = {"value": value, "total": self.total, "unusable": self.unusable}
        given, total, unusable = (amount(each, unit, name=name, density=density) for name, each in named.items())
        if not unusable < total:
            raise QuantityError(f"unusable is {self.unusable}, and the tank holds {self.total}")
        right = total - unusable
        slips = {"the total, with the unusable fuel": total, "the unusable fuel subtracted twice": right - unusable}
        causes = [name for name, each in slips.items() if abs(given - each) < unusable / 4.0]
        return self._compared(given, right, unit, f"usable is {right:.5g} {unit}", *causes)


class PulseRateEntry(WithUnit, frozen=True, kw_only=True):
    """The pulse rate of a test point: the frequency that represents a flow."""

    value: Annotated[str, _text(_AMOUNT, "The pulse rate.", "99.855 Hz")] = ""
    flow: Annotated[str, _text(_AMOUNT, "The flow of the test point.", "31.5 L/h")]
    k_factor: Annotated[str, _text(_PULSES, "The K-factor of the transducer.", "11412 pulse/L")]
    density: _PerMass = ""

    def _judge(self, value: str) -> Outcome:
        k, unit = KFactor.read(self.k_factor, insist=True), read_text(value)[1]
        right_hz = amount(self.flow, f"{k.unit}/h", name="flow", density=self.density or None) * float(k) / 3600.0
        right, given = right_hz * positive("1 Hz", unit, name="value"), positive(value, unit, name="value")
        return self._compared(given, right, f"pulse/{k.unit}", f"{self.flow} is {right:.6g} {unit}")


KINDS: dict[str, type[Entry]] = {
    "density": DensityEntry,
    "factor": FactorEntry,
    "k_factor": KFactorEntry,
    "volume_correction": VolumeCorrectionEntry,
    "expansion": ExpansionEntry,
    "viscosity": ViscosityEntry,
    "usable_fuel": UsableFuelEntry,
    "pulse_rate": PulseRateEntry,
}
"""The kinds of entries, by their heading."""
