"""Quantities of other libraries: refused, or read with their unit; never stripped of it."""

import datetime
import decimal
import functools

import numpy as np
import pint
import pytest
from registries import ONE_REGISTRY

import fuelunits as fu
from fuelunits.conversion import kind_of
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.quantities import fraction, is_ratio, magnitude, pair, pint_name, positive, temperature_c
from fuelunits.units import all_spellings
from fuelunits.validation import boolean, plain_array, plain_number, positive_number, whole_number

GALLON_L = 231 * 0.254**3  # the US gallon of 231 cubic inches of 2.54 cm (legal definitions), in litres
UREG = ONE_REGISTRY


def of_astropy():
    units = pytest.importorskip("astropy.units")
    imperial = pytest.importorskip("astropy.units.imperial")
    volume = units.imperial.gallon if hasattr(units, "imperial") else imperial.gallon
    return {
        "gal": lambda value: value * volume,
        "L": lambda value: value * units.liter,
        "Hz": lambda value: value * units.hertz,
        "kg/L": lambda value: value * units.kg / units.liter,
        "degF": lambda value: value * imperial.deg_F,
        "degC": lambda value: value * units.deg_C,
        "K": lambda value: value * units.K,
        "%": lambda value: value * units.percent,
        "h": lambda value: value * units.hour,
        "A": lambda value: value * units.ampere,
    }


def of_unyt():
    unyt = pytest.importorskip("unyt")
    names = {"gal": "gal_US", "%": "percent", "h": "hr"}

    def maker(name):
        return lambda value: unyt.unyt_array(value, name) if np.ndim(value) else unyt.unyt_quantity(value, name)

    return {
        name: maker(names.get(name, name)) for name in ("gal", "L", "Hz", "kg/L", "degF", "degC", "K", "%", "h", "A")
    }


LIBRARIES = pytest.mark.parametrize("library", [of_astropy, of_unyt], ids=["astropy", "unyt"])


@LIBRARIES
def test_quantities_of_other_libraries_are_refused_and_never_stripped(library):
    unit, jet = library(), fu.fuel("Jet A")
    for wrong in (unit["L"](15.0), unit["L"](15), unit["L"](np.array([1.0, 2.0])), unit["gal"](15.0)):
        for call in (lambda x: positive(x, "L", name="volume"), lambda x: jet.mass(x, at="15 degC")):
            with pytest.raises(QuantityError, match="must be one quantity"):
                call(wrong)
        with pytest.raises(FuelUnitsError):
            fu.convert(10.0, "L", "kg", density=unit["kg/L"](0.8))
        with pytest.raises(FuelUnitsError):
            fu.KFactor.read(11_412 / wrong)
    with pytest.raises(FuelUnitsError):
        jet.density(unit["degF"](59.0))
    with pytest.raises(FuelUnitsError):
        fraction(unit["%"](3.0), name="tolerance")
    with pytest.raises(FuelUnitsError):
        fu.KFactor(11_412, per="L").flow(unit["Hz"](100.0))
    with pytest.raises(FuelUnitsError):
        pair((unit["degF"](59.0), "40 degC"), "degC", name="between")
    with pytest.raises(FuelUnitsError):
        kind_of(unit["gal"](5.0), ["kg", "m^3"], name="amount")
    assert not is_ratio(unit["%"](3.0))


@LIBRARIES
def test_they_are_refused_where_a_plain_number_is_needed(library):
    unit = library()
    jet = fu.fuel("Jet A")
    fahrenheit, litres = unit["degF"](59.0), unit["L"](15.0)
    for wrong in (fahrenheit, [fahrenheit], (fahrenheit, 15.0), [[fahrenheit]], unit["degF"](np.array([59.0]))):
        with pytest.raises(FuelUnitsError):
            jet.density_kg_m3(wrong)
        with pytest.raises(FuelUnitsError):
            fu.ctl(800.0, wrong)
    with pytest.raises(QuantityError, match="15"):
        fu.convert(litres, "gal", "lb", density="6.7 lb/gal")
    for read in (plain_number, positive_number, whole_number, plain_array):
        for wrong in (litres, np.array([litres], dtype=object), [litres]):
            with pytest.raises(QuantityError, match=r"^x must be"):
                read(wrong, "x")
    with pytest.raises(FuelUnitsError):
        fu.KFactor(unit["Hz"](11_412.0), per="L")


