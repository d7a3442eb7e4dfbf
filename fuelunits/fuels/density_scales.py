"""A density on the scales of the trade, and as it was read: on a hydrometer, an oscillating tube or a certificate.

Relative density is density at 60 °F over that of water at 60 °F; API gravity is 141.5/RD - 131.5. The `edition`, a
year, decides the density of water: 999.016 kg/m³ (2004) or 999.012 (1980) [api_mpms_11_1_2004, astm_d1250_1980]. A
`density_60f_kg_m3`, `relative_density` or `api_gravity` is a float or an array.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, get_args

from fuelunits.conversion import DENSITIES, density_kg_m3
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.editions import BASE_60F_C, GAUGE_PRESSURES_KPA, TEMPERATURES_C, edition_of, standard_temperature_c
from fuelunits.fuels.elementwise import elementwise
from fuelunits.quantities import fraction, is_ratio, positive, temperature_c
from fuelunits.reports import Report, Reporting
from fuelunits.sources import Range
from fuelunits.validation import finite_number, plain_number, positive_number

_LIQUIDS = "scales of hydrometers for liquids (common practice)"
_DENSITIES_60F = Range("density at 60 degF", 300.0, 1990.0, "kg/m^3", _LIQUIDS)
_RELATIVE_DENSITIES = Range("relative density", 0.3, 2.0, "times that of water", _LIQUIDS)
_API_GRAVITIES = Range("API gravity", -61.0, 340.0, "degAPI", _LIQUIDS)

UNSTATED_KG_M3 = 5.0
"""Allowed for near a limit where no uncertainty was stated: a hydrometer with a thermometer 5 °C off."""


def relative_density_from_density(density_60f_kg_m3: Any, *, edition: int = 2004) -> Any:
    """Return the relative density (60/60 °F, dimensionless) of a density at 60 °F, 300 to 1990 kg/m³.

    Examples
    --------
    >>> round(relative_density_from_density(800.0), 4)
    0.8008
    """
    water = edition_of(edition).water_60f_kg_m3
    return elementwise(lambda density: _DENSITIES_60F.check(density) / water, density_60f_kg_m3)


def density_from_relative_density(relative_density: Any, *, edition: int = 2004) -> Any:
    """Return the density at 60 °F, kg/m³, of a relative density (60/60 °F), 0.3 to 2.

    Examples
    --------
    >>> round(density_from_relative_density(0.8), 2)
    799.21
    """
    water = edition_of(edition).water_60f_kg_m3
    return elementwise(lambda relative: _RELATIVE_DENSITIES.check(relative) * water, relative_density)


def density_from_api_gravity(api_gravity: Any, *, edition: int = 2004) -> Any:
    """Return the density at 60 °F, kg/m³, of an API gravity, -61 to 340 degrees API.

    Examples
    --------
    >>> round(density_from_api_gravity(45.0), 2)
    800.91
    """
    water = edition_of(edition).water_60f_kg_m3
    return elementwise(lambda api: 141.5 / (_API_GRAVITIES.check(api) + 131.5) * water, api_gravity)


def api_gravity_from_density(density_60f_kg_m3: Any, *, edition: int = 2004) -> Any:
    """Return the API gravity, in degrees API, of a density at 60 °F, 300 to 1990 kg/m³.

    Examples
    --------
    >>> round(api_gravity_from_density(800.0), 2)
    45.2
    """
    water = edition_of(edition).water_60f_kg_m3
    return elementwise(lambda density: 141.5 / (_DENSITIES_60F.check(density) / water) - 131.5, density_60f_kg_m3)


def hydrometer_factor(temperature_c: Any, *, calibrated_c: float = 15.0) -> Any:
    """Return the factor that turns a glass hydrometer's reading into a density at its temperature.

    Of soda-lime glass, as in tables 5, 23 and 53 of ASTM D1250-80: recalled, and confirmed by values of 5B and 53B.

    Parameters
    ----------
    temperature_c : float or array, of the liquid and the hydrometer, -50 to 150
    calibrated_c : {15.0, 20.0, BASE_60F_C}, for which the hydrometer's scale was made, °C

    Examples
    --------
    >>> round(hydrometer_factor(30.0), 6)
    0.99965
    """
    calibrated_c = standard_temperature_c(plain_number(calibrated_c, "calibrated_c"), "calibrated_c")
    in_f = calibrated_c == BASE_60F_C
    first, second = (0.00001278, 0.0000000062) if in_f else (0.000023, 0.00000002)

    def factor(t: Any) -> Any:
        t = TEMPERATURES_C.check(t)
        above = 1.8 * t - 28.0 if in_f else t - calibrated_c
        return 1.0 - first * above - second * above * above

    return elementwise(factor, temperature_c)


SCALES = {"api_gravity": density_from_api_gravity, "relative_density": density_from_relative_density}

By = Literal["hydrometer", "densitometer", "certificate"]


@dataclass(frozen=True, repr=False)
class Reading(Reporting):
    """A density that was read, uncorrected, at °C and kPa above atmospheric; with the scale of glass at °C."""

    by: By
    as_given: str
    kg_m3: float
    at_c: float
    gauge_pressure_kpa: float
    calibrated_at_c: float | None
    standard_uncertainty_kg_m3: float | None
    _plain = ("glass_factor", "density_kg_m3")

    def __post_init__(self) -> None:
        DENSITIES.check(positive_number(self.kg_m3, "density read, in kg/m^3,", example=805.0))
        finite_number(self.at_c, "at_c")
        finite_number(self.gauge_pressure_kpa, "gauge_pressure_kpa")
        positive_number(self.standard_uncertainty_kg_m3 or 0.0, "standard uncertainty", zero=True)
        if self.doubt_kg_m3 >= self.kg_m3:
            raise QuantityError(
                f"uncertainty: {self.standard_uncertainty_kg_m3:g} kg/m³ is no less than half the density"
            )

    @property
    def glass_factor(self) -> float:
        """The factor from the reading to the density at its temperature; 1 unless glass was read."""
        glass_c = self.calibrated_at_c
        return 1.0 if glass_c is None else float(hydrometer_factor(self.at_c, calibrated_c=glass_c))

    @property
    def density_kg_m3(self) -> float:
        """True density at the temperature and pressure of the reading, kg/m³."""
        return self.kg_m3 * self.glass_factor

    @property
    def doubt_kg_m3(self) -> float:
        """Twice the standard uncertainty, or what is allowed for where none, or zero, was stated, kg/m³."""
        return 2.0 * (self.standard_uncertainty_kg_m3 or 0.0) or UNSTATED_KG_M3

    def report(self) -> Report:
        pressure = f", {self.gauge_pressure_kpa:g} kPa above atmospheric" if self.gauge_pressure_kpa else ""
        text = f"{self.as_given} by {self.by} at {self.at_c:.4g} °C{pressure}: {self.kg_m3:.2f} kg/m³"
        if self.calibrated_at_c is not None:
            text += f", times {self.glass_factor:.6f} for glass made for {self.calibrated_at_c:.4g} °C"
        if self.standard_uncertainty_kg_m3 is not None:
            text += f", standard uncertainty {self.standard_uncertainty_kg_m3:.2g} kg/m³"
        return Report(text)


def read(given: dict[str, Any], at: Any, by: By, calibrated_at: Any, gauge_pressure: Any, uncertainty: Any) -> Reading:
    """Return a reading of the one of density, api_gravity and relative_density that is given, as ``Fuel.measured``."""
    if by not in get_args(By):
        meant = "'hydrometer' (of glass), 'densitometer' (oscillating tube) or 'certificate'"
        raise FuelUnitsError(f"by is {by!r}; write {meant}")
    read = [(scale, value) for scale, value in given.items() if value is not None]
    if len(read) != 1:
        raise QuantityError('give one of density="0.812 kg/L", api_gravity=42.6 and relative_density=0.8128')
    scale, value = read[0]
    if scale == "density":
        kg_m3, as_given, scale_c = float(density_kg_m3(value)), str(value), 15.0
    else:
        number, name = finite_number(value, scale), scale.replace("_", " ").replace("api", "API")
        kg_m3, as_given, scale_c = float(SCALES[scale](number)), f"{name} {number:g}", BASE_60F_C
    if at is None and by != "certificate":
        raise QuantityError(f'at: a {by} reading needs the temperature of the fuel; write at="22 degC", for example')
    if calibrated_at is not None and by != "hydrometer":
        raise FuelUnitsError(f"calibrated_at is that of a glass hydrometer; leave it out for a {by}")
    glass_c = scale_c if calibrated_at is None else _one_c(calibrated_at, "calibrated_at")
    pressure = 0.0 if gauge_pressure is None else positive(gauge_pressure, "kPa", name="gauge_pressure", zero=True)
    given_kg_m3 = None
    if uncertainty is not None and is_ratio(uncertainty):
        given_kg_m3 = fraction(uncertainty, name="uncertainty") * kg_m3
    elif uncertainty is not None:
        given_kg_m3 = finite_number(positive(uncertainty, "kg/m^3", name="uncertainty", zero=True), "uncertainty")
    return Reading(
        by=by,
        as_given=as_given,
        kg_m3=kg_m3,
        at_c=scale_c if at is None else _one_c(at, "at"),
        gauge_pressure_kpa=float(GAUGE_PRESSURES_KPA.check(finite_number(pressure, "gauge_pressure"))),
        calibrated_at_c=standard_temperature_c(glass_c, "calibrated_at") if by == "hydrometer" else None,
        standard_uncertainty_kg_m3=given_kg_m3,
    )


def _one_c(temperature: Any, name: str) -> float:
    return finite_number(temperature_c(temperature, name=name), name)
