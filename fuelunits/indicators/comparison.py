"""Two indicators on one fuel line, perhaps in different units: what their readings say together."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fuelunits.reports import Report, Reporting, format_percent
from fuelunits.units import factor, read_unit

__all__ = ["Comparison"]


@dataclass(frozen=True, repr=False)
class Comparison(Reporting):
    """The readings of two indicators, and the density of the fuel if given; made by ``Indicator.compare``."""

    first: float
    first_unit: str
    second: float
    second_unit: str
    fuel_density_kg_m3: float | None = None
    first_step: float = 0.0
    second_step: float = 0.0

    _plain = ("ratio", "relative_difference", "implied_density_kg_m3", "implied_density_range_kg_m3")

    @property
    def ratio(self) -> float | None:
        """The second reading over the first, as displayed; None where the first is zero."""
        return self.second / self.first if self.first else None

    @property
    def _same_kind(self) -> bool:
        return read_unit(self.first_unit).dimension == read_unit(self.second_unit).dimension

    @property
    def relative_difference(self) -> float | None:
        """By how much the second exceeds the first, as a fraction, where both are of one kind; else None."""
        if self.ratio is None or not self._same_kind:
            return None
        return self.ratio * factor(self.second_unit, self.first_unit) - 1.0

    @property
    def implied_density_kg_m3(self) -> float | None:
        """The density, kg/m³, at which both agree: mass over volume; None for one kind, and where either shows zero.

        It is no measured density: it repeats the fixed density of the indicator of mass, with its rounding and any
        disagreement on K.
        """
        return None if self._same_kind or not self.first or not self.second else self._density(0.0)

    @property
    def implied_density_range_kg_m3(self) -> tuple[float, float] | None:
        """The lowest and the highest such density, kg/m³, that the rounding to both display steps leaves."""
        return None if self.implied_density_kg_m3 is None else (self._density(-0.5), self._density(0.5))

    def _density(self, steps: float) -> float:
        """Return mass over volume, the mass so many of its steps higher and the volume as many lower."""
        pair = ((self.first, self.first_unit, self.first_step), (self.second, self.second_unit, self.second_step))
        is_mass = read_unit(self.first_unit).dimension == read_unit("kg/s").dimension
        (mass, mass_unit, step), (volume, volume_unit, volume_step) = pair if is_mass else pair[::-1]
        true_volume = volume - steps * volume_step
        if true_volume <= 0.0:
            return math.inf
        return (mass + steps * step) * factor(mass_unit, "kg/s") / (true_volume * factor(volume_unit, "m^3/s"))

    def report(self) -> Report:
        """Return both readings and what they say together."""
        implied, fuel, difference = self.implied_density_range_kg_m3, self.fuel_density_kg_m3, self.relative_difference
        ends = " to ".join(dict.fromkeys(f"{each:.1f}" for each in implied or ()))
        differs = f"second differs from first by {format_percent(difference or 0.0, signed=True)}"
        facts = {
            "second over first": self.ratio and f"{self.ratio:.5g} {self.second_unit} per {self.first_unit}",
            "density at which both agree": implied and f"{ends} kg/m³",
            "density of the fuel": fuel and f"{fuel:.1f} kg/m³",
        }
        title = f"first indicator {self.first:.6g} {self.first_unit}, second {self.second:.6g} {self.second_unit}"
        return Report(title, "" if difference is None else differs, facts)
