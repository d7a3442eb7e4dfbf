"""The dimensionless numbers of a turbine meter, and how its body grows with temperature.

They are written with the volume flow and powers of a diameter, as NIST does [nist_turbine_meters, fluids_strouhal]:
curves of one meter in liquids of different viscosity then fall nearly on one. Any length of the body will do as
diameter.
"""

from __future__ import annotations

from math import pi
from typing import Any

from fuelunits.arrays import as_float
from fuelunits.meters.rates import positive_floats

__all__ = ["body_diameter", "reynolds", "roshko", "strouhal"]


def strouhal(frequency_hz: Any, diameter_m: Any, flow_m3_s: Any) -> Any:
    """Return the Strouhal number f D³/q, which is K D³ with K in pulses per m³."""
    return as_float(frequency_hz) * _positive(diameter_m) ** 3 / positive_floats(flow_m3_s, "flow_m3_s")


def roshko(frequency_hz: Any, diameter_m: Any, viscosity_m2_s: Any) -> Any:
    """Return the Roshko number f D²/ν."""
    return as_float(frequency_hz) * _positive(diameter_m) ** 2 / positive_floats(viscosity_m2_s, "viscosity_m2_s")


def reynolds(flow_m3_s: Any, diameter_m: Any, viscosity_m2_s: Any) -> Any:
    """Return the Reynolds number 4 q/(π D ν) of a pipe of that diameter, which is 4/π times Roshko over Strouhal."""
    viscosity = positive_floats(viscosity_m2_s, "viscosity_m2_s")
    return 4.0 * as_float(flow_m3_s) / (pi * _positive(diameter_m) * viscosity)


def body_diameter(diameter_m: Any, temperature_c: Any, *, reference_c: float, expansion_per_k: float) -> Any:
    """Return the diameter of a body at a temperature, D₀ (1 + α (T − T₀)), m."""
    return as_float(diameter_m) * (1.0 + expansion_per_k * (as_float(temperature_c) - reference_c))


def _positive(diameter_m: Any) -> Any:
    return positive_floats(diameter_m, "diameter_m")
