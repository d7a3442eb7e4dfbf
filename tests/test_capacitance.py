"""Capacitance gauging against arithmetic by hand and against simulation of other fuels."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import fuelunits as fu
from fuelunits.errors import FuelUnitsError, OutOfRange
from fuelunits.fuels.permittivity import permittivity_from_density
from fuelunits.indicators.capacitance import CapacitanceGauge, Probe

TANK = fu.TankTable("left wing", [("0 mm", "0 L"), ("100 mm", "30 L"), ("300 mm", "120 L")])
PROBES = [Probe("30 pF", "0 mm", "180 mm"), Probe("24 pF", "150 mm", "300 mm")]
GAUGE = CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC", stray="6 pF", relative_permittivity=2.1)


def test_two_sections_by_hand():
    """At 165 mm: 30 pF wetted over 165/180, 24 pF over 15/150, all with strays of 6 pF."""
    assert GAUGE.empty_pf == 60.0
    assert GAUGE.capacitance_pf(165.0) == pytest.approx(60.0 + 1.1 * (30.0 * 165.0 / 180.0 + 24.0 * 0.1))
    assert GAUGE.capacitance_pf(0.0) == 60.0
    assert GAUGE.capacitance_pf(300.0) == pytest.approx(60.0 + 1.1 * 54.0)


@given(st.floats(1.0, 119.0))
def test_the_volume_is_found_again(litres):
    found = GAUGE.volume(f"{GAUGE.capacitance(f'{litres!r} L').m_as('pF')!r} pF")
    assert found.m_as("L") == pytest.approx(litres, abs=1e-6)


def test_a_profiled_probe():
    probe = Probe("40 pF", "0 mm", "100 mm", [("0 mm", 0.0), ("20 mm", 0.5), ("100 mm", 1.0)])
    assert probe.wetted_share(10.0) == pytest.approx(0.25)
    assert probe.wetted_share(60.0) == pytest.approx(0.75)
    assert probe.wetted_share(500.0) == 1.0


def test_another_fuel_by_hand():
    """One straight probe and one straight tank: the level displayed is the true one times the ratio of ε - 1."""
    tank = fu.TankTable("box", [("0 mm", "0 L"), ("300 mm", "120 L")])
    gauge = CapacitanceGauge(tank, [Probe("48 pF", "0 mm", "300 mm")], "Jet A", "15 degC", relative_permittivity=2.1)
    error = gauge.error_with("Jet A", at="15 degC", relative_permittivity=2.0)
    assert error.volume_error == pytest.approx(1.0 / 1.1 - 1.0, rel=1e-9)
    assert error.mass_error == pytest.approx(1.0 / 1.1 - 1.0, rel=1e-9)
    inferred = (1.0 / 4.0) / (1.1 / 4.1)
    assert error.compensated_mass_error == pytest.approx(inferred - 1.0, rel=1e-9)


def test_the_same_fuel_warmed_reads_low_in_volume_and_far_less_in_mass():
    gauge = CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC")
    warm = gauge.error_with("Jet A", at="45 degC")
    assert warm.volume_error < -0.02
    assert abs(warm.mass_error) < 0.5 * abs(warm.volume_error)
    assert warm.compensated_mass_error == pytest.approx(0.0, abs=1e-9)
    same = gauge.error_with("Jet A", at="15 degC")
    assert same.volume_error == pytest.approx(0.0, abs=1e-9)
    assert "+0 %" in str(same)


def test_errors_of_batches_by_simulation():
    """The spread of the compensated mass is that of the polarization, whatever the density."""
    random = np.random.default_rng(3)
    polarizations = random.normal(3.39e-4, 3e-6, 400)
    density = 800.0
    eps = permittivity_from_density(density, polarizations)
    gauge = CapacitanceGauge(
        TANK, PROBES, "Jet A", "15 degC", relative_permittivity=float(permittivity_from_density(800.0, 3.39e-4))
    )
    errors = [gauge.error_with("Jet A", at="15 degC", relative_permittivity=float(each)) for each in eps]
    found = np.array([each.compensated_mass_error for each in errors])
    assert float(found.std()) == pytest.approx(3e-6 / 3.39e-4, rel=0.15)


@pytest.mark.parametrize("capacitance", ["59 pF", "130 pF"])
def test_a_capacitance_beyond_the_probes_is_refused(capacitance):
    with pytest.raises(OutOfRange, match="empty to full"):
        GAUGE.volume(capacitance)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Probe("30 pF", "180 mm", "0 mm"), "rise"),
        (lambda: Probe("0 pF", "0 mm", "10 mm"), "positive"),
        (lambda: Probe("30 L", "0 mm", "10 mm"), "capacitance"),
        (lambda: Probe("30 pF", "0 mm", "10 mm", [("0 mm", 0.2), ("10 mm", 1.0)]), "from 0"),
        (lambda: CapacitanceGauge(TANK, [], "Jet A", "15 degC"), "one probe"),
        (lambda: CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC", relative_permittivity=0.9), "above 1"),
        (lambda: CapacitanceGauge(TANK, PROBES, "ethanol", "15 degC"), "permittivity"),
    ],
)
def test_what_cannot_be_is_refused(make, message):
    with pytest.raises(FuelUnitsError, match=message):
        make()


def test_reports_warn_of_water_and_of_typical_values():
    assert "Water" in str(GAUGE)
    assert "typical value" not in str(GAUGE)
    assert "typical value" in str(CapacitanceGauge(TANK, PROBES, "Jet A", "15 degC"))
    assert "stand-in" in str(CapacitanceGauge(TANK, PROBES, "UL91", "15 degC"))
    assert "stand-in" in " ".join(GAUGE.error_with("UL91", at="15 degC").report().remarks)
