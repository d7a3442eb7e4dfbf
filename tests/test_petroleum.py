"""The standard's products and liquids of a given expansion, against printed tables and measured densities."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelunits.errors import OutOfRange, QuantityError, SourceError
from fuelunits.fuels.editions import (
    ALPHAS_PER_F,
    BASE_60F_C,
    CRUDE_OIL,
    LUBRICATING_OIL,
    TEMPERATURES_C,
    degrees_from_60f,
)
from fuelunits.fuels.grades import fuel
from fuelunits.fuels.liquids import GivenExpansion, PetroleumProduct, Scaled, batch_of
from fuelunits.fuels.pure import pure_liquid
from fuelunits.fuels.volume_correction import base_density, ctl, ctpl
from fuelunits.reference.verification import published
from fuelunits.sources import Range

DENSITIES = st.floats(680.0, 1050.0)
CELSIUS = st.floats(-40.0, 95.0)
KEY = "api_mpms_11_1_2004"


def _is_within_a_group(density):
    return min(abs(density - limit) for limit in (770.5, 787.5, 838.7)) > 2.0


# products of petroleum: Measurement Canada's tables of avgas (710 kg/m3) and jet fuel (800), printed to 4 decimals


@pytest.mark.parametrize("edition", [1980, 2004])
def test_printed_volume_correction_factors(edition):
    printed = [
        value
        for value in published("volume_correction")
        if value.source.startswith("measurement_canada") and value.given.get("edition") == str(edition)
    ]
    assert len(printed) > 40
    allowed = 0.5e-4 + 1e-9 if edition == 1980 else 1e-4
    for value in printed:
        density = float(value.given["density"])
        product = PetroleumProduct(density, edition=edition)
        factor = product.density_kg_m3(float(value.given["temperature_c"])) / density
        assert factor == pytest.approx(float(value.printed), abs=allowed)


def test_measured_densities_of_petroleum_fuels():
    """Independent tables (NOAA oil data, AFRL, CRC 530, Canada Flight Supplement), within the tolerance of each."""
    results = published("densities")
    assert len(results) > 25
    assert [each for each in results if not each.passed] == []


@given(DENSITIES, CELSIUS, st.floats(0.0, 10_000.0), st.sampled_from([15.0, 20.0, BASE_60F_C]))
@settings(max_examples=50)
def test_a_product_of_2004_follows_the_procedure(density, celsius, pressure, base_c):
    """Within 2e-8, by which neighbouring groups differ at the density that divides them."""
    product = PetroleumProduct(density, base_c)
    expected = density * ctpl(density, celsius, pressure, base_c=base_c)
    assert product.density_kg_m3(celsius, pressure) == pytest.approx(expected, rel=2e-8)
    assert product.density_kg_m3(base_c) == pytest.approx(density, rel=1e-11)


@given(st.floats(660.0, 1050.0).filter(_is_within_a_group), CELSIUS, st.floats(0.0, 10_000.0))
@settings(max_examples=30)
def test_the_editions_agree(density, celsius, pressure):
    """Within 1.2e-4, and 5e-4 in the transition zone, away from the limits of the groups: these differ slightly."""
    new, old = (PetroleumProduct(density, edition=edition) for edition in (2004, 1980))
    allowed = 5e-4 if 770.0 < density < 788.0 else 1.2e-4
    assert old.density_kg_m3(celsius, pressure) == pytest.approx(new.density_kg_m3(celsius, pressure), rel=allowed)
    assert old.source != new.source
    assert old.valid_temperatures_c.low > new.valid_temperatures_c.low


def test_the_edition_of_1980_rounds_and_stays_within_its_temperatures():
    old = PetroleumProduct(800.0, edition=1980)
    assert old.density_kg_m3(30.0) == 800.0 * ctpl(800.0, 30.0, edition=1980)
    with pytest.raises(OutOfRange, match="-45 °C is outside its range, -40"):
        old.density_kg_m3(-45.0)


@pytest.mark.parametrize("commodity", [CRUDE_OIL, LUBRICATING_OIL], ids=lambda commodity: commodity.name)
def test_other_commodities(commodity):
    product = PetroleumProduct(880.0, commodity=commodity)
    assert product.density_kg_m3(60.0) == pytest.approx(880.0 * ctpl(880.0, 60.0, commodity=commodity), rel=1e-11)
    assert product.density_kg_m3(60.0) != pytest.approx(PetroleumProduct(880.0).density_kg_m3(60.0), rel=1e-5)


@given(DENSITIES, CELSIUS)
@settings(max_examples=30)
def test_an_observed_density_is_given_back(density, celsius):
    product = PetroleumProduct.observed(density, celsius)
    assert product.density_kg_m3(celsius) == pytest.approx(density, rel=1e-9)
    assert product.base_density_kg_m3 == pytest.approx(base_density(density, celsius), rel=1e-12)


@pytest.mark.parametrize("density", [600.0, 1200.0, -800.0, 0.8])
def test_what_is_no_petroleum_product_is_refused(density):
    with pytest.raises(OutOfRange, match="base density of refined products"):
        PetroleumProduct(density)


def test_a_product_has_one_density():
    with pytest.raises(QuantityError, match="one plain number"):
        PetroleumProduct(np.array([800.0, 810.0]))
    assert PetroleumProduct(800) == PetroleumProduct(800.0)
    assert type(PetroleumProduct(800).base_density_kg_m3) is float


# a given expansion


@given(
    st.floats(600.0, 1000.0),
    st.floats(-50.0, 100.0),
    st.floats(5.0, 50.0),
    st.floats(0.0006, 0.0012),
    st.booleans(),
)
@settings(max_examples=50)
def test_both_points_are_met_exactly(density, celsius, apart, expansion, turned):
    other = density * (1.0 - expansion * apart)
    points = [(density, celsius), (other, celsius + apart)]
    (first, at), (second, second_at) = reversed(points) if turned else points
    liquid = GivenExpansion.through(first, at, second, second_at, source=KEY)
    assert liquid.density_kg_m3(at) == pytest.approx(first, rel=1e-12)
    assert liquid.density_kg_m3(second_at) == pytest.approx(second, rel=1e-12)


def test_through_two_points_in_either_order_is_one_liquid():
    forth = GivenExpansion.through(766.3, 5.0, 722.3, 65.0, source=KEY)
    back = GivenExpansion.through(722.3, 65.0, 766.3, 5.0, source=KEY)
    t = np.linspace(-50.0, 100.0, 16)
    np.testing.assert_allclose(back.density_kg_m3(t), forth.density_kg_m3(t), rtol=1e-13)


@given(
    st.floats(650.0, 1000.0), st.floats(450e-6, 1500e-6), st.sampled_from([-20.0, 0.0, 15.0, BASE_60F_C, 20.0, 50.0])
)
@settings(max_examples=50)
def test_alpha_is_the_slope_at_its_own_temperature(density, alpha, base_c):
    """But for the degrees of the 1968 scale, on which the standard counts, being up to 0.04 % smaller."""
    liquid = GivenExpansion(density, alpha, base_c, source=KEY)
    step = 0.01
    fall = liquid.density_kg_m3(base_c - step) - liquid.density_kg_m3(base_c + step)
    assert fall / (2.0 * step * density) == pytest.approx(alpha, rel=4e-4)
    assert liquid.density_kg_m3(base_c) == pytest.approx(density, rel=1e-13)


@pytest.mark.parametrize("base_c", [15.0, BASE_60F_C, 20.0])
def test_the_standards_own_alpha_gives_the_standards_own_density(base_c):
    product = PetroleumProduct(800.0, base_c)
    alpha = (ctl(800.0, base_c - 0.01, base_c=base_c) - ctl(800.0, base_c + 0.01, base_c=base_c)) / 0.02
    liquid = GivenExpansion(800.0, alpha, base_c, source=KEY)
    t = np.linspace(-50.0, 150.0, 21)
    np.testing.assert_allclose(liquid.density_kg_m3(t, 1000.0), product.density_kg_m3(t, 1000.0), rtol=5e-5)


def test_moving_the_base_changes_nothing():
    """The liquid through its own density at 20 degC and at any other temperature is the same liquid."""
    at_15 = GivenExpansion(760.0, 0.00097, 15.0, source=KEY)
    at_20 = GivenExpansion.through(at_15.density_kg_m3(20.0), 20.0, at_15.density_kg_m3(70.0), 70.0, source=KEY)
    t = np.linspace(-50.0, 150.0, 21)
    np.testing.assert_allclose(at_20.density_kg_m3(t), at_15.density_kg_m3(t), rtol=1e-12)
    assert at_20.alpha_per_c == pytest.approx(0.00097 * (1.0 + 1.6 * 0.00097 * 5.0), rel=1e-4)


@pytest.mark.parametrize("name", ["n-heptane", "n-decane", "n-dodecane", "toluene", "ethanol"])
def test_compressibility_against_coolprop_up_to_the_pressure_that_is_allowed(name):
    """0.41 % of n-heptane at 60 degC and 10 MPa: so far it is refused."""
    pytest.importorskip("CoolProp")
    pure = pure_liquid(name)
    own = GivenExpansion.through(pure.density_kg_m3(15.0), 15.0, pure.density_kg_m3(40.0), 40.0, source="coolprop")
    for t in (0.0, 15.0, 40.0, 60.0, 78.0):
        ratio = own.density_kg_m3(t, 1000.0) / own.density_kg_m3(t)
        assert ratio == pytest.approx(pure.density_kg_m3(t, 1000.0) / pure.density_kg_m3(t), rel=5e-4)
    for liquid in (own, Scaled(own, 1.01), fuel("normal heptane"), fuel("HEFA-SPK")):
        with pytest.raises(OutOfRange, match="pressure"):
            liquid.density_kg_m3(60.0, 10_000.0)


def test_it_stays_within_the_temperatures_of_its_source():
    narrow = Range("temperature", 0.0, 60.0, "degC", "fame_range")
    liquid = GivenExpansion(884.8, 0.0008, temperatures_c=narrow, source="noaa_oil_data")
    assert liquid.valid_temperatures_c == narrow
    with pytest.raises(OutOfRange, match="61 °C is outside its range, 0 to 60"):
        liquid.density_kg_m3(61.0)
    assert GivenExpansion(800.0, 0.0009, source=KEY).valid_temperatures_c == TEMPERATURES_C


@pytest.mark.parametrize(
    ("points", "message"),
    [
        ((766.3, 5.0, 722.3, 5.0), "two temperatures"),
        ((766.3, 5.0, 722.3, np.nextafter(5.0, 6.0)), "two temperatures"),
        ((766.3, 65.0, 722.3, 5.0), "must fall"),
        ((766.3, 5.0, 766.3, 65.0), "must fall"),
        ((800.0, -50.0, 300.0, -49.0), "must fall.*0.17% per degC"),
        ((0.0, 5.0, 722.3, 65.0), "positive"),
        ((766.3, 5.0, -722.3, 65.0), "positive"),
        ((766.3, 5.0, 0.0, 65.0), "positive"),
        ((766.3, 5.0, float("nan"), 65.0), "positive"),
    ],
)
def test_points_through_which_no_liquid_goes_are_refused(points, message):
    with pytest.raises(QuantityError, match=message):
        GivenExpansion.through(*points, source=KEY)


@pytest.mark.parametrize("apart", [0.01, 0.3, -0.3])
def test_two_temperatures_may_be_close(apart):
    far = GivenExpansion.through(766.3, 5.0, 722.3, 65.0, source=KEY)
    close = GivenExpansion.through(766.3, 5.0, far.density_kg_m3(5.0 + apart), 5.0 + apart, source=KEY)
    assert close.alpha_per_c == pytest.approx(far.alpha_per_c, rel=1e-9)


@pytest.mark.parametrize("alpha", [0.0, 0.0004, 0.0018, -0.0009])
def test_an_expansion_outside_the_standard_is_refused(alpha):
    with pytest.raises(OutOfRange, match="thermal expansion at 60"):
        GivenExpansion(800.0, alpha, source=KEY)


def test_the_limits_of_the_expansion_are_those_of_the_standard():
    assert (1.8 * ALPHAS_PER_F.low, 1.8 * ALPHAS_PER_F.high) == pytest.approx((414.0e-6, 1674.0e-6))
    for alpha in (414.1e-6, 1673.9e-6):
        assert GivenExpansion(800.0, alpha, BASE_60F_C, source=KEY).density_kg_m3(30.0) < 800.0


@pytest.mark.parametrize("density", [0.0, -1.0, float("nan"), float("inf")])
def test_a_density_that_no_liquid_has_is_refused(density):
    with pytest.raises(QuantityError, match="base_density_kg_m3 must be"):
        GivenExpansion(density, 0.0009, source=KEY)


def test_a_given_expansion_has_a_source():
    with pytest.raises(SourceError):
        GivenExpansion(800.0, 0.0009, source="")


# batches of a liquid


@given(DENSITIES, CELSIUS, st.floats(0.0, 5000.0))
@settings(max_examples=30)
def test_a_batch_of_petroleum_is_petroleum(density, celsius, pressure):
    batch = batch_of(PetroleumProduct(805.0, 20.0), density, celsius, pressure)
    assert isinstance(batch, PetroleumProduct)
    assert batch.base_c == 20.0
    assert batch.density_kg_m3(celsius, pressure) == pytest.approx(density, rel=1e-9)


def test_a_batch_keeps_edition_and_commodity():
    batch = batch_of(PetroleumProduct(880.0, edition=1980, commodity=LUBRICATING_OIL), 890.0, 40.0)
    assert (batch.edition, batch.commodity) == (1980, LUBRICATING_OIL)
    assert batch.density_kg_m3(40.0) == pytest.approx(890.0, rel=1e-5)
    expected = base_density(890.0, 40.0, edition=1980, commodity=LUBRICATING_OIL)
    assert batch.base_density_kg_m3 == expected != base_density(890.0, 40.0, commodity=LUBRICATING_OIL)


def test_a_batch_of_anything_else_is_scaled():
    typical = GivenExpansion(760.0, 0.00097, source=KEY)
    for liquid in (typical, Scaled(typical, 1.01)):
        pressed = batch_of(typical, 750.0, 25.0, 500.0)
        assert pressed.density_kg_m3(25.0, 500.0) == pytest.approx(750.0, rel=1e-14)
        batch = batch_of(liquid, 750.0, 25.0)
        assert isinstance(batch, Scaled)
        assert batch.density_kg_m3(25.0) == pytest.approx(750.0, rel=1e-14)
        assert batch.density_kg_m3(60.0) / 750.0 == pytest.approx(
            liquid.density_kg_m3(60.0) / liquid.density_kg_m3(25.0)
        )


def test_an_expansion_that_has_no_equal_at_60_f_is_refused():
    """Alpha at -50 degC reaches at most 1 / (6.4 * 118 degF); what lies below that is merely outside the standard."""
    largest = 1.8 / (6.4 * -degrees_from_60f(-50.0))
    with pytest.raises(OutOfRange, match="thermal expansion at 60"):
        GivenExpansion(800.0, largest, base_c=-50.0, source=KEY)
    with pytest.raises(QuantityError, match="has no equal"):
        GivenExpansion(800.0, largest * (1.0 + 1e-12), base_c=-50.0, source=KEY)
