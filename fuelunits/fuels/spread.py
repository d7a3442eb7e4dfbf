"""How much batches of one grade differ, and an estimate of the share of them between two densities."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fuelunits.errors import QuantityError
from fuelunits.reports import Report, Reporting
from fuelunits.sources import Sourced

__all__ = ["ShareOfBatches", "Spread", "share_of_batches"]

_STEPS = 16
"""Steps from the lowest to the highest mean, and standard deviation, over which the least share is sought."""

_ASSUMED = "assumes normally distributed batches; the samples are kerosenes of one data set, not a survey of the grade"


@dataclass(frozen=True, kw_only=True)
class Spread(Sourced):
    """The standard deviation of the density of batches at 15 °C, as 95 % limits.

    Attributes
    ----------
    low, high : float
        Limits of the standard deviation, kg/m³.
    """

    low: float
    high: float

    @property
    def limits_kg_m3(self) -> tuple[float, float]:
        """Both limits, kg/m³."""
        return self.low, self.high

    def __str__(self) -> str:
        return f"standard deviation of batches {self.low:.1f} to {self.high:.1f} kg/m³ (95 %)"


def share_of_batches(
    low_kg_m3: float, high_kg_m3: float, means_kg_m3: tuple[float, float], deviations_kg_m3: tuple[float, float]
) -> tuple[float, float]:
    """Return the least and the largest share of a normal distribution between two values.

    Parameters
    ----------
    low_kg_m3, high_kg_m3 : float
        The two densities, the lower first.
    means_kg_m3, deviations_kg_m3 : (float, float)
        Limits of the mean, and of the standard deviation, positive.

    Examples
    --------
    >>> low, high = share_of_batches(786.8, 818.9, (808.0, 808.0), (7.15, 11.96))
    >>> round(low, 2), round(high, 2)
    (0.78, 0.93)
    """
    if not low_kg_m3 <= high_kg_m3:
        raise QuantityError(f"densities are {low_kg_m3:g} and {high_kg_m3:g} kg/m^3; write the lower one first")
    shares = [
        _below((high_kg_m3 - mean) / deviation) - _below((low_kg_m3 - mean) / deviation)
        for mean in _between(*means_kg_m3)
        for deviation in _between(*deviations_kg_m3)
    ]
    return min(shares), max(shares)


def _below(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _between(low: float, high: float) -> list[float]:
    return [low + (high - low) * step / _STEPS for step in range(_STEPS + 1)]


@dataclass(frozen=True, repr=False)
class ShareOfBatches(Reporting):
    """An estimate of the share of batches of a grade whose density lies between two.

    Attributes
    ----------
    name : str
        The grade.
    low_kg_m3, high_kg_m3, at_c : float
        The two densities and their temperature, °C.
    share : (float, float) or None
        The least and the largest share, 0 to 1; None where there are no data.
    spread : Spread or None
        What it rests on.
    """

    name: str
    low_kg_m3: float
    high_kg_m3: float
    at_c: float
    share: tuple[float, float] | None
    spread: Spread | None

    @property
    def verdict(self) -> str:
        """The estimate in words, or that there is none."""
        if self.share is None:
            return "no estimate: no data on how batches of this grade differ"
        low, high = (round(100.0 * each) for each in self.share)
        return f"estimate: {low} to {high} % of batches"

    def report(self) -> Report:
        """Return what a person reads of the estimate."""
        return Report(
            f"{self.name} between {self.low_kg_m3:.1f} and {self.high_kg_m3:.1f} kg/m³ at {self.at_c:.4g} °C",
            verdict=self.verdict,
            facts={"spread": self.spread and str(self.spread)},
            remarks=(_ASSUMED,) if self.spread else (),
            sources=(self.spread.source,) if self.spread else (),
        )
