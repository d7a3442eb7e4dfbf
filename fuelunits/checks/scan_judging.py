"""Judge one number of a source by its digits and by the words beside it."""

from __future__ import annotations

import re
from functools import cache
from itertools import permutations
from math import log, nan
from typing import NamedTuple

from fuelunits.checks.explanation import density_looks_like
from fuelunits.checks.scan_numbers import SAYS, WORDS, Beside, Claim, digits_of, units_in, words_of
from fuelunits.confusions import number_looks_like
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.grades import all_fuels, fuel
from fuelunits.units import factor, read_unit

_ROUNDED, _COARSE, _LAST_DIGIT = 0.0005, 0.01, 2e-5
"""Relative differences: from where a factor is called rounded, up to where, and what its last digit may be off."""
_NEAR, _ZERO_SLIP, _PLAUSIBLE, _OTHER_FUEL = 0.06, 0.02, 0.07, 0.17
"""What is near enough to a factor, a zero, the density of a fuel or, as a logarithm, of any fuel to be meant as it."""
_ZEROS, _API = {"273.15": "ck", "459.67": "fr", "491.67": "cfr"}, ("141.5", "131.5")
"""Zeros of temperature scales, with the scales, and the constants of API gravity: 141.5 / relative density - 131.5."""
_SIZES = {"lb/gal": (5.5, 7.2), "kg/L": (0.65, 0.88), "kg/m3": (650.0, 880.0)}
"""Between which numbers a density of fuel lies whose unit is not written."""


class Judgement(NamedTuple):
    """What a number looks like; its unit is so many of `goal` in one `start`, or the degree of an expansion."""

    kind: str
    what: str
    expected: float | None
    verdict: str
    start: str = ""
    goal: str = ""
    fuel: str = ""


