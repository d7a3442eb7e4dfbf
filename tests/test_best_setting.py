"""The best setting to enter: against every K-factor and density that can be entered, and NumPy's least squares.

Meters, indicators and flows are invented.
"""

import dataclasses
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import fuelunits as fu
from fuelunits.errors import FuelUnitsError, OutOfRange, QuantityError

CURVE = fu.MeterCurve(
    [fu.CalibrationPoint(hz, k, 0.0005) for hz, k in [(40.0, 11_190.0), (90.0, 11_330.0), (200.0, 11_420.0)]]
    + [fu.CalibrationPoint(600.0, 11_400.0, 0.002)]
)
METER = fu.ViscosityCurve.from_points(
    [
        fu.CalibrationPoint(hz, k, 0.0005, viscosity, 20.0)
        for viscosity in (1.2, 5.0)
        for hz, k in [(10.0 * viscosity, 2900.0), (60.0 * viscosity, 2950.0), (800.0 * viscosity, 2960.0)]
    ],
    0.0127,
    reference_c=20.0,
    expansion_per_k=17e-6,
)
L_H = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h")
KG_H = fu.Indicator(
    "2950 pulse/L", reads="kg/h", fixed_density="0.8 kg/L", resolution="1 kg/h", low_flow_cutoff="60 kg/h"
)
JET = {"fuel": "Jet A", "at": "0 degC"}
FLOWS = ["15 L/h", "25 L/h", "40 L/h", "90 L/h"]


def column(best, name):
    return np.array([row[name] for row in best.rows()])


def mean_square(scale, ratio, weight):
    """Return the weighted mean square of the error of readings, for each scale."""
    return ((np.asarray(scale)[:, None] * ratio - 1.0) ** 2) @ weight


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.floats(0.0, 10.0), min_size=4, max_size=4).filter(lambda weights: sum(weights) > 0.1),
    st.sampled_from(
        [("1 pulse/L", "L"), ("10 pulse/L", "L"), ("0.5 pulse/gal", "gal"), ("250 pulse/imp_gal", "imp_gal")]
    ),
    st.booleans(),
)
def test_no_other_k_that_can_be_entered_is_better(weights, entry, truncates):
    step, unit = entry
    display = dataclasses.replace(L_H, truncates=truncates)
    best = fu.best_setting(display, CURVE, FLOWS, weights=weights, k_step=step)
    size = float(step.split()[0])
    every = (
        np.arange(1, int(100_000 / size)) * size * fu.factor("L", unit)
    )  # pulse/L: fewer in a litre than in a gallon
    weight = np.array(weights) / sum(weights)
    k = CURVE.k_pulses_per_l(np.array(column(best, "frequency_hz").tolist()))
    costs = mean_square(1.0 / every, k, weight)
    assert best.root_mean_square**2 == pytest.approx(costs.min(), rel=1e-9, abs=1e-18)
    entered = best.indicator.k_factor
    assert entered.unit == unit
    assert (entered.value / fu.KFactor.read(step).value).denominator == 1


@given(st.lists(st.floats(0.1, 10.0), min_size=4, max_size=4))
def test_k_is_that_of_least_squares_by_numpy(weights):
    """1/K solves K(flow)/K = 1 with the root of the weight as the weight of each row (numpy.linalg.lstsq)."""
    best = fu.best_setting(L_H, CURVE, FLOWS, weights=weights, k_step="0.001 pulse/L")
    rows = np.sqrt(weights)
    (inverse,), *_ = np.linalg.lstsq((rows * column(best, "k_pulses_per_l"))[:, None], rows)
    assert best.indicator.k_factor.pulses_per_l == pytest.approx(1.0 / inverse, abs=0.0006)
    assert column(best, "weight") @ column(best, "error") == pytest.approx(
        0.0, abs=2.0 * best.root_mean_square**2 + 1e-7
    )


def test_two_flows_alike_by_hand():
    """(a² + b²)/(a + b) of K = 11190 and 11400, the ends of the curve: 11295.98."""
    ends = [f"{3600.0 * hz / k!r} L/h" for hz, k in ((40.000001, 11_190.0), (599.99999, 11_400.0))]
    assert str(fu.best_setting(L_H, CURVE, ends, k_step="0.01 pulse/L").indicator.k_factor) == "11295.98 pulse/L"


