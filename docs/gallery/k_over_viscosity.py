"""Runs in two liquids of different viscosity on one curve; both are invented."""

import fuelunits as fu
from fuelunits import plots


def run(viscosity, pairs):
    """Return the calibration in one liquid at 20 °C."""
    return fu.MeterCurve([fu.CalibrationPoint(hz, k, 0.0005, viscosity, 20.0) for hz, k in pairs])


thin = run(1.2, [(30.0, 11_210.0), (100.0, 11_330.0), (400.0, 11_400.0), (1000.0, 11_410.0)])
thick = run(4.8, [(60.0, 11_060.0), (120.0, 11_215.0), (400.0, 11_325.0), (1000.0, 11_380.0)])
ax = plots.strouhal(fu.ViscosityCurve([thin, thick], 0.0127, 20.0, 17e-6))
