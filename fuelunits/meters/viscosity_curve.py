"""K over frequency, viscosity and temperature: Strouhal over Roshko.

The K of a turbine transducer at a frequency changes with the viscosity of the liquid, and with the temperature of its
body. Plotted as Strouhal over Roshko number, runs in liquids of different viscosity fall nearly on one curve
[nist_turbine_meters], so a calibration with a bench liquid at 20 °C serves for cold jet fuel, as long as the Roshko
numbers that occur were calibrated. The scatter about that curve is part of the uncertainty.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import astuple, dataclass, field
from math import pi
from typing import Any, ClassVar

import numpy as np

from fuelunits.arrays import as_float, of_one_shape
from fuelunits.errors import QuantityError
from fuelunits.fuels.elementwise import elementwise
from fuelunits.meters.curve import MeterCurve
from fuelunits.meters.dimensionless import CommonCurve, StrouhalRun, reynolds, roshko
from fuelunits.meters.k_factor import KFactor
from fuelunits.meters.monotone import plain_float
from fuelunits.meters.points import CalibrationPoint
from fuelunits.pint_units import answer, first_quantity
from fuelunits.quantities import QuantityLike, fraction, positive
from fuelunits.quantities import temperature_c as celsius
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.uncertainty.budget import COVERAGE, student_t
from fuelunits.validation import carries_unit, check_types, coerce_fields, plain_number, positive_number

_L_PER_M3 = 1000.0
_M2_PER_MM2 = 1e-6
_BODY_TEMPERATURES_C = Range("temperature of the meter body", -273.15, 1000.0, "degC", "any meter body")
_BOUNDS = {
    "diameter_m": (1e-6, 10.0, "0.0127"),
    "reference_c": (_BODY_TEMPERATURES_C.low, _BODY_TEMPERATURES_C.high, "20.0"),
    "expansion_per_k": (0.0, 1e-3, "17e-6"),
    "known_scatter": (0.0, 1.0, "0.001 for 0.1 %"),
}
"""These bounds are common practice, from memory: only a wrong unit or a slip lies beyond."""
_CALIBRATION = "the calibrated points; a run in a liquid of another viscosity would widen it"


@dataclass(frozen=True, repr=False)
class ViscosityCurve(Reporting):
    """One curve of Strouhal over Roshko number, from runs in one or more liquids.

    Parameters
    ----------
    runs : sequence of MeterCurve
        Each the calibration in one liquid, every point with its own viscosity and temperature. The Roshko numbers of
        several runs must overlap: only there can they show that they agree.
    diameter_m : float
        D₀, the inner diameter at `reference_c`, m. K and flow do not depend on it.
    reference_c : float, T₀, the temperature at which the body has that diameter, °C
    expansion_per_k : float, α, linear expansion of the body's material, 1/K
    known_scatter : float or str, optional
        Relative standard deviation of a run from the common curve: ``"0.1 %"`` or 0.001. Several runs show it by
        themselves; for a single run it has to be given, 0.0 only for use in the very liquid of that run.

    Examples
    --------
    An invented meter, run in one bench liquid, then read in a thicker and colder one:

    >>> run = MeterCurve([
    ...     CalibrationPoint(hz, k, 0.0005, viscosity_mm2_s=1.2, temperature_c=20.0)
    ...     for hz, k in [(30.0, 10950.0), (100.0, 11250.0), (300.0, 11370.0), (1000.0, 11400.0)]
    ... ])
    >>> meter = ViscosityCurve([run], 0.0127, reference_c=20.0, expansion_per_k=17e-6, known_scatter=0.001)
    >>> round(meter.k_pulses_per_l(300.0, 1.2, 20.0), 1), round(meter.k_pulses_per_l(300.0, 2.4, -10.0), 1)
    (11370.0, 11324.7)
    >>> f"{meter.flow('300 Hz', '2.4 cSt', '-10 degC').m_as('L/h'):.2f}"
    '95.37'
    """

    runs: Sequence[MeterCurve]
    diameter_m: float
    reference_c: float
    expansion_per_k: float
    known_scatter: float | str | None = None
    _plain: ClassVar[tuple[str, ...]] = ("scatter",)
    _common: CommonCurve = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if isinstance(self.known_scatter, str) or carries_unit(self.known_scatter):
            object.__setattr__(self, "known_scatter", fraction(self.known_scatter, name="known_scatter"))
        coerce_fields(self, ("diameter_m", "reference_c", "expansion_per_k", "known_scatter"), plain_number)
        for name, (low, high, example) in _BOUNDS.items():
            value = getattr(self, name)
            if value is not None and not low <= value < high:
                raise QuantityError(f"{name} must be from {low:g} to {high:g}, for example {example}; got {value}")
        made = check_types(self.runs, MeterCurve, "runs", "MeterCurve")
        runs = tuple(sorted(made, key=lambda run: [(p.frequency_hz, p.k_pulses_per_l) for p in run.points]))
        common = CommonCurve.of([self.strouhal_run(run) for run in runs])
        if common.scatter is None and self.known_scatter is None:
            raise QuantityError(
                "a single run cannot show how well other liquids fall on its curve; give known_scatter, a "
                "relative standard deviation such as 0.001 (or 0.0 for use in this liquid only)"
            )
        object.__setattr__(self, "runs", runs)
        object.__setattr__(self, "_common", common)

    @classmethod
    def from_points(cls, points: Iterable[CalibrationPoint], diameter_m: float, **body: Any) -> ViscosityCurve:
        """Return the curve of points, of which those of equal viscosity and temperature make a run; see the class.

        Points whose temperature drifted during a run are put into a MeterCurve by hand instead.
        """
        liquids: dict[Any, list[CalibrationPoint]] = {}
        for point in check_types(points, CalibrationPoint, "points", "CalibrationPoint"):
            liquids.setdefault((point.viscosity_mm2_s, point.temperature_c), []).append(point)
        return cls([MeterCurve(points) for points in liquids.values()], diameter_m, **body)

    def strouhal_run(self, run: MeterCurve) -> StrouhalRun:
        """Return the points of a run as Strouhal over Roshko number."""
        lacking = [p for p in run.points if p.viscosity_mm2_s is None or p.temperature_c is None]
        if lacking:
            raise QuantityError(
                f"the calibration point at {lacking[0].frequency_hz:g} Hz lacks viscosity_mm2_s or temperature_c; "
                f"Strouhal over Roshko takes both, as they were while the meter ran"
            )
        hz, k, u, viscosity, temperature = np.array([astuple(point) for point in run.points]).T
        diameter = self.diameter_m_at(temperature)
        return StrouhalRun.through(roshko(hz, diameter, viscosity * _M2_PER_MM2), k * _L_PER_M3 * diameter**3, u)

    @property
    def scatter(self) -> float:
        """Relative standard deviation of a run from the common curve: as given, else as found."""
        known = self.known_scatter if self.known_scatter is not None else self._common.scatter
        return float(known or 0.0)

    @property
    def roshko_numbers(self) -> Range:
        """The calibrated Roshko numbers."""
        low, high = self._common.roshko[[0, -1]].tolist()
        return Range("Roshko number", low, high, "(f D²/ν)", _CALIBRATION)

    @property
    def reynolds_numbers(self) -> Range:
        """The Reynolds numbers at the ends of the calibration."""
        low, high = (4.0 / pi * np.exp(self._common.curve.ln_ratio[[0, -1]])).tolist()
        return Range("Reynolds number", low, high, "(4 q/(π D ν))", _CALIBRATION)

    def diameter_m_at(self, temperature_c: Any) -> Any:
        """Return the diameter of the body at a temperature, D₀ (1 + α (T − T₀)), m."""
        t = _BODY_TEMPERATURES_C.check(as_float(temperature_c))
        return self.diameter_m * (1.0 + self.expansion_per_k * (t - self.reference_c))

    def strouhal(self, roshko_number: Any, *, out_of_range: OnOutOfRange = "raise") -> Any:
        """Return the Strouhal number at a calibrated Roshko number."""
        curve, numbers = self._common.curve, self.roshko_numbers
        return elementwise(lambda number: curve.y(numbers.check(number, out_of_range)), roshko_number)

    def _over_roshko(
        self, formula: Callable[[Any, Any], Any], state: tuple[Any, ...], out_of_range: OnOutOfRange
    ) -> Any:
        """Return a formula of the Roshko number and the diameter, over frequency, viscosity and temperature."""

        def at(hz: Any, viscosity: Any, t: Any) -> Any:
            diameter = self.diameter_m_at(t)
            number = roshko(hz, diameter, viscosity * _M2_PER_MM2)
            return formula(self.roshko_numbers.check(number, out_of_range), diameter)

        return elementwise(at, *state)

    def k_pulses_per_l(
        self, frequency_hz: Any, viscosity_mm2_s: Any, temperature_c: Any, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return K at a frequency in a liquid, pulses per litre as it passes; floats or arrays, which broadcast.

        The kinematic viscosity is that at the temperature of liquid and body. Beyond the calibrated Roshko numbers, see
        :meth:`frequencies_hz`, OutOfRange is raised, or the answer is NaN.
        """
        state, y = (frequency_hz, viscosity_mm2_s, temperature_c), self._common.curve.y
        return self._over_roshko(lambda number, diameter: y(number) / (_L_PER_M3 * diameter**3), state, out_of_range)

    def flow_l_s(
        self, frequency_hz: Any, viscosity_mm2_s: Any, temperature_c: Any, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the flow at a frequency, f/K, L/s; arguments and errors as for :meth:`k_pulses_per_l`."""
        k = self.k_pulses_per_l(frequency_hz, viscosity_mm2_s, temperature_c, out_of_range=out_of_range)
        return as_float(frequency_hz) / k

    def frequency_hz(
        self, flow_l_s: Any, viscosity_mm2_s: Any, temperature_c: Any, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Find the frequency of a flow in L/s, Hz, within 1e-12: the inverse of :meth:`flow_l_s`.

        Roshko over Strouhal is π/4 times Reynolds, which the flow alone gives.
        """

        def hz(flow: Any, viscosity: Any, t: Any) -> Any:
            number = reynolds(flow / _L_PER_M3, self.diameter_m_at(t), viscosity * _M2_PER_MM2)
            ratio = pi / 4.0 * self.reynolds_numbers.check(number, out_of_range)
            return self._common.curve.x_of_ratio(ratio) * self._hz_per_roshko(viscosity, t)

        return elementwise(hz, flow_l_s, viscosity_mm2_s, temperature_c)

    @of_one_shape("viscosity_mm2_s and temperature_c")
    def _hz_per_roshko(self, viscosity_mm2_s: Any, temperature_c: Any) -> Any:
        return as_float(viscosity_mm2_s) * _M2_PER_MM2 / self.diameter_m_at(temperature_c) ** 2

    def frequencies_hz(self, viscosity_mm2_s: Any, temperature_c: Any) -> tuple[Any, Any]:
        """Return the lowest and highest frequency that are calibrated for a liquid at a temperature, Hz."""
        per_roshko = self._hz_per_roshko(viscosity_mm2_s, temperature_c)
        return self.roshko_numbers.low * per_roshko, self.roshko_numbers.high * per_roshko

    def relative_uncertainty(
        self, frequency_hz: Any, viscosity_mm2_s: Any, temperature_c: Any, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the standard uncertainty of K, and of the flow, as a fraction: that of the points and :attr:`scatter`.

        That of the viscosity given is not in it: multiply it by :meth:`viscosity_sensitivity`. For 95.45 %, a scatter
        that two runs show takes about 14 times it, of three 4.5 times, and not twice.
        """
        state = frequency_hz, viscosity_mm2_s, temperature_c
        return self._over_roshko(lambda number, _: self.uncertainty_at_roshko(number), state, out_of_range)

    def uncertainty_at_roshko(self, roshko_number: Any) -> Any:
        """Return the standard uncertainty of K at a calibrated Roshko number, as a fraction."""
        return plain_float(np.hypot(self._common.uncertainty(roshko_number), self.scatter))

    def viscosity_sensitivity(
        self, frequency_hz: Any, viscosity_mm2_s: Any, temperature_c: Any, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return by what fraction K changes for a fraction of viscosity, d ln K / d ln ν, at a frequency."""
        state, slope = (frequency_hz, viscosity_mm2_s, temperature_c), self._common.curve.slope
        return self._over_roshko(lambda number, _: -slope(number), state, out_of_range)

    def meter_curve(self, viscosity_mm2_s: float, temperature_c: float) -> MeterCurve:
        """Return the curve of K over frequency in one liquid, through the points of the common curve, with scatter."""
        viscosity_mm2_s = positive_number(viscosity_mm2_s, "viscosity_mm2_s", example=1.2)
        if viscosity_mm2_s > 1e9:
            raise QuantityError(f"viscosity_mm2_s must be at most 1e9 mm²/s; got {viscosity_mm2_s:g}")
        temperature_c = plain_number(temperature_c, "temperature_c")
        numbers = self._common.roshko
        frequencies = numbers * self._hz_per_roshko(viscosity_mm2_s, temperature_c)
        k = self._common.strouhal / (_L_PER_M3 * self.diameter_m_at(temperature_c) ** 3)
        rows = np.column_stack([frequencies, k, self.uncertainty_at_roshko(numbers)]).tolist()
        return MeterCurve([CalibrationPoint(hz, k, u, viscosity_mm2_s, temperature_c) for hz, k, u in rows])

    def in_liquid(self, viscosity: QuantityLike, temperature: QuantityLike) -> MeterCurve:
        """Return :meth:`meter_curve` for a viscosity such as ``"4.5 cSt"`` and a temperature such as ``"-20 degC"``."""
        first_quantity(viscosity, temperature)
        return self.meter_curve(*_liquid(viscosity, temperature))

    def k_factor(self, frequency: QuantityLike, viscosity: QuantityLike, temperature: QuantityLike) -> KFactor:
        """Return K at a frequency, viscosity and temperature, such as ``"99.8 Hz"``, as a K-factor."""
        first_quantity(frequency, viscosity, temperature)
        return self.in_liquid(viscosity, temperature).k_factor(frequency)

    def flow(self, frequency: QuantityLike, viscosity: QuantityLike, temperature: QuantityLike) -> Any:
        """Return the flow at a frequency such as ``"99.8 Hz"``, as a quantity in L/h."""
        like = first_quantity(frequency, viscosity, temperature)
        flow = self.flow_l_s(positive(frequency, "Hz", name="frequency", zero=True), *_liquid(viscosity, temperature))
        return answer(3600.0 * flow, "L/h", like)

    def frequency(self, flow: QuantityLike, viscosity: QuantityLike, temperature: QuantityLike) -> Any:
        """Find the frequency of a flow such as ``"31.5 L/h"``, as a quantity in Hz."""
        l_s = positive(flow, "L/s", name="flow", zero=True)
        like = first_quantity(flow, viscosity, temperature)
        return answer(self.frequency_hz(l_s, *_liquid(viscosity, temperature)), "Hz", like)

    def report(self) -> Report:
        """Return the runs with their points, the scatter and the calibrated range."""
        known = "as given" if self.known_scatter is not None else "from the runs"
        facts = {
            "body": f"{1000.0 * self.diameter_m:.5g} mm at {self.reference_c:.4g} °C",
            "scatter of a run": f"{format_percent(self.scatter)} (standard deviation, {known})",
            "Roshko numbers": f"{self.roshko_numbers.low:.4g} to {self.roshko_numbers.high:.4g}",
        }
        tables = [Table.of([point.cells() for point in run.points]) for run in self.runs]
        runs, remarks = len(self.runs), []
        if self.known_scatter is None and runs < 10:
            times = f"about {student_t(COVERAGE, runs - 1):.1f} times"
            remarks.append(f"The scatter is estimated from {runs} runs: {times} it, not twice, covers 95.45 %.")
        return Report(f"Strouhal over Roshko number, runs: {runs}", facts=facts, tables=tables, remarks=remarks)

    def rows(self) -> list[CalibrationPoint]:
        """Return the points of all runs."""
        return [point for run in self.runs for point in run.points]


def _liquid(viscosity: Any, temperature: Any) -> tuple[Any, Any]:
    return positive(viscosity, "mm^2/s", name="viscosity"), celsius(temperature)
