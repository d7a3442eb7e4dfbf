"""What a fixed density could be: which grades have it, and at which temperature."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from fuelunits.arrays import is_scalar
from fuelunits.errors import QuantityError
from fuelunits.fuels.grades import Fuel, all_fuels, fuel
from fuelunits.fuels.liquid import Liquid, temperature_c_at
from fuelunits.html import report
from fuelunits.quantities import positive
from fuelunits.reports import CAUTION
from fuelunits.units import factor

__all__ = ["DensityExplanation", "DensityMatch", "explain_density"]


@dataclass(frozen=True)
class DensityMatch:
    """A grade that a density could belong to.

    Attributes
    ----------
    fuel : Fuel
        The grade.
    exact_at_c : float or None
        Temperature, °C, at which the typical fuel has the density.
    allowed_between_c : tuple of float or None
        Temperatures, °C, between which some batch within the specification has it. None if the
        specification sets no limits, or allows it at none of the grade's temperatures.
    """

    fuel: Fuel
    exact_at_c: float | None
    allowed_between_c: tuple[float, float] | None

    def cells(self) -> dict[str, str]:
        """Give it as text: the grade, where its typical fuel has the density, and what its specification says."""
        allowed = "no limits" if self.fuel.limit_liquids() == (None, None) else "not allowed"
        if self.allowed_between_c is not None:
            allowed = "{:.0f} to {:.0f} °C".format(*self.allowed_between_c)
        exact = "-" if self.exact_at_c is None else f"{self.exact_at_c:.1f} °C"
        return {"grade": self.fuel.name, "typical at": exact, "within its specification": allowed}

    def __str__(self) -> str:
        name, exact, allowed = self.cells().values()
        return f"{name:<22}{exact:>10}   {allowed}"


@dataclass(frozen=True, repr=False)
class DensityExplanation:
    """The grades that have a density: aircraft fuels first, and those that have it nearest to 15 °C.

    It is a sequence of :class:`DensityMatch`, and gives one by the grade's name.
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

    def as_dict(self) -> dict[str, Any]:
        """Give everything as plain JSON types."""
        return {
            "density": self.written,
            "density_kg_m3": self.density_kg_m3,
            "matches": [
                {
                    "fuel": match.fuel.name,
                    "exact_at_c": match.exact_at_c,
                    "allowed_between_c": match.allowed_between_c and list(match.allowed_between_c),
                }
                for match in self.matches
            ],
            "caution": CAUTION,
        }

    @property
    def _head(self) -> str:
        pounds = self.density_kg_m3 * factor("kg/m^3", "lb/gal")
        return f"{self.written} = {self.density_kg_m3:.1f} kg/m³ = {pounds:.3f} lb/gal"

    def _repr_html_(self) -> str:
        return report(self._head, rows=[match.cells() for match in self.matches])

    def __repr__(self) -> str:
        return f"<{len(self)} grades that could have {self.written}>"

    def __str__(self) -> str:
        columns = f"{'grade':<22}{'typical at':>10}   within its specification"
        return "\n".join([self._head, columns, *map(str, self.matches), CAUTION])


def explain_density(value: Any) -> DensityExplanation:
    """List the grades that could have a density, and at which temperature.

    Parameters
    ----------
    value : str or pint.Quantity
        A density, such as ``"6.35 lb/gal"``.

    Returns
    -------
    DensityExplanation

    Raises
    ------
    QuantityError
        If it is not one positive density.

    Examples
    --------
    >>> explanation = explain_density("6.7 lb/gal")
    >>> round(explanation["Jet A-1"].exact_at_c, 1)
    16.6
    """
    density = positive(value, "kg/m^3", name="value")
    if not is_scalar(density):
        raise QuantityError("value: one density is needed, not an array")
    found = [_match(grade, density) for grade in all_fuels() if not grade.refused]
    matches = [match for match in found if match.exact_at_c is not None or match.allowed_between_c is not None]
    return DensityExplanation(str(value), density, tuple(sorted(matches, key=_order)))


def _order(match: DensityMatch) -> tuple[bool, float]:
    distance = 1000.0 if match.exact_at_c is None else abs(match.exact_at_c - 15.0)
    return not match.fuel.for_aircraft, distance


def _match(grade: Fuel, density: float) -> DensityMatch:
    lightest, densest = grade.limit_liquids()
    cold, hot = grade.temperatures.low, grade.temperatures.high
    low = cold if lightest is None else max(cold, _thins_to(lightest, density, cold, hot))
    high = hot if densest is None else min(hot, _thins_to(densest, density, cold, hot))
    exact = temperature_c_at(grade, density)
    limited = lightest is not None and densest is not None
    one_sided = exact is not None and (lightest is not None or densest is not None)
    allowed = (low, high) if low <= high and (limited or one_sided) else None
    return DensityMatch(grade, exact, allowed)


def _thins_to(liquid: Liquid, density: float, cold: float, hot: float) -> float:
    """Give the temperature at which a liquid has thinned to a density: just outside where it never does within."""
    if float(liquid.density_kg_m3(cold)) < density:
        return cold - 1.0
    if float(liquid.density_kg_m3(hot)) > density:
        return hot + 1.0
    found = temperature_c_at(liquid, density)
    return hot if found is None else found
