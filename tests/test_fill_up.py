"""Indicator against truck: derivations by hand, properties, and advice in numbers."""

import json
import math
from dataclasses import replace

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuelunits.errors import FuelUnitsError, OutOfRange, QuantityError
from fuelunits.fuels.volume_correction import ctl
from fuelunits.indicators.fill_ups import FillUp, compare_fill_ups, gross_volume_l
from fuelunits.meters.k_factor import KFactor
from fuelunits.reports import CAUTION
from fuelunits.uncertainty.budget import uncertain
from fuelunits.uncertainty.measured import measured

K = KFactor(28_740, per="gal")
VOLUMES = st.floats(20.0, 2000.0)


def _fills(ratio, count, *, level_l, truck=None, used_l=400.0):
    truck = uncertain(1.0, truck, name="truck meter") if truck else 1.0
    return [
        FillUp(
            indicated_l=ratio * used_l,
            delivered_l=used_l,
            level_l=uncertain(0.0, level_l, name="level"),
            truck_factor=truck,
        )
        for _ in range(count)
    ]


# the correction


@given(VOLUMES, st.integers(1, 10**6))
@settings(max_examples=40, deadline=None)
def test_agreement_leaves_k_as_it_is(volume, k):
    entered = KFactor(k, per="gal")
    found = compare_fill_ups(entered, [FillUp(indicated_l=volume, delivered_l=volume)])
    assert found.adjusted == entered
    assert found.deviation == 0.0
    assert not found.justified


@given(st.lists(st.tuples(VOLUMES, st.floats(0.9, 1.1)), min_size=1, max_size=5))
@settings(max_examples=40, deadline=None)
def test_adjusted_k_would_have_shown_what_was_used(parts):
    fills = [FillUp(indicated_l=used * ratio, delivered_l=used) for used, ratio in parts]
    found = compare_fill_ups(K, fills)
    indicated, used = sum(fill.indicated_l for fill in fills), sum(fill.delivered_l for fill in fills)
    assert found.adjusted.per("gal") == pytest.approx(
        K.adjusted(indicated=f"{indicated!r} L", delivered=f"{used!r} L").per("gal"), rel=1e-12
    )
    assert indicated * float(K) / float(found.adjusted) == pytest.approx(used)
    corrected = [replace(fill, indicated_l=fill.indicated_l / found.ratio) for fill in fills]
    assert compare_fill_ups(found.adjusted, corrected).ratio == pytest.approx(1.0, rel=1e-12)


@given(st.lists(st.tuples(VOLUMES, VOLUMES), min_size=2, max_size=5), st.randoms(), st.floats(0.01, 100.0))
@settings(max_examples=30, deadline=None)
def test_order_and_scale_do_not_matter(parts, random, factor):
    fills = [FillUp(indicated_l=shown, delivered_l=used) for shown, used in parts]
    shuffled = random.sample(fills, len(fills))
    scaled = [FillUp(indicated_l=shown * factor, delivered_l=used * factor) for shown, used in parts]
    one = compare_fill_ups(K, fills)
    for other in (compare_fill_ups(K, shuffled), compare_fill_ups(K, scaled)):
        assert other.ratio == pytest.approx(one.ratio, rel=1e-12)
        assert other.scatter == pytest.approx(one.scatter, rel=1e-6, abs=1e-12)


def test_a_fill_up_in_chunks_is_the_whole():
    whole = compare_fill_ups(K, [FillUp(indicated_l=387.6, delivered_l=378.9)])
    chunks = [FillUp(indicated_l=387.6 * share, delivered_l=378.9 * share) for share in (0.25, 0.75)]
    assert compare_fill_ups(K, chunks).ratio == pytest.approx(whole.ratio, rel=1e-12)
    assert compare_fill_ups(K, chunks).scatter == pytest.approx(0.0, abs=1e-12)


# uncertainty


