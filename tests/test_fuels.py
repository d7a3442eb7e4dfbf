"""Grades: every figure has a source, names are forgiving, limits and typical densities hang together."""

import math
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from registries import OF_OFFSETS, ONE_REGISTRY, OTHER_REGISTRY

from fuelunits.errors import DimensionError, FuelUnitsError, OutOfRange, QuantityError, SourceError, UnknownFuel
from fuelunits.fuels.batches import spread_about
from fuelunits.fuels.grades import Figure, all_fuels, fuel
from fuelunits.fuels.liquids import PetroleumProduct
from fuelunits.sources import source

ANSWERING = [grade for grade in all_fuels() if not grade.refused]
WANTED = [
    *("100LL", "avgas 80", "avgas 100", "UL91", "UL94", "Jet A", "Jet A-1", "Jet B", "TS-1", "JP-4", "JP-5", "JP-7"),
    *("JP-8", "JPTS", "No. 3 jet fuel", "motor gasoline", "diesel EN 590", "kerosene", "RP-1", "FT-SPK", "HEFA-SPK"),
    *("SIP", "ATJ-SPK", "CHJ", "FT-SPK/A", "HC-HEFA", "FAME", "ethanol", "naval distillate", "Stoddard solvent"),
    *("mineral spirits", "normal heptane", "special-run Stoddard", "engine oil"),
]


@pytest.mark.parametrize("name", WANTED)
def test_the_grades_are_there(name):
    assert fuel(name) in all_fuels()


@pytest.mark.parametrize("grade", all_fuels(), ids=lambda grade: grade.name)
def test_every_figure_has_a_source(grade):
    for figure in grade.figures:
        assert source(figure.source).title in str(figure)
    assert source(grade.valid_temperatures_c.source)
    text = str(grade)
    assert grade.name in text


def test_a_figure_without_a_source_cannot_be_made():
    with pytest.raises(SourceError, match="Figure has no source"):
        Figure(density_kg_m3=800.0, source="")
    with pytest.raises(SourceError, match="no source 'hearsay'"):
        Figure(density_kg_m3=800.0, source="hearsay")
    with pytest.raises(SourceError):
        replace(fuel("Jet A").typical, source="")


@pytest.mark.parametrize("grade", ANSWERING, ids=lambda grade: grade.name)
def test_typical_lies_within_the_limits_and_at_its_own_figure(grade):
    assert grade.density_kg_m3(grade.typical.at_c) == pytest.approx(grade.typical.density_kg_m3, rel=1e-9)
    for t in (grade.valid_temperatures_c.low, grade.valid_temperatures_c.high):
        low, high = grade.density_limits_kg_m3(t)
        density = grade.density_kg_m3(t)
        assert low is None or low <= density
        assert high is None or density <= high


@pytest.mark.parametrize("grade", ANSWERING, ids=lambda grade: grade.name)
def test_density_falls_with_temperature_and_rises_with_pressure(grade):
    t = np.linspace(grade.valid_temperatures_c.low, grade.valid_temperatures_c.high, 50)
    assert np.all(np.diff(grade.density_kg_m3(t)) < 0)
    assert grade.density_kg_m3(20.0, 1000.0) > grade.density_kg_m3(20.0)


@pytest.mark.parametrize("grade", ANSWERING, ids=lambda grade: grade.name)
def test_outside_its_temperatures_a_grade_refuses(grade):
    for t in (grade.valid_temperatures_c.low - 0.1, grade.valid_temperatures_c.high + 0.1):
        with pytest.raises(OutOfRange, match=f"temperature of {grade.name.replace('(', '.')}"):
            grade.density_kg_m3(t)
        with pytest.raises(OutOfRange):
            grade.density_limits_kg_m3(t)
        assert np.isnan(grade.density_kg_m3(t, out_of_range="nan"))


@pytest.mark.parametrize("name", ["jet a-1", "JETA1", "Jet A 1", "jet_a-1", " JET  A-1 ", "avtur", "F-35", "f35"])
def test_names_forgive_case_spaces_and_hyphens(name):
    assert fuel(name).name == "Jet A-1"


