"""Uncertainty after the GUM [jcgm_100_2008]: inputs with a name, budgets, coverage by Student's t, random draws.

An input with a standard uncertainty is a number of the ``uncertainties`` package. Arithmetic carries the derivatives
along, so whatever uses the same object is correlated through it: a balance calibration that several runs share does
not average out. A `value` and its uncertainty or `half_width` are in one unit; `name` and `unit` are for the budget.
"""

from __future__ import annotations

import math
import os
from bisect import bisect
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import cache, lru_cache
from typing import Any
from weakref import WeakValueDictionary

from fuelunits.errors import QuantityError
from fuelunits.quantities import is_labelled
from fuelunits.sources import Range
from fuelunits.units import LOCK, check_unit
from fuelunits.validation import as_float, as_float_array, check_type, finite_number, plain_number, positive_number

COVERAGE = 0.9545  # coverage probability at which infinite degrees of freedom give a coverage factor of 2.00
COVERAGE_FACTORS = Range("coverage factor", 1.0, 64.0, "", "k of 99 % is 64 at most; is it the coverage in per cent?")
_PROBABILITIES = Range("coverage probability", 0.0, 0.9999, "", "the range in which student_t is tested")
_MOST_DEGREES = 1000
K_DIGIT = 0.005  # half of the last digit of a coverage factor that is written with two decimals
UNKNOWN = "unknown "  # begins the identity of a cause that a file did not state, up to a slash that of its loading
_ALIVE: WeakValueDictionary[str, Any] = WeakValueDictionary()  # causes by identity, in copies, pickles and files too


@cache
def _type() -> Any:
    """Return the type of a cause; made here, because importing this module loads no ``uncertainties``."""
    from uncertainties.core import Variable

    class Cause(Variable):  # type: ignore[misc]
        """A variable of one physical cause: a copy is itself, and its pickle restores it."""

        __slots__ = ("__weakref__", "identity")

        def __deepcopy__(self, memo: Any = None) -> Any:
            return self

        __copy__ = __deepcopy__

        def __reduce__(self) -> Any:
            return cause, (self.nominal_value, self.std_dev, self.tag, self.identity)

    return Cause


def cause(value: float, uncertainty: float, tag: Any, identity: str = "") -> Any:
    """Return the cause of an identity: that which is alive, if its figures are these; a new one without identity."""
    with LOCK:
        known = _ALIVE.get(identity)
        if known is not None and (known.nominal_value, known.std_dev, known.tag) == (value, uncertainty, tag):
            return known
        made = _type()(value, uncertainty, tag)
        made.identity = identity if identity and known is None else os.urandom(12).hex()  # no two alive have one
        _ALIVE[made.identity] = made
        return made


def figures_and_causes(value: Any) -> tuple[Any, frozenset[Any]]:
    """Return what a copy of an input has in common with it, and another input, of other causes, has not."""
    return getattr(value, "nominal_value", value), frozenset(getattr(value, "derivatives", {}).items())


@dataclass(frozen=True)
class Input:
    """What an uncertain number stands for, as its tag; `joint` is the same text in all quantities observed together."""

    name: str
    unit: str = ""
    degrees_of_freedom: float = math.inf
    joint: str | None = None
    written: str = field(default="", compare=False)  # the unit in which it was given

    def __str__(self) -> str:
        return self.name


def uncertain(
    value: float, uncertainty: float, *, name: str, unit: str = "", degrees_of_freedom: float = math.inf
) -> Any:
    """Return an input of a value and its standard uncertainty; the value itself where it has none.

    One object stands for one physical cause, also its copies, in pickles and files: use it wherever that cause acts.

    Parameters
    ----------
    uncertainty : float, standard, in the unit of the value
    unit : str, of the value, for the budget; an argument of another unit refuses the input
    degrees_of_freedom : float, of the uncertainty, dimensionless: n - 1 for a mean of n observations, else infinity

    Examples
    --------
    >>> uncertain(28.702, 0.0015, name="balance reading", unit="kg").std_dev
    0.0015
    """
    check_type(name, str, "name", "what a budget should call it")
    value = finite_number(value, f"{name}: the value")
    uncertainty = positive_number(uncertainty, f"{name}: the standard uncertainty", zero=True)
    degrees = degrees_number(degrees_of_freedom, f"{name}: the degrees of freedom")
    return value if uncertainty == 0 else cause(value, uncertainty, Input(name, unit, degrees))


