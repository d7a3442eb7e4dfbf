"""How the library computes each published value: one table of recipes.

A row of ``<topic>.csv`` names its recipe in the column ``what`` and the inputs in ``given``, floats or text. To add a
kind of value, add a function and its line in :data:`RECIPES`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

import numpy as np

from fuelunits.bench.runs import counted
from fuelunits.conversion import convert
from fuelunits.errors import SourceError
from fuelunits.fuels import blends, editions, properties, pure, water_and_air
from fuelunits.fuels import volume_correction as correction
from fuelunits.fuels.editions import BASE_60F_C, IPTS_68_60F, degrees_from_60f
from fuelunits.fuels.grades import fuel as grade
from fuelunits.fuels.liquids import PetroleumProduct
from fuelunits.fuels.properties import ViscosityLine, viscosity
from fuelunits.meters import k_factor, viscosity_curve
from fuelunits.meters.counts import unwrap_counter
from fuelunits.quantities import read_text
from fuelunits.uncertainty import budget
from fuelunits.uncertainty.decisions import conformance_probability, global_risk, guard_band
from fuelunits.units import factor

_NUMBER = re.compile(r"-?[\d.]+(e-?\d+)?|inf")
_KG_M3_PER_G_ML = 1000.0
_ATMOSPHERE_PA = 101_325.0
_ZERO_C_K = 273.15

_UNITS: dict[str, Callable[[float], Any]] = {
    "degF": lambda degrees: BASE_60F_C if degrees == 60.0 else convert(degrees, "degF", "degC"),
    "psi": lambda psi: psi * editions.KPA_PER_PSI,
    # an example states -5 bar and computes with 0; less than a vacuum is refused by the library
    "bar": lambda bar: max(100.0 * bar, editions.VACUUM_KPA),
    "API": water_and_air.density_from_api_gravity,
    "RD": water_and_air.density_from_relative_density,
}
"""Units in which the 2004 standard prints the inputs of its worked examples, to °C, kPa and kg/m³."""
_COMMODITIES = {"crude": editions.CRUDE_OIL, "product": editions.REFINED_PRODUCTS, "lube": editions.LUBRICATING_OIL}
_TYPICAL = {"density": "800 kg/m^3", "base": "60 degF", "pressure": "0 psi", "commodity": "product", "per": "psi"}


def _si(text: str) -> float:
    number, unit = text.split()
    return float(_UNITS.get(unit, float)(float(number)))


def _worked(**printed: Any) -> dict[str, Any]:
    """Return every figure of a worked example of the 2004 standard."""
    of = _TYPICAL | printed
    base_c, t, p = (_si(of[each]) for each in ("base", "temperature", "pressure"))
    which: dict[str, Any] = {"base_c": base_c, "commodity": _COMMODITIES[of["commodity"]]}
    rho, degrees = _si(of["density"]), degrees_from_60f(t)
    if "observed" in of:
        observed = (_si(of[each]) for each in ("observed", "observed_at", "observed_pressure"))
        rho = correction.base_density(*observed, **which)
    if "alpha_per_f" in of:
        own = editions.given_expansion(1.0, of["alpha_per_f"])
        to_base = 1.0 if base_c == BASE_60F_C else own.ctl(degrees_from_60f(base_c))
        expansion = editions.given_expansion(rho / to_base, of["alpha_per_f"])
        by_t, per_kpa = expansion.ctl(degrees) / to_base, expansion.compressibility_per_kpa(degrees)
        by_p = 1.0 / (1.0 - per_kpa * p)
        both = by_t * by_p
    else:
        expansion = correction.base_of(2004, base_c, which["commodity"]).expansion(rho, "raise")
        by_t, both = correction.ctl(rho, t, **which), correction.ctpl(rho, t, p, **which)
        per_kpa, by_p = expansion.compressibility_per_kpa(degrees), both / by_t
    rounded = round(both, 5)
    return {
        "CTL": by_t,
        "CPL": by_p,
        "CTPL": both,
        "Fp": per_kpa * 1e5 * _si(f"1 {of['per']}"),
        "base density": rho,
        "density": rho * both,
        "density from rounded CTPL": rho * rounded,
        "volume from rounded CTPL": of.get("volume", 1.0) * rounded,
        "temperature on IPTS-68": degrees + IPTS_68_60F,
        "density at IPTS-68 60 degF": expansion.rho,
        "alpha at 60 degF": expansion.alpha,
    }


def _figure(name: str, **printed: Any) -> Any:
    return _worked(**printed)[name]


def recompute(topic: str, what: str, given: Mapping[str, str]) -> float:
    """Return our value of a published one, in the unit of its row, from its table, kind and inputs as printed."""
    try:
        recipe = RECIPES[topic][what]
    except KeyError:
        raise SourceError(f"{topic}.csv: there is no recipe for {what!r}; add one to RECIPES") from None
    return float(recipe(**{name: float(text) if _NUMBER.fullmatch(text) else text for name, text in given.items()}))


def _from_api(function: Callable[..., Any], api: float, temperature_f: float, **how: bool) -> Any:
    """Apply a function of the 1980 edition to an API gravity and a temperature, with the base of 60 °F."""
    density = water_and_air.density_from_api_gravity(api, edition=1980)
    return function(density, convert(temperature_f, "degF", "degC"), base_c=BASE_60F_C, edition=1980, **how)


def _observed(density: float, at_c: float, temperature_c: float, kg_m3_per_unit: float = 1.0) -> Any:
    return PetroleumProduct.observed(density * kg_m3_per_unit, at_c).density_kg_m3(temperature_c) / kg_m3_per_unit


def _crude_oil_per_gpa(density: float, temperature_c: float) -> Any:
    base = correction.base_density(density, temperature_c, commodity=editions.CRUDE_OIL)
    return 1e6 * editions.Expansion(0.0, base, editions.FROM_15C).compressibility_per_kpa(temperature_c - 15.0)


def _hefa_in_jet(jet: float, hefa: float, hefa_by_mass: float) -> Any:
    batches = grade("Jet A").measured(f"{jet} g/mL"), grade("HEFA-SPK").measured(f"{hefa} g/mL")
    mixed = blends.blend_by_mass(dict(zip(batches, (1.0 - hefa_by_mass, hefa_by_mass), strict=True)))
    return mixed.density_kg_m3(15.0) / _KG_M3_PER_G_ML


def _pure(liquid: str, temperature_c: float, pressure_pa: float = _ATMOSPHERE_PA, per: float = 1.0) -> Any:
    return pure.pure_liquid(liquid).density_kg_m3(temperature_c, (pressure_pa - _ATMOSPHERE_PA) / 1000.0) / per


def _typical(fuel: str, temperature_c: float = 15.0, unit: str = "lb/gal") -> Any:
    return grade(fuel).density_kg_m3(temperature_c) * factor("kg/m^3", unit)


def _mass(volume: str, density: str, to: str = "kg", less: str = "") -> Any:
    number, unit = read_text(volume)
    mass = convert(float(number), unit, to, density=density)
    return mass - _mass(volume, less, to) if less else mass


def _volume_to_add(needed: str, volume: str, density: str) -> Any:
    (mass, unit), (_, volume_unit) = read_text(needed), read_text(volume)
    return convert(float(mass) - _mass(volume, density, unit), unit, volume_unit, density=density)


def _dynamic_between(temperature_c: float, density: float, **point: float) -> Any:
    """Dynamic viscosity in mPa·s between two points, whose dynamic viscosity in mPa·s and density in g/mL are given."""
    ends = ((point[f"{end}_c"], point[f"{end}_mpa_s"] / point[f"{end}_g_ml"]) for end in ("first", "second"))
    line = ViscosityLine.through(*ends, source="the two points of the row")
    return density * line.kinematic_viscosity_mm2_s(temperature_c)


def _viscosity_of_blend(jet: float, hefa: float, hefa_by_mass: float) -> Any:
    """Kinematic viscosity at -20 °C; the second point of the lines, 1 mm²/s at 40 °C, has no part in it."""
    lines = [ViscosityLine.through((-20, nu), (40, 1.0), source="Vozka 2018", name=f"{nu}") for nu in (jet, hefa)]
    shares = dict(zip(lines, (1.0 - hefa_by_mass, hefa_by_mass), strict=True))
    return ViscosityLine.blended(shares).kinematic_viscosity_mm2_s(-20.0)


def _z_factor(temperature_c: float, pressure_pa: float, relative_humidity: float) -> Any:
    """Z, L/kg: a balance's reading times Z is the volume, with the water and the air at one temperature."""
    water = water_and_air.water_density_kg_m3(temperature_c)
    air = water_and_air.air_density_kg_m3(temperature_c, pressure_pa, relative_humidity)
    return 1000.0 * water_and_air.buoyancy_factor(water, air) / water


