"""Pictures: what is drawn is what the results say, on the axes given, with no setting changed."""

import sys
from itertools import pairwise

import numpy as np
import pytest

import fuelunits as fu
from fuelunits.errors import MissingExtra, QuantityError

matplotlib = pytest.importorskip("matplotlib")
matplotlib.use("Agg")
import matplotlib.pyplot as plt  # noqa: E402

from fuelunits import plots  # noqa: E402

K = fu.KFactor(43_200, per="gal")
CHECK = fu.check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")
CURVE = fu.MeterCurve(
    [fu.CalibrationPoint(hz, k, 0.001) for hz, k in [(30.0, 7300.0), (100.0, 7500.0), (900.0, 7600.0)]]
)


@pytest.fixture
def ax():
    figure, axes = plt.subplots()
    yield axes
    plt.close(figure)


@pytest.fixture(autouse=True)
def no_setting_is_changed():
    before = dict(matplotlib.rcParams)
    yield
    plt.close("all")
    assert dict(matplotlib.rcParams) == before


def line(axes, label):
    """Give the data of the line with a label."""
    (found,) = [each for each in axes.lines if str(each.get_label()).startswith(label)]
    return np.asarray(found.get_xdata()), np.asarray(found.get_ydata())


def labels(axes):
    return axes.get_legend_handles_labels()[1]


def test_density_with_its_limits(ax):
    assert plots.density("Jet A", ax=ax) is ax
    t, drawn = line(ax, "typical")
    assert (t[0], t[-1]) == (fu.fuel("Jet A").valid_temperatures_c.low, fu.fuel("Jet A").valid_temperatures_c.high)
    np.testing.assert_allclose(drawn, fu.fuel("Jet A").density_kg_m3(t), rtol=1e-14)
    assert line(ax, "lightest")[1][-1] == pytest.approx(fu.fuel("Jet A").density_limits_kg_m3(t[-1])[0])
    assert line(ax, "densest")[1][-1] == pytest.approx(fu.fuel("Jet A").density_limits_kg_m3(t[-1])[1])


def test_density_of_a_batch_a_blend_and_a_grade_without_limits(ax):
    batch = fu.fuel("Jet A").measured("0.812 kg/L", at="22 degC", by="hydrometer")
    plots.density(batch, ax=ax)
    assert labels(ax) == ["measured Jet A"]
    assert labels(plots.density(fu.blend({"Jet A": 0.5, "HEFA-SPK": 0.5}))) == ["blend of Jet A and HEFA-SPK"]
    assert labels(plots.density("100LL")) == ["typical"]


def test_a_check_is_drawn_with_its_fixed_density_and_shaded_where_it_holds(ax):
    assert plots.check(CHECK, ax=ax) is ax
    assert line(ax, "fixed density")[1][0] == pytest.approx(6.7)
    (shade,) = [each for each in ax.patches if each.get_label().startswith("typical fuel within")]
    cold, warm = shade.get_extents().transformed(ax.transData.inverted()).intervalx
    assert CHECK.assumed_kg_m3 / CHECK.fuel.density_kg_m3(cold) - 1.0 == pytest.approx(-0.03, abs=1e-4)
    assert warm == pytest.approx(40.0)
    assert "reject" in ax.get_title()


def test_a_check_that_holds_nowhere_is_not_shaded(ax):
    nowhere = fu.check_density("7 lb/gal", "Jet A", between=("10 degC", "20 degC"), tolerance="0.1 %")
    assert not [each for each in plots.check(nowhere, ax=ax).patches if "tolerance" in str(each.get_label())]


def test_a_meter_curve_with_its_band(ax):
    plots.meter_curve(CURVE, unit="gph", ax=ax)
    flow, k = line(ax, "calibrated")
    assert flow[0] == pytest.approx(CURVE.points[0].flow_l_s * fu.factor("L/s", "gal/h"))
    assert k[0] == pytest.approx(7300.0 * fu.factor("gal", "L"))
    band = ax.collections[0].get_paths()[0].vertices[:, 1]
    assert np.isclose(band, k[0] * (1.0 - 0.002), rtol=1e-9).any()
    assert band.min() < k[0] * (1.0 - 0.002)  # wider between the points


