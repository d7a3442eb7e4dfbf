"""Recompute measured densities of blends, synthetic components and esters."""

from __future__ import annotations

from collections.abc import Callable

from fuelunits.fuels.blends import blend_by_mass
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.product import PetroleumProduct

__all__ = ["recompute"]

_KG_M3_PER_G_ML = 1000.0


def recompute(what: str, given: dict[str, str]) -> float:
    """Give our value of a published one, in g/mL.

    Parameters
    ----------
    what : str
        Kind of value, as in the first column of ``blends.csv``.
    given : dict of str to str
        What the source states it for: densities in g/mL, temperatures in °C.

    Examples
    --------
    >>> round(recompute("ATJ-SPK by its own expansion", {"temperature_c": "25"}), 4)
    0.7519
    """
    return _KINDS[what](**{name: float(text) for name, text in given.items()}) / _KG_M3_PER_G_ML


def _hefa_in_jet(jet: float, hefa: float, hefa_by_mass: float) -> float:
    parts = {
        fuel("Jet A").measured(f"{jet} g/mL"): 1.0 - hefa_by_mass,
        fuel("HEFA-SPK").measured(f"{hefa} g/mL"): hefa_by_mass,
    }
    return float(blend_by_mass(parts).density_kg_m3(15.0))


def _atj(temperature_c: float) -> float:
    return float(fuel("ATJ-SPK").density_kg_m3(temperature_c))


def _atj_as_petroleum(density: float, at_c: float, temperature_c: float) -> float:
    product = PetroleumProduct.observed(density * _KG_M3_PER_G_ML, at_c)
    return float(product.density_kg_m3(temperature_c))


def _fame(density: float, at_c: float, temperature_c: float) -> float:
    return float(fuel("FAME").measured(f"{density} g/mL", f"{at_c} degC").density_kg_m3(temperature_c))


_KINDS: dict[str, Callable[..., float]] = {
    "blend of HEFA-SPK and Jet A": _hefa_in_jet,
    "ATJ-SPK by its own expansion": _atj,
    "ATJ-SPK as if petroleum": _atj_as_petroleum,
    "FAME by the expansion of record EC10021": _fame,
}