def _umath(name: str, value: Any) -> Any:
    from uncertainties import umath

    return getattr(umath, name)(value)


_LAWS: dict[str, Callable[..., Any]] = {
    "sum": lambda *parts: sum(parts),
    "product": lambda *factors: math.prod(factors),
    "end gauge": lambda ls, d, d1, d2, d3, theta, alpha, dalpha, dtheta: (
        ls + d + d1 + d2 + d3 - ls * (dalpha * theta + alpha * dtheta)
    ),
    "resistance": lambda voltage, current_ma, phase: 1000.0 * voltage / current_ma * _umath("cos", phase),
    "reactance": lambda voltage, current_ma, phase: 1000.0 * voltage / current_ma * _umath("sin", phase),
    "impedance": lambda voltage, current_ma, _: 1000.0 * voltage / current_ma,
    "deviation of a weight": lambda m, dm, air, weight, standard: (
        (m + dm) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 1e5
    ),
    "comparison loss": lambda x1, x2: 1e6 * (x1 * x1 + x2 * x2),
    "airspeed": lambda dp, p, t, r: (2.0 * dp * r * t / p) ** 0.5,
    "solution": lambda m, p, v, filling, warmth: 1000.0 * m * p / (v + filling + warmth),
}


def _input(name: str, text: Any) -> Any:
    """Read ``9.8 u 0.1 dof 18``, the degrees of freedom where they are few, or ``rect`` or ``tri`` and a half width."""
    if isinstance(text, float):
        return text
    shapes: dict[str, Callable[..., Any]]
    shapes = {"u": budget.uncertain, "rect": budget.rectangular, "tri": budget.triangular}
    value, shape, width, *dof = text.split()
    made = shapes[shape](float(value), float(width), name=name)
    return budget.uncertain(made.n, made.s, name=name, degrees_of_freedom=float(dof[1])) if dof else made


