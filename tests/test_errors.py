"""The one family of errors, and what a value out of range tells of itself."""

import pickle
from math import isnan

import pytest

from fuelunits import errors
from fuelunits.errors import FuelUnitsError, MissingExtra, OutOfRange
from fuelunits.sources import Range


def test_errors_are_one_family():
    family = [each for each in vars(errors).values() if getattr(each, "__module__", "") == errors.__name__]
    assert {MissingExtra, OutOfRange} <= set(family)
    assert all(issubclass(each, FuelUnitsError) for each in family)
    assert issubclass(FuelUnitsError, ValueError)


def test_errors_survive_pickling():
    with pytest.raises(OutOfRange) as refusal:
        Range("temperature", 0.0, 40.0, "degC", "nobody").check(50.0)
    copy = pickle.loads(pickle.dumps(refusal.value))
    assert (copy.value, copy.high, str(copy)) == (50.0, 40.0, str(refusal.value))


def test_an_optional_library_that_is_missing_is_an_import_error_too():
    assert issubclass(MissingExtra, ImportError)


def test_a_value_out_of_range_tells_all_of_itself():
    refusal = OutOfRange("too hot", name="temperature", value=50.0, low=0.0, high=40.0, unit="degC", source="nobody")
    assert str(refusal) == "too hot"
    assert (refusal.name, refusal.value, refusal.low, refusal.high) == ("temperature", 50.0, 0.0, 40.0)
    assert (refusal.unit, refusal.source) == ("degC", "nobody")


def test_what_is_not_told_is_empty_or_nan():
    refusal = OutOfRange("too hot")
    assert (refusal.name, refusal.unit, refusal.source) == ("", "", "")
    assert isnan(refusal.value)
    assert isnan(refusal.low)
    assert isnan(refusal.high)
