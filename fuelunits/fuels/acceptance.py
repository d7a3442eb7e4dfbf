"""Decide whether a fuel may be the grade named: accept, reject or undecided, with the reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from fuelunits.fuels.liquid import Liquid
from fuelunits.reports import format_percent
from fuelunits.uncertainty.decisions import Verdict

_BASE_C = 15.0

_ROUNDING = 1e-7
"""Relative: a certificate at the very limit lies within it."""

EXPANSION_DOUBT_PER_C = 1e-4
"""How well the expansion of a fuel is known, relative: published tables differ by 0.4 % over 40 °C."""

UNSTATED_KG_M3 = 5.0
"""Allowed for near a limit where no uncertainty was stated: a hydrometer with a thermometer 5 °C off."""


_BEYOND = 0.03
"""How far batches are taken to lie beyond published or computed figures where no limit is set (common practice)."""


def spread_about(low: float, high: float) -> tuple[float, float]:
    """Return the densities between which batches are taken to lie, from the lowest and highest that are known."""
    return low * (1.0 - _BEYOND), high * (1.0 + _BEYOND)


@dataclass(frozen=True)
class Judgement:
    """The reasons to reject a fuel, the reasons to leave it undecided, and the text where there are none."""

    reject: tuple[str, ...] = ()
    undecided: tuple[str, ...] = ()
    accepted: str = ""


class Judged:
    """Verdict and reason of every class with a judgement."""

    @property
    def _judgement(self) -> Judgement:
        raise NotImplementedError

    @property
    def verdict(self) -> Verdict:
        """Accept only where no reason is against it and nothing is missing."""
        found = self._judgement
        return Verdict.REJECT if found.reject else Verdict.UNDECIDED if found.undecided else Verdict.ACCEPT

    @property
    def reason(self) -> str:
        """The reason for the verdict."""
        found = self._judgement
        return "; ".join(found.reject or found.undecided) or found.accepted

    @property
    def _verdict_line(self) -> str:
        return f"{self.verdict.value}: {self.reason}"


def remarks_of(liquid: Any, *, typical: bool = True, limits: bool = True) -> tuple[str, ...]:
    """Return the remarks needed where the typical density or the limits of a fuel decide; none for other liquids."""
    return tuple(liquid.remarks(typical=typical, limits=limits)) if hasattr(liquid, "remarks") else ()


def beyond_limits(fuel: Any, liquid: Liquid) -> Iterator[tuple[str, Any, float]]:
    """Yield each side, its limit or None, and by how much the density of a batch is beyond the limit, kg/m³."""
    for side, limit, sign in (("lower", fuel.low, -1.0), ("upper", fuel.high, 1.0)):
        excess = sign * (float(liquid.density_kg_m3(limit.at_c)) - limit.density_kg_m3) if limit else 0.0
        yield side, limit, excess if limit and abs(excess) > _ROUNDING * limit.density_kg_m3 else 0.0


def judge(fuel: Any, liquid: Liquid, uncertainty_kg_m3: float | None, read_at_c: float) -> Judgement:
    """Return the judgement of a batch by its density; no or zero uncertainty counts as not stated.

    A density within twice the standard uncertainty of a limit is undecided, or within 5 kg/m³ where none was stated,
    plus the uncertainty of its expansion between the temperatures of the reading and the limit.
    On a side without a limit nothing is accepted, and an aircraft fuel is rejected outside its ordinary densities.
    """
    unset: list[str] = []
    reject, undecided = list(fuel.objections), []
    known, stated = UNSTATED_KG_M3, "allowed for, as no uncertainty was stated"
    if uncertainty_kg_m3:
        known, stated = 2.0 * uncertainty_kg_m3, "of uncertainty (k = 2)"
    for side, limit, excess in beyond_limits(fuel, liquid):
        if limit is None:
            unset.append(side)
            continue
        degrees = abs(limit.at_c - read_at_c)
        margin = known + EXPANSION_DOUBT_PER_C * degrees * limit.density_kg_m3
        if excess > margin:
            reject.append(f"{excess:.1f} kg/m³ ({format_percent(excess / limit.density_kg_m3)}) beyond {limit}")
        elif excess > -margin:
            place = "beyond" if excess > 0.0 else "within"
            expands = f" and of {degrees:.3g} °C of expansion" if degrees else ""
            undecided.append(
                f"{abs(excess):.1f} kg/m³ {place} {limit}, no more than the {margin:.2g} kg/m³ {stated}{expands}"
            )
    if unset:
        sides = " or ".join(unset)
        undecided.append(f"the specification sets no {sides} limit known here: compare with the supplier's certificate")
    base = float(liquid.density_kg_m3(_BASE_C))
    low, high = fuel.ordinary_kg_m3
    if (fuel.low is None and base < low) or (fuel.high is None and base > high):
        far = f"{base - float(fuel.density_kg_m3(_BASE_C)):+.1f} kg/m³ from the typical density, outside the {low:.0f} "
        far += f"to {high:.0f} kg/m³ of published figures and 3 % beyond"
        (reject if fuel.for_aircraft else undecided).append(far)
    if reject:
        alike = looks_like(fuel, liquid, any_kind=True)
        reject[0] = f"not {fuel.name}: {reject[0]}"
        reject += [f"these have such a density: {', '.join(alike)}"] if alike else []
    return Judgement(tuple(reject), tuple(undecided), f"density within the limits of {fuel.name}")


def looks_like(fuel: Any, liquid: Liquid, *, any_kind: bool) -> tuple[str, ...]:
    """Return the names of the four nearest other aircraft and motor fuels that may have the density of a batch."""
    from fuelunits.fuels.grades import all_fuels

    base, near = float(liquid.density_kg_m3(_BASE_C)), []
    for grade in all_fuels():
        other = grade is not fuel and (any_kind or grade.kind != fuel.kind) and not grade.refused
        if other and (grade.for_aircraft or grade.kind == "motor fuel"):
            low, high = grade.ordinary_kg_m3
            if low - UNSTATED_KG_M3 <= base <= high + UNSTATED_KG_M3:
                near.append((abs(grade.density_kg_m3(_BASE_C) - base), grade.name))
    return tuple(name for _, name in sorted(near)[:4])