def test_uncertainty_against_the_derivation_by_hand():
    # ratio R = sum I / sum D: level and reading act on one D each, the truck on all
    count, used, level, truck, ratio = 4, 400.0, 2.0, 0.002, 1.02
    found = compare_fill_ups(K, _fills(ratio, count, level_l=level, truck=truck))
    assert found.shared_uncertainty == pytest.approx(ratio * truck)
    assert found.stated_uncertainty == pytest.approx(ratio * level / used / math.sqrt(count))
    assert found.uncertainty == pytest.approx(ratio * math.hypot(truck, level / used / 2.0))
    assert found.uncertainty_of(1) == pytest.approx(ratio * math.hypot(truck, level / used))
    assert {row.name for row in found.budget} == {"level", "truck meter"}
    alone = compare_fill_ups(K, _fills(ratio, 1, level_l=level, truck=truck))
    assert alone.uncertainty == pytest.approx(found.uncertainty_of(1))
    assert alone.shared_uncertainty == pytest.approx(ratio * truck)


def test_two_trucks_are_not_one():
    one_truck = _fills(1.02, 2, level_l=1.0, truck=0.002)
    two_trucks = _fills(1.02, 1, level_l=1.0, truck=0.002) + _fills(1.02, 1, level_l=1.0, truck=0.002)
    one, two = (compare_fill_ups(K, fills) for fills in (one_truck, two_trucks))
    assert two.shared_uncertainty == pytest.approx(one.shared_uncertainty / math.sqrt(2))


def test_scatter_that_the_inputs_do_not_explain_counts():
    ratios = [1.00, 1.04, 1.02, 0.99]
    fills = [FillUp(indicated_l=400.0 * ratio, delivered_l=400.0) for ratio in ratios]
    found = compare_fill_ups(K, fills)
    # of equal volumes: the standard deviation of the mean
    assert found.scatter == pytest.approx(np.std(ratios, ddof=1) / 2.0)
    assert found.uncertainty == pytest.approx(found.scatter)
    assert not found.justified


def test_uncertainty_agrees_with_draws():
    truck, level, used = 0.003, 1.5, 300.0
    found = compare_fill_ups(K, _fills(1.01, 3, level_l=level, truck=truck, used_l=used))
    generator = np.random.default_rng(7)
    factors = 1.0 + truck * generator.standard_normal(400_000)
    levels = level * generator.standard_normal((3, 400_000))
    drawn = 3 * 1.01 * used / (3 * used * factors - levels.sum(axis=0))
    assert found.uncertainty == pytest.approx(drawn.std(ddof=1), rel=0.01)


# advice


@given(st.floats(0.002, 0.05), st.floats(0.5, 30.0), st.floats(0.0, 0.01), st.integers(1, 4))
@settings(max_examples=50, deadline=None)
def test_advice_is_the_smallest_number_that_suffices(deviation, level, truck, count):
    found = compare_fill_ups(K, _fills(1.0 + deviation, count, level_l=level, truck=truck))
    more = found.more_fill_ups
    limit = abs(found.deviation)
    if more is None:
        assert limit <= 2.0 * found.shared_uncertainty * (1 + 1e-9)
        assert not found.justified
    elif more == 0:
        assert found.justified
    else:
        assert not found.justified
        assert 2.0 * found.uncertainty_of(count + more) < limit * (1 + 1e-9)
        assert 2.0 * found.uncertainty_of(count + more - 1) >= limit * (1 - 1e-9)


def test_advice_in_words():
    yes = compare_fill_ups(K, _fills(1.03, 2, level_l=1.0, truck=0.002))
    assert yes.justified
    assert "29602.2 pulse/gal" in str(yes)
    later = compare_fill_ups(K, _fills(1.01, 1, level_l=4.0, truck=0.002))
    assert (later.justified, later.more_fill_ups) == (False, 4)
    assert "4 more fill-up(s)" in str(later)
    never = compare_fill_ups(K, _fills(1.003, 1, level_l=1.0, truck=0.002))
    assert never.more_fill_ups is None
    assert "however many" in str(never)
    assert compare_fill_ups(K, _fills(1.0, 1, level_l=1.0)).more_fill_ups is None
    assert compare_fill_ups(K, _fills(1.008, 1, level_l=2.0), coverage_factor=1.0).justified
    for found in (yes, later, never):
        assert str(found).endswith(CAUTION)
        json.dumps(found.as_dict(), allow_nan=False)