@pytest.mark.parametrize(
    ("wrong", "meant"),
    [
        ("Jet C", "Jet A"),
        ("avgas", "100LL"),
        ("jet fuel", "Jet A"),
        ("100L", "100LL"),
        ("diesel", "diesel EN 590"),
        ("SAF", "HEFA-SPK"),
        ("ULSD", "diesel EN 590"),
        ("gas", "100LL"),
    ],
)
def test_a_miss_comes_with_suggestions(wrong, meant):
    with pytest.raises(UnknownFuel) as refusal:
        fuel(wrong)
    assert repr(meant) in str(refusal.value)
    assert not (wrong == "gas" and "UL91" in str(refusal.value))  # three of a kind are enough


@pytest.mark.parametrize("wrong", ["", "xyzzy", "a" * 100_000, 5, None])
def test_what_is_no_fuel(wrong):
    with pytest.raises(UnknownFuel):
        fuel(wrong)


def test_no_two_grades_share_a_name():
    for grade in all_fuels():
        for name in (grade.name, grade.nato, *grade.aliases):
            if name:
                assert fuel(name) is grade


def test_gasoline_with_ethanol_is_refused_with_the_reason():
    blend = fuel("E10")
    for ask in (
        lambda: blend.density_kg_m3(15.0),
        lambda: blend.density("15 degC"),
        lambda: blend.mass("10 gal", at="15 degC"),
    ):
        with pytest.raises(FuelUnitsError, match="ethanol does not expand as the petroleum procedure"):
            ask()


def test_synthetics_do_not_use_the_petroleum_groups():
    for grade in ANSWERING:
        petroleum = isinstance(grade.liquid, PetroleumProduct)
        assert petroleum != (
            grade.kind in ("synthetic blending component", "biofuel", "alcohol") or grade.kind == "calibrating fluid"
        )


def test_text_and_quantities_of_two_registries_agree_with_numbers():
    jet = fuel("Jet A")
    for ureg in (ONE_REGISTRY, OF_OFFSETS):
        density = jet.density(ureg.Quantity(86.0, "degF"))
        assert type(density) is ureg.Quantity
        assert density.m_as("kg/m**3") == pytest.approx(jet.density_kg_m3(30.0), rel=1e-12)
        mass = jet.mass(ureg.Quantity([100.0, 200.0], "gallon"), at="30 degC", gauge_pressure="25 psi")
        assert type(mass) is ureg.Quantity
        assert mass.m_as("kg")[1] == pytest.approx(200 * 3.785411784e-3 * jet.density_kg_m3(30.0, 172.369), rel=1e-6)
    assert jet.density("30 degC").m_as("kg/m**3") == jet.density_kg_m3(30.0)
    with pytest.raises(QuantityError, match="two pint registries"):
        jet.mass(ONE_REGISTRY.Quantity(1, "gallon"), at=OTHER_REGISTRY.Quantity(15, "degC"))


@given(st.floats(-40.0, 100.0), st.floats(0.0, 1e6))
def test_mass_and_volume_are_inverse(t, litres):
    jet = fuel("Jet A")
    mass = jet.mass(f"{litres!r} L", at=f"{t!r} degC")
    assert jet.volume(mass, at=f"{t!r} degC").m_as("L") == pytest.approx(litres, rel=1e-12)
    net = jet.net_volume(f"{litres!r} L", at=f"{t!r} degC")
    assert jet.gross_volume(net, at=f"{t!r} degC").m_as("L") == pytest.approx(litres, rel=1e-12)
    assert net.m_as("m**3") * jet.density_kg_m3(15.0) == pytest.approx(mass.m_as("kg"), rel=1e-12)


def test_bare_numbers_are_refused_and_told_where_to_go():
    jet = fuel("Jet A")
    with pytest.raises(QuantityError, match=r"at: the bare number 30 .*plain numbers go to density_kg_m3"):
        jet.density(30)
    with pytest.raises(QuantityError, match=r"volume: the bare number 200"):
        jet.mass(200, at="30 degC")
    with pytest.raises(DimensionError, match=r"volume: '200 lb' is a mass"):
        jet.mass("200 lb", at="30 degC")
    with pytest.raises(QuantityError, match="volume must be"):
        jet.mass("-200 L", at="30 degC")


