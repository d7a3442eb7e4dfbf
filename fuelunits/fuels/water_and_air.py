"""The bench's water and air: their densities, the buoyancy of what is weighed, and the scales that refer to water.

A balance reads true mass only in vacuum; in air it reads 0.1 % low for water and 0.14 % low for jet fuel. Relative
density is density at 60 °F over that of water at 60 °F, and API gravity is 141.5/RD - 131.5. The `edition`, a year,
decides the density of water: 999.016 kg/m³ (2004) or 999.012 (1980) [api_mpms_11_1_2004, astm_d1250_1980]. A
`density_60f_kg_m3`, `relative_density` or `api_gravity` is a float or an array.
"""

from __future__ import annotations

from typing import Any

from fuelunits.fuels import editions
from fuelunits.fuels.elementwise import elementwise
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.validation import boolean, exp, plain_number

_WATER_TEMPERATURES_C = Range("water temperature", 0.0, 40.0, "degC", "tanaka_2001")
_STRAIGHT = "a straight-line compressibility, which stays within 0.002 kg/m^3 of IAPWS-95"
_WATER_PRESSURES_KPA = Range("gauge pressure of water", -50.0, 1000.0, "kPa", _STRAIGHT)
_CIPM_2007 = "CIPM-2007 (15 to 27 degC), extended as far as it reproduces printed values: 10 to 30 degC"
_AIR_TEMPERATURES_C = Range("air temperature", 10.0, 30.0, "degC", _CIPM_2007)
_AIR_PRESSURES_PA = Range("air pressure", 60_000.0, 110_000.0, "Pa", "cipm_2007")
_HUMIDITIES = Range("relative humidity (0.5 for 50 %)", 0.0, 1.0, "as a fraction", "cipm_2007")
_CO2_FRACTIONS = Range("CO2 fraction (0.0004 for 400 ppm)", 0.0, 0.005, "mol/mol", "air that people work in")
_LIQUID_DENSITIES_KG_M3 = Range("liquid density", 400.0, 2000.0, "kg/m^3", "liquids that are weighed in a vessel")
_AIR_DENSITIES_KG_M3 = Range("air density", 0.6, 1.4, "kg/m^3", "air between 600 and 1100 hPa")
_WEIGHTS_KG_M3 = Range("density of the weights", 2600.0, 22_000.0, "kg/m^3", "metals of which weights are made")
_LIQUIDS = "scales of hydrometers for liquids (common practice)"
_DENSITIES_60F = Range("density at 60 degF", 300.0, 1990.0, "kg/m^3", _LIQUIDS)
_RELATIVE_DENSITIES = Range("relative density", 0.3, 2.0, "times that of water", _LIQUIDS)
_API_GRAVITIES = Range("API gravity", -61.0, 340.0, "degAPI", _LIQUIDS)


