"""What an indicator displays: the errors that the best setting to enter leaves, and the total of a totaliser.

A transducer's K changes with flow and viscosity, and an indicator takes one. The best setting minimises the weighted
mean square of the relative error before the display rounds, whose rounding at just these flows is an accident. With
shares of the fuel burned as weights, totals are then right; the largest error would let the rarest flow decide.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

import numpy as np

from fuelunits.conversion import amount, density_kg_m3
from fuelunits.errors import QuantityError
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import remarks_of
from fuelunits.fuels.properties import viscosity
from fuelunits.indicators.bench_sheet import written_points
from fuelunits.indicators.indicator import Indicator
from fuelunits.indicators.written import as_written
from fuelunits.meters.curve import MeterCurve
from fuelunits.meters.k_factor import KFactor, k_factor_of
from fuelunits.meters.viscosity_curve import ViscosityCurve
from fuelunits.quantities import exact_number, first_quantity, is_labelled, read_text, temperature_c
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.units import exact_factor, factor
from fuelunits.validation import as_float_array, boolean, check_type, check_types, plain_number, positive_number


@dataclass(frozen=True, repr=False)
class BestSetting(Reporting):
    """The best setting, in an :class:`Indicator` that has it, and the errors left; made by :func:`best_setting`.

    Flows of the points are in the unit read. Errors are signed fractions of the true flow: `error` before the display
    comes to a step, which is that of totals, and `displayed_error`, within ± `half_step` of it, or up to two of them
    lower if the display truncates. `uncertainty` is u of K, and `densities` the root mean square of each one compared.
    """

    indicator: Indicator
    points: tuple[dict[str, float], ...]
    root_mean_square: float
    densities: dict[str, float]
    remarks: tuple[str, ...] = ()

    def rows(self) -> tuple[dict[str, float], ...]:
        """Return the points, one for each flow at each temperature."""
        return self.points

    def report(self) -> Report:
        entered = " and ".join(str(each) for each in (self.indicator.k_factor, self.indicator.fixed_density) if each)
        errors = [100.0 * point["error"] for point in self.points if point["weight"]]
        left = f"{min(errors):+.2f} % to {max(errors):+.2f} %, root mean square {100.0 * self.root_mean_square:.3f} %"
        rows = [{"density": each, "root mean square, %": f"{100.0 * rms:.3f}"} for each, rms in self.densities.items()]
        tables = [Table.of(map(self._cells, self.points)), *[Table.of(rows, "with the K for volumes")] * bool(rows)]
        of_display = "less up to a display step" if self.indicator.truncates else "± half a display step"
        verdict = f"enter {entered}: errors {left}, {of_display}"
        return Report(f"best setting, {self.indicator}", verdict, {}, tables, self.remarks)

    def _cells(self, point: dict[str, float]) -> dict[str, str]:
        unit, cut = self.indicator.k_factor.unit, self.indicator.truncates
        return {
            self.indicator.reads: f"{point['flow']:.5g}",
            "°C": "" if math.isnan(point["at_c"]) else f"{point['at_c']:g}",
            "weight": f"{point['weight']:.3f}",
            f"K, pulse/{unit}": f"{point['k_pulses_per_l'] * factor(unit, 'L'):.6g}",
            "u(K), %": "" if math.isnan(point["uncertainty"]) else f"{100.0 * point['uncertainty']:.2f}",
            "error, %": f"{100.0 * point['error']:+.2f}",
            "less up to" if cut else "± half step": f"{(200.0 if cut else 100.0) * point['half_step']:.2f}",
            "displayed": f"{point['displayed']:.6g}",
            "its error": f"{100.0 * point['displayed_error']:+.2f}",
        }


def best_setting(
    indicator: Indicator,
    meter: MeterCurve | ViscosityCurve,
    flows: Sequence[Any],
    *,
    k_step: KFactor | str,
    highest_k: KFactor | str | None = None,
    weights: Any = None,
    fuel: Any = None,
    at: Any = None,
    densities: Sequence[Any] | None = None,
    density_step: Any = None,
) -> BestSetting:
    """Return the K-factor and fixed density to enter, of those that an indicator accepts, and the remaining errors.

    K is the best for volumes, which are then right with any density; the density is the best with that K.

    Parameters
    ----------
    indicator : Indicator, that of one transducer as it is; its density is kept where no other is offered
    meter : MeterCurve or ViscosityCurve
        The transducer. A ViscosityCurve converts its calibration to the viscosity of the fuel at each temperature, of
        the sample in the library; its ``meter_curve`` to any other.
    flows, weights : sequences
        True flows, ``["25 L/h", "60 L/h"]``, and a plain number for each, in any unit: best the fuel burned at it; all
        alike by default. One below the cutoff has no weight, though K or the density may make it show.
    k_step, highest_k : KFactor or str, the step in which K is entered, ``"1 pulse/L"``, and the highest that can be
    fuel, at : optional, the liquid and its temperature, or a list of them, for a mass flow and for a ViscosityCurve
    densities, density_step : optional, a list that the indicator offers, or the step of which it takes any multiple

    Examples
    --------
    An invented meter and an invented indicator:

    >>> from fuelunits.meters.curve import CalibrationPoint
    >>> points = [CalibrationPoint(hz, k, 0.0005) for hz, k in [(60.0, 11250.0), (150.0, 11380.0), (600.0, 11420.0)]]
    >>> l_h, curve = Indicator("11412 pulse/L", reads="L/h"), MeterCurve(points)
    >>> best = best_setting(l_h, curve, ["25 L/h", "60 L/h"], weights=[1, 3], k_step="10 pulse/L")
    >>> best.indicator, [f"{point['error']:+.4f}" for point in best.points]
    (<Indicator: 11370 pulse/L, reading L/h>, ['-0.0062', '+0.0019'])
    """
    _check_channel(indicator)
    offered: Any = [indicator.fixed_density] if densities is None else densities
    too_many = (densities is not None) + (density_step is not None) > (indicator.fixed_density is not None)
    if too_many or not isinstance(offered, (list, tuple)) or not offered:
        raise QuantityError("densities, density_step: for a mass flow give a list, such as ['0.80 kg/L'], or the step")
    written = written_points(flows)
    temperatures = [each for each in (at if isinstance(at, (list, tuple)) else [at]) if each is not None]
    first_quantity(*flows, *temperatures, *offered, k_step, highest_k, density_step)
    liquid, step = None if fuel is None else find_fuel(fuel), k_factor_of(k_step, "k_step")
    most = math.inf if highest_k is None else k_factor_of(highest_k, "highest_k").exact_per(step.unit) / step.value
    table = list(_true_points(meter, liquid, temperatures, written, indicator.reads))
    flow, at_c, density, hz, k, u = np.array(table).T
    weight = _shares(weights, len(written), flow >= float(indicator.display.cutoff))
    best_k = _best_k(k, weight, step, most)
    volume = k / best_k.pulses_per_l
    if density_step is not None:
        number, unit = read_text(as_written(density_step, "kg/m^3", "density_step"))
        of_step = volume / density * float(exact_number(density_step, "kg/m^3", name="density_step"))
        times = max(round(float(weight @ of_step) / float(weight @ of_step**2)), 1)  # their square is a parabola
        offered = [f"{float(times * number):.15g} {unit}"]
    texts = [None if each is None else as_written(each, "kg/m^3", "densities") for each in offered]
    fixed = [1.0 if t is None else float(density_kg_m3(t, "densities")) / density for t in texts]
    rms = [math.sqrt(weight @ (volume * each - 1.0) ** 2) for each in fixed]
    indicator = replace(indicator, k_factor=best_k, fixed_density=texts[rms.index(min(rms))])
    readings, (low, high) = hz * float(sum(indicator.flows_per_hz)), indicator.display.errors
    displayed = indicator.displayed_flow(readings)
    columns = {"flow": flow, "at_c": at_c, "weight": weight, "frequency_hz": hz, "k_pulses_per_l": k, "uncertainty": u}
    columns |= {"error": readings / flow - 1.0, "half_step": float(high - low) / 2.0 / flow}
    columns |= {"displayed": displayed, "displayed_error": displayed / flow - 1.0}
    points = tuple(dict(zip(columns, row, strict=True)) for row in np.array(list(columns.values())).T.tolist())
    remarks = list(remarks_of(liquid if indicator.fixed_density else None, limits=False))
    if isinstance(meter, ViscosityCurve):
        remarks.append(f"K at the viscosity of {viscosity(liquid).name}; batches differ; body: {meter.body}")
    else:
        converts = "" if liquid is None else f"; a ViscosityCurve converts it for {liquid.name}"
        remarks += [f"K is that of the liquid of the curve{converts}", *[meter.remarks] * bool(meter.remarks)]
    zeros = dict.fromkeys(f"{each:.5g}" for each in flow[displayed == 0.0])
    remarks += [f"the display shows 0 at {', '.join(zeros)} {indicator.reads}"] if zeros else []
    compared = {str(text): each for text, each in zip(texts, rms, strict=True) if len(rms) > 1}
    return BestSetting(indicator, points, min(rms), compared, tuple(remarks))


def _true_points(meter: Any, liquid: Any, temperatures: list[Any], flows: Any, reads: str) -> Iterator[Any]:
    """Yield each true flow at each temperature: in the unit read, °C, kg/m³, Hz, K in pulse/L, its u; or NaN."""
    by_viscosity = isinstance(check_type(meter, (MeterCurve, ViscosityCurve), "meter", "a MeterCurve"), ViscosityCurve)
    if (liquid is None) != (not temperatures) or (by_viscosity and liquid is None):
        raise QuantityError("fuel and at: give both, the fuel and its temperature; a ViscosityCurve needs them")
    density, text, t, curve = math.nan, None, math.nan, meter
    for given in temperatures or [None]:
        if liquid is not None:
            t = plain_number(temperature_c(given, name="at"), "at")
            density = float(liquid.density_kg_m3(t))
            text = f"{density!r} kg/m^3"
        if by_viscosity:
            curve = meter.meter_curve(viscosity(liquid).kinematic_viscosity_mm2_s(t), t)
        for each in flows:
            flow = positive_number(amount(each, reads, name="flow", density=text), "flow")
            flow_l_s, ends = amount(each, "L/s", name="flow", density=text), curve.flows_l_s
            low, high = (flow / flow_l_s * end for end in (ends.low, ends.high))
            replace(ends, low=low, high=high, unit=reads).check(flow)
            hz = curve.frequency_hz(flow_l_s)
            yield flow, t, density, hz, curve.k_pulses_per_l(hz), curve.relative_uncertainty(hz)


def _check_channel(indicator: Any) -> None:
    if check_type(indicator, Indicator, "indicator", "Indicator('11412 pulse/L', reads='L/h')").channels != 1:
        raise QuantityError("indicator: each transducer has its own K; give an Indicator of one channel for each")


def _exact(value: Any, unit: str, name: str) -> Fraction:
    """Return a number as it prints: 0.1 s of a library is a tenth, not the float beside it."""
    return exact_number(as_written(value, unit, name), unit, name=name)


def _shares(weights: Any, count: int, is_displayed: Any) -> Any:
    """Return the weight of each flow at each temperature, which add up to 1; none for what is displayed as zero."""
    given = np.ones(count) if weights is None else as_float_array(weights, "weights")
    weight = np.resize(given, is_displayed.size) * is_displayed
    is_one_each = given.shape == (count,) and not is_labelled(weights)
    if not is_one_each or not np.isfinite(given).all() or given.min() < 0.0 or not weight.any():
        raise QuantityError("weights: give a list, zero or more for each flow, in order; one of them must be displayed")
    return weight / weight.sum()


def _best_k(k: Any, weight: Any, step: KFactor, most: Any) -> KFactor:
    """Return the multiple of a step with the smallest weighted mean square of k / K - 1, a parabola in 1/K."""
    size, ideal = step.pulses_per_l, float(weight @ k**2) / float(weight @ k)
    below = math.floor(ideal / size)
    if not 1 <= below <= most:
        wanted = f"{ideal / size * float(step.value):.7g} pulse/{step.unit}"
        raise QuantityError(f"k_step, highest_k: {wanted} cannot be entered; is the unit of K right?")
    best = min((n for n in (below, below + 1) if n <= most), key=lambda n: float(weight @ (k / (n * size) - 1.0) ** 2))
    return KFactor(best * step.value, per=step.unit)


@dataclass(frozen=True, repr=False)
class DisplayedTotal(Reporting):
    """A total as displayed and exactly, and the causes of the difference; its relative error omits a roll-over."""

    indicator: Indicator
    exact: Fraction
    displayed: Fraction
    causes: dict[str, Fraction]
    relative_error: float

    def rows(self) -> list[dict[str, Any]]:
        """Return the causes, which add up to the difference."""
        return [{"cause": cause, self.indicator.total_unit: float(each)} for cause, each in self.causes.items()]

    def report(self) -> Report:
        unit, places = self.indicator.total_unit, self.indicator.total_display.decimals
        verdict = f"displays {float(self.displayed):.{places}f} of {float(self.exact):.{places + 2}f} {unit}"
        facts = {"error, before a roll-over": format_percent(self.relative_error, signed=True)}
        rows = [{**row, unit: f"{row[unit]:+.{places + 3}f}"} for row in self.rows()]
        return Report(f"total, {self.indicator}", verdict, facts, [Table.of(rows)])


def displayed_total(
    indicator: Indicator,
    flows: Sequence[tuple[Any, Any]],
    *,
    update: Any,
    kept_step: Any = None,
    truncates: bool = False,
    rolls_over_at: Any = None,
) -> DisplayedTotal:
    """Return the total that a totaliser displays after successive flows, compared with the exact total.

    Parameters
    ----------
    indicator : Indicator
        Of one transducer, K and fixed density taken as right; `total_resolution` is the display step. An update whose
        pulses mean a flow below `low_flow_cutoff` is lost: leave that out of a totaliser that counts them.
    flows : sequence of (flow, duration), each ``("40 L/h", "30 min")``; the flow may be a frequency
    update : str or pint.Quantity, how often pulses are added to the total, ``"1 s"``
    kept_step, truncates : str or pint.Quantity, optional, and bool
        The step to which the amount of each update is rounded, halves up, or truncated. Without one, it is carried.
    rolls_over_at : str or pint.Quantity, optional, where the counter is zero again: ``"1000 L"`` if it goes to 999.9

    Examples
    --------
    An invented totaliser that truncates at each update:

    >>> indicator = Indicator("11412 pulse/L", reads="L/h", total_resolution="0.1 L")
    >>> total = displayed_total(indicator, [("40 L/h", "1 h")], update="1 s", kept_step="0.001 L", truncates=True)
    >>> float(total.displayed), f"{total.relative_error:.4f}"
    (39.6, '-0.0100')
    """
    _check_channel(indicator)
    pairs = check_types(flows, tuple, "flows", "pairs such as ('40 L/h', '30 min')")
    if not pairs or any(len(pair) != 2 for pair in pairs):
        raise QuantityError("flows: give pairs of a flow and its duration, such as [('40 L/h', '30 min')]")
    first_quantity(*(each for pair in pairs for each in pair), update, kept_step, rolls_over_at)
    unit, step = indicator.total_unit, indicator.total_display.step
    update_s, kept = _exact(update, "s", "update"), None if kept_step is None else _exact(kept_step, unit, "kept_step")
    full = None if rolls_over_at is None else _exact(rolls_over_at, unit, "rolls_over_at")
    half = Fraction(0) if boolean(truncates, "truncates") else Fraction(1, 2)
    if kept is None and not half:
        raise QuantityError(f"truncates: to which step? give kept_step, for example '0.001 {unit}'")
    if full is not None and (step is None or full % step):
        raise QuantityError("rolls_over_at: a counter rolls over after whole steps of its display, total_resolution")
    pulses, updates = _updates(indicator, pairs, update_s)
    (per_hz,) = indicator.flows_per_hz
    per_pulse = per_hz / exact_factor(indicator.reads.rpartition("/")[2], "s")
    counted = lost = added = Fraction(0)
    for each, times in updates.items():
        amount, is_lost = each * per_pulse, each * per_hz < indicator.display.cutoff * update_s
        counted += times * amount
        lost += times * amount * is_lost
        added += times * (not is_lost) * (amount if kept is None else math.floor(amount / kept + half) * kept)
    exact, total = pulses * per_pulse, indicator.total_display.reading(added)
    displayed = total if full is None else total % full
    causes = {
        "pulses not complete, or after the last update": counted - exact,
        "pulses lost below the cutoff": -lost,
        "rounding at each update": added - (counted - lost),
        "display step": total - added,
        "roll-over": displayed - total,
    }
    return DisplayedTotal(indicator, exact, displayed, causes, float(total / exact - 1))


def _updates(indicator: Indicator, pairs: Any, update_s: Fraction) -> tuple[Fraction, Counter[int]]:
    """Return all pulses, exactly, and how many updates have each number of whole pulses."""
    now, pulses, last, updates = Fraction(0), Fraction(0), 0, Counter[int]()
    for flow, duration in pairs:
        (hz,) = indicator.frequencies_for(flow)
        end = now + _exact(duration, "s", "duration")
        first, final = math.floor(now / update_s) + 1, math.floor(end / update_s)
        if first <= final:
            at_first, at_final = (math.floor(pulses + (k * update_s - now) * hz) for k in (first, final))
            fewer = math.floor(update_s * hz)  # a steady flow has no numbers but the two beside the mean
            more = at_final - at_first - (final - first) * fewer
            for each, times in ((at_first - last, 1), (fewer, final - first - more), (fewer + 1, more)):
                updates[each] += times
            last = at_final
        now, pulses = end, pulses + (end - now) * hz
    if not pulses:
        raise QuantityError("flows: nothing flows; give flows above zero")
    return pulses, updates
