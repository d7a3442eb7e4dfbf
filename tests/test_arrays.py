"""Floats in, floats out; arrays in, arrays out."""

import math
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from registries import ONE_REGISTRY
from uncertainties import ufloat

import fuelunits as fu
from fuelunits.errors import QuantityError
from fuelunits.quantities import positive, tolerance_fraction
from fuelunits.validation import (
    ByValue,
    alike,
    as_float,
    as_float_array,
    carries_unit,
    exp,
    finite_number,
    is_scalar,
    is_within,
    log,
    plain_number,
    positive_floats,
    positive_number,
    sqrt,
    whole_number,
)


@pytest.mark.parametrize("value", [2, Fraction(2), Decimal(2), 2.0])
def test_one_number_gives_a_float(value):
    assert type(as_float(value)) is float
    assert as_float(value) == 2.0


@pytest.mark.parametrize("value", [[1, 2], (1, 2), [1.0, 2.0], np.array([1, 2]), np.array([1, 2], dtype=np.uint8)])
def test_sequences_and_whole_numbers_give_an_array_of_floats(value):
    assert as_float(value).dtype == np.float64
    assert as_float(value).tolist() == [1.0, 2.0]


def test_what_is_floating_point_passes_as_it_is():
    halves = np.array([0.5], dtype=np.float32)
    for value in (np.float64(0.5), np.float32(0.5), halves):
        assert as_float(value) is value


def test_numbers_of_several_kinds_in_one_array_are_floats():
    mixed = np.array([1, 2.5, Fraction(1, 4), Decimal("0.5")], dtype=object)
    assert as_float(mixed).tolist() == [1.0, 2.5, 0.25, 0.5]
    assert as_float(mixed).dtype == np.float64
    with pytest.raises(QuantityError):
        as_float(np.array([1, "2.5"], dtype=object))


def test_an_uncertain_number_passes_only_where_it_is_carried_along():
    several = np.array([ufloat(1.0, 0.1), ufloat(2.0, 0.1)], dtype=object)
    for value in (several, several[0]):
        assert as_float(value, uncertain=True) is value
        with pytest.raises(QuantityError, match="nominal_value"):
            as_float(value)


def test_a_series_keeps_its_name_and_index():
    pd = pytest.importorskip("pandas")
    series = pd.Series([1.0, 2.0], index=["a", "b"], name="volume")
    assert as_float(series) is series


FIVE_GALLONS = ONE_REGISTRY.Quantity(5.0, "gallon")
REFUSED = [
    *("800", b"800", True, None, 1j, {}, np.bool_(True), np.array([True]), np.array([1j]), "x" * 60),
    *([1.0, None], [None, "a"], [1.0, True], [[1.0], [np.bool_(True)]], np.array(["a", 1.0], dtype=object)),
    *(FIVE_GALLONS, [FIVE_GALLONS], np.array([FIVE_GALLONS, 1.0], dtype=object), Decimal("sNaN")),
    *(timedelta(1), np.timedelta64(5, "s"), [np.timedelta64(5, "s")], np.array([5], "m8[s]"), np.datetime64("2026")),
]


@pytest.mark.parametrize("value", REFUSED, ids=repr)
def test_what_is_no_number_is_refused(value):
    with pytest.raises(QuantityError, match="number"):
        as_float(value)
    with pytest.raises(QuantityError, match=r"^x must be one plain number"):
        plain_number(value, "x")


def test_masks_are_kept_or_refused():
    masked = np.ma.masked_array([1.0, 2.0], mask=[False, True])
    assert as_float(masked) is masked
    assert as_float(masked.astype(int)).mask.tolist() == [False, True]
    with pytest.raises(QuantityError, match="masked"):
        as_float_array(masked, "x")
    assert as_float_array(np.ma.masked_array([1, 2]), "x").tolist() == [1.0, 2.0]
    assert np.isnan(as_float(np.ma.masked))


def test_what_is_beyond_floats_or_ragged_is_refused_with_the_reason():
    with pytest.raises(QuantityError, match="too large"):
        as_float(10**400)
    with pytest.raises(QuantityError, match="inhomogeneous"):
        as_float([[1], [1, 2]])


@pytest.mark.parametrize(
    ("ours", "plain", "of_arrays"), [(exp, math.exp, np.exp), (log, math.log, np.log), (sqrt, math.sqrt, np.sqrt)]
)
def test_functions_of_a_float_and_of_an_array(ours, plain, of_arrays):
    assert ours(2.5) == plain(2.5)
    assert type(ours(2.5)) is type(ours(np.float64(2.5))) is float
    values = np.array([[0.5, 2.5]], dtype=np.float32)
    assert ours(values).dtype == np.float32
    assert np.array_equal(ours(values), of_arrays(values))


