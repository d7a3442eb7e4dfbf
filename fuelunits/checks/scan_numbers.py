"""Numbers in sources of any language, the words beside them, and the units that those words claim.

A claim is a pair of units: so many of the second are in one of the first. ``GAL_TO_L`` and ``litres per gallon`` claim
gal and L, ``lb_per_gal`` claims gal and lb, a density, and ``pulses/L`` claims L and pulse, a K-factor.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Any, NamedTuple

from fuelunits.sources import data_table
from fuelunits.units import spellings

NUMBER = re.compile(
    r"(?<![\w.$€£#])(?<!\d[-:/])(?P<number>"
    r"(?P<grouped>\d{1,3}(?:[, \u202f\xa0]\d{3})+(?![,\d]))(?:\.\d+)?"
    r"|(?:\d{1,3}(?:'\d{3})+|\d+(?:_\d+)*)(?:\.(?:\d+(?:_\d+)*)?)?(?:[eEdD][+-]?\d+)?"
    r"|(?<![:%])\.\d+(?:[eEdD][+-]?\d+)?)"
    r"(?P<suffix>(?:_?[fiu](?:8|16|32|64)|_dp|[fFlLdDmMuU]{1,3})?)(?!\w|\.\w|[-:/]\d|%)"
    r"|(?<![\w.$€£#])(?P<joined>\d+(?:\.\d+)?)(?=(?:lbs?|kg|gal|USG|pulses?)\b)"
)
"""A number as languages write it; versions, dates, colours and hexadecimal numbers are none."""

WORDS = data_table("checks/scan.toml")  # what the scan knows by name: files, words, units and fuels
UNITS = list(WORDS["units"])
_TEXTS = tuple(f".{ending}" for ending in WORDS["files"]["texts"].split())
NEAR, FUEL = (re.compile("|".join(WORDS["words"][name].split()), re.IGNORECASE) for name in ("near", "fuel"))
_ALIASES = {each.replace("_", " ").lower(): unit for unit in UNITS for each in spellings(unit)}
for _unit, _others in (WORDS["units"] | WORDS["compound_units"]).items():
    _ALIASES |= dict.fromkeys(_others.split("|"), _unit)
for _none in ("", "t", "d", "cc"):
    _ALIASES.pop(_none, None)
_ALIAS = re.compile(
    rf"(?<![a-z0-9])(?:{'|'.join(sorted(map(re.escape, _ALIASES), key=len, reverse=True))})(?![a-z0-9])"
)
_CAMEL = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
_CUBED = re.compile(r"(?<=m|t|n)(?:\^|\*\*)?(?:3|³)(?![\d.])")
_DENSITY = re.compile(r"(?<![a-z])(lbs?|kgs?|pulses?)_(?=(?:(?:us|imp)_)?(?:gal(?:lon)?|l|lit(?:re|er)|m3)s?(?![a-z]))")
_TOKEN = re.compile(r"[a-z]+3?|\d[\d.]*(?:[a-z]+)?|[=*(+@,:-]")

_MASS, _VOLUME = "lb|kg|tonne|pulse", "gal|imp_gal|L|m3|ft3"
_U = rf"(?:{'|'.join(UNITS)})\b"
_Q = rf"{_U}(?:/{_U})?"
_E = rf"{_Q}(?: per {_U})?"
_ONE = "(?:(?:a|an|one|each|1|us|fuel|flow|volume|mass|density) )?"
_W = r"(?: [a-z]\w*){0,3}?"
_TO = re.compile(rf"(?<!\w)({_E}) (?:to|into) {_ONE}({_E})")
_PER = re.compile(rf"(?<![/\w])({_Q}) (?:per|from|in (?=a |one |each |1 )) ?{_ONE}({_Q})(?! per (?!@))")
_PER_VOLUME = re.compile(rf"(?<![/\w])({_MASS})/({_VOLUME})(?!\w| per| to)")
_SAID = re.compile(
    rf"(?<!\w)(?:1|one|a|an|each|per) {_ONE}({_E}){_W} [=:]*(?:is|equals|weighs|has|holds)? ?@ {_ONE}({_E})"
)
_OWN = re.compile(rf"@ ({_Q})(?: (?:per|in) |/){_ONE}({_Q})")
_START = rf"(?<!per )(?<![/\w])({_Q})(?!/)"
_GIVEN = rf"{_START}{_W}(?: : [a-z]+)? (?:(?:[*+:] )?= (?:.*? )?|: (?:[^,:=]*? )?)"
_IN = r"(?:(?:decimal |float |double )?\( )?"
_TIMES = re.compile(rf"{_GIVEN}{_START}{_W}(?: \d)? (?:\*|per) {_IN}(?:1(?:\.0*)? per )?@")
_BEFORE = re.compile(rf"{_START}{_W} (?:[*+:] )?= @ \* (?:.*? )?{_START}")
_CALL = re.compile(rf"{_START}{_W} \( (?:.*? )?{_START}")
_DIVIDED = re.compile(rf"\bper {_IN}@")
_K_PER = re.compile(rf"\bk(?: ?fact(?:or)?s?)?(?: per)? ({_VOLUME})\b")
_RATE = re.compile(rf"\b(?:({_MASS}) per ({_VOLUME})|({_MASS}|{_VOLUME}|mL) per (h|min|s))\b")


def words_of(text: str) -> str:
    """Return a text as words in small letters with one space between them, its units by their printed names."""
    text = _CAMEL.sub(" ", _CUBED.sub("3", text)).lower().replace("/", " per ").replace("→", " to ")
    text = _DENSITY.sub(r"\1 per ", text)
    text = re.sub(r"(?:(?<=[a-z])|(?<=m3|t3))2(?=[a-z])", " to ", text.replace("_", " ").replace("==", " is "))
    text = re.sub(r"\bcc\b(?= to\b| per\b)|(?<=\bto )cc\b|(?<=\bper )cc\b", "ml", " ".join(_TOKEN.findall(text)))
    text = _ALIAS.sub(lambda match: _ALIASES[match[0]], text)
    text = re.sub(rf"\b({_MASS}) ({_VOLUME})\b(?! [a-z]* ?=)", r"\1/\2", text)
    text = _K_PER.sub(r"pulse/\1", text)
    return _RATE.sub(lambda match: "/".join(filter(None, match.groups())), text)


class Claim(NamedTuple):
    """So many `goal` in one `start`; `near` is 0 for the number's own unit or name, more for words farther away."""

    start: str
    goal: str
    near: int
    is_sure: bool = True


