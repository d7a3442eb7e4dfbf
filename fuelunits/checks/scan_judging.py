"""Judge one number of a source by its digits and by the words beside it."""

from __future__ import annotations

import re
from bisect import bisect_left
from functools import cache
from typing import NamedTuple

from fuelunits.checks.explanation import density_looks_like
from fuelunits.checks.scan_numbers import Beside, Claim, digits_of, words_of
from fuelunits.confusions import number_looks_like
from fuelunits.errors import FuelUnitsError
from fuelunits.fuels.commodities import PER_F
from fuelunits.fuels.edition_1980 import PER_C
from fuelunits.fuels.grades import fuel
from fuelunits.units import exact_factor, read_unit

_PAIRS = (
    "gal L|imp_gal L|lb kg|imp_gal gal|bbl gal|bbl L|gal m3|imp_gal m3|bbl m3|ft3 gal|gal in3|ft3 L|lb tonne|"
    "short_ton kg|long_ton kg|lb/gal kg/L|lb/gal kg/m3|lb/imp_gal kg/L|lb/imp_gal kg/m3|lb/ft3 kg/m3|gal/h L/min|"
    "gal/min L/h|gal/h mL/min|lb/h kg/min|psi kPa|inHg kPa|inHg mbar|psi mbar"
)
_UNMISTAKABLE = {frozenset(pair.split()) for pair in ("gal L", "imp_gal L", "lb kg")}
"""Pairs whose factors, at six digits, need no word beside them."""
_ROUNDED, _COARSE, _LAST_DIGIT = 0.0005, 0.01, 2e-5
"""Relative differences: from where a factor is called rounded, up to where, and what its last digit may be off."""
_NEAR, _ZERO_SLIP, _PLAUSIBLE = 0.06, 0.02, 0.07
"""What is near enough to a factor, to a zero, and to the density of a fuel to be meant as it."""
_ZEROS, _NUMERATOR, _SUBTRAHEND = ("273.15", "459.67", "491.67"), "141.5", "131.5"
"""Zeros of temperature scales, and the constants of API gravity: 141.5 / relative density - 131.5."""
_ALPHA = {abs(each) for row in (*PER_F.values(), *PER_C) for group in row for each in group if each}
_JETS = {"a1": "Jet A-1", "jp8": "JP-8", "jp5": "JP-5", "jp4": "JP-4", "jet": "Jet A"}
_GRADES = {"avgas": "100LL", "ul": "UL91", "diesel": "diesel EN 590", **_JETS}
_FUEL = re.compile(
    r"\b(?:(?P<avgas>av ?gas|100 ?ll|gasoline|mogas)|(?P<a1>jet ?a ?-? ?1)|(?P<jp8>jp ?-? ?8)|(?P<jp5>jp ?-? ?5)"
    r"|(?P<jp4>jp ?-? ?4|jet ?b)|(?P<ul>ul ?9[14])|(?P<diesel>diesel)|(?P<jet>jet|jeta|kero\w*|avtur|turbine)|fuels?)\b"
)
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
    found, nearest = None, 9
    for claim in beside.claims():
        judged = _claimed(value, number, claim, beside) if claim.near <= nearest else None
        if judged and (found is None or judged.verdict != "wrong"):
            found, nearest = judged, claim.near
        if found and found.verdict != "wrong":
            break
    if found and found.kind == "density" and found.verdict == "wrong":
        found = _by_value(value, number, beside) or found
    by_words = (_k_factor, _api, _offset, _expansion, _by_value, _unnamed_density, _tank)
    return found or next((each for judge in by_words if (each := judge(value, number, beside))), None)