def test_series_and_arrays_that_hold_pint_quantities():
    pd, xr = pytest.importorskip("pandas"), pytest.importorskip("xarray")
    jet = fu.fuel("Jet A")
    fahrenheit = UREG.Quantity(np.array([59.0, 104.0]), "degF")
    held = [xr.DataArray(fahrenheit, dims="row")]
    held += [pd.Series([59.0, 104.0], dtype="pint[degF]")] if pytest.importorskip("pint_pandas") else []
    for values in held:
        assert temperature_c(values) == pytest.approx([15.0, 40.0])
        with pytest.raises(FuelUnitsError):
            jet.density_kg_m3(values)
        with pytest.raises(FuelUnitsError):
            fu.convert(values, "degC", "degF")
    with pytest.raises(FuelUnitsError):
        jet.density_kg_m3(pd.DataFrame({"t": held[1]}))
    with pytest.raises(FuelUnitsError):
        jet.density_kg_m3(pd.Series([fahrenheit[0], fahrenheit[1]], dtype=object))


def test_lists_of_quantities_are_refused():
    one = UREG.Quantity(59.0, "degF")
    for wrong in ([one], (one, one), np.array([one, one], dtype=object), [[one]], [15.0, one]):
        for call in (fu.fuel("Jet A").density_kg_m3, lambda x: fu.ctl(800.0, x), temperature_c):
            with pytest.raises(FuelUnitsError, match="59"):
                call(wrong)


def test_a_time_difference_of_python_is_a_time():
    for value, hours in ((datetime.timedelta(minutes=45), 0.75), (datetime.timedelta(microseconds=3), 3e-6 / 3600)):
        assert magnitude(value, "h", name="time") == pytest.approx(hours, rel=1e-14)
        with pytest.raises(FuelUnitsError):
            fu.ctl(800.0, value)
        with pytest.raises(FuelUnitsError):
            magnitude(value, "L", name="volume")
        for read in (plain_number, positive_number, whole_number):
            with pytest.raises(QuantityError):
                read(value, "x")
    assert fu.LowFuelByTime(datetime.timedelta(minutes=40)).minutes == 40


def test_time_differences_of_numpy_and_pandas_are_times_those_of_polars_and_arrow_are_refused():
    pd, pl, pa = (pytest.importorskip(name) for name in ("pandas", "polars", "pyarrow"))
    minutes = np.array([45, 90], dtype="m8[m]")
    for value in (minutes, pd.Series(minutes.astype("m8[s]")), pytest.importorskip("xarray").DataArray(minutes)):
        assert magnitude(value, "h", name="time") == pytest.approx([0.75, 1.5])
    for value in (np.timedelta64(45, "m"), pd.Timedelta(minutes=45), minutes[0]):
        assert magnitude(value, "h", name="time") == pytest.approx(0.75)
    assert np.isnan(magnitude(np.timedelta64("NaT", "s"), "h", name="time"))
    times = [datetime.timedelta(minutes=45)]
    for wrong in (pl.Series(times), pa.array(minutes.astype("m8[s]")), np.timedelta64(1, "M"), pd.NaT, times):
        with pytest.raises(FuelUnitsError):
            magnitude(wrong, "h", name="time")
    for wrong in (minutes, minutes[0], pd.Series(minutes.astype("m8[s]"))):
        with pytest.raises(FuelUnitsError):
            fu.ctl(800.0, wrong)
        with pytest.raises(FuelUnitsError):
            magnitude(wrong, "L", name="volume")


def test_series_of_polars_and_arrow_are_read_and_expressions_refused():
    pl, pa = pytest.importorskip("polars"), pytest.importorskip("pyarrow")
    jet = fu.fuel("Jet A")
    expected = jet.density_kg_m3(np.array([15.0, np.nan, 30.0]))
    for values in (pl.Series([15.0, None, 30.0]), pa.array([15, None, 30]), pa.chunked_array([[15.0, None], [30.0]])):
        np.testing.assert_array_equal(jet.density_kg_m3(values), expected)
    for wrong in (pl.col("t"), pl.Series(["15"]), pl.Series([True]), pa.array([True])):
        with pytest.raises(FuelUnitsError):
            jet.density_kg_m3(wrong)
        with pytest.raises(FuelUnitsError):
            fu.convert(wrong, "degC", "degF")


