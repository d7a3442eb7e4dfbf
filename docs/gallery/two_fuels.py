"""Two fuels on the same axes: what a wrong fuel in the tank does to a fixed density."""

import matplotlib.pyplot as plt
import numpy as np

import fuelunits as fu

figure, ax = plt.subplots(layout="constrained")
t = np.linspace(-20.0, 40.0, 61)
for name, dashes in (("Jet A", "-"), ("100LL", "--")):
    ax.plot(t, fu.fuel(name).density_kg_m3(t) * fu.factor("kg/m^3", "lb/gal"), dashes, label=name)
ax.set(xlabel="fuel temperature, °C", ylabel="density, lb/gal", title="typical densities")
ax.grid(alpha=0.3)
ax.legend()
figure.text(0.01, -0.04, "Engineering aid, not approved data. Measure density where weight matters.", fontsize=6)
