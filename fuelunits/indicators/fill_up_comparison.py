"""Compare the fuel that an indicator counted with the fuel that the truck delivered, over one or several fill-ups.

The errors of level and display step differ at each fill-up and average out; the calibration of the truck's meter does
not. A correction is justified only where all that matters is stated, two fill-ups or more agree, and no known mistake
explains the deviation. Their scatter is expanded with Student's t, and counts where it is larger than what was stated.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

from fuelunits.bench.observations import own_derivatives
from fuelunits.confusions import Confusion, diagnose_fill_up
from fuelunits.errors import FuelUnitsError
from fuelunits.indicators.fill_ups import FillUp
from fuelunits.indicators.written import decimals_of, set_fields, written_ratio
from fuelunits.meters.k_factor import KFactor
from fuelunits.quantities import fraction, positive
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.uncertainty.budget import (
    BudgetRow,
    budget,
    combined_coverage_factor,
    nominal,
    standard_uncertainty,
    uncertain,
)
from fuelunits.uncertainty.student_t import student_t
from fuelunits.units import factor
from fuelunits.validation import check_types, positive_number, whole_number

_GROSS = 0.08
"""A deviation beyond this is a mistake of an entry, a unit or the pulses (common practice)."""
_SPREAD = 0.05
"""Fill-ups that differ by more disagree, where no uncertainty of the level is stated (common practice)."""
_Z_99 = 2.326
_MOST_FILL_UPS = 1000


def compare_fill_ups(
    k_factor: KFactor | str, fill_ups: Iterable[FillUp], *, truck_uncertainty: Any = None, coverage_factor: float = 2.0
) -> FillUpComparison:
    """Return an indicator compared with the truck over one or several fill-ups.

    Parameters
    ----------
    k_factor : KFactor or str
        The K-factor that the indicator had in all of them.
    fill_ups : iterable of FillUp
        Their order does not matter.
    truck_uncertainty : str or pint.Quantity, optional
        Standard uncertainty of the calibration of the truck's meter, such as ``"0.2 %"``: one for all fill-ups whose
        `truck_factor` has none of its own.
    coverage_factor : float
        A deviation is significant beyond this number of standard uncertainties; 2 is about 95 %.

    Examples
    --------
    >>> fill = FillUp(indicated="387.5 L", delivered="378.9 L", display_step="0.5 L", level_uncertainty="5 L")
    >>> found = compare_fill_ups("11412 pulse/L", [fill], truck_uncertainty="0.2 %")
    >>> found.justified, found.more_fill_ups
    (False, 1)
    """
    return FillUpComparison(k_factor, fill_ups, truck_uncertainty, coverage_factor)


def _truck_is_known(fill_up: FillUp) -> bool:
    return bool(standard_uncertainty(fill_up.truck_factor))


def _shared_and_own(fill_ups: tuple[FillUp, ...], ratio: Any) -> tuple[float, float]:
    """Split the uncertainty of a ratio: the part that all fill-ups share, and the part that differs in each."""
    truck = {cause for fill in fill_ups for cause in getattr(fill.truck_factor, "derivatives", {})}
    anew = set(own_derivatives([fill.ratio for fill in fill_ups], ratio)) - truck
    parts: dict[bool, list[float]] = {True: [], False: []}
    for cause, slope in getattr(ratio, "derivatives", {}).items():
        parts[cause in anew].append(slope * cause.std_dev)
    return math.hypot(*parts[False]), math.hypot(*parts[True])


def _scatter(fill_ups: tuple[FillUp, ...], ratio: float) -> float:
    """Return the standard uncertainty of a ratio of sums from the scatter of its parts [jcgm_100_2008, 5.2.3]."""
    count = len(fill_ups)
    if count < 2:
        return 0.0
    used = [nominal(fill.used_l) for fill in fill_ups]
    squares = [(nominal(fill.indicated_l) - ratio * passed) ** 2 for fill, passed in zip(fill_ups, used, strict=True)]
    scatter = math.sqrt(count / (count - 1.0) * math.fsum(squares)) / math.fsum(used)
    return scatter if scatter > 1e-9 else 0.0  # less is floating-point noise of fill-ups that agree to the last digit


def _chi_square_99(degrees_of_freedom: int) -> float:
    """Return the 99 % quantile of chi-square, by the cube-root approximation of Wilson and Hilferty (from memory)."""
    ninth = 2.0 / (9.0 * degrees_of_freedom)
    return degrees_of_freedom * (1.0 - ninth + _Z_99 * math.sqrt(ninth)) ** 3


@dataclass(frozen=True, repr=False)
class FillUpComparison(Reporting):
    """An indicator against the truck, as :func:`compare_fill_ups` finds it.

    `ratio` is all that was indicated over all that was used. Its standard uncertainty has a part that the fill-ups
    share and more of them do not reduce, and one that differs in each: as stated, and by their scatter (0 for one).
    `budget` lists what was stated, the largest first.
    """

    k_factor: Any
    fill_ups: Any
    truck_uncertainty: Any = None
    coverage_factor: float = 2.0
    ratio: float = field(init=False, compare=False)
    shared_uncertainty: float = field(init=False, compare=False)
    stated_uncertainty: float = field(init=False, compare=False)
    scatter: float = field(init=False, compare=False)
    budget: tuple[BudgetRow, ...] = field(init=False, compare=False)

    _plain = ("deviation", "expanded_uncertainty", "missing", "disagreement", "mistakes", "justified", "adjusted")

    def __post_init__(self) -> None:
        given = self.k_factor if isinstance(self.k_factor, KFactor) else KFactor.read(self.k_factor)
        made = check_types(self.fill_ups, FillUp, "fill-ups", "FillUp(indicated='388 L', delivered='379 L')")
        if not made:
            raise FuelUnitsError("a comparison needs at least one fill-up")
        if len({id(fill) for fill in made}) < len(made):
            raise FuelUnitsError("a fill-up is given twice; make one FillUp for each filling")
        factor = positive_number(self.coverage_factor, "coverage factor", example=2.0)
        set_fields(self, k_factor=given, fill_ups=made, coverage_factor=factor)
        if self.truck_uncertainty is not None:
            set_fields(self, truck_uncertainty=written_ratio(self.truck_uncertainty, "L", "truck_uncertainty"))
            truck = uncertain(1.0, fraction(self.truck_uncertainty, name="truck_uncertainty"), name="truck's meter")
            made = tuple(
                each if _truck_is_known(each) else replace(each, truck_factor=each.truck_factor * truck)
                for each in made
            )
        ratio = sum(fill.indicated_l for fill in made) / sum(fill.used_l for fill in made)
        shared, own = _shared_and_own(made, ratio)
        set_fields(self, ratio=float(nominal(ratio)), shared_uncertainty=shared, stated_uncertainty=own)
        set_fields(self, scatter=_scatter(made, self.ratio), budget=budget(ratio))

    @property
    def deviation(self) -> float:
        """By how much the indicator exceeds the truck, as a fraction."""
        return self.ratio - 1.0

    @property
    def missing(self) -> tuple[str, ...]:
        """What must be stated before anything can be decided; empty where nothing is missing."""
        truck_is_stated = self.truck_uncertainty is not None and fraction(self.truck_uncertainty, name="truck") > 0.0
        found = []
        if not truck_is_stated and not all(map(_truck_is_known, self.fill_ups)):
            found.append("the uncertainty of the truck's meter, such as truck_uncertainty='0.2 %'")
        if not self._level_is_stated and not self.scatter:
            found.append("how closely tanks are filled to one level, level_uncertainty='2 L', or fill-ups that differ")
        return tuple(found)

    @property
    def _level_is_stated(self) -> bool:
        return self.stated_uncertainty > 0.0 and all(fill.level_uncertainty_l > 0.0 for fill in self.fill_ups)

    @property
    def deviations(self) -> tuple[float, ...]:
        """The deviation of each fill-up by itself, as a fraction."""
        return tuple(float(nominal(fill.ratio)) - 1.0 for fill in self.fill_ups)

    @property
    def disagreement(self) -> bool:
        """Whether the fill-ups differ by more than the level stated explains (99 % of chi-square), or by 5 %."""
        count = len(self.fill_ups)
        if count > 1 and self._level_is_stated:
            return (count - 1) * (self.scatter / self.stated_uncertainty) ** 2 > _chi_square_99(count - 1)
        return max(self.deviations) - min(self.deviations) > _SPREAD * self.ratio

    @property
    def mistakes(self) -> tuple[Confusion, ...]:
        """The known mistakes that would explain a gross deviation, of all fill-ups or of one that disagrees."""
        found = [suspect for number in range(len(self.fill_ups)) for suspect in self._mistakes_of(number)]
        return tuple(dict.fromkeys(found))

    def _mistakes_of(self, number: int) -> tuple[Confusion, ...]:
        fill, deviation = self.fill_ups[number], self.deviations[number] if self.disagreement else self.deviation
        if abs(deviation) <= _GROSS:
            return ()
        return diagnose_fill_up(
            1.0 + deviation, *(fill.unit_of(name, self.k_factor.unit) for name in ("indicated", "delivered"))
        )

    @property
    def is_gross(self) -> bool:
        """Whether the deviation is larger than that of a sound transducer."""
        return abs(self.deviation) > _GROSS

    @property
    def is_decidable(self) -> bool:
        """Whether nothing is missing, the fill-ups agree, and the deviation is neither gross nor a known mistake."""
        return not (self.missing or self.disagreement or self.mistakes or self.is_gross)

    def expanded_uncertainty_of(self, fill_ups: int) -> float:
        """Return the deviation beyond which one counts, as a fraction, for a number of fill-ups of this kind.

        The parts are expanded each with its own factor, the scatter with Student's t of the same probability, and
        added as squares, which covers at least that probability.
        """
        count = whole_number(fill_ups, "fill-ups", least=1)
        times = math.sqrt(len(self.fill_ups) / count)
        factor = self.coverage_factor
        probability = math.erf(factor / math.sqrt(2.0))
        if any(math.isfinite(row.degrees_of_freedom) for row in self.budget):
            factor = combined_coverage_factor(self.budget, probability=probability)
        own = factor * self.stated_uncertainty * times
        if len(self.fill_ups) > 1:
            own = max(own, student_t(probability, max(count, 2) - 1) * self.scatter * times)
        return math.hypot(factor * self.shared_uncertainty, own)

    @property
    def _coverage(self) -> str:
        """The probability of the coverage factor: a small factor makes any deviation significant."""
        return f"{100.0 * math.erf(self.coverage_factor / math.sqrt(2.0)):.4g} % coverage"

    @property
    def expanded_uncertainty(self) -> float:
        """The deviation beyond which one counts, as a fraction."""
        return self.expanded_uncertainty_of(len(self.fill_ups))

    @property
    def justified(self) -> bool:
        """Whether the deviation of two fill-ups or more exceeds its uncertainty and can be trusted."""
        return len(self.fill_ups) > 1 and self.is_decidable and self._certain > self.expanded_uncertainty

    @property
    def _certain(self) -> float:
        """The size of the deviation, less the half step by which an indicator reads low that cuts its total off."""
        steps = (
            float(positive(fill.display_step or "0 L", "L", name="display_step", zero=True)) for fill in self.fill_ups
        )
        cut_off = math.fsum(steps) / 2.0 / math.fsum(nominal(fill.used_l) for fill in self.fill_ups)
        return max(self.deviation, -self.deviation - cut_off)

    @property
    def adjusted(self) -> KFactor | None:
        """The K-factor that would have indicated what was used, K times the ratio; None unless justified."""
        return KFactor(self.k_factor.value * Fraction(self.ratio), per=self.k_factor.unit) if self.justified else None

    @property
    def more_fill_ups(self) -> int | None:
        """How many more such fill-ups would make the deviation significant; None for never, or where undecided."""
        if self.justified:
            return 0
        size, made = self._certain, len(self.fill_ups)
        if not self.is_decidable or self.coverage_factor * self.shared_uncertainty >= size:
            return None
        enough = (more for more in range(1, _MOST_FILL_UPS) if self.expanded_uncertainty_of(made + more) < size)
        return next(enough, None)

    @property
    def _entered(self) -> KFactor | None:
        """The adjusted K-factor, rounded to a tenth of its expanded uncertainty or finer."""
        if self.adjusted is None:
            return None
        tenth = self.expanded_uncertainty * float(self.adjusted) / 10.0
        return self.adjusted.rounded(10.0 ** math.floor(math.log10(tenth)))

    def report(self) -> Report:
        """Return the ratio, what counts, and whether a correction is justified."""
        unit = self.fill_ups[0].unit_of("indicated", self.k_factor.unit)
        places = 1 + decimals_of(unit)
        rows = [
            {
                "fill-up": str(number),
                f"indicated, {unit}": f"{nominal(fill.indicated_l) * factor('L', unit):.{places}f}",
                f"used, {unit}": f"{nominal(fill.used_l) * factor('L', unit):.{places}f}",
                "deviation, %": f"{100 * deviation:+.2f}",
            }
            for number, (fill, deviation) in enumerate(zip(self.fill_ups, self.deviations, strict=True), 1)
        ]
        significant = None if self.missing else f"±{format_percent(self.expanded_uncertainty)} ({self._coverage})"
        facts = {
            "indicated over used": f"{self.ratio:.5f}",
            "deviation": format_percent(self.deviation, signed=True),
            "significant beyond": significant,
        }
        return Report(f"fill-ups with {self.k_factor}", self._verdict, facts, [Table.of(rows)])

    @property
    def _verdict(self) -> str:
        each = ", ".join(format_percent(deviation, signed=True) for deviation in self.deviations)
        causes: dict[str, list[str]] = {}
        for n, deviation in enumerate(self.deviations):
            if words := " or ".join(map(str, self._mistakes_of(n)[:3])):
                odd = f"fill-up {n + 1}, " * self.disagreement
                causes.setdefault(words, []).append(odd + format_percent(deviation, signed=True))
        if causes:
            told = "; ".join(f"{', '.join(which)}: {words}" for words, which in causes.items())
            return f"undecided: {told}; find the cause before K is changed"
        if self.disagreement:
            return f"undecided: the fill-ups disagree ({each}); find the cause before K is changed"
        if self.missing:
            return f"undecided: not stated: {'; '.join(self.missing)}"
        if self.is_gross:
            return f"undecided: {each} is more than a transducer errs; compare the K entered with the transducer's own"
        if self.justified:
            return f"a correction is justified: {self.k_factor} becomes {self._entered}"
        if abs(self.deviation) > self.expanded_uncertainty and len(self.fill_ups) > 1:
            return "no correction: a display that cuts its total off at its step reads about as low as this"
        if self.more_fill_ups is None:
            return "no correction: the uncertainty that all fill-ups share hides a deviation of this size"
        return f"no correction yet: this deviation would be significant with {self.more_fill_ups} more of this kind"
