"""Text of one number and one unit, read exactly; and the check that a unit measures what is needed."""

from __future__ import annotations

import re
from contextlib import suppress
from fractions import Fraction
from functools import lru_cache
from typing import Any

from fuelunits.errors import DimensionError, QuantityError
from fuelunits.unit_definitions import Dimension, Unit
from fuelunits.units import density_power, read_unit
from fuelunits.validation import format_value

__all__ = [
    "FREQUENCY",
    "PERCENT",
    "PULSE_RATE",
    "as_float",
    "check_kind",
    "dimension_of",
    "exact",
    "example_of",
    "read_text",
    "text_magnitude",
]

_NUMBER = re.compile(
    r"\s*(?P<number>[+-]?(?:[0-9]{1,400}(?:\.[0-9]{0,400})?|\.[0-9]{1,400})(?:[eE][+-]?[0-9]{1,3})?)"
    r"(?P<rest>.*)\Z",
    re.DOTALL,
)
_COMMA = re.compile(r"\s*[+-]?[0-9]+(,[0-9]+)+")
_LONGEST = 500

PERCENT = ("%", "percent")
"""How a percentage is written."""

_EXAMPLES = {
    "K": "30 degC",
    "kg/m^3": "6.7 lb/gal",
    "m^3": "200 gal",
    "kg": "500 lb",
    "m^3/s": "12.5 gal/h",
    "kg/s": "80 lb/h",
    "1/s": "99.8 Hz",
    "s": "45 min",
    "kg/m/s^2": "25 psi",
    "pF": "62.5 pF",
}


FREQUENCY, PULSE_RATE = (("s", -1),), (("pulse", 1), ("s", -1))


def dimension_of(unit: Unit) -> Dimension:
    """Return a dimension, that of a frequency for pulses per time."""
    return FREQUENCY if unit.dimension == PULSE_RATE else unit.dimension


@lru_cache(maxsize=4096)
def read_text(text: str) -> tuple[Fraction, str]:
    """Read text into its number, exactly as written, and its unit, which may be empty."""
    if len(text) > _LONGEST:
        raise QuantityError(f"a text of {len(text)} characters, beginning {text[:20]!r}, is no quantity")
    if _COMMA.match(text):
        raise QuantityError(
            f"{text!r} has a comma in its number; write a decimal point and no separators, such as '6.7 lb/gal'"
        )
    match = _NUMBER.match(text.replace("\N{MINUS SIGN}", "-").replace("\N{NO-BREAK SPACE}", " "))
    if match is None:
        raise QuantityError(f"{text!r} does not begin with a number; write one number and one unit, such as '30 degC'")
    return Fraction(match["number"]), match["rest"].strip()


def example_of(unit: str) -> str:
    """Return a quantity of the kind of a unit, as a message shows it."""
    goal = read_unit(unit)
    for base, example in _EXAMPLES.items():
        if read_unit(base).dimension == goal.dimension:
            return example
    return f"1 {unit}"


@lru_cache(maxsize=4096)
def text_magnitude(text: str, unit: str, name: str) -> float:
    """Return the number of a text in a unit."""
    return as_float(exact(text, unit, name=name), name, text)


def as_float(number: Fraction, name: str, text: str) -> float:
    """Return the nearest float, or refuse what is beyond floats."""
    try:
        return float(number)
    except OverflowError:
        raise QuantityError(f"{name}: {text!r} is too large a number") from None


def exact(text: str, unit: str, *, name: str) -> Fraction:
    """Return the number of a text in a unit, exactly."""
    number, written = read_text(text)
    goal = read_unit(unit)
    if not written:
        raise QuantityError(f"{name}: {text!r} has no unit; write it, for example {example_of(unit)!r}")
    start = read_unit(written)
    check_kind(start, goal, text, name)
    if start.zero is not None and goal.zero is not None:
        kelvin = number * start.size + start.zero
        if kelvin < 0:
            raise QuantityError(f"{name}: {text!r} is below absolute zero")
        return (kelvin - goal.zero) / goal.size
    return number * start.size / goal.size


def check_kind(start: Unit, goal: Unit, given: Any, name: str) -> None:
    """Refuse a unit that does not measure what is needed; a temperature is no difference of temperatures."""
    hint = ""
    if dimension_of(start) == dimension_of(goal) and (start.zero is None) == (goal.zero is None):
        return
    with suppress(DimensionError):
        density_power(start, goal)
        hint = "; convert between volume and mass with a density first"
    raise DimensionError(
        f"{name}: {format_value(given)} is {start.kind}, and {goal.kind} is needed, "
        f"such as {example_of(goal.name)!r}{hint}"
    )
