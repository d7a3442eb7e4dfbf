"""Quantities of pint: the units' names in its registries, and answers in the registry that the user's came from.

Names that a `registry`, a ``pint.UnitRegistry``, lacks are added on request alone.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from functools import cache
from threading import RLock
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

from fuelunits.errors import DimensionError, QuantityError, UnitError
from fuelunits.units import definitions, read_unit
from fuelunits.validation import format_value

if TYPE_CHECKING:
    import pint


def is_quantity(value: Any) -> bool:
    """Return whether something is a pint quantity, and no Measurement, without importing pint."""
    return hasattr(value, "m_as") and hasattr(value, "dimensionality") and type(value).__name__ != "Measurement"


@cache
def pint_name(unit: str) -> str:
    """Write a unit in the names of pint's default registry."""
    return " ".join(map(_pint_power, re.split(r"([*/])", read_unit(unit).name)))


def _pint_power(part: str) -> str:
    name, _, power = part.partition("^")
    known = next((each.in_pint for each in definitions() if each.in_pint and each.spellings[0] == name), name)
    known = f"({known})" if " " in known else known
    return f"{known} ** {power}" if power else known


_PARSED: WeakKeyDictionary[type, dict[str, Any]] = WeakKeyDictionary()
"""What `pint_unit` has parsed, for as long as the registry lives: parsing costs pint more than converting."""

_LOCK = RLock()
"""Held while pint starts its application registry or parses a unit: pint does neither safely in several threads."""


def pint_unit(quantity: type, unit: str, name: str = "the answer") -> Any:
    """Return a unit as the registry of a class of quantities parses it; it holds no reference to the registry."""
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
    """Return a number as a quantity of the registry of `like`; for any else, of pint's application registry."""
    if isinstance(number, float) and math.isinf(number):
        raise QuantityError(f"the answer is too large a number of {unit}; look at what was given")
    if is_quantity(like):
        return type(like)(number, pint_unit(type(like), unit))
    with _LOCK:
        import pint

        quantity: Any = pint.get_application_registry().Quantity  # type: ignore[no-untyped-call]
    return quantity(number, pint_unit(quantity, unit))


def first_quantity(*values: Any) -> Any:
    """Return the first pint quantity among what the user gave, whose registry the answer takes; refuse two of them."""
    found = list(_quantities(values))
    if len({id(value._REGISTRY) for value in found}) > 1:
        raise QuantityError(
            "quantities of two pint registries are given in one call; use one registry, or text; "
            "pint.set_application_registry(ureg) makes the answers to text of yours"
        )
    return found[0] if found else None


def _quantities(values: Iterable[Any], depth: int = 3) -> Iterator[Any]:
    """Return the pint quantities among values, and in lists and tuples among them."""
    for value in values:
        if is_quantity(value):
            yield value
        elif depth and isinstance(value, (list, tuple)):
            yield from _quantities(value, depth - 1)


def register_units(registry: pint.UnitRegistry[Any]) -> list[str]:
    """Return the names of the trade, such as ``gph`` and ``pulse``, that your pint registry lacked and that were added.

    What the registry already knows stays as it is (its ``bbl`` may be another barrel). It may be called again. Nothing
    is ever defined in a registry unless it is passed here.

    Examples
    --------
    >>> import pint
    >>> ureg = pint.UnitRegistry()
    >>> "pph" in register_units(ureg)
    True
    >>> f"{ureg('1 pph').m_as('kg/hour'):.8f}"
    '0.45359237'
    """
    if not hasattr(registry, "define"):
        raise UnitError(f"registry is {format_value(registry)}; a pint.UnitRegistry() of your own is needed")
    added = []
    for name, factors, spellings, _ in definitions():
        for each in dict.fromkeys((name, *spellings)):  # the name itself first
            if each.isidentifier() and not registry.parse_unit_name(each):  # `in` would log
                registry.define(f"{name} = {factors}" if each == name else f"@alias {name} = {each}")
                added.append(each)
    return added
