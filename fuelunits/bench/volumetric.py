"""Calibrate by volume: into a measure or through a prover, each at its own temperature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from fuelunits.bench.run import EXPANSIONS_PER_K, TEMPERATURES_C, Run, check_all


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class VolumetricRun(Run):
    """One run into a measure or through a prover. Any number may be an uncertain one; text goes to :meth:`read`.

    Attributes
    ----------
    pulses, duration_s, liquid_temperature_c : float, as for a run by weighing
    measure_volume_l : float, volume of the measure or prover at its reference temperature
    measure_temperature_c : float, of the measure with the liquid in it
    measure_expansion_per_k, liquid_expansion_per_k : float
        Cubic expansion of the measure's material, from its certificate, and of the liquid.
    reference_temperature_c : float, of the measure's certificate

    Examples
    --------
    >>> from fuelunits.bench.run import counted
    >>> run = VolumetricRun(
    ...     pulses=counted(59_010), measure_volume_l=20.0, duration_s=60.0, liquid_temperature_c=22.0,
    ...     measure_temperature_c=22.0, measure_expansion_per_k=50e-6, liquid_expansion_per_k=9e-4,
    ... )
    >>> round(run.k_pulses_per_l.nominal_value, 2)
    2950.2
    """

    measure_volume_l: Any
    measure_temperature_c: Any
    measure_expansion_per_k: Any
    liquid_expansion_per_k: Any
    reference_temperature_c: Any = 20.0

    needs_uncertainty: ClassVar[tuple[tuple[str, ...], ...]] = (("measure_volume_l",),)

    def __post_init__(self) -> None:
        super().__post_init__()
        self.require_positive("measure_volume_l")
        check_all(TEMPERATURES_C, self.measure_temperature_c, self.reference_temperature_c)
        check_all(EXPANSIONS_PER_K, self.measure_expansion_per_k, self.liquid_expansion_per_k)

    @property
    def volume_l(self) -> Any:
        """Volume that passed the transducer, L: that of the measure, grown from its reference, at the transducer.

        Linear expansion laws of measure and liquid, good to 2e-6 for a liquid of 0.001 per K over 2 K (the square of
        the product, halved). Common practice.
        """
        measure = 1.0 + self.measure_expansion_per_k * (self.measure_temperature_c - self.reference_temperature_c)
        liquid = 1.0 + self.liquid_expansion_per_k * (self.liquid_temperature_c - self.measure_temperature_c)
        return self.measure_volume_l * measure * liquid
