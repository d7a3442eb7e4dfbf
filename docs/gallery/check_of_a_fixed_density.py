"""A fixed density against the fuel: where it holds within the tolerance."""

import fuelunits as fu
from fuelunits import plots

check = fu.check_density("6.7 lb/gal", "Jet A", between=("-20 degC", "40 degC"), tolerance="3 %")
ax = plots.check(check)
