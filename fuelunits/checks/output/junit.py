"""Reports on assumptions as JUnit XML, which every CI shows as test cases.

An entry that comes out as it says passes, one that fails as expected is skipped with its reason, any other fails; what
is wrong with a file is an error.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree

from fuelunits.checks.file import FileReport, Outcome
from fuelunits.checks.files import FilesReport
from fuelunits.checks.output.locations import source_path
from fuelunits.checks.output.text import one_line
from fuelunits.reports import CAUTION

__all__ = ["junit"]


def junit(report: FilesReport) -> str:
    """Return the XML of a report."""
    suites = [_suite(each) for each in report.files]
    root = ElementTree.Element("testsuites", {"name": "fuelunits check", **_counts(suites)})
    root.extend(suites)
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="utf-8"?>\n' + ElementTree.tostring(root, encoding="unicode")


def _counts(elements: Sequence[ElementTree.Element]) -> dict[str, str]:
    tags = {"tests": "testcase", "failures": "failure", "errors": "error", "skipped": "skipped"}
    return {name: str(sum(len(list(each.iter(tag))) for each in elements)) for name, tag in tags.items()}


def _suite(report: FileReport) -> ElementTree.Element:
    cases = [_case(outcome, report) for outcome in report.outcomes]
    for problem in report.problems:
        case = _element("testcase", classname=report.file, name="is an assumptions file")
        case.set("file", one_line(report.file))
        case.set("line", str(problem.line))
        case.append(_element("error", str(problem), type="wrong file", message=str(problem)))
        cases.append(case)
    suite = ElementTree.Element("testsuite", {"name": one_line(report.file), **_counts(cases)})
    suite.extend(cases)
    if report.outcomes:
        suite.append(_element("system-out", CAUTION))
    return suite


def _case(outcome: Outcome, report: FileReport) -> ElementTree.Element:
    entry = outcome.entry
    file, line = source_path(outcome, report) or (report.file, outcome.line)
    case = _element("testcase", classname=f"{report.file}.{entry.kind}", name=entry.name, file=file, line=str(line))
    message = str(outcome)
    if not outcome.as_expected:
        case.append(_element("failure", message, type=outcome.verdict, message=message))
    elif entry.expected_to_fail:
        case.append(_element("skipped", message=message))
    elif outcome.caveat:
        case.append(_element("system-out", outcome.caveat))
    return case


def _element(tag: str, text: str = "", **attributes: str) -> ElementTree.Element:
    element = ElementTree.Element(tag, {name: one_line(value) for name, value in attributes.items()})
    element.text = one_line(text) or None
    return element
