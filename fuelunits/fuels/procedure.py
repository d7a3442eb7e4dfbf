"""What an edition of the volume correction provides; a new edition is one class of this shape.

Its module holds its coefficients, limits and equations, and a line of ``fuelunits.fuels.editions`` names it.
"""

from __future__ import annotations

from typing import Any, Protocol

from fuelunits.arrays import is_scalar
from fuelunits.fuels.commodities import Commodity, Row, Table
from fuelunits.ranges import OnOutOfRange, Range

BASE_60F_C = (60.0 - 32.0) / 1.8
"""The base temperature of 60 °F, in °C."""


def is_60f(base_c: float) -> bool:
    """Return whether a base temperature in °C is 60 °F, even if written 15.56."""
    return abs(base_c - BASE_60F_C) < 0.006


class Expansion(Protocol):
    """How one liquid, or each of an array of liquids, expands; `degrees` as :meth:`Procedure.degrees` has them."""

    def ctl(self, degrees: Any) -> Any:
        """Return the correction for temperature, to the base of the procedure."""

    def compressibility_per_kpa(self, degrees: Any) -> Any:
        """Return F of CPL = 1 / (1 - F P), per kPa."""


class Procedure(Protocol):
    """One edition, for one commodity, from the base temperature on which its table stands."""

    def __init__(self, commodity: Commodity, base_c: float) -> None: ...

    source: str
    water_60f_kg_m3: float
    """Density of water at 60 °F, for relative density and API gravity."""
    temperatures_c: Range
    pressed_temperatures_c: Range
    """Temperatures of the equation for pressure alone."""
    gauge_pressures_kpa: Range
    gap: float
    """Largest relative jump of the density between two neighbouring groups."""

    @property
    def table(self) -> Table:
        """Coefficients at the procedure's own base temperature."""

    @property
    def base_c(self) -> float:
        """The base temperature on which the table stands, which need not be the one asked for."""

    def degrees(self, temperature_c: Any) -> Any:
        """Return the degrees above the base, on the scale of the table."""

    def expansion(self, rho: Any) -> Expansion:
        """Return the expansion of a liquid of a base density, rounded if the edition rounds."""

    def smooth_ctl(self, rho: Any, row: Row, degrees: Any) -> Any:
        """Return CTL without any rounding, with the coefficients of a given row."""

    def factor_and_slope(self, rho: Any, row: Row, degrees: Any, gauge_pressure_kpa: Any) -> tuple[Any, Any]:
        """Return CTPL without rounding, and d ln(rho CTPL) / d ln(rho), the latter to about 1e-6."""


def cpl(compressibility_per_kpa: Any, gauge_pressure_kpa: Any) -> Any:
    """Return CPL, the correction for pressure, from the compressibility F (11.1.6.1, step 8)."""
    return 1.0 / (1.0 - compressibility_per_kpa * gauge_pressure_kpa)


def gauge_pressure_kpa(valid: Range, value: Any, out_of_range: OnOutOfRange) -> Any:
    """Return a checked gauge pressure; a negative one is taken as 0, as the 2004 standard and its examples do."""
    p = (0.0 if value < 0.0 else value) if is_scalar(value) else value.clip(0.0)
    return valid.check(p, out_of_range)
