"""How each published value is worked out with the library: one table of recipes.

A recipe is a small function of what the source gives. A row of ``<topic>.csv`` names its recipe in the column
``what`` and the inputs in the column ``given``; an input that is a plain number arrives as a float, any other as text.
To add a value, add a row; to add a kind of value, add a function and its line in :data:`RECIPES`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from fuelunits.bench.observations import means_of
from fuelunits.conversion import convert
from fuelunits.errors import SourceError
from fuelunits.fuels import water_and_air
from fuelunits.fuels.blends import blend_by_mass
from fuelunits.fuels.commodities import CRUDE_OIL, LUBRICATING_OIL, REFINED_PRODUCTS
from fuelunits.fuels.density_scales import (
    BASE_60F_C,
    api_gravity_from_density,
    density_from_api_gravity,
    relative_density_from_api_gravity,
)
from fuelunits.fuels.edition_1980 import compressibility_per_kpa
from fuelunits.fuels.grades import fuel as grade
from fuelunits.fuels.product import PetroleumProduct
from fuelunits.fuels.pure import pure_liquid
from fuelunits.fuels.viscosity import ViscosityLine, viscosity
from fuelunits.fuels.volume_correction import (
    base_density,
    ctl,
    expansion_coefficient,
)
from fuelunits.meters import counting
from fuelunits.meters.curve import MeterCurve
from fuelunits.meters.dimensionless import strouhal
from fuelunits.meters.points import CalibrationPoint
from fuelunits.quantities import magnitude, read_text
from fuelunits.reference.worked_examples import WORKED_EXAMPLES
from fuelunits.uncertainty import budget
from fuelunits.uncertainty.conformity import accepted_spread
from fuelunits.uncertainty.monte_carlo import monte_carlo
from fuelunits.uncertainty.student_t import student_t
from fuelunits.units import factor

__all__ = ["RECIPES", "recompute"]

_COMMODITIES = {"crude": CRUDE_OIL, "product": REFINED_PRODUCTS, "lube": LUBRICATING_OIL}
_KG_M3_PER_G_ML = 1000.0
_ATMOSPHERE_PA = 101_325.0


def recompute(topic: str, what: str, given: Mapping[str, str]) -> float:
    """Return our value of a published one, in the unit of its row.

    Parameters
    ----------
    topic, what : str
        Its table, and its kind as in the first column.
    given : mapping of str to str
        The inputs, as printed.

    Raises
    ------
    SourceError
        If there is no such recipe.

    Examples
    --------
    >>> round(recompute("water_and_air", "water density", {"temperature_c": "20"}), 4)
    998.2067
    """
    try:
        recipe = RECIPES[topic][what]
    except KeyError:
        raise SourceError(f"{topic}.csv: there is no recipe for {what!r}; add one to RECIPES") from None
    return float(recipe(**{name: _number(text) for name, text in given.items()}))


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


# ------------------------------------------------------------------ petroleum


def _vcf(density: float, temperature_c: float, edition: float) -> Any:
    return ctl(density, temperature_c, edition=1980 if edition == 1980 else 2004)


def _vcf_from_api(api: float, temperature_f: float) -> Any:
    density = density_from_api_gravity(api, edition=1980)
    return ctl(density, convert(temperature_f, "degF", "degC"), base_c=BASE_60F_C, edition=1980)


def _hydrometer_api(api: float, temperature_f: float) -> Any:
    observed = density_from_api_gravity(api, edition=1980)
    celsius = convert(temperature_f, "degF", "degC")
    at_60f = base_density(observed, celsius, base_c=BASE_60F_C, edition=1980, glass_hydrometer=True)
    return api_gravity_from_density(at_60f, edition=1980)


def _hydrometer_15(density: float, temperature_c: float) -> Any:
    return base_density(density, temperature_c, edition=1980, glass_hydrometer=True)


def _density_limit(density_60f: float, base_c: float, commodity: str) -> Any:
    return density_60f * ctl(density_60f, base_c, base_c=BASE_60F_C, commodity=_COMMODITIES[commodity])


def _crude_oil(density: float, temperature_c: float) -> Any:
    """Compressibility by the metric equation of 1984, in 1e-3/MPa."""
    return 1e6 * compressibility_per_kpa(base_density(density, temperature_c, commodity=CRUDE_OIL), temperature_c)


def _observed(density: float, at_c: float, temperature_c: float, kg_m3_per_unit: float = 1.0) -> Any:
    """Density carried from one temperature to another."""
    product = PetroleumProduct.observed(density * kg_m3_per_unit, at_c)
    return product.density_kg_m3(temperature_c) / kg_m3_per_unit


# ------------------------------------------------------------------ fuels


def _hefa_in_jet(jet: float, hefa: float, hefa_by_mass: float) -> Any:
    parts = {
        grade("Jet A").measured(f"{jet} g/mL"): 1.0 - hefa_by_mass,
        grade("HEFA-SPK").measured(f"{hefa} g/mL"): hefa_by_mass,
    }
    return blend_by_mass(parts).density_kg_m3(15.0) / _KG_M3_PER_G_ML


def _fame(density: float, at_c: float, temperature_c: float) -> Any:
    batch = grade("FAME").measured(f"{density} g/mL", f"{at_c} degC")
    return batch.density_kg_m3(temperature_c) / _KG_M3_PER_G_ML


def _pure(liquid: str, temperature_c: float, pressure_pa: float) -> Any:
    return pure_liquid(liquid).density_kg_m3(temperature_c, (pressure_pa - _ATMOSPHERE_PA) / 1000.0)


def _lb_gal(fuel: str, temperature_c: float = 15.0) -> Any:
    return grade(fuel).density_kg_m3(temperature_c) * factor("kg/m^3", "lb/gal")


def _nearest_allowed(fuel: str, density: str) -> Any:
    kg_m3 = magnitude(density, "kg/m^3", name="density")
    low, high = grade(fuel).density_limits_kg_m3(15.0)
    return min(max(kg_m3, low), high) * factor("kg/m^3", read_text(density)[1])


def _mass(volume: str, density: str) -> Any:
    """Mass in kg, or in lb where the source works in pounds and gallons."""
    litres, unit = read_text(volume)
    mass_unit = read_text(density)[1].partition("/")[0]
    return convert(float(litres), unit, "lb" if (mass_unit, unit) == ("lb", "gal") else "kg", density=density)


def _mass_to_add(needed: str, volume: str, density: str) -> Any:
    on_board = convert(float(read_text(volume)[0]), read_text(volume)[1], "kg", density=density)
    return magnitude(needed, "kg", name="needed") - on_board


def _volume_to_add(needed: str, volume: str, density: str) -> Any:
    return convert(_mass_to_add(needed, volume, density), "kg", read_text(volume)[1], density=density)


def _through_two_points(temperature_c: float, **point: float) -> Any:
    first, second = ((point[f"{end}_c"], point[f"{end}_mm2_s"]) for end in ("first", "second"))
    line = ViscosityLine.through(first, second, source="the two points of the row")
    return line.kinematic_viscosity_mm2_s(temperature_c)


# ------------------------------------------------------------------ bench and meters


def _z_factor(temperature_c: float, pressure_pa: float, relative_humidity: float) -> Any:
    """Z with the water and the air at one temperature."""
    water = water_and_air.water_density_kg_m3(temperature_c)
    air = water_and_air.air_density_kg_m3(temperature_c, pressure_pa, relative_humidity)
    return water_and_air.z_factor_l_per_kg(water, air)


def _true_mass(reading: float, **densities: float) -> Any:
    return reading * water_and_air.buoyancy_factor(**densities)


def _weight_in_air(density_15c_kg_m3: float) -> Any:
    return water_and_air.apparent_density_kg_m3(density_15c_kg_m3) / density_15c_kg_m3


def _pickup_frequency(blades: float, radians_per_m3: float, flow_m3_s: float) -> Any:
    """Frequency of a meter of constant K, one pulse for each blade that passes."""
    k_per_l = blades * radians_per_m3 / math.tau / 1000.0
    curve = MeterCurve([CalibrationPoint(frequency_hz, k_per_l, 0.0) for frequency_hz in (1.0, 100.0)])
    return curve.frequency_hz(flow_m3_s * 1000.0)


def _strouhal(frequency_hz: float, length_m: float, velocity_m_s: float) -> Any:
    return strouhal(frequency_hz, length_m, velocity_m_s * length_m**2)


def _difference(opening: float, closing: float) -> Any:
    return counting.unwrap_counter([int(opening), int(closing)], bits=32).total


# ------------------------------------------------------------------ uncertainty


def _end_gauge(**n: float) -> list[Any]:
    """Return the inputs of the length of an end gauge: standard, comparison, temperature and expansion (GUM H.1)."""
    u, rectangular = budget.uncertain, budget.rectangular
    comparison = sum(u(0.0, n[f"u_d{i}"], name=f"comparison {i}", degrees_of_freedom=n[f"dof_d{i}"]) for i in (1, 2, 3))
    return [
        u(n["ls"], n["u_ls"], name="standard", degrees_of_freedom=n["dof_ls"]),
        n["d"] + comparison,
        u(n["theta"], n["u_theta"], name="temperature"),
        rectangular(n["alpha"], n["a_alpha"], name="expansion of the standard"),
        u(0.0, n["a_dalpha"] / 3**0.5, name="difference of expansion", degrees_of_freedom=n["dof_dalpha"]),
        u(0.0, n["a_dtheta"] / 3**0.5, name="difference of temperature", degrees_of_freedom=n["dof_dtheta"]),
    ]


def _length(standard: Any, comparison: Any, warmth: Any, expansion: Any, d_expansion: Any, d_warmth: Any) -> Any:
    return standard + comparison - standard * (d_expansion * warmth + expansion * d_warmth)


def _expanded_gauge(probability: float, **given: float) -> Any:
    length = _length(*_end_gauge(**given))
    k = student_t(probability, budget.effective_degrees_of_freedom(length))
    return k * budget.standard_uncertainty(length)


def _drawn_gauge(**given: float) -> Any:
    """Draw the length, with the second-order terms that propagation leaves out; 200,000 draws give 0.16 %."""
    return monte_carlo(_length, _end_gauge(**given), seed=1, draws=200_000).std(ddof=1)


def _impedance(V: str, I: str, phi: str) -> dict[str, Any]:  # noqa: N803, E741  the letters of GUM H.2
    """Resistance, reactance and impedance in ohm from voltages, currents in mA and phases (GUM H.2)."""
    from uncertainties import umath

    series = {"V": V, "I": I, "phi": phi}
    voltage, current, phase = means_of({name: [float(each) for each in text.split()] for name, text in series.items()})
    impedance = 1000.0 * voltage / current
    return {"R": impedance * umath.cos(phase), "X": impedance * umath.sin(phase), "Z": impedance}


def _correlation(first: str, second: str) -> Callable[..., Any]:
    def recipe(**series: str) -> Any:
        from uncertainties import correlation_matrix

        found = _impedance(**series)
        return correlation_matrix([found[first], found[second]])[0][1]

    return recipe


def _standard_solution(**n: float) -> Any:
    """Concentration in mg/L of a solution from mass in mg, purity and volume in mL (QUAM A1)."""
    flask = budget.triangular(n["V"], n["a_flask"], name="flask")
    volume = flask + budget.uncertain(0.0, n["u_filling"], name="filling")
    volume = volume + budget.rectangular(0.0, n["a_temperature"], name="temperature")
    mass = budget.uncertain(n["m"], n["u_m"], name="mass")
    return 1000.0 * mass * budget.rectangular(n["P"], n["a_P"], name="purity") / volume


RECIPES: dict[str, dict[str, Callable[..., Any]]] = {
    "units": {"factor": lambda **units: factor(units["from"], units["to"])},
    "volume_correction_2004": WORKED_EXAMPLES,
    "volume_correction": {
        "VCF": _vcf,
        "VCF from API gravity": _vcf_from_api,
        "API gravity at 60 degF from a hydrometer": _hydrometer_api,
        "density at 15 degC from a hydrometer": _hydrometer_15,
        "expansion at 15 degC": lambda density: 1000.0 * expansion_coefficient(density, edition=1980),
        "density limit": _density_limit,
    },
    "compressibility": {"compressibility of crude oil": _crude_oil},
    "density_scales": {
        "relative density": lambda api: relative_density_from_api_gravity(api),
        "density at 60 degF": lambda api: density_from_api_gravity(api),
    },
    "densities": {
        "density": _observed,
        "avgas in lb/gal": lambda **given: _observed(**given, kg_m3_per_unit=factor("lb/gal", "kg/m^3")),
    },
    "standard_weights": {
        "typical density at 15 degC": _lb_gal,
        "density": _lb_gal,
        "fall of density from 15 to 30 degC": lambda fuel: _lb_gal(fuel, 15.0) - _lb_gal(fuel, 30.0),
        "nearest density allowed at 15 degC": _nearest_allowed,
        "lb/ft3 from lb/gal": lambda density: density * factor("lb/gal", "lb/ft3"),
    },
    "quantity_examples": {"mass": _mass, "mass to add": _mass_to_add, "volume to add": _volume_to_add},
    "water_and_air": {
        "water density": water_and_air.water_density_kg_m3,
        "air density": water_and_air.air_density_kg_m3,
        "conversion factor Z": _z_factor,
        "true mass": _true_mass,
        "litres per tonne in air": lambda density_15c_kg_m3: (
            1e6 / water_and_air.apparent_density_kg_m3(density_15c_kg_m3)
        ),
        "weight in air per true mass": _weight_in_air,
    },
    "viscosity": {
        "kinematic viscosity": lambda fuel, temperature_c: viscosity(fuel).kinematic_viscosity_mm2_s(temperature_c),
        "kinematic viscosity between two points": _through_two_points,
    },
    "blends": {
        "blend of HEFA-SPK and Jet A": _hefa_in_jet,
        "ATJ-SPK by its own expansion": lambda temperature_c: (
            grade("ATJ-SPK").density_kg_m3(temperature_c) / _KG_M3_PER_G_ML
        ),
        "ATJ-SPK as if petroleum": lambda **given: _observed(**given, kg_m3_per_unit=_KG_M3_PER_G_ML),
        "FAME by the expansion of record EC10021": _fame,
    },
    "pure_liquids": {"density": _pure},
    "pulse_train": {
        "counting resolution": lambda pulses: 100.0 * counting.counting_resolution(pulses),
        "pulses for a resolution": lambda relative_percent: counting.pulses_for_resolution(relative_percent / 100.0),
        "difference of two readings": _difference,
    },
    "meter_curve": {
        "pickup frequency": _pickup_frequency,
        "Strouhal number": _strouhal,
        "volume flow": lambda gal_min: convert(gal_min, "gal/min", "m^3/s"),
    },
    "uncertainty": {
        "expanded uncertainty": lambda u, dof, probability: student_t(probability, dof) * u,
        "accepted spread": lambda runs, expanded: accepted_spread(int(runs), expanded),
        "length of end gauge": lambda **given: budget.nominal(_length(*_end_gauge(**given))),
        "u of end gauge": lambda **given: budget.standard_uncertainty(_length(*_end_gauge(**given))),
        "effective dof of end gauge taken down": lambda **given: math.floor(
            budget.effective_degrees_of_freedom(_length(*_end_gauge(**given)))
        ),
        "U of end gauge": _expanded_gauge,
        "u of end gauge, second order": _drawn_gauge,
        "R": lambda **series: budget.nominal(_impedance(**series)["R"]),
        "X": lambda **series: budget.nominal(_impedance(**series)["X"]),
        "Z": lambda **series: budget.nominal(_impedance(**series)["Z"]),
        "u(R)": lambda **series: budget.standard_uncertainty(_impedance(**series)["R"]),
        "u(X)": lambda **series: budget.standard_uncertainty(_impedance(**series)["X"]),
        "u(Z)": lambda **series: budget.standard_uncertainty(_impedance(**series)["Z"]),
        "r(R, X)": _correlation("R", "X"),
        "r(R, Z)": _correlation("R", "Z"),
        "r(X, Z)": _correlation("X", "Z"),
        "concentration": lambda **given: budget.nominal(_standard_solution(**given)),
        "u(concentration)": lambda **given: budget.standard_uncertainty(_standard_solution(**given)),
    },
}
"""The function that works out each kind of value, by topic; a topic is a file ``<topic>.csv``."""
