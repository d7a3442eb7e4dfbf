"""Which cause makes an indication wrong: suspects for a ratio of indicated over true, the likeliest first.

What fits, of the causes that the facts make possible (:mod:`fuelunits.indicators.causes`), is never a proof.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import combinations, product
from math import exp, hypot, inf, log, prod, sqrt
from typing import Any

from fuelunits.confusions import CHECKS
from fuelunits.conversion import flow_unit_name, kind_of
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.fuels.grades import fuel as find_fuel
from fuelunits.fuels.liquids import remarks_of
from fuelunits.indicators.causes import Cause, Facts, known_causes, other_causes, other_fuels
from fuelunits.indicators.indicator import Indicator
from fuelunits.indicators.written import expanded_uncertainty, float_or_uncertain
from fuelunits.meters.k_factor import KFactor, k_factor_of
from fuelunits.quantities import QuantityLike, first_quantity, read_text, temperature_c, tolerance_fraction
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.uncertainty.budget import nominal
from fuelunits.uncertainty.measured import as_given, is_uncertain, uncertain_amount
from fuelunits.units import factor
from fuelunits.validation import format_value, is_number, positive_number, whole_number

_COVERAGE, _FAR = 2.0, 4.0
"""In standard uncertainties: within the first, nothing is wrong; beyond the second, a cause does not fit."""
_TIE = 3.0  # likelihoods that differ by less than this factor are not distinguished, nor is any from a fitted figure
_SEVERAL = 0.05  # how likely a second cause is besides a first (common practice, from memory)
_SMALL = {
    *("k_digits_lost", "k_not_matched", "density_setting", "fuel_temperature"),
    *("compensated_volume", "transducer_temperature", "transducer_worn", "pulses_missing", "low_flow", "viscosity"),
}
"""Causes of a few percent, which come in pairs."""
_ON_SETTINGS = {"density_setting", "other_fuel", "mass_for_volume"}
"""Causes that rest on usual fixed densities where no fuel is stated [faa_amt_general]."""
_NO_PROOF = (
    "A ratio suggests a cause and does not prove one. The range of a cause, and what to check, are common practice, "
    "from memory.",
    "Not among the causes: air or vapour in the fuel, electrical noise, a tank filled to another level.",
)
_LEAST, _MOST, _MOST_PAIRS = 0.01, 8, 3  # part of the first score that a suspect has at least; most that are named
_NEAR_LOW = 3.0  # times the cutoff, below which a flow is near a transducer's low end (common practice, from memory)


@dataclass(frozen=True)
class Suspect:
    """A cause, or two, that would explain a wrong indication by its `ratio`, and the rest in standard uncertainties."""

    rank: int
    kind: str
    ratio: float
    unexplained: float
    reason: str
    next_check: str


@dataclass(frozen=True)
class _Fit:
    """Causes taken together, fitted to a ratio; unchecked is one that fits any few percent, as a K never compared."""

    causes: tuple[Cause, ...]
    log_ratio: float
    unexplained: float
    likelihood: float
    score: float
    reasons: tuple[str, ...]
    is_unchecked: bool

    def is_like(self, first: _Fit, uncertainty: float) -> bool:
        """Return whether the numbers do not distinguish it from the likeliest."""
        low, high = sorted((self.likelihood, first.likelihood))
        agrees = abs(self.log_ratio - first.log_ratio) < _COVERAGE * uncertainty
        is_broad = any(each.is_free or each.kind == "other_fuel" for each in first.causes)  # fits any few percent
        is_tie = is_broad or (agrees and high < _TIE * low)
        is_tie |= abs(first.unexplained) > _COVERAGE > abs(self.unexplained)  # a first that hardly fits
        return len(self.causes) == len(first.causes) and (is_tie or self.is_unchecked)


def _fit(causes: tuple[Cause, ...], observed: float, uncertainty: float, shift: float, stated: bool) -> _Fit | None:
    """Return causes fitted to the logarithm of a ratio, or None where they do not explain it.

    The likelihood is the density of the ratio under a normal prediction; a free cause, which spreads, is less likely.
    Unless stated, it explains half of the deviation or more, within half of it or twice the uncertainty, and is nearer.
    """
    variance = hypot(uncertainty, *(each.spread for each in causes)) ** 2
    residue = observed - shift - sum(each.log_ratio for each in causes)
    parts = [each.log_ratio + residue * (each.spread**2 / variance if each.is_free else 0.0) for each in causes]
    predicted, pairs = shift + sum(parts), list(zip(parts, causes, strict=True))
    is_wrong = any(part * each.log_ratio < 0.0 or each.warmer_c(part) is None for part, each in pairs)
    far, too_little = abs(residue) / sqrt(variance), predicted * observed < (0.0 if stated else observed**2 / 2.0)
    allowed = inf if stated else max(abs(observed) / 2.0, min(abs(observed), _COVERAGE * uncertainty))
    if far > _FAR or is_wrong or too_little or abs(observed - predicted) > allowed:
        return None
    reasons, likelihood = tuple(each.told(part) for part, each in pairs), exp(-(far**2) / 2.0) / sqrt(variance)
    score = likelihood * prod(each.weight for each in causes) * _SEVERAL ** len(causes)
    is_unchecked = [each.fits_any for each in causes] == [True]
    return _Fit(causes, predicted, (observed - predicted) / uncertainty, likelihood, score, reasons, is_unchecked)


def _matters(cause: Cause, observed: float, uncertainty: float) -> bool:
    """Return whether a stated cause is above the noise; or, in it, makes the ratio likelier by more than a tie."""
    noise, nearer = _COVERAGE * uncertainty, observed**2 - (observed - cause.log_ratio) ** 2
    is_likelier = abs(observed) <= noise and nearer > 2.0 * log(_TIE) * uncertainty**2
    return is_likelier or max(abs(cause.log_ratio), cause.spread) > max(noise, abs(observed) / 20.0)


def _fits(facts: Facts, observed: float, uncertainty: float) -> list[_Fit]:
    """Return what explains the logarithm of a ratio: single causes, then pairs; what is known is part of all."""
    known, others = list(known_causes(facts)), other_causes(facts)
    matter = tuple(each for each in known if _matters(each, observed, uncertainty))
    small_ones = [each for each in known if each not in matter]
    shift, is_off = sum(each.log_ratio for each in small_ones), abs(observed) > _COVERAGE * uncertainty

    def fitted(sets: Iterable[tuple[Cause, ...]], shift: float = shift) -> list[_Fit]:
        fits = (_fit(causes, observed, uncertainty, shift, is_off and causes == matter) for causes in sets)
        return sorted(filter(None, fits), key=lambda fit: -fit.score)

    singles = fitted([matter] if matter else ((each,) for each in others))
    sets = [(*matter, each) for each in others if is_off and not singles]
    if not matter:
        for each in small_ones:  # what is known may explain the ratio by itself
            singles += fitted([(each,)], shift - each.log_ratio)
        alone = {cause for fit in singles for cause in fit.causes}
        small = [each for each in others if each.kind in _SMALL and each not in alone]
        is_clear = any(not each.is_free for fit in singles for each in fit.causes)  # what is fitted fits nearly any
        large = [] if is_clear else [each for each in others if each.kind not in _SMALL]
        sets = [pair for pair in (*combinations(small, 2), *product(large, small)) if pair[0].kind != pair[1].kind]
    best = max(singles, key=lambda fit: fit.score, default=None)
    singles.sort(key=lambda fit: (fit is not best, not fit.is_unchecked, -fit.score))
    return singles[:_MOST] + fitted(sets)[:_MOST_PAIRS]


def _suspects(fits: list[_Fit], uncertainty: float) -> tuple[Suspect, ...]:
    """Return fits as suspects; those that the numbers do not distinguish share a rank."""
    found: list[Suspect] = []
    first, rank = None, 0
    for fit in sorted(fits, key=lambda each: not each.is_like(fits[0], uncertainty)):
        if fit.score < _LEAST * fits[0].score and not fit.is_unchecked:
            continue
        if first is None or not fit.is_like(first, uncertainty):
            first, rank = fit, rank + 1
        kinds = list(dict.fromkeys(each.kind for each in fit.causes))
        if any(each.kind == kinds[0] in ("one_channel_of_two", "dead_channels") for each in found):
            continue  # of lines alike, and of any
        checks = "; ".join(CHECKS[kind] for kind in kinds)
        left = fit.unexplained if abs(fit.unexplained) > 0.05 else 0.0
        found.append(Suspect(rank, " + ".join(kinds), exp(fit.log_ratio), left, "; ".join(fit.reasons), checks))
    return tuple(found)


@dataclass(frozen=True, repr=False)
class Diagnosis(Reporting):
    """The suspects for a wrong indication, as :func:`diagnose` finds them; where it may be right, only what is known.

    Attributes
    ----------
    indicated, true, ratio : str, str and float, the amounts as they were written, and one over the other
    uncertainty : float, relative and standard, with the rounding of the display and, of masses, how batches differ
        Half of U (95.45 %) where an amount has few degrees of freedom.
    suspects, missing, remarks : tuples of Suspect and str; what was not stated, and how the figures stand
    can_be_shown : bool, whether steps and cutoff allow what is indicated; if not, only units are suspected

    Examples
    --------
    >>> diagnose(0.5, 1, channels=2)
    <Diagnosis: 0.5 indicated, 1 true: ratio 0.5 (-50 %): not distinguished: pulses halved or one channel of two>
    """

    indicated: str
    true: str
    ratio: float
    uncertainty: float
    suspects: tuple[Suspect, ...]
    missing: tuple[str, ...]
    remarks: tuple[str, ...] = ()
    can_be_shown: bool = True
    _plain = ("is_right",)

    @property
    def is_right(self) -> bool:
        """Whether the ratio is within twice its standard uncertainty of 1."""
        return self.ratio > 0.0 and abs(log(self.ratio)) <= _COVERAGE * self.uncertainty

    def rows(self) -> tuple[Suspect, ...]:
        return self.suspects

    def report(self) -> Report:
        deviation, half = format_percent(self.ratio - 1.0, signed=True), format_percent(self.uncertainty, digits=2)
        title = f"{self.indicated} indicated, {self.true} true: ratio {self.ratio:.5g} ({deviation})"
        lacking = f"Not stated, although it would distinguish causes: {', '.join(self.missing)}."
        remarks = [*self.remarks, *[lacking] * (bool(self.missing) and not self.is_right)]
        suspects = [(re.sub(r"\bk\b", "K", each.kind.replace("_", " ")), each) for each in self.suspects]
        first = list(dict.fromkeys(cause for cause, each in suspects if each.rank == 1))
        named = " or ".join(first)
        verdict = f"first suspect {named}" if len(first) == 1 else f"not distinguished: {named}"
        if not self.can_be_shown:
            verdict = "undecided: the steps or the cutoff of the display, as stated, exclude this reading: check all"
        elif not first:
            none = "no suspect: the ratio is within twice its uncertainty of 1"
            verdict = none if self.is_right else "no known cause fits"
        elif " + " in named:
            verdict = f"no single cause fits; two at once: {named}"
        checks = {cause: {"cause": cause, "next check": each.next_check} for cause, each in suspects}
        ranked = []
        for cause, each in suspects:
            figures = {"ratio": f"{each.ratio:.5g}", "left": f"{each.unexplained:+.1f}"}
            ranked.append({"rank": each.rank, "cause": cause, **figures, "reason": each.reason})
        tables = [Table.of(rows) for rows in (ranked, checks.values()) if rows]
        rests = "fuel" in self.missing and any(kind in each.kind for kind in _ON_SETTINGS for each in self.suspects)
        facts = {"half of the expanded uncertainty": f"{half}, the unit of the column left"}
        return Report(title, verdict, facts, tables, [*remarks, *_NO_PROOF * bool(tables)], ["faa_amt_general"] * rests)


def diagnose(
    indicated: Any,
    true: Any,
    *,
    indicator: Indicator | KFactor | str | None = None,
    stamped: Any = None,
    fuel: Any = None,
    at: QuantityLike | None = None,
    channels: int | None = None,
    uncertainty: Any = "1 %",
) -> Diagnosis:
    """Return which causes, of those that the facts make possible, would make an indication wrong, the likeliest first.

    Parameters
    ----------
    indicated, true : str or pint.Quantity, or plain numbers
        Flows or totals, by volume or by mass: ``"52.4 gal/h"``, ``"198.4 L"``; ``measured(...)`` adds its uncertainty.
        Or a plain number each, of which only the ratio counts: ``0.96, 1`` for 4 % low.
    indicator : Indicator, KFactor or str, optional, its settings as found, or the K-factor entered alone
    stamped : KFactor or str, or a list of them for each channel, optional, on the transducer's plate or certificate
    fuel, at : optional, the fuel or its name, and its temperature at the transducer
    channels : int, optional, how many transducers the indication adds; by default as in the indicator
    uncertainty : str, relative and standard, of the ratio, to which the display step of the indicator is added

    Examples
    --------
    >>> found = diagnose("52.4 gal/h", "43.6 gal/h", indicator="43186 pulse/gal", stamped="43186 pulse/gal")
    >>> [(each.rank, each.kind, round(each.ratio, 4)) for each in found.suspects][:2]
    [(1, 'imperial_display', 1.2009), (2, 'return_not_subtracted', 1.2021)]
    >>> diagnose(1.008, 1).suspects
    ()
    """
    first_quantity(indicated, true, stamped, at, uncertainty)
    indicated, true = as_given(indicated), as_given(true)
    relative = positive_number(tolerance_fraction(uncertainty, name="uncertainty"), "uncertainty", example="'1 %'")
    (one, kind, unit), (other, true_kind, true_unit) = _read(indicated, "indicated"), _read(true, "true")
    is_flow, is_mass, true_is_mass = kind.endswith("/s"), kind.startswith("kg"), true_kind.startswith("kg")
    known = _installation(indicator, stamped, fuel, at, channels)
    facts = Facts(unit, true_unit, is_flow, is_mass, true_is_mass, **known)
    names = [format_value(value).strip("'") for value in (indicated, true)]
    if bool(kind) != bool(true_kind) or is_flow != true_kind.endswith("/s"):
        wanted = "give two flows, two totals, or two plain numbers such as 0.96 and 1"
        raise DimensionError(f"indicated and true: {' and '.join(names)}; {wanted}")
    if is_mass != true_is_mass:
        if not facts.is_known_fuel:
            wanted = "give the fuel and its temperature as well, for example fuel='Jet A', at='15 degC'"
            raise DimensionError(f"indicated and true: {' and '.join(names)}, one by mass and one by volume; {wanted}")
        if facts.density_cancels and abs(log(facts.fixed_kg_m3 / facts.density())) <= _COVERAGE * facts.batch_spread:
            facts, other = replace(facts, is_mass=False), other * facts.fixed_kg_m3  # as right as is known
        else:
            other *= facts.density() ** (1 if is_mass else -1)
    cut_off, digit, remarks = 0.0, _half_digit(indicated), tuple[str, ...]()
    if isinstance(indicator, Indicator) and kind:
        total = indicator.total_unit, indicator.total_display
        reading, display = (indicator.reads, indicator.display) if is_flow else total
        digit *= display.step is None
        size = factor(kind_of(indicated, (reading,), name="what this indicator indicates"), kind)
        low, high = (float(each) * size for each in display.errors)
        if display.cutoff:
            facts = replace(facts, near_low=nominal(other) < _NEAR_LOW * float(display.cutoff) * size)
        if not one and nominal(other) < -low:
            remarks = (f"Zero may be right: this display shows 0 up to {-low / size:g} {reading}.",)
        if one:
            if not is_uncertain(indicated):
                facts = replace(facts, is_misread=not display.can_show(nominal(one) / size, unit != reading))
            one -= (low + high) / 2.0  # a display that truncates reads half a step low on the average
            relative = hypot(relative, (high - low) / sqrt(12.0) / nominal(one))
            cut_off = high / nominal(one)  # as much too low where a display that is stated to round truncates
    ratio = float(nominal(one / other))
    stated = expanded_uncertainty(one / other) / _COVERAGE / ratio if ratio else 0.0
    relative = hypot(relative, stated, facts.batch_spread * (true_is_mass or (is_mass and not facts.fixed)))
    suspects: tuple[Suspect, ...] = () if ratio else _of_zero(facts)
    if ratio:
        if is_right := abs(log(ratio)) <= _COVERAGE * relative:
            odd = [each for each in known_causes(facts) if _matters(each, log(ratio), relative)]
            remarks = tuple(f"Although the ratio may be right: {each.reason}." for each in odd)
        elif abs(log(ratio)) <= _COVERAGE * relative + digit * (2.0 if ratio < 1.0 else 1.0):
            remarks = ("The ratio may be right if the display rounds or cuts off to the digits given: state its step.",)
        elif abs(log(ratio * (1.0 + cut_off))) <= _COVERAGE * relative:
            remarks = ("The ratio may be right if the display, which as stated rounds, truncates: see what it does.",)
        if remarks or not is_right:
            suspects = _suspects(_fits(facts, log(ratio), relative), relative)
    if suspects and fuel is not None:
        named = [each for each in other_fuels(facts) if any(each.name in suspect.reason for suspect in suspects)]
        remarks += tuple(remark for each in (facts.fuel, *named) for remark in remarks_of(each, limits=False))
    lacks = {"indicator": indicator, "stamped": stamped, "fuel": fuel, "at": at, "channels": facts.channels}
    lacks |= {"fixed density": facts.fixed or None} if is_mass and indicator is not None else {}
    missing = tuple(name for name, value in lacks.items() if value is None)
    return Diagnosis(names[0], names[1], ratio, relative, suspects, missing, remarks, not facts.is_misread)


def _of_zero(facts: Facts) -> tuple[Suspect, ...]:
    """Return the suspects where nothing is indicated: a ratio says nothing more."""
    reasons = {"pulses_missing": "no pulse is counted: supply, wiring, a rotor that is stuck"}
    if facts.subtracts_return:
        reasons = {"feed_pulses_missing": "no pulse of the feed is counted, or feed and return are swapped"}
    if facts.near_low is not False:
        reasons = {"low_flow": "a flow below the cutoff, or too low to turn the rotor, shows zero", **reasons}
    return tuple(Suspect(1, kind, 0.0, 0.0, reason, CHECKS[kind]) for kind, reason in reasons.items())


def _half_digit(indicated: Any) -> float:
    """Return half of the last digit that is written, relative: how far an unstated display may have rounded."""
    number = read_text(indicated)[0] if isinstance(indicated, str) else 0
    return 0.5 * 0.1 ** len("".join(re.findall(r"\.(\d+)", indicated))) / float(number) if number else 0.0


def _read(value: Any, name: str) -> tuple[Any, str, str]:
    """Return an amount or a flow in SI units, its unit there, and the one written; or a plain number."""
    if is_number(value):
        return positive_number(value, name, example=0.96, zero=name == "indicated"), "", ""
    kind = kind_of(value, ("m^3/s", "kg/s", "m^3", "kg"), name=name)
    number = float_or_uncertain(uncertain_amount(value, kind, name=name, zero=name == "indicated"))
    written = read_text(value)[1] if isinstance(value, str) else str(getattr(value, "units", kind)).replace(" ", "")
    with suppress(FuelUnitsError):
        return number, kind, flow_unit_name(written)
    return number, kind, kind


def _installation(indicator: Any, stamped: Any, fuel: Any, at: Any, channels: Any) -> dict[str, Any]:
    at_c = None if at is None else float(temperature_c(at, name="at"))
    count = None if channels is None else whole_number(channels, "channels", least=1, most=64)
    known: dict[str, Any] = {"fuel": fuel if fuel is None else find_fuel(fuel), "at_c": at_c, "channels": count}
    if isinstance(indicator, Indicator):
        if count not in (None, indicator.channels):
            raise QuantityError(f"channels: {count}, and the indicator has {indicator.channels}; leave channels out")
        known |= {"entered": indicator.k_factors, "channels": indicator.channels}
        known["subtracts_return"] = indicator.feed_less_return
        if indicator.fixed_density_kg_m3 is not None:
            known |= {"fixed": indicator.fixed_density, "fixed_kg_m3": float(indicator.fixed_density_kg_m3)}
    elif indicator is not None:
        known["entered"] = (k_factor_of(indicator, "indicator"),)
    if stamped is not None:
        entered = len(known.get("entered", "-"))
        each = list(stamped) if isinstance(stamped, (list, tuple)) else [stamped] * entered
        if len(each) != entered:
            raise QuantityError(f"stamped: {len(each)} K-factors; give one for each channel of the indicator")
        known["stamped"] = tuple(k_factor_of(one, "stamped") for one in each)
    return known
