"""The formula core on the engines that people run: what passes through, and the one line for what does not."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import fuelunits
from fuelunits.conversion import convert
from fuelunits.errors import FuelUnitsError, OutOfRange
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.liquids import PetroleumProduct
from fuelunits.fuels.volume_correction import base_density, ctl

CELSIUS = np.linspace(-30.0, 90.0, 25)
JET = PetroleumProduct(800.0)
FORMULAS = {
    "product": JET.density_kg_m3,
    "product under pressure": lambda t: JET.density_kg_m3(t, 1000.0),
    "product of 1980": PetroleumProduct(800.0, edition=1980).density_kg_m3,
    "grade": fuel("Jet A").density_kg_m3,
    "factor": lambda t: convert(t, "gal", "L"),
    "scale": lambda t: convert(t, "degC", "degF"),
    "ctl": lambda t: ctl(800.0, t),
    "ctl of many densities": lambda t: ctl(800.0 + t, 20.0),
    "base density": lambda t: base_density(800.0 - t, 20.0),
}
every_formula = pytest.mark.parametrize("formula", FORMULAS.values(), ids=FORMULAS)


@every_formula
@pytest.mark.parametrize("dtype", ["float64", "Float64", "float64[pyarrow]"])
def test_pandas_passes_through_with_name_and_index(formula, dtype):
    pandas = pytest.importorskip("pandas")
    if "pyarrow" in dtype:
        pytest.importorskip("pyarrow")
    t = pandas.Series(CELSIUS, index=pandas.RangeIndex(100, 125), name="fuel", dtype=dtype)
    found = formula(t)
    assert (type(found), found.name) == (pandas.Series, "fuel")
    assert found.index.equals(t.index)
    np.testing.assert_allclose(found.to_numpy(dtype=float), formula(CELSIUS), rtol=1e-14)


def test_pandas_is_marked_and_refused_as_arrays_are():
    pandas = pytest.importorskip("pandas")
    t = pandas.Series([20.0, 160.0, float("nan")], index=["a", "b", "c"], name="fuel")
    marked = JET.density_kg_m3(t, out_of_range="nan")
    assert marked.isna().to_dict() == {"a": False, "b": True, "c": True}
    with pytest.raises(OutOfRange, match="160 °C"):
        JET.density_kg_m3(t)


@every_formula
def test_xarray_passes_through_with_name_and_coordinates(formula):
    xarray = pytest.importorskip("xarray")
    t = xarray.DataArray(CELSIUS, dims="time", coords={"time": np.arange(25)}, name="fuel")
    found = formula(t)
    assert (found.name, found.dims) == ("fuel", ("time",))
    assert found.coords.equals(t.coords)
    np.testing.assert_allclose(found.to_numpy(), formula(CELSIUS), rtol=1e-14)
    assert (
        JET.density_kg_m3(t * 2.0, out_of_range="nan").isnull().sum()
        == (CELSIUS * 2.0 > 150.0).sum() + (CELSIUS * 2.0 < -50.0).sum()
    )


@every_formula
def test_xarray_stays_lazy_through_apply_ufunc(formula):
    xarray = pytest.importorskip("xarray")
    pytest.importorskip("dask.array")
    t = xarray.DataArray(CELSIUS, dims="time", coords={"time": np.arange(25)}, name="fuel").chunk(time=10)
    found = xarray.apply_ufunc(formula, t, dask="parallelized", output_dtypes=[float])
    assert (found.name, found.chunks) == ("fuel", ((10, 10, 5),))
    np.testing.assert_allclose(found.to_numpy(), formula(CELSIUS), rtol=1e-14)


@every_formula
def test_dask_arrays_stay_lazy_through_map_blocks(formula):
    array = pytest.importorskip("dask.array")
    asked = []

    def counted(t):
        if t.size:  # Dask first asks with nothing, for the type
            asked.append(t.shape)
        return formula(t)

    found = array.from_array(CELSIUS, chunks=10).map_blocks(counted, dtype=float)
    assert asked == []
    np.testing.assert_allclose(found.compute(scheduler="synchronous"), formula(CELSIUS), rtol=1e-14)
    assert sorted(asked) == [(5,), (10,), (10,)]


@every_formula
def test_dask_series_stay_lazy_through_map_partitions(formula):
    pandas, dataframe = pytest.importorskip("pandas"), pytest.importorskip("dask.dataframe")
    t = pandas.Series(CELSIUS, name="fuel")
    found = dataframe.from_pandas(t, npartitions=3).map_partitions(formula, meta=("fuel", "f8"))
    computed = found.compute(scheduler="synchronous")
    pandas.testing.assert_series_equal(computed, formula(t), rtol=1e-14, check_index_type=False)


@every_formula
def test_polars_goes_through_map_batches(formula):
    polars = pytest.importorskip("polars")
    column = polars.col("fuel").map_batches(
        lambda t: polars.Series(formula(t.to_numpy())), return_dtype=polars.Float64, is_elementwise=True
    )
    found = polars.LazyFrame({"fuel": CELSIUS}).with_columns(column).collect(engine="streaming")
    assert found.columns == ["fuel"]
    np.testing.assert_allclose(found["fuel"].to_numpy(), formula(CELSIUS), rtol=1e-14)


STREAM = """
import re, sys
from pathlib import Path
import polars as pl
import fuelunits as fu
jet = fu.fuel("Jet A")
density = pl.col("fuel_c").map_batches(
    lambda t: pl.Series(jet.density_kg_m3(t.to_numpy())), return_dtype=pl.Float64, is_elementwise=True
)
rows = pl.scan_parquet([sys.argv[1]] * int(sys.argv[2])).select(density.sum(), pl.len())
total, length = rows.collect(engine="streaming").row(0)
print(total, length, re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1])
"""


def noted(library, **attrs):
    if library == "xarray":
        return pytest.importorskip("xarray").DataArray([50.0, 60.0], dims="time", attrs=attrs)
    series = pytest.importorskip("pandas").Series([50.0, 60.0])
    series.attrs |= attrs
    return series


@pytest.mark.parametrize("library", ["xarray", "pandas"])
@pytest.mark.parametrize("call", [fuel("Jet A").density_kg_m3, lambda t: convert(t, "gal", "L")])
def test_units_beside_an_array_are_not_ignored(call, library):
    """The CF conventions keep the unit of a variable in its attribute ``units``, as netCDF files do."""
    with pytest.raises(FuelUnitsError, match="degF"):
        call(noted(library, units="degF", standard_name="sea_water_temperature"))


@pytest.mark.parametrize("library", ["xarray", "pandas"])
@pytest.mark.parametrize("call", [fuel("Jet A").density_kg_m3, lambda t: convert(t, "degC", "degF")])
def test_what_describes_a_temperature_does_not_describe_the_answer(call, library):
    t = noted(library, standard_name="sea_water_temperature", unit="degC")
    assert not call(t).attrs
    assert t.attrs["unit"] == "degC"


@pytest.mark.long
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the most memory used is read from Linux's /proc")
def test_a_stream_through_polars_needs_the_same_memory_whatever_its_length(tmp_path):
    """Were the column gathered, 2e7 rows more would need 320 MB more: the temperatures and the densities."""
    polars = pytest.importorskip("polars")
    celsius = np.random.default_rng(19).uniform(-30.0, 50.0, 5_000_000)
    polars.DataFrame({"fuel_c": celsius}).write_parquet(tmp_path / "flight.parquet", row_group_size=262_144)
    peaks = []
    for files in (4, 8):
        done = subprocess.run(
            [sys.executable, "-c", STREAM, str(tmp_path / "flight.parquet"), str(files)],
            check=True,
            capture_output=True,
            text=True,
            env=os.environ | {"PYTHONPATH": str(Path(fuelunits.__file__).parents[1])},
        )
        total, rows, peak_kb = map(float, done.stdout.split())
        assert rows == files * celsius.size
        assert total == pytest.approx(files * fuel("Jet A").density_kg_m3(celsius).sum(), rel=1e-9)
        peaks.append(peak_kb / 1024.0)
    assert peaks[1] - peaks[0] < 80.0


@every_formula
def test_masked_cells_stay_masked_and_are_never_looked_at(formula):
    t = np.ma.masked_array([*CELSIUS, 9999.0], [*[False, True] * 12, False, True])
    found = formula(t)
    np.testing.assert_array_equal(np.ma.getmaskarray(found), t.mask)
    np.testing.assert_allclose(found.compressed(), formula(t.compressed()), rtol=1e-14)


@every_formula
def test_arrays_of_any_other_library_are_refused(formula):
    class Tensor:
        dtype, shape, ndim = np.dtype(float), (2,), 1

        def __array__(self):
            return np.array([20.0, 30.0])

        def __radd__(self, other):
            return self

        __rsub__ = __radd__

    with pytest.raises(FuelUnitsError, match=r"numpy\.asarray"):
        formula(Tensor())


@pytest.mark.parametrize("name", [name for name in FORMULAS if name not in ("base density", "ctl of many densities")])
def test_float32_stays_float32(name):
    """But where the density itself picks a group's coefficients, which are float64."""
    single = CELSIUS.astype(np.float32)
    found = FORMULAS[name](single)
    assert found.dtype == np.float32
    np.testing.assert_allclose(found, FORMULAS[name](CELSIUS), rtol=3e-6)


