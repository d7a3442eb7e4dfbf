"""The assumptions file: fuel figures that a project has written down, to be checked repeatedly.

A TOML file, or ``tool.fuelunits`` of a ``pyproject.toml``, with entries ``[[density]]``, ``[[factor]]`` and
``[[k_factor]]``; :mod:`fuelunits.checks.entries` holds their keys.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from fractions import Fraction
from glob import glob
from math import nan
from pathlib import Path
from typing import Any, ClassVar

from fuelunits.checks.entries import Entry, KFactorEntry, Problem, number_of, read_entries
from fuelunits.checks.judging import Outcome, judge
from fuelunits.checks.places import Place, SourceFiles, read_file
from fuelunits.errors import FileError, FuelUnitsError
from fuelunits.quantities import read_text, tolerance_fraction
from fuelunits.reports import Report, Reporting, Table
from fuelunits.validation import check_type

_STANDARD_INPUT = "-"
EXCLUDED = {"node_modules", "venv", ".venv", "site-packages", "__pycache__", ".git", ".tox", ".nox", "build", "dist"}
"""Folders that a pattern passes over."""


@dataclass(frozen=True, repr=False)
class FileReport(Reporting):
    """Result of the checks of one file: an outcome for each entry that could be read, and what is wrong with the file.

    ``root`` is where the paths of its places begin; empty where none was looked up.
    """

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

    @property
    def entries(self) -> list[dict[str, Any]]:
        """The results as plain types."""
        return [outcome.as_row() for outcome in self.outcomes]

    def rows(self) -> list[dict[str, Any]]:
        """Return a row for each entry."""
        return self.entries

    def report(self) -> Report:
        """Return the results as a table, with the remarks on each."""
        heads = ("assumption", "result", "off, %", "limit, %")
        tables = [Table(heads, tuple(outcome.cells() for outcome in self.outcomes))] if self.outcomes else []
        notes = [f"{outcome.entry.name}: {note}" for outcome in self.outcomes for note in outcome.notes]
        return Report(self.file, self.verdict, tables=tables, remarks=[*map(str, self.problems), *notes])


@dataclass(frozen=True, repr=False)
class FilesReport(Reporting):
    """Result of the checks of several files: each file, with its results and what is wrong with it."""

    files: tuple[FileReport, ...]

    _plain: ClassVar[tuple[str, ...]] = ("passed", "problems", "entries", "files")

    @property
    def passed(self) -> bool:
        """Whether every file is valid and every entry is as expected."""
        return all(report.passed for report in self.files)

    @property
    def problems(self) -> tuple[Problem, ...]:
        """What is wrong with the files themselves."""
        return tuple(problem for report in self.files for problem in report.problems)

    @property
    def entries(self) -> list[dict[str, Any]]:
        """The results of all files as plain types."""
        return [{"file": report.file, **entry} for report in self.files for entry in report.entries]

    def rows(self) -> list[dict[str, Any]]:
        """Return a row for each entry."""
        return self.entries

    def report(self) -> Report:
        """Return the report of each file."""
        title = f"assumptions in {len(self.files)} file" + "s" * (len(self.files) != 1)
        verdict = "passed" if self.passed else "not passed"
        return Report(title, verdict, sections=[each.report() for each in self.files])


def check_file(path: str | Path, *, root: str | Path | None = None) -> FileReport:
    r"""Return the check of every assumption of a file; FileError where it is wrong, with each line.

    Parameters
    ----------
    path : str or Path
        A TOML file as described above.
    root : str or Path, optional
        Where the paths of ``where`` begin; by default in the folder of the file.

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


def check_files(patterns: Iterable[str], root: str | Path | None = None, exclude: Iterable[str] = ()) -> FilesReport:
    """Return the checks of several files; an invalid file does not prevent the check of the others.

    Patterns are names, or have ``*``, ``?`` and ``**``; ``-`` is standard input. They skip the folders `exclude`,
    and those of environments and packages.
    """
    return FilesReport(tuple(_report(name, wrong, root) for name, wrong in _found(patterns, exclude)))