@pytest.mark.parametrize("shape", [(), (0,), (1,), (2, 3)])
def test_arrays_straight_through(shape):
    t = np.full(shape, 30.0, dtype=np.float32)
    density = fuel("Jet A").density_kg_m3(t)
    assert np.shape(density) == shape
    assert np.asarray(density).dtype == np.float32
    assert np.isnan(fuel("Jet A").density_kg_m3(np.array([np.nan, 15.0]))).tolist() == [True, False]


# how the figures stand, and how batches differ


def test_every_recalled_or_doubtful_figure_that_decides_is_said():
    for grade in all_fuels():
        said = " ".join(grade.remarks())
        for figure in filter(None, (grade.typical, grade.low, grade.high)):
            if source(figure.source).obtained == "memory" or "midpoint" in figure.source:
                assert figure.standing
            assert figure.standing in said
            assert (figure.value in said) == bool(figure.standing)
        assert grade.expansion_doubt in said
    assert "stand-in" in fuel("UL91").typical.standing
    assert fuel("Jet B").remarks(limits=False) != fuel("Jet B").remarks()


def test_the_typical_density_of_kerosene_grades_is_a_mean():
    """Mean energy density over mean specific energy (PQIS), and the average lines of the CRC handbook of 2014."""
    assert fuel("Jet A").density_kg_m3(15.0) == pytest.approx(1e3 * 34.9072202 / 43.20125921, abs=0.05)
    assert fuel("JP-8").density_kg_m3(15.0) == pytest.approx(1e3 * 34.65312478 / 43.25658127, abs=0.05)
    assert fuel("JP-5").density_kg_m3(15.0) == pytest.approx(1e3 * 35.05963253 / 43.14795266, abs=0.05)
    assert fuel("Jet A-1").density_kg_m3(15.0) == pytest.approx(814.1 - 0.8111 * 15.0, abs=0.05)


def test_the_limits_of_the_spread_are_those_of_chi_square():
    """Standard deviation 8.95 kg/m3 of 31 kerosenes (SwRI 2004), and 8.46 of 18, against scipy."""
    stats = pytest.importorskip("scipy.stats")
    limits = [8.95 * (30.0 / stats.chi2.ppf(p, 30)) ** 0.5 for p in (0.975, 0.025)]
    spread = fuel("Jet A").spread
    assert [spread.low, spread.high] == pytest.approx(limits, abs=0.01)
    assert limits[0] < 8.46 < limits[1]


def test_the_share_of_batches_is_a_range_that_holds_every_mean_and_deviation():
    stats = pytest.importorskip("scipy.stats")
    low, high = fuel("Jet A").estimated_share(786.8, 818.9)
    for mean in (802.4, 805.0, 807.1, 808.0):
        for deviation in (7.15, 8.46, 8.95, 11.96):
            share = stats.norm.cdf(818.9, mean, deviation) - stats.norm.cdf(786.8, mean, deviation)
            assert low - 1e-3 <= share <= high + 1e-3
    assert (low, high) == pytest.approx((0.78, 0.97), abs=0.01)


def test_without_data_there_is_no_estimate_and_it_says_so():
    for name in ("100LL", "UL91", "Jet B", "JP-4", "TS-1", "No. 3 jet fuel"):
        assert fuel(name).estimated_share(700.0, 800.0) is None
    assert fuel("Jet A").estimated_share(0.0, 2000.0) == (1.0, 1.0)
    assert fuel("Jet A").estimated_share(800.0, 800.0) == (0.0, 0.0)
    with pytest.raises(QuantityError):
        fuel("Jet A").estimated_share(810.0, 800.0)
    for wrong in (None, 10**400, [], Decimal("NaN"), math.nan, "x", True):
        for ends in ((wrong, 800.0), (780.0, wrong)):
            with pytest.raises(FuelUnitsError):
                fuel("Jet A").estimated_share(*ends)