def test_strouhal_over_roshko_passes_through_its_points(ax):
    points = [
        fu.CalibrationPoint(hz, k, 0.0008, 1.2, 20.0) for hz, k in [(40.0, 7480.0), (100.0, 7570.0), (400.0, 7610.0)]
    ]
    curve = fu.ViscosityCurve.from_points(points, 0.0127, reference_c=20.0, expansion_per_k=17e-6, known_scatter=0.001)
    plots.strouhal(curve, ax=ax)
    number, st = line(ax, "run at")
    np.testing.assert_allclose(st, curve.strouhal(number), rtol=1e-12)
    assert ax.get_xscale() == "log"


def test_residuals_are_those_of_the_runs(ax):
    found = fu.calibrate(
        fu.VolumetricRun(
            pulses=pulses,
            measure_volume_l=20.0,
            duration_s=60.0,
            liquid_temperature_c=22.0,
            measure_temperature_c=22.0,
            measure_expansion_per_k=50e-6,
            liquid_expansion_per_k=9e-4,
        )
        for pulses in (151_850, 151_862, 151_844)
    )
    plots.residuals(found, ax=ax)
    runs, off = line(ax, "run")
    assert list(runs) == [1, 2, 3]
    np.testing.assert_allclose(off, [100.0 * (p / 151_852.0 - 1.0) for p in (151_850, 151_862, 151_844)], atol=1e-9)


def flight():
    minutes = np.arange(61.0)
    return fu.PulseCounts(60.0 * minutes, np.where(minutes[1:] <= 50, 7200, 720))


def test_a_flight_with_cutoff_and_thresholds(ax):
    thresholds = [fu.LowFuelByQuantity("4 gal"), fu.LowFuelByTime("10 min"), fu.LowFuelByQuantity("1 gal")]
    plots.flow(
        flight(),
        K,
        low_flow_cutoff="2 gal/h",
        usable="10 gal",
        low_fuel=thresholds,
        ax=ax,
    )
    told = labels(ax)
    assert "low-flow cutoff, 2 gal/h" in told
    assert "low fuel by quantity, 4 gal, by 36 min" in told  # 6 gal at 10 gal/h
    assert "low fuel by time, 10 min, by 50 min" in told  # 10 min of 10 gal/h are left of 10 gal
    assert "low fuel by quantity, 1 gal: not reached" in told


def test_a_flight_alone_and_thresholds_without_fuel(ax):
    plots.flow(flight(), K, ax=ax)
    assert labels(ax) == ["flow"]
    with pytest.raises(QuantityError, match="usable"):
        plots.flow(flight(), K, low_fuel=[fu.LowFuelByTime("10 min")])
    with pytest.raises(QuantityError, match="low_fuel"):
        plots.flow(flight(), K, usable="10 gal", low_fuel=["4 gal"])


def test_a_gauge_has_level_capacitance_and_mass_side_by_side():
    tank = fu.TankTable("left", [("0 mm", "0 L"), ("100 mm", "40 L")])
    gauge = fu.CapacitanceGauge(tank, [fu.Probe("42 pF", "0 mm", "100 mm")], "Jet A", "15 degC", stray="3 pF")
    axes = plots.gauge(gauge)
    for each, unit, full in zip(axes, ("mm", "pF", "kg"), (100.0, 3.0 + 42.0 * gauge.permittivity, 32.32), strict=True):
        (x, y), found = line(each, ""), drawn_axes(each)
        assert (x[-1], y[-1]) == (pytest.approx(40.0), pytest.approx(full, rel=1e-9))
        assert each.get_xlabel() == "volume, L"
        assert each.get_ylabel().endswith(f", {unit}")
        assert found.y0 >= each.figure.texts[0].get_window_extent().y1
        assert not any(found.overlaps(drawn_axes(other)) for other in axes if other is not each)


def test_new_axes_are_made_where_none_are_given():
    assert plots.density("Jet A") is not plots.density("Jet A")


