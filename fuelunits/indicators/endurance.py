"""Time and quantity: endurance, fuel for a time, fuel remaining, and the reserves of the operating rules.

Endurance is usable fuel over flow. Usable fuel is what the tanks hold less the unusable: the quantity
at which the engine first malfunctions under the most adverse fuel feed condition that is expected
(the definition of 14 CFR 23.959, source ``cfr14_23_959``). An indicator reads zero at that point,
not at a dry tank; a quantity that was dipped or weighed still holds the unusable part.

Volume and mass are never mixed without a density: flow in pounds and fuel in gallons need one.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from fuelunits.amounts import amount, exact_amount, first_quantity, kind_of
from fuelunits.arrays import as_float
from fuelunits.errors import QuantityError
from fuelunits.quantities import answer, positive
from fuelunits.reports import CAUTION
from fuelunits.sources import Sourced
from fuelunits.units import read_unit

__all__ = [
    "IFR_AIRPLANE",
    "IFR_HELICOPTER",
    "RESERVES",
    "VFR_DAY_AIRPLANE",
    "VFR_NIGHT_AIRPLANE",
    "VFR_ROTORCRAFT",
    "Remaining",
    "Reserve",
    "endurance",
    "endurance_h",
    "fuel_for",
    "remaining",
]


def endurance_h(usable: Any, flow_per_hour: Any) -> Any:
    """Give the hours that usable fuel lasts at a flow.

    Parameters
    ----------
    usable : float or array
        Usable fuel, volume or mass, not negative.
    flow_per_hour : float or array
        Flow in the same unit per hour, positive. Broadcasts.

    Returns
    -------
    float or array
        Hours.

    Raises
    ------
    QuantityError
        If a flow is not positive (at no flow there is no endurance to give) or an amount is negative.

    Examples
    --------
    >>> endurance_h(50.0, 12.5)
    4.0
    """
    left, flow = as_float(usable), as_float(flow_per_hour)
    if np.any(np.less_equal(flow, 0)):
        raise QuantityError(f"flow: {flow_per_hour!r}; it must be positive, for at no flow there is no endurance")
    if np.any(np.less(left, 0)):
        raise QuantityError(f"usable: {usable!r}; an amount of fuel cannot be negative")
    return left / flow


def endurance(usable: Any, flow: Any, *, density: Any = None) -> Any:
    """Give how long usable fuel lasts at a flow.

    Parameters
    ----------
    usable : str or pint.Quantity
        Usable fuel, volume or mass; scalar or array.
    flow : str or pint.Quantity
        Volume or mass flow, positive.
    density : str or pint.Quantity, optional
        Density of the fuel, needed where one is by volume and the other by mass.

    Returns
    -------
    pint.Quantity
        Hours.

    Examples
    --------
    >>> round(endurance("50 gal", "12.5 gal/h").m_as("hour"), 9)
    4.0
    >>> round(endurance("50 gal", "80 lb/h", density="6.7 lb/gal").m_as("hour"), 4)
    4.1875
    """
    flow_unit = kind_of(flow, ("L/h", "kg/h"), name="flow")
    left = amount(usable, flow_unit.removesuffix("/h"), name="usable", density=density)
    return answer(endurance_h(left, positive(flow, flow_unit, name="flow")), "h", first_quantity(usable, flow))


def fuel_for(time: Any, flow: Any, unit: str, *, density: Any = None) -> Any:
    """Give the fuel that a time takes at a flow.

    Parameters
    ----------
    time : str or pint.Quantity
        Not negative; scalar or array.
    flow : str or pint.Quantity
        Volume or mass flow, not negative.
    unit : str
        The unit of volume or mass wanted.
    density : str or pint.Quantity, optional
        Density of the fuel, needed where flow and unit are not of one kind.

    Returns
    -------
    pint.Quantity

    Examples
    --------
    >>> round(fuel_for("45 min", "12 gal/h", "gal").magnitude, 9)
    9.0
    """
    per_hour = amount(flow, f"{read_unit(unit)}/h", name="flow", density=density)
    hours = positive(time, "h", name="time", zero=True)
    return answer(hours * per_hour, unit, first_quantity(time, flow))


def remaining(start: Any, used: Any, unit: str, *, density: Any = None) -> Remaining:
    """Give the fuel remaining from the usable fuel at the start and the total used since.

    Parameters
    ----------
    start : str or pint.Quantity
        Usable fuel at the start, volume or mass.
    used : str or pint.Quantity
        Total used since.
    unit : str
        The unit of volume or mass wanted.
    density : str or pint.Quantity, optional
        Density of the fuel, needed where these are not all of one kind.

    Returns
    -------
    Remaining
        It says so when more was used than there was; it never shows a negative amount as fuel.

    Examples
    --------
    >>> left = remaining("50 gal", "37.5 gal", "gal")
    >>> left.overdrawn, float(left.difference)
    (False, 12.5)
    """
    held = exact_amount(start, unit, name="start", density=density, zero=True)
    gone = exact_amount(used, unit, name="used", density=density, zero=True)
    return Remaining(held, gone, read_unit(unit).name)


@dataclass(frozen=True)
class Remaining:
    """Fuel remaining; made by :func:`remaining`.

    Attributes
    ----------
    start, used : Fraction
        Usable fuel at the start and the total used since, in `unit`.
    unit : str
        Unit of volume or mass.
    """

    start: Fraction
    used: Fraction
    unit: str

    @property
    def difference(self) -> Fraction:
        """Start less used; negative where more was counted than there was."""
        return self.start - self.used

    @property
    def overdrawn(self) -> bool:
        """Whether more was counted than there was: one of the two figures is wrong."""
        return self.difference < 0

    def as_quantity(self, *, like: Any = None) -> Any:
        """Give the fuel remaining as a quantity; refused where it is overdrawn."""
        if self.overdrawn:
            raise QuantityError(f"remaining: {self._overdraft()}")
        return answer(float(self.difference), self.unit, like)

    def _overdraft(self) -> str:
        return (
            f"{float(self.used):g} {self.unit} used is {float(-self.difference):g} {self.unit} more than the "
            f"{float(self.start):g} {self.unit} at the start; check the start quantity and the K-factor"
        )

    def __str__(self) -> str:
        held = f"{float(self.difference):g} {self.unit} remaining of {float(self.start):g} {self.unit}"
        return f"{self._overdraft() if self.overdrawn else held}\n{CAUTION}"

    def as_dict(self) -> dict[str, Any]:
        """Give the result in plain JSON types."""
        return {
            "start": float(self.start),
            "used": float(self.used),
            "difference": float(self.difference),
            "overdrawn": self.overdrawn,
            "unit": self.unit,
            "caution": CAUTION,
        }


@dataclass(frozen=True)
class Reserve(Sourced):
    """A minimum fuel reserve of the operating rules, at normal cruising speed.

    It is a legal minimum for planning under one country's rules. The operator's own rules, the
    flight manual and the law of the place come first.

    Attributes
    ----------
    name : str
        Kind of flight and aircraft.
    minutes : int
        Time that the fuel must last beyond the flight planned.
    """

    name: str
    minutes: int

    def __str__(self) -> str:
        return f"{self.name}: {self.minutes} min"

    def fuel_required(self, flight: Any, flow: Any, unit: str, *, density: Any = None) -> Any:
        """Give the fuel for a flight and this reserve at one flow.

        Parameters
        ----------
        flight : str or pint.Quantity
            Time of the flight planned; under IFR that includes the flight on to the alternate,
            where one is required.
        flow, unit, density
            As for :func:`fuel_for`.

        Returns
        -------
        pint.Quantity

        Examples
        --------
        >>> round(VFR_DAY_AIRPLANE.fuel_required("0.5 h", "12 gal/h", "gal").magnitude, 9)
        12.0
        """
        minutes = positive(flight, "min", name="flight", zero=True) + self.minutes
        return fuel_for(answer(minutes, "min", flight), flow, unit, density=density)


VFR_DAY_AIRPLANE = Reserve("VFR by day, airplane", 30, source="cfr14_91_151")
VFR_NIGHT_AIRPLANE = Reserve("VFR by night, airplane", 45, source="cfr14_91_151")
VFR_ROTORCRAFT = Reserve("VFR, rotorcraft", 20, source="cfr14_91_151")
IFR_AIRPLANE = Reserve("IFR, airplane", 45, source="cfr14_91_167")
IFR_HELICOPTER = Reserve("IFR, helicopter", 30, source="cfr14_91_167")

RESERVES = (VFR_DAY_AIRPLANE, VFR_NIGHT_AIRPLANE, VFR_ROTORCRAFT, IFR_AIRPLANE, IFR_HELICOPTER)
"""The reserves of 14 CFR 91.151 and 91.167."""
