"""Units: factors against the legal definitions, and the names that are read and refused."""

from fractions import Fraction
from itertools import product

import pint
import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

import fuelunits as fu
from fuelunits.errors import DimensionError, FuelUnitsError, UnitError
from fuelunits.sources import data_table
from fuelunits.units import (
    Unit,
    all_spellings,
    definitions,
    density_power,
    exact_factor,
    factor,
    nearest_float,
    read_unit,
    register_units,
    spellings,
)

INCH = Fraction(254, 10_000)
GALLON = 231 * INCH**3
POUND = Fraction(45_359_237, 100_000_000)
GRAVITY = Fraction(980_665, 100_000)

# sizes in m, kg and s from the legal definitions: international inch, 231 cubic inches, 4.54609 L,
# 42 gallons, avoirdupois pound; multiples as in UCUM
VOLUMES = {
    "m3": Fraction(1),
    "L": Fraction(1, 1000),
    "mL": Fraction(1, 10**6),
    "in3": INCH**3,
    "ft3": (12 * INCH) ** 3,
    "gal": GALLON,
    "imp_gal": Fraction(454_609, 10**8),
    "qt": GALLON / 4,
    "pt": GALLON / 8,
    "fl_oz": GALLON / 128,
    "bbl": 42 * GALLON,
}
MASSES = {
    "kg": Fraction(1),
    "g": Fraction(1, 1000),
    "tonne": Fraction(1000),
    "lb": POUND,
    "oz": POUND / 16,
    "grain": POUND / 7000,
    "short_ton": 2000 * POUND,
    "long_ton": 2240 * POUND,
}
TIMES = {"s": Fraction(1), "ms": Fraction(1, 1000), "min": Fraction(60), "h": Fraction(3600), "day": Fraction(86_400)}
PRESSURES = {
    "Pa": Fraction(1),
    "kPa": Fraction(1000),
    "mPa": Fraction(1, 1000),
    "bar": Fraction(100_000),
    "psi": POUND * GRAVITY / INCH**2,
    "inHg": Fraction(135_951, 10) * GRAVITY * INCH,
    "mmHg": Fraction(135_951, 10) * GRAVITY * Fraction(1, 1000),
}
VISCOSITIES = {"mm2/s": Fraction(1, 10**6), "cSt": Fraction(1, 10**6), "m2/s": Fraction(1)}


def quotients(above, below):
    return {f"{a}/{b}": size / other for (a, size), (b, other) in product(above.items(), below.items())}


FAMILIES = [
    VOLUMES,
    MASSES,
    TIMES,
    PRESSURES,
    VISCOSITIES,
    quotients(MASSES, VOLUMES),
    quotients(VOLUMES, TIMES),
    quotients(MASSES, TIMES),
    quotients({"pulse": Fraction(1)}, VOLUMES),
    quotients({"pulse": Fraction(1)}, TIMES),
]


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: next(iter(family)))
def test_every_pair_is_the_ratio_of_its_definitions(family):
    for (a, size), (b, other) in product(family.items(), repeat=2):
        assert exact_factor(a, b) == size / other
        assert factor(a, b) == float(size / other)


def test_scipy_constants_agree():
    assert factor("gal", "m3") == pytest.approx(scipy.constants.gallon, rel=1e-15)
    assert factor("imp_gal", "m3") == pytest.approx(scipy.constants.gallon_imp, rel=1e-15)
    assert factor("bbl", "m3") == pytest.approx(scipy.constants.barrel, rel=1e-15)
    assert factor("psi", "Pa") == pytest.approx(scipy.constants.psi, rel=1e-15)


@pytest.mark.parametrize(
    ("written", "same"),
    [
        ("USG", "gal"),
        ("USG/h", "gal/h"),
        ("gph", "gal/h"),
        ("GPH", "gal/h"),
        ("US gal/hr", "gal/h"),
        ("gallons per hour", "gal/h"),
        ("gal/hr", "gal/h"),
        ("IG", "imp_gal"),
        ("imp gal", "imp_gal"),
        ("UK gallon", "imp_gal"),
        ("imperial gallons", "imp_gal"),
        ("Imp gallon", "imp_gal"),
        ("Imperial gallon", "imp_gal"),
        ("US gallons", "gal"),
        ("cubic feet", "ft3"),
        ("pph", "lb/h"),
        ("lbs/hr", "lb/h"),
        ("lph", "L/h"),
        ("L/hr", "L/h"),
        ("ltr", "L"),
        ("litre", "L"),
        ("m³", "m3"),
        ("m^3", "m3"),
        ("m**3", "m3"),
        ("kg/m³", "kg/m3"),
        ("kg·m⁻³", "kg/m3"),
        ("kg⋅m⁻³", "kg/m3"),
        ("kg*m^-3", "kg/m3"),
        ("mm²/s", "cSt"),
        ("pulses per US gallon", "pulse/gal"),
        ("lb / gal", "lb/gal"),
        ("short ton", "short_ton"),
    ],
)
def test_trade_spellings(written, same):
    assert exact_factor(written, same) == 1


