"""A fuel-flow indicator: pulses over the K-factor entered, and for a mass flow times one fixed density.

The fixed density equals that of the fuel at one temperature, and nowhere else. The display has steps, and is
zero below a cutoff. Several channels are several transducers whose flows the display adds; with a return line, the
second is subtracted from the first. Where each engine has a display of its own, each is an indicator of one channel.

The causes of its error are K, the fixed density, counting, a lag and the display step, each relative to the true
flow, positive where the display shows too much. They multiply as factors, and the display step comes on top.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import hypot, inf, prod
from typing import Any

from fuelunits.conversion import kind_of
from fuelunits.errors import DimensionError, QuantityError
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import density_doubt, remarks_of
from fuelunits.indicators.bench_sheet import BenchSheet, Generator
from fuelunits.indicators.settings import IndicatorSettings
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import QuantityLike, answer, first_quantity, fraction, pair, positive, ratio, temperature_c
from fuelunits.reports import Report, Reporting, Table
from fuelunits.validation import of_one_shape

_EXPANSION_PER_C = 0.001  # 1/°C, to one digit: kerosene 0.0009, aviation gasoline 0.0012 (common practice, from memory)
_CAUSES = "K as entered", "K at this flow and viscosity", "counting"  # of an error, where they are stated
_LAGS = {"smoothing": 1.0, "lag of the gate": 1.5}  # of times: a mean over a gate is displayed until the next has ended
_SLACK = 1e-9  # of floating-point arithmetic: a flow at the cutoff is displayed


class Indicator(IndicatorSettings):
    """A display of volume or mass flow, driven by the pulses of volume transducers.

    Parameters
    ----------
    k_factor : KFactor or str, or a list of them, the K-factor entered, of each channel
    reads : str, the unit displayed: a volume flow or a mass flow
    fixed_density : str or pint.Quantity, optional, the density that it assumes; needed for a mass flow, and only there
    resolution, total_resolution : str or pint.Quantity, optional
        The steps of its flow and of its totals, such as ``"0.1 L/h"`` and ``"0.1 L"``; no steps by default.
    low_flow_cutoff : str or pint.Quantity, optional, the lowest flow that it displays, of all channels together
    channels : int, how many transducers it has
    feed_less_return : bool, whether the flow of the second channel, in the return line, is subtracted from the first's
    truncates : bool, whether it truncates to its steps, reading up to a step low, where others round

    Examples
    --------
    >>> kg_h = Indicator("11412 pulse/L", reads="kg/h", fixed_density="0.8 kg/L", resolution="0.5 kg/h")
    >>> kg_h
    <Indicator: 11412 pulse/L, reading kg/h, fixed density 0.8 kg/L, steps of 0.5 kg/h>
    >>> kg_h.reading("150 Hz").magnitude
    38.0
    """

    def reading(self, frequency: Any) -> Any:
        """Return the reading for one frequency into every channel, scalar or array, or a list of them.

        Examples
        --------
        >>> twin = Indicator(["11412 pulse/L", "11286 pulse/L"], reads="L/h", resolution="0.1 L/h", channels=2)
        >>> twin.reading("100 Hz").magnitude, twin.reading(["100 Hz", "0 Hz"]).magnitude
        (63.4, 31.5)
        """
        given = self.for_each_channel(frequency)
        hz = [positive(each, "Hz", name="frequency", zero=True) for each in given]
        with of_one_shape("frequencies of the channels"):
            flow = sum(each * float(per_hz) for each, per_hz in zip(hz, self.flows_per_hz, strict=True))
        return answer(self.displayed_flow(flow), self.reads, first_quantity(*given))

    def reading_of(
        self,
        true_flow: QuantityLike,
        fuel: Any = None,
        at: QuantityLike | None = None,
        true_k: KFactor | str | None = None,
    ) -> Any:
        """Return the reading while a true flow passes, of all channels together, in equal parts.

        A mass flow needs the fuel and its temperature at the transducer; `true_k` is one for all or for each channel.
        """
        if (fuel is None) != (at is None):
            raise QuantityError("fuel and at: give both, the fuel and its temperature, or neither")
        if self.feed_less_return:
            raise QuantityError("true_flow: feed and return are two flows; use reading([...]) with both frequencies")
        like, kind = first_quantity(true_flow, at, true_k), kind_of(true_flow, ("m^3/s", "kg/s"), name="true_flow")
        flow = positive(true_flow, kind, name="true_flow", zero=True)
        if kind == "kg/s" and fuel is None:
            raise DimensionError(f"true_flow: {true_flow} is a mass flow; give the fuel and its temperature as well")
        kg_m3 = 1.0 if fuel is None else find_fuel(fuel).density_kg_m3(temperature_c(at, name="at"))
        pairs = zip(self.each_k_factor(self.k_factors if true_k is None else true_k), self.flows_per_hz, strict=True)
        per_m3_s = float(sum(k.exact_per("m^3") * per_hz for k, per_hz in pairs) / self.channels)
        return answer(self.displayed_flow((flow / kg_m3 if kind == "kg/s" else flow) * per_m3_s), self.reads, like)

    def bench_points(
        self, flows: Sequence[Any], tolerance: QuantityLike, *, generator: Generator | None = None
    ) -> BenchSheet:
        """Return the sheet from which a technician injects pulses; a point that cannot be judged says why.

        Parameters
        ----------
        flows : sequence of flows of all channels (``"60 L/h"``), frequencies (``"100 Hz"``), totals (``"10 L"``),
            :class:`LowFuelPoint`; or tuples of flows or frequencies, one for each channel
        tolerance : str or pint.Quantity, part of the value displayed, ``"2 %"``, or a flow of the kind read
        generator : Generator, optional, where its steps and uncertainty are to count
        """
        return BenchSheet(self, flows, tolerance, generator)  # type: ignore[arg-type]

    def error_budget(
        self,
        fuel: Any = None,
        *,
        flow: QuantityLike,
        between: Any = None,
        true_k: KFactor | str | Sequence[KFactor | str] | None = None,
        k_at_flow: QuantityLike | None = None,
        gate_time: Any = None,
        smoothing: Any = None,
        change_per_minute: Any = None,
    ) -> ErrorBudget:
        """Split the error of the display into its causes, and combine them; the verdict names those not stated.

        Parameters
        ----------
        fuel, between : the fuel or its name, and the ends of its temperatures, where the indicator reads a mass flow
        flow : str or pint.Quantity, the true flow; or a list of one for each channel: feed and return
        true_k : KFactor or str, or a list of one for each channel, optional, as calibrated; no uncertainty of it counts
        k_at_flow : str or pint.Quantity, optional
            By how much K at this flow and viscosity exceeds that, from the curve: ``"-0.4 %"``, in all channels alike;
            where they differ, and each error of feed less return counts several times, put it into `true_k`.
        gate_time : str or pint.Quantity, optional, for how long the indicator counts pulses for one reading
        smoothing, change_per_minute : str or pint.Quantity, optional
            Time constant of its smoothing, ``"0 s"`` for none, and by how much the flow changes per minute, ``"3 %"``.
            The reading lags by the change in that time constant and in up to one and a half gate times.

        Examples
        --------
        >>> l_h = Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h")
        >>> budget = l_h.error_budget(flow="50 L/h", true_k="11480 pulse/L", gate_time="1 s")
        >>> [(part.name, round(part.low, 5), round(part.high, 5)) for part in budget.parts][1:]
        [('counting', -0.00627, 0.00627), ('display step', -0.005, 0.005)]
        """
        first_quantity(flow, between, true_k, k_at_flow, gate_time, smoothing, change_per_minute)
        shift = 0.0 if k_at_flow is None else ratio(k_at_flow, name="k_at_flow")
        if not -1.0 < shift < inf:
            raise QuantityError(f"k_at_flow must be above -100 % and finite, for example '-0.4 %'; got {k_at_flow}")
        lags, flows = _lags(smoothing, gate_time, change_per_minute), self.flows_for(flow)
        number = sum(flows, Fraction(0))
        if number <= 0:
            raise QuantityError(f"flow: the display shows 0 at {flow}; give a flow above zero and its return flow")
        each = zip(flows, self.k_factors, self.each_k_factor(self.k_factors if true_k is None else true_k), strict=True)
        entered = sum(float(part / number) * k.indication_error(own) for part, k, own in each)
        one_hz = float(sum(map(abs, self.flows_per_hz)) / number) / (1.0 + entered) / (1.0 + shift)
        count = 0.0 if gate_time is None else one_hz / float(positive(gate_time, "s", name="gate_time"))
        if count > 1.0:  # one count of each channel, either way, of those in the gate
            raise QuantityError(f"gate_time: {gate_time} holds {1.0 / count:.2g} pulses; take a longer one")
        step = ErrorPart("display step", *(float(error / number) for error in self.display.errors))
        sizes = (entered, entered), (shift, shift), (-count, count)
        causes = zip(_CAUSES, (true_k, k_at_flow, gate_time), sizes, strict=True)
        factors = [ErrorPart(name, *size) for name, stated, size in causes if stated is not None]
        factors += [ErrorPart(" and ".join(lags), -sum(lags.values()), sum(lags.values()))] * bool(lags)
        liquid: Any = None if fuel is None else find_fuel(fuel)
        as_is, limits, is_open = _density_parts(self, liquid, between)
        cases = [("this fuel" if as_is else "volume flow", as_is), ("any batch within the limits", limits)]
        worst, squares = [], []
        for name, ends in cases[: 1 + bool(limits)]:
            # alternatives, the two ends of a range of temperatures, count as the one part that spans them
            span = [min(part.low for part in ends), max(part.high for part in ends)] if ends else [0.0, 0.0]
            parts = [*factors, ErrorPart("fixed density", *span)]
            worst.append(_worst(f"worst case, {name}", parts, step, float(self.display.cutoff / number)))
            square = hypot(*(max(-part.low, part.high) for part in (*parts, step)))
            squares.append(ErrorPart(f"root sum square, {name}", -square, square))
        if all(part.high == -1.0 for part in worst):
            raise QuantityError(f"flow: the display shows 0 at {flow}; give a flow above its cutoff")
        remarks = list(remarks_of(liquid))
        if is_open and hasattr(liquid, "measured"):
            remarks.append(f"{liquid.name}: limits are not known on both sides, so batches may differ by more")
        if any(part.low == -1.0 for part in worst):
            remarks.append("the flow displayed may lie below the cutoff, so the display shows 0: an error of -100 %")
        if self.feed_less_return:
            remarks.append(
                f"feed {float(flows[0]):.6g} less return {float(-flows[1]):.6g} {self.reads}, both at one temperature: "
                "each °C by which the return is warmer than the feed lowers the reading by about "
                f"{-100.0 * _EXPANSION_PER_C * float(flows[1] / number):.2g} %, not included (expansion from memory)"
            )
        elif len(flows) > 1:
            remarks.append(f"channels at {' and '.join(f'{float(it):.6g}' for it in flows)} {self.reads}, no others")
        rows = (*factors, *[step] * (self.display.step is not None), *as_is, *limits)
        return ErrorBudget(str(self), float(number), self.reads, rows, tuple(worst), tuple(squares), tuple(remarks))


@dataclass(frozen=True)
class ErrorPart:
    """One cause of an indicator's error: its lowest and highest relative error, signed fractions of the true flow."""

    name: str
    low: float
    high: float


