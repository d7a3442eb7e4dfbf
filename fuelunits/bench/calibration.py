"""What a calibration on the bench finds: K at a flow and at several, with its uncertainty budget.

A K-factor comes with a relative standard uncertainty, with an expanded one for a stated coverage, and
with the budget that makes it up. Runs are of :mod:`fuelunits.bench.gravimetric` or :mod:`fuelunits.bench.volumetric`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from fuelunits.bench.observations import mean_of_repeats
from fuelunits.bench.run import Run
from fuelunits.errors import FuelUnitsError
from fuelunits.frames import frame
from fuelunits.html import report
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import fraction
from fuelunits.reports import CAUTION
from fuelunits.uncertainty.budget import (
    COVERAGE,
    BudgetRow,
    budget,
    coverage_factor,
    effective_degrees_of_freedom,
    nominal,
    positive_coverage_factor,
    standard_uncertainty,
    stated,
)
from fuelunits.uncertainty.conformity import Conformity, conformity
from fuelunits.validation import check_type, check_types

__all__ = ["BenchResult", "Calibration", "calibrate"]


def calibrate(runs: Iterable[Run]) -> Calibration:
    """Find K from one or several runs at one flow.

    Parameters
    ----------
    runs : iterable of Run
        Their order does not matter.

    Returns
    -------
    Calibration

    Raises
    ------
    FuelUnitsError
        If there is no run.

    Examples
    --------
    >>> from fuelunits.bench.gravimetric import GravimetricRun
    >>> from fuelunits.uncertainty.budget import uncertain
    >>> density = uncertain(802.1, 0.1, name="liquid density")
    >>> weighings = [(272_040, 28.7021), (272_055, 28.7043), (272_030, 28.7000)]
    >>> found = calibrate(
    ...     GravimetricRun(
    ...         pulses=pulses, mass_reading_kg=uncertain(mass, 0.001, name="balance reading"), duration_s=120.0,
    ...         liquid_temperature_c=20.0, liquid_density_kg_m3=density, air_density_kg_m3=1.19,
    ...     )
    ...     for pulses, mass in weighings
    ... )
    >>> print(found.k_factor.rounded(1), f"u = {found.relative_uncertainty:.4%}")
    7592 pulse/L u = 0.0126%
    """
    made = check_types(runs, Run, "runs", "GravimetricRun or VolumetricRun")
    if not made:
        raise FuelUnitsError("a calibration needs one run at least")
    return Calibration(made, mean_of_repeats([run.k_pulses_per_l for run in made], name="repeatability of the runs"))


@dataclass(frozen=True)
class Calibration:
    """K at one flow, as :func:`calibrate` finds it.

    Attributes
    ----------
    runs : tuple of Run
        The runs.
    k_pulses_per_l : uncertainties.UFloat or float
        Mean K, with all that its uncertainty depends on: a flow computed from it, or another K of the
        same bench, is correlated with it as it should be.

    Examples
    --------
    >>> from fuelunits.bench.volumetric import VolumetricRun
    >>> found = calibrate(
    ...     VolumetricRun(
    ...         pulses=pulses, measure_volume_l=20.0, duration_s=60.0, liquid_temperature_c=22.0,
    ...         measure_temperature_c=22.0, measure_expansion_per_k=50e-6, liquid_expansion_per_k=9e-4,
    ...     )
    ...     for pulses in (151_850, 151_862, 151_845)
    ... )
    >>> print(f"{found.k_factor}, {found.flow_l_per_h:.1f} L/h, spread {found.spread:.3%}")
    7591.857 pulse/L, 1200.1 L/h, spread 0.011%
    """

    runs: tuple[Run, ...]
    k_pulses_per_l: Any

    @property
    def k_factor(self) -> KFactor:
        """Mean K."""
        return KFactor(float(nominal(self.k_pulses_per_l)), per="L")

    @property
    def frequency_hz(self) -> float:
        """Mean pulse frequency, Hz."""
        return math.fsum(run.frequency_hz for run in self.runs) / len(self.runs)

    @property
    def flow_l_per_h(self) -> float:
        """Mean volume flow, L/h."""
        return 3600.0 * self.frequency_hz / float(nominal(self.k_pulses_per_l))

    @property
    def relative_uncertainty(self) -> float:
        """Standard uncertainty of K, as a fraction of it."""
        return self._relative(standard_uncertainty(self.k_pulses_per_l))

    @property
    def relative_standard_deviation(self) -> float:
        """Experimental standard deviation of the runs' K, as a fraction; NaN for one run."""
        return self._relative(float(np.std(self._values(), ddof=1))) if len(self.runs) > 1 else math.nan

    @property
    def spread(self) -> float:
        """Highest K of the runs less the lowest, over the lowest; NaN for one run (API MPMS 4.8, recalled)."""
        values = self._values()
        return (max(values) - min(values)) / min(values) if len(values) > 1 else math.nan

    @property
    def effective_degrees_of_freedom(self) -> float:
        """Effective degrees of freedom of the uncertainty (Welch and Satterthwaite)."""
        return effective_degrees_of_freedom(self.k_pulses_per_l)

    @property
    def point(self) -> tuple[float, float, float]:
        """Frequency in Hz, K in pulses per litre, relative standard uncertainty: a point of a meter curve."""
        return self.frequency_hz, float(nominal(self.k_pulses_per_l)), self.relative_uncertainty

    def coverage_factor(self, *, probability: float = COVERAGE) -> float:
        """Give the coverage factor: t at the effective degrees of freedom, 2.00 where they are infinite."""
        return coverage_factor(self.k_pulses_per_l, probability=probability)

    def expanded_uncertainty(self, *, coverage_factor: float | None = None) -> float:
        """Give the expanded uncertainty U of K, as a fraction of it.

        Parameters
        ----------
        coverage_factor : float, optional
            A fixed one, such as 2.0; by default that of 95.45 %, see :meth:`coverage_factor`.

        Raises
        ------
        QuantityError
            If the coverage factor is not positive and finite.
        """
        factor = self.coverage_factor() if coverage_factor is None else positive_coverage_factor(coverage_factor)
        return factor * self.relative_uncertainty

    def budget(self) -> tuple[BudgetRow, ...]:
        """Give what makes up the uncertainty of K, the largest first; contributions in pulses per litre."""
        return budget(self.k_pulses_per_l)

    def conformity(self, entered: KFactor, *, tolerance: Any, guard: float = 1.0) -> Conformity:
        """Judge an indication that uses a K-factor: the old one as found, a new one as left.

        Parameters
        ----------
        entered : KFactor
            The K-factor that the indicator has.
        tolerance : str or pint.Quantity
            Tolerance of the indication, such as ``"1 %"``.
        guard : float
            Guard band in units of the expanded uncertainty, see :func:`fuelunits.uncertainty.conformity.conformity`.

        Returns
        -------
        Conformity
            Of the relative error of the indication, ``entered.indication_error(found)``.
        """
        check_type(entered, KFactor, "entered", "KFactor(28_740, per='gal')")
        error = entered.indication_error(self.k_factor)
        return conformity(
            error, (1.0 + error) * self.expanded_uncertainty(), fraction(tolerance, name="tolerance"), guard=guard
        )

    def table(self) -> str:
        """Give the budget as a plain table, contributions relative to K."""
        lines = [f"{'input':<34}{'value':>14}{'u':>12} {'unit':<8}{'on K':>10}{'share':>8}{'dof':>7}"]
        for row in self.budget():
            degrees = "-" if math.isinf(row.degrees_of_freedom) else f"{row.degrees_of_freedom:.0f}"
            lines.append(
                f"{row.name:<34}{row.value:>14.7g}{row.standard_uncertainty:>12.3g} {row.unit:<8}"
                f"{self._relative(row.contribution):>10.4%}{row.share:>8.1%}{degrees:>7}"
            )
        return "\n".join(lines)

    def as_dict(self) -> dict[str, Any]:
        """Give everything as plain JSON types; None where there is no number, or no end to it."""
        return {
            "k_pulses_per_l": float(nominal(self.k_pulses_per_l)),
            "relative_uncertainty": self.relative_uncertainty,
            "coverage_factor": self.coverage_factor(),
            "relative_expanded_uncertainty": self.expanded_uncertainty(),
            "effective_degrees_of_freedom": _finite(self.effective_degrees_of_freedom),
            "frequency_hz": self.frequency_hz,
            "flow_l_per_h": self.flow_l_per_h,
            "runs_k_pulses_per_l": self._values(),
            "relative_standard_deviation": _finite(self.relative_standard_deviation),
            "spread": _finite(self.spread),
            "budget": [{**vars(row), "degrees_of_freedom": _finite(row.degrees_of_freedom)} for row in self.budget()],
            "caution": CAUTION,
        }

    def __str__(self) -> str:
        return "\n".join([self._statement(), self.table(), CAUTION])

    def to_frame(self) -> Any:
        """Give the budget as a pandas data frame; contributions in pulses per litre."""
        return frame(vars(row) for row in self.budget())

    def _repr_html_(self) -> str:
        title, *more = self._statement().splitlines()
        return report(title, {"found": "; ".join(more)}, [self._cells(row) for row in self.budget()])

    def _cells(self, row: BudgetRow) -> dict[str, str | None]:
        value, u = stated(row.value, row.standard_uncertainty)
        degrees = row.degrees_of_freedom
        return {
            "input": row.name,
            "value": value,
            "u": u,
            "unit": row.unit,
            "on K, %": f"{100.0 * self._relative(row.contribution):.4f}",
            "share, %": f"{100.0 * row.share:.1f}",
            "dof": None if math.isinf(degrees) else f"{degrees:.0f}",
        }

    def _statement(self) -> str:
        value, u = float(nominal(self.k_pulses_per_l)), standard_uncertainty(self.k_pulses_per_l)
        factor = self.coverage_factor()
        shown, expanded = stated(value, factor * u) if u else (f"{value:.10g}", "0")
        lines = [
            f"K = {shown} pulse/L, U = {expanded} pulse/L ({100.0 * self.expanded_uncertainty():.2g} % of K, "
            f"k = {factor:.2f} for {COVERAGE:.2%} coverage)",
            f"at {self.frequency_hz:.5g} Hz, {self.flow_l_per_h:.5g} L/h; {len(self.runs)} run(s)",
        ]
        if len(self.runs) > 1:
            lines.append(f"spread {self.spread:.4%}, standard deviation {self.relative_standard_deviation:.4%}")
        return "\n".join(lines)

    def _values(self) -> list[float]:
        return [float(nominal(run.k_pulses_per_l)) for run in self.runs]

    def _relative(self, pulses_per_l: float) -> float:
        return pulses_per_l / float(nominal(self.k_pulses_per_l))


