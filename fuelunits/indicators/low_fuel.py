"""Low-fuel thresholds by time and by quantity, each expressed in terms of the other.

They coincide at one flow, quantity over time: above it the one by time trips first. Flow and fuel may be measured
values, whose uncertainty then reaches the answer.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from fuelunits.conversion import convert_exact, exact_density, kind_of
from fuelunits.errors import QuantityError
from fuelunits.indicators.written import (
    as_written,
    between,
    coerce_text,
    compatible,
    expanded_uncertainty,
    float_or_uncertain,
    limits_too_narrow,
    set_fields,
)
from fuelunits.pint_units import answer, first_quantity
from fuelunits.quantities import QuantityLike, exact_number, read_text
from fuelunits.reports import Report, Reporting
from fuelunits.uncertainty.budget import nominal
from fuelunits.uncertainty.measured import uncertain_amount
from fuelunits.units import exact_factor, read_unit
from fuelunits.validation import check_type


class _Threshold(Reporting):
    def report(self) -> Report:
        """Return the threshold in one line."""
        return Report(str(self))


@dataclass(frozen=True, repr=False)
class LowFuelByTime(_Threshold):
    """A low-fuel threshold by time: it trips when the fuel left lasts no longer.

    Attributes
    ----------
    time : str or pint.Quantity
        The time, positive; exactly, and what is compared, in `minutes`.

    Examples
    --------
    >>> low = LowFuelByTime("25 min")
    >>> round(low.as_quantity("60 L/h", "kg", density="0.8 kg/L").magnitude, 9)
    20.0
    """

    time: Any = field(compare=False)
    minutes: Fraction = field(init=False)

    def __post_init__(self) -> None:
        if isinstance(self.time, str) and ":" in self.time:
            raise QuantityError(f"time: {self.time!r}; write a number and its unit, for example '25 min'")
        coerce_text(self, {"time": "min"})
        set_fields(self, minutes=exact_number(self.time, "min", name="time"))

    def __str__(self) -> str:
        return f"low fuel by time, {float(self.minutes):g} min"

    def as_time(self, unit: str = "min", *, like: Any = None) -> Any:
        """Return the time as a quantity, in any unit of time; `like` names the registry by one of its quantities."""
        return answer(float(self.minutes * exact_factor("min", unit)), unit, like)

    def as_quantity(self, flow: QuantityLike, unit: str, *, density: QuantityLike | None = None) -> Any:
        """Return the fuel left at which it trips at a flow, in a unit of volume or mass."""
        per_minute = uncertain_amount(flow, f"{read_unit(unit)}/min", name="flow", density=density)
        minutes, per_minute = compatible(self.minutes, per_minute)
        return answer(float_or_uncertain(minutes * per_minute), unit, first_quantity(flow, density))


@dataclass(frozen=True, repr=False)
class LowFuelByQuantity(_Threshold):
    """A low-fuel threshold by quantity: it trips when no more is left.

    Attributes
    ----------
    quantity : str or pint.Quantity
        The volume or mass, positive; exactly, and what is compared, as `number` in `unit`.

    Examples
    --------
    >>> low = LowFuelByQuantity("30 L")
    >>> round(low.as_time("60 L/h").m_as("minute"), 9)
    30.0
    """

    quantity: Any = field(compare=False)
    number: Fraction = field(init=False)
    unit: str = field(init=False)

    def __post_init__(self) -> None:
        text = as_written(self.quantity, kind_of(self.quantity, ("L", "kg"), name="quantity"), "quantity")
        unit = read_unit(read_text(text)[1]).name
        number = exact_number(text, unit, name="quantity")
        set_fields(self, quantity=text, unit=unit, number=number)

    def __str__(self) -> str:
        return f"low fuel by quantity, {float(self.number):g} {self.unit}"

    def as_quantity(self, unit: str | None = None, *, density: QuantityLike | None = None, like: Any = None) -> Any:
        """Return the amount as a quantity, in any unit of volume or mass; its own by default."""
        unit = self.unit if unit is None else unit
        number = convert_exact(self.number, self.unit, unit, exact_density(density))
        return answer(float(number), unit, first_quantity(like, density))

    def as_time(self, flow: QuantityLike, unit: str = "min", *, density: QuantityLike | None = None) -> Any:
        """Return how long the fuel left lasts when it trips at a flow."""
        per_minute = uncertain_amount(flow, f"{self.unit}/min", name="flow", density=density)
        number, per_minute = compatible(self.number * exact_factor("min", unit), per_minute)
        return answer(float_or_uncertain(number / per_minute), unit, first_quantity(flow, density))


def first_to_trip(
    by_time: LowFuelByTime, by_quantity: LowFuelByQuantity, flow: Any, *, usable: Any = None, density: Any = None
) -> FirstToTrip:
    """Return which of two low-fuel thresholds trips first while fuel burns at a steady flow.

    Parameters
    ----------
    by_time, by_quantity
        The two thresholds.
    flow, usable : str or pint.Quantity
        Flow, and usable fuel now, with which the answer says when each warning comes; ``measured(...)`` if uncertain.
    density : str or pint.Quantity, optional
        Density of the fuel, needed where flow and quantity are not of one kind.

    Examples
    --------
    >>> trip = first_to_trip(LowFuelByTime("25 min"), LowFuelByQuantity("30 L"), "60 L/h")
    >>> trip.first, float(trip.lead_minutes), float(trip.coincide_per_hour)
    ('quantity', 5.0, 72.0)
    """
    check_type(by_time, LowFuelByTime, "by_time", "LowFuelByTime('25 min')")
    check_type(by_quantity, LowFuelByQuantity, "by_quantity", "LowFuelByQuantity('30 L')")
    first_quantity(flow, usable, density)
    unit = by_quantity.unit
    per_hour = uncertain_amount(flow, f"{unit}/h", name="flow", density=density)
    held = None if usable is None else uncertain_amount(usable, unit, name="usable", density=density)
    return FirstToTrip(by_time, by_quantity, per_hour, held)


@dataclass(frozen=True, repr=False)
class FirstToTrip(Reporting):
    """Which of two low-fuel thresholds trips first, at a flow and usable fuel in the unit of the one by quantity."""

    by_time: LowFuelByTime
    by_quantity: LowFuelByQuantity
    flow_per_hour: Any
    usable: Any = None

    _plain = ("first", "lead_minutes", "coincide_per_hour", "time_trips_at", "minutes_to_time", "minutes_to_quantity")

    @property
    def time_trips_at(self) -> Any:
        """The fuel left at which the threshold by time trips, in the unit of the other."""
        hours, flow = compatible(self.by_time.minutes / 60, self.flow_per_hour)
        return hours * flow

    @property
    def coincide_per_hour(self) -> Fraction:
        """The flow at which both trip at once; above it the one by time is first."""
        return self.by_quantity.number * 60 / self.by_time.minutes

    @property
    def _flow(self) -> Fraction:
        given = self.flow_per_hour
        return given if isinstance(given, Fraction) else Fraction(nominal(given))

    @property
    def first(self) -> str:
        """``"time"``, ``"quantity"``, ``"both"``; ``"undecided"`` where the flow is within U of it."""
        excess = self._flow - self.coincide_per_hour
        if abs(excess) < expanded_uncertainty(self.flow_per_hour):
            return "undecided"
        if not excess:
            return "both"
        return "time" if excess > 0 else "quantity"

    @property
    def lead_minutes(self) -> Fraction:
        """How long the first trips before the other, at this flow."""
        return abs(self.by_time.minutes - self.by_quantity.number / self._flow * 60)

    @property
    def minutes_to_time(self) -> Any:
        """The minutes until the warning by time; None without usable fuel, negative where it is on already."""
        return self._minutes(Fraction(0), self.by_time.minutes)

    @property
    def minutes_to_quantity(self) -> Any:
        """The minutes until the warning by quantity; None without usable fuel, negative where it is on already."""
        return self._minutes(self.by_quantity.number, Fraction(0))

    def _minutes(self, kept: Fraction, earlier: Fraction) -> Any:
        if self.usable is None:
            return None
        usable, flow, kept, earlier = compatible(self.usable, self.flow_per_hour, kept, earlier)
        return (usable - kept) / flow * 60 - earlier

    def report(self) -> Report:
        """Return which trips first, and when."""
        unit = self.by_quantity.unit
        orders = {
            "both": "both trip together",
            "undecided": "undecided: within the uncertainty of the flow, either may trip first",
        }
        lead = float(self.lead_minutes)
        order = f"the warning by {self.first} trips first, {lead:.1f} min before the other"
        if round(lead, 1) == 0.0:
            order = "both trip within 0.1 min of each other"
        times = {"time": self.minutes_to_time, "quantity": self.minutes_to_quantity}
        on = [f"the warning by {name}" for name, left in times.items() if left is not None and nominal(left) <= 0]
        if on:
            order = (
                f"{' and '.join(on)} {'are' if on[1:] else 'is'} on already, with {between(self.usable, unit)} usable"
            )
        facts = {
            str(self.by_time): f"trips at {between(self.time_trips_at, unit)}",
            str(self.by_quantity): f"coincides with it at {float(self.coincide_per_hour):.4g} {unit}/h",
            "warning by time": _when(self.minutes_to_time),
            "warning by quantity": _when(self.minutes_to_quantity),
        }
        values = {"flow": self.flow_per_hour} | ({} if self.usable is None else {"usable fuel": self.usable})
        remarks = limits_too_narrow(values)
        verdict = order if on else orders.get(self.first, order)
        return Report(f"low fuel at {between(self.flow_per_hour, f'{unit}/h')}", verdict, facts, [], remarks)


def _when(minutes: Any) -> str:
    if minutes is None:
        return ""
    return f"after {between(minutes, 'min')}" if nominal(minutes) > 0 else "at once: there is less fuel already"