_NAME = re.compile(
    r"""(?:\#\s*define\s+(?P<define>[A-Za-z_]\w*)\s+|"""
    r"""(?P<name>[A-Za-z_$][\w.$\-]*)["'\]]*\s*(?::\s*[A-Za-z_][\w\[\]<>.]*\s*)?(?:=>|:=|[=:]))"""
    r"""[\s(\[{"'+\-]*(?:(?:[A-Za-z_][\w.]*)?\(["']?\s*)?(?:1(?:\.0*)?[fF]?\s*/\s*)?$"""
)
_COMMENT = re.compile(r"\s#|//|/\*|\s--\s|;\s*;|\"\"\"|<!--|\s!\s")
_ENDS = re.compile(r"""(?:\s+as const)?[\s)\]}"';,]*(?:$|[."']?[A-Za-z_]\w*["']?\s*[:=])""")
_WIDEST = 200  # how many letters before and behind a number are read
_IS_COMMENT = re.compile(r"\s*(?:#(?!\s*define)|//|/\*|\*|--|;|\"\"\"|'''|!|<!--)")
_PART_BEFORE = re.compile(
    r"(?:[=(,:{\[]|\breturn)\s*-\s*$|\b(?:int|round|floor|ceil|trunc|sqrt|pow|exp|log\w*)\s*\(\s*$"
    r"|(?<![\w.])(?!1(?:\.0*)?[fF]?\s*/)\d[\w.]*\s*[-+*/%]\s*\(*$"
)
_PART_AFTER = re.compile(r"\s*\)*\s*(?:\*\*|\^|[-+*/%]\s*\d)")
_1_OVER, _INNER = re.compile(r"\b1(?:\.0*)?[fF]?\s*/\s*\(*$"), re.compile(r"[(\[][^()\[\]]*[)\]]")
_ENDS_TERM = re.compile(r"[-+=,:;<>?&|(){}\[\]]|\breturn\b")
_OF_NAME = re.compile(
    r"\s*(?:[\w<>]+\s+)*?(?P<name>[A-Za-z_][\w.]*)\s*(?::[^=]*)?=(?![=>])(?!.*(?:=>|lambda|\breturn\b))"
)
_OF_SEVERAL = re.compile(r"(?:(?<!_u)s|[gpl]ph|[gl]pm)$", re.IGNORECASE)
"""The end of a name that is an amount, and no unit that is defined."""


