"""What a user gave: displayed in a message, or refused for its kind."""

from __future__ import annotations

import numbers
import re
from collections.abc import Callable, Iterable
from decimal import Decimal
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from fuelunits.errors import QuantityError

__all__ = [
    "boolean",
    "check_type",
    "check_types",
    "coerce_fields",
    "fold_name",
    "format_value",
    "plain_array",
    "plain_number",
    "positive_number",
    "whole_number",
]

Kind = TypeVar("Kind")


def format_value(value: object) -> str:
    """Give a value as a message shows it, on one line of at most sixty characters; a quantity with its unit.

    Examples
    --------
    >>> format_value("6.7 lb/gal"), format_value("x" * 100)
    ("'6.7 lb/gal'", "'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx...")
    >>> format_value(10**5000)
    'int of too many digits'
    """
    try:
        text = re.sub(r"\s*\n\s*", " ", str(value) if hasattr(value, "dimensionality") else repr(value))
    except ValueError:
        return f"{type(value).__name__} of too many digits"
    return text if len(text) <= 60 else f"{text[:57]}..."


def fold_name(name: str) -> str:
    """Return a name without case, spaces, hyphens and other marks, for look-up.

    Examples
    --------
    >>> fold_name("Jet A-1")
    'jeta1'
    """
    return "".join(letter for letter in name.casefold() if letter.isalnum())


def plain_number(value: Any, name: str) -> float:
    """Give one plain number as a float; NaN passes, for it is a number that is missing.

    Raises
    ------
    QuantityError
        For text, a truth value, an array, a quantity with a unit of its own.

    Examples
    --------
    >>> plain_number(3, "guard")
    3.0
    """
    if isinstance(value, float):
        return value
    if isinstance(value, (numbers.Real, Decimal)) and not isinstance(value, bool):
        try:
            return float(value)
        except (TypeError, ValueError, OverflowError):
            pass
    raise QuantityError(f"{name} is {format_value(value)}; one plain number is needed")


def coerce_fields(record: object, names: Iterable[str], read: Callable[[Any, str], Any], label: str = "") -> None:
    """Put what `read` makes of each named attribute in its place, in a frozen record that is being made.

    What is None, and is None by default, stays.

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> @dataclass(frozen=True)
    ... class Reading:
    ...     hz: float
    ...     celsius: float | None = None
    ...     def __post_init__(self):
    ...         coerce_fields(self, ("hz", "celsius"), plain_number)
    >>> Reading(5)
    Reading(hz=5.0, celsius=None)
    """
    for name in names:
        value = getattr(record, name)
        is_optional = getattr(type(record), name, ...) is None
        if value is not None or not is_optional:
            object.__setattr__(record, name, read(value, f"{label}{name}"))


def plain_array(values: Any, name: str) -> NDArray[Any]:
    """Give an array of what has no unit of its own, or refuse it.

    Raises
    ------
    QuantityError
        For a quantity, whose unit NumPy would drop, for masked values, and for lists of different lengths.
    """
    if hasattr(values, "dimensionality"):
        raise QuantityError(f"{name}: a quantity in {values.units} is given, and plain numbers are needed")
    if np.ma.is_masked(values):
        raise QuantityError(f"{name}: some values are masked; leave them out, or fill them with NaN where it is taken")
    try:
        return np.asarray(values)
    except (TypeError, ValueError) as uneven:
        raise QuantityError(f"{name}: {format_value(values)} is no array of numbers") from uneven


def boolean(value: Any, name: str) -> bool:
    """Give True or False, or refuse what is neither."""
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    raise QuantityError(f"{name} is {format_value(value)}; write True or False")


def check_type(value: object, kind: type[Kind] | tuple[type[Kind], ...], name: str, example: str) -> Kind:
    """Give a value back, or refuse what is of another kind.

    Examples
    --------
    >>> check_type("gal", str, "unit", "'gal'")
    'gal'
    """
    if isinstance(value, kind):
        return value
    raise QuantityError(f"{name} is {format_value(value)}; write {example}")


def check_types(values: Iterable[Any], kind: type[Kind], name: str, example: str) -> tuple[Kind, ...]:
    """Give the members of a sequence, or refuse what holds anything of another kind."""
    if isinstance(values, (str, bytes)) or not np.iterable(values):
        raise QuantityError(f"{name} is {format_value(values)}; give a list of {example}")
    return tuple(check_type(value, kind, f"one of the {name}", example) for value in values)


def positive_number(value: Any, name: str, *, example: object = 1.0, zero: bool = False) -> float:
    """Return one positive, finite plain number as a float.

    Parameters
    ----------
    value : float
        What was given; NumPy's and pandas' scalars are numbers, truth values are not.
    name : str
        What it is, for the message.
    example : float
        A value that would be right, for the message.
    zero : bool
        Whether zero passes.

    Raises
    ------
    QuantityError
        Naming what is needed and what was given.

    Examples
    --------
    >>> positive_number(np.int64(11412), "K-factor")
    11412.0
    >>> positive_number(-1, "K-factor", example=11412)
    Traceback (most recent call last):
        ...
    fuelunits.errors.QuantityError: K-factor must be positive and finite, for example 11412; got -1
    """
    number = plain_number(value, name)
    if 0.0 < number < np.inf or (zero and number == 0.0):
        return number
    needed = "not negative" if zero else "positive"
    raise QuantityError(f"{name} must be {needed} and finite, for example {example}; got {format_value(value)}")


def whole_number(value: Any, name: str, *, least: int = 0, most: int | None = None) -> int:
    """Return one whole number as an int; NumPy's integers and a float without a fraction are whole numbers.

    Raises
    ------
    QuantityError
        Naming what is needed and what was given.

    Examples
    --------
    >>> whole_number(np.int64(2), "channels", least=1)
    2
    """
    number = value
    if isinstance(value, (float, np.floating)) and float(value).is_integer():
        number = int(value)
    if isinstance(number, (int, np.integer)) and not isinstance(number, bool):
        count = int(number)
        if count >= least and (most is None or count <= most):
            return count
    limits = f"of {least} or more" if most is None else f"from {least} to {most}"
    raise QuantityError(f"{name} must be a whole number {limits}; got {format_value(value)}")
