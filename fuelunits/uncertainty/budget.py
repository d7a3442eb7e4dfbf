"""Uncertainty after the GUM [jcgm_100_2008]: inputs with a name, budgets, expanded uncertainty, rounding.

An input with a standard uncertainty is a number of the ``uncertainties`` package. Arithmetic carries the derivatives
along, so whatever uses the same object is correlated through it: a balance calibration that several runs share does
not average out.
"""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Any

from fuelunits.arrays import as_float
from fuelunits.errors import QuantityError
from fuelunits.uncertainty.student_t import student_t
from fuelunits.validation import check_type, plain_number, positive_number

COVERAGE = 0.9545
"""Coverage probability at which infinite degrees of freedom give a coverage factor of 2.00."""


@dataclass(frozen=True)
class Input:
    """What an uncertain number stands for, for the budget; the number carries it as its tag."""

    name: str
    unit: str = ""
    degrees_of_freedom: float = math.inf
    joint: object = None
    """The same object in all parts of quantities observed together, which have their degrees of freedom jointly."""

    def __str__(self) -> str:
        return self.name


def uncertain(
    value: float, uncertainty: float, *, name: str, unit: str = "", degrees_of_freedom: float = math.inf
) -> Any:
    """Return an input of a value and its standard uncertainty; the value itself where it has none.

    One object stands for one physical cause: use it again wherever the same cause acts.

    Parameters
    ----------
    value, uncertainty : float, in the same unit
    name, unit : str, for the budget
    degrees_of_freedom : float
        Of its uncertainty, dimensionless: n - 1 for a mean of n observations; infinity otherwise.

    Examples
    --------
    >>> uncertain(28.702, 0.0015, name="balance reading", unit="kg").std_dev
    0.0015
    """
    check_type(name, str, "name", "what a budget should call it")
    value = plain_number(value, f"{name}: the value")
    uncertainty = positive_number(uncertainty, f"{name}: the standard uncertainty", zero=True)
    degrees_of_freedom = plain_number(degrees_of_freedom, f"{name}: the number of degrees of freedom")
    if not degrees_of_freedom >= 1:
        raise QuantityError(f"{name}: {degrees_of_freedom} degrees of freedom; at least 1 is needed")
    if uncertainty == 0:
        return value
    from uncertainties import ufloat

    return ufloat(value, uncertainty, tag=Input(name, unit, degrees_of_freedom))


def rectangular(value: float, half_width: float, *, name: str, unit: str = "") -> Any:
    """Return an input that lies anywhere within ± a half width: u = a / √3 (JCGM 100:2008, 4.3.7).

    Parameters
    ----------
    value, half_width : float, in the same unit
    name, unit : str, for the budget

    Examples
    --------
    >>> round(rectangular(0.9999, 0.0001, name="purity").std_dev, 6)
    5.8e-05
    """
    return uncertain(value, positive_number(half_width, "half_width", zero=True) / math.sqrt(3.0), name=name, unit=unit)


def triangular(value: float, half_width: float, *, name: str, unit: str = "") -> Any:
    """Return an input that is likeliest at the middle of ± a half width: u = a / √6 (JCGM 100:2008, 4.3.9).

    Parameters
    ----------
    value, half_width : float, in the same unit
    name, unit : str, for the budget

    Examples
    --------
    >>> round(triangular(100.0, 0.1, name="flask").std_dev, 3)
    0.041
    """
    return uncertain(value, positive_number(half_width, "half_width", zero=True) / math.sqrt(6.0), name=name, unit=unit)


def correlated_inputs(
    values: Mapping[str, float], covariance: Sequence[Sequence[float]], *, degrees_of_freedom: float = math.inf
) -> tuple[Any, ...]:
    """Return inputs that were found together, with their joint degrees of freedom: one row of a budget."""
    from uncertainties import correlated_values

    if not all(0.0 <= row[i] < math.inf for i, row in enumerate(covariance)):
        raise QuantityError("correlated inputs: the variances on the diagonal must be finite and not negative")
    tag = Input(" and ".join(values), "", degrees_of_freedom, object())
    return tuple(correlated_values(list(values.values()), covariance, tags=[tag] * len(values)))


def one_value(value: Any, name: str) -> Any:
    """Return one number, uncertain or plain, or refuse it."""
    is_uncertain = hasattr(value, "nominal_value") and not hasattr(value, "dimensionality")
    return value if is_uncertain else plain_number(value, name)


def nominal(value: Any) -> Any:
    """Return the value of an uncertain number without its uncertainty; a plain number or array as it is."""
    return getattr(value, "nominal_value", as_float(value, uncertain=True))


