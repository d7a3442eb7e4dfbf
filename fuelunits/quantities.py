"""Parsing: text and pint quantities in, plain numbers inside, and the same kind out again.

What comes in is text of one number and one unit, a pint quantity of any registry, or, where the
argument's name carries the unit, a plain number. A bare number anywhere else is refused. Text is
read here and never by pint's expression parser; a pint quantity is converted in its own registry.
"""

from __future__ import annotations

import math
import re
from contextlib import suppress
from fractions import Fraction
from functools import cache, lru_cache
from threading import RLock
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np

from fuelunits.errors import DimensionError, QuantityError
from fuelunits.units import Unit, density_power, read_unit
from fuelunits.validation import format_value

__all__ = ["answer", "fraction", "is_quantity", "magnitude", "pair", "positive", "ratio", "read_text", "temperature_c"]

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


@lru_cache(maxsize=4096)
def read_text(text: str) -> tuple[Fraction, str]:
    """Read text into its number, exactly as written, and its unit.

    Parameters
    ----------
    text : str
        One number with a decimal point, then one unit.

    Returns
    -------
    Fraction, str
        The unit as it was written; it may be empty.

    Raises
    ------
    QuantityError
        If it does not begin with one number.

    Examples
    --------
    >>> read_text("6.7 lb/gal")
    (Fraction(67, 10), 'lb/gal')
    """
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


def is_quantity(value: Any) -> bool:
    """Tell whether something is a pint quantity, without importing pint."""
    return hasattr(value, "m_as") and hasattr(value, "dimensionality")


def magnitude(value: Any, unit: str, *, name: str, takes: str = "") -> Any:
    """Give the number of a quantity in a unit.

    Parameters
    ----------
    value : str or pint.Quantity
        What the user gave.
    unit : str
        The unit wanted.
    name : str
        The argument's name, for the message.
    takes : str
        What would take a plain number instead, for the message.

    Returns
    -------
    float or numpy.ndarray

    Raises
    ------
    QuantityError, DimensionError, UnitError
        Naming the argument, what was given and what to write.
    """
    if isinstance(value, str):
        return _text_magnitude(value, unit, name)
    if is_quantity(value):
        return _pint_magnitude(value, unit, name)
    hint = f"; plain numbers go to {takes}" if takes else ""
    raise QuantityError(
        f"{name}: {_bare(value)} has no unit; write text such as {_example(unit)!r} or a pint quantity{hint}"
    )


def _example(unit: str) -> str:
    goal = read_unit(unit)
    for base, example in _EXAMPLES.items():
        if read_unit(base).dimension == goal.dimension:
            return example
    return f"1 {unit}"


def _bare(value: Any) -> str:
    return f"the bare number {format_value(value)}" if isinstance(value, (int, float)) else f"{type(value).__name__}"


@lru_cache(maxsize=4096)
def _text_magnitude(text: str, unit: str, name: str) -> float:
    return _as_float(exact(text, unit, name=name), name, text)


def _as_float(number: Fraction, name: str, text: str) -> float:
    try:
        return float(number)
    except OverflowError:
        raise QuantityError(f"{name}: {text!r} is too large a number") from None


def exact(text: str, unit: str, *, name: str) -> Fraction:
    """Give the number of a text in a unit, exactly.

    Examples
    --------
    >>> exact("6.7 lb/gal", "lb/gal", name="density")
    Fraction(67, 10)
    """
    number, written = read_text(text)
    goal = read_unit(unit)
    if not written:
        raise QuantityError(f"{name}: {text!r} has no unit; write {_example(unit)!r}, say")
    start = read_unit(written)
    _same_kind(start, goal, name, text)
    if start.zero is not None and goal.zero is not None:
        kelvin = number * start.size + start.zero
        if kelvin < 0:
            raise QuantityError(f"{name}: {text!r} is below absolute zero")
        return (kelvin - goal.zero) / goal.size
    return number * start.size / goal.size


