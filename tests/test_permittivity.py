"""Permittivity against handbook values that took no part in the table, and against measured densities."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import fuelunits as fu
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.properties import (
    permittivity,
    permittivity_from_density,
    polarization_envelope,
    polarizations,
    specific_polarization,
)

# CRC Handbook of Chemistry and Physics, 95th edition, Permittivity of Liquids, printed values and values of its
# polynomials (chemicals 1.5.2): none of these is at the temperature from which the specific polarization was taken.
HANDBOOK = [
    ("n-heptane", 293.15, 1.9209),
    ("n-heptane", 273.15, 1.9500),
    ("n-decane", 253.15, 2.0430),
    ("n-decane", 313.15, 1.9655),
    ("n-dodecane", 313.15, 1.9877),
    ("n-nonane", 273.15, 1.9954),
    ("n-nonane", 313.15, 1.9396),
    ("n-octane", 253.15, 1.9973),
    ("n-octane", 313.15, 1.9210),
    ("n-hexane", 313.15, 1.8609),
    ("cyclohexane", 313.15, 1.9929),
    ("toluene", 253.15, 2.4894),
    ("toluene", 313.15, 2.3371),
    ("o-xylene", 293.15, 2.5613),
    ("m-xylene", 273.15, 2.4038),
    ("m-xylene", 313.15, 2.3128),
    ("ethylbenzene", 313.15, 2.3977),
]
NAMES = {"cyclohexane": "CycloHexane", "toluene": "Toluene", "ethylbenzene": "EthylBenzene"}
LARGEST = {"n-hexane": 0.015, "toluene": 0.012}
"""Largest relative deviation of ε - 1: the handbook's line for n-hexane is that of the liquid up to 200 °C."""


@pytest.mark.parametrize(("name", "kelvin", "printed"), HANDBOOK)
def test_the_polarization_carries_over_to_other_temperatures(name, kelvin, printed):
    """With CoolProp's density at the other temperature."""
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    fluid = NAMES.get(name, f"n-{name[2:].title()}" if name.startswith("n-") else name)
    density = coolprop.PropsSI("D", "T", kelvin, "P", 101325.0, fluid)
    found = permittivity_from_density(density, polarizations()[name])
    assert (found - 1.0) / (printed - 1.0) == pytest.approx(1.0, abs=LARGEST.get(name, 0.01))


def test_the_polarizations_are_those_of_the_families():
    """The ranges of n-alkanes and aromatics, in mL/g, by hand from the handbook."""
    of = {name: 1e3 * each for name, each in polarizations().items()}
    assert 0.334 < of["n-hexadecane"] < of["n-heptane"] < 0.346
    assert 0.321 < min(of[name] for name in ("cyclohexane", "cis-decalin", "trans-decalin")) < 0.331
    assert max(of.values()) == of["o-xylene"] == pytest.approx(0.388, abs=0.001)


@given(st.floats(600.0, 900.0), st.floats(3.1e-4, 3.9e-4))
def test_density_and_polarization_give_back_the_permittivity(density, polarization):
    eps = permittivity_from_density(density, polarization)
    assert specific_polarization(eps, density) == pytest.approx(polarization, rel=1e-12)


def test_arrays_keep_their_shape_and_nan():
    found = permittivity_from_density(np.array([[700.0], [np.nan]]), 3.4e-4)
    assert found.shape == (2, 1)
    assert np.isnan(found[1, 0])


def test_the_envelope_contains_every_mixture_that_the_composition_allows():
    """Monte Carlo over shares within their ranges and over the members of each family."""
    random = np.random.default_rng(1)
    members = {
        family: [1e3 * polarizations()[name] for name in names]
        for family, names in {
            "alkane": ["n-octane", "n-nonane", "n-decane", "n-undecane", "n-dodecane", "n-hexadecane"],
            "cycloalkane": ["methylcyclohexane", "cis-decalin", "trans-decalin"],
            "aromatic": ["o-xylene", "m-xylene", "p-xylene", "tetralin"]
            + [f"1,{places}-trimethylbenzene" for places in ("3,5", "2,4")],
        }.items()
    }
    low, middle, high = (1e3 * each for each in polarization_envelope("jet"))
    assert low < middle < high
    shares = {"alkane": 1.0 - 0.165 - 0.325, "cycloalkane": (0.15 + 0.50) / 2.0, "aromatic": (0.08 + 0.25) / 2.0}
    assert middle == pytest.approx(sum(share * np.mean(members[name]) for name, share in shares.items()), rel=1e-12)
    for _ in range(2000):
        aromatic, cyclo = random.uniform(0.08, 0.25), random.uniform(0.15, 0.50)
        shares = {"aromatic": aromatic, "cycloalkane": cyclo, "alkane": 1.0 - aromatic - cyclo}
        mixed = sum(
            share * random.dirichlet(np.ones(len(members[family]))) @ members[family]
            for family, share in shares.items()
        )
        assert low <= mixed <= high


def test_a_report_says_that_the_composition_is_recalled():
    found = permittivity("Jet A", at="15 degC")
    assert "memory" in str(found)
    assert "stand-in" in " ".join(permittivity("UL91", at="15 degC").report().remarks)
    assert found.low < found.typical < found.high
    batch = fu.fuel("Jet A").measured("0.81 kg/L", at="15 degC")
    assert permittivity(batch, at="15 degC").typical > found.typical


@pytest.mark.parametrize("liquid", ["F-76", "ethanol"])
def test_other_liquids_are_refused(liquid):
    with pytest.raises(FuelUnitsError, match="permittivity"):
        permittivity(liquid, at="15 degC")


@given(st.floats(1.8, 2.6), st.floats(1.8, 2.6), st.floats(0.0, 1.0))
def test_a_mixture_lies_between_its_parts_and_adds_by_volume(one, other, share):
    """By hand: (ε - 1)/(ε + 2) of the mixture is the mean by volume, so halves may be mixed twice."""
    found = fu.permittivity_of_mixture([(one, share), (other, 1.0 - share)])
    assert min(one, other) - 1e-12 <= found <= max(one, other) + 1e-12
    middle = share * (one - 1.0) / (one + 2.0) + (1.0 - share) * (other - 1.0) / (other + 2.0)
    assert (found - 1.0) / (found + 2.0) == pytest.approx(middle, rel=1e-12)


def test_what_has_no_permittivity_of_its_own_takes_its_volume():
    """By hand: half liquid of 2.1 and half vacuum, (ε - 1)/(ε + 2) = 1.1/4.1/2."""
    half = 1.1 / 4.1 / 2.0
    expected = (1.0 + 2.0 * half) / (1.0 - half)
    assert fu.permittivity_of_mixture([(2.1, 0.5), (1.0, 0.5)]) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("parts", [[], [(2.1, 0.9)], [(0.5, 1.0)], [(2.1, -0.5), (2.0, 1.5)], [(2.1, "1")]])
def test_shares_that_are_none_are_refused(parts):
    with pytest.raises(FuelUnitsError, match=r"parts|fraction|number"):
        fu.permittivity_of_mixture(parts)
