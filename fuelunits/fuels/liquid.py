"""What a model of a liquid's density provides, and what follows from that alone.

Each model has ``density_kg_m3(temperature_c, gauge_pressure_kpa)``, the temperatures for which it
holds, and the key of its source. A new model is one more class of this shape.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

from fuelunits.errors import NotConverged
from fuelunits.ranges import OnOutOfRange, Range

__all__ = ["Liquid", "Scaled", "temperature_c_at"]


class Liquid(Protocol):
    """What every model of a liquid's density provides; frozen, so that results can be kept for it."""

    def __hash__(self) -> int: ...

    @property
    def source(self) -> str:
        """Key of the source of the model."""

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures for which the model holds, °C."""

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density in kg/m³ at a temperature in °C and a pressure above atmospheric in kPa."""


@dataclass(frozen=True)
class Scaled:
    """A liquid that expands like another, and whose density is a constant multiple of the other's."""

    like: Liquid
    ratio: float

    @property
    def source(self) -> str:
        """Key of the source of the expansion."""
        return self.like.source

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures of the liquid that it expands like, °C."""
        return self.like.valid_temperatures_c

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density in kg/m³."""
        return self.ratio * self.like.density_kg_m3(temperature_c, gauge_pressure_kpa, out_of_range=out_of_range)


def temperature_c_at(liquid: Liquid, density_kg_m3: float) -> float | None:
    """Return the temperature, °C to 1e-9, at which a liquid has a density at atmospheric pressure; None if at none."""
    cold, hot = float(liquid.valid_temperatures_c.low), float(liquid.valid_temperatures_c.high)
    if not float(liquid.density_kg_m3(hot)) <= density_kg_m3 <= float(liquid.density_kg_m3(cold)):
        return None
    while hot - cold > 1e-10:
        middle = (cold + hot) / 2.0
        found = float(liquid.density_kg_m3(middle))
        cold, hot = (middle, hot) if found > density_kg_m3 else (cold, middle)
    if abs(found - density_kg_m3) <= 1e-9 * density_kg_m3:
        return middle
    raise NotConverged(f"no temperature found for {density_kg_m3} kg/m^3")
