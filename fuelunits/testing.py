"""Assertions for the test suites of other projects: whether a constant is right, and if not, which mistake it may be.

Values and their ``tolerance``, such as ``"0.1 %"``, are text or pint quantities, a factor is a plain number, fuels and
K-factors may be objects. ``AssertionError`` says by how much a value is off, and which known mistake it may be.
"""

from __future__ import annotations

from typing import Any

from fuelunits.checks.density_check import check_density
from fuelunits.checks.explanation import density_remark
from fuelunits.confusions import number_looks_like
from fuelunits.fuels.blends import Blend
from fuelunits.fuels.grades import Fuel
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import PairLike, QuantityLike, first_quantity, tolerance_fraction
from fuelunits.reports import format_percent
from fuelunits.uncertainty.decisions import Verdict
from fuelunits.units import factor
from fuelunits.validation import is_within, plain_number

__all__ = ["assert_density", "assert_factor", "assert_k_factor"]


def assert_factor(value: float, from_unit: str, to_unit: str, *, tolerance: QuantityLike = "0.0001 %") -> None:
    """Assert that a number, the constant of your code, is the factor from one unit to another.

    Examples
    --------
    >>> assert_factor(3.785412, "gal", "L")
    >>> assert_factor(4.546, "gal", "L")
    Traceback (most recent call last):
        ...
    AssertionError: 4.546 is not the factor from gal to L, 20.1 % too high: expected 3.785411784; it may be imperial \
gallon for US gallon (L per imp_gal for L per gal)
    """
    __tracebackhide__ = True
    given, right = plain_number(value, "value"), factor(from_unit, to_unit)
    if not is_within(given / right - 1.0, tolerance_fraction(tolerance)):
        wrong = f"{value} is not the factor from {from_unit} to {to_unit}, {_off(given / right)}"
        raise AssertionError(f"{wrong}: expected {right:.10g}{number_looks_like(given, right, to_unit, per=from_unit)}")


def assert_density(value: QuantityLike, fuel: Any, *, between: PairLike, tolerance: QuantityLike) -> None:
    """Assert that a density holds, from the lowest to the highest temperature, for a typical fuel, a batch or a blend.

    For a measured batch only where :func:`fuelunits.check_density` accepts it, and never for a blend that is no fuel.

    Examples
    --------
    >>> assert_density("6.7 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="2 %")
    """
    __tracebackhide__ = True
    check = check_density(value, fuel, between=between, tolerance=tolerance)
    is_computed = isinstance(check.fuel, (Fuel, Blend)) and getattr(check.fuel, "verdict", None) is not Verdict.REJECT
    if not check.passed or (check.verdict is not Verdict.ACCEPT and not is_computed):
        low, high = check.between_c
        middle, holds = (low + high) / 2.0, "is undecided" if check.passed else "does not hold"
        right = float(check.fuel.density_kg_m3(middle)) * factor("kg/m^3", check.unit)
        raise AssertionError(
            f"{check.written} {holds} for {check.fuel.name} between {low:g} and {high:g} °C, "
            f"{format_percent(check.tolerance)} allowed: expected {right:.5g} {check.unit} at {middle:g} °C; "
            + "; ".join((*[check.reason] * check.passed, density_remark(check), *check.remarks))
        )


def assert_k_factor(entered: Any, calibrated: Any, *, tolerance: QuantityLike) -> None:
    """Assert that the K-factor that is entered is the one that was calibrated; their units of volume may differ.

    Examples
    --------
    >>> assert_k_factor("43186 pulse/gal", "43187 pulse/gal", tolerance="0.1 %")
    """
    __tracebackhide__ = True
    first_quantity(entered, calibrated, tolerance)
    k, true = (each if isinstance(each, KFactor) else KFactor.read(each, insist=True) for each in (entered, calibrated))
    allowed, error = tolerance_fraction(tolerance), k.relative_error_to(true)
    if not is_within(error, allowed):
        wrong = f"K-factor {k}, {_off(1.0 + error)}, {format_percent(allowed)} allowed: expected {true.to(k.unit)}"
        raise AssertionError(wrong + number_looks_like(float(k), true.per(k.unit), f"pulse/{k.unit}"))


def _off(ratio: float) -> str:
    if 0.5 <= ratio <= 2.0:
        return f"{abs(ratio - 1.0) * 100:.3g} % too {'high' if ratio > 1.0 else 'low'}"
    return f"{ratio:.4g} times what it should be"