def degrees_number(value: Any, name: str = "degrees of freedom") -> float:
    """Return a number of degrees of freedom, which may be infinite, or refuse it."""
    degrees = plain_number(value, name)
    if not degrees >= 1.0:
        raise QuantityError(f"{name} must be at least 1; got {degrees:g}")
    return degrees


def rectangular(value: float, half_width: float, *, name: str, unit: str = "") -> Any:
    """Return an input that lies anywhere within ± a half width: u = a / √3 (JCGM 100:2008, 4.3.7).

    Examples
    --------
    >>> round(rectangular(0.9999, 0.0001, name="purity").std_dev, 6)
    5.8e-05
    """
    return uncertain(value, positive_number(half_width, "half_width", zero=True) / math.sqrt(3.0), name=name, unit=unit)


def triangular(value: float, half_width: float, *, name: str, unit: str = "") -> Any:
    """Return an input that is likeliest at the middle of ± a half width: u = a / √6 (JCGM 100:2008, 4.3.9).

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
    import numpy as np
    from uncertainties import correlated_values

    if is_labelled(covariance):
        raise QuantityError("covariance is labelled: write frame.loc[names, names].to_numpy(), names as in values")
    matrix, size = as_float_array(covariance, "covariance"), len(values)
    if matrix.shape != (size, size) or not np.isfinite(matrix).all():
        raise QuantityError(f"covariance: {size} rows of {size} finite numbers, no variance negative; got {matrix}")
    scale = np.sqrt(np.abs(np.outer(matrix.diagonal(), matrix.diagonal())))
    within = (np.abs(matrix) <= scale * (1.0 + 1e-9)) & (np.abs(matrix - matrix.T) <= 1e-6 * scale)
    if not within.all() or np.linalg.eigvalsh(matrix / np.where(scale, scale, 1.0)).min() < -0.01:  # of two digits
        raise QuantityError("covariance: symmetric, variances not negative, correlations within ±1 that fit together")
    numbers = [finite_number(value, name) for name, value in values.items()]
    tag = Input(" and ".join(values), "", degrees_number(degrees_of_freedom), os.urandom(12).hex())
    return tuple(correlated_values(numbers, matrix, tags=[tag] * len(values)))


def one_value(value: Any, name: str, unit: str = "") -> Any:
    """Return one number, uncertain or plain, or refuse it, also where it states another unit than this."""
    if not hasattr(value, "nominal_value") or hasattr(value, "dimensionality"):
        return plain_number(value, name)
    value = value if hasattr(value, "tag") else value * 1.0  # the caller's sum is left as it is: see check_unit
    positive_number(standard_uncertainty(value), f"{name}: the standard uncertainty", zero=True)
    check_unit(value, unit or "L/L", name)
    return value


def nominal(value: Any) -> Any:
    """Return the value of an uncertain number without its uncertainty; a plain number or array as it is."""
    return getattr(value, "nominal_value", as_float(value, uncertain=True))


def standard_uncertainty(value: Any) -> float:
    """Return the standard uncertainty of a number: 0 for a plain one."""
    return float(getattr(value, "std_dev", 0.0))


def name_of(each: Any) -> str:
    """Return the name of a cause as it is compared: one copied by hand may differ in capitals and blanks."""
    return " ".join(str(each.tag or "an input").split()).casefold()


def unclear_causes(values: Iterable[Any], readings: Iterable[Any] | None = None) -> list[str]:
    """Return inputs that are alike but without an identity: their file, or a copy of a foreign number, has none.

    Alike are those of one name, and those without that act in some of the values each; else those of the same figures.
    With the `readings` taken anew for each value: also others of one name and sign of effect, if one cause would make u
    a twentieth larger; of those about 0, densities and temperatures. A density of no effect marks its shared error.
    """
    values, taken = list(values), {each for reading in readings or () for each in getattr(reading, "derivatives", ())}
    total = sum(values)
    slopes = getattr(total, "derivatives", {})
    units = {each: getattr(each.tag, "unit", "") for each in slopes}
    shared = sum(slopes[each] * each.std_dev for each in slopes if units[each] == "kg/m^3" and not each.nominal_value)
    origins: dict[tuple[Any, ...], dict[str, float]] = {}
    for each, slope in slopes.items():
        joint, identity = getattr(each.tag, "joint", None), getattr(each, "identity", f"{UNKNOWN}{id(each)}")
        is_known, is_anew = not identity.startswith(UNKNOWN), readings is None or each in taken
        if is_known and (is_anew or not (each.nominal_value or units[each] in ("kg/m^3", "degC", "delta_degC"))):
            continue
        acts = [n for n, value in enumerate(values) if not each.tag and each in getattr(value, "derivatives", ())]
        of_some = str(acts) * (each not in taken and 0 < len(acts) < len(values))
        figures = (each.nominal_value, each.std_dev) if is_anew or joint or not (each.tag or of_some) else None
        is_mark = is_known and not slope and units[each] == "kg/m^3"
        origin = "shared" if is_mark else of_some or (joint or identity).partition("/")[0]
        effect = shared if is_mark else slope * each.std_dev
        effects = origins.setdefault((name_of(each), is_known, figures, effect > 0.0), {})
        effects[origin] = effect + (0.0 if is_mark else effects.get(origin, 0.0))
    written = {name_of(each): str(each.tag or "an input") for each in slopes}
    ask = "whether {} is one cause or {}: make it, or the error of several readings, once, or name each apart"
    found = [
        ask.format(written[key[0]], len(effects))
        for key, effects in origins.items()
        if len(effects) > 1
        if not key[1] or sum(effects.values()) ** 2 - math.hypot(*effects.values()) ** 2 > total.std_dev**2 / 10
    ]
    return [*dict.fromkeys(found)]


@dataclass(frozen=True)
class BudgetRow:
    """One independent cause of uncertainty, in its own unit; quantities observed together are one, by their effect.

    The contribution is sensitivity times standard uncertainty, without sign, the share its part of variance, 0 to 1.
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
    """Return the contributions to the uncertainty of a result, one number, the largest first; none for a plain one."""
    result = result * 1.0 if hasattr(result, "nominal_value") else plain_number(result, "the result of a budget")
    variance = standard_uncertainty(result) ** 2  # of a copy: see check_unit
    causes: dict[object, list[tuple[Any, float]]] = {}
    for variable, slope in getattr(result, "derivatives", {}).items():
        if variance and slope * variable.std_dev:  # a variance below 1e-323 is none
            causes.setdefault(getattr(variable.tag, "joint", None) or variable, []).append((variable, float(slope)))
    rows = []
    for parts in causes.values():
        variable, slope = parts[0]
        tag = variable.tag if isinstance(variable.tag, Input) else Input(str(variable.tag or "(no name)"))
        total = math.hypot(*(each * part.std_dev for part, each in parts))
        value, u, slope = (variable.nominal_value, variable.std_dev, slope) if tag.joint is None else (0.0, total, 1.0)
        rows.append(BudgetRow(tag.name, tag.unit, value, u, slope, total, total**2 / variance, tag.degrees_of_freedom))
    return tuple(sorted(rows, key=lambda row: (-row.contribution, row.name)))