def _claimed(value: float, number: str, claim: Claim, beside: Beside) -> Judgement | None:
    start, goal, near = claim
    if _is_imperial(beside) and "imp_gal" not in f"{start} {goal}":
        start, goal = (re.sub(r"\bgal\b", "imp_gal", each) for each in (start, goal))
    try:
        kinds = read_unit(start).kind, read_unit(goal).kind
        if kinds[0] == kinds[1] != "a time" and start != goal:
            return _factor(value, number, start, goal, near, beside)
        if kinds == ("a volume", "a mass"):
            return _density(value, start, goal, near, beside)
        if kinds == ("a mass", "a volume"):
            found = _density(1.0 / value, goal, start, near, beside)
            what, right = found and f"reciprocal of the {found.what}", found and found.expected and 1.0 / found.expected
            return found and Judgement("density", what or "", right, found.verdict)
        if kinds[1] == "a count of pulses" and kinds[0] in ("a volume", "a mass"):
            others = re.search(r"\d\W{0,2}pulses?\b", beside.before + beside.after)
            is_k_factor = value >= 100.0 and value != 3600.0 and near < (1 if others else 2)
            if is_k_factor and len(digits_of(number)[0]) > 2:
                return Judgement("K-factor", f"K-factor in pulse/{start}", None, "not judged", start, goal)
    except FuelUnitsError:
        pass
    return None


def _is_imperial(beside: Beside) -> bool | None:
    """Return whether the gallon is said to be imperial; where the other is named as well, the word before decides."""
    marks = re.findall(r"\b(?:imp|imperial|uk|british|us)\b|@", f"{beside.line} {beside.remark}")
    said = marks[: marks.index("@")] if "us" in marks else marks
    return None if len(marks) == 1 else any(each not in ("us", "@") for each in (said[-1:] if "us" in marks else said))


def _factor(value: float, number: str, start: str, goal: str, near: int, beside: Beside) -> Judgement | None:
    expected, ends = float(exact_factor(start, goal)), (start, goal)
    for scale in re.findall(r"\b10+\b", words_of(beside.name)):
        if abs(value / expected / float(scale) - 1.0) < _COARSE:
            expected, ends = expected * float(scale), ("", "")
    what, ratio, digits = f"factor from {start} to {goal}", value / expected, len(digits_of(number)[0])
    if verdict := _at_its_digits(number, value, expected):
        return Judgement("factor", what, expected, verdict, *ends)
    mistake = number_looks_like(value, expected, goal, per=start)
    is_inverse = _at_its_digits(number, value, 1.0 / expected)
    is_near = digits > 2 and (abs(ratio - 1.0) < _NEAR or is_inverse)
    if (near and not is_near and not (mistake and known(value, number))) or (
        not near and not mistake and (value == 1.0 or not 0.2 < ratio < 5.0)
    ):
        return None
    return Judgement("factor", what + mistake, expected, "wrong", *ends)


def _at_its_digits(number: str, value: float, expected: float) -> str:
    """Return whether a number is the expected one, rounded or cut at its last digit; nothing where it is neither."""
    digits, last = digits_of(number)
    off, short = abs(value / expected - 1.0), (expected - value) / last
    if off < 1e-12 or (off < _COARSE and len(digits) > 1 and -0.501 < short < 0.999):
        return "rounded" if off > _ROUNDED else "right"
    return "rounded" if off < _LAST_DIGIT else ""


def _is_slip(number: str, right: str) -> bool:
    """Whether one digit is wrong, or two are swapped."""
    number = number.rstrip("0") if "." in number else number
    wrong = [n for n, (one, other) in enumerate(zip(number, right, strict=False)) if one != other]
    is_swap = len(wrong) == 2 and sorted(number) == sorted(right)
    return len(number) == len(right) and (len(wrong) == 1 or is_swap)


@cache
def _all_known() -> list[tuple[float, str, str]]:
    pairs = [pair.split() for pair in _PAIRS.split("|")]
    return sorted((float(exact_factor(*ends)), *ends) for one, other in pairs for ends in ((one, other), (other, one)))


def known(value: float, number: str) -> list[tuple[float, str, str]]:
    """Return the known factors, with their units, that a number of three digits or more is at its digits."""
    digits, last = digits_of(number)
    found: list[tuple[float, str, str]] = []
    if len(digits) < 3 and value != 42.0:
        return found
    for each in _all_known()[bisect_left(_all_known(), (value - last, "", "")) :]:
        if each[0] > value + last:
            break
        found += [each] * (_at_its_digits(number, value, each[0]) == "right")
    return found