@pytest.mark.parametrize("kind", ["Index", "array", "Series"])
def test_an_index_of_pandas_and_the_array_of_a_series_are_read(kind):
    pd = pytest.importorskip("pandas")
    made, jet = getattr(pd, kind), fu.fuel("Jet A")
    for formula in (jet.density_kg_m3, lambda t: fu.ctl(800.0, t), lambda t: fu.convert(t, "degC", "degF")):
        expected = formula(np.array([15.0, np.nan, 30.0]))
        np.testing.assert_array_equal(np.asarray(formula(made([15.0, None, 30.0], dtype="Float64")), float), expected)
        for wrong in (
            made(["15"]),
            made([True]),
            pd.DatetimeIndex(["2026-01-01"]),
            pd.MultiIndex.from_tuples([(1, 2)]),
        ):
            with pytest.raises(FuelUnitsError):
                formula(wrong)


def test_a_series_of_dask_is_refused_with_the_call_that_keeps_it_lazy():
    pd, dd = pytest.importorskip("pandas"), pytest.importorskip("dask.dataframe")
    lazy = dd.from_pandas(pd.Series([15.0, 30.0]), npartitions=1)
    for formula in (fu.fuel("Jet A").density_kg_m3, lambda t: fu.ctl(800.0, t), fu.pulses_for_resolution):
        with pytest.raises(QuantityError, match="map_partitions"):
            formula(lazy)


@pytest.mark.filterwarnings("ignore:This function will be removed:DeprecationWarning")  # pint, as it prints one
@pytest.mark.parametrize(
    ("unit", "read"),
    [("kg/L", lambda x: fu.convert(5, "gal", "lb", density=x)), ("Hz", fu.KFactor(11_412, per="L").flow)],
)
def test_a_measurement_of_pint_is_refused(unit, read):
    with pytest.raises(QuantityError, match=r"one quantity.*\+/-"):
        read(UREG.Quantity(0.8, unit).plus_minus(0.01))


@pytest.mark.parametrize(
    ("number", "unit", "written"),
    [
        (100.0, "lb/h", "100 lb/h"),
        (12.5, "imperial_gallon/hour", "12.5 imp_gal/h"),
        (0.2, "kHz", "0.2 kHz"),
        (150.0, "1/s", "150 Hz"),
        (40.0, "decimeter**3/hour", "1.11111111111111e-05 m^3/s"),  # a unit that is not ours
    ],
)
def test_a_point_of_a_bench_sheet_keeps_the_unit_of_its_quantity(number, unit, written):
    reads = fu.Indicator(fu.KFactor(11_412, per="L"), reads="lb/h", fixed_density="6.7 lb/gal")
    given, text = (reads.bench_points([each], "1 lb/h") for each in (UREG.Quantity(number, unit), written))
    assert given.asked == (written,)
    assert str(given) == str(text)
    with pytest.raises(QuantityError, match="one quantity"):
        reads.bench_points([UREG.Quantity(float("nan"), unit)], "1 lb/h")


def test_units_alone_and_truth_values_are_refused():
    units = [UREG.degF]
    for library, name in (("astropy.units", "m"), ("unyt", "m")):
        units.append(getattr(pytest.importorskip(library), name))
    pd = pytest.importorskip("pandas")
    for wrong in (*units, True, np.True_, [True, 1.0], [[np.True_]], pd.Series([True]), np.array([True])):
        for call in (lambda x: fu.ctl(800.0, x), lambda x: fu.convert(x, "gal", "L"), temperature_c):
            with pytest.raises(FuelUnitsError):
                call(wrong)
        with pytest.raises(QuantityError):
            plain_number(wrong, "x")
        with pytest.raises(QuantityError):
            whole_number(wrong, "x")


SCALARS = [5, np.int64(5), np.uint8(5), np.float32(5), np.float16(5), np.longdouble(5), np.array(5), np.array(5.0)]


@pytest.mark.parametrize("value", SCALARS, ids=lambda value: type(value).__name__)
def test_scalars_of_numpy_are_numbers(value):
    assert plain_number(value, "x") == positive_number(value, "x") == 5.0
    assert type(plain_number(value, "x")) is float
    assert whole_number(value, "x") == 5
    assert type(whole_number(value, "x")) is int
    assert fu.convert(value, "gal", "L") == pytest.approx(
        5 * GALLON_L, rel=1e-3 if value.__class__ is np.float16 else 1e-6
    )