@pytest.mark.parametrize("at", ["-20 degC", ["-20 degC", "15 degC", "38 degC"]])
@pytest.mark.parametrize("truncates", [False, True])
def test_density_and_k_for_a_mass_flow_over_all_that_can_be_entered(at, truncates):
    display = dataclasses.replace(KG_H, truncates=truncates)
    flows, weights = ["80 kg/h", "120 L/h", "300 kg/h"], [1.0, 2.0, 4.0]
    given = {"weights": weights, "k_step": "1 pulse/L", "fuel": "Jet A", "at": at}
    stepped = fu.best_setting(display, METER, flows, density_step="0.01 lb/gal", **given)
    k, weight, t = (column(stepped, name) for name in ("k_pulses_per_l", "weight", "at_c"))
    true = k / fu.fuel("Jet A").density_kg_m3(t)
    every_k, lb_gal = np.arange(1.0, 9999.0), 0.01 * np.arange(1, 1200)
    k_l = every_k[mean_square(1.0 / every_k, k, weight).argmin()]
    assert stepped.indicator.k_factor.pulses_per_l == k_l
    best = lb_gal[mean_square(lb_gal * fu.factor("lb/gal", "kg/m^3") / k_l, true, weight).argmin()]
    assert stepped.indicator.fixed_density == f"{best:.4g} lb/gal"

    offered = ["6.0 lb/gal", "0.79 kg/L", "0.83 kg/L"]
    listed = fu.best_setting(display, METER, flows, densities=offered, **given)
    kg_m3 = np.array([fu.convert(float(text.split()[0]), text.split()[1], "kg/m^3") for text in offered])
    errors = mean_square(kg_m3 / k_l, true, weight) ** 0.5
    assert listed.densities == pytest.approx(dict(zip(offered, errors, strict=True)))
    assert listed.indicator.fixed_density == offered[errors.argmin()]
    assert listed.indicator.k_factor == stepped.indicator.k_factor
    assert listed.root_mean_square == pytest.approx(errors.min())


def test_bench_fluid_to_cold_jet_in_one_call():
    """Each reading again from the true flow: the frequency by the viscosity curve, then the indicator."""
    best = fu.best_setting(
        KG_H, METER, ["100 L/h", "150 kg/h"], k_step="1 pulse/L", fuel="Jet A", at="-20 degC", density_step="0.001 kg/L"
    )
    viscosity = fu.viscosity("Jet A").kinematic_viscosity("-20 degC")
    true = fu.fuel("Jet A").density_kg_m3(-20.0) / 1000.0 * 100.0
    hz = METER.meter_curve(viscosity, "-20 degC").frequency("100 L/h")
    row = best.rows()[0]
    assert (row["flow"], row["frequency_hz"]) == (pytest.approx(true), pytest.approx(hz.m_as("Hz")))
    assert row["displayed"] == best.indicator.reading(hz).magnitude
    assert row["displayed_error"] == pytest.approx(row["displayed"] / true - 1.0)
    assert row["half_step"] == pytest.approx(0.5 / true)
    true_k = fu.KFactor(row["k_pulses_per_l"], per="L")
    assert best.indicator.reading_of("100 L/h", "Jet A", "-20 degC", true_k).magnitude == row["displayed"]
    assert row["error"] == pytest.approx(
        hz.m_as("Hz") * 3600.0 / float(best.indicator.k_factor) * float(best.indicator.fixed_density.split()[0]) / true
        - 1.0
    )
    assert any("batches differ" in remark for remark in best.remarks)
    warm = fu.best_setting(KG_H, METER, ["100 L/h"], k_step="1 pulse/L", fuel="Jet A", at="30 degC")
    assert warm.rows()[0]["k_pulses_per_l"] != pytest.approx(row["k_pulses_per_l"], rel=1e-4)


def test_a_curve_in_one_liquid_is_as_good_as_one_over_viscosity():
    nu = fu.viscosity("Jet A").kinematic_viscosity("-20 degC")
    given = {"k_step": "1 pulse/L", "fuel": "Jet A", "at": "-20 degC"}
    of_sample = fu.best_setting(KG_H, METER, ["100 L/h"], **given)
    in_liquid = fu.best_setting(KG_H, METER.meter_curve(nu, "-20 degC"), ["100 L/h"], **given)
    assert of_sample.rows()[0] == pytest.approx(in_liquid.rows()[0])
    assert any("liquid of the curve" in remark for remark in in_liquid.remarks)


