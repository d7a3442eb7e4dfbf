"""Calibrate by weighing: the volume of the liquid collected, from its weight in air and its density."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from fuelunits.bench.run import EXPANSIONS_PER_K, TEMPERATURES_C, Run, check_all
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.water_and_air import buoyancy_factor
from fuelunits.sources import Range
from fuelunits.uncertainty.budget import nominal

_UNWEIGHED_KG = Range("mass that was not weighed", 0.0, 1e6, "kg", "what passes a transducer")


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class GravimetricRun(Run):
    """One run by weighing. Any number may be an uncertain one; text and quantities go to :meth:`read`.

    Attributes
    ----------
    pulses, duration_s, liquid_temperature_c : float
        Pulses of the transducer (:func:`~fuelunits.bench.run.counted`), the time of counting and collecting, and the
        temperature of the liquid at the transducer.
    mass_reading_kg : float, mass collected, as weighed in air, full minus empty
    liquid_density_kg_m3 : float, of the liquid, at `density_temperature_c`
    air_density_kg_m3 : float
        Of the air around the balance; ``fuelunits.fuels.water_and_air.air_density_kg_m3`` computes it.
    density_temperature_c : float, optional
        Where the density was determined at another temperature than the transducer's; then
        `liquid_expansion_per_k` converts between them.
    vessel_temperature_c : float, optional, of the liquid on the balance, where it is another than at the transducer
    liquid_expansion_per_k : float, optional
        Cubic expansion of the liquid; needed with either of these temperatures, and only with them.
    balance_factor : float, true over displayed reading of the balance: its calibration, shared by its runs
    weights_density_kg_m3 : float
        Density of the weights for which the balance was adjusted; 8000 by convention (OIML D 28).
    unweighed_mass_kg : float, mass that passed the transducer but not to the balance: evaporated, or held in the line

    Examples
    --------
    >>> from fuelunits.bench.run import counted
    >>> run = GravimetricRun(
    ...     pulses=counted(408_900), mass_reading_kg=28.702, duration_s=120.0, liquid_temperature_c=20.1,
    ...     liquid_density_kg_m3=802.1, air_density_kg_m3=1.19,
    ... )
    >>> round(run.k_pulses_per_l.nominal_value, 2), round(run.frequency_hz, 1)
    (11411.78, 3407.5)
    """

    mass_reading_kg: Any
    liquid_density_kg_m3: Any
    air_density_kg_m3: Any
    density_temperature_c: Any = None
    vessel_temperature_c: Any = None
    liquid_expansion_per_k: Any = None
    balance_factor: Any = 1.0
    weights_density_kg_m3: Any = 8000.0
    unweighed_mass_kg: Any = 0.0

    needs_uncertainty: ClassVar[tuple[tuple[str, ...], ...]] = (
        ("mass_reading_kg", "balance_factor"),
        ("liquid_density_kg_m3",),
    )

    def __post_init__(self) -> None:
        super().__post_init__()
        densities = ("liquid_density_kg_m3", "air_density_kg_m3", "weights_density_kg_m3")
        self.require_positive("mass_reading_kg", "balance_factor", *densities)
        others = [t for t in (self.density_temperature_c, self.vessel_temperature_c) if t is not None]
        if bool(others) != (self.liquid_expansion_per_k is not None):
            raise FuelUnitsError(
                "a run by weighing: liquid_expansion_per_k is needed with density_temperature or vessel_temperature, "
                "and only with them; neither is needed where the density is that at the transducer's temperature"
            )
        if others:
            check_all(TEMPERATURES_C, *others)
            check_all(EXPANSIONS_PER_K, self.liquid_expansion_per_k)
        check_all(_UNWEIGHED_KG, self.unweighed_mass_kg)
        for liquid in (self.liquid_density_kg_m3, self.density_at_transducer_kg_m3, self.density_in_vessel_kg_m3):
            buoyancy_factor(*map(nominal, (liquid, self.air_density_kg_m3, self.weights_density_kg_m3)))

    @property
    def density_at_transducer_kg_m3(self) -> Any:
        """Density of the liquid as it passed the transducer, kg/m³."""
        return self._density_at(self.liquid_temperature_c)

    @property
    def density_in_vessel_kg_m3(self) -> Any:
        """Density of the liquid on the balance, kg/m³."""
        return self._density_at(self.vessel_temperature_c)

    def _density_at(self, temperature_c: Any) -> Any:
        if self.liquid_expansion_per_k is None:
            return self.liquid_density_kg_m3
        # a temperature that is not given is that at the transducer
        at, known = (self.liquid_temperature_c if t is None else t for t in (temperature_c, self.density_temperature_c))
        return self.liquid_density_kg_m3 / (1.0 + self.liquid_expansion_per_k * (at - known))

    @property
    def volume_l(self) -> Any:
        """Volume that passed the transducer, L: [m (1 - air/weights) / (1 - air/vessel) + m_unweighed] / liquid.

        The form of ISO 4787 without the expansion of a vessel. The density in the vessel, on the balance, decides how
        much the air buoyed the liquid: of 60 °C at the transducer and 20 °C on the balance by about 5e-5 of its mass
        less than if it were weighed hot.
        """
        air, true_kg = self.air_density_kg_m3, self.mass_reading_kg * self.balance_factor
        true_kg *= (1.0 - air / self.weights_density_kg_m3) / (1.0 - air / self.density_in_vessel_kg_m3)
        return 1000.0 * (true_kg + self.unweighed_mass_kg) / self.density_at_transducer_kg_m3
