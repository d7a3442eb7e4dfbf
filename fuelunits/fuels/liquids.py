"""Models of a liquid's density, the masses and volumes that follow, and the liquids of the petroleum standard.

A new model is one more class of the shape of :class:`Liquid`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol, overload

from fuelunits.conversion import density_kg_m3 as liquid_density
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels import editions
from fuelunits.fuels.editions import REFINED_PRODUCTS, TEMPERATURES_C, Commodity, Expansion, degrees_from_60f
from fuelunits.fuels.elementwise import density_over, elementwise, is_large, solve_rising
from fuelunits.fuels.volume_correction import Base, base_density, base_of
from fuelunits.quantities import QuantityLike, answer, first_quantity, magnitude, positive, temperature_c
from fuelunits.sources import OnOutOfRange, Range, Sourced
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.validation import as_float, coerce_fields, finite_number, plain_number, positive_number

EXPANSION_DOUBT_PER_C = 1e-4  # how well that of a fuel is known, relative: published tables differ by 0.4 % over 40 °C


def density_doubt(liquid: Any, temperature_c: float) -> float:
    """Return by what fraction a density may be off: by its reading, if any, and the expansion from there or 15 °C."""
    if parts := getattr(liquid, "parts", ()):  # of a blend, which may all err alike
        return math.fsum(x * density_doubt(p, temperature_c) for p, x in zip(parts, liquid.mass_fractions, strict=True))
    reading = getattr(liquid, "reading", None)
    known, from_c = (0.0, 15.0) if reading is None else (reading.doubt_kg_m3 / reading.density_kg_m3, reading.at_c)
    return float(known + EXPANSION_DOUBT_PER_C * abs(temperature_c - from_c))


class Liquid(Protocol):
    """The interface of every model of a liquid's density; frozen, so that results can be cached."""

    def __hash__(self) -> int: ...

    @property
    def source(self) -> str:
        """Key of the source of the model."""

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures for which the model holds, °C."""

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density in kg/m³ at a temperature in °C and a pressure above atmospheric in kPa."""


@dataclass(frozen=True)
class Scaled:
    """A liquid that expands like another, and whose density is a constant multiple of the other's."""

    like: Liquid
    ratio: float

    @property
    def source(self) -> str:
        return self.like.source

    @property
    def valid_temperatures_c(self) -> Range:
        return self.like.valid_temperatures_c

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        return self.ratio * self.like.density_kg_m3(temperature_c, gauge_pressure_kpa, out_of_range=out_of_range)


def temperature_c_at(liquid: Liquid, density_kg_m3: float) -> float | None:
    """Return the temperature, °C, at which a liquid has a density at atmospheric pressure; None if at none."""
    cold, hot = float(liquid.valid_temperatures_c.low), float(liquid.valid_temperatures_c.high)
    if not float(liquid.density_kg_m3(hot)) <= density_kg_m3 <= float(liquid.density_kg_m3(cold)):
        return None
    return solve_rising(lambda t: -float(liquid.density_kg_m3(t)), -density_kg_m3, cold, hot)


def remarks_of(liquid: Any, *, typical: bool = True, limits: bool = True) -> tuple[str, ...]:
    """Return the remarks needed where the typical density or the limits of a fuel decide, or a batch is rejected."""
    said = liquid.remarks(typical=typical, limits=limits) if hasattr(liquid, "remarks") else ()
    is_rejected = getattr(liquid, "verdict", None) is Verdict.REJECT
    return (f"{liquid.name} is rejected: {liquid.reason}", *said) if is_rejected else tuple(said)


