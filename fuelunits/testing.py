"""Assertions for the test suites of other projects: whether a constant is right, and if not, what it is.

Each raises ``AssertionError`` where a number is off, and says by how much, what would be right in the same unit, and
which known mistake it may be. An argument that cannot be read raises a ``FuelUnitsError``, as everywhere. pytest leaves
the source of this module out of what it prints.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from fuelunits.amounts import first_quantity
from fuelunits.checks.density_check import check_density
from fuelunits.checks.likeness import density_looks_like
from fuelunits.confusions import looks_like
from fuelunits.conversion import convert
from fuelunits.errors import QuantityError
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import fraction, is_quantity, magnitude, positive, read_text, temperature_c
from fuelunits.units import factor, read_unit
from fuelunits.validation import plain_number

__all__ = [
    "assert_density",
    "assert_density_assumption",
    "assert_factor",
    "assert_k_factor",
    "assert_quantity_close",
]

_SCALES = {"degC": "°C", "degF": "°F", "K": "K", "degR": "°R"}


def assert_factor(value: float, from_unit: str, to_unit: str, *, tolerance: Any = "0.0001 %") -> None:
    """Assert that a number is the factor from one unit to another.

    Parameters
    ----------
    value : float
        The constant of your code.
    from_unit, to_unit : str
        What it should convert.
    tolerance : str
        Tolerance, such as ``"0.01 %"``.

    Raises
    ------
    AssertionError
        With the right factor.
    FuelUnitsError
        If no factor leads from the one unit to the other.

    Examples
    --------
    >>> assert_factor(3.785412, "gal", "L")
    >>> assert_factor(4.546, "gal", "L")
    Traceback (most recent call last):
        ...
    AssertionError: 4.546 is no factor from gal to L, 20.1 % too high: right is 3.785411784; it may be imperial \
gallon for US gallon (L per imp_gal for L per gal)
    """
    __tracebackhide__ = True
    given, right = plain_number(value, "value"), factor(from_unit, to_unit)
    allowed, ratio = fraction(tolerance, name="tolerance"), given / right
    if not abs(ratio - 1.0) <= allowed:
        raise AssertionError(
            f"{value} is no factor from {from_unit} to {to_unit}, {_off(ratio)}: right is {right:.10g}"
            + looks_like(ratio, to_unit, per=from_unit)
        )


def assert_density(value: Any, fuel: Any, *, at: Any, tolerance: Any) -> None:
    """Assert that a density is that of a fuel at one temperature.

    Parameters
    ----------
    value : str or pint.Quantity
        The density of your code, such as ``"6.7 lb/gal"``.
    fuel : str, Fuel, Batch or Blend
        A grade by name, a measured batch or a blend.
    at : str or pint.Quantity
        Its temperature.
    tolerance : str
        Tolerance, such as ``"2 %"``, against the typical fuel of the grade.

    Raises
    ------
    AssertionError
        With the density of the typical fuel, and what the specification allows.

    Examples
    --------
    >>> assert_density("6.7 lb/gal", "Jet A", at="15 degC", tolerance="1 %")
    >>> assert_density("6.02 lb/gal", "Jet A", at="15 degC", tolerance="1 %")
    Traceback (most recent call last):
        ...
    AssertionError: 6.02 lb/gal for Jet A at 15 degC, 10.7 % too low, 1 % allowed: expected 6.7431 lb/gal for the \
