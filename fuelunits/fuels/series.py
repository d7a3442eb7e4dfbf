"""Density over large arrays: a polynomial in temperature, made on the spot from the formula itself.

The formula stays the definition. At one base density and one pressure it is smooth in temperature,
so that a Chebyshev series of degree nine or so gives it again to 1e-13, at an eighth of the cost.
The series is compared with the formula before it is used; where it does not give it again within
5e-13, the formula itself is evaluated, in the same blocks.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.polynomial import Chebyshev, Polynomial
from numpy.typing import NDArray

from fuelunits.arrays import is_scalar
from fuelunits.ranges import OnOutOfRange, Range

__all__ = ["in_blocks", "is_large"]

Array = NDArray[np.float64]

_LARGE = 131_072
"""Elements from which making the series, about half a millisecond, is worth its while."""

_BLOCK = 32_768
"""Elements worked on at a time, so that they stay in the processor's cache through every step."""

_DEGREE = 16
_NEGLIGIBLE = 1e-13
"""Part of the first coefficient below which the last ones are left out."""

_WITHIN = 5e-13
"""Relative difference from the formula that is allowed."""


def is_large(temperature_c: Any, gauge_pressure_kpa: Any) -> bool:
    """Tell whether a temperature is a plain float64 array worth a series, at one pressure.

    Whatever else there is (float32, a Series, a strided or small array) goes through the formula.
    """
    return (
        type(temperature_c) is np.ndarray
        and temperature_c.size >= _LARGE
        and temperature_c.dtype == np.float64
        and temperature_c.flags.c_contiguous
        and is_scalar(gauge_pressure_kpa)
    )


def in_blocks(
    density_kg_m3: Callable[[Array], Any], temperature_c: Array, valid: Range, out_of_range: OnOutOfRange
) -> Array:
    """Evaluate a density over a large array of temperatures, block by block.

    Parameters
    ----------
    density_kg_m3 : callable
        The formula: density of an array of temperatures in °C, anywhere in the valid range.
    temperature_c : numpy.ndarray
        °C, C-contiguous float64.
    valid : Range
        The range that each block is checked against.
    out_of_range : {"raise", "nan"}
        What to do outside.

    Returns
    -------
    numpy.ndarray
        kg/m³, within 5e-13 of the formula, of the same shape.

    Raises
    ------
    OutOfRange
        Naming the first temperature outside.

    Notes
    -----
    Besides the result it needs memory for a few blocks. It keeps nothing between calls, so that
    threads need not know of one another.

    Examples
    --------
    >>> t = np.linspace(-50.0, 150.0, 200_001)
    >>> valid = Range("temperature", -50.0, 150.0, "degC", "an example")
    >>> density = in_blocks(lambda t: 800.0 * np.exp(-0.0009 * (t - 15.0)), t, valid, "raise")
    >>> round(float(density[65_000]), 6)
    800.0
    """
    coefficients = _coefficients(density_kg_m3, valid)
    given, found, work = temperature_c.ravel(), np.empty(temperature_c.size), np.empty(_BLOCK)
    for start in range(0, given.size, _BLOCK):
        t, result = (each[start : start + _BLOCK] for each in (given, found))
        t = valid.check(t, out_of_range)
        if coefficients is None:
            result[...] = density_kg_m3(t)
        else:
            _horner(coefficients, t, result, work[: t.size])
    return found.reshape(temperature_c.shape)


def _coefficients(density_kg_m3: Callable[[Array], Any], valid: Range) -> list[NDArray[np.float64]] | None:
    """Give the coefficients of the powers of temperature, the highest first; None where they do not do."""
    series = Chebyshev.interpolate(density_kg_m3, _DEGREE, domain=[valid.low, valid.high])
    powers = series.trim(_NEGLIGIBLE * abs(series.coef[0])).convert(kind=Polynomial)
    t = np.linspace(valid.low, valid.high, 8 * _DEGREE)
    formula = np.asarray(density_kg_m3(t))
    if powers.degree() < 1 or not np.all(np.abs(powers(t) - formula) <= _WITHIN * formula):
        return None
    return [np.array(coefficient) for coefficient in reversed(powers.coef)]


def _horner(coefficients: list[NDArray[np.float64]], t: Array, result: Array, work: Array) -> None:
    """Evaluate a polynomial into `result` without making arrays; `work` is as large."""
    first, *middle, last = coefficients
    np.multiply(t, first, out=work)
    for coefficient in middle:
        np.add(work, coefficient, out=work)
        np.multiply(work, t, out=work)
    np.add(work, last, out=result)
