"""Models of how a liquid's density changes with temperature and pressure.

Each model answers ``density_kg_m3(temperature_c, gauge_pressure_kpa)``, knows the temperatures for
which it holds, and names its source. A new model is one more class of this shape.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from fuelunits.arrays import as_float
from fuelunits.errors import FuelUnitsError, NotConverged, QuantityError
from fuelunits.ranges import OnOutOfRange, Range
from fuelunits.sources import Sourced

__all__ = ["Liquid", "Scaled", "StraightLine", "temperature_c_at"]


class Liquid(Protocol):
    """What every model of a liquid's density can do."""

    @property
    def source(self) -> str:
        """Key of the source of the model."""
        ...

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures for which the model holds, °C."""
        ...

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Density in kg/m³ at a temperature in °C and a pressure above atmospheric in kPa."""
        ...


@dataclass(frozen=True)
class StraightLine(Sourced):
    """A density that a source gives as a straight line over temperature.

    Parameters
    ----------
    density_kg_m3_at : float
        Density at `at_c`, kg/m³.
    slope_kg_m3_per_c : float
        Change per °C, negative.
    at_c : float
        Temperature of that density, °C.
    temperatures_c : Range
        Temperatures over which the source draws the line, °C.

    Notes
    -----
    Such a source says nothing of pressure, so a pressure other than atmospheric is refused.

    Examples
    --------
    >>> line = StraightLine(812.2, -0.723, 15.0, Range("temperature", -40, 90, "degC", "crc_530"), source="crc_530")
    >>> round(line.density_kg_m3(-40.0), 1)
    852.0
    """

    density_kg_m3_at: float
    slope_kg_m3_per_c: float
    at_c: float
    temperatures_c: Range

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.slope_kg_m3_per_c < 0.0 < self.density_kg_m3_at:
            raise QuantityError(
                f"density {self.density_kg_m3_at} kg/m^3 with {self.slope_kg_m3_per_c} per degC: "
                "a positive density that falls with temperature is needed"
            )

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures over which the source draws the line, °C."""
        return self.temperatures_c

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Density in kg/m³ at atmospheric pressure."""
        if np.any(np.not_equal(gauge_pressure_kpa, 0.0)):
            raise FuelUnitsError(
                f"{self.source} gives no compressibility; a straight line holds at atmospheric pressure"
            )
        t = self.temperatures_c.check(as_float(temperature_c), out_of_range)
        return self.density_kg_m3_at + self.slope_kg_m3_per_c * (t - self.at_c)


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
        """Density in kg/m³."""
        return self.ratio * self.like.density_kg_m3(temperature_c, gauge_pressure_kpa, out_of_range=out_of_range)


def temperature_c_at(liquid: Liquid, density_kg_m3: float) -> float | None:
    """Find the temperature at which a liquid has a density, at atmospheric pressure.

    Parameters
    ----------
    liquid : Liquid
        Its density falls with temperature.
    density_kg_m3 : float
        The density sought.

    Returns
    -------
    float or None
        °C, to 1e-9; None if it does not have that density anywhere in its valid range.

    Examples
    --------
    >>> line = StraightLine(812.2, -0.723, 15.0, Range("temperature", -40, 90, "degC", "crc_530"), source="crc_530")
    >>> round(temperature_c_at(line, 802.8), 1)
    28.0
    """
    valid = liquid.valid_temperatures_c
    cold, hot = float(valid.low), float(valid.high)
    if math.isnan(density_kg_m3):
        return None
    over_cold = float(liquid.density_kg_m3(cold)) - density_kg_m3
    over_hot = float(liquid.density_kg_m3(hot)) - density_kg_m3
    if over_cold < 0.0 or over_hot > 0.0:
        return None
    for _ in range(100):
        middle = _regula_falsi(cold, hot, over_cold, over_hot)
        over = float(liquid.density_kg_m3(middle)) - density_kg_m3
        if abs(over) <= 1e-12 * density_kg_m3 or hot - cold < 1e-10:
            return middle
        if over > 0.0:
            cold, over_cold, over_hot = middle, over, over_hot / 2.0
        else:
            hot, over_hot, over_cold = middle, over, over_cold / 2.0
    raise NotConverged(f"no temperature found for {density_kg_m3} kg/m^3")


def _regula_falsi(cold: float, hot: float, over_cold: float, over_hot: float) -> float:
    """Give where the chord crosses zero."""
    return (cold * over_hot - hot * over_cold) / (over_hot - over_cold) if over_hot != over_cold else cold
