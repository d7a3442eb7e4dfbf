"""The search for a base density: found again to the last digit, between groups, beyond the limits, in any container."""

import numpy as np
import pytest

from fuelunits.errors import OutOfRange
from fuelunits.fuels import elementwise
from fuelunits.fuels.editions import BASE_60F_C, LUBRICATING_OIL, REFINED_PRODUCTS, Procedure1980
from fuelunits.fuels.volume_correction import base_density, ctl, ctpl
from fuelunits.fuels.water_and_air import hydrometer_factor

BASES = [15.0, 20.0, BASE_60F_C]
MANY = elementwise._BLOCK + 1


def test_an_array_of_no_dimension_counts_as_a_number_beside_an_array():
    t = np.array([10.0, 30.0])
    np.testing.assert_array_equal(ctl(np.array(800.0), t), ctl(800.0, t))
    assert ctl(np.array(800.0), np.array(30.0)) == ctl(800.0, 30.0)


def smooth_ctl(procedure, rho, t):
    return procedure.smooth(rho, procedure.table.row_of(rho)).ctl(procedure.degrees(t))


@pytest.mark.parametrize("p", [0.0, 1.0, 10_342.0])
@pytest.mark.parametrize("t", [-40.0, 0.0, 15.0, BASE_60F_C, 20.0, 95.0])
def test_of_either_edition_it_is_found_again_where_alpha_needs_no_rounding(t, p):
    """Lubricating oils whose alpha, K1 / rho, has no more than the seven decimals that 1980 keeps."""
    for base, base_c in ((0.6278 / 7e-4, 15.0), (0.34878 / 4e-4, BASE_60F_C)):
        for edition in (1980, 2004):
            state = {"base_c": base_c, "edition": edition, "commodity": LUBRICATING_OIL}
            observed = base * ctpl(base, t, p, **state)
            assert base_density(observed, t, p, **state) == pytest.approx(base, rel=5e-13)


@pytest.mark.parametrize("t", [14.5, 15.0, 15.5, 17.0])
def test_in_the_transition_zone_of_1980_beside_the_base_temperature(t):
    observed = np.array([771.0, 778.0, 786.0])
    found = base_density(observed, t, edition=1980)
    np.testing.assert_allclose(found * ctl(found, t, edition=1980), observed, rtol=2e-7)
    assert base_density(778.0, t, edition=1980) == pytest.approx(found[1], rel=1e-12)


@pytest.mark.parametrize(("limit", "t"), [(770.25, -40.0), (787.25, 95.0), (838.75, -40.0)])
def test_in_the_gap_between_two_groups_of_1980_the_nearer_side_is_taken(limit, t):
    procedure = Procedure1980(REFINED_PRODUCTS)
    below, above = (rho * smooth_ctl(procedure, rho, t) for rho in (np.nextafter(limit, 0.0), limit))
    for share, is_below in ((0.1, True), (0.4, True), (0.6, False), (0.9, False)):
        observed = below + share * (above - below)
        found = base_density(float(observed), t, edition=1980)
        assert type(found) is float
        assert found == pytest.approx(limit, rel=1e-15)
        assert (found < limit) is is_below
        of_some = base_density(np.array([observed, 900.0, observed]), t, edition=1980)
        assert of_some[[0, 2]].tolist() == [found, found]
        assert of_some[1] == pytest.approx(base_density(900.0, t, edition=1980), rel=1e-12)


@pytest.mark.parametrize("base_c", BASES)
@pytest.mark.parametrize("edition", [1980, 2004])
def test_the_reading_of_a_hydrometer_is_corrected_for_the_glass_of_its_own_calibration(base_c, edition):
    t = np.array([0.0, 30.0, 60.0])
    corrected = 820.0 * hydrometer_factor(t, calibrated_c=base_c)
    expected = base_density(corrected, t, base_c=base_c, edition=edition)
    found = base_density(820.0, t, base_c=base_c, edition=edition, glass_hydrometer=True)
    np.testing.assert_array_equal(found, expected)


# beyond the limits


@pytest.mark.parametrize(
    ("observed", "edition"),
    [*[(each, 2004) for each in (500.0, 1300.0, 0.0, -5.0, float("inf"))], (640.0, 1980), (1080.0, 1980)],
)
@pytest.mark.parametrize("container", [float, lambda x: np.array([900.0, x]), lambda x: np.full(MANY, x)])
def test_beyond_the_limits_the_density_is_named_and_refused_or_marked(observed, edition, container):
    """At the base temperature, so that the density named is the one observed."""
    state = {"temperature_c": BASE_60F_C, "base_c": BASE_60F_C, "edition": edition}
    limits = {2004: "610.6 to 1163.5", 1980: "652.9 to 1075.1"}[edition]
    with pytest.raises(OutOfRange, match=f"base density.*: {observed:g} kg.*{limits}.*D1250") as refusal:
        base_density(container(observed), **state)
    assert refusal.value.value == pytest.approx(observed, abs=1e-6)
    marked = base_density(container(observed), out_of_range="nan", **state)
    assert np.isnan(marked).tolist() == (np.asarray(container(observed)) != 900.0).tolist()


