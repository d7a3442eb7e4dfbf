"""Time and quantity: endurance, fuel for a time, fuel remaining, reserves of the operating rules, low-fuel warnings.

`usable` fuel is what the tanks hold less what 14 CFR 23.959 (``cfr14_23_959``) defines as unusable: an indicator reads
zero there, a dipped or weighed quantity includes it. It and `start`, `used`, `flow` and `time` are text or quantities,
by volume or mass, arrays where not said otherwise, or ``measured(...)``, whose uncertainty then reaches the answer.
`unit` is that wanted. A `density` is needed where volume meets mass: the one set, of what is displayed; or the fuel's.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from fuelunits.conversion import amount, flow_unit_name, kind_of
from fuelunits.errors import QuantityError
from fuelunits.indicators.written import between, coerce_text, compatible, expanded_uncertainty, remarks_on
from fuelunits.quantities import QuantityLike, answer, exact_number, first_quantity, positive, read_text
from fuelunits.reports import Report, Reporting
from fuelunits.sources import Sourced, source
from fuelunits.uncertainty.budget import nominal, standard_uncertainty
from fuelunits.uncertainty.measured import is_uncertain, uncertain_amount, uncertain_magnitude
from fuelunits.units import read_unit
from fuelunits.validation import any_of, check_type, format_value, set_fields


def endurance(usable: QuantityLike, flow: QuantityLike, *, density: QuantityLike | None = None) -> Any:
    """Return how long usable fuel lasts at a flow, as a quantity in hours.

    Its limits are too narrow where fuel, flow or a `density` between volume and mass is plain and another is not.

    Examples
    --------
    >>> round(endurance("180 L", "40 kg/h", density="0.8 kg/L").m_as("hour"), 4)
    3.6
    """
    like, unit = first_quantity(usable, flow, density), kind_of(flow, ("L/h", "kg/h"), name="flow").removesuffix("/h")
    if isinstance(flow, str):
        unit = flow_unit_name(read_text(flow)[1]).partition("/")[0]
    left, per_hour = _number(usable, unit, "usable", density), _number(flow, f"{unit}/h", "flow")
    _check_flow(per_hour, flow)
    return answer(left / per_hour, "h", like)


def _check_flow(per_hour: Any, flow: Any) -> None:
    """Refuse a flow of zero, or of less than ten times its uncertainty: U of one over it would cover below 94.6 %."""
    if any_of(nominal(per_hour) <= 9.99 * standard_uncertainty(per_hour)):
        wanted = "positive, and its standard uncertainty at most 10 %: fuel is divided by it"
        raise QuantityError(f"flow: {format_value(flow)}; it must be {wanted}")


def _number(value: Any, unit: str, name: str, density: Any = None) -> Any:
    """Return an amount or a flow in a unit, scalar or array; an uncertain number where it or the density is."""
    if is_uncertain(value) or is_uncertain(density):
        return uncertain_amount(value, unit, name=name, density=density, zero=True)
    return amount(value, unit, name=name, density=density)


def _hours(time: Any, name: str) -> Any:
    """Return a time that is not negative in hours, scalar or array; an uncertain number where it is measured."""
    hours = uncertain_magnitude(time, "h", name=name)
    positive(f"{nominal(hours)!r} h" if is_uncertain(time) else time, "h", name=name, zero=True)
    return hours


def _has_plain_density(density: Any, unit: str, *values: Any) -> bool:
    """Return whether volume and mass met in a density whose uncertainty was not stated."""
    kinds = [kind_of(each, ("L", "kg", "L/h", "kg/h"), name="amount")[0] for each in (f"1 {unit}", *values)]
    return density is not None and not is_uncertain(density) and len(set(kinds)) == 2


def fuel_for(time: Any, flow: QuantityLike, unit: str, *, density: QuantityLike | None = None) -> Any:
    """Return the fuel that a time takes at a flow; its limits may be too narrow, as those of :func:`endurance`.

    Examples
    --------
    >>> round(fuel_for("50 min", "60 L/h", "L").magnitude, 9)
    50.0
    """
    like = first_quantity(time, flow, density)
    return answer(_hours(time, "time") * _number(flow, f"{read_unit(unit)}/h", "flow", density), unit, like)


def remaining(start: QuantityLike, used: QuantityLike, unit: str, *, density: QuantityLike | None = None) -> Remaining:
    """Return the fuel remaining from the usable fuel at the start and the total used since, one figure each.

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
    left, unsure = held - gone, _has_plain_density(density, unit, start, used)
    return Remaining(held, gone, read_unit(unit).name, left, bool(nominal(left) < 0), unsure)


