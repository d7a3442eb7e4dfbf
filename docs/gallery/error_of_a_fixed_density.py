"""The error of the mass displayed with a fixed density, over temperature."""

import fuelunits as fu
from fuelunits import plots

check = fu.check_density("0.80 kg/L", "Jet A-1", between=("-30 degC", "35 degC"), tolerance="2 %")
ax = plots.error(check)
