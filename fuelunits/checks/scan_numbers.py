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

WORDS = data_table("checks/scan.toml")  # what the scan knows by name: files, patterns, units and fuels
SAYS = {name: re.compile(each.strip("\n").replace("KEY", WORDS["key"])) for name, each in WORDS["patterns"].items()}
_TEXTS = tuple(f".{ending}" for ending in WORDS["files"]["texts"].split())
_ALIASES = {each.replace("_", " ").lower(): unit for unit in WORDS["units"] for each in spellings(unit)}
for _unit, _others in (WORDS["units"] | WORDS["compound_units"]).items():
    _ALIASES |= dict.fromkeys(_others.split("|"), _unit)
_SPELLED = sorted(map(re.escape, _ALIASES.keys() - {"", "t", "d", "cc"}), key=len, reverse=True)
_ALIAS = re.compile(rf"(?<![a-z0-9])(?:{'|'.join(_SPELLED)})(?![a-z0-9])")

_MASS, _VOLUME = "lb|kg|tonne|pulse", "gal|imp_gal|L|m3|ft3"
_U = rf"(?:{'|'.join(WORDS['units'])})\b"
_Q = rf"{_U}(?:/{_U})?"
_NAMED = re.compile(rf"(?<![\w/]){_Q}(?!/)")
_E = rf"{_Q}(?: per {_U})?"
_ONE = "(?:(?:a|an|one|each|1|us|fuel|flow|volume|mass|density) )?"
_W = r"(?: [a-z]\w*){0,3}?"
_KEYS = {key: re.compile(rf"\b{key}(?: units?)? (?:[:=]|[-=]+>) ({_Q})") for key in ("from", "to")}
_TO = re.compile(rf"(?<!\w)({_E}) (?:to|into) {_ONE}({_E})")
_PER = re.compile(rf"(?<![/\w])({_Q}) (?:per|from|each|in (?=a |one |each |1 )) ?{_ONE}({_Q})(?! per (?!@))")
_PER_VOLUME = re.compile(rf"(?<![/\w])({_MASS})/({_VOLUME})(?!\w| per| to)")
_IS = "(?:is|equals|weighs|has|holds)?"
_SAID = re.compile(rf"(?<!\w)(?:1|one|a|an|each|per) {_ONE}({_E}){_W} [=:]*{_IS} ?@ {_ONE}({_E})")
_OWN = re.compile(rf"@ ({_Q})(?: (?:per|in) |/){_ONE}({_Q})")
_START = rf"(?<!per )(?<![/\w])({_Q})(?!/)"
_GIVEN = rf"{_START}{_W}(?: : [a-z]+)? (?:(?:[*+:] )?= (?:.*? )?|: (?:[^,:=]*? )?)"
_IN = r"(?:(?:decimal |float |double )?\( )?"
_TIMES = re.compile(rf"{_GIVEN}{_START}{_W}(?: \d)? (?:\*|per) {_IN}(?:1(?:\.0*)? per )?@")
_BEFORE = re.compile(rf"{_START}{_W} (?:[*+:] )?= @ \* (?:.*? )?{_START}")
_CALL = re.compile(rf"{_START}{_W} \( (?:.*? )?{_START}")
_ARROW = re.compile(rf"(?<![\w/])({_Q}) (?:[-=]+>|2|as) (?=(?!\1\b){_Q}(?: (?:[:,]|conver|factor)|(?: [:=])?$))")
_PRODUCT = re.compile(rf"{_START}{_W} [x*] @ (?:=|is|equals|gives) {_ONE}({_E})")
_DIVIDED = re.compile(rf"\b(?:per|(?:divid\w* by|divisor)(?: [:=]+)?) {_IN}@")
_K_PER = re.compile(rf"\bk(?: ?fact(?:or)?s?)?(?: per)? ({_VOLUME})\b")
_RATE = re.compile(rf"\b(?:({_MASS}) per ({_VOLUME})|({_MASS}|{_VOLUME}|mL) (?:per |(?!s))(h|min|s))\b")


