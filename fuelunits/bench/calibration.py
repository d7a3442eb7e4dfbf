"""K of a transducer with its uncertainty budget, from runs at one flow (:func:`calibrate`) or at several.

The causes that runs share do not average out; one that acts separately in each of them also shows in their scatter.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from statistics import fmean, stdev
from typing import Any

import numpy as np

from fuelunits.bench.runs import ONE_TEMPERATURE, GravimetricRun, Run, VolumetricRun
from fuelunits.errors import FuelUnitsError
from fuelunits.meters.curve import ONE_WARMTH, CalibrationPoint, remarks_on_repeats
from fuelunits.meters.k_factor import KFactor, k_factor_of
from fuelunits.quantities import QuantityLike, fraction
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import Range
from fuelunits.uncertainty import budget as gum
from fuelunits.uncertainty.budget import BudgetRow, budget, coverage_factor, nominal, standard_uncertainty, uncertain
from fuelunits.uncertainty.decisions import Conformity, conformity
from fuelunits.units import factor
from fuelunits.validation import ByValue, check_distinct, positive_number, print_unit, set_fields

_ONE_FLOW = 1.2  # ratio of frequencies beyond which runs are not at one flow (common practice, as the next ones)
_ONE_LIQUID = 1.02  # ratio of densities beyond which the viscosities are a fifth apart, as beyond ONE_WARMTH
_CONTRADICTION = 0.02  # spread of K beyond which runs contradict each other and no mean stands for them
_EXPANSION_PER_C = 0.001  # of a fuel or bench liquid, to one digit (common practice)
_NOISE = 1e-9  # relative scatter of floating-point arithmetic alone: results that agree to the last digit
_FOUND = Range("K found", 0.5, 1e6, "pulse/L", "transducers, from memory; is a mass in g, or a volume in mL?")
_REPEATABILITY = "repeatability of the runs"
_PRESSURE = "The pressure at the transducer is taken as that of the air: per bar above it, K is up to 0.01 % higher."
_OF_EACH = {("pulses", ""), ("mass reading", "kg"), ("measure volume", "L"), ("liquid temperature", "°C")}
_COUNTED = ": write counted(n), or, where they gate the run, uncertain(n, 0.01, name='gate')"


def mean_of_repeats(values: Sequence[Any], *, name: str, unit: str = "", repeatability: float = 0.0) -> Any:
    """Return the mean of repeated results, each with an uncertainty of its own and one that they share.

    A cause that acts separately in each counts once: as propagated, as the `repeatability`, a standard deviation well
    known, as a fraction, or as the standard deviation of the mean, with n - 1 degrees of freedom, whichever is largest.
    """
    count = len(values)
    mean = sum(values[1:], values[0]) / count
    known = repeatability * nominal(mean) / math.sqrt(count)
    if count == 1:
        return mean + uncertain(0.0, known, name=name, unit=unit)
    observed = float(np.std([nominal(value) for value in values], ddof=1)) / math.sqrt(count)
    observed *= observed > _NOISE * nominal(mean)
    least = max(known, standard_uncertainty(own := own_part(values, mean)))
    degrees = math.inf if known and observed <= least else count - 1
    return mean - own + uncertain(0.0, max(observed, least), name=name, unit=unit, degrees_of_freedom=degrees)


def own_part(values: Sequence[Any], result: Any) -> Any:
    """Return the part of a result, about zero, by those independent causes that act in one of the values only."""
    uses = Counter(each for value in values for each in getattr(value, "derivatives", {}))
    slopes = getattr(result, "derivatives", {}).items()
    return sum(slope * (each - each.nominal_value) for each, slope in slopes if uses[each] == 1)


def calibrate(runs: Iterable[Run], *, unit: str = "L", repeatability: Any = None) -> Calibration:
    """Return K from one or several runs at one flow.

    Parameters
    ----------
    runs : iterable of Run, in any order, each weighing or filling once, no copies
    unit : str, unit of volume of the report: ``"L"``, ``"gal"``, ``"imp_gal"``
    repeatability : str or pint.Quantity, optional, standard deviation of the K of a single run, ``"0.02 %"``
        As many earlier runs of such a transducer on this bench showed it: one run shows none, two or three show little.

    Examples
    --------
    >>> weighing = dict(mass_reading_kg=28.702, duration_s=120.0, liquid_temperature_c=20.0, liquid_density_kg_m3=802.1)
    >>> runs = [GravimetricRun(pulses=n, air_density_kg_m3=1.19, **weighing) for n in (408_960, 409_000, 408_935)]
    >>> print(calibrate(runs).k_factor, f"spread {calibrate(runs).spread:.3%}")
    11413.59 pulse/L spread 0.016%
    """
    known = None if repeatability is None else fraction(repeatability, name="repeatability")
    return Calibration(distinct_runs(runs), unit, known)


def _k_of(runs: Sequence[Run], known: float | None = None) -> list[Any]:
    """Return K of each run, where inputs of one name, or one reading, and sign of effect are one; counts are apart."""
    values = [run.k_pulses_per_l for run in runs]
    counts = {each for run in runs for each in getattr(run.pulses, "derivatives", ()) if each.std_dev < 1.0}
    slopes = {each: slope for each, slope in getattr(sum(values), "derivatives", {}).items() if slope * each.std_dev}
    readings = Counter((each.nominal_value, each.std_dev) for each in slopes if each.nominal_value)
    few = max(1.0 if known else 3.0, 0.75 * len(runs))  # what more runs than these read alike, they round alike
    first, causes = dict[tuple[float, float], str](), dict[tuple[str, bool], list[Any]]()
    for each, slope in slopes.items():
        if each not in counts and not getattr(each, "identity", gum.UNKNOWN).startswith(gum.UNKNOWN):
            reading, name = (each.nominal_value, each.std_dev), gum.name_of(each)
            name = first.setdefault(reading, name) if readings[reading] > few else name
            causes.setdefault((name, slope > 0.0), []).append(each)
    for alike in causes.values():
        mean, largest = fmean(each.nominal_value for each in alike), max(each.std_dev for each in alike)
        degrees = min(getattr(each.tag, "degrees_of_freedom", math.inf) for each in alike)
        words = {"name": f"{alike[0].tag}, {len(alike)} as one", "unit": getattr(alike[0].tag, "unit", "")}
        one = (uncertain(mean, largest, degrees_of_freedom=degrees, **words) - mean) / largest
        own = {each: each.std_dev * one - (each - each.nominal_value) for each in alike if len(alike) > 1}
        both = [(k, getattr(k, "derivatives", {})) for k in values]
        values = [k + sum(by[each] * own[each] for each in by if each in own) for k, by in both]
    return values


def _warmth_of_one_density(runs: Iterable[Run]) -> tuple[float, float]:
    """Return the temperatures, °C, between which runs were weighed with one density, of any of them; else zeros."""
    weighed = [run for run in runs if isinstance(run, GravimetricRun) and run.density_temperature_c is None]
    warmth = [float(nominal(run.liquid_temperature_c)) for run in weighed]
    densities = {nominal(run.liquid_density_kg_m3) for run in weighed}
    return (min(warmth), max(warmth)) if len(densities) == 1 else (0.0, 0.0)


def _often_plain(run: Any, count: int) -> dict[str, float]:
    """Return inputs that are often plain, and by what share of the mean K of so many runs they may be off."""
    shares = {"pulses": 1.0 / math.sqrt(6.0 * count) / nominal(run.pulses)}  # as counted()
    if isinstance(run, VolumetricRun):  # a tenth of the expansion (common practice, as the next one)
        warming = nominal(run.measure_temperature_c - run.reference_temperature_c)
        return shares | {"measure_expansion_per_k": 0.1 * nominal(run.measure_expansion_per_k) * abs(warming)}
    return shares | {"air_density_kg_m3": 0.03 / nominal(run.liquid_density_kg_m3)}  # by the weather at one place


def distinct_runs(runs: Iterable[Run]) -> tuple[Run, ...]:
    """Return runs, or refuse them where one is there twice, also as a copy or loaded from two copies of its file."""
    return check_distinct(runs, Run, "runs", "GravimetricRun or VolumetricRun")


def unlike(calibrations: Sequence[Calibration]) -> list[str]:
    """Return what is missing for the K of calibrations to be compared: clear causes, and one liquid."""
    return [*gum.unclear_causes(each.k_pulses_per_l for each in calibrations), *unlike_liquids(calibrations)]


def expanded_scatter(found: Calibration) -> float:
    """Return the part of U of K that the scatter of its runs gives, as a fraction: no two calibrations share it."""
    rows = [row for row in found.budget() if row.name == _REPEATABILITY]
    return sum(gum.student_t(gum.COVERAGE, row.degrees_of_freedom) * row.contribution for row in rows) / found._k


def unlike_liquids(parts: Sequence[Run | Calibration]) -> list[str]:
    """Return in which liquids, too far apart, K was found: it depends on the viscosity."""
    runs = [run for each in parts for run in (each.runs if isinstance(each, Calibration) else (each,))]
    found = list[str]()
    density = sorted(nominal(run.density_kg_m3_at(None)) for run in runs if isinstance(run, GravimetricRun))
    warmth = sorted(nominal(run.liquid_temperature_c) for run in runs)
    if density and density[-1] > _ONE_LIQUID * density[0]:
        found.append(f"runs in one liquid: these were in {density[0]:.4g} to {density[-1]:.4g} kg/m³")
    if warmth[-1] - warmth[0] > ONE_WARMTH:
        found.append(f"runs at one temperature: these were at {warmth[0]:.3g} to {warmth[-1]:.3g} °C")
    return found


@dataclass(frozen=True, repr=False, eq=False)
class Calibration(ByValue, Reporting):
    """K at one flow, as :func:`calibrate` finds it.

    Attributes
    ----------
    unit : str, unit of volume of the report
    repeatability : float or None, known standard deviation of the K of a single run, as a fraction
    k_pulses_per_l : uncertainties.UFloat or float, mean K; it may share causes with another K of the same bench

    Examples
    --------
    >>> run = GravimetricRun(pulses=408_960, mass_reading_kg=28.7021, duration_s=120.0, liquid_temperature_c=20.0,
    ...     liquid_density_kg_m3=802.1, air_density_kg_m3=1.19)
    >>> calibrate([run], repeatability="0.02 %").missing[:2]
    ('the uncertainty of the mass reading or the balance factor', 'the uncertainty of the liquid density')
    """

    runs: tuple[Run, ...]
    unit: str = "L"
    repeatability: float | None = None
    k_pulses_per_l: Any = field(init=False)

    _plain = (
        *("k_factor", "missing", "relative_uncertainty", "coverage_factor", "expanded_uncertainty"),
        *("frequency_hz", "flow_l_per_h", "spread", "budget"),
    )

    def __post_init__(self) -> None:
        runs, known = distinct_runs(self.runs), self.repeatability
        known = None if known is None else positive_number(known, "repeatability", example=2e-4)
        mean = mean_of_repeats(_k_of(runs, known), name=_REPEATABILITY, unit="pulse/L", repeatability=known or 0.0)
        half_width = _EXPANSION_PER_C * float(np.ptp(_warmth_of_one_density(runs))) / 2.0 * nominal(mean)
        mean = mean + uncertain(0.0, half_width / math.sqrt(3.0), name="temperature of the one density", unit="pulse/L")
        standard_uncertainty(mean)  # now, because threads that share a calibration must not work it out at once
        set_fields(self, runs=runs, unit=KFactor(1, per=self.unit).unit, repeatability=known, k_pulses_per_l=mean)
        _FOUND.check(self._k)

    @property
    def _k(self) -> float:
        return float(nominal(self.k_pulses_per_l))

    @property
    def k_factor(self) -> KFactor:
        """Mean K, per unit of volume of the report."""
        return KFactor(self._k, per="L").to(self.unit)

    @property
    def frequency_hz(self) -> float:
        """Mean pulse frequency, Hz."""
        return math.fsum(run.frequency_hz for run in self.runs) / len(self.runs)

    @property
    def flow_l_per_h(self) -> float:
        """Mean volume flow, L/h."""
        return 3600.0 * self.frequency_hz / self._k

    @cached_property
    def missing(self) -> tuple[str, ...]:
        """What is missing for a complete uncertainty of K; empty where nothing is missing."""
        inputs = list(dict.fromkeys(each for run in self.runs for each in run.missing))
        inputs += gum.unclear_causes(_k_of(self.runs), [run.pulses for run in self.runs]) + unlike_liquids(self.runs)
        hz = [run.frequency_hz for run in self.runs]
        if max(hz) > _ONE_FLOW * min(hz):
            inputs.append(f"runs at one flow: these were made at {min(hz):.4g} to {max(hz):.4g} Hz")
        low, high = _warmth_of_one_density(self.runs)
        inputs += [f"density_temperature: one density for {low:g} to {high:g} °C"] * (high - low > ONE_TEMPERATURE)
        if self.spread > _CONTRADICTION:
            inputs.append(f"runs that agree: their K spreads by {format_percent(self.spread)}; find the cause")
        if not self.repeatability and not any(row.name == _REPEATABILITY for row in self.budget()):
            why = "make two runs or more, or" if len(self.runs) == 1 else "runs that agree to the last digit hide it;"
            inputs.append(f"the repeatability: {why} state repeatability='0.02 %'")
        third = self.expanded_uncertainty() / 6.0  # of u, to which it adds a twentieth
        in_line: list[Any] = [run for run in self.runs if getattr(run, "density_temperature_c", 0.0) is None]
        warmth = 0.1 * max((nominal(run.liquid_expansion_per_k or _EXPANSION_PER_C) for run in in_line), default=0.0)
        inputs += ["density_temperature: 0.1 °C between it and that at the transducer would be seen"] * (warmth > third)
        plain = [(run, *each) for run in self.runs for each in _often_plain(run, len(self.runs)).items()]
        lacking = ((name, each) for run, name, share in plain if share > third for each in run._unstated((name,)))
        return tuple(dict.fromkeys([*inputs, *(each + _COUNTED * (name == "pulses") for name, each in lacking)]))

    @property
    def relative_uncertainty(self) -> float:
        """Standard uncertainty of K, as a fraction of it, from the inputs whose uncertainty is stated."""
        return standard_uncertainty(self.k_pulses_per_l) / self._k

    @property
    def spread(self) -> float:
        """Highest K of the runs less the lowest, over the lowest; NaN for one run [api_mpms_4_8, recalled]."""
        values = self._values
        return (max(values) - min(values)) / min(values) if len(values) > 1 else math.nan

    @property
    def _values(self) -> list[float]:
        return [float(nominal(run.k_pulses_per_l)) for run in self.runs]

    def coverage_factor(self, *, probability: float = gum.COVERAGE) -> float:
        """Return the coverage factor, with Student's t for each cause: 2.00 where all their degrees are infinite."""
        return coverage_factor(self.k_pulses_per_l, probability=probability)

    def expanded_uncertainty(self) -> float:
        """Return the expanded uncertainty of K, as a fraction of it, for 95.45 %."""
        return self.coverage_factor() * self.relative_uncertainty

    def budget(self) -> tuple[BudgetRow, ...]:
        """Return the contributions to the uncertainty of K, the largest first, in pulses per litre."""
        return budget(self.k_pulses_per_l)

    rows = budget

    def conformity(self, k_factor: Any, *, tolerance: QuantityLike, guard: float = 1.0) -> Conformity:
        """Judge an indication that uses a K-factor, ``"11400 pulse/L"``, by its relative error and a tolerance.

        The guard band is so many expanded uncertainties. Undecided where an uncertainty is :attr:`missing`.
        """
        entered, guard = k_factor_of(k_factor), positive_number(guard, "guard", zero=True)
        error = entered.indication_error(self.k_factor)
        k, limit = self.coverage_factor(), 100.0 * fraction(tolerance, name="tolerance")
        expanded, degrees = 100.0 * (1.0 + error) * self.expanded_uncertainty() or None, gum.degrees_of_coverage(k)
        how: dict[str, Any] = {"coverage_factor": k, "degrees_of_freedom": degrees, "missing": self.missing}
        found = conformity(100.0 * error, expanded, limit, guard=guard, **how)
        # its k covers what it states: the degrees, taken down for the probability, must not widen the guard band
        band, subject = found.guard_band and guard * (found.expanded_uncertainty or 0.0), f"K = {entered} entered: "
        return replace(found, unit="%", guard_band=band, subject=subject)

    def report(self) -> Report:
        _, flow, k, expanded, times, runs, _ = self.cells().values()
        unit, several, stated = f"pulse/{self.unit}", len(self.runs) > 1, "not known"
        if expanded is not None:
            share = format_percent(self.expanded_uncertainty(), digits=2)
            stated = f"{expanded} {unit}, {share} of K (k = {times} for {gum.COVERAGE * 100:.2f} % coverage)"
        presumed = dict.fromkeys(filter(None, (run.presumed for run in self.runs)))
        alike, tables = self._tables()
        large = [f"K is below 20 pulse/L, as of the largest {_FOUND.source}"] * (self._k < 20.0)
        return Report(
            f"K = {k} {unit} at {self.frequency_hz:.5g} Hz, {flow} {self.unit}/h",
            verdict="uncertainty incomplete" if self.missing else f"K = ({k} ± {expanded}) {unit}, k = {times}",
            facts={
                "U of the stated inputs alone" if self.missing else "expanded uncertainty U": stated,
                "runs": runs,
                "spread of the runs": format_percent(self.spread) if several else None,
                "standard deviation of the runs": format_percent(stdev(self._values) / self._k) if several else None,
                "in all runs": alike,
            },
            tables=tables,
            remarks=[*(f"missing: {each}" for each in self.missing), *large, _PRESSURE, *presumed],
            sources=("jcgm_100_2008", "banerjee_1960"),
        )

    def cells(self) -> dict[str, str | None]:
        """Return the calibration as a row of text, per unit of volume of the report, K and U to the uncertainty."""
        k, flow = float(self.k_factor), self.flow_l_per_h * factor("L", self.unit)
        u = k * self.expanded_uncertainty()
        found, expanded = gum.round_to_uncertainty(k, u) if u else (f"{k:.7g}", None)
        return {
            "Hz": f"{self.frequency_hz:.5g}",
            f"{self.unit}/h": f"{flow:.5g}",
            f"K, pulse/{self.unit}": found,
            f"U, pulse/{self.unit}": expanded,
            "k": f"{self.coverage_factor():.2f}",
            "runs": str(len(self.runs)),
            "spread, %": None if len(self.runs) < 2 else f"{100.0 * self.spread:.4f}",
        }

    def _tables(self) -> tuple[str, list[Table]]:
        """Return the inputs that are alike in all runs in words, and tables of the budget and of the others by run."""
        rows = [{name: f"{nominal(value):.10g}" for name, value in run.inputs().items()} for run in self.runs]
        alike = {name for name, text in rows[0].items() if all(row.get(name) == text for row in rows)} - _OF_EACH
        cells = [{", ".join(filter(None, name)): row[name] for name in row if name not in alike} for row in rows]
        for row, k in zip(cells, self._values, strict=True):
            row[f"K, pulse/{self.unit}"] = f"{k / factor('L', self.unit):.7g}"
        words = (f"{name} {text} {unit}".rstrip() for (name, unit), text in rows[0].items() if (name, unit) in alike)
        budget = [
            dict[str, Any](input=row.name, value=value, u=u, unit=print_unit(row.unit))
            | {"on K, %": f"{100.0 * row.contribution / self._k:.4f}", "share, %": f"{100.0 * row.share:.1f}"}
            | {"dof": None if math.isinf(row.degrees_of_freedom) else f"{row.degrees_of_freedom:.0f}"}
            for row in self.budget()
            for value, u in [gum.round_to_uncertainty(row.value, row.standard_uncertainty)]
        ]
        return "; ".join(words), [*[Table.of(budget)] * bool(budget), Table.of(cells, "run by run")]