def test_scalars_of_pandas_are_numbers():
    pd = pytest.importorskip("pandas")
    for kind in ("int64", "float32", "Int64", "Float64", "uint8"):
        assert plain_number(pd.Series([5], dtype=kind)[0], "x") == 5.0
        assert whole_number(pd.Series([5], dtype=kind)[0], "x") == 5
    with pytest.raises(QuantityError):
        plain_number(pd.NA, "x")
    assert np.isnan(fu.convert(pd.NA, "gal", "L"))


def test_a_truth_value_is_of_python_or_numpy():
    assert boolean(np.True_, "x") is True
    for wrong in (1, "True", None, np.array([True]), np.int64(1)):
        with pytest.raises(QuantityError, match=r"^x must be True or False"):
            boolean(wrong, "x")


@pytest.mark.parametrize("masked", [np.ma.masked, np.ma.masked_array(0.2, mask=True), np.ma.masked_array(2, mask=True)])
def test_a_single_masked_cell_is_refused_or_nan(masked):
    """What hides behind a mask is no reading: as the error found, 0.0 would be accepted."""
    calls = (
        *(lambda: fu.conformity(masked, 0.1, 0.3), lambda: fu.conformance_probability(masked, 1.0, upper=1.0)),
        *(lambda: fu.uncertain(masked, 0.1, name="x"), lambda: fu.uncertain(1.0, masked, name="x")),
        *(lambda: fu.CalibrationPoint(100.0, 7550.0, masked), lambda: fu.KFactor(masked, per="L")),
        *(lambda: fu.counted(masked), lambda: fu.fuel("Jet A").measured(api_gravity=masked, at="15 degC")),
        *(lambda: fu.blend({"Jet A": masked, "HEFA-SPK": 1.0}), lambda: fu.interval_by_reliability(masked, 20, 365.0)),
    )
    for call in calls:
        with pytest.raises(FuelUnitsError):
            call()
    assert np.isnan(fu.fuel("Jet A").density_kg_m3(masked))
    assert np.isnan(fu.air_density_kg_m3(masked, 101_325.0, 0.5))


def test_masked_cells_are_never_numbers():
    masked = np.ma.masked_array([15.0, 9999.0], mask=[False, True])
    jet = fu.fuel("Jet A")
    for out_of_range in ("raise", "nan"):
        answer = fu.ctl(800.0, masked, out_of_range=out_of_range)
        assert answer.mask.tolist() == [False, True]
        assert answer[0] == pytest.approx(fu.ctl(800.0, 15.0))
    assert fu.convert(masked, "degC", "degF").mask.tolist() == [False, True]
    with pytest.raises(QuantityError, match="masked"):
        jet.density(UREG.Quantity(masked, "degC"))
    with pytest.raises(QuantityError, match="masked"):
        plain_array(masked, "x")


JET = fu.fuel("Jet A")


@pytest.mark.parametrize(
    "formula",
    [
        functools.partial(fu.ctl, 800.0),
        fu.PetroleumProduct(800.0).density_kg_m3,
        functools.partial(fu.PetroleumProduct(800.0).density_kg_m3, 15.0),
        functools.partial(JET.density_kg_m3, gauge_pressure_kpa=100.0),
        fu.fuel("FAME").density_kg_m3,
        JET.measured("0.8 kg/L").density_kg_m3,
        fu.blend({JET: 0.5, "HEFA-SPK": 0.5}).density_kg_m3,
        fu.water_density_kg_m3,
        lambda t, **how: fu.air_density_kg_m3(t, 1e5, 0.5, **how),
        fu.viscosity("JP-8").kinematic_viscosity_mm2_s,
    ],
)
def test_a_cell_out_of_range_is_nan_and_only_a_masked_cell_stays_masked(formula):
    found = formula(np.ma.masked_array([2e5, 20.0, 9999.0], mask=[False, False, True]), out_of_range="nan")
    assert np.ma.getmaskarray(found).tolist() == [False, False, True]
    assert np.isnan(found.data[0])
    assert found[1] == formula(20.0)


@pytest.mark.parametrize(
    ("formula", "given"), [(fu.relative_density_from_density, 800.0), (fu.density_from_api_gravity, 20.0)]
)
def test_nan_stays_nan_beside_a_masked_cell(formula, given):
    found = formula(np.ma.masked_array([np.nan, given, 9999.0], mask=[False, False, True]))
    assert np.ma.getmaskarray(found).tolist() == [False, False, True]