def effective_degrees_of_freedom(result: Any) -> float:
    """Return the effective degrees of freedom, not rounded (Welch and Satterthwaite; JCGM 100:2008, G.4.1)."""
    weights = sum(row.share**2 / row.degrees_of_freedom for row in budget(result))
    return 1.0 / weights if weights else math.inf


def coverage_factor(result: Any, *, probability: float = COVERAGE) -> float:
    """Return the factor from standard to expanded uncertainty of a result, or of its budget, with Student's t.

    Its square is the sum of t² of each cause times its share in the variance [banerjee_1960]. Taking t at the effective
    degrees (JCGM 100:2008, G.4) covers too little where two or three runs happen to lie close together.
    """
    rows = result if isinstance(result, tuple) else budget(result)
    probability = positive_number(probability, "coverage probability", example=COVERAGE)
    t = ((row.share, student_t(probability, row.degrees_of_freedom)) for row in rows)
    return math.sqrt(math.fsum(share * each**2 for share, each in t)) or student_t(probability, math.inf)


def student_t(probability: float, degrees_of_freedom: float) -> float:
    """Return the t that a coverage probability of up to 0.9999 needs on both sides together.

    Degrees between whole numbers are taken down (JCGM 100:2008, G.4.1), and above 1000 to that, unless infinite. The
    formulas [abramowitz_stegun_26_7] are tested against a statistics library.
    """
    return _student_t(_PROBABILITIES.check(finite_number(probability, "probability")), _whole(degrees_of_freedom))


