"""The points of a calibration: K at some flows, and the figures by which the standards describe them."""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import inf
from typing import Any

import numpy as np

from fuelunits.arrays import as_float
from fuelunits.errors import QuantityError
from fuelunits.meters.k_factor import k_factor_of
from fuelunits.meters.rates import positive_floats
from fuelunits.pint_units import first_quantity
from fuelunits.quantities import fraction, positive
from fuelunits.quantities import temperature_c as celsius
from fuelunits.uncertainty.budget import round_to_uncertainty
from fuelunits.validation import coerce_fields, plain_array, plain_number, positive_number


def mean_k(k_values: Any) -> float:
    """Return the mean K of a calibration, (Kmax + Kmin)/2, which halves the largest error.

    ISA-RP31.1 [isa_rp31_1], recalled.

    Parameters
    ----------
    k_values : array, K at the calibrated flows, in any unit; at least two

    Examples
    --------
    >>> mean_k([11250.0, 11430.0, 11400.0])
    11340.0
    """
    low, high = _extremes(k_values, "K")
    return (high + low) / 2.0


def linearity(k_values: Any) -> float:
    """Return the linearity of a calibration, (Kmax - Kmin)/(Kmax + Kmin): how far K lies from the mean K at most.

    A fraction to be read with ± before it: 0.005 is ±0.5 %. ISA-RP31.1 [isa_rp31_1], recalled.

    Parameters
    ----------
    k_values : array, K at the calibrated flows, in any unit; at least two

    Examples
    --------
    >>> round(linearity([11250.0, 11430.0, 11400.0]), 5)
    0.00794
    """
    low, high = _extremes(k_values, "K")
    return (high - low) / (high + low)


def repeatability(values: Any) -> float:
    """Return the repeatability of runs at one flow, (max - min)/min, a fraction: their spread relative to the lowest.

    API MPMS 4.8 [api_mpms_4_8], recalled.

    Parameters
    ----------
    values : array, K, meter factors or pulses of repeated runs at the same flow, in any unit; at least two

    Examples
    --------
    >>> repeatability([10000.0, 10004.0, 10005.0])
    0.0005
    """
    low, high = _extremes(values, "repeated run")
    return (high - low) / low


def _extremes(values: Any, name: str) -> tuple[float, float]:
    array = positive_floats(plain_array(as_float(values), name), name)
    if np.size(array) < 2:
        raise QuantityError(f"{name}: a spread takes at least two values; got {np.size(array)}")
    return float(np.min(array)), float(np.max(array))


@dataclass(frozen=True)
class CalibrationPoint:
    """K as found at one flow.

    Parameters
    ----------
    frequency_hz : float, pulse frequency, Hz
    k_pulses_per_l : float, K found, pulses per litre of liquid as it passed through the meter
    relative_uncertainty : float, standard uncertainty of K (coverage factor 1), as a fraction of it
    viscosity_mm2_s : float, optional, kinematic viscosity of the liquid as it passed, mm²/s (the same number as in cSt)
    temperature_c : float, optional, temperature of liquid and meter body, °C

    Examples
    --------
    >>> point = CalibrationPoint.read("99.8 Hz", "11412 pulse/L", "0.05 %", viscosity="1.2 cSt")
    >>> point.k_pulses_per_l, round(point.flow_l_s, 6)
    (11412.0, 0.008745)
    """

    frequency_hz: float
    k_pulses_per_l: float
    relative_uncertainty: float
    viscosity_mm2_s: float | None = None
    temperature_c: float | None = None

    def __post_init__(self) -> None:
        coerce_fields(self, [field.name for field in fields(self)], plain_number, "calibration point: ")
        positive_fields = ("frequency_hz", "k_pulses_per_l", "viscosity_mm2_s")
        coerce_fields(self, positive_fields, positive_number, "calibration point: ")
        if not 0.0 <= self.relative_uncertainty < 1.0:
            raise QuantityError(
                f"calibration point: relative_uncertainty is {self.relative_uncertainty}; "
                f"write the standard uncertainty as a fraction, such as 0.0005 for 0.05 %"
            )
        if self.temperature_c is not None and not -273.15 < self.temperature_c < inf:
            raise QuantityError(f"calibration point: temperature_c is {self.temperature_c}, and must be above -273.15")

    @classmethod
    def read(
        cls, frequency: Any, k: Any, uncertainty: Any, *, viscosity: Any = None, temperature: Any = None
    ) -> CalibrationPoint:
        """Return a point from text and quantities; `uncertainty` is the standard uncertainty of K, ``"0.05 %"``."""
        first_quantity(frequency, k, uncertainty, viscosity, temperature)
        return cls(
            positive(frequency, "Hz", name="frequency"),
            k_factor_of(k, "k").pulses_per_l,
            fraction(uncertainty, name="uncertainty"),
            None if viscosity is None else positive(viscosity, "mm^2/s", name="viscosity"),
            None if temperature is None else celsius(temperature),
        )

    @classmethod
    def at_flow(
        cls, flow: Any, k: Any, uncertainty: Any, *, viscosity: Any = None, temperature: Any = None
    ) -> CalibrationPoint:
        """Return a point that was recorded by its volume flow, such as ``"31.5 L/h"``: frequency is flow times K."""
        first_quantity(flow, k, uncertainty, viscosity, temperature)
        known = k_factor_of(k, "k")
        frequency = known.pulses_per_l * positive(flow, "L/s", name="flow")
        return cls.read(f"{frequency!r} Hz", known, uncertainty, viscosity=viscosity, temperature=temperature)

    def cells(self) -> dict[str, str | None]:
        """Return the point as text, with K rounded to its uncertainty."""
        k, u = self.k_pulses_per_l, self.relative_uncertainty * self.k_pulses_per_l
        displayed, spread = round_to_uncertainty(k, u) if u else (f"{k:.7g}", "0")
        return {
            "Hz": f"{self.frequency_hz:.5g}",
            "L/h": f"{3600.0 * self.flow_l_s:.5g}",
            "K, pulse/L": displayed,
            "u, pulse/L": spread,
            "mm²/s": None if self.viscosity_mm2_s is None else f"{self.viscosity_mm2_s:.3g}",
            "°C": None if self.temperature_c is None else f"{self.temperature_c:.4g}",
        }

    @property
    def flow_l_s(self) -> float:
        """Volume flow at the point, L/s."""
        return self.frequency_hz / self.k_pulses_per_l