def _found(patterns: Iterable[str], exclude: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Return the files that are named or fit a pattern, each once, and what is wrong with a pattern that none fits."""
    excluded = EXCLUDED | set(exclude)
    seen: set[str] = set()
    for pattern in patterns:
        is_name = pattern == _STANDARD_INPUT or os.path.exists(pattern) or not set(pattern) & set("*?[")
        names = [pattern] if is_name else sorted(glob(pattern, recursive=True))
        kept = [name for name in names if is_name or not excluded & set(Path(name).parts)]
        if not kept:
            yield pattern, "no file fits the pattern"
        for name in kept:
            real = os.path.realpath(name)
            if real not in seen:
                seen.add(real)
                yield name, ""


def _report(name: str, wrong: str, root: str | Path | None) -> FileReport:
    try:
        if wrong:
            raise FileError(wrong)
        if name == _STANDARD_INPUT:
            return _judge_text(sys.stdin.read(), "standard input", "." if root is None else root)
        return _judge_text(read_file(Path(name), name), name, Path(name).parent if root is None else root)
    except FileError as error:
        return FileReport(name, "", (), (Problem(name, 0, str(error).removeprefix(f"{name} ")),))


def _judge_text(text: str, name: str, root: str | Path | None) -> FileReport:
    """Return the report of a text, with whatever is wrong as its problems."""
    entries, problems = read_entries(text, name)
    if root is not None:
        check_type(root, (str, Path), "root", "the name of a folder")
    sources = None if root is None else SourceFiles(Path(root))
    outcomes = []
    for line, entry in entries:
        try:
            outcomes.append(replace(_outcome(entry, sources), line=line))
        except FuelUnitsError as wrong:
            problems.append(Problem(name, line, f"[[{entry.kind}]] {entry.name!r}: {wrong}"))
    return FileReport(name, "" if root is None else str(root), tuple(outcomes), tuple(problems))


def _outcome(entry: Entry, sources: SourceFiles | None) -> Outcome:
    value, place = entry.number, Place.read(entry.where)
    if not value:
        return _read_and_judge(entry, place, sources)
    found = judge(entry, value)
    if sources is None or place is None:
        return found
    return replace(found, misplaced=sources.problem(place, number_of(value), lambda n: _mistake(entry, n)), place=place)


def _mistake(entry: Entry, number: Fraction) -> str:
    """Return what a number that stands in place of an entry's may be, as the end of a message."""
    other = f"{float(number)!r} {read_text(entry.number)[1]}" if isinstance(entry.number, str) else float(number)
    with suppress(FuelUnitsError):
        return "".join(re.findall(r"; it may be [^;]*", judge(entry, other).remark))
    return ""


def _read_and_judge(entry: Entry, place: Place | None, sources: SourceFiles | None) -> Outcome:
    """Judge the number in the source, at the name that the entry gives."""
    key = "entered" if isinstance(entry, KFactorEntry) else "value"
    unit = getattr(entry, "unit", "1") or ("1" if getattr(entry, "reference", "") else "")
    if place is None or not place.name:
        raise FileError(
            f"{key!r} is missing; write it, or name the constant that holds it, such as where = 'src/fuel.h:GAL_TO_L'"
        )
    if not unit:
        raise FileError("'unit' is missing; write the unit of the number that is read, such as unit = 'lb/gal'")
    tolerance = tolerance_fraction(entry.tolerance)
    if sources is None:
        raise FileError(f"{entry.where} is not looked up without a root, and there is no number to judge")
    try:
        line, number = sources.named(place)
    except FileError as missing:
        return Outcome(entry, 0, False, nan, tolerance, misplaced=str(missing), place=place)
    found = judge(entry, f"{float(number)!r} {unit}" if hasattr(entry, "unit") else float(number))
    return replace(found, place=replace(place, line=line))
