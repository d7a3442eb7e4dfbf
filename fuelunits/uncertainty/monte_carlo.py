"""Draw a result from its inputs at random, as a check of propagating their uncertainties [jcgm_101_2008]."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from fuelunits.uncertainty.budget import nominal, standard_uncertainty


def monte_carlo(function: Callable[..., Any], inputs: Iterable[Any], *, seed: int, draws: int = 1_000_000) -> Any:
    """Return an array of results of a function of arrays, drawn from normal inputs, correlated as they are."""
    values = list(inputs)
    drawn = iter(_draws([value for value in values if standard_uncertainty(value)], np.random.default_rng(seed), draws))
    return function(
        *(next(drawn) if standard_uncertainty(value) else np.full(draws, nominal(value)) for value in values)
    )


def _draws(values: list[Any], generator: np.random.Generator, draws: int) -> Any:
    """Draw correlated normal numbers, one row a value."""
    if not values:
        return ()
    from uncertainties import correlation_matrix

    correlation = np.round(correlation_matrix(values), 12)  # what is uncorrelated is so exactly, on every machine
    standard = generator.multivariate_normal(np.zeros(len(values)), correlation, size=draws, method="eigh").T
    spread = np.array([standard_uncertainty(value) for value in values])
    middle = np.array([nominal(value) for value in values])
    return middle[:, None] + spread[:, None] * standard