def test_only_a_float_is_a_scalar():
    assert is_scalar(1.0)
    assert is_scalar(np.float64(1.0))
    assert not is_scalar(1)
    assert not is_scalar(np.array(1.0))


def test_tuples_are_alike_where_each_member_is():
    assert alike((1.0, np.nan, "a"), (1.0, np.nan, "a"))
    assert alike((np.array([1.0, np.nan]),), (np.array([1.0, np.nan]),))
    for other in ((1.0,), (1.0, 2.0, 3.0), (1.0, 3.0), (3.0, 2.0), [1.0, 2.0]):
        assert not alike((1.0, 2.0), other)


def test_a_unit_beside_an_array_of_xarray_is_its_unit():
    xr, pd = pytest.importorskip("xarray"), pytest.importorskip("pandas")
    noted = pd.Series([1.0])
    noted.attrs["units"] = "degF"
    assert carries_unit(xr.DataArray([1.0], attrs={"units": "degF"}))
    assert not carries_unit(xr.DataArray([1.0], attrs={"source": "a file"}))
    assert carries_unit(noted)
    assert not carries_unit(pd.Series([1.0]))


def test_equality_by_value_is_that_of_each_field():
    @dataclass(frozen=True, eq=False)
    class Kept(ByValue):
        values: object
        name: str = ""

    @dataclass(frozen=True, eq=False)
    class Other(Kept):
        pass

    one = Kept(np.array([1.0, np.nan]), "a")
    assert one == Kept(np.array([1.0, np.nan]), "a")
    assert hash(one) == hash(Kept(np.array([2.0])))
    for other in (
        Kept(np.array([1.0, 2.0]), "a"),
        Kept(one.values, "b"),
        Other(one.values, "a"),
        one.values.tolist(),
        None,
    ):
        assert one != other


def test_uncertain_numbers_are_alike_where_they_depend_alike_on_inputs_of_one_name():
    mass, other = (fu.uncertain(7.0, 0.1, name=name, unit="kg") for name in ("mass", "density"))
    assert alike(2.0 * mass, 2.0 * fu.uncertain(7.0, 0.1, name="mass", unit="kg"))
    few = fu.uncertain(7.0, 0.1, name="mass", unit="kg", degrees_of_freedom=3)
    vague = 4.0 * fu.uncertain(3.5, 0.2, name="mass", unit="kg")
    for unlike in (mass, 2.0 * mass + 1.0, 2.0 * other, mass + other, 2.0 * few, vague, 14.0):
        assert not alike(2.0 * mass, unlike)
    litres = ONE_REGISTRY.Quantity
    assert alike(litres(np.array([1.0, np.nan]), "L"), litres(np.array([1.0, np.nan]), "L"))
    assert not alike(litres(1.0, "L"), litres(1.0, "gallon"))


@pytest.mark.parametrize(
    ("check", "passes", "refused"),
    [
        (lambda x: positive_number(x, "x"), (5e-324, 1, 1e308), (0.0, -0.0, -1.0, math.inf, math.nan)),
        (lambda x: positive_number(x, "x", zero=True), (0.0, 0, 2.5), (-5e-324, math.inf, math.nan)),
        (lambda x: finite_number(x, "x"), (0.0, -1e308), (math.inf, -math.inf, math.nan)),
        (lambda x: whole_number(x, "x"), (0, 7.0), (-1, 0.5, math.nan, math.inf)),
        (lambda x: whole_number(x, "x", least=3, most=5), (3, 4, 5.0), (2, 6, 3.5)),
        (lambda x: positive_floats(x, "x"), (1.0, [1.0, math.nan]), (0.0, math.inf, [1.0, 0.0], [1.0, -1.0])),
        (lambda x: positive(x, "L", name="x"), ("1 mL",), ("0 L", "-1 L")),
        (lambda x: positive(x, "L", name="x", zero=True), ("0 L", "1 L"), ("-1 mL",)),
        (lambda x: tolerance_fraction(x), ("0 %", "99.9 %"), ("100 %", "101 %", "-1 %")),
    ],
)  # fmt: skip
def test_the_limits_of_each_check(check, passes, refused):
    for value in passes:
        check(value)
    for value in refused:
        with pytest.raises(QuantityError, match=r"x|tolerance"):
            check(value)


def test_a_deviation_on_its_limit_is_within_it():
    assert [is_within(each, 0.02) for each in (0.02, -0.02, 0.0, 0.02 + 1e-13)] == [True] * 4
    assert [is_within(each, 0.02) for each in (0.02 + 1e-11, -0.0201)] == [False] * 2
