"""Recompute the published values of ``meter_curve.csv``."""

from __future__ import annotations

from math import tau

from fuelunits.conversion import convert
from fuelunits.meters.curve import MeterCurve
from fuelunits.meters.dimensionless import roshko, strouhal
from fuelunits.meters.k_factor import KFactor
from fuelunits.meters.points import CalibrationPoint

__all__ = ["recompute"]


def recompute(what: str, given: dict[str, str]) -> float:
    """Compute one published value with the library.

    Parameters
    ----------
    what : str
        Kind of value, as in the column ``what``.
    given : dict of str to str
        Its inputs, as printed.

    Returns
    -------
    float
        In the unit of the row.

    Raises
    ------
    KeyError
        For a kind that is not known here.

    Examples
    --------
    >>> recompute("pulses of a volume", {"k": "10 pulse/gal", "volume_gal": "100"})
    1000.0
    """
    return float(_KINDS[what](given))


def _pickup_frequency(given: dict[str, str]) -> float:
    """Frequency of a meter of constant K, one pulse for each blade that passes."""
    k_per_l = float(given["blades"]) * float(given["radians_per_m3"]) / tau / 1000.0
    curve = MeterCurve([CalibrationPoint(frequency_hz, k_per_l, 0.0) for frequency_hz in (1.0, 100.0)])
    return float(curve.frequency_hz(float(given["flow_m3_s"]) * 1000.0))


def _pulses(given: dict[str, str]) -> float:
    return float(KFactor.read(given["k"]).pulses(f"{given['volume_gal']} gal"))


def _roshko(given: dict[str, str]) -> float:
    return float(roshko(*(float(given[name]) for name in ("frequency_hz", "diameter_m", "viscosity_m2_s"))))


def _strouhal(given: dict[str, str]) -> float:
    length_m = float(given["length_m"])
    return float(strouhal(float(given["frequency_hz"]), length_m, float(given["velocity_m_s"]) * length_m**2))


def _mass_flow(given: dict[str, str]) -> float:
    density_lb_gal = float(given["given_lb_h"]) / convert(float(given["given_gal_min"]), "gal/min", "gal/h")
    return float(convert(float(given["gal_min"]), "gal/min", "lb/h", density=f"{density_lb_gal!r} lb/gal"))


def _volume_flow(given: dict[str, str]) -> float:
    return float(convert(float(given["gal_min"]), "gal/min", "m^3/s"))


def _tooth_frequency(given: dict[str, str]) -> float:
    return float(convert(float(given["teeth"]) * float(given["turns_per_min"]), "1/min", "Hz"))


_KINDS = {
    "pickup frequency": _pickup_frequency,
    "pulses of a volume": _pulses,
    "Roshko number": _roshko,
    "Strouhal number": _strouhal,
    "mass flow at a shared density": _mass_flow,
    "volume flow": _volume_flow,
    "tooth frequency": _tooth_frequency,
}