def _same_kind(start: Unit, goal: Unit, name: str, text: str) -> None:
    hint = ""
    with suppress(DimensionError):
        if not density_power(start, goal):
            return
        hint = "; cross between volume and mass with a density first"
    raise DimensionError(
        f"{name}: {text!r} is {start.kind}, and {goal.kind} is needed, such as {_example(goal.name)!r}{hint}"
    )


def _pint_magnitude(quantity: Any, unit: str, name: str) -> Any:
    goal = read_unit(unit)
    if goal.zero is not None and any(name.startswith("delta_") for name, _ in quantity.unit_items()):
        raise DimensionError(f"{name}: {quantity} is a temperature difference, and a temperature is needed")
    wanted = pint_unit(type(quantity), unit, name)
    try:
        number = quantity.m_as(wanted)
    except (TypeError, ValueError) as mismatch:
        raise DimensionError(
            f"{name}: {quantity} has dimension {quantity.dimensionality}, "
            f"and {goal.kind} is needed, such as {_example(unit)!r}"
        ) from mismatch
    except OverflowError as wrong:
        raise QuantityError(f"{name}: {format_value(quantity)} is too large a number") from wrong
    if type(number) is not float:
        number = _plain(number, name, quantity)
    if goal.zero is not None and _any_negative(number * float(goal.size) + float(goal.zero)):
        raise QuantityError(f"{name}: {quantity} is below absolute zero")
    return number


def _plain(number: Any, name: str, quantity: Any) -> Any:
    """Give a float for one number, and an array as it is."""
    if isinstance(number, np.ndarray) or np.ndim(number):
        if not np.iscomplexobj(number):
            return number
    elif not isinstance(number, complex):
        with suppress(TypeError, OverflowError):
            return float(number)
    raise QuantityError(f"{name}: {quantity} is no plain number with a unit")


def _any_negative(number: Any) -> bool:
    return number < 0.0 if isinstance(number, float) else bool(np.any(np.less(number, 0)))


_PINT_NAMES = {
    "gal": "gallon",
    "qt": "quart",
    "pt": "pint",
    "US_gill": "gill",
    "fl_oz": "fluid_ounce",
    "imp_gal": "imperial_gallon",
    "imp_qt": "imperial_quart",
    "imp_pt": "imperial_pint",
    "imp_fl_oz": "imperial_fluid_ounce",
    "bbl": "oil_bbl",
    "m2": "meter ** 2",
    "mm2": "millimeter ** 2",
    "ft2": "foot ** 2",
    "m3": "meter ** 3",
    "cm3": "centimeter ** 3",
    "in3": "inch ** 3",
    "ft3": "foot ** 3",
    "yd3": "yard ** 3",
    "tonne": "metric_ton",
    "gr": "grain",
    "short_cwt": "hundredweight",
    "long_cwt": "long_hundredweight",
    "P": "poise",
    "cP": "centipoise",
    "St": "stokes",
    "cSt": "centistokes",
    "inHg": "inch_Hg",
    "delta_K": "kelvin",
    "delta_degR": "degree_Rankine",
    "gph": "gallon / hour",
    "gpm": "gallon / minute",
    "igph": "imperial_gallon / hour",
    "lph": "liter / hour",
    "lpm": "liter / minute",
    "pph": "pound / hour",
}
"""What pint's own default registry calls the units whose printed name it does not know, or knows as another."""


@cache
def pint_name(unit: str) -> str:
    """Write a unit in the names of pint's default registry."""
    return " ".join(map(_pint_power, re.split(r"([*/])", read_unit(unit).name)))


def _pint_power(part: str) -> str:
    name, _, power = part.partition("^")
    known = _PINT_NAMES.get(name, name)
    known = f"({known})" if " " in known else known
    return f"{known} ** {power}" if power else known


_PARSED: WeakKeyDictionary[type, dict[str, Any]] = WeakKeyDictionary()
"""What `pint_unit` has parsed, for as long as the registry lives: parsing costs pint more than converting."""

_LOCK = RLock()
"""Held while pint starts its application registry or parses a unit: pint does neither safely in several threads."""


