"""Reports on assumptions in the formats that people and continuous integration read.

The text for people is folded to 80 columns; GitHub's workflow commands annotate the lines concerned; JUnit XML has a
test case for each entry; SARIF 2.1.0 is the format of the OASIS standard for results of static analysis.
"""

from __future__ import annotations

import json
import os
import textwrap
from collections.abc import Callable, Iterator, Sequence
from pathlib import PurePath
from typing import Any
from urllib.parse import quote_from_bytes
from xml.etree import ElementTree

import fuelunits
from fuelunits.checks.file import FileReport
from fuelunits.checks.kinds import KINDS, Outcome
from fuelunits.reports import CAUTION, WIDTH, plain, printable

_GREEN, _YELLOW, _RED, _PLAIN = "\033[32m", "\033[33m", "\033[31m", "\033[0m"
_SARIF = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json"


def text(files: Sequence[FileReport], *, colour: bool = False) -> str:
    """Return the result of each entry, the name first, a line for each file, and the caution."""
    lines = []
    for file in files:
        lines += [line for outcome, notes in file.notes() for line in _entry(outcome, notes, file.file, colour)]
        lines += [line for problem in file.problems for line in wrapped(str(problem))]
        lines += wrapped(f"{file.file}: {file.verdict}") if file.outcomes else []
    return "\n".join([*lines, *wrapped(f"Caution: {CAUTION}")])


def _entry(outcome: Outcome, notes: list[str], file: str, colour: bool) -> list[str]:
    entry, head = outcome.entry, wrapped(f"{outcome.entry.name}: {outcome.verdict}, {outcome.off}")
    if colour:
        mark = (_GREEN if outcome.holds else _YELLOW) if outcome.as_expected else _RED
        head = [f"{mark}{line}{_PLAIN}" for line in head]
    place = entry.where if outcome.as_expected else f"{entry.where or 'assumed'} ({file}:{outcome.line})"
    return [*head, *(line for each in (place, *notes) if each for line in wrapped(each, "    "))]


def wrapped(words: str, indent: str = "") -> list[str]:
    """Return a text folded to the width; a percent sign stays with its number."""
    whole = one_line(words).replace(" %", "\N{NO-BREAK SPACE}%")
    lines = textwrap.wrap(whole, WIDTH, initial_indent=indent, subsequent_indent=indent or "  ", break_on_hyphens=False)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def one_line(words: str) -> str:
    """Return a text without line ends and control characters."""
    return " ".join(printable(words).split())


def _source_path(outcome: Outcome, report: FileReport) -> tuple[str, int] | None:
    """Return the path and the line of the source that an entry names; None where none was looked up."""
    place = outcome.place
    return None if place is None else (_relative(os.path.join(report.root, place.path)), max(place.line, 1))


def _relative(path: str) -> str:
    """Return a path relative to the folder in which the command runs, with slashes; another drive's stays whole."""
    try:
        return PurePath(os.path.relpath(path)).as_posix()
    except ValueError:
        return PurePath(path).as_posix()


def github(files: Sequence[FileReport]) -> str:
    """Return the text of a report, and annotations of the entry and the source of what is not as expected."""
    # a name must not become a workflow command
    lines = [f"- {line}" if line.lstrip().startswith(("::", "##[")) else line for line in text(files).splitlines()]
    for _, title, message, *places in _findings(files):
        lines += [annotation(*place, title, message) for place in places if place]
    return "\n".join(lines)


def _findings(files: Sequence[FileReport]) -> Iterator[tuple[str, str, str, tuple[str, int], tuple[str, int] | None]]:
    """Return the kind, title, message, own place and place in a source of everything that is not as expected."""
    for file in files:
        for each in file.outcomes:
            if not each.as_expected:
                own = file.file, each.line
                yield each.entry.kind, each.entry.name, str(each), own, _source_path(each, file)
        for problem in file.problems:
            yield "file", "assumptions file", problem.message, (problem.file, problem.line), None


def annotation(file: str, line: int, title: str, message: str) -> str:
    """Return a workflow command that annotates a line of a file."""
    name, title, message = (one_line(each).replace("%", "%25") for each in (_relative(file), title, message))
    name, title = (each.replace(":", "%3A").replace(",", "%2C") for each in (name, title))
    return f"::error file={name},line={max(line, 1)},title={title}::{message}"


