"""What a wrong density may be: judged as a density first, as a mistake of units after that."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from fuelunits.confusions import diagnose_ratio, may_be
from fuelunits.fuels.density_scales import api_gravity_from_density
from fuelunits.fuels.grades import all_fuels
from fuelunits.fuels.liquid import temperature_c_at
from fuelunits.fuels.water_and_air import water_density_kg_m3
from fuelunits.units import factor

__all__ = ["density_looks_like"]

_SPREAD = "4 %"
"""How far a batch may lie from the typical fuel: a mistake of units is recognised only so closely."""

_SAME = 0.005
"""How near the density of another liquid must be for a number to be taken for it."""


def density_looks_like(given_kg_m3: float, found: Any, celsius: float, unit: str) -> str:
    """Return what a wrong density for a fuel at a temperature may be, as the end of a message."""
    right = float(found.density_kg_m3(celsius))
    at = temperature_c_at(found, given_kg_m3)
    as_density = list(_densities(given_kg_m3, found, celsius, right, unit))
    if at is not None:
        return may_be([f"the density of {found.name} at {at:.0f} °C", *as_density])
    return may_be([*as_density, *diagnose_ratio(given_kg_m3 / right, unit, tolerance=_SPREAD)])


def _densities(given: float, found: Any, celsius: float, right: float, unit: str) -> Iterator[str]:
    if any(abs(given / float(water_density_kg_m3(t)) - 1.0) < _SAME for t in (4.0, 20.0)):
        yield "the density of water"
    api = float(api_gravity_from_density(right))
    if abs(given * factor("kg/m^3", unit) / api - 1.0) < 0.1:
        yield f"an API gravity in place of a density in {unit}"
    kind = getattr(getattr(found, "fuel", found), "kind", "")
    fitting = [
        each.name
        for each in all_fuels()
        if each.for_aircraft
        and each.kind != kind
        and each.temperatures.contains(celsius)
        and abs(given / float(each.density_kg_m3(celsius)) - 1.0) < _SAME
    ]
    if fitting:
        yield f"the density of {' or '.join(fitting[:2])} for that of {found.name}"
