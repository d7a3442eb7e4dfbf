"""Which cause makes an indication wrong: suspects for a ratio of indicated over true, the likeliest first.

It is put to every cause that what is known makes possible (:mod:`fuelunits.indicators.causes`). What fits is a
possible cause, never a proof.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from math import exp, hypot, log, sqrt
from typing import Any

from fuelunits.amounts import flow_unit_name, kind_of
from fuelunits.confusions import CHECKS
from fuelunits.errors import DimensionError, FuelUnitsError, QuantityError
from fuelunits.fuels.acceptance import remarks_of
from fuelunits.indicators.causes import Cause, Facts, known_causes, other_causes
from fuelunits.indicators.error_budget import FuelAtTemperature, density_at, fuel_of
from fuelunits.indicators.indicator import Indicator
from fuelunits.meters.k_factor import KFactor, k_factor_of
from fuelunits.pint_units import first_quantity
from fuelunits.quantities import QuantityLike, exact_number, fraction, has_dimension, is_ratio, read_text, temperature_c
from fuelunits.quantities import ratio as ratio_of
from fuelunits.reports import Report, Reporting, Table, format_percent
from fuelunits.units import factor, read_unit
from fuelunits.validation import format_value, is_number, positive_number, whole_number

_COVERAGE, _FAR = 2.0, 3.0
"""In standard uncertainties: within the first, nothing is wrong; beyond the second, a cause does not fit."""
_TIE = 3.0
"""Causes whose likelihoods differ by less than this factor, and whose ratios agree, are not told apart."""
_SEVERAL = 0.05
"""How likely a second cause is besides a first (common practice, from memory)."""
_SMALL = {
    *("k_digits_lost", "k_not_matched", "density_setting", "fuel_temperature"),
    *("compensated_volume", "pulses_missing", "low_flow", "viscosity"),
}
"""Causes of a few percent, which come in pairs."""
_ON_SETTINGS = {"density_setting", "other_fuel", "mass_for_volume"}
"""Causes that rest on usual fixed densities where no fuel is stated [faa_amt_general]."""
_LEAST, _MOST, _MOST_PAIRS = 0.01, 8, 3
"""A suspect has this part of the score of the first at least; at most so many are named."""
_NEAR_LOW = 3.0
"""Below so many times the cutoff a flow is near the low end of a transducer (common practice, from memory)."""
_KINDS = (("m^3/s", True, False), ("kg/s", True, True), ("m^3", False, False), ("kg", False, True))


@dataclass(frozen=True)
class Suspect:
    """A cause, or two at once, that would explain a wrong indication.

    Attributes
    ----------
    rank : int, 1 for the first; those of one rank are not told apart by the numbers given
    kind : str, an identifier, two of them joined by " + "
    ratio : float, indicated over true that it predicts
    unexplained : float, what it leaves of the deviation, in standard uncertainties
    reason, next_check : str, why it is possible, with its numbers; what to check next to tell it from its rivals
    """

    rank: int
    kind: str
    ratio: float
    unexplained: float
    reason: str
    next_check: str


@dataclass(frozen=True)
class _Fit:
    """Causes taken together, fitted to a ratio: what they predict, its score, and its likelihood alone."""

    causes: tuple[Cause, ...]
    log_ratio: float
    unexplained: float
    score: float
    likelihood: float
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
    score = likelihood
    for each in causes:
        score *= each.weight
    reasons = tuple(each.told(part) for each, part in zip(causes, parts, strict=True))
    return _Fit(causes, predicted, (observed - predicted) / fixed, score, likelihood, reasons)


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

    def fitted(sets: Iterable[tuple[Cause, ...]]) -> list[_Fit]:
        found = [fit for causes in sets if (fit := _fit(causes, observed, uncertainty, shift))]
        return sorted(found, key=lambda fit: -fit.score)

    singles = fitted([matter] if matter else [(each,) for each in others])
    for each in () if matter else rest:  # what is known may explain the ratio by itself
        fit = _fit((each,), observed, uncertainty, shift - each.log_ratio)
        singles = sorted([*singles, *([fit] if fit else [])], key=lambda fit: -fit.score)
    alone = {each for fit in singles for each in fit.causes}
    if matter:
        sets = [] if singles else [(*matter, each) for each in others]
    else:
        apart = [each for each in others if each not in alone]
        small = [each for each in apart if each.kind in _SMALL]
        apart = small if singles else apart
        sets = [
            (one, two)
            for one in apart
            for two in small
            if one.kind != two.kind and (one not in small or small.index(two) > small.index(one))
        ]
    return [*singles[:_MOST], *fitted(sets)[:_MOST_PAIRS]]


def _suspects(fits: list[_Fit], uncertainty: float) -> tuple[Suspect, ...]:
    """Return fits as suspects; those that the numbers do not tell apart share a rank."""
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
            and abs(first.log_ratio - fit.log_ratio) < uncertainty
        )
        if not is_tie:
            first, rank = fit, rank + 1
        kinds = dict.fromkeys(each.kind for each in fit.causes)
        checks = "; ".join(CHECKS[kind] for kind in kinds)
        left = fit.unexplained if abs(fit.unexplained) > 0.05 else 0.0
        found.append(Suspect(rank, " + ".join(kinds), exp(fit.log_ratio), left, "; ".join(fit.reasons), checks))
    return tuple(found)


@dataclass(frozen=True, repr=False)
class Diagnosis(Reporting):
    """The suspects for a wrong indication, as :func:`diagnose` finds them; none where the indication may be right.

    `uncertainty` is the relative standard uncertainty of the ratio, with the rounding of the display and, where a density
    decides, the differences between batches. `missing` names what was not stated.

    Examples
    --------
    >>> diagnose(0.5, 1, channels=2)
    <Diagnosis: 0.5 indicated, 1 true: ratio 0.5 (-50 %): not told apart: pulses_halved or one_channel_of_two>
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
        """Return the suspects, what each leaves unexplained, and what to check next."""
        deviation = format_percent(self.ratio - 1.0, signed=True)
        title = f"{self.indicated} indicated, {self.true} true: ratio {self.ratio:.5g} ({deviation})"
        facts = {"standard uncertainty": f"{format_percent(self.uncertainty, digits=2)}; left: in units of it"}
        remarks = list(self.remarks)
        if self.missing and not self.is_right:
            remarks.append(f"Not stated, and would tell causes apart: {', '.join(self.missing)}.")
        if not self.suspects:
            none = "no suspect: the ratio is within twice its uncertainty of 1"
            return Report(title, none if self.is_right else "no known cause fits", facts, remarks=remarks)
        first = [each.kind for each in self.suspects if each.rank == 1]
        verdict = f"first suspect {first[0]}" if len(first) == 1 else f"not told apart: {' or '.join(first)}"
        causes = [
            {
                "rank": each.rank,
                "cause": each.kind,
                "ratio": f"{each.ratio:.5g}",
                "left": f"{each.unexplained:+.1f}",
                "reason": each.reason,
            }
            for each in self.suspects
        ]
        checks = [{"cause": each.kind, "next check": each.next_check} for each in self.suspects]
        remarks.append(
            "A ratio suggests a cause and does not prove one. How far a cause reaches, and what to check, is common "
            "practice, from memory."
        )
        rests = _ON_SETTINGS & {kind for each in self.suspects for kind in each.kind.split(" + ")}
        sources = ["faa_amt_general"] if rests and "fuel" in self.missing else []
        return Report(title, verdict, facts, [Table.of(causes), Table.of(checks)], remarks, sources)


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

    A cause is offered only where what is stated makes it possible: the more is stated, the shorter the list.

    Parameters
    ----------
    indicated, true : str or pint.Quantity, or plain numbers
        Flows or totals, by volume or by mass: ``"52.4 gal/h"``, ``"198.4 L"``. Or a plain number each, of which only
        the ratio counts: ``0.96, 1`` for 4 % low.
    indicator : Indicator, KFactor or str, optional
        Its settings as found, or the K-factor entered alone.
    stamped : KFactor or str, or a list of them, optional
        The K-factor on the transducer's plate or certificate, or one for each channel.
    fuel, at : optional
        The fuel or its name, and its temperature at the transducer.
    channels : int, optional
        How many transducers the indication adds; by default as in the indicator.
    uncertainty : str
        Relative standard uncertainty of the ratio: of the true amount, and of reading it. The display step of the
        indicator is added.

    Examples
    --------
    >>> found = diagnose("52.4 gal/h", "43.6 gal/h", indicator="43186 pulse/gal", stamped="43186 pulse/gal")
    >>> [(each.rank, each.kind, round(each.ratio, 4)) for each in found.suspects][:2]
    [(1, 'imperial_display', 1.2009), (2, 'return_not_subtracted', 1.2021)]
    >>> diagnose(1.008, 1).suspects
    ()
    """
    first_quantity(indicated, true, stamped, at, uncertainty)
    relative = positive_number(fraction(uncertainty, name="uncertainty"), "uncertainty", example="'1 %'")
    if relative >= 1.0:
        raise QuantityError(f"uncertainty: {uncertainty} explains anything; it is below 100 %, for example '1 %'")
    facts, shown, ratio = _facts(indicated, true, indicator, stamped, fuel, at, channels)
    settings = indicator if isinstance(indicator, Indicator) else None
    if settings is not None and ratio:
        relative = hypot(relative, _rounding(settings, facts, indicated))
    if not ratio:
        suspects = _of_zero(facts)
    else:
        relative = hypot(relative, facts.batch_spread * facts.has_density)
        is_right = abs(log(ratio)) <= _COVERAGE * relative
        suspects = () if is_right else _suspects(_fits(facts, log(ratio), relative), relative)
    lacks = {"indicator": indicator, "stamped": stamped, "fuel": fuel, "at": at}
    missing = [name for name, value in lacks.items() if value is None]
    missing += ["channels"] if facts.channels is None else []
    remarks = remarks_of(facts.fuel, limits=False) if suspects else ()
    return Diagnosis(*shown, ratio, relative, suspects, tuple(missing), remarks)


def _of_zero(facts: Facts) -> tuple[Suspect, ...]:
    """Return the suspects where nothing is indicated: a ratio says nothing more."""
    reasons = {"pulses_missing": "no pulse is counted: supply, wiring, a rotor that is stuck"}
    if facts.near_low is not False:
        reasons = {"low_flow": "a flow below the cutoff, or too low to turn the rotor, shows zero", **reasons}
    return tuple(Suspect(1, kind, 0.0, 0.0, reason, CHECKS[kind]) for kind, reason in reasons.items())


def _is_plain(value: Any) -> bool:
    with suppress(FuelUnitsError):
        return is_number(value) or is_ratio(value)
    return False


def _facts(
    indicated: Any, true: Any, indicator: Any, stamped: Any, fuel: Any, at: Any, channels: Any
) -> tuple[Facts, tuple[str, str], float]:
    """Return what is known, both amounts as text, and their ratio."""
    known: dict[str, Any] = {"fuel": None if fuel is None else fuel_of(fuel)}
    known["at_c"] = None if at is None else float(exact_c(at))
    if known["fuel"] is not None:
        density_at(known["fuel"], 15.0 if known["at_c"] is None else known["at_c"])
    if isinstance(indicator, Indicator):
        known |= {"channels": indicator.channels, "entered": indicator.k_factors}
        known["subtracts_return"] = indicator.feed_less_return
        if indicator.fixed_density_kg_m3 is not None:
            known |= {"fixed_kg_m3": float(indicator.fixed_density_kg_m3), "fixed": indicator.fixed_density}
    elif indicator is not None:
        known["entered"] = (k_factor_of(indicator, "indicator"),)
    if channels is not None:
        known["channels"] = whole_number(channels, "channels", least=1, most=64)
    if stamped is not None:
        each = list(stamped) if isinstance(stamped, (list, tuple)) else [stamped] * len(known.get("entered", (1,)))
        known["stamped"] = tuple(k_factor_of(one, "stamped") for one in each)
        if len(each) != len(known.get("entered", each)):
            raise QuantityError(f"stamped: {len(each)} given for {len(known['entered'])} channels; give one for each")
    if _is_plain(indicated) and _is_plain(true):
        one, other = (_plain_ratio(value, name) for value, name in ((indicated, "indicated"), (true, "true")))
        return Facts(**known), (format_value(indicated), format_value(true)), one / other
    if _is_plain(indicated) or _is_plain(true):
        raise QuantityError(
            f"indicated and true: give two amounts or flows, or two plain numbers such as 0.96 and 1; got "
            f"{format_value(indicated)} and {format_value(true)}"
        )
    return _of_amounts(indicated, true, indicator, known)


def exact_c(at: Any) -> float:
    """Return one temperature, °C."""
    return float(temperature_c(at, name="at"))


def _plain_ratio(value: Any, name: str) -> float:
    number = value if is_number(value) else ratio_of(value, name=name)
    return positive_number(number, name, example=0.96, zero=name == "indicated")


def _of_amounts(
    indicated: Any, true: Any, indicator: Any, known: dict[str, Any]
) -> tuple[Facts, tuple[str, str], float]:
    units = tuple(each[0] for each in _KINDS)
    kinds = [kind_of(value, units, name=name) for value, name in ((indicated, "indicated"), (true, "true"))]
    (_, is_flow, is_mass), (_, true_is_flow, true_is_mass) = (_KINDS[units.index(kind)] for kind in kinds)
    if is_flow != true_is_flow:
        raise DimensionError(f"indicated and true: {indicated} and {true}; give two flows or two totals")
    one = exact_number(indicated, kinds[0], name="indicated", zero=True)
    other = float(exact_number(true, kinds[1], name="true"))
    if is_mass != true_is_mass:
        if known["fuel"] is None or known["at_c"] is None:
            raise DimensionError(
                f"indicated and true: {indicated} and {true} are a volume and a mass; give fuel='Jet A' and "
                "at='15 degC' as well, for example"
            )
        density = float(density_at(known["fuel"], known["at_c"]))
        other = other * density if is_mass else other / density
    near_low = None
    cutoff = indicator.cutoff if isinstance(indicator, Indicator) else 0
    if cutoff and has_dimension(indicated, indicator.reads, name="indicated"):
        near_low = other * factor(kinds[0], indicator.reads) < _NEAR_LOW * float(cutoff)
    unit, true_unit = _unit_of(indicated, kinds[0]), _unit_of(true, kinds[1])
    known |= {"is_flow": is_flow, "is_mass": is_mass, "true_is_mass": true_is_mass, "near_low": near_low}
    facts = Facts(unit=unit, true_unit=true_unit, **known)
    return facts, (format_value(indicated).strip("'"), format_value(true).strip("'")), float(one) / other


def _unit_of(value: Any, default: str) -> str:
    """Return the unit in which an amount was written, as this library spells it."""
    written = read_text(value)[1] if isinstance(value, str) else str(getattr(value, "units", default))
    with suppress(FuelUnitsError):
        return flow_unit_name(written.replace(" ", "") if not isinstance(value, str) else written)
    return default


def _rounding(indicator: Indicator, facts: Facts, indicated: Any) -> float:
    """Return the relative standard uncertainty of the rounding of what is indicated to the display step."""
    if not facts.unit:
        return 0.0
    unit, step = (indicator.reads, indicator.step) if facts.is_flow else (indicator.total_unit, indicator.total_step)
    if step is None or read_unit(unit).dimension != read_unit(facts.unit).dimension:
        return 0.0
    return float(step) / sqrt(12.0) / float(exact_number(indicated, unit, name="indicated"))
