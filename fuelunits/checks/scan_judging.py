"""Judge one number of a source by its digits and by the words beside it."""

from __future__ import annotations

import re
from functools import cache
from math import nan
from typing import NamedTuple

from fuelunits.checks.explanation import density_looks_like
from fuelunits.checks.scan_numbers import UNITS, WORDS, Beside, Claim, digits_of, words_of
from fuelunits.confusions import number_looks_like
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.grades import all_fuels, fuel
from fuelunits.units import exact_factor, read_unit

_UNMISTAKABLE = WORDS["factors"]["unmistakable"]  # pairs whose factors, at six digits, need no word beside them
_ROUNDED, _COARSE, _LAST_DIGIT = 0.0005, 0.01, 2e-5
"""Relative differences: from where a factor is called rounded, up to where, and what its last digit may be off."""
_NEAR, _ZERO_SLIP, _PLAUSIBLE = 0.06, 0.02, 0.07
"""What is near enough to a factor, to a zero, and to the density of a fuel to be meant as it."""
_ZEROS, _API = ("273.15", "459.67", "491.67"), ("141.5", "131.5")
"""Zeros of temperature scales, and the constants of API gravity: 141.5 / relative density - 131.5."""
_TURNED = re.compile(
    r"^[^=(]*\b(?:(?:kelvin|rankine|[kr])\b[^=(]* = .*- @|(?:celsius|fahrenheit|api|[cf])\b[^=(]* = .*[+] @)|\bapi - @"
)
"""A sign that is the wrong way round for the scale to which a line leads."""
_GRAVITY = r"|gravity|\bsg\b|relative density"
_SIZES = {"lb/gal": (5.5, 7.2), "kg/L": (0.65, 0.88), "kg/m3": (650.0, 880.0)}
"""Between which numbers a density of fuel lies whose unit is not written."""
_IMPERIAL = r"(?:imp|imperial|uk|british)\b"
_US_GALLON = re.compile(r"(?<![a-z])u\.?s\.?[\s_]?g(?:al|\b)", re.IGNORECASE)


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
    by_words = (_k_factor, _api, _offset, _expansion, _by_value, _unnamed_density, _tank)
    found = found or next((each for judge in by_words if (each := judge(value, number, beside))), None)
    if found and found.kind in ("temperature offset", "API gravity") and _TURNED.search(beside.line):
        return _unsure(found, "but its sign may be the wrong way round")
    return _unsure(found) if found and found.kind in ("factor", "density") and beside.is_part else found


def _unsure(found: Judgement, why: str = "were it alone: more is written beside it") -> Judgement:
    """Return the judgement of a number that is only a part of what its words are about: not right, but not judged."""
    if found.verdict in ("wrong", "not judged"):
        return found
    return found._replace(what=f"{found.what}, {why}", verdict="not judged")


def _claimed(value: float, number: str, claim: Claim, beside: Beside) -> Judgement | None:
    start, goal, near, is_sure = claim
    if _is_imperial(beside) and "imp_gal" not in f"{start} {goal}":
        start, goal = (re.sub(r"\bgal\b", "imp_gal", each) for each in (start, goal))
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
            others = re.search(r"\d\W{0,2}pulses?\b", beside.before + beside.after)
            if value >= 100.0 and value != 3600.0 and near < (1 if others else 2):
                return Judgement("K-factor", f"K-factor in pulse/{start}", None, "not judged", start, goal)
    except FuelUnitsError:
        return None
    return _unsure(found) if found and not is_sure else found


def _is_imperial(beside: Beside) -> bool | None:
    """Return whether the gallon is said to be imperial; where the other is named as well, the word before decides."""
    if _US_GALLON.search(beside.before + beside.after):
        return False
    words = f"{beside.line} {beside.remark.replace('imp_gal', 'imperial gal')}"
    parts = re.sub(rf"\b(?:not|non|no|instead of|rather than) (?:- |an? |the )?{_IMPERIAL}", "us", words).partition("@")
    before, after = ([mark != "us" for mark in re.findall(rf"\b{_IMPERIAL}|\bus\b", parts[n])] for n in (0, 2))
    said = {*before, *after}
    return None if not said else said.pop() if len(said) == 1 else bool(before) and before[-1]


