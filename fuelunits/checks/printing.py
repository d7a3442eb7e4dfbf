"""Reports on assumptions for people: one line an entry, in columns."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fuelunits.checks.file import FileReport, Outcome

__all__ = ["one_line", "report_lines", "summary"]

_GREEN, _YELLOW, _RED = "\033[32m", "\033[33m", "\033[31m"
_PLAIN = "\033[0m"


def report_lines(outcomes: Iterable[Outcome], *, colour: bool = False) -> list[str]:
    """Give one line for each outcome: verdict, deviation, tolerance, name, place, and what is to be said."""
    rows = [(outcome, outcome.verdict, _off(outcome)) for outcome in outcomes]
    verdicts, offs = max(len(verdict) for _, verdict, _ in rows), max(len(off) for *_, off in rows)
    return [
        f"{_coloured(f'{verdict:<{verdicts}}', outcome, colour)}  {off:<{offs}}  {_what(outcome)}"
        for outcome, verdict, off in rows
    ]


def summary(report: FileReport) -> str:
    """Give one line for a file."""
    outcomes = report.outcomes
    failing = [outcome for outcome in outcomes if not outcome.holds]
    foreseen = sum(outcome.as_expected for outcome in failing)
    unexpected = sum(not outcome.as_expected for outcome in outcomes)
    return (
        f"{report.file}: {len(outcomes)} entries, {len(outcomes) - len(failing)} hold, {len(failing)} fail "
        f"({foreseen} of them expected to): " + ("passed" if report.passed else f"{unexpected} NOT as stated")
    )


def one_line(text: str) -> str:
    """Give a text without line ends and control characters."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())


def _off(outcome: Outcome) -> str:
    return f"{outcome.deviation * 100:+9.3g} % of {outcome.tolerance * 100:.3g} %"


def _what(outcome: Outcome) -> str:
    entry = outcome.entry
    where = f" [{entry.where}]" if entry.where else ""
    said = [outcome.caveat] if outcome.holds else [outcome.remark, entry.expected_to_fail]
    return one_line(f"{entry.name}{where}" + "".join(f"; {each}" for each in (outcome.misplaced, *said) if each))


def _coloured(text: str, outcome: Outcome, colour: bool) -> str:
    if not colour:
        return text
    return f"{(_GREEN if outcome.holds else _YELLOW) if outcome.as_expected else _RED}{text}{_PLAIN}"
