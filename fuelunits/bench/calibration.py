"""The result of a calibration on the bench: K at one flow, with its uncertainty budget.

Runs are of :mod:`fuelunits.bench.gravimetric` or :mod:`fuelunits.bench.volumetric`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fuelunits.arrays import ByValue
from fuelunits.bench.gravimetric import GravimetricRun
from fuelunits.bench.observations import mean_of_repeats
from fuelunits.bench.run import Run
from fuelunits.errors import FuelUnitsError
from fuelunits.meters.k_factor import KFactor
from fuelunits.meters.points import CalibrationPoint
from fuelunits.quantities import QuantityLike, fraction
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import Range
from fuelunits.uncertainty.budget import (
    COVERAGE,
    BudgetRow,
    budget,
    coverage_factor,
    degrees_of_coverage,
    nominal,
    round_to_uncertainty,
    standard_uncertainty,
)
from fuelunits.uncertainty.conformity import Conformity, conformity
from fuelunits.validation import check_types, positive_number

_ONE_FLOW = 1.2
"""Ratio of frequencies beyond which runs are not at one flow (common practice)."""
_ONE_TEMPERATURE = 0.5
"""By how many °C the liquid of runs with one density may differ: 0.05 % of a fuel (common practice)."""
_CONTRADICTION = 0.02
"""Spread of K beyond which runs contradict each other and no mean stands for them (common practice)."""
_FOUND = Range(
    "K found", 20.0, 1e6, "pulse/L", "transducers of aircraft, from memory; is a mass in g, or a volume in mL?"
)
_REPEATABILITY = "repeatability of the runs"


def calibrate(runs: Iterable[Run], *, unit: str = "L", repeatability: Any = None) -> Calibration:
    """Return K from one or several runs at one flow.

    Parameters
    ----------
    runs : iterable of Run, in any order, each weighing or filling once
    unit : str, unit of volume of the report: ``"L"``, ``"gal"``, ``"imp_gal"``
    repeatability : str or pint.Quantity, optional
        Standard deviation of the K of a single run, ``"0.02 %"``, where many earlier runs of such a transducer on this
        bench showed it. Without it one run shows no repeatability, and two or three show little.

    Examples
    --------
    >>> from fuelunits.bench.volumetric import VolumetricRun
    >>> common = dict(liquid_temperature_c=22.0, measure_temperature_c=22.0, measure_expansion_per_k=50e-6,
    ...     liquid_expansion_per_k=9e-4, measure_volume_l=20.0, duration_s=60.0)
    >>> found = calibrate(VolumetricRun(pulses=pulses, **common) for pulses in (228_240, 228_262, 228_225))
    >>> print(f"{found.k_factor}, {found.flow_l_per_h:.1f} L/h, spread {found.spread:.3%}")
    11410.98 pulse/L, 1200.1 L/h, spread 0.016%
    """
    made = check_types(runs, Run, "runs", "GravimetricRun or VolumetricRun")
    if not made:
        raise FuelUnitsError("a calibration needs at least one run")
    if len({id(run) for run in made}) < len(made):
        raise FuelUnitsError("a run is given twice; each weighing or filling is one run")
    known = 0.0
    if repeatability is not None:
        known = positive_number(fraction(repeatability, name="repeatability"), "repeatability", example="'0.02 %'")
    values = [run.k_pulses_per_l for run in made]
    mean = mean_of_repeats(values, name=_REPEATABILITY, unit="pulse/L", repeatability=known * float(nominal(values[0])))
    return Calibration(made, mean, unit=unit, repeatability=known or None)


@dataclass(frozen=True, repr=False, eq=False)
class Calibration(ByValue, Reporting):
    """K at one flow, as :func:`calibrate` finds it.

    Attributes
    ----------
    k_pulses_per_l : uncertainties.UFloat or float
        Mean K, with the causes of its uncertainty, which it may share with another K of the same bench.
    unit : str, unit of volume of the report
    repeatability : float or None, known standard deviation of the K of a single run, as a fraction

    Examples
    --------
    >>> from fuelunits.bench.gravimetric import GravimetricRun
    >>> run = GravimetricRun(pulses=408_960, mass_reading_kg=28.7021, duration_s=120.0, liquid_temperature_c=20.0,
    ...     liquid_density_kg_m3=802.1, air_density_kg_m3=1.19)
    >>> calibrate([run], repeatability="0.02 %").missing
    ('the uncertainty of the mass reading or the balance factor', 'the uncertainty of the liquid density')
    """

    runs: tuple[Run, ...]
    k_pulses_per_l: Any
    unit: str = "L"
    repeatability: float | None = None

    _plain = (
        "k_factor",
        "missing",
        "relative_uncertainty",
        "coverage_factor",
        "expanded_uncertainty",
        "frequency_hz",
        "flow_l_per_h",
        "relative_standard_deviation",
        "spread",
        "budget",
    )

    def __post_init__(self) -> None:
        object.__setattr__(self, "unit", KFactor(1, per=self.unit).unit)
        _FOUND.check(float(nominal(self.k_pulses_per_l)))

    @property
    def k_factor(self) -> KFactor:
        """Mean K, per unit of volume of the report."""
        return KFactor(float(nominal(self.k_pulses_per_l)), per="L").to(self.unit)

    @property
    def frequency_hz(self) -> float:
        """Mean pulse frequency, Hz."""
        return math.fsum(run.frequency_hz for run in self.runs) / len(self.runs)

    @property
    def flow_l_per_h(self) -> float:
        """Mean volume flow, L/h."""
        return 3600.0 * self.frequency_hz / float(nominal(self.k_pulses_per_l))

    @property
    def flow(self) -> float:
        """Mean volume flow, in the report's unit of volume per hour."""
        return 3600.0 * self.frequency_hz / float(self.k_factor)

    @property
    def missing(self) -> tuple[str, ...]:
        """What is missing for a complete uncertainty of K; empty where nothing is missing."""
        inputs = tuple(dict.fromkeys(each for run in self.runs for each in run.missing))
        slowest, *_, fastest = sorted(run.frequency_hz for run in self.runs * 2)
        if fastest > _ONE_FLOW * slowest:
            inputs = (*inputs, f"runs at one flow: these were made at {slowest:.4g} to {fastest:.4g} Hz")
        weighed = [run for run in self.runs if isinstance(run, GravimetricRun) and run.density_temperature_c is None]
        warmth = sorted(nominal(run.liquid_temperature_c) for run in weighed) or [0.0]
        if warmth[-1] - warmth[0] > _ONE_TEMPERATURE and len({nominal(r.liquid_density_kg_m3) for r in weighed}) == 1:
            inputs = (*inputs, f"density_temperature: one density is given for {warmth[0]:g} to {warmth[-1]:g} °C")
        if self.spread > _CONTRADICTION:
            inputs = (*inputs, f"runs that agree: their K spreads by {format_percent(self.spread)}; find the cause")
        if self.repeatability or any(row.name == _REPEATABILITY for row in self.budget()):
            return inputs
        if len(self.runs) == 1:
            return (*inputs, "the repeatability: make two runs or more, or state repeatability='0.02 %'")
        return (*inputs, "the repeatability: runs that agree to the last digit hide it; state repeatability='0.02 %'")

    @property
    def relative_uncertainty(self) -> float:
        """Standard uncertainty of K, as a fraction of it, from the inputs whose uncertainty is stated."""
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
    def point(self) -> CalibrationPoint:
        """The calibration as a point of a meter curve."""
        return CalibrationPoint(self.frequency_hz, float(nominal(self.k_pulses_per_l)), self.relative_uncertainty)

    def coverage_factor(self, *, probability: float = COVERAGE) -> float:
        """Return the coverage factor, with Student's t for each cause: 2.00 where all their degrees are infinite."""
        return coverage_factor(self.k_pulses_per_l, probability=probability)

    def expanded_uncertainty(self, *, coverage_factor: float | None = None) -> float:
        """Return the expanded uncertainty of K, as a fraction of it, for 95.45 % or a fixed factor such as 2.0."""
        if coverage_factor is None:
            return self.coverage_factor() * self.relative_uncertainty
        return positive_number(coverage_factor, "coverage factor", example=2.0) * self.relative_uncertainty

    def budget(self) -> tuple[BudgetRow, ...]:
        """Return the contributions to the uncertainty of K, the largest first, in pulses per litre."""
        return budget(self.k_pulses_per_l)

    def conformity(self, k_factor: Any, *, tolerance: QuantityLike, guard: float = 1.0) -> Conformity:
        """Judge an indication that uses a K-factor, such as ``"11400 pulse/L"``: the old one as found, or a new one.

        The relative error is compared with a `tolerance` such as ``"1 %"``, with a guard band of so many expanded
        uncertainties. Undecided where an uncertainty is :attr:`missing`.
        """
        entered = k_factor if isinstance(k_factor, KFactor) else KFactor.read(k_factor)
        error, guard = entered.indication_error(self.k_factor), positive_number(guard, "guard", zero=True)
        found = conformity(
            100.0 * error,
            100.0 * (1.0 + error) * self.expanded_uncertainty() or None,
            100.0 * fraction(tolerance, name="tolerance"),
            guard=guard,
            coverage_factor=self.coverage_factor(),
            degrees_of_freedom=degrees_of_coverage(self.coverage_factor()),
            missing=self.missing,
        )
        # its k covers what it states: the degrees, taken down for the probability, must not widen the guard band
        band, subject = found.guard_band and guard * (found.expanded_uncertainty or 0.0), f"K = {entered} entered: "
        return replace(found, unit="%", guard_band=band, subject=subject)

    def rows(self) -> Sequence[BudgetRow]:
        """Return the budget; contributions in pulses per litre."""
        return self.budget()

    def report(self) -> Report:
        """Return K with its uncertainty and the budget, and what is missing."""
        k, expanded = self.cells()
        unit, factor = f"pulse/{self.unit}", f"k = {self.coverage_factor():.2f}"
        stated = "not known"
        if expanded is not None:
            share = format_percent(self.expanded_uncertainty(), digits=2)
            stated = f"{expanded} {unit}, {share} of K ({factor} for {COVERAGE * 100:.2f} % coverage)"
        several = len(self.runs) > 1
        return Report(
            f"K = {k} {unit} at {self.frequency_hz:.5g} Hz, {self.flow:.5g} {self.unit}/h",
            verdict="uncertainty incomplete" if self.missing else f"K = ({k} ± {expanded}) {unit}, {factor}",
            facts={
                "U of the stated inputs alone" if self.missing else "expanded uncertainty U": stated,
                "runs": len(self.runs),
                "spread of the runs": format_percent(self.spread) if several else None,
                "standard deviation of the runs": format_percent(self.relative_standard_deviation) if several else None,
            },
            tables=[Table.of(self._budget_cells(row) for row in self.budget())] if self.budget() else (),
            remarks=[f"missing: {each}" for each in self.missing],
            sources=("jcgm_100_2008", "banerjee_1960"),
        )

    def cells(self) -> tuple[str, str | None]:
        """Return K and U as text, rounded to the uncertainty, per unit of volume of the report."""
        k = float(self.k_factor)
        u = k * self.expanded_uncertainty()
        return round_to_uncertainty(k, u) if u else (f"{k:.7g}", None)

    def _budget_cells(self, row: BudgetRow) -> dict[str, str | None]:
        value, u = round_to_uncertainty(row.value, row.standard_uncertainty)
        degrees = row.degrees_of_freedom
        return {
            "input": row.name,
            "value": value,
            "u": u,
            "unit": row.unit.replace("^3", "³"),
            "on K, %": f"{100.0 * self._relative(row.contribution):.4f}",
            "share, %": f"{100.0 * row.share:.1f}",
            "dof": None if math.isinf(degrees) else f"{degrees:.0f}",
        }

    def _values(self) -> list[float]:
        return [float(nominal(run.k_pulses_per_l)) for run in self.runs]

    def _relative(self, pulses_per_l: float) -> float:
        return pulses_per_l / float(nominal(self.k_pulses_per_l))
