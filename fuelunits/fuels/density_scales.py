"""Densities on the scales of the trade, and the glass of a hydrometer.

Relative density is density at 60 °F over that of water at 60 °F, and API gravity is 141.5/RD - 131.5. The `edition`, a
year, decides the density of water: 999.016 kg/m³ (2004) or 999.012 (1980) [api_mpms_11_1_2004, astm_d1250_1980]. A
`density_60f_kg_m3`, `relative_density` or `api_gravity` is a float or an array.
"""

from __future__ import annotations

from typing import Any

from fuelunits.fuels import editions
from fuelunits.fuels.elementwise import elementwise
from fuelunits.sources import Range
from fuelunits.validation import plain_number

_LIQUIDS = "scales of hydrometers for liquids (common practice)"
_DENSITIES_60F = Range("density at 60 degF", 300.0, 1990.0, "kg/m^3", _LIQUIDS)
_RELATIVE_DENSITIES = Range("relative density", 0.3, 2.0, "times that of water", _LIQUIDS)
_API_GRAVITIES = Range("API gravity", -61.0, 340.0, "degAPI", _LIQUIDS)


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
    water = editions.edition_of(edition).water_60f_kg_m3
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
    calibrated_c = editions.standard_temperature_c(plain_number(calibrated_c, "calibrated_c"), "calibrated_c")
    in_f = calibrated_c == editions.BASE_60F_C
    first, second = (0.00001278, 0.0000000062) if in_f else (0.000023, 0.00000002)

    def factor(t: Any) -> Any:
        t = editions.TEMPERATURES_C.check(t)
        above = 1.8 * t - 28.0 if in_f else t - calibrated_c
        return 1.0 - first * above - second * above * above

    return elementwise(factor, temperature_c)


SCALES = {"api_gravity": density_from_api_gravity, "relative_density": density_from_relative_density}
