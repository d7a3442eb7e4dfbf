"""A run on the calibration bench: pulses over the volume that passed the transducer.

The volume is found by weighing (:mod:`fuelunits.bench.gravimetric`) or read from a measure
(:mod:`fuelunits.bench.volumetric`). Each input is a number, or an uncertain number of
:mod:`fuelunits.uncertainty.budget`; runs that use the same balance, densitometer or measure use the same
object for it, and their mean keeps that part whole.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass, fields
from typing import Any

from fuelunits.errors import QuantityError
from fuelunits.ranges import Range
from fuelunits.uncertainty.budget import nominal, one_value, triangular
from fuelunits.validation import coerce_fields, format_value

__all__ = ["EXPANSIONS_PER_K", "TEMPERATURES_C", "Run", "check_all", "counted"]

EXPANSIONS_PER_K = Range("cubic expansion", 0.0, 0.002, "1/K", "liquids and metals of a bench")
TEMPERATURES_C = Range("temperature", -60.0, 150.0, "degC", "liquids of a bench")


def counted(pulses: int, *, name: str = "pulse count") -> Any:
    """Make an input of a count that starts and stops anywhere between two pulses: ±1, triangular.

    Parameters
    ----------
    pulses : int
        Whole pulses counted.
    name : str
        For the budget.

    Returns
    -------
    uncertainties.UFloat

    Raises
    ------
    QuantityError
        If it is no whole number from 1 up.

    Notes
    -----
    Start and stop each lose a part of a pulse that is evenly spread over 0 to 1; their difference is
    triangular on ±1, so u = 1/√6 (JCGM 100:2008, 4.3.9). Where the run is gated by the pulses themselves,
    give the plain count instead.

    Examples
    --------
    >>> round(counted(272_040).std_dev, 3)
    0.408
    """
    if isinstance(pulses, bool) or not isinstance(pulses, int) or pulses < 1:
        raise QuantityError(f"pulses: {format_value(pulses)} is no count; counts are whole numbers from 1 up")
    return triangular(pulses, 1.0, name=name, unit="pulse")


@dataclass(frozen=True, kw_only=True)
class Run(ABC):
    """What every run on a bench has.

    Attributes
    ----------
    pulses : float
        Pulses of the transducer; see :func:`counted`.
    duration_s : float
        Time over which the pulses were counted and the liquid collected.
    liquid_temperature_c : float
        Of the liquid at the transducer.
    """

    pulses: Any
    duration_s: Any
    liquid_temperature_c: Any

    def __post_init__(self) -> None:
        coerce_fields(self, [field.name for field in fields(self)], one_value, "a run on the bench: ")
        self.require_positive("pulses", "duration_s")
        check_all(TEMPERATURES_C, self.liquid_temperature_c)

    @property
    @abstractmethod
    def volume_l(self) -> Any:
        """Volume that passed the transducer, L."""

    @property
    def k_pulses_per_l(self) -> Any:
        """K found, pulses per litre."""
        return self.pulses / self.volume_l

    @property
    def frequency_hz(self) -> float:
        """Pulse frequency, Hz."""
        return float(nominal(self.pulses) / nominal(self.duration_s))

    def require_positive(self, *names: str) -> None:
        """Refuse attributes that are not positive and finite."""
        for name in names:
            value = nominal(getattr(self, name))
            if not 0.0 < value < math.inf:
                raise QuantityError(f"a run on the bench: {name} is {value}; it must be positive and finite")


def check_all(limits: Range, *values: Any) -> None:
    """Refuse what is outside its range, or missing."""
    for value in values:
        if math.isnan(limits.check(nominal(value))):
            raise QuantityError(f"a run on the bench: the {limits.name} is missing")
