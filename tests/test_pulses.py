"""K-factors: exact in counts, one type, every identity."""

import re
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from optional import optional
from registries import ONE_REGISTRY

from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError, UnitError
from fuelunits.meters.k_factor import KFactor
from fuelunits.units import register_units

pd = optional("pandas")
pl = optional("polars")
pa = optional("pyarrow")

FACTORS = st.builds(KFactor, st.integers(1, 10**6), per=st.sampled_from(["gal", "imp_gal", "L", "m3"]))
REGISTRY = pint.UnitRegistry()
register_units(REGISTRY)
FLOWS = st.floats(1e-3, 1e4)
COUNTS = st.integers(0, 2**50)


@given(FLOWS, FACTORS)
def test_frequency_and_flow_are_inverse(flow, k):
    assert k.flow(k.frequency(f"{flow!r} L/h")).m_as("L/h") == pytest.approx(flow, rel=1e-13)


def test_pickup_frequencies_of_a_textbook_turbine():
    # Bentley, Principles of Measurement Systems (from memory): K = 4 blades * 4.5e4 rad/m3 / 2 pi; 4.3 and 90.2 Hz
    k = KFactor(4 * 4.5e4 / (2 * np.pi), per="m3")
    assert round(k.frequency("0.15e-3 m3/s").m_as("Hz"), 1) == 4.3
    assert round(k.frequency("3.15e-3 m3/s").m_as("Hz"), 1) == 90.2


@given(FACTORS, FLOWS)
def test_frequency_does_not_depend_on_the_unit(k, flow):
    per_litre = k.to("L")
    assert per_litre.frequency(f"{flow!r} gal/h").m_as("Hz") == pytest.approx(
        k.frequency(f"{flow!r} gal/h").m_as("Hz"), rel=1e-13
    )


@given(FACTORS, COUNTS)
def test_volume_and_pulses_are_inverse(k, count):
    assert k.pulses(k.volume(count)) == pytest.approx(count, rel=1e-13)


@given(FACTORS)
def test_correction_is_its_own_inverse_at_one(k):
    assert k.adjusted(indicated="100 gal", delivered="100 gal") == k
    up = k.adjusted(indicated="102.4 gal", delivered="100.1 gal")
    assert up.adjusted(indicated="100.1 gal", delivered="102.4 gal") == k


@given(*[st.builds(KFactor, st.integers(10_000, 100_000), per=st.sampled_from(["gal", "imp_gal"]))] * 2)
def test_errors_of_k_and_of_the_indication_go_opposite_ways(k, true):
    assert (1 + k.relative_error_to(true)) * (1 + k.indication_error(true)) == pytest.approx(1.0, rel=1e-9)


GALLON, IMPERIAL = 3.785411784, 4.54609  # litres, exact by definition


@pytest.mark.parametrize(
    ("indicated", "delivered", "words"),
    [
        ("388 L", "3790 L", "decimal point"),  # of 379 L
        ("3880 L", "379 L", "decimal point"),
        (f"{388 / GALLON:.2f} L", "379 L", "US gallon"),  # the display reads gallons
        ("388 L", f"{379 / GALLON:.2f} L", "US gallon"),
        ("102.5 gal", f"{100.1 * GALLON / IMPERIAL:.2f} gal", "imperial gallon"),
        ("776 L", "379 L", "doubled"),
        ("194 L", "379 L", "halved"),
        ("1552 L", "379 L", "quadrature"),
        (REGISTRY.Quantity(388.0, "liter"), REGISTRY.Quantity(379 / GALLON, "liter"), "US gallon"),
        (REGISTRY.Quantity(388.0, "liter"), REGISTRY.Quantity(3790.0, "liter"), "decimal point"),
    ],
)
def test_a_known_mistake_is_named_before_a_k_is_offered(indicated, delivered, words):
    # a fill-up of 379 L at which a sound indicator read 388 L, and what is written down or read wrongly of it
    k = KFactor(11_412, per="L")
    with pytest.raises(QuantityError, match=words):
        k.adjusted(indicated=indicated, delivered=delivered)
    assert k.adjusted(indicated=indicated, delivered=delivered, insist=True).value != k.value


