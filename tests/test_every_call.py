"""What holds for every public call: invalid input is refused in our own words, and an answer has no second form."""

import copy
import datetime
import inspect
import math
import pickle
from contextlib import suppress
from decimal import Decimal
from fractions import Fraction
from importlib.util import find_spec
from itertools import combinations

import numpy as np
import pint
import pytest
from every_call import CALLS
from uncertainties import ufloat

import fuelunits as fu
from fuelunits.errors import FuelUnitsError
from fuelunits.quantities import is_quantity, pint_name, read_text
from fuelunits.units import read_unit


class Text(str):
    """Text of a kind of its own."""

    __slots__ = ()


INSIDE_ITSELF: list = []
INSIDE_ITSELF.append(INSIDE_ITSELF)
REGISTRIES = [pint.UnitRegistry(), pint.UnitRegistry(autoconvert_offset_to_baseunit=True)]
for each in REGISTRIES:
    fu.register_units(each)
UREG = REGISTRIES[0]
INVALID = [
    *(
        None,
        True,
        object(),
        object,
        print,
        (each for each in ()),
        range(3),
        memoryview(b"ab"),
        datetime.date(2020, 1, 1),
    ),
    *("", " ", "5", "x" * 100_000, "1" * 5000, "1e999 L", "\ud800", Text("5 gal"), np.str_("5 L"), b"5"),
    *((), [], {}, set(), [[1], [1, 2]], INSIDE_ITSELF, [10**5000], (1.0, 2.0)),
    *(0, -0.0, -1.0, 1e-320, 1e308, float("nan"), float("inf"), 1j, 10**5000, -(10**5000)),
    *(Decimal("sNaN"), Decimal(5), Fraction(1, 3), Fraction(10**5000), np.float32(3), np.datetime64("2020")),
    *(np.array(["a"]), np.array([None]), np.array([]), np.array([1.0, 2.0, 3.0]), np.zeros((2, 0)), np.array([1 + 1j])),
    *(ufloat(5.0, 1.0), UREG.Quantity(ufloat(5.0, 1.0), "L"), UREG.Quantity(10**400, "L"), UREG.Quantity(5 + 1j, "L")),
    *(datetime.timedelta(seconds=5), np.timedelta64(5, "s"), [True, 1.0], np.True_, [UREG.Quantity(5.0, "degF")]),
    *(np.ma.masked_array([1.0, 2.0], [False, True]), UREG.degC, np.array([UREG.Quantity(5.0, "L")], dtype=object)),
    *(np.ma.masked, UREG.Quantity(5, "A"), UREG.Quantity([1.0, 2.0], "Hz"), UREG.Quantity([1.0, 2.0], "ms")),
]


def of_other_libraries():
    """Quantities, columns and scalars of the other libraries that are installed."""
    if find_spec("astropy"):
        from astropy import units

        yield from (5.0 * units.L, [1.0, 2.0] * units.Hz, 3.0 * units.percent, 5.0 * units.A, [5.0 * units.kg])
    if find_spec("unyt"):
        from unyt import unyt_array, unyt_quantity

        yield from (unyt_quantity(5.0, "L"), unyt_array([1.0, 2.0], "Hz"), unyt_quantity(9.0, "delta_degF"))
    if find_spec("polars"):
        import polars as pl

        yield from (pl.Series([1.0, None]), pl.Series(["a"]), pl.Series([True]), pl.Series([datetime.timedelta(1)]))
        yield from (pl.DataFrame({"a": [1.0]}), pl.LazyFrame({"a": [1.0]}), pl.col("a"), pl.lit(1.0))
    if find_spec("pyarrow"):
        import pyarrow as pa

        yield from (pa.array([1.0, None]), pa.array(["a"]), pa.scalar(5.0), pa.scalar(None), pa.array([True]))
        yield from (pa.array([5], pa.duration("s")), pa.table({"a": [1.0]}))
    if find_spec("pandas"):
        import pandas as pd

        yield from (pd.NA, pd.NaT, pd.Timedelta(5, "s"), pd.Series([1.0, None]), pd.Series(["a"]), pd.DataFrame())


INVALID += of_other_libraries()
each_call = pytest.mark.parametrize(("call", "arguments"), CALLS, ids=lambda it: getattr(it, "__qualname__", ""))


def test_no_public_call_is_left_out():
    public = {name: getattr(fu, name) for name in fu.__all__}
    functions = {
        one.__qualname__ for one in public.values() if inspect.isfunction(one) and inspect.signature(one).parameters
    }
    here = {call.__qualname__ for call, _ in CALLS}
    assert functions - here - {"pure_liquid"} == {"check_file", "load", "published", "save", "verify"}


@each_call
def test_a_good_call_is_answered(call, arguments):
    assert call(**arguments) is not None


@each_call
def test_invalid_input_is_refused_with_a_message_of_ours(call, arguments):
    for name in arguments:
        for invalid in INVALID:
            refused = refusal(call, {**arguments, name: invalid})
            assert refused is None or 10 < len(refused) < 2000, (name, refused)


def refusal(call, arguments):
    """What our own error says; None where there is an answer."""
    try:
        call(**arguments)
    except FuelUnitsError as refused:
        return str(refused)
    return None


@each_call
def test_an_answer_can_be_pickled_and_copied(call, arguments):
    answer = call(**arguments)
    if call is fu.register_units:
        return
    for again in (pickle.loads(pickle.dumps(answer)), copy.deepcopy(answer), copy.copy(answer)):
        assert repr(again) == repr(answer)
        assert type(again) is type(answer) or is_quantity(answer)


def numbers(arguments):
    """The arguments that are plain numbers, each with an array around it."""
    return {
        name: value * np.array([1.0, 1.001, 0.999]) for name, value in arguments.items() if isinstance(value, float)
    }


