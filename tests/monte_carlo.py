"""Monte Carlo by the Supplements to the GUM, against which first order is checked."""

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
from uncertainties import correlation_matrix

from fuelunits.uncertainty.budget import nominal, standard_uncertainty


def monte_carlo(function: Callable[..., Any], inputs: Iterable[Any], *, seed: int, draws: int = 1_000_000) -> Any:
    """Return results of a function of arrays from correlated normal draws, as JCGM 101:2008 has it."""

    values = [(nominal(value), standard_uncertainty(value), value) for value in inputs]
    varied, drawn = [value for _, u, value in values if u], iter(())
    if varied:
        correlation = np.round(correlation_matrix(varied), 12)  # what is uncorrelated is so exactly, on every machine
        normal = np.random.default_rng(seed).multivariate_normal
        drawn = iter(normal(np.zeros(len(varied)), correlation, draws, method="eigh").T)
    return function(*(mean + (u * next(drawn) if u else np.zeros(draws)) for mean, u, _ in values))