LIQUIDS = fu.ViscosityCurve.from_points(
    [fu.CalibrationPoint(hz, 7600.0, 0.001, nu, 20.0) for nu in (1.2, 2.4) for hz in (20.0, 100.0, 400.0)],
    0.0127,
    reference_c=20.0,
    expansion_per_k=17e-6,
)
THRESHOLDS = [fu.LowFuelByQuantity("4 gal"), fu.LowFuelByTime("10 min"), fu.LowFuelByQuantity("1 gal")]
PICTURES = {
    "density": lambda **on: plots.density("Jet A", **on),
    "check": lambda **on: plots.check(CHECK, **on),
    "blend": lambda **on: plots.density(fu.blend({"Jet A": 0.5, "HEFA-SPK": 0.5}), **on),
    "meter_curve": lambda **on: plots.meter_curve(CURVE, **on),
    "strouhal": lambda **on: plots.strouhal(LIQUIDS, **on),
    "flow": lambda **on: plots.flow(flight(), K, low_flow_cutoff="2 gal/h", usable="10 gal", low_fuel=THRESHOLDS, **on),
}


@pytest.mark.parametrize("picture", PICTURES)
def test_every_picture_names_its_units(picture):
    axes = PICTURES[picture]()
    assert ", " in axes.get_xlabel()
    assert ", " in axes.get_ylabel()


def luminance(color):
    """Relative luminance of WCAG 2.2, definition of contrast ratio (from memory)."""
    parts = np.array(matplotlib.colors.to_rgb(color))
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4) @ [0.2126, 0.7152, 0.0722]


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize(
    "style", ["default", *(pytest.param(each, marks=pytest.mark.long) for each in plt.style.available)]
)
def test_lines_and_marks_stand_out_in_every_style(style):
    """By 3 to 1, which WCAG 2.2 asks of graphics (1.4.11, from memory)."""
    if style == "Solarize_Light2":
        pytest.skip("the style's own text stands out by less")
    with plt.style.context(style):
        for draw in PICTURES.values():
            axes = draw()
            for each in axes.lines:
                assert contrast(each.get_color(), axes.get_facecolor()) >= 3.0, each.get_label()
            plt.close("all")


def drawn_axes(axes):
    """Return the extents of the axes with all that belongs to them, having drawn the figure."""
    axes.figure.canvas.draw()
    return axes.get_tightbbox(axes.figure.canvas.get_renderer())


@pytest.mark.parametrize("picture", PICTURES)
def test_nothing_is_cut_off_in_a_picture_saved_as_it_is(picture):
    axes = PICTURES[picture]()
    (caution,) = axes.figure.texts
    assert fu.CAUTION in caution.get_text().replace("\n", " ")
    whole, found = axes.figure.bbox, drawn_axes(axes)
    assert found.x0 >= 0.0
    assert found.x1 <= whole.x1
    assert found.y1 <= whole.y1
    assert found.y0 >= caution.get_window_extent().y1  # the legend does not lie on the caution
    assert axes.get_legend().get_window_extent().y1 < axes.xaxis.label.get_window_extent().y0


@pytest.mark.parametrize("picture", PICTURES)
def test_figures_on_the_axes_do_not_overlap(picture):
    axes = PICTURES[picture]()
    drawn_axes(axes)
    labels = [*axes.get_xticklabels(), *axes.get_xticklabels(minor=True)]
    boxes = [each.get_window_extent() for each in labels if each.get_text()]
    inside = sorted((box.x0, box.x1) for box in boxes if axes.bbox.x0 <= (box.x0 + box.x1) / 2 <= axes.bbox.x1)
    assert len(inside) >= 3
    assert all(end < start for (_, end), (start, _) in pairwise(inside))


@pytest.mark.long
@pytest.mark.parametrize("layout", [None, "constrained"])
def test_pictures_in_a_grid_keep_to_their_place(layout):
    figure, grid = plt.subplots(2, 3, figsize=(13.0, 9.0), layout=layout)
    for draw, axes in zip(PICTURES.values(), grid.flat, strict=True):
        draw(ax=axes)
        assert not figure.texts  # the caution belongs to whoever made the figure
    whole, boxes = figure.bbox, [drawn_axes(axes) for axes in grid.flat]
    for axes, box in zip(grid.flat, boxes, strict=True):
        assert whole.x0 <= box.x0 < box.x1 <= whole.x1
        assert whole.y0 <= box.y0 < box.y1 <= whole.y1
        legend, own = axes.get_legend().get_window_extent(), axes.get_window_extent()
        assert axes.title.get_window_extent().width <= own.width
        assert legend.width <= own.width
        others = [each.get_window_extent() for each in grid.flat if each is not axes]
        assert not any(legend.overlaps(other) for other in others)