def junit(files: Sequence[FileReport]) -> str:
    """Return XML: what fails as expected is skipped with its reason, what is wrong with a file is an error."""
    suites = [_suite(each) for each in files]
    root = ElementTree.Element("testsuites", {"name": "fuelunits check", **_counts(suites)})
    root.extend(suites)
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="utf-8"?>\n' + ElementTree.tostring(root, encoding="unicode")


def _counts(elements: Sequence[ElementTree.Element]) -> dict[str, str]:
    tags = {"tests": "testcase", "failures": "failure", "errors": "error", "skipped": "skipped"}
    return {name: str(sum(len(list(each.iter(tag))) for each in elements)) for name, tag in tags.items()}


def _suite(report: FileReport) -> ElementTree.Element:
    cases = [_case(outcome, report) for outcome in report.outcomes]
    for each in report.problems:
        file, name = report.file, "is an assumptions file"
        cases.append(_element("testcase", classname=file, name=name, file=file, line=str(each.line)))
        cases[-1].append(_element("error", str(each), type="wrong file", message=str(each)))
    suite = ElementTree.Element("testsuite", {"name": one_line(report.file), **_counts(cases)})
    suite.extend(cases)
    if report.outcomes:
        suite.append(_element("system-out", CAUTION))
    return suite


def _case(outcome: Outcome, report: FileReport) -> ElementTree.Element:
    entry, message = outcome.entry, str(outcome)
    file, line = _source_path(outcome, report) or (report.file, outcome.line)
    case = _element("testcase", classname=f"{report.file}.{entry.kind}", name=entry.name, file=file, line=str(line))
    if not outcome.as_expected:
        case.append(_element("failure", message, type=outcome.verdict, message=message))
    elif entry.expected_to_fail:
        case.append(_element("skipped", message=message))
    elif outcome.caveats:
        case.append(_element("system-out", "; ".join(outcome.caveats)))
    return case


def _element(tag: str, content: str = "", **attributes: str) -> ElementTree.Element:
    element = ElementTree.Element(tag, {name: one_line(value) for name, value in attributes.items()})
    element.text = one_line(content) or None
    return element


def sarif(files: Sequence[FileReport]) -> str:
    """Return a SARIF log with a result for everything that is not as expected."""
    rules = {**{name: (kind.__doc__ or "").partition("\n")[0] for name, kind in KINDS.items()}, "file": "A valid file."}
    results = []
    for kind, _, message, own, source in _findings(files):
        result = sarif_result(kind, message, *(source or own))
        if source:
            result["relatedLocations"] = [{**_location(*own), "id": 1, "message": {"text": "the assumption"}}]
        results.append(result)
    return sarif_log(rules, results)


def sarif_result(rule: str, message: str, path: str, line: int) -> dict[str, Any]:
    """Return one result of a SARIF log."""
    text = {"text": one_line(message)}
    return {"ruleId": rule, "level": "error", "message": text, "locations": [_location(path, line)]}


def sarif_log(rules: dict[str, str], results: list[dict[str, Any]]) -> str:
    """Return a SARIF log of results, with what each rule is about."""
    driver = {
        "name": "fuelunits",
        "version": fuelunits.__version__,
        "fullDescription": {"text": CAUTION},
        "rules": [{"id": name, "shortDescription": {"text": words}} for name, words in rules.items()],
    }
    run = {"tool": {"driver": driver}, "columnKind": "unicodeCodePoints", "results": results}
    return json.dumps({"$schema": _SARIF, "version": "2.1.0", "runs": [run]}, indent=2)


def _location(path: str, line: int) -> dict[str, Any]:
    uri = quote_from_bytes(_relative(path).encode("utf-8", "surrogateescape"))
    return {"physicalLocation": {"artifactLocation": {"uri": uri}, "region": {"startLine": max(line, 1)}}}


def _json(files: Sequence[FileReport]) -> str:
    problems = [problem for file in files for problem in file.problems]
    entries = [{"file": file.file, **entry} for file in files for entry in file.entries]
    found = {"passed": all(file.passed for file in files), "problems": problems, "entries": entries, "files": files}
    return json.dumps({**plain(found), "caution": CAUTION}, indent=2)


FORMATS: dict[str, Callable[[Sequence[FileReport]], str]] = {
    "text": text,
    "github": github,
    "json": _json,
    "junit": junit,
    "sarif": sarif,
}
