"""Fill-ups: the fuel used by the indicator compared with the fuel delivered by the truck, once or several times.

The errors of level and display step differ at each fill-up and average out; the calibration of the truck's meter does
not. A correction is justified only where all that matters is stated, two fill-ups or more agree, and no known mistake
explains the deviation. Their scatter is expanded with Student's t, and counts where it is larger than what was stated.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import compress
from typing import Any

from fuelunits.bench.calibration import own_part
from fuelunits.confusions import Confusion, diagnose_fill_up
from fuelunits.conversion import density_kg_m3, exact_amount, kind_of
from fuelunits.errors import QuantityError
from fuelunits.indicators.written import as_written, coerce_text, decimals_of, expanded_uncertainty, float_or_uncertain
from fuelunits.meters.k_factor import GROSS, KFactor, k_factor_of
from fuelunits.quantities import first_quantity, fraction, positive, read_text
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.sources import Range
from fuelunits.uncertainty import budget as gum
from fuelunits.uncertainty.budget import BudgetRow, budget, coverage_factor, nominal, standard_uncertainty, uncertain
from fuelunits.uncertainty.measured import as_given, difference, is_uncertain, nominal_quantity, uncertain_amount
from fuelunits.units import factor, read_unit
from fuelunits.validation import ByValue, boolean, check_distinct, coerce_fields, format_value, set_fields, whole_number

_FACTORS = Range("volume correction factor (net over gross)", 0.9, 1.1, "", "the fuels and temperatures of a ramp")
METER_FACTORS = Range("factor of a truck's or other meter", 0.9, 1.1, "", "a meter that may bill fuel")
_DOUBTS = Range("relative standard uncertainty of a factor", 0.0, 0.05, "", "the factors of a fill-up")
_EXPANSION_PER_C = 0.00125  # of aviation gasoline; kerosene 0.0009 (both rounded, as the typical grades give them)
_TOTALS = 1, 4, 20  # where not counted: one, and what a few flights hide counts, what most explain too (chosen)
_FEW_STEPS = 20.0  # totals of fewer steps, of flights that are alike within 1.5 %, may all be rounded alike (chosen)
_SPREAD = 0.05  # fill-ups that differ by more disagree, where no level_uncertainty is stated (common practice)


@dataclass(frozen=True, kw_only=True, eq=False)
class FillUp(ByValue):
    """One fill-up to the same level as the one before, with its inputs as they were written.

    Attributes
    ----------
    indicated, delivered : str or pint.Quantity
        Fuel used since the last fill-up, and that of the ticket, with all digits; or ``measured(...)``.
    fixed_density : str or pint.Quantity, of an indicator that displays mass, which is divided by it; not the fuel's
    display_step, level_uncertainty : str or pint.Quantity, optional
        Step of the indicator's total, of which ± half is added; standard uncertainty of the difference of two fillings.
    totals : int, optional, how many displayed totals, of one flight each, `indicated` is the sum of; each has its step
    truncates : bool, optional, whether totals that begin at zero are cut off at a step: half of it is added for each
    volume_correction_factor, truck_factor : float or uncertain number
        Volume on the ticket over that of the same fuel as it passes the transducer, ``uncertain(0.988, 0.002,
        name="correction")`` for 2 °C: of a ticket at 15 °C ``ctl`` of the temperature there, else the ratio of ``ctl``
        there and at delivery; true over displayed volume of the truck's meter. One object for all with one error.
    uncounted : str or pint.Quantity, optional
        Fuel that the total lacks, ``"0 L"`` for none; of one guess ``rate = measured("6 L", "2 L", name="taxi")``, made
        once, ``rate * 0.8``, since separate numbers would be separate errors.
    display_step_l, level_uncertainty_l, indicated_l, used_l : float, the latter two uncertain numbers as well
        The same in L, 0 where not stated, and fuel truly used that was to be counted, as it passed the transducer.

    Examples
    --------
    >>> fill = FillUp(indicated="387.5 L", delivered="372.0 L", display_step="0.5 L",
    ...     level_uncertainty="1 L", volume_correction_factor=0.9880)
    >>> round(fill.ratio.nominal_value, 4), round(fill.ratio.std_dev, 5)
    (1.0292, 0.00276)
    """

    indicated: Any
    delivered: Any
    fixed_density: Any = None
    display_step: Any = None
    level_uncertainty: Any = None
    volume_correction_factor: Any = 1.0
    truck_factor: Any = 1.0
    uncounted: Any = None
    totals: Any = None
    truncates: bool | None = None
    fixed_density_kg_m3: Fraction | None = field(init=False, repr=False)
    display_step_l: float = field(init=False, repr=False)
    level_uncertainty_l: float = field(init=False, repr=False)
    indicated_l: Any = field(init=False, repr=False, compare=False)
    used_l: Any = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        kind = kind_of(self.indicated, ("L", "kg"), name="indicated")
        if (kind == "kg") is (self.fixed_density is None):
            needed = "a mass needs that of the indicator, such as '0.80 kg/L', not the fuel's; a volume needs none"
            raise QuantityError(f"fixed_density: {format_value(self.indicated)} is indicated; {needed}")
        read = {"indicated": kind, "delivered": "L", "uncounted": "L"}
        others = {"fixed_density": "kg/m^3", "level_uncertainty": "L", "display_step": kind}
        coerce_text(self, read | others, measured=read)
        fixed = self.fixed_density and density_kg_m3(self.fixed_density, "fixed_density")
        coerce_fields(self, ("volume_correction_factor", "truck_factor"), gum.one_value, "a fill-up: ")
        _FACTORS.check(nominal(self.volume_correction_factor))
        METER_FACTORS.check(nominal(self.truck_factor))
        totals = self.totals if self.totals is None else whole_number(self.totals, "totals", least=1)
        step, density = self.display_step, self.fixed_density
        step_l = 0.0 if step is None else float(exact_amount(step, "L", name="display_step", density=density))
        level_l = float(positive(self.level_uncertainty or "0 L", "L", name="level_uncertainty", zero=True))
        displayed, billed = self.readings_l
        truncates = self.truncates if self.truncates is None else boolean(self.truncates, "truncates")
        indicated = displayed + step_l / 2.0 * (totals or 0) * bool(truncates)
        indicated += gum.rectangular(0.0, step_l / 2.0 * math.sqrt(totals or 1), name="display step", unit="L")
        lost = uncertain_amount("0 L" if self.uncounted is None else self.uncounted, "L", name="uncounted", zero=True)
        if nominal(lost) and not is_uncertain(self.uncounted):
            raise QuantityError(f"uncounted: {self.uncounted}; write '0 L' or measured('4 L', '1 L', name='taxi')")
        counted = billed / self.volume_correction_factor * self.truck_factor - float_or_uncertain(lost)
        used = counted - uncertain(0.0, level_l, name="level in the tanks", unit="L")
        set_fields(self, fixed_density_kg_m3=fixed, display_step_l=step_l, level_uncertainty_l=level_l, totals=totals)
        set_fields(self, truncates=truncates, indicated_l=indicated, used_l=used)
        if not 0.0 < nominal(used) < math.inf:
            raise QuantityError(f"delivered: {self.delivered}; it and its factors must be positive and finite")
        if step_l and not is_uncertain(self.indicated) and abs(math.remainder(displayed / step_l, 1.0)) > 1e-6:
            raise QuantityError(f"indicated: {self.indicated}; a display with steps of {step} never shows that")

    def displayed_in(self, step: str | None, truncates: bool | None) -> FillUp:
        """Return this fill-up with an indicator's step of totals where it states none, and cut off at it or not."""
        is_cut = None if truncates and self.truncates is False else truncates or self.truncates  # unsure if they differ
        with suppress(QuantityError):  # of a total between those steps, or in another unit
            return replace(self, display_step=self.display_step or step, truncates=is_cut)
        return self

    def written(self, name: str) -> str:
        """Return an amount such as ``"delivered"`` as it was written; a measured one without its uncertainty."""
        value = getattr(self, name)
        return as_written(nominal_quantity(as_given(value)), kind_of(value, ("L", "kg"), name=name), name)

    @property
    def readings_l(self) -> list[Any]:
        """What the indicator and the ticket say, L."""
        densities = {"indicated": self.fixed_density, "delivered": None}
        read = [uncertain_amount(getattr(self, name), "L", name=name, density=each) for name, each in densities.items()]
        return [float_or_uncertain(each) for each in read]

    @property
    def identity(self) -> Any:
        """Figures and causes of both readings, the same in copies; of figures without a cause, this fill-up itself."""
        known = tuple(map(gum.figures_and_causes, self.readings_l))
        return known if any(causes for _, causes in known) else id(self)

    @property
    def ratio(self) -> Any:
        """Indicated over used."""
        return self.indicated_l / self.used_l


