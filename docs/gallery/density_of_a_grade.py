"""Density of Jet A over temperature, with the limits of its specification."""

from fuelunits import plots

ax = plots.density("Jet A", unit="lb/gal")