class Beside:
    """What stands beside a number: the words of its line, of the comment behind it, and of the lines that lead to it.

    `in_text` is whether it stands in a text, a comment or a string; `is_alone` whether it is all that `name` is given;
    `is_joined` whether an operator joins more to it in code. In the words of its `line`, @ stands for the number; those
    of a number in a text are of its sentence.
    """

    def __init__(self, path: str, is_of_fuel: bool, lines: list[str], row: int, start: int, end: int) -> None:
        self.is_of_fuel, self._lines, self._row = is_of_fuel, lines, row
        self.before, self.after = lines[row][max(start - _WIDEST, 0) : start], lines[row][end : end + _WIDEST]
        before, after, name = self.before, _COMMENT.split(self.after)[0], _NAME.search(self.before)
        self._code_after, self.remark = after, words_of(self.after[len(after) :])
        self.name = (name["define"] or name["name"]) if name else ""
        is_comment = _COMMENT.search(f" {before}") or _IS_COMMENT.match(before)
        is_quoted = sum(before.count(mark) for mark in "\"'`") % 2
        self.in_text = bool(is_quoted or is_comment or path.lower().endswith(_TEXTS))
        self.is_alone = bool(self.name and _ENDS.match(after))
        is_joined = re.search(r"[-+*/%]\s*\(*$", before) or re.match(r"\s*\)*\s*[-+*/%]", after)
        self.is_joined = not (self.is_alone or self.in_text or not is_joined)
        if self.in_text:
            before, after = re.split(r"[.;]\s", before)[-1], re.split(r"[.;](?:\s|$)", after)[0]
        self.line = f"{words_of(before)} @ {words_of(after)}".strip()

    @cached_property
    def is_part(self) -> bool:
        """Whether a sign, a power, a function, a number or a second name makes more of it in its expression."""
        before, after = _1_OVER.sub("", self.before), f"@{self._code_after}"
        while _INNER.search(before) or _INNER.search(after):  # brackets within brackets
            before, after = _INNER.sub("x", before), _INNER.sub("x", after)
        term = _ENDS_TERM.split(re.sub(r"(?<=[*/])[\s(]*\(", "", before))[-1]
        term += _ENDS_TERM.split(re.sub(r"\)[\s)]*(?=[*/])", "", after))[0]
        is_part = _PART_BEFORE.search(self.before) or _PART_AFTER.match(self._code_after)
        return not self.in_text and bool(is_part or len(re.findall(r"[\w@]\s*[*/%]", term)) > 1)

    @cached_property
    def above(self) -> list[str]:
        """The words of the comment above, and of the lines of less indentation that enclose it, nearest first."""
        found, indent, is_next = [], _indent(self._lines[self._row]), True
        for line in reversed(self._lines[max(self._row - 39, 0) : self._row]):
            if not re.search(r"\w", line):
                is_next = is_next and bool(line.strip())
                continue
            is_comment = _IS_COMMENT.match(line) is not None
            is_next = _indent(line) < indent or (is_comment and is_next) or bool(re.match(r"\s*(?:\"\"\"|''')\w", line))
            if is_next:
                found.append(words_of(line[:_WIDEST]))
                indent = indent if is_comment else min(indent, _indent(line))
            if len(found) == 4 or not (indent or is_next):
                break
        return found

    @cached_property
    def words(self) -> str:
        """All the words beside it."""
        return " | ".join((self.line, self.remark, *self.above))

    def claims(self) -> Iterator[Claim]:
        """Return what the words claim of the number, the nearest first."""
        is_divided = _DIVIDED.search(self.line) is not None  # which turns what a name says

        def claimed(pairs: Iterable[Any], near: int, turn: bool = is_divided, sure: bool = True) -> Iterator[Claim]:
            return (Claim(pair[turn], pair[not turn], near, sure) for pair in pairs)

        near, line = 0 if self.is_alone else 1, self.line
        whole = _OF_NAME.match(self.before)  # a name that claims a factor is that of all behind it
        is_whole = not (self.is_joined and whole and any(_pairs(words_of(whole["name"]))))
        yield from (Claim(match[2], match[1], 0) for match in _OWN.finditer(line))
        yield from (Claim(match[1], match[2], 0) for match in _SAID.finditer(line))
        yield from claimed(_pairs(words_of(self.name)), near, sure=is_whole)
        yield from claimed((match.group(2, 1) for match in _TIMES.finditer(line)), 1)
        for match in _BEFORE.finditer(line):  # pounds = 6.7 * gallons, or the definition barrel = 42 * gallon
            yield Claim(match[2], match[1], 1)
            if not _OF_SEVERAL.search(self.name):
                yield Claim(match[1], match[2], 1, is_sure=False)
        yield from claimed(_pairs(self.remark), near, is_divided and _TO.search(self.remark) is not None)
        yield from claimed(_pairs(line), 1, sure=is_whole)
        for words in (line if "return" in line else "", *self.above):
            yield from claimed((match.group(2, 1) for match in _CALL.finditer(words)), 2)
        for words in self.above:
            yield from claimed(_pairs(words), 2)


def _pairs(words: str) -> Iterator[tuple[str, str]]:
    """Return the pairs of units that words name, ``x to y`` and ``y per x``, and densities such as ``lb/gal``."""
    for match in _TO.finditer(words):
        yield match[1].replace(" per ", "/"), match[2].replace(" per ", "/")
    for pattern in (_PER, _PER_VOLUME):
        for match in pattern.finditer(words):
            yield match[2], match[1]


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())


def digits_of(number: str) -> tuple[float, str, float]:
    """Return the value of a number as written, its significant digits, and the size of the last one."""
    plain = re.sub(r"[_',\s]", "", number).lower().replace("d", "e")
    mantissa, _, exponent = plain.partition("e")
    whole, _, decimals = mantissa.partition(".")
    return float(plain), (whole + decimals).lstrip("0"), float(f"1e{exponent or 0}") * float(f"1e-{len(decimals)}")