@lru_cache(maxsize=1024)
def _student_t(probability: float, nu: int) -> float:
    if not nu:
        from statistics import NormalDist

        return NormalDist().inv_cdf((1.0 + probability) / 2.0)
    low, high = 0.0, math.pi / 2.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _within(middle, nu) < probability else (low, middle)
    return math.sqrt(nu) * math.tan(low)


def student_probability(t: float, degrees_of_freedom: float) -> float:
    """Return the probability that a value lies within ±t, t not negative; the inverse of :func:`student_t`."""
    nu = _whole(degrees_of_freedom)
    return _within(math.atan(t / math.sqrt(nu)), nu) if nu else math.erf(t / math.sqrt(2.0))


def _whole(degrees_of_freedom: float) -> int:
    """Return degrees of freedom taken down, but for the noise of floating-point arithmetic; 0 for infinity."""
    degrees = degrees_number(plain_number(degrees_of_freedom, "degrees of freedom") * (1.0 + 1e-9))
    return 0 if math.isinf(degrees) else min(int(degrees), _MOST_DEGREES)


def _within(angle: float, nu: int) -> float:
    """Return the probability of |t| below sqrt(nu) tan(angle): Abramowitz and Stegun 26.7.3 and 26.7.4."""
    sine, cosine, odd = math.sin(angle), math.cos(angle), nu % 2
    term = cosine if odd else 1.0
    total = term if nu > 1 else 0.0
    for k in range(2 + odd, nu, 2):
        term *= cosine**2 * (k - 1) / k
        total += term
    return 2.0 / math.pi * (angle + sine * total) if odd else sine * total


def degrees_of_coverage(factor: float, stated: Any = None) -> float:
    """Return the degrees of freedom as stated, else the most that need a coverage factor; beyond 1000 infinity."""
    fewer = bisect(range(1, _MOST_DEGREES + 1), -factor, key=lambda degrees: -student_t(COVERAGE, degrees))
    found = float(max(fewer, 1)) if fewer < _MOST_DEGREES else math.inf
    return found if stated is None else degrees_number(stated)


def round_to_uncertainty(value: float, uncertainty: float) -> tuple[str, str]:
    """Return a value and its uncertainty as text to two digits of the latter, halves up (JCGM 100:2008, 7.2.6)."""
    value, uncertainty = finite_number(value, "value"), positive_number(uncertainty, "uncertainty")
    context, u = Context(prec=800, rounding=ROUND_HALF_UP), Decimal(repr(uncertainty))
    for _ in range(2):  # 0.0996 becomes 0.10, one digit longer than 0.0996 was
        place = Decimal(1).scaleb(u.adjusted() - 1)
        u = u.quantize(place, context=context)
    return f"{Decimal(repr(value)).quantize(place, context=context):f}", f"{u:f}"