@dataclass(frozen=True, repr=False)
class Remaining(Reporting):
    """Fuel remaining, exact or uncertain, by :func:`remaining`; where `overdrawn`, the difference is negative."""

    start: Any
    used: Any
    unit: str
    difference: Any
    overdrawn: bool
    density_is_plain: bool

    def report(self) -> Report:
        start, used, left = (between(each, self.unit) for each in (self.start, self.used, self.difference))
        verdict, less = f"{left} remaining of {start}", -float(nominal(self.difference))
        if less > expanded_uncertainty(self.difference):
            more = f"{between(-self.difference, self.unit)} more than the {start} at the start"
            verdict = f"{used} used is {more}; check the start quantity and the K-factor"
        elif less > 0.0:
            verdict = f"undecided: {used} used of {start}, equal within the stated uncertainty"
        values = {"fuel at the start": self.start, "fuel used": self.used}
        remarks = remarks_on(values, *["density"] * self.density_is_plain)
        remarks.append("Totals that a display cuts off are each up to a step too low: less fuel remains.")
        warmth = "A volume used that was counted at another temperature is off by about 0.1 % per °C."
        remarks += [warmth] * (read_unit(self.unit).kind == read_unit("L").kind)
        return Report("fuel remaining", verdict, remarks=remarks)


@dataclass(frozen=True, repr=False)
class Reserve(Reporting, Sourced):
    """A legal minimum of one country: minutes at cruise beyond the flight planned; the operator's rules come first."""

    name: str
    minutes: int
    rule: str

    def report(self) -> Report:
        read = source(self.source)
        facts = {"operator's own rules": "come first, then the flight manual and the local law"}
        remarks = [f"{self.rule}, {read.edition}: {read.note or read.obtained}"]
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


@dataclass(frozen=True)
class LowFuelByTime:
    """A low-fuel threshold by time: it trips when the fuel left lasts no longer; ``fuel_for`` says how much that is.

    Attributes
    ----------
    time : str or pint.Quantity, the time, positive; exactly, and what is compared, in `minutes`

    Examples
    --------
    >>> print(LowFuelByTime("25 min"))
    low fuel by time, 25 min
    """

    time: Any = field(compare=False)
    minutes: Fraction = field(init=False, repr=False)

    def __post_init__(self) -> None:
        coerce_text(self, {"time": "min"})
        set_fields(self, minutes=exact_number(self.time, "min", name="time"))

    def __str__(self) -> str:
        return f"low fuel by time, {float(self.minutes):g} min"


@dataclass(frozen=True)
class LowFuelByQuantity:
    """A low-fuel threshold by quantity: it trips when no more is left; ``endurance`` says how long that lasts.

    Attributes
    ----------
    quantity : str or pint.Quantity, the volume or mass, positive; exactly, and what is compared, as `number` in `unit`

    Examples
    --------
    >>> print(LowFuelByQuantity("30 L"))
    low fuel by quantity, 30 L
    """

    quantity: Any = field(compare=False)
    number: Fraction = field(init=False, repr=False)
    unit: str = field(init=False, repr=False)

    def __post_init__(self) -> None:
        coerce_text(self, {"quantity": kind_of(self.quantity, ("L", "kg"), name="quantity")})
        unit = read_unit(read_text(self.quantity)[1]).name
        set_fields(self, unit=unit, number=exact_number(self.quantity, unit, name="quantity"))

    def __str__(self) -> str:
        return f"low fuel by quantity, {float(self.number):g} {self.unit}"