def test_a_pulse_rate_is_a_frequency():
    ours = pint.UnitRegistry()
    fu.register_units(ours)
    rates = ("100 pulse/s", "6000 pulse/min", ours.Quantity(100.0, "pulse/s"), ours.Quantity(6000.0, "pulse/minute"))
    for rate in rates:
        assert magnitude(rate, "Hz", name="f") == pytest.approx(100.0)
        assert kind_of(rate, ["m^3/s", "Hz"], name="f") == "Hz"
    assert (
        magnitude("100 Hz", "pulse/s", name="f") == magnitude(ours.Quantity(100.0, "Hz"), "pulse/s", name="f") == 100.0
    )
    with pytest.raises(FuelUnitsError):
        fu.factor("pulse/s", "Hz")
    flow = fu.KFactor(11_412, per="L").flow("6000 pulse/min")
    assert flow.m_as("L/s") == pytest.approx(100 / 11_412)


@pytest.mark.parametrize("unit", ["cycle/s", "turn/s", "rpm", "degree/s", "radian/s"])
def test_turns_and_angles_are_no_pulses(unit):
    """Pint's own definitions: a cycle is 2π, so that 150 cycle/s would be read as 942 pulses a second."""
    ureg = ONE_REGISTRY
    assert ureg.Quantity(150, "cycle/s").m_as("Hz") == pytest.approx(942.48, abs=0.01)
    indicator = fu.Indicator("11412 pulse/L", reads="L/h")
    for given in (ureg.Quantity(150.0, unit), ureg.Quantity(np.array([150.0, 151.0]), unit)):
        for call in (fu.KFactor(11_412, per="L").flow, indicator.reading, lambda hz: fu.Generator(hz, "0 %")):
            with pytest.raises(FuelUnitsError, match="turns"):
                call(given)
    with pytest.raises(FuelUnitsError, match="turns"):
        fu.check_density("6.7 lb/gal", "Jet A", between=("0 degC", "9 degC"), tolerance=ureg.Quantity(3.0, "degree"))
    for alike in ("Hz", "1/s", "count/s", "becquerel"):
        found = fu.KFactor(11_412, per="L").flow(ureg.Quantity(150.0, alike)).m_as("L/h")
        assert found == pytest.approx(150.0 * 3600.0 / 11_412)


def test_a_context_of_pint_makes_no_frequency_of_a_length():
    ureg = ONE_REGISTRY
    with ureg.context("spectroscopy"):
        assert ureg.Quantity(3.0, "m").m_as("Hz") > 9e7  # what pint itself converts
        for wrong in (ureg.Quantity(3.0, "m"), ureg.Quantity(3.0, "eV")):
            with pytest.raises(DimensionError, match="frequency"):
                fu.KFactor(11_412, per="L").flow(wrong)


@pytest.mark.parametrize(
    "ureg", [pint.UnitRegistry(case_sensitive=False), pint.UnitRegistry(non_int_type=decimal.Decimal)]
)
def test_registries_without_case_or_of_decimals_are_answered(ureg):
    """Without case, ``kg`` is a kilogauss as well, by chance of the order of a set."""
    jet, number = fu.fuel("Jet A"), ureg.non_int_type
    density = jet.density(ureg.Quantity(number("30"), "degC"))
    assert density.check("[mass]/[volume]")
    assert float(density.magnitude) == pytest.approx(jet.density_kg_m3(30.0))
    assert float(fu.KFactor(11_412, per="L").flow(ureg.Quantity(number("150"), "Hz")).magnitude) > 0.0
    for unit in sorted({unit.name for unit in all_spellings().values()} - {"pulse", "inH2O"}):
        assert "gauss" not in str(ureg.Unit(pint_name(unit)))


def test_an_array_with_one_uncertain_member_is_no_array_of_numbers():
    uncertainties = pytest.importorskip("uncertainties")
    one = uncertainties.ufloat(15.0, 0.1)
    for members in ([one, one], [one, 15.0], [15.0, one]):
        with pytest.raises(QuantityError, match="plain numbers"):
            magnitude(UREG.Quantity(np.array(members, dtype=object), "L"), "L", name="volume")
    plain = magnitude(UREG.Quantity(np.array([15.0, 16], dtype=object), "L"), "mL", name="volume")
    assert [float(each) for each in plain] == pytest.approx([15_000.0, 16_000.0])


