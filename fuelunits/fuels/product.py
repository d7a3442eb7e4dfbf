"""Liquids that the petroleum standard describes: its products, and liquids of a given expansion."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

from fuelunits.arrays import as_float, is_scalar, log, sqrt
from fuelunits.errors import QuantityError
from fuelunits.fuels.commodities import REFINED_PRODUCTS, Commodity, cpl
from fuelunits.fuels.commodities import gauge_pressure_kpa as checked_pressure
from fuelunits.fuels.edition_2004 import ALPHAS_PER_F, DELTA_60, TEMPERATURES_C, degrees_from_60f, given_expansion
from fuelunits.fuels.editions import Base, Expansion, base_of
from fuelunits.fuels.elementwise import density_over, elementwise, is_large
from fuelunits.fuels.liquid import Liquid, Scaled
from fuelunits.fuels.volume_correction import base_density
from fuelunits.sources import OnOutOfRange, Range, Sourced
from fuelunits.validation import coerce_fields, plain_number, positive_number


class _Formula(NamedTuple):
    """The density at the base of an expansion, kg/m³, how it changes from there, and where that holds."""

    rho: float
    expansion: Expansion
    degrees: Callable[[Any], Any]
    temperatures_c: Range
    pressures_kpa: Range


class _Expanding:
    """A liquid of one density at its base, and of known expansion."""

    @cached_property
    def _formula(self) -> _Formula:
        raise NotImplementedError

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures for which the expansion is known, °C."""
        return self._formula.temperatures_c

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density in kg/m³, of 8192 temperatures or more within 1e-12; a negative pressure counts as 0."""
        rho, expansion, to_degrees, temperatures_c, pressures_kpa = self._formula
        t, p = as_float(temperature_c), as_float(gauge_pressure_kpa)
        if is_large(t, p):
            p = checked_pressure(pressures_kpa, p, out_of_range)
            return density_over(self, t, p, temperatures_c, out_of_range)

        def density(t: Any, p: Any) -> Any:
            degrees = to_degrees(temperatures_c.check(t, out_of_range))
            p = checked_pressure(pressures_kpa, p, out_of_range)
            at_atmospheric = rho * expansion.ctl(degrees)
            if is_scalar(p) and p == 0.0:
                return at_atmospheric
            return at_atmospheric * cpl(expansion.compressibility_per_kpa(degrees), p)

        return elementwise(density, t, p)


@dataclass(frozen=True)
class PetroleumProduct(_Expanding):
    """A petroleum product, by the volume correction procedure of the petroleum standard.

    Its groups are chosen by density. Independent tables of petroleum fuels agree within 0.4 %, mostly within 0.2 %.

    Parameters
    ----------
    base_density_kg_m3 : float, at `base_c`
    base_c : {15.0, 20.0, BASE_60F_C}, °C
    edition : int, the year of the edition of the standard
    commodity : Commodity, refined products by default

    Examples
    --------
    >>> jet = PetroleumProduct(800.0)
    >>> round(jet.density_kg_m3(-20.0), 2)
    825.75
    """

    base_density_kg_m3: float
    base_c: float = 15.0
    edition: int = 2004
    commodity: Commodity = REFINED_PRODUCTS

    def __post_init__(self) -> None:
        coerce_fields(self, ("base_density_kg_m3",), plain_number)
        self._base.densities.check(self.base_density_kg_m3)

    @classmethod
    def observed(
        cls, density_kg_m3: float, temperature_c: float, gauge_pressure_kpa: float = 0.0, **edition: Any
    ) -> PetroleumProduct:
        """Return the product that has a true density at another state."""
        return cls(base_density(density_kg_m3, temperature_c, gauge_pressure_kpa, **edition), **edition)

    @property
    def source(self) -> str:
        """Key of the edition used."""
        return self._base.procedure.source

    @property
    def _base(self) -> Base:
        return base_of(self.edition, self.base_c, self.commodity)

    @cached_property
    def _formula(self) -> _Formula:
        base, procedure = self._base, self._base.procedure
        expansion = base.expansion(self.base_density_kg_m3, "raise")
        at_base = 1.0 if base.degrees is None else float(expansion.ctl(base.degrees))
        rho = self.base_density_kg_m3 / at_base
        return _Formula(rho, expansion, procedure.degrees, procedure.temperatures_c, procedure.gauge_pressures_kpa)


_NO_COMPRESSIBILITY = "a liquid with its own expansion, without a compressibility: that of petroleum is used up to here"
_OWN_EXPANSION_PRESSURES_KPA = Range("gauge pressure", 0.0, 1000.0, "kPa", _NO_COMPRESSIBILITY)


@dataclass(frozen=True)
class GivenExpansion(_Expanding, Sourced):
    """A liquid of known thermal expansion, such as a synthetic component, an ester or an alcohol.

    API MPMS 11.1-2004, the special applications of 11.1.6. The compressibility is that of petroleum of the same
    density; up to 1000 kPa, the most that is answered, this meets CoolProp's densities of five liquids within 0.05 %.

    Parameters
    ----------
    base_density_kg_m3 : float, at `base_c`
    alpha_per_c : float, thermal expansion of the volume at `base_c`, per °C; 414e-6 to 1674e-6 at 60 °F
    base_c : float, any temperature of the valid range
    temperatures_c : Range in which the expansion is known
    source : str, the key of the source of the expansion

    Examples
    --------
    >>> liquid = GivenExpansion.through(766.3, 5.0, 722.3, 65.0, source="api_mpms_11_1_2004")
    >>> round(liquid.density_kg_m3(45.0), 1)
    737.1
    """

    base_density_kg_m3: float
    alpha_per_c: float
    base_c: float = 15.0
    temperatures_c: Range = TEMPERATURES_C

    def __post_init__(self) -> None:
        super().__post_init__()
        coerce_fields(self, ("base_density_kg_m3", "alpha_per_c", "base_c"), plain_number)
        positive_number(self.base_density_kg_m3, "base_density_kg_m3", example=760.0)
        TEMPERATURES_C.check(self.base_c)
        ALPHAS_PER_F.check(self._alpha_60)

    @classmethod
    def through(
        cls,
        density_kg_m3: float,
        temperature_c: float,
        other_density_kg_m3: float,
        other_temperature_c: float,
        *,
        source: str,
        temperatures_c: Range = TEMPERATURES_C,
    ) -> GivenExpansion:
        """Return the liquid whose density falls from one to the other between two temperatures, met exactly."""
        rho = positive_number(density_kg_m3, "density_kg_m3", example=766.3)
        other_rho = positive_number(other_density_kg_m3, "other_density_kg_m3", example=722.3)
        t = plain_number(temperature_c, "temperature_c")
        other_t = plain_number(other_temperature_c, "other_temperature_c")
        here, there = degrees_from_60f(t), degrees_from_60f(other_t)
        if here == there:
            raise QuantityError(f"both densities are at {t:g} degC; two temperatures are needed")
        alpha_60 = _alpha_through(log(rho / other_rho), here, there)
        alpha_f = alpha_60 * (1.0 + 1.6 * alpha_60 * here)
        return cls(rho, 1.8 * alpha_f, t, temperatures_c, source=source)

    @cached_property
    def _alpha_60(self) -> float:
        """Alpha at 60 °F per °F, from alpha_T = alpha_60 (1 + 1.6 alpha_60 dt)."""
        alpha, dt = self.alpha_per_c / 1.8, degrees_from_60f(self.base_c)
        root = 1.0 + 6.4 * alpha * dt
        if root < 0.0:
            given = f"{self.alpha_per_c} per degC at {self.base_c} degC"
            raise QuantityError(f"an expansion of {given} has no equal at 60 degF")
        return float(2.0 * alpha / (1.0 + sqrt(root)))

    @cached_property
    def _formula(self) -> _Formula:
        at_base = given_expansion(1.0, self._alpha_60).ctl(degrees_from_60f(self.base_c))
        rho = self.base_density_kg_m3 / float(at_base)
        expansion = given_expansion(rho, self._alpha_60)
        return _Formula(rho, expansion, degrees_from_60f, self.temperatures_c, _OWN_EXPANSION_PRESSURES_KPA)


def _alpha_through(log_ratio: float, dt: float, other_dt: float) -> float:
    """Solve ln(rho/rho') = -a (d - d') - 0.8 a² (d (d + s) - d' (d' + s)) for a, s being the shift constant."""
    shift = DELTA_60
    first = dt - other_dt
    second = 0.8 * (dt * (dt + shift) - other_dt * (other_dt + shift))
    if log_ratio * first >= 0.0:
        raise QuantityError("the density must fall from the cooler to the warmer temperature")
    root = first * first - 4.0 * second * log_ratio
    if root < 0.0:
        raise QuantityError("the density falls too steeply from the cooler to the warmer temperature")
    return -2.0 * log_ratio / (first + math.copysign(math.sqrt(root), first))


def batch_of(liquid: Liquid, density_kg_m3: float, temperature_c: float, gauge_pressure_kpa: float = 0.0) -> Liquid:
    """Return the model of a batch of a true density: of petroleum by the standard, of others expanding as typical."""
    if isinstance(liquid, PetroleumProduct):
        edition = {"base_c": liquid.base_c, "edition": liquid.edition, "commodity": liquid.commodity}
        return PetroleumProduct.observed(density_kg_m3, temperature_c, gauge_pressure_kpa, **edition)
    return Scaled(liquid, density_kg_m3 / float(liquid.density_kg_m3(temperature_c, gauge_pressure_kpa)))