@pytest.mark.parametrize(("written", "printed"), [("°C", "degC"), ("℃", "degC"), ("°F", "degF"), ("celsius", "degC")])
def test_temperature_spellings(written, printed):
    assert read_unit(written).name == printed


def test_us_and_imperial_are_told_apart():
    assert exact_factor("imp_gal", "gal") != 1
    assert exact_factor("gal", "in3") == 231
    assert exact_factor("bbl", "gal") == 42


@pytest.mark.parametrize("name", sorted(data_table("units.toml")["ambiguous"]))
def test_ambiguous_names_are_refused_with_the_choices(name):
    with pytest.raises(UnitError, match="ambiguous"):
        read_unit(name)
    with pytest.raises(UnitError, match=r"write|number itself"):
        read_unit(f"{name}/h")


@pytest.mark.parametrize("gravity", ["44 degAPI", "44 deg API", "44 °API", "44 API"])
def test_an_api_gravity_is_refused_with_what_converts_it(gravity):
    """It is the density at 60 degF alone, so it cannot stand for the density at another temperature."""
    calls = (
        lambda: fu.Indicator("11412 pulse/L", reads="kg/h", fixed_density=gravity),
        lambda: fu.fuel("Jet A").measured(gravity, at="60 degF", by="hydrometer"),
        lambda: fu.convert(5, "gal", "lb", density=gravity),
    )
    for call in calls:
        with pytest.raises(UnitError, match=r"60 degF.*api_gravity=44.*density_from_api_gravity\(44\)"):
            call()


def test_ambiguous_names_are_no_spellings():
    assert not set(data_table("units.toml")["ambiguous"]) & set(all_spellings())


@pytest.mark.parametrize(
    ("wrong", "meant"), [("galon", "gal"), ("LITRE", "litre"), ("Lb/Gallon", "gallon"), ("hour s", "hours")]
)
def test_unknown_names_come_with_a_suggestion(wrong, meant):
    with pytest.raises(UnitError, match="did you mean") as refusal:
        read_unit(wrong)
    assert meant in str(refusal.value)


@pytest.mark.parametrize(
    "wrong", ["", " ", "6.7", "1", "/", "gal/", "/gal", "gal//h", "(lb)/gal", "lb^x", "m^3.5", "lb gal/", "a;b"]
)
def test_what_is_no_unit_is_refused(wrong):
    with pytest.raises(UnitError):
        read_unit(wrong)


def test_mixed_dimensions_are_refused_in_words():
    with pytest.raises(DimensionError, match=r"gal is a volume and h is a time"):
        exact_factor("gal", "h")
    with pytest.raises(DimensionError, match=r"density"):
        factor("gal", "lb")
    with pytest.raises(DimensionError, match=r"pulses per volume"):
        factor("pulse/gal", "lb/gal")


def test_a_radian_or_a_plain_rate_is_no_pulse():
    with pytest.raises(DimensionError):
        factor("pulse/s", "Hz")


def test_scales_and_differences_are_never_confused():
    assert exact_factor("delta_degC", "delta_degF") == Fraction(9, 5)
    assert exact_factor("K", "degR") == Fraction(9, 5)
    for a, b in (("degC", "delta_degC"), ("K", "delta_degC"), ("K", "delta_K"), ("delta_degF", "degF")):
        with pytest.raises(DimensionError, match="difference"):
            exact_factor(a, b)
    with pytest.raises(DimensionError, match="different zeros"):
        factor("degC", "degF")
    with pytest.raises(UnitError, match="delta_degC"):
        read_unit("kg/m^3/degC")
    assert read_unit("kg/m^3/delta_degC").dimension == read_unit("kg/m^3/K").dimension


@given(st.text(max_size=60))
def test_any_text_is_a_unit_or_one_of_our_errors(text):
    try:
        unit = read_unit(text)
    except FuelUnitsError:
        return
    assert unit.size > 0
    assert read_unit(unit.name) == unit


@given(st.sampled_from(sorted(VOLUMES)), st.sampled_from(sorted(VOLUMES)), st.sampled_from(sorted(VOLUMES)))
def test_factors_chain_exactly(a, b, c):
    assert exact_factor(a, b) * exact_factor(b, c) == exact_factor(a, c)