@pytest.mark.parametrize("kind", [np.uint8, np.int8, np.uint16, np.int16, np.int32])
def test_quantities_of_small_integers_do_not_overflow(kind):
    """Pint multiplies in the type of the magnitude, whose range a smaller unit leaves; by hand: 100 min are 6000 s."""
    one, several = kind(100), np.array([3, 4, 100], kind)
    assert magnitude(UREG.Quantity(one, "min"), "s", name="time") == 6000.0
    assert magnitude(UREG.Quantity(several, "min"), "s", name="time").tolist() == [180.0, 240.0, 6000.0]
    assert fu.KFactor(11_412, per="L").frequency(UREG.Quantity(one, "L/min")).m_as("Hz") == pytest.approx(19_020.0)


def labelled(kind, numbers, labels, unit):
    """Return quantities with a label each, of pandas or of xarray."""
    if kind == "pandas":
        pytest.importorskip("pint_pandas")
        return pytest.importorskip("pandas").Series(numbers, index=labels, dtype=f"pint[{unit}]")
    array = pytest.importorskip("xarray").DataArray
    return array(UREG.Quantity(np.array(numbers), unit), dims="tank", coords={"tank": labels})


@pytest.mark.parametrize("kind", ["pandas", "xarray"])
def test_quantities_of_unlike_labels_are_not_paired_by_position(kind):
    """10, 20 and 30 L at 1, 2 and 3 L/h last 10 h each, and 3.3 to 30 h where the flows come in another order."""
    litres = labelled(kind, [10.0, 20.0, 30.0], ["a", "b", "c"], "L")
    flows = labelled(kind, [1.0, 2.0, 3.0], ["a", "b", "c"], "L/hour")
    assert fu.endurance(litres, flows).m_as("hour").tolist() == [10.0] * 3
    assert fu.endurance(litres, "2 L/h").m_as("hour").tolist() == [5.0, 10.0, 15.0]
    jet = fu.fuel("Jet A").measured("0.8 kg/L")
    for labels, count in ((["c", "b", "a"], 3), (["a", "b", "d"], 3), (["a"], 1)):
        other = labelled(kind, [3.0, 2.0, 1.0][:count], labels, "L/hour")
        at = labelled(kind, [20.0] * count, labels, "degC")
        for call in (lambda: fu.endurance(litres, other), lambda: jet.mass(litres, at=at)):  # noqa: B023
            with pytest.raises(QuantityError, match="unlike labels"):
                call()
    if kind == "xarray":
        with pytest.raises(QuantityError, match="unlike labels"):
            fu.endurance(litres, flows.rename(tank="flow"))


def test_weights_with_labels_are_not_taken_by_position():
    """A table that was grouped by flow has the flows in the order of their texts."""
    pandas = pytest.importorskip("pandas")
    curve = fu.MeterCurve([fu.CalibrationPoint(hz, k, 0.0005) for hz, k in [(200.0, 2880.0), (300.0, 2950.0)]])
    flows, indicator = ["300 L/h", "250 L/h", "350 L/h"], fu.Indicator("2950 pulse/L", reads="L/h")
    burned = pandas.DataFrame({"flow": flows, "L": [12.0, 400.0, 60.0]}).groupby("flow")["L"].sum()
    given = {"flows": flows, "k_step": "1 pulse/L"}
    with pytest.raises(QuantityError, match="in order"):
        fu.best_setting(indicator, curve, weights=burned, **given)
    in_order = [
        fu.best_setting(indicator, curve, weights=each, **given) for each in (burned[flows].to_list(), [12, 400, 60])
    ]
    assert in_order[0].report().verdict == in_order[1].report().verdict
    column = pandas.Series([12.0, 400.0, 60.0])  # numbered rows
    assert fu.best_setting(indicator, curve, weights=column, **given).report().verdict == in_order[0].report().verdict


@pytest.mark.parametrize("wrap", [list, tuple, lambda each: [list(each)]], ids=["list", "tuple", "nested"])
def test_a_list_of_masked_arrays_is_not_read_as_what_they_mask(wrap):
    masked = np.ma.array([10.0, 50.0], mask=[False, True])
    for call in (
        lambda x: fu.fuel("Jet A").density_kg_m3(x),
        lambda x: fu.convert(x, "L", "gal"),
        lambda x: fu.KFactor(11412, per="L").volume(x),
    ):
        with pytest.raises(QuantityError):
            call(wrap([masked, masked]))


def test_a_set_is_no_pair():
    with pytest.raises(QuantityError, match="between"):
        fu.check_density("6.7 lb/gal", "Jet A", between={"-20 degC", "40 degC"}, tolerance="3 %")
