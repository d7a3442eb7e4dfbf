"""The sheet from which a technician injects pulses into an indicator, with the readings as found and as left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fuelunits.indicators.bench_points import BenchPoint
from fuelunits.indicators.settings import IndicatorSettings
from fuelunits.indicators.sheet import Sheet
from fuelunits.indicators.sheet_points import Generator, LowFuelPoint, point_of, written_points
from fuelunits.indicators.written import set_fields, written_ratio
from fuelunits.quantities import first_quantity
from fuelunits.reports import Report
from fuelunits.validation import check_type

__all__ = ["BenchSheet", "Generator", "LowFuelPoint"]


@dataclass(frozen=True, repr=False)
class BenchSheet(Sheet):
    """Pulses to inject, readings to expect, and what was read; made by ``Indicator.bench_points``.

    Attributes
    ----------
    indicator, asked, tolerance, generator
        The indicator under test, and the points, tolerance and generator as they were given.
    as_found, as_left : tuple of str or None
        The readings before and after an adjustment, one for each point; None for one not taken.

    Examples
    --------
    >>> import fuelunits as fu
    >>> sheet = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h").bench_points(["60 L/h"], "2 %")
    >>> [(point.frequency_hz, point.lowest, point.highest) for point in sheet.points]
    [(190.2, 59.0, 61.0)]
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
        self._check_readings()

    def _points(self) -> tuple[BenchPoint, ...]:
        return tuple(point_of(self.indicator, each, self.tolerance, self.generator) for each in self.asked)

    def _set(self, point: BenchPoint) -> dict[str, Any]:
        return {"frequency_hz": list(point.frequencies_hz), "pulses": list(point.pulses)}

    def _set_cells(self, point: BenchPoint) -> dict[str, str]:
        if not point.frequencies_hz:
            return {"inject, pulses": " / ".join(map(str, dict.fromkeys(point.pulses)))}
        hertz = dict.fromkeys(point.frequencies_hz)
        cells = {"inject, Hz": " / ".join(f"{hz:.7g}" for hz in hertz)}
        if not (self.as_found or self.as_left or point.remark):
            cells["pulses/min"] = " / ".join(f"{hz * 60:.7g}" for hz in hertz)
        return cells

    def report(self) -> Report:
        """Return the sheet, with boxes where nothing was filled in."""
        channels = self.indicator.channels
        several = channels > 1 and not self.indicator.feed_less_return
        remarks = [f"inject into {'both' if channels == 2 else f'all {channels}'} channels at once"] * several
        remarks.append("The K-factor entered is taken as right: no reading here shows that it is the transducer's.")
        facts = {"tolerance": self.tolerance, "generator": self.generator and str(self.generator)}
        return self._report(f"bench sheet, {self.indicator}", facts, remarks)
