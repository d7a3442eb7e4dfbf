"""Relative density and API gravity, and the correction of a glass hydrometer's reading.

Relative density is density at 60 °F over that of water at 60 °F; API gravity is 141.5/RD - 131.5. The editions differ
in the density of water: 999.016 kg/m³ (2004) and 999.012 kg/m³ (1980) [api_mpms_11_1_2004, astm_d1250_1980].
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fuelunits.arrays import any_of, as_float
from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.commodities import is_60f
from fuelunits.fuels.editions import edition_of
from fuelunits.fuels.elementwise import elementwise
from fuelunits.validation import plain_number


def _scaled(formula: Callable[[Any], Any], value: Any, limit: float, name: str) -> Any:
    """Return a formula of values that must lie above a limit."""

    def checked(number: Any) -> Any:
        if any_of(number <= limit):
            raise QuantityError(f"{name} must be above {limit:g}; got {number}")
        return formula(number)

    return elementwise(checked, value)


def relative_density_from_density(density_60f_kg_m3: Any, *, edition: int = 2004) -> Any:
    """Return the relative density (60/60 °F, dimensionless) of a density at 60 °F.

    Parameters
    ----------
    density_60f_kg_m3 : float or array, positive
    edition : int, the year that decides the density of water

    Examples
    --------
    >>> round(relative_density_from_density(800.0), 4)
    0.8008
    """
    water = edition_of(edition).water_60f_kg_m3
    return _scaled(lambda density: density / water, density_60f_kg_m3, 0.0, "density at 60 degF")


def density_from_relative_density(relative_density: Any, *, edition: int = 2004) -> Any:
    """Return the density at 60 °F, kg/m³, of a relative density (60/60 °F).

    Parameters
    ----------
    relative_density : float or array, positive
    edition : as for :func:`relative_density_from_density`

    Examples
    --------
    >>> round(density_from_relative_density(0.8), 2)
    799.21
    """
    water = edition_of(edition).water_60f_kg_m3
    return _scaled(lambda relative: relative * water, relative_density, 0.0, "relative density")


def density_from_api_gravity(api_gravity: Any, *, edition: int = 2004) -> Any:
    """Return the density at 60 °F, kg/m³, of an API gravity.

    Parameters
    ----------
    api_gravity : float or array, degrees API above -131.5
    edition : as for :func:`relative_density_from_density`

    Examples
    --------
    >>> round(density_from_api_gravity(45.0), 2)
    800.91
    """
    water = edition_of(edition).water_60f_kg_m3
    return _scaled(lambda api: 141.5 / (api + 131.5) * water, api_gravity, -131.5, "API gravity")


def api_gravity_from_density(density_60f_kg_m3: Any, *, edition: int = 2004) -> Any:
    """Return the API gravity, in degrees API, of a density at 60 °F.

    Parameters
    ----------
    density_60f_kg_m3, edition : as for :func:`relative_density_from_density`

    Examples
    --------
    >>> round(api_gravity_from_density(800.0), 2)
    45.2
    """
    water = edition_of(edition).water_60f_kg_m3
    return _scaled(lambda density: 141.5 / (density / water) - 131.5, density_60f_kg_m3, 0.0, "density at 60 degF")


def hydrometer_factor(temperature_c: Any, *, calibrated_c: float = 15.0) -> Any:
    """Return the factor that turns a glass hydrometer's reading into a density at its temperature.

    Warmer than its calibration, the glass has expanded and floats higher. Soda-lime glass, as in tables 5, 23 and 53 of
    ASTM D1250-80; recalled, and confirmed by printed values of tables 5B and 53B, which reproduce only with it.

    Parameters
    ----------
    temperature_c : float or array, of the liquid and the hydrometer
    calibrated_c : {15.0, 20.0, BASE_60F_C}, for which the hydrometer's scale was made, °C

    Examples
    --------
    >>> round(hydrometer_factor(30.0), 6)
    0.99965
    """
    t = as_float(temperature_c)
    calibrated_c = plain_number(calibrated_c, "calibrated_c")
    if is_60f(calibrated_c):
        above = 1.8 * t - 28.0
        return 1.0 - 0.00001278 * above - 0.0000000062 * above * above
    if calibrated_c not in (15.0, 20.0):
        raise FuelUnitsError(f"calibrated_c must be 15.0, 20.0 or BASE_60F_C (60 degF); got {calibrated_c}")
    above = t - calibrated_c
    return 1.0 - 0.000023 * above - 0.00000002 * above * above
