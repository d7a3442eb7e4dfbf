"""Relative permittivity of fuels: the quantity that a capacitance gauge measures in place of a volume.

By Clausius and Mossotti (ε - 1)/(ε + 2) = A ρ, where the specific polarization A is nearly a constant of a
hydrocarbon. Where the composition of a fuel is not known, the families of hydrocarbons set an envelope.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache, partial
from statistics import fmean
from typing import Any

from fuelunits.errors import QuantityError, UnknownFuel
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import remarks_of
from fuelunits.quantities import QuantityLike, members, temperature_c
from fuelunits.reports import Report, Reporting
from fuelunits.sources import data_table
from fuelunits.validation import as_float, format_value, positive_number

TYPICAL = "The permittivity is not measured: it is the middle of the range of compositions (from memory)."


def specific_polarization(relative_permittivity: Any, density_kg_m3: Any) -> Any:
    """Return A = (ε - 1)/(ε + 2)/ρ, m³/kg, of a liquid without a dipole moment of any size; 3.4e-4 is 0.34 mL/g."""
    eps, rho = as_float(relative_permittivity), as_float(density_kg_m3)
    return (eps - 1.0) / (eps + 2.0) / rho


def permittivity_from_density(density_kg_m3: Any, specific_polarization_m3_kg: Any) -> Any:
    """Return the relative permittivity at a density: ε = (1 + 2 A ρ)/(1 - A ρ)."""
    share = as_float(density_kg_m3) * as_float(specific_polarization_m3_kg)
    return (1.0 + 2.0 * share) / (1.0 - share)


def permittivity_of_mixture(parts: Iterable[tuple[float, float]]) -> float:
    """Return the relative permittivity of a mixture: (ε - 1)/(ε + 2) adds by volume, as if the volumes added.

    Parameters
    ----------
    parts : sequence of (float, float), permittivity and volume fraction of each, at one temperature; they sum to 1

    Examples
    --------
    >>> round(permittivity_of_mixture([(1.911, 0.8), (2.374, 0.2)]), 3)
    1.996
    """
    given = members(parts)
    if not given or not all(isinstance(each, (tuple, list)) and len(each) == 2 for each in given):
        raise QuantityError(f"parts must be pairs such as [(2.11, 0.9), (2.37, 0.1)]; got {format_value(parts)}")
    read = [(positive_number(e, "relative_permittivity"), positive_number(x, "fraction", zero=True)) for e, x in given]
    if any(eps < 1.0 for eps, _ in read) or abs(sum(share for _, share in read) - 1.0) > 1e-9:
        raise QuantityError(f"parts must be permittivities above 1 with volume fractions whose sum is 1; got {read}")
    return float(permittivity_from_density(1.0, sum(x * specific_polarization(eps, 1.0) for eps, x in read)))


_tables = partial(data_table, "fuels/permittivities.toml")


@cache
def polarizations() -> dict[str, float]:
    """Return the specific polarization of pure hydrocarbons by name, m³/kg [crc_handbook]."""
    rows = [row for family in _tables()["hydrocarbons"].values() for row in family.items()]
    return {name: float(specific_polarization(eps, rho)) for name, (_, eps, rho) in rows}


def polarization_envelope(kind: str) -> tuple[float, float, float]:
    """Return the lowest, middle and highest specific polarization, m³/kg, that the composition of a kind allows."""
    families: dict[str, Any] = _tables()["composition"][kind]
    found = {name: [polarizations()[each] for each in family["members"]] for name, family in families.items()}
    (least, most), (least_cyclo, most_cyclo) = families["aromatic"]["share"], families["cycloalkane"]["share"]

    def mixed(aromatic: float, cyclo: float, pick: Callable[[list[float]], float]) -> float:
        shares = {"aromatic": aromatic, "cycloalkane": cyclo, "alkane": 1.0 - aromatic - cyclo}
        return sum(share * pick(found[family]) for family, share in shares.items())

    middle = mixed((least + most) / 2.0, (least_cyclo + most_cyclo) / 2.0, fmean)
    return mixed(least, most_cyclo, min), middle, mixed(most, least_cyclo, max)


@dataclass(frozen=True, repr=False)
class Permittivity(Reporting):
    """Relative permittivity of a fuel at °C, typical and as its composition allows, and its density, kg/m³."""

    fuel: str
    at_c: float
    density_kg_m3: float
    typical: float
    low: float
    high: float
    remarks: tuple[str, ...] = ()

    def report(self) -> Report:
        return Report(
            f"Relative permittivity of {self.fuel} at {self.at_c:g} °C: "
            f"{self.typical:.3f}, from {self.low:.3f} to {self.high:.3f} by composition",
            facts={"density": f"{self.density_kg_m3:.1f} kg/m³"},
            remarks=("The range is what the composition allows at this density.", TYPICAL, *self.remarks),
            sources=("crc_handbook", "fuel_composition_recalled"),
        )


def permittivity(fuel: Any, *, at: QuantityLike) -> Permittivity:
    """Return the relative permittivity of a fuel at a temperature: typical, and the range that its composition allows.

    Parameters
    ----------
    fuel : str, Fuel or Batch: a jet fuel or an aviation gasoline, whose compositions are known
    at : str or pint.Quantity, its temperature

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
