"""Time and quantity: endurance, fuel for a time, fuel remaining, and the reserves of the operating rules.

Endurance is usable fuel over flow. Usable fuel is what the tanks hold less the unusable: the quantity
at which the engine first malfunctions under the most adverse fuel feed condition that is expected
(the definition of 14 CFR 23.959, source ``cfr14_23_959``). An indicator reads zero at that point,
not at a dry tank; a quantity that was dipped or weighed still holds the unusable part.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from fuelunits.arrays import as_number
from fuelunits.conversion import amount, flow_unit_name, kind_of
from fuelunits.errors import QuantityError
from fuelunits.indicators.written import (
    between,
    compatible,
    expanded_uncertainty,
    float_or_uncertain,
    limits_too_narrow,
)
from fuelunits.pint_units import answer, first_quantity
from fuelunits.quantities import QuantityLike, positive, read_text
from fuelunits.reports import Report, Reporting
from fuelunits.sources import Sourced, source
from fuelunits.uncertainty.budget import nominal
from fuelunits.uncertainty.measured import is_uncertain, uncertain_amount, uncertain_magnitude
from fuelunits.units import read_unit


def endurance_h(usable: Any, flow_per_hour: Any) -> Any:
    """Return the hours that usable fuel lasts at a flow in the same unit per hour: floats, arrays or uncertain."""
    left, flow = as_number(usable), as_number(flow_per_hour)
    if np.any(np.less_equal(nominal(flow), 0)):
        raise QuantityError(f"flow: {flow_per_hour!r}; it must be positive; at zero flow endurance has no limit")
    if np.any(np.less(nominal(left), 0)):
        raise QuantityError(f"usable: {usable!r}; an amount of fuel cannot be negative")
    return left / flow


def endurance(usable: QuantityLike, flow: QuantityLike, *, density: QuantityLike | None = None) -> Any:
    """Return how long usable fuel lasts at a flow, as a quantity in hours.

    Its uncertainty is that of what was given with one: too small where only fuel or only flow has its own.

    Parameters
    ----------
    usable, flow : str or pint.Quantity
        Usable fuel, and its positive flow, by volume or mass; arrays, or ``measured(...)`` with an uncertainty.
    density : str or pint.Quantity, optional
        Density of the fuel, needed where one is by volume and the other by mass.

    Examples
    --------
    >>> round(endurance("180 L", "40 kg/h", density="0.8 kg/L").m_as("hour"), 4)
    3.6
    """
    like = first_quantity(usable, flow, density)
    unit = kind_of(flow, ("L/h", "kg/h"), name="flow").removesuffix("/h")
    if isinstance(flow, str):
        unit = flow_unit_name(read_text(flow)[1]).partition("/")[0] or unit
    left = _number(usable, unit, "usable", density)
    return answer(endurance_h(left, _number(flow, f"{unit}/h", "flow")), "h", like)


def _number(value: Any, unit: str, name: str, density: Any = None) -> Any:
    """Return an amount or a flow in a unit, scalar or array; an uncertain number where it or the density is."""
    if is_uncertain(value) or is_uncertain(density):
        return float_or_uncertain(uncertain_amount(value, unit, name=name, density=density, zero=True))
    return amount(value, unit, name=name, density=density)


def _hours(time: Any, name: str) -> Any:
    """Return a time that is not negative in hours, scalar or array; an uncertain number where it is measured."""
    hours = uncertain_magnitude(time, "h", name=name)
    positive(f"{hours.nominal_value!r} h" if is_uncertain(time) else time, "h", name=name, zero=True)
    return hours


def fuel_for(time: Any, flow: QuantityLike, unit: str, *, density: QuantityLike | None = None) -> Any:
    """Return the fuel that a time takes at a flow.

    Parameters
    ----------
    time, flow : str or pint.Quantity
        The time, and the flow by volume or mass; arrays, or ``measured(...)`` with an uncertainty.
    unit : str
        The unit of volume or mass wanted.
    density : str or pint.Quantity, optional
        Density of the fuel, needed where flow and unit are not of one kind.

    Examples
    --------
    >>> round(fuel_for("50 min", "60 L/h", "L").magnitude, 9)
    50.0
    """
    like = first_quantity(time, flow, density)
    per_hour = _number(flow, f"{read_unit(unit)}/h", "flow", density)
    return answer(_hours(time, "time") * per_hour, unit, like)


def remaining(start: QuantityLike, used: QuantityLike, unit: str, *, density: QuantityLike | None = None) -> Remaining:
    """Return the fuel remaining from the usable fuel at the start and the total used since.

    Parameters
    ----------
    start, used : str or pint.Quantity
        Usable fuel at the start and total used since, volume or mass; ``measured(...)`` gives them an uncertainty.
    unit : str
        The unit of volume or mass wanted.
    density : str or pint.Quantity, optional
        Density of the fuel, needed where these are not all of one kind.

    Returns
    -------
    Remaining
        It says so when more was used than there was.

    Examples
    --------
    >>> left = remaining("90 L", "77.5 L", "L")
    >>> left.overdrawn, float(left.difference)
    (False, 12.5)
    """
    first_quantity(start, used, density)
    held = uncertain_amount(start, unit, name="start", density=density, zero=True)
    gone = uncertain_amount(used, unit, name="used", density=density, zero=True)
    held, gone = compatible(held, gone)
    return Remaining(held, gone, read_unit(unit).name)


@dataclass(frozen=True, repr=False)
class Remaining(Reporting):
    """Fuel remaining, exact or uncertain numbers in a unit of volume or mass; made by :func:`remaining`."""

    start: Any
    used: Any
    unit: str

    _plain = ("difference", "overdrawn")

    @property
    def difference(self) -> Any:
        """Start less used; negative where more was counted than there was."""
        return self.start - self.used

    @property
    def overdrawn(self) -> bool:
        """Whether more was counted than there was: one of the two figures is wrong, or both are uncertain."""
        return bool(nominal(self.difference) < 0)

    def as_quantity(self, *, like: Any = None) -> Any:
        """Return the fuel remaining as a quantity; refused where it is overdrawn."""
        if self.overdrawn:
            raise QuantityError(f"remaining: {self._verdict}")
        return answer(float_or_uncertain(self.difference), self.unit, like)

    @property
    def _verdict(self) -> str:
        start = between(self.start, self.unit)
        if not self.overdrawn:
            return f"{between(self.difference, self.unit)} remaining of {start}"
        if -float(nominal(self.difference)) <= expanded_uncertainty(self.difference):
            return f"undecided: {between(self.used, self.unit)} used of {start}, equal within the stated uncertainty"
        return (
            f"{between(self.used, self.unit)} used is {between(-self.difference, self.unit)} more than the {start} at "
            "the start; check the start quantity and the K-factor"
        )

    def report(self) -> Report:
        """Return what remains, or that more was counted than there was."""
        remarks = limits_too_narrow({"fuel at the start": self.start, "fuel used": self.used})
        return Report("fuel remaining", self._verdict, remarks=remarks)


@dataclass(frozen=True, repr=False)
class Reserve(Reporting, Sourced):
    """A legal minimum for planning under one country's rules: minutes of fuel at cruise beyond the flight planned.

    The operator's own rules, the flight manual and the law of the place come first.
    """

    name: str
    minutes: int
    rule: str = ""

    def report(self) -> Report:
        """Return the reserve with its rule, and how that was read."""
        read = source(self.source)
        facts = {"operator's own rules": "come first, then the flight manual and the local law"}
        remarks = [f"{self.rule or read.title}, {read.edition}: {read.note or read.obtained}"]
        return Report(f"reserve, {self.name}: {self.minutes} min", "", facts, [], remarks, [self.source])

    def fuel_required(self, flight: Any, flow: Any, unit: str, *, density: Any = None) -> Any:
        """Return the fuel for a flight (under IFR, on to the alternate too) and this reserve, as :func:`fuel_for`."""
        first_quantity(flight, flow, density)
        hours = _hours(flight, "flight") + self.minutes / 60.0
        return fuel_for(answer(hours, "h", flight), flow, unit, density=density)


RESERVES = (
    Reserve("VFR by day, airplane", 30, "14 CFR 91.151(a)", source="cfr14_91_151"),
    Reserve("VFR by night, airplane", 45, "14 CFR 91.151(a)", source="cfr14_91_151"),
    Reserve("VFR, rotorcraft", 20, "14 CFR 91.151(b)", source="cfr14_91_151"),
    Reserve("IFR, airplane", 45, "14 CFR 91.167(a)(3)", source="cfr14_91_167"),
    Reserve("IFR, helicopter", 30, "14 CFR 91.167(a)(3)", source="cfr14_91_167"),
)
"""The reserves of 14 CFR 91.151 and 91.167."""
