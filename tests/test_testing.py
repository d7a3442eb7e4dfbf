"""The assertions that other projects use: what passes, and what is said where something does not."""

import math
import os
import subprocess
import sys
from decimal import Decimal
from fractions import Fraction
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from registries import OF_OFFSETS, ONE_REGISTRY

import fuelunits
from fuelunits import KFactor, blend, fuel
from fuelunits.errors import DimensionError, FuelUnitsError, OutOfRange, QuantityError, UnknownFuel
from fuelunits.testing import (
    assert_density,
    assert_factor,
    assert_k_factor,
)

REGISTRIES = [ONE_REGISTRY, OF_OFFSETS]


def said(assertion, *arguments, **more):
    with pytest.raises(AssertionError) as failure:
        assertion(*arguments, **more)
    return str(failure.value)


def test_a_factor():
    assert_factor(3.785411784, "gal", "L", tolerance="0 %")
    assert_factor(3.785412, "gal", "L")  # NIST SP 811, App. B.8
    assert_factor(42, "bbl", "gal")
    assert "0.0109 % too low: expected 3.785411784" in said(assert_factor, 3.785, "gal", "L")
    said(assert_factor, 3.785411784 * (1.0 + 1.5e-6), "gal", "L")
    assert_factor(3.785411784 * (1.0 + 0.9e-6), "gal", "L")
    assert_factor(3.785, "gal", "L", tolerance="0.02 %")
    assert "may be imperial gallon for US gallon" in said(assert_factor, 4.546, "gal", "L")
    assert "0.06979 times what it should be" in said(assert_factor, 0.264172, "gal", "L")
    assert "expected 3.785411784" in said(assert_factor, math.nan, "gal", "L")
    with pytest.raises(DimensionError):
        assert_factor(1.0, "gal", "lb")


def test_a_density():
    right = fuel("Jet A").density_kg_m3(30.0)
    at_15, at_30 = ({"between": (each, each)} for each in ("15 degC", "30 degC"))
    assert_density(f"{right} kg/m^3", "Jet A", **at_30, tolerance="0 %")
    for ureg in REGISTRIES:
        warm = ureg.Quantity(86.0, "degF")
        assert_density(ureg.Quantity(right, "kg/m^3"), fuel("Jet A"), between=(warm, warm), tolerance="0.01 %")
        assert f"expected {right / 1000.0:.5g} kg/L" in said(
            assert_density, ureg.Quantity(0.72, "kg/liter"), "Jet A", **at_30, tolerance="1 %"
        )
    message = said(assert_density, "6.0 lb/gal", "Jet A", **at_15, tolerance="2 %")
    assert "2 % allowed" in message
    assert "-11.02 % at 15 °C" in message  # of 808 kg/m3
    assert "may be the density of 100LL for that of Jet A" in message
    batch = fuel("Jet A").measured("0.812 kg/L", at="15 degC", uncertainty="0.04 kg/m^3")
    assert_density("0.812 kg/L", batch, **at_15, tolerance="0.01 %")  # 2 x 0.04 / 812 = 0.0099 %
    light = fuel("Jet A").measured("0.72 kg/L", uncertainty="0.2 kg/m^3")  # at least 775 kg/m³, ASTM D1655
    coarse = fuel("Jet A").measured("0.80 kg/L", uncertainty="4 kg/m^3")  # 0.37 % off, known to 1 %
    assert "rejected" in said(assert_density, "0.72 kg/L", light, **at_15, tolerance="2 %")
    assert "undecided" in said(assert_density, "0.803 kg/L", coarse, **at_15, tolerance="0.5 %")
    assert_density("0.803 kg/L", coarse, **at_15, tolerance="1.5 %")
    for other, share in (("HEFA-SPK", 0.3), ("100LL", 0.5)):
        mixed = blend({"Jet A": 1.0 - share, other: share})
        check = partial(assert_density, f"{mixed.density_kg_m3(15.0)} kg/m^3", mixed, **at_15, tolerance="2 %")
        assert "rejected" in said(check) if other == "100LL" else check() is None
    message = said(assert_density, "1.79 kg/L", batch, **at_15, tolerance="1 %")
    assert "may be pound for kilogram" in message
    assert "typical" not in message
    with pytest.raises(UnknownFuel):
        assert_density("6.7 lb/gal", "Jet C", **at_15, tolerance="1 %")
    with pytest.raises(OutOfRange):
        assert_density("6.7 lb/gal", "Jet A", between=("150 degC", "150 degC"), tolerance="1 %")
    with pytest.raises(FuelUnitsError, match="is a mass"):
        assert_density("6.7 lb", "Jet A", **at_15, tolerance="1 %")
    with pytest.raises(QuantityError, match="has no unit"):
        assert_density(6.7, "Jet A", **at_15, tolerance="1 %")