typical fuel, a batch may have at least 6.4677 lb/gal and at most 7.0101 lb/gal; it may be the density of 100LL \
for that of Jet A
    """
    __tracebackhide__ = True
    first_quantity(value, at, tolerance)
    found, unit, celsius = find_fuel(fuel), unit_of(value), float(temperature_c(at, name="at"))
    given_kg_m3, right_kg_m3 = float(positive(value, "kg/m^3", name="value")), float(found.density_kg_m3(celsius))
    allowed, ratio = fraction(tolerance, name="tolerance"), given_kg_m3 / right_kg_m3
    if not abs(ratio - 1.0) <= allowed:
        raise AssertionError(
            f"{value} for {found.name} at {at}, {_off(ratio)}, {_percent(allowed)} allowed: "
            f"expected {_format(right_kg_m3, unit)} for the typical fuel{_batches(found, celsius, unit)}"
            + density_looks_like(given_kg_m3, found, celsius, unit)
        )


def assert_density_assumption(value: Any, fuel: Any, *, between: Any, tolerance: Any) -> None:
    """Assert that one fixed density holds for a fuel over a range of temperatures.

    Parameters
    ----------
    value, fuel : as for :func:`assert_density`
        The fixed density, and the fuel.
    between : pair of str or pint.Quantity
        Lowest and highest temperature of the fuel.
    tolerance : str
        Tolerance of the mass.

    Raises
    ------
    AssertionError
        With the worst case, and the density at the middle of the range.

    Examples
    --------
    >>> assert_density_assumption("6.7 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="2 %")
    >>> assert_density_assumption("0.3647 kg/L", "Jet A", between=("0 degC", "30 degC"), tolerance="2 %")
    Traceback (most recent call last):
        ...
    AssertionError: 0.3647 kg/L does not hold for Jet A between 0 and 30 °C, 2 % allowed: worst -55.47 % at 0 °C \
(typical); expected 0.808 kg/L in the middle, at 15 °C; it may be converted from lb/L, \
although it was in kg/L already
    """
    __tracebackhide__ = True
    check = check_density(value, fuel, between=between, tolerance=tolerance)
    if check.passed:
        return
    low, high = check.between_c
    middle = (low + high) / 2.0
    likeness = density_looks_like(check.assumed_kg_m3, check.fuel, middle, check.unit)
    raise AssertionError(
        f"{check.written} does not hold for {check.fuel.name} between {low:g} and {high:g} °C, "
        f"{_percent(check.tolerance)} allowed: worst {check.worst}; "
        f"expected {_format(float(check.fuel.density_kg_m3(middle)), check.unit)} in the middle, at {middle:g} °C"
        + (f"; it equals the typical density at {check.equals_typical_at}" if check.equals_typical_at else likeness)
    )


def assert_k_factor(entered: Any, calibrated: Any, *, tolerance: Any) -> None:
    """Assert that the K-factor that is entered is the one that was calibrated.

    Parameters
    ----------
    entered, calibrated : KFactor, str or pint.Quantity
        Such as ``"43186 pulse/gal"``; their units of volume may differ.
    tolerance : str
        Tolerance.

    Raises
    ------
    AssertionError
        With the calibrated K-factor in the unit of the entered one.

    Examples
    --------
    >>> assert_k_factor("43186 pulse/gal", "43187 pulse/gal", tolerance="0.1 %")
    >>> assert_k_factor("43.186 pulse/gal", "43187 pulse/gal", tolerance="0.1 %")
    Traceback (most recent call last):
        ...
    AssertionError: K-factor 43.186 pulse/gal, 0.001 times what it should be, 0.1 % allowed: right is 43187 \
pulse/gal; it may be thousands forgotten: a K-factor written in thousands of pulses
    """
    __tracebackhide__ = True
    first_quantity(entered, calibrated, tolerance)
    k, true = (each if isinstance(each, KFactor) else KFactor.read(each, insist=True) for each in (entered, calibrated))
    allowed, error = fraction(tolerance, name="tolerance"), k.relative_error_to(true)
    if not abs(error) <= allowed:
        raise AssertionError(
            f"K-factor {k}, {_off(1.0 + error)}, {allowed * 100:.3g} % allowed: right is {true.to(k.unit)}"
            + looks_like(1.0 + error, f"pulse/{k.unit}")
        )


def assert_quantity_close(actual: Any, expected: Any, *, tolerance: Any) -> None:
    """Assert that two quantities agree.

    Parameters
    ----------
    actual, expected : str or pint.Quantity
        Their units may differ; arrays broadcast, and the worst element counts.
    tolerance : str or pint.Quantity
        A percentage of `expected`, or a difference such as ``"0.5 gal/h"``; for temperatures a
        difference such as ``"0.5 delta_degC"`` alone.

    Raises
    ------
    AssertionError
        With the expected value in the unit of the actual one.

    Examples
    --------
    >>> assert_quantity_close("47.3 L/h", "12.5 gal/h", tolerance="0.1 %")
    >>> assert_quantity_close("59 degC", "15 degC", tolerance="0.5 delta_degC")
    Traceback (most recent call last):
        ...
    AssertionError: 59 degC is 44 delta_degC too high, 0.5 delta_degC allowed: right is 15 degC; it may be °F for °C
    """
    __tracebackhide__ = True
    first_quantity(actual, expected, tolerance)
    unit = unit_of(actual)
    given, right = _arrays(magnitude(actual, unit, name="actual"), magnitude(expected, unit, name="expected"))
    with np.errstate(invalid="ignore"):  # infinity less infinity is no agreement
        excess = np.abs(given - right) - _allowed(tolerance, right, unit)
    if not np.all(excess <= 0.0):
        worst = int(np.argmax(np.where(np.isnan(excess), np.inf, excess)))
        where = f" (element {worst}, the worst)" if excess.shape else ""
        one, other = float(given.flat[worst]), float(right.flat[worst])
        raise AssertionError(f"{_difference(one, other, unit, where)}, {tolerance} allowed: {_right(one, other, unit)}")


def _arrays(actual: Any, expected: Any) -> list[Any]:
    """Return two arrays of one shape; what is masked or empty decides nothing, and is refused."""
    if any(isinstance(each, np.ma.MaskedArray) for each in (actual, expected)):
        raise QuantityError("a masked array has values that cannot be compared; fill it or leave them out")
    try:
        pair = list(np.broadcast_arrays(actual, expected))
    except ValueError as uneven:
        raise QuantityError(f"actual and expected have shapes {np.shape(actual)} and {np.shape(expected)}") from uneven
    if not pair[0].size:
        raise QuantityError("actual and expected hold no values; there is nothing to compare")
    return pair


def _allowed(tolerance: Any, right: Any, unit: str) -> Any:
    """Return the allowed difference in a unit."""
    step = _step_of(unit)
    relative = "dimensionless" in str(getattr(tolerance, "units", "")) or str(tolerance).rstrip().endswith(
        ("%", "percent")
    )
    if not relative:
        return positive(tolerance, step, name="tolerance", zero=True)
    if step != unit:
        raise QuantityError(
            f"tolerance: {tolerance} of a temperature depends on its scale; for example '0.5 delta_degC'"
        )
    return fraction(tolerance, name="tolerance") * np.abs(right)


def _step_of(unit: str) -> str:
    """Return the unit of a difference: another one for the scales of temperature."""
    return f"delta_{read_unit(unit).name}" if read_unit(unit).zero is not None else unit


def _difference(one: float, other: float, unit: str, where: str) -> str:
    step = _step_of(unit)
    if step == unit and other:
        return f"{one:.10g} {unit}{where} is {_off(one / other)}"
    return f"{one:.10g} {unit}{where} is {abs(one - other):.4g} {step} too {'high' if one > other else 'low'}"


def _right(one: float, other: float, unit: str) -> str:
    """Return what is right, and which scale or unit was taken for another."""
    text = f"right is {other:.10g} {unit}"
    if _step_of(unit) == unit:
        return text + (looks_like(one / other, unit) if other else "")
    for scale in _SCALES:
        if scale != unit and abs(convert(other, unit, scale) - one) < 0.1:
            return f"{text}; it may be {_SCALES[scale]} for {_SCALES[unit]}"
    return text


def _batches(found: Any, celsius: float, unit: str) -> str:
    limits = found.density_limits_kg_m3(celsius) if hasattr(found, "density_limits_kg_m3") else (None, None)
    words = [
        f"{word} {_format(float(limit), unit)}"
        for word, limit in zip(("at least", "at most"), limits, strict=True)
        if limit is not None
    ]
    return f", a batch may have {' and '.join(words)}" if words else ""


def _format(kg_m3: float, unit: str) -> str:
    return f"{kg_m3 * factor('kg/m^3', unit):.5g} {unit}"


def _percent(part: float) -> str:
    return f"{part * 100:.3g} %"


def _off(ratio: float) -> str:
    """Return by how much a number is off."""
    if 0.5 <= ratio <= 2.0:
        return f"{abs(ratio - 1.0) * 100:.3g} % too {'high' if ratio > 1.0 else 'low'}"
    return f"{ratio:.4g} times what it should be"


def unit_of(value: Any) -> str:
    """Return the unit in which something is written, in the spelling of fuelunits."""
    if not is_quantity(value):
        written = read_text(value)[1] if isinstance(value, str) else ""
        if not written:
            raise QuantityError(f"{value!r} has no unit; write text such as '6.7 lb/gal' or a pint quantity")
        return read_unit(written).name
    return read_unit(format(value.units, "C").replace("**", "^")).name
