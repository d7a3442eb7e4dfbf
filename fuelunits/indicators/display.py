"""What a display shows of a flow: its steps, and zero below its cutoff."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from fuelunits.arrays import as_float, is_scalar

__all__ = ["decimals", "displayed"]

_SLACK = 1e-9
"""In display steps: a flow this near to a half counts as the half. Float errors are smaller below a million steps."""
_MOST_DECIMALS = 6


def displayed(flow: Any, *, step: float | Fraction | None = None, cutoff: float = 0.0) -> Any:
    """Give what a display shows of a flow.

    Parameters
    ----------
    flow : float or array
        Not negative, in the display's unit.
    step : float or Fraction, optional
        The display step in that unit; a float counts as the decimal number that it prints. Rounding
        is to the nearest step, halves up.
    cutoff : float
        The lowest flow shown: below it the display is zero. It is compared before rounding.

    Returns
    -------
    float or array

    Examples
    --------
    >>> displayed(12.25, step=0.1), displayed(12.24, step=0.1), displayed(3.9, step=1.0, cutoff=4.0)
    (12.3, 12.2, 0.0)
    """
    given = as_float(flow)
    shown = given
    if step is not None:
        size = step if isinstance(step, Fraction) else Fraction(repr(step))
        shown = np.floor(given / float(size) + 0.5 + _SLACK) * float(size.numerator) / float(size.denominator)
    hidden = given < cutoff * (1.0 - _SLACK)
    if is_scalar(given):
        return 0.0 if hidden else float(shown)
    return np.where(hidden, 0.0, shown)


def decimals(step: Fraction | None) -> int:
    """Give how many decimals show a display step exactly, up to six; three where there is no step.

    Examples
    --------
    >>> decimals(Fraction(1, 4)), decimals(Fraction(5)), decimals(None)
    (2, 0, 3)
    """
    if step is None:
        return 3
    exact = (places for places in range(_MOST_DECIMALS) if (step * 10**places).denominator == 1)
    return next(exact, _MOST_DECIMALS)
