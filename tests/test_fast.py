"""Over large arrays the density comes from a polynomial: the formula's to 1e-12, and in every other way the same."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelunits.errors import OutOfRange
from fuelunits.fuels import elementwise as fast
from fuelunits.fuels.editions import BASE_60F_C, CRUDE_OIL, LUBRICATING_OIL, REFINED_PRODUCTS
from fuelunits.fuels.grades import all_fuels, fuel
from fuelunits.fuels.liquids import GivenExpansion, PetroleumProduct
from fuelunits.fuels.volume_correction import base_density, ctl
from fuelunits.sources import Range

SIZE = 131_072
WHOLE = np.linspace(-50.0, 150.0, SIZE)
KEY = "api_mpms_11_1_2004"
GROUPS = [
    (REFINED_PRODUCTS, (612.0, 700.0, 770.0, 780.0, 800.0, 838.0, 900.0, 1163.0)),
    (CRUDE_OIL, (612.0, 850.0, 1163.0)),
    (LUBRICATING_OIL, (802.0, 900.0, 1163.0)),
]


def by_formula(liquid, t, pressure=0.0):
    """Give the density of arrays too small for anything but the formula."""
    parts = np.array_split(t, 20)
    assert not fast.is_large(parts[0], pressure)
    return np.concatenate([liquid.density_kg_m3(part, pressure) for part in parts])


@pytest.fixture
def polynomials(monkeypatch):
    """Keep what polynomials are made, to show which way was taken."""
    made = []
    make = fast._coefficients.__wrapped__
    monkeypatch.setattr(fast, "_coefficients", lambda *given: made.append(make(*given)) or made[-1])
    return made


@pytest.mark.parametrize("pressure", [0.0, 500.0, 10_300.0])
@pytest.mark.parametrize(("commodity", "density"), [(each, density) for each, some in GROUPS for density in some])
def test_every_group_over_the_whole_range(commodity, density, pressure, polynomials):
    product = PetroleumProduct(density, commodity=commodity)
    expected = by_formula(product, WHOLE, pressure)
    np.testing.assert_allclose(product.density_kg_m3(WHOLE, pressure), expected, rtol=1e-12, atol=0.0)
    assert [bool(made) for made in polynomials] == [True]


@given(st.floats(612.0, 1163.0), st.floats(0.0, 10_342.0))
@settings(max_examples=25, deadline=None)
def test_any_density_at_any_pressure(density, pressure):
    product = PetroleumProduct(density)
    expected = by_formula(product, WHOLE, pressure)
    np.testing.assert_allclose(product.density_kg_m3(WHOLE, pressure), expected, rtol=1e-12, atol=0.0)


@pytest.mark.parametrize("grade", [each for each in all_fuels() if not each.refused], ids=lambda each: each.name)
def test_every_grade(grade):
    t = np.linspace(grade.valid_temperatures_c.low, grade.valid_temperatures_c.high, SIZE)
    np.testing.assert_allclose(grade.density_kg_m3(t), by_formula(grade, t), rtol=1e-12, atol=0.0)
    valid = grade.liquid.valid_temperatures_c
    assert valid.low <= grade.valid_temperatures_c.low < grade.valid_temperatures_c.high <= valid.high


def test_a_given_expansion():
    liquid = GivenExpansion(760.0, 0.00097, source=KEY)
    np.testing.assert_allclose(liquid.density_kg_m3(WHOLE), by_formula(liquid, WHOLE), rtol=1e-12, atol=0.0)


@dataclass(frozen=True)
class Invented:
    """A liquid whose density is any function of temperature."""

    density: Callable

    def density_kg_m3(self, temperature_c, gauge_pressure_kpa=0.0, *, out_of_range="raise"):  # noqa: ARG002
        return self.density(temperature_c)


VALID = Range("temperature", -50.0, 150.0, "degC", "an example")


def over(density):
    return fast.density_over(Invented(density), WHOLE, 0.0, VALID, "raise")


def test_what_no_polynomial_gives_again_is_left_to_the_formula(polynomials):
    def kinked(t):
        return 800.0 - np.abs(t - 33.0)

    np.testing.assert_array_equal(over(kinked), kinked(WHOLE))
    assert polynomials == [()]
    assert np.isnan(PetroleumProduct(800.0).density_kg_m3(WHOLE, float("nan"))).all()


@pytest.mark.parametrize("middle", [-34.0, 33.0, 126.0])
def test_a_bump_that_the_points_of_the_series_step_over_is_noticed(middle, polynomials):
    """One degree wide on either side, and between two of the seventeen points that make the series."""

    def bumpy(t):
        return 800.0 - 0.7 * t + 1e-6 * np.maximum(0.0, 1.0 - np.abs(t - middle))

    np.testing.assert_array_equal(over(bumpy), bumpy(WHOLE))
    assert polynomials == [()]


def test_a_straight_line_is_a_series_and_a_constant_is_left_to_the_formula(polynomials):
    for density in (lambda t: 800.0 - 0.7 * t, lambda t: 800.0 + 0.0 * t):
        np.testing.assert_allclose(over(density), density(WHOLE), rtol=1e-12)
    assert [[round(float(each), 9) for each in made] for made in polynomials] == [[-0.7, 800.0], []]


def test_nan_stays_where_it_is():
    t = WHOLE.copy()
    t[[0, 40_000, -1]] = np.nan
    density = PetroleumProduct(800.0).density_kg_m3(t)
    np.testing.assert_array_equal(np.flatnonzero(np.isnan(density)), [0, 40_000, SIZE - 1])


@pytest.mark.parametrize("make", [lambda: PetroleumProduct(800.0), lambda: fuel("Jet A")], ids=["product", "grade"])
def test_outside_it_refuses_the_first_or_marks_all(make):
    t = np.full(SIZE, 20.0)
    t[[70_000, 90_000]] = 160.0, -70.0
    with pytest.raises(OutOfRange, match="160 °C is outside") as caught:
        make().density_kg_m3(t)
    with pytest.raises(OutOfRange) as small:
        make().density_kg_m3(t[70_000:70_001])
    assert str(caught.value) == str(small.value)
    marked = make().density_kg_m3(t, out_of_range="nan")
    np.testing.assert_array_equal(np.flatnonzero(np.isnan(marked)), [70_000, 90_000])
    with pytest.raises(OutOfRange, match="gauge pressure"):
        make().density_kg_m3(np.full(SIZE, 20.0), 20_000.0)
    assert np.isnan(make().density_kg_m3(np.full(SIZE, 20.0), 20_000.0, out_of_range="nan")).all()


def test_a_limit_counted_inexactly_still_passes():
    t = np.full(SIZE, 150.00000000000003)
    assert PetroleumProduct(800.0).density_kg_m3(t)[0] == pytest.approx(PetroleumProduct(800.0).density_kg_m3(150.0))


@pytest.mark.parametrize(
    "change",
    [
        lambda t: t.astype(np.float32),
        lambda t: t.astype(">f8"),
        lambda t: np.ma.masked_array(t, t > 100.0),
        lambda t: t[: fast.LARGE],
        lambda t: t[:1].reshape(()),
    ],
    ids=["float32", "big-endian", "masked", "small", "0-d"],
)
def test_everything_else_goes_through_the_formula(change, polynomials):
    t = change(WHOLE)
    density = PetroleumProduct(800.0).density_kg_m3(t)
    assert polynomials == []
    assert np.shape(density) == t.shape
    assert np.asarray(density).dtype == t.dtype.newbyteorder("=")
    np.testing.assert_allclose(
        np.asarray(density, float).ravel()[:3], by_formula(PetroleumProduct(800.0), t.ravel())[:3]
    )


def test_shape_is_kept_and_inputs_are_left_alone(polynomials):
    t = WHOLE.reshape(2, 2, -1).copy()
    t.flags.writeable = False
    density = PetroleumProduct(800.0).density_kg_m3(t)
    assert (density.shape, density.flags.writeable, len(polynomials)) == (t.shape, True, 1)
    np.testing.assert_array_equal(t.ravel(), WHOLE)
    assert np.shape(PetroleumProduct(800.0).density_kg_m3(t, np.zeros(t.shape))) == t.shape
    assert len(polynomials) == 1  # many pressures are left to the formula


def test_the_series_is_kept_for_the_liquid_and_the_pressure():
    fast._coefficients.cache_clear()
    for liquid in (PetroleumProduct(800.0), PetroleumProduct(800.0), fuel("Jet A"), fuel("Jet A")):
        liquid.density_kg_m3(WHOLE[: fast.LARGE + 1] * 0.3)
    liquid.density_kg_m3(WHOLE[: fast.LARGE + 1] * 0.3, 100.0)
    found = fast._coefficients.cache_info()
    assert (found.misses, found.hits) == (3, 2)


def test_threads_give_the_same():
    product, halves = PetroleumProduct(800.0), [WHOLE, WHOLE[::-1].copy()]
    with ThreadPoolExecutor(4) as threads:
        found = list(threads.map(lambda i: product.density_kg_m3(halves[i % 2]), range(16)))
    for i, each in enumerate(found):
        np.testing.assert_array_equal(each, found[i % 2])
    np.testing.assert_array_equal(found[0], found[1][::-1])


# base densities of large arrays


def test_large_arrays_of_observed_densities_are_solved_in_blocks():
    random = np.random.default_rng(3)
    base, t = random.uniform(650.0, 1100.0, 40_001), random.uniform(-40.0, 90.0, 40_001)
    observed = base * ctl(base, t)
    found = base_density(observed, t)
    np.testing.assert_allclose(found, base, rtol=1e-11)
    one_by_one = [base_density(*pair) for pair in zip(observed[:200], t[:200], strict=True)]
    np.testing.assert_allclose(found[:200], one_by_one, rtol=1e-12)
    folded = base_density(observed[1:].reshape(2, -1), t[1:].reshape(2, -1))
    np.testing.assert_allclose(folded.ravel(), base[1:], rtol=1e-11)


def test_their_errors_and_marks_are_those_of_one():
    observed = np.full(20_000, 800.0)
    observed[[9_000, 9_001]] = 500.0, np.nan
    with pytest.raises(OutOfRange, match="base density") as caught:
        base_density(observed, 30.0)
    with pytest.raises(OutOfRange) as one:
        base_density(500.0, 30.0)
    assert str(caught.value) == str(one.value)
    marked = base_density(observed, 30.0, out_of_range="nan")
    np.testing.assert_array_equal(np.flatnonzero(np.isnan(marked)), [9_000, 9_001])


@pytest.mark.parametrize("limit", [770.352, 787.5195, 838.3127])
def test_beside_the_limit_of_a_group_the_density_found_has_the_density_observed(limit):
    """To 2e-10, although the groups differ there by up to 9e-8: the side that fits is taken."""
    base, t = np.meshgrid(limit * (1.0 + np.array([-1e-13, 0.0, 1e-13])), np.linspace(-50.0, 150.0, 801))
    observed = base * ctl(base, t, base_c=BASE_60F_C)
    found = base_density(observed, t, base_c=BASE_60F_C)
    np.testing.assert_allclose(found * ctl(found, t, base_c=BASE_60F_C), observed, rtol=2e-10)
    np.testing.assert_allclose(found, base, rtol=1e-7)
