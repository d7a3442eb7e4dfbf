"""Parsing: text and pint quantities of any registry in, plain numbers inside."""

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from registries import OF_OFFSETS, ONE_REGISTRY
from uncertainties import ufloat

import fuelunits as fu
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.quantities import answer, fraction, magnitude, pair, pint_name, positive, read_text, temperature_c
from fuelunits.records.encoding import _Encoder
from fuelunits.units import all_spellings, read_unit

REGISTRIES = [ONE_REGISTRY, OF_OFFSETS]


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("6.7 lb/gal", "lb/gal", 6.7),
        ("6.7lb/gal", "lb/gal", 6.7),
        ("  6.7   lb / gal ", "lb/gal", 6.7),
        ("30 degC", "degC", 30.0),
        ("−20 °C", "degC", -20.0),
        ("-20\u00a0degC", "degC", -20.0),
        ("5\u00a0US\u00a0gal", "gal", 5.0),
        ("+1e3 L", "m3", 1.0),
        (".5 gal", "gal", 0.5),
        ("5. gal", "gal", 5.0),
        ("59 degF", "degC", 15.0),
        ("0 K", "degC", -273.15),
    ],
)
def test_text(text, unit, number):
    assert magnitude(text, unit, name="x") == pytest.approx(number, rel=1e-15, abs=1e-13)


@pytest.mark.parametrize("ureg", REGISTRIES, ids=["strict", "autoconvert"])
def test_pint_quantities_of_two_registries(ureg):
    assert magnitude(ureg.Quantity(6.7, "lb/gallon"), "lb/gal", name="x") == pytest.approx(6.7)
    assert temperature_c(ureg.Quantity(59, "degF")) == pytest.approx(15.0)
    assert temperature_c(ureg.Quantity(288.15, "kelvin")) == pytest.approx(15.0)
    array = temperature_c(ureg.Quantity(np.array([[0.0, 15.0]]), "degC"))
    assert array.shape == (1, 2)
    back = answer(800.0, "kg/m^3", ureg.Quantity(1, "degC"))
    assert type(back) is ureg.Quantity
    assert back.m_as("kilogram/meter**3") == 800.0


@pytest.mark.parametrize("ureg", REGISTRIES, ids=["strict", "autoconvert"])
def test_a_difference_is_no_temperature(ureg):
    with pytest.raises(DimensionError, match="difference"):
        temperature_c(ureg.Quantity(10, "delta_degC"))
    with pytest.raises(DimensionError, match="difference"):
        temperature_c("10 delta_degC")


def test_text_answers_are_of_the_application_registry():
    assert type(answer(1.0, "gal/h", "12 gal/h")) is pint.get_application_registry().Quantity


@pytest.mark.parametrize("value", [30, 30.0, np.float64(30), None, [30], np.array([30.0]), b"30 degC"])
def test_a_number_without_a_unit_is_refused_with_an_example(value):
    with pytest.raises(QuantityError, match=r"at: .*no unit; write text such as '30 degC'"):
        temperature_c(value, name="at")


def test_the_refusal_names_what_takes_numbers():
    with pytest.raises(QuantityError, match="plain numbers go to density_kg_m3"):
        temperature_c(30, name="at", takes="density_kg_m3")


@pytest.mark.parametrize("text", ["6,7 lb/gal", "1,200 L", "1,234,567 L"])
def test_a_comma_is_refused(text):
    with pytest.raises(QuantityError, match="comma"):
        magnitude(text, "L", name="x")


@pytest.mark.parametrize(
    "text", ["", "gal", "abc 5", "nan L", "inf L", "--5 L", "5e L", "1e9999 L", "٥ L", "5 5 L", "0x10 L", "1/2 gal"]
)
def test_text_that_is_no_quantity_is_refused(text):
    with pytest.raises(FuelUnitsError):
        magnitude(text, "L", name="x")


def test_a_missing_unit_is_told():
    with pytest.raises(QuantityError, match=r"volume: '200' has no unit.*'200 gal'"):
        magnitude("200", "L", name="volume")


def test_the_wrong_dimension_is_told_in_words():
    with pytest.raises(DimensionError, match=r"volume: '200 lb' is a mass, and a volume is needed.*density first"):
        magnitude("200 lb", "L", name="volume")
    with pytest.raises(DimensionError, match=r"volume: .*a volume is needed"):
        magnitude(REGISTRIES[0].Quantity(3, "second"), "L", name="volume")


def test_below_absolute_zero_is_refused():
    for value in ("-300 degC", "-500 degF", "-1 K", REGISTRIES[0].Quantity(-500, "degC")):
        with pytest.raises(QuantityError, match="absolute zero"):
            temperature_c(value)


