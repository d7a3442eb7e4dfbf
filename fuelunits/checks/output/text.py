"""Reports on assumptions for people: the name first, what is to be said of it below, within 80 columns."""

from __future__ import annotations

import textwrap

from fuelunits.checks.file import Outcome
from fuelunits.checks.files import FilesReport
from fuelunits.reports import CAUTION, WIDTH

__all__ = ["one_line", "text"]

_GREEN, _YELLOW, _RED, _PLAIN = "\033[32m", "\033[33m", "\033[31m", "\033[0m"


def text(report: FilesReport, *, colour: bool = False) -> str:
    """Return the result of each entry, a line for each file, and the caution."""
    lines = []
    for file in report.files:
        for outcome in file.outcomes:
            lines += _entry(outcome, file.file, colour)
        lines += [line for problem in file.problems for line in _wrapped(str(problem))]
        lines += _wrapped(f"{file.file}: {file.verdict}") if file.outcomes else []
    return "\n".join([*lines, *_wrapped(f"Caution: {CAUTION}")])


def one_line(words: str) -> str:
    """Return a text without line ends and control characters."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in words).split())


def _entry(outcome: Outcome, file: str, colour: bool) -> list[str]:
    head = _wrapped(f"{outcome.entry.name}: {outcome.verdict}, {outcome.off}")
    if colour:
        mark = (_GREEN if outcome.holds else _YELLOW) if outcome.as_expected else _RED
        head = [f"{mark}{line}{_PLAIN}" for line in head]
    place = (
        outcome.entry.where if outcome.as_expected else f"{outcome.entry.where or 'assumed'} ({file}:{outcome.line})"
    )
    return [*head, *(line for each in (place, *outcome.notes) if each for line in _wrapped(each, "    "))]


def _wrapped(words: str, indent: str = "") -> list[str]:
    """Return a text folded to the width; a percent sign stays with its number."""
    whole = one_line(words).replace(" %", "\N{NO-BREAK SPACE}%")
    lines = textwrap.wrap(whole, WIDTH, initial_indent=indent, subsequent_indent=indent or "  ", break_on_hyphens=False)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]
