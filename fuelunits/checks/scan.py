"""Find the numbers in a project's sources that look like fuel arithmetic, and say which are wrong.

A factor, or a constant of a scale, ``matches`` at its digits, is ``rounded`` where that is more than 0.05 % off, or
wrong; a density or an expansion is plausible for its fuel, or wrong; a K-factor or a tank size is not judged.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from fnmatch import fnmatchcase
from fractions import Fraction
from functools import cache, partial
from math import ceil
from pathlib import Path
from typing import Any, NamedTuple

import msgspec

from fuelunits.checks.file import EXCLUDED, problem_at
from fuelunits.checks.kinds import KINDS
from fuelunits.checks.output import Mark, annotated, sarif, wrapped
from fuelunits.checks.places import Place, Source, Sources, read_file
from fuelunits.checks.scan_judging import Judgement, judge, known
from fuelunits.checks.scan_numbers import SAYS, WORDS, Beside, digits_of
from fuelunits.errors import FileError
from fuelunits.reports import CAUTION, format_percent
from fuelunits.validation import check_types

_LIMITS = "A constant without telling words beside it is not found: a scan that finds nothing wrong proves nothing."
_NO_SOURCE = re.compile(rf".*\.(?:min\.\w+|{'|'.join(WORDS['files']['no_source'].split())})", re.IGNORECASE | re.DOTALL)
_DATA, _LARGEST_DATA = tuple(f".{ending}" for ending in WORDS["files"]["data"].split()), 200_000
_LONGEST_LINE = 5_000  # a longer one is data, such as a picture
_ASSUMPTIONS = re.compile(rf"^\s*\[\[(?:{'|'.join(KINDS)})\]\]", re.MULTILINE)


@dataclass(frozen=True)
class Finding:
    """A number that looks like fuel arithmetic: its place, what it looks like, what was expected, the difference."""

    file: str
    line: int
    column: int
    text: str
    value: float
    judgement: Judgement
    name: str

    @property
    def difference(self) -> float | None:
        """The value over the expected one, less 1."""
        expected = self.judgement.expected
        return None if expected is None else self.value / expected - 1.0

    def as_row(self) -> dict[str, Any]:
        """Return the finding as plain types."""
        own, judged = ("file", "line", "column", "text", "value"), ("kind", "what", "expected")
        row = {name: getattr(self, name) for name in own} | {name: getattr(self.judgement, name) for name in judged}
        return {**row, "difference": self.difference, "verdict": self.judgement.verdict}

    def __str__(self) -> str:
        found = self.judgement
        off = "" if self.difference is None else f", {format_percent(self.difference, signed=True)}"
        right = "" if found.expected is None else f"; expected {found.expected:.10g}"
        return f"{self.text}: {found.verdict}{off}; {found.what}{right}"


class ScanReport(NamedTuple):
    """The findings of a scan, and a line for each file that was skipped."""

    findings: list[Finding]
    skipped: list[str]

    @property
    def wrong(self) -> list[Finding]:
        """The findings that are wrong."""
        return [each for each in self.findings if each.judgement.verdict == "wrong"]


def scan(paths: Iterable[str], *, exclude: Iterable[str] = ()) -> ScanReport:
    """Return the numbers in files and folders that look like fuel arithmetic.

    Of a folder that is every file but what ``.gitignore`` names, packages, data, minified code, folders to `exclude`.
    """
    report, seen = ScanReport([], []), set[str]()
    for start in check_types(paths, str, "paths", "the names of files and folders"):
        if not os.path.lexists(start):
            raise FileError(f"{start}: there is no such file or folder")
        is_folder = os.path.isdir(start)
        for path in _walk(start, {*EXCLUDED, *WORDS["files"]["left_alone"], *exclude}) if is_folder else [start]:
            if (real := os.path.realpath(path)) not in seen:
                seen.add(real)
                name = os.path.normpath(path)
                try:
                    report.findings.extend(scan_text(_text(name, is_folder), name))
                except (FileError, OSError) as wrong:
                    report.skipped.append(str(wrong))
    return report


def scan_text(text: str, path: str) -> Iterator[Finding]:
    """Return the findings of one text; only numbers near a word of the trade, or long known ones, are looked at."""
    lines, is_of_fuel = text.split("\n"), SAYS["fuel"].search(f"{path} {text}") is not None
    for row, line in enumerate(lines):
        matches = list(SAYS["number"].finditer(line)) if len(line) <= _LONGEST_LINE else []
        is_near = bool(matches) and any(map(SAYS["near"].search, lines[max(row - 3, 0) : row + 1]))
        for match in matches:
            number = match["number"] or match["joined"]
            if len(number) < (2 if is_near else 6) or (number[0] == "0" and number[1] not in "._"):
                continue
            value, _, _ = digits_of(number)
            if not 0.0 < value < 1e9 or not (is_near or known(value, number)):
                continue
            beside = Beside(path, is_of_fuel, lines, row, *match.span())
            if (beside.in_text or not match["grouped"]) and (judged := judge(value, number, beside)):
                place = Path(path).as_posix(), row + 1, match.start() + 1
                yield Finding(*place, match[0], value, judged, beside.name if beside.is_alone else "")


def _text(path: str, found: bool) -> str:
    """Read a file; one that was found in a folder has no text to scan where it holds data or minified code."""
    text = read_file(Path(path), path)
    if "\0" in text[:8192]:
        raise FileError(f"{path} is binary")
    lines = [line for line in text.split("\n") if len(line) <= _LONGEST_LINE]
    is_minified = len(text) > _LONGEST_LINE and 2 * sum(len(line) > 400 for line in lines) > len(lines)
    is_data = path.lower().endswith(_DATA) and len("\n".join(lines)) > _LARGEST_DATA
    return "" if found and (is_minified or is_data or (path.endswith(".toml") and _ASSUMPTIONS.search(text))) else text


def _walk(start: str, excluded: set[str]) -> Iterator[str]:
    """Return the files below a folder, those of each folder first; links are not followed."""
    here = Path(os.path.abspath(start))
    folders_above = [here, *here.parents]
    top = next((n for n, folder in enumerate(folders_above) if (folder / ".git").exists()), 0)
    stack = [(start, [rule for folder in reversed(folders_above[1 : top + 1]) for rule in _rules(str(folder))])]
    while stack:
        folder, rules = stack.pop()
        rules = rules + _rules(folder)
        try:
            entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
        except OSError:
            yield folder
            continue
        folders = []
        for entry in entries:
            is_folder = entry.is_dir(follow_symlinks=False)
            if entry.is_symlink() or entry.name in excluded or _NO_SOURCE.fullmatch(entry.name):
                continue
            path = os.path.abspath(entry.path)
            fitting = (rule for rule in reversed(rules) if _fits(path.removeprefix(rule[0]), is_folder, rule))
            if not next(fitting, ("", [], False, True))[-1]:
                continue
            if not is_folder:
                yield entry.path
            elif not os.path.exists(os.path.join(entry.path, "pyvenv.cfg")):
                folders.append((entry.path, rules))
        stack += reversed(folders)


_Rule = tuple[str, list[str], bool, bool]
"""The folder of a .gitignore, the parts of a pattern, whether it is for folders only, whether it takes back."""


def _rules(folder: str) -> list[_Rule]:
    rules: list[_Rule] = []
    with suppress(FileError):
        for line in read_file(Path(folder, ".gitignore"), ".gitignore", errors="replace").splitlines():
            line = re.sub(r"(?<!\\)\s+$", "", line)
            if line and not line.startswith("#"):
                fixed = re.sub(r"\\([*?[])", r"[\1]", line.removeprefix("!")).replace("\\", "").replace("[^", "[!")
                parts = ["**"] * ("/" not in fixed.rstrip("/")) + fixed.strip("/").split("/")
                parts += ["*"] * (parts[-1] == "**")
                rules.append((os.path.abspath(folder), parts, fixed.endswith("/"), line.startswith("!")))
    return rules


def _fits(path: str, is_folder: bool, rule: _Rule) -> bool:
    """Return whether a path below its folder fits a rule, where ``**`` is for any number of folders."""
    _, pattern, only_folders, _ = rule
    parts, ends = path.strip(os.sep).split(os.sep), {0}  # how many of the parts the pattern read so far may be for
    for each in pattern:
        following = {n + 1 for n in ends if n < len(parts) and fnmatchcase(parts[n], each)}
        ends = set(range(min(ends, default=len(parts)), len(parts))) if each == "**" else following
    return len(parts) in ends and (is_folder or not only_folders)


def _as_text(report: ScanReport) -> str:
    lines = [line for each in report.findings for line in wrapped(f"{each.file}:{each.line}: {each}")]
    verdict = f"{len(report.findings)} found, {len(report.wrong)} wrong"
    return "\n".join([*lines, verdict, *wrapped(f"Note: {_LIMITS}"), *wrapped(f"Caution: {CAUTION}")])


def _marks(report: ScanReport) -> list[Mark]:
    return [Mark(each.judgement.kind, each.judgement.kind, str(each), (each.file, each.line)) for each in report.wrong]


def _toml(report: ScanReport) -> str:
    """Return an assumptions file: by name where the source gives it one number, else by line and value."""
    source_of, left, entries = cache(partial(Source, Path())), [], dict[str, None]()
    for each in report.findings:
        if entry := _entry(each, source_of):
            entries[entry] = None
        else:
            left += [f"# {line}" for line in wrapped(f"not guarded: {each.file}:{each.line}: {each}")]
    head = "# Found by: fuelunits scan. Replace its fuels, ranges, tolerances and calibrated K-factors by your own.\n"
    return "\n".join([f"{head}# Paths begin in the folder of this file.\n", *entries, *left])


def _entry(found: Finding, source_of: Sources) -> str:
    """Return the entry for a finding; nothing where no kind of entry fits, or its place cannot be looked up."""
    line = f"{found.file}:{found.line}"
    for where in (f"{found.file}:{found.name}", line):
        place = Place.read(where)
        kind, keys = _guard(found, bool(place and place.name))
        if not kind or place is None or place.path != found.file:
            continue
        keys = {"name": f"{place.name}, {found.file}" if place.name else f"{kind}, {line}", "where": where, **keys}
        if place.line:
            keys["text"] = source_of(place.path).text[place.line]
        if not problem_at(place, Fraction(repr(found.value)), source_of, msgspec.convert(keys, KINDS[kind])):
            return "\n".join([f"[[{kind}]]", *(f"{key} = {json.dumps(each)}" for key, each in keys.items()), ""])
    return ""


def _guard(found: Finding, is_named: bool) -> tuple[str, dict[str, Any]]:
    """Return the kind of entry and its keys; with the number itself, where the source does not give it by name."""
    kind, _, _, verdict, start, goal, fuel = found.judgement
    unit = f"{goal}/{start}"
    off = 100.0 * abs(found.difference) if found.difference and verdict != "wrong" else 0.0
    number, written = {} if is_named else {"value": found.value}, f"{found.value!r} {unit}"
    given = {"unit": unit} if is_named else {"entered" if kind == "K-factor" else "value": written}
    if kind == "factor" and start:  # one that is off by 1 % is wrong
        least = next(each for each in (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1) if off < each)
        return "factor", {**number, "from": start, "to": goal, "tolerance": f"{least} %"}
    if kind == "density" and start:  # which changes by 2.1 % between these temperatures
        return "density", {**given, "fuel": fuel, "between": ["0 degC", "30 degC"], "tolerance": f"{ceil(off + 2.1)} %"}
    if kind == "K-factor" and start:
        return "k_factor", {**given, "calibrated": written, "tolerance": "0.1 %"}
    if kind == "thermal expansion":
        return "expansion", {**number, "per": start, "fuel": fuel, "tolerance": "35 %"}
    return "", {}


FORMATS: dict[str, Callable[[ScanReport], str]] = {
    "text": _as_text,
    "json": lambda report: json.dumps({"findings": [each.as_row() for each in report.findings]}, indent=2),
    "github": lambda report: annotated(_as_text(report), _marks(report)),
    "sarif": lambda report: sarif({mark.rule: f"A wrong {mark.rule}." for mark in _marks(report)}, _marks(report)),
    "toml": _toml,
}