def test_a_flow_below_the_cutoff_has_no_weight_and_is_displayed_as_zero():
    below = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h", low_flow_cutoff="20 L/h")
    best = fu.best_setting(below, CURVE, FLOWS, k_step="1 pulse/L")
    first = best.rows()[0]
    assert (first["weight"], first["displayed"], first["displayed_error"]) == (0.0, 0.0, -1.0)
    assert best.indicator.k_factor == fu.best_setting(L_H, CURVE, FLOWS[1:], k_step="1 pulse/L").indicator.k_factor
    assert any("shows 0 at 15 L/h" in remark for remark in best.remarks)
    assert best.indicator == dataclasses.replace(below, k_factor=best.indicator.k_factor)
    just_above = fu.best_setting(below, CURVE, ["20 L/h", "90 L/h"], k_step="1 pulse/L")
    assert just_above.rows()[0]["weight"] == 0.5
    assert just_above.rows()[0]["displayed"] == 0.0  # K at 20 L/h is lower than that entered
    assert any("shows 0 at 20 L/h" in remark for remark in just_above.remarks)


def test_a_density_is_one_step_at_least():
    given = {"k_step": "1 pulse/L", "fuel": "Jet A", "at": "15 degC"}
    assert (
        fu.best_setting(KG_H, METER, ["100 L/h"], density_step="0.7 kg/L", **given).indicator.fixed_density
        == "0.7 kg/L"
    )
    with pytest.raises(QuantityError, match="2 kg/L is no density"):
        fu.best_setting(KG_H, METER, ["100 L/h"], density_step="2 kg/L", **given)


def test_digits_that_do_not_hold_k():
    def entered(highest, step="100 pulse/L"):
        return str(fu.best_setting(L_H, CURVE, FLOWS, k_step=step, highest_k=highest).indicator.k_factor)

    assert entered("99999 pulse/L") == "11300 pulse/L"
    assert entered("11200 pulse/L", "200 pulse/L") == "11200 pulse/L"  # else 11400
    assert entered(None, "6000 pulse/L") == "12000 pulse/L"  # between one step and two
    for highest, step in (("9999 pulse/L", "1 pulse/L"), ("11299 pulse/L", "100 pulse/L"), (None, "20000 pulse/L")):
        with pytest.raises(QuantityError, match="cannot be entered"):
            entered(highest, step)


def test_what_a_person_reads():
    best = fu.best_setting(L_H, CURVE, FLOWS, k_step="1 pulse/L")
    text = str(best)
    assert f"enter {best.indicator.k_factor}" in repr(best)
    assert "Caution" in text
    assert "root mean square" in text
    assert best.as_dict()["points"][0]["at_c"] is None
    assert len(best.to_frame()) == 4
    assert "uncertainty" in best.to_frame()
    assert column(best, "uncertainty").max() == pytest.approx(
        CURVE.relative_uncertainty(column(best, "frequency_hz")).max()
    )
    mass = fu.best_setting(KG_H, METER, ["100 L/h"], k_step="1 pulse/L", fuel="Jet A", at="0 degC")
    assert "typical" in str(mass)
    assert mass.densities == {}
    two = fu.best_setting(KG_H, METER, ["100 L/h"], k_step="1 pulse/L", densities=["6.0 lb/gal", "6.9 lb/gal"], **JET)
    assert list(two.densities) == ["6.0 lb/gal", "6.9 lb/gal"]
    assert "6.0 lb/gal" in str(two)


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"indicator": fu.Indicator("11412 pulse/L", reads="L/h", channels=2)}, "one channel"),
        ({"weights": [1.0, 2.0]}, "weights"),
        ({"weights": [1.0, 1.0, 1.0, -1.0]}, "weights"),
        ({"weights": [0.0] * 4}, "weights"),
        ({"weights": [1.0, 1.0, 1.0, np.nan]}, "weights"),
        ({"densities": ["0.8 kg/L"]}, "mass flow"),
        ({"density_step": "0.01 kg/L"}, "mass flow"),
        ({"indicator": KG_H, "densities": ["0.8 kg/L"], "density_step": "0.01 kg/L"}, "mass flow"),
        (dict(indicator=KG_H, densities=[], **JET), "mass flow"),
        (dict(indicator=KG_H, densities="0.8 kg/L", **JET), "mass flow"),
        ({"indicator": KG_H}, "density"),
        ({"fuel": "Jet A"}, "give both"),
        ({"at": "0 degC"}, "give both"),
        ({"at": [], "fuel": "Jet A"}, "give both"),
        ({"meter": METER}, "give both"),
        ({"flows": ["0 L/h"]}, "positive"),
        ({"flows": ["100 Hz"]}, "flow"),
    ],
)
def test_refusals(change, match):
    arguments = {"indicator": L_H, "meter": CURVE, "flows": FLOWS, "k_step": "1 pulse/L"} | change
    with pytest.raises(FuelUnitsError, match=match):
        fu.best_setting(**arguments)


