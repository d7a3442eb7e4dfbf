"""The 2004 procedure, Tanaka's water and the exact conversions once more, independently and with 50 digits.

``FUELUNITS_STATES=100000 python -m pytest tests/test_second_derivation.py`` runs the long form.
"""

import os
from fractions import Fraction

import numpy as np
import pytest

from fuelunits.conversion import convert
from fuelunits.fuels.editions import (
    BASE_60F_C,
    FROM_15C,
    REFINED_PRODUCTS,
    Expansion,
    Procedure2004,
    degrees_from_60f,
    given_expansion,
)
from fuelunits.fuels.volume_correction import base_density, ctl, ctpl
from fuelunits.fuels.water_and_air import water_density_kg_m3
from fuelunits.units import exact_factor

mpmath = pytest.importorskip("mpmath")
mp = mpmath.mp.clone()
mp.dps = 50
STATES = int(os.environ.get("FUELUNITS_STATES", "400"))

ROWS = [
    ("770.3520", "192.4571", "0.2438", "0"),
    ("787.5195", "1489.0670", "0", "-0.00186840"),
    ("838.3127", "330.3010", "0", "0"),
    ("1163.5", "103.8720", "0.2701", "0"),
]
SCALE = ["-0.148759", "-0.267408", "1.080760", "1.269056", "-4.089591", "-1.871251", "7.438081", "-3.536296"]
DELTA = mp.mpf("0.01374979547")


def coefficients(rho_60):
    return next([mp.mpf(k) for k in ks] for high, *ks in ROWS if rho_60 < mp.mpf(high) or high == "1163.5")


def t_star(t_90):
    tau = t_90 / 630
    difference = mp.fsum(mp.mpf(a) * tau**power for power, a in enumerate(SCALE, start=1))
    return (t_90 - difference) * 9 / 5 + 32


def shifted(rho_60):
    """Density at 60 on IPTS-68, and alpha there."""
    k0, k1, k2 = coefficients(rho_60)
    a = DELTA / 2 * (k0 / rho_60**2 + k1 / rho_60 + k2)
    b = (2 * k0 + k1 * rho_60) / (k0 + k1 * rho_60 + k2 * rho_60**2)
    rho = rho_60 * (1 + (mp.exp(a * (1 + mp.mpf("0.8") * a)) - 1) / (1 + a * (1 + mp.mpf("1.6") * a) * b))
    return rho, k0 / rho**2 + k1 / rho + k2


def density(rho_60, t_90, p_kpa):
    rho, alpha = shifted(rho_60)
    t = t_star(t_90)
    dt = t - mp.mpf("60.0068749")
    ctl = mp.exp(-alpha * dt - mp.mpf("0.8") * alpha**2 * dt * (dt + DELTA))
    exponent = mp.mpf("-1.9947") + mp.mpf("0.00013427") * t + mp.mpf(793920) / rho**2 + mp.mpf(2326) * t / rho**2
    return rho_60 * ctl / (1 - mp.exp(exponent) / 10**5 * (p_kpa / mp.mpf("6.894757")))


def states(count, seed):
    rng = np.random.default_rng(seed)
    return zip(rng.uniform(611, 1163, count), rng.uniform(-50, 150, count), rng.uniform(0, 10_342, count), strict=True)


def test_the_2004_procedure_from_60_f():
    for rho_60, t, p in states(STATES, seed=1):
        ours = rho_60 * ctpl(rho_60, t, p, base_c=BASE_60F_C)
        assert abs(mp.mpf(ours) / density(mp.mpf(rho_60), mp.mpf(t), mp.mpf(p)) - 1) < mp.mpf("1e-12")


def test_the_density_on_the_scale_of_1968_in_the_transition_zone_to_the_last_digit():
    """There alpha changes most with density: the second order of the shift, 1.6 a, tells in the sixteenth digit."""
    procedure = Procedure2004(REFINED_PRODUCTS)
    for rho_60 in np.linspace(770.36, 772.0, 100):
        ours = procedure.expansion(float(rho_60)).rho
        assert abs(mp.mpf(ours) / shifted(mp.mpf(float(rho_60)))[0] - 1) < mp.mpf("3.5e-16")


def test_the_2004_procedure_from_15_and_20_c():
    for rho_60, t, p in states(STATES, seed=2):
        exact_60 = mp.mpf(rho_60)
        observed = density(exact_60, mp.mpf(t), mp.mpf(p))
        for base_c in (15, 20):
            base = density(exact_60, mp.mpf(base_c), mp.mpf(0))
            ours = float(base) * ctpl(float(base), t, p, base_c=float(base_c))
            assert abs(mp.mpf(ours) / observed - 1) < mp.mpf("1e-12")
            assert abs(mp.mpf(base_density(float(observed), t, p, base_c=float(base_c))) / base - 1) < mp.mpf("2e-12")


