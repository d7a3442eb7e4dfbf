"""What a model of a liquid's density provides, and what follows from that alone.

Each model has ``density_kg_m3(temperature_c, gauge_pressure_kpa)``, the temperatures for which it
holds, and the key of its source. A new model is one more class of this shape.
"""

from __future__ import annotations

import math
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
    valid = liquid.valid_temperatures_c
    cold, hot = float(valid.low), float(valid.high)
    if math.isnan(density_kg_m3):
        return None
    over_cold = float(liquid.density_kg_m3(cold)) - density_kg_m3
    over_hot = float(liquid.density_kg_m3(hot)) - density_kg_m3
    if over_cold < 0.0 or over_hot > 0.0:
        return None
    for _ in range(100):
        # where the chord crosses zero; of an end that stays the excess is halved, lest it stay for good
        middle = (cold * over_hot - hot * over_cold) / (over_hot - over_cold) if over_hot != over_cold else cold
        over = float(liquid.density_kg_m3(middle)) - density_kg_m3
        if abs(over) <= 1e-12 * density_kg_m3 or hot - cold < 1e-10:
            return middle
        if over > 0.0:
            cold, over_cold, over_hot = middle, over, over_hot / 2.0
        else:
            hot, over_hot, over_cold = middle, over, over_cold / 2.0
    raise NotConverged(f"no temperature found for {density_kg_m3} kg/m^3")
