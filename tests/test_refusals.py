"""Bad input of every kind gets one clear error of the one family, and never another exception."""

from contextlib import suppress
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from registries import ONE_REGISTRY
from uncertainties import unumpy

import fuelunits as fu
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.quantities import fraction, magnitude, temperature_c
from fuelunits.units import factor, read_unit
from fuelunits.validation import as_float

NO_NUMBERS = [
    "800",
    b"800",
    None,
    True,
    1j,
    {},
    object(),
    [["a"]],
    [[1], [1, 2]],
    10**400,
    np.array(["a"]),
    np.array([True]),
]
NO_NUMBERS.append(ONE_REGISTRY.Quantity(800, "kg/m**3"))

NUMBERS_WANTED = {
    "convert": lambda x: fu.convert(x, "gal", "L"),
    "ctl": lambda x: fu.ctl(x, 15.0),
    "ctl at": lambda x: fu.ctl(800.0, x),
    "ctpl": lambda x: fu.ctpl(800.0, 15.0, x),
    "base_density": lambda x: fu.base_density(x, 15.0),
    "grade": lambda x: fu.fuel("Jet A").density_kg_m3(x),
    "limits": lambda x: fu.fuel("Jet A").density_limits_kg_m3(x),
    "petroleum": lambda x: fu.PetroleumProduct(800.0).density_kg_m3(x),
    "water": lambda x: fu.water_density_kg_m3(x),
    "air": lambda x: fu.air_density_kg_m3(x, 101_325.0, 0.5),
    "viscosity": lambda x: fu.viscosity("Jet A").kinematic_viscosity_mm2_s(x),
    "API gravity": lambda x: fu.density_from_api_gravity(x),
    "hydrometer": lambda x: fu.hydrometer_factor(x),
}


@pytest.mark.parametrize("value", NO_NUMBERS, ids=lambda value: repr(value)[:20])
@pytest.mark.parametrize("call", NUMBERS_WANTED.values(), ids=NUMBERS_WANTED)
def test_what_is_no_number_is_refused_where_numbers_are_wanted(call, value):
    with pytest.raises(FuelUnitsError, match=r"number"):
        call(value)


@pytest.mark.parametrize("value", [1, 1.5, np.float32(1), np.int64(3), [1, 2], (1.0,), np.arange(3), np.array(2.0)])
def test_numbers_pass(value):
    assert np.all(as_float(value) == np.asarray(value))


def test_numbers_beyond_floats_are_refused():
    with pytest.raises(FuelUnitsError, match="too large"):
        fu.convert(1.0, "gal", "lb", density="1e400 lb/gal")
    with pytest.raises(FuelUnitsError, match="beyond the range"):
        factor("bbl^99", "mL^99")
    with pytest.raises(QuantityError, match="too large"):
        magnitude("1e999 L", "gal", name="x")
    for text in ("1e900 pulse/gal", "1e-900 pulse/gal"):
        with pytest.raises(QuantityError, match="positive and finite"):
            fu.KFactor.read(text)


PIECES = [
    *("6.7", "1e999", "-1e-999", "1e400", "0", "5", "nan", "inf", "١", "½", "²", "³", "⁻¹", "^", "**", "^99", "/", "*"),
    *(" per ", "lb", "gal", "kg", "m3", "L", "degC", "delta_degC", "K", "pulse", "%", "°C", "°", "℃", "bbl", "mL", "Å"),
    *(
        "\x00",
        "\n",
        "\t",
        " ",
        "(",
        ")",
        "[",
        ",",
        ".",
        "-",
        "\N{MINUS SIGN}",
        "+",
        "e",
        "_",
        "ﬀ",
        "\N{KELVIN SIGN}",
        "µ",
    ),
    *("lambda", "__import__('os')", "US gal", "\ud800", "a" * 50, "1" * 300, "lb/gal", "pulse/gal", "Jet A", "43186"),
]
TEXTS = st.lists(st.sampled_from(PIECES), max_size=6).map("".join) | st.text(max_size=40)
READERS = [
    read_unit,
    temperature_c,
    fu.KFactor.read,
    fu.fuel,
    fu.explain_density,
    lambda text: magnitude(text, "lb/gal", name="x"),
    lambda text: magnitude(f"5 {text}", "m3", name="x"),
    lambda text: fraction(text, name="x"),
    lambda text: factor(text, "mL"),
    lambda text: fu.convert(1.0, text, text),
    lambda text: fu.convert(1.0, "gal", "lb", density=text),
    lambda text: fu.KFactor(43_186, per=text),
    lambda text: fu.check_density(text, "Jet A", between=("0 degC", "1 degC"), tolerance="3 %"),
]


@given(TEXTS)
def test_any_text_gives_an_answer_or_one_of_our_errors(text):
    for read in READERS:
        with suppress(FuelUnitsError):
            read(text)


_UREG, _LITRES = ONE_REGISTRY, fu.Indicator("11412 pulse/L", reads="L/h")
_TWO = unumpy.uarray([150.0, 160.0], [1.0, 1.0])


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize(
    "call",
    [
        *[
            lambda wrong=wrong: _LITRES.displayed_flow(wrong)
            for wrong in (None, "", "5", Decimal("sNaN"), np.inf, -1.0)
        ],
        lambda: fu.KFactor(11412, per="L").flow(_UREG.Quantity(_TWO, "Hz")),
        lambda: fu.fuel("Jet A").mass(_UREG.Quantity(_TWO, "L"), "20 degC"),
        lambda: fu.KFactor.read(_UREG.Quantity(11412, "byte/L")),
        lambda: _LITRES.reading(_UREG.Quantity(150, "byte/s")),
        lambda: fu.KFactor(11412, per="L").frequency("1e308 L/h"),
        lambda: fu.endurance("1e308 L", "1e-10 L/h"),
        lambda: fu.fuel("Jet A").mass("1e308 m3", "20 degC"),
        lambda: fu.fuel("Jet A").measured("0.8 kg/L", uncertainty="400 kg/m^3"),
        lambda: fu.GivenExpansion(800.0, np.nan, source="api_mpms_11_1_2004"),
    ],
)
def test_what_would_be_infinite_or_stripped_is_refused(call):
    with pytest.raises(FuelUnitsError):
        call()


def test_a_global_risk_that_is_no_number_is_refused():
    with pytest.raises(QuantityError, match="too large"):
        fu.global_risk(0.0, 1e308, 0.1, limits=(-1.0, 1.0))


def test_flows_as_large_as_floats_have_a_net_uncertainty():
    large = fu.net_uncertainty("1e308 L/h", "8e307 L/h", feed_uncertainty="0.5 %", return_uncertainty="0.5 %")
    assert large == pytest.approx((0.005**2 + 0.004**2) ** 0.5 / 0.2)
