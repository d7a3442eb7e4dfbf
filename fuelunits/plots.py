"""Pictures of results, with matplotlib (extra ``plot``).

Each function draws the result `of`, in a `unit`, on the matplotlib Axes `ax` or, without them, on a new figure with the
caution, and returns the Axes; a picture of several takes and returns `axes`. No setting of matplotlib is changed. The
colours can be told apart by the colour-blind [okabe_ito_2008], and each line in black print by its dashes or mark.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import cycle, groupby
from textwrap import fill
from typing import Any

import numpy as np

from fuelunits.bench.calibration import Calibration
from fuelunits.checks.density_check import DensityCheck
from fuelunits.conversion import convert_exact, flow_unit_name
from fuelunits.errors import MissingExtra, QuantityError
from fuelunits.fuels.grades import fuel
from fuelunits.indicators.capacitance import CapacitanceGauge
from fuelunits.indicators.endurance import LowFuelByQuantity, LowFuelByTime
from fuelunits.indicators.indications import BestSetting
from fuelunits.meters.counts import PulseCounts
from fuelunits.meters.curve import MeterCurve
from fuelunits.meters.k_factor import KFactor, k_factor_of
from fuelunits.meters.viscosity_curve import ViscosityCurve
from fuelunits.quantities import positive
from fuelunits.records.history import TransducerHistory, unit_of
from fuelunits.reports import CAUTION, format_percent
from fuelunits.uncertainty.budget import nominal
from fuelunits.units import factor
from fuelunits.validation import check_type, positive_number, print_unit

__all__ = ["check", "density", "flow", "gauge", "history", "meter_curve", "residuals", "setting", "strouhal"]

_BLUE, _GREEN, _VERMILLION = "#0072B2", "#009E73", "#D55E00"
_POINTS = 121


def _axes(ax: Any, of: Any, kind: type, columns: int = 1) -> Any:
    """Return the axes to draw an answer of a kind on: those given, or a new figure's with the caution at its foot."""
    check_type(of, kind, "a picture", f"a {kind.__name__}")
    if ax is not None:
        return ax
    try:
        import matplotlib.pyplot as plt
        from matplotlib.layout_engine import ConstrainedLayoutEngine
    except ImportError as missing:
        raise MissingExtra("a picture needs matplotlib: python -m pip install matplotlib") from missing
    size = (4.0 * columns, 4.8) if columns > 1 else None
    figure, ax = plt.subplots(1, columns, figsize=size, layout=ConstrainedLayoutEngine(rect=(0.0, 0.06, 1.0, 0.94)))
    figure.text(0.5, 0.01, fill(CAUTION, 110), ha="center", va="bottom", fontsize=6.0)
    return ax


def _finish(ax: Any, title: str, x: str, y: str) -> Any:
    """Label the axes, with the legend below them where the layout leaves space for it, else within."""
    from matplotlib.font_manager import FontProperties

    def folded(text: str, letter: float) -> str:  # in lines that are no wider than the axes
        width = 72.0 * ax.get_window_extent().width / ax.figure.dpi
        return fill(text, max(int(width / (0.55 * letter)), 10))  # the mean width of a letter, in font sizes

    ax.set(title=folded(title, ax.title.get_fontsize()), xlabel=x, ylabel=y)
    ax.grid(visible=True, alpha=0.3)
    handles, labels = ax.get_legend_handles_labels()
    size = FontProperties(size="small").get_size_in_points()
    place: dict[str, Any] = {"loc": "best", "framealpha": 0.7}
    if has_layout := ax.figure.get_layout_engine() is not None:
        place = {"loc": "upper center", "bbox_to_anchor": (0.5, 0.0), "borderaxespad": 5.0, "ncols": 2}
    ax.legend(handles, [folded(each, (2.5 if has_layout else 1.5) * size) for each in labels], fontsize=size, **place)
    return ax