def _factor(value: float, number: str, start: str, goal: str, near: int, beside: Beside) -> Judgement | None:
    expected, ends = float(exact_factor(start, goal)), (start, goal)
    for scale in re.findall(r"\b10+\b", words_of(beside.name)):
        if abs(value / expected / float(scale) - 1.0) < _COARSE:
            expected, ends = expected * float(scale), ("", "")
    what, ratio, digits = f"factor from {start} to {goal}", value / expected, len(digits_of(number)[1])
    if verdict := _at_its_digits(number, value, expected):
        return Judgement("factor", what, expected, verdict, *ends)
    mistake = number_looks_like(value, expected, goal, per=start)
    if near:
        is_inverse = _at_its_digits(number, value, 1.0 / expected)
        is_near = digits > 2 and (abs(ratio - 1.0) < _NEAR or is_inverse != "")
        is_meant = is_near or (mistake != "" and known(value, number) != [])
    else:
        is_meant = mistake != "" or 0.2 < ratio < 5.0
    return Judgement("factor", what + mistake, expected, "wrong", *ends) if is_meant else None


def _at_its_digits(number: str, value: float, expected: float) -> str:
    """Return whether a number is the expected one, rounded or cut at its last digit; nothing where it is neither."""
    _, digits, last = digits_of(number)
    off, short = abs(value / expected - 1.0), (expected - value) / last
    if off < 1e-12 or (off < _COARSE and len(digits) > 1 and -0.501 < short < 0.999):
        return "rounded" if off > _ROUNDED else "right"
    return "rounded" if off < _LAST_DIGIT else ""


def _is_slip(number: str, right: str) -> bool:
    number = number.rstrip("0") if "." in number else number
    wrong = sum(one != other for one, other in zip(number, right, strict=False))
    return len(number) == len(right) and (wrong == 1 or (wrong == 2 and sorted(number) == sorted(right)))


@cache
def _all_known() -> list[tuple[float, str, str]]:
    pairs = [pair.split() for pair in (*_UNMISTAKABLE, *WORDS["factors"]["others"].strip().split("|"))]
    return sorted((float(exact_factor(*ends)), *ends) for one, other in pairs for ends in ((one, other), (other, one)))


def known(value: float, number: str) -> list[tuple[float, str, str]]:
    """Return the known factors, with their units, that a number is at its digits."""
    _, _, last = digits_of(number)
    near = [each for each in _all_known() if abs(value - each[0]) < last]
    return [each for each in near if _at_its_digits(number, value, each[0]) == "right"]


