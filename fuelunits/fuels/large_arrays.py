"""Density over large arrays of temperatures: a polynomial, made from the formula itself and kept.

At one base density and one pressure the formula is smooth in temperature: a Chebyshev series of degree nine or so
reproduces it to 1e-13, at an eighth of the cost. It is compared with the formula before it is used; where it does not
reproduce it within 5e-13, the formula itself is evaluated.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from fuelunits.arrays import is_scalar
from fuelunits.fuels.liquid import Liquid
from fuelunits.sources import OnOutOfRange, Range

_LARGE = 8_192
"""Elements from which a series that is kept saves time; making it takes half a millisecond."""

_BLOCK = 32_768
"""Elements evaluated at a time, so that they stay in the processor's cache through every step."""

_DEGREE = 16
_WITHIN = 5e-13
"""Relative difference from the formula that is allowed."""


def is_large(temperature_c: Any, gauge_pressure_kpa: Any) -> bool:
    """Return whether a temperature is a plain contiguous float64 array worth a series, at one pressure."""
    if is_scalar(temperature_c) or not is_scalar(gauge_pressure_kpa):
        return False
    import numpy as np

    return (
        type(temperature_c) is np.ndarray
        and temperature_c.size >= _LARGE
        and temperature_c.dtype == np.float64
        and temperature_c.flags.c_contiguous
    )


def density_over(
    model: Liquid, temperature_c: Any, gauge_pressure_kpa: float, valid: Range, out_of_range: OnOutOfRange
) -> Any:
    """Return the density, kg/m³, within 5e-13 of the formula; checked against `valid` and evaluated block by block.

    Series are kept for the liquids used last; two threads may make the same one, to the same digits.
    """
    import numpy as np

    coefficients = _coefficients(model, gauge_pressure_kpa, valid.low, valid.high, out_of_range)
    # what no series reproduces goes through the formula, in blocks that are not large themselves
    size = _LARGE - 1 if coefficients is None else _BLOCK
    given, found, scratch = temperature_c.ravel(), np.empty(temperature_c.size), np.empty(size)
    for start in range(0, given.size, size):
        t, result = (each[start : start + size] for each in (given, found))
        t = valid.check(t, out_of_range)
        if coefficients is None:
            result[...] = model.density_kg_m3(t, gauge_pressure_kpa, out_of_range=out_of_range)
        else:
            _horner(coefficients, t, result, scratch[: t.size])
    return found.reshape(temperature_c.shape)


@lru_cache(maxsize=256)
def _coefficients(
    model: Liquid, p: float, low: float, high: float, out_of_range: OnOutOfRange
) -> tuple[Any, ...] | None:
    """Return the coefficients of the powers of temperature, the highest first; None where they do not do."""
    import numpy as np
    from numpy.polynomial import Chebyshev, Polynomial

    def formula(t: Any) -> Any:
        return np.asarray(model.density_kg_m3(t, p, out_of_range=out_of_range))

    series = Chebyshev.interpolate(formula, _DEGREE, domain=[low, high])
    powers = series.trim(1e-13 * abs(series.coef[0])).convert(kind=Polynomial)
    t = np.linspace(low, high, 8 * _DEGREE)
    expected = formula(t)
    if powers.degree() < 1 or not np.all(np.abs(powers(t) - expected) <= _WITHIN * expected):
        return None
    return tuple(np.array(coefficient) for coefficient in reversed(powers.coef))


def _horner(coefficients: tuple[Any, ...], t: Any, result: Any, scratch: Any) -> None:
    """Evaluate a polynomial into `result` without making arrays; `scratch` is as large."""
    import numpy as np

    first, *middle, last = coefficients
    np.multiply(t, first, out=scratch)
    for coefficient in middle:
        np.add(scratch, coefficient, out=scratch)
        np.multiply(scratch, t, out=scratch)
    np.add(scratch, last, out=result)
