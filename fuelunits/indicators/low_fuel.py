"""Low-fuel thresholds by time and by quantity, each told in terms of the other.

A threshold by time trips at the more fuel the higher the flow; one by quantity leaves the less time.
They coincide at one flow, quantity over time: above it the one by time trips first.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from fuelunits.amounts import convert_exact, exact_amount, exact_density, exact_number, first_quantity, kind_of
from fuelunits.quantities import answer, read_text
from fuelunits.reports import CAUTION
from fuelunits.units import exact_factor, read_unit
from fuelunits.validation import check_type

__all__ = ["FirstToTrip", "LowFuelByQuantity", "LowFuelByTime", "first_to_trip"]


@dataclass(frozen=True, init=False)
class LowFuelByTime:
    """A low-fuel threshold by time: it trips when the fuel left lasts no longer.

    Parameters
    ----------
    time : str or pint.Quantity
        The time, positive.

    Attributes
    ----------
    minutes : Fraction
        The time in minutes, exactly.

    Examples
    --------
    >>> low = LowFuelByTime("45 min")
    >>> print(low)
    low fuel by time, 45 min
    >>> low == LowFuelByTime("0.75 h")
    True
    >>> round(low.as_quantity("12 gal/h", "lb", density="6 lb/gal").magnitude, 9)
    54.0
    """

    minutes: Fraction

    def __init__(self, time: Any) -> None:
        object.__setattr__(self, "minutes", exact_number(time, "min", name="time"))

    def __str__(self) -> str:
        return f"low fuel by time, {float(self.minutes):g} min"

    def as_time(self, unit: str = "min", *, like: Any = None) -> Any:
        """Give the time as a quantity, in any unit of time; `like` names the registry by one of its quantities."""
        return answer(float(self.minutes * exact_factor("min", unit)), unit, like)

    def as_quantity(self, flow: Any, unit: str, *, density: Any = None) -> Any:
        """Give the fuel left at which it trips at a flow, in a unit of volume or mass."""
        per_minute = exact_amount(flow, f"{read_unit(unit)}/min", name="flow", density=density)
        return answer(float(self.minutes * per_minute), unit, flow)


@dataclass(frozen=True, init=False)
class LowFuelByQuantity:
    """A low-fuel threshold by quantity: it trips when no more is left.

    Parameters
    ----------
    quantity : str or pint.Quantity
        The volume or mass, positive.

    Attributes
    ----------
    number : Fraction
        The amount, exactly, in `unit`.
    unit : str
        The unit of the text; L or kg for a pint quantity.

    Examples
    --------
    >>> low = LowFuelByQuantity("10 gal")
    >>> print(low)
    low fuel by quantity, 10 gal
    >>> round(low.as_time("12 gal/h").m_as("minute"), 9)
    50.0
    >>> round(low.as_quantity("lb", density="6 lb/gal").magnitude, 9)
    60.0
    """

    number: Fraction
    unit: str

    def __init__(self, quantity: Any) -> None:
        unit = kind_of(quantity, ("L", "kg"), name="quantity")
        if isinstance(quantity, str):
            unit = read_unit(read_text(quantity)[1]).name
        object.__setattr__(self, "number", exact_number(quantity, unit, name="quantity"))
        object.__setattr__(self, "unit", unit)

    def __str__(self) -> str:
        return f"low fuel by quantity, {float(self.number):g} {self.unit}"

    def as_quantity(self, unit: str | None = None, *, density: Any = None, like: Any = None) -> Any:
        """Give the amount as a quantity, in any unit of volume or mass; its own by default."""
        unit = self.unit if unit is None else unit
        number = convert_exact(self.number, self.unit, unit, exact_density(density))
        return answer(float(number), unit, first_quantity(like, density))

    def as_time(self, flow: Any, unit: str = "min", *, density: Any = None) -> Any:
        """Give how long the fuel left lasts when it trips at a flow."""
        per_minute = exact_amount(flow, f"{self.unit}/min", name="flow", density=density)
        minutes = self.number / per_minute
        return answer(float(minutes * exact_factor("min", unit)), unit, flow)


def first_to_trip(
    by_time: LowFuelByTime, by_quantity: LowFuelByQuantity, flow: Any, *, density: Any = None
) -> FirstToTrip:
    """Tell which of two low-fuel thresholds trips first while fuel burns at a steady flow.

    Parameters
    ----------
    by_time, by_quantity
        The two thresholds.
    flow : str or pint.Quantity
        Volume or mass flow, positive.
    density : str or pint.Quantity, optional
        Density of the fuel, needed where flow and quantity are not of one kind.

    Returns
    -------
    FirstToTrip

    Examples
    --------
    >>> trip = first_to_trip(LowFuelByTime("45 min"), LowFuelByQuantity("10 gal"), "12 gal/h")
    >>> trip.first, float(trip.lead_minutes), round(float(trip.coincide_per_hour), 3)
    ('quantity', 5.0, 13.333)
    """
    check_type(by_time, LowFuelByTime, "by_time", "LowFuelByTime('45 min')")
    check_type(by_quantity, LowFuelByQuantity, "by_quantity", "LowFuelByQuantity('10 gal')")
    per_hour = exact_amount(flow, f"{by_quantity.unit}/h", name="flow", density=density)
    return FirstToTrip(by_time, by_quantity, per_hour)


@dataclass(frozen=True)
class FirstToTrip:
    """Which of two low-fuel thresholds trips first; made by :func:`first_to_trip`.

    Attributes
    ----------
    by_time, by_quantity
        The two thresholds.
    flow_per_hour : Fraction
        The flow, in the unit of the threshold by quantity, per hour.
    """

    by_time: LowFuelByTime
    by_quantity: LowFuelByQuantity
    flow_per_hour: Fraction

    @property
    def time_trips_at(self) -> Fraction:
        """The fuel left at which the threshold by time trips, in the unit of the other."""
        return self.flow_per_hour * self.by_time.minutes / 60

    @property
    def coincide_per_hour(self) -> Fraction:
        """The flow at which both trip at once; above it the one by time is first."""
        return self.by_quantity.number * 60 / self.by_time.minutes

    @property
    def first(self) -> str:
        """Say ``"time"``, ``"quantity"`` or ``"both"``."""
        if self.flow_per_hour == self.coincide_per_hour:
            return "both"
        return "time" if self.flow_per_hour > self.coincide_per_hour else "quantity"

    @property
    def lead_minutes(self) -> Fraction:
        """How long the first trips before the other, at this flow."""
        return abs(self.time_trips_at - self.by_quantity.number) / self.flow_per_hour * 60

    def __str__(self) -> str:
        unit = self.by_quantity.unit
        order = "both trip together"
        if self.first != "both":
            order = f"the one by {self.first} trips first, {float(self.lead_minutes):.1f} min before the other"
        return (
            f"at {float(self.flow_per_hour):g} {unit}/h {order}\n"
            f"{self.by_time}: trips at {float(self.time_trips_at):.4g} {unit}\n"
            f"{self.by_quantity}\n"
            f"they coincide at {float(self.coincide_per_hour):.4g} {unit}/h; above that the one by time is first\n"
            f"{CAUTION}"
        )

    def as_dict(self) -> dict[str, Any]:
        """Give the result in plain JSON types."""
        return {
            "first": self.first,
            "lead_min": float(self.lead_minutes),
            "flow_per_hour": float(self.flow_per_hour),
            "coincide_per_hour": float(self.coincide_per_hour),
            "time_trips_at": float(self.time_trips_at),
            "quantity_trips_at": float(self.by_quantity.number),
            "unit": self.by_quantity.unit,
            "caution": CAUTION,
        }