def means_of(observations: Mapping[str, Sequence[float]]) -> tuple[Any, ...]:
    """Return the means of quantities observed together, with n - 1 joint degrees of freedom [jcgm_100_2008, 5.2.3]."""
    data = np.array(list(observations.values()))
    means, count = dict(zip(observations, data.mean(axis=1).tolist(), strict=True)), data.shape[1]
    return budget.correlated_inputs(means, np.atleast_2d(np.cov(data)) / count, degrees_of_freedom=count - 1)


def _inputs(r: float = 0.0, **given: Any) -> tuple[Any, ...]:
    """Return inputs, those of observations made together such as ``5.007 4.994 5.005``, or correlated by `r`."""
    if all(isinstance(each, str) and set(each) <= set("0123456789. ") for each in given.values()):
        return means_of({name: [float(each) for each in text.split()] for name, text in given.items()})
    made = [_input(name, text) for name, text in given.items()]
    if r:
        first, second = made
        shared, values = r * first.s * second.s, dict(zip(given, (first.n, second.n), strict=True))
        return budget.correlated_inputs(values, [[first.s**2, shared], [shared, second.s**2]])
    return tuple(made)


def _result(law: str, **given: Any) -> Any:
    return _LAWS[law](*_inputs(**given))


def _expanded(probability: float, **given: Any) -> float:
    result = _result(**given)
    k = budget.student_t(probability, budget.effective_degrees_of_freedom(result))
    return k * budget.standard_uncertainty(result)


def _correlation(law: str, other: str, **given: Any) -> Any:
    from uncertainties import correlation_matrix

    inputs = _inputs(**given)
    return correlation_matrix([_LAWS[each](*inputs) for each in (law, other)])[0][1]


def _risk(answer: str, limit: float = 1.0, acceptance: float = 1.0, **of: float) -> float:
    """Return a risk in percent for symmetric limits, of acceptance a share of them; `conforming` is a percentage."""
    deviation = of.get("deviation") or limit / budget.student_t(of["conforming"] / 100.0, math.inf)
    ratio = of.get("uncertainty_ratio")
    u = 0.5 * limit / ratio if ratio else of.get("uncertainty") or deviation / of["spread_ratio"]
    edge = acceptance * limit
    risk = global_risk(0.0, deviation, u, limits=(-limit, limit), acceptance_limits=(-edge, edge))
    return 100.0 * float(getattr(risk, answer))