@pytest.mark.parametrize("picture", PICTURES)
def test_every_entry_of_a_legend_has_a_look_of_its_own_without_colour(picture):
    """A line by its dashes or mark, an area as an area."""
    axes = PICTURES[picture]()
    looks = [
        (str(each.get_linestyle()), each._dash_pattern, each.get_marker()) for each in axes.lines if labelled(each)
    ]
    assert len({str(look) for look in looks}) == len(looks)


def labelled(artist):
    return not str(artist.get_label()).startswith("_")


def test_without_matplotlib_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "matplotlib.pyplot", None)
    with pytest.raises(MissingExtra, match=r"pip install matplotlib"):
        plots.check(CHECK)


def test_best_setting_at_two_temperatures(ax):
    kg_h = fu.Indicator(
        "7500 pulse/L", reads="kg/h", fixed_density="0.8 kg/L", resolution="1 kg/h", low_flow_cutoff="30 kg/h"
    )
    flows = ["90 L/h", "20 L/h", "200 L/h"]
    best = fu.best_setting(kg_h, CURVE, flows, k_step="1 pulse/L", fuel="Jet A", at=["-20 degC", "15 degC"])
    assert plots.setting(best, ax=ax) is ax
    drawn = [container[0].get_xydata() for container in ax.containers]
    expected = [(row["flow"], 100.0 * row["error"]) for row in best.rows()]
    np.testing.assert_allclose(np.vstack(drawn), expected)
    (bars,) = ax.containers[0][2]
    heights = [float(np.ptp(segment[:, 1])) for segment in bars.get_segments()]
    np.testing.assert_allclose(heights, [200.0 * row["half_step"] for row in best.rows()[:3]])
    assert [label for label in labels(ax) if "°C" in label] == [
        "error at -20 °C, ± half a display step",
        "error at 15 °C, ± half a display step",
    ]
    assert "displayed as zero" in labels(ax)
    assert ax.get_title().startswith("enter 7")


def test_best_setting_of_volumes_has_no_temperature(ax):
    best = fu.best_setting(fu.Indicator("7500 pulse/L", reads="L/h"), CURVE, ["20 L/h", "90 L/h"], k_step="1 pulse/L")
    plots.setting(best, ax=ax)
    assert labels(ax) == ["error, ± half a display step"]


def test_best_setting_of_a_display_that_truncates_has_bars_down_to_a_step(ax):
    cut = fu.Indicator("7500 pulse/L", reads="L/h", resolution="1 L/h", truncates=True)
    best = fu.best_setting(cut, CURVE, ["20 L/h", "90 L/h"], k_step="1 pulse/L")
    plots.setting(best, ax=ax)
    (bars,) = ax.containers[0][2]
    for segment, row in zip(bars.get_segments(), best.rows(), strict=True):
        ends = 100.0 * row["error"] - 100.0 / row["flow"], 100.0 * row["error"]
        np.testing.assert_allclose(segment[:, 1], ends, atol=1e-9)


@pytest.mark.parametrize("name", plots.__all__)
def test_another_answer_is_refused_before_a_figure_is_made(name):
    given = {"k_factor": "11412 pulse/L"} if name == "flow" else {}
    for wrong in (CHECK if name != "check" else CURVE, None, 5, "11412 pulse/L"):
        with pytest.raises(fu.FuelUnitsError):
            getattr(plots, name)(wrong, **given)
    assert not plt.get_fignums()


def test_warnings_come_no_later_than_drawn_where_a_counter_was_reset():
    """50 L/h; the counter is reset in the fifth interval, in which an unknown amount passed."""
    pulses = np.full(12, int(50 / 6 * 11_412))
    raw = np.r_[0, np.cumsum(pulses)]
    raw[5:] += 3 - raw[5]
    reset = fu.PulseCounts.of_counter(
        600.0 * np.arange(13), fu.unwrap_counter(raw.tolist(), bits=24, largest_increment=200_000)
    )
    of = {"k_factor": "11412 pulse/L", "unit": "L/h", "usable": "90 L", "low_fuel": [fu.LowFuelByQuantity("20 L")]}
    whole = fu.PulseCounts(600.0 * np.arange(13), pulses)
    assert [label for label in labels(plots.flow(whole, **of)) if "earlier" in label] == []
    assert [label for label in labels(plots.flow(reset, **of)) if "100 min or earlier" in label]
