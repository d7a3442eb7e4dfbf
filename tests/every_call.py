"""One good call of every public function and method, argument by argument; the fuel, meters and runs are invented."""

from collections.abc import Callable
from importlib.util import find_spec
from typing import Any

import numpy as np
import pint

import fuelunits as fu

K = fu.KFactor(43_186, per="gal")
JET = fu.fuel("Jet A")
BATCH = JET.measured("0.803 kg/L", "20 degC", uncertainty="0.5 kg/m^3")
LINE = fu.viscosity("Jet A")
POINTS = [fu.CalibrationPoint(f, k, 0.0005) for f, k in [(50.0, 11_420.0), (100.0, 11_410.0), (200.0, 11_400.0)]]
CURVE = fu.MeterCurve(POINTS)
POINTS_IN_TWO_LIQUIDS = [
    fu.CalibrationPoint(f, k, 0.0005, v, 20.0)
    for v in (1.2, 4.0)
    for f, k in [(50.0, 11_420.0), (100.0, 11_410.0), (200.0, 11_400.0), (400.0, 11_405.0)]
]
BY_VISCOSITY = fu.ViscosityCurve.from_points(
    POINTS_IN_TWO_LIQUIDS, 0.0127, reference_c=20.0, expansion_per_k=1.7e-5, known_scatter=0.01
)
RECORD = fu.PulseRecord(np.arange(100) / 50.0)
POUNDS = fu.Indicator(K, reads="lb/h", fixed_density="6.7 lb/gal")
GALLONS = fu.Indicator(K, reads="gal/h")
SHEET = POUNDS.bench_points(["100 lb/h"], "1 lb/h")
CHECK = fu.check_density("6.7 lb/gal", "Jet A", between=("0 degC", "30 degC"), tolerance="3 %")
WEIGHING = {
    "pulses": fu.counted(100_000),
    "mass_reading": "300 kg",
    "duration": "600 s",
    "liquid_temperature": "20 degC",
    "liquid_density": "0.800 kg/L",
    "air_density": "1.2 kg/m^3",
}
FILLING = {
    "pulses": fu.counted(100_000),
    "measure_volume": "100 L",
    "duration": "600 s",
    "liquid_temperature": "20 degC",
    "measure_temperature": "21 degC",
    "measure_expansion_per_k": 5e-5,
    "liquid_expansion_per_k": 9e-4,
}
WEIGHED = fu.GravimetricRun.read(**WEIGHING)
CALIBRATION = fu.calibrate([WEIGHED, fu.GravimetricRun.read(**{**WEIGHING, "mass_reading": "300.1 kg"})])
TANK, PROBE = fu.TankTable("box", [("0 mm", "0 L"), ("300 mm", "120 L")]), fu.Probe("48 pF", "0 mm", "300 mm")
GAUGE = fu.CapacitanceGauge(TANK, [PROBE], JET, "15 degC", stray="5 pF")
FILL = fu.FillUp(indicated="100 gal", delivered="101 gal")
WARMTH = {"temperature_uncertainty": "5 delta_degC"}
PRODUCT = fu.PetroleumProduct(800.0)
EXPANDING = fu.GivenExpansion(source="api_mpms_11_1_2004", base_density_kg_m3=800.0, alpha_per_c=9e-4)
BY_TIME, BY_QUANTITY = fu.LowFuelByTime("50 min"), fu.LowFuelByQuantity("60 L")
CALLS: list[tuple[Callable[..., Any], dict[str, Any]]] = [
    (
        fu.air_density_kg_m3,
        {"temperature_c": 20.0, "pressure_pa": 101325.0, "relative_humidity": 0.5, "co2_fraction": 0.0004},
    ),
    (fu.api_gravity_from_density, {"density_60f_kg_m3": 800.0, "edition": 2004}),
    (
        fu.base_density,
        {
            "observed_kg_m3": 800.0,
            "temperature_c": 20.0,
            "gauge_pressure_kpa": 10.0,
            "base_c": 15.0,
            "edition": 2004,
            "glass_hydrometer": False,
            "commodity": fu.REFINED_PRODUCTS,
        },
    ),
    (fu.blend_by_mass, {"parts": {"Jet A": 0.7, "Jet A-1": 0.3}}),
    (fu.blend, {"parts": {"Jet A": 0.7, "Jet A-1": 0.3}}),
    (fu.buoyancy_factor, {"liquid_density_kg_m3": 800.0, "air_density_kg_m3": 1.2, "weights_density_kg_m3": 8000.0}),
    (fu.calibrate, {"runs": [WEIGHED]}),
    (fu.check_density, {"value": "6.7 lb/gal", "fuel": "Jet A", "between": ("0 degC", "30 degC"), "tolerance": "3 %"}),
    (fu.compare_fill_ups, {"k_factor": K, "fill_ups": [FILL], "truck_uncertainty": "0.2 %", **WARMTH}),
    (fu.conformity, {"error": 0.1, "expanded_uncertainty": 0.1, "tolerance": 1.0, "guard": 1.0}),
    (fu.conformance_probability, {"value": 0.1, "uncertainty": 0.1, "lower": -0.3, "upper": 0.3}),
    (fu.guard_band, {"uncertainty": 0.1, "risk": 0.05, "degrees_of_freedom": 5.0}),
    (fu.global_risk, {"mean": 0.0, "standard_deviation": 1.0, "uncertainty": 0.3, "limits": (-2.0, 2.0)}),
    (fu.convert, {"value": 5.0, "from_unit": "gal", "to_unit": "lb", "density": "6.7 lb/gal"}),
    (fu.counted, {"pulses": 10, "name": "x"}),
    (
        fu.cpl,
        {
            "base_density_kg_m3": 800.0,
            "temperature_c": 20.0,
            "gauge_pressure_kpa": 100.0,
            "base_c": 15.0,
            "edition": 2004,
            "commodity": fu.REFINED_PRODUCTS,
        },
    ),
    (
        fu.ctl,
        {
            "base_density_kg_m3": 800.0,
            "temperature_c": 20.0,
            "base_c": 15.0,
            "edition": 2004,
            "commodity": fu.REFINED_PRODUCTS,
        },
    ),
    (
        fu.ctpl,
        {
            "base_density_kg_m3": 800.0,
            "temperature_c": 20.0,
            "gauge_pressure_kpa": 100.0,
            "base_c": 15.0,
            "edition": 2004,
            "commodity": fu.REFINED_PRODUCTS,
        },
    ),
    (fu.density_from_api_gravity, {"api_gravity": 45.0, "edition": 2004}),
    (fu.density_from_relative_density, {"relative_density": 0.8, "edition": 2004}),
    (
        fu.diagnose,
        {
            "indicated": "52.4 gal/h",
            "true": "43.6 gal/h",
            "indicator": GALLONS,
            "stamped": K,
            "fuel": JET,
            "at": "15 degC",
            "channels": 1,
            "uncertainty": "1 %",
        },
    ),
    (fu.endurance, {"usable": "50 gal", "flow": "10 gal/h", "density": "6.7 lb/gal"}),
    (fu.exact_factor, {"from_unit": "gal", "to_unit": "L"}),
    (fu.explain_density, {"value": "6.7 lb/gal"}),
    (fu.factor, {"from_unit": "gal", "to_unit": "L"}),
    (fu.first_to_trip, {"by_time": BY_TIME, "by_quantity": BY_QUANTITY, "flow": "10 gal/h", "density": None}),
    (fu.fuel, {"name": "Jet A"}),
    (fu.fuel_for, {"time": "1 h", "flow": "10 gal/h", "unit": "gal", "density": None}),
    (fu.hydrometer_factor, {"temperature_c": 20.0, "calibrated_c": 15.0}),
    (fu.measured, {"value": "5 kg", "uncertainty": "1 g", "name": "x", "degrees_of_freedom": 5.0}),
    (fu.check_stored, {"intended": "11412.4 pulse/L", "step": "1 pulse/L", "displayed": "11412 pulse/L"}),
    (
        fu.net_flow,
        {
            "feed": "100 Hz",
            "feed_k": K,
            "return_": "50 Hz",
            "return_k": K,
            "unit": "kg/h",
            "feed_density": "0.80 kg/L",
            "return_density": "0.79 kg/L",
        },
    ),
    (
        fu.net_uncertainty,
        {
            "feed": "10 gal/h",
            "return_": "5 gal/h",
            "feed_uncertainty": "0.5 %",
            "return_uncertainty": "0.5 %",
            "correlation": 0.0,
        },
    ),
    (
        fu.fuel_on_board,
        {"readings": {"gauge": "52 L", "dipstick": "50 L"}, "unit": "kg", "density": "0.8 kg/L"},
    ),
    (fu.from_dict, {"data": {"format": 1, "fuelunits": "x", "record": {"type": "Fuel", "name": "Jet A"}}}),
    (fu.interval_by_reliability, {"in_tolerance": 15, "calibrations": 20, "interval_d": 365.0, "target": 0.95}),
    (fu.page, {"thing": CALIBRATION}),
    (fu.to_dict, {"thing": K}),
    (
        fu.compare_transducers,
        {
            "calibrations": {
                serial: fu.calibrate([fu.GravimetricRun.read(**{**WEIGHING, "mass_reading": f"{mass} kg"})])
                for serial, mass in (("A", 300.0), ("B", 300.1), ("C", 300.2))
            },
            "tolerance": "1 %",
        },
    ),
    (fu.permittivity, {"fuel": "Jet A", "at": "15 degC"}),
    (fu.pulses_for_resolution, {"relative": 0.01}),
    (fu.rectangular, {"value": 1.0, "half_width": 0.1, "name": "x", "unit": "kg"}),
    (fu.triangular, {"value": 1.0, "half_width": 0.1, "name": "x", "unit": "kg"}),
    (fu.uncertain, {"value": 1.0, "uncertainty": 0.1, "name": "x", "unit": "kg", "degrees_of_freedom": 5.0}),
    (fu.register_units, {"registry": pint.UnitRegistry()}),
    (fu.relative_density_from_density, {"density_60f_kg_m3": 800.0, "edition": 2004}),
    (fu.remaining, {"start": "50 gal", "used": "10 gal", "unit": "gal", "density": None}),
    (fu.round_factor, {"factor": 0.98693417}),
    (fu.source, {"key": "api_mpms_11_1_2004"}),
    (fu.unwrap_counter, {"readings": [1, 5, 9], "bits": 16, "largest_increment": 10}),
    (fu.viscosity, {"fuel": "Jet A"}),
    (fu.water_density_kg_m3, {"temperature_c": 20.0, "air_saturated": False, "gauge_pressure_kpa": 0.0}),
    (BATCH.density_kg_m3, {"temperature_c": 20.0, "gauge_pressure_kpa": 0.0}),
    (BATCH.apparent_mass, {"volume": "100 L", "at": "20 degC"}),
    (BATCH.uncertain_mass, {"volume": "100 L", "at": "20 degC", "gauge_pressure": None}),
    (BATCH.mass, {"volume": "100 L", "at": "20 degC", "gauge_pressure": "1 kPa"}),
    (BATCH.volume, {"mass": "100 kg", "at": "20 degC", "gauge_pressure": "1 kPa"}),
    (BATCH.net_volume, {"gross": "100 L", "at": "20 degC", "gauge_pressure": "1 kPa"}),
    (BATCH.gross_volume, {"net": "100 L", "at": "20 degC", "gauge_pressure": "1 kPa"}),
    (JET.density, {"at": "20 degC", "gauge_pressure": "1 kPa"}),
    (JET.density_kg_m3, {"temperature_c": 20.0, "gauge_pressure_kpa": 0.0, "out_of_range": "nan"}),
    (JET.density_limits, {"at": "20 degC"}),
    (JET.measured, {"density": "0.803 kg/L", "at": "20 degC"}),
    (fu.BenchResult, {"calibrations": [CALIBRATION]}),
    (CALIBRATION.coverage_factor, {"probability": 0.95}),
    (CALIBRATION.expanded_uncertainty, {}),
    (CALIBRATION.conformity, {"k_factor": K, "tolerance": "1 %", "guard": 1.0}),
    (
        fu.CalibrationPoint,
        {
            "frequency_hz": 1.0,
            "k_pulses_per_l": 1.0,
            "relative_uncertainty": 0.1,
            "viscosity_mm2_s": 1.0,
            "temperature_c": 20.0,
        },
    ),
    (
        fu.CalibrationPoint.read,
        {"frequency": "100 Hz", "k": K, "uncertainty": "0.05 %", "viscosity": "1.2 mm^2/s", "temperature": "20 degC"},
    ),
    (CHECK.error_of, {"amount": "100 gal", "any_batch": False}),
    (
        fu.FillUp,
        {
            "indicated": "100 gal",
            "delivered": "101 gal",
            "display_step": "0.1 gal",
            "level_uncertainty": "0.5 gal",
            "volume_correction_factor": 1.0,
            "truck_factor": 1.0,
        },
    ),
    (
        fu.GivenExpansion,
        {"source": "api_mpms_11_1_2004", "base_density_kg_m3": 800.0, "alpha_per_c": 0.0009, "base_c": 15.0},
    ),
    (
        fu.GivenExpansion.through,
        {
            "density_kg_m3": 766.3,
            "temperature_c": 5.0,
            "other_kg_m3": 722.3,
            "other_c": 65.0,
            "source": "api_mpms_11_1_2004",
        },
    ),
    (EXPANDING.density_kg_m3, {"temperature_c": 20.0, "gauge_pressure_kpa": 0.0}),
    (
        fu.GravimetricRun,
        {
            "pulses": 1000,
            "duration_s": 100.0,
            "liquid_temperature_c": 20.0,
            "mass_reading_kg": 50.0,
            "liquid_density_kg_m3": 800.0,
            "air_density_kg_m3": 1.2,
            "density_temperature_c": 15.0,
            "vessel_temperature_c": 18.0,
            "liquid_expansion_per_k": 0.0009,
            "balance_factor": 1.0,
            "weights_density_kg_m3": 8000.0,
            "unweighed_mass_kg": 0.0,
        },
    ),
    (fu.GravimetricRun.read, WEIGHING),
    (
        fu.VolumetricRun,
        {
            "pulses": 1000,
            "duration_s": 100.0,
            "liquid_temperature_c": 20.0,
            "measure_volume_l": 100.0,
            "measure_temperature_c": 20.0,
            "measure_expansion_per_k": 5e-05,
            "liquid_expansion_per_k": 0.0009,
            "reference_temperature_c": 20.0,
        },
    ),
    (fu.VolumetricRun.read, dict(**FILLING, reference_temperature="20 degC")),
    (
        fu.Indicator,
        {
            "k_factor": K,
            "reads": "lb/h",
            "fixed_density": "6.7 lb/gal",
            "resolution": "0.1 lb/h",
            "low_flow_cutoff": "1 lb/h",
            "channels": 2,
            "truncates": True,
        },
    ),
    (POUNDS.reading, {"frequency": "100 Hz"}),
    (POUNDS.reading_of, {"true_flow": "100 lb/h", "fuel": JET, "at": "20 degC", "true_k": K}),
    (
        POUNDS.error_budget,
        {"fuel": JET, "flow": "100 lb/h", "between": ("0 degC", "30 degC"), "true_k": K, "k_at_flow": "0.1 %"},
    ),
    (POUNDS.bench_points, {"flows": ["100 lb/h"], "tolerance": "1 lb/h", "generator": None}),
    (SHEET.filled, {"as_found": ["100.5 lb/h"], "as_left": ["100 lb/h"]}),
    (fu.CapacitanceBox, {"step": "0.1 pF", "uncertainty": "0.1 %"}),
    (fu.Probe, {"empty": "48 pF", "bottom": "5 mm", "top": "310 mm"}),
    (
        fu.TankTable,
        {
            "name": "box",
            "points": [("0 mm", "0 L"), ("300 mm", "120 L")],
            "unusable": "2 L",
            "level_uncertainty": "1 mm",
            "mark_uncertainty": "0.5 mm",
            "volume_uncertainty": "0.2 L",
        },
    ),
    (fu.CapacitanceGauge, {"tank": TANK, "probes": [PROBE], "fuel": JET, "at": "15 degC", "stray": "5 pF"}),
    (
        fu.CapacitanceSheet,
        {
            "gauge": GAUGE,
            "asked": ["0 L", "60 L"],
            "tolerance": "2 L",
            "reads": "L",
            "box": fu.CapacitanceBox(step="0.1 pF", uncertainty="0.1 %"),
            "resolution": "0.5 L",
            "truncates": False,
        },
    ),
    (fu.permittivity_of_mixture, {"parts": [(2.1, 0.5), (2.0, 0.5)]}),
    (fu.Generator, {"step": "0.1 Hz", "uncertainty": "0.01 %"}),
    (fu.LowFuelPoint, {"threshold": BY_TIME, "flow": "60 L/h", "usable": "90 L"}),
    (fu.check_stored, {"intended": "11412 pulse/L", "step": "1 pulse/L", "displayed": "11412 pulse/L"}),
    (
        fu.best_setting,
        {
            "indicator": POUNDS,
            "meter": BY_VISCOSITY,
            "flows": ["25 L/h", "50 L/h"],
            "k_step": "10 pulse/gal",
            "highest_k": "99990 pulse/gal",
            "weights": [1.0, 3.0],
            "fuel": JET,
            "at": ["20 degC", "30 degC"],
            "densities": ["6.7 lb/gal", "6.0 lb/gal"],
        },
    ),
    (
        fu.best_setting,
        {
            "indicator": POUNDS,
            "meter": CURVE,
            "flows": ["40 L/h"],
            "k_step": "1 pulse/L",
            "fuel": JET,
            "at": "20 degC",
            "density_step": "0.01 lb/gal",
        },
    ),
    (
        fu.displayed_total,
        {
            "indicator": GALLONS,
            "flows": [("8 gal/h", "10 min")],
            "update": "1 s",
            "kept_step": "0.001 gal",
            "truncates": True,
        },
    ),
    (
        fu.displayed_total,
        {
            "indicator": fu.Indicator(K, reads="gal/h", total_resolution="0.1 gal"),
            "flows": [("8 gal/h", "10 min")],
            "update": "1 s",
            "rolls_over_at": "1000 gal",
        },
    ),
    (fu.KFactor, {"pulses": 43186, "per": "gal"}),
    (fu.KFactor.read, {"text": "43186 pulse/gal"}),
    (K.exact_per, {"unit": "L"}),
    (K.per, {"unit": "lb", "density": "6.7 lb/gal"}),
    (K.to, {"unit": "L"}),
    (K.frequency, {"flow": "10 gal/h"}),
    (K.flow, {"frequency": "100 Hz"}),
    (K.volume, {"pulses": 1000}),
    (K.pulses, {"volume": "10 gal"}),
    (K.rounded, {"step": 10}),
    (K.relative_error_to, {"true_k": K}),
    (K.indication_error, {"true_k": K}),
    (K.adjusted, {"indicated": "100 gal", "delivered": "101 gal", "insist": False}),
    (K.prescaled, {"pulses_per_output": 4}),
    (fu.LowFuelByQuantity, {"quantity": "10 gal"}),
    (fu.LowFuelByTime, {"time": "50 min"}),
    (fu.MeterCurve, {"points": POINTS}),
    (CURVE.k_pulses_per_l, {"frequency_hz": 60.0}),
    (CURVE.flow_l_s, {"frequency_hz": 60.0}),
    (CURVE.frequency_hz, {"flow_l_s": 0.01}),
    (CURVE.relative_uncertainty, {"frequency_hz": 60.0}),
    (CURVE.flow, {"frequency": "60 Hz"}),
    (CURVE.frequency, {"flow": "10 gal/h"}),
    (
        fu.PetroleumProduct,
        {"base_density_kg_m3": 800.0, "base_c": 15.0, "edition": 2004, "commodity": fu.REFINED_PRODUCTS},
    ),
    (fu.PetroleumProduct.observed, {"density_kg_m3": 800.0, "temperature_c": 20.0}),
    (PRODUCT.density_kg_m3, {"temperature_c": 20.0, "gauge_pressure_kpa": 0.0}),
    (fu.PulseCounts.of_counter, {"times_s": [0.0, 1.0, 2.0], "running": fu.unwrap_counter([1, 5, 9], bits=16)}),
    (fu.PulseRecord, {"times_s": [0.0, 1.0, 2.0]}),
    (RECORD.by_gate, {"gate_s": 0.1, "start_s": 0.0, "stop_s": 1.0}),
    (RECORD.by_period, {}),
    (RECORD.check, {"expected": "50 Hz", "tolerance": "1 %"}),
    (
        fu.ViscosityCurve.from_points,
        {
            "points": POINTS_IN_TWO_LIQUIDS,
            "diameter_m": 0.0127,
            "reference_c": 20.0,
            "expansion_per_k": 1.7e-05,
            "known_scatter": 0.01,
        },
    ),
    (BY_VISCOSITY.diameter_m_at, {"temperature_c": 20.0}),
    (BY_VISCOSITY.k_pulses_per_l, {"frequency_hz": 100.0, "viscosity_mm2_s": 2.0, "temperature_c": 20.0}),
    (BY_VISCOSITY.meter_curve, {"viscosity_mm2_s": 2.0, "temperature_c": 20.0}),
    (
        fu.ViscosityLine.through,
        {
            "first": (-20.0, 5.0),
            "second": (40.0, 1.2),
            "source": "api_mpms_11_1_2004",
            "name": "x",
        },
    ),
    (fu.ViscosityLine.blended, {"parts": {LINE: 0.5, fu.viscosity("JP-8"): 0.5}}),
    (LINE.kinematic_viscosity, {"at": "20 degC"}),
    (LINE.kinematic_viscosity_mm2_s, {"temperature_c": 20.0}),
]
if find_spec("CoolProp"):
    CALLS.append((fu.pure_liquid, {"name": "Water"}))