def test_a_deviation_of_8_percent_is_a_transducers_and_of_more_is_not():
    k = KFactor(10_000, per="L")
    for indicated, adjusted in (("108 L", 10_800), ("92 L", 9_200)):
        assert k.adjusted(indicated=indicated, delivered="100 L") == KFactor(adjusted, per="L")
    for indicated in ("108.1 L", "91.9 L", "170 L"):
        with pytest.raises(QuantityError, match="insist"):
            k.adjusted(indicated=indicated, delivered="100 L")
    just_beyond = k.adjusted(indicated="108.000001 L", delivered="100 L", insist=True)
    assert just_beyond.value == Fraction(108_000_001, 10_000)
    with pytest.raises(QuantityError, match="insist"):
        k.adjusted(indicated="108.000001 L", delivered="100 L")


def test_adjusting_makes_the_indicator_right():
    k = KFactor(43_186, per="gal")
    new = k.adjusted(indicated="102.4 gal", delivered="100.1 gal")
    pulses = k.pulses("102.4 gal")
    assert pulses / float(new) == pytest.approx(100.1, rel=1e-14)
    ureg = ONE_REGISTRY
    same = k.adjusted(indicated=ureg.Quantity(102.4, "gallon"), delivered=ureg.Quantity(100.1, "gallon"))
    assert float(same) == pytest.approx(float(new), rel=1e-13)


@pytest.mark.parametrize(
    "text",
    [
        "43186 pulse/gal",
        "43186 pulses/USG",
        "43186 pulses per US gallon",
        "43186/gal",
        "43186 per gal",
        "43186.0 pulse / gal",
    ],
)
def test_spellings(text):
    assert KFactor.read(text) == KFactor(43_186, per="gal")


def test_pint_quantities_that_count_pulses():
    ureg = pint.UnitRegistry()
    register_units(ureg)
    for quantity in (
        ureg.Quantity(43_186, "pulse/gallon"),
        ureg.Quantity(43_186, "count/gallon"),
        ureg.Quantity(43_186, "1/gallon"),
    ):
        assert float(KFactor.read(quantity).to("gal")) == pytest.approx(43_186, rel=1e-13)
    for quantity in (
        ureg.Quantity(43_186, "radian/gallon"),
        ureg.Quantity(5, "gallon"),
        ureg.Quantity([1, 2], "1/gallon"),
    ):
        with pytest.raises(FuelUnitsError, match="K-factor"):
            KFactor.read(quantity)


@pytest.mark.parametrize("given", ["1e-300 pulse/L", "0.0 pulse/gal", "-0.5 pulse/L"])
def test_a_refusal_repeats_what_was_written(given):
    with pytest.raises(FuelUnitsError, match=given):
        KFactor.read(given)


@pytest.mark.parametrize(
    ("pulses", "step", "stored"),
    [(43_186, 10, 43_190), (43_184, 10, 43_180), (43_185, 10, 43_190), (43_186, 100, 43_200), (43.18, 0.1, 43.2)],
)
def test_rounded_as_stored(pulses, step, stored):
    assert KFactor(pulses, per="gal").rounded(step) == KFactor(stored, per="gal")


@given(FACTORS, st.integers(1, 1000))
def test_rounding_errs_by_half_a_step_at_most(k, step):
    if k.value * 2 < step:
        with pytest.raises(QuantityError, match="too coarse"):
            k.rounded(step)
    else:
        assert abs(k.rounded(step).value - k.value) * 2 <= step
        assert k.rounded(step).rounded(step) == k.rounded(step)


def test_per_other_units():
    k = KFactor(43_186, per="gal")
    assert k.per("imp_gal") == pytest.approx(43_186 * 4.54609 / 3.785411784, rel=1e-14)
    assert k.per("lb", density="6.7 lb/gal") == pytest.approx(43_186 / 6.7, rel=1e-14)
    assert k.per("kg", density="0.8 kg/L") == pytest.approx(43_186 / 3.785411784 / 0.8, rel=1e-14)
    assert k.prescaled(10).pulses("1 gal") == 4318.6


def test_arrays():
    k = KFactor(43_186, per="gal")
    ureg = ONE_REGISTRY
    flow = k.flow(ureg.Quantity(np.array([[0.0, 99.8]]), "Hz"))
    assert flow.magnitude.shape == (1, 2)
    assert k.volume(np.array([0, 43_186])).magnitude.tolist() == [0.0, 1.0]
    assert np.isnan(k.flow(ureg.Quantity([12.5, np.nan], "Hz")).magnitude).tolist() == [False, True]


