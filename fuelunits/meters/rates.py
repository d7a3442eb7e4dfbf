"""Pulses as numbers: how rates and counts are read, and how finely a count resolves.

A count is whole, so it is uncertain by one pulse: one in N over N pulses, one over the gate time in hertz. Counting a
clock over whole periods instead moves that one count to the clock's.
"""

from __future__ import annotations

from typing import Any

from fuelunits.arrays import as_float, as_float_array, is_positive, of_one_shape
from fuelunits.errors import QuantityError
from fuelunits.quantities import magnitude
from fuelunits.validation import carries_unit, format_value, positive_number


def in_unit(value: Any, unit: str, name: str) -> Any:
    """Return text or a quantity of any library in the unit that the argument's name states; anything else as it is."""
    return magnitude(value, unit, name=name) if isinstance(value, str) or carries_unit(value) else value


def positive_in_unit(value: Any, unit: str, name: str) -> float:
    """Return one positive number in a unit, from a number, text or a quantity."""
    return positive_number(in_unit(value, unit, name), name)


def positive_floats(value: Any, name: str) -> Any:
    """Return a float or floating-point array, positive and finite; NaN passes."""
    number = as_float(value)
    if not is_positive(number):
        raise QuantityError(f"{name} must be positive and finite; got {format_value(value)}")
    return number


def whole_counts(pulses: Any, name: str = "pulses") -> Any:
    """Return counts as float: whole numbers that are not negative, one or an array of any library."""
    import numpy as np

    try:
        number = as_float_array(pulses, name)
    except (QuantityError, TypeError, ValueError) as wrong:
        raise QuantityError(f"{name}: {format_value(pulses)}: a whole number is needed ({wrong})") from wrong
    if not np.all(np.isfinite(number)) or np.any(number != np.floor(number)):
        raise QuantityError(f"{name}: {format_value(pulses)} is not a whole number, and counts are whole numbers")
    if np.any(number < 0):
        raise QuantityError(f"{name}: {format_value(pulses)} is negative")
    return number if number.ndim else float(number)


def gate_resolution_hz(gate_s: Any) -> Any:
    """Return the step, Hz, of a frequency found by counting whole pulses in a gate: 1/gate [frequency_counter_note].

    Parameters
    ----------
    gate_s : float or array, gate time, s, or text or a quantity such as ``"0.1 s"``; positive and finite, NaN passes

    Examples
    --------
    >>> gate_resolution_hz(0.1)
    10.0
    """
    return 1.0 / positive_floats(in_unit(gate_s, "s", "gate_s"), "gate_s")


def period_resolution(frequency_hz: Any, clock_hz: Any, *, periods: int = 1) -> Any:
    """Return the relative step, a fraction, of a frequency found by counting a clock over whole periods.

    The one count in ``n_clock`` of a reciprocal counter, source ``instrumentation_reference_book``.

    Parameters
    ----------
    frequency_hz, clock_hz : float or array
        Frequency measured and that of the clock, Hz, or text or quantities; positive and finite. They broadcast.
    periods : int, whole periods over which the clock is counted

    Examples
    --------
    >>> period_resolution(100.0, 1e6)
    0.0001
    """
    measured, clock = in_unit(frequency_hz, "Hz", "frequency_hz"), in_unit(clock_hz, "Hz", "clock_hz")
    with of_one_shape("frequency_hz, clock_hz and periods"):
        counted = positive_floats(clock, "clock_hz") * positive_floats(whole_counts(periods, "periods"), "periods")
        return positive_floats(measured, "frequency_hz") / counted


def counting_resolution(pulses: Any) -> Any:
    """Return the relative step of a total of pulses, a fraction: one over their number [jeronymo_aibe_2010].

    Parameters
    ----------
    pulses : float or array, number of pulses counted; positive and finite, NaN passes

    Examples
    --------
    >>> counting_resolution(10_000)
    0.0001
    """
    return 1.0 / positive_floats(pulses, "pulses")


def pulses_for_resolution(relative: Any) -> Any:
    """Return the smallest whole number of pulses whose total resolves a fraction [jeronymo_aibe_2010].

    A quotient within 1e-12 above a whole number counts as it.

    Parameters
    ----------
    relative : float or array, resolution wanted, as a fraction: 0.0001 for 0.01 %; positive and finite, NaN passes

    Examples
    --------
    >>> pulses_for_resolution(0.0003)
    3334.0
    """
    import numpy as np

    pulses = np.ceil((1.0 - 1e-12) / positive_floats(relative, "relative"))
    return pulses if np.ndim(pulses) else float(pulses)
