"""The reading of a display for a flow: its steps, and zero below its cutoff."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor
from typing import Any

import numpy as np

from fuelunits.arrays import as_float, is_scalar

_SLACK = 1e-9
"""In display steps: a flow this near to a half counts as the half. Float errors are smaller below a million steps."""
_MOST_DECIMALS = 6


def displayed(flow: Any, *, step: float | Fraction | None = None, cutoff: float = 0.0) -> Any:
    """Return the reading of a display for a flow, scalar or array, with step and cutoff in its unit.

    Rounding is to the nearest step, halves up; a float step counts as the decimal number that it prints. Below the
    cutoff, compared before rounding, the display is zero.

    Examples
    --------
    >>> displayed(12.25, step=0.1), displayed(12.24, step=0.1), displayed(3.9, step=1.0, cutoff=4.0)
    (12.3, 12.2, 0.0)
    """
    given = as_float(flow)
    rounded = given
    if step is not None:
        size = step if isinstance(step, Fraction) else Fraction(repr(step))
        rounded = np.floor(given / float(size) + 0.5 + _SLACK) * float(size.numerator) / float(size.denominator)
    hidden = given < cutoff * (1.0 - _SLACK)
    if is_scalar(given):
        return 0.0 if hidden else float(rounded)
    return np.where(hidden, 0.0, rounded)


def displayed_exact(flow: Fraction, step: Fraction | None, cutoff: Fraction) -> Fraction:
    """Return what :func:`displayed` does, in exact rational numbers."""
    if flow < cutoff:
        return Fraction(0)
    return flow if step is None else floor(flow / step + Fraction(1, 2)) * step


def steps_within(low: Fraction, high: Fraction, step: Fraction | None) -> tuple[Fraction, Fraction] | None:
    """Return the lowest and the highest value that a display can show from `low` to `high`, or None without one."""
    first, last = (low, high) if step is None else (ceil(low / step) * step, floor(high / step) * step)
    return (first, last) if first <= last else None


def decimals(step: Fraction | None) -> int:
    """Return how many decimals print a display step exactly, up to six; three where there is no step."""
    if step is None:
        return 3
    exact = (places for places in range(_MOST_DECIMALS) if (step * 10**places).denominator == 1)
    return next(exact, _MOST_DECIMALS)
