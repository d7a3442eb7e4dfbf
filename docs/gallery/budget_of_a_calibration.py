"""What the uncertainty of an invented calibration consists of: the share of each cause."""

import matplotlib.pyplot as plt

import fuelunits as fu

density = fu.measured("0.7702 kg/L", "0.0001 kg/L", name="density of the fluid")
balance = fu.uncertain(1.0, 5e-5, name="balance calibration")
runs = [
    fu.GravimetricRun.read(
        pulses=fu.counted(pulses),
        mass_reading=fu.measured(mass, "1 g", name="weighing"),
        duration="5 min",
        liquid_temperature="21 degC",
        liquid_density=density,
        air_density="1.19 kg/m^3",
        balance_factor=balance,
    )
    for pulses, mass in ((44_996, "3.0369 kg"), (45_008, "3.0376 kg"), (44_986, "3.0362 kg"))
]
rows = sorted(fu.calibrate(runs).rows(), key=lambda row: row.share)

figure, ax = plt.subplots(figsize=(6.4, 2.8), layout="constrained")
ax.barh([row.name for row in rows], [100.0 * row.share for row in rows], color="#0072B2")
ax.set(xlabel="share of the variance of K, %", xlim=(0.0, 100.0))
figure.supxlabel("Engineering aid, not approved data: the certificate and the maintenance data come first.", fontsize=6)
