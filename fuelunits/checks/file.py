"""The assumptions file: fuel figures that a project has written down, to be checked repeatedly.

A TOML file, or ``tool.fuelunits`` of a ``pyproject.toml``; :mod:`fuelunits.checks.kinds` holds the keys of its entries.
"""

from __future__ import annotations

import json
import os
import re
import sys
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache, partial
from glob import glob
from itertools import takewhile
from math import nan
from pathlib import Path
from types import GenericAlias
from typing import Annotated, Any, ClassVar, Literal, cast

import msgspec

from fuelunits.checks.kinds import KINDS, Entry, Outcome
from fuelunits.checks.places import Place, Source, Sources, numbers_in, read_file, without_comments
from fuelunits.errors import FileError, FuelUnitsError
from fuelunits.quantities import read_text, tolerance_fraction
from fuelunits.reports import Report, Reporting, Table, plain
from fuelunits.validation import check_type, did_you_mean, format_value, nearest

_ABOUT = "Fixed densities, factors, K-factors and the like, written down somewhere, checked by: fuelunits check FILE."
EXCLUDED = {"node_modules", "venv", ".venv", "site-packages", "__pycache__", ".git", ".tox", ".nox"}
"""Folders that a pattern passes over."""
_HEADINGS = " or ".join(f"[[{kind}]]" for kind in KINDS)
_HEADING = re.compile(r"""\s*\[\[\s*(?:tool\s*\.\s*fuelunits\s*\.\s*)?["']?(\w+)["']?\s*\]\]""")
_PYPROJECT = re.compile(r"(?:.*[/\\])?pyproject\.toml", re.DOTALL)


@dataclass(frozen=True)
class Problem:
    """What is wrong with a file, and on which of its lines; 0 where no line can be named."""

    file: str
    line: int
    message: str

    def __str__(self) -> str:
        return f"{self.file}{f':{self.line}' if self.line else ''}: {self.message}"


@dataclass(frozen=True, repr=False)
class FileReport(Reporting):
    """Result of the checks of one file: outcomes of its entries, what is wrong with it, where its places begin."""

    file: str
    root: str
    outcomes: tuple[Outcome, ...] = field(repr=False)  # as plain types they are the entries
    problems: tuple[Problem, ...] = ()

    _plain: ClassVar[tuple[str, ...]] = ("passed", "entries")

    @property
    def passed(self) -> bool:
        """Whether the file is valid and every entry is as expected."""
        return not self.problems and all(outcome.as_expected for outcome in self.outcomes)

    @property
    def verdict(self) -> str:
        """The counts of the file, and whether it passed."""
        failing = [outcome for outcome in self.outcomes if not outcome.holds]
        foreseen = sum(outcome.as_expected for outcome in failing)
        unexpected = sum(not outcome.as_expected for outcome in self.outcomes)
        wrong = f", {len(self.problems)} wrong" * bool(self.problems)
        result = "passed" if self.passed else f"{unexpected} unexpected" if unexpected else "not passed"
        counts = f"{len(self.outcomes)} entries, {len(self.outcomes) - len(failing)} hold, {len(failing)} fail"
        return f"{counts} ({foreseen} of them expected to){wrong}: {result}"

    def entries(self) -> list[dict[str, Any]]:
        """Return the results as plain types."""
        return [outcome.as_row() for outcome in self.outcomes]

    rows = entries

    def notes(self) -> Iterator[tuple[Outcome, list[str]]]:
        """Yield each outcome with its notes, less what was said of an earlier entry, such as of its fuel."""
        said: set[str] = set()
        for outcome in self.outcomes:
            yield outcome, [note for note in outcome.notes if note not in said]
            said.update(outcome.caveats)

    def report(self) -> Report:
        tables = [Table.of(outcome.cells() for outcome in self.outcomes)] if self.outcomes else []
        notes = [f"{outcome.entry.name}: {note}" for outcome, notes in self.notes() for note in notes]
        return Report(self.file, self.verdict, tables=tables, remarks=[*map(str, self.problems), *notes])


