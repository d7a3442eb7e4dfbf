"""The dimensionless numbers of a turbine meter, and how its body grows with temperature.

Strouhal and Roshko are written with the volume flow and the cube and square of a diameter, as
NIST does for turbine meters [nist_turbine_meters]: in them the curves of one meter in liquids of
different viscosity, and with a body of different temperature, fall nearly on one. The diameter is
any length of the body that expands with it; what follows for K and flow does not depend on which.
"""

from __future__ import annotations

from math import pi
from typing import Any

from fuelunits.arrays import as_float
from fuelunits.meters.rates import positive_floats

__all__ = ["body_diameter", "reynolds", "roshko", "strouhal"]


def strouhal(frequency_hz: Any, diameter_m: Any, flow_m3_s: Any) -> Any:
    """Return the Strouhal number: pulses for each diameter cubed of liquid.

    Parameters
    ----------
    frequency_hz : float or array
        Pulse frequency, Hz.
    diameter_m : float or array
        Diameter of the body at its temperature, m; positive.
    flow_m3_s : float or array
        Volume flow, m³/s; positive.

    Returns
    -------
    float or array
        f D³/q. It is K D³, K counted in pulses per m³.

    Raises
    ------
    QuantityError
        If a diameter or flow is not positive.

    Notes
    -----
    The form is recalled [nist_turbine_meters]. With the velocity q/D² in place of the flow it is
    the f L/V of general fluid mechanics.

    Examples
    --------
    >>> strouhal(8.0, 2.0, 16.0)
    4.0
    """
    diameter = positive_floats(diameter_m, "diameter_m")
    return as_float(frequency_hz) * diameter**3 / positive_floats(flow_m3_s, "flow_m3_s")


def roshko(frequency_hz: Any, diameter_m: Any, viscosity_m2_s: Any) -> Any:
    """Return the Roshko number: the pulse frequency made dimensionless by the viscosity.

    Parameters
    ----------
    frequency_hz : float or array
        Pulse frequency, Hz.
    diameter_m : float or array
        Diameter of the body at its temperature, m; positive.
    viscosity_m2_s : float or array
        Kinematic viscosity, m²/s (1 cSt is 1e-6); positive.

    Returns
    -------
    float or array
        f D²/ν.

    Raises
    ------
    QuantityError
        If a diameter or viscosity is not positive.

    Notes
    -----
    The form is recalled [nist_turbine_meters]. Shops that leave the diameter out plot Hz over
    centistokes (common practice).

    Examples
    --------
    >>> round(roshko(20.0, 0.05, 1e-5), 9)
    5000.0
    """
    diameter = positive_floats(diameter_m, "diameter_m")
    return as_float(frequency_hz) * diameter**2 / positive_floats(viscosity_m2_s, "viscosity_m2_s")


def reynolds(flow_m3_s: Any, diameter_m: Any, viscosity_m2_s: Any) -> Any:
    """Return the Reynolds number of a volume flow in a pipe of that diameter.

    Parameters
    ----------
    flow_m3_s : float or array
        Volume flow, m³/s.
    diameter_m : float or array
        Diameter, m; positive.
    viscosity_m2_s : float or array
        Kinematic viscosity, m²/s; positive.

    Returns
    -------
    float or array
        4 q/(π D ν), which is 4/π times Roshko over Strouhal.

    Raises
    ------
    QuantityError
        If a diameter or viscosity is not positive.

    Examples
    --------
    >>> round(reynolds(1e-4, 0.0127, 1.2e-6), 1)
    8354.6
    """
    diameter = positive_floats(diameter_m, "diameter_m")
    return 4.0 * as_float(flow_m3_s) / (pi * diameter * positive_floats(viscosity_m2_s, "viscosity_m2_s"))


def body_diameter(diameter_m: Any, temperature_c: Any, *, reference_c: float, expansion_per_k: float) -> Any:
    """Return the diameter of a body at a temperature: D₀ (1 + α (T − T₀)).

    Parameters
    ----------
    diameter_m : float or array
        D₀, the diameter at `reference_c`, m.
    temperature_c : float or array
        Temperature of the body, °C.
    reference_c : float
        T₀, °C.
    expansion_per_k : float
        α, the linear expansion of the body's material, 1/K.

    Returns
    -------
    float or array
        Metres.

    Examples
    --------
    >>> round(body_diameter(0.0127, -20.0, reference_c=20.0, expansion_per_k=17e-6), 9)
    0.012691364
    """
    return as_float(diameter_m) * (1.0 + expansion_per_k * (as_float(temperature_c) - reference_c))
