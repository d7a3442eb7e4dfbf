"""The errors that remain with the best setting, in cold and in warm fuel; meter and indicator are invented."""

import fuelunits as fu
from fuelunits import plots

points = [
    fu.CalibrationPoint(hz, k, 0.0005, viscosity_mm2_s=viscosity, temperature_c=20.0)
    for viscosity, lowest in ((1.2, 15.0), (5.0, 60.0))
    for hz, k in ((lowest, 2895.0), (4.0 * lowest, 2941.0), (20.0 * lowest, 2956.0), (60.0 * lowest, 2952.0))
]
meter = fu.ViscosityCurve.from_points(points, 0.0127, reference_c=20.0, expansion_per_k=17e-6)
indicator = fu.Indicator(
    "2950 pulse/L", reads="kg/h", fixed_density="0.80 kg/L", resolution="1 kg/h", low_flow_cutoff="60 kg/h"
)
best = fu.best_setting(
    indicator,
    meter,
    ["70 kg/h", "140 kg/h", "210 kg/h", "320 kg/h"],
    weights=[12, 30, 400, 60],
    k_step="1 pulse/L",
    fuel="Jet A",
    at=["-20 degC", "15 degC"],
    density_step="0.01 lb/gal",
)
ax = plots.setting(best)
