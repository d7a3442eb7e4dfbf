"""The sheet from which pulses are injected into an indicator: flows, frequencies, totals, and low-fuel warnings."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any, ClassVar

from fuelunits.conversion import exact_amount, kind_of
from fuelunits.errors import QuantityError
from fuelunits.indicators.endurance import LowFuelByQuantity, LowFuelByTime
from fuelunits.indicators.settings import IndicatorSettings
from fuelunits.indicators.sheets import BenchPoint, Sheet, Source, listed, share_of
from fuelunits.indicators.written import as_written, coerce_text, written_ratio
from fuelunits.quantities import first_quantity, has_dimension, is_ratio, read_text
from fuelunits.reports import Report
from fuelunits.units import exact_factor
from fuelunits.validation import check_type, set_fields


@dataclass(frozen=True)
class Generator(Source):
    """A generator of pulses, whose steps and uncertainty enter the verdicts of a bench sheet.

    Attributes
    ----------
    step, uncertainty : str or pint.Quantity
        Its step, ``"0.1 Hz"``, and its standard uncertainty, ``"0.01 %"``: twice it counts, with half a step.

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
    threshold : LowFuelByTime or LowFuelByQuantity, as entered
    flow, usable : str or pint.Quantity, what is injected, and the usable fuel that the indicator starts from

    Examples
    --------
    >>> print(LowFuelPoint(LowFuelByTime("25 min"), "60 L/h", "90 L"))
    low fuel by time, 25 min, 60 L/h from 90 L
    """

    threshold: LowFuelByTime | LowFuelByQuantity
    flow: Any
    usable: Any

    def __post_init__(self) -> None:
        check_type(self.threshold, (LowFuelByTime, LowFuelByQuantity), "threshold", "LowFuelByTime('25 min')")
        units = {"flow": ("m^3/s", "kg/s"), "usable": ("m^3", "kg")}
        coerce_text(self, {name: kind_of(getattr(self, name), pair, name=name) for name, pair in units.items()})

    def __str__(self) -> str:
        return f"{self.threshold}, {self.flow} from {self.usable}"


@dataclass(frozen=True, repr=False)
class BenchSheet(Sheet):
    """Pulses to inject, readings to expect, and what was read; made by ``Indicator.bench_points``.

    Attributes
    ----------
    indicator, asked, tolerance, generator : the indicator under test, and the points and the others as they were given
    as_found, as_left : tuple of str or None, the readings before and after an adjustment; None for one not taken
    points : what to inject at each point, and the readings that are acceptable

    Examples
    --------
    >>> import fuelunits as fu
    >>> sheet = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h").bench_points(["60 L/h"], "2 %")
    >>> [(point.frequencies_hz, point.lowest, point.highest) for point in sheet.points]
    [((190.2,), 59.0, 61.0)]
    >>> sheet.filled(as_found=["62 L/h"], as_left=["60.5 L/h"])
    <BenchSheet: bench sheet, 11412 pulse/L, reading L/h, steps of 0.5 L/h: as found: reject; as left: accept>
    """

    indicator: IndicatorSettings
    asked: tuple[Any, ...]
    tolerance: Any
    generator: Generator | None = None

    def __post_init__(self) -> None:
        check_type(self.indicator, IndicatorSettings, "indicator", "an Indicator")
        first_quantity(self.asked, self.tolerance)
        if self.generator is not None:
            check_type(self.generator, Generator, "generator", "Generator(step='0.1 Hz', uncertainty='0.01 %')")
        tolerance = written_ratio(self.tolerance, self.indicator.reads, "tolerance")
        set_fields(self, asked=written_points(self.asked), tolerance=tolerance)
        self._set_points(map(self._point, self.asked))

    def _point(self, given: Any) -> BenchPoint:
        if isinstance(given, LowFuelPoint):
            return self._low_fuel(given)
        kinds = ("m^3/s", "kg/s", "Hz", "m^3", "kg")
        if not isinstance(given, tuple) and kind_of(given, kinds, name="point") in ("m^3", "kg"):
            return self._total(given)
        hz, parts, doubt = self._injected(given)
        flow = sum(parts, Fraction(0))
        words, reads = " / ".join(given) if isinstance(given, tuple) else given, self.indicator.reads
        allowed = share_of(self.tolerance, flow, reads)
        return BenchPoint(words, reads, flow, allowed, self.indicator.display, doubt, hz, parts=parts)

    def _injected(self, given: Any) -> tuple[tuple[float, ...], tuple[Fraction, ...], Fraction]:
        """Return the frequencies in Hz, the flow of each channel, and the allowance for it, in the unit read."""
        hz, per_hz, doubt = self.indicator.frequencies_for(given), self.indicator.flows_per_hz, Fraction(0)
        if self.generator is not None:
            hz = tuple(map(self.generator.display.reading, hz))
            doubt = sum(abs(flow) * self.generator.doubt(each) for each, flow in zip(hz, per_hz, strict=True)) + doubt
        parts = tuple(each * flow for each, flow in zip(hz, per_hz, strict=True))
        if sum(parts) < 0:
            injected = " and ".join(f"{float(each):.7g} Hz" for each in hz)  # a coarse generator rounds both
            raise QuantityError(f"flow: {given}, as {injected}; the return flow exceeds the feed flow")
        return tuple(map(float, hz)), parts, doubt

    def _total(self, given: str) -> BenchPoint:
        """Return a point by a total: whole pulses are injected, so no allowance is needed."""
        indicator = self.indicator
        if indicator.feed_less_return:
            raise QuantityError(f"point: {given}; feed less return is tested by two flows or frequencies")
        volume_unit, unit = indicator.k_factors[0].unit, indicator.total_unit
        share = self._amount(given, volume_unit, "point") / indicator.channels
        pulses = tuple(round(share * k.exact_per(volume_unit)) for k in indicator.k_factors)
        if not all(pulses):
            raise QuantityError(f"point: {given} is less than a pulse of each channel; inject more")
        parts = tuple(n * flow / self._per("s") for n, flow in zip(pulses, indicator.flows_per_hz, strict=True))
        total, display = sum(parts, Fraction(0)), indicator.total_display
        allowed = share_of(self.tolerance, total, unit)
        return BenchPoint(given, unit, total, allowed, display, pulses=pulses, parts=parts)

    def _low_fuel(self, given: LowFuelPoint) -> BenchPoint:
        """Return the fuel left at which a warning must come: by time it depends on the flow, so on the generator."""
        unit, display = self.indicator.total_unit, self.indicator.total_display
        hz, parts, doubt = self._injected(given.flow)
        per_minute, doubt = sum(parts, Fraction(0)) / self._per("min"), doubt / self._per("min")
        if doubt >= per_minute:
            raise QuantityError(f"flow: {given.flow} is no larger than its uncertainty; inject more")
        near = share_of(self.tolerance, per_minute, "") if is_ratio(self.tolerance) else Fraction(0)
        if (per_minute - doubt - near) * self._per("min") < self.indicator.display.cutoff:
            raise QuantityError(f"flow: {given.flow} may read 0, below the cutoff, and not be counted; inject more")
        minutes = kept = Fraction(0)
        if isinstance(given.threshold, LowFuelByTime):
            minutes = given.threshold.minutes
        else:
            kept = self._amount(given.threshold.quantity, unit, "threshold")
        left, start = kept + minutes * per_minute, self._amount(given.usable, unit, "usable")
        if left >= start:
            raise QuantityError(f"usable: {given.usable}; the warning comes at {float(left):.4g} {unit} already")
        ends = [float((start - kept) / (per_minute + each) - minutes) for each in dict.fromkeys((doubt, -doubt))]
        remark = f"the warning is expected after {' to '.join(dict.fromkeys(map('{:.1f}'.format, ends)))} min"
        parts = tuple(minutes * part / self._per("min") for part in parts)
        allowed = share_of(self.tolerance, left, unit)
        point = BenchPoint(str(given), unit, left, allowed, display, minutes * doubt, hz, remark=remark, parts=parts)
        if point.highest is not None and display.reading(start) <= point.highest:
            always = f"a warning that is always on would be accepted up to {point.highest:g} {unit}"
            raise QuantityError(f"usable: {given.usable}; {always}: start from more")
        return point

    def _amount(self, given: str, unit: str, name: str) -> Fraction:
        return exact_amount(given, unit, name=name, density=self.indicator.fixed_density)

    def _per(self, time: str) -> Fraction:
        """Return how many seconds or minutes the time of the unit read has: 3600 s for ``L/h``."""
        return exact_factor(self.indicator.reads.rpartition("/")[2], time)

    def _set(self, point: BenchPoint) -> tuple[dict[str, Any], dict[str, str]]:
        plainly = {"frequency_hz": list(point.frequencies_hz), "pulses": list(point.pulses)}
        if not point.frequencies_hz:
            return plainly, {"inject, pulses": " / ".join(map(str, dict.fromkeys(point.pulses)))}
        hertz = dict.fromkeys(point.frequencies_hz)
        cells = {"inject, Hz": " / ".join(f"{hz:.7g}" for hz in hertz)}
        if not (self.as_found or self.as_left or point.remark):
            cells["pulses/min"] = " / ".join(f"{hz * 60:.7g}" for hz in hertz)
        return plainly, cells

    def report(self) -> Report:
        several = (channels := self.indicator.channels) > 1 and not self.indicator.feed_less_return
        remarks = [f"inject into {'both' if channels == 2 else f'all {channels}'} channels at once"] * several
        alone = {injected for each in self.points if sum(injected := tuple(map(bool, each.frequencies_hz))) == 1}
        if several and len(alone) < channels - 1:  # the last is then known from a point of all
            remarks.append("Swapped inputs may pass where no point is of one channel alone: add a flow for each alone.")
        remarks.append("The K-factor entered is taken as right: no reading here proves that it is the transducer's.")
        facts = {"tolerance": self.tolerance, "generator": str(self.generator or "not stated, taken as exact")}
        return self._report(f"bench sheet, {self.indicator}", facts, remarks)


def written_points(points: Any) -> tuple[Any, ...]:
    """Return the points of a sheet as they are kept, or refuse anything that is not a list."""
    listed_points = listed(points, "flows", "['60 L/h', '100 Hz']")
    in_channels = [tuple(map(_written_flow, p)) if isinstance(p, (list, tuple)) else p for p in listed_points]
    return tuple(p if isinstance(p, (tuple, LowFuelPoint)) else _written_flow(p) for p in in_channels)


def _written_flow(given: Any) -> str:
    if isinstance(given, str) and not read_text(given)[1]:
        examples = f"'{given} gal/h', '{given} Hz' or '{given} gal'"
        raise QuantityError(f"point: {given!r} has no unit; write a flow, a frequency or a total, such as {examples}")
    if has_dimension(given, "Hz"):
        return as_written(given, "Hz", "frequency")
    return as_written(given, kind_of(given, ("m^3/s", "kg/s", "m^3", "kg"), name="flow"), "flow")
