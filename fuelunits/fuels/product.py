"""Liquids that the petroleum standard describes: its products, and liquids of a given expansion."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from fuelunits.arrays import as_float, is_scalar, log, sqrt
from fuelunits.errors import QuantityError
from fuelunits.fuels import edition_2004
from fuelunits.fuels.commodities import REFINED_PRODUCTS, Commodity
from fuelunits.fuels.edition_2004 import (
    ALPHAS_PER_F,
    GAUGE_PRESSURES_KPA,
    TEMPERATURES_C,
    Expansion,
    ctl_60f,
    t68_f,
)
from fuelunits.fuels.liquid import Liquid, Scaled
from fuelunits.fuels.series import in_blocks, is_large
from fuelunits.fuels.solving import Procedure
from fuelunits.fuels.volume_correction import (
    BASE_60F_C,
    Edition,
    base_densities,
    base_density,
    ctpl,
    procedure_of,
)
from fuelunits.ranges import OnOutOfRange, Range
from fuelunits.sources import Sourced
from fuelunits.validation import coerce_fields, plain_number

__all__ = ["GivenExpansion", "PetroleumProduct", "batch_of"]


def _density(liquid: Expansion, rho_60: float, valid: Range, t: Any, p: Any, out_of_range: OnOutOfRange) -> Any:
    """Give the density of a liquid of known expansion, having checked its state."""
    t, p = as_float(t), GAUGE_PRESSURES_KPA.check(as_float(p), out_of_range)
    if is_large(t, p):
        return in_blocks(lambda part: _expanded(liquid, rho_60, part, p), t, valid, out_of_range)
    return _expanded(liquid, rho_60, valid.check(t, out_of_range), p)


def _expanded(liquid: Expansion, rho_60: float, t: Any, p: Any) -> Any:
    """Give the density of a liquid of known expansion by the 2004 procedure."""
    t_star = t68_f(t)
    density = rho_60 * ctl_60f(liquid.alpha_60, t_star)
    if is_scalar(p) and p == 0.0:
        return density
    return density * edition_2004.cpl(liquid.rho_star, t_star, p)


@dataclass(frozen=True)
class PetroleumProduct:
    """A petroleum product, by the volume correction procedure of the petroleum standard.

    Parameters
    ----------
    base_density_kg_m3 : float
        Density at `base_c`, kg/m³.
    base_c : {15.0, 20.0, BASE_60F_C}
        Base temperature, °C.
    edition : {2004, 1980}
        Edition of the standard.
    commodity : Commodity
        Refined products by default.

    Raises
    ------
    OutOfRange
        If the density lies outside the standard.

    Notes
    -----
    The procedure holds for petroleum products; its groups are chosen by density. Independent
    tables of petroleum fuels are met within 0.4 %, mostly within 0.2 %.

    Examples
    --------
    >>> jet = PetroleumProduct(800.0)
    >>> round(jet.density_kg_m3(-20.0), 2)
    825.75
    """

    base_density_kg_m3: float
    base_c: float = 15.0
    edition: Edition = 2004
    commodity: Commodity = REFINED_PRODUCTS

    def __post_init__(self) -> None:
        base = as_float(self.base_density_kg_m3)
        if not is_scalar(base):
            raise QuantityError("a petroleum product has one base density; use volume_correction.ctpl for arrays")
        object.__setattr__(self, "base_density_kg_m3", float(base))
        base_densities(self.base_c, self.edition, self.commodity).check(float(base))

    @classmethod
    def observed(cls, density_kg_m3: float, temperature_c: float, **edition: Any) -> PetroleumProduct:
        """Make it from a true density at another temperature, by the 2004 edition at 15 °C unless said otherwise.

        Examples
        --------
        >>> round(PetroleumProduct.observed(825.75, -20.0).base_density_kg_m3, 2)
        800.0
        """
        return cls(base_density(density_kg_m3, temperature_c, **edition), **edition)

    @property
    def source(self) -> str:
        """Key of the edition used."""
        return self._procedure.source

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures of the edition, °C."""
        return self._procedure.temperatures_c

    @property
    def _procedure(self) -> Procedure:
        return procedure_of(self.edition, self.base_c, self.commodity)

    @cached_property
    def _rho_60(self) -> float:
        return float(base_density(self.base_density_kg_m3, self.base_c, base_c=BASE_60F_C, commodity=self.commodity))

    @cached_property
    def _expansion(self) -> Expansion:
        return edition_2004.group_expansion(self._rho_60, self.commodity)

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Density in kg/m³; see :func:`fuelunits.fuels.volume_correction.ctpl`.

        Over a plain float64 array of 131072 temperatures or more, at one pressure, it is within
        1e-12 of the formula (see ``fuelunits.fuels.series``).
        """
        if self.edition == 1980:
            return self.base_density_kg_m3 * ctpl(
                self.base_density_kg_m3,
                temperature_c,
                gauge_pressure_kpa,
                base_c=self.base_c,
                edition=1980,
                commodity=self.commodity,
                out_of_range=out_of_range,
            )
        state = temperature_c, gauge_pressure_kpa
        return _density(self._expansion, self._rho_60, TEMPERATURES_C, *state, out_of_range)


@dataclass(frozen=True)
class GivenExpansion(Sourced):
    """A liquid of known thermal expansion, by the standard's procedure for special applications.

    For synthetic components, esters and alcohols, which expand otherwise than petroleum of the
    same density.

    Parameters
    ----------
    base_density_kg_m3 : float
        Density at `base_c`, kg/m³.
    alpha_per_c : float
        Thermal expansion of the volume at `base_c`, per °C; 414e-6 to 1674e-6 at 60 °F.
    base_c : float
        Any temperature of the valid range, °C.
    temperatures_c : Range
        Temperatures for which the expansion is known, °C.
    source : str
        Key of the source of the expansion.

    Notes
    -----
    API MPMS 11.1-2004, the special applications of 11.1.6 (recalled); the compressibility is that
    of petroleum of the same density.

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
        _positive("base density", self.base_density_kg_m3)
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
        """Make it from the densities at two temperatures; both are then met exactly.

        Raises
        ------
        QuantityError
            If a density is not positive, if the temperatures are the same, or if the density does not fall between
            them, or falls too steeply.
        """
        rho = plain_number(density_kg_m3, "density_kg_m3")
        other_rho = plain_number(other_density_kg_m3, "other_density_kg_m3")
        for density in (rho, other_rho):
            _positive("density", density)
        t, other_t = (
            plain_number(temperature_c, "temperature_c"),
            plain_number(other_temperature_c, "other_temperature_c"),
        )
        here, there = (t68_f(each) - 60.0068749 for each in (t, other_t))
        if here == there:
            raise QuantityError(f"both densities are at {t:g} degC; two temperatures are needed")
        alpha_60 = _alpha_through(log(rho / other_rho), here, there)
        alpha_f = alpha_60 * (1.0 + 1.6 * alpha_60 * here)
        return cls(rho, 1.8 * alpha_f, t, temperatures_c, source=source)

    @cached_property
    def _alpha_60(self) -> float:
        """Alpha at 60 °F per °F, from alpha_T = alpha_60 (1 + 1.6 alpha_60 dt)."""
        alpha, dt = self.alpha_per_c / 1.8, t68_f(self.base_c) - 60.0068749
        root = 1.0 + 6.4 * alpha * dt
        if root < 0.0:
            raise QuantityError(
                f"an expansion of {self.alpha_per_c} per degC at {self.base_c} degC has no equal at 60 degF"
            )
        return float(2.0 * alpha / (1.0 + sqrt(root)))

    @cached_property
    def _rho_60(self) -> float:
        return self.base_density_kg_m3 / float(ctl_60f(self._alpha_60, t68_f(self.base_c)))

    @cached_property
    def _expansion(self) -> Expansion:
        return edition_2004.given_expansion(self._rho_60, self._alpha_60)

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures for which the expansion is known, °C."""
        return self.temperatures_c

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Density in kg/m³."""
        state = temperature_c, gauge_pressure_kpa
        return _density(self._expansion, self._rho_60, self.temperatures_c, *state, out_of_range)


