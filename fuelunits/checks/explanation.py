"""Explain a density, the `value`: which grades have it at which temperature, and what a wrong density may be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf
from typing import Any

from fuelunits.checks.density_check import DensityCheck, missing_limits, read_density
from fuelunits.confusions import known_confusions, may_be, volume_correction_mistakes
from fuelunits.fuels.grades import Fuel, all_fuels, fuel
from fuelunits.fuels.liquids import Liquid, temperature_c_at
from fuelunits.fuels.water_and_air import api_gravity_from_density, relative_density_from_density, water_density_kg_m3
from fuelunits.reports import Report, Reporting, Table
from fuelunits.units import factor

_SAME = 0.005  # how near the density of another liquid must be for a number to be taken for it
_FIGURES = {"typical": "typical density", "at least": "lower limit", "at most": "upper limit", "expansion": "expansion"}


@dataclass(frozen=True)
class DensityMatch:
    """A grade that a density could belong to: at which °C its typical fuel has it, and between which a batch."""

    fuel: Fuel = field(repr=False)
    fuel_name: str
    equals_typical_at_c: float | None
    allowed_between_c: tuple[float, float] | None

    def cells(self) -> dict[str, str]:
        """Return the match as text: the grade, where its typical fuel has the density, and the specification."""
        none, between = "limit not known" if missing_limits(self.fuel) else "not allowed", self.allowed_between_c
        allowed = none if between is None else "{:.0f} to {:.0f}".format(*between)
        return {
            "grade": self.fuel_name + " *" * bool(self.fuel.doubts),
            "typical at, °C": "" if self.equals_typical_at_c is None else f"{self.equals_typical_at_c:.1f}",
            "within its specification, °C": allowed,
        }


@dataclass(frozen=True, repr=False)
class DensityExplanation(Reporting):
    """The grades that have a density, aircraft fuels and those that have it nearest to 15 °C first, or one by name."""

    written: str
    density_kg_m3: float
    matches: tuple[DensityMatch, ...]

    def __getitem__(self, name: str) -> DensityMatch:
        grade = fuel(name)
        found = next((match for match in self.matches if match.fuel == grade), None)
        if found is None:
            raise KeyError(f"{grade.name} does not have {self.written} at any of its temperatures")
        return found

    def rows(self) -> tuple[dict[str, Any], ...]:
        """Return a row for each grade: its name, temperatures in °C, and the remarks on its figures."""
        return tuple(
            {"fuel": each.fuel_name, "equals_typical_at_c": each.equals_typical_at_c}
            | {"allowed_between_c": each.allowed_between_c, "remarks": "; ".join(each.fuel.remarks())}
            for each in self.matches
        )

    def report(self) -> Report:
        title = f"{self.written} = {self.density_kg_m3:.1f} kg/m³"
        title += f" = {self.density_kg_m3 * factor('kg/m^3', 'lb/gal'):.3f} lb/gal" * ("lb/gal" not in self.written)
        if not self.matches:
            return Report(title, "no grade has this density")
        remarks = ["A possible origin, not a proof: a setting may be rounded, copied, or meant for another gallon."]
        for figure, words in _FIGURES.items():
            names = ", ".join(match.fuel_name for match in self.matches if figure in match.fuel.doubts)
            remarks += [f"* {words} recalled, derived or of another fuel: {names}"] * bool(names)
        remarks.append("fuel(NAME).remarks() states how each figure was obtained.")
        remarks += self.matches[0].fuel.remarks()  # the verdict names this grade
        verdict = f"{len(self.matches)} grades could have it, first {self.matches[0].fuel_name}"
        return Report(title, verdict, tables=[Table.of([match.cells() for match in self.matches])], remarks=remarks)


def explain_density(value: Any) -> DensityExplanation:
    """Return the grades that could have a density, such as ``"6.35 lb/gal"``, and at which temperature.

    Examples
    --------
    >>> explanation = explain_density("6.7 lb/gal")
    >>> round(explanation["Jet A-1"].equals_typical_at_c, 1)
    13.7
    """
    written, density, _ = read_density(value)
    found = [_match(grade, density) for grade in all_fuels() if not grade.refused]
    matches = [match for match in found if match.equals_typical_at_c is not None or match.allowed_between_c is not None]
    aside = {it.fuel_name: abs(inf if (at := it.equals_typical_at_c) is None else at - 15.0) for it in matches}
    matches.sort(key=lambda match: (not match.fuel.for_aircraft, aside[match.fuel_name]))
    return DensityExplanation(written, density, tuple(matches))


def _match(grade: Fuel, density: float) -> DensityMatch:
    (lightest, densest), allowed = grade.limit_liquids, None
    if lightest is not None and densest is not None:
        cold, hot = grade.valid_temperatures_c.low, grade.valid_temperatures_c.high
        low, high = max(cold, _falls_to(lightest, density, hot)), min(hot, _falls_to(densest, density, hot))
        allowed = (low, high) if low <= high else None
    return DensityMatch(grade, grade.name, temperature_c_at(grade, density), allowed)


def _falls_to(liquid: Liquid, density: float, hot: float) -> float:
    """Return the temperature at which a liquid falls to a density: infinite where it is above or below throughout."""
    found = temperature_c_at(liquid, density)
    return found if found is not None else inf if float(liquid.density_kg_m3(hot)) > density else -inf


def density_remark(check: DensityCheck) -> str:
    """Return where a density is worst, and where the fuel has it; if nowhere, what a wrong one may be."""
    at = check.equals_typical_at
    density = "typical density" if hasattr(check.fuel, "limit_liquids") else "density"
    words = f"worst {check.worst}; equals the {density} at {at or 'no temperature of this fuel'}"
    if not check.passed and not at:
        words += density_looks_like(check.assumed_kg_m3, check.fuel, sum(check.between_c) / 2.0, check.unit)
    return words


def density_looks_like(given_kg_m3: float, found: Any, celsius: float, unit: str) -> str:
    """Return the likely origin of a wrong density for a fuel at a temperature, as the end of a message."""
    right, at = float(found.density_kg_m3(celsius)), temperature_c_at(found, given_kg_m3)
    as_density = list(_densities(given_kg_m3, found, celsius, right, unit))
    if at is not None:
        return may_be([f"the density of {found.name} at {at:.0f} °C", *as_density])
    mistakes = known_confusions(given_kg_m3 / right, unit, tolerance="4 %")  # as far as a batch may be from typical
    return may_be([*as_density, *(each for each in mistakes if each.kind != "density_setting")])  # judged above


def _densities(given: float, found: Any, celsius: float, right: float, unit: str) -> Iterator[str]:
    """Yield what else has a density near the given one: water, another figure or another correction, another fuel."""
    number, relative_density = given * factor("kg/m^3", unit), float(relative_density_from_density(right))
    vcf = right / float(found.density_kg_m3(15.0))
    mistakes = volume_correction_mistakes(vcf) if abs(vcf - 1.0) > _SAME else ()
    figures = [
        ("the density of water", given / float(water_density_kg_m3(4.0)), _SAME),
        (f"an API gravity in place of a density in {unit}", number / float(api_gravity_from_density(right)), 0.1),
        (f"a specific gravity in place of a density in {unit}", number / relative_density, 0.04),
        *((f"a density with {words} from 15 °C", given / right / ratio, 0.1 * _SAME) for words, ratio in mistakes),
    ]
    yield from (words for words, ratio, near in figures if abs(ratio - 1.0) < near)
    kind = getattr(getattr(found, "fuel", found), "kind", "")
    others = [grade for grade in all_fuels() if grade.for_aircraft and grade.kind != kind]
    there = [grade for grade in others if grade.valid_temperatures_c.contains(celsius)]
    if fitting := [grade.name for grade in there if abs(given / float(grade.density_kg_m3(celsius)) - 1.0) < _SAME]:
        yield f"the density of {' or '.join(fitting[:2])} for that of {found.name}"