def check_file(path: str | Path, *, root: str | Path | None = None) -> FileReport:
    r"""Return the check of every assumption of a file; FileError where it is wrong, with each line.

    Parameters
    ----------
    path : str or Path, a TOML file as described above
    root : str or Path, optional, where the paths of ``where`` begin; by default in the folder of the file

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> entry = '[[factor]]\nname = "litres"\nvalue = 3.785\nfrom = "gal"\nto = "L"\ntolerance = "0.02 %"\n'
    >>> with TemporaryDirectory() as folder:
    ...     written = Path(folder, "assumptions.toml").write_text(entry, encoding="utf-8")
    ...     check_file(Path(folder, "assumptions.toml")).passed
    True
    """
    check_type(path, (str, Path), "path", "the name of a TOML file")
    text = read_file(Path(path), str(path))
    return check_text(text, name=str(path), root=Path(path).parent if root is None else root)


def check_text(text: str, *, name: str = "assumptions", root: str | Path | None = None) -> FileReport:
    """Return the check of a text as of a file; without a `root` no ``where`` is looked up."""
    report = _judge_text(check_type(text, str, "text", "the text of a TOML file"), name, root)
    if report.problems:
        raise FileError("\n".join(map(str, report.problems)))
    return report


def check_files(patterns: Iterable[str], root: str | None = None, exclude: Iterable[str] = ()) -> list[FileReport]:
    """Return the checks of several files; an invalid file does not prevent the check of the others.

    Patterns are names, or have ``*``, ``?`` and ``**``; ``-`` is standard input. They skip the folders `exclude`, and
    those of git, environments and packages, but no other hidden ones.
    """
    excluded, reports = EXCLUDED | set(exclude), {}
    for pattern in patterns:
        found = sorted(glob(pattern, recursive=True, include_hidden=True))
        for name in [each for each in found if not excluded & set(Path(each).parts)] or [pattern]:
            if (real := os.path.realpath(name)) not in reports:
                title, folder = ("standard input", Path()) if name == "-" else (name, Path(name).parent)
                try:
                    text = sys.stdin.read() if name == "-" else read_file(Path(name), name)
                    reports[real] = _judge_text(text, title, folder if root is None else root)
                except FileError as error:
                    reports[real] = FileReport(name, "", (), (Problem(name, 0, str(error).removeprefix(f"{name} ")),))
    return list(reports.values())


def _judge_text(text: str, name: str, root: str | Path | None) -> FileReport:
    entries, problems = _read_entries(text.removeprefix("\ufeff"), name)
    if root is not None:
        check_type(root, (str, Path), "root", "the name of a folder")
    source_of, outcomes = None if root is None else cache(partial(Source, Path(root))), []
    for line, entry in entries:
        try:
            outcomes.append(replace(_outcome(entry, source_of), line=line))
        except FuelUnitsError as wrong:
            problems.append(Problem(name, line, f"[[{entry.kind}]] {entry.name!r}: {wrong}"))
    return FileReport(name, "" if root is None else str(root), tuple(outcomes), tuple(problems))


def _outcome(entry: Entry, source_of: Sources | None) -> Outcome:
    """Judge the number of an entry and look up its place, or judge the number that stands there."""
    place = Place.read(entry.where)
    if entry.text and (place is None or not place.line):
        raise FileError(f"'text' is that of a line; name it, as in where = 'src/fuel.h:12', not {entry.where!r}")
    if entry.number:
        if getattr(entry, "unit", ""):
            raise FileError("'unit' is of a number that is read; beside a number of the entry, leave it out")
        found = entry.judge()
        if source_of is None or place is None:
            instead = "; write path:line or path:NAME" * (place is None)
            unread = f"{entry.where} is not looked up for {entry.name!r}{instead}"
            is_like_path = re.search(r"\w\.[A-Za-z]|[/\\:]", entry.where)
            return replace(found, caveats=(*found.caveats, unread)) if is_like_path else found
        wrong = problem_at(place, read_text(str(entry.number))[0], source_of, entry)
        return replace(found, misplaced=wrong, place=place)
    if place is None or not place.name:
        key = "entered" if hasattr(entry, "entered") else "value"
        where = "write it, or name the constant that holds it, such as where = 'src/fuel.h:GAL_TO_L'"
        raise FileError(f"{key!r} is missing; {where}")
    if hasattr(entry, "unit") and not entry.unit_read:
        raise FileError("'unit' is missing; write the unit of the number that is read, such as unit = 'lb/gal'")
    if source_of is None:
        raise FileError(f"{entry.where} is not looked up without a root, and there is no number to judge")
    try:
        line, number, stated = source_of(place.path).named(place.name)
    except FileError as missing:
        return Outcome(entry, False, nan, tolerance_fraction(entry.tolerance), misplaced=str(missing), place=place)
    wrong = entry.wrong_unit(stated)
    found = entry.judge(number, stated if wrong else "")
    return replace(found, misplaced="" if hasattr(entry, "unit") else wrong, place=replace(place, line=line))