@dataclass(frozen=True)
class BenchResult:
    """K at several flows of one transducer.

    Parameters
    ----------
    calibrations : iterable of Calibration
        In any order; kept by rising frequency.

    Raises
    ------
    FuelUnitsError
        If there is none.

    Examples
    --------
    >>> from fuelunits.bench.volumetric import VolumetricRun
    >>> result = BenchResult(
    ...     calibrate([
    ...         VolumetricRun(
    ...             pulses=151_850, measure_volume_l=20.0, duration_s=seconds, liquid_temperature_c=22.0,
    ...             measure_temperature_c=22.0, measure_expansion_per_k=50e-6, liquid_expansion_per_k=9e-4,
    ...         )
    ...     ])
    ...     for seconds in (60.0, 240.0)
    ... )
    >>> [round(hz, 1) for hz, k_pulses_per_l, relative_uncertainty in result.points()]
    [632.7, 2530.8]
    """

    calibrations: tuple[Calibration, ...]

    def __init__(self, calibrations: Iterable[Calibration]) -> None:
        made = check_types(calibrations, Calibration, "calibrations", "Calibration, which calibrate() makes")
        ordered = tuple(sorted(made, key=lambda found: found.frequency_hz))
        if not ordered:
            raise FuelUnitsError("a bench result needs one calibration at least")
        object.__setattr__(self, "calibrations", ordered)

    def points(self) -> tuple[tuple[float, float, float], ...]:
        """Give the points of a meter curve: frequency in Hz, K in pulses per litre, relative standard uncertainty."""
        return tuple(found.point for found in self.calibrations)

    def correlation(self) -> Any:
        """Give how far the K at one flow is correlated with that at another, through what they share.

        Returns
        -------
        numpy.ndarray
            Matrix of correlation coefficients, by rising frequency; NaN where a K is exact.
        """
        size = len(self.calibrations)
        matrix = np.full((size, size), math.nan)
        known = [i for i, found in enumerate(self.calibrations) if found.relative_uncertainty]
        if known:
            from uncertainties import correlation_matrix

            matrix[np.ix_(known, known)] = correlation_matrix([self.calibrations[i].k_pulses_per_l for i in known])
        return matrix

    def table(self) -> str:
        """Give K over flow as a plain table."""
        lines = [f"{'Hz':>10}{'L/h':>10}{'pulse/L':>12}{'u':>10}{'U':>10}{'k':>7}{'runs':>6}{'spread':>10}"]
        for found in self.calibrations:
            spread = "-" if len(found.runs) < 2 else f"{found.spread:.4%}"
            lines.append(
                f"{found.frequency_hz:>10.5g}{found.flow_l_per_h:>10.5g}{float(found.k_factor):>12.7g}"
                f"{found.relative_uncertainty:>10.4%}{found.expanded_uncertainty():>10.4%}"
                f"{found.coverage_factor():>7.2f}{len(found.runs):>6}{spread:>10}"
            )
        return "\n".join(lines)

    def as_dict(self) -> dict[str, Any]:
        """Give everything as plain JSON types."""
        return {"calibrations": [found.as_dict() for found in self.calibrations], "caution": CAUTION}

    def __str__(self) -> str:
        return f"{self.table()}\n{CAUTION}"

    def to_frame(self) -> Any:
        """Give K over flow as a pandas data frame; uncertainties as fractions."""
        return frame({name: found.as_dict()[name] for name in _COLUMNS} for found in self.calibrations)

    def _repr_html_(self) -> str:
        return report("K over flow", rows=[_cells(found) for found in self.calibrations])


_COLUMNS = (
    "frequency_hz",
    "flow_l_per_h",
    "k_pulses_per_l",
    "relative_uncertainty",
    "relative_expanded_uncertainty",
    "coverage_factor",
    "spread",
)


def _cells(found: Calibration) -> dict[str, str | None]:
    k, u = float(found.k_factor), found.expanded_uncertainty() * float(found.k_factor)
    shown, expanded = stated(k, u) if u else (f"{k:.7g}", "0")
    return {
        "Hz": f"{found.frequency_hz:.5g}",
        "L/h": f"{found.flow_l_per_h:.5g}",
        "K, pulse/L": shown,
        "U, pulse/L": expanded,
        "k": f"{found.coverage_factor():.2f}",
        "runs": str(len(found.runs)),
        "spread, %": None if len(found.runs) < 2 else f"{100.0 * found.spread:.4f}",
    }


def _finite(number: float) -> float | None:
    return number if math.isfinite(number) else None
