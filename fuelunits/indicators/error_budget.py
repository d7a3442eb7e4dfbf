"""The causes of an indicator's error: K, the fixed density, counting, smoothing, the display step.

Each part is relative to the true flow, positive where the display shows too much. The parts multiply as factors, and
the display step comes on top.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import hypot, inf, prod
from typing import Any

from fuelunits.errors import QuantityError
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import density_doubt, remarks_of
from fuelunits.indicators.settings import IndicatorSettings
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import fraction, pair, positive, ratio
from fuelunits.reports import Report, Reporting, Table

_EXPANSION_PER_C = 0.001
"""Expansion of aviation fuels, 1/°C, to one digit: kerosene 0.0009, gasoline 0.0012 (common practice, from memory)."""

_SLACK = 1e-9  # of floating-point arithmetic: a flow at the cutoff is displayed


@dataclass(frozen=True)
class ErrorPart:
    """One cause of an indicator's error: its lowest and highest relative error, signed fractions of the true flow."""

    name: str
    low: float
    high: float


def indicator_budget(
    indicator: IndicatorSettings,
    fuel: Any,
    flow: Any,
    between: Any,
    true: Sequence[KFactor],
    k_at_flow: Any,
    gate_time: Any,
    smoothing: tuple[Any, Any],
) -> ErrorBudget:
    """Return the budget of an indicator, from the true K-factors and what ``Indicator.error_budget`` takes."""
    shift = ratio(k_at_flow, name="k_at_flow")
    if not -1.0 < shift < inf:
        raise QuantityError(f"k_at_flow must be above -100 % and finite, for example '-0.4 %'; got {k_at_flow}")
    lag = _lag(*smoothing)
    flows = indicator.flows_for(flow)
    number = sum(flows, Fraction(0))
    if number <= 0:
        raise QuantityError(f"flow: the display shows 0 at {flow}; give a flow above zero, and above its return flow")
    shares = [float(each / number) for each in flows]
    each = zip(shares, indicator.k_factors, true, strict=True)
    entered = sum(share * k.indication_error(its_true) for share, k, its_true in each)
    per_second = float(sum(map(abs, indicator.flows_per_hz)) / number) / (1.0 + entered) / (1.0 + shift)
    count = _counting(gate_time, per_second)
    step = ErrorPart("display step", *(float(each / number) for each in indicator.display.errors))
    factors = [_part("K as entered", entered), _part("K at this flow and viscosity", shift)]
    factors += [ErrorPart(name, -half, half) for name, half in (("counting", count), ("smoothing", lag)) if half]
    liquid: Any = None if fuel is None else find_fuel(fuel)
    as_is, limits = _density_parts(indicator, liquid, between)
    cases = [("this fuel" if as_is else "volume flow", (*factors, *_span(as_is)))]
    if limits:
        cases.append(("any batch within the limits", (*factors, *_span(limits))))
    worst = tuple(_worst(name, parts, step, float(indicator.display.cutoff / number)) for name, parts in cases)
    if all(part.high == -1.0 for part in worst):
        raise QuantityError(f"flow: the display shows 0 at {flow}; give a flow above its cutoff")
    squares = tuple(_root_sum_square(name, (*parts, step)) for name, parts in cases)
    remarks = list(remarks_of(liquid))
    if as_is and not limits and hasattr(liquid, "measured"):
        remarks.append(f"{liquid.name}: limits are not known on both sides, so batches may differ by more")
    if any(part.low == -1.0 for part in worst):
        remarks.append("the flow displayed may lie below the cutoff, so that the display shows 0: an error of -100 %")
    if not count:
        remarks.append("counting is not included: gate_time was not stated")
    if indicator.feed_less_return:
        remarks.append(
            f"feed {float(flows[0]):.6g} less return {float(-flows[1]):.6g} {indicator.reads}, both at one "
            "temperature: each °C by which the return is warmer than the feed lowers the reading by about "
            f"{-100.0 * _EXPANSION_PER_C * shares[1]:.2g} %, which is not included (expansion from memory)"
        )
    rows = (*factors, step, *as_is, *limits)
    return ErrorBudget(str(indicator), float(number), indicator.reads, rows, worst, squares, tuple(remarks))


def _part(name: str, error: float) -> ErrorPart:
    return ErrorPart(name, error, error)


def _worst(name: str, factors: Sequence[ErrorPart], step: ErrorPart, cutoff: float) -> ErrorPart:
    """Return what parts that multiply, and the display step that adds to their product, are at worst.

    Below the cutoff, relative to the true flow, the product is displayed as zero; no display shows less.
    """
    low, high = prod(1.0 + part.low for part in factors), prod(1.0 + part.high for part in factors)
    ends = (low, step.low), (high, step.high)
    errors = (-1.0 if shown < cutoff * (1.0 - _SLACK) else max(shown - 1.0 + off, -1.0) for shown, off in ends)
    return ErrorPart(f"worst case, {name}", *errors)


