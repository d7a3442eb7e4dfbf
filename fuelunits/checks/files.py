"""Several files of assumptions, given by name, by pattern or on standard input, in one report."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from glob import glob
from pathlib import Path
from typing import Any, ClassVar

from fuelunits.checks.entries import Problem
from fuelunits.checks.file import FileReport, judge_text, read_file
from fuelunits.errors import FileError
from fuelunits.reports import Report, Reporting

__all__ = ["FilesReport", "check_files"]

STANDARD_INPUT = "-"
_EXCLUDED = {"node_modules", "venv", ".venv", "site-packages", "__pycache__", ".git", ".tox", ".nox", "build", "dist"}
"""Folders that a pattern passes over."""


@dataclass(frozen=True, repr=False)
class FilesReport(Reporting):
    """Result of the checks of several files: each file, with its results and what is wrong with it."""

    files: tuple[FileReport, ...]

    _plain: ClassVar[tuple[str, ...]] = ("passed", "problems", "entries", "files")

    @property
    def passed(self) -> bool:
        """Whether every file is right and every entry came out as it says."""
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


def check_files(patterns: Iterable[str], root: str | Path | None = None, exclude: Iterable[str] = ()) -> FilesReport:
    """Check every assumption of several files; one that is wrong does not keep the others from being checked.

    Parameters
    ----------
    patterns : iterable of str
        Names, patterns with ``*``, ``?`` and ``**``, or ``-`` for standard input.
    root : str or Path, optional
        Where the paths of ``where`` begin; by default in the folder of each file.
    exclude : iterable of str
        Names of folders that patterns pass over, beside those of environments and packages.
    """
    return FilesReport(tuple(_report(name, wrong, root) for name, wrong in _found(patterns, exclude)))


def _found(patterns: Iterable[str], exclude: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Return the files that are named or fit a pattern, each once, and what is wrong with a pattern that none fits."""
    excluded = _EXCLUDED | set(exclude)
    seen: set[str] = set()
    for pattern in patterns:
        is_name = pattern == STANDARD_INPUT or os.path.exists(pattern) or not set(pattern) & set("*?[")
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
        if name == STANDARD_INPUT:
            return judge_text(sys.stdin.read(), "standard input", "." if root is None else root)
        return judge_text(read_file(name), name, Path(name).parent if root is None else root)
    except FileError as error:
        return FileReport(name, "", (), (Problem(name, 0, str(error).removeprefix(f"{name}: ")),))