def test_what_cannot_be_is_refused_in_the_users_own_units():
    """40 Hz of 11190 pulse/L are 12.869 L/h or 3.4 gal/h; K is 43,000 to 43,200 pulse/gal."""
    with pytest.raises(OutOfRange, match=r"12\.8\d* to .* L/h"):
        fu.best_setting(L_H, CURVE, ["5 L/h"], k_step="1 pulse/L")
    gal_h = fu.Indicator("43186 pulse/gal", reads="gal/h")
    with pytest.raises(OutOfRange, match=r"3\.39\d* to .* gal/h"):
        fu.best_setting(gal_h, CURVE, ["1 gal/h"], k_step="1 pulse/gal")
    with pytest.raises(QuantityError, match=r"4[23]\d{3}[.\d]* pulse/gal"):
        fu.best_setting(gal_h, CURVE, ["10 gal/h"], k_step="10 pulse/gal", highest_k="9990 pulse/gal")
    table = fu.best_setting(gal_h, CURVE, ["10 gal/h"], k_step="1 pulse/gal").report().tables[0]
    cells = dict(zip(table.heads, table.rows[0], strict=True))
    assert float(cells["K, pulse/gal"]) == pytest.approx(CURVE.k_pulses_per_l(119.0) * 3.785411784, rel=1e-3)


@pytest.mark.parametrize("truncates", [False, True])
def test_a_display_adds_up_to_half_a_step_or_takes_up_to_a_step_away(truncates):
    """In 0.01 L/h over 5 L/h, to both ends; the errors before the display are those of totals, which add up pulses."""
    display = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.5 L/h", truncates=truncates)
    flows = [f"{20.0 + 0.01 * each:.2f} L/h" for each in range(500)]
    best = fu.best_setting(display, CURVE, flows, k_step="1 pulse/L")
    added = (column(best, "displayed_error") - column(best, "error")) / column(best, "half_step")
    ends = (-2.0, 0.0) if truncates else (-1.0, 1.0)
    assert (added.min(), added.max()) == pytest.approx(ends, abs=0.1)
    assert np.all((added > ends[0] - 1e-9) & (added < ends[1] + 1e-9))
    total = fu.displayed_total(best.indicator, [(f"{best.rows()[0]['frequency_hz']!r} Hz", "10 h")], update="1 s")
    assert float(total.exact) / 200.0 - 1.0 == pytest.approx(column(best, "error")[0], abs=1e-9)
    assert ("less up to a display step" if truncates else "± half a display step") in best.report().verdict


def test_printed_errors_are_those_of_the_readings():
    best = fu.best_setting(L_H, CURVE, FLOWS, k_step="10 pulse/L")
    said = [float(each) for each in re.findall(r"[-+]\d+\.\d+", best.report().verdict)]
    errors = 100.0 * column(best, "error")
    assert said == pytest.approx([min(errors), max(errors)], abs=0.005)
    table = best.report().tables[0]
    for row, cells in zip(best.rows(), table.rows, strict=True):
        printed = dict(zip(table.heads, cells, strict=True))
        reading = float(printed["displayed"])
        assert reading % 0.5 == 0.0  # the display has steps of 0.5 L/h
        assert float(printed["its error"]) == pytest.approx(100.0 * (reading / row["flow"] - 1.0), abs=0.005)
        between = abs(float(printed["its error"]) - float(printed["error, %"]))
        assert between <= float(printed["± half step"]) + 0.011
        assert float(printed["± half step"]) == pytest.approx(100.0 * 0.25 / row["flow"], abs=0.0051)
        assert float(printed["error, %"]) == pytest.approx(100.0 * row["error"], abs=0.005)
        assert float(printed["u(K), %"]) == pytest.approx(100.0 * row["uncertainty"], abs=0.005)
