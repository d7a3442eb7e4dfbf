"""What a reader must know of the figures behind a density: recalled, stand-ins, midpoints, limits that are not set."""

from __future__ import annotations

from typing import Any

from fuelunits.sources import source

__all__ = ["figure_remarks", "missing_limits"]


def figure_remarks(fuel: Any) -> tuple[str, ...]:
    """Return the remarks on the figures that decide the density of a fuel, a batch or a blend.

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> figure_remarks(fuel("TS-1"))
    ('TS-1: typical density from memory', 'TS-1: limits from memory')
    """
    parts = getattr(fuel, "parts", ())
    if parts:
        return tuple(dict.fromkeys(remark for part in parts for remark in figure_remarks(part)))
    grade = getattr(fuel, "fuel", fuel)
    typical, name = getattr(grade, "typical", None), getattr(grade, "name", "")
    if typical is None:
        return ()
    said = []
    if grade is fuel:
        if typical.source.startswith("midpoint"):
            said.append("the typical density is the midpoint of its limits, not a measured one")
        if source(typical.source).obtained == "memory":
            said.append("typical density from memory")
        if "stand-in" in typical.locator:
            said.append("the typical density is a stand-in from another fuel")
        if any(source(each.source).obtained == "memory" for each in (grade.low, grade.high) if each):
            said.append("limits from memory")
    if "stand-in" in grade.note:
        said.append(grade.note)
    return tuple(f"{name}: {each}" for each in said)


def missing_limits(fuel: Any) -> str:
    """Return which limits of a grade are not carried, in words; nothing where both are, or for what is no grade.

    Examples
    --------
    >>> from fuelunits.fuels.grades import fuel
    >>> missing_limits(fuel("TS-1")), missing_limits(fuel("Jet A"))
    ('no upper limit of density is carried for TS-1', '')
    """
    if not hasattr(fuel, "limit_liquids"):
        return ""
    lightest, densest = fuel.limit_liquids()
    if lightest is None and densest is None:
        return f"the specification of {fuel.name} sets no limits of density"
    side = "lower" if lightest is None else "upper" if densest is None else ""
    return f"no {side} limit of density is carried for {fuel.name}" if side else ""