def test_amounts_that_make_no_sense_are_refused():
    for value in ("-5 gal", "0 gal", REGISTRIES[0].Quantity(np.inf, "gallon")):
        with pytest.raises(QuantityError, match="volume must be"):
            positive(value, "gal", name="volume")
    assert positive("0 gal", "gal", name="volume", zero=True) == 0.0


def test_percentages():
    assert (
        fraction("3 %", name="tolerance")
        == fraction("3%", name="tolerance")
        == fraction("3 percent", name="tolerance")
        == 0.03
    )
    assert fraction(REGISTRIES[0].Quantity(3, "percent"), name="tolerance") == pytest.approx(0.03)
    for wrong in (3, 0.03, "3", "0.03", "3 lb", "-3 %", REGISTRIES[0].Quantity(3, "pound")):
        with pytest.raises(FuelUnitsError, match="tolerance"):
            fraction(wrong, name="tolerance")


def test_ranges():
    assert pair(("-20 degC", "40 degC"), "degC", name="between") == (-20.0, 40.0)
    assert pair(("15 degC", "15 degC"), "degC", name="between") == (15.0, 15.0)
    assert pair(["32 degF", "40 degC"], "degC", name="between")[0] == pytest.approx(0.0, abs=1e-12)
    assert pair(REGISTRIES[0].Quantity([-20, 40], "degC"), "degC", name="between") == (-20.0, 40.0)
    for wrong in ("-20 degC", ("-20 degC",), ("1 degC", "2 degC", "3 degC"), 5, (1, 2), ("40 degC", "-20 degC")):
        with pytest.raises(FuelUnitsError, match="between"):
            pair(wrong, "degC", name="between")


def test_a_megabyte_of_text_is_refused_at_once():
    for text in ("9" * 1_000_000 + " L", "5 " + "a" * 1_000_000, "(" * 1_000_000):
        with pytest.raises(QuantityError, match="characters"):
            read_text(text)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_printed_float_is_read_back_exactly(number):
    assert float(read_text(f"{number!r} L")[0]) == number


@given(st.text(max_size=80))
def test_any_text_is_a_number_or_one_of_our_errors(text):
    try:
        number = magnitude(text, "L", name="x")
    except FuelUnitsError:
        return
    assert isinstance(number, float)


def test_nan_in_a_pint_quantity_passes():
    assert np.isnan(temperature_c(REGISTRIES[0].Quantity(np.nan, "degC")))


@pytest.mark.parametrize("name", sorted({unit.name for unit in all_spellings().values()} - {"pulse", "inH2O"}))
def test_stock_pint_knows_every_unit_by_the_name_used_for_answers(name):
    ureg = REGISTRIES[0]
    ours = read_unit(name)
    theirs = ureg.Quantity(1.0, pint_name(name))
    if ours.zero is None:
        base = {"m": "meter", "kg": "kilogram", "s": "second", "K": "kelvin", "A": "ampere"}
        in_base_units = "*".join(f"{base[b]}**{power}" for b, power in ours.dimension)
        assert theirs.m_as(in_base_units) == pytest.approx(float(ours.size), rel=1e-6)
    else:
        assert theirs.m_as("kelvin") == pytest.approx(float(ours.size + ours.zero), rel=1e-12)
    assert str(answer(1.0, name).units)


def test_every_scale_can_be_asked_for():
    assert magnitude("15 degC", "degF", name="x") == pytest.approx(59.0, rel=1e-15)
    assert magnitude("15 degC", "degR", name="x") == pytest.approx(518.67, rel=1e-15)
    assert magnitude("288.15 K", "degF", name="x") == pytest.approx(59.0, rel=1e-15)
    assert magnitude(REGISTRIES[0].Quantity(0, "kelvin"), "degF", name="x") == pytest.approx(-459.67, rel=1e-12)
    assert magnitude(REGISTRIES[0].Quantity(0.5, "kelvin"), "K", name="x") == 0.5
    assert magnitude("9 delta_degF", "delta_degC", name="x") == 5.0


@pytest.mark.parametrize("number", [30, 30.0, np.float64(30), np.float32(30)])
def test_scalars_come_out_as_floats(number):
    assert type(temperature_c(REGISTRIES[0].Quantity(number, "degC"))) is float
    assert type(positive(REGISTRIES[0].Quantity(number, "gallon"), "L", name="v")) is float