def words_of(text: str) -> str:
    """Return a text as words in small letters with one space between them, its units by their printed names."""
    text = SAYS["two"].sub(" to ", SAYS["quoted_arrow"].sub(r"\1 to ", SAYS["cubed"].sub("3", text)))
    text = SAYS["camel"].sub(" ", SAYS["spaces"].sub(" ", text)).lower().replace("/", " per ")
    text = SAYS["arrow"].sub(" to ", SAYS["count"].sub(" per ", text))
    text = SAYS["mass_per_volume"].sub(r"\1 per ", text).replace("_", " ").replace("==", " is ")
    text = re.sub(r"\bcc\b(?= to\b| per\b)|(?<=\bto )cc\b|(?<=\bper )cc\b", "ml", " ".join(SAYS["token"].findall(text)))
    text = _ALIAS.sub(lambda match: _ALIASES[match[0]], text)
    text = _K_PER.sub(r"pulse/\1", re.sub(rf"\b({_MASS}) ({_VOLUME})\b(?! [a-z]* ?=)", r"\1/\2", text))
    text = _ARROW.sub(r"\1 to ", _RATE.sub(lambda match: "/".join(filter(None, match.groups())), text))
    return re.sub(r"[-=]*([-=])>", r"\1", text)


def units_in(words: str) -> list[str]:
    """Return the units that words name, each once."""
    return sorted(set(_NAMED.findall(words)))


class Claim(NamedTuple):
    """So many `goal` in one `start`; `near` is 0 for the number's own unit or name, more for words farther away."""

    start: str
    goal: str
    near: int
    is_sure: bool = True


_WIDEST = 200  # how many letters before and behind a number are read


