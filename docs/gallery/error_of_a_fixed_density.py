"""The error of the mass displayed with a fixed density, over temperature."""

import matplotlib.pyplot as plt
import numpy as np

import fuelunits as fu

figure, ax = plt.subplots(layout="constrained")
t = np.linspace(-30.0, 35.0, 66)
jet = fu.fuel("Jet A-1")
lightest, densest = jet.density_limits_kg_m3(t)
drawn = (("typical", jet.density_kg_m3(t), "-"), ("lightest", lightest, "--"), ("densest", densest, ":"))
for label, kg_m3, dashes in drawn:
    ax.plot(t, 100.0 * (800.0 / kg_m3 - 1.0), dashes, label=label)
ax.axhspan(-2.0, 2.0, color="tab:green", alpha=0.2, label="tolerance")
ax.set(xlabel="fuel temperature, °C", ylabel="error of the mass displayed, %", title="0.80 kg/L for Jet A-1")
ax.grid(alpha=0.3)
ax.legend()
figure.text(0.01, -0.04, "Engineering aid, not approved data. Measure density where weight matters.", fontsize=6)
