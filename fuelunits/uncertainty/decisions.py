"""Decision rules [jcgm_106_2012]: verdicts, guard bands, and the risks of deciding wrongly.

The measurement and, where one is given, the population from which the item comes are normally distributed.
A false accept accepts an item outside the tolerance; a false reject rejects an item inside it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from functools import cache
from itertools import pairwise
from typing import Any

from fuelunits.errors import QuantityError
from fuelunits.reports import Report, Reporting, format_percent
from fuelunits.uncertainty.student_t import student_probability, student_t
from fuelunits.validation import format_value, plain_number, positive_number


class Verdict(Enum):
    """Outcome of a check: one type for every check of the library.

    Attributes
    ----------
    ACCEPT, CONDITIONAL_ACCEPT
        Inside the tolerance by the guard band or more, and by less.
    REJECT, UNDECIDED
        Outside the tolerance, and where something is missing, which the answer names.

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
    """Return the verdict of guarded acceptance (JCGM 106:2012, 8.2 and 8.3), with a tolerance of ± a limit."""
    if math.isnan(error + limit + guard_width):
        return Verdict.UNDECIDED
    # as decimals of 15 digits: an error of 0.2 against 0.3 with a guard band of 0.1 lies on the limit, not beyond it
    size, acceptance, most, guard = (
        float(f"{number:.15g}") for number in (abs(error), limit - guard_width, limit, guard_width)
    )
    if size > most:
        return Verdict.REJECT
    if guard >= most:  # leaves no error to accept
        return Verdict.UNDECIDED
    return Verdict.ACCEPT if size <= acceptance else Verdict.CONDITIONAL_ACCEPT


def uncertainty_ratio(limit: float, expanded_uncertainty: float) -> float:
    """Return the test uncertainty ratio: the ± tolerance limit over the expanded uncertainty (k = 2).

    The measurement capability index of JCGM 106:2012, 7.6. 4 or more is often asked for, which is common practice.

    Parameters
    ----------
    limit, expanded_uncertainty : float, in one unit

    Examples
    --------
    >>> uncertainty_ratio(0.02, 0.005)
    4.0
    """
    return positive_number(limit, "limit") / positive_number(expanded_uncertainty, "expanded uncertainty")