def _worst(name: str, factors: Sequence[ErrorPart], step: ErrorPart, cutoff: float) -> ErrorPart:
    """Return what factors that multiply, and the step that adds, are at worst; zero is displayed below the cutoff."""
    low, high = prod(1.0 + part.low for part in factors), prod(1.0 + part.high for part in factors)
    ends = (low, step.low), (high, step.high)
    errors = (-1.0 if ratio < cutoff * (1.0 - _SLACK) else max(ratio - 1.0 + off, -1.0) for ratio, off in ends)
    return ErrorPart(name, *errors)


def _lags(smoothing: Any, gate_time: Any, change_per_minute: Any) -> dict[str, float]:
    """Return by how much a first-order smoothing and a gate lag behind a flow that changes steadily, where stated."""
    given = {"smoothing": smoothing, "lag of the gate": gate_time}
    stated = {name: time for name, time in given.items() if time is not None}
    if change_per_minute is None and smoothing is None:
        return {}
    if change_per_minute is None or not stated:
        needed = "give both, such as '10 s' ('0 s' for none) and '3 %'; a change needs one of these times"
        raise QuantityError(f"smoothing or gate_time, and change_per_minute: {needed}")
    change = fraction(change_per_minute, name="change_per_minute")
    return {name: change * _LAGS[name] * float(positive(t, "min", name=name, zero=True)) for name, t in stated.items()}


