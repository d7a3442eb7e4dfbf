"""Floats in, floats out; arrays in, arrays out."""

import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pint
import pytest
from uncertainties import ufloat

from fuelunits.arrays import as_float, as_number, exp, is_scalar, log, sqrt
from fuelunits.errors import QuantityError


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
        assert as_number(value) is value
        with pytest.raises(QuantityError, match=r"1\.0\+/-0\.1.* is uncertain, and plain numbers are needed; "):
            as_float(value)


def test_a_series_keeps_its_name_and_index():
    pd = pytest.importorskip("pandas")
    series = pd.Series([1.0, 2.0], index=["a", "b"], name="volume")
    assert as_float(series) is series


FIVE_GALLONS = pint.UnitRegistry().Quantity(5.0, "gallon")
NO_NUMBER = "is no plain number or array of numbers, and one is needed here, in the unit that the argument's name says"
REFUSALS = [
    ("800", f"'800' {NO_NUMBER}"),
    (b"800", f"b'800' {NO_NUMBER}"),
    (True, f"True {NO_NUMBER}"),
    (None, f"None {NO_NUMBER}"),
    (1j, f"1j {NO_NUMBER}"),
    ({}, f"{{}} {NO_NUMBER}"),
    (np.array([True]), f"array([ True]) {NO_NUMBER}"),
    (np.array([1j]), f"array([0.+1.j]) {NO_NUMBER}"),
    ([1.0, None], f"array([1.0, None], dtype=object) {NO_NUMBER}"),
    ([None, "a"], f"array([None, 'a'], dtype=object) {NO_NUMBER}"),
    (np.array(["a", 1.0], dtype=object), f"array(['a', 1.0], dtype=object) {NO_NUMBER}"),
    (FIVE_GALLONS, f"5.0 gallon {NO_NUMBER}"),
    (Decimal("sNaN"), "Decimal('sNaN') is no number or array of numbers: cannot convert signaling NaN to float"),
    ("x" * 58, f"'{'x' * 58}' {NO_NUMBER}"),
    ("x" * 59, f"'{'x' * 56}... {NO_NUMBER}"),
]


@pytest.mark.parametrize(("value", "message"), REFUSALS, ids=[message[:25] for _, message in REFUSALS])
def test_what_is_no_number_is_refused(value, message):
    with pytest.raises(QuantityError) as refusal:
        as_float(value)
    assert str(refusal.value) == message


def test_what_is_beyond_floats_or_ragged_is_refused_with_the_reason():
    with pytest.raises(QuantityError, match=r"^1000000.*\.\.\. is no number or array of numbers: .*too large"):
        as_float(10**400)
    with pytest.raises(QuantityError, match=r"^\[\[1\], \[1, 2\]\] is no number or array of numbers: .*inhomogeneous"):
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
