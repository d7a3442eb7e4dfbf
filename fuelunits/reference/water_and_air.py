"""Recompute the published densities of water and air, and the published figures of weighing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fuelunits.fuels import water_and_air as bench

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Give our value of a published one.

    Parameters
    ----------
    what : str
        Kind of value, as in the first column of ``water_and_air.csv``.
    given : dict of str to str
        What the source states it for.

    Examples
    --------
    >>> round(recompute("water density", {"temperature_c": "20"}), 4)
    998.2067
    """
    numbers = {name: float(text) for name, text in given.items()}
    return float(_KINDS[what](**numbers))


def _conversion_factor_z(temperature_c: float, pressure_pa: float, relative_humidity: float) -> float:
    """Give Z with the water and the air at one temperature, as the table of ISO 8655-6 has it."""
    water = bench.water_density_kg_m3(temperature_c)
    air = bench.air_density_kg_m3(temperature_c, pressure_pa, relative_humidity)
    return float(bench.z_factor_l_per_kg(water, air))


def _true_mass(reading: float, **densities: float) -> float:
    return float(reading * bench.buoyancy_factor(**densities))


def _weight_in_air_per_true_mass(density_15c_kg_m3: float) -> float:
    return float(bench.apparent_density_kg_m3(density_15c_kg_m3) / density_15c_kg_m3)


_KINDS: dict[str, Callable[..., Any]] = {
    "water density": bench.water_density_kg_m3,
    "air density": bench.air_density_kg_m3,
    "conversion factor Z": _conversion_factor_z,
    "true mass": _true_mass,
    "litres per tonne in air": bench.litres_per_tonne_in_air,
    "weight in air per true mass": _weight_in_air_per_true_mass,
}