def density(of: Any, *, unit: str = "kg/m^3", ax: Any = None) -> Any:
    """Return a picture of density over all valid temperatures, with the limits of the specification.

    Examples
    --------
    >>> density("Jet A", unit="lb/gal").get_ylabel()
    'density, lb/gal'
    """
    found = fuel(of)
    ax, valid = _axes(ax, found, object), found.valid_temperatures_c
    _liquids(ax, found, np.linspace(valid.low, valid.high, _POINTS), unit)
    return _finish(ax, f"density of {found.name}", "fuel temperature, °C", f"density, {print_unit(unit)}")


def _liquids(ax: Any, of: Any, t: Any, unit: str) -> None:
    """Draw the densities of the fuel and of the edges of its specification, as far as there are any."""
    lightest, densest = getattr(of, "limit_liquids", (None, None))
    for label, liquid, color, dashes, width in (
        ("typical" if hasattr(of, "typical") else of.name, of, _BLUE, "-", 2.0),
        ("lightest allowed", lightest, ax.xaxis.label.get_color(), "--", 1.0),
        ("densest allowed", densest, ax.xaxis.label.get_color(), "-.", 1.0),
    ):
        if liquid is not None:
            density = factor("kg/m^3", unit) * liquid.density_kg_m3(t)
            ax.plot(t, density, label=label, color=color, linestyle=dashes, linewidth=width)


def check(of: DensityCheck, *, ax: Any = None) -> Any:
    """Return a picture of a fixed density, the fuel's with its limits, and the temperatures within tolerance.

    Examples
    --------
    >>> from fuelunits import check_density
    >>> check(check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")).get_title()
    '6.7 lb/gal for Jet A, tolerance 3 %: reject'
    """
    ax, t = _axes(ax, of, DensityCheck), np.linspace(*of.between_c, 10 * _POINTS)
    _liquids(ax, of.fuel, t, of.unit)
    fixed = factor("kg/m^3", of.unit) * of.assumed_kg_m3
    ax.axhline(fixed, color=_VERMILLION, linestyle=":", linewidth=2.0, label=f"fixed density {of.written}")
    within = np.abs(of.assumed_kg_m3 / of.fuel.density_kg_m3(t) - 1.0) <= of.tolerance
    if within.any():
        ax.axvspan(t[within][0], t[within][-1], color=_GREEN, alpha=0.2, label="typical fuel within tolerance")
    title = f"{of.written} for {of.fuel.name}, tolerance {format_percent(of.tolerance)}: {of.verdict.value}"
    return _finish(ax, title, "fuel temperature, °C", f"density, {print_unit(of.unit)}")


def gauge(of: CapacitanceGauge, *, axes: Any = None) -> Any:
    """Return a picture of a capacitance gauge: level, capacitance and mass displayed over volume.

    Examples
    --------
    >>> import fuelunits as fu
    >>> tank = fu.TankTable("left", [("0 mm", "0 L"), ("300 mm", "120 L")])
    >>> axes = gauge(fu.CapacitanceGauge(tank, [fu.Probe("48 pF", "0 mm", "300 mm")], "Jet A", "15 degC"))
    >>> axes[1].get_ylabel()
    'capacitance, pF'
    """
    axes, levels = _axes(axes, of, CapacitanceGauge, 3), np.linspace(*of.wetted_mm, _POINTS)
    litres, pf = np.array([(of.tank.volume_l_at(mm), of.capacitance_pf(mm)) for mm in levels]).T
    displayed_l = np.maximum(litres - of.tank.unusable_l, 0.0)
    drawn = {"level, mm": levels, "capacitance, pF": pf, "mass displayed, kg": displayed_l * of.density_kg_m3 / 1e3}
    for ax, (label, values) in zip(axes, drawn.items(), strict=True):
        name = label.partition(",")[0]
        ax.plot(litres, values, color=_BLUE, label=f"{name} with {fuel(of.fuel).name} at {of.at}")
        _finish(ax, f"{name}, {of.tank.name}", "volume, L", label)
    return axes


