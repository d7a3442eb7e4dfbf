"""Level, capacitance and mass displayed of an invented tank with one probe."""

import fuelunits as fu
from fuelunits import plots

points = [("0 mm", "0 L"), ("100 mm", "28 L"), ("200 mm", "71 L"), ("300 mm", "120 L")]
tank = fu.TankTable("left", points, unusable="3 L")
gauge = fu.CapacitanceGauge(tank, [fu.Probe("48 pF", "0 mm", "300 mm")], "Jet A", "15 degC")
axes = plots.gauge(gauge)
