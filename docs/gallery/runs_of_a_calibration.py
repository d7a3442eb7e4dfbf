"""Five invented fillings of a test measure: each run's K less the mean."""

import fuelunits as fu
from fuelunits import plots

temperatures = {
    f"{part}_temperature": fu.measured("22 degC", "0.05 degC", name=f"temperature of the {part}")
    for part in ("liquid", "measure")
}
expansions = {"measure_expansion_per_k": 50e-6, "liquid_expansion_per_k": 9e-4}
volume = fu.measured("20 L", "0.004 L", name="volume of the test measure")
runs = [
    fu.VolumetricRun.read(pulses=fu.counted(n), measure_volume=volume, duration="60 s", **temperatures, **expansions)
    for n in (228_240, 228_310, 228_195, 228_265, 228_230)
]
ax = plots.residuals(fu.calibrate(runs))