def compare_fill_ups(
    k_factor: KFactor | str,
    fill_ups: Iterable[FillUp],
    *,
    truck_uncertainty: Any = "0 %",
    temperature_uncertainty: Any = "0 degC",
) -> FillUpComparison:
    """Return an indicator compared with the truck over one or several fill-ups.

    Parameters
    ----------
    k_factor, fill_ups : KFactor or str that the indicator, of one channel, had in all, and FillUps in any order
    truck_uncertainty, temperature_uncertainty : str or pint.Quantity, optional, standard, ``"0.2 %"``, ``"5 degC"``
        Of the truck's meter, and of how much warmer or colder fuel is when counted, where no factor has its own.

    Examples
    --------
    >>> one = FillUp(indicated="388 L", delivered="379 L", display_step="1 L", level_uncertainty="5 L", uncounted="0 L")
    >>> found = compare_fill_ups("11412 pulse/L", [one], truck_uncertainty="0.2 %", temperature_uncertainty="5 degC")
    >>> found.report().verdict
    'no correction yet: make more fill-ups; only two or more that agree justify one'
    """
    import numpy as np

    made = check_distinct(fill_ups, FillUp, "fill-ups", "FillUp(indicated='388 L', delivered='379 L')")
    first_quantity(truck_uncertainty, temperature_uncertainty)
    truck = fraction(truck_uncertainty, name="truck_uncertainty")
    warmth = _EXPANSION_PER_C * difference(temperature_uncertainty, "degC", "temperature_uncertainty")
    for name, u in (("truck_factor", truck), ("volume_correction_factor", warmth)):
        common = uncertain(1.0, _DOUBTS.check(u), name=name.replace("_", " "))
        factors = [each * (1.0 if standard_uncertainty(each) else common) for each in (getattr(f, name) for f in made)]
        made = tuple(replace(fill, **{name: each}) for fill, each in zip(made, factors, strict=True))
    entered, over = k_factor_of(k_factor), sum(fill.indicated_l for fill in made) / sum(fill.used_l for fill in made)
    ratio, deviations = float(nominal(over)), tuple(float(nominal(fill.ratio)) - 1.0 for fill in made)
    own = own_part([each for fill in made for each in (fill.ratio, fill.truck_factor)], over)  # no truck's
    shared, stated = standard_uncertainty(of_all := over - own), standard_uncertainty(own)
    degrees, used_l = max(len(made) - 1, 1), math.fsum(float(nominal(fill.used_l)) for fill in made)
    residues = [fill.indicated_l - over * fill.used_l for fill in made]  # in which what acts alike in all cancels
    scatter = math.hypot(*map(nominal, residues)) * math.sqrt(len(made) / degrees) / used_l  # GUM, 5.2.3
    scatter *= scatter > 1e-9  # less is floating-point noise of fill-ups that agree to the last digit
    high, low = (extreme((fill.ratio for fill in made), key=nominal) for extreme in (max, min))
    disagreement = nominal(high - low) > math.hypot(_SPREAD * ratio, 2.0 * standard_uncertainty(high - low))
    if len(made) > 1 and all(fill.level_uncertainty_l for fill in made):
        slopes = [[each.derivatives.get(cause, 0.0) * cause.std_dev for cause in over.derivatives] for each in residues]
        least = np.linalg.lstsq(slopes, list(map(nominal, residues)), rcond=1e-12)[0]  # errors, in u, that explain all
        # the 99 % quantile of chi-square, by the cube-root approximation of Wilson and Hilferty (from memory)
        limit = degrees * (1.0 - 2.0 / (9.0 * degrees) + 2.326 * math.sqrt(2.0 / (9.0 * degrees))) ** 3
        disagreement = bool(np.sum(least**2) > limit)
    suspects = []
    for fill, off in zip(made, deviations if disagreement else (ratio - 1.0,) * len(made), strict=True):
        units = (read_text(fill.written(side))[1] for side in ("indicated", "delivered"))
        suspects.append(diagnose_fill_up(1.0 + off, *units) if abs(off) > GROSS else ())
    is_sound = not disagreement and abs(ratio - 1.0) <= GROSS  # no mistake is suspected of less
    missing, k, t = _missing(made), coverage_factor(over), gum.student_t(gum.COVERAGE, degrees)
    expanded = math.hypot(k * shared, max(k * stated, t * scatter))  # each part is expanded by its own factor
    half_digits, half_steps, unclear = _one_sided(made, ratio - 1.0, expanded, used_l)
    missing = *missing, *unclear
    justified = len(made) > 1 and is_sound and not missing and abs(ratio - 1.0) > expanded
    adjusted = KFactor(entered.value * Fraction(ratio), per=entered.unit) if justified else None
    figures = shared, stated, scatter, expanded, expanded_uncertainty(of_all), half_digits, half_steps, budget(over)
    judged = missing, disagreement, is_sound, tuple(suspects), justified, adjusted
    return FillUpComparison(entered, made, ratio, ratio - 1.0, deviations, *figures, *judged)


