"""Calibrate by volume: into a measure or through a prover, at temperatures of their own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from fuelunits.arrays import as_number
from fuelunits.bench.run import EXPANSIONS_PER_K, TEMPERATURES_C, Run, check_all

__all__ = ["VolumetricRun", "measured_volume_l"]


def measured_volume_l(
    measure_volume_l: Any,
    measure_temperature_c: Any,
    liquid_temperature_c: Any,
    *,
    measure_expansion_per_k: Any,
    liquid_expansion_per_k: Any,
    reference_temperature_c: float = 20.0,
) -> Any:
    """Return the volume, in litres, of a liquid at the transducer from that in a measure at another temperature.

    The volume of the measure is that at its reference temperature. Linear expansion laws of both, good to 2e-6 for a
    liquid of 0.001 per K over 2 K (the square of the product, halved). Common practice.
    """
    measure_c, liquid_c = as_number(measure_temperature_c), as_number(liquid_temperature_c)
    measure = 1.0 + as_number(measure_expansion_per_k) * (measure_c - reference_temperature_c)
    liquid = 1.0 + as_number(liquid_expansion_per_k) * (liquid_c - measure_c)
    return as_number(measure_volume_l) * measure * liquid


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class VolumetricRun(Run):
    """One run into a measure or through a prover. Any number may be an uncertain one; text goes to :meth:`read`.

    Attributes
    ----------
    pulses, duration_s, liquid_temperature_c : float
        As for a run by weighing.
    measure_volume_l : float
        Volume of the measure or prover at its reference temperature.
    measure_temperature_c : float
        Of the measure with the liquid in it.
    measure_expansion_per_k, liquid_expansion_per_k : float
        Cubic expansion of the measure's material, from its certificate, and of the liquid.
    reference_temperature_c : float
        Of the measure's certificate.

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
        """Volume that passed the transducer, L."""
        return measured_volume_l(
            self.measure_volume_l,
            self.measure_temperature_c,
            self.liquid_temperature_c,
            measure_expansion_per_k=self.measure_expansion_per_k,
            liquid_expansion_per_k=self.liquid_expansion_per_k,
            reference_temperature_c=self.reference_temperature_c,
        )