def test_register_units_adds_what_is_missing_and_nothing_else():
    ureg = pint.UnitRegistry()
    theirs = ureg.Quantity(1, "bbl").m_as("gallon")
    added = register_units(ureg)
    assert {"gph", "pph", "lph", "USG", "imp_gal", "pulse"} <= set(added)
    assert register_units(ureg) == []
    assert ureg.Quantity(1, "bbl").m_as("gallon") == theirs
    assert ureg.Quantity(1, "gph").m_as("liter/hour") == pytest.approx(3.785411784, rel=1e-15)
    assert ureg.Quantity(1, "imp_gal").m_as("liter") == pytest.approx(4.54609, rel=1e-15)
    with pytest.raises(pint.DimensionalityError):
        ureg.Quantity(1, "pulse/gallon").to("radian/liter")


def test_register_units_adds_no_name_of_another_gallon_than_that_of_the_registry():
    """Where gal is 4.54609 L (exactly, Weights and Measures Act 1985), 10 gph would not be 10 gal/h."""
    for line in ("gal = imperial_gallon", "gallon = 4.54609 liter", "gal = centimeter / second ** 2"):
        ureg = pint.UnitRegistry()
        ureg.define(line)
        assert not {"gph", "GPM", "GAL"} & set(register_units(ureg))
    ureg = pint.UnitRegistry()
    ureg.define("gallon = imperial_gallon = gal")
    added = register_units(ureg)
    assert not {"gph", "GPH", "gpm", "GPM", "gallon_per_hour", "GAL", "fl_oz"} & set(added)
    assert {"USGPH", "USG", "US_gal", "imp_gal", "igph", "pph", "pulse"} <= set(added)
    assert ureg.Quantity(1, "USGPH").m_as("liter/hour") == pytest.approx(3.785411784, rel=1e-15)
    assert ureg.Quantity(1, "igph").m_as("gal/hour") == pytest.approx(1.0, rel=1e-15)


def test_nothing_is_defined_in_a_registry_that_is_not_passed():
    read_unit("pph")
    assert "pph" not in pint.UnitRegistry()
    assert "pulse" not in pint.get_application_registry()


@pytest.mark.parametrize(
    ("unit", "text"),
    [
        ("gal", "a volume"),
        ("lb/gal", "a density (mass per volume)"),
        ("Hz", "a frequency"),
        ("psi", "a pressure"),
        ("m/m", "a plain number"),
        ("pulse/gal", "pulses per volume"),
        ("W", "a kg*m^2/s^3"),
        ("1/gal", "a 1/m^3"),
    ],
)
def test_kinds_in_words_or_base_units(unit, text):
    assert read_unit(unit).kind == text


def test_reciprocals_and_powers():
    assert exact_factor("1/gal", "1/L") == Fraction(125_000_000, 473_176_473)
    assert read_unit("1/gal").name == "1/gal"
    assert read_unit("kg*m^-3").name == "kg*m^-3"
    assert read_unit("kg m²/s³".replace(" ", "*")).size == 1
    assert read_unit("lb/hp/h").name == "lb/hp/h"
    assert exact_factor("gal^2", "L^2") == exact_factor("gal", "L") ** 2
    for wrong in ("m^100", "m^-", "1^2", "2/gal"):
        with pytest.raises(UnitError):
            read_unit(wrong)


def test_the_hints_are_limited():
    with pytest.raises(UnitError, match="'gallons' or 'GAL'"):
        read_unit("GALLONS")
    with pytest.raises(UnitError, match=r"units\.txt"):
        read_unit("zzzzzz")
    with pytest.raises(UnitError, match="liter_per_hour") as refusal:
        read_unit("liter_per_ho")
    assert str(refusal.value).count(" or ") <= 3


def test_kinds_in_words():
    assert read_unit("gal/h").kind == "a volume flow"
    assert read_unit("degC").kind == read_unit("K").kind == "a temperature"
    assert read_unit("delta_K").kind == "a temperature difference"
    assert read_unit("m/s^3").kind == "a m/s^3"
    assert str(read_unit("US gal/hr")) == "gal/h"


def test_the_longest_unit():
    assert read_unit("m" + "*m" * 39 + " ").dimension == (("m", 40),)
    with pytest.raises(UnitError, match="81 characters"):
        read_unit("m" * 81)


REFUSALS = [
    (lambda: read_unit("1"), "write a unit"),
    (lambda: read_unit("gal/2"), "cannot read '2'"),
    (lambda: read_unit("kg/degC"), "delta_degC"),
    (lambda: read_unit("us  ton/ppg"), "short_ton"),
    (lambda: exact_factor("gal", "lb"), "density="),
    (lambda: exact_factor("K", "delta_K"), "delta_degF"),
    (lambda: factor("bbl^99", "mL^99"), "range of floating-point"),
    (lambda: factor("mL^99", "bbl^99"), "range of floating-point"),
    (lambda: nearest_float(Fraction(0)), "range of floating-point"),
]


