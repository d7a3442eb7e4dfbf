"""Strouhal over Roshko number: the numbers, one curve from several runs in different liquids, and how well they agree.

The numbers are written with the volume flow and powers of any length of the body, as NIST does [nist_turbine_meters];
Strouhal is f L/V [fluids_strouhal]. The common curve is the mean of the runs, each weighted by the distance, in log
Roshko, from its own nearer end, so that it has no step where a run begins or ends. Agreement is taken from the places
where runs overlap: if each lies off the common curve with a standard deviation s, two of them differ by s√2 on average.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations
from math import pi
from typing import Any

import numpy as np

from fuelunits.arrays import as_float
from fuelunits.errors import FuelUnitsError
from fuelunits.meters.monotone import SAME, MonotoneCurve
from fuelunits.meters.rates import positive_floats


def strouhal(frequency_hz: Any, diameter_m: Any, flow_m3_s: Any) -> Any:
    """Return the Strouhal number f D³/q, which is K D³ with K in pulses per m³."""
    return as_float(frequency_hz) * _positive(diameter_m) ** 3 / positive_floats(flow_m3_s, "flow_m3_s")


def roshko(frequency_hz: Any, diameter_m: Any, viscosity_m2_s: Any) -> Any:
    """Return the Roshko number f D²/ν."""
    return as_float(frequency_hz) * _positive(diameter_m) ** 2 / positive_floats(viscosity_m2_s, "viscosity_m2_s")


def reynolds(flow_m3_s: Any, diameter_m: Any, viscosity_m2_s: Any) -> Any:
    """Return the Reynolds number 4 q/(π D ν) of a pipe of that diameter, which is 4/π times Roshko over Strouhal."""
    viscosity = positive_floats(viscosity_m2_s, "viscosity_m2_s")
    return 4.0 * as_float(flow_m3_s) / (pi * _positive(diameter_m) * viscosity)


def _positive(diameter_m: Any) -> Any:
    return positive_floats(diameter_m, "diameter_m")


@dataclass(frozen=True, eq=False)
class StrouhalRun:
    """Points by rising Roshko number, the standard uncertainty of K at each (a fraction), and their curve."""

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
        """Return the points' uncertainty at and between them."""
        return self.curve.straight(roshko, self.relative_uncertainty)


@dataclass(frozen=True, eq=False)
class CommonCurve(StrouhalRun):
    """The mean of several runs at every Roshko number at which there is a point.

    Its uncertainty is averaged as the curve is and not divided by a number of runs: they share one bench. The
    scatter is the relative standard deviation of a run from the common curve; None for a single run.
    """

    scatter: float | None

    @classmethod
    def of(cls, runs: Sequence[StrouhalRun]) -> CommonCurve:
        """Return the mean of runs that overlap."""
        _refuse_gaps(runs)
        points = np.sort(np.concatenate([run.roshko for run in runs]))
        roshko = points[np.append(True, np.diff(np.log(points)) > SAME)]
        weights = np.array([run.weight(roshko) for run in runs])
        strouhal = np.average([run.curve.y(roshko) for run in runs], axis=0, weights=weights)
        uncertainty = np.average([run.uncertainty(roshko) for run in runs], axis=0, weights=weights)
        return cls(**vars(StrouhalRun.through(roshko, strouhal, uncertainty)), scatter=_scatter(runs))


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
