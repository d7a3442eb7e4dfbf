"""Relative density, API gravity and the hydrometer correction."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelunits.errors import OutOfRange
from fuelunits.fuels import water_and_air as scales
from fuelunits.fuels.editions import BASE_60F_C

GRAVITIES = st.floats(-10.0, 100.0)


@given(GRAVITIES, st.sampled_from([1980, 2004]))
def test_there_and_back(gravity, edition):
    density = scales.density_from_api_gravity(gravity, edition=edition)
    assert scales.api_gravity_from_density(density, edition=edition) == pytest.approx(gravity, abs=1e-11)
    relative = scales.relative_density_from_density(density, edition=edition)
    assert scales.density_from_relative_density(relative, edition=edition) == pytest.approx(density, rel=1e-15)
    assert 141.5 / relative - 131.5 == pytest.approx(gravity, abs=1e-11)


def test_the_editions_differ_in_the_density_of_water():
    # MPMS 11.4.1:2003 replaced 999.012 kg/m3 at 60 degF
    assert scales.density_from_api_gravity(10.0, edition=2004) == 999.016
    assert scales.density_from_api_gravity(10.0, edition=1980) == 999.012


@pytest.mark.parametrize("shape", [(), (0,), (2, 3)])
def test_arrays(shape):
    gravity = np.full(shape, 45.0)
    assert np.shape(scales.density_from_api_gravity(gravity)) == shape
    assert np.shape(scales.hydrometer_factor(gravity)) == shape


@pytest.mark.parametrize("calibrated_c", [15.0, 20.0, BASE_60F_C])
def test_a_hydrometer_reads_right_where_it_was_calibrated(calibrated_c):
    assert scales.hydrometer_factor(calibrated_c, calibrated_c=calibrated_c) == pytest.approx(1.0, abs=1e-12)
    # soda-lime glass, 23e-6 per degC by volume
    slope = scales.hydrometer_factor(calibrated_c + 1.0, calibrated_c=calibrated_c) - 1.0
    assert slope == pytest.approx(-23e-6, rel=2e-3)


def test_the_glass_forms_in_f_and_c_agree():
    for t in (-10.0, 5.0, 30.0, 50.0):
        in_f = scales.hydrometer_factor(t, calibrated_c=BASE_60F_C)
        in_c = scales.hydrometer_factor(t, calibrated_c=15.0) / scales.hydrometer_factor(BASE_60F_C)
        assert in_f == pytest.approx(in_c, abs=2e-6)


DENSITY = (-800.0, 0.0, 0.8, 1e-320, 5000.0, math.inf)  # 0.8: kg/L typed where kg/m³ is asked for


@pytest.mark.parametrize("shape", [(), (3,), (10_000,)])
@pytest.mark.parametrize(
    ("scale", "name", "values"),
    [
        (scales.relative_density_from_density, "density at 60 degF", DENSITY),
        (scales.api_gravity_from_density, "density at 60 degF", DENSITY),
        (scales.density_from_relative_density, "relative density", (-0.8, 0.0, 800.0, math.inf)),
        (scales.density_from_api_gravity, "API gravity", (-140.0, -131.5, 800.0, math.inf)),
        (scales.hydrometer_factor, "temperature", (-300.0, 400.0, math.inf)),
    ],
)
def test_what_no_liquid_has_is_refused_on_every_scale(scale, name, values, shape):
    for value in values:
        with pytest.raises(OutOfRange, match=f"{name}: .* is outside"):
            scale(np.full(shape, value) if shape else value)
    assert math.isnan(scale(math.nan))