def first_to_trip(
    by_time: LowFuelByTime, by_quantity: LowFuelByQuantity, flow: Any, *, usable: Any = None, density: Any = None
) -> FirstToTrip:
    """Return which of two low-fuel thresholds trips first while fuel burns at a steady flow.

    They coincide at one flow, quantity over time: above it the one by time trips first.

    Parameters
    ----------
    by_time, by_quantity, flow : the two thresholds, and one flow
    usable : str or pint.Quantity, optional, fuel now, with which the answer says when each warning comes

    Examples
    --------
    >>> trip = first_to_trip(LowFuelByTime("25 min"), LowFuelByQuantity("30 L"), "60 L/h")
    >>> trip.first, float(trip.lead_minutes), float(trip.coincide_per_hour)
    ('quantity', 5.0, 72.0)
    """
    check_type(by_time, LowFuelByTime, "by_time", "LowFuelByTime('25 min')")
    check_type(by_quantity, LowFuelByQuantity, "by_quantity", "LowFuelByQuantity('30 L')")
    first_quantity(flow, usable, density)
    unit, minutes, kept = by_quantity.unit, by_time.minutes, by_quantity.number
    per_hour = uncertain_amount(flow, f"{unit}/h", name="flow", density=density)
    _check_flow(per_hour, flow)
    steady = per_hour if isinstance(per_hour, Fraction) else Fraction(nominal(per_hour))
    excess = steady - kept * 60 / minutes
    first = "time" if excess > 0 else "quantity" if excess else "both"
    if abs(excess) < expanded_uncertainty(per_hour):
        first = "undecided"
    held = to_time = to_quantity = None
    if usable is not None:
        held = uncertain_amount(usable, unit, name="usable", density=density)
        left, rate, at, before = compatible(held, per_hour, kept, minutes)
        to_time, to_quantity = left / rate * 60 - before, (left - at) / rate * 60
    lead, together = abs(minutes - kept / steady * 60), kept * 60 / minutes
    unsure = _has_plain_density(density, unit, flow, *([usable] if usable is not None else []))
    return FirstToTrip(by_time, by_quantity, per_hour, held, first, lead, together, to_time, to_quantity, unsure)


@dataclass(frozen=True, repr=False)
class FirstToTrip(Reporting):
    """Which of two low-fuel thresholds trips first, at a flow and usable fuel in the unit of the one by quantity.

    `first` is ``"time"``, ``"quantity"``, ``"both"`` or, within U of where they coincide, ``"undecided"``. The
    minutes until a warning are None without usable fuel, and not positive where it is on already.
    """

    by_time: LowFuelByTime
    by_quantity: LowFuelByQuantity
    flow_per_hour: Any
    usable: Any
    first: str
    lead_minutes: Fraction
    coincide_per_hour: Fraction
    minutes_to_time: Any
    minutes_to_quantity: Any
    density_is_plain: bool

    def report(self) -> Report:
        unit, lead = self.by_quantity.unit, float(self.lead_minutes)
        hours, per_hour = compatible(self.by_time.minutes / 60, self.flow_per_hour)
        times = {"warning by time": self.minutes_to_time, "warning by quantity": self.minutes_to_quantity}
        when = {name: _when(minutes) for name, minutes in times.items() if minutes is not None}
        facts = {
            str(self.by_time): f"trips at {between(hours * per_hour, unit)}",
            str(self.by_quantity): f"coincides with it at {float(self.coincide_per_hour):.4g} {unit}/h",
            **{name: words for name, (_, words) in when.items()},
        }
        verdict = f"the warning by {self.first} trips first, {lead:.1f} min before the other"
        if self.first == "undecided":
            verdict = "undecided: within the uncertainty of the flow, either may trip first"
        elif round(lead, 1) == 0.0:
            verdict = "both trip within 0.1 min of each other"
        for state, words in (("may be", "undecided: {} may be"), ("is", "{} is")):
            if names := [f"the {name}" for name, (each, _) in when.items() if each == state]:
                on = words.format(" and ".join(names)).replace(" is", " are" if names[1:] else " is")
                verdict = f"{on} on already, with {between(self.usable, unit)} usable"
        values = {"flow": self.flow_per_hour} | ({} if self.usable is None else {"usable fuel": self.usable})
        title = f"low fuel at {between(self.flow_per_hour, f'{unit}/h')}"
        return Report(title, verdict, facts, [], remarks_on(values, *["density"] * self.density_is_plain))


def _when(minutes: Any) -> tuple[str, str]:
    """Return whether a warning "is" or "may be" on already, empty where it comes later, and in words when it comes."""
    earliest, latest = (nominal(minutes) + side * expanded_uncertainty(minutes) for side in (-1, 1))
    if latest <= 0:
        return "is", "at once: no more fuel than it trips at"
    if earliest <= 0:
        return "may be", f"undecided: on already, or after up to {float(latest):.3g} min"
    return "", f"after {between(minutes, 'min')}"
