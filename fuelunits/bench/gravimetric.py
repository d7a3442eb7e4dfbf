"""Calibrating by weighing: the volume of what was collected, from its weight in air and its density."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fuelunits.arrays import as_number
from fuelunits.bench.run import EXPANSIONS_PER_K, TEMPERATURES_C, Run, check_all
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.water_and_air import buoyancy_factor
from fuelunits.ranges import Range
from fuelunits.uncertainty.budget import nominal
from fuelunits.uncertainty.measured import uncertain_magnitude

__all__ = ["GravimetricRun", "weighed_volume_l"]

_UNWEIGHED_KG = Range("mass that was not weighed", 0.0, 1e6, "kg", "what passes a transducer")


def weighed_volume_l(
    mass_reading_kg: Any,
    liquid_density_kg_m3: Any,
    air_density_kg_m3: Any,
    *,
    weights_density_kg_m3: Any = 8000.0,
    unweighed_mass_kg: Any = 0.0,
) -> Any:
    """Give the volume of a liquid from its weight in air.

    Parameters
    ----------
    mass_reading_kg : float or array
        What the balance read, full minus empty, kg.
    liquid_density_kg_m3 : float or array
        Density of the liquid as the volume is wanted, kg/m³.
    air_density_kg_m3 : float or array
        Density of the air around the balance, kg/m³.
    weights_density_kg_m3 : float or array
        Density of the weights for which the balance was adjusted, kg/m³.
    unweighed_mass_kg : float or array
        What passed and was not on the balance, kg: evaporated, or held up in the line.

    Returns
    -------
    float or array
        Litres. Uncertain numbers may stand for any of the floats.

    Raises
    ------
    OutOfRange
        If a density cannot be what its name says.

    Notes
    -----
    V = [m (1 - air/weights) / (1 - air/liquid) + m_unweighed] / liquid, the form of ISO 4787 without
    the expansion of a vessel.

    Examples
    --------
    >>> round(weighed_volume_l(28.702, 802.1, 1.19), 4)
    35.8314
    """
    liquid, air, weights = map(as_number, (liquid_density_kg_m3, air_density_kg_m3, weights_density_kg_m3))
    buoyancy_factor(nominal(liquid), nominal(air), nominal(weights))  # refuses what no density can be
    true_mass_kg = as_number(mass_reading_kg) * (1.0 - air / weights) / (1.0 - air / liquid)
    return 1000.0 * (true_mass_kg + as_number(unweighed_mass_kg)) / liquid


@dataclass(frozen=True, kw_only=True)
class GravimetricRun(Run):
    """One run by weighing. Any number may be an uncertain one.

    Attributes
    ----------
    pulses, duration_s, liquid_temperature_c : float
        As for :class:`fuelunits.bench.run.Run`.
    mass_reading_kg : float
        Mass collected, as weighed in air, full minus empty.
    liquid_density_kg_m3 : float
        Of the liquid, at `density_temperature_c`.
    air_density_kg_m3 : float
        Of the air around the balance; ``fuelunits.fuels.water_and_air.air_density_kg_m3`` computes it.
    density_temperature_c : float, optional
        Where the density was determined at another temperature than the transducer's; then
        `liquid_expansion_per_k` leads from one to the other.
    liquid_expansion_per_k : float, optional
        Cubic expansion of the liquid.
    balance_factor : float
        True reading over shown reading of the balance: its calibration, shared by its runs.
    weights_density_kg_m3 : float
        Density of the weights for which the balance was adjusted; 8000 by convention (OIML D 28).
    unweighed_mass_kg : float
        What passed the transducer and was not on the balance.

    Raises
    ------
    QuantityError, OutOfRange
        If a number makes no sense.
    FuelUnitsError
        If only one of `density_temperature_c` and `liquid_expansion_per_k` is given.

    Examples
    --------
    >>> from fuelunits.bench.run import counted
    >>> run = GravimetricRun(
    ...     pulses=counted(272_040), mass_reading_kg=28.702, duration_s=120.0, liquid_temperature_c=20.1,
    ...     liquid_density_kg_m3=802.1, air_density_kg_m3=1.19,
    ... )
    >>> round(run.k_pulses_per_l.nominal_value, 2), round(run.frequency_hz, 1)
    (7592.22, 2267.0)
    """

    mass_reading_kg: Any
    liquid_density_kg_m3: Any
    air_density_kg_m3: Any
    density_temperature_c: Any = None
    liquid_expansion_per_k: Any = None
    balance_factor: Any = 1.0
    weights_density_kg_m3: Any = 8000.0
    unweighed_mass_kg: Any = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        densities = ("liquid_density_kg_m3", "air_density_kg_m3", "weights_density_kg_m3")
        self.require_positive("mass_reading_kg", "balance_factor", *densities)
        buoyancy_factor(*(nominal(getattr(self, density)) for density in densities))
        if (self.density_temperature_c is None) != (self.liquid_expansion_per_k is None):
            raise FuelUnitsError(
                "a run by weighing: give both density_temperature_c and liquid_expansion_per_k, or neither "
                "where the density is that at the transducer's temperature"
            )
        if self.density_temperature_c is not None:
            check_all(TEMPERATURES_C, self.density_temperature_c)
            check_all(EXPANSIONS_PER_K, self.liquid_expansion_per_k)
        check_all(_UNWEIGHED_KG, self.unweighed_mass_kg)

    @classmethod
    def read(
        cls,
        *,
        pulses: Any,
        mass_reading: Any,
        duration: Any,
        liquid_temperature: Any,
        liquid_density: Any,
        air_density: Any,
        density_temperature: Any = None,
        liquid_expansion_per_k: Any = None,
        balance_factor: Any = 1.0,
        weights_density: Any = "8000 kg/m^3",
        unweighed_mass: Any = "0 kg",
    ) -> GravimetricRun:
        """Take a run from text and quantities.

        Parameters
        ----------
        pulses, liquid_expansion_per_k, balance_factor
            As the attributes.
        mass_reading, duration, liquid_temperature, liquid_density, air_density : str or pint.Quantity
            As the attributes; ``fuelunits.uncertainty.measured.measured`` gives them an uncertainty.
        density_temperature, weights_density, unweighed_mass : str or pint.Quantity, optional
            As the attributes.

        Examples
        --------
        >>> from fuelunits.uncertainty.measured import measured
        >>> run = GravimetricRun.read(
        ...     pulses=272_040, mass_reading=measured("28.702 kg", "1.5 g", name="balance reading"),
        ...     duration="2 min", liquid_temperature="20.1 degC", liquid_density="0.8021 kg/L",
        ...     air_density="1.19 kg/m^3",
        ... )
        >>> round(run.k_pulses_per_l.std_dev, 2)
        0.4
        """
        return cls(
            pulses=pulses,
            mass_reading_kg=uncertain_magnitude(mass_reading, "kg", name="mass reading"),
            duration_s=uncertain_magnitude(duration, "s", name="duration"),
            liquid_temperature_c=uncertain_magnitude(liquid_temperature, "degC", name="liquid temperature"),
            liquid_density_kg_m3=uncertain_magnitude(liquid_density, "kg/m^3", name="liquid density"),
            air_density_kg_m3=uncertain_magnitude(air_density, "kg/m^3", name="air density"),
            density_temperature_c=None
            if density_temperature is None
            else uncertain_magnitude(density_temperature, "degC", name="density temperature"),
            liquid_expansion_per_k=liquid_expansion_per_k,
            balance_factor=balance_factor,
            weights_density_kg_m3=uncertain_magnitude(weights_density, "kg/m^3", name="density of the weights"),
            unweighed_mass_kg=uncertain_magnitude(unweighed_mass, "kg", name="unweighed mass"),
        )

    @property
    def density_at_transducer_kg_m3(self) -> Any:
        """Density of the liquid as it passed the transducer, kg/m³."""
        if self.density_temperature_c is None:
            return self.liquid_density_kg_m3
        warmer_k = self.liquid_temperature_c - self.density_temperature_c
        return self.liquid_density_kg_m3 / (1.0 + self.liquid_expansion_per_k * warmer_k)

    @property
    def volume_l(self) -> Any:
        """Volume that passed the transducer, L."""
        return weighed_volume_l(
            self.mass_reading_kg * self.balance_factor,
            self.density_at_transducer_kg_m3,
            self.air_density_kg_m3,
            weights_density_kg_m3=self.weights_density_kg_m3,
            unweighed_mass_kg=self.unweighed_mass_kg,
        )
