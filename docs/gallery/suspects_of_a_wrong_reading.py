"""Suspects for an invented wrong reading: the ratio that each predicts, against the one found."""

import matplotlib.pyplot as plt

import fuelunits as fu

found = fu.diagnose("190 gal/h", "50 gal/h", indicator="11412 pulse/gal")
suspects = found.suspects[::-1]

figure, ax = plt.subplots(figsize=(6.4, 2.8), layout="constrained")
ax.axvline(found.ratio, color="#0072B2", label=f"found: {found.ratio:.4g}")
ax.axvspan(*(found.ratio * (1.0 + sign * 2.0 * found.uncertainty) for sign in (-1, 1)), color="#0072B2", alpha=0.25)
ax.plot(
    [each.ratio for each in suspects],
    [f"{each.rank}. {each.kind.replace('_', ' ')}" for each in suspects],
    "o",
    color="#D55E00",
)
ax.set(xlabel="indicated over true", title="causes and the ratio found, ± 2 standard uncertainties")
ax.legend(fontsize="small")
figure.supxlabel("Engineering aid, not approved data. A ratio suggests a cause; it does not prove one.", fontsize=6)
