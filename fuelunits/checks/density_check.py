"""Does one fixed density hold? What a pounds-per-gallon setting means for a fuel and a temperature.

An indicator that multiplies a volume by one fixed density shows a mass that is off by
``fixed density / true density - 1``. The true density falls steadily with temperature and rises
from the lightest to the densest batch, so the worst case lies at an end of the temperature range.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, floor, isnan
from typing import Any, ClassVar

from fuelunits.amounts import first_quantity
from fuelunits.arrays import is_scalar
from fuelunits.checks.limits import doubtful_batch, missing_limits, remarks_on
from fuelunits.checks.share import share_in_words
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.grades import Fuel
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquid import Liquid, temperature_c_at
from fuelunits.quantities import fraction, is_quantity, pair, positive, read_text
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.units import factor, read_unit
from fuelunits.validation import boolean, check_type, format_value, plain_number

__all__ = ["AmountError", "DensityCheck", "WorstCase", "check_density"]


@dataclass(frozen=True)
class WorstCase:
    """The largest relative error of an assumed density, and where it occurs.

    Attributes
    ----------
    error : float
        Assumed over true density, less 1: positive where the indicated mass is too high.
    at_c : float
        Temperature, °C.
    true_kg_m3 : float
        The true density there.
    batch : str
        Which fuel: ``"typical"``, or the ``"lightest"`` or ``"densest"`` that the specification allows.
    """

    error: float
    at_c: float
    true_kg_m3: float
    batch: str

    def __str__(self) -> str:
        return f"{self.error * 100:+.2f} % at {self.at_c:.4g} °C ({self.batch})"


@dataclass(frozen=True)
class AmountError:
    """What an assumed density makes of an amount: displayed less true, lowest and highest.

    Attributes
    ----------
    mass, volume : tuple of float
        Lowest and highest error of the mass displayed, and the volume of fuel that this error stands for.
    mass_unit, volume_unit : str
        Their units.
    batch : str
        For which fuel.
    """

    mass: tuple[float, float]
    mass_unit: str
    volume: tuple[float, float]
    volume_unit: str
    batch: str

    def __str__(self) -> str:
        mass, volume = "{:+.1f} to {:+.1f}".format(*self.mass), "{:+.2f} to {:+.2f}".format(*self.volume)
        return f"{mass} {self.mass_unit}, or {volume} {self.volume_unit} ({self.batch})"


@dataclass(frozen=True)
class CheckRow:
    """One temperature of the table: density of the typical fuel, and errors of the assumption.

    Errors of the lightest and densest batch are None where the specification sets no limit.
    """

    temperature_c: float
    typical_kg_m3: float
    error: float
    error_lightest: float | None
    error_densest: float | None


@dataclass(frozen=True, repr=False)
class DensityCheck(Reporting):
    """Whether a fixed density holds for a fuel over a temperature range.

    Attributes
    ----------
    written : str
        The assumed density as it was given.
    assumed_kg_m3 : float
        The same in kg/m³.
    unit : str
        The unit of density in which it was given, and in which tables answer.
    fuel : Fuel
        A grade, a measured batch or a blend.
    between_c : tuple of float
        The temperature range, °C.
    tolerance : float
        The tolerance, a fraction.

    Examples
    --------
    >>> check = check_density("6.0 lb/gal", "100LL", between=("0 degC", "30 degC"), tolerance="3 %")
    >>> check.verdict.value, check.reason.partition(";")[0]
    ('undecided', 'the typical fuel is within 3 %')
    """

    _plain: ClassVar[tuple[str, ...]] = (
        "fuel_name",
        "verdict",
        "reason",
        "passed",
        "passed_for_all",
        "equals_typical_at_c",
        "worst",
        "worst_allowed",
        "remarks",
    )

    written: str
    assumed_kg_m3: float
    unit: str
    fuel: Fuel = field(repr=False)
    between_c: tuple[float, float]
    tolerance: float

    def error_at(self, temperature_c: float, batch: str = "typical") -> float:
        """Return the relative error at a temperature in °C: assumed over true density, less 1."""
        liquids = self._liquids
        if not isinstance(batch, str) or batch not in liquids:
            raise QuantityError(f"batch is {format_value(batch)}; write {' or '.join(map(repr, liquids))}")
        density = liquids[batch].density_kg_m3(plain_number(temperature_c, "temperature_c"))
        return self.assumed_kg_m3 / float(density) - 1.0

    @property
    def _liquids(self) -> dict[str, Liquid]:
        limits = getattr(self.fuel, "limit_liquids", lambda: (None, None))()
        named = zip(("typical", "lightest", "densest"), (self.fuel, *limits), strict=True)
        return {name: liquid for name, liquid in named if liquid is not None}

    def _worst(self, batches: list[str]) -> WorstCase | None:
        liquids = self._liquids
        cases = [
            WorstCase(self.error_at(t, batch), t, float(liquids[batch].density_kg_m3(t)), batch)
            for batch in batches
            if batch in liquids
            for t in self.between_c
        ]
        return max(cases, key=lambda case: abs(case.error), default=None)

    @property
    def worst(self) -> WorstCase:
        """The largest error for the typical fuel."""
        case = self._worst(["typical"])
        assert case is not None
        return case

    @property
    def worst_allowed(self) -> WorstCase | None:
        """The largest error for a batch at the edge of the specification; None if it sets no limits."""
        return self._worst(["lightest", "densest"])

    @property
    def passed(self) -> bool:
        """Whether the typical fuel stays within the tolerance over the whole range."""
        return abs(self.worst.error) <= self.tolerance

    @property
    def passed_for_all(self) -> bool | None:
        """Whether every batch that the specification allows stays within it.

        None where it does so as far as is known and a limit is not carried; for a measured batch and a blend, too.
        """
        worst = self.worst_allowed
        if worst is not None and abs(worst.error) > self.tolerance:
            return False
        return None if worst is None or missing_limits(self.fuel) else True

    @property
    def fuel_name(self) -> str:
        """The name of the fuel."""
        return self.fuel.name

    @property
    def equals_typical_at_c(self) -> float | None:
        """The temperature, °C, at which the typical fuel has the assumed density, even outside the range.

        None if it does not have it anywhere at its temperatures.
        """
        return temperature_c_at(self.fuel, self.assumed_kg_m3)

    @property
    def equals_typical_at(self) -> str | None:
        """The same as text."""
        found = self.equals_typical_at_c
        return None if found is None else f"{found:.1f} °C"

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a careful reader must know: limits that are not carried, and figures that are no measured ones."""
        return remarks_on(self.fuel)

    @property
    def verdict(self) -> Verdict:
        """Accept, reject, or undecided where a batch may be off by more, is doubtful, or a limit is not carried."""
        if not self.passed:
            return Verdict.REJECT
        is_accepted = self.passed_for_all if self._is_grade else not doubtful_batch(self.fuel)
        return Verdict.ACCEPT if is_accepted else Verdict.UNDECIDED

    @property
    def reason(self) -> str:
        """The figure that decides, or what is missing."""
        limit = format_percent(self.tolerance)
        if self.verdict is Verdict.REJECT:
            return f"{self.worst}, limit {limit}"
        if self.verdict is Verdict.ACCEPT:
            return f"within {limit}" + " for every batch that the specification allows" * self._is_grade
        if not self._is_grade:
            return f"within {limit}, but {doubtful_batch(self.fuel)}"
        why = (
            missing_limits(self.fuel) if self.passed_for_all is None else f"a batch may be off by {self.worst_allowed}"
        )
        return f"the typical fuel is within {limit}; {why}, so measure the batch"

    @property
    def _is_grade(self) -> bool:
        return hasattr(self.fuel, "limit_liquids")

    def error_of(self, amount: Any, *, any_batch: bool = False) -> AmountError:
        """Return what the assumption makes of an amount, over the temperature range.

        Parameters
        ----------
        amount : str or pint.Quantity
            A volume in the tank, or a mass as the indicator shows it.
        any_batch : bool
            Whether to allow every batch within the specification, instead of the typical fuel.

        Returns
        -------
        AmountError
            Shown less true: positive where there is less fuel than displayed.

        Examples
        --------
        >>> check = check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")
        >>> print(check.error_of("200 gal"))
        -51.2 to +22.3 lb, or -7.36 to +3.38 gal (typical)
        """
        volume_m3, volume_unit = self._volume_of(amount)
        wanted = ("lightest", "densest") if boolean(any_batch, "any_batch") else ()
        batches = [name for name in wanted if name in self._liquids] or ["typical"]
        densities = [float(self._liquids[batch].density_kg_m3(t)) for batch in batches for t in self.between_c]
        mass_unit = self.unit.partition("/")[0]
        masses = sorted(volume_m3 * (self.assumed_kg_m3 - rho) * factor("kg", mass_unit) for rho in densities)
        volumes = sorted(volume_m3 * (self.assumed_kg_m3 / rho - 1.0) * factor("m3", volume_unit) for rho in densities)
        return AmountError(
            (masses[0], masses[-1]), mass_unit, (volumes[0], volumes[-1]), volume_unit, " or ".join(batches)
        )

    def _volume_of(self, amount: Any) -> tuple[float, str]:
        """Return the volume in m³ that is meant by an amount, and the unit in which to answer."""
        unit = _unit_of(amount)
        dimension = read_unit(unit).dimension
        if dimension == (("m", 3),):
            return float(positive(amount, "m3", name="amount", zero=True)), read_unit(unit).name
        kg = positive(amount, "kg", name="amount", zero=True)
        return float(kg) / self.assumed_kg_m3, self.unit.partition("/")[2]

    def rows(self) -> tuple[CheckRow, ...]:
        """Return the table's rows: both ends and round temperatures between them."""
        low, high = self.between_c
        step = next((step for step in (1, 2, 5, 10, 20, 50) if (high - low) / step <= 8), 50)
        inner = [float(step * n) for n in range(ceil(low / step), floor(high / step) + 1)]
        return tuple(self._row(t) for t in dict.fromkeys([low, *inner, high]))

    def _row(self, temperature_c: float) -> CheckRow:
        errors = {batch: self.error_at(temperature_c, batch) for batch in self._liquids}
        return CheckRow(
            temperature_c,
            float(self.fuel.density_kg_m3(temperature_c)),
            errors["typical"],
            errors.get("lightest"),
            errors.get("densest"),
        )

    def report(self) -> Report:
        """Return the verdict, the worst cases and the errors over temperature."""
        low, high = self.between_c
        whose = "the typical fuel" if self._is_grade else "this fuel"
        facts = {
            f"equals the {'typical density' if self._is_grade else 'density of this fuel'} at": self.equals_typical_at
            or "no temperature of its range",
            f"worst for {whose}": self.worst if self._is_grade else str(self.worst).removesuffix(" (typical)"),
        }
        if self._is_grade:
            facts["worst within the specification"] = self._worst_allowed_words
            state = self.fuel, self.assumed_kg_m3, self.between_c, self.tolerance
            facts["batches for which it holds (estimate)"] = share_in_words(*state)
        return Report(
            f"{self.written} for {self.fuel.name} between {low:g} and {high:g} °C, "
            f"tolerance {format_percent(self.tolerance)}",
            f"{self.verdict.value}: {self.reason}",
            facts,
            [Table.of([self._cells(row) for row in self.rows()])],
            self.remarks,
            (self.fuel.source,),
        )

    @property
    def _worst_allowed_words(self) -> str:
        if self.worst_allowed is None:
            return "unknown, it sets no limits of density"
        side = " as far as limits are carried" if missing_limits(self.fuel) else ""
        return f"{self.worst_allowed}{side}"

    def _cells(self, row: CheckRow) -> dict[str, str | None]:
        """Return a row as text: its density in the unit of the assumption, its errors in percent."""
        errors = {"typical": row.error, "lightest": row.error_lightest, "densest": row.error_densest}
        return {
            "°C": f"{row.temperature_c:.4g}",
            self.unit: f"{row.typical_kg_m3 * factor('kg/m^3', self.unit):.4g}",
            **{f"{name}, %": f"{error * 100:+.2f}" for name, error in errors.items() if error is not None},
        }