def _root_sum_square(name: str, parts: Sequence[ErrorPart]) -> ErrorPart:
    square = hypot(*(max(abs(part.low), abs(part.high)) for part in parts))
    return ErrorPart(f"root sum square, {name}", -square, square)


def _lag(smoothing: Any, change_per_minute: Any) -> float:
    """Return by how much a first-order smoothing lags behind a flow that changes steadily: rate times time constant."""
    if (smoothing is None) != (change_per_minute is None):
        raise QuantityError("smoothing and change_per_minute: give both, such as '10 s' and '3 %', or neither")
    if smoothing is None:
        return 0.0
    return fraction(change_per_minute, name="change_per_minute") * float(positive(smoothing, "min", name="smoothing"))


def _counting(gate_time: Any, per_second: float) -> float:
    """Return the largest relative error of counting: one count of each channel, either way, of those in the gate."""
    error = 0.0 if gate_time is None else per_second / float(positive(gate_time, "s", name="gate_time"))
    if error > 1.0:
        raise QuantityError(f"gate_time: {gate_time} holds {1.0 / error:.2g} pulses; take a longer one")
    return error


def _density_parts(
    indicator: IndicatorSettings, fuel: Any, between: Any
) -> tuple[tuple[ErrorPart, ...], tuple[ErrorPart, ...]]:
    """Return what a fixed density causes at both ends of a temperature range: for the fuel as it is, and its limits."""
    if indicator.fixed_density_kg_m3 is None:
        if fuel is not None or between is not None:
            raise QuantityError(f"fuel: {indicator.reads} is a volume flow and assumes no density; leave it out")
        return (), ()
    if fuel is None or between is None:
        raise QuantityError("fuel and between: the indicator assumes a density; give the fuel and its temperatures")
    fixed = float(indicator.fixed_density_kg_m3)
    as_is, tolerance = [], []
    limits_of = getattr(fuel, "density_limits_kg_m3", None)
    for temperature in pair(between, "degC", name="between"):
        ratio = fixed / float(fuel.density_kg_m3(temperature))
        doubt = density_doubt(fuel, temperature) if hasattr(fuel, "reading") else 0.0
        ends = ratio / (1.0 + doubt) - 1.0, ratio / (1.0 - doubt) - 1.0
        as_is.append(ErrorPart(f"fixed density, {fuel.name} at {temperature:g} °C", *ends))
        low, high = (limits_of(temperature) if limits_of else None) or (None, None)
        if low is not None and high is not None:
            edges = fixed / float(high) - 1.0, fixed / float(low) - 1.0
            tolerance.append(ErrorPart(f"fixed density, {fuel.name} limits at {temperature:g} °C", *edges))
    return tuple(as_is), tuple(tolerance)


def _span(parts: tuple[ErrorPart, ...]) -> tuple[ErrorPart, ...]:
    """Return the one part that spans alternatives, the two ends of a temperature range; none of none."""
    ends = [end for part in parts for end in (part.low, part.high)]
    return (ErrorPart("fixed density", min(ends), max(ends)),) if ends else ()


@dataclass(frozen=True, repr=False)
class ErrorBudget(Reporting):
    """The error of an indicator at a flow, in the unit read; made by ``Indicator.error_budget``.

    The parts of the fixed density are alternatives: one temperature or the other. They are combined for the fuel as
    it is, and within its specification limits where it has them: at worst, and as the root sum square of each part's
    largest magnitude, which is for independent parts, and no standard uncertainty. Of a measured batch, twice the
    uncertainty of its reading and that of its expansion count. Below the cutoff the error is -100 %.
    """

    indicator: str
    flow: float
    unit: str
    parts: tuple[ErrorPart, ...]
    worst: tuple[ErrorPart, ...]
    root_sum_square: tuple[ErrorPart, ...]
    remarks: tuple[str, ...] = ()

    def rows(self) -> tuple[ErrorPart, ...]:
        """Return the parts; errors are signed fractions of the true flow."""
        return self.parts

    def report(self) -> Report:
        low, high = min(part.low for part in self.worst), max(part.high for part in self.worst)
        verdict = f"at {self.flow:.6g} {self.unit} the error is between {100 * low:+.2f} % and {100 * high:+.2f} %"
        facts = {"errors": "relative to the true flow, positive where the display shows too much"}
        together = map(_percent_row, (*self.worst, *self.root_sum_square))
        tables = [Table.of(map(_percent_row, self.parts)), Table.of(together, "together")]
        return Report(f"error of an indicator, {self.indicator}", verdict, facts, tables, self.remarks)


def _percent_row(part: ErrorPart) -> dict[str, str]:
    return {"part": part.name, "lowest, %": f"{100.0 * part.low:+.2f}", "highest, %": f"{100.0 * part.high:+.2f}"}
