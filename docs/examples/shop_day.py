"""A day of an invented shop, Hangar Twelve Avionics: no real shop, aircraft, transducer or job.

Calibrate a transducer by weighing, enter its K-factor, print the bench sheet of an indicator, read
the pulse counter of an invented flight, and compare with what the fuel truck delivered.

Engineering aid, not approved data: the aircraft's maintenance and flight manuals, the fuel
supplier's certificate, the local authority's rules and a licensed technician's sign-off come first.
"""

import numpy as np

import fuelunits as fu

rng = np.random.default_rng(12)

# --- on the bench: three weighings, sharing the balance, the density of the fluid and the air
density = fu.measured("0.7702 kg/L", "0.0001 kg/L", name="density of the fluid")
air = fu.measured("1.19 kg/m^3", "0.01 kg/m^3", name="density of the air")
balance = fu.uncertain(1.0, 2e-5, name="balance calibration")
runs = [
    fu.GravimetricRun.read(
        pulses=fu.counted(pulses),
        mass_reading=fu.measured(mass, "1 g", name="weighing"),
        duration="5 min",
        liquid_temperature="21 degC",
        liquid_density=density,
        air_density=air,
        balance_factor=balance,
    )
    for pulses, mass in ((29_931, "3.0369 kg"), (29_940, "3.0376 kg"), (29_926, "3.0362 kg"))
]
calibration = fu.calibrate(runs)
print("CALIBRATION", calibration, sep="\n", end="\n\n")

# --- into the indicator, which takes the K-factor in steps of ten and shows pounds per hour
entered = calibration.k_factor.to("gal").rounded(10)
indicator = fu.Indicator(
    entered, reads="lb/h", fixed_density="6.7 lb/gal", resolution="1 lb/h", low_flow_cutoff="10 lb/h"
)
print("AS LEFT", calibration.conformity(entered, tolerance="1 %"), sep="\n", end="\n\n")
print(
    "BENCH SHEET", indicator.bench_points(["5 gal/h", "12.5 gal/h", "20 gal/h"], tolerance="2 %"), sep="\n", end="\n\n"
)

# --- the flight: a 16 bit counter, read once a minute for two hours, that rolls over on the way
minutes = np.arange(121)
flow_gal_h = 11.5 + 2.0 * np.exp(-minutes / 8.0)
true_pulses = np.cumsum(np.r_[0, rng.poisson(flow_gal_h[:-1] / 60.0 * float(calibration.k_factor.to("gal")))])
readings = ((true_pulses + 61_234) % 2**16).astype(np.uint16)
counts = fu.PulseCounts.of_counter(60.0 * minutes, fu.unwrap_counter(readings, bits=16))
used = entered.volume(counts.total)
flow = counts.frequency().smoothed(120.0).flow(entered, "gal/h")
print(
    f"FLIGHT\n{counts.total} pulses, {used.m_as('gallon'):.2f} gal used, {flow.min():.1f} to {flow.max():.1f} gal/h\n"
)

# --- the truck bills litres at 15 °C; the fuel was measured at 0.722 kg/L and delivered at 29 °C
avgas = fu.fuel("100LL").measured("0.722 kg/L", at="15 degC", by="certificate")
ticket = "87.1 L"
fill_up = fu.FillUp.read(
    indicated=f"{used.m_as('gallon'):.1f} gal",
    delivered=fu.measured(ticket, "0.1 %", name="ticket"),
    display_step="0.1 gal",
    level_uncertainty="0.8 L",
    volume_correction_factor=avgas.volume_correction_factor("29 degC"),
    truck_factor=fu.uncertain(1.0, 0.002, name="calibration of the truck's meter"),
)
comparison = fu.compare_fill_ups(entered, [fill_up])
print("TRUCK", comparison, sep="\n")
