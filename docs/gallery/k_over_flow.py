"""K over flow from an invented calibration, with the band of its uncertainty."""

import fuelunits as fu
from fuelunits import plots

pairs = [(30.0, 11_205.0), (60.0, 11_310.0), (150.0, 11_395.0), (400.0, 11_415.0), (1000.0, 11_412.0)]
curve = fu.MeterCurve([fu.CalibrationPoint(hz, k, 0.0005) for hz, k in pairs])
ax = plots.meter_curve(curve)
