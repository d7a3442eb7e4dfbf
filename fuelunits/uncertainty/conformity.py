"""Judge the spread of repeated runs, and an error against a tolerance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from fuelunits.arrays import as_float
from fuelunits.conversion import kind_of
from fuelunits.errors import QuantityError
from fuelunits.pint_units import is_quantity
from fuelunits.quantities import PERCENT, magnitude, ratio, read_text
from fuelunits.reports import Report, Reporting, format_percent
from fuelunits.sources import Range
from fuelunits.uncertainty.decisions import Verdict, conformance_probability, decide, finite_number, uncertainty_ratio
from fuelunits.uncertainty.student_t import student_t
from fuelunits.validation import check_types, format_value, plain_number, positive_number, whole_number

_RANGE_PER_DEVIATION = {3: 1.693, 4: 2.059, 5: 2.326, 6: 2.534, 7: 2.704, 8: 2.847, 9: 2.970, 10: 3.078}
"""d2: expected range of n normal values over their standard deviation [control_chart_d2]."""

_RUNS = Range("number of runs", 3, 10, "runs", "control_chart_d2")
_UNITS = ("L", "kg", "L/h", "kg/h", "Hz", "s", "kg/m^3")
_NOT_STATED = ("the uncertainty of the error",)
_COVERAGE = math.erf(math.sqrt(2.0))
"""Probability that a guard band of U presumes: k = 2 where the degrees of freedom are many."""


def accepted_spread(runs: int, expanded_uncertainty: Any, *, probability: float = 0.95) -> Any:
    """Return the spread, highest less lowest, that n runs may have for a wanted uncertainty of their mean.

    U = t(n - 1) spread / (d2 √n), of the repeatability alone: the table of API MPMS 4.8, appendix A, recalled. Fewer
    than 3 or more than 10 runs are OutOfRange.

    Parameters
    ----------
    runs : int, 3 to 10
    expanded_uncertainty : float or array
        The wanted half width ±U, as a fraction, in percent or in any unit, which is that of the answer.
    probability : float, coverage probability of U

    Examples
    --------
    >>> round(accepted_spread(5, 0.027), 2)
    0.05
    """
    _RUNS.check(plain_number(runs, "number of runs"))
    runs = whole_number(runs, "number of runs", least=1)
    wanted = as_float(expanded_uncertainty)
    if np.any(np.less(wanted, 0.0)):
        raise QuantityError(f"expanded_uncertainty must not be negative; got {format_value(expanded_uncertainty)}")
    return wanted * _RANGE_PER_DEVIATION[runs] * math.sqrt(runs) / student_t(probability, runs - 1)


@dataclass(frozen=True, repr=False)
class Conformity(Reporting):
    """An error against a tolerance of ± a limit, all in one unit, decided with a guard band.

    The unit is ``"%"``, another one, or empty for plain numbers. None: a value not known. The subject heads the title.
    """

    error: float
    expanded_uncertainty: float | None
    tolerance: float
    guard_band: float | None
    unit: str = ""
    coverage_factor: float = 2.0
    degrees_of_freedom: float = math.inf
    missing: tuple[str, ...] = ()
    subject: str = ""

    _plain: ClassVar[tuple[str, ...]] = ("verdict", "acceptance_limit", "probability", "uncertainty_ratio")

    @property
    def acceptance_limit(self) -> float | None:
        """Largest error that is accepted; None where the guard band is as wide as the tolerance."""
        if self.guard_band is None or self.guard_band >= self.tolerance:
            return None
        return self.tolerance - self.guard_band

    @property
    def verdict(self) -> Verdict:
        """The decision."""
        if self.missing or not self.expanded_uncertainty or self.guard_band is None:
            return Verdict.UNDECIDED
        return decide(self.error, self.tolerance, self.guard_band)

    @property
    def accepted(self) -> bool:
        """Whether it is accepted without condition."""
        return self.verdict is Verdict.ACCEPT

    @property
    def probability(self) -> float | None:
        """Probability that the true error lies within the tolerance; None where the uncertainty is not known."""
        if self.missing or not self.expanded_uncertainty:
            return None
        u = self.expanded_uncertainty / self.coverage_factor
        limits = {"lower": -self.tolerance, "upper": self.tolerance}
        return conformance_probability(self.error, u, **limits, degrees_of_freedom=self.degrees_of_freedom)

    @property
    def uncertainty_ratio(self) -> float | None:
        """Test uncertainty ratio: tolerance over U, with k = 2 at least; None where the uncertainty is not known."""
        if self.missing or not self.expanded_uncertainty:
            return None
        return uncertainty_ratio(self.tolerance, self.expanded_uncertainty * max(2.0 / self.coverage_factor, 1.0))

    def report(self) -> Report:
        """Return the verdict, the limits, and what is missing where nothing could be decided."""
        width, limit, ratio_found = self.expanded_uncertainty, self.acceptance_limit, self.uncertainty_ratio
        guard = self.guard_band or 0.0
        incomplete = ", incomplete" * bool(self.missing)
        remarks = [f"missing: {each}" for each in self.missing]
        if self.verdict is Verdict.CONDITIONAL_ACCEPT:
            remarks.append("within the tolerance by less than the guard band: a person must decide if that is enough")
        if limit is None and self.guard_band is not None:
            remarks.append("the guard band is as wide as the tolerance: a smaller uncertainty is needed to accept")
        return Report(
            f"{self.subject}error {self._text(self.error, '+')} against a tolerance of ±{self._text(self.tolerance)}",
            verdict=self.verdict.value,
            facts={
                "expanded uncertainty U": "not known"
                if width is None
                else f"{self._text(width)} (k = {self.coverage_factor:.2f}){incomplete}",
                "guard band": self._text(guard) if width and guard > 1.001 * width else None,
                "acceptance limit": None if limit is None or incomplete else f"±{self._text(limit)}",
                "test uncertainty ratio": None if ratio_found is None else f"{ratio_found:.3g}",
                "probability that it conforms": _probability(self.probability),
            },
            remarks=remarks,
            sources=("jcgm_106_2012",),
        )

    def _text(self, number: float, sign: str = "") -> str:
        return f"{number:{sign}.4g} {self.unit}".rstrip()


def _probability(value: float | None) -> str | None:
    if value is None or 0.0001 <= value <= 0.9999:
        return None if value is None else format_percent(value, digits=4)
    return "more than 99.99 %" if value > 0.5 else "less than 0.01 %"


def conformity(
    error: Any,
    expanded_uncertainty: Any,
    tolerance: Any,
    *,
    guard: float = 1.0,
    coverage_factor: float = 2.0,
    degrees_of_freedom: float = math.inf,
    missing: Sequence[str] = (),
) -> Conformity:
    """Return whether an error conforms to a tolerance, in the unit of the tolerance as written.

    Accept up to the tolerance less the guard band, conditional accept from there to the tolerance, reject beyond it;
    undecided where something is missing. JCGM 106:2012, 8.3.2: an error found on the acceptance limit is a false accept
    with a probability of at most 2.3 % with w = U of 95.45 %, of at most 50 % with simple acceptance. A reject may be
    false with up to 50 % with either. A U of less coverage, by a smaller k or few degrees of freedom, is widened first.

    Parameters
    ----------
    error : str, pint.Quantity or float
        The error found, with its sign: ``"0.6 %"``, ``"-0.2 L/h"``; or all three as plain numbers in one unit.
    expanded_uncertainty : str, pint.Quantity, float or None
        Its expanded uncertainty U, in the same unit. Without one, or with a U of zero, nothing is decided.
    tolerance : str, pint.Quantity or float, ± tolerance, in the same unit
    guard : float, guard band in units of U: 1.0 by default; 0.0 is simple acceptance, up to the tolerance itself
    coverage_factor, degrees_of_freedom : float, of the expanded uncertainty, dimensionless
    missing : sequence of str, what else must be known before it can be decided

    Examples
    --------
    >>> conformity("0.6 %", "0.2 %", "1 %")
    <Conformity: error +0.6 % against a tolerance of ±1 %: accept>
    >>> conformity(0.009, 0.002, 0.01).verdict, conformity(0.0, None, 0.01).verdict
    (<Verdict.CONDITIONAL_ACCEPT: 'conditional accept'>, <Verdict.UNDECIDED: 'undecided'>)
    """
    unit, width = _unit(tolerance), None
    if expanded_uncertainty is not None:
        width = positive_number(
            _number(expanded_uncertainty, unit, "expanded uncertainty"), "expanded uncertainty", zero=True
        )
    guard = positive_number(guard, "guard", zero=True)
    factor = positive_number(coverage_factor, "coverage factor", example=2.0)
    degrees = plain_number(degrees_of_freedom, "degrees of freedom")
    if not degrees >= 1.0:
        raise QuantityError(f"degrees of freedom must be at least 1; got {format_value(degrees_of_freedom)}")
    return Conformity(
        finite_number(_number(error, unit, "error"), "error"),
        width,
        positive_number(_number(tolerance, unit, "tolerance"), "tolerance"),
        None if width is None else guard * width * max(student_t(_COVERAGE, degrees) / factor, 1.0),
        unit,
        factor,
        degrees,
        check_types(missing, str, "missing", "texts") or (() if width else _NOT_STATED),
    )


def _unit(tolerance: Any) -> str:
    if isinstance(tolerance, str):
        unit = read_text(tolerance)[1]
        return "%" if unit in PERCENT else unit
    if is_quantity(tolerance):
        return "%" if not tolerance.dimensionality else kind_of(tolerance, _UNITS, name="tolerance")
    return ""


def _number(value: Any, unit: str, name: str) -> float:
    has_unit = isinstance(value, str) or is_quantity(value)
    if not unit and not has_unit:
        return plain_number(value, name)
    if not unit:
        raise QuantityError(f"{name} is {format_value(value)} and the tolerance has no unit; write both alike, '1 %'")
    if unit != "%":
        return float(magnitude(value, unit, name=name))
    if not has_unit:
        raise QuantityError(f"{name} is {format_value(value)} and the tolerance is in percent; write '0.2 %'")
    return 100.0 * ratio(value, name=name)