def test_the_list_of_grades_shows_a_table():
    assert isinstance(all_fuels(), tuple)
    assert "UL91" in all_fuels()._repr_html_()
    rows = all_fuels().as_dict()["rows"]
    for grade, row in zip(all_fuels(), rows, strict=True):
        figures = {"typical": grade.typical, "at least": grade.low, "at most": grade.high}
        for name, figure in figures.items():
            assert row[f"{name}, kg/m³"] == (figure and float(f"{figure.density_kg_m3:.1f}"))
        assert row["at °C"] == float(f"{grade.typical.at_c:.2f}")
    assert len(repr(all_fuels())) < 80


def test_limits_are_quantities_or_none_and_without_them_batches_lie_within_3_percent():
    low, high = fuel("Jet A").density_limits("15 degC")
    assert [each.m_as("kg/m^3") for each in (low, high)] == pytest.approx([775.0, 840.0], rel=1e-10)
    assert fuel("100LL").density_limits("15 degC") == (None, None)
    assert spread_about(700.0, 800.0, 750.0) == pytest.approx((679.0, 824.0))


def test_the_rows_of_a_grade_are_its_figures():
    for grade in all_fuels():
        rows = grade.rows()
        assert [(row["density_kg_m3"], row["source"]) for row in rows] == [
            (each.density_kg_m3, each.source) for each in grade.figures
        ]
        assert [row["standing"] for row in rows] == [each.standing for each in grade.figures]


def test_stoddard_of_the_bench_falls_as_a_kerosene_and_not_as_a_gasoline():
    """-0.70 (chart of MIL-C-7024 Type II) to -0.76 kg/m3 per degC (NOAA record AD02270); the procedure has -0.89."""
    bench = fuel("special-run Stoddard")
    slope = (bench.density_kg_m3(40.0) - bench.density_kg_m3(0.0)) / 40.0
    assert -0.76 < slope < -0.70


def test_solvents_of_doubtful_records_say_so():
    """NOAA oil data: record AD02270 has 776 kg/m3 at 15 degC, 780 at 20 and 768 at 25; AD02258 has 804 at 0, 793 at 15.

    The slope that the procedure takes is the one that the remark states, and for mineral spirits that of the record.
    """
    slopes = {}
    for name in ("Stoddard solvent", "mineral spirits"):
        grade = fuel(name)
        slopes[name] = grade.density_kg_m3(15.5) - grade.density_kg_m3(14.5)
        [said] = grade.remarks(limits=False)
        assert f"{slopes[name]:.2f} kg/m³ per °C" in said
        assert any("procedure" in line for line in grade.measured(grade.typical.value.split(" at ")[0]).remarks())
    assert "contradicts" in fuel("Stoddard solvent").typical.standing
    assert (780.0, 20.0) in [(each.density_kg_m3, each.at_c) for each in fuel("Stoddard solvent").others]
    assert slopes["Stoddard solvent"] < (768.0 - 776.0) / 10.0 < slopes["mineral spirits"]
    assert slopes["mineral spirits"] == pytest.approx((793.0 - 804.0) / 15.0, abs=0.02)


def test_heptane_agrees_with_webbook_data():
    """NIST Chemistry WebBook fluid data, as carried in an open fuel-property library: kg/m3 at 101.325 kPa."""
    for celsius, printed in ((-40.0, 733.66), (-20.0, 717.18), (20.0, 683.85)):
        assert fuel("n-heptane").density_kg_m3(celsius) == pytest.approx(printed, rel=8e-4)


def test_what_is_not_known_of_a_grade_is_not_printed():
    assert "spread" not in str(fuel("100LL"))
    assert "standard deviation" in str(fuel("Jet A"))
    assert "None" not in "".join(map(str, all_fuels()))


def test_petroleum_expands_as_the_note_on_chj_says():
    """Beside the petroleum procedure, between the limits of density of ASTM D7566, to the two digits printed."""
    off = []
    for density in (775.0, 807.5, 840.0):
        batch = fuel("CHJ").measured(f"{density} kg/m^3", "15 degC", uncertainty="0.5 kg/m^3")
        petroleum = PetroleumProduct.observed(density, 15.0)
        off.append(abs(batch.density_kg_m3(45.0) / petroleum.density_kg_m3(45.0) - 1.0))
    assert f"up to {100.0 * max(off):.2f} % at 45 degC" in fuel("CHJ").expansion_doubt
