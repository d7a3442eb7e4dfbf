"""A density as it was read: on a glass hydrometer, on an oscillating tube, or on a certificate.

A hydrometer of glass expands with its temperature, so its reading is multiplied by a factor (API MPMS 11.1).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Any, Literal, get_args

from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.acceptance import UNSTATED_KG_M3
from fuelunits.fuels.commodities import BASE_60F_C
from fuelunits.fuels.density_scales import density_from_api_gravity, density_from_relative_density, hydrometer_factor
from fuelunits.fuels.edition_2004 import GAUGE_PRESSURES_KPA
from fuelunits.quantities import fraction, is_ratio, positive, temperature_c
from fuelunits.reports import Report, Reporting
from fuelunits.sources import Range
from fuelunits.validation import plain_number

By = Literal["hydrometer", "densitometer", "certificate"]

_CALIBRATIONS_C = (15.0, 20.0, BASE_60F_C)
DENSITIES = Range("density read", 500.0, 1200.0, "kg/m^3", "liquids that are burnt as fuel (common practice)")


@dataclass(frozen=True, repr=False)
class Reading(Reporting):
    """A density that was read, kg/m³ and uncorrected, at °C and at kPa above atmospheric.

    ``calibrated_at_c`` is the temperature of a glass hydrometer's scale, None for anything else.
    """

    by: By
    as_given: str
    kg_m3: float
    at_c: float
    gauge_pressure_kpa: float
    calibrated_at_c: float | None
    standard_uncertainty_kg_m3: float | None

    _plain = ("glass_factor", "density_kg_m3")

    @property
    def glass_factor(self) -> float:
        """The factor from the reading to the density at its temperature; 1 unless glass was read."""
        if self.calibrated_at_c is None:
            return 1.0
        return float(hydrometer_factor(self.at_c, calibrated_c=self.calibrated_at_c))

    @property
    def density_kg_m3(self) -> float:
        """True density at the temperature and pressure of the reading, kg/m³."""
        return self.kg_m3 * self.glass_factor

    def remarks(self) -> tuple[str, ...]:
        """Return what must be said wherever the reading decides."""
        unstated = f"no uncertainty was stated; {UNSTATED_KG_M3:g} kg/m³ was allowed for (common practice)"
        return () if self.standard_uncertainty_kg_m3 else (unstated,)

    def report(self) -> Report:
        """Return the reading in one line: what was read, at which temperature, and what corrects it."""
        pressure = f", {self.gauge_pressure_kpa:g} kPa above atmospheric" if self.gauge_pressure_kpa else ""
        text = f"{self.as_given} by {self.by} at {self.at_c:.4g} °C{pressure}: {self.kg_m3:.2f} kg/m³"
        if self.calibrated_at_c is not None:
            text += f", times {self.glass_factor:.6f} for glass made for {self.calibrated_at_c:.4g} °C"
        if self.standard_uncertainty_kg_m3 is not None:
            text += f", standard uncertainty {self.standard_uncertainty_kg_m3:.2g} kg/m³"
        return Report(text)


def read(
    density: Any, at: Any, by: By, on_scale: tuple[Any, Any], calibrated_at: Any, gauge_pressure: Any, uncertainty: Any
) -> Reading:
    """Return a reading of a density, or of an API gravity or relative density; arguments as of ``Fuel.measured``."""
    if by not in get_args(By):
        meant = "'hydrometer' (of glass), 'densitometer' (oscillating tube) or 'certificate'"
        raise FuelUnitsError(f"by is {by!r}; write {meant}")
    as_given, kg_m3 = _as_density(density, *on_scale)
    scale_c = 15.0 if density is not None else BASE_60F_C
    if at is None and by != "certificate":
        raise QuantityError(f'at: a {by} reading needs the temperature of the fuel; write at="22 degC", for example')
    at_c = scale_c if at is None else _one(temperature_c(at, name="at"), "at")
    pressure = 0.0 if gauge_pressure is None else positive(gauge_pressure, "kPa", name="gauge_pressure", zero=True)
    return Reading(
        by=by,
        as_given=as_given,
        kg_m3=float(DENSITIES.check(kg_m3)),
        at_c=at_c,
        gauge_pressure_kpa=float(GAUGE_PRESSURES_KPA.check(_one(pressure, "gauge_pressure"))),
        calibrated_at_c=_calibrated_c(calibrated_at, by, scale_c),
        standard_uncertainty_kg_m3=_uncertainty_kg_m3(uncertainty, kg_m3),
    )


def _as_density(density: Any, api_gravity: Any, relative_density: Any) -> tuple[str, float]:
    """Return the reading as it was given, and as a density."""
    if sum(given is not None for given in (density, api_gravity, relative_density)) != 1:
        raise QuantityError('give one of density="0.812 kg/L", api_gravity=42.6 and relative_density=0.8128')
    if density is not None:
        kg_m3 = _one(positive(density, "kg/m^3", name="density"), "density")
        return str(density), kg_m3
    if api_gravity is not None:
        number = _one(plain_number(api_gravity, "api_gravity"), "api_gravity")
        return f"API gravity {number:g}", float(density_from_api_gravity(number))
    number = _one(plain_number(relative_density, "relative_density"), "relative_density")
    return f"relative density {number:g}", float(density_from_relative_density(number))


def _one(value: Any, name: str) -> float:
    if getattr(value, "ndim", 0) or not isfinite(value):
        raise QuantityError(f"{name}: {value} is not one finite number; a batch is measured once")
    return float(value)


def _calibrated_c(calibrated_at: Any, by: str, scale_c: float) -> float | None:
    if by != "hydrometer":
        if calibrated_at is not None:
            raise FuelUnitsError(f"calibrated_at is that of a glass hydrometer; leave it out for a {by}")
        return None
    name = "calibrated_at"
    given_c = scale_c if calibrated_at is None else _one(temperature_c(calibrated_at, name=name), name)
    for standard_c in _CALIBRATIONS_C:
        if abs(given_c - standard_c) < 0.006:
            return standard_c
    raise QuantityError(f"calibrated_at: {calibrated_at}; hydrometers are made for 15 degC, 20 degC or 60 degF")


def _uncertainty_kg_m3(uncertainty: Any, density_kg_m3: float) -> float | None:
    if uncertainty is None:
        return None
    if is_ratio(uncertainty):
        return _one(fraction(uncertainty, name="uncertainty") * density_kg_m3, "uncertainty")
    return _one(positive(uncertainty, "kg/m^3", name="uncertainty", zero=True), "uncertainty")
