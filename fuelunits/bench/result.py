"""K of one transducer at several flows, as calibrations on the bench found it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from fuelunits.bench.calibration import Calibration
from fuelunits.errors import FuelUnitsError
from fuelunits.meters.points import CalibrationPoint
from fuelunits.reports import Report, Reporting, Table
from fuelunits.uncertainty.budget import nominal
from fuelunits.validation import check_types


@dataclass(frozen=True, repr=False)
class BenchResult(Reporting):
    """K at several flows of one transducer.

    Parameters
    ----------
    calibrations : iterable of Calibration, in any order, all reported in one unit; kept by rising frequency

    Examples
    --------
    >>> from fuelunits.bench.calibration import calibrate
    >>> from fuelunits.bench.volumetric import VolumetricRun
    >>> common = dict(liquid_temperature_c=22.0, measure_temperature_c=22.0, measure_expansion_per_k=50e-6,
    ...     liquid_expansion_per_k=9e-4, measure_volume_l=20.0, pulses=228_240)
    >>> result = BenchResult(calibrate([VolumetricRun(duration_s=seconds, **common)]) for seconds in (60.0, 240.0))
    >>> [round(point.frequency_hz, 1) for point in result.points()]
    [951.0, 3804.0]
    """

    calibrations: tuple[Calibration, ...]

    def __init__(self, calibrations: Iterable[Calibration]) -> None:
        made = check_types(calibrations, Calibration, "calibrations", "Calibration, which calibrate() makes")
        ordered = tuple(sorted(made, key=lambda found: found.frequency_hz))
        if not ordered:
            raise FuelUnitsError("a bench result needs at least one calibration")
        if len({found.unit for found in ordered}) > 1:
            raise FuelUnitsError(
                "a bench result needs calibrations in one unit; write calibrate(runs, unit='L') in all"
            )
        object.__setattr__(self, "calibrations", ordered)

    def points(self) -> tuple[CalibrationPoint, ...]:
        """Return the points of a meter curve: ``MeterCurve(result.points())``."""
        return tuple(found.point for found in self.calibrations)

    def rows(self) -> Sequence[dict[str, Any]]:
        """Return K over flow; uncertainties and spread as fractions."""
        return [
            {
                "frequency_hz": found.frequency_hz,
                "flow_l_per_h": found.flow_l_per_h,
                "k_pulses_per_l": float(nominal(found.k_pulses_per_l)),
                "relative_uncertainty": found.relative_uncertainty,
                "relative_expanded_uncertainty": found.expanded_uncertainty(),
                "coverage_factor": found.coverage_factor(),
                "spread": found.spread,
                "missing": "; ".join(found.missing),
            }
            for found in self.calibrations
        ]

    def report(self) -> Report:
        """Return K over flow."""
        missing = dict.fromkeys(each for found in self.calibrations for each in found.missing)
        return Report(
            "K over flow",
            verdict="uncertainty incomplete" if missing else "",
            tables=[Table.of(_cells(found) for found in self.calibrations)],
            remarks=[f"missing: {each}" for each in missing],
            sources=("jcgm_100_2008",),
        )


def _cells(found: Calibration) -> dict[str, str | None]:
    k, expanded = found.cells()
    return {
        "Hz": f"{found.frequency_hz:.5g}",
        f"{found.unit}/h": f"{found.flow:.5g}",
        f"K, pulse/{found.unit}": k,
        f"U, pulse/{found.unit}": expanded,
        "k": f"{found.coverage_factor():.2f}",
        "runs": str(len(found.runs)),
        "spread, %": None if len(found.runs) < 2 else f"{100.0 * found.spread:.4f}",
    }
