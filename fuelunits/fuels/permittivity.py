"""Relative permittivity of fuels: what a capacitance gauge measures in place of a volume.

Hydrocarbons hardly attract the field of a gauge by anything but their electrons, so the relation of Clausius and
Mossotti holds well: (ε - 1)/(ε + 2) = A ρ, where the specific polarization A is nearly a constant of the molecule.
Volumes that mix without shrinking add their A ρ. A mixture of fuels is then known from its density and its
composition; where the composition is not known, the families of hydrocarbons set an envelope, and no more.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from statistics import fmean
from typing import Any

from fuelunits.arrays import as_float
from fuelunits.data_files import data_table
from fuelunits.errors import UnknownFuel
from fuelunits.fuels.acceptance import remarks_of
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.quantities import temperature_c
from fuelunits.reports import Report, Reporting
from fuelunits.sources import Sourced

__all__ = [
    "Hydrocarbon",
    "Permittivity",
    "hydrocarbons",
    "permittivity",
    "permittivity_from_density",
    "polarization_envelope",
    "specific_polarization",
]


def specific_polarization(relative_permittivity: Any, density_kg_m3: Any) -> Any:
    """Return A = (ε - 1)/(ε + 2)/ρ, m³/kg, of a liquid without a dipole moment of any size; 3.4e-4 is 0.34 mL/g."""
    eps, rho = as_float(relative_permittivity), as_float(density_kg_m3)
    return (eps - 1.0) / (eps + 2.0) / rho


def permittivity_from_density(density_kg_m3: Any, specific_polarization_m3_kg: Any) -> Any:
    """Return the relative permittivity at a density: ε = (1 + 2 A ρ)/(1 - A ρ)."""
    share = as_float(density_kg_m3) * as_float(specific_polarization_m3_kg)
    return (1.0 + 2.0 * share) / (1.0 - share)


@dataclass(frozen=True)
class Hydrocarbon(Sourced):
    """A pure hydrocarbon (alkane, cycloalkane or aromatic), its permittivity and density at one temperature."""

    name: str
    family: str
    at_c: float
    relative_permittivity: float
    density_kg_m3: float

    @property
    def specific_polarization_m3_kg(self) -> float:
        """A, m³/kg."""
        return float(specific_polarization(self.relative_permittivity, self.density_kg_m3))


@cache
def _tables() -> dict[str, Any]:
    return data_table("fuels/permittivities.toml")


@cache
def hydrocarbons() -> dict[str, Hydrocarbon]:
    """Return the pure hydrocarbons by name."""
    return {
        name: Hydrocarbon(name, family, *map(float, row), source="crc_permittivity")
        for family, members in _tables()["hydrocarbons"].items()
        for name, row in members.items()
    }


def polarization_envelope(kind: str) -> tuple[float, float, float]:
    """Return the lowest, middle and highest specific polarization, m³/kg, that the composition of a kind allows.

    The lowest has the least of what polarizes most, each family at its lowest member; the highest the other way round.
    """
    composition: dict[str, dict[str, Any]] = _tables()["composition"][kind]

    def mixed(aromatic: float, cycloalkane: float, pick: Callable[[list[float]], float]) -> float:
        shares = {"aromatic": aromatic, "cycloalkane": cycloalkane, "alkane": 1.0 - aromatic - cycloalkane}
        found = {
            family: [hydrocarbons()[name].specific_polarization_m3_kg for name in each["members"]]
            for family, each in composition.items()
        }
        return sum(share * pick(found[family]) for family, share in shares.items())

    (least, most), (least_cyclo, most_cyclo) = (composition[each]["share"] for each in ("aromatic", "cycloalkane"))
    middle = mixed((least + most) / 2.0, (least_cyclo + most_cyclo) / 2.0, fmean)
    return mixed(least, most_cyclo, min), middle, mixed(most, least_cyclo, max)


@dataclass(frozen=True, repr=False)
class Permittivity(Reporting):
    """Relative permittivity of a fuel at °C and its density there, kg/m³: typical, and what composition allows."""

    fuel: str
    at_c: float
    density_kg_m3: float
    typical: float
    low: float
    high: float
    remarks: tuple[str, ...] = ()

    def report(self) -> Report:
        """Return what a person reads of it."""
        return Report(
            f"Relative permittivity of {self.fuel} at {self.at_c:g} °C: "
            f"{self.typical:.3f}, from {self.low:.3f} to {self.high:.3f} by composition",
            facts={"density": f"{self.density_kg_m3:.1f} kg/m³"},
            remarks=(
                "The range is what the composition allows at this density; the shares of the families of "
                "hydrocarbons are from memory. The typical value is the middle of that composition, not a measurement.",
                *self.remarks,
            ),
            sources=("crc_permittivity", "crc_organic", "fuel_composition_recalled"),
        )


def permittivity(fuel: Any, *, at: Any) -> Permittivity:
    """Return the relative permittivity of a fuel at a temperature: typical, and what composition allows.

    Parameters
    ----------
    fuel : str, Fuel or Batch
        A jet fuel or an aviation gasoline.
    at : str or pint.Quantity
        Its temperature.

    Returns
    -------
    Permittivity

    Raises
    ------
    UnknownFuel
        For a fuel of another kind, whose composition is not known here.

    Examples
    --------
    >>> found = permittivity("Jet A", at="15 degC")
    >>> 2.0 < found.low < found.typical < found.high < 2.25
    True
    """
    found: Any = find_fuel(fuel)
    words = getattr(getattr(found, "fuel", found), "kind", "")
    kind = "jet" if "jet" in words else "avgas" if "gasoline" in words else ""
    if not kind:
        name = getattr(found, "name", found)
        raise UnknownFuel(f"the permittivity of {name} is not known here; jet fuels and aviation gasolines are")
    celsius = float(temperature_c(at, name="at"))
    rho = float(found.density_kg_m3(celsius))
    low, middle, high = (float(permittivity_from_density(rho, a)) for a in polarization_envelope(kind))
    return Permittivity(found.name, celsius, rho, middle, low, high, remarks_of(found, limits=False))
