"""K-factors, frequencies and counts of pulses: read from text, quantities or numbers, and turned into one another."""

from __future__ import annotations

from contextlib import suppress
from decimal import Decimal
from fractions import Fraction
from numbers import Integral, Rational, Real
from typing import Any, overload

import numpy as np
from numpy.typing import NDArray

from fuelunits.arrays import as_float
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.quantities import is_quantity, magnitude, positive, read_text
from fuelunits.validation import format_value, is_number, plain_array, positive_number

__all__ = [
    "flow_per_hour",
    "frequency_hz",
    "positive_floats",
    "positive_fraction",
    "positive_in_unit",
    "pulse_rate_hz",
    "read_pulses_per_volume",
    "total_count",
    "whole_counts",
]

_SMALLEST, _LARGEST = Fraction(1, 10**100), Fraction(10**100)


@overload
def frequency_hz(flow_per_hour: float, k_pulses: float) -> float: ...
@overload
def frequency_hz(flow_per_hour: NDArray[Any], k_pulses: float | NDArray[Any]) -> NDArray[Any]: ...
def frequency_hz(flow_per_hour: Any, k_pulses: Any) -> Any:
    """Return the pulse frequency of a flow, f = q K.

    Parameters
    ----------
    flow_per_hour : float or array
        Volume flow, in any unit of volume per hour.
    k_pulses : float or array
        Pulses per that same unit of volume.

    Returns
    -------
    float or array
        Hz.

    Examples
    --------
    >>> frequency_hz(31.5, 11_412.0)
    99.855
    """
    return as_float(flow_per_hour) * as_float(k_pulses) / 3600.0


@overload
def flow_per_hour(frequency_hz: float, k_pulses: float) -> float: ...
@overload
def flow_per_hour(frequency_hz: NDArray[Any], k_pulses: float | NDArray[Any]) -> NDArray[Any]: ...
def flow_per_hour(frequency_hz: Any, k_pulses: Any) -> Any:
    """Return the flow of a pulse frequency, q = f / K, in K's unit of volume per hour.

    Examples
    --------
    >>> flow_per_hour(99.855, 11_412.0)
    31.5
    """
    return 3600.0 * as_float(frequency_hz) / as_float(k_pulses)


def read_pulses_per_volume(text: Any) -> tuple[Fraction, str]:
    """Read ``"11412 pulse/L"``, ``"11412/L"`` or a pint quantity into the number and the unit of volume.

    Examples
    --------
    >>> read_pulses_per_volume("43186 pulses per gallon")
    (Fraction(43186, 1), 'gallon')
    """
    if is_quantity(text):
        return positive_fraction(_pulses_per_litre(text)), "L"
    if not isinstance(text, str):
        raise QuantityError(
            f"K-factor: {format_value(text)} has no unit; write '11412 pulse/L' or KFactor(11412, per='L')"
        )
    number, unit = read_text(text)
    if unit.startswith(("/", "per ")):
        unit = "pulse " + unit
    counted, _, per = unit.replace(" per ", "/").partition("/")
    if counted.strip() not in ("pulse", "pulses") or not per:
        raise DimensionError(f"K-factor: {text!r} is not pulses per volume; write for example '11412 pulse/L'")
    return positive_fraction(number), per.strip()


def positive_fraction(number: Any, name: str = "K-factor", example: object = 11412) -> Fraction:
    """Return a number exactly, a float as the decimal number that it prints.

    Examples
    --------
    >>> positive_fraction(0.1), positive_fraction(np.int64(5))
    (Fraction(1, 10), Fraction(5, 1))
    """
    value = Fraction(0)
    if is_number(number):
        try:
            if isinstance(number, (Integral, Rational)):
                value = Fraction(int(number.numerator), int(number.denominator))
            elif isinstance(number, (Real, Decimal)):
                # text, since float(np.float32(0.1)) prints other digits than the number that was given
                value = Fraction(str(number))
        except (ValueError, OverflowError):
            pass
    if not _SMALLEST < value < _LARGEST:
        raise QuantityError(f"{name} must be positive and finite, for example {example}; got {format_value(number)}")
    return value