def pint_unit(quantity: type, unit: str, name: str = "the answer") -> Any:
    """Give a unit as the registry of a class of quantities parses it; it holds no reference to the registry."""
    with _LOCK:
        parsed = _PARSED.setdefault(quantity, {})
        if unit not in parsed:
            from pint.util import to_units_container

            try:
                parsed[unit] = to_units_container(quantity(1, pint_name(unit)))
            except AttributeError as missing:
                raise DimensionError(
                    f"{name}: its registry does not know {unit}; add the trade's units with register_units(ureg)"
                ) from missing
        return parsed[unit]


def answer(number: Any, unit: str, like: Any = None) -> Any:
    """Give a number back as a quantity of the kind that came in.

    Parameters
    ----------
    number : float or array
        The result.
    unit : str
        Its unit.
    like : str or pint.Quantity, optional
        What the user gave: for a pint quantity, the answer is of the same registry; otherwise of
        pint's application registry.

    Returns
    -------
    pint.Quantity
    """
    if is_quantity(like):
        return type(like)(number, pint_unit(type(like), unit))
    with _LOCK:
        import pint

        quantity: Any = pint.get_application_registry().Quantity  # type: ignore[no-untyped-call]
    return quantity(number, pint_unit(quantity, unit))


def temperature_c(value: Any, *, name: str = "temperature", takes: str = "") -> Any:
    """Give a temperature in degrees Celsius, from text or a pint quantity."""
    return magnitude(value, "degC", name=name, takes=takes)


def positive(value: Any, unit: str, *, name: str, zero: bool = False) -> Any:
    """Give the number of an amount that cannot be negative, nor zero unless `zero` says so."""
    number = magnitude(value, unit, name=name)
    if isinstance(number, float) and 0.0 < number < math.inf:
        return number
    wrong = np.less(number, 0) if zero else np.less_equal(number, 0)
    if np.any(wrong) or np.any(np.isinf(number)):
        raise QuantityError(
            f"{name}: {value} makes no sense here; it must be finite and {'not negative' if zero else 'positive'}"
        )
    return number


def fraction(value: Any, *, name: str) -> float:
    """Give a tolerance such as ``"3 %"`` as a fraction.

    Raises
    ------
    QuantityError
        If it is a bare number (3 or 0.03?), negative or no percentage.

    Examples
    --------
    >>> fraction("3 %", name="tolerance")
    0.03
    """
    if not isinstance(value, str) and not is_quantity(value):
        raise QuantityError(f"{name}: {_bare(value)} could be a fraction or a percentage; write '3 %', say")
    number = ratio(value, name=name)
    if not 0 <= number < math.inf:
        raise QuantityError(f"{name}: {value} makes no sense as a tolerance; it cannot be negative")
    return number


def ratio(value: Any, *, name: str) -> float:
    """Give the number of a percentage, or of one pint quantity without dimension."""
    if isinstance(value, str):
        number, unit = read_text(value)
        if unit not in PERCENT:
            raise QuantityError(f"{name}: {value!r} is no percentage; write '3 %', say")
        return _as_float(number / 100, name, value)
    try:
        return float(value.m_as("dimensionless"))
    except OverflowError as wrong:
        raise QuantityError(f"{name}: {format_value(value)} is too large a number") from wrong
    except (TypeError, ValueError) as mismatch:
        raise DimensionError(f"{name}: {value} is not a ratio; write '3 %', say") from mismatch


def pair(value: Any, unit: str, *, name: str) -> tuple[float, float]:
    """Give the two ends of a range such as ``("-20 degC", "40 degC")``, the lower first.

    Raises
    ------
    QuantityError
        If there are not two, or the first is above the second.
    """
    ends = list(value) if _is_many(value) else []
    if len(ends) != 2 or any(map(_is_many, ends)):
        example = _example(unit)
        raise QuantityError(
            f"{name}: {format_value(value)} is no range; write two quantities, such as ({example!r}, {example!r})"
        )
    low, high = (float(magnitude(end, unit, name=name)) for end in ends)
    if not low <= high:
        raise QuantityError(f"{name}: {ends[0]} is above {ends[1]}; write the lower one first")
    return low, high


def _is_many(value: Any) -> bool:
    return np.iterable(value) and not isinstance(value, str)
