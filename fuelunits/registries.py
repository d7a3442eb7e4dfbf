"""The trade's unit names, added to a pint registry of your own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fuelunits.errors import UnitError
from fuelunits.unit_definitions import definitions
from fuelunits.validation import format_value

if TYPE_CHECKING:
    import pint

__all__ = ["register_units"]


def register_units(registry: pint.UnitRegistry[Any]) -> list[str]:
    """Add the trade's names that your own pint registry lacks, such as ``gph`` and ``pulse``.

    What the registry already knows stays as it is (its ``bbl`` may be another barrel). It may be called again.

    Parameters
    ----------
    registry : pint.UnitRegistry
        Yours. Nothing is ever defined in a registry unless it is passed here.

    Returns
    -------
    list of str
        The names that were added.

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
    for line in definitions():
        name, definition, *others = (part.strip() for part in line.split("="))
        spellings = [spelling for spelling in dict.fromkeys((name, *others)) if spelling.isidentifier()]
        missing = [spelling for spelling in spellings if not registry.parse_unit_name(spelling)]  # `in` would log
        if name in missing:
            registry.define(f"{name} = {definition}")
        for alias in missing:
            if alias != name:
                registry.define(f"@alias {name} = {alias}")
        added.extend(missing)
    return added
