"""Means of repeated observations, with the causes that they share and those that act separately in each."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from fuelunits.errors import FuelUnitsError
from fuelunits.uncertainty.budget import correlated_inputs, nominal, uncertain

_NOISE = 1e-9
"""Relative scatter that is of floating-point arithmetic alone: results that agree to the last digit."""


def means_of(observations: Mapping[str, Sequence[float]]) -> tuple[Any, ...]:
    """Return the means of quantities observed together several times, with the correlation observed.

    They have n - 1 degrees of freedom jointly. JCGM 100:2008, 4.2.3 and 5.2.3.
    """
    lengths = {len(series) for series in observations.values()}
    if len(lengths) != 1 or min(lengths) < 2:
        raise FuelUnitsError(
            f"observations made together: {sorted(lengths)} of them; give the same number of each, 2 or more"
        )
    data = np.array([list(series) for series in observations.values()], dtype=float)
    count = data.shape[1]
    means = dict(zip(observations, data.mean(axis=1).tolist(), strict=True))
    named = {f"observations of {name}" if len(means) == 1 else name: mean for name, mean in means.items()}
    return correlated_inputs(named, np.atleast_2d(np.cov(data)) / count, degrees_of_freedom=count - 1)


def mean_of_repeats(values: Sequence[Any], *, name: str, unit: str = "", repeatability: float = 0.0) -> Any:
    """Return the mean of repeated results, each with an uncertainty of its own and one that they share.

    The causes that the results share do not average out. A cause that acts separately in each of them, such as a
    reading, also shows in their scatter and counts once: as propagated, as the `repeatability` (a standard deviation
    well known from many earlier results) or as the experimental standard deviation of the mean, whichever is largest.
    Without the second it has n - 1 degrees of freedom: close results do not prove that no other cause acts in them.
    """
    count = len(values)
    mean = sum(values[1:], values[0]) / count
    if count == 1:
        return mean + uncertain(0.0, repeatability, name=name, unit=unit)
    observed = float(np.std([nominal(value) for value in values], ddof=1)) / math.sqrt(count)
    if observed <= _NOISE * abs(nominal(mean)):
        observed = 0.0
    own = own_derivatives(values, mean)
    propagated = math.hypot(*(slope * variable.std_dev for variable, slope in own.items()))
    known = repeatability / math.sqrt(count)
    degrees = math.inf if known and observed <= max(known, propagated) else count - 1
    anew = sum(slope * (variable - variable.nominal_value) for variable, slope in own.items())
    return (
        mean - anew + uncertain(0.0, max(observed, propagated, known), name=name, unit=unit, degrees_of_freedom=degrees)
    )


def own_derivatives(values: Sequence[Any], result: Any) -> dict[Any, float]:
    """Return the derivatives of a result by those independent causes that act in one of the values only."""
    uses = Counter(variable for value in values for variable in getattr(value, "derivatives", {}))
    slopes = getattr(result, "derivatives", {})
    return {variable: slope for variable, slope in slopes.items() if uses[variable] == 1}
