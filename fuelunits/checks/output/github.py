"""Reports on assumptions as the workflow commands of GitHub: annotations on the lines concerned, below the text."""

from __future__ import annotations

from fuelunits.checks.file import FileReport, Outcome
from fuelunits.checks.files import FilesReport
from fuelunits.checks.output.locations import relative, source_path
from fuelunits.checks.output.text import one_line, text

__all__ = ["github"]


def github(report: FilesReport) -> str:
    """Return the text of a report, and an annotation for everything that is not as expected."""
    # a name that begins as a workflow command does must not become one
    lines = [f"- {line}" if line.lstrip().startswith(("::", "##[")) else line for line in text(report).splitlines()]
    for file in report.files:
        for outcome in file.outcomes:
            if not outcome.as_expected:
                lines += _annotations(outcome, file)
        lines += [_error(each.file, each.line, "assumptions file", each.message) for each in file.problems]
    return "\n".join(lines)


def _annotations(outcome: Outcome, report: FileReport) -> list[str]:
    """Return an annotation on the line of the assumptions file, and one on that of the source."""
    places = [(report.file, outcome.line), source_path(outcome, report)]
    return [_error(*place, outcome.entry.name, str(outcome)) for place in places if place]


def _error(file: str, line: int, title: str, message: str) -> str:
    where = f"file={_escaped(relative(file), True)},line={max(line, 1)}"
    return f"::error {where},title={_escaped(title, True)}::{_escaped(message)}"


def _escaped(words: str, in_property: bool = False) -> str:
    """Return a text as the workflow commands write it."""
    escaped = one_line(words).replace("%", "%25")
    return escaped.replace(":", "%3A").replace(",", "%2C") if in_property else escaped