def _missing(made: tuple[FillUp, ...]) -> tuple[str, ...]:
    """Return what must be stated before anything is decided: also whether readings of one name are of one meter."""
    plain = [tuple(each) for each in (f.readings_l for f in made) if not any(map(standard_uncertainty, each))]
    stated = (
        [standard_uncertainty(fill.truck_factor) for fill in made],
        [standard_uncertainty(fill.volume_correction_factor) for fill in made],
        [fill.level_uncertainty_l for fill in made],
        [fill.display_step_l for fill in made],
        [fill.uncounted is not None for fill in made],
        [len(set(plain)) == len(plain)],
    )
    words = (
        "the uncertainty of the truck's meter: a truck_factor of uncertain(1.0, 0.002), or truck_uncertainty='0.2 %'",
        "how warm fuel passes the transducer: uncertain volume_correction_factor or temperature_uncertainty='5 degC'",
        "how closely tanks are filled to one level: level_uncertainty='2 L'",
        "the step of the indicator's total: display_step='0.5 L'",
        "how much fuel the total lacks, as below a cutoff: uncounted='0 L' or measured('4 L', '1 L', name='taxi')",
        "whether fill-ups with equal readings are one; measured('388 L', '0.2 L', name=…) tells them apart",
    )
    return *compress(words, (not all(each) for each in stated)), *gum.unclear_causes((fill.ratio for fill in made), ())


