"""K over frequency: the points of a calibration, and the curve through them, which never overshoots.

A transducer's K is not constant. A calibration gives it at some frequencies; between two of them K follows the monotone
cubic whose slopes are weighted harmonic means [scipy_pchip]. Points within 10 % of frequency repeat one flow: the curve
runs through their mean. The abscissa is logarithmic: a meter is calibrated at flows spaced by ratio, what bends its
curve at the low end changes by ratio too, and a change of unit or of viscosity is a mere shift. Outside the calibrated
frequencies there is no answer; of other liquids and temperatures see :mod:`fuelunits.meters.viscosity_curve`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import astuple, dataclass, field
from functools import cached_property
from math import isnan, log
from typing import Any, ClassVar

import numpy as np
from numpy.polynomial import Polynomial

from fuelunits.conversion import kind_of
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.elementwise import elementwise
from fuelunits.meters.k_factor import k_factor_of
from fuelunits.quantities import QuantityLike, answer, first_quantity, fraction, positive
from fuelunits.quantities import temperature_c as celsius
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.uncertainty.budget import COVERAGE, round_to_uncertainty, student_t
from fuelunits.validation import check_type, check_types, coerce_fields, plain_number, positive_number, set_fields

ONE_VISCOSITY, ONE_WARMTH = 1.2, 10.0  # ratio, and °C that change viscosity by it, of one liquid (common practice)
_POINT = "calibration point: "
_TEMPERATURES_C = Range(f"{_POINT}temperature_c", -60.0, 150.0, "degC", "liquids of a bench; 20 °C is 293.15 K")
_CALIBRATION = "the calibrated points; calibrate further points rather than extend the curve"
SAME = 1e-9  # relative difference below which two abscissas count as one
ONE_FLOW = 1.1  # ratio up to which points repeat one flow (common practice)
UNLIKE = 1.5  # times the uncertainty, up to which it explains how repeats, or runs in one liquid, differ; a choice
# choices, tried by simulation: of a gap, within which points are left out together; of the change of y across a gap
_NEARBY, _OF_CHANGE = 0.7, 0.15  # the latter as a miss may happen to be small


@dataclass(frozen=True, eq=False)
class MonotoneCurve:
    """y over ln x, with the relative standard uncertainty of points, where x/y (a flow) rises and so can be inverted.

    `cubics` are the coefficients of the powers 0 to 3 of (ln x - left end), shape (4, pieces). Beyond the ends are the
    values of the ends: whoever uses the curve refuses them first.
    """

    x: Any
    y: Any
    u: Any
    cubics: Any

    @classmethod
    def through(cls, x: Any, y: Any, u: Any = 0.0, *, name: str = "abscissa") -> MonotoneCurve:
        """Lay the curve through points in any order, of an x called `name` in messages."""
        order = np.argsort(x)
        x, y, u = (np.broadcast_to(np.asarray(each, dtype=float), len(order))[order] for each in (x, y, u))
        if len(x) < 2:
            raise QuantityError(f"a curve takes at least two points, each at its own {name}; got {len(x)}")
        widths = np.diff(np.log(x))
        if not np.all(widths > SAME):
            raise QuantityError(f"two points at the {name} {x[np.argmin(widths)]:g}; make one of them, with the mean")
        y, u, _ = _joined(x, y, u)
        cubics = monotone_cubics(np.log(x), y, _groups(np.log(x)))
        for i, width in enumerate(widths):
            margin = Polynomial(cubics[:, i]) - Polynomial(cubics[:, i]).deriv()  # x/y rises where y - dy/d(ln x) > 0
            turns = margin.deriv().roots().real
            if min(margin(step) for step in (0.0, width, *turns[(turns > 0.0) & (turns < width)])) <= 0.0:
                where = f"between the {name} {x[i]:g} and {x[i + 1]:g}"
                raise FuelUnitsError(f"{where} K rises so fast that the flow falls; look at these two points again")
        return cls(x, y, u, cubics)

    @cached_property
    def ln_x(self) -> Any:
        """The logarithm of x at the points."""
        return np.log(self.x)

    def at(self, x: Any) -> Any:
        """Return the ordinate at x, a float or an array."""
        return plain_float(self._at(self._logarithm(x)))

    def x_of_ratio(self, ratio: Any) -> Any:
        """Find the x at which x/y has a value, by halving the piece of the curve in which it lies."""
        ratios = self.ln_x - np.log(self.y)
        goal = np.clip(np.log(np.ma.filled(ratio, np.nan), dtype=float), ratios[0], ratios[-1])
        piece = _piece(ratios, goal)
        low, high = self.ln_x[piece], self.ln_x[piece + 1]
        for _ in range(60):  # more halvings of a piece than a double has digits
            middle = (low + high) / 2.0
            is_below = middle - np.log(self._at(middle)) < goal
            low, high = np.where(is_below, middle, low), np.where(is_below, high, middle)
        return plain_float(np.exp(np.where(np.isnan(goal), np.nan, high)))

    def uncertainty(self, x: Any) -> Any:
        """Return the relative standard uncertainty of y at x, from that of the points; NaN for two points.

        That of the points, which share one bench, is taken straight over ln x; `between` is joined half way.
        """
        ln_x = self._logarithm(x)
        piece = _piece(self.ln_x, ln_x)
        part = (ln_x - self.ln_x[piece]) / np.diff(self.ln_x)[piece]
        between = 4.0 * part * (1.0 - part) * self.between[piece]
        return plain_float(np.hypot(np.interp(ln_x, self.ln_x, self.u), between))

    @cached_property
    def between(self) -> Any:
        """The fraction by which y may be off half way along each piece: 0 between repeats, NaN of two flows alone."""
        group = _groups(self.ln_x)
        middles, last = _means(self.ln_x, group), group[-1]
        if last == 1:
            return np.full(len(self.x) - 1, np.nan)
        off = np.where(np.diff(group), _OF_CHANGE * np.abs(np.diff(np.log(self.y))), 0.0)
        for piece in np.flatnonzero(np.diff(group)):
            gap, ends = np.diff(middles)[group[piece]], group[piece : piece + 2]
            off[piece] = max(off[piece], *(self._miss(i, middles, group, gap) for i in ends if 0 < i < last))
        return off

    def _miss(self, i: int, middles: Any, group: Any, gap: float) -> float:
        """By what fraction the curve misses a group left out with its neighbours, at the scale of a gap beside it."""
        without = np.abs(middles - middles[i]) < _NEARBY * gap
        without[[0, -1]] = False
        out, left = without[group], middles[~without]
        ln_x, x, y = self.ln_x[~out], self.x[~out], self.y[~out]
        rest = MonotoneCurve(x, y, None, monotone_cubics(ln_x, y, _groups(ln_x)))
        after = np.searchsorted(left, middles[i])  # what a bend adds grows as the product of both distances
        scale = gap**2 / ((middles[i] - left[after - 1]) * (left[after] - middles[i]))
        return float(np.max(np.abs(rest.at(self.x[out]) / self.y[out] - 1.0)) * max(1.0, scale))

    def _logarithm(self, x: Any) -> Any:
        return np.clip(np.log(np.ma.filled(x, np.nan), dtype=float), self.ln_x[0], self.ln_x[-1])

    def _at(self, ln_x: Any) -> Any:
        piece = _piece(self.ln_x, ln_x)
        step = ln_x - self.ln_x[piece]
        c0, c1, c2, c3 = self.cubics[:, piece]
        return c0 + step * (c1 + step * (c2 + step * c3))


def _groups(ln_x: Any) -> Any:
    """Return for each point the number of its flow."""
    firsts = [ln_x[0]]
    for each in ln_x:
        if each - firsts[-1] > log(ONE_FLOW) + SAME:
            firsts.append(each)
    return np.searchsorted(firsts, ln_x, side="right") - 1


def _means(values: Any, group: Any) -> Any:
    return np.bincount(group, values) / np.bincount(group)


def _joined(x: Any, y: Any, u: Any) -> tuple[Any, Any, bool]:
    """Move repeats to the line through their mean, with its u at least; return whether theirs explains too little."""
    ln_x, group = np.log(x), _groups(np.log(x))
    middles, means, known = (_means(each, group) for each in (ln_x, y, u))
    joined = means[group] + _slopes(middles, means)[group] * (ln_x - middles[group])
    squares, degrees = np.bincount(group, (y / joined - 1.0) ** 2), np.bincount(group) - 1
    differ = bool(np.nansum(squares / (known**2 + SAME**2)) > UNLIKE**2 * degrees[~np.isnan(known)].sum())
    half_t = np.array([differ and n and student_t(COVERAGE, n) / 2.0 for n in degrees.tolist()])
    scatter = half_t * np.sqrt(squares / np.maximum(degrees, 1) / (degrees + 1))
    return joined, np.hypot(np.maximum(u, known[group]), scatter[group]), differ


def remarks_on_repeats(points: Sequence[CalibrationPoint]) -> list[str]:
    """Return a remark if points of one flow, by rising frequency, differ by more than their uncertainty explains."""
    differ = _joined(*np.array([astuple(point)[:3] for point in points]).T)[2]
    return [f"Repeats of one flow differ by over {UNLIKE:g} times what u explains, so their scatter counts."] * differ


def monotone_cubics(x: Any, y: Any, group: Any = None) -> Any:
    """Return the coefficients of each piece, from its ends and the slopes of their groups, kept from overshooting."""
    width, secant = np.diff(x), np.diff(y) / np.diff(x)
    slopes = _slopes(x, y) if group is None else _slopes(_means(x, group), _means(y, group))[group]
    limits = np.minimum(3.0 * secant, 0.0), np.maximum(3.0 * secant, 0.0)
    left, right = np.clip(slopes[:-1], *limits), np.clip(slopes[1:], *limits)
    square, cube = (3.0 * secant - 2.0 * left - right) / width, (left + right - 2.0 * secant) / width**2
    return np.array([y[:-1], left, square, cube])


def _slopes(x: Any, y: Any) -> Any:
    """Return the slope at each point: zero at a peak or trough, else a weighted harmonic mean."""
    width, secant = np.diff(x), np.diff(y) / np.diff(x)
    if len(secant) < 2:
        return np.full(len(x), secant.sum())
    slopes = np.zeros_like(x)
    for end, inner in ((0, 1), (-1, -2)):  # of the parabola through the last three points
        both = width[end] + width[inner]
        slopes[end] = ((both + width[end]) * secant[end] - width[end] * secant[inner]) / both
    onward = np.flatnonzero(np.sign(secant[:-1]) * np.sign(secant[1:]) > 0)
    before, after = width[onward], width[onward + 1]
    near, far = 2.0 * after + before, after + 2.0 * before
    slopes[onward + 1] = (near + far) / (near / secant[onward] + far / secant[onward + 1])
    return slopes


def _piece(knots: Any, value: Any) -> Any:
    return np.minimum(np.searchsorted(knots, value, side="right") - 1, len(knots) - 2)


def plain_float(value: Any) -> Any:
    """Return a float for an array of no dimension."""
    return float(value) if np.ndim(value) == 0 else value


@dataclass(frozen=True)
class CalibrationPoint:
    """K as found at one flow.

    Parameters
    ----------
    frequency_hz : float, pulse frequency, Hz
    k_pulses_per_l : float, K found, pulses per litre of liquid as it passed through the meter
    relative_uncertainty : float, standard uncertainty of K (coverage factor 1), as a fraction of it; NaN if not known
    viscosity_mm2_s : float, optional, kinematic viscosity of the liquid as it passed, mm²/s (the same number as in cSt)
    temperature_c : float, optional, temperature of liquid and meter body, °C

    Examples
    --------
    >>> point = CalibrationPoint.read("99.8 Hz", "11412 pulse/L", "0.05 %", viscosity="1.2 cSt")
    >>> point.k_pulses_per_l, round(point.flow_l_s, 6)
    (11412.0, 0.008745)
    """

    frequency_hz: float
    k_pulses_per_l: float
    relative_uncertainty: float
    viscosity_mm2_s: float | None = None
    temperature_c: float | None = None

    def __post_init__(self) -> None:
        coerce_fields(self, ("frequency_hz", "k_pulses_per_l", "viscosity_mm2_s"), positive_number, _POINT)
        coerce_fields(self, ("relative_uncertainty", "temperature_c"), plain_number, _POINT)
        if not (0.0 <= self.relative_uncertainty < 1.0 or isnan(self.relative_uncertainty)):
            given = f"{_POINT}relative_uncertainty is {self.relative_uncertainty}"
            raise QuantityError(f"{given}; write the standard uncertainty as a fraction, such as 0.0005 for 0.05 %")
        if self.temperature_c is not None and isnan(_TEMPERATURES_C.check(self.temperature_c)):
            raise QuantityError(f"{_POINT}temperature_c must be a number, or None where it is not known")

    @classmethod
    def read(
        cls, frequency: Any, k: Any, uncertainty: Any, *, viscosity: Any = None, temperature: Any = None
    ) -> CalibrationPoint:
        """Return a point from text and quantities; in place of `frequency` its volume flow will do, ``"31.5 L/h"``."""
        first_quantity(frequency, k, uncertainty, viscosity, temperature)
        known, unit = k_factor_of(k, "k").pulses_per_l, kind_of(frequency, ("Hz", "L/s"), name="frequency")
        hz = positive(frequency, unit, name="frequency") * (known if unit == "L/s" else 1.0)
        mm2_s = None if viscosity is None else positive(viscosity, "mm^2/s", name="viscosity")
        at_c = None if temperature is None else celsius(temperature)
        return cls(hz, known, fraction(uncertainty, name="uncertainty"), mm2_s, at_c)

    def cells(self) -> dict[str, str | None]:
        """Return the point as text, with K rounded to its uncertainty."""
        k, u = self.k_pulses_per_l, self.relative_uncertainty * self.k_pulses_per_l
        displayed, spread = round_to_uncertainty(k, u) if u > 0.0 else (f"{k:.7g}", None if isnan(u) else "0")
        return {
            "Hz": f"{self.frequency_hz:.5g}",
            "L/h": f"{3600.0 * self.flow_l_s:.5g}",
            "K, pulse/L": displayed,
            "u, pulse/L": spread,
            "mm²/s": None if self.viscosity_mm2_s is None else f"{self.viscosity_mm2_s:.3g}",
            "°C": None if self.temperature_c is None else f"{self.temperature_c:.4g}",
        }

    @property
    def flow_l_s(self) -> float:
        """Volume flow at the point, L/s."""
        return self.frequency_hz / self.k_pulses_per_l


@dataclass(frozen=True, repr=False)
class MeterCurve(Reporting):
    """K over frequency, through the points of one calibration in one liquid, repeats of one flow through their mean.

    Parameters
    ----------
    points : BenchResult or sequence of CalibrationPoint, two or more, each at a frequency of its own
        Kept by rising frequency; the flow f/K has to rise all along the curve.
    remarks : str, printed with the curve, and with what follows from it

    Examples
    --------
    >>> found = [(10.0, 11250.0), (100.0, 11430.0), (1000.0, 11400.0)]
    >>> curve = MeterCurve([CalibrationPoint(hz, k, 0.0005) for hz, k in found])
    >>> round(curve.k_pulses_per_l(50.0), 2), curve.mean_k_pulses_per_l, round(curve.linearity, 5)
    (11408.94, 11340.0, 0.00794)
    >>> f"{curve.flow('50 Hz').m_as('L/h'):.4f}", f"{curve.frequency('15.7771 L/h').m_as('Hz'):.3f}"
    ('15.7771', '50.000')
    """

    points: Sequence[CalibrationPoint]
    remarks: str = ""
    _curve: MonotoneCurve = field(init=False, repr=False, compare=False)
    _plain: ClassVar[tuple[str, ...]] = ("mean_k_pulses_per_l", "linearity")

    def __post_init__(self) -> None:
        check_type(self.remarks, str, "remarks", "text")
        given: Any = self.points.points() if hasattr(self.points, "points") else self.points
        made = check_types(given, CalibrationPoint, "points", "CalibrationPoint")
        points = tuple(sorted(made, key=lambda point: point.frequency_hz))
        viscosity = sorted(each.viscosity_mm2_s or 0.0 for each in points)  # 0 is not stated
        celsius, found = sorted(each.temperature_c for each in points if each.temperature_c is not None), ""
        if points and viscosity[-1] > ONE_VISCOSITY * viscosity[0]:
            found = f"{viscosity[0] or 'unknown'} to {viscosity[-1]:g} mm²/s"
        elif celsius and viscosity[-1] == viscosity[0] and celsius[-1] - celsius[0] > ONE_WARMTH:
            found = f"{celsius[0]:g} to {celsius[-1]:g} °C"
        if found:
            rest = "state viscosity_mm2_s at each; make a curve of each liquid, and a ViscosityCurve of these"
            raise QuantityError(f"points at {found} are not in one liquid of one viscosity; {rest}")
        columns = np.array([astuple(point)[:3] for point in points]).reshape(len(points), 3).T
        set_fields(self, points=points, _curve=MonotoneCurve.through(*columns, name="frequency in Hz"))

    @property
    def mean_k_pulses_per_l(self) -> float:
        """(Kmax + Kmin)/2, pulses per litre, which halves the largest error; ISA-RP31.1 [isa_rp31_1], recalled."""
        return float(self._curve.y.max() + self._curve.y.min()) / 2.0

    @property
    def linearity(self) -> float:
        """(Kmax - Kmin)/(Kmax + Kmin), how far K lies from the mean K at most: 0.005 is ±0.5 % [isa_rp31_1]."""
        return float(self._curve.y.max() - self._curve.y.min()) / (2.0 * self.mean_k_pulses_per_l)

    @property
    def frequencies_hz(self) -> Range:
        """The calibrated frequencies, Hz."""
        return Range("frequency", self.points[0].frequency_hz, self.points[-1].frequency_hz, "Hz", _CALIBRATION)

    @property
    def flows_l_s(self) -> Range:
        """The calibrated flows, L/s."""
        flows = self._curve.x / self._curve.y
        return Range("flow", float(flows[0]), float(flows[-1]), "L/s", _CALIBRATION)

    def k_pulses_per_l(self, frequency_hz: Any, *, out_of_range: OnOutOfRange = "raise") -> Any:
        """Return K at a frequency in Hz or an array, pulses per litre; OutOfRange, or NaN, beyond the points."""
        return self._over(self._curve.at, frequency_hz, out_of_range)

    def flow_l_s(self, frequency_hz: Any, *, out_of_range: OnOutOfRange = "raise") -> Any:
        """Return the flow at a frequency, f/K, L/s; arguments and errors as for :meth:`k_pulses_per_l`."""
        return self._over(lambda hz: hz / self._curve.at(hz), frequency_hz, out_of_range)

    def frequency_hz(self, flow_l_s: Any, *, out_of_range: OnOutOfRange = "raise") -> Any:
        """Find the frequency of a flow in L/s, Hz, within 1e-12: the inverse of :meth:`flow_l_s`."""
        return elementwise(lambda flow: self._curve.x_of_ratio(self.flows_l_s.check(flow, out_of_range)), flow_l_s)

    def relative_uncertainty(self, frequency_hz: Any, *, out_of_range: OnOutOfRange = "raise") -> Any:
        """Return the standard uncertainty of K, and of the flow, as a fraction: of the points, and between them.

        Between points it joins by how far the curve through the other points misses those beside the gap, more in a
        gap wider than the next; a hump or step wholly between two points is not seen. Of points within 10 % of
        frequency, one flow, the scatter counts if beyond u. NaN of two flows alone, and beside a point of unknown u.
        """
        return self._over(self._curve.uncertainty, frequency_hz, out_of_range)

    def _over(self, formula: Callable[[Any], Any], frequency_hz: Any, out_of_range: OnOutOfRange) -> Any:
        return elementwise(lambda hz: formula(self.frequencies_hz.check(hz, out_of_range)), frequency_hz)

    def flow(self, frequency: QuantityLike) -> Any:
        """Return the flow at a frequency such as ``"99.8 Hz"``, as a quantity in L/h."""
        return answer(3600.0 * self.flow_l_s(positive(frequency, "Hz", name="frequency", zero=True)), "L/h", frequency)

    def frequency(self, flow: QuantityLike) -> Any:
        """Find the frequency of a flow such as ``"31.5 L/h"``, as a quantity in Hz."""
        return answer(self.frequency_hz(positive(flow, "L/s", name="flow", zero=True)), "Hz", flow)

    def report(self) -> Report:
        low, high = self.frequencies_hz.low, self.frequencies_hz.high
        facts = {"points": len(self.points), "calibrated": f"{low:.5g} Hz to {high:.5g} Hz"}
        figures = f"{self.mean_k_pulses_per_l:.7g} pulse/L, linearity ±{format_percent(self.linearity)}"
        remarks = [self.remarks] * bool(self.remarks) + remarks_on_repeats(self.points)
        if np.isnan(self._curve.between).any():
            remarks.append("Two points, or two repeated, do not show how K bends: no uncertainty is stated there.")
        if any(isnan(point.relative_uncertainty) for point in self.points):
            remarks.append("The uncertainty of K is not known in full at a point: complete its calibration.")
        if self.points[0].viscosity_mm2_s is None:
            remarks.append("No viscosity is stated: K holds only in the liquid of the calibration, as warm as it was.")
        table = Table.of([point.cells() for point in self.points])
        return Report(f"K over frequency, mean K {figures}", "", facts, [table], remarks)

    def rows(self) -> Sequence[CalibrationPoint]:
        return self.points