def check_density(value: Any, fuel: Any, *, between: Any, tolerance: Any) -> DensityCheck:
    """Check whether one fixed density holds for a fuel over a temperature range.

    Parameters
    ----------
    value : str or pint.Quantity
        The assumed density, such as ``"6.7 lb/gal"``.
    fuel : str, Fuel, Batch or Blend
        A grade by name, a measured batch or a blend.
    between : pair of str or pint.Quantity
        Lowest and highest temperature of the fuel.
    tolerance : str
        The tolerance of the mass, such as ``"3 %"``.

    Returns
    -------
    DensityCheck

    Raises
    ------
    OutOfRange
        If the temperatures are not all those of the fuel.
    FuelUnitsError
        If an argument cannot be read, naming it.

    Examples
    --------
    >>> check = check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")
    >>> check.passed, check.equals_typical_at
    (False, '22.0 °C')
    >>> check.verdict.value, check.reason
    ('reject', '-3.68 % at -20 °C (typical), limit 3 %')
    """
    density = positive(value, "kg/m^3", name="value")
    if not is_scalar(density) or isnan(density):
        raise QuantityError(f"value: one density is needed, such as '6.7 lb/gal'; got {format_value(value)}")
    found = find_fuel(fuel)
    low, high = pair(between, "degC", name="between")
    first_quantity(value, *between, tolerance)
    found.density_kg_m3(low), found.density_kg_m3(high)
    unit = _unit_of(value)
    return DensityCheck(
        written=str(value),
        assumed_kg_m3=float(density),
        unit=read_unit(unit).name if "/" in unit else "kg/L",
        fuel=found,
        between_c=(low, high),
        tolerance=fraction(tolerance, name="tolerance"),
    )


def _unit_of(value: Any) -> str:
    """Return the unit of a text or pint quantity as fuelunits writes it, or a base unit of its kind."""
    if not is_quantity(value):
        return read_text(check_type(value, str, "amount", "'200 gal', say"))[1]
    try:
        return read_unit(format(value.units, "~C").replace("**", "^")).name
    except FuelUnitsError:
        return "kg/L" if value.check("[mass]/[volume]") else "m3" if value.check("[volume]") else "kg"
