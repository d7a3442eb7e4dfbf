"""Relative permittivity of fuels: what a capacitance gauge measures in place of a volume.

Hydrocarbons hardly attract the field of a gauge by anything but their electrons, so the relation of Clausius and
Mossotti holds well: (ε - 1)/(ε + 2) = A ρ, where the specific polarization A is nearly a constant of the molecule.
Volumes that mix without shrinking add their A ρ. A mixture of fuels is then known from its density and its
composition; where the composition is not known, the families of hydrocarbons set an envelope, and no more.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from statistics import fmean
from typing import Any

from fuelunits.arrays import as_float
from fuelunits.errors import QuantityError, UnknownFuel
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
    "permittivity_of_mixture",
    "specific_polarization",
]


def specific_polarization(relative_permittivity: Any, density_kg_m3: Any) -> Any:
    """Return the specific polarization A = (ε - 1)/(ε + 2)/ρ of a liquid without a dipole moment of any size.

    Parameters
    ----------
    relative_permittivity : float or array
        ε, a plain number, 1 or more.
    density_kg_m3 : float or array
        Density at the same temperature, kg/m³.

    Returns
    -------
    float or array
        m³/kg; 3.4e-4 m³/kg is 0.34 mL/g.

    Examples
    --------
    >>> round(specific_polarization(1.9113, 679.5) * 1e3, 4)
    0.3429
    """
    eps, rho = as_float(relative_permittivity), as_float(density_kg_m3)
    return (eps - 1.0) / (eps + 2.0) / rho


def permittivity_from_density(density_kg_m3: Any, specific_polarization_m3_kg: Any) -> Any:
    """Return the relative permittivity at a density: ε = (1 + 2 A ρ)/(1 - A ρ).

    Parameters
    ----------
    density_kg_m3 : float or array
        Density, kg/m³.
    specific_polarization_m3_kg : float or array
        A, m³/kg, see :func:`specific_polarization`.

    Returns
    -------
    float or array
        Relative permittivity, a plain number.

    Examples
    --------
    >>> round(permittivity_from_density(679.5, 0.34288e-3), 3)
    1.911
    """
    share = as_float(density_kg_m3) * as_float(specific_polarization_m3_kg)
    return (1.0 + 2.0 * share) / (1.0 - share)


def permittivity_of_mixture(parts: Mapping[float, float]) -> float:
    """Return the relative permittivity of a mixture of liquids at one temperature.

    The parts add (ε - 1)/(ε + 2) by volume, which supposes that volumes add.

    Parameters
    ----------
    parts : mapping of float to float
        Relative permittivity of each part, and its volume fraction; the fractions sum to 1.

    Raises
    ------
    QuantityError
        If the fractions are negative or do not sum to 1.

    Examples
    --------
    >>> round(permittivity_of_mixture({1.911: 0.8, 2.374: 0.2}), 3)
    1.996
    """
    total = sum(parts.values())
    if any(share < 0.0 for share in parts.values()) or abs(total - 1.0) > 1e-9:
        raise QuantityError(f"parts must be volume fractions that sum to 1; they sum to {total:g}")
    share = sum(part * (eps - 1.0) / (eps + 2.0) for eps, part in parts.items())
    return (1.0 + 2.0 * share) / (1.0 - share)


@dataclass(frozen=True)
class Hydrocarbon(Sourced):
    """A pure hydrocarbon, its permittivity and density at one temperature.

    Attributes
    ----------
    name, family : str
        Its name, and ``"alkane"``, ``"cycloalkane"`` or ``"aromatic"``.
    at_c : float
        Temperature, °C.
    relative_permittivity, density_kg_m3 : float
        At that temperature.
    """

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
def hydrocarbons() -> dict[str, Hydrocarbon]:
    """Return the pure hydrocarbons by name.

    Examples
    --------
    >>> hydrocarbons()["toluene"].relative_permittivity
    2.3741
    """
    table = tomllib.loads((files("fuelunits.fuels") / "permittivities.toml").read_text(encoding="utf-8"))
    return {
        name: Hydrocarbon(name, family, *map(float, row), source="crc_permittivity")
        for family, members in table.items()
        for name, row in members.items()
    }


_COMPOSITION = {
    "jet": {"aromatic": (0.08, 0.25), "cycloalkane": (0.15, 0.50)},
    "avgas": {"aromatic": (0.0, 0.30), "cycloalkane": (0.0, 0.20)},
}
"""Lowest and highest share of each family; alkanes are the rest [fuel_composition_recalled]."""

_MEMBERS = {
    "jet": (
        *("n-octane", "n-nonane", "n-decane", "n-undecane", "n-dodecane", "n-hexadecane"),
        *("methylcyclohexane", "cis-decalin", "trans-decalin"),
        *("o-xylene", "m-xylene", "p-xylene", "1,3,5-trimethylbenzene", "1,2,4-trimethylbenzene", "tetralin"),
    ),
    "avgas": (
        *("2-methylbutane", "n-hexane", "n-heptane", "2,2,4-trimethylpentane"),
        *("methylcyclopentane", "cyclohexane", "methylcyclohexane"),
        *("toluene", "ethylbenzene", "m-xylene", "p-xylene"),
    ),
}
"""Hydrocarbons of the boiling range of each kind of fuel, of which the envelope is made."""


def polarization_envelope(kind: str) -> tuple[float, float, float]:
    """Return the lowest, middle and highest specific polarization that the composition of a kind of fuel allows, m³/kg.

    The lowest has the least of what polarizes most, each family at its lowest member; the highest the
    other way round. The middle takes the middle of each range and the mean of each family.
    """
    found: dict[str, list[float]] = {}
    for name in _MEMBERS[kind]:
        member = hydrocarbons()[name]
        found.setdefault(member.family, []).append(member.specific_polarization_m3_kg)
    aromatic, cyclo = _COMPOSITION[kind]["aromatic"], _COMPOSITION[kind]["cycloalkane"]

    def mixed(aromatics: float, cycloalkanes: float, pick: Callable[[list[float]], float]) -> float:
        shares = {"aromatic": aromatics, "cycloalkane": cycloalkanes, "alkane": 1.0 - aromatics - cycloalkanes}
        return sum(share * pick(found[family]) for family, share in shares.items())

    return (
        mixed(aromatic[0], cyclo[1], min),
        mixed(sum(aromatic) / 2.0, sum(cyclo) / 2.0, fmean),
        mixed(aromatic[1], cyclo[0], max),
    )


@dataclass(frozen=True, repr=False)
class Permittivity(Reporting):
    """Relative permittivity of a fuel at a temperature: a typical value, and the envelope of its composition.

    Attributes
    ----------
    fuel : str
        The fuel.
    at_c, density_kg_m3 : float
        Temperature, °C, and density there, kg/m³.
    typical, low, high : float
        Relative permittivity, plain numbers.
    """

    fuel: str
    at_c: float
    density_kg_m3: float
    typical: float
    low: float
    high: float

    def report(self) -> Report:
        """Return what a person reads of it."""
        return Report(
            f"Relative permittivity of {self.fuel} at {self.at_c:g} °C: "
            f"{self.typical:.3f}, from {self.low:.3f} to {self.high:.3f} by composition",
            facts={"density": f"{self.density_kg_m3:.1f} kg/m³"},
            remarks=(
                "The range is what the composition allows at this density; the shares of the families of "
                "hydrocarbons are from memory. The typical value is the middle of that composition, not a measurement.",
            ),
            sources=("crc_permittivity", "crc_organic", "fuel_composition_recalled"),
        )


def permittivity(fuel: Any, *, at: Any) -> Permittivity:
    """Return the relative permittivity of a fuel at a temperature.

    Parameters
    ----------
    fuel : str, Fuel, Batch or Blend
        A jet fuel or an aviation gasoline.
    at : str or pint.Quantity
        Its temperature.

    Returns
    -------
    Permittivity
        A typical value with the envelope that composition allows at the fuel's density.

    Raises
    ------
    UnknownFuel
        For a fuel of another kind, whose composition is not known here.
    OutOfRange
        If the temperature is not one of the fuel.

    Examples
    --------
    >>> found = permittivity("Jet A", at="15 degC")
    >>> 2.0 < found.low < found.typical < found.high < 2.25
    True
    """
    found: Any = find_fuel(fuel)
    kind = _kind_of(found)
    celsius = float(temperature_c(at, name="at"))
    rho = float(found.density_kg_m3(celsius))
    low, middle, high = (float(permittivity_from_density(rho, a)) for a in polarization_envelope(kind))
    return Permittivity(found.name, celsius, rho, middle, low, high)


def _kind_of(found: Any) -> str:
    words = getattr(getattr(found, "fuel", found), "kind", "")
    if "jet" in words:
        return "jet"
    if "gasoline" in words:
        return "avgas"
    raise UnknownFuel(
        f"the permittivity of {getattr(found, 'name', found)} is not known here; jet fuels and aviation gasolines are"
    )