def test_an_assumed_density():
    assert_density("6.7 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="2 %")
    message = said(assert_density, "6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")
    right = fuel("Jet A").density_kg_m3(10.0) / 119.826427317  # kg/m3 in a lb/gal, NIST SP 811, App. B.8
    assert f"expected {right:.5g} lb/gal at 10 °C; worst -3.68 % at -20 °C (typical)" in message
    assert "equals the typical density at 22.0 °C" in message
    assert "it may be" not in message  # it is the density of the fuel, of that temperature
    message = said(assert_density, "8.05 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="2 %")
    assert "may be imperial gallon for US gallon (lb/imp_gal for lb/gal)" in message


def test_a_k_factor():
    assert_k_factor("43186 pulse/gal", "43187 pulse/gal", tolerance="0.1 %")
    assert_k_factor(KFactor(11408.5, per="L"), KFactor(43186, per="gal"), tolerance="0.001 %")
    assert "expected 43187 pulse/gal; it may be litre for US gallon" in said(
        assert_k_factor, "11408 pulse/gal", "43187 pulse/gal", tolerance="0.1 %"
    )
    assert "0.345 % too high, 0.1 % allowed" in said(
        assert_k_factor, "43336 pulse/gal", "43187 pulse/gal", tolerance="0.1 %"
    )
    with pytest.raises(DimensionError):
        assert_k_factor("43186 pulse/lb", "43187 pulse/gal", tolerance="0.1 %")


def test_only_numbers_are_factors():
    for wrong in ("3.785412", True, np.True_, [3.785412], None, 1 + 0j, ONE_REGISTRY.Quantity(1.0, "m")):
        with pytest.raises(FuelUnitsError):
            assert_factor(wrong, "gal", "L")
    for right in (np.float32(3.7854118), np.float64(3.785412), Fraction("3.785412"), Decimal("3.785412")):
        assert_factor(right, "gal", "L")
    for tolerance in (1e-6, "tight", True, None):
        with pytest.raises(FuelUnitsError):
            assert_factor(3.785412, "gal", "L", tolerance=tolerance)


@pytest.mark.parametrize("tolerance", ["100 %", "250 %", ONE_REGISTRY.Quantity(1.0, "dimensionless")])
def test_a_tolerance_that_lets_zero_pass_is_refused(tolerance):
    for assertion, arguments, more in (
        (assert_factor, (0.0, "gal", "L"), {}),
        (assert_k_factor, ("0.001 pulse/L", "2950 pulse/L"), {}),
        (assert_density, ("1e-300 kg/L", "Jet A"), {"between": ("0 degC", "30 degC")}),
    ):
        with pytest.raises(QuantityError, match="100 %"):
            assertion(*arguments, **more, tolerance=tolerance)


def test_two_registries_are_refused():
    one, other = (ureg.Quantity for ureg in REGISTRIES)
    with pytest.raises(QuantityError, match="registries"):
        assert_density(one(6.7, "lb/gal"), "Jet A", between=("0 degC", "9 degC"), tolerance=other(1.0, "percent"))
    k_factors = (ureg.Quantity(2950.0, "1/liter") for ureg in REGISTRIES)
    with pytest.raises(QuantityError, match="registries"):
        assert_k_factor(*k_factors, tolerance="1 %")
    between = (other(0.0, "degC"), other(30.0, "degC"))
    with pytest.raises(QuantityError, match="registries"):
        assert_density(one(6.7, "lb/gallon"), "Jet A", between=between, tolerance="2 %")


FAILING = """
from fuelunits import testing

def test_factor():
    testing.assert_factor(4.546, "gal", "L")

def test_assumption():
    testing.assert_density("6.0 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="2 %")

def test_k_factor():
    testing.assert_k_factor("2950 pulse/gal", "2950 pulse/L", tolerance="0.1 %")
"""


def test_a_failing_assertion_does_not_print_the_source_of_the_library(tmp_path):
    (tmp_path / "test_constants.py").write_text(FAILING, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", str(tmp_path)],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(Path(fuelunits.__file__).parents[1])},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "3 failed" in done.stdout
    assert "testing.py" not in done.stdout
    assert "__tracebackhide__" not in done.stdout