class Amounts:
    """Density, mass and volume of a fuel with a model, ``liquid``, or of any class with a density of its own.

    `at` is the temperature of the liquid, such as ``"30 degC"``, and `gauge_pressure` its pressure above atmospheric;
    a pressure that is left out or negative is taken as atmospheric, as in the standard. Both may be arrays.

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> jet = fuel("Jet A")
    >>> f"{jet.density('30 degC').m_as('lb/gal'):.3f}", f"{jet.mass('200 gal', at='30 degC').m_as('lb'):.1f}"
    ('6.651', '1330.1')
    >>> f"{jet.volume('2000 lb', at='-10 degC').m_as('gal'):.2f}", f"{jet.net_volume('1200 L', at='35 degC').m:.1f}"
    ('290.04', '1178.0')
    """

    base_c: float = 15.0
    """Temperature of a net volume, °C."""

    @overload
    def density_kg_m3(
        self, temperature_c: float, gauge_pressure_kpa: float = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> float: ...
    @overload
    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any: ...
    def density_kg_m3(
        self: Any, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density, kg/m³, at °C and at kPa above atmospheric (to 10342; suction counts as 0)."""
        if getattr(self, "refused", ""):
            raise FuelUnitsError(f"{self.name}: {self.refused}")
        t, p = as_float(temperature_c), as_float(gauge_pressure_kpa)
        if is_large(t, p):
            return density_over(self.liquid, t, p, self.valid_temperatures_c, out_of_range)
        return self.liquid.density_kg_m3(self.valid_temperatures_c.check(t, out_of_range), p, out_of_range=out_of_range)

    def _density(self, at: Any, gauge_pressure: Any) -> Any:
        pressure = 0.0 if gauge_pressure is None else magnitude(gauge_pressure, "kPa", name="gauge_pressure")
        return self.density_kg_m3(temperature_c(at, name="at", takes="density_kg_m3"), pressure)

    def density(self, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the density at a temperature, as a quantity in kg/m³."""
        return answer(self._density(at, gauge_pressure), "kg/m^3", first_quantity(at, gauge_pressure))

    def mass(self, volume: QuantityLike, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the true mass (as in vacuum), in kg, of a volume as it is at a temperature and pressure."""
        m3 = positive(volume, "m3", name="volume", zero=True)
        return answer(m3 * self._density(at, gauge_pressure), "kg", first_quantity(volume, at, gauge_pressure))

    def volume(self, mass: QuantityLike, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the volume, in litres, that a true mass has at a temperature."""
        litres = positive(mass, "kg", name="mass", zero=True) / self._density(at, gauge_pressure) * 1000.0
        return answer(litres, "L", first_quantity(mass, at, gauge_pressure))

    def volume_correction_factor(self, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the factor from a volume at a temperature and pressure to the base temperature, a plain number."""
        return self._density(at, gauge_pressure) / self.density_kg_m3(self.base_c)

    def net_volume(self, gross: QuantityLike, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the volume in litres at `base_c`, of a fuel 15 °C (trucks in the US bill at 60 °F)."""
        litres = positive(gross, "L", name="gross", zero=True) * self.volume_correction_factor(at, gauge_pressure)
        return answer(litres, "L", first_quantity(gross, at, gauge_pressure))

    def gross_volume(self, net: QuantityLike, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the volume in litres at a temperature, from the volume billed at the base temperature."""
        litres = positive(net, "L", name="net", zero=True) / self.volume_correction_factor(at, gauge_pressure)
        return answer(litres, "L", first_quantity(net, at, gauge_pressure))


_Formula = tuple[float, Expansion, Callable[[Any], Any], Range, Range]
"""Density at the base of an expansion, kg/m³, the expansion, degrees from the base; where they hold: °C, kPa."""


class _Expanding:
    """A liquid of one density at its base, and of known expansion: of a `_formula`."""

    @property
    def valid_temperatures_c(self: Any) -> Range:
        """Temperatures for which the expansion is known, °C."""
        return self._formula[3]  # type: ignore[no-any-return]

    def density_kg_m3(
        self: Any, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density in kg/m³, of 8192 temperatures or more within 1e-12; a negative pressure counts as 0."""
        rho, expansion, to_degrees, temperatures_c, pressures_kpa = self._formula
        t, p = as_float(temperature_c), as_float(gauge_pressure_kpa)
        if is_large(t, p):
            return density_over(self, t, pressures_kpa.check(p, out_of_range), temperatures_c, out_of_range)

        def density(t: Any, p: Any) -> Any:
            degrees = to_degrees(temperatures_c.check(t, out_of_range))
            return rho * expansion.ctl(degrees) * expansion.cpl(degrees, pressures_kpa.check(p, out_of_range))

        return elementwise(density, t, p)


@dataclass(frozen=True)
class PetroleumProduct(_Expanding):
    """A petroleum product, by the volume correction procedure of the petroleum standard.

    Independent tables of petroleum fuels agree within 0.4 %, mostly within 0.2 %.

    Parameters
    ----------
    base_density_kg_m3 : float, at `base_c`
    base_c : {15.0, 20.0, BASE_60F_C}, °C
    edition : int, the year of the edition of the standard
    commodity : Commodity, refined products by default

    Examples
    --------
    >>> round(PetroleumProduct(800.0).density_kg_m3(-20.0), 2)
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
        rho = self.base_density_kg_m3 / (1.0 if base.degrees is None else float(expansion.ctl(base.degrees)))
        return rho, expansion, procedure.degrees, procedure.temperatures_c, procedure.gauge_pressures_kpa


_NO_COMPRESSIBILITY = "a liquid with its own expansion, without a compressibility: that of petroleum is used up to here"
_OWN_EXPANSION_PRESSURES_KPA = Range("gauge pressure", editions.VACUUM_KPA, 1000.0, "kPa", _NO_COMPRESSIBILITY)


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
        coerce_fields(self, ("base_density_kg_m3", "alpha_per_c", "base_c"), finite_number)
        liquid_density(f"{self.base_density_kg_m3!r} kg/m^3", "base_density_kg_m3")  # refuses what no liquid has
        TEMPERATURES_C.check(self.base_c)
        editions.ALPHAS_PER_F.check(self._alpha_60)

    @classmethod
    def through(
        cls, density_kg_m3: float, temperature_c: float, other_kg_m3: float, other_c: float, *, source: str
    ) -> GivenExpansion:
        """Return the liquid whose density falls from one to the other between two temperatures, met exactly.

        For a, the shift constant s and d degrees from 60 °F, ln(ρ/ρ') = -a (d - d') - 0.8 a² (d (d + s) - d' (d' + s)).
        """
        rho = positive_number(density_kg_m3, "density_kg_m3", example=766.3)
        other_rho = positive_number(other_kg_m3, "other_kg_m3", example=722.3)
        base_c = plain_number(temperature_c, "temperature_c")
        here, there = degrees_from_60f(base_c), degrees_from_60f(plain_number(other_c, "other_c"))
        if here == there:
            raise QuantityError(f"both densities are at {base_c:g} degC; two temperatures are needed")
        fall, first = math.log(rho / other_rho), here - there
        second = 0.8 * (here * (here + editions.DELTA_60) - there * (there + editions.DELTA_60))
        root = first * first - 4.0 * second * fall
        if fall * first >= 0.0 or root < 0.0:
            most = f"by no more than {1.8 * editions.ALPHAS_PER_F.high:.2%} per degC"
            raise QuantityError(f"the density must fall from the cooler to the warmer temperature, {most}")
        alpha_60 = -2.0 * fall / (first + math.copysign(math.sqrt(root), first))
        return cls(rho, 1.8 * alpha_60 * (1.0 + 1.6 * alpha_60 * here), base_c, source=source)

    @cached_property
    def _alpha_60(self) -> float:
        """Alpha at 60 °F per °F, from alpha_T = alpha_60 (1 + 1.6 alpha_60 dt)."""
        alpha, dt = self.alpha_per_c / 1.8, degrees_from_60f(self.base_c)
        root = 1.0 + 6.4 * alpha * dt
        if root < 0.0:
            raise QuantityError(f"{self.alpha_per_c} per degC at {self.base_c} degC has no equal at 60 degF")
        return float(2.0 * alpha / (1.0 + math.sqrt(root)))

    @cached_property
    def _formula(self) -> _Formula:
        at_base = editions.given_expansion(1.0, self._alpha_60).ctl(degrees_from_60f(self.base_c))
        rho = self.base_density_kg_m3 / float(at_base)
        expansion = editions.given_expansion(rho, self._alpha_60)
        return rho, expansion, degrees_from_60f, self.temperatures_c, _OWN_EXPANSION_PRESSURES_KPA


def batch_of(liquid: Liquid, density_kg_m3: float, temperature_c: float, gauge_pressure_kpa: float = 0.0) -> Liquid:
    """Return the model of a batch of a true density: of petroleum by the standard, of others expanding as typical."""
    if isinstance(liquid, PetroleumProduct):
        edition = {"base_c": liquid.base_c, "edition": liquid.edition, "commodity": liquid.commodity}
        return PetroleumProduct.observed(density_kg_m3, temperature_c, gauge_pressure_kpa, **edition)
    return Scaled(liquid, density_kg_m3 / float(liquid.density_kg_m3(temperature_c, gauge_pressure_kpa)))
