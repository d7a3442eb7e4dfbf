"""The places that entries name: a line as it reads, or a constant, key or define; comments never count."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from fuelunits.errors import FileError, FuelUnitsError
from fuelunits.sources import data_table
from fuelunits.units import Unit, read_unit

_DATA = data_table("checks/places.toml")
_COMMENTS, _TEXTS = _DATA["comment"], {kind: frozenset(it.split()) for kind, it in _DATA["texts"].items()}
_SAYS = {name: re.compile(each.strip("\n")) for name, each in _DATA["patterns"].items()}
_DIGITS = r"(?:[0-9](?:[0-9_]|'(?=[0-9])){0,999}+(?:\.[0-9_]{0,999}+)?|\.[0-9][0-9_]{0,999}+)(?:[eE][+-]?[0-9]{1,3})?"
_SIGN = r"(?:^\s*-(?=[0-9.])|(?:[=(,:\[{>]|<-?\s|\breturn\b)\s*-\s*)"
_NUMBER = re.compile(rf"(?:\$\{{\w+:-|(?P<sign>{_SIGN}))?(?<![\w.])(?>(?P<number>{_DIGITS}))(?!\.?[0-9])")
"""A number and its sign; after anything else a minus subtracts, is part of an arrow, or marks an item of a list."""
_STRING = r"""(?<!\w)[rbfuRBFU]{0,2}(?:"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*')"""
_LARGEST_BYTES = 20_000_000
Sources = Callable[[str], "Source"]


@dataclass(frozen=True)
class Place:
    """A line of a file, counted from 1, or a name; the path is relative to the root."""

    path: str
    line: int
    name: str = ""

    @classmethod
    def read(cls, text: str) -> Place | None:
        """Read ``path:line`` or ``path:NAME``, without spaces; None for other text."""
        match = _SAYS["place"].fullmatch(text.strip())
        if match is None or (match["name"] and not re.search(r"[./\\]", match["path"])):
            return None
        return cls(match["path"], int(match["line"] or 0), match["name"] or "")


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
    """A source below a root, its lines without comments and an index of its numbers; FileError if it is not read."""

    def __init__(self, root: Path, path: str) -> None:
        self.path, text = path, read_file(root / path, path, errors="replace", root=root)
        self._suffix, self.text = path.rpartition(".")[2].lower(), ["", *map(str.strip, text.split("\n"))]
        text = _SAYS["notebook" if self._suffix == "ipynb" else "spaces"].sub(lambda each: " " * len(each[0]), text)
        self.lines = ["", *without_comments(text, self._suffix).split("\n")]
        self.numbers: dict[Fraction, list[int]] = {}
        self._words: dict[str, list[int]] = {}
        for number, line in enumerate(self.lines):
            for each in set(numbers_in(line)):
                self.numbers.setdefault(each, []).append(number)
            for word in set(re.findall(r"[A-Za-z_][\w.\-]*", line)):
                self._words.setdefault(word, []).append(number)

    def named(self, name: str) -> tuple[int, Fraction, str]:
        """Return the line of a name, its one number, and the unit if it is a text with one; else a FileError."""
        own, other = re.escape(name), r"[\w.*]+"
        given = re.compile(
            rf"""(?:\#\s*define\s+{own}\s(?P<define>)\s*|(?<![\w.\-])["']?{own}["']?\s*"""
            rf"""(?::\s*[A-Za-z][\w\[\].:<> ]*)?(?P<by>:=|<{{1,2}}-|[*/+\-%]{{1,2}}=|=(?!=|\s*{own}\s*[,)])"""
            rf"""|:(?![:=]|[<>^,]?\d*\.\d+[a-zA-Z%]\}}|\.\d\d?\}})|\{{))\s*["'({{]*\s*"""
            rf"""(?:(?P<number>[+-]?(?>{_DIGITS})))?(?=(?P<rest>.*))"""
        )
        several = re.compile(rf"\s*(?:for\s+(?:{other}\s*,\s*)*{own}[\s\w,.]*\sin\b|{own}(?:\s*,\s*{other})+\s*=(?!=))")
        found: list[tuple[int, Fraction, str]] = []
        for line in self._words.get(name, []):
            if several.match(self.lines[line]):
                raise FileError(f"{name} in {self.path}, line {line}, is given with other names, or by a loop")
            where, every = f"{name} in {self.path}, line {line}", given.finditer(self.lines[line])
            defining = (it for it in every if it["number"] is not None or not self._defines_nothing(line, it))
            found.extend((line, *self._given(line, it, where)) for it in defining)
        if not found:
            raise FileError(f"{self.path} has no number with the name {name}")
        if len({(number, unit) for _, number, unit in found}) > 1:
            lines = ", ".join(str(line) for line, *_ in found[:5])
            raise FileError(f"{name} in {self.path} has different numbers or units on lines {lines}; name one by line")
        return found[0]

    def _given(self, line: int, match: re.Match[str], where: str) -> tuple[Fraction, str]:
        """Return the number that a name is given on a line, and any unit, which must be all that the line says."""
        number, rest, path = match["number"] or "0", match["rest"], self.path
        value, ends = Fraction(re.sub("[_']", "", number)), _SAYS["ends"].match(rest)
        if value.denominator > 1 and _SAYS["integer"].search(self.lines[line][: match.start()]):
            raise FileError(f"{where}, is an integer, which cuts {number} off")
        goes_on = "" if rest.rstrip().endswith((",", ";")) else self._continued(line)
        is_tuple = path.endswith(".py") and match.start() == 0 and rest.strip() == ","
        is_changed, is_octal = (match["by"] or "=")[0] in "*/+-%", re.match(r"0_?[0-9]", number)
        of_type = ends and ends["type"] and (self._suffix not in _TEXTS["typed"] or number.endswith("_"))
        no_type = of_type and not re.match(r"[fiu]\d\d", rest)
        if not ends or goes_on or is_tuple or is_changed or is_octal or no_type or not 1e-100 < value < 1e100:
            written = f"{self.lines[line].strip()} {goes_on}".strip()[:60]
            text = f"name {path}:{line}, and write the line as text"
            raise FileError(f"{where}: {written!r} is not one positive number that ends the line; {text}")
        return value, (ends["unit"] or "").strip()

    def _defines_nothing(self, line: int, match: re.Match[str]) -> bool:
        """Return whether a name without a number has a type, or stands in a message; in data it has another value."""
        code, by = self.lines[line], match["by"]
        if by in (":", "{"):
            return self._suffix not in _TEXTS["data"]
        texts = () if self._suffix in _TEXTS["no_code"] else re.finditer(f"{_STRING}|`[^`]*`", code)
        return any(it.start() < match.start("by") < it.end() for it in texts) and not _SAYS["defines"].search(code)

    def _continued(self, line: int) -> str:
        """Return the next line where it goes on with what a line began, as ``* 1.2`` does, else nothing."""
        following = next(filter(str.strip, self.lines[line + 1 :]), "")
        own, other = (len(re.findall(r"^(?:\s|-\s)*", each)[0]) for each in (self.lines[line], following))
        is_sign = self._suffix not in _TEXTS["lists"] and _SAYS["goes_on"].match(following.strip()) and other >= own - 1
        return following.strip() if other > own or is_sign else ""


def stated_unit(text: str) -> Unit | None:
    """Return a unit, in whichever case, to compare, pulses as a number, a degree as a difference; None for no unit."""
    text = re.sub(r"(\bper\s|/)\s*(?:deg(?:rees?)?\s+)?([CF])\b", r"\1deg\2", text)
    text = re.sub(r"^\s*(?:per\s|1?/)\s*", "1/", re.sub(_SAYS["pulses"], "1", text))
    count, _, degree = text.partition("/")
    with suppress(FuelUnitsError):
        return read_unit(f"{count}/delta_{read_unit(degree)}" if degree and read_unit(degree).zero else text)
    folded = re.sub(r"[A-Za-z]{3,}|\b(?i:kg|lb)s?\b", lambda match: match[0].lower(), text)
    return stated_unit(folded) if folded != text else None


def without_comments(text: str, suffix: str) -> str:
    """Return a text with the comments of its language as blanks; its lines and columns stay where they are."""
    if suffix in _TEXTS["plain"]:
        return text
    own = [each for each in _COMMENTS if suffix in each["endings"].split()]
    patterns = [each["pattern"] for each in own or [each for each in _COMMENTS if "common" in each]]
    comments = re.compile(f"(?P<comment>{'|'.join(reversed(patterns))})|{_STRING}")
    return comments.sub(lambda match: match[0] if match["comment"] is None else re.sub(r"[^\n]", " ", match[0]), text)


def numbers_in(text: str) -> Iterator[Fraction]:
    """Yield each number of a line of code or of data with its sign, exactly."""
    for match in _NUMBER.finditer(text):
        yield Fraction("-" * bool(match["sign"]) + re.sub("[_']", "", match["number"]))