def problem_at(place: Place, number: Fraction, source_of: Sources, entry: Entry) -> str:
    """Return what is wrong if a name does not have the number and the unit of an entry, or a line not its text."""
    path, line = place.path, place.line
    try:
        if place.name:
            line, found, stated = source_of(path).named(place.name)
            wrong = f"{place.name} in {path}, line {line}, is {float(found):.10g} and not {float(number):.10g}"
            return entry.wrong_unit(stated) if found == number else wrong
        source = source_of(path)
    except FileError as wrong_file:
        return str(wrong_file)
    on_line = set(numbers_in("".join(source.lines[line : line + 1])))
    if number in on_line:
        reads = f"line {line} of {path} reads {json.dumps(source.text[line], ensure_ascii=False)}"
        ask = "" if entry.text else "; write that as text, so that any change of the line is found"
        return "" if entry.text.strip() == source.text[line] else f"{reads}{ask or ' and not the text of the entry'}"
    lines, other = source.numbers.get(number, []), next(iter(on_line)) if len(on_line) == 1 else None
    contains = "does not contain" if other is None else f"contains {float(other):.10g} and not"
    stands = "line " + ", ".join(map(str, lines[:5])) + ", …" * (len(lines) > 5) if lines else "none of its lines"
    wrong = f"line {line} of {path} {contains} {float(number):.10g}, which is on {stands}"
    with suppress(FuelUnitsError):
        if other is not None:  # and what it may be
            wrong += "".join(re.findall(r"; it may be [^;]*", entry.judge(other).remark))
    return wrong


def schema() -> dict[str, Any]:
    """Return the JSON Schema of an assumptions file as plain JSON types."""
    keys = [
        ("format", Annotated[Literal[1], msgspec.Meta(description="The format of the file.")], 1),
        ("about", Annotated[Any, msgspec.Meta(description="Free text about the file; it is not read.")], None),
        *((kind, GenericAlias(tuple, (of, ...)), ()) for kind, of in KINDS.items()),
    ]
    file = msgspec.defstruct("_File", keys, namespace={"__doc__": _ABOUT}, forbid_unknown_fields=True)
    _, parts = msgspec.json.schema_components([file], ref_template="#/$defs/{name}")
    found = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:fuelunits:assumptions:1",
        **parts.pop("_File"),
        "title": "Assumptions of a project about fuel",
        "anyOf": [{"required": [name], "properties": {name: {"minItems": 1}}} for name in KINDS],
        "$defs": parts,
    }
    return cast(dict[str, Any], plain(found))