def _density_parts(indicator: Indicator, fuel: Any, between: Any) -> tuple[list[ErrorPart], list[ErrorPart], bool]:
    """Return what a fixed density causes at both temperatures: for the fuel as it is, its limits; if one is unknown."""
    as_is, limits, is_open = list[ErrorPart](), list[ErrorPart](), False
    if indicator.fixed_density_kg_m3 is None:
        if fuel is not None or between is not None:
            raise QuantityError(f"fuel: {indicator.reads} is a volume flow and assumes no density; leave it out")
        return as_is, limits, is_open
    if fuel is None or between is None:
        raise QuantityError("fuel and between: the indicator assumes a density; give the fuel and its temperatures")
    fixed, limits_of = float(indicator.fixed_density_kg_m3), getattr(fuel, "density_limits_kg_m3", lambda _: None)
    for temperature in pair(between, "degC", name="between"):
        reads = fixed / float(fuel.density_kg_m3(temperature))
        doubt = density_doubt(fuel, temperature) if hasattr(fuel, "reading") or hasattr(fuel, "parts") else 0.0
        low, high = reads / (1.0 + doubt) - 1.0, reads / (1.0 - doubt) - 1.0
        as_is.append(ErrorPart(f"fixed density, {fuel.name} at {temperature:g} °C", low, high))
        known = [fixed / float(limit) - 1.0 for limit in limits_of(temperature) or () if limit is not None]
        is_open |= len(known) < 2
        if known:
            ends = min(*known, low), max(*known, high)
            limits.append(ErrorPart(f"fixed density, {fuel.name} limits at {temperature:g} °C", *ends))
    return as_is, limits, is_open


