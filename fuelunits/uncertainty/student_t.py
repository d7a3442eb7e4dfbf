"""Student's t: the coverage factor that a few degrees of freedom need.

Degrees between two whole numbers are taken down, which errs on the wide side (JCGM 100:2008, G.4.1). The formulas
are recalled [abramowitz_stegun_26_7], and compared with a statistics library in the tests.
"""

from __future__ import annotations

import math
from functools import lru_cache

from fuelunits.sources import Range
from fuelunits.validation import plain_number, positive_number

_PROBABILITIES = Range("coverage probability", 0.0, 0.9999, "", "the range in which student_t is tested")
_DEGREES = Range("degrees of freedom", 1.0, math.inf, "", "jcgm_100_2008")
_LARGE = 1000
_HALVINGS = 60
_NOISE = 1e-9
"""Relative distance at which degrees of freedom count as the whole number beside them."""


def student_t(probability: float, degrees_of_freedom: float) -> float:
    """Return the t that a coverage probability of up to 0.9999 needs on both sides together; NaN where one is NaN."""
    return _student_t(plain_number(probability, "probability"), plain_number(degrees_of_freedom, "degrees_of_freedom"))


@lru_cache(maxsize=1024)
def _student_t(probability: float, degrees_of_freedom: float) -> float:
    if math.isnan(probability) or math.isnan(degrees_of_freedom):
        return math.nan
    _PROBABILITIES.check(probability)
    nu = _whole(degrees_of_freedom)
    if nu > _LARGE:
        from statistics import NormalDist

        return _near_normal(NormalDist().inv_cdf((1.0 + probability) / 2.0), nu)
    low, high = 0.0, math.pi / 2.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _within(middle, int(nu)) < probability else (low, middle)
    return math.sqrt(nu) * math.tan(low)


def student_probability(t: float, degrees_of_freedom: float) -> float:
    """Return the probability that a value lies within ±t; the inverse of :func:`student_t`."""
    t = positive_number(t, "t", zero=True)
    nu = _whole(plain_number(degrees_of_freedom, "degrees_of_freedom"))
    if nu <= _LARGE:
        return _within(math.atan(t / math.sqrt(nu)), int(nu))
    # a normal value with this probability is t (1 - 1/(4 nu)) / sqrt(1 + t²/(2 nu)): Abramowitz and Stegun 26.7.8
    return math.erf(t * (1.0 - 0.25 / nu) / math.sqrt(1.0 + 0.5 * t * t / nu) / math.sqrt(2.0))


def _whole(degrees_of_freedom: float) -> float:
    """Return degrees of freedom up to a thousand taken down, but for the noise of floating-point arithmetic."""
    if not degrees_of_freedom <= _LARGE:
        return degrees_of_freedom
    return float(math.floor(_DEGREES.check(degrees_of_freedom) * (1.0 + _NOISE)))


def _within(angle: float, nu: int) -> float:
    """Return the probability of |t| below sqrt(nu) tan(angle): Abramowitz and Stegun 26.7.3 and 26.7.4."""
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = nu % 2
    term = cosine if odd else 1.0
    total = term if nu > 1 else 0.0
    for k in range(2 + odd, nu - 1, 2):
        term *= cosine**2 * (k - 1) / k
        total += term
    return 2.0 / math.pi * (angle + sine * total) if odd else sine * total


def _near_normal(z: float, nu: float) -> float:
    """Return t expanded about the normal quantile z in powers of 1/nu: Abramowitz and Stegun 26.7.5."""
    first = (z**3 + z) / 4.0
    second = (5.0 * z**5 + 16.0 * z**3 + 3.0 * z) / 96.0
    third = (3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z) / 384.0
    return z + (first + (second + third / nu) / nu) / nu
