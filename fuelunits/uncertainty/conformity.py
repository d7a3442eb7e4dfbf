"""What is good enough: the spread of repeated runs, and an error against a tolerance."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from typing import Any

from fuelunits.arrays import as_float
from fuelunits.errors import QuantityError
from fuelunits.ranges import Range
from fuelunits.reports import CAUTION
from fuelunits.uncertainty.student_t import student_t
from fuelunits.validation import plain_number

__all__ = ["Conformity", "Verdict", "accepted_spread", "conformity", "uncertainty_of_spread"]

_RANGE_PER_DEVIATION = {3: 1.693, 4: 2.059, 5: 2.326, 6: 2.534, 7: 2.704, 8: 2.847, 9: 2.970, 10: 3.078}
"""d2: expected range of n normal values over their standard deviation [control_chart_d2]."""

_RUNS = Range("number of runs", 3, 10, "runs", "control_chart_d2")


def accepted_spread(runs: int, expanded_uncertainty: Any, *, probability: float = 0.95) -> Any:
    """Give the spread that n runs may have for a wanted uncertainty of their mean.

    Parameters
    ----------
    runs : int
        3 to 10.
    expanded_uncertainty : float or array
        The wanted half width ±U, as a fraction, in percent or in any unit.
    probability : float
        Coverage probability of U.

    Returns
    -------
    float or array
        Highest less lowest of the runs, in the unit that came in.

    Raises
    ------
    OutOfRange
        If there are fewer than 3 or more than 10 runs.

    Notes
    -----
    The spread over d2 estimates the standard deviation, and U = t(n - 1) spread / (d2 √n). It derives
    the table of API MPMS 4.8, appendix A, recalled, for ±0.027 %. It covers repeatability alone.

    Examples
    --------
    >>> round(accepted_spread(5, 0.027), 2)
    0.05
    """
    return as_float(expanded_uncertainty) / uncertainty_of_spread(runs, 1.0, probability=probability)


def uncertainty_of_spread(runs: int, spread: Any, *, probability: float = 0.95) -> Any:
    """Give the uncertainty ±U of the mean of n runs that have a spread; the inverse of :func:`accepted_spread`.

    Examples
    --------
    >>> round(uncertainty_of_spread(5, 0.05), 3)
    0.027
    """
    if _RUNS.check(plain_number(runs, "number of runs")) not in _RANGE_PER_DEVIATION:
        raise QuantityError(f"number of runs: {runs!r} is no whole number")
    return student_t(probability, runs - 1) * as_float(spread) / (_RANGE_PER_DEVIATION[runs] * math.sqrt(runs))


class Verdict(Enum):
    """What a conformity decision says."""

    ACCEPT = "accept"
    ACCEPT_WITHIN_GUARD = "within the tolerance, but in the guard band"
    REJECT = "reject"


@dataclass(frozen=True)
class Conformity:
    """An error against a tolerance, decided with a guard band.

    Attributes
    ----------
    error, expanded_uncertainty, tolerance : float
        In one unit; the tolerance is ± about zero.
    guard_band : float
        By how much the acceptance limit lies inside the tolerance.
    """

    error: float
    expanded_uncertainty: float
    tolerance: float
    guard_band: float

    @property
    def acceptance_limit(self) -> float:
        """Largest error that is accepted without doubt; negative where the guard band leaves no room."""
        return self.tolerance - self.guard_band

    @property
    def verdict(self) -> Verdict:
        """The decision."""
        if abs(self.error) <= self.acceptance_limit:
            return Verdict.ACCEPT
        return Verdict.ACCEPT_WITHIN_GUARD if abs(self.error) <= self.tolerance else Verdict.REJECT

    @property
    def accepted(self) -> bool:
        """Whether it is accepted without doubt."""
        return self.verdict is Verdict.ACCEPT

    @property
    def decidable(self) -> bool:
        """Whether the guard band leaves any error that could be accepted."""
        return self.acceptance_limit > 0

    def as_dict(self) -> dict[str, Any]:
        """Give everything as plain JSON types."""
        return {**vars(self), "verdict": self.verdict.value, "caution": CAUTION}

    def __str__(self) -> str:
        lines = [
            f"{self.verdict.value}: error {self.error:+.4g}, tolerance ±{self.tolerance:.4g}, "
            f"U {self.expanded_uncertainty:.4g}, guard band {self.guard_band:.4g}"
        ]
        if not self.decidable:
            lines.append("the guard band leaves no room: with this uncertainty no result can be accepted without doubt")
        return "\n".join([*lines, CAUTION])


def conformity(error: float, expanded_uncertainty: float, tolerance: float, *, guard: float = 1.0) -> Conformity:
    """Decide whether an error conforms to a tolerance.

    Parameters
    ----------
    error : float
        The error found, with its sign: a fraction, or in any unit.
    expanded_uncertainty : float
        Its expanded uncertainty U, in the same unit.
    tolerance : float
        ± tolerance, in the same unit, positive.
    guard : float
        Guard band in units of U: 1.0 by default; 0.0 accepts up to the tolerance itself.

    Returns
    -------
    Conformity
        Accepted up to the tolerance less the guard band; from there to the tolerance named as being in
        the guard band; rejected beyond the tolerance.

    Raises
    ------
    QuantityError
        If a number is negative that cannot be, or missing.

    Notes
    -----
    The guard band w = U of JCGM 106:2012 [jcgm_106_2012] and ILAC-G8:09/2019, both recalled.

    Examples
    --------
    >>> conformity(0.006, 0.002, 0.01).verdict, conformity(0.009, 0.002, 0.01).accepted
    (<Verdict.ACCEPT: 'accept'>, False)
    """
    error = plain_number(error, "error")
    expanded_uncertainty = _not_negative(expanded_uncertainty, "expanded uncertainty")
    tolerance = _not_negative(tolerance, "tolerance")
    guard = _not_negative(guard, "guard")
    if tolerance == 0 or not math.isfinite(error):
        raise QuantityError(f"an error of {error} against a tolerance of {tolerance}: neither decision can be made")
    return Conformity(error, expanded_uncertainty, tolerance, guard * expanded_uncertainty)


def _not_negative(value: float, name: str) -> float:
    number = plain_number(value, name)
    if not 0.0 <= number < math.inf:
        raise QuantityError(f"{name}: {number}; it must be finite and not negative")
    return number