def water_density_kg_m3(
    temperature_c: Any,
    *,
    air_saturated: bool = False,
    gauge_pressure_kpa: Any = 0.0,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Return the density, kg/m³, of pure water of ordinary (ocean-like) isotopic composition.

    Tanaka et al., Metrologia 38 (2001) 301. Its correction for dissolved air is given for 0 to 25 °C; Jones and Harris
    (1992) use the same straight line to 40 °C, and so does this function (both limits from memory).

    Parameters
    ----------
    temperature_c : float or array, 0 to 40 °C on ITS-90
    air_saturated : bool, whether it stood open to air and was not boiled since: up to 0.005 kg/m³ lighter
    gauge_pressure_kpa : float or array, above 101.325 kPa: -50 to 1000; broadcasts
    out_of_range : {"raise", "nan"}

    Examples
    --------
    >>> round(water_density_kg_m3(20.0), 4), round(water_density_kg_m3(20.0, air_saturated=True), 4)
    (998.2067, 998.2043)
    """

    def density(t: Any, p: Any) -> Any:
        t, p = _WATER_TEMPERATURES_C.check(t, out_of_range), _WATER_PRESSURES_KPA.check(p, out_of_range)
        air_free = 999.974950 * (1.0 - (t - 3.983035) * (t - 3.983035) * (t + 301.797) / (522528.9 * (t + 69.34881)))
        dissolved_air = -4.612e-3 + 0.106e-3 * t if boolean(air_saturated, "air_saturated") else 0.0
        return (air_free + dissolved_air) * (1.0 + (50.74 - 0.326 * t + 0.00416 * t * t) * 1e-8 * p)  # by the pressure

    return elementwise(density, temperature_c, gauge_pressure_kpa)


def air_density_kg_m3(
    temperature_c: Any,
    pressure_pa: Any,
    relative_humidity: Any,
    *,
    co2_fraction: Any = 0.0004,
    out_of_range: OnOutOfRange = "raise",
) -> Any:
    """Return the density, kg/m³, of moist air, for the correction of weighings.

    CIPM-2007: Picard et al., Metrologia 45 (2008) 149, equation 1 and appendix A. It is meant for 15 to 27 °C, and
    used as far as it reproduces print: a value of Gupta's Mass Metrology at 10 °C, the table of ISO 8655-6 to 30 °C.

    Parameters
    ----------
    temperature_c : float or array, 10 to 30 °C
    pressure_pa : float or array, absolute where the balance stands, Pa: 60 000 to 110 000, not reduced to sea level
    relative_humidity : float or array, a fraction from 0 to 1
    co2_fraction : float or array, by mole, 0 to 0.005; each 0.0001 changes the density by 4e-5 relative
    out_of_range : {"raise", "nan"}

    Examples
    --------
    >>> round(air_density_kg_m3(20.0, 101_325.0, 0.5), 4)
    1.1993
    """

    def density(t: Any, p: Any, humidity: Any, co2: Any) -> Any:
        t, p = _AIR_TEMPERATURES_C.check(t, out_of_range), _AIR_PRESSURES_PA.check(p, out_of_range)
        kelvin = t + 273.15
        # mole fraction of water vapour: saturation pressure, enhancement factor (A.1.1, A.1.2), humidity
        saturated_pa = exp(1.2378847e-5 * kelvin * kelvin - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin)
        saturated = (1.00062 + 3.14e-8 * p + 5.6e-7 * t * t) * saturated_pa / p
        vapour = _HUMIDITIES.check(humidity, out_of_range) * saturated
        dry_air_kg_mol = (28.96546 + 12.011 * (_CO2_FRACTIONS.check(co2, out_of_range) - 0.0004)) * 1e-3
        moist_air_kg_mol = dry_air_kg_mol - vapour * (dry_air_kg_mol - 18.01528e-3)
        # Z, by how much moist air departs from an ideal gas (A.1.4)
        p_over_t, first = p / kelvin, 1.58123e-6 + (-2.9331e-8 + 1.1043e-10 * t) * t
        first = first + (5.707e-6 - 2.051e-8 * t) * vapour + (1.9898e-4 - 2.376e-6 * t) * vapour * vapour
        z = 1.0 - p_over_t * first + p_over_t * p_over_t * (1.83e-11 - 0.765e-8 * vapour * vapour)
        return p * moist_air_kg_mol / (z * 8.314472 * kelvin)

    return elementwise(density, temperature_c, pressure_pa, relative_humidity, co2_fraction)


def buoyancy_factor(liquid_density_kg_m3: Any, air_density_kg_m3: Any, weights_density_kg_m3: Any = 8000.0) -> Any:
    """Return the factor from a balance's reading to true mass.

    Archimedes on both sides of the balance: (1 - air/weights) / (1 - air/liquid), the form of NISTIR 6969, SOP 2.

    Parameters
    ----------
    liquid_density_kg_m3 : float or array, of what is weighed: 400 to 2000
    air_density_kg_m3 : float or array, around the balance: 0.6 to 1.4
    weights_density_kg_m3 : float or array, for which the balance was calibrated: by convention 8000 (OIML D 28)

    Examples
    --------
    >>> round(buoyancy_factor(800.0, 1.2), 6)
    1.001352
    """

    def factor(liquid: Any, air: Any, weights: Any) -> Any:
        liquid, air = _LIQUID_DENSITIES_KG_M3.check(liquid), _AIR_DENSITIES_KG_M3.check(air)
        return (1.0 - air / _WEIGHTS_KG_M3.check(weights)) / (1.0 - air / liquid)

    return elementwise(factor, liquid_density_kg_m3, air_density_kg_m3, weights_density_kg_m3)


def relative_density_from_density(density_60f_kg_m3: Any, *, edition: int = 2004) -> Any:
    """Return the relative density (60/60 °F, dimensionless) of a density at 60 °F, 300 to 1990 kg/m³.

    Examples
    --------
    >>> round(relative_density_from_density(800.0), 4)
    0.8008
    """
    water = editions.edition_of(edition).water_60f_kg_m3
    return elementwise(lambda density: _DENSITIES_60F.check(density) / water, density_60f_kg_m3)


def density_from_relative_density(relative_density: Any, *, edition: int = 2004) -> Any:
    """Return the density at 60 °F, kg/m³, of a relative density (60/60 °F), 0.3 to 2.

    Examples
    --------
    >>> round(density_from_relative_density(0.8), 2)
    799.21
    """
    water = editions.edition_of(edition).water_60f_kg_m3
    return elementwise(lambda relative: _RELATIVE_DENSITIES.check(relative) * water, relative_density)


def density_from_api_gravity(api_gravity: Any, *, edition: int = 2004) -> Any:
    """Return the density at 60 °F, kg/m³, of an API gravity, -61 to 340 degrees API.

    Examples
    --------
    >>> round(density_from_api_gravity(45.0), 2)
    800.91
    """
    water = editions.edition_of(edition).water_60f_kg_m3
    return elementwise(lambda api: 141.5 / (_API_GRAVITIES.check(api) + 131.5) * water, api_gravity)


def api_gravity_from_density(density_60f_kg_m3: Any, *, edition: int = 2004) -> Any:
    """Return the API gravity, in degrees API, of a density at 60 °F, 300 to 1990 kg/m³.

    Examples
    --------
    >>> round(api_gravity_from_density(800.0), 2)
    45.2
    """
    return 141.5 / relative_density_from_density(density_60f_kg_m3, edition=edition) - 131.5


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
    calibrated_c = editions.standard_temperature_c(plain_number(calibrated_c, "calibrated_c"), "calibrated_c")
    in_f = calibrated_c == editions.BASE_60F_C
    first, second = (0.00001278, 0.0000000062) if in_f else (0.000023, 0.00000002)

    def factor(t: Any) -> Any:
        t = editions.TEMPERATURES_C.check(t)
        above = 1.8 * t - 28.0 if in_f else t - calibrated_c
        return 1.0 - first * above - second * above * above

    return elementwise(factor, temperature_c)


SCALES = {"api_gravity": density_from_api_gravity, "relative_density": density_from_relative_density}