def standard_uncertainty(value: Any) -> float:
    """Return the standard uncertainty of a number: 0 for a plain one."""
    return float(getattr(value, "std_dev", 0.0))


@dataclass(frozen=True)
class BudgetRow:
    """One independent cause of uncertainty, in its own unit; quantities observed together are one cause.

    Of those, the value is about 0 and the standard uncertainty is that of their effect on the result. Sensitivity is
    the change of the result for one unit of the input, the contribution (without sign) that times the standard
    uncertainty, the share its part of the result's variance, 0 to 1.
    """

    name: str
    unit: str
    value: float
    standard_uncertainty: float
    sensitivity: float
    contribution: float
    share: float
    degrees_of_freedom: float


def budget(result: Any) -> tuple[BudgetRow, ...]:
    """Return the contributions to the uncertainty of a result, the largest first; none for a plain number."""
    variance = standard_uncertainty(result) ** 2
    causes: dict[object, list[tuple[Any, float]]] = {}
    for variable, slope in getattr(result, "derivatives", {}).items():
        if slope * variable.std_dev:
            causes.setdefault(getattr(variable.tag, "joint", None) or variable, []).append((variable, float(slope)))
    rows = [_row(parts, variance) for parts in causes.values()]
    return tuple(sorted(rows, key=lambda row: (-row.contribution, row.name)))


def _row(parts: list[tuple[Any, float]], variance: float) -> BudgetRow:
    variable, slope = parts[0]
    tag = variable.tag if isinstance(variable.tag, Input) else Input(str(variable.tag or "(no name)"))
    effect = math.hypot(*(each * part.std_dev for part, each in parts))
    value, u, slope = (variable.nominal_value, variable.std_dev, slope) if tag.joint is None else (0.0, effect, 1.0)
    return BudgetRow(tag.name, tag.unit, value, u, slope, effect, effect**2 / variance, tag.degrees_of_freedom)


def effective_degrees_of_freedom(result: Any) -> float:
    """Return the effective degrees of freedom, not rounded (Welch and Satterthwaite; JCGM 100:2008, G.4.1)."""
    weights = sum(row.share**2 / row.degrees_of_freedom for row in budget(result))
    return 1.0 / weights if weights else math.inf


def coverage_factor(result: Any, *, probability: float = COVERAGE) -> float:
    """Return the factor from standard to expanded uncertainty, with Student's t for each cause [banerjee_1960].

    Its square is the sum of t² of each cause, at the degrees of freedom of the cause, times its share in the
    variance. Where all causes have one number of degrees, jointly, it is the factor of JCGM 100:2008, G.3. Taking t
    at the effective degrees of freedom (G.4) covers too little where two or three runs happen to lie close together.
    """
    return combined_coverage_factor(budget(result), probability=probability)


def combined_coverage_factor(rows: Sequence[BudgetRow], *, probability: float) -> float:
    """Return the coverage factor of a budget, as :func:`coverage_factor` does of its result."""
    if not rows:
        return student_t(probability, math.inf)
    return math.sqrt(math.fsum(row.share * student_t(probability, row.degrees_of_freedom) ** 2 for row in rows))


def degrees_of_coverage(factor: float, *, probability: float = COVERAGE) -> float:
    """Return the whole degrees of freedom at which Student's t is a coverage factor, or fewer; beyond 1000 infinity."""
    fewer = bisect(range(1, 1001), -factor, key=lambda degrees: -student_t(probability, degrees))
    return float(max(fewer, 1)) if fewer < 1000 else math.inf


def round_to_uncertainty(value: float, standard_uncertainty: float, *, digits: int = 2) -> tuple[str, str]:
    """Return a value and its uncertainty, with one or two significant digits, as text to the same place.

    JCGM 100:2008, 7.2.6. Halves go up.
    """
    if not 0 < standard_uncertainty < math.inf or not math.isfinite(value):
        raise QuantityError(
            f"{value} with uncertainty {standard_uncertainty}: both must be finite, and the latter positive"
        )
    if digits not in (1, 2):
        raise QuantityError(f"{digits} significant digits of an uncertainty; write 1 or 2")
    context = Context(prec=800, rounding=ROUND_HALF_UP)
    u = Decimal(repr(float(standard_uncertainty)))
    for _ in range(2):  # 0.0996 becomes 0.10, one digit longer than 0.0996 was
        place = Decimal(1).scaleb(u.adjusted() - digits + 1)
        u = u.quantize(place, context=context)
    return f"{Decimal(repr(float(value))).quantize(place, context=context):f}", f"{u:f}"