def _by_value(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge a number that is a known factor at its digits; the fewer they are, the more words are needed."""
    digits, name = len(digits_of(number)[1]), words_of(beside.name) * beside.is_alone
    claimed = set(re.split("[ /]", name)) & set(UNITS) if re.search(r"\b(?:to|per)\b", name) else set()
    for _, start, goal in known(value, number):
        if claimed - set(re.split("[ /]", f"{start} {goal}")):
            continue  # the name claims a factor of other units
        units = set(re.split("/(?:h|min)|/", f"{start}/{goal}")) - {"", "L"}
        seen, all_seen = (
            [unit for unit in units if re.search(rf"(?<!\w){unit}\b", words)]
            for words in (f"{beside.line} {beside.remark}", beside.words)
        )
        is_one_of_few = f"{start} {goal}" in _UNMISTAKABLE or f"{goal} {start}" in _UNMISTAKABLE
        is_unmistakable = digits >= (6 if is_one_of_few else 9) and digits < 15
        if len(seen) == len(units) or (seen and digits > 3) or (all_seen and digits > 4) or is_unmistakable:
            if (said := _is_imperial(beside)) is not None and {start, goal} != {"gal", "imp_gal"}:
                gallon = "imp_gal" if said else "gal"
                start, goal = (re.sub(r"\b(?:imp_)?gal\b", gallon, each) for each in (start, goal))
            found = _factor(value, number, start, goal, 0, beside)
            return _unsure(found) if found and beside.is_joined else found  # nothing tells whether it is to divide
    return None


@cache
def _fuels() -> tuple[re.Pattern[str], dict[str, str]]:
    """Return a pattern of the names of fuels, the longest first, and the grade of each; ``fuel`` alone names none."""
    kinds = ("motor fuel", "synthetic blending component")
    grades = [each for each in all_fuels() if each.for_aircraft or each.kind in kinds]
    named = {name.lower(): each.name for each in grades for name in (each.name, *each.aliases)}
    named |= {word: name for name, words in WORDS["fuels"].items() for word in words.split("|")}
    names = [" ?-? ?".join(re.findall(r"[a-z]+|\d+", name)) for name in sorted(named, key=len, reverse=True)]
    pattern = re.compile(rf"\b(?:(?P<grade>{'|'.join(names)})|fuels?)\b")
    return pattern, {re.sub("[^a-z0-9]", "", name): grade for name, grade in named.items()}


def _fuel_of(beside: Beside) -> str:
    """Return the grade that is named, the nearest before the number first."""
    pattern, grades = _fuels()
    for words in (beside.line, beside.remark, *beside.above):
        parts = words.split("@")
        for part, nearest in ((parts[0], -1), (parts[-1], 0)):
            if named := [match["grade"] for match in pattern.finditer(part) if match["grade"]]:
                return grades[re.sub("[^a-z0-9]", "", named[nearest])]
    return ""


def _density(value: float, start: str, goal: str, near: int, beside: Beside) -> Judgement | None:
    """Judge a fixed density against the typical one at 15 °C of the fuel that is named, or of the nearer one."""
    if re.search(r"\b(?:water|oil|glycol|ethanol|methanol|fame|biodiesel)\b", beside.line):
        return None
    unit, named = f"{goal}/{start}", _fuel_of(beside)
    per_kg_m3 = float(exact_factor(unit, "kg/m^3"))
    kg_m3 = value * per_kg_m3
    grade = fuel(named or ("100LL" if kg_m3 < 765.0 else "Jet A"))
    right = float(grade.density_kg_m3(15.0))
    what, ratio, is_of_fuel = f"density of {grade.name} in {unit}", kg_m3 / right, bool(named) or beside.is_of_fuel
    if abs(ratio - 1.0) <= _PLAUSIBLE and (is_of_fuel or unit == "lb/gal"):
        return Judgement("density", what, right / per_kg_m3, "plausible", start, goal, grade.name)
    mistake = density_looks_like(kg_m3, grade, 15.0, unit)
    is_other = not 0.5 < ratio < 2.0 if not mistake else "water" in mistake and not beside.is_alone
    is_meant = is_of_fuel and (named or (mistake and beside.is_alone)) and (not near or 0.7 < ratio < 1.4)
    if is_other or not is_meant:
        return None
    return Judgement("density", what + mistake, right / per_kg_m3, "wrong", start, goal, grade.name)


def _unnamed_density(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge a density whose unit is not written, from its size."""
    is_density = re.search(r"\b(?:densit(?:y|ies)|rho|weights?|sg|gravity|ppg)\b", beside.words)
    is_fuel = beside.name and _fuels()[0].search(f"{beside.line} {beside.remark}") and len(number) > 2
    unit = next((unit for unit, (low, high) in _SIZES.items() if low <= value <= high), "")
    goal, _, start = unit.partition("/")
    return _density(value, start, goal, 1, beside) if unit and is_density and is_fuel else None


def _k_factor(value: float, _: str, beside: Beside) -> Judgement | None:
    is_named = re.search(r"\bk ?-? ?fact(?:or)?s?\b|\bkf\b", beside.line) and (beside.is_alone or beside.in_text)
    return Judgement("K-factor", "K-factor", None, "not judged") if is_named and 100.0 <= value != 3600.0 else None


def _api(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge a constant of API gravity: the numerator where it is divided, else the subtrahend."""
    is_above = re.search(r"@ (?:per|\*)", beside.line) or value > 136.5
    right, other = _API if is_above else _API[::-1]
    is_right, is_slip = value == float(right), _is_slip(number, right)
    is_meant = is_right or is_slip or other in beside.before + beside.after
    is_near = "." in number and 110.0 < value < 160.0
    if not is_near or not is_meant or not re.search(rf"\bapi\b{_GRAVITY * is_right}", beside.words):
        return None
    what = "constant of API gravity" + "; it may be a slip of a digit" * is_slip
    return Judgement("API gravity", what, float(right), "right" if is_right else "wrong")


def _offset(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge the zero of a temperature scale that is added or subtracted; one of Rankine's needs no word."""
    words = r"kelvin|celsius|rankine|fahrenheit|\btemp\w*|\bdeg ?[cfkr]?\b|\babs\b|absolute|\bzero\b|\b(?:to|in) [kr]\b"
    is_added = beside.is_alone or re.search(r"[+-] @|@ [+-]", beside.line)
    is_triple = number == "273.16"  # a slip only where its own line speaks of a scale
    is_named = number in _ZEROS[1:] or re.search(words, beside.line if is_triple else beside.words)
    if not is_added or not is_named or "triple" in beside.words:
        return None
    zero = min(_ZEROS, key=lambda each: abs(float(each) - value))
    what = "zero of a temperature scale"
    if verdict := _at_its_digits(number, value, float(zero)):
        return Judgement("temperature offset", what, float(zero), verdict)
    is_near = abs(value / float(zero) - 1.0) < _ZERO_SLIP and not number.endswith(".15")  # 274.15 K is 1 °C
    if not is_near or not _is_slip(number, zero):
        return None
    return Judgement("temperature offset", f"{what}; it may be a slip of a digit", float(zero), "wrong")


def _expansion(value: float, _: str, beside: Beside) -> Judgement | None:
    """Judge a coefficient of thermal expansion per degree."""
    line = f"{beside.line} {beside.remark}"
    is_expansion = re.search(r"\b(?:expan\w*|thermal|cte|vcf)\b", line)
    if not is_expansion or not 1e-4 < value < 0.02 or not _fuels()[0].search(beside.words):
        return None
    grade = fuel(_fuel_of(beside) or "Jet A")
    scale, per = ("degF", 1.8) if re.search(r"\b(?:per|deg) ?(?:deg ?)?f\b", line) else ("degC", 1.0)
    cold, base, warm = (float(grade.density_kg_m3(celsius)) for celsius in (10.0, 15.0, 20.0))
    expected, what = (cold - warm) / base / 10.0 / per, f"thermal expansion of {grade.name} per {scale}"
    if 0.75 < value / expected < 1.35:
        return Judgement("thermal expansion", what, expected, "plausible", scale, "", grade.name)
    what += number_looks_like(value, expected, f"1/delta_{scale}", tolerance="20 %")
    wrong = Judgement("thermal expansion", what, expected, "wrong", scale, "", grade.name)
    return wrong if beside.is_alone else None


def _tank(_: float, __: str, beside: Beside) -> Judgement | None:
    name = words_of(beside.name)
    size = re.search(r"\b(?:capacity|size|volume|usable|full|max|gal|imp_gal|L|lb|kg)\b", name)
    inside = " ".join(beside.above) if "capacity" in name else ""
    tank = re.search(r"\btanks?\b|\busable\b|\b(?:fuel|max|capacity) (?:fuel|max|capacity)\b", f"{name} {inside}")
    return Judgement("tank size", "tank size", None, "not judged") if size and tank and beside.is_alone else None
