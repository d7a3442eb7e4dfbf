"""Several files of assumptions, given by name or by pattern, in one report."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from glob import glob
from pathlib import Path
from typing import Any

from fuelunits.checks.file import FileReport, check_file
from fuelunits.checks.printing import report_lines, summary
from fuelunits.errors import FileError
from fuelunits.reports import CAUTION

__all__ = ["FilesReport", "check_files", "found_files"]


@dataclass(frozen=True)
class FilesReport:
    """What came of several files.

    Attributes
    ----------
    files : tuple of FileReport
        Those that could be read.
    wrong : dict of str to str
        Those that could not, and why.
    """

    files: tuple[FileReport, ...]
    wrong: dict[str, str]

    @property
    def passed(self) -> bool:
        """Whether every file could be read and every entry came out as it says."""
        return not self.wrong and all(report.passed for report in self.files)

    def as_dict(self) -> dict[str, Any]:
        """Give everything as plain JSON types."""
        read = [report.as_dict() for report in self.files]
        return {
            "passed": self.passed,
            "files": [
                {"file": each["file"], "passed": each["passed"], "entries": len(each["entries"])} for each in read
            ],
            "wrong_files": [{"file": file, "message": message} for file, message in self.wrong.items()],
            "entries": [{"file": each["file"], **entry} for each in read for entry in each["entries"]],
            "caution": CAUTION,
        }

    def text(self, *, colour: bool = False) -> str:
        """Give one line an entry, one a file, and the caution; nothing if no file could be read."""
        if not self.files:
            return ""
        lines = report_lines([outcome for report in self.files for outcome in report.outcomes], colour=colour)
        return "\n".join([*lines, *map(summary, self.files), CAUTION])

    def __str__(self) -> str:
        return self.text()


def found_files(patterns: Iterable[str]) -> list[str]:
    """Give the files that are named or fit a pattern, each once.

    Raises
    ------
    FileError
        If a pattern fits no file.
    """
    found: dict[str, None] = {}
    for pattern in patterns:
        names = (
            [pattern]
            if Path(pattern).exists() or not set(pattern) & set("*?[")
            else sorted(glob(pattern, recursive=True))
        )
        if not names:
            raise FileError(f"no file fits {pattern!r}")
        found.update(dict.fromkeys(names))
    return list(found)


def check_files(patterns: Iterable[str], root: str | Path | None = None) -> FilesReport:
    """Check every assumption of several files.

    Parameters
    ----------
    patterns : iterable of str
        Names, or patterns with ``*``, ``?`` and ``**``.
    root : str or Path, optional
        Where the paths of ``where`` begin; by default in the folder of each file.

    Returns
    -------
    FilesReport
        A file that is wrong does not keep the others from being checked.

    Raises
    ------
    FileError
        If a pattern fits no file.
    """
    reports, wrong = [], {}
    for name in found_files(patterns):
        try:
            reports.append(check_file(name, root=root))
        except FileError as error:
            wrong[name] = str(error)
    return FilesReport(tuple(reports), wrong)
