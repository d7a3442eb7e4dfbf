"""Pictures of results, with matplotlib (extra ``plot``).

Each function draws on the axes of matplotlib that it is given, or on a new figure, and returns the axes; a new figure
has the caution. No setting of matplotlib is changed: lines without a colour of their own have that of the style's
text. The three colours can be told apart by the colour-blind [okabe_ito_2008], and each line has a dash pattern or a
mark of its own, so that a picture can be printed in black.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import cycle, groupby
from textwrap import fill
from typing import Any

import numpy as np

from fuelunits.bench.calibration import Calibration
from fuelunits.checks.density_check import DensityCheck
from fuelunits.conversion import convert_exact, flow_unit_name
from fuelunits.errors import MissingExtra, QuantityError
from fuelunits.fuels.grades import fuel
from fuelunits.indicators.best_setting import BestSetting
from fuelunits.indicators.capacitance import CapacitanceGauge
from fuelunits.indicators.endurance import LowFuelByQuantity, LowFuelByTime
from fuelunits.meters.counts import PulseCounts
from fuelunits.meters.curve import MeterCurve
from fuelunits.meters.k_factor import KFactor, k_factor_of
from fuelunits.meters.rhythm import Irregularity
from fuelunits.meters.viscosity_curve import ViscosityCurve
from fuelunits.quantities import positive
from fuelunits.records.history import TransducerHistory
from fuelunits.reports import CAUTION, format_percent
from fuelunits.uncertainty.budget import nominal
from fuelunits.units import factor
from fuelunits.validation import positive_number

__all__ = ["check", "density", "error", "flow", "gauge", "history", "meter_curve", "residuals", "setting", "strouhal"]

_BLUE, _GREEN, _VERMILLION = "#0072B2", "#009E73", "#D55E00"
_POINTS = 121
_LETTER = 0.55  # mean width of a letter, in font sizes


def _axes(ax: Any, columns: int = 1) -> Any:
    """Return the axes to draw on: those given, or those of a new figure with the caution at its foot."""
    if ax is not None:
        return ax
    try:
        import matplotlib.pyplot as plt
        from matplotlib.layout_engine import ConstrainedLayoutEngine
    except ImportError as missing:
        raise MissingExtra("a picture needs matplotlib: python -m pip install matplotlib") from missing
    layout, size = ConstrainedLayoutEngine(rect=(0.0, 0.06, 1.0, 0.94)), (4.0 * columns, 4.8) if columns > 1 else None
    figure, ax = plt.subplots(1, columns, figsize=size, layout=layout)
    figure.text(0.5, 0.01, fill(CAUTION, 110), ha="center", va="bottom", fontsize=6.0)
    return ax


def _ink(ax: Any) -> Any:
    return ax.xaxis.label.get_color()


def _folded(ax: Any, text: str, size: float) -> str:
    """Return text in lines that are no wider than the axes."""
    points = 72.0 * ax.get_window_extent().width / ax.figure.dpi
    return fill(text, max(int(points / (_LETTER * size)), 10))


def _finish(ax: Any, title: str, x: str, y: str) -> Any:
    """Label the axes, with the legend below them where the layout leaves space for it, else within."""
    from matplotlib.font_manager import FontProperties

    ax.set_title(_folded(ax, title, ax.title.get_fontsize()))
    ax.set(xlabel=x, ylabel=y)
    ax.grid(visible=True, alpha=0.3)
    handles, labels = ax.get_legend_handles_labels()
    size = FontProperties(size="small").get_size_in_points()
    below = {"loc": "upper center", "bbox_to_anchor": (0.5, 0.0), "borderaxespad": 5.0, "ncols": 2}
    has_layout = ax.figure.get_layout_engine() is not None
    lines = [_folded(ax, label, 2.5 * size if has_layout else 1.5 * size) for label in labels]
    ax.legend(handles, lines, fontsize=size, **(below if has_layout else {"loc": "best", "framealpha": 0.7}))
    return ax


def density(of: Any, *, between_c: tuple[float, float] | None = None, unit: str = "kg/m^3", ax: Any = None) -> Any:
    """Return a picture of density over temperature, with the limits of the specification.

    Parameters
    ----------
    of : str, Fuel, Batch or Blend
    between_c : tuple of float, optional, lowest and highest temperature, °C; by default all its temperatures
    unit, ax : str, and the Axes to draw on, optional

    Examples
    --------
    >>> density("Jet A", unit="lb/gal").get_ylabel()
    'density, lb/gal'
    """
    found = fuel(of)
    low, high = between_c or (found.valid_temperatures_c.low, found.valid_temperatures_c.high)
    ax = _axes(ax)
    _liquids(ax, found, np.linspace(low, high, _POINTS), lambda kg_m3: factor("kg/m^3", unit) * kg_m3)
    return _finish(ax, f"density of {found.name}", "fuel temperature, °C", f"density, {unit.replace('^3', '³')}")


def _liquids(ax: Any, of: Any, t: Any, value: Any) -> None:
    """Draw a value of the densities of the fuel and of the edges of its specification, as far as there are any."""
    lightest, densest = getattr(of, "limit_liquids", (None, None))
    for label, liquid, color, dashes, width in (
        ("typical" if hasattr(of, "typical") else of.name, of, _BLUE, "-", 2.0),
        ("lightest allowed", lightest, _ink(ax), "--", 1.0),
        ("densest allowed", densest, _ink(ax), "-.", 1.0),
    ):
        if liquid is not None:
            ax.plot(t, value(liquid.density_kg_m3(t)), label=label, color=color, linestyle=dashes, linewidth=width)


def check(of: DensityCheck, *, ax: Any = None) -> Any:
    """Return a picture of a check of a fixed density: the fuel's density with its limits, and the fixed one.

    Shaded are the temperatures of the check at which the typical fuel is within the tolerance.

    Parameters
    ----------
    of, ax : DensityCheck, and the Axes to draw on, optional

    Examples
    --------
    >>> import fuelunits as fu
    >>> found = fu.check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")
    >>> check(found).get_title()
    '6.7 lb/gal for Jet A, tolerance 3 %: reject'
    """
    ax, scale = _axes(ax), factor("kg/m^3", of.unit)
    t = np.linspace(*of.between_c, 10 * _POINTS)
    _liquids(ax, of.fuel, t, lambda kg_m3: scale * kg_m3)
    label = f"fixed density {of.written}"
    ax.axhline(scale * of.assumed_kg_m3, color=_VERMILLION, linestyle=":", linewidth=2.0, label=label)
    within = np.abs(of.assumed_kg_m3 / of.fuel.density_kg_m3(t) - 1.0) <= of.tolerance
    if within.any():
        ax.axvspan(t[within][0], t[within][-1], color=_GREEN, alpha=0.2, label="typical fuel within tolerance")
    title = f"{of.written} for {of.fuel.name}, tolerance {format_percent(of.tolerance)}: {of.verdict.value}"
    return _finish(ax, title, "fuel temperature, °C", f"density, {of.unit.replace('^3', '³')}")


def error(of: DensityCheck, *, ax: Any = None) -> Any:
    """Return a picture of the error of a fixed density over temperature, with the tolerance, in percent of the mass.

    Parameters
    ----------
    of, ax : DensityCheck, and the Axes to draw on, optional

    Examples
    --------
    >>> import fuelunits as fu
    >>> found = fu.check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")
    >>> error(found).get_ylabel()
    'error of the mass displayed, %'
    """
    ax = _axes(ax)
    _liquids(ax, of.fuel, np.linspace(*of.between_c, _POINTS), lambda kg_m3: 100.0 * (of.assumed_kg_m3 / kg_m3 - 1.0))
    ax.axhspan(-100.0 * of.tolerance, 100.0 * of.tolerance, color=_GREEN, alpha=0.2, label="tolerance")
    ax.axhline(0.0, color=_VERMILLION, linestyle=":")
    title = f"error of {of.written} for {of.fuel.name}: {of.verdict.value}"
    return _finish(ax, title, "fuel temperature, °C", "error of the mass displayed, %")


def gauge(of: CapacitanceGauge, *, axes: Any = None) -> Any:
    """Return a picture of a capacitance gauge: level, capacitance and mass side by side over volume.

    Parameters
    ----------
    of, axes : CapacitanceGauge, and three Axes to draw on, optional

    Examples
    --------
    >>> import fuelunits as fu
    >>> tank = fu.TankTable("left", [("0 mm", "0 L"), ("300 mm", "120 L")])
    >>> axes = gauge(fu.CapacitanceGauge(tank, [fu.Probe("48 pF", "0 mm", "300 mm")], "Jet A", "15 degC"))
    >>> axes[1].get_ylabel()
    'capacitance, pF'
    """
    levels = np.linspace(*of.wetted_mm, _POINTS)
    litres = np.array([of.tank.volume_l_at(mm) for mm in levels])
    capacitances = [of.capacitance_pf(mm) for mm in levels]
    axes = _axes(axes, 3)
    drawn = {"level, mm": levels, "capacitance, pF": capacitances, "mass, kg": litres * of.density_kg_m3 / 1e3}
    for ax, (label, values) in zip(axes, drawn.items(), strict=True):
        name = label.partition(",")[0]
        ax.plot(litres, values, color=_BLUE, label=f"{name} with {fuel(of.fuel).name} at {of.at}")
        _finish(ax, f"{name}, {of.tank.name}", "volume, L", label)
    return axes


def history(of: TransducerHistory, *, ax: Any = None) -> Any:
    """Return a picture of K over date, with U of each calibration and the drift since the last repair.

    Parameters
    ----------
    of, ax : TransducerHistory, and the Axes to draw on, optional

    Examples
    --------
    >>> import fuelunits as fu
    >>> history(fu.TransducerHistory("A-0117", [])).get_ylabel()
    'K, pulse/L'
    """
    ax, days = _axes(ax), [np.datetime64(event.date) for event in of.events]
    found = [event.calibration for event in of.events]
    k = [each.k_factor.per("L") for each in found]
    bars = [k_l * each.expanded_uncertainty() for k_l, each in zip(k, found, strict=True)]
    ax.errorbar(days, k, yerr=bars or None, fmt="o", color=_ink(ax), capsize=3, label="K with U")
    drift = of.drift()
    if drift is not None:
        last, k_last = np.array(days[-drift.calibrations :]), np.array(k[-drift.calibrations :])
        years = (last - last[0]).astype(float) / 365.25
        line = k_last.mean() * (1.0 + drift.per_year * (years - years.mean()))
        ax.plot(last, line, "--", color=_BLUE, label=f"drift {format_percent(drift.per_year, signed=True)} per year")
    for event, day in zip(of.events, days, strict=True):
        if event.repaired:
            ax.axvline(day, color=_VERMILLION, linestyle=":", label=f"repaired before {event.date}")
    ax.tick_params(axis="x", rotation=30)
    return _finish(ax, f"transducer {of.serial}", "date", "K, pulse/L")


def meter_curve(of: MeterCurve, *, coverage_factor: float = 2.0, unit: str = "L/h", ax: Any = None) -> Any:
    """Return a picture of K over flow, with the calibrated points and the band of its uncertainty.

    Parameters
    ----------
    of, ax : MeterCurve, and the Axes to draw on, optional
    coverage_factor : float, half width of the band in standard uncertainties; 2 is about 95 %
    unit : str, unit of volume flow; K is per the same unit of volume

    Examples
    --------
    >>> import fuelunits as fu
    >>> points = [fu.CalibrationPoint(hz, k, 0.0005) for hz, k in [(30.0, 10950.0), (100.0, 11250.0), (1e3, 11400.0)]]
    >>> meter_curve(fu.MeterCurve(points), unit="gal/h").get_ylabel()
    'K, pulse/gal'
    """
    hz = np.geomspace(of.frequencies_hz.low, of.frequencies_hz.high, _POINTS)
    ax, volume = _axes(ax), flow_unit_name(unit).partition("/")[0]
    k_scale, flow_scale = 1.0 / factor("L", volume), factor("L/s", unit)
    u = coverage_factor * of.relative_uncertainty(hz)
    _band(ax, flow_scale * of.flow_l_s(hz), k_scale * of.k_pulses_per_l(hz), u, coverage_factor)
    flows, k = zip(*[(flow_scale * each.flow_l_s, k_scale * each.k_pulses_per_l) for each in of.points], strict=True)
    ax.plot(flows, k, "o", color=_ink(ax), label="calibrated")
    return _finish(ax, "K over flow", f"flow, {unit}", f"K, pulse/{volume}")


def setting(of: BestSetting, *, ax: Any = None) -> Any:
    """Return a picture of the remaining errors of a best setting at each flow and temperature, and of the cutoff.

    Parameters
    ----------
    of, ax : BestSetting, and the Axes to draw on, optional

    Examples
    --------
    >>> import fuelunits as fu
    >>> curve = fu.MeterCurve([fu.CalibrationPoint(hz, k, 0.0005) for hz, k in [(50.0, 11250.0), (600.0, 11420.0)]])
    >>> l_h = fu.Indicator("11412 pulse/L", reads="L/h")
    >>> setting(fu.best_setting(l_h, curve, ["25 L/h", "60 L/h"], k_step="1 pulse/L")).get_title()
    'enter 11311 pulse/L'
    """
    ax, title = _axes(ax), of.report().verdict.partition(":")[0]
    states = groupby(of.points, lambda point: "" if np.isnan(point["at_c"]) else f" at {point['at_c']:g} °C")
    for (at, points), mark in zip(states, cycle("os^Dv"), strict=False):
        flows, *percent = np.array([(p["flow"], 100.0 * p["error"], 100.0 * p["half_step"]) for p in points]).T
        ax.errorbar(flows, *percent, fmt=mark, color=_BLUE, capsize=3, label=f"error{at}, ± half a display step")
    if of.indicator.display.cutoff:
        ax.axvspan(0.0, float(of.indicator.display.cutoff), color=_VERMILLION, alpha=0.2, label="displayed as zero")
    return _finish(ax, title, f"true flow, {of.indicator.reads}", "error of the flow, %")


def strouhal(of: ViscosityCurve, *, coverage_factor: float = 2.0, ax: Any = None) -> Any:
    """Return a picture of Strouhal over Roshko number: the common curve of runs, its band, and each run's points.

    Parameters
    ----------
    of, ax : ViscosityCurve, and the Axes to draw on, optional
    coverage_factor : float, half width of the band, scatter of the runs included, in standard uncertainties

    Examples
    --------
    >>> import fuelunits as fu
    >>> run = fu.MeterCurve([fu.CalibrationPoint(hz, 11250.0, 0.0005, 1.2, 20.0) for hz in (30.0, 100.0, 1000.0)])
    >>> strouhal(fu.ViscosityCurve([run], 0.0127, 20.0, 17e-6, known_scatter=0.001)).get_xlabel()
    'Roshko number f D²/ν, dimensionless'
    """
    ax = _axes(ax)
    from matplotlib.ticker import LogLocator

    numbers = np.geomspace(of.roshko_numbers.low, of.roshko_numbers.high, _POINTS)
    _band(ax, numbers, of.strouhal(numbers), coverage_factor * of.uncertainty_at_roshko(numbers), coverage_factor)
    for run, mark in zip(of.runs, cycle("os^Dv"), strict=False):
        at, found = run.points[0], of.strouhal_run(run)
        label = f"run at {at.viscosity_mm2_s:.3g} mm²/s, {at.temperature_c:.3g} °C"
        ax.plot(found.roshko, found.strouhal, mark, color=_ink(ax), fillstyle="none", label=label)
    ax.set_xscale("log", subs=[])
    ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    ax.xaxis.set_major_formatter("{x:g}")
    x, y = "Roshko number f D²/ν, dimensionless", "Strouhal number f D³/q, dimensionless"
    return _finish(ax, "Strouhal over Roshko", x, y)


def _band(ax: Any, x: Any, y: Any, relative: Any, coverage_factor: float) -> None:
    ax.plot(x, y, color=_BLUE, label="curve")
    label = f"± {coverage_factor:g} standard uncertainties"
    ax.fill_between(x, y * (1.0 - relative), y * (1.0 + relative), color=_BLUE, alpha=0.25, label=label)


def residuals(of: Calibration, *, ax: Any = None) -> Any:
    """Return a picture of how each run's K differs from the mean of a calibration, with the mean's uncertainty.

    Parameters
    ----------
    of, ax : Calibration, and the Axes to draw on, optional

    Examples
    --------
    >>> import fuelunits as fu
    >>> filling = dict(measure_volume_l=20.0, duration_s=60.0, liquid_temperature_c=22.0, measure_temperature_c=22.0)
    >>> expansions = dict(measure_expansion_per_k=50e-6, liquid_expansion_per_k=9e-4)
    >>> runs = [fu.VolumetricRun(pulses=n, **filling, **expansions) for n in (151_850, 151_862)]
    >>> residuals(fu.calibrate(runs)).get_ylabel()
    'K of the run less the mean, %'
    """
    mean, expanded = float(nominal(of.k_pulses_per_l)), 100.0 * of.expanded_uncertainty()
    found = [100.0 * (float(nominal(run.k_pulses_per_l)) / mean - 1.0) for run in of.runs]
    ax = _axes(ax)
    ax.axhspan(-expanded, expanded, color=_BLUE, alpha=0.25, label=f"U of the mean, k = {of.coverage_factor():.2f}")
    ax.axhline(0.0, color=_BLUE)
    ax.plot(range(1, len(found) + 1), found, "o", color=_ink(ax), label="run")
    ax.set_xticks(range(1, len(found) + 1))
    return _finish(ax, f"runs at {of.flow_l_per_h:.4g} L/h", "run, in order", "K of the run less the mean, %")


def flow(
    counts: PulseCounts,
    k_factor: KFactor | str,
    *,
    unit: str = "gal/h",
    low_flow_cutoff: Any = None,
    missed: Iterable[Irregularity] = (),
    usable: Any = None,
    low_fuel: Iterable[LowFuelByTime | LowFuelByQuantity] = (),
    ax: Any = None,
) -> Any:
    """Return a picture of a flight's flow, with missed pulses and the times at which low-fuel thresholds trip.

    Parameters
    ----------
    counts, k_factor, unit : PulseCounts, KFactor or str, and the unit of volume flow, str
    low_flow_cutoff : str or pint.Quantity, optional, lowest flow displayed; flow below it is drawn apart
    missed : iterable of Irregularity, of :meth:`fuelunits.meters.pulse_record.PulseRecord.missed_pulses`
    usable : str or pint.Quantity, optional, usable fuel at the start, by volume; needed for the thresholds
    low_fuel : iterable of LowFuelByTime, for which the flow of each interval counts, or LowFuelByQuantity, of volume
    ax : Axes, optional

    Examples
    --------
    >>> counts = PulseCounts([0.0, 3600.0, 7200.0], [431_860, 863_720])
    >>> ax = flow(counts, "43186 pulse/gal", usable="32 gal", low_fuel=[LowFuelByQuantity("6 gal")])
    >>> ax.get_legend_handles_labels()[1]
    ['flow', 'low fuel by quantity, 6 gal, by 120 min']
    """
    k_factor, minutes = k_factor_of(k_factor), counts.edges_s / 60.0
    flows = counts.frequency().flow(k_factor, unit)
    trips, ax = [_trips(threshold, counts, k_factor, usable) for threshold in low_fuel], _axes(ax)
    ax.stairs(flows, minutes, baseline=None, color=_BLUE, label="flow")
    if low_flow_cutoff is not None:
        cutoff = positive_number(positive(low_flow_cutoff, unit, name="low_flow_cutoff"), "low_flow_cutoff")
        ax.axhline(cutoff, color=_VERMILLION, linestyle="--", label=f"low-flow cutoff, {cutoff:g} {unit}")
        below = np.where(flows < cutoff, flows, np.nan)
        ax.stairs(below, minutes, baseline=None, color=_VERMILLION, linewidth=3.0, label="displayed as zero")
    gaps = [each.time_s / 60.0 for each in missed]
    if gaps:
        ax.plot(gaps, np.interp(gaps, minutes[1:], flows), "x", color=_ink(ax), markersize=9, label="missed pulses")
    for (label, at_s), dashes in zip(trips, cycle((":", "-.", (0, (8, 3)))), strict=False):
        ax.axvline(at_s / 60.0, color=_ink(ax), linestyle=dashes, linewidth=2.0, label=label)
    ax.set_ylim(bottom=0.0)
    return _finish(ax, "flow by pulses", "time, min", f"flow, {unit}")


def _trips(threshold: Any, counts: PulseCounts, k_factor: KFactor, usable: Any) -> tuple[str, float]:
    """Find the end of the first interval at which a threshold has tripped, s (NaN if none), and say so."""
    if usable is None:
        raise QuantityError('usable: a low-fuel threshold needs the usable fuel at the start, such as usable="50 gal"')
    litres = positive(usable, "L", name="usable") - counts.running_total / k_factor.per("L")
    if isinstance(threshold, LowFuelByTime):
        left = litres - counts.frequency().flow(k_factor, "L/min") * float(threshold.minutes)
    else:
        left = litres - float(convert_exact(threshold.number, threshold.unit, "L"))
    at_s = counts.edges_s[1:][left <= 0.0]
    return (
        (f"{threshold}, by {at_s[0] / 60.0:.0f} min", at_s[0]) if at_s.size else (f"{threshold}: not reached", np.nan)
    )