def judge(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge by the nearest claim that leads to a judgement, else by the value and the words."""
    judged = [(claim.near, each) for claim in beside.claims() if (each := _claimed(value, number, claim, beside))]
    good = (each for near, each in judged if near <= judged[0][0] and each.verdict != "wrong")
    found = next(good, judged[0][1] if judged else None)
    if found and found.kind == "density" and found.verdict == "wrong":
        found = _by_value(value, number, beside) or found
    by_words = (_api, _offset, _expansion, _by_value, _unnamed_density, _setting)
    found = found or next((each for judge in by_words if (each := judge(value, number, beside))), None)
    if not found:
        return None
    found = _as_stated(found, beside)
    if found.kind in ("temperature offset", "API gravity"):
        return _unsure(found, "but its sign or step may be wrong") if SAYS["turned"].search(beside.line) else found
    if SAYS["other_measure"].search(f"{beside.line} {beside.remark} > {found.start} {found.goal}"):
        return _unsure(found, "but the words beside it name units of another kind")._replace(start="", goal="")
    if found.expected and SAYS["several"].match(beside.line):
        return found._replace(what=f"{found.what}, or of another name", verdict="not judged", start="", goal="")
    if found.kind not in ("factor", "density"):
        return found
    code, ratio, other = beside.code, value / (found.expected or nan), SAYS["other_branch"].search(beside.code)
    is_open = other is not None and abs(log(ratio)) < _OTHER_FUEL  # of a density, which may be that of another fuel
    if found.kind == "factor":
        is_near = 0.7 < ratio < 1.4 and (SAYS["otherwise"].search(code) or other)
        is_open = bool(is_near or SAYS["choice"].search(code) or (beside.is_part and SAYS["scaled"].search(code)))
    is_amount = SAYS["per_unit"].search(beside.line) or (found.kind == "factor" and SAYS["amount"].search(code))
    if is_amount or (is_open and found.verdict == "wrong"):
        return Judgement(found.kind, f"{found.what.partition(';')[0]}, with more beside it", None, "not judged")
    return _unsure(found) if beside.is_part and not beside.in_text else found


def _unsure(found: Judgement, why: str = "were it alone: more is written beside it") -> Judgement:
    """Return the judgement of a number that is only a part of what its words are about: not right, but not judged."""
    is_sure = found.verdict not in ("wrong", "not judged")
    return found._replace(what=f"{found.what}, {why}", verdict="not judged") if is_sure else found


def _claimed(value: float, number: str, claim: Claim, beside: Beside) -> Judgement | None:
    start, goal, near, is_sure = claim
    if _is_imperial(beside) and "imp_" not in f"{start} {goal}":
        start, goal = (re.sub(r"\b(gal|qt)\b", r"imp_\1", each) for each in (start, goal))
    found = None
    try:
        kinds = read_unit(start).kind, read_unit(goal).kind
        if kinds[0] == kinds[1] != "a time" and start != goal:
            found = _factor(value, number, start, goal, near, beside)
        elif kinds == ("a volume", "a mass"):
            found = _density(value, start, goal, near, beside)
        elif kinds == ("a mass", "a volume") and (found := _density(1.0 / value, goal, start, near, beside)):
            right = 1.0 / (found.expected or nan)
            found = Judgement("density", f"reciprocal of the {found.what}", right, found.verdict)
        elif kinds[1] == "a count of pulses" and kinds[0] in ("a volume", "a mass"):
            others = SAYS["pulses"].search(beside.before + beside.after)
            if value >= 100.0 and value != 3600.0 and near < (1 if others else 2):
                return Judgement("K-factor", f"K-factor in pulse/{start}", None, "not judged", start, goal)
    except FuelUnitsError:
        return None
    return _unsure(found) if found and not is_sure else found


def _is_imperial(beside: Beside) -> bool | None:
    """Return whether the gallon is said to be imperial; where the other is named as well, the word before decides."""
    if SAYS["us_gallon"].search(SAYS["of_imperial"].sub(r"\1", "@".join(beside.said))):
        return False
    imperial = SAYS["imperial"].pattern
    words = f"{SAYS['imperial_litres'].sub('imperial ', beside.line)} {beside.remark.replace('imp_', 'imperial ')}"
    parts = re.sub(rf"\b(?:not|non|no|instead of|rather than) (?:- |an? |the )?{imperial}", "us", words).partition("@")
    before, after = ([mark != "us" for mark in re.findall(rf"\b{imperial}|\bus\b", parts[n])] for n in (0, 2))
    if said := {*before, *after}:
        return said.pop() if len(said) == 1 else bool(before) and before[-1]
    return True if SAYS["imperial_alone"].search("".join(beside.above[:1])) else None


def _factor(value: float, number: str, start: str, goal: str, near: int, beside: Beside) -> Judgement | None:
    expected, ends = factor(start, goal), (start, goal)
    for scale in re.findall(r"\b10+\b", words_of(beside.name)):
        if abs(value / expected / float(scale) - 1.0) < _COARSE:
            expected, ends = expected * float(scale), ("", "")
    what, ratio, digits = f"factor from {start} to {goal}", value / expected, len(digits_of(number)[1])
    if verdict := _at_its_digits(number, value, expected):
        return Judgement("factor", what, expected, verdict, *ends)
    mistake = number_looks_like(value, expected, goal, per=start)
    is_known, is_inverse = known(value, number) != [], _at_its_digits(number, value, 1.0 / expected) != ""
    if near:
        is_meant = (digits > 2 and (abs(ratio - 1.0) < _NEAR or is_inverse)) or (mistake != "" and is_known)
    else:
        is_meant = mistake != "" or 0.2 < ratio < 5.0 or (digits > 2 and is_known)
    return Judgement("factor", what + mistake, expected, "wrong", *ends) if is_meant else None


def _at_its_digits(number: str, value: float, expected: float) -> str:
    """Return whether a number is the expected one, rounded or cut at its last digit; nothing where it is neither."""
    _, digits, last = digits_of(number)
    off, short = abs(value / expected - 1.0), (expected - value) / (last or 5e-324)
    if off < 1e-12 or (off < _COARSE and len(digits) > 1 and -0.501 < short < 0.999):
        return "rounded" if off > _ROUNDED else "matches"
    return "rounded" if off < _LAST_DIGIT else ""


def _is_slip(number: str, right: str) -> bool:
    number = number.rstrip("0") if "." in number else number
    wrong = sum(one != other for one, other in zip(number, right, strict=False))
    return len(number) == len(right) and (wrong == 1 or (wrong == 2 and sorted(number) == sorted(right)))


@cache
def _all_known() -> list[tuple[float, str, str]]:
    pairs = [pair.split() for pair in "|".join(WORDS["factors"].values()).split("|")]
    return sorted((factor(*ends), *ends) for one, other in pairs for ends in ((one, other), (other, one)))


def known(value: float, number: str) -> list[tuple[float, str, str]]:
    """Return the known factors, with their units, that a number is at its digits."""
    last = digits_of(number)[2]
    return [k for k in _all_known() if abs(value - k[0]) < last and _at_its_digits(number, value, k[0]) == "matches"]


def _by_value(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge a number that is a known factor at its digits; the fewer they are, the more words are needed."""
    near, digits = f"{beside.line} {beside.remark}", len(digits_of(number)[1])
    for _, start, goal in known(value, number):
        units = _parts(start, goal) - {"L"}
        seen, all_seen = (units & _parts(*units_in(words)) for words in (near, beside.words))
        is_of_few = any({start, goal} == {*pair.split()} for pair in WORDS["factors"]["unmistakable"].split("|"))
        is_unmistakable = digits >= (6 if is_of_few else 9) and digits < 15
        if seen == units or (seen and digits > 3) or (all_seen and digits > 4) or is_unmistakable:
            if (said := _is_imperial(beside)) is not None and {start, goal} != {"gal", "imp_gal"}:
                gallon = "imp_gal" if said else "gal"
                start, goal = (re.sub(r"\b(?:imp_)?gal\b", gallon, each) for each in (start, goal))
            ends = sorted(_as_named(start, goal, beside), key=lambda each: abs(log(value / factor(*each))))
            is_near = ends and {*ends[0]} <= {*units_in(words_of(beside.name))}
            found = _factor(value, number, *ends[0], 0 if is_near else 1, beside) if ends else None
            named = {*units_in(near)}
            is_own = {"gal", "imp_gal"} <= named or _at_its_digits(number, value, factor(start, goal))
            is_named = all({each, each.removeprefix("imp_")} & named for each in units - {"kg", "m3", "kPa"})
            is_item = is_own and is_named and re.search(r"\.\d\d", f"{beside.before} {beside.after}")  # each has one
            unnamed = any("_ton" in unit for unit in units - all_seen)
            if not found or (len(ends) > 2 or is_item if found.verdict == "wrong" else unnamed):
                what = f"factor from {start} to {goal}, but other units, or none, are named beside it"
                return Judgement("factor", what, None, "not judged")
            if SAYS["directed"].search(f"{words_of(beside.name)} ; {beside.line.partition('@')[0]}"):
                return _unsure(found, "but not of all units that are named")._replace(start="", goal="")
            return _unsure(found) if beside.is_joined else found  # nothing tells whether it is to divide
    return None


def _as_named(start: str, goal: str, beside: Beside) -> list[tuple[str, str]]:
    """Return the pairs of units that the words beside a factor allow, or, of a unit, those with the like of it."""
    every = units_in(beside.words)
    line = units_in(f"{beside.line} {beside.remark}") or every
    if _is_imperial(beside):
        line, every = (sorted({"imp_gal" if each == "gal" else each for each in units}) for units in (line, every))
    for named in (units_in(words_of(beside.name)) * beside.is_alone, line):
        if pairs := [pair for pair in permutations(named, 2) if _relative_size(*pair)]:
            return pairs
    parts, seen, all_seen = _parts(start, goal), _parts(*line), _parts(*every)
    kin = [(part, other) for part in parts for other in all_seen - parts if 0.7 < _relative_size(part, other) < 1.4]
    if others := [pair for pair in kin if pair[0] not in all_seen]:
        return [(re.sub(rf"\b{a}\b", b, start), re.sub(rf"\b{a}\b", b, goal)) for a, b in others]
    return [] if seen - parts - {other for _, other in kin} and parts - seen else [(start, goal)]


def _parts(*units: str) -> set[str]:
    return {*re.findall(r"\w+", " ".join(units))} - {"h", "min", "s"}


def _relative_size(one: str, other: str) -> float:
    """Return how many of another unit one is; 0 where they are times, or of two kinds."""
    first, second = read_unit(one), read_unit(other)
    return float(first.size / second.size) if first.kind == second.kind != "a time" else 0.0


@cache
def _fuels() -> tuple[re.Pattern[str], dict[str, str]]:
    """Return a pattern of the names of fuels, the longest first, and the grade of each; ``fuel`` alone names none."""
    grades = [it for it in all_fuels() if it.for_aircraft or it.kind in ("motor fuel", "synthetic blending component")]
    named = {name.lower(): each.name for each in grades for name in (each.name, *each.aliases)}
    named |= {word: name for name, words in WORDS["fuels"].items() for word in words.split("|")}
    names = [" ?-? ?".join(re.findall(r"[a-z]+|\d+", name)) for name in sorted(named, key=len, reverse=True)]
    pattern = re.compile(rf"\b(?:(?P<grade>{'|'.join(names)})|fuels?)\b")
    return pattern, {re.sub("[^a-z0-9]", "", name): grade for name, grade in named.items()}


def _fuel_of(beside: Beside) -> str:
    """Return the grade that is named, the nearest before the number first."""
    pattern, grades = _fuels()
    for words in (beside.line, f"@ {beside.remark}", *beside.above):
        before, after = ([match["grade"] for match in pattern.finditer(part)] for part in words.partition("@")[::2])
        if named := list(filter(None, [*reversed(before), *after])):
            return grades[re.sub("[^a-z0-9]", "", named[0])]
    return ""


def _density(value: float, start: str, goal: str, near: int, beside: Beside) -> Judgement | None:
    """Judge a fixed density against the typical one at 15 °C of the fuel that is named, or of the nearer one."""
    if SAYS["other_liquid"].search(beside.line):
        return None
    unit, named = f"{goal}/{start}", _fuel_of(beside)
    kg_m3 = value * (per_kg_m3 := factor(unit, "kg/m^3"))
    grade = fuel(named or ("100LL" if kg_m3 < 765.0 else "Jet A"))
    right = float(grade.density_kg_m3(15.0))
    what, ratio, is_of_fuel = f"density of {grade.name} in {unit}", kg_m3 / right, bool(named) or beside.is_of_fuel
    low, high = grade.density_limits_kg_m3(15.0) if SAYS["at_15_c"].search(beside.line) else (None, None)
    is_plausible = (low or right * (1.0 - _PLAUSIBLE)) < kg_m3 + 0.05 < (high or right * (1.0 + _PLAUSIBLE)) + 0.1
    if is_plausible and (is_of_fuel or unit == "lb/gal"):
        return Judgement("density", what, right / per_kg_m3, "plausible", start, goal, grade.name)
    mistake = density_looks_like(kg_m3, grade, 15.0, unit)
    is_other = not 0.5 < ratio < 2.0 if not mistake else "water" in mistake and not beside.is_alone
    is_meant = is_of_fuel and (named or (mistake and beside.is_alone)) and (not near or 0.7 < ratio < 1.4)
    found = Judgement("density", what + mistake, right / per_kg_m3, "wrong", start, goal, grade.name)
    return found if is_meant and not is_other else None


def _unnamed_density(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge a density whose unit is not written, from its size."""
    name, words = words_of(beside.name), f"{beside.line} {beside.remark}"
    is_named = name and not SAYS["api"].search(name) and _fuels()[0].search(words) and len(number) > 2
    unit = next((unit for unit, (low, high) in _SIZES.items() if low <= value <= high), "").partition("/")
    is_density = unit[0] and is_named and SAYS["density"].search(beside.words)
    return _density(value, unit[2], unit[0], 1, beside) if is_density else None


def _as_stated(found: Judgement, beside: Beside) -> Judgement:
    """Return a judgement; not as it is of a plausible density that fits none of those that its line states."""
    unit, words = f"{found.goal}/{found.start}", f"{beside.line} {beside.remark}"
    said, own = WORDS["densities"].items(), f"{words_of(beside.name)} ; {words.partition('@')[2]}"
    stated = [each for each, it in said if re.search(rf"\b(?:{it})\b", words)]
    of_it = [each for each, it in said if re.search(rf"{SAYS['to_unit'].pattern}\b(?:{it})\b(?! ?[:=@\d])", own)]
    is_stated = not stated or unit.replace("imp_", "") in stated or _parts(unit) <= _parts(*units_in(words))
    if is_stated or found.kind != "density" or found.verdict != "plausible" or not found.start:
        return found
    if not of_it:
        return _unsure(found, f"but {stated[0]} is named beside it")
    goal, _, start = of_it[0].partition("/")
    what, expected = f"{found.what}, but {of_it[0]} is named", (found.expected or nan) * factor(unit, of_it[0])
    return found._replace(what=what, expected=expected, verdict="wrong", start=start, goal=goal)


def _api(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge a constant of API gravity: the numerator where it is divided, else the subtrahend."""
    line = beside.line.replace("@", "@ )") if re.match(r"\s*\)", beside.after) else beside.line  # of (x + @) * 9
    is_below, is_above = (bool(SAYS[f"api_{name}"].search(line)) for name in ("subtrahend", "numerator"))
    is_placed, is_above = is_below or is_above, is_above or (value > 136.5 and not is_below)
    right, other = _API if is_above else _API[::-1]
    is_right, is_slip, has_other = value == float(right), _is_slip(number, right), other in beside.before + beside.after
    is_of_formula = is_placed and has_other
    is_meant = is_of_formula or ("." in number and (is_right or is_slip or has_other))
    words = SAYS["gravity" if is_right or is_of_formula else "api"]
    if not 110.0 < value < 160.0 or not is_meant or not words.search(beside.words):
        return None
    what = "constant of API gravity" + "; it may be a slip of a digit" * is_slip
    found = Judgement("API gravity", what, float(right), "matches" if is_right else "wrong")
    is_other = SAYS["no_api_numerator" if is_above else "no_api_subtrahend"].search(line)
    return _unsure(found, "but not in this form") if is_other else found


def _offset(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge the zero of a temperature scale that is added or subtracted; one of Rankine's needs no word."""
    is_added = beside.is_alone or re.search(r"[+-] @|@ [+-]", beside.line)
    words = beside.line if number == "273.16" else beside.words  # a slip only where its own line speaks of a scale
    is_named = number in ("459.67", "491.67") or SAYS["temperature"].search(words)
    if not is_added or not is_named or "triple" in beside.words:
        return None
    zero = min(_ZEROS, key=lambda each: abs(float(each) - value))
    kind, what = "temperature offset", "zero of a temperature scale"
    if not (verdict := _at_its_digits(number, value, float(zero))):
        is_near = abs(value / float(zero) - 1.0) < _ZERO_SLIP and not number.endswith(".15")  # 274.15 K is 1 °C
        slip = Judgement(kind, f"{what}; it may be a slip of a digit", float(zero), "wrong")
        return slip if is_near and _is_slip(number, zero) else None
    scales = {*"".join(map("".join, SAYS["scale"].findall(f"{beside.line} | {beside.remark}")))}
    if scales & {*"ck"} and scales & {*"fr"}:
        if not (SAYS["step"].search(beside.line) or (zero == "491.67" and beside.is_alone)):
            return Judgement(kind, f"{what}, but its words name scales of other degrees", None, "not judged")
    elif scales - {*_ZEROS[zero]}:
        return Judgement(kind, "zero of another temperature scale", 273.15 if scales <= {*"ck"} else 459.67, "wrong")
    return Judgement(kind, what, float(zero), verdict)


def _expansion(value: float, _: str, beside: Beside) -> Judgement | None:
    """Judge a coefficient of thermal expansion per degree."""
    line = f"{beside.line} {beside.remark}"
    if not SAYS["expansion"].search(line) or not 1e-4 < value < 0.02 or not _fuels()[0].search(beside.words):
        return None
    grade = fuel(_fuel_of(beside) or "Jet A")
    scale, per = ("degF", 1.8) if SAYS["per_deg_f"].search(line) else ("degC", 1.0)
    cold, base, warm = (float(grade.density_kg_m3(celsius)) for celsius in (10.0, 15.0, 20.0))
    expected, what = (cold - warm) / base / 10.0 / per, f"thermal expansion of {grade.name} per {scale}"
    if 0.75 < value / expected < 1.35:
        return Judgement("thermal expansion", what, expected, "plausible", scale, "", grade.name)
    what += number_looks_like(value, expected, f"1/delta_{scale}", tolerance="20 %")
    return Judgement("thermal expansion", what, expected, "wrong", scale, "", grade.name) if beside.is_alone else None


def _setting(value: float, _: str, beside: Beside) -> Judgement | None:
    is_named, name = SAYS["k_factor"].search(beside.line), words_of(beside.name)
    if is_named and (beside.is_alone or beside.in_text) and 100.0 <= value != 3600.0:
        return Judgement("K-factor", "K-factor", None, "not judged")
    is_tank = SAYS["size"].search(name) and SAYS["tank"].search(" ".join([name, *beside.above * ("capacity" in name)]))
    return Judgement("tank size", "tank size", None, "not judged") if is_tank and beside.is_alone else None