def guard_band(uncertainty: float, *, risk: float, degrees_of_freedom: float = math.inf) -> float:
    """Return the guard band that keeps the specific risk of a false accept at one limit below `risk`.

    In the unit of the uncertainty (JCGM 106:2012, 8.3.2 and 8.3.3). Twice the uncertainty gives a risk of 2.3 %.

    Parameters
    ----------
    uncertainty : float, standard uncertainty, in any unit
    risk : float, the probability of a false accept for an error found on the acceptance limit, above 0 and at most 0.5
    degrees_of_freedom : float, of the uncertainty, dimensionless

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
    """Return the probability that a measured value lies within its tolerance limits (JCGM 106:2012, 7.2 to 7.4).

    One less this is the specific risk of a false accept of what was accepted; this itself is that of a false reject
    of what was rejected. Nothing is known beforehand.

    Parameters
    ----------
    value, uncertainty : float, what was measured and its standard uncertainty, in one unit
    lower, upper : float, tolerance limits, in the same unit; a missing one is infinite
    degrees_of_freedom : float, of the uncertainty, dimensionless; Student's t where they are few

    Examples
    --------
    >>> round(conformance_probability(13.6, 1.8, lower=12.5, upper=16.3), 2)
    0.66
    """
    value, uncertainty = plain_number(value, "value"), positive_number(uncertainty, "uncertainty")
    lower, upper = _limits((lower, upper), "the tolerance limits")
    above = _below((lower - value) / uncertainty, degrees_of_freedom)
    return 1.0 - above - _below((value - upper) / uncertainty, degrees_of_freedom)


def _below(z: float, degrees_of_freedom: float = math.inf) -> float:
    """Return the probability below z standard uncertainties."""
    if math.isinf(degrees_of_freedom):
        return 0.5 * math.erfc(-z / math.sqrt(2.0))
    if math.isinf(z):
        return float(z > 0.0)
    return 0.5 + math.copysign(0.5 * student_probability(abs(z), degrees_of_freedom), z)


def finite_number(value: Any, name: str) -> float:
    """Return one finite plain number, or refuse it."""
    number = plain_number(value, name)
    if not math.isfinite(number):
        raise QuantityError(f"{name} must be finite; got {format_value(value)}")
    return number


def _limits(limits: Any, name: str) -> tuple[float, float]:
    ends = limits if isinstance(limits, (tuple, list)) else ()
    if len(ends) != 2:
        raise QuantityError(f"{name} must be two numbers, for example (-1.0, 1.0); got {format_value(limits)}")
    lower, upper = (plain_number(end, name) for end in ends)
    if not lower < upper:
        raise QuantityError(f"{name}: the lower must be below the upper; got {lower} and {upper}")
    return lower, upper


@dataclass(frozen=True, repr=False)
class GlobalRisk(Reporting):
    """Probabilities under a decision rule over all items, before any of them is measured.

    A false accept lies outside the tolerance and is accepted: the consumer's risk. A false reject lies inside and is
    not accepted: the producer's risk. `accepted` is that of being accepted, `conforming` that of lying inside.
    """

    false_accept: float
    false_reject: float
    accepted: float
    conforming: float

    @property
    def false_among_accepted(self) -> float:
        """Probability that an accepted item lies outside the tolerance; NaN where none is accepted."""
        return self.false_accept / self.accepted if self.accepted else math.nan

    def report(self) -> Report:
        """Return the risks in percent."""
        return Report(
            "global risks of a decision rule",
            facts={
                "false accept, of all": format_percent(self.false_accept),
                "false accept, of the accepted": format_percent(self.false_among_accepted) if self.accepted else None,
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

    JCGM 106:2012, 9.5, equations (17) to (20), by Gauss quadrature to about 1e-12.

    Parameters
    ----------
    mean, standard_deviation : float, of the population from which the items come, in any unit
    uncertainty : float, standard uncertainty of the measurement, in the same unit
    limits, acceptance_limits : (float, float)
        Of the tolerance and of acceptance, in the same unit; without the latter, simple acceptance.

    Examples
    --------
    >>> risk = global_risk(1500, 0.12, 0.04, limits=(1499.8, 1500.2), acceptance_limits=(1499.82, 1500.18))
    >>> round(risk.false_accept, 4), round(risk.false_reject, 2)
    (0.0099, 0.07)
    """
    mean = finite_number(mean, "mean")
    spread = positive_number(standard_deviation, "standard deviation of the population")
    u = positive_number(uncertainty, "uncertainty")
    lower, upper = _limits(limits, "limits")
    low, high = (lower, upper) if acceptance_limits is None else _limits(acceptance_limits, "acceptance_limits")

    def accepted(item: float) -> float:
        density = math.exp(-0.5 * ((item - mean) / spread) ** 2) / (spread * math.sqrt(2.0 * math.pi))
        return density * (_below((high - item) / u) - _below((low - item) / u))

    ends = mean - 9.0 * spread, mean + 9.0 * spread
    steps = [(mean, spread), (low, u), (high, u)]  # both densities and the steps of acceptance are smooth in between
    cuts = {lower, upper} | {centre + k * width for centre, width in steps for k in range(-9, 10)}
    inside = outside = 0.0
    for start, stop in pairwise(sorted(cut for cut in cuts if ends[0] <= cut <= ends[1])):
        part = _integral(accepted, start, stop)
        if lower <= 0.5 * (start + stop) <= upper:
            inside += part
        else:
            outside += part
    conforming = _below((upper - mean) / spread) - _below((lower - mean) / spread)
    return GlobalRisk(outside, max(0.0, conforming - inside), inside + outside, conforming)


@cache
def _gauss() -> list[tuple[float, float]]:
    """Return the nodes and weights of a quadrature of twelve points."""
    import numpy as np

    return list(zip(*(each.tolist() for each in np.polynomial.legendre.leggauss(12)), strict=True))


def _integral(function: Callable[[float], float], start: float, stop: float) -> float:
    middle, half = 0.5 * (start + stop), 0.5 * (stop - start)
    return half * math.fsum(weight * function(middle + half * node) for node, weight in _gauss())