class Beside:
    """What stands beside a number: the words of its line, of the comment behind it, and of the lines that lead to it.

    `in_text` is whether it stands in a text, a comment or a string; `is_alone` whether it is all that `name` is given;
    `is_joined` whether an operator joins more to it in code. In the words of its `line`, @ stands for the number; those
    of a number in a text are of its sentence.
    """

    def __init__(self, path: str, is_of_fuel: bool, lines: list[str], row: int, start: int, end: int) -> None:
        self.is_of_fuel, self._lines, self._row = is_of_fuel, lines, row
        self.before, self.after = lines[row][max(start - _WIDEST, 0) : start], lines[row][end : end + _WIDEST]
        before, after, name = self.before, SAYS["comment"].split(self.after)[0], SAYS["name"].search(self.before)
        self._code_after, self.code, self.remark = after, f"{before}@{after}", self.after[len(after) :]
        self.name = (name["define"] or name["name"]) if name else ""
        is_comment = SAYS["comment"].search(f" {before}") or SAYS["is_comment"].match(before)
        is_quoted = sum(before.count(mark) for mark in "\"'`") % 2
        self.in_text = bool(is_quoted or is_comment or path.lower().endswith(_TEXTS))
        self.is_alone = bool(self.name and SAYS["ends_name"].match(after))
        is_joined = re.search(r"[-+*/%]=?\s*\(*$", before) or re.match(r"\s*\)*\s*[-+*/%]", after)
        self.is_joined = not (self.is_alone or self.in_text or not is_joined)
        if self.in_text:
            before, after = re.split(r"[.;]\s", before)[-1], re.split(r"[.;](?:\s|$)", after)[0]
        else:
            before, after = SAYS["other_statement"].sub("", before), SAYS["own_statement"].findall(after)[0]
        self.said, self.remark = (before, after + self.remark), words_of(self.remark.lstrip("/*#;<! -"))
        self.line = f"{words_of(before)} @ {words_of(after)}".strip()

    @cached_property
    def is_part(self) -> bool:
        """Whether a sign, a power, a function, a number or a second name makes more of it in its expression."""
        before, after = SAYS["one_over"].sub("", self.before), f"@{self._code_after}"
        while SAYS["inner"].search(before) or SAYS["inner"].search(after):  # brackets within brackets
            before, after = SAYS["inner"].sub("x", before), SAYS["inner"].sub("x", after)
        term = SAYS["ends_term"].split(re.sub(r"(?<=[*/])[\s(]*\(", "", before))[-1]
        term += SAYS["ends_term"].split(re.sub(r"\)[\s)]*(?=[*/])", "", after))[0]
        is_part = SAYS["part_before"].search(self.before) or SAYS["part_after"].match(self._code_after)
        return bool(is_part or len(re.findall(r"[\w@]\s*[*/%]", term)) > 1)

    @cached_property
    def above(self) -> list[str]:
        """The words of the comment above, and of the lines of less indentation that enclose it, nearest first."""
        line = self._lines[self._row]
        found, indent, is_next = [], len(line) - len(line.lstrip()), True
        for line in reversed(self._lines[max(self._row - 39, 0) : self._row]):
            if not re.search(r"\w", line):
                is_next = is_next and bool(line.strip())
                continue
            is_comment, own = SAYS["is_comment"].match(line) is not None, len(line) - len(line.lstrip())
            is_next = own < indent or (is_comment and is_next) or bool(re.match(r"\s*(?:\"\"\"|''')\w", line))
            if is_next:
                found.append(words_of(line[:_WIDEST]))
                indent = indent if is_comment else min(indent, own)
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

        near, line, named = 0 if self.is_alone else 1, self.line, list(_pairs(words_of(self.name)))
        whole = SAYS["of_name"].match(self.before)  # a name that claims a factor is that of all behind it
        is_whole = not (self.is_joined and whole and any(_pairs(words_of(whole["name"]))))
        yield from (Claim(match[2], match[1], 0) for match in _OWN.finditer(line))
        yield from (Claim(match[1], match[2], 0) for by in (_SAID, _PRODUCT) for match in by.finditer(line))
        yield from claimed(named, near, sure=is_whole)
        item = words_of(SAYS["own_item"].findall("@".join(self.said))[0])
        yield from (Claim(a, b, 1) for a in _KEYS["from"].findall(item) for b in _KEYS["to"].findall(item))
        yield from claimed((match.group(2, 1) for match in _TIMES.finditer(line)), 1)
        for match in _BEFORE.finditer(line):  # pounds = 6.7 * gallons, or the definition barrel = 42 * gallon
            yield Claim(match[2], match[1], 1)
            if not SAYS["of_several"].search(self.name):
                yield Claim(match[1], match[2], 1, is_sure=False)
        yield from claimed(_pairs(self.remark), bool(named) or near, is_divided and _TO.search(self.remark) is not None)
        yield from claimed(_pairs(line), 1, sure=is_whole)
        for words in (line if "return" in line else "", *self.above):
            yield from claimed((match.group(2, 1) for match in _CALL.finditer(words)), 2)
        yield from claimed((pair for words in self.above for pair in _pairs(words)), 2)


def _pairs(words: str) -> Iterator[tuple[str, str]]:
    """Return the pairs of units that words name, ``x to y`` and ``y per x``, and densities such as ``lb/gal``."""
    yield from ((match[1].replace(" per ", "/"), match[2].replace(" per ", "/")) for match in _TO.finditer(words))
    yield from ((match[2], match[1]) for by in (_PER, _PER_VOLUME) for match in by.finditer(words))


def digits_of(number: str) -> tuple[float, str, float]:
    """Return the value of a number as written, its significant digits, and the size of the last one."""
    plain = re.sub(r"[_',\s]", "", number).lower().replace("d", "e")
    mantissa, _, exponent = plain.partition("e")
    whole, _, decimals = mantissa.partition(".")
    return float(plain), (whole + decimals).lstrip("0"), float(f"1e{exponent or 0}") * float(f"1e-{len(decimals)}")
