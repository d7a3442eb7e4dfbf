"""The places that entries name: the number on a line of a source, or the number of a constant, a key or a define.

Comments never count, nor do Python strings over several lines. Each file is read and indexed once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TypeAlias

from fuelunits.errors import FileError
from fuelunits.sources import data_table

_PLACE = re.compile(
    r"(?P<path>(?!\w+://)\S+?):(?:(?P<line>[1-9][0-9]{0,8})(?::(?P<column>[1-9][0-9]{0,8}))?|(?P<name>[A-Za-z_][\w.\-]*))"
)
_DIGITS = r"(?:[0-9](?:[0-9_]|'(?=[0-9])){0,999}+(?:\.[0-9_]{0,999}+)?|\.[0-9][0-9_]{0,999}+)(?:[eE][+-]?[0-9]{1,3})?"
_SIGN = r"(?:^\s*-(?=[0-9.])|(?:[=(,:\[{<>]|\breturn\b)\s*-\s*)"
_NUMBER = re.compile(rf"(?P<sign>{_SIGN})?(?<![\w.])(?>(?P<number>{_DIGITS}))(?!\.?[0-9])")
"""A number and its sign; after anything else a minus subtracts, or marks an item of a list."""
_STRING = r"""(?<!\w)[rbfuRBFU]{0,2}(?:"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*')"""
_COMMENTS = data_table("checks/comments.toml")["comment"]
_PLAIN_TEXT = {"txt", "rst", "csv", "tsv"}
_LARGEST_BYTES = 20_000_000


@dataclass(frozen=True)
class Place:
    """A line of a file and a column of it, counted from 1, or a name; the path is relative to the root."""

    path: str
    line: int
    name: str = ""
    column: int = 0

    @classmethod
    def read(cls, text: str) -> Place | None:
        """Read ``path:line``, ``path:line:column`` or ``path:NAME``, without spaces; None for other text."""
        match = _PLACE.fullmatch(text.strip())
        if match is None or (match["name"] and not re.search(r"[./\\]", match["path"])):
            return None
        return cls(match["path"], int(match["line"] or 0), match["name"] or "", int(match["column"] or 0))


def read_file(file: Path, name: str, errors: str = "strict", root: Path | None = None) -> str:
    """Return the text of a file of moderate size, or a FileError that begins with its name; none outside `root`."""
    try:
        if root is not None and not file.resolve().is_relative_to(root.resolve()):
            raise FileError(f"{name} lies outside {root}, and is not opened")
        if file.exists() and not file.is_file():
            raise FileError(f"{name} cannot be read: it is not a file")
        if file.stat().st_size > _LARGEST_BYTES:
            raise FileError(f"{name} cannot be read: it is larger than {_LARGEST_BYTES // 10**6} MB")
        return file.read_text(encoding="utf-8-sig", errors=errors)
    except FileError:
        raise
    except UnicodeDecodeError as wrong:
        raise FileError(f"{name} is not UTF-8 text, at byte {wrong.start}") from wrong
    except (OSError, RuntimeError, ValueError) as wrong:  # a RuntimeError for links in a circle
        raise FileError(f"{name[:200]} cannot be read: {getattr(wrong, 'strerror', None) or wrong}") from wrong


class Source:
    """A source below a root without its comments, and an index of its numbers; FileError where it cannot be read."""

    def __init__(self, root: Path, path: str) -> None:
        self.path, text = path, read_file(root / path, path, errors="replace", root=root)
        self.lines = ["", *without_comments(text, path.rpartition(".")[2]).split("\n")]
        self.numbers: dict[Fraction, list[int]] = {}
        self._words: dict[str, list[int]] = {}
        for number, line in enumerate(self.lines):
            for each in {value for _, value in numbers_in(line)}:
                self.numbers.setdefault(each, []).append(number)
            for word in set(re.findall(r"[A-Za-z_][\w.\-]*", line)):
                self._words.setdefault(word, []).append(number)

    def named(self, name: str) -> tuple[int, Fraction, str]:
        """Return the line of a name, its one number, and any unit that its text states; else a FileError."""
        own, other = re.escape(name), r"[\w.*]+"
        quoted = rf"""(?<![\w.\-])["']?{own}["']?"""
        given = re.compile(
            rf"""(?:\#\s*define\s+{own}\s(?P<define>)\s*|{quoted}\s*(?::\s*[A-Za-z][\w\[\].:<> ]*)?"""
            rf"""(?P<by>:=|[*/+\-%]{{1,2}}=|=(?!=)|:(?![:=])|\{{))\s*["'({{]*\s*"""
            rf"""(?:(?P<number>[+-]?(?>{_DIGITS})))?(?=(?P<rest>.*))"""
        )
        several = re.compile(rf"\s*(?:for\s+(?:{other}\s*,\s*)*{own}[\s\w,.]*\sin\b|{own}(?:\s*,\s*{other})+\s*=(?!=))")
        found: list[tuple[int, Fraction, str]] = []
        for line in self._words.get(name, []):
            if several.match(self.lines[line]):
                raise FileError(f"{name} in {self.path}, line {line}, is given with other names, or by a loop")
            for match in given.finditer(self.lines[line]):
                number, by = match["number"], match["by"]
                if number is None and by in (":", "{"):  # a type, or a table within a table
                    continue
                value = Fraction(re.sub("[_']", "", number or "0"))
                goes_on = "" if match["rest"].strip() else self._continued(line, "(" in match[0])
                is_tuple = self.path.endswith(".py") and match.start() == 0 and match["rest"].strip() == ","
                ends = None if goes_on or is_tuple or (by or "=")[0] in "*/+-%" else _ENDS.match(match["rest"])
                if value.denominator > 1 and _INTEGER.search(self.lines[line][: match.start()]):
                    raise FileError(f"{name} in {self.path}, line {line}, is an integer, which cuts {number} off")
                if ends is None or not 1e-100 < value < 1e100:
                    written = f"{self.lines[line].strip()} {goes_on}".strip()[:60]
                    where = f"{name} in {self.path}, line {line}"
                    raise FileError(f"{where}: {written!r} does not give it one positive number, which is needed")
                found.append((line, value, (ends["unit"] or "").strip()))
        if not found:
            raise FileError(f"{self.path} has no number with the name {name}")
        if len({number for _, number, _ in found}) > 1 or len({unit for *_, unit in found if unit}) > 1:
            lines = ", ".join(str(line) for line, *_ in found[:5])
            raise FileError(f"{name} in {self.path} has different numbers or units on lines {lines}; name one by line")
        return next((each for each in found if each[2]), found[0])

    def _continued(self, line: int, in_brackets: bool) -> str:
        """Return the next line where it goes on with what a line began, as ``* 1.2`` does, else nothing."""
        following = next(filter(None, (self.lines[number].strip() for number in range(line + 1, len(self.lines)))), "")
        has_lists = self.path.rpartition(".")[2].lower() in (*_PLAIN_TEXT, "md", "yaml", "yml")
        signs = ("*", "/", "%", "+", "-") if in_brackets else () if has_lists else ("* ", "/ ")
        return following if following.startswith(signs) else ""


Sources: TypeAlias = Callable[[str], Source]
Mistake: TypeAlias = Callable[[Fraction], str]
_INTEGER = re.compile(r"\b(?:unsigned|signed|short|long|u?int(?:\d+(?:_t)?)?)\s+(?:const\s+)?$")
_ENDS = re.compile(
    r"""(?:[ \t]*(?P<unit>[A-Za-z%°][^"'*+();=]*)["']|[fFlLdDmMuU]{1,2}|_?[fiu]\d\d)?[\s)\]}"']*"""
    r"""(?:$|;|,(?!\s*[+-]?[.\d]))"""
)
"""What may follow the number of a name: a suffix of its type, a unit before a closing quote, and an end."""


def problem_at(place: Place, number: Fraction, source_of: Sources, mistake: Mistake = lambda _: "") -> str:
    """Return what is wrong if the place does not hold the number; `mistake` says what another one may be."""
    path, line = place.path, place.line
    try:
        if place.name:
            line, found, _ = source_of(path).named(place.name)
            given = f"{float(found):.10g} and not {float(number):.10g}"
            return "" if found == number else f"{place.name} in {path}, line {line}, is {given}"
        source = source_of(path)
    except FileError as wrong_file:
        return str(wrong_file)
    columns = dict(numbers_in("".join(source.lines[line : line + 1])))
    own = [column for column, each in columns.items() if each == number]
    if own and (place.column in own if place.column else len(own) == len(columns)):
        return ""
    if own:
        more = "" if place.column else " beside other numbers"
        where = f"{path}, line {line}, has {float(number):.10g} at column {own[0]}{more}"
        return f"{where}; name its constant, or write {path}:{line}:{own[0]}"
    lines = source.numbers.get(number, [])
    other = columns.get(place.column) if place.column or len(columns) != 1 else next(iter(columns.values()))
    contains = "does not contain" if other is None else f"contains {float(other):.10g} and not"
    stands = "line " + ", ".join(map(str, lines[:5])) + ", …" * (len(lines) > 5) if lines else "none of its lines"
    wrong = f"line {line} of {path} {contains} {float(number):.10g}, which is on {stands}"
    return wrong if other is None else wrong + mistake(other)


def without_comments(text: str, suffix: str) -> str:
    """Return a text with the comments of its language as blanks; its lines and columns stay where they are."""
    suffix = suffix.lower()
    if suffix in _PLAIN_TEXT:
        return text
    own = [each for each in _COMMENTS if suffix in each["endings"].split()]
    # of a language that is not known, whatever may be a comment does not count
    patterns = [each["pattern"] for each in own or [each for each in _COMMENTS if "common" in each]]
    comments = re.compile(f"(?P<comment>{'|'.join(reversed(patterns))})|{_STRING}")
    return comments.sub(lambda match: match[0] if match["comment"] is None else re.sub(r"[^\n]", " ", match[0]), text)


def numbers_in(text: str) -> Iterator[tuple[int, Fraction]]:
    """Yield the column of each number of a line of code or of data, and the number with its sign, exactly."""
    for match in _NUMBER.finditer(text):
        yield match.start("number") + 1, Fraction("-" * bool(match["sign"]) + re.sub("[_']", "", match["number"]))