@dataclass(frozen=True, repr=False)
class ErrorBudget(Reporting):
    """The error of an indicator at a flow, in the unit read; made by ``Indicator.error_budget``.

    The parts of the fixed density are alternatives: one temperature or the other. They are combined for the fuel as
    it is, and within its specification limits where it has them: at worst, and as the root sum square of each part's
    largest magnitude, for independent parts. U of a density that was measured counts. Below the cutoff it is -100 %.
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
        stated = " and ".join(part.name for part in self.parts)
        omitted = [name for name in (*_CAUSES, *_LAGS, "display step") if name not in stated]
        omitted += ["how far batches may differ"] * any("batches may differ" in each for each in self.remarks)
        verdict = f"at {self.flow:.6g} {self.unit} the error is between {100 * low:+.2f} % and {100 * high:+.2f} %"
        verdict += f"; not included: {', '.join((*omitted, 'the uncertainty of K'))}"
        facts = {"errors": "relative to the true flow, positive where the display shows too much"}
        together = map(_percent_row, (*self.worst, *self.root_sum_square))
        tables = [Table.of(map(_percent_row, self.parts)), Table.of(together, "together")]
        return Report(f"error of an indicator, {self.indicator}", verdict, facts, tables, self.remarks)


def _percent_row(part: ErrorPart) -> dict[str, str]:
    return {"part": part.name, "lowest, %": f"{100.0 * part.low:+.2f}", "highest, %": f"{100.0 * part.high:+.2f}"}
