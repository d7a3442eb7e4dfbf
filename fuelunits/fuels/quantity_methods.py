"""Density, mass and volume for text and quantities: the methods that every fuel, batch and blend has."""

from __future__ import annotations

from typing import Any

from fuelunits.quantities import answer, first_quantity, magnitude, positive, temperature_c
from fuelunits.ranges import OnOutOfRange

__all__ = ["Amounts"]


class Amounts:
    """Methods that take text and pint quantities, for whatever has a ``density_kg_m3``.

    Temperatures and pressures are those of the liquid; the pressure is above atmospheric, and
    atmospheric where it is left out or negative (the standard takes it so). The answer is of the kind
    that came in.
    """

    base_c: float = 15.0
    """Temperature of a net volume, °C."""

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Density in kg/m³ at a temperature in °C and a pressure above atmospheric in kPa."""
        raise NotImplementedError

    def remarks(self, *, typical: bool = True, limits: bool = True) -> tuple[str, ...]:
        """Return what must be said wherever its figures decide: recalled, stand-in, midpoint, digitised."""
        del typical, limits
        return ()

    def _density(self, at: Any, gauge_pressure: Any) -> Any:
        pressure = 0.0 if gauge_pressure is None else magnitude(gauge_pressure, "kPa", name="gauge_pressure")
        return self.density_kg_m3(temperature_c(at, name="at", takes="density_kg_m3"), pressure)

    def density(self, at: Any, gauge_pressure: Any = None) -> Any:
        """Return the density at a temperature.

        Parameters
        ----------
        at : str or pint.Quantity
            Temperature, such as ``"30 degC"``; scalar or array.
        gauge_pressure : str or pint.Quantity, optional
            Pressure above atmospheric.

        Returns
        -------
        pint.Quantity
            kg/m³.

        Raises
        ------
        OutOfRange
            Outside the fuel's temperatures or the standard's pressures.

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> f"{fuel('Jet A').density('30 degC').m_as('lb/gal'):.3f}"
        '6.651'
        """
        return answer(self._density(at, gauge_pressure), "kg/m^3", first_quantity(at, gauge_pressure))

    def mass(self, volume: Any, at: Any, gauge_pressure: Any = None) -> Any:
        """Return the mass of a volume at a temperature, in kg: true mass, as in vacuum.

        Parameters
        ----------
        volume : str or pint.Quantity
            Volume as it is at that temperature and pressure.
        at, gauge_pressure : str or pint.Quantity
            Temperature, and pressure above atmospheric.

        Returns
        -------
        pint.Quantity

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> f"{fuel('Jet A').mass('200 gal', at='30 degC').m_as('lb'):.1f}"
        '1330.1'
        """
        m3 = positive(volume, "m3", name="volume", zero=True)
        return answer(m3 * self._density(at, gauge_pressure), "kg", first_quantity(volume, at, gauge_pressure))

    def volume(self, mass: Any, at: Any, gauge_pressure: Any = None) -> Any:
        """Return the volume, in litres, that a mass has at a temperature.

        Parameters
        ----------
        mass : str or pint.Quantity
            True mass.
        at, gauge_pressure : str or pint.Quantity
            Temperature, and pressure above atmospheric.

        Returns
        -------
        pint.Quantity

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> f"{fuel('Jet A').volume('2000 lb', at='-10 degC').m_as('gal'):.2f}"
        '290.04'
        """
        kg = positive(mass, "kg", name="mass", zero=True)
        litres = kg / self._density(at, gauge_pressure) * 1000.0
        return answer(litres, "L", first_quantity(mass, at, gauge_pressure))

    def volume_correction_factor(self, at: Any, gauge_pressure: Any = None) -> Any:
        """Return the factor from a volume at a temperature and pressure to the base temperature, a plain number.

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> round(fuel("Jet A").volume_correction_factor("35 degC"), 4)
        0.9817
        """
        return self._density(at, gauge_pressure) / self.density_kg_m3(self.base_c)

    def net_volume(self, gross: Any, at: Any, gauge_pressure: Any = None) -> Any:
        """Return, in litres, what a volume at a temperature comes to at the base temperature.

        A temperature-compensating truck meter bills this.

        Parameters
        ----------
        gross : str or pint.Quantity
            Volume as it is.
        at, gauge_pressure : str or pint.Quantity
            Temperature, and pressure above atmospheric.

        Returns
        -------
        pint.Quantity

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> f"{fuel('Jet A').net_volume('1200 L', at='35 degC').m_as('L'):.1f}"
        '1178.0'
        """
        litres = positive(gross, "L", name="gross", zero=True)
        return answer(
            litres * self.volume_correction_factor(at, gauge_pressure), "L", first_quantity(gross, at, gauge_pressure)
        )

    def gross_volume(self, net: Any, at: Any, gauge_pressure: Any = None) -> Any:
        """Return, in litres, the volume at a temperature of what is billed at the base temperature.

        Parameters
        ----------
        net : str or pint.Quantity
            Volume at the base temperature.
        at, gauge_pressure : str or pint.Quantity
            Temperature, and pressure above atmospheric.

        Returns
        -------
        pint.Quantity

        Examples
        --------
        >>> from fuelunits.fuels.grades import fuel
        >>> f"{fuel('Jet A').gross_volume('1177.8 L', at='35 degC').m_as('L'):.1f}"
        '1199.8'
        """
        litres = positive(net, "L", name="net", zero=True)
        return answer(
            litres / self.volume_correction_factor(at, gauge_pressure), "L", first_quantity(net, at, gauge_pressure)
        )
