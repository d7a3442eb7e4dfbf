"""The interface of a model of a liquid's density, and the masses and volumes that follow from it.

A new model is one more class of the shape of :class:`Liquid`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

from fuelunits.errors import NotConverged
from fuelunits.pint_units import answer, first_quantity
from fuelunits.quantities import QuantityLike, magnitude, positive, temperature_c
from fuelunits.sources import OnOutOfRange, Range


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
        """Key of the source of the expansion."""
        return self.like.source

    @property
    def valid_temperatures_c(self) -> Range:
        """Temperatures of the liquid that it expands like, °C."""
        return self.like.valid_temperatures_c

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density in kg/m³."""
        return self.ratio * self.like.density_kg_m3(temperature_c, gauge_pressure_kpa, out_of_range=out_of_range)


def temperature_c_at(liquid: Liquid, density_kg_m3: float) -> float | None:
    """Return the temperature, °C to 1e-9, at which a liquid has a density at atmospheric pressure; None if at none."""
    cold, hot = float(liquid.valid_temperatures_c.low), float(liquid.valid_temperatures_c.high)
    if not float(liquid.density_kg_m3(hot)) <= density_kg_m3 <= float(liquid.density_kg_m3(cold)):
        return None
    while hot - cold > 1e-10:
        middle = (cold + hot) / 2.0
        found = float(liquid.density_kg_m3(middle))
        cold, hot = (middle, hot) if found > density_kg_m3 else (cold, middle)
    if abs(found - density_kg_m3) <= 1e-9 * density_kg_m3:
        return middle
    raise NotConverged(f"no temperature found for {density_kg_m3} kg/m^3")


class Amounts:
    """Methods that take text and pint quantities, for any class with a ``density_kg_m3``.

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

    def _density(self: Any, at: Any, gauge_pressure: Any) -> Any:
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
        kg = positive(mass, "kg", name="mass", zero=True)
        litres = kg / self._density(at, gauge_pressure) * 1000.0
        return answer(litres, "L", first_quantity(mass, at, gauge_pressure))

    def volume_correction_factor(self: Any, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the factor from a volume at a temperature and pressure to the base temperature, a plain number."""
        return self._density(at, gauge_pressure) / self.density_kg_m3(self.base_c)

    def net_volume(self, gross: QuantityLike, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the volume in litres at the base temperature, as a compensating truck meter bills it."""
        litres = positive(gross, "L", name="gross", zero=True) * self.volume_correction_factor(at, gauge_pressure)
        return answer(litres, "L", first_quantity(gross, at, gauge_pressure))

    def gross_volume(self, net: QuantityLike, at: QuantityLike, gauge_pressure: QuantityLike | None = None) -> Any:
        """Return the volume in litres at a temperature, from the volume billed at the base temperature."""
        litres = positive(net, "L", name="net", zero=True) / self.volume_correction_factor(at, gauge_pressure)
        return answer(litres, "L", first_quantity(net, at, gauge_pressure))
