"""Check a fixed density: what a pounds-per-gallon setting means for a fuel and a temperature.

It makes a displayed mass wrong by fixed over true density, less 1. The true one falls steadily with temperature and
rises from the lightest to the densest batch, so the worst case lies at an end of the temperature range.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from math import ceil, floor
from typing import Any, ClassVar

from fuelunits.conversion import kind_of
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.blends import Blend
from fuelunits.fuels.grades import Fuel
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import Liquid, batch_of, density_doubt, remarks_of, temperature_c_at
from fuelunits.fuels.water_and_air import density_from_api_gravity
from fuelunits.indicators.written import as_written, decimals_of
from fuelunits.quantities import PairLike, QuantityLike, first_quantity, pair, positive, read_text, tolerance_fraction
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.units import factor, read_unit
from fuelunits.validation import boolean, format_value, is_within, set_fields


@dataclass(frozen=True)
class WorstCase:
    """The relative error of an assumed density at a temperature, assumed over true less 1, and of which batch."""

    error: float
    at_c: float
    true_kg_m3: float
    batch: str

    def __str__(self) -> str:
        return f"{self.error * 100:+.2f} % at {self.at_c:.4g} °C" + f" ({self.batch})" * (self.batch != "this fuel")


@dataclass(frozen=True)
class AmountError:
    """The lowest and highest error, displayed less true, of the mass displayed, and the volume that it represents."""

    mass: tuple[float, float]
    mass_unit: str
    volume: tuple[float, float]
    volume_unit: str
    batch: str

    def __str__(self) -> str:
        mass = " to ".join(f"{each:+.{decimals_of(self.mass_unit)}f}" for each in self.mass)
        volume = " to ".join(f"{each:+.{1 + decimals_of(self.volume_unit)}f}" for each in self.volume)
        return f"{mass} {self.mass_unit}, or {volume} {self.volume_unit} ({self.batch})"


@dataclass(frozen=True, repr=False)
class DensityCheck(Reporting):
    """Whether a fixed density holds for a fuel over a temperature range.

    Attributes
    ----------
    written : str, the assumed density as it was given
    fuel : Fuel, Batch or Blend
    between_c, tolerance : float, the ends of the temperature range, °C, and the tolerance, a fraction
    assumed_kg_m3, unit : the assumed density in kg/m³, and the unit in which tables answer, from the text

    Examples
    --------
    >>> check = check_density("6.0 lb/gal", "100LL", between=("0 degC", "30 degC"), tolerance="3 %")
    >>> check.verdict.value, check.reason.partition(";")[0]
    ('undecided', 'the typical fuel is within 3 %')
    """

    _plain: ClassVar[tuple[str, ...]] = (
        *("fuel_name", "verdict", "reason", "passed", "passed_for_all"),
        *("equals_typical_at_c", "worst", "worst_allowed", "remarks"),
    )

    written: str
    fuel: Fuel = field(repr=False)
    between_c: tuple[float, float]
    tolerance: float
    assumed_kg_m3: float = field(init=False)
    unit: str = field(init=False)

    def __post_init__(self) -> None:
        written, density, unit = read_density(self.written)
        set_fields(self, written=written, assumed_kg_m3=density, unit=unit, between_c=tuple(self.between_c))
        if not hasattr(self.fuel, "name"):
            raise FuelUnitsError(f"fuel: {format_value(self.fuel)} has no name; write a Fuel, Batch or Blend")
        self._cases()  # OutOfRange where an end is no temperature of the fuel

    @property
    def fuel_name(self) -> str:
        """The name of the fuel."""
        return self.fuel.name

    @property
    def _is_grade(self) -> bool:
        return hasattr(self.fuel, "limit_liquids")

    @property
    def _liquids(self) -> dict[str, Liquid]:
        """The fuel itself, then the batches at the limits that its specification sets."""
        if not self._is_grade:
            return {"this fuel": self.fuel}
        named = zip(("typical", "lightest", "densest"), (self.fuel, *self.fuel.limit_liquids), strict=True)
        return {name: liquid for name, liquid in named if liquid is not None}

    def _errors_at(self, temperature_c: float) -> list[WorstCase]:
        densities = {name: float(liquid.density_kg_m3(temperature_c)) for name, liquid in self._liquids.items()}
        return [WorstCase(self.assumed_kg_m3 / it - 1.0, temperature_c, it, name) for name, it in densities.items()]

    def _cases(self, *, every_batch: bool = False) -> list[WorstCase]:
        """Return the errors at both ends of the range, of the fuel itself or of the limits that are set."""
        own, *limits = zip(*map(self._errors_at, self.between_c), strict=True)
        kept = [own] if not every_batch else limits if len(limits) == 2 else [own, *limits]
        return [case for cases in kept for case in cases]

    @property
    def worst(self) -> WorstCase:
        """The largest error for the typical fuel."""
        return max(self._cases(), key=lambda case: abs(case.error))

    @property
    def worst_allowed(self) -> WorstCase | None:
        """The largest error for a batch at the edge of the specification; None if it sets no limits."""
        return max(self._cases(every_batch=True), key=lambda case: abs(case.error)) if len(self._liquids) > 1 else None

    @property
    def passed(self) -> bool:
        """Whether the typical fuel stays within the tolerance over the whole range."""
        return is_within(self.worst.error, self.tolerance)

    @property
    def passed_for_all(self) -> bool | None:
        """Whether every batch that the specification allows stays within it; None where a limit is not set."""
        if (worst := self.worst_allowed) and not is_within(worst.error, self.tolerance):
            return False
        return True if len(self._liquids) == 3 else None

    @property
    def equals_typical_at_c(self) -> float | None:
        """The temperature, °C, at which the typical fuel has the assumed density, even outside the range, or None."""
        return temperature_c_at(self.fuel, self.assumed_kg_m3)

    @property
    def equals_typical_at(self) -> str | None:
        """That temperature as text."""
        return None if self.equals_typical_at_c is None else f"{self.equals_typical_at_c:.1f} °C"

    @property
    def remarks(self) -> tuple[str, ...]:
        """Remarks for the reader: limits that are not set, and figures that were not measured."""
        fuel: Any = self.fuel
        is_open = getattr(fuel, "verdict", None) is Verdict.UNDECIDED
        doubt = f"{fuel.name} is undecided: {fuel.reason}" if is_open else doubtful_batch(fuel)
        said = dict.fromkeys(filter(None, (missing_limits(fuel), doubt, *remarks_of(fuel))))
        return (*said, *getattr(fuel, "share_remarks", ()))

    @property
    def verdict(self) -> Verdict:
        """Accept, reject, or undecided where a batch may be off by more or is not certain, or a limit is not set."""
        return self._decision[0]

    @property
    def reason(self) -> str:
        """The figure that decides, or what is missing."""
        return self._decision[1]

    @property
    def _decision(self) -> tuple[Verdict, str]:
        limit = format_percent(self.tolerance)
        if not self.passed:
            return Verdict.REJECT, f"{self.worst}, limit {limit}"
        if self._is_grade and not self.passed_for_all:
            why = missing_limits(self.fuel) if self.passed_for_all is None else f"a batch may have {self.worst_allowed}"
            return Verdict.UNDECIDED, f"the typical fuel is within {limit}; {why}, so measure the batch"
        within = f"within {limit}" + " for every batch that the specification allows" * self._is_grade
        doubt = doubtful_batch(self.fuel) or self._doubt()
        return (Verdict.UNDECIDED, f"{within}, but {doubt}") if doubt else (Verdict.ACCEPT, within)

    def _doubt(self) -> str:
        """Return a reason where the uncertainty of a density, of its reading and expansion, exceeds the tolerance."""
        reading, from_c, why = getattr(self.fuel, "reading", None), 15.0, ""
        if reading is not None:
            is_stated, from_c = reading.standard_uncertainty_kg_m3, reading.at_c
            why = f"k = {reading.doubt_kg_m3 / is_stated:.3g}, and " if is_stated else "no uncertainty was stated, and "
        for case in sorted(self._cases(every_batch=self._is_grade), key=lambda case: abs(case.error), reverse=True):
            known_to = density_doubt(self.fuel, case.at_c)
            if not is_within(abs(case.error) + known_to, self.tolerance):
                why += f"{abs(case.at_c - from_c):.3g} °C of expansion"
                return f"its density at {case.at_c:.4g} °C is known only to {format_percent(known_to)} ({why})"
        return ""

    def error_of(self, amount: QuantityLike, *, any_batch: bool = False) -> AmountError:
        """Return the error of an amount over the temperature range with the assumed density: displayed less true.

        The amount is a volume in the tank, or a mass as the indicator shows it; with `any_batch` every batch within the
        specification counts, instead of the typical fuel; where it sets no limits, the answer says so. Of a measured
        batch, or a blend of some, the expanded uncertainty of the readings and that of the expansion count.

        Examples
        --------
        >>> check = check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")
        >>> print(check.error_of("200 gal"))
        -51.2 to +22.3 lb, or -7.36 to +3.38 gal (typical)
        """
        mass_unit, _, volume_unit = self.unit.partition("/")
        base = kind_of(amount, ("m3", "kg"), name="amount")
        written = as_written(amount, base, "amount")
        unit, m3 = read_unit(read_text(written)[1]).name, float(positive(written, base, name="amount", zero=True))
        if base == "m3":
            volume_unit = unit
        else:
            mass_unit, m3 = unit, m3 / self.assumed_kg_m3
        cases = self._cases(every_batch=boolean(any_batch, "any_batch"))
        if not self._is_grade:
            off = [(case, 1.0 + side * density_doubt(self.fuel, case.at_c)) for case in cases for side in (-1, 1)]
            trues = [(case.at_c, case.true_kg_m3 * factor) for case, factor in off]
            cases = [WorstCase(self.assumed_kg_m3 / true - 1.0, at_c, true, "this fuel") for at_c, true in trues]
        batches = " or ".join(dict.fromkeys(case.batch for case in cases))
        if any_batch and (missing := missing_limits(self.fuel)):
            batches += f"; {missing}"
        ends = [choose(cases, key=lambda case: case.error) for choose in (min, max)]
        low, high = (case.error * m3 * factor("m3", volume_unit) for case in ends)
        low_mass, high_mass = (case.error * case.true_kg_m3 * m3 * factor("kg", mass_unit) for case in ends)
        return AmountError((low_mass, high_mass), mass_unit, (low, high), volume_unit, batches)

    def rows(self) -> tuple[dict[str, float], ...]:
        """Return densities and errors at both ends and round temperatures between; also of limits that are set."""
        low, high = self.between_c
        step = next((step for step in (1, 2, 5, 10, 20) if (high - low) / step <= 8), 50)
        inner, rows = [float(step * n) for n in range(ceil(low / step), floor(high / step) + 1)], []
        for own, *limits in map(self._errors_at, dict.fromkeys([low, *inner, high])):
            row = {"temperature_c": own.at_c, "typical_kg_m3": own.true_kg_m3, "error": own.error}
            rows.append(row | {f"error_{case.batch}": case.error for case in limits})
        return tuple(rows)

    def _cells(self, row: dict[str, float]) -> dict[str, str]:
        celsius, kg_m3, *errors = row.values()
        percent = {f"{name}, %": f"{100 * it:+.2f}" for name, it in zip(self._liquids, errors, strict=True)}
        return {"°C": f"{celsius:.4g}", self.unit: f"{kg_m3 * factor('kg/m^3', self.unit):.4g}", **percent}

    def report(self) -> Report:
        equal, worst = self.equals_typical_at or "no temperature of its range", str(self.worst)
        facts = {"equals the density of this fuel at": equal, "worst for this fuel": worst}
        if self._is_grade:
            allowed = str(self.worst_allowed or "unknown: no limits of density are set")
            facts = {
                "equals the typical density at": equal,
                "worst for the typical fuel": worst,
                "worst within the specification": allowed + ", as far as limits are set" * (len(self._liquids) == 2),
                "batches for which it holds (estimate)": _share_in_words(self),
            }
        between = "between {:g} and {:g} °C".format(*self.between_c)
        title = f"{self.written} for {self.fuel.name} {between}, tolerance {format_percent(self.tolerance)}"
        verdict, table = f"{self.verdict.value}: {self.reason}", Table.of(map(self._cells, self.rows()))
        return Report(title, verdict, facts, [table], self.remarks, (self.fuel.source,))


def check_density(value: QuantityLike, fuel: Any, *, between: PairLike, tolerance: QuantityLike) -> DensityCheck:
    """Return a check whether one fixed density holds for a fuel over a temperature range.

    Parameters
    ----------
    value : str or pint.Quantity, the assumed density, such as ``"6.7 lb/gal"``, or an API gravity, ``"44 degAPI"``
    fuel : str, Fuel, Batch or Blend
    between : pair of str or pint.Quantity
        Lowest and highest temperature of the fuel; OutOfRange if they are not all temperatures of that fuel.
    tolerance : str, the tolerance of the mass, such as ``"3 %"``

    Examples
    --------
    >>> check = check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")
    >>> check.verdict.value, check.reason, check.equals_typical_at
    ('reject', '-3.68 % at -20 °C (typical), limit 3 %', '22.0 °C')
    """
    written, between_c = as_written(value, "kg/L", "value"), pair(between, "degC", name="between")
    first_quantity(value, between, tolerance)
    return DensityCheck(written, find_fuel(fuel), between_c, tolerance_fraction(tolerance))


def read_density(value: Any) -> tuple[str, float, str]:
    """Return a density as written, in kg/m³, and its unit; an API gravity, such as ``"44 degAPI"``, is one at 60 °F."""
    written = as_written(value, "kg/L", "value")
    number, name = read_text(written)
    if name.replace(" ", "") in ("degAPI", "°API"):
        return written, density_from_api_gravity(float(number)), "kg/L"
    density, unit = float(positive(written, "kg/m^3", name="value")), read_unit(name).name
    return written, density, unit if "/" in unit else "kg/L"


def missing_limits(fuel: Any) -> str:
    """Return in words which limits of a grade are not known; nothing where both are, or for any other liquid."""
    limits = zip(("lower", "upper"), getattr(fuel, "limit_liquids", (fuel, fuel)), strict=True)
    sides = [side for side, limit in limits if limit is None]
    which = "limits of density" if len(sides) == 2 else f"{''.join(sides)} limit of density known here" if sides else ""
    return which and f"the specification of {fuel.name} sets no {which}"


def doubtful_batch(fuel: Any) -> str:
    """Return why a measured batch or a blend may not be the fuel named; nothing where it may."""
    if getattr(fuel, "verdict", None) is Verdict.REJECT:
        return f"{fuel.name} is rejected: {fuel.reason}"
    return f"the density of a {fuel.name} is computed, not measured" if isinstance(fuel, Blend) else ""


def estimated_share(check: DensityCheck) -> tuple[float, float] | None:
    """Return the least and largest share of batches, 0 to 1, for which a density holds; None without data on them."""
    fuel = check.fuel
    if getattr(fuel, "spread", None) is None:
        return None
    at_base = [
        [float(batch_of(fuel.liquid, density, celsius).density_kg_m3(fuel.base_c)) for celsius in check.between_c]
        for density in (check.assumed_kg_m3 / (1.0 + sign * check.tolerance) for sign in (1.0, -1.0))
    ]
    low, high = max(at_base[0]), min(at_base[1])
    return fuel.estimated_share(low, high) if low < high else (0.0, 0.0)


def _share_in_words(check: DensityCheck) -> str:
    with suppress(FuelUnitsError):
        if (share := estimated_share(check)) is None:
            return "no data on how batches of this grade differ"
        return " to ".join(dict.fromkeys(f"{100.0 * each:.0f}" for each in share)) + " %"
    return "not computed: this is not the density of a petroleum fuel"