@each_call
def test_an_element_of_an_array_is_answered_as_by_itself(call, arguments):
    for name, values in numbers(arguments).items():
        try:
            answer = call(**{**arguments, name: values})
        except FuelUnitsError:  # one number is wanted
            continue
        if not isinstance(answer, np.ndarray) or answer.dtype == object:
            continue
        alone = [call(**{**arguments, name: float(value)}) for value in values]
        np.testing.assert_allclose(answer, alone, rtol=1e-13)
        locked = np.repeat(values, 2).reshape(3, 2)
        locked.flags.writeable = False
        np.testing.assert_array_equal(call(**{**arguments, name: locked[:, 0]}), answer)
        np.testing.assert_array_equal(call(**{**arguments, name: locked[::-1].T}), np.array([answer, answer])[:, ::-1])
        np.testing.assert_array_equal(call(**{**arguments, name: values.tolist()}), answer)
        assert call(**{**arguments, name: values[:0]}).shape == (0,)
        assert np.asarray(call(**{**arguments, name: values[:1].reshape(())})).shape == ()
        missing = call(**{**arguments, name: np.array([values[0], np.nan])})
        assert np.isnan(missing).tolist() == [False, True]
        assert np.isnan(call(**{**arguments, name: float("nan")}))


def columns(values):
    """Values as masked ones, with none masked, and as columns of the other libraries that are installed."""
    yield np.ma.masked_array(values)
    if find_spec("pandas"):
        import pandas as pd

        yield pd.Series(values, index=[5, 6, 7])
    if find_spec("xarray"):
        import xarray as xr

        yield xr.DataArray(values, dims="t", coords={"t": [5, 6, 7]})


@each_call
def test_a_column_is_answered_in_its_kind_or_refused(call, arguments):
    for name, values in numbers(arguments).items():
        answer = answered(call, {**arguments, name: values})
        if not isinstance(answer, np.ndarray) or answer.dtype == object:
            continue
        for column in columns(values):
            found = answered(call, {**arguments, name: column})
            if found is not None:
                assert type(found) is type(column)
                np.testing.assert_allclose(np.asarray(found), answer, rtol=1e-12)


def answered(call, arguments):
    """The answer; None where the call is refused."""
    with suppress(FuelUnitsError):
        return call(**arguments)


def in_registry(text, registry):
    """Text of one number and one unit as a quantity; anything else as it is."""
    if not isinstance(text, str) or not text[0].isdigit():
        return text
    number, unit = read_text(text)
    return registry.Quantity(float(number), "percent" if unit == "%" else pint_name(unit))


def quantities(arguments, registry):
    """The arguments with every text of one number and one unit as a quantity instead, but for percentages."""
    return {
        name: value if isinstance(value, str) and value.endswith("%") else in_registry(value, registry)
        for name, value in arguments.items()
    }


@each_call
@pytest.mark.parametrize("registry", REGISTRIES, ids=["", "autoconverting"])
def test_a_quantity_of_any_registry_is_answered_as_text(call, arguments, registry):
    given = quantities(arguments, registry)
    if given == arguments or call is fu.check_stored:  # which compares what stands on a display, digit by digit
        return
    by_text, by_quantity = call(**arguments), call(**given)
    if is_quantity(by_text):
        assert by_quantity._REGISTRY is registry
        unit = str(by_text.units)
        by_text, by_quantity = by_text.magnitude, by_quantity.m_as(unit)
    if isinstance(by_text, float):
        assert by_quantity == pytest.approx(by_text, rel=1e-12)


def in_base_units(text, library):
    """Text of one number and one unit as a quantity of astropy or unyt, where they know its base units."""
    if not isinstance(text, str) or not text[0].isdigit() or text.endswith("%"):
        return text
    number, unit = read_text(text)
    meant = read_unit(unit)
    if "pulse" in dict(meant.dimension):
        return text
    number = float(number * meant.size + (meant.zero or 0))
    name = " * ".join(f"{base}**{power}" for base, power in meant.dimension)
    if library == "unyt":
        return pytest.importorskip("unyt").unyt_quantity(number, name)
    units = pytest.importorskip("astropy.units")
    return number * math.prod((getattr(units, base) ** power for base, power in meant.dimension), start=units.one)


@each_call
@pytest.mark.parametrize("library", ["astropy", "unyt"])
def test_a_quantity_of_another_library_is_refused(call, arguments, library):
    given = {name: in_base_units(value, library) for name, value in arguments.items()}
    if any(value is not given[name] for name, value in arguments.items()):
        with pytest.raises(fu.FuelUnitsError):
            call(**given)


def texts(value, place=()):
    """The places of texts of one number and one unit in arguments, in lists and tuples too."""
    if isinstance(value, (dict, list, tuple)):
        inside = value.items() if isinstance(value, dict) else enumerate(value)
        return [found for key, each in inside for found in texts(each, (*place, key))]
    return [place] if is_quantity(in_registry(value, UREG)) else []


def replaced(value, place, registry):
    """The same arguments with the text in one place as a quantity."""
    if not place:
        return in_registry(value, registry)
    key, *rest = place
    if isinstance(value, dict):
        return {**value, key: replaced(value[key], rest, registry)}
    return type(value)([replaced(each, rest, registry) if n == key else each for n, each in enumerate(value)])


@each_call
def test_quantities_of_two_registries_are_refused(call, arguments):
    for first, second in combinations(texts(arguments), 2):
        given = replaced(replaced(arguments, first, REGISTRIES[0]), second, REGISTRIES[1])
        with pytest.raises(FuelUnitsError, match="registries"):
            call(**given)
