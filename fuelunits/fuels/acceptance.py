"""Whether a measured density may be that of a fuel: accept, reject or undecided, and what is missing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fuelunits.fuels.grades import all_fuels
from fuelunits.fuels.liquid import Liquid
from fuelunits.reports import format_percent
from fuelunits.uncertainty.decisions import Verdict

__all__ = ["Acceptance", "judge"]

_BASE_C = 15.0

_ROUNDING = 1e-7
"""Relative: a certificate at the very limit lies within it."""

_UNSTATED_KG_M3 = 5.0
"""Allowed for near a limit where no uncertainty was stated: a hydrometer with a thermometer 5 °C off."""


@dataclass(frozen=True)
class Acceptance:
    """What a density says of a fuel.

    Attributes
    ----------
    name : str
        The fuel.
    reject, undecided : tuple of str
        What speaks for rejecting it, and what leaves it undecided.
    within_limits : bool or None
        Whether it lies within both limits; None where one that it might exceed is not set.
    looks_like : tuple of str
        Other aircraft and motor fuels with such a density; of another kind unless it is rejected.
    stated : bool
        Whether an uncertainty was stated.
    """

    name: str
    reject: tuple[str, ...]
    undecided: tuple[str, ...]
    within_limits: bool | None
    looks_like: tuple[str, ...]
    stated: bool

    @property
    def verdict(self) -> Verdict:
        """Accept only where nothing speaks against it and nothing is missing."""
        return Verdict.REJECT if self.reject else Verdict.UNDECIDED if self.undecided else Verdict.ACCEPT

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a careful reader must know of the decision."""
        alike = f"density does not tell it from {', '.join(self.looks_like)}" if self.looks_like else ""
        unstated = f"no uncertainty was stated; {_UNSTATED_KG_M3:g} kg/m³ was allowed for (common practice)"
        return tuple(filter(None, ("" if self.reject else alike, "" if self.stated else unstated)))

    @property
    def reason(self) -> str:
        """What the verdict rests on, and which fuels have such a density."""
        if self.reject:
            likeness = f"; such a density is that of {', '.join(self.looks_like)}" if self.looks_like else ""
            return f"not {self.name}: {'; '.join(self.reject)}{likeness}"
        if self.undecided:
            return "; ".join(self.undecided)
        return f"density within the limits of {self.name}"


def judge(fuel: Any, liquid: Liquid, uncertainty_kg_m3: float | None) -> Acceptance:
    """Return what the density of a batch says of its fuel.

    Parameters
    ----------
    fuel : Fuel or Blend
        What the batch is taken for.
    liquid : Liquid
        Density of the batch.
    uncertainty_kg_m3 : float or None
        Standard uncertainty of what was read; zero counts as not stated.

    Notes
    -----
    A density within twice the standard uncertainty of a limit is undecided, or within 5 kg/m³ where none was stated.
    On a side without a limit nothing is accepted, and an aircraft fuel is rejected outside the densities that
    :attr:`fuelunits.Fuel.ordinary_kg_m3` holds.
    """
    base = float(liquid.density_kg_m3(_BASE_C))
    reject, undecided, beyond = list(fuel.objections), [], False
    for side, limit, sign in (("lower", fuel.low, -1.0), ("upper", fuel.high, 1.0)):
        if limit is None:
            undecided.append(f"no {side} limit carried")
            continue
        excess = sign * (float(liquid.density_kg_m3(limit.at_c)) - limit.density_kg_m3)
        beyond |= excess > _ROUNDING * limit.density_kg_m3
        margin = 2.0 * uncertainty_kg_m3 if uncertainty_kg_m3 else _UNSTATED_KG_M3
        if excess > margin:
            reject.append(f"{excess:.1f} kg/m³ ({format_percent(excess / limit.density_kg_m3)}) beyond {limit}")
        elif excess > -margin:
            place = "beyond" if excess > _ROUNDING * limit.density_kg_m3 else "within"
            stated = "of uncertainty (k = 2)" if uncertainty_kg_m3 else "allowed for, as no uncertainty was stated"
            undecided.append(f"{abs(excess):.1f} kg/m³ {place} {limit}, less than the {margin:.2g} kg/m³ {stated}")
    low, high = fuel.ordinary_kg_m3
    if (fuel.low is None and base < low) or (fuel.high is None and base > high):
        far = f"{base - float(fuel.density_kg_m3(_BASE_C)):+.1f} kg/m³ from the typical density, outside the {low:.0f} "
        far += f"to {high:.0f} kg/m³ of published figures with 3 % more"
        (reject if fuel.for_aircraft else undecided).append(far)
    within = False if beyond else None if None in (fuel.low, fuel.high) else True
    alike = _alike(fuel, base, any_kind=bool(reject))
    return Acceptance(fuel.name, tuple(reject), tuple(undecided), within, alike, bool(uncertainty_kg_m3))


def _alike(fuel: Any, base: float, *, any_kind: bool) -> tuple[str, ...]:
    """Return the names of the four nearest other aircraft and motor fuels that may have a density at 15 °C."""
    near = [
        (abs(grade.density_kg_m3(_BASE_C) - base), grade.name)
        for grade in all_fuels()
        if (grade.for_aircraft or grade.kind == "motor fuel") and not grade.refused and grade is not fuel
        if (any_kind or grade.kind != fuel.kind) and _near(base, grade.ordinary_kg_m3)
    ]
    return tuple(name for _, name in sorted(near)[:4])


def _near(base: float, between: tuple[float, float]) -> bool:
    return between[0] - _UNSTATED_KG_M3 <= base <= between[1] + _UNSTATED_KG_M3