def history(of: TransducerHistory, *, ax: Any = None) -> Any:
    """Return a picture of K over date, with U of each calibration and the drift since the last repair.

    Examples
    --------
    >>> import fuelunits as fu
    >>> history(fu.TransducerHistory("A-0117", [])).get_ylabel()
    'K, pulse/L'
    """
    ax, unit, drift = _axes(ax, of, TransducerHistory), unit_of(of.calibrations), of.drift()
    days = np.array([event.date for event in of.events], dtype="datetime64[D]")
    k = np.array([each.k_factor.per(unit) for each in of.calibrations])
    bars, ink = k * [each.expanded_uncertainty() for each in of.calibrations], ax.xaxis.label.get_color()
    ax.errorbar(days, k, yerr=bars if len(k) else None, fmt="o", color=ink, capsize=3, label="K with U")
    if drift is not None:
        years = (days - days[0])[-drift.calibrations :].astype(float) / 365.25
        line = k[-drift.calibrations :].mean() * (1.0 + drift.per_year * (years - years.mean()))
        label = f"drift {format_percent(drift.per_year, signed=True)} per year"
        ax.plot(days[-drift.calibrations :], line, "--", color=_BLUE, label=label)
    for event, day in zip(of.events, days, strict=True):
        if event.repaired:
            ax.axvline(day, color=_VERMILLION, linestyle=":", label=f"repaired before {event.date}")
    ax.tick_params(axis="x", rotation=30)
    return _finish(ax, f"transducer {of.serial}", "date", f"K, pulse/{unit}")


def meter_curve(of: MeterCurve, *, unit: str = "L/h", ax: Any = None) -> Any:
    """Return a picture of K over flow, with the calibrated points and a band of two standard uncertainties.

    Examples
    --------
    >>> import fuelunits as fu
    >>> points = [fu.CalibrationPoint(hz, k, 0.0005) for hz, k in [(30.0, 10950.0), (100.0, 11250.0), (1e3, 11400.0)]]
    >>> meter_curve(fu.MeterCurve(points), unit="gal/h").get_ylabel()
    'K, pulse/gal'
    """
    ax, volume = _axes(ax, of, MeterCurve), flow_unit_name(unit).partition("/")[0]
    hz = np.geomspace(of.frequencies_hz.low, of.frequencies_hz.high, _POINTS)
    k_scale, flow_scale = 1.0 / factor("L", volume), factor("L/s", unit)
    _band(ax, flow_scale * of.flow_l_s(hz), k_scale * of.k_pulses_per_l(hz), of.relative_uncertainty(hz))
    points = np.array([(flow_scale * each.flow_l_s, k_scale * each.k_pulses_per_l) for each in of.points])
    ax.plot(*points.T, "o", color=ax.xaxis.label.get_color(), label="calibrated")
    return _finish(ax, "K over flow", f"flow, {unit}", f"K, pulse/{volume}")


def setting(of: BestSetting, *, ax: Any = None) -> Any:
    """Return a picture of the remaining errors of a best setting at each flow and temperature, and of the cutoff.

    Examples
    --------
    >>> import fuelunits as fu
    >>> curve = fu.MeterCurve([fu.CalibrationPoint(hz, k, 0.0005) for hz, k in [(50.0, 11250.0), (600.0, 11420.0)]])
    >>> l_h = fu.Indicator("11412 pulse/L", reads="L/h")
    >>> setting(fu.best_setting(l_h, curve, ["25 L/h", "60 L/h"], k_step="1 pulse/L")).get_title()
    'enter 11311 pulse/L'
    """
    ax, title = _axes(ax, of, BestSetting), of.report().verdict.partition(":")[0]
    states = groupby(of.points, lambda point: "" if np.isnan(point["at_c"]) else f" at {point['at_c']:g} °C")
    for (at, points), mark in zip(states, cycle("os^Dv"), strict=False):
        flows, errors, half = np.array([(p["flow"], 100.0 * p["error"], 100.0 * p["half_step"]) for p in points]).T
        bars, label = ([2.0 * half, 0.0 * half], "less up to a") if of.indicator.truncates else (half, "± half a")
        ax.errorbar(flows, errors, bars, fmt=mark, color=_BLUE, capsize=3, label=f"error{at}, {label} display step")
    if of.indicator.display.cutoff:
        ax.axvspan(0.0, float(of.indicator.display.cutoff), color=_VERMILLION, alpha=0.2, label="displayed as zero")
    return _finish(ax, title, f"true flow, {of.indicator.reads}", "error of the flow, %")


