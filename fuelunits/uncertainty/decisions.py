"""Decision rules [jcgm_106_2012]: verdicts, guard bands, and the risks of deciding wrongly.

The measurement and, where one is given, the population from which the item comes are normally distributed.
A false accept passes what lies outside the tolerance; a false reject fails what lies inside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from typing import Any

import numpy as np

from fuelunits.errors import QuantityError
from fuelunits.reports import Report, Reporting, format_percent
from fuelunits.uncertainty.student_t import student_probability, student_t
from fuelunits.validation import format_value, plain_number, positive_number

__all__ = [
    "GlobalRisk",
    "Verdict",
    "conformance_probability",
    "decide",
    "global_risk",
    "guard_band",
    "uncertainty_ratio",
]


class Verdict(Enum):
    """Outcome of a check: one type for every check of the library.

    Attributes
    ----------
    ACCEPT
        Inside the tolerance by the guard band or more.
    CONDITIONAL_ACCEPT
        Inside the tolerance, by less than the guard band.
    REJECT
        Outside the tolerance.
    UNDECIDED
        Something is missing, which the answer names.

    Examples
    --------
    >>> [verdict.value for verdict in Verdict]
    ['accept', 'conditional accept', 'reject', 'undecided']
    """

    ACCEPT = "accept"
    CONDITIONAL_ACCEPT = "conditional accept"
    REJECT = "reject"
    UNDECIDED = "undecided"


def decide(error: float, limit: float, guard_width: float) -> Verdict:
    """Return the verdict of guarded acceptance on an error, with a tolerance of ± a limit.

    Parameters
    ----------
    error, limit, guard_width : float
        In one unit. A guard band of zero is simple acceptance.

    Returns
    -------
    Verdict
        Accept up to the limit less the guard band; from there to the limit, conditional accept; beyond it, reject.
        Undecided within the limit where the guard band leaves nothing to accept, and where a number is NaN.

    Notes
    -----
    JCGM 106:2012, 8.2 and 8.3. The numbers are compared as decimals of 15 significant digits, so that an error of
    0.2 against a tolerance of 0.3 with a guard band of 0.1 lies on the limit and not beyond it.

    Examples
    --------
    >>> decide(0.2, 0.3, 0.1), decide(0.25, 0.3, 0.1)
    (<Verdict.ACCEPT: 'accept'>, <Verdict.CONDITIONAL_ACCEPT: 'conditional accept'>)
    """
    if math.isnan(error + limit + guard_width):
        return Verdict.UNDECIDED
    size, acceptance, limit = _decimal(abs(error)), _decimal(limit - guard_width), _decimal(limit)
    if size > limit:
        return Verdict.REJECT
    if _decimal(guard_width) >= limit:
        return Verdict.UNDECIDED
    return Verdict.ACCEPT if size <= acceptance else Verdict.CONDITIONAL_ACCEPT


def _decimal(number: float) -> float:
    return float(f"{number:.15g}")


def uncertainty_ratio(limit: float, expanded_uncertainty: float) -> float:
    """Return the test uncertainty ratio: the ± tolerance limit over the expanded uncertainty (k = 2).

    Parameters
    ----------
    limit, expanded_uncertainty : float
        In one unit.

    Returns
    -------
    float
        Dimensionless. 4 or more is often asked for, which is common practice.

    Notes
    -----
    The measurement capability index of JCGM 106:2012, 7.6; the full width of the tolerance over 2 U is the same.

    Examples
    --------
    >>> uncertainty_ratio(0.02, 0.005)
    4.0
    """
    return positive_number(limit, "limit") / positive_number(expanded_uncertainty, "expanded uncertainty")


def guard_band(uncertainty: float, *, risk: float, degrees_of_freedom: float = math.inf) -> float:
    """Return the width of the guard band that keeps the specific risk of a false accept at one limit below `risk`.

    Parameters
    ----------
    uncertainty : float
        Standard uncertainty, in any unit.
    risk : float
        Probability of a false accept for an error found on the acceptance limit, dimensionless, above 0 and at most
        0.5.
    degrees_of_freedom : float
        Of the uncertainty, dimensionless.

    Returns
    -------
    float
        In the unit of the uncertainty. Twice the uncertainty gives a risk of 2.3 %.

    Raises
    ------
    QuantityError
        If the risk is not above 0 and at most 0.5, or the uncertainty is not positive.

    Notes
    -----
    JCGM 106:2012, 8.3.2 and 8.3.3.

    Examples
    --------
    >>> round(guard_band(0.20, risk=0.05, degrees_of_freedom=9), 2)
    0.37
    """
    risk = positive_number(risk, "risk", example=0.05)
    if risk > 0.5:
        raise QuantityError(f"risk must be at most 0.5, for example 0.05; got {risk}")
    return student_t(1.0 - 2.0 * risk, degrees_of_freedom) * positive_number(uncertainty, "uncertainty")


def conformance_probability(
    value: float,
    uncertainty: float,
    *,
    lower: float = -math.inf,
    upper: float = math.inf,
    degrees_of_freedom: float = math.inf,
) -> float:
    """Return the probability that what was measured lies within its tolerance limits.

    One less this is the specific risk of a false accept where the item was accepted; this itself is the specific
    risk of a false reject where it was rejected.

    Parameters
    ----------
    value, uncertainty : float
        What was measured and its standard uncertainty, in one unit.
    lower, upper : float
        Tolerance limits, in the same unit; a missing one is infinite.
    degrees_of_freedom : float
        Of the uncertainty, dimensionless.

    Returns
    -------
    float
        0 to 1.

    Notes
    -----
    JCGM 106:2012, 7.2 to 7.4, with Student's t where the degrees of freedom are few. Nothing is known beforehand.

    Examples
    --------
    >>> round(conformance_probability(13.6, 1.8, lower=12.5, upper=16.3), 2)
    0.66
    """
    value, uncertainty = plain_number(value, "value"), positive_number(uncertainty, "uncertainty")
    lower, upper = _limits(lower, upper)
    above = _tail((lower - value) / uncertainty, degrees_of_freedom)
    return 1.0 - above - _tail((value - upper) / uncertainty, degrees_of_freedom)


def _tail(t: float, degrees_of_freedom: float) -> float:
    """Return the probability below t."""
    if math.isinf(t):
        return 0.0 if t < 0.0 else 1.0
    if math.isinf(degrees_of_freedom):
        return _below(t)
    half = 0.5 * student_probability(abs(t), degrees_of_freedom)
    return 0.5 + math.copysign(half, t)


def _below(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _limits(lower: float, upper: float) -> tuple[float, float]:
    lower, upper = plain_number(lower, "lower"), plain_number(upper, "upper")
    if not lower < upper:
        raise QuantityError(f"the lower limit must be below the upper one; got {lower} and {upper}")
    return lower, upper


def _pair(limits: Any, name: str) -> tuple[float, float]:
    ends = list(limits) if isinstance(limits, (tuple, list)) else []
    if len(ends) != 2:
        raise QuantityError(f"{name} must be two numbers, for example (-1.0, 1.0); got {format_value(limits)}")
    return _limits(*ends)


@dataclass(frozen=True, repr=False)
class GlobalRisk(Reporting):
    """Risks of a decision rule over all items, before any of them is measured.

    Attributes
    ----------
    false_accept : float
        Probability that an item lies outside the tolerance and is accepted, 0 to 1 of all items: the consumer's risk.
    false_reject : float
        Probability that an item lies inside the tolerance and is not accepted: the producer's risk.
    accepted, conforming : float
        Probability of being accepted, and of lying inside the tolerance.
    """

    false_accept: float
    false_reject: float
    accepted: float
    conforming: float

    @property
    def false_among_accepted(self) -> float:
        """Probability that an accepted item lies outside the tolerance."""
        return self.false_accept / self.accepted

    def report(self) -> Report:
        """Return the risks in percent."""
        return Report(
            "global risks of a decision rule",
            facts={
                "false accept, of all": format_percent(self.false_accept),
                "false accept, of the accepted": format_percent(self.false_among_accepted),
                "false reject, of all": format_percent(self.false_reject),
                "accepted": format_percent(self.accepted, digits=4),
                "inside the tolerance": format_percent(self.conforming, digits=4),
            },
            sources=("jcgm_106_2012",),
        )


def global_risk(
    mean: float,
    standard_deviation: float,
    uncertainty: float,
    *,
    limits: tuple[float, float],
    acceptance_limits: tuple[float, float] | None = None,
) -> GlobalRisk:
    """Return the risks of accepting and rejecting falsely, for a normal population and a normal measurement.

    Parameters
    ----------
    mean, standard_deviation : float
        Of the population from which the items come, in any unit.
    uncertainty : float
        Standard uncertainty of the measurement, in the same unit.
    limits, acceptance_limits : (float, float)
        Lower and upper limit of the tolerance and of acceptance, in the same unit; without the latter, simple
        acceptance.

    Returns
    -------
    GlobalRisk

    Notes
    -----
    JCGM 106:2012, 9.5, equations (17) to (20), by Gauss quadrature to about 1e-12.

    Examples
    --------
    >>> risk = global_risk(1500, 0.12, 0.04, limits=(1499.8, 1500.2), acceptance_limits=(1499.82, 1500.18))
    >>> round(risk.false_accept, 4), round(risk.false_reject, 2)
    (0.0099, 0.07)
    """
    mean = plain_number(mean, "mean")
    spread = positive_number(standard_deviation, "standard deviation of the population")
    u = positive_number(uncertainty, "uncertainty")
    lower, upper = _pair(limits, "limits")
    low, high = _pair(limits if acceptance_limits is None else acceptance_limits, "acceptance_limits")

    def accepted(item: float) -> float:
        return _below((high - item) / u) - _below((low - item) / u)

    cuts = {mean + k * spread for k in range(-9, 10)} | {edge + k * u for edge in (low, high) for k in range(-9, 10)}
    first, last = mean - 9.0 * spread, mean + 9.0 * spread
    edges = sorted(cut for cut in cuts | {lower, upper} if first <= cut <= last)
    inside = outside = 0.0
    for start, stop in pairwise(edges):
        part = _integral(accepted, start, stop, mean, spread)
        if lower <= 0.5 * (start + stop) <= upper:
            inside += part
        else:
            outside += part
    conforming = _below((upper - mean) / spread) - _below((lower - mean) / spread)
    return GlobalRisk(outside, max(0.0, conforming - inside), inside + outside, conforming)


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


def _integral(accepted: Any, start: float, stop: float, mean: float, spread: float) -> float:
    """Return the integral of the population's density times the probability of being accepted."""
    middle, half = 0.5 * (start + stop), 0.5 * (stop - start)
    total = 0.0
    for node, weight in zip(_NODES.tolist(), _WEIGHTS.tolist(), strict=True):
        item = middle + half * node
        z = (item - mean) / spread
        total += weight * math.exp(-0.5 * z * z) * accepted(item)
    return half * total / (spread * math.sqrt(2.0 * math.pi))