@pytest.mark.parametrize(
    ("build", "word"),
    [
        *((lambda wrong=wrong: KFactor(wrong, per="gal"), "positive") for wrong in (0, -1, np.nan, np.inf, None, "5")),
        *((lambda wrong=wrong: KFactor(wrong, per="gal"), "positive") for wrong in (True, np.True_, [5], 10**400)),
        (lambda: KFactor(1, per="lb"), "pulses per volume"),
        (lambda: KFactor(1, per="galon"), "did you mean"),
        (lambda: KFactor.read(43_186), "no unit"),
        (lambda: KFactor.read("43186"), "pulses per volume"),
        (lambda: KFactor.read("43186 lb/gal"), "pulses per volume"),
        (lambda: KFactor.read("43186 pulse"), "pulses per volume"),
        (lambda: KFactor.read("43,186 pulse/gal"), "comma"),
        (lambda: KFactor.read("43186 pulse/gal/h"), "volume flow"),
        (lambda: KFactor.read(REGISTRY.Quantity(5.0, "pulse/meter")), "pulses per volume"),
        (lambda: KFactor.read(REGISTRY.Quantity(5.0 + 1j, "1/L")), "plain number"),
        (lambda: KFactor.read(REGISTRY.Quantity(5.0, "degC/gallon")), "pulses per volume"),
        (lambda: KFactor(1, per="gal").flow("12 gal/h"), "frequency"),
        (lambda: KFactor(1, per="gal").flow("-1 Hz"), "-1 Hz"),
        (lambda: KFactor(1, per="gal").flow(99.8), "bare number"),
        (lambda: KFactor(1, per="gal").frequency("80 lb/h"), "density"),
        (lambda: KFactor(1, per="gal").volume(1.5), "whole number"),
        (lambda: KFactor(1, per="gal").volume(-1), "negative"),
        (lambda: KFactor(1, per="gal").volume(True), "number"),
        (lambda: KFactor(1, per="gal").volume([1.0, np.nan]), "whole number"),
        (lambda: KFactor(1, per="gal").volume(REGISTRY.Quantity([1, 2], "gallon")), "gallon"),
        (lambda: KFactor(1, per="gal").volume([[1], [1, 2]]), "array"),
        (lambda: KFactor(1, per="gal").volume([1, -1]), "negative"),
        (lambda: KFactor(1, per="gal").volume([1, True]), "number"),
        (lambda: KFactor(1, per="gal").volume([1, np.True_]), "number"),
        (lambda: KFactor(1, per="gal").prescaled(0), "whole number"),
        (lambda: KFactor(1, per="gal").adjusted(indicated="1 gal", delivered="0 gal"), "delivered"),
        (lambda: KFactor(1, per="gal").adjusted(indicated="1 lb", delivered="1 gal"), "indicated"),
        (lambda: KFactor(1, per="gal").per("lb"), "density"),
        (lambda: KFactor(1, per="gal").per("lb", density=REGISTRY.Quantity([1.0, 2.0], "kg/L")), "density"),
        (lambda: KFactor(1, per="gal").relative_error_to("5 gal"), "true_k"),
        (lambda: KFactor(1, per="gal").rounded(10), "too coarse"),
    ],
)
def test_what_is_refused(build, word):
    with pytest.raises(FuelUnitsError, match=re.escape(word)):
        build()


def test_an_implausible_k_factor_is_asked_back():
    for text in ("43186000 pulse/gal", "43186e3 pulse/gal"):
        with pytest.raises(QuantityError, match=r"43186 pulse/gal\?.*insist=True"):
            KFactor.read(text)
        assert KFactor.read(text, insist=True).value == 43_186_000
    assert KFactor.read("43.2e3 pulse/gal").value == 43_200
    assert KFactor(0.042, per="L").prescaled(10).value == Fraction(42, 10_000)


NUMBERS = [
    *(np.int64(11_412), np.uint16(11_412), np.float32(11_412), np.mean([11_411, 11_413]), Decimal(11_412)),
    *(pd.DataFrame({"k": [11_412, 5]}).k[0], np.float64(11_412.0), Fraction(11_412), np.longdouble(11_412)),
]


@pytest.mark.parametrize("number", NUMBERS, ids=lambda number: type(number).__name__)
def test_numbers_of_any_kind_are_numbers(number):
    k = KFactor(number, per="L")
    assert k.value == 11_412
    assert k.volume(number).magnitude == 1.0
    assert k.rounded(number) == KFactor(17_000, per="L").rounded(number) == k
    assert k.prescaled(int(number)).value == 1