def _positive(name: str, density_kg_m3: float) -> None:
    if not 0.0 < density_kg_m3 < math.inf:
        raise QuantityError(f"{name} is {density_kg_m3} kg/m^3; it must be positive")


def _alpha_through(log_ratio: float, dt: float, other_dt: float) -> float:
    """Solve ln(rho/rho') = -a (d - d') - 0.8 a² (d (d + s) - d' (d' + s)) for a, s being the shift constant."""
    shift = edition_2004.DELTA_60
    first = dt - other_dt
    second = 0.8 * (dt * (dt + shift) - other_dt * (other_dt + shift))
    if log_ratio * first >= 0.0:
        raise QuantityError("the density must fall from the cooler to the warmer temperature")
    root = first * first - 4.0 * second * log_ratio
    if root < 0.0:
        raise QuantityError("the density falls too steeply from the cooler to the warmer temperature")
    return -2.0 * log_ratio / (first + math.copysign(math.sqrt(root), first))


def batch_of(liquid: Liquid, density_kg_m3: float, temperature_c: float, gauge_pressure_kpa: float = 0.0) -> Liquid:
    """Give the model of a batch of a liquid that has another density.

    Parameters
    ----------
    liquid : Liquid
        The typical liquid.
    density_kg_m3 : float
        True density of the batch.
    temperature_c, gauge_pressure_kpa : float
        The state at which it has that density.

    Returns
    -------
    Liquid
        For petroleum, the standard's own expansion at the batch's density; otherwise the relative
        expansion of the typical liquid.

    Examples
    --------
    >>> batch = batch_of(PetroleumProduct(805.0), 790.0, 30.0)
    >>> round(batch.density_kg_m3(30.0), 6)
    790.0
    """
    if isinstance(liquid, PetroleumProduct):
        base = base_density(
            density_kg_m3,
            temperature_c,
            gauge_pressure_kpa,
            base_c=liquid.base_c,
            edition=liquid.edition,
            commodity=liquid.commodity,
        )
        return PetroleumProduct(base, liquid.base_c, liquid.edition, liquid.commodity)
    return Scaled(liquid, density_kg_m3 / float(liquid.density_kg_m3(temperature_c, gauge_pressure_kpa)))