def _one_sided(made: tuple[FillUp, ...], off: float, expanded: float, used_l: float) -> tuple[float, float, list[str]]:
    """Return how much lower and higher a deviation may be by errors not known, and what must be stated of these."""

    def is_unsure(lower: float, higher: float) -> bool:
        is_off = max(off - lower, -off - higher) > expanded  # and K is the same within a third of U: chosen
        return (3.0 * max(lower, higher) if is_off else max(lower - off, off + higher)) > expanded

    def digit_l(read: Any, density: Any = None, whole: bool = False) -> float:  # the last one; of what is measured none
        place = 0.0 if is_uncertain(read) else float(whole) or 0.1 ** len("".join(re.findall(r"\.(\d+)", read)))
        return place and place * float(exact_amount(f"1 {read_text(read)[1]}", "L", name="digit", density=density))

    step_of = [(fill, fill.display_step_l or digit_l(fill.indicated, fill.fixed_density)) for fill in made]
    unsure = [(f, step) for f, step in step_of if f.truncates is None or (f.truncates and not f.totals)]
    stated, few, most = (sum(step * (f.totals or n) for f, step in unsure) / 2.0 / used_l for n in _TOTALS)
    steps = most if off < -expanded <= off + most else few
    whole = len(made) > 2 and all(re.search(r"\.0+(?!\d)", str(fill.delivered)) for fill in made)  # a table of floats
    digits = sum(digit_l(fill.delivered, whole=whole) for fill in made) / 2.0 / used_l
    unknown = stated * any(f.truncates is None for f, _ in unsure)
    low = f"reads about {format_percent(stated)} low, by half a step of each: truncates=True or False"
    texts = ([fill.written(side) for fill in made] for side in ("indicated", "delivered"))  # equal if all stop at one
    same_totals, same_tickets = (4 * max(map(each.count, each)) > 3 * len(each) > 3 for each in texts)
    counted = ((step, f.totals or 1, nominal(f.indicated_l)) for f, step in step_of)
    totals_l = sum(s * n / 2.0 for s, n, litres in counted if same_totals or (n > 1 and litres < n * _FEW_STEPS * s))
    tickets_l = math.sqrt(3.0) * sum(standard_uncertainty(f.readings_l[1]) for f in made) * same_tickets  # half a digit
    equal = (totals_l + tickets_l) / used_l
    parts = (
        (equal, equal, "how far equal readings, rounded alike, are off: fill up at other amounts, or in finer steps"),
        (0.0, steps * (steps > stated), "of how many displayed totals each is the sum, perhaps each cut off: totals=1"),
        (0.0, unknown, f"whether the display cuts its totals off, and {low}"),
        (digits, 0.0, "how tickets of few digits were read: measured('23.5 gal', '0.3 gal', name='ticket 1')"),
    )
    together = [words for lower, higher, words in parts if lower + higher and is_unsure(digits, steps)]
    return digits, steps, [words for *each, words in parts if is_unsure(*each)] or together


