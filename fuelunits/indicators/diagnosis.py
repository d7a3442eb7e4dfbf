"""Which cause makes an indication wrong: suspects for a ratio of indicated over true, the likeliest first.

The ratio is compared with every cause that the facts make possible (:mod:`fuelunits.indicators.causes`). What fits is a
possible cause, never a proof.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import combinations
from math import comb, exp, hypot, log, prod, sqrt
from typing import Any

from fuelunits.confusions import CHECKS
from fuelunits.conversion import flow_unit_name, kind_of
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.fuels.liquids import remarks_of
from fuelunits.indicators.causes import Cause, Facts, known_causes, other_causes, other_fuels
from fuelunits.indicators.error_budget import FuelAtTemperature, density_at, fuel_of
from fuelunits.indicators.indicator import Indicator
from fuelunits.meters.k_factor import KFactor, k_factor_of
from fuelunits.pint_units import first_quantity
from fuelunits.quantities import QuantityLike, exact_number, read_text, temperature_c, tolerance_fraction
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.units import factor, read_unit
from fuelunits.validation import format_value, is_number, positive_number, whole_number

_COVERAGE, _FAR = 2.0, 4.0
"""In standard uncertainties: within the first, nothing is wrong; beyond the second, a cause does not fit."""
_TIE = 3.0
"""Causes whose likelihoods differ by less than this factor, and whose ratios agree, are not distinguished."""
_SEVERAL = 0.05
"""How likely a second cause is besides a first (common practice, from memory)."""
_SMALL = {
    *("k_digits_lost", "k_not_matched", "density_setting", "fuel_temperature"),
    *("compensated_volume", "pulses_missing", "low_flow", "viscosity"),
}
"""Causes of a few percent, which come in pairs."""
_ON_SETTINGS = {"density_setting", "other_fuel", "mass_for_volume"}
"""Causes that rest on usual fixed densities where no fuel is stated [faa_amt_general]."""
_FROM_MEMORY = "The range of a cause, and what to check, are common practice, from memory."
_NO_RATIO = "Not among the causes: air or vapour in the fuel, electrical noise, a tank filled to another level."
_LEAST, _MOST, _MOST_PAIRS = 0.01, 8, 3
"""A suspect has this part of the score of the first at least; at most so many are named."""
_NEAR_LOW = 3.0
"""Below so many times the cutoff a flow is near the low end of a transducer (common practice, from memory)."""
_KINDS = ("m^3/s", "kg/s", "m^3", "kg")


@dataclass(frozen=True)
class Suspect:
    """A cause, or two at once, that would explain a wrong indication; the numbers do not distinguish those of one rank.

    `ratio` is what it predicts, `unexplained` the rest of the deviation, in standard uncertainties.
    """

    rank: int
    kind: str
    ratio: float
    unexplained: float
    reason: str
    next_check: str


@dataclass(frozen=True)
class _Fit:
    """Causes taken together, fitted to a ratio; the score is the likelihood times their weights."""

    causes: tuple[Cause, ...]
    log_ratio: float
    unexplained: float
    likelihood: float
    score: float
    reasons: tuple[str, ...]


def _fit(causes: tuple[Cause, ...], observed: float, uncertainty: float, shift: float = 0.0) -> _Fit | None:
    """Return causes fitted to the logarithm of a ratio, or None where they do not explain it.

    The prediction of a cause is a normal distribution. The likelihood is the density of the observed ratio under it,
    widened by the uncertainty of the measurement. A free cause spreads over a wide range and so is the less likely at
    each place in it: that is its penalty against a fixed one that fits.
    """
    variance = hypot(uncertainty, *(each.spread for each in causes)) ** 2
    residue = observed - shift - sum(each.log_ratio for each in causes)
    parts = [each.log_ratio + residue * (each.spread**2 / variance if each.is_free else 0.0) for each in causes]
    predicted = shift + sum(parts)
    fixed = hypot(uncertainty, *(each.spread for each in causes if not each.is_free))
    is_wrong_way = any(part * each.log_ratio < 0.0 for part, each in zip(parts, causes, strict=True) if each.is_free)
    far = abs(residue) / sqrt(variance)
    if far > _FAR or is_wrong_way or abs(observed - predicted) > abs(observed) / 2.0:
        return None
    likelihood = exp(-(far**2) / 2.0) / sqrt(variance)
    score = likelihood * prod(each.weight for each in causes)
    reasons = tuple(each.told(part) for each, part in zip(causes, parts, strict=True))
    return _Fit(causes, predicted, (observed - predicted) / fixed, likelihood, score, reasons)


def _fits(facts: Facts, observed: float, uncertainty: float) -> list[_Fit]:
    """Return what explains the logarithm of a ratio: single causes first, then pairs, each the likeliest first.

    What is known to be wrong is part of every explanation: one that matters is a cause of its own, to which others
    only come on top; one that does not only shifts what the others predict.
    """
    known, others = known_causes(facts), other_causes(facts)
    least = max(_COVERAGE * uncertainty, abs(observed) / 20.0)
    matter = tuple(each for each in known if abs(each.log_ratio) > least)
    rest = [each for each in known if each not in matter]
    shift = sum(each.log_ratio for each in rest)

    def fitted(sets: Iterable[tuple[Cause, ...]], shift: float = shift) -> list[_Fit]:
        return [fit for causes in sets if (fit := _fit(causes, observed, uncertainty, shift))]

    if matter:
        singles = fitted([matter])
        pairs = [] if singles else fitted((*matter, each) for each in others)
    else:
        singles = fitted((each,) for each in others)
        for each in rest:  # what is known may explain the ratio by itself
            singles += fitted([(each,)], shift - each.log_ratio)
        alone = {cause for fit in singles for cause in fit.causes}
        apart = [each for each in others if each not in alone]
        small = [each for each in apart if each.kind in _SMALL]
        sets = [*combinations(small, 2), *((one, two) for one in apart if one not in small for two in small)]
        pairs = fitted(pair for pair in sets[: comb(len(small), 2) if singles else None] if len(_kinds(pair)) == 2)
    return [
        fit
        for fits, most in ((singles, _MOST), (pairs, _MOST_PAIRS))
        for fit in sorted(fits, key=lambda fit: -fit.score)[:most]
    ]


def _kinds(causes: Iterable[Cause]) -> list[str]:
    return list(dict.fromkeys(each.kind for each in causes))


def _suspects(fits: list[_Fit], uncertainty: float) -> tuple[Suspect, ...]:
    """Return fits as suspects; those that the numbers do not distinguish share a rank."""
    found: list[Suspect] = []
    first, rank = None, 0
    scores = [fit.score * _SEVERAL ** len(fit.causes) for fit in fits]
    for fit, score in zip(fits, scores, strict=True):
        if score < _LEAST * scores[0]:
            continue
        is_tie = (
            first is not None
            and len(first.causes) == len(fit.causes)
            and max(first.likelihood, fit.likelihood) < _TIE * min(first.likelihood, fit.likelihood)
            and abs(first.log_ratio - fit.log_ratio) < _COVERAGE * uncertainty
        )
        if not is_tie:
            first, rank = fit, rank + 1
        kinds = _kinds(fit.causes)
        checks = "; ".join(CHECKS[kind] for kind in kinds)
        left = fit.unexplained if abs(fit.unexplained) > 0.05 else 0.0
        found.append(Suspect(rank, " + ".join(kinds), exp(fit.log_ratio), left, "; ".join(fit.reasons), checks))
    return tuple(found)


@dataclass(frozen=True, repr=False)
class Diagnosis(Reporting):
    """The suspects for a wrong indication, as :func:`diagnose` finds them; none where the indication may be right.

    Attributes
    ----------
    indicated, true, ratio : str, str and float, the amounts as they were written, and one over the other
    uncertainty : float, relative and standard, with the rounding of the display and, of masses, how batches differ
    suspects : tuple of Suspect
    missing, remarks : tuple of str, what was not stated, and how the figures stand

    Examples
    --------
    >>> diagnose(0.5, 1, channels=2)
    <Diagnosis: 0.5 indicated, 1 true: ratio 0.5 (-50 %): not distinguished: pulses_halved or one_channel_of_two>
    """

    indicated: str
    true: str
    ratio: float
    uncertainty: float
    suspects: tuple[Suspect, ...]
    missing: tuple[str, ...]
    remarks: tuple[str, ...] = ()

    _plain = ("is_right",)

    @property
    def is_right(self) -> bool:
        """Whether the ratio is within twice its standard uncertainty of 1, so that nothing is to be explained."""
        return self.ratio > 0.0 and abs(log(self.ratio)) <= _COVERAGE * self.uncertainty

    def rows(self) -> tuple[Suspect, ...]:
        """Return the suspects."""
        return self.suspects

    def report(self) -> Report:
        """Return the suspects, the deviation that each does not explain, and what to check next."""
        deviation = format_percent(self.ratio - 1.0, signed=True)
        title = f"{self.indicated} indicated, {self.true} true: ratio {self.ratio:.5g} ({deviation})"
        facts = {"standard uncertainty": f"{format_percent(self.uncertainty, digits=2)}, the unit of the column left"}
        remarks = list(self.remarks)
        if self.missing and not self.is_right:
            remarks.append(f"Not stated, although it would distinguish causes: {', '.join(self.missing)}.")
        if not self.suspects:
            none = "no suspect: the ratio is within twice its uncertainty of 1"
            return Report(title, none if self.is_right else "no known cause fits", facts, remarks=remarks)
        first = [each.kind for each in self.suspects if each.rank == 1]
        verdict = f"first suspect {first[0]}" if len(first) == 1 else f"not distinguished: {' or '.join(first)}"
        verdict = f"no single cause fits; two at once: {' or '.join(first)}" if " + " in first[0] else verdict
        cells = [(each.kind, f"{each.ratio:.5g}", f"{each.unexplained:+.1f}", each.reason) for each in self.suspects]
        causes = Table(
            ("rank", "cause", "ratio", "left", "reason"),
            tuple((str(each.rank), *row) for each, row in zip(self.suspects, cells, strict=True)),
        )
        checks = Table(("cause", "next check"), tuple((each.kind, each.next_check) for each in self.suspects))
        remarks += [f"A ratio suggests a cause and does not prove one. {_FROM_MEMORY}", _NO_RATIO]
        rests = any(kind in each.kind for kind in _ON_SETTINGS for each in self.suspects)
        sources = ["faa_amt_general"] if rests and "fuel" in self.missing else []
        return Report(title, verdict, facts, [causes, checks], remarks, sources)


def diagnose(
    indicated: Any,
    true: Any,
    *,
    indicator: Indicator | KFactor | str | None = None,
    stamped: Any = None,
    fuel: FuelAtTemperature | str | None = None,
    at: QuantityLike | None = None,
    channels: int | None = None,
    uncertainty: Any = "1 %",
) -> Diagnosis:
    """Return which causes would make an indication wrong, the likeliest first, and what to check next.

    A cause is offered only where what is stated makes it possible.

    Parameters
    ----------
    indicated, true : str or pint.Quantity, or plain numbers
        Flows or totals, by volume or by mass: ``"52.4 gal/h"``, ``"198.4 L"``. Or a plain number each, of which only
        the ratio counts: ``0.96, 1`` for 4 % low.
    indicator : Indicator, KFactor or str, optional
        Its settings as found, or the K-factor entered alone.
    stamped : KFactor or str, or a list of them for each channel, optional
        The K-factor on the transducer's plate or certificate.
    fuel, at : optional, the fuel or its name, and its temperature at the transducer
    channels : int, optional, how many transducers the indication adds; by default as in the indicator
    uncertainty : str
        Relative standard uncertainty of the ratio, apart from the display step of the indicator, which is added.

    Examples
    --------
    >>> found = diagnose("52.4 gal/h", "43.6 gal/h", indicator="43186 pulse/gal", stamped="43186 pulse/gal")
    >>> [(each.rank, each.kind, round(each.ratio, 4)) for each in found.suspects][:2]
    [(1, 'imperial_display', 1.2009), (2, 'return_not_subtracted', 1.2021)]
    >>> diagnose(1.008, 1).suspects
    ()
    """
    first_quantity(indicated, true, stamped, at, uncertainty)
    relative = positive_number(tolerance_fraction(uncertainty, name="uncertainty"), "uncertainty", example="'1 %'")
    facts = _settings(indicator, stamped, fuel, at, channels)
    (one, kind, unit), (other, true_kind, true_unit) = _read(indicated, "indicated"), _read(true, "true")
    names = [format_value(value).strip("'") for value in (indicated, true)]
    facts = replace(facts, unit=unit, true_unit=true_unit, is_flow=kind.endswith("/s"))
    facts = replace(facts, is_mass=kind.startswith("kg"), true_is_mass=true_kind.startswith("kg"))
    if bool(kind) != bool(true_kind) or facts.is_flow != true_kind.endswith("/s"):
        wanted = "give two flows, two totals, or two plain numbers such as 0.96 and 1"
        raise DimensionError(f"indicated and true: {' and '.join(names)}; {wanted}")
    if facts.is_mass != facts.true_is_mass:
        if facts.fuel is None or facts.at_c is None:
            wanted = "give the fuel and its temperature as well, for example fuel='Jet A', at='15 degC'"
            raise DimensionError(f"indicated and true: {' and '.join(names)}, one by mass and one by volume; {wanted}")
        other *= facts.density() ** (1 if facts.is_mass else -1)
    if isinstance(indicator, Indicator) and kind:
        displayed, step = indicator.reads, indicator.display.step
        if not facts.is_flow:
            displayed, step = indicator.total_unit, indicator.total_display.step
        if read_unit(displayed).dimension == read_unit(kind).dimension:
            size = factor(kind, displayed)
            if step is not None and one:
                relative = hypot(relative, float(step) / sqrt(12.0) / (one * size))
            if facts.is_flow and indicator.display.cutoff:
                facts = replace(facts, near_low=other * size < _NEAR_LOW * float(indicator.display.cutoff))
    relative = hypot(relative, facts.batch_spread * facts.has_density)
    suspects: tuple[Suspect, ...] = ()
    remarks: tuple[str, ...] = ()
    if not one:
        suspects = _of_zero(facts)
    elif abs(log(one / other)) > _COVERAGE * relative:
        suspects = _suspects(_fits(facts, log(one / other), relative), relative)
    else:
        odd = [each for each in known_causes(facts) if abs(each.log_ratio) > _COVERAGE * relative]
        remarks = tuple(f"Although the ratio is right: {each.reason}." for each in odd)
    if suspects and fuel is not None:
        named = [each for each in other_fuels(facts) if any(each.name in suspect.reason for suspect in suspects)]
        remarks = tuple(remark for each in (facts.fuel, *named) for remark in remarks_of(each, limits=False))
    lacks = {"indicator": indicator, "stamped": stamped, "fuel": fuel, "at": at, "channels": facts.channels}
    missing = tuple(name for name, value in lacks.items() if value is None)
    return Diagnosis(names[0], names[1], one / other, relative, suspects, missing, remarks)


def _of_zero(facts: Facts) -> tuple[Suspect, ...]:
    """Return the suspects where nothing is indicated: a ratio says nothing more."""
    reasons = {"pulses_missing": "no pulse is counted: supply, wiring, a rotor that is stuck"}
    if facts.near_low is not False:
        reasons = {"low_flow": "a flow below the cutoff, or too low to turn the rotor, shows zero", **reasons}
    return tuple(Suspect(1, kind, 0.0, 0.0, reason, CHECKS[kind]) for kind, reason in reasons.items())


def _read(value: Any, name: str) -> tuple[float, str, str]:
    """Return an amount or a flow in a unit of :data:`_KINDS`, that unit, and the one written; or a plain number."""
    is_shown = name == "indicated"  # which may be zero
    if is_number(value):
        return positive_number(value, name, example=0.96, zero=is_shown), "", ""
    kind = kind_of(value, _KINDS, name=name)
    number = float(exact_number(value, kind, name=name, zero=is_shown))
    written = read_text(value)[1] if isinstance(value, str) else str(getattr(value, "units", kind)).replace(" ", "")
    with suppress(FuelUnitsError):
        return number, kind, flow_unit_name(written)
    return number, kind, kind


def _settings(indicator: Any, stamped: Any, fuel: Any, at: Any, channels: Any) -> Facts:
    """Return what is known of the installation."""
    at_c = None if at is None else float(temperature_c(at, name="at"))
    count = None if channels is None else whole_number(channels, "channels", least=1, most=64)
    facts = Facts(fuel=None if fuel is None else fuel_of(fuel), at_c=at_c, channels=count)
    if facts.fuel is not None:
        density_at(facts.fuel, 15.0 if at_c is None else at_c)  # refuses what is no fuel
    if isinstance(indicator, Indicator):
        fixed, less = indicator.fixed_density_kg_m3, indicator.feed_less_return
        facts = replace(facts, channels=count or indicator.channels, entered=indicator.k_factors, subtracts_return=less)
        if fixed is not None:
            facts = replace(facts, fixed_kg_m3=float(fixed), fixed=indicator.fixed_density)
    elif indicator is not None:
        facts = replace(facts, entered=(k_factor_of(indicator, "indicator"),))
    if stamped is not None:
        each = list(stamped) if isinstance(stamped, (list, tuple)) else [stamped] * (len(facts.entered) or 1)
        if len(each) != (len(facts.entered) or 1):
            raise QuantityError(f"stamped: {len(each)} K-factors; give one for each channel of the indicator")
        facts = replace(facts, stamped=tuple(k_factor_of(one, "stamped") for one in each))
    return facts
