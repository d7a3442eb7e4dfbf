"""K over frequency, viscosity and temperature: Strouhal over Roshko.

Plotted as Strouhal over Roshko number, runs of a turbine transducer in liquids of different viscosity fall nearly on
one curve [nist_turbine_meters], so a calibration with a bench liquid at 20 °C serves for cold jet fuel, as long as the
Roshko numbers that occur were calibrated. The scatter about that curve is part of the uncertainty.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass, field
from itertools import pairwise, permutations
from typing import Any

import numpy as np

from fuelunits import validation
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.elementwise import elementwise
from fuelunits.meters.curve import ONE_VISCOSITY, SAME, UNLIKE, CalibrationPoint, MeterCurve, MonotoneCurve, plain_float
from fuelunits.quantities import first_quantity, fraction, in_unit, positive_in_unit
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.uncertainty.budget import COVERAGE, student_t
from fuelunits.validation import as_float, positive_floats

_WARMTH_C = 5.0  # °C, in which a liquid thickens by a fifth at most, or by its mm²/s as cold to a power, up to twice:
_POWER = 0.125  # a choice; of 214 liquids of CoolProp none but one well below its freezing point thickens by more
_L_PER_M3 = 1000.0
_M2_PER_MM2 = 1e-6
_BODY_TEMPERATURES_C = Range("temperature of the meter body", -273.15, 1000.0, "degC", "any meter body")
# these bounds are common practice, from memory: only a wrong unit or a slip lies beyond
_BOUNDS = {
    "diameter_m": (1e-6, 10.0, "0.0127"),
    "reference_c": (_BODY_TEMPERATURES_C.low, _BODY_TEMPERATURES_C.high, "20.0"),
    "expansion_per_k": (0.0, 4e-5, "17e-6 of steel, linear and not cubic"),
    "known_scatter": (0.0, 1.0, "0.001 for 0.1 %"),
}


def strouhal(frequency_hz: Any, diameter_m: Any, flow_m3_s: Any) -> Any:
    """Return the Strouhal number f D³/q, f L/V of [fluids_strouhal], which is K D³ with K in pulses per m³."""
    volume = positive_floats(diameter_m, "diameter_m") ** 3
    return as_float(frequency_hz) * volume / positive_floats(flow_m3_s, "flow_m3_s")


def roshko(frequency_hz: Any, diameter_m: Any, viscosity_m2_s: Any) -> Any:
    """Return the Roshko number f D²/ν."""
    area = positive_floats(diameter_m, "diameter_m") ** 2
    return as_float(frequency_hz) * area / positive_floats(viscosity_m2_s, "viscosity_m2_s")


def _weights(runs: Sequence[MonotoneCurve], roshko: Any) -> Any:
    """Return the weight of each run in the mean, by its distance in log Roshko from its end, so without steps."""
    inside = np.array([np.minimum(np.log(roshko / run.x[0]), np.log(run.x[-1] / roshko)) for run in runs])
    weights = np.where(inside < -SAME, 0.0, np.maximum(inside, SAME))
    return weights / weights.sum(axis=0)


def _liquids(runs: Sequence[MeterCurve]) -> Any:
    """Return the number of the liquid of each run: as few liquids as it may be, by how far the cold may thicken one."""
    nu, t = np.array([astuple(run.points[0])[3:] for run in runs]).T
    per_step = np.clip(nu[:, None] ** _POWER, ONE_VISCOSITY, 2.0)
    apart = nu[:, None] > nu * ONE_VISCOSITY * per_step ** (np.maximum(t - t[:, None], 0.0) / _WARMTH_C)
    numbers = np.full(len(runs), -1)
    for each in np.argsort(nu):
        numbers[each] = next(n for n in range(len(runs)) if not np.any((apart | apart.T)[each, numbers == n]))
    return numbers


def _common_curve(runs: Sequence[MonotoneCurve]) -> MonotoneCurve:
    """Return the mean of runs that overlap, at every Roshko number at which there is a point."""
    if not runs or any(len(run.x) < 3 for run in runs):
        raise FuelUnitsError("at least one run of three points is needed: two do not show how K bends between them")
    reach = -np.inf
    for run, following in pairwise(sorted(runs, key=lambda run: float(run.x[0]))):
        reach = max(reach, float(run.x[-1]))
        if following.x[0] >= reach:
            gap = f"no run covers the Roshko numbers from {reach:g} to {following.x[0]:g}"
            raise FuelUnitsError(f"{gap}, and runs must overlap: take more points there, or make two curves")
    numbers = np.sort(np.concatenate([run.x for run in runs]))
    numbers = numbers[np.append(True, np.diff(np.log(numbers)) > SAME)]
    mean = np.sum(_weights(runs, numbers) * [run.at(numbers) for run in runs], axis=0)
    return MonotoneCurve.through(numbers, mean, name="Roshko number")


@dataclass(frozen=True, repr=False)
class ViscosityCurve(Reporting):
    """One curve of Strouhal over Roshko number, from runs in one or more liquids.

    Parameters
    ----------
    runs : sequence of MeterCurve, each in one liquid, all points with viscosity and temperature; Roshko numbers overlap
    diameter_m : float, D₀, the inner diameter at `reference_c`, m; K and flow do not depend on it
    reference_c : float, T₀, the temperature at which the body has that diameter, °C
    expansion_per_k : float, α, linear expansion of the body's material, a third of its cubic one, 1/K
    known_scatter : float or str, optional, relative standard deviation of a run from the curve: ``"0.1 %"`` or 0.001
        Runs show it, and the larger counts. For one liquid it has to be given, 0.0 only for use in that very one: for
        viscosities within a fifth, and a fifth more for each 5 °C that the thicker is colder.

    Examples
    --------
    >>> found = [(30.0, 10950.0), (100.0, 11250.0), (300.0, 11370.0), (1000.0, 11400.0)]
    >>> run = MeterCurve([CalibrationPoint(hz, k, 0.0005, viscosity_mm2_s=1.2, temperature_c=20.0) for hz, k in found])
    >>> meter = ViscosityCurve([run], 0.0127, reference_c=20.0, expansion_per_k=17e-6, known_scatter=0.001)
    >>> round(meter.k_pulses_per_l(300.0, 1.2, 20.0), 1), round(meter.k_pulses_per_l(300.0, 2.4, -10.0), 1)
    (11370.0, 11324.7)
    >>> f"{meter.meter_curve('2.4 cSt', '-10 degC').flow('300 Hz').m_as('L/h'):.2f}"
    '95.37'
    """

    runs: Sequence[MeterCurve]
    diameter_m: float
    reference_c: float
    expansion_per_k: float
    known_scatter: float | str | None = None
    _strouhal_runs: list[MonotoneCurve] = field(init=False, repr=False, compare=False)
    _common: MonotoneCurve = field(init=False, repr=False, compare=False)
    _liquids: Any = field(init=False, repr=False, compare=False)
    scatter: float = field(init=False, compare=False)
    _times: float = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if isinstance(self.known_scatter, str) or validation.carries_unit(self.known_scatter):
            validation.set_fields(self, known_scatter=fraction(self.known_scatter, name="known_scatter"))
        validation.coerce_fields(self, _BOUNDS, validation.plain_number)
        for name, (low, high, example) in _BOUNDS.items():
            value = getattr(self, name)
            if value is not None and not low <= value < high:
                raise QuantityError(f"{name} must be from {low:g} to {high:g}, for example {example}; got {value}")
        made = validation.check_types(self.runs, MeterCurve, "runs", "MeterCurve")
        runs = tuple(sorted(made, key=lambda run: [(p.frequency_hz, p.k_pulses_per_l) for p in run.points]))
        strouhal_runs = [self.strouhal_run(run) for run in runs]
        validation.set_fields(self, runs=runs, _strouhal_runs=strouhal_runs, _common=_common_curve(strouhal_runs))
        self._set_scatter(_liquids(runs))

    @classmethod
    def from_points(cls, points: Iterable[CalibrationPoint], diameter_m: float, **body: Any) -> ViscosityCurve:
        """Return the curve of points, of which those of equal viscosity and temperature make a run; see the class."""
        liquids: dict[Any, list[CalibrationPoint]] = {}
        for point in validation.check_types(points, CalibrationPoint, "points", "CalibrationPoint"):
            liquids.setdefault((point.viscosity_mm2_s, point.temperature_c), []).append(point)
        return cls([MeterCurve(points) for points in liquids.values()], diameter_m, **body)

    def strouhal_run(self, run: MeterCurve) -> MonotoneCurve:
        """Return the points of a run as Strouhal over Roshko number."""
        if lacking := [p for p in run.points if p.viscosity_mm2_s is None or p.temperature_c is None]:
            where = f"the calibration point at {lacking[0].frequency_hz:g} Hz"
            raise QuantityError(f"{where} lacks viscosity_mm2_s or temperature_c, as it was while the meter ran")
        hz, k, u, viscosity, temperature = np.array([astuple(point) for point in run.points]).T
        diameter = self.diameter_m_at(temperature)
        numbers = roshko(hz, diameter, viscosity * _M2_PER_MM2)
        return MonotoneCurve.through(numbers, k * _L_PER_M3 * diameter**3, u, name="Roshko number")

    def _set_scatter(self, numbers: Any) -> None:
        """Take the larger of the scatter given and found, and by how much it counts, so that twice it covers 95.45 %.

        It is found, s, from points against curves in other liquids, which differ by s√2; in one, beyond what is stated.
        """
        count, given, runs, found = len(set(numbers)), self.known_scatter, self._strouhal_runs, [np.zeros(0)]
        least, liquids = -1.0 if given is None else float(given), numbers
        if count == 1:
            if given is None:
                one = "runs that may be in one liquid, warm and cool, cannot show how others fall on their curve"
                raise QuantityError(f"{one}; give known_scatter, such as 0.001; 0.0 for use in that liquid only")
            numbers, count = np.arange(len(runs)), len(runs)
            least = UNLIKE * float(np.hypot(least, np.sqrt(np.mean(np.concatenate([run.u for run in runs]) ** 2))))
        for (run, one), (other, two) in permutations(zip(runs, numbers, strict=True), 2):
            shared = (run.x >= other.x[0]) & (run.x <= other.x[-1]) & (one != two)
            found.append(run.y[shared] / other.at(run.x[shared]) - 1.0)
        s = float(np.sqrt(np.mean(np.concatenate(found) ** 2) / 2.0)) if count > 1 else 0.0
        scatter, times = (s, student_t(COVERAGE, count - 1) / 2.0) if s > least else (float(given or 0.0), 1.0)
        validation.set_fields(self, scatter=scatter, _times=times, _liquids=liquids)

    @property
    def body(self) -> str:
        """The inner diameter of the body and its linear expansion, as text, and that a scatter of 0 is given."""
        diameter = f"{1000.0 * self.diameter_m:.5g} mm at {self.reference_c:.4g} °C"
        is_one_liquid = self.known_scatter == self.scatter == 0.0
        only = "; a scatter of 0 is given: u is that in the liquid of the runs only" * is_one_liquid
        return f"{diameter}, linear expansion {self.expansion_per_k:.4g} 1/K{only}"

    @property
    def roshko_numbers(self) -> Range:
        """The calibrated Roshko numbers."""
        source = "the calibrated points; a run in a liquid of another viscosity would widen it"
        return Range("Roshko number", float(self._common.x[0]), float(self._common.x[-1]), "(f D²/ν)", source)

    def diameter_m_at(self, temperature_c: Any) -> Any:
        """Return the diameter of the body at a temperature, D₀ (1 + α (T − T₀)), m."""
        t = _BODY_TEMPERATURES_C.check(as_float(temperature_c))
        return self.diameter_m * (1.0 + self.expansion_per_k * (t - self.reference_c))

    def strouhal(self, roshko_number: Any) -> Any:
        """Return the Strouhal number at a calibrated Roshko number."""
        return elementwise(lambda number: self._common.at(self.roshko_numbers.check(number)), roshko_number)

    def k_pulses_per_l(
        self, frequency_hz: Any, viscosity_mm2_s: Any, temperature_c: Any, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return K at a frequency, viscosity and temperature, pulse/L; OutOfRange or NaN beyond the Roshko numbers."""

        def k(hz: Any, viscosity: Any, t: Any) -> Any:
            diameter = self.diameter_m_at(t)
            number = roshko(hz, diameter, viscosity * _M2_PER_MM2)
            return self._common.at(self.roshko_numbers.check(number, out_of_range)) / (_L_PER_M3 * diameter**3)

        return elementwise(k, frequency_hz, viscosity_mm2_s, temperature_c)

    def uncertainty_at_roshko(self, roshko_number: Any) -> Any:
        """Return u of K at a calibrated Roshko number, a fraction: of runs and their scatter; 2 u covers 95.45 %.

        The scatter counts for the liquid in use and, by weight, for each of the runs: by √2 where one liquid was run;
        that which runs show by half Student's t, 7.0 of two and 2.3 of three.
        """
        weights = _weights(self._strouhal_runs, self.roshko_numbers.check(number := as_float(roshko_number)))
        of_runs = [run.uncertainty(number) for run in self._strouhal_runs]  # not divided: they share one bench
        of_liquids = np.tensordot(self._liquids == self._liquids[:, None], weights, 1)
        scatter = self._times * self.scatter * np.sqrt(1.0 + np.sum(weights * of_liquids, axis=0))
        return plain_float(np.hypot(np.sum(weights * of_runs, axis=0), scatter))

    def meter_curve(self, viscosity_mm2_s: Any, temperature_c: Any) -> MeterCurve:
        """Return the curve of K over frequency in one liquid, of mm²/s and °C or text: ``"4.5 cSt", "-20 degC"``."""
        first_quantity(viscosity_mm2_s, temperature_c)
        viscosity = positive_in_unit(viscosity_mm2_s, "mm^2/s", "viscosity_mm2_s")
        if viscosity > 1e9:
            raise QuantityError(f"viscosity_mm2_s must be at most 1e9 mm²/s; got {viscosity:g}")
        t = validation.plain_number(in_unit(temperature_c, "degC", "temperature_c"), "temperature_c")
        numbers, diameter = self._common.x, self.diameter_m_at(t)
        hz, k = numbers * viscosity * _M2_PER_MM2 / diameter**2, self._common.y / (_L_PER_M3 * diameter**3)
        # at a point of one run the others are between theirs: u there is the largest as far as half way to the next
        half_way = np.concatenate([numbers[:1], np.sqrt(numbers[1:] * numbers[:-1]), numbers[-1:]])
        around = self.uncertainty_at_roshko(half_way)
        u = np.maximum(self.uncertainty_at_roshko(numbers), np.maximum(around[1:], around[:-1]))
        points = [CalibrationPoint(f, k, u, viscosity, t) for f, k, u in np.column_stack([hz, k, u]).tolist()]
        return MeterCurve(points, f"K is converted from the liquids of the calibration; body: {self.body}.")

    def report(self) -> Report:
        origin = "as given;" if self.scatter == self.known_scatter else f"from the runs; {self._times:.1f} times"
        facts = {
            "body": self.body,
            "scatter of a run": f"{format_percent(self.scatter)} (standard deviation, {origin} that of each in u)",
            "liquids that can be told apart": len(set(self._liquids)),
            "Roshko numbers": f"{self.roshko_numbers.low:.4g} to {self.roshko_numbers.high:.4g}",
        }
        tables = [Table.of([point.cells() for point in run.points]) for run in self.runs]
        return Report(f"Strouhal over Roshko number, runs: {len(self.runs)}", facts=facts, tables=tables)

    def rows(self) -> list[CalibrationPoint]:
        return [point for run in self.runs for point in run.points]