@dataclass(frozen=True, repr=False)
class FillUpComparison(Reporting):
    """An indicator against the truck, as :func:`compare_fill_ups` finds it.

    `ratio` is all that was indicated over all that was used. Its standard uncertainty has a part that the fill-ups
    share and more do not reduce, and one that differs in each: as stated, and by their scatter (0 for one). Fractions:
    a `deviation` counts beyond `expanded_uncertainty`, and with enough fill-ups beyond `expanded_shared`. Sound
    ones agree, and no known mistake explains them. `adjusted` is K times the ratio, where nothing is `missing`: the
    ratio may be lower by `half_digits` of tickets or higher by `half_steps` of totals, and all is judged the same.
    """

    k_factor: KFactor
    fill_ups: tuple[FillUp, ...]
    ratio: float
    deviation: float
    deviations: tuple[float, ...]
    shared_uncertainty: float
    stated_uncertainty: float
    scatter: float
    expanded_uncertainty: float
    expanded_shared: float
    half_digits: float = field(repr=False)
    half_steps: float = field(repr=False)
    budget: tuple[BudgetRow, ...]
    missing: tuple[str, ...]
    disagreement: bool
    is_sound: bool
    suspects: tuple[tuple[Confusion, ...], ...] = field(repr=False)
    justified: bool
    adjusted: KFactor | None

    _plain = ("mistakes",)

    @property
    def mistakes(self) -> tuple[Confusion, ...]:
        """The known mistakes that would explain a gross deviation, of all fill-ups or of one that disagrees."""
        return tuple(dict.fromkeys(mistake for each in self.suspects for mistake in each))

    def excludes(self, change: float) -> bool:
        """Return whether K times a change, a plain ratio, may lie beyond U, of what is stated, of K times the ratio."""
        off = max(change - self.ratio + self.half_digits, self.ratio - change + self.half_steps)
        return off > math.hypot(self.expanded_shared, 2.0 * self.stated_uncertainty)  # the scatter of few hides no K

    def report(self) -> Report:
        unit = read_unit(read_text(self.fill_ups[0].written("delivered"))[1]).name
        size, places, rows = factor("L", unit), 1 + decimals_of(unit), list[dict[str, Any]]()
        for number, (fill, deviation) in enumerate(zip(self.fill_ups, self.deviations, strict=True), 1):
            row = {"fill-up": number, "display": fill.written("indicated"), "ticket": fill.written("delivered")}
            row |= {"fixed density": fill.fixed_density} if fill.fixed_density else {}
            how = {None: "", True: ", cut off", False: ", rounded"}[fill.truncates]
            row |= {"totals": f"{fill.totals or 'not stated'}{how}"} if fill.totals or how else {}
            row |= {"uncounted": fill.written("uncounted")} if fill.uncounted is not None else {}
            factors = {name: nominal(getattr(fill, name)) for name in ("volume_correction_factor", "truck_factor")}
            row |= {name.replace("_", " "): f"{each:.6g}" for name, each in factors.items() if each != 1.0}
            litres = ((name, nominal(getattr(fill, f"{name}_l")) * size) for name in ("indicated", "used"))
            row |= {f"{name}, {unit}": f"{each:.{places}f}" for name, each in litres}
            rows.append({**row, "deviation, %": f"{100 * deviation:+.2f}"})
        parts: dict[str, float] = {}
        for each in self.budget:
            parts[each.name] = math.hypot(parts.get(each.name, 0.0), each.contribution / self.ratio)
        significant = f"±{format_percent(self.expanded_uncertainty)} ({100.0 * gum.COVERAGE:.4g} % coverage)"
        facts = {
            "indicated over used": f"{self.ratio:.5f}",
            "deviation": format_percent(self.deviation, signed=True),
            "significant beyond": None if self.missing else significant,
            "totals": None if all(fill.totals for fill in self.fill_ups) else "1 (not stated)",
            "display steps": ", ".join(dict.fromkeys(fill.display_step or "-" for fill in self.fill_ups)),
            "level uncertainty": ", ".join(dict.fromkeys(fill.level_uncertainty or "-" for fill in self.fill_ups)),
            "standard uncertainty by": ", ".join(f"{name} {format_percent(part)}" for name, part in parts.items()),
        }
        remarks = ["Half a step was added for each total of a display that cuts them off."]
        remarks *= any(fill.truncates and fill.totals for fill in self.fill_ups)
        return Report(f"fill-ups with {self.k_factor}", self._verdict, facts, [Table.of(rows)], remarks)

    @property
    def _verdict(self) -> str:
        each = ", ".join(off := [format_percent(deviation, signed=True) for deviation in self.deviations])
        causes = dict.fromkeys(
            f"{f'fill-up {n}, {off[n - 1]}' if self.disagreement else each}: {' or '.join(map(str, mistakes))}"
            for n, mistakes in enumerate(self.suspects, 1)
            if mistakes
        )
        if causes or self.disagreement:
            why = "; ".join(causes) or f"the fill-ups disagree ({each})"
            return f"undecided: {why}; find the cause before K is changed"
        if self.missing:
            return f"undecided: not stated: {'; '.join(self.missing)}"
        if not self.is_sound:
            return f"undecided: {each} is more than a transducer errs; compare the K entered with the transducer's own"
        if self.adjusted is not None:
            tenth = self.expanded_uncertainty * float(self.adjusted) / 10.0  # of U, or finer
            entered = self.adjusted.rounded(10.0 ** math.floor(math.log10(tenth)))
            return f"a correction is justified: {self.k_factor} becomes {entered}"
        if self.expanded_shared >= max(self.half_digits - self.deviation, self.deviation + self.half_steps):
            return "no correction: this deviation is within the uncertainty that all fill-ups share"
        if self.fill_ups[1:]:
            return "no correction yet: this deviation is within the uncertainty, which more fill-ups reduce"
        return "no correction yet: make more fill-ups; only two or more that agree justify one"