@dataclass(frozen=True, repr=False)
class BenchResult(Reporting):
    """K at several flows of one transducer.

    Parameters
    ----------
    calibrations : iterable of Calibration, in any order, all reported in one unit; kept by rising frequency

    Examples
    --------
    >>> weighing = dict(pulses=408_960, mass_reading_kg=28.7021, liquid_temperature_c=20.0, liquid_density_kg_m3=802.1)
    >>> runs = [GravimetricRun(duration_s=seconds, air_density_kg_m3=1.19, **weighing) for seconds in (120.0, 480.0)]
    >>> [round(point.frequency_hz, 1) for point in BenchResult(calibrate([run]) for run in runs).points()]
    [852.0, 3408.0]
    """

    calibrations: tuple[Calibration, ...]

    def __init__(self, calibrations: Iterable[Calibration]) -> None:
        made = check_distinct(calibrations, Calibration, "calibrations", "Calibration, which calibrate() makes")
        distinct_runs(run for each in made for run in each.runs)
        if len({found.unit for found in made}) > 1:
            raise FuelUnitsError("a bench result has one unit; write calibrate(runs, unit='L') in all calibrations")
        set_fields(self, calibrations=tuple(sorted(made, key=lambda found: found.frequency_hz)))

    def points(self) -> tuple[CalibrationPoint, ...]:
        """Return the points of a ``MeterCurve``, with u half of U, so that 2 u covers as U does; NaN if unknown."""
        alike, found = not unlike(self.calibrations), self.calibrations
        u = [each.expanded_uncertainty() / 2.0 if alike and not each.missing else math.nan for each in found]
        return tuple(CalibrationPoint(each.frequency_hz, each._k, known) for each, known in zip(found, u, strict=True))

    def rows(self) -> Sequence[dict[str, Any]]:
        return [
            {"frequency_hz": found.frequency_hz, "flow_l_per_h": found.flow_l_per_h, "k_pulses_per_l": found._k}
            | {"relative_uncertainty": found.relative_uncertainty, "coverage_factor": found.coverage_factor()}
            | {"relative_expanded_uncertainty": found.expanded_uncertainty(), "spread": found.spread}
            | {"missing": "; ".join(found.missing)}
            for found in self.calibrations
        ]

    def report(self) -> Report:
        of_each = [each for found in self.calibrations for each in found.missing]
        missing = [f"missing: {each}" for each in dict.fromkeys([*of_each, *unlike(self.calibrations)])]
        tables, repeated = [Table.of(found.cells() for found in self.calibrations)], remarks_on_repeats(self.points())
        verdict = "uncertainty incomplete" * bool(missing)
        return Report("K over flow", verdict, {}, tables, missing + repeated, ("jcgm_100_2008",))
