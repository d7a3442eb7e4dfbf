"""The library as a typed project uses it: mypy --strict reads this file, and a test runs it."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pint
from numpy.typing import NDArray

import fuelunits as fu
from fuelunits.checks.explanation import DensityExplanation
from fuelunits.checks.file import FileReport, check_text
from fuelunits.fuels.grades import Figure
from fuelunits.indicators.bench_sheet import BenchSheet
from fuelunits.reference.verification import Verification


def litres(gallons: float) -> float:
    """A float gives a float."""
    return fu.convert(gallons, "gal", "L")


def mass(temperature: str) -> float:
    """Text and quantities of a library of units are read; the answers are quantities."""
    jet = fu.fuel("Jet A").measured("0.81 kg/L", at=pint.Quantity(15.0, "degC"))
    kilograms: float = jet.mass(pint.Quantity(100.0, "liter"), at=temperature).m_as("kg")
    return kilograms + fu.convert(1.0, "L", "kg", density=jet.density("15 degC"))


def litres_per_gallon() -> float:
    """A factor is a float, and exactly a fraction."""
    exact: Fraction = fu.exact_factor("gal", "L")
    return fu.factor("gal", "L") if exact else 0.0


def density_of(temperatures_c: NDArray[np.float64]) -> NDArray[np.float64]:
    """A grade answers arrays; a figure has a source."""
    jet: fu.Fuel = fu.fuel("Jet A")
    typical: Figure = jet.typical
    assert fu.source(typical.source).obtained
    density: NDArray[np.float64] = jet.density_kg_m3(temperatures_c)
    one: float = jet.density_kg_m3(15.0) * fu.ctl(808.0, 30.0)
    assert 780.0 < one < 800.0
    return density


def holds() -> bool:
    """A check, an explanation and a file each have a type of their own."""
    check: fu.DensityCheck = fu.check_density("6.7 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="2 %")
    explanation: DensityExplanation = fu.explain_density("6.7 lb/gal")
    report: FileReport = check_text(
        '[[factor]]\nname = "L"\nvalue = 3.785\nfrom = "gal"\nto = "L"\ntolerance = "0.1 %"\n'
    )
    return check.passed and len(explanation.matches) > 0 and report.passed


def sheet() -> BenchSheet:
    """A K-factor and an indicator."""
    k: fu.KFactor = fu.KFactor(43_186, per="gal")
    per_litre: float = k.per("L")
    indicator = fu.Indicator(k, reads="lb/h", fixed_density="6.7 lb/gal", resolution="1 lb/h")
    assert per_litre > 0
    return indicator.bench_points(["10 gal/h"], "2 %")


def meter(curve: fu.MeterCurve, hz: NDArray[np.float64]) -> NDArray[np.float64]:
    """What comes out is of the kind that went in."""
    k: float = curve.k_pulses_per_l(100.0)
    flow: float = curve.flow_l_s(100.0)
    pulses: float = fu.KFactor(11_412, per="L").pulses("5 L")
    assert k > flow * pulses
    flows: NDArray[np.float64] = curve.flow_l_s(hz, out_of_range="nan")
    return flows


def published() -> Verification:
    """The published values."""
    return fu.verify(fu.published("units"))


def refused() -> str:
    """One family of errors."""
    try:
        fu.convert(1.0, "gal", "lb")
        fu.check_density("6.7 lb/gal", "Jet A", between="0 degC", tolerance="3 %")  # type: ignore[arg-type]
    except fu.OutOfRange as outside:
        return f"{outside.low} to {outside.high}"
    except fu.FuelUnitsError as refusal:
        return str(refusal)
    return ""
