"""Pure liquids by `name` from reference equations of state, by the open library CoolProp.

Calibrating fluid of type I is n-heptane, and n-decane, n-dodecane and toluene stand in for fuel in laboratories.
CoolProp is an extra (``python -m pip install CoolProp``), loaded on first use here and nowhere else.
"""

from __future__ import annotations

import math
import threading
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import numpy as np

from fuelunits.errors import FuelUnitsError, MissingExtra, UnknownFuel
from fuelunits.fuels.elementwise import elementwise
from fuelunits.fuels.liquids import Amounts
from fuelunits.sources import OnOutOfRange, Range
from fuelunits.validation import did_you_mean, fold_name, format_value, is_scalar, nearest

_ATMOSPHERE_KPA = 101.325
_ZERO_C_K = 273.15
_BELOW_BOILING_C = 1e-4  # so close to its boiling or critical point, a liquid cannot be told from its vapour
_SYSTEMS = "fuel systems and benches, from suction to 1500 psi"
_GAUGE_PRESSURES_KPA = Range("gauge pressure", -100.0, 10_342.2, "kPa", _SYSTEMS)
_STATES = threading.local()  # one CoolProp state a fluid and thread: a state must not be shared


def _coolprop() -> Any:
    try:
        import CoolProp
    except ImportError as missing:
        raise MissingExtra("pure liquids need CoolProp; install it with: python -m pip install CoolProp") from missing
    return CoolProp


def _state(fluid: str) -> Any:
    states = _STATES.__dict__
    if fluid not in states:
        states[fluid] = _coolprop().AbstractState("HEOS", fluid)
    return states[fluid]


@dataclass(frozen=True)
class PureLiquid(Amounts):
    """A pure substance, as a liquid; made by :func:`pure_liquid`.

    Below its melting line it is refused where CoolProp has that line; n-heptane, n-decane, n-dodecane and toluene have
    none, and freeze some 2 °C above their triple point at 1500 psi (common practice).

    Attributes
    ----------
    name : str, as CoolProp has it
    temperatures_c : Range from its triple to its critical point; between, the pressure decides whether it is liquid
    valid_temperatures_c : Range in which it is liquid at atmospheric pressure

    Examples
    --------
    >>> heptane = pure_liquid("n-heptane")
    >>> heptane.density_kg_m3([20.0, 120.0], out_of_range="nan").round(1)
    array([683.8,   nan])
    >>> round(heptane.density_kg_m3(120.0, 500.0), 1)
    593.9
    """

    name: str
    temperatures_c: Range
    valid_temperatures_c: Range
    source = "coolprop"

    def density_kg_m3(
        self, temperature_c: Any, gauge_pressure_kpa: Any = 0.0, *, out_of_range: OnOutOfRange = "raise"
    ) -> Any:
        """Return the density, kg/m³, at °C and kPa above 101.325 kPa (-100 to 10342), where it is liquid."""

        def density(t: Any, p: Any) -> Any:
            t, p = self.temperatures_c.check(t, out_of_range), _GAUGE_PRESSURES_KPA.check(p, out_of_range)
            if is_scalar(t) and is_scalar(p):
                return _liquid_density_kg_m3(self.name, t, p, out_of_range)
            return np.vectorize(_liquid_density_kg_m3, otypes=[float])(self.name, t, p, out_of_range)

        return elementwise(density, temperature_c, gauge_pressure_kpa)


def _liquid_density_kg_m3(fluid: str, t: float, p: float, out_of_range: OnOutOfRange) -> float:
    """Return the density at one state, once its phase is known to be liquid."""
    if math.isnan(t) or math.isnan(p):
        return math.nan
    coolprop, state = _coolprop(), _state(fluid)
    with suppress(ValueError):
        state.update(coolprop.PT_INPUTS, 1000.0 * (p + _ATMOSPHERE_KPA), max(t + _ZERO_C_K, state.Tmin()))
        if state.phase() in (coolprop.iphase_liquid, coolprop.iphase_supercritical_liquid):
            return float(state.rhomass())
    if out_of_range == "nan":
        return math.nan
    _liquid_temperatures(fluid, p).check(t)
    raise FuelUnitsError(f"CoolProp has no density of liquid {fluid} at {t:g} degC and {p:g} kPa above atmospheric")


def _liquid_temperatures(fluid: str, gauge_pressure_kpa: float) -> Range:
    """Return the temperatures from freezing to boiling, or to the critical point where the pressure is above its."""
    coolprop, state, pressure_pa = _coolprop(), _state(fluid), 1000.0 * (gauge_pressure_kpa + _ATMOSPHERE_KPA)
    freezing_k, boiling_k = state.Tmin(), state.T_critical()
    with suppress(ValueError):  # without a melting line, or below where it begins
        freezing_k = max(freezing_k, state.melting_line(coolprop.iT, coolprop.iP, pressure_pa))
    with suppress(ValueError):  # above the critical pressure nothing boils
        state.update(coolprop.PQ_INPUTS, pressure_pa, 0.0)
        boiling_k = state.T()
    name = f"temperature of liquid {fluid} at {gauge_pressure_kpa:g} kPa above atmospheric"
    return Range(name, freezing_k - _ZERO_C_K, boiling_k - _BELOW_BOILING_C - _ZERO_C_K, "degC", "coolprop")


def pure_liquid(name: str) -> PureLiquid:
    """Return a substance, ``"n-heptane"``, ``"toluene"`` or ``"water"``, liquid at atmospheric pressure; by CoolProp.

    Examples
    --------
    >>> round(pure_liquid("water").density_kg_m3(20.0), 3)
    998.207
    """
    example = "write a name such as 'n-heptane'"
    if not isinstance(name, str) or not name.strip():
        raise UnknownFuel(f"{format_value(name)} is not a pure liquid; {example}")
    fluids: list[str] = _coolprop().CoolProp.get_global_param_string("FluidsList").split(",")
    spelled, folded = {fold_name(each): each for each in fluids}, fold_name(name)
    if folded not in spelled:
        hint = did_you_mean([spelled[each] for each in nearest(folded, spelled, 3)], example)
        raise UnknownFuel(f"CoolProp knows no pure liquid {name[:60]!r}; {hint}")
    fluid = spelled[folded]
    state = _state(fluid)
    if state.fluid_param_string("pure") != "true":
        raise UnknownFuel(f"{fluid} is a mixture, not a pure liquid")
    valid = _liquid_temperatures(fluid, 0.0)
    if not valid.low < valid.high:
        raise UnknownFuel(f"{fluid} is not liquid at atmospheric pressure")
    triple_c, critical_c = state.Tmin() - _ZERO_C_K, min(state.T_critical(), state.Tmax()) - _ZERO_C_K
    return PureLiquid(fluid, Range(f"temperature of liquid {fluid}", triple_c, critical_c, "degC", "coolprop"), valid)