RECIPES: dict[str, dict[str, Callable[..., Any]]] = {
    "units": {"factor": lambda **units: factor(units["from"], units["to"])},
    "volume_correction_2004": {name: partial(_figure, name) for name in _worked(temperature="60 degF")},
    "volume_correction": {
        "VCF": lambda density, temperature_c, edition: correction.ctl(density, temperature_c, edition=int(edition)),
        "VCF from API gravity": lambda **given: _from_api(correction.ctl, **given),
        "API gravity at 60 degF from a hydrometer": lambda **given: water_and_air.api_gravity_from_density(
            _from_api(correction.base_density, glass_hydrometer=True, **given), edition=1980
        ),
        "density at 15 degC from a hydrometer": lambda density, temperature_c: correction.base_density(
            density, temperature_c, edition=1980, glass_hydrometer=True
        ),
        "expansion at 15 degC": lambda density: (
            1000.0 * correction.base_of(1980, 15.0, editions.REFINED_PRODUCTS).expansion(density, "raise").alpha
        ),
    },
    "compressibility": {"compressibility of crude oil": _crude_oil_per_gpa},
    "temperature_scale": {
        "T90 less T68": lambda t90_k: t90_k - convert(degrees_from_60f(t90_k - _ZERO_C_K) + IPTS_68_60F, "degF", "K")
    },
    "density_scales": {
        "relative density": lambda api: water_and_air.relative_density_from_density(_UNITS["API"](api)),
        "density at 60 degF": lambda api: _UNITS["API"](api),
    },
    "densities": {
        "density": _observed,
        "avgas in lb/gal": lambda **given: _observed(**given, kg_m3_per_unit=factor("lb/gal", "kg/m^3")),
    },
    "standard_weights": {
        "typical density": _typical,
        "fall of density from 15 to 30 degC": lambda fuel: _typical(fuel, 15.0) - _typical(fuel, 30.0),
        "lb/ft3 from lb/gal": lambda density: density * factor("lb/gal", "lb/ft3"),
    },
    "quantity_examples": {"mass": _mass, "volume to add": _volume_to_add},
    "water_and_air": {
        "water density": water_and_air.water_density_kg_m3,
        "air density": water_and_air.air_density_kg_m3,
        "conversion factor Z": _z_factor,
        "litres per tonne in air": lambda density: 1e6 * water_and_air.buoyancy_factor(density, 1.2) / density,
        "weight in air per true mass": lambda density: 1.0 / water_and_air.buoyancy_factor(density, 1.2),
    },
    "viscosity": {
        "kinematic viscosity": lambda fuel, temperature_c: viscosity(fuel).kinematic_viscosity_mm2_s(temperature_c),
        "dynamic viscosity between two points": _dynamic_between,
        "viscosity of HEFA-SPK in Jet A": _viscosity_of_blend,
    },
    "blends": {
        "blend of HEFA-SPK and Jet A": _hefa_in_jet,
        "ATJ-SPK by its own expansion": lambda temperature_c: _typical("ATJ-SPK", temperature_c, "g/mL"),
        "ATJ-SPK as if petroleum": lambda **given: _observed(**given, kg_m3_per_unit=_KG_M3_PER_G_ML),
        "FAME by the expansion of record EC10021": lambda density, at_c, temperature_c: (
            grade("FAME").measured(f"{density} g/mL", f"{at_c} degC", by="densitometer").density_kg_m3(temperature_c)
            / _KG_M3_PER_G_ML
        ),
    },
    "pure_liquids": {
        "density": _pure,
        "density in g/mL": lambda **given: _pure(**given, per=_KG_M3_PER_G_ML),
        "relative permittivity": lambda liquid, temperature_k: properties.permittivity_from_density(
            _pure(liquid, temperature_k - _ZERO_C_K), properties.polarizations()[liquid]
        ),
    },
    "pulse_train": {
        "counting resolution": lambda pulses: 100.0 * math.sqrt(6.0) * counted(int(pulses)).std_dev / pulses,
        "pulses for a resolution": lambda relative_percent: k_factor.pulses_for_resolution(relative_percent / 100.0),
        "difference of two readings": lambda **given: unwrap_counter(list(map(int, given.values())), bits=32).total,
        "Strouhal number": lambda frequency_hz, length_m, velocity_m_s: viscosity_curve.strouhal(
            frequency_hz, length_m, velocity_m_s * length_m**2
        ),
    },
    "coverage": {
        "Student's t": lambda dof, percent=0.0, within_k=0.0: budget.student_t(
            percent / 100.0 or budget.student_probability(within_k, math.inf), dof
        ),
        "probability within k": lambda k: budget.student_probability(k, math.inf),
    },
    "uncertainty": {
        "value": lambda **given: budget.nominal(_result(**given)),
        "standard uncertainty": lambda **given: budget.standard_uncertainty(_result(**given)),
        "degrees of freedom": lambda **given: budget.effective_degrees_of_freedom(_result(**given)),
        "expanded uncertainty": _expanded,
        "low end": lambda probability, **given: budget.nominal(_result(**given)) - _expanded(probability, **given),
        "high end": lambda probability, **given: budget.nominal(_result(**given)) + _expanded(probability, **given),
        "correlation": _correlation,
    },
    "decisions": {
        "conformance probability": conformance_probability,
        "specific risk": lambda **given: 100.0 * (1.0 - conformance_probability(**given)),
        "guard band": guard_band,
        "limit and guard band": lambda limit, **given: limit + guard_band(**given),
        "limit over one less the guard band": lambda limit, **given: limit / (1.0 - guard_band(**given)),
        **{
            each: partial(_risk, each.replace(" ", "_"))
            for each in ("false accept", "false reject", "false among accepted", "accepted", "conforming")
        },
    },
}
"""The function that works out each kind of value, by topic; a topic is a file ``<topic>.csv``."""
