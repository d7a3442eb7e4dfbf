"""K over frequency: the curve of a transducer in the liquid in which it was calibrated.

A transducer's K is not constant. A calibration gives it at some frequencies; between them the curve of
:mod:`fuelunits.meters.monotone` is laid over the logarithm of frequency. Outside the calibrated frequencies there is
no answer. For a liquid of another viscosity or temperature see :mod:`fuelunits.meters.viscosity_curve`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

import numpy as np

from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.elementwise import elementwise
from fuelunits.meters.k_factor import KFactor
from fuelunits.meters.monotone import MonotoneCurve
from fuelunits.meters.points import CalibrationPoint, linearity, mean_k
from fuelunits.pint_units import answer
from fuelunits.quantities import QuantityLike, positive
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.validation import check_types, plain_number

_CALIBRATION = "the calibrated points; calibrate further points rather than extend the curve"


@dataclass(frozen=True, repr=False)
class MeterCurve(Reporting):
    """K over frequency, through the points of one calibration in one liquid.

    Parameters
    ----------
    points : BenchResult or sequence of CalibrationPoint
        At least two points, each at a frequency of its own; kept by rising frequency. The flow f/K has to rise all
        along the curve.

    Examples
    --------
    An invented meter:

    >>> curve = MeterCurve([
    ...     CalibrationPoint(10.0, 11250.0, 0.0005),
    ...     CalibrationPoint(100.0, 11430.0, 0.0005),
    ...     CalibrationPoint(1000.0, 11400.0, 0.0005),
    ... ])
    >>> round(curve.k_pulses_per_l(50.0), 2), curve.mean_k_pulses_per_l, round(curve.linearity, 5)
    (11408.94, 11340.0, 0.00794)
    >>> curve.usable_range_hz(0.002)
    (100.0, 1000.0)
    >>> f"{curve.flow('50 Hz').m_as('L/h'):.4f}", f"{curve.frequency('15.7771 L/h').m_as('Hz'):.3f}"
    ('15.7771', '50.000')
    """

    points: Sequence[CalibrationPoint]
    _curve: MonotoneCurve = field(init=False, repr=False, compare=False)
    _plain: ClassVar[tuple[str, ...]] = ("mean_k_pulses_per_l", "linearity")

    def __post_init__(self) -> None:
        given: Any = self.points
        made = check_types(
            given.points() if hasattr(given, "points") else given, CalibrationPoint, "points", "CalibrationPoint"
        )
        points = tuple(sorted(made, key=lambda point: point.frequency_hz))
        hz = [point.frequency_hz for point in points]
        object.__setattr__(self, "points", points)
        object.__setattr__(self, "_curve", MonotoneCurve.through(hz, self._k, name="frequency in Hz"))

    @property
    def _k(self) -> list[float]:
        return [point.k_pulses_per_l for point in self.points]

    @property
    def mean_k_pulses_per_l(self) -> float:
        """Mean K of the points, as :func:`mean_k` defines it, pulses per litre."""
        return mean_k(self._k)

    @property
    def linearity(self) -> float:
        """Linearity over all points, as :func:`linearity` defines it, a fraction."""
        return linearity(self._k)

    @property
    def frequencies_hz(self) -> Range:
        """The calibrated frequencies, Hz."""
        return Range("frequency", self.points[0].frequency_hz, self.points[-1].frequency_hz, "Hz", _CALIBRATION)

    @property
    def flows_l_s(self) -> Range:
        """The calibrated flows, L/s."""
        return Range("flow", self.points[0].flow_l_s, self.points[-1].flow_l_s, "L/s", _CALIBRATION)

    def usable_range_hz(self, linearity: float) -> tuple[float, float]:
        """Find the range of calibrated frequencies, Hz, widest by ratio, that meets a linearity (0.005 for ±0.5 %).

        Each range has a mean K of its own.
        """
        linearity = plain_number(linearity, "linearity")
        if not 0.0 <= linearity <= 1.0:
            raise QuantityError(f"linearity must be from 0 to 1, for example 0.005 for ±0.5 %; got {linearity}")
        k, hz = np.array(self._k), np.array([point.frequency_hz for point in self.points])
        ranges = []
        for first in range(len(k)):
            low, high = np.minimum.accumulate(k[first:]), np.maximum.accumulate(k[first:])
            met = high - low <= linearity * (high + low) * (1.0 + 1e-12)
            ranges.append((float(hz[first]), float(hz[first:][met][-1])))
        best = max(ranges, key=lambda ends: ends[1] / ends[0])
        if best[0] == best[1]:
            raise FuelUnitsError(
                f"no two neighbouring points agree within ±{format_percent(linearity)}; "
                f"over all points the linearity is ±{format_percent(self.linearity)}"
            )
        return best

    def k_pulses_per_l(self, frequency_hz: Any, *, out_of_range: OnOutOfRange = "raise") -> Any:
        """Return K at a frequency in Hz or an array, pulses per litre; OutOfRange, or NaN, beyond the points."""
        return self._over(self._curve.y, frequency_hz, out_of_range)

    def flow_l_s(self, frequency_hz: Any, *, out_of_range: OnOutOfRange = "raise") -> Any:
        """Return the flow at a frequency, f/K, L/s; arguments and errors as for :meth:`k_pulses_per_l`."""
        return self._over(lambda hz: hz / self._curve.y(hz), frequency_hz, out_of_range)

    def frequency_hz(self, flow_l_s: Any, *, out_of_range: OnOutOfRange = "raise") -> Any:
        """Find the frequency of a flow in L/s, Hz, within 1e-12: the inverse of :meth:`flow_l_s`."""
        return elementwise(lambda flow: self._curve.x_of_ratio(self.flows_l_s.check(flow, out_of_range)), flow_l_s)

    def relative_uncertainty(self, frequency_hz: Any, *, out_of_range: OnOutOfRange = "raise") -> Any:
        """Return the standard uncertainty of K, and of the flow, as a fraction.

        Straight over log frequency between the points, which share one bench: two of them are no better than one.
        What K does between the points is not in it.
        """
        known = [point.relative_uncertainty for point in self.points]
        return self._over(lambda hz: self._curve.straight(hz, known), frequency_hz, out_of_range)

    def _over(self, formula: Callable[[Any], Any], frequency_hz: Any, out_of_range: OnOutOfRange) -> Any:
        return elementwise(lambda hz: formula(self.frequencies_hz.check(hz, out_of_range)), frequency_hz)

    def k_factor(self, frequency: QuantityLike) -> KFactor:
        """Return K at one frequency, such as ``"99.8 Hz"``, as a K-factor."""
        hz = positive(frequency, "Hz", name="frequency", zero=True)
        return KFactor(self.k_pulses_per_l(hz), per="L", insist=True)

    def flow(self, frequency: QuantityLike) -> Any:
        """Return the flow at a frequency such as ``"99.8 Hz"``, as a quantity in L/h."""
        hz = positive(frequency, "Hz", name="frequency", zero=True)
        return answer(3600.0 * self.flow_l_s(hz), "L/h", frequency)

    def frequency(self, flow: QuantityLike) -> Any:
        """Find the frequency of a flow such as ``"31.5 L/h"``, as a quantity in Hz."""
        return answer(self.frequency_hz(positive(flow, "L/s", name="flow", zero=True)), "Hz", flow)

    def report(self) -> Report:
        """Return the points, mean K and linearity."""
        low, high = self.frequencies_hz.low, self.frequencies_hz.high
        facts = {"points": len(self.points), "calibrated": f"{low:.5g} Hz to {high:.5g} Hz"}
        figures = f"{self.mean_k_pulses_per_l:.7g} pulse/L, linearity ±{format_percent(self.linearity)}"
        title = f"K over frequency, mean K {figures}"
        return Report(title, facts=facts, tables=[Table.of([point.cells() for point in self.points])])

    def rows(self) -> Sequence[CalibrationPoint]:
        """Return the points."""
        return self.points