def test_the_digits_of_single_precision_are_taken_as_printed():
    assert KFactor(np.float32(0.1), per="L").value == Fraction(1, 10)


@pytest.mark.parametrize(
    "counts",
    [
        *([1, 2], [1.0, 2.0], (np.uint8(1), 2), np.array([1, 2], dtype=np.uint64), np.array([1, 2], dtype=object)),
        *(pd.Series([1, 2]), pd.Series([1, 2], dtype="Int64"), pl.Series([1.0, 2.0]), pl.Series([1, 2])),
        pa.array([1, 2]),
    ],
    ids=lambda counts: f"{type(counts).__module__} {getattr(counts, 'dtype', '')}",
)
def test_counts_of_other_libraries_are_read(counts):
    k = KFactor(1, per="L")
    assert list(k.volume(counts).magnitude) == [1.0, 2.0]


@pytest.mark.parametrize(
    "counts",
    [np.ma.array([1, 2], mask=[0, 1]), pl.Series([1, None]), pd.Series([1, None], dtype="Int64"), [1.0, np.inf]],
    ids=str,
)
def test_missing_counts_are_refused(counts):
    with pytest.raises(QuantityError):
        KFactor(1, per="L").volume(counts)


@pytest.mark.parametrize("text", ["100 Hz", "100 pulse/s", "6000 pulse/min", "6000 pulses per min", "0.1e3 Hz"])
def test_spellings_of_a_pulse_frequency(text):
    k = KFactor(3_600, per="L")
    assert k.flow(text).magnitude == pytest.approx(100.0, rel=1e-14)
    assert k.flow(REGISTRY.Quantity(6000.0, "pulse/min")).magnitude == pytest.approx(100.0, rel=1e-14)


def test_answers_follow_the_registry_that_asked():
    k, ureg = KFactor(43_186, per="gal"), ONE_REGISTRY
    hz, flow = ureg.Quantity(99.8, "Hz"), ureg.Quantity(12.5, "gallon/hour")
    assert type(k.flow(hz)) is type(k.frequency(flow)) is ureg.Quantity
    assert type(k.volume(5)) is pint.get_application_registry().Quantity


def test_nothing_flows_at_zero():
    k = KFactor(43_186, per="gal")
    assert k.flow("0 Hz").magnitude == k.frequency("0 gal/h").magnitude == k.pulses("0 L") == 0.0


def test_arguments_are_named_in_refusals():
    k = KFactor(43_186, per="gal")
    for call, name in (
        (lambda: k.flow("5 gal"), "frequency"),
        (lambda: k.frequency("5 Hz"), "flow"),
        (lambda: k.pulses("5 Hz"), "volume"),
        (lambda: k.adjusted(indicated="1 h", delivered="1 gal"), "indicated"),
        (lambda: k.adjusted(indicated="1 gal", delivered="1 h"), "delivered"),
    ):
        with pytest.raises(DimensionError, match=f"^{name}: "):
            call()


def test_how_it_is_printed():
    k = KFactor(43_186, per="gal")
    assert (str(k), repr(k)) == ("43186 pulse/gal", "KFactor(43186, per='gal')")
    assert str(k.to("L")) == "11408.53 pulse/L"
    assert repr(k.to("L")) == "KFactor(11408.534253139, per='L')"
    assert float(k) == 43_186.0


def test_one_fill_up_at_a_time():
    several = ONE_REGISTRY.Quantity([1.0, 2.0], "gallon")
    for volumes in ({"indicated": several, "delivered": "1 gal"}, {"indicated": "1 gal", "delivered": several}):
        with pytest.raises(QuantityError, match="one quantity"):
            KFactor(1, per="gal").adjusted(**volumes)


def test_text_and_quantities_mix_and_stay_exact():
    ureg = ONE_REGISTRY
    k = KFactor(43_186, per="gal")
    for indicated in ("3 gal", ureg.Quantity(3.0, "gallon")):
        for delivered in ("1.5 gal", ureg.Quantity(1.5, "gallon")):
            assert k.adjusted(indicated=indicated, delivered=delivered, insist=True) == KFactor(86_372, per="gal")
    tenth = k.adjusted(indicated="0.1 gal", delivered=ureg.Quantity(1.0, "gallon"), insist=True)
    assert tenth == KFactor(4318.6, per="gal")  # as written, and not the binary number nearest to 0.1