def _by_value(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge a number that is a known factor at its digits; the fewer they are, the more words are needed."""
    digits = len(digits_of(number)[0])
    for expected, start, goal in known(value, number):
        units = set(re.split("/(?:h|min)|/", f"{start}/{goal}")) - {"", "L"}
        near, all_words = f"{beside.line} {beside.remark}", beside.words
        seen = [unit for unit in units if re.search(rf"(?<!\w){unit}\b", near)]
        above = any(re.search(rf"(?<!\w){unit}\b", all_words) for unit in units)
        is_unmistakable = digits >= (6 if {start, goal} in _UNMISTAKABLE else 9) and digits < 15
        if len(seen) == len(units) or (seen and digits > 3) or (above and digits > 4) or is_unmistakable:
            said = _is_imperial(beside)
            if said is not None and {start, goal} != {"gal", "imp_gal"}:
                gallon = "imp_gal" if said else "gal"
                one, other = (re.sub(r"\b(?:imp_)?gal\b", gallon, each) for each in (start, goal))
                return _factor(value, number, one, other, 0, beside)
            return Judgement("factor", f"factor from {start} to {goal}", expected, "right", start, goal)
    return None


def _fuel_of(beside: Beside) -> str:
    """Return the grade that is named, the nearest before the number first."""
    for words in (beside.line, beside.remark, *beside.above):
        parts = words.split("@")
        for part, step in ((parts[0], -1), (parts[-1], 1)):
            named = [match.lastgroup for match in _FUEL.finditer(part) if match.lastgroup]
            if named:
                return _GRADES[named[::step][0]]
    return ""


def _density(value: float, start: str, goal: str, near: int, beside: Beside) -> Judgement | None:
    """Judge a fixed density against the typical one at 15 °C of the fuel that is named, or of the nearer one."""
    unit, named = f"{goal}/{start}", _fuel_of(beside)
    per_kg_m3 = float(exact_factor(unit, "kg/m^3"))
    kg_m3 = value * per_kg_m3
    if re.search(r"\b(?:water|oil|glycol|ethanol|methanol|fame|biodiesel)\b", beside.line) or not (
        named or beside.is_of_fuel or (goal == "lb" and "gal" in start and 600.0 < kg_m3 < 900.0)
    ):
        return None
    grade = fuel(named or ("100LL" if kg_m3 < 750.0 else "Jet A"))
    right = float(grade.density_kg_m3(15.0))
    what, ratio = f"density of {grade.name} in {unit}", kg_m3 / right
    if abs(ratio - 1.0) <= _PLAUSIBLE:
        return Judgement("density", what, right / per_kg_m3, "plausible", start, goal, grade.name)
    mistake = density_looks_like(kg_m3, grade, 15.0, unit)
    is_other = value < 0.1 or not 0.5 < ratio < 2.0 if not mistake else "water" in mistake and not beside.is_alone
    if is_other or (near and not 0.7 < ratio < 1.4) or not (named or (mistake and beside.is_alone)):
        return None
    return Judgement("density", what + mistake, right / per_kg_m3, "wrong", start, goal, grade.name)


def _unnamed_density(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge a density whose unit is not written, from its size."""
    is_density = re.search(r"\b(?:densit(?:y|ies)|rho|weights?|sg|gravity|ppg)\b", beside.words)
    is_fuel = beside.name and _FUEL.search(f"{beside.line} {beside.remark}") and len(number) > 2
    unit = next((unit for unit, (low, high) in _SIZES.items() if low <= value <= high), "")
    goal, _, start = unit.partition("/")
    return _density(value, start, goal, 1, beside) if unit and is_density and is_fuel else None


def _k_factor(value: float, _: str, beside: Beside) -> Judgement | None:
    is_named = re.search(r"\bk ?-? ?fact(?:or)?s?\b|\bkf\b", beside.line) and (beside.is_alone or beside.in_text)
    return Judgement("K-factor", "K-factor", None, "not judged") if is_named and 100.0 <= value != 3600.0 else None


def _api(value: float, number: str, beside: Beside) -> Judgement | None:
    if "." not in number or not 110.0 < value < 160.0:
        return None
    is_api = re.search(r"\bapi\b", beside.words)
    is_above = re.search(r"@ (?:per|\*)", beside.line) or (abs(value - 141.5) < abs(value - 131.5))
    right, other = (_NUMERATOR, _SUBTRAHEND) if is_above else (_SUBTRAHEND, _NUMERATOR)
    is_right = value == float(right)
    if not (is_api or (is_right and re.search(r"gravity|\bsg\b|relative density", beside.words))):
        return None
    if not is_right and not _is_slip(number, right) and other not in beside.before + beside.after:
        return None
    what = "constant of API gravity" + "; it may be a slip of a digit" * (not is_right and _is_slip(number, right))
    return Judgement("API gravity", what, float(right), "right" if is_right else "wrong")


def _offset(value: float, number: str, beside: Beside) -> Judgement | None:
    words = r"kelvin|celsius|rankine|fahrenheit|\btemp\w*|\bdeg ?[cfkr]?\b|\babs\b|absolute|\bzero\b|\b(?:to|in) [kr]\b"
    is_added = beside.is_alone or re.search(r"[+-] @|@ [+-]", beside.line)
    if not 270.0 < value < 500.0 or not is_added or "triple" in beside.words:
        return None
    if value not in (459.67, 491.67) and not re.search(words, beside.words):
        return None
    zero = min(_ZEROS, key=lambda each: abs(float(each) - value))
    verdict, what = _at_its_digits(number, value, float(zero)), "zero of a temperature scale"
    is_slip = _is_slip(number, zero) and abs(value / float(zero) - 1.0) < _ZERO_SLIP
    is_slip = is_slip and (number != "273.16" or re.search(words, beside.line) is not None)  # that of the triple point
    if not verdict and (number.endswith(".15") or not is_slip):
        return None
    what += "" if verdict else "; it may be a slip of a digit"
    return Judgement("temperature offset", what, float(zero), verdict or "wrong")


def _expansion(value: float, number: str, beside: Beside) -> Judgement | None:
    """Judge a coefficient of thermal expansion per degree, or a constant of the tables of volume correction."""
    line = f"{beside.line} {beside.remark}"
    is_expansion, digits = re.search(r"\b(?:expan\w*|thermal|cte|vcf)\b", line), len(digits_of(number)[0])
    constants = [each for each in _ALPHA if len(number) > 6 and abs(value / each - 1.0) < 1e-6]
    if constants and (is_expansion or digits > 6):
        return Judgement("thermal expansion", "constant of the volume correction", constants[0], "right")
    if not is_expansion or not 1e-4 < value < 0.02 or not _FUEL.search(beside.words):
        return None
    grade, scale = (
        fuel(_fuel_of(beside) or "Jet A"),
        "degF" if re.search(r"\b(?:per|deg) ?(?:deg ?)?f\b", line) else "degC",
    )
    cold, base, warm = (float(grade.density_kg_m3(celsius)) for celsius in (10.0, 15.0, 20.0))
    expected = (cold - warm) / base / (18.0 if scale == "degF" else 10.0)
    what, verdict = f"thermal expansion of {grade.name} per {scale}", "plausible"
    if not 0.75 < value / expected < 1.35:
        what += number_looks_like(value, expected, f"1/delta_{scale}", tolerance="20 %")
        verdict = "wrong"
    found = Judgement("thermal expansion", what, expected, verdict, scale, "", grade.name)
    return found if verdict == "plausible" or beside.is_alone else None


def _tank(_: float, __: str, beside: Beside) -> Judgement | None:
    name = words_of(beside.name)
    size = re.search(r"\b(?:capacity|size|volume|usable|full|max|gal|imp_gal|L|lb|kg)\b", name)
    inside = " ".join(beside.above) if "capacity" in name else ""
    tank = re.search(r"\btanks?\b|\busable\b|\b(?:fuel|max|capacity) (?:fuel|max|capacity)\b", f"{name} {inside}")
    return Judgement("tank size", "tank size", None, "not judged") if size and tank and beside.is_alone else None
