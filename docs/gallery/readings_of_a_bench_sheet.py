"""Readings of an invented bench sheet, as found and as left, within what is acceptable."""

import matplotlib.pyplot as plt

import fuelunits as fu

indicator = fu.Indicator("11412 pulse/L", reads="L/h", resolution="0.1 L/h")
sheet = indicator.bench_points(["20 L/h", "40 L/h", "80 L/h"], tolerance="1 %").filled(
    as_found=["19.7 L/h", "40.1 L/h", "80.9 L/h"], as_left=["20.0 L/h", "40.1 L/h", "80.2 L/h"]
)
figure, ax = plt.subplots(figsize=(6.4, 3.4), layout="constrained")
for place, row in enumerate(sheet.rows()):
    off = {name: 100.0 * (row[name] / row["expected"] - 1.0) for name in ("lowest", "highest", "as_found", "as_left")}
    limits = ax.bar(place, off["highest"] - off["lowest"], bottom=off["lowest"], width=0.5, color="#009E73", alpha=0.3)
    (before,) = ax.plot(place - 0.1, off["as_found"], "x", color="#D55E00", markersize=9)
    (after,) = ax.plot(place + 0.1, off["as_left"], "o", color="#0072B2")
ax.set_xticks(range(len(sheet.rows())), [row["point"] for row in sheet.rows()])
ax.set(
    ylabel="reading less expected, %",
    title=f"as found: {sheet.verdict_as_found.value}; as left: {sheet.verdict_as_left.value}",
)
ax.legend([limits, before, after], ["acceptable", "as found", "as left"], fontsize="small")
figure.supxlabel(
    "Engineering aid, not approved data: the maintenance data and a licensed sign-off come first.", fontsize=6
)
