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
    for pulses, mass in ((44_996, "3.0369 kg"), (45_008, "3.0376 kg"), (44_986, "3.0362 kg"))
]
calibration = fu.calibrate(runs)
print("CALIBRATION", calibration, sep="\n", end="\n\n")

# --- into the indicator, which takes whole pulses per litre and displays kilograms per hour
entered = calibration.k_factor.to("L").rounded(1)
indicator = fu.Indicator(
    entered, reads="kg/h", fixed_density="0.72 kg/L", resolution="0.5 kg/h", low_flow_cutoff="4 kg/h"
)
print("AS LEFT", calibration.conformity(entered, tolerance="1 %"), sep="\n", end="\n\n")
sheet = indicator.bench_points(["20 L/h", "46 L/h", "80 L/h"], tolerance="2 %")
sheet = sheet.filled(as_left=["14.5 kg/h", "33.0 kg/h", "57.5 kg/h"])
print("BENCH SHEET", sheet, sep="\n", end="\n\n")

# --- the flight: a 16 bit counter, read once a minute for two hours, that rolls over on the way
minutes = np.arange(121)
flow_l_h = 43.0 + 8.0 * np.exp(-minutes / 8.0)
true_pulses = np.cumsum(np.r_[0, rng.poisson(flow_l_h[:-1] / 60.0 * float(calibration.k_factor.to("L")))])
readings = ((true_pulses + 61_234) % 2**16).astype(np.uint16)
counts = fu.PulseCounts.of_counter(60.0 * minutes, fu.unwrap_counter(readings, bits=16))
used = entered.volume(counts.total)
flow = counts.frequency().smoothed(120.0).flow(entered, "L/h")
print(f"FLIGHT\n{counts.total} pulses, {used.m_as('liter'):.2f} L used, {flow.min():.1f} to {flow.max():.1f} L/h\n")

# --- the truck bills litres at 15 °C; the fuel was measured at 0.722 kg/L and passed the transducer at 29 °C
avgas = fu.fuel("100LL").measured("0.722 kg/L", at="15 degC", by="certificate")
ticket = "87.1 L"
fill_up = fu.FillUp(
    indicated=f"{0.72 * used.m_as('liter'):.1f} kg",  # as the indicator displays it: litres times its fixed density
    fixed_density="0.72 kg/L",
    delivered=fu.measured(ticket, "0.1 %", name="ticket"),
    display_step="0.1 kg",
    level_uncertainty="0.8 L",
    uncounted="0 L",
    volume_correction_factor=fu.uncertain(avgas.volume_correction_factor("29 degC"), 0.0012, name="29 °C, ± 1 °C"),
    truck_factor=fu.uncertain(1.0, 0.002, name="calibration of the truck's meter"),
)
comparison = fu.compare_fill_ups(entered, [fill_up])
print("TRUCK", comparison, sep="\n", end="\n\n")

# --- the day in one record, which fu.save keeps and fu.page prints
job = fu.JobRecord(
    number="H12-0031",
    date="2031-05-17",
    technician="R. Invented",
    transducers=[fu.Part("fuel flow transducer", "HT-0117", f"{calibration.k_factor.per('L'):.1f} pulse/L")],
    equipment=[fu.Equipment("balance", "B-12", due="2031-08-01")],
    fluid="bench fluid, 0.7702 kg/L",
    as_found=indicator,
    as_left=indicator,
    sheets=[sheet],
    calibrations=[calibration],
    fill_ups=[fill_up],
)
print("RECORD", repr(job), sep="\n")
