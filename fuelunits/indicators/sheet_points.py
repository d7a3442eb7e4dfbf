"""How the points of a bench sheet are made: flows, frequencies, totals, and low-fuel warnings."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np

from fuelunits.amounts import exact_amount, exact_number, is_ratio, kind_of
from fuelunits.errors import QuantityError
from fuelunits.indicators.bench_points import BenchPoint
from fuelunits.indicators.low_fuel import LowFuelByQuantity, LowFuelByTime
from fuelunits.indicators.settings import IndicatorSettings
from fuelunits.indicators.written import as_written, exact_fraction, exact_hertz, is_frequency, written_fraction
from fuelunits.quantities import first_quantity, is_quantity
from fuelunits.units import exact_factor
from fuelunits.validation import check_type

__all__ = ["Generator", "LowFuelPoint", "point_of", "written_points"]

_KINDS = ("m^3/s", "kg/s", "Hz", "pulse/s", "m^3", "kg")


@dataclass(frozen=True)
class Generator:
    """A generator of pulses, whose steps and uncertainty enter the verdicts of a bench sheet.

    Attributes
    ----------
    step : str
        The step in which its frequency is set, such as ``"0.1 Hz"``.
    uncertainty : str
        Standard uncertainty of its frequency, such as ``"0.01 %"``; twice it counts, with half a step.

    Examples
    --------
    >>> Generator(step="0.1 Hz", uncertainty="0.01 %").doubt_hz(Fraction(100))
    Fraction(7, 100)
    """

    step: str
    uncertainty: str = "0 %"

    def __post_init__(self) -> None:
        first_quantity(self.step, self.uncertainty)
        if not exact_hertz(self.step, "step"):
            raise QuantityError(f"step must be positive, for example '0.1 Hz'; got {self.step}")
        object.__setattr__(self, "uncertainty", written_fraction(self.uncertainty, "uncertainty"))
        object.__setattr__(self, "step", as_written(self.step, "Hz", "step"))

    def set_hz(self, frequency_hz: Fraction) -> Fraction:
        """Return the nearest frequency that can be set, exactly, in Hz."""
        size = exact_hertz(self.step, "step")
        return (frequency_hz / size + Fraction(1, 2)) // 1 * size

    def doubt_hz(self, frequency_hz: Fraction) -> Fraction:
        """Return the doubt about a frequency that was set: ± half a step and twice the uncertainty, in Hz."""
        return exact_hertz(self.step, "step") / 2 + 2 * exact_fraction(self.uncertainty, "uncertainty") * frequency_hz


@dataclass(frozen=True)
class LowFuelPoint:
    """A point of a bench sheet at which a low-fuel warning must come.

    Attributes
    ----------
    threshold : LowFuelByTime or LowFuelByQuantity
        The threshold entered.
    flow : str
        The flow that is injected.
    usable : str
        The usable fuel that the indicator starts from.

    Examples
    --------
    >>> print(LowFuelPoint(LowFuelByTime("25 min"), "60 L/h", "90 L"))
    low fuel by time, 25 min, 60 L/h from 90 L
    """

    threshold: LowFuelByTime | LowFuelByQuantity
    flow: str
    usable: str

    def __post_init__(self) -> None:
        kinds = (LowFuelByTime, LowFuelByQuantity)
        check_type(self.threshold, kinds, "threshold", "LowFuelByTime('25 min')")
        first_quantity(self.flow, self.usable)
        for name, units in (("flow", ("m^3/s", "kg/s")), ("usable", ("m^3", "kg"))):
            given = getattr(self, name)
            object.__setattr__(self, name, as_written(given, kind_of(given, units, name=name), name))

    def __str__(self) -> str:
        return f"{self.threshold}, {self.flow} from {self.usable}"


def point_of(indicator: IndicatorSettings, given: Any, tolerance: str, generator: Generator | None) -> BenchPoint:
    """Return one point of a sheet, from what :func:`written_points` keeps."""
    if isinstance(given, LowFuelPoint):
        return _low_fuel(indicator, given, tolerance)
    if not isinstance(given, tuple) and kind_of(given, _KINDS, name="point") in ("m^3", "kg"):
        return _total(indicator, given, tolerance)
    return _flow(indicator, given, tolerance, generator)


def _flow(indicator: IndicatorSettings, given: Any, tolerance: str, generator: Generator | None) -> BenchPoint:
    hz = indicator.frequencies_for(given)
    doubt = Fraction(0)
    if generator is not None:
        hz = tuple(map(generator.set_hz, hz))
        parts = zip(hz, indicator.flows_per_hz, strict=True)
        doubt = sum((generator.doubt_hz(each) * abs(per_hz) for each, per_hz in parts), Fraction(0))
    flow = indicator.exact_flow(hz)
    if flow < 0:
        raise QuantityError(f"flow: {given}; the return flow exceeds the feed flow")
    return BenchPoint(
        " / ".join(given) if isinstance(given, tuple) else given,
        indicator.reads,
        tuple(map(float, hz)),
        (),
        flow,
        _allowed(tolerance, flow, indicator.reads),
        doubt,
        indicator.step,
        indicator.cutoff,
    )


def _total(indicator: IndicatorSettings, given: str, tolerance: str) -> BenchPoint:
    """Return a point by a total: whole pulses are injected, so nothing is in doubt."""
    if indicator.feed_less_return:
        raise QuantityError(f"point: {given}; feed less return is tested by two flows or frequencies")
    unit = indicator.k_factor.unit
    share = _amount(indicator, given, unit, "point") / indicator.channels
    pulses = tuple(round(share * k.exact_per(unit)) for k in indicator.k_factors)
    if not all(pulses):
        raise QuantityError(f"point: {given} is less than a pulse of each channel; inject more")
    total = indicator.exact_flow([Fraction(count) for count in pulses]) / _seconds(indicator)
    allowed = _allowed(tolerance, total, indicator.total_unit)
    return BenchPoint(
        given, indicator.total_unit, (), pulses, total, allowed, Fraction(0), indicator.total_step, Fraction(0)
    )


def _low_fuel(indicator: IndicatorSettings, given: LowFuelPoint, tolerance: str) -> BenchPoint:
    unit = indicator.total_unit
    hz = indicator.frequencies_for(given.flow)
    per_minute = indicator.exact_flow(hz) / _seconds(indicator) * 60
    if isinstance(given.threshold, LowFuelByTime):
        left = per_minute * given.threshold.minutes
    else:
        left = _amount(indicator, given.threshold.quantity, unit, "threshold")
    start = _amount(indicator, given.usable, unit, "usable")
    if not 0 < left < start:
        raise QuantityError(f"usable: {given.usable}; the warning comes at {float(left):.4g} {unit} already")
    remark = f"the warning is expected after {float((start - left) / per_minute):.1f} min"
    allowed = _allowed(tolerance, left, unit)
    return BenchPoint(
        str(given),
        unit,
        tuple(map(float, hz)),
        (),
        left,
        allowed,
        Fraction(0),
        indicator.total_step,
        Fraction(0),
        remark,
    )


def _amount(indicator: IndicatorSettings, given: str, unit: str, name: str) -> Fraction:
    return exact_amount(given, unit, name=name, density=indicator.fixed_density)


def _seconds(indicator: IndicatorSettings) -> Fraction:
    """Return the seconds in the time of the unit read: 3600 for ``L/h``."""
    return exact_factor("1/s", f"1/{indicator.reads.rpartition('/')[2]}")


def _allowed(tolerance: str, value: Fraction, unit: str) -> Fraction:
    """Return the tolerance in the unit of the reading."""
    if is_ratio(tolerance):
        return exact_fraction(tolerance, "tolerance") * value
    return exact_number(tolerance, unit, name="tolerance", zero=True)


def written_points(points: Any) -> tuple[Any, ...]:
    """Return the points of a sheet as they are kept, or refuse what is no list."""
    given = () if isinstance(points, str) or is_quantity(points) or not np.iterable(points) else tuple(points)
    if not given:
        raise QuantityError("flows: give a list of flows, such as ['60 L/h', '100 Hz']")
    return tuple(_written_point(each) for each in given)


def _written_point(given: Any) -> Any:
    if isinstance(given, LowFuelPoint):
        return given
    if isinstance(given, (list, tuple)):
        return tuple(_written_flow(each) for each in given)
    return _written_flow(given)


def _written_flow(given: Any) -> str:
    if is_frequency(given):
        return as_written(given, "Hz", "frequency")
    kind = kind_of(given, ("m^3/s", "kg/s", "m^3", "kg"), name="flow")
    return as_written(given, kind, "flow")