def _pulses_per_litre(quantity: Any) -> float:
    """Read a pint quantity as pulses per litre: 1/volume and count/volume are read as pulses."""
    names = [name for name, _ in type(quantity)(1.0, quantity.units).to_root_units().unit_items()]
    if "radian" in names:
        raise DimensionError(f"K-factor: {quantity} counts angles or turns, not pulses")
    try:
        number = magnitude(quantity, "pulse/L" if "pulse" in names else "1/L", name="K-factor")
    except DimensionError as mismatch:
        raise DimensionError(f"K-factor: {quantity} is not pulses per volume") from mismatch
    if np.ndim(number):
        raise QuantityError("K-factor: one number is needed, not an array")
    return float(number)


def pulse_rate_hz(value: Any, name: str = "frequency", *, zero: bool = True) -> Any:
    """Return a frequency in Hz, from text such as ``"100 Hz"`` or ``"6000 pulse/min"``, or from a pint quantity.

    Examples
    --------
    >>> pulse_rate_hz("6000 pulse/min"), pulse_rate_hz("100 pulses per s")
    (100.0, 100.0)
    """
    return positive(value, "Hz", name=name, zero=zero)


def positive_floats(value: Any, name: str) -> Any:
    """Return a float or floating-point array, positive and finite; NaN passes."""
    number = as_float(value)
    if np.any(np.less_equal(number, 0.0)) or np.any(np.isinf(number)):
        raise QuantityError(f"{name} must be positive and finite; got {format_value(value)}")
    return number


def positive_in_unit(value: Any, unit: str, name: str, *, zero: bool = False) -> float:
    """Return one positive number in the unit that the argument's name states, from a number, text or a quantity.

    Examples
    --------
    >>> positive_in_unit("2 min", "s", "gate_s"), positive_in_unit(np.int64(2), "s", "gate_s")
    (120.0, 2.0)
    """
    if isinstance(value, str) or is_quantity(value):
        value = pulse_rate_hz(value, name) if unit == "Hz" else positive(value, unit, name=name, zero=zero)
    return positive_number(value, name, zero=zero)


def whole_counts(pulses: Any, name: str = "pulses") -> Any:
    """Return counts as float: whole numbers that are not negative, one or an array of any library."""
    scalar = isinstance(pulses, (Real, Decimal))
    array = _array([pulses] if scalar else pulses, name)
    if array.dtype.kind == "O" and all(map(_is_real, array.ravel().tolist())):
        with suppress(ValueError, OverflowError):
            array = array.astype(float)
    if array.dtype.kind not in "iuf" or not np.all(np.isfinite(array)) or np.any(array != np.floor(array)):
        raise QuantityError(f"{name}: {format_value(pulses)} is not a whole number, and counts are whole numbers")
    if np.any(array < 0):
        raise QuantityError(f"{name}: {format_value(pulses)} is negative")
    return float(array[0]) if scalar else as_float(array)


def total_count(counts: Any) -> int:
    """Return the sum of counts as a whole number of any size."""
    if isinstance(counts, (str, bytes)) or not np.iterable(counts):
        raise QuantityError(f"counts is {format_value(counts)}; give a list of whole numbers")
    array = _array(counts, "counts")
    whole_counts(array, "counts")
    return sum(map(int, array.ravel().tolist()))


def _array(values: Any, name: str) -> NDArray[Any]:
    """Return an array; a list as objects, since NumPy would make a float of 2**64 and a one of True."""
    if isinstance(values, (list, tuple)) and all(isinstance(each, (Real, Decimal, np.bool_)) for each in values):
        return np.asarray(values, dtype=object)
    return plain_array(values, name)


def _is_real(value: object) -> bool:
    return isinstance(value, (Real, Decimal)) and not isinstance(value, bool)
