"""Where a result belongs: a line of a source, seen from the folder in which the command runs."""

from __future__ import annotations

import os
from pathlib import PurePath

from fuelunits.checks.file import FileReport, Outcome

__all__ = ["relative", "source_path"]


def source_path(outcome: Outcome, report: FileReport) -> tuple[str, int] | None:
    """Return the path and the line of the source that an entry names; None where none was looked up."""
    if outcome.place is None:
        return None
    return relative(os.path.join(report.root, outcome.place.path)), max(outcome.place.line, 1)


def relative(path: str) -> str:
    """Return a path relative to the folder in which the command runs, with slashes; another drive's stays whole."""
    try:
        return PurePath(os.path.relpath(path)).as_posix()
    except ValueError:
        return PurePath(path).as_posix()
