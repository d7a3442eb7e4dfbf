"""Fuel on board from several readings: whether gauge, dipstick and totaliser agree, and what to plan with.

All are compared as usable fuel: an indicator reads zero where the unusable fuel begins, and a reading of a tank table
enters less its unusable part. Two readings agree where their difference is no larger than its expanded uncertainty. A
shared uncertainty (one density, one meter) does not count in it. Readings that disagree are never averaged.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

from fuelunits.errors import QuantityError
from fuelunits.indicators.tank_table import TankReading
from fuelunits.indicators.written import decimals_of, expanded_uncertainty, float_or_uncertain, is_stated, unclear_in
from fuelunits.quantities import answer, first_quantity, has_dimension
from fuelunits.reports import Report, Reporting, Table
from fuelunits.uncertainty.budget import coverage_factor, effective_degrees_of_freedom, nominal, standard_uncertainty
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.uncertainty.measured import is_uncertain, uncertain_amount
from fuelunits.units import BY_MASS
from fuelunits.validation import alike, check_types, format_value

_DISAGREE = 0.0455  # chance that readings of one quantity are said to disagree, all pairs together: k = 2 for one
_COARSE = 1.0 / 3.0  # U of a difference over the higher reading, beyond which an agreement tells nothing (chosen)


@dataclass(frozen=True, repr=False)
class FuelOnBoard(Reporting):
    """Readings by name, in one unit; `incomplete` names those whose uncertainty was not stated, or not in full.

    `differences` has, for each pair, both names, the difference, its expanded uncertainty and the coverage factor of
    that, which is Student's t where uncertainties have few degrees of freedom.
    """

    readings: Mapping[str, Any] = field(repr=False)
    unit: str
    incomplete: tuple[str, ...]
    differences: tuple[tuple[str, str, float, float, float], ...]
    verdict: Verdict
    reason: str

    _plain = ("lowest",)

    @property
    def lowest(self) -> str:
        """The name of the lowest reading, that to plan with until a disagreement is explained."""
        return min(self.readings, key=lambda name: float(nominal(self.readings[name])))

    @property
    def combined(self) -> Any:
        """The mean usable fuel of readings that agree, weighted by their uncertainties, as a quantity; else None."""
        if self.verdict is not Verdict.ACCEPT:
            return None
        # not weighted by uncertainties from a few observations: the reading that happens to scatter less would lead
        is_known = all(math.isinf(effective_degrees_of_freedom(value)) for value in self.readings.values())
        weights = {name: standard_uncertainty(each) ** -2 if is_known else 1.0 for name, each in self.readings.items()}
        total = sum(weights.values())
        return answer(sum(value * (weights[name] / total) for name, value in self.readings.items()), self.unit)

    def report(self) -> Report:
        n, unit, facts = decimals_of(self.unit), self.unit, {}

        def stated(expanded: float, k: float, *names: str) -> tuple[str, str]:
            return ("-", "-") if set(names) & set(self.incomplete) else (f"{expanded:.{n}f}", f"{k:.2f}")

        readings = tuple(
            (name, f"{float(nominal(each)):.{n}f}", *stated(expanded_uncertainty(each), coverage_factor(each), name))
            for name, each in self.readings.items()
        )
        pairs = tuple((f"{a} less {b}", f"{off:+.{n}f}", *stated(u, k, a, b)) for a, b, off, u, k in self.differences)
        verdict = f"{self.verdict.value}: {self.reason}"
        if self.verdict is Verdict.ACCEPT:
            value = self.combined.magnitude
            expanded = f"U = {expanded_uncertainty(value):.{n}f} (k = {coverage_factor(value):.2f})"
            facts["combined"] = f"{nominal(value):.{n}f} {unit}, {expanded}"
        else:
            verdict += f" plan with the lowest ({self.lowest})"
        heads = unit, f"U, {unit}", "k"
        tables = Table(("reading", *heads), readings), Table(("difference", *heads), pairs)
        approved = "Approved procedures, with their reserves, decide the fuel on board for a flight."
        return Report("Usable fuel on board", verdict, facts, tables, (approved, f"{BY_MASS.capitalize()}."))


def fuel_on_board(readings: Mapping[str, Any], unit: str, *, density: Any = None) -> FuelOnBoard:
    """Return whether several readings of the usable fuel on board agree.

    Parameters
    ----------
    readings : mapping of str to str, pint.Quantity or TankReading
        Usable fuel, two or more by name: a reading of a tank table (less its unusable part), a quantity from
        :func:`measured`, or text, which states no uncertainty. A totaliser is the fuel at the start less that used.
    unit : str, the unit of volume or of mass in which to compare
    density : str or pint.Quantity, optional
        The fuel's, where a volume meets a mass, undecided where its uncertainty, shared by all, was not stated. A mass
        displayed by an indicator with a fixed density is no mass of fuel: divide it by that fixed density first.

    Examples
    --------
    >>> from fuelunits.uncertainty.measured import measured
    >>> gauge = measured("212 L", uncertainty="4 L", name="gauge")  # invented
    >>> totaliser = measured("196 L", uncertainty="1.5 L", name="totaliser")
    >>> found = fuel_on_board({"gauge": gauge, "totaliser": totaliser}, "L")
    >>> found.verdict.value, found.lowest
    ('reject', 'totaliser')
    """
    if not isinstance(readings, Mapping) or len(readings) < 2:
        example = "{'gauge': '212 L', 'dipstick': '205 L'}"
        raise QuantityError(f"readings must be two or more by name, such as {example}; got {format_value(readings)}")
    first_quantity(*readings.values(), density)
    check_types(list(readings), str, "names of the readings", "'gauge'")
    values = {name: each.usable if isinstance(each, TankReading) else each for name, each in readings.items()}
    found = {
        name: float_or_uncertain(uncertain_amount(each, unit, name=name, density=density, zero=True))
        for name, each in values.items()
    }
    is_vague = density is not None and not is_uncertain(density)
    vague = [name for name, each in values.items() if is_vague and not has_dimension(each, unit)]
    incomplete = [name for name in found if not is_stated(found[name]) or name in vague] + ["density"] * bool(vague)
    probability, pairs = 1.0 - _DISAGREE / math.comb(len(found), 2), []
    for a, b in combinations(found, 2):
        difference = found[a] - found[b]
        k = coverage_factor(difference, probability=probability)
        pairs.append((a, b, float(nominal(difference)), k * standard_uncertainty(difference), k))
    return FuelOnBoard(found, unit, tuple(incomplete), tuple(pairs), *_decided(found, incomplete, pairs))


def _decided(found: dict[str, Any], incomplete: list[str], pairs: Any) -> tuple[Verdict, str]:
    """Accept where all agree, reject where two disagree; undecided where U is not known, is nothing, or is large."""
    unknown = [f"the uncertainty of {', '.join(incomplete)} was not stated in full"] * bool(incomplete)
    unknown += (f"it is not known {each}" for each in unclear_in(*found.values(), sum(found.values())))
    if unknown:
        return Verdict.UNDECIDED, f"{'; '.join(unknown)};"
    size = {name: float(nominal(value)) for name, value in found.items()}
    for a, b, _, expanded, _ in pairs:
        if expanded <= 1e-9 * max(size.values()) or alike(found[a], found[b]):
            return Verdict.UNDECIDED, f"{a} and {b} are one reading given twice, or equal and of one name;"
    if any(abs(difference) > expanded for _, _, difference, expanded, _ in pairs):
        return Verdict.REJECT, "the readings disagree; find the cause, and until then"
    for a, b, _, expanded, _ in pairs:
        if expanded > _COARSE * max(size[a], size[b]):
            return Verdict.UNDECIDED, f"a third of the fuel lies within the uncertainty of {a} less {b};"
    return Verdict.ACCEPT, "the readings agree"
