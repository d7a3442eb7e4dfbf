"""Fuel volume, mass, density and transducer pulses for aircraft fuel indication.

Every public name is here and is loaded on first use: ``import fuelunits as fu`` costs next to
nothing and loads neither pint nor CoolProp.

Figures are engineering aids, not approved data: the aircraft's maintenance and flight manuals,
the fuel supplier's certificate, the local authority's rules and a licensed technician's sign-off
come first. Measure density where weight matters.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fuelunits.assumptions.check import DensityCheck as DensityCheck
    from fuelunits.assumptions.check import check_density as check_density
    from fuelunits.assumptions.explanation import explain_density as explain_density
    from fuelunits.assumptions.file import check_file as check_file
    from fuelunits.bench.acceptance import accepted_spread as accepted_spread
    from fuelunits.bench.acceptance import conformity as conformity
    from fuelunits.bench.calibrate import BenchResult as BenchResult
    from fuelunits.bench.calibrate import Calibration as Calibration
    from fuelunits.bench.calibrate import calibrate as calibrate
    from fuelunits.bench.fill_up import FillUp as FillUp
    from fuelunits.bench.fill_up import compare_fill_ups as compare_fill_ups
    from fuelunits.bench.gravimetric import GravimetricRun as GravimetricRun
    from fuelunits.bench.run import counted as counted
    from fuelunits.bench.volumetric import VolumetricRun as VolumetricRun
    from fuelunits.caution import CAUTION as CAUTION
    from fuelunits.conversion import convert as convert
    from fuelunits.diagnosis import diagnose_ratio as diagnose_ratio
    from fuelunits.errors import FuelUnitsError as FuelUnitsError
    from fuelunits.errors import OutOfRange as OutOfRange
    from fuelunits.flight.endurance import RESERVES as RESERVES
    from fuelunits.flight.endurance import endurance as endurance
    from fuelunits.flight.endurance import fuel_for as fuel_for
    from fuelunits.flight.endurance import remaining as remaining
    from fuelunits.flight.low_fuel import LowFuelByQuantity as LowFuelByQuantity
    from fuelunits.flight.low_fuel import LowFuelByTime as LowFuelByTime
    from fuelunits.flight.low_fuel import first_to_trip as first_to_trip
    from fuelunits.grades.batch import Batch as Batch
    from fuelunits.grades.blends import Blend as Blend
    from fuelunits.grades.blends import blend as blend
    from fuelunits.grades.blends import blend_by_mass as blend_by_mass
    from fuelunits.grades.fuels import Fuel as Fuel
    from fuelunits.grades.fuels import fuel as fuel
    from fuelunits.grades.fuels import fuels as fuels
    from fuelunits.indicator.indicator import Indicator as Indicator
    from fuelunits.liquids.pure import PureLiquid as PureLiquid
    from fuelunits.liquids.pure import pure_liquid as pure_liquid
    from fuelunits.liquids.viscosity import ViscosityLine as ViscosityLine
    from fuelunits.liquids.viscosity import viscosity as viscosity
    from fuelunits.liquids.water_and_air import air_density_kg_m3 as air_density_kg_m3
    from fuelunits.liquids.water_and_air import buoyancy_factor as buoyancy_factor
    from fuelunits.liquids.water_and_air import gravimetric_volume_l as gravimetric_volume_l
    from fuelunits.liquids.water_and_air import water_density_kg_m3 as water_density_kg_m3
    from fuelunits.meter.calibration import CalibrationPoint as CalibrationPoint
    from fuelunits.meter.calibration import linearity as linearity
    from fuelunits.meter.calibration import mean_k as mean_k
    from fuelunits.meter.calibration import repeatability as repeatability
    from fuelunits.meter.curve import MeterCurve as MeterCurve
    from fuelunits.meter.viscosity_curve import ViscosityCurve as ViscosityCurve
    from fuelunits.petroleum.commodities import CRUDE_OIL as CRUDE_OIL
    from fuelunits.petroleum.commodities import LUBRICATING_OIL as LUBRICATING_OIL
    from fuelunits.petroleum.commodities import REFINED_PRODUCTS as REFINED_PRODUCTS
    from fuelunits.petroleum.density_scales import BASE_60F_C as BASE_60F_C
    from fuelunits.petroleum.density_scales import api_gravity_from_density as api_gravity_from_density
    from fuelunits.petroleum.density_scales import (
        api_gravity_from_relative_density as api_gravity_from_relative_density,
    )
    from fuelunits.petroleum.density_scales import density_from_api_gravity as density_from_api_gravity
    from fuelunits.petroleum.density_scales import density_from_relative_density as density_from_relative_density
    from fuelunits.petroleum.density_scales import hydrometer_factor as hydrometer_factor
    from fuelunits.petroleum.density_scales import (
        relative_density_from_api_gravity as relative_density_from_api_gravity,
    )
    from fuelunits.petroleum.density_scales import relative_density_from_density as relative_density_from_density
    from fuelunits.petroleum.product import GivenExpansion as GivenExpansion
    from fuelunits.petroleum.product import PetroleumProduct as PetroleumProduct
    from fuelunits.petroleum.volume_correction import base_density as base_density
    from fuelunits.petroleum.volume_correction import compressibility as compressibility
    from fuelunits.petroleum.volume_correction import cpl as cpl
    from fuelunits.petroleum.volume_correction import ctl as ctl
    from fuelunits.petroleum.volume_correction import ctpl as ctpl
    from fuelunits.petroleum.volume_correction import expansion_coefficient as expansion_coefficient
    from fuelunits.pulses.combining import net_flow as net_flow
    from fuelunits.pulses.combining import net_uncertainty as net_uncertainty
    from fuelunits.pulses.combining import total_flow as total_flow
    from fuelunits.pulses.counting import counting_resolution as counting_resolution
    from fuelunits.pulses.counting import gate_resolution_hz as gate_resolution_hz
    from fuelunits.pulses.counting import period_resolution as period_resolution
    from fuelunits.pulses.counting import pulses_for_resolution as pulses_for_resolution
    from fuelunits.pulses.counting import unwrap_counter as unwrap_counter
    from fuelunits.pulses.counts import PulseCounts as PulseCounts
    from fuelunits.pulses.k_factor import KFactor as KFactor
    from fuelunits.pulses.record import PulseRecord as PulseRecord
    from fuelunits.reference import published as published
    from fuelunits.reference import verify as verify
    from fuelunits.registering import register_units as register_units
    from fuelunits.sources import all_sources as all_sources
    from fuelunits.sources import source as source
    from fuelunits.uncertainty.budget import rectangular as rectangular
    from fuelunits.uncertainty.budget import triangular as triangular
    from fuelunits.uncertainty.budget import uncertain as uncertain
    from fuelunits.uncertainty.measured import measured as measured
    from fuelunits.units import exact_factor as exact_factor
    from fuelunits.units import factor as factor

__version__ = "0.1.0"

_ROOMS = {
    "assumptions.check": "DensityCheck check_density",
    "assumptions.explanation": "explain_density",
    "assumptions.file": "check_file",
    "bench.acceptance": "accepted_spread conformity",
    "bench.calibrate": "BenchResult Calibration calibrate",
    "bench.fill_up": "FillUp compare_fill_ups",
    "bench.gravimetric": "GravimetricRun",
    "bench.run": "counted",
    "bench.volumetric": "VolumetricRun",
    "caution": "CAUTION",
    "conversion": "convert",
    "diagnosis": "diagnose_ratio",
    "errors": "FuelUnitsError OutOfRange",
    "flight.endurance": "RESERVES endurance fuel_for remaining",
    "flight.low_fuel": "LowFuelByQuantity LowFuelByTime first_to_trip",
    "grades.batch": "Batch",
    "grades.blends": "Blend blend blend_by_mass",
    "grades.fuels": "Fuel fuel fuels",
    "indicator.indicator": "Indicator",
    "liquids.pure": "PureLiquid pure_liquid",
    "liquids.viscosity": "ViscosityLine viscosity",
    "liquids.water_and_air": "air_density_kg_m3 buoyancy_factor gravimetric_volume_l water_density_kg_m3",
    "meter.calibration": "CalibrationPoint linearity mean_k repeatability",
    "meter.curve": "MeterCurve",
    "meter.viscosity_curve": "ViscosityCurve",
    "petroleum.commodities": "CRUDE_OIL LUBRICATING_OIL REFINED_PRODUCTS",
    "petroleum.density_scales": "BASE_60F_C api_gravity_from_density api_gravity_from_relative_density "
    "density_from_api_gravity density_from_relative_density hydrometer_factor "
    "relative_density_from_api_gravity relative_density_from_density",
    "petroleum.product": "GivenExpansion PetroleumProduct",
    "petroleum.volume_correction": "base_density compressibility cpl ctl ctpl expansion_coefficient",
    "pulses.combining": "net_flow net_uncertainty total_flow",
    "pulses.counting": "counting_resolution gate_resolution_hz period_resolution pulses_for_resolution unwrap_counter",
    "pulses.counts": "PulseCounts",
    "pulses.k_factor": "KFactor",
    "pulses.record": "PulseRecord",
    "reference": "published verify",
    "registering": "register_units",
    "sources": "all_sources source",
    "uncertainty.budget": "rectangular triangular uncertain",
    "uncertainty.measured": "measured",
    "units": "exact_factor factor",
}
_HOMES = {name: room for room, names in _ROOMS.items() for name in names.split()}

__all__ = sorted([*_HOMES, "__version__"])


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'fuelunits' has no attribute {name!r}")
    value = getattr(import_module(f"fuelunits.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return __all__