def strouhal(of: ViscosityCurve, *, ax: Any = None) -> Any:
    """Return a picture of Strouhal over Roshko number: the common curve of runs, its U with scatter, and the points.

    Examples
    --------
    >>> import fuelunits as fu
    >>> run = fu.MeterCurve([fu.CalibrationPoint(hz, 11250.0, 0.0005, 1.2, 20.0) for hz in (30.0, 100.0, 1000.0)])
    >>> strouhal(fu.ViscosityCurve([run], 0.0127, 20.0, 17e-6, known_scatter=0.001)).get_xlabel()
    'Roshko number f D²/ν, dimensionless'
    """
    ax, numbers = _axes(ax, of, ViscosityCurve), np.geomspace(of.roshko_numbers.low, of.roshko_numbers.high, _POINTS)
    _band(ax, numbers, of.strouhal(numbers), of.uncertainty_at_roshko(numbers))
    for run, mark in zip(of.runs, cycle("os^Dv"), strict=False):
        at, found = run.points[0], of.strouhal_run(run)
        label = f"run at {at.viscosity_mm2_s:.3g} mm²/s, {at.temperature_c:.3g} °C"
        ax.plot(found.x, found.y, mark, color=ax.xaxis.label.get_color(), fillstyle="none", label=label)
    ax.set_xscale("log", subs=[])
    ax.xaxis.get_major_locator().set_params(subs=(1.0, 2.0, 5.0))
    ax.xaxis.set_major_formatter("{x:g}")
    x, y = "Roshko number f D²/ν, dimensionless", "Strouhal number f D³/q, dimensionless"
    return _finish(ax, "Strouhal over Roshko", x, y)


def _band(ax: Any, x: Any, y: Any, u: Any) -> None:
    ax.plot(x, y, color=_BLUE, label="curve")
    edges = y * (1.0 - 2.0 * u), y * (1.0 + 2.0 * u)
    ax.fill_between(x, *edges, color=_BLUE, alpha=0.25, label="± 2 standard uncertainties")


def residuals(of: Calibration, *, ax: Any = None) -> Any:
    """Return a picture of how each run's K differs from the mean of a calibration, with the mean's uncertainty.

    Examples
    --------
    >>> import fuelunits as fu
    >>> common = dict(duration_s=300.0, liquid_temperature_c=20.0, liquid_density_kg_m3=800.0, air_density_kg_m3=1.2)
    >>> runs = [fu.GravimetricRun(pulses=n, mass_reading_kg=7.0, **common) for n in (100_000, 100_012)]
    >>> residuals(fu.calibrate(runs)).get_ylabel()
    'K of the run less the mean, %'
    """
    ax, mean = _axes(ax, of, Calibration), float(nominal(of.k_pulses_per_l))
    found = [100.0 * (float(nominal(run.k_pulses_per_l)) / mean - 1.0) for run in of.runs]
    expanded, numbers = 100.0 * of.expanded_uncertainty(), range(1, len(found) + 1)
    ax.axhspan(-expanded, expanded, color=_BLUE, alpha=0.25, label=f"U of the mean, k = {of.coverage_factor():.2f}")
    ax.axhline(0.0, color=_BLUE)
    ax.plot(numbers, found, "o", color=ax.xaxis.label.get_color(), label="run")
    ax.set_xticks(numbers)
    title = f"runs at {of.flow_l_per_h * factor('L', of.unit):.4g} {of.unit}/h"
    return _finish(ax, title, "run, in order", "K of the run less the mean, %")