Q = REGISTRIES[0].Quantity
REFUSALS = [
    (lambda: read_text("x"), "'x'|'30 degC'"),
    (lambda: read_text("6,7 lb/gal"), "comma|'6.7 lb/gal'"),
    (lambda: read_text("12345678901234567890 " + "L" * 480), "501 characters"),
    *(
        (lambda bare=bare: temperature_c(bare), "temperature|'30 degC'")
        for bare in (30, None, [30], REGISTRIES[0].degC)
    ),
    (lambda: temperature_c(30, name="at", takes="density_kg_m3"), "at|number 30|density_kg_m3"),
    *(
        (lambda cold=cold: temperature_c(cold), f"temperature|{cold}|absolute zero")
        for cold in ("-300 degC", Q(-300, "degC"), Q([20.0, -300.0], "degC"))
    ),
    (lambda: temperature_c("30 C"), "degC"),
    (lambda: temperature_c("9 delta_degF"), "temperature difference|'30 degC'"),
    (lambda: temperature_c(Q(9, "delta_degF")), "temperature difference"),
    (lambda: magnitude(5.5, "m/s^3", name="jerk"), "jerk|5.5|'1 m/s^3'"),
    (lambda: magnitude("200", "L", name="v"), "v|'200'|'200 gal'"),
    (lambda: magnitude("1e999 L", "L", name="v"), "v|'1e999 L'|too large"),
    (lambda: magnitude("5 h", "L", name="v"), "v|'5 h' is a time|'200 gal'"),
    (lambda: magnitude("200 lb", "L", name="v"), "v|'200 lb' is a mass|density first"),
    (lambda: magnitude(Q(3, "second"), "L", name="v"), "v|3 second|'200 gal'"),
    (lambda: magnitude(Q(10**400, "liter"), "L", name="v"), "v|1000"),
    (lambda: magnitude(Q(10**400, "gallon"), "L", name="v"), "v|1000|too large"),
    (lambda: magnitude(Q(1j, "liter"), "L", name="v"), "v|1j liter"),
    (lambda: magnitude(Q(np.array([1j]), "liter"), "L", name="v"), "v|[0.+1.j] liter"),
    (lambda: magnitude(Q(ufloat(3.0, 0.1), "liter"), "L", name="v"), "v must be plain numbers|3.0"),
    (lambda: positive("0 gal", "L", name="v"), "v must be positive|0 gal"),
    (lambda: positive("-1 gal", "L", name="v", zero=True), "v must be zero or positive|-1 gal"),
    (lambda: positive(Q([1.0, 0.0], "gallon"), "L", name="v"), "v must be positive|[1.0 0.0] gallon"),
    (lambda: positive(Q([0.0, np.inf], "gallon"), "L", name="v", zero=True), "v|finite|[0.0 inf] gallon"),
    (lambda: magnitude("11 412 L", "L", name="v"), "11 412 L|no separators"),
    (lambda: magnitude("2 %", "L", name="v"), "v: '2 %' is a ratio|200 gal"),
    (lambda: pair(("2 h", "1 h"), "s", name="p"), "p: 2 h is above 1 h"),
    (lambda: pair(("1 h", "5 gal"), "s", name="p"), "p|'5 gal' is a volume"),
    *(
        (lambda one=one: pair(one, "degC", name="p"), f"p must be two quantities|{one}")
        for one in (5, "-20 degC", "ab", (["1 degC"], "2 degC"))
    ),
    (lambda: fraction("1e999 %", name="w"), "w|1e999 %"),
    *(
        (lambda wrong=wrong: fraction(wrong, name="w"), f"w must|'3 %'|{wrong}")
        for wrong in ("3 lb", 0.03, "-3 %", Q(3, "pound"), Q([3, 4], "percent"))
    ),
]


@pytest.mark.parametrize(("call", "words"), REFUSALS)
def test_refusals_name_what_was_given_and_what_to_write(call, words):
    with pytest.raises(FuelUnitsError) as refusal:
        call()
    assert all(word in str(refusal.value) for word in words.split("|"))


@pytest.mark.parametrize(
    ("unit", "example"),
    [
        ("degF", "30 degC"),
        ("kg/L", "6.7 lb/gal"),
        ("L", "200 gal"),
        ("lb", "500 lb"),
        ("L/h", "12.5 gal/h"),
        ("pph", "80 lb/h"),
        ("1/min", "99.8 Hz"),
        ("h", "25 min"),
        ("bar", "25 psi"),
        ("cSt", "1.5 cSt"),
    ],
)
def test_the_example_is_of_the_kind_that_is_needed(unit, example):
    with pytest.raises(QuantityError, match=f"write text such as '{example}'"):
        magnitude(5, unit, name="x")
    assert magnitude(example, unit, name="x") > 0.0


