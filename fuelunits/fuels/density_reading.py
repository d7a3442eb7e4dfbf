"""A density as it was read: on a glass hydrometer, on an oscillating tube, or on a certificate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np

from fuelunits.errors import FuelUnitsError, QuantityError
from fuelunits.fuels.density_scales import (
    BASE_60F_C,
    density_from_api_gravity,
    density_from_relative_density,
    hydrometer_factor,
)
from fuelunits.fuels.edition_2004 import GAUGE_PRESSURES_KPA
from fuelunits.quantities import fraction, is_quantity, positive, read_text, temperature_c
from fuelunits.ranges import Range
from fuelunits.reports import Report, Reporting
from fuelunits.validation import plain_number

__all__ = ["By", "Reading", "read"]

By = Literal["hydrometer", "densitometer", "certificate"]

_BASE_C = 15.0
_CALIBRATIONS_C = (15.0, 20.0, BASE_60F_C)

_SAME_C = 0.006
"""Closer than this, a calibration temperature is the one meant."""

_DENSITIES = Range("density read", 500.0, 1200.0, "kg/m^3", "liquids that are burnt as fuel (common practice)")


@dataclass(frozen=True, repr=False)
class Reading(Reporting):
    """A density that was read, and what makes it a true one.

    Attributes
    ----------
    by : {"hydrometer", "densitometer", "certificate"}
        What it was read on.
    as_given : str
        The reading as it was given.
    kg_m3 : float
        The reading as a density, uncorrected.
    at_c, gauge_pressure_kpa : float
        Temperature of the fuel, and pressure above atmospheric, when it was read.
    calibrated_at_c : float or None
        Temperature for which a glass hydrometer's scale was made; None for anything else.
    standard_uncertainty_kg_m3 : float or None
        Its standard uncertainty, where one was given.
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
    density: Any = None,
    at: Any = None,
    *,
    by: By = "certificate",
    api_gravity: float | None = None,
    relative_density: float | None = None,
    calibrated_at: Any = None,
    gauge_pressure: Any = None,
    uncertainty: Any = None,
) -> Reading:
    """Return a reading; the arguments are those of :func:`fuelunits.fuels.batches.measure`.

    Examples
    --------
    >>> print(read(api_gravity=40.5, at="28 degC", by="hydrometer").report().title)
    API gravity 40.5 by hydrometer at 28 °C: 821.86 kg/m³, times 0.999711 for glass made for 15.56 °C
    """
    if by not in get_args(By):
        raise FuelUnitsError(
            f"by is {by!r}; write 'hydrometer' (of glass), 'densitometer' (oscillating tube) or 'certificate'"
        )
    as_given, kg_m3, at_60f = _as_density(density, api_gravity, relative_density)
    pressure = 0.0 if gauge_pressure is None else positive(gauge_pressure, "kPa", name="gauge_pressure", zero=True)
    return Reading(
        by=by,
        as_given=as_given,
        kg_m3=float(_DENSITIES.check(kg_m3)),
        at_c=_one(_at_c(at, by, at_60f), "at"),
        gauge_pressure_kpa=float(GAUGE_PRESSURES_KPA.check(_one(pressure, "gauge_pressure"))),
        calibrated_at_c=_calibrated_c(calibrated_at, by, at_60f),
        standard_uncertainty_kg_m3=_uncertainty_kg_m3(uncertainty, kg_m3),
    )


def _as_density(density: Any, api_gravity: Any, relative_density: Any) -> tuple[str, float, bool]:
    """Return the reading as it was given, as a density, and whether its scale is one at 60 °F."""
    if sum(given is not None for given in (density, api_gravity, relative_density)) != 1:
        raise QuantityError('give one of density="0.812 kg/L", api_gravity=42.6 and relative_density=0.8128')
    if density is not None:
        kg_m3 = _one(positive(density, "kg/m^3", name="density"), "density")
        return str(density), kg_m3, False
    if api_gravity is not None:
        number = _plain(api_gravity, "api_gravity")
        return f"API gravity {number:g}", float(density_from_api_gravity(number)), True
    number = _plain(relative_density, "relative_density")
    return f"relative density {number:g}", float(density_from_relative_density(number)), True


def _plain(value: Any, name: str) -> float:
    return _one(plain_number(value, name), name)


def _one(value: Any, name: str) -> float:
    if np.ndim(value) or not np.isfinite(value):
        raise QuantityError(f"{name}: {value} is not one finite number; a batch is measured once")
    return float(value)


def _at_c(at: Any, by: str, at_60f: bool) -> Any:
    if at is not None:
        return temperature_c(at, name="at")
    if by != "certificate":
        raise QuantityError(f'at: a {by} reading needs the temperature of the fuel; write at="22 degC", for example')
    return BASE_60F_C if at_60f else _BASE_C


def _calibrated_c(calibrated_at: Any, by: str, at_60f: bool) -> float | None:
    if by != "hydrometer":
        if calibrated_at is not None:
            raise FuelUnitsError(f"calibrated_at is that of a glass hydrometer; leave it out for a {by}")
        return None
    if calibrated_at is None:
        return BASE_60F_C if at_60f else _BASE_C
    given = _one(temperature_c(calibrated_at, name="calibrated_at"), "calibrated_at")
    for standard in _CALIBRATIONS_C:
        if abs(given - standard) < _SAME_C:
            return standard
    raise QuantityError(f"calibrated_at: {calibrated_at}; hydrometers are made for 15 degC, 20 degC or 60 degF")


def _uncertainty_kg_m3(uncertainty: Any, density_kg_m3: float) -> float | None:
    if uncertainty is None:
        return None
    if isinstance(uncertainty, str):
        relative = read_text(uncertainty)[1] in ("%", "percent")
    else:
        relative = is_quantity(uncertainty) and bool(uncertainty.is_compatible_with("dimensionless"))
    if relative:
        return _one(fraction(uncertainty, name="uncertainty") * density_kg_m3, "uncertainty")
    return _one(positive(uncertainty, "kg/m^3", name="uncertainty", zero=True), "uncertainty")