@pytest.mark.parametrize(("call", "words"), REFUSALS, ids=[words for _, words in REFUSALS])
def test_refusals_say_what_to_write(call, words):
    with pytest.raises(FuelUnitsError, match=words):
        call()


def test_the_power_of_density_that_leads_across():
    for volume, mass in (("gal", "lb"), ("gal/h", "lb/h"), ("bbl/day", "tonne/h")):
        assert density_power(read_unit(volume), read_unit(mass)) == 1
        assert density_power(read_unit(mass), read_unit(volume)) == -1
        assert density_power(read_unit(mass), read_unit(mass)) == 0
    assert density_power(read_unit("pulse/gal"), read_unit("pulse/lb")) == -1
    assert density_power(read_unit("lb/gal"), read_unit("m/m")) == -1
    with pytest.raises(DimensionError):
        density_power(read_unit("lb"), read_unit("lb^2/gal/gal"))


PLAIN = {"[length]": "m", "[mass]": "kg", "[time]": "s", "[temperature]": "K", "[pulse]": "pulse", "[current]": "A"}


def test_pint_reads_units_txt_alike():
    """A private registry of pint with fractions reads the same file: size, zero and dimension of each spelling."""
    registry = pint.UnitRegistry(None, non_int_type=Fraction)
    registry.load_definitions([" = ".join((name, factors, *spelled)) for name, factors, spelled, _ in definitions()])
    defined = {spelling: each.name for each in definitions() for spelling in each.spellings}
    assert len(all_spellings()) > 240
    for spelling, ours in all_spellings().items():
        is_difference = spelling.startswith("delta_deg") and spelling != "delta_degR"
        scale = spelling.removeprefix("delta_") if is_difference else spelling
        theirs = "delta_" * is_difference + defined.get(scale, scale)  # not "°C"
        powers = registry.get_dimensionality(theirs).items()
        assert ours.size == Fraction(registry.get_base_units(theirs)[0]), spelling
        assert ours.dimension == tuple(sorted((PLAIN[base], int(power)) for base, power in powers)), spelling
        is_scale = ours.dimension == (("K", 1),) and not spelling.startswith("delta_")
        zero = Fraction(registry.Quantity(Fraction(0), theirs).to("kelvin").magnitude) if is_scale else None
        assert ours.zero == zero, spelling
        assert type(ours.size.numerator) is int


def test_a_unit_has_its_size_zero_and_dimension():
    assert read_unit("degF") == Unit("degF", Fraction(5, 9), Fraction("459.67") * 5 / 9, (("K", 1),))
    assert read_unit("1/s") == Unit("1/s", Fraction(1), None, (("s", -1),))
    assert read_unit("cSt*pulse/gal") == Unit(
        "cSt*pulse/gal", Fraction(1, 10**6) / GALLON, None, (("m", -1), ("pulse", 1), ("s", -1))
    )
    assert read_unit("K/s").zero is None
    assert read_unit("m²").dimension == (("m", 2),)


@pytest.mark.parametrize(
    ("unit", "read"),
    [
        ("psi", ("psi", "psig", "PSI")),
        ("hPa", ("hectopascal", "hPa")),
        ("imp_pt", ("imperial_pint", "imp_pt", "imp_pint", "UK_pt")),
        ("delta_degC", ("delta_degC", "delta_degree_Celsius")),
        ("delta_degF", ("delta_degF", "delta_degree_Fahrenheit")),
        ("lb/gal", ()),
    ],
)
def test_every_spelling_of_a_unit(unit, read):
    assert spellings(unit) == read
    assert {read_unit(one).name for one in read} <= {unit}


def test_names_as_printed():
    assert all_spellings()["delta_degree_Celsius"].name == "delta_degC"
    assert all_spellings()["USG"].name == "gal"


def test_what_a_registry_learns():
    ureg = pint.UnitRegistry()
    known = {"gallon", "liter", "kg", "psi", "degC"}
    added = register_units(ureg)
    assert not known & set(added)
    assert len(added) == len(set(added))
    assert all(name in ureg for name in added)
    for name in added:
        assert name in all_spellings()
        assert ureg.Quantity(1, name).dimensionality == ureg.Quantity(1, all_spellings()[name].name).dimensionality


def test_a_kilohertz_is_a_thousand_per_second():
    assert exact_factor("kHz", "Hz") == exact_factor("kHz", "1/s") == 1000
