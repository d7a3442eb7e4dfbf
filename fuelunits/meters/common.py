"""One curve from several runs of a meter in liquids of different viscosity, and how well they agree.

Each run is Strouhal over Roshko number. The common curve is their mean, each run weighted by the
distance, in log Roshko, from its own nearer end: so a run fades in and out, and the common curve
has no step where one begins or ends. One run alone is its own common curve.

How well the runs agree is taken from the places where they overlap. If each run lies off the
common curve with a standard deviation s, two of them differ by s√2 on average.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations
from typing import Any

import numpy as np

from fuelunits.errors import FuelUnitsError
from fuelunits.meters.monotone import SAME, MonotoneCurve

__all__ = ["CommonCurve", "StrouhalRun"]


@dataclass(frozen=True, eq=False)
class StrouhalRun:
    """One run: its points, and the curve through them.

    Attributes
    ----------
    roshko, strouhal, relative_uncertainty : numpy.ndarray, shape (n,)
        By rising Roshko number; the uncertainty is the standard one of K, a fraction.
    curve : MonotoneCurve
        Strouhal over Roshko.
    """

    roshko: Any
    strouhal: Any
    relative_uncertainty: Any
    curve: MonotoneCurve

    @classmethod
    def through(cls, roshko: Any, strouhal: Any, relative_uncertainty: Any) -> StrouhalRun:
        """Lay the curve through points in any order."""
        order = np.argsort(roshko)
        ro, st = roshko[order], strouhal[order]
        return cls(ro, st, relative_uncertainty[order], MonotoneCurve.through(ro, st, name="Roshko number"))

    def weight(self, roshko: Any) -> Any:
        """Return how much this run counts: its distance from its nearer end, nothing beyond."""
        ln_ro = np.log(roshko)
        inside = np.minimum(ln_ro - self.curve.ln_x[0], self.curve.ln_x[-1] - ln_ro)
        return np.where(inside >= -SAME, np.maximum(inside, SAME), 0.0)

    def uncertainty(self, roshko: Any) -> Any:
        """Return the points' uncertainty between them, a straight line over log Roshko."""
        return np.interp(np.log(roshko), self.curve.ln_x, self.relative_uncertainty)


@dataclass(frozen=True, eq=False)
class CommonCurve:
    """The mean of several runs.

    Attributes
    ----------
    roshko, strouhal : numpy.ndarray, shape (n,)
        Every Roshko number at which there is a point, and the mean of the runs there.
    curve : MonotoneCurve
        Strouhal over Roshko, through them.
    relative_uncertainty : numpy.ndarray, shape (n,)
        That of the points, averaged as the curve is and not divided by a number of runs: they
        share one bench.
    scatter : float or None
        Relative standard deviation of a run from the common curve; None for a single run.

    Examples
    --------
    >>> runs = [
    ...     StrouhalRun.through(np.array(ro), np.array(st), np.full(3, 0.0005))
    ...     for ro, st in [([1e3, 3e3, 9e3], [14.0, 15.0, 15.4]), ([5e3, 2e4, 1e5], [15.2, 15.5, 15.6])]
    ... ]
    >>> common = CommonCurve.of(runs)
    >>> round(common.curve.y(7e3), 3), round(common.scatter, 5)
    (15.315, 0.00197)
    """

    roshko: Any
    strouhal: Any
    curve: MonotoneCurve
    relative_uncertainty: Any
    scatter: float | None

    @classmethod
    def of(cls, runs: Sequence[StrouhalRun]) -> CommonCurve:
        """Return the mean of runs.

        Raises
        ------
        FuelUnitsError
            If there is no run, or the runs leave a gap between them.
        """
        _refuse_gaps(runs)
        points = np.sort(np.concatenate([run.roshko for run in runs]))
        roshko = points[np.append(True, np.diff(np.log(points)) > SAME)]
        weights = np.array([run.weight(roshko) for run in runs])
        strouhal = np.average([run.curve.y(roshko) for run in runs], axis=0, weights=weights)
        uncertainty = np.average([run.uncertainty(roshko) for run in runs], axis=0, weights=weights)
        curve = MonotoneCurve.through(roshko, strouhal, name="Roshko number")
        return cls(roshko, strouhal, curve, uncertainty, _scatter(runs))

    def uncertainty(self, roshko: Any) -> Any:
        """Return the points' uncertainty between them, a straight line over log Roshko."""
        return np.interp(np.log(roshko), self.curve.ln_x, self.relative_uncertainty)


def _refuse_gaps(runs: Sequence[StrouhalRun]) -> None:
    """Refuse runs of which one begins where no other has been: nothing shows that they agree."""
    if not runs:
        raise FuelUnitsError("a common curve takes at least one run")
    reach = 0.0
    for run, following in pairwise(sorted(runs, key=lambda run: float(run.roshko[0]))):
        reach = max(reach, float(run.roshko[-1]))
        if following.roshko[0] >= reach:
            raise FuelUnitsError(
                f"no run covers the Roshko numbers from {reach:g} to {following.roshko[0]:g}; runs must overlap "
                f"to show that they share a curve: take more points there, or make two curves"
            )


def _scatter(runs: Sequence[StrouhalRun]) -> float | None:
    """Return the standard deviation of a run, from each run's points against every other run's curve."""
    differences = []
    for run, other in permutations(runs, 2):
        shared = (run.roshko >= other.roshko[0]) & (run.roshko <= other.roshko[-1])
        differences.append(run.strouhal[shared] / other.curve.y(run.roshko[shared]) - 1.0)
    return float(np.sqrt(np.mean(np.concatenate(differences) ** 2) / 2.0)) if differences else None
