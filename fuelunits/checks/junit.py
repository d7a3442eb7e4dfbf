"""Reports on assumptions as JUnit XML, which every CI shows as test cases.

An entry that comes out as it says passes, one that fails as expected is skipped with its reason,
any other fails; a file that is wrong is an error.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from fuelunits.checks.printing import one_line

if TYPE_CHECKING:
    from fuelunits.checks.file import FileReport, Outcome
    from fuelunits.checks.files import FilesReport

__all__ = ["junit"]


def junit(report: FilesReport) -> str:
    """Give the XML of a report."""
    suites = [*map(_suite, report.files), *(_wrong(file, message) for file, message in report.wrong.items())]
    root = ElementTree.Element("testsuites", {"name": "fuelunits check", **_counts(suites)})
    root.extend(suites)
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="utf-8"?>\n' + ElementTree.tostring(root, encoding="unicode") + "\n"


def _counts(elements: Sequence[ElementTree.Element]) -> dict[str, str]:
    tags = {"tests": "testcase", "failures": "failure", "errors": "error", "skipped": "skipped"}
    return {name: str(sum(len(list(each.iter(tag))) for each in elements)) for name, tag in tags.items()}


def _named_suite(file: str, cases: list[ElementTree.Element]) -> ElementTree.Element:
    suite = ElementTree.Element("testsuite", {"name": one_line(file), **_counts(cases)})
    suite.extend(cases)
    return suite


def _suite(report: FileReport) -> ElementTree.Element:
    return _named_suite(report.file, [_case(outcome, report.file) for outcome in report.outcomes])


def _case(outcome: Outcome, file: str) -> ElementTree.Element:
    entry = outcome.entry
    case = ElementTree.Element("testcase", classname=one_line(f"{file}.{entry.kind}"), name=one_line(entry.name))
    message = one_line(str(outcome))
    if not outcome.as_expected:
        ElementTree.SubElement(case, "failure", type=outcome.verdict, message=message).text = message
    elif entry.expected_to_fail:
        ElementTree.SubElement(case, "skipped", message=message)
    return case


def _wrong(file: str, message: str) -> ElementTree.Element:
    case = ElementTree.Element("testcase", classname=one_line(file), name="is an assumptions file")
    ElementTree.SubElement(case, "error", type="wrong file", message=one_line(message)).text = one_line(message)
    return _named_suite(file, [case])
