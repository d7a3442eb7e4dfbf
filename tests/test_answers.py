"""Density, mass and volume from text and quantities, of an invented liquid of plain numbers."""

from itertools import combinations

import numpy as np
import pint
import pytest
from registries import ONE_REGISTRY, OTHER_REGISTRY

from fuelunits.errors import DimensionError, QuantityError
from fuelunits.fuels.liquids import Amounts
from fuelunits.meters.k_factor import KFactor


class Plain(Amounts):
    """885 kg/m³ at 15 °C; a degree takes off one, and 100 kPa add one."""

    def density_kg_m3(self, temperature_c, gauge_pressure_kpa=0.0, *, out_of_range="raise"):  # noqa: ARG002
        return 900.0 - temperature_c + 0.01 * gauge_pressure_kpa


PLAIN = Plain()
ONE, OTHER = ONE_REGISTRY, OTHER_REGISTRY
PRESSED = {"at": "20 degC", "gauge_pressure": "2 bar"}  # 882 kg/m³
ASKED = {
    "density": ("at", "gauge_pressure"),
    "mass": ("volume", "at", "gauge_pressure"),
    "volume": ("mass", "at", "gauge_pressure"),
    "net_volume": ("gross", "at", "gauge_pressure"),
    "gross_volume": ("net", "at", "gauge_pressure"),
}
TEXTS = {
    "at": "20 degC",
    "gauge_pressure": "200 kPa",
    "volume": "3 m^3",
    "mass": "3 kg",
    "gross": "3 L",
    "net": "3 L",
}


def _quantity(ureg, name):
    number, unit = TEXTS[name].split()
    return ureg.Quantity(float(number), unit.replace("^", "**"))


@pytest.mark.parametrize(
    ("ask", "amount", "number", "pressed", "unit"),
    [
        ("density", (), 880.0, 882.0, "kg/m**3"),
        ("mass", ("3 m^3",), 2640.0, 2646.0, "kg"),
        ("volume", ("2646 kg",), 2646_000.0 / 880.0, 3000.0, "L"),
        ("net_volume", ("885 L",), 880.0, 882.0, "L"),
        ("gross_volume", ("882 L",), 882.0 * 885.0 / 880.0, 885.0, "L"),
    ],
)
def test_answers(ask, amount, number, pressed, unit):
    at_atmospheric, under_pressure = getattr(PLAIN, ask)(*amount, at="20 degC"), getattr(PLAIN, ask)(*amount, **PRESSED)
    assert at_atmospheric.m == pytest.approx(number, rel=1e-14)
    assert under_pressure.m == pytest.approx(pressed, rel=1e-14)
    assert at_atmospheric.units == under_pressure.units == pint.get_application_registry().parse_units(unit)


def test_the_correction_factor_is_a_plain_number():
    assert PLAIN.volume_correction_factor("15 degC") == 1.0
    assert PLAIN.volume_correction_factor("20 degC") == 880.0 / 885.0
    assert PLAIN.volume_correction_factor(**PRESSED) == 882.0 / 885.0


def test_atmospheric_pressure_may_be_written_out():
    assert PLAIN.density("20 degC", "0 kPa") == PLAIN.density("20 degC")


@pytest.mark.parametrize("ask", ["mass", "volume", "net_volume", "gross_volume"])
def test_nothing_comes_to_nothing(ask):
    given = TEXTS[ASKED[ask][0]].replace("3 ", "0 ")
    assert getattr(PLAIN, ask)(given, at="20 degC").m == 0.0


def test_arrays_give_arrays():
    masses = PLAIN.mass(ONE.Quantity(np.array([[1.0], [2.0]]), "m**3"), at=ONE.Quantity([0.0, 20.0, 40.0], "degC"))
    np.testing.assert_allclose(masses.m, [[900.0, 880.0, 860.0], [1800.0, 1760.0, 1720.0]], rtol=1e-14)


# registries


@pytest.mark.parametrize(("ask", "argument"), [(ask, argument) for ask in ASKED for argument in ASKED[ask]])
def test_one_quantity_among_texts_decides_the_registry(ask, argument):
    texts = {name: TEXTS[name] for name in ASKED[ask]}
    answer = getattr(PLAIN, ask)(**texts | {argument: _quantity(ONE, argument)})
    assert type(answer) is ONE.Quantity
    expected = getattr(PLAIN, ask)(**texts)
    assert answer.m == pytest.approx(expected.m, rel=1e-14)
    assert str(answer.units) == str(expected.units)


@pytest.mark.parametrize("ask", ASKED)
def test_quantities_of_one_registry_go_together(ask):
    answer = getattr(PLAIN, ask)(**{name: _quantity(ONE, name) for name in ASKED[ask]})
    assert type(answer) is ONE.Quantity


@pytest.mark.parametrize(("ask", "two"), [(ask, two) for ask in ASKED for two in combinations(ASKED[ask], 2)])
def test_quantities_of_two_registries_are_refused(ask, two):
    texts, (one, other) = {name: TEXTS[name] for name in ASKED[ask]}, two
    given = texts | {one: _quantity(ONE, one), other: _quantity(OTHER, other)}
    with pytest.raises(QuantityError) as refusal:
        getattr(PLAIN, ask)(**given)
    assert str(refusal.value).startswith("quantities of two pint registries")


# refusals


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: PLAIN.density(20.0), "at: .*20.0 has no unit.*density_kg_m3"),
        (lambda: PLAIN.density("20 degC", 200), "gauge_pressure: .*200 has no unit"),
        (lambda: PLAIN.mass("-3 m^3", at="20 degC"), "volume .*-3 m"),
        (lambda: PLAIN.mass("3 kg", at="20 degC"), "volume: '3 kg' is a mass"),
        (lambda: PLAIN.volume("-3 kg", at="20 degC"), "mass .*-3 kg"),
        (lambda: PLAIN.net_volume("-3 L", at="20 degC"), "gross .*-3 L"),
        (lambda: PLAIN.gross_volume("-3 L", at="20 degC"), "net .*-3 L"),
    ],
)
def test_refusals_name_the_argument(call, words):
    with pytest.raises((QuantityError, DimensionError), match=words):
        call()


def test_an_answer_without_rows_is_one_row_of_a_data_frame():
    frame = KFactor.read("11412 pulse/L").to_frame()
    assert frame.loc[0, ["value", "unit"]].tolist() == [11412.0, "L"]
