"""Reports on assumptions in the formats that people and continuous integration read.

The text for people is folded to 80 columns; GitHub's workflow commands annotate the lines concerned; JUnit XML has a
test case for each entry; SARIF 2.1.0 is the format of the OASIS standard for results of static analysis.
"""

from __future__ import annotations

import json
import os
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import PurePath
from typing import Any, NamedTuple
from urllib.parse import quote_from_bytes
from xml.etree import ElementTree

import fuelunits
from fuelunits.checks.file import FileReport
from fuelunits.checks.kinds import KINDS, Outcome
from fuelunits.reports import CAUTION, WIDTH, plain, printable

_SARIF = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json"


def text(files: Sequence[FileReport]) -> str:
    """Return the result of each entry, the name first, a line for each file, and the caution."""
    lines = []
    for file in files:
        for each, notes in file.notes():
            entry = each.entry
            place = entry.where if each.as_expected else f"{entry.where or 'assumed'} ({file.file}:{each.line})"
            lines += wrapped(f"{entry.name}: {each.verdict}, {each.off}")
            lines += [line for note in filter(None, (place, *notes)) for line in wrapped(note, "    ")]
        lines += [line for problem in file.problems for line in wrapped(str(problem))]
        lines += wrapped(f"{file.file}: {file.verdict}") if file.outcomes else []
    return "\n".join([*lines, *wrapped(f"Caution: {CAUTION}")])


def wrapped(words: str, indent: str = "") -> list[str]:
    """Return a text folded to the width; a percent sign stays with its number."""
    whole = one_line(words).replace(" %", "\N{NO-BREAK SPACE}%")
    lines = textwrap.wrap(whole, WIDTH, initial_indent=indent, subsequent_indent=indent or "  ", break_on_hyphens=False)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def one_line(words: str) -> str:
    """Return a text without line ends and control characters."""
    return " ".join(printable(words).split())


class Mark(NamedTuple):
    """What is to be marked: the key of its rule, a title, a message, and its place; and a source that it is about."""

    rule: str
    title: str
    message: str
    place: tuple[str, int]
    source: tuple[str, int] | None = None


def _marks(files: Sequence[FileReport]) -> Iterator[Mark]:
    for file in files:
        for each in (each for each in file.outcomes if not each.as_expected):
            yield Mark(each.entry.kind, each.entry.name, str(each), (file.file, each.line), _source_place(each, file))
        for problem in file.problems:
            yield Mark("file", "assumptions file", problem.message, (problem.file, max(problem.line, 1)))


def _source_place(outcome: Outcome, report: FileReport) -> tuple[str, int] | None:
    """Return the path and the line of the source that an entry names; None where none was looked up."""
    place = outcome.place
    return None if place is None else (_relative(os.path.join(report.root, place.path)), max(place.line, 1))


def _relative(path: str) -> str:
    """Return a path relative to the folder in which the command runs, with slashes; another drive's stays whole."""
    with suppress(ValueError):
        path = os.path.relpath(path)
    return PurePath(path).as_posix()


def annotated(text: str, marks: Iterable[Mark]) -> str:
    """Return a text with workflow commands that annotate the lines of marks; no line of its own becomes a command."""
    lines = [f"- {line}" if line.lstrip().startswith(("::", "##[")) else line for line in text.splitlines()]
    for _, title, message, *places in marks:
        for file, line in filter(None, places):
            name, heading, words = (one_line(each).replace("%", "%25") for each in (_relative(file), title, message))
            name, heading = (each.replace(":", "%3A").replace(",", "%2C") for each in (name, heading))
            lines.append(f"::error file={name},line={line},title={heading}::{words}")
    return "\n".join(lines)


def junit(files: Sequence[FileReport]) -> str:
    """Return XML: what fails as expected is skipped with its reason, what is wrong with a file is an error."""
    root = _element("testsuites", name="fuelunits check")
    for report in files:
        root.append(suite := _element("testsuite", name=report.file))
        for outcome in report.outcomes:
            entry, message = outcome.entry, str(outcome)
            file, line = _source_place(outcome, report) or (report.file, outcome.line)
            place = {"classname": f"{report.file}.{entry.kind}", "file": file, "line": str(line)}
            suite.append(case := _element("testcase", name=entry.name, **place))
            if not outcome.as_expected:
                case.append(_element("failure", message, type=outcome.verdict, message=message))
            elif entry.expected_to_fail:
                case.append(_element("skipped", message=message))
            elif outcome.caveats:
                case.append(_element("system-out", "; ".join(outcome.caveats)))
        for each in report.problems:
            place = {"classname": report.file, "file": report.file, "line": str(each.line)}
            suite.append(case := _element("testcase", name="is an assumptions file", **place))
            case.append(_element("error", str(each), type="wrong file", message=str(each)))
        suite.extend([_element("system-out", CAUTION)] * bool(report.outcomes))
    tags = {"tests": "testcase", "failures": "failure", "errors": "error", "skipped": "skipped"}
    for element in (root, *root):
        element.attrib |= {name: str(len(list(element.iter(tag)))) for name, tag in tags.items()}
    return '<?xml version="1.0" encoding="utf-8"?>\n' + ElementTree.tostring(root, encoding="unicode")


def _element(tag: str, content: str = "", **attributes: str) -> ElementTree.Element:
    element = ElementTree.Element(tag, {name: one_line(value) for name, value in attributes.items()})
    element.text = one_line(content) or None
    return element


def sarif(rules: Mapping[str, str], marks: Iterable[Mark]) -> str:
    """Return a SARIF log with a result for each mark, and what each rule is about."""
    results = []
    for rule, _, message, place, source in marks:
        result: dict[str, Any] = {"ruleId": rule, "level": "error", "message": {"text": one_line(message)}}
        result["locations"] = [_location(*(source or place))]
        if source:
            result["relatedLocations"] = [{**_location(*place), "id": 1, "message": {"text": "the assumption"}}]
        results.append(result)
    named = [{"id": name, "shortDescription": {"text": words}} for name, words in rules.items()]
    about = {"fullDescription": {"text": CAUTION}, "rules": named}
    tool = {"driver": {"name": "fuelunits", "version": fuelunits.__version__, **about}}
    run = {"tool": tool, "columnKind": "unicodeCodePoints", "results": results}
    return json.dumps({"$schema": _SARIF, "version": "2.1.0", "runs": [run]}, indent=2)


def _location(path: str, line: int) -> dict[str, Any]:
    uri = quote_from_bytes(_relative(path).encode("utf-8", "surrogateescape"))
    return {"physicalLocation": {"artifactLocation": {"uri": uri}, "region": {"startLine": line}}}


def _json(files: Sequence[FileReport]) -> str:
    entries = [{"file": file.file, **entry} for file in files for entry in file.entries()]
    found = {"passed": all(file.passed for file in files), "problems": sum((file.problems for file in files), ())}
    return json.dumps({**plain({**found, "entries": entries, "files": files}), "caution": CAUTION}, indent=2)


_RULES = {kind: (of.__doc__ or "").partition("\n")[0] for kind, of in KINDS.items()} | {"file": "A valid file."}
FORMATS: dict[str, Callable[[Sequence[FileReport]], str]] = {
    "text": text,
    "github": lambda files: annotated(text(files), _marks(files)),
    "json": _json,
    "junit": junit,
    "sarif": lambda files: sarif(_RULES, _marks(files)),
}
