"""Decision rules [jcgm_106_2012]: verdicts, guard bands, and the risks of deciding wrongly.

The measurement and, where one is given, the population from which the item comes are normally distributed.
A false accept accepts an item outside the tolerance; a false reject rejects an item inside it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from itertools import pairwise
from typing import Any

from fuelunits.conversion import kind_of
from fuelunits.errors import QuantityError
from fuelunits.quantities import is_quantity, is_ratio, ratio, read_text
from fuelunits.reports import Report, Reporting, format_percent
from fuelunits.uncertainty.budget import COVERAGE_FACTORS, K_DIGIT, degrees_of_coverage, student_probability, student_t
from fuelunits.uncertainty.measured import difference
from fuelunits.validation import check_types, finite_number, format_value, plain_number, positive_number

_UNITS = ("L", "kg", "L/h", "kg/h", "Hz", "s", "kg/m^3", "delta_degC")
_COVERAGE = math.erf(math.sqrt(2.0))  # that a guard band of U presumes: k = 2 where the degrees of freedom are many


class Verdict(Enum):
    """Outcome of a check: one type for every check of the library.

    Attributes
    ----------
    ACCEPT, CONDITIONAL_ACCEPT : inside the tolerance by the guard band or more, and by less
    REJECT, UNDECIDED : outside of it, and where something is missing, which the answer names

    Examples
    --------
    >>> Verdict.ACCEPT.value
    'accept'
    """

    ACCEPT = "accept"
    CONDITIONAL_ACCEPT = "conditional accept"
    REJECT = "reject"
    UNDECIDED = "undecided"


@dataclass(frozen=True, repr=False)
class Conformity(Reporting):
    """An error against a tolerance of ± a limit, in a unit, ``"%"`` or none, with a guard band; None is not known."""

    error: float
    expanded_uncertainty: float | None
    tolerance: float
    guard_band: float | None
    unit: str = ""
    coverage_factor: float = 2.0
    degrees_of_freedom: float = math.inf
    missing: tuple[str, ...] = ()
    subject: str = ""

    _plain = ("verdict", "acceptance_limit", "probability", "uncertainty_ratio")

    @property
    def acceptance_limit(self) -> float | None:
        """Largest error that is accepted; None where the guard band, or 2u with any, is as wide as the tolerance."""
        width, band = self.expanded_uncertainty, self.guard_band
        if width is None or band is None:
            return None
        if _decimal(max(band, 2.0 * width / self.coverage_factor)) >= _decimal(self.tolerance):
            return None
        return float(Decimal(f"{self.tolerance:.15g}") - Decimal(f"{band:.15g}"))

    @property
    def _known(self) -> float | None:
        """The expanded uncertainty, where nothing is missing."""
        return None if self.missing else self.expanded_uncertainty or None

    @property
    def verdict(self) -> Verdict:
        """The decision, by guarded acceptance (JCGM 106:2012, 8.2 and 8.3)."""
        size, limit = _decimal(abs(self.error)), self.acceptance_limit
        if self._known is not None and size > _decimal(self.tolerance):
            return Verdict.REJECT
        if self._known is None or limit is None or math.isnan(self.error):
            return Verdict.UNDECIDED
        return Verdict.ACCEPT if size <= limit else Verdict.CONDITIONAL_ACCEPT

    @property
    def probability(self) -> float | None:
        """Probability that the true error lies within the tolerance; None where the uncertainty is not known."""
        if self._known is None:
            return None
        u, degrees = self._known / self.coverage_factor, self.degrees_of_freedom
        return 1.0 - sum(_below((end - self.tolerance) / u, degrees) for end in (-self.error, self.error))

    @property
    def uncertainty_ratio(self) -> float | None:
        """Test uncertainty ratio: tolerance over U, with k = 2 at least; None where the uncertainty is not known.

        The measurement capability index of JCGM 106:2012, 7.6. 4 or more is often asked for, which is common practice.
        """
        return self._known and self.tolerance / self._known * min(self.coverage_factor / 2.0, 1.0)

    def report(self) -> Report:
        width, limit, ratio_found = self.expanded_uncertainty, self.acceptance_limit, self.uncertainty_ratio
        incomplete, remarks = ", incomplete" * bool(self.missing), [f"missing: {each}" for each in self.missing]
        if self.verdict is Verdict.CONDITIONAL_ACCEPT:
            remarks.append("within the tolerance by less than the guard band: a person must decide if that is enough")
        if limit is None and self.guard_band is not None:
            remarks.append("the guard band, or 2u, is as wide as the tolerance: accepting takes a smaller uncertainty")
        stated = width is not None and f"{self._text(width)} (k = {self.coverage_factor:.2f}){incomplete}"
        band = self.guard_band if width and self.guard_band and self.guard_band > 1.001 * width else None
        likely = self.probability
        conforms = likely is not None and format_percent(likely, digits=4)
        if likely is not None and not 0.0001 <= likely <= 0.9999:
            conforms = "more than 99.99 %" if likely > 0.5 else "less than 0.01 %"
        facts = {
            "expanded uncertainty U": stated or "not known",
            "guard band": band and self._text(band),
            "acceptance limit": None if limit is None or incomplete else f"±{self._text(limit)}",
            "test uncertainty ratio": ratio_found and f"{ratio_found:.3g}",
            "probability that it conforms": conforms or None,
        }
        title = f"error {self._text(self.error, '+')} against a tolerance of ±{self._text(self.tolerance)}"
        return Report(f"{self.subject}{title}", self.verdict.value, facts, (), remarks, ("jcgm_106_2012",))

    def _text(self, number: float, sign: str = "") -> str:
        return f"{number:{sign}.4g} {self.unit}".rstrip()


def _decimal(number: float) -> float:
    """Return a decimal of 15 digits: 0.2 against 0.3 with a guard band of 0.1 lies on the limit, not beyond it."""
    return float(f"{number:.15g}")


def conformity(
    error: Any,
    expanded_uncertainty: Any,
    tolerance: Any,
    *,
    guard: float = 1.0,
    coverage_factor: float = 2.0,
    degrees_of_freedom: float | None = None,
    missing: Sequence[str] = (),
) -> Conformity:
    """Return whether an error conforms to a tolerance, in the unit of the tolerance as written.

    Accept up to the tolerance less the guard band, conditional accept from there to the tolerance, reject beyond it;
    undecided where something is missing, and within the tolerance where 2u is as wide. An error found on the limit is a
    false accept with 2.3 % with w = U of 95.45 % (4.6 % as U nears the tolerance), with 50 % in simple acceptance
    (JCGM 106:2012, 8.3.2); a reject may be false with up to 50 %. A U of less coverage is widened first.

    Parameters
    ----------
    error : str, pint.Quantity or float, with its sign: ``"0.6 %"``; or all three as plain numbers in one unit
    expanded_uncertainty : str, pint.Quantity, float or None, U in the same unit; without, or of zero, none is decided
    tolerance : str, pint.Quantity or float, ± tolerance, in the same unit; temperatures are all differences
    guard : float, guard band in units of U: 1.0 by default; 0.0 is simple acceptance, up to the tolerance itself
    coverage_factor, degrees_of_freedom : float, of the expanded uncertainty; k alone is Student's t, as in `measured`
    missing : sequence of str, what else must be known before it can be decided

    Examples
    --------
    >>> conformity("0.6 %", "0.2 %", "1 %")
    <Conformity: error +0.6 % against a tolerance of ±1 %: accept>
    """
    if not isinstance(tolerance, str) and not is_quantity(tolerance):
        unit = ""
    elif is_ratio(tolerance):
        unit = "%"
    else:
        unit = read_text(tolerance)[1] if isinstance(tolerance, str) else kind_of(tolerance, _UNITS, name="tolerance")
    width = None if expanded_uncertainty is None else _number(expanded_uncertainty, unit, "expanded uncertainty")
    positive_number(width or 0.0, "expanded uncertainty", zero=True)
    guard = positive_number(guard, "guard", zero=True)
    factor = COVERAGE_FACTORS.check(finite_number(coverage_factor, "coverage factor"))
    stated, degrees = degrees_of_freedom or math.inf, degrees_of_coverage(factor - K_DIGIT, degrees_of_freedom)
    found = finite_number(_number(error, unit, "error"), "error")
    limit = positive_number(_number(tolerance, unit, "tolerance"), "tolerance")
    band = None if width is None else guard * width * max(student_t(_COVERAGE, stated) / factor, 1.0)
    lacking = check_types(missing, str, "missing", "texts") or (() if width else ("the uncertainty of the error",))
    return Conformity(found, width, limit, band, unit, factor, degrees, lacking)


def _number(value: Any, unit: str, name: str) -> float:
    if unit == "%":
        return 100.0 * ratio(value, name=name)
    return difference(value, unit, name) if unit else plain_number(value, name)


def guard_band(uncertainty: float, *, risk: float, degrees_of_freedom: float = math.inf) -> float:
    """Return the guard band for a specific risk of a false accept at one limit (JCGM 106:2012, 8.3.2 and 8.3.3).

    Parameters
    ----------
    uncertainty : float, standard uncertainty, in the unit of the answer
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

    One less it is the risk of a false accept of what was accepted; it is that of a false reject of what was rejected.

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
    value, u, degrees = finite_number(value, "value"), positive_number(uncertainty, "uncertainty"), degrees_of_freedom
    lower, upper = _limits((lower, upper), "the tolerance limits")
    return 1.0 - _below((lower - value) / u, degrees) - _below((value - upper) / u, degrees)


