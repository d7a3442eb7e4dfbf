"""Every spelling of a unit that is read, as ``units.txt`` has them."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

__all__ = ["all_spellings", "definitions", "spellings"]


def definitions() -> list[str]:
    """Give the lines of ``units.txt`` that define a unit."""
    text = (files("fuelunits") / "units.txt").read_text(encoding="utf-8")
    return [line.strip() for line in text.splitlines() if line.strip() and not line.startswith("#")]


@lru_cache(maxsize=1)
def all_spellings() -> dict[str, tuple[str, str]]:
    """Give, for every spelling, the name by which ``units.txt`` defines the unit and the one that is printed."""
    found: dict[str, tuple[str, str]] = {}
    for line in definitions():
        defined, _, printed, *others = (part.strip() for part in line.split("="))
        found.update(dict.fromkeys((defined, printed, *others), (defined, printed)))
    for scale, printed in (("Celsius", "delta_degC"), ("Fahrenheit", "delta_degF")):
        found[printed] = found[f"delta_degree_{scale}"] = (f"delta_degree_{scale}", printed)
    return found


def spellings(unit: str) -> tuple[str, ...]:
    """Give every spelling of the unit that has one of them; none for what is no single unit.

    Examples
    --------
    >>> spellings("psi")
    ('psi', 'psig', 'PSI')
    """
    meant = all_spellings().get(unit)
    return tuple(spelling for spelling, names in all_spellings().items() if names == meant)
