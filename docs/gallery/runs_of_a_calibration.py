"""Five invented fillings of a test measure: each run's K less the mean."""

import fuelunits as fu
from fuelunits import plots

temperatures = {"liquid_temperature_c": 22.0, "measure_temperature_c": 22.0}
expansions = {"measure_expansion_per_k": 50e-6, "liquid_expansion_per_k": 9e-4}
volume = fu.uncertain(20.0, 0.004, name="volume of the test measure", unit="L")
runs = [
    fu.VolumetricRun(pulses=fu.counted(n), measure_volume_l=volume, duration_s=60.0, **temperatures, **expansions)
    for n in (228_240, 228_310, 228_195, 228_265, 228_230)
]
ax = plots.residuals(fu.calibrate(runs))