def test_a_given_expansion_under_pressure():
    for rho_60, t, p in states(STATES, seed=4):
        alpha = mp.mpf("5e-4")
        rho = mp.mpf(rho_60) * mp.exp(alpha * DELTA / 2 * (1 + mp.mpf("0.4") * alpha * DELTA))
        ours = given_expansion(rho_60, 5e-4)
        assert abs(mp.mpf(ours.rho) / rho - 1) < mp.mpf("1e-15")
        assert ours.alpha == 5e-4
        exponent = mp.mpf("-1.9947") + mp.mpf("0.00013427") * t_star(mp.mpf(t))
        exponent += (793920 + 2326 * t_star(mp.mpf(t))) / rho**2
        expected = 1 / (1 - mp.exp(exponent) / 10**5 * mp.mpf(p) / mp.mpf("6.894757"))
        assert abs(mp.mpf(ours.cpl(degrees_from_60f(t), p)) / expected - 1) < mp.mpf("1e-13")


def test_the_factor_of_1980_and_the_metric_compressibility_of_1984():
    for rho, t, _ in states(STATES, seed=5):
        of_1980 = Expansion(8.5e-4, rho, FROM_15C)
        expansion = mp.mpf("8.5e-4") * (mp.mpf(t) - 15)
        expected = mp.exp(-expansion - mp.mpf("0.8") * expansion**2)
        assert abs(mp.mpf(of_1980.ctl(t - 15.0)) / expected - 1) < mp.mpf("1e-14")
        exponent = mp.mpf("-1.62080") + mp.mpf("0.00021592") * mp.mpf(t)
        exponent += mp.mpf("0.87096e6") / mp.mpf(rho) ** 2 + mp.mpf("4.2092e3") * mp.mpf(t) / mp.mpf(rho) ** 2
        expected = mp.exp(exponent) / 10**6
        assert abs(mp.mpf(of_1980.compressibility_per_kpa(t - 15.0)) / expected - 1) < mp.mpf("1e-14")


OF_1980 = [
    # limit of the group in kg/m3 at 60 degF, rounded; K0, K1, K2 per degF
    ("770.1", "192.4571", "0.2438", "0"),
    ("787.7", "1489.0670", "0", "-0.00186840"),
    ("838.6", "330.3010", "0", "0"),
    ("1075", "103.8720", "0.2701", "0"),
]


def test_the_1980_edition_from_60_f():
    for rho, t in ((700.0, -30.0), (760.0, 80.0), (778.0, 60.0), (800.0, 90.0), (900.0, -20.0)):
        k0, k1, k2 = next([mp.mpf(k) for k in ks] for high, *ks in OF_1980 if rho < float(high))
        alpha = mp.mpf(round(float(k0 / mp.mpf(rho) ** 2 + k1 / mp.mpf(rho) + k2), 7))
        expansion = alpha * (mp.mpf(t) * 9 / 5 - 28)
        expected = mp.exp(-expansion - mp.mpf("0.8") * expansion**2)
        assert abs(mp.mpf(ctl(rho, t, base_c=BASE_60F_C, edition=1980)) / expected - 1) < mp.mpf("1e-14")
        at_15c = rho * ctl(rho, 15.0, base_c=BASE_60F_C, edition=1980)
        base: dict = {"base_c": BASE_60F_C, "edition": 1980}
        ours = ctpl(rho, t, 5000.0, **base) / ctl(rho, t, **base)
        assert ours == pytest.approx(Expansion(0.0, at_15c, FROM_15C).cpl(t - 15.0, 5000.0), rel=1e-8)


def test_tanakas_water():
    a = [mp.mpf(each) for each in ("-3.983035", "301.797", "522528.9", "69.34881", "999.974950")]
    for t in np.linspace(0, 40, 81):
        exact = mp.mpf(t)
        expected = a[4] * (1 - (exact + a[0]) ** 2 * (exact + a[1]) / (a[2] * (exact + a[3])))
        assert abs(mp.mpf(water_density_kg_m3(float(t))) / expected - 1) < mp.mpf("1e-15")


UNITS = [
    ["gal", "L", "imp_gal", "bbl", "m3", "in3", "ft3", "fl_oz", "qt", "pt", "mL"],
    ["kg", "lb", "oz", "g", "tonne", "short_ton", "long_ton", "grain"],
    ["lb/gal", "kg/L", "kg/m3", "lb/imp_gal", "lb/ft3", "lb/L"],
    ["gal/h", "L/h", "m3/s", "imp_gal/h", "gal/min"],
    ["lb/h", "kg/h", "kg/s", "lb/min", "tonne/h"],
    ["pulse/gal", "pulse/L", "pulse/imp_gal"],
]


def test_conversions_against_exact_rationals():
    # one rounding of the factor and one of the product: at most 1.5 units in the last place
    rng = np.random.default_rng(3)
    worst = 0.0
    for _ in range(STATES * 10):
        family = UNITS[rng.integers(len(UNITS))]
        a, b = (family[rng.integers(len(family))] for _ in "ab")
        value = float(rng.uniform(0.5, 1.0) * 10.0 ** rng.integers(-30, 30))
        exact = Fraction(value) * exact_factor(a, b)
        ours = convert(value, a, b)
        worst = max(worst, float(abs(Fraction(ours) - exact) / Fraction(float(np.spacing(float(exact))))))
    assert worst <= 1.5
