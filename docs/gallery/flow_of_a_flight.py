"""Flow of an invented flight, with the times at which two low-fuel thresholds trip."""

import numpy as np

import fuelunits as fu
from fuelunits import plots

minutes = np.arange(0.0, 151.0, 5.0)
flow_l_h = 48.0 + 22.0 * np.exp(-minutes[:-1] / 12.0)
counts = fu.PulseCounts(60.0 * minutes, np.round(flow_l_h / 12.0 * 11_412.0).astype(int))
thresholds = [fu.LowFuelByTime("35 min"), fu.LowFuelByQuantity("20 L")]
ax = plots.flow(counts, "11412 pulse/L", unit="L/h", low_flow_cutoff="6 L/h", usable="140 L", low_fuel=thresholds)