# compensated deliveries


def test_a_compensated_ticket_is_taken_back():
    gross = gross_volume_l(372.0, 804.0, 28.0)
    assert gross == pytest.approx(372.0 / ctl(804.0, 28.0))
    assert gross_volume_l(372.0, 804.0, 15.0) == pytest.approx(372.0, rel=1e-9)
    by_factor = FillUp.read(indicated="387.6 L", delivered="372 L", volume_correction_factor=ctl(804.0, 28.0))
    assert by_factor.delivered_l == pytest.approx(gross)


def test_doubt_of_the_temperature_reaches_the_volume():
    warmth = uncertain(28.0, 1.0, name="temperature of the fuel")
    gross = gross_volume_l(uncertain(372.0, 0.2, name="ticket"), 804.0, warmth)
    slope = (gross_volume_l(372.0, 804.0, 28.5) - gross_volume_l(372.0, 804.0, 27.5)) / 1.0
    assert gross.std_dev == pytest.approx(math.hypot(slope, 0.2 / ctl(804.0, 28.0)), rel=1e-4)
    with pytest.raises(OutOfRange):
        gross_volume_l(372.0, 0.804, 28.0)


# text and quantities


@pytest.mark.parametrize("registry", [pint.UnitRegistry(), pint.UnitRegistry(autoconvert_offset_to_baseunit=True)])
def test_units_do_not_matter(registry):
    litres = {"indicated": "387.6 L", "delivered": "378.9 L", "display_step": "0.4 L", "level_uncertainty": "1 L"}
    gallons = {name: registry.Quantity(float(text.split()[0]) / 3.785411784, "gallon") for name, text in litres.items()}
    one, two = (compare_fill_ups(K, [FillUp.read(**given)]) for given in (litres, gallons))
    assert two.ratio == pytest.approx(one.ratio, rel=1e-12)
    assert two.uncertainty == pytest.approx(one.uncertainty, rel=1e-9)
    expected = 387.6 / 378.9 * math.hypot(0.2 / math.sqrt(3) / 387.6, 1.0 / 378.9)
    assert one.uncertainty == pytest.approx(expected, rel=1e-9)


def test_read_carries_own_uncertainty_and_the_truck():
    truck = uncertain(1.002, 0.001, name="truck meter")
    fill = FillUp.read(
        indicated="387.6 L", delivered=measured("378.9 L", "0.5 L", name="truck reading"), truck_factor=truck
    )
    assert fill.used_l.nominal_value == pytest.approx(378.9 * 1.002)
    found = compare_fill_ups(K, [fill])
    assert found.stated_uncertainty == pytest.approx(found.ratio * 0.5 / 378.9)
    assert found.shared_uncertainty == pytest.approx(found.ratio * 0.001 / 1.002)


# refusals


def test_refusals():
    for change in ({"indicated_l": 0.0}, {"delivered_l": -1.0}, {"indicated_l": math.nan}, {"level_l": 500.0}):
        with pytest.raises(QuantityError):
            FillUp(**{"indicated_l": 387.6, "delivered_l": 378.9, **change})
    with pytest.raises(OutOfRange, match="truck"):
        FillUp(indicated_l=387.6, delivered_l=378.9, truck_factor=3.785)
    with pytest.raises(OutOfRange, match="factor"):
        FillUp.read(indicated="387.6 L", delivered="378.9 L", volume_correction_factor=98.8)
    with pytest.raises(QuantityError, match="no unit"):
        FillUp.read(indicated=387.6, delivered="378.9 L")
    with pytest.raises(FuelUnitsError, match="one fill-up"):
        compare_fill_ups(K, [])
    with pytest.raises(QuantityError):
        compare_fill_ups(K, _fills(1.0, 1, level_l=1.0), coverage_factor=0.0)
    with pytest.raises(QuantityError):
        compare_fill_ups(K, _fills(1.0, 1, level_l=1.0)).uncertainty_of(0)
