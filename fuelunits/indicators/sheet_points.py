"""How the points of a bench sheet are made: flows, frequencies, totals, and low-fuel warnings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, ClassVar

from fuelunits.conversion import exact_amount, kind_of
from fuelunits.errors import QuantityError
from fuelunits.indicators.bench_points import BenchPoint
from fuelunits.indicators.display import displayed_exact
from fuelunits.indicators.endurance import LowFuelByQuantity, LowFuelByTime
from fuelunits.indicators.settings import IndicatorSettings
from fuelunits.indicators.written import (
    as_written,
    coerce_text,
    exact_fraction,
    is_frequency,
    set_fields,
    written_ratio,
)
from fuelunits.pint_units import first_quantity, is_quantity
from fuelunits.quantities import exact_number, is_ratio, members, read_text
from fuelunits.units import exact_factor
from fuelunits.validation import check_type


@dataclass(frozen=True)
class Source:
    """What sets a frequency or a capacitance: its step, and its standard uncertainty."""

    step: Any
    uncertainty: Any

    UNIT: ClassVar[str] = ""

    def __post_init__(self) -> None:
        first_quantity(self.step, self.uncertainty)
        coerce_text(self, {"step": self.UNIT})
        set_fields(self, uncertainty=written_ratio(self.uncertainty, self.UNIT, "uncertainty"))
        self.doubt(Fraction(1))

    def __str__(self) -> str:
        return f"steps of {self.step}, standard uncertainty {self.uncertainty}"

    @property
    def exact_step(self) -> Fraction:
        """The step, exactly, in the unit of the source."""
        return exact_number(self.step, self.UNIT, name="step")

    def nearest(self, value: Fraction) -> Fraction:
        """Return the nearest value that can be set, exactly."""
        return (value / self.exact_step + Fraction(1, 2)) // 1 * self.exact_step

    def doubt(self, value: Fraction) -> Fraction:
        """Return the allowance for a value that was set: ± half a step and twice the uncertainty; none for zero."""
        return value and self.exact_step / 2 + 2 * share_of(self.uncertainty, value, self.UNIT, "uncertainty")


@dataclass(frozen=True)
class Generator(Source):
    """A generator of pulses, whose steps and uncertainty enter the verdicts of a bench sheet.

    Attributes
    ----------
    step, uncertainty : str or pint.Quantity
        The step in which its frequency is set, ``"0.1 Hz"``, and its standard uncertainty, ``"0.01 %"``: twice it
        counts, with half a step.

    Examples
    --------
    >>> Generator(step="0.1 Hz", uncertainty="0.01 %").doubt(Fraction(100))
    Fraction(7, 100)
    """

    uncertainty: Any = "0 %"

    UNIT: ClassVar[str] = "Hz"


@dataclass(frozen=True)
class LowFuelPoint:
    """A point of a bench sheet at which a low-fuel warning must come.

    Attributes
    ----------
    threshold : LowFuelByTime or LowFuelByQuantity
        The threshold entered.
    flow, usable : str or pint.Quantity
        The flow that is injected, and the usable fuel that the indicator starts from.

    Examples
    --------
    >>> print(LowFuelPoint(LowFuelByTime("25 min"), "60 L/h", "90 L"))
    low fuel by time, 25 min, 60 L/h from 90 L
    """

    threshold: LowFuelByTime | LowFuelByQuantity
    flow: Any
    usable: Any

    def __post_init__(self) -> None:
        kinds = (LowFuelByTime, LowFuelByQuantity)
        check_type(self.threshold, kinds, "threshold", "LowFuelByTime('25 min')")
        first_quantity(self.flow, self.usable)
        units = {"flow": ("m^3/s", "kg/s"), "usable": ("m^3", "kg")}
        coerce_text(self, {name: kind_of(getattr(self, name), pair, name=name) for name, pair in units.items()})

    def __str__(self) -> str:
        return f"{self.threshold}, {self.flow} from {self.usable}"


def point_of(indicator: IndicatorSettings, given: Any, tolerance: str, generator: Generator | None) -> BenchPoint:
    """Return one point of a sheet, from what :func:`written_points` keeps."""
    if isinstance(given, LowFuelPoint):
        return _low_fuel(indicator, given, tolerance, generator)
    kinds = ("m^3/s", "kg/s", "Hz", "m^3", "kg")
    if not isinstance(given, tuple) and kind_of(given, kinds, name="point") in ("m^3", "kg"):
        return _total(indicator, given, tolerance)
    hz, flow, doubt = _injected(indicator, given, generator)
    words = " / ".join(given) if isinstance(given, tuple) else given
    allowed = share_of(tolerance, flow, indicator.reads)
    return BenchPoint(words, indicator.reads, flow, allowed, indicator.step, indicator.cutoff, doubt, hz)


def _injected(
    indicator: IndicatorSettings, given: Any, generator: Generator | None
) -> tuple[tuple[float, ...], Fraction, Fraction]:
    """Return the frequencies in Hz, the flow that they represent, and the allowance for it, in the unit read."""
    hz = indicator.frequencies_for(given)
    doubt = Fraction(0)
    if generator is not None:
        hz = tuple(map(generator.nearest, hz))
        parts = zip(hz, indicator.flows_per_hz, strict=True)
        doubt = sum((generator.doubt(each) * abs(per_hz) for each, per_hz in parts), Fraction(0))
    flow = indicator.exact_flow(hz)
    if flow < 0:
        injected = " and ".join(f"{float(each):.7g} Hz" for each in hz)  # a coarse generator rounds both
        raise QuantityError(f"flow: {given}, as {injected}; the return flow exceeds the feed flow")
    return tuple(map(float, hz)), flow, doubt


def _total(indicator: IndicatorSettings, given: str, tolerance: str) -> BenchPoint:
    """Return a point by a total: whole pulses are injected, so no allowance is needed."""
    if indicator.feed_less_return:
        raise QuantityError(f"point: {given}; feed less return is tested by two flows or frequencies")
    volume_unit, unit = indicator.k_factors[0].unit, indicator.total_unit
    share = _amount(indicator, given, volume_unit, "point") / indicator.channels
    pulses = tuple(round(share * k.exact_per(volume_unit)) for k in indicator.k_factors)
    if not all(pulses):
        raise QuantityError(f"point: {given} is less than a pulse of each channel; inject more")
    total = indicator.exact_flow([Fraction(count) for count in pulses]) / _per(indicator, "s")
    return BenchPoint(given, unit, total, share_of(tolerance, total, unit), indicator.total_step, pulses=pulses)


def _low_fuel(
    indicator: IndicatorSettings, given: LowFuelPoint, tolerance: str, generator: Generator | None
) -> BenchPoint:
    """Return the fuel left at which a warning must come: by time it depends on the flow, so on the generator."""
    unit = indicator.total_unit
    hz, flow, doubt = _injected(indicator, given.flow, generator)
    per_minute, doubt = flow / _per(indicator, "min"), doubt / _per(indicator, "min")
    if doubt >= per_minute:
        raise QuantityError(f"flow: {given.flow} is no larger than its uncertainty; inject more")
    if isinstance(given.threshold, LowFuelByTime):
        minutes, kept = given.threshold.minutes, Fraction(0)
    else:
        minutes, kept = Fraction(0), _amount(indicator, given.threshold.quantity, unit, "threshold")
    left = kept + minutes * per_minute
    start = _amount(indicator, given.usable, unit, "usable")
    if not 0 < left < start:
        raise QuantityError(f"usable: {given.usable}; the warning comes at {float(left):.4g} {unit} already")
    ends = [float((start - kept) / (per_minute + each) - minutes) for each in dict.fromkeys((doubt, -doubt))]
    remark = f"the warning is expected after {' to '.join(f'{end:.1f}' for end in ends)} min"
    point = BenchPoint(str(given), unit, left, share_of(tolerance, left, unit), indicator.total_step)
    point = replace(point, doubt=minutes * doubt, frequencies_hz=hz, remark=remark)
    if point.highest is not None and displayed_exact(start, indicator.total_step, Fraction(0)) <= point.highest:
        always = f"a warning that is always on would be accepted up to {point.highest:g} {unit}"
        raise QuantityError(f"usable: {given.usable}; {always}: start from more")
    return point


def _amount(indicator: IndicatorSettings, given: str, unit: str, name: str) -> Fraction:
    return exact_amount(given, unit, name=name, density=indicator.fixed_density)


def _per(indicator: IndicatorSettings, time: str) -> Fraction:
    """Return how many seconds or minutes the time of the unit read has: 3600 s for ``L/h``."""
    return exact_factor(indicator.reads.rpartition("/")[2], time)


def share_of(part: str, value: Fraction, unit: str, name: str = "tolerance") -> Fraction:
    """Return a tolerance or uncertainty, a percentage of the value or a quantity, in the unit of the value."""
    if is_ratio(part):
        return exact_fraction(part, name) * value
    return exact_number(part, unit, name=name, zero=True)


def written_points(points: Any) -> tuple[Any, ...]:
    """Return the points of a sheet as they are kept, or refuse anything that is not a list."""
    given = [] if is_quantity(points) else members(points)
    if not given:
        raise QuantityError("flows: give a list of flows, such as ['60 L/h', '100 Hz']")
    return tuple(map(_written_point, given))


def _written_point(given: Any) -> Any:
    if isinstance(given, LowFuelPoint):
        return given
    return tuple(map(_written_flow, given)) if isinstance(given, (list, tuple)) else _written_flow(given)


def _written_flow(given: Any) -> str:
    if isinstance(given, str) and not read_text(given)[1]:
        examples = f"'{given} gal/h', '{given} Hz' or '{given} gal'"
        raise QuantityError(f"point: {given!r} has no unit; write a flow, a frequency or a total, such as {examples}")
    if is_frequency(given):
        return as_written(given, "Hz", "frequency")
    return as_written(given, kind_of(given, ("m^3/s", "kg/s", "m^3", "kg"), name="flow"), "flow")
