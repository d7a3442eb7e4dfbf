"""Means of repeated observations, with what they share and what acts anew in each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from fuelunits.errors import FuelUnitsError
from fuelunits.uncertainty.budget import Input, nominal, uncertain

__all__ = ["mean_of_repeats", "means_of", "own_derivatives"]


def means_of(observations: Mapping[str, Sequence[float]]) -> tuple[Any, ...]:
    """Make inputs of quantities observed together, several times: their means, correlated as observed.

    Parameters
    ----------
    observations : mapping of str to sequence of float
        By name, the same number of observations each: the first of one belongs to the first of the
        others. One quantity alone is well too.

    Returns
    -------
    tuple of uncertainties.UFloat
        In the same order. In a budget they appear as the independent parts that make up the
        observed correlation, not one by one.

    Raises
    ------
    FuelUnitsError
        If the series differ in length, or are shorter than two.

    Notes
    -----
    Means, standard deviations of the means and their correlation: JCGM 100:2008, 4.2.3 and 5.2.3.

    Examples
    --------
    >>> voltage, current = means_of({"V": [5.007, 4.994, 5.005], "I": [19.663, 19.639, 19.640]})
    >>> round((voltage / current).nominal_value, 4)
    0.2546
    """
    lengths = {len(series) for series in observations.values()}
    if len(lengths) != 1 or min(lengths) < 2:
        raise FuelUnitsError(
            f"observations made together: {sorted(lengths)} of them; the same number of each, 2 or more"
        )
    from uncertainties import correlated_values

    data = np.array([list(series) for series in observations.values()], dtype=float)
    count = data.shape[1]
    together = " and ".join(observations)
    tags = [Input(f"observations of {together}, part {i + 1}", "", count - 1) for i in range(len(data))]
    covariance = np.atleast_2d(np.cov(data)) / count
    return tuple(correlated_values(data.mean(axis=1), covariance, tags=tags))


def mean_of_repeats(values: Sequence[Any], *, name: str) -> Any:
    """Give the mean of repeated results, each with an uncertainty of its own and one that they share.

    Parameters
    ----------
    values : sequence of float or uncertainties.UFloat
        The results.
    name : str
        What to call the observed scatter in a budget.

    Returns
    -------
    float or uncertainties.UFloat
        What the results share does not average out. What acts anew in each of them, such as a
        reading, also shows in their scatter and counts once: as propagated, or as the experimental
        standard deviation of the mean with n - 1 degrees of freedom, whichever is larger.

    Examples
    --------
    >>> mean = mean_of_repeats([7592.1, 7592.9, 7592.3], name="repeatability")
    >>> round(mean.nominal_value, 3), round(mean.std_dev, 3)
    (7592.433, 0.24)
    """
    count = len(values)
    mean = sum(values[1:], values[0]) / count
    if count == 1:
        return mean
    observed = float(np.std([nominal(value) for value in values], ddof=1)) / math.sqrt(count)
    derivatives = own_derivatives(values, mean)
    if observed <= math.hypot(*(slope * variable.std_dev for variable, slope in derivatives.items())):
        return mean
    anew = sum(slope * (variable - variable.nominal_value) for variable, slope in derivatives.items())
    return mean - anew + uncertain(0.0, observed, name=name, degrees_of_freedom=count - 1)


def own_derivatives(values: Sequence[Any], result: Any) -> dict[Any, float]:
    """Give the derivatives of a result by those independent causes that act in one of the values only."""
    uses: dict[Any, int] = {}
    for value in values:
        for variable in getattr(value, "derivatives", {}):
            uses[variable] = uses.get(variable, 0) + 1
    return {
        variable: slope for variable, slope in getattr(result, "derivatives", {}).items() if uses.get(variable, 0) == 1
    }