def test_the_longest_text():
    assert read_text("5" + " " * 498 + "L") == (5, "L")


def test_limits_of_tolerances():
    assert fraction("0 %", name="w") == 0.0
    with pytest.raises(QuantityError, match="w must be finite"):
        fraction("1e300 %", name="w")  # its square overflows
    for wrong in (np.inf, np.nan):
        with pytest.raises(QuantityError, match="w must be finite and not negative"):
            fraction(REGISTRIES[0].Quantity(wrong, "percent"), name="w")


@pytest.mark.parametrize(
    ("unit", "name"),
    [
        ("gal", "gallon"),
        ("gal/h", "gallon / h"),
        ("kg/m^3", "kg / m ** 3"),
        ("kg/m3", "kg / (meter ** 3)"),
        ("gph", "(gallon / hour)"),
        ("gal^2", "gallon ** 2"),
    ],
)
def test_names_for_stock_pint(unit, name):
    assert REGISTRIES[0].Unit(pint_name(unit)) == REGISTRIES[0].Unit(name)


def test_a_registry_that_lacks_a_unit_is_told_how_to_learn_it():
    bare = pint.UnitRegistry(None)
    bare.define("metre = [length]")
    length = bare.Quantity(1.0, "metre")
    with pytest.raises(DimensionError, match=r"volume: .*register_units"):
        magnitude(length, "L", name="volume")
    with pytest.raises(DimensionError, match=r"the answer: .*register_units"):
        answer(1.0, "L", length)


def test_arrays_stay_arrays():
    series = Q(np.array(30.0), "degC")
    assert isinstance(temperature_c(series), np.ndarray)
    assert temperature_c(Q([0.1, 0.5], "kelvin")) == pytest.approx([-273.05, -272.65])
    assert magnitude(Q(np.array([1.0, 2.0]), "liter"), "m3", name="v").tolist() == pytest.approx([0.001, 0.002])
    assert positive(Q([0.5, np.nan], "liter"), "L", name="v")[0] == 0.5


class Other(np.lib.mixins.NDArrayOperatorsMixin):
    """An array of another library, as pint takes it."""

    def __init__(self, values):
        self.values = np.asarray(values)
        self.ndim, self.shape, self.dtype = self.values.ndim, self.values.shape, self.values.dtype

    def __array_ufunc__(self, ufunc, method, *inputs, **how):
        plain = [one.values if isinstance(one, Other) else one for one in inputs]
        return Other(getattr(ufunc, method)(*plain, **how))

    def __array_function__(self, function, types, inputs, how):
        return function(*[one.values if isinstance(one, Other) else one for one in inputs], **how)


def test_an_array_of_another_library_stays_one():
    found = magnitude(Q(Other([1.0, 2.0]), "m**3"), "L", name="v")
    assert isinstance(found, Other)
    assert found.values.tolist() == pytest.approx([1000.0, 2000.0])


def test_an_answer_has_the_number_and_unit_it_was_given():
    for like in (None, "12 gal/h", Q(1.0, "hour")):
        found = answer(12.5, "gal/h", like)
        assert found.magnitude == 12.5
        assert str(found.units) in ("gallon / hour", "gallon/hour")
    assert answer(15.0, "degC", Q(1.0, "hour")) == Q(15.0, "degC")


def test_a_unit_that_a_registry_sizes_otherwise_is_read_by_its_size():
    """A registry whose gallon is imperial (4.54609 L, exactly): 8.05 lb in one are 803.2 kg/m³."""
    ureg = pint.UnitRegistry()
    ureg.define("gallon = imperial_gallon = gal")
    density, limits = ureg.Quantity(8.05, "lb/gallon"), {"between": ("0 degC", "30 degC"), "tolerance": "9 %"}
    assert fu.check_density(density, "Jet A", **limits).assumed_kg_m3 == pytest.approx(8.05 * 0.45359237 / 4.54609e-3)
    assert fu.check_density(ureg.Quantity(6.7, "lb/gallon"), "Jet A", **limits).verdict is fu.Verdict.REJECT
    indicator = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h")
    (row,) = indicator.bench_points([ureg.Quantity(10, "gallon/hour")], tolerance="1 %").rows()
    assert row["frequency_hz"] == pytest.approx([45.4609 * 11412 / 3600])
    assert fu.LowFuelByQuantity(ureg.Quantity(6.6, "gallon")) == fu.LowFuelByQuantity("30.004194 L")
    with pytest.raises(DimensionError, match="size"):
        answer(1.0, "gal", density)  # a US gallon has no name there
    with pytest.raises(DimensionError, match="size"):
        _Encoder().encode(density)  # it would load as US gallons