@pytest.mark.parametrize(("limit", "beyond"), [(610.6, 610.59), (1163.5, 1163.51)])
def test_the_limits_themselves_are_found(limit, beyond):
    for t, p in ((-50.0, 0.0), (60.0, 0.0), (150.0, 10_000.0)):
        factor = ctpl(limit, t, p, base_c=BASE_60F_C)
        assert base_density(limit * factor, t, p, base_c=BASE_60F_C) == pytest.approx(limit, rel=1e-12)
        with pytest.raises(OutOfRange) as refusal:
            base_density(beyond * factor, t, p, base_c=BASE_60F_C)
        assert refusal.value.value == pytest.approx(beyond, rel=1e-12)


# containers


def test_a_series_stays_one_where_some_of_it_lies_beyond_the_limits_or_between_groups():
    pandas = pytest.importorskip("pandas")
    between = 770.25 * (1.0 - 2e-5) * smooth_ctl(Procedure1980(REFINED_PRODUCTS), 770.25, -40.0)
    observed = pandas.Series([500.0, 800.0, float("nan"), between], index=["a", "b", "c", "d"], name="tank")
    found = base_density(observed, -40.0, edition=1980, out_of_range="nan")
    assert (type(found), found.name, list(found.index)) == (pandas.Series, "tank", ["a", "b", "c", "d"])
    assert found.isna().tolist() == [True, False, True, False]
    assert found["b"] == pytest.approx(base_density(800.0, -40.0, edition=1980), rel=1e-12)
    assert found["d"] == pytest.approx(770.25, rel=1e-12)
    with pytest.raises(OutOfRange, match="base density"):
        base_density(observed, -40.0, edition=1980)


def test_a_data_array_keeps_its_dimensions_where_some_of_it_lies_beyond_the_limits():
    xarray = pytest.importorskip("xarray")
    observed = xarray.DataArray([500.0, 800.0], dims="tank")
    t = xarray.DataArray([-10.0, 15.0, 40.0], dims="time")
    found = base_density(observed, t, out_of_range="nan")
    assert found.dims == ("tank", "time")
    assert np.isnan(found.values).tolist() == [[True] * 3, [False] * 3]
    np.testing.assert_allclose(found.values[1], base_density(800.0, t.values), rtol=1e-12)


def test_large_series_and_masked_arrays_stay_what_they_are():
    pandas = pytest.importorskip("pandas")
    observed = np.linspace(700.0, 900.0, MANY)
    expected = base_density(observed, 30.0)
    series = base_density(pandas.Series(observed, name="tank"), 30.0)
    assert (type(series), series.name) == (pandas.Series, "tank")
    np.testing.assert_allclose(series, expected, rtol=1e-12)
    masked = base_density(np.ma.masked_array(observed, observed > 899.0), 30.0)
    assert masked.mask.sum() == (observed > 899.0).sum()
    np.testing.assert_allclose(masked.compressed(), expected[observed <= 899.0], rtol=1e-12)


def test_arguments_of_different_shapes_broadcast_in_any_number():
    observed, t = np.linspace(700.0, 900.0, MANY)[:, np.newaxis], np.array([0.0, 30.0])
    found = base_density(observed, t, 100.0)
    assert found.shape == (MANY, 2)
    few = base_density(observed[::4096], t, 100.0)
    np.testing.assert_allclose(found[::4096], few, rtol=1e-12)
    np.testing.assert_allclose(few * ctpl(few, t, 100.0), np.broadcast_to(observed[::4096], few.shape), rtol=1e-12)


def test_a_grid_of_densities_and_temperatures_is_solved_as_its_elements():
    observed, t = np.linspace(690.0, 900.0, 50)[:, np.newaxis], np.linspace(-40.0, 90.0, 40)
    whole = np.broadcast_arrays(observed, t)
    for p in (0.0, np.linspace(0.0, 9000.0, 40)):
        found = base_density(observed, t, p)
        np.testing.assert_allclose(found, base_density(*whole, np.broadcast_to(p, found.shape)), rtol=1e-12)
        np.testing.assert_allclose(found * ctpl(found, t, p), whole[0], rtol=1e-9)


@pytest.mark.parametrize("dtype", [np.float32, np.longdouble, ">f8", object])
@pytest.mark.parametrize("size", [3, MANY])
def test_the_answer_is_in_double_precision(dtype, size):
    observed = np.linspace(700.0, 900.0, size).round().astype(dtype)
    found = base_density(observed, 30.0)
    assert found.dtype == np.float64
    np.testing.assert_array_equal(found, base_density(observed.astype(np.float64), 30.0))