def flow(
    counts: PulseCounts,
    k_factor: KFactor | str,
    *,
    unit: str = "gal/h",
    low_flow_cutoff: Any = None,
    usable: Any = None,
    low_fuel: Sequence[LowFuelByTime | LowFuelByQuantity] = (),
    ax: Any = None,
) -> Any:
    """Return a picture of a flight's flow, with the times at which low-fuel thresholds trip.

    Parameters
    ----------
    counts, k_factor : PulseCounts, and KFactor or str
    low_flow_cutoff : str or pint.Quantity, optional, lowest flow displayed; flow below it is drawn apart
    usable : str or pint.Quantity, optional, usable fuel at the start, by volume; needed for the thresholds
    low_fuel : sequence of LowFuelByTime, for which the flow of each interval counts, or LowFuelByQuantity, of volume

    Examples
    --------
    >>> counts = PulseCounts([0.0, 3600.0, 7200.0], [431_860, 863_720])
    >>> ax = flow(counts, "43186 pulse/gal", usable="32 gal", low_fuel=[LowFuelByQuantity("6 gal")])
    >>> ax.get_legend_handles_labels()[1]
    ['flow', 'low fuel by quantity, 6 gal, by 120 min']
    """
    ax, k_factor, minutes = _axes(ax, counts, PulseCounts), k_factor_of(k_factor), counts.edges_s / 60.0
    flows, ends = counts.frequency().flow(k_factor, unit), [_tripped_min(e, counts, k_factor, usable) for e in low_fuel]
    ax.stairs(flows, minutes, baseline=None, color=_BLUE, label="flow")
    if low_flow_cutoff is not None:
        cutoff = positive_number(positive(low_flow_cutoff, unit, name="low_flow_cutoff"), "low_flow_cutoff")
        ax.axhline(cutoff, color=_VERMILLION, linestyle="--", label=f"low-flow cutoff, {cutoff:g} {unit}")
        below = np.where(flows < cutoff, flows, np.nan)
        ax.stairs(below, minutes, baseline=None, color=_VERMILLION, linewidth=3.0, label="displayed as zero")
    for threshold, at, dashes in zip(low_fuel, ends, cycle((":", "-.", (0, (8, 3)))), strict=False):
        words = f"{threshold}: not reached" if np.isnan(at) else f"{threshold}, by {at:.0f} min"
        words += " or earlier: what passed in an interval is not known" if np.isnan(flows).any() else ""
        ax.axvline(at, color=ax.xaxis.label.get_color(), linestyle=dashes, linewidth=2.0, label=words)
    ax.set_ylim(bottom=0.0)
    return _finish(ax, "flow by pulses", "time, min", f"flow, {unit}")


def _tripped_min(threshold: Any, counts: PulseCounts, k_factor: KFactor, usable: Any) -> float:
    """Return the end of the first interval at which a threshold has tripped, in minutes; NaN if none."""
    if usable is None:
        raise QuantityError('usable: a low-fuel threshold needs the usable fuel at the start, such as usable="50 gal"')
    left = positive(usable, "L", name="usable") - np.cumsum(counts.counts) / k_factor.per("L")
    if isinstance(threshold, LowFuelByTime):
        left -= counts.frequency().flow(k_factor, "L/min") * float(threshold.minutes)
    else:
        check_type(threshold, LowFuelByQuantity, "each of low_fuel", 'LowFuelByQuantity("4 gal")')
        left -= float(convert_exact(threshold.number, threshold.unit, "L"))
    return float(min(counts.edges_s[1:][left <= 0.0], default=np.nan)) / 60.0