@pytest.mark.parametrize("kind", ["numpy", "masked", "pandas", "xarray"])
def test_half_precision_does_not_overflow(kind):
    """800 gal are 3 028 329 mL and 60 000 kg are 74 258 L, and half precision ends at 65 504."""
    makers = {"numpy": lambda x: x, "masked": lambda x: np.ma.masked_array(x, [False])}
    make = makers.get(kind) or (
        lambda x: getattr(pytest.importorskip(kind), {"pandas": "Series"}.get(kind, "DataArray"))(x)
    )
    gallons, celsius, tonnes = (make(np.array([each], np.float16)) for each in (800.0, 30.0, 60_000.0))
    assert np.asarray(convert(gallons, "gal", "mL")) == pytest.approx(800.0 * 3785.411784, rel=1e-9)
    for call in (fuel("Jet A").density_kg_m3, lambda t: ctl(800.0, t), lambda t: fuelunits.hydrometer_factor(t)):
        np.testing.assert_allclose(np.asarray(call(celsius)), call(30.0), rtol=1e-12)
    if kind == "numpy":
        mass = pytest.importorskip("pint").UnitRegistry().Quantity(tonnes, "kg")
        litres = fuel("Jet A").volume(mass, "15 degC").m_as("L")
        assert litres == pytest.approx(float(tonnes[0]) / fuel("Jet A").density_kg_m3(15.0) * 1000.0, rel=1e-9)