def test_the_step_is_one_and_a_prescaler_of_one_changes_nothing():
    assert KFactor(43_186.4, per="gal").rounded() == KFactor(43_186, per="gal")
    assert KFactor(43_187, per="gal").rounded() == KFactor(43_187, per="gal")
    assert KFactor(43_186, per="gal").prescaled(1) == KFactor(43_186, per="gal")


@pytest.mark.parametrize(
    ("pulses", "displayed"),
    [(43_186.5, "43186.5"), (123_456_789, "123456789"), (Fraction(1, 3), "0.3333333"), (0.5, "0.5")],
)
def test_whole_numbers_are_printed_whole(pulses, displayed):
    assert str(KFactor(pulses, per="m3")) == f"{displayed} pulse/m3"


def test_a_report_tells_it_per_gallon_imperial_gallon_and_litre():
    k = KFactor(43_186, per="qt")
    assert k.as_dict()["value"] == 43_186.0
    assert k.as_dict()["pulses_per_l"] == pytest.approx(45634.1370, rel=1e-8)
    for figure in ("172744", "207456.9", "45634.1"):
        assert figure in str(k.report().to_text())
        assert figure in k._repr_html_()


def test_a_quantity_is_read_per_litre():
    assert KFactor.read(ONE_REGISTRY.Quantity(28.5, "1/liter")) == KFactor(Fraction(57, 2), per="L")


@pytest.fixture(scope="module")
def ureg_of_pulses():
    ureg = pint.UnitRegistry()
    register_units(ureg)
    return ureg


@pytest.mark.parametrize(
    "unit",
    ["radian", "turn", "revolution", "degree", "arcminute", "grade", "rpm * minute", "steradian", "pulse * radian"],
)
def test_angles_and_turns_are_no_pulses(unit, ureg_of_pulses):
    with pytest.raises(DimensionError, match="angles"):
        KFactor.read(ureg_of_pulses.Quantity(5.0, f"{unit} / gallon"))


def test_how_a_registry_shows_its_units_does_not_matter():
    ureg = pint.UnitRegistry()
    register_units(ureg)
    ureg.formatter.default_format = "~P"
    assert float(KFactor.read(ureg.Quantity(5.0, "pulse / liter"))) == 5.0
    assert float(KFactor.read(ureg.Quantity(5.0, "kilopulse / liter"))) == 5000.0
    with pytest.raises(DimensionError, match="angles"):
        KFactor.read(ureg.Quantity(5.0, "degree / gallon"))


def test_a_number_lies_between_ten_to_the_hundredth_and_its_inverse():
    for just_within in (10**100 - 1, Fraction(1, 10**100 - 1)):
        assert KFactor(just_within, per="gal", insist=True).value == just_within
    for at_the_limit in (10**100, Fraction(1, 10**100)):
        with pytest.raises(QuantityError, match="positive and finite"):
            KFactor(at_the_limit, per="gal", insist=True)


def test_a_k_factor_up_to_a_million_per_litre_needs_no_insisting_and_one_insisted_on_stays():
    assert KFactor(1_000_000, per="L").value == 1_000_000
    for beyond in (1_000_001, Fraction(1_000_000_001, 1000)):
        with pytest.raises(QuantityError, match="insist"):
            KFactor(beyond, per="L")
    large = KFactor(2_000_000, per="L", insist=True)
    same = large.to("gal").to("L"), large.rounded(10), large.prescaled(1)
    assert {*same, large.adjusted(indicated="1 L", delivered="1 L")} == {large}


def test_the_code_of_a_k_factor_has_fifteen_digits():
    assert repr(KFactor(Fraction(1, 3), per="L")) == "KFactor(0.333333333333333, per='L')"


def test_every_cause_of_a_deviation_is_named():
    with pytest.raises(QuantityError, match=r"US gallons.*litres.*quadrature.*divider"):
        KFactor(11_412, per="L").adjusted(indicated="37.7 gal", delivered="37.9 L")


def test_a_registry_that_ignores_case_is_refused():
    """``M`` and ``m``, or ``Gal`` and ``gal``, are one name there."""
    with pytest.raises(UnitError, match="case-sensitive"):
        register_units(pint.UnitRegistry(case_sensitive=False))
