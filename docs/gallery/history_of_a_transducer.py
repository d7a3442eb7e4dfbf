"""K of an invented transducer over four years, with its drift."""

import fuelunits as fu
from fuelunits import plots


def calibration(pulses):
    """Return an invented calibration of three fillings of 20 L."""
    volume = fu.measured("20 L", "0.004 L", name="volume of the test measure")
    warmth = [fu.measured("22 degC", "0.05 degC", name=f"temperature at the {place}") for place in ("meter", "measure")]
    common = {
        "measure_volume": volume,
        "duration": "60 s",
        "liquid_temperature": warmth[0],
        "measure_temperature": warmth[1],
        "measure_expansion_per_k": 50e-6,
        "liquid_expansion_per_k": 9e-4,
    }
    return fu.calibrate([fu.VolumetricRun.read(pulses=fu.counted(pulses + extra), **common) for extra in (-40, 0, 40)])


found = {"2027-03-02": 228_240, "2028-03-09": 228_130, "2029-02-27": 228_050, "2030-03-04": 227_910}
events = [fu.CalibrationEvent(date, calibration(pulses)) for date, pulses in found.items()]
ax = plots.history(fu.TransducerHistory("A-0117", events))