def _read_entries(text: str, file: str) -> tuple[list[tuple[int, Entry]], list[Problem]]:
    """Return each entry of a file, or of ``tool.fuelunits``, with its line; and everything that is wrong."""
    try:
        table = _table(text, file)
    except FileError as wrong:
        place = re.search(r"at line (\d+)", str(wrong))
        return [], [Problem(file, int(place[1]) if place else 0, str(wrong))]
    entries, problems, headings = list[tuple[int, Entry]](), list[Problem](), dict[str, list[int]]()
    lines = ["", *without_comments(text, "toml").split("\n")]  # strings over several lines are passed over
    for number, words in enumerate(lines):
        if match := _HEADING.match(words):
            headings.setdefault(match[1], []).append(number)
    for kind, value in table.items():
        if wrong_heading := _wrong_heading(kind, value):
            problems.append(Problem(file, _line_of(lines, kind, headings.get(kind, []), 1), wrong_heading))
            continue
        for number, entry in enumerate(value if kind in KINDS else (), start=1):
            wrong_keys = list(_problems(KINDS[kind], entry))
            line, name = _line_of(lines, kind, headings.get(kind, []), number), entry.get("name")
            label = f"[[{kind}]] " + (format_value(name) if isinstance(name, str) else f"number {number}")
            own = list(takewhile(lambda each: not each.lstrip().startswith("["), lines[line + 1 :]))
            for key, message in wrong_keys:
                is_own = re.compile(rf"""\s*["']?{re.escape(key)}["']?\s*=""").match
                at = next((n for n, each in enumerate(own, line + 1) if key and is_own(each)), line)
                problems.append(Problem(file, at, f"{label}: {message}"))
            if not wrong_keys:
                entries.append((line, msgspec.convert(entry, KINDS[kind])))
    if not entries and not problems:
        problems.append(Problem(file, 0, f"has no entries; write {_HEADINGS}"))
    if _PYPROJECT.fullmatch(file):
        problems = [replace(each, message=each.message.replace("[[", "[[tool.fuelunits.")) for each in problems]
    return entries, problems


def _wrong_heading(kind: str, value: Any) -> str:
    if kind not in (*KINDS, "about", "format"):
        near = [f"[[{each}]]" for each in nearest(kind, KINDS)]
        return f"{format_value(kind)} is not known; {did_you_mean(near, f'write {_HEADINGS}')}"
    if kind == "format" and (value != 1 or isinstance(value, bool)):
        return f"format is {format_value(value)}; expected 1"
    if kind in KINDS and not (isinstance(value, list) and all(isinstance(each, dict) for each in value)):
        return f"{kind} is not a list of entries; head each entry with [[{kind}]]"
    return ""


def _table(text: str, file: str) -> Mapping[str, Any]:
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as wrong:  # a ValueError also for a number of thousands of digits
        raise FileError(f"is not TOML: {wrong}") from wrong
    if not _PYPROJECT.fullmatch(file):
        return table
    tool = table.get("tool", {})
    own = tool.get("fuelunits", {}) if isinstance(tool, dict) else {}
    if not isinstance(own, dict):
        raise FileError("tool.fuelunits is not a table; write [[tool.fuelunits.factor]]")
    return own


def _problems(kind: type[Entry], entry: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Return each key with what is wrong with it."""
    fields, meant = {each.encode_name: each for each in msgspec.structs.fields(kind)}, set()
    for key, value in entry.items():
        if key not in fields:
            near = nearest(key, fields)
            meant.update(near)
            yield key, f"{format_value(key)} is not known; " + did_you_mean(near, f"an entry has {', '.join(fields)}")
            continue
        try:
            msgspec.convert(value, fields[key].type)
        except (msgspec.ValidationError, OverflowError):
            yield key, f"{key} is {format_value(value)}; expected {_expected(kind, key)}"
    for key, known_key in fields.items():
        if known_key.required and key not in entry and key not in meant:
            yield "", f"{key!r} is missing; expected {_expected(kind, key)}"


@cache
def _expected(kind: type[Entry], key: str) -> str:
    found = schema()["$defs"][kind.__name__]["properties"][key]
    found = next((each for each in found.get("anyOf", ()) if "examples" in each), found)
    meaning, (example,) = found["description"].split(". ")[0].rstrip("."), found["examples"]
    return f"{meaning[0].lower()}{meaning[1:]}, for example {example!r}"


def _line_of(lines: list[str], kind: str, headings: list[int], number: int) -> int:
    """Return the line of the n-th entry of a kind, or of the first line that mentions it."""
    if number <= len(headings):
        return headings[number - 1]
    key = re.compile(rf"""\s*\[*\s*["']?{re.escape(kind)}["']?\s*[=\]]""")
    return next((n for n, line in enumerate(lines) if key.match(line)), 0)
