"""Pictures of results, with matplotlib (extra ``plot``).

Each function draws on the axes that it is given, or on new ones, and returns them. It changes no setting of
matplotlib. The colours can be told apart by the colour-blind [okabe_ito_2008], and each line has a dash pattern or
a mark of its own, so that a picture can be printed in black.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import cycle
from typing import Any

import numpy as np

from fuelunits.amounts import convert_exact
from fuelunits.bench.calibration import Calibration
from fuelunits.checks.density_check import DensityCheck
from fuelunits.errors import MissingExtra, QuantityError
from fuelunits.fuels.grades import fuel
from fuelunits.indicators.low_fuel import LowFuelByQuantity, LowFuelByTime
from fuelunits.meters.counts import PulseCounts
from fuelunits.meters.curve import MeterCurve
from fuelunits.meters.k_factor import KFactor, k_factor_of
from fuelunits.meters.rhythm import Irregularity
from fuelunits.meters.viscosity_curve import ViscosityCurve
from fuelunits.quantities import positive
from fuelunits.uncertainty.budget import nominal
from fuelunits.units import factor

__all__ = ["check", "density", "error", "flow", "meter_curve", "residuals", "strouhal"]

_BLUE, _ORANGE, _GREEN, _VERMILLION, _BLACK = "#0072B2", "#E69F00", "#009E73", "#D55E00", "#000000"
_POINTS = 121


def _axes(ax: Any) -> Any:
    """Give the axes to draw on: those given, or those of a new figure."""
    if ax is not None:
        return ax
    try:
        import matplotlib.pyplot as plt
    except ImportError as missing:
        raise MissingExtra("a picture needs matplotlib: python -m pip install matplotlib") from missing
    return plt.subplots(layout="constrained")[1]


def _finish(ax: Any, title: str, x: str, y: str) -> Any:
    """Label the axes and place the legend below them, where it hides nothing."""
    ax.set_title(title)
    ax.set_xlabel(x)
    ax.set_ylabel(y)
    ax.grid(visible=True, alpha=0.3)
    ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.16), ncols=2, fontsize="small")
    return ax


def density(of: Any, *, between_c: tuple[float, float] | None = None, unit: str = "kg/m^3", ax: Any = None) -> Any:
    """Draw density over temperature, with what the specification allows.

    Parameters
    ----------
    of : str, Fuel, Batch or Blend
        The fuel.
    between_c : tuple of float, optional
        Lowest and highest temperature, °C; all its temperatures where left out.
    unit : str
        Unit of density.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure where left out.

    Returns
    -------
    matplotlib.axes.Axes

    Examples
    --------
    >>> ax = density("Jet A", unit="lb/gal")
    >>> ax.get_xlabel(), ax.get_ylabel()
    ('fuel temperature, °C', 'density, lb/gal')
    """
    found = fuel(of)
    low, high = between_c or (found.valid_temperatures_c.low, found.valid_temperatures_c.high)
    t, scale = np.linspace(low, high, _POINTS), factor("kg/m^3", unit)
    ax = _axes(ax)
    for label, liquid, style in _liquids(found):
        ax.plot(t, scale * liquid.density_kg_m3(t), label=label, **style)
    return _finish(ax, f"density of {found.name}", "fuel temperature, °C", f"density, {unit.replace('^3', '³')}")


def _liquids(of: Any) -> list[tuple[str, Any, dict[str, Any]]]:
    """Give the fuel and the edges of its specification, as far as there are any, each with its label and style."""
    lightest, densest = getattr(of, "limit_liquids", lambda: (None, None))()
    drawn = [
        ("typical" if hasattr(of, "typical") else of.name, of, {"color": _BLUE, "linewidth": 2.0}),
        ("lightest allowed", lightest, {"color": _BLACK, "linestyle": "--", "linewidth": 1.0}),
        ("densest allowed", densest, {"color": _BLACK, "linestyle": "-.", "linewidth": 1.0}),
    ]
    return [each for each in drawn if each[1] is not None]


def check(of: DensityCheck, *, ax: Any = None) -> Any:
    """Draw a check of a fixed density: the fuel's density with its limits, and the fixed one through it.

    Parameters
    ----------
    of : DensityCheck
        The check.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure where left out.

    Returns
    -------
    matplotlib.axes.Axes
        Shaded are the temperatures of the check at which the typical fuel is within the tolerance.

    Examples
    --------
    >>> from fuelunits.checks.density_check import check_density
    >>> ax = check(check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %"))
    >>> ax.get_title()
    '6.7 lb/gal for Jet A, tolerance 3 %: reject'
    """
    ax = density(of.fuel, between_c=of.between_c, unit=of.unit, ax=ax)
    assumed = of.assumed_kg_m3 * factor("kg/m^3", of.unit)
    ax.axhline(assumed, color=_VERMILLION, linestyle=":", linewidth=2.0, label=f"fixed density {of.written}")
    _shade_within(ax, of)
    title = f"{of.written} for {of.fuel.name}, tolerance {of.tolerance * 100:.3g} %: {of.verdict.value}"
    return _finish(ax, title, ax.get_xlabel(), ax.get_ylabel())


def _shade_within(ax: Any, of: DensityCheck) -> None:
    t = np.linspace(*of.between_c, 10 * _POINTS)
    tolerance = np.abs(of.assumed_kg_m3 / of.fuel.density_kg_m3(t) - 1.0) <= of.tolerance
    if tolerance.any():
        ax.axvspan(t[tolerance][0], t[tolerance][-1], color=_GREEN, alpha=0.15, label="typical fuel within tolerance")


def error(of: DensityCheck, *, ax: Any = None) -> Any:
    """Draw the relative error of a fixed density over temperature, with the tolerance.

    Parameters
    ----------
    of : DensityCheck
        The check.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure where left out.

    Returns
    -------
    matplotlib.axes.Axes
        The error in percent of the mass: above zero, the mass displayed is too high.

    Examples
    --------
    >>> from fuelunits.checks.density_check import check_density
    >>> ax = error(check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %"))
    >>> ax.get_ylabel()
    'error of the mass displayed, %'
    """
    ax = _axes(ax)
    t = np.linspace(*of.between_c, _POINTS)
    for label, liquid, style in _liquids(of.fuel):
        ax.plot(t, 100.0 * (of.assumed_kg_m3 / liquid.density_kg_m3(t) - 1.0), label=label, **style)
    ax.axhspan(-100.0 * of.tolerance, 100.0 * of.tolerance, color=_GREEN, alpha=0.15, label="tolerance")
    ax.axhline(0.0, color=_VERMILLION, linestyle=":")
    title = f"error of {of.written} for {of.fuel.name}"
    return _finish(ax, title, "fuel temperature, °C", "error of the mass displayed, %")


def meter_curve(of: MeterCurve, *, coverage_factor: float = 2.0, unit: str = "L/h", ax: Any = None) -> Any:
    """Draw K over flow, with the calibrated points and the band of its uncertainty.

    Parameters
    ----------
    of : MeterCurve
        The curve.
    coverage_factor : float
        Half width of the band in standard uncertainties; 2 is about 95 %.
    unit : str
        Unit of volume flow; K is per the same unit of volume.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure where left out.

    Returns
    -------
    matplotlib.axes.Axes

    Examples
    --------
    >>> from fuelunits.meters.points import CalibrationPoint
    >>> points = [CalibrationPoint(hz, k, 0.0005) for hz, k in [(30.0, 7300.0), (100.0, 7500.0), (1000.0, 7600.0)]]
    >>> ax = meter_curve(MeterCurve(points), unit="gal/h")
    >>> ax.get_xlabel(), ax.get_ylabel()
    ('flow, gal/h', 'K, pulse/gal')
    """
    hz = np.geomspace(of.frequencies_hz.low, of.frequencies_hz.high, _POINTS)
    volume = unit.partition("/")[0]
    k_scale, flow_scale = 1.0 / factor("L", volume), factor("L/s", unit)
    k, u = k_scale * of.k_pulses_per_l(hz), coverage_factor * of.relative_uncertainty(hz)
    ax = _axes(ax)
    _band(ax, flow_scale * of.flow_l_s(hz), k, u, coverage_factor)
    flows = [flow_scale * point.flow_l_s for point in of.points]
    ax.plot(flows, [k_scale * point.k_pulses_per_l for point in of.points], "o", color=_BLACK, label="calibrated")
    return _finish(ax, "K over flow", f"flow, {unit}", f"K, pulse/{volume}")


def strouhal(of: ViscosityCurve, *, coverage_factor: float = 2.0, ax: Any = None) -> Any:
    """Draw Strouhal over Roshko number: the common curve of several runs, its band, and each run's points.

    Parameters
    ----------
    of : ViscosityCurve
        The curve.
    coverage_factor : float
        Half width of the band in standard uncertainties; 2 is about 95 %. The band holds the scatter of the runs.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure where left out.

    Returns
    -------
    matplotlib.axes.Axes

    Examples
    --------
    >>> from fuelunits.meters.points import CalibrationPoint
    >>> run = MeterCurve([
    ...     CalibrationPoint(hz, k, 0.0005, viscosity_mm2_s=1.2, temperature_c=20.0)
    ...     for hz, k in [(30.0, 7300.0), (100.0, 7500.0), (1000.0, 7600.0)]
    ... ])
    >>> ax = strouhal(ViscosityCurve([run], 0.0127, reference_c=20.0, expansion_per_k=17e-6, known_scatter=0.001))
    >>> ax.get_xlabel()
    'Roshko number f D²/ν, dimensionless'
    """
    ax = _axes(ax)
    first = of.runs[0].points[0]
    t_c, mm2_s = float(first.temperature_c or 0.0), float(first.viscosity_mm2_s or 1.0)
    numbers = np.geomspace(of.roshko_numbers.low, of.roshko_numbers.high, _POINTS)
    hz = numbers * 1e-6 * mm2_s / of.diameter_m_at(t_c) ** 2
    u = coverage_factor * of.relative_uncertainty(hz, mm2_s, t_c, out_of_range="nan")
    _band(ax, numbers, of.strouhal(numbers), u, coverage_factor)
    for run, mark in zip(of.runs, cycle("os^Dv"), strict=False):
        st = [1000.0 * p.k_pulses_per_l * of.diameter_m_at(p.temperature_c) ** 3 for p in run.points]
        ro = [
            p.frequency_hz * of.diameter_m_at(p.temperature_c) ** 2 / (1e-6 * (p.viscosity_mm2_s or 1.0))
            for p in run.points
        ]
        at = run.points[0]
        label = f"run at {at.viscosity_mm2_s:.3g} mm²/s, {at.temperature_c:.3g} °C"
        ax.plot(ro, st, mark, color=_BLACK, fillstyle="none", label=label)
    ax.set_xscale("log")
    return _finish(
        ax, "Strouhal over Roshko", "Roshko number f D²/ν, dimensionless", "Strouhal number f D³/q, dimensionless"
    )


def _band(ax: Any, x: Any, y: Any, relative: Any, coverage_factor: float) -> None:
    ax.plot(x, y, color=_BLUE, label="curve")
    label = f"± {coverage_factor:g} standard uncertainties"
    ax.fill_between(x, y * (1.0 - relative), y * (1.0 + relative), color=_BLUE, alpha=0.2, label=label)


def residuals(of: Calibration, *, ax: Any = None) -> Any:
    """Draw by how much each run's K differs from the mean of a calibration, with the expanded uncertainty of that.

    Parameters
    ----------
    of : Calibration
        The calibration, at one flow.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure where left out.

    Returns
    -------
    matplotlib.axes.Axes
        In the order of the runs, where a drift shows.

    Examples
    --------
    >>> from fuelunits.bench.calibration import calibrate
    >>> from fuelunits.bench.volumetric import VolumetricRun
    >>> ax = residuals(calibrate(
    ...     VolumetricRun(
    ...         pulses=pulses, measure_volume_l=20.0, duration_s=60.0, liquid_temperature_c=22.0,
    ...         measure_temperature_c=22.0, measure_expansion_per_k=50e-6, liquid_expansion_per_k=9e-4,
    ...     )
    ...     for pulses in (151_850, 151_862, 151_845)
    ... ))
    >>> ax.get_ylabel()
    'K of the run less the mean, %'
    """
    mean, expanded = float(nominal(of.k_pulses_per_l)), 100.0 * of.expanded_uncertainty()
    found = [100.0 * (float(nominal(run.k_pulses_per_l)) / mean - 1.0) for run in of.runs]
    ax = _axes(ax)
    ax.axhspan(-expanded, expanded, color=_BLUE, alpha=0.2, label=f"U of the mean, k = {of.coverage_factor():.2f}")
    ax.axhline(0.0, color=_BLUE)
    ax.plot(range(1, len(found) + 1), found, "o", color=_BLACK, label="run")
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
    """Draw a flight's flow, with the low-flow cutoff, missed pulses and the times at which low-fuel thresholds trip.

    Parameters
    ----------
    counts : PulseCounts
        Pulses between known times.
    k_factor : KFactor or str
        The K-factor, or its text.
    unit : str
        Unit of volume flow.
    low_flow_cutoff : str or pint.Quantity, optional
        The lowest flow that the indicator shows; flow below it is drawn apart.
    missed : iterable of Irregularity
        As :meth:`fuelunits.meters.pulse_record.PulseRecord.missed_pulses` gives them.
    usable : str or pint.Quantity, optional
        Usable fuel at the start, by volume; needed for the thresholds.
    low_fuel : iterable of LowFuelByTime or LowFuelByQuantity
        Thresholds; the flow of each interval counts for one by time. One by quantity is of volume.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure where left out.

    Returns
    -------
    matplotlib.axes.Axes

    Raises
    ------
    QuantityError
        If there are thresholds without usable fuel.

    Examples
    --------
    >>> k = KFactor(43_186, per="gal")
    >>> counts = PulseCounts([0.0, 3600.0, 7200.0], [431_860, 863_720])
    >>> ax = flow(counts, k, usable="32 gal", low_fuel=[LowFuelByQuantity("10 gal")])
    >>> ax.get_legend_handles_labels()[1]
    ['flow', 'low fuel by quantity, 10 gal, by 120 min']
    """
    ax, k_factor = _axes(ax), k_factor_of(k_factor)
    minutes = counts.edges_s / 60.0
    flows = counts.frequency().flow(k_factor, unit)
    ax.stairs(flows, minutes, baseline=None, color=_BLUE, label="flow")
    if low_flow_cutoff is not None:
        cutoff = float(positive(low_flow_cutoff, unit, name="low_flow_cutoff"))
        ax.axhline(cutoff, color=_VERMILLION, linestyle="--", label=f"low-flow cutoff, {cutoff:g} {unit}")
        below = np.where(flows < cutoff, flows, np.nan)
        ax.stairs(below, minutes, baseline=None, color=_VERMILLION, linewidth=3.0, label="displayed as zero")
    gaps = [each.time_s / 60.0 for each in missed]
    if gaps:
        ax.plot(gaps, np.interp(gaps, minutes[1:], flows), "x", color=_BLACK, markersize=9, label="missed pulses")
    for threshold, dashes in zip(low_fuel, cycle((":", "-.", "--")), strict=False):
        label, at = _trips(threshold, counts, k_factor, usable)
        if at is not None:
            ax.axvline(at / 60.0, color=_ORANGE, linestyle=dashes, linewidth=2.0)
        ax.plot([], [], color=_ORANGE, linestyle=dashes, linewidth=2.0, label=label)
    ax.set_ylim(bottom=0.0)
    return _finish(ax, "flow by pulses", "time, min", f"flow, {unit}")


def _trips(
    threshold: LowFuelByTime | LowFuelByQuantity, counts: PulseCounts, k_factor: KFactor, usable: Any
) -> tuple[str, float | None]:
    """Find the end of the first interval at which a threshold has tripped, s, and say so."""
    if usable is None:
        raise QuantityError(
            'usable: a low-fuel threshold needs the usable fuel at the start; write usable="50 gal", say'
        )
    litres = positive(usable, "L", name="usable") - counts.running_total / k_factor.per("L")
    limit: Any
    if isinstance(threshold, LowFuelByTime):
        limit = counts.frequency().flow(k_factor, "L/min") * float(threshold.minutes)
    else:
        limit = float(convert_exact(threshold.number, threshold.unit, "L"))
    tripped = np.flatnonzero(litres <= limit)
    if not tripped.size:
        return f"{threshold}: not reached", None
    at = float(counts.edges_s[1:][tripped[0]])
    return f"{threshold}, by {at / 60.0:.0f} min", at
