"""What a fixed density could be: which grades have it, and at which temperature."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from fuelunits.checks.density_check import one_density
from fuelunits.checks.limits import missing_limits
from fuelunits.fuels.grades import Fuel, all_fuels, fuel
from fuelunits.fuels.liquid import Liquid, temperature_c_at
from fuelunits.reports import Report, Reporting, Table
from fuelunits.units import factor

__all__ = ["DensityExplanation", "DensityMatch", "explain_density"]


@dataclass(frozen=True)
class DensityMatch:
    """A grade that a density could belong to.

    ``equals_typical_at_c`` is the temperature, °C, at which the typical fuel has the density; ``allowed_between_c``
    are the temperatures between which some batch within the specification has it. None where there are none.
    """

    fuel: Fuel = field(repr=False)
    fuel_name: str
    equals_typical_at_c: float | None
    allowed_between_c: tuple[float, float] | None

    @property
    def marks(self) -> tuple[str, ...]:
        """Remarks on the figures of the grade: recalled, stand-in, midpoint."""
        return self.fuel.remarks()

    def cells(self) -> dict[str, str]:
        """Return it as text: the grade, where its typical fuel has the density, and what its specification says."""
        allowed = "no limits" if self.fuel.limit_liquids() == (None, None) else "not allowed"
        if self.allowed_between_c is not None:
            one_limit = " (one limit)" * bool(missing_limits(self.fuel))
            allowed = "{:.0f} to {:.0f}".format(*self.allowed_between_c) + one_limit
        return {
            "grade": self.fuel_name + " *" * bool(self.marks),
            "typical at, °C": "" if self.equals_typical_at_c is None else f"{self.equals_typical_at_c:.1f}",
            "within its specification, °C": allowed,
        }


@dataclass(frozen=True, repr=False)
class DensityExplanation(Reporting):
    """The grades that have a density: aircraft fuels first, and those that have it nearest to 15 °C.

    It is a sequence of :class:`DensityMatch`, and returns one by the grade's name.
    """

    written: str
    density_kg_m3: float
    matches: tuple[DensityMatch, ...]

    def __iter__(self) -> Iterator[DensityMatch]:
        return iter(self.matches)

    def __len__(self) -> int:
        return len(self.matches)

    def __getitem__(self, name: str) -> DensityMatch:
        grade = fuel(name)
        for match in self.matches:
            if match.fuel is grade:
                return match
        raise KeyError(f"{grade.name} does not have {self.written} at any of its temperatures")

    def rows(self) -> tuple[dict[str, Any], ...]:
        """Return a row for each grade: its name, temperatures in °C, and the remarks on its figures."""
        return tuple(
            {
                "fuel": each.fuel_name,
                "equals_typical_at_c": each.equals_typical_at_c,
                "allowed_between_c": each.allowed_between_c,
                "remarks": "; ".join(each.marks),
            }
            for each in self.matches
        )

    def report(self) -> Report:
        """Return the grades, and which of them rest on figures that were not measured on that grade."""
        pounds = self.density_kg_m3 * factor("kg/m^3", "lb/gal")
        title = f"{self.written} = {self.density_kg_m3:.1f} kg/m³ = {pounds:.3f} lb/gal"
        if not self.matches:
            return Report(title, "no grade has this density")
        remarks = ["A possible origin, not a proof: a setting may be rounded, copied, or meant for another gallon."]
        if any(match.marks for match in self.matches):
            remarks += [
                "* rests on a figure that is recalled, derived or of another fuel; fuel(NAME).remarks() names it."
            ]
        remarks += self.matches[0].marks  # the verdict names this grade
        verdict = f"{len(self)} grades could have it, first {self.matches[0].fuel_name}"
        return Report(title, verdict, tables=[Table.of([match.cells() for match in self.matches])], remarks=remarks)


def explain_density(value: Any) -> DensityExplanation:
    """List the grades that could have a density, and at which temperature.

    Parameters
    ----------
    value : str or pint.Quantity
        A density, such as ``"6.35 lb/gal"``.

    Returns
    -------
    DensityExplanation

    Examples
    --------
    >>> explanation = explain_density("6.7 lb/gal")
    >>> round(explanation["Jet A-1"].equals_typical_at_c, 1)
    13.7
    """
    density = one_density(value)
    found = [_match(grade, density) for grade in all_fuels() if not grade.refused]
    matches = [match for match in found if match.equals_typical_at_c is not None or match.allowed_between_c is not None]
    return DensityExplanation(str(value), density, tuple(sorted(matches, key=_order)))


def _order(match: DensityMatch) -> tuple[bool, float]:
    distance = 1000.0 if match.equals_typical_at_c is None else abs(match.equals_typical_at_c - 15.0)
    return not match.fuel.for_aircraft, distance


def _match(grade: Fuel, density: float) -> DensityMatch:
    lightest, densest = grade.limit_liquids()
    cold, hot = grade.temperatures.low, grade.temperatures.high
    low = cold if lightest is None else max(cold, _falls_to(lightest, density, cold, hot))
    high = hot if densest is None else min(hot, _falls_to(densest, density, cold, hot))
    typical_at_c = temperature_c_at(grade, density)
    limits = (lightest is not None) + (densest is not None)
    is_allowed = low <= high and (limits == 2 or (limits == 1 and typical_at_c is not None))
    return DensityMatch(grade, grade.name, typical_at_c, (low, high) if is_allowed else None)


def _falls_to(liquid: Liquid, density: float, cold: float, hot: float) -> float:
    """Return the temperature at which a liquid falls to a density: just outside where it never does within."""
    if float(liquid.density_kg_m3(cold)) < density:
        return cold - 1.0
    found = temperature_c_at(liquid, density) if float(liquid.density_kg_m3(hot)) <= density else hot + 1.0
    return hot if found is None else found