def _below(z: float, degrees_of_freedom: float = math.inf) -> float:
    return 0.5 + math.copysign(0.5 * student_probability(abs(z), degrees_of_freedom), z)


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

    Of all items: a false accept lies outside the tolerance and is accepted, the consumer's risk; a false reject lies
    inside and is not accepted, the producer's risk; `accepted` is that of being accepted, `conforming` of lying inside.
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
        names = ("false_accept", "false_among_accepted", "false_reject", "accepted", "conforming")
        shares = [(name, getattr(self, name)) for name in names if not math.isnan(getattr(self, name))]
        facts = {name.replace("_", " "): format_percent(share, digits=4 - ("false" in name)) for name, share in shares}
        return Report("global risks of a decision rule", facts=facts, sources=("jcgm_106_2012",))


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
    limits, acceptance_limits : (float, float), in the same unit; without the latter, simple acceptance

    Examples
    --------
    >>> risk = global_risk(1500, 0.12, 0.04, limits=(1499.8, 1500.2), acceptance_limits=(1499.82, 1500.18))
    >>> round(risk.false_accept, 4), round(risk.false_reject, 2)
    (0.0099, 0.07)
    """
    import numpy as np

    mean = finite_number(mean, "mean")
    spread = positive_number(standard_deviation, "standard deviation of the population")
    u = positive_number(uncertainty, "uncertainty")
    lower, upper = _limits(limits, "limits")
    low, high = (lower, upper) if acceptance_limits is None else _limits(acceptance_limits, "acceptance_limits")

    def accepted(item: float) -> float:
        density = math.exp(-0.5 * ((item - mean) / spread) ** 2) / (spread * math.sqrt(2.0 * math.pi))
        return density * (_below((high - item) / u) - _below((low - item) / u))

    steps = [(mean, spread), (low, u), (high, u)]  # both densities and the steps of acceptance are smooth in between
    cuts = {lower, upper} | {centre + k * width for centre, width in steps for k in range(-9, 10)}
    first, last = mean - 9.0 * spread, mean + 9.0 * spread
    nodes, weights = (each.tolist() for each in np.polynomial.legendre.leggauss(12))
    inside = outside = 0.0
    for start, stop in pairwise(sorted({min(max(cut, first), last) for cut in cuts})):
        middle, half = 0.5 * (start + stop), 0.5 * (stop - start)
        part = half * math.fsum(w * accepted(middle + half * x) for x, w in zip(nodes, weights, strict=True))
        is_inside = lower <= middle <= upper
        inside, outside = inside + part * is_inside, outside + part * (not is_inside)
    if math.isnan(inside + outside):
        raise QuantityError(f"standard deviation of the population: {format_value(standard_deviation)} is too large")
    conforming = _below((upper - mean) / spread) - _below((lower - mean) / spread)
    return GlobalRisk(outside, max(0.0, conforming - inside), inside + outside, conforming)
