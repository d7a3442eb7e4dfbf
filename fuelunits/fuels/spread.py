"""How much batches of one grade differ, and an estimate of the share of them between two densities.

Batches are taken as normally distributed. The estimate is a range: over the published means, and over the 95 % limits
of the standard deviation.
"""

from __future__ import annotations

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
    """The 95 % limits of the standard deviation of the density of batches at 15 °C, kg/m³."""

    low: float
    high: float

    def __str__(self) -> str:
        return f"standard deviation of batches {self.low:.1f} to {self.high:.1f} kg/m³ (95 %)"


def share_of_batches(
    low_kg_m3: float, high_kg_m3: float, means_kg_m3: tuple[float, float], spread: Spread
) -> tuple[float, float]:
    """Return the least and the largest share, 0 to 1, of batches between two densities at 15 °C."""
    if not low_kg_m3 <= high_kg_m3:
        raise QuantityError(f"densities are {low_kg_m3:g} and {high_kg_m3:g} kg/m^3; write the lower one first")
    from statistics import NormalDist

    batches = [
        NormalDist(mean, deviation)
        for mean in _between(*means_kg_m3)
        for deviation in _between(spread.low, spread.high)
    ]
    shares = [each.cdf(high_kg_m3) - each.cdf(low_kg_m3) for each in batches]
    return min(shares), max(shares)


def _between(low: float, high: float) -> list[float]:
    return [low + (high - low) * step / _STEPS for step in range(_STEPS + 1)]


@dataclass(frozen=True, repr=False)
class ShareOfBatches(Reporting):
    """An estimate of the share of batches of a grade, 0 to 1, between two densities; None where there are no data."""

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
